package dev.scanloom.differential;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Fault;
import dev.scanloom.Lanes;
import dev.scanloom.Snapshot;
import dev.scanloom.Variable;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Lanes by hand: truth tables, timing by the diagram, faults, states, misuse. */
class LanesTest {
  private static final ScanPolicy POLICY = ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero());
  /** Enough Boolean networks that words pay. */
  private static final String FILL = "z := z AND in0 OR NOT z AND in1 OR in2 AND z; z := NOT z;\n".repeat(40);
  private static final String HEAD = "PROGRAM Main VAR in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; in2 AT %IX0.2 : BOOL; iw AT %IW1 : INT; q0 AT %QX0.0 : BOOL;\n"
      + "  z : BOOL; a : BOOL; n : INT; t : TON; arr : ARRAY [0..3] OF INT; s : STRING[8] := 'idle'; END_VAR\n";

  private static CompiledProgram compile(String body) {
    return compile(body, Limits.standard());
  }

  private static CompiledProgram compile(String body, Limits limits) {
    return Compiler.standard().withLimits(limits).compile("lanes.st", HEAD + body + FILL + "END_PROGRAM\n").orThrow();
  }

  /** Expected values: Boolean algebra, evaluated by Java on the lanes' own bits. */
  @Test
  void aTruthTableTakesOneScan() {
    CompiledProgram p = compile("a := (in0 AND NOT in1) OR (in1 XOR in2); q0 := SEL(in2, a, in0 = in1);\n");
    Lanes lanes = p.newLanes(8, POLICY);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    for (int b = 0; b < 3; b++) {
      long word = 0;
      for (int i = 0; i < 8; i++) {
        word |= (long) (i >>> b & 1) << i;
      }
      lanes.setFieldWord(p.bool("in" + b), 0, word);
    }
    assertThat(lanes.scan()).isTrue();
    for (int i = 0; i < 8; i++) {
      boolean x = (i & 1) != 0;
      boolean y = (i & 2) != 0;
      boolean z = (i & 4) != 0;
      boolean a = x && !y || y != z;
      assertThat(lanes.memory(i).get(p.bool("a"))).as("a of lane " + i).isEqualTo(a);
      assertThat(lanes.field(i).get(p.bool("q0"))).as("q0 of lane " + i).isEqualTo(z ? x == y : a);
    }
    assertThat(lanes.memoryWord(p.bool("a"), 0) >>> 8).as("bits of lanes that do not exist").isZero();
  }

  /** Timing diagram of TON (IEC 61131-3 Table 46): Q when IN has been TRUE for PT. Lane i sees IN from scan i + 1 on; scans are 10 ms apart. */
  @Test
  void everyLaneHasItsOwnTimer() {
    CompiledProgram p = compile("t(IN := in0, PT := T#30ms); q0 := t.Q;\n");
    Lanes lanes = p.newLanes(5, POLICY);
    assertThat(lanes.executionInUse()).contains("each lane: ").contains("in 1 stretch, at lanes.st:3:");
    for (int scan = 1; scan <= 8; scan++) {
      for (int i = 0; i < 5; i++) {
        lanes.field(i).set(p.bool("in0"), scan > i);
      }
      lanes.scan();
      for (int i = 0; i < 5; i++) {
        assertThat(lanes.field(i).get(p.bool("q0"))).as("scan " + scan + ", lane " + i).isEqualTo(scan - (i + 1) >= 3);
        assertThat(lanes.memory(i).text(p.variable("t.ET"))).isEqualTo("T#" + Math.max(0, Math.min(30, 10 * (scan - i - 1))) + (scan - i - 1 <= 0 ? "s" : "ms"));
      }
    }
    assertThat(lanes.time(3)).isEqualTo(70_000_000);
    assertThat(lanes.scanStart(0)).isEqualTo(70_000_000);
    assertThat(lanes.scans(4)).isEqualTo(8);
  }

  @Test
  void aFaultStopsItsLaneOnly() {
    CompiledProgram p = compile("q0 := in0; IF in0 THEN arr[iw] := 1; END_IF; n := n + 1;\n");
    Lanes lanes = p.newLanes(66, POLICY);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    lanes.setFieldWord(p.bool("in0"), 0, 0b111);
    lanes.setFieldWord(p.bool("in0"), 1, 0b10);
    lanes.field(1).set(p.integer("iw"), 4);
    lanes.field(65).set(p.integer("iw"), -1);
    assertThat(lanes.scan(3)).isEqualTo(3);
    assertThat(lanes.faulted(0)).isEqualTo(0b10);
    assertThat(lanes.faulted(1)).isEqualTo(0b10);
    Fault f = lanes.fault(1).orElseThrow();
    assertThat(f.code()).isEqualTo("fault/index-range");
    assertThat(f.scan()).isEqualTo(1);
    assertThat(lanes.fault(65).orElseThrow().message()).contains("-1");
    assertThat(lanes.fault(2)).isEmpty();
    assertThat(lanes.memory(1).get(p.integer("n"))).isZero();
    assertThat(lanes.memory(2).get(p.integer("n"))).isEqualTo(3);
    assertThat(lanes.scans(1)).isZero();
    assertThat(lanes.scans(2)).isEqualTo(3);

    lanes.field(1).set(p.integer("iw"), 2);
    lanes.restartCold(1);
    assertThat(lanes.faulted(0)).isZero();
    lanes.scan();
    assertThat(lanes.memory(1).get(p.integer("arr[2]"))).isEqualTo(1);
    assertThat(lanes.memory(2).get(p.integer("n"))).isEqualTo(4);
    assertThat(lanes.memory(1).get(p.integer("n"))).isEqualTo(1);
  }

  @Test
  void scanEndsWhenAllLanesHaveFaulted() {
    CompiledProgram p = compile("IF in0 THEN arr[iw] := 1; END_IF;\n");
    Lanes lanes = p.newLanes(2, POLICY);
    for (int i = 0; i < 2; i++) {
      lanes.field(i).set(p.bool("in0"), true);
      lanes.field(i).set(p.integer("iw"), 9);
    }
    assertThat(lanes.scan()).isFalse();
    assertThat(lanes.scan()).isFalse();
    assertThat(lanes.faulted(0)).isEqualTo(0b11);
    assertThat(lanes.memory(0).get(p.bool("z"))).isFalse();
    lanes.restartCold();
    assertThat(lanes.faulted(0)).isZero();
    assertThat(lanes.field(0).get(p.bool("in0"))).as("terminals stay").isTrue();
  }

  /** The budget counts steps; the single controller is the reference for where it ends. */
  @Test
  void theWatchdogBitesTheLaneThatLoops() {
    CompiledProgram p = compile("n := 0; WHILE in0 AND n < iw DO n := n + 1; END_WHILE;\n", Limits.standard().withStepsPerScan(4_000));
    Lanes lanes = p.newLanes(3, POLICY);
    Controller c = p.newController(POLICY);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    lanes.setFieldWord(p.bool("in0"), 0, 0b110);
    lanes.field(1).set(p.integer("iw"), 3);
    lanes.field(2).set(p.integer("iw"), 30_000);
    c.field().set(p.bool("in0"), true);
    c.field().set(p.integer("iw"), 30_000);
    lanes.scan();
    c.scan();
    assertThat(lanes.faulted(0)).isEqualTo(0b100);
    assertThat(lanes.fault(2)).isEqualTo(c.fault());
    assertThat(c.fault().orElseThrow().code()).isEqualTo("fault/watchdog");
    assertThat(lanes.steps(2)).isEqualTo(c.steps());
    assertThat(lanes.memory(2).get(p.integer("n"))).isEqualTo(c.memory().get(p.integer("n")));
  }

  /** A loop that passes the budget of words, which is taken as if all blocks were executed, but not its own. */
  @Test
  void aLaneThatOnlySeemsToUseTooManyStepsGoesOn() {
    String unused = "IF in2 THEN\n" + FILL + "END_IF;\n";
    CompiledProgram p = compile("n := 0; WHILE in0 AND n < iw DO n := n + 1; END_WHILE;\n" + unused, Limits.standard().withStepsPerScan(3_000));
    Lanes lanes = p.newLanes(1, POLICY);
    Controller c = p.newController(POLICY);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    for (int scan = 1; scan <= 3; scan++) {
      lanes.field(0).set(p.bool("in0"), true);
      lanes.field(0).set(p.integer("iw"), 130);
      c.field().set(p.bool("in0"), true);
      c.field().set(p.integer("iw"), 130);
      lanes.scan();
      c.scan();
      assertThat(lanes.fault(0)).isEmpty();
      assertThat(c.fault()).isEmpty();
      assertThat(lanes.steps(0)).isEqualTo(c.steps());
      assertThat(lanes.time(0)).isEqualTo(c.time());
      assertThat(lanes.memory(0).text(p.variable("z"))).isEqualTo(c.memory().text(p.variable("z")));
    }
  }

  /** Steps that cost time part the clocks of lanes that take different ways. */
  @Test
  void lanesHaveClocksOfTheirOwnWhereStepsCostTime() {
    CompiledProgram p = compile("IF in0 THEN a := in1; a := NOT a; END_IF; t(IN := in1, PT := T#1s);\n");
    ScanPolicy policy = ScanPolicy.image();
    Lanes lanes = p.newLanes(2, policy);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    Controller[] each = {p.newController(policy), p.newController(policy)};
    lanes.setFieldWord(p.bool("in0"), 0, 0b10);
    lanes.setFieldWord(p.bool("in1"), 0, 0b11);
    each[1].field().set(p.bool("in0"), true);
    for (Controller c : each) {
      c.field().set(p.bool("in1"), true);
    }
    for (int scan = 0; scan < 4; scan++) {
      lanes.scan();
      for (int i = 0; i < 2; i++) {
        each[i].scan();
        assertThat(lanes.time(i)).isEqualTo(each[i].time());
        assertThat(lanes.memory(i).text(p.variable("t.ET"))).isEqualTo(each[i].memory().text(p.variable("t.ET")));
      }
    }
    assertThat(lanes.time(1) - lanes.time(0)).as("six more steps of 100 ns, in each of four scans: load, store, load, NOT, store, jump").isEqualTo(4 * 600);
  }

  @Test
  void statesGoFromLanesToControllersAndBack() {
    CompiledProgram p = compile("n := n + SEL(in0, 1, 2); t(IN := in1, PT := T#20ms); s := 'run'; q0 := t.Q;\n");
    Lanes lanes = p.newLanes(70, POLICY);
    lanes.setFieldWord(p.bool("in0"), 1, 0b100000);
    lanes.setFieldWord(p.bool("in1"), 1, 0b100000);
    lanes.scan(3);
    Controller c = lanes.controller(69);
    assertThat(c.scans()).isEqualTo(3);
    assertThat(c.time()).isEqualTo(20_000_000);
    assertThat(c.memory().get(p.integer("n"))).isEqualTo(6);
    assertThat(c.field().get(p.bool("q0"))).isTrue();
    assertThat(c.memory().get(p.text("s"))).isEqualTo("run");
    c.scan();
    lanes.scan();
    assertThat(c.memory().get(p.integer("n"))).isEqualTo(lanes.memory(69).get(p.integer("n"))).isEqualTo(8);

    lanes.copy(69, 2);
    assertThat(lanes.memory(2).get(p.integer("n"))).isEqualTo(8);
    assertThat(lanes.field(2).get(p.bool("in0"))).isTrue();
    Snapshot fresh = p.newController(POLICY).snapshot();
    lanes.restore(2, fresh);
    assertThat(lanes.time(2)).isZero();
    assertThat(lanes.time(3)).isEqualTo(30_000_000);
    lanes.scan();
    assertThat(lanes.scans(2)).isEqualTo(1);
    assertThat(lanes.scans(3)).isEqualTo(5);
    assertThat(lanes.memory(2).get(p.integer("n"))).isEqualTo(1);
    lanes.restore(c.snapshot());
    for (int i = 0; i < 70; i++) {
      assertThat(lanes.memory(i).get(p.integer("n"))).isEqualTo(8);
      assertThat(lanes.time(i)).isEqualTo(c.time());
      assertThat(lanes.field(i).get(p.bool("in1"))).isTrue();
    }
    lanes.scan();
    c.scan();
    assertThat(lanes.memory(37).get(p.integer("n"))).isEqualTo(c.memory().get(p.integer("n"))).isEqualTo(10);
  }

  @Test
  void retainedVariablesOutliveAWarmRestart() {
    CompiledProgram p = Compiler.standard().compile("r.st", "PROGRAM Main VAR in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; in2 AT %IX0.2 : BOOL; z : BOOL; END_VAR\n"
        + "VAR RETAIN kept : BOOL; END_VAR VAR lost : BOOL; END_VAR\n kept := kept OR in0; lost := lost OR in0;\n" + FILL + "END_PROGRAM").orThrow();
    Lanes lanes = p.newLanes(2, POLICY);
    lanes.setFieldWord(p.bool("in0"), 0, 0b01);
    lanes.scan();
    lanes.restartWarm(0);
    lanes.restartCold(1);
    assertThat(lanes.memoryWord(p.bool("kept"), 0)).isEqualTo(0b01);
    assertThat(lanes.memoryWord(p.bool("lost"), 0)).isZero();
  }

  @Test
  void externalWritesCostTimeWhereThePolicySaysSo() {
    CompiledProgram p = compile("a := in0;\n");
    ScanPolicy policy = POLICY.withCosts(CostModel.fixed(Duration.ZERO, Duration.ZERO, Duration.ZERO, Duration.ofMillis(1))).withTrigger(ScanTrigger.freeRunning());
    Lanes lanes = p.newLanes(2, policy);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    lanes.setMemoryWord(p.bool("z"), 0, 0b11);
    lanes.scan();
    assertThat(lanes.time(0)).isEqualTo(lanes.time(1)).isEqualTo(1_000_000);
    lanes.memory(1).set(p.bool("z"), true);
    lanes.memory(1).set(p.text("s"), "x");
    lanes.scan();
    assertThat(lanes.time(0)).isEqualTo(1_000_000);
    assertThat(lanes.time(1)).isEqualTo(3_000_000);
    lanes.scan();
    assertThat(lanes.time(1)).isEqualTo(3_000_000);
  }

  @Test
  void neighbouringTerminalsAreSetTogether() {
    for (ScanPolicy policy : List.of(POLICY, POLICY.withExecution(Execution.STEPPING))) {
      CompiledProgram p = Compiler.standard().compile("x.st", "PROGRAM Main VAR x AT %IX0.0 : ARRAY [0..199] OF BOOL; y AT %QX0.0 : ARRAY [0..199] OF BOOL; END_VAR\n"
          + "VAR i : INT; END_VAR\n" + networks(200) + "END_PROGRAM").orThrow();
      Lanes lanes = p.newLanes(100, policy);
      long[] words = new long[190];
      for (int i = 0; i < words.length; i++) {
        words[i] = (i + 1) * 0x9E37_79B9_7F4A_7C15L;
      }
      lanes.setFieldWords(p.bool("x[0]"), 1, words);
      lanes.setFieldWords(p.bool("x[3]"), 0, words);
      lanes.scan();
      long[] seen = new long[190];
      lanes.fieldWords(p.bool("%QX0.0"), 1, seen);
      for (int i = 0; i < words.length; i++) {
        assertThat(seen[i]).as("output " + i).isEqualTo(~words[i] & (1L << 36) - 1);
      }
      lanes.fieldWords(p.bool("%QX0.3"), 0, seen);
      for (int i = 0; i < words.length; i++) {
        assertThat(seen[i]).as("output " + i).isEqualTo(~words[i]);
      }
      assertThat(lanes.fieldWord(p.bool("x[1]"), 0)).isZero();
      assertThatThrownBy(() -> lanes.setFieldWords(p.bool("x[20]"), 0, new long[1 << 20])).isInstanceOf(IllegalArgumentException.class)
          .hasMessageContaining("1048576 terminals from %IX2.4 on do not fit");
    }
  }

  /** Outputs and inputs that no instruction names are delivered and refreshed all the same; the single controller is the reference. */
  @Test
  void locationsThatNobodyTouchesAreRefreshed() {
    String text = "PROGRAM Main VAR in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; in2 AT %IX0.2 : BOOL; z : BOOL; far AT %IX9.0 : BOOL := TRUE;\n"
        + " spare AT %QX3.1 : BOOL := TRUE; level AT %QW8 : WORD; iw AT %IW6 : WORD; END_VAR\n" + FILL + "END_PROGRAM";
    CompiledProgram p = Compiler.standard().compile("far.st", text).orThrow();
    Lanes lanes = p.newLanes(3, POLICY);
    Controller c = p.newController(POLICY);
    assertThat(lanes.executionInUse()).startsWith("words: ");
    for (int scan = 1; scan <= 3; scan++) {
      for (String name : List.of("far", "spare", "level", "iw", "%QB3", "%IB9")) {
        Variable v = p.variable(name);
        assertThat(lanes.memory(1).text(v)).as(name + " before scan " + scan).isEqualTo(c.memory().text(v));
        assertThat(lanes.field(1).text(v)).as(name + " before scan " + scan).isEqualTo(c.field().text(v));
      }
      if (scan == 2) {
        c.memory().set(p.integer("level"), 0x1234);
        lanes.memory(1).set(p.integer("level"), 0x1234);
        c.field().set(p.integer("iw"), 77);
        lanes.field(1).set(p.integer("iw"), 77);
      }
      lanes.scan();
      c.scan();
    }
    assertThat(lanes.field(1).get(p.integer("level"))).isEqualTo(0x1234);
    assertThat(lanes.field(0).get(p.integer("level"))).isZero();
  }

  private static String networks(int n) {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < n; i++) {
      b.append("y[").append(i).append("] := NOT x[").append(i).append("];\n");
    }
    return b.toString();
  }

  @Test
  void policiesThatActBetweenStepsGetControllers() {
    CompiledProgram p = compile("a := in0 AND in1;\n");
    assertThat(p.newLanes(2, ScanPolicy.immediate()).executionInUse()).isEqualTo("single controllers: inputs are not acquired by image alone");
    assertThat(p.newLanes(2, POLICY.withExecution(Execution.STEPPING)).executionInUse()).isEqualTo("single controllers: the policy asks for stepping");
    assertThat(p.newLanes(2, POLICY.withDisplay("wall", DisplaySampling.asynchronous(Duration.ofMillis(3), Duration.ZERO), Painting.fromSample()))
        .executionInUse()).isEqualTo("single controllers: display wall samples on a clock of its own");
    assertThat(p.newLanes(2, POLICY.withExternalWrites(ExternalWrites.delayed(false, Duration.ofMillis(1)))).executionInUse())
        .isEqualTo("single controllers: external writes take time");
    Lanes lanes = p.newLanes(3, ScanPolicy.immediate());
    lanes.setFieldWord(p.bool("in0"), 0, 0b011);
    lanes.setFieldWord(p.bool("in1"), 0, 0b110);
    lanes.scan();
    assertThat(lanes.memoryWord(p.bool("a"), 0)).isEqualTo(0b010);
    assertThat(lanes.faulted(0)).isZero();
  }

  @Test
  void misuseIsRefused() {
    CompiledProgram p = compile("a := in0;\n");
    CompiledProgram other = compile("a := in1;\n");
    List<Lanes> both = new ArrayList<>(List.of(p.newLanes(65, POLICY), p.newLanes(65, POLICY.withExecution(Execution.STEPPING))));
    assertThatThrownBy(() -> p.newLanes(0, POLICY)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("at least 1 lane");
    Variable.Bool in0 = p.bool("in0");
    for (Lanes lanes : both) {
      assertThat(lanes.groups()).isEqualTo(2);
      assertThatThrownBy(() -> lanes.field(65)).isInstanceOf(IndexOutOfBoundsException.class).hasMessage("lane 65; lanes are 0 to 64");
      assertThatThrownBy(() -> lanes.steps(-1)).isInstanceOf(IndexOutOfBoundsException.class);
      assertThatThrownBy(() -> lanes.setFieldWord(in0, 2, 0)).isInstanceOf(IndexOutOfBoundsException.class).hasMessage("group 2; groups are 0 to 1");
      assertThatThrownBy(() -> lanes.setFieldWord(other.bool("in0"), 0, 0)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("another program");
      assertThatThrownBy(() -> lanes.setFieldWord(p.bool("q0"), 0, 0)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("is an output");
      assertThatThrownBy(() -> lanes.fieldWord(p.bool("a"), 0)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("not located at %I or %Q");
      assertThatThrownBy(() -> lanes.field(0).setAt(1, in0, true)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("has not come");
      assertThatThrownBy(() -> lanes.field(0).set(p.bool("q0"), true)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("is an output");
      assertThatThrownBy(() -> lanes.memory(0).set(p.integer("n"), 40_000)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("outside");
      assertThatThrownBy(() -> lanes.passTime(-1)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("forward");
      Controller c = p.newController(lanes.policy());
      c.force(in0, "TRUE");
      assertThatThrownBy(() -> lanes.restore(0, c.snapshot())).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("forced or scheduled");
      Controller stepped = p.newController(lanes.policy());
      stepped.step();
      assertThatThrownBy(() -> lanes.restore(stepped.snapshot())).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("between two scans");
      assertThatThrownBy(() -> lanes.restore(0, other.newController(POLICY).snapshot())).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("another");
      assertThat(lanes.scan()).isTrue();
    }
  }
}
