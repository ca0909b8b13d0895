package dev.scanloom.internal.scan;

import dev.scanloom.internal.memory.Bits;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.ScanPolicy;
import java.util.Arrays;

/**
 * The field's terminals and their copies in the process image. Copies are reported in pieces of the greatest aligned width; an input copy is reported
 * whether or not it changes anything, since it is the origin of what is read afterwards, a terminal only when it changes.
 */
final class Terminals {
  private static final int IN = 1;
  private static final int OUT = 2;
  private static final long INPUT = Address.located('I', 0);
  private static final long OUTPUT = Address.located('Q', 0);

  private final Memory memory;
  private final Events events;
  private final Forces forces;
  private final Clock clock;
  private final TaskImages images;

  /** Terminals of the inputs and of the outputs. */
  final byte[] inputs;
  final byte[] outputs;

  private final InputAcquisition[] acquisitions;
  private final OutputDelivery[] deliveries;
  private final long[] inSeeds;
  private final long[] outSeeds;
  /** Ranges with one policy: first bit, end, number of the policy. */
  private final int[][] inRanges;
  private final int[][] outRanges;
  /** Copies made so far by each subsystem, and the time of the next. */
  private final long[] inCounts;
  private final long[] inNext;
  private final long[] outCounts;
  private final long[] outNext;
  private long nextIn;
  private long nextOut;

  final boolean watchesReads;
  final boolean watchesWrites;

  Terminals(Memory memory, Events events, Forces forces, Clock clock, TaskImages images, ScanPolicy policy) {
    this.memory = memory;
    this.events = events;
    this.forces = forces;
    this.clock = clock;
    this.images = images;
    inputs = new byte[memory.areas[IN].length];
    outputs = new byte[memory.areas[OUT].length];
    int n = policy.inputs().size();
    acquisitions = new InputAcquisition[n];
    inSeeds = new long[n];
    inCounts = new long[n];
    inNext = new long[n];
    int[] byByte = new int[inputs.length];
    Arrays.fill(byByte, -1);
    for (int i = 0; i < n; i++) {
      ScanPolicy.Inputs r = policy.inputs().get(i);
      acquisitions[i] = r.acquisition();
      inSeeds[i] = Seeds.seed(policy.seed(), i);
      fill(byByte, r.from(), r.to(), i);
    }
    inRanges = ranges(byByte);
    boolean reads = false;
    for (int i = 0; i < n; i++) {
      boolean used = used(inRanges, i);
      inNext[i] = used ? acquisitions[i].subsystemTime(0, inSeeds[i]) : Long.MAX_VALUE;
      reads |= used && acquisitions[i].watchesReads();
    }
    watchesReads = reads;

    int m = policy.outputs().size();
    deliveries = new OutputDelivery[m];
    outSeeds = new long[m];
    outCounts = new long[m];
    outNext = new long[m];
    byByte = new int[outputs.length];
    Arrays.fill(byByte, -1);
    for (int i = 0; i < m; i++) {
      ScanPolicy.Outputs r = policy.outputs().get(i);
      deliveries[i] = r.delivery();
      outSeeds[i] = Seeds.seed(policy.seed(), 1_000 + i);
      fill(byByte, r.from(), r.to(), i);
    }
    outRanges = ranges(byByte);
    boolean writes = false;
    for (int i = 0; i < m; i++) {
      boolean used = used(outRanges, i);
      outNext[i] = used ? deliveries[i].subsystemTime(0, outSeeds[i]) : Long.MAX_VALUE;
      writes |= used && deliveries[i].watchesWrites();
    }
    watchesWrites = writes;
    noteNext();
  }

  private static void fill(int[] byByte, int from, int to, int policy) {
    if (from < byByte.length) {
      Arrays.fill(byByte, from, (int) Math.min(byByte.length, to + 1L), policy);
    }
  }

  private static int[][] ranges(int[] byByte) {
    int count = 0;
    for (int i = 0; i < byByte.length; i++) {
      if (i == 0 || byByte[i] != byByte[i - 1]) {
        count++;
      }
    }
    int[][] all = new int[count][];
    int at = -1;
    for (int i = 0; i < byByte.length; i++) {
      if (i == 0 || byByte[i] != byByte[i - 1]) {
        all[++at] = new int[] {8 * i, 0, byByte[i]};
      }
      all[at][1] = 8 * (i + 1);
    }
    return all;
  }

  private static boolean used(int[][] ranges, int policy) {
    for (int[] r : ranges) {
      if (r[2] == policy) {
        return true;
      }
    }
    return false;
  }

  /** Time of the next copy by an input subsystem. */
  long nextInput() {
    return nextIn;
  }

  /** Time of the next copy by an output subsystem. */
  long nextOutput() {
    return nextOut;
  }

  /** The subsystems' times have changed. */
  private void noteNext() {
    nextIn = Long.MAX_VALUE;
    for (long t : inNext) {
      nextIn = Math.min(nextIn, t);
    }
    nextOut = Long.MAX_VALUE;
    for (long t : outNext) {
      nextOut = Math.min(nextOut, t);
    }
  }

  /** The input subsystem that is due at {@code time} or before, and first among equals, copies its ranges. */
  void tickInput(long time) {
    int who = first(inNext, time);
    if (who >= 0) {
      for (int[] r : inRanges) {
        if (r[2] == who) {
          acquire(r[0], r[1]);
        }
      }
      long n = ++inCounts[who];
      inNext[who] = Math.max(inNext[who], acquisitions[who].subsystemTime(n, inSeeds[who]));
      noteNext();
    }
  }

  void tickOutput(long time, boolean stopped) {
    int who = first(outNext, time);
    if (who >= 0) {
      for (int[] r : outRanges) {
        if (r[2] == who && !stopped) {
          deliver(r[0], r[1]);
        }
      }
      long n = ++outCounts[who];
      outNext[who] = Math.max(outNext[who], deliveries[who].subsystemTime(n, outSeeds[who]));
      noteNext();
    }
  }

  private static int first(long[] next, long time) {
    int who = -1;
    for (int i = 0; i < next.length; i++) {
      if (next[i] <= time && (who < 0 || next[i] < next[who])) {
        who = i;
      }
    }
    return who;
  }

  void refreshInputs(long scan) {
    for (int[] r : inRanges) {
      if (r[2] >= 0 && acquisitions[r[2]].atRefresh(scan)) {
        acquire(r[0], r[1]);
      }
    }
  }

  void refreshOutputs(long scan) {
    for (int[] r : outRanges) {
      if (r[2] >= 0 && deliveries[r[2]].atRefresh(scan)) {
        deliver(r[0], r[1]);
      }
    }
  }

  /** Drives what a task has written before the output refresh of the scan does. */
  void refreshOutputs(long scan, byte[] written) {
    for (int[] r : outRanges) {
      if (r[2] >= 0 && deliveries[r[2]].atRefresh(scan)) {
        long bit = r[0];
        while (bit < r[1]) {
          int w = Bits.chunk(bit, r[1]);
          long mask = Bits.read(written, bit, w);
          if (mask != 0 && w > 1 && mask != (w == 64 ? -1 : (1L << w) - 1)) {
            w = 1;
            mask = Bits.read(written, bit, 1);
          }
          if (mask != 0) {
            deliver(bit, bit + w);
          }
          bit += w;
        }
      }
    }
  }

  void beforeRead(long scan, long bit, int width) {
    for (int[] r : inRanges) {
      if (r[0] < bit + width && r[1] > bit && r[2] >= 0) {
        InputAcquisition a = acquisitions[r[2]];
        if (a.watchesReads() && a.beforeRead(scan, clock.now, bit, width)) {
          acquire(Math.max(bit, r[0]), Math.min(bit + width, r[1]));
        }
      }
    }
  }

  void afterWrite(long scan, long bit, int width) {
    for (int[] r : outRanges) {
      if (r[0] < bit + width && r[1] > bit && r[2] >= 0) {
        OutputDelivery d = deliveries[r[2]];
        if (d.watchesWrites() && d.afterWrite(scan, clock.now, bit, width)) {
          deliver(Math.max(bit, r[0]), Math.min(bit + width, r[1]));
        }
      }
    }
  }

  /** Field to memory; forces hold. */
  private void acquire(long from, long end) {
    byte[] image = memory.areas[IN];
    if (!events.wants(EventKind.WRITE) && ((from | end) & 7) == 0) {
      Bits.copy(inputs, image, (int) (from >>> 3), (int) (end >>> 3));
    } else {
      long bit = from;
      while (bit < end) {
        int w = Bits.chunk(bit, end);
        long before = Bits.read(image, bit, w);
        long after = Bits.read(inputs, bit, w);
        Bits.write(image, bit, w, after);
        events.write(-1, 0, INPUT | bit, w, before, after, Source.INPUT_REFRESH);
        bit += w;
      }
    }
    if (images.any) {
      images.note(IN, from, end);
    }
    for (int i = 0; i < forces.size(); i++) {
      long a = forces.addresses[i];
      if (Address.isLocated(a) && Address.area(a) == IN && Address.bit(a) < end && Address.bit(a) + forces.widths[i] > from) {
        force(i);
      }
    }
  }

  /** Writes a forced value to memory. */
  void force(int i) {
    long a = forces.addresses[i];
    long before = memory.read(a, forces.kinds[i]);
    memory.write(a, forces.kinds[i], forces.values[i]);
    if (Address.isLocated(a)) {
      images.note(Address.area(a), Address.bit(a), Address.bit(a) + forces.widths[i]);
    }
    events.write(-1, 0, a, forces.widths[i], before, forces.values[i], Source.FORCE);
  }

  /** Memory to terminals; forces hold. */
  void deliver(long from, long end) {
    if (forces.size() == 0 && ((from | end) & 7) == 0
        && Bits.equal(memory.areas[OUT], outputs, (int) (from >>> 3), (int) (end >>> 3))) {
      return;
    }
    long bit = from;
    while (bit < end) {
      int w = Bits.chunk(bit, end);
      if (isForced(bit, w)) {
        // bit by bit, so that every change tells who made it
        w = 1;
      }
      long value = memory.readBits(OUT, bit, w);
      Source who = Source.INSTRUCTION;
      for (int i = 0; i < forces.size(); i++) {
        long a = forces.addresses[i];
        if (Address.isLocated(a) && Address.area(a) == OUT) {
          long low = Math.max(bit, Address.bit(a));
          long high = Math.min(bit + w, Address.bit(a) + forces.widths[i]);
          for (long b = low; b < high; b++) {
            long forced = (forces.values[i] >>> (int) (b - Address.bit(a))) & 1;
            long mask = 1L << (int) (b - bit);
            value = forced != 0 ? value | mask : value & ~mask;
            who = Source.FORCE;
          }
        }
      }
      drive(bit, w, value, who);
      bit += w;
    }
  }

  private boolean isForced(long bit, int width) {
    for (int i = 0; i < forces.size(); i++) {
      long a = forces.addresses[i];
      if (Address.isLocated(a) && Address.area(a) == OUT && Address.bit(a) < bit + width && Address.bit(a) + forces.widths[i] > bit) {
        return true;
      }
    }
    return false;
  }

  private void drive(long bit, int width, long value, Source who) {
    long before = Bits.read(outputs, bit, width);
    if (before != value) {
      Bits.write(outputs, bit, width, value);
      events.field(OUTPUT | bit, width, before, value, who);
    }
  }

  /** All output terminals to FALSE or zero. */
  void safe() {
    long end = 8L * outputs.length;
    long bit = 0;
    while (bit < end) {
      int w = Bits.chunk(bit, end);
      drive(bit, w, 0, Source.INSTRUCTION);
      bit += w;
    }
  }

  /** The host moves an input terminal. */
  void set(long address, int width, long value) {
    long bit = Address.bit(address);
    long before = Bits.read(inputs, bit, width);
    long after = width == 64 ? value : value & ((1L << width) - 1);
    if (before != after) {
      Bits.write(inputs, bit, width, after);
      events.field(address, width, before, after, Source.EXTERNAL_WRITE);
    }
  }

  /** Bits of a terminal. */
  long get(long address, int width) {
    return Bits.read(Address.area(address) == IN ? inputs : outputs, Address.bit(address), width);
  }

  /** Copies for a snapshot. */
  record State(byte[] inputs, byte[] outputs, long[] inCounts, long[] inNext, long[] outCounts, long[] outNext) {}

  State save() {
    return new State(inputs.clone(), outputs.clone(), inCounts.clone(), inNext.clone(), outCounts.clone(), outNext.clone());
  }

  void restore(State s) {
    System.arraycopy(s.inputs(), 0, inputs, 0, inputs.length);
    System.arraycopy(s.outputs(), 0, outputs, 0, outputs.length);
    System.arraycopy(s.inCounts(), 0, inCounts, 0, inCounts.length);
    System.arraycopy(s.inNext(), 0, inNext, 0, inNext.length);
    System.arraycopy(s.outCounts(), 0, outCounts, 0, outCounts.length);
    System.arraycopy(s.outNext(), 0, outNext, 0, outNext.length);
    noteNext();
  }

  /** Terminals and subsystem clocks of another program under an equal policy; areas may differ in size. */
  void takeOver(Terminals o) {
    System.arraycopy(o.inputs, 0, inputs, 0, Math.min(o.inputs.length, inputs.length));
    System.arraycopy(o.outputs, 0, outputs, 0, Math.min(o.outputs.length, outputs.length));
    System.arraycopy(o.inCounts, 0, inCounts, 0, inCounts.length);
    System.arraycopy(o.inNext, 0, inNext, 0, inNext.length);
    System.arraycopy(o.outCounts, 0, outCounts, 0, outCounts.length);
    System.arraycopy(o.outNext, 0, outNext, 0, outNext.length);
    noteNext();
  }
}
