package dev.scanloom.explain;

import dev.scanloom.explain.Evidence.Constant;
import dev.scanloom.explain.Evidence.Decision;
import dev.scanloom.explain.Evidence.Guarded;
import dev.scanloom.explain.Evidence.Moment;
import dev.scanloom.explain.Evidence.Operation;
import dev.scanloom.explain.Evidence.Read;
import dev.scanloom.explain.Evidence.Unknown;
import dev.scanloom.explain.Evidence.Value;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.StepInfo;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;

/**
 * The operand stack, temporaries and open branches of one task, as evidence instead of values. Follows the steps one by one: each is told
 * before it is executed.
 */
final class Shadow {
  private static final int NO_STEP = -1;

  /** A call in progress. */
  private static final class Frame {
    final Decision base;
    Decision control;
    Value[] temps = {};
    Decision[] tempControls = {};

    Frame(Decision base) {
      this.base = base;
      this.control = base;
    }
  }

  private record Guard(int handler, int frames, int height) {}

  private Decision undecided;
  private Value[] stack = new Value[32];
  private Decision[] controls = new Decision[32];
  private int height;
  private final List<Frame> frames = new ArrayList<>();
  private final List<Guard> guards = new ArrayList<>();

  // the step in progress
  private int step = NO_STEP;
  private StepInfo.Kind kind = StepInfo.Kind.MARK;
  private Read load;
  private Operation operation;
  private Value stored;
  private Value pointer;
  private long copyFrom;
  private long copyTo;

  Shadow() {
    reset();
  }

  /** Before the first step of a body that no other body called, or after a fault. */
  void reset() {
    height = 0;
    frames.clear();
    frames.add(new Frame(null));
    guards.clear();
    undecided = null;
    forget();
  }

  private void forget() {
    step = NO_STEP;
    load = null;
    operation = null;
    stored = null;
    pointer = null;
    copyFrom = 0;
    copyTo = 0;
  }

  int step() {
    return step;
  }

  StepInfo.Kind kind() {
    return kind;
  }

  /** The innermost decision that the current step depends on. */
  Decision control() {
    return top().control;
  }

  private Frame top() {
    return frames.get(frames.size() - 1);
  }

  /** A step is about to be executed; returns the decision when it is a branch. */
  Decision begin(Event e, StepInfo info, Moment m) {
    recover(info.id());
    if (undecided != null) {
      undecided.next = info.id();
      undecided = null;
    }
    leaveRegions(info.id());
    forget();
    step = info.id();
    kind = info.kind();
    int pops = Math.max(0, info.pops());
    Value[] operands = new Value[pops];
    long[] values = new long[pops];
    for (int i = 0; i < pops; i++) {
      values[pops - 1 - i] = e.operand(i);
      operands[pops - 1 - i] = pop(m, e.operand(i));
    }
    switch (kind) {
      case CONSTANT -> push(new Constant(step, m, false));
      case CLOCK -> push(new Constant(step, m, true));
      case LOAD -> {
        load = new Read(step, false);
        load.pointer = pops > 0 ? operands[0] : null;
        push(load);
      }
      case LOAD_TEMP -> push(temp(info.target(), m));
      case STORE_TEMP -> setTemp(info.target(), operands[0]);
      case STORE -> store(m, operands, values);
      case COPY -> {
        copyTo = values[0];
        copyFrom = values[1];
        stored = null;
        pointer = operands[1];
      }
      case AND, OR, SELECT, MULTIPLY, COMPARE, NOT, COMPUTE -> {
        operation = new Operation(step, kind, m, operands, values);
        for (int i = 0; i < Math.max(1, info.pushes()); i++) {
          push(operation);
        }
      }
      case NATIVE -> operation = new Operation(step, kind, m, operands, values);
      case DUPLICATE -> {
        for (int i = 0; i < info.pushes(); i++) {
          push(operands[i % pops]);
        }
      }
      case SWAP -> {
        push(operands[1]);
        push(operands[0]);
      }
      case DROP, JUMP -> { }
      case BRANCH -> {
        return branch(info, m, operands[0], values[0]);
      }
      case CALL -> {
        return call(m, operands, values);
      }
      case RETURN -> leave();
      case GUARD -> guards.add(new Guard(info.target(), frames.size(), height));
      case UNGUARD -> {
        if (!guards.isEmpty()) {
          guards.remove(guards.size() - 1);
        }
      }
      case MARK -> {
        // a mark leaves what it takes
        for (int i = 0; i < info.pushes(); i++) {
          push(i < pops ? operands[i] : new Unknown(m.scan));
        }
      }
    }
    return null;
  }

  private void store(Moment m, Value[] operands, long[] values) {
    int n = operands.length;
    if (n <= 1) {
      stored = n == 0 ? null : operands[0];
      return;
    }
    pointer = operands[0];
    if (n == 2) {
      stored = operands[1];
    } else {
      // a character within a string: the position, the character and the rest of the string
      operation = new Operation(step, StepInfo.Kind.COMPUTE, m, Arrays.copyOfRange(operands, 1, n), Arrays.copyOfRange(values, 1, n));
      stored = operation;
    }
  }

  private Decision branch(StepInfo info, Moment m, Value condition, long bits) {
    Frame f = top();
    // a loop that comes round decides anew
    for (Decision d = f.control; d != f.base; d = d.parent) {
      if (d.step == info.id()) {
        f.control = d.parent;
        break;
      }
    }
    Decision d = new Decision(m, info.id(), info.regionEnd(), condition, bits, false, f.control);
    f.control = d;
    undecided = d;
    return d;
  }

  private Decision call(Moment m, Value[] operands, long[] values) {
    Decision control = top().control;
    Decision d = null;
    if (operands.length > 0 && !operands[0].fixed) {
      d = new Decision(m, step, Integer.MAX_VALUE, operands[0], values[0], true, control);
      control = d;
    }
    frames.add(new Frame(control));
    return d;
  }

  private void leave() {
    if (frames.size() > 1) {
      frames.remove(frames.size() - 1);
    } else {
      height = 0;
      frames.set(0, new Frame(null));
      guards.clear();
    }
  }

  /** An error was caught: execution goes on at the handler of the innermost guard. */
  private void recover(int next) {
    if (guards.isEmpty() || step == NO_STEP || guards.get(guards.size() - 1).handler() != next || next == step + 1) {
      return;
    }
    if (kind == StepInfo.Kind.JUMP || kind == StepInfo.Kind.BRANCH) {
      return;
    }
    Guard g = guards.remove(guards.size() - 1);
    while (frames.size() > g.frames()) {
      frames.remove(frames.size() - 1);
    }
    height = Math.min(height, g.height());
  }

  private void leaveRegions(int next) {
    Frame f = top();
    while (f.control != f.base && next >= f.control.regionEnd) {
      f.control = f.control.parent;
    }
  }

  /** What lies on top of the stack. */
  Value peek() {
    return height == 0 ? new Unknown(0) : outside(stack[height - 1], controls[height - 1]);
  }

  /** A read during the current step; {@code r} is filled in here. */
  void read(Event e, Evidence.Write[] seen, Moment m) {
    boolean isLoad = load != null && load.width == 0;
    Read r = isLoad ? load : new Read(e.step(), false);
    r.scan = m.scan;
    r.ordinal = m.ordinal;
    r.time = m.time;
    r.address = e.address();
    r.width = e.width();
    r.bits = e.after();
    r.seen = seen;
    if (isLoad) {
      return;
    }
    if (operation != null) {
      operation.add(r);
    } else {
      stored = r;
    }
  }

  /** Evidence of what the current step writes to an address. */
  Value written(long address, Moment m, Locations memory) {
    if (kind == StepInfo.Kind.COPY && !Locations.isLocated(address) && !Locations.isLocated(copyFrom) && (stored == null
        || address != copyTo)) {
      Read r = new Read(step, false);
      r.scan = m.scan;
      r.ordinal = m.ordinal;
      r.time = m.time;
      r.address = copyFrom + address - copyTo;
      r.width = 64;
      r.seen = memory.seen(r.address, 64);
      return r;
    }
    return stored != null ? stored : operation;
  }

  /** Evidence of the address that the current step writes through; null when it is fixed. */
  Value writtenThrough() {
    return pointer == null || pointer.fixed ? null : pointer;
  }

  // ---- temporaries ----

  private Value temp(int place, Moment m) {
    Frame f = top();
    if (place < 0 || place >= f.temps.length || f.temps[place] == null) {
      return new Unknown(m.scan);
    }
    return outside(f.temps[place], f.tempControls[place]);
  }

  private void setTemp(int place, Value value) {
    Frame f = top();
    if (place < 0) {
      return;
    }
    if (place >= f.temps.length) {
      int size = Math.max(place + 1, f.temps.length * 2);
      f.temps = Arrays.copyOf(f.temps, size);
      f.tempControls = Arrays.copyOf(f.tempControls, size);
    }
    f.temps[place] = value;
    f.tempControls[place] = f.control;
  }

  // ---- stack ----

  private void push(Value v) {
    if (height == stack.length) {
      stack = Arrays.copyOf(stack, height * 2);
      controls = Arrays.copyOf(controls, height * 2);
    }
    stack[height] = v;
    controls[height++] = top().control;
  }

  private Value pop(Moment m, long bits) {
    if (height == 0) {
      Value v = new Unknown(m.scan);
      v.bits = bits;
      return v;
    }
    height--;
    Value v = outside(stack[height], controls[height]);
    stack[height] = null;
    v.bits = bits;
    return v;
  }

  /** A value that came about under decisions which the current step no longer depends on brings them along. */
  private Value outside(Value v, Decision then) {
    Decision now = top().control;
    if (then == now || then == null || isAround(now, then)) {
      return v;
    }
    List<Decision> left = new ArrayList<>(2);
    for (Decision d = then; d != null && !isAround(now, d); d = d.parent) {
      left.add(d);
    }
    Guarded g = new Guarded(v, left.size() == 1 ? Collections.singletonList(left.get(0)) : left);
    g.bits = v.bits;
    return g;
  }

  private static boolean isAround(Decision inner, Decision outer) {
    for (Decision d = inner; d != null; d = d.parent) {
      if (d == outer) {
        return true;
      }
    }
    return false;
  }
}
