package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;

/** The translation of a program, made when it is first needed and then shared. Safe for use by several threads. */
public final class Translation {
  private final Code code;
  private CompiledCode compiled;

  public Translation(Code code) {
    this.code = code;
  }

  /** Translates at the first call. */
  public synchronized CompiledCode get() {
    if (compiled == null) {
      compiled = CompiledCode.of(code);
    }
    return compiled;
  }
}
