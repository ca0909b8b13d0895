package dev.scanloom.internal.check;

import dev.scanloom.internal.syntax.Body;
import java.util.List;

/** Sequential function charts. */
final class Charts {
  private final Session session;

  Charts(Session session, Scope scope) {
    this.session = session;
  }

  Code check(Body.Chart chart) {
    session.error("sfc/unsupported", chart.span(), "sequential function charts are not checked yet");
    return new Code.Statements(List.of());
  }
}
