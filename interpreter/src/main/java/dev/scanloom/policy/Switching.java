package dev.scanloom.policy;

record Switching(boolean preemptive) implements TaskSwitching {
  static final Switching NON_PREEMPTIVE = new Switching(false);
  static final Switching PREEMPTIVE = new Switching(true);

  @Override
  public boolean preempts(int running, int due) {
    return preemptive && due < running;
  }

  @Override
  public String toString() {
    return preemptive ? "preemptive" : "non-preemptive";
  }
}
