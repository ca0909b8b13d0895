package dev.scanloom.policy;

/**
 * Whether a task may start between two steps of another one (IEC 61131-3 Table 63, features 5a and 5b). A value without state of its own, immutable
 * and safe for use by several threads.
 */
public interface TaskSwitching {

  /**
   * Whether a task that has become due interrupts the one that runs.
   *
   * @param running priority of the task that runs; 0 is the highest
   * @param due priority of the task that has become due
   */
  boolean preempts(int running, int due);

  /** A task that has begun is finished first. */
  static TaskSwitching nonPreemptive() {
    return Switching.NON_PREEMPTIVE;
  }

  /** A task of higher priority starts at once, between two steps. */
  static TaskSwitching preemptive() {
    return Switching.PREEMPTIVE;
  }
}
