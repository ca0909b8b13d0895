package dev.scanloom.observe;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Set;

/**
 * An observer that remembers: everything, or the last scans only, or nothing but a hash over everything. The hash is the same on every machine for
 * the same program, policy and stimulus. Two traces are equal when they have seen the same events, whatever they kept of them.
 *
 * <p>Rows are kept in arrays of primitives, about 70 bytes an event. Confined to the thread that scans.
 */
public final class Trace implements Observer {
  private static final EventKind[] KINDS = EventKind.values();
  private static final Event.Phase[] PHASES = Event.Phase.values();
  private static final Event.Source[] SOURCES = Event.Source.values();
  private static final long PRIME = 0x100000001b3L;
  private static final int LONGS = 5;
  private static final int INTS = 6;

  private final Set<EventKind> wants;
  private final Keep keep;
  private final int scans;

  private long hash = 0xcbf29ce484222325L;
  private long count;

  /** scan, ordinal, time, address, before, after by row; the first row kept is {@code head}. */
  private long[] longs = new long[0];
  private long[] afters = new long[0];
  /** task, step, width, element, flags, detail. */
  private int[] ints = new int[0];
  private int head;
  private int size;
  private final List<String> details = new ArrayList<>();

  private enum Keep { WHOLE, LAST, NOTHING }

  private Trace(Set<EventKind> wants, Keep keep, int scans) {
    this.wants = Set.copyOf(wants);
    this.keep = keep;
    this.scans = scans;
    details.add("");
  }

  /** Keeps every event of every kind. */
  public static Trace whole() {
    return whole(EnumSet.allOf(EventKind.class));
  }

  /** Keeps every event of some kinds. */
  public static Trace whole(Set<EventKind> kinds) {
    return new Trace(kinds, Keep.WHOLE, 0);
  }

  /** Keeps the events of the last {@code scans} scans, the one in progress included. */
  public static Trace lastScans(int scans) {
    return lastScans(scans, EnumSet.allOf(EventKind.class));
  }

  /**
   * Keeps the events of some kinds of the last scans.
   *
   * @throws IllegalArgumentException for fewer than 1
   */
  public static Trace lastScans(int scans, Set<EventKind> kinds) {
    if (scans < 1) {
      throw new IllegalArgumentException("at least 1 scan is kept: " + scans);
    }
    return new Trace(kinds, Keep.LAST, scans);
  }

  /** Keeps nothing but the hash and the count of all events. */
  public static Trace hashOnly() {
    return hashOnly(EnumSet.allOf(EventKind.class));
  }

  /** Keeps nothing but the hash and the count of the events of some kinds. */
  public static Trace hashOnly(Set<EventKind> kinds) {
    return new Trace(kinds, Keep.NOTHING, 0);
  }

  @Override
  public Set<EventKind> wants() {
    return wants;
  }

  @Override
  public void on(Event e) {
    boolean step = e.kind() == EventKind.STEP;
    long before = step ? e.operand(0) : e.before();
    long after = step ? e.operand(1) : e.after();
    int flags = e.kind().ordinal() | e.source().ordinal() << 8 | e.phase().ordinal() << 16 | (e.test() ? 1 << 24 : 0) | (e.power() ? 1 << 25 : 0);
    long h = hash;
    h = mix(h, flags);
    h = mix(h, e.scan());
    h = mix(h, e.ordinal());
    h = mix(h, e.time());
    h = mix(h, e.task());
    h = mix(h, e.step());
    h = mix(h, e.address());
    h = mix(h, e.width());
    h = mix(h, before);
    h = mix(h, after);
    h = mix(h, e.element());
    String detail = e.detail();
    for (int i = 0; i < detail.length(); i++) {
      h = mix(h, detail.charAt(i));
    }
    hash = h;
    count++;
    if (keep == Keep.NOTHING) {
      return;
    }
    if (keep == Keep.LAST) {
      drop(e.scan() - scans);
    }
    add(e, flags, before, after, detail);
  }

  private static long mix(long h, long v) {
    long x = (h ^ v) * PRIME;
    return x ^ x >>> 32;
  }

  private void add(Event e, int flags, long before, long after, String detail) {
    int at = head + size;
    if (at == afters.length) {
      if (head > size) {
        System.arraycopy(longs, head * LONGS, longs, 0, size * LONGS);
        System.arraycopy(afters, head, afters, 0, size);
        System.arraycopy(ints, head * INTS, ints, 0, size * INTS);
        head = 0;
        at = size;
      } else {
        int n = Math.max(64, afters.length + (afters.length >> 1));
        longs = Arrays.copyOf(longs, n * LONGS);
        afters = Arrays.copyOf(afters, n);
        ints = Arrays.copyOf(ints, n * INTS);
      }
    }
    longs[at * LONGS] = e.scan();
    longs[at * LONGS + 1] = e.ordinal();
    longs[at * LONGS + 2] = e.time();
    longs[at * LONGS + 3] = e.address();
    longs[at * LONGS + 4] = before;
    afters[at] = after;
    ints[at * INTS] = e.task();
    ints[at * INTS + 1] = e.step();
    ints[at * INTS + 2] = e.width();
    ints[at * INTS + 3] = e.element();
    ints[at * INTS + 4] = flags;
    ints[at * INTS + 5] = detailNumber(detail);
    size++;
  }

  private int detailNumber(String detail) {
    // Few different ones occur; the newest are the likeliest.
    for (int i = details.size() - 1; i >= 0; i--) {
      if (details.get(i).equals(detail)) {
        return i;
      }
    }
    details.add(detail);
    return details.size() - 1;
  }

  /** Drops rows of scans up to {@code last}. */
  private void drop(long last) {
    while (size > 0 && longs[head * LONGS] <= last) {
      head++;
      size--;
    }
    if (size == 0) {
      head = 0;
    }
  }

  /** Number of events kept. */
  public int size() {
    return size;
  }

  /** Number of events seen. */
  public long count() {
    return count;
  }

  /** Hash over all events seen. */
  public long hash() {
    return hash;
  }

  /**
   * A kept event, oldest first, as a value that stays. Of the operand stack the two topmost values are kept.
   *
   * @throws IndexOutOfBoundsException outside 0 to {@link #size()} - 1
   */
  public Event get(int index) {
    if (index < 0 || index >= size) {
      throw new IndexOutOfBoundsException("event " + index + " of " + size);
    }
    int at = head + index;
    int flags = ints[at * INTS + 4];
    return new Row(KINDS[flags & 255], longs[at * LONGS], longs[at * LONGS + 1], longs[at * LONGS + 2], ints[at * INTS], ints[at * INTS + 1],
        longs[at * LONGS + 3], ints[at * INTS + 2], longs[at * LONGS + 4], afters[at], SOURCES[flags >> 8 & 255], ints[at * INTS + 3],
        (flags & 1 << 24) != 0, (flags & 1 << 25) != 0, PHASES[flags >> 16 & 255], details.get(ints[at * INTS + 5]));
  }

  @Override
  public boolean equals(Object other) {
    return other instanceof Trace t && t.hash == hash && t.count == count;
  }

  @Override
  public int hashCode() {
    return Long.hashCode(hash);
  }

  @Override
  public String toString() {
    return count + " events, hash 16#" + Long.toHexString(hash);
  }

  private record Row(
      EventKind kind, long scan, long ordinal, long time, int task, int step, long address, int width, long first, long second, Source source,
      int element, boolean test, boolean power, Phase phase, String detail)
      implements Event {

    @Override
    public long before() {
      return kind == EventKind.STEP ? 0 : first;
    }

    @Override
    public long after() {
      return kind == EventKind.STEP ? 0 : second;
    }

    @Override
    public long operand(int fromTop) {
      return kind != EventKind.STEP || fromTop < 0 || fromTop > 1 ? 0 : fromTop == 0 ? first : second;
    }
  }
}
