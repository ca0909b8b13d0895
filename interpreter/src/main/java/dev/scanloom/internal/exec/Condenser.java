package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import dev.scanloom.policy.ImplementerChoices;
import java.util.Arrays;
import java.util.Set;
import java.util.TreeSet;

/**
 * Makes condensed code: plays the steps of a stretch on an operand stack of descriptions (a variable, a constant, a place, a comparison) and writes an operation
 * only where a value is needed. Everything an operation changes it changes last, so one that gives up has changed nothing since the last point from which the
 * steps can be walked.
 */
final class Condenser {
  private static final Op[] OPS = Op.values();
  /** Steps of a stretch; then the next one begins, at twice as many even inside an expression. Long ones cost little per step, short ones end close to a deadline. */
  private static final int LONGEST = 160;
  /** Steps of a loop's test that are repeated at its end. */
  private static final int LOOP_TEST = 8;
  private static final int GREATEST_BIT = 1 << 28;

  private final Code code;
  private final Form form;
  /** Writes are recorded for a digest. */
  private final boolean records;
  /** Variables are watched; then, which instance the body in work has, or -1. */
  private final boolean watches;
  private final Selves selves;
  /** Where watched variables lie in the instances that hold them. */
  private final Set<Long> watchedOffsets = new TreeSet<>();
  private int self;
  private final ImplementerChoices choices;

  final Ints f = new Ints();
  final int[] entry;
  final int[] height;
  final Ints steps = new Ints();
  final Ints stretchStart = new Ints();
  final Ints exitStretch = new Ints();
  final Ints exitBefore = new Ints();
  final Ints bailAt = new Ints();
  final Ints bailStep = new Ints();
  final Ints bailBefore = new Ints();
  final Ints bailStretch = new Ints();

  /** Steps at which a stretch must begin. */
  private final boolean[] join;
  /** Indices of targets to be filled in: index, step. */
  private final Ints targets = new Ints();
  /** Per index into the pool: place among the constants in memory. */
  private final int[] constantPlace;
  private final int firstBitTemp;
  private final int firstTemp;
  private final int temps;

  // ---- the stretch in work ----
  private final Value[] stack;
  private int sp;
  private int count;
  private int headAt;
  private boolean changed;
  private int cleanStep;
  private int cleanBefore;
  /** Where the last operation's d stands, to be redirected; -1 for none. */
  private int lastTarget = -1;
  private int lastTemp;
  private boolean lastInGates;
  private final Ints gates = new Ints();
  private final Ints bitsIn = new Ints();
  private final Ints bitsOut = new Ints();
  private boolean marked;
  /** Writes of this chunk to be recorded behind it. */
  private final Ints notes = new Ints();
  /** The step in work may write what is watched. */
  private boolean mayBeSeen;
  /** The step in work. */
  private int here;
  private final boolean[] bitTempUsed;

  /** A growing array. */
  static final class Ints {
    private int[] a = new int[64];
    private int n;

    void add(int v) {
      if (n == a.length) {
        a = Arrays.copyOf(a, n * 2);
      }
      a[n++] = v;
    }

    int size() {
      return n;
    }

    int get(int i) {
      return a[i];
    }

    void set(int i, int v) {
      a[i] = v;
    }

    void clear() {
      n = 0;
    }

    int[] toArray() {
      return Arrays.copyOf(a, n);
    }
  }

  private enum Kind {
    /** On the operand stack already. */
    STACKED,
    /** In a slot that an operand names: an intermediate value, a constant, or a variable as long as nobody writes. */
    SLOT,
    /** A located bit. */
    BIT,
    /** The address of a slot: base and offset. */
    PLACE,
    /** An address in a slot, plus an offset. */
    POINTER,
    /** Element of an array at a place. */
    ELEMENT,
    /** Element of a located array. */
    LOCATED_ELEMENT,
    /** x compared with y. */
    COMPARISON
  }

  /** What an entry of the operand stack is. */
  private static final class Value {
    final Kind form;
    /** SLOT, POINTER: operand; PLACE, ELEMENT: base; BIT: place; COMPARISON: operation. */
    final int at;
    /** ELEMENT: index; COMPARISON: x. */
    final int x;
    /** ELEMENT: bounds; COMPARISON: y. */
    final int y;
    final int offset;
    /** 0 or 1, and the opposite of what the slot says. */
    final boolean bool;
    final boolean not;
    /** A variable or what depends on one: to be fetched before anything is written. */
    final boolean loose;
    /** The constant, as a place in the pool; -1 for none. */
    final int pool;

    Value(Kind form, int at, int x, int y, int offset, boolean bool, boolean not, boolean loose, int pool) {
      this.form = form;
      this.at = at;
      this.x = x;
      this.y = y;
      this.offset = offset;
      this.bool = bool;
      this.not = not;
      this.loose = loose;
      this.pool = pool;
    }

    Value opposite() {
      return new Value(form, at, x, y, offset, bool, !not, loose, -1);
    }

    Value moved(int by) {
      return new Value(form, at, x, y, offset + by, bool, not, loose, pool);
    }
  }

  private static final Value STACKED = new Value(Kind.STACKED, 0, 0, 0, 0, false, false, false, -1);

  Condenser(Code code, Form form) {
    this.form = form;
    this.records = form.digests();
    this.watches = !form.watched().isEmpty();
    this.selves = watches ? new Selves(code) : null;
    for (Form.Watched w : form.watched()) {
      if (!Address.isLocated(w.address())) {
        code.symbols().around(w.address()).forEach(instance -> watchedOffsets.add(w.address() - instance));
      }
    }
    this.code = code;
    this.choices = code.choices();
    int n = code.length();
    entry = new int[n];
    height = new int[n];
    join = new boolean[n + 1];
    Arrays.fill(entry, -1);
    Arrays.fill(height, -1);
    constantPlace = new int[code.pool.length];
    Arrays.fill(constantPlace, -1);
    for (int i = 0; i < code.constants.length; i++) {
      constantPlace[code.constants[i]] = i;
    }
    firstBitTemp = code.constants.length;
    bitTempUsed = new boolean[Memory.bitTemps(code)];
    firstTemp = firstBitTemp + bitTempUsed.length;
    temps = Memory.temps(code);
    stack = new Value[code.memory().stackDepth() + 8];
  }

  Condensed condense() {
    for (int i = 0; i < code.bodies().size(); i++) {
      enter(i);
      heights(code.bodies().get(i));
      joins(code.bodies().get(i));
    }
    for (int i = 0; i < code.bodies().size(); i++) {
      enter(i);
      Code.Body b = code.bodies().get(i);
      int pc = b.start();
      while (pc < b.end()) {
        pc = height[pc] < 0 ? pc + 1 : isWalked(pc) ? walk(pc, b) : stretch(pc, b);
      }
    }
    for (int i = 0; i < targets.size(); i += 2) {
      int target = entry[targets.get(i + 1)];
      if (target < 0) {
        throw new IllegalStateException("no stretch begins at step " + targets.get(i + 1));
      }
      f.set(targets.get(i), target);
    }
    return new Condensed(code, this);
  }

  private void enter(int body) {
    self = watches ? selves.of(body) : -1;
  }

  private Op op(int pc) {
    return OPS[code.op[pc]];
  }

  // ---- the shape of a body ----

  private void heights(Code.Body body) {
    Ints work = new Ints();
    height[body.start()] = 0;
    work.add(body.start());
    for (int i = 0; i < work.size(); i++) {
      int pc = work.get(i);
      int h = height[pc];
      while (true) {
        Op op = op(pc);
        int after = h - (op == Op.MUX ? code.a[pc] + 1 : op.pops()) + op.pushes();
        if (op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE || op == Op.GUARD) {
          int target = code.a[pc];
          if (height[target] < 0) {
            height[target] = after;
            work.add(target);
          }
        }
        pc++;
        if (op == Op.JUMP || op == Op.RETURN || pc >= body.end() || height[pc] >= 0) {
          break;
        }
        height[pc] = after;
        h = after;
      }
    }
  }

  private void joins(Code.Body body) {
    join[body.start()] = true;
    for (int pc = body.start(); pc < body.end(); pc++) {
      switch (op(pc)) {
        case JUMP -> {
          join[code.a[pc]] = true;
          join[pc + 1] = true;
          int test = loopTest(pc);
          if (test >= 0) {
            join[test + 1] = true;
          }
        }
        case JUMP_FALSE, JUMP_TRUE, GUARD -> join[code.a[pc]] = true;
        case CALL, CALL_ON, CALL_DYNAMIC, RETURN -> join[pc + 1] = true;
        default -> {
          // goes on with the next step
        }
      }
      if (isWalked(pc)) {
        join[pc + 1] = true;
      }
    }
  }

  /** The conditional jump that ends the short test to which a jump leads; -1 without one. */
  private int loopTest(int jump) {
    int pc = code.a[jump];
    for (int i = 0; i < LOOP_TEST; i++, pc++) {
      Op op = op(pc);
      if (op == Op.JUMP_FALSE || op == Op.JUMP_TRUE) {
        return pc;
      }
      if (isWalked(pc) || op == Op.JUMP || op == Op.RETURN || op == Op.CALL || op == Op.CALL_ON || i > 0 && join[pc]) {
        return -1;
      }
    }
    return -1;
  }

  /** Has no condensed form. */
  private boolean isWalked(int pc) {
    return switch (op(pc)) {
      case MUX, OPEN_INDEX, OPEN_END, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, CALL_DYNAMIC, NATIVE,
          GUARD, UNGUARD, ASSERT, TYPE_TEST, TAKE, WAIT, GIVE -> true;
      case LOAD_LOCATED -> form.reads() && Address.area(code.pool[code.a[pc]]) == 1 || Address.bit(code.pool[code.a[pc]]) >= GREATEST_BIT;
      case STORE_LOCATED -> form.writes() && Address.area(code.pool[code.a[pc]]) == 2 || Address.bit(code.pool[code.a[pc]]) >= GREATEST_BIT
          || watches && form.sees(code.pool[code.a[pc]], Arith.kind(code.b[pc]).bits());
      case STORE_SELF -> watches && self >= 0 && form.sees(self + code.a[pc], 64);
      case STORE_STATIC -> watches && form.sees(code.a[pc], 64);
      case CLEAR -> records;
      case TASK_TIME -> choices.timerClock() != ImplementerChoices.TimerClock.ACTIVATION;
      case CONST, ADDRESS_SELF, ADDRESS_FRAME, LOAD_SELF, LOAD_FRAME, LOAD_STATIC, LOAD_INDIRECT, STORE_FRAME, STORE_INDIRECT,
          LOAD_TEMP, STORE_TEMP, CHECK_NULL, OFFSET, INDEX, DUP, DUP2, POP, SWAP, BITS_GET, BITS_PUT, ADD, SUB, MUL, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV,
          MOD, NEG, NEG_EXACT, ABS, ADD_REAL, SUB_REAL, MUL_REAL, DIV_REAL, NEG_REAL, POWER_REAL, SQRT_REAL, ADD_LREAL, SUB_LREAL, MUL_LREAL, DIV_LREAL,
          NEG_LREAL, POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, AND, OR, XOR, NOT, SHL, SHR, ROL, ROR, EQ, NE, LT, LE, GT, GE, LT_UNSIGNED, LE_UNSIGNED,
          GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL, COMPARE_LREAL, MAX, MIN, SELECT, CONVERT, RANGE, JUMP, JUMP_FALSE, JUMP_TRUE, CALL, CALL_ON,
          RETURN, CONTACT, ELEMENT -> false;
    };
  }

  private int walk(int start, Code.Body body) {
    entry[start] = f.size();
    int pc = start + 1;
    while (pc < body.end() && height[pc] >= 0 && isWalked(pc) && !join[pc]) {
      pc++;
    }
    f.add(Quick.WALK);
    f.add(start);
    f.add(pc - start);
    return pc;
  }

  // ---- a stretch ----

  /** Writes the stretch that begins at a step; returns the step at which to go on. */
  private int stretch(int start, Code.Body body) {
    entry[start] = f.size();
    sp = height[start];
    Arrays.fill(stack, 0, sp, STACKED);
    count = 0;
    changed = false;
    lastTarget = -1;
    boolTemps.clear();
    headAt = f.size();
    f.add(Quick.HEAD);
    f.add(0);
    f.add(stretchStart.size());
    stretchStart.add(steps.size());
    int pc = start;
    while (true) {
      if (pc != start && join[pc]) {
        goOn(pc);
        return pc;
      }
      if (isWalked(pc)) {
        goOn(pc);
        return pc;
      }
      if (isClean()) {
        if (count >= LONGEST) {
          join[pc] = true;
          goOn(pc);
          return pc;
        }
        cleanStep = pc;
        cleanBefore = count;
        changed = false;
      } else if (count >= 2 * LONGEST) {
        // A long expression: what it has so far goes to the operand stack.
        join[pc] = true;
        goOn(pc);
        return pc;
      }
      Op op = op(pc);
      if (changed && mayGiveUp(pc) || isCall(op) && !isFlat(op == Op.CALL_ON ? 1 : 0)) {
        flush(0);
        cleanStep = pc;
        cleanBefore = count;
        changed = false;
      }
      count++;
      steps.add(pc);
      if (op == Op.JUMP) {
        int test = count < LONGEST && sp == 0 ? loopTest(pc) : -1;
        if (test < 0) {
          flush(0);
          finishChunk();
          f.add(Quick.GOTO);
          target(code.a[pc]);
          close();
          return pc + 1;
        }
        for (int i = code.a[pc]; i <= test; i++) {
          if (isClean()) {
            cleanStep = i;
            cleanBefore = count;
            changed = false;
          }
          if (changed && mayGiveUp(i)) {
            flush(0);
            cleanStep = i;
            cleanBefore = count;
            changed = false;
          }
          count++;
          steps.add(i);
          step(i);
        }
        flush(0);
        finishChunk();
        f.add(Quick.GOTO);
        target(test + 1);
        close();
        return pc + 1;
      }
      if (isCall(op) || op == Op.RETURN) {
        call(pc, op);
        close();
        return pc + 1;
      }
      mayBeSeen = false;
      step(pc);
      pc++;
      if (mayBeSeen && isClean() && pc < body.end()) {
        // Should the step be walked, only this one is.
        join[pc] = true;
      }
      if (pc >= body.end()) {
        throw new IllegalStateException("body " + body.name() + " has no end");
      }
    }
  }

  private static boolean isCall(Op op) {
    return op == Op.CALL || op == Op.CALL_ON;
  }

  private boolean isClean() {
    return isFlat(0);
  }

  /** All but the topmost values are on the operand stack. */
  private boolean isFlat(int but) {
    for (int i = 0; i < sp - but; i++) {
      if (stack[i].form != Kind.STACKED) {
        return false;
      }
    }
    return true;
  }

  /** Ends the stretch where another one begins. */
  private void goOn(int pc) {
    flush(0);
    finishChunk();
    f.add(Quick.GOTO);
    target(pc);
    close();
  }

  private void close() {
    f.set(headAt + 1, count);
    for (int i = 0; i < openExits.size(); i++) {
      int at = openExits.get(i);
      f.set(at, count - exitBefore.get(f.get(at + 1)));
    }
    openExits.clear();
  }

  private void target(int pc) {
    targets.add(f.size());
    targets.add(pc);
    f.add(0);
    join[pc] = true;
  }

  /** An operation that may give up comes next: its steps can be walked from the last clean point. */
  private void mayBail() {
    bailAt.add(f.size());
    bailStep.add(cleanStep);
    bailBefore.add(cleanBefore);
    bailStretch.add(stretchStart.size() - 1);
  }

  private boolean mayGiveUp(int pc) {
    return switch (op(pc)) {
      case STORE_SELF -> watches && self < 0 && watchedOffsets.contains((long) code.a[pc]);
      case LOAD_INDIRECT, STORE_INDIRECT, CHECK_NULL, INDEX, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV, MOD, NEG_EXACT, ABS, DIV_REAL, POWER_REAL, SQRT_REAL, DIV_LREAL,
          POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, SHL, SHR, ROL, ROR, CONVERT, RANGE, CALL, CALL_ON, NEG, NEG_REAL, NEG_LREAL, MAX, MIN, LT_UNSIGNED,
          LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL -> true;
      default -> false;
    };
  }

  // ---- values ----

  private static int operand(int base, int offset) {
    return offset << 2 | base;
  }

  private static Value slot(int operand, boolean bool, boolean loose) {
    return new Value(Kind.SLOT, operand, 0, 0, 0, bool, false, loose, -1);
  }

  private static Value place(int base, int offset) {
    return new Value(Kind.PLACE, operand(base, offset), 0, 0, 0, false, false, false, -1);
  }

  private void push(Value v) {
    stack[sp++] = v;
  }

  private Value pop() {
    return stack[--sp];
  }

  private Value constant(int pool) {
    long v = code.pool[pool];
    return new Value(Kind.SLOT, operand(Quick.TAIL, constantPlace[pool]), 0, 0, 0, v == 0 || v == 1, false, false, pool);
  }

  private boolean isTemp(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 >= firstTemp;
  }

  private boolean isBitTemp(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 >= firstBitTemp && operand >> 2 < firstTemp;
  }

  private boolean uses(Value v, int operand) {
    return switch (v.form) {
      case SLOT, POINTER -> v.at == operand;
      case ELEMENT, LOCATED_ELEMENT -> v.x == operand;
      case COMPARISON -> v.x == operand || v.y == operand;
      case STACKED, BIT, PLACE -> false;
    };
  }

  private final Value[] held = new Value[4];
  private int holding;

  /** Values taken from the stack and still needed. */
  private void hold(Value... values) {
    holding = values.length;
    System.arraycopy(values, 0, held, 0, holding);
  }

  private int temp() {
    for (int i = 0; i < temps; i++) {
      int t = operand(Quick.TAIL, firstTemp + i);
      boolean free = true;
      for (int k = 0; k < sp && free; k++) {
        free = !uses(stack[k], t);
      }
      for (int k = 0; k < holding && free; k++) {
        free = !uses(held[k], t);
      }
      for (int k = 0; k < taken.size() && free; k++) {
        free = taken.get(k) != t;
      }
      if (free) {
        return t;
      }
    }
    throw new IllegalStateException("an expression needs more than " + temps + " intermediate values");
  }

  /** Operands already fetched for the operation that is being written. */
  private final Ints taken = new Ints();

  private int bitTemp() {
    for (int round = 0; ; round++) {
      for (int i = 0; i < bitTempUsed.length; i++) {
        int t = operand(Quick.TAIL, firstBitTemp + i);
        if (!bitTempUsed[i] && !isReferred(t)) {
          bitTempUsed[i] = true;
          return t;
        }
      }
      if (round > 0) {
        throw new IllegalStateException("an expression needs more than " + bitTempUsed.length + " bits");
      }
      finishChunk();
    }
  }

  private boolean isReferred(int t) {
    for (int k = 0; k < sp; k++) {
      if (uses(stack[k], t)) {
        return true;
      }
    }
    for (int k = 0; k < holding; k++) {
      if (uses(held[k], t)) {
        return true;
      }
    }
    for (int k = 0; k < taken.size(); k++) {
      if (taken.get(k) == t) {
        return true;
      }
    }
    return false;
  }

  // ---- writing operations ----

  /** Everything Boolean that waits must be written first. */
  private void begin(int operation) {
    finishChunk();
    lastTarget = -1;
    f.add(operation);
  }

  /** The result of the operation whose d is written next. */
  private int result() {
    int t = temp();
    lastTarget = f.size();
    lastTemp = t;
    lastInGates = false;
    f.add(t);
    return t;
  }

  private void finishChunk() {
    if (bitsIn.size() > 0) {
      f.add(Quick.BITS_IN);
      f.add(bitsIn.size() / 2);
      for (int i = 0; i < bitsIn.size(); i++) {
        f.add(bitsIn.get(i));
      }
    }
    if (gates.size() > 0) {
      f.add(marked ? Quick.MARKED : Quick.GATES);
      f.add(gates.size() / 5);
      for (int i = 0; i < gates.size(); i += 5) {
        f.add(gates.get(i));
        f.add(gates.get(i + 1));
        f.add(gates.get(i + 2));
        f.add(gates.get(i + 3));
        if (marked) {
          f.add(gates.get(i + 4) < 0 ? code.elements().size() : gates.get(i + 4));
        }
      }
    }
    if (bitsOut.size() > 0) {
      f.add(Quick.BITS_OUT);
      f.add(bitsOut.size() / 2);
      for (int i = 0; i < bitsOut.size(); i++) {
        f.add(bitsOut.get(i));
      }
    }
    if (notes.size() > 0) {
      f.add(Quick.RECORD);
      f.add(notes.size() / 4);
      for (int i = 0; i < notes.size(); i++) {
        f.add(notes.get(i));
      }
    }
    if (lastInGates) {
      lastTarget = -1;
    }
    notes.clear();
    bitsIn.clear();
    gates.clear();
    bitsOut.clear();
    marked = false;
    Arrays.fill(bitTempUsed, false);
  }

  /** Truth table of AND, OR or XOR with inputs that may be negated; bits 4 and 5: y as a test. */
  private static int table(Op op, boolean notX, boolean notY) {
    int t = 0;
    for (int i = 0; i < 4; i++) {
      boolean x = (i & 2) != 0 ^ notX;
      boolean y = (i & 1) != 0 ^ notY;
      boolean r = switch (op) {
        case AND, CONTACT -> x & y;
        case OR -> x | y;
        case XOR -> x ^ y;
        default -> throw new IllegalArgumentException(op + " is no gate");
      };
      t |= (r ? 1 : 0) << i;
    }
    return t | (notY ? 1 : 2) << 4;
  }

  /** d := x; as a test y stands for x. */
  private static int copy(boolean not) {
    return (not ? 0b0011 : 0b1100) | (not ? 1 : 2) << 4;
  }

  private void gate(int d, int x, int y, int table, int element) {
    if (isNoted(d)) {
      // What it wrote before is recorded first.
      finishChunk();
    }
    // Located bits are fetched before the gates of a chunk: their slots are not to be used again while a gate waits for what is in them.
    reserve(x);
    reserve(y);
    lastTarget = gates.size();
    lastInGates = true;
    lastTemp = d;
    gates.add(d);
    gates.add(x);
    gates.add(y);
    gates.add(table);
    gates.add(element);
    marked |= element >= 0;
  }

  private void reserve(int operand) {
    if (isBitTemp(operand)) {
      bitTempUsed[(operand >> 2) - firstBitTemp] = true;
    }
  }

  /** The value in a slot, not negated. */
  private int fetch(Value v) {
    switch (v.form) {
      case STACKED -> throw new IllegalStateException("a stacked value has a position");
      case SLOT -> {
        if (!v.not) {
          return v.at;
        }
        int t = temp();
        gate(t, v.at, v.at, copy(true), -1);
        return t;
      }
      case BIT -> {
        int t = bit(v);
        if (!v.not) {
          return t;
        }
        int n = temp();
        gate(n, t, t, copy(true), -1);
        return n;
      }
      case PLACE -> {
        begin(Quick.ADDRESS);
        int t = result();
        f.add(v.at + (v.offset << 2));
        return t;
      }
      case POINTER -> {
        if (v.offset == 0) {
          return v.at;
        }
        begin(Quick.OFFSET);
        int t = result();
        f.add(v.at);
        f.add(v.offset);
        return t;
      }
      case ELEMENT -> {
        finishChunk();
        mayBail();
        begin(Quick.ADDRESS_ELEMENT);
        int t = result();
        f.add(v.at);
        f.add(v.x);
        f.add(v.y);
        f.add(v.offset);
        return t;
      }
      case LOCATED_ELEMENT -> {
        finishChunk();
        mayBail();
        begin(Quick.ADDRESS_INDEX);
        int t = result();
        f.add(operand(Quick.TAIL, constantPlace[v.at]));
        f.add(v.x);
        f.add(v.y);
        f.add(v.offset);
        return t;
      }
      case COMPARISON -> {
        begin(v.at);
        int t = result();
        f.add(v.x);
        f.add(v.y);
        if (!v.not) {
          return t;
        }
        taken.add(t);
        int n = temp();
        taken.n--;
        gate(n, t, t, copy(true), -1);
        return n;
      }
    }
    throw new IllegalStateException(v.form.name());
  }

  /** Slot of a located bit, fetched once per chunk. */
  private int bit(Value v) {
    if (bitsOut.size() > 0 && v.at >>> 28 != 1) {
      finishChunk();
    }
    for (int i = 0; i < bitsIn.size(); i += 2) {
      if (bitsIn.get(i + 1) == v.at) {
        return bitsIn.get(i);
      }
    }
    int t = bitTemp();
    bitsIn.add(t);
    bitsIn.add(v.at);
    return t;
  }

  /** The value of an entry as an operand; a stacked one is fetched from its position. */
  private int fetchAt(Value v, int position) {
    if (v.form == Kind.STACKED) {
      begin(Quick.UNSTACK);
      int t = result();
      f.add(position);
      return t;
    }
    return fetch(v);
  }

  /** Entries below the top {@code keep} go to the operand stack, as they must be wherever steps are walked. */
  private void flush(int keep) {
    for (int i = 0; i < sp - keep; i++) {
      Value v = stack[i];
      if (v.form != Kind.STACKED) {
        int x = fetch(v);
        begin(Quick.STACK);
        f.add(i);
        f.add(x);
        stack[i] = STACKED;
      }
    }
  }

  /** Something is about to be written: what depends on variables is fetched. */
  private void settle() {
    for (int i = 0; i < sp; i++) {
      Value v = stack[i];
      if (v.loose || v.form == Kind.COMPARISON || v.form == Kind.ELEMENT || v.form == Kind.LOCATED_ELEMENT) {
        stack[i] = settled(v);
      }
    }
    changed = true;
  }

  private Value settled(Value v) {
    if (v.form == Kind.SLOT && !v.not) {
      if (v.bool) {
        int t = temp();
        gate(t, v.at, v.at, copy(false), -1);
        return slot(t, true, false);
      }
      begin(Quick.MOVE);
      int t = result();
      f.add(v.at);
      return slot(t, v.bool, false);
    }
    if (v.form == Kind.POINTER) {
      begin(Quick.MOVE);
      int t = result();
      f.add(v.at);
      return new Value(Kind.POINTER, t, 0, 0, v.offset, false, false, false, -1);
    }
    int t = fetch(v);
    boolean address = v.form == Kind.ELEMENT || v.form == Kind.LOCATED_ELEMENT;
    return address ? new Value(Kind.POINTER, t, 0, 0, 0, false, false, false, -1) : slot(t, v.bool, false);
  }

  /** Whether an operand names something that others may write before it is read. */
  private boolean isVariable(int operand) {
    return (operand & 3) != Quick.TAIL;
  }

  private boolean isNoted(int target) {
    for (int i = 0; i < notes.size(); i += 4) {
      if (notes.get(i) == target) {
        return true;
      }
    }
    return false;
  }

  /** A gate of this chunk has written a variable. */
  private void note(int x, int how, int address) {
    if (records) {
      notes.add(x);
      notes.add(how);
      notes.add(address);
      notes.add(here);
    }
  }

  /** Something else has written a variable. */
  private void record(int x, int how, int address) {
    if (records) {
      begin(Quick.RECORD);
      f.add(1);
      f.add(x);
      f.add(how);
      f.add(address);
      f.add(here);
    }
  }

  /** A slot is about to be written that may be watched: then its step is walked. */
  private void watch(int target) {
    int offset = target >> 2;
    boolean possible = switch (target & 3) {
      case Quick.NO_BASE -> form.sees(offset, 64);
      case Quick.SELF -> self < 0 ? watchedOffsets.contains((long) offset) : form.sees(self + offset, 64);
      default -> false;
    };
    if (watches && possible) {
      finishChunk();
      mayBail();
      begin(Quick.WATCH);
      mayBeSeen = true;
      f.add(target);
    }
  }

  /** An element is about to be written: where the array's place is known, the indices of watched elements are too. Tells whether its address must be looked at. */
  private boolean watchElement(Value to) {
    int offset = (to.at >> 2) + to.offset;
    long low = code.pool[to.y];
    long stride = code.pool[to.y + 2];
    long slots = (code.pool[to.y + 1] - low + 1) * stride;
    int base = to.at & 3;
    if (base == Quick.SELF && self < 0) {
      return watchedOffsets.stream().anyMatch(w -> w >= offset && w < offset + slots);
    }
    if (base == Quick.NO_BASE || base == Quick.SELF) {
      long first = offset + (base == Quick.SELF ? self : 0L);
      for (Form.Watched w : form.watched()) {
        long at = w.address() - first;
        if (!Address.isLocated(w.address()) && at >= 0 && at < slots && at % stride == 0) {
          finishChunk();
          mayBail();
          begin(Quick.WATCH_INDEX);
          mayBeSeen = true;
          f.add(to.x);
          f.add((int) (low + at / stride));
        }
      }
    }
    return false;
  }

  /** Stores in a variable. */
  private void store(int target, Value v, int position) {
    settle();
    watch(target);
    if (isNoted(target)) {
      finishChunk();
    }
    boolean inGates = put(target, v, position);
    if (inGates) {
      note(target, Quick.BY_SLOT, target);
    } else {
      record(target, Quick.BY_SLOT, target);
    }
    lastTarget = -1;
  }

  /** Writes a slot; tells whether a gate does it. */
  private boolean put(int target, Value v, int position) {
    if (v.form == Kind.STACKED) {
      begin(Quick.UNSTACK);
      f.add(target);
      f.add(position);
      return false;
    }
    if (v.form == Kind.SLOT && !v.not && lastTarget >= 0 && lastTemp == v.at && isTemp(v.at) && !isReferredBelow(v.at)) {
      // The operation that made the value writes it where it belongs.
      (lastInGates ? gates : f).set(lastTarget, target);
      return lastInGates;
    }
    if (v.form == Kind.COMPARISON && !v.not) {
      begin(v.at);
      f.add(target);
      f.add(v.x);
      f.add(v.y);
      return false;
    }
    if (v.form == Kind.SLOT && v.bool) {
      gate(target, v.at, v.at, copy(v.not), -1);
      return true;
    }
    if (v.form == Kind.BIT) {
      int t = bit(v);
      gate(target, t, t, copy(v.not), -1);
      return true;
    }
    int x = fetch(v);
    if (lastTarget >= 0 && lastTemp == x && isTemp(x)) {
      (lastInGates ? gates : f).set(lastTarget, target);
      return lastInGates;
    }
    begin(Quick.MOVE);
    f.add(target);
    f.add(x);
    return false;
  }

  // ---- steps ----

  private void step(int pc) {
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
        if (v.form == Kind.POINTER) {
          finishChunk();
          mayBail();
          begin(Quick.CHECK_NULL);
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
        if (v.form == Kind.ELEMENT || v.form == Kind.LOCATED_ELEMENT) {
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
      case DIV -> {
        if (a == 0 && b != ElementaryType.ULINT.ordinal()) {
          binary(Quick.DIV, false, true);
        } else {
          anyBinary(op, a, b);
        }
      }
      case MOD -> {
        if (a == 0 && b != ElementaryType.ULINT.ordinal()) {
          binary(Quick.MOD, false, true);
        } else {
          anyBinary(op, a, b);
        }
      }
      case ADD_LREAL -> binary(Quick.ADD_LREAL, false, false);
      case SUB_LREAL -> binary(Quick.SUB_LREAL, false, false);
      case MUL_LREAL -> binary(Quick.MUL_LREAL, false, false);
      case DIV_LREAL -> {
        if (a == 0) {
          binary(Quick.DIV_LREAL, false, true);
        } else {
          anyBinary(op, a, b);
        }
      }
      case ADD_REAL -> binary(Quick.ADD_REAL, false, false);
      case SUB_REAL -> binary(Quick.SUB_REAL, false, false);
      case MUL_REAL -> binary(Quick.MUL_REAL, false, false);
      case AND, OR, XOR -> logic(op, -1);
      case CONTACT -> logic(op, a);
      case ELEMENT -> element(a);
      case NOT -> {
        Value v = stack[sp - 1];
        if (v.bool && v.form != Kind.STACKED) {
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
          binary(op == Op.MAX ? Quick.MAX : Quick.MIN, false, false);
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
          anyUnary(op, a, b, false);
        } else {
          int x = take1();
          finishChunk();
          mayBail();
          begin(Quick.RANGE);
          f.add(x);
          f.add(a);
          push(slot(x, false, isVariable(x)));
        }
      }
      case SHL, SHR -> shift(op, b);
      case ABS, NEG, NEG_EXACT, NEG_REAL, NEG_LREAL, SQRT_REAL, SQRT_LREAL -> anyUnary(op, a, b, false);
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

  private static boolean isBool(int kind) {
    return kind == ElementaryType.BOOL.ordinal();
  }

  /** Frame slots that got a Boolean in this stretch. */
  private final Ints boolTemps = new Ints();

  private boolean holdsBool(int slot) {
    for (int i = boolTemps.size() - 1; i >= 0; i--) {
      if (boolTemps.get(i) == slot) {
        return true;
      }
    }
    return false;
  }

  private void storeTemp(int slot) {
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

  private int keep(int operand) {
    taken.add(operand);
    return operand;
  }

  /** The topmost values are no longer on the operand stack but known. */
  private void bring(int n) {
    for (int i = sp - n; i < sp; i++) {
      if (stack[i].form == Kind.STACKED) {
        begin(Quick.UNSTACK);
        int t = result();
        f.add(i);
        stack[i] = slot(t, false, false);
      }
    }
  }

  private int take1() {
    bring(1);
    Value v = pop();
    hold(v);
    return keep(fetch(v));
  }

  /** Both operands: x in the high half, y in the low one. */
  private long take2() {
    bring(2);
    Value y = pop();
    Value x = pop();
    hold(x, y);
    int nx = keep(fetch(x));
    int ny = keep(fetch(y));
    return (long) nx << 32 | ny & 0xFFFF_FFFFL;
  }

  private void storeTop(int target) {
    Value v = pop();
    hold(v);
    store(target, v, sp);
  }

  /** An address in a form that can be moved: a place, a pointer, an element. */
  private Value address(Value v, int position) {
    if (v.form == Kind.STACKED) {
      int t = fetchAt(v, position);
      return new Value(Kind.POINTER, t, 0, 0, 0, false, false, false, -1);
    }
    if (v.form == Kind.SLOT) {
      if (v.pool >= 0 && code.pool[v.pool] > 0 && code.pool[v.pool] < 1 << 29) {
        return place(Quick.NO_BASE, (int) code.pool[v.pool]);
      }
      return new Value(Kind.POINTER, v.at, 0, 0, 0, false, false, v.loose, v.pool);
    }
    return v;
  }

  private boolean isLocatedConstant(Value v) {
    return v.form == Kind.POINTER && v.pool >= 0 && Address.isLocated(code.pool[v.pool]);
  }

  private void index(int bounds) {
    Value i = stack[sp - 1];
    if (i.form == Kind.STACKED) {
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
    if (base.form == Kind.PLACE) {
      push(new Value(Kind.ELEMENT, base.at + (base.offset << 2), x, bounds, 0, false, false, loose, -1));
      return;
    }
    if (isLocatedConstant(base) && base.offset == 0 && constantPlace[base.pool] >= 0) {
      push(new Value(Kind.LOCATED_ELEMENT, base.pool, x, bounds, 0, false, false, loose, -1));
      return;
    }
    int at = keep(fetch(base));
    finishChunk();
    mayBail();
    begin(Quick.ADDRESS_INDEX);
    int t = result();
    f.add(at);
    f.add(x);
    f.add(bounds);
    f.add(0);
    push(new Value(Kind.POINTER, t, 0, 0, 0, false, false, false, -1));
  }

  private void loadLocated(int pool, int offset, int kind) {
    long at = code.pool[pool];
    if (isBool(kind) && Address.bit(at) + offset < GREATEST_BIT) {
      push(new Value(Kind.BIT, Address.area(at) << 28 | (int) Address.bit(at) + offset, 0, 0, 0, true, false, true, -1));
      return;
    }
    begin(Quick.LOAD_LOCATED);
    int t = result();
    f.add(pool);
    f.add(offset);
    f.add(kind);
    push(slot(t, isBool(kind), false));
  }

  private void storeLocated(int pool, int offset, int kind) {
    long at = code.pool[pool];
    Value v = pop();
    hold(v);
    if (v.form == Kind.STACKED) {
      int t = fetchAt(v, sp);
      v = slot(t, isBool(kind), false);
      hold(v);
    }
    settle();
    if (v.form == Kind.COMPARISON) {
      v = new Value(Kind.SLOT, input(v), 0, 0, 0, true, v.not, false, -1);
      hold(v);
    }
    if (isBool(kind) && v.bool && Address.area(at) != 1 && Address.bit(at) + offset < GREATEST_BIT) {
      int place = Address.area(at) << 28 | (int) Address.bit(at) + offset;
      int t = bitTemp();
      if (v.form == Kind.SLOT && !v.not && lastTarget >= 0 && lastInGates && lastTemp == v.at && isTemp(v.at) && !isReferredBelow(v.at)) {
        gates.set(lastTarget, t);
      } else if (v.form == Kind.BIT) {
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

  private boolean isReferredBelow(int t) {
    for (int k = 0; k < sp; k++) {
      if (uses(stack[k], t)) {
        return true;
      }
    }
    return false;
  }

  private void loadIndirect(int kind) {
    Value v = address(stack[sp - 1], sp - 1);
    sp--;
    hold(v);
    if (v.form == Kind.PLACE) {
      push(slot(v.at + (v.offset << 2), isBool(kind), true));
      return;
    }
    if (isLocatedConstant(v) && !(form.reads() && Address.area(code.pool[v.pool]) == 1)) {
      loadLocated(v.pool, v.offset, kind);
      return;
    }
    finishChunk();
    mayBail();
    if (v.form == Kind.ELEMENT) {
      begin(Quick.LOAD_ELEMENT);
      int t = result();
      f.add(v.at);
      f.add(v.x);
      f.add(v.y);
      f.add(v.offset);
      push(slot(t, isBool(kind), false));
      return;
    }
    if (v.form == Kind.LOCATED_ELEMENT) {
      begin(Quick.LOAD_LOCATED_ELEMENT);
      int t = result();
      f.add(v.at);
      f.add(v.offset);
      f.add(v.x);
      f.add(v.y);
      f.add(kind);
      push(slot(t, isBool(kind), false));
      return;
    }
    begin(Quick.LOAD_THROUGH);
    int t = result();
    f.add(v.at);
    f.add(v.offset);
    f.add(kind);
    push(slot(t, isBool(kind), false));
  }

  private void storeIndirect(int kind) {
    Value v = pop();
    hold(v);
    int position = sp;
    Value to = address(stack[sp - 1], sp - 1);
    sp--;
    hold(v, to);
    if (to.form == Kind.PLACE) {
      store(to.at + (to.offset << 2), v, position);
      return;
    }
    if (isLocatedConstant(to) && !(form.writes() && Address.area(code.pool[to.pool]) == 2)) {
      push(v);
      if (v.form == Kind.STACKED) {
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
    boolean open = watches && (to.form == Kind.POINTER && (to.offset == 0 || watchedOffsets.contains((long) to.offset)) || to.form == Kind.ELEMENT && watchElement(to));
    if (records || open && to.form == Kind.ELEMENT) {
      to = new Value(Kind.POINTER, keep(fetch(to)), 0, 0, 0, false, false, false, -1);
    }
    if (open) {
      finishChunk();
      mayBail();
      begin(Quick.WATCH_POINTER);
      mayBeSeen = true;
      f.add(to.at);
      f.add(to.offset);
    }
    finishChunk();
    mayBail();
    if (to.form == Kind.ELEMENT) {
      begin(Quick.STORE_ELEMENT);
      f.add(to.at);
      f.add(to.x);
      f.add(to.y);
      f.add(to.offset);
    } else if (to.form == Kind.LOCATED_ELEMENT) {
      begin(Quick.STORE_LOCATED_ELEMENT);
      f.add(to.at);
      f.add(to.offset);
      f.add(to.x);
      f.add(to.y);
      f.add(kind);
    } else {
      begin(Quick.STORE_THROUGH);
      f.add(to.at);
      f.add(to.offset);
      f.add(kind);
    }
    f.add(x);
    record(x, Quick.BY_POINTER, to.at);
  }

  private void binary(int operation, boolean bool, boolean bails) {
    long xy = take2();
    if (bails) {
      finishChunk();
      mayBail();
    }
    begin(operation);
    int t = result();
    f.add((int) (xy >> 32));
    f.add((int) xy);
    push(slot(t, bool, false));
  }

  private void wrapping(int signed, int unsigned, int kind) {
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

  private void anyUnary(Op op, int a, int b, boolean bool) {
    int x = take1();
    finishChunk();
    mayBail();
    begin(Quick.UNARY);
    int t = result();
    f.add(x);
    f.add(op.ordinal());
    f.add(a);
    f.add(b);
    push(slot(t, bool, false));
  }

  private void anyBinary(Op op, int a, int b) {
    long xy = take2();
    finishChunk();
    mayBail();
    begin(Quick.BINARY);
    int t = result();
    f.add((int) (xy >> 32));
    f.add((int) xy);
    f.add(op.ordinal());
    f.add(a);
    f.add(b);
    push(slot(t, false, false));
  }

  private void compare(int operation, boolean swap, boolean not) {
    long xy = take2();
    int x = (int) (xy >> 32);
    int y = (int) xy;
    push(new Value(Kind.COMPARISON, operation, swap ? y : x, swap ? x : y, 0, true, not, isVariable(x) || isVariable(y), -1));
  }

  private void logic(Op op, int element) {
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
  private int input(Value v) {
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

  private void element(int element) {
    bring(1);
    Value v = pop();
    hold(v);
    int x = keep(input(v));
    int t = temp();
    gate(t, x, x, copy(v.not), element);
    push(slot(t, true, false));
  }

  private void shift(Op op, int kind) {
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

  private void convert(int a) {
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
          anyUnary(Op.CONVERT, a, 0, false);
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
            finishChunk();
            mayBail();
            begin(toUnsigned ? Quick.FIT_UNSIGNED : Quick.FIT_SIGNED);
            int d = result();
            f.add(x);
            f.add(cut);
            push(slot(d, false, false));
          } else if (range == ImplementerChoices.RangeError.WRAP) {
            simple(toUnsigned ? Quick.CUT_UNSIGNED : Quick.CUT_SIGNED, cut);
          } else {
            anyUnary(Op.CONVERT, a, 0, false);
          }
        } else {
          anyUnary(Op.CONVERT, a, 0, false);
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
          anyUnary(Op.CONVERT, a, 0, false);
        }
      }
      case DURATION, DATE, TIME_OF_DAY -> {
        // the same number
      }
      case DATE_AND_TIME, CHARACTER, STRING -> anyUnary(Op.CONVERT, a, 0, false);
    }
  }

  /** The value is the same, but no longer Boolean. */
  private void lose(ElementaryType to) {
    Value v = stack[sp - 1];
    if (v.bool && to != ElementaryType.BOOL && (v.not || v.form == Kind.COMPARISON || v.form == Kind.BIT)) {
      int x = take1();
      push(slot(x, false, isVariable(x)));
    } else if (v.form == Kind.SLOT && v.bool) {
      stack[sp - 1] = slot(v.at, false, v.loose);
    }
  }

  private void simple(int operation, int shift) {
    int x = take1();
    begin(operation);
    int t = result();
    f.add(x);
    f.add(shift);
    push(slot(t, shift == 63, false));
  }

  // ---- leaving the stretch ----

  private void jump(int pc, boolean when) {
    bring(1);
    Value v = pop();
    hold(v);
    boolean jumpWhen = when ^ v.not;
    int operation;
    int x;
    int y = -1;
    if (v.form == Kind.COMPARISON) {
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
    flush(0);
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

  private final Ints openExits = new Ints();

  private void call(int pc, Op op) {
    holding = 0;
    taken.clear();
    if (op == Op.RETURN) {
      flush(0);
      begin(Quick.RETURN);
      return;
    }
    Value on = null;
    if (op == Op.CALL_ON) {
      on = address(stack[sp - 1], sp - 1);
      sp--;
      hold(on);
    }
    if (on == null || on.form == Kind.PLACE) {
      finishChunk();
      mayBail();
      begin(on == null ? Quick.CALL : Quick.CALL_AT);
      if (on != null) {
        f.add(on.at + (on.offset << 2));
      }
    } else {
      int x = keep(fetch(on));
      finishChunk();
      mayBail();
      begin(Quick.CALL_ON);
      f.add(x);
    }
    f.add(code.a[pc]);
    f.add(code.b[pc]);
    f.add(pc + 1);
  }
}
