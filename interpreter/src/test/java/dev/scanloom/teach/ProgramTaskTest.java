package dev.scanloom.teach;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.List;
import org.junit.jupiter.api.Test;

/** A motor starter with seal-in; stop dominates (common practice). */
class ProgramTaskTest {
  private static final String HEAD = "PROGRAM P\nVAR Start AT %IX0.0 : BOOL; StopOk AT %IX0.1 : BOOL; Motor AT %QX0.0 : BOOL; k : INT; a : ARRAY[0..2] OF INT; END_VAR\n";

  private static final ProgramTask TASK = ProgramTask.titled("Starter").given(HEAD + "(* ... *)\nEND_PROGRAM\n")
      .reference(HEAD + "Motor := (Start OR Motor) AND StopOk;\nEND_PROGRAM\n").compare("Motor")
      .trial(Exercise.titled("press and let go").at(1, "StopOk", "TRUE").at(2, "Start", "TRUE").at(3, "Start", "FALSE").scans(4))
      .explore(1, "Start", "StopOk");

  @Test
  void anEquivalentProgramIsAccepted() {
    assertThat(TASK.check(HEAD + "IF NOT StopOk THEN Motor := FALSE; ELSIF Start THEN Motor := TRUE; END_IF;\nEND_PROGRAM\n")).isEmpty();
  }

  @Test
  void whatTheTrialsMissExplorationFinds() {
    List<ProgramTask.Difference> d = TASK.check(HEAD + "Motor := Start OR (Motor AND StopOk);\nEND_PROGRAM\n");
    // shortest by hand: one scan with Start on and StopOk off
    assertThat(d).singleElement().satisfies(x -> {
      assertThat(x.trial()).isEqualTo("exploration");
      assertThat(x.scan()).isEqualTo(1);
      assertThat(x.stimulus()).containsExactly("scan 1: Start on, StopOk off");
      assertThat(x.words()).isEqualTo("Motor is TRUE at the end of scan 1; it should be FALSE");
      assertThat(x.text()).contains("Start");
    });
  }

  @Test
  void trialsTellScanAndEvidence() {
    List<ProgramTask.Difference> d = TASK.check(HEAD + "Motor := Start AND StopOk;\nEND_PROGRAM\n");
    assertThat(d).hasSize(2);
    assertThat(d.get(0).trial()).isEqualTo("press and let go");
    assertThat(d.get(0).scan()).isEqualTo(3);
    assertThat(d.get(0).evidence()).contains("terminal of Start");
    assertThat(d.get(1).stimulus()).hasSize(2);
  }

  @Test
  void whatCannotRunIsSaid() {
    assertThat(TASK.check(HEAD + "Motor := Startt;\nEND_PROGRAM\n")).singleElement().satisfies(x -> assertThat(x.text()).contains("name/unknown").contains("answer.st:3"));
    assertThat(TASK.check("PROGRAM P\nVAR Start AT %IX0.0, StopOk AT %IX0.1 : BOOL; END_VAR\nEND_PROGRAM\n")).isNotEmpty();
    assertThat(TASK.check(HEAD + "k := k + 1; a[k] := 1; Motor := (Start OR Motor) AND StopOk;\nEND_PROGRAM\n").get(0).words()).contains("stopped in scan 3");
  }
}
