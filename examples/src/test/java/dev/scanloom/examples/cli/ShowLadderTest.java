package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.file.Path;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Ladder in other forms. Meanings from IEC 61131-3:2013 Tables 74 to 76 (from memory): series is AND, parallel OR, a crossed contact NOT. */
class ShowLadderTest {
  private static final String SEAL_IN = """
      PROGRAM Fan
      VAR Start : BOOL; Stop : BOOL; Run : BOOL; END_VAR
      (* seal-in *)
      |   Start         Stop      Run   |
      +---| |----+------|/|-------( )---+
      |   Run    |                      |
      +---| |----+                      |
      END_PROGRAM
      """;

  @TempDir Path folder;

  @Test
  void asEquationsAndStatements() {
    String st = Cli.file(folder, "fan.st", SEAL_IN);
    assertThat(Cli.run("show", "equations", st)).isEqualTo(new Cli(0, "Fan\n  network 1\n    Run = (Start ∨ Run) ∧ ¬Stop\n", ""));
    assertThat(Cli.run("show", "statements", st)).isEqualTo(new Cli(0, "Fan\n  (* network 1 *)\n  Run := (Start OR Run) AND NOT Stop;\n", ""));
  }

  @Test
  void whatIsDrawnAnewReadsAsTheSame() {
    String st = Cli.file(folder, "fan.st", SEAL_IN);
    String drawing = Cli.run("show", "drawing", st).out();
    assertThat(drawing).startsWith("Fan\n");
    String body = drawing.substring(drawing.indexOf('\n') + 1).replaceAll("(?m)^  ", "");
    String again = Cli.file(folder, "again.st", "PROGRAM Fan\nVAR Start : BOOL; Stop : BOOL; Run : BOOL; END_VAR\n" + body + "END_PROGRAM\n");
    assertThat(Cli.run("show", "equations", again)).isEqualTo(Cli.run("show", "equations", st));
    assertThat(Cli.run("show", "drawing", again).out()).isEqualTo(drawing);
  }

  @Test
  void withoutLadderThereIsNothingToShow() {
    assertThat(Cli.run("show", "equations", Cli.file(folder, "a.st", "PROGRAM A\nVAR x : INT; END_VAR\n  x := 1;\nEND_PROGRAM\n"))).isEqualTo(new Cli(0, "", ""));
  }
}
