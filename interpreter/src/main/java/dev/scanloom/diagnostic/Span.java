package dev.scanloom.diagnostic;

/**
 * A stretch of source text, {@code [start, end)} in code points of {@code source}.
 * An empty span marks the place before {@code start}.
 */
public record Span(SourceText source, int start, int end) {

  public Span {
    java.util.Objects.requireNonNull(source, "source");
    if (start < 0 || end < start) {
      throw new IllegalArgumentException("span [" + start + ", " + end + ")");
    }
  }

  /** Line of the first code point, counted from 1. */
  public int line() {
    return source.lineOf(start);
  }

  /** Column of the first code point, counted from 1. */
  public int column() {
    return source.columnOf(start);
  }

  /** The text that the span covers. */
  public String text() {
    return source.slice(start, end);
  }

  /** The smallest span that covers this and another one of the same source. */
  public Span to(Span other) {
    return new Span(source, Math.min(start, other.start), Math.max(end, other.end));
  }

  /** {@code file:line:column}, the form in which places are printed. */
  public String place() {
    return source.name() + ":" + line() + ":" + column();
  }

  @Override
  public String toString() {
    return place();
  }
}
