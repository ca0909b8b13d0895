package dev.scanloom.internal.value;

import dev.scanloom.model.ElementaryType;
import java.math.BigDecimal;
import java.math.MathContext;
import java.math.RoundingMode;

/**
 * Values as text in the form of the standard's literals: the one writer, the same on every machine. Reals are the shortest decimal that reads back to
 * the same value; durations {@code T#1s500ms} with units in falling order; bit strings {@code 16#A5}.
 */
public final class ValueText {
  private ValueText() {}

  /** Text of a scalar. */
  public static String of(long bits, ElementaryType kind) {
    return switch (kind) {
      case BOOL -> bits != 0 ? "TRUE" : "FALSE";
      case BYTE, WORD, DWORD, LWORD -> "16#" + Long.toHexString(bits).toUpperCase(java.util.Locale.ROOT);
      case SINT, INT, DINT, LINT, USINT, UINT, UDINT -> Long.toString(bits);
      case ULINT -> Long.toUnsignedString(bits);
      case REAL -> real(Arith.real(bits));
      case LREAL -> lreal(Arith.lreal(bits));
      case TIME -> duration("T#", bits);
      case LTIME -> duration("LT#", bits);
      case DATE -> date("D#", bits);
      case LDATE -> date("LD#", bits);
      case TOD -> timeOfDay("TOD#", bits);
      case LTOD -> timeOfDay("LTOD#", bits);
      case DT -> dateAndTime("DT#", bits);
      case LDT -> dateAndTime("LDT#", bits);
      case CHAR -> quoted(new int[] {(int) bits}, '\'', 8);
      case WCHAR -> quoted(new int[] {(int) bits}, '"', 16);
      case UCHAR -> quoted(new int[] {(int) bits}, '\'', 32);
      case STRING, WSTRING, USTRING -> throw new IllegalArgumentException("a string is no scalar");
    };
  }

  /** Text of a string from its units. */
  public static String of(int[] units, ElementaryType kind) {
    return kind == ElementaryType.WSTRING ? quoted(units, '"', 16) : quoted(units, '\'', kind == ElementaryType.STRING ? 8 : 32);
  }

  /** Shortest decimal that reads back to the same LREAL; {@code 0.1}, {@code 1.0E25}, {@code NaN}, {@code -Infinity}. */
  public static String lreal(double d) {
    if (Double.isNaN(d) || Double.isInfinite(d) || d == 0) {
      return special(d);
    }
    BigDecimal exact = new BigDecimal(d);
    for (int digits = 1; digits < 17; digits++) {
      BigDecimal rounded = exact.round(new MathContext(digits, RoundingMode.HALF_EVEN));
      if (rounded.doubleValue() == d) {
        return decimal(rounded);
      }
    }
    return decimal(exact.round(new MathContext(17, RoundingMode.HALF_EVEN)));
  }

  /** Shortest decimal that reads back to the same REAL. */
  public static String real(float f) {
    if (Float.isNaN(f) || Float.isInfinite(f) || f == 0) {
      return special(f);
    }
    BigDecimal exact = new BigDecimal(f);
    for (int digits = 1; digits < 9; digits++) {
      BigDecimal rounded = exact.round(new MathContext(digits, RoundingMode.HALF_EVEN));
      if (rounded.floatValue() == f) {
        return decimal(rounded);
      }
    }
    return decimal(exact.round(new MathContext(9, RoundingMode.HALF_EVEN)));
  }

  private static String special(double d) {
    if (Double.isNaN(d)) {
      return "NaN";
    }
    if (Double.isInfinite(d)) {
      return d > 0 ? "Infinity" : "-Infinity";
    }
    return 1 / d < 0 ? "-0.0" : "0.0";
  }

  private static String decimal(BigDecimal value) {
    BigDecimal v = value.stripTrailingZeros();
    int exponent = v.precision() - v.scale() - 1;
    if (exponent >= -5 && exponent < 16) {
      String plain = v.toPlainString();
      return plain.indexOf('.') < 0 ? plain + ".0" : plain;
    }
    String digits = v.unscaledValue().abs().toString();
    return (v.signum() < 0 ? "-" : "") + digits.charAt(0) + "." + (digits.length() > 1 ? digits.substring(1) : "0") + "E" + exponent;
  }

  private static final long[] UNITS = {Arith.DAY, 3_600_000_000_000L, 60_000_000_000L, 1_000_000_000L, 1_000_000L, 1_000L, 1L};
  private static final String[] NAMES = {"d", "h", "m", "s", "ms", "us", "ns"};

  /** A duration in nanoseconds with units in falling order: {@code T#1h30m}, {@code T#-5ms}, {@code T#0s}. */
  public static String duration(String prefix, long nanoseconds) {
    if (nanoseconds == 0) {
      return prefix + "0s";
    }
    StringBuilder b = new StringBuilder(prefix);
    if (nanoseconds < 0) {
      b.append('-');
    }
    long rest = nanoseconds;
    for (int i = 0; i < UNITS.length; i++) {
      long n = Math.abs(rest / UNITS[i]);
      rest %= UNITS[i];
      if (n != 0) {
        b.append(n).append(NAMES[i]);
      }
    }
    return b.toString();
  }

  private static String date(String prefix, long ns) {
    return prefix + java.time.LocalDate.ofEpochDay(Math.floorDiv(ns, Arith.DAY));
  }

  private static String timeOfDay(String prefix, long ns) {
    long t = Math.floorMod(ns, Arith.DAY);
    return prefix + clock(t);
  }

  private static String dateAndTime(String prefix, long ns) {
    return prefix + java.time.LocalDate.ofEpochDay(Math.floorDiv(ns, Arith.DAY)) + "-" + clock(Math.floorMod(ns, Arith.DAY));
  }

  private static String clock(long t) {
    long seconds = t / 1_000_000_000L;
    long fraction = t % 1_000_000_000L;
    StringBuilder b = new StringBuilder();
    two(b, seconds / 3600).append(':');
    two(b, seconds / 60 % 60).append(':');
    two(b, seconds % 60);
    if (fraction != 0) {
      String digits = Long.toString(1_000_000_000L + fraction).substring(1);
      int end = digits.length();
      while (digits.charAt(end - 1) == '0') {
        end--;
      }
      b.append('.').append(digits, 0, end);
    }
    return b.toString();
  }

  private static StringBuilder two(StringBuilder b, long n) {
    return b.append(n < 10 ? "0" : "").append(n);
  }

  private static String quoted(int[] units, char quote, int width) {
    StringBuilder b = new StringBuilder().append(quote);
    for (int u : units) {
      switch (u) {
        case '$' -> b.append("$$");
        case '\n' -> b.append("$L");
        case '\r' -> b.append("$R");
        case '\t' -> b.append("$T");
        case 12 -> b.append("$P");
        default -> {
          if (u == quote) {
            b.append('$').append(quote);
          } else if (u < 32 || (u >= 127 && u < 160) || (u >= 0xD800 && u < 0xE000)) {
            hex(b.append('$'), u, width == 16 || u > 255 ? 4 : 2);
          } else {
            b.appendCodePoint(u);
          }
        }
      }
    }
    return b.append(quote).toString();
  }

  private static void hex(StringBuilder b, int u, int digits) {
    for (int i = digits - 1; i >= 0; i--) {
      b.append("0123456789ABCDEF".charAt((u >> (4 * i)) & 15));
    }
  }
}
