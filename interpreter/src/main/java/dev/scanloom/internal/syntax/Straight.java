package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.grammar.ParserBase;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.antlr.v4.runtime.ParserRuleContext;

/**
 * Tokens of statements and expressions straight to records, without the grammar's parser and its tree: bodies are most of a large program, and this is
 * several times as fast, cold and warm. It reads what has no mistake. At whatever else it answers null, without having reported or changed anything,
 * and the grammar's parser reads the same tokens again and says what is wrong; so that there is one place that knows errors. Both read alike: a test
 * compares them on many texts.
 *
 * <p>Time is linear: where a reading has failed, none begins before that place again, but for the statements in front of the one that it failed in. Recursion is bounded, since {@link TokenRepair} has counted.
 */
final class Straight implements ParserBase.Shortcut {
  private final SourceText source;
  private final TokenList list;
  private final ScanToken[] tokens;
  private final int maxNesting;
  private final Remarks remarks;
  private int at;
  /** A reading that began at the first of these tokens has failed at the second; none begins there again, nor between them. */
  private int failedFrom;
  private int failed = -1;

  /** @param remarks null where no declaration is read */
  Straight(SourceText source, TokenList tokens, Remarks remarks, int maxNesting) {
    this.source = source;
    this.remarks = remarks;
    this.list = tokens;
    this.tokens = tokens.all();
    this.maxNesting = maxNesting;
  }

  /** A statement in the parser's tree that is read already. */
  static final class Read extends StatementContext {
    final Statement statement;

    Read(ParserRuleContext parent, Statement statement, ScanToken start, ScanToken stop) {
      super(parent, parent.invokingState);
      this.statement = statement;
      this.start = start;
      this.stop = stop;
    }
  }

  @Override
  public void statements(ParserRuleContext parent) {
    int from = list.index();
    while (from > failed || from < failedFrom) {
      at = from;
      Statement s = statement();
      if (s == null) {
        fail(from);
        break;
      }
      parent.addAnyChild(new Read(parent, s, tokens[from], tokens[at - 1]));
      from = at;
    }
    list.seek(from);
  }

  private void fail(int from) {
    failedFrom = from;
    failed = Math.max(failed, at);
  }

  /** The expression that all tokens together are, or null. */
  Expression alone() {
    at = 0;
    Expression e = expression();
    return e != null && type() == EOF ? e : null;
  }

  /**
   * The expression of characters {@code [from, to)} if it is a name, perhaps with members and constant subscripts behind it, as almost every operand of a
   * drawing; else null.
   */
  static Expression access(SourceText source, int from, int to) {
    PlainTokens t = new PlainTokens(source, to);
    Expression result = null;
    int first = 0;
    int at = from;
    while (true) {
      int type = t.read(at, false);
      if (result == null || type == DOT) {
        if (result != null) {
          type = t.read(t.stop(), false);
        }
        if (type != IDENTIFIER) {
          return null;
        }
        Name name = new Name(new Span(source, t.start(), t.stop()), source.slice(t.start(), t.stop()));
        if (name.text().endsWith("_") || name.text().contains("__")) {
          return null;
        }
        first = result == null ? t.start() : first;
        result = result == null ? new Expression.Ident(name.span(), name) : new Expression.Member(new Span(source, first, t.stop()), result, name);
      } else if (type == LBRACKET) {
        type = t.read(t.stop(), false);
        Span span = new Span(source, t.start(), t.stop());
        if (type != INTEGER) {
          return null;
        }
        Expression.Literal index = new Expression.Literal(span, Expression.LiteralKind.INTEGER, Optional.empty(), false, span.text());
        if (!Literals.isPlainInteger(index) || t.read(t.stop(), false) != RBRACKET) {
          return null;
        }
        result = new Expression.Index(new Span(source, first, t.stop()), result, List.of(index));
      } else {
        return type == EOF ? result : null;
      }
      if (t.stop() - first > SHORT) {
        return null;
      }
      at = t.stop();
    }
  }

  /** Longer accesses may be too deep: those who count look at them. */
  private static final int SHORT = 80;

  // Tokens

  private ScanToken token() {
    return tokens[at];
  }

  private int type() {
    return tokens[at].getType();
  }

  /** Goes behind a token of this type if one stands here. */
  private boolean take(int type) {
    if (type() == type) {
      at++;
      return true;
    }
    return false;
  }

  private Span span(ScanToken t) {
    return new Span(source, t.getStartIndex(), t.getStopIndex() + 1);
  }

  /** From a token to the one in front of the next. */
  private Span since(ScanToken first) {
    return new Span(source, first.getStartIndex(), tokens[at - 1].getStopIndex() + 1);
  }

  private Span since(Span first) {
    return new Span(source, first.start(), tokens[at - 1].getStopIndex() + 1);
  }

  private static boolean isIdentifier(int type) {
    return type == IDENTIFIER || type == GET || type == SET || type == ON;
  }

  /** Names that were read, by a hash of their spelling: most names of a program are written often, and what they share is made once. */
  private final Name[] known = new Name[256];

  private Name name(ScanToken t) {
    int start = t.getStartIndex();
    int last = t.getStopIndex();
    int place = (source.codePointAt(start) * 31 + source.codePointAt(last)) * 31 + last - start & known.length - 1;
    Name k = known[place];
    if (k == null || !isSpelt(k.text(), start, last + 1)) {
      k = new Name(span(t), source.slice(start, last + 1));
      known[place] = k;
      return k;
    }
    return k.at(span(t));
  }

  private boolean isSpelt(String text, int start, int end) {
    if (text.length() != end - start) {
      return false;
    }
    for (int i = start; i < end; i++) {
      if (text.charAt(i - start) != source.codePointAt(i)) {
        return false;
      }
    }
    return true;
  }

  /** The name that stands here, or null. */
  private Name name() {
    if (!isIdentifier(type()) || token().faulty()) {
      return null;
    }
    return name(tokens[at++]);
  }

  // Declarations (Tables 13, 19, 40, 47)

  /** A program, function block or function of sections and statements or a drawing that begins at the next token, which is consumed then; else null. */
  Declaration declaration() {
    int from = list.index();
    at = from;
    Declaration d = pou();
    if (d != null) {
      list.seek(at);
    }
    return d;
  }

  private Declaration pou() {
    int begin = at;
    ScanToken first = token();
    int type = first.getType();
    int end = type == PROGRAM ? END_PROGRAM : type == FUNCTION_BLOCK ? END_FUNCTION_BLOCK : type == FUNCTION ? END_FUNCTION : 0;
    if (end == 0 || first.faulty()) {
      return null;
    }
    at++;
    Name name = name();
    if (name == null || (type == FUNCTION && TokenRepair.isOperatorWord(name.text()))) {
      return null;
    }
    Optional<TypeSpec> result = Optional.empty();
    if (type == FUNCTION && take(COLON)) {
      TypeSpec t = type(0);
      if (t == null) {
        return null;
      }
      result = Optional.of(t);
    }
    List<Declaration.VarSection> sections = new ArrayList<>();
    for (Declaration.SectionKind kind = section(type()); kind != null; kind = section(type())) {
      Declaration.VarSection s = section(kind);
      if (s == null) {
        return null;
      }
      sections.add(s);
    }
    Body body = body();
    if (body == null || token().faulty() || !take(end)) {
      return null;
    }
    Span span = since(first);
    Declaration.Documentation documentation = remarks.documentation(begin);
    return switch (type) {
      case PROGRAM -> new Declaration.Program(span, name, List.of(), sections, body, documentation);
      case FUNCTION -> new Declaration.Function(span, name, Set.of(), result, List.of(), sections, body, documentation);
      default -> new Declaration.FunctionBlock(span, name, Set.of(), Optional.empty(), List.of(), List.of(), sections, List.of(), List.of(), body,
          documentation);
    };
  }

  private Body body() {
    ScanToken first = token();
    if (first.getType() == DRAWING) {
      at++;
      return first.faulty() ? null : new Body.Drawing(span(first));
    }
    List<Statement> statements = new ArrayList<>();
    boolean afterBlock = false;
    while (begins(type())) {
      int from = at;
      Statement s = statement();
      if (s == null) {
        fail(from);
        return null;
      }
      if (!(afterBlock && s instanceof Statement.Empty)) {
        statements.add(s);
      }
      afterBlock = isBlock(s);
    }
    if (statements.isEmpty()) {
      return remarks.binding(at).map(p -> (Body) new Body.Bound(p.span(), p)).orElse(null);
    }
    return new Body.Text(since(first), statements);
  }

  private static Declaration.SectionKind section(int type) {
    return switch (type) {
      case VAR -> Declaration.SectionKind.LOCAL;
      case VAR_INPUT -> Declaration.SectionKind.INPUT;
      case VAR_OUTPUT -> Declaration.SectionKind.OUTPUT;
      case VAR_IN_OUT -> Declaration.SectionKind.IN_OUT;
      case VAR_TEMP -> Declaration.SectionKind.TEMP;
      case VAR_EXTERNAL -> Declaration.SectionKind.EXTERNAL;
      case VAR_GLOBAL -> Declaration.SectionKind.GLOBAL;
      default -> null;
    };
  }

  private Declaration.VarSection section(Declaration.SectionKind kind) {
    ScanToken first = token();
    at++;
    boolean constant = take(CONSTANT);
    Optional<Declaration.Retention> retention = take(RETAIN) ? Optional.of(Declaration.Retention.RETAIN)
        : take(NON_RETAIN) ? Optional.of(Declaration.Retention.NON_RETAIN) : Optional.empty();
    constant = constant || take(CONSTANT);
    List<Declaration.VarDeclaration> variables = new ArrayList<>();
    while (isIdentifier(type()) || type() == DIRECT || type() == AT) {
      Declaration.VarDeclaration v = variable(kind);
      if (v == null) {
        return null;
      }
      variables.add(v);
    }
    return first.faulty() || token().faulty() || !take(END_VAR) ? null
        : new Declaration.VarSection(since(first), kind, constant, retention, Optional.empty(), variables, List.of());
  }

  private Declaration.VarDeclaration variable(Declaration.SectionKind kind) {
    int begin = at;
    ScanToken first = token();
    List<Name> names = new ArrayList<>(2);
    if (isIdentifier(type())) {
      do {
        Name n = name();
        if (n == null) {
          return null;
        }
        names.add(n);
      } while (take(COMMA));
    }
    Optional<DirectAddress> location = Optional.empty();
    if (take(AT) || (names.isEmpty() && type() == DIRECT)) {
      location = type() == DIRECT && !token().faulty() ? Nodes.address(source, token(), false) : Optional.empty();
      if (location.isEmpty()) {
        return null;
      }
      at++;
    }
    TypeSpec type = take(COLON) ? type(0) : null;
    if (type == null) {
      return null;
    }
    Declaration.Edge edge = type() == R_EDGE ? Declaration.Edge.RISING : type() == F_EDGE ? Declaration.Edge.FALLING : Declaration.Edge.NONE;
    if (edge != Declaration.Edge.NONE) {
      at++;
      if (kind != Declaration.SectionKind.INPUT) {
        return null;
      }
    }
    Optional<Initializer> initial = Optional.empty();
    if (take(ASSIGN)) {
      Expression value = expression();
      if (value == null) {
        return null;
      }
      initial = Optional.of(new Initializer.Value(value.span(), value));
    }
    ScanToken last = token();
    return last.faulty() || !take(SEMICOLON) ? null
        : new Declaration.VarDeclaration(since(first), names, location, type, edge, initial, remarks.documentation(begin, at - 1));
  }

  private TypeSpec type(int depth) {
    ScanToken first = token();
    if (first.faulty() || depth > maxNesting) {
      return null;
    }
    if (take(REF_TO)) {
      TypeSpec target = type(depth + 1);
      return target == null ? null : new TypeSpec.Reference(since(first), target);
    }
    if (take(ARRAY)) {
      return array(first, depth);
    }
    Name name = name();
    if (name == null || type() == LPAREN) {
      return null;
    }
    List<Name> parts = List.of(name);
    if (type() == DOT) {
      parts = new ArrayList<>(parts);
      while (take(DOT)) {
        Name n = name();
        if (n == null) {
          return null;
        }
        parts.add(n);
      }
    }
    QualifiedName qualified = new QualifiedName(since(first), parts);
    if (!take(LBRACKET)) {
      return type() == LPAREN ? null : new TypeSpec.Named(qualified.span(), qualified);
    }
    Expression length = parts.size() == 1 ? expression() : null;
    return length == null || !take(RBRACKET) ? null : new TypeSpec.Str(since(first), name, length);
  }

  private TypeSpec array(ScanToken first, int depth) {
    if (!take(LBRACKET)) {
      return null;
    }
    List<TypeSpec.Dimension> dimensions = new ArrayList<>(2);
    do {
      ScanToken begin = token();
      if (take(TIMES)) {
        dimensions.add(new TypeSpec.Dimension(span(begin), Optional.empty(), Optional.empty()));
        continue;
      }
      Expression low = expression();
      Expression high = low != null && take(RANGE) ? expression() : null;
      if (high == null) {
        return null;
      }
      dimensions.add(new TypeSpec.Dimension(since(begin), Optional.of(low), Optional.of(high)));
    } while (take(COMMA));
    TypeSpec element = take(RBRACKET) && take(OF) ? type(depth + 1) : null;
    return element == null ? null : new TypeSpec.Array(since(first), dimensions, element);
  }

  // Statements (Table 72)

  private List<Statement> list() {
    List<Statement> all = new ArrayList<>();
    boolean afterBlock = false;
    while (begins(type())) {
      Statement s = statement();
      if (s == null) {
        return null;
      }
      if (!(afterBlock && s instanceof Statement.Empty)) {
        all.add(s);
      }
      afterBlock = isBlock(s);
    }
    return all;
  }

  /** Whether a semicolon behind such a statement belongs to it. */
  static boolean isBlock(Statement s) {
    return s instanceof Statement.If || s instanceof Statement.Case || s instanceof Statement.For || s instanceof Statement.While
        || s instanceof Statement.Repeat;
  }

  private static boolean begins(int type) {
    return switch (type) {
      case SEMICOLON, IF, CASE, FOR, WHILE, REPEAT, EXIT, CONTINUE, RETURN, TOO_DEEP, IDENTIFIER, GET, SET, ON, THIS, SUPER, DIRECT, TYPE_PREFIX, AND, OR,
          XOR, MOD -> true;
      default -> false;
    };
  }

  private Statement statement() {
    ScanToken first = token();
    if (first.faulty()) {
      return null;
    }
    switch (first.getType()) {
      case IDENTIFIER, GET, SET, ON, THIS, SUPER, DIRECT -> {
        return simple(first);
      }
      case SEMICOLON -> {
        at++;
        return new Statement.Empty(span(first));
      }
      case IF -> {
        return ifThen(first);
      }
      case CASE -> {
        return caseOf(first);
      }
      case FOR -> {
        return forLoop(first);
      }
      case WHILE -> {
        at++;
        Expression condition = expression();
        List<Statement> body = condition != null && take(DO) ? list() : null;
        return body != null && take(END_WHILE) ? new Statement.While(since(first), condition, body) : null;
      }
      case REPEAT -> {
        at++;
        List<Statement> body = list();
        Expression until = body != null && take(UNTIL) ? expression() : null;
        return until != null && take(END_REPEAT) ? new Statement.Repeat(since(first), body, until) : null;
      }
      case EXIT -> {
        at++;
        return take(SEMICOLON) ? new Statement.Exit(since(first)) : null;
      }
      case CONTINUE -> {
        at++;
        return take(SEMICOLON) ? new Statement.Continue(since(first)) : null;
      }
      case RETURN -> {
        at++;
        return take(SEMICOLON) ? new Statement.Return(since(first)) : null;
      }
      default -> {
        return null;
      }
    }
  }

  private Statement simple(ScanToken first) {
    Expression target = variable();
    if (target == null) {
      return null;
    }
    int type = type();
    if (type == SEMICOLON) {
      at++;
      return target instanceof Expression.Call call ? new Statement.CallStatement(since(first), call) : null;
    }
    boolean stored = target instanceof Expression.Ident || target instanceof Expression.Member || target instanceof Expression.Index
        || target instanceof Expression.Bits || target instanceof Expression.Dereference || target instanceof Expression.Direct;
    if (!stored || (type != ASSIGN && type != ATTEMPT)) {
      return null;
    }
    at++;
    Expression value = expression();
    if (value == null || !take(SEMICOLON)) {
      return null;
    }
    return type == ASSIGN ? new Statement.Assignment(since(first), target, value) : new Statement.Attempt(since(first), target, value);
  }

  private Statement ifThen(ScanToken first) {
    List<Statement.Branch> branches = new ArrayList<>();
    ScanToken begin = first;
    do {
      at++;
      Expression condition = expression();
      List<Statement> body = condition != null && take(THEN) ? list() : null;
      if (body == null) {
        return null;
      }
      branches.add(new Statement.Branch(since(begin), condition, body));
      begin = token();
    } while (begin.getType() == ELSIF);
    Optional<List<Statement>> otherwise = Optional.empty();
    if (take(ELSE)) {
      List<Statement> body = list();
      if (body == null) {
        return null;
      }
      otherwise = Optional.of(body);
    }
    return take(END_IF) ? new Statement.If(since(first), branches, otherwise) : null;
  }

  private Statement caseOf(ScanToken first) {
    at++;
    Expression selector = expression();
    if (selector == null || !take(OF)) {
      return null;
    }
    List<Statement.CaseGroup> groups = new ArrayList<>();
    while (type() == CASE_LABEL) {
      ScanToken mark = token();
      List<Statement.CaseLabel> labels = new ArrayList<>();
      do {
        at++;
        ScanToken begin = token();
        Expression low = expression();
        if (low == null) {
          return null;
        }
        Optional<Expression> high = Optional.empty();
        if (take(RANGE)) {
          Expression e = expression();
          if (e == null) {
            return null;
          }
          high = Optional.of(e);
        }
        labels.add(new Statement.CaseLabel(since(begin), low, high));
      } while (type() == COMMA);
      List<Statement> body = take(COLON) ? list() : null;
      if (body == null) {
        return null;
      }
      groups.add(new Statement.CaseGroup(since(mark), labels, body));
    }
    Optional<List<Statement>> otherwise = Optional.empty();
    if (take(ELSE)) {
      List<Statement> body = list();
      if (body == null) {
        return null;
      }
      otherwise = Optional.of(body);
    }
    return take(END_CASE) ? new Statement.Case(since(first), selector, groups, otherwise) : null;
  }

  private Statement forLoop(ScanToken first) {
    at++;
    Expression variable = variable();
    Expression from = variable != null && take(ASSIGN) ? expression() : null;
    Expression to = from != null && take(TO) ? expression() : null;
    if (to == null) {
      return null;
    }
    Optional<Expression> by = Optional.empty();
    if (take(BY)) {
      Expression e = expression();
      if (e == null) {
        return null;
      }
      by = Optional.of(e);
    }
    List<Statement> body = take(DO) ? list() : null;
    return body != null && take(END_FOR) ? new Statement.For(since(first), variable, from, to, by, body) : null;
  }

  // Expressions (Table 71)

  private Expression expression() {
    return climb(0);
  }

  /** Chains by the precedence of Table 71, as the tree builder makes them. */
  private Expression climb(int lowest) {
    Expression left = operand();
    if (left == null) {
      return null;
    }
    Expression.BinaryOperator operator = operator(type());
    while (operator != null && operator.precedence() >= lowest) {
      int level = operator.precedence();
      List<Expression.Link> links = new ArrayList<>(4);
      Expression right = null;
      while (operator != null && operator.precedence() == level) {
        ScanToken place = tokens[at++];
        if (place.faulty()) {
          return null;
        }
        right = climb(level + 1);
        if (right == null) {
          return null;
        }
        links.add(new Expression.Link(span(place), operator, right));
        operator = operator(type());
      }
      left = new Expression.Chain(new Span(source, left.span().start(), right.span().end()), left, links);
    }
    return left;
  }

  private static Expression.BinaryOperator operator(int type) {
    return switch (type) {
      case OR -> Expression.BinaryOperator.OR;
      case XOR -> Expression.BinaryOperator.XOR;
      case AND, AMPERSAND -> Expression.BinaryOperator.AND;
      case EQ -> Expression.BinaryOperator.EQ;
      case NE -> Expression.BinaryOperator.NE;
      case LT -> Expression.BinaryOperator.LT;
      case GT -> Expression.BinaryOperator.GT;
      case LE -> Expression.BinaryOperator.LE;
      case GE -> Expression.BinaryOperator.GE;
      case PLUS -> Expression.BinaryOperator.ADD;
      case MINUS -> Expression.BinaryOperator.SUB;
      case TIMES -> Expression.BinaryOperator.MUL;
      case DIVIDE -> Expression.BinaryOperator.DIV;
      case MOD -> Expression.BinaryOperator.MOD;
      case POWER -> Expression.BinaryOperator.POWER;
      default -> null;
    };
  }

  private Expression operand() {
    int first = at;
    for (int type = type(); type == NOT || type == MINUS || type == PLUS; type = type()) {
      at++;
    }
    int signs = at - first;
    Expression result = signs > maxNesting ? null : primary();
    for (int i = at; result != null && signs > 0; signs--) {
      ScanToken sign = tokens[first + signs - 1];
      Expression.UnaryOperator operator = sign.getType() == NOT ? Expression.UnaryOperator.NOT
          : sign.getType() == MINUS ? Expression.UnaryOperator.MINUS : Expression.UnaryOperator.PLUS;
      result = sign.faulty() ? null : new Expression.Unary(new Span(source, sign.getStartIndex(), result.span().end()), operator, result);
      at = i;
    }
    return result;
  }

  private Expression primary() {
    ScanToken first = token();
    if (first.faulty()) {
      return null;
    }
    switch (first.getType()) {
      case IDENTIFIER, GET, SET, ON, THIS, SUPER, TYPE_PREFIX, DIRECT -> {
        return variable();
      }
      case LPAREN -> {
        at++;
        Expression inner = expression();
        // More than one argument, or a named one: left to the tree builder.
        return inner != null && take(RPAREN) ? Nodes.withSpan(inner, since(first)) : null;
      }
      case INTEGER, REAL, BASED, TRUE, FALSE, NULL, STRING, WSTRING, DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME -> {
        at++;
        return type() == LPAREN ? null : literal(first);
      }
      default -> {
        return null;
      }
    }
  }

  private Expression literal(ScanToken t) {
    Expression.LiteralKind kind = Nodes.kind(t);
    boolean prefixed = kind == Expression.LiteralKind.DURATION || kind == Expression.LiteralKind.DATE || kind == Expression.LiteralKind.TIME_OF_DAY
        || kind == Expression.LiteralKind.DATE_AND_TIME;
    return valid(prefixed ? Nodes.prefixed(source, t)
        : new Expression.Literal(span(t), kind, Optional.empty(), false, source.slice(t.getStartIndex(), t.getStopIndex() + 1)));
  }

  private static Expression valid(Expression.Literal literal) {
    return Literals.isPlainInteger(literal) || !(Literals.decode(literal) instanceof Literals.Invalid) ? literal : null;
  }

  /** {@code INT#5}, {@code BOOL#TRUE}, {@code Mode#Auto}. */
  private Expression typed() {
    ScanToken first = tokens[at++];
    Name prefix = new Name(new Span(source, first.getStartIndex(), first.getStopIndex()), source.slice(first.getStartIndex(), first.getStopIndex()));
    if (isIdentifier(type())) {
      Name value = name();
      return value == null ? null : new Expression.TypedName(since(first), new QualifiedName(prefix.span(), List.of(prefix)), value);
    }
    boolean negative = type() == MINUS;
    boolean signed = negative || type() == PLUS;
    if (signed) {
      at++;
    }
    ScanToken value = token();
    boolean number = value.getType() == INTEGER || value.getType() == REAL || value.getType() == BASED;
    boolean other = value.getType() == TRUE || value.getType() == FALSE || value.getType() == STRING || value.getType() == WSTRING;
    if (value.faulty() || !(number || (other && !signed))) {
      return null;
    }
    at++;
    return valid(new Expression.Literal(since(first), Nodes.kind(value), Optional.of(prefix), negative,
        source.slice(value.getStartIndex(), value.getStopIndex() + 1)));
  }

  // Variables and calls

  private Expression variable() {
    ScanToken first = token();
    if (first.faulty()) {
      return null;
    }
    Expression result;
    if (isIdentifier(first.getType())) {
      at++;
      Name name = name(first);
      result = new Expression.Ident(name.span(), name);
    } else if (first.getType() == THIS || first.getType() == SUPER) {
      at++;
      result = new Expression.Self(span(first), first.getType() == SUPER);
    } else if (first.getType() == TYPE_PREFIX) {
      result = typed();
    } else if (first.getType() == DIRECT) {
      at++;
      result = Nodes.address(source, first, false).map(a -> (Expression) new Expression.Direct(a.span(), a)).orElse(null);
    } else {
      return null;
    }
    for (int selectors = 0; result != null; selectors++) {
      int type = type();
      if (type != LBRACKET && type != DOT && type != LPAREN && type != CARET) {
        return result;
      }
      if (selectors >= maxNesting || token().faulty()) {
        return null;
      }
      at++;
      result = switch (type) {
        case LBRACKET -> index(first, result);
        case DOT -> behindDot(first, result);
        case CARET -> new Expression.Dereference(since(first), result);
        default -> call(first, result);
      };
    }
    return null;
  }

  private Expression index(ScanToken first, Expression base) {
    boolean number = type() == INTEGER && tokens[at + 1].getType() == RBRACKET;
    Expression index = number ? primary() : expression();
    List<Expression> indices;
    if (index != null && type() == COMMA) {
      indices = new ArrayList<>();
      indices.add(index);
      while (take(COMMA)) {
        Expression e = expression();
        if (e == null) {
          return null;
        }
        indices.add(e);
      }
    } else {
      indices = index == null ? null : List.of(index);
    }
    return indices != null && take(RBRACKET) ? new Expression.Index(since(first), base, indices) : null;
  }

  private Expression behindDot(ScanToken first, Expression base) {
    ScanToken t = token();
    if (type() == INTEGER && !t.faulty()) {
      String number = source.slice(t.getStartIndex(), t.getStopIndex() + 1);
      if (number.length() > 4 || number.indexOf('_') >= 0) {
        return null;
      }
      at++;
      return new Expression.Bits(since(first), base, 'X', Integer.parseInt(number));
    }
    Name name = name();
    return name == null ? null : new Expression.Member(since(first), base, name);
  }

  private Expression call(ScanToken first, Expression target) {
    List<Expression.Argument> arguments = new ArrayList<>(4);
    if (!take(RPAREN)) {
      do {
        Expression.Argument a = argument();
        if (a == null) {
          return null;
        }
        arguments.add(a);
      } while (take(COMMA));
      if (!take(RPAREN)) {
        return null;
      }
    }
    return new Expression.Call(since(first), target, arguments);
  }

  private Expression.Argument argument() {
    ScanToken first = token();
    Expression left = expression();
    if (left == null) {
      return null;
    }
    if (take(ASSIGN)) {
      Expression value = left instanceof Expression.Ident ? expression() : null;
      return value == null ? null
          : new Expression.Argument(since(first), Expression.ArgumentKind.INPUT, Optional.of(((Expression.Ident) left).name()), false, Optional.of(value));
    }
    if (!take(ARROW)) {
      return new Expression.Argument(since(first), Expression.ArgumentKind.NAMELESS, Optional.empty(), false, Optional.of(left));
    }
    boolean negated = left instanceof Expression.Unary not && not.operator() == Expression.UnaryOperator.NOT;
    Expression named = negated ? ((Expression.Unary) left).operand() : left;
    if (!(named instanceof Expression.Ident ident)) {
      return null;
    }
    Optional<Expression> value = Optional.empty();
    if (type() != COMMA && type() != RPAREN) {
      Expression v = variable();
      if (v == null) {
        return null;
      }
      value = Optional.of(v);
    }
    return new Expression.Argument(since(first), Expression.ArgumentKind.OUTPUT, Optional.of(ident.name()), negated, value);
  }
}
