package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxNode;
import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import java.util.ArrayList;
import java.util.List;

/** Finds boxes by their borders, and the names of pins and types in them. */
final class BoxFinder {
  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;

  BoxFinder(Sketch sketch) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
  }

  /** A border is a row of {@code -} between two {@code +}, the same some rows below, and sides between them. */
  void findBoxes(int from, int to) {
    for (int row = from; row < to; row++) {
      char[] cells = grid.cells[row];
      int column = 0;
      while (column < cells.length) {
        if (cells[column] != '+' || grid.isRail(row, column) || grid.at(row, column + 1) != '-') {
          column++;
          continue;
        }
        int end = column + 1;
        while (grid.at(row, end) == '-') {
          end++;
        }
        if (grid.at(row, end) == '+' && !grid.isRail(row, end) && end > column + 1 && endsFree(row, column, end, -1)
            && !sketch.inside(row, column)) {
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
    if (box.cornerTouched) {
      findings.error("ladder/box-corner", box.top, box.left, box.left,
          "a link touches a corner of this box; a link reaches a box at its sides");
    }
    if (box.bottomMissing) {
      findings.error("ladder/box-open", box.top, box.left, box.left,
          "the bottom border of this box is missing; expected '+---+' below its last pin");
    }
    sketch.add(box);
    Part part = new Part(Kind.BOX, box.top, box.left, box.right);
    part.box = box;
    box.part = part;
    sketch.parts.add(part);
    box.pins = new BoxRow[box.bottom - box.top - 1];
    for (int row = box.top + 1; row < box.bottom; row++) {
      BoxRow pin = new BoxRow(box, row);
      box.pins[row - box.top - 1] = pin;
      readInterior(part, pin);
    }
    if (box.typeRow < 0) {
      part.dropped = true;
      findings.error("ladder/box-no-type", box.top, box.left, box.left,
          "the first row with a word inside a box names its type; here it is a row of pins");
    }
  }

  /** The type that {@code T---0} (on-delay) or {@code 0---T} (off-delay) stands for inside a box (T46.2d, T46.3d); null for anything else. */
  static String drawnTimer(String text) {
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
      findings.error("ladder/box-open", row, box.left, box.left, "the border of this box is open here; expected '|'");
      pin.leftBorder = '|';
    }
    if (rightSide == '>' || rightSide == '<') {
      findings.error("ladder/edge-pin", row, box.right, box.right, "an edge mark stands at an input, not at an output; expected '|'");
    } else if (!isSide(rightSide)) {
      findings.error("ladder/box-open", row, box.right, box.right, "the border of this box is open here; expected '|'");
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
        findings.error("ladder/stray-text", row, c, end, grid.text(row, c, end) + " is no name of a pin or type");
        c = end + 1;
      }
    }
    for (int i = 2; i < found.size(); i++) {
      int[] w = found.get(i - 1);
      findings.error("ladder/stray-text", row, w[0], w[1],
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
        findings.error("ladder/in-out", row, first[0], last == null ? first[1] : last[1],
            last == null ? "the in-out " + l + " lacks its name at the right side"
                : "an in-out has the same name at both sides; found " + l + " and " + r);
      }
    }
  }

  private boolean reachesFromLeft(int row, int border) {
    char c = grid.at(row, border - 1);
    return c == '-' || Grid.isPlus(c) && !grid.isRail(row, border - 1) || c == 'O' && grid.isJoint(row, border - 2);
  }

  private boolean reachesFromRight(int row, int border) {
    char c = grid.at(row, border + 1);
    return c == '-' || Grid.isPlus(c) && !grid.isRail(row, border + 1) || c == 'O' && grid.isJoint(row, border + 2);
  }

  private static boolean isNamePart(char c) {
    return Grid.isLetterOrDigit(c) || c == '_' || c == '.' || c == '#';
  }
}
