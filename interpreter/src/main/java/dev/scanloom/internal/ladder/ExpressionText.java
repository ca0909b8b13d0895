package dev.scanloom.internal.ladder;

import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.internal.syntax.Expression;
import java.util.List;
import java.util.stream.Collectors;

/**
 * An expression as ST text on one line, from the tree and not from the source, so that trees without a source print too. Recursion is as
 * deep as the expression, which the parser bounds.
 */
final class ExpressionText implements Expression.Visitor<String> {
  private static final ExpressionText PRINTER = new ExpressionText();
  private static final int UNARY = 9;

  private ExpressionText() {}

  static String of(Expression e) {
    return e.accept(PRINTER);
  }

  /** As it may stand in a drawing: an access or a literal as it is, anything else in parentheses. */
  static String word(Expression e) {
    boolean plain = e instanceof Expression.Ident || e instanceof Expression.Direct || e instanceof Expression.Member
        || e instanceof Expression.Index || e instanceof Expression.Bits || e instanceof Expression.Dereference
        || e instanceof Expression.TypedName || e instanceof Expression.Literal l && !l.negative() || e instanceof Expression.Erroneous;
    return plain ? of(e) : "(" + of(e) + ")";
  }

  /** In parentheses if it binds less tightly than {@code precedence}. */
  static String operand(Expression e, int precedence) {
    return binding(e) < precedence ? "(" + of(e) + ")" : of(e);
  }

  private static int binding(Expression e) {
    if (e instanceof Expression.Chain c) {
      return c.rest().get(0).operator().precedence();
    }
    return e instanceof Expression.Unary ? UNARY : UNARY + 1;
  }

  @Override
  public String literal(Expression.Literal e) {
    return e.prefix().map(p -> p + "#").orElse("") + (e.negative() ? "-" : "") + e.text();
  }

  @Override
  public String name(Expression.Ident e) {
    return e.name().text();
  }

  @Override
  public String typedName(Expression.TypedName e) {
    return e.type().text() + "#" + e.value();
  }

  @Override
  public String direct(Expression.Direct e) {
    DirectAddress a = e.address();
    return "%" + letter(a.area()) + letter(a.size())
        + (a.incomplete() ? "*" : a.levels().stream().map(String::valueOf).collect(Collectors.joining(".")));
  }

  private static String letter(char c) {
    return c == 0 ? "" : String.valueOf(c);
  }

  @Override
  public String member(Expression.Member e) {
    return operand(e.base(), UNARY + 1) + "." + e.name();
  }

  @Override
  public String index(Expression.Index e) {
    return operand(e.base(), UNARY + 1) + "[" + list(e.indices()) + "]";
  }

  private static String list(List<Expression> all) {
    return all.stream().map(ExpressionText::of).collect(Collectors.joining(", "));
  }

  @Override
  public String bits(Expression.Bits e) {
    return operand(e.base(), UNARY + 1) + ".%" + e.size() + e.number();
  }

  @Override
  public String dereference(Expression.Dereference e) {
    return operand(e.base(), UNARY + 1) + "^";
  }

  @Override
  public String call(Expression.Call e) {
    return of(e.target()) + "(" + e.arguments().stream().map(ExpressionText::argument).collect(Collectors.joining(", ")) + ")";
  }

  private static String argument(Expression.Argument a) {
    String value = a.value().map(ExpressionText::of).orElse("");
    return switch (a.kind()) {
      case NAMELESS -> value;
      case INPUT -> a.name().map(n -> n + " := ").orElse("") + value;
      case OUTPUT -> (a.negated() ? "NOT " : "") + a.name().map(n -> n + " =>").orElse("=>") + (value.isEmpty() ? "" : " " + value);
    };
  }

  @Override
  public String unary(Expression.Unary e) {
    String sign = switch (e.operator()) {
      case MINUS -> "-";
      case PLUS -> "+";
      case NOT -> "NOT ";
    };
    return sign + operand(e.operand(), UNARY + 1);
  }

  @Override
  public String chain(Expression.Chain e) {
    int precedence = e.rest().get(0).operator().precedence();
    StringBuilder out = new StringBuilder(operand(e.first(), precedence));
    for (Expression.Link l : e.rest()) {
      out.append(' ').append(l.operator().symbol()).append(' ').append(operand(l.operand(), precedence + 1));
    }
    return out.toString();
  }

  @Override
  public String self(Expression.Self e) {
    return e.isSuper() ? "SUPER" : "THIS";
  }

  @Override
  public String error(Expression.Erroneous e) {
    return e.span().text().strip();
  }
}
