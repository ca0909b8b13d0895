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

  /**
   * Whether a task that holds a mutex has, as long as a more urgent one waits for it, the priority of that one (priority inheritance). Without it a task of
   * middle priority can keep an urgent one waiting for as long as it likes, by keeping the holder of the lock from going on (priority inversion). Source: L. Sha,
   * R. Rajkumar, J. P. Lehoczky, Priority Inheritance Protocols, IEEE Transactions on Computers 39(9), 1990 (from memory); the standard says nothing of it.
   */
  default boolean inheritsPriority() {
    return false;
  }

  /** A task that has begun is finished first. */
  static TaskSwitching nonPreemptive() {
    return Switching.NON_PREEMPTIVE;
  }

  /** A task of higher priority starts at once, between two steps. */
  static TaskSwitching preemptive() {
    return Switching.PREEMPTIVE;
  }

  /** The same with priority inheritance; see {@link #inheritsPriority()}. */
  static TaskSwitching preemptiveWithInheritance() {
    return Switching.INHERITING;
  }
}
