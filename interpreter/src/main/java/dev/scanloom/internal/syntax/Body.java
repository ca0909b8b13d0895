package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** The body of a POU, method, action or transition. One notation per body. */
public sealed interface Body {
  Span span();

  /** Statements; also an absent body (no statements). */
  record Text(Span span, List<Statement> statements) implements Body {
    public Text {
      statements = List.copyOf(statements);
    }
  }

  /**
   * A ladder drawing, not yet read: {@code span} covers whole lines, from the start of the first drawn line to the end of the last one
   * before the end keyword. The ladder reader works on the source text itself.
   */
  record Drawing(Span span) implements Body {}

  /** Sequential function chart in its textual form (Tables 54 to 61). */
  record Chart(Span span, List<SfcElement> elements) implements Body {
    public Chart {
      elements = List.copyOf(elements);
    }
  }

  /** The body is bound elsewhere: {@code {intrinsic ADD}} or {@code {native sin}} in place of statements; library sources only. */
  record Bound(Span span, Pragma pragma) implements Body {}

  sealed interface SfcElement {
    Span span();
  }

  /** {@code STEP name: action(N); ... END_STEP}. */
  record Step(Span span, Name name, boolean initial, List<Association> actions) implements SfcElement {
    public Step {
      actions = List.copyOf(actions);
    }
  }

  /** {@code action(qualifier, duration, indicator...)}; an empty qualifier means N. */
  record Association(Span span, Name action, Optional<Name> qualifier, Optional<Expression> duration, List<Name> indicators) {
    public Association {
      indicators = List.copyOf(indicators);
    }
  }

  /**
   * {@code TRANSITION name (PRIORITY := n) FROM a TO (b, c) := condition; END_TRANSITION}; also with a ladder body after a colon.
   * A named condition without FROM and TO (Table 55, 10 to 13) has both lists empty.
   */
  record Transition(
      Span span, Optional<Name> name, Optional<Expression> priority, List<Name> from, List<Name> to, Optional<Expression> condition,
      Optional<Body> body)
      implements SfcElement {
    public Transition {
      from = List.copyOf(from);
      to = List.copyOf(to);
    }
  }

  /** {@code ACTION name: body END_ACTION}. */
  record Action(Span span, Name name, Body body) implements SfcElement {}
}
