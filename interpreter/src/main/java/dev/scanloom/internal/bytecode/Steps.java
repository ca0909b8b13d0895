package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices;
import java.util.stream.IntStream;
import org.objectweb.asm.Label;
import org.objectweb.asm.Opcodes;

/** Translates single steps for a {@link MethodWriter}. Steps that can fail or have effects are written at once, the others become values. */
final class Steps implements Opcodes {
  private static final String ARITH = "dev/scanloom/internal/value/Arith";
  private static final String OPERATIONS = "dev/scanloom/internal/exec/Operations";

  /** Operands nested deeper are computed: writing them takes stack of this thread. */
  private static final int DEEPEST = 40;

  private final MethodWriter w;
  private final Code code;
  private final ImplementerChoices choices;

  Steps(MethodWriter w) {
    this.w = w;
    this.code = w.code;
    this.choices = code.choices();
  }

  /** False: control does not go on behind the step, or has been led on. */
  boolean translate(Op op, int a, int b) {
    int operands = op.pops(a);
    int depth = 0;
    for (int i = 0; i < operands; i++) {
      depth = Math.max(depth, w.peek(i).depth);
    }
    boolean open = step(op, a, b);
    if (open && op.pushes() == 1 && operands > 0) {
      Value made = w.peek(0);
      if (!made.settled) {
        made.depth = Math.max(made.depth, depth + 1);
        if (made.depth > DEEPEST) {
          w.push(w.settle(w.pop()));
        }
      }
    }
    return open;
  }

  private boolean step(Op op, int a, int b) {
    Operators v = w.values;
    switch (op) {
      case CONST -> w.push(constant(code.pool[a]));
      case ADDRESS_SELF -> w.push(v.address(w.self(a)));
      case ADDRESS_FRAME -> w.push(v.address(w.frame(a)));
      case LOAD_SELF -> w.push(w.read(w.self(a), b));
      case LOAD_FRAME -> w.push(w.read(w.frame(a), b));
      case LOAD_STATIC -> w.push(w.read(Place.at(Place.Root.ABSOLUTE, a), b));
      case STORE_SELF -> w.write(w.self(a), b);
      case STORE_FRAME -> w.write(w.frame(a), b);
      case STORE_STATIC -> w.write(Place.at(Place.Root.ABSOLUTE, a), b);
      case LOAD_TEMP -> w.push(w.readTemporary(a));
      case STORE_TEMP -> w.writeTemporary(a);
      case LOAD_LOCATED -> loadLocated(code.pool[a], b);
      case STORE_LOCATED -> storeLocated(code.pool[a], b);
      case LOAD_INDIRECT -> loadIndirect(b);
      case STORE_INDIRECT -> storeIndirect(b);
      case CHECK_NULL -> {
        if (w.peek(0).place == null && w.peek(0).bit == null && !Operators.isLocated(w.peek(0))) {
          calls(1, Rep.LONG, OPERATIONS, "checkNull", "(J)J");
        }
      }
      case OFFSET -> offset(a);
      case INDEX -> index(a);
      case OPEN_INDEX -> openIndex(a, b);
      case OPEN_END -> {
        Value position = w.settle(w.pop());
        Value address = w.settle(w.pop());
        w.push(v.computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, address.reads || position.reads, null, () -> {
          v.push(address, Rep.LONG);
          v.push(position, Rep.LONG);
          w.m.integer(a);
          w.m.integer(b);
          w.m.call(MethodWriter.SUPPORT, "openEnd", "(JJII)J");
        }));
      }
      case DUP -> {
        Value x = w.settle(w.pop());
        w.push(x);
        w.push(x);
      }
      case DUP2 -> {
        Value y = w.settle(w.pop());
        Value x = w.settle(w.pop());
        w.push(x);
        w.push(y);
        w.push(x);
        w.push(y);
      }
      case POP -> w.pop();
      case SWAP -> {
        Value y = w.pop();
        Value x = w.pop();
        w.push(y);
        w.push(x);
      }
      case BITS_GET -> w.push(v.part(w.pop(), a, b));
      case BITS_PUT -> {
        Value part = w.pop();
        w.push(v.withPart(w.pop(), part, a, b));
      }
      case ADD, SUB, MUL -> {
        Value y = w.pop();
        w.push(v.arithmetic(op, w.pop(), y, b));
      }
      case ADD_EXACT -> exact(Op.ADD, "addExact", b);
      case SUB_EXACT -> exact(Op.SUB, "subtractExact", b);
      case MUL_EXACT -> exact(Op.MUL, "multiplyExact", b);
      case DIV, MOD -> divide(op, a, b);
      case NEG -> w.push(v.negated(w.pop(), b));
      case NEG_EXACT -> {
        Value x = w.peek(0);
        if (x.fitsInt() && -x.high >= Rep.least(b) && -x.low <= Rep.greatest(b)) {
          w.pop();
          w.push(v.negated(x, b));
        } else {
          calls(1, Rep.LONG, ARITH, "negateExact", "(JI)J", b);
        }
      }
      case ABS -> absolute(b);
      case ADD_REAL -> real(FADD, Rep.FLOAT);
      case SUB_REAL -> real(FSUB, Rep.FLOAT);
      case MUL_REAL -> real(FMUL, Rep.FLOAT);
      case ADD_LREAL -> real(DADD, Rep.DOUBLE);
      case SUB_LREAL -> real(DSUB, Rep.DOUBLE);
      case MUL_LREAL -> real(DMUL, Rep.DOUBLE);
      case DIV_REAL -> divideReal(a, Rep.FLOAT);
      case DIV_LREAL -> divideReal(a, Rep.DOUBLE);
      case NEG_REAL -> w.push(v.real(FNEG, Rep.FLOAT, w.pop()));
      case NEG_LREAL -> w.push(v.real(DNEG, Rep.DOUBLE, w.pop()));
      case SQRT_REAL -> calls(1, Rep.LONG, MethodWriter.SUPPORT, "rootReal", "(J)J");
      case SQRT_LREAL -> calls(1, Rep.LONG, MethodWriter.SUPPORT, "rootLreal", "(J)J");
      case POWER_REAL -> calls(2, Rep.LONG, MethodWriter.SUPPORT, "powerReal", "(JJ)J");
      case POWER_LREAL -> calls(2, Rep.LONG, MethodWriter.SUPPORT, "powerLreal", "(JJ)J");
      case SCALE -> calls(2, Rep.LONG, MethodWriter.SUPPORT, "scale", "(JJ)J");
      case UNSCALE -> calls(2, Rep.LONG, MethodWriter.SUPPORT, "unscale", "(JJ)J");
      case AND, OR, XOR, CONTACT -> {
        Value y = w.pop();
        w.push(v.logic(op, w.pop(), y));
      }
      case NOT -> w.push(v.not(w.pop(), b));
      case SHL, SHR -> {
        Value n = w.peek(0);
        if (n.isConstant() && n.low >= 0 && n.low < Rep.width(b)) {
          w.pop();
          w.push(v.shifted(op, w.pop(), (int) n.low, b));
        } else {
          calls(2, Rep.LONG, ARITH, op == Op.SHL ? "shiftLeft" : "shiftRight", "(JJI)J", b);
        }
      }
      case ROL, ROR -> calls(2, Rep.LONG, ARITH, op == Op.ROL ? "rotateLeft" : "rotateRight", "(JJI)J", b);
      case EQ, NE, LT, LE, GT, GE -> {
        Value y = w.pop();
        Value x = w.pop();
        w.compares(x, y);
        w.push(v.compared(Operators.operator(op), x, y));
      }
      case LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED -> {
        Value y = w.pop();
        Value x = w.pop();
        w.compares(x, y);
        w.push(v.comparedUnsigned(Operators.operator(op), x, y));
      }
      case COMPARE_REAL, COMPARE_LREAL -> {
        Value y = w.pop();
        w.push(v.comparedReal(op == Op.COMPARE_REAL ? Rep.FLOAT : Rep.DOUBLE, a, w.pop(), y));
      }
      case MAX, MIN -> extreme(op, a);
      case SELECT -> {
        Value y = w.pop();
        Value x = w.pop();
        w.push(v.selected(w.pop(), x, y));
      }
      case MUX -> mux(a);
      case CONVERT -> convert(a);
      case RANGE -> range(code.pool[a], code.pool[a + 1], b);
      case CLEAR -> clear(a, b);
      case JUMP -> {
        return true; // the way on is the block's
      }
      case JUMP_FALSE, JUMP_TRUE -> {
        w.branch(w.pop(), op == Op.JUMP_TRUE);
        return false;
      }
      case CALL -> call(a, b, null, false);
      case CALL_ON -> {
        Value instance = w.pop();
        call(a, b, instance, false);
      }
      case CALL_DYNAMIC -> call(a, b, w.pop(), true);
      case RETURN -> {
        if (w.block().next != null) {
          return true;
        }
        w.leave(w.made() + 1);
        return false;
      }
      case GUARD -> {
        guarded();
        return false;
      }
      case UNGUARD -> throw new IllegalStateException("UNGUARD outside a guarded stretch");
      case TASK_TIME -> taskTime();
      case ELEMENT -> {
        // reports only
      }
      case TYPE_TEST, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, NATIVE, ASSERT, TAKE, WAIT, GIVE ->
        single(op);
    }
    return true;
  }

  /** A known slot value, maybe the address of a bit of an area. */
  Value constant(long slot) {
    Value c = w.values.constant(slot);
    if (Address.isLocated(slot) && direct(slot)) {
      c.area = Address.area(slot);
      c.bit = w.values.constant(Address.bit(slot));
    }
    return c;
  }

  /** Nothing watches this area where an address of it leads. */
  private boolean direct(long address) {
    int area = Address.area(address);
    return area >= 1 && !(area == 1 && w.program.watchesReads()) && !(area == 2 && w.program.watchesWrites());
  }

  /** A step that may fail, as a call: its operands are slots, {@code more} follow them. */
  private void calls(int operands, Rep result, String owner, String method, String descriptor, int... more) {
    Value[] x = new Value[operands];
    for (int i = operands - 1; i >= 0; i--) {
      x[i] = w.pop();
    }
    w.mayFail();
    for (Value each : x) {
      w.values.push(each, Rep.LONG);
    }
    for (int each : more) {
      w.m.integer(each);
    }
    w.m.call(owner, method, descriptor);
    result(result, Long.MIN_VALUE, Long.MAX_VALUE);
  }

  /** What has just been computed goes into a local variable. */
  private void result(Rep rep, long low, long high) {
    int l = w.scratch(rep);
    w.m.store(rep, l);
    w.push(w.values.local(rep, l, low, high, false, false, null));
  }

  // ---- memory ----

  private void loadIndirect(int kind) {
    Value address = w.pop();
    if (address.place != null) {
      w.push(w.read(address.place, kind));
      return;
    }
    if (address.bit != null && !(address.isConstant() && Rep.unaligned(address.low, kind))) {
      Value bit = address.bit;
      int area = address.area;
      w.push(w.values.located(kind, () -> {
        w.area(area);
        w.values.push(bit, Rep.INT);
        if (Rep.width(kind) > 1) {
          w.m.integer(3);
          w.m.insn(IUSHR);
        }
      }));
      return;
    }
    Value known = w.settle(address);
    w.mayFail();
    if (w.program.watchesReads()) {
      w.save();
    }
    w.m.local(ALOAD, MethodWriter.RT);
    w.values.push(known, Rep.LONG);
    w.m.integer(kind);
    w.m.invoke(MethodWriter.RUN, "loadIndirect", "(JI)J");
    typed(kind);
  }

  /** A slot value on the stack of the JVM becomes an operand of its kind. */
  private void typed(int kind) {
    boolean narrow = Rep.of(kind) == Rep.INT;
    if (narrow) {
      w.m.insn(L2I);
    }
    result(narrow ? Rep.INT : Rep.LONG, Rep.least(kind), Rep.greatest(kind));
  }

  private void storeIndirect(int kind) {
    Value value = w.pop();
    Value address = w.pop();
    if (address.place != null) {
      w.push(value);
      w.write(address.place, kind);
      return;
    }
    w.settleOperands(0);
    Value x = w.settle(value);
    Value to = w.settle(address);
    w.mayFail();
    if (w.program.watchesWrites()) {
      w.save();
    }
    w.m.local(ALOAD, MethodWriter.RT);
    w.values.push(to, Rep.LONG);
    w.values.push(x, Rep.LONG);
    w.m.integer(kind);
    w.m.invoke(MethodWriter.RUN, "storeIndirect", "(JJI)V");
    w.anythingChanged();
  }

  private void offset(int by) {
    Value x = w.pop();
    if (x.place != null) {
      w.push(w.values.address(x.place.plus(by)));
    } else if (by == 0) {
      w.push(x);
    } else if (x.bit != null && !x.isConstant()) {
      w.push(w.values.bitAddress(x.area, w.values.plus(x.bit, w.values.constant(by))));
    } else if (x.isConstant()) {
      w.push(constant(x.low + by));
    } else {
      w.push(w.values.computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, x.reads, null, () -> {
        w.values.push(x, Rep.LONG);
        w.m.longValue(by);
        w.m.insn(LADD);
      }));
    }
  }

  private void index(int a) {
    long low = code.pool[a];
    long high = code.pool[a + 1];
    int stride = (int) code.pool[a + 2];
    int bits = (int) code.pool[a + 3];
    Value index = w.pop();
    Value base = w.pop();
    if (base.place != null) {
      w.push(w.values.address(base.place.element(inside(index, low, high), low, high, stride)));
    } else if (base.bit != null && (bits == 1 || base.bit.isConstant() && (base.bit.low & 7) == 0 && (bits & 7) == 0)) {
      Value part = w.values.times(inside(index, low, high), bits);
      Value first = w.values.constant((base.bit.isConstant() ? base.bit.low : 0) - low * bits);
      Value at = base.bit.isConstant() ? w.values.plus(part, first) : w.values.plus(base.bit, w.values.plus(part, first));
      w.push(at.isConstant() ? constant(Address.located(" IQM".charAt(base.area), at.low)) : w.values.bitAddress(base.area, at));
    } else {
      w.mayFail();
      w.values.push(base, Rep.LONG);
      w.values.push(index, Rep.LONG);
      w.m.longValue(low);
      w.m.longValue(high);
      w.m.longValue(stride);
      w.m.longValue(bits);
      w.m.call(MethodWriter.SUPPORT, "index", "(JJJJJJ)J");
      result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
    }
  }

  /** A subscript, checked if its bounds are not known to be within the array's. */
  private Value inside(Value index, long low, long high) {
    if (index.within(low, high) && (index.rep == Rep.INT || index.rep == Rep.LONG)) {
      return index;
    }
    Value x = w.settle(index);
    w.mayFail();
    boolean narrow = x.fitsInt();
    w.values.push(x, narrow ? Rep.INT : Rep.LONG);
    if (narrow) {
      w.m.integer((int) low);
      w.m.integer((int) high);
    } else {
      w.m.longValue(low);
      w.m.longValue(high);
    }
    w.m.call(MethodWriter.SUPPORT, "subscript", narrow ? "(III)I" : "(JJJ)I");
    int l = w.scratch(Rep.INT);
    w.m.local(ISTORE, l);
    w.between(w.facts(), x.origin != null ? x : index, low, high);
    return w.values.local(Rep.INT, l, Math.max(low, x.low), Math.min(high, x.high), false, false, x.name());
  }

  private void openIndex(int a, int b) {
    Value index = w.pop();
    Value position = w.pop();
    w.mayFail();
    w.m.local(ALOAD, MethodWriter.MEM);
    w.values.push(position, Rep.LONG);
    w.values.push(index, Rep.LONG);
    w.values.slot(b == 0 ? w.frame(a) : w.self(a));
    w.m.call(OPERATIONS, "openIndex", "([JJJI)J");
    result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
  }

  private void loadLocated(long address, int kind) {
    int area = Address.area(address);
    int bit = (int) Address.bit(address);
    if (area == 1 && w.program.watchesReads() || Rep.unaligned(address, kind)) {
      w.save();
      w.m.local(ALOAD, MethodWriter.RT);
      w.m.longValue(address);
      w.m.integer(kind);
      w.m.invoke(MethodWriter.RUN, "loadLocated", "(JI)J");
      typed(kind);
      return;
    }
    int slot = Rep.width(kind) == 1 ? w.inputBit(address) : -1;
    if (slot >= 0) {
      w.push(w.values.computed(Rep.LONG, 0, 1, false, null, () -> w.pushInputBit(slot)));
      return;
    }
    int word = Rep.width(kind) == 1 ? w.word(address) : -1;
    if (word >= 0) {
      w.push(w.values.dirtyBit(() -> {
        w.m.local(LLOAD, word);
        if ((bit & 63) != 0) {
          // One instruction where a shift would need a copy of the word first; the other bits do not matter.
          w.m.integer(bit & 63);
          w.m.call("java/lang/Long", "rotateRight", "(JI)J");
        }
      }));
      return;
    }
    w.push(w.values.located(kind, () -> {
      w.area(area);
      w.m.integer(Rep.width(kind) == 1 ? bit : bit >>> 3);
    }));
  }

  private void storeLocated(long address, int kind) {
    int width = Rep.width(kind);
    int area = Address.area(address);
    int bit = (int) Address.bit(address);
    Value x = w.pop();
    w.settleOperands(0);
    if (area == 2 && w.program.watchesWrites() || Rep.unaligned(address, kind)) {
      w.save();
      w.m.local(ALOAD, MethodWriter.RT);
      w.values.push(x, Rep.LONG);
      w.m.longValue(address);
      w.m.integer(kind);
      w.m.invoke(MethodWriter.RUN, "storeLocated", "(JJI)V");
      return;
    }
    w.area(area);
    w.m.integer(bit >>> 3);
    w.values.push(x, Rep.LONG);
    if (width == 1) {
      w.m.integer(bit & 7);
      w.m.call(MethodWriter.SUPPORT, "setBit", "([BIJI)V");
    } else {
      w.m.call(MethodWriter.SUPPORT, "set" + width, "([BIJ)V");
    }
  }

  private void clear(int offset, int slots) {
    if (slots <= 8 || w.anyPrivate(offset, slots)) {
      for (int i = 0; i < slots; i++) {
        w.push(w.values.constant(0));
        w.write(w.frame(offset + i), -1);
      }
      return;
    }
    w.settleOperands(0);
    w.m.local(ALOAD, MethodWriter.MEM);
    w.values.slot(w.frame(offset));
    w.values.slot(w.frame(offset + slots));
    w.m.insn(LCONST_0);
    w.m.call("java/util/Arrays", "fill", "([JIIJ)V");
    w.cleared(offset, slots);
  }

  // ---- arithmetic ----

  private void exact(Op op, String method, int kind) {
    Value y = w.peek(0);
    Value x = w.peek(1);
    Value r = x.fitsInt() && y.fitsInt() ? w.values.arithmetic(op, x, y, ElementaryType.LINT.ordinal()) : null;
    // Of 64 bits unsigned the bounds say nothing of the sign.
    boolean signed = kind != ElementaryType.ULINT.ordinal() || r != null && x.low >= 0 && y.low >= 0 && r.low >= 0;
    if (r != null && signed && r.within(Rep.least(kind), Rep.greatest(kind))) {
      w.pop();
      w.pop();
      w.push(w.values.arithmetic(op, x, y, kind));
      return;
    }
    calls(2, Rep.LONG, ARITH, method, "(JJI)J", kind);
  }

  private void divide(Op op, int mode, int kind) {
    Value y = w.peek(0);
    if (y.isConstant() && y.low > 0 && (Rep.width(kind) < 64 || Arith.kind(kind).family() != ElementaryType.Family.UNSIGNED || w.peek(1).low >= 0)) {
      w.pop();
      w.push(w.values.divided(op, w.pop(), y));
      return;
    }
    Value x = w.peek(1);
    boolean narrow = Rep.of(kind) == Rep.INT && x.fitsInt() && y.fitsInt() && (mode & 1) == 0 && (op == Op.MOD || y.low >= 0 || x.low > Rep.least(kind));
    if (narrow) {
      // the only failure is the division by zero; -least / -1 does not occur
      w.pop();
      w.pop();
      w.mayFail();
      w.values.push(x, Rep.INT);
      w.values.push(y, Rep.INT);
      w.m.call(MethodWriter.SUPPORT, op == Op.DIV ? "quotient" : "remainder", "(II)I");
      result(Rep.INT, Rep.least(kind), Rep.greatest(kind));
      return;
    }
    calls(2, Rep.LONG, op == Op.DIV ? OPERATIONS : MethodWriter.SUPPORT, op == Op.DIV ? "divide" : "modulo", "(JJII)J", mode, kind);
  }

  private void absolute(int kind) {
    ElementaryType t = Arith.kind(kind);
    boolean faults = choices.integerOverflow() == ImplementerChoices.Overflow.FAULT;
    if (t.isReal()) {
      w.push(w.values.realCall("abs", Rep.of(kind), w.pop()));
    } else if (t.family() == ElementaryType.Family.UNSIGNED) {
      // already
      return;
    } else if (t.family() == ElementaryType.Family.SIGNED && t.bits() <= 32 && (!faults || w.peek(0).low > Rep.least(kind))) {
      w.push(w.values.absolute(w.settle(w.pop()), kind));
    } else {
      calls(1, Rep.LONG, OPERATIONS, "absolute", "(JIZ)J", kind, faults ? 1 : 0);
    }
  }

  private void real(int opcode, Rep rep) {
    Value y = w.pop();
    w.push(w.values.real(opcode, rep, w.pop(), y));
  }

  private void divideReal(int mode, Rep rep) {
    Value y = w.peek(0);
    boolean zero = y.isConstant() && (rep == Rep.FLOAT ? Float.intBitsToFloat((int) y.low) == 0 : Double.longBitsToDouble(y.low) == 0);
    if (mode != 0 || y.isConstant() && !zero) {
      real(rep == Rep.FLOAT ? FDIV : DDIV, rep);
      return;
    }
    w.pop();
    Value x = w.pop();
    w.mayFail();
    w.values.push(x, rep);
    w.values.push(y, rep);
    w.m.call(MethodWriter.SUPPORT, "divide", rep == Rep.FLOAT ? "(FF)F" : "(DD)D");
    result(rep, Long.MIN_VALUE, Long.MAX_VALUE);
  }

  private void extreme(Op op, int order) {
    Value y = w.pop();
    Value x = w.pop();
    Operators v = w.values;
    if (order == 0 || order == 1 && x.low >= 0 && y.low >= 0 && x.rep != Rep.DOUBLE && x.rep != Rep.FLOAT && y.rep != Rep.DOUBLE && y.rep != Rep.FLOAT) {
      w.push(v.extreme(op == Op.MAX, x, y));
      return;
    }
    w.push(v.computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, x.reads || y.reads, null, () -> {
      v.push(x, Rep.LONG);
      v.push(y, Rep.LONG);
      w.m.integer(order);
      w.m.call(MethodWriter.SUPPORT, op == Op.MAX ? "max" : "min", "(JJI)J");
    }));
  }

  private void convert(int a) {
    int from = a & 255;
    int to = a >> 8 & 255;
    boolean truncate = a >> 16 != 0;
    Value x = w.pop();
    Value easy = w.values.converted(x, from, to);
    if (easy != null) {
      w.push(easy);
      return;
    }
    if (Rep.of(to) == Rep.INT && Arith.kind(from).isInteger() && Arith.kind(to).isInteger() && from != ElementaryType.ULINT.ordinal()) {
      // What fits is itself; the rest is for the general conversion, which fails or not by choice.
      Value whole = w.settle(x);
      Label fits = new Label();
      w.mayFail();
      w.values.push(whole, Rep.INT);
      w.values.push(w.values.wrapped(whole, to), Rep.LONG);
      w.values.push(whole, Rep.LONG);
      w.m.insn(LCMP);
      w.m.jump(IFEQ, fits);
      w.m.insn(POP);
      w.values.push(whole, Rep.LONG);
      conversion(from, to, truncate);
      w.m.insn(L2I);
      w.m.label(fits);
      result(Rep.INT, Rep.least(to), Rep.greatest(to));
      return;
    }
    w.mayFail();
    w.values.push(x, Rep.LONG);
    conversion(from, to, truncate);
    ElementaryType target = Arith.kind(to);
    if (target.isInteger() || target.isBits()) {
      result(Rep.LONG, Rep.least(to), Rep.greatest(to));
    } else {
      result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
    }
  }

  private void conversion(int from, int to, boolean truncate) {
    w.m.integer(from);
    w.m.integer(to);
    w.m.insn(truncate ? ICONST_1 : ICONST_0);
    w.m.integer(choices.realToInteger().ordinal());
    w.m.integer(choices.conversionRange().ordinal());
    w.m.call(MethodWriter.SUPPORT, "convert", "(JIIZII)J");
  }

  private void range(long low, long high, int kind) {
    Value x = w.peek(0);
    boolean signed = kind != ElementaryType.ULINT.ordinal() && kind != ElementaryType.LWORD.ordinal();
    if (signed && (x.rep == Rep.INT || x.rep == Rep.LONG) && x.within(low, high)) {
      return;
    }
    w.pop();
    w.mayFail();
    w.values.push(x, Rep.LONG);
    w.m.longValue(low);
    w.m.longValue(high);
    w.m.integer(kind);
    w.m.call(OPERATIONS, "inRange", "(JJJI)J");
    result(Rep.LONG, signed ? low : Long.MIN_VALUE, signed ? high : Long.MAX_VALUE);
  }

  private void mux(int n) {
    Value[] x = new Value[n];
    for (int i = n - 1; i >= 0; i--) {
      x[i] = w.settle(w.pop());
    }
    Value k = w.settle(w.pop());
    w.mayFail();
    Label done = new Label();
    for (int i = 0; i < n; i++) {
      Label next = new Label();
      w.values.push(k, Rep.LONG);
      w.m.longValue(i);
      w.m.insn(LCMP);
      w.m.jump(IFNE, next);
      w.values.push(x[i], Rep.LONG);
      w.m.jump(GOTO, done);
      w.m.label(next);
    }
    w.values.push(k, Rep.LONG);
    w.m.integer(n);
    w.m.call(OPERATIONS, "choice", "(JI)I");
    w.m.insn(I2L);
    w.m.label(done);
    result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
  }

  private void taskTime() {
    if (choices.timerClock() == ImplementerChoices.TimerClock.ACTIVATION) {
      w.push(w.values.computed(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE, false, null, () -> {
        w.m.local(ALOAD, MethodWriter.RT);
        w.m.field(GETFIELD, MethodWriter.RUN, "activation", "J");
      }));
      return;
    }
    w.save();
    w.m.local(ALOAD, MethodWriter.RT);
    w.m.invoke(MethodWriter.RUN, "taskTime", "()J");
    result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
  }

  // ---- calls ----

  private void call(int target, int frameSlots, Value instance, boolean dynamic) {
    Flow.Block block = w.block();
    w.settleOperands(0);
    Value on = instance == null ? null : w.settle(instance);
    if (w.program.checksDepth()) {
      w.mayFail();
      w.m.local(ALOAD, MethodWriter.RT);
      w.openCalls(block.context.level);
      w.m.invoke(MethodWriter.RUN, "enter", "(I)V");
    }
    if (on != null && on.place == null) {
      w.mayFail();
      w.values.push(on, Rep.LONG);
      w.m.call(OPERATIONS, "checkNull", "(J)J");
      w.m.insn(L2I);
      int l = w.scratch(Rep.INT);
      w.m.local(ISTORE, l);
      // An instance whose slot is not known before: it may be any.
      Value slot = w.values.local(Rep.INT, l, 0, Integer.MAX_VALUE, false, false, null);
      on = w.values.address(new Place(Place.Root.ABSOLUTE, 0, slot, null, 0, Integer.MAX_VALUE / 2, 1));
    }
    if (block.callee != null) {
      w.enter(on == null ? null : on.place);
      return;
    }
    if (!w.program.code().isLibrary(w.step()) && (dynamic || w.program.code().bodies().get(target).library())) {
      // A failure inside the library is told with the place of this call.
      w.mayFail();
    }
    if (!dynamic) {
      invoke(target, on, frameSlots);
    } else {
      dispatch(target, on, frameSlots);
    }
    w.counted();
    w.anythingChanged();
  }

  private void dispatch(int selector, Value on, int frameSlots) {
    w.mayFail();
    w.m.local(ALOAD, MethodWriter.RT);
    w.values.push(on, Rep.LONG);
    w.m.integer(selector);
    w.m.invoke(MethodWriter.RUN, "dispatch", "(JI)I");
    int body = w.scratch(Rep.INT);
    w.m.local(ISTORE, body);
    Label done = new Label();
    code.types().stream().flatMapToInt(t -> t.bodies().length > selector ? IntStream.of(t.bodies()[selector]) : IntStream.empty())
        .filter(x -> x >= 0).distinct().sorted().forEach(x -> {
          Label next = new Label();
          w.m.local(ILOAD, body);
          w.m.integer(x);
          w.m.jump(IF_ICMPNE, next);
          invoke(x, on, frameSlots);
          w.m.jump(GOTO, done);
          w.m.label(next);
        });
    // not reached: the run has found one of these bodies
    w.m.insn(LCONST_0);
    w.m.label(done);
  }

  /** Calls a body; leaves the steps used on the stack. */
  private void invoke(int body, Value on, int frameSlots) {
    w.m.local(ALOAD, MethodWriter.MEM);
    w.values.push(on == null ? w.values.address(w.self(0)) : on, Rep.INT);
    w.values.slot(w.frame(frameSlots));
    w.m.local(ALOAD, MethodWriter.RT);
    w.steps(w.made() + 1);
    w.openCalls(w.block().context.level + 1);
    w.m.call(w.program.className(), "b" + body, MethodWriter.BODY);
  }

  // ---- steps that the stepping executor executes on our behalf ----

  private void single(Op op) {
    Value[] x = new Value[op.pops()];
    for (int i = x.length - 1; i >= 0; i--) {
      x[i] = w.pop();
    }
    w.settleOperands(0);
    for (int i = 0; i < x.length; i++) {
      x[i] = w.settle(x[i]);
    }
    w.saveAll();
    for (Value each : x) {
      w.m.local(ALOAD, MethodWriter.RT);
      w.values.push(each, Rep.LONG);
      w.m.invoke(MethodWriter.RUN, "spill", "(J)V");
    }
    w.m.local(ALOAD, MethodWriter.RT);
    w.m.integer(w.step());
    w.values.slot(w.self(0));
    w.values.slot(w.frame(0));
    w.m.invoke(MethodWriter.RUN, "single", "(III)V");
    if (Flow.settles(op)) {
      w.load();
    }
    w.anythingChanged();
    if (op.pushes() == 1) {
      w.m.local(ALOAD, MethodWriter.RT);
      w.m.invoke(MethodWriter.RUN, "operand", "()J");
      result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
    }
  }

  private void guarded() {
    int pc = w.step();
    int after = Flow.guardEnd(code, pc);
    int handler = code.a[pc];
    Flow.Block block = w.block();
    w.settleOperands(0);
    w.saveAll();
    w.m.local(ALOAD, MethodWriter.RT);
    w.m.integer(pc);
    w.m.integer(after);
    w.instance();
    w.m.local(ILOAD, MethodWriter.FRAME);
    w.m.invoke(MethodWriter.RUN, "guarded", "(IIII)I");
    int reached = w.scratch(Rep.INT);
    w.m.local(ISTORE, reached);
    w.load();
    w.anythingChanged();
    int left = w.program.blocks().height[after] - w.program.blocks().height[pc];
    Value failed = w.values.compared(0, w.values.local(Rep.INT, reached, Integer.MIN_VALUE, Integer.MAX_VALUE, false, false, null), w.values.constant(handler));
    if (handler == after) {
      w.goOn(block.next, 0);
      return;
    }
    w.branch(failed, () -> {
      // What the stretch has left on the stack: the last one comes first.
      Value[] x = new Value[left];
      for (int i = left - 1; i >= 0; i--) {
        w.m.local(ALOAD, MethodWriter.RT);
        w.m.invoke(MethodWriter.RUN, "operand", "()J");
        result(Rep.LONG, Long.MIN_VALUE, Long.MAX_VALUE);
        x[i] = w.pop();
      }
      for (Value each : x) {
        w.push(each);
      }
    });
  }
}
