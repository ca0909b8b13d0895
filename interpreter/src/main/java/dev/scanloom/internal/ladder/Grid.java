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

  Grid(Span span) {
    source = span.source();
    firstLine = source.lineOf(span.start());
    int lastLine = span.end() > span.start() ? source.lineOf(span.end() - 1) : firstLine;
    rows = span.end() > span.start() ? lastLine - firstLine + 1 : 0;
    cells = new char[rows][];
    kinds = new RowKind[rows];
    Arrays.fill(kinds, RowKind.BLANK);
    RowScanner scanner = new RowScanner(this);
    RowEnds ends = new RowEnds();
    boolean behindStatement = false;
    for (int row = 0; row < rows; row++) {
      behindStatement = read(scanner, row, behindStatement, ends);
    }
    scanner.finish();
    if (left >= 0 && tabRow < 0) {
      findRightRail(ends);
    }
  }

  /** Whether the row is of a statement, or blank behind one. The left rail is where the first vertical character stands. */
  private boolean read(RowScanner scanner, int row, boolean behindStatement, RowEnds ends) {
    cells[row] = scanner.scan(row);
    if (left < 0) {
      left = firstVertical(row);
    }
    boolean ofStatement = classify(row, behindStatement);
    if (kinds[row] == RowKind.DRAWING) {
      ends.add(row);
    }
    return ofStatement;
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

  /** The character as written. */
  int codePoint(int row, int column) {
    return source.codePointAt(source.lineStart(firstLine + row) + column);
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

  static boolean isLetterOrDigit(char c) {
    return c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c > 0x7F && Character.isLetterOrDigit(c);
  }

  boolean isRail(int row, int column) {
    return column >= 0 && (column == left || column == right) && isVertical(at(row, column));
  }

  // ---- rows and rails ----

  private int firstVertical(int row) {
    char[] r = cells[row];
    for (int column = 0; column < r.length; column++) {
      if (isVertical(r[column])) {
        return column;
      }
    }
    return -1;
  }

  /** Whether the row is of a statement, or blank behind one. */
  private boolean classify(int row, boolean behindStatement) {
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
      return behindStatement && !rail;
    }
    if (isLabel(r, from, contentEnd)) {
      int end = contentEnd - 1;
      while (r[end - 1] == ' ') {
        end--;
      }
      labels.add(new Label(row, from, end - 1, text(row, from, end - 1)));
      kinds[row] = RowKind.LABEL;
      return false;
    }
    boolean statement = !hasLink(r, from, contentEnd)
        && (hasStatementMark(row, from, contentEnd) || !rail && (behindStatement || startsStatement(row, from)));
    kinds[row] = statement ? RowKind.STATEMENT : RowKind.DRAWING;
    if (statement && !behindStatement) {
      statements.add(new int[] {row, from});
    }
    return statement;
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
  private void findRightRail(RowEnds ends) {
    int rightmost = ends.rightmost;
    if (rightmost <= left) {
      return;
    }
    boolean clean = ends.open[rightmost] == 0;
    if (clean && ends.rows[rightmost] * 2 > ends.drawn) {
      right = rightmost;
      return;
    }
    for (int c = rightmost - 1; c > left && ends.drawn > 1; c--) {
      if (ends.rails[c] * 5 >= ends.drawn * 4 && standsFree(c)) {
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

  /** Where rows of the drawing end. */
  private final class RowEnds {
    int rightmost = -1;
    /** Rows that begin at the left rail. */
    int drawn;
    /** By column: those of them whose last vertical character stands there, and ends the links. */
    int[] rails = {};
    /** By column: rows whose last character stands there; those where it is no vertical one. */
    int[] rows = {};
    int[] open = {};

    void add(int row) {
      char[] r = cells[row];
      int last = r.length - 1;
      if (last > rightmost) {
        rightmost = last;
        if (last >= rows.length) {
          int size = Math.max(last + 1, rows.length * 2);
          rails = Arrays.copyOf(rails, size);
          rows = Arrays.copyOf(rows, size);
          open = Arrays.copyOf(open, size);
        }
      }
      if (last >= 0) {
        rows[last]++;
        open[last] += isVertical(r[last]) ? 0 : 1;
      }
      if (isVertical(at(row, left))) {
        drawn++;
        int c = last;
        while (c > left && !isVertical(r[c])) {
          c--;
        }
        if (c > left && at(row, c + 1) != '-') {
          rails[c]++;
        }
      }
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
