package dev.scanloom.policy;

/** Samples on a clock of its own; {@code size} 0 takes all items at once. */
record Sampler(long period, long phase, int size, long jitter) implements DisplaySampling {

  @Override
  public boolean atScanStart(long scan) {
    return false;
  }

  @Override
  public boolean atScanEnd(long scan) {
    return false;
  }

  @Override
  public long subsystemTime(long n, long seed) {
    return Durations.tick(n, period, phase, jitter, seed);
  }

  @Override
  public int chunk(int items) {
    return size == 0 ? items : Math.min(size, items);
  }

  @Override
  public String toString() {
    return "asynchronous:" + Durations.text(period) + (phase == 0 ? "" : " phase " + Durations.text(phase))
        + (size == 0 ? "" : " chunk " + size) + (jitter == 0 ? "" : " jitter " + Durations.text(jitter));
  }
}
