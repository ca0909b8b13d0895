package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Code;

/** The condensed forms of a program, made when first needed and shared by its instances. Safe for use by several threads. */
public final class Condensation {
  private final Code code;
  /** By what the policy watches: 1 reads of inputs, 2 writes of outputs. */
  private final Condensed[] forms = new Condensed[4];

  public Condensation(Code code) {
    this.code = code;
  }

  synchronized Condensed get(boolean watchesReads, boolean watchesWrites) {
    int which = (watchesReads ? 1 : 0) + (watchesWrites ? 2 : 0);
    if (forms[which] == null) {
      forms[which] = new Condenser(code, watchesReads, watchesWrites).condense();
    }
    return forms[which];
  }
}
