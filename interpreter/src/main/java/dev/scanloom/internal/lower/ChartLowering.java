package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Chart;
import dev.scanloom.internal.check.Code;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;

/**
 * Lowers a sequential function chart. One evaluation: the times of active steps; the controls of all actions; the actions, in the order of declaration; the
 * transitions of active steps, by priority, then in the order of declaration; then all cleared transitions take effect at once (S.sfc-action-step-flag,
 * S.sfc-clear-atomic, S.sfc-min-active; the orders are choices of this implementation: S.sfc-final-order, S.sfc-text-order).
 */
final class ChartLowering {
  private static final int BOOL = ElementaryType.BOOL.ordinal();

  private final Lowering lowering;
  private final BodyLowering body;

  ChartLowering(Lowering lowering, BodyLowering body) {
    this.lowering = lowering;
    this.body = body;
  }

  void lower(Chart chart) {
    for (Chart.SfcStep s : chart.steps()) {
      stepTime(s);
    }
    for (int i = 0; i < chart.actions().size(); i++) {
      control(chart, i);
    }
    for (Chart.SfcAction a : chart.actions()) {
      execute(a);
    }
    transitions(chart);
  }

  private static Place flag(Chart.SfcStep s) {
    return member(s.span(), s.state(), "X");
  }

  private static Place member(Span span, Variable owner, String name) {
    Type type = owner.type().base();
    Variable field = type instanceof Type.Structure t ? t.field(name).orElseThrow() : ((Type.Block) type).pou().variable(name).orElseThrow();
    return new Place.Member(span, new Place.Var(span, owner), field);
  }

  private void load(Place p) {
    body.expression(new Expr.Read(p.span(), p));
  }

  private void stepTime(Chart.SfcStep s) {
    BodyLowering.Label inactive = new BodyLowering.Label();
    load(flag(s));
    body.jump(Op.JUMP_FALSE, inactive, inactive, s.span());
    body.emit(Op.TASK_TIME, 0, 0, s.span());
    load(member(s.span(), s.state(), "$start"));
    body.emit(Op.SUB, 0, ElementaryType.TIME.ordinal(), s.span());
    body.storeValue(member(s.span(), s.state(), "T"), s.span());
    body.set(inactive);
  }

  /** Sets the inputs of an action's control from the step flags and calls it. */
  private void control(Chart chart, int index) {
    Chart.SfcAction action = chart.actions().get(index);
    Pou block = ((Type.Block) action.state().type().base()).pou();
    lowering.layout.instance(block);
    for (Chart.Qualifier q : Chart.Qualifier.values()) {
      boolean used = false;
      for (Chart.SfcStep s : chart.steps()) {
        for (Chart.Association a : s.associations()) {
          if (a.action() == index && a.qualifier() == q) {
            load(flag(s));
            if (used) {
              body.emit(Op.OR, 0, 0, a.span());
            }
            used = true;
          }
        }
      }
      if (used) {
        body.storeValue(member(action.span(), action.state(), q.name()), action.span());
      }
    }
    long timed = chart.steps().stream().flatMap(s -> s.associations().stream()).filter(a -> a.action() == index && a.duration().isPresent()).count();
    int taken = -1;
    if (timed > 1) {
      taken = body.temp(1);
      body.emit(Op.CLEAR, taken, 1, action.span());
    }
    for (Chart.SfcStep s : chart.steps()) {
      for (Chart.Association a : s.associations()) {
        if (a.action() == index && a.duration().isPresent()) {
          BodyLowering.Label inactive = new BodyLowering.Label();
          load(flag(s));
          body.jump(Op.JUMP_FALSE, inactive, inactive, a.span());
          if (timed > 1) {
            body.emit(Op.LOAD_TEMP, taken, 0, a.span());
            body.emit(Op.NOT, 0, BOOL, a.span());
            body.emit(Op.ASSERT, Op.CLAIM_ONE_DURATION, 0, a.span());
            body.constant(1, a.span());
            body.emit(Op.STORE_TEMP, taken, 0, a.span());
          }
          body.assign(member(a.span(), action.state(), "T"), a.duration().get(), a.span());
          body.set(inactive);
        }
      }
    }
    if (!lowering.choices.finalScan()) {
      body.constant(0, action.span());
      body.storeValue(member(action.span(), action.state(), "FINAL_SCAN"), action.span());
    }
    body.callStatement(new Call(action.span(),
        new Call.Instance(new Place.Var(action.span(), action.state()), block, false), List.of(), Optional.empty(),
        Optional.empty()));
    if (uses(chart, index, Chart.Qualifier.SD) && uses(chart, index, Chart.Qualifier.SL)) {
      load(stored(action, "storedDelay"));
      load(stored(action, "storedLimit"));
      body.emit(Op.AND, 0, 0, action.span());
      body.emit(Op.NOT, 0, BOOL, action.span());
      body.emit(Op.ASSERT, Op.CLAIM_ONE_STORED, 0, action.span());
    }
  }

  private static boolean uses(Chart chart, int action, Chart.Qualifier q) {
    return chart.steps().stream().flatMap(s -> s.associations().stream()).anyMatch(a -> a.action() == action && a.qualifier() == q);
  }

  /** What a bistable of an action's control holds. */
  private static Place stored(Chart.SfcAction action, String name) {
    Pou control = ((Type.Block) action.state().type().base()).pou();
    Variable bistable = control.variable(name).orElseThrow();
    Pou type = ((Type.Block) bistable.type().base()).pou();
    Place inside = new Place.Member(action.span(), new Place.Var(action.span(), action.state()), bistable);
    return new Place.Member(action.span(), inside, type.variable("Q1").orElseThrow());
  }

  private void execute(Chart.SfcAction action) {
    Span span = action.span();
    if (action.flag().isPresent()) {
      load(member(span, action.state(), "Q"));
      body.storeValue(action.flag().get(), span);
      return;
    }
    BodyLowering.Label idle = new BodyLowering.Label();
    load(member(span, action.state(), "A"));
    body.jump(Op.JUMP_FALSE, idle, idle, span);
    body.callOwn(further(action.name(), action.body().orElseThrow(), span), span);
    body.set(idle);
  }

  /** A body of its own on the same instance. */
  private int further(String name, Code code, Span span) {
    int number = lowering.newBody();
    Pou pou = body.pou();
    lowering.later(() -> {
      BodyLowering b = new BodyLowering(lowering, number, pou);
      b.temporaries();
      if (code instanceof Code.Statements s) {
        b.statements(s.statements());
      } else if (code instanceof Code.LadderCode l) {
        new LadderLowering(lowering, b).lower(l.ladder());
      } else if (code instanceof Code.ChartCode c) {
        new ChartLowering(lowering, b).lower(c.chart());
      } else {
        throw new IllegalStateException("body of " + name);
      }
      lowering.finish(number, pou.name() + "." + name, pou.isLibrary(), span, b);
    });
    return number;
  }

  private void transitions(Chart chart) {
    int steps = chart.steps().size();
    int count = chart.transitions().size();
    int leaves = body.temp(steps);
    int enters = body.temp(steps);
    int any = body.temp(1);
    Span span = body.pou().span();
    body.emit(Op.CLEAR, leaves, steps, span);
    body.emit(Op.CLEAR, enters, steps, span);
    body.emit(Op.CLEAR, any, 1, span);
    List<Integer> order = new ArrayList<>();
    for (int i = 0; i < count; i++) {
      order.add(i);
    }
    order.sort(Comparator.comparingInt(i -> chart.transitions().get(i).priority()));
    for (int i : order) {
      transition(chart, chart.transitions().get(i), leaves, enters, any);
    }
    BodyLowering.Label unchanged = new BodyLowering.Label();
    body.emit(Op.LOAD_TEMP, any, 0, span);
    body.jump(Op.JUMP_FALSE, unchanged, unchanged, span);
    for (int s = 0; s < steps; s++) {
      change(chart.steps().get(s), leaves + s, enters + s);
    }
    body.set(unchanged);
  }

  /** Clears a transition when all its steps are active, none of them is left by one of higher priority, and its condition is TRUE. */
  private void transition(Chart chart, Chart.SfcTransition t, int leaves, int enters, int any) {
    BodyLowering.Label not = new BodyLowering.Label();
    boolean first = true;
    for (int s : t.from()) {
      load(flag(chart.steps().get(s)));
      body.emit(Op.LOAD_TEMP, leaves + s, 0, t.span());
      body.emit(Op.NOT, 0, BOOL, t.span());
      body.emit(Op.AND, 0, 0, t.span());
      if (!first) {
        body.emit(Op.AND, 0, 0, t.span());
      }
      first = false;
    }
    body.jump(Op.JUMP_FALSE, not, not, t.span());
    if (t.condition() instanceof Code.Condition c) {
      body.expression(c.expression());
    } else {
      body.callOwn(further(t.name(), t.condition(), t.span()), t.span());
      load(new Place.Var(t.span(), t.result().orElseThrow()));
    }
    body.jump(Op.JUMP_FALSE, not, not, t.span());
    for (int s : t.from()) {
      body.constant(1, t.span());
      body.emit(Op.STORE_TEMP, leaves + s, 0, t.span());
    }
    for (int s : t.to()) {
      body.constant(1, t.span());
      body.emit(Op.STORE_TEMP, enters + s, 0, t.span());
    }
    body.constant(1, t.span());
    body.emit(Op.STORE_TEMP, any, 0, t.span());
    body.set(not);
  }

  /** A step that is entered becomes (or stays) active; one that is only left becomes inactive. */
  private void change(Chart.SfcStep s, int leaves, int enters) {
    Span span = s.span();
    BodyLowering.Label notEntered = new BodyLowering.Label();
    BodyLowering.Label done = new BodyLowering.Label();
    body.emit(Op.LOAD_TEMP, enters, 0, span);
    body.jump(Op.JUMP_FALSE, notEntered, done, span);
    load(flag(s));
    body.jump(Op.JUMP_TRUE, done, done, span);
    body.constant(1, span);
    body.storeValue(flag(s), span);
    body.emit(Op.TASK_TIME, 0, 0, span);
    body.storeValue(member(span, s.state(), "$start"), span);
    body.constant(0, span);
    body.storeValue(member(span, s.state(), "T"), span);
    body.jump(Op.JUMP, done, null, span);
    body.set(notEntered);
    body.emit(Op.LOAD_TEMP, leaves, 0, span);
    body.jump(Op.JUMP_FALSE, done, done, span);
    body.constant(0, span);
    body.storeValue(flag(s), span);
    body.set(done);
  }
}
