package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/**
 * A checked sequential function chart (Tables 54 to 61). Each step has a HIDDEN instance variable named like the step, of a structure type with the fields
 * X (BOOL; initial value TRUE for the initial step), T (TIME) and {@code $start} (LTIME), so that {@code Fill.X} is an ordinary place and can be watched.
 * Each action has a HIDDEN variable named like the action (an action that is a variable: {@code $} and its name), an instance of the library block
 * ACTION_CONTROL, so that {@code Open.Q} is an ordinary place.
 */
public record Chart(List<SfcStep> steps, List<SfcTransition> transitions, List<SfcAction> actions) {
  public Chart {
    steps = List.copyOf(steps);
    transitions = List.copyOf(transitions);
    actions = List.copyOf(actions);
  }

  /** {@code state} is the hidden variable with fields X and T. */
  public record SfcStep(Span span, String name, boolean initial, Variable state, List<Association> associations) {
    public SfcStep {
      associations = List.copyOf(associations);
    }
  }

  public enum Qualifier { N, R, S, L, D, P, P0, P1, SD, DS, SL }

  /** {@code action} is an index in {@link Chart#actions()}. */
  public record Association(Span span, int action, Qualifier qualifier, Optional<Expr> duration) {}

  /**
   * Indices of steps; {@code priority}: lower is tested first; declaration order breaks ties. {@code condition} is a {@link Code.Condition}, or ladder whose
   * coils write {@code result}, a HIDDEN BOOL variable named like the transition ({@code $transition1} without a name).
   */
  public record SfcTransition(
      Span span, String name, List<Integer> from, List<Integer> to, int priority, Code condition, Optional<Variable> result) {
    public SfcTransition {
      from = List.copyOf(from);
      to = List.copyOf(to);
    }
  }

  /** An action with a body, or a Boolean variable used as an action. {@code state} is its hidden ACTION_CONTROL instance. */
  public record SfcAction(Span span, String name, Optional<Code> body, Optional<Place> flag, Variable state) {}
}
