package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Code;
import java.util.Arrays;

/**
 * Where one task stands: operand stack, frames, next step. Everything needed to stop between any two steps and go on later. Confined to the
 * controller's thread.
 */
public final class TaskState {
  /** Number of the task among those that have frames in memory. */
  final int index;
  final long[] stack;
  int sp;
  int pc = -1;
  int self;
  int frame;
  /** Return records: step, self, frame. */
  int[] calls;
  int depth;
  /** Guards: handler step, call depth, stack height. */
  int[] guards = new int[12];
  int guardCount;
  long activation;
  long stepsUsed;
  /** Address of the lock that it waits for, and whether that is a mutex. */
  long waitsFor;
  boolean waitsForMutex;

  public TaskState(Memory memory, int index, int callDepth) {
    Code.MemoryPlan plan = memory.code().memory();
    this.index = index;
    this.stack = new long[plan.stackDepth() + 8];
    this.calls = new int[3 * Math.min(callDepth + 1, 16)];
  }

  /** Not between start and end of a body. */
  public boolean isIdle() {
    return pc < 0;
  }

  /** Started, but no step executed. */
  public boolean isFresh() {
    return pc >= 0 && stepsUsed == 0;
  }

  /** Number of the task among those that have frames in memory. */
  public int index() {
    return index;
  }

  /** Next step, -1 when idle. */
  public int pc() {
    return pc;
  }

  /** Address of the lock that it waits for; 0 when it does not wait. */
  public long waitsFor() {
    return waitsFor;
  }

  public boolean waitsForMutex() {
    return waitsForMutex;
  }

  /** It has been given what it waited for. */
  public void waitIsOver() {
    waitsFor = 0;
  }

  /** Steps executed since the task was last started. */
  public long stepsUsed() {
    return stepsUsed;
  }

  /** Virtual time at which the task was last started. */
  public long activation() {
    return activation;
  }

  /** Drops everything in progress. */
  public void abandon() {
    pc = -1;
    sp = 0;
    depth = 0;
    guardCount = 0;
    waitsFor = 0;
  }

  /**
   * Puts the task in the middle of a body, for {@link SteppingExecutor#stretch}; the operand stack is empty, {@code callDepth} calls are
   * open.
   */
  public void enter(int step, int instance, int frameStart, int callDepth, long activationTime, long steps) {
    abandon();
    pc = step;
    self = instance;
    frame = frameStart;
    while (3 * callDepth + 3 > calls.length) {
      growCalls();
    }
    depth = callDepth;
    activation = activationTime;
    stepsUsed = steps;
  }

  /** Pushes an operand. */
  public void push(long value) {
    stack[sp++] = value;
  }

  /** Takes the topmost operand. */
  public long pop() {
    return stack[--sp];
  }

  /** Number of operands. */
  public int height() {
    return sp;
  }

  /** A copy for a snapshot. */
  public TaskState copy() {
    return new TaskState(this);
  }

  private TaskState(TaskState o) {
    index = o.index;
    stack = o.stack.clone();
    calls = o.calls.clone();
    guards = o.guards.clone();
    assign(o);
  }

  /** Takes over the state of a copy made earlier of the same task. */
  public void restore(TaskState o) {
    System.arraycopy(o.stack, 0, stack, 0, stack.length);
    calls = o.calls.clone();
    guards = o.guards.clone();
    assign(o);
  }

  private void assign(TaskState o) {
    sp = o.sp;
    pc = o.pc;
    self = o.self;
    frame = o.frame;
    depth = o.depth;
    guardCount = o.guardCount;
    activation = o.activation;
    stepsUsed = o.stepsUsed;
    waitsFor = o.waitsFor;
    waitsForMutex = o.waitsForMutex;
  }

  void growCalls() {
    calls = Arrays.copyOf(calls, calls.length * 2);
  }
}
