package dev.scanloom.internal.scan;

import dev.scanloom.internal.memory.Bits;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.observe.EventKind;
import java.util.Arrays;

/**
 * The copies of {@code %I} and {@code %Q} that belong to tasks, as {@link dev.scanloom.policy.ProcessImages} says; and whatever the policy, copies of the
 * inputs and outputs of blocks with tasks of their own, so that what one task takes from another is of one evaluation (IEC 61131-3, rules of tasks;
 * S.sync-store). One image at a time is in view: memory holds it, so that executors, forces and terminals need not know of copies. What is not in view is
 * parked here.
 */
final class TaskImages {
  /** The image of all who have none of their own. */
  static final int SHARED = -1;

  private static final int IN = 1;
  private static final int OUT = 2;

  private final Memory memory;
  private final Events events;
  private final boolean[] own;
  /** Indices of the tasks as events tell them. */
  private final int[] tasks;
  /** Some task has a copy of the process image. */
  final boolean any;
  /** Some task has a copy of anything. */
  final boolean active;
  /** Slots that every task has a copy of, and the task that delivers each. */
  private final int[] slots;
  private final int[] writer;

  /** Between start and end. */
  private final boolean[] live;
  /** Number + 1: images that are not in view. */
  private final byte[][][] parked;
  private final byte[][] beginning;
  /** Bits that go to the shared image at the end. */
  private final byte[][][] written;
  /** Bits that may be of another origin than those of the shared image, whatever their value. */
  private final byte[][][] apart;
  /** Number + 1, slots of images that are not in view; with which values a job began; those that may be of another origin than the shared ones. */
  private final long[][] parkedSlots;
  private final long[][] beginningSlots;
  private final boolean[][] apartSlots;
  private int inView = SHARED;

  /** {@code own}, {@code tasks}: by the number of the job. */
  TaskImages(Memory memory, Events events, boolean[] own, int[] tasks) {
    this.memory = memory;
    this.events = events;
    this.own = own;
    this.tasks = tasks;
    int n = own.length;
    boolean some = false;
    for (boolean b : own) {
      some |= b;
    }
    any = some;
    live = new boolean[n];
    beginning = new byte[n][];
    parked = new byte[n + 1][][];
    written = new byte[n][][];
    apart = new byte[n][][];
    int count = 0;
    for (Code.Stored x : memory.code().stored()) {
      count += x.slots();
    }
    slots = new int[count];
    writer = new int[count];
    int at = 0;
    for (Code.Stored x : memory.code().stored()) {
      for (int i = 0; i < x.slots(); i++) {
        slots[at] = x.slot() + i;
        writer[at++] = x.task();
      }
    }
    active = any || count > 0;
    parkedSlots = new long[n + 1][count];
    beginningSlots = new long[n][count];
    apartSlots = new boolean[n][count];
    if (any) {
      parked[0] = room();
      for (int i = 0; i < n; i++) {
        if (own[i]) {
          parked[i + 1] = room();
          written[i] = room();
          apart[i] = room();
          beginning[i] = new byte[memory.areas[IN].length];
        }
      }
    }
  }

  private byte[][] room() {
    return new byte[][] {new byte[0], new byte[memory.areas[IN].length], new byte[memory.areas[OUT].length]};
  }

  /** The image that a job works on. */
  int of(int job) {
    return own[job] || slots.length > 0 ? job : SHARED;
  }

  /** The job has a copy of the process image. */
  boolean hasCopy(int job) {
    return own[job];
  }

  /** A job that has a copy of its own starts: the copy is made of the shared image and comes into view. */
  void begin(int job) {
    show(SHARED);
    if (own[job]) {
      for (int a = IN; a <= OUT; a++) {
        System.arraycopy(memory.areas[a], 0, parked[0][a], 0, memory.areas[a].length);
        Arrays.fill(written[job][a], (byte) 0);
        Arrays.fill(apart[job][a], (byte) 0);
      }
      System.arraycopy(memory.areas[IN], 0, beginning[job], 0, beginning[job].length);
    }
    for (int i = 0; i < slots.length; i++) {
      parkedSlots[0][i] = memory.slots[slots[i]];
      beginningSlots[job][i] = memory.slots[slots[i]];
      apartSlots[job][i] = false;
    }
    live[job] = true;
    inView = job;
  }

  /** Brings an image into view; returns the one that was. */
  int show(int image) {
    int was = inView;
    if (image == was) {
      return was;
    }
    if (was != SHARED) {
      noteInputs(was);
      swap(was, was, SHARED, "out");
    }
    if (image != SHARED) {
      swap(image, SHARED, image, "in");
    }
    return was;
  }

  private void swap(int job, int from, int to, String what) {
    for (int a = IN; own[job] && a <= OUT; a++) {
      byte[] view = memory.areas[a];
      System.arraycopy(view, 0, parked[from + 1][a], 0, view.length);
      System.arraycopy(parked[to + 1][a], 0, view, 0, view.length);
    }
    for (int i = 0; i < slots.length; i++) {
      parkedSlots[from + 1][i] = memory.slots[slots[i]];
      memory.slots[slots[i]] = parkedSlots[to + 1][i];
    }
    inView = to;
    if (events.wants(EventKind.WRITE)) {
      for (int a = IN; own[job] && a <= OUT; a++) {
        tell(job, a, parked[from + 1][a], memory.areas[a], null, what);
      }
      for (int i = 0; i < slots.length; i++) {
        tellSlot(job, i, parkedSlots[from + 1][i], what);
      }
    }
  }

  private void tellSlot(int job, int i, long before, String what) {
    long after = memory.slots[slots[i]];
    // what a task writes itself is of another origin, whatever the value
    if (before != after || apartSlots[job][i] || writer[i] == tasks[job]) {
      events.image(tasks[job], slots[i], 64, before, after, what);
    }
  }

  /** Told are the bits that differ or may be of another origin, but not those of {@code except}. */
  private void tell(int job, int area, byte[] before, byte[] after, byte[] except, String what) {
    long base = Address.located("-IQ".charAt(area), 0);
    for (int i = 0; i < after.length; i++) {
      int bits = ((before[i] ^ after[i]) | apart[job][area][i]) & (except == null ? 255 : ~except[i]) & 255;
      if (bits == 255) {
        events.image(tasks[job], base | 8L * i, 8, before[i] & 255, after[i] & 255, what);
        continue;
      }
      for (int b = 0; b < 8 && bits >>> b != 0; b++) {
        if ((bits >>> b & 1) != 0) {
          events.image(tasks[job], base | 8L * i + b, 1, before[i] >>> b & 1, after[i] >>> b & 1, what);
        }
      }
    }
  }

  /**
   * The job in view has ended: what it wrote goes to the shared image, which comes into view.
   *
   * @return bits of outputs that it wrote, valid until its next start; null when it has no copy of the process image
   */
  byte[] end(int job) {
    noteInputs(job);
    inView = SHARED;
    live[job] = false;
    boolean told = events.wants(EventKind.WRITE);
    if (own[job]) {
      endAreas(job, told);
    }
    for (int i = 0; i < slots.length; i++) {
      long mine = memory.slots[slots[i]];
      parkedSlots[job + 1][i] = mine;
      boolean delivered = writer[i] == tasks[job] && mine != beginningSlots[job][i];
      if (delivered) {
        noteSlot(i);
      } else {
        memory.slots[slots[i]] = parkedSlots[0][i];
      }
    }
    for (int i = 0; told && i < slots.length; i++) {
      if (writer[i] != tasks[job] || parkedSlots[job + 1][i] != memory.slots[slots[i]]) {
        tellSlot(job, i, parkedSlots[job + 1][i], "out");
      }
    }
    return own[job] ? written[job][OUT] : null;
  }

  private void noteSlot(int i) {
    for (int j = 0; j < live.length; j++) {
      apartSlots[j][i] |= live[j];
    }
  }

  private void endAreas(int job, boolean told) {
    byte[][] from = parked[job + 1];
    for (int a = IN; a <= OUT; a++) {
      byte[] view = memory.areas[a];
      System.arraycopy(view, 0, from[a], 0, view.length);
      for (int i = 0; i < view.length; i++) {
        int mask = written[job][a][i];
        view[i] = (byte) (parked[0][a][i] & ~mask | view[i] & mask);
      }
    }
    for (int j = 0; j < live.length; j++) {
      for (int a = IN; live[j] && own[j] && a <= OUT; a++) {
        for (int i = 0; i < apart[j][a].length; i++) {
          apart[j][a][i] |= written[job][a][i];
        }
      }
    }
    for (int a = IN; told && a <= OUT; a++) {
      tell(job, a, from[a], memory.areas[a], written[job][a], "out");
    }
  }

  /** Writes to inputs are not watched one by one: what differs from the beginning was written. */
  private void noteInputs(int job) {
    for (int i = 0; own[job] && i < beginning[job].length; i++) {
      int changed = memory.areas[IN][i] ^ beginning[job][i];
      written[job][IN][i] |= (byte) changed;
      apart[job][IN][i] |= (byte) changed;
    }
  }

  /** Bits of the image in view have been written. */
  void note(int area, long from, long end) {
    if (!any || area > OUT) {
      return;
    }
    if (inView != SHARED && own[inView]) {
      mark(written[inView][area], from, end);
      mark(apart[inView][area], from, end);
      return;
    }
    for (int j = 0; j < live.length; j++) {
      if (live[j] && own[j]) {
        mark(apart[j][area], from, end);
      }
    }
  }

  private static void mark(byte[] bytes, long from, long end) {
    long bit = from;
    while (bit < end) {
      int w = Bits.chunk(bit, end);
      Bits.write(bytes, bit, w, -1);
      bit += w;
    }
  }

  /** Does something to every image, the one in view last. */
  void everywhere(Runnable what) {
    int was = inView;
    if (was != SHARED) {
      show(SHARED);
      what.run();
    }
    for (int j = 0; j < live.length; j++) {
      if (live[j] && j != was) {
        show(j);
        what.run();
      }
    }
    show(was);
    what.run();
  }

  /** A bit of the shared image, or of any other memory. */
  boolean sharedBit(long address) {
    if (inView == SHARED) {
      return memory.read(address, 0) != 0;
    }
    if (!Address.isLocated(address)) {
      for (int i = 0; i < slots.length; i++) {
        if (slots[i] == address) {
          return parkedSlots[0][i] != 0;
        }
      }
    }
    if (!Address.isLocated(address) || Address.area(address) > OUT || !own[inView]) {
      return memory.read(address, 0) != 0;
    }
    return Bits.read(parked[0][Address.area(address)], Address.bit(address), 1) != 0;
  }

  /** Memory's areas with the shared image, whatever is in view. */
  byte[][] sharedAreas() {
    return inView == SHARED || !own[inView] ? memory.areas : new byte[][] {memory.areas[0], parked[0][IN], parked[0][OUT], memory.areas[3]};
  }

  /** Memory's slots with the shared values, whatever is in view. */
  long[] sharedSlots() {
    if (inView == SHARED || slots.length == 0) {
      return memory.slots;
    }
    long[] all = memory.slots.clone();
    for (int i = 0; i < slots.length; i++) {
      all[slots[i]] = parkedSlots[0][i];
    }
    return all;
  }

  /** Drops all copies; the shared image comes into view. */
  void drop() {
    show(SHARED);
    Arrays.fill(live, false);
  }

  /** Copies for a snapshot; null when there are none to keep. */
  record State(boolean[] live, byte[][][] parked, byte[][] beginning, byte[][][] written, byte[][][] apart, long[][] parkedSlots,
      long[][] beginningSlots, boolean[][] apartSlots, int inView) {}

  State save() {
    boolean some = false;
    for (boolean b : live) {
      some |= b;
    }
    if (!some) {
      return null;
    }
    byte[][] start = new byte[beginning.length][];
    for (int i = 0; i < start.length; i++) {
      start[i] = beginning[i] == null ? null : beginning[i].clone();
    }
    boolean[][] other = new boolean[apartSlots.length][];
    for (int i = 0; i < other.length; i++) {
      other[i] = apartSlots[i].clone();
    }
    return new State(live.clone(), deep(parked), start, deep(written), deep(apart), deep(parkedSlots), deep(beginningSlots), other, inView);
  }

  private static long[][] deep(long[][] all) {
    long[][] to = new long[all.length][];
    for (int i = 0; i < to.length; i++) {
      to[i] = all[i].clone();
    }
    return to;
  }

  private static byte[][][] deep(byte[][][] all) {
    byte[][][] to = new byte[all.length][][];
    for (int i = 0; i < to.length; i++) {
      to[i] = all[i] == null ? null : new byte[][] {all[i][0], all[i][IN].clone(), all[i][OUT].clone()};
    }
    return to;
  }

  /** Memory's areas are restored by the caller. */
  void restore(State s) {
    Arrays.fill(live, false);
    inView = SHARED;
    if (s == null) {
      return;
    }
    System.arraycopy(s.live(), 0, live, 0, live.length);
    for (int i = 0; i < parked.length; i++) {
      copy(s.parked()[i], parked[i]);
      System.arraycopy(s.parkedSlots()[i], 0, parkedSlots[i], 0, slots.length);
    }
    for (int i = 0; i < live.length; i++) {
      copy(s.written()[i], written[i]);
      copy(s.apart()[i], apart[i]);
      System.arraycopy(s.beginningSlots()[i], 0, beginningSlots[i], 0, slots.length);
      System.arraycopy(s.apartSlots()[i], 0, apartSlots[i], 0, slots.length);
      if (beginning[i] != null) {
        System.arraycopy(s.beginning()[i], 0, beginning[i], 0, beginning[i].length);
      }
    }
    inView = s.inView();
  }

  private static void copy(byte[][] from, byte[][] to) {
    for (int a = IN; to != null && a <= OUT; a++) {
      System.arraycopy(from[a], 0, to[a], 0, to[a].length);
    }
  }
}
