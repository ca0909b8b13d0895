package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.chain;
import static dev.scanloom.examples.situations.Situation.fact;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.explain.Counterfactual;
import dev.scanloom.explain.Disagreements;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/** S01, S02, S03, S06, S12, S38: coils, their order, and what screens make of them. Expectations derived by hand; common practice. */
class CoilsAndOrderTest {
  private static final ScanPolicy IMAGE = ScanPolicy.image();

  // ---- S01: a coil addresses an input location between two contacts that read it ----
  // Steps of the program, by hand from the drawing: network 1 reads Hatch at step 2, network 2 writes it at step 10, network 3 reads it
  // at step 12.

  private static ScanPolicy screens(ScanPolicy p) {
    return p.withDisplay("early", DisplaySampling.scanStart(), Painting.fromSample()).withDisplay("late", DisplaySampling.scanEnd(),
        Painting.fromSample())
        .withDisplay("truth", DisplaySampling.scanEnd(), Painting.fromExecution());
  }

  private static boolean[] painted(Situation.Run r, String display) {
    // elements 0, 2, 4 are the contacts of networks 1, 2, 3
    return new boolean[] {r.controller.display(display).painted(0), r.controller.display(display).painted(4)};
  }

  @Test
  void s01UnderImageInputsThePermitIsOff() {
    Situation.Run r = Situation.of("S01", "kiln.st").inputs("inputs.csv").run(screens(IMAGE), 3);
    assertThat(r.memory("HatchLamp")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.memory("GasPermit")).containsExactly("FALSE", "FALSE", "FALSE");
    assertThat(r.field("GasPermit")).containsExactly("FALSE", "FALSE", "FALSE");
    assertThat(r.field("Hatch")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.memory("Hatch")).containsExactly("FALSE", "FALSE", "FALSE");
    assertThat(r.controller.display().executed(0)).isTrue();
    assertThat(r.controller.display().executed(4)).isFalse();
    assertThat(painted(r, "early")).containsExactly(true, true);
    assertThat(r.controller.display("early").get(r.controller.bool("Hatch"))).isTrue();
    assertThat(painted(r, "late")).containsExactly(false, false);
    assertThat(r.controller.display("late").get(r.controller.bool("Hatch"))).isFalse();
    assertThat(painted(r, "truth")).containsExactly(true, false);
    assertThat(chain(r.why("GasPermit", 3))).containsExactly(
        "WRITE GasPermit=FALSE 3/15 network 3",
        "READ Hatch=FALSE 3/12 network 3",
        "WRITE Hatch=FALSE 3/10 network 2",
        "READ Service=FALSE 3/7 network 2",
        "INPUT_REFRESH Service=FALSE 3/0",
        "INITIAL Service=FALSE 0/0");
    assertThat(chain(r.why("HatchLamp", 3))).containsExactly(
        "WRITE HatchLamp=TRUE 3/5 network 1",
        "READ Hatch=TRUE 3/2 network 1",
        "INPUT_REFRESH Hatch=TRUE 3/0",
        "FIELD_CHANGE Hatch=TRUE 0/0");
    assertThat(fact(r.why("GasPermit", 3), Fact.Kind.WRITE, "Hatch").words()).contains("network 2")
        .contains("where the input refresh had stored TRUE");
  }

  @Test
  void s01TheScreenThatSamplesEarlyIsWrongAboutNetwork3AndTheLateOneAboutNetwork1() {
    Situation.Run r = Situation.of("S01", "kiln.st").inputs("inputs.csv").run(screens(IMAGE), 2);
    List<Disagreements.Row> rows = r.disagreements.rows(2).stream().filter(x -> x.title().equals("contact Hatch")
        && x.painted().isPresent() && x.painted().get() != x.executed()).toList();
    assertThat(rows).extracting(x -> x.network() + " " + x.display()).containsExactly("1 screen", "1 late", "3 early");
    assertThat(rows).allSatisfy(x -> {
      assertThat(x.field()).isEqualTo(Optional.of(true));
      assertThat(x.separation()).hasValueSatisfying(s -> {
        assertThat(s.network()).isEqualTo(2);
        assertThat(s.ordinal()).isEqualTo(10);
        assertThat(s.scan()).isEqualTo(2);
        assertThat(s.value()).isFalse();
      });
    });
  }

  @Test
  void s01UnderImmediateInputsThePermitIsOn() {
    Situation.Run r = Situation.of("S01", "kiln.st").inputs("inputs.csv").run(screens(ScanPolicy.immediate()), 3);
    assertThat(r.memory("HatchLamp")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.memory("GasPermit")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.field("GasPermit")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.memory("Hatch")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(r.controller.display("late").get(r.controller.bool("Hatch"))).isTrue();
    assertThat(chain(r.why("GasPermit", 2))).containsExactly(
        "WRITE GasPermit=TRUE 2/15 network 3",
        "READ Hatch=TRUE 2/12 network 3",
        "INPUT_REFRESH Hatch=TRUE 2/12",
        "FIELD_CHANGE Hatch=TRUE 0/0");
    assertThat(fact(r.why("GasPermit", 2), Fact.Kind.INPUT_REFRESH, "Hatch").words()).contains("where network 2 had written 0");
  }

  /** Costs: 50 us of input refresh, 100 ns a step: step k begins 50 us + (k - 1) * 100 ns after the scan did. */
  private static Situation.Run asynchronous(long phase) {
    ScanPolicy p = IMAGE.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)))
        .withInputs(InputAcquisition.asynchronous(Duration.ofMillis(10), Duration.ofNanos(phase)));
    return Situation.of("S01", "kiln.st").inputs("inputs.csv").run(p, 3);
  }

  @Test
  void s01UnderAsynchronousInputsTheMomentOfTheRefreshDecides() {
    // at 51.05 us: behind network 2's write (step 10, begun at 50.9 us), before network 3's read (step 12, begun at 51.1 us)
    Situation.Run between = asynchronous(51_050);
    // the first scan's network 1 still reads the initial 0; later ones what the refresh of the scan before left
    assertThat(between.memory("HatchLamp")).containsExactly("FALSE", "TRUE", "TRUE");
    assertThat(between.memory("GasPermit")).containsExactly("TRUE", "TRUE", "TRUE");
    Fact refresh = fact(between.why("GasPermit", 2), Fact.Kind.INPUT_REFRESH, "Hatch");
    assertThat(refresh.scan()).isEqualTo(2);
    assertThat(refresh.ordinal()).isEqualTo(11);
    // due inside step 11, done before the next step begins
    assertThat(refresh.time()).isEqualTo(10_051_100);
    // at the start of the scan: as under image inputs
    Situation.Run before = asynchronous(0);
    assertThat(before.memory("HatchLamp")).containsExactly("TRUE", "TRUE", "TRUE");
    assertThat(before.memory("GasPermit")).containsExactly("FALSE", "FALSE", "FALSE");
    assertThat(fact(before.why("GasPermit", 2), Fact.Kind.WRITE, "Hatch").network()).isEqualTo(2);
  }

  @Test
  void s01WithoutNetwork2AllPoliciesAgree() {
    for (ScanPolicy p : List.of(IMAGE, ScanPolicy.immediate(), ScanPolicy.asynchronous(Duration.ofNanos(700)))) {
      Situation.Run r = Situation.of("S01", "kiln-cured.st").inputs("inputs.csv").run(screens(p), 3);
      assertThat(r.memory("HatchLamp", 3)).isEqualTo("TRUE");
      assertThat(r.memory("GasPermit", 3)).isEqualTo("TRUE");
      assertThat(r.disagreements.rows(3)).isEmpty();
    }
  }

  @Test
  void s01WhatWouldCureIt() {
    List<Counterfactual> found = Counterfactual.find(Situation.of("S01", "kiln.st").inputs("inputs.csv").setup(IMAGE, 2),
        new Counterfactual.Result("GasPermit", false, 2));
    assertThat(found).extracting(f -> f.change().words()).containsExactly(
        "Service is TRUE instead of FALSE in scan 2",
        "network 2 of Kiln (kiln.st:11:1) is removed",
        "input acquisition is immediate");
    assertThat(found).allMatch(f -> f.before().equals("FALSE") && f.after().equals("TRUE"));
    Counterfactual.Setup run = Situation.of("S01", "kiln.st").inputs("inputs.csv").setup(IMAGE, 2);
    assertThat(Counterfactual.parting(run, run.withPolicy(ScanPolicy.immediate()))).hasValueSatisfying(p -> {
      assertThat(p.ordinal()).isEqualTo(12);
      assertThat(p.first()).isEqualTo("read FALSE from Hatch");
      assertThat(p.second()).isEqualTo("read TRUE from Hatch");
    });
  }

  // ---- S02: two coils write the same output ----

  @Test
  void s02TheLastWriteOfTheScanWins() {
    Situation.Run r = Situation.of("S02", "belt.st").inputs("inputs.csv").run(IMAGE, 5);
    // scans 1-2: Jam only; 3-4: Call only; 5: both
    assertThat(r.memory("Horn")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE", "TRUE");
    assertThat(r.field("Horn")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE", "TRUE");
    assertThat(chain(r.why("Horn", 2))).containsExactly(
        "WRITE Horn=FALSE 2/10 network 2", "READ Call=FALSE 2/7 network 2", "INPUT_REFRESH Call=FALSE 2/0", "INITIAL Call=FALSE 0/0");
    assertThat(fact(r.why("Horn", 2), Fact.Kind.WRITE, "Horn").words()).contains("where network 1 had written TRUE");
  }

  @Test
  void s02AScreenPaintsNetwork1AgainstItsOwnLogic() {
    Situation.Run r = Situation.of("S02", "belt.st").inputs("inputs.csv").run(IMAGE, 4);
    // element 1 is network 1's coil: scan 2 its link is ON and it is painted off, scan 4 the other way round
    for (int scan : new int[] {2, 4}) {
      Disagreements.Row row = r.disagreements.rows(scan).stream().filter(x -> x.element() == 1).findFirst().orElseThrow();
      assertThat(row.executed()).isEqualTo(scan == 2);
      assertThat(row.painted()).isEqualTo(Optional.of(scan != 2));
      assertThat(row.separation()).hasValueSatisfying(s -> assertThat(s.network()).isEqualTo(2));
    }
  }

  @Test
  void s02UnderImmediateOutputsTheTerminalPulses() {
    Situation.Run r = Situation.of("S02", "belt.st").inputs("inputs.csv").run(ScanPolicy.immediate(), 2);
    assertThat(r.terminals).containsExactly("1:0>1", "1:1>0", "2:0>1", "2:1>0");
    Explanation e = r.whyField("Horn", 2);
    assertThat(chain(e)).startsWith("DELIVERY Horn=FALSE 2/10", "WRITE Horn=FALSE 2/10 network 2");
  }

  // ---- S03: networks ordered against the data flow ----

  @Test
  void s03EachBackwardReferenceCostsAScan() {
    Situation.Run r = Situation.of("S03", "paintline.st").inputs("inputs.csv").run(IMAGE, 5);
    // the part comes in scan 2; two backward references: the oven in scan 4
    assertThat(r.memory("Booth1")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE", "TRUE");
    assertThat(r.memory("Booth2")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE", "TRUE");
    assertThat(r.memory("Oven")).containsExactly("FALSE", "FALSE", "FALSE", "TRUE", "TRUE");
    assertThat(chain(r.why("Oven", 4))).containsExactly(
        "WRITE Oven=TRUE 4/5 network 1",
        "READ Booth2=TRUE 4/2 network 1",
        "WRITE Booth2=TRUE 3/10 network 2",
        "READ Booth1=TRUE 3/7 network 2",
        "WRITE Booth1=TRUE 2/15 network 3",
        "READ Part=TRUE 2/12 network 3",
        "INPUT_REFRESH Part=TRUE 2/0",
        "FIELD_CHANGE Part=TRUE 1/0");
    Situation.Run ordered = Situation.of("S03", "paintline-ordered.st").inputs("inputs.csv").run(IMAGE, 5);
    assertThat(ordered.memory("Oven")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE", "TRUE");
  }

  @Test
  void s03TheDelayIsTheSameUnderEveryPolicy() {
    for (ScanPolicy p : List.of(ScanPolicy.immediate(), ScanPolicy.asynchronous(Duration.ofNanos(100)))) {
      Situation.Run r = Situation.of("S03", "paintline.st").inputs("inputs.csv").run(p, 5);
      assertThat(r.memory("Oven")).containsExactly("FALSE", "FALSE", "FALSE", "TRUE", "TRUE");
    }
  }

  // ---- S06: a coil goes TRUE then FALSE within one scan ----

  @Test
  void s06TheTerminalNeverMovesUnderImageOutputs() {
    Situation.Run r = Situation.of("S06", "press.st").inputs("inputs.csv").run(IMAGE, 3);
    assertThat(r.terminals).isEmpty();
    Explanation e = r.whyField("Valve", 3);
    assertThat(chain(e)).startsWith("DELIVERY Valve=FALSE 3/5", "WRITE Valve=FALSE 3/4 line 8");
    assertThat(fact(e, Fact.Kind.WRITE, "Valve").words()).contains("where step 2 had written TRUE");
  }

  @Test
  void s06TheTerminalPulsesUnderImmediateOutputs() {
    Situation.Run r = Situation.of("S06", "press.st").inputs("inputs.csv").run(IMAGE.withOutputs(OutputDelivery.immediate()), 3);
    assertThat(r.terminals).containsExactly("1:0>1", "1:1>0", "2:0>1", "2:1>0", "3:0>1", "3:1>0");
  }

  @Test
  void s06AnAsynchronousDeliveryCanCatchTheMoment() {
    // step k begins at 50 us + (k - 1) * 100 ns; Valve is TRUE from step 2 (50.1 us) to step 4 (50.3 us)
    for (long phase : new long[] {50_250, 60_000}) {
      ScanPolicy p = IMAGE.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)))
          .withOutputs(OutputDelivery.asynchronous(Duration.ofMillis(10), Duration.ofNanos(phase)));
      Situation.Run r = Situation.of("S06", "press.st").inputs("inputs.csv").run(p, 2);
      assertThat(r.field("Valve", 2)).isEqualTo(phase == 50_250 ? "TRUE" : "FALSE");
    }
  }

  // ---- S12: a jump skips a network with a coil ----

  @Test
  void s12TheSkippedCoilHoldsItsLastValue() {
    Situation.Run r = Situation.of("S12", "fan.st").inputs("inputs.csv").run(IMAGE, 4);
    // scans 2 and 3: Manual, Heat gone; scan 4: the same network executed without power flow
    assertThat(r.memory("Fan")).containsExactly("TRUE", "TRUE", "TRUE", "FALSE");
    assertThat(r.memory("Idle")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE");
    Explanation e = r.why("Fan", 3);
    assertThat(fact(e, Fact.Kind.WRITE, "Fan").scan()).isEqualTo(1);
    Fact unchanged = fact(e, Fact.Kind.UNCHANGED, "Fan");
    assertThat(unchanged.scan()).isEqualTo(3);
    assertThat(unchanged.because()).singleElement().satisfies(d -> {
      assertThat(d.kind()).isEqualTo(Fact.Kind.DECISION);
      assertThat(d.network()).isEqualTo(1);
      assertThat(d.bits()).isEqualTo(1);
    });
    assertThat(unchanged.because().get(0).words()).isEqualTo("network 1 jumped to Behind at step 7");
    // why it was written in scan 1, and why not in scan 3
    assertThat(e.facts(Fact.Kind.READ).stream().filter(f -> f.subject().equals("Manual")).map(Situation::brief))
        .containsExactly("READ Manual=FALSE 1/2 network 1", "READ Manual=TRUE 3/2 network 1");
    assertThat(chain(r.why("Fan", 4))).startsWith("WRITE Fan=FALSE 4/12 network 2", "READ Heat=FALSE 4/9 network 2");
  }

  @Test
  void s12TheScreenPaintsTheSkippedNetwork() {
    Situation.Run r = Situation.of("S12", "fan.st").inputs("inputs.csv").run(IMAGE, 3);
    Disagreements.Row contact = r.disagreements.rows(3).stream().filter(x -> x.title().equals("contact Heat") && x.network() == 2)
        .findFirst().orElseThrow();
    assertThat(contact.evaluatedIn()).isEqualTo(1);
    assertThat(contact.executed()).isTrue();
    assertThat(contact.painted()).isEqualTo(Optional.of(false));
    assertThat(contact.separation()).hasValueSatisfying(s -> assertThat(s.words()).isEqualTo("an input refresh stored 0 of scan 2"));
  }

  // ---- S38: motor starter with seal-in ----

  private static Situation.Run starter(int scans, Object... inputs) {
    Situation.Run r = Situation.of("S38", "starter.st").run(IMAGE, 0);
    List<Counterfactual.Input> all = new java.util.ArrayList<>();
    for (int i = 0; i < inputs.length; i += 3) {
      all.add(new Counterfactual.Input((int) inputs[i], (String) inputs[i + 1], (String) inputs[i + 2]));
    }
    r.scan(all, scans);
    return r;
  }

  @Test
  void s38SealsItselfInThroughTheContactor() {
    // the contactor's auxiliary closes in the scan after the coil pulled it in
    Situation.Run r = starter(6, 1, "StopOk", "TRUE", 2, "Start", "TRUE", 3, "Contactor", "TRUE", 4, "Start", "FALSE", 6, "StopOk",
        "FALSE");
    assertThat(r.memory("Motor")).containsExactly("FALSE", "TRUE", "TRUE", "TRUE", "TRUE", "FALSE");
    Explanation on = r.why("Motor", 5);
    assertThat(on.facts(Fact.Kind.READ)).extracting(Fact::subject).contains("Contactor", "StopOk").doesNotContain("Start");
    Explanation off = r.why("Motor", 6);
    assertThat(off.facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactly("Motor", "StopOk");
    assertThat(off.facts(Fact.Kind.FIELD_CHANGE)).singleElement().satisfies(f -> assertThat(f.scan()).isEqualTo(5));
  }

  @Test
  void s38StopDominatesWhenBothAreHeld() {
    Situation.Run r = starter(2, 1, "Start", "TRUE", 1, "StopOk", "FALSE");
    assertThat(r.memory("Motor")).containsExactly("FALSE", "FALSE");
    assertThat(r.why("Motor", 2).facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactly("Motor", "StopOk");
  }

  @Test
  void s38WithoutTheAuxiliaryItRunsOnlyWhileStartIsPressed() {
    Situation.Run r = starter(4, 1, "StopOk", "TRUE", 2, "Start", "TRUE", 4, "Start", "FALSE");
    assertThat(r.memory("Motor")).containsExactly("FALSE", "TRUE", "TRUE", "FALSE");
    assertThat(r.why("Motor", 4).facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactlyInAnyOrder("Motor", "Start", "Contactor");
  }

  @Test
  void s38StaysOffWhenPowerReturns() {
    Situation.Run r = starter(4, 1, "StopOk", "TRUE", 2, "Start", "TRUE", 3, "Contactor", "TRUE", 4, "Start", "FALSE");
    assertThat(r.memory("Motor", 4)).isEqualTo("TRUE");
    // power fails: the contactor drops, the controller restarts warm when power is back
    r.controller.field().set(r.controller.bool("Contactor"), false);
    r.controller.restartWarm();
    assertThat(r.provenance.why(r.controller.variable("Motor")).facts(Fact.Kind.INITIAL)).hasSize(1);
    r.controller.scan(3);
    assertThat(r.controller.memory().text(r.controller.variable("Motor"))).isEqualTo("FALSE");
    assertThat(r.controller.field().text(r.controller.variable("Motor"))).isEqualTo("FALSE");
  }
}
