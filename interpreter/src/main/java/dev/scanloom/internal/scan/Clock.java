package dev.scanloom.internal.scan;

/** The virtual clock: nanoseconds, never falls. */
final class Clock {
  long now;

  /** Saturates, so that 292 years of idling are the end of time and not its beginning. */
  static long plus(long time, long by) {
    return time > Long.MAX_VALUE - by ? Long.MAX_VALUE : time + by;
  }
}
