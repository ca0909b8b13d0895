package dev.scanloom.policy;

/**
 * How steps are executed. Values, faults, places and steps used are the same either way; what differs is speed, and what can be asked in between.
 */
public enum Execution {
  /**
   * Whole bodies as JVM code once the run has become long, where nothing has to stand between steps: no observer of steps, reads, writes or elements, no
   * policy that acts between arbitrary steps, no ladder elements whose last evaluation somebody may ask for. Else as {@link #STEPPING}.
   */
  AUTOMATIC,
  /**
   * Such that the run can stop between any two steps. Where nobody looks, whole stretches of steps run at once, in long runs as JVM code, up to just before the
   * next thing that has to happen between steps; where somebody does, step by step.
   */
  STEPPING,
  /**
   * As JVM code from the first scan on wherever nothing has to stand between steps. What ladder elements did is then not recorded: displays that paint from
   * execution, and questions for executed elements, need one of the others.
   */
  COMPILED
}
