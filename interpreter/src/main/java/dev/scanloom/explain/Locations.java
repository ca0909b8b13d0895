package dev.scanloom.explain;

import dev.scanloom.explain.Evidence.Write;
import java.util.Arrays;

/** The latest write of every slot and of every bit of the located areas, so that overlapping locations see each other. */
final class Locations {
  private static final long LOCATED = 1L << 62;
  private static final long BITS = (1L << 48) - 1;

  private final boolean history;
  private Write[] slots = new Write[64];
  private final Write[][] areas = {{}, new Write[64], new Write[64], new Write[64]};

  /** {@code history}: writes remember what they replaced. */
  Locations(boolean history) {
    this.history = history;
  }

  /** An address of a location rather than of a slot (see {@link dev.scanloom.observe.Event#address()}). */
  static boolean isLocated(long address) {
    return (address & LOCATED) != 0;
  }

  /** 1 = I, 2 = Q, 3 = M. */
  static int area(long address) {
    return (int) (address >>> 60) & 3;
  }

  static long bit(long address) {
    return address & BITS;
  }

  void put(Write w) {
    if (!isLocated(w.address)) {
      if (w.address <= 0) {
        return;
      }
      slots = room(slots, w.address);
      Write old = slots[(int) w.address];
      slots[(int) w.address] = w;
      w.live = 1;
      if (history) {
        w.previous = new Write[] {old};
      }
      displaced(old);
      return;
    }
    int area = area(w.address);
    int from = (int) bit(w.address);
    areas[area] = room(areas[area], from + w.width - 1L);
    Write[] table = areas[area];
    Write first = table[from];
    boolean same = true;
    for (int i = 1; i < w.width; i++) {
      same &= table[from + i] == first;
    }
    if (history) {
      w.previous = same ? new Write[] {first} : Arrays.copyOfRange(table, from, from + w.width);
    }
    w.live = w.width;
    for (int i = 0; i < w.width; i++) {
      Write old = table[from + i];
      table[from + i] = w;
      displaced(old);
    }
  }

  private static void displaced(Write old) {
    if (old != null && --old.live == 0 && old.expired) {
      old.collapse();
    }
  }

  private static Write[] room(Write[] table, long index) {
    return index < table.length ? table : Arrays.copyOf(table, (int) Math.max(index + 1, Math.min(Integer.MAX_VALUE - 8L,
        table.length * 2L)));
  }

  private Write latest(long address, int offset) {
    Write[] table = isLocated(address) ? areas[area(address)] : slots;
    long at = isLocated(address) ? bit(address) + offset : address;
    return at >= 0 && at < table.length ? table[(int) at] : null;
  }

  /**
   * The latest write of what lies at an address: one when all bits have the same, else one per bit from the lowest up; null where nothing
   * was written.
   */
  Write[] seen(long address, int width) {
    return seen(address, width, Long.MAX_VALUE);
  }

  /** The same as of a moment: writes up to {@code sequence}. */
  Write[] seen(long address, int width, long sequence) {
    Write first = until(address, 0, sequence);
    if (!isLocated(address)) {
      return new Write[] {first};
    }
    Write[] all = null;
    for (int i = 1; i < width; i++) {
      Write w = until(address, i, sequence);
      if (w != first && all == null) {
        all = new Write[width];
        Arrays.fill(all, 0, i, first);
      }
      if (all != null) {
        all[i] = w;
      }
    }
    return all == null ? new Write[] {first} : all;
  }

  private Write until(long address, int offset, long sequence) {
    Write w = latest(address, offset);
    while (w != null && w.sequence > sequence) {
      w = before(w, address, offset);
    }
    return w;
  }

  /**
   * The value at an address as of a moment: bits written until then, bits written later only as they were before; the others from {@code
   * now}, what memory holds.
   */
  long value(long address, int width, long sequence, long now) {
    if (!isLocated(address)) {
      Write w = latest(address, 0);
      Write later = null;
      while (w != null && w.sequence > sequence) {
        later = w;
        w = before(w, address, 0);
      }
      return w != null ? w.after : later != null ? later.before : now;
    }
    long v = now;
    for (int i = 0; i < width; i++) {
      Write w = latest(address, i);
      Write later = null;
      while (w != null && w.sequence > sequence) {
        later = w;
        w = before(w, address, i);
      }
      if (w != null || later != null) {
        long at = bit(address) + i - bit(w != null ? w.address : later.address);
        long b = (w != null ? w.after : later.before) >>> at & 1;
        v = v & ~(1L << i) | b << i;
      }
    }
    // as slots hold it: what the highest bit says about the rest is the reader's matter
    return width < 64 ? v & (1L << width) - 1 | now & ~((1L << width) - 1) : v;
  }

  /** The write that {@code w} replaced at a bit. */
  private static Write before(Write w, long address, int offset) {
    if (w.previous == null) {
      return null;
    }
    if (w.previous.length == 1) {
      return w.previous[0];
    }
    return w.previous[(int) (bit(address) + offset - bit(w.address))];
  }

  /** Forgets everything. */
  void clear() {
    slots = new Write[64];
    for (int i = 1; i < areas.length; i++) {
      areas[i] = new Write[64];
    }
  }
}
