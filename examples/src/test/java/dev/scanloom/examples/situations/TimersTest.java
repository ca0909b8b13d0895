package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.EVERY_10_MS;
import static dev.scanloom.examples.situations.Situation.fact;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.InputAcquisition;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/** S13, S14, S15, S16: time in scans of 10 ms; scan n reads the clock at (n - 1) * 10 ms. Diagrams drawn by hand. */
class TimersTest {

  @Test
  void s13ATimerInASkippedRegionFreezesAndJumps() {
    Situation.Run r = Situation.of("S13", "mixer.st").inputs("inputs.csv").run(EVERY_10_MS, 9);
    // called at 0 and 10 ms, skipped from 20 to 60 ms, called again at 70 ms
    assertThat(r.memory("Delay.ET")).containsExactly("T#0s", "T#10ms", "T#10ms", "T#10ms", "T#10ms", "T#10ms", "T#10ms", "T#50ms",
        "T#50ms");
    assertThat(r.memory("Delay.Q")).containsExactly("FALSE", "FALSE", "FALSE", "FALSE", "FALSE", "FALSE", "FALSE", "TRUE", "TRUE");
    // due at 50 ms, late by 20 ms: the scan that ought to have seen it passed the call over
    Explanation e = r.why("Delay.Q", 7);
    Fact unchanged = fact(e, Fact.Kind.UNCHANGED, "Delay.Q");
    assertThat(unchanged.because()).singleElement().satisfies(d -> assertThat(d.subject()).isEqualTo("NOT Hood"));
    assertThat(e.facts(Fact.Kind.READ)).extracting(Fact::subject).contains("Hood");
    assertThat(r.why("Delay.Q", 8).facts(Fact.Kind.CLOCK)).extracting(Fact::bits).contains(70_000_000L);
  }

  /** IEC 61131-3 Table 46 and its timing figures (from memory); a new PT applies at once (left to the implementer). */
  @Test
  void s14TimersUnderAwkwardInputs() {
    Situation.Run r = Situation.of("S14", "timers.st").inputs("inputs.csv").run(EVERY_10_MS, 16);
    // In: scan 1 off, 2-6 on, 7-8 off, 9 on, 10 off, 11 on, 12- off; PT of the on-delay: 50 ms, 30 ms in scans 5-6
    // on-delay: starts at 10 ms; at 40 ms (scan 5) PT falls to 30 ms and is reached at once
    assertThat(r.memory("On.Q").subList(0, 8)).containsExactly("FALSE", "FALSE", "FALSE", "FALSE", "TRUE", "TRUE", "FALSE", "FALSE");
    assertThat(r.memory("On.ET").subList(0, 8)).containsExactly("T#0s", "T#0s", "T#10ms", "T#20ms", "T#30ms", "T#30ms", "T#0s", "T#0s");
    Explanation on = r.why("On.Q", 5);
    assertThat(on.facts(Fact.Kind.EXTERNAL_WRITE)).extracting(Fact::subject).contains("Time");
    assertThat(on.facts(Fact.Kind.CLOCK)).extracting(Fact::bits).contains(10_000_000L, 40_000_000L);
    // off-delay of 30 ms: In falls at 60 ms and rises at 80 ms before it is over; falls at 90, rises at 100, falls at 110 for good: over
    // at 140 ms
    assertThat(r.memory("Off.Q")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE",
        "TRUE", "TRUE", "TRUE",
        "TRUE", "FALSE", "FALSE");
    assertThat(r.memory("Off.ET").subList(6, 15)).containsExactly(
        "T#0s", "T#10ms", "T#0s", "T#0s", "T#0s", "T#0s", "T#10ms", "T#20ms", "T#30ms");
    // pulse of 30 ms: from 10 to 40 ms although In stays; a second one from 80 ms, which the edge at 100 ms does not lengthen
    assertThat(r.memory("Pulse.Q")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE", "FALSE", "FALSE", "FALSE", "FALSE", "TRUE", "TRUE",
        "TRUE", "FALSE",
        "FALSE", "FALSE", "FALSE", "FALSE");
    assertThat(r.memory("Pulse.ET").subList(1, 9)).containsExactly(
        "T#0s", "T#10ms", "T#20ms", "T#30ms", "T#30ms", "T#0s", "T#0s", "T#0s");
    assertThat(r.why("Pulse.Q", 12).facts(Fact.Kind.CLOCK)).extracting(Fact::bits).contains(80_000_000L, 110_000_000L);
  }

  @Test
  void s15ASelfResettingTimerLosesTimeInEveryPeriod() {
    Situation.Run r = Situation.of("S15", "clock.st").inputs("inputs.csv").run(EVERY_10_MS, 103);
    // 25 ms asked for. Started at 0, over at 30 (late by 5), reset at 40, started again at 50: one tick in 50 ms.
    List<Integer> ticks = new ArrayList<>();
    for (int n = 1; n <= 103; n++) {
      if (r.memory("Tick.Q", n).equals("TRUE")) {
        ticks.add((n - 1) * 10);
      }
    }
    assertThat(ticks.subList(0, 3)).containsExactly(30, 80, 130);
    for (int k = 0; k < ticks.size(); k++) {
      // the error grows linearly: a clock of 25 ms would have ticked at 25 * (k + 1)
      assertThat(ticks.get(k) - 25 * (k + 1)).isEqualTo(5 + 25 * k);
    }
    assertThat(r.memory("Ticks", 103)).isEqualTo("20");
    // the recorder keeps the last 100 scans: asked earlier it also knows when the first period began
    Explanation e = Situation.of("S15", "clock.st").inputs("inputs.csv").run(EVERY_10_MS, 4).why("Ticks", 4);
    assertThat(e.facts(Fact.Kind.CLOCK)).extracting(Fact::bits).contains(0L, 30_000_000L);
    assertThat(e.facts(Fact.Kind.OLDER)).isEmpty();
    Explanation late = r.why("Ticks", 103);
    assertThat(late.facts(Fact.Kind.OLDER)).isNotEmpty().allSatisfy(f -> assertThat(f.scan()).isLessThan(4));
  }

  @Test
  void s15TwoTimersInARowAreEachLate() {
    Situation.Run r = Situation.of("S15", "clock.st").inputs("inputs.csv").run(EVERY_10_MS, 6);
    // 15 ms from 0: seen at 20; 15 ms from 20: seen at 40; 30 ms were meant
    assertThat(r.memory("First.Q")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE", "TRUE", "TRUE");
    assertThat(r.memory("Second.Q")).containsExactly("FALSE", "FALSE", "FALSE", "FALSE", "TRUE", "TRUE");
    assertThat(r.why("Second.Q", 5).facts(Fact.Kind.CLOCK)).extracting(Fact::bits).contains(20_000_000L, 40_000_000L);
  }

  /** A square wave of {@code period} ms, high for its first half, 1 ms behind the scans' starts; 12 scans see 120 ms of it. */
  private static String counted(int period, InputAcquisition inputs) {
    Situation.Run r = Situation.of("S16", "flow.st").run(EVERY_10_MS.withInputs(inputs), 12, c -> {
      for (long t = 1; t < 120; t += period) {
        c.field().setAt(t * 1_000_000, c.bool("Pulse"), true);
        c.field().setAt(t * 1_000_000 + period * 500_000L, c.bool("Pulse"), false);
      }
    });
    assertThat(r.controller.fault()).isEmpty();
    return r.memory("Count.CV", 12);
  }

  @Test
  void s16PulsesFasterThanHalfTheScanRateAreMiscounted() {
    for (InputAcquisition a : List.of(InputAcquisition.image(), InputAcquisition.immediate())) {
      // 25 Hz: high from 1 to 21, 41 to 61, 81 to 101 ms: all three counted
      assertThat(counted(40, a)).isEqualTo("3");
      // 50 Hz, the highest countable: high 1-11, 21-31, 41-51, 61-71, 81-91, 101-111: six, seen at 10, 30, 50, 70, 90, 110
      assertThat(counted(20, a)).isEqualTo("6");
      // 83 Hz: ten pulses begin, but the samples see a slow wave that rises at 30 and 90 ms
      assertThat(counted(12, a)).isEqualTo("2");
      // 100 Hz: every sample falls into the same part of the wave: low
      assertThat(counted(10, a)).isEqualTo("0");
    }
  }

  @Test
  void s16TheExplanationNamesTheSamplesThatMadeTheCount() {
    Situation.Run r = Situation.of("S16", "flow.st").run(EVERY_10_MS, 4, c -> {
      for (long t = 1; t < 40; t += 12) {
        c.field().setAt(t * 1_000_000, c.bool("Pulse"), true);
        c.field().setAt((t + 6) * 1_000_000, c.bool("Pulse"), false);
      }
    });
    assertThat(r.memory("Count.CV")).containsExactly("0", "0", "0", "1");
    Explanation e = r.why("Count.CV", 4);
    // the third pulse, begun at 25 ms, is the first that a refresh sees
    assertThat(e.facts(Fact.Kind.FIELD_CHANGE)).extracting(Fact::time).contains(25_000_000L).doesNotContain(1_000_000L, 13_000_000L);
    assertThat(Duration.ofNanos(e.facts(Fact.Kind.INPUT_REFRESH).get(0).time())).isEqualTo(Duration.ofMillis(30));
  }
}
