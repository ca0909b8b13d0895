package dev.scanloom.policy;

/** Paints what the sampled bit suggests. */
record FromSample() implements Painting {
  static final FromSample INSTANCE = new FromSample();

  @Override
  public boolean paints(boolean sampled, boolean negated, boolean executed) {
    return sampled != negated;
  }

  @Override
  public boolean needsSample() {
    return true;
  }

  @Override
  public String toString() {
    return "from sample";
  }
}
