package dev.scanloom.internal.scan;

import java.util.Arrays;

/** Changes that the host has asked for and that have not happened yet, by time, those of equal time in the order of asking. */
final class Pending {
  private static final long[] NO_NUMBERS = {};
  private static final int[] NO_KINDS = {};
  private static final int[][] NO_TEXTS = {};
  private long[] times = NO_NUMBERS;
  private long[] addresses = NO_NUMBERS;
  private int[] kinds = NO_KINDS;
  private long[] values = NO_NUMBERS;
  /** Characters of a string write; then the value is the capacity. */
  private int[][] texts = NO_TEXTS;
  private int head;
  private int tail;

  boolean isEmpty() {
    return head == tail;
  }

  /** Time of the first one; Long.MAX_VALUE without one. */
  long time() {
    return head == tail ? Long.MAX_VALUE : times[head];
  }

  long address() {
    return addresses[head];
  }

  int kind() {
    return kinds[head];
  }

  long value() {
    return values[head];
  }

  int[] text() {
    return texts[head];
  }

  void removeFirst() {
    texts[head] = null;
    head++;
    if (head == tail) {
      head = 0;
      tail = 0;
    }
  }

  void add(long time, long address, int kind, long value, int[] text) {
    if (tail == times.length) {
      if (head > tail / 2) {
        compact();
      } else {
        grow();
      }
    }
    int at = tail++;
    while (at > head && times[at - 1] > time) {
      times[at] = times[at - 1];
      addresses[at] = addresses[at - 1];
      kinds[at] = kinds[at - 1];
      values[at] = values[at - 1];
      texts[at] = texts[at - 1];
      at--;
    }
    times[at] = time;
    addresses[at] = address;
    kinds[at] = kind;
    values[at] = value;
    texts[at] = text;
  }

  private void compact() {
    int n = tail - head;
    System.arraycopy(times, head, times, 0, n);
    System.arraycopy(addresses, head, addresses, 0, n);
    System.arraycopy(kinds, head, kinds, 0, n);
    System.arraycopy(values, head, values, 0, n);
    System.arraycopy(texts, head, texts, 0, n);
    Arrays.fill(texts, n, tail, null);
    head = 0;
    tail = n;
  }

  private void grow() {
    int n = Math.max(4, times.length * 2);
    times = Arrays.copyOf(times, n);
    addresses = Arrays.copyOf(addresses, n);
    kinds = Arrays.copyOf(kinds, n);
    values = Arrays.copyOf(values, n);
    texts = Arrays.copyOf(texts, n);
  }

  Pending copy() {
    Pending p = new Pending();
    p.assign(this);
    return p;
  }

  void assign(Pending o) {
    times = o.times.clone();
    addresses = o.addresses.clone();
    kinds = o.kinds.clone();
    values = o.values.clone();
    texts = o.texts.clone();
    head = o.head;
    tail = o.tail;
  }

  /** Where the target of a change lies now; NULL: nowhere. */
  interface Move {
    long of(long address, int kind);
  }

  /** Gives every change its new address; those that have none any more are dropped. */
  void move(Move move) {
    Pending old = copy();
    head = 0;
    tail = 0;
    Arrays.fill(texts, null);
    for (; !old.isEmpty(); old.removeFirst()) {
      long a = move.of(old.address(), old.kind());
      if (a != 0) {
        add(old.time(), a, old.kind(), old.value(), old.text());
      }
    }
  }
}
