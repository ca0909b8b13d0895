package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.SourceText;
import java.util.Arrays;

/** Characters to cells, row by row from the first to the last: folded, comments and pragmas blanked, words masked. */
final class RowScanner {
  private static final char OTHER_LETTER = 'ɐ';
  private static final char[] EMPTY = {};
  private static final char PRAGMA = '{';
  private static final int SPARE = 64;

  private final Grid grid;
  private final SourceText source;
  /** The source if every character of it is one unit of the text, as almost always; else null. */
  private final String units;
  /** Which kind of comment is open at the end of the row: '*' or '/', as it begins with a parenthesis or a slash, PRAGMA, or 0 for none. */
  private char comment;
  private int depth;
  private int commentRow;
  private int commentColumn;
  private final StringBuilder text = new StringBuilder();
  /** Of {@link #maskWords}: brackets that are open, and where masked stretches begin and end; the latter is clean between two rows. */
  private int[] open = {};
  private int[] inside = {};

  RowScanner(Grid grid) {
    this.grid = grid;
    source = grid.source;
    units = source.text().length() == source.length() ? source.text() : null;
  }

  char[] scan(int row) {
    int start = source.lineStart(grid.firstLine + row);
    int end = grid.firstLine + row < source.lineCount() ? source.lineStart(grid.firstLine + row + 1) : source.length();
    while (end > start && (source.codePointAt(end - 1) == '\n' || source.codePointAt(end - 1) == '\r')) {
      end--;
    }
    int length = end - start;
    char[] out = new char[Math.min(length, Grid.MAX_WIDTH)];
    int first = comment == 0 && units != null ? copyPlain(start, out) : 0;
    int last = first - 1;
    while (last >= 0 && out[last] == ' ') {
      last--;
    }
    for (int column = first; column < length; column++) {
      int c = source.codePointAt(start + column);
      int next = column + 1 < length ? source.codePointAt(start + column + 1) : -1;
      if (comment != 0) {
        put(out, column, ' ');
        if (comment == PRAGMA) {
          if (c == '}') {
            comment = 0;
          }
          continue;
        }
        boolean opens = comment == '*' ? c == '(' && next == '*' : c == '/' && next == '*';
        boolean closes = comment == '*' ? c == '*' && next == ')' : c == '*' && next == '/';
        if (opens || closes) {
          depth += opens ? 1 : -1;
          if (depth == 0) {
            grid.comments.add(new Grid.Comment(commentRow, row, tidy(text)));
            text.setLength(0);
            comment = 0;
          } else {
            text.appendCodePoint(c).appendCodePoint(next);
          }
          column++;
          put(out, column, ' ');
        } else {
          text.appendCodePoint(c);
        }
        continue;
      }
      if ((c == '(' || c == '/') && next == '*' || c == '{') {
        comment = c == '{' ? PRAGMA : c == '(' ? '*' : '/';
        commentRow = row;
        commentColumn = column;
        depth = 1;
        put(out, column, ' ');
        if (c != '{') {
          column++;
          put(out, column, ' ');
        }
        continue;
      }
      if (c == '/' && next == '/') {
        grid.comments.add(new Grid.Comment(row, row, tidy(new StringBuilder(source.slice(start + column + 2, end)))));
        for (; column < length; column++) {
          put(out, column, ' ');
        }
        break;
      }
      if (c == '\'' || c == '"') {
        int close = quoteEnd(start + column, end);
        if (close >= 0) {
          for (; start + column <= close; column++) {
            put(out, column, fold(source.codePointAt(start + column)));
          }
          column--;
          last = column;
          continue;
        }
      }
      if (c == '\t' && grid.tabRow < 0) {
        grid.tabRow = row;
        grid.tabColumn = column;
      }
      char folded = fold(c);
      put(out, column, folded);
      if (folded != ' ') {
        last = column;
      }
    }
    if (comment == '*' || comment == '/') {
      text.append('\n');
    }
    if (last >= Grid.MAX_WIDTH) {
      if (grid.tooWideRow < 0) {
        grid.tooWideRow = row;
      }
      last = Grid.MAX_WIDTH - 1;
    }
    char[] cells = last < 0 ? EMPTY : last + 1 == out.length ? out : Arrays.copyOf(out, last + 1);
    maskWords(cells);
    return cells;
  }

  /** Notes a comment that is still open behind the last row. */
  void finish() {
    if (comment != 0) {
      grid.openCommentRow = commentRow;
      grid.openCommentColumn = commentColumn;
    }
  }

  /** Copies characters; how many stand for themselves before the first that does not. */
  private int copyPlain(int start, char[] out) {
    units.getChars(start, start + out.length, out, 0);
    for (int i = 0; i < out.length; i++) {
      char c = out[i];
      if (c != ' ' && c != '-' && !(c >= '0' && c <= 'z') && !isPlain(c, start + i)) {
        return i;
      }
    }
    return out.length;
  }

  /** Whether a character stands for itself: it begins no comment and no quotes. */
  private boolean isPlain(int c, int offset) {
    return c == '/' || c == '(' ? source.codePointAt(offset + 1) != '*' && source.codePointAt(offset + 1) != '/'
        : c >= ' ' && c < 0x7F && c != '{' && c != '\'' && c != '"';
  }

  /** What looks like a link inside a word must not be taken for one by whoever looks up or down from a neighbouring row. */
  private void maskWords(char[] r) {
    boolean masks = false;
    int depth = 0;
    for (int i = 0; i < r.length; i++) {
      char c = r[i];
      if (c == ' ' || c == '-' || c > ']') {
        continue;
      }
      int from = -1;
      int to = i;
      if (c == '\'' || c == '"') {
        int close = i + 1;
        while (close < r.length && r[close] != c) {
          close += r[close] == '$' ? 2 : 1;
        }
        if (close < r.length) {
          from = i;
          to = close;
          i = close;
        }
      } else if (c == '(' || c == '[') {
        if (open.length < r.length) {
          open = new int[r.length + SPARE];
        }
        open[depth++] = i;
      } else if (c == ')' || c == ']') {
        while (depth > 0 && r[open[depth - 1]] != (c == ')' ? '(' : '[')) {
          depth--;
        }
        if (depth > 0) {
          from = open[--depth];
        }
      } else if (c == '+' && i > 0 && i + 1 < r.length && Character.isLetterOrDigit(r[i - 1]) && Character.isLetterOrDigit(r[i + 1])) {
        r[i] = Grid.IN_WORD;
      }
      if (from >= 0 && to - from > 2) {
        if (inside.length <= r.length) {
          inside = new int[r.length + SPARE];
        }
        inside[from]++;
        inside[to]--;
        masks = true;
      }
    }
    int level = 0;
    for (int i = 0; masks && i < r.length; i++) {
      level += inside[i];
      inside[i] = 0;
      if (level > 0 && (r[i] == '-' || Grid.isVertical(r[i]))) {
        r[i] = Grid.IN_WORD;
      }
    }
  }

  private int quoteEnd(int from, int end) {
    int quote = source.codePointAt(from);
    for (int i = from + 1; i < end; i++) {
      int c = source.codePointAt(i);
      if (c == '$') {
        i++;
      } else if (c == quote) {
        return i;
      }
    }
    return -1;
  }

  private static void put(char[] out, int column, char c) {
    if (column < out.length) {
      out[column] = c;
    }
  }

  private static char fold(int c) {
    switch (c) {
      case '─':
        return '-';
      case '│':
        return '|';
      case '┌', '┐', '└', '┘', '┬', '┴', '┼':
        return '+';
      case '\u00a0', '\t', '\f', 0x0b:
        return ' ';
      default:
        if (c < 0x10000) {
          return (char) c;
        }
        return Character.isLetterOrDigit(c) ? OTHER_LETTER : '\ufffd';
    }
  }

  private static String tidy(StringBuilder text) {
    StringBuilder out = new StringBuilder();
    for (String line : text.toString().split("\n", -1)) {
      String trimmed = line.strip();
      if (!trimmed.isEmpty()) {
        if (out.length() > 0) {
          out.append('\n');
        }
        out.append(trimmed);
      }
    }
    return out.toString();
  }
}
