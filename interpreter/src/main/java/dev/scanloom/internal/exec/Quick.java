package dev.scanloom.internal.exec;

/**
 * Operations of condensed code: what a stretch of steps does, without the operand stack. An operand names a slot: two low bits choose the base (0: none, 1: the
 * instance, 2: the frame, 3: constants and intermediate values), the rest is the offset. {@code d} is written, {@code x} and {@code y} are read. An operation marked
 * (B) may give up before it has changed anything; then its steps are walked one by one, which tells what is wrong.
 */
final class Quick {
  /** Stretch begins. number of steps, stretch. */
  static final int HEAD = 0;
  /** Steps without a condensed form. first step, number of steps. */
  static final int WALK = 1;
  /** index. */
  static final int GOTO = 2;
  /** d, x. */
  static final int MOVE = 3;
  /** Two-input gates: number, then per gate d, x, y, truth table (bit 2x + y). */
  static final int GATES = 4;
  /** The same with the ladder element behind each gate; element count for none: its test is y as the table's bits 4 and 5 say, its power is d. */
  static final int MARKED = 5;
  /** Located bits to slots: number, then per bit d, place. */
  static final int BITS_IN = 6;
  /** Slots to located bits: number, then per bit place, x. */
  static final int BITS_OUT = 7;

  /** Jumps; all end with target index, steps of the stretch that are not executed when it jumps, exit. */
  static final int JUMP_ZERO = 8;
  static final int JUMP_NOT_ZERO = 9;
  static final int JUMP_LT = 10;
  static final int JUMP_LE = 11;
  static final int JUMP_EQ = 12;
  static final int JUMP_NE = 13;
  static final int JUMP_LT_LREAL = 14;
  static final int JUMP_LE_LREAL = 15;
  static final int JUMP_EQ_LREAL = 16;
  /** Jumps when the comparison is not true, also where an operand is not a number. */
  static final int JUMP_NOT_LT_LREAL = 17;
  static final int JUMP_NOT_LE_LREAL = 18;
  static final int JUMP_NOT_EQ_LREAL = 19;

  /** Integers, signed: d, x, y, shift that cuts to the width. */
  static final int ADD = 20;
  static final int SUB = 21;
  static final int MUL = 22;
  /** The same, unsigned. */
  static final int ADD_UNSIGNED = 23;
  static final int SUB_UNSIGNED = 24;
  static final int MUL_UNSIGNED = 25;
  /** d, x, y. (B) */
  static final int DIV = 26;
  static final int MOD = 27;
  /** d, x, y. */
  static final int AND = 28;
  static final int OR = 29;
  static final int XOR = 30;
  /** d, x, shift that cuts to the width. */
  static final int NOT = 31;
  /** d, x, count. */
  static final int SHIFT_RIGHT = 32;
  /** d, x, count, shift that cuts to the width. */
  static final int SHIFT_LEFT = 33;
  /** d, x, shift. */
  static final int CUT_SIGNED = 34;
  static final int CUT_UNSIGNED = 35;
  /** The same, for values that must fit. (B) */
  static final int FIT_SIGNED = 36;
  static final int FIT_UNSIGNED = 37;
  /** d, x. */
  static final int TO_LREAL = 38;
  static final int TO_REAL = 39;
  static final int REAL_TO_LREAL = 40;
  static final int ADD_LREAL = 41;
  static final int SUB_LREAL = 42;
  static final int MUL_LREAL = 43;
  /** (B) on a zero divisor. */
  static final int DIV_LREAL = 44;
  static final int ADD_REAL = 45;
  static final int SUB_REAL = 46;
  static final int MUL_REAL = 47;
  /** Comparisons: d, x, y. */
  static final int LT = 48;
  static final int LE = 49;
  static final int EQ = 50;
  static final int LT_LREAL = 51;
  static final int LE_LREAL = 52;
  static final int EQ_LREAL = 53;
  /** d, x, y. */
  static final int MAX = 54;
  static final int MIN = 55;
  /** d, g, x, y. */
  static final int SELECT = 56;
  /** d, x, offset, width. */
  static final int BITS_GET = 57;
  /** d, x, part, offset, width. */
  static final int BITS_PUT = 58;

  /** Element of an array at a known place: d, base (its slot), index, bounds in the pool, offset. (B) */
  static final int LOAD_ELEMENT = 59;
  /** base, index, bounds, offset, x. (B) */
  static final int STORE_ELEMENT = 60;
  /** Address of an element: d, base, index, bounds, offset. (B) */
  static final int ADDRESS_ELEMENT = 61;
  /** Index on an address that was computed: d, address, index, bounds, offset. (B) */
  static final int ADDRESS_INDEX = 62;
  /** Through an address: d, address, offset, kind. (B) */
  static final int LOAD_THROUGH = 63;
  /** address, offset, kind, x. (B) */
  static final int STORE_THROUGH = 64;
  /** x. (B) */
  static final int CHECK_NULL = 65;
  /** d, x, offset. */
  static final int OFFSET = 66;
  /** Located array: d, address in the pool, offset in bits, index, bounds, kind. (B) */
  static final int LOAD_LOCATED_ELEMENT = 67;
  /** address in the pool, offset in bits, index, bounds, kind, x. (B) */
  static final int STORE_LOCATED_ELEMENT = 68;
  /** d, address in the pool, offset in bits, kind. */
  static final int LOAD_LOCATED = 69;
  /** address in the pool, offset in bits, kind, x. */
  static final int STORE_LOCATED = 70;
  /** d, base: the address of a slot as a value. */
  static final int ADDRESS = 71;

  /** body, frame size, return step. (B) */
  static final int CALL = 72;
  /** The same with the address of the instance in front. (B) */
  static final int CALL_ON = 73;
  /** The same with the base of the instance in front. (B) */
  static final int CALL_AT = 74;
  static final int RETURN = 75;
  /** d. */
  static final int TASK_TIME = 76;
  /** From the operand stack: d, position. */
  static final int UNSTACK = 77;
  /** To the operand stack: position, x. */
  static final int STACK = 78;
  /** offset in the frame, number. */
  static final int CLEAR = 79;
  /** x, bounds in the pool; signed. (B) */
  static final int RANGE = 80;
  /** Any other operation with one operand: d, x, operation, a, b. (B) */
  static final int UNARY = 81;
  /** Any other operation with two operands: d, x, y, operation, a, b. (B) */
  static final int BINARY = 82;
  static final int NO_BASE = 0;
  static final int SELF = 1;
  static final int FRAME = 2;
  static final int TAIL = 3;

  private Quick() {}
}
