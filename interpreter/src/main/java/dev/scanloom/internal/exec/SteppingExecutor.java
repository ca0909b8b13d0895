package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.policy.Limits;
import java.util.Optional;

/** Walks the list of steps; can stop between any two of them. Confined to the controller's thread. */
public final class SteppingExecutor {
  /** How a run of a task ended. */
  public enum Outcome {
    /** The body has returned. */
    DONE,
    /** The supervisor stopped it between two steps; run it again to go on. */
    PAUSED,
    /** A step failed; see {@link #fault()}. */
    FAULTED
  }

  private final Memory memory;
  private final Supervisor supervisor;
  private final EventSink events;
  private final Limits limits;

  /** {@code costs}: virtual nanoseconds of each operation, by ordinal of Op. */
  public SteppingExecutor(Memory memory, Supervisor supervisor, EventSink events, Limits limits, long[] costs) {
    this.memory = memory;
    this.supervisor = supervisor;
    this.events = events;
    this.limits = limits;
  }

  /** Puts a task at the start of a body. {@code activation}: the virtual time that timers read. */
  public void start(TaskState task, int body, int self, long activation) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Runs a task until its body returns, the supervisor stops it, or a step fails. {@code maxSteps}: at most so many steps, then PAUSED. */
  public Outcome run(TaskState task, long maxSteps) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The fault of the last run that ended FAULTED. */
  public Optional<StepFault> fault() {
    return Optional.empty();
  }
}
