package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Body;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.model.ElementaryType;
import java.math.BigInteger;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.Deque;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/** Sequential function charts in text (Tables 54 to 61; rows S.sfc-*). */
final class Charts {
  /** Situations looked at while a net is examined; a larger net is left unjudged. */
  private static final int MAX_SITUATIONS = 10_000;

  private final Session session;
  private final Scope scope;
  private final Map<String, Integer> steps = new LinkedHashMap<>();
  private final Map<String, Integer> actions = new LinkedHashMap<>();
  private final Map<String, Body.Transition> conditions = new LinkedHashMap<>();
  private final Map<String, Span> names = new LinkedHashMap<>();
  private final List<Chart.SfcAction> allActions = new ArrayList<>();
  private int transitionNumber;

  Charts(Session session, Scope outer) {
    this.session = session;
    this.scope = new Scope(session, outer.site(), outer.info());
    this.scope.extra().putAll(outer.extra());
  }

  Code check(Body.Chart chart) {
    Pou control = control(chart.span());
    if (control == null) {
      return new Code.Statements(List.of());
    }
    Type.Structure stepType = stepType(chart.span());
    List<Body.Step> written = new ArrayList<>();
    List<Variable> states = new ArrayList<>();
    List<Body.Action> bodies = new ArrayList<>();
    for (Body.SfcElement e : chart.elements()) {
      if (e instanceof Body.Step s && enter(s.name())) {
        steps.put(s.name().key(), written.size());
        written.add(s);
        Variable v = session.pous.hidden(scope.info(), s.name().text(), stepType, s.name().span());
        if (s.initial()) {
          v.setInitial(new Init.Members(Map.of(stepType.fields().get(0), new Init.Scalar(1))));
        }
        states.add(v);
        scope.extra().put(s.name().key(), v);
      } else if (e instanceof Body.Action a && enter(a.name())) {
        actions.put(a.name().key(), bodies.size());
        bodies.add(a);
        Variable v = session.pous.hidden(scope.info(), a.name().text(), new Type.Block(control), a.name().span());
        scope.extra().put(a.name().key(), v);
        allActions.add(new Chart.SfcAction(a.span(), a.name().text(), Optional.empty(), Optional.empty(), v));
      } else if (e instanceof Body.Transition t && t.name().isPresent() && enter(t.name().get()) && t.from().isEmpty() && t.to()
          .isEmpty()) {
        conditions.put(t.name().get().key(), t);
      }
    }
    List<Chart.SfcStep> checked = new ArrayList<>();
    for (int i = 0; i < written.size(); i++) {
      checked.add(step(written.get(i), states.get(i), control));
    }
    List<Chart.SfcTransition> transitions = new ArrayList<>();
    for (Body.SfcElement e : chart.elements()) {
      if (e instanceof Body.Transition t) {
        boolean named = t.from().isEmpty() && t.to().isEmpty();
        if (named) {
          condition(t);
        } else {
          transition(t).ifPresent(transitions::add);
        }
      }
    }
    for (int i = 0; i < bodies.size(); i++) {
      Chart.SfcAction a = allActions.get(i);
      allActions.set(i, new Chart.SfcAction(a.span(), a.name(), Optional.of(session.bodies.code(bodies.get(i).body(), inner())),
          Optional.empty(), a.state()));
    }
    structure(written, transitions, chart);
    return new Code.ChartCode(new Chart(checked, transitions, allActions));
  }

  private Scope inner() {
    Scope s = new Scope(session, scope.site(), scope.info());
    s.extra().putAll(scope.extra());
    return s;
  }

  private Pou control(Span at) {
    Symbol s = session.symbols.libraryElement("ACTION_CONTROL");
    if (!(s instanceof Symbol.PouSymbol p) || p.pou().kind() != Pou.Kind.FUNCTION_BLOCK) {
      session.error("library/missing", new Span(at.source(), at.start(), at.start()),
          "no library declares the block ACTION_CONTROL, which charts need");
      return null;
    }
    session.pous.header(p.info());
    session.usage.use(p.pou());
    return p.pou();
  }

  private Type.Structure stepType(Span at) {
    Type.Structure t = new Type.Structure("SFC_STEP", false);
    List<Variable> fields = List.of(
        new Variable("X", Variable.Section.FIELD, Kinds.BOOL, at),
        new Variable("T", Variable.Section.FIELD, Kinds.TIME, at),
        new Variable("$start", Variable.Section.FIELD, Kinds.of(ElementaryType.LTIME), at));
    fields.forEach(f -> f.setAccess(Variable.Access.PUBLIC));
    t.setFields(fields);
    return t;
  }

  private boolean enter(Name name) {
    Span first = names.putIfAbsent(name.key(), name.span());
    if (first == null) {
      Variable v = scope.find(name.key());
      first = v == null || v.section() == Variable.Section.HIDDEN ? null : v.span();
    }
    if (first != null) {
      session.duplicate(name.span(), name.text(), first);
      return false;
    }
    return true;
  }

  // Steps and their associations

  private Chart.SfcStep step(Body.Step s, Variable state, Pou control) {
    List<Chart.Association> all = new ArrayList<>();
    for (Body.Association a : s.actions()) {
      association(a, control).ifPresent(now -> {
        if (now.duration().isPresent() && all.stream().anyMatch(b -> b.action() == now.action() && b.duration().isPresent())) {
          session.error("sfc/durations", a.span(), "the action " + a.action() + " has a duration in this step already; its control has one time input");
        }
        all.add(now);
      });
    }
    return new Chart.SfcStep(s.span(), s.name().text(), s.initial(), state, all);
  }

  private Optional<Chart.Association> association(Body.Association a, Pou control) {
    Chart.Qualifier q = Chart.Qualifier.N;
    boolean ok = true;
    if (a.qualifier().isPresent()) {
      Optional<Chart.Qualifier> known = qualifier(a.qualifier().get().key());
      if (known.isEmpty()) {
        session.error("sfc/qualifier", a.qualifier().get().span(), a.qualifier().get()
            + " is no action qualifier; qualifiers: N R S L D P P0 P1 SD DS SL");
        ok = false;
      } else {
        q = known.get();
      }
    }
    boolean timed = switch (q) {
      case L, D, SD, DS, SL -> true;
      case N, R, S, P, P0, P1 -> false;
    };
    Optional<Expr> duration = a.duration().map(d -> new Expressions(session, inner()).coerce(d, Kinds.TIME, Expressions.Purpose.ARGUMENT));
    if (ok && timed && duration.isEmpty()) {
      session.error("sfc/duration", a.qualifier().map(Name::span).orElse(a.span()), "the qualifier " + q + " needs a duration, such as ("
          + q + ", T#5s)");
      ok = false;
    } else if (ok && !timed && duration.isPresent()) {
      session.error("sfc/duration", a.duration().get().span(), "the qualifier " + q + " takes no duration");
      ok = false;
    }
    for (Name n : a.indicators()) {
      indicator(n);
    }
    Integer action = actionIndex(a.action(), control);
    return ok && action != null && duration.map(d -> !Kinds.isUnknown(d.type())).orElse(true)
        ? Optional.of(new Chart.Association(a.span(), action, q, duration)) : Optional.empty();
  }

  private static Optional<Chart.Qualifier> qualifier(String key) {
    for (Chart.Qualifier q : Chart.Qualifier.values()) {
      if (q.name().equals(key)) {
        return Optional.of(q);
      }
    }
    return Optional.empty();
  }

  private void indicator(Name n) {
    if (session.choices.deprecations()) {
      session.warning("deprecated/indicator", n.span(), "edition 3 of the standard deprecates indicator variables, edition 4 dropped them");
    }
    Variable v = scope.find(n.key());
    if (v == null) {
      session.unknownName(n.span(), n + " is not declared", n.text(), scope.names());
    } else if (!Kinds.isBool(v.type()) && !Kinds.isUnknown(v.type())) {
      session.error("type/operand", n.span(), n + " is " + v.type().name() + "; an indicator is BOOL");
    }
  }

  /** An action with a body, or a Boolean variable that becomes an action here (Table 56, 1). */
  private Integer actionIndex(Name name, Pou control) {
    Integer known = actions.get(name.key());
    if (known != null) {
      return known;
    }
    Variable v = scope.find(name.key());
    if (v == null || v.section() == Variable.Section.HIDDEN) {
      List<String> near = new ArrayList<>(scope.names());
      session.unknownName(name.span(), "there is neither an action nor a BOOL variable " + name, name.text(), near);
      return null;
    }
    if (!Kinds.isBool(v.type())) {
      if (!Kinds.isUnknown(v.type())) {
        session.error("type/operand", name.span(), name + " is " + v.type().name() + "; a variable used as an action is BOOL");
      }
      return null;
    }
    Place.Var place = new Place.Var(name.span(), v);
    if (!new Expressions(session, scope).writable(place)) {
      return null;
    }
    Variable state = session.pous.hidden(scope.info(), "$" + v.name(), new Type.Block(control), name.span());
    actions.put(name.key(), allActions.size());
    allActions.add(new Chart.SfcAction(name.span(), name.text(), Optional.empty(), Optional.of(place), state));
    return allActions.size() - 1;
  }

  // Transitions

  private Optional<Chart.SfcTransition> transition(Body.Transition t) {
    transitionNumber++;
    List<Integer> from = indices(t.from());
    List<Integer> to = indices(t.to());
    int priority = Integer.MAX_VALUE;
    if (t.priority().isPresent()) {
      Optional<BigInteger> p = session.initials.integer(t.priority().get(), scope);
      if (p.isPresent() && (p.get().signum() < 0 || p.get().bitLength() > 30)) {
        session.error("range/literal", t.priority().get().span(), "a priority is 0 to 1073741823, not " + p.get());
      } else if (p.isPresent()) {
        priority = p.get().intValueExact();
      }
    }
    Optional<Checked> c = condition(t);
    if (from == null || to == null || c.isEmpty()) {
      return Optional.empty();
    }
    String name = t.name().map(Name::text).orElse("");
    return Optional.of(new Chart.SfcTransition(t.span(), name, from, to, priority, c.get().code, c.get().result));
  }

  private record Checked(Code code, Optional<Variable> result) {}

  private final Map<String, Optional<Checked>> checkedConditions = new LinkedHashMap<>();

  /** The condition of a transition: an expression, a drawing, or the name of a condition declared by itself (Table 55, 7 to 13). */
  private Optional<Checked> condition(Body.Transition t) {
    String key = t.name().map(Name::key).orElse(null);
    if (key != null && checkedConditions.containsKey(key)) {
      return checkedConditions.get(key);
    }
    Optional<Checked> c = work(t);
    if (key != null) {
      checkedConditions.put(key, c);
    }
    return c;
  }

  private Optional<Checked> work(Body.Transition t) {
    Scope s = inner();
    s.setCondition(true);
    if (t.condition().isPresent()) {
      Expression e = t.condition().get();
      boolean other = e instanceof Expression.Ident i && conditions.get(i.name().key()) != null && conditions.get(i.name().key()) != t
          && scope.find(i.name().key()) == null;
      if (other) {
        return condition(conditions.get(((Expression.Ident) e).name().key()));
      }
      Expressions x = new Expressions(session, s);
      Expr b = x.coerce(x.check(e, Kinds.BOOL), Kinds.BOOL, Expressions.Purpose.CONDITION);
      return Kinds.isUnknown(b.type()) ? Optional.empty() : Optional.of(new Checked(new Code.Condition(b), Optional.empty()));
    }
    if (t.body().isPresent() && t.body().get() instanceof Body.Drawing d) {
      if (t.name().isEmpty()) {
        session.error("sfc/transition-name", new Span(t.span().source(), t.span().start(), t.span().start() + "TRANSITION".length()),
            "a transition with a drawing needs a name, to which a coil gives the condition");
        return Optional.empty();
      }
      Name n = t.name().get();
      Variable result = session.pous.hidden(scope.info(), n.text(), Kinds.BOOL, n.span());
      s.extra().put(n.key(), result);
      s.setResult(result);
      Ladder l = new Ladders(session, s).read(d.span());
      boolean written = l.networks().stream().flatMap(x -> x.elements().stream())
          .anyMatch(x -> x instanceof Ladder.Coil c && c.operand() instanceof Place.Var v && v.variable() == result);
      if (!written && !session.problems.hasErrors()) {
        session.error("sfc/transition-result", n.span(), "no coil of the drawing gives " + n + " its condition");
      }
      return Optional.of(new Checked(new Code.LadderCode(l), Optional.of(result)));
    }
    session.error("sfc/transition-condition", t.name().map(Name::span).orElse(t.span()),
        "a transition needs a condition: an expression behind :=, or a drawing");
    return Optional.empty();
  }

  private List<Integer> indices(List<Name> written) {
    List<Integer> all = new ArrayList<>();
    boolean ok = !written.isEmpty();
    Set<String> seen = new LinkedHashSet<>();
    for (Name n : written) {
      Integer i = steps.get(n.key());
      if (i == null) {
        List<String> near = new ArrayList<>(steps.keySet());
        session.unknownName(n.span(), "there is no step " + n, n.text(), near);
        ok = false;
      } else if (!seen.add(n.key())) {
        session.error("name/duplicate", n.span(), "step " + n + " stands twice in the list");
      } else {
        all.add(i);
      }
    }
    return ok ? all : null;
  }

  // Structure (T54.2b, S.sfc-unsafe)

  private void structure(List<Body.Step> written, List<Chart.SfcTransition> transitions, Body.Chart chart) {
    if (written.isEmpty()) {
      session.error("sfc/no-initial", new Span(chart.span().source(), chart.span().start(), chart.span().start()),
          "the chart has no initial step");
      return;
    }
    int[] net = new int[written.size()];
    for (int i = 0; i < net.length; i++) {
      net[i] = i;
    }
    for (Chart.SfcTransition t : transitions) {
      int first = t.from().get(0);
      t.from().forEach(s -> join(net, first, s));
      t.to().forEach(s -> join(net, first, s));
    }
    Map<Integer, List<Integer>> nets = new LinkedHashMap<>();
    for (int i = 0; i < net.length; i++) {
      nets.computeIfAbsent(find(net, i), k -> new ArrayList<>()).add(i);
    }
    boolean broken = transitionNumber > transitions.size();
    for (List<Integer> members : nets.values()) {
      List<Integer> initial = members.stream().filter(i -> written.get(i).initial()).toList();
      if (initial.isEmpty()) {
        if (!broken) {
          Name n = written.get(members.get(0)).name();
          session.error("sfc/no-initial", n.span(), nets.size() == 1 ? "the chart has no initial step"
              : "the net around step " + n + " has no initial step and is never active");
        }
        continue;
      }
      for (int i : initial.subList(1, initial.size())) {
        session.report(Diagnostic.error("sfc/second-initial", written.get(i).name().span(), "a net has one initial step; "
            + written.get(initial.get(0)).name()
            + " is one already").withRelated(written.get(initial.get(0)).name().span(), "the first one"));
      }
      if (initial.size() == 1 && !broken) {
        examine(members, initial.get(0), written, transitions.stream().filter(t -> members.contains(t.from().get(0))).toList());
      }
    }
  }

  private static int find(int[] net, int i) {
    int r = i;
    while (net[r] != r) {
      r = net[r];
    }
    return r;
  }

  private static void join(int[] net, int a, int b) {
    net[find(net, b)] = find(net, a);
  }

  /**
   * Plays the net through: a step that would be entered while it is active, a convergence that never completes, and steps never reached are
   * errors.
   */
  private void examine(List<Integer> members, int initial, List<Body.Step> written, List<Chart.SfcTransition> transitions) {
    BitSet start = new BitSet();
    start.set(initial);
    Set<BitSet> seen = new LinkedHashSet<>();
    Deque<BitSet> work = new ArrayDeque<>();
    seen.add(start);
    work.add(start);
    BitSet reached = new BitSet();
    reached.set(initial);
    Set<Chart.SfcTransition> cleared = new LinkedHashSet<>();
    Set<Chart.SfcTransition> unsafe = new LinkedHashSet<>();
    while (!work.isEmpty()) {
      BitSet now = work.poll();
      for (Chart.SfcTransition t : transitions) {
        if (!t.from().stream().allMatch(now::get)) {
          continue;
        }
        cleared.add(t);
        BitSet next = (BitSet) now.clone();
        t.from().forEach(next::clear);
        for (int s : t.to()) {
          if (next.get(s) && unsafe.add(t)) {
            session.report(Diagnostic.error("sfc/unsafe", t.span(), "this transition can enter step " + written.get(s).name()
                + " while it is active already").withRelated(written.get(s).name().span(), "the step"));
          }
          next.set(s);
          reached.set(s);
        }
        if (unsafe.isEmpty() && seen.size() < MAX_SITUATIONS && seen.add(next)) {
          work.add(next);
        }
      }
    }
    if (!unsafe.isEmpty() || seen.size() >= MAX_SITUATIONS) {
      return;
    }
    for (Chart.SfcTransition t : transitions) {
      if (!cleared.contains(t) && t.from().stream().allMatch(reached::get)) {
        session.error("sfc/unsafe", t.span(), "the steps before this transition are never active together, so it can never be cleared");
      }
    }
    for (int s : members) {
      if (!reached.get(s) && !transitionLeads(s, transitions, reached)) {
        session.error("sfc/unreachable", written.get(s).name().span(), "step " + written.get(s).name() + " is never reached");
      }
    }
  }

  /** Some transition with only reached steps before it leads to the step: then that transition was reported, not the step. */
  private static boolean transitionLeads(int step, List<Chart.SfcTransition> transitions, BitSet reached) {
    return transitions.stream().anyMatch(t -> t.to().contains(step) && t.from().stream().allMatch(reached::get));
  }
}
