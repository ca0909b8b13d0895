package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Connector;
import dev.scanloom.internal.ladder.Sketch.Horizontal;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.State;
import dev.scanloom.internal.ladder.Sketch.Type;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import dev.scanloom.internal.ladder.Sketch.Word;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;

/** Reports what nothing feeds and what leads nowhere; gives words at the ends of links to the pins they stand at. */
final class UnfedLinks {
  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final List<Vertical> verticals;
  private final List<Horizontal> horizontals;
  private final Map<String, Connector> connectors;
  private final Components components;
  private final LinkStates states;

  UnfedLinks(Sketch sketch, Components components, LinkStates states) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    verticals = sketch.verticals;
    horizontals = sketch.horizontals;
    connectors = sketch.connectors;
    this.components = components;
    this.states = states;
  }

  void reportUnfed() {
    boolean[] fed = new boolean[components.count()];
    for (Horizontal h : horizontals) {
      boolean source = h.left != null && (h.left.type == Type.LEFT_RAIL || h.poisoned
          || h.left.type == Type.ELEMENT && (h.left.part.kind == Kind.CONTINUATION || h.left.part.bare));
      if (source && h.right != null) {
        int n = components.node(h.right);
        if (n >= 0) {
          fed[components.find(n)] = true;
        }
      }
    }
    boolean[] said = new boolean[components.count()];
    Part[] firstOf = new Part[components.count()];
    for (Part p : sketch.elements) {
      int c = components.find(p.id);
      if (firstOf[c] == null && p.kind != Kind.BOX) {
        firstOf[c] = p;
      }
    }
    for (Horizontal h : horizontals) {
      if (h.left == null && h.right != null && !h.poisoned) {
        int n = components.node(h.right);
        int c = n < 0 ? -1 : components.find(n);
        if (h.right.type == Type.BOX_LEFT) {
          findings.error("ladder/open-link", h.row, h.from, h.from,
              "nothing stands at the left end of this link; expected a link, a variable or a value");
        } else if (c >= 0 && !fed[c] && firstOf[c] != null) {
          noRail(c, firstOf, said);
        } else {
          findings.error("ladder/open-link", h.row, h.from, h.from, "nothing feeds this link from its left");
        }
        h.poisoned = true;
      } else if (h.left != null && h.left.type == Type.LEFT_RAIL && h.right != null && h.right.type == Type.RIGHT_RAIL) {
        findings.error("ladder/empty-rung", h.row, h.from, h.to, "a link from rail to rail without an element");
      } else if (h.left != null && h.left.type == Type.WORD) {
        checkValue(h);
      }
    }
    for (Part p : sketch.elements) {
      if (p.kind != Kind.BOX && p.kind != Kind.ASSIGN && p.in == null) {
        int c = components.find(p.id);
        if (!fed[c]) {
          noRail(c, firstOf, said);
        } else {
          findings.error("ladder/open-link", p.row, p.from, p.from, "nothing reaches this " + p.describe() + " from its left");
        }
      }
    }
    for (Connector k : connectors.values()) {
      for (Part p : k.feeds) {
        if (p.in == null) {
          findings.error("ladder/open-link", p.row, p.from, p.from, "nothing reaches this connector from its left");
        }
      }
    }
    boolean[] hasElement = new boolean[components.count()];
    for (Part p : sketch.elements) {
      hasElement[components.find(p.id)] = true;
    }
    for (int i = 0; i < verticals.size(); i++) {
      Vertical v = verticals.get(i);
      if (sketch.root(i) != i || v.reported && (v.ins.isEmpty() || v.outs.isEmpty())) {
        continue;
      }
      int c = components.find(components.verticalNode(i));
      if (v.ins.isEmpty() && !v.outs.isEmpty()) {
        boolean backwards = false;
        for (Horizontal h : v.outs) {
          backwards |= h.right != null && h.right.vertical >= 0 && verticals.get(h.right.vertical).ins.size() > 1;
        }
        int row = v.outs.get(0).row;
        if (backwards) {
          findings.error("ladder/backwards", row, v.column, v.column, "power would have to reach this vertical link from its right");
        } else if (!fed[c] && firstOf[c] != null) {
          noRail(c, firstOf, said);
        } else {
          findings.error("ladder/open-link", row, v.column, v.column, "nothing feeds this vertical link from its left");
        }
      } else if (v.outs.isEmpty() && !v.ins.isEmpty()) {
        Horizontal h = v.ins.get(0);
        findings.error("ladder/open-link", h.row, v.column, v.column,
            "this link ends nowhere; expected an element, a link or the right rail");
      } else if (v.outs.isEmpty() && !v.reported) {
        findings.error("ladder/open-link", v.plusRow < 0 ? v.top : v.plusRow, v.column, v.column, "this joint joins nothing");
      } else if (!hasElement[c] && !said[c]) {
        boolean all = true;
        for (Horizontal h : v.outs) {
          all &= h.right != null && h.right.type == Type.RIGHT_RAIL;
        }
        if (all) {
          said[c] = true;
          findings.error("ladder/empty-rung", v.ins.get(0).row, v.ins.get(0).from, v.ins.get(0).from,
              "a link from rail to rail without an element");
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
      findings.error("ladder/no-rail", p.row, p.from, p.to, "nothing connects this network to the left rail");
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
      findings.error("ladder/bare-word", w.row, w.from, w.to, h.right.type == Type.PLUS
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
    State s = states.stateOf(h);
    if (s.ports.length == 1 && s.ports[0] != Sketch.RAIL) {
      Part p = sketch.elements[(int) (s.ports[0] >> 24)];
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
      findings.error("ladder/bare-word", w.row, w.from, w.to,
          text + " stands at the end of a link; only an output of a box is led to a variable, a coil is written ( ) with " + text
              + " on the row above");
    }
  }
}
