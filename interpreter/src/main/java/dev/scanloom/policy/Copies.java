package dev.scanloom.policy;

record Copies(boolean own) implements ProcessImages {
  static final Copies SHARED = new Copies(false);
  static final Copies PER_TASK = new Copies(true);

  @Override
  public boolean ownCopy(String task, int priority) {
    return own;
  }

  @Override
  public String toString() {
    return own ? "process image per task" : "shared process image";
  }
}
