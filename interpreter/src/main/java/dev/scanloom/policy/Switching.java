package dev.scanloom.policy;

record Switching(boolean preemptive, boolean inheritsPriority) implements TaskSwitching {
  static final Switching NON_PREEMPTIVE = new Switching(false, false);
  static final Switching PREEMPTIVE = new Switching(true, false);
  static final Switching INHERITING = new Switching(true, true);

  @Override
  public boolean preempts(int running, int due) {
    return preemptive && due < running;
  }

  @Override
  public String toString() {
    return inheritsPriority ? "preemptive with priority inheritance" : preemptive ? "preemptive" : "non-preemptive";
  }
}
