package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Connector;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.State;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/** The order in which elements are evaluated. */
final class EvaluationOrder {
  private static final byte OPEN = 1;
  private static final byte DONE = 2;

  private final LinkStates states;
  private final Sketch sketch;
  private Part[] elements;
  /** Of the elements that are searched from, while they are. */
  private int[][] sources;

  EvaluationOrder(Sketch sketch, LinkStates states) {
    this.states = states;
    this.sketch = sketch;
  }

  /**
   * Row by row, left to right, each element preceded by what its links depend on, the sources of a link row by row too. Only connectors
   * can lead back; a loop through one is reported and cut.
   */
  List<Part> evaluationOrder() {
    elements = sketch.elements;
    sources = null;
    List<Part> order = new ArrayList<>(elements.length);
    byte[] colour = new byte[elements.length];
    for (int start = 0; start < elements.length; start++) {
      if (colour[start] != 0) {
        continue;
      }
      if (isReady(elements[start], colour)) {
        colour[start] = DONE;
        order.add(elements[start]);
      } else {
        search(start, colour, order);
      }
    }
    return order;
  }

  /** Whether all that an element depends on is evaluated already, as in most drawings nearly everywhere; a box is not asked. */
  private boolean isReady(Part p, byte[] colour) {
    if (p.kind == Kind.BOX) {
      return false;
    }
    for (long port : states.stateOf(p.in).ports) {
      if (port != Sketch.RAIL && colour[(int) (port >> 24)] != DONE) {
        return false;
      }
    }
    return true;
  }

  private void search(int start, byte[] colour, List<Part> order) {
    if (sources == null) {
      sources = new int[elements.length][];
    }
    ArrayDeque<int[]> stack = new ArrayDeque<>();
    colour[start] = OPEN;
    stack.push(new int[] {start, 0});
    while (!stack.isEmpty()) {
      int[] top = stack.peek();
      int[] s = sources[top[0]];
      if (s == null) {
        s = sourcesOf(elements[top[0]]);
        sources[top[0]] = s;
      }
      if (top[1] < s.length) {
        int next = s[top[1]++];
        if (colour[next] == 0) {
          colour[next] = OPEN;
          stack.push(new int[] {next, 0});
        } else if (colour[next] == OPEN) {
          cutLoop(stack, next);
        }
        continue;
      }
      stack.pop();
      sources[top[0]] = null;
      colour[top[0]] = DONE;
      order.add(elements[top[0]]);
    }
  }

  private int[] sourcesOf(Part p) {
    if (p.kind != Kind.BOX) {
      return elementsOf(states.stateOf(p.in));
    }
    int[] all = {};
    for (BoxRow pin : p.box.pins) {
      if (pin.in != null && pin.value == null) {
        int[] more = elementsOf(states.stateOf(pin.in));
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
      if (port != Sketch.RAIL) {
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
        through.addAll(states.stateOf(p.in).through);
      } else {
        for (BoxRow pin : p.box.pins) {
          through.addAll(states.stateOf(pin.in).through);
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
      states.reportLoop(first);
    }
  }

  private static boolean before(Part a, Part b) {
    return a.row != b.row ? a.row < b.row : a.from < b.from;
  }
}
