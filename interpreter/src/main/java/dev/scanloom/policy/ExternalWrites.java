package dev.scanloom.policy;

import java.time.Duration;

/**
 * When a write by an operator panel or a peer lands in memory. A value without state of its own, immutable and safe for use by several threads.
 */
public interface ExternalWrites {

  /** Whether a write may land between any two steps; else it waits for the end of the scan. */
  boolean landsAtAnyStep();

  /**
   * Virtual time in nanoseconds at which a write arrives and may land; a time that has passed means now.
   *
   * @param requested when it was sent
   * @param n counts the writes of the run, from 0
   * @param seed of the run
   */
  long arrival(long requested, long n, long seed);

  /** In the housekeeping phase or while no scan runs, in the order of arrival. */
  static ExternalWrites betweenScans() {
    return new Landing(false, 0);
  }

  /** Between any two steps. */
  static ExternalWrites anyStep() {
    return new Landing(true, 0);
  }

  /** The same with a way that takes a fixed time. */
  static ExternalWrites delayed(boolean anyStep, Duration delay) {
    return new Landing(anyStep, Durations.notNegative(delay, "delay"));
  }
}
