package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/**
 * Calls of library functions that the core executes itself, or that have generic parameters (Tables 21 to 35). All parameters with one
 * generic name, and the result, share one type: the smallest common one of the arguments.
 */
final class Generics {
  private static final int MAX_INPUTS = 1_024;

  private final Session session;
  private final Expressions expressions;
  private final Calls calls;

  Generics(Session session, Expressions expressions, Calls calls) {
    this.session = session;
    this.expressions = expressions;
    this.calls = calls;
  }

  /** The function is bound to the core, or has a generic parameter or result, or repeats its last input. */
  boolean applies(PouInfo info) {
    return info.binding() != null && (info.binding().intrinsic() || info.binding().extensible())
        || info.pou().variables().stream().anyMatch(v -> v.type() instanceof Type.Generic);
  }

  /** One input: its parameter, and its value while its type is open. */
  private static final class In {
    final Variable parameter;
    final Val value;

    In(Variable parameter, Val value) {
      this.parameter = parameter;
      this.value = value;
    }
  }

  Val call(PouInfo info, Expression.Call e, Span at, Type hint) {
    Pou pou = info.pou();
    List<Variable> parameters = extended(info, e);
    if (parameters == null) {
      return fail(e.span());
    }
    Calls.Matched m = calls.match(e, parameters, pou.name(), true);
    List<In> inputs = new ArrayList<>();
    List<Calls.Match> others = new ArrayList<>();
    boolean ok = m.ok() && calls.missingInOuts(m, parameters, e.span(), pou.name());
    Type inner = hint != null && pou.result() instanceof Type.Generic g && Kinds.belongs(hint, g.name()) ? hint : null;
    for (Calls.Match x : m.matches()) {
      Variable p = x.parameter();
      if (p.section() != Variable.Section.INPUT) {
        others.add(x);
        continue;
      }
      if (x.argument().value().isEmpty()) {
        session.error("call/missing-value", x.argument().span(), "a value is missing for " + p.name());
        ok = false;
        continue;
      }
      boolean linked = p.type() instanceof Type.Generic g && pou.result() instanceof Type.Generic r && g.name().equals(r.name());
      Type wanted = p.type() instanceof Type.Generic ? linked ? inner : null : p.type();
      inputs.add(new In(p, expressions.check(x.argument().value().get(), wanted)));
    }
    Optional<Expr> en = calls.en(m);
    Optional<Call.Output> eno = calls.eno(m, parameters);
    if (!ok) {
      return fail(e.span());
    }
    return apply(info, parameters, inputs, others, en, eno, e.span(), at, hint, m.en().isPresent() || m.eno().isPresent());
  }

  /** Applies the function to values; {@code asCall}: EN or ENO is connected. */
  Val apply(PouInfo info, List<Variable> parameters, List<In> given, List<Calls.Match> others, Optional<Expr> en,
      Optional<Call.Output> eno, Span span,
      Span at, Type hint, boolean asCall) {
    Pou pou = info.pou();
    List<In> inputs = inOrder(parameters, given);
    for (Variable p : parameters) {
      if (p.section() == Variable.Section.INPUT && inputs.stream().noneMatch(i -> i.parameter == p)) {
        session.error("call/missing-argument", span, "input " + p.name() + " of " + pou.name() + " is not given");
        return fail(span);
      }
    }
    if (inputs.stream().anyMatch(i -> Expressions.isUnknown(i.value))) {
      return fail(span);
    }
    if (info.binding() == null) {
      session.error("library/generic-body", at, pou.name()
          + " has generic parameters and a body in text; only bound functions can be generic");
      return fail(span);
    }
    if (info.binding().intrinsic()) {
      return intrinsic(info, inputs, en, eno, span, at, hint, asCall);
    }
    return nativeCall(info, parameters, inputs, others, en, eno, span, at, hint);
  }

  /** For ladder boxes: applies the function to inputs whose values are known; the values stand in the order of the parameters. */
  Val applyBox(PouInfo info, List<Variable> parameters, Map<Variable, Val> values, List<Calls.Match> others, Span span, Span at,
      Type hint) {
    List<In> inputs = new ArrayList<>();
    values.forEach((p, v) -> inputs.add(new In(p, v)));
    return apply(info, parameters, inputs, others, Optional.empty(), Optional.empty(), span, at, hint, false);
  }

  private static List<In> inOrder(List<Variable> parameters, List<In> given) {
    List<In> ordered = new ArrayList<>();
    for (Variable p : parameters) {
      given.stream().filter(i -> i.parameter == p).findFirst().ifPresent(ordered::add);
    }
    return ordered;
  }

  private static Val fail(Span span) {
    return new Val.Typed(Expressions.unknown(span));
  }

  /** Parameters with the repeated last input of an extensible function, as many as the call names or counts; null when too many. */
  private List<Variable> extended(PouInfo info, Expression.Call e) {
    boolean nameless = !e.arguments().isEmpty() && e.arguments().stream().allMatch(a -> a.kind() == Expression.ArgumentKind.NAMELESS);
    List<String> names = e.arguments().stream().flatMap(a -> a.name().stream()).map(n -> n.key()).toList();
    return extended(info, nameless ? e.arguments().size() : 0, names, e.span());
  }

  List<Variable> extended(PouInfo info, int count, List<String> names, Span at) {
    List<Variable> parameters = new ArrayList<>(calls.parameters(info.pou()));
    if (info.binding() == null || !info.binding().extensible() || parameters.isEmpty()) {
      return parameters;
    }
    Variable last = parameters.get(parameters.size() - 1);
    String stem = last.name().replaceAll("[0-9]+$", "");
    int number = stem.length() == last.name().length() ? 1 : Integer.parseInt(last.name().substring(stem.length()));
    int wanted = Math.max(0, count - parameters.size());
    for (String n : names) {
      if (n.startsWith(Kinds.key(stem)) && n.substring(stem.length()).matches("[1-9][0-9]{0,8}")) {
        wanted = Math.max(wanted, Integer.parseInt(n.substring(stem.length())) - number);
      }
    }
    if (parameters.size() + (long) wanted > MAX_INPUTS) {
      session.error("limit/inputs", at, info.pou().name() + " takes at most " + MAX_INPUTS + " inputs");
      return null;
    }
    for (int i = 1; i <= wanted; i++) {
      parameters.add(new Variable(stem + (number + i), Variable.Section.INPUT, last.type(), last.span()));
    }
    return parameters;
  }

  // Binding of generic types

  private Map<String, Type> bind(PouInfo info, List<In> inputs, Type hint, Span at) {
    Map<String, List<Val>> groups = new LinkedHashMap<>();
    for (In i : inputs) {
      if (i.parameter.type() instanceof Type.Generic g) {
        groups.computeIfAbsent(g.name(), k -> new ArrayList<>()).add(i.value);
      }
    }
    Map<String, Type> bound = new LinkedHashMap<>();
    for (Map.Entry<String, List<Val>> g : groups.entrySet()) {
      boolean isResult = info.pou().result() instanceof Type.Generic r && r.name().equals(g.getKey());
      Type t = bind(info, g.getKey(), g.getValue(), isResult ? hint : null, at);
      if (t == null) {
        return null;
      }
      bound.put(g.getKey(), t);
    }
    return bound;
  }

  private Type bind(PouInfo info, String generic, List<Val> values, Type hint, Span at) {
    boolean open = values.stream().noneMatch(v -> v instanceof Val.Typed);
    if (open && hint != null && Kinds.belongs(hint, generic) && values.stream().allMatch(v -> adapts(v, hint))) {
      return normal(hint);
    }
    Type common = null;
    List<Val> ordered = new ArrayList<>(values.stream().filter(v -> v instanceof Val.Typed).toList());
    ordered.addAll(values.stream().filter(v -> !(v instanceof Val.Typed)).toList());
    for (Val v : ordered) {
      Type own;
      if (common == null) {
        own = v instanceof Val.Int && generic.equals("ANY_BIT") ? expressions.binaryBits((Val.Int) v, hint).type()
            : v instanceof Val.Int && generic.equals("ANY_REAL") ? Kinds.of(ElementaryType.LREAL)
            : v instanceof Val.Int i && generic.equals("ANY_UNSIGNED") && i.value().signum() >= 0
                ? Kinds.of(Kinds.fits(i.value(), ElementaryType.UDINT) ? ElementaryType.UDINT : ElementaryType.ULINT)
            : expressions.typed(v, hint).type();
        if (Kinds.isUnknown(own)) {
          return null;
        }
      } else {
        Optional<Type> t = expressions.commonType(new Val.Typed(new Expr.Constant(v.span(), common, 0)), v);
        if (t.isEmpty()) {
          session.error("type/argument", v.span(), "the inputs of " + info.pou().name() + " have no common type reachable without loss: "
              + common.name() + " and " + Expressions.nameOf(v));
          return null;
        }
        own = t.get();
      }
      common = own;
    }
    common = normal(common);
    if (!Kinds.belongs(common, generic)) {
      Type raised = raise(common, generic);
      if (raised == null) {
        Type c = common;
        Val culprit = values.stream().filter(v -> v instanceof Val.Typed t && !Kinds.belongs(t.expr().type(), generic)).findFirst()
            .orElse(values.get(0));
        session.error("type/argument", culprit.span(), info.pou().name() + " needs " + generic + ", not "
            + (culprit instanceof Val.Typed t ? t.expr().type().name() : c.name()));
        return null;
      }
      return raised;
    }
    return common;
  }

  /** Subranges and directly derived types work on their elementary type; strings and user-defined types stay. */
  private static Type normal(Type t) {
    ElementaryType k = Kinds.kind(t);
    return k == null || k.isString() ? t : Kinds.of(k);
  }

  /** A type of the generic family to which the type converts by itself; null when there is none. */
  private static Type raise(Type t, String generic) {
    ElementaryType k = Kinds.kind(t);
    if (k == null) {
      return null;
    }
    if (k.family() == Family.CHARACTER && Kinds.belongs(new Type.Text(Kinds.stringOf(k), 1), generic)) {
      return new Type.Text(Kinds.stringOf(k), 1);
    }
    for (ElementaryType r : List.of(ElementaryType.REAL, ElementaryType.LREAL)) {
      if (k.isInteger() && Kinds.implicit(k, r) && Kinds.belongs(Kinds.of(r), generic)) {
        return Kinds.of(r);
      }
    }
    return null;
  }

  /** A value without type can take the type, judged without reporting. */
  private static boolean adapts(Val v, Type t) {
    ElementaryType k = Kinds.kind(t);
    if (v instanceof Val.Int i) {
      return k != null && (k.isReal() || Kinds.fits(i.value(), k));
    }
    if (v instanceof Val.Real) {
      return k != null && k.isReal();
    }
    if (v instanceof Val.Text x) {
      return k != null && (k == ElementaryType.USTRING || k == (x.wide() ? ElementaryType.WSTRING : ElementaryType.STRING)
          || k.family() == Family.CHARACTER && x.points().length == 1);
    }
    if (v instanceof Val.Named n) {
      return t.base() instanceof Type.Enumeration e && e.find(n.name()).isPresent();
    }
    return t.base() instanceof Type.Reference || t.base() instanceof Type.Interface;
  }

  /** The type of the result: bound with the inputs, asked for by the context, or the usual one of its family. */
  private Type resultType(PouInfo info, Map<String, Type> bound, Type hint) {
    if (!(info.pou().result() instanceof Type.Generic g)) {
      return info.pou().result();
    }
    Type t = bound.get(g.name());
    if (t != null) {
      return t;
    }
    if (hint != null && Kinds.belongs(hint, g.name()) && Kinds.kind(hint) != null) {
      return normal(hint);
    }
    return Kinds.of(Kinds.belongs(Kinds.DINT, g.name()) ? ElementaryType.DINT : ElementaryType.LREAL);
  }

  private List<Expr> coerce(List<In> inputs, Map<String, Type> bound) {
    List<Expr> all = new ArrayList<>();
    for (In i : inputs) {
      Type t = i.parameter.type() instanceof Type.Generic g ? bound.get(g.name()) : i.parameter.type();
      boolean aggregate = i.value instanceof Val.Typed v && Kinds.kind(v.expr().type()) == null
          && !(v.expr().type().base() instanceof Type.Enumeration)
          && i.parameter.type() instanceof Type.Generic;
      all.add(aggregate && i.value instanceof Val.Typed v ? v.expr() : expressions.coerce(i.value, t, Expressions.Purpose.ARGUMENT));
    }
    return all;
  }

  // Intrinsics

  private static Expr.Operator operator(String name) {
    return switch (name) {
      case "ADD", "SUB", "MUL", "DIV", "MOD", "AND", "OR", "XOR", "EQ", "NE", "LT", "LE", "GT", "GE" -> Expr.Operator.valueOf(name);
      case "EXPT" -> Expr.Operator.POWER;
      default -> null;
    };
  }

  private Val intrinsic(PouInfo info, List<In> inputs, Optional<Expr> en, Optional<Call.Output> eno, Span span, Span at, Type hint,
      boolean asCall) {
    String name = info.binding().name();
    Expr.Operator op = operator(name);
    if (op != null && inputs.size() >= 2) {
      return operation(info, op, inputs, en, eno, span, at, hint, asCall);
    }
    if (name.equals("NOT") && inputs.size() == 1) {
      Val v = inputs.get(0).parameter.type() instanceof Type.Generic ? inputs.get(0).value
          : new Val.Typed(expressions.coerce(inputs.get(0).value, inputs.get(0).parameter.type(), Expressions.Purpose.ARGUMENT));
      if (!asCall) {
        return expressions.not(v, span, hint);
      }
      Val r = unfolded(() -> expressions.not(v, span, hint));
      return r instanceof Val.Typed t && t.expr() instanceof Expr.Not n
          ? asCall(info, inputs, List.of(n.operand()), n.type(), en, eno, span, at) : r;
    }
    Map<String, Type> bound = bind(info, inputs, hint, at);
    if (bound == null) {
      return fail(span);
    }
    List<Expr> arguments = coerce(inputs, bound);
    if (arguments.stream().anyMatch(a -> Kinds.isUnknown(a.type()))) {
      return fail(span);
    }
    Type result = resultType(info, bound, hint);
    if (name.equals("CONVERT") || name.equals("TRUNC")) {
      Val v = conversion(info, arguments.get(0), result, name.equals("TRUNC"), span, at);
      if (Expressions.isUnknown(v) || !asCall) {
        return v;
      }
    } else if (name.equals("MOVE") && !asCall) {
      return new Val.Typed(arguments.get(0));
    } else if (!asCall) {
      return new Val.Typed(new Expr.Intrinsic(span, result, name, arguments));
    }
    return asCall(info, inputs, arguments, result, en, eno, span, at);
  }

  private Val conversion(PouInfo info, Expr argument, Type result, boolean truncate, Span span, Span at) {
    ElementaryType from = Kinds.kind(argument.type());
    ElementaryType to = Kinds.kind(result);
    boolean pair = from != null && to != null && (truncate ? from.isReal() && to.isInteger() : Kinds.convertible(from, to));
    if (!pair || from.isString() || to.isString()) {
      session.error("type/conversion", at, "there is no conversion from " + argument.type().name() + " to " + result.name());
      return fail(span);
    }
    if (from == to) {
      return new Val.Typed(argument);
    }
    return new Val.Typed(session.folder.fold(new Expr.Convert(span, result, argument, truncate)));
  }

  private Val unfolded(java.util.function.Supplier<Val> build) {
    expressions.setFolding(false);
    try {
      return build.get();
    } finally {
      expressions.setFolding(true);
    }
  }

  /** A function that has an operator gives exactly what the operator gives (S.arith-eval-once). */
  private Val operation(PouInfo info, Expr.Operator op, List<In> inputs, Optional<Expr> en, Optional<Call.Output> eno, Span span, Span at,
      Type hint,
      boolean asCall) {
    boolean comparison = switch (op) {
      case EQ, NE, LT, GT, LE, GE -> true;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> false;
    };
    List<Val> values = new ArrayList<>();
    for (In i : inputs) {
      values.add(i.parameter.type() instanceof Type.Generic ? i.value
          : new Val.Typed(expressions.coerce(i.value, i.parameter.type(), Expressions.Purpose.ARGUMENT)));
    }
    if (values.stream().anyMatch(Expressions::isUnknown)) {
      return fail(span);
    }
    boolean times = values.stream().anyMatch(v -> v instanceof Val.Typed t && Kinds.kind(t.expr().type()) != null
        && !Kinds.kind(t.expr().type()).isNumber() && !Kinds.kind(t.expr().type()).isBits());
    if (values.size() > 2 && (comparison || !times) || asCall && values.size() > 2 && !times) {
      Type common = common(info, values);
      if (common == null) {
        return fail(span);
      }
      if (!(values.stream().noneMatch(v -> v instanceof Val.Typed) && !asCall && !comparison)) {
        values.replaceAll(v -> new Val.Typed(expressions.coerce(v, common, Expressions.Purpose.ARGUMENT)));
      }
      if (values.stream().anyMatch(Expressions::isUnknown)) {
        return fail(span);
      }
      if (comparison) {
        // Neighbouring pairs, all of one type: the lowering knows the whole sequence.
        Val first = expressions.binary(op, values.get(0), values.get(1), at, null);
        if (Expressions.isUnknown(first)) {
          return fail(span);
        }
        List<Expr> all = values.stream().map(v -> ((Val.Typed) v).expr()).toList();
        return asCall ? asCall(info, inputs, all, Kinds.BOOL, en, eno, span, at)
            : new Val.Typed(new Expr.Intrinsic(span, Kinds.BOOL, op.name(), all));
      }
    }
    if (!asCall) {
      Val r = values.get(0);
      for (int i = 1; i < values.size(); i++) {
        r = expressions.binary(op, r, values.get(i), at, hint);
      }
      return widened(r, span);
    }
    values.replaceAll(v -> v instanceof Val.Typed ? v : withType(v, op, hint));
    Val r = unfolded(() -> {
      Val x = values.get(0);
      for (int i = 1; i < values.size(); i++) {
        x = expressions.binary(op, x, values.get(i), at, hint);
      }
      return x;
    });
    if (Expressions.isUnknown(r)) {
      return r;
    }
    List<Expr> operands = new ArrayList<>();
    Expr x = ((Val.Typed) r).expr();
    Type result = x.type();
    for (int i = values.size() - 1; i >= 1 && x instanceof Expr.Binary b; i--) {
      operands.add(0, b.right());
      x = b.left();
    }
    operands.add(0, x);
    return asCall(info, inputs, operands, result, en, eno, span, at);
  }

  private Val withType(Val v, Expr.Operator op, Type hint) {
    boolean bits = op == Expr.Operator.AND || op == Expr.Operator.OR || op == Expr.Operator.XOR;
    return new Val.Typed(bits && v instanceof Val.Int i ? expressions.binaryBits(i, hint) : expressions.typed(v, hint));
  }

  /** The span of a function call instead of that of its operands. */
  private static Val widened(Val v, Span span) {
    if (v instanceof Val.Int i) {
      return new Val.Int(span, i.value());
    }
    if (v instanceof Val.Typed t) {
      Expr e = t.expr();
      if (e instanceof Expr.Constant c) {
        return new Val.Typed(new Expr.Constant(span, c.type(), c.value()));
      }
      if (e instanceof Expr.Binary b) {
        return new Val.Typed(new Expr.Binary(span, b.type(), b.operator(), b.left(), b.right()));
      }
    }
    return v;
  }

  private Type common(PouInfo info, List<Val> values) {
    Val acc = values.get(0);
    for (Val v : values.subList(1, values.size())) {
      Optional<Type> t = expressions.commonType(acc, v);
      if (t.isEmpty()) {
        session.error("type/argument", v.span(), "the inputs of " + info.pou().name() + " have no common type reachable without loss");
        return null;
      }
      acc = new Val.Typed(new Expr.Constant(v.span(), t.get(), 0));
    }
    return acc instanceof Val.Typed t ? t.expr().type() : null;
  }

  // Calls

  /** An intrinsic with EN or ENO: a call of a function whose code names the operation. */
  private Val asCall(PouInfo info, List<In> inputs, List<Expr> arguments, Type result, Optional<Expr> en, Optional<Call.Output> eno,
      Span span, Span at) {
    if (expressions.scope().isConstant()) {
      session.error("const/value", span, "a constant expression has no EN and ENO");
      return fail(span);
    }
    List<Variable> declared = inputs.stream().map(i -> i.parameter).toList();
    Pou special = session.specialise(info, declared, arguments.stream().map(Expr::type).toList(), result);
    List<Variable> own = calls.inputsOf(special);
    List<Call.Argument> converted = new ArrayList<>();
    for (int i = 0; i < arguments.size(); i++) {
      converted.add(new Call.Input(own.get(i), arguments.get(i)));
    }
    return new Val.Typed(new Expr.Invoke(span, result, new Call(span, new Call.Function(special), converted, en, eno)));
  }

  private Val nativeCall(PouInfo info, List<Variable> parameters, List<In> inputs, List<Calls.Match> others, Optional<Expr> en,
      Optional<Call.Output> eno,
      Span span, Span at, Type hint) {
    if (expressions.scope().isConstant()) {
      session.error("const/value", span, "a constant expression has no calls of " + info.pou().name());
      return fail(span);
    }
    Map<String, Type> bound = bind(info, inputs, hint, at);
    if (bound == null) {
      return fail(span);
    }
    List<Expr> arguments = coerce(inputs, bound);
    if (arguments.stream().anyMatch(a -> Kinds.isUnknown(a.type()))) {
      return fail(span);
    }
    int declared = (int) calls.parameters(info.pou()).stream().filter(v -> v.section() == Variable.Section.INPUT).count();
    if (!info.binding().extensible() || arguments.size() <= declared) {
      return one(info, parameters, inputs, arguments, others, bound, en, eno, span, hint);
    }
    // Left fold: f(f(a, b), c); EN and ENO belong to the outermost call.
    Expr acc = null;
    for (int i = declared; i <= arguments.size(); i++) {
      List<Expr> now = new ArrayList<>();
      if (acc == null) {
        now.addAll(arguments.subList(0, declared));
      } else {
        now.add(acc);
        now.add(arguments.get(i - 1));
      }
      boolean last = i == arguments.size();
      Val v = one(info, parameters.subList(0, declared), inputs.subList(0, declared), now, List.of(), bound,
          last ? en : Optional.empty(), last ? eno : Optional.empty(), span, hint);
      if (Expressions.isUnknown(v)) {
        return v;
      }
      acc = ((Val.Typed) v).expr();
    }
    return new Val.Typed(acc);
  }

  private Val one(PouInfo info, List<Variable> parameters, List<In> inputs, List<Expr> arguments, List<Calls.Match> others, Map<String,
      Type> bound,
      Optional<Expr> en, Optional<Call.Output> eno, Span span, Type hint) {
    Type result = resultType(info, bound, hint);
    if (info.pou().result() instanceof Type.Generic && result instanceof Type.Text t) {
      long capacity = 0;
      for (Expr a : arguments) {
        capacity += a.type().base() instanceof Type.Text x ? x.capacity() : 0;
      }
      result = new Type.Text(t.kind(), (int) Math.max(1, Math.min(capacity, session.limits.stringLength())));
    }
    List<Variable> all = new ArrayList<>();
    List<Type> types = new ArrayList<>();
    for (Variable p : parameters) {
      int at = -1;
      for (int i = 0; i < inputs.size(); i++) {
        at = inputs.get(i).parameter == p ? i : at;
      }
      all.add(p);
      types.add(at >= 0 && p.type() instanceof Type.Generic ? arguments.get(at).type()
          : p.type() instanceof Type.Generic g ? bound.getOrDefault(g.name(), Kinds.DINT) : p.type());
    }
    Pou special = session.specialise(info, all, types, result);
    List<Call.Argument> converted = new ArrayList<>();
    for (int i = 0; i < inputs.size(); i++) {
      converted.add(new Call.Input(special.variable(inputs.get(i).parameter.name()).orElseThrow(), arguments.get(i)));
    }
    List<Calls.Match> rest = new ArrayList<>();
    for (Calls.Match m : others) {
      rest.add(new Calls.Match(special.variable(m.parameter().name()).orElseThrow(), m.argument()));
    }
    List<Call.Argument> more = calls.convert(rest);
    for (int i = 0; i < more.size(); i++) {
      if (more.get(i) == null && rest.get(i).argument().value().isPresent()) {
        return fail(span);
      }
    }
    more.removeIf(java.util.Objects::isNull);
    converted.addAll(more);
    return new Val.Typed(new Expr.Invoke(span, special.result(), new Call(span, new Call.Function(special), converted, en, eno)));
  }
}
