package dev.scanloom.policy;

/** Paints the truth. */
record FromExecution() implements Painting {
  static final FromExecution INSTANCE = new FromExecution();

  @Override
  public boolean paints(boolean sampled, boolean negated, boolean executed) {
    return executed;
  }

  @Override
  public boolean needsSample() {
    return false;
  }

  @Override
  public String toString() {
    return "from execution";
  }
}
