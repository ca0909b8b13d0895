package dev.scanloom.policy;

record OnDemand() implements ScanTrigger {
  static final OnDemand INSTANCE = new OnDemand();

  @Override
  public long nextStart(long scan, long previousStart, long now, long due) {
    return Long.MAX_VALUE;
  }

  @Override
  public String toString() {
    return "on demand";
  }
}
