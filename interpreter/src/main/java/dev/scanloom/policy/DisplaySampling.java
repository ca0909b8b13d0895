package dev.scanloom.policy;

import java.time.Duration;

/**
 * When a monitoring screen samples memory, and how much of it at a time. A value without state of its own. Sampling never disturbs the run.
 *
 * <p>Immutable and safe for use by several threads. Source: common practice.
 */
public interface DisplaySampling {

  /** Whether it samples everything after the input refresh of a scan, before the first network. */
  boolean atScanStart(long scan);

  /** Whether it samples everything after the last network of a scan, before the output refresh. */
  boolean atScanEnd(long scan);

  /**
   * Virtual time in nanoseconds of its {@code n}-th activity on a clock of its own, between any two steps; must not fall with {@code n}.
   *
   * @param n counts from 0
   * @param seed of the run, already mixed with the number of the display
   * @return {@link Long#MAX_VALUE} for never
   */
  long subsystemTime(long n, long seed);

  /**
   * How many items one such activity samples: activity {@code n} takes items {@code (n * chunk) mod items} and following, wrapping round.
   *
   * @param items watched items of the display, at least 1
   * @return 1 to {@code items}
   */
  int chunk(int items);

  /** Once per scan, after the input refresh and before the first network. */
  static DisplaySampling scanStart() {
    return new AtScan(true);
  }

  /** Once per scan, after the last network and before the output refresh. */
  static DisplaySampling scanEnd() {
    return new AtScan(false);
  }

  /** All items at {@code phase + n * period}. */
  static DisplaySampling asynchronous(Duration period, Duration phase) {
    return new Sampler(Durations.positive(period, "period"), Durations.notNegative(phase, "phase"), 0, 0);
  }

  /**
   * {@code chunk} items at {@code phase + n * period}: one screen is assembled from several samples, maybe of several scans.
   *
   * @throws IllegalArgumentException for a period of zero or less, a negative phase or a chunk below 1
   */
  static DisplaySampling asynchronous(Duration period, Duration phase, int chunk) {
    return asynchronous(period, phase, chunk, Duration.ZERO);
  }

  /** As {@link #asynchronous(Duration, Duration, int)}, each time late by 0 to {@code jitter}, drawn from the seed and the count. */
  static DisplaySampling asynchronous(Duration period, Duration phase, int chunk, Duration jitter) {
    if (chunk < 1) {
      throw new IllegalArgumentException("the chunk must be at least 1 item: " + chunk);
    }
    return new Sampler(Durations.positive(period, "period"), Durations.notNegative(phase, "phase"), chunk, Durations.jitter(jitter, period));
  }
}
