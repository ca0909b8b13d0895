package dev.scanloom.policy;

import java.time.Duration;

/**
 * When {@code %Q} is copied to the terminals. A value without state of its own, as {@link InputAcquisition}. Chosen for all outputs or per range of
 * bytes; see {@link ScanPolicy#withOutputs}.
 *
 * <p>Immutable and safe for use by several threads. Source: common practice.
 */
public interface OutputDelivery {

  /**
   * Whether the output refresh phase copies the range.
   *
   * @param scan number of the scan, from 1
   */
  boolean atRefresh(long scan);

  /** Whether {@link #afterWrite} is to be asked at all; constant. */
  boolean watchesWrites();

  /**
   * Whether the part of the range that an instruction has just written drives its terminals at once.
   *
   * @param scan number of the scan, from 1
   * @param time virtual time in nanoseconds
   * @param bit first bit within {@code %Q}
   * @param width number of bits
   */
  boolean afterWrite(long scan, long time, long bit, int width);

  /**
   * Virtual time in nanoseconds at which an I/O subsystem copies the range for the {@code n}-th time; must not fall with {@code n}.
   *
   * @param n counts from 0
   * @param seed of the run, already mixed with the number of the range
   * @return {@link Long#MAX_VALUE} for never
   */
  long subsystemTime(long n, long seed);

  /** Once per scan, after the program. */
  static OutputDelivery image() {
    return AtRefresh.INSTANCE;
  }

  /** After every write to an output location, so that intermediate values reach the field. */
  static OutputDelivery immediate() {
    return AtAccess.INSTANCE;
  }

  /** By an I/O subsystem at {@code phase + n * period}, between any two steps. */
  static OutputDelivery asynchronous(Duration period, Duration phase) {
    return asynchronous(period, phase, Duration.ZERO);
  }

  /**
   * As {@link #asynchronous(Duration, Duration)}, each time late by 0 to {@code jitter}, drawn from the seed and the count.
   *
   * @throws IllegalArgumentException for a period of zero or less, a negative phase, or a jitter below 0 or above the period
   */
  static OutputDelivery asynchronous(Duration period, Duration phase, Duration jitter) {
    return new OwnClock(Durations.positive(period, "period"), Durations.notNegative(phase, "phase"), Durations.jitter(jitter, period));
  }
}
