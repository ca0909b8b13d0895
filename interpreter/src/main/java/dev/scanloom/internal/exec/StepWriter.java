package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import dev.scanloom.policy.ImplementerChoices;

/** What each step does to the descriptions on the stack. */
abstract class StepWriter extends ValueWriter {
  StepWriter(Code code, Form form) {
    super(code, form);
  }

  // ---- steps ----

  void step(int pc) {
    Op op = op(pc);
    int a = code.a[pc];
    int b = code.b[pc];
    holding = 0;
    taken.clear();
    here = pc;
    switch (op) {
      case CONST -> push(constant(a));
      case ADDRESS_SELF -> push(place(Quick.SELF, a));
      case ADDRESS_FRAME -> push(place(Quick.FRAME, a));
      case LOAD_SELF -> push(slot(operand(Quick.SELF, a), isBool(b), true));
      case LOAD_FRAME -> push(slot(operand(Quick.FRAME, a), isBool(b), true));
      case LOAD_STATIC -> push(slot(operand(Quick.NO_BASE, a), isBool(b), true));
      case LOAD_TEMP -> push(slot(operand(Quick.FRAME, a), holdsBool(a), true));
      case STORE_SELF -> storeTop(operand(Quick.SELF, a));
      case STORE_FRAME -> storeTop(operand(Quick.FRAME, a));
      case STORE_TEMP -> storeTemp(a);
      case STORE_STATIC -> storeTop(operand(Quick.NO_BASE, a));
      case LOAD_LOCATED -> loadLocated(a, 0, b);
      case STORE_LOCATED -> storeLocated(a, 0, b);
      case LOAD_INDIRECT -> loadIndirect(b);
      case STORE_INDIRECT -> storeIndirect(b);
      case CHECK_NULL -> {
        Value v = address(stack[sp - 1], sp - 1);
        stack[sp - 1] = v;
        if (v.form == Value.Kind.POINTER) {
          beginFailing(Quick.CHECK_NULL);
          f.add(v.at);
        }
      }
      case OFFSET -> {
        Value v = address(stack[sp - 1], sp - 1);
        stack[sp - 1] = v.moved(a);
      }
      case INDEX -> index(a);
      case DUP -> {
        bring(1);
        push(stack[sp - 1]);
      }
      case DUP2 -> {
        bring(2);
        push(stack[sp - 2]);
        push(stack[sp - 2]);
      }
      case POP -> {
        // What was there may still have to fail.
        Value v = stack[sp - 1];
        if (v.form == Value.Kind.ELEMENT || v.form == Value.Kind.LOCATED_ELEMENT) {
          fetch(v);
        }
        sp--;
      }
      case SWAP -> {
        bring(2);
        Value v = stack[sp - 1];
        stack[sp - 1] = stack[sp - 2];
        stack[sp - 2] = v;
      }
      case BITS_GET -> {
        int x = take1();
        begin(Quick.BITS_GET);
        int t = result();
        f.add(x);
        f.add(a);
        f.add(b);
        push(slot(t, b == 1, false));
      }
      case BITS_PUT -> {
        long xy = take2();
        begin(Quick.BITS_PUT);
        int t = result();
        f.add((int) (xy >> 32));
        f.add((int) xy);
        f.add(a);
        f.add(b);
        push(slot(t, false, false));
      }
      case ADD -> wrapping(Quick.ADD, Quick.ADD_UNSIGNED, b);
      case SUB -> wrapping(Quick.SUB, Quick.SUB_UNSIGNED, b);
      case MUL -> wrapping(Quick.MUL, Quick.MUL_UNSIGNED, b);
      case DIV, MOD -> {
        if (a == 0 && b != ElementaryType.ULINT.ordinal()) {
          binary(op == Op.DIV ? Quick.DIV : Quick.MOD, true);
        } else {
          anyBinary(op, a, b);
        }
      }
      case ADD_LREAL -> binary(Quick.ADD_LREAL, false);
      case SUB_LREAL -> binary(Quick.SUB_LREAL, false);
      case MUL_LREAL -> binary(Quick.MUL_LREAL, false);
      case DIV_LREAL -> {
        if (a == 0) {
          binary(Quick.DIV_LREAL, true);
        } else {
          anyBinary(op, a, b);
        }
      }
      case ADD_REAL -> binary(Quick.ADD_REAL, false);
      case SUB_REAL -> binary(Quick.SUB_REAL, false);
      case MUL_REAL -> binary(Quick.MUL_REAL, false);
      case AND, OR, XOR -> logic(op, -1);
      case CONTACT -> logic(op, a);
      case ELEMENT -> element(a);
      case NOT -> {
        Value v = stack[sp - 1];
        if (v.bool && v.form != Value.Kind.STACKED) {
          stack[sp - 1] = v.opposite();
        } else {
          int x = take1();
          begin(Quick.NOT);
          int t = result();
          f.add(x);
          f.add(64 - Arith.kind(b).bits());
          push(slot(t, isBool(b), false));
        }
      }
      case EQ -> compare(Quick.EQ, false, false);
      case NE -> compare(Quick.EQ, false, true);
      case LT -> compare(Quick.LT, false, false);
      case LE -> compare(Quick.LE, false, false);
      case GT -> compare(Quick.LT, true, false);
      case GE -> compare(Quick.LE, true, false);
      case COMPARE_LREAL -> {
        switch (a) {
          case 0 -> compare(Quick.EQ_LREAL, false, false);
          case 1 -> compare(Quick.EQ_LREAL, false, true);
          case 2 -> compare(Quick.LT_LREAL, false, false);
          case 3 -> compare(Quick.LE_LREAL, false, false);
          case 4 -> compare(Quick.LT_LREAL, true, false);
          case 5 -> compare(Quick.LE_LREAL, true, false);
          default -> throw new IllegalStateException("comparison " + a);
        }
      }
      case MAX, MIN -> {
        if (a == 0) {
          binary(op == Op.MAX ? Quick.MAX : Quick.MIN, false);
        } else {
          anyBinary(op, a, b);
        }
      }
      case SELECT -> {
        bring(3);
        Value y = pop();
        Value x = pop();
        Value g = pop();
        hold(g, x, y);
        int ng = keep(fetch(g));
        int nx = keep(fetch(x));
        int ny = keep(fetch(y));
        begin(Quick.SELECT);
        int t = result();
        f.add(ng);
        f.add(nx);
        f.add(ny);
        push(slot(t, x.bool && y.bool, false));
      }
      case CONVERT -> convert(a);
      case RANGE -> {
        Family family = Arith.kind(b).family();
        if (Arith.kind(b).bits() == 64 && (family == Family.UNSIGNED || family == Family.BIT)) {
          anyUnary(op, a, b);
        } else {
          int x = take1();
          beginFailing(Quick.RANGE);
          f.add(x);
          f.add(a);
          push(slot(x, false, isVariable(x)));
        }
      }
      case SHL, SHR -> shift(op, b);
      case ABS, NEG, NEG_EXACT, NEG_REAL, NEG_LREAL, SQRT_REAL, SQRT_LREAL -> anyUnary(op, a, b);
      case ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV_REAL, POWER_REAL, POWER_LREAL, SCALE, UNSCALE, ROL, ROR -> anyBinary(op, a, b);
      case LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL -> {
        anyBinary(op, a, b);
        Value v = pop();
        push(slot(v.at, true, false));
      }
      case CLEAR -> {
        settle();
        begin(Quick.CLEAR);
        f.add(a);
        f.add(b);
      }
      case JUMP_FALSE -> jump(pc, false);
      case JUMP_TRUE -> jump(pc, true);
      case TASK_TIME -> {
        begin(Quick.TASK_TIME);
        push(slot(result(), false, false));
      }
      default -> throw new IllegalStateException(op + " has no condensed form");
    }
  }

  static boolean isBool(int kind) {
    return kind == ElementaryType.BOOL.ordinal();
  }

  /** Frame slots that got a Boolean in this stretch. */
  final Ints boolTemps = new Ints();

  boolean holdsBool(int slot) {
    for (int i = boolTemps.size() - 1; i >= 0; i--) {
      if (boolTemps.get(i) == slot) {
        return true;
      }
    }
    return false;
  }

  void storeTemp(int slot) {
    if (stack[sp - 1].bool) {
      boolTemps.add(slot);
    } else {
      for (int i = 0; i < boolTemps.size(); i++) {
        if (boolTemps.get(i) == slot) {
          boolTemps.set(i, -1);
        }
      }
    }
    Value v = pop();
    hold(v);
    settle();
    if (isNoted(operand(Quick.FRAME, slot))) {
      finishChunk();
    }
    put(operand(Quick.FRAME, slot), v, sp);
    lastTarget = -1;
  }

  void storeTop(int target) {
    Value v = pop();
    hold(v);
    store(target, v, sp);
  }

  /** An address in a form that can be moved: a place, a pointer, an element. */
  Value address(Value v, int position) {
    if (v.form == Value.Kind.STACKED) {
      int t = fetchAt(v, position);
      return Value.pointer(t);
    }
    if (v.form == Value.Kind.SLOT) {
      if (v.pool >= 0 && code.pool[v.pool] > 0 && code.pool[v.pool] < 1 << 29) {
        return place(Quick.NO_BASE, (int) code.pool[v.pool]);
      }
      return new Value(Value.Kind.POINTER, v.at, 0, 0, 0, false, false, v.loose, v.pool);
    }
    return v;
  }

  boolean isLocatedConstant(Value v) {
    return v.form == Value.Kind.POINTER && v.pool >= 0 && Address.isLocated(code.pool[v.pool]);
  }

  void index(int bounds) {
    Value i = stack[sp - 1];
    if (i.form == Value.Kind.STACKED) {
      bring(1);
      i = stack[sp - 1];
    }
    sp--;
    hold(i);
    int x = keep(fetch(i));
    Value base = address(stack[sp - 1], sp - 1);
    sp--;
    hold(base, i);
    boolean loose = isVariable(x);
    if (base.form == Value.Kind.PLACE) {
      push(new Value(Value.Kind.ELEMENT, base.at + (base.offset << 2), x, bounds, 0, false, false, loose, -1));
      return;
    }
    if (isLocatedConstant(base) && base.offset == 0 && constantPlace[base.pool] >= 0) {
      push(new Value(Value.Kind.LOCATED_ELEMENT, base.pool, x, bounds, 0, false, false, loose, -1));
      return;
    }
    int at = keep(fetch(base));
    beginFailing(Quick.ADDRESS_INDEX);
    int t = result();
    f.add(at);
    f.add(x);
    f.add(bounds);
    f.add(0);
    push(Value.pointer(t));
  }

  void loadLocated(int pool, int offset, int kind) {
    long at = code.pool[pool];
    if (isBool(kind) && Address.bit(at) + offset < GREATEST_BIT) {
      push(new Value(Value.Kind.BIT, Address.area(at) << 28 | (int) Address.bit(at) + offset, 0, 0, 0, true, false, true, -1));
      return;
    }
    begin(Quick.LOAD_LOCATED);
    int t = result();
    f.add(pool);
    f.add(offset);
    f.add(kind);
    push(slot(t, isBool(kind), false));
  }

  void storeLocated(int pool, int offset, int kind) {
    long at = code.pool[pool];
    Value v = pop();
    hold(v);
    if (v.form == Value.Kind.STACKED) {
      int t = fetchAt(v, sp);
      v = slot(t, isBool(kind), false);
      hold(v);
    }
    settle();
    if (v.form == Value.Kind.COMPARISON) {
      v = new Value(Value.Kind.SLOT, input(v), 0, 0, 0, true, v.not, false, -1);
      hold(v);
    }
    if (isBool(kind) && v.bool && Address.area(at) != 1 && Address.bit(at) + offset < GREATEST_BIT) {
      int place = Address.area(at) << 28 | (int) Address.bit(at) + offset;
      int t = bitTemp();
      if (v.form == Value.Kind.SLOT && !v.not && lastTarget >= 0 && lastInGates && lastTemp == v.at && isTemp(v.at) && !isReferredBelow(v.at)) {
        gates.set(lastTarget, t);
      } else if (v.form == Value.Kind.BIT) {
        taken.add(t);
        int from = bit(v);
        gate(t, from, from, copy(v.not), -1);
      } else {
        gate(t, v.at, v.at, copy(v.not), -1);
      }
      lastTarget = -1;
      bitTempUsed[(t >> 2) - firstBitTemp] = true;
      bitsOut.add(place);
      bitsOut.add(t);
      note(t, Quick.BY_PLACE, place);
      return;
    }
    int x = keep(fetch(v));
    begin(Quick.STORE_LOCATED);
    f.add(pool);
    f.add(offset);
    f.add(kind);
    f.add(x);
    if (records) {
      // Its address is a constant; the pool has it only without an offset.
      begin(Quick.RECORD);
      f.add(1);
      f.add(x);
      f.add(Quick.BY_PLACE);
      f.add(Address.area(at) << 28 | (int) Address.bit(at) + offset);
      f.add(here);
    }
  }

  void loadIndirect(int kind) {
    Value v = address(stack[sp - 1], sp - 1);
    sp--;
    hold(v);
    if (v.form == Value.Kind.PLACE) {
      push(slot(v.at + (v.offset << 2), isBool(kind), true));
      return;
    }
    if (isLocatedConstant(v) && !(form.reads() && Address.area(code.pool[v.pool]) == 1)) {
      loadLocated(v.pool, v.offset, kind);
      return;
    }
    if (v.form == Value.Kind.ELEMENT) {
      push(slot(element(Quick.LOAD_ELEMENT, v), isBool(kind), false));
      return;
    }
    if (v.form == Value.Kind.LOCATED_ELEMENT) {
      beginFailing(Quick.LOAD_LOCATED_ELEMENT);
      int t = result();
      f.add(v.at);
      f.add(v.offset);
      f.add(v.x);
      f.add(v.y);
      f.add(kind);
      push(slot(t, isBool(kind), false));
      return;
    }
    beginFailing(Quick.LOAD_THROUGH);
    int t = result();
    f.add(v.at);
    f.add(v.offset);
    f.add(kind);
    push(slot(t, isBool(kind), false));
  }

  void storeIndirect(int kind) {
    Value v = pop();
    hold(v);
    int position = sp;
    Value to = address(stack[sp - 1], sp - 1);
    sp--;
    hold(v, to);
    if (to.form == Value.Kind.PLACE) {
      store(to.at + (to.offset << 2), v, position);
      return;
    }
    if (isLocatedConstant(to) && !(form.writes() && Address.area(code.pool[to.pool]) == 2)
        && !form.sees(code.pool[to.pool] + to.offset, Arith.kind(kind).bits())) {
      push(v);
      if (v.form == Value.Kind.STACKED) {
        // It lay one higher on the operand stack.
        sp--;
        int t = fetchAt(v, position);
        push(slot(t, isBool(kind), false));
      }
      storeLocated(to.pool, to.offset, kind);
      return;
    }
    int x = keep(fetchAt(v, position));
    hold(to);
    settle();
    boolean open = watches && switch (to.form) {
      case POINTER -> to.offset == 0 || watchedOffsets.contains((long) to.offset);
      case ELEMENT -> watchElement(to);
      default -> false;
    };
    if (records || open && to.form == Value.Kind.ELEMENT) {
      to = Value.pointer(keep(fetch(to)));
    }
    if (open) {
      beginFailing(Quick.WATCH_POINTER);
      mayBeSeen = true;
      f.add(to.at);
      f.add(to.offset);
    }
    if (to.form == Value.Kind.ELEMENT) {
      beginFailing(Quick.STORE_ELEMENT);
      f.add(to.at);
      f.add(to.x);
      f.add(to.y);
      f.add(to.offset);
    } else if (to.form == Value.Kind.LOCATED_ELEMENT) {
      beginFailing(Quick.STORE_LOCATED_ELEMENT);
      f.add(to.at);
      f.add(to.offset);
      f.add(to.x);
      f.add(to.y);
      f.add(kind);
    } else {
      beginFailing(Quick.STORE_THROUGH);
      f.add(to.at);
      f.add(to.offset);
      f.add(kind);
    }
    f.add(x);
    record(x, Quick.BY_POINTER, to.at);
  }

  void binary(int operation, boolean fails) {
    long xy = take2();
    if (fails) {
      beginFailing(operation);
    } else {
      begin(operation);
    }
    int t = result();
    f.add((int) (xy >> 32));
    f.add((int) xy);
    push(slot(t, false, false));
  }

  void wrapping(int signed, int unsigned, int kind) {
    ElementaryType t = Arith.kind(kind);
    int shift = t.isInteger() || t.isBits() ? 64 - t.bits() : 0;
    boolean isSigned = shift == 0 || t.family() == Family.SIGNED;
    long xy = take2();
    begin(isSigned ? signed : unsigned);
    int d = result();
    f.add((int) (xy >> 32));
    f.add((int) xy);
    f.add(shift);
    push(slot(d, false, false));
  }

  void anyUnary(Op op, int a, int b) {
    int x = take1();
    beginFailing(Quick.UNARY);
    int t = result();
    f.add(x);
    f.add(op.ordinal());
    f.add(a);
    f.add(b);
    push(slot(t, false, false));
  }

  void anyBinary(Op op, int a, int b) {
    long xy = take2();
    beginFailing(Quick.BINARY);
    int t = result();
    f.add((int) (xy >> 32));
    f.add((int) xy);
    f.add(op.ordinal());
    f.add(a);
    f.add(b);
    push(slot(t, false, false));
  }

  void compare(int operation, boolean swap, boolean not) {
    long xy = take2();
    int x = (int) (xy >> 32);
    int y = (int) xy;
    push(new Value(Value.Kind.COMPARISON, operation, swap ? y : x, swap ? x : y, 0, true, not, isVariable(x) || isVariable(y), -1));
  }

  void logic(Op op, int element) {
    bring(2);
    Value y = stack[sp - 1];
    Value x = stack[sp - 2];
    boolean bool = element >= 0 || x.bool && y.bool;
    sp -= 2;
    hold(x, y);
    if (!bool) {
      int nx = keep(fetch(x));
      int ny = keep(fetch(y));
      begin(op == Op.AND ? Quick.AND : op == Op.OR ? Quick.OR : Quick.XOR);
      int t = result();
      f.add(nx);
      f.add(ny);
      push(slot(t, false, false));
      return;
    }
    if (element < 0 && x.pool >= 0 && y.pool < 0 && op == Op.AND && code.pool[x.pool] == 1) {
      push(y);
      return;
    }
    int nx = keep(input(x));
    int ny = keep(input(y));
    int t = temp();
    gate(t, nx, ny, table(op, x.not, y.not), element);
    push(slot(t, true, false));
  }

  /** Input of a gate: the slot as it is, whether negated or not. */
  int input(Value v) {
    return switch (v.form) {
      case SLOT -> v.at;
      case BIT -> bit(v);
      case COMPARISON -> {
        begin(v.at);
        int t = result();
        f.add(v.x);
        f.add(v.y);
        yield t;
      }
      case STACKED, PLACE, POINTER, ELEMENT, LOCATED_ELEMENT -> fetch(v);
    };
  }

  void element(int element) {
    bring(1);
    Value v = pop();
    hold(v);
    int x = keep(input(v));
    int t = temp();
    gate(t, x, x, copy(v.not), element);
    push(slot(t, true, false));
  }

  void shift(Op op, int kind) {
    Value n = stack[sp - 1];
    if (n.pool >= 0 && code.pool[n.pool] >= 0 && code.pool[n.pool] < Arith.kind(kind).bits()) {
      int count = (int) code.pool[n.pool];
      sp--;
      int x = take1();
      begin(op == Op.SHR ? Quick.SHIFT_RIGHT : Quick.SHIFT_LEFT);
      int t = result();
      f.add(x);
      f.add(count);
      if (op == Op.SHL) {
        f.add(64 - Arith.kind(kind).bits());
      }
      push(slot(t, false, false));
      return;
    }
    anyBinary(op, 0, kind);
  }

  void convert(int a) {
    int from = a & 255;
    int to = a >> 8 & 255;
    ElementaryType s = Arith.kind(from);
    ElementaryType t = Arith.kind(to);
    ImplementerChoices.RangeError range = choices.conversionRange();
    if (from == to) {
      return;
    }
    int cut = 64 - t.bits();
    switch (s.family()) {
      case BIT -> {
        if (t == ElementaryType.LREAL) {
          return;
        }
        if (t.isReal()) {
          simple(Quick.CUT_SIGNED, 32);
          return;
        }
        if (t.family() == Family.CHARACTER) {
          anyUnary(Op.CONVERT, a, 0);
          return;
        }
        boolean signed = t.family() == Family.SIGNED;
        if (t.bits() == 64 || s.bits() < t.bits() || !signed && s.bits() == t.bits()) {
          lose(t);
        } else {
          simple(signed ? Quick.CUT_SIGNED : Quick.CUT_UNSIGNED, cut);
        }
      }
      case SIGNED, UNSIGNED -> {
        boolean unsigned = s.family() == Family.UNSIGNED;
        if (t.isReal() && from != ElementaryType.ULINT.ordinal()) {
          int x = take1();
          begin(t == ElementaryType.LREAL ? Quick.TO_LREAL : Quick.TO_REAL);
          int d = result();
          f.add(x);
          push(slot(d, false, false));
        } else if (t.isBits()) {
          int width = Math.min(s.bits(), t.bits());
          if (width == 64 || unsigned && s.bits() <= t.bits()) {
            return;
          }
          simple(Quick.CUT_UNSIGNED, 64 - width);
        } else if (t.isInteger() && s != ElementaryType.ULINT && t != ElementaryType.ULINT) {
          boolean toUnsigned = t.family() == Family.UNSIGNED;
          if (unsigned == toUnsigned && s.bits() <= t.bits() || unsigned && s.bits() < t.bits()) {
            return;
          }
          if (range == ImplementerChoices.RangeError.FAULT) {
            int x = take1();
            beginFailing(toUnsigned ? Quick.FIT_UNSIGNED : Quick.FIT_SIGNED);
            int d = result();
            f.add(x);
            f.add(cut);
            push(slot(d, false, false));
          } else if (range == ImplementerChoices.RangeError.WRAP) {
            simple(toUnsigned ? Quick.CUT_UNSIGNED : Quick.CUT_SIGNED, cut);
          } else {
            anyUnary(Op.CONVERT, a, 0);
          }
        } else {
          anyUnary(Op.CONVERT, a, 0);
        }
      }
      case REAL -> {
        if (from == ElementaryType.REAL.ordinal() && to == ElementaryType.LREAL.ordinal()) {
          int x = take1();
          begin(Quick.REAL_TO_LREAL);
          int d = result();
          f.add(x);
          push(slot(d, false, false));
        } else {
          anyUnary(Op.CONVERT, a, 0);
        }
      }
      case DURATION, DATE, TIME_OF_DAY -> {
        // the same number
      }
      case DATE_AND_TIME, CHARACTER, STRING -> anyUnary(Op.CONVERT, a, 0);
    }
  }

  /** The value is the same, but no longer Boolean. */
  void lose(ElementaryType to) {
    Value v = stack[sp - 1];
    if (v.bool && to != ElementaryType.BOOL && (v.not || v.form == Value.Kind.COMPARISON || v.form == Value.Kind.BIT)) {
      int x = take1();
      push(slot(x, false, isVariable(x)));
    } else if (v.form == Value.Kind.SLOT && v.bool) {
      stack[sp - 1] = slot(v.at, false, v.loose);
    }
  }

  void simple(int operation, int shift) {
    int x = take1();
    begin(operation);
    int t = result();
    f.add(x);
    f.add(shift);
    push(slot(t, shift == 63, false));
  }

  // ---- leaving the stretch ----

  void jump(int pc, boolean when) {
    bring(1);
    Value v = pop();
    hold(v);
    boolean jumpWhen = when ^ v.not;
    int operation;
    int x;
    int y = -1;
    if (v.form == Value.Kind.COMPARISON) {
      x = v.x;
      y = v.y;
      switch (v.at) {
        case Quick.EQ -> operation = jumpWhen ? Quick.JUMP_EQ : Quick.JUMP_NE;
        case Quick.LT, Quick.LE -> {
          if (jumpWhen) {
            operation = v.at == Quick.LT ? Quick.JUMP_LT : Quick.JUMP_LE;
          } else {
            operation = v.at == Quick.LT ? Quick.JUMP_LE : Quick.JUMP_LT;
            x = v.y;
            y = v.x;
          }
        }
        case Quick.LT_LREAL -> operation = jumpWhen ? Quick.JUMP_LT_LREAL : Quick.JUMP_NOT_LT_LREAL;
        case Quick.LE_LREAL -> operation = jumpWhen ? Quick.JUMP_LE_LREAL : Quick.JUMP_NOT_LE_LREAL;
        case Quick.EQ_LREAL -> operation = jumpWhen ? Quick.JUMP_EQ_LREAL : Quick.JUMP_NOT_EQ_LREAL;
        default -> throw new IllegalStateException("comparison " + v.at);
      }
      keep(x);
      keep(y);
    } else {
      x = keep(input(v));
      operation = jumpWhen ? Quick.JUMP_NOT_ZERO : Quick.JUMP_ZERO;
    }
    flush();
    begin(operation);
    f.add(x);
    if (y >= 0) {
      f.add(y);
    }
    target(code.a[pc]);
    // How many steps follow is known when the stretch is closed.
    openExits.add(f.size());
    f.add(0);
    f.add(exitStretch.size());
    exitStretch.add(stretchStart.size() - 1);
    exitBefore.add(count);
  }

  final Ints openExits = new Ints();

  void call(int pc, Op op) {
    holding = 0;
    taken.clear();
    if (op == Op.RETURN) {
      flush();
      begin(Quick.RETURN);
      return;
    }
    Value on = null;
    if (op == Op.CALL_ON) {
      on = address(stack[sp - 1], sp - 1);
      sp--;
      hold(on);
    }
    if (on == null || on.form == Value.Kind.PLACE) {
      beginFailing(on == null ? Quick.CALL : Quick.CALL_AT);
      if (on != null) {
        f.add(on.at + (on.offset << 2));
      }
    } else {
      int x = keep(fetch(on));
      beginFailing(Quick.CALL_ON);
      f.add(x);
    }
    f.add(code.a[pc]);
    f.add(code.b[pc]);
    f.add(pc + 1);
  }
}
