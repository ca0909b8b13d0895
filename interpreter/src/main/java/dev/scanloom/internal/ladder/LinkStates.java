package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Connector;
import dev.scanloom.internal.ladder.Sketch.Horizontal;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.State;
import dev.scanloom.internal.ladder.Sketch.Type;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Comparator;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/** What each link carries. */
final class LinkStates {
  private final Grid grid;
  private final Findings findings;
  private final List<Vertical> verticals;
  private final Map<String, Connector> connectors;
  private State[] verticalStates = {};
  private final Map<Connector, State> connectorStates = new LinkedHashMap<>(0);

  LinkStates(Sketch sketch) {
    grid = sketch.grid;
    findings = sketch.findings;
    verticals = sketch.verticals;
    connectors = sketch.connectors;
  }

  State ofVertical(int vertical) {
    return verticalStates[vertical];
  }

  State stateOf(Horizontal h) {
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
      case LEFT_RAIL -> h.poisoned ? new State(State.FROM_RAIL.ports, true, List.of()) : State.FROM_RAIL;
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
        if (p.kind != Kind.CONTACT && p.kind != Kind.COMPARE && p.kind != Kind.COIL) {
          yield State.POISON;
        }
        if (h.poisoned) {
          yield new State(new long[] {(long) p.id << 24}, true, List.of());
        }
        if (p.state == null) {
          p.state = new State(new long[] {(long) p.id << 24}, false, List.of());
        }
        yield p.state;
      }
      case WORD, RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> State.POISON;
    };
    return s == null ? State.POISON : s;
  }

  void resolve() {
    verticalStates = new State[verticals.size()];
    connectorStates.clear();
    for (Connector c : connectors.values()) {
      reportConnector(c);
      if (c.feeds.isEmpty()) {
        connectorStates.put(c, State.POISON);
      }
    }
    boolean all = connectors.isEmpty();
    for (int i = 0; all && i < verticalStates.length; i++) {
      all = isReady(verticals.get(i));
      verticalStates[i] = all ? join(verticals.get(i).ins) : null;
    }
    if (!all) {
      search();
    }
  }

  /** Whether what leads to a vertical link is known, as nearly everywhere for one link after the other from above. */
  private boolean isReady(Vertical v) {
    for (Horizontal h : v.ins) {
      int origin = originNode(h, verticals.size());
      if (origin >= 0 && verticalStates[origin] == null) {
        return false;
      }
    }
    return true;
  }

  private void search() {
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
        findings.error("ladder/connector", p.row, p.from, p.to,
            "no link ends in connector " + p.name + (others.isEmpty() ? "" : "; connectors: " + Findings.shortList(others)));
      }
    } else if (c.continuations.isEmpty()) {
      Part p = c.feeds.get(0);
      findings.error("ladder/connector", p.row, p.from, p.to, "nothing continues connector " + p.name);
    }
    for (int i = 1; i < c.feeds.size(); i++) {
      Part p = c.feeds.get(i);
      findings.error("ladder/connector-twice", p.row, p.from, p.to,
          "two links end in connector " + p.name + ", the first on line " + (grid.firstLine + c.feeds.get(0).row));
    }
  }

  void reportLoop(Connector c) {
    if (c.looped) {
      return;
    }
    c.looped = true;
    Part p = c.continuations.get(0);
    findings.error("ladder/loop", p.row, p.from, p.to, "connector " + p.name + " leads back to itself");
  }
}
