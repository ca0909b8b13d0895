package dev.scanloom.internal.bytecode;

/** A failed step on its way out of compiled code. */
final class CompiledFault extends RuntimeException {
  private static final long serialVersionUID = 1L;
  private final String code;
  private final int step;
  private final long ordinal;
  private final long used;
  /** The innermost step that is not of a library; -1 as long as none was met on the way out. */
  int userStep = -1;

  /** {@code used}: steps executed, the failed one included if it was begun. */
  CompiledFault(String code, String message, int step, long ordinal, long used) {
    super(message, null, false, false);
    this.code = code;
    this.step = step;
    this.ordinal = ordinal;
    this.used = used;
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

  long used() {
    return used;
  }
}
