package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Walk;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
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

  /** Inputs are copied, outputs delivered and displays sampled in the middle of bodies, and kinds of steps cost differently. */
  @Property(tries = 60, shrinking = ShrinkingMode.OFF)
  void deadlinesBetweenStepsAgree(@ForAll long seed) {
    CostModel uneven = new CostModel() {
      @Override
      public long step(StepKind kind) {
        return 10L + 7L * kind.ordinal() + Math.floorMod(seed, 5);
      }

      @Override
      public long phase(Phase phase, long scan, int messages, long runSeed) {
        return 1_000;
      }
    };
    agree(seed, Limits.standard(), ScanPolicy.asynchronous(Duration.ofNanos(700 + Math.floorMod(seed, 9_000))), uneven, false);
  }

  /** Loops that are cut into several methods: what the loop keeps must outlive the method. */
  @Example
  void loopsAcrossMethodsAgree() {
    for (long seed : new long[] {-13, -14, 7, 99_991}) {
      agree(seed, Limits.standard(), ScanPolicy.image());
    }
  }

  /** The same with what is written in one method and read in another. */
  @Property(tries = 12, shrinking = ShrinkingMode.OFF)
  void bodiesOfManyMethodsAgree(@ForAll long seed) {
    agree(seed, RandomProgram.longOne(seed), Limits.standard(), ScanPolicy.image(), CostModel.zero(), true);
  }

  /** What the standard leaves open is the same however steps are executed. */
  @Property(tries = 100, shrinking = ShrinkingMode.OFF)
  void choicesAgree(@ForAll long seed) {
    Random r = new Random(seed);
    ImplementerChoices choices = ImplementerChoices.standard()
        .withIntegerOverflow(any(r, ImplementerChoices.Overflow.values()))
        .withZeroDivision(any(r, ImplementerChoices.ZeroDivision.values()))
        .withZeroModulo(any(r, ImplementerChoices.ZeroDivision.values()))
        .withRealToInteger(any(r, ImplementerChoices.Rounding.values()))
        .withConversionRange(any(r, ImplementerChoices.RangeError.values()))
        .withTextOverflow(any(r, ImplementerChoices.TextOverflow.values()))
        .withTimerClock(any(r, ImplementerChoices.TimerClock.values()))
        .withShortCircuit(r.nextBoolean());
    Compiler compiler = Compiler.standard().withChoices(choices);
    boolean bits = r.nextInt(4) == 0;
    CompiledProgram program = compiler.compile("choices.st", bits ? BooleanProgram.of(seed) : RandomProgram.of(seed)).orThrow();
    agree(seed, program, bits ? BooleanProgram.watched() : RandomProgram.watched(), ScanPolicy.image(), CostModel.standard(), true);
  }

  private static <T> T any(Random r, T[] of) {
    return of[r.nextInt(of.length)];
  }

  /** Programs that are mostly Boolean, as ladder is; every second one with short-circuit evaluation. */
  @Property(tries = 80, shrinking = ShrinkingMode.OFF)
  void booleanProgramsAgree(@ForAll long seed) {
    ImplementerChoices choices = ImplementerChoices.standard().withShortCircuit(Math.floorMod(seed, 2) == 0);
    CompiledProgram program = Compiler.standard().withChoices(choices).compile("boolean.st", BooleanProgram.of(seed)).orThrow();
    agree(seed, program, BooleanProgram.watched(), ScanPolicy.image(), CostModel.standard(), true);
  }

  /** A located bit that a gate waits for is not overwritten by the bit of the next statement. */
  @Example
  void bitsThatGatesWaitForAreKept() {
    String text = "PROGRAM Main VAR in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; iw AT %IW1 : INT; b0 : BOOL := TRUE; b9 : BOOL; arr : ARRAY [0..7] OF BOOL;"
        + " f : INT; sr : SR; END_VAR sr(b0); IF arr[4] THEN arr[1] := (in1 XOR (b9 <> b0)); END_IF IF in0 THEN END_IF"
        + " FOR f := 0 TO 7 DO arr[f] := arr[f] XOR sr.Q1; END_FOR END_PROGRAM";
    for (int seed = 0; seed < 8; seed++) {
      agree(seed, Compiler.standard().compile("bits.st", text).orThrow(), List.of("arr[0]", "arr[1]", "arr[4]"), ScanPolicy.image(), CostModel.zero(), true);
    }
  }

  private static void agree(long seed, Limits limits, ScanPolicy base) {
    agree(seed, limits, base, Math.floorMod(seed, 2) == 0 ? CostModel.zero() : CostModel.standard(), true);
  }

  private static void agree(long seed, Limits limits, ScanPolicy base, CostModel costs, boolean compilable) {
    agree(seed, RandomProgram.of(seed), limits, base, costs, compilable);
  }

  private static void agree(long seed, String text, Limits limits, ScanPolicy base, CostModel costs, boolean compilable) {
    agree(seed, Compiler.standard().withLimits(limits).compile("random.st", text).orThrow(), RandomProgram.watched(), base, costs, compilable);
  }

  private static void agree(long seed, CompiledProgram program, List<String> watched, ScanPolicy base, CostModel costs, boolean compilable) {
    String text = program.sources().get(0).text();
    ScanPolicy policy = base.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)))
        .withCosts(costs);
    Controller stepping = Walk.STEPS.controller(program, policy);
    List<Controller> others = new ArrayList<>();
    List.of(Walk.STRETCHES, Walk.TRANSLATED).forEach(w -> others.add(w.controller(program, policy)));
    if (compilable) {
      others.add(Walk.COMPILED.controller(program, policy));
    }
    Random stimulus = new Random(seed);
    for (int scan = 1; scan <= 12; scan++) {
      boolean in0 = stimulus.nextBoolean();
      boolean in1 = stimulus.nextBoolean();
      long iw = stimulus.nextInt(200) - 100;
      drive(stepping, in0, in1, iw);
      for (Controller other : others) {
        drive(other, in0, in1, iw);
        String where = "seed " + seed + ", scan " + scan + ", " + other.executionInUse() + "\n" + text;
        assertThat(other.fault().map(Object::toString)).as(where).isEqualTo(stepping.fault().map(Object::toString));
        stepping.fault().ifPresent(f -> {
          assertThat(other.fault().orElseThrow().step()).as(where).isEqualTo(f.step());
          assertThat(other.fault().orElseThrow().ordinal()).as(where).isEqualTo(f.ordinal());
        });
        for (String v : watched) {
          assertThat(other.memory().text(other.variable(v))).as(v + ", " + where).isEqualTo(stepping.memory().text(stepping.variable(v)));
        }
        assertThat(other.steps()).as(where).isEqualTo(stepping.steps());
        assertThat(other.time()).as(where).isEqualTo(stepping.time());
      }
      if (compilable) {
        assertThat(others.get(others.size() - 1).executionInUse()).as("seed " + seed + "\n" + text).isEqualTo("compiled");
      }
      if (stepping.fault().isPresent()) {
        return;
      }
    }
  }

  private static void drive(Controller c, boolean in0, boolean in1, long iw) {
    c.field().set(c.bool("in0"), in0);
    c.field().set(c.bool("in1"), in1);
    c.field().set(c.integer("iw"), iw);
    c.scan();
  }
}
