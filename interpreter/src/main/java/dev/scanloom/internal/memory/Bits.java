package dev.scanloom.internal.memory;

import java.lang.invoke.MethodHandles;
import java.lang.invoke.VarHandle;
import java.nio.ByteOrder;
import java.util.Arrays;

/** Bits in byte arrays, least significant first. */
public final class Bits {
  private static final VarHandle SHORTS = MethodHandles.byteArrayViewVarHandle(short[].class, ByteOrder.LITTLE_ENDIAN);
  private static final VarHandle INTS = MethodHandles.byteArrayViewVarHandle(int[].class, ByteOrder.LITTLE_ENDIAN);
  private static final VarHandle LONGS = MethodHandles.byteArrayViewVarHandle(long[].class, ByteOrder.LITTLE_ENDIAN);

  private Bits() {}

  /** {@code width} bits (1, or 8 to 64 by octets) from {@code bit}, zero-extended. */
  public static long read(byte[] bytes, long bit, int width) {
    int at = (int) (bit >>> 3);
    if (width == 1) {
      return (bytes[at] >>> (int) (bit & 7)) & 1;
    }
    if ((bit & 7) == 0) {
      switch (width) {
        case 8:
          return bytes[at] & 0xFFL;
        case 16:
          return get16(bytes, at);
        case 32:
          return get32(bytes, at);
        case 64:
          return get64(bytes, at);
        default:
          // an odd number of octets: bit by bit
      }
    }
    long v = 0;
    for (int i = 0; i < width; i++) {
      v |= read(bytes, bit + i, 1) << i;
    }
    return v;
  }

  /** Replaces {@code width} bits from {@code bit}. */
  public static void write(byte[] bytes, long bit, int width, long value) {
    int at = (int) (bit >>> 3);
    if (width == 1) {
      int mask = 1 << (int) (bit & 7);
      bytes[at] = (byte) ((value & 1) != 0 ? bytes[at] | mask : bytes[at] & ~mask);
      return;
    }
    if ((bit & 7) == 0) {
      switch (width) {
        case 8:
          bytes[at] = (byte) value;
          return;
        case 16:
          set16(bytes, at, value);
          return;
        case 32:
          set32(bytes, at, value);
          return;
        case 64:
          set64(bytes, at, value);
          return;
        default:
          // an odd number of octets: bit by bit
      }
    }
    for (int i = 0; i < width; i++) {
      write(bytes, bit + i, 1, value >>> i);
    }
  }

  /** Greatest aligned width that begins at {@code bit} and ends at {@code end} or before: 64, 32, 16, 8 or 1. */
  public static int chunk(long bit, long end) {
    for (int w = 64; w >= 8; w >>= 1) {
      if (bit % w == 0 && bit + w <= end) {
        return w;
      }
    }
    return 1;
  }

  /** Most octets for which a loop over words is quicker than the call of a routine that is made for long stretches. */
  private static final int SHORT = 64;

  /** Copies octets {@code [from, end)} of one array to the same indices of another. */
  public static void copy(byte[] source, byte[] target, int from, int end) {
    if (end - from <= SHORT && (end - from & 7) == 0) {
      for (int at = from; at < end; at += 8) {
        set64(target, at, get64(source, at));
      }
    } else {
      System.arraycopy(source, from, target, from, end - from);
    }
  }

  /** Octets {@code [from, end)} of two arrays are equal. */
  public static boolean equal(byte[] x, byte[] y, int from, int end) {
    if (end - from <= SHORT && (end - from & 7) == 0) {
      long different = 0;
      for (int at = from; at < end; at += 8) {
        different |= get64(x, at) ^ get64(y, at);
      }
      return different == 0;
    }
    return Arrays.equals(x, from, end, y, from, end);
  }

  /** Two octets from index {@code at}, zero-extended. */
  public static long get16(byte[] bytes, int at) {
    return (short) SHORTS.get(bytes, at) & 0xFFFFL;
  }

  /** Four octets, zero-extended. */
  public static long get32(byte[] bytes, int at) {
    return (int) INTS.get(bytes, at) & 0xFFFF_FFFFL;
  }

  /** Eight octets. */
  public static long get64(byte[] bytes, int at) {
    return (long) LONGS.get(bytes, at);
  }

  /** Replaces two octets. */
  public static void set16(byte[] bytes, int at, long value) {
    SHORTS.set(bytes, at, (short) value);
  }

  /** Replaces four octets. */
  public static void set32(byte[] bytes, int at, long value) {
    INTS.set(bytes, at, (int) value);
  }

  /** Replaces eight octets. */
  public static void set64(byte[] bytes, int at, long value) {
    LONGS.set(bytes, at, value);
  }
}
