package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import org.objectweb.asm.Label;
import org.objectweb.asm.Opcodes;

/** Makes values of values: arithmetic, logic, comparison, conversion, with the bounds of the results. Nothing here fails. */
final class Operators implements Opcodes, Value.Integers {
  private final Asm m;

  Operators(Asm m) {
    this.m = m;
  }

  // ---- making ----

  Value constant(long slot) {
    return new Value(Rep.LONG, slot, slot, false, false, true, "c" + slot, null).with(this);
  }

  /** A local variable of the JVM; {@code reads}: it follows a slot of memory. */
  Value local(Rep rep, int index, long low, long high, boolean dirty, boolean reads, String name) {
    return new Value(rep, low, high, dirty, reads, !reads, name, () -> m.load(rep, index)).with(this);
  }

  Value computed(Rep rep, long low, long high, boolean reads, String name, Runnable code) {
    return new Value(rep, low, high, false, reads, false, name != null && name.length() > 120 ? null : name, code).with(this);
  }

  private Value dirty(boolean reads, Runnable code) {
    return new Value(Rep.LONG, 0, 1, true, reads, false, null, code).with(this);
  }

  Value dirtyBit(Runnable code) {
    return dirty(false, code);
  }

  private static String name(String op, Value x, Value y) {
    return x.name() == null || y.name() == null ? null : "(" + x.name() + op + y.name() + ")";
  }

  Value address(Place p) {
    Value v = computed(Rep.INT, 0, Integer.MAX_VALUE, p.moving() != null && p.moving().reads, null, () -> slot(p));
    v.place = p;
    return v;
  }

  /** An address of a bit of an area. */
  Value bitAddress(int area, Value bit) {
    Value v = computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, bit.reads, null, () -> {
      push(bit, Rep.INT);
      m.insn(I2L);
      m.longValue(Address.located(" IQM".charAt(area), 0));
      m.insn(LADD);
    });
    v.area = area;
    v.bit = bit;
    return v;
  }

  // ---- pushing ----

  /** Pushes the number of a slot. */
  void slot(Place p) {
    int offset = p.offset();
    if (p.root() == Place.Root.ABSOLUTE) {
      if (p.moving() == null) {
        m.integer(offset);
        return;
      }
      push(p.moving(), Rep.INT);
    } else {
      m.local(ILOAD, p.root() == Place.Root.SELF ? MethodWriter.SELF : MethodWriter.FRAME);
      if (p.moving() != null) {
        push(p.moving(), Rep.INT);
        m.insn(IADD);
      }
    }
    if (offset != 0) {
      m.integer(offset);
      m.insn(IADD);
    }
  }

  /** Pushes a value in a form; a truth value as 0 or 1. */
  void push(Value v, Rep want) {
    if (v.isConstant()) {
      switch (want) {
        case INT -> m.integer((int) v.low);
        case LONG -> m.longValue(v.low);
        case FLOAT -> m.floatValue(Float.intBitsToFloat((int) v.low));
        case DOUBLE -> m.doubleValue(Double.longBitsToDouble(v.low));
      }
      return;
    }
    if (v.complement != null) {
      raw(v.complement);
      if (v.complement.dirty) {
        m.longValue(-1);
        m.insn(LXOR);
        m.insn(LCONST_1);
        m.insn(LAND);
      } else {
        m.insn(LCONST_1);
        m.insn(LXOR);
      }
      change(Rep.LONG, want);
      return;
    }
    v.push();
    if (v.dirty) {
      m.insn(LCONST_1);
      m.insn(LAND);
    }
    change(v.rep, want);
  }

  /** Pushes a truth value as a long of which only the lowest bit counts. */
  void raw(Value v) {
    if (v.isConstant() || v.rep != Rep.LONG) {
      push(v, Rep.LONG);
    } else if (v.complement != null) {
      raw(v.complement);
      m.longValue(-1);
      m.insn(LXOR);
    } else {
      v.push();
    }
  }

  private static boolean isDirty(Value v) {
    return v.dirty || v.complement != null;
  }

  /** What lies on the stack of the JVM in one form gets another. */
  void change(Rep from, Rep to) {
    if (from == to) {
      return;
    }
    switch (from) {
      case INT -> {
        if (to == Rep.FLOAT) {
          m.call("java/lang/Float", "intBitsToFloat", "(I)F");
          return;
        }
        m.insn(I2L);
      }
      case FLOAT -> {
        m.call("java/lang/Float", "floatToRawIntBits", "(F)I");
        if (to == Rep.INT) {
          return;
        }
        m.insn(I2L);
      }
      case DOUBLE -> m.call("java/lang/Double", "doubleToRawLongBits", "(D)J");
      case LONG -> {
        // already the slot as it lies in memory
      }
    }
    switch (to) {
      case INT -> m.insn(L2I);
      case FLOAT -> {
        m.insn(L2I);
        m.call("java/lang/Float", "intBitsToFloat", "(I)F");
      }
      case DOUBLE -> m.call("java/lang/Double", "longBitsToDouble", "(J)D");
      case LONG -> {
        // there
      }
    }
  }

  // ---- integers ----

  private static long saturated(double d) {
    return d >= 0x1p62 ? Long.MAX_VALUE : d <= -0x1p62 ? Long.MIN_VALUE : (long) d;
  }

  private static boolean open(Value v) {
    return v.low <= -1L << 61 || v.high >= 1L << 61;
  }

  @Override
  public Value times(Value x, int by) {
    if (x.isConstant()) {
      return constant(x.low * by);
    }
    if (by == 1 && x.rep == Rep.INT) {
      return x;
    }
    String name = x.name() == null ? null : x.name() + "*" + by;
    return computed(Rep.INT, Math.min(x.low * by, x.high * by), Math.max(x.low * by, x.high * by), !x.settled, name, () -> {
      push(x, Rep.INT);
      if (by != 1) {
        m.integer(by);
        m.insn(IMUL);
      }
    });
  }

  @Override
  public Value plus(Value x, Value y) {
    return computed(Rep.INT, x.low + y.low, x.high + y.high, !x.settled || !y.settled, name("+", x, y), () -> {
      push(x, Rep.INT);
      push(y, Rep.INT);
      m.insn(IADD);
    });
  }

  /** Sum, difference or product; wraps. */
  Value arithmetic(Op op, Value x, Value y, int kind) {
    long low;
    long high;
    if (open(x) || open(y)) {
      low = Long.MIN_VALUE;
      high = Long.MAX_VALUE;
    } else if (op == Op.ADD) {
      low = x.low + y.low;
      high = x.high + y.high;
    } else if (op == Op.SUB) {
      low = x.low - y.high;
      high = x.high - y.low;
    } else {
      double a = (double) x.low * y.low;
      double b = (double) x.low * y.high;
      double c = (double) x.high * y.low;
      double d = (double) x.high * y.high;
      double least = Math.min(Math.min(a, b), Math.min(c, d));
      double greatest = Math.max(Math.max(a, b), Math.max(c, d));
      // Beyond 2^53 doubles are not exact: then nothing is claimed.
      low = least < -0x1p52 ? Long.MIN_VALUE : saturated(least);
      high = greatest > 0x1p52 ? Long.MAX_VALUE : saturated(greatest);
    }
    if (x.isConstant() && y.isConstant()) {
      return constant(Arith.wrap(op == Op.ADD ? x.low + y.low : op == Op.SUB ? x.low - y.low : x.low * y.low, kind));
    }
    boolean fits = low >= Rep.least(kind) && high <= Rep.greatest(kind) && low > Long.MIN_VALUE && high < Long.MAX_VALUE;
    boolean reads = x.reads || y.reads;
    int opcode = op == Op.ADD ? IADD : op == Op.SUB ? ISUB : IMUL;
    String name = name(op == Op.ADD ? "+" : op == Op.SUB ? "-" : "*", x, y);
    name = name == null ? null : name + (fits ? "" : "k" + kind);
    boolean narrow = Rep.width(kind) <= 32 && (Rep.of(kind) == Rep.INT || fits && high <= Integer.MAX_VALUE);
    if (narrow) {
      Runnable code = () -> {
        push(x, Rep.INT);
        push(y, Rep.INT);
        m.insn(opcode);
        if (!fits) {
          narrow(kind);
        }
      };
      return computed(Rep.INT, fits ? low : Rep.least(kind), fits ? high : Rep.greatest(kind), reads, name, code);
    }
    Runnable code = () -> {
      push(x, Rep.LONG);
      push(y, Rep.LONG);
      m.insn(opcode + 1);
      if (!fits) {
        wrapLong(kind);
      }
    };
    return computed(Rep.LONG, fits ? low : Rep.least(kind), fits ? high : Rep.greatest(kind), reads, name, code);
  }

  /** int -- int in the range of a kind of at most 32 bits that fits in an int. */
  private void narrow(int kind) {
    switch (Arith.kind(kind)) {
      case SINT -> m.insn(I2B);
      case INT -> m.insn(I2S);
      case USINT, BYTE -> {
        m.integer(255);
        m.insn(IAND);
      }
      case UINT, WORD -> m.insn(I2C);
      case DINT -> {
        // the width of an int
      }
      default -> throw new IllegalStateException("kind " + kind + " does not fit in an int");
    }
  }

  private void wrapLong(int kind) {
    int width = Rep.width(kind);
    if (width == 64) {
      return;
    }
    ElementaryType t = Arith.kind(kind);
    if (t.family() == ElementaryType.Family.SIGNED) {
      m.insn(L2I);
      narrow(kind);
      m.insn(I2L);
    } else {
      m.longValue((1L << width) - 1);
      m.insn(LAND);
    }
  }

  /** The low bits of a value in a kind of integers or bits. */
  Value wrapped(Value x, int kind) {
    if (x.within(Rep.least(kind), Rep.greatest(kind)) || Rep.width(kind) == 64) {
      return x;
    }
    if (x.isConstant()) {
      return constant(Arith.wrap(x.low, kind));
    }
    String name = x.name() == null ? null : x.name() + "w" + kind;
    if (Rep.of(kind) == Rep.INT) {
      return computed(Rep.INT, Rep.least(kind), Rep.greatest(kind), x.reads, name, () -> {
        push(x, Rep.INT);
        narrow(kind);
      });
    }
    return computed(Rep.LONG, Rep.least(kind), Rep.greatest(kind), x.reads, name, () -> {
      push(x, Rep.LONG);
      wrapLong(kind);
    });
  }

  Value negated(Value x, int kind) {
    return arithmetic(Op.SUB, constant(0), x, kind);
  }

  /** Quotient or remainder by a constant above 0; of no kind that reaches beyond the signed numbers. */
  Value divided(Op op, Value x, Value by) {
    long n = by.low;
    long low;
    long high;
    if (op == Op.DIV) {
      low = x.low / n;
      high = x.high / n;
    } else {
      low = x.low >= 0 ? 0 : Math.max(x.low, 1 - n);
      high = x.high <= 0 ? 0 : Math.min(x.high, n - 1);
    }
    boolean narrow = x.fitsInt() && n <= Integer.MAX_VALUE;
    Rep rep = narrow ? Rep.INT : Rep.LONG;
    return computed(rep, low, high, x.reads, name(op == Op.DIV ? "/" : "%", x, by), () -> {
      push(x, rep);
      push(by, rep);
      m.insn(op == Op.DIV ? (narrow ? IDIV : LDIV) : narrow ? IREM : LREM);
    });
  }

  Value extreme(boolean greatest, Value x, Value y) {
    boolean narrow = x.fitsInt() && y.fitsInt();
    Rep rep = narrow ? Rep.INT : Rep.LONG;
    long low = greatest ? Math.max(x.low, y.low) : Math.min(x.low, y.low);
    long high = greatest ? Math.max(x.high, y.high) : Math.min(x.high, y.high);
    return computed(rep, low, high, x.reads || y.reads, null, () -> {
      push(x, rep);
      push(y, rep);
      m.call("java/lang/Math", greatest ? "max" : "min", narrow ? "(II)I" : "(JJ)J");
    });
  }

  Value absolute(Value x, int kind) {
    // -least wraps to itself in every signed kind; the callers exclude it where that is a fault.
    if (x.low >= 0) {
      return x;
    }
    Value minus = negated(x, kind);
    Rep rep = Rep.of(kind);
    boolean whole = x.low > Rep.least(kind);
    return computed(rep, whole ? 0 : Rep.least(kind), Rep.greatest(kind), x.reads, null, () -> {
      Label positive = new Label();
      push(x, rep);
      m.insn(rep == Rep.INT ? DUP : DUP2);
      if (rep == Rep.LONG) {
        m.insn(LCONST_0);
        m.insn(LCMP);
      }
      m.jump(IFGE, positive);
      m.insn(rep == Rep.INT ? POP : POP2);
      push(minus, rep);
      m.label(positive);
    });
  }

  // ---- reals ----

  Value real(int opcode, Rep rep, Value x, Value y) {
    return computed(rep, Long.MIN_VALUE, Long.MAX_VALUE, x.reads || y.reads, null, () -> {
      push(x, rep);
      push(y, rep);
      m.insn(opcode);
    });
  }

  Value real(int opcode, Rep rep, Value x) {
    return computed(rep, Long.MIN_VALUE, Long.MAX_VALUE, x.reads, null, () -> {
      push(x, rep);
      m.insn(opcode);
    });
  }

  Value realCall(String method, Rep rep, Value x) {
    return computed(rep, Long.MIN_VALUE, Long.MAX_VALUE, x.reads, null, () -> {
      push(x, rep);
      m.call("java/lang/Math", method, rep == Rep.DOUBLE ? "(D)D" : "(F)F");
    });
  }

  // ---- bit strings ----

  Value logic(Op op, Value x, Value y) {
    boolean and = op == Op.AND || op == Op.CONTACT;
    if (x.isConstant() && y.isConstant()) {
      return constant(and ? x.low & y.low : op == Op.OR ? x.low | y.low : x.low ^ y.low);
    }
    boolean truth = x.within(0, 1) && y.within(0, 1);
    if (truth) {
      Value fixed = x.isConstant() ? x : y.isConstant() ? y : null;
      Value other = fixed == x ? y : x;
      if (fixed != null) {
        // TRUE AND, FALSE OR, FALSE XOR: nothing to compute
        if (fixed.low == (and ? 1 : 0)) {
          return other;
        }
        if (op == Op.XOR) {
          return not(other);
        }
        return fixed;
      }
      return truth(op, and, x, y);
    }
    boolean narrow = x.fitsInt() && y.fitsInt();
    Rep rep = narrow ? Rep.INT : Rep.LONG;
    long low = narrow ? Integer.MIN_VALUE : Long.MIN_VALUE;
    long high = narrow ? Integer.MAX_VALUE : Long.MAX_VALUE;
    if (x.low >= 0 && y.low >= 0) {
      low = 0;
      long all = x.high | y.high;
      high = and ? Math.min(x.high, y.high) : all == 0 ? 0 : (Long.highestOneBit(all) << 1) - 1;
      high = high < 0 ? Long.MAX_VALUE : high;
    } else if (and && (x.low >= 0 || y.low >= 0)) {
      low = 0;
      high = x.low >= 0 ? x.high : y.high;
    }
    int opcode = and ? IAND : op == Op.OR ? IOR : IXOR;
    return computed(rep, low, high, x.reads || y.reads, name(and ? "&" : op == Op.OR ? "|" : "^", x, y), () -> {
      push(x, rep);
      push(y, rep);
      m.insn(narrow ? opcode : opcode + 1);
    });
  }

  private Value truth(Op op, boolean and, Value x, Value y) {
    boolean dirty = and ? isDirty(x) && isDirty(y) : isDirty(x) || isDirty(y);
    boolean reads = x.reads || y.reads;
    int opcode = and ? LAND : op == Op.OR ? LOR : LXOR;
    Runnable code = () -> {
      raw(x);
      raw(y);
      m.insn(opcode);
    };
    Value v = dirty ? dirty(reads, code) : computed(Rep.LONG, 0, 1, reads, null, code);
    if (op != Op.XOR && (x.condition != null || y.condition != null)) {
      v.condition = (when, target) -> {
        if (and != when) {
          // leaves as soon as one decides
          jump(x, when, target);
          jump(y, when, target);
        } else {
          Label stay = new Label();
          jump(x, !when, stay);
          jump(y, when, target);
          m.label(stay);
        }
      };
    }
    return v;
  }

  Value not(Value x) {
    if (x.isConstant()) {
      return constant(x.low ^ 1);
    }
    if (x.complement != null) {
      return x.complement;
    }
    Value v = computed(Rep.LONG, 0, 1, x.reads, null, () -> {
      raw(x);
      m.insn(LCONST_1);
      m.insn(LXOR);
    });
    v.complement = x;
    if (x.condition != null) {
      v.condition = (when, target) -> x.condition.jump(!when, target);
    }
    return v;
  }

  Value not(Value x, int kind) {
    if (kind == Rep.BOOL) {
      return not(x);
    }
    long mask = Rep.width(kind) == 64 ? -1 : (1L << Rep.width(kind)) - 1;
    return logic(Op.XOR, x, constant(mask));
  }

  /** Shift by a constant below the width. */
  Value shifted(Op op, Value x, int by, int kind) {
    boolean left = op == Op.SHL;
    if (by == 0) {
      return x;
    }
    if (x.isConstant()) {
      return constant(left ? Arith.wrap(x.low << by, kind) : x.low >>> by);
    }
    boolean narrow = Rep.of(kind) == Rep.INT && x.within(0, Integer.MAX_VALUE);
    Rep rep = narrow ? Rep.INT : Rep.LONG;
    long low = left || x.low < 0 && by == 0 ? Rep.least(kind) : 0;
    long high = left ? Rep.greatest(kind) : x.low >= 0 ? x.high >> by : Long.MAX_VALUE;
    String name = x.name() == null ? null : x.name() + (left ? "<" : ">") + by + "k" + kind;
    return computed(rep, low, high, x.reads, name, () -> {
      push(x, rep);
      m.integer(by);
      m.insn(left ? (narrow ? ISHL : LSHL) : narrow ? IUSHR : LUSHR);
      if (left && narrow) {
        narrow(kind);
      } else if (left) {
        wrapLong(kind);
      }
    });
  }

  /** Part of a bit string. */
  Value part(Value x, int offset, int width) {
    if (x.isConstant()) {
      return constant(x.low >>> offset & (width == 64 ? -1L : (1L << width) - 1));
    }
    if (width == 1) {
      return dirty(x.reads, () -> {
        push(x, Rep.LONG);
        if (offset > 0) {
          m.integer(offset);
          m.insn(LUSHR);
        }
      });
    }
    return computed(width < 32 ? Rep.INT : Rep.LONG, width == 64 ? Long.MIN_VALUE : 0, width == 64 ? Long.MAX_VALUE : (1L << width) - 1, x.reads, null, () -> {
      push(x, Rep.LONG);
      if (offset > 0) {
        m.integer(offset);
        m.insn(LUSHR);
      }
      if (width < 32) {
        m.insn(L2I);
        m.integer((1 << width) - 1);
        m.insn(IAND);
      } else if (offset + width < 64) {
        m.longValue((1L << width) - 1);
        m.insn(LAND);
      }
    });
  }

  /** A bit string with a part replaced. */
  Value withPart(Value x, Value part, int offset, int width) {
    long mask = (width == 64 ? -1L : (1L << width) - 1) << offset;
    return computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, x.reads || part.reads, null, () -> {
      push(x, Rep.LONG);
      m.longValue(~mask);
      m.insn(LAND);
      push(part, Rep.LONG);
      if (offset > 0) {
        m.integer(offset);
        m.insn(LSHL);
      }
      m.longValue(mask);
      m.insn(LAND);
      m.insn(LOR);
    });
  }

  // ---- conditions ----

  /** Jumps when a truth value is {@code when}. */
  void jump(Value v, boolean when, Label target) {
    if (v.isConstant()) {
      if (v.low != 0 == when) {
        m.jump(GOTO, target);
      }
      return;
    }
    if (v.condition != null) {
      v.condition.jump(when, target);
      return;
    }
    if (v.complement != null) {
      jump(v.complement, !when, target);
      return;
    }
    if (v.rep == Rep.INT) {
      v.push();
      m.jump(when ? IFNE : IFEQ, target);
      return;
    }
    push(v, Rep.LONG);
    m.insn(LCONST_0);
    m.insn(LCMP);
    m.jump(when ? IFNE : IFEQ, target);
  }

  private Value condition(boolean reads, Value.Condition condition, Runnable code) {
    Value v = computed(Rep.LONG, 0, 1, reads, null, code != null ? code : () -> {
      Label yes = new Label();
      Label done = new Label();
      condition.jump(true, yes);
      m.insn(LCONST_0);
      m.jump(GOTO, done);
      m.label(yes);
      m.insn(LCONST_1);
      m.label(done);
    });
    v.condition = condition;
    return v;
  }

  /** 0: =, 1: <>, 2: <, 3: <=, 4: >, 5: >=. */
  static int operator(Op op) {
    return switch (op) {
      case EQ -> 0;
      case NE -> 1;
      case LT, LT_UNSIGNED -> 2;
      case LE, LE_UNSIGNED -> 3;
      case GT, GT_UNSIGNED -> 4;
      case GE, GE_UNSIGNED -> 5;
      default -> throw new IllegalStateException(op + " is no comparison");
    };
  }

  private static int jumpIf(int operator) {
    return switch (operator) {
      case 0 -> IFEQ;
      case 1 -> IFNE;
      case 2 -> IFLT;
      case 3 -> IFLE;
      case 4 -> IFGT;
      case 5 -> IFGE;
      default -> throw new IllegalStateException("comparison " + operator);
    };
  }

  /** 1 or 0 when the bounds decide a comparison, else -1. */
  private static int decided(int operator, Value x, Value y) {
    boolean less = x.high < y.low;
    boolean atMost = x.high <= y.low;
    boolean greater = x.low > y.high;
    boolean atLeast = x.low >= y.high;
    return switch (operator) {
      case 0 -> less || greater ? 0 : x.low == x.high && y.low == y.high && x.low == y.low ? 1 : -1;
      case 1 -> less || greater ? 1 : x.low == x.high && y.low == y.high && x.low == y.low ? 0 : -1;
      case 2 -> less ? 1 : atLeast ? 0 : -1;
      case 3 -> atMost ? 1 : greater ? 0 : -1;
      case 4 -> greater ? 1 : atMost ? 0 : -1;
      case 5 -> atLeast ? 1 : less ? 0 : -1;
      default -> throw new IllegalStateException("comparison " + operator);
    };
  }

  private static boolean bounded(Value v) {
    return v.rep == Rep.INT || v.rep == Rep.LONG;
  }

  /** Slots as signed numbers. */
  Value compared(int operator, Value x, Value y) {
    if (bounded(x) && bounded(y)) {
      int known = decided(operator, x, y);
      if (known >= 0) {
        return constant(known);
      }
      if (operator < 2 && x.within(0, 1) && y.within(0, 1)) {
        Value differs = logic(Op.XOR, x, y);
        return operator == 1 ? differs : not(differs);
      }
    }
    boolean narrow = x.fitsInt() && y.fitsInt();
    boolean reads = x.reads || y.reads;
    Value.Condition condition = (when, target) -> {
      int jump = jumpIf(operator);
      jump = when ? jump : Asm.opposite(jump);
      if (narrow) {
        push(x, Rep.INT);
        if (y.isConstant() && y.low == 0) {
          m.jump(jump, target);
        } else {
          push(y, Rep.INT);
          m.jump(jump + (IF_ICMPEQ - IFEQ), target);
        }
      } else {
        push(x, Rep.LONG);
        push(y, Rep.LONG);
        m.insn(LCMP);
        m.jump(jump, target);
      }
    };
    boolean shift = operator >= 2 && x.rep != Rep.FLOAT && x.rep != Rep.DOUBLE && !open(x) && !open(y);
    Value v;
    if (shift && (operator == 3 || operator == 5)) {
      // x <= y is NOT (x > y)
      Value opposite = sign(operator == 3 ? y : x, operator == 3 ? x : y, reads);
      opposite.condition = (when, target) -> condition.jump(!when, target);
      v = not(opposite);
    } else if (shift) {
      v = sign(operator == 2 ? x : y, operator == 2 ? y : x, reads);
      v.condition = condition;
    } else {
      v = condition(reads, condition, null);
    }
    v.comparison = new Value.Comparison(operator, x, y);
    return v;
  }

  /** x < y, from the sign of the difference: without a branch. */
  private Value sign(Value x, Value y, boolean reads) {
    return computed(Rep.LONG, 0, 1, reads, null, () -> {
      push(x, Rep.LONG);
      push(y, Rep.LONG);
      m.insn(LSUB);
      m.integer(63);
      m.insn(LUSHR);
    });
  }

  Value comparedUnsigned(int operator, Value x, Value y) {
    if (bounded(x) && bounded(y) && x.low >= 0 && y.low >= 0) {
      return compared(operator, x, y);
    }
    return condition(x.reads || y.reads, (when, target) -> {
      push(x, Rep.LONG);
      push(y, Rep.LONG);
      m.call("java/lang/Long", "compareUnsigned", "(JJ)I");
      int jump = jumpIf(operator);
      m.jump(when ? jump : Asm.opposite(jump), target);
    }, null);
  }

  Value comparedReal(Rep rep, int operator, Value x, Value y) {
    // With NaN every comparison but <> is FALSE: < and <= need the variant that gives 1, > and >= the one that gives -1.
    boolean less = operator == 2 || operator == 3;
    int compare = rep == Rep.FLOAT ? (less ? FCMPG : FCMPL) : less ? DCMPG : DCMPL;
    return condition(x.reads || y.reads, (when, target) -> {
      push(x, rep);
      push(y, rep);
      m.insn(compare);
      int jump = jumpIf(operator);
      m.jump(when ? jump : Asm.opposite(jump), target);
    }, null);
  }

  Value selected(Value g, Value x, Value y) {
    if (g.isConstant()) {
      return g.low != 0 ? y : x;
    }
    Rep rep;
    if (x.fitsInt() && y.fitsInt() && (x.rep == Rep.INT || y.rep == Rep.INT)) {
      rep = Rep.INT;
    } else if (x.rep == y.rep || y.isConstant() && x.rep != Rep.INT) {
      rep = x.rep;
    } else {
      rep = x.isConstant() && y.rep != Rep.INT ? y.rep : Rep.LONG;
    }
    return computed(rep, Math.min(x.low, y.low), Math.max(x.high, y.high), g.reads || x.reads || y.reads, null, () -> {
      Label yes = new Label();
      Label done = new Label();
      jump(g, true, yes);
      push(x, rep);
      m.jump(GOTO, done);
      m.label(yes);
      push(y, rep);
      m.label(done);
    });
  }

  // ---- conversions ----

  /** A conversion that cannot fail; null if this one may, or is not worth a form of its own. */
  Value converted(Value x, int from, int to) {
    ElementaryType source = Arith.kind(from);
    ElementaryType target = Arith.kind(to);
    ElementaryType.Family f = source.family();
    boolean integer = f == ElementaryType.Family.SIGNED || f == ElementaryType.Family.UNSIGNED;
    if (from == to || f == ElementaryType.Family.DURATION || f == ElementaryType.Family.DATE || f == ElementaryType.Family.TIME_OF_DAY) {
      return x;
    }
    if (integer && target.isReal() && (f == ElementaryType.Family.SIGNED || source.bits() < 64)) {
      boolean narrow = x.fitsInt();
      Rep rep = Rep.of(to);
      return computed(rep, Long.MIN_VALUE, Long.MAX_VALUE, x.reads, null, () -> {
        push(x, narrow ? Rep.INT : Rep.LONG);
        m.insn(rep == Rep.FLOAT ? (narrow ? I2F : L2F) : narrow ? I2D : L2D);
      });
    }
    if (source == ElementaryType.REAL && target == ElementaryType.LREAL) {
      return computed(Rep.DOUBLE, Long.MIN_VALUE, Long.MAX_VALUE, x.reads, null, () -> {
        push(x, Rep.FLOAT);
        m.insn(F2D);
      });
    }
    if (integer && target.isBits()) {
      // the bits of the source's width, zeros in front
      Value bits = f == ElementaryType.Family.SIGNED && source.bits() < 64 && x.low < 0
          ? wrapped(x, unsigned(Math.min(source.bits(), target.bits()))) : x;
      return wrapped(bits, to);
    }
    if (source.isBits() && (target.isBits() || target.isInteger())) {
      return wrapped(x, to);
    }
    if (integer && target.isInteger() && from != ElementaryType.ULINT.ordinal() && to != ElementaryType.ULINT.ordinal()
        && x.within(Rep.least(to), Rep.greatest(to))) {
      return x;
    }
    if (from == ElementaryType.ULINT.ordinal() && target.isInteger() && x.low >= 0 && (target.bits() == 64 || x.high <= Rep.greatest(to))) {
      return x;
    }
    if (to == ElementaryType.ULINT.ordinal() && integer && x.low >= 0) {
      return x;
    }
    return null;
  }

  private static int unsigned(int bits) {
    return (switch (bits) {
      case 1 -> ElementaryType.BOOL;
      case 8 -> ElementaryType.BYTE;
      case 16 -> ElementaryType.WORD;
      case 32 -> ElementaryType.DWORD;
      default -> throw new IllegalStateException("width " + bits);
    }).ordinal();
  }

  // ---- areas ----

  /** The value at a bit of an area that lies in a byte array: {@code address} pushes the array and the bit's number. */
  Value located(int kind, Runnable address) {
    int width = Rep.width(kind);
    ElementaryType t = Arith.kind(kind);
    boolean signed = t.family() == ElementaryType.Family.SIGNED || t == ElementaryType.REAL;
    Rep rep = width > 1 && width < 32 || signed && width == 32 && t != ElementaryType.REAL ? Rep.INT : Rep.LONG;
    return computed(rep, Rep.least(kind), Rep.greatest(kind), true, null, () -> {
      address.run();
      m.call(MethodWriter.SUPPORT, width == 1 ? "bit" : "get" + width, "([BI)J");
      if (width > 1 && width < 32) {
        m.insn(L2I);
        if (signed) {
          m.insn(width == 8 ? I2B : I2S);
        }
      } else if (signed && width == 32) {
        m.insn(L2I);
        if (t == ElementaryType.REAL) {
          m.insn(I2L);
        }
      }
    });
  }

  static boolean isLocated(Value v) {
    return v.isConstant() && Address.isLocated(v.low);
  }
}
