package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Set;

/**
 * The rectangle of characters of one drawing: comments and pragmas blanked, box-drawing characters folded into {@code - | +}, rails found,
 * rows of labels and statements told apart. Rows and columns count from 0 here; from 1 wherever they leave the package.
 */
final class Grid {
  /** Columns behind this one are not read. Wide enough for any screen or plotter, narrow enough to bound the work per row. */
  static final int MAX_WIDTH = 4096;

  static final char TEE_LEFT = '┤';
  static final char TEE_RIGHT = '├';
  /** Stands for {@code - | +} inside quotes, brackets and parentheses, where they are no links. */
  static final char IN_WORD = '\u0001';

  private static final char OTHER_LETTER = 'ɐ';
  private static final char[] EMPTY = {};
  private static final Set<String> STATEMENT_WORDS =
      Set.of("IF", "ELSIF", "ELSE", "END_IF", "CASE", "END_CASE", "FOR", "END_FOR", "WHILE", "END_WHILE", "REPEAT", "UNTIL", "END_REPEAT",
          "EXIT", "CONTINUE", "RETURN");

  enum RowKind { DRAWING, BLANK, LABEL, STATEMENT }

  /** A comment: rows of its first and last character, its text without marks. */
  record Comment(int firstRow, int lastRow, String text) {}

  /** A label as written. */
  record Label(int row, int column, int end, String text) {}

  /** A misaligned right end: where it stands. */
  record Beyond(int row, int column) {}

  final SourceText source;
  final int firstLine;
  final int rows;
  final char[][] cells;
  final RowKind[] kinds;
  final List<Comment> comments = new ArrayList<>();
  final List<Label> labels = new ArrayList<>();
  /** First column of each group of rows that hold statements; row and column. */
  final List<int[]> statements = new ArrayList<>();
  final List<Beyond> beyond = new ArrayList<>();
  int tabRow = -1;
  int tabColumn;
  int openCommentRow = -1;
  int openCommentColumn;
  int tooWideRow = -1;
  int left = -1;
  int right = -1;
  int width;

  Grid(Span span) {
    source = span.source();
    firstLine = source.lineOf(span.start());
    int lastLine = span.end() > span.start() ? source.lineOf(span.end() - 1) : firstLine;
    rows = span.end() > span.start() ? lastLine - firstLine + 1 : 0;
    cells = new char[rows][];
    kinds = new RowKind[rows];
    Arrays.fill(kinds, RowKind.BLANK);
    scan();
    if (tabRow < 0) {
      findLeftRail();
      classify();
      findRightRail();
    }
  }

  char at(int row, int column) {
    if (row < 0 || row >= rows || column < 0) {
      return ' ';
    }
    char[] r = cells[row];
    return column < r.length ? r[column] : ' ';
  }

  int length(int row) {
    return cells[row].length;
  }

  /** Span of the cells {@code from..to} of a row, both included. */
  Span span(int row, int from, int to) {
    int start = source.lineStart(firstLine + row);
    return new Span(source, Math.min(source.length(), start + from), Math.min(source.length(), start + to + 1));
  }

  /** Span of whole rows, both included. */
  Span rows(int from, int to) {
    int end = source.lineStart(firstLine + to) + Math.max(1, length(to));
    return new Span(source, source.lineStart(firstLine + from), Math.min(source.length(), end));
  }

  String text(int row, int from, int to) {
    int start = source.lineStart(firstLine + row);
    return source.slice(start + from, start + to + 1);
  }

  static boolean isPlus(char c) {
    return c == '+' || c == TEE_LEFT || c == TEE_RIGHT;
  }

  static boolean isVertical(char c) {
    return c == '|' || isPlus(c);
  }

  boolean isJoint(int row, int column) {
    char c = at(row, column);
    return c == '-' || isPlus(c);
  }

  /** Whether nothing is drawn in a row but rails. */
  boolean isBlank(int row) {
    return kinds[row] != RowKind.DRAWING || holdsNothing(row);
  }

  boolean holdsNothing(int row) {
    char[] r = cells[row];
    for (int i = 0; i < r.length; i++) {
      if (r[i] != ' ' && !isRail(row, i)) {
        return false;
      }
    }
    return true;
  }

  boolean isRail(int row, int column) {
    return column >= 0 && (column == left || column == right) && isVertical(at(row, column));
  }

  // ---- characters ----

  /** Folds and blanks, row by row; the state of an open comment is carried from row to row. */
  private void scan() {
    int depth = 0;
    char comment = 0; // '*' for (* *), '/' for /* */, '{' for a pragma
    int commentRow = 0;
    int commentColumn = 0;
    StringBuilder text = new StringBuilder();
    for (int row = 0; row < rows; row++) {
      int start = source.lineStart(firstLine + row);
      int end = firstLine + row < source.lineCount() ? source.lineStart(firstLine + row + 1) : source.length();
      while (end > start && (source.codePointAt(end - 1) == '\n' || source.codePointAt(end - 1) == '\r')) {
        end--;
      }
      int length = end - start;
      char[] out = new char[Math.min(length, MAX_WIDTH)];
      int last = -1;
      int first = 0;
      while (comment == 0 && first < out.length && isPlain(start + first)) {
        out[first] = (char) source.codePointAt(start + first);
        last = out[first] == ' ' ? last : first;
        first++;
      }
      for (int column = first; column < length; column++) {
        int c = source.codePointAt(start + column);
        int next = column + 1 < length ? source.codePointAt(start + column + 1) : -1;
        if (comment != 0) {
          put(out, column, ' ');
          if (comment == '{') {
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
              comments.add(new Comment(commentRow, row, tidy(text)));
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
          comment = c == '{' ? '{' : c == '(' ? '*' : '/';
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
          comments.add(new Comment(row, row, tidy(new StringBuilder(source.slice(start + column + 2, end)))));
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
        if (c == '\t' && tabRow < 0) {
          tabRow = row;
          tabColumn = column;
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
      if (last >= MAX_WIDTH) {
        if (tooWideRow < 0) {
          tooWideRow = row;
        }
        last = MAX_WIDTH - 1;
      }
      cells[row] = last < 0 ? EMPTY : last + 1 == out.length ? out : Arrays.copyOf(out, last + 1);
      width = Math.max(width, cells[row].length);
      maskWords(cells[row]);
    }
    if (comment != 0) {
      openCommentRow = commentRow;
      openCommentColumn = commentColumn;
    }
  }

  /** Whether a character stands for itself: it begins no comment and no quotes. */
  private boolean isPlain(int offset) {
    int c = source.codePointAt(offset);
    return c == '/' || c == '(' ? source.codePointAt(offset + 1) != '*' && source.codePointAt(offset + 1) != '/'
        : c >= ' ' && c < 0x7F && c != '{' && c != '\'' && c != '"';
  }

  /** Of {@link #maskWords}, for all rows: brackets that are open, and where masked stretches begin and end; the latter is clean between two rows. */
  private static final int SPARE = 64;
  private int[] open = new int[0];
  private int[] inside = new int[0];

  /** What looks like a link inside a word must not be taken for one by whoever looks up or down from a neighbouring row. */
  private void maskWords(char[] r) {
    boolean masks = false;
    int depth = 0;
    for (int i = 0; i < r.length; i++) {
      char c = r[i];
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
        r[i] = IN_WORD;
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
      if (level > 0 && (r[i] == '-' || isVertical(r[i]))) {
        r[i] = IN_WORD;
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

  // ---- rows and rails ----

  private void findLeftRail() {
    for (int row = 0; row < rows; row++) {
      char[] r = cells[row];
      for (int column = 0; column < r.length; column++) {
        if (isVertical(r[column])) {
          left = column;
          return;
        }
      }
    }
  }

  private void classify() {
    boolean behindStatement = false;
    for (int row = 0; row < rows; row++) {
      char[] r = cells[row];
      int from = 0;
      int to = r.length;
      if (left >= 0 && left < to && isVertical(r[left])) {
        while (from < left && r[from] == ' ') {
          from++;
        }
        if (from == left) {
          from++;
        }
      }
      boolean rail = left >= 0 && isVertical(at(row, left));
      while (from < to && r[from] == ' ') {
        from++;
      }
      int contentEnd = to;
      if (rail && contentEnd > from && r[contentEnd - 1] == '|') {
        contentEnd--;
        while (contentEnd > from && r[contentEnd - 1] == ' ') {
          contentEnd--;
        }
      }
      if (from >= contentEnd) {
        kinds[row] = rail ? RowKind.DRAWING : RowKind.BLANK;
        behindStatement &= !rail;
        continue;
      }
      if (isLabel(r, from, contentEnd)) {
        int end = contentEnd - 1;
        while (r[end - 1] == ' ') {
          end--;
        }
        labels.add(new Label(row, from, end - 1, text(row, from, end - 1)));
        kinds[row] = RowKind.LABEL;
        behindStatement = false;
        continue;
      }
      boolean statement = !hasLink(r, from, contentEnd)
          && (hasStatementMark(row, from, contentEnd) || !rail && (behindStatement || startsStatement(row, from)));
      if (statement) {
        kinds[row] = RowKind.STATEMENT;
        if (!behindStatement) {
          statements.add(new int[] {row, from});
        }
        behindStatement = true;
      } else {
        kinds[row] = RowKind.DRAWING;
        behindStatement = false;
      }
    }
  }

  private static boolean isLabel(char[] r, int from, int end) {
    if (r[end - 1] != ':') {
      return false;
    }
    int i = from;
    boolean digits = true;
    for (; i < end - 1 && (Character.isLetterOrDigit(r[i]) || r[i] == '_'); i++) {
      digits &= r[i] >= '0' && r[i] <= '9';
    }
    boolean name = i > from && (digits || !Character.isDigit(r[from]));
    while (i < end - 1 && r[i] == ' ') {
      i++;
    }
    return name && i == end - 1;
  }

  private static boolean hasLink(char[] r, int from, int end) {
    for (int i = from; i < end; i++) {
      if (isVertical(r[i]) && (i == from || i + 1 == end || r[i - 1] == '-' || r[i + 1] == '-')
          || r[i] == '-' && i + 1 < end && r[i + 1] == '-') {
        return true;
      }
    }
    return false;
  }

  private boolean hasStatementMark(int row, int from, int end) {
    char[] r = cells[row];
    char quote = 0;
    for (int i = from; i < end; i++) {
      if (quote != 0) {
        if (r[i] == '$') {
          i++;
        } else if (r[i] == quote) {
          quote = 0;
        }
      } else if (r[i] == '\'' || r[i] == '"') {
        quote = r[i];
      } else if (r[i] == ';' || r[i] == ':' && i + 1 < end && r[i + 1] == '=') {
        return true;
      }
    }
    return false;
  }

  private boolean startsStatement(int row, int from) {
    char[] r = cells[row];
    int end = from;
    while (end < r.length && (Character.isLetter(r[end]) || r[end] == '_')) {
      end++;
    }
    return end > from && STATEMENT_WORDS.contains(new String(r, from, end - from).toUpperCase(Locale.ROOT));
  }

  /**
   * The right rail is the rightmost column if it holds nothing but {@code |} and {@code +}. One row that is too long, or a remark behind
   * the rail, must not turn every other row into an error, so a column in which nearly all rows end is taken when that one fails.
   */
  private void findRightRail() {
    if (left < 0) {
      return;
    }
    int rightmost = -1;
    int drawn = 0;
    int[] ends = new int[width + 1];
    for (int row = 0; row < rows; row++) {
      if (kinds[row] != RowKind.DRAWING) {
        continue;
      }
      char[] r = cells[row];
      rightmost = Math.max(rightmost, r.length - 1);
      if (isVertical(at(row, left))) {
        drawn++;
        int c = r.length - 1;
        while (c > left && !isVertical(r[c])) {
          c--;
        }
        if (c > left && at(row, c + 1) != '-') {
          ends[c]++;
        }
      }
    }
    if (rightmost <= left) {
      return;
    }
    boolean clean = true;
    int count = 0;
    for (int row = 0; row < rows && clean; row++) {
      if (kinds[row] == RowKind.DRAWING && cells[row].length - 1 == rightmost) {
        clean = isVertical(cells[row][rightmost]);
        count++;
      }
    }
    if (clean && count * 2 > drawn) {
      right = rightmost;
      return;
    }
    for (int c = rightmost - 1; c > left && drawn > 1; c--) {
      if (ends[c] * 5 >= drawn * 4 && standsFree(c)) {
        right = c;
        for (int row = 0; row < rows; row++) {
          if (kinds[row] == RowKind.DRAWING && cells[row].length > c + 1 && !isVertical(at(row, c))) {
            beyond.add(new Beyond(row, cells[row].length - 1));
            cells[row] = Arrays.copyOf(cells[row], c + 1);
            cells[row][c] = at(row, c) == '-' ? '+' : at(row, c);
          }
        }
        return;
      }
    }
    if (clean) {
      right = rightmost;
    }
  }

  /** No link leaves the column to the right: as a vertical link it would lead nowhere. */
  private boolean standsFree(int column) {
    for (int row = 0; row < rows; row++) {
      if (kinds[row] == RowKind.DRAWING && isVertical(at(row, column)) && at(row, column + 1) == '-') {
        return false;
      }
    }
    return true;
  }
}
