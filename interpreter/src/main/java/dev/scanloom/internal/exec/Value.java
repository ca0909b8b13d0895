package dev.scanloom.internal.exec;

/** What an entry of the operand stack is. */
final class Value {
  enum Kind {
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

  static final Value STACKED = new Value(Kind.STACKED, 0, 0, 0, 0, false, false, false, -1);

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

  /** The address in a slot. */
  static Value pointer(int operand) {
    return new Value(Kind.POINTER, operand, 0, 0, 0, false, false, false, -1);
  }

  Value opposite() {
    return new Value(form, at, x, y, offset, bool, !not, loose, -1);
  }

  Value moved(int by) {
    return new Value(form, at, x, y, offset + by, bool, not, loose, pool);
  }
}
