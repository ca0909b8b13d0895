package dev.scanloom.internal.scan;

import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;

/** Bits in byte arrays, least significant first, and hashes of seeds. */
final class Bits {
  private Bits() {}

  static long read(byte[] bytes, long bit, int width) {
    int at = (int) (bit >>> 3);
    if (width == 1) {
      return (bytes[at] >>> (int) (bit & 7)) & 1;
    }
    long v = 0;
    if ((bit & 7) == 0 && (width & 7) == 0) {
      for (int i = 0; i < width >>> 3; i++) {
        v |= (bytes[at + i] & 0xFFL) << (i << 3);
      }
      return v;
    }
    for (int i = 0; i < width; i++) {
      v |= read(bytes, bit + i, 1) << i;
    }
    return v;
  }

  static void write(byte[] bytes, long bit, int width, long value) {
    int at = (int) (bit >>> 3);
    if (width == 1) {
      int mask = 1 << (int) (bit & 7);
      bytes[at] = (byte) ((value & 1) != 0 ? bytes[at] | mask : bytes[at] & ~mask);
    } else if ((bit & 7) == 0 && (width & 7) == 0) {
      for (int i = 0; i < width >>> 3; i++) {
        bytes[at + i] = (byte) (value >>> (i << 3));
      }
    } else {
      for (int i = 0; i < width; i++) {
        write(bytes, bit + i, 1, value >>> i);
      }
    }
  }

  /** Greatest aligned width that begins at {@code bit} and ends at {@code end} or before: 64, 32, 16, 8 or 1. */
  static int chunk(long bit, long end) {
    for (int w = 64; w >= 8; w >>= 1) {
      if (bit % w == 0 && bit + w <= end) {
        return w;
      }
    }
    return 1;
  }

  /** Characters of a string that lies in slots, as {@link dev.scanloom.internal.memory.Memory} packs them. */
  static int[] text(long[] slots, int slot, int kind) {
    ElementaryType t = Arith.kind(kind);
    int width = t == ElementaryType.STRING ? 8 : t == ElementaryType.WSTRING ? 16 : 32;
    int per = 64 / width;
    int[] units = new int[(int) slots[slot]];
    for (int i = 0; i < units.length; i++) {
      units[i] = (int) (slots[slot + 1 + i / per] >>> i % per * width & (1L << width) - 1);
    }
    return units;
  }

  /** Seed number {@code n} of a run: the finalizer of SplitMix64 (public domain, S. Vigna; from memory). */
  static long seed(long seed, int n) {
    long z = seed + (n + 1) * 0x9E3779B97F4A7C15L;
    z = (z ^ (z >>> 30)) * 0xBF58476D1CE4E5B9L;
    z = (z ^ (z >>> 27)) * 0x94D049BB133111EBL;
    return z ^ (z >>> 31);
  }
}
