package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import java.util.Map;
import java.util.function.DoubleUnaryOperator;

/**
 * The transcendental functions of Table 28. Computed by StrictMath in double precision, so a run gives the same bits on every machine; a
 * REAL result is the
 * LREAL result rounded once more (S.impl-numeric-accuracy: within 1 unit in the last place of LREAL, for REAL nearly always the nearest).
 */
final class NumericalBodies {
  private NumericalBodies() {}

  static void addTo(Map<String, NativeBody> all) {
    all.put("ln", unary("LN", StrictMath::log));
    all.put("log", unary("LOG", StrictMath::log10));
    all.put("exp", NumericalBodies::exp);
    all.put("sin", unary("SIN", StrictMath::sin));
    all.put("cos", unary("COS", StrictMath::cos));
    all.put("tan", unary("TAN", StrictMath::tan));
    all.put("asin", unary("ASIN", StrictMath::asin));
    all.put("acos", unary("ACOS", StrictMath::acos));
    all.put("atan", unary("ATAN", StrictMath::atan));
    all.put("atan2", f -> set(f, StrictMath.atan2(get(f, 0), get(f, 1))));
    all.put("is_valid", f -> f.setBool(CallFrame.RESULT, Double.isFinite(get(f, 0))));
  }

  /** A result that is no number, or the infinite logarithm of zero, means that the argument has none, unless the argument was no number
   * itself. */
  private static NativeBody unary(String name, DoubleUnaryOperator function) {
    return f -> {
      double x = get(f, 0);
      double y = function.applyAsDouble(x);
      if (Double.isNaN(y) && !Double.isNaN(x) || Double.isInfinite(y) && Double.isFinite(x)) {
        throw new BodyFault("fault/domain", name + " has no value for " + x);
      }
      set(f, y);
    };
  }

  private static void exp(CallFrame f) {
    double x = get(f, 0);
    double y = StrictMath.exp(x);
    boolean real = f.type(CallFrame.RESULT) == ElementaryType.REAL;
    if (Double.isFinite(x) && (real ? Float.isInfinite((float) y) : Double.isInfinite(y))) {
      throw new BodyFault("fault/overflow", "EXP of " + x + " is above the greatest " + (real ? "REAL" : "LREAL"));
    }
    set(f, y);
  }

  private static double get(CallFrame f, int parameter) {
    return f.type(parameter) == ElementaryType.REAL ? f.real(parameter) : f.lreal(parameter);
  }

  private static void set(CallFrame f, double value) {
    if (f.type(CallFrame.RESULT) == ElementaryType.REAL) {
      f.setReal(CallFrame.RESULT, (float) value);
    } else {
      f.setLreal(CallFrame.RESULT, value);
    }
  }
}
