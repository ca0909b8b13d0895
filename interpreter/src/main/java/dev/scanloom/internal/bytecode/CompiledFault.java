package dev.scanloom.internal.bytecode;

/** A failed step on its way out of compiled code. */
final class CompiledFault extends RuntimeException {
  private static final long serialVersionUID = 1L;
  private final String code;
  private final int step;
  private final long ordinal;

  CompiledFault(String code, String message, int step, long ordinal) {
    super(message, null, false, false);
    this.code = code;
    this.step = step;
    this.ordinal = ordinal;
  }

  String code() {
    return code;
  }

  int step() {
    return step;
  }

  long ordinal() {
    return ordinal;
  }
}
