package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.US;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.ms;
import static dev.scanloom.Runs.on;
import static dev.scanloom.Runs.still;
import static dev.scanloom.Runs.us;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.SplittableRandom;
import org.junit.jupiter.api.Test;

/**
 * Facts of troubleshooting as the engine must produce them (situations.md; common practice). Expected values are derived by hand beside each check, from
 * times: 1 us a step unless a test says otherwise.
 */
class SituationsTest {
  private static final String[] PULSE = {
    "PROGRAM Gate", "VAR Beam AT %IX0.0 : BOOL; i : INT; Seen : INT; END_VAR",
    "FOR i := 1 TO 20 DO ; END_FOR;",
    "IF Beam THEN Seen := Seen + 1; END_IF;", "END_PROGRAM"};

  /** Time of the read of Beam after the start of a scan. */
  private static long readOffset(ScanPolicy p) {
    Controller c = compile(PULSE).newController(p);
    Variable.Bool beam = c.bool("Beam");
    List<Long> times = new ArrayList<>();
    c.attach(on(e -> {
      if (e.address() == beam.address()) {
        times.add(e.time());
      }
    }, EventKind.READ));
    c.scan();
    assertThat(times).hasSize(1);
    return times.get(0);
  }

  private static long seenBy(ScanPolicy p, long from, long until) {
    Controller c = compile(PULSE).newController(p);
    c.field().setAt(from, c.bool("Beam"), true);
    c.field().setAt(until, c.bool("Beam"), false);
    c.scan(4);
    return c.memory().get(c.integer("Seen"));
  }

  @Test
  void s04AShortPulseIsSeenOnlyWhereACopyFallsInside() {
    ScanPolicy image = micro(ScanPolicy.image(), 1);
    ScanPolicy immediate = micro(ScanPolicy.immediate(), 1);
    long read = readOffset(image);
    assertThat(read).isBetween(20 * US, 900 * US);
    // Around the read of scan 2, away from every refresh at 0, 1, 2, 3 ms.
    assertThat(seenBy(image, MS + read - 5 * US, MS + read + 5 * US)).isZero();
    assertThat(seenBy(immediate, MS + read - 5 * US, MS + read + 5 * US)).isEqualTo(1);
    // Around the refresh of scan 3, away from every read.
    assertThat(seenBy(image, 2 * MS - 5 * US, 2 * MS + 5 * US)).isEqualTo(1);
    assertThat(seenBy(immediate, 2 * MS - 5 * US, 2 * MS + 5 * US)).isZero();
    // Where neither falls inside both miss it; a fast I/O subsystem keeps what it copied last before the read.
    assertThat(seenBy(image, MS + 500 * US, MS + 600 * US)).isZero();
    assertThat(seenBy(immediate, MS + 500 * US, MS + 600 * US)).isZero();
    assertThat(seenBy(image.withInputs(InputAcquisition.asynchronous(us(2), Duration.ZERO)), MS + read - 5 * US, MS + read + 5 * US)).isEqualTo(1);
  }

  @Test
  void s04TheChanceOfAPulseIsItsShareOfThePeriod() {
    ScanPolicy image = still(ScanPolicy.image(), 1);
    Controller c = compile(PULSE).newController(image);
    SplittableRandom random = new SplittableRandom(4);
    int pulses = 1_000;
    for (int k = 0; k < pulses; k++) {
      long start = 10L * MS * k + random.nextLong(MS);
      c.field().setAt(start, c.bool("Beam"), true);
      c.field().setAt(start + 200 * US, c.bool("Beam"), false);
    }
    assertThat(c.runUntil(10L * MS * pulses)).isTrue();
    // Binomial with p = 0.2: mean 200, standard deviation 12.6; five of them.
    assertThat(c.memory().get(c.integer("Seen"))).isBetween(137L, 263L);
  }

  @Test
  void s05TwoReadsOfOneInputMayDiffer() {
    CompiledProgram twice = compile("PROGRAM Press", "VAR Guard AT %IX0.0 : BOOL; Fire, Ever : BOOL; END_VAR",
        "Fire := Guard AND NOT Guard;", "Ever := Ever OR Fire;", "END_PROGRAM");
    CompiledProgram once = compile("PROGRAM Press", "VAR Guard AT %IX0.0 : BOOL; G, Fire, Ever : BOOL; END_VAR",
        "G := Guard;", "Fire := G AND NOT G;", "Ever := Ever OR Fire;", "END_PROGRAM");
    for (ScanPolicy p : List.of(ScanPolicy.image(), ScanPolicy.immediate(), ScanPolicy.asynchronous(us(1)))) {
      boolean[] ever = new boolean[2];
      for (int k = 0; k < 2; k++) {
        Controller c = (k == 0 ? twice : once).newController(micro(p, 1));
        // TRUE at the first read (it begins at 0), FALSE from 1 us on: at the second.
        c.field().set(c.bool("Guard"), true);
        c.field().setAt(US, c.bool("Guard"), false);
        c.scan();
        ever[k] = c.memory().get(c.bool("Ever"));
      }
      assertThat(ever[0]).as(p.inputs().toString()).isEqualTo(!p.equals(ScanPolicy.image()));
      assertThat(ever[1]).as("cured").isFalse();
    }
  }

  @Test
  void s06AGlitchReachesTheTerminalOnlyWhenWritesDriveIt() {
    CompiledProgram program = compile("PROGRAM Glitch", "VAR Valve AT %QX0.3 : BOOL; END_VAR", "Valve := TRUE;", "Valve := FALSE;", "END_PROGRAM");
    assertThat(terminal(program, ScanPolicy.image())).isEmpty();
    assertThat(terminal(program, ScanPolicy.immediate())).containsExactly(1L, 0L, 1L, 0L);
    // 4 steps of 1 us; the first write is over at 2 us, the second at 4 us: copies at 3 us and 4 us see TRUE, then FALSE.
    ScanPolicy between = ScanPolicy.image().withOutputs(OutputDelivery.asynchronous(us(1), Duration.ZERO));
    assertThat(terminal(program, between)).containsExactly(1L, 0L, 1L, 0L);
    ScanPolicy rarely = ScanPolicy.image().withOutputs(OutputDelivery.asynchronous(ms(1), Duration.ZERO));
    assertThat(terminal(program, rarely)).isEmpty();
  }

  private static List<Long> terminal(CompiledProgram program, ScanPolicy p) {
    Controller c = program.newController(micro(p, 1));
    List<Long> values = new ArrayList<>();
    c.attach(on(e -> values.add(c.field().bits(c.bool("Valve"))), EventKind.FIELD));
    c.scan(2);
    c.passTime(100 * US);
    return values;
  }

  @Test
  void s19ATornPictureShowsWhatNeverWas() {
    CompiledProgram program = compile("PROGRAM Switch", "VAR Left : BOOL := TRUE; Right : BOOL; END_VAR",
        "Left := NOT Left;", "Right := NOT Left;", "END_PROGRAM");
    ScanPolicy p = still(ScanPolicy.image(), 10)
        .withDisplay("panel", DisplaySampling.asynchronous(ms(10), ms(5), 1), Painting.fromSample(), List.of("Left", "Right"))
        .withDisplay("whole", DisplaySampling.asynchronous(ms(10), ms(5)), Painting.fromSample(), List.of("Left", "Right"));
    Controller c = program.newController(p);
    boolean[] both = new boolean[1];
    c.attach(on(e -> {
      // At the end of every scan exactly one is on: the run itself is sound.
      both[0] |= c.memory().get(c.bool("Left")) == c.memory().get(c.bool("Right"));
    }, EventKind.SCAN_END));
    List<String> torn = new ArrayList<>();
    for (int i = 0; i < 6; i++) {
      c.scan();
      c.passTime(6 * MS);
      torn.add(bits(c, "panel"));
      assertThat(bits(c, "whole")).isIn("10", "01");
    }
    // Scan 1 leaves Left 0, Right 1; scan 2 Left 1, Right 0, and so on. Left is sampled in odd scans, Right in even ones: both read 0 for ever.
    assertThat(torn).containsExactly("00", "00", "00", "00", "00", "00");
    assertThat(both[0]).isFalse();
    assertThat(c.display("panel").sampledIn(c.bool("Left"))).isEqualTo(5);
    assertThat(c.display("panel").sampledIn(c.bool("Right"))).isEqualTo(6);
    assertThat(c.display("panel").sampledAt(c.bool("Right"))).isEqualTo(55 * MS);
    // With the phase one period on, Left is sampled in even scans and Right in odd ones: both read 1.
    Controller d = program.newController(
        still(ScanPolicy.image(), 10).withDisplay("panel", DisplaySampling.asynchronous(ms(10), ms(15), 1), Painting.fromSample(), List.of("Left", "Right")));
    d.scan(3);
    d.passTime(6 * MS);
    assertThat(bits(d, "panel")).isEqualTo("11");
  }

  private static String bits(Controller c, String display) {
    return (c.display(display).get(c.bool("Left")) ? "1" : "0") + (c.display(display).get(c.bool("Right")) ? "1" : "0");
  }

  @Test
  void s20ATogglingBitAliases() {
    CompiledProgram program = compile("PROGRAM Blink", "VAR Lamp : BOOL; END_VAR", "Lamp := NOT Lamp;", "END_PROGRAM");
    for (int period : new int[] {10, 20, 30, 21}) {
      Controller c = program.newController(
          still(ScanPolicy.image(), 10).withDisplay("screen", DisplaySampling.asynchronous(ms(period), ms(5)), Painting.fromSample()));
      List<Long> seen = new ArrayList<>();
      Variable.Bool lamp = c.bool("Lamp");
      c.attach(on(e -> {
        if (e.address() == lamp.address()) {
          seen.add(e.after());
        }
      }, EventKind.SAMPLE));
      c.runUntil(1_000 * MS);
      for (int n = 0; n < seen.size(); n++) {
        long at = 5 + (long) n * period;
        // Scans begin at 0, 10, 20 ms and take no time; what falls on the start of a scan comes before it. So floor((at - 1) / 10) + 1 scans are over,
        // and the lamp is on after an odd number.
        assertThat(seen.get(n)).as("sample " + n + " every " + period + " ms").isEqualTo(((at - 1) / 10 + 1) % 2);
      }
      assertThat(seen).hasSize((1_000 - 5 + period - 1) / period);
      long changes = java.util.stream.IntStream.range(1, seen.size()).filter(n -> !seen.get(n).equals(seen.get(n - 1))).count();
      if (period == 20) {
        assertThat(changes).as("seen constant").isZero();
      } else if (period == 21) {
        assertThat(changes).as("seen blinking slowly: once in ten samples").isBetween(3L, 5L);
      } else {
        assertThat(changes).isEqualTo(seen.size() - 1);
      }
    }
  }

  @Test
  void s21APushBetweenTwoScansIsNeverSeen() {
    CompiledProgram program = compile("PROGRAM Panel", "VAR Jog : BOOL; Seen : INT; END_VAR", "IF Jog THEN Seen := Seen + 1; END_IF;", "END_PROGRAM");
    Controller c = program.newController(still(ScanPolicy.image(), 10));
    Variable.Bool jog = c.bool("Jog");
    c.scan();
    c.memory().setAt(12 * MS, jog, true);
    c.memory().setAt(14 * MS, jog, false);
    c.scan(3);
    assertThat(c.memory().get(c.integer("Seen"))).isZero();
    // The connection is lost after the 1: the bit sticks.
    c.memory().setAt(42 * MS, jog, true);
    c.scan(4);
    assertThat(c.memory().get(c.integer("Seen"))).isEqualTo(3);
  }

  @Test
  void s22WhoWinsDependsOnWhereTheWriteLands() {
    CompiledProgram program = compile("PROGRAM Both", "VAR Pump, Want, Early : BOOL; END_VAR", "Early := Pump;", "Pump := Want;", "END_PROGRAM");
    // Steps: read Pump [0, 1 us), write Early, read Want, write Pump [3, 4), return [4, 5). The panel sends TRUE at 4 us.
    Controller between = program.newController(micro(ScanPolicy.image(), 1));
    between.memory().setAt(4 * US, between.bool("Pump"), true);
    between.scan();
    assertThat(between.memory().get(between.bool("Pump"))).as("lands in housekeeping, after the program").isTrue();
    between.scan();
    assertThat(between.memory().get(between.bool("Early"))).as("the program sees it at its top").isTrue();
    assertThat(between.memory().get(between.bool("Pump"))).as("and overwrites it").isFalse();
    ScanPolicy anywhere = micro(ScanPolicy.image(), 1).withExternalWrites(ExternalWrites.anyStep());
    Controller late = program.newController(anywhere);
    late.memory().setAt(4 * US, late.bool("Pump"), true);
    late.scan();
    assertThat(late.memory().get(late.bool("Pump"))).as("lands behind the write").isTrue();
    Controller early = program.newController(anywhere);
    early.memory().setAt(3 * US, early.bool("Pump"), true);
    early.scan();
    assertThat(early.memory().get(early.bool("Pump"))).as("lands in front of the write").isFalse();
  }

  @Test
  void s28FirstScanInitializesThenRefreshesThenRunsLogic() {
    CompiledProgram program = compile("PROGRAM First", "VAR Level AT %IX0.0 : BOOL; Count : INT := 7; First : BOOL := TRUE; Saw : BOOL; END_VAR",
        "IF First THEN Saw := Level; Count := Count + 1; First := FALSE; END_IF;", "END_PROGRAM");
    Controller c = program.newController(ScanPolicy.image());
    assertThat(c.memory().get(c.integer("Count"))).isEqualTo(7);
    c.field().set(c.bool("Level"), true);
    assertThat(c.memory().get(c.bool("Level"))).as("not yet refreshed").isFalse();
    List<String> order = new ArrayList<>();
    c.attach(on(e -> order.add(e.kind() == EventKind.PHASE ? e.phase().name() : e.kind() == EventKind.WRITE ? e.source().name() : e.kind().name()),
        EventKind.SCAN_START, EventKind.PHASE, EventKind.WRITE, EventKind.SCAN_END));
    c.scan();
    assertThat(order).containsExactly("SCAN_START", "INPUT_REFRESH", "INPUT_REFRESH", "PROGRAM", "INSTRUCTION", "INSTRUCTION", "INSTRUCTION",
        "OUTPUT_REFRESH", "HOUSEKEEPING", "SCAN_END");
    assertThat(c.memory().get(c.bool("Saw"))).isTrue();
    assertThat(c.memory().get(c.integer("Count"))).isEqualTo(8);
    c.scan();
    assertThat(c.memory().get(c.integer("Count"))).isEqualTo(8);
    // A cold restart is a first scan again.
    order.clear();
    c.restartCold();
    assertThat(order).isNotEmpty().containsOnly("INITIALIZATION");
    order.clear();
    c.scan();
    assertThat(order.subList(0, 3)).containsExactly("SCAN_START", "INPUT_REFRESH", "INPUT_REFRESH");
    assertThat(c.memory().get(c.integer("Count"))).isEqualTo(8);
  }

  @Test
  void s31AForcedInputHoldsAgainstTheRefreshAndNotAgainstLogic() {
    CompiledProgram program = compile("PROGRAM Forced", "VAR Limit AT %IX0.0 : BOOL; A, B : BOOL; Motor AT %QX0.0 : BOOL; END_VAR",
        "A := Limit;", "Limit := FALSE;", "B := Limit;", "Motor := A;", "END_PROGRAM");
    for (boolean firm : new boolean[] {false, true}) {
      Controller c = program.newController(micro(ScanPolicy.image(), 1).withFirmForces(firm));
      List<Event.Source> sources = new ArrayList<>();
      Variable.Bool limit = c.bool("Limit");
      c.attach(on(e -> {
        if (e.address() == limit.address() && e.source() == Event.Source.FORCE) {
          sources.add(e.source());
        }
      }, EventKind.WRITE));
      c.force(limit, 1);
      assertThat(c.isForced(limit)).isTrue();
      assertThat(c.memory().get(limit)).as("at once").isTrue();
      c.scan();
      assertThat(c.field().get(limit)).as("the switch itself stays").isFalse();
      assertThat(c.memory().get(c.bool("A"))).isTrue();
      assertThat(c.memory().get(c.bool("B"))).as("logic in between").isEqualTo(firm);
      assertThat(sources).as("the trace names the force").isNotEmpty();
      c.scan();
      assertThat(c.memory().get(c.bool("A"))).isTrue();
      c.unforce(limit);
      c.scan();
      assertThat(c.memory().get(c.bool("A"))).isFalse();
    }
  }

  @Test
  void s31AForcedOutputHoldsAgainstTheDelivery() {
    CompiledProgram program = compile("PROGRAM Forced", "VAR Motor AT %QX0.5 : BOOL; END_VAR", "Motor := FALSE;", "END_PROGRAM");
    for (ScanPolicy p : List.of(ScanPolicy.image(), ScanPolicy.immediate(), ScanPolicy.asynchronous(us(3)))) {
      Controller c = program.newController(micro(p, 1));
      Variable.Bool motor = c.bool("Motor");
      List<Event.Source> sources = new ArrayList<>();
      c.attach(on(e -> sources.add(e.source()), EventKind.FIELD));
      c.force(motor, "TRUE");
      assertThat(c.field().get(motor)).as("at once").isTrue();
      assertThat(sources).containsExactly(Event.Source.FORCE);
      c.scan(3);
      assertThat(c.field().get(motor)).isTrue();
      assertThat(c.memory().get(motor)).as("memory holds what logic says").isFalse();
      c.unforce(motor);
      c.scan(2);
      assertThat(c.field().get(motor)).isFalse();
    }
  }

  @Test
  void s33AnEndlessLoopTripsTheWatchdogAtItsStep() {
    String text = String.join("\n", "PROGRAM Stuck", "VAR Fan AT %QX0.0 : BOOL; Go : BOOL; n : DINT; END_VAR",
        "Fan := TRUE;", "WHILE Go DO", "  n := n + 1;", "END_WHILE;", "END_PROGRAM");
    for (ImplementerChoices.FaultReaction reaction : ImplementerChoices.FaultReaction.values()) {
      CompiledProgram program = Compiler.standard().withLimits(Limits.standard().withStepsPerScan(5_000))
          .withChoices(ImplementerChoices.standard().withFaultReaction(reaction)).compile("stuck.st", text).orThrow();
      Controller c = program.newController(micro(ScanPolicy.image(), 10));
      Trace trace = Trace.whole();
      c.attach(trace);
      assertThat(c.scan(2)).isEqualTo(2);
      assertThat(c.field().get(c.bool("Fan"))).isTrue();
      c.memory().set(c.bool("Go"), true);
      assertThat(c.scan()).isFalse();
      Fault f = c.fault().orElseThrow();
      assertThat(f.code()).isEqualTo("fault/watchdog");
      assertThat(f.scan()).isEqualTo(3);
      assertThat(f.ordinal()).as("the step beyond the budget").isEqualTo(5_001);
      assertThat(f.time()).as("5,000 steps of 1 us after the third tick").isEqualTo(20 * MS + 5_000 * US);
      assertThat(f.span().line()).isBetween(4, 6);
      assertThat(trace.get(trace.size() - 1).kind()).isIn(EventKind.FAULT, EventKind.FIELD);
      assertThat(c.field().get(c.bool("Fan"))).isEqualTo(reaction == ImplementerChoices.FaultReaction.STOP_HOLD);
      long time = c.time();
      assertThat(c.scan()).isFalse();
      assertThat(c.scans()).isEqualTo(2);
      assertThat(c.time()).isEqualTo(time);
      c.restartWarm();
      assertThat(c.fault()).isEmpty();
      assertThat(c.scan()).as("Go is FALSE again").isTrue();
    }
  }

  @Test
  void s34BusyCommunicationLengthensTheScan() {
    CompiledProgram program = compile("PROGRAM Busy", "VAR a : INT; END_VAR", "END_PROGRAM");
    CostModel costs = CostModel.fixed(us(1), us(10), us(20), us(300));
    Controller quiet = program.newController(ScanPolicy.image().withCosts(costs));
    Controller busy = program.newController(ScanPolicy.image().withCosts(costs));
    for (int k = 0; k < 5; k++) {
      busy.memory().setAt(5 * US, busy.integer("a"), k);
    }
    quiet.scan();
    busy.scan();
    // Two refreshes, one step (the return), housekeeping; five messages on top.
    assertThat(quiet.time()).isEqualTo(10 * US + US + 10 * US + 20 * US);
    assertThat(busy.time()).isEqualTo(quiet.time() + 5 * 300 * US);
    quiet.scan();
    busy.scan();
    assertThat(busy.time() - busy.scanStart()).isEqualTo(quiet.time() - quiet.scanStart());
  }

  @Test
  void s35ResponseTakesUpToTwoScans() {
    CompiledProgram program = compile("PROGRAM Reply", "VAR Ask AT %IX0.0 : BOOL; Answer AT %QX0.0 : BOOL; END_VAR", "Answer := Ask;", "END_PROGRAM");
    ScanPolicy p = ScanPolicy.image().withCosts(CostModel.fixed(us(1), us(100), us(50), Duration.ZERO));
    // Scan: refresh [0, 100), 3 steps [100, 103), delivery at 103, its cost, housekeeping: 253 us. The terminal moves 103 us after a refresh.
    long scan = 253;
    long sum = 0;
    long best = Long.MAX_VALUE;
    long worst = 0;
    for (long phase = 0; phase < scan; phase++) {
      Controller c = program.newController(p);
      long asked = 10 * scan * US + phase * US;
      long[] answered = new long[1];
      c.field().setAt(asked, c.bool("Ask"), true);
      Variable.Bool answer = c.bool("Answer");
      c.attach(on(e -> {
        if (answered[0] == 0 && c.field().get(answer)) {
          answered[0] = e.time();
        }
      }, EventKind.FIELD));
      c.scan(14);
      long response = (answered[0] - asked) / US;
      assertThat(response).as("phase " + phase).isEqualTo(phase == 0 ? 103 : scan - phase + 103);
      sum += response;
      best = Math.min(best, response);
      worst = Math.max(worst, response);
    }
    assertThat(best).as("best: one scan's refresh, program, delivery").isEqualTo(103);
    assertThat(worst).as("worst: just missed").isEqualTo(scan - 1 + 103);
    assertThat(worst).isLessThan(2 * scan);
    // Uniform phases: the mean is 103 + 252 / 2.
    assertThat(sum).isEqualTo(scan * 103 + scan * (scan - 1) / 2);
  }

  @Test
  void policiesCanDifferByRange() {
    CompiledProgram program = compile("PROGRAM Racks", "VAR Near AT %IX0.0 : BOOL; Far AT %IX2.0 : BOOL; Both AT %IL0 : LWORD; n, f : BOOL;",
        "  QNear AT %QX0.0 : BOOL; QFar AT %QX3.0 : BOOL; END_VAR",
        "Near := FALSE; Far := FALSE;", "n := Near; f := Far;", "QNear := TRUE; QFar := TRUE;", "QNear := FALSE; QFar := FALSE;", "END_PROGRAM");
    ScanPolicy p = micro(ScanPolicy.image(), 1).withInputs(2, 2, InputAcquisition.immediate()).withOutputs(3, 3, OutputDelivery.immediate());
    Controller c = program.newController(p);
    c.field().set(c.bool("Near"), true);
    c.field().set(c.bool("Far"), true);
    List<Long> moved = new ArrayList<>();
    c.attach(on(e -> moved.add(e.address()), EventKind.FIELD));
    c.scan();
    assertThat(c.memory().get(c.bool("n"))).as("image: the coil's FALSE stays").isFalse();
    assertThat(c.memory().get(c.bool("f"))).as("immediate: copied again at the read").isTrue();
    assertThat(moved).containsExactly(c.variable("%QX3.0").address(), c.variable("%QX3.0").address());
  }

  @Test
  void onDemandScansOnlyWhenAsked() {
    CompiledProgram program = compile("PROGRAM Calm", "VAR n : INT; END_VAR", "n := n + 1;", "END_PROGRAM");
    Controller c = program.newController(micro(ScanPolicy.image()).withTrigger(ScanTrigger.onDemand()));
    assertThat(c.runUntil(5 * MS)).isTrue();
    assertThat(c.time()).isEqualTo(5 * MS);
    assertThat(c.scans()).isZero();
    c.scan();
    assertThat(c.scanStart()).isEqualTo(5 * MS);
    assertThat(c.memory().get(c.integer("n"))).isEqualTo(1);
  }
}
