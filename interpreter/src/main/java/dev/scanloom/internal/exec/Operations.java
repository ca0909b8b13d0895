package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.model.ElementaryType;

/**
 * What single steps compute, apart from plain arithmetic: shared by both executors, so that they cannot differ. Failures are {@link
 * StepFailure}.
 */
public final class Operations {
  private Operations() {}

  public static long checkNull(long address) {
    if (address == Address.NULL) {
      throw new StepFailure("fault/null", "the reference is NULL", false);
    }
    return address;
  }

  public static long index(long[] pool, long address, long index, int at) {
    long low = pool[at];
    long high = pool[at + 1];
    if (index < low || index > high) {
      throw outOfRange(index, low, high);
    }
    return address + (index - low) * pool[Address.isLocated(address) ? at + 3 : at + 2];
  }

  public static long openIndex(long[] slots, long position, long index, int descriptor) {
    long low = slots[descriptor];
    long high = slots[descriptor + 1];
    if (index < low || index > high) {
      throw outOfRange(index, low, high);
    }
    return position * (high - low + 1) + index - low;
  }

  public static long checkRange(long[] pool, long value, int at, int kind) {
    return inRange(value, pool[at], pool[at + 1], kind);
  }

  /** A value of a subrange. */
  public static long inRange(long value, long low, long high, int kind) {
    if (Arith.compare(value, low, kind) < 0 || Arith.compare(value, high, kind) > 0) {
      ElementaryType t = Arith.kind(kind);
      throw new StepFailure("fault/subrange",
          ValueText.of(value, t) + " is outside the subrange " + ValueText.of(low, t) + ".." + ValueText.of(high, t), false);
    }
    return value;
  }

  public static long part(long value, int offset, int width) {
    return value >>> offset & (width == 64 ? -1L : (1L << width) - 1);
  }

  public static long withPart(long value, long part, int offset, int width) {
    long mask = (width == 64 ? -1L : (1L << width) - 1) << offset;
    return value & ~mask | part << offset & mask;
  }

  public static long divide(long x, long y, int mode, int kind) {
    if (y == 0 && (mode & 1) != 0) {
      return 0;
    }
    return (mode & 2) != 0 ? Arith.divideExact(x, y, kind) : Arith.divide(x, y, kind);
  }

  public static long divideReal(long x, long y, int mode) {
    float d = Arith.real(y);
    if (d == 0 && mode == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return Arith.real(Arith.real(x) / d);
  }

  public static long divideLreal(long x, long y, int mode) {
    double d = Arith.lreal(y);
    if (d == 0 && mode == 0) {
      throw Arith.DIVISION_BY_ZERO;
    }
    return Arith.lreal(Arith.lreal(x) / d);
  }

  public static double root(double x) {
    if (x < 0) {
      throw Arith.DOMAIN;
    }
    return Math.sqrt(x);
  }

  public static double power(double x, double y) {
    double r = Arith.power(x, y);
    if (Double.isNaN(r) && !Double.isNaN(x) && !Double.isNaN(y) || x == 0 && y < 0) {
      throw Arith.DOMAIN;
    }
    return r;
  }

  public static long absolute(long x, int kind, boolean exact) {
    ElementaryType t = Arith.kind(kind);
    if (t == ElementaryType.REAL) {
      return Arith.real(Math.abs(Arith.real(x)));
    }
    if (t == ElementaryType.LREAL) {
      return Arith.lreal(Math.abs(Arith.lreal(x)));
    }
    if (x >= 0 || t.family() == ElementaryType.Family.UNSIGNED) {
      return x;
    }
    return exact ? Arith.negateExact(x, kind) : Arith.negate(x, kind);
  }

  public static long compare(double x, double y, int comparison) {
    boolean r = switch (comparison) {
      case 0 -> x == y;
      case 1 -> x != y;
      case 2 -> x < y;
      case 3 -> x <= y;
      case 4 -> x > y;
      case 5 -> x >= y;
      default -> throw new IllegalStateException("comparison " + comparison);
    };
    return r ? 1 : 0;
  }

  public static boolean less(long x, long y, int order) {
    return switch (order) {
      case 0 -> x < y;
      case 1 -> Long.compareUnsigned(x, y) < 0;
      case 2 -> Arith.real(x) < Arith.real(y);
      case 3 -> Arith.lreal(x) < Arith.lreal(y);
      default -> throw new IllegalStateException("order " + order);
    };
  }

  public static int choice(long k, int inputs) {
    if (k < 0 || k >= inputs) {
      throw new StepFailure("fault/mux-selector", "selector " + k + " is outside 0.." + (inputs - 1), false);
    }
    return (int) k;
  }

  /** A subscript out of its bounds. */
  public static StepFailure outOfRange(long index, long low, long high) {
    return new StepFailure("fault/index-range", "subscript " + index + " is outside " + low + ".." + high, false);
  }
}
