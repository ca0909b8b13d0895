package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.math.BigInteger;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.From;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.ShrinkingMode;

/**
 * Bistables, edges, counters and timers against models in Java over random histories of inputs. The models are written from the tables'
 * words (IEC 61131-3
 * Tables 43 to 46), not from the declarations: the timers keep instants, not elapsed times, and counters count without limit and are
 * clipped.
 */
class BlocksProperties {
  /** Inputs of one scan, and the virtual time that passes before it, in milliseconds. */
  record Call(boolean a, boolean b, boolean c, boolean d, int preset, int pt, int pause) {}

  private static final Map<String, CompiledProgram> PROGRAMS = new TreeMap<>();

  private static CompiledProgram program(String declarations, String body) {
    String text = "PROGRAM Main\nVAR\n  a, b, c, d : BOOL;\n" + declarations + "END_VAR\n" + body + "END_PROGRAM\n";
    return PROGRAMS.computeIfAbsent(text, t -> Compiler.standard().compile("blocks.st", t).orThrow());
  }

  private static final class Run {
    final Controller controller;

    Run(CompiledProgram program) {
      controller = program.newController(ScanPolicy.image().withTrigger(ScanTrigger.freeRunning()).withCosts(CostModel.zero()));
    }

    void set(String name, boolean value) {
      controller.memory().set(controller.bool("Main." + name), value);
    }

    void set(String name, String literal) {
      controller.memory().setText(controller.variable("Main." + name), literal);
    }

    void scan(Call call) {
      controller.passTime(call.pause() * 1_000_000L);
      set("a", call.a());
      set("b", call.b());
      set("c", call.c());
      set("d", call.d());
      assertThat(controller.scan()).as("%s", controller.fault()).isTrue();
    }

    boolean bool(String name) {
      return controller.memory().get(controller.bool("Main." + name));
    }

    long bits(String name) {
      Variable v = controller.variable("Main." + name);
      return controller.memory().bits(v);
    }
  }

  @Provide
  Arbitrary<List<Call>> histories() {
    Arbitrary<Boolean> input = Arbitraries.of(true, false);
    return Combinators.combine(input, input, Arbitraries.frequencyOf(net.jqwik.api.Tuple.of(1, Arbitraries.just(true)),
        net.jqwik.api.Tuple.of(6, Arbitraries.just(false))), Arbitraries.frequencyOf(net.jqwik.api.Tuple.of(1, Arbitraries.just(true)),
        net.jqwik.api.Tuple.of(4, Arbitraries.just(false))), Arbitraries.integers().between(0, 7), Arbitraries.of(50, 50, 50, 30, 80, 0,
        -10, 10),
        Arbitraries.of(0, 1, 10, 20, 30, 50, 200)).as(Call::new).list().ofMinSize(1).ofMaxSize(80);
  }

  // Table 43: with both inputs TRUE the name says which one wins; with none the state stays.
  @Property(tries = 150, shrinking = ShrinkingMode.BOUNDED)
  void bistablesAndEdges(@ForAll @From("histories") List<Call> history) {
    Run run = new Run(program("  sr, srLong : SR; rs, rsLong : RS; rise : R_TRIG; fall : F_TRIG;\n", """
          sr(S1 := a, R := b); srLong(SET1 := a, RESET := b);
          rs(S := a, R1 := b); rsLong(SET := a, RESET1 := b);
          rise(CLK := a); fall(CLK := a);
        """));
    boolean sr = false;
    boolean rs = false;
    Boolean before = null;
    for (Call call : history) {
      run.scan(call);
      if (call.a() != call.b()) {
        sr = call.a();
        rs = call.a();
      } else if (call.a()) {
        sr = true;
        rs = false;
      }
      assertThat(List.of(run.bool("sr.Q1"), run.bool("srLong.Q1"), run.bool("rs.Q1"), run.bool("rsLong.Q1"))).containsExactly(sr, sr, rs,
          rs);
      // Table 44: the first call reports whatever it sees (M is FALSE then).
      assertThat(run.bool("rise.Q")).isEqualTo(call.a() && (before == null || !before));
      assertThat(run.bool("fall.Q")).isEqualTo(!call.a() && (before == null || before));
      before = call.a();
    }
  }

  @Property(tries = 40, shrinking = ShrinkingMode.BOUNDED)
  void countersOfInt(@ForAll @From("histories") List<Call> history) {
    counters(history, "INT", "", new BigInteger("-32768"), new BigInteger("32767"));
    counters(history, "INT", "_INT", new BigInteger("-32768"), new BigInteger("32767"));
  }

  @Property(tries = 40, shrinking = ShrinkingMode.BOUNDED)
  void countersOfOtherTypes(@ForAll @From("histories") List<Call> history) {
    counters(history, "DINT", "_DINT", BigInteger.TWO.pow(31).negate(), BigInteger.TWO.pow(31).subtract(BigInteger.ONE));
    counters(history, "LINT", "_LINT", BigInteger.TWO.pow(63).negate(), BigInteger.TWO.pow(63).subtract(BigInteger.ONE));
    counters(history, "UDINT", "_UDINT", BigInteger.ZERO, BigInteger.TWO.pow(32).subtract(BigInteger.ONE));
    counters(history, "ULINT", "_ULINT", BigInteger.ZERO, BigInteger.TWO.pow(64).subtract(BigInteger.ONE));
  }

  private static void counters(List<Call> history, String type, String suffix, BigInteger least, BigInteger greatest) {
    Run run = new Run(program("  pv : " + type + "; up : CTU" + suffix + "; down : CTD" + suffix + "; both : CTUD" + suffix + ";\n", """
          up(CU := a, R := c, PV := pv);
          down(CD := a, LD := d, PV := pv);
          both(CU := a, CD := b, R := c, LD := d, PV := pv);
        """));
    // Presets at the limits and around zero, so that counting reaches every bound.
    List<BigInteger> presets = List.of(least, least.add(BigInteger.ONE), BigInteger.ZERO, BigInteger.ONE, BigInteger.TWO,
        BigInteger.valueOf(3),
        greatest.subtract(BigInteger.ONE), greatest);
    BigInteger up = BigInteger.ZERO;
    BigInteger down = BigInteger.ZERO;
    BigInteger both = BigInteger.ZERO;
    if (history.get(0).d()) {
      // An up counter cannot be loaded, so its upper limit is brought near from outside.
      up = greatest.subtract(BigInteger.TWO);
      run.set("up.CV", type + "#" + up);
    }
    boolean a = false;
    boolean b = false;
    for (Call call : history) {
      BigInteger pv = presets.get(call.preset());
      run.set("pv", type + "#" + pv);
      run.scan(call);
      boolean riseA = call.a() && !a;
      boolean riseB = call.b() && !b;
      a = call.a();
      b = call.b();
      up = call.c() ? BigInteger.ZERO : up.add(riseA ? BigInteger.ONE : BigInteger.ZERO).min(greatest);
      down = call.d() ? pv : down.subtract(riseA ? BigInteger.ONE : BigInteger.ZERO).max(least);
      if (call.c()) {
        both = BigInteger.ZERO;
      } else if (call.d()) {
        both = pv;
      } else {
        both = both.add(BigInteger.valueOf((riseA ? 1 : 0) - (riseB ? 1 : 0))).min(greatest).max(least);
      }
      assertThat(run.bits("up.CV")).as("CTU%s", suffix).isEqualTo(up.longValue());
      assertThat(run.bool("up.Q")).as("CTU%s", suffix).isEqualTo(up.compareTo(pv) >= 0);
      assertThat(run.bits("down.CV")).as("CTD%s", suffix).isEqualTo(down.longValue());
      assertThat(run.bool("down.Q")).as("CTD%s", suffix).isEqualTo(down.signum() <= 0);
      assertThat(run.bits("both.CV")).as("CTUD%s", suffix).isEqualTo(both.longValue());
      assertThat(run.bool("both.QU")).as("CTUD%s", suffix).isEqualTo(both.compareTo(pv) >= 0);
      assertThat(run.bool("both.QD")).as("CTUD%s", suffix).isEqualTo(both.signum() <= 0);
    }
  }

  /** What a timer shows after a call. */
  private record Shown(boolean q, long et) {}

  /** Words of Table 46 with instants: when IN rose or fell, and whether the time since has been found to be up. */
  private static final class TimerModel {
    private boolean seen;
    private boolean in;
    private long instant = -1;
    private boolean up;

    Shown ton(boolean now, long time, long pt) {
      if (now && !in) {
        instant = time;
        up = false;
      }
      in = now;
      if (!in) {
        return new Shown(false, 0);
      }
      up |= time >= instant + pt;
      return new Shown(up, up ? pt : time - instant);
    }

    Shown tof(boolean now, long time, long pt) {
      if (in && !now) {
        instant = time;
        up = false;
      }
      seen |= now;
      in = now;
      if (in) {
        return new Shown(true, 0);
      }
      if (!seen) {
        return new Shown(false, 0);
      }
      up |= time >= instant + pt;
      return new Shown(!up, up ? pt : time - instant);
    }

    /** A pulse belongs to the rise at {@code instant}; it is up when its time has been found to be; the edge in that call is still
     * ignored. */
    Shown tp(boolean now, long time, long pt) {
      boolean rise = now && !in;
      in = now;
      if (instant >= 0 && !up) {
        long elapsed = time - instant;
        up = elapsed >= pt;
        if (up && pt == 0) {
          instant = -1;
        }
        return up ? new Shown(false, now ? pt : 0) : new Shown(true, elapsed);
      }
      if (rise) {
        // A pulse of no length is over at once and leaves nothing.
        instant = pt > 0 ? time : -1;
        up = false;
        return new Shown(pt > 0, 0);
      }
      if (!now) {
        instant = -1;
        up = false;
        return new Shown(false, 0);
      }
      if (pt == 0) {
        // ET follows PT; once it has become 0 there is nothing left to follow it with.
        instant = -1;
      }
      return new Shown(false, instant >= 0 ? pt : 0);
    }
  }

  @Property(tries = 120, shrinking = ShrinkingMode.BOUNDED)
  void timersWithChangingPreset(@ForAll @From("histories") List<Call> history) {
    timers(history, "", "TIME", "T#", true);
    timers(history, "_LTIME", "LTIME", "LT#", true);
  }

  @Property(tries = 120, shrinking = ShrinkingMode.BOUNDED)
  void timersWithFixedPreset(@ForAll @From("histories") List<Call> history) {
    timers(history, "_TIME", "TIME", "T#", false);
  }

  /** S.timer-skip-calls, S.timer-q-between-calls: outputs stay while a timer is not called, and the time passes all the same. */
  @Property(tries = 120, shrinking = ShrinkingMode.BOUNDED)
  void timersCalledNowAndThen(@ForAll @From("histories") List<Call> history) {
    Run run = new Run(program("  pt : TIME; pulse : TP; on : TON; off : TOF;\n", """
          IF NOT d THEN
            pulse(IN := a, PT := pt);
            on(IN := a, PT := pt);
            off(IN := a, PT := pt);
          END_IF;
        """));
    TimerModel tp = new TimerModel();
    TimerModel ton = new TimerModel();
    TimerModel tof = new TimerModel();
    Shown pulse = new Shown(false, 0);
    Shown on = pulse;
    Shown off = pulse;
    long time = 0;
    for (Call call : history) {
      run.set("pt", "T#50ms");
      run.scan(call);
      time += call.pause() * 1_000_000L;
      long limit = 50_000_000L;
      if (!call.d()) {
        pulse = tp.tp(call.a(), time, limit);
        on = ton.ton(call.a(), time, limit);
        off = tof.tof(call.a(), time, limit);
      }
      same("TP", run, "pulse", pulse, limit);
      same("TON", run, "on", on, limit);
      same("TOF", run, "off", off, limit);
    }
  }

  private static void timers(List<Call> history, String suffix, String type, String prefix, boolean changing) {
    Run run = new Run(program("  pt : " + type + "; pulse : TP" + suffix + "; on : TON" + suffix + "; off : TOF" + suffix + ";\n", """
          pulse(IN := a, PT := pt);
          on(IN := a, PT := pt);
          off(IN := a, PT := pt);
        """));
    TimerModel tp = new TimerModel();
    TimerModel ton = new TimerModel();
    TimerModel tof = new TimerModel();
    long time = 0;
    for (Call call : history) {
      int pt = changing ? call.pt() : history.get(0).pt();
      run.set("pt", prefix + pt + "ms");
      run.scan(call);
      time += call.pause() * 1_000_000L;
      long limit = Math.max(0, pt) * 1_000_000L;
      same("TP", run, "pulse", tp.tp(call.a(), time, limit), limit);
      same("TON", run, "on", ton.ton(call.a(), time, limit), limit);
      same("TOF", run, "off", tof.tof(call.a(), time, limit), limit);
    }
  }

  private static void same(String kind, Run run, String instance, Shown expected, long limit) {
    Shown found = new Shown(run.bool(instance + ".Q"), run.bits(instance + ".ET"));
    assertThat(found).as(kind).isEqualTo(expected);
    assertThat(found.et()).as("S.timer-et-clamp").isBetween(0L, limit);
  }
}
