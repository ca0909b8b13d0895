package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;

/**
 * MUTEX and SEMAPHORE while a fast task preempts a slow one between any two of its steps (S.ed4-mutex, S.ed4-semaphore; edition 4 of IEC 61131-3, from memory).
 * The fast task keeps what it took over its end, so a slow task that looked before and takes afterwards would share it.
 */
class LocksTest {
  private static final String TASKS = """
      PROGRAM Quick
      VAR_EXTERNAL m : Lock; slowHas, quickHas, shared : BOOL; slowTook, quickTook, quickMissed : DINT; END_VAR
        IF quickHas THEN
          quickHas := FALSE;
          m.UNLOCK();
        ELSIF m.TRY_LOCK() THEN
          quickHas := TRUE;
          quickTook := quickTook + 1;
          shared := shared OR slowHas;
        ELSE
          quickMissed := quickMissed + 1;
        END_IF;
      END_PROGRAM
      PROGRAM Slow
      VAR_EXTERNAL m : Lock; slowHas, quickHas, shared : BOOL; slowTook : DINT; END_VAR
      VAR i : INT; END_VAR
        FOR i := 1 TO 20 DO
          IF m.TRY_LOCK() THEN
            slowHas := TRUE;
            slowTook := slowTook + 1;
            shared := shared OR quickHas;
            slowHas := FALSE;
            m.UNLOCK();
          END_IF;
        END_FOR;
      END_PROGRAM
      CONFIGURATION Both
        VAR_GLOBAL m : Lock; slowHas, quickHas, shared : BOOL; slowTook, quickTook, quickMissed : DINT; END_VAR
        TASK fast(INTERVAL := T#157us, PRIORITY := 1);
        TASK rest(INTERVAL := T#5ms, PRIORITY := 2);
        PROGRAM q WITH fast : Quick;
        PROGRAM s WITH rest : Slow;
      END_CONFIGURATION
      """;

  /** A lock without care for preemption; the same test must see it fail. */
  private static final String NAIVE = """
      CLASS Lock
      VAR taken : BOOL; END_VAR
      METHOD PUBLIC TRY_LOCK : BOOL
        IF NOT taken THEN
          taken := TRUE;
          TRY_LOCK := TRUE;
        END_IF;
      END_METHOD
      METHOD PUBLIC UNLOCK
        taken := FALSE;
      END_METHOD
      END_CLASS
      """;

  private static Controller run(String text) {
    Controller c = Compiler.standard().compile("locks.st", text).orThrow().newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive())
        .withCosts(CostModel.fixed(Duration.ofNanos(1_013), Duration.ZERO, Duration.ZERO, Duration.ZERO)));
    assertThat(c.runUntil(400_000_000L)).as("%s", c.fault()).isTrue();
    return c;
  }

  private static long number(Controller c, String name) {
    return c.memory().get(c.integer(name));
  }

  @Test
  void mutexIsNeverShared() {
    Controller c = run(TASKS.replace(": Lock", ": MUTEX"));
    assertThat(number(c, "slowTook")).isGreaterThan(100);
    assertThat(number(c, "quickTook")).isGreaterThan(100);
    assertThat(number(c, "quickMissed")).as("the fast task came while the slow one held or was taking the lock").isGreaterThan(10);
    assertThat(c.memory().get(c.bool("shared"))).isFalse();
  }

  @Test
  void theSameTasksShareACarelessLock() {
    Controller c = run(NAIVE + TASKS);
    assertThat(c.memory().get(c.bool("shared"))).isTrue();
  }

  @Test
  void permitsAreNeitherLostNorMade() {
    Controller c = run("""
        PROGRAM Quick
        VAR_EXTERNAL s : SEMAPHORE; quickHeld, taken, missed : DINT; END_VAR
          IF quickHeld > 0 THEN
            s.RELEASE();
            quickHeld := quickHeld - 1;
          ELSIF s.TRY_ACQUIRE() THEN
            quickHeld := quickHeld + 1;
            taken := taken + 1;
          ELSE
            missed := missed + 1;
          END_IF;
        END_PROGRAM
        PROGRAM Slow
        VAR_EXTERNAL s : SEMAPHORE; slowHeld, slowTaken : DINT; END_VAR
          IF s.TRY_ACQUIRE() THEN
            slowHeld := slowHeld + 1;
            slowTaken := slowTaken + 1;
          END_IF;
          IF slowHeld > 0 THEN
            s.RELEASE();
            slowHeld := slowHeld - 1;
          END_IF;
        END_PROGRAM
        CONFIGURATION Both
          VAR_GLOBAL s : SEMAPHORE := (PERMITS := 2); quickHeld, slowHeld, taken, slowTaken, missed : DINT; END_VAR
          TASK fast(INTERVAL := T#211us, PRIORITY := 1);
          TASK rest(INTERVAL := T#1ms, PRIORITY := 2);
          PROGRAM q WITH fast : Quick;
          PROGRAM r WITH rest : Slow;
        END_CONFIGURATION
        """);
    assertThat(number(c, "taken")).isGreaterThan(100);
    assertThat(number(c, "slowTaken")).isGreaterThan(100);
    long held = number(c, "quickHeld") + number(c, "slowHeld");
    // A scan may have stopped between ACQUIRE or RELEASE and the count behind it, never more.
    assertThat(c.memory().bits(c.variable("s.PERMITS")) + held).isBetween(1L, 3L);
    assertThat(held).isLessThanOrEqualTo(2);
  }

  // ---- waiting ----

  private static final String WAITING = """
      PROGRAM Quick
      VAR_EXTERNAL m : MUTEX; trail : LINT; END_VAR
        trail := trail * 10 + 1;
        m.LOCK();
        trail := trail * 10 + 2;
        m.UNLOCK();
      END_PROGRAM
      PROGRAM Middle
      VAR_EXTERNAL trail : LINT; END_VAR
        trail := trail * 10 + 3;
      END_PROGRAM
      PROGRAM Slow
      VAR_EXTERNAL m : MUTEX; trail : LINT; alarm : BOOL; END_VAR
        m.LOCK();
        trail := trail * 10 + 7;
        alarm := TRUE;
        trail := trail * 10 + 8;
        m.UNLOCK();
        trail := trail * 10 + 9;
      END_PROGRAM
      CONFIGURATION Three
        VAR_GLOBAL m : MUTEX; trail : LINT; alarm : BOOL; END_VAR
        TASK high(SINGLE := alarm, PRIORITY := 0);
        TASK mid(SINGLE := alarm, PRIORITY := 1);
        TASK low(INTERVAL := T#1s, PRIORITY := 2);
        PROGRAM h WITH high : Quick;
        PROGRAM r WITH mid : Middle;
        PROGRAM l WITH low : Slow;
      END_CONFIGURATION
      """;

  private static List<String> log(Controller c) {
    List<String> log = new ArrayList<>();
    c.attach(new dev.scanloom.observe.Observer() {
      @Override
      public java.util.Set<dev.scanloom.observe.EventKind> wants() {
        return java.util.EnumSet.of(dev.scanloom.observe.EventKind.TASK);
      }

      @Override
      public void on(dev.scanloom.observe.Event e) {
        log.add(c.program().tasks().get(e.task()) + " " + e.detail());
      }
    });
    return log;
  }

  @Test
  void aTaskWaitsUntilTheHolderGivesTheLockBack() {
    // By hand: low locks and raises the alarm; high starts and waits; mid, more urgent than low, runs to its end (priorities are not inherited); low
    // goes on until UNLOCK, at which high has the lock and runs at once; low ends last.
    Controller c = Compiler.standard().compile("wait.st", WAITING).orThrow().newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    List<String> log = log(c);
    assertThat(c.scan()).isTrue();
    assertThat(number(c, "trail")).isEqualTo(7_138_29L);
    assertThat(log).containsExactly("low start", "low preempted", "high start", "high waits", "mid start", "mid end", "low resume", "low preempted",
        "high resume", "high end", "low resume", "low end");
    assertThat(c.memory().get(c.integer("m.owner"))).isZero();
  }

  /**
   * Priority inversion and its cure (Sha, Rajkumar, Lehoczky 1990, from memory). Low holds the lock that high waits for; mid needs no lock, is more urgent
   * than low, and works for long: without inheritance high waits for all of mid, with it only for what low does under the lock.
   */
  @Test
  void inheritedPrioritiesKeepATaskOfMiddlePriorityFromDelayingAnUrgentOne() {
    CompiledProgram p = Compiler.standard().compile("wait.st", WAITING).orThrow();
    Controller inverted = p.newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    List<String> bad = log(inverted);
    inverted.scan();
    assertThat(bad.indexOf("mid end")).isLessThan(bad.indexOf("high end"));
    Controller cured = p.newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptiveWithInheritance()));
    List<String> log = log(cured);
    cured.scan();
    assertThat(log).containsExactly("low start", "low preempted", "high start", "high waits", "low resume", "low preempted", "high resume", "high end",
        "mid start", "mid end", "low resume", "low end");
    assertThat(number(cured, "trail")).isEqualTo(7_182_39L);
  }

  /** By hand: mid has interrupted low, which holds the lock, when high asks for it; low goes on before mid, which it had to make way for. */
  @Test
  void aTaskThatWasInterruptedGoesOnBeforeItsInterrupterWhenItHoldsALockThatIsWaitedFor() {
    String text = """
        PROGRAM Quick
        VAR_EXTERNAL m : MUTEX; trail : LINT; END_VAR
          m.LOCK(); trail := trail * 10 + 1; m.UNLOCK();
        END_PROGRAM
        PROGRAM Middle
        VAR_EXTERNAL trail : LINT; alarm : BOOL; END_VAR
          trail := trail * 10 + 3; alarm := TRUE; trail := trail * 10 + 4;
        END_PROGRAM
        PROGRAM Slow
        VAR_EXTERNAL m : MUTEX; trail : LINT; call : BOOL; END_VAR
          m.LOCK(); trail := trail * 10 + 7; call := TRUE; trail := trail * 10 + 8; m.UNLOCK(); trail := trail * 10 + 9;
        END_PROGRAM
        CONFIGURATION Three
          VAR_GLOBAL m : MUTEX; trail : LINT; alarm, call : BOOL; END_VAR
          TASK high(SINGLE := alarm, PRIORITY := 0);
          TASK mid(SINGLE := call, PRIORITY := 1);
          TASK low(INTERVAL := T#1s, PRIORITY := 2);
          PROGRAM h WITH high : Quick;
          PROGRAM r WITH mid : Middle;
          PROGRAM l WITH low : Slow;
        END_CONFIGURATION
        """;
    CompiledProgram p = Compiler.standard().compile("nested.st", text).orThrow();
    Controller plain = p.newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    plain.scan();
    assertThat(number(plain, "trail")).isEqualTo(7_348_19L);
    Controller inherits = p.newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptiveWithInheritance()));
    List<String> log = log(inherits);
    while (inherits.step()) {
      dev.scanloom.Snapshot s = inherits.snapshot();
      inherits.restore(s);
    }
    assertThat(number(inherits, "trail")).isEqualTo(7_381_49L);
    assertThat(log).containsExactly("low start", "low preempted", "mid start", "mid preempted", "high start", "high waits", "low resume", "low preempted",
        "high resume", "high end", "mid resume", "mid end", "low resume", "low end");
  }

  @Test
  void aSecondTryOfTheHolderFails() {
    Controller c = Compiler.standard().compile("twice.st",
        "PROGRAM P VAR m : MUTEX; first, second : BOOL; END_VAR first := m.TRY_LOCK(); second := m.TRY_LOCK(); m.UNLOCK(); END_PROGRAM").orThrow()
        .newController(ScanPolicy.image());
    assertThat(c.scan()).isTrue();
    assertThat(c.memory().get(c.bool("first"))).isTrue();
    assertThat(c.memory().get(c.bool("second"))).isFalse();
    assertThat(number(c, "m.owner")).as("one UNLOCK frees it").isZero();
  }

  @Test
  void aLockHeldOverTheEndOfAnExecutionKeepsOthersWaitingAndScansEnd() {
    String text = """
        PROGRAM Holder
        VAR_EXTERNAL m : MUTEX; END_VAR
        VAR n : INT; END_VAR
          n := n + 1;
          IF n = 1 THEN m.LOCK(); ELSIF n = 3 THEN m.UNLOCK(); END_IF;
        END_PROGRAM
        PROGRAM Other
        VAR_EXTERNAL m : MUTEX; END_VAR
        VAR before, behind : INT; END_VAR
          before := before + 1;
          m.LOCK();
          behind := behind + 1;
          m.UNLOCK();
        END_PROGRAM
        CONFIGURATION Two
          VAR_GLOBAL m : MUTEX; END_VAR
          TASK a(INTERVAL := T#10ms, PRIORITY := 1);
          TASK b(INTERVAL := T#10ms, PRIORITY := 2);
          PROGRAM p WITH a : Holder;
          PROGRAM q WITH b : Other;
        END_CONFIGURATION
        """;
    Controller c = Compiler.standard().compile("held.st", text).orThrow().newController(
        ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(dev.scanloom.policy.ScanTrigger.periodic(Duration.ofMillis(10))));
    List<List<Long>> seen = new ArrayList<>();
    for (int i = 0; i < 4; i++) {
      assertThat(c.scan()).isTrue();
      seen.add(List.of(number(c, "q.before"), number(c, "q.behind")));
      dev.scanloom.Snapshot s = c.snapshot();
      c.scan();
      c.restore(s);
    }
    // By hand: it waits in scans 1 to 3; the lock becomes its own in scan 3, which has nothing else to do and ends; it goes on in scan 4.
    assertThat(seen).containsExactly(List.of(1L, 0L), List.of(1L, 0L), List.of(1L, 0L), List.of(1L, 1L));
    // due again at 10, 20 and 30 ms
    assertThat(c.overruns("b")).isEqualTo(3);
    c.scan();
    assertThat(number(c, "q.before")).as("one of these activations was remembered").isEqualTo(2);
  }

  private static final String CIRCLE = """
      PROGRAM Quick
      VAR_EXTERNAL first, second : MUTEX; END_VAR
        second.LOCK();
        first.LOCK();
        first.UNLOCK();
        second.UNLOCK();
      END_PROGRAM
      PROGRAM Slow
      VAR_EXTERNAL first, second : MUTEX; alarm : BOOL; END_VAR
        first.LOCK();
        alarm := TRUE;
        second.LOCK();
        second.UNLOCK();
        first.UNLOCK();
      END_PROGRAM
      PROGRAM Rest
      VAR n : INT; END_VAR
        n := n + 1;
      END_PROGRAM
      CONFIGURATION Circle
        VAR_GLOBAL first, second : MUTEX; alarm : BOOL; END_VAR
        TASK high(SINGLE := alarm, PRIORITY := 0);
        TASK low(INTERVAL := T#1s, PRIORITY := 2);
        PROGRAM h WITH high : Quick;
        PROGRAM l WITH low : Slow;
        PROGRAM r : Rest;
      END_CONFIGURATION
      """;

  @Test
  void aCircleOfWaitingTasksIsADeadlock() {
    Controller c = Compiler.standard().compile("circle.st", CIRCLE).orThrow()
        .newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    assertThat(c.scan()).isFalse();
    dev.scanloom.Fault f = c.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/deadlock");
    assertThat(f.task()).isEqualTo("low");
    assertThat(f.message()).contains("task low waits for second, held by task high; task high waits for first, held by task low");
    // Without preemption neither holds a lock while the other one runs.
    Controller calm = Compiler.standard().compile("circle.st", CIRCLE).orThrow().newController(ScanPolicy.image());
    assertThat(calm.scan(5)).isEqualTo(5);
    // The same order of locks in both tasks is the cure.
    Controller cured = Compiler.standard().compile("cured.st", CIRCLE.replace("second.LOCK();\n  first.LOCK();", "first.LOCK();\n  second.LOCK();")).orThrow()
        .newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    assertThat(cured.scan(5)).isEqualTo(5);
  }

  @Test
  void aTaskCannotWaitForItself() {
    Controller c = Compiler.standard().compile("self.st", "PROGRAM P VAR m : MUTEX; END_VAR m.LOCK(); m.LOCK(); END_PROGRAM").orThrow()
        .newController(ScanPolicy.image());
    assertThat(c.scan()).isFalse();
    assertThat(c.fault().orElseThrow().code()).isEqualTo("fault/deadlock");
    Controller s = Compiler.standard().compile("none.st", "PROGRAM P VAR m : SEMAPHORE; END_VAR m.ACQUIRE(); m.ACQUIRE(); END_PROGRAM").orThrow()
        .newController(ScanPolicy.image());
    assertThat(s.scan()).isFalse();
    assertThat(s.fault().orElseThrow().code()).isEqualTo("fault/deadlock");
  }

  @Test
  void onlyTheHolderGivesALockBack() {
    String text = WAITING.replace("trail := trail * 10 + 1;", "m.UNLOCK();");
    Controller c = Compiler.standard().compile("owner.st", text).orThrow().newController(ScanPolicy.image().withTaskSwitching(TaskSwitching.preemptive()));
    assertThat(c.scan()).isFalse();
    assertThat(c.fault().orElseThrow().code()).isEqualTo("fault/lock-owner");
    assertThat(c.fault().orElseThrow().task()).isEqualTo("high");
  }

  @Test
  void anOnlineChangeDoesNotMistakeTheHolderOfALock() {
    String program = "PROGRAM P VAR_EXTERNAL m : MUTEX; END_VAR VAR n : INT; END_VAR n := n + 1; IF n = 1 THEN m.LOCK(); ELSIF n = 3 THEN m.UNLOCK(); END_IF; "
        + "END_PROGRAM CONFIGURATION C VAR_GLOBAL m : MUTEX; END_VAR ";
    String end = "TASK t(INTERVAL := T#10ms, PRIORITY := 1); PROGRAM p WITH t : P; END_CONFIGURATION";
    ScanPolicy policy = ScanPolicy.image();
    Controller c = Compiler.standard().compile("one.st", program + end).orThrow().newController(policy);
    assertThat(c.scan(2)).isEqualTo(2);
    // The same tasks: the lock stays with its holder, which gives it back two scans later.
    Controller same = Compiler.standard().compile("same.st", program.replace("n = 3", "n = 4") + end).orThrow().newController(policy);
    same.takeOver(c);
    assertThat(same.scan(2)).isEqualTo(2);
    assertThat(number(same, "m.owner")).isZero();
    // Another task in front: numbers would not mean the same tasks.
    Controller other = Compiler.standard().compile("other.st", program + "TASK first(INTERVAL := T#5ms, PRIORITY := 0); " + end).orThrow().newController(policy);
    org.assertj.core.api.Assertions.assertThatThrownBy(() -> other.takeOver(c)).isInstanceOf(IllegalStateException.class).hasMessageContaining("mutex m");
    assertThat(c.scan()).isTrue();
    other.takeOver(c);
    assertThat(other.scan()).isTrue();
  }
}
