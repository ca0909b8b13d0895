package dev.scanloom.examples.sweep;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import java.util.SplittableRandom;
import org.junit.jupiter.api.Test;

/** The counts of the experiment, against the two orders of the networks written in Java: Boolean algebra is the outside reference. */
class SweepTest {

  @Test
  void countsHowOftenTwoOrdersPart() {
    int stimuli = 300;
    int scans = 12;
    int parted = 0;
    int atEnd = 0;
    for (int s = 0; s < stimuli; s++) {
      boolean run = false;
      boolean ever = false;
      boolean last = false;
      for (int scan = 1; scan <= scans; scan++) {
        SplittableRandom random = new SplittableRandom(7 + 1_000_003L * (s / 64) + scan);
        boolean[] in = new boolean[3];
        for (int i = 0; i < 3; i++) {
          in[i] = (random.nextLong() & random.nextLong() & 1L << s) != 0;
        }
        boolean before = run;
        run = (in[0] || run) && !in[1] && !in[2];
        // The lamp of the other order shows the previous scan. The timers see the same in both.
        last = run != before;
        ever |= last;
      }
      parted += ever ? 1 : 0;
      atEnd += last ? 1 : 0;
    }
    Sweep.Result r = Sweep.compare(Sweep.Side.of(Sweep.SEAL_FIRST, Sweep.IMAGE), Sweep.Side.of(Sweep.LAMP_FIRST, Sweep.IMAGE), stimuli, scans, 7);
    assertThat(r.parted()).isEqualTo(parted).isGreaterThan(0);
    assertThat(r.partedAtEnd()).isEqualTo(atEnd).isLessThan(parted);
    assertThat(r.toString()).startsWith("300 stimuli of 12 scans: " + parted + " part (");
  }

  @Test
  void aProgramDoesNotPartFromItselfHoweverItRuns() {
    Sweep.Side words = Sweep.Side.of(Sweep.SEAL_FIRST, Sweep.IMAGE);
    ScanPolicy stepping = Sweep.IMAGE.withExecution(Execution.STEPPING);
    Sweep.Result r = Sweep.compare(words, Sweep.Side.of(Sweep.SEAL_FIRST, stepping), 200, 20, 3);
    assertThat(words.program().newLanes(1, Sweep.IMAGE).executionInUse()).startsWith("words: ");
    assertThat(words.program().newLanes(1, stepping).executionInUse()).startsWith("single controllers: ");
    assertThat(r.parted()).isZero();
    assertThat(r.first()).isEqualTo(-1);
  }
}
