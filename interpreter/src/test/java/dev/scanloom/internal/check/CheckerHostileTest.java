package dev.scanloom.internal.check;

import static org.assertj.core.api.Assertions.assertThat;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Texts made to exhaust the stack, the memory or the patience of the checker. */
final class CheckerHostileTest {

  private static Checked program(String declarations, String statements) {
    return Checked.of("PROGRAM Main VAR " + declarations + " END_VAR " + statements + " END_PROGRAM");
  }

  @ParameterizedTest
  @ValueSource(strings = {"NOT ", "- "})
  void longRowsOfUnaryOperators(String operator) {
    assertThat(program("x : BOOL; n : INT;", (operator.equals("- ") ? "n := " : "x := ") + operator.repeat(50_000) + "n;").codes())
        .containsOnly("limit/nesting");
  }

  @ParameterizedTest
  @ValueSource(strings = {".a", "[0]", "^"})
  void longAccesses(String part) {
    assertThat(program("x : INT;", "x := x" + part.repeat(50_000) + ";").codes()).containsOnly("limit/nesting");
  }

  @Test
  void longSumsAreHarmless() {
    assertThat(program("x : INT;", "x := x" + " + x".repeat(50_000) + ";").project()).isPresent();
    assertThat(program("x : INT;", "x := 2" + " * 2".repeat(50_000) + ";").codes()).containsExactly("range/literal");
  }

  @Test
  void deepParenthesesWithinTheLimitAreAllowed() {
    assertThat(program("x : INT;", "x := " + "(x + -(x * (x - ".repeat(80) + "x" + ")))".repeat(80) + ";").project()).isPresent();
  }

  @Test
  void longChainsOfTypes() {
    StringBuilder structures = new StringBuilder("TYPE ");
    StringBuilder names = new StringBuilder("TYPE ");
    for (int i = 5_000; i > 0; i--) {
      structures.append("T" + i + " : STRUCT a : T" + (i - 1) + "; END_STRUCT; ");
      names.append("T" + i + " : T" + (i - 1) + "; ");
    }
    String end = "T0 : INT; END_TYPE PROGRAM Main VAR x : T5000; END_VAR END_PROGRAM";
    assertThat(Checked.of(structures + end).codes()).containsOnly("limit/nesting");
    assertThat(Checked.of(names + end).codes()).isNotEmpty().isSubsetOf("limit/nesting", "limit/diagnostics");
  }

  @Test
  void longChainsOfInheritanceAndDiamonds() {
    StringBuilder classes = new StringBuilder();
    for (int i = 3_000; i > 0; i--) {
      classes.append("CLASS C" + i + " EXTENDS C" + (i - 1) + " END_CLASS ");
    }
    assertThat(Checked.of(classes + "CLASS C0 END_CLASS PROGRAM Main END_PROGRAM").codes()).containsOnly("limit/inheritance");
    StringBuilder diamonds = new StringBuilder();
    for (int i = 60; i > 0; i--) {
      String bases = " EXTENDS A" + (i - 1) + ", B" + (i - 1) + " END_INTERFACE ";
      diamonds.append("INTERFACE A" + i + bases + "INTERFACE B" + i + bases);
    }
    String rest = "INTERFACE A0 METHOD m END_METHOD END_INTERFACE INTERFACE B0 END_INTERFACE "
        + "CLASS K IMPLEMENTS A60, B60 METHOD PUBLIC m ; END_METHOD END_CLASS "
        + "PROGRAM Main VAR a : A60; k : K; END_VAR a := k; a.m(); END_PROGRAM";
    assertThat(Checked.of(diamonds + rest).project()).isPresent();
  }

  @Test
  void parallelSequencesWithManySituations() {
    StringBuilder t = new StringBuilder("PROGRAM Main VAR go : BOOL; END_VAR INITIAL_STEP S: END_STEP ");
    StringBuilder first = new StringBuilder();
    StringBuilder last = new StringBuilder();
    for (int k = 0; k < 12; k++) {
      first.append(k > 0 ? ", " : "").append("S" + k + "_0");
      last.append(k > 0 ? ", " : "").append("S" + k + "_5");
      for (int i = 0; i < 6; i++) {
        t.append("STEP S" + k + "_" + i + ": END_STEP ");
        if (i > 0) {
          t.append("TRANSITION FROM S" + k + "_" + (i - 1) + " TO S" + k + "_" + i + " := go; END_TRANSITION ");
        }
      }
    }
    t.append("TRANSITION FROM S TO (" + first + ") := go; END_TRANSITION TRANSITION FROM (" + last
        + ") TO S := go; END_TRANSITION END_PROGRAM");
    assertThat(Checked.of(t.toString()).project()).isPresent();
  }

  @Test
  void manyErrorsAreBounded() {
    StringBuilder t = new StringBuilder();
    for (int i = 0; i < 5_000; i++) {
      t.append("nowhere" + i + " := x; ");
    }
    assertThat(program("x : INT;", t.toString()).diagnostics()).hasSize(101);
  }
}
