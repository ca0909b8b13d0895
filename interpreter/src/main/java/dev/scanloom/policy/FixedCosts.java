package dev.scanloom.policy;

/** All in nanoseconds. */
record FixedCosts(long step, long refresh, long housekeeping, long message) implements CostModel {

  @Override
  public long step(StepKind kind) {
    return step;
  }

  @Override
  public long phase(Phase phase, long scan, int messages, long seed) {
    return phase == Phase.HOUSEKEEPING ? housekeeping + messages * message : refresh;
  }

  @Override
  public String toString() {
    return Durations.text(step) + " a step, " + Durations.text(refresh) + " a refresh, " + Durations.text(housekeeping) + " housekeeping"
        + (message == 0 ? "" : ", " + Durations.text(message) + " a message");
  }
}
