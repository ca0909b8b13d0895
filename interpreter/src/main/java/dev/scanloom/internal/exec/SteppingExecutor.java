package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Extent;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.step.OpNumber;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.library.BodyFault;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.Set;

/**
 * Walks the list of steps; can stop between any two of them. Confined to the controller's thread. Allocates nothing while steps succeed.
 */
public final class SteppingExecutor {
  /** How a run of a task ended. */
  public enum Outcome {
    /** The body has returned. */
    DONE,
    /** The supervisor stopped it between two steps; run it again to go on. */
    PAUSED,
    /** It waits for a lock; run it again when it has been given to it. */
    WAITING,
    /** A step failed; see {@link #fault()}. */
    FAULTED
  }

  /** Steps between two looks at the interruption flag: when walked one by one, and in stretches. */
  private static final int STRIDE = 1024;
  private static final int QUICK_STRIDE = 8 * STRIDE;
  private static final int[] WIDTHS = widths();

  private final Memory memory;
  private final Code code;
  private final Supervisor supervisor;
  private final EventSink events;
  private final Limits limits;
  private final ImplementerChoices choices;
  private final long[] costs;
  private final int[] bodyStart;
  private final int[] bodyFrame;
  private final Code.Native[] natives;
  private final Code.InstanceType[] types;
  private final NativeFrame nativeFrame;
  private final boolean cutTexts;
  private final Pure pure;
  private final Condensation condensation;
  /** For stretches, without and with a digest over writes; made when they are first of use. */
  private final QuickRunner[] quick = new QuickRunner[2];
  private List<Extent> watched = List.of();
  private boolean digests;
  private long digest;
  private long unseenSteps;
  private final boolean[] tests;
  private final boolean[] powers;
  private StepFault fault;

  /** Calls that were open before the present stretch, of which the call stack tells nothing. */
  private int openBefore;
  private boolean wantsSteps;
  private boolean wantsReads;
  private boolean wantsWrites;
  private boolean wantsElements;
  // what is wanted of the present run
  private boolean reads;
  /** Writes are told to observers; they are told or go into the digest. */
  private boolean tellsWrites;
  private boolean writes;
  private boolean elements;
  private long now;
  private long ordinal;
  private int extraSteps;

  /**
   * @param condensation forms of the same program
   * @param costs virtual nanoseconds of each operation, by ordinal of Op; not to be changed any more
   */
  public SteppingExecutor(Memory memory, Condensation condensation, Supervisor supervisor, EventSink events, Limits limits, long[] costs) {
    this.condensation = condensation;
    this.memory = memory;
    this.code = memory.code();
    this.supervisor = supervisor;
    this.events = events;
    this.limits = limits;
    this.choices = code.choices();
    this.costs = costs;
    this.bodyStart = condensation.bodyStart;
    this.bodyFrame = condensation.bodyFrame;
    this.natives = condensation.natives;
    this.types = condensation.types;
    this.nativeFrame = new NativeFrame(memory, this);
    this.pure = new Pure(code.pool, choices);
    this.tests = events.tests();
    this.powers = events.powers();
    this.cutTexts = choices.textOverflow() == ImplementerChoices.TextOverflow.CUT;
  }

  private static int[] widths() {
    ElementaryType[] kinds = ElementaryType.values();
    int[] w = new int[kinds.length];
    for (int i = 0; i < w.length; i++) {
      w[i] = kinds[i].bits();
    }
    return w;
  }

  /** Puts a task at the start of a body. {@code activation}: the virtual time that timers read. */
  public void start(TaskState task, int body, int self, long activation) {
    task.abandon();
    task.pc = bodyStart[body];
    task.self = self;
    task.frame = memory.frameBase(task.index);
    task.activation = activation;
    task.stepsUsed = 0;
  }

  /** The kinds of events that are wanted have changed. */
  public void look() {
    Set<EventKind> wanted = events.wanted();
    wantsSteps = wanted.contains(EventKind.STEP);
    wantsReads = wanted.contains(EventKind.READ);
    wantsWrites = wanted.contains(EventKind.WRITE);
    wantsElements = wanted.contains(EventKind.ELEMENT);
  }

  /** Runs a task until its body returns, the supervisor stops it, or a step fails. {@code maxSteps}: at most so many steps, then PAUSED. */
  public Outcome run(TaskState task, long maxSteps) {
    openBefore = 0;
    reads = wantsReads;
    tellsWrites = wantsWrites || !watched.isEmpty();
    writes = tellsWrites || digests;
    elements = wantsElements;
    now = supervisor.now();
    fault = null;
    boolean steps = wantsSteps;
    boolean unseen = !steps && !reads && !wantsWrites && !elements;
    QuickRunner runner = unseen ? runner() : null;
    long left = maxSteps;
    while (true) {
      long budget = limits.stepsPerScan() - task.stepsUsed;
      if (budget <= 0) {
        return fail(task, "fault/watchdog", "the execution has used its " + limits.stepsPerScan() + " steps");
      }
      if (left <= 0) {
        supervisor.setNow(now);
        return Outcome.PAUSED;
      }
      if (supervisor.isInterrupted()) {
        return fail(task, "fault/interrupted", "the host has stopped the run");
      }
      int fuel = (int) Math.min(Math.min(left, unseen ? QUICK_STRIDE : STRIDE), budget);
      long before = task.stepsUsed;
      Outcome outcome;
      try {
        outcome = unseen ? runUnseen(task, fuel, runner) : loop(task, fuel, steps);
      } catch (Arith.Failure f) {
        outcome = recover(task, f.code(), f.getMessage(), false);
      } catch (BodyFault f) {
        outcome = recover(task, f.code(), f.getMessage(), false);
      } catch (StepFailure f) {
        outcome = recover(task, f.code(), f.getMessage(), f.isFatal());
      }
      if (outcome != null) {
        supervisor.setNow(now);
        return outcome;
      }
      left -= task.stepsUsed - before;
    }
  }

  private QuickRunner runner() {
    int i = digests ? 1 : 0;
    boolean pays = condensation.pays(unseenSteps);
    if (quick[i] == null || pays && !quick[i].isSettled()) {
      Form form = new Form(supervisor.watchesReads(), supervisor.watchesWrites(), digests, watched);
      if (quick[i] == null) {
        quick[i] = new QuickRunner(condensation.get(form), bodyFrame, memory, pure, limits, costs, form, tests, powers);
      }
      if (pays) {
        quick[i].translate(condensation.translation(form));
      }
    }
    return quick[i];
  }

  /** Writes of these variables by steps are told, whatever else is wanted. */
  public void watch(List<Extent> variables) {
    if (!variables.equals(watched)) {
      watched = List.copyOf(variables);
      Arrays.fill(quick, null);
    }
  }

  /**
   * At most {@code fuel} steps that nobody looks into: in stretches where there are some, else one by one. Null when they are used up, or
   * earlier.
   */
  private Outcome runUnseen(TaskState task, int fuel, QuickRunner runner) {
    int walk;
    long end = task.stepsUsed + fuel;
    if (runner.canStart(task.pc)) {
      runner.now = now;
      runner.digest = digest;
      walk = runner.run(task, fuel, supervisor.deadline());
      now = runner.now;
      digest = runner.digest;
      unseenSteps += task.stepsUsed - end + fuel;
      if (walk == QuickRunner.DONE) {
        return Outcome.DONE;
      }
    } else {
      walk = runner.distance(task.pc);
    }
    int left = (int) Math.min(walk, end - task.stepsUsed);
    return left == 0 ? null : loop(task, left, false);
  }

  /** From now on a digest over what steps write is kept, beginning with {@code seed}; as {@link Trace#digest} says. */
  public void beginDigest(long seed) {
    digests = true;
    digest = seed;
  }

  public void endDigest() {
    digests = false;
  }

  public long digest() {
    return digest;
  }

  /** The fault of the last run that ended FAULTED. */
  public Optional<StepFault> fault() {
    return Optional.ofNullable(fault);
  }

  /** Number of the present step within the task's execution, from 1; meaningful inside the supervisor's read and write hooks. */
  public long ordinal() {
    return ordinal;
  }

  /**
   * Runs a stretch on behalf of the compiled executor: from {@code task}'s step until it stands at {@code stopA} or {@code stopB} at the
   * call depth it began with, or its body returns. Faults end it; then {@link #fault()} tells. No supervisor is asked for deadlines.
   *
   * @return true when a stop was reached
   */
  public boolean stretch(TaskState task, int stopA, int stopB) {
    int depth = task.depth;
    openBefore = depth;
    reads = false;
    tellsWrites = false;
    writes = false;
    elements = false;
    fault = null;
    now = supervisor.now();
    while (task.pc >= 0 && task.depth >= depth && !(task.depth == depth && (task.pc == stopA || task.pc == stopB))) {
      if (task.stepsUsed >= limits.stepsPerScan()) {
        fail(task, "fault/watchdog", "the execution has used its " + limits.stepsPerScan() + " steps");
        return false;
      }
      Outcome outcome;
      try {
        outcome = loop(task, 1, false);
      } catch (Arith.Failure f) {
        outcome = recover(task, f.code(), f.getMessage(), false);
      } catch (BodyFault f) {
        outcome = recover(task, f.code(), f.getMessage(), false);
      } catch (StepFailure f) {
        outcome = recover(task, f.code(), f.getMessage(), f.isFatal());
      }
      if (outcome == Outcome.FAULTED) {
        return false;
      }
    }
    return true;
  }

  /** The innermost step on a task's call stack that is not of a library, as far as the stack is known; -1 without one. */
  public int userStep(TaskState task) {
    int step = task.pc;
    for (int d = task.depth; step >= 0 && code.isLibrary(step); step = task.calls[d * 3] - 1) {
      if (--d < openBefore) {
        return -1;
      }
    }
    return step;
  }

  private Outcome fail(TaskState task, String faultCode, String message) {
    fault = new StepFault(faultCode, message, task.pc, task.stepsUsed + 1, userStep(task));
    supervisor.setNow(now);
    task.abandon();
    return Outcome.FAULTED;
  }

  /** Goes on at the innermost guard, or ends the run. The task stands at the failed step, which counts as executed. */
  private Outcome recover(TaskState task, String faultCode, String message, boolean fatal) {
    if (fatal || task.guardCount == 0) {
      fault = new StepFault(faultCode, message, task.pc, task.stepsUsed, userStep(task));
      task.abandon();
      return Outcome.FAULTED;
    }
    int g = --task.guardCount * 3;
    int depth = task.guards[g + 1];
    if (task.depth > depth) {
      task.self = task.calls[depth * 3 + 1];
      task.frame = task.calls[depth * 3 + 2];
      task.depth = depth;
    }
    task.sp = task.guards[g + 2];
    task.pc = task.guards[g];
    return null;
  }

  /**
   * The loop: at most {@code fuel} steps. Returns null when they are used up. Kept below 7,000 bytes of bytecode so that HotSpot compiles
   * it: rare work stands in methods of its own.
   */
  private Outcome loop(TaskState task, int fuel, boolean steps) {
    final int[] op = code.op;
    final int[] as = code.a;
    final int[] bs = code.b;
    final long[] mem = memory.slots;
    final long[] st = task.stack;
    final long base = task.stepsUsed;
    long deadline = supervisor.deadline();
    int left = fuel;
    int sp = task.sp;
    int pc = task.pc;
    int self = task.self;
    int fp = task.frame;
    try {
      while (left > 0) {
        if (now >= deadline) {
          task.pc = pc;
          task.sp = sp;
          task.stepsUsed = base + fuel - left;
          supervisor.setNow(now);
          boolean stop = supervisor.reached();
          now = supervisor.now();
          deadline = supervisor.deadline();
          if (stop) {
            return Outcome.PAUSED;
          }
        }
        left--;
        ordinal = base + fuel - left;
        final int a = as[pc];
        if (steps) {
          report(pc, st, sp);
        }
        now += costs[op[pc]];
        switch (op[pc]) {
          case OpNumber.CONST -> st[sp++] = code.pool[a];
          case OpNumber.ADDRESS_SELF -> st[sp++] = self + a;
          case OpNumber.ADDRESS_FRAME -> st[sp++] = fp + a;
          case OpNumber.LOAD_SELF -> st[sp++] = reads ? noteRead(pc, self + a, mem[self + a]) : mem[self + a];
          case OpNumber.LOAD_FRAME -> st[sp++] = reads ? noteRead(pc, fp + a, mem[fp + a]) : mem[fp + a];
          case OpNumber.LOAD_STATIC -> st[sp++] = reads ? noteRead(pc, a, mem[a]) : mem[a];
          case OpNumber.LOAD_LOCATED -> st[sp++] = loadAt(pc, code.pool[a], bs[pc]);
          case OpNumber.LOAD_INDIRECT -> st[sp - 1] = loadAt(pc, st[sp - 1], bs[pc]);
          case OpNumber.STORE_SELF -> {
            if (writes) {
              noteWrite(pc, self + a, mem[self + a], st[sp - 1]);
            }
            mem[self + a] = st[--sp];
          }
          case OpNumber.STORE_FRAME -> {
            if (writes) {
              noteWrite(pc, fp + a, mem[fp + a], st[sp - 1]);
            }
            mem[fp + a] = st[--sp];
          }
          case OpNumber.STORE_STATIC -> {
            if (writes) {
              noteWrite(pc, a, mem[a], st[sp - 1]);
            }
            mem[a] = st[--sp];
          }
          case OpNumber.STORE_LOCATED -> storeAt(pc, code.pool[a], bs[pc], st[--sp]);
          case OpNumber.STORE_INDIRECT -> {
            sp -= 2;
            storeAt(pc, st[sp], bs[pc], st[sp + 1]);
          }
          case OpNumber.LOAD_TEMP -> st[sp++] = mem[fp + a];
          case OpNumber.STORE_TEMP -> mem[fp + a] = st[--sp];
          case OpNumber.CHECK_NULL -> Operations.checkNull(st[sp - 1]);
          case OpNumber.OFFSET -> st[sp - 1] += a;
          case OpNumber.INDEX -> {
            sp--;
            st[sp - 1] = Operations.index(code.pool, st[sp - 1], st[sp], a);
          }
          case OpNumber.OPEN_INDEX -> {
            sp--;
            st[sp - 1] = Operations.openIndex(mem, st[sp - 1], st[sp], (bs[pc] == 0 ? fp : self) + a);
          }
          case OpNumber.OPEN_END -> {
            sp--;
            st[sp - 1] += st[sp] * (Address.isLocated(st[sp - 1]) ? bs[pc] : a);
          }
          case OpNumber.DUP -> {
            st[sp] = st[sp - 1];
            sp++;
          }
          case OpNumber.DUP2 -> {
            st[sp] = st[sp - 2];
            st[sp + 1] = st[sp - 1];
            sp += 2;
          }
          case OpNumber.POP -> sp--;
          case OpNumber.SWAP -> {
            long x = st[sp - 1];
            st[sp - 1] = st[sp - 2];
            st[sp - 2] = x;
          }
          case OpNumber.BITS_GET -> st[sp - 1] = Operations.part(st[sp - 1], a, bs[pc]);
          case OpNumber.BITS_PUT -> {
            sp--;
            st[sp - 1] = Operations.withPart(st[sp - 1], st[sp], a, bs[pc]);
          }
          case OpNumber.ADD -> {
            sp--;
            st[sp - 1] = Arith.add(st[sp - 1], st[sp], bs[pc]);
          }
          case OpNumber.SUB -> {
            sp--;
            st[sp - 1] = Arith.subtract(st[sp - 1], st[sp], bs[pc]);
          }
          case OpNumber.MUL -> {
            sp--;
            st[sp - 1] = Arith.multiply(st[sp - 1], st[sp], bs[pc]);
          }
          case OpNumber.ADD_REAL -> {
            sp--;
            st[sp - 1] = Arith.real(Arith.real(st[sp - 1]) + Arith.real(st[sp]));
          }
          case OpNumber.SUB_REAL -> {
            sp--;
            st[sp - 1] = Arith.real(Arith.real(st[sp - 1]) - Arith.real(st[sp]));
          }
          case OpNumber.MUL_REAL -> {
            sp--;
            st[sp - 1] = Arith.real(Arith.real(st[sp - 1]) * Arith.real(st[sp]));
          }
          case OpNumber.ADD_LREAL -> {
            sp--;
            st[sp - 1] = Arith.lreal(Arith.lreal(st[sp - 1]) + Arith.lreal(st[sp]));
          }
          case OpNumber.SUB_LREAL -> {
            sp--;
            st[sp - 1] = Arith.lreal(Arith.lreal(st[sp - 1]) - Arith.lreal(st[sp]));
          }
          case OpNumber.MUL_LREAL -> {
            sp--;
            st[sp - 1] = Arith.lreal(Arith.lreal(st[sp - 1]) * Arith.lreal(st[sp]));
          }
          case OpNumber.NEG, OpNumber.NEG_EXACT, OpNumber.ABS, OpNumber.NEG_REAL, OpNumber.SQRT_REAL, OpNumber.NEG_LREAL,
              OpNumber.SQRT_LREAL, OpNumber.CONVERT, OpNumber.RANGE -> st[sp - 1] = pure.unary(op[pc], a, bs[pc], st[sp - 1]);
          case OpNumber.ADD_EXACT, OpNumber.SUB_EXACT, OpNumber.MUL_EXACT, OpNumber.DIV, OpNumber.MOD, OpNumber.DIV_REAL,
              OpNumber.POWER_REAL, OpNumber.DIV_LREAL, OpNumber.POWER_LREAL, OpNumber.SCALE, OpNumber.UNSCALE, OpNumber.SHL,
              OpNumber.SHR, OpNumber.ROL, OpNumber.ROR, OpNumber.LT_UNSIGNED, OpNumber.LE_UNSIGNED, OpNumber.GT_UNSIGNED,
              OpNumber.GE_UNSIGNED, OpNumber.COMPARE_REAL, OpNumber.COMPARE_LREAL, OpNumber.MAX, OpNumber.MIN -> {
            sp--;
            st[sp - 1] = pure.binary(op[pc], a, bs[pc], st[sp - 1], st[sp]);
          }
          case OpNumber.AND -> {
            sp--;
            st[sp - 1] &= st[sp];
          }
          case OpNumber.OR -> {
            sp--;
            st[sp - 1] |= st[sp];
          }
          case OpNumber.XOR -> {
            sp--;
            st[sp - 1] ^= st[sp];
          }
          case OpNumber.NOT -> st[sp - 1] = Arith.wrap(~st[sp - 1], bs[pc]);
          case OpNumber.EQ -> {
            sp--;
            st[sp - 1] = st[sp - 1] == st[sp] ? 1 : 0;
          }
          case OpNumber.NE -> {
            sp--;
            st[sp - 1] = st[sp - 1] != st[sp] ? 1 : 0;
          }
          case OpNumber.LT -> {
            sp--;
            st[sp - 1] = st[sp - 1] < st[sp] ? 1 : 0;
          }
          case OpNumber.LE -> {
            sp--;
            st[sp - 1] = st[sp - 1] <= st[sp] ? 1 : 0;
          }
          case OpNumber.GT -> {
            sp--;
            st[sp - 1] = st[sp - 1] > st[sp] ? 1 : 0;
          }
          case OpNumber.GE -> {
            sp--;
            st[sp - 1] = st[sp - 1] >= st[sp] ? 1 : 0;
          }
          case OpNumber.SELECT -> {
            sp -= 2;
            st[sp - 1] = st[sp - 1] != 0 ? st[sp + 1] : st[sp];
          }
          case OpNumber.MUX -> {
            sp -= a;
            st[sp - 1] = st[sp + Operations.choice(st[sp - 1], a)];
          }
          case OpNumber.TEXT_COPY -> {
            sp -= 2;
            copyText(st[sp], st[sp + 1], a, bs[pc], pc);
            left -= takeExtra(op[pc]);
          }
          case OpNumber.TEXT_CONVERT -> {
            sp -= 2;
            convertText(st[sp], st[sp + 1], a, bs[pc], pc);
            left -= takeExtra(op[pc]);
          }
          case OpNumber.TEXT_OF_CHAR -> {
            sp -= 2;
            textOfChar(st[sp], st[sp + 1], a, bs[pc], pc);
          }
          case OpNumber.TEXT_COMPARE -> {
            sp--;
            noteTexts(pc, st[sp - 1], st[sp]);
            st[sp - 1] = memory.compareText((int) st[sp - 1], (int) st[sp], bs[pc]);
          }
          case OpNumber.TEXT_LENGTH -> {
            noteText(pc, st[sp - 1]);
            st[sp - 1] = memory.textLength((int) st[sp - 1]);
          }
          case OpNumber.CHAR_GET -> {
            sp--;
            st[sp - 1] = charAt(pc, st[sp - 1], st[sp], bs[pc]);
          }
          case OpNumber.CHAR_PUT -> {
            sp -= 3;
            putChar(st[sp], st[sp + 1], st[sp + 2], bs[pc], pc);
          }
          case OpNumber.COPY -> {
            sp -= 2;
            copy(st[sp], st[sp + 1], a, bs[pc] - 1, pc);
            left -= takeExtra(op[pc]);
          }
          case OpNumber.CLEAR -> clear(pc, fp + a, bs[pc]);
          case OpNumber.JUMP -> {
            pc = a;
            continue;
          }
          case OpNumber.JUMP_FALSE -> {
            if (st[--sp] == 0) {
              pc = a;
              continue;
            }
          }
          case OpNumber.JUMP_TRUE -> {
            if (st[--sp] != 0) {
              pc = a;
              continue;
            }
          }
          case OpNumber.CALL -> {
            push(task, pc + 1, self, fp);
            fp = enter(task, fp + bs[pc], a);
            pc = bodyStart[a];
            continue;
          }
          case OpNumber.CALL_ON -> {
            push(task, pc + 1, self, fp);
            self = (int) Operations.checkNull(st[--sp]);
            fp = enter(task, fp + bs[pc], a);
            pc = bodyStart[a];
            continue;
          }
          case OpNumber.CALL_DYNAMIC -> {
            push(task, pc + 1, self, fp);
            self = (int) Operations.checkNull(st[--sp]);
            int body = types[(int) mem[self]].bodies()[a];
            fp = enter(task, fp + bs[pc], body);
            pc = bodyStart[body];
            continue;
          }
          case OpNumber.NATIVE -> {
            callNative(task, pc, a, fp + bs[pc]);
            left -= takeExtra(op[pc]);
          }
          case OpNumber.RETURN -> {
            if (task.depth == 0) {
              pc = -1;
              return Outcome.DONE;
            }
            int r = --task.depth * 3;
            pc = task.calls[r];
            self = task.calls[r + 1];
            fp = task.calls[r + 2];
            continue;
          }
          case OpNumber.GUARD -> guard(task, a, sp);
          case OpNumber.UNGUARD -> task.guardCount--;
          case OpNumber.TASK_TIME -> st[sp++] = choices.timerClock() == ImplementerChoices.TimerClock.ACTIVATION ? task.activation : now;
          case OpNumber.ASSERT -> check(pc, st[--sp]);
          case OpNumber.TYPE_TEST -> st[sp - 1] = typeTest(st[sp - 1], a);
          case OpNumber.CONTACT -> {
            sp--;
            tests[a] = st[sp] != 0;
            powers[a] = (st[sp - 1] & st[sp]) != 0;
            if (elements) {
              supervisor.setNow(now);
              events.element(pc, ordinal, a, st[sp] != 0, (st[sp - 1] & st[sp]) != 0);
            }
            st[sp - 1] &= st[sp];
          }
          case OpNumber.ELEMENT -> {
            tests[a] = st[sp - 1] != 0;
            powers[a] = st[sp - 1] != 0;
            if (elements) {
              supervisor.setNow(now);
              events.element(pc, ordinal, a, st[sp - 1] != 0, st[sp - 1] != 0);
            }
          }
          case OpNumber.TAKE -> st[sp - 1] = take(task, pc, st[sp - 1], a) ? 1 : 0;
          case OpNumber.WAIT -> {
            if (!take(task, pc, st[--sp], a)) {
              task.waitsFor = st[sp];
              task.waitsForMutex = a == 0;
              pc++;
              return Outcome.WAITING;
            }
          }
          case OpNumber.GIVE -> {
            if (give(task, pc, st[--sp], a)) {
              pc++;
              return Outcome.PAUSED;
            }
          }
          default -> throw new IllegalStateException("step " + pc + " has no operation " + op[pc]);
        }
        pc++;
      }
      return null;
    } finally {
      task.pc = pc;
      task.sp = sp;
      task.self = self;
      task.frame = fp;
      task.stepsUsed = base + fuel - left + (pc < 0 ? 0 : takeExtra(op[pc]));
    }
  }

  // ---- what observers are told ----

  private void report(int pc, long[] stack, int sp) {
    supervisor.setNow(now);
    events.step(pc, ordinal, stack, sp);
  }

  long noteRead(int pc, long address, long value) {
    supervisor.setNow(now);
    events.read(pc, ordinal, address, 64, value);
    return value;
  }

  /** A string is about to be read. */
  private void noteText(int pc, long address) {
    if (reads && address != Address.NULL) {
      noteRead(pc, address, memory.slots[(int) address]);
    }
  }

  private void noteTexts(int pc, long x, long y) {
    noteText(pc, x);
    noteText(pc, y);
  }

  void noteWrite(int pc, long address, long before, long after) {
    noteWrite(pc, address, 64, before, after, Source.INSTRUCTION);
  }

  private void noteWrite(int pc, long address, int width, long before, long after, Source source) {
    if (digests) {
      digest = Trace.digest(digest, pc, address, after);
    }
    if (wantsWrites || tellsWrites && Extent.anyOverlaps(watched, address, width)) {
      supervisor.setNow(now);
      events.write(pc, ordinal, address, width, before, after, source);
    }
  }

  // ---- places ----

  private long loadAt(int pc, long address, int kind) {
    if (!Address.isLocated(address)) {
      Operations.checkNull(address);
      long v = memory.slots[(int) address];
      return reads ? noteRead(pc, address, v) : v;
    }
    int width = WIDTHS[kind];
    if (Address.area(address) == 1 && supervisor.watchesReads()) {
      supervisor.setNow(now);
      supervisor.beforeRead(address, width);
    }
    long v = memory.read(address, kind);
    if (reads) {
      supervisor.setNow(now);
      events.read(pc, ordinal, address, width, v);
    }
    return v;
  }

  private void storeAt(int pc, long address, int kind, long value) {
    if (!Address.isLocated(address)) {
      Operations.checkNull(address);
      if (writes) {
        noteWrite(pc, address, memory.slots[(int) address], value);
      }
      memory.slots[(int) address] = value;
      return;
    }
    int width = WIDTHS[kind];
    if (writes) {
      noteWrite(pc, address, width, memory.read(address, kind), value, Source.INSTRUCTION);
    }
    memory.write(address, kind, value);
    if (Address.area(address) == 2 && supervisor.watchesWrites()) {
      supervisor.setNow(now);
      supervisor.afterWrite(address, width);
    }
  }

  // ---- arithmetic with choices ----

  private void check(int pc, long condition) {
    if (condition == 0) {
      Op.Claim claim = Op.CLAIMS.get(code.a[pc]);
      String message = claim.message();
      if (choices.failedAssert() == ImplementerChoices.AssertReaction.FAULT) {
        throw new StepFailure(claim.code(), message, false);
      }
      supervisor.setNow(now);
      events.report(pc, ordinal, message);
    }
  }

  // ---- locks ----

  private void setLock(int pc, int slot, long value) {
    if (writes) {
      noteWrite(pc, slot, memory.slots[slot], value);
    }
    memory.slots[slot] = value;
  }

  private boolean take(TaskState task, int pc, long address, int kind) {
    Operations.checkNull(address);
    int slot = (int) address;
    long now0 = memory.slots[slot];
    if (kind == 0 ? now0 != 0 : now0 <= 0) {
      return false;
    }
    setLock(pc, slot, kind == 0 ? task.index + 1 : now0 - 1);
    return true;
  }

  /** True when the running task makes way for the one that got the lock. */
  private boolean give(TaskState task, int pc, long address, int kind) {
    Operations.checkNull(address);
    int slot = (int) address;
    long held = memory.slots[slot];
    if (kind == 0 && held != task.index + 1) {
      throw held == 0 ? new StepFailure("fault/lock-free", "the lock that is given back is not held", false)
          : new StepFailure("fault/lock-owner", "the lock that is given back is held by another task", false);
    }
    if (kind == 1 && held >= 0xFFFF_FFFFL) {
      throw new StepFailure("fault/lock-free", "more permits are given back than UDINT can count", false);
    }
    supervisor.setNow(now);
    int heir = supervisor.heir(address);
    if (kind == 0) {
      setLock(pc, slot, heir + 1);
    } else if (heir < 0) {
      setLock(pc, slot, held + 1);
    }
    return heir >= 0 && supervisor.yields();
  }

  // ---- strings and aggregates ----

  private void copyText(long target, long source, int capacity, int kind, int pc) {
    Operations.checkNull(target);
    Operations.checkNull(source);
    noteText(pc, source);
    int n = memory.textLength((int) source);
    charge(n * 8L >>> 6);
    if (n > capacity && !cutTexts) {
      throw new StepFailure("fault/string-length", "a string of " + n + " characters does not fit into " + capacity, false);
    }
    long before = memory.slots[(int) target];
    memory.copyText((int) target, (int) source, kind, capacity);
    if (writes) {
      noteWrite(pc, target, before, memory.slots[(int) target]);
    }
  }

  private void convertText(long target, long source, int capacity, int kinds, int pc) {
    int from = kinds & 255;
    int to = kinds >> 8;
    int n = memory.textLength((int) source);
    charge(n);
    if (n > capacity && !cutTexts) {
      throw new StepFailure("fault/string-length", "a string of " + n + " characters does not fit into " + capacity, false);
    }
    int limit = Arith.kind(to) == ElementaryType.STRING ? 0xFF : Arith.kind(to) == ElementaryType.WSTRING ? 0xFFFF : 0x10FFFF;
    for (int i = 0; i < Math.min(n, capacity); i++) {
      if (memory.textUnit((int) source, from, i) > limit) {
        throw new StepFailure("fault/conversion", "character " + (i + 1) + " of the string has no code in " + Arith.kind(to), false);
      }
    }
    memory.clearText((int) target, to, capacity);
    for (int i = 0; i < Math.min(n, capacity); i++) {
      memory.setTextUnit((int) target, to, i, memory.textUnit((int) source, from, i));
    }
    memory.slots[(int) target] = Math.min(n, capacity);
    if (writes) {
      noteWrite(pc, target, 0, memory.slots[(int) target]);
    }
  }

  private void textOfChar(long target, long character, int capacity, int kind, int pc) {
    memory.clearText((int) target, kind, capacity);
    memory.setTextUnit((int) target, kind, 0, (int) character);
    memory.slots[(int) target] = 1;
    if (writes) {
      noteWrite(pc, target, 0, 1);
    }
  }

  private long charAt(int pc, long text, long index, int kind) {
    Operations.checkNull(text);
    noteText(pc, text);
    int n = memory.textLength((int) text);
    if (index < 1 || index > n) {
      throw new StepFailure("fault/string-position", "position " + index + " is outside 1.." + n, false);
    }
    return memory.textUnit((int) text, kind, (int) index - 1);
  }

  private void putChar(long text, long index, long character, int kind, int pc) {
    Operations.checkNull(text);
    noteText(pc, text);
    int n = memory.textLength((int) text);
    if (index < 1 || index > n) {
      throw new StepFailure("fault/string-position", "position " + index + " is outside 1.." + n, false);
    }
    memory.setTextUnit((int) text, kind, (int) index - 1, (int) character);
    if (writes) {
      noteWrite(pc, text, n, n);
    }
  }

  private static long element(long address, int index, int kind) {
    return address + (long) index * (Address.isLocated(address) ? WIDTHS[kind] : 1);
  }

  private void copy(long target, long source, int count, int kind, int pc) {
    Operations.checkNull(target);
    Operations.checkNull(source);
    charge(count / 2);
    if (Address.isLocated(target) || Address.isLocated(source)) {
      for (int i = 0; i < count; i++) {
        storeAt(pc, element(target, i, kind), kind, loadAt(pc, element(source, i, kind), kind));
      }
      return;
    }
    noteText(pc, source);
    if (writes) {
      for (int i = 0; i < count; i++) {
        noteWrite(pc, target + i, memory.slots[(int) target + i], memory.slots[(int) source + i]);
      }
    }
    System.arraycopy(memory.slots, (int) source, memory.slots, (int) target, count);
  }

  private void clear(int pc, int start, int count) {
    if (writes) {
      for (int i = start; i < start + count; i++) {
        noteWrite(pc, i, 64, memory.slots[i], 0, Source.INITIALIZATION);
      }
    }
    Arrays.fill(memory.slots, start, start + count, 0);
  }

  /** Bulk work counts as steps, against the same budget. */
  private void charge(long steps) {
    if (steps > 0) {
      extraSteps += (int) Math.min(steps, Integer.MAX_VALUE / 2);
    }
  }

  /** Steps charged by the present step; each costs what the step costs. */
  private int takeExtra(int operation) {
    int n = extraSteps;
    extraSteps = 0;
    now += n * costs[operation];
    return n;
  }

  // ---- calls ----

  private void push(TaskState task, int pc, int self, int frame) {
    if (task.depth >= limits.callDepth()) {
      throw StepFailure.callDepth(limits.callDepth());
    }
    int r = task.depth * 3;
    if (r + 3 > task.calls.length) {
      task.growCalls();
    }
    task.calls[r] = pc;
    task.calls[r + 1] = self;
    task.calls[r + 2] = frame;
    task.depth++;
  }

  private int enter(TaskState task, int frame, int body) {
    if (body < 0) {
      throw StepFailure.noBody();
    }
    if (frame + bodyFrame[body] > memory.frameBase(task.index) + code.memory().frameSlots()) {
      throw new StepFailure("fault/call-depth", "the nested calls need more memory than was planned for them", true);
    }
    return frame;
  }

  private void callNative(TaskState task, int pc, int number, int frame) {
    Code.Native body = natives[number];
    try {
      charge(nativeFrame.call(body, frame, pc, reads, writes));
    } catch (BodyFault f) {
      throw f;
    } catch (RuntimeException e) {
      throw new StepFailure("fault/library", "the library body " + body.name() + " failed: " + e, false);
    }
  }

  private void guard(TaskState task, int handler, int sp) {
    int g = task.guardCount * 3;
    if (g + 3 > task.guards.length) {
      task.guards = Arrays.copyOf(task.guards, task.guards.length * 2);
    }
    task.guards[g] = handler;
    task.guards[g + 1] = task.depth;
    task.guards[g + 2] = sp;
    task.guardCount++;
  }

  private long typeTest(long instance, int set) {
    if (instance == Address.NULL) {
      return instance;
    }
    int type = (int) memory.slots[(int) instance];
    int[] members = code.typeSets().get(set);
    return type >> 5 < members.length && (members[type >> 5] >>> (type & 31) & 1) != 0 ? instance : Address.NULL;
  }
}
