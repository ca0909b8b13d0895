package dev.scanloom.policy;

/** At every access by an instruction and at no other time. */
record AtAccess() implements InputAcquisition, OutputDelivery {
  static final AtAccess INSTANCE = new AtAccess();

  @Override
  public boolean atRefresh(long scan) {
    return false;
  }

  @Override
  public boolean watchesReads() {
    return true;
  }

  @Override
  public boolean beforeRead(long scan, long time, long bit, int width) {
    return true;
  }

  @Override
  public boolean watchesWrites() {
    return true;
  }

  @Override
  public boolean afterWrite(long scan, long time, long bit, int width) {
    return true;
  }

  @Override
  public long subsystemTime(long n, long seed) {
    return Long.MAX_VALUE;
  }

  @Override
  public String toString() {
    return "immediate";
  }
}
