package dev.scanloom.policy;

/**
 * Bounds on what a program may ask for. All can be set, none can be switched off; immutable.
 *
 *
 * @param sourceLength code points per source text
 * @param nesting depth of parentheses, brackets and statements
 * @param diagnostics diagnostics kept per compilation
 * @param stepsPerScan steps of one execution of a task before the watchdog faults
 * @param callDepth nested calls
 * @param instanceBytes memory of one controller in bytes, computed when the program is compiled
 * @param stringLength longest declarable string, in characters
 * @param arrayElements elements of one array
 */
public record Limits(
    int sourceLength,
    int nesting,
    int diagnostics,
    long stepsPerScan,
    int callDepth,
    long instanceBytes,
    int stringLength,
    int arrayElements) {

  public Limits {
    if (sourceLength < 1 || nesting < 1 || diagnostics < 1 || stepsPerScan < 1 || callDepth < 1 || instanceBytes < 1 || stringLength < 1
        || arrayElements < 1) {
      throw new IllegalArgumentException("a limit is at least 1");
    }
  }

  private static final Limits STANDARD = new Limits(
      1_048_576,
      256,
      100,
      10_000_000L,
      200,
      64L << 20,
      65_534,
      16 << 20);

  /** The defaults. */
  public static Limits standard() {
    return STANDARD;
  }

  /** The same with another {@link #sourceLength()}. */
  public Limits withSourceLength(int sourceLength) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #nesting()}. */
  public Limits withNesting(int nesting) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #diagnostics()}. */
  public Limits withDiagnostics(int diagnostics) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #stepsPerScan()}. */
  public Limits withStepsPerScan(long stepsPerScan) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #callDepth()}. */
  public Limits withCallDepth(int callDepth) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #instanceBytes()}. */
  public Limits withInstanceBytes(long instanceBytes) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #stringLength()}. */
  public Limits withStringLength(int stringLength) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }

  /** The same with another {@link #arrayElements()}. */
  public Limits withArrayElements(int arrayElements) {
    return new Limits(sourceLength, nesting, diagnostics, stepsPerScan, callDepth, instanceBytes, stringLength, arrayElements);
  }
}
