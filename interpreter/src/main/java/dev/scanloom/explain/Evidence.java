package dev.scanloom.explain;

import dev.scanloom.observe.StepInfo;
import java.util.ArrayList;
import java.util.List;

/** What the recorder keeps: values with where they came from, writes, decisions. Mutable while the run goes on; never shown to hosts. */
final class Evidence {
  private Evidence() {}

  /** Anything that can become a fact; {@code stamp} and {@code fact} belong to the builder. */
  abstract static class Node {
    int stamp;
    Fact fact;
  }

  /** A value on the operand stack or in a temporary. */
  abstract static class Value extends Node {
    long bits;
    /** Made of constants alone. */
    boolean fixed;
  }

  /** A constant or an address. */
  static final class Constant extends Value {
    final int step;
    final long scan;
    final long ordinal;
    final long time;
    final boolean clock;

    Constant(int step, Moment m, boolean clock) {
      this.step = step;
      this.scan = m.scan;
      this.ordinal = m.ordinal;
      this.time = m.time;
      this.clock = clock;
      this.fixed = !clock;
    }
  }

  /** A value that was on the stack before the recorder came. */
  static final class Unknown extends Value {
    final long scan;

    Unknown(long scan) {
      this.scan = scan;
    }
  }

  /** A read; {@code seen} is the write it saw, or one per bit from the lowest up; null for what was never written. */
  static final class Read extends Value {
    final int step;
    final boolean field;
    long scan;
    long ordinal;
    long time;
    long address;
    int width;
    Write[] seen = {};
    Value pointer;

    Read(int step, boolean field) {
      this.step = step;
      this.field = field;
    }
  }

  /** A computation; operands from the lowest of the stack up, then what the step read by itself. */
  static final class Operation extends Value {
    final int step;
    final StepInfo.Kind kind;
    final long scan;
    final long ordinal;
    final long time;
    final Value[] operands;
    /** The operand's slot values when the step was executed. */
    final long[] values;
    List<Read> reads = List.of();

    Operation(int step, StepInfo.Kind kind, Moment m, Value[] operands, long[] values) {
      this.step = step;
      this.kind = kind;
      this.scan = m.scan;
      this.ordinal = m.ordinal;
      this.time = m.time;
      this.operands = operands;
      this.values = values;
      boolean constant = kind != StepInfo.Kind.NATIVE;
      for (Value v : operands) {
        constant &= v.fixed;
      }
      this.fixed = constant;
    }

    void add(Read r) {
      if (reads.isEmpty()) {
        reads = new ArrayList<>(2);
      }
      reads.add(r);
      fixed = false;
    }
  }

  /** A value that was left by one arm of a branch and used behind it. */
  static final class Guarded extends Value {
    final Value value;
    final List<Decision> decisions;

    Guarded(Value value, List<Decision> decisions) {
      this.value = value;
      this.decisions = decisions;
    }
  }

  /** Something kept in the order of its happening and forgotten in that order. */
  abstract static class Logged extends Node {
    final long scan;
    final long ordinal;
    final long time;
    final int step;
    int cost;
    /** Older than what is kept: evidence is dropped as soon as it is no longer the latest. */
    boolean expired;
    /** Evidence is gone. */
    boolean collapsed;

    Logged(Moment m, int step) {
      this.scan = m.scan;
      this.ordinal = m.ordinal;
      this.time = m.time;
      this.step = step;
    }

    abstract boolean isCurrent();

    abstract void collapse();
  }

  /** What made a terminal and memory meet. */
  enum Occasion {
    /** The refresh phase of the scan. */
    PHASE,
    /** The access of an instruction. */
    ACCESS,
    /** An I/O subsystem's own clock. */
    SUBSYSTEM,
    /** Start or end of a task that has a process image of its own. */
    TASK
  }

  /** Who wrote. */
  enum Writer { INSTRUCTION, INPUT_REFRESH, EXTERNAL_WRITE, FORCE, INITIALIZATION, RETAINED, FIELD_CHANGE, DELIVERY, TASK_IMAGE }

  static final class Write extends Logged {
    final long address;
    final int width;
    final long before;
    final long after;
    final Writer writer;
    final long sequence;
    Value value;
    Value pointer;
    Decision control;
    /** Writes that this one replaced: one, or one per bit. Null when history is not kept or forgotten. */
    Write[] previous;
    /** It happened between two scans. */
    boolean between;
    /** How a refresh or delivery came about. */
    Occasion occasion = Occasion.PHASE;
    /** Facts about parts of what was written; for the builder. */
    java.util.List<Fact> parts;
    /** Units (slot or bits) of which this is the latest write. */
    int live;

    Write(Moment m, int step, long address, int width, long before, long after, Writer writer, long sequence) {
      super(m, step);
      this.address = address;
      this.width = width;
      this.before = before;
      this.after = after;
      this.writer = writer;
      this.sequence = sequence;
    }

    @Override
    boolean isCurrent() {
      return live > 0;
    }

    @Override
    void collapse() {
      collapsed = true;
      value = null;
      pointer = null;
      control = null;
    }
  }

  /** Who really wrote: where a copy of the process image came into view, the writers of what it held. */
  static Write[] origins(Write[] seen, long address, int width) {
    boolean moved = false;
    for (Write w : seen) {
      moved |= w != null && w.writer == Writer.TASK_IMAGE && w.value != null;
    }
    if (!moved) {
      return seen;
    }
    Write[] all = new Write[width];
    boolean same = true;
    for (int i = 0; i < width; i++) {
      Write w = seen.length == 1 ? seen[0] : seen[i];
      if (w != null && w.writer == Writer.TASK_IMAGE && w.value instanceof Read held) {
        w = held.seen[held.seen.length == 1 ? 0 : (int) (address + i - w.address)];
      }
      all[i] = w;
      same &= w == all[0];
    }
    return same ? new Write[] {all[0]} : all;
  }

  /** A branch that was executed. */
  static final class Decision extends Logged {
    final int regionEnd;
    Value condition;
    final long bits;
    final boolean ofCall;
    /** The step executed after it; -1 as long as that is not known. */
    int next = -1;
    /** The decision around it. */
    final Decision parent;

    Decision(Moment m, int step, int regionEnd, Value condition, long bits, boolean ofCall, Decision parent) {
      super(m, step);
      this.regionEnd = regionEnd;
      this.condition = condition;
      this.bits = bits;
      this.ofCall = ofCall;
      this.parent = parent;
    }

    @Override
    boolean isCurrent() {
      return false;
    }

    @Override
    void collapse() {
      collapsed = true;
      condition = null;
    }
  }

  /** When something happened. */
  static final class Moment {
    long scan;
    long ordinal;
    long time;
  }
}
