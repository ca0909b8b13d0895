package dev.scanloom.examples.junit;

import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.ProgramTask;
import java.util.function.Supplier;

/** A motor starter in which stop dominates (common practice). */
public final class StarterTask implements Supplier<ProgramTask> {
  private static final String HEAD = """
      PROGRAM Starter
      VAR
        Start AT %IX0.0 : BOOL;
        Stop  AT %IX0.1 : BOOL;  (* normally closed *)
        Motor AT %QX0.0 : BOOL;
      END_VAR
      """;

  @Override
  public ProgramTask get() {
    return ProgramTask.titled("Motor starter").story("Start starts the motor, Stop stops it and dominates. The motor goes on when Start is let go.")
        .given(HEAD + "(* your networks *)\nEND_PROGRAM\n")
        .reference(HEAD + "Motor := (Start OR Motor) AND Stop;\nEND_PROGRAM\n")
        .compare("Motor")
        .trial(Exercise.titled("start and let go").at(1, "Stop", "TRUE").at(2, "Start", "TRUE").at(3, "Start", "FALSE").scans(5))
        .trial(Exercise.titled("stop").at(1, "Stop", "TRUE").at(1, "Start", "TRUE").at(2, "Start", "FALSE").at(3, "Stop", "FALSE").scans(4))
        .explore(11, "Start", "Stop");
  }
}
