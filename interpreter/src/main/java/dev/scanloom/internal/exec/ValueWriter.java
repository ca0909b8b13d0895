package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Extent;
import dev.scanloom.internal.step.Heights;
import dev.scanloom.internal.step.Op;
import dev.scanloom.policy.ImplementerChoices;
import java.util.Arrays;
import java.util.Set;
import java.util.TreeSet;

/** Holds what the steps of a stretch have on the operand stack as descriptions, and writes operations where values are needed. */
abstract class ValueWriter {
  static final Op[] OPS = Op.values();
  static final int GREATEST_BIT = 1 << 28;

  final Code code;
  final Form form;
  /** Writes are recorded for a digest. */
  final boolean records;
  /** Variables are watched; then, which instance the body in work has, or -1. */
  final boolean watches;
  final Selves selves;
  /** Where watched variables lie in the instances that hold them. */
  final Set<Long> watchedOffsets = new TreeSet<>();
  int self;
  final ImplementerChoices choices;

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
  final boolean[] join;
  /** Indices of targets to be filled in: index, step. */
  final Ints targets = new Ints();
  /** Per index into the pool: place among the constants in memory. */
  final int[] constantPlace;
  final int firstBitTemp;
  final int firstTemp;
  final int temps;

  // ---- the stretch in work ----
  final Value[] stack;
  int sp;
  int count;
  int headAt;
  boolean changed;
  int cleanStep;
  int cleanBefore;
  /** Where the last operation's d stands, to be redirected; -1 for none. */
  int lastTarget = -1;
  int lastTemp;
  boolean lastInGates;
  final Ints gates = new Ints();
  final Ints bitsIn = new Ints();
  final Ints bitsOut = new Ints();
  boolean marked;
  /** Writes of this chunk to be recorded behind it. */
  final Ints notes = new Ints();
  /** The step in work may write what is watched. */
  boolean mayBeSeen;
  /** The step in work. */
  int here;
  final boolean[] bitTempUsed;

  ValueWriter(Code code, Form form) {
    this.form = form;
    this.records = form.digests();
    this.watches = !form.watched().isEmpty();
    this.selves = watches ? new Selves(code) : null;
    for (Extent w : form.watched()) {
      if (!Address.isLocated(w.address())) {
        code.symbols().around(w.address()).forEach(instance -> watchedOffsets.add(w.address() - instance));
      }
    }
    this.code = code;
    this.choices = code.choices();
    int n = code.length();
    entry = new int[n];
    height = Heights.of(code);
    join = new boolean[n + 1];
    Arrays.fill(entry, -1);
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

  Op op(int pc) {
    return OPS[code.op[pc]];
  }

  void target(int pc) {
    targets.add(f.size());
    targets.add(pc);
    f.add(0);
    join[pc] = true;
  }

  // ---- values ----

  static int operand(int base, int offset) {
    return offset << 2 | base;
  }

  static Value slot(int operand, boolean bool, boolean loose) {
    return new Value(Value.Kind.SLOT, operand, 0, 0, 0, bool, false, loose, -1);
  }

  static Value place(int base, int offset) {
    return new Value(Value.Kind.PLACE, operand(base, offset), 0, 0, 0, false, false, false, -1);
  }

  void push(Value v) {
    stack[sp++] = v;
  }

  Value pop() {
    return stack[--sp];
  }

  Value constant(int pool) {
    long v = code.pool[pool];
    return new Value(Value.Kind.SLOT, operand(Quick.TAIL, constantPlace[pool]), 0, 0, 0, v == 0 || v == 1, false, false, pool);
  }

  boolean isTemp(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 >= firstTemp;
  }

  boolean isBitTemp(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 >= firstBitTemp && operand >> 2 < firstTemp;
  }

  boolean uses(Value v, int operand) {
    return switch (v.form) {
      case SLOT, POINTER -> v.at == operand;
      case ELEMENT, LOCATED_ELEMENT -> v.x == operand;
      case COMPARISON -> v.x == operand || v.y == operand;
      case STACKED, BIT, PLACE -> false;
    };
  }

  final Value[] held = new Value[4];
  int holding;

  /** Values taken from the stack and still needed. */
  void hold(Value... values) {
    holding = values.length;
    System.arraycopy(values, 0, held, 0, holding);
  }

  int temp() {
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
  final Ints taken = new Ints();

  int bitTemp() {
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

  boolean isReferred(int t) {
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

  /** Begins an operation that may give up: then its steps are walked from the last clean point. */
  void beginFailing(int operation) {
    finishChunk();
    bailAt.add(f.size());
    bailStep.add(cleanStep);
    bailBefore.add(cleanBefore);
    bailStretch.add(stretchStart.size() - 1);
    begin(operation);
  }

  /** Begins an operation. Everything Boolean that waits must be written first. */
  void begin(int operation) {
    finishChunk();
    lastTarget = -1;
    f.add(operation);
  }

  /** The result of the operation whose d is written next. */
  int result() {
    int t = temp();
    lastTarget = f.size();
    lastTemp = t;
    lastInGates = false;
    f.add(t);
    return t;
  }

  void finishChunk() {
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
  static int table(Op op, boolean notX, boolean notY) {
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
  static int copy(boolean not) {
    return (not ? 0b0011 : 0b1100) | (not ? 1 : 2) << 4;
  }

  void gate(int d, int x, int y, int table, int element) {
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

  void reserve(int operand) {
    if (isBitTemp(operand)) {
      bitTempUsed[(operand >> 2) - firstBitTemp] = true;
    }
  }

  /** The value in a slot, not negated. */
  int fetch(Value v) {
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
        return element(Quick.ADDRESS_ELEMENT, v);
      }
      case LOCATED_ELEMENT -> {
        beginFailing(Quick.ADDRESS_INDEX);
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
        taken.removeLast();
        gate(n, t, t, copy(true), -1);
        return n;
      }
    }
    throw new IllegalStateException(v.form.name());
  }

  /** Slot of a located bit, fetched once per chunk. */
  int bit(Value v) {
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
  int fetchAt(Value v, int position) {
    if (v.form == Value.Kind.STACKED) {
      begin(Quick.UNSTACK);
      int t = result();
      f.add(position);
      return t;
    }
    return fetch(v);
  }

  /** All entries go to the operand stack, as they must be wherever steps are walked. */
  void flush() {
    for (int i = 0; i < sp; i++) {
      Value v = stack[i];
      if (v.form != Value.Kind.STACKED) {
        int x = fetch(v);
        begin(Quick.STACK);
        f.add(i);
        f.add(x);
        stack[i] = Value.STACKED;
      }
    }
  }

  /** Something is about to be written: what depends on variables is fetched. */
  void settle() {
    for (int i = 0; i < sp; i++) {
      Value v = stack[i];
      if (v.loose || v.form == Value.Kind.COMPARISON || v.form == Value.Kind.ELEMENT || v.form == Value.Kind.LOCATED_ELEMENT) {
        stack[i] = settled(v);
      }
    }
    changed = true;
  }

  Value settled(Value v) {
    if (v.form == Value.Kind.SLOT && !v.not) {
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
    if (v.form == Value.Kind.POINTER) {
      begin(Quick.MOVE);
      int t = result();
      f.add(v.at);
      return new Value(Value.Kind.POINTER, t, 0, 0, v.offset, false, false, false, -1);
    }
    int t = fetch(v);
    boolean address = v.form == Value.Kind.ELEMENT || v.form == Value.Kind.LOCATED_ELEMENT;
    return address ? Value.pointer(t) : slot(t, v.bool, false);
  }

  /** Begins an operation on an element; where its result lies. */
  int element(int op, Value v) {
    beginFailing(op);
    int t = result();
    f.add(v.at);
    f.add(v.x);
    f.add(v.y);
    f.add(v.offset);
    return t;
  }

  /** Whether an operand names something that others may write before it is read. */
  boolean isVariable(int operand) {
    return (operand & 3) != Quick.TAIL;
  }

  boolean isNoted(int target) {
    for (int i = 0; i < notes.size(); i += 4) {
      if (notes.get(i) == target) {
        return true;
      }
    }
    return false;
  }

  /** A gate of this chunk has written a variable. */
  void note(int x, int how, int address) {
    if (records) {
      notes.add(x);
      notes.add(how);
      notes.add(address);
      notes.add(here);
    }
  }

  /** Something else has written a variable. */
  void record(int x, int how, int address) {
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
  void watch(int target) {
    int offset = target >> 2;
    boolean possible = switch (target & 3) {
      case Quick.NO_BASE -> form.sees(offset, 64);
      case Quick.SELF -> self < 0 ? watchedOffsets.contains((long) offset) : form.sees(self + offset, 64);
      default -> false;
    };
    if (watches && possible) {
      beginFailing(Quick.WATCH);
      mayBeSeen = true;
      f.add(target);
    }
  }

  /**
   * An element is about to be written: where the array's place is known, the indices of watched elements are too. Tells whether its address
   * must be looked at.
   */
  boolean watchElement(Value to) {
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
      for (Extent w : form.watched()) {
        long at = w.address() - first;
        if (!Address.isLocated(w.address()) && at >= 0 && at < slots && at % stride == 0) {
          beginFailing(Quick.WATCH_INDEX);
          mayBeSeen = true;
          f.add(to.x);
          f.add((int) (low + at / stride));
        }
      }
    }
    return false;
  }

  /** Stores in a variable. */
  void store(int target, Value v, int position) {
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
  boolean put(int target, Value v, int position) {
    if (v.form == Value.Kind.STACKED) {
      begin(Quick.UNSTACK);
      f.add(target);
      f.add(position);
      return false;
    }
    if (v.form == Value.Kind.SLOT && !v.not && lastTarget >= 0 && lastTemp == v.at && isTemp(v.at) && !isReferredBelow(v.at)) {
      // The operation that made the value writes it where it belongs.
      (lastInGates ? gates : f).set(lastTarget, target);
      return lastInGates;
    }
    if (v.form == Value.Kind.COMPARISON && !v.not) {
      begin(v.at);
      f.add(target);
      f.add(v.x);
      f.add(v.y);
      return false;
    }
    if (v.form == Value.Kind.SLOT && v.bool) {
      gate(target, v.at, v.at, copy(v.not), -1);
      return true;
    }
    if (v.form == Value.Kind.BIT) {
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

  int keep(int operand) {
    taken.add(operand);
    return operand;
  }

  /** The topmost values are no longer on the operand stack but known. */
  void bring(int n) {
    for (int i = sp - n; i < sp; i++) {
      if (stack[i].form == Value.Kind.STACKED) {
        begin(Quick.UNSTACK);
        int t = result();
        f.add(i);
        stack[i] = slot(t, false, false);
      }
    }
  }

  int take1() {
    bring(1);
    Value v = pop();
    hold(v);
    return keep(fetch(v));
  }

  /** Both operands: x in the high half, y in the low one. */
  long take2() {
    bring(2);
    Value y = pop();
    Value x = pop();
    hold(x, y);
    int nx = keep(fetch(x));
    int ny = keep(fetch(y));
    return (long) nx << 32 | ny & 0xFFFF_FFFFL;
  }

  boolean isReferredBelow(int t) {
    for (int k = 0; k < sp; k++) {
      if (uses(stack[k], t)) {
        return true;
      }
    }
    return false;
  }
}
