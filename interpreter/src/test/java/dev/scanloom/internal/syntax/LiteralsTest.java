package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import java.math.BigDecimal;
import java.math.BigInteger;
import java.time.Duration;
import java.time.LocalDate;
import java.time.LocalDateTime;
import java.time.LocalTime;
import java.time.ZoneOffset;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Tables 5 to 9 of IEC 61131-3 (from memory); dates against java.time, numbers against BigInteger and BigDecimal. */
class LiteralsTest {

  private static Literals.Value value(String text) {
    Expression e = Parsed.expression(text);
    if (e instanceof Expression.Unary u) {
      e = u.operand();
    }
    return Literals.decode((Expression.Literal) e);
  }

  @ParameterizedTest(name = "T5: {0} is {1}")
  @CsvSource({"0, 0", "12, 12", "1_200, 1200", "007, 7", "2#1010_0101, 165", "8#245, 165", "16#a_5, 165", "16#FF, 255", "INT#-12, -12",
      "INT#+12, 12", "WORD#16#AF, 175", "BOOL#1, 1", "LINT#-9_223_372_036_854_775_808, -9223372036854775808",
      "99999999999999999999999999, 99999999999999999999999999"})
  void integers(String text, BigInteger expected) {
    assertThat(value(text)).isEqualTo(new Literals.Int(expected));
  }

  @ParameterizedTest(name = "T5: {0} is {1}")
  @CsvSource({"0.0, 0", "0.12_5, 0.125", "2.5e+3, 2500", "2.5E-1, 0.25", "1.0E10, 10000000000", "REAL#-1.5, -1.5", "LREAL#3.25e2, 325",
      "1_0.5, 10.5"})
  void reals(String text, BigDecimal expected) {
    assertThat(value(text)).isInstanceOf(Literals.Real.class);
    assertThat(new BigDecimal(((Literals.Real) value(text)).text())).isEqualByComparingTo(expected);
  }

  @Test
  void booleansAndNull() {
    assertThat(value("true")).isEqualTo(new Literals.Bool(true));
    assertThat(value("BOOL#FALSE")).isEqualTo(new Literals.Bool(false));
    assertThat(value("NULL")).isEqualTo(new Literals.Null());
  }

  @ParameterizedTest(name = "T6, T7: {0}")
  @CsvSource(quoteCharacter = '~', value = {
      "'',", "'Z', 90", "' ', 32", "'$'', 39", "'\"', 34", "'x$R$L', 120 13 10", "'$41b', 65 98", "'$$', 36", "'$n$p$t', 10 12 9",
      "\"\",", "\"Z\", 90", "\"'\", 39", "\"$\"\", 34", "\"x$N\", 120 10", "\"$00C4\", 196", "WSTRING#\"run\", 114 117 110",
      "STRING#'a', 97", "CHAR#'r', 114", "WSTRING#'run', 114 117 110", "WCHAR#'r', 114", "USTRING#'gr\u00fcn', 103 114 252 110",
      "UCHAR#'\u00fc', 252", "'\uD83D\uDD14', 128276", "\"\uD83D\uDD14\", 55357 56596", "WSTRING#'\uD83D\uDD14', 55357 56596",
      "USTRING#\"$D83D$DD14\", 128276", "'$aF', 175", "'$C3$BC', 195 188"})
  void strings(String text, String units) {
    int[] expected = units == null ? new int[0] : java.util.Arrays.stream(units.split(" ")).mapToInt(Integer::parseInt).toArray();
    assertThat(value(text)).isEqualTo(new Literals.Text(expected));
  }

  @ParameterizedTest(name = "T8: {0} is {1} as java.time reads it")
  @CsvSource({"T#2d, P2D", "t#2h, PT2H", "TIME#2m, PT2M", "T#2s, PT2S", "T#1.5ms, PT0.0015S", "LT#2us, PT0.000002S",
      "LT#2ns, PT0.000000002S", "T#1h30m, PT1H30M", "T#-1h30m, PT-1H-30M", "T#+1h, PT1H", "t#1h_30m_0.5s, PT1H30M0.5S",
      "ltime#25h_3ms, PT25H0.003S", "T#0s, PT0S", "T#1d_2h_3m_4s_5ms_6us_7ns, P1DT2H3M4.005006007S", "T#90m, PT90M", "T#1_000ms, PT1S",
      "T#1d_25m, P1DT25M", "T#23_59m, PT2359M", "T#1.000_5s, PT1.0005S"})
  void durations(String text, Duration expected) {
    assertThat(value(text)).isEqualTo(new Literals.Duration(expected.toNanos()));
  }

  @Test
  void aDurationMayUseTheWholeRangeOfLtime() {
    assertThat(value("LT#9223372036854775807ns")).isEqualTo(new Literals.Duration(Long.MAX_VALUE));
    assertThat(value("LT#-9223372036854775808ns")).isEqualTo(new Literals.Duration(Long.MIN_VALUE));
  }

  @ParameterizedTest(name = "T9: {0}")
  @CsvSource({"DATE#2024-02-29, 2024-02-29", "d#2024-2-9, 2024-02-09", "LDATE#1969-12-31, 1969-12-31", "LD#0001-01-01, 0001-01-01",
      "D#9999-12-31, 9999-12-31", "D#2000-02-29, 2000-02-29"})
  void dates(String text, LocalDate expected) {
    assertThat(value(text)).isEqualTo(new Literals.Date(expected.toEpochDay()));
  }

  @ParameterizedTest(name = "T9: {0}")
  @CsvSource({"TIME_OF_DAY#06:07:08.25, 06:07:08.25", "tod#0:0:0, 00:00:00", "LTOD#06:07:08.000000001, 06:07:08.000000001",
      "LTIME_OF_DAY#23:59:59.5, 23:59:59.5"})
  void timesOfDay(String text, LocalTime expected) {
    assertThat(value(text)).isEqualTo(new Literals.TimeOfDay(expected.toNanoOfDay()));
  }

  @ParameterizedTest(name = "T9: {0}")
  @CsvSource({"DATE_AND_TIME#2024-02-29-06:07:08, 2024-02-29T06:07:08", "dt#1970-01-01-00:00:00, 1970-01-01T00:00:00",
      "LDT#2024-02-29-06:07:08.5, 2024-02-29T06:07:08.5", "LDATE_AND_TIME#1969-12-31-23:59:59.999999999, 1969-12-31T23:59:59.999999999"})
  void datesAndTimes(String text, LocalDateTime expected) {
    Literals.DateAndTime actual = (Literals.DateAndTime) value(text);
    BigInteger nanos = BigInteger.valueOf(expected.toEpochSecond(ZoneOffset.UTC)).multiply(BigInteger.valueOf(1_000_000_000))
        .add(BigInteger.valueOf(expected.getNano()));
    assertThat(actual.nanoseconds()).isEqualTo(nanos);
  }

  /** Column of the mistake counted from 1 within the literal, which stands at column 6 of the second line. */
  @ParameterizedTest(name = "{0} is wrong at its character {1}")
  @CsvSource(quoteCharacter = '~', value = {"1__2, 2", "1_, 2", "5., 1", ".5, 1", "1_.5, 2", "1._5, 1", "1.5_, 4", "1.0E+_5, 1",
      "1.0E1_, 6",
      "1.0E9999999, 5", "16#G, 4", "2#3, 3", "2#, 3", "8#9, 3", "3#12, 1", "1_6#FF, 1", "16#_F, 4", "INT#-16#F, 6", "1E5, 1", "12ab, 1",
      "T#1.5h_3m, 8", "T#, 3", "T#5, 4", "T#5x, 4", "T#s, 3", "T#1m1h, 5", "T#1h1h, 5", "T#1h_90m, 6", "T#1h__3m, 6", "T#1h_, 6",
      "T#1.h, 5", "T#0.5ns, 3", "LT#9223372036854775808ns, 4", "D#2023-02-29, 3", "D#2024-13-01, 3", "D#2024-02, 3", "D#0000-01-01, 3",
      "D#20245-01-01, 3", "TOD#24:00:00, 5", "TOD#06:60:00, 8", "TOD#06:07, 5", "TOD#06:07:08.0000000001, 14", "DT#2024-02-29T06:07:08, 4",
      "DT#2024-02-29, 4", "DT#2023-02-29-06:07:08, 4", "DT#2024-02-28-25:07:08, 15", "'a$z', 3", "'a$', 1", "'$4', 2", "'$4g', 2",
      "\"$41\", 2", "\"$'\", 2", "'$\"', 2", "STRING#'$q', 9", "%IX, 1", "%ZX0, 1", "%, 1", "INT# 5, 5"})
  void malformed(String text, int character) {
    Parsed p = Parsed.of("PROGRAM p\nx := " + text + ";\ny := 1; END_PROGRAM");
    assertThat(p.places()).hasSize(1);
    assertThat(p.places().get(0)).startsWith("2:" + (5 + character) + " syntax/");
    assertThat(p.diagnostics().get(0).code()).isIn("syntax/literal", "syntax/unclosed-string");
    Declaration.Program program = (Declaration.Program) p.file().declarations().get(0);
    assertThat(((Body.Text) program.body()).statements()).last().asString().contains("Ident").contains("text=1");
  }

  @ParameterizedTest
  @ValueSource(strings = {"7TANK", "1x", "2h"})
  void anIdentifierCannotBeginWithADigit(String name) {
    assertThat(Parsed.of("PROGRAM p VAR " + name + " : INT; END_VAR END_PROGRAM").places()).containsExactly("1:15 syntax/literal");
  }

  @Test
  void aLiteralOfAMillionDigitsIsRefusedQuickly() {
    assertThat(Parsed.of("PROGRAM p x := " + "1".repeat(1_000_000) + "; END_PROGRAM").places()).containsExactly("1:16 syntax/literal");
  }
}
