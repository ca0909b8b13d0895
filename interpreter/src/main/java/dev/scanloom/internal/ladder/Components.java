package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxNode;
import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Connector;
import dev.scanloom.internal.ladder.Sketch.Horizontal;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.Token;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.TreeMap;

/** Elements in the order of their places, numbered, and which of them hang together. */
final class Components {
  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final List<Vertical> verticals;
  private final List<Horizontal> horizontals;
  private final Map<String, Connector> connectors;
  private Part[] elements = {};
  private int[] union = {};

  Components(Sketch sketch) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    verticals = sketch.verticals;
    horizontals = sketch.horizontals;
    connectors = sketch.connectors;
  }

  void numberElements() {
    List<Part> list = new ArrayList<>(sketch.parts.size());
    for (Part p : sketch.parts) {
      if (p.kind != Kind.FEED && p.kind != Kind.CONTINUATION) {
        list.add(p);
      }
    }
    Collections.sort(list);
    elements = list.toArray(new Part[0]);
    sketch.elements = elements;
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
    findings.error("ladder/pin-twice", pin.row, from, to, kind + " " + name + " stands twice, first on line " + (grid.firstLine + first));
    return true;
  }

  /** Number of nodes: elements, then vertical links, then connectors. */
  int count() {
    return union.length;
  }

  /** The node to which a token belongs, or -1. */
  int node(Token t) {
    return switch (t.type) {
      case PLUS, BAR -> elements.length + t.vertical;
      case ELEMENT -> t.part.id >= 0 ? t.part.id : connectorNode(connectors.get(t.part.name.toUpperCase(Locale.ROOT)));
      case BOX_LEFT, BOX_RIGHT -> t.pin.box.part.id;
      case LEFT_RAIL, RIGHT_RAIL, DASH, WORD, STRAY -> -1;
    };
  }

  int verticalNode(int vertical) {
    return elements.length + vertical;
  }

  private int connectorNode(Connector c) {
    return elements.length + verticals.size() + c.number;
  }

  /** The node that stands for all that hang together with this one. */
  int find(int x) {
    return Joined.root(union, x);
  }

  void connect() {
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
}
