package dev.scanloom.policy;

record FreeRunning() implements ScanTrigger {
  static final FreeRunning INSTANCE = new FreeRunning();

  @Override
  public long nextStart(long scan, long previousStart, long now, long due) {
    return Math.max(now, due);
  }

  @Override
  public String toString() {
    return "free-running";
  }
}
