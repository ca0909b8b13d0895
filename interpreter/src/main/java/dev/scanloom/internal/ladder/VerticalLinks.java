package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.Token;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/** Vertical links: cells one below the other, and the ends of the links they make. */
final class VerticalLinks {
  private static final int VERTICAL_GAP = 4;

  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final List<Vertical> verticals;
  private int[] last = {}; // by column, of this stretch or an earlier one
  private final List<Vertical> inReach = new ArrayList<>(4);

  VerticalLinks(Sketch sketch) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    verticals = sketch.verticals;
  }

  /** The vertical link to which this cell belongs: that of the cell above, or a new one. */
  int verticalAt(int row, int c, boolean plus) {
    if (c >= last.length) {
      last = Arrays.copyOf(last, Math.max(c + 1, last.length * 2 + 64));
    }
    int id = last[c];
    Vertical v = id < verticals.size() ? verticals.get(id) : null;
    if (v != null && v.column == c && v.bottom == row - 1) {
      v.bottom = row;
    } else {
      id = verticals.size();
      v = new Vertical(c, row);
      v.topIsPlus = plus;
      verticals.add(v);
      inReach.add(v);
      last[c] = id;
    }
    v.bottomIsPlus = plus;
    if (plus && v.plusRow < 0) {
      v.plusRow = row;
    }
    return id;
  }

  /** Whether a vertical link that begins in this row or below could belong to one found so far; the row above is blank. */
  boolean mayGoOn(int row) {
    for (int i = inReach.size() - 1; i >= 0; i--) {
      Vertical v = inReach.get(i);
      if (v.bottom + 1 + VERTICAL_GAP < row) {
        inReach.remove(i);
        continue;
      }
      int below = firstBelow(v);
      if (below >= row && (!v.bottomIsPlus || grid.at(below, v.column) != '+')) {
        return true;
      }
    }
    return false;
  }

  /** Closes gaps and reports them. */
  void finish() {
    inReach.clear();
    int[] merged = new int[verticals.size()];
    for (int i = 0; i < merged.length; i++) {
      merged[i] = i;
    }
    sketch.mergedVertical = merged;
    Map<Long, Integer> byTop = null;
    boolean[] joinedAbove = new boolean[merged.length];
    for (int i = 0; i < verticals.size(); i++) {
      Vertical v = verticals.get(i);
      if (v.reported && v.plusRow < 0) {
        continue;
      }
      int below = -1;
      int row = firstBelow(v);
      if (row >= 0) {
        byTop = byTop == null ? byTop() : byTop;
        below = byTop.getOrDefault(key(row, v.column), -1);
      }
      if (below >= 0 && (!v.bottomIsPlus || !verticals.get(below).topIsPlus)) {
        Vertical w = verticals.get(below);
        if (!v.bottomIsPlus) {
          findings.error("ladder/open-branch", v.bottom, v.column, v.column, "the vertical link ends here; expected '|' or '+' below");
        } else {
          findings.error("ladder/open-branch", w.top, v.column, v.column, "the vertical link begins here; expected '|' or '+' above");
        }
        joinedAbove[below] = true;
        v.reported = true;
        w.reported = true;
        merged[below] = i; // v was merged before, if at all, so roots point upwards
        continue;
      }
      if (v.plusRow < 0) {
        if (!joinedAbove[i]) {
          findings.error("ladder/open-branch", v.top, v.column, v.column,
              "this vertical link joins no other link; expected '+' where it meets one");
        }
        v.reported = true;
        continue;
      }
      if (!v.bottomIsPlus) {
        findings.error("ladder/open-branch", v.bottom, v.column, v.column, "the vertical link ends here; expected '|' or '+' below");
        v.reported = true;
      }
      if (!v.topIsPlus && !joinedAbove[i]) {
        findings.error("ladder/open-branch", v.top, v.column, v.column, "the vertical link begins here; expected '|' or '+' above");
        v.reported = true;
      }
    }
    for (int i = 0; i < verticals.size(); i++) {
      int root = sketch.root(i);
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
    for (Token t : sketch.tokensWithVertical) {
      t.vertical = sketch.root(t.vertical);
    }
  }

  private Map<Long, Integer> byTop() {
    Map<Long, Integer> byTop = new LinkedHashMap<>();
    for (int i = 0; i < verticals.size(); i++) {
      byTop.put(key(verticals.get(i).top, verticals.get(i).column), i);
    }
    return byTop;
  }

  private static long key(int row, int column) {
    return (long) row << 16 | column;
  }

  /** The row, at most a few blank ones below a vertical link, in which the character under it may be a vertical link too; -1 without one. */
  private int firstBelow(Vertical v) {
    for (int row = v.bottom + 1; row <= v.bottom + 1 + VERTICAL_GAP && row < grid.rows; row++) {
      if (grid.at(row, v.column) != ' ') {
        return Grid.isVertical(grid.at(row, v.column)) ? row : -1;
      }
      if (grid.kinds[row] != Grid.RowKind.DRAWING) {
        return -1;
      }
    }
    return -1;
  }
}
