package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import java.util.function.UnaryOperator;

/** The translation of a program, made when it is first needed and then shared. Safe for use by several threads. */
public final class Translation {
  private final Code code;
  /** By what the policy watches: 1 reads of inputs, 2 writes of outputs. */
  private final CompiledCode[] compiled = new CompiledCode[4];

  private final int callDepth;
  /** Changes generated class files; null: they stay. */
  private final UnaryOperator<byte[]> classes;

  /** {@code callDepth}: limit of nested calls. */
  public Translation(Code code, int callDepth) {
    this(code, callDepth, null);
  }

  /** {@code classes} changes generated class files, for tests of what happens to wrong ones. */
  public Translation(Code code, int callDepth, UnaryOperator<byte[]> classes) {
    this.code = code;
    this.callDepth = callDepth;
    this.classes = classes;
  }

  /** Translates at the first call; policies that act at reads of inputs or writes of outputs have translations of their own. */
  public synchronized CompiledCode get(boolean watchesReads, boolean watchesWrites) {
    int which = (watchesReads ? 1 : 0) + (watchesWrites ? 2 : 0);
    if (compiled[which] == null) {
      compiled[which] = CompiledCode.of(code, watchesReads, watchesWrites, callDepth, classes);
    }
    return compiled[which];
  }
}
