package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.fact;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.Controller;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.List;
import java.util.function.Consumer;
import org.junit.jupiter.api.Test;

/** S04, S05: pulses shorter than the scan, and an input read twice. Expectations derived by hand; common practice. */
class InputsTest {
  private static final long US = 1_000;
  private static final long MS = 1_000_000;

  /** A step takes 1 ms, phases nothing; a scan every 20 ms: step k begins at (k - 1) ms. */
  private static final ScanPolicy SLOW = ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(20)))
      .withCosts(CostModel.fixed(Duration.ofMillis(1), Duration.ZERO, Duration.ZERO, Duration.ZERO));

  private static Consumer<Controller> pulse(String input, long from, long to) {
    return c -> {
      c.field().setAt(from, c.bool(input), true);
      c.field().setAt(to, c.bool(input), false);
    };
  }

  // ---- S04: an input pulse shorter than the scan ----
  // The barrier is read by step 9, which begins 8 ms after its scan did.

  @Test
  void s04ImageInputsMissAPulseBetweenTwoRefreshes() {
    Situation.Run r = Situation.of("S04", "barrier.st").run(SLOW, 2, pulse("Barrier", 7_500 * US, 8_500 * US));
    assertThat(r.memory("Seen")).containsExactly("FALSE", "FALSE");
    Explanation e = r.why("Seen", 1);
    assertThat(fact(e, Fact.Kind.UNCHANGED, "Seen").words()).contains("passed over");
    Fact read = fact(e, Fact.Kind.READ, "Barrier");
    assertThat(read.bits()).isZero();
    assertThat(read.ordinal()).isEqualTo(9);
    assertThat(fact(e, Fact.Kind.INPUT_REFRESH, "Barrier").ordinal()).isZero();
  }

  @Test
  void s04ImageInputsCatchAPulseThatHoldsDuringARefresh() {
    Situation.Run r = Situation.of("S04", "barrier.st").run(SLOW, 2, pulse("Barrier", 19_500 * US, 20_500 * US));
    assertThat(r.memory("Seen")).containsExactly("FALSE", "TRUE");
    assertThat(fact(r.why("Seen", 2), Fact.Kind.INPUT_REFRESH, "Barrier").words())
        .isEqualTo("the input refresh of scan 2 stored 1 in Barrier");
  }

  @Test
  void s04ImmediateInputsCatchAPulseDuringTheRead() {
    ScanPolicy p = SLOW.withInputs(InputAcquisition.immediate());
    Situation.Run r = Situation.of("S04", "barrier.st").run(p, 1, pulse("Barrier", 7_500 * US, 8_500 * US));
    assertThat(r.memory("Seen")).containsExactly("TRUE");
    Explanation e = r.why("Seen", 1);
    assertThat(fact(e, Fact.Kind.INPUT_REFRESH, "Barrier").words())
        .startsWith("the read itself first copied 1 from the terminal to Barrier at step 9");
    assertThat(fact(e, Fact.Kind.FIELD_CHANGE, "Barrier").time()).isBetween(7_500 * US, 8_000 * US);
    // over before the read: missed as well
    assertThat(Situation.of("S04", "barrier.st").run(p, 1, pulse("Barrier", 5_500 * US, 6_500 * US)).memory("Seen"))
        .containsExactly("FALSE");
  }

  @Test
  void s04AFastIoSubsystemCatchesItWhenARefreshAndThenAReadFallInside() {
    ScanPolicy p = SLOW.withInputs(InputAcquisition.asynchronous(Duration.ofMillis(1), Duration.ofNanos(700 * US)));
    Situation.Run r = Situation.of("S04", "barrier.st").run(p, 1, pulse("Barrier", 7_500 * US, 8_500 * US));
    assertThat(r.memory("Seen")).containsExactly("TRUE");
    assertThat(fact(r.why("Seen", 1), Fact.Kind.INPUT_REFRESH, "Barrier").words())
        .contains("the I/O subsystem stored 1 in Barrier after step 8");
    assertThat(Situation.of("S04", "barrier.st").run(p, 1, pulse("Barrier", 2_500 * US, 4_500 * US)).memory("Seen"))
        .containsExactly("FALSE");
  }

  /** Probability = pulse / scan period: of twenty phases 1 ms apart, a pulse of 4 ms holds at the refresh in four. */
  @Test
  void s04TheShareOfPulsesCaughtIsTheirLengthOverThePeriod() {
    int caught = 0;
    for (int k = 0; k < 20; k++) {
      long from = 20 * MS + k * MS + 500 * US;
      Situation.Run r = Situation.of("S04", "barrier.st").run(SLOW, 4, pulse("Barrier", from, from + 4 * MS));
      caught += r.memory("Seen", 4).equals("TRUE") ? 1 : 0;
    }
    assertThat(caught).isEqualTo(4);
  }

  // ---- S05: the same input read twice in one scan ----
  // Steps 1 and 2 read Closed; the terminal falls in between, at 0.5 ms of scan 2.

  private static Situation.Run gate(String program, ScanPolicy p) {
    return Situation.of("S05", program).run(p, 2, c -> {
      c.field().set(c.bool("Closed"), true);
      c.field().setAt(20 * MS + 500 * US, c.bool("Closed"), false);
    });
  }

  @Test
  void s05UnderImageInputsTheInterlockHolds() {
    Situation.Run r = gate("gate.st", SLOW);
    assertThat(r.memory("Ever", 2)).isEqualTo("FALSE");
    // both operands blocked in turn: the first FALSE one is told
    assertThat(r.why("Clash", 2).facts(Fact.Kind.READ)).extracting(Fact::ordinal).containsExactly(0L, 2L);
  }

  @Test
  void s05UnderImmediateInputsItPassesPower() {
    Situation.Run r = gate("gate.st", SLOW.withInputs(InputAcquisition.immediate()));
    assertThat(r.memory("Clash")).containsExactly("FALSE", "TRUE");
    Explanation e = r.why("Clash", 2);
    assertThat(e.facts(Fact.Kind.READ).stream().skip(1).map(Situation::brief)).containsExactly("READ Closed=TRUE 2/1 line 8",
        "READ Closed=FALSE 2/2 line 8");
    assertThat(e.facts(Fact.Kind.INPUT_REFRESH)).extracting(Fact::ordinal).containsExactly(1L, 2L);
    assertThat(e.facts(Fact.Kind.FIELD_CHANGE)).extracting(Fact::value).containsExactly("TRUE", "FALSE");
  }

  @Test
  void s05UnderAsynchronousInputsItDependsOnTheRefresh() {
    // a refresh at 20.7 ms falls between the reads at 20 ms and 21 ms; one at 20.2 ms does too, but still sees 1
    Situation.Run between = gate("gate.st", SLOW.withInputs(InputAcquisition.asynchronous(Duration.ofMillis(20),
        Duration.ofNanos(700 * US))));
    assertThat(between.memory("Clash", 2)).isEqualTo("TRUE");
    assertThat(between.why("Clash", 2).facts(Fact.Kind.INPUT_REFRESH)).extracting(Fact::scan).containsExactly(1L, 2L);
    Situation.Run early = gate("gate.st", SLOW.withInputs(InputAcquisition.asynchronous(Duration.ofMillis(20),
        Duration.ofNanos(200 * US))));
    assertThat(early.memory("Clash", 2)).isEqualTo("FALSE");
  }

  @Test
  void s05CopyingTheInputOnceCuresIt() {
    for (InputAcquisition a : List.of(InputAcquisition.image(), InputAcquisition.immediate(),
        InputAcquisition.asynchronous(Duration.ofMillis(20), Duration.ofNanos(700 * US)))) {
      assertThat(gate("gate-cured.st", SLOW.withInputs(a)).memory("Ever", 2)).isEqualTo("FALSE");
    }
  }
}
