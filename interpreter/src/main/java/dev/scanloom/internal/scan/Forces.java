package dev.scanloom.internal.scan;

import java.util.Arrays;

/** Forced variables: address, kind, width and slot value of each. Few; searched in order. */
final class Forces {
  long[] addresses = new long[0];
  int[] kinds = new int[0];
  int[] widths = new int[0];
  long[] values = new long[0];

  int size() {
    return addresses.length;
  }

  int find(long address, int width) {
    for (int i = 0; i < addresses.length; i++) {
      if (addresses[i] == address && widths[i] == width) {
        return i;
      }
    }
    return -1;
  }

  void set(long address, int kind, int width, long value) {
    int at = find(address, width);
    if (at < 0) {
      at = addresses.length;
      addresses = Arrays.copyOf(addresses, at + 1);
      kinds = Arrays.copyOf(kinds, at + 1);
      widths = Arrays.copyOf(widths, at + 1);
      values = Arrays.copyOf(values, at + 1);
      addresses[at] = address;
      widths[at] = width;
    }
    kinds[at] = kind;
    values[at] = value;
  }

  boolean remove(long address, int width) {
    int at = find(address, width);
    if (at < 0) {
      return false;
    }
    int last = addresses.length - 1;
    System.arraycopy(addresses, at + 1, addresses, at, last - at);
    System.arraycopy(kinds, at + 1, kinds, at, last - at);
    System.arraycopy(widths, at + 1, widths, at, last - at);
    System.arraycopy(values, at + 1, values, at, last - at);
    addresses = Arrays.copyOf(addresses, last);
    kinds = Arrays.copyOf(kinds, last);
    widths = Arrays.copyOf(widths, last);
    values = Arrays.copyOf(values, last);
    return true;
  }

  Forces copy() {
    Forces f = new Forces();
    f.assign(this);
    return f;
  }

  void assign(Forces o) {
    addresses = o.addresses.clone();
    kinds = o.kinds.clone();
    widths = o.widths.clone();
    values = o.values.clone();
  }
}
