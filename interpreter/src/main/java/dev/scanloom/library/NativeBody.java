package dev.scanloom.library;

/**
 * The Java body of a library function. It computes outputs from inputs and nothing else: no state, no clock, no call back into the controller, no
 * allocation it can avoid. One instance serves all controllers and threads.
 */
@FunctionalInterface
public interface NativeBody {

  /**
   * Runs the body once.
   *
   * @throws BodyFault for an error condition of the function; it becomes a fault at the call (or ENO := FALSE)
   */
  void call(CallFrame frame);
}
