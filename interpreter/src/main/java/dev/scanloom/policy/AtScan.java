package dev.scanloom.policy;

/** Samples everything once per scan. */
record AtScan(boolean start) implements DisplaySampling {

  @Override
  public boolean atScanStart(long scan) {
    return start;
  }

  @Override
  public boolean atScanEnd(long scan) {
    return !start;
  }

  @Override
  public long subsystemTime(long n, long seed) {
    return Long.MAX_VALUE;
  }

  @Override
  public int chunk(int items) {
    return items;
  }

  @Override
  public String toString() {
    return start ? "scan start" : "scan end";
  }
}
