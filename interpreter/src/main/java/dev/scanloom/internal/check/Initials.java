package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Initializer;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices.TextOverflow;
import java.math.BigInteger;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/**
 * Initial values and constant expressions (Table 14; S.init-*, S.const-fold). Initial values wait until all names are known, or are asked
 * for.
 */
final class Initials {
  private final Session session;
  private final Map<Variable, Pending> pending = new LinkedHashMap<>();
  private int depth;

  private static final class Pending {
    final Initializer initializer;
    final Scope scope;
    boolean running;

    Pending(Initializer initializer, Scope scope) {
      this.initializer = initializer;
      this.scope = scope;
    }
  }

  Initials(Session session) {
    this.session = session;
  }

  /** Remembers the initial value of a variable. */
  void later(Variable v, Optional<Initializer> initial, Scope scope) {
    if (initial.isPresent()) {
      pending.put(v, new Pending(initial.get(), scope));
    }
  }

  /** Works out the initial value of a variable now. */
  void ensure(Variable v) {
    Pending p = pending.get(v);
    if (p == null) {
      return;
    }
    if (p.running || depth > session.limits.nesting()) {
      session.error("const/cycle", p.initializer.span(), "the initial value of " + v.name() + " depends on itself");
      pending.remove(v);
      return;
    }
    p.running = true;
    depth++;
    try {
      of(p.initializer, v.type(), p.scope).ifPresent(v::setInitial);
    } finally {
      depth--;
      pending.remove(v);
    }
  }

  /** Works out all initial values. */
  void all() {
    while (!pending.isEmpty()) {
      for (Variable v : new ArrayList<>(pending.keySet())) {
        ensure(v);
      }
    }
  }

  /** The name of an enumerated value given as initial value of its own type. */
  Optional<Name> enumeratedName(Initializer i) {
    if (i instanceof Initializer.Value v) {
      if (v.expression() instanceof Expression.Ident id) {
        return Optional.of(id.name());
      }
      if (v.expression() instanceof Expression.TypedName t) {
        return Optional.of(t.value());
      }
    }
    session.error("const/value", i.span(), "expected one of the values of the enumeration");
    return Optional.empty();
  }

  // Constant expressions

  /** Value of a constant integer expression; what is wrong with it is reported. */
  Optional<BigInteger> integer(Expression e, Scope scope) {
    Val v = new Expressions(session, scope.asConstant()).check(e, null);
    if (v instanceof Val.Int i) {
      return Optional.of(i.value());
    }
    if (v instanceof Val.Typed t) {
      if (Kinds.isUnknown(t.expr().type())) {
        return Optional.empty();
      }
      ElementaryType k = Kinds.kind(t.expr().type());
      if (k != null && (k.isInteger() || k.isBits() && k != ElementaryType.BOOL)) {
        return constant(t.expr()).map(c -> Kinds.integer(((Expr.Constant) c).value(), k));
      }
    }
    session.error("type/operand", e.span(), "expected a constant integer expression");
    return Optional.empty();
  }

  /** The constant that an expression gives; reports when it is none, or when its evaluation is an error. */
  Optional<Expr> constant(Expr e) {
    Expr f = session.folder.fold(e);
    if (f instanceof Expr.Constant || f instanceof Expr.TextConstant) {
      return Optional.of(f);
    }
    if (Kinds.isUnknown(e.type())) {
      return Optional.empty();
    }
    Arith.Failure failure = session.folder.failure(e);
    if (failure != null) {
      session.error("const/fault", e.span(), "a constant expression cannot be evaluated: " + failure.getMessage());
    } else {
      session.error("const/value", e.span(), "expected a constant expression");
    }
    return Optional.empty();
  }

  // Initial values

  /** The initial value as written, converted to the type; empty when something is wrong with it, which is reported. */
  Optional<Init> of(Initializer i, Type type, Scope scope) {
    if (depth > session.limits.nesting()) {
      session.error("limit/nesting", i.span(), "initial values are nested deeper than " + session.limits.nesting());
      return Optional.empty();
    }
    depth++;
    try {
      if (Kinds.isUnknown(type)) {
        return Optional.empty();
      }
      if (i instanceof Initializer.Value v) {
        return value(v, type, scope);
      }
      if (i instanceof Initializer.Array a) {
        return array(a, type, scope);
      }
      return structure((Initializer.Structure) i, type, scope);
    } finally {
      depth--;
    }
  }

  private Optional<Init> value(Initializer.Value v, Type type, Scope scope) {
    Expressions x = new Expressions(session, scope.asConstant());
    Type base = type.base();
    Val val = x.check(v.expression(), type);
    if (val instanceof Val.Typed t && Kinds.isUnknown(t.expr().type())) {
      return Optional.empty();
    }
    if (base instanceof Type.Array || base instanceof Type.Structure) {
      if (val instanceof Val.Typed t && t.expr() instanceof Expr.Read r && Kinds.same(r.type(), type)) {
        Optional<Init> init = initOf(r.place());
        return init.isPresent() ? init : Optional.empty();
      }
      session.error("type/assignment", v.span(), "expected " + (base instanceof Type.Array ? "a list in brackets" : "a list in parentheses")
          + " as initial value of " + type.name());
      return Optional.empty();
    }
    if (base instanceof Type.Block) {
      session.error("type/assignment", v.span(), "an instance of " + type.name() + " takes its initial values as a list in parentheses");
      return Optional.empty();
    }
    Expr e = x.coerce(val, type, Expressions.Purpose.INITIAL);
    if (Kinds.isUnknown(e.type())) {
      return Optional.empty();
    }
    if (e instanceof Expr.AddressOf a) {
      if (isStatic(a.place())) {
        return Optional.of(new Init.Address(a.place()));
      }
      session.error("const/value", v.span(), "the initial value of a reference is REF of a variable that stays in place");
      return Optional.empty();
    }
    Optional<Expr> c = constant(e);
    if (c.isEmpty()) {
      return Optional.empty();
    }
    if (c.get() instanceof Expr.TextConstant text) {
      return Optional.of(new Init.Text(cut(text.units(), base, v.span())));
    }
    return Optional.of(new Init.Scalar(((Expr.Constant) c.get()).value()));
  }

  /** A string as long as its variable can hold; the rest is cut or rejected by choice (S.string-truncate). */
  private int[] cut(int[] units, Type base, Span at) {
    if (!(base instanceof Type.Text t) || units.length <= t.capacity()) {
      return units;
    }
    String message = "the string has " + units.length + " characters, the variable holds " + t.capacity();
    if (session.choices.textOverflow() == TextOverflow.FAULT) {
      session.error("range/string", at, message);
    } else {
      session.warning("trap/narrowing", at, message + "; the rest is cut");
    }
    return Arrays.copyOf(units, t.capacity());
  }

  /** A variable or part of one whose place is known before run time. */
  static boolean isStatic(Place p) {
    if (p instanceof Place.Var v) {
      return v.variable().section() != Variable.Section.TEMP && v.variable().section() != Variable.Section.IN_OUT;
    }
    if (p instanceof Place.Member m) {
      return isStatic(m.base());
    }
    if (p instanceof Place.Element e) {
      return isStatic(e.base()) && e.indices().stream().allMatch(i -> i instanceof Expr.Constant);
    }
    return p instanceof Place.This || p instanceof Place.Direct;
  }

  private Optional<Init> array(Initializer.Array a, Type type, Scope scope) {
    if (!(type.base() instanceof Type.Array t)) {
      session.error("type/assignment", a.span(), "a list in brackets cannot initialize " + type.name());
      return Optional.empty();
    }
    List<Init.Run> runs = new ArrayList<>();
    long used = 0;
    long size = t.count();
    boolean warned = false;
    for (Initializer.Element e : a.elements()) {
      long count = 1;
      if (e.count().isPresent()) {
        Optional<BigInteger> n = integer(e.count().get(), scope);
        if (n.isEmpty()) {
          continue;
        }
        if (n.get().signum() < 0 || n.get().bitLength() > 31) {
          session.error("range/repetition", e.count().get().span(), "a repetition count is 0 to " + size + ", not " + n.get());
          continue;
        }
        count = n.get().longValueExact();
      }
      Init value = e.value().isPresent() ? of(e.value().get(), t.element(), scope).orElse(null) : null;
      if (used + count > size && !warned) {
        session.warning("init/excess", e.span(), "the array has " + size + " elements; what is beyond them is ignored");
        warned = true;
      }
      long taken = Math.min(count, size - used);
      if (taken > 0) {
        runs.add(new Init.Run(taken, value));
        used += taken;
      }
    }
    return Optional.of(new Init.Array(runs));
  }

  private Optional<Init> structure(Initializer.Structure s, Type type, Scope scope) {
    Type base = type.base();
    if (!(base instanceof Type.Structure) && !(base instanceof Type.Block)) {
      session.error("type/assignment", s.span(), "a list in parentheses cannot initialize " + type.name());
      return Optional.empty();
    }
    Map<Variable, Init> values = new LinkedHashMap<>();
    Map<String, Name> seen = new LinkedHashMap<>();
    for (Initializer.Member m : s.members()) {
      Name first = seen.putIfAbsent(m.name().key(), m.name());
      if (first != null) {
        session.duplicate(m.name().span(), m.name().text(), first.span());
        continue;
      }
      Variable v = base instanceof Type.Structure st ? field(st, m.name()) : instanceVariable(((Type.Block) base).pou(), m.name(), scope);
      if (v != null) {
        of(m.value(), v.type(), scope).ifPresent(i -> values.put(v, i));
      }
    }
    return Optional.of(new Init.Members(values));
  }

  private Variable field(Type.Structure t, Name name) {
    Optional<Variable> f = t.field(name.text());
    if (f.isEmpty()) {
      session.unknownName(name.span(), name + " is no element of " + t.name(), name.text(),
          t.fields().stream().map(Variable::name).toList());
    }
    return f.orElse(null);
  }

  private Variable instanceVariable(Pou pou, Name name, Scope scope) {
    Variable v = session.pous.variable(session.info(pou), name.key());
    if (v == null) {
      session.unknownName(name.span(), name + " is no variable of " + pou.name(), name.text(),
          session.info(pou).names().values().stream().map(Variable::name).toList());
      return null;
    }
    boolean settable = switch (v.section()) {
      case INPUT, OUTPUT -> true;
      case LOCAL -> !v.isConstant() && new Access(session).canUse(v.access(), session.declaredIn.get(v), scope) ;
      case IN_OUT, TEMP, EXTERNAL, GLOBAL, FIELD, RESULT, HIDDEN -> false;
    };
    if (!settable) {
      session.error("init/member", name.span(), name + " of " + pou.name()
          + " cannot be initialized from outside; inputs and public variables can");
      return null;
    }
    return v;
  }

  // Values of constants

  /** The initial value of a constant variable or a part of one; empty when it is the default or not known. */
  Optional<Init> initOf(Place p) {
    if (p instanceof Place.Var v) {
      Variable var = v.variable().section() == Variable.Section.EXTERNAL ? v.variable().global().orElse(v.variable()) : v.variable();
      ensure(var);
      return var.initial().isPresent() ? var.initial() : defaultOf(var.type());
    }
    if (p instanceof Place.Member m) {
      Optional<Init> whole = initOf(m.base());
      if (whole.isPresent() && whole.get() instanceof Init.Members members && members.values().get(m.field()) != null) {
        return Optional.of(members.values().get(m.field()));
      }
      ensure(m.field());
      return m.field().initial().isPresent() ? m.field().initial() : defaultOf(m.field().type());
    }
    if (p instanceof Place.Element e && e.base().type().base() instanceof Type.Array t && !t.open()) {
      Optional<Init> whole = initOf(e.base());
      long index = 0;
      for (int i = 0; i < e.indices().size(); i++) {
        if (!(e.indices().get(i) instanceof Expr.Constant c)) {
          return Optional.empty();
        }
        Type.Bounds b = t.bounds().get(i);
        if (c.value() < b.low() || c.value() > b.high()) {
          return Optional.empty();
        }
        index = index * b.length() + (c.value() - b.low());
      }
      if (whole.isPresent() && whole.get() instanceof Init.Array runs) {
        for (Init.Run r : runs.runs()) {
          if (index < r.count()) {
            return r.value() == null ? defaultOf(t.element()) : Optional.of(r.value());
          }
          index -= r.count();
        }
      }
      return defaultOf(t.element());
    }
    return Optional.empty();
  }

  /** Default initial value of a type (S.init-defaults); empty for an aggregate whose parts all have their own defaults. */
  static Optional<Init> defaultOf(Type type) {
    Type t = type;
    while (t instanceof Type.Derived d) {
      if (d.initial().isPresent()) {
        return d.initial();
      }
      t = d.target();
    }
    if (t instanceof Type.Enumeration e) {
      return Optional.of(new Init.Scalar(e.initial()));
    }
    if (t instanceof Type.Subrange s) {
      return Optional.of(new Init.Scalar(s.low()));
    }
    if (t instanceof Type.Text) {
      return Optional.of(new Init.Text(new int[0]));
    }
    if (t instanceof Type.Elementary || t instanceof Type.Reference || t instanceof Type.Interface) {
      return Optional.of(new Init.Scalar(0));
    }
    return Optional.empty();
  }
}
