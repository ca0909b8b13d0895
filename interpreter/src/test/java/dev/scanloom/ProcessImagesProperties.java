package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import java.util.List;
import java.util.Map;
import java.util.SplittableRandom;
import java.util.TreeMap;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;

/** With one task, and inputs and outputs that are not asynchronous, one shared process image and one of the task's own are the same, event by event. */
class ProcessImagesProperties {
  private static String statement(SplittableRandom r) {
    String[] inputs = {"%IX0.0", "%IX0.5", "%IX1.2"};
    String[] outputs = {"%QX0.0", "%QX0.3", "%QX1.1"};
    String in = inputs[r.nextInt(3)];
    String out = outputs[r.nextInt(3)];
    return switch (r.nextInt(7)) {
      case 0 -> out + " := " + in + ";";
      case 1 -> out + " := NOT " + out + ";";
      case 2 -> in + " := " + out + " XOR " + inputs[r.nextInt(3)] + ";";
      case 3 -> "%QB0 := %IB" + r.nextInt(2) + ";";
      case 4 -> "%QW0 := %IW0 XOR WORD#16#" + Integer.toHexString(1 + r.nextInt(60_000)) + ";";
      case 5 -> "%MX0.0 := " + in + "; " + out + " := %MX0.0;";
      default -> "IF " + in + " THEN " + out + " := FALSE; END_IF;";
    };
  }

  private static Trace run(CompiledProgram p, ScanPolicy policy, long seed) {
    Controller c = p.newController(policy);
    Trace t = Trace.hashOnly();
    c.attach(t);
    SplittableRandom r = new SplittableRandom(seed);
    for (int scan = 0; scan < 12; scan++) {
      for (int k = r.nextInt(3); k > 0; k--) {
        long at = c.time() + r.nextLong(30 * Runs.US);
        switch (r.nextInt(4)) {
          case 0 -> c.field().setAt(at, c.integer("%IB0"), r.nextInt(256));
          case 1 -> c.field().setAt(at, c.integer("%IB1"), r.nextInt(256));
          case 2 -> c.memory().setAt(at, c.integer("%QB1"), r.nextInt(256));
          default -> c.force(c.bool("%IX0.0"), r.nextInt(2));
        }
      }
      c.scan();
    }
    return t;
  }

  /** Observers that know nothing of copies: what a read sees, and what a write replaces, is what they were told last, under any policy. */
  @Property(tries = 150)
  void whatWasToldIsWhatMemoryHolds(@ForAll long seed) {
    Controller c = SnapshotProperties.PROGRAM.newController(SnapshotProperties.policy(seed).withImages(ProcessImages.perTask())
        .withTaskSwitching(TaskSwitching.preemptive()));
    boolean[][] told = new boolean[3][512];
    int[] moves = new int[1];
    Map<Long, Long> slots = new TreeMap<>();
    for (String path : List.of("x", "y", "n", "twice", "odd")) {
      slots.put(c.variable("s.pair." + path).address(), 0L);
    }
    c.attach(Runs.on(e -> {
      if (slots.containsKey(e.address())) {
        assertThat(slots.put(e.address(), e.after())).as("%s of slot %d in scan %d", e.kind(), e.address(), e.scan()).isEqualTo(e.before());
      }
      int area = (int) (e.address() >>> 60) & 3;
      if (e.address() >>> 62 != 1 || area > 2) {
        return;
      }
      int at = (int) (e.address() & 0xFFFF);
      for (int b = 0; b < e.width(); b++) {
        assertThat(told[area][at + b]).as("%s of bit %d of area %d in scan %d", e.kind(), at + b, area, e.scan()).isEqualTo((e.before() >>> b & 1) != 0);
        told[area][at + b] = (e.after() >>> b & 1) != 0;
      }
      moves[0]++;
    }, EventKind.WRITE, EventKind.READ));
    SnapshotProperties.run(c, new SplittableRandom(seed), 12);
    assertThat(moves[0]).isPositive();
    assertThat(c.memory().get(c.bool("s.odd"))).as("what a task takes from the block of another is of one evaluation").isFalse();
  }

  @Property(tries = 200)
  void withOneTaskBothChoicesAreTheSame(@ForAll long seed) {
    SplittableRandom r = new SplittableRandom(seed);
    StringBuilder text = new StringBuilder();
    boolean task = r.nextBoolean();
    if (task) {
      text.append("CONFIGURATION C\nTASK T(INTERVAL := T#25us, PRIORITY := 1);\nPROGRAM p WITH T : P; PROGRAM q WITH T : P;\nEND_CONFIGURATION\n");
    }
    text.append("PROGRAM P VAR I0 AT %IW0 : WORD; Q0 AT %QW0 : WORD; M0 AT %MW0 : WORD; END_VAR\n");
    for (int k = 2 + r.nextInt(6); k > 0; k--) {
      text.append(statement(r)).append('\n');
    }
    CompiledProgram p = Runs.compile(text + "END_PROGRAM");
    ScanPolicy policy = Runs.micro(ScanPolicy.image(), 1)
        .withInputs(r.nextBoolean() ? InputAcquisition.image() : InputAcquisition.immediate()).withInputs(1, 1, InputAcquisition.image())
        .withOutputs(r.nextBoolean() ? OutputDelivery.image() : OutputDelivery.immediate())
        .withDisplay("start", DisplaySampling.scanStart(), Painting.fromSample())
        .withTaskSwitching(r.nextBoolean() ? TaskSwitching.preemptive() : TaskSwitching.nonPreemptive())
        .withFirmForces(r.nextBoolean());
    assertThat(run(p, policy.withImages(ProcessImages.perTask()), seed)).isEqualTo(run(p, policy.withImages(ProcessImages.shared()), seed));
  }
}
