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
  private final String text;
  /** The code points when each is one UTF-16 unit of the text, as almost always; else null. */
  private final char[] units;
  /** The code points when {@code units} is null; else null. */
  private final int[] codePoints;
  private final int length;
  private final int[] lineStarts;

  private SourceText(String name, String text) {
    this.name = name;
    this.text = text;
    this.length = text.codePointCount(0, text.length());
    this.units = length == text.length() ? text.toCharArray() : null;
    this.codePoints = units == null ? text.codePoints().toArray() : null;
    this.lineStarts = findLineStarts();
  }

  /**
   * A source text from its name (a file name, as it will stand in front of diagnostics) and its content.
   * A byte order mark at the start is dropped.
   */
  public static SourceText of(String name, String text) {
    Objects.requireNonNull(name, "name");
    return new SourceText(name, text.startsWith("\uFEFF") ? text.substring(1) : text);
  }

  private int[] findLineStarts() {
    int[] starts = new int[16];
    int count = 1;
    for (int at = behindLine(0); at >= 0; at = behindLine(at)) {
      if (count == starts.length) {
        starts = Arrays.copyOf(starts, count * 2);
      }
      starts[count++] = at;
    }
    return Arrays.copyOf(starts, count);
  }

  /** Offset behind the end of the line that goes on at {@code from}, or -1 in the last line. */
  private int behindLine(int from) {
    for (int i = from; i < length; i++) {
      int c = codePointAt(i);
      if (c == '\n' || (c == '\r' && codePointAt(i + 1) != '\n')) {
        return i + 1;
      }
    }
    return -1;
  }

  /** The name given at construction. */
  public String name() {
    return name;
  }

  /** Number of code points. */
  public int length() {
    return length;
  }

  /** The code point at an offset, or -1 outside the text. */
  public int codePointAt(int offset) {
    if (offset < 0 || offset >= length) {
      return -1;
    }
    return units != null ? units[offset] : codePoints[offset];
  }

  /** The text of {@code [start, end)}, clipped to the text. */
  public String slice(int start, int end) {
    int from = Math.max(0, Math.min(start, length));
    int to = Math.max(from, Math.min(end, length));
    return units != null ? text.substring(from, to) : new String(codePoints, from, to - from);
  }

  /** The whole text. */
  public String text() {
    return text;
  }

  /** Number of lines; at least 1. */
  public int lineCount() {
    return lineStarts.length;
  }

  /** The line, counted from 1, in which an offset stands. */
  public int lineOf(int offset) {
    int at = Arrays.binarySearch(lineStarts, Math.max(0, Math.min(offset, length)));
    return at >= 0 ? at + 1 : -at - 1;
  }

  /** The column, counted from 1 in code points, of an offset. */
  public int columnOf(int offset) {
    int clipped = Math.max(0, Math.min(offset, length));
    return clipped - lineStarts[lineOf(clipped) - 1] + 1;
  }

  /** Offset of the first code point of a line. */
  public int lineStart(int line) {
    return lineStarts[line - 1];
  }

  /** Text of a line, counted from 1, without its end. */
  public String line(int line) {
    int start = lineStarts[line - 1];
    int end = line < lineStarts.length ? lineStarts[line] : length;
    while (end > start && (codePointAt(end - 1) == '\n' || codePointAt(end - 1) == '\r')) {
      end--;
    }
    return slice(start, end);
  }

  @Override
  public String toString() {
    return name + " (" + length() + " code points)";
  }
}
