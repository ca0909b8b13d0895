package dev.scanloom.report;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * Dictionaries behind the compact form of recorded runs. A scan is a row of pieces; a piece is a shape (which events, at which steps, how far apart) and
 * the values seen. Shapes, value lists and whole rows that repeat are kept once, for all runs of one page.
 *
 * <p>A row is a template and groups of value lists. A template is a list of pairs, one a piece: its start after the scan's start in ns, its shape; a group
 * is {@value #GROUP} value lists, those of successive pieces, the last group has what is left. A shape is a list of events, each: kind, ns since the
 * event before, arguments ({@link #ARGUMENTS}); each event but PHASE has one entry in the value list.
 */
final class EventStore {
  private static final int GROUP = 8;
  static final int PHASE = 0;
  static final int READ = 1;
  static final int WRITE = 2;
  static final int ELEMENT = 3;
  static final int FIELD = 4;
  static final int SAMPLE = 5;
  static final int FAULT = 6;
  static final int TASK = 7;
  static final int PAINT = 8;
  /** Arguments of each kind: PHASE phase; READ step item; WRITE step item source; ELEMENT step element; FIELD item; SAMPLE display item; FAULT step; PAINT display element. */
  static final int[] ARGUMENTS = {1, 2, 3, 2, 1, 2, 1, 0, 2};

  /** Lists of numbers, each kept once. */
  static final class Lists {
    private record Key(long[] numbers) {
      @Override
      public boolean equals(Object o) {
        return o instanceof Key k && Arrays.equals(numbers, k.numbers);
      }

      @Override
      public int hashCode() {
        return Arrays.hashCode(numbers);
      }
    }

    // only looked up, never walked: the order that counts is that of the list
    private final Map<Key, Integer> index = new HashMap<>();
    private final List<long[]> all = new ArrayList<>();

    int of(long[] numbers) {
      Integer known = index.putIfAbsent(new Key(numbers), all.size());
      if (known != null) {
        return known;
      }
      all.add(numbers);
      return all.size() - 1;
    }

    List<long[]> all() {
      return all;
    }
  }

  private final Map<String, Integer> texts = new LinkedHashMap<>();
  private final List<String> textList = new ArrayList<>();
  private final Lists shapes = new Lists();
  private final Lists values = new Lists();
  private final Lists templates = new Lists();
  private final Lists groups = new Lists();
  private final Lists rows = new Lists();

  int text(String text) {
    Integer known = texts.putIfAbsent(text, textList.size());
    if (known != null) {
      return known;
    }
    textList.add(text);
    return textList.size() - 1;
  }

  String textAt(int index) {
    return textList.get(index);
  }

  List<String> texts() {
    return textList;
  }

  Lists shapes() {
    return shapes;
  }

  Lists values() {
    return values;
  }

  Lists rows() {
    return rows;
  }

  Lists templates() {
    return templates;
  }

  Lists groups() {
    return groups;
  }

  /** A list of numbers that grows. */
  static final class Numbers {
    private long[] data = new long[64];
    private int size;

    void add(long n) {
      if (size == data.length) {
        data = Arrays.copyOf(data, size * 2);
      }
      data[size++] = n;
    }

    int size() {
      return size;
    }

    long get(int i) {
      return data[i];
    }

    long[] take() {
      long[] out = Arrays.copyOf(data, size);
      size = 0;
      return out;
    }
  }

  /** The scans of one run, in order. */
  static final class Log {
    private static final int PIECE = 96;
    private final EventStore store;
    private final Numbers scans = new Numbers();
    private final Numbers shape = new Numbers();
    private final Numbers values = new Numbers();
    private final Numbers template = new Numbers();
    private final Numbers pieces = new Numbers();
    private final Numbers group = new Numbers();
    private final Numbers row = new Numbers();
    private long scanStart;
    private long pieceStart;
    private long last;
    private long place = -1;
    private boolean open;

    Log(EventStore store) {
      this.store = store;
    }

    /** A scan begins, or what comes before it: its events are told from here on. */
    void begin(long time) {
      if (open) {
        end();
      }
      open = true;
      scanStart = time;
      last = time;
      place = -1;
    }

    boolean isOpen() {
      return open;
    }

    /** {@code where} is the same number for events that lie together (a network, a body); a new piece begins when it changes. */
    private void at(long time, long where) {
      if (shape.size() > 0 && (where != place || shape.size() >= PIECE)) {
        close();
      }
      if (shape.size() == 0) {
        pieceStart = time - scanStart;
        last = time;
        place = where;
      }
    }

    private void head(int kind, long time) {
      shape.add(kind);
      shape.add(time - last);
      last = time;
    }

    void event0(int kind, long time, long where, long a, long value) {
      at(time, where);
      head(kind, time);
      if (ARGUMENTS[kind] > 0) {
        shape.add(a);
      }
      if (kind != PHASE) {
        values.add(value);
      }
    }

    void event2(int kind, long time, long where, long a, long b, long value) {
      at(time, where);
      head(kind, time);
      shape.add(a);
      shape.add(b);
      values.add(value);
    }

    void write(long time, long where, long step, long item, long source, long value) {
      at(time, where);
      head(WRITE, time);
      shape.add(step);
      shape.add(item);
      shape.add(source);
      values.add(value);
    }

    private void close() {
      if (shape.size() > 0) {
        template.add(pieceStart);
        template.add(store.shapes.of(shape.take()));
        pieces.add(store.values.of(values.take()));
      }
    }

    void end() {
      close();
      row.add(store.templates.of(template.take()));
      long[] all = pieces.take();
      for (int i = 0; i < all.length; i++) {
        group.add(all[i]);
        if (group.size() == GROUP || i == all.length - 1) {
          row.add(store.groups.of(group.take()));
        }
      }
      scans.add(scanStart);
      scans.add(store.rows.of(row.take()));
      open = false;
    }

    int count() {
      return scans.size() / 2;
    }

    long start(int scan) {
      return scans.get(2 * scan);
    }

    int row(int scan) {
      return (int) scans.get(2 * scan + 1);
    }

    /** Told of each event of a scan in order. {@code value} is 0 for PHASE. */
    interface Visit {
      void on(int kind, long time, long a, long b, long c, long value);
    }

    void visit(int scan, Visit v) {
      long[] r = store.rows.all().get(row(scan));
      long[] t = store.templates.all().get((int) r[0]);
      for (int i = 0; i < t.length / 2; i++) {
        long time = start(scan) + t[2 * i];
        long[] s = store.shapes.all().get((int) t[2 * i + 1]);
        long[] vals = store.values.all().get((int) store.groups.all().get((int) r[1 + i / GROUP])[i % GROUP]);
        int next = 0;
        for (int j = 0; j < s.length; ) {
          int kind = (int) s[j];
          time += s[j + 1];
          int n = ARGUMENTS[kind];
          v.on(kind, time, n > 0 ? s[j + 2] : -1, n > 1 ? s[j + 3] : -1, n > 2 ? s[j + 4] : -1, kind == PHASE ? 0 : vals[next++]);
          j += 2 + n;
        }
      }
    }
  }
}
