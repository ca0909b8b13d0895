package dev.scanloom.internal.bytecode;

import org.objectweb.asm.Label;

/**
 * An operand that has not been computed yet. Computing it has no effect and cannot fail: steps that can fail are computed at once, in their order. Immutable.
 */
final class Value {
  /** Makes a condition a jump. */
  interface Condition {
    void jump(boolean when, Label target);
  }

  final Rep rep;
  /** Bounds of INT and LONG values. */
  final long low;
  final long high;
  /** Truth value of which only the lowest bit counts. */
  final boolean dirty;
  /** Depends on memory, or on a local variable that follows a slot of it: to be computed before that changes. */
  final boolean reads;
  /** Needs no computing: a constant, or a local variable that keeps its value. */
  final boolean settled;
  private final String name;
  private final Runnable code;
  /** A truth value: this one's complement. */
  Value complement;
  Condition condition;
  /** An address of a slot. */
  Place place;
  /** An address of a bit of an area: area, and the bit as a value. */
  int area;
  Value bit;
  /** The slot that it was read from, while the facts about it have {@link #version}. */
  Place.Key origin;
  String version;
  /** The slot that a real number lies in, if computing it is reading it. */
  Place source;
  Comparison comparison;
  /** How deep the values are nested that it is computed from. */
  int depth;
  /** Number of the operand in whose local variable it lies between blocks; -1: it does not. */
  int operand = -1;

  /** Two numbers compared: what a branch tells about them. */
  record Comparison(int operator, Value x, Value y) {}

  Value(Rep rep, long low, long high, boolean dirty, boolean reads, boolean settled, String name, Runnable code) {
    this.rep = rep;
    this.low = low;
    this.high = high;
    this.dirty = dirty;
    this.reads = reads;
    this.settled = settled;
    this.name = name;
    this.code = code;
  }

  boolean isConstant() {
    return code == null;
  }

  /** What names it: values with the same name are equal. Null when it cannot be named. */
  String name() {
    return name;
  }

  /** Leaves it on the stack of the JVM in its own form. */
  void push() {
    code.run();
  }

  boolean within(long least, long greatest) {
    return low >= least && high <= greatest;
  }

  boolean fitsInt() {
    return (rep == Rep.INT || rep == Rep.LONG) && within(Integer.MIN_VALUE, Integer.MAX_VALUE);
  }

  private Integers integers;

  /** Who makes products and sums of indices. */
  interface Integers {
    Value times(Value x, int by);

    Value plus(Value x, Value y);
  }

  Value with(Integers maker) {
    integers = maker;
    return this;
  }

  Value times(int by) {
    return integers.times(this, by);
  }

  Value plus(Value other) {
    return integers.plus(this, other);
  }
}
