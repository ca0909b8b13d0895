package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.function.Function;

/**
 * Parser of the little that drawings in these tests hold: identifiers with members and one index, addresses, literals, and operators in
 * parentheses. It stands in for the parser of the language so that the reader is tested by itself.
 */
final class StandInExpressions implements Function<Span, Expression> {
  @Override
  public Expression apply(Span span) {
    return parse(span, span.text().strip());
  }

  private Expression parse(Span span, String text) {
    if (text.isEmpty()) {
      return new Expression.Erroneous(span);
    }
    char c = text.charAt(0);
    if (c == '(' && text.endsWith(")")) {
      return chain(span, text.substring(1, text.length() - 1));
    }
    if (c == '-') {
      return new Expression.Unary(span, Expression.UnaryOperator.MINUS, parse(span, text.substring(1).strip()));
    }
    if (c == '%') {
      return direct(span, text);
    }
    if (c == '\'' || c == '"') {
      return literal(span, c == '"' ? Expression.LiteralKind.WSTRING : Expression.LiteralKind.STRING, null, text);
    }
    int hash = text.indexOf('#');
    if (hash > 0 && !Character.isDigit(c)) {
      String prefix = text.substring(0, hash).toUpperCase(Locale.ROOT);
      String rest = text.substring(hash + 1);
      return switch (prefix) {
        case "T", "TIME", "LTIME" -> literal(span, Expression.LiteralKind.DURATION, prefix, rest);
        case "D", "DATE" -> literal(span, Expression.LiteralKind.DATE, prefix, rest);
        case "TOD" -> literal(span, Expression.LiteralKind.TIME_OF_DAY, prefix, rest);
        case "INT", "DINT" -> new Expression.Literal(span, Expression.LiteralKind.INTEGER, Optional.of(new Name(span, prefix)),
            rest.startsWith("-"), rest.startsWith("-") ? rest.substring(1) : rest);
        default -> new Expression.Erroneous(span);
      };
    }
    if (Character.isDigit(c)) {
      return literal(span, text.contains(".") ? Expression.LiteralKind.REAL : Expression.LiteralKind.INTEGER, null, text);
    }
    if (text.equalsIgnoreCase("TRUE") || text.equalsIgnoreCase("FALSE")) {
      return literal(span, Expression.LiteralKind.BOOLEAN, null, text);
    }
    return access(span, text);
  }

  private static Expression literal(Span span, Expression.LiteralKind kind, String prefix, String text) {
    return new Expression.Literal(span, kind, Optional.ofNullable(prefix).map(p -> new Name(span, p)), false, text);
  }

  private static Expression direct(Span span, String text) {
    int at = 1;
    char area = text.length() > 1 ? text.charAt(at++) : 0;
    char size = 0;
    if (at < text.length() && Character.isLetter(text.charAt(at))) {
      size = text.charAt(at++);
    }
    List<Integer> levels = new ArrayList<>();
    for (String s : text.substring(at).split("\\.")) {
      if (!s.matches("[0-9]{1,6}")) {
        return new Expression.Erroneous(span);
      }
      levels.add(Integer.valueOf(s));
    }
    return new Expression.Direct(span, new DirectAddress(span, area, size, levels, false));
  }

  private Expression access(Span span, String text) {
    if (!text.matches("\\p{L}[\\p{L}\\p{N}_]*(\\.[\\p{L}_][\\p{L}\\p{N}_]*|\\[[^\\[\\]]*\\])*")) {
      return new Expression.Erroneous(span);
    }
    Expression e = null;
    int at = 0;
    while (at < text.length()) {
      char c = text.charAt(at);
      if (c == '[') {
        int close = text.indexOf(']', at);
        e = new Expression.Index(span, e, List.of(chain(span, text.substring(at + 1, close))));
        at = close + 1;
        continue;
      }
      int start = c == '.' ? at + 1 : at;
      int end = start;
      while (end < text.length() && text.charAt(end) != '.' && text.charAt(end) != '[') {
        end++;
      }
      Name name = new Name(span, text.substring(start, end));
      e = e == null ? new Expression.Ident(span, name) : new Expression.Member(span, e, name);
      at = end;
    }
    return e;
  }

  private Expression chain(Span span, String text) {
    String t = text.strip();
    for (var op : List.of(Expression.BinaryOperator.OR, Expression.BinaryOperator.AND, Expression.BinaryOperator.ADD)) {
      String symbol = op == Expression.BinaryOperator.ADD ? "+" : " " + op.symbol() + " ";
      int at = t.indexOf(symbol);
      if (at > 0) {
        Expression first = parse(span, t.substring(0, at).strip());
        Expression second = chain(span, t.substring(at + symbol.length()));
        return new Expression.Chain(span, first, List.of(new Expression.Link(span, op, second)));
      }
    }
    return parse(span, t);
  }
}
