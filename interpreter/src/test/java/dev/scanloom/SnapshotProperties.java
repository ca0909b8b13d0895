package dev.scanloom;

import static dev.scanloom.Runs.US;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatIllegalArgumentException;

import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.policy.TaskSwitching;
import java.time.Duration;
import java.util.List;
import java.util.SplittableRandom;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.IntRange;
import org.junit.jupiter.api.Test;

/** A snapshot restored has the identical future, event by event, under any policy, also from inside a scan. */
class SnapshotProperties {
  static final CompiledProgram PROGRAM = Runs.compile(
      "CONFIGURATION C",
      "VAR_GLOBAL Total, Ticks : DINT; Push : BOOL; Name : STRING[12]; END_VAR",
      "TASK Fast(INTERVAL := T#20us, PRIORITY := 1); TASK Slow(INTERVAL := T#90us, PRIORITY := 3); TASK Ev(SINGLE := Push, PRIORITY := 0);",
      "TASK Mid(INTERVAL := T#300us, PRIORITY := 2);",
      "PROGRAM f WITH Fast : F; PROGRAM s WITH Slow : S (pair WITH Mid); PROGRAM e WITH Ev : E;", "END_CONFIGURATION",
      "FUNCTION_BLOCK Pair VAR_INPUT x, y : DINT; END_VAR VAR_OUTPUT n, twice : DINT; odd : BOOL; END_VAR",
      "odd := odd OR x <> y; n := n + x; twice := n + n;", "END_FUNCTION_BLOCK",
      "PROGRAM F VAR_EXTERNAL Total : DINT; END_VAR VAR In0 AT %IX0.0 : BOOL; Out0 AT %QX0.0 : BOOL; END_VAR",
      "IF In0 THEN Total := Total + 1; END_IF; Out0 := NOT Out0 AND In0;", "END_PROGRAM",
      "PROGRAM S VAR_EXTERNAL Total : DINT; Name : STRING[12]; END_VAR VAR i, k : DINT; pair : Pair; odd : BOOL; Word1 AT %IW2 : WORD; Out1 AT %QW1 : WORD; END_VAR",
      "pair.x := Total; k := pair.n; FOR i := 1 TO 4 DO k := k + i; END_FOR; Total := k; Out1 := Word1; Name := 'abc';", "pair.y := pair.x; odd := odd OR pair.twice <> pair.n + pair.n OR pair.odd;", "END_PROGRAM",
      "PROGRAM E VAR_EXTERNAL Ticks : DINT; END_VAR", "Ticks := Ticks + 1;", "END_PROGRAM");

  private static InputAcquisition input(SplittableRandom r) {
    return switch (r.nextInt(3)) {
      case 0 -> InputAcquisition.image();
      case 1 -> InputAcquisition.immediate();
      default -> InputAcquisition.asynchronous(Runs.us(1 + r.nextInt(30)), Runs.us(r.nextInt(10)), Runs.us(r.nextInt(2)));
    };
  }

  private static OutputDelivery output(SplittableRandom r) {
    return switch (r.nextInt(3)) {
      case 0 -> OutputDelivery.image();
      case 1 -> OutputDelivery.immediate();
      default -> OutputDelivery.asynchronous(Runs.us(1 + r.nextInt(30)), Runs.us(r.nextInt(10)));
    };
  }

  static ScanPolicy policy(long seed) {
    SplittableRandom r = new SplittableRandom(seed);
    return ScanPolicy.image()
        .withInputs(input(r)).withInputs(2, 3, input(r))
        .withOutputs(output(r)).withOutputs(2, 2, output(r))
        .withDisplay("screen", r.nextBoolean() ? DisplaySampling.scanStart() : DisplaySampling.scanEnd(), Painting.fromSample())
        .withDisplay("panel", DisplaySampling.asynchronous(Runs.us(1 + r.nextInt(40)), Runs.us(r.nextInt(9)), 1 + r.nextInt(3)), Painting.fromExecution(),
            List.of("Total", "Ticks", "%IX0.0", "Name"))
        .withTrigger(switch (r.nextInt(3)) {
          case 0 -> ScanTrigger.freeRunning();
          case 1 -> ScanTrigger.onDemand();
          default -> ScanTrigger.periodic(Runs.us(10 + r.nextInt(100)));
        })
        .withExternalWrites(r.nextBoolean() ? ExternalWrites.betweenScans() : ExternalWrites.delayed(true, Runs.us(r.nextInt(5))))
        .withTaskSwitching(r.nextBoolean() ? TaskSwitching.preemptive() : TaskSwitching.nonPreemptive())
        .withCosts(CostModel.fixed(Duration.ofNanos(300 + r.nextInt(900)), Runs.us(r.nextInt(6)), Runs.us(r.nextInt(6)), Runs.us(r.nextInt(3))))
        .withFirmForces(r.nextBoolean())
        .withSeed(r.nextLong())
        .withImages(r.nextBoolean() ? ProcessImages.perTask() : ProcessImages.shared());
  }

  private static void stimulate(Controller c, SplittableRandom r) {
    for (int k = 0; k < 4; k++) {
      long at = c.time() + r.nextLong(200 * US);
      switch (r.nextInt(6)) {
        case 0 -> c.field().setAt(at, c.bool("%IX0.0"), r.nextBoolean());
        case 1 -> c.field().setAt(at, c.integer("%IW2"), r.nextInt(65_536));
        case 2 -> c.memory().setAt(at, c.bool("Push"), r.nextBoolean());
        case 3 -> c.memory().setAt(at, c.text("Name"), "n" + r.nextInt(100));
        case 4 -> c.force(c.bool("%IX0.0"), r.nextInt(2));
        default -> c.unforce(c.bool("%IX0.0"));
      }
    }
  }

  static void run(Controller c, SplittableRandom r, int rounds) {
    for (int k = 0; k < rounds; k++) {
      stimulate(c, r);
      if (r.nextInt(3) == 0) {
        for (int i = r.nextInt(12); i > 0; i--) {
          c.step();
        }
      } else {
        c.scan();
      }
    }
  }

  @Property(tries = 150)
  void theFutureOfASnapshotIsTheFuture(@ForAll long seed, @ForAll @IntRange(min = 0, max = 12) int before) {
    ScanPolicy p = policy(seed);
    Controller c = PROGRAM.newController(p);
    run(c, new SplittableRandom(seed ^ 1), before);
    Snapshot s = c.snapshot();
    String[] futures = new String[3];
    for (int k = 0; k < 3; k++) {
      // The same controller gone on with, gone back, and another one that starts from the snapshot.
      Controller d = k < 2 ? c : PROGRAM.newController(p);
      if (k > 0) {
        d.restore(s);
      }
      assertThat(d.time()).isEqualTo(s.time());
      assertThat(d.scans()).isEqualTo(s.scans());
      Trace t = Trace.hashOnly();
      d.attach(t);
      run(d, new SplittableRandom(seed ^ 2), 10);
      d.detach(t);
      futures[k] = t + " " + d.time() + " " + d.scans() + " " + everything(d);
    }
    assertThat(futures[1]).isEqualTo(futures[0]);
    assertThat(futures[2]).isEqualTo(futures[0]);
  }

  private static String everything(Controller c) {
    StringBuilder b = new StringBuilder();
    for (String path : c.program().variables()) {
      Variable v = c.variable(path);
      b.append(path).append('=').append(c.memory().text(v)).append(' ').append(c.display("screen").text(v)).append(' ');
      if (v.isLocated()) {
        b.append(c.field().text(v)).append(' ');
      }
    }
    return b.append(c.display("panel").text(c.variable("Name"))).append(c.display("panel").sampledAt(c.variable("Total"))).toString();
  }

  @Property(tries = 40)
  void equalRunsHaveEqualTraces(@ForAll long seed) {
    Trace[] traces = new Trace[2];
    for (int k = 0; k < 2; k++) {
      Controller c = PROGRAM.newController(policy(seed));
      traces[k] = Trace.hashOnly();
      c.attach(traces[k]);
      run(c, new SplittableRandom(seed), 15);
    }
    assertThat(traces[0]).isEqualTo(traces[1]);
    assertThat(traces[0].count()).isPositive();
  }

  @Test
  void aSnapshotFitsItsProgramAndPolicyOnly() {
    Controller c = PROGRAM.newController(policy(1));
    Controller other = PROGRAM.newController(policy(1).withSeed(77));
    assertThatIllegalArgumentException().isThrownBy(() -> other.restore(c.snapshot())).withMessageContaining("policy");
    Controller foreign = Runs.compile("PROGRAM P", "END_PROGRAM").newController(policy(1).withDisplays(List.of()));
    assertThatIllegalArgumentException().isThrownBy(() -> foreign.restore(c.snapshot())).withMessageContaining("program");
  }
}
