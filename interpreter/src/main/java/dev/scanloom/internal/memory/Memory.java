package dev.scanloom.internal.memory;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.model.ElementaryType;
import java.util.Arrays;

/**
 * The memory of one controller: slots (static variables, then the frames of each task) and the located areas as bytes with overlapping X, B, W, D, L
 * views, least significant byte first. Confined to the controller's thread.
 */
public final class Memory {
  private static final ElementaryType[] KINDS = ElementaryType.values();

  /** Located bits that condensed steps hold at a time, apart from one per value on the operand stack. */
  private static final int CHUNK_BITS = 64;

  /** Slot values; index 0 is never used. Static variables, the frames of each task, then the tail: constants and intermediate values of condensed steps. */
  public final long[] slots;
  /** Areas by number: [1] = I, [2] = Q, [3] = M; [0] is empty. */
  public final byte[][] areas;

  private final Code code;
  private final int tail;

  /** Initial memory of a program with frames for {@code tasks} tasks. */
  public Memory(Code code, int tasks) {
    this.code = code;
    Code.MemoryPlan plan = code.memory();
    this.tail = plan.staticSlots() + tasks * plan.frameSlots();
    this.slots = Arrays.copyOf(plan.initial(), tail + code.constants.length + bitTemps(code) + temps(code));
    for (int i = 0; i < code.constants.length; i++) {
      slots[tail + i] = code.pool[code.constants[i]];
    }
    this.areas = new byte[][] {
      new byte[0], plan.areaInitial()[0].clone(), plan.areaInitial()[1].clone(), plan.areaInitial()[2].clone()
    };
  }

  /** Another step list over the same variables and frames: shares the content of {@code other}, whose tail it has; for executors that run no condensed steps. */
  public Memory(Code code, Memory other) {
    this.code = code;
    this.tail = other.tail;
    this.slots = other.slots;
    this.areas = other.areas;
  }

  public Code code() {
    return code;
  }

  /** First slot behind the frames: the program's constants, then {@link #bitTemps} and {@link #temps} slots. */
  public int tail() {
    return tail;
  }

  /** Slots for located bits in the tail. */
  public static int bitTemps(Code code) {
    return CHUNK_BITS + code.memory().stackDepth();
  }

  /** Slots for intermediate values in the tail. */
  public static int temps(Code code) {
    return 12 + code.memory().stackDepth();
  }

  /** First slot of the frames of a task. */
  public int frameBase(int task) {
    return code.memory().staticSlots() + task * code.memory().frameSlots();
  }

  /** All variables back to their initial values. */
  public void initialize() {
    Code.MemoryPlan plan = code.memory();
    System.arraycopy(plan.initial(), 0, slots, 0, plan.staticSlots());
    Arrays.fill(slots, plan.staticSlots(), tail, 0);
    for (int i = 0; i < 3; i++) {
      System.arraycopy(plan.areaInitial()[i], 0, areas[i + 1], 0, areas[i + 1].length);
    }
  }

  /** Value of {@code kind} at an address. */
  public long read(long address, int kind) {
    if (!Address.isLocated(address)) {
      return slots[(int) address];
    }
    return extend(readBits(Address.area(address), Address.bit(address), KINDS[kind].bits()), kind);
  }

  /** Stores a value of {@code kind} at an address. */
  public void write(long address, int kind, long value) {
    if (!Address.isLocated(address)) {
      slots[(int) address] = value;
    } else {
      writeBits(Address.area(address), Address.bit(address), KINDS[kind].bits(), value);
    }
  }

  /** Bits of a location in the slot representation of a kind. */
  public static long extend(long bits, int kind) {
    ElementaryType t = KINDS[kind];
    boolean signed = t.family() == ElementaryType.Family.SIGNED || t == ElementaryType.REAL;
    int width = t.bits();
    return signed && width < 64 ? bits << (64 - width) >> (64 - width) : bits;
  }

  /** {@code width} bits of an area from {@code bit}, zero-extended. */
  public long readBits(int area, long bit, int width) {
    return Bits.read(areas[area], bit, width);
  }

  /** Replaces {@code width} bits of an area from {@code bit}. */
  public void writeBits(int area, long bit, int width, long value) {
    Bits.write(areas[area], bit, width, value);
  }

  /** The address lies in memory in full. */
  public boolean isInside(long address, int width) {
    if (!Address.isLocated(address)) {
      return address > 0 && address < tail;
    }
    return Address.area(address) != 0 && Address.bit(address) + width <= 8L * areas[Address.area(address)].length;
  }

  // ---- strings in slots: length, then packed characters ----

  /** Number of characters of the string at a slot. */
  public int textLength(int slot) {
    return (int) slots[slot];
  }

  /** Character {@code index} (from 0) of the string at a slot. */
  public int textUnit(int slot, int kind, int index) {
    return textUnit(slots, slot, kind, index);
  }

  private static int textUnit(long[] slots, int slot, int kind, int index) {
    int shift = shift(kind);
    int mask = (1 << shift) - 1;
    long word = slots[slot + 1 + (index >>> shift)];
    int width = 64 >>> shift;
    return (int) ((word >>> ((index & mask) * width)) & (width == 32 ? 0xFFFF_FFFFL : (1L << width) - 1));
  }

  /** Replaces a character; does not change the length. */
  public void setTextUnit(int slot, int kind, int index, int unit) {
    int shift = shift(kind);
    int mask = (1 << shift) - 1;
    int width = 64 >>> shift;
    long unitMask = width == 32 ? 0xFFFF_FFFFL : (1L << width) - 1;
    int at = slot + 1 + (index >>> shift);
    int by = (index & mask) * width;
    slots[at] = slots[at] & ~(unitMask << by) | (unit & unitMask) << by;
  }

  /** Makes the string at a slot empty; zeroes the characters it had. */
  public void clearText(int slot, int kind, int capacity) {
    Arrays.fill(slots, slot, slot + 1 + usedWords(slot, kind, capacity), 0);
  }

  /** Words of characters to clear in a target: a temporary may hold anything, so no more than its own room is believed. */
  private int usedWords(int slot, int kind, int capacity) {
    int shift = shift(kind);
    long had = slots[slot];
    int n = had < 0 || had > capacity ? capacity : (int) had;
    return (n + (1 << shift) - 1) >>> shift;
  }

  /** Copies a string of one kind; characters beyond {@code capacity} are dropped. */
  public void copyText(int target, int source, int kind, int capacity) {
    if (target == source) {
      return;
    }
    int shift = shift(kind);
    int n = (int) slots[source];
    int old = usedWords(target, kind, capacity);
    if (n <= capacity) {
      int words = (n + (1 << shift) - 1) >>> shift;
      System.arraycopy(slots, source, slots, target, 1 + words);
      if (old > words) {
        Arrays.fill(slots, target + 1 + words, target + 1 + old, 0);
      }
      return;
    }
    int words = (capacity + (1 << shift) - 1) >>> shift;
    System.arraycopy(slots, source + 1, slots, target + 1, words);
    slots[target] = capacity;
    int rest = capacity & ((1 << shift) - 1);
    if (rest != 0) {
      slots[target + words] &= (1L << (rest * (64 >>> shift))) - 1;
    }
  }

  /** Three-way comparison by character codes; the shorter string counts as padded with code 0 (a proper prefix is smaller). */
  public int compareText(int x, int y, int kind) {
    int nx = (int) slots[x];
    int ny = (int) slots[y];
    int n = Math.max(nx, ny);
    for (int i = 0; i < n; i++) {
      int cx = i < nx ? textUnit(x, kind, i) : 0;
      int cy = i < ny ? textUnit(y, kind, i) : 0;
      if (cx != cy) {
        return cx < cy ? -1 : 1;
      }
    }
    return 0;
  }

  private static int shift(int kind) {
    return KINDS[kind] == ElementaryType.STRING ? 3 : KINDS[kind] == ElementaryType.WSTRING ? 2 : 1;
  }

  /** Characters of the string at a slot, as a new array; for people, never on the scan path. */
  public int[] text(int slot, int kind) {
    return text(slots, slot, kind);
  }

  /** The same of other slots that hold what memory held. */
  public static int[] text(long[] slots, int slot, int kind) {
    int[] units = new int[(int) slots[slot]];
    for (int i = 0; i < units.length; i++) {
      units[i] = textUnit(slots, slot, kind, i);
    }
    return units;
  }

  /** Stores a string, cut to its capacity. Unused characters are zeroed, so equal strings have equal slots. */
  public void setText(int slot, int kind, int capacity, int[] units) {
    int n = Math.min(units.length, capacity);
    int shift = shift(kind);
    Arrays.fill(slots, slot + 1, slot + 1 + ((capacity + (1 << shift) - 1) >>> shift), 0);
    slots[slot] = n;
    for (int i = 0; i < n; i++) {
      setTextUnit(slot, kind, i, units[i]);
    }
  }
}
