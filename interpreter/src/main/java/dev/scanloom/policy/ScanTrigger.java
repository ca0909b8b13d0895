package dev.scanloom.policy;

import java.time.Duration;

/**
 * When the next scan begins. A value without state of its own, immutable and safe for use by several threads.
 */
public interface ScanTrigger {

  /**
   * Virtual time in nanoseconds at which a scan begins; a time that has passed means now.
   *
   * @param scan number of the scan that is to begin, from 1
   * @param previousStart start of the scan before it; -1 for the first
   * @param now the clock
   * @param due earliest time at which a task has something to do; {@code now} when a program runs without a task
   * @return {@link Long#MAX_VALUE} when only the host begins scans
   */
  long nextStart(long scan, long previousStart, long now, long due);

  /** As soon as there is something to do. */
  static ScanTrigger freeRunning() {
    return FreeRunning.INSTANCE;
  }

  /**
   * At multiples of an interval, the first at 0. A scan that takes longer than the interval delays its successor to the next multiple (choice).
   *
   * @throws IllegalArgumentException for an interval of zero or less
   */
  static ScanTrigger periodic(Duration interval) {
    return new Periodic(Durations.positive(interval, "interval"));
  }

  /** Only when the host asks for a scan. */
  static ScanTrigger onDemand() {
    return OnDemand.INSTANCE;
  }
}
