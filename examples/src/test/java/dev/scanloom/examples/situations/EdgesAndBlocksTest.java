package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.EVERY_10_MS;
import static dev.scanloom.examples.situations.Situation.chain;
import static dev.scanloom.examples.situations.Situation.fact;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/**
 * S07, S08, S09, S11, S30, S32: edges and instances. None depends on when inputs are read, so each holds under every policy; expectations
 * derived by hand.
 */
class EdgesAndBlocksTest {

  static List<ScanPolicy> policies() {
    return List.of(EVERY_10_MS, Situation.timed(ScanPolicy.immediate()));
  }

  private static Fact last(Explanation e, Fact.Kind kind, String subject) {
    return e.facts().stream().filter(f -> f.kind() == kind && f.subject().equals(subject) && f.id() > 1).findFirst()
        .orElseThrow(() -> new AssertionError("no " + kind + " " + subject + " in\n" + e));
  }

  @ParameterizedTest
  @MethodSource("policies")
  void s07TheSecondNetworkNeverSeesTheEdge(ScanPolicy policy) {
    Situation.Run r = Situation.of("S07", "counter.st").inputs("inputs.csv").run(policy, 6);
    assertThat(r.memory("First")).containsExactly("0", "1", "1", "2", "2", "2");
    assertThat(r.memory("Second")).containsOnly("0");
    // scan 4, with an edge at hand: the second IF reads the memory that the first one's network had just written
    Explanation e = r.why("Second", 4);
    assertThat(fact(e, Fact.Kind.INITIAL, "Second").value()).isEqualTo("0");
    Fact unchanged = fact(e, Fact.Kind.UNCHANGED, "Second");
    assertThat(unchanged.because()).singleElement().satisfies(d -> {
      assertThat(d.subject()).isEqualTo("Eye AND NOT Memory");
      assertThat(d.value()).isEqualTo("FALSE");
      assertThat(d.span()).hasValueSatisfying(s -> assertThat(s.line()).isEqualTo(12));
    });
    Fact write = fact(e, Fact.Kind.WRITE, "Memory");
    assertThat(write.value()).isEqualTo("TRUE");
    assertThat(write.scan()).isEqualTo(4);
    assertThat(write.span()).hasValueSatisfying(s -> assertThat(s.line()).isEqualTo(11));
  }

  @ParameterizedTest
  @MethodSource("policies")
  void s08EachCallSeesTheOthersClock(ScanPolicy policy) {
    Situation.Run r = Situation.of("S08", "doors.st").inputs("inputs.csv").run(policy, 7);
    // scans 1-4: North stands at 1, South at 0: an edge every scan; from scan 5 both stand at 1: none, South's own edge is lost too
    assertThat(r.memory("NorthCount")).containsExactly("1", "2", "3", "4", "5", "5", "5");
    assertThat(r.memory("SouthCount")).containsOnly("0");
    Explanation spurious = r.why("NorthCount", 3);
    // the edge of scan 3 rests on the memory that the call for South left in scan 2
    Fact memory = spurious.facts().stream().filter(f -> f.kind() == Fact.Kind.READ && f.subject().equals("Edge.M") && f.scan() == 3)
        .findFirst().orElseThrow();
    assertThat(memory.value()).isEqualTo("FALSE");
    Fact left = memory.because().get(0);
    assertThat(left.scan()).isEqualTo(2);
    assertThat(left.body()).isEqualTo("R_TRIG");
    assertThat(spurious.facts().stream().filter(f -> f.kind() == Fact.Kind.READ && f.scan() == 2).map(Fact::subject)).contains("South");
    Explanation missing = r.why("SouthCount", 5);
    assertThat(last(missing, Fact.Kind.READ, "Edge.M").value()).isEqualTo("TRUE");
    assertThat(last(missing, Fact.Kind.READ, "North").scan()).isEqualTo(5);
  }

  @ParameterizedTest
  @MethodSource("policies")
  void s09AnEdgeThatHappenedWhileNotCalledIsReportedLate(ScanPolicy policy) {
    Situation.Run r = Situation.of("S09", "silo.st").inputs("inputs.csv").run(policy, 7);
    // the button rises in scan 3, the block is called again in scan 6
    assertThat(r.memory("Fills")).containsExactly("0", "0", "0", "0", "0", "1", "1");
    Explanation e = r.why("Fills", 6);
    Fact memory = last(e, Fact.Kind.READ, "Edge.M");
    assertThat(memory.scan()).isEqualTo(6);
    assertThat(memory.because().get(0).scan()).as("the last call before").isEqualTo(1);
    assertThat(last(e, Fact.Kind.FIELD_CHANGE, "Button").scan()).as("set behind scan 2").isEqualTo(2);
    Explanation meanwhile = r.why("Fills", 5);
    assertThat(fact(meanwhile, Fact.Kind.READ, "Allowed").value()).isEqualTo("FALSE");
  }

  /** IEC 61131-3 Table 43: SR is set-dominant, RS reset-dominant (from memory). */
  @ParameterizedTest
  @MethodSource("policies")
  void s11SetDominantAgainstResetDominant(ScanPolicy policy) {
    Situation.Run r = Situation.of("S11", "latches.st").inputs("inputs.csv").run(policy, 4);
    assertThat(r.memory("SetWins.Q1")).containsExactly("TRUE", "TRUE", "FALSE", "FALSE");
    assertThat(r.memory("ResetWins.Q1")).containsExactly("TRUE", "FALSE", "FALSE", "FALSE");
    // with both at 1 the dominant input alone decides
    assertThat(r.why("SetWins.Q1", 2).facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactly("SetWins.Q1", "SetWins.S1", "On");
    assertThat(r.why("ResetWins.Q1", 2).facts(Fact.Kind.READ)).extracting(Fact::subject).containsExactly("ResetWins.Q1", "ResetWins.R1",
        "Off");
  }

  @ParameterizedTest
  @MethodSource("policies")
  void s30AnOutputReadBeforeTheCallIsThePreviousScans(ScanPolicy policy) {
    Situation.Run r = Situation.of("S30", "pump.st").inputs("inputs.csv").run(policy, 4);
    assertThat(r.memory("Edge.Q")).containsExactly("FALSE", "TRUE", "FALSE", "FALSE");
    assertThat(r.memory("Pump")).containsExactly("FALSE", "FALSE", "TRUE", "FALSE");
    List<String> chain = chain(r.why("Pump", 3));
    assertThat(chain).startsWith("WRITE Pump=TRUE 3/2 line 8", "READ Edge.Q=TRUE 3/1 line 8");
    assertThat(chain.get(2)).startsWith("WRITE Edge.Q=TRUE 2/");
  }

  @ParameterizedTest
  @MethodSource("policies")
  void s32ABlockNoLongerCalledKeepsItsOutputs(ScanPolicy policy) {
    Situation.Run r = Situation.of("S32", "heater.st").inputs("inputs.csv").run(policy, 8);
    // the timer starts at 0 ms and is over at 20 ms, in scan 3; from scan 5 the block is not called although it is warm
    assertThat(r.memory("North.Burner")).containsExactly("FALSE", "FALSE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE", "TRUE");
    assertThat(r.memory("North.Wait.ET", 8)).isEqualTo("T#20ms");
    assertThat(r.memory("North.Wait.Q", 8)).isEqualTo("TRUE");
    assertThat(r.field("Flame", 8)).isEqualTo("TRUE");
    Explanation flame = r.why("Flame", 8);
    assertThat(chain(flame).get(2)).startsWith("WRITE North.Burner=TRUE 4/").endsWith("line 13");
    Explanation burner = r.why("North.Burner", 8);
    Fact unchanged = fact(burner, Fact.Kind.UNCHANGED, "North.Burner");
    assertThat(unchanged.because()).singleElement().satisfies(d -> assertThat(d.subject()).isEqualTo("NOT Summer"));
    assertThat(burner.facts().stream().filter(f -> f.kind() == Fact.Kind.READ && f.subject().equals("Summer") && f.scan() == 8))
        .singleElement()
        .satisfies(f -> assertThat(f.value()).isEqualTo("TRUE"));
  }
}
