package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Code;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.function.BiFunction;

/**
 * What the executors of a program's instances share: tables of its bodies, the condensed forms and their translations, made when first needed. Safe for use by several
 * threads.
 */
public final class Condensation {
  /** Forms for watched variables that are remembered; the oldest goes first. */
  private static final int WATCHED_FORMS = 16;

  private final Code code;
  private final BiFunction<Code, Condensed, StretchCode> translator;
  private final long longRun;
  private final Map<Form, Made> forms = new LinkedHashMap<>();
  /** By number of the body: its first step, and the slots of its frame. */
  final int[] bodyStart;
  final int[] bodyFrame;
  final Code.Native[] natives;
  final Code.InstanceType[] types;

  private static final class Made {
    private final Condensed condensed;
    private StretchCode translation;
    private boolean asked;

    Made(Condensed condensed) {
      this.condensed = condensed;
    }
  }

  /**
   * @param translator makes JVM code of a condensed form; null if that cannot be
   * @param longRun steps of one controller from which on that pays
   */
  public Condensation(Code code, BiFunction<Code, Condensed, StretchCode> translator, long longRun) {
    this.longRun = longRun;
    this.code = code;
    this.translator = translator;
    int n = code.bodies().size();
    this.bodyStart = new int[n];
    this.bodyFrame = new int[n];
    for (int i = 0; i < n; i++) {
      bodyStart[i] = code.bodies().get(i).start();
      bodyFrame[i] = code.bodies().get(i).frameSlots();
    }
    this.natives = code.natives().toArray(new Code.Native[0]);
    this.types = code.types().toArray(new Code.InstanceType[0]);
  }

  boolean pays(long steps) {
    return steps >= longRun;
  }

  private Made made(Form form) {
    Made m = forms.get(form);
    if (m == null) {
      m = new Made(new Condenser(code, form).condense());
      forms.put(form, m);
      if (forms.keySet().stream().filter(f -> !f.watched().isEmpty()).count() > WATCHED_FORMS) {
        forms.remove(forms.keySet().stream().filter(f -> !f.watched().isEmpty()).findFirst().orElseThrow());
      }
    }
    return m;
  }

  synchronized Condensed get(Form form) {
    return made(form).condensed;
  }

  /** Null: the stretches stay interpreted. */
  synchronized StretchCode translation(Form form) {
    Made m = made(form);
    if (!m.asked) {
      m.asked = true;
      m.translation = translator.apply(code, m.condensed);
    }
    return m.translation;
  }
}
