package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Drawing.Out;
import dev.scanloom.internal.ladder.Drawing.Port;
import dev.scanloom.internal.ladder.Drawing.Rail;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.BitSet;
import java.util.Comparator;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;

/**
 * Where everything of one network stands.
 *
 * <p>Columns are bands of elements (band = longest way from the rail) with channels between them; vertical links stand in channels only, so
 * they never meet an element or a text. Rows are lanes: a lane is a chain of elements joined along one row, or a single link on its way to
 * a joint. A lane owns the rows that its elements need above and below its main row.
 *
 * <p>Elements must be read back in the order of the graph. First lanes are continued wherever a link allows; if that order comes out
 * different, only where everything below is needed by the element that continues; at last every element gets a lane of its own, which
 * always reads in order.
 */
final class NetworkLayout {
  private static final int CHANNEL = 3;
  private static final int CAREFUL_LIMIT = 4000;

  private enum Mode { FREE, CAREFUL, STAIRS }

  /** A row: so many rows below the main row of a lane. */
  private record Row(Lane lane, int delta) {
    int y() {
      return lane.y + delta;
    }
  }

  private static final class Lane {
    int above;
    int below;
    int y;
    /** Last element. */
    int tail = -1;
    int number;
  }

  private static final class VerticalLine {
    final int channel;
    final int order;
    final Set<Row> joints = new LinkedHashSet<>();
    int x;

    VerticalLine(int channel, int order) {
      this.channel = channel;
      this.order = order;
    }

    int top() {
      return joints.stream().mapToInt(Row::y).min().orElse(0);
    }

    int bottom() {
      return joints.stream().mapToInt(Row::y).max().orElse(0);
    }
  }

  private static final class Use {
    final List<Port> sources;
    final List<Consumer> consumers = new ArrayList<>(1);
    VerticalLine joint;
    int channel;

    Use(List<Port> sources) {
      this.sources = sources;
    }

    boolean isRail() {
      return sources.size() == 1 && sources.get(0) instanceof Rail;
    }
  }

  private record Consumer(int element, boolean main, int row) {}

  /** Start and end of a horizontal link: the rail, the right end of a port, a vertical line, the left end of a consumer, the right rail. */
  private record Horizontal(Row row, Object from, Object to) {}

  private static final Object LEFT_RAIL = "left rail";
  private static final Object RIGHT_RAIL = "right rail";

  private record PortEnd(int element, int pin) {}

  private final Drawing.Network network;
  private final List<Shape> shapes = new ArrayList<>();
  private final Map<List<Port>, Use> uses = new LinkedHashMap<>();
  private final Map<Out, List<Use>> usesOfPort = new LinkedHashMap<>();
  private final Use[] mainUse;
  private final int[] level;
  private final int[] band;
  private int lastBand;

  private final List<Lane> lanes = new ArrayList<>();
  private Lane[] laneOf;
  private int[] successor;
  private final List<VerticalLine> verticals = new ArrayList<>();
  private final List<Horizontal> horizontals = new ArrayList<>();
  private int height;
  private int[] bandWidth;
  private int[] bandStart;
  private int[] channelLines;

  private NetworkLayout(Drawing.Network network) {
    this.network = network;
    int n = network.elements().size();
    mainUse = new Use[n];
    level = new int[n];
    band = new int[n];
    collect();
    Mode mode = Mode.FREE;
    while (true) {
      place(mode);
      connect();
      assignRows();
      if (mode == Mode.STAIRS || !mixes() && readsInOrder()) {
        break;
      }
      mode = mode == Mode.FREE && n <= CAREFUL_LIMIT ? Mode.CAREFUL : Mode.STAIRS;
    }
    assignColumns();
  }

  static NetworkLayout of(Drawing.Network network) {
    return new NetworkLayout(network);
  }

  // ---- graph ----

  private void collect() {
    List<Drawing.Element> elements = network.elements();
    for (int i = 0; i < elements.size(); i++) {
      int id = i;
      List<Port> main = elements.get(i).accept(new Drawing.Visitor<List<Port>>() {
        @Override
        public List<Port> contact(Drawing.Contact e) {
          return sorted(e.left());
        }

        @Override
        public List<Port> compare(Drawing.Compare e) {
          return sorted(e.left());
        }

        @Override
        public List<Port> coil(Drawing.Coil e) {
          return sorted(e.left());
        }

        @Override
        public List<Port> jump(Drawing.Jump e) {
          return sorted(e.left());
        }

        @Override
        public List<Port> returnFrom(Drawing.Return e) {
          return sorted(e.left());
        }

        @Override
        public List<Port> box(Drawing.Box e) {
          return null;
        }
      });
      if (main != null) {
        mainUse[i] = consume(main, new Consumer(i, true, 0));
      } else {
        for (Drawing.Input pin : ((Drawing.Box) elements.get(i)).inputs()) {
          if (pin.link().isPresent()) {
            Use u = consume(sorted(pin.link().get()), null);
            if (mainUse[id] == null) {
              mainUse[id] = u;
            }
          }
        }
      }
      for (Drawing.Link l : LadderLinks.of(elements.get(i))) {
        for (Port p : l.sources()) {
          if (p instanceof Out o) {
            level[i] = Math.max(level[i], level[o.element()]);
          }
        }
      }
      level[i]++;
    }
    for (Use u : uses.values()) {
      for (Port p : u.sources) {
        if (p instanceof Out o) {
          usesOfPort.computeIfAbsent(o, k -> new ArrayList<>(1)).add(u);
          u.channel = Math.max(u.channel, level[o.element()]);
        }
      }
    }
    Set<Integer> used = new TreeSet<>();
    usesOfPort.keySet().forEach(o -> used.add(o.element()));
    lastBand = 1;
    for (int i = 0; i < elements.size(); i++) {
      if (!isLast(i, used)) {
        lastBand = Math.max(lastBand, level[i] + 1);
      }
    }
    for (int i = 0; i < elements.size(); i++) {
      band[i] = isLast(i, used) ? lastBand : level[i];
      shapes.add(Shape.of(elements.get(i), pinsUsed(i)));
    }
    for (int i = 0; i < elements.size(); i++) {
      if (elements.get(i) instanceof Drawing.Box b) {
        Shape s = shapes.get(i);
        boolean first = true;
        for (int k = 0; k < b.inputs().size(); k++) {
          if (b.inputs().get(k).link().isPresent()) {
            uses.get(sorted(b.inputs().get(k).link().get())).consumers.add(new Consumer(i, first, s.inputRow(k)));
            first = false;
          }
        }
      }
    }
  }

  private BitSet pinsUsed(int element) {
    BitSet set = new BitSet();
    if (network.elements().get(element) instanceof Drawing.Box b) {
      for (int k = 0; k < b.outputs().size(); k++) {
        if (usesOfPort.containsKey(new Out(element, k))) {
          set.set(k);
        }
      }
    }
    return set;
  }

  private boolean isLast(int i, Set<Integer> used) {
    Drawing.Element e = network.elements().get(i);
    return !used.contains(i) && (e instanceof Drawing.Coil || e instanceof Drawing.Jump || e instanceof Drawing.Return);
  }

  private static List<Port> sorted(Drawing.Link link) {
    List<Port> list = new ArrayList<>(new LinkedHashSet<>(link.sources()));
    list.sort(Comparator.comparingInt((Port p) -> p instanceof Out o ? o.element() : -1)
        .thenComparingInt(p -> p instanceof Out o ? o.pin() : 0));
    return list;
  }

  private Use consume(List<Port> sources, Consumer c) {
    Use u = uses.computeIfAbsent(sources, Use::new);
    if (c != null) {
      u.consumers.add(c);
    }
    return u;
  }

  // ---- lanes ----

  private void place(Mode mode) {
    int n = shapes.size();
    lanes.clear();
    verticals.clear();
    horizontals.clear();
    laneOf = new Lane[n];
    successor = new int[n];
    Arrays.fill(successor, -1);
    BitSet[] needs = mode == Mode.CAREFUL ? needs() : null;
    List<BitSet> members = new ArrayList<>();
    for (int i = 0; i < n; i++) {
      Lane lane = null;
      if (mode != Mode.STAIRS && mainUse[i] != null) {
        for (Port p : mainUse[i].sources) {
          if (p instanceof Out o && laneOf[o.element()].tail == o.element() && shapes.get(o.element()).outputRow(o.pin()) == 0
              && (needs == null || neededBelow(laneOf[o.element()].number, members, needs[i]))
              && (lane == null || laneOf[o.element()].number < lane.number)) {
            lane = laneOf[o.element()];
          }
        }
      }
      if (lane == null) {
        lane = newLane();
        lane.number = members.size();
        members.add(new BitSet());
      } else {
        successor[lane.tail] = i;
      }
      lane.tail = i;
      members.get(lane.number).set(i);
      laneOf[i] = lane;
      lane.above = Math.max(lane.above, shapes.get(i).above());
      lane.below = Math.max(lane.below, shapes.get(i).below());
    }
  }

  private Lane newLane() {
    Lane lane = new Lane();
    lanes.add(lane);
    return lane;
  }

  private BitSet[] needs() {
    BitSet[] needs = new BitSet[shapes.size()];
    for (int i = 0; i < needs.length; i++) {
      needs[i] = new BitSet(i);
      for (Drawing.Link l : LadderLinks.of(network.elements().get(i))) {
        for (Port p : l.sources()) {
          if (p instanceof Out o) {
            needs[i].or(needs[o.element()]);
            needs[i].set(o.element());
          }
        }
      }
    }
    return needs;
  }

  private static boolean neededBelow(int lane, List<BitSet> members, BitSet needed) {
    for (int k = lane + 1; k < members.size(); k++) {
      BitSet rest = (BitSet) members.get(k).clone();
      rest.andNot(needed);
      if (!rest.isEmpty()) {
        return false;
      }
    }
    return true;
  }

  // ---- links ----

  private Row rowOf(Consumer c) {
    return new Row(laneOf[c.element], c.row);
  }

  private VerticalLine vertical(int channel, int order) {
    VerticalLine v = new VerticalLine(channel, order);
    verticals.add(v);
    return v;
  }

  private void connect() {
    for (Use u : uses.values()) {
      u.joint = u.sources.size() > 1 ? vertical(u.channel, 1) : null;
    }
    Map<Row, Integer> railRows = new LinkedHashMap<>();
    for (int i = 0; i < shapes.size(); i++) {
      for (int pin = 0; pin < Math.max(1, shapes.get(i).outputs()); pin++) {
        connectPort(i, pin);
      }
    }
    for (Use u : uses.values()) {
      if (u.isRail()) {
        for (Consumer c : u.consumers) {
          Row row = rowOf(c);
          if (c.main || band[c.element] == 1) {
            horizontals.add(new Horizontal(row, LEFT_RAIL, c));
            railRows.put(row, c.element);
          } else {
            Row track = new Row(newLane(), 0);
            relay(LEFT_RAIL, track, c);
            railRows.put(track, c.element);
          }
        }
      } else if (u.joint != null) {
        for (Port p : u.sources) {
          if (p instanceof Rail) {
            Row track = new Row(newLane(), 0);
            horizontals.add(new Horizontal(track, LEFT_RAIL, u.joint));
            u.joint.joints.add(track);
          }
        }
        for (Consumer c : u.consumers) {
          leave(u.joint, c);
        }
      }
    }
    joinAtRail(railRows);
  }

  /** From a vertical line to a consumer: along its row, or, to a further pin of a box that is not next, over a line before the box. */
  private void leave(VerticalLine from, Consumer c) {
    if (c.main || band[c.element] == from.channel + 1) {
      Row row = rowOf(c);
      from.joints.add(row);
      horizontals.add(new Horizontal(row, from, c));
    } else {
      Row track = new Row(newLane(), 0);
      from.joints.add(track);
      relay(from, track, c);
    }
  }

  private void relay(Object from, Row track, Consumer c) {
    VerticalLine line = vertical(band[c.element] - 1, 2);
    line.joints.add(track);
    line.joints.add(rowOf(c));
    horizontals.add(new Horizontal(track, from, line));
    horizontals.add(new Horizontal(rowOf(c), line, c));
  }

  private void connectPort(int element, int pin) {
    Shape shape = shapes.get(element);
    List<Use> list = usesOfPort.getOrDefault(new Out(element, pin), List.of());
    int delta = shape.outputRow(pin);
    Row row = new Row(laneOf[element], delta);
    PortEnd end = new PortEnd(element, pin);
    boolean main = delta == 0;
    if (list.isEmpty()) {
      if (!shape.endsAtRight(pin)) {
        return;
      }
      if (main) {
        horizontals.add(new Horizontal(row, end, RIGHT_RAIL));
      } else {
        VerticalLine fork = vertical(level[element], 0);
        Row track = new Row(newLane(), 0);
        fork.joints.add(row);
        fork.joints.add(track);
        horizontals.add(new Horizontal(row, end, fork));
        horizontals.add(new Horizontal(track, fork, RIGHT_RAIL));
      }
      return;
    }
    int next = main ? successor[element] : -1;
    int branches = 0;
    for (Use u : list) {
      branches += u.joint != null ? 1 : u.consumers.size();
    }
    boolean ownRow = main && next < 0;
    if (branches == 1) {
      Use u = list.get(0);
      Consumer c = u.joint != null ? null : u.consumers.get(0);
      if (c != null && c.main && c.element == next) {
        horizontals.add(new Horizontal(row, end, c));
        return;
      }
      if (u.joint != null && (main || u.channel == level[element])) {
        horizontals.add(new Horizontal(row, end, u.joint));
        u.joint.joints.add(row);
        return;
      }
      if (c != null && !c.main && ownRow && band[c.element] > level[element] + 1) {
        relay(end, row, c);
        return;
      }
    }
    VerticalLine fork = vertical(level[element], 0);
    fork.joints.add(row);
    horizontals.add(new Horizontal(row, end, fork));
    for (Use u : list) {
      if (u.joint == null) {
        for (Consumer c : u.consumers) {
          if (c.main && c.element == next) {
            horizontals.add(new Horizontal(row, fork, c));
          } else {
            leave(fork, c);
          }
        }
        continue;
      }
      Row track;
      if (next >= 0 && mainUse[next] == u) {
        track = row;
      } else if (ownRow) {
        track = row;
        ownRow = false;
      } else {
        track = new Row(newLane(), 0);
        fork.joints.add(track);
      }
      horizontals.add(new Horizontal(track, fork, u.joint));
      u.joint.joints.add(track);
    }
  }

  /** Parts that hang together only at a joint of the left rail need that joint again, or they would be several networks. */
  private void joinAtRail(Map<Row, Integer> railRows) {
    int n = shapes.size();
    int[] part = new int[n];
    for (int i = 0; i < n; i++) {
      part[i] = i;
    }
    for (int i = 0; i < n; i++) {
      for (Drawing.Link l : LadderLinks.of(network.elements().get(i))) {
        for (Port p : l.sources()) {
          if (p instanceof Out o) {
            part[Joined.root(part, o.element())] = Joined.root(part, i);
          }
        }
      }
    }
    Set<Integer> all = new TreeSet<>();
    for (int i = 0; i < n; i++) {
      all.add(Joined.root(part, i));
    }
    if (all.size() < 2) {
      return;
    }
    Set<Integer> joined = new TreeSet<>();
    VerticalLine line = vertical(0, 0);
    railRows.forEach((row, element) -> {
      if (joined.add(Joined.root(part, element))) {
        line.joints.add(row);
      }
    });
  }

  // ---- rows ----

  private void assignRows() {
    int y = 0;
    for (Lane lane : lanes) {
      lane.y = y + lane.above;
      y = lane.y + lane.below + 1;
    }
    height = y;
  }

  /** Whether two links of different origin would run along one stretch of a row, as an output of a box and an input of the next may, and become one. */
  private boolean mixes() {
    Map<Row, List<Horizontal>> onRow = new LinkedHashMap<>();
    for (Horizontal h : horizontals) {
      List<Horizontal> others = onRow.computeIfAbsent(h.row(), k -> new ArrayList<>());
      for (Horizontal o : others) {
        boolean overlap = Math.max(order(o.from()), order(h.from())) < Math.min(order(o.to()), order(h.to()));
        // Vertical lines of one order may stand in either order.
        if (o.from() != h.from() && (overlap || meet(o, h) || meet(h, o))) {
          return true;
        }
      }
      others.add(h);
    }
    return false;
  }

  private boolean meet(Horizontal left, Horizontal right) {
    return left.to() instanceof VerticalLine && right.from() instanceof VerticalLine && left.to() != right.from()
        && order(left.to()) == order(right.from());
  }

  /** Where an end of a link comes from left to right: port of an element, vertical lines by their order, consumers of the next band. */
  private int order(Object end) {
    if (end instanceof PortEnd p) {
      return 10 * level[p.element()];
    }
    if (end instanceof VerticalLine v) {
      return 10 * v.channel + 1 + v.order;
    }
    if (end instanceof Consumer c) {
      return 10 * (band[c.element] - 1) + 9;
    }
    return end == LEFT_RAIL ? Integer.MIN_VALUE : Integer.MAX_VALUE;
  }

  /** Reads the order off the places, by the rule of evaluation inside a network. */
  private boolean readsInOrder() {
    int n = shapes.size();
    Integer[] byPlace = new Integer[n];
    long[] key = new long[n];
    for (int i = 0; i < n; i++) {
      byPlace[i] = i;
      key[i] = (long) (laneOf[i].y + shapes.get(i).firstRow()) << 32 | band[i];
    }
    Comparator<Integer> places = Comparator.comparingLong(i -> key[i]);
    Arrays.sort(byPlace, places);
    boolean[] seen = new boolean[n];
    int expected = 0;
    ArrayDeque<Integer> stack = new ArrayDeque<>();
    ArrayDeque<List<Integer>> pending = new ArrayDeque<>();
    for (int start : byPlace) {
      if (seen[start]) {
        continue;
      }
      seen[start] = true;
      stack.push(start);
      pending.push(sourceElements(start, places));
      while (!stack.isEmpty()) {
        List<Integer> rest = pending.peek();
        if (!rest.isEmpty()) {
          int next = rest.remove(rest.size() - 1);
          if (!seen[next]) {
            seen[next] = true;
            stack.push(next);
            pending.push(sourceElements(next, places));
          }
          continue;
        }
        pending.pop();
        if (stack.pop() != expected++) {
          return false;
        }
      }
    }
    return true;
  }

  /** Sources of an element, the last place first. */
  private List<Integer> sourceElements(int i, Comparator<Integer> places) {
    Set<Integer> set = new LinkedHashSet<>();
    for (Drawing.Link l : LadderLinks.of(network.elements().get(i))) {
      for (Port p : l.sources()) {
        if (p instanceof Out o) {
          set.add(o.element());
        }
      }
    }
    List<Integer> list = new ArrayList<>(set);
    list.sort(places.reversed());
    return list;
  }

  // ---- columns ----

  private void assignColumns() {
    bandWidth = new int[lastBand + 1];
    for (int i = 0; i < shapes.size(); i++) {
      bandWidth[band[i]] = Math.max(bandWidth[band[i]], shapes.get(i).width());
    }
    channelLines = new int[lastBand + 1];
    List<List<VerticalLine>> byChannel = new ArrayList<>();
    for (int k = 0; k <= lastBand; k++) {
      byChannel.add(new ArrayList<>());
    }
    for (VerticalLine v : verticals) {
      if (!v.joints.isEmpty()) {
        byChannel.get(v.channel).add(v);
      }
    }
    for (int k = 0; k <= lastBand; k++) {
      List<VerticalLine> list = byChannel.get(k);
      list.sort(Comparator.comparingInt((VerticalLine v) -> v.order).thenComparingInt(VerticalLine::top));
      int base = 0;
      int order = -1;
      List<Integer> bottoms = new ArrayList<>();
      for (VerticalLine v : list) {
        if (v.order != order) {
          base += bottoms.size();
          bottoms = new ArrayList<>();
          order = v.order;
        }
        int slot = 0;
        while (slot < bottoms.size() && bottoms.get(slot) + 1 >= v.top()) {
          slot++;
        }
        if (slot == bottoms.size()) {
          bottoms.add(v.bottom());
        } else {
          bottoms.set(slot, v.bottom());
        }
        v.x = base + slot;
      }
      channelLines[k] = base + bottoms.size();
    }
    bandStart = new int[lastBand + 2];
  }

  int naturalWidth() {
    int x = 1;
    for (int k = 0; k <= lastBand; k++) {
      x += Math.max(CHANNEL, 2 * channelLines[k] + 1) + (k < lastBand ? bandWidth[k + 1] : 0);
    }
    return x + 1;
  }

  private int lineColumn(VerticalLine v) {
    int start = v.channel == 0 ? 1 : bandStart[v.channel] + bandWidth[v.channel];
    return start + 1 + 2 * v.x;
  }

  /** The rows, {@code width} columns each; the last band is pushed to the right rail. */
  String paint(int width) {
    StringBuilder out = new StringBuilder(height * (width + 1));
    int x = 1;
    int slack = width - naturalWidth();
    for (int k = 0; k < lastBand; k++) {
      x += Math.max(CHANNEL, 2 * channelLines[k] + 1) + (k == lastBand - 1 ? slack : 0);
      bandStart[k + 1] = x;
      x += bandWidth[k + 1];
    }
    int[][] cells = new int[height][width];
    for (int[] row : cells) {
      Arrays.fill(row, ' ');
      row[0] = '|';
      row[width - 1] = '|';
    }
    for (Horizontal h : horizontals) {
      int y = h.row.y();
      int from = h.from == LEFT_RAIL ? 0 : h.from instanceof VerticalLine v ? lineColumn(v) : portColumn((PortEnd) h.from);
      int to = h.to == RIGHT_RAIL ? width - 1 : h.to instanceof VerticalLine v ? lineColumn(v) : consumerColumn((Consumer) h.to);
      for (int c = from + 1; c < to; c++) {
        cells[y][c] = '-';
      }
      if (h.from == LEFT_RAIL) {
        cells[y][0] = '+';
      }
      if (h.to == RIGHT_RAIL) {
        cells[y][width - 1] = '+';
      }
    }
    for (VerticalLine v : verticals) {
      if (!v.joints.isEmpty()) {
        int c = lineColumn(v);
        for (int y = v.top(); y <= v.bottom(); y++) {
          cells[y][c] = '|';
        }
        for (Row r : v.joints) {
          cells[r.y()][c] = '+';
        }
      }
    }
    for (int i = 0; i < shapes.size(); i++) {
      shapes.get(i).paint(cells, laneOf[i].y, shapeColumn(i));
    }
    for (int[] row : cells) {
      for (int c : row) {
        out.appendCodePoint(c);
      }
      out.append('\n');
    }
    return out.toString();
  }

  private int shapeColumn(int i) {
    Shape s = shapes.get(i);
    return bandStart[band[i]] + (s.leftAligned() ? 0 : (bandWidth[band[i]] - s.width()) / 2);
  }

  private int portColumn(PortEnd p) {
    return shapeColumn(p.element) + shapes.get(p.element).outputColumn(p.pin);
  }

  private int consumerColumn(Consumer c) {
    return shapeColumn(c.element) + shapes.get(c.element).inputColumn(c.row);
  }
}
