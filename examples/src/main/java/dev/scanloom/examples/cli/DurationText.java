package dev.scanloom.examples.cli;

import java.math.BigDecimal;
import java.time.Duration;
import java.util.Locale;

/**
 * Durations as people write them and as the standard does: {@code 10ms}, {@code T#10ms}, {@code T#1h30m}, {@code 1.5s}. Units d, h, m, s, ms, us, ns in
 * falling order; only the last one may have a fraction (IEC 61131-3, Table 8).
 */
final class DurationText {
  private static final String[] UNITS = {"d", "h", "m", "s", "ms", "us", "ns"};
  private static final long[] NANOS = {86_400_000_000_000L, 3_600_000_000_000L, 60_000_000_000L, 1_000_000_000L, 1_000_000L, 1_000L, 1L};
  private static final String[] PREFIXES = {"LTIME#", "TIME#", "LT#", "T#"};

  private DurationText() {}

  /** A duration of more than zero. {@code option} is named in messages. */
  static Duration positive(String option, String text) {
    Duration d = parse(option, text);
    if (d.isZero()) {
      throw new UsageError(option + ": " + text + " is zero; expected a duration greater than zero");
    }
    if (d.isNegative()) {
      throw new UsageError(option + ": " + text + " is negative; expected a duration greater than zero");
    }
    return d;
  }

  /** A duration of zero or more. */
  static Duration notNegative(String option, String text) {
    Duration d = parse(option, text);
    if (d.isNegative()) {
      throw new UsageError(option + ": " + text + " is negative; expected a duration of zero or more");
    }
    return d;
  }

  private static Duration parse(String option, String text) {
    String t = text.trim().toLowerCase(Locale.ROOT);
    for (String p : PREFIXES) {
      if (t.startsWith(p.toLowerCase(Locale.ROOT))) {
        t = t.substring(p.length());
        break;
      }
    }
    boolean negative = t.startsWith("-");
    if (negative || t.startsWith("+")) {
      t = t.substring(1);
    }
    if (t.isEmpty()) {
      throw wrong(option, text);
    }
    BigDecimal sum = BigDecimal.ZERO;
    int unit = -1;
    int i = 0;
    boolean fraction = false;
    while (i < t.length()) {
      if (t.charAt(i) == '_' && unit >= 0 && i + 1 < t.length()) {
        i++;
      }
      int start = i;
      boolean dot = false;
      while (i < t.length() && (isDigit(t.charAt(i)) || t.charAt(i) == '_' && i > start && i + 1 < t.length() && isDigit(t.charAt(i + 1))
          || t.charAt(i) == '.' && !dot && i > start && i + 1 < t.length() && isDigit(t.charAt(i + 1)))) {
        dot |= t.charAt(i) == '.';
        i++;
      }
      if (i == start || fraction || i - start > 40) {
        throw wrong(option, text);
      }
      BigDecimal number = new BigDecimal(t.substring(start, i).replace("_", ""));
      fraction = dot;
      int letters = i;
      while (i < t.length() && t.charAt(i) >= 'a' && t.charAt(i) <= 'z') {
        i++;
      }
      String name = t.substring(letters, i);
      if (name.isEmpty()) {
        throw new UsageError(option + ": " + text + " has no unit; expected a duration such as 10ms or T#10ms");
      }
      int found = -1;
      for (int u = 0; u < UNITS.length; u++) {
        if (UNITS[u].equals(name)) {
          found = u;
        }
      }
      if (found <= unit) {
        throw wrong(option, text);
      }
      unit = found;
      sum = sum.add(number.multiply(BigDecimal.valueOf(NANOS[unit])));
    }
    BigDecimal nanos = sum.stripTrailingZeros();
    if (nanos.scale() > 0) {
      throw new UsageError(option + ": " + text + " is finer than a nanosecond");
    }
    if (nanos.compareTo(BigDecimal.valueOf(Long.MAX_VALUE)) > 0) {
      throw new UsageError(option + ": " + text + " is longer than the virtual clock can count (about 292 years)");
    }
    long n = nanos.longValueExact();
    return Duration.ofNanos(negative ? -n : n);
  }

  private static boolean isDigit(char c) {
    return c >= '0' && c <= '9';
  }

  private static UsageError wrong(String option, String text) {
    return new UsageError(option + ": '" + text + "' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order");
  }
}
