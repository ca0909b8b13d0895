package dev.scanloom.policy;

import java.time.Duration;

/**
 * When the field is copied to {@code %I}. A value without state of its own: the engine counts and tells the count, so a snapshot need not ask it.
 * Chosen for all inputs or per range of bytes; see {@link ScanPolicy#withInputs}.
 *
 * <p>Immutable and safe for use by several threads. Source: common practice.
 */
public interface InputAcquisition {

  /**
   * Whether the input refresh phase copies the range.
   *
   * @param scan number of the scan, from 1
   */
  boolean atRefresh(long scan);

  /** Whether {@link #beforeRead} is to be asked at all; constant. */
  boolean watchesReads();

  /**
   * Whether the part of the range that an instruction is about to read is copied first.
   *
   * @param scan number of the scan, from 1
   * @param time virtual time in nanoseconds
   * @param bit first bit within {@code %I}
   * @param width number of bits
   */
  boolean beforeRead(long scan, long time, long bit, int width);

  /**
   * Virtual time in nanoseconds at which an I/O subsystem copies the range for the {@code n}-th time; must not fall with {@code n}.
   *
   * @param n counts from 0
   * @param seed of the run, already mixed with the number of the range
   * @return {@link Long#MAX_VALUE} for never
   */
  long subsystemTime(long n, long seed);

  /** Once per scan, before the program; a read sees memory. */
  static InputAcquisition image() {
    return AtRefresh.INSTANCE;
  }

  /** Before every read of an input location, that terminal alone. */
  static InputAcquisition immediate() {
    return AtAccess.INSTANCE;
  }

  /** By an I/O subsystem at {@code phase + n * period}, between any two steps. */
  static InputAcquisition asynchronous(Duration period, Duration phase) {
    return asynchronous(period, phase, Duration.ZERO);
  }

  /**
   * As {@link #asynchronous(Duration, Duration)}, each time late by 0 to {@code jitter}, drawn from the seed and the count.
   *
   * @throws IllegalArgumentException for a period of zero or less, a negative phase, or a jitter below 0 or above the period
   */
  static InputAcquisition asynchronous(Duration period, Duration phase, Duration jitter) {
    return new OwnClock(Durations.positive(period, "period"), Durations.notNegative(phase, "phase"), Durations.jitter(jitter, period));
  }
}
