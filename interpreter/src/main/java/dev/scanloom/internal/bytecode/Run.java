package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.exec.Operations;
import dev.scanloom.internal.exec.StepFailure;
import dev.scanloom.internal.exec.StepFault;
import dev.scanloom.internal.exec.SteppingExecutor;
import dev.scanloom.internal.exec.Supervisor;
import dev.scanloom.internal.exec.TaskState;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.library.BodyFault;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;

/**
 * What compiled code keeps and asks while a body runs: the step counter, the call depth, and the stepping executor for stretches that are not translated.
 * Public because generated classes use it; not exported. Confined to the controller's thread.
 */
public final class Run {
  /** Steps used, when compiled code has said so: before each call of a method here that needs to know. */
  public long steps;
  /** When {@link #steps} may pass this before the next such place, {@link #ample} must be asked. */
  public long checkpoint;
  public int depth;
  public long activation;
  public final byte[] inputs;
  public final byte[] outputs;
  public final byte[] marks;
  /** Bits of inputs as slots: see {@link InputBits}. */
  public final long[] bits;

  /** Steps after which the run looks whether the host has interrupted it: some microseconds. */
  private static final int STRIDE = 16_384;

  private final Memory memory;
  private final Code code;
  private final Sites sites;
  private final Supervisor supervisor;
  private final SteppingExecutor stepping;
  private final TaskState scratch;
  private final Limits limits;
  private final long stepCost;
  private final int[] wordBytes;
  private final long[] words;
  private long startTime;

  Run(Memory memory, CompiledCode compiled, Supervisor supervisor, SteppingExecutor stepping, TaskState scratch, Limits limits, long stepCost) {
    this.memory = memory;
    this.code = memory.code();
    this.sites = compiled.sites();
    this.wordBytes = compiled.inputWords();
    this.words = new long[wordBytes.length];
    this.bits = new long[wordBytes.length * InputBits.BITS];
    this.supervisor = supervisor;
    this.stepping = stepping;
    this.scratch = scratch;
    this.limits = limits;
    this.stepCost = stepCost;
    this.inputs = memory.areas[1];
    this.outputs = memory.areas[2];
    this.marks = memory.areas[3];
  }

  void begin(long activationTime) {
    activation = activationTime;
    startTime = supervisor.now();
    steps = 0;
    depth = 0;
    checkpoint = Math.min(STRIDE, limits.stepsPerScan());
  }

  /** Virtual time now, from the steps used. */
  void settle() {
    supervisor.setNow(startTime + steps * stepCost);
  }

  /** Brings the bits of a word of inputs up to date: only those that have changed since the last time. */
  public void follow(int word) {
    long now = Support.get64(inputs, wordBytes[word]);
    long changed = now ^ words[word];
    words[word] = now;
    while (changed != 0) {
      bits[word * InputBits.BITS + Long.numberOfTrailingZeros(changed)] ^= 1;
      changed &= changed - 1;
    }
  }

  /** How many steps may be made after {@code used} before {@link #ample} must be asked. */
  public int room(long used) {
    return (int) Math.min(checkpoint - used, Integer.MAX_VALUE / 2);
  }

  /**
   * Before the step at {@code pc}: whether {@code most} more steps are within the budget. Looks for interruption. If not, {@link #finish} must run the rest of
   * the body.
   */
  public boolean ample(long used, int pc, int most) {
    steps = used;
    if (steps + most > limits.stepsPerScan()) {
      scratch.abandon();
      return false;
    }
    if (supervisor.isInterrupted()) {
      throw failed(new StepFault("fault/interrupted", "the host has stopped the run", pc, steps + 1, code.isLibrary(pc) ? -1 : pc), steps);
    }
    checkpoint = Math.min(steps + Math.max(STRIDE, most), limits.stepsPerScan());
    return true;
  }

  /** Runs the rest of a body by stepping, because the budget may end in it. Operands were given to {@link #spill}. */
  public void finish(int pc, int self, int frame) {
    int height = scratch.height();
    long[] operands = new long[height];
    for (int i = height - 1; i >= 0; i--) {
      operands[i] = scratch.pop();
    }
    scratch.enter(pc, self, frame, depth, activation, steps);
    for (long x : operands) {
      scratch.push(x);
    }
    stretch(-1, -1);
    scratch.abandon();
  }

  /** Keeps an operand for {@link #finish}. */
  public void spill(long value) {
    scratch.push(value);
  }

  private void stretch(int stopA, int stopB) {
    supervisor.setNow(startTime + scratch.stepsUsed() * stepCost);
    boolean reached = stepping.stretch(scratch, stopA, stopB);
    if (!reached) {
      StepFault f = stepping.fault().orElseThrow();
      throw failed(f, scratch.stepsUsed());
    }
    steps = scratch.stepsUsed();
    if (steps > checkpoint) {
      checkpoint = Math.min(steps, limits.stepsPerScan());
    }
  }

  /**
   * Runs a guarded stretch that begins at {@code pc} by stepping; returns the step at which to go on. What it left on the stack is taken by
   * {@link #operand}.
   */
  public int guarded(int pc, int end, int self, int frame) {
    scratch.enter(pc, self, frame, depth, activation, steps);
    stretch(end, code.a[pc]);
    return scratch.pc();
  }

  /** Runs a body that was not translated by stepping; the steps used. */
  public long body(int number, int self, int frame, long used, int open) {
    depth = open;
    scratch.enter(code.bodies().get(number).start(), self, frame, depth, activation, used);
    stretch(-1, -1);
    return steps;
  }

  public long operand() {
    return scratch.pop();
  }

  /** Executes a single step that has no translation of its own; its operands were given to {@link #spill}. */
  public void single(int pc, int self, int frame) {
    int height = scratch.height();
    long a = height > 0 ? scratch.pop() : 0;
    long b = height > 1 ? scratch.pop() : 0;
    long c = height > 2 ? scratch.pop() : 0;
    if (height > 3) {
      throw new IllegalStateException("step " + pc + " takes " + height + " operands");
    }
    scratch.enter(pc, self, frame, depth, activation, steps);
    if (height > 2) {
      scratch.push(c);
    }
    if (height > 1) {
      scratch.push(b);
    }
    if (height > 0) {
      scratch.push(a);
    }
    supervisor.setNow(startTime + steps * stepCost);
    if (!stepping.stretch(scratch, pc + 1, pc + 1)) {
      StepFault f = stepping.fault().orElseThrow();
      throw failed(f, scratch.stepsUsed());
    }
    steps = scratch.stepsUsed();
  }

  private static CompiledFault failed(StepFault f, long used) {
    CompiledFault made = new CompiledFault(f.code(), f.message(), f.step(), f.ordinal(), used);
    made.userStep = f.userStep();
    return made;
  }

  /** The innermost step at a site, with the calls around it in the same method, that is not of a library. */
  private int userStep(int site) {
    int step = sites.step(site);
    for (int i = 0; step >= 0 && code.isLibrary(step); i++) {
      step = i < sites.callers(site).length ? sites.callers(site)[i] : -1;
    }
    return step;
  }

  /** A step failed: turns the failure into a fault with its place. Faults pass through. */
  public RuntimeException failed(RuntimeException e, int site, long used, int counted) {
    if (e instanceof CompiledFault f) {
      f.userStep = f.userStep >= 0 ? f.userStep : userStep(site);
      return e;
    }
    long ordinal = used + counted + sites.made(site) + 1;
    if (e instanceof Arith.Failure f) {
      return failed(new StepFault(f.code(), f.getMessage(), sites.step(site), ordinal, userStep(site)), ordinal);
    }
    if (e instanceof BodyFault f) {
      return failed(new StepFault(f.code(), f.getMessage(), sites.step(site), ordinal, userStep(site)), ordinal);
    }
    if (e instanceof StepFailure f) {
      return failed(new StepFault(f.code(), f.getMessage(), sites.step(site), ordinal, userStep(site)), ordinal);
    }
    return e;
  }

  /** A call begins with so many open. */
  public void enter(int open) {
    if (open >= limits.callDepth()) {
      throw StepFailure.callDepth(limits.callDepth());
    }
  }

  public long taskTime() {
    return code.choices().timerClock() == ImplementerChoices.TimerClock.ACTIVATION ? activation : stepTime();
  }

  private long stepTime() {
    // As the stepping executor has it: the cost of the step itself has already passed.
    return startTime + (steps + 1) * stepCost;
  }

  /** Body that an instance has for a selector. */
  public int dispatch(long instance, int selector) {
    int body = code.types().get((int) memory.slots[(int) instance]).bodies()[selector];
    if (body < 0) {
      throw StepFailure.noBody();
    }
    return body;
  }

  // ---- located areas ----

  /** Reads a location as the policy has it. */
  public long loadLocated(long address, int kind) {
    if (Address.area(address) == 1 && supervisor.watchesReads()) {
      supervisor.setNow(stepTime());
      supervisor.beforeRead(address, Arith.kind(kind).bits());
    }
    return memory.read(address, kind);
  }

  /** Writes a location as the policy has it. */
  public void storeLocated(long value, long address, int kind) {
    memory.write(address, kind, value);
    if (Address.area(address) == 2 && supervisor.watchesWrites()) {
      supervisor.setNow(stepTime());
      supervisor.afterWrite(address, Arith.kind(kind).bits());
    }
  }

  public long loadIndirect(long address, int kind) {
    Operations.checkNull(address);
    return Address.isLocated(address) ? loadLocated(address, kind) : memory.slots[(int) address];
  }

  public void storeIndirect(long address, long value, int kind) {
    Operations.checkNull(address);
    if (Address.isLocated(address)) {
      storeLocated(value, address, kind);
    } else {
      memory.slots[(int) address] = value;
    }
  }
}
