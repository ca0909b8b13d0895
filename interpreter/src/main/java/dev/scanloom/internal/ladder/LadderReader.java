package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.StParser;

/** Grid of characters to network graph. Always answers; whatever could not be read has a diagnostic. */
public final class LadderReader {
  private final Problems problems;
  private final StParser expressions;

  public LadderReader(Problems problems, StParser expressions) {
    this.problems = problems;
    this.expressions = expressions;
  }

  /** Reads the drawing that covers the whole lines of {@code span}. */
  public Drawing read(Span span) {
    throw new UnsupportedOperationException("not written yet");
  }
}
