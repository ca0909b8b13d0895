package dev.scanloom.internal.lower;

import dev.scanloom.model.ElementaryType;

/** Packs string constants into slots, in the form that the memory reads. */
final class Texts {
  private Texts() {}

  static void write(long[] image, int slot, ElementaryType kind, int[] units, int capacity) {
    int shift = kind == ElementaryType.STRING ? 3 : kind == ElementaryType.WSTRING ? 2 : 1;
    int width = 64 >>> shift;
    int n = Math.min(units.length, capacity);
    image[slot] = n;
    for (int i = 0; i < n; i++) {
      image[slot + 1 + (i >>> shift)] |= (units[i] & 0xFFFF_FFFFL) << (i & (1 << shift) - 1) * width;
    }
  }
}
