package dev.scanloom;

import static dev.scanloom.Runs.micro;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;

/** A fault has a place, a scan, a step and names; it stops the controller and leaves memory and trace as they were up to it (scan-model.md section 6). */
class FaultsTest {
  private static final String[] BODY = {
    "PROGRAM Mill", "VAR Load AT %IX0.0 : BOOL; Lamp AT %QX0.0 : BOOL; num, div, quot, i : INT; a : ARRAY [1..3] OF INT; after : INT; END_VAR",
    "Lamp := TRUE;", "num := num + 1;", "IF Load THEN", "  i := 4;", "  IF div = 1 THEN a[i] := 5; ELSE quot := num / div; END_IF;", "END_IF;",
    "after := after + 1;", "END_PROGRAM"};

  private static Controller run(int div) {
    Controller c = Runs.compile(BODY).newController(micro(ScanPolicy.image(), 1));
    c.memory().set(c.integer("div"), div);
    c.scan(2);
    c.field().set(c.bool("Load"), true);
    return c;
  }

  @Test
  void divisionByZero() {
    Controller c = run(0);
    Trace t = Trace.whole();
    c.attach(t);
    assertThat(c.scan()).isFalse();
    Fault f = c.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/division-by-zero");
    assertThat(f.span().line()).isEqualTo(7);
    assertThat(f.span().text()).contains("div");
    assertThat(f.scan()).isEqualTo(3);
    assertThat(f.variables()).contains("num", "div").doesNotContain("after");
    assertThat(f.oneLine()).startsWith("test.st:7:").contains("fault: ").contains("[fault/division-by-zero]");
    assertThat(f.time()).isEqualTo(2 * Runs.MS + f.ordinal() * Runs.US);
    // Everything before the step has happened, nothing behind it.
    assertThat(c.memory().get(c.integer("num"))).isEqualTo(3);
    assertThat(c.memory().get(c.integer("quot"))).isZero();
    assertThat(c.memory().get(c.integer("after"))).isEqualTo(2);
    assertThat(c.field().get(c.bool("Lamp"))).as("safe value").isFalse();
    Event last = lastOf(t, EventKind.STEP);
    assertThat(last.step()).isEqualTo(f.step());
    assertThat(last.ordinal()).isEqualTo(f.ordinal());
    assertThat(lastOf(t, EventKind.FAULT).detail()).startsWith("fault/division-by-zero: ");
  }

  private static Event lastOf(Trace t, EventKind kind) {
    for (int i = t.size() - 1; i >= 0; i--) {
      if (t.get(i).kind() == kind) {
        return t.get(i);
      }
    }
    throw new AssertionError("no " + kind);
  }

  @Test
  void indexOutOfRange() {
    Controller c = run(1);
    long[] before = {c.memory().get(c.integer("a[1]")), c.memory().get(c.integer("a[2]")), c.memory().get(c.integer("a[3]"))};
    assertThat(c.scan()).isFalse();
    Fault f = c.fault().orElseThrow();
    assertThat(f.code()).isEqualTo("fault/index-range");
    assertThat(f.message()).contains("4").contains("1..3");
    assertThat(f.span().line()).isEqualTo(7);
    assertThat(f.variables()).contains("i");
    assertThat(List.of(before[0], before[1], before[2]))
        .isEqualTo(List.of(c.memory().get(c.integer("a[1]")), c.memory().get(c.integer("a[2]")), c.memory().get(c.integer("a[3]"))));
    assertThat(c.memory().get(c.integer("after"))).as("no silent write next door").isEqualTo(2);
  }

  @Test
  void aFaultedControllerRestsUntilARestart() {
    Controller c = run(0);
    c.scan();
    assertThat(c.scan(5)).isZero();
    assertThat(c.step()).isFalse();
    assertThat(c.runUntil(1_000 * Runs.MS)).isFalse();
    assertThat(c.isInScan()).isFalse();
    Snapshot s = c.snapshot();
    c.restartCold();
    assertThat(c.fault()).isEmpty();
    c.field().set(c.bool("Load"), false);
    assertThat(c.scan()).isTrue();
    assertThat(c.field().get(c.bool("Lamp"))).isTrue();
    c.restore(s);
    assertThat(c.fault()).isPresent();
  }

  @Test
  void noOutputMovesAfterAFault() {
    Controller c = Runs.compile(BODY).newController(micro(ScanPolicy.asynchronous(Runs.us(5)), 1));
    c.field().set(c.bool("Load"), true);
    assertThat(c.scan()).isFalse();
    assertThat(c.memory().get(c.bool("Lamp"))).isTrue();
    c.passTime(10 * Runs.MS);
    assertThat(c.field().get(c.bool("Lamp"))).isFalse();
    c.memory().set(c.bool("Lamp"), true);
    c.passTime(10 * Runs.MS);
    assertThat(c.field().get(c.bool("Lamp"))).isFalse();
  }
}
