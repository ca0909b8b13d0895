package dev.scanloom.observe;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/** Events as values, one behind the other, in arrays of primitives. */
final class Rows {
  private static final EventKind[] KINDS = EventKind.values();
  private static final Event.Phase[] PHASES = Event.Phase.values();
  private static final Event.Source[] SOURCES = Event.Source.values();
  private static final int LONGS = 6;
  private static final int INTS = 6;

  /** scan, ordinal, time, address, before, after by row. */
  private long[] longs = new long[0];
  /** task, step, width, element, flags, detail. */
  private int[] ints = new int[0];
  private int size;
  private final List<String> details = new ArrayList<>(List.of(""));

  /** Kind, source, phase, test and power in one number. */
  static int flags(Event e) {
    return e.kind().ordinal() | e.source().ordinal() << 8 | e.phase().ordinal() << 16 | (e.test() ? 1 << 24 : 0) | (e.power() ? 1 << 25 : 0);
  }

  int size() {
    return size;
  }

  void clear() {
    size = 0;
  }

  /** Of the operand stack the two topmost values are kept. */
  void add(Event e) {
    if (size * INTS == ints.length) {
      int n = Math.max(64, size + (size >> 1));
      longs = Arrays.copyOf(longs, n * LONGS);
      ints = Arrays.copyOf(ints, n * INTS);
    }
    boolean step = e.kind() == EventKind.STEP;
    int at = size * LONGS;
    longs[at] = e.scan();
    longs[at + 1] = e.ordinal();
    longs[at + 2] = e.time();
    longs[at + 3] = e.address();
    longs[at + 4] = step ? e.operand(0) : e.before();
    longs[at + 5] = step ? e.operand(1) : e.after();
    at = size * INTS;
    ints[at] = e.task();
    ints[at + 1] = e.step();
    ints[at + 2] = e.width();
    ints[at + 3] = e.element();
    ints[at + 4] = flags(e);
    ints[at + 5] = detailNumber(e.detail());
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

  Event get(int index) {
    int l = index * LONGS;
    int i = index * INTS;
    int flags = ints[i + 4];
    return new Row(KINDS[flags & 255], longs[l], longs[l + 1], longs[l + 2], ints[i], ints[i + 1], longs[l + 3], ints[i + 2], longs[l + 4], longs[l + 5],
        SOURCES[flags >> 8 & 255], ints[i + 3], (flags & 1 << 24) != 0, (flags & 1 << 25) != 0, PHASES[flags >> 16 & 255], details.get(ints[i + 5]));
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
