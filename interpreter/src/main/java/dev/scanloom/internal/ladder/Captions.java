package dev.scanloom.internal.ladder;

import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;

/** Labels and comments, given to the networks that follow them. Networks are asked for from the first to the last. */
final class Captions {
  private final Grid grid;
  private final Findings findings;
  private final Map<String, Grid.Label> placed = new LinkedHashMap<>();
  private Map<String, String> known;
  private int label;
  private int comment;
  private int lastRow = -1;

  Captions(Grid grid, Findings findings) {
    this.grid = grid;
    this.findings = findings;
  }

  /** The label in front of the network that begins at a row. */
  Optional<Name> label(int top) {
    Optional<Name> result = Optional.empty();
    while (label < grid.labels.size() && grid.labels.get(label).row() < top) {
      Grid.Label l = grid.labels.get(label++);
      if (isFirst(l)) {
        Grid.Label next = label < grid.labels.size() ? grid.labels.get(label) : null;
        if (next != null && next.row() < top) {
          findings.error("ladder/label-no-network", l.row(), l.column(), l.end(),
              "no network follows the label " + l.text() + " before the label " + next.text());
        } else {
          result = Optional.of(new Name(grid.span(l.row(), l.column(), l.end()), l.text()));
        }
      }
    }
    return result;
  }

  /** Reports the labels behind the last network. */
  void finish() {
    for (; label < grid.labels.size(); label++) {
      Grid.Label l = grid.labels.get(label);
      if (isFirst(l)) {
        findings.error("ladder/label-no-network", l.row(), l.column(), l.end(), "no network follows the label " + l.text());
      }
    }
  }

  private boolean isFirst(Grid.Label l) {
    Grid.Label first = placed.putIfAbsent(l.text().toUpperCase(Locale.ROOT), l);
    if (first != null) {
      findings.error("ladder/label-twice", l.row(), l.column(), l.end(),
          "label " + l.text() + " stands twice, first on line " + (grid.firstLine + first.row()),
          grid.span(first.row(), first.column(), first.end()), "the first one");
    }
    return first == null;
  }

  /** The comments in front of the network in these rows. */
  String comment(int top, int bottom) {
    StringBuilder text = null;
    while (comment < grid.comments.size() && grid.comments.get(comment).firstRow() < top) {
      Grid.Comment c = grid.comments.get(comment++);
      if (c.firstRow() > lastRow && standsAlone(c) && !c.text().isEmpty()) {
        text = text == null ? new StringBuilder() : text.append('\n');
        text.append(c.text());
      }
    }
    lastRow = Math.max(lastRow, bottom);
    return text == null ? "" : text.toString();
  }

  /** Comments beside a drawing are remarks on it; those on rows of their own belong to the network below. */
  private boolean standsAlone(Grid.Comment c) {
    int row = c.firstRow();
    return grid.kinds[row] == Grid.RowKind.BLANK || grid.kinds[row] == Grid.RowKind.LABEL || grid.holdsNothing(row);
  }

  /** Reports a jump to a label that stands nowhere. */
  void checkTarget(Sketch.Part jump) {
    if (known == null) {
      known = new LinkedHashMap<>();
      for (Grid.Label l : grid.labels) {
        known.putIfAbsent(l.text().toUpperCase(Locale.ROOT), l.text());
      }
    }
    if (!known.containsKey(jump.name.toUpperCase(Locale.ROOT))) {
      findings.error("ladder/unknown-label", jump.row, jump.nameFrom, jump.nameTo, "no network carries the label " + jump.name
          + (known.isEmpty() ? "; no label stands here" : "; labels here: " + Findings.shortList(new ArrayList<>(known.values()))));
    }
  }
}
