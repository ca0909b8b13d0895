package dev.scanloom.teach;

import dev.scanloom.Variable;
import dev.scanloom.model.ElementaryType;
import java.math.BigDecimal;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * What a student may write for an answer. Tolerant in form, strict in meaning: two ways of writing one value are equal, nothing is
 * guessed.
 */
final class AnswerText {
  private AnswerText() {}

  /** What an answer is. */
  enum Kind { VALUE, NETWORK, COUNT, LINE, LETTERS }

  private static final int LONGEST = 200;
  private static final List<String> ON = List.of("true", "1", "on", "yes", "y", "high", "lit", "set", "energized", "powered", "conducting",
      "conducts", "bool#1",
      "bool#true", "2#1", "t");
  private static final List<String> OFF = List.of("false", "0", "off", "no", "n", "low", "dark", "reset", "deenergized", "de-energized",
      "unpowered",
      "not conducting", "blocks", "bool#0", "bool#false", "2#0", "f");
  private static final List<String> WORDS = List.of("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
      "eleven", "twelve");
  private static final List<String> RANKS = List.of("zeroth", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth",
      "ninth", "tenth",
      "eleventh", "twelfth");
  private static final Pattern PART = Pattern.compile("([0-9]+(?:\\.[0-9]+)?)\\s*(d|h|min|ms|m|s|us|µs|ns)", Pattern.CASE_INSENSITIVE);
  private static final Map<String, BigDecimal> UNITS = units();

  private static Map<String, BigDecimal> units() {
    Map<String, BigDecimal> u = new TreeMap<>();
    u.put("d", new BigDecimal("86400000000000"));
    u.put("h", new BigDecimal("3600000000000"));
    u.put("m", new BigDecimal("60000000000"));
    u.put("min", new BigDecimal("60000000000"));
    u.put("s", new BigDecimal("1000000000"));
    u.put("ms", new BigDecimal("1000000"));
    u.put("us", new BigDecimal("1000"));
    u.put("\u00B5s", new BigDecimal("1000"));
    u.put("ns", BigDecimal.ONE);
    return java.util.Collections.unmodifiableMap(u);
  }

  private static String plain(String given) {
    String s = given.strip().replaceAll("\\s+", " ");
    s = s.replaceAll("^[\"'(=]+|[\"').!;]+$", "").strip();
    return s.toLowerCase(Locale.ROOT);
  }

  /** The answer in the one form in which answers of this kind are compared; empty when it cannot be understood. */
  static Optional<String> parse(Kind kind, Variable variable, int options, String given) {
    if (given.length() > LONGEST) {
      return Optional.empty();
    }
    String s = plain(given);
    if (s.isEmpty()) {
      return Optional.empty();
    }
    return switch (kind) {
      case VALUE -> value(variable, s, given.strip());
      case NETWORK -> network(s);
      case COUNT -> s.matches("never|not at all|none|no") ? Optional.of("never") : number(s.replaceFirst("^(in |after )?(scan |the )?", "")
          .replaceFirst(" scans?$", "")).map(String::valueOf);
      case LINE -> s.matches("never|none|no") ? Optional.of("never") : number(s.replaceFirst("^(at |in )?line ", "")).map(String::valueOf);
      case LETTERS -> letters(s, options);
    };
  }

  static String expectation(Kind kind, Variable v) {
    return switch (kind) {
      case VALUE -> v == null || v.type() == ElementaryType.BOOL ? "on or off (also TRUE, FALSE, 1, 0)"
          : v.type().family() == ElementaryType.Family.DURATION
              ? "a duration such as T#1.5s or 1500 ms (a bare number counts as milliseconds)"
          : v.type().isReal() ? "a number" : v.type().isString() ? "a text" : "a value of type " + v.typeName();
      case NETWORK -> "the number of a network, 'refresh' for the input refresh, or 'none'";
      case COUNT -> "a number, or 'never'";
      case LINE -> "a line number, or 'never'";
      case LETTERS -> "one or more of the letters";
    };
  }

  private static Optional<String> value(Variable v, String s, String given) {
    if (v == null || v.type() == ElementaryType.BOOL) {
      return ON.contains(s) ? Optional.of("TRUE") : OFF.contains(s) ? Optional.of("FALSE") : Optional.empty();
    }
    try {
      if (v.type().family() == ElementaryType.Family.DURATION) {
        return duration(s).map(ns -> v.format(ns));
      }
      if (v.type().isReal()) {
        return real(s).map(BigDecimal::toString);
      }
      if (v.type().isString()) {
        return Optional.of(given.replaceAll("^['\"]|['\"]$", ""));
      }
      Optional<Long> n = number(s);
      if (n.isPresent() && (v.type().isInteger() || v.type().isBits())) {
        return Optional.of(v.format(n.get()));
      }
      return Optional.of(v.format(v.parse(given)));
    } catch (IllegalArgumentException notOfTheType) {
      return Optional.empty();
    }
  }

  /** Whether two parsed answers are equal. */
  static boolean same(Kind kind, Variable v, String one, String other) {
    if (kind == Kind.VALUE && v != null && v.type().isReal()) {
      try {
        BigDecimal a = new BigDecimal(one);
        BigDecimal b = new BigDecimal(other);
        // six significant digits are enough for a sheet of paper
        BigDecimal most = a.abs().max(b.abs()).multiply(new BigDecimal("5E-7"));
        return a.subtract(b).abs().compareTo(most) <= 0;
      } catch (NumberFormatException special) {
        return one.equalsIgnoreCase(other);
      }
    }
    return one.equals(other);
  }

  private static Optional<BigDecimal> real(String s) {
    String t = s.replaceFirst("^l?real#", "").replace("_", "").replace(" ", "");
    if (t.indexOf('.') < 0 && t.indexOf(',') == t.lastIndexOf(',')) {
      t = t.replace(',', '.');
    }
    if (!t.matches("[+-]?([0-9]{1,40}(\\.[0-9]{0,40})?|\\.[0-9]{1,40})(e[+-]?[0-9]{1,3})?")) {
      return Optional.empty();
    }
    return Optional.of(new BigDecimal(t.endsWith(".") ? t + "0" : t.replace(".e", ".0e")));
  }

  private static Optional<Long> duration(String s) {
    String t = s.replaceFirst("^(time|ltime|lt|t)#", "").replace("_", "").strip();
    boolean negative = t.startsWith("-");
    t = t.replaceFirst("^[+-]\\s*", "").replace("milliseconds", "ms").replace("seconds", "s").replace("second", "s").replace("minutes", "m")
        .replace("minute", "m").replaceAll(",([0-9])", ".$1").replaceAll("(?<=[a-z]),? (and )?", "");
    if (t.matches("[0-9]{1,15}(\\.[0-9]{1,6})?")) {
      t = t + "ms";
    }
    if (t.isEmpty()) {
      return Optional.empty();
    }
    BigDecimal sum = BigDecimal.ZERO;
    Matcher m = PART.matcher(t);
    int at = 0;
    while (at < t.length()) {
      if (!m.find(at) || m.start() != at || m.group(1).length() > 20) {
        return Optional.empty();
      }
      sum = sum.add(new BigDecimal(m.group(1)).multiply(UNITS.get(m.group(2))));
      at = m.end();
      while (at < t.length() && t.charAt(at) == ' ') {
        at++;
      }
    }
    try {
      long ns = sum.longValueExact();
      return Optional.of(negative ? -ns : ns);
    } catch (ArithmeticException notWhole) {
      return Optional.empty();
    }
  }

  /** A whole number: decimal, with a base, typed, as a word, as a rank. */
  private static Optional<Long> number(String s) {
    if (WORDS.contains(s)) {
      return Optional.of((long) WORDS.indexOf(s));
    }
    if (RANKS.contains(s)) {
      return Optional.of((long) RANKS.indexOf(s));
    }
    String t = s.replaceFirst("^(u?[sld]?int|byte|[dl]?word)#", "").replace("_", "");
    Matcher based = Pattern.compile("(2|8|16)#([0-9a-f]{1,64})|0x([0-9a-f]{1,16})").matcher(t);
    try {
      if (based.matches()) {
        return Optional.of(based.group(3) != null ? Long.parseUnsignedLong(based.group(3), 16)
            : Long.parseUnsignedLong(based.group(2), Integer.parseInt(based.group(1))));
      }
      Matcher m = Pattern.compile("([+-]?[0-9]{1,18})(?:\\.0*|st|nd|rd|th)?").matcher(t.replace(" ", ""));
      return m.matches() ? Optional.of(Long.parseLong(m.group(1))) : Optional.empty();
    } catch (NumberFormatException tooLarge) {
      return Optional.empty();
    }
  }

  private static Optional<String> network(String s) {
    if (s.matches("none|no|nobody|no network|nothing")) {
      return Optional.of("none");
    }
    if (s.matches("(the )?(input )?refresh|input")) {
      return Optional.of("refresh");
    }
    String t = s.replaceFirst("^the ", "").replaceFirst("^(network|netw|net|nw|rung|n|no|#)[ .:#]*", "").replaceFirst(" (network|rung)$",
        "");
    return number(t).filter(n -> n >= 1 && n < 1_000_000).map(String::valueOf);
  }

  private static Optional<String> letters(String s, int options) {
    String[] parts = s.replaceAll("\\b(and|both|only|option|answer)\\b", " ").replaceAll("[(),.;+&/]", " ").strip().split("\\s+");
    TreeSet<String> set = new TreeSet<>();
    for (String p : parts) {
      if (p.length() > options) {
        return Optional.empty();
      }
      for (char c : p.toCharArray()) {
        if (c < 'a' || c >= 'a' + options) {
          return Optional.empty();
        }
        set.add(String.valueOf(c));
      }
    }
    return set.isEmpty() ? Optional.empty() : Optional.of(String.join(", ", set));
  }
}
