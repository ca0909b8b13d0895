package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.US;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.on;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Tasks (IEC 61131-3, Table 63 and the rules beside it; from memory). Times are derived by hand: 1 us a step, phases free. */
class TasksTest {
  private static final String[] TWO = {
    "CONFIGURATION Plant",
    "VAR_GLOBAL Shared : DINT; FastRuns, SlowRuns : DINT; Trip : BOOL; EventRuns : DINT; END_VAR",
    "TASK Fast(INTERVAL := T#10ms, PRIORITY := 1);",
    "TASK Slow(INTERVAL := T#30ms, PRIORITY := 5);",
    "TASK OnTrip(SINGLE := Trip, PRIORITY := 0);",
    "PROGRAM f WITH Fast : FastProgram;", "PROGRAM s WITH Slow : SlowProgram;", "PROGRAM e WITH OnTrip : EventProgram;",
    "END_CONFIGURATION",
    "PROGRAM FastProgram VAR_EXTERNAL Shared, FastRuns : DINT; END_VAR",
    "Shared := Shared + 1; FastRuns := FastRuns + 1;", "END_PROGRAM",
    "PROGRAM SlowProgram VAR_EXTERNAL Shared, SlowRuns : DINT; END_VAR VAR i, Copy : DINT; END_VAR",
    "Copy := Shared;", "FOR i := 1 TO 2000 DO ; END_FOR;", "Shared := Copy + 1;", "SlowRuns := SlowRuns + 1;", "END_PROGRAM",
    "PROGRAM EventProgram VAR_EXTERNAL EventRuns : DINT; END_VAR", "EventRuns := EventRuns + 1;", "END_PROGRAM"};

  private static long value(Controller c, String path) {
    return c.memory().get(c.integer(path));
  }

  private static List<String> log(Controller c) {
    List<String> log = new ArrayList<>();
    Observer o = on(e -> log.add(c.program().tasks().get(e.task() < 0 ? c.program().tasks().size() - 1 : e.task()) + " " + e.detail()), EventKind.TASK);
    c.attach(o);
    return log;
  }

  @Test
  void tasksRunWhenTheyAreDue() {
    Controller c = compile(TWO).newController(still(ScanPolicy.image(), 10));
    c.scan(7);
    // Ticks at 0, 10, ... 60 ms: Fast at each, Slow at 0, 30, 60.
    assertThat(value(c, "FastRuns")).isEqualTo(7);
    assertThat(value(c, "SlowRuns")).isEqualTo(3);
    assertThat(value(c, "EventRuns")).isZero();
  }

  @Test
  void theHigherPriorityRunsFirst() {
    Controller c = compile(TWO).newController(still(ScanPolicy.image(), 30));
    c.memory().set(c.bool("Trip"), true);
    List<String> log = log(c);
    c.scan();
    assertThat(log).containsExactly("OnTrip start", "OnTrip end", "Fast start", "Fast end", "Slow start", "Slow end");
    log.clear();
    c.scan();
    // 30 ms later three intervals of Fast have passed: one activation runs, the others are lost; Trip has not risen again.
    assertThat(log).containsExactly("Fast lost", "Fast start", "Fast end", "Slow start", "Slow end");
  }

  @Test
  void s23PreemptionLosesAnUpdate() {
    // Slow reads Shared, works for more than 10 ms (2,000 rounds of several steps), and writes it back.
    Controller preempted = compile(TWO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()));
    List<String> log = log(preempted);
    preempted.scan();
    assertThat(log).contains("Slow preempted", "Slow resume");
    assertThat(log.indexOf("Slow preempted")).isLessThan(log.indexOf("Slow resume"));
    long updates = value(preempted, "FastRuns") + value(preempted, "SlowRuns");
    assertThat(value(preempted, "FastRuns")).isGreaterThan(1);
    assertThat(value(preempted, "Shared")).as("what Fast added while Slow held its copy is gone").isEqualTo(2).isLessThan(updates);

    Controller whole = compile(TWO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.nonPreemptive()));
    List<String> calm = log(whole);
    for (int i = 0; i < 6; i++) {
      whole.scan();
      assertThat(value(whole, "Shared")).isEqualTo(value(whole, "FastRuns") + value(whole, "SlowRuns"));
    }
    assertThat(calm).doesNotContain("Slow preempted");
  }

  @Test
  void aPreemptingTaskStartsBetweenTwoStepsAtItsTime() {
    Controller c = compile(TWO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()));
    List<Long> starts = new ArrayList<>();
    c.attach(on(e -> {
      if (e.task() == 0 && e.detail().equals("start")) {
        starts.add(e.time());
      }
    }, EventKind.TASK));
    c.scan();
    assertThat(starts.size()).isGreaterThan(1);
    for (int i = 0; i < starts.size(); i++) {
      assertThat(starts.get(i)).isEqualTo(i * 10 * MS);
    }
  }

  @Test
  void anEventTaskRunsOncePerRisingEdge() {
    Controller c = compile(TWO).newController(still(ScanPolicy.image(), 10));
    Variable.Bool trip = c.bool("Trip");
    c.scan();
    c.memory().set(trip, true);
    c.scan(3);
    assertThat(value(c, "EventRuns")).isEqualTo(1);
    c.memory().set(trip, false);
    c.scan();
    c.memory().set(trip, true);
    c.scan();
    assertThat(value(c, "EventRuns")).isEqualTo(2);
  }

  @Test
  void s37EdgesFasterThanTheTaskAreLostByRule() {
    Controller c = compile(TWO).newController(still(ScanPolicy.image(), 10));
    Variable.Bool trip = c.bool("Trip");
    // Three pulses between two scans: nobody looks in between, and the bit is low again when somebody does.
    for (int k = 0; k < 3; k++) {
      c.memory().setAt((1 + 2 * k) * MS, trip, true);
      c.memory().setAt((2 + 2 * k) * MS, trip, false);
    }
    c.scan(3);
    assertThat(value(c, "EventRuns")).isZero();
    // Preemptive: the bit is looked at between any two steps, and every rise during the slow task starts it at once.
    Controller p = compile(TWO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive())
        .withExternalWrites(dev.scanloom.policy.ExternalWrites.anyStep()));
    for (int k = 0; k < 3; k++) {
      p.memory().setAt((1_000 + 200 * k) * US, p.bool("Trip"), true);
      p.memory().setAt((1_100 + 200 * k) * US, p.bool("Trip"), false);
    }
    p.scan();
    assertThat(value(p, "EventRuns")).isEqualTo(3);
  }

  @Test
  void aTaskThatIsDueAgainAndAgainCannotKeepTheScanFromEnding() {
    String[] text = {
      "CONFIGURATION Busy", "VAR_GLOBAL n, m : DINT; END_VAR",
      "TASK Greedy(INTERVAL := T#10us, PRIORITY := 0);", "TASK Poor(INTERVAL := T#1ms, PRIORITY := 9);",
      "PROGRAM g WITH Greedy : G;", "PROGRAM p WITH Poor : P;", "END_CONFIGURATION",
      "PROGRAM G VAR_EXTERNAL n : DINT; END_VAR VAR i : DINT; END_VAR", "FOR i := 1 TO 100 DO n := n + 1; END_FOR;", "END_PROGRAM",
      "PROGRAM P VAR_EXTERNAL m : DINT; END_VAR", "m := m + 1;", "END_PROGRAM"};
    CompiledProgram program = Compiler.standard().withLimits(Limits.standard().withStepsPerScan(20_000)).compile("busy.st", String.join("\n", text)).orThrow();
    Controller c = program.newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()));
    assertThat(c.scan()).isFalse();
    Fault f = c.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/watchdog");
    assertThat(f.task()).isEqualTo("Greedy");
    assertThat(f.ordinal()).as("two tasks and the rest share four budgets").isBetween(80_000L, 80_001L);
    assertThat(value(c, "m")).isZero();
  }

  @Test
  void ordinalsCountTheStepsOfAllTasksOfAScan() {
    Controller c = compile(TWO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()));
    long[] last = new long[1];
    List<Integer> tasks = new ArrayList<>();
    c.attach(on(e -> {
      assertThat(e.ordinal()).isEqualTo(last[0] + 1);
      assertThat(e.time()).as("1 us a step").isEqualTo(last[0] * US);
      last[0]++;
      if (tasks.isEmpty() || tasks.get(tasks.size() - 1) != e.task()) {
        tasks.add(e.task());
      }
    }, EventKind.STEP));
    c.scan();
    assertThat(c.steps()).isEqualTo(last[0]);
    assertThat(tasks).startsWith(0, 1, 0, 1);
  }

  @Test
  void aProgramWithoutTaskRunsInEveryScanAfterTheTasks() {
    String[] text = {
      "CONFIGURATION Mixed", "VAR_GLOBAL Order : DINT; END_VAR", "TASK T1(INTERVAL := T#20ms, PRIORITY := 7);",
      "PROGRAM back : Back;", "PROGRAM t WITH T1 : Timed;", "END_CONFIGURATION",
      "PROGRAM Back VAR_EXTERNAL Order : DINT; END_VAR", "Order := Order * 10 + 2;", "END_PROGRAM",
      "PROGRAM Timed VAR_EXTERNAL Order : DINT; END_VAR", "Order := Order * 10 + 1;", "END_PROGRAM"};
    Controller c = compile(text).newController(still(ScanPolicy.image(), 10));
    c.scan(3);
    assertThat(value(c, "Order")).isEqualTo(12_212);
  }

  @Test
  void retainedValuesSurviveAWarmRestartOnly() {
    String[] text = {
      "PROGRAM Keep", "VAR RETAIN Hours : DINT := 5; END_VAR VAR Cycles : DINT := 3; END_VAR VAR NON_RETAIN Drop : DINT := 1; END_VAR",
      "Hours := Hours + 1; Cycles := Cycles + 1; Drop := Drop + 1;", "END_PROGRAM"};
    // IEC 61131-3, warm restart: RETAIN variables keep their values, others are initialized; cold restart: all are initialized (from memory).
    Controller c = compile(text).newController(still(ScanPolicy.image(), 10));
    c.scan(4);
    assertThat(value(c, "Hours")).isEqualTo(9);
    List<String> sources = new ArrayList<>();
    long hours = c.integer("Hours").address();
    long cycles = c.integer("Cycles").address();
    c.attach(on(e -> {
      if (e.address() == hours || e.address() == cycles) {
        sources.add((e.address() == hours ? "Hours " : "Cycles ") + e.source());
      }
    }, EventKind.WRITE));
    c.restartWarm();
    assertThat(sources).containsExactlyInAnyOrder("Hours RETAINED", "Cycles INITIALIZATION");
    assertThat(value(c, "Hours")).isEqualTo(9);
    assertThat(value(c, "Cycles")).isEqualTo(3);
    assertThat(value(c, "Drop")).isEqualTo(1);
    c.scan();
    assertThat(value(c, "Hours")).isEqualTo(10);
    c.restartCold();
    assertThat(value(c, "Hours")).isEqualTo(5);
    assertThat(value(c, "Cycles")).isEqualTo(3);
  }

  @Test
  void aBlockRunsUnderATaskOfItsOwn() {
    // IEC 61131-3 Table 62, features 6a and 6b (from memory): a function block of the program associated with another task.
    Controller c = compile(
        "CONFIGURATION C", "RESOURCE R ON Cpu", "TASK Quick(INTERVAL := T#10ms, PRIORITY := 1); TASK Lazy(INTERVAL := T#20ms, PRIORITY := 2);",
        "PROGRAM p WITH Lazy : Main (inner.gauge WITH Quick);", "END_RESOURCE", "END_CONFIGURATION",
        "FUNCTION_BLOCK Gauge VAR n : DINT; END_VAR n := n + 1; END_FUNCTION_BLOCK",
        "FUNCTION_BLOCK Outer VAR pad : LINT; gauge : Gauge; END_VAR END_FUNCTION_BLOCK",
        "PROGRAM Main VAR m : DINT; inner : Outer; END_VAR m := m + 1; END_PROGRAM").newController(still(ScanPolicy.image(), 10));
    c.scan(6);
    assertThat(value(c, "inner.gauge.n")).isEqualTo(6);
    assertThat(value(c, "m")).isEqualTo(3);
  }

  private static final String[] LATE = {
    "CONFIGURATION Plant TASK T1(INTERVAL := T#1ms, PRIORITY := 1); PROGRAM p WITH T1 : Main; END_CONFIGURATION",
    "PROGRAM Main VAR i, n : DINT; END_VAR n := n + 1; FOR i := 1 TO 180 DO ; END_FOR; END_PROGRAM"};

  @Test
  void anOverrunIsReportedAndCounted() {
    // S.task-overrun (from memory). The body takes more than 2 ms: of the activations at 1 and 2 ms one is remembered, the other lost.
    Controller c = compile(LATE).newController(micro(ScanPolicy.image()));
    assertThat(c.overruns("T1")).isZero();
    List<String> log = new ArrayList<>();
    c.attach(on(e -> log.add(e.time() / MS + " " + e.detail()), EventKind.TASK));
    c.scan();
    assertThat(c.steps()).isBetween(2_000L, 2_999L);
    assertThat(log).containsExactly("0 start", "1 overrun", "2 lost", "2 end");
    assertThat(c.overruns("t1")).isEqualTo(2);
    Snapshot s = c.snapshot();
    c.scan();
    assertThat(c.overruns("T1")).isGreaterThan(2);
    c.restore(s);
    assertThat(c.overruns("T1")).isEqualTo(2);
    c.restartCold();
    assertThat(c.overruns("T1")).isZero();
    assertThatThrownBy(() -> c.overruns("T2")).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("T1");
  }

  @Test
  void anOverrunMayBeAFault() {
    CompiledProgram p = Compiler.standard().withChoices(ImplementerChoices.standard().withTaskOverrun(ImplementerChoices.OverrunReaction.FAULT))
        .compile("late.st", String.join("\n", LATE)).orThrow();
    Controller c = p.newController(micro(ScanPolicy.image()));
    assertThat(c.scan()).isFalse();
    Fault f = c.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/task-overrun");
    assertThat(f.task()).isEqualTo("T1");
    assertThat(f.time()).isEqualTo(MS);
    assertThat(f.message()).contains("1ms");
    assertThat(value(c, "n")).isEqualTo(1);
    c.restartWarm();
    assertThat(c.scan()).isFalse();
    assertThat(c.fault().orElseThrow().code()).isEqualTo("fault/task-overrun");
  }
}
