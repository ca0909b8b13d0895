package dev.scanloom.diagnostic;

import java.util.Arrays;
import java.util.Objects;

/**
 * One named source text and its table of lines. Offsets, lines and columns count code points; offsets from 0,
 * lines and columns from 1. A line ends at LF, CR LF or CR; a tab is one column.
 *
 * <p>Immutable and safe for use by several threads.
 */
public final class SourceText {
  private final String name;
  private final int[] codePoints;
  private final int[] lineStarts;

  private SourceText(String name, int[] codePoints) {
    this.name = name;
    this.codePoints = codePoints;
    this.lineStarts = findLineStarts(codePoints);
  }

  /**
   * A source text from its name (a file name, as it will stand in front of diagnostics) and its content.
   * A byte order mark at the start is dropped.
   */
  public static SourceText of(String name, String text) {
    Objects.requireNonNull(name, "name");
    char[] units = text.toCharArray();
    int[] points = new int[units.length];
    int count = 0;
    for (int i = units.length > 0 && units[0] == 0xFEFF ? 1 : 0; i < units.length; i++) {
      char c = units[i];
      if (Character.isHighSurrogate(c) && i + 1 < units.length && Character.isLowSurrogate(units[i + 1])) {
        points[count++] = Character.toCodePoint(c, units[++i]);
      } else {
        points[count++] = c;
      }
    }
    return new SourceText(name, count == points.length ? points : Arrays.copyOf(points, count));
  }

  private static int[] findLineStarts(int[] points) {
    int[] starts = new int[16];
    int count = 1;
    for (int i = 0; i < points.length; i++) {
      boolean ends = points[i] == '\n' || (points[i] == '\r' && !(i + 1 < points.length && points[i + 1] == '\n'));
      if (ends) {
        if (count == starts.length) {
          starts = Arrays.copyOf(starts, count * 2);
        }
        starts[count++] = i + 1;
      }
    }
    return Arrays.copyOf(starts, count);
  }

  /** The name given at construction. */
  public String name() {
    return name;
  }

  /** Number of code points. */
  public int length() {
    return codePoints.length;
  }

  /** The code point at an offset, or -1 outside the text. */
  public int codePointAt(int offset) {
    return offset >= 0 && offset < codePoints.length ? codePoints[offset] : -1;
  }

  /** The text of {@code [start, end)}, clipped to the text. */
  public String slice(int start, int end) {
    int from = Math.max(0, Math.min(start, codePoints.length));
    int to = Math.max(from, Math.min(end, codePoints.length));
    return new String(codePoints, from, to - from);
  }

  /** The whole text. */
  public String text() {
    return slice(0, length());
  }

  /** Number of lines; at least 1. */
  public int lineCount() {
    return lineStarts.length;
  }

  /** The line, counted from 1, in which an offset stands. */
  public int lineOf(int offset) {
    int at = Arrays.binarySearch(lineStarts, Math.max(0, Math.min(offset, codePoints.length)));
    return at >= 0 ? at + 1 : -at - 1;
  }

  /** The column, counted from 1 in code points, of an offset. */
  public int columnOf(int offset) {
    int clipped = Math.max(0, Math.min(offset, codePoints.length));
    return clipped - lineStarts[lineOf(clipped) - 1] + 1;
  }

  /** Offset of the first code point of a line. */
  public int lineStart(int line) {
    return lineStarts[line - 1];
  }

  /** Text of a line, counted from 1, without its end. */
  public String line(int line) {
    int start = lineStarts[line - 1];
    int end = line < lineStarts.length ? lineStarts[line] : codePoints.length;
    while (end > start && (codePoints[end - 1] == '\n' || codePoints[end - 1] == '\r')) {
      end--;
    }
    return slice(start, end);
  }

  @Override
  public String toString() {
    return name + " (" + length() + " code points)";
  }
}
