package dev.scanloom.observe;

/** What can happen in a run. An observer names the kinds it wants; nobody pays for kinds that nobody wants. */
public enum EventKind {
  /** A scan begins (one execution round of the due tasks). */
  SCAN_START,
  /** A scan has ended, after output delivery and housekeeping. */
  SCAN_END,
  /** A phase begins; see {@link Event#phase()}. */
  PHASE,
  /** A task starts, is preempted, resumes or ends; see {@link Event#detail()}. */
  TASK,
  /** A step is about to be executed. */
  STEP,
  /** An instruction has read a variable or location. */
  READ,
  /** A variable or location has been written; by whom says {@link Event#source()}. */
  WRITE,
  /** A ladder element has been evaluated; see {@link Event#test()} and {@link Event#power()}. */
  ELEMENT,
  /** A terminal of the field has changed: an input by the host, an output by delivery. */
  FIELD,
  /** A display has sampled an item. */
  SAMPLE,
  /** A fault; see {@link Event#detail()}. */
  FAULT
}
