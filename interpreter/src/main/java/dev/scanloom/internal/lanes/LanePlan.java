package dev.scanloom.internal.lanes;

import dev.scanloom.internal.bytecode.CompiledCode;
import dev.scanloom.internal.bytecode.StretchTranslator;
import dev.scanloom.internal.exec.Condensation;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Collectors;

/** How a program runs on words: made once, shared by all banks. Immutable and safe for use by several threads. */
public final class LanePlan {
  /** Stretches of one class: their bodies are found one after the other. */
  static final int CHUNK = 32;
  /** Places named in the report of what is not Boolean. */
  private static final int NAMED = 5;

  /** A chunk of stretches as executors take it. */
  record Chunk(Code code, CompiledCode compiled, Condensation condensation) {}

  final Code code;
  final Limits limits;
  final Weave weave;
  final WordCode.Result words;
  final List<Chunk> chunks = new ArrayList<>();
  /** Memory with all variables at their initial values, to look at only. */
  final Memory initial;
  private final String reason;
  private final boolean usesTaskTime;

  /** Why not, or what to run. */
  public LanePlan(Code code, Limits limits) {
    this.code = code;
    this.limits = limits;
    boolean time = false;
    for (int op : code.op) {
      time |= op == Op.TASK_TIME.ordinal();
    }
    usesTaskTime = time;
    String refused = refusal();
    Weave w = refused == null ? new Weave(code) : null;
    if (w != null && w.reason() != null) {
      refused = w.reason();
    }
    WordCode.Result r = null;
    if (refused == null) {
      try {
        r = WordCode.of(w);
        refused = r == null ? "the program is too large for a class of the JVM" : null;
      } catch (LinkageError e) {
        // A mistake of the translator must not be the host's.
        refused = "the JVM refuses the code of its words: " + e.getClass().getSimpleName();
      }
    }
    if (r != null && most(r) >= limits.stepsPerScan()) {
      refused = "the step budget of " + limits.stepsPerScan() + " may end within a scan";
    }
    reason = refused;
    weave = refused == null ? w : null;
    words = refused == null ? r : null;
    Code layout = null;
    if (refused == null) {
      layout = Outlines.of(code, List.of(), w.resultSlots());
      List<Weave.Part> carried = w.parts.stream().filter(p -> !p.plain()).toList();
      for (int from = 0; from < carried.size(); from += CHUNK) {
        Code cut = Outlines.of(code, carried.subList(from, Math.min(carried.size(), from + CHUNK)), w.resultSlots());
        Condensation none = new Condensation(cut, StretchTranslator::translate, Long.MAX_VALUE);
        chunks.add(new Chunk(cut, CompiledCode.of(cut, false, false, limits.callDepth()), none));
      }
    }
    initial = layout == null ? null : new Memory(layout, 1);
  }

  private String refusal() {
    if (!code.tasks().isEmpty()) {
      return "tasks have times of their own";
    }
    if (code.programs().isEmpty()) {
      return "there is no program";
    }
    if (limits.callDepth() < 64) {
      return "the limit of nested calls is low";
    }
    return null;
  }

  /** Most steps that words execute in a scan for one lane. */
  static long most(WordCode.Result r) {
    long n = r.common();
    for (int l : r.lengths()) {
      n += l;
    }
    return n;
  }

  /** Why the program does not run on words; null when it does. */
  public String reason() {
    return reason;
  }

  /** Why the policy does not let it run on words; null when it does. */
  public String reason(ScanPolicy policy) {
    if (reason != null) {
      return reason;
    }
    if (policy.execution() == Execution.STEPPING) {
      return "the policy asks for stepping";
    }
    for (ScanPolicy.Inputs i : policy.inputs()) {
      if (!i.acquisition().equals(InputAcquisition.image())) {
        return "inputs are not acquired by image alone";
      }
    }
    for (ScanPolicy.Outputs o : policy.outputs()) {
      if (!o.delivery().equals(OutputDelivery.image())) {
        return "outputs are not delivered by image alone";
      }
    }
    if (policy.inputs().stream().noneMatch(i -> i.from() == 0 && i.to() == Integer.MAX_VALUE)
        || policy.outputs().stream().noneMatch(o -> o.from() == 0 && o.to() == Integer.MAX_VALUE)) {
      return "not all inputs and outputs are copied";
    }
    for (ScanPolicy.Display d : policy.displays()) {
      if (d.sampling().subsystemTime(0, 0) != Long.MAX_VALUE) {
        return "display " + d.name() + " samples on a clock of its own";
      }
    }
    if (!policy.images().equals(ProcessImages.shared())) {
      return "tasks have copies of the process image";
    }
    if (!policy.externalWrites().equals(ExternalWrites.betweenScans()) && !policy.externalWrites().equals(ExternalWrites.anyStep())) {
      return "external writes take time";
    }
    long step = policy.costs().step(CostModel.StepKind.AUXILIARY);
    for (CostModel.StepKind k : CostModel.StepKind.values()) {
      if (policy.costs().step(k) != step) {
        return "kinds of steps have different costs";
      }
    }
    if (step != 0 && usesTaskTime && code.choices().timerClock() != ImplementerChoices.TimerClock.ACTIVATION) {
      return "timers read the time of the step";
    }
    return null;
  }

  /** What runs on words and what does not. */
  public String report() {
    int lanes = (int) Math.min(Integer.MAX_VALUE, weave.partSteps);
    String head = "words: " + weave.wordSteps() + " of " + (weave.wordSteps() + lanes) + " steps";
    String refused = chunks.stream().map(c -> c.compiled().inUse()).filter(s -> !s.equals("compiled")).map(s -> "; " + s).collect(Collectors.joining());
    if (weave.parts.isEmpty()) {
      return head;
    }
    List<String> places = weave.stretchPlaces(NAMED);
    return head + "; each lane: " + lanes + " steps that are not Boolean, in " + weave.parts.size() + (weave.parts.size() == 1 ? " stretch" : " stretches")
        + ", at " + String.join(", ", places) + (places.size() == NAMED ? ", ..." : "") + refused;
  }
}
