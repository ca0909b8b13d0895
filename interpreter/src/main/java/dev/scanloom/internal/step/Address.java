package dev.scanloom.internal.step;

/**
 * Addresses as 64-bit values, as references, in-outs and events hold them. 0 is NULL. A positive value below 2^40 is a slot of the controller's memory.
 * With bit 62 set it is a location: bits 60 and 61 the area (1 = I, 2 = Q, 3 = M), the low 48 bits the offset of its least significant bit.
 */
public final class Address {
  public static final long NULL = 0;
  private static final long LOCATED = 1L << 62;
  private static final long BITS = (1L << 48) - 1;

  private Address() {}

  public static long located(char area, long bit) {
    return LOCATED | ((long) areaNumber(area) << 60) | bit;
  }

  public static boolean isLocated(long address) {
    return (address & LOCATED) != 0;
  }

  /** 1 = I, 2 = Q, 3 = M. */
  public static int area(long address) {
    return (int) (address >>> 60) & 3;
  }

  public static char areaLetter(long address) {
    return " IQM".charAt(area(address));
  }

  public static int areaNumber(char letter) {
    int n = "IQM".indexOf(letter);
    if (n < 0) {
      throw new IllegalArgumentException("area " + letter);
    }
    return n + 1;
  }

  /** Bit offset within the area. */
  public static long bit(long address) {
    return address & BITS;
  }

  /** {@code %IX2.5}, {@code %QW3}; for a width that is not aligned, the bit form with the width behind. */
  public static String text(long address, int width) {
    if (!isLocated(address)) {
      return "slot " + address;
    }
    long bit = bit(address);
    char letter = areaLetter(address);
    if (width == 1) {
      return "%" + letter + "X" + bit / 8 + "." + bit % 8;
    }
    int at = width == 8 ? 0 : width == 16 ? 1 : width == 32 ? 2 : 3;
    if (bit % width == 0) {
      return "%" + letter + "BWDL".charAt(at) + bit / width;
    }
    return "%" + letter + "X" + bit / 8 + "." + bit % 8 + " (" + width + " bits)";
  }
}
