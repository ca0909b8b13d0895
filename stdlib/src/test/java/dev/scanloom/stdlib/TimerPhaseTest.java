package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import org.junit.jupiter.api.Test;

/**
 * Step and pulse responses of the timers at every phase of the input against the scan, derived by hand from the timing diagrams of IEC
 * 61131-3 Table 46: a timer
 * sees an input change in the first scan at or after it, and the end of its time in the first scan at or after that.
 */
class TimerPhaseTest {
  private static final int PERIOD = 10;

  private static final CompiledProgram PROGRAM = Compiler.standard().compile("phase.st", """
      PROGRAM Main
      VAR
        a : BOOL;
        pt : TIME;
        pulse : TP; on : TON; off : TOF;
      END_VAR
        pulse(IN := a, PT := pt);
        on(IN := a, PT := pt);
        off(IN := a, PT := pt);
      END_PROGRAM
      """).orThrow();

  private static long firstScanAtOrAfter(long time) {
    return (time + PERIOD - 1) / PERIOD * PERIOD;
  }

  /** Input TRUE from {@code rise} to {@code fall} (milliseconds); every scan of 10 ms is compared. */
  private static void respond(int rise, int fall, int pt) {
    Controller c = PROGRAM.newController(ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(PERIOD)))
        .withCosts(CostModel.zero()));
    c.memory().setText(c.variable("Main.pt"), "T#" + pt + "ms");
    long seenRise = firstScanAtOrAfter(rise);
    long seenFall = firstScanAtOrAfter(fall);
    boolean seen = seenRise < seenFall;
    for (long time = 0; time <= 200; time += PERIOD) {
      c.memory().set(c.bool("Main.a"), time >= rise && time < fall);
      c.scan();
      assertThat(c.scanStart()).isEqualTo(time * 1_000_000);
      boolean in = seen && time >= seenRise && time < seenFall;
      String where = "rise " + rise + ", fall " + fall + ", PT " + pt + ", scan at " + time;

      boolean on = in && time >= seenRise + pt;
      shows(c, where, "on", on, in ? Math.min(pt, time - seenRise) : 0);

      boolean afterFall = seen && time >= seenFall;
      shows(c, where, "off", in || afterFall && time < seenFall + pt, afterFall ? Math.min(pt, time - seenFall) : 0);

      boolean pulse = seen && time >= seenRise && time < seenRise + pt;
      shows(c, where, "pulse", pulse, pulse ? time - seenRise : in ? pt : 0);
    }
  }

  private static void shows(Controller c, String where, String timer, boolean q, long et) {
    assertThat(c.memory().get(c.bool("Main." + timer + ".Q"))).as("%s.Q, %s", timer, where).isEqualTo(q);
    assertThat(c.memory().bits(c.variable("Main." + timer + ".ET"))).as("%s.ET, %s", timer, where).isEqualTo(et * 1_000_000);
  }

  @Test
  void everyPhaseOfRiseFallAndPreset() {
    for (int rise = 10; rise < 20; rise++) {
      for (int length : new int[] {1, 4, 10, 13, 25, 30, 37, 80}) {
        for (int pt : new int[] {0, 1, 9, 10, 11, 25, 30, 31, 95}) {
          respond(rise, rise + length, pt);
        }
      }
    }
  }

  /** T46.2a and S15: the delay is late by less than one scan, and exact when PT is a whole number of scans. */
  @Test
  void presetsWithinOnePeriodEndInTheSameScan() {
    for (int pt = 21; pt <= 30; pt++) {
      respond(10, 150, pt);
    }
  }
}
