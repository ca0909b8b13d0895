package dev.scanloom.policy;

/** In the refresh phases of every scan and at no other time. */
record AtRefresh() implements InputAcquisition, OutputDelivery {
  static final AtRefresh INSTANCE = new AtRefresh();

  @Override
  public boolean atRefresh(long scan) {
    return true;
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
    return Long.MAX_VALUE;
  }

  @Override
  public String toString() {
    return "image";
  }
}
