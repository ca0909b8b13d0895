package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.US;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.on;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatIllegalArgumentException;

import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Every axis implemented outside the package of the built-ins, as a host does it. */
class HostPoliciesTest {

  /** A slow rack: refreshed in every second scan, and by a subsystem at two moments of its own. */
  private record SlowRack() implements InputAcquisition, OutputDelivery {
    @Override
    public boolean atRefresh(long scan) {
      return scan % 2 == 0;
    }

    @Override
    public boolean watchesReads() {
      return true;
    }

    @Override
    public boolean beforeRead(long scan, long time, long bit, int width) {
      return bit == 7 && scan == 3;
    }

    @Override
    public boolean watchesWrites() {
      return true;
    }

    @Override
    public boolean afterWrite(long scan, long time, long bit, int width) {
      return bit == 7 && scan == 3;
    }

    @Override
    public long subsystemTime(long n, long seed) {
      return n == 0 ? 4_500 * US : Long.MAX_VALUE;
    }
  }

  private static final String[] COPY = {
    "PROGRAM P", "VAR a AT %IX0.0 : BOOL; b AT %IX0.7 : BOOL; x AT %QX0.0 : BOOL; y AT %QX0.7 : BOOL; END_VAR", "x := a;", "y := b;", "END_PROGRAM"};

  @Test
  void aRackOfTheHost() {
    Controller c = compile(COPY).newController(micro(ScanPolicy.image(), 1).withInputs(new SlowRack()).withOutputs(new SlowRack()));
    c.field().set(c.integer("%IB0"), 0x81);
    List<String> seen = new ArrayList<>();
    for (int scan = 1; scan <= 6; scan++) {
      c.scan();
      seen.add((c.memory().get(c.bool("a")) ? "a" : "-") + (c.memory().get(c.bool("b")) ? "b" : "-")
          + (c.field().get(c.bool("x")) ? "x" : "-") + (c.field().get(c.bool("y")) ? "y" : "-"));
      if (scan == 2) {
        c.field().set(c.integer("%IB0"), 0);
      }
      if (scan == 4) {
        c.field().set(c.integer("%IB0"), 0x81);
      }
    }
    // 1: no refresh. 2: refresh both ways. 3: only bit 7 at its access. 4: refresh: all off. 5 starts at 4 ms; the subsystem copies at 4.5 ms, after it. 6: refresh.
    assertThat(seen).containsExactly("----", "abxy", "a-x-", "----", "----", "abxy");
  }

  @Test
  void costsOfTheHostMoveTheClock() {
    CostModel odd = new CostModel() {
      @Override
      public long step(StepKind kind) {
        return kind == StepKind.LOAD ? 70 : kind == StepKind.STORE ? 30 : 1;
      }

      @Override
      public long phase(Phase phase, long scan, int messages, long seed) {
        return phase == Phase.HOUSEKEEPING ? scan * 1_000 + seed : 0;
      }
    };
    Controller c = compile(COPY).newController(ScanPolicy.image().withCosts(odd).withSeed(5));
    c.scan(3);
    // Three times two loads, two stores and a return; housekeeping 1,005 + 2,005 + 3,005.
    assertThat(c.time()).isEqualTo(3 * (2 * 70 + 2 * 30 + 1) + 6_015);
    CostModel negative = new CostModel() {
      @Override
      public long step(StepKind kind) {
        return -1;
      }

      @Override
      public long phase(Phase phase, long scan, int messages, long seed) {
        return 0;
      }
    };
    assertThatIllegalArgumentException().isThrownBy(() -> compile(COPY).newController(ScanPolicy.image().withCosts(negative))).withMessageContaining("-1");
  }

  @Test
  void aTriggerOfTheHost() {
    ScanTrigger fibonacci = (scan, previous, now, due) -> scan * scan * MS;
    Controller c = compile(COPY).newController(micro(ScanPolicy.image()).withTrigger(fibonacci));
    List<Long> starts = new ArrayList<>();
    c.attach(on(e -> starts.add(e.time() / MS), EventKind.SCAN_START));
    assertThat(c.runUntil(30 * MS)).isTrue();
    assertThat(starts).containsExactly(1L, 4L, 9L, 16L, 25L);
    assertThat(c.time()).isEqualTo(30 * MS);
  }

  @Test
  void aDisplayOfTheHost() {
    DisplaySampling everyThird = new DisplaySampling() {
      @Override
      public boolean atScanStart(long scan) {
        return false;
      }

      @Override
      public boolean atScanEnd(long scan) {
        return scan % 3 == 0;
      }

      @Override
      public long subsystemTime(long n, long seed) {
        return Long.MAX_VALUE;
      }

      @Override
      public int chunk(int items) {
        return items;
      }
    };
    Painting alwaysOff = new Painting() {
      @Override
      public boolean paints(boolean sampled, boolean negated, boolean executed) {
        return false;
      }

      @Override
      public boolean needsSample() {
        return false;
      }
    };
    Controller c = compile("PROGRAM P", "VAR n : INT; END_VAR", "n := n + 1;", "END_PROGRAM")
        .newController(micro(ScanPolicy.image(), 1).withDisplay("mine", everyThird, alwaysOff));
    List<Long> shown = new ArrayList<>();
    for (int i = 0; i < 7; i++) {
      c.scan();
      shown.add(c.display("mine").get(c.integer("n")));
    }
    assertThat(shown).containsExactly(0L, 0L, 3L, 3L, 3L, 6L, 6L);
    assertThat(c.display("mine").sampledIn(c.integer("n"))).isEqualTo(6);
  }

  @Test
  void aLineOfTheHostDeliversWritesOutOfTheirOrder() {
    ExternalWrites line = new ExternalWrites() {
      @Override
      public boolean landsAtAnyStep() {
        return false;
      }

      @Override
      public long arrival(long requested, long n, long seed) {
        return requested + (n == 0 ? 5 * MS : 0);
      }
    };
    Controller c = compile("PROGRAM P", "VAR n : INT; END_VAR", "END_PROGRAM").newController(micro(ScanPolicy.image(), 1).withExternalWrites(line));
    c.memory().set(c.integer("n"), 1);
    c.memory().set(c.integer("n"), 2);
    List<Long> values = new ArrayList<>();
    for (int i = 0; i < 8; i++) {
      c.scan();
      values.add(c.memory().get(c.integer("n")));
    }
    // The first write, late by 5 ms, lands before the scan that begins at 5 ms.
    assertThat(values).containsExactly(2L, 2L, 2L, 2L, 2L, 1L, 1L, 1L);
  }
}
