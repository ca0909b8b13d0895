package dev.scanloom.internal.syntax;

import java.math.BigInteger;
import java.time.DateTimeException;
import java.time.LocalDate;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;

/**
 * What literals mean (Tables 5 to 9): {@link #decode} turns one as written into its value. Ranges of types are not looked at: {@code
 * SINT#200}
 * is the integer 200 here; only what the literal itself says is checked (digits of the base, order of units, dates of the calendar,
 * escapes).
 *
 * <p>The parser decodes every literal once and reports {@link Invalid} ones as {@code syntax/literal}; a later stage that meets one need
 * not
 * report it again. Stateless; safe for use by several threads.
 */
public final class Literals {
  /** Longest numeric, duration or date literal, in characters. */
  public static final int MAX_LENGTH = 1_000;

  private static final BigInteger NANOS_PER_DAY = BigInteger.valueOf(86_400_000_000_000L);

  private Literals() {}

  /** The value of a literal, or what is wrong with it. */
  public sealed interface Value {}

  /** INTEGER; the sign of a typed literal is included ({@code INT#-12} is -12). */
  public record Int(BigInteger value) implements Value {}

  /**
   * REAL; {@code text} is digits, point, digits and perhaps an exponent, sign included, without underscores: {@code new BigDecimal} takes
   * it.
   */
  public record Real(String text) implements Value {}

  /** TRUE and FALSE. */
  public record Bool(boolean value) implements Value {}

  /** NULL. */
  public record Null() implements Value {}

  /** DURATION in nanoseconds, within 64 bits. */
  public record Duration(long nanoseconds) implements Value {}

  /** DATE: days since 1970-01-01; years 1 to 9999. */
  public record Date(long epochDay) implements Value {}

  /** TIME_OF_DAY: nanoseconds since midnight. */
  public record TimeOfDay(long nanoOfDay) implements Value {}

  /** DATE_AND_TIME, in UTC. */
  public record DateAndTime(long epochDay, long nanoOfDay) implements Value {
    /** Nanoseconds since 1970-01-01-00:00:00; may need more than 64 bits. */
    public BigInteger nanoseconds() {
      return BigInteger.valueOf(epochDay).multiply(NANOS_PER_DAY).add(BigInteger.valueOf(nanoOfDay));
    }
  }

  /**
   * STRING and WSTRING after escapes. Single-quoted and USTRING#, UCHAR#: code points (a {@code STRING} can hold those up to 255 only,
   * which
   * depends on where the literal stands and is not checked here). Double-quoted and WSTRING#, WCHAR#: UTF-16 code units. {@code $N} is
   * line feed.
   */
  public record Text(int[] units) implements Value {
    @Override
    public boolean equals(Object other) {
      return other instanceof Text text && Arrays.equals(units, text.units);
    }

    @Override
    public int hashCode() {
      return Arrays.hashCode(units);
    }

    @Override
    public String toString() {
      return "Text" + Arrays.toString(units);
    }
  }

  /** The literal is malformed at {@code offset} (code points into the literal's {@code text}) over {@code length} code points. */
  public record Invalid(int offset, int length, String message) implements Value {}

  /** The value of a literal; never throws for a literal that the parser has made. */
  public static Value decode(Expression.Literal literal) {
    String text = literal.text();
    boolean bounded = literal.kind() != Expression.LiteralKind.STRING && literal.kind() != Expression.LiteralKind.WSTRING;
    if (bounded && text.length() > MAX_LENGTH) {
      return new Invalid(0, text.length(), "this literal has more than " + MAX_LENGTH + " characters");
    }
    String prefix = literal.prefix().isPresent() ? literal.prefix().get().key() : "";
    return switch (literal.kind()) {
      case INTEGER -> integer(text, literal.negative());
      case REAL -> real(text, literal.negative());
      case BOOLEAN -> new Bool(text.equalsIgnoreCase("TRUE"));
      case NULL -> new Null();
      case STRING, WSTRING -> string(text, prefix);
      case DURATION -> duration(text, literal.negative());
      case DATE -> date(text);
      case TIME_OF_DAY -> timeOfDay(text);
      case DATE_AND_TIME -> dateAndTime(text);
    };
  }

  // Numbers (Table 5)

  /** Whether a literal is decimal digits and nothing else, which is most of them and always right; not so for a long one. */
  public static boolean isPlainInteger(Expression.Literal literal) {
    return plainInteger(literal) >= 0;
  }

  /** The value of a literal without its sign if it is {@linkplain #isPlainInteger plain}, else -1. */
  public static long plainInteger(Expression.Literal literal) {
    return literal.kind() == Expression.LiteralKind.INTEGER ? digits(literal.text()) : -1;
  }

  /** The value of 1 to 18 digits; -1 for anything else. */
  private static long digits(String text) {
    int length = text.length();
    if (length == 0 || length > 18) {
      return -1;
    }
    long value = 0;
    for (int i = 0; i < length; i++) {
      int c = text.charAt(i);
      if (!isDigit(c)) {
        return -1;
      }
      value = value * 10 + c - '0';
    }
    return value;
  }

  private static Value integer(String text, boolean negative) {
    long plain = digits(text);
    if (plain >= 0) {
      return new Int(BigInteger.valueOf(negative ? -plain : plain));
    }
    int mark = text.indexOf('#');
    int base = 10;
    if (mark >= 0) {
      String written = text.substring(0, mark);
      if (!List.of("2", "8", "16").contains(written)) {
        return new Invalid(0, mark, "the base of an integer literal is 2, 8 or 16, not " + written);
      }
      base = Integer.parseInt(written);
      if (negative) {
        return new Invalid(0, text.length(), "a literal with a base has no sign");
      }
    }
    int start = mark + 1;
    Invalid wrong = digits(text, start, text.length(), base);
    if (wrong != null) {
      return wrong;
    }
    BigInteger value = new BigInteger(text.substring(start).replace("_", ""), base);
    return new Int(negative ? value.negate() : value);
  }

  private static Value real(String text, boolean negative) {
    int point = text.indexOf('.');
    int exponent = Math.max(text.indexOf('E'), text.indexOf('e'));
    int end = exponent < 0 ? text.length() : exponent;
    Invalid wrong = digits(text, 0, point, 10);
    wrong = wrong != null ? wrong : digits(text, point + 1, end, 10);
    if (exponent >= 0 && wrong == null) {
      int first = text.charAt(exponent + 1) == '+' || text.charAt(exponent + 1) == '-' ? exponent + 2 : exponent + 1;
      wrong = digits(text, first, text.length(), 10);
      if (wrong == null && text.length() - first > 6) {
        wrong = new Invalid(first, text.length() - first, "this exponent is beyond the range of every real type");
      }
    }
    return wrong != null ? wrong : new Real((negative ? "-" : "") + text.replace("_", ""));
  }

  /** What is wrong with digits and single underscores between them in {@code [start, end)}; null if nothing. */
  private static Invalid digits(String text, int start, int end, int base) {
    if (start >= end) {
      return new Invalid(start, 0, "a digit is missing");
    }
    for (int i = start; i < end; i++) {
      char c = text.charAt(i);
      if (c == '_') {
        boolean single = i > start && i + 1 < end && text.charAt(i - 1) != '_' && text.charAt(i + 1) != '_';
        if (!single) {
          return new Invalid(i, 1, "an underscore in a number stands alone, between two digits");
        }
      } else if (c > 'z' || Character.digit(c, base) < 0) {
        return new Invalid(i, 1, "'" + c + "' is no digit of a literal to the base " + base);
      }
    }
    return null;
  }

  /** What to say about a token that begins like a number and does not go on like one. */
  static String malformedNumber(String text) {
    int i = 0;
    while (i < text.length() && (isDigit(text.charAt(i)) || text.charAt(i) == '_' || text.charAt(i) == '.')) {
      i++;
    }
    String upper = text.toUpperCase(Locale.ROOT);
    if (i < text.length() && upper.charAt(i) == 'E' && upper.indexOf('.') < 0 && upper.substring(i
        + 1).chars().allMatch(Literals::isDigit)) {
      return "a real literal needs a decimal point: " + text;
    }
    if (upper.indexOf('.') >= 0 && upper.endsWith("E") && i == upper.length() - 1) {
      return "an exponent needs digits: " + text;
    }
    String rest = upper.substring(Math.min(i, upper.length()));
    if (List.of("D", "H", "M", "S", "MS", "US", "NS").contains(rest)) {
      return "a duration begins with T#: T#" + text;
    }
    if (!upper.contains(".") && upper.chars().allMatch(c -> Character.digit(c, 16) >= 0 || c == 'H' || c == 'X' || c == '_')) {
      return "'" + text + "' is no literal; a hexadecimal one is written 16#FF";
    }
    return "'" + text + "' is neither a literal nor an identifier; an identifier cannot begin with a digit";
  }

  private static boolean isDigit(int c) {
    return c >= '0' && c <= '9';
  }

  // Strings (Tables 6 and 7)

  private static Value string(String text, String prefix) {
    boolean wide = text.startsWith("\"");
    boolean points = prefix.equals("USTRING") || prefix.equals("UCHAR") || (!wide && !prefix.startsWith("W"));
    int[] source = text.codePoints().toArray();
    int[] units = new int[source.length * 2];
    int count = 0;
    int end = source.length - 1;
    for (int i = 1; i < end; i++) {
      int c = source[i];
      if (c == '$') {
        int escape = i + 1 < end ? source[i + 1] : -1;
        int simple = simpleEscape(escape, wide);
        int hex = wide ? 4 : 2;
        if (simple >= 0) {
          units[count++] = simple;
          i++;
        } else if (escape >= 0 && escape <= 'f' && Character.digit(escape, 16) >= 0) {
          int value = 0;
          for (int k = 1; k <= hex; k++) {
            int digit = i + k < end && source[i + k] <= 'f' ? Character.digit(source[i + k], 16) : -1;
            if (digit < 0) {
              return new Invalid(i, Math.min(k, end - i), "$ with a character code needs exactly " + (wide ? "four" : "two")
                  + " hexadecimal digits in a literal in " + (wide ? "double" : "single") + " quotes");
            }
            value = value * 16 + digit;
          }
          if (points && wide && count > 0 && value >= 0xDC00 && value <= 0xDFFF && units[count - 1] >= 0xD800
              && units[count - 1] <= 0xDBFF) {
            units[count - 1] = Character.toCodePoint((char) units[count - 1], (char) value);
          } else {
            units[count++] = value;
          }
          i += hex;
        } else {
          return new Invalid(i, escape < 0 ? 1 : 2, "$ must be followed by $, " + (wide ? "\"" : "'") + ", L, N, P, R, T or "
              + (wide ? "four" : "two") + " hexadecimal digits");
        }
      } else if (points || c < 0x10000) {
        units[count++] = c;
      } else {
        units[count++] = Character.highSurrogate(c);
        units[count++] = Character.lowSurrogate(c);
      }
    }
    return new Text(Arrays.copyOf(units, count));
  }

  private static int simpleEscape(int c, boolean wide) {
    return switch (c) {
      case '$' -> '$';
      case '\'' -> wide ? -1 : '\'';
      case '"' -> wide ? '"' : -1;
      case 'L', 'l', 'N', 'n' -> '\n';
      case 'P', 'p' -> '\f';
      case 'R', 'r' -> '\r';
      case 'T', 't' -> '\t';
      default -> -1;
    };
  }

  // Durations (Table 8)

  private static final List<String> UNITS = List.of("D", "H", "M", "S", "MS", "US", "NS");
  private static final long[] UNIT_NANOS = {86_400_000_000_000L, 3_600_000_000_000L, 60_000_000_000L, 1_000_000_000L, 1_000_000L, 1_000L,
      1L};
  /** How many of a unit make one of the unit before it. */
  private static final int[] UNIT_RANGE = {0, 24, 60, 60, 1000, 1000, 1000};

  private static Value duration(String text, boolean negative) {
    String upper = text.toUpperCase(Locale.ROOT);
    BigInteger total = BigInteger.ZERO;
    int before = -1;
    boolean fraction = false;
    int at = 0;
    if (upper.isEmpty()) {
      return new Invalid(0, 0, "a duration needs a number and a unit, such as T#5s");
    }
    while (at < upper.length()) {
      if (before >= 0 && upper.charAt(at) == '_') {
        at++;
      }
      int start = at;
      while (at < upper.length() && (isDigit(upper.charAt(at)) || upper.charAt(at) == '_' || upper.charAt(at) == '.')) {
        at++;
      }
      int numberEnd = at;
      while (at < upper.length() && upper.charAt(at) >= 'A' && upper.charAt(at) <= 'Z') {
        at++;
      }
      String number = upper.substring(start, numberEnd);
      String unitName = upper.substring(numberEnd, at);
      int unit = UNITS.indexOf(unitName);
      if (fraction) {
        return new Invalid(start, at - start, "only the last unit of a duration may have a decimal fraction");
      }
      if (number.isEmpty()) {
        return new Invalid(start, Math.max(1, at - start), "a number is expected in front of a unit of a duration");
      }
      if (unit < 0) {
        return new Invalid(numberEnd, at - numberEnd, (unitName.isEmpty() ? "a unit is missing" : "'" + unitName.toLowerCase(Locale.ROOT)
            + "' is no unit") + "; units of a duration are d, h, m, s, ms, us, ns");
      }
      if (unit <= before) {
        return new Invalid(start, at - start, unit == before ? "the unit " + unitName.toLowerCase(Locale.ROOT) + " stands twice"
            : "the units of a duration stand in falling order: d, h, m, s, ms, us, ns");
      }
      int point = number.indexOf('.');
      Invalid wrong = digits(number, 0, point < 0 ? number.length() : point, 10);
      if (wrong == null && point >= 0) {
        wrong = digits(number, point + 1, number.length(), 10);
      }
      if (wrong != null) {
        return new Invalid(start + wrong.offset(), wrong.length(), wrong.message());
      }
      fraction = point >= 0;
      BigInteger whole = new BigInteger((point < 0 ? number : number.substring(0, point)).replace("_", ""));
      if (before >= 0 && whole.compareTo(BigInteger.valueOf(perGreater(before, unit))) >= 0) {
        return new Invalid(start, at - start, "only the first unit of a duration may exceed its range");
      }
      BigInteger nanos = BigInteger.valueOf(UNIT_NANOS[unit]);
      total = total.add(whole.multiply(nanos));
      if (fraction) {
        String decimals = number.substring(point + 1).replace("_", "");
        BigInteger[] parts = new BigInteger(decimals).multiply(nanos).divideAndRemainder(BigInteger.TEN.pow(decimals.length()));
        if (parts[1].signum() != 0) {
          return new Invalid(start, at - start, "this duration is finer than one nanosecond");
        }
        total = total.add(parts[0]);
      }
      before = unit;
    }
    BigInteger signed = negative ? total.negate() : total;
    return signed.bitLength() > 63 ? new Invalid(0, text.length(), "this duration is beyond the range of LTIME")
        : new Duration(signed.longValue());
  }

  /** How many of {@code unit} make one of the greater unit {@code before}. */
  private static long perGreater(int before, int unit) {
    long range = 1;
    for (int u = before + 1; u <= unit; u++) {
      range *= UNIT_RANGE[u];
    }
    return range;
  }

  // Dates and times of day (Table 9)

  private static Value date(String text) {
    String[] parts = text.split("-", -1);
    if (parts.length != 3) {
      return new Invalid(0, text.length(), "a date is written year-month-day, such as D#2024-02-29");
    }
    return date(parts);
  }

  /** A number of a date or time without its underscores, which may stand between its digits as in any number; else as it is. */
  private static String plain(String number) {
    return digits(number, 0, number.length(), 10) == null ? number.replace("_", "") : number;
  }

  private static Value date(String[] parts) {
    int at = 0;
    int[] numbers = new int[3];
    String[] names = {"year", "month", "day"};
    for (int i = 0; i < 3; i++) {
      String number = plain(parts[i]);
      if (number.isEmpty() || number.length() > 4 || !number.chars().allMatch(Literals::isDigit)) {
        return new Invalid(at, parts[i].length(), "'" + parts[i] + "' is no " + names[i]);
      }
      numbers[i] = Integer.parseInt(number);
      at += parts[i].length() + 1;
    }
    try {
      if (numbers[0] == 0) {
        return new Invalid(0, parts[0].length(), "there is no year 0");
      }
      return new Date(LocalDate.of(numbers[0], numbers[1], numbers[2]).toEpochDay());
    } catch (DateTimeException e) {
      return new Invalid(0, at - 1, String.join("-", parts) + " is no date of the calendar");
    }
  }

  private static Value timeOfDay(String text) {
    String[] parts = text.split(":", -1);
    if (parts.length != 3) {
      return new Invalid(0, text.length(), "a time of day is written hours:minutes:seconds, such as TOD#06:07:08.5");
    }
    String seconds = parts[2];
    int point = seconds.indexOf('.');
    String fraction = point < 0 ? "" : plain(seconds.substring(point + 1));
    String[] whole = {parts[0], parts[1], point < 0 ? seconds : seconds.substring(0, point)};
    int[] limits = {24, 60, 60};
    String[] names = {"hours", "minutes", "seconds"};
    long value = 0;
    int at = 0;
    for (int i = 0; i < 3; i++) {
      String part = plain(whole[i]);
      boolean number = !part.isEmpty() && part.length() <= 2 && part.chars().allMatch(Literals::isDigit);
      if (!number || Integer.parseInt(part) >= limits[i]) {
        return new Invalid(at, whole[i].length(), "'" + whole[i] + "' is no number of " + names[i] + " in a day; expected 0 to "
            + (limits[i] - 1));
      }
      value = value * 60 + Integer.parseInt(part);
      at += whole[i].length() + 1;
    }
    value *= 1_000_000_000L;
    if (point >= 0) {
      if (fraction.isEmpty() || fraction.length() > 9 || !fraction.chars().allMatch(Literals::isDigit)) {
        return new Invalid(at, seconds.length() - point - 1, "a fraction of a second has one to nine digits");
      }
      value += Long.parseLong((fraction + "00000000").substring(0, 9));
    }
    return new TimeOfDay(value);
  }

  private static Value dateAndTime(String text) {
    String[] parts = text.split("-", -1);
    if (parts.length != 4) {
      return new Invalid(0, text.length(),
          "a date and time is written year-month-day-hours:minutes:seconds, such as DT#2024-02-29-06:07:08");
    }
    Value date = date(Arrays.copyOf(parts, 3));
    if (!(date instanceof Date day)) {
      return date;
    }
    Value time = timeOfDay(parts[3]);
    int at = text.length() - parts[3].length();
    if (time instanceof Invalid wrong) {
      return new Invalid(at + wrong.offset(), wrong.length(), wrong.message());
    }
    return new DateAndTime(day.epochDay(), ((TimeOfDay) time).nanoOfDay());
  }
}
