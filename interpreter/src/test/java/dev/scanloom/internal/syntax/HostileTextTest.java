package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.junit.jupiter.api.Assertions;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.MethodSource;

/** Texts that nobody writes by accident: always an answer, in time that grows with the length only, on a small stack. */
class HostileTextTest {
  /** Many times what was measured (0.1 to 3 s on two slow cores); what grows with the square of the length takes minutes. */
  private static final Duration PATIENCE = Duration.ofSeconds(60);

  private static final int MANY = 100_000;

  static Stream<Arguments> texts() {
    return Stream.of(
        text("a MB of open parentheses", "PROGRAM p x := " + "(".repeat(1_000_000), "1:272 limit/nesting"),
        text("a MB of brackets alone", "[".repeat(1_000_000), "1:1 syntax/expected"),
        text("brackets the wrong way round", "PROGRAM p x := " + ")(".repeat(500_000), "1:16 syntax/expected"),
        text("10,000 nested parentheses", "PROGRAM p x := " + "(".repeat(10_000) + "1" + ")".repeat(10_000) + "; END_PROGRAM",
            "1:272 limit/nesting"),
        text("calls in calls", "PROGRAM p x := " + "f(a := ".repeat(MANY), "1:1809 limit/nesting"),
        text("unclosed comments", "PROGRAM p " + "(*\n".repeat(300_000), "1:11 syntax/unclosed-comment"),
        text("unclosed pragmas", "PROGRAM p " + "{\n".repeat(500_000), "1:11 syntax/unclosed-comment"),
        text("labels and unclosed comments", "PROGRAM p\nL:\n(* x\n".repeat(50_000), "2:2 syntax/expected"),
        text("drawings with unclosed comments", "PROGRAM p\n| (* x\nEND_PROGRAM\n".repeat(40_000), null),
        text("NUL alone", "\0".repeat(1_000_000), "1:1 syntax/character"),
        text("NUL in a program", "PROGRAM p x := 1" + "\0 ".repeat(200_000) + "; END_PROGRAM", "1:17 syntax/character"),
        text("lone surrogates", "PROGRAM p x := " + "\ud800".repeat(MANY) + "1; END_PROGRAM", "1:16 syntax/character"),
        text("surrogates in words", "PROGRAM p x\udc00 := '\ud800'; END_PROGRAM", "1:12 syntax/character"),
        text("selectors", "PROGRAM p x := a" + ".b".repeat(300_000) + "; END_PROGRAM", "1:529 limit/nesting"),
        text("NOT NOT NOT", "PROGRAM p x := " + "NOT ".repeat(MANY) + "a; END_PROGRAM", "1:16 limit/nesting"),
        text("open IFs", "PROGRAM p " + "IF a THEN ".repeat(MANY) + "END_PROGRAM", "1:2571 limit/nesting"),
        text("closed IFs", "PROGRAM p " + "IF a THEN ".repeat(MANY) + "END_IF; ".repeat(MANY) + "END_PROGRAM", "1:2571 limit/nesting"),
        text("references", "TYPE a : " + "REF_TO ".repeat(MANY) + "INT; END_TYPE", "1:1802 limit/nesting"),
        text("arrays", "TYPE a : " + "ARRAY [1..2] OF ".repeat(MANY) + "INT; END_TYPE", null),
        text("structures", "TYPE a : " + "STRUCT x : ".repeat(MANY) + "INT; END_TYPE", "1:2826 limit/nesting"),
        text("namespaces", "NAMESPACE x ".repeat(MANY), "1:3073 limit/nesting"),
        text("charts", "PROGRAM p " + "ACTION a: ".repeat(MANY), "1:2571 limit/nesting"),
        text("initial values", "PROGRAM p VAR a : T := " + "[(b := ".repeat(MANY), "1:920 limit/nesting"),
        text("quotes", "PROGRAM p " + "'\n".repeat(300_000), "1:11 syntax/unclosed-string"),
        text("labels", "PROGRAM p\n" + "L:\n".repeat(300_000) + "END_PROGRAM", "2:2 syntax/expected"),
        text("headers", "PROGRAM ".repeat(MANY), "1:9 syntax/expected"),
        text("end keywords", "END_VAR ".repeat(MANY), "1:1 syntax/expected"),
        text("sections", "PROGRAM p " + "VAR a : INT; ".repeat(MANY), "1:24 syntax/unclosed"),
        text("THEN", "PROGRAM p a" + " b THEN".repeat(MANY), "1:13 syntax/expected"),
        text("END IF", "PROGRAM p " + "IF a THEN END IF; ".repeat(MANY) + "END_PROGRAM", "1:21 syntax/keyword"),
        text("commas", "PROGRAM p VAR " + "a,".repeat(300_000), null),
        text("errors", "PROGRAM p " + "x := ; ".repeat(MANY) + "END_PROGRAM", "1:16 syntax/expected"),
        text("pipes", "PROGRAM p ;" + "\n|".repeat(300_000), "2:1 syntax/character"),
        text("equals", "PROGRAM p " + "a[".repeat(250) + "1" + "] = ".repeat(MANY), null));
  }

  private static Arguments text(String name, String text, String first) {
    return Arguments.of(name, text, first);
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("texts")
  void isAnswered(String name, String text, String first) throws InterruptedException {
    List<Parsed> answers = new ArrayList<>();
    Thread small = new Thread(null, () -> answers.add(Parsed.of(text)), "small stack", 512 * 1024);
    small.start();
    small.join(PATIENCE.toMillis());
    assertThat(small.isAlive()).as("still running after " + PATIENCE).isFalse();
    assertThat(answers).as("an exception came out").hasSize(1);
    if (first != null) {
      assertThat(answers.get(0).places().get(0)).isEqualTo(first);
    }
    assertThat(answers.get(0).diagnostics()).hasSizeLessThanOrEqualTo(101);
  }

  @ParameterizedTest
  @CsvSource({"256, 0", "257, 1"})
  void theLimitOfNestingIsExact(int depth, int errors) {
    assertThat(Parsed.of("PROGRAM p x := " + "(".repeat(depth) + "1" + ")".repeat(depth) + "; END_PROGRAM").diagnostics()).hasSize(errors);
    assertThat(Parsed.of("PROGRAM p " + "IF a THEN ".repeat(depth) + "END_IF; ".repeat(depth)
        + "END_PROGRAM").diagnostics()).hasSize(errors);
    assertThat(Parsed.of("TYPE a : " + "REF_TO ".repeat(depth) + "INT; END_TYPE").diagnostics()).hasSize(errors);
  }

  @Test
  void whatIsTooDeepIsCutOutAndTheRestStays() {
    Parsed p = Parsed.of("PROGRAM p x := ((((1)))) + f(((2))); y := 2; "
        + "IF a THEN IF b THEN IF c THEN IF d THEN z := 1; END_IF; END_IF; END_IF; "
        + "w := 1; END_IF; v := 1; END_PROGRAM", 3);
    assertThat(p.places()).containsExactly("1:19 limit/nesting", "1:76 limit/nesting");
    assertThat(Shape.of(p.file().declarations())).contains("Assignment(x Chain(Erroneous()", "Argument(NAMELESS 2)", "Assignment(y 2)",
        "Assignment(w 1)", "Assignment(v 1)");
  }

  @Test
  void aLongSumIsAList() {
    String text = "PROGRAM p x := a" + " + a * b".repeat(100_000) + "; END_PROGRAM";
    Parsed p = Assertions.assertTimeoutPreemptively(PATIENCE, () -> Parsed.of(text));
    Body.Text body = (Body.Text) ((Declaration.Program) p.file().declarations().get(0)).body();
    assertThat(((Expression.Chain) ((Statement.Assignment) body.statements().get(0)).value()).rest()).hasSize(100_000);
  }

  @Test
  void aHundredThousandLines() {
    StringBuilder text = new StringBuilder("PROGRAM p\n");
    for (int i = 0; i < 100_000; i += 4) {
      text.append("IF a").append(i).append(" AND (b > 3) THEN\n")
          .append("  x := a + b * f(c, d := 3) - arr[i, 2].z;\n t(IN := a, PT := T#5s); // c\nEND_IF;\n");
    }
    text.append("END_PROGRAM");
    SourceText source = SourceText.of("t", text.toString());
    Problems problems = new Problems(10);
    SourceFile f = Assertions.assertTimeoutPreemptively(PATIENCE, () -> new StParser(problems, 256).parse(source));
    assertThat(problems.hasErrors()).isFalse();
    assertThat(((Body.Text) ((Declaration.Program) f.declarations().get(0)).body()).statements()).hasSize(25_000);
  }
}
