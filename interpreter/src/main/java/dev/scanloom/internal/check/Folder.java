package dev.scanloom.internal.check;

import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.ImplementerChoices.Overflow;
import dev.scanloom.policy.ImplementerChoices.ZeroDivision;
import java.util.ArrayDeque;
import java.util.Deque;

/**
 * Folds expressions of constants with the arithmetic of execution (S.const-fold). What would be a fault at run time is left as it is: a
 * body faults there when it runs, a constant expression is rejected.
 */
final class Folder {
  private final ImplementerChoices choices;

  Folder(ImplementerChoices choices) {
    this.choices = choices;
  }

  /** The expression, or the constant that it always gives. */
  Expr fold(Expr e) {
    try {
      Expr r = evaluate(e);
      return r == null ? e : r;
    } catch (Arith.Failure f) {
      return e;
    }
  }

  /** Why the evaluation of an expression of constants fails; null when it does not, or is not constant. */
  Arith.Failure failure(Expr e) {
    Deque<Expr> open = new ArrayDeque<>();
    open.push(e);
    while (!open.isEmpty()) {
      Expr x = open.pop();
      try {
        evaluate(x);
      } catch (Arith.Failure f) {
        return f;
      }
      if (x instanceof Expr.Binary b) {
        open.push(b.right());
        open.push(b.left());
      } else if (x instanceof Expr.Negate n) {
        open.push(n.operand());
      } else if (x instanceof Expr.Not n) {
        open.push(n.operand());
      } else if (x instanceof Expr.Convert c) {
        open.push(c.operand());
      }
    }
    return null;
  }

  /** Null when it is not constant or has no value that is certain before run time. */
  private Expr evaluate(Expr e) {
    if (e instanceof Expr.Binary b) {
      return binary(b);
    }
    if (e instanceof Expr.Not n) {
      Expr x = constant(n.operand());
      if (x instanceof Expr.Constant c && Kinds.slotKind(c.type()) != null) {
        return new Expr.Constant(n.span(), n.type(), Arith.wrap(~c.value(), Kinds.slotKind(c.type()).ordinal()));
      }
      return null;
    }
    if (e instanceof Expr.Negate n) {
      Expr x = constant(n.operand());
      if (x instanceof Expr.Constant c && Kinds.slotKind(c.type()) != null) {
        return new Expr.Constant(n.span(), n.type(), negate(c.value(), Kinds.slotKind(c.type())));
      }
      return null;
    }
    if (e instanceof Expr.Convert c) {
      return convert(c);
    }
    return null;
  }

  /** Operands have been folded before; what is no constant by now is none. So a long sum costs one look per operator. */
  private Expr constant(Expr e) {
    return e instanceof Expr.Constant || e instanceof Expr.TextConstant ? e : null;
  }

  private long negate(long v, ElementaryType k) {
    if (k == ElementaryType.REAL) {
      return Arith.real(-Arith.real(v));
    }
    if (k == ElementaryType.LREAL) {
      return Arith.lreal(-Arith.lreal(v));
    }
    return choices.integerOverflow() == Overflow.WRAP ? Arith.negate(v, k.ordinal()) : Arith.negateExact(v, k.ordinal());
  }

  private Expr convert(Expr.Convert e) {
    Expr x = constant(e.operand());
    if (x instanceof Expr.TextConstant t && e.type().base() instanceof Type.Text target && t.type() instanceof Type.Text source
        && source.kind() == target.kind()) {
      return t;
    }
    if (!(x instanceof Expr.Constant c)) {
      return null;
    }
    ElementaryType from = Kinds.slotKind(c.type());
    if (e.type().base() instanceof Type.Text target) {
      return from != null && from.family() == Family.CHARACTER && Kinds.stringOf(from) == target.kind()
          ? new Expr.TextConstant(e.span(), e.type(), new int[] {(int) c.value()}) : null;
    }
    ElementaryType to = Kinds.slotKind(e.type());
    if (from == null || to == null) {
      return null;
    }
    long v = Arith.convert(c.value(), from.ordinal(), to.ordinal(), e.truncate(), choices.realToInteger(), choices.conversionRange());
    if (e.type().base() instanceof Type.Subrange s && (Kinds.compare(v, s.low(), s.kind()) < 0
        || Kinds.compare(v, s.high(), s.kind()) > 0)) {
      return null;
    }
    return new Expr.Constant(e.span(), e.type(), v);
  }

  /**
   * The last operation found not to be constant: what is built upon it is not either, so that long chains are not walked again and again.
   */
  private Expr notConstant;

  private Expr binary(Expr.Binary e) {
    Expr right = constant(e.right());
    Expr left = right == null || e.left() == notConstant ? null : constant(e.left());
    if (left == null) {
      notConstant = e;
      return null;
    }
    if (left instanceof Expr.TextConstant a && right instanceof Expr.TextConstant b) {
      Boolean r = compare(e.operator(), compareText(a.units(), b.units()));
      return r == null ? null : new Expr.Constant(e.span(), e.type(), r ? 1 : 0);
    }
    if (!(left instanceof Expr.Constant a) || !(right instanceof Expr.Constant b)) {
      return null;
    }
    ElementaryType x = Kinds.slotKind(a.type());
    ElementaryType y = Kinds.slotKind(b.type());
    ElementaryType to = Kinds.slotKind(e.type());
    if (x == null || y == null || to == null) {
      return null;
    }
    Long v = value(e.operator(), a.value(), x, b.value(), y, to);
    return v == null ? null : new Expr.Constant(e.span(), e.type(), v);
  }

  /** Strings compare by code, the shorter one padded with code 0 (S.cmp-string). */
  static int compareText(int[] a, int[] b) {
    int n = Math.max(a.length, b.length);
    for (int i = 0; i < n; i++) {
      int x = i < a.length ? a[i] : 0;
      int y = i < b.length ? b[i] : 0;
      if (x != y) {
        return x < y ? -1 : 1;
      }
    }
    return 0;
  }

  private static Boolean compare(Expr.Operator op, int c) {
    return switch (op) {
      case EQ -> c == 0;
      case NE -> c != 0;
      case LT -> c < 0;
      case GT -> c > 0;
      case LE -> c <= 0;
      case GE -> c >= 0;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> null;
    };
  }

  private static boolean compareReal(Expr.Operator op, double a, double b) {
    return switch (op) {
      case EQ -> a == b;
      case NE -> a != b;
      case LT -> a < b;
      case GT -> a > b;
      case LE -> a <= b;
      case GE -> a >= b;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> throw new IllegalArgumentException(op.name());
    };
  }

  private Long value(Expr.Operator op, long a, ElementaryType x, long b, ElementaryType y, ElementaryType to) {
    switch (op) {
      case OR:
        return a | b;
      case XOR:
        return a ^ b;
      case AND:
        return a & b;
      case EQ:
      case NE:
      case LT:
      case GT:
      case LE:
      case GE:
        if (x.isReal()) {
          return compareReal(op, real(a, x), real(b, y)) ? 1L : 0L;
        }
        return Boolean.TRUE.equals(compare(op, Arith.compare(a, b, x.ordinal()))) ? 1L : 0L;
      case ADD:
      case SUB:
      case MUL:
      case DIV:
      case MOD:
        if (x.isReal()) {
          return realValue(op, real(a, x), real(b, y), to);
        }
        return x.isInteger() ? integer(op, a, b, x) : time(op, a, x, b, y, to);
      case POWER:
        double p = Arith.power(real(a, x), number(b, y));
        if (Double.isNaN(p) || Double.isInfinite(p)) {
          return null;
        }
        return to == ElementaryType.REAL ? Arith.real((float) p) : Arith.lreal(p);
    }
    throw new IllegalArgumentException(op.name());
  }

  private static double real(long v, ElementaryType k) {
    return k == ElementaryType.REAL ? Arith.real(v) : Arith.lreal(v);
  }

  private static double number(long v, ElementaryType k) {
    if (k.isReal()) {
      return real(v, k);
    }
    return Kinds.integer(v, k).doubleValue();
  }

  private Long realValue(Expr.Operator op, double a, double b, ElementaryType to) {
    if (op == Expr.Operator.DIV && b == 0.0 && choices.zeroDivision() == ZeroDivision.FAULT) {
      throw Arith.DIVISION_BY_ZERO;
    }
    // The operands are exact in double and one operation is rounded twice at most where that gives the same float: compute REAL as float.
    if (to == ElementaryType.REAL) {
      float f = (float) a;
      float g = (float) b;
      return switch (op) {
        case ADD -> Arith.real(f + g);
        case SUB -> Arith.real(f - g);
        case MUL -> Arith.real(f * g);
        case DIV -> Arith.real(f / g);
        case OR, XOR, AND, EQ, NE, LT, GT, LE, GE, MOD, POWER -> null;
      };
    }
    return switch (op) {
      case ADD -> Arith.lreal(a + b);
      case SUB -> Arith.lreal(a - b);
      case MUL -> Arith.lreal(a * b);
      case DIV -> Arith.lreal(a / b);
      case OR, XOR, AND, EQ, NE, LT, GT, LE, GE, MOD, POWER -> null;
    };
  }

  private Long integer(Expr.Operator op, long a, long b, ElementaryType k) {
    int kind = k.ordinal();
    boolean wrap = choices.integerOverflow() == Overflow.WRAP;
    switch (op) {
      case ADD:
        return wrap ? Arith.add(a, b, kind) : Arith.addExact(a, b, kind);
      case SUB:
        return wrap ? Arith.subtract(a, b, kind) : Arith.subtractExact(a, b, kind);
      case MUL:
        return wrap ? Arith.multiply(a, b, kind) : Arith.multiplyExact(a, b, kind);
      case DIV:
        if (b == 0 && choices.zeroDivision() == ZeroDivision.RESULT_ZERO) {
          return 0L;
        }
        return wrap ? Arith.divide(a, b, kind) : Arith.divideExact(a, b, kind);
      case MOD:
        if (b == 0 && choices.zeroModulo() == ZeroDivision.RESULT_ZERO) {
          return 0L;
        }
        return Arith.modulo(a, b, kind);
      default:
        return null;
    }
  }

  /** Durations by themselves, and what stays in the range of its type; the rest is left to execution. */
  private Long time(Expr.Operator op, long a, ElementaryType x, long b, ElementaryType y, ElementaryType to) {
    if (op == Expr.Operator.MUL || op == Expr.Operator.DIV) {
      double factor = number(b, y);
      if (y.isReal()) {
        return op == Expr.Operator.MUL ? Arith.scale(a, factor) : Arith.unscale(a, factor);
      }
      if (y == ElementaryType.ULINT && b < 0) {
        return null;
      }
      return integer(op, a, b, ElementaryType.LINT);
    }
    if (op != Expr.Operator.ADD && op != Expr.Operator.SUB) {
      return null;
    }
    if (x.family() == Family.DURATION && y.family() == Family.DURATION) {
      return integer(op, a, b, ElementaryType.LINT);
    }
    long r = op == Expr.Operator.ADD ? a + b : a - b;
    boolean overflows = op == Expr.Operator.ADD ? ((a ^ r) & (b ^ r)) < 0 : ((a ^ b) & (a ^ r)) < 0;
    boolean inDay = to.family() != Family.TIME_OF_DAY || r >= 0 && r < Arith.DAY;
    return overflows || !inDay ? null : r;
  }
}
