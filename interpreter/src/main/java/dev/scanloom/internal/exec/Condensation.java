package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Code;
import java.util.function.BiFunction;

/** The condensed forms of a program and their translations, made when first needed and shared by its instances. Safe for use by several threads. */
public final class Condensation {
  private final Code code;
  private final BiFunction<Code, Condensed, StretchCode> translator;
  private final long longRun;
  /** By what the policy watches: 1 reads of inputs, 2 writes of outputs; 4 with a digest over writes. */
  private final Condensed[] forms = new Condensed[8];
  private final StretchCode[] translations = new StretchCode[8];

  /**
   * @param translator makes JVM code of a condensed form
   * @param longRun steps of one controller from which on that pays
   */
  public Condensation(Code code, BiFunction<Code, Condensed, StretchCode> translator, long longRun) {
    this.longRun = longRun;
    this.code = code;
    this.translator = translator;
  }

  private static int number(boolean watchesReads, boolean watchesWrites, boolean digests) {
    return (watchesReads ? 1 : 0) + (watchesWrites ? 2 : 0) + (digests ? 4 : 0);
  }

  boolean pays(long steps) {
    return steps >= longRun;
  }

  synchronized Condensed get(boolean watchesReads, boolean watchesWrites, boolean digests) {
    int which = number(watchesReads, watchesWrites, digests);
    if (forms[which] == null) {
      forms[which] = new Condenser(code, watchesReads, watchesWrites, digests).condense();
    }
    return forms[which];
  }

  synchronized StretchCode translation(boolean watchesReads, boolean watchesWrites, boolean digests) {
    int which = number(watchesReads, watchesWrites, digests);
    if (translations[which] == null) {
      translations[which] = translator.apply(code, get(watchesReads, watchesWrites, digests));
    }
    return translations[which];
  }
}
