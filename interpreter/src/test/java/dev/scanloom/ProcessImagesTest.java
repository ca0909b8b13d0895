package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.ms;
import static dev.scanloom.Runs.on;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.explain.Provenance;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * One process image for all tasks or one for each (common practice; the standard leaves it open). A silo: Slow works longer than the 10 ms of Fast,
 * which interrupts it at 10 ms. 1 us a step, phases free; all expectations are derived by hand.
 */
class ProcessImagesTest {
  private static final String[] SILO = {
    "CONFIGURATION Silo",
    "VAR_GLOBAL Gate AT %IX0.0 : BOOL; Key AT %QX0.2 : BOOL; Valve AT %QX0.0 : BOOL; Lamp AT %QX0.1 : BOOL; Both AT %QB0 : BYTE;",
    "  Open : BOOL; FirstLook, SecondLook, ValveSeen : BOOL; FastRuns : DINT; Hit : BOOL; Whole : BOOL; END_VAR",
    "TASK Fast(INTERVAL := T#10ms, PRIORITY := 1); TASK Slow(INTERVAL := T#1s, PRIORITY := 5);",
    "PROGRAM f WITH Fast : FastProgram; PROGRAM s WITH Slow : SlowProgram;", "END_CONFIGURATION",
    "PROGRAM FastProgram VAR_EXTERNAL Gate, Valve, Lamp, ValveSeen, Hit : BOOL; FastRuns : DINT; END_VAR",
    "FastRuns := FastRuns + 1;", "IF FastRuns = 2 THEN", "  ValveSeen := Valve;", "  Lamp := TRUE;", "  IF Hit THEN Gate := FALSE; END_IF;", "END_IF;",
    "END_PROGRAM",
    "PROGRAM SlowProgram VAR_EXTERNAL Gate, Valve, FirstLook, SecondLook, Whole : BOOL; Both : BYTE; END_VAR VAR i : DINT; END_VAR",
    "FirstLook := Gate;", "Valve := TRUE;", "FOR i := 1 TO 1500 DO ; END_FOR;", "SecondLook := Gate;", "Valve := FALSE;",
    "IF Whole THEN Both := 16#40; END_IF;", "END_PROGRAM"};

  private static Controller silo(ScanPolicy policy, boolean own) {
    return compile(SILO).newController(micro(policy).withTaskSwitching(TaskSwitching.preemptive())
        .withImages(own ? ProcessImages.perTask() : ProcessImages.shared()));
  }

  private static boolean bit(Controller c, String path) {
    return c.memory().get(c.bool(path));
  }

  private static String looks(Controller c) {
    return (bit(c, "FirstLook") ? "1" : "0") + (bit(c, "SecondLook") ? "1" : "0");
  }

  @ParameterizedTest
  @ValueSource(booleans = {false, true})
  void inputsRefreshedWhileATaskRunsDoNotReachItsCopy(boolean own) {
    Controller c = silo(ScanPolicy.image().withInputs(InputAcquisition.asynchronous(ms(1), ms(0))), own);
    c.field().set(c.bool("Gate"), true);
    c.field().setAt(3 * MS, c.bool("Gate"), false);
    c.scan();
    assertThat(looks(c)).isEqualTo(own ? "11" : "10");
    assertThat(bit(c, "Gate")).as("the shared image is up to date at the end").isFalse();
  }

  @ParameterizedTest
  @ValueSource(booleans = {false, true})
  void aPreemptingTaskThatWritesAnInputDoesNotReachTheCopyOfAnother(boolean own) {
    Controller c = silo(ScanPolicy.image(), own);
    c.field().set(c.bool("Gate"), true);
    c.memory().set(c.bool("Hit"), true);
    c.scan();
    assertThat(looks(c)).isEqualTo(own ? "11" : "10");
    assertThat(bit(c, "Gate")).as("what Fast wrote went to the shared image at its end").isFalse();
  }

  @ParameterizedTest
  @ValueSource(booleans = {false, true})
  void theStartOfATaskRefreshesItsInputs(boolean own) {
    // The field changes at 3 ms. Fast starts at 10 ms: with an image of its own it reads the field anew, else it has what the scan began with.
    String[] text = SILO.clone();
    text[9] = "  ValveSeen := Gate;";
    Controller c = compile(text).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive())
        .withImages(own ? ProcessImages.perTask() : ProcessImages.shared()));
    c.field().setAt(3 * MS, c.bool("Gate"), true);
    c.scan();
    assertThat(bit(c, "ValveSeen")).isEqualTo(own);
    assertThat(looks(c)).isEqualTo("00");
  }

  @ParameterizedTest
  @ValueSource(booleans = {false, true})
  void immediateReadsGoThrough(boolean own) {
    Controller c = silo(ScanPolicy.image().withInputs(InputAcquisition.immediate()), own);
    c.field().set(c.bool("Gate"), true);
    c.field().setAt(3 * MS, c.bool("Gate"), false);
    c.scan();
    assertThat(looks(c)).isEqualTo("10");
    assertThat(bit(c, "Gate")).isFalse();
  }

  private static List<String> fieldLog(Controller c) {
    List<String> log = new ArrayList<>();
    c.attach(on(e -> log.add((e.address() & 0xFFFF) + "=" + e.after() + (e.time() >= 10 * MS && e.time() < 11 * MS ? " at 10" : e.time() == 0 ? " at 0" : "")),
        EventKind.FIELD));
    return log;
  }

  @Test
  void outputsOfAPreemptedTaskAppearAtItsEndOnly() {
    Controller shared = silo(ScanPolicy.image(), false);
    shared.scan();
    assertThat(bit(shared, "ValveSeen")).as("Fast sees what Slow has written so far").isTrue();

    Controller own = silo(ScanPolicy.image(), true);
    own.scan();
    assertThat(bit(own, "ValveSeen")).as("Slow has not ended").isFalse();
    assertThat(bit(own, "Lamp")).as("Slow wrote another bit of that byte").isTrue();
    assertThat(bit(own, "Valve")).isFalse();
  }

  @Test
  void outputsReachTheTerminalsWhenTheirTaskEnds() {
    Controller shared = silo(ScanPolicy.image(), false);
    List<String> late = fieldLog(shared);
    shared.scan();
    assertThat(late).as("bit 1, at the output refresh of the scan").containsExactly("0=2");

    Controller own = silo(ScanPolicy.image(), true);
    List<String> soon = fieldLog(own);
    own.scan();
    assertThat(soon).containsExactly("1=1 at 10");

    Controller immediate = silo(ScanPolicy.image().withOutputs(OutputDelivery.immediate()), true);
    List<String> all = fieldLog(immediate);
    immediate.scan();
    assertThat(all).as("immediate writes go through").containsExactly("0=1", "1=1 at 10", "0=0");
  }

  @Test
  void aByteThatWasWrittenCountsWithAllItsBits() {
    Controller c = silo(ScanPolicy.image(), true);
    c.memory().set(c.bool("Whole"), true);
    c.scan();
    assertThat(c.memory().get(c.integer("Both"))).as("16#40 over the lamp of Fast").isEqualTo(0x40);
  }

  @Test
  void displaysSeeTheSharedImageAndTheHostWhatTheRunningTaskSees() {
    ScanPolicy p = ScanPolicy.image().withDisplay("panel", DisplaySampling.asynchronous(ms(1), ms(1)), Painting.fromSample());
    Controller c = silo(p, true);
    while (c.time() < 5 * MS) {
      c.step();
    }
    assertThat(bit(c, "Valve")).as("Slow has written it in its copy").isTrue();
    assertThat(c.display("panel").get(c.bool("Valve"))).isFalse();
    assertThat(c.display("panel").sampledAt(c.bool("Valve"))).isEqualTo(4 * MS);
    Controller shared = silo(p, false);
    while (shared.time() < 5 * MS) {
      shared.step();
    }
    assertThat(shared.display("panel").get(shared.bool("Valve"))).isTrue();
  }

  @ParameterizedTest
  @ValueSource(booleans = {false, true})
  void anExternalWriteLandsInTheSharedImage(boolean own) {
    Controller c = silo(ScanPolicy.image().withExternalWrites(ExternalWrites.anyStep()), own);
    c.memory().setAt(2 * MS, c.bool("Gate"), true);
    c.memory().setAt(2 * MS, c.bool("Key"), true);
    c.memory().setAt(2 * MS, c.bool("Open"), true);
    c.scan();
    assertThat(looks(c)).isEqualTo(own ? "00" : "01");
    assertThat(bit(c, "Key")).isTrue();
    assertThat(bit(c, "Open")).as("other memory is shared").isTrue();
  }

  @Test
  void aForceHoldsInEveryCopy() {
    Controller c = silo(ScanPolicy.image(), true);
    while (c.time() < 5 * MS) {
      c.step();
    }
    c.force(c.bool("Gate"), 1);
    c.scan();
    assertThat(looks(c)).isEqualTo("01");
    assertThat(bit(c, "Gate")).isTrue();
  }

  @Test
  void aTaskThatFaultsDeliversNothing() {
    String[] text = SILO.clone();
    text[text.length - 2] = "FirstLook := FirstLook AND (1 / (i - i) > 0);";
    Controller c = compile(text).newController(micro(ScanPolicy.image().withOutputs(OutputDelivery.image())).withTaskSwitching(TaskSwitching.preemptive())
        .withImages(ProcessImages.perTask()));
    c.memory().set(c.bool("Valve"), true);
    assertThat(c.scan()).isFalse();
    assertThat(c.fault().orElseThrow().code()).isEqualTo("fault/division-by-zero");
    assertThat(bit(c, "Valve")).as("Slow had written FALSE in its copy; the shared image keeps what it held").isTrue();
    assertThat(bit(c, "Lamp")).as("Fast had ended").isTrue();
  }

  @Test
  void explanationsFollowTheCopy() {
    Controller c = silo(ScanPolicy.image(), true);
    Provenance p = Provenance.of(c);
    c.field().set(c.bool("Gate"), true);
    c.memory().set(c.bool("Hit"), true);
    c.scan();
    Explanation second = p.why(c.bool("SecondLook"));
    assertThat(second.text()).contains("the input refresh at the start of a task stored 1 in Gate").contains("terminal").doesNotContain("FastProgram");
    Explanation gate = p.why(c.bool("Gate"));
    assertThat(gate.text()).contains("FastProgram").contains("FALSE");
    assertThat(gate.facts().stream().map(Fact::kind)).contains(Fact.Kind.WRITE);
    Explanation lamp = p.whyField(c.bool("Lamp"));
    assertThat(lamp.text()).contains("FastProgram wrote TRUE to Lamp");
  }

  @Test
  void theCheapestRecorderFollowsTheCopyToo() {
    Controller c = silo(ScanPolicy.image(), true);
    Provenance p = Provenance.of(c, 0);
    c.field().set(c.bool("Gate"), true);
    c.memory().set(c.bool("Hit"), true);
    c.scan();
    assertThat(p.why(c.bool("SecondLook")).text()).contains("the input refresh at the start of a task stored 1 in Gate");
  }

  @Test
  void observersAreToldWhatMemoryHoldsWhateverIsInView() {
    Controller c = silo(ScanPolicy.image().withInputs(InputAcquisition.asynchronous(ms(1), ms(0))).withExternalWrites(ExternalWrites.anyStep()), true);
    boolean[][] told = new boolean[3][128];
    List<String> wrong = new ArrayList<>();
    List<String> moves = new ArrayList<>();
    c.attach(on(e -> {
      int area = (int) (e.address() >>> 60) & 3;
      if (e.address() >>> 62 != 1 || area > 2) {
        return;
      }
      int at = (int) (e.address() & 0xFFFF);
      for (int b = 0; b < e.width(); b++) {
        boolean before = (e.before() >>> b & 1) != 0;
        if (told[area][at + b] != before) {
          wrong.add(e.kind() + " of bit " + (at + b) + " of area " + area + ", which was " + before);
        }
        told[area][at + b] = (e.after() >>> b & 1) != 0;
      }
      if (e.kind() == EventKind.WRITE && e.source() == Event.Source.TASK_IMAGE) {
        moves.add(e.task() + e.detail());
      }
    }, EventKind.WRITE, EventKind.READ));
    c.field().set(c.bool("Gate"), true);
    c.field().setAt(3 * MS, c.bool("Gate"), false);
    c.memory().setAt(5 * MS, c.bool("Valve"), true);
    c.scan(3);
    assertThat(wrong).isEmpty();
    assertThat(moves).contains("1out", "1in");
  }

  @Test
  void aHostCanGiveCopiesToSomeTasks() {
    ProcessImages slowOnly = (task, priority) -> task.equals("Slow") && priority == 5;
    Controller c = compile(SILO).newController(micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()).withImages(slowOnly));
    c.field().set(c.bool("Gate"), true);
    c.memory().set(c.bool("Hit"), true);
    c.scan();
    assertThat(looks(c)).isEqualTo("11");
    assertThat(bit(c, "ValveSeen")).isFalse();
    assertThat(bit(c, "Lamp")).isTrue();
  }

  @Test
  void compiledBodiesDeliverTheSame() {
    // The programs without a task have a copy together; compiled code runs nothing else.
    String[] text = {"PROGRAM P VAR I AT %IB0 : BYTE; Q AT %QW0 : WORD; Q1 AT %QB1 : BYTE; X AT %QX0.3 : BOOL; END_VAR VAR n : USINT; END_VAR",
        "n := n + 1; Q1 := I; X := NOT X; IF n = 2 THEN I := 7; Q := 16#F0F0; END_IF;", "END_PROGRAM"};
    StringBuilder seen = new StringBuilder();
    for (Execution e : new Execution[] {Execution.STEPPING, Execution.COMPILED}) {
      Controller c = compile(text).newController(Runs.still(ScanPolicy.image(), 10).withImages(ProcessImages.perTask()).withExecution(e).withoutDisplays());
      c.field().set(c.integer("%IB0"), 0x21);
      for (int scan = 1; scan <= 3; scan++) {
        c.scan();
        seen.append(Long.toHexString(c.memory().get(c.integer("%QW0")))).append(' ').append(c.field().get(c.integer("%QW0"))).append(' ')
            .append(c.memory().get(c.integer("%IB0"))).append(';');
      }
      assertThat(c.executionInUse()).startsWith(e == Execution.COMPILED ? "compiled" : "stepping");
    }
    String once = "2108 8456 33;f0f0 61680 7;21f8 8696 33;";
    assertThat(seen).hasToString(once + once);
  }
}
