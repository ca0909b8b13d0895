package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;

/**
 * Text to syntax tree. Always answers: any text yields a tree and diagnostics, never an exception.
 *
 * <p>Limits: see {@code maxNesting}; nesting is counted over the token stream before the parser runs.
 */
public final class StParser {
  private final Problems problems;
  private final int maxNesting;

  public StParser(Problems problems, int maxNesting) {
    this.problems = problems;
    this.maxNesting = maxNesting;
  }

  /** Parses a whole source text. */
  public SourceFile parse(SourceText source) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * Parses one expression (a variable access, a literal or any expression) that stands in {@code span}, as the ladder reader finds them
   * at operands and pins. Anything but white space behind it is an error; then {@link Expression.Erroneous} comes back.
   */
  public Expression parseExpression(Span span) {
    throw new UnsupportedOperationException("not written yet");
  }
}
