package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Literals;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.math.BigDecimal;
import java.math.BigInteger;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/**
 * Expressions and variable accesses as written to typed ones (Tables 12, 16, 17, 71; rows S.conv-*). Literals adapt to their context;
 * operands of two types are brought to the smallest common one; nothing else converts by itself.
 */
final class Expressions {
  private final Session session;
  private final Scope scope;
  private int depth;
  private boolean folding = true;

  Expressions(Session session, Scope scope) {
    this.session = session;
    this.scope = scope;
  }

  /** What a value is needed for: code and words of the diagnostic when its type does not suit. */
  enum Purpose {
    ASSIGNMENT("type/assignment", "cannot be assigned to"),
    INITIAL("type/assignment", "cannot initialize"),
    ARGUMENT("type/argument", "cannot be given to a parameter of type"),
    OPERAND("type/operand", "cannot stand where the operator needs"),
    CONDITION("type/condition", "cannot be a condition, which needs"),
    INDEX("type/index", "cannot be a subscript, which needs"),
    LABEL("case/label", "cannot be a label for"),
    LOOP("for/type", "cannot be used in a loop over");

    private final String code;
    private final String words;

    Purpose(String code, String words) {
      this.code = code;
      this.words = words;
    }

    String code() {
      return code;
    }
  }

  /** What a name or access denotes. */
  sealed interface Target {}

  record AtPlace(Place place) implements Target {}

  record AtProperty(Span span, Place receiver, PouInfo.Property property, boolean dynamic) implements Target {}

  record AtMethod(Span span, Place receiver, Pou method, boolean dynamic) implements Target {}

  record AtPou(Span span, Pou pou) implements Target {}

  record AtType(Span span, Type type) implements Target {}

  record AtNamespace(Span span, Namespace namespace) implements Target {}

  record AtValue(Val value) implements Target {}

  /** Something wrong that was reported. */
  record AtFail(Span span) implements Target {}

  Scope scope() {
    return scope;
  }

  static Expr unknown(Span span) {
    return new Expr.Constant(span, Kinds.UNKNOWN, 0);
  }

  private static Val fail(Span span) {
    return new Val.Typed(unknown(span));
  }

  static boolean isUnknown(Val v) {
    return v instanceof Val.Typed t && Kinds.isUnknown(t.expr().type());
  }

  // Checking

  /** The value of an expression; {@code hint} is the type that the context would like, or null. Never null. */
  Val check(Expression e, Type hint) {
    if (depth > 3 * session.limits.nesting() + 64) {
      session.error("limit/nesting", e.span(), "the expression is nested too deeply");
      return fail(e.span());
    }
    depth++;
    try {
      return e.accept(new Checking(hint));
    } finally {
      depth--;
    }
  }

  /** The value of an expression with the type it has by itself. */
  Expr typed(Expression e, Type hint) {
    return typed(check(e, hint), hint);
  }

  /** What a name denotes outside this POU, whatever it denotes inside. */
  Symbols.Found global(String name) {
    return session.symbols.find(name.toUpperCase(java.util.Locale.ROOT), scope.site());
  }

  /** The value converted to a type; reports when that is not possible. */
  Expr coerce(Expression e, Type target, Purpose purpose) {
    return coerce(check(e, target), target, purpose);
  }

  private final class Checking implements Expression.Visitor<Val> {
    private final Type hint;

    Checking(Type hint) {
      this.hint = hint;
    }

    @Override
    public Val literal(Expression.Literal e) {
      return Expressions.this.literal(e);
    }

    @Override
    public Val name(Expression.Ident e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val typedName(Expression.TypedName e) {
      Symbol s = session.symbols.resolve(e.type(), scope.site(), "type");
      if (s == null) {
        return fail(e.span());
      }
      Type t = s instanceof Symbol.TypeSymbol ts ? session.types.of(ts) : Kinds.UNKNOWN;
      if (t.base() instanceof Type.Enumeration en) {
        Optional<Type.Enumeration.Value> v = en.find(e.value().text());
        if (v.isEmpty()) {
          session.unknownName(e.value().span(), e.value() + " is not a value of " + en.name(), e.value().text(),
              en.values().stream().map(Type.Enumeration.Value::name).toList());
          return fail(e.span());
        }
        return new Val.Typed(new Expr.Constant(e.span(), t, v.get().value()));
      }
      if (!(s instanceof Symbol.TypeSymbol) || !Kinds.isUnknown(t)) {
        session.error("type/enumeration", e.type().span(), e.type().text() + " is no enumeration");
      }
      return fail(e.span());
    }

    @Override
    public Val direct(Expression.Direct e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val member(Expression.Member e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val index(Expression.Index e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val bits(Expression.Bits e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val dereference(Expression.Dereference e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val call(Expression.Call e) {
      return new Calls(session, Expressions.this).value(e, hint);
    }

    @Override
    public Val unary(Expression.Unary e) {
      return Expressions.this.unary(e, hint);
    }

    @Override
    public Val chain(Expression.Chain e) {
      List<Expression.Link> rest = e.rest();
      Val left = check(e.first(), operandHint(rest.get(0).operator(), hint));
      int n = rest.size();
      for (int i = 0; i < n; i++) {
        Expression.Link l = rest.get(i);
        Type h = rightHint(l.operator(), left, hint);
        Val right = check(l.operand(), h);
        left = binary(operator(l.operator()), left, right, l.operatorSpan(), hint);
      }
      return left;
    }

    @Override
    public Val self(Expression.Self e) {
      return toVal(resolve(e, false, hint));
    }

    @Override
    public Val error(Expression.Erroneous e) {
      return fail(e.span());
    }
  }

  private static boolean isComparison(Expression.BinaryOperator op) {
    return switch (op) {
      case EQ, NE, LT, GT, LE, GE -> true;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> false;
    };
  }

  private static Type operandHint(Expression.BinaryOperator op, Type hint) {
    return isComparison(op) ? null : hint;
  }

  private static Type rightHint(Expression.BinaryOperator op, Val left, Type hint) {
    Type own = left instanceof Val.Typed t && !Kinds.isUnknown(t.expr().type()) ? t.expr().type() : null;
    if (isComparison(op)) {
      return own;
    }
    if (op == Expression.BinaryOperator.POWER) {
      return null;
    }
    ElementaryType k = own == null ? null : Kinds.kind(own);
    return k != null && (k.isNumber() || k.isBits()) ? own : hint;
  }

  private static Expr.Operator operator(Expression.BinaryOperator op) {
    return switch (op) {
      case OR -> Expr.Operator.OR;
      case XOR -> Expr.Operator.XOR;
      case AND -> Expr.Operator.AND;
      case EQ -> Expr.Operator.EQ;
      case NE -> Expr.Operator.NE;
      case LT -> Expr.Operator.LT;
      case GT -> Expr.Operator.GT;
      case LE -> Expr.Operator.LE;
      case GE -> Expr.Operator.GE;
      case ADD -> Expr.Operator.ADD;
      case SUB -> Expr.Operator.SUB;
      case MUL -> Expr.Operator.MUL;
      case DIV -> Expr.Operator.DIV;
      case MOD -> Expr.Operator.MOD;
      case POWER -> Expr.Operator.POWER;
    };
  }

  static String symbol(Expr.Operator op) {
    return Expression.BinaryOperator.valueOf(op.name()).symbol();
  }

  // Literals (Tables 5 to 9)

  private Val literal(Expression.Literal e) {
    Literals.Value v = Literals.decode(e);
    if (v instanceof Literals.Invalid) {
      return fail(e.span());
    }
    Span span = e.span();
    boolean octal = v instanceof Literals.Int && e.text().startsWith("8#");
    if (octal && session.choices.deprecations()) {
      session.warning("deprecated/octal", span, "octal literals were dropped by edition 4 of the standard");
    }
    if (v instanceof Literals.Int i) {
      return typedLiteral(new Val.Int(span, i.value()), e);
    }
    if (v instanceof Literals.Bool b) {
      return typedLiteral(new Val.Typed(new Expr.Constant(span, Kinds.BOOL, b.value() ? 1 : 0)), e);
    }
    if (v instanceof Literals.Null) {
      return new Val.Null(span);
    }
    if (v instanceof Literals.Real r) {
      return typedLiteral(new Val.Real(span, new BigDecimal(r.text())), e);
    }
    if (v instanceof Literals.Text t) {
      return typedLiteral(new Val.Text(span, t.units(), e.kind() == Expression.LiteralKind.WSTRING), e);
    }
    return time(v, e);
  }

  private Val typedLiteral(Val v, Expression.Literal e) {
    if (e.prefix().isEmpty()) {
      return v;
    }
    Name prefix = e.prefix().get();
    Optional<ElementaryType> kind = Kinds.named(prefix.key());
    if (kind.isPresent()) {
      ElementaryType k = kind.get();
      if (v instanceof Val.Text t && (k.isString() || k.family() == Family.CHARACTER)) {
        return text(t, k.isString() ? new Type.Text(k, Math.max(1, t.points().length)) : Kinds.of(k), true, Purpose.OPERAND);
      }
      Type type = k.isString() ? session.types.elementary(k.name()).get() : Kinds.of(k);
      return new Val.Typed(coerce(v, type, Purpose.OPERAND));
    }
    Symbol s = session.symbols.resolve(new dev.scanloom.internal.syntax.QualifiedName(prefix.span(), List.of(prefix)), scope.site(),
        "type");
    if (s instanceof Symbol.TypeSymbol t) {
      return new Val.Typed(coerce(v, session.types.of(t), Purpose.OPERAND));
    }
    if (s != null) {
      session.error("type/not-a-type", prefix.span(), prefix + " is not a type");
    }
    return fail(e.span());
  }

  private Val time(Literals.Value v, Expression.Literal e) {
    boolean longForm = e.prefix().isPresent() && e.prefix().get().key().startsWith("L");
    BigInteger nanos;
    ElementaryType kind;
    if (v instanceof Literals.Duration d) {
      nanos = BigInteger.valueOf(d.nanoseconds());
      kind = longForm ? ElementaryType.LTIME : ElementaryType.TIME;
    } else if (v instanceof Literals.Date d) {
      nanos = BigInteger.valueOf(d.epochDay()).multiply(BigInteger.valueOf(Arith.DAY));
      kind = longForm ? ElementaryType.LDATE : ElementaryType.DATE;
    } else if (v instanceof Literals.TimeOfDay t) {
      nanos = BigInteger.valueOf(t.nanoOfDay());
      kind = longForm ? ElementaryType.LTOD : ElementaryType.TOD;
    } else if (v instanceof Literals.DateAndTime dt) {
      nanos = dt.nanoseconds();
      kind = longForm ? ElementaryType.LDT : ElementaryType.DT;
    } else {
      throw new IllegalStateException("literal " + v);
    }
    if (nanos.bitLength() > 63) {
      session.error("range/literal", e.span(), "the value is outside the range of " + kind + ", 1677 to 2262");
      return fail(e.span());
    }
    return new Val.Typed(new Expr.Constant(e.span(), Kinds.of(kind), nanos.longValue()));
  }

  // Names and accesses

  /** What an expression denotes. {@code callee}: it stands in front of the parentheses of a call. */
  Target resolve(Expression e, boolean callee, Type hint) {
    if (depth > 3 * session.limits.nesting() + 64) {
      session.error("limit/nesting", e.span(), "the expression is nested too deeply");
      return new AtFail(e.span());
    }
    depth++;
    try {
      if (e instanceof Expression.Ident i) {
        return ident(i.name(), callee, hint);
      }
      if (e instanceof Expression.Member m) {
        return member(m, callee);
      }
      if (e instanceof Expression.Index x) {
        return index(x);
      }
      if (e instanceof Expression.Dereference d) {
        return dereference(d);
      }
      if (e instanceof Expression.Bits b) {
        return bits(b);
      }
      if (e instanceof Expression.Direct d) {
        return direct(d);
      }
      if (e instanceof Expression.Self s) {
        return self(s);
      }
      return new AtValue(check(e, hint));
    } finally {
      depth--;
    }
  }

  private Target ident(Name name, boolean callee, Type hint) {
    String key = name.key();
    Variable v = scope.find(key);
    if (key.equals("EN") || key.equals("ENO")) {
      Target enable = enable(key, v, name);
      if (enable != null) {
        return enable;
      }
    }
    if (v != null && !(callee && v.section() == Variable.Section.RESULT)) {
      return variable(v, name);
    }
    PouInfo self = scope.self();
    if (self != null && self.pou().kind() != Pou.Kind.FUNCTION) {
      PouInfo.Property p = session.pous.property(self, key);
      if (p != null) {
        return atProperty(name.span(), new Place.This(name.span(), new Type.Block(self.pou())), p);
      }
      Pou m = session.pous.method(self, name.text());
      if (m != null) {
        return atMethod(name.span(), new Place.This(name.span(), new Type.Block(self.pou())), m);
      }
    }
    if (!callee) {
      if (hint != null && hint.base() instanceof Type.Enumeration en) {
        Optional<Type.Enumeration.Value> value = en.find(name.text());
        if (value.isPresent()) {
          return new AtValue(new Val.Typed(new Expr.Constant(name.span(), hint, value.get().value())));
        }
      }
      List<Type.Enumeration> candidates = enumerations(key);
      if (!candidates.isEmpty()) {
        return new AtValue(new Val.Named(name.span(), name.text(), candidates));
      }
    }
    Symbols.Found f = session.symbols.find(key, scope.site());
    if (!f.ambiguous().isEmpty()) {
      session.symbols.ambiguous(name.span(), name.text(), f.ambiguous());
      return new AtFail(name.span());
    }
    if (f.symbol() != null) {
      return symbol(f.symbol(), name);
    }
    Namespace n = session.symbols.namespaceNamed(key, scope.site());
    if (n != null) {
      return namespace(n, name.span());
    }
    List<String> near = new ArrayList<>(scope.names());
    near.addAll(session.symbols.visibleNames(scope.site()));
    session.unknownName(name.span(), name + " is not declared", name.text(), near);
    return new AtFail(name.span());
  }

  /** EN and ENO of the POU whose body this is: EN is TRUE while a body runs. Null when they are ordinary names here. */
  private Target enable(String key, Variable found, Name name) {
    PouInfo info = scope.info();
    if (info == null || info.pou().kind() == Pou.Kind.PROGRAM || found != null && session.declaredIn.get(found) == info.pou()) {
      return null;
    }
    if (key.equals("EN") && found == null) {
      return new AtValue(new Val.Typed(new Expr.Constant(name.span(), Kinds.BOOL, 1)));
    }
    boolean ofBlock = found != null && info.owner() != null && session.declaredIn.get(found) == info.owner().pou();
    if (key.equals("ENO") && (found == null || ofBlock)) {
      return new AtValue(new Val.Typed(new Expr.Constant(name.span(), Kinds.BOOL, 1)));
    }
    return null;
  }

  private List<Type.Enumeration> enumerations(String key) {
    List<Type.Enumeration> own = scope.enumerated(key);
    if (!own.isEmpty()) {
      return own;
    }
    List<Type.Enumeration> all = new ArrayList<>();
    for (Symbol.TypeSymbol t : session.symbols.enumerated(key, scope.site())) {
      if (session.types.of(t).base() instanceof Type.Enumeration en && en.find(key).isPresent()) {
        all.add(en);
      }
    }
    return all;
  }

  private Target namespace(Namespace n, Span span) {
    if (!session.symbols.visible(n, scope.site())) {
      session.error("access/namespace", span, "namespace " + n.path() + " is INTERNAL");
      return new AtFail(span);
    }
    return new AtNamespace(span, n);
  }

  private Target symbol(Symbol s, Name at) {
    if (!session.symbols.visible(s, scope.site())) {
      session.error("access/internal", at.span(), at + " is INTERNAL in namespace " + s.namespace().path());
      return new AtFail(at.span());
    }
    if (s instanceof Symbol.PouSymbol p) {
      return new AtPou(at.span(), p.pou());
    }
    return new AtType(at.span(), session.types.of((Symbol.TypeSymbol) s));
  }

  private Target variable(Variable v, Name at) {
    Pou declaring = session.declaredIn.get(v);
    PouInfo info = scope.info();
    if (info != null && declaring != null && declaring != info.pou()) {
      if (info.owner() != null && (v.section() == Variable.Section.TEMP || v.section() == Variable.Section.IN_OUT)) {
        session.error("access/method", at.span(), "a method cannot use " + at + ", a " + sectionWord(v) + " of its block");
        return new AtFail(at.span());
      }
      if (v.section() != Variable.Section.INPUT && v.section() != Variable.Section.OUTPUT
          && !new Access(session).canUse(v.access(), declaring, scope)) {
        session.error("access/variable", at.span(), at + " is " + v.access() + " in " + declaring.name());
        return new AtFail(at.span());
      }
    }
    return new AtPlace(new Place.Var(at.span(), v));
  }

  static String sectionWord(Variable v) {
    return switch (v.section()) {
      case INPUT -> "input";
      case OUTPUT -> "output";
      case IN_OUT -> "in-out";
      case TEMP -> "temporary variable";
      case LOCAL, HIDDEN -> "local variable";
      case EXTERNAL -> "external variable";
      case GLOBAL -> "global variable";
      case FIELD -> "structure element";
      case RESULT -> "result";
    };
  }

  private Target atProperty(Span span, Place receiver, PouInfo.Property p) {
    return new AtProperty(span, receiver, p, isDynamic(receiver, p.declaredIn()));
  }

  private Target atMethod(Span span, Place receiver, Pou m) {
    if (!new Access(session).canUse(m.access(), m.owner().get(), scope)) {
      session.error("access/method", span, "method " + m.name() + " of " + m.owner().get().name() + " is " + m.access());
      return new AtFail(span);
    }
    return new AtMethod(span, receiver, m, isDynamic(receiver, m.owner().get()));
  }

  /** The actual type behind a place may be derived from the declared one (S.oop-dynamic-binding). */
  boolean isDynamic(Place receiver, Pou declaring) {
    Type t = receiver.type().base();
    if (t instanceof Type.Interface || declaring.kind() == Pou.Kind.INTERFACE) {
      return true;
    }
    if (!(t instanceof Type.Block b) || !session.extended.contains(b.pou())) {
      return false;
    }
    if (receiver instanceof Place.Var v) {
      return v.variable().section() == Variable.Section.IN_OUT || v.variable().section() == Variable.Section.INPUT;
    }
    if (receiver instanceof Place.This) {
      return scope.self() != null && scope.self().pou() == b.pou();
    }
    return receiver instanceof Place.Deref;
  }

  private Target member(Expression.Member m, boolean callee) {
    Target base = resolve(m.base(), false, null);
    Name name = m.name();
    if (base instanceof AtFail) {
      return new AtFail(m.span());
    }
    if (base instanceof AtNamespace n) {
      Symbol s = n.namespace().symbols().get(name.key());
      if (s != null) {
        return symbol(s, name);
      }
      Namespace child = n.namespace().child(name.key());
      if (child != null) {
        return namespace(child, m.span());
      }
      List<Type.Enumeration> values = new ArrayList<>();
      for (Symbol.TypeSymbol t : n.namespace().enumerated(name.key())) {
        if (session.types.of(t).base() instanceof Type.Enumeration en) {
          values.add(en);
        }
      }
      if (!values.isEmpty() && !callee) {
        return new AtValue(new Val.Named(m.span(), name.text(), values));
      }
      session.unknownName(name.span(), name + " is not declared in namespace " + n.namespace().path(), name.text(),
          n.namespace().symbols().values().stream().map(s2 -> s2.name().text()).toList());
      return new AtFail(m.span());
    }
    Place place;
    if (base instanceof AtPlace p) {
      place = p.place();
    } else {
      Val v = toVal(base);
      if (isUnknown(v)) {
        return new AtFail(m.span());
      }
      if (v instanceof Val.Typed t && t.expr().type().base() instanceof Type.Interface) {
        place = new Place.Deref(t.expr().span(), t.expr().type(), t.expr());
      } else {
        session.error("name/not-a-variable", m.base().span(), "only variables have elements, not values");
        return new AtFail(m.span());
      }
    }
    return memberOf(place, name, m.span());
  }

  private Target memberOf(Place place, Name name, Span span) {
    Type t = place.type().base();
    if (t instanceof Type.Unknown) {
      return new AtFail(span);
    }
    if (t instanceof Type.Structure s) {
      Optional<Variable> f = s.field(name.text());
      if (f.isEmpty()) {
        session.unknownName(name.span(), name + " is no element of " + s.name(), name.text(),
            s.fields().stream().map(Variable::name).toList());
        return new AtFail(span);
      }
      return new AtPlace(new Place.Member(span, place, f.get()));
    }
    if (t instanceof Type.Block b) {
      return instanceMember(place, b.pou(), name, span);
    }
    if (t instanceof Type.Interface i) {
      PouInfo info = session.info(i.pou());
      Place receiver = place instanceof Place.Deref d && d.type().base() instanceof Type.Interface
          ? place : new Place.Deref(place.span(), place.type(), new Expr.Read(place.span(), place));
      PouInfo.Property p = session.pous.property(info, name.key());
      if (p != null) {
        return new AtProperty(span, receiver, p, true);
      }
      Pou m = session.pous.method(info, name.text());
      if (m != null) {
        return new AtMethod(span, receiver, m, true);
      }
      session.unknownName(name.span(), name + " is no method of " + i.name(), name.text(),
          i.pou().methods().stream().map(Pou::name).toList());
      return new AtFail(span);
    }
    if (t instanceof Type.Reference) {
      session.report(Diagnostic.error("type/reference", name.span(), "a reference has no elements; they belong to what it refers to")
          .withHint("write " + Kinds.quote(place.span().text()) + "^." + name));
      return new AtFail(span);
    }
    session.error("type/no-elements", name.span(), place.type().name() + " has no element " + name);
    return new AtFail(span);
  }

  private Target instanceMember(Place place, Pou pou, Name name, Span span) {
    PouInfo info = session.info(pou);
    Variable v = session.pous.variable(info, name.key());
    if (v != null) {
      Pou declaring = session.declaredIn.get(v);
      boolean visible = switch (v.section()) {
        case INPUT, OUTPUT -> true;
        case LOCAL -> new Access(session).canUse(v.access(), declaring, scope);
        case IN_OUT -> place instanceof Place.This;
        case TEMP, EXTERNAL, GLOBAL, FIELD, RESULT, HIDDEN -> false;
      };
      if (!visible) {
        session.error("access/variable", name.span(),
            name + " is a " + sectionWord(v) + " of " + pou.name() + " and not accessible here"
                + (v.section() == Variable.Section.LOCAL ? " (" + v.access() + ")" : ""));
        return new AtFail(span);
      }
      if (place instanceof Place.This) {
        return new AtPlace(new Place.Var(span, v));
      }
      return new AtPlace(new Place.Member(span, place, v));
    }
    PouInfo.Property p = session.pous.property(info, name.key());
    if (p != null) {
      return atProperty(span, place, p);
    }
    Pou m = session.pous.method(info, name.text());
    if (m != null) {
      return atMethod(span, place, m);
    }
    List<String> near = new ArrayList<>();
    for (PouInfo i = info; i != null; i = session.baseOf(i)) {
      i.names().values().forEach(x -> near.add(x.name()));
      i.methods().forEach(x -> near.add(x.pou().name()));
    }
    session.unknownName(name.span(), name + " is no member of " + pou.name(), name.text(), near);
    return new AtFail(span);
  }

  private Target index(Expression.Index x) {
    Target base = resolve(x.base(), false, null);
    Place element = constantElement(x, base);
    if (element != null) {
      return new AtPlace(element);
    }
    List<Val> indices = new ArrayList<>();
    for (Expression i : x.indices()) {
      indices.add(check(i, Kinds.DINT));
    }
    if (base instanceof AtFail) {
      return base;
    }
    if (!(base instanceof AtPlace p)) {
      if (!isUnknown(toVal(base))) {
        session.error("name/not-a-variable", x.base().span(), "only variables have elements, not values");
      }
      return new AtFail(x.span());
    }
    Type t = p.place().type().base();
    if (t instanceof Type.Unknown) {
      return new AtFail(x.span());
    }
    if (t instanceof Type.Text text) {
      if (indices.size() != 1) {
        session.error("type/subscripts", x.span(), "a string takes one subscript, not " + indices.size());
        return new AtFail(x.span());
      }
      Expr i = subscript(indices.get(0), 1, text.capacity());
      return new AtPlace(new Place.Character(x.span(), Kinds.of(Kinds.characterOf(text.kind())), p.place(), i));
    }
    if (!(t instanceof Type.Array a)) {
      session.error("type/not-an-array", x.base().span(), "only arrays and strings take subscripts, not " + p.place().type().name());
      return new AtFail(x.span());
    }
    if (a.bounds().size() != indices.size()) {
      session.error("type/subscripts", x.span(), "the array has " + a.bounds().size() + " dimensions, " + indices.size()
          + " subscripts are given");
      return new AtFail(x.span());
    }
    List<Expr> converted = new ArrayList<>();
    for (int i = 0; i < indices.size(); i++) {
      Type.Bounds b = a.bounds().get(i);
      converted.add(a.open() ? subscript(indices.get(i), Integer.MIN_VALUE, Integer.MAX_VALUE)
          : subscript(indices.get(i), b.low(), b.high()));
    }
    return new AtPlace(new Place.Element(x.span(), a.element(), p.place(), converted));
  }

  /** An element of an array of one dimension under a number inside its bounds: most accesses of a large program, without big integers. Else null. */
  private static Place constantElement(Expression.Index x, Target base) {
    List<Expression> indices = x.indices();
    if (!(base instanceof AtPlace p) || indices.size() != 1 || !(indices.get(0) instanceof Expression.Literal l) || l.prefix().isPresent()
        || !(p.place().type().base() instanceof Type.Array a) || a.open() || a.bounds().size() != 1) {
      return null;
    }
    long index = Literals.plainInteger(l);
    Type.Bounds b = a.bounds().get(0);
    return index < 0 || index < b.low() || index > b.high() ? null
        : new Place.Element(x.span(), a.element(), p.place(), List.of(new Expr.Constant(l.span(), Kinds.DINT, index)));
  }

  /** An integer expression as subscript; a constant one is checked against the bounds (S.err-subscript). */
  private Expr subscript(Val v, int low, int high) {
    Expr e = typed(v, Kinds.DINT);
    if (Kinds.isUnknown(e.type())) {
      return e;
    }
    ElementaryType k = Kinds.kind(e.type());
    if (k == null || !k.isInteger()) {
      session.error(Purpose.INDEX.code, v.span(), "a subscript is an integer, not " + e.type().name());
      return unknown(v.span());
    }
    if (e instanceof Expr.Constant c) {
      BigInteger i = Kinds.integer(c.value(), k);
      if (i.compareTo(BigInteger.valueOf(low)) < 0 || i.compareTo(BigInteger.valueOf(high)) > 0) {
        session.error("range/subscript", v.span(), "subscript " + i + " is outside " + low + ".." + high);
        return unknown(v.span());
      }
    }
    return e;
  }

  private Target dereference(Expression.Dereference d) {
    Expr e = typed(toVal(resolve(d.base(), false, null)), null);
    if (Kinds.isUnknown(e.type())) {
      return new AtFail(d.span());
    }
    if (!(e.type().base() instanceof Type.Reference r)) {
      session.error("type/dereference", d.span(), "only a reference can be dereferenced, not " + e.type().name());
      return new AtFail(d.span());
    }
    return new AtPlace(new Place.Deref(d.span(), r.target(), e));
  }

  private Target bits(Expression.Bits b) {
    Target base = resolve(b.base(), false, null);
    if (base instanceof AtFail) {
      return base;
    }
    if (!(base instanceof AtPlace p)) {
      session.error("name/not-a-variable", b.base().span(), "partial access needs a variable");
      return new AtFail(b.span());
    }
    if (Kinds.isUnknown(p.place().type())) {
      return new AtFail(b.span());
    }
    ElementaryType k = Kinds.kind(p.place().type());
    if (k == null || !k.isBits() || k == ElementaryType.BOOL) {
      session.error("type/partial", b.span(), "partial access needs BYTE, WORD, DWORD or LWORD, not " + p.place().type().name());
      return new AtFail(b.span());
    }
    int width = Locations.width(b.size());
    int count = k.bits() / width;
    if (width >= k.bits() || b.number() < 0 || b.number() >= count) {
      String part = width == 1 ? "bits" : width == 8 ? "bytes" : width == 16 ? "words" : "double words";
      session.error("range/partial", b.span(), count < 2 ? k + " has no " + part : k + " has " + part + " 0 to " + (count - 1) + ", not "
          + b.number());
      return new AtFail(b.span());
    }
    return new AtPlace(new Place.Bits(b.span(), Locations.type(width), p.place(), b.number() * width, width));
  }

  private Target direct(Expression.Direct d) {
    if (scope.isFunctionOrMethod()) {
      session.error("located/in-function", d.span(), "an address cannot be used in a " + Types.word(scope.info().pou().kind()));
      return new AtFail(d.span());
    }
    if (d.address().area() == 0) {
      session.error("located/area", d.span(), "an address names its area: %I, %Q or %M");
      return new AtFail(d.span());
    }
    if (d.address().incomplete()) {
      session.error("located/incomplete", d.span(), "an incomplete address belongs to a declaration");
      return new AtFail(d.span());
    }
    Locations.Result r = Locations.map(d.address(), session.limits.instanceBytes());
    if (r.trouble().isPresent()) {
      session.error(r.trouble().get().code(), d.span(), r.trouble().get().message());
      return new AtFail(d.span());
    }
    if (session.choices.deprecations() && scope.info() != null) {
      session.warning("deprecated/direct-address", d.span(),
          "edition 4 of the standard dropped addresses in bodies; declare a variable AT " + d.span().text());
    }
    Located l = r.location().get();
    return new AtPlace(new Place.Direct(d.span(), Locations.type(l.width()), l));
  }

  private Target self(Expression.Self s) {
    PouInfo self = scope.self();
    String word = s.isSuper() ? "SUPER" : "THIS";
    boolean possible = self != null && (self.pou().kind() == Pou.Kind.FUNCTION_BLOCK || self.pou().kind() == Pou.Kind.CLASS);
    if (!possible) {
      session.error("oop/self", s.span(), word + " belongs to function blocks, classes and their methods");
      return new AtFail(s.span());
    }
    if (!s.isSuper()) {
      return new AtPlace(new Place.This(s.span(), new Type.Block(self.pou())));
    }
    if (self.pou().base().isEmpty()) {
      session.error("oop/self", s.span(), self.pou().name() + " extends nothing, so there is no SUPER");
      return new AtFail(s.span());
    }
    return new AtPlace(new Place.This(s.span(), new Type.Block(self.pou().base().get())));
  }

  /** The value of what a name or access denotes. */
  Val toVal(Target t) {
    if (t instanceof AtPlace p) {
      return value(p.place());
    }
    if (t instanceof AtValue v) {
      return v.value();
    }
    if (t instanceof AtFail f) {
      return fail(f.span());
    }
    if (t instanceof AtProperty p) {
      return new Val.Typed(getter(p));
    }
    if (t instanceof AtMethod m) {
      session.error("name/not-a-value", m.span(), "method " + m.method().name() + " is called with parentheses");
      return fail(m.span());
    }
    if (t instanceof AtPou p) {
      session.error("name/not-a-value", p.span(), p.pou().name() + " is a " + Types.word(p.pou().kind()) + ", not a value"
          + (p.pou().kind() == Pou.Kind.FUNCTION ? "; a call has parentheses" : ""));
      return fail(p.span());
    }
    if (t instanceof AtType y) {
      session.error("name/not-a-value", y.span(), y.type().name() + " is a type, not a value");
      return fail(y.span());
    }
    AtNamespace n = (AtNamespace) t;
    session.error("name/not-a-value", n.span(), n.namespace().path() + " is a namespace, not a value");
    return fail(n.span());
  }

  private Expr getter(AtProperty p) {
    if (p.property().getter().isEmpty()) {
      session.error("property/write-only", p.span(), "property " + p.property().name() + " has no GET");
      return unknown(p.span());
    }
    Pou get = p.property().getter().get();
    if (!new Access(session).canUse(get.access(), get.owner().get(), scope)) {
      session.error("access/method", p.span(), "property " + p.property().name() + " is " + get.access());
      return unknown(p.span());
    }
    if (scope.isConstant()) {
      session.error("const/value", p.span(), "expected a constant expression");
      return unknown(p.span());
    }
    session.usage.calls(scope, get, p.span());
    return new Expr.Invoke(p.span(), p.property().type(),
        new Call(p.span(), new Call.Method(p.receiver(), get, p.dynamic()), List.of(), Optional.empty(), Optional.empty()));
  }

  /** The value of a place; that of a constant is known. */
  Val value(Place p) {
    Variable root = root(p);
    boolean constant = root != null && isConstant(root);
    if (constant && Kinds.kind(p.type()) != null || constant && p.type().base() instanceof Type.Enumeration) {
      Optional<Init> init = session.initials.initOf(p);
      if (init.isPresent() && init.get() instanceof Init.Scalar s) {
        return new Val.Typed(new Expr.Constant(p.span(), p.type(), s.value()));
      }
      if (init.isPresent() && init.get() instanceof Init.Text t && p.type().base() instanceof Type.Text text) {
        return new Val.Typed(new Expr.TextConstant(p.span(), new Type.Text(text.kind(), Math.max(1, t.units().length)), t.units()));
      }
    }
    if (scope.isConstant() && !constant && !Kinds.isUnknown(p.type())) {
      boolean aggregate = p.type().base() instanceof Type.Block || p.type().base() instanceof Type.Interface;
      if (!aggregate) {
        session.error("const/value", p.span(), Kinds.quote(p.span().text()) + " is not constant");
        return fail(p.span());
      }
    }
    if (Kinds.isUnknown(p.type())) {
      return fail(p.span());
    }
    return new Val.Typed(new Expr.Read(p.span(), p));
  }

  private static boolean isConstant(Variable v) {
    if (v.section() == Variable.Section.EXTERNAL) {
      return v.global().isPresent() && v.global().get().isConstant();
    }
    return v.isConstant();
  }

  /** The variable that a place is a part of; null for what is behind a reference, and for addresses. */
  static Variable root(Place p) {
    Place q = p;
    while (true) {
      if (q instanceof Place.Var v) {
        return v.variable();
      } else if (q instanceof Place.Element e) {
        q = e.base();
      } else if (q instanceof Place.Member m) {
        q = m.base();
      } else if (q instanceof Place.Bits b) {
        q = b.base();
      } else if (q instanceof Place.Character c) {
        q = c.base();
      } else {
        return null;
      }
    }
  }

  // Places that are written

  /** A variable access; reports when the expression is something else. */
  Optional<Place> place(Expression e) {
    Target t = resolve(e, false, null);
    if (t instanceof AtPlace p) {
      return Kinds.isUnknown(p.place().type()) ? Optional.empty() : Optional.of(p.place());
    }
    if (!(t instanceof AtFail)) {
      boolean reported = t instanceof AtValue v && isUnknown(v.value());
      if (!reported) {
        session.error("name/not-a-variable", e.span(), "expected a variable");
      }
    }
    return Optional.empty();
  }

  /** A place that may be written here; reports why it may not. */
  boolean writable(Place p) {
    Span at = p.span();
    if (scope.isCondition() && !(p instanceof Place.Var v && v.variable() == scope.result())) {
      session.error("sfc/side-effect", at, "the condition of a transition cannot change variables");
      return false;
    }
    Place q = p;
    while (true) {
      if (q instanceof Place.Var v) {
        return variableWritable(v.variable(), at);
      } else if (q instanceof Place.Element e) {
        q = e.base();
      } else if (q instanceof Place.Member m) {
        if (m.base().type().base() instanceof Type.Block b) {
          return instanceWritable(m, b.pou(), at);
        }
        q = m.base();
      } else if (q instanceof Place.Bits b) {
        q = b.base();
      } else if (q instanceof Place.Character c) {
        q = c.base();
      } else if (q instanceof Place.Direct d) {
        session.usage.writesLocation(d.location(), at);
        return true;
      } else if (q instanceof Place.This) {
        session.error("oop/self", at, "the own instance cannot be assigned");
        return false;
      } else {
        return true;
      }
    }
  }

  private boolean instanceWritable(Place.Member m, Pou pou, Span at) {
    Variable v = m.field();
    Variable holder = root(m.base());
    if (holder != null && holder.section() == Variable.Section.HIDDEN) {
      session.error("sfc/read-only", at, "flags and times of SFC steps and actions cannot be written");
      return false;
    }
    if (v.section() == Variable.Section.OUTPUT) {
      session.error("fb/write-output", at, v.name() + " is an output of " + pou.name() + " and cannot be written from outside");
      return false;
    }
    if (v.isConstant()) {
      session.error("const/write", at, v.name() + " is constant");
      return false;
    }
    Variable root = root(m.base());
    if (root != null && root.section() == Variable.Section.INPUT && root.type().base() instanceof Type.Block) {
      session.error("fb/write-input-instance", at, root.name() + " is an input; its instance can be read but neither called nor written");
      return false;
    }
    return true;
  }

  private boolean variableWritable(Variable v, Span at) {
    if (v.isConstant()) {
      session.report(Diagnostic.error("const/write", at, v.name() + " is constant").withRelated(v.span(), "declared here"));
      return false;
    }
    if (v.section() == Variable.Section.INPUT) {
      session.error("input/write", at, v.name() + " is an input and cannot be written inside its POU");
      return false;
    }
    if (v == scope.result()) {
      return true;
    }
    if (v.section() == Variable.Section.HIDDEN) {
      session.error("sfc/read-only", at, "flags and times of SFC steps and actions cannot be written");
      return false;
    }
    if (scope.controls().contains(v)) {
      session.error("for/modified", at, v.name() + " controls the loop and cannot be written in it");
      return false;
    }
    Variable target = v.section() == Variable.Section.EXTERNAL ? v.global().orElse(v) : v;
    if (target.located().isPresent()) {
      session.usage.writesLocation(target.located().get(), at);
    }
    return true;
  }

  // Conversion

  /** The value with the type that it takes without context. */
  Expr typed(Val v, Type hint) {
    if (v instanceof Val.Typed t) {
      return t.expr();
    }
    if (v instanceof Val.Int i) {
      return integer(i, hint);
    }
    if (v instanceof Val.Real r) {
      ElementaryType k = hint == null ? null : Kinds.kind(hint);
      return coerce(v, Kinds.of(k != null && k.isReal() ? k : ElementaryType.LREAL), Purpose.OPERAND);
    }
    if (v instanceof Val.Text t) {
      ElementaryType k = hint == null ? null : Kinds.kind(hint);
      if (k != null && (k.family() == Family.CHARACTER && t.points().length == 1 || k == ElementaryType.USTRING)) {
        return coerce(v, hint, Purpose.OPERAND);
      }
      ElementaryType own = t.wide() ? ElementaryType.WSTRING : ElementaryType.STRING;
      return coerce(v, new Type.Text(own, Math.max(1, t.points().length)), Purpose.OPERAND);
    }
    if (v instanceof Val.Named n) {
      if (n.candidates().size() == 1) {
        Type.Enumeration e = n.candidates().get(0);
        return new Expr.Constant(n.span(), e, e.find(n.name()).map(Type.Enumeration.Value::value).orElse(0L));
      }
      ambiguous(n);
      return unknown(n.span());
    }
    if (hint != null && (hint.base() instanceof Type.Reference || hint.base() instanceof Type.Interface)) {
      return new Expr.Constant(v.span(), hint, 0);
    }
    return new Expr.Constant(v.span(), Kinds.NOTHING, 0);
  }

  private void ambiguous(Val.Named n) {
    session.report(Diagnostic.error("name/ambiguous", n.span(), n.name() + " is a value of several enumerations")
        .withHint("write " + n.candidates().get(0).name() + "#" + n.name()));
  }

  private Expr integer(Val.Int i, Type hint) {
    ElementaryType k = hint == null ? null : Kinds.kind(hint);
    if (k != null && (k.isInteger() || k.isBits()) && Kinds.fits(i.value(), k)) {
      return new Expr.Constant(i.span(), Kinds.of(k), i.value().longValue());
    }
    if (k != null && k.isReal()) {
      return coerce(i, Kinds.of(k), Purpose.OPERAND);
    }
    for (ElementaryType t : List.of(ElementaryType.DINT, ElementaryType.LINT, ElementaryType.ULINT)) {
      if (Kinds.fits(i.value(), t)) {
        return new Expr.Constant(i.span(), Kinds.of(t), i.value().longValue());
      }
    }
    session.error("range/literal", i.span(), shorten(i.value()) + " is outside the range of every integer type");
    return unknown(i.span());
  }

  private static String shorten(BigInteger v) {
    return v.bitLength() > 200 ? "the value" : v.toString();
  }

  /** The value converted to a type; reports when that is not possible and gives a value of unknown type then. */
  Expr coerce(Val v, Type target, Purpose purpose) {
    if (Kinds.isUnknown(target)) {
      return typed(v, null);
    }
    if (isUnknown(v)) {
      return ((Val.Typed) v).expr();
    }
    if (v instanceof Val.Typed t) {
      return coerce(t.expr(), target, purpose);
    }
    Type base = target.base();
    if (v instanceof Val.Int i) {
      return coerceInt(i, target, base, purpose);
    }
    if (v instanceof Val.Real r) {
      ElementaryType k = Kinds.kind(base);
      if (k == null || !k.isReal()) {
        return mismatch(v.span(), "a real literal", target, purpose);
      }
      return real(r, target, k);
    }
    if (v instanceof Val.Text t) {
      Val made = text(t, target, false, purpose);
      return ((Val.Typed) made).expr();
    }
    if (v instanceof Val.Named n) {
      if (base instanceof Type.Enumeration e && e.find(n.name()).isPresent()) {
        return new Expr.Constant(n.span(), target, e.find(n.name()).get().value());
      }
      if (base instanceof Type.Enumeration e) {
        session.error(purpose.code, n.span(), n.name() + " is a value of " + n.candidates().get(0).name() + ", not of " + e.name());
        return unknown(n.span());
      }
      Expr e = typed(n, null);
      return Kinds.isUnknown(e.type()) ? e : coerce(new Val.Typed(e), target, purpose);
    }
    if (base instanceof Type.Reference || base instanceof Type.Interface) {
      return new Expr.Constant(v.span(), target, 0);
    }
    return mismatch(v.span(), "NULL", target, purpose);
  }

  private Expr coerce(Expr e, Type target, Purpose purpose) {
    if (e.type() instanceof Type.Nothing) {
      if (e instanceof Expr.Constant) {
        return coerce(new Val.Null(e.span()), target, purpose);
      }
      session.error("call/no-result", e.span(), "the call has no result");
      return unknown(e.span());
    }
    Expr converted = convert(e, target);
    if (converted == null) {
      return mismatch(e.span(), e.type().name(), target, purpose, wayTo(e.span(), e.type(), target, purpose));
    }
    return converted;
  }

  private Expr mismatch(Span at, String found, Type target, Purpose purpose) {
    return mismatch(at, found, target, purpose, null);
  }

  private Expr mismatch(Span at, String found, Type target, Purpose purpose, String hint) {
    Diagnostic d = Diagnostic.error(purpose.code, at, found + " " + purpose.words + " " + target.name());
    session.report(hint == null ? d : d.withHint(hint));
    return unknown(at);
  }

  /** How a value of a type becomes one of another, when there is a way; else null. */
  private String wayTo(Span at, Type from, Type target, Purpose purpose) {
    ElementaryType x = Kinds.kind(from);
    ElementaryType y = Kinds.kind(target);
    if (x == null || y == null || !session.wantsHints()) {
      return null;
    }
    if (purpose == Purpose.CONDITION) {
      return x.isNumber() || x.isBits() ? "compare it, such as " + Kinds.quote(at.text()) + " <> 0" : null;
    }
    String name = x + "_TO_" + y;
    if (session.symbols.find(name, scope.site()).symbol() == null) {
      return null;
    }
    boolean rounds = x.isReal() && y.isInteger();
    return name + "(...) converts it" + (rounds ? " and rounds; " + x + "_TRUNC_" + y + "(...) drops the fraction" : "");
  }

  /** What an integer literal may have been meant for. */
  private static String meant(Type base, Val.Int i) {
    ElementaryType k = Kinds.kind(base);
    if (k == ElementaryType.TIME || k == ElementaryType.LTIME) {
      return "a duration is written with a unit: T#" + shorten(i.value().abs()) + "ms";
    }
    if (k == ElementaryType.BOOL) {
      return "BOOL literals are TRUE and FALSE";
    }
    if (base instanceof Type.Enumeration e) {
      return "its values are " + e.values().stream().limit(5).map(v -> v.name()).collect(java.util.stream.Collectors.joining(", "))
          + (e.values().size() > 5 ? ", ..." : "");
    }
    return null;
  }

  private Expr coerceInt(Val.Int i, Type target, Type base, Purpose purpose) {
    ElementaryType k = base instanceof Type.Enumeration e && e.isOpen() ? e.baseKind() : Kinds.kind(base);
    if (k == null || !(k.isNumber() || k.isBits())) {
      return mismatch(i.span(), "an integer literal", target, purpose, meant(base, i));
    }
    if (k.isReal()) {
      Expr r = real(new Val.Real(i.span(), new BigDecimal(i.value())), target, k);
      boolean exact = !(r instanceof Expr.Constant c) || Kinds.isUnknown(c.type())
          || new BigDecimal(k == ElementaryType.REAL ? (double) Arith.real(c.value()) : Arith.lreal(c.value()))
              .compareTo(new BigDecimal(i.value())) == 0;
      if (!exact) {
        session.warning("trap/narrowing", i.span(), k + " has no exact value for " + shorten(i.value()));
      }
      return r;
    }
    if (!Kinds.fits(i.value(), k)) {
      session.error("range/literal", i.span(), shorten(i.value()) + " is outside the range of " + k);
      return unknown(i.span());
    }
    long slot = i.value().longValue();
    if (base instanceof Type.Subrange s && !inside(slot, s)) {
      session.error("range/subrange", i.span(), shorten(i.value()) + " is outside " + s.name());
      return unknown(i.span());
    }
    return new Expr.Constant(i.span(), target, slot);
  }

  private static boolean inside(long slot, Type.Subrange s) {
    return Kinds.compare(slot, s.low(), s.kind()) >= 0 && Kinds.compare(slot, s.high(), s.kind()) <= 0;
  }

  private Expr real(Val.Real r, Type target, ElementaryType k) {
    double d = r.value().doubleValue();
    float f = r.value().floatValue();
    if (k == ElementaryType.REAL ? Float.isInfinite(f) : Double.isInfinite(d)) {
      session.error("range/literal", r.span(), "the literal is outside the range of " + k);
      return unknown(r.span());
    }
    return new Expr.Constant(r.span(), target, k == ElementaryType.REAL ? Arith.real(f) : Arith.lreal(d));
  }

  /** A string literal as a value of a string or character type. {@code prefixed}: a type prefix allows either kind of quotes. */
  private Val text(Val.Text t, Type target, boolean prefixed, Purpose purpose) {
    ElementaryType k = Kinds.kind(target);
    boolean character = k != null && k.family() == Family.CHARACTER;
    ElementaryType string = character ? Kinds.stringOf(k) : k;
    if (string == null || !string.isString()) {
      return new Val.Typed(mismatch(t.span(), t.wide() ? "a string literal in double quotes" : "a string literal", target, purpose));
    }
    boolean quotesFit = prefixed || string == ElementaryType.USTRING || t.wide() == (string == ElementaryType.WSTRING);
    if (!quotesFit) {
      return new Val.Typed(mismatch(t.span(), t.wide() ? "a string literal in double quotes" : "a string literal in single quotes", target,
          purpose, t.wide() ? "single quotes make a STRING" : "double quotes make a WSTRING"));
    }
    int[] units = t.points();
    int limit = string == ElementaryType.STRING ? 0xFF : string == ElementaryType.WSTRING ? 0xFFFF : 0x10FFFF;
    for (int u : units) {
      if (u > limit) {
        session.error("range/literal", t.span(), string + " has no character " + String.format(java.util.Locale.ROOT, "U+%04X", u));
        return fail(t.span());
      }
    }
    if (character) {
      if (units.length != 1) {
        session.error("range/literal", t.span(), k + " is exactly one character, not " + units.length);
        return fail(t.span());
      }
      return new Val.Typed(new Expr.Constant(t.span(), target, units[0]));
    }
    return new Val.Typed(new Expr.TextConstant(t.span(), new Type.Text(string, Math.max(1, units.length)), units));
  }

  /** A reference or interface of the first type may stand where one of the second type is wanted. */
  static boolean pointsTo(Type from, Type to) {
    if (from instanceof Type.Interface a && to instanceof Type.Interface b) {
      return a.pou().isA(b.pou());
    }
    return from instanceof Type.Reference a && to instanceof Type.Reference b && (Kinds.same(a.target(), b.target())
        || a.target().base() instanceof Type.Block p && b.target().base() instanceof Type.Block q && p.pou().isA(q.pou()));
  }

  /** The expression with a type, through an implicit conversion where one exists; null when there is none. */
  Expr convert(Expr e, Type target) {
    Type from = e.type();
    if (from == target) {
      return e;
    }
    if (Kinds.isUnknown(from) || Kinds.isUnknown(target)) {
      return e;
    }
    Type fb = from.base();
    Type tb = target.base();
    if (tb instanceof Type.Interface want) {
      return toInterface(e, fb, want, target);
    }
    if (Kinds.same(from, target)) {
      return e;
    }
    if (tb instanceof Type.Reference) {
      return pointsTo(fb, tb) ? e : null;
    }
    if (tb instanceof Type.Block want) {
      return fb instanceof Type.Block have && have.pou() == want.pou() ? e : null;
    }
    if (tb instanceof Type.Enumeration want) {
      return want.isOpen() && Kinds.kind(fb) == want.baseKind() && !(fb instanceof Type.Enumeration)
          ? fold(new Expr.Convert(e.span(), target, e, false)) : null;
    }
    if (tb instanceof Type.Text want) {
      if (fb instanceof Type.Text have) {
        return have.kind() == want.kind() ? e : null;
      }
      ElementaryType k = Kinds.kind(fb);
      return k != null && k.family() == Family.CHARACTER && Kinds.stringOf(k) == want.kind()
          ? fold(new Expr.Convert(e.span(), new Type.Text(want.kind(), 1), e, false)) : null;
    }
    ElementaryType fk = fb instanceof Type.Enumeration en && en.isOpen() ? en.baseKind() : Kinds.kind(fb);
    ElementaryType tk = Kinds.kind(tb);
    if (fk == null || tk == null || !Kinds.implicit(fk, tk)) {
      return null;
    }
    if (tb instanceof Type.Subrange s) {
      return toSubrange(e, fb, fk, s, target);
    }
    if (fk == tk && !(fb instanceof Type.Enumeration)) {
      return e;
    }
    return fold(new Expr.Convert(e.span(), target, e, false));
  }

  private Expr toSubrange(Expr e, Type fb, ElementaryType fk, Type.Subrange s, Type target) {
    if (fb instanceof Type.Subrange f && f.kind() == s.kind() && inside(f.low(), s) && inside(f.high(), s)) {
      return e;
    }
    Expr wide = fk == s.kind() ? e : fold(new Expr.Convert(e.span(), Kinds.of(s.kind()), e, false));
    if (wide instanceof Expr.Constant c) {
      if (!inside(c.value(), s)) {
        session.error("range/subrange", e.span(), Kinds.integer(c.value(), s.kind()) + " is outside " + s.name());
        return unknown(e.span());
      }
      return new Expr.Constant(e.span(), target, c.value());
    }
    return new Expr.Convert(e.span(), target, wide, false);
  }

  private Expr toInterface(Expr e, Type fb, Type.Interface want, Type target) {
    if (fb instanceof Type.Interface have) {
      return have.pou().isA(want.pou()) ? e : null;
    }
    if (fb instanceof Type.Block b && e instanceof Expr.Read r && b.pou().isA(want.pou())) {
      return new Expr.AddressOf(e.span(), target, r.place());
    }
    if (fb instanceof Type.Reference r && r.target().base() instanceof Type.Block b && b.pou().isA(want.pou())) {
      return new Expr.AddressOf(e.span(), target, new Place.Deref(e.span(), r.target(), e));
    }
    return null;
  }

  private Expr fold(Expr e) {
    return folding ? session.folder.fold(e) : e;
  }

  /** Off while the operands of an operation are wanted and not its constant result. */
  void setFolding(boolean b) {
    folding = b;
  }

  private Val folded(Expr e) {
    return new Val.Typed(fold(e));
  }

  // Operators (Table 71)

  private Val unary(Expression.Unary e, Type hint) {
    Val v = check(e.operand(), hint);
    if (isUnknown(v)) {
      return v;
    }
    switch (e.operator()) {
      case MINUS:
        return minus(v, e.span());
      case PLUS:
        if (v instanceof Val.Int || v instanceof Val.Real) {
          return v;
        }
        Expr p = typed(v, hint);
        ElementaryType pk = Kinds.kind(p.type());
        if (pk == null || !(pk.isNumber() || pk.family() == Family.DURATION)) {
          return operandError(p, "+", "a number or a duration");
        }
        return new Val.Typed(p);
      case NOT:
        return not(v, e.span(), hint);
    }
    throw new IllegalArgumentException(e.operator().name());
  }

  private Val operandError(Expr operand, String symbol, String expected) {
    if (!Kinds.isUnknown(operand.type())) {
      Diagnostic d = Diagnostic.error("type/operand", operand.span(), symbol + " needs " + expected + ", not " + operand.type().name());
      ElementaryType k = Kinds.kind(operand.type());
      if (symbol.equals("+") && k != null && k.isString()) {
        d = d.withHint("CONCAT joins strings");
      } else if (expected.startsWith("numbers") && k != null && k.isBits() && k != ElementaryType.BOOL) {
        d = d.withHint("a bit string is no number; " + k + "_TO_UINT(...) and its like make it one");
      }
      session.report(d);
    }
    return fail(operand.span());
  }

  private Val minus(Val v, Span span) {
    if (v instanceof Val.Int i) {
      return new Val.Int(span, i.value().negate());
    }
    if (v instanceof Val.Real r) {
      return new Val.Real(span, r.value().negate());
    }
    Expr x = typed(v, null);
    ElementaryType k = Kinds.kind(x.type());
    boolean ok = k != null && (k.isReal() || k.family() == Family.SIGNED || k.family() == Family.DURATION);
    if (!ok) {
      return operandError(x, "-", "a signed number or a duration");
    }
    return folded(new Expr.Negate(span, Kinds.of(k), x));
  }

  Val not(Val v, Span span, Type hint) {
    Expr x = v instanceof Val.Int i ? bitsOf(i, hint) : typed(v, hint);
    ElementaryType k = Kinds.kind(x.type());
    if (k == null || !k.isBits()) {
      return operandError(x, "NOT", "BOOL or a bit string");
    }
    return folded(new Expr.Not(span, Kinds.of(k), x));
  }

  /** An integer literal where a bit string is needed. */
  private Expr bitsOf(Val.Int i, Type hint) {
    ElementaryType k = hint == null ? null : Kinds.kind(hint);
    if (k != null && k.isBits()) {
      return coerce(i, Kinds.of(k), Purpose.OPERAND);
    }
    for (ElementaryType t : List.of(ElementaryType.BYTE, ElementaryType.WORD, ElementaryType.DWORD, ElementaryType.LWORD)) {
      if (Kinds.fits(i.value(), t)) {
        return new Expr.Constant(i.span(), Kinds.of(t), i.value().longValue());
      }
    }
    session.error("range/literal", i.span(), shorten(i.value()) + " is outside the range of every bit string");
    return unknown(i.span());
  }

  /** Applies a binary operator; {@code at} is the place of the operator. */
  Val binary(Expr.Operator op, Val left, Val right, Span at, Type hint) {
    Span span = left.span().source() == right.span().source() ? left.span().to(right.span()) : at;
    if (isUnknown(left) || isUnknown(right)) {
      return comparison(op) ? new Val.Typed(new Expr.Constant(span, Kinds.UNKNOWN, 0)) : fail(span);
    }
    switch (op) {
      case OR:
      case XOR:
      case AND:
        return bitwise(op, left, right, at, span, hint);
      case EQ:
      case NE:
      case LT:
      case GT:
      case LE:
      case GE:
        return compare(op, left, right, at, span);
      case ADD:
      case SUB:
      case MUL:
      case DIV:
      case MOD:
        return arithmetic(op, left, right, at, span, hint);
      case POWER:
        return power(left, right, span, hint);
    }
    throw new IllegalArgumentException(op.name());
  }

  private static boolean comparison(Expr.Operator op) {
    return switch (op) {
      case EQ, NE, LT, GT, LE, GE -> true;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> false;
    };
  }

  private Val bitwise(Expr.Operator op, Val left, Val right, Span at, Span span, Type hint) {
    Expr l = left instanceof Val.Int ? null : typed(left, hint);
    Expr r = right instanceof Val.Int ? null : typed(right, hint);
    if (l == null) {
      l = bitsOf((Val.Int) left, r == null ? hint : r.type());
    }
    if (r == null) {
      r = bitsOf((Val.Int) right, l.type());
    }
    ElementaryType x = Kinds.kind(l.type());
    ElementaryType y = Kinds.kind(r.type());
    if (Kinds.isUnknown(l.type()) || Kinds.isUnknown(r.type())) {
      return fail(span);
    }
    if (x == null || !x.isBits()) {
      return operandError(l, op.name(), "BOOL or a bit string");
    }
    if (y == null || !y.isBits()) {
      return operandError(r, op.name(), "BOOL or a bit string");
    }
    ElementaryType k = x == y ? x : Kinds.common(x, y).orElseThrow();
    return folded(new Expr.Binary(span, Kinds.of(k), op, convert(l, Kinds.of(k)), convert(r, Kinds.of(k))));
  }

  private Val arithmetic(Expr.Operator op, Val left, Val right, Span at, Span span, Type hint) {
    if (left instanceof Val.Int a && right instanceof Val.Int b) {
      return integers(op, a, b, span, hint);
    }
    boolean untyped = (left instanceof Val.Int || left instanceof Val.Real) && (right instanceof Val.Int || right instanceof Val.Real);
    if (untyped) {
      ElementaryType h = hint == null ? null : Kinds.kind(hint);
      Type k = Kinds.of(h != null && h.isReal() ? h : ElementaryType.LREAL);
      if (op == Expr.Operator.MOD) {
        return operandError(coerce(left instanceof Val.Real ? left : right, k, Purpose.OPERAND), "MOD", "integers");
      }
      return folded(new Expr.Binary(span, k, op, coerce(left, k, Purpose.OPERAND), coerce(right, k, Purpose.OPERAND)));
    }
    ElementaryType x = left instanceof Val.Typed t ? Kinds.kind(t.expr().type()) : null;
    ElementaryType y = right instanceof Val.Typed t ? Kinds.kind(t.expr().type()) : null;
    boolean timeLeft = x != null && isTime(x);
    boolean timeRight = y != null && isTime(y);
    if (timeLeft || timeRight) {
      return time(op, left, right, at, span);
    }
    if (left instanceof Val.Typed t && !isNumber(t)) {
      return operandError(t.expr(), symbol(op), "numbers or durations");
    }
    if (right instanceof Val.Typed t && !isNumber(t)) {
      return operandError(t.expr(), symbol(op), "numbers or durations");
    }
    if (!(left instanceof Val.Typed) && !(left instanceof Val.Int) && !(left instanceof Val.Real)) {
      return operandError(typed(left, null), symbol(op), "numbers or durations");
    }
    if (!(right instanceof Val.Typed) && !(right instanceof Val.Int) && !(right instanceof Val.Real)) {
      return operandError(typed(right, null), symbol(op), "numbers or durations");
    }
    Optional<ElementaryType> common = commonNumber(left, right, span);
    if (common.isEmpty()) {
      return noCommon(op, left, right, at);
    }
    ElementaryType k = common.get();
    if (op == Expr.Operator.MOD && !k.isInteger()) {
      session.error("type/operand", at, "MOD needs integers, not " + k);
      return fail(span);
    }
    Type t = Kinds.of(k);
    return folded(new Expr.Binary(span, t, op, coerce(left, t, Purpose.OPERAND), coerce(right, t, Purpose.OPERAND)));
  }

  private static boolean isTime(ElementaryType k) {
    return k.family() == Family.DURATION || k.family() == Family.DATE || k.family() == Family.TIME_OF_DAY
        || k.family() == Family.DATE_AND_TIME;
  }

  private static boolean isNumber(Val.Typed t) {
    ElementaryType k = Kinds.kind(t.expr().type());
    return k != null && k.isNumber();
  }

  private Val noCommon(Expr.Operator op, Val left, Val right, Span at) {
    session.error("type/operand", at, name(left) + " " + symbol(op) + " " + name(right) + ": no common type reachable without loss");
    return fail(at);
  }

  /** The type of a value in words. */
  static String nameOf(Val v) {
    return name(v);
  }

  /** An integer literal as the bit string that its context asks for, or the smallest one that holds it. */
  Expr binaryBits(Val.Int i, Type hint) {
    return bitsOf(i, hint);
  }

  private static String name(Val v) {
    if (v instanceof Val.Typed t) {
      return t.expr().type().name();
    }
    if (v instanceof Val.Int) {
      return "integer literal";
    }
    if (v instanceof Val.Real) {
      return "real literal";
    }
    if (v instanceof Val.Text) {
      return "string literal";
    }
    return v instanceof Val.Named n ? n.candidates().get(0).name() : "NULL";
  }

  /** Integers without type: exact, so the result is checked where it gets its type. Division by zero stays for its context to judge. */
  private Val integers(Expr.Operator op, Val.Int a, Val.Int b, Span span, Type hint) {
    BigInteger r;
    switch (op) {
      case ADD:
        r = a.value().add(b.value());
        break;
      case SUB:
        r = a.value().subtract(b.value());
        break;
      case MUL:
        r = a.value().multiply(b.value());
        break;
      case DIV:
      case MOD:
        if (b.value().signum() == 0) {
          Expr l = integer(a, hint);
          ElementaryType k = Kinds.kind(l.type());
          if (k == null) {
            return fail(span);
          }
          if (!k.isNumber()) {
            l = integer(a, null);
          }
          return folded(new Expr.Binary(span, l.type(), op, l, coerce(b, l.type(), Purpose.OPERAND)));
        }
        r = op == Expr.Operator.DIV ? a.value().divide(b.value()) : a.value().remainder(b.value());
        break;
      default:
        throw new IllegalArgumentException(op.name());
    }
    if (r.bitLength() > 128) {
      session.error("range/literal", span, "the value is outside the range of every integer type");
      return fail(span);
    }
    return new Val.Int(span, r);
  }

  /** The common type of two operands of which at least one has a type; literals adapt to the other one, wider where they do not fit. */
  private Optional<ElementaryType> commonNumber(Val left, Val right, Span span) {
    if (left instanceof Val.Typed a && right instanceof Val.Typed b) {
      return Kinds.common(Kinds.kind(a.expr().type()), Kinds.kind(b.expr().type()));
    }
    Val literal = left instanceof Val.Typed ? right : left;
    ElementaryType k = Kinds.kind(((Val.Typed) (left instanceof Val.Typed ? left : right)).expr().type());
    return adapt(literal, k);
  }

  /** The type that a numeric literal and an operand of a kind meet in. */
  private Optional<ElementaryType> adapt(Val literal, ElementaryType k) {
    if (literal instanceof Val.Real) {
      return k.isReal() ? Optional.of(k) : List.of(ElementaryType.REAL, ElementaryType.LREAL).stream().filter(t -> Kinds.implicit(k, t))
          .findFirst();
    }
    BigInteger v = ((Val.Int) literal).value();
    if (k.isReal() || Kinds.fits(v, k)) {
      return Optional.of(k);
    }
    return List.of(ElementaryType.INT, ElementaryType.DINT, ElementaryType.LINT, ElementaryType.UINT, ElementaryType.UDINT,
        ElementaryType.ULINT)
        .stream().filter(t -> Kinds.implicit(k, t) && Kinds.fits(v, t)).findFirst();
  }

  /** The combinations of Table 35 and no others (S.time-op-combinations). */
  private Val time(Expr.Operator op, Val left, Val right, Span at, Span span) {
    ElementaryType x = left instanceof Val.Typed t ? Kinds.kind(t.expr().type()) : null;
    if (x != null && x.family() == Family.DURATION && (op == Expr.Operator.MUL || op == Expr.Operator.DIV)) {
      Expr r = right instanceof Val.Int i && Kinds.fits(i.value(), ElementaryType.LINT)
          ? coerce(right, Kinds.of(ElementaryType.LINT), Purpose.OPERAND) : typed(right, null);
      ElementaryType rk = Kinds.kind(r.type());
      if (rk == null || !rk.isNumber()) {
        return operandError(r, symbol(op), "a number behind a duration");
      }
      return folded(new Expr.Binary(span, Kinds.of(x), op, ((Val.Typed) left).expr(), r));
    }
    ElementaryType y = right instanceof Val.Typed t ? Kinds.kind(t.expr().type()) : null;
    if (x == null || y == null || !(op == Expr.Operator.ADD || op == Expr.Operator.SUB)) {
      return noCombination(op, left, right, at);
    }
    boolean sub = op == Expr.Operator.SUB;
    boolean wide = isLong(x) || isLong(y);
    Family f = x.family();
    Family g = y.family();
    ElementaryType result;
    ElementaryType lk;
    ElementaryType rk;
    if (f == Family.DURATION && g == Family.DURATION) {
      result = wide ? ElementaryType.LTIME : ElementaryType.TIME;
      lk = result;
      rk = result;
    } else if ((f == Family.TIME_OF_DAY || f == Family.DATE_AND_TIME) && g == Family.DURATION) {
      result = f == Family.TIME_OF_DAY ? wide ? ElementaryType.LTOD : ElementaryType.TOD : wide ? ElementaryType.LDT : ElementaryType.DT;
      lk = result;
      rk = wide ? ElementaryType.LTIME : ElementaryType.TIME;
    } else if (sub && f == g && f != Family.DURATION) {
      result = wide ? ElementaryType.LTIME : ElementaryType.TIME;
      lk = Kinds.common(x, y).orElseThrow();
      rk = lk;
    } else {
      return noCombination(op, left, right, at);
    }
    return folded(new Expr.Binary(span, Kinds.of(result), op, coerce(left, Kinds.of(lk), Purpose.OPERAND),
        coerce(right, Kinds.of(rk), Purpose.OPERAND)));
  }

  private static boolean isLong(ElementaryType k) {
    return k == ElementaryType.LTIME || k == ElementaryType.LDATE || k == ElementaryType.LTOD || k == ElementaryType.LDT;
  }

  private Val noCombination(Expr.Operator op, Val left, Val right, Span at) {
    session.error("type/operand", at, name(left) + " " + symbol(op) + " " + name(right) + " is no combination of the standard");
    return fail(at);
  }

  private Val power(Val left, Val right, Span span, Type hint) {
    ElementaryType h = hint == null ? null : Kinds.kind(hint);
    Expr base;
    if (left instanceof Val.Int || left instanceof Val.Real) {
      base = coerce(left, Kinds.of(h != null && h.isReal() ? h : ElementaryType.LREAL), Purpose.OPERAND);
    } else {
      base = typed(left, null);
      ElementaryType k = Kinds.kind(base.type());
      if (k != null && k.isInteger()) {
        Optional<ElementaryType> real = List.of(ElementaryType.REAL, ElementaryType.LREAL).stream().filter(t -> Kinds.implicit(k, t))
            .findFirst();
        if (real.isPresent()) {
          base = convert(base, Kinds.of(real.get()));
        }
      }
    }
    ElementaryType k = Kinds.kind(base.type());
    if (k == null || !k.isReal()) {
      return operandError(base, "**", "a real base");
    }
    Expr exponent = right instanceof Val.Real ? coerce(right, Kinds.of(k), Purpose.OPERAND) : typed(right, null);
    ElementaryType y = Kinds.kind(exponent.type());
    if (y == null || !y.isNumber()) {
      return operandError(exponent, "**", "a number as exponent");
    }
    return folded(new Expr.Binary(span, Kinds.of(k), Expr.Operator.POWER, base, exponent));
  }

  private Val compare(Expr.Operator op, Val left, Val right, Span at, Span span) {
    if (left instanceof Val.Int a && right instanceof Val.Int b) {
      int c = a.value().compareTo(b.value());
      boolean r = switch (op) {
        case EQ -> c == 0;
        case NE -> c != 0;
        case LT -> c < 0;
        case GT -> c > 0;
        case LE -> c <= 0;
        case GE -> c >= 0;
        case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> throw new IllegalArgumentException(op.name());
      };
      return new Val.Typed(new Expr.Constant(span, Kinds.BOOL, r ? 1 : 0));
    }
    if (left instanceof Val.Named a && right instanceof Val.Named b && a.candidates().size() > 1 && b.candidates().size() > 1) {
      List<Type.Enumeration> both = a.candidates().stream().filter(b.candidates()::contains).toList();
      if (both.size() > 1) {
        ambiguous(a);
        ambiguous(b);
        return fail(span);
      }
    }
    Optional<Type> common = commonType(left, right);
    if (common.isEmpty()) {
      return noCommon(op, left, right, at);
    }
    Type t = common.get().base();
    boolean equality = op == Expr.Operator.EQ || op == Expr.Operator.NE;
    boolean ok = Kinds.kind(t) != null || equality && (t instanceof Type.Enumeration || t instanceof Type.Reference
        || t instanceof Type.Interface);
    if (!ok) {
      String what = t instanceof Type.Enumeration || t instanceof Type.Reference || t instanceof Type.Interface
          ? common.get().name() + " has no order; only = and <> compare it" : common.get().name() + " cannot be compared";
      session.error("type/operand", at, what);
      return fail(span);
    }
    if (!equality && left instanceof Val.Typed x && x.expr() instanceof Expr.Binary inner && Kinds.kind(inner.type()) == ElementaryType.BOOL) {
      session.report(Diagnostic.warning("trap/chained-comparison", at, "this orders the result of a comparison or a logical operation, which is BOOL")
          .withHint("a range is tested by two comparisons: low < x AND x < high"));
    }
    session.usage.compared(op, common.get(), at, scope);
    Expr l = coerce(left, common.get(), Purpose.OPERAND);
    Expr r = coerce(right, common.get(), Purpose.OPERAND);
    if (Kinds.isUnknown(l.type()) || Kinds.isUnknown(r.type())) {
      return fail(span);
    }
    return folded(new Expr.Binary(span, Kinds.BOOL, op, l, r));
  }

  /**
   * The smallest type that both values can have; also for literals, enumerated values, NULL, references, and arguments of one generic type.
   */
  Optional<Type> commonType(Val left, Val right) {
    if (left instanceof Val.Typed a && right instanceof Val.Typed b) {
      return commonType(a.expr().type(), b.expr().type());
    }
    if (left instanceof Val.Typed a) {
      return literalType(right, a.expr().type());
    }
    if (right instanceof Val.Typed b) {
      return literalType(left, b.expr().type());
    }
    if (left instanceof Val.Text a && right instanceof Val.Text b) {
      ElementaryType k = a.wide() ? ElementaryType.WSTRING : ElementaryType.STRING;
      return a.wide() == b.wide() ? Optional.of(new Type.Text(k, Math.max(1, Math.max(a.points().length, b.points().length))))
          : Optional.empty();
    }
    if (left instanceof Val.Named a && right instanceof Val.Named b) {
      List<Type.Enumeration> both = a.candidates().stream().filter(b.candidates()::contains).toList();
      return both.size() == 1 ? Optional.of(both.get(0)) : Optional.empty();
    }
    boolean numbers = (left instanceof Val.Int || left instanceof Val.Real) && (right instanceof Val.Int || right instanceof Val.Real);
    if (numbers) {
      return Optional.of(left instanceof Val.Int && right instanceof Val.Int ? Kinds.of(ElementaryType.DINT)
          : Kinds.of(ElementaryType.LREAL));
    }
    return Optional.empty();
  }

  private Optional<Type> literalType(Val literal, Type other) {
    Type t = other.base();
    ElementaryType k = Kinds.kind(t);
    if (literal instanceof Val.Int i) {
      if (k != null && k.isBits()) {
        if (Kinds.fits(i.value(), k)) {
          return Optional.of(Kinds.of(k));
        }
        return List.of(ElementaryType.BYTE, ElementaryType.WORD, ElementaryType.DWORD, ElementaryType.LWORD).stream()
            .filter(x -> Kinds.implicit(k, x) && Kinds.fits(i.value(), x)).findFirst().map(Kinds::of);
      }
      if (t instanceof Type.Enumeration e && e.isOpen()) {
        return Optional.of(other);
      }
      return k != null && k.isNumber() ? adapt(literal, k).map(Kinds::of) : Optional.empty();
    }
    if (literal instanceof Val.Real) {
      return k != null && k.isNumber() ? adapt(literal, k).map(Kinds::of) : Optional.empty();
    }
    if (literal instanceof Val.Text x) {
      if (k != null && k.family() == Family.CHARACTER && x.points().length == 1) {
        return Optional.of(Kinds.of(k));
      }
      ElementaryType s = k != null && k.family() == Family.CHARACTER ? Kinds.stringOf(k) : k;
      if (s == null || !s.isString()) {
        return Optional.empty();
      }
      boolean fits = s == ElementaryType.USTRING || x.wide() == (s == ElementaryType.WSTRING);
      int own = t instanceof Type.Text text ? text.capacity() : 1;
      return fits ? Optional.of(new Type.Text(s, Math.max(own, Math.max(1, x.points().length)))) : Optional.empty();
    }
    if (literal instanceof Val.Named n) {
      if (t instanceof Type.Enumeration e && e.find(n.name()).isPresent()) {
        return Optional.of(other);
      }
      return Optional.empty();
    }
    return t instanceof Type.Reference || t instanceof Type.Interface ? Optional.of(other) : Optional.empty();
  }

  Optional<Type> commonType(Type a, Type b) {
    if (Kinds.isUnknown(a) || Kinds.isUnknown(b)) {
      return Optional.of(Kinds.UNKNOWN);
    }
    if (a instanceof Type.Nothing) {
      return b.base() instanceof Type.Reference || b.base() instanceof Type.Interface ? Optional.of(b) : Optional.empty();
    }
    if (b instanceof Type.Nothing) {
      return commonType(b, a);
    }
    Type x = a.base();
    Type y = b.base();
    if (x instanceof Type.Text s && y instanceof Type.Text t && s.kind() == t.kind()) {
      return Optional.of(s.capacity() >= t.capacity() ? a : b);
    }
    if (Kinds.kind(x) == null || Kinds.kind(y) == null) {
      if (Kinds.same(a, b)) {
        return Optional.of(a);
      }
      if (x instanceof Type.Reference && y instanceof Type.Reference || x instanceof Type.Interface && y instanceof Type.Interface) {
        return pointsTo(x, y) ? Optional.of(b) : pointsTo(y, x) ? Optional.of(a) : Optional.empty();
      }
      ElementaryType open = x instanceof Type.Enumeration e && e.isOpen() ? e.baseKind() : null;
      ElementaryType other = y instanceof Type.Enumeration e && e.isOpen() ? e.baseKind() : null;
      if (open != null && Kinds.kind(y) != null) {
        return Kinds.common(open, Kinds.kind(y)).map(Kinds::of);
      }
      if (other != null && Kinds.kind(x) != null) {
        return Kinds.common(Kinds.kind(x), other).map(Kinds::of);
      }
      return Optional.empty();
    }
    Optional<ElementaryType> k = Kinds.common(Kinds.kind(x), Kinds.kind(y));
    if (k.isEmpty()) {
      return Optional.empty();
    }
    if (k.get().isString()) {
      int capacity = Math.max(x instanceof Type.Text s ? s.capacity() : 1, y instanceof Type.Text t ? t.capacity() : 1);
      return Optional.of(new Type.Text(k.get(), capacity));
    }
    return Optional.of(Kinds.of(k.get()));
  }
}
