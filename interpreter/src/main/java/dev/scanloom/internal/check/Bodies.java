package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Body;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Statement;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/** Bodies: statements (Table 72); drawings and charts have classes of their own. */
final class Bodies {
  private final Session session;

  Bodies(Session session) {
    this.session = session;
  }

  /** Checks the body of a POU and those of its methods. */
  void check(PouInfo info) {
    session.pous.header(info);
    Pou pou = info.pou();
    if (info.parts().body().isPresent()) {
      Body body = info.parts().body().get();
      if (pou.isAbstract() && pou.kind() == Pou.Kind.METHOD) {
        pou.setCode(new Code.Abstract());
      } else if (!(body instanceof Body.Bound)) {
        pou.setCode(preset(info, code(body, Scope.of(session, info))));
      }
    } else if (pou.kind() == Pou.Kind.CLASS) {
      pou.setCode(new Code.Statements(List.of()));
    } else if (pou.kind() == Pou.Kind.METHOD && !pou.isAbstract()) {
      session.error("pou/no-body", pou.span(), pou.name() + " has no body and is not ABSTRACT");
    }
    for (PouInfo m : info.methods()) {
      check(m);
    }
  }

  /**
   * ENO of a function block keeps its value between calls, so each call begins with TRUE; that of a function has its initial value at each
   * call.
   */
  private Code preset(PouInfo info, Code code) {
    Variable eno = info.pou().kind() == Pou.Kind.FUNCTION_BLOCK ? info.names().get("ENO") : null;
    if (eno == null || eno.section() != Variable.Section.OUTPUT || !Kinds.isBool(eno.type()) || !(code instanceof Code.Statements s)) {
      return code;
    }
    List<Stmt> all = new ArrayList<>();
    Span at = eno.span();
    all.add(new Stmt.Assign(at, new Place.Var(at, eno), new Expr.Constant(at, Kinds.BOOL, 1)));
    all.addAll(s.statements());
    return new Code.Statements(all);
  }

  /** A body in any notation. */
  Code code(Body body, Scope scope) {
    if (body instanceof Body.Text t) {
      return new Code.Statements(statements(t.statements(), scope));
    }
    if (body instanceof Body.Drawing d) {
      return new Code.LadderCode(new Ladders(session, scope).read(d.span()));
    }
    if (body instanceof Body.Chart c) {
      if (scope.isFunctionOrMethod()) {
        session.error("sfc/in-function", c.span(), "a " + Types.word(scope.info().pou().kind()) + " keeps no state and cannot hold an SFC");
        return new Code.Statements(List.of());
      }
      return new Charts(session, scope).check(c);
    }
    session.error("library/bound-body", body.span(), "a bound body stands for the whole body of a library function");
    return new Code.Statements(List.of());
  }

  List<Stmt> statements(List<Statement> list, Scope scope) {
    return new Checking(scope).all(list);
  }

  private final class Checking implements Statement.Visitor<Stmt> {
    private final Scope scope;
    private final Expressions expressions;

    Checking(Scope scope) {
      this.scope = scope;
      this.expressions = new Expressions(session, scope);
    }

    List<Stmt> all(List<Statement> list) {
      List<Stmt> made = new ArrayList<>(list.size());
      boolean left = false;
      boolean warned = false;
      for (Statement s : list) {
        if (left && !warned && !(s instanceof Statement.Empty) && !(s instanceof Statement.Erroneous)) {
          session.warning("trap/unreachable", s.span(), "this statement is never reached");
          warned = true;
        }
        Stmt m = s.accept(this);
        if (m != null) {
          made.add(m);
        }
        left |= s instanceof Statement.Return || scope.loops() > 0 && (s instanceof Statement.Exit || s instanceof Statement.Continue);
      }
      return made;
    }

    @Override
    public Stmt assignment(Statement.Assignment s) {
      Expressions.Target t = expressions.resolve(s.target(), false, null);
      if (t instanceof Expressions.AtProperty p) {
        return setter(p, s);
      }
      Place place = placeOf(t, s.target().span());
      if (place == null) {
        expressions.check(s.value(), null);
        return null;
      }
      boolean writable = expressions.writable(place);
      if (place.type() instanceof Type.Array a && a.open()) {
        session.error("type/assignment", s.target().span(), "an array of variable length is assigned element by element");
        writable = false;
      }
      Expr value = expressions.coerce(s.value(), place.type(), Expressions.Purpose.ASSIGNMENT);
      if (!writable || Kinds.isUnknown(value.type())) {
        return null;
      }
      narrowing(place, value);
      return new Stmt.Assign(s.span(), place, value);
    }

    private Place placeOf(Expressions.Target t, Span at) {
      if (t instanceof Expressions.AtPlace p) {
        return Kinds.isUnknown(p.place().type()) ? null : p.place();
      }
      boolean reported = t instanceof Expressions.AtFail || t instanceof Expressions.AtValue v && Expressions.isUnknown(v.value());
      if (!reported) {
        session.error("name/not-a-variable", at, "only variables can be assigned");
      }
      return null;
    }

    private void narrowing(Place place, Expr value) {
      if (value instanceof Expr.TextConstant c && place.type().base() instanceof Type.Text t && c.units().length > t.capacity()) {
        session.warning("trap/narrowing", value.span(), "the string has " + c.units().length + " characters, the variable holds "
            + t.capacity());
      }
    }

    private Stmt setter(Expressions.AtProperty p, Statement.Assignment s) {
      Expr value = expressions.coerce(s.value(), p.property().type(), Expressions.Purpose.ASSIGNMENT);
      if (p.property().setter().isEmpty()) {
        session.error("property/read-only", s.target().span(), "property " + p.property().name() + " has no SET");
        return null;
      }
      Pou set = p.property().setter().get();
      if (!new Access(session).canUse(set.access(), set.owner().get(), scope)) {
        session.error("access/method", s.target().span(), "property " + p.property().name() + " is " + set.access());
        return null;
      }
      if (Kinds.isUnknown(value.type())) {
        return null;
      }
      session.usage.calls(scope, set, s.target().span());
      Variable input = set.variables().stream().filter(v -> v.section() == Variable.Section.INPUT).findFirst().orElseThrow();
      return new Stmt.CallStmt(s.span(), new Call(s.span(), new Call.Method(p.receiver(), set, p.dynamic()),
          List.of(new Call.Input(input, value)), Optional.empty(), Optional.empty()));
    }

    @Override
    public Stmt attempt(Statement.Attempt s) {
      Optional<Place> place = expressions.place(s.target());
      Expr source = expressions.typed(s.value(), null);
      if (place.isEmpty() || !expressions.writable(place.get()) || Kinds.isUnknown(source.type())) {
        return null;
      }
      Pou wanted = pouBehind(place.get().type());
      if (wanted == null) {
        session.error("type/attempt", s.target().span(), "?= needs an interface or a reference to a function block or class, not "
            + place.get().type().name());
        return null;
      }
      if (pouBehind(source.type()) == null) {
        session.error("type/attempt", s.value().span(), "?= needs an interface or a reference to a function block or class, not "
            + source.type().name());
        return null;
      }
      return new Stmt.Attempt(s.span(), place.get(), source, wanted);
    }

    private Pou pouBehind(Type t) {
      if (t.base() instanceof Type.Interface i) {
        return i.pou();
      }
      return t.base() instanceof Type.Reference r && r.target().base() instanceof Type.Block b ? b.pou() : null;
    }

    @Override
    public Stmt call(Statement.CallStatement s) {
      return new Calls(session, expressions).statement(s.call(), s.span());
    }

    private Expr condition(Expression e) {
      return expressions.coerce(expressions.check(e, Kinds.BOOL), Kinds.BOOL, Expressions.Purpose.CONDITION);
    }

    @Override
    public Stmt ifThen(Statement.If s) {
      List<Stmt.Branch> branches = new ArrayList<>();
      for (Statement.Branch b : s.branches()) {
        branches.add(new Stmt.Branch(condition(b.condition()), all(b.body())));
      }
      return new Stmt.If(s.span(), branches, s.otherwise().map(this::all).orElse(List.of()));
    }

    @Override
    public Stmt caseOf(Statement.Case s) {
      Expr selector = expressions.typed(s.selector(), null);
      Type t = selector.type();
      ElementaryType k = Kinds.slotKind(t);
      boolean ok = Kinds.isUnknown(t) || k != null && !k.isReal() || t.base() instanceof Type.Enumeration;
      if (!ok) {
        session.error("case/selector", s.selector().span(),
            "CASE selects by an integer, an enumeration or another type of exact values, not "
            + t.name());
      }
      Type labels = ok ? t.base() instanceof Type.Subrange r ? Kinds.of(r.kind()) : t : Kinds.UNKNOWN;
      List<Stmt.Group> groups = new ArrayList<>();
      List<Stmt.Range> seen = new ArrayList<>();
      for (Statement.CaseGroup g : s.groups()) {
        List<Stmt.Range> ranges = new ArrayList<>();
        for (Statement.CaseLabel l : g.labels()) {
          Stmt.Range r = label(l, labels, k);
          if (r != null) {
            overlap(r, seen, k);
            ranges.add(r);
          }
        }
        groups.add(new Stmt.Group(ranges, all(g.body())));
      }
      List<Stmt> otherwise = s.otherwise().map(this::all).orElse(List.of());
      return Kinds.isUnknown(labels) ? null : new Stmt.Case(s.span(), selector, groups, otherwise);
    }

    private Stmt.Range label(Statement.CaseLabel l, Type type, ElementaryType k) {
      Long low = labelValue(l.low(), type);
      Long high = l.high().isPresent() ? labelValue(l.high().get(), type) : low;
      if (low == null || high == null || k == null) {
        return null;
      }
      if (l.high().isPresent() && type.base() instanceof Type.Enumeration) {
        session.error("case/label", l.span(), "values of an enumeration have no order and no ranges");
        return null;
      }
      if (Kinds.compare(low, high, k) > 0) {
        session.error("case/range", l.span(), "the lower bound of the range is above the upper one");
        return null;
      }
      return new Stmt.Range(l.span(), low, high);
    }

    private Long labelValue(Expression e, Type type) {
      Val v = new Expressions(session, constantLabels()).check(e, type);
      if (Expressions.isUnknown(v) || Kinds.isUnknown(type)) {
        return null;
      }
      Expr x = expressions.coerce(v, type, Expressions.Purpose.LABEL);
      if (Kinds.isUnknown(x.type())) {
        return null;
      }
      return session.initials.constant(x).map(c -> c instanceof Expr.Constant n ? n.value() : null).orElse(null);
    }

    private Scope constants;

    private Scope constantLabels() {
      if (constants == null) {
        constants = scope.asConstant();
      }
      return constants;
    }

    private void overlap(Stmt.Range r, List<Stmt.Range> seen, ElementaryType k) {
      // Long label lists are compared with their neighbours only; the first match wins in any case (S.case-first-match).
      if (seen.size() < 1_000) {
        for (Stmt.Range o : seen) {
          if (Kinds.compare(r.low(), o.high(), k) <= 0 && Kinds.compare(o.low(), r.high(), k) <= 0) {
            session.report(Diagnostic.warning("case/overlap", r.span(), "an earlier label selects the same value; the first one wins")
                .withRelated(o.span(), "the earlier label"));
            break;
          }
        }
      }
      seen.add(r);
    }

    @Override
    public Stmt forLoop(Statement.For s) {
      Optional<Place> place = expressions.place(s.variable());
      Type t = place.map(Place::type).orElse(Kinds.UNKNOWN);
      ElementaryType k = Kinds.kind(t);
      boolean ok = place.isPresent() && expressions.writable(place.get());
      if (place.isPresent() && (k == null || !k.isInteger())) {
        session.error("for/type", s.variable().span(), "the control variable of a loop is an integer, not " + t.name());
        ok = false;
      }
      Type kind = k == null || !k.isInteger() ? Kinds.UNKNOWN : Kinds.of(k);
      Expr from = expressions.coerce(s.from(), kind, Expressions.Purpose.LOOP);
      Expr to = expressions.coerce(s.to(), kind, Expressions.Purpose.LOOP);
      Optional<Expr> by = s.by().map(e -> step(e, k, kind));
      Variable control = place.isPresent() && place.get() instanceof Place.Var v ? v.variable() : null;
      if (control != null) {
        scope.controls().add(control);
      }
      scope.enterLoop();
      List<Stmt> body = all(s.body());
      scope.leaveLoop();
      if (control != null) {
        scope.controls().remove(scope.controls().size() - 1);
      }
      boolean known = !Kinds.isUnknown(from.type()) && !Kinds.isUnknown(to.type()) && by.map(b -> !Kinds.isUnknown(b.type())).orElse(true);
      return ok && known ? new Stmt.For(s.span(), place.get(), from, to, by, body) : null;
    }

    private Expr step(Expression e, ElementaryType k, Type kind) {
      Val v = expressions.check(e, kind);
      if (v instanceof Val.Int i && i.value().signum() == 0) {
        session.error("for/zero-step", e.span(), "a loop with step 0 never ends");
      } else if (v instanceof Val.Int i && k != null && k.family() == Family.UNSIGNED && i.value().signum() < 0) {
        session.error("range/literal", e.span(), i.value() + " is outside the range of " + k);
        return Expressions.unknown(e.span());
      }
      Expr x = expressions.coerce(v, kind, Expressions.Purpose.LOOP);
      if (x instanceof Expr.Constant c && !Kinds.isUnknown(c.type()) && c.value() == 0 && !(v instanceof Val.Int)) {
        session.error("for/zero-step", e.span(), "a loop with step 0 never ends");
      }
      return x;
    }

    @Override
    public Stmt whileLoop(Statement.While s) {
      Expr c = condition(s.condition());
      scope.enterLoop();
      List<Stmt> body = all(s.body());
      scope.leaveLoop();
      if (c instanceof Expr.Constant k && k.value() == 1 && !Kinds.isUnknown(k.type()) && !leaves(s.body())) {
        session.warning("trap/endless-loop", s.condition().span(), "nothing ends this loop");
      }
      return new Stmt.While(s.span(), c, body);
    }

    @Override
    public Stmt repeat(Statement.Repeat s) {
      scope.enterLoop();
      List<Stmt> body = all(s.body());
      scope.leaveLoop();
      Expr c = condition(s.until());
      if (c instanceof Expr.Constant k && k.value() == 0 && !Kinds.isUnknown(k.type()) && !leaves(s.body())) {
        session.warning("trap/endless-loop", s.until().span(), "nothing ends this loop");
      }
      return new Stmt.Repeat(s.span(), body, c);
    }

    /** Some statement of a loop's body may leave the loop. */
    private boolean leaves(List<Statement> body) {
      for (Statement s : body) {
        if (s instanceof Statement.Exit || s instanceof Statement.Return) {
          return true;
        }
        if (s instanceof Statement.If i
            && (i.branches().stream().anyMatch(b -> leaves(b.body())) || i.otherwise().map(this::leaves).orElse(false))) {
          return true;
        }
        if (s instanceof Statement.Case c
            && (c.groups().stream().anyMatch(g -> leaves(g.body())) || c.otherwise().map(this::leaves).orElse(false))) {
          return true;
        }
        boolean inner = s instanceof Statement.For f && returns(f.body()) || s instanceof Statement.While w && returns(w.body())
            || s instanceof Statement.Repeat r && returns(r.body());
        if (inner) {
          return true;
        }
      }
      return false;
    }

    /** An inner loop leaves the outer one with RETURN only; EXIT in it may be taken for one, which merely keeps a warning back. */
    private boolean returns(List<Statement> body) {
      return leaves(body);
    }

    @Override
    public Stmt exit(Statement.Exit s) {
      if (scope.loops() == 0) {
        session.error("loop/outside", s.span(), "EXIT stands outside of a loop");
        return null;
      }
      return new Stmt.Exit(s.span());
    }

    @Override
    public Stmt continueLoop(Statement.Continue s) {
      if (scope.loops() == 0) {
        session.error("loop/outside", s.span(), "CONTINUE stands outside of a loop");
        return null;
      }
      return new Stmt.Next(s.span());
    }

    @Override
    public Stmt returnFrom(Statement.Return s) {
      return new Stmt.Return(s.span());
    }

    @Override
    public Stmt empty(Statement.Empty s) {
      return null;
    }

    @Override
    public Stmt error(Statement.Erroneous s) {
      return null;
    }
  }
}
