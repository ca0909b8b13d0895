package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.exec.StepFault;
import dev.scanloom.internal.exec.SteppingExecutor;
import dev.scanloom.internal.exec.Supervisor;
import dev.scanloom.internal.exec.TaskState;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.policy.Limits;
import java.util.Optional;

/**
 * Runs whole bodies as JVM code. Equal to the stepping executor in values, faults, places and steps used, at the points where it can be observed: the end of a
 * body, reads and writes of locations that the supervisor watches, faults. Confined to the controller's thread.
 */
public final class CompiledExecutor {
  private final CompiledCode compiled;
  private final Memory memory;
  private final Run run;
  private StepFault fault;

  /**
   * @param stepping executes single steps that have no translation
   * @param stepCost virtual nanoseconds of every step
   */
  public CompiledExecutor(
      CompiledCode compiled, Memory memory, Supervisor supervisor, SteppingExecutor stepping, Limits limits, long stepCost) {
    this.compiled = compiled;
    this.memory = memory;
    this.run = new Run(memory, compiled, supervisor, stepping, new TaskState(memory, 0, limits.callDepth()), limits, stepCost);
  }

  /** Runs a body of a task to its end. False: a step failed, see {@link #fault()}. */
  public boolean run(int task, int body, int self, long activation) {
    fault = null;
    run.begin(activation);
    try {
      run.steps = compiled.entry().run(body, memory.slots, self, memory.frameBase(task), run);
      run.settle();
      return true;
    } catch (CompiledFault f) {
      fault = new StepFault(f.code(), f.getMessage(), f.step(), f.ordinal(), f.userStep);
      run.steps = f.used();
      run.settle();
      return false;
    }
  }

  /** What can be compiled, as {@link CompiledCode#inUse()} says. */
  public String inUse() {
    return compiled.inUse();
  }

  /** Steps used by the last run. */
  public long steps() {
    return run.steps;
  }

  /** The fault of the last run that failed. */
  public Optional<StepFault> fault() {
    return Optional.ofNullable(fault);
  }
}
