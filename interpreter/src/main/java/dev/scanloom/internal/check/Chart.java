package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/**
 * A checked sequential function chart (Tables 54 to 61). Each step has a hidden instance variable of structure type with fields X (BOOL) and T (TIME),
 * so that {@code Fill.X} is an ordinary place; each action has a hidden structure with its control state.
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

  /** Indices of steps; {@code priority}: lower is tested first; declaration order breaks ties. */
  public record SfcTransition(Span span, String name, List<Integer> from, List<Integer> to, int priority, Code condition) {
    public SfcTransition {
      from = List.copyOf(from);
      to = List.copyOf(to);
    }
  }

  /** An action with a body, or a Boolean variable used as an action. {@code state} is the hidden variable of its control. */
  public record SfcAction(Span span, String name, Optional<Code> body, Optional<Place> flag, Variable state) {}
}
