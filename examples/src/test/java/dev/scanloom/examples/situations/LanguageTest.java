package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.EVERY_10_MS;
import static dev.scanloom.examples.situations.Situation.chain;
import static dev.scanloom.examples.situations.Situation.fact;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.Compiler;
import dev.scanloom.Fault;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;

/** S25 to S28, S33, S36: faults, numbers, the first scan, loops and side effects. Expectations derived by hand, or by the source named. */
class LanguageTest {

  @Test
  void s25AnIndexOneTooFarIsAFaultAndNeverTouchesTheNeighbour() {
    for (ScanPolicy p : List.of(EVERY_10_MS, Situation.timed(ScanPolicy.immediate()))) {
      Situation.Run r = Situation.of("S25", "racks.st").inputs("inputs.csv").run(p, 4);
      assertThat(r.memory("Guard")).containsExactly("77", "77");
      Fault f = r.controller.fault().orElseThrow();
      assertThat(f.code()).isEqualTo("fault/index-range");
      assertThat(f.message()).contains("5").contains("1..4");
      assertThat(f.scan()).isEqualTo(3);
      assertThat(f.span().line()).isEqualTo(8);
      assertThat(f.variables()).contains("Slot");
      assertThat(r.controller.memory().text(r.controller.variable("Guard"))).isEqualTo("77");
      assertThat(r.controller.memory().text(r.controller.variable("Weights[4]"))).isEqualTo("500");
      // why it was 5
      Explanation slot = r.provenance.why(r.controller.variable("Slot"));
      assertThat(slot.value()).isEqualTo("5");
      assertThat(slot.facts(Fact.Kind.FIELD_CHANGE)).singleElement().satisfies(x -> assertThat(x.scan()).isEqualTo(2));
      // the element written in scan 2 was chosen by the index read then
      Explanation weight = r.provenance.why(r.controller.variable("Weights[4]"));
      assertThat(fact(weight, Fact.Kind.READ, "Slot").value()).isEqualTo("4");
    }
  }

  /** Two's complement, java.lang.Math.addExact as the check from outside. */
  @Test
  void s26AccumulatorsWrapByDefault() {
    Situation.Run r = Situation.of("S26", "totals.st").inputs("inputs.csv").run(EVERY_10_MS, 4);
    assertThat(r.memory("Total")).containsExactly("32700", Short.toString((short) 32_768), Short.toString((short) 32_836),
        Short.toString((short) 32_904));
    long halfDay = 43_200_000_000_000L;
    long start = 106_751L * 2 * halfDay;
    // 2^63 ns are 106,751 days, 23 hours and 47 minutes: the first addition fits, the second does not
    assertThat(Math.addExact(start, halfDay)).isPositive();
    assertThat(start + 2 * halfDay).isNegative();
    assertThat(r.controller.memory().bits(r.controller.variable("Worked"))).isEqualTo(start + 4 * halfDay);
    Explanation e = r.why("Total", 2);
    assertThat(e.facts(Fact.Kind.READ).stream().skip(1).map(f -> f.subject() + "=" + f.value())).containsExactly(
        "Total=32700", "Total=32000", "Dose=700", "Dose=68");
  }

  @Test
  void s26ByProfileTheyFault() {
    Compiler strict = Compiler.standard().withChoices(ImplementerChoices.standard().withIntegerOverflow(ImplementerChoices.Overflow.FAULT));
    Situation.Run r = Situation.of("S26", "totals.st").inputs("inputs.csv").compiler(strict).run(EVERY_10_MS, 4);
    Fault f = r.controller.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/overflow");
    assertThat(f.scan()).isEqualTo(2);
    assertThat(f.span().line()).isEqualTo(8);
    assertThat(r.controller.memory().text(r.controller.variable("Total"))).isEqualTo("32700");
  }

  /** IEEE 754 binary32, by Java's float. */
  @Test
  void s27TenTenthsAreNotOne() {
    float sum = 0;
    for (int i = 0; i < 10; i++) {
      sum += 0.1f;
    }
    Situation.Run r = Situation.of("S27", "blend.st").run(EVERY_10_MS, 1);
    assertThat(r.controller.memory().get(r.controller.real("Sum"))).isEqualTo((double) sum);
    assertThat(r.memory("Equal", 1)).isEqualTo(sum == 1.0f ? "TRUE" : "FALSE").isEqualTo("FALSE");
    assertThat(r.memory("Near", 1)).isEqualTo("TRUE");
    Explanation e = r.why("Equal", 1);
    assertThat(e.facts(Fact.Kind.WRITE).stream().filter(f -> f.subject().equals("Sum"))).as("0.0 and ten additions").hasSize(11);
  }

  @Test
  void s28InitializationThenRefreshThenLogic() {
    Situation.Run r = Situation.of("S28", "boiler.st").run(EVERY_10_MS, 0);
    assertThat(r.controller.memory().text(r.controller.variable("Level"))).isEqualTo("7");
    assertThat(chain(r.provenance.why(r.controller.variable("Level")))).containsExactly("INITIAL Level=7 0/0");
    r = Situation.of("S28", "boiler.st").inputs("inputs.csv").run(EVERY_10_MS, 2);
    // the first input refresh came between the initial 7 and the logic
    assertThat(r.memory("AtStart")).containsExactly("55", "55");
    assertThat(r.memory("Level")).containsExactly("55", "60");
    Explanation e = r.why("AtStart", 2);
    assertThat(fact(e, Fact.Kind.INPUT_REFRESH, "Level").scan()).isEqualTo(1);
    assertThat(fact(e, Fact.Kind.FIELD_CHANGE, "Level").value()).isEqualTo("55");
    // why in scan 1, and why no more in scan 2
    assertThat(e.facts(Fact.Kind.READ).stream().filter(f -> f.subject().equals("First")).map(f -> f.value() + " " + f.because().get(0)
        .kind()))
        .containsExactly("TRUE INITIAL", "FALSE WRITE");
    // a warm restart: retained values are kept, the others initialized, then again refresh and logic
    r.controller.restartWarm();
    assertThat(r.provenance.why(r.controller.variable("Starts")).facts(Fact.Kind.RETAINED)).extracting(Fact::value).containsExactly("1");
    assertThat(r.provenance.why(r.controller.variable("AtStart")).facts(Fact.Kind.INITIAL)).extracting(Fact::value).containsExactly("-1");
    r.controller.scan();
    assertThat(r.controller.memory().text(r.controller.variable("Starts"))).isEqualTo("2");
    assertThat(r.controller.memory().text(r.controller.variable("AtStart"))).isEqualTo("60");
    assertThat(r.provenance.why(r.controller.variable("Starts")).facts(Fact.Kind.RETAINED)).hasSize(1);
    // a cold restart forgets them
    r.controller.restartCold();
    r.controller.scan();
    assertThat(r.controller.memory().text(r.controller.variable("Starts"))).isEqualTo("1");
  }

  @Test
  void s28WithoutARefreshTheLogicSeesTheInitialValue() {
    // an I/O subsystem that comes only at 5 ms: the first scan's logic reads 7
    ScanPolicy late = EVERY_10_MS.withInputs(InputAcquisition.asynchronous(java.time.Duration.ofMillis(10),
        java.time.Duration.ofMillis(5)));
    Situation.Run r = Situation.of("S28", "boiler.st").inputs("inputs.csv").run(late, 2);
    assertThat(r.memory("AtStart")).containsExactly("7", "7");
    assertThat(fact(r.why("AtStart", 2), Fact.Kind.INITIAL, "Level").value()).isEqualTo("7");
  }

  @Test
  void s33ALoopThatRunsTooLongIsStoppedAtItsStep() {
    for (ImplementerChoices.FaultReaction reaction : ImplementerChoices.FaultReaction.values()) {
      Compiler c = Compiler.standard().withLimits(Limits.standard().withStepsPerScan(1_000))
          .withChoices(ImplementerChoices.standard().withFaultReaction(reaction));
      Situation.Run r = Situation.of("S33", "search.st").inputs("inputs.csv").compiler(c).run(EVERY_10_MS, 3);
      Fault f = r.controller.fault().orElseThrow();
      assertThat(f.code()).isEqualTo("fault/watchdog");
      assertThat(f.scan()).isEqualTo(2);
      // 1,000 steps were executed; the next one is refused
      assertThat(f.ordinal()).isEqualTo(1_001);
      assertThat(f.span().line()).isBetween(10, 12);
      assertThat(r.field("Beacon", 1)).isEqualTo("TRUE");
      assertThat(r.controller.field().text(r.controller.variable("Beacon")))
          .isEqualTo(reaction == ImplementerChoices.FaultReaction.STOP_SAFE ? "FALSE" : "TRUE");
      // the trace is whole up to the fault: why it went on searching
      Explanation e = r.provenance.why(r.controller.variable("Tries"));
      assertThat(e.facts(Fact.Kind.READ)).extracting(Fact::subject).contains("Search", "Found");
      assertThat(e.facts(Fact.Kind.FIELD_CHANGE)).extracting(Fact::subject).contains("Search");
    }
  }

  @Test
  void s36WhetherAnOperandIsEvaluatedIsAChoice() {
    Situation.Run all = Situation.of("S36", "dosing.st").inputs("inputs.csv").run(EVERY_10_MS, 4);
    assertThat(all.memory("Doses")).containsExactly("1", "2", "3", "4");
    assertThat(all.memory("Done")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE");
    Compiler shortened = Compiler.standard().withChoices(ImplementerChoices.standard().withShortCircuit(true));
    Situation.Run some = Situation.of("S36", "dosing.st").inputs("inputs.csv").compiler(shortened).run(EVERY_10_MS, 4);
    assertThat(some.memory("Doses")).containsExactly("0", "0", "1", "2");
    assertThat(some.memory("Done")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE");
    // the left operand decided both times; what differs is whether the right one was called
    Explanation e = some.why("Doses", 2);
    assertThat(fact(e, Fact.Kind.UNCHANGED, "Doses").scan()).isEqualTo(2);
    assertThat(e.facts(Fact.Kind.READ)).extracting(Fact::subject).contains("Enable");
    assertThat(some.why("Done", 2).facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactly("Done", "Enable");
  }
}
