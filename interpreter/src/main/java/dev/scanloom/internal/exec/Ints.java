package dev.scanloom.internal.exec;

import java.util.Arrays;

/** A growing array. */
final class Ints {
  private int[] a = new int[64];
  private int n;

  void add(int v) {
    if (n == a.length) {
      a = Arrays.copyOf(a, n * 2);
    }
    a[n++] = v;
  }

  int size() {
    return n;
  }

  int get(int i) {
    return a[i];
  }

  void set(int i, int v) {
    a[i] = v;
  }

  void removeLast() {
    n--;
  }

  void clear() {
    n = 0;
  }

  int[] toArray() {
    return Arrays.copyOf(a, n);
  }
}
