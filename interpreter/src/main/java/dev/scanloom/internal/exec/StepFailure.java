package dev.scanloom.internal.exec;

/** Thrown inside the executors when a step fails; never leaves them. No stack trace: the step tells the place. */
public final class StepFailure extends RuntimeException {
  private static final long serialVersionUID = 1L;
  private final String code;
  /** ENO may not hide it: budgets and interruption. */
  private final boolean fatal;

  StepFailure(String code, String message, boolean fatal) {
    super(message, null, false, false);
    this.code = code;
    this.fatal = fatal;
  }

  /** Stable slug. */
  public String code() {
    return code;
  }

  boolean isFatal() {
    return fatal;
  }

  /** Too many nested calls. */
  public static StepFailure callDepth(int limit) {
    return new StepFailure("fault/call-depth", "more than " + limit + " nested calls", true);
  }

  /** A dynamic call found no body. */
  public static StepFailure noBody() {
    return new StepFailure("fault/abstract-call", "the instance has no body for this call", true);
  }
}
