package dev.scanloom.policy;

/**
 * What the standard leaves to the implementer, all in one value, fixed into a compiled program.
 * Each component names the choice and its source (id of the rule, IEC 61131-3); immutable.
 *
 *
 * @param integerOverflow result of integer and duration arithmetic outside its type (S.overflow-integer, S.err-time-range): wraps by default
 * @param zeroDivision integer division by zero (S.div-zero); reals follow IEEE 754 under RESULT_ZERO
 * @param zeroModulo MOD by zero (S.mod-zero): the operator text makes it an error, the function text gives 0
 * @param realToInteger conversion of a real to an integer (S.conv-round-half-even)
 * @param conversionRange conversion of a value outside the target's range (S.conv-range-error)
 * @param textOverflow a string longer than its target (S.string-truncate): cut at the right by default
 * @param shortCircuit BOOL AND and OR skip an operand that cannot change the result (S.eval-short-circuit); all operands are evaluated by default
 * @param timerClock what timers read: the time at which the task was activated, the same in a whole scan, or the time of the step
 * @param keepUnqualified variables with neither RETAIN nor NON_RETAIN keep their value at a warm restart (S.retain-neither)
 * @param defaultStringLength capacity of STRING, WSTRING, USTRING declared without a length (S.impl-string-length); 1..65534 characters
 * @param failedAssert ASSERT with a FALSE condition (S.ed4-assert)
 * @param faultReaction what outputs do after a fault
 * @param finalScan actions run once more after they were deactivated (Table 60)
 * @param strictInputs writing to an input location is an error instead of a warning
 * @param recursion POUs may call themselves, directly or through others (S.fb-recursion)
 * @param deprecations warn about what edition 4 of the standard dropped or deprecates
 * @param taskOverrun a task is due again before it has ended (S.task-overrun); reported and counted by default
 */
public record ImplementerChoices(
    Overflow integerOverflow,
    ZeroDivision zeroDivision,
    ZeroDivision zeroModulo,
    Rounding realToInteger,
    RangeError conversionRange,
    TextOverflow textOverflow,
    boolean shortCircuit,
    TimerClock timerClock,
    boolean keepUnqualified,
    int defaultStringLength,
    AssertReaction failedAssert,
    FaultReaction faultReaction,
    boolean finalScan,
    boolean strictInputs,
    boolean recursion,
    boolean deprecations,
    OverrunReaction taskOverrun) {

  /** What integer and duration arithmetic does outside the range of its type. */
  public enum Overflow { WRAP, FAULT }

  /** What dividing by zero does. */
  public enum ZeroDivision { FAULT, RESULT_ZERO }

  /** How a real becomes an integer. The standard asks for HALF_EVEN. */
  public enum Rounding { HALF_EVEN, HALF_AWAY_FROM_ZERO, TOWARD_ZERO }

  /** What a conversion does with a value that its target cannot hold. */
  public enum RangeError { FAULT, WRAP, CLAMP }

  /** What an assignment does with a string that is too long. */
  public enum TextOverflow { CUT, FAULT }

  /** Which moment timers read. */
  public enum TimerClock { ACTIVATION, STEP }

  /** What a failed ASSERT does: end the run with a fault, or report it to observers and go on. */
  public enum AssertReaction { FAULT, REPORT }

  /** Outputs after a fault: all FALSE or zero, or as last delivered. */
  public enum FaultReaction { STOP_SAFE, STOP_HOLD }

  /** What a task does that is due again before it has ended: tell observers and count, or end the run with a fault too. */
  public enum OverrunReaction { REPORT, FAULT }

  private static final ImplementerChoices STANDARD = new ImplementerChoices(
      Overflow.WRAP,
      ZeroDivision.FAULT,
      ZeroDivision.FAULT,
      Rounding.HALF_EVEN,
      RangeError.FAULT,
      TextOverflow.CUT,
      false,
      TimerClock.ACTIVATION,
      false,
      254,
      AssertReaction.FAULT,
      FaultReaction.STOP_SAFE,
      true,
      false,
      false,
      true,
      OverrunReaction.REPORT);

  /** The defaults. */
  public static ImplementerChoices standard() {
    return STANDARD;
  }

  /** The same with another {@link #integerOverflow()}. */
  public ImplementerChoices withIntegerOverflow(Overflow integerOverflow) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #zeroDivision()}. */
  public ImplementerChoices withZeroDivision(ZeroDivision zeroDivision) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #zeroModulo()}. */
  public ImplementerChoices withZeroModulo(ZeroDivision zeroModulo) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #realToInteger()}. */
  public ImplementerChoices withRealToInteger(Rounding realToInteger) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #conversionRange()}. */
  public ImplementerChoices withConversionRange(RangeError conversionRange) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #textOverflow()}. */
  public ImplementerChoices withTextOverflow(TextOverflow textOverflow) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #shortCircuit()}. */
  public ImplementerChoices withShortCircuit(boolean shortCircuit) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #timerClock()}. */
  public ImplementerChoices withTimerClock(TimerClock timerClock) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #keepUnqualified()}. */
  public ImplementerChoices withKeepUnqualified(boolean keepUnqualified) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #defaultStringLength()}. */
  public ImplementerChoices withDefaultStringLength(int defaultStringLength) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #failedAssert()}. */
  public ImplementerChoices withFailedAssert(AssertReaction failedAssert) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #faultReaction()}. */
  public ImplementerChoices withFaultReaction(FaultReaction faultReaction) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #finalScan()}. */
  public ImplementerChoices withFinalScan(boolean finalScan) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #strictInputs()}. */
  public ImplementerChoices withStrictInputs(boolean strictInputs) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #recursion()}. */
  public ImplementerChoices withRecursion(boolean recursion) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #deprecations()}. */
  public ImplementerChoices withDeprecations(boolean deprecations) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }

  /** The same with another {@link #taskOverrun()}. */
  public ImplementerChoices withTaskOverrun(OverrunReaction taskOverrun) {
    return new ImplementerChoices(integerOverflow, zeroDivision, zeroModulo, realToInteger, conversionRange, textOverflow,
        shortCircuit, timerClock, keepUnqualified, defaultStringLength, failedAssert, faultReaction, finalScan, strictInputs,
        recursion, deprecations, taskOverrun);
  }
}
