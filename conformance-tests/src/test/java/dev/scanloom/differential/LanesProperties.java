package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Lanes;
import dev.scanloom.Variable;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import java.util.Set;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.ShrinkingMode;
import net.jqwik.api.statistics.Statistics;

/** Every lane equals a controller of its own, after every scan: variables, terminals, steps, time, faults. The outside reference is the single controller. */
class LanesProperties {
  private static final int[] SIZES = {1, 63, 64, 65, 130};

  @Property(tries = 60, shrinking = ShrinkingMode.OFF)
  void lanesAreControllers(@ForAll long seed) {
    agree(seed, BooleanProgram.of(seed), BooleanProgram.watched(), Limits.standard(), ImplementerChoices.standard());
  }

  @Property(tries = 30, shrinking = ShrinkingMode.OFF)
  void theBudgetEndsAtTheSameStep(@ForAll long seed) {
    agree(seed, BooleanProgram.of(seed), BooleanProgram.watched(), Limits.standard().withStepsPerScan(2_000 + Math.floorMod(seed, 30_000)),
        ImplementerChoices.standard());
  }

  /** Programs of all of the language, with enough Boolean statements behind them that words pay. */
  @Property(tries = 30, shrinking = ShrinkingMode.OFF)
  void programsOfEveryKindAreControllers(@ForAll long seed) {
    List<String> watched = new ArrayList<>(RandomProgram.watched());
    for (int i = 0; i < BooleanProgram.EXTRA; i++) {
      watched.add("z[" + i + "]");
    }
    agree(seed, BooleanProgram.behind(RandomProgram.of(seed), seed), watched, Limits.standard(), ImplementerChoices.standard());
  }

  /** Somebody who looks at every step: the plainest way of executing. */
  private static final class Watcher implements Observer {
    @Override
    public Set<EventKind> wants() {
      return Set.of(EventKind.STEP);
    }

    @Override
    public void on(Event event) {
      // nothing to do but be there
    }
  }

  private static void agree(long seed, String text, List<String> names, Limits limits, ImplementerChoices choices) {
    CompiledProgram program = Compiler.standard().withLimits(limits).withChoices(choices).compile("random.st", text).orThrow();
    ScanPolicy policy = ScanPolicy.image().withCosts(Math.floorMod(seed, 3) == 0 ? CostModel.standard() : CostModel.zero())
        .withTrigger(Math.floorMod(seed, 5) == 0 ? ScanTrigger.freeRunning() : ScanTrigger.periodic(Duration.ofMillis(10)))
        .withExecution(Execution.COMPILED);
    int n = SIZES[(int) Math.floorMod(seed, (long) SIZES.length)];
    Lanes lanes = program.newLanes(n, policy);
    assertThat(lanes.executionInUse()).doesNotContain("refuses");
    Statistics.collect(lanes.executionInUse().replaceAll("[:0-9].*", ""));
    Controller[] each = new Controller[n];
    for (int i = 0; i < n; i++) {
      each[i] = program.newController(policy.withExecution(Execution.STEPPING));
      each[i].attach(new Watcher());
    }
    List<Variable> watched = names.stream().map(program::variable).toList();
    Variable.Bool in0 = program.bool("in0");
    Variable.Bool in1 = program.bool("in1");
    Variable.Integer iw = program.integer("iw");
    Variable.Bool q0 = program.bool("q0");
    Variable.Bool b1 = program.bool("b1");
    Random stimulus = new Random(seed);
    for (int scan = 1; scan <= 8; scan++) {
      for (int g = 0; g < lanes.groups(); g++) {
        long x = stimulus.nextLong();
        long y = stimulus.nextLong() | stimulus.nextLong();
        lanes.setFieldWord(in0, g, x);
        lanes.setFieldWord(in1, g, y);
        boolean write = stimulus.nextInt(4) == 0;
        if (write) {
          lanes.setMemoryWord(b1, g, x ^ y);
        }
        for (int i = 64 * g; i < Math.min(n, 64 * g + 64); i++) {
          each[i].field().set(in0, (x >>> i & 1) != 0);
          each[i].field().set(in1, (y >>> i & 1) != 0);
          long v = stimulus.nextInt(200) - 100;
          each[i].field().set(iw, v);
          lanes.field(i).set(iw, v);
          if (write) {
            each[i].memory().set(b1, ((x ^ y) >>> i & 1) != 0);
          }
        }
      }
      if (scan == 5) {
        int who = stimulus.nextInt(n);
        lanes.restartCold(who);
        each[who].restartCold();
        int from = stimulus.nextInt(n);
        lanes.copy(from, who);
        each[who].restore(each[from].snapshot());
      }
      if (scan == 6) {
        lanes.passTime(3_000_000);
      }
      boolean goesOn = false;
      for (Controller c : each) {
        if (scan == 6) {
          c.passTime(3_000_000);
        }
        goesOn |= c.scan();
      }
      String where = "seed " + seed + ", scan " + scan + ", " + lanes.executionInUse() + "\n" + text;
      assertThat(lanes.scan()).as(where).isEqualTo(goesOn);
      for (int i = 0; i < n; i++) {
        String lane = "lane " + i + ", ";
        Controller c = each[i];
        if (!lanes.fault(i).equals(c.fault())) {
          assertThat(lanes.fault(i)).as(lane + where).isEqualTo(c.fault());
        }
        for (Variable v : watched) {
          if (!lanes.memory(i).text(v).equals(c.memory().text(v))) {
            assertThat(lanes.memory(i).text(v)).as(v + ", " + lane + where).isEqualTo(c.memory().text(v));
          }
        }
        assertThat(lanes.field(i).get(q0)).as(lane + where).isEqualTo(c.field().get(q0));
        assertThat(lanes.steps(i)).as("steps, " + lane + where).isEqualTo(c.steps());
        assertThat(lanes.time(i)).as("time, " + lane + where).isEqualTo(c.time());
        assertThat(lanes.scans(i)).as(lane + where).isEqualTo(c.scans());
        assertThat(lanes.memoryWord(b1, i / 64) >>> i & 1).as(lane + where).isEqualTo(c.memory().get(b1) ? 1 : 0);
        assertThat(lanes.fieldWord(q0, i / 64) >>> i & 1).as(lane + where).isEqualTo(c.field().get(q0) ? 1 : 0);
        assertThat(lanes.faulted(i / 64) >>> i & 1).as(lane + where).isEqualTo(c.fault().isPresent() ? 1 : 0);
      }
    }
  }
}
