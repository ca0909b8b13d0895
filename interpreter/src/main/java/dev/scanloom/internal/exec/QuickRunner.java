package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Extent;
import dev.scanloom.internal.step.OpNumber;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.Limits;

/**
 * Runs condensed code while nobody wants to look between its steps. It stops, always between two steps and with everything as the steps
 * would have left it, where the next stretch might use up the steps or reach the deadline, at steps that have no condensed form, and before
 * an operation that gives up.
 */
public final class QuickRunner {
  /** What {@link #run} returns when the body has returned. */
  static final int DONE = 0;

  private final Condensed condensed;
  private final Condensed.Prices prices;
  private final Memory memory;
  private final Code code;
  private final Pure pure;
  private final int callDepth;
  private final int[] bodyEntry;
  private final int[] bodyFrame;
  private final boolean watchesReads;
  private final boolean watchesWrites;
  private final boolean[] tests;
  private final boolean[] powers;
  /** First slot by base: none, instance, frame, tail. */
  private final int[] base = new int[4];
  /** By slot; empty when nothing is watched. */
  private final boolean[] watched;
  private final boolean watchesLocations;
  /** Virtual time; set before a run, read behind it. */
  long now;
  private StretchCode translated;
  /** Nothing is to be translated any more. */
  private boolean settled;

  // Of the run in progress; translated stretches hold some of it in local variables between their first and their last operation.
  public int left;
  public long time;
  public long deadline;
  /** Over the writes, where they are recorded. */
  public long digest;
  private TaskState task;
  private int fuel;
  private int bottom;
  private int walk;
  /** Operation that an exception belongs to. */
  private int failing;

  QuickRunner(Condensed condensed, int[] bodyFrame, Memory memory, Pure pure, Limits limits, long[] costs, Form form, boolean[] tests, boolean[] powers) {
    this.condensed = condensed;
    this.prices = condensed.prices(costs);
    this.memory = memory;
    this.code = memory.code();
    this.pure = pure;
    this.callDepth = limits.callDepth();
    this.bodyEntry = condensed.bodyEntry;
    this.bodyFrame = bodyFrame;
    this.watchesReads = form.reads();
    this.watchesWrites = form.writes();
    this.watchesLocations = form.seesLocations();
    this.watched = new boolean[form.watched().isEmpty() ? 0 : memory.slots.length];
    for (Extent w : form.watched()) {
      if (!Address.isLocated(w.address())) {
        watched[(int) w.address()] = true;
      }
    }
    this.tests = tests;
    this.powers = powers;
    base[Quick.TAIL] = memory.tail();
  }

  /** A stretch begins at the step. */
  boolean canStart(int pc) {
    return condensed.entry[pc] >= 0;
  }

  /**
   * Steps from one that is walked to where a stretch may begin: behind a jump, call or return, or where the next one stands; at least 1.
   */
  int distance(int pc) {
    int[] entry = condensed.entry;
    int at = pc;
    do {
      switch (code.op[at++]) {
        case OpNumber.JUMP, OpNumber.JUMP_FALSE, OpNumber.JUMP_TRUE, OpNumber.CALL, OpNumber.CALL_ON, OpNumber.CALL_DYNAMIC, OpNumber.RETURN -> {
          return at - pc;
        }
        default -> {
          // goes on with the next step
        }
      }
    } while (at < entry.length && entry[at] < 0);
    return at - pc;
  }

  private static int at(int[] base, int operand) {
    return base[operand & 3] + (operand >> 2);
  }

  private static double lreal(long[] m, int[] base, int operand) {
    return Double.longBitsToDouble(m[at(base, operand)]);
  }

  private static float real(long[] m, int[] base, int operand) {
    return Float.intBitsToFloat((int) m[at(base, operand)]);
  }

  /**
   * Runs from a step at which a stretch begins, at most {@code fuel} steps.
   *
   * @return steps to be walked before running again, or {@link #DONE}
   */
  int run(TaskState runs, int steps, long until) {
    task = runs;
    fuel = steps;
    left = steps;
    time = now;
    deadline = until;
    base[Quick.SELF] = runs.self;
    base[Quick.FRAME] = runs.frame;
    bottom = runs.sp - condensed.height[runs.pc];
    int at = condensed.entry[runs.pc];
    try {
      if (translated != null) {
        runTranslated(at);
      } else {
        interpret(at);
      }
    } catch (Arith.Failure | StepFailure e) {
      // What is wrong the walk says, with its place.
      giveUp(failing);
    }
    return walk;
  }

  /** From now on by JVM code; null: there is none. */
  void translate(StretchCode code) {
    translated = code;
    settled = true;
  }

  boolean isSettled() {
    return settled;
  }

  private void runTranslated(int begin) {
    final long[] m = memory.slots;
    final StretchCode c = translated;
    final int[] f = condensed.f;
    int ip = begin;
    while (ip >= 0) {
      ip = f[ip] == Quick.WALK ? walk(ip) : c.run(c.part(ip), ip, this, m);
    }
  }

  // ---- for translated stretches ----

  public int self() {
    return base[Quick.SELF];
  }

  public int frame() {
    return base[Quick.FRAME];
  }

  /** Per stretch, its price; per exit, what it saves. */
  public long[] prices() {
    return prices.stretch;
  }

  public long[] savings() {
    return prices.saved;
  }

  public boolean[] tests() {
    return tests;
  }

  public boolean[] powers() {
    return powers;
  }

  public byte[] area(int number) {
    return memory.areas[number];
  }

  /** The stretch that begins here may use up the steps or reach the deadline. */
  public int stop(int at) {
    int stretch = condensed.f[at + 2];
    return leave(condensed.steps[condensed.stretchStart[stretch]], condensed.f[at + 1]);
  }

  /** The steps that begin here have no condensed form. */
  private int walk(int at) {
    return leave(condensed.f[at + 1], condensed.f[at + 2]);
  }

  /** The operation gives up. */
  public int giveUp(int at) {
    int i = condensed.bail(at);
    int stretch = condensed.bailStretch[i];
    int end = stretch + 1 < condensed.stretchStart.length ? condensed.stretchStart[stretch + 1] : condensed.steps.length;
    left += end - condensed.stretchStart[stretch] - condensed.bailBefore[i];
    time -= prices.givenUp[i];
    return leave(condensed.bailStep[i], distance(condensed.bailStep[i]));
  }

  /** Stops before a step; {@code steps}: how many are to be walked there. */
  private int leave(int pc, int steps) {
    task.pc = pc;
    task.sp = steps == DONE ? bottom : bottom + condensed.height[pc];
    task.self = base[Quick.SELF];
    task.frame = base[Quick.FRAME];
    task.stepsUsed += fuel - left;
    now = time;
    walk = steps;
    return StretchCode.LEFT;
  }

  /** Leaves a stretch before its end. {@code operands}: index of the target, steps that are not executed, exit. */
  private int leap(int operands) {
    final int[] f = condensed.f;
    left += f[operands + 1];
    time -= prices.saved[f[operands + 2]];
    return f[operands];
  }

  /** Enters a body, or gives up. */
  public int call(long address, int body, int frameSlots, int pc, int at) {
    int frame = base[Quick.FRAME] + frameSlots;
    int r = 3 * task.depth;
    if (address == Address.NULL || body < 0 || task.depth >= callDepth || r + 3 > task.calls.length
        || frame + bodyFrame[body] > memory.frameBase(task.index) + code.memory().frameSlots()) {
      return giveUp(at);
    }
    task.calls[r] = pc;
    task.calls[r + 1] = base[Quick.SELF];
    task.calls[r + 2] = base[Quick.FRAME];
    task.depth++;
    bottom += condensed.height[pc];
    base[Quick.SELF] = (int) address;
    base[Quick.FRAME] = frame;
    return bodyEntry[body];
  }

  /** Returns from a body. */
  public int back() {
    if (task.depth == 0) {
      return leave(-1, DONE);
    }
    int r = 3 * --task.depth;
    int pc = task.calls[r];
    base[Quick.SELF] = task.calls[r + 1];
    base[Quick.FRAME] = task.calls[r + 2];
    bottom -= condensed.height[pc];
    return condensed.entry[pc];
  }

  public long activation() {
    return task.activation;
  }

  public long stacked(int position) {
    return task.stack[bottom + position];
  }

  public void stack(int position, long value) {
    task.stack[bottom + position] = value;
  }

  /** What {@link #unary} and {@link #binary} belong to, should they fail. */
  public void at(int operation, int stepsLeft, long moment) {
    failing = operation;
    left = stepsLeft;
    time = moment;
  }

  public long unary(long x, int operation, int a, int b) {
    return pure.unary(operation, a, b, x);
  }

  public long binary(long x, long y, int operation, int a, int b) {
    return pure.binary(operation, a, b, x, y);
  }

  /** An address that is no slot cannot be read here. */
  public boolean isClosed(long address) {
    return isForWalking(address, watchesReads, 1);
  }

  public boolean isLocked(long address) {
    return watchesLocations || isForWalking(address, watchesWrites, 2);
  }

  public boolean[] watched() {
    return watched;
  }

  /** Somebody wants to see writes there; a location is dealt with where it is written. */
  public boolean isWatched(long address) {
    return address > 0 && address < watched.length && watched[(int) address];
  }

  public long read(long address, int kind) {
    return memory.read(address, kind);
  }

  public void write(long address, int kind, long value) {
    memory.write(address, kind, value);
  }

  private void interpret(int begin) {
    final int[] f = condensed.f;
    final long[] m = memory.slots;
    final int[] b = base;
    int ip = begin;
    while (ip >= 0) {
      switch (f[ip]) {
        case Quick.HEAD -> {
          int n = f[ip + 1];
          long after = time + prices.stretch[f[ip + 2]];
          if (n > left || after >= deadline) {
            ip = stop(ip);
          } else {
            left -= n;
            time = after;
            ip += 3;
          }
        }
        case Quick.WALK -> ip = walk(ip);
        case Quick.GOTO -> ip = f[ip + 1];
        case Quick.MOVE -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])];
          ip += 3;
        }
        case Quick.GATES -> ip = gates(f, ip, m, b);
        case Quick.MARKED -> ip = marked(f, ip, m, b);
        case Quick.BITS_IN -> ip = bitsIn(f, ip, m, b);
        case Quick.BITS_OUT -> ip = bitsOut(f, ip, m, b);
        case Quick.JUMP_ZERO -> ip = m[at(b, f[ip + 1])] == 0 ? leap(ip + 2) : ip + 5;
        case Quick.JUMP_NOT_ZERO -> ip = m[at(b, f[ip + 1])] != 0 ? leap(ip + 2) : ip + 5;
        case Quick.JUMP_LT -> ip = m[at(b, f[ip + 1])] < m[at(b, f[ip + 2])] ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_LE -> ip = m[at(b, f[ip + 1])] <= m[at(b, f[ip + 2])] ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_EQ -> ip = m[at(b, f[ip + 1])] == m[at(b, f[ip + 2])] ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_NE -> ip = m[at(b, f[ip + 1])] != m[at(b, f[ip + 2])] ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_LT_LREAL -> ip = lreal(m, b, f[ip + 1]) < lreal(m, b, f[ip + 2]) ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_LE_LREAL -> ip = lreal(m, b, f[ip + 1]) <= lreal(m, b, f[ip + 2]) ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_EQ_LREAL -> ip = lreal(m, b, f[ip + 1]) == lreal(m, b, f[ip + 2]) ? leap(ip + 3) : ip + 6;
        case Quick.JUMP_NOT_LT_LREAL -> ip = lreal(m, b, f[ip + 1]) < lreal(m, b, f[ip + 2]) ? ip + 6 : leap(ip + 3);
        case Quick.JUMP_NOT_LE_LREAL -> ip = lreal(m, b, f[ip + 1]) <= lreal(m, b, f[ip + 2]) ? ip + 6 : leap(ip + 3);
        case Quick.JUMP_NOT_EQ_LREAL -> ip = lreal(m, b, f[ip + 1]) == lreal(m, b, f[ip + 2]) ? ip + 6 : leap(ip + 3);
        case Quick.ADD -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] + m[at(b, f[ip + 3])] << s >> s;
          ip += 5;
        }
        case Quick.SUB -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] - m[at(b, f[ip + 3])] << s >> s;
          ip += 5;
        }
        case Quick.MUL -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] * m[at(b, f[ip + 3])] << s >> s;
          ip += 5;
        }
        case Quick.ADD_UNSIGNED -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] + m[at(b, f[ip + 3])] << s >>> s;
          ip += 5;
        }
        case Quick.SUB_UNSIGNED -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] - m[at(b, f[ip + 3])] << s >>> s;
          ip += 5;
        }
        case Quick.MUL_UNSIGNED -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] * m[at(b, f[ip + 3])] << s >>> s;
          ip += 5;
        }
        case Quick.DIV -> {
          long y = m[at(b, f[ip + 3])];
          if (y == 0 || y == -1) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] / y;
          ip += 4;
        }
        case Quick.MOD -> {
          long y = m[at(b, f[ip + 3])];
          if (y == 0) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] % y;
          ip += 4;
        }
        case Quick.AND -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] & m[at(b, f[ip + 3])];
          ip += 4;
        }
        case Quick.OR -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] | m[at(b, f[ip + 3])];
          ip += 4;
        }
        case Quick.XOR -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] ^ m[at(b, f[ip + 3])];
          ip += 4;
        }
        case Quick.NOT -> {
          int s = f[ip + 3];
          m[at(b, f[ip + 1])] = ~m[at(b, f[ip + 2])] << s >>> s;
          ip += 4;
        }
        case Quick.SHIFT_RIGHT -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] >>> f[ip + 3];
          ip += 4;
        }
        case Quick.SHIFT_LEFT -> {
          int s = f[ip + 4];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] << f[ip + 3] << s >>> s;
          ip += 5;
        }
        case Quick.CUT_SIGNED -> {
          int s = f[ip + 3];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] << s >> s;
          ip += 4;
        }
        case Quick.CUT_UNSIGNED -> {
          int s = f[ip + 3];
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] << s >>> s;
          ip += 4;
        }
        case Quick.FIT_SIGNED -> {
          int s = f[ip + 3];
          long x = m[at(b, f[ip + 2])];
          if (x << s >> s != x) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = x;
          ip += 4;
        }
        case Quick.FIT_UNSIGNED -> {
          int s = f[ip + 3];
          long x = m[at(b, f[ip + 2])];
          if (x << s >>> s != x) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = x;
          ip += 4;
        }
        case Quick.TO_LREAL -> {
          m[at(b, f[ip + 1])] = Arith.lreal((double) m[at(b, f[ip + 2])]);
          ip += 3;
        }
        case Quick.TO_REAL -> {
          m[at(b, f[ip + 1])] = Arith.real((float) m[at(b, f[ip + 2])]);
          ip += 3;
        }
        case Quick.REAL_TO_LREAL -> {
          m[at(b, f[ip + 1])] = Arith.lreal((double) real(m, b, f[ip + 2]));
          ip += 3;
        }
        case Quick.ADD_LREAL -> {
          m[at(b, f[ip + 1])] = Arith.lreal(lreal(m, b, f[ip + 2]) + lreal(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.SUB_LREAL -> {
          m[at(b, f[ip + 1])] = Arith.lreal(lreal(m, b, f[ip + 2]) - lreal(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.MUL_LREAL -> {
          m[at(b, f[ip + 1])] = Arith.lreal(lreal(m, b, f[ip + 2]) * lreal(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.DIV_LREAL -> {
          double y = lreal(m, b, f[ip + 3]);
          if (y == 0) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = Arith.lreal(lreal(m, b, f[ip + 2]) / y);
          ip += 4;
        }
        case Quick.ADD_REAL -> {
          m[at(b, f[ip + 1])] = Arith.real(real(m, b, f[ip + 2]) + real(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.SUB_REAL -> {
          m[at(b, f[ip + 1])] = Arith.real(real(m, b, f[ip + 2]) - real(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.MUL_REAL -> {
          m[at(b, f[ip + 1])] = Arith.real(real(m, b, f[ip + 2]) * real(m, b, f[ip + 3]));
          ip += 4;
        }
        case Quick.LT -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] < m[at(b, f[ip + 3])] ? 1 : 0;
          ip += 4;
        }
        case Quick.LE -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] <= m[at(b, f[ip + 3])] ? 1 : 0;
          ip += 4;
        }
        case Quick.EQ -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] == m[at(b, f[ip + 3])] ? 1 : 0;
          ip += 4;
        }
        case Quick.LT_LREAL -> {
          m[at(b, f[ip + 1])] = lreal(m, b, f[ip + 2]) < lreal(m, b, f[ip + 3]) ? 1 : 0;
          ip += 4;
        }
        case Quick.LE_LREAL -> {
          m[at(b, f[ip + 1])] = lreal(m, b, f[ip + 2]) <= lreal(m, b, f[ip + 3]) ? 1 : 0;
          ip += 4;
        }
        case Quick.EQ_LREAL -> {
          m[at(b, f[ip + 1])] = lreal(m, b, f[ip + 2]) == lreal(m, b, f[ip + 3]) ? 1 : 0;
          ip += 4;
        }
        case Quick.MAX -> {
          m[at(b, f[ip + 1])] = Math.max(m[at(b, f[ip + 2])], m[at(b, f[ip + 3])]);
          ip += 4;
        }
        case Quick.MIN -> {
          m[at(b, f[ip + 1])] = Math.min(m[at(b, f[ip + 2])], m[at(b, f[ip + 3])]);
          ip += 4;
        }
        case Quick.SELECT -> {
          m[at(b, f[ip + 1])] = m[at(b, m[at(b, f[ip + 2])] != 0 ? f[ip + 4] : f[ip + 3])];
          ip += 5;
        }
        case Quick.BITS_GET -> {
          m[at(b, f[ip + 1])] = Operations.part(m[at(b, f[ip + 2])], f[ip + 3], f[ip + 4]);
          ip += 5;
        }
        case Quick.BITS_PUT -> {
          m[at(b, f[ip + 1])] = Operations.withPart(m[at(b, f[ip + 2])], m[at(b, f[ip + 3])], f[ip + 4], f[ip + 5]);
          ip += 6;
        }
        case Quick.LOAD_ELEMENT -> {
          long i = m[at(b, f[ip + 3])];
          int bounds = f[ip + 4];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1]) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2]) + (int) (i - pool[bounds]) * (int) pool[bounds + 2] + f[ip + 5]];
          ip += 6;
        }
        case Quick.STORE_ELEMENT -> {
          long i = m[at(b, f[ip + 2])];
          int bounds = f[ip + 3];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1]) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1]) + (int) (i - pool[bounds]) * (int) pool[bounds + 2] + f[ip + 4]] = m[at(b, f[ip + 5])];
          ip += 6;
        }
        case Quick.ADDRESS_ELEMENT -> {
          long i = m[at(b, f[ip + 3])];
          int bounds = f[ip + 4];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1]) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = at(b, f[ip + 2]) + (i - pool[bounds]) * pool[bounds + 2] + f[ip + 5];
          ip += 6;
        }
        case Quick.ADDRESS_INDEX -> {
          long i = m[at(b, f[ip + 3])];
          int bounds = f[ip + 4];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1]) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = Operations.index(pool, m[at(b, f[ip + 2])], i, bounds) + f[ip + 5];
          ip += 6;
        }
        case Quick.LOAD_THROUGH -> {
          long address = m[at(b, f[ip + 2])] + f[ip + 3];
          if (address >>> 32 != 0 || address == 0) {
            if (isClosed(address)) {
              giveUp(ip);
              return;
            }
            m[at(b, f[ip + 1])] = memory.read(address, f[ip + 4]);
          } else {
            m[at(b, f[ip + 1])] = m[(int) address];
          }
          ip += 5;
        }
        case Quick.STORE_THROUGH -> {
          long address = m[at(b, f[ip + 1])] + f[ip + 2];
          if (address >>> 32 != 0 || address == 0) {
            if (isLocked(address)) {
              giveUp(ip);
              return;
            }
            memory.write(address, f[ip + 3], m[at(b, f[ip + 4])]);
          } else {
            m[(int) address] = m[at(b, f[ip + 4])];
          }
          ip += 5;
        }
        case Quick.CHECK_NULL -> ip = m[at(b, f[ip + 1])] == Address.NULL ? giveUp(ip) : ip + 2;
        case Quick.OFFSET -> {
          m[at(b, f[ip + 1])] = m[at(b, f[ip + 2])] + f[ip + 3];
          ip += 4;
        }
        case Quick.LOAD_LOCATED_ELEMENT -> {
          long i = m[at(b, f[ip + 4])];
          int bounds = f[ip + 5];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1] || isClosed(pool[f[ip + 2]])) {
            giveUp(ip);
            return;
          }
          m[at(b, f[ip + 1])] = memory.read(pool[f[ip + 2]] + f[ip + 3] + (i - pool[bounds]) * pool[bounds + 3], f[ip + 6]);
          ip += 7;
        }
        case Quick.STORE_LOCATED_ELEMENT -> {
          long i = m[at(b, f[ip + 3])];
          int bounds = f[ip + 4];
          long[] pool = code.pool;
          if (i < pool[bounds] || i > pool[bounds + 1] || isLocked(pool[f[ip + 1]])) {
            giveUp(ip);
            return;
          }
          memory.write(pool[f[ip + 1]] + f[ip + 2] + (i - pool[bounds]) * pool[bounds + 3], f[ip + 5], m[at(b, f[ip + 6])]);
          ip += 7;
        }
        case Quick.LOAD_LOCATED -> {
          m[at(b, f[ip + 1])] = memory.read(code.pool[f[ip + 2]] + f[ip + 3], f[ip + 4]);
          ip += 5;
        }
        case Quick.STORE_LOCATED -> {
          memory.write(code.pool[f[ip + 1]] + f[ip + 2], f[ip + 3], m[at(b, f[ip + 4])]);
          ip += 5;
        }
        case Quick.ADDRESS -> {
          m[at(b, f[ip + 1])] = at(b, f[ip + 2]);
          ip += 3;
        }
        case Quick.CALL -> ip = call(b[Quick.SELF], f[ip + 1], f[ip + 2], f[ip + 3], ip);
        case Quick.CALL_AT -> ip = call(at(b, f[ip + 1]), f[ip + 2], f[ip + 3], f[ip + 4], ip);
        case Quick.CALL_ON -> ip = call(m[at(b, f[ip + 1])], f[ip + 2], f[ip + 3], f[ip + 4], ip);
        case Quick.RETURN -> ip = back();
        case Quick.TASK_TIME -> {
          m[at(b, f[ip + 1])] = task.activation;
          ip += 2;
        }
        case Quick.UNSTACK -> {
          m[at(b, f[ip + 1])] = stacked(f[ip + 2]);
          ip += 3;
        }
        case Quick.STACK -> {
          stack(f[ip + 1], m[at(b, f[ip + 2])]);
          ip += 3;
        }
        case Quick.CLEAR -> {
          int from = b[Quick.FRAME] + f[ip + 1];
          java.util.Arrays.fill(m, from, from + f[ip + 2], 0);
          ip += 3;
        }
        case Quick.RANGE -> {
          long x = m[at(b, f[ip + 1])];
          int bounds = f[ip + 2];
          if (x < code.pool[bounds] || x > code.pool[bounds + 1]) {
            giveUp(ip);
            return;
          }
          ip += 3;
        }
        case Quick.UNARY -> {
          failing = ip;
          m[at(b, f[ip + 1])] = pure.unary(f[ip + 3], f[ip + 4], f[ip + 5], m[at(b, f[ip + 2])]);
          ip += 6;
        }
        case Quick.BINARY -> {
          failing = ip;
          m[at(b, f[ip + 1])] = pure.binary(f[ip + 4], f[ip + 5], f[ip + 6], m[at(b, f[ip + 2])], m[at(b, f[ip + 3])]);
          ip += 7;
        }
        case Quick.RECORD -> ip = record(f, ip, m, b);
        case Quick.WATCH -> ip = watched[at(b, f[ip + 1])] ? giveUp(ip) : ip + 2;
        case Quick.WATCH_INDEX -> ip = m[at(b, f[ip + 1])] == f[ip + 2] ? giveUp(ip) : ip + 3;
        case Quick.WATCH_POINTER -> ip = isWatched(m[at(b, f[ip + 1])] + f[ip + 2]) ? giveUp(ip) : ip + 3;
        default -> throw new IllegalStateException("operation " + f[ip]);
        }
      }
  }

  /** NULL, or a location that the policy watches. */
  private static boolean isForWalking(long address, boolean watched, int area) {
    return !Address.isLocated(address) || watched && Address.area(address) == area;
  }

  private static int gates(int[] f, int ip, long[] m, int[] b) {
    int end = ip + 2 + 4 * f[ip + 1];
    for (int i = ip + 2; i < end; i += 4) {
      int inputs = (int) (m[at(b, f[i + 1])] << 1 | m[at(b, f[i + 2])]);
      m[at(b, f[i])] = f[i + 3] >> inputs & 1;
    }
    return end;
  }

  private int marked(int[] f, int ip, long[] m, int[] b) {
    final boolean[] t = tests;
    final boolean[] p = powers;
    int end = ip + 2 + 5 * f[ip + 1];
    for (int i = ip + 2; i < end; i += 5) {
      int y = (int) m[at(b, f[i + 2])];
      int inputs = (int) m[at(b, f[i + 1])] << 1 | y;
      int table = f[i + 3];
      int r = table >> inputs & 1;
      m[at(b, f[i])] = r;
      t[f[i + 4]] = (table >> 4 + y & 1) != 0;
      p[f[i + 4]] = r != 0;
    }
    return end;
  }

  private int record(int[] f, int ip, long[] m, int[] b) {
    int end = ip + 2 + 4 * f[ip + 1];
    long d = digest;
    for (int i = ip + 2; i < end; i += 4) {
      int a = f[i + 2];
      long address = switch (f[i + 1]) {
        case Quick.BY_SLOT -> at(b, a);
        case Quick.BY_PLACE -> Address.located(" IQM".charAt(a >>> 28), a & 0xFFF_FFFF);
        case Quick.BY_POINTER -> m[at(b, a)];
        default -> throw new IllegalStateException("way " + f[i + 1]);
      };
      d = Trace.digest(d, f[i + 3], address, m[at(b, f[i])]);
    }
    digest = d;
    return end;
  }

  private int bitsIn(int[] f, int ip, long[] m, int[] b) {
    final byte[][] areas = memory.areas;
    int end = ip + 2 + 2 * f[ip + 1];
    for (int i = ip + 2; i < end; i += 2) {
      int place = f[i + 1];
      m[at(b, f[i])] = areas[place >>> 28][(place & 0xFFF_FFFF) >>> 3] >>> (place & 7) & 1;
    }
    return end;
  }

  private int bitsOut(int[] f, int ip, long[] m, int[] b) {
    final byte[][] areas = memory.areas;
    int end = ip + 2 + 2 * f[ip + 1];
    for (int i = ip + 2; i < end; i += 2) {
      int place = f[i];
      byte[] area = areas[place >>> 28];
      int at = (place & 0xFFF_FFFF) >>> 3;
      int bit = place & 7;
      area[at] = (byte) (area[at] & ~(1 << bit) | (int) m[at(b, f[i + 1])] << bit);
    }
    return end;
  }
}
