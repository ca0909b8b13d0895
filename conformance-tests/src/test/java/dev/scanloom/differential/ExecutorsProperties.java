package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.Random;
import net.jqwik.api.Example;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.ShrinkingMode;

/** Both executors come from one list of steps: values, faults, places, steps used and virtual time are equal after every scan. */
class ExecutorsProperties {

  @Property(tries = 120, shrinking = ShrinkingMode.OFF)
  void bothExecutorsAgree(@ForAll long seed) {
    agree(seed, Limits.standard(), ScanPolicy.image());
  }

  @Property(tries = 60, shrinking = ShrinkingMode.OFF)
  void theBudgetEndsAtTheSameStep(@ForAll long seed) {
    agree(seed, Limits.standard().withStepsPerScan(20 + Math.floorMod(seed, 400)), ScanPolicy.image());
  }

  @Property(tries = 40, shrinking = ShrinkingMode.OFF)
  void immediateInputsAndOutputsAgree(@ForAll long seed) {
    agree(seed, Limits.standard(), ScanPolicy.immediate());
  }

  /** Loops that are cut into several methods: what the loop keeps must outlive the method. */
  @Example
  void loopsAcrossMethodsAgree() {
    for (long seed : new long[] {-13, -14, 7, 99_991}) {
      agree(seed, Limits.standard(), ScanPolicy.image());
    }
  }

  private static void agree(long seed, Limits limits, ScanPolicy base) {
    String text = RandomProgram.of(seed);
    CompiledProgram program = Compiler.standard().withLimits(limits).compile("random.st", text).orThrow();
    ScanPolicy policy = base.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)))
        .withCosts(Math.floorMod(seed, 2) == 0 ? CostModel.zero() : CostModel.standard());
    Controller stepping = program.newController(policy.withExecution(Execution.STEPPING));
    Controller compiled = program.newController(policy.withExecution(Execution.COMPILED));
    Random stimulus = new Random(seed);
    for (int scan = 1; scan <= 12; scan++) {
      boolean in0 = stimulus.nextBoolean();
      boolean in1 = stimulus.nextBoolean();
      long iw = stimulus.nextInt(200) - 100;
      for (Controller c : new Controller[] {stepping, compiled}) {
        c.field().set(c.bool("in0"), in0);
        c.field().set(c.bool("in1"), in1);
        c.field().set(c.integer("iw"), iw);
        c.scan();
      }
      String where = "seed " + seed + ", scan " + scan + "\n" + text;
      assertThat(compiled.fault().map(Object::toString)).as(where).isEqualTo(stepping.fault().map(Object::toString));
      stepping.fault().ifPresent(f -> {
        assertThat(compiled.fault().orElseThrow().step()).as(where).isEqualTo(f.step());
        assertThat(compiled.fault().orElseThrow().ordinal()).as(where).isEqualTo(f.ordinal());
      });
      for (String v : RandomProgram.watched()) {
        assertThat(compiled.memory().text(compiled.variable(v))).as(v + ", " + where).isEqualTo(stepping.memory().text(stepping.variable(v)));
      }
      assertThat(compiled.steps()).as(where).isEqualTo(stepping.steps());
      assertThat(compiled.time()).as(where).isEqualTo(stepping.time());
      if (stepping.fault().isPresent()) {
        return;
      }
      assertThat(compiled.executionInUse()).as(where).isEqualTo("compiled");
    }
  }
}
