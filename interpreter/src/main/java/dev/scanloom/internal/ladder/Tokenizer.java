package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxNode;
import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Connector;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.Token;
import dev.scanloom.internal.ladder.Sketch.Type;
import dev.scanloom.internal.ladder.Sketch.Word;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/** Tokens of a row: rails, elements, links, joints, words. */
final class Tokenizer {
  private static final int LONGEST_MARK = 40;
  private static final int LONGEST_COIL = 12;
  private static final int MAX_BRACKETS = 64;

  /** Of compare contacts, compiled when one is met. */
  private static final class Comparisons {
    static final Pattern PATTERN =
        Pattern.compile("\\s*(<>|<=|>=|=|<|>|(?:EQ|NE|LT|LE|GT|GE)(?=\\s|$))\\s*([\\p{L}_][\\p{L}\\p{N}_]*)?\\s*", Pattern.CASE_INSENSITIVE);
  }

  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final VerticalLinks verticalLinks;
  private final List<Token> tokens = new ArrayList<>(20);

  Tokenizer(Sketch sketch, VerticalLinks verticalLinks) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    this.verticalLinks = verticalLinks;
  }

  /** The list is good until the next row is asked for. */
  List<Token> tokenize(int row) {
    tokens.clear();
    List<BoxNode> inRow = sketch.boxes(row);
    if (inRow.size() > 1) {
      inRow.sort(Comparator.comparingInt(b -> b.left));
    }
    int nextBox = 0;
    char[] cells = grid.cells[row];
    int length = cells.length;
    int c = 0;
    while (c < length) {
      BoxNode box = nextBox < inRow.size() ? inRow.get(nextBox) : null;
      int limit = box == null ? length : box.left;
      if (box != null && c >= box.left) {
        nextBox++;
        if (row != box.top && row != box.bottom) {
          c = boxTokens(row, box);
        } else {
          if (box.cornerTouched) { // ends the link that touches it, which was reported
            tokens.add(new Token(Type.STRAY, row, box.left, box.right));
          }
          c = box.right + 1;
        }
        continue;
      }
      char ch = cells[c];
      if (ch == ' ') {
        c++;
        continue;
      }
      if (box != null && c == box.left - 1 && ch == 'O' && row != box.top && row != box.bottom && grid.isJoint(row, c - 1)) {
        box.pins[row - box.top - 1].negatedLeft = true;
        c++;
        continue;
      }
      if (c == grid.left && Grid.isVertical(ch)) {
        tokens.add(new Token(Type.LEFT_RAIL, row, c, c));
        c++;
        continue;
      }
      if (c == grid.right && Grid.isVertical(ch)) {
        tokens.add(new Token(Type.RIGHT_RAIL, row, c, c));
        c++;
        continue;
      }
      Token previous = tokens.isEmpty() ? null : tokens.get(tokens.size() - 1);
      Token t = next(row, c, limit, ch, previous);
      tokens.add(t);
      c = t.to + 1;
    }
    return tokens;
  }

  private int boxTokens(int row, BoxNode box) {
    BoxRow pin = box.pins[row - box.top - 1];
    Token l = new Token(Type.BOX_LEFT, row, pin.negatedLeft ? box.left - 1 : box.left, box.left);
    l.pin = pin;
    tokens.add(l);
    Token r = new Token(Type.BOX_RIGHT, row, box.right, box.right);
    r.pin = pin;
    if (grid.at(row, box.right + 1) == 'O' && grid.isJoint(row, box.right + 2)) {
      pin.negatedRight = true;
      r.to++;
    }
    tokens.add(r);
    return r.to + 1;
  }

  private Token next(int row, int c, int limit, char ch, Token previous) {
    boolean touchesLeft = grid.isJoint(row, c - 1) || previous != null && previous.to == c - 1
        && (previous.type == Type.ELEMENT || previous.type == Type.LEFT_RAIL || previous.type == Type.BOX_RIGHT);
    if (ch == '|' || ch == Grid.TEE_LEFT) {
      Token contact = contact(row, c, limit, touchesLeft);
      if (contact != null) {
        return contact;
      }
    }
    if (ch == '(') {
      Token coil = coil(row, c, limit, touchesLeft);
      if (coil != null) {
        return coil;
      }
    }
    if (ch == '>' || ch == '<') {
      Token arrow = arrow(row, c, limit, touchesLeft);
      if (arrow != null) {
        return arrow;
      }
    }
    if (Grid.isPlus(ch)) {
      return verticalToken(Type.PLUS, row, c);
    }
    if (ch == '|') {
      return verticalToken(Type.BAR, row, c);
    }
    if (ch == '-' && !isSign(row, c)) {
      return dash(row, c, limit);
    }
    if (startsWord(ch) || ch == '-') {
      int end = wordEnd(row, c, limit);
      Token t = new Token(Type.WORD, row, c, end);
      t.word = new Word(row, c, end);
      sketch.add(t.word);
      return t;
    }
    int end = c;
    while (end + 1 < limit && isStray(grid.at(row, end + 1))) {
      end++;
    }
    findings.error("ladder/stray-text", row, c, end, grid.text(row, c, end) + " belongs to no element", "a comment is written (* *)");
    return new Token(Type.STRAY, row, c, end);
  }

  private static boolean isStray(char c) {
    return c != ' ' && c != '-' && !Grid.isVertical(c) && !startsWord(c) && c != '(' && c != '>' && c != '<';
  }

  private Token verticalToken(Type type, int row, int c) {
    Token t = new Token(type, row, c, c);
    t.vertical = verticalLinks.verticalAt(row, c, type == Type.PLUS);
    sketch.tokensWithVertical.add(t);
    return t;
  }

  private boolean isTall(int row, int open, int close) {
    return hasVerticalNeighbour(row, open) || hasVerticalNeighbour(row, close);
  }

  /** What stands between the ends of a contact or coil. */
  private String mark(int row, int from, int to) {
    if (from > to) {
      return "";
    }
    return switch (from < to ? -1 : grid.codePoint(row, from)) {
      case ' ' -> " ";
      case '/' -> "/";
      default -> grid.text(row, from, to);
    };
  }

  private boolean hasVerticalNeighbour(int row, int c) {
    return Grid.isVertical(grid.at(row - 1, c)) && !sketch.inside(row - 1, c) || row + 1 < grid.rows
        && Grid.isVertical(grid.at(row + 1, c)) && !sketch.inside(row + 1, c);
  }

  private Token contact(int row, int c, int limit, boolean touchesLeft) {
    int close = -1;
    for (int j = c + 1; j < limit && j <= c + LONGEST_MARK && j != grid.right; j++) {
      char k = grid.at(row, j);
      if (k == '|' || k == Grid.TEE_RIGHT) {
        close = j;
        break;
      }
      if (k == '-' || Grid.isPlus(k)) {
        return null;
      }
    }
    if (close < 0) {
      return null;
    }
    char after = grid.at(row, close + 1);
    boolean touchesRight = grid.isJoint(row, close + 1) || close + 1 == grid.right && Grid.isVertical(after);
    int inner = close - c - 1;
    String mark = mark(row, c + 1, close - 1);
    String trimmed = mark.strip();
    Matcher comparison = trimmed.isEmpty() || trimmed.equals("/") ? null : Comparisons.PATTERN.matcher(mark);
    boolean compare = comparison != null && comparison.matches();
    boolean known = compare || inner == 1 && (trimmed.isEmpty() || trimmed.equals("/") || trimmed.equals("P") || trimmed.equals("N"));
    boolean is;
    if (touchesLeft && touchesRight) {
      is = known || inner > 0 && !trimmed.isEmpty() || !isTall(row, c, close);
    } else if (touchesLeft || touchesRight) {
      is = (known || !trimmed.isEmpty() && mark.charAt(0) != ' ' && inner <= LONGEST_COIL) && !isTall(row, c, close);
    } else {
      is = known && !isTall(row, c, close);
    }
    if (!is) {
      return null;
    }
    Part p = new Part(compare ? Kind.COMPARE : Kind.CONTACT, row, c, close);
    p.mark = compare ? comparison.group(1).toUpperCase(Locale.ROOT) : trimmed;
    if (compare && comparison.group(2) != null) {
      p.name = comparison.group(2);
      p.nameFrom = c + 1 + mark.codePointCount(0, comparison.start(2));
      p.nameTo = c + 1 + mark.codePointCount(0, comparison.end(2)) - 1;
    }
    if (!known) {
      int at = c + 1;
      while (at < close - 1 && grid.at(row, at) == ' ') {
        at++;
      }
      p.mark = "";
      findings.error("ladder/unknown-mark", row, Math.min(at, close), Math.max(at, close - 1), trimmed.isEmpty()
          ? "a contact holds exactly one mark; found " + (inner == 0 ? "none" : inner + " blanks")
          : "no contact is marked " + trimmed + "; contacts: blank / P N and comparisons");
    }
    return element(p);
  }

  private Token coil(int row, int c, int limit, boolean touchesLeft) {
    int close = -1;
    for (int j = c + 1; j < limit && j <= c + LONGEST_COIL; j++) {
      char k = grid.at(row, j);
      if (k == ')') {
        close = j;
        break;
      }
      if (k == '|' || k == '(') {
        break;
      }
    }
    if (close < 0) {
      return null;
    }
    int inner = close - c - 1;
    String mark = mark(row, c + 1, close - 1);
    String trimmed = mark.strip();
    boolean plain = inner == 1 && (trimmed.isEmpty() || trimmed.equals("/"));
    if (!touchesLeft && !plain) {
      if (inner != 1 || "SRPN".indexOf(trimmed.charAt(0)) < 0) {
        return null;
      }
      int after = close + 1;
      while (after < grid.length(row) && grid.at(row, after) == ' ') {
        after++;
      }
      if (after < grid.length(row) && after != grid.right) {
        return null;
      }
      if (row + 1 < grid.rows && !grid.isJoint(row, c - 1) && !hasDashes(row)) {
        return null;
      }
    }
    Part p = new Part(Kind.COIL, row, c, close);
    p.mark = trimmed;
    if (!(inner == 1 && (trimmed.isEmpty() || "/SRPN".contains(trimmed)))) {
      p.mark = "";
      findings.error("ladder/unknown-mark", row, inner == 0 ? close : c + 1, inner == 0 ? close : close - 1, trimmed.isEmpty()
          ? "a coil holds exactly one mark; found " + (inner == 0 ? "none" : inner + " blanks")
          : "no coil is marked " + trimmed + "; coils: blank / S R P N");
    }
    return element(p);
  }

  private boolean hasDashes(int row) {
    char[] r = grid.cells[row];
    for (int i = 0; i + 1 < r.length; i++) {
      if (r[i] == '-' && r[i + 1] == '-') {
        return true;
      }
    }
    return false;
  }

  /** Jump, return or connector. */
  private Token arrow(int row, int c, int limit, boolean touchesLeft) {
    char ch = grid.at(row, c);
    if (ch == '<') {
      int end = c + 1;
      while (end < limit && Character.isLetter(grid.at(row, end))) {
        end++;
      }
      if (end < limit && grid.at(row, end) == '>' && grid.text(row, c + 1, end - 1).equalsIgnoreCase("RETURN") && end > c + 1) {
        return element(new Part(Kind.RETURN, row, c, end));
      }
      return null;
    }
    boolean jump = grid.at(row, c + 1) == '>';
    int start = jump ? c + 2 : c + 1;
    int end = start;
    while (end < limit && (Grid.isLetterOrDigit(grid.at(row, end)) || grid.at(row, end) == '_')) {
      end++;
    }
    if (end == start) {
      return null;
    }
    boolean connector = !jump && end < limit && grid.at(row, end) == '>';
    if (!jump && !connector) {
      return null;
    }
    Part p = new Part(jump ? Kind.JUMP : touchesLeft ? Kind.FEED : Kind.CONTINUATION, row, c, connector ? end : end - 1);
    p.name = grid.text(row, start, end - 1);
    p.nameFrom = start;
    p.nameTo = end - 1;
    if (connector) {
      Connector k = sketch.connectors.computeIfAbsent(p.name.toUpperCase(Locale.ROOT), Connector::new);
      (p.kind == Kind.FEED ? k.feeds : k.continuations).add(p);
    }
    return element(p);
  }

  /** Adds an element to what was found. */
  private Token element(Part p) {
    sketch.parts.add(p);
    Token t = new Token(Type.ELEMENT, p.row, p.from, p.to);
    t.part = p;
    return t;
  }

  private boolean isSign(int row, int c) {
    char next = grid.at(row, c + 1);
    return next >= '0' && next <= '9' && (c == 0 || grid.at(row, c - 1) == ' ');
  }

  private Token dash(int row, int c, int limit) {
    char[] cells = grid.cells[row];
    int end = c;
    while (end + 1 < limit) {
      char k = cells[end + 1];
      if (k == '-') {
        end++;
      } else if (k == '|' && end + 1 != grid.right && end + 1 != grid.left && end + 2 < limit && grid.at(row, end + 2) == '-'
          && Grid.isVertical(grid.at(row - 1, end + 1)) && Grid.isVertical(grid.at(row + 1, end + 1))) {
        verticalLinks.verticalAt(row, end + 1, false);
        end++;
      } else {
        break;
      }
    }
    return new Token(Type.DASH, row, c, end);
  }

  private static boolean startsWord(char c) {
    return Grid.isLetterOrDigit(c) || c == '_' || c == '%' || c == '(' || c == '\'' || c == '"';
  }

  /** Last column of the word that starts at {@code c}. */
  private int wordEnd(int row, int c, int limit) {
    int end = c;
    if (grid.at(row, c) == '-') {
      end++;
    }
    boolean address = grid.at(row, c) == '%';
    int i = end;
    while (i < limit) {
      char ch = grid.at(row, i);
      if (ch == '(' || ch == '[') {
        int close = bracketEnd(row, i, limit);
        if (close < 0) {
          if (i == c) {
            end = i;
            i++;
            continue;
          }
          break;
        }
        end = close;
        i = close + 1;
      } else if (ch == '\'' || ch == '"') {
        int close = quoteEnd(row, i, limit);
        end = close < 0 ? i : close;
        i = end + 1;
      } else if (Grid.isLetterOrDigit(ch) || ch == '_' || ch == '.' || ch == '#' || ch == '%' || ch == '^' || ch == ':'
          || ch == Grid.IN_WORD && i > c || ch == '*' && address) {
        end = i;
        i++;
      } else if ((ch == '-' || ch == '+') && i > c && i + 1 < limit && Grid.isLetterOrDigit(grid.at(row, i + 1))
          && (Grid.isLetterOrDigit(grid.at(row, i - 1)) || ch == '-' && grid.at(row, i - 1) == '#')
          && !negationMark(row, i + 1, limit)) {
        end = i + 1;
        i += 2;
      } else {
        break;
      }
    }
    return end;
  }

  /** An {@code O} between link and border is a mark, not the end of a word. */
  private boolean negationMark(int row, int c, int limit) {
    return grid.at(row, c) == 'O' && c + 1 == limit && sketch.inside(row, limit);
  }

  private int bracketEnd(int row, int from, int limit) {
    int depth = 0;
    for (int i = from; i < limit; i++) {
      char ch = grid.at(row, i);
      if (ch == '(' || ch == '[') {
        if (++depth > MAX_BRACKETS) {
          return -1;
        }
      } else if (ch == ')' || ch == ']') {
        if (--depth == 0) {
          return i;
        }
      } else if (ch == '\'' || ch == '"') {
        int close = quoteEnd(row, i, limit);
        if (close > 0) {
          i = close;
        }
      } else if (ch == '|' && i == grid.right) {
        return -1;
      }
    }
    return -1;
  }

  private int quoteEnd(int row, int from, int limit) {
    char quote = grid.at(row, from);
    for (int i = from + 1; i < limit; i++) {
      char ch = grid.at(row, i);
      if (ch == '$') {
        i++;
      } else if (ch == quote) {
        return i;
      }
    }
    return -1;
  }
}
