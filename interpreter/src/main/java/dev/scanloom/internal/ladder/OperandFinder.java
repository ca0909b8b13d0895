package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.Word;
import java.util.ArrayList;
import java.util.List;

/** Gives words above and below elements to them as their operands. */
final class OperandFinder {
  private static final int NEAR_OPERAND = 8;

  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;

  OperandFinder(Sketch sketch) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
  }

  void claimOperands() {
    List<Part> without = new ArrayList<>(0);
    for (Part p : sketch.elements) {
      if (takesOperands(p)) {
        p.above = claim(p, false, without);
        p.below = p.kind == Kind.COMPARE ? claim(p, true, without) : null;
      }
    }
    for (Part p : sketch.elements) {
      if (takesOperands(p)) {
        p.above = settle(p, p.above, false);
        p.below = settle(p, p.below, true);
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
      findings.error("ladder/no-operand", p.row, p.from, p.to,
          "no operand stands " + (below ? "below" : "above") + " this " + p.describe(), hint);
    }
  }

  private static boolean takesOperands(Part p) {
    return p.kind != Kind.JUMP && p.kind != Kind.RETURN && p.kind != Kind.ASSIGN && !p.bare;
  }

  /** The word if nothing stands nearer to it than the element that claims it; else null. */
  private Word settle(Part p, Word word, boolean below) {
    if (word == null) {
      return null;
    }
    Part winner = word.claimant;
    if (winner == p) {
      word.used = true;
      return word;
    }
    if (p.kind != Kind.BOX) {
      findings.error("ladder/no-operand", p.row, p.from, p.to, "no operand of its own stands " + (below ? "below" : "above") + " this "
          + p.describe() + "; " + grid.text(word.row, word.from, word.to) + " belongs to the " + winner.describe() + " in column "
          + (winner.from + 1));
    }
    return null;
  }

  private boolean wordOver(Part p, int row) {
    return sketch.words(row).stream().anyMatch(w -> !w.touched && w.to >= p.from && w.from <= p.to);
  }

  /** The nearest word above or below an element, which gets it unless another element stands nearer. */
  private Word claim(Part p, boolean below, List<Part> without) {
    int row = below ? p.row + 1 : p.row - 1;
    List<Word> list = sketch.words(row);
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
      return null;
    }
    if (tie != null) {
      tie.used = true;
      findings.error("ladder/two-operands", p.row, p.from, p.to,
          grid.text(row, found.from, found.to) + " and " + grid.text(row, tie.from, tie.to) + " stand equally near "
              + (below ? "below" : "above") + " this " + p.describe());
    }
    if (found.claimant == null || found.claimDistance > distance) {
      found.claimant = p;
      found.claimDistance = distance;
    }
    return found;
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
    Word best = null;
    int distance = NEAR_OPERAND + 1;
    List<Word> list = sketch.words(row);
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
  void reportStray() {
    for (List<Word> list : sketch.words()) {
      for (int i = 0; i < list.size(); i++) {
        Word w = list.get(i);
        if (w.used) {
          continue;
        }
        int to = w.to;
        while (i + 1 < list.size() && !list.get(i + 1).used && blank(w.row, to + 1, list.get(i + 1).from - 1)) {
          to = list.get(++i).to;
        }
        String text = grid.text(w.row, w.from, to);
        findings.error("ladder/stray-text", w.row, w.from, to, text + " belongs to no element; a comment is written (* " + text + " *)");
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
}
