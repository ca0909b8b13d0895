package dev.scanloom.internal.value;

import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices.RangeError;
import dev.scanloom.policy.ImplementerChoices.Rounding;
import java.math.BigDecimal;
import java.math.BigInteger;

/**
 * Arithmetic on slot values, in one place for constant folding and both executors. Kinds are {@link ElementaryType#ordinal()} so that step operands
 * can name them. Nothing here allocates on the normal path; an error condition is a preallocated {@link Failure}.
 */
public final class Arith {
  /** Nanoseconds of a day. */
  public static final long DAY = 86_400_000_000_000L;

  private static final int BOOL = ElementaryType.BOOL.ordinal();
  private static final int BYTE = ElementaryType.BYTE.ordinal();
  private static final int WORD = ElementaryType.WORD.ordinal();
  private static final int DWORD = ElementaryType.DWORD.ordinal();
  private static final int LWORD = ElementaryType.LWORD.ordinal();
  private static final int SINT = ElementaryType.SINT.ordinal();
  private static final int INT = ElementaryType.INT.ordinal();
  private static final int DINT = ElementaryType.DINT.ordinal();
  private static final int USINT = ElementaryType.USINT.ordinal();
  private static final int UINT = ElementaryType.UINT.ordinal();
  private static final int UDINT = ElementaryType.UDINT.ordinal();
  private static final int ULINT = ElementaryType.ULINT.ordinal();
  private static final int REAL = ElementaryType.REAL.ordinal();
  private static final int LREAL = ElementaryType.LREAL.ordinal();
  private static final ElementaryType[] KINDS = ElementaryType.values();

  private Arith() {}

  /** An error condition of an operation; carries no stack trace and no state, so one instance per code serves all threads. */
  public static final class Failure extends RuntimeException {
    private static final long serialVersionUID = 1L;
    private final String code;

    private Failure(String code, String message) {
      super(message, null, false, false);
      this.code = code;
    }

    /** Stable slug such as {@code fault/conversion}. */
    public String code() {
      return code;
    }
  }

  public static final Failure OVERFLOW = new Failure("fault/overflow", "the result is outside the range of its type");
  public static final Failure DIVISION_BY_ZERO = new Failure("fault/division-by-zero", "division by zero");
  public static final Failure CONVERSION = new Failure("fault/conversion", "the value is outside the range of the target type");
  public static final Failure SHIFT = new Failure("fault/shift-count", "the shift count is negative");
  public static final Failure DOMAIN = new Failure("fault/domain", "the argument has no mathematical result");

  /** The kind with an ordinal. */
  public static ElementaryType kind(int ordinal) {
    return KINDS[ordinal];
  }

  public static double lreal(long bits) {
    return Double.longBitsToDouble(bits);
  }

  public static long lreal(double value) {
    return Double.doubleToRawLongBits(value);
  }

  public static float real(long bits) {
    return Float.intBitsToFloat((int) bits);
  }

  public static long real(float value) {
    return Float.floatToRawIntBits(value);
  }

  /** The low bits of a value in the representation of an integer or bit-string kind (64-bit kinds unchanged). */
  public static long wrap(long v, int kind) {
    if (kind == INT) {
      return (short) v;
    }
    if (kind == DINT) {
      return (int) v;
    }
    if (kind == SINT) {
      return (byte) v;
    }
    if (kind == UINT || kind == WORD) {
      return v & 0xFFFFL;
    }
    if (kind == UDINT || kind == DWORD) {
      return v & 0xFFFF_FFFFL;
    }
    if (kind == USINT || kind == BYTE) {
      return v & 0xFFL;
    }
    if (kind == BOOL) {
      return v & 1L;
    }
    return v;
  }

  /** Sum; wraps. */
  public static long add(long a, long b, int kind) {
    return wrap(a + b, kind);
  }

  /** Sum; fails outside the range of the kind. */
  public static long addExact(long a, long b, int kind) {
    long r = a + b;
    if (kind == ULINT) {
      if (Long.compareUnsigned(r, a) < 0) {
        throw OVERFLOW;
      }
      return r;
    }
    if (((a ^ r) & (b ^ r)) < 0 || wrap(r, kind) != r) {
      throw OVERFLOW;
    }
    return r;
  }

  /** Difference; wraps. */
  public static long subtract(long a, long b, int kind) {
    return wrap(a - b, kind);
  }

  /** Difference; fails outside the range of the kind. */
  public static long subtractExact(long a, long b, int kind) {
    long r = a - b;
    if (kind == ULINT) {
      if (Long.compareUnsigned(a, b) < 0) {
        throw OVERFLOW;
      }
      return r;
    }
    if (((a ^ b) & (a ^ r)) < 0 || wrap(r, kind) != r) {
      throw OVERFLOW;
    }
    return r;
  }

  /** Product; wraps. */
  public static long multiply(long a, long b, int kind) {
    return wrap(a * b, kind);
  }

  /** Product; fails outside the range of the kind. */
  public static long multiplyExact(long a, long b, int kind) {
    long r = a * b;
    if (kind == ULINT) {
      if (Math.unsignedMultiplyHigh(a, b) != 0) {
        throw OVERFLOW;
      }
      return r;
    }
    long high = Math.multiplyHigh(a, b);
    if ((high != 0 || r < 0) && (high != -1 || r >= 0) || wrap(r, kind) != r) {
      throw OVERFLOW;
    }
    return r;
  }

  /** Stand-ins for what the JDK has only from 18 on. */
  private static final class Math {
    static long unsignedMultiplyHigh(long a, long b) {
      return java.lang.Math.multiplyHigh(a, b) + ((a >> 63) & b) + ((b >> 63) & a);
    }

    static long multiplyHigh(long a, long b) {
      return java.lang.Math.multiplyHigh(a, b);
    }
  }

  /**
   * Quotient cut toward zero. The quotient of the least value and -1 wraps.
   *
   * @throws Failure {@link #DIVISION_BY_ZERO}
   */
  public static long divide(long a, long b, int kind) {
    if (b == 0) {
      throw DIVISION_BY_ZERO;
    }
    return kind == ULINT ? Long.divideUnsigned(a, b) : wrap(a / b, kind);
  }

  /** Quotient; also fails where the quotient does not fit. */
  public static long divideExact(long a, long b, int kind) {
    long r = divide(a, b, kind);
    if (b == -1 && a != 0 && kind != ULINT && r == a) {
      throw OVERFLOW;
    }
    return r;
  }

  /**
   * Remainder with the sign of the dividend.
   *
   * @throws Failure {@link #DIVISION_BY_ZERO}
   */
  public static long modulo(long a, long b, int kind) {
    if (b == 0) {
      throw DIVISION_BY_ZERO;
    }
    return kind == ULINT ? Long.remainderUnsigned(a, b) : a % b;
  }

  public static long negate(long a, int kind) {
    return wrap(-a, kind);
  }

  public static long negateExact(long a, int kind) {
    long r = -a;
    boolean unsigned = KINDS[kind].family() == ElementaryType.Family.UNSIGNED;
    if (wrap(r, kind) != r || (unsigned && a != 0) || (a == Long.MIN_VALUE && !unsigned)) {
      throw OVERFLOW;
    }
    return r;
  }

  /** Three-way comparison of two scalars of one kind; reals must not come here (NaN). */
  public static int compare(long a, long b, int kind) {
    return kind == ULINT || kind == LWORD ? Long.compareUnsigned(a, b) : Long.compare(a, b);
  }

  /** Power of reals through StrictMath. */
  public static double power(double base, double exponent) {
    return StrictMath.pow(base, exponent);
  }

  /** Duration times a real number, rounded half to even to the nanosecond. */
  public static long scale(long duration, double factor) {
    double r = StrictMath.rint(duration * factor);
    if (factor == StrictMath.rint(factor) && StrictMath.abs(factor) < 9.0e18) {
      return multiplyExact(duration, (long) factor, ElementaryType.LINT.ordinal());
    }
    if (!(r >= -0x1p63 && r < 0x1p63)) {
      throw OVERFLOW;
    }
    return (long) r;
  }

  /** Duration divided by a real number, rounded half to even to the nanosecond. */
  public static long unscale(long duration, double divisor) {
    if (divisor == 0.0) {
      throw DIVISION_BY_ZERO;
    }
    if (divisor == StrictMath.rint(divisor) && StrictMath.abs(divisor) < 9.0e18) {
      return divideExact(duration, (long) divisor, ElementaryType.LINT.ordinal());
    }
    double r = StrictMath.rint(duration / divisor);
    if (!(r >= -0x1p63 && r < 0x1p63)) {
      throw OVERFLOW;
    }
    return (long) r;
  }

  /** Shift left by {@code n} in the width of a bit-string kind. */
  public static long shiftLeft(long v, long n, int kind) {
    if (n < 0) {
      throw SHIFT;
    }
    return n >= KINDS[kind].bits() ? 0 : wrap(v << n, kind);
  }

  /** Shift right by {@code n}, zero-filled. */
  public static long shiftRight(long v, long n, int kind) {
    if (n < 0) {
      throw SHIFT;
    }
    return n >= KINDS[kind].bits() ? 0 : v >>> n;
  }

  /** Rotate left by {@code n} in the width of a bit-string kind. */
  public static long rotateLeft(long v, long n, int kind) {
    if (n < 0) {
      throw SHIFT;
    }
    int width = KINDS[kind].bits();
    int by = (int) (n % width);
    return by == 0 ? v : wrap((v << by) | (v >>> (width - by)), kind);
  }

  /** Rotate right by {@code n} in the width of a bit-string kind. */
  public static long rotateRight(long v, long n, int kind) {
    if (n < 0) {
      throw SHIFT;
    }
    int width = KINDS[kind].bits();
    return rotateLeft(v, (width - (int) (n % width)) % width, kind);
  }

  /**
   * Conversion between scalar kinds (Tables 22 to 27). Bits move unchanged between bit strings and numbers (Table 25: widened with zeros, low bits
   * kept); numbers keep their value; date and time types are cut.
   *
   * @throws Failure {@link #CONVERSION} when the target cannot hold the value and {@code range} is FAULT
   */
  public static long convert(long v, int from, int to, boolean truncate, Rounding rounding, RangeError range) {
    if (from == to) {
      return v;
    }
    ElementaryType source = KINDS[from];
    ElementaryType target = KINDS[to];
    switch (source.family()) {
      case BIT:
        if (target.isReal()) {
          return target.bits() == 32 ? (int) v : v;
        }
        if (target.family() == ElementaryType.Family.CHARACTER) {
          return target.bits() == 32 ? character(v, to, range) : v & ((1L << target.bits()) - 1);
        }
        return wrap(v, to);
      case SIGNED:
      case UNSIGNED:
        return convertInteger(v, source, target, from, to, range);
      case REAL:
        return convertReal(v, target, from, to, truncate, rounding, range);
      case DURATION:
      case DATE:
      case TIME_OF_DAY:
        return v;
      case DATE_AND_TIME:
        return switch (target.family()) {
          case DATE -> v - java.lang.Math.floorMod(v, DAY);
          case TIME_OF_DAY -> java.lang.Math.floorMod(v, DAY);
          case BIT, SIGNED, UNSIGNED, REAL, DURATION, DATE_AND_TIME, CHARACTER, STRING -> v;
        };
      case CHARACTER:
        return target.family() == ElementaryType.Family.CHARACTER ? character(v, to, range) : wrap(v, to);
      case STRING:
        throw new IllegalArgumentException("a string is no scalar");
    }
    throw new IllegalArgumentException(source + " to " + target);
  }

  private static long character(long v, int to, RangeError range) {
    int bits = KINDS[to].bits();
    long limit = bits == 32 ? 0x10FFFFL : (1L << bits) - 1;
    if (v < 0 || v > limit) {
      if (range == RangeError.FAULT) {
        throw CONVERSION;
      }
      return range == RangeError.CLAMP ? limit : v & ((1L << (bits == 32 ? 20 : bits)) - 1);
    }
    return v;
  }

  private static long convertInteger(long v, ElementaryType source, ElementaryType target, int from, int to, RangeError range) {
    if (target.isReal()) {
      if (from == ULINT && v < 0) {
        BigDecimal big = new BigDecimal(new BigInteger(Long.toUnsignedString(v)));
        return to == REAL ? real(big.floatValue()) : lreal(big.doubleValue());
      }
      return to == REAL ? real((float) v) : lreal((double) v);
    }
    if (target.isBits()) {
      int width = source.bits();
      return wrap(width == 64 ? v : v & ((1L << width) - 1), to);
    }
    boolean fits;
    if (from == ULINT) {
      fits = v >= 0 ? wrap(v, to) == v : to == ULINT;
    } else if (to == ULINT) {
      fits = v >= 0;
    } else {
      fits = wrap(v, to) == v;
    }
    if (fits) {
      return v;
    }
    return switch (range) {
      case FAULT -> throw CONVERSION;
      case WRAP -> wrap(v, to);
      case CLAMP -> from != ULINT && v < 0 ? least(to) : greatest(to);
    };
  }

  private static long convertReal(long v, ElementaryType target, int from, int to, boolean truncate, Rounding rounding, RangeError range) {
    if (to == LREAL) {
      return lreal((double) real(v));
    }
    if (to == REAL) {
      double d = lreal(v);
      float f = (float) d;
      if (Float.isInfinite(f) && !Double.isInfinite(d) && range == RangeError.FAULT) {
        throw CONVERSION;
      }
      return real(Float.isInfinite(f) && !Double.isInfinite(d) && range == RangeError.CLAMP ? java.lang.Math.copySign(Float.MAX_VALUE, f) : f);
    }
    if (target.isBits()) {
      return wrap(from == REAL ? v & 0xFFFF_FFFFL : v, to);
    }
    double d = from == REAL ? real(v) : lreal(v);
    double r;
    if (truncate || rounding == Rounding.TOWARD_ZERO) {
      r = d < 0 ? StrictMath.ceil(d) : StrictMath.floor(d);
    } else if (rounding == Rounding.HALF_EVEN) {
      r = StrictMath.rint(d);
    } else {
      double whole = StrictMath.floor(StrictMath.abs(d));
      r = java.lang.Math.copySign(StrictMath.abs(d) - whole >= 0.5 ? whole + 1 : whole, d);
    }
    double low = to == ULINT || target.family() == ElementaryType.Family.UNSIGNED ? 0.0 : -StrictMath.pow(2, target.bits() - 1.0);
    double beyond = StrictMath.pow(2, target.family() == ElementaryType.Family.UNSIGNED ? target.bits() : target.bits() - 1.0);
    if (r >= low && r < beyond) {
      return to == ULINT && r >= 0x1p63 ? (long) (r - 0x1p63) + Long.MIN_VALUE : (long) r;
    }
    return switch (range) {
      case FAULT -> throw CONVERSION;
      case WRAP -> Double.isNaN(r) || Double.isInfinite(r) ? 0 : wrap(new BigDecimal(r).toBigInteger().longValue(), to);
      case CLAMP -> Double.isNaN(r) ? 0 : r < low ? least(to) : greatest(to);
    };
  }

  /** Least value of an integer kind. */
  public static long least(int kind) {
    ElementaryType t = KINDS[kind];
    return t.family() == ElementaryType.Family.UNSIGNED || t.isBits() ? 0 : -1L << (t.bits() - 1);
  }

  /** Greatest value of an integer or bit-string kind. */
  public static long greatest(int kind) {
    ElementaryType t = KINDS[kind];
    if (t.family() == ElementaryType.Family.UNSIGNED || t.isBits()) {
      return t.bits() == 64 ? -1L : (1L << t.bits()) - 1;
    }
    return ~(-1L << (t.bits() - 1));
  }
}
