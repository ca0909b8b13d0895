package dev.scanloom.policy;

/**
 * Whether the tasks share one process image of inputs and outputs, or work on copies of their own. A value without state of its own, asked once for
 * each task when the controller is made; immutable and safe for use by several threads. Source: common practice; the standard leaves the process image
 * to the implementer.
 *
 * <p><b>Shared</b>: one {@code %I} and one {@code %Q}. What a task, a refresh or an external writer stores is seen by every other task from its next
 * step on.
 *
 * <p><b>A copy of its own</b>, taken when the task starts and dropped when it ends; {@code %M} and all other variables stay shared
 * (but whatever the policy, a task keeps the inputs and outputs of function blocks with tasks of their own as they were when it started, and delivers at its
 * end those it has to write: the standard's rules of tasks want them of one evaluation):
 *
 * <ul>
 *   <li>At the start the inputs whose {@link InputAcquisition} takes part in refreshes are refreshed, then {@code %I} and {@code %Q} are copied. The
 *       refresh at the beginning of a scan serves the task that starts first in it.
 *   <li>Until its end the task reads and writes its copy. Refreshes, an I/O subsystem, external writes and other tasks change the shared image, which it
 *       does not see; that holds also while it is interrupted or waits for a lock, over the end of the scan if need be.
 *   <li>An access that the policy makes immediate goes through: a read first copies that terminal to the task's copy, a write drives the terminal at once.
 *   <li>At the end these bits of the copy go to the shared image, and no others: of {@code %Q} the bits that its instructions wrote, whatever the
 *       value; a byte or word that was written counts with all its bits, a bit written alone counts alone. Of {@code %I} the bits that differ from what
 *       the task began with, and those copied by immediate reads. Output terminals that take part in refreshes are driven with the written bits then;
 *       for the task that ends last in a scan the output refresh of the scan does that.
 *   <li>A task that a fault, a restart or a stop ends delivers nothing.
 *   <li>Displays, external writers and I/O subsystems see and write the shared image. A force holds in the shared image and in every copy.
 * </ul>
 *
 * <p>The address of a variable is the same everywhere. What memory holds in the middle of a scan is what the task that runs sees; observers are told of a
 * change of view as a write with {@link dev.scanloom.observe.Event.Source#TASK_IMAGE}.
 *
 * <p>With one task, and inputs and outputs that are not asynchronous, both choices give the same.
 */
public interface ProcessImages {

  /**
   * Whether a task works on a copy of its own.
   *
   * @param task name of the task; empty for the programs without one
   * @param priority of the task, 0 is the highest; {@link Integer#MAX_VALUE} for the programs without one
   */
  boolean ownCopy(String task, int priority);

  /** One process image for all tasks. */
  static ProcessImages shared() {
    return Copies.SHARED;
  }

  /** Every task has a copy of its own; the programs without a task have one together. */
  static ProcessImages perTask() {
    return Copies.PER_TASK;
  }
}
