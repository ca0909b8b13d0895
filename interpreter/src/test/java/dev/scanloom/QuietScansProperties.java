package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.util.ArrayList;
import java.util.List;
import java.util.SplittableRandom;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;

/** Scans in which nothing but the phases and one compiled body can happen take a shorter way through the scan engine: what they leave is the same. */
class QuietScansProperties {
  private static final CompiledProgram PROGRAM = Runs.compile(
      "PROGRAM Main",
      "VAR a AT %IW0 : INT; b AT %QW0 : INT; c AT %QX3.1 : BOOL; n : INT; limit : INT := 20; d : INT := 1;  e : BOOL; END_VAR",
      "n := n + a / d; c := n > 3 AND NOT e; e := n > 3;",
      "b := b + 1; IF n > limit THEN n := 0; END_IF;",
      "END_PROGRAM");

  private static ScanPolicy policy(SplittableRandom r) {
    ScanPolicy p = ScanPolicy.image().withDisplay("first", DisplaySampling.scanStart(), Painting.fromSample());
    p = switch (r.nextInt(3)) {
      case 0 -> p.withTrigger(ScanTrigger.periodic(Runs.us(1 + r.nextInt(9_000))));
      case 1 -> p.withTrigger(ScanTrigger.freeRunning());
      default -> p.withTrigger(ScanTrigger.onDemand());
    };
    p = r.nextBoolean() ? p.withExternalWrites(ExternalWrites.anyStep()) : p;
    return r.nextInt(3) == 0 ? p.withCosts(CostModel.zero())
        : p.withCosts(CostModel.fixed(Runs.us(r.nextInt(3)), Runs.us(r.nextInt(300)), Runs.us(r.nextInt(50)), Runs.us(r.nextInt(20))));
  }

  private static void act(Controller c, SplittableRandom r) {
    switch (r.nextInt(14)) {
      case 0, 1, 2 -> c.field().set(c.integer("a"), r.nextInt(6));
      case 3 -> c.field().setAt(c.time() + r.nextLong(5 * Runs.MS), c.integer("a"), r.nextInt(6));
      case 4 -> c.memory().set(c.integer("limit"), r.nextInt(30));
      case 5 -> c.memory().setAt(c.time() + r.nextLong(5 * Runs.MS), c.integer("n"), r.nextInt(30));
      case 6 -> c.passTime(r.nextLong(30 * Runs.MS));
      case 7 -> c.force(c.bool("c"), r.nextInt(2));
      case 8 -> c.unforce(c.bool("c"));
      case 9 -> {
        if (r.nextInt(6) == 0) {
          c.memory().set(c.integer("d"), 0);
        }
      }
      case 10 -> {
        c.restartWarm();
        c.memory().set(c.integer("d"), 1);
      }
      case 11 -> c.step();
      default -> {
        // nothing
      }
    }
  }

  private static String state(Controller c) {
    StringBuilder s = new StringBuilder();
    s.append(c.time()).append(' ').append(c.scans()).append(' ').append(c.steps()).append(' ').append(c.scanStart()).append(' ').append(c.isInScan());
    c.fault().ifPresent(f -> s.append(' ').append(f.code()).append(' ').append(f.scan()).append(' ').append(f.time()).append(" ").append(f.step()).append(" ").append(f.ordinal()));
    for (String path : PROGRAM.variables()) {
      Variable v = PROGRAM.variable(path);
      s.append('\n').append(path).append(' ').append(c.memory().text(v));
      for (String display : new String[] {c.display().name(), "first"}) {
        s.append(' ').append(c.display(display).text(v)).append('@').append(c.display(display).sampledAt(v));
      }
    }
    return s.append("\nQ ").append(c.field().get(c.integer("b"))).append(' ').append(c.field().get(c.bool("c"))).toString();
  }

  /** Events of all kinds that do not keep bodies from being compiled. */
  private static List<String> events(Controller c) {
    List<String> told = new ArrayList<>();
    c.attach(Runs.on(e -> told.add(e.kind() + " scan " + e.scan() + " ordinal " + e.ordinal() + " time " + e.time() + " task " + e.task() + " "
        + e.phase() + " " + e.address() + " " + e.before() + " " + e.after() + " " + e.detail()),
        EventKind.SCAN_START, EventKind.SCAN_END, EventKind.PHASE, EventKind.TASK, EventKind.FAULT, EventKind.FIELD, EventKind.SAMPLE));
    return told;
  }

  @Property(tries = 200)
  void leaveTheSameAsSteps(@ForAll long seed) {
    ScanPolicy policy = policy(new SplittableRandom(seed));
    Controller steps = PROGRAM.newController(policy.withExecution(Execution.STEPPING));
    Controller quiet = PROGRAM.newController(policy.withExecution(Execution.COMPILED));
    boolean observed = seed % 2 == 0;
    List<String> toldOfSteps = observed ? events(steps) : List.of();
    List<String> toldOfQuiet = observed ? events(quiet) : List.of();
    SplittableRandom one = new SplittableRandom(seed + 1);
    SplittableRandom other = new SplittableRandom(seed + 1);
    for (int scan = 0; scan < 40; scan++) {
      act(steps, one);
      act(quiet, other);
      assertThat(quiet.scan()).isEqualTo(steps.scan());
      assertThat(state(quiet)).as("after call %d", scan).isEqualTo(state(steps));
      assertThat(toldOfQuiet).as("after call %d", scan).isEqualTo(toldOfSteps);
    }
  }
}
