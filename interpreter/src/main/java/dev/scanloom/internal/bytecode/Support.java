package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.exec.Operations;
import dev.scanloom.internal.memory.Bits;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.policy.ImplementerChoices.RangeError;
import dev.scanloom.policy.ImplementerChoices.Rounding;

/** Small operations that generated code calls in the argument order in which their operands lie on the stack. Public for generated classes; not exported. */
public final class Support {
  private static final Rounding[] ROUNDINGS = Rounding.values();
  private static final RangeError[] RANGES = RangeError.values();

  private Support() {}

  /** Distance of elements, in slots or in bits. */
  public static long stride(long address, long slots, long bits) {
    return dev.scanloom.internal.step.Address.isLocated(address) ? bits : slots;
  }

  public static long bit(byte[] area, int bit) {
    return area[bit >>> 3] >>> (bit & 7) & 1;
  }

  public static long get8(byte[] area, int at) {
    return area[at] & 0xFFL;
  }

  public static long get16(byte[] area, int at) {
    return Bits.get16(area, at);
  }

  public static long get32(byte[] area, int at) {
    return Bits.get32(area, at);
  }

  public static long get64(byte[] area, int at) {
    return Bits.get64(area, at);
  }

  public static void setBit(byte[] area, int at, long value, int bit) {
    area[at] = (byte) (area[at] & ~(1 << bit) | ((int) value & 1) << bit);
  }

  public static void set8(byte[] area, int at, long value) {
    area[at] = (byte) value;
  }

  public static void set16(byte[] area, int at, long value) {
    Bits.set16(area, at, value);
  }

  public static void set32(byte[] area, int at, long value) {
    Bits.set32(area, at, value);
  }

  public static void set64(byte[] area, int at, long value) {
    Bits.set64(area, at, value);
  }

  /** A subscript within its bounds. */
  public static int subscript(int index, int low, int high) {
    if (index < low || index > high) {
      throw Operations.outOfRange(index, low, high);
    }
    return index;
  }

  public static int subscript(long index, long low, long high) {
    if (index < low || index > high) {
      throw Operations.outOfRange(index, low, high);
    }
    return (int) index;
  }

  public static int quotient(int x, int y) {
    if (y == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return x / y;
  }

  public static int remainder(int x, int y) {
    if (y == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return x % y;
  }

  public static float divide(float x, float y) {
    if (y == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return x / y;
  }

  public static double divide(double x, double y) {
    if (y == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return x / y;
  }

  public static long scale(long duration, long factor) {
    return Arith.scale(duration, Arith.lreal(factor));
  }

  public static long unscale(long duration, long divisor) {
    return Arith.unscale(duration, Arith.lreal(divisor));
  }

  public static long index(long address, long index, long low, long high, long stride, long bits) {
    if (index < low || index > high) {
      throw Operations.outOfRange(index, low, high);
    }
    return address + (index - low) * (Address.isLocated(address) ? bits : stride);
  }

  public static long openEnd(long address, long position, int slots, int bits) {
    return address + position * (Address.isLocated(address) ? bits : slots);
  }

  public static long modulo(long x, long y, int mode, int kind) {
    return (mode & 1) != 0 && y == 0 ? 0 : Arith.modulo(x, y, kind);
  }

  public static long rootReal(long x) {
    return Arith.real((float) Operations.root(Arith.real(x)));
  }

  public static long rootLreal(long x) {
    return Arith.lreal(Operations.root(Arith.lreal(x)));
  }

  public static long powerReal(long x, long y) {
    return Arith.real((float) Operations.power(Arith.real(x), Arith.lreal(y)));
  }

  public static long powerLreal(long x, long y) {
    return Arith.lreal(Operations.power(Arith.lreal(x), Arith.lreal(y)));
  }

  public static long max(long x, long y, int order) {
    return Operations.less(x, y, order) ? y : x;
  }

  public static long min(long x, long y, int order) {
    return Operations.less(y, x, order) ? y : x;
  }

  public static long convert(long x, int from, int to, boolean truncate, int rounding, int range) {
    return Arith.convert(x, from, to, truncate, ROUNDINGS[rounding], RANGES[range]);
  }
}
