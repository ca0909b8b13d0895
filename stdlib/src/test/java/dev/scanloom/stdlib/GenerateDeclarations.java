package dev.scanloom.stdlib;

import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.io.IOException;
import java.math.BigInteger;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.TreeMap;

/**
 * Writes the declaration files whose members differ in their types only (conversions, typed functions, counters and timers of each type),
 * and the index of
 * all names. {@code DeclarationsTest} fails while the committed files are stale, and says how to write them anew.
 */
final class GenerateDeclarations {
  static final Path RESOURCES = Path.of("src", "main", "resources", "dev", "scanloom", "stdlib");

  private static final List<ElementaryType> ALL = List.of(ElementaryType.values());
  private static final List<ElementaryType> SIGNED = family(Family.SIGNED);
  private static final List<ElementaryType> UNSIGNED = family(Family.UNSIGNED);
  private static final List<ElementaryType> BITS = family(Family.BIT);
  private static final List<ElementaryType> REALS = family(Family.REAL);
  private static final List<ElementaryType> INTEGERS = concat(SIGNED, UNSIGNED);
  private static final List<ElementaryType> NUMBERS = concat(INTEGERS, REALS);

  private final Map<String, StringBuilder> files = new TreeMap<>();
  private StringBuilder out;

  private GenerateDeclarations() {}

  public static void main(String[] args) throws IOException {
    for (Map.Entry<String, String> file : files().entrySet()) {
      Files.writeString(RESOURCES.resolve(file.getKey()), file.getValue(), StandardCharsets.UTF_8);
    }
    Files.writeString(RESOURCES.resolve("index.txt"), index(), StandardCharsets.UTF_8);
  }

  /** File name to text of every generated file but the index. */
  static Map<String, String> files() {
    GenerateDeclarations g = new GenerateDeclarations();
    g.truncationAndBcd();
    g.overloadedConversions();
    g.numericConversions();
    g.bitConversions();
    g.bitAndNumericConversions();
    g.timeConversions();
    g.characterConversions();
    g.numerical();
    g.arithmetic();
    g.shifts();
    g.bitwise();
    g.typedSelection();
    g.comparison();
    g.timeArithmetic();
    g.counters();
    g.timers();
    Map<String, String> result = new LinkedHashMap<>();
    g.files.forEach((name, text) -> result.put(name, text.toString()));
    return result;
  }

  /** The index of the files in the resource directory: lines {@code NAME file}, sorted by name. */
  static String index() throws IOException {
    Map<String, String> names = new TreeMap<>();
    List<Path> sources;
    try (var listing = Files.list(RESOURCES)) {
      sources = listing.filter(p -> p.toString().endsWith(".st")).sorted().toList();
    }
    for (Path file : sources) {
      for (DeclarationScan.Block block : DeclarationScan.blocks(Files.readString(file, StandardCharsets.UTF_8))) {
        String before = names.put(block.name(), file.getFileName().toString());
        if (before != null) {
          throw new IllegalStateException(block.name() + " is declared in " + before + " and in " + file.getFileName());
        }
      }
    }
    StringBuilder text = new StringBuilder();
    names.forEach((name, file) -> text.append(name).append(' ').append(file).append('\n'));
    return text.toString();
  }

  // ---------------------------------------------------------------------------------------------------------------- Table 22

  private void truncationAndBcd() {
    file("table22-truncation-bcd.st");
    function("TRUNC", "ANY_INT",
        doc("A real with its fraction dropped, as the integer type that the context asks for. Removed in edition 4: use the typed form.",
            "IN REAL or LREAL; result the integer type of the context",
            "not a number, infinite, or outside the range of the result (fault/conversion)",
            "T22.2a, S.trunc-int-div, S.conv-nan, S.ed4-trunc-typed-only", "y := TRUNC(-1.9); // INT#-1"),
        "{intrinsic TRUNC}", "IN : ANY_REAL; // value");
    for (ElementaryType to : INTEGERS) {
      String sample = to.family() == Family.SIGNED ? "-2.7); // " + literal(to, "-2") : "2.7); // " + literal(to, "2");
      for (ElementaryType from : REALS) {
        function(from + "_TRUNC_" + to, to.name(),
            doc(from + " to " + to + " with the fraction dropped.", "IN " + from + "; result " + to,
                "not a number, infinite, or outside " + range(to) + " (fault/conversion)", "T22.2b, S.trunc-int-div, S.conv-nan",
                "y := " + from + "_TRUNC_" + to + "(" + from + "#" + sample),
            "{intrinsic TRUNC}", "IN : " + from + "; // value");
      }
      function("TRUNC_" + to, to.name(),
          doc("REAL or LREAL to " + to + " with the fraction dropped.", "IN REAL or LREAL; result " + to,
              "not a number, infinite, or outside " + range(to) + " (fault/conversion)", "T22.2c, S.trunc-int-div, S.conv-nan",
              "y := TRUNC_" + to + "(" + sample),
          "{intrinsic TRUNC}", "IN : ANY_REAL; // value");
    }
    List<ElementaryType> wide = BITS.subList(1, BITS.size());
    for (ElementaryType to : UNSIGNED) {
      for (ElementaryType from : wide) {
        function(from + "_BCD_TO_" + to, to.name(),
            doc("Groups of 4 bits read as decimal digits, " + from + " to " + to + ". Deprecated in edition 4.",
                "IN " + from + " of " + from.bits() / 4 + " digits; result " + to,
                "a group above 9, or a value outside " + range(to) + " (fault/bcd)", "T22.3a, S.ed4-bcd-deprecated",
                "y := " + from + "_BCD_TO_" + to + "(" + from + "#16#42); // " + literal(to, "42")),
            "{native from_bcd}", "IN : " + from + "; // decimal digits");
      }
      function("BCD_TO_" + to, to.name(),
          doc("Groups of 4 bits read as decimal digits, to " + to + ". Deprecated in edition 4.", "IN BYTE, WORD, DWORD or LWORD; result "
          + to,
              "a group above 9, or a value outside " + range(to) + " (fault/bcd)", "T22.3b, S.ed4-bcd-deprecated",
              "y := BCD_TO_" + to + "(WORD#16#42); // " + literal(to, "42")),
          "{native from_bcd}", "IN : ANY_BIT; // decimal digits");
    }
    for (ElementaryType to : wide) {
      for (ElementaryType from : UNSIGNED) {
        function(from + "_TO_BCD_" + to, to.name(),
            doc("Decimal digits written into groups of 4 bits, " + from + " to " + to + ". Deprecated in edition 4.",
                "IN " + from + "; result " + to + " of " + to.bits() / 4 + " digits",
                "more than " + to.bits() / 4 + " digits (fault/bcd)", "T22.4a, S.ed4-bcd-deprecated",
                "y := " + from + "_TO_BCD_" + to + "(" + from + "#42); // " + to + "#16#42"),
            "{native to_bcd}", "IN : " + from + "; // number");
      }
      function("TO_BCD_" + to, to.name(),
          doc("Decimal digits written into groups of 4 bits, to " + to + ". Deprecated in edition 4.",
              "IN USINT, UINT, UDINT or ULINT; result " + to + " of " + to.bits() / 4 + " digits",
              "more than " + to.bits() / 4 + " digits (fault/bcd)", "T22.4b, S.ed4-bcd-deprecated",
              "y := TO_BCD_" + to + "(UINT#42); // " + to + "#16#42"),
          "{native to_bcd}", "IN : ANY_UNSIGNED; // number");
    }
  }

  private void overloadedConversions() {
    file("table22-overloaded.st");
    Map<ElementaryType, String> samples = new LinkedHashMap<>();
    samples.put(ElementaryType.BOOL, "y := TO_BOOL(BYTE#16#01); // TRUE");
    samples.put(ElementaryType.BYTE, "y := TO_BYTE(WORD#16#1234); // BYTE#16#34");
    samples.put(ElementaryType.WORD, "y := TO_WORD(INT#-2); // WORD#16#FFFE");
    samples.put(ElementaryType.DWORD, "y := TO_DWORD(REAL#1.5); // DWORD#16#3FC00000");
    samples.put(ElementaryType.LWORD, "y := TO_LWORD(BYTE#16#12); // LWORD#16#12");
    samples.put(ElementaryType.SINT, "y := TO_SINT(DINT#-128); // SINT#-128");
    samples.put(ElementaryType.INT, "y := TO_INT(REAL#2.5); // INT#2");
    samples.put(ElementaryType.DINT, "y := TO_DINT(LREAL#-3.5); // DINT#-4");
    samples.put(ElementaryType.LINT, "y := TO_LINT(INT#-5); // LINT#-5");
    samples.put(ElementaryType.USINT, "y := TO_USINT(INT#200); // USINT#200");
    samples.put(ElementaryType.UINT, "y := TO_UINT(WORD#16#FFFF); // UINT#65535");
    samples.put(ElementaryType.UDINT, "y := TO_UDINT(INT#7); // UDINT#7");
    samples.put(ElementaryType.ULINT, "y := TO_ULINT(LREAL#4.5); // ULINT#4");
    samples.put(ElementaryType.REAL, "y := TO_REAL(DINT#16777217); // REAL#16777216.0");
    samples.put(ElementaryType.LREAL, "y := TO_LREAL(INT#3); // LREAL#3.0");
    samples.put(ElementaryType.TIME, "y := TO_TIME(LT#1s500ms); // T#1s500ms");
    samples.put(ElementaryType.LTIME, "y := TO_LTIME(T#-250ms); // LT#-250ms");
    samples.put(ElementaryType.DATE, "y := TO_DATE(DT#2024-02-29-23:59:59); // D#2024-02-29");
    samples.put(ElementaryType.LDATE, "y := TO_LDATE(LDT#2024-02-29-23:59:59); // LD#2024-02-29");
    samples.put(ElementaryType.TOD, "y := TO_TOD(DT#1999-12-31-06:07:08); // TOD#06:07:08");
    samples.put(ElementaryType.LTOD, "y := TO_LTOD(TOD#06:07:08.25); // LTOD#06:07:08.25");
    samples.put(ElementaryType.DT, "y := TO_DT(LDT#2024-02-29-12:00:00); // DT#2024-02-29-12:00:00");
    samples.put(ElementaryType.LDT, "y := TO_LDT(DT#2024-02-29-12:00:00); // LDT#2024-02-29-12:00:00");
    for (Map.Entry<ElementaryType, String> e : samples.entrySet()) {
      String to = e.getKey().name();
      boolean time = e.getKey().compareTo(ElementaryType.TIME) >= 0;
      function("TO_" + to, to,
          doc("To " + to + " from any type that a conversion S_TO_" + to + " exists for; the same value as that one. A value of type " + to
          + " stays as it is.",
              "IN of the source types of Tables 23 to 26; result " + to, "those of the typed conversion (fault/conversion)",
              "T22.1b, T21.1b, S.conv-same-type" + (time ? ", S.conv-time-overload" : ""), e.getValue()),
          "{intrinsic CONVERT}", "IN : ANY_ELEMENTARY; // value");
    }
    for (String[] pair : new String[][] {{"TIME_OF_DAY", "TOD", "y := TO_TIME_OF_DAY(DT#1999-12-31-06:07:08); // TOD#06:07:08"},
        {"LTIME_OF_DAY", "LTOD", "y := TO_LTIME_OF_DAY(TOD#06:07:08.25); // LTOD#06:07:08.25"},
        {"DATE_AND_TIME", "DT", "y := TO_DATE_AND_TIME(LDT#2024-02-29-12:00:00); // DT#2024-02-29-12:00:00"},
        {"LDATE_AND_TIME", "LDT", "y := TO_LDATE_AND_TIME(DT#2024-02-29-12:00:00); // LDT#2024-02-29-12:00:00"}}) {
      function("TO_" + pair[0], pair[1],
          doc("TO_" + pair[1] + " in the long spelling of its type.", "IN of the source types of Table 26; result " + pair[1],
              "those of the typed conversion (fault/conversion)", "T22.1b, S.conv-time-overload, S.conv-time-long-names", pair[2]),
          "{intrinsic CONVERT}", "IN : ANY_ELEMENTARY; // value");
    }
    for (String[] t : new String[][] {{"CHAR", "y := TO_CHAR('xyz'); // CHAR#'x'"}, {"WCHAR", "y := TO_WCHAR(CHAR#'x'); // WCHAR#\"x\""},
        {"UCHAR", "y := TO_UCHAR(CHAR#'x'); // UCHAR#'x'"}}) {
      function("TO_" + t[0], t[0],
          doc("To " + t[0] + " from any type that a conversion S_TO_" + t[0] + " exists for; the same value as that one.",
              "IN a character, a string or a bit string; result " + t[0],
              "an empty string (fault/string-position), a character that " + t[0] + " does not have (fault/conversion)", "T22.1b, T21.1b",
              t[1]),
          "{native to_char}", "IN : ANY_ELEMENTARY; // value");
    }
    for (String[] t : new String[][] {{"STRING", "y := TO_STRING(\"ab\"); // 'ab'"}, {"WSTRING", "y := TO_WSTRING('ab'); // \"ab\""},
        {"USTRING", "y := TO_USTRING('ab'); // USTRING#'ab'"}}) {
      function("TO_" + t[0], t[0],
          doc("To " + t[0] + " from a character or another string type; the same value as the typed conversion.",
              "IN any character or string type; result " + t[0],
              "a character that " + t[0] + " does not have (fault/conversion), result too long (fault/string-length)", "T22.1b, T21.1b",
              t[1]),
          "{native to_string}", "IN : ANY_CHARS; // text");
    }
  }

  // ------------------------------------------------------------------------------------------------------- Tables 23 to 27

  private void numericConversions() {
    file("table23-numeric-conversions.st");
    List<ElementaryType> order = List.of(ElementaryType.LREAL, ElementaryType.REAL, ElementaryType.LINT, ElementaryType.DINT,
        ElementaryType.INT,
        ElementaryType.SINT, ElementaryType.ULINT, ElementaryType.UDINT, ElementaryType.UINT, ElementaryType.USINT);
    int row = 0;
    for (ElementaryType from : order) {
      for (ElementaryType to : order) {
        if (from == to) {
          continue;
        }
        row++;
        String name = from + "_TO_" + to;
        String summary;
        String errors;
        String example;
        String more = "";
        if (from.isReal() && to.isReal()) {
          boolean narrow = to == ElementaryType.REAL;
          summary = narrow ? "LREAL to the nearest REAL, ties to even." : "REAL to LREAL, exact.";
          errors = narrow ? "magnitude above the greatest REAL (fault/conversion)" : "";
          example = narrow ? "LREAL#16777217.0); // REAL#16777216.0" : "REAL#0.5); // LREAL#0.5";
        } else if (from.isReal()) {
          summary = from + " to the nearest " + to + ", ties to even (by default; the rounding is an implementer-specific choice).";
          errors = "not a number, infinite, or outside " + range(to) + " after rounding (fault/conversion)";
          example = to.family() == Family.SIGNED ? from + "#-3.5); // " + literal(to, "-4") : from + "#4.5); // " + literal(to, "4");
          more = ", S.conv-round-half-even, S.conv-range-check-after-round, S.conv-nan";
        } else if (to.isReal()) {
          int exact = to == ElementaryType.REAL ? 24 : 53;
          boolean lossless = from.bits() - (from.family() == Family.SIGNED ? 1 : 0) <= exact;
          summary = from + " to " + (lossless ? to + ", exact." : "the nearest " + to + ", exact up to " + BigInteger.TWO.pow(exact) + ".");
          errors = "";
          BigInteger big = BigInteger.TWO.pow(exact).add(BigInteger.ONE);
          example = lossless ? literal(from, greatest(from).toString()) + "); // " + to + "#" + greatest(from) + ".0"
              : literal(from, big.toString()) + "); // " + to + "#" + BigInteger.TWO.pow(exact) + ".0";
        } else {
          boolean fits = least(from).compareTo(least(to)) >= 0 && greatest(from).compareTo(greatest(to)) <= 0;
          summary = from + " to " + to + (fits ? ", exact." : ", for values that " + to + " can hold.");
          errors = fits ? "" : "a value outside " + range(to) + " (fault/conversion)";
          BigInteger sample = from.family() == Family.SIGNED && to.family() == Family.SIGNED ? least(from).max(least(to)) : greatest(from)
              .min(greatest(to));
          example = literal(from, sample.toString()) + "); // " + literal(to, sample.toString());
          more = fits ? "" : ", S.conv-range-error";
        }
        function(name, to.name(), doc(summary, "IN " + from + "; result " + to, errors, "T23." + row + more, "y := " + name + "("
            + example),
            "{intrinsic CONVERT}", "IN : " + from + "; // value");
      }
    }
  }

  private void bitConversions() {
    file("table24-bit-conversions.st");
    List<ElementaryType> order = List.of(ElementaryType.LWORD, ElementaryType.DWORD, ElementaryType.WORD, ElementaryType.BYTE,
        ElementaryType.BOOL);
    int row = 0;
    for (ElementaryType from : order) {
      for (ElementaryType to : order) {
        if (from == to) {
          continue;
        }
        row++;
        moveBits(from, to, "T24." + row);
        if (from == ElementaryType.BYTE && to == ElementaryType.BOOL) {
          row++;
          function("BYTE_TO_CHAR", "CHAR", doc("The 8 bits as the code of a character.", "IN BYTE; result CHAR", "", "T24." + row,
              "y := BYTE_TO_CHAR(BYTE#16#41); // CHAR#'A'"), "{intrinsic CONVERT}", "IN : BYTE; // code");
        }
      }
    }
    for (ElementaryType to : List.of(ElementaryType.BYTE, ElementaryType.WORD, ElementaryType.DWORD, ElementaryType.LWORD)) {
      row++;
      function("CHAR_TO_" + to, to.name(), doc("The 8-bit code of a character, filled with zeros at the left.", "IN CHAR; result " + to, "",
          "T24." + row + ", S.conv-char-code", "y := CHAR_TO_" + to + "(CHAR#'A'); // " + to + "#16#41"), "{intrinsic CONVERT}",
          "IN : CHAR; // character");
    }
    for (ElementaryType to : List.of(ElementaryType.WORD, ElementaryType.DWORD, ElementaryType.LWORD)) {
      row++;
      function("WCHAR_TO_" + to, to.name(), doc("The 16-bit code of a character, filled with zeros at the left.", "IN WCHAR; result " + to,
          "",
          "T24." + row + ", S.conv-char-code", "y := WCHAR_TO_" + to + "(WCHAR#\"A\"); // " + to + "#16#41"), "{intrinsic CONVERT}",
          "IN : WCHAR; // character");
    }
    function("WORD_TO_WCHAR", "WCHAR", doc("The 16 bits as the code of a character.", "IN WORD; result WCHAR", "", "T24.x1",
        "y := WORD_TO_WCHAR(WORD#16#0041); // WCHAR#\"A\""), "{intrinsic CONVERT}", "IN : WORD; // code");
  }

  private void bitAndNumericConversions() {
    file("table25-bit-numeric-conversions.st");
    moveBits(ElementaryType.LWORD, ElementaryType.LREAL, "T25.1");
    moveBits(ElementaryType.DWORD, ElementaryType.REAL, "T25.2");
    int row = 2;
    List<ElementaryType> order = List.of(ElementaryType.LWORD, ElementaryType.DWORD, ElementaryType.WORD, ElementaryType.BYTE,
        ElementaryType.BOOL);
    List<ElementaryType> integers = List.of(ElementaryType.LINT, ElementaryType.DINT, ElementaryType.INT, ElementaryType.SINT,
        ElementaryType.ULINT,
        ElementaryType.UDINT, ElementaryType.UINT, ElementaryType.USINT);
    for (ElementaryType from : order) {
      for (ElementaryType to : integers) {
        moveBits(from, to, "T25." + ++row);
      }
    }
    moveBits(ElementaryType.LREAL, ElementaryType.LWORD, "T25." + ++row);
    moveBits(ElementaryType.REAL, ElementaryType.DWORD, "T25." + ++row);
    for (ElementaryType from : integers) {
      for (ElementaryType to : order.subList(0, 4)) {
        moveBits(from, to, "T25." + ++row);
      }
    }
  }

  /** A conversion that takes over bits: Tables 24 and 25. */
  private void moveBits(ElementaryType from, ElementaryType to, String source) {
    BigInteger bits;
    String argument;
    if (from == ElementaryType.BOOL) {
      bits = BigInteger.ONE;
      argument = "TRUE";
    } else if (from.isBits()) {
      String digits = to.isReal() ? (to == ElementaryType.REAL ? "3FC00000" : "3FF8000000000000")
          : "8123456789ABCDEF".substring(16 - from.bits() / 4);
      bits = new BigInteger(digits, 16);
      argument = from + "#16#" + digits;
    } else if (from.isReal()) {
      bits = new BigInteger(from == ElementaryType.REAL ? "3FC00000" : "3FF8000000000000", 16);
      argument = from + "#1.5";
    } else {
      BigInteger value = from.family() == Family.SIGNED ? BigInteger.TWO.negate() : greatest(from).subtract(BigInteger.ONE);
      bits = value.mod(BigInteger.TWO.pow(from.bits()));
      argument = literal(from, value.toString());
    }
    BigInteger kept = bits.mod(BigInteger.TWO.pow(to.bits()));
    String result;
    if (to.isReal()) {
      result = to + "#1.5";
    } else if (to == ElementaryType.BOOL) {
      result = kept.signum() == 0 ? "FALSE" : "TRUE";
    } else if (to.isBits()) {
      result = to + "#16#" + kept.toString(16).toUpperCase(Locale.ROOT);
    } else {
      result = literal(to, (to.family() == Family.SIGNED && kept.testBit(to.bits() - 1) ? kept.subtract(BigInteger.TWO.pow(to.bits()))
          : kept).toString());
    }
    String summary;
    if (from.bits() == to.bits()) {
      summary = "All bits of the " + from + " taken over unchanged as " + to + ".";
    } else if (from.bits() > to.bits()) {
      summary = (to == ElementaryType.BOOL ? "The rightmost bit of the " : "The rightmost " + to.bits() + " bits of the ") + from + " as "
          + to
          + "; the others are dropped without error.";
    } else {
      summary = from == ElementaryType.BOOL ? "FALSE to 0 and TRUE to 1, as " + to + "."
          : "The " + from.bits() + " bits of the " + from + " as the rightmost bits of the " + to + "; the others are 0.";
    }
    String name = from + "_TO_" + to;
    function(name, to.name(), doc(summary, "IN " + from + "; result " + to, "", source, "y := " + name + "(" + argument + "); // "
        + result),
        "{intrinsic CONVERT}", "IN : " + from + "; // value");
  }

  private void timeConversions() {
    file("table26-time-conversions.st");
    Object[][] rows = {
        {"LTIME", "TIME", "1", "LT#1s500ms", "T#1s500ms", "Same duration; both types have the same range and resolution here."},
        {"TIME", "LTIME", "2", "T#-250ms", "LT#-250ms", "Same duration."},
        {"LDT", "DT", "3", "LDT#2024-02-29-12:00:00", "DT#2024-02-29-12:00:00",
        "Same date and time of day; both types have the same range and resolution here."},
        {"LDT", "DATE", "4", "LDT#2024-02-29-23:59:59", "D#2024-02-29", "The date; the time of day is dropped."},
        {"LDT", "LTOD", "5", "LDT#2024-02-29-23:59:59.000000001", "LTOD#23:59:59.000000001", "The time of day; the date is dropped."},
        {"LDT", "TOD", "6", "LDT#2024-02-29-12:34:56", "TOD#12:34:56", "The time of day; the date is dropped."},
        {"DT", "LDT", "7", "DT#2024-02-29-12:00:00", "LDT#2024-02-29-12:00:00", "Same date and time of day."},
        {"DT", "DATE", "8", "DT#1999-12-31-23:59:59", "D#1999-12-31", "The date; the time of day is dropped."},
        {"DT", "LTOD", "9", "DT#1999-12-31-06:07:08", "LTOD#06:07:08", "The time of day; the date is dropped."},
        {"DT", "TOD", "10", "DT#1999-12-31-06:07:08", "TOD#06:07:08", "The time of day; the date is dropped."},
        {"LTOD", "TOD", "11", "LTOD#06:07:08.25", "TOD#06:07:08.25", "Same time of day; both types have the same resolution here."},
        {"TOD", "LTOD", "12", "TOD#06:07:08.25", "LTOD#06:07:08.25", "Same time of day."},
        {"LDT", "LDATE", "x1", "LDT#2024-02-29-23:59:59", "LD#2024-02-29", "The date; the time of day is dropped."},
        {"DT", "LDATE", "x2", "DT#2024-02-29-23:59:59", "LD#2024-02-29", "The date; the time of day is dropped."},
        {"LDATE", "DATE", "x3", "LD#2024-02-29", "D#2024-02-29", "Same date; both types have the same range here."},
        {"DATE", "LDATE", "x4", "D#2024-02-29", "LD#2024-02-29", "Same date."},
    };
    Map<String, String> longNames = Map.of("DT", "DATE_AND_TIME", "LDT", "LDATE_AND_TIME", "TOD", "TIME_OF_DAY", "LTOD", "LTIME_OF_DAY");
    for (Object[] r : rows) {
      String from = (String) r[0];
      String to = (String) r[1];
      for (String source : spellings(from, longNames)) {
        for (String target : spellings(to, longNames)) {
          String name = source + "_TO_" + target;
          boolean plain = source.equals(from) && target.equals(to);
          function(name, to, doc((String) r[5] + (plain ? "" : " Long spelling of " + from + "_TO_" + to + "."), "IN " + from + "; result "
              + to, "",
              "T26." + r[2] + (plain ? "" : ", S.conv-time-long-names"), "y := " + name + "(" + r[3] + "); // " + r[4]),
              "{intrinsic CONVERT}",
              "IN : " + from + "; // value");
        }
      }
    }
  }

  private static List<String> spellings(String type, Map<String, String> longNames) {
    return longNames.containsKey(type) ? List.of(type, longNames.get(type)) : List.of(type);
  }

  private void characterConversions() {
    file("table27-character-conversions.st");
    String tooLong = "result longer than it can be (fault/string-length)";
    text("WSTRING", "STRING", "T27.1", "\"ab\"", "'ab'", "a code above 255 (fault/conversion), " + tooLong);
    first("WSTRING", "WCHAR", "T27.2", "\"xyz\"", "WCHAR#\"x\"");
    text("STRING", "WSTRING", "T27.3", "'ab'", "\"ab\"", tooLong);
    first("STRING", "CHAR", "T27.4", "'xyz'", "CHAR#'x'");
    text("WCHAR", "WSTRING", "T27.5", "WCHAR#\"x\"", "\"x\"", "");
    code("WCHAR", "CHAR", "T27.6", "WCHAR#\"x\"", "CHAR#'x'", "a code above 255 (fault/conversion)");
    text("CHAR", "STRING", "T27.7", "CHAR#'x'", "'x'", "");
    code("CHAR", "WCHAR", "T27.8", "CHAR#'x'", "WCHAR#\"x\"", "");
    text("STRING", "USTRING", "T27.e4a", "'ab'", "USTRING#'ab'", tooLong);
    text("WSTRING", "USTRING", "T27.e4b", "\"grün\"", "USTRING#'grün'", "half of a surrogate pair by itself (fault/conversion), "
        + tooLong);
    text("USTRING", "STRING", "T27.e4c", "USTRING#'ab'", "'ab'", "a code above 255 (fault/conversion), " + tooLong);
    text("USTRING", "WSTRING", "T27.e4d", "USTRING#'ab'", "\"ab\"", tooLong);
    first("USTRING", "UCHAR", "T27.e4e", "USTRING#'xyz'", "UCHAR#'x'");
    text("UCHAR", "USTRING", "T27.e4f", "UCHAR#'x'", "USTRING#'x'", "");
    code("CHAR", "UCHAR", "T27.e4g", "CHAR#'x'", "UCHAR#'x'", "");
    code("WCHAR", "UCHAR", "T27.e4g", "WCHAR#\"x\"", "UCHAR#'x'", "half of a surrogate pair (fault/conversion)");
    code("UCHAR", "CHAR", "T27.e4h", "UCHAR#'x'", "CHAR#'x'", "a code above 255 (fault/conversion)");
    code("UCHAR", "WCHAR", "T27.e4h", "UCHAR#'x'", "WCHAR#\"x\"", "a code above 65535 (fault/conversion)");
  }

  private void text(String from, String to, String source, String argument, String result, String errors) {
    String name = from + "_TO_" + to;
    String how = !from.endsWith("STRING") ? "A string of that one character."
        : from.equals("WSTRING") && to.equals("USTRING")
        ? "Character by character; a surrogate pair of 16-bit characters becomes one character."
            : from.equals("USTRING") && to.equals("WSTRING") ? "Character by character; one beyond 16 bits becomes a surrogate pair of two."
                : "Character by character by code (the first 256 codes of ISO/IEC 10646 are those of CHAR); the length stays.";
    function(name, to, doc(how, "IN " + from + "; result " + to, errors, source, "y := " + name + "(" + argument + "); // " + result),
        "{native to_string}", "IN : " + from + "; // text");
  }

  private void first(String from, String to, String source, String argument, String result) {
    String name = from + "_TO_" + to;
    function(name, to, doc("The first character.", "IN " + from + "; result " + to, "empty string (fault/string-position)", source,
        "y := " + name + "(" + argument + "); // " + result), "{native to_char}", "IN : " + from + "; // text");
  }

  private void code(String from, String to, String source, String argument, String result, String errors) {
    String name = from + "_TO_" + to;
    function(name, to, doc("The character with the same code (the first 256 codes of ISO/IEC 10646 are those of CHAR).", "IN " + from
        + "; result " + to,
        errors, source, "y := " + name + "(" + argument + "); // " + result), "{native to_char}", "IN : " + from + "; // character");
  }

  // ------------------------------------------------------------------------------------------------------- Tables 28 to 33

  private void numerical() {
    file("table28-numerical.st");
    typed("ABS", "ANY_NUM", NUMBERS, "28.1", "Magnitude of a number.",
        "the lowest value of a signed type has no counterpart: by choice it stays or is a fault (fault/overflow)",
        "{intrinsic ABS}", "IN", t -> t.family() == Family.UNSIGNED ? literal(t, "3") : literal(t, t.isReal() ? "-3.0" : "-3"),
        t -> literal(t, t.isReal() ? "3.0" : "3"));
    real("SQRT", "28.2", "Square root.", "a negative value (fault/domain)", "{intrinsic SQRT}", "2.25", "1.5");
    real("LN", "28.3", "Natural logarithm.", "zero or a negative value (fault/domain)", "{native ln}", "1.0", "0.0");
    real("LOG", "28.4", "Logarithm to base 10.", "zero or a negative value (fault/domain)", "{native log}", "1000.0", "3.0");
    real("EXP", "28.5", "e raised to the value.", "a finite value with a result above the greatest number (fault/overflow)", "{native exp}",
        "0.0", "1.0");
    real("SIN", "28.6", "Sine of an angle in radians.", "an infinite value (fault/domain)", "{native sin}", "0.0", "0.0");
    real("COS", "28.7", "Cosine of an angle in radians.", "an infinite value (fault/domain)", "{native cos}", "0.0", "1.0");
    real("TAN", "28.8", "Tangent of an angle in radians.", "an infinite value (fault/domain)", "{native tan}", "0.0", "0.0");
    real("ASIN", "28.9", "Arc sine in radians, from -pi/2 to pi/2.", "a value below -1 or above 1 (fault/domain)", "{native asin}", "0.0",
        "0.0");
    real("ACOS", "28.10", "Arc cosine in radians, from 0 to pi.", "a value below -1 or above 1 (fault/domain)", "{native acos}", "1.0",
        "0.0");
    real("ATAN", "28.11", "Arc tangent in radians, from -pi/2 to pi/2.", "", "{native atan}", "0.0", "0.0");
    for (String t : List.of("ANY_REAL", "REAL", "LREAL")) {
      String name = t.equals("ANY_REAL") ? "ATAN2" : "ATAN2_" + t;
      String p = t.equals("REAL") ? "REAL" : "LREAL";
      String pi = p.equals("REAL") ? "REAL#3.1415927" : "LREAL#3.141592653589793";
      function(name, t, doc("Angle in radians from the positive x axis to the point (X, Y), above -pi up to pi, positive for Y above 0.",
          "Y and X " + (t.equals("ANY_REAL") ? "REAL or LREAL, both one type; result of that type" : t + "; result " + t), "", "T28.12"
              + (t.equals("ANY_REAL") ? "" : ", T29.1c"), "y := " + name + "(Y := " + p + "#0.0, X := " + p + "#-1.0); // " + pi),
          "{native atan2}", "Y : " + t + "; // ordinate", "X : " + t + "; // abscissa");
    }
  }

  private void real(String name, String table, String summary, String errors, String body, String argument, String result) {
    typed(name, "ANY_REAL", REALS, table, summary + " Not a number gives not a number.", errors, body, "IN", t -> t + "#" + argument, t -> t
        + "#" + result);
  }

  private interface Sample {
    String of(ElementaryType type);
  }

  /** A function of one input and its typed forms. */
  private void typed(String name, String generic, List<ElementaryType> types, String table, String summary, String errors, String body,
      String input,
      Sample argument, Sample result) {
    ElementaryType shown = types.contains(ElementaryType.INT) ? ElementaryType.INT : types.get(types.size() - 1);
    function(name, generic, doc(summary, input + " " + generic + "; result of the same type", errors, "T" + table,
        "y := " + name + "(" + argument.of(shown) + "); // " + result.of(shown)), body, input + " : " + generic + "; // value");
    for (ElementaryType t : types) {
      function(name + "_" + t, t.name(), doc(summary + " " + name + " for " + t + " only.", input + " " + t + "; result " + t, errors, "T"
          + table + ", T29.1c, T21.2a",
          "y := " + name + "_" + t + "(" + argument.of(t) + "); // " + result.of(t)), body, input + " : " + t + "; // value");
    }
  }

  private void arithmetic() {
    file("table29-arithmetic.st");
    String overflow = "result outside the range of its type: by choice it wraps or is a fault (fault/overflow); reals follow IEEE 754";
    arithmetic("ADD", "ANY_MAGNITUDE", NUMBERS, "T29.1b, T35.1a, T35.2a, T35.3a",
        "Sum of two or more values, added in order. Also of two durations, and of a time of day or date and time and a duration.",
        overflow, "{intrinsic ADD extensible}", "9", "4", "13", "first value", "second value");
    arithmetic("MUL", "ANY_MAGNITUDE", NUMBERS, "T29.2b, T35.10a",
        "Product of two or more values, multiplied in order. Also of a duration and a number.",
        overflow, "{intrinsic MUL extensible}", "9", "4", "36", "first value", "second value");
    arithmetic("SUB", "ANY_MAGNITUDE", NUMBERS, "T29.3b, T35.4a, T35.5a, T35.6a, T35.7a, T35.8a, T35.9a",
        "First value minus the second. Also of two durations, dates, times of day or dates with time, and of one of the latter two and "
            + "a duration.", overflow,
        "{intrinsic SUB}", "9", "4", "5", "value", "what is taken away");
    arithmetic("DIV", "ANY_MAGNITUDE", NUMBERS, "T29.4b, T35.11a",
        "First value by the second; the quotient of integers is cut toward zero. Also of a duration by a number.",
        "integer divisor 0 (fault/division-by-zero, or result 0 by choice); " + overflow, "{intrinsic DIV}", "9", "4", null, "dividend",
        "divisor");
    arithmetic("MOD", "ANY_INT", INTEGERS, "T29.5b, S.mod-zero", "Remainder of the division of integers, with the sign of the dividend.",
        "divisor 0 (fault/division-by-zero, or result 0 by choice)", "{intrinsic MOD}", "9", "4", "1", "dividend", "divisor");
    for (String t : List.of("ANY_REAL", "REAL", "LREAL")) {
      String name = t.equals("ANY_REAL") ? "EXPT" : "EXPT_" + t;
      String p = t.equals("REAL") ? "REAL" : "LREAL";
      function(name, t, doc("IN1 raised to IN2.", "IN1 " + (t.equals("ANY_REAL") ? "REAL or LREAL" : t)
          + ", IN2 any number; result of the type of IN1",
          "negative base with a fractional exponent, base 0 with a negative exponent (fault/domain)", "T29.6b" + (t.equals("ANY_REAL") ? ""
          : ", T29.1c, T21.2a"),
          "y := " + name + "(IN1 := " + p + "#2.0, IN2 := -1); // " + p + "#0.5"), "{intrinsic EXPT}", "IN1 : " + t + "; // base",
          "IN2 : ANY_NUM; // exponent");
    }
  }

  private void arithmetic(String name, String generic, List<ElementaryType> types, String source, String summary, String errors,
      String body, String a,
      String b, String result, String first, String second) {
    function(name, generic, doc(summary, "IN1 and IN2 " + generic + " of one type after implicit conversion; result of that type", errors,
        source,
        "y := " + name + "(IN1 := INT#" + a + ", IN2 := INT#" + b + "); // INT#" + (result == null ? "2" : result)), body, "IN1 : "
        + generic + "; // " + first,
        "IN2 : " + generic + "; // " + second);
    for (ElementaryType t : types) {
      String dot = t.isReal() ? ".0" : "";
      String value = result == null ? (t.isReal() ? "2.25" : "2") : result + dot;
      function(name + "_" + t, t.name(), doc(name + " for " + t + " only.", "IN1 and IN2 " + t + "; result " + t, errors, "T29.1c, T21.2a, "
          + source.substring(0, 6),
          "y := " + name + "_" + t + "(IN1 := " + literal(t, a + dot) + ", IN2 := " + literal(t, b + dot) + "); // " + literal(t, value)),
          body,
          "IN1 : " + t + "; // " + first, "IN2 : " + t + "; // " + second);
    }
  }

  private void shifts() {
    file("table30-shifts.st");
    String errors = "N below 0 (fault/shift-count)";
    shift("SHL", "1", "IN moved left by N bits; zeros enter at the right, bits that leave at the left are lost; 0 when N reaches the "
        + "width.", errors);
    shift("SHR", "2", "IN moved right by N bits; zeros enter at the left, bits that leave at the right are lost; 0 when N reaches the "
        + "width.", errors);
    shift("ROL", "3", "IN rotated left by N bits: what leaves at the left enters at the right. N counts modulo the width.", errors);
    shift("ROR", "4", "IN rotated right by N bits: what leaves at the right enters at the left. N counts modulo the width.", errors);
  }

  private void shift(String name, String row, String summary, String errors) {
    String source = "T30." + row + ", S.shift-negative, S.shift-types";
    function(name, "ANY_BIT", doc(summary, "IN any bit string (BOOL is one of 1 bit), N any integer type; result of the type of IN", errors,
        source,
        "y := " + name + "(IN := WORD#16#8001, N := 1); // " + shifted(name, ElementaryType.WORD)), "{intrinsic " + name + "}",
        "IN : ANY_BIT; // bits",
        "N : ANY_INT; // how many places");
    for (ElementaryType t : BITS) {
      String in = t == ElementaryType.BOOL ? "TRUE" : t + "#16#8" + "0".repeat(t.bits() / 4 - 2) + "1";
      function(name + "_" + t, t.name(), doc(name + " for " + t + " only.", "IN " + t + ", N any integer type; result " + t, errors, source
          + ", T29.1c, T21.2a" + (t == ElementaryType.BOOL ? ", S.shift-bool" : ""), "y := " + name + "_" + t + "(IN := " + in
          + ", N := 1); // " + shifted(name, t)),
          "{intrinsic " + name + "}", "IN : " + t + "; // bits", "N : ANY_INT; // how many places");
    }
  }

  private static String shifted(String name, ElementaryType t) {
    if (t == ElementaryType.BOOL) {
      return name.startsWith("RO") ? "TRUE" : "FALSE";
    }
    String zeros = "0".repeat(t.bits() / 4 - 1);
    return t + "#16#" + switch (name) {
      case "SHL" -> "2";
      case "SHR" -> "4" + zeros;
      case "ROL" -> "3";
      case "ROR" -> "C" + zeros;
      default -> throw new IllegalArgumentException(name);
    };
  }

  private void bitwise() {
    file("table31-bitwise.st");
    bitwise("AND", "1", "Bit by bit AND of two or more bit strings.", 0xC, 0xA, 0x8);
    bitwise("OR", "2", "Bit by bit OR of two or more bit strings.", 0xC, 0xA, 0xE);
    bitwise("XOR", "3", "Bit by bit exclusive OR of two or more bit strings: a bit is 1 when an odd number of inputs have it set.", 0xC,
        0xA, 0x6);
    function("NOT", "ANY_BIT", doc("Every bit inverted.", "IN any bit string; result of the same type", "", "T31.4",
        "y := NOT(BYTE#16#0F); // BYTE#16#F0"),
        "{intrinsic NOT}", "IN : ANY_BIT; // bits");
    for (ElementaryType t : BITS) {
      boolean bool = t == ElementaryType.BOOL;
      function("NOT_" + t, t.name(), doc("NOT for " + t + " only.", "IN " + t + "; result " + t, "", "T31.4, T29.1c, T21.2a",
          "y := NOT_" + t + "(" + (bool ? "TRUE); // FALSE" : t + "#16#0F); // " + t + "#16#" + "F".repeat(t.bits() / 4 - 1) + "0")),
          "{intrinsic NOT}",
          "IN : " + t + "; // bits");
    }
  }

  private void bitwise(String name, String row, String summary, int a, int b, int result) {
    String body = "{intrinsic " + name + " extensible}";
    function(name, "ANY_BIT", doc(summary, "all inputs one bit string type (BOOL included); result of that type", "", "T31." + row,
        "y := " + name + "(BYTE#16#C, BYTE#16#A); // BYTE#16#" + Integer.toHexString(result).toUpperCase(Locale.ROOT)), body,
        "IN1 : ANY_BIT; // first value",
        "IN2 : ANY_BIT; // second value");
    for (ElementaryType t : BITS) {
      String example = t == ElementaryType.BOOL ? "TRUE, FALSE); // " + (name.equals("AND") ? "FALSE" : "TRUE")
          : t + "#16#C, " + t + "#16#A); // " + t + "#16#" + Integer.toHexString(result).toUpperCase(Locale.ROOT);
      function(name + "_" + t, t.name(), doc(name + " for " + t + " only.", "all inputs " + t + "; result " + t, "", "T31." + row
          + ", T29.1c, T21.2a",
          "y := " + name + "_" + t + "(" + example), body, "IN1 : " + t + "; // first value", "IN2 : " + t + "; // second value");
    }
  }

  private void typedSelection() {
    file("table32-typed.st");
    for (ElementaryType t : ALL) {
      String a = sample(t, 1);
      String b = sample(t, 2);
      String c = sample(t, 3);
      String source = ", T29.1c, T21.2a";
      function("MOVE_" + t, t.name(), doc("MOVE for " + t + " only.", "IN " + t + "; result " + t, "", "T32.1" + source, "y := MOVE_" + t
          + "(" + b + "); // " + b),
          "{intrinsic MOVE}", "IN : " + t + "; // value");
      function("SEL_" + t, t.name(), doc("SEL for " + t + " only.", "G BOOL, IN0 and IN1 " + t + "; result " + t, "", "T32.2" + source,
          "y := SEL_" + t + "(G := TRUE, IN0 := " + a + ", IN1 := " + b + "); // " + b), "{intrinsic SEL}", "G : BOOL; // which one",
          "IN0 : " + t + "; // for FALSE",
          "IN1 : " + t + "; // for TRUE");
      function("MAX_" + t, t.name(), doc("MAX for " + t + " only.", "all inputs " + t + "; result " + t, "", "T32.3" + source,
          "y := MAX_" + t + "(" + a + ", " + c + ", " + b + "); // " + c), "{intrinsic MAX extensible}", "IN1 : " + t + "; // first value",
          "IN2 : " + t + "; // second value");
      function("MIN_" + t, t.name(), doc("MIN for " + t + " only.", "all inputs " + t + "; result " + t, "", "T32.4" + source,
          "y := MIN_" + t + "(" + b + ", " + a + ", " + c + "); // " + a), "{intrinsic MIN extensible}", "IN1 : " + t + "; // first value",
          "IN2 : " + t + "; // second value");
      function("LIMIT_" + t, t.name(), doc("LIMIT for " + t + " only.", "all inputs " + t + "; result " + t, "", "T32.5" + source,
          "y := LIMIT_" + t + "(MN := " + a + ", IN := " + c + ", MX := " + b + "); // " + b), "{intrinsic LIMIT}", "MN : " + t
          + "; // lower limit",
          "IN : " + t + "; // value", "MX : " + t + "; // upper limit");
      function("MUX_" + t, t.name(), doc("MUX for " + t + " only.", "K any integer type, the others " + t + "; result " + t,
          "K below 0 or above the number of the last input (fault/mux-selector)", "T32.6" + source,
          "y := MUX_" + t + "(K := 1, IN0 := " + a + ", IN1 := " + b + "); // " + b), "{intrinsic MUX extensible}",
          "K : ANY_INT; // which one",
          "IN0 : " + t + "; // number 0", "IN1 : " + t + "; // number 1");
    }
  }

  private void comparison() {
    file("table33-comparison.st");
    String order = " Numbers compare by value, bit strings as unsigned, durations by length, dates by chronology, strings by character "
        + "codes.";
    compare("GT", "1", "greater than", "decreasing", true, 2, 1, order);
    compare("GE", "2", "greater than or equal to", "non-increasing", true, 2, 1, order);
    compare("EQ", "3", "equal to", "equal", true, 1, 1, "");
    compare("LE", "4", "less than or equal to", "non-decreasing", true, 1, 2, order);
    compare("LT", "5", "less than", "increasing", true, 1, 2, order);
    compare("NE", "6", "different from", "", false, 1, 2, "");
  }

  private void compare(String name, String row, String words, String sequence, boolean extensible, int first, int second, String order) {
    String summary = "TRUE when IN1 is " + words + " IN2" + (extensible ? "; with more inputs, when they are a sequence that is " + sequence
        : "") + "." + order;
    String source = "T33." + row + (name.equals("EQ") ? ", T38.3" : name.equals("NE") ? ", T38.4" : "")
        + ", S.cmp-bitstring, S.cmp-bool, S.cmp-string, S.cmp-time";
    String body = "{intrinsic " + name + (extensible ? " extensible}" : "}");
    function(name, "BOOL", doc(summary, "inputs one elementary type" + (row.equals("3") || row.equals("6") ? " or enumeration" : "")
        + "; result BOOL", "", source,
        "y := " + name + "(" + sample(ElementaryType.INT, first) + ", " + sample(ElementaryType.INT, second) + "); // TRUE"), body,
        "IN1 : ANY_ELEMENTARY; // first value", "IN2 : ANY_ELEMENTARY; // second value");
    for (ElementaryType t : ALL) {
      function(name + "_" + t, "BOOL", doc(name + " for " + t + " only.", "inputs " + t + "; result BOOL", "", "T33." + row
          + ", T29.1c, T21.2a",
          "y := " + name + "_" + t + "(" + sample(t, first) + ", " + sample(t, second) + "); // TRUE"), body, "IN1 : " + t
          + "; // first value",
          "IN2 : " + t + "; // second value");
    }
  }

  // ---------------------------------------------------------------------------------------------------------------- Table 35

  private void timeArithmetic() {
    file("table35-time-arithmetic.st");
    String[][] rows = {
        {"ADD_TIME", "1b", "TIME", "TIME", "TIME", "T#1s, T#-3s); // T#-2s", "Sum of two durations."},
        {"ADD_LTIME", "1c", "LTIME", "LTIME", "LTIME", "LT#1us, LT#1ns); // LT#1us1ns", "Sum of two durations."},
        {"ADD_TOD_TIME", "2b", "TOD", "TIME", "TOD", "TOD#08:00:00, T#1s); // TOD#08:00:01", "A time of day, later by a duration."},
        {"ADD_LTOD_LTIME", "2c", "LTOD", "LTIME", "LTOD", "LTOD#08:00:00, LT#1ns); // LTOD#08:00:00.000000001",
        "A time of day, later by a duration."},
        {"ADD_DT_TIME", "3b", "DT", "TIME", "DT", "DT#2024-02-28-12:00:00, T#1d); // DT#2024-02-29-12:00:00",
        "A date and time, later by a duration."},
        {"ADD_LDT_LTIME", "3c", "LDT", "LTIME", "LDT", "LDT#2024-01-01-00:00:00, LT#1ns); // LDT#2024-01-01-00:00:00.000000001",
            "A date and time, later by a duration."},
        {"SUB_TIME", "4b", "TIME", "TIME", "TIME", "T#5s, T#2s); // T#3s", "Difference of two durations."},
        {"SUB_LTIME", "4c", "LTIME", "LTIME", "LTIME", "LT#5ns, LT#7ns); // LT#-2ns", "Difference of two durations."},
        {"SUB_DATE_DATE", "5b", "DATE", "DATE", "TIME", "D#2024-01-01, D#2024-01-02); // T#-1d",
        "Duration from the second date to the first."},
        {"SUB_LDATE_LDATE", "5c", "LDATE", "LDATE", "LTIME", "LD#2024-01-02, LD#2024-01-01); // LT#1d",
        "Duration from the second date to the first."},
        {"SUB_TOD_TIME", "6b", "TOD", "TIME", "TOD", "TOD#08:00:00, T#1s); // TOD#07:59:59", "A time of day, earlier by a duration."},
        {"SUB_LTOD_LTIME", "6c", "LTOD", "LTIME", "LTOD", "LTOD#08:00:00, LT#1ns); // LTOD#07:59:59.999999999",
        "A time of day, earlier by a duration."},
        {"SUB_TOD_TOD", "7b", "TOD", "TOD", "TIME", "TOD#09:30:00, TOD#08:00:00); // T#1h30m",
        "Duration from the second time of day to the first."},
        {"SUB_LTOD_LTOD", "7c", "LTOD", "LTOD", "LTIME", "LTOD#08:00:00, LTOD#07:59:59.999999999); // LT#1ns",
            "Duration from the second time of day to the first."},
        {"SUB_DT_TIME", "8b", "DT", "TIME", "DT", "DT#2024-01-01-00:00:00, T#1d); // DT#2023-12-31-00:00:00",
        "A date and time, earlier by a duration."},
        {"SUB_LDT_LTIME", "8c", "LDT", "LTIME", "LDT", "LDT#2024-01-01-00:00:00, LT#1d); // LDT#2023-12-31-00:00:00",
        "A date and time, earlier by a duration."},
        {"SUB_DT_DT", "9b", "DT", "DT", "TIME", "DT#2024-01-01-00:00:01, DT#2024-01-01-00:00:00); // T#1s",
        "Duration from the second date and time to the first."},
        {"SUB_LDT_LDT", "9c", "LDT", "LDT", "LTIME", "LDT#2024-01-01-00:00:01, LDT#2024-01-01-00:00:00); // LT#1s",
            "Duration from the second date and time to the first."},
        {"MUL_TIME", "10b", "TIME", "ANY_NUM", "TIME", "T#2s, 3); // T#6s", "A duration times a number."},
        {"MUL_LTIME", "10c", "LTIME", "ANY_NUM", "LTIME", "LT#2ns, 3); // LT#6ns", "A duration times a number."},
        {"DIV_TIME", "11b", "TIME", "ANY_NUM", "TIME", "T#6s, 4); // T#1s500ms", "A duration by a number."},
        {"DIV_LTIME", "11c", "LTIME", "ANY_NUM", "LTIME", "LT#6ns, 2); // LT#3ns", "A duration by a number."},
        {"MULTIME", "x1", "TIME", "ANY_NUM", "TIME", "T#2s, 3); // T#6s", "MUL_TIME in the spelling of edition 2."},
        {"DIVTIME", "x2", "TIME", "ANY_NUM", "TIME", "T#6s, 2); // T#3s", "DIV_TIME in the spelling of edition 2."},
    };
    for (String[] r : rows) {
      String operation = r[0].substring(0, 3);
      String operator = operation.equals("ADD") ? "+" : "-";
      boolean day = r[4].endsWith("TOD");
      String errors = (operation.equals("DIV") ? "IN2 is 0 (fault/division-by-zero); " : "")
          + (day ? "none for a result outside the day: it wraps around midnight"
          : "result outside the range of its type: by choice it wraps or is a fault (fault/overflow)");
      // A body for each number type would need a body per type: scaling is the core's operation.
      String body = r[3].equals("ANY_NUM") ? "{intrinsic " + operation + "}" : "  " + r[0] + " := IN1 " + operator + " IN2;";
      function(r[0], r[4], doc(r[6], "IN1 " + r[2] + ", IN2 " + (r[3].equals("ANY_NUM") ? "any number" : r[3]) + "; result " + r[4], errors,
          "T35." + r[1]
          + (day ? "" : ", S.time-overflow"), "y := " + r[0] + "(" + r[5]), body, "IN1 : " + r[2] + "; // first value", "IN2 : " + r[3]
          + "; // second value");
    }
  }

  // ------------------------------------------------------------------------------------------------------ Tables 45 and 46

  private void counters() {
    file("table45-counters.st");
    String[] names = {"", "INT", "DINT", "LINT", "UDINT", "ULINT"};
    for (String suffix : names) {
      ElementaryType t = suffix.isEmpty() ? ElementaryType.INT : ElementaryType.valueOf(suffix);
      counter("CTU", suffix, t, "1", "Up counter: a rising edge of CU adds 1 to CV, R makes CV 0 and wins; Q := CV >= PV.",
          "An edge seen together with R is lost. CU TRUE in the first call counts. CV goes on counting past PV and stops at " + greatest(t)
          + ".",
          "fb(CU := TRUE, R := FALSE, PV := 1); // fb.Q AND fb.CV = 1",
          List.of("CU : BOOL R_EDGE; // counts at its rising edge", "R : BOOL; // makes CV 0", "PV : " + t
          + "; // value at which Q becomes TRUE"),
          List.of("Q : BOOL; // CV >= PV", "CV : " + t + "; // count"),
          List.of("IF R THEN", "  CV := 0;", "ELSIF CU AND CV < " + greatest(t) + " THEN", "  CV := CV + 1;", "END_IF;", "Q := CV >= PV;"));
    }
    for (String suffix : names) {
      ElementaryType t = suffix.isEmpty() ? ElementaryType.INT : ElementaryType.valueOf(suffix);
      counter("CTD", suffix, t, "2", "Down counter: a rising edge of CD takes 1 from CV, LD makes CV equal to PV and wins; Q := CV <= 0.",
          "An edge seen together with LD is lost. CD TRUE in the first call counts. CV "
              + (t.family() == Family.SIGNED ? "goes on below 0 and stops at " + least(t) + "." : "stops at 0."),
          "fb(CD := FALSE, LD := TRUE, PV := 3); // NOT fb.Q AND fb.CV = 3",
          List.of("CD : BOOL R_EDGE; // counts at its rising edge", "LD : BOOL; // loads PV", "PV : " + t + "; // value that is loaded"),
          List.of("Q : BOOL; // CV <= 0", "CV : " + t + "; // count"),
          List.of("IF LD THEN", "  CV := PV;", "ELSIF CD AND CV > " + least(t) + " THEN", "  CV := CV - 1;", "END_IF;", "Q := CV <= 0;"));
    }
    for (String suffix : names) {
      ElementaryType t = suffix.isEmpty() ? ElementaryType.INT : ElementaryType.valueOf(suffix);
      counter("CTUD", suffix, t, "3",
          "Up-down counter: a rising edge of CU adds 1 to CV, one of CD takes 1, both in one call change nothing; R makes CV 0, else LD "
              + "makes it PV.",
          "Edges seen together with R or LD are lost. CV stays within " + range(t) + ". QU := CV >= PV; QD := CV <= 0.",
          "fb(CU := TRUE, CD := FALSE, R := FALSE, LD := FALSE, PV := 1); // fb.QU AND NOT fb.QD AND fb.CV = 1",
          List.of("CU : BOOL R_EDGE; // counts up at its rising edge", "CD : BOOL R_EDGE; // counts down at its rising edge",
          "R : BOOL; // makes CV 0",
              "LD : BOOL; // loads PV", "PV : " + t + "; // value that is loaded, and at which QU becomes TRUE"),
          List.of("QU : BOOL; // CV >= PV", "QD : BOOL; // CV <= 0", "CV : " + t + "; // count"),
          List.of("IF R THEN", "  CV := 0;", "ELSIF LD THEN", "  CV := PV;", "ELSIF NOT (CU AND CD) THEN", "  IF CU AND CV < " + greatest(t)
          + " THEN", "    CV := CV + 1;",
              "  ELSIF CD AND CV > " + least(t) + " THEN", "    CV := CV - 1;", "  END_IF;", "END_IF;", "QU := CV >= PV;",
              "QD := CV <= 0;"));
    }
  }

  private void counter(String kind, String suffix, ElementaryType t, String row, String summary, String detail, String example,
      List<String> inputs,
      List<String> outputs, List<String> body) {
    // Edition 3 lists INT as the plain form; the letters follow the order of the types.
    String letter = switch (t) {
      case INT -> "a";
      case DINT -> "b";
      case LINT -> "c";
      case UDINT -> "d";
      case ULINT -> "e";
      default -> throw new IllegalArgumentException(t.name());
    };
    String name = suffix.isEmpty() ? kind : kind + "_" + suffix;
    block(name, List.of(summary, detail, "Types: PV and CV " + t + ", the other pins BOOL.", "Errors: none; ENO follows EN.",
        "Source: T45." + row + letter + ", S.ctr-both-edges, S.ctr-edge-first, S.ctr-limits, S.ctr-priority, S.ctr-reset-q", "Example: "
        + example), inputs, outputs,
        List.of(), List.of(), body);
  }

  private void timers() {
    file("table46-timers.st");
    String[][] variants = {{"", "TIME", "a"}, {"_TIME", "TIME", "b"}, {"_LTIME", "LTIME", "c"}};
    String zero = "S.timer-pt-negative, S.timer-pt-zero, S.timer-pt-change-running, S.timer-et-clamp, S.timer-expiry-inclusive";
    for (String[] v : variants) {
      boolean longTime = v[1].equals("LTIME");
      String prefix = longTime ? "LT#" : "T#";
      String now = longTime ? "TASK_TIME()" : "LTIME_TO_TIME(TASK_TIME())";
      List<String> outputs = List.of("Q : BOOL; // output", "ET : " + v[1] + "; // elapsed time, never above PT");
      List<String> temporaries = List.of("limit : " + v[1] + "; // PT, a negative one as zero", "elapsed : " + v[1] + ";");
      String types = "Types: IN and Q BOOL, PT and ET " + v[1] + ".";
      block("TP" + v[0],
          List.of("Pulse: a rising edge of IN makes Q TRUE for the time PT, whatever IN does meanwhile.",
              "ET runs from 0 to PT during the pulse, stays at PT while IN is still TRUE, and is 0 once the pulse is over and IN is FALSE.",
              "Edges during the pulse are ignored, the one of the call that ends it included. A new PT applies at once, also to a "
                  + "running pulse; a negative one counts as zero, and PT zero gives no pulse.",
              "The clock is TASK_TIME; outputs change at calls only. IN TRUE in the first call is an edge.", types,
              "Errors: none; ENO follows EN.",
              "Source: T46.1" + v[2] + ", S.tp-et-reset, S.tp-not-retriggerable, S.tp-rise-in-pulse-held, " + zero,
              "Example: fb(IN := TRUE, PT := " + prefix + "2s); // fb.Q AND fb.ET = " + prefix + "0s"),
          List.of("IN : BOOL; // starts the pulse at its rising edge", "PT : " + v[1] + "; // length of the pulse"), outputs,
          List.of("before : BOOL; // IN of the previous call", "start : " + v[1] + "; // clock at the edge"), temporaries,
          List.of("limit := PT;", "IF limit < " + prefix + "0s THEN", "  limit := " + prefix + "0s;", "END_IF;", "IF Q THEN",
          "  elapsed := " + now + " - start;",
              "  IF elapsed < limit THEN", "    ET := elapsed;", "  ELSE", "    Q := FALSE;", "    IF IN THEN", "      ET := limit;",
              "    ELSE", "      ET := " + prefix + "0s;",
              "    END_IF;", "  END_IF;", "ELSIF NOT IN THEN", "  ET := " + prefix + "0s;", "ELSIF NOT before THEN", "  start := " + now
              + ";",
              "  Q := limit > " + prefix + "0s;", "ELSIF ET > " + prefix + "0s THEN", "  ET := limit;", "END_IF;", "before := IN;"));
      block("TON" + v[0],
          List.of("On-delay: Q becomes TRUE when IN has been TRUE for the time PT, and FALSE with IN.",
              "ET runs from 0 while IN is TRUE and stops at PT; it is 0 while IN is FALSE.",
              "A new PT applies at once while time runs; once Q is TRUE it stays so, and ET follows PT. A negative PT counts as zero; "
                  + "PT zero makes Q follow IN.",
              "The clock is TASK_TIME; outputs change at calls only. Time starts at the call that sees IN TRUE.", types,
              "Errors: none; ENO follows EN.",
              "Source: T46.2" + v[2] + ", S.ton-hold, S.ton-short, " + zero, "Example: fb(IN := TRUE, PT := " + prefix
              + "2s); // NOT fb.Q AND fb.ET = " + prefix + "0s"),
          List.of("IN : BOOL; // what must last", "PT : " + v[1] + "; // delay"), outputs,
          List.of("timing : BOOL; // IN was TRUE in the previous call", "start : " + v[1] + "; // clock at the rise"), temporaries,
          List.of("IF NOT IN THEN", "  timing := FALSE;", "  Q := FALSE;", "  ET := " + prefix + "0s;", "ELSE", "  limit := PT;",
          "  IF limit < " + prefix + "0s THEN",
              "    limit := " + prefix + "0s;", "  END_IF;", "  IF NOT timing THEN", "    timing := TRUE;", "    start := " + now + ";",
              "  END_IF;", "  IF NOT Q THEN",
              "    elapsed := " + now + " - start;", "    Q := elapsed >= limit;", "  END_IF;", "  IF Q THEN", "    ET := limit;", "  ELSE",
              "    ET := elapsed;", "  END_IF;",
              "END_IF;"));
      block("TOF" + v[0],
          List.of("Off-delay: Q is TRUE with IN at once, and becomes FALSE when IN has been FALSE for the time PT.",
              "ET is 0 while IN is TRUE, runs from its fall and stops at PT, where it stays until IN is TRUE again.",
              "A new PT applies at once while time runs; once Q is FALSE it stays so, and ET follows PT. A negative PT counts as zero; "
                  + "PT zero makes Q follow IN.",
              "The clock is TASK_TIME; outputs change at calls only. Before the first fall of IN, ET is 0 and Q is FALSE.", types,
              "Errors: none; ENO follows EN.",
              "Source: T46.3" + v[2] + ", S.tof-hold, S.tof-retrigger, " + zero, "Example: fb(IN := TRUE, PT := " + prefix
              + "2s); // fb.Q AND fb.ET = " + prefix + "0s"),
          List.of("IN : BOOL; // what is prolonged", "PT : " + v[1] + "; // delay"), outputs,
          List.of("timing : BOOL; // time runs since the fall", "expired : BOOL; // Q went FALSE since the fall", "start : " + v[1]
          + "; // clock at the fall"), temporaries,
          List.of("IF IN THEN", "  timing := FALSE;", "  Q := TRUE;", "  ET := " + prefix + "0s;",
          "ELSIF Q OR expired THEN", "  limit := PT;",
              "  IF limit < " + prefix + "0s THEN", "    limit := " + prefix + "0s;", "  END_IF;", "  IF Q THEN", "    IF NOT timing THEN",
              "      timing := TRUE;",
              "      start := " + now + ";", "    END_IF;", "    elapsed := " + now + " - start;", "    expired := elapsed >= limit;",
              "    Q := NOT expired;", "  END_IF;",
              "  IF expired THEN", "    ET := limit;", "  ELSE", "    ET := elapsed;", "  END_IF;", "END_IF;"));
    }
  }

  // ------------------------------------------------------------------------------------------------------------------ Text

  private void file(String name) {
    out = new StringBuilder();
    files.put(name, out);
  }

  private static List<String> doc(String summary, String types, String errors, String source, String example) {
    String text = errors.isEmpty() ? "none; ENO follows EN" : errors + "; ENO is then FALSE";
    return List.of(summary, "Types: " + types + ".", "Errors: " + text + ".", "Source: " + source, "Example: " + example);
  }

  private void comment(List<String> lines) {
    out.append(out.length() == 0 ? "" : "\n").append("(* ");
    for (int i = 0; i < lines.size(); i++) {
      out.append(i == 0 ? "" : "\n   ");
      int column = 3;
      for (String word : lines.get(i).split(" ")) {
        // An example stays on one line: it is copied as it is.
        if (column + word.length() > 138 && !lines.get(i).startsWith("Example:")) {
          out.append("\n   ");
          column = 3;
        }
        out.append(column > 3 ? " " : "").append(word);
        column += word.length() + 1;
      }
    }
    out.append(" *)\n");
  }

  private void function(String name, String result, List<String> documentation, String body, String... inputs) {
    comment(documentation);
    out.append("FUNCTION ").append(name).append(" : ").append(result).append('\n');
    section("VAR_INPUT", List.of(inputs));
    out.append(body).append("\nEND_FUNCTION\n");
  }

  private void block(String name, List<String> documentation, List<String> inputs, List<String> outputs, List<String> statics,
      List<String> temporaries,
      List<String> body) {
    comment(documentation);
    out.append("FUNCTION_BLOCK ").append(name).append('\n');
    section("VAR_INPUT", inputs);
    section("VAR_OUTPUT", outputs);
    section("VAR", statics);
    section("VAR_TEMP", temporaries);
    for (String line : body) {
      out.append("  ").append(line).append('\n');
    }
    out.append("END_FUNCTION_BLOCK\n");
  }

  private void section(String keyword, List<String> lines) {
    if (lines.isEmpty()) {
      return;
    }
    out.append(keyword).append('\n');
    for (String line : lines) {
      out.append("  ").append(line).append('\n');
    }
    out.append("END_VAR\n");
  }

  // --------------------------------------------------------------------------------------------------------------- Values

  private static List<ElementaryType> family(Family family) {
    return ALL.stream().filter(t -> t.family() == family).toList();
  }

  private static List<ElementaryType> concat(List<ElementaryType> a, List<ElementaryType> b) {
    List<ElementaryType> all = new ArrayList<>(a);
    all.addAll(b);
    return List.copyOf(all);
  }

  private static BigInteger least(ElementaryType t) {
    return t.family() == Family.SIGNED ? BigInteger.TWO.pow(t.bits() - 1).negate() : BigInteger.ZERO;
  }

  private static BigInteger greatest(ElementaryType t) {
    return BigInteger.TWO.pow(t.family() == Family.SIGNED ? t.bits() - 1 : t.bits()).subtract(BigInteger.ONE);
  }

  private static String range(ElementaryType t) {
    return least(t) + " to " + greatest(t);
  }

  private static String literal(ElementaryType t, String value) {
    return t + "#" + value;
  }

  /** One of three values of a type in ascending order (for BOOL the last two are equal). */
  private static String sample(ElementaryType t, int k) {
    String letter = "abc".substring(k - 1, k);
    return switch (t.family()) {
      case BIT -> t == ElementaryType.BOOL ? (k == 1 ? "FALSE" : "TRUE") : t + "#16#" + k;
      case SIGNED, UNSIGNED -> t + "#" + k;
      case REAL -> t + "#" + k + ".5";
      case DURATION -> (t == ElementaryType.TIME ? "T#" : "LT#") + k + "s";
      case DATE -> (t == ElementaryType.DATE ? "D#" : "LD#") + "2024-01-0" + k;
      case TIME_OF_DAY -> t + "#0" + k + ":00:00";
      case DATE_AND_TIME -> t + "#2024-01-0" + k + "-00:00:00";
      case CHARACTER -> t == ElementaryType.WCHAR ? "WCHAR#\"" + letter + "\"" : t + "#'" + letter + "'";
      case STRING -> t == ElementaryType.WSTRING ? "\"" + letter + "\"" : t == ElementaryType.STRING ? "'" + letter + "'" : "USTRING#'"
          + letter + "'";
    };
  }
}
