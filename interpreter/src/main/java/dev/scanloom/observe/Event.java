package dev.scanloom.observe;

/**
 * One event, as a view that is valid only during {@link Observer#on}: it is reused for the next event. Values that do not belong to the kind are 0, -1
 * or empty.
 */
public interface Event {

  /** Phases of a scan. */
  enum Phase { INPUT_REFRESH, PROGRAM, OUTPUT_REFRESH, HOUSEKEEPING }

  /**
   * Who wrote a value. TASK_IMAGE: nobody; a task's copy of the process image, or of the inputs and outputs of blocks with tasks of their own, came
   * into view ({@link #detail()} is {@code in}) or gave way to the shared values ({@code out}), {@link #task()} is that task; only what may differ is told.
   * See {@link dev.scanloom.policy.ProcessImages}.
   */
  enum Source { INSTRUCTION, INPUT_REFRESH, EXTERNAL_WRITE, FORCE, INITIALIZATION, RETAINED, TASK_IMAGE }

  EventKind kind();

  /** Number of the scan, from 1; 0 before the first. */
  long scan();

  /** Steps executed in this scan so far; the ordinal of the step within the scan, from 1, for step events. */
  long ordinal();

  /** Virtual time in nanoseconds since the controller was started. */
  long time();

  /** Index of the task, -1 without one. */
  int task();

  /** Number of the step in the compiled program ({@link StepInfo#id()}), -1 when no step is involved. */
  int step();

  /** READ, WRITE, FIELD, SAMPLE: address of the slot or location; a variable of the root API tells its address. */
  long address();

  /** READ, WRITE, FIELD, SAMPLE: width in bits; 64 for a slot. */
  int width();

  /** WRITE, FIELD: slot value before; READ: the value read. */
  long before();

  /** WRITE, FIELD: slot value after; READ, SAMPLE: the value seen. */
  long after();

  /** WRITE: who wrote. FIELD: EXTERNAL_WRITE for an input moved by the host, FORCE for an output that holds a force, else INSTRUCTION. */
  Source source();

  /** ELEMENT: number of the ladder element in the compiled program; else -1. SAMPLE: number of the item. */
  int element();

  /** ELEMENT: what the element's own test or left link said: a contact's condition, a coil's left link. */
  boolean test();

  /** ELEMENT: state of the element's right link. */
  boolean power();

  /** PHASE: which phase begins. */
  Phase phase();

  /**
   * TASK, FAULT, SAMPLE: a word or sentence: {@code start}, {@code preempted}, the fault's code and message, the display's name. WRITE of TASK_IMAGE:
   * {@code in} or {@code out}.
   */
  String detail();

  /**
   * STEP: a value on the operand stack before the step; 0 is the top. Only the first {@link StepInfo#pops()} are meaningful.
   */
  long operand(int fromTop);
}
