package dev.scanloom.teach;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Variable;
import dev.scanloom.teach.AnswerText.Kind;
import java.time.Duration;
import java.util.Optional;
import java.util.Random;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** What students write. Durations are checked against java.time. */
class AnswerTextTest {
  private static final CompiledProgram PROGRAM = Compiler.standard().compile("p.st", """
      PROGRAM P
      VAR b : BOOL; i : INT; w : WORD; r : REAL; t : TIME; s : STRING; c : (red, green); END_VAR
      END_PROGRAM
      """).orThrow();

  private static Optional<String> value(String path, String text) {
    return AnswerText.parse(Kind.VALUE, PROGRAM.variable(path), 0, text);
  }

  @ParameterizedTest
  @CsvSource({"on,TRUE", "1,TRUE", "TRUE,TRUE", "true.,TRUE", "' On ',TRUE", "yes,TRUE", "BOOL#1,TRUE", "off,FALSE", "0,FALSE", "False,FALSE", "NO,FALSE",
    "not conducting,FALSE", "maybe,", "2,", "onn,", "open,", "closed,", "'',"})
  void bools(String given, String expected) {
    assertThat(value("b", given).orElse(null)).isEqualTo(expected);
  }

  @ParameterizedTest
  @CsvSource({"12,12", "+12,12", "12.0,12", "16#0C,12", "0x0c,12", "INT#12,12", "twelve,12", "2#1100,12", "1_2,12", "-7,-7", "99999999999999999999999,", "1.5,", "x,"})
  void integers(String given, String expected) {
    assertThat(value("i", given).orElse(null)).isEqualTo(expected);
  }

  @ParameterizedTest
  @CsvSource({"T#1s500ms,1500", "1.5 s,1500", "'1,5 s',1500", "1500,1500", "1500 ms,1500", "0.025m,1500", "TIME#1500ms,1500", "1 s 500 ms,1500", "1 second,1000",
    "2m,120000", "-1s,-1000", "1s later,", "s,", "T#,"})
  void durations(String given, Long ms) {
    Optional<String> got = value("t", given);
    if (ms == null) {
      assertThat(got).isEmpty();
    } else {
      Variable t = PROGRAM.variable("t");
      assertThat(t.parse(got.orElseThrow())).isEqualTo(Duration.ofMillis(ms).toNanos());
    }
  }

  @Test
  void realsByValue() {
    Variable r = PROGRAM.variable("r");
    for (String same : new String[] {"0.1", ".1", "0,1", "1e-1", "REAL#0.1", "0.10000000"}) {
      assertThat(AnswerText.same(Kind.VALUE, r, value("r", same).orElseThrow(), "0.1")).as(same).isTrue();
    }
    assertThat(AnswerText.same(Kind.VALUE, r, value("r", "0.1001").orElseThrow(), "0.1")).isFalse();
    assertThat(value("r", "1.2.3")).isEmpty();
    assertThat(value("r", "1e9999")).isEmpty();
  }

  @Test
  void enumerationsAndStrings() {
    Variable c = PROGRAM.variable("c");
    assertThat(value("c", "GREEN").map(c::parse)).contains(1L);
    assertThat(value("c", "blue")).isEmpty();
    assertThat(value("s", "'abc'")).contains("abc");
  }

  @ParameterizedTest
  @CsvSource({"2,2", "network 2,2", "Netw. 2,2", "NW2,2", "rung 2,2", "second,2", "#2,2", "none,none", "the input refresh,refresh", "refresh,refresh", "0,", "network,"})
  void networks(String given, String expected) {
    assertThat(AnswerText.parse(Kind.NETWORK, null, 0, given).orElse(null)).isEqualTo(expected);
  }

  @ParameterizedTest
  @CsvSource({"a,a", "'(b)',b", "c) and a,'a, c'", "'A,C','a, c'", "ca,'a, c'", "d,", "a or b,", "both a and b,'a, b'"})
  void letters(String given, String expected) {
    assertThat(AnswerText.parse(Kind.LETTERS, null, 3, given).orElse(null)).isEqualTo(expected);
  }

  @Test
  void nothingIsTooStrange() {
    Random random = new Random(7);
    for (int i = 0; i < 3_000; i++) {
      StringBuilder b = new StringBuilder();
      int n = random.nextInt(12);
      for (int k = 0; k < n; k++) {
        b.append("0123456789#._-+,() tTsSmMnNeExXaBc\u0000\uD800/\u00B5".charAt(random.nextInt(37)));
      }
      for (Kind kind : Kind.values()) {
        for (String path : new String[] {"b", "i", "w", "r", "t", "s", "c"}) {
          assertThat(AnswerText.parse(kind, PROGRAM.variable(path), 3, b.toString())).isNotNull();
        }
      }
    }
    assertThat(value("i", "1".repeat(100_000))).isEmpty();
  }
}
