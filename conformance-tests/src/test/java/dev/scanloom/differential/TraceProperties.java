package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.Walk;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.Collections;
import java.util.EnumSet;
import java.util.List;
import java.util.Random;
import java.util.Set;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.ShrinkingMode;

/** A trace that follows with less than all events knows what one that is told everything knows. */
class TraceProperties {

  @Property(tries = 60, shrinking = ShrinkingMode.OFF)
  void followingIsAsGoodAsBeingTold(@ForAll long seed) {
    String text = RandomProgram.of(seed);
    Limits limits = Math.floorMod(seed, 4) == 0 ? Limits.standard().withStepsPerScan(20 + Math.floorMod(seed, 400)) : Limits.standard();
    CompiledProgram program = Compiler.standard().withLimits(limits).compile("random.st", text).orThrow();
    ScanPolicy base = switch (Math.floorMod((int) seed, 3)) {
      case 0 -> ScanPolicy.image();
      case 1 -> ScanPolicy.immediate();
      default -> ScanPolicy.asynchronous(Duration.ofNanos(700 + Math.floorMod(seed, 9_000)));
    };
    ScanPolicy policy = base.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.standard());
    Trace whole = Trace.whole();
    List<Controller> all = new ArrayList<>();
    List<Trace> traces = new ArrayList<>();
    Controller told = Walk.STRETCHES.controller(program, policy);
    told.attach(whole);
    all.add(told);
    for (Walk walk : new Walk[] {Walk.STRETCHES, Walk.TRANSLATED}) {
      for (Trace t : new Trace[] {Trace.hashOnly(), Trace.lastScans(3)}) {
        Controller c = walk.controller(program, policy);
        c.attach(t);
        all.add(c);
        traces.add(t);
      }
    }
    for (int scan = 1; scan <= 8; scan++) {
      for (Controller c : all) {
        drive(c, new Random(seed ^ scan));
      }
      String where = "seed " + seed + ", scan " + scan + "\n" + text;
      for (Trace t : traces) {
        assertThat(t.hash()).as(where).isEqualTo(whole.hash());
        assertThat(t).isEqualTo(whole);
        if (t.keepsScans()) {
          assertThat(rows(t, Long.MIN_VALUE)).as(where).isEqualTo(rows(whole, whole.get(whole.size() - 1).scan() - 3));
        }
      }
    }
  }

  /** Who watches some variables is told what somebody is told who is told everything. */
  @Property(tries = 60, shrinking = ShrinkingMode.OFF)
  void watchingIsAsGoodAsBeingTold(@ForAll long seed) {
    String text = RandomProgram.of(seed);
    CompiledProgram program = Compiler.standard().compile("random.st", text).orThrow();
    ScanPolicy base = Math.floorMod((int) seed, 2) == 0 ? ScanPolicy.image() : ScanPolicy.immediate();
    ScanPolicy policy = base.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.standard());
    List<String> paths = new ArrayList<>(RandomProgram.watched());
    Collections.shuffle(paths, new Random(seed));
    paths = paths.subList(0, 1 + Math.floorMod((int) seed, 3));
    List<Variable> watched = paths.stream().map(program::variable).toList();
    Controller told = Walk.STEPS.controller(program, policy);
    Seen all = new Seen(watched);
    told.attach(all);
    List<Controller> others = new ArrayList<>();
    List<Seen> seen = new ArrayList<>();
    for (Walk walk : new Walk[] {Walk.STEPS, Walk.STRETCHES, Walk.TRANSLATED}) {
      Controller c = walk.controller(program, policy);
      Seen s = new Seen(List.of());
      c.attach(s, watched.get(0), watched.subList(1, watched.size()).toArray(new Variable[0]));
      others.add(c);
      seen.add(s);
    }
    for (int scan = 1; scan <= 6; scan++) {
      drive(told, new Random(seed ^ scan));
      for (int i = 0; i < others.size(); i++) {
        drive(others.get(i), new Random(seed ^ scan));
        assertThat(seen.get(i).text.toString()).as("seed " + seed + ", " + paths + ", scan " + scan + "\n" + text).isEqualTo(all.text.toString());
      }
    }
  }

  /** Writes of variables, of all when none are named, and faults, as text. */
  private static final class Seen implements Observer {
    private final StringBuilder text = new StringBuilder();
    private final List<Variable> only;

    Seen(List<Variable> only) {
      this.only = only;
    }

    @Override
    public Set<EventKind> wants() {
      return EnumSet.of(EventKind.WRITE, EventKind.FAULT);
    }

    @Override
    public void on(Event e) {
      boolean mine = e.kind() == EventKind.FAULT || only.isEmpty() || only.stream().anyMatch(v -> covers(v, e));
      if (mine) {
        text.append(e.kind()).append(' ').append(e.scan()).append(' ').append(e.ordinal()).append(' ').append(e.time()).append(' ').append(e.step()).append(' ')
            .append(e.address()).append(' ').append(e.before()).append(' ').append(e.after()).append(' ').append(e.source()).append(e.detail()).append('\n');
      }
    }

    private static boolean covers(Variable v, Event e) {
      boolean located = v.address() >>> 62 == 1;
      if (located != (e.address() >>> 62 == 1)) {
        return false;
      }
      return located ? v.address() < e.address() + e.width() && e.address() < v.address() + v.width() : v.address() == e.address();
    }
  }

  /** Rows of scans behind {@code from}, as text. */
  private static String rows(Trace t, long from) {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < t.size(); i++) {
      Event e = t.get(i);
      if (e.scan() > from) {
        b.append(e).append('\n');
      }
    }
    return b.toString();
  }

  private static void drive(Controller c, Random random) {
    c.field().set(c.bool("in0"), random.nextBoolean());
    c.field().set(c.bool("in1"), random.nextBoolean());
    c.field().set(c.integer("iw"), random.nextInt(200) - 100);
    switch (random.nextInt(5)) {
      case 0 -> c.passTime(Duration.ofMillis(random.nextInt(30)).toNanos());
      case 1 -> {
        int n = random.nextInt(40);
        for (int i = 0; i < n && c.step(); i++) {
          // into a scan, which is then finished as a whole
        }
      }
      case 2 -> {
        if (random.nextBoolean()) {
          c.restartWarm();
        } else {
          c.interrupt();
        }
      }
      default -> {
        // nothing but the scan
      }
    }
    c.scan();
  }
}
