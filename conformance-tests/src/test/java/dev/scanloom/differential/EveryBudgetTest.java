package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.Limits;
import dev.scanloom.Walk;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;

/** Wherever in a scan the step budget ends, both executors have written the same and stop at the same step: also inside a block of links and temporaries. */
class EveryBudgetTest {
  private static final String LADDER = """
      PROGRAM Main
      VAR a : BOOL := TRUE; b : BOOL; c : BOOL; d : BOOL; e : BOOL; f : BOOL; g : BOOL := TRUE; END_VAR
      |    a         b            c    |
      +---| |---+---|/|---+------( )---+
      |    g    |   d     |       e    |
      +---| |---+---| |---+------(S)---+
      |                   |       f    |
      |                   +------(/)---+
      |    c              e       g    |
      +---| |------------| |-----(P)---+
      |    e              f       d    |
      +---|P|------------|/|-----( )---+
      END_PROGRAM
      """;
  private static final String TEXT = """
      FUNCTION Half : INT
      VAR_INPUT x : INT; END_VAR
        Half := x / 2;
      END_FUNCTION
      PROGRAM Main
      VAR a : INT := 3; b : INT; c : INT; d : INT; e : INT; f : INT; g : INT; t : TON; s : STRING[10] := 'abc'; END_VAR
        FOR b := 1 TO 3 DO
          c := c + MAX(a, SEL(b > 1, 10, 20));
          CASE c OF
            0..15: d := d + 1;
            30: e := Half(c) + Half(x := d);
          ELSE
            f := DIV(EN := b > 2, IN1 := c, IN2 := d);
          END_CASE;
        END_FOR;
        t(IN := c > 10, PT := T#0s);
        s := CONCAT(s, 'x');
        g := LEN(s) + c;
      END_PROGRAM
      """;

  @Test
  void ladder() {
    everyBudget(LADDER);
  }

  @Test
  void structuredText() {
    everyBudget(TEXT);
  }

  private static void everyBudget(String text) {
    long whole = 0;
    long budget = 0;
    do {
      budget++;
      CompiledProgram p = Compiler.standard().withLimits(Limits.standard().withStepsPerScan(budget)).compile("budget.st", text).orThrow();
      Controller stepping = Walk.STEPS.controller(p, ScanPolicy.image());
      List<Controller> others = Stream.of(Walk.STRETCHES, Walk.TRANSLATED, Walk.COMPILED).map(w -> w.controller(p, ScanPolicy.image())).toList();
      for (int scan = 1; scan <= 2; scan++) {
        stepping.scan();
        for (Controller other : others) {
          other.scan();
          String where = "budget " + budget + ", scan " + scan + ", " + other.executionInUse();
          for (String v : new String[] {"a", "b", "c", "d", "e", "f", "g"}) {
            assertThat(other.memory().text(other.variable(v))).as(v + ", " + where).isEqualTo(stepping.memory().text(stepping.variable(v)));
          }
          assertThat(other.steps()).as(where).isEqualTo(stepping.steps());
          assertThat(other.fault().map(f -> f.oneLine() + f.step() + " " + f.ordinal())).as(where)
              .isEqualTo(stepping.fault().map(f -> f.oneLine() + f.step() + " " + f.ordinal()));
        }
      }
      whole = stepping.fault().isPresent() ? 0 : stepping.steps();
    } while (whole == 0);
    assertThat(budget).isGreaterThan(40);
  }
}
