package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.OpNumber;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.policy.ImplementerChoices;

/** Operations that make one value of one or two and touch nothing else. They fail with {@link Arith.Failure} or {@link StepFailure}. */
final class Pure {
  private final long[] pool;
  private final ImplementerChoices choices;
  private final boolean exact;

  Pure(long[] pool, ImplementerChoices choices) {
    this.pool = pool;
    this.choices = choices;
    this.exact = choices.integerOverflow() == ImplementerChoices.Overflow.FAULT;
  }

  long unary(int operation, int a, int b, long x) {
    return switch (operation) {
      case OpNumber.NEG -> Arith.negate(x, b);
      case OpNumber.NEG_EXACT -> Arith.negateExact(x, b);
      case OpNumber.ABS -> Operations.absolute(x, b, exact);
      case OpNumber.NEG_REAL -> Arith.real(-Arith.real(x));
      case OpNumber.SQRT_REAL -> Arith.real((float) Operations.root(Arith.real(x)));
      case OpNumber.NEG_LREAL -> Arith.lreal(-Arith.lreal(x));
      case OpNumber.SQRT_LREAL -> Arith.lreal(Operations.root(Arith.lreal(x)));
      case OpNumber.CONVERT -> Arith.convert(x, a & 255, a >> 8 & 255, a >> 16 != 0, choices.realToInteger(), choices.conversionRange());
      case OpNumber.RANGE -> Operations.checkRange(pool, x, a, b);
      default -> throw new IllegalArgumentException("operation " + operation + " has not one operand");
    };
  }

  long binary(int operation, int a, int b, long x, long y) {
    return switch (operation) {
      case OpNumber.ADD_EXACT -> Arith.addExact(x, y, b);
      case OpNumber.SUB_EXACT -> Arith.subtractExact(x, y, b);
      case OpNumber.MUL_EXACT -> Arith.multiplyExact(x, y, b);
      case OpNumber.DIV -> Operations.divide(x, y, a, b);
      case OpNumber.MOD -> (a & 1) != 0 && y == 0 ? 0 : Arith.modulo(x, y, b);
      case OpNumber.DIV_REAL -> Operations.divideReal(x, y, a);
      case OpNumber.POWER_REAL -> Arith.real((float) Operations.power(Arith.real(x), Arith.lreal(y)));
      case OpNumber.DIV_LREAL -> Operations.divideLreal(x, y, a);
      case OpNumber.POWER_LREAL -> Arith.lreal(Operations.power(Arith.lreal(x), Arith.lreal(y)));
      case OpNumber.SCALE -> Arith.scale(x, Arith.lreal(y));
      case OpNumber.UNSCALE -> Arith.unscale(x, Arith.lreal(y));
      case OpNumber.SHL -> Arith.shiftLeft(x, y, b);
      case OpNumber.SHR -> Arith.shiftRight(x, y, b);
      case OpNumber.ROL -> Arith.rotateLeft(x, y, b);
      case OpNumber.ROR -> Arith.rotateRight(x, y, b);
      case OpNumber.LT_UNSIGNED -> Long.compareUnsigned(x, y) < 0 ? 1 : 0;
      case OpNumber.LE_UNSIGNED -> Long.compareUnsigned(x, y) <= 0 ? 1 : 0;
      case OpNumber.GT_UNSIGNED -> Long.compareUnsigned(x, y) > 0 ? 1 : 0;
      case OpNumber.GE_UNSIGNED -> Long.compareUnsigned(x, y) >= 0 ? 1 : 0;
      case OpNumber.COMPARE_REAL -> Operations.compare(Arith.real(x), Arith.real(y), a);
      case OpNumber.COMPARE_LREAL -> Operations.compare(Arith.lreal(x), Arith.lreal(y), a);
      case OpNumber.MAX -> Operations.less(x, y, a) ? y : x;
      case OpNumber.MIN -> Operations.less(y, x, a) ? y : x;
      default -> throw new IllegalArgumentException("operation " + operation + " has not two operands");
    };
  }
}
