package dev.scanloom.internal.exec;

/** Thrown inside the executors when a step fails; never leaves them. No stack trace: the step tells the place. */
final class StepFailure extends RuntimeException {
  private static final long serialVersionUID = 1L;
  private final String code;
  /** ENO may not hide it: budgets and interruption. */
  private final boolean fatal;

  StepFailure(String code, String message, boolean fatal) {
    super(message, null, false, false);
    this.code = code;
    this.fatal = fatal;
  }

  String code() {
    return code;
  }

  boolean isFatal() {
    return fatal;
  }
}
