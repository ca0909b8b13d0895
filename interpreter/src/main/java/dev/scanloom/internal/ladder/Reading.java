package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing.CoilMark;
import dev.scanloom.internal.ladder.Drawing.Comparison;
import dev.scanloom.internal.ladder.Drawing.ContactMark;
import dev.scanloom.internal.ladder.Drawing.EdgeMark;
import dev.scanloom.internal.ladder.Drawing.Link;
import dev.scanloom.internal.ladder.Drawing.Out;
import dev.scanloom.internal.ladder.Drawing.Port;
import dev.scanloom.internal.ladder.Drawing.Rail;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.Problems;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Comparator;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import java.util.function.Function;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * One reading of one drawing. The passes, in order: boxes; tokens of each row; horizontal links between tokens; vertical links; states of
 * links; evaluation order; operands; networks. Every pass is a loop over what the one before it found; the only searches that look around
 * are bounded by a constant.
 */
final class Reading {
  private static final Pattern COMPARISON =
      Pattern.compile("\\s*(<>|<=|>=|=|<|>|(?:EQ|NE|LT|LE|GT|GE)(?=\\s|$))\\s*([\\p{L}_][\\p{L}\\p{N}_]*)?\\s*", Pattern.CASE_INSENSITIVE);
  private static final int LONGEST_MARK = 40;
  private static final int LONGEST_COIL = 12;
  private static final int VERTICAL_GAP = 4;
  private static final int NEAR_OPERAND = 8;
  private static final int MAX_BRACKETS = 64;
  private static final long RAIL = -1L;

  private enum Kind { CONTACT, COMPARE, COIL, JUMP, RETURN, FEED, CONTINUATION, BOX, ASSIGN }

  private enum Type { LEFT_RAIL, RIGHT_RAIL, PLUS, BAR, DASH, ELEMENT, BOX_LEFT, BOX_RIGHT, WORD, STRAY }

  /** A token of a row; the columns are both included. */
  private static final class Token {
    final Type type;
    final int row;
    int from;
    int to;
    Part part;
    Word word;
    BoxRow pin;
    int vertical = -1;
    boolean reported;
    Horizontal in;
    Horizontal out;

    Token(Type type, int row, int from, int to) {
      this.type = type;
      this.row = row;
      this.from = from;
      this.to = to;
    }
  }

  private static final class Word {
    final int row;
    final int from;
    final int to;
    boolean touched;
    boolean used;
    Claim claim;

    Word(int row, int from, int to) {
      this.row = row;
      this.from = from;
      this.to = to;
    }
  }

  /** An element of the drawing before it becomes one of the graph. Connectors are parts too, though not elements. */
  private static final class Part {
    final Kind kind;
    final int row;
    final int from;
    final int to;
    int id = -1;
    String mark = "";
    String name = "";
    int nameFrom;
    int nameTo;
    Horizontal in;
    Horizontal out;
    BoxNode box;
    boolean dropped;
    /** A variable at the left end of a link: a contact on the rail without its bars. */
    boolean bare;
    Word above;
    Word below;
    int index;

    Part(Kind kind, int row, int from, int to) {
      this.kind = kind;
      this.row = row;
      this.from = from;
      this.to = to;
    }
  }

  private static final class BoxRow {
    final BoxNode box;
    final int row;
    int leftFrom = -1;
    int leftTo;
    int rightFrom = -1;
    int rightTo;
    boolean inOut;
    char leftBorder = '|';
    boolean negatedLeft;
    boolean negatedRight;
    Horizontal in;
    Horizontal out;
    Word value;
    List<Word> targets = List.of();
    int output = -1;
    boolean dropInput;
    boolean dropOutput;

    BoxRow(BoxNode box, int row) {
      this.box = box;
      this.row = row;
    }
  }

  private static final class BoxNode {
    final int top;
    final int left;
    final int right;
    int bottom;
    int typeRow = -1;
    int typeFrom;
    int typeTo;
    BoxRow[] pins;
    Part part;
    boolean cornerTouched;
    boolean bottomMissing;

    BoxNode(int top, int left, int right) {
      this.top = top;
      this.left = left;
      this.right = right;
    }
  }

  /** A horizontal link between two tokens; either end may be missing. */
  private static final class Horizontal {
    final int row;
    int from;
    int to;
    Token left;
    Token right;
    /** Its source is the constant TRUE, drawn as a word: the rail without a rail. */
    boolean bare;
    /** Nothing is said about a missing source again. */
    boolean poisoned;
    /** Stands for the state of another link: what follows a jump. */
    Horizontal alias;

    Horizontal(int row, int from) {
      this.row = row;
      this.from = from;
      this.to = from - 1;
    }
  }

  private static final class Vertical {
    final int column;
    int top;
    int bottom;
    final List<Horizontal> ins = new ArrayList<>(2);
    final List<Horizontal> outs = new ArrayList<>(2);
    int plusRow = -1;
    boolean bottomIsPlus;
    boolean topIsPlus;
    boolean reported;

    Vertical(int column, int row) {
      this.column = column;
      top = row;
      bottom = row;
    }
  }

  private static final class Connector {
    final String name;
    final List<Part> feeds = new ArrayList<>(1);
    final List<Part> continuations = new ArrayList<>(1);
    boolean looped;
    int number;

    Connector(String name) {
      this.name = name;
    }
  }

  /** What a link carries: ports in the order of their elements, and through which connectors they came. */
  private record State(long[] ports, boolean poisoned, List<Connector> through) {
    static final State NOTHING = new State(new long[0], false, List.of());
    static final State POISON = new State(new long[0], true, List.of());
  }

  private record Finding(Severity severity, String code, int row, int from, int to, String message, String hint, Span related,
      String relatedMessage) {}

  private final Span region;
  private final Grid grid;
  private final Problems problems;
  private final Function<Span, Expression> expressions;

  private final List<Finding> findings = new ArrayList<>();
  private final List<BoxNode> boxes = new ArrayList<>();
  private final List<BoxNode>[] boxesOfRow;
  private final List<Word>[] words;
  private final List<Part> parts = new ArrayList<>();
  private final List<Horizontal> horizontals = new ArrayList<>();
  private final List<Vertical> verticals = new ArrayList<>();
  private final List<Token> tokensWithVertical = new ArrayList<>();
  private int[] lastVertical = new int[0]; // by column
  private int[] mergedVertical;
  private final Map<String, Connector> connectors = new LinkedHashMap<>();
  private Part[] elements;
  private State[] verticalStates;
  private final Map<Connector, State> connectorStates = new LinkedHashMap<>();
  private int[] union;

  @SuppressWarnings({"unchecked", "rawtypes"})
  Reading(Span region, Problems problems, Function<Span, Expression> expressions) {
    this.region = region;
    this.problems = problems;
    this.expressions = expressions;
    this.grid = new Grid(region);
    this.boxesOfRow = new List[grid.rows];
    this.words = new List[grid.rows];
  }

  Drawing read() {
    if (grid.tabRow >= 0) {
      Span at = grid.span(grid.tabRow, grid.tabColumn, grid.tabColumn);
      problems.add(Diagnostic.error("ladder/tab", at, "a tab in a drawing; use blanks, columns count characters")
          .withHint("replace every tab by as many blanks as it shows"));
      return new Drawing(region, List.of());
    }
    if (grid.openCommentRow >= 0) {
      error("ladder/open-comment", grid.openCommentRow, grid.openCommentColumn, grid.openCommentColumn,
          "this comment or pragma is not closed in the drawing");
    }
    if (grid.tooWideRow >= 0) {
      error("limit/ladder-width", grid.tooWideRow, Grid.MAX_WIDTH - 1, Grid.MAX_WIDTH - 1,
          "this row is wider than " + Grid.MAX_WIDTH + " columns; what stands behind is not read");
    }
    for (int[] s : grid.statements) {
      error("ladder/statement", s[0], s[1], Math.max(s[1], grid.length(s[0]) - 1),
          "a ladder body holds no statements; one notation per body");
    }
    for (Grid.Beyond b : grid.beyond) {
      error("ladder/right-rail", b.row(), b.column(), b.column(),
          "this row misses the right rail in column " + (grid.right + 1) + " of the drawing");
    }
    findBoxes();
    for (int row = 0; row < grid.rows; row++) {
      if (grid.kinds[row] == Grid.RowKind.DRAWING) {
        linkRow(row, tokenize(row));
      }
    }
    finishVerticals();
    wordsAtLinks();
    numberElements();
    connect();
    resolve();
    reportUnfed();
    List<Integer> order = evaluationOrder();
    claimOperands();
    reportStray();
    List<Drawing.Network> networks = build(order);
    emit(networks);
    return new Drawing(region, networks);
  }

  // ---- findings ----

  private void error(String code, int row, int from, int to, String message) {
    error(code, row, from, to, message, null);
  }

  private void error(String code, int row, int from, int to, String message, String hint) {
    findings.add(new Finding(Severity.ERROR, code, row, from, to, message, hint, null, null));
  }

  private void emit(List<Drawing.Network> networks) {
    int[] networkOfRow = new int[grid.rows];
    for (Drawing.Network n : networks) {
      int from = grid.source.lineOf(n.span().start()) - grid.firstLine;
      int to = grid.source.lineOf(Math.max(n.span().start(), n.span().end() - 1)) - grid.firstLine;
      for (int row = from; row <= to && row < grid.rows; row++) {
        if (networkOfRow[row] == 0) {
          networkOfRow[row] = n.number();
        } else {
          break;
        }
      }
    }
    findings.sort(Comparator.comparingInt(Finding::row).thenComparingInt(Finding::from));
    for (Finding f : findings) {
      int network = networkOfRow[f.row];
      Diagnostic d = new Diagnostic(f.severity, f.code, grid.span(f.row, f.from, f.to),
          network == 0 ? f.message : f.message + " (network " + network + ")", Optional.ofNullable(f.hint), List.of());
      problems.add(f.related == null ? d : d.withRelated(f.related, f.relatedMessage));
    }
  }

  private static String describe(Part p) {
    return switch (p.kind) {
      case CONTACT -> "contact";
      case COMPARE -> "compare contact";
      case COIL -> "coil";
      case JUMP -> "jump";
      case RETURN -> "return";
      case FEED, CONTINUATION -> "connector";
      case BOX -> "box";
      case ASSIGN -> "assignment";
    };
  }

  // ---- boxes ----

  /** A border is a row of {@code -} between two {@code +}, the same some rows below, and sides between them. */
  private void findBoxes() {
    for (int row = 0; row < grid.rows; row++) {
      if (grid.kinds[row] != Grid.RowKind.DRAWING) {
        continue;
      }
      int column = 0;
      while (column < grid.length(row)) {
        if (grid.at(row, column) != '+' || grid.isRail(row, column) || grid.at(row, column + 1) != '-') {
          column++;
          continue;
        }
        int end = column + 1;
        while (grid.at(row, end) == '-') {
          end++;
        }
        if (grid.at(row, end) == '+' && !grid.isRail(row, end) && end > column + 1 && endsFree(row, column, end, -1)
            && !inside(row, column)) {
          BoxNode box = closeBox(row, column, end);
          if (box != null) {
            addBox(box);
          }
        }
        column = end;
      }
    }
  }

  private boolean sidesFree(int row, int left, int right) {
    return !touches(grid.at(row, left - 1), row, left - 1) && !touches(grid.at(row, right + 1), row, right + 1);
  }

  private boolean endsFree(int row, int left, int right, int outward) {
    return !Grid.isVertical(grid.at(row + outward, left)) && !Grid.isVertical(grid.at(row + outward, right));
  }

  private boolean touches(char c, int row, int column) {
    return (c == '-' || Grid.isPlus(c)) && !(c != '-' && grid.isRail(row, column));
  }

  private boolean inside(int row, int column) {
    List<BoxNode> list = boxesOfRow[row];
    if (list != null) {
      for (BoxNode b : list) {
        if (column >= b.left && column <= b.right) {
          return true;
        }
      }
    }
    return false;
  }

  private static boolean isSide(char c) {
    return c == '|' || c == '>' || c == '<' || c == Grid.TEE_LEFT || c == Grid.TEE_RIGHT;
  }

  /**
   * The box whose top border is given, or null where links form the rectangle. A link at a corner, a hole in a side and a missing bottom
   * border are tolerated (and reported by {@link #addBox}) only where no legal drawing could look so.
   */
  private BoxNode closeBox(int top, int left, int right) {
    boolean free = sidesFree(top, left, right);
    boolean whole = true;
    int row = top + 1;
    for (; row < grid.rows && grid.kinds[row] == Grid.RowKind.DRAWING; row++) {
      char l = grid.at(row, left);
      char r = grid.at(row, right);
      if (l == '+' && r == '+' && isEdge(row, left, right)) {
        free &= sidesFree(row, left, right);
        if (row == top + 1 || !endsFree(row, left, right, 1) || !free && !whole) {
          return null;
        }
        BoxNode box = new BoxNode(top, left, right);
        box.bottom = row;
        box.cornerTouched = !free;
        return hasContent(box, !free) ? box : null;
      }
      if (!isSide(l) && !isSide(r)) {
        break;
      }
      whole &= isSide(l) && isSide(r);
    }
    if (!free || !whole || row < top + 3) {
      return null;
    }
    BoxNode box = new BoxNode(top, left, right);
    box.bottom = row;
    box.bottomMissing = true;
    return hasContent(box, true) ? box : null;
  }

  private boolean isEdge(int row, int left, int right) {
    for (int c = left + 1; c < right; c++) {
      if (grid.at(row, c) != '-') {
        return false;
      }
    }
    return true;
  }

  /** A rectangle of links with nothing in it is no box; where its border is damaged, a name in it must prove that one is meant. */
  private boolean hasContent(BoxNode box, boolean name) {
    for (int row = box.top + 1; row < box.bottom; row++) {
      for (int c = box.left + 1; c < box.right; c++) {
        char k = grid.at(row, c);
        if (name ? Character.isLetter(k) : k != ' ') {
          return true;
        }
      }
    }
    return false;
  }

  private void addBox(BoxNode box) {
    boxes.add(box);
    if (box.cornerTouched) {
      error("ladder/box-corner", box.top, box.left, box.left, "a link touches a corner of this box; a link reaches a box at its sides");
    }
    if (box.bottomMissing) {
      error("ladder/box-open", box.top, box.left, box.left,
          "the bottom border of this box is missing; expected '+---+' below its last pin");
    }
    for (int row = box.top; row <= box.bottom && (row < box.bottom || !box.bottomMissing); row++) {
      if (boxesOfRow[row] == null) {
        boxesOfRow[row] = new ArrayList<>(2);
      }
      boxesOfRow[row].add(box);
    }
    Part part = new Part(Kind.BOX, box.top, box.left, box.right);
    part.box = box;
    box.part = part;
    parts.add(part);
    box.pins = new BoxRow[box.bottom - box.top - 1];
    for (int row = box.top + 1; row < box.bottom; row++) {
      BoxRow pin = new BoxRow(box, row);
      box.pins[row - box.top - 1] = pin;
      readInterior(part, pin);
    }
    if (box.typeRow < 0) {
      part.dropped = true;
      error("ladder/box-no-type", box.top, box.left, box.left,
          "the first row with a word inside a box names its type; here it is a row of pins");
    }
  }

  /** The type that {@code T---0} (on-delay) or {@code 0---T} (off-delay) stands for inside a box (T46.2d, T46.3d); null for anything else. */
  private static String drawnTimer(String text) {
    int last = text.length() - 1;
    for (int i = 1; i < last; i++) {
      if (text.charAt(i) != '-') {
        return null;
      }
    }
    if (last < 2) {
      return null;
    }
    char from = text.charAt(0);
    char to = text.charAt(last);
    return (from == 'T' || from == 't') && to == '0' ? "TON" : from == '0' && (to == 'T' || to == 't') ? "TOF" : null;
  }

  private void readInterior(Part part, BoxRow pin) {
    BoxNode box = pin.box;
    int row = pin.row;
    char leftSide = grid.at(row, box.left);
    char rightSide = grid.at(row, box.right);
    pin.leftBorder = leftSide;
    if (!isSide(leftSide)) {
      error("ladder/box-open", row, box.left, box.left, "the border of this box is open here; expected '|'");
      pin.leftBorder = '|';
    }
    if (rightSide == '>' || rightSide == '<') {
      error("ladder/edge-pin", row, box.right, box.right, "an edge mark stands at an input, not at an output; expected '|'");
    } else if (!isSide(rightSide)) {
      error("ladder/box-open", row, box.right, box.right, "the border of this box is open here; expected '|'");
    }
    List<int[]> found = new ArrayList<>(2);
    int c = box.left + 1;
    boolean joined = false;
    while (c < box.right) {
      char ch = grid.at(row, c);
      if (ch == ' ') {
        c++;
      } else if (ch == '-') {
        joined |= found.size() == 1;
        c++;
      } else if (isNamePart(ch)) {
        int end = c;
        while (end + 1 < box.right && isNamePart(grid.at(row, end + 1))) {
          end++;
        }
        found.add(new int[] {c, end});
        c = end + 1;
      } else {
        int end = c;
        while (end + 1 < box.right && grid.at(row, end + 1) != ' ' && grid.at(row, end + 1) != '-'
            && !isNamePart(grid.at(row, end + 1))) {
          end++;
        }
        error("ladder/stray-text", row, c, end, grid.text(row, c, end) + " is no name of a pin or type");
        c = end + 1;
      }
    }
    for (int i = 2; i < found.size(); i++) {
      int[] w = found.get(i - 1);
      error("ladder/stray-text", row, w[0], w[1],
          grid.text(row, w[0], w[1]) + " stands between two pins; a row of a box has one at each side");
    }
    int[] first = found.isEmpty() ? null : found.get(0);
    int[] last = found.size() < 2 ? null : found.get(found.size() - 1);
    boolean linkLeft = isSide(leftSide) && (pin.leftBorder == '>' || pin.leftBorder == '<' || reachesFromLeft(row, box.left));
    boolean linkRight = isSide(rightSide) && reachesFromRight(row, box.right);
    if (box.typeRow == -1 && first != null) {
      int end = last == null ? first[1] : last[1];
      if ((last == null || joined && drawnTimer(grid.text(row, first[0], end)) != null) && !linkLeft && !linkRight) {
        box.typeRow = row;
        box.typeFrom = first[0];
        box.typeTo = end;
        return;
      }
      box.typeRow = -2;
    }
    if (first != null && last == null && !joined) {
      int toLeft = first[0] - box.left;
      int toRight = box.right - first[1];
      if (toLeft > toRight || toLeft == toRight && linkRight && !linkLeft) {
        last = first;
        first = null;
      }
    }
    if (first != null) {
      pin.leftFrom = first[0];
      pin.leftTo = first[1];
    }
    if (last != null) {
      pin.rightFrom = last[0];
      pin.rightTo = last[1];
    }
    if (joined) {
      String l = grid.text(row, first[0], first[1]);
      String r = last == null ? "" : grid.text(row, last[0], last[1]);
      if (l.equalsIgnoreCase(r)) {
        pin.inOut = true;
      } else {
        error("ladder/in-out", row, first[0], last == null ? first[1] : last[1],
            last == null ? "the in-out " + l + " lacks its name at the right side"
                : "an in-out has the same name at both sides; found " + l + " and " + r);
      }
    }
  }

  private boolean reachesFromLeft(int row, int border) {
    char c = grid.at(row, border - 1);
    return c == '-' || Grid.isPlus(c) && !grid.isRail(row, border - 1) || c == 'O' && joint(row, border - 2);
  }

  private boolean reachesFromRight(int row, int border) {
    char c = grid.at(row, border + 1);
    return c == '-' || Grid.isPlus(c) && !grid.isRail(row, border + 1) || c == 'O' && joint(row, border + 2);
  }

  private boolean joint(int row, int column) {
    char c = grid.at(row, column);
    return c == '-' || Grid.isPlus(c);
  }

  private static boolean isNamePart(char c) {
    return Character.isLetterOrDigit(c) || c == '_' || c == '.' || c == '#';
  }

  // ---- tokens ----

  private List<Token> tokenize(int row) {
    List<Token> tokens = new ArrayList<>();
    List<BoxNode> inRow = boxesOfRow[row] == null ? List.of() : boxesOfRow[row];
    if (inRow.size() > 1) {
      inRow.sort(Comparator.comparingInt(b -> b.left));
    }
    int nextBox = 0;
    int length = grid.length(row);
    int c = 0;
    while (c < length) {
      BoxNode box = nextBox < inRow.size() ? inRow.get(nextBox) : null;
      int limit = box == null ? length : box.left;
      if (box != null && c >= box.left) {
        nextBox++;
        if (row != box.top && row != box.bottom) {
          c = boxTokens(row, box, tokens);
        } else {
          if (box.cornerTouched) { // ends the link that touches it, which was reported
            tokens.add(new Token(Type.STRAY, row, box.left, box.right));
          }
          c = box.right + 1;
        }
        continue;
      }
      char ch = grid.at(row, c);
      if (ch == ' ') {
        c++;
        continue;
      }
      if (box != null && c == box.left - 1 && ch == 'O' && row != box.top && row != box.bottom && joint(row, c - 1)) {
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

  private int boxTokens(int row, BoxNode box, List<Token> tokens) {
    BoxRow pin = box.pins[row - box.top - 1];
    Token l = new Token(Type.BOX_LEFT, row, pin.negatedLeft ? box.left - 1 : box.left, box.left);
    l.pin = pin;
    tokens.add(l);
    Token r = new Token(Type.BOX_RIGHT, row, box.right, box.right);
    r.pin = pin;
    if (grid.at(row, box.right + 1) == 'O' && joint(row, box.right + 2)) {
      pin.negatedRight = true;
      r.to++;
    }
    tokens.add(r);
    return r.to + 1;
  }

  private Token next(int row, int c, int limit, char ch, Token previous) {
    boolean touchesLeft = joint(row, c - 1) || previous != null && previous.to == c - 1
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
      if (words[row] == null) {
        words[row] = new ArrayList<>(4);
      }
      words[row].add(t.word);
      return t;
    }
    int end = c;
    while (end + 1 < limit && isStray(grid.at(row, end + 1))) {
      end++;
    }
    error("ladder/stray-text", row, c, end, grid.text(row, c, end) + " belongs to no element", "a comment is written (* *)");
    return new Token(Type.STRAY, row, c, end);
  }

  private static boolean isStray(char c) {
    return c != ' ' && c != '-' && !Grid.isVertical(c) && !startsWord(c) && c != '(' && c != '>' && c != '<';
  }

  private Token verticalToken(Type type, int row, int c) {
    Token t = new Token(type, row, c, c);
    t.vertical = verticalAt(row, c, type == Type.PLUS);
    tokensWithVertical.add(t);
    return t;
  }

  /** The vertical link to which this cell belongs: that of the cell above, or a new one. */
  private int verticalAt(int row, int c, boolean plus) {
    if (c >= lastVertical.length) {
      int old = lastVertical.length;
      lastVertical = Arrays.copyOf(lastVertical, Math.max(c + 1, old * 2 + 64));
      Arrays.fill(lastVertical, old, lastVertical.length, -1);
    }
    int id = lastVertical[c];
    Vertical v;
    if (id >= 0 && verticals.get(id).bottom == row - 1) {
      v = verticals.get(id);
      v.bottom = row;
    } else {
      id = verticals.size();
      v = new Vertical(c, row);
      v.topIsPlus = plus;
      verticals.add(v);
      lastVertical[c] = id;
    }
    v.bottomIsPlus = plus;
    if (plus && v.plusRow < 0) {
      v.plusRow = row;
    }
    return id;
  }

  private boolean hasVerticalNeighbour(int row, int c) {
    return Grid.isVertical(grid.at(row - 1, c)) && !inside(row - 1, c) || row + 1 < grid.rows
        && Grid.isVertical(grid.at(row + 1, c)) && !inside(row + 1, c);
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
    boolean touchesRight = joint(row, close + 1) || close + 1 == grid.right && Grid.isVertical(after);
    int inner = close - c - 1;
    String mark = inner == 0 ? "" : grid.text(row, c + 1, close - 1);
    String trimmed = mark.strip();
    Matcher comparison = trimmed.isEmpty() || trimmed.equals("/") ? null : COMPARISON.matcher(mark);
    boolean compare = comparison != null && comparison.matches();
    boolean known = compare || inner == 1 && (trimmed.isEmpty() || trimmed.equals("/") || trimmed.equals("P") || trimmed.equals("N"));
    boolean tall = hasVerticalNeighbour(row, c) || hasVerticalNeighbour(row, close);
    boolean is;
    if (touchesLeft && touchesRight) {
      is = known || inner > 0 && !trimmed.isEmpty() || !tall;
    } else if (touchesLeft || touchesRight) {
      is = !tall && (known || !trimmed.isEmpty() && mark.charAt(0) != ' ' && inner <= LONGEST_COIL);
    } else {
      is = !tall && known;
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
      error("ladder/unknown-mark", row, Math.min(at, close), Math.max(at, close - 1), trimmed.isEmpty()
          ? "a contact holds exactly one mark; found " + (inner == 0 ? "none" : inner + " blanks")
          : "no contact is marked " + trimmed + "; contacts: blank / P N and comparisons");
    }
    parts.add(p);
    Token t = new Token(Type.ELEMENT, row, c, close);
    t.part = p;
    return t;
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
    String mark = inner == 0 ? "" : grid.text(row, c + 1, close - 1);
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
      if (row + 1 < grid.rows && !joint(row, c - 1) && !hasDashes(row)) {
        return null;
      }
    }
    Part p = new Part(Kind.COIL, row, c, close);
    p.mark = trimmed;
    if (!(inner == 1 && (trimmed.isEmpty() || "/SRPN".contains(trimmed)))) {
      p.mark = "";
      error("ladder/unknown-mark", row, inner == 0 ? close : c + 1, inner == 0 ? close : close - 1, trimmed.isEmpty()
          ? "a coil holds exactly one mark; found " + (inner == 0 ? "none" : inner + " blanks")
          : "no coil is marked " + trimmed + "; coils: blank / S R P N");
    }
    parts.add(p);
    Token t = new Token(Type.ELEMENT, row, c, close);
    t.part = p;
    return t;
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
        return arrowToken(new Part(Kind.RETURN, row, c, end));
      }
      return null;
    }
    boolean jump = grid.at(row, c + 1) == '>';
    int start = jump ? c + 2 : c + 1;
    int end = start;
    while (end < limit && (Character.isLetterOrDigit(grid.at(row, end)) || grid.at(row, end) == '_')) {
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
      Connector k = connectors.computeIfAbsent(p.name.toUpperCase(Locale.ROOT), Connector::new);
      (p.kind == Kind.FEED ? k.feeds : k.continuations).add(p);
    }
    return arrowToken(p);
  }

  private Token arrowToken(Part p) {
    parts.add(p);
    Token t = new Token(Type.ELEMENT, p.row, p.from, p.to);
    t.part = p;
    return t;
  }

  private boolean isSign(int row, int c) {
    char next = grid.at(row, c + 1);
    return next >= '0' && next <= '9' && (c == 0 || grid.at(row, c - 1) == ' ');
  }

  private Token dash(int row, int c, int limit) {
    int end = c;
    while (end + 1 < limit) {
      char k = grid.at(row, end + 1);
      if (k == '-') {
        end++;
      } else if (k == '|' && end + 1 != grid.right && end + 1 != grid.left && end + 2 < limit && grid.at(row, end + 2) == '-'
          && Grid.isVertical(grid.at(row - 1, end + 1)) && Grid.isVertical(grid.at(row + 1, end + 1))) {
        verticalAt(row, end + 1, false);
        end++;
      } else {
        break;
      }
    }
    return new Token(Type.DASH, row, c, end);
  }

  private static boolean startsWord(char c) {
    return Character.isLetterOrDigit(c) || c == '_' || c == '%' || c == '(' || c == '\'' || c == '"';
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
      } else if (Character.isLetterOrDigit(ch) || ch == '_' || ch == '.' || ch == '#' || ch == '%' || ch == '^' || ch == ':'
          || ch == Grid.IN_WORD && i > c || ch == '*' && address) {
        end = i;
        i++;
      } else if ((ch == '-' || ch == '+') && i > c && i + 1 < limit && Character.isLetterOrDigit(grid.at(row, i + 1))
          && (Character.isLetterOrDigit(grid.at(row, i - 1)) || ch == '-' && grid.at(row, i - 1) == '#')
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
    return grid.at(row, c) == 'O' && c + 1 == limit && inside(row, limit);
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

  // ---- horizontal links ----

  private static boolean accepts(Token t) {
    return switch (t.type) {
      case RIGHT_RAIL, PLUS, BOX_LEFT, WORD -> true;
      case ELEMENT -> t.part.kind != Kind.CONTINUATION;
      case LEFT_RAIL, BAR, DASH, BOX_RIGHT, STRAY -> false;
    };
  }

  private static boolean endsRow(Token t) {
    return t.type == Type.ELEMENT && (t.part.kind == Kind.JUMP || t.part.kind == Kind.RETURN || t.part.kind == Kind.FEED);
  }

  private static boolean isElement(Token t) {
    return t.type == Type.ELEMENT;
  }

  private void linkRow(int row, List<Token> tokens) {
    Horizontal open = null; // a link whose right end is not known yet
    Token previous = null;
    for (int i = 0; i < tokens.size(); i++) {
      Token t = tokens.get(i);
      boolean touch = previous != null && previous.to + 1 == t.from;
      Token following = i + 1 < tokens.size() ? tokens.get(i + 1) : null;
      boolean followed = following != null && t.to + 1 == following.from;
      if (t.type == Type.DASH) {
        if (open != null && !touch) {
          if (joinsDash(open, t, following, followed)) {
            gap(open, row, t.from);
          } else {
            leaveOpen(open, t);
            open = new Horizontal(row, t.from);
          }
        } else if (open == null) {
          open = new Horizontal(row, t.from);
          if (touch) {
            open.poisoned = previous.type == Type.STRAY;
          }
        }
        open.to = t.to;
        previous = t;
        continue;
      }
      if (open != null) {
        boolean hard = open.to >= open.from;
        if (touch && t.type == Type.BAR && hard) {
          brokenJoint(t);
          finish(open, t);
        } else if (touch && accepts(t) && (hard || zeroLength(open.left, t))) {
          finish(open, t);
        } else if (!touch && accepts(t) && joinsOver(open, hard, t, followed)) {
          gap(open, row, t.from);
          finish(open, t);
        } else if (touch && t.type == Type.STRAY) {
          open.poisoned = true;
        } else {
          leaveOpen(open, t);
        }
        open = null;
      }
      open = start(t, following, followed, row);
      previous = t;
    }
    if (open != null) {
      leaveOpen(open, null);
    }
  }

  /** The link that leaves a token to the right, if one may. */
  private Horizontal start(Token t, Token following, boolean followed, int row) {
    boolean emits = switch (t.type) {
      case LEFT_RAIL -> Grid.isPlus(grid.at(row, t.from)) || followed && (following.type == Type.DASH || isElement(following));
      case PLUS, BOX_RIGHT, WORD, ELEMENT -> true;
      case BAR -> followed && following.type == Type.DASH;
      case RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> false;
    };
    if (!emits) {
      return null;
    }
    if (t.type == Type.BAR) {
      brokenJoint(t);
    }
    Horizontal h = new Horizontal(row, t.to + 1);
    h.left = t;
    return h;
  }

  private void brokenJoint(Token bar) {
    if (!bar.reported) {
      bar.reported = true;
      error("ladder/open-branch", bar.row, bar.from, bar.to, "a link meets a vertical link here; expected '+'");
      Vertical v = verticals.get(bar.vertical);
      v.reported = true;
      if (v.plusRow < 0) {
        v.plusRow = bar.row;
      }
      if (v.bottom == bar.row) {
        v.bottomIsPlus = true;
      }
      if (v.top == bar.row) {
        v.topIsPlus = true;
      }
    }
  }

  /** Two tokens side by side, without a link between them. A missing link is reported; the two count as connected. */
  private boolean zeroLength(Token l, Token r) {
    if (endsRow(l)) {
      return true;
    }
    boolean jointLeft = l.type == Type.PLUS || l.type == Type.LEFT_RAIL;
    boolean jointRight = r.type == Type.PLUS || r.type == Type.RIGHT_RAIL;
    if (r.type == Type.WORD) {
      if (l.type == Type.BOX_RIGHT) {
        missing(l, r);
        return true;
      }
      return false;
    }
    if (l.type == Type.WORD) {
      if (r.type == Type.BOX_LEFT) {
        missing(l, r);
        return true;
      }
      return false;
    }
    if (l.type == Type.BOX_RIGHT && (r.type == Type.BOX_LEFT || r.type == Type.RIGHT_RAIL)) {
      return false;
    }
    if (l.type == Type.LEFT_RAIL && (r.type == Type.BOX_LEFT || r.type == Type.RIGHT_RAIL)) {
      return false;
    }
    if (l.type == Type.LEFT_RAIL && r.type == Type.PLUS) {
      return Grid.isPlus(grid.at(l.row, l.from));
    }
    if (!jointLeft && !jointRight) {
      missing(l, r);
    }
    return true;
  }

  private void missing(Token l, Token r) {
    error("ladder/gap", r.row, r.from, r.from, "no link stands between this and what is left of it; expected '-' between them");
  }

  private boolean joinsDash(Horizontal open, Token dash, Token following, boolean followed) {
    boolean hard = open.to >= open.from;
    Token l = open.left;
    if (hard) {
      return true;
    }
    return switch (l.type) {
      case WORD -> followed && following.type == Type.BOX_LEFT;
      case LEFT_RAIL, PLUS, BOX_RIGHT, ELEMENT -> true;
      case RIGHT_RAIL, BAR, DASH, BOX_LEFT, STRAY -> false;
    };
  }

  private boolean joinsOver(Horizontal open, boolean hard, Token t, boolean followed) {
    Token l = open.left;
    return switch (t.type) {
      case ELEMENT -> hard || l.type != Type.WORD;
      case BOX_LEFT -> t.pin.leftFrom >= 0 && t.pin.row != t.pin.box.typeRow && (hard || l.type == Type.ELEMENT);
      case PLUS -> hard && l != null && l.type != Type.WORD;
      case WORD -> hard && !followed && l != null && l.type == Type.BOX_RIGHT;
      case RIGHT_RAIL, LEFT_RAIL, BAR, DASH, BOX_RIGHT, STRAY -> false;
    };
  }

  private void gap(Horizontal open, int row, int until) {
    if (open.left != null && endsRow(open.left)) {
      behind(open, until);
      open.to = until - 1;
      return;
    }
    int from = open.to + 1;
    int n = until - from;
    error("ladder/gap", row, from, until - 1, "link interrupted by " + n + (n == 1 ? " blank" : " blanks") + "; expected '-'");
    open.to = until - 1;
  }

  private void behind(Horizontal open, int column) {
    error("ladder/behind-jump", open.row, column, column, open.left.part.kind == Kind.FEED
        ? "nothing may follow the feeding end of a connector on its row" : "nothing may follow a jump or return on its row");
    open.alias = open.left.part.in;
    open.poisoned = true;
    open.left.reported = true;
  }

  private void finish(Horizontal h, Token right) {
    if (h.left != null && endsRow(h.left) && !h.left.reported) {
      if (right.type == Type.RIGHT_RAIL && h.to < h.from) {
        return; // the rail directly behind a jump touches it by chance
      }
      behind(h, h.from);
    }
    h.right = right;
    keep(h);
  }

  private void keep(Horizontal h) {
    horizontals.add(h);
    Token l = h.left;
    Token r = h.right;
    if (l != null) {
      l.out = h;
      switch (l.type) {
        case PLUS, BAR -> verticals.get(l.vertical).outs.add(h);
        case ELEMENT -> l.part.out = h;
        case BOX_RIGHT -> l.pin.out = h;
        case WORD -> l.word.touched = true;
        case LEFT_RAIL, RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> { }
      }
    }
    if (r != null) {
      r.in = h;
      switch (r.type) {
        case PLUS, BAR -> verticals.get(r.vertical).ins.add(h);
        case ELEMENT -> r.part.in = h;
        case BOX_LEFT -> r.pin.in = h;
        case WORD -> r.word.touched = true;
        case LEFT_RAIL, RIGHT_RAIL, DASH, BOX_RIGHT, STRAY -> { }
      }
    }
  }

  /** The right end of a link, or of an element without one, meets nothing; {@code t} is what comes next on the row. */
  private void leaveOpen(Horizontal h, Token t) {
    boolean hard = h.to >= h.from;
    Token l = h.left;
    if (!hard) {
      if (l.type == Type.ELEMENT) {
        switch (l.part.kind) {
          case CONTACT, COMPARE, CONTINUATION ->
              error("ladder/open-link", h.row, l.to, l.to, "this " + describe(l.part) + " leads nowhere; expected a link to its right");
          case COIL -> {
            if (grid.right >= 0) {
              findings.add(new Finding(Severity.WARNING, "ladder/coil-off-rail", h.row, l.to, l.to,
                  "this coil does not reach the right rail", null, null, null));
            }
          }
          case JUMP, RETURN, FEED, BOX, ASSIGN -> { }
        }
      }
      return;
    }
    keep(h);
    if (l != null && endsRow(l)) {
      behind(h, h.from);
      return;
    }
    boolean mayEnd = l != null && l.type == Type.ELEMENT && l.part.kind == Kind.COIL && grid.right < 0 && t == null;
    if (!mayEnd && !(t != null && t.type == Type.STRAY && h.to + 1 == t.from)) {
      error("ladder/open-link", h.row, h.to, h.to,
          "this link ends nowhere; expected an element, a vertical link or the right rail");
    }
  }

  // ---- vertical links ----

  private void finishVerticals() {
    mergedVertical = new int[verticals.size()];
    Map<Long, Integer> byTop = new LinkedHashMap<>();
    for (int i = 0; i < verticals.size(); i++) {
      mergedVertical[i] = i;
      byTop.put((long) verticals.get(i).top << 16 | verticals.get(i).column, i);
    }
    boolean[] joinedAbove = new boolean[verticals.size()];
    for (int i = 0; i < verticals.size(); i++) {
      Vertical v = verticals.get(i);
      if (v.reported && v.plusRow < 0) {
        continue;
      }
      int below = nextBelow(v, byTop);
      if (below >= 0 && (!v.bottomIsPlus || !verticals.get(below).topIsPlus)) {
        Vertical w = verticals.get(below);
        if (!v.bottomIsPlus) {
          error("ladder/open-branch", v.bottom, v.column, v.column, "the vertical link ends here; expected '|' or '+' below");
        } else {
          error("ladder/open-branch", w.top, v.column, v.column, "the vertical link begins here; expected '|' or '+' above");
        }
        joinedAbove[below] = true;
        v.reported = true;
        w.reported = true;
        mergedVertical[below] = i; // v was merged before, if at all, so roots point upwards
        continue;
      }
      if (v.plusRow < 0) {
        if (!joinedAbove[i]) {
          error("ladder/open-branch", v.top, v.column, v.column, "this vertical link joins no other link; expected '+' where it meets one");
        }
        v.reported = true;
        continue;
      }
      if (!v.bottomIsPlus) {
        error("ladder/open-branch", v.bottom, v.column, v.column, "the vertical link ends here; expected '|' or '+' below");
        v.reported = true;
      }
      if (!v.topIsPlus && !joinedAbove[i]) {
        error("ladder/open-branch", v.top, v.column, v.column, "the vertical link begins here; expected '|' or '+' above");
        v.reported = true;
      }
    }
    for (int i = 0; i < verticals.size(); i++) {
      int root = root(i);
      if (root != i) {
        Vertical v = verticals.get(i);
        Vertical w = verticals.get(root);
        w.ins.addAll(v.ins);
        w.outs.addAll(v.outs);
        w.bottom = Math.max(w.bottom, v.bottom);
        w.reported = true;
        v.ins.clear();
        v.outs.clear();
        if (w.plusRow < 0) {
          w.plusRow = v.plusRow;
        }
      }
    }
    for (Token t : tokensWithVertical) {
      t.vertical = root(t.vertical);
    }
  }

  private int root(int vertical) {
    int r = vertical;
    while (mergedVertical[r] != r) {
      mergedVertical[r] = mergedVertical[mergedVertical[r]];
      r = mergedVertical[r];
    }
    return r;
  }

  /** The vertical link that begins a few blank rows below this one, or -1. */
  private int nextBelow(Vertical v, Map<Long, Integer> byTop) {
    for (int row = v.bottom + 1; row <= v.bottom + 1 + VERTICAL_GAP && row < grid.rows; row++) {
      Integer id = byTop.get((long) row << 16 | v.column);
      if (id != null) {
        return id;
      }
      if (grid.at(row, v.column) != ' ' || grid.kinds[row] != Grid.RowKind.DRAWING) {
        return -1;
      }
    }
    return -1;
  }

  // ---- words at the ends of a link ----

  /**
   * A word led to a word assigns it (T42.6b); a variable led to a jump or return is its condition, TRUE makes it unconditional (T73.1a,
   * T73.2a, T73.3b). Every other word at a link is reported later.
   */
  private void wordsAtLinks() {
    List<Horizontal> assignments = new ArrayList<>();
    for (Horizontal h : horizontals) {
      if (h.left == null || h.right == null || h.left.type != Type.WORD || h.left.in != null || h.to < h.from) {
        continue;
      }
      Word w = h.left.word;
      if (h.right.type == Type.WORD && h.right.out == null) {
        Part p = new Part(Kind.ASSIGN, h.row, h.left.from, h.right.to);
        p.above = w;
        p.below = h.right.word;
        p.below.used = true;
        w.used = true;
        parts.add(p);
        assignments.add(h);
      } else if (h.right.type == Type.ELEMENT && (h.right.part.kind == Kind.JUMP || h.right.part.kind == Kind.RETURN)) {
        String text = grid.text(w.row, w.from, w.to).toUpperCase(Locale.ROOT);
        Token rail = new Token(Type.LEFT_RAIL, h.row, h.left.from - 1, h.left.from - 1);
        if (text.equals("1") || text.equals("TRUE") || text.equals("BOOL#1") || text.equals("BOOL#TRUE")) {
          h.left = rail;
          h.bare = true;
          w.used = true;
        } else if ((Character.isLetter(text.charAt(0)) || "_%".indexOf(text.charAt(0)) >= 0) && !text.equals("FALSE")
            && text.indexOf('#') < 0) {
          Part p = new Part(Kind.CONTACT, h.row, h.left.from, h.left.to);
          p.bare = true;
          p.above = w;
          p.in = new Horizontal(h.row, h.left.from);
          p.in.left = rail;
          p.out = h;
          w.used = true;
          parts.add(p);
          Token t = new Token(Type.ELEMENT, h.row, h.left.from, h.left.to);
          t.part = p;
          t.out = h;
          p.in.right = t;
          h.left = t;
        }
      }
    }
    horizontals.removeAll(assignments);
  }

  // ---- numbers, components ----

  private void numberElements() {
    List<Part> list = new ArrayList<>();
    for (Part p : parts) {
      if (p.kind != Kind.FEED && p.kind != Kind.CONTINUATION) {
        list.add(p);
      }
    }
    list.sort(Comparator.comparingInt((Part p) -> p.row).thenComparingInt(p -> p.from));
    elements = list.toArray(new Part[0]);
    for (int i = 0; i < elements.length; i++) {
      elements[i].id = i;
      if (elements[i].kind == Kind.BOX) {
        arrangePins(elements[i]);
      }
    }
  }

  /** Finds doubled pins and numbers the outputs, which links refer to. */
  private void arrangePins(Part part) {
    BoxNode box = part.box;
    Map<String, Integer> inputs = new TreeMap<>();
    Map<String, Integer> outputs = new TreeMap<>();
    int output = 0;
    for (BoxRow pin : box.pins) {
      if (pin.row == box.typeRow) {
        continue;
      }
      if (pin.leftFrom >= 0) {
        pin.dropInput = twice("input", inputs, pin, pin.leftFrom, pin.leftTo);
      }
      boolean hasOutput = pin.rightFrom >= 0 && (!pin.inOut || pin.out != null) || pin.rightFrom < 0 && pin.out != null;
      if (pin.rightFrom >= 0) {
        pin.dropOutput = !pin.dropInput && twice("output", outputs, pin, pin.rightFrom, pin.rightTo) || pin.dropInput && pin.inOut;
      }
      if (hasOutput && !pin.dropOutput) {
        pin.output = output++;
      }
    }
  }

  private boolean twice(String kind, Map<String, Integer> seen, BoxRow pin, int from, int to) {
    String name = grid.text(pin.row, from, to);
    Integer first = seen.putIfAbsent(name.toUpperCase(Locale.ROOT), pin.row);
    if (first == null) {
      return false;
    }
    error("ladder/pin-twice", pin.row, from, to, kind + " " + name + " stands twice, first on line " + (grid.firstLine + first));
    return true;
  }

  private int node(Token t) {
    return switch (t.type) {
      case PLUS, BAR -> elements.length + t.vertical;
      case ELEMENT -> t.part.id >= 0 ? t.part.id : connectorNode(connectors.get(t.part.name.toUpperCase(Locale.ROOT)));
      case BOX_LEFT, BOX_RIGHT -> t.pin.box.part.id;
      case LEFT_RAIL, RIGHT_RAIL, DASH, WORD, STRAY -> -1;
    };
  }

  private int connectorNode(Connector c) {
    return elements.length + verticals.size() + c.number;
  }

  private int find(int x) {
    int r = x;
    while (union[r] != r) {
      union[r] = union[union[r]];
      r = union[r];
    }
    return r;
  }

  private void connect() {
    int number = 0;
    for (Connector c : connectors.values()) {
      c.number = number++;
    }
    union = new int[elements.length + verticals.size() + connectors.size()];
    for (int i = 0; i < union.length; i++) {
      union[i] = i;
    }
    for (Horizontal h : horizontals) {
      if (h.left != null && h.right != null) {
        int a = node(h.left);
        int b = node(h.right);
        if (a >= 0 && b >= 0) {
          union[find(a)] = find(b);
        }
      }
    }
  }

  // ---- states of links ----

  private State stateOf(Horizontal h) {
    if (h == null) {
      return State.NOTHING;
    }
    int hops = 0;
    while (h.alias != null && hops++ < 8) {
      h = h.alias;
    }
    if (h.left == null) {
      return h.poisoned ? State.POISON : State.NOTHING;
    }
    State s = switch (h.left.type) {
      case LEFT_RAIL -> new State(new long[] {RAIL}, h.poisoned, List.of());
      case PLUS, BAR -> verticalStates[h.left.vertical];
      case BOX_RIGHT -> {
        BoxRow pin = h.left.pin;
        Part p = pin.box.part;
        yield p.dropped || pin.output < 0 ? State.POISON : new State(new long[] {(long) p.id << 24 | pin.output}, h.poisoned, List.of());
      }
      case ELEMENT -> {
        Part p = h.left.part;
        if (p.kind == Kind.CONTINUATION) {
          yield connectorStates.get(connectors.get(p.name.toUpperCase(Locale.ROOT)));
        }
        yield p.kind == Kind.CONTACT || p.kind == Kind.COMPARE || p.kind == Kind.COIL
            ? new State(new long[] {(long) p.id << 24}, h.poisoned, List.of()) : State.POISON;
      }
      case WORD, RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> State.POISON;
    };
    return s == null ? State.POISON : s;
  }

  private void resolve() {
    verticalStates = new State[verticals.size()];
    for (Connector c : connectors.values()) {
      reportConnector(c);
      if (c.feeds.isEmpty()) {
        connectorStates.put(c, State.POISON);
      }
    }
    // Links run to the right only, so without connectors columns are an order; connectors may lead back, hence the search.
    List<Connector> list = new ArrayList<>(connectors.values());
    int base = verticals.size();
    byte[] colour = new byte[base + list.size()];
    Integer[] byColumn = new Integer[base];
    for (int i = 0; i < base; i++) {
      byColumn[i] = i;
    }
    Arrays.sort(byColumn, Comparator.comparingInt(i -> verticals.get(i).column));
    ArrayDeque<int[]> stack = new ArrayDeque<>();
    for (int k = 0; k < base + list.size(); k++) {
      int start = k < base ? byColumn[k] : k;
      if (colour[start] != 0) {
        continue;
      }
      stack.push(new int[] {start, 0});
      colour[start] = 1;
      while (!stack.isEmpty()) {
        int[] top = stack.peek();
        List<Horizontal> ins = insOf(top[0], list);
        if (top[1] < ins.size()) {
          int next = originNode(ins.get(top[1]++), base);
          if (next >= 0 && colour[next] == 0) {
            colour[next] = 1;
            stack.push(new int[] {next, 0});
          } else if (next >= 0 && colour[next] == 1) {
            for (int[] frame : stack) {
              if (frame[0] >= base) {
                reportLoop(list.get(frame[0] - base));
                break;
              }
            }
          }
          continue;
        }
        stack.pop();
        colour[top[0]] = 2;
        State s = join(ins);
        if (top[0] < base) {
          verticalStates[top[0]] = s;
        } else {
          Connector c = list.get(top[0] - base);
          if (!c.feeds.isEmpty()) {
            List<Connector> through = new ArrayList<>(s.through);
            through.add(c);
            connectorStates.put(c, c.looped ? State.POISON : new State(s.ports, s.poisoned, through));
          }
        }
      }
    }
  }

  private List<Horizontal> insOf(int node, List<Connector> list) {
    if (node < verticals.size()) {
      return verticals.get(node).ins;
    }
    List<Horizontal> ins = new ArrayList<>(1);
    for (Part feed : list.get(node - verticals.size()).feeds) {
      if (feed.in != null) {
        ins.add(feed.in);
      }
    }
    return ins;
  }

  private int originNode(Horizontal h, int base) {
    int hops = 0;
    while (h.alias != null && hops++ < 8) {
      h = h.alias;
    }
    if (h.left == null) {
      return -1;
    }
    if (h.left.vertical >= 0) {
      return h.left.vertical;
    }
    if (h.left.type == Type.ELEMENT && h.left.part.kind == Kind.CONTINUATION) {
      return base + connectors.get(h.left.part.name.toUpperCase(Locale.ROOT)).number;
    }
    return -1;
  }

  private State join(List<Horizontal> ins) {
    if (ins.size() == 1) {
      return stateOf(ins.get(0));
    }
    int n = 0;
    boolean poisoned = false;
    List<Connector> through = new ArrayList<>(0);
    State[] states = new State[ins.size()];
    for (int i = 0; i < states.length; i++) {
      State s = stateOf(ins.get(i));
      states[i] = s;
      n += s.ports.length;
      poisoned |= s.poisoned;
      for (Connector c : s.through) {
        if (!through.contains(c)) {
          through.add(c);
        }
      }
    }
    long[] all = new long[n];
    int at = 0;
    for (State s : states) {
      System.arraycopy(s.ports, 0, all, at, s.ports.length);
      at += s.ports.length;
    }
    Arrays.sort(all);
    int unique = 0;
    for (int i = 0; i < n; i++) {
      if (i == 0 || all[i] != all[i - 1]) {
        all[unique++] = all[i];
      }
    }
    return new State(unique == n ? all : Arrays.copyOf(all, unique), poisoned, through);
  }

  private void reportConnector(Connector c) {
    if (c.feeds.isEmpty()) {
      List<String> others = new ArrayList<>();
      for (Connector k : connectors.values()) {
        if (!k.feeds.isEmpty()) {
          others.add(k.feeds.get(0).name);
        }
      }
      for (Part p : c.continuations) {
        error("ladder/connector", p.row, p.from, p.to,
            "no link ends in connector " + p.name + (others.isEmpty() ? "" : "; connectors: " + shortList(others)));
      }
    } else if (c.continuations.isEmpty()) {
      Part p = c.feeds.get(0);
      error("ladder/connector", p.row, p.from, p.to, "nothing continues connector " + p.name);
    }
    for (int i = 1; i < c.feeds.size(); i++) {
      Part p = c.feeds.get(i);
      error("ladder/connector-twice", p.row, p.from, p.to,
          "two links end in connector " + p.name + ", the first on line " + (grid.firstLine + c.feeds.get(0).row));
    }
  }

  private static String shortList(List<String> names) {
    return names.size() <= 5 ? String.join(", ", names) : String.join(", ", names.subList(0, 5)) + ", ...";
  }

  private void reportLoop(Connector c) {
    if (c.looped) {
      return;
    }
    c.looped = true;
    Part p = c.continuations.get(0);
    error("ladder/loop", p.row, p.from, p.to, "connector " + p.name + " leads back to itself");
  }

  // ---- what nothing feeds ----

  private void reportUnfed() {
    boolean[] fed = new boolean[union.length];
    for (Horizontal h : horizontals) {
      boolean source = h.left != null && (h.left.type == Type.LEFT_RAIL || h.poisoned
          || h.left.type == Type.ELEMENT && (h.left.part.kind == Kind.CONTINUATION || h.left.part.bare));
      if (source && h.right != null) {
        int n = node(h.right);
        if (n >= 0) {
          fed[find(n)] = true;
        }
      }
    }
    boolean[] said = new boolean[union.length];
    Part[] firstOf = new Part[union.length];
    for (Part p : elements) {
      int c = find(p.id);
      if (firstOf[c] == null && p.kind != Kind.BOX) {
        firstOf[c] = p;
      }
    }
    for (Horizontal h : horizontals) {
      if (h.left == null && h.right != null && !h.poisoned) {
        int n = node(h.right);
        int c = n < 0 ? -1 : find(n);
        if (h.right.type == Type.BOX_LEFT) {
          error("ladder/open-link", h.row, h.from, h.from,
              "nothing stands at the left end of this link; expected a link, a variable or a value");
        } else if (c >= 0 && !fed[c] && firstOf[c] != null) {
          noRail(c, firstOf, said);
        } else {
          error("ladder/open-link", h.row, h.from, h.from, "nothing feeds this link from its left");
        }
        h.poisoned = true;
      } else if (h.left != null && h.left.type == Type.LEFT_RAIL && h.right != null && h.right.type == Type.RIGHT_RAIL) {
        error("ladder/empty-rung", h.row, h.from, h.to, "a link from rail to rail without an element");
      } else if (h.left != null && h.left.type == Type.WORD) {
        checkValue(h);
      }
    }
    for (Part p : elements) {
      if (p.kind != Kind.BOX && p.kind != Kind.ASSIGN && p.in == null) {
        int c = find(p.id);
        if (!fed[c]) {
          noRail(c, firstOf, said);
        } else {
          error("ladder/open-link", p.row, p.from, p.from, "nothing reaches this " + describe(p) + " from its left");
        }
      }
    }
    for (Connector k : connectors.values()) {
      for (Part p : k.feeds) {
        if (p.in == null) {
          error("ladder/open-link", p.row, p.from, p.from, "nothing reaches this connector from its left");
        }
      }
    }
    boolean[] hasElement = new boolean[union.length];
    for (Part p : elements) {
      hasElement[find(p.id)] = true;
    }
    for (int i = 0; i < verticals.size(); i++) {
      Vertical v = verticals.get(i);
      if (root(i) != i || v.reported && (v.ins.isEmpty() || v.outs.isEmpty())) {
        continue;
      }
      int c = find(elements.length + i);
      if (v.ins.isEmpty() && !v.outs.isEmpty()) {
        boolean backwards = false;
        for (Horizontal h : v.outs) {
          backwards |= h.right != null && h.right.vertical >= 0 && verticals.get(h.right.vertical).ins.size() > 1;
        }
        int row = v.outs.get(0).row;
        if (backwards) {
          error("ladder/backwards", row, v.column, v.column, "power would have to reach this vertical link from its right");
        } else if (!fed[c] && firstOf[c] != null) {
          noRail(c, firstOf, said);
        } else {
          error("ladder/open-link", row, v.column, v.column, "nothing feeds this vertical link from its left");
        }
      } else if (v.outs.isEmpty() && !v.ins.isEmpty()) {
        Horizontal h = v.ins.get(0);
        error("ladder/open-link", h.row, v.column, v.column, "this link ends nowhere; expected an element, a link or the right rail");
      } else if (v.outs.isEmpty() && !v.reported) {
        error("ladder/open-link", v.plusRow < 0 ? v.top : v.plusRow, v.column, v.column, "this joint joins nothing");
      } else if (!hasElement[c] && !said[c]) {
        boolean all = true;
        for (Horizontal h : v.outs) {
          all &= h.right != null && h.right.type == Type.RIGHT_RAIL;
        }
        if (all) {
          said[c] = true;
          error("ladder/empty-rung", v.ins.get(0).row, v.ins.get(0).from, v.ins.get(0).from, "a link from rail to rail without an element");
        }
      }
    }
    for (Horizontal h : horizontals) {
      if (h.right != null && h.right.type == Type.WORD) {
        checkTarget(h);
      }
    }
  }

  private void noRail(int component, Part[] firstOf, boolean[] said) {
    if (!said[component]) {
      said[component] = true;
      Part p = firstOf[component];
      error("ladder/no-rail", p.row, p.from, p.to, "nothing connects this network to the left rail");
    }
  }

  /** A word may feed one pin of a box. */
  private void checkValue(Horizontal h) {
    Word w = h.left.word;
    if (h.right == null) {
      w.used = true;
      return;
    }
    if (h.right.type == Type.BOX_LEFT && h.left.in == null) {
      w.used = true;
      h.right.pin.value = w;
      return;
    }
    if (!w.used && !h.left.reported) {
      String text = grid.text(w.row, w.from, w.to);
      error("ladder/bare-word", w.row, w.from, w.to, h.right.type == Type.PLUS
          ? "the value " + text + " meets a vertical link; it may go to one pin of a box only"
          : text + " stands in a link; a contact is written | | with " + text + " on the row above");
      h.left.reported = true;
    }
    w.used = true;
  }

  /** A word may take the state of one output of a box. */
  private void checkTarget(Horizontal h) {
    Word w = h.right.word;
    if (h.right.reported || h.right.out != null && h.right.out.right != null) {
      w.used = true;
      return;
    }
    w.used = true;
    State s = stateOf(h);
    if (s.ports.length == 1 && s.ports[0] != RAIL) {
      Part p = elements[(int) (s.ports[0] >> 24)];
      if (p.kind == Kind.BOX) {
        int output = (int) (s.ports[0] & 0xffffff);
        for (BoxRow pin : p.box.pins) {
          if (pin.output == output) {
            if (pin.targets.isEmpty()) {
              pin.targets = new ArrayList<>(1);
            }
            pin.targets.add(w);
            return;
          }
        }
      }
    }
    if (!s.poisoned) {
      String text = grid.text(w.row, w.from, w.to);
      error("ladder/bare-word", w.row, w.from, w.to,
          text + " stands at the end of a link; only an output of a box is led to a variable, a coil is written ( ) with " + text
              + " on the row above");
    }
  }

  // ---- evaluation order ----

  /**
   * Row by row, left to right, each element preceded by what its links depend on, the sources of a link row by row too. Only connectors
   * can lead back; a loop through one is reported and cut.
   */
  private List<Integer> evaluationOrder() {
    List<Integer> order = new ArrayList<>(elements.length);
    byte[] colour = new byte[elements.length];
    int[][] sources = new int[elements.length][];
    ArrayDeque<int[]> stack = new ArrayDeque<>();
    for (int start = 0; start < elements.length; start++) {
      if (colour[start] != 0) {
        continue;
      }
      colour[start] = 1;
      stack.push(new int[] {start, 0});
      while (!stack.isEmpty()) {
        int[] top = stack.peek();
        if (sources[top[0]] == null) {
          sources[top[0]] = sourcesOf(elements[top[0]]);
        }
        int[] s = sources[top[0]];
        if (top[1] < s.length) {
          int next = s[top[1]++];
          if (colour[next] == 0) {
            colour[next] = 1;
            stack.push(new int[] {next, 0});
          } else if (colour[next] == 1) {
            cutLoop(stack, next);
          }
          continue;
        }
        stack.pop();
        colour[top[0]] = 2;
        sources[top[0]] = null;
        elements[top[0]].index = order.size();
        order.add(top[0]);
      }
    }
    return order;
  }

  private int[] sourcesOf(Part p) {
    if (p.kind != Kind.BOX) {
      return elementsOf(stateOf(p.in));
    }
    int[] all = {};
    for (BoxRow pin : p.box.pins) {
      if (pin.in != null && pin.value == null) {
        int[] more = elementsOf(stateOf(pin.in));
        int n = all.length;
        all = Arrays.copyOf(all, n + more.length);
        System.arraycopy(more, 0, all, n, more.length);
      }
    }
    Arrays.sort(all);
    return all;
  }

  private static int[] elementsOf(State s) {
    int[] result = new int[s.ports.length];
    int n = 0;
    for (long port : s.ports) {
      if (port != RAIL) {
        result[n++] = (int) (port >> 24);
      }
    }
    return n == result.length ? result : Arrays.copyOf(result, n);
  }

  private void cutLoop(ArrayDeque<int[]> stack, int back) {
    Connector first = null;
    for (int[] frame : stack) {
      Part p = elements[frame[0]];
      List<Connector> through = new ArrayList<>();
      if (p.kind != Kind.BOX) {
        through.addAll(stateOf(p.in).through);
      } else {
        for (BoxRow pin : p.box.pins) {
          through.addAll(stateOf(pin.in).through);
        }
      }
      for (Connector c : through) {
        if (!c.continuations.isEmpty() && (first == null || before(c.continuations.get(0), first.continuations.get(0)))) {
          first = c;
        }
      }
      if (frame[0] == back) {
        break;
      }
    }
    if (first != null) {
      reportLoop(first);
    }
  }

  private static boolean before(Part a, Part b) {
    return a.row != b.row ? a.row < b.row : a.from < b.from;
  }

  // ---- operands ----

  private record Claim(Part part, boolean below, Word word, int distance) {}

  private void claimOperands() {
    List<Claim> claims = new ArrayList<>();
    List<Part> without = new ArrayList<>();
    for (Part p : elements) {
      if (p.kind == Kind.JUMP || p.kind == Kind.RETURN || p.kind == Kind.ASSIGN || p.bare) {
        continue;
      }
      claim(p, false, claims, without);
      if (p.kind == Kind.COMPARE) {
        claim(p, true, claims, without);
      }
    }
    for (Claim c : claims) {
      if (c.word.claim == c) {
        c.word.used = true;
        if (c.below) {
          c.part.below = c.word;
        } else {
          c.part.above = c.word;
        }
      } else if (c.part.kind != Kind.BOX) {
        Claim winner = c.word.claim;
        String text = grid.text(c.word.row, c.word.from, c.word.to);
        error("ladder/no-operand", c.part.row, c.part.from, c.part.to, "no operand of its own stands " + (c.below ? "below" : "above")
            + " this " + describe(c.part) + "; " + text + " belongs to the " + describe(winner.part) + " in column "
            + (winner.part.from + 1));
      }
    }
    for (Part p : without) {
      boolean below = p.above != null || p.kind == Kind.COMPARE && wordOver(p, p.row - 1);
      Word near = nearest(p, below ? p.row + 1 : p.row - 1);
      String hint = null;
      if (near != null) {
        near.used = true;
        if (below) {
          p.below = near;
        } else {
          p.above = near;
        }
        int off = near.to < p.from ? p.from - near.to : near.from - p.to;
        hint = grid.text(near.row, near.from, near.to) + " stands " + off + (off == 1 ? " column" : " columns") + " too far "
            + (near.to < p.from ? "left" : "right");
      }
      error("ladder/no-operand", p.row, p.from, p.to,
          "no operand stands " + (below ? "below" : "above") + " this " + describe(p), hint);
    }
  }

  private boolean wordOver(Part p, int row) {
    return row >= 0 && row < grid.rows && words[row] != null
        && words[row].stream().anyMatch(w -> !w.touched && w.to >= p.from && w.from <= p.to);
  }

  private void claim(Part p, boolean below, List<Claim> claims, List<Part> without) {
    int row = below ? p.row + 1 : p.row - 1;
    List<Word> list = row >= 0 && row < grid.rows && words[row] != null ? words[row] : List.of();
    Word found = null;
    Word tie = null;
    int distance = Integer.MAX_VALUE;
    for (int i = firstReaching(list, p.from); i < list.size() && list.get(i).from <= p.to; i++) {
      Word w = list.get(i);
      if (w.touched) {
        continue;
      }
      int d = Math.abs(w.from + w.to - p.from - p.to);
      if (d < distance) {
        distance = d;
        found = w;
        tie = null;
      } else if (d == distance) {
        tie = w;
      }
    }
    if (found == null) {
      if (p.kind != Kind.BOX) {
        without.add(p);
      }
      return;
    }
    if (tie != null) {
      tie.used = true;
      error("ladder/two-operands", p.row, p.from, p.to, grid.text(row, found.from, found.to) + " and " + grid.text(row, tie.from, tie.to)
          + " stand equally near " + (below ? "below" : "above") + " this " + describe(p));
    }
    Claim c = new Claim(p, below, found, distance);
    claims.add(c);
    if (found.claim == null || found.claim.distance > distance) {
      found.claim = c;
    }
  }

  private static int firstReaching(List<Word> list, int column) {
    int low = 0;
    int high = list.size();
    while (low < high) {
      int mid = (low + high) >>> 1;
      if (list.get(mid).to < column) {
        low = mid + 1;
      } else {
        high = mid;
      }
    }
    return low;
  }

  private Word nearest(Part p, int row) {
    if (row < 0 || row >= grid.rows || words[row] == null) {
      return null;
    }
    Word best = null;
    int distance = NEAR_OPERAND + 1;
    List<Word> list = words[row];
    int at = firstReaching(list, p.from);
    for (int i = Math.max(0, at - 1); i < list.size() && i <= at; i++) {
      Word w = list.get(i);
      int d = w.to < p.from ? p.from - w.to : w.from - p.to;
      if (!w.used && !w.touched && d < distance) {
        best = w;
        distance = d;
      }
    }
    return best;
  }

  /** Words of one remark stand together; they are one finding. */
  private void reportStray() {
    for (int row = 0; row < grid.rows; row++) {
      List<Word> list = words[row] == null ? List.of() : words[row];
      for (int i = 0; i < list.size(); i++) {
        Word w = list.get(i);
        if (w.used) {
          continue;
        }
        int to = w.to;
        while (i + 1 < list.size() && !list.get(i + 1).used && blank(row, to + 1, list.get(i + 1).from - 1)) {
          to = list.get(++i).to;
        }
        String text = grid.text(row, w.from, to);
        error("ladder/stray-text", row, w.from, to, text + " belongs to no element; a comment is written (* " + text + " *)");
      }
    }
  }

  private boolean blank(int row, int from, int to) {
    if (to - from > 1) {
      return false;
    }
    for (int c = from; c <= to; c++) {
      if (grid.at(row, c) != ' ') {
        return false;
      }
    }
    return true;
  }

  // ---- the graph ----

  private static final class Group {
    final List<Part> members = new ArrayList<>();
    int top = Integer.MAX_VALUE;
    int bottom = -1;
    int column = Integer.MAX_VALUE;
    final List<Horizontal> horizontals = new ArrayList<>();
    final List<Vertical> verticals = new ArrayList<>();
    final List<Integer> verticalIds = new ArrayList<>();

    void rows(int from, int to, int at) {
      if (from < top || from == top && at < column) {
        column = at;
      }
      top = Math.min(top, from);
      bottom = Math.max(bottom, to);
    }

    void word(Word w) {
      if (w != null) {
        rows(w.row, w.row, w.from);
      }
    }
  }

  private List<Drawing.Network> build(List<Integer> order) {
    Group[] groupOf = new Group[union.length];
    List<Group> groups = new ArrayList<>();
    for (int id : order) {
      Part p = elements[id];
      if (p.dropped) {
        continue;
      }
      int c = find(id);
      if (groupOf[c] == null) {
        groupOf[c] = new Group();
        groups.add(groupOf[c]);
      }
      Group g = groupOf[c];
      p.index = g.members.size();
      g.members.add(p);
      g.rows(p.row, p.box == null ? p.row : lastRow(p.box), p.from);
      g.word(p.above);
      g.word(p.below);
      if (p.box != null) {
        for (BoxRow pin : p.box.pins) {
          g.word(pin.value);
          pin.targets.forEach(g::word);
        }
      }
    }
    for (Horizontal h : horizontals) {
      int n = h.right == null ? -1 : node(h.right);
      n = n < 0 && h.left != null ? node(h.left) : n;
      Group g = n < 0 ? null : groupOf[find(n)];
      if (g != null) {
        g.rows(h.row, h.row, h.from);
        g.horizontals.add(h);
      }
    }
    for (int i = 0; i < verticals.size(); i++) {
      Group g = root(i) == i ? groupOf[find(elements.length + i)] : null;
      if (g != null) {
        g.rows(verticals.get(i).top, verticals.get(i).bottom, verticals.get(i).column);
        g.verticals.add(verticals.get(i));
        g.verticalIds.add(i);
      }
    }
    groups.sort(Comparator.comparingInt((Group g) -> g.top).thenComparingInt(g -> g.column));
    Name[] labels = placeLabels(groups);
    checkJumps();
    List<Drawing.Network> networks = new ArrayList<>(groups.size());
    int comment = 0;
    int lastRow = -1;
    for (int i = 0; i < groups.size(); i++) {
      Group g = groups.get(i);
      StringBuilder text = new StringBuilder();
      while (comment < grid.comments.size() && grid.comments.get(comment).firstRow() < g.top) {
        Grid.Comment c = grid.comments.get(comment++);
        if (c.firstRow() > lastRow && standsAlone(c) && !c.text().isEmpty()) {
          text.append(text.length() == 0 ? "" : "\n").append(c.text());
        }
      }
      lastRow = Math.max(lastRow, g.bottom);
      networks.add(network(i + 1, g, Optional.ofNullable(labels[i]), text.toString()));
    }
    return networks;
  }

  /** Comments beside a drawing are remarks on it; those on rows of their own belong to the network below. */
  private boolean standsAlone(Grid.Comment c) {
    int row = c.firstRow();
    if (grid.kinds[row] == Grid.RowKind.BLANK || grid.kinds[row] == Grid.RowKind.LABEL) {
      return true;
    }
    char[] cells = grid.cells[row];
    for (int i = 0; i < cells.length; i++) {
      if (cells[i] != ' ' && !grid.isRail(row, i)) {
        return false;
      }
    }
    return true;
  }

  private Name[] placeLabels(List<Group> groups) {
    Name[] result = new Name[groups.size()];
    Map<String, Grid.Label> seen = new TreeMap<>();
    for (int i = 0; i < grid.labels.size(); i++) {
      Grid.Label l = grid.labels.get(i);
      Grid.Label first = seen.putIfAbsent(l.text().toUpperCase(Locale.ROOT), l);
      if (first != null) {
        findings.add(new Finding(Severity.ERROR, "ladder/label-twice", l.row(), l.column(), l.end(),
            "label " + l.text() + " stands twice, first on line " + (grid.firstLine + first.row()), null,
            grid.span(first.row(), first.column(), first.end()), "the first one"));
        continue;
      }
      int g = firstBelow(groups, l.row());
      Grid.Label next = i + 1 < grid.labels.size() ? grid.labels.get(i + 1) : null;
      if (g == groups.size() || next != null && groups.get(g).top > next.row()) {
        error("ladder/label-no-network", l.row(), l.column(), l.end(), "no network follows the label " + l.text()
            + (g == groups.size() ? "" : " before the label " + next.text()));
      } else {
        result[g] = new Name(grid.span(l.row(), l.column(), l.end()), l.text());
      }
    }
    return result;
  }

  private static int firstBelow(List<Group> groups, int row) {
    int low = 0;
    int high = groups.size();
    while (low < high) {
      int mid = (low + high) >>> 1;
      if (groups.get(mid).top <= row) {
        low = mid + 1;
      } else {
        high = mid;
      }
    }
    return low;
  }

  private void checkJumps() {
    Map<String, String> known = new LinkedHashMap<>();
    for (Grid.Label l : grid.labels) {
      known.putIfAbsent(l.text().toUpperCase(Locale.ROOT), l.text());
    }
    for (Part p : elements) {
      if (p.kind == Kind.JUMP && !known.containsKey(p.name.toUpperCase(Locale.ROOT))) {
        error("ladder/unknown-label", p.row, p.nameFrom, p.nameTo, "no network carries the label " + p.name
            + (known.isEmpty() ? "; no label stands here" : "; labels here: " + shortList(new ArrayList<>(known.values()))));
      }
    }
  }

  private Drawing.Network network(int number, Group g, Optional<Name> label, String comment) {
    Map<Integer, Link> linkOfVertical = new TreeMap<>();
    for (int i = 0; i < g.verticals.size(); i++) {
      linkOfVertical.put(g.verticalIds.get(i), link(verticalStates[g.verticalIds.get(i)]));
    }
    List<Drawing.Element> list = new ArrayList<>(g.members.size());
    for (Part p : g.members) {
      list.add(element(p, linkOfVertical));
    }
    List<Drawing.Segment> segments = new ArrayList<>();
    for (Horizontal h : g.horizontals) {
      int from = h.left != null && (h.left.vertical >= 0 || h.left.type == Type.LEFT_RAIL && !h.bare) ? h.from - 1 : h.from;
      int to = h.right != null && (h.right.vertical >= 0 || h.right.type == Type.RIGHT_RAIL) ? h.to + 1 : h.to;
      if (to >= from && h.left != null && h.left.type != Type.WORD && stateOf(h).ports.length > 0) {
        segments.add(new Drawing.Segment(h.row + 1, from + 1, h.row + 1, to + 1, linkOf(h, linkOfVertical)));
      }
    }
    for (int i = 0; i < g.verticals.size(); i++) {
      Vertical v = g.verticals.get(i);
      if (v.bottom > v.top && verticalStates[g.verticalIds.get(i)].ports.length > 0) {
        segments.add(new Drawing.Segment(v.top + 1, v.column + 1, v.bottom + 1, v.column + 1, linkOfVertical.get(g.verticalIds.get(i))));
      }
    }
    Span first = grid.span(g.top, 0, Math.max(0, grid.length(g.top) - 1));
    Span last = grid.span(g.bottom, 0, Math.max(0, grid.length(g.bottom) - 1));
    return new Drawing.Network(number, first.to(last), label, comment, list, segments);
  }

  private Link linkOf(Horizontal h, Map<Integer, Link> ofVertical) {
    if (h != null && h.alias == null && h.left != null && h.left.vertical >= 0) {
      Link known = ofVertical.get(h.left.vertical);
      if (known != null) {
        return known;
      }
    }
    return link(stateOf(h));
  }

  /** Ports in the order of their elements, the rail first. What has no source was reported; it counts as fed by the rail. */
  private Link link(State s) {
    List<Port> list = new ArrayList<>(s.ports.length);
    List<Out> outs = new ArrayList<>(s.ports.length);
    for (long port : s.ports) {
      if (port == RAIL) {
        list.add(new Rail());
      } else {
        Part p = elements[(int) (port >> 24)];
        if (!p.dropped) {
          outs.add(new Out(p.index, (int) (port & 0xffffff)));
        }
      }
    }
    outs.sort(Comparator.comparingInt(Out::element).thenComparingInt(Out::pin));
    list.addAll(outs);
    if (list.isEmpty()) {
      list.add(new Rail());
    }
    return new Link(list);
  }

  private Link inputLink(Part p, Horizontal h, Map<Integer, Link> ofVertical) {
    Link link = linkOf(h, ofVertical);
    List<Port> earlier = null;
    for (int i = 0; i < link.sources().size(); i++) {
      if (link.sources().get(i) instanceof Out out && out.element() >= p.index) { // only behind a reported loop
        earlier = new ArrayList<>(link.sources());
        earlier.removeIf(q -> q instanceof Out o && o.element() >= p.index);
        break;
      }
    }
    return earlier == null ? link : earlier.isEmpty() ? new Link(List.of(new Rail())) : new Link(earlier);
  }

  private Drawing.Place place(Part p) {
    if (p.box == null) {
      return new Drawing.Place(grid.span(p.row, p.from, p.to), p.row + 1, p.from + 1, p.to - p.from + 1, 1);
    }
    int bottom = lastRow(p.box);
    Span s = grid.span(p.row, p.from, p.to).to(grid.span(bottom, p.from, p.to));
    return new Drawing.Place(s, p.row + 1, p.from + 1, p.to - p.from + 1, bottom - p.box.top + 1);
  }

  private static int lastRow(BoxNode box) {
    return box.bottomMissing ? box.bottom - 1 : box.bottom;
  }

  private Expression parse(Word w, Part p) {
    return w == null ? new Expression.Erroneous(grid.span(p.row, p.from, p.to)) : expressions.apply(grid.span(w.row, w.from, w.to));
  }

  private boolean isParenthesised(Word w) {
    return grid.at(w.row, w.from) == '(';
  }

  private Expression variable(Word w, Part p) {
    Expression e = parse(w, p);
    if (w != null && !(e instanceof Expression.Erroneous) && (isParenthesised(w) || !isAccess(e))) {
      error("ladder/operand", w.row, w.from, w.to,
          grid.text(w.row, w.from, w.to) + " is no variable; the operand of a " + describe(p) + " is a variable");
    }
    return e;
  }

  private Expression value(Word w, Part p) {
    Expression e = parse(w, p);
    if (w != null && !isParenthesised(w) && !isAccess(e) && !(e instanceof Expression.Literal) && !(e instanceof Expression.TypedName)
        && !(e instanceof Expression.Erroneous)
        && !(e instanceof Expression.Unary u && u.operator() == Expression.UnaryOperator.MINUS
            && u.operand() instanceof Expression.Literal)) {
      String text = grid.text(w.row, w.from, w.to);
      error("ladder/operand", w.row, w.from, w.to,
          text + " is an expression; in a drawing it stands in parentheses", "write (" + text + ")");
    }
    return e;
  }

  private static boolean isAccess(Expression e) {
    return e instanceof Expression.Ident || e instanceof Expression.Direct || e instanceof Expression.Member
        || e instanceof Expression.Index || e instanceof Expression.Bits || e instanceof Expression.Dereference;
  }

  private Drawing.Element element(Part p, Map<Integer, Link> links) {
    return switch (p.kind) {
      case CONTACT -> new Drawing.Contact(place(p), contactMark(p.mark), variable(p.above, p), inputLink(p, p.in, links));
      case COMPARE -> new Drawing.Compare(place(p), comparison(p.mark),
          p.name.isEmpty() ? Optional.empty() : Optional.of(new Name(grid.span(p.row, p.nameFrom, p.nameTo), p.name)),
          value(p.above, p), value(p.below, p), inputLink(p, p.in, links));
      case COIL -> new Drawing.Coil(place(p), coilMark(p.mark), variable(p.above, p), inputLink(p, p.in, links));
      case JUMP -> new Drawing.Jump(place(p), new Name(grid.span(p.row, p.nameFrom, p.nameTo), p.name), inputLink(p, p.in, links));
      case RETURN -> new Drawing.Return(place(p), inputLink(p, p.in, links));
      case BOX -> box(p, links);
      case ASSIGN -> assignment(p);
      case FEED, CONTINUATION -> throw new IllegalStateException("a connector is no element");
    };
  }

  private static ContactMark contactMark(String mark) {
    return switch (mark) {
      case "/" -> ContactMark.NEGATED;
      case "P" -> ContactMark.RISING;
      case "N" -> ContactMark.FALLING;
      default -> ContactMark.NORMAL; // an unknown one was reported
    };
  }

  private static CoilMark coilMark(String mark) {
    return switch (mark) {
      case "/" -> CoilMark.NEGATED;
      case "S" -> CoilMark.SET;
      case "R" -> CoilMark.RESET;
      case "P" -> CoilMark.RISING;
      case "N" -> CoilMark.FALLING;
      default -> CoilMark.NORMAL; // an unknown one was reported
    };
  }

  private static Comparison comparison(String mark) {
    return switch (mark) {
      case "=", "EQ" -> Comparison.EQ;
      case "<>", "NE" -> Comparison.NE;
      case "<", "LT" -> Comparison.LT;
      case "<=", "LE" -> Comparison.LE;
      case ">", "GT" -> Comparison.GT;
      case ">=", "GE" -> Comparison.GE;
      default -> throw new IllegalStateException("comparison " + mark);
    };
  }

  private Drawing.Box box(Part p, Map<Integer, Link> links) {
    BoxNode box = p.box;
    List<Drawing.Input> inputs = new ArrayList<>();
    List<Drawing.Output> outputs = new ArrayList<>();
    for (BoxRow pin : box.pins) {
      if (pin.row == box.typeRow) {
        continue;
      }
      boolean edged = pin.leftBorder == '>' || pin.leftBorder == '<';
      if ((pin.leftFrom >= 0 || pin.in != null || edged) && !pin.dropInput) {
        int from = pin.negatedLeft ? box.left - 1 : edged || pin.leftFrom < 0 ? box.left : pin.leftFrom;
        int to = pin.leftFrom < 0 ? box.left : pin.leftTo;
        Optional<Link> link = pin.in == null || pin.value != null || pin.in.left != null && pin.in.left.type == Type.WORD
            ? Optional.empty() : Optional.of(inputLink(p, pin.in, links));
        if (pin.inOut && link.isPresent()) {
          error("ladder/in-out", pin.row, from, to, "an in-out needs a variable at its left");
        }
        inputs.add(new Drawing.Input(grid.span(pin.row, from, to), name(pin.row, pin.leftFrom, pin.leftTo), pin.negatedLeft,
            pin.leftBorder == '>' ? EdgeMark.RISING : pin.leftBorder == '<' ? EdgeMark.FALLING : EdgeMark.NONE, pin.inOut, link,
            pin.value == null ? Optional.empty() : Optional.of(value(pin.value, p))));
      }
      if (pin.output >= 0) {
        int from = pin.rightFrom < 0 ? box.right : pin.rightFrom;
        int to = pin.negatedRight ? box.right + 1 : pin.rightFrom < 0 ? box.right : pin.rightTo;
        List<Expression> targets = new ArrayList<>(pin.targets.size());
        for (Word w : pin.targets) {
          targets.add(target(w, p));
        }
        outputs.add(new Drawing.Output(grid.span(pin.row, from, to), name(pin.row, pin.rightFrom, pin.rightTo), pin.negatedRight, pin.inOut,
            targets));
      }
    }
    Optional<Expression> instance = p.above == null ? Optional.empty() : Optional.of(variable(p.above, p));
    String written = grid.text(box.typeRow, box.typeFrom, box.typeTo);
    String timer = drawnTimer(written);
    Name type = new Name(grid.span(box.typeRow, box.typeFrom, box.typeTo), timer == null ? written : timer);
    return new Drawing.Box(place(p), type, instance, inputs, outputs);
  }

  /** An assignment is the function that does nothing else; so it needs no kind of element of its own. */
  private Drawing.Box assignment(Part p) {
    Span from = grid.span(p.row, p.above.from, p.above.to);
    Span to = grid.span(p.row, p.below.from, p.below.to);
    return new Drawing.Box(place(p), new Name(from, "MOVE"), Optional.empty(),
        List.of(new Drawing.Input(from, Optional.empty(), false, EdgeMark.NONE, false, Optional.empty(), Optional.of(value(p.above, p)))),
        List.of(new Drawing.Output(to, Optional.empty(), false, false, List.of(target(p.below, p)))));
  }

  private Expression target(Word w, Part p) {
    Expression e = parse(w, p);
    if (!(e instanceof Expression.Erroneous) && (isParenthesised(w) || !isAccess(e))) {
      error("ladder/operand", w.row, w.from, w.to,
          grid.text(w.row, w.from, w.to) + " cannot be written; " + (p.kind == Kind.ASSIGN ? "a value" : "an output of a box") + " goes to a variable");
    }
    return e;
  }

  private Optional<Name> name(int row, int from, int to) {
    return from < 0 ? Optional.empty() : Optional.of(new Name(grid.span(row, from, to), grid.text(row, from, to)));
  }
}
