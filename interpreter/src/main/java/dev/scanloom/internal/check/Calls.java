package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/** Calls of functions, methods and FB instances (Tables 18, 20, 42, 50). */
final class Calls {
  private final Session session;
  private final Expressions expressions;
  private final Scope scope;

  Calls(Session session, Expressions expressions) {
    this.session = session;
    this.expressions = expressions;
    this.scope = expressions.scope();
  }

  /** One argument and the parameter that it belongs to. */
  record Match(Variable parameter, Expression.Argument argument) {}

  /** What the arguments of a call say; {@code ok} is false when something was reported. */
  record Matched(List<Match> matches, Optional<Expression.Argument> en, Optional<Expression.Argument> eno, boolean ok) {}

  /** The value of a call in an expression. */
  Val value(Expression.Call e, Type hint) {
    if (isReference(e)) {
      return new Val.Typed(reference(e));
    }
    Expressions.Target t = expressions.resolve(e.target(), true, null);
    if (t instanceof Expressions.AtPou p && p.pou().kind() == Pou.Kind.FUNCTION) {
      return function(p.pou(), e, e.target().span(), hint);
    }
    if (t instanceof Expressions.AtMethod m) {
      return new Val.Typed(method(m, e));
    }
    if (t instanceof Expressions.AtPlace p && p.place().type().base() instanceof Type.Block) {
      session.report(Diagnostic.error("call/no-result", e.span(), "the call of an instance is a statement and has no value")
          .withHint("call it in a statement of its own and read its outputs behind it: " + Kinds.quote(e.target().span().text())
              + ((Type.Block) p.place().type().base()).pou().variables().stream().filter(v -> v.section() == Variable.Section.OUTPUT).findFirst()
                  .map(v -> "." + v.name()).orElse(".name")));
      return fail(e.span());
    }
    notCallable(t, e);
    arguments(e);
    return fail(e.span());
  }

  /** A call that stands as a statement; null when something was reported. */
  Stmt statement(Expression.Call e, Span span) {
    if (isReference(e)) {
      reference(e);
      session.error("call/statement", e.span(), "REF has a value and is no statement");
      return null;
    }
    boolean isSuper = e.target() instanceof Expression.Self s && s.isSuper();
    Expressions.Target t = expressions.resolve(e.target(), true, null);
    if (t instanceof Expressions.AtPou p && p.pou().kind() == Pou.Kind.FUNCTION) {
      Val v = function(p.pou(), e, e.target().span(), null);
      return Expressions.isUnknown(v) ? null : asStatement(expressions.typed(v, null), span);
    }
    if (t instanceof Expressions.AtMethod m) {
      return asStatement(method(m, e), span);
    }
    if (t instanceof Expressions.AtPlace p && p.place().type().base() instanceof Type.Block b) {
      return instance(p.place(), b.pou(), e, span, isSuper);
    }
    notCallable(t, e);
    arguments(e);
    return null;
  }

  private static Stmt asStatement(Expr e, Span span) {
    if (Kinds.isUnknown(e.type())) {
      return null;
    }
    return e instanceof Expr.Invoke i ? new Stmt.CallStmt(span, i.call()) : new Stmt.Evaluate(span, e);
  }

  private static Val fail(Span span) {
    return new Val.Typed(Expressions.unknown(span));
  }

  private void notCallable(Expressions.Target t, Expression.Call e) {
    Span at = e.target().span();
    if (t instanceof Expressions.AtFail) {
      return;
    }
    if (t instanceof Expressions.AtPou p) {
      if (p.pou().kind() == Pou.Kind.PROGRAM) {
        session.error("call/program", at, "a program is run by its resource and cannot be called");
      } else {
        session.report(Diagnostic.error("call/type", at, p.pou().name() + " is a type; only its instances can be called")
            .withHint("declare an instance: VAR x : " + p.pou().name() + "; END_VAR"));
      }
      return;
    }
    if (t instanceof Expressions.AtPlace p) {
      if (Kinds.isUnknown(p.place().type())) {
        return;
      }
      if (p.place().type().base() instanceof Type.Reference) {
        session.report(Diagnostic.error("call/not-callable", at, "a reference is not called itself").withHint("write "
            + Kinds.quote(at.text()) + "^(...)"));
        return;
      }
    }
    if (t instanceof Expressions.AtValue v && Expressions.isUnknown(v.value())) {
      return;
    }
    Diagnostic d = Diagnostic.error("call/not-callable", at, Kinds.quote(at.text())
        + " cannot be called; functions, instances of function blocks and methods can");
    if (t instanceof Expressions.AtPlace p) {
      Symbols.Found hidden = expressions.global(at.text());
      if (hidden.symbol() != null) {
        d = d.withHint("the variable of this name hides what is declared outside; rename one of them");
      } else if (p.place().type().base() instanceof Type.Array) {
        d = d.withHint("elements of an array are written with brackets: " + Kinds.quote(at.text()) + "[...]");
      }
    }
    session.report(d);
  }

  /** Checks arguments whose callee is not known, for the errors in them. */
  private void arguments(Expression.Call e) {
    for (Expression.Argument a : e.arguments()) {
      a.value().ifPresent(v -> expressions.check(v, null));
    }
  }

  // REF

  private boolean isReference(Expression.Call e) {
    return e.target() instanceof Expression.Ident i && i.name().key().equals("REF") && scope.find("REF") == null;
  }

  private Expr reference(Expression.Call e) {
    if (e.arguments().size() != 1 || e.arguments().get(0).kind() != Expression.ArgumentKind.NAMELESS
        || e.arguments().get(0).value().isEmpty()) {
      session.error("call/argument-count", e.span(), "REF takes one variable");
      arguments(e);
      return Expressions.unknown(e.span());
    }
    Expression operand = e.arguments().get(0).value().get();
    Optional<Place> p = expressions.place(operand);
    if (p.isEmpty()) {
      return Expressions.unknown(e.span());
    }
    String why = notReferable(p.get());
    if (why != null) {
      session.error("type/reference", operand.span(), why);
      return Expressions.unknown(e.span());
    }
    return new Expr.AddressOf(e.span(), new Type.Reference(p.get().type()), p.get());
  }

  private String notReferable(Place p) {
    if (p instanceof Place.Bits) {
      return "there is no reference to a part of a bit string";
    }
    if (p instanceof Place.Character) {
      return "there is no reference to a character of a string";
    }
    Variable root = Expressions.root(p);
    if (root == null) {
      return p instanceof Place.Direct ? "there is no reference to an address; declare a variable AT it" : null;
    }
    if (root.isConstant()) {
      return root.name() + " is constant; a reference could write it";
    }
    boolean frame = root.section() == Variable.Section.TEMP || root.section() == Variable.Section.RESULT
        || isOfFrame(root) && root.section() != Variable.Section.IN_OUT && root.section() != Variable.Section.EXTERNAL;
    if (frame) {
      return root.name() + " lives for one call only; a reference to it could outlive it";
    }
    return null;
  }

  /** Declared in a function or method, so that it lives for one call. */
  private boolean isOfFrame(Variable v) {
    Pou p = session.declaredIn.get(v);
    return p != null && (p.kind() == Pou.Kind.FUNCTION || p.kind() == Pou.Kind.METHOD);
  }

  // Arguments

  /** Parameters of a POU, inherited ones first. */
  List<Variable> parameters(Pou pou) {
    List<Variable> all = new ArrayList<>();
    session.pous.header(session.info(pou));
    pou.base().ifPresent(b -> all.addAll(parameters(b)));
    for (Variable v : pou.variables()) {
      if (v.section() == Variable.Section.INPUT || v.section() == Variable.Section.OUTPUT || v.section() == Variable.Section.IN_OUT) {
        all.add(v);
      }
    }
    return all;
  }

  List<Variable> inputsOf(Pou pou) {
    return pou.variables().stream().filter(v -> v.section() == Variable.Section.INPUT).toList();
  }

  /** Brings arguments and parameters together. {@code complete}: an argument list without names must name them all. */
  Matched match(Expression.Call e, List<Variable> parameters, String callee, boolean complete) {
    boolean ok = true;
    List<Match> matches = new ArrayList<>();
    Optional<Expression.Argument> en = Optional.empty();
    Optional<Expression.Argument> eno = Optional.empty();
    long nameless = e.arguments().stream().filter(a -> a.kind() == Expression.ArgumentKind.NAMELESS).count();
    if (nameless > 0 && nameless < e.arguments().size()) {
      Expression.Argument first = e.arguments().stream()
          .filter(a -> (a.kind() == Expression.ArgumentKind.NAMELESS) != (e.arguments().get(0).kind() == Expression.ArgumentKind.NAMELESS))
          .findFirst().orElseThrow();
      session.error("call/mixed", first.span(), "arguments are given either all with names or all without");
      arguments(e);
      return new Matched(List.of(), en, eno, false);
    }
    if (nameless > 0) {
      return nameless(e, parameters, callee, complete);
    }
    Map<String, Expression.Argument> seen = new LinkedHashMap<>();
    for (Expression.Argument a : e.arguments()) {
      Name name = a.name().orElse(null);
      if (name == null) {
        ok = false;
        continue;
      }
      Expression.Argument first = seen.putIfAbsent(name.key(), a);
      if (first != null) {
        session.report(Diagnostic.error("call/argument-twice", name.span(), name + " is given twice").withRelated(first.span(),
            "first given here"));
        ok = false;
        continue;
      }
      boolean output = a.kind() == Expression.ArgumentKind.OUTPUT;
      if (name.key().equals("EN") && !output) {
        en = Optional.of(a);
        continue;
      }
      if (name.key().equals("ENO") && output) {
        eno = Optional.of(a);
        continue;
      }
      Variable p = parameters.stream().filter(v -> v.name().equalsIgnoreCase(name.text())).findFirst().orElse(null);
      if (p == null) {
        session.unknownName(name.span(), callee + " has no parameter " + name, name.text(),
            parameters.stream().map(Variable::name).toList());
        a.value().ifPresent(v -> expressions.check(v, null));
        ok = false;
      } else if (output != (p.section() == Variable.Section.OUTPUT)) {
        session.error("call/direction", a.span(), p.name() + " is an " + Expressions.sectionWord(p) + "; it is connected with "
            + (p.section() == Variable.Section.OUTPUT ? "=>" : ":="));
        ok = false;
      } else {
        matches.add(new Match(p, a));
      }
    }
    return new Matched(matches, en, eno, ok);
  }

  private Matched nameless(Expression.Call e, List<Variable> parameters, String callee, boolean complete) {
    List<Variable> positional = parameters.stream().filter(v -> !v.name().equalsIgnoreCase("EN") && !v.name().equalsIgnoreCase("ENO"))
        .toList();
    List<Variable> wanted = positional;
    List<Variable> in = positional.stream().filter(v -> v.section() != Variable.Section.OUTPUT).toList();
    int given = e.arguments().size();
    if (given <= in.size() || !complete && given < positional.size()) {
      wanted = in;
    }
    boolean wrong = complete ? given != in.size() && given != positional.size() : given > positional.size();
    if (wrong) {
      session.error("call/argument-count", e.span(), callee + " takes " + in.size() + (in.size() == 1 ? " argument, " : " arguments, ")
          + given
          + (given == 1 ? " is given" : " are given"));
      arguments(e);
      return new Matched(List.of(), Optional.empty(), Optional.empty(), false);
    }
    List<Match> matches = new ArrayList<>();
    for (int i = 0; i < given && i < wanted.size(); i++) {
      matches.add(new Match(wanted.get(i), e.arguments().get(i)));
    }
    return new Matched(matches, Optional.empty(), Optional.empty(), true);
  }

  /** Checks matched arguments and turns them into those of the model; null stands for one that was reported. */
  List<Call.Argument> convert(List<Match> matches) {
    List<Call.Argument> all = new ArrayList<>();
    for (Match m : matches) {
      all.add(convert(m));
    }
    return all;
  }

  private Call.Argument convert(Match m) {
    Expression.Argument a = m.argument();
    Variable p = m.parameter();
    if (a.value().isEmpty()) {
      if (p.section() != Variable.Section.OUTPUT) {
        session.error("call/missing-value", a.span(), "a value is missing for " + p.name());
      }
      return null;
    }
    Expression value = a.value().get();
    switch (p.section()) {
      case INPUT:
        return input(p, value);
      case IN_OUT:
        return inOut(p, value);
      case OUTPUT:
        return p.type() instanceof Type.Array open && open.open() ? inOut(p, value) : output(p, value, a.negated());
      default:
        throw new IllegalStateException(p.section().name());
    }
  }

  private Call.Argument input(Variable p, Expression value) {
    if (p.type() instanceof Type.Array open && open.open()) {
      Optional<Place> place = expressions.place(value);
      if (place.isEmpty() || !acceptsOpen(open, place.get().type(), value.span())) {
        return null;
      }
      return new Call.Input(p, new Expr.Read(value.span(), place.get()));
    }
    if (p.type().base() instanceof Type.Block want) {
      Optional<Place> place = expressions.place(value);
      if (place.isEmpty()) {
        return null;
      }
      if (!(place.get().type().base() instanceof Type.Block have) || !have.pou().isA(want.pou())) {
        session.error("type/argument", value.span(), place.get().type().name() + " is no " + p.type().name());
        return null;
      }
      return new Call.Input(p, new Expr.AddressOf(value.span(), p.type(), place.get()));
    }
    Expr e = expressions.coerce(value, p.type(), Expressions.Purpose.ARGUMENT);
    return Kinds.isUnknown(e.type()) ? null : new Call.Input(p, e);
  }

  private boolean acceptsOpen(Type.Array open, Type given, Span at) {
    if (given.base() instanceof Type.Array a && a.bounds().size() == open.bounds().size() && Kinds.same(a.element(), open.element())) {
      return true;
    }
    session.error("type/argument", at, given.name() + " cannot be given to a parameter of type " + open.name());
    return false;
  }

  private Call.Argument inOut(Variable p, Expression value) {
    Expressions.Target t = expressions.resolve(value, false, p.type());
    if (!(t instanceof Expressions.AtPlace at)) {
      boolean reported = t instanceof Expressions.AtFail || t instanceof Expressions.AtValue v && Expressions.isUnknown(v.value());
      if (!reported) {
        session.error("call/in-out", value.span(), "the in-out " + p.name() + " needs a variable");
      }
      return null;
    }
    Place place = at.place();
    if (Kinds.isUnknown(place.type()) || Kinds.isUnknown(p.type())) {
      return null;
    }
    if (place instanceof Place.Bits || place instanceof Place.Character) {
      session.error("call/in-out", value.span(), "a part of a " + (place instanceof Place.Bits ? "bit string" : "string")
          + " cannot be passed as in-out; pass the whole variable");
      return null;
    }
    boolean instance = p.type().base() instanceof Type.Block;
    boolean pass = instance && (place instanceof Place.This || passable(place));
    if (!pass && !expressions.writable(place)) {
      return null;
    }
    if (p.type() instanceof Type.Array open && open.open()) {
      return acceptsOpen(open, place.type(), value.span()) ? new Call.InOut(p, place) : null;
    }
    boolean fits = instance ? place.type().base() instanceof Type.Block b && fitsInstance(b.pou(), ((Type.Block) p.type().base()).pou())
        : Kinds.same(place.type(), p.type());
    if (!fits) {
      session.error("type/argument", value.span(), "the in-out " + p.name() + " needs exactly " + p.type().name() + ", not "
          + place.type().name());
      return null;
    }
    return new Call.InOut(p, place);
  }

  /** An instance may be passed on unless it came in as an input, which can be read only. */
  private boolean passable(Place p) {
    Variable root = Expressions.root(p);
    return root == null || root.section() != Variable.Section.INPUT && !root.isConstant();
  }

  /** A derived instance stands for its base unless it asks for in-outs that nobody could connect (T53.12b). */
  private boolean fitsInstance(Pou have, Pou want) {
    if (!have.isA(want)) {
      return false;
    }
    for (Pou p = have; p != want; p = p.base().orElse(want)) {
      if (p.variables().stream().anyMatch(v -> v.section() == Variable.Section.IN_OUT)) {
        return false;
      }
    }
    return true;
  }

  private Call.Output output(Variable p, Expression value, boolean negated) {
    Optional<Place> place = expressions.place(value);
    if (place.isEmpty() || !expressions.writable(place.get())) {
      return null;
    }
    return output(p, place.get(), negated);
  }

  /** An output copied to a place, after checking that it may be. */
  Call.Output output(Variable p, Place place, boolean negated) {
    if (Kinds.isUnknown(p.type())) {
      return null;
    }
    if (negated && !Kinds.isBool(p.type())) {
      session.error("type/operand", place.span(), "NOT needs a BOOL output, " + p.name() + " is " + p.type().name());
      return null;
    }
    if (!fits(p.type(), place.type())) {
      session.error("type/assignment", place.span(), "output " + p.name() + " of type " + p.type().name() + " cannot be assigned to "
          + place.type().name());
      return null;
    }
    return new Call.Output(p, negated, place);
  }

  /** A value of the first type can be assigned to a variable of the second one. */
  boolean fits(Type from, Type to) {
    Variable probe = new Variable("value", Variable.Section.HIDDEN, from, null);
    return expressions.convert(new Expr.Read(null, new Place.Var(null, probe)), to) != null;
  }

  private static final Variable ENO = new Variable("ENO", Variable.Section.OUTPUT, Kinds.BOOL, null);

  Optional<Expr> en(Matched m) {
    return m.en().flatMap(Expression.Argument::value).map(v -> expressions.coerce(v, Kinds.BOOL, Expressions.Purpose.ARGUMENT));
  }

  Optional<Call.Output> eno(Matched m, List<Variable> parameters) {
    if (m.eno().isEmpty() || m.eno().get().value().isEmpty()) {
      return Optional.empty();
    }
    return Optional.ofNullable(output(enoParameter(parameters), m.eno().get().value().get(), m.eno().get().negated()));
  }

  static Variable enoParameter(List<Variable> parameters) {
    return parameters.stream().filter(v -> v.section() == Variable.Section.OUTPUT && v.name().equalsIgnoreCase("ENO")).findFirst()
        .orElse(ENO);
  }

  // Functions and methods

  private Val function(Pou pou, Expression.Call e, Span at, Type hint) {
    PouInfo info = session.info(pou);
    session.pous.header(info);
    if (pou.isLibrary()) {
      deprecated(pou, at);
    }
    Generics generics = new Generics(session, expressions, this);
    if (generics.applies(info)) {
      return generics.call(info, e, at, hint);
    }
    if (scope.isConstant()) {
      session.error("const/value", e.span(), "a constant expression has no calls of " + pou.name());
      return fail(e.span());
    }
    session.usage.calls(scope, pou, at);
    List<Variable> parameters = parameters(pou);
    Matched m = match(e, parameters, pou.name(), true);
    Optional<Call> call = complete(e.span(), new Call.Function(pou), m, parameters, pou.name());
    if (call.isEmpty()) {
      return fail(e.span());
    }
    return new Val.Typed(new Expr.Invoke(e.span(), pou.result(), call.get()));
  }

  void deprecated(Pou pou, Span at) {
    if (!session.choices.deprecations()) {
      return;
    }
    String key = Kinds.key(pou.name());
    if (key.equals("TRUNC")) {
      session.warning("deprecated/trunc", at, "edition 4 of the standard keeps only the typed form, such as REAL_TRUNC_INT");
    } else if (key.contains("BCD")) {
      session.warning("deprecated/bcd", at, "edition 4 of the standard deprecates BCD conversions");
    }
  }

  private Expr method(Expressions.AtMethod t, Expression.Call e) {
    Pou m = t.method();
    session.pous.header(session.info(m));
    if (scope.isConstant()) {
      session.error("const/value", e.span(), "a constant expression has no calls of methods");
      return Expressions.unknown(e.span());
    }
    Variable root = Expressions.root(t.receiver());
    if (root != null && root.section() == Variable.Section.INPUT && root.type().base() instanceof Type.Block) {
      session.error("fb/write-input-instance", e.target().span(), root.name()
          + " is an input; its instance can be read but neither called nor written");
      return Expressions.unknown(e.span());
    }
    if (m.isAbstract() && !t.dynamic() && t.receiver() instanceof Place.This) {
      session.error("oop/abstract-call", e.target().span(), "method " + m.name() + " is ABSTRACT and has no body to call");
      return Expressions.unknown(e.span());
    }
    session.usage.calls(scope, m, e.target().span());
    List<Variable> parameters = parameters(m);
    Matched matched = match(e, parameters, m.name(), true);
    Optional<Call> call = complete(e.span(), new Call.Method(t.receiver(), m, t.dynamic()), matched, parameters, m.name());
    return call.isEmpty() ? Expressions.unknown(e.span()) : new Expr.Invoke(e.span(), m.result(), call.get());
  }

  /** A call of a function or method with all its inputs; empty when something was reported. */
  private Optional<Call> complete(Span span, Call.Target target, Matched m, List<Variable> parameters, String callee) {
    List<Call.Argument> arguments = convert(m.matches());
    Optional<Expr> en = en(m);
    Optional<Call.Output> eno = eno(m, parameters);
    boolean ok = m.ok() && missingInOuts(m, parameters, span, callee);
    for (int i = 0; i < arguments.size(); i++) {
      boolean dropped = m.matches().get(i).argument().value().isEmpty() && m.matches().get(i).parameter()
          .section() == Variable.Section.OUTPUT;
      ok &= arguments.get(i) != null || dropped;
    }
    if (!ok) {
      return Optional.empty();
    }
    arguments.removeIf(java.util.Objects::isNull);
    defaults(arguments, parameters, span);
    return Optional.of(new Call(span, target, arguments, en, eno));
  }

  /** Appends the default of every input that is not among the arguments; aggregates take theirs when the frame is initialized. */
  void defaults(List<Call.Argument> arguments, List<Variable> parameters, Span span) {
    for (Variable p : parameters) {
      if (p.section() != Variable.Section.INPUT || arguments.stream().anyMatch(a -> a.parameter() == p)) {
        continue;
      }
      if (p.name().equalsIgnoreCase("EN")) {
        arguments.add(new Call.Input(p, new Expr.Constant(span, Kinds.BOOL, 1)));
        continue;
      }
      session.initials.ensure(p);
      Optional<Init> init = p.initial().isPresent() ? p.initial() : Initials.defaultOf(p.type());
      if (init.isPresent() && init.get() instanceof Init.Scalar s) {
        arguments.add(new Call.Input(p, new Expr.Constant(span, p.type(), s.value())));
      } else if (init.isPresent() && init.get() instanceof Init.Text t && p.type().base() instanceof Type.Text text) {
        arguments.add(new Call.Input(p, new Expr.TextConstant(span, new Type.Text(text.kind(), Math.max(1, t.units().length)), t.units())));
      } else if (init.isPresent() && init.get() instanceof Init.Address a) {
        arguments.add(new Call.Input(p, new Expr.AddressOf(span, p.type(), a.place())));
      } else if (p.type().base() instanceof Type.Block || p.type() instanceof Type.Array a && a.open()) {
        session.error("call/missing-argument", span, "input " + p.name() + " has no default and must be given");
      }
    }
  }

  boolean missingInOuts(Matched m, List<Variable> parameters, Span span, String callee) {
    boolean ok = true;
    for (Variable p : parameters) {
      boolean address = p.section() == Variable.Section.IN_OUT
          || p.section() == Variable.Section.OUTPUT && p.type() instanceof Type.Array open && open.open();
      if (address && m.ok() && m.matches().stream().noneMatch(x -> x.parameter() == p)) {
        session.error("call/missing-in-out", span, Expressions.sectionWord(p) + " " + p.name() + " of " + callee + " is not connected");
        ok = false;
      }
    }
    return ok;
  }

  // Instances

  private Stmt instance(Place place, Pou pou, Expression.Call e, Span span, boolean isSuper) {
    if (pou.kind() == Pou.Kind.CLASS) {
      session.error("call/class", e.target().span(), "an instance of a class cannot be called; only its methods can");
      arguments(e);
      return null;
    }
    if (!isSuper && place instanceof Place.This) {
      session.error("call/self", e.target().span(), "a function block cannot call its own instance");
      return null;
    }
    if (isSuper && !superAllowed(e)) {
      return null;
    }
    Variable root = Expressions.root(place);
    if (root != null && root.section() == Variable.Section.INPUT && root.type().base() instanceof Type.Block) {
      session.error("fb/write-input-instance", e.target().span(), root.name()
          + " is an input; its instance can be read but neither called nor written");
      arguments(e);
      return null;
    }
    if (root != null && root.isConstant()) {
      session.error("const/write", e.target().span(), root.name() + " is constant; a call would change it");
      return null;
    }
    if (root != null && root.section() == Variable.Section.HIDDEN) {
      session.error("call/not-callable", e.target().span(), "an action is run by its steps and cannot be called");
      return null;
    }
    if (scope.isCondition()) {
      session.error("sfc/side-effect", e.target().span(), "the condition of a transition cannot call instances");
      return null;
    }
    session.usage.calls(scope, pou, e.target().span());
    List<Variable> parameters = parameters(pou);
    Matched m = match(e, parameters, pou.name(), false);
    List<Call.Argument> arguments = convert(m.matches());
    Optional<Expr> en = en(m);
    Optional<Call.Output> eno = eno(m, parameters);
    boolean ok = m.ok() && (isSuper || missingInstances(m, parameters, e.span(), pou.name()));
    if (!ok) {
      return null;
    }
    arguments.removeIf(java.util.Objects::isNull);
    boolean dynamic = !isSuper && expressions.isDynamic(place, pou);
    return new Stmt.CallStmt(span, new Call(e.span(), new Call.Instance(place, pou, dynamic), arguments, en, eno));
  }

  /** In-outs, and inputs that are instances, must be given at every call. */
  boolean missingInstances(Matched m, List<Variable> parameters, Span span, String callee) {
    boolean ok = missingInOuts(m, parameters, span, callee);
    for (Variable p : parameters) {
      if (p.section() == Variable.Section.INPUT && p.type().base() instanceof Type.Block
          && m.matches().stream().noneMatch(x -> x.parameter() == p)) {
        session.error("call/missing-argument", span, "input " + p.name() + " of " + callee + " is an instance and must be given");
        ok = false;
      }
    }
    return ok;
  }

  private boolean superAllowed(Expression.Call e) {
    if (scope.info() == null || scope.info().pou().kind() != Pou.Kind.FUNCTION_BLOCK) {
      session.error("oop/super-call", e.span(), "SUPER() belongs to the body of a derived function block");
      return false;
    }
    if (scope.loops() > 0) {
      session.error("oop/super-call", e.span(), "SUPER() cannot stand in a loop");
      return false;
    }
    if (scope.hasCalledSuper()) {
      session.error("oop/super-call", e.span(), "SUPER() stands once in a body");
      return false;
    }
    scope.setCalledSuper();
    return true;
  }
}
