package dev.scanloom.policy;

record Periodic(long interval) implements ScanTrigger {

  @Override
  public long nextStart(long scan, long previousStart, long now, long due) {
    if (scan > 1 && previousStart == (scan - 2) * interval && now <= previousStart + interval) {
      // None was late so far: the same without a division.
      return previousStart + interval;
    }
    long at = previousStart < 0 ? 0 : (previousStart / interval + 1) * interval;
    return now <= at ? at : (now + interval - 1) / interval * interval;
  }

  @Override
  public String toString() {
    return "periodic:" + Durations.text(interval);
  }
}
