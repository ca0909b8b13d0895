package dev.scanloom.policy;

/** On a clock of its own: {@code phase + n * period}, late by a hash of seed and count up to {@code jitter}; all in nanoseconds. */
record OwnClock(long period, long phase, long jitter) implements InputAcquisition, OutputDelivery {

  @Override
  public boolean atRefresh(long scan) {
    return false;
  }

  @Override
  public boolean watchesReads() {
    return false;
  }

  @Override
  public boolean beforeRead(long scan, long time, long bit, int width) {
    return false;
  }

  @Override
  public boolean watchesWrites() {
    return false;
  }

  @Override
  public boolean afterWrite(long scan, long time, long bit, int width) {
    return false;
  }

  @Override
  public long subsystemTime(long n, long seed) {
    return Durations.tick(n, period, phase, jitter, seed);
  }

  @Override
  public String toString() {
    return "asynchronous:" + Durations.text(period) + (phase == 0 ? "" : " phase " + Durations.text(phase))
        + (jitter == 0 ? "" : " jitter " + Durations.text(jitter));
  }
}
