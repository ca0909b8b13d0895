package dev.scanloom.internal.lanes;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.Arrays;
import java.util.LinkedHashSet;
import java.util.Set;
import java.util.TreeMap;

/**
 * What steps can touch, without running them: addresses are followed as ranges through the operand stack and, whatever the order of execution, through the
 * variables that hold them (in-outs, references).
 */
final class Reach {
  private static final Op[] OPS = Op.values();
  private static final int BOOL = ElementaryType.BOOL.ordinal();
  private static final int ADDRESS_KIND = ElementaryType.ULINT.ordinal();
  private static final int ROUNDS = 12;
  private static final int CONTEXTS = 50_000;
  private static final int WIDE = 4_096;
  private static final int[] WIDTHS = Arrays.stream(ElementaryType.values()).mapToInt(ElementaryType::bits).toArray();

  /** Addresses {@code low} to {@code high}; ANY: nothing is known; NONE: no address. */
  private record Range(long low, long high) {
    static final Range ANY = new Range(Long.MIN_VALUE, Long.MAX_VALUE);
    static final Range NONE = new Range(0, -1);

    static Range of(long address) {
      return new Range(address, address);
    }

    boolean isAny() {
      return low == Long.MIN_VALUE;
    }

    boolean isNone() {
      return high < low;
    }

    Range join(Range o) {
      if (isNone() || equals(o)) {
        return o;
      }
      if (o.isNone()) {
        return this;
      }
      boolean located = Address.isLocated(low);
      if (isAny() || o.isAny() || located != Address.isLocated(o.low) || located && Address.area(low) != Address.area(o.low)) {
        return ANY;
      }
      return new Range(Math.min(low, o.low), Math.max(high, o.high));
    }

    Range plus(long from, long to) {
      return isAny() || isNone() ? this : new Range(low + from, high + to);
    }
  }

  /** Instances {@code selfLow} to {@code selfHigh} of a body at a frame. */
  private record Context(int body, long selfLow, long selfHigh, int frame) {}

  private final Code code;
  private final Cells cells;
  private final TreeMap<Integer, Range> held = new TreeMap<>();
  private boolean grown;
  private String trouble;

  /** What a stretch reads and writes as Booleans, what it writes at all, and the like. */
  static final class Touched {
    final Spans reads = new Spans();
    final Spans writes = new Spans();
    /** Written in whatever type. */
    final Spans stored = new Spans();
    boolean mayFail;
    boolean loops;
    /** Frame cells that are touched by address. */
    boolean framesByAddress;
    final Spans frameRanges = new Spans();
    long steps;
  }

  private Touched touched;
  private Set<Context> seen = new LinkedHashSet<>();

  Reach(Code code, Cells cells) {
    this.code = code;
    this.cells = cells;
    for (int round = 0; trouble == null; round++) {
      grown = false;
      seen = new LinkedHashSet<>();
      touched = new Touched();
      for (Code.Program p : code.programs()) {
        body(new Context(p.body(), p.self(), p.self(), cells.staticSlots));
      }
      if (!grown) {
        break;
      }
      if (round == ROUNDS) {
        held.replaceAll((slot, range) -> Range.ANY);
      }
    }
  }

  /** Why the program cannot be followed; null when it can. */
  String trouble() {
    return trouble;
  }

  /** What a stretch touches, with all that it calls. {@code cut}: of its body, which knows the types of temporaries; those of called bodies do not outlive them. */
  Touched touched(BodyCut.Stretch stretch, BodyCut cut, int self, int frame) {
    seen = new LinkedHashSet<>();
    touched = new Touched();
    steps(stretch.start(), stretch.end(), self, self, frame, cut);
    return touched;
  }

  private void body(Context c) {
    if (trouble != null || !seen.add(c)) {
      return;
    }
    if (seen.size() > CONTEXTS) {
      trouble = "calls have too many contexts to be followed";
      return;
    }
    Code.Body b = code.bodies().get(c.body);
    steps(b.start(), b.end(), c.selfLow, c.selfHigh, c.frame, null);
  }

  // ---- operands ----

  private final class Stack {
    private Range[] all = new Range[32];
    private int top;

    void push(Range r) {
      if (top == all.length) {
        all = Arrays.copyOf(all, 2 * top);
      }
      all[top++] = r;
    }

    Range pop() {
      return top == 0 ? Range.ANY : all[--top];
    }

    Range peek(int below) {
      return top > below ? all[top - 1 - below] : Range.ANY;
    }

    void forget() {
      Arrays.fill(all, 0, top, Range.ANY);
    }
  }

  private Range heldAt(long low, long high) {
    if (high - low > WIDE) {
      return Range.ANY;
    }
    Range r = Range.NONE;
    for (long s = low; s <= high; s++) {
      Range h = held.get((int) s);
      if (h != null) {
        r = r.join(h);
      }
      long initial = s > 0 && s < cells.staticSlots ? code.memory().initial()[(int) s] : 0;
      if (initial != 0) {
        r = r.join(cells.isInside(initial, 1) ? Range.of(initial) : Range.ANY);
      }
    }
    return r;
  }

  private void hold(long low, long high, Range value) {
    if (value.isNone()) {
      return;
    }
    if (high - low > WIDE) {
      trouble = "addresses are stored in a large array";
      return;
    }
    for (long s = low; s <= high; s++) {
      Range before = held.getOrDefault((int) s, Range.NONE);
      Range after = before.join(value);
      if (!after.equals(before)) {
        held.put((int) s, after);
        grown = true;
      }
    }
  }

  // ---- what is touched ----

  private void read(long low, long high, boolean isBoolean) {
    if (isBoolean) {
      touched.reads.add((int) low, (int) high);
    }
  }

  private void write(long low, long high, boolean isBoolean) {
    touched.stored.add((int) low, (int) high);
    if (isBoolean) {
      touched.writes.add((int) low, (int) high);
    }
  }

  private void everything(boolean writes) {
    touched.reads.add(1, cells.total - 1);
    touched.framesByAddress = true;
    touched.frameRanges.add(cells.staticSlots, cells.slots - 1);
    if (writes) {
      write(1, cells.total - 1, true);
    }
  }

  /** A number of slots, or of bits when located, from an address on. {@code whatever}: also cells of other types are moved. */
  private void at(Range address, long slots, long bits, boolean isBoolean, boolean writes) {
    if (address.isNone()) {
      return; // only NULL is ever there, which fails
    }
    if (address.isAny()) {
      everything(writes);
      return;
    }
    boolean located = Address.isLocated(address.low);
    long low = address.low;
    long high = address.high + (located ? bits : slots) - 1;
    if (!cells.isInside(low, 1) || !cells.isInside(high, 1)) {
      everything(writes);
      return;
    }
    int first = cells.of(low);
    int last = cells.of(high);
    if (!located && last >= cells.staticSlots) {
      touched.framesByAddress = true;
      touched.frameRanges.add(Math.max(first, cells.staticSlots), last);
    }
    boolean bit = isBoolean || located;
    if (writes) {
      write(first, last, bit);
    } else {
      read(first, last, bit);
    }
  }

  // ---- steps ----

  private void steps(int start, int end, long selfLow, long selfHigh, int frame, BodyCut own) {
    Stack stack = new Stack();
    boolean[] target = new boolean[end - start + 1];
    for (int pc = start; pc < end; pc++) {
      Op op = OPS[code.op[pc]];
      if (BodyCut.isJump(op) || op == Op.GUARD) {
        int t = code.a[pc];
        if (t >= start && t <= end) {
          target[t - start] = true;
        }
        touched.loops |= t <= pc;
      }
    }
    for (int pc = start; pc < end && trouble == null; pc++) {
      if (target[pc - start]) {
        stack.forget();
      }
      touched.steps++;
      step(pc, stack, selfLow, selfHigh, frame, own);
    }
  }

  private void step(int pc, Stack stack, long selfLow, long selfHigh, int frame, BodyCut own) {
    Op op = OPS[code.op[pc]];
    int a = code.a[pc];
    int b = code.b[pc];
    switch (op) {
      case CONST -> stack.push(code.pool[a] == Address.NULL ? Range.NONE : cells.isInside(code.pool[a], 1) ? Range.of(code.pool[a]) : Range.ANY);
      case ADDRESS_SELF -> stack.push(new Range(selfLow + a, selfHigh + a));
      case ADDRESS_FRAME -> stack.push(Range.of(frame + a));
      case LOAD_SELF -> load(stack, selfLow + a, selfHigh + a, b, b == BOOL);
      case LOAD_FRAME -> load(stack, frame + a, frame + a, b, b == BOOL);
      case LOAD_STATIC -> load(stack, a, a, b, b == BOOL);
      case LOAD_TEMP -> load(stack, frame + a, frame + a, ADDRESS_KIND, own != null && own.isBooleanTemp(a));
      case STORE_SELF -> store(stack, selfLow + a, selfHigh + a, b, b == BOOL);
      case STORE_FRAME -> store(stack, frame + a, frame + a, b, b == BOOL);
      case STORE_STATIC -> store(stack, a, a, b, b == BOOL);
      case STORE_TEMP -> store(stack, frame + a, frame + a, ADDRESS_KIND, own != null && own.isBooleanTemp(a));
      case LOAD_LOCATED -> {
        at(Range.of(code.pool[a]), 1, WIDTHS[b], true, false);
        stack.push(Range.ANY);
      }
      case STORE_LOCATED -> {
        stack.pop();
        at(Range.of(code.pool[a]), 1, WIDTHS[b], true, true);
      }
      case LOAD_INDIRECT -> {
        Range r = stack.pop();
        touched.mayFail = true;
        at(r, 1, WIDTHS[b], b == BOOL, false);
        stack.push(b != ADDRESS_KIND || r.isAny() || r.isNone() || Address.isLocated(r.low) ? Range.ANY : heldAt(r.low, r.high));
      }
      case STORE_INDIRECT -> {
        Range value = stack.pop();
        Range r = stack.pop();
        touched.mayFail = true;
        at(r, 1, WIDTHS[b], b == BOOL, true);
        if (b == ADDRESS_KIND && !r.isNone() && (r.isAny() || !Address.isLocated(r.low))) {
          if (r.isAny()) {
            trouble = "an address is stored at a place that is not known";
          } else {
            hold(r.low, r.high, value);
          }
        }
      }
      case OFFSET -> stack.push(stack.pop().plus(a, a));
      case INDEX -> {
        stack.pop();
        Range r = stack.pop();
        long span = code.pool[a + 1] - code.pool[a];
        long stride = !r.isAny() && !r.isNone() && Address.isLocated(r.low) ? code.pool[a + 3] : code.pool[a + 2];
        touched.mayFail = true;
        stack.push(r.plus(0, span * stride));
      }
      case OPEN_END -> {
        stack.pop();
        stack.pop();
        stack.push(Range.ANY);
      }
      case DUP -> stack.push(stack.peek(0));
      case DUP2 -> {
        Range x = stack.peek(1);
        Range y = stack.peek(0);
        stack.push(x);
        stack.push(y);
      }
      case SWAP -> {
        Range y = stack.pop();
        Range x = stack.pop();
        stack.push(y);
        stack.push(x);
      }
      case SELECT -> {
        Range y = stack.pop();
        Range x = stack.pop();
        stack.pop();
        stack.push(x.join(y));
      }
      case TYPE_TEST, CHECK_NULL -> touched.mayFail = true; // the address stays
      case CLEAR -> {
        touched.framesByAddress |= b > 0;
        touched.frameRanges.add(frame + a, frame + a + b - 1);
        write(frame + a, frame + a + b - 1, true);
      }
      case COPY -> {
        Range source = stack.pop();
        Range goal = stack.pop();
        touched.mayFail = true;
        touched.loops = true; // it is charged for its length
        int bits = b > 0 ? a * WIDTHS[b - 1] : a;
        at(source, a, bits, true, false);
        at(goal, a, bits, true, true);
        copied(source, goal, a);
      }
      case TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR -> {
        stack.pop();
        text(stack.pop(), a, op == Op.TEXT_CONVERT ? b >> 8 : b);
      }
      case CHAR_PUT -> {
        stack.pop();
        stack.pop();
        text(stack.pop(), -1, b);
      }
      case CALL -> body(new Context(a, selfLow, selfHigh, frame + b));
      case CALL_ON -> {
        Range r = stack.pop();
        if (r.isAny() || !r.isNone() && Address.isLocated(r.low)) {
          trouble = "the instance of a call is not known";
        } else if (!r.isNone()) {
          body(new Context(a, r.low, r.high, frame + b));
        }
      }
      case CALL_DYNAMIC -> {
        stack.pop();
        trouble = "methods are chosen by the type of an instance";
      }
      case NATIVE -> natives(code.natives().get(a), frame + b);
      case TAKE, WAIT, GIVE -> trouble = "tasks may wait for locks";
      case POP, BITS_GET, BITS_PUT, ADD, SUB, MUL, NEG, ADD_REAL, SUB_REAL, MUL_REAL, NEG_REAL, ADD_LREAL, SUB_LREAL, MUL_LREAL, NEG_LREAL, AND, OR, XOR,
          NOT, EQ, NE, LT, LE, GT, GE, LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL, COMPARE_LREAL, MAX, MIN, JUMP, JUMP_FALSE,
          JUMP_TRUE, RETURN, GUARD, UNGUARD, TASK_TIME, CONTACT, ELEMENT -> plain(op, stack, a);
      case CONVERT -> {
        touched.mayFail |= ElementaryType.values()[a & 255].family() != ElementaryType.Family.DURATION;
        plain(op, stack, a);
      }
      case OPEN_INDEX, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV, MOD, NEG_EXACT, ABS, DIV_REAL, POWER_REAL, SQRT_REAL, DIV_LREAL, POWER_LREAL, SQRT_LREAL,
          SCALE, UNSCALE, SHL, SHR, ROL, ROR, MUX, RANGE, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, ASSERT -> {
        touched.mayFail = true;
        plain(op, stack, a);
      }
    }
  }

  /** Pops and pushes values that are no addresses. */
  private static void plain(Op op, Stack stack, int a) {
    int pops = op.pops(a);
    for (int i = 0; i < pops; i++) {
      stack.pop();
    }
    for (int i = 0; i < op.pushes(); i++) {
      stack.push(Range.ANY);
    }
  }

  private void load(Stack stack, long low, long high, int kind, boolean isBoolean) {
    read(low, high, isBoolean);
    stack.push(isAddress(kind) ? heldAt(low, high) : Range.ANY);
  }

  /** References and in-outs are ULINT, strings are handed over by address. */
  private static boolean isAddress(int kind) {
    return kind == ADDRESS_KIND || ElementaryType.values()[kind].isString();
  }

  private void store(Stack stack, long low, long high, int kind, boolean isBoolean) {
    Range value = stack.pop();
    write(low, high, isBoolean);
    if (isAddress(kind)) {
      hold(low, high, value);
    }
  }

  /** Aggregates may hold references. */
  private void copied(Range source, Range goal, int slots) {
    if (source.isNone() || goal.isNone() || !source.isAny() && Address.isLocated(source.low) || !goal.isAny() && Address.isLocated(goal.low)) {
      return;
    }
    Range any = Range.NONE;
    if (source.isAny()) {
      for (Range r : held.values()) {
        any = any.join(r);
      }
    } else {
      for (Range r : held.subMap((int) source.low, true, (int) (source.high + slots - 1), true).values()) {
        any = any.join(r);
      }
    }
    if (any.isNone()) {
      return;
    }
    if (goal.isAny()) {
      trouble = "references are copied to a place that is not known";
    } else {
      hold(goal.low, goal.high + slots - 1, any);
    }
  }

  /** Characters are written: {@code capacity} as declared, -1 when it is not known. */
  private void text(Range address, int capacity, int kind) {
    touched.mayFail = true;
    touched.loops = true;
    if (address.isNone()) {
      return;
    }
    if (address.isAny() || Address.isLocated(address.low) || capacity < 0) {
      touched.stored.add(1, cells.slots - 1);
      return;
    }
    int slots = dev.scanloom.internal.step.Shape.Text.slotsFor(ElementaryType.values()[kind], capacity);
    touched.stored.add((int) address.low, (int) Math.min(cells.slots - 1L, address.high + slots - 1));
  }

  private void natives(Code.Native n, int frame) {
    touched.mayFail = true;
    touched.loops = true;
    for (int p = 0; p < n.offsets().length; p++) {
      int slot = frame + n.offsets()[p];
      if (n.offsets()[p] < 0) {
        continue;
      }
      boolean isBoolean = n.kinds()[p] == BOOL;
      read(slot, slot, isBoolean);
      write(slot, slot, isBoolean);
      if (n.kinds()[p] >= 0 && ElementaryType.values()[n.kinds()[p]].isString()) {
        Range r = heldAt(slot, slot);
        text(r, n.capacities()[p], n.kinds()[p]);
      }
    }
  }
}
