package dev.scanloom.internal.exec;

/**
 * Operations of condensed code: what a stretch of steps does, without the operand stack. An operand names a slot: two low bits choose the
 * base (0: none, 1: the instance, 2: the frame, 3: constants and intermediate values), the rest is the offset. {@code d} is written, {@code
 * x} and {@code y} are read. An operation marked (B) may give up before it has changed anything; then its steps are walked one by one,
 * which tells what is wrong.
 */
public final class Quick {
  /** Stretch begins. number of steps, stretch. */
  public static final int HEAD = 0;
  /** Steps without a condensed form. first step, number of steps. */
  public static final int WALK = 1;
  /** index. */
  public static final int GOTO = 2;
  /** d, x. */
  public static final int MOVE = 3;
  /** Two-input gates: number, then per gate d, x, y, truth table (bit 2x + y). */
  public static final int GATES = 4;
  /**
   * The same with the ladder element behind each gate; element count for none: its test is y as the table's bits 4 and 5 say, its power is
   * d.
   */
  public static final int MARKED = 5;
  /** Located bits to slots: number, then per bit d, place. */
  public static final int BITS_IN = 6;
  /** Slots to located bits: number, then per bit place, x. */
  public static final int BITS_OUT = 7;

  /** Jumps; all end with target index, steps of the stretch that are not executed when it jumps, exit. */
  public static final int JUMP_ZERO = 8;
  public static final int JUMP_NOT_ZERO = 9;
  public static final int JUMP_LT = 10;
  public static final int JUMP_LE = 11;
  public static final int JUMP_EQ = 12;
  public static final int JUMP_NE = 13;
  public static final int JUMP_LT_LREAL = 14;
  public static final int JUMP_LE_LREAL = 15;
  public static final int JUMP_EQ_LREAL = 16;
  /** Jumps when the comparison is not true, also where an operand is not a number. */
  public static final int JUMP_NOT_LT_LREAL = 17;
  public static final int JUMP_NOT_LE_LREAL = 18;
  public static final int JUMP_NOT_EQ_LREAL = 19;

  /** Integers, signed: d, x, y, shift that cuts to the width. */
  public static final int ADD = 20;
  public static final int SUB = 21;
  public static final int MUL = 22;
  /** The same, unsigned. */
  public static final int ADD_UNSIGNED = 23;
  public static final int SUB_UNSIGNED = 24;
  public static final int MUL_UNSIGNED = 25;
  /** d, x, y. (B) */
  public static final int DIV = 26;
  public static final int MOD = 27;
  /** d, x, y. */
  public static final int AND = 28;
  public static final int OR = 29;
  public static final int XOR = 30;
  /** d, x, shift that cuts to the width. */
  public static final int NOT = 31;
  /** d, x, count. */
  public static final int SHIFT_RIGHT = 32;
  /** d, x, count, shift that cuts to the width. */
  public static final int SHIFT_LEFT = 33;
  /** d, x, shift. */
  public static final int CUT_SIGNED = 34;
  public static final int CUT_UNSIGNED = 35;
  /** The same, for values that must fit. (B) */
  public static final int FIT_SIGNED = 36;
  public static final int FIT_UNSIGNED = 37;
  /** d, x. */
  public static final int TO_LREAL = 38;
  public static final int TO_REAL = 39;
  public static final int REAL_TO_LREAL = 40;
  public static final int ADD_LREAL = 41;
  public static final int SUB_LREAL = 42;
  public static final int MUL_LREAL = 43;
  /** (B) on a zero divisor. */
  public static final int DIV_LREAL = 44;
  public static final int ADD_REAL = 45;
  public static final int SUB_REAL = 46;
  public static final int MUL_REAL = 47;
  /** Comparisons: d, x, y. */
  public static final int LT = 48;
  public static final int LE = 49;
  public static final int EQ = 50;
  public static final int LT_LREAL = 51;
  public static final int LE_LREAL = 52;
  public static final int EQ_LREAL = 53;
  /** d, x, y. */
  public static final int MAX = 54;
  public static final int MIN = 55;
  /** d, g, x, y. */
  public static final int SELECT = 56;
  /** d, x, offset, width. */
  public static final int BITS_GET = 57;
  /** d, x, part, offset, width. */
  public static final int BITS_PUT = 58;

  /** Element of an array at a known place: d, base (its slot), index, bounds in the pool, offset. (B) */
  public static final int LOAD_ELEMENT = 59;
  /** base, index, bounds, offset, x. (B) */
  public static final int STORE_ELEMENT = 60;
  /** Address of an element: d, base, index, bounds, offset. (B) */
  public static final int ADDRESS_ELEMENT = 61;
  /** Index on an address that was computed: d, address, index, bounds, offset. (B) */
  public static final int ADDRESS_INDEX = 62;
  /** Through an address: d, address, offset, kind. (B) */
  public static final int LOAD_THROUGH = 63;
  /** address, offset, kind, x. (B) */
  public static final int STORE_THROUGH = 64;
  /** x. (B) */
  public static final int CHECK_NULL = 65;
  /** d, x, offset. */
  public static final int OFFSET = 66;
  /** Located array: d, address in the pool, offset in bits, index, bounds, kind. (B) */
  public static final int LOAD_LOCATED_ELEMENT = 67;
  /** address in the pool, offset in bits, index, bounds, kind, x. (B) */
  public static final int STORE_LOCATED_ELEMENT = 68;
  /** d, address in the pool, offset in bits, kind. */
  public static final int LOAD_LOCATED = 69;
  /** address in the pool, offset in bits, kind, x. */
  public static final int STORE_LOCATED = 70;
  /** d, base: the address of a slot as a value. */
  public static final int ADDRESS = 71;

  /** body, frame size, return step. (B) */
  public static final int CALL = 72;
  /** The same with the address of the instance in front. (B) */
  public static final int CALL_ON = 73;
  /** The same with the base of the instance in front. (B) */
  public static final int CALL_AT = 74;
  public static final int RETURN = 75;
  /** d. */
  public static final int TASK_TIME = 76;
  /** From the operand stack: d, position. */
  public static final int UNSTACK = 77;
  /** To the operand stack: position, x. */
  public static final int STACK = 78;
  /** offset in the frame, number. */
  public static final int CLEAR = 79;
  /** x, bounds in the pool; signed. (B) */
  public static final int RANGE = 80;
  /** Any other operation with one operand: d, x, operation, a, b. (B) */
  public static final int UNARY = 81;
  /** Any other operation with two operands: d, x, y, operation, a, b. (B) */
  public static final int BINARY = 82;
  /** Writes for the digest: number, then per write x (what was written), how its address is known, the address, step. */
  public static final int RECORD = 83;
  /** How: an operand names the slot; the place of a located bit; the address lies in a slot. */
  public static final int BY_SLOT = 0;
  public static final int BY_PLACE = 1;
  public static final int BY_POINTER = 2;

  /** base: a slot that may be watched. (B) */
  public static final int WATCH = 84;
  /** address, offset. (B) */
  public static final int WATCH_POINTER = 85;
  /** index, the one that is watched. (B) */
  public static final int WATCH_INDEX = 86;

  public static final int NO_BASE = 0;
  public static final int SELF = 1;
  public static final int FRAME = 2;
  public static final int TAIL = 3;

  private Quick() {}

  /** Entries that the operation at an index takes, itself included. */
  public static int length(int[] f, int at) {
    return switch (f[at]) {
      case GATES, RECORD -> 2 + 4 * f[at + 1];
      case MARKED -> 2 + 5 * f[at + 1];
      case BITS_IN, BITS_OUT -> 2 + 2 * f[at + 1];
      case RETURN -> 1;
      case GOTO, CHECK_NULL, TASK_TIME, WATCH -> 2;
      case HEAD, WALK, MOVE, WATCH_POINTER, WATCH_INDEX, TO_LREAL, TO_REAL, REAL_TO_LREAL, ADDRESS, UNSTACK, STACK, CLEAR, RANGE -> 3;
      case DIV, MOD, AND, OR, XOR, NOT, SHIFT_RIGHT, CUT_SIGNED, CUT_UNSIGNED, FIT_SIGNED, FIT_UNSIGNED, ADD_LREAL, SUB_LREAL, MUL_LREAL,
          DIV_LREAL, ADD_REAL, SUB_REAL, MUL_REAL, LT, LE, EQ, LT_LREAL, LE_LREAL, EQ_LREAL, MAX, MIN, OFFSET, CALL -> 4;
      case JUMP_ZERO, JUMP_NOT_ZERO, ADD, SUB, MUL, ADD_UNSIGNED, SUB_UNSIGNED, MUL_UNSIGNED, SHIFT_LEFT, SELECT, BITS_GET, LOAD_THROUGH,
          STORE_THROUGH, LOAD_LOCATED, STORE_LOCATED, CALL_ON, CALL_AT -> 5;
      case JUMP_LT, JUMP_LE, JUMP_EQ, JUMP_NE, JUMP_LT_LREAL, JUMP_LE_LREAL, JUMP_EQ_LREAL, JUMP_NOT_LT_LREAL, JUMP_NOT_LE_LREAL,
          JUMP_NOT_EQ_LREAL, BITS_PUT, LOAD_ELEMENT, STORE_ELEMENT, ADDRESS_ELEMENT, ADDRESS_INDEX, UNARY -> 6;
      case LOAD_LOCATED_ELEMENT, STORE_LOCATED_ELEMENT, BINARY -> 7;
      default -> throw new IllegalArgumentException("operation " + f[at]);
    };
  }
}
