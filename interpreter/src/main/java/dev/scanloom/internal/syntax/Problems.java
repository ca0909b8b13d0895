package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;

/**
 * Collects the diagnostics of one compilation, bounded. Confined to one thread. Beyond the limit only the count of
 * errors goes on, and a last diagnostic says so.
 */
public final class Problems {
  private final int limit;
  private final List<Diagnostic> list = new ArrayList<>();
  private int errors;
  private int dropped;
  private Span firstDropped;

  public Problems(int limit) {
    this.limit = limit;
  }

  public void add(Diagnostic d) {
    if (d.severity() == Severity.ERROR) {
      errors++;
    }
    if (list.size() < limit) {
      list.add(d);
    } else {
      if (firstDropped == null) {
        firstDropped = d.span();
      }
      dropped++;
    }
  }

  public void error(String code, Span span, String message) {
    add(Diagnostic.error(code, span, message));
  }

  public void warning(String code, Span span, String message) {
    add(Diagnostic.warning(code, span, message));
  }

  public boolean isEmpty() {
    return list.isEmpty() && dropped == 0;
  }

  public boolean hasErrors() {
    return errors > 0;
  }

  public int errorCount() {
    return errors;
  }

  /** All diagnostics in the order of their places within each source; stable for equal places. */
  public List<Diagnostic> sorted() {
    if (isEmpty()) {
      return List.of();
    }
    List<Diagnostic> all = new ArrayList<>(list);
    all.sort(Comparator.comparing((Diagnostic d) -> d.span().source().name()).thenComparingInt(d -> d.span().start()));
    if (dropped > 0) {
      all.add(new Diagnostic(Severity.NOTE, "limit/diagnostics", firstDropped,
          dropped + " more diagnostics are not shown", java.util.Optional.empty(), List.of()));
    }
    return List.copyOf(all);
  }
}
