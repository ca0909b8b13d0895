package dev.scanloom.internal.step;

import dev.scanloom.observe.StepInfo.Kind;
import java.util.List;

/**
 * The table of steps: the semantics as data. Operands {@code a} and {@code b} are integers; {@code pool[a]} is the constant pool. {@code k} stands
 * for an elementary kind (ordinal of ElementaryType) in {@code b}. The stack column reads: before -- after, top at the right.
 */
public enum Op {
  // constants and addresses
  CONST(Kind.CONSTANT, 0, 1, "a: pool index", "-- pool[a]"),
  ADDRESS_SELF(Kind.CONSTANT, 0, 1, "a: offset", "-- self + a"),
  ADDRESS_FRAME(Kind.CONSTANT, 0, 1, "a: offset", "-- frame + a"),

  // reading and writing variables; b = kind
  LOAD_SELF(Kind.LOAD, 0, 1, "a: offset, b: k", "-- mem[self + a]"),
  LOAD_FRAME(Kind.LOAD, 0, 1, "a: offset, b: k", "-- mem[frame + a]"),
  LOAD_STATIC(Kind.LOAD, 0, 1, "a: slot, b: k", "-- mem[a]"),
  LOAD_LOCATED(Kind.LOAD, 0, 1, "a: pool index of address, b: k", "-- area bits"),
  LOAD_INDIRECT(Kind.LOAD, 1, 1, "b: k", "address -- value; faults on NULL"),
  STORE_SELF(Kind.STORE, 1, 0, "a: offset, b: k", "value --"),
  STORE_FRAME(Kind.STORE, 1, 0, "a: offset, b: k", "value --"),
  STORE_STATIC(Kind.STORE, 1, 0, "a: slot, b: k", "value --"),
  STORE_LOCATED(Kind.STORE, 1, 0, "a: pool index of address, b: k", "value --"),
  STORE_INDIRECT(Kind.STORE, 2, 0, "b: k", "address value --; faults on NULL"),
  /** Link states, loop limits and other intermediate values: no variable, so neither read nor write is reported. */
  LOAD_TEMP(Kind.LOAD_TEMP, 0, 1, "a: frame offset", "-- mem[frame + a]"),
  STORE_TEMP(Kind.STORE_TEMP, 1, 0, "a: frame offset", "value --"),

  // addresses of parts
  CHECK_NULL(Kind.MARK, 0, 0, "", "address -- address; faults on NULL"),
  OFFSET(Kind.COMPUTE, 1, 1, "a: slots (bits when located)", "address -- address + a"),
  INDEX(Kind.COMPUTE, 2, 1, "a: pool index of low, high, stride in slots, stride in bits", "address index -- address; faults out of range"),
  /** One dimension of ARRAY [*]: the descriptor (low, high) lies at an offset of the frame (b = 0) or the instance (b = 1). */
  OPEN_INDEX(Kind.COMPUTE, 2, 1, "a: offset of the descriptor, b: 0 frame, 1 self", "position index -- position * length + index - low; faults out of range"),
  OPEN_END(Kind.COMPUTE, 2, 1, "a: element slots, b: element bits", "address position -- address"),

  // stack
  DUP(Kind.DUPLICATE, 1, 2, "", "x -- x x"),
  DUP2(Kind.DUPLICATE, 2, 4, "", "x y -- x y x y"),
  POP(Kind.DROP, 1, 0, "", "x --"),
  SWAP(Kind.SWAP, 2, 2, "", "x y -- y x"),

  // parts of bit strings
  BITS_GET(Kind.COMPUTE, 1, 1, "a: offset, b: width", "value -- part"),
  BITS_PUT(Kind.COMPUTE, 2, 1, "a: offset, b: width", "value part -- value"),

  // integers and durations; b = kind
  ADD(Kind.COMPUTE, 2, 1, "b: k", "x y -- x + y, wraps"),
  SUB(Kind.COMPUTE, 2, 1, "b: k", "x y -- x - y, wraps"),
  MUL(Kind.MULTIPLY, 2, 1, "b: k", "x y -- x * y, wraps"),
  ADD_EXACT(Kind.COMPUTE, 2, 1, "b: k", "x y -- x + y; faults on overflow"),
  SUB_EXACT(Kind.COMPUTE, 2, 1, "b: k", "x y -- x - y; faults on overflow"),
  MUL_EXACT(Kind.MULTIPLY, 2, 1, "b: k", "x y -- x * y; faults on overflow"),
  DIV(Kind.COMPUTE, 2, 1, "a: 1 = zero divisor gives 0, 2 = overflow faults; b: k", "x y -- x / y; faults on zero"),
  MOD(Kind.COMPUTE, 2, 1, "a: 1 = zero divisor gives 0; b: k", "x y -- x MOD y; faults on zero"),
  NEG(Kind.COMPUTE, 1, 1, "b: k", "x -- -x, wraps"),
  NEG_EXACT(Kind.COMPUTE, 1, 1, "b: k", "x -- -x; faults on overflow"),
  ABS(Kind.COMPUTE, 1, 1, "b: k", "x -- |x|"),

  // REAL and LREAL
  ADD_REAL(Kind.COMPUTE, 2, 1, "", "x y -- x + y"),
  SUB_REAL(Kind.COMPUTE, 2, 1, "", "x y -- x - y"),
  MUL_REAL(Kind.COMPUTE, 2, 1, "", "x y -- x * y"),
  DIV_REAL(Kind.COMPUTE, 2, 1, "a: 1 = zero divisor follows IEEE 754", "x y -- x / y"),
  NEG_REAL(Kind.COMPUTE, 1, 1, "", "x -- -x"),
  POWER_REAL(Kind.COMPUTE, 2, 1, "", "x y(LREAL) -- x ** y"),
  SQRT_REAL(Kind.COMPUTE, 1, 1, "", "x -- root; faults below 0"),
  ADD_LREAL(Kind.COMPUTE, 2, 1, "", "x y -- x + y"),
  SUB_LREAL(Kind.COMPUTE, 2, 1, "", "x y -- x - y"),
  MUL_LREAL(Kind.COMPUTE, 2, 1, "", "x y -- x * y"),
  DIV_LREAL(Kind.COMPUTE, 2, 1, "a: 1 = zero divisor follows IEEE 754", "x y -- x / y"),
  NEG_LREAL(Kind.COMPUTE, 1, 1, "", "x -- -x"),
  POWER_LREAL(Kind.COMPUTE, 2, 1, "", "x y(LREAL) -- x ** y"),
  SQRT_LREAL(Kind.COMPUTE, 1, 1, "", "x -- root; faults below 0"),
  SCALE(Kind.COMPUTE, 2, 1, "", "duration y(LREAL) -- duration * y; faults on overflow"),
  UNSCALE(Kind.COMPUTE, 2, 1, "", "duration y(LREAL) -- duration / y; faults on zero"),

  // bit strings
  AND(Kind.AND, 2, 1, "", "x y -- x AND y"),
  OR(Kind.OR, 2, 1, "", "x y -- x OR y"),
  XOR(Kind.COMPUTE, 2, 1, "", "x y -- x XOR y"),
  NOT(Kind.NOT, 1, 1, "b: k", "x -- NOT x"),
  SHL(Kind.COMPUTE, 2, 1, "b: k", "x n -- x shifted; faults below 0"),
  SHR(Kind.COMPUTE, 2, 1, "b: k", "x n -- x shifted; faults below 0"),
  ROL(Kind.COMPUTE, 2, 1, "b: k", "x n -- x rotated; faults below 0"),
  ROR(Kind.COMPUTE, 2, 1, "b: k", "x n -- x rotated; faults below 0"),

  // comparisons: slots as they are (EQ, NE), signed, unsigned 64 bit, REAL, LREAL
  EQ(Kind.COMPARE, 2, 1, "", "x y -- x = y"),
  NE(Kind.COMPARE, 2, 1, "", "x y -- x <> y"),
  LT(Kind.COMPARE, 2, 1, "", "x y -- x < y"),
  LE(Kind.COMPARE, 2, 1, "", "x y -- x <= y"),
  GT(Kind.COMPARE, 2, 1, "", "x y -- x > y"),
  GE(Kind.COMPARE, 2, 1, "", "x y -- x >= y"),
  LT_UNSIGNED(Kind.COMPARE, 2, 1, "", "x y -- x < y"),
  LE_UNSIGNED(Kind.COMPARE, 2, 1, "", "x y -- x <= y"),
  GT_UNSIGNED(Kind.COMPUTE, 2, 1, "", "x y -- x > y"),
  GE_UNSIGNED(Kind.COMPUTE, 2, 1, "", "x y -- x >= y"),
  /** Reals; a: 0 EQ, 1 NE, 2 LT, 3 LE, 4 GT, 5 GE. */
  COMPARE_REAL(Kind.COMPARE, 2, 1, "a: comparison", "x y -- x ? y"),
  COMPARE_LREAL(Kind.COMPARE, 2, 1, "a: comparison", "x y -- x ? y"),

  // selection; a (MAX, MIN): 0 signed, 1 unsigned 64 bit, 2 REAL, 3 LREAL
  MAX(Kind.COMPUTE, 2, 1, "a: class", "x y -- greater"),
  MIN(Kind.COMPUTE, 2, 1, "a: class", "x y -- smaller"),
  SELECT(Kind.SELECT, 3, 1, "", "g x y -- g ? y : x"),
  MUX(Kind.SELECT, -1, 1, "a: number of inputs", "k x0 .. xn -- xk; faults out of range"),

  // conversion
  CONVERT(Kind.COMPUTE, 1, 1, "a: from k + 256 * to k + 65536 * truncate", "x -- converted; faults by choice"),
  RANGE(Kind.COMPUTE, 1, 1, "a: pool index of low, high; b: k", "x -- x; faults outside the subrange"),

  // strings: by address; b = kind of string
  TEXT_COPY(Kind.COPY, 2, 0, "a: capacity, b: k", "target source --; cuts or faults by choice"),
  TEXT_CONVERT(Kind.COPY, 2, 0, "a: capacity, b: from k + 256 * to k", "target source --"),
  TEXT_OF_CHAR(Kind.STORE, 2, 0, "a: capacity, b: k", "target character --"),
  TEXT_COMPARE(Kind.COMPUTE, 2, 1, "b: k", "x y -- -1, 0 or 1"),
  TEXT_LENGTH(Kind.COMPUTE, 1, 1, "", "x -- length"),
  CHAR_GET(Kind.COMPUTE, 2, 1, "b: k", "text index -- character; faults out of range"),
  CHAR_PUT(Kind.STORE, 3, 0, "b: k", "text index character --; faults out of range"),

  // aggregates
  COPY(Kind.COPY, 2, 0, "a: slots, b: 1 + k of the elements where they may be located, else 0", "target source --"),
  CLEAR(Kind.MARK, 0, 0, "a: frame offset, b: slots", "-- ; zeroes part of the frame"),

  // control
  JUMP(Kind.JUMP, 0, 0, "a: step", "--"),
  JUMP_FALSE(Kind.BRANCH, 1, 0, "a: step, b: end of region", "condition --"),
  JUMP_TRUE(Kind.BRANCH, 1, 0, "a: step, b: end of region", "condition --"),
  CALL(Kind.CALL, 0, 0, "a: body, b: frame size of the caller", "-- ; keeps self"),
  CALL_ON(Kind.CALL, 1, 0, "a: body, b: frame size of the caller", "instance --"),
  CALL_DYNAMIC(Kind.CALL, 1, 0, "a: selector, b: frame size of the caller", "instance -- ; body found by the instance's type"),
  NATIVE(Kind.NATIVE, 0, 0, "a: native, b: frame size of the caller", "-- ; parameters lie behind the caller's frame"),
  RETURN(Kind.RETURN, 0, 0, "", "--"),
  /** Errors between GUARD and UNGUARD (also in what is called) go on at the handler instead of faulting. */
  GUARD(Kind.GUARD, 0, 0, "a: step of the handler", "--"),
  UNGUARD(Kind.UNGUARD, 0, 0, "", "--"),
  TASK_TIME(Kind.CLOCK, 0, 1, "", "-- virtual time in ns"),
  ASSERT(Kind.MARK, 1, 0, "a: claim", "condition -- ; faults or reports by choice"),
  TYPE_TEST(Kind.COMPUTE, 1, 1, "a: type set", "instance -- instance or NULL"),

  // ladder
  /** The element's test joins its left link. */
  CONTACT(Kind.AND, 2, 1, "a: element", "left test -- left AND test"),
  /** Reports a coil, jump, return or box with its left link; the value stays. */
  ELEMENT(Kind.MARK, 1, 1, "a: element", "left -- left"),

  // locks of tasks: a slot that holds the owner's number, or the number of free permits; each is one step, so no task can come between
  TAKE(Kind.COMPUTE, 1, 1, "a: 0 mutex, 1 semaphore", "address -- taken"),
  /** The task waits when there is nothing to take; it goes on behind this step when it is given what it waits for. */
  WAIT(Kind.MARK, 1, 0, "a: 0 mutex, 1 semaphore", "address --"),
  /** To the most urgent waiting task, else back. */
  GIVE(Kind.MARK, 1, 0, "a: 0 mutex, 1 semaphore", "address --");

  /** What ASSERT claims: the code and message of its fault. */
  public record Claim(String code, String message) {}

  public static final int CLAIM_CONDITION = 0;
  public static final int CLAIM_ONE_DURATION = 1;
  public static final int CLAIM_ONE_STORED = 2;
  public static final List<Claim> CLAIMS = List.of(
      new Claim("fault/assert", "the condition of ASSERT is FALSE"),
      new Claim("fault/sfc-durations", "two associations with a duration are active for one action; its control has one time input"),
      new Claim("fault/sfc-stored", "the stored memories of SD and SL of one action are set at the same time"));

  private final Kind kind;
  private final int pops;
  private final int pushes;
  private final String operands;
  private final String stack;

  Op(Kind kind, int pops, int pushes, String operands, String stack) {
    this.kind = kind;
    this.pops = pops;
    this.pushes = pushes;
    this.operands = operands;
    this.stack = stack;
  }

  public Kind kind() {
    return kind;
  }

  /** Values taken; -1 when operand {@code a} decides (MUX: a + 1). */
  public int pops() {
    return pops;
  }

  /** Values taken by a step whose first operand is {@code a}. */
  public int pops(int a) {
    return this == MUX ? a + 1 : pops;
  }

  public int pushes() {
    return pushes;
  }

  /** What the operands mean. */
  public String operands() {
    return operands;
  }

  /** Effect in stack notation. */
  public String stackEffect() {
    return stack;
  }
}
