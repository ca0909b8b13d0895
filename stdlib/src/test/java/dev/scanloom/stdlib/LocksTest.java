package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

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
    List<Long> released = new ArrayList<>();
    for (int level = 1; level <= 16; level++) {
      released.add(c.memory().bits(c.variable("s.released[" + level + "]")));
    }
    assertThat(released.get(0)).isPositive();
    assertThat(released.get(1)).as("a release preempted a release").isPositive();
    long back = released.stream().mapToLong(n -> n).sum();
    assertThat(c.memory().bits(c.variable("s.acquired"))).isEqualTo(number(c, "taken") + number(c, "slowTaken"));
    long held = number(c, "quickHeld") + number(c, "slowHeld");
    // A scan may have stopped between RELEASE and the count behind it, never more.
    assertThat(c.memory().bits(c.variable("s.acquired")) - back).isBetween(held - 1, held);
    assertThat(held).isLessThanOrEqualTo(2);
  }
}
