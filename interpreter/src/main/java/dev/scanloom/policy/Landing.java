package dev.scanloom.policy;

/** {@code delay} in nanoseconds. */
record Landing(boolean landsAtAnyStep, long delay) implements ExternalWrites {

  @Override
  public long arrival(long requested, long n, long seed) {
    return requested > Long.MAX_VALUE - delay ? Long.MAX_VALUE : requested + delay;
  }

  @Override
  public String toString() {
    return (landsAtAnyStep ? "at any step" : "between scans") + (delay == 0 ? "" : " after " + Durations.text(delay));
  }
}
