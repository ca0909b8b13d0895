package dev.scanloom.internal.scan;

import dev.scanloom.internal.memory.Bits;
import dev.scanloom.internal.memory.Inventory;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import java.util.Arrays;
import java.util.List;

/** A display: a shadow of memory that holds what was sampled, with when. It reads memory and touches nothing else. */
public final class Screen {
  private final String name;
  private final DisplaySampling sampling;
  private final Painting painting;
  private final Memory memory;
  private final Events events;
  private final Clock clock;
  private final long[] operands;
  private final long seed;
  /** Watches everything: a whole sample is a copy of memory. */
  private final boolean everything;
  private List<Items.Item> items;

  private final long[] slots;
  private final byte[][] areas;
  /** When and in which scan everything was sampled last; -1 and 0 before. */
  private long wholeTime = -1;
  private long wholeScan;
  private long[] itemTimes = new long[0];
  private long[] itemScans = new long[0];
  private long count;
  private long next;

  Screen(ScanPolicy.Display d, List<Items.Item> watched, Memory memory, Events events, Clock clock, long[] operands, long seed) {
    name = d.name();
    sampling = d.sampling();
    painting = d.painting();
    this.memory = memory;
    this.events = events;
    this.clock = clock;
    this.operands = operands;
    this.seed = seed;
    everything = d.items().isEmpty();
    items = everything ? null : List.copyOf(watched);
    slots = new long[memory.code().memory().staticSlots()];
    areas = new byte[][] {new byte[0], new byte[memory.areas[1].length], new byte[memory.areas[2].length], new byte[memory.areas[3].length]};
    next = sampling.subsystemTime(0, seed);
  }

  public String name() {
    return name;
  }

  private List<Items.Item> items() {
    if (items == null) {
      items = Items.all(memory.code(), operands);
    }
    return items;
  }

  /** Time of its next activity. */
  long next() {
    return next;
  }

  void scanStart(long scan) {
    if (sampling.atScanStart(scan)) {
      whole(scan);
    }
  }

  void scanEnd(long scan) {
    if (sampling.atScanEnd(scan)) {
      whole(scan);
    }
  }

  /** Its own clock has struck. */
  void tick(long scan) {
    int n = items().size();
    int chunk = n == 0 ? 0 : Math.max(1, Math.min(n, sampling.chunk(n)));
    if (chunk == n) {
      whole(scan);
    } else {
      if (itemTimes.length == 0) {
        itemTimes = new long[n];
        itemScans = new long[n];
        Arrays.fill(itemTimes, -1);
      }
      long first = count % n * chunk % n;
      for (int k = 0; k < chunk; k++) {
        int i = (int) ((first + k) % n);
        take(i);
        itemTimes[i] = clock.now;
        itemScans[i] = scan;
      }
    }
    count++;
    next = Math.max(next, sampling.subsystemTime(count, seed));
  }

  private void whole(long scan) {
    if (everything) {
      System.arraycopy(memory.slots, 0, slots, 0, slots.length);
      System.arraycopy(memory.areas[1], 0, areas[1], 0, areas[1].length);
      System.arraycopy(memory.areas[2], 0, areas[2], 0, areas[2].length);
      System.arraycopy(memory.areas[3], 0, areas[3], 0, areas[3].length);
      if (events.wants(EventKind.SAMPLE)) {
        int told = events.wantsEverySample() ? items().size() : Math.min(1, items().size());
        for (int i = 0; i < told; i++) {
          take(i);
        }
      }
    } else {
      for (int i = 0; i < items.size(); i++) {
        take(i);
      }
    }
    wholeTime = clock.now;
    wholeScan = scan;
    if (itemTimes.length > 0) {
      Arrays.fill(itemTimes, wholeTime);
      Arrays.fill(itemScans, wholeScan);
    }
  }

  private void take(int i) {
    Items.Item item = items.get(i);
    long a = item.address();
    if (Address.isLocated(a)) {
      int area = Address.area(a);
      long bits = memory.readBits(area, Address.bit(a), item.width());
      Bits.write(areas[area], Address.bit(a), item.width(), bits);
      events.sample(name, i, a, item.width(), bits);
    } else {
      System.arraycopy(memory.slots, (int) a, slots, (int) a, item.slots());
      events.sample(name, i, a, 64, slots[(int) a]);
    }
  }

  /** The item that holds an address; -1 without one. */
  private int itemOf(long address, int width) {
    for (int i = 0; i < items().size(); i++) {
      Items.Item item = items.get(i);
      long a = item.address();
      if (Address.isLocated(a) != Address.isLocated(address)) {
        continue;
      }
      if (Address.isLocated(a)
          ? Address.area(a) == Address.area(address) && Address.bit(a) <= Address.bit(address)
              && Address.bit(address) + width <= Address.bit(a) + item.width()
          : a <= address && address < a + item.slots()) {
        return i;
      }
    }
    return -1;
  }

  public boolean isWatched(long address, int width) {
    return everything || itemOf(address, width) >= 0;
  }

  /** Virtual time of the sample shown; -1 before the first. */
  public long sampledAt(long address, int width) {
    if (itemTimes.length == 0) {
      return wholeTime;
    }
    int i = itemOf(address, width);
    return i < 0 ? wholeTime : itemTimes[i];
  }

  /** Scan of the sample shown; 0 before the first. */
  public long sampledIn(long address, int width) {
    if (itemTimes.length == 0) {
      return wholeScan;
    }
    int i = itemOf(address, width);
    return i < 0 ? wholeScan : itemScans[i];
  }

  /** Value shown, of a kind. */
  public long read(long address, int kind, int width) {
    if (!Address.isLocated(address)) {
      return slots[(int) address];
    }
    return Memory.extend(Bits.read(areas[Address.area(address)], Address.bit(address), width), kind);
  }

  /** Characters of a string shown. */
  public int[] text(int slot, int kind) {
    return Memory.text(slots, slot, kind);
  }

  public boolean isPainted(int element) {
    if (!painting.needsSample()) {
      return true;
    }
    long a = operands[element];
    return a != Address.NULL && isWatched(a, 1);
  }

  boolean paints(int element, boolean negated, boolean executed) {
    long a = operands[element];
    boolean sampled = a != Address.NULL && isWatched(a, 1) && read(a, 0, 1) != 0;
    return isPainted(element) && painting.paints(sampled, negated, executed);
  }

  /** Everything that decides what it shows and will show. */
  record State(long[] slots, byte[][] areas, long wholeTime, long wholeScan, long[] itemTimes, long[] itemScans, long count, long next) {}

  State save() {
    return new State(slots.clone(), new byte[][] {areas[0], areas[1].clone(), areas[2].clone(), areas[3].clone()}, wholeTime, wholeScan,
        itemTimes.clone(), itemScans.clone(), count, next);
  }

  void restore(State s) {
    System.arraycopy(s.slots(), 0, slots, 0, slots.length);
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(s.areas()[a], 0, areas[a], 0, areas[a].length);
    }
    wholeTime = s.wholeTime();
    wholeScan = s.wholeScan();
    itemTimes = s.itemTimes().clone();
    itemScans = s.itemScans().clone();
    count = s.count();
    next = s.next();
  }

  /** Goes on with the pictures of a display of another program: what both know stays as it was sampled. */
  void takeOver(Screen o, List<Inventory.Part> mine, List<Inventory.Part> theirs) {
    for (int i = 0; i < mine.size(); i++) {
      if (!mine.get(i).isLocated()) {
        System.arraycopy(o.slots, (int) theirs.get(i).address(), slots, (int) mine.get(i).address(), mine.get(i).shape().slots());
      }
    }
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(o.areas[a], 0, areas[a], 0, Math.min(o.areas[a].length, areas[a].length));
    }
    wholeTime = o.wholeTime;
    wholeScan = o.wholeScan;
    if (!everything) {
      // The same paths are watched, in the same order.
      itemTimes = o.itemTimes.clone();
      itemScans = o.itemScans.clone();
    }
    count = o.count;
    next = o.next;
  }
}
