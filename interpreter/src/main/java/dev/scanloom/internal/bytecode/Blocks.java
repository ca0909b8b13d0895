package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Heights;
import dev.scanloom.internal.step.Op;

/**
 * The step list seen as basic blocks: where blocks begin, how high the operand stack is there, and where a body may be cut into methods. Steps of a block are
 * counted when it is left, so a block ends behind every call and every step that charges for bulk work.
 */
final class Blocks {
  private static final Op[] OPS = Op.values();

  final boolean[] leader;
  /** Operand stack height before each step; -1 where no path leads. */
  final int[] height;
  /** Inside GUARD .. UNGUARD: not translated, the stepping executor runs the stretch. */
  final boolean[] guarded;

  Blocks(Code code) {
    int n = code.length();
    leader = new boolean[n + 1];
    height = Heights.of(code);
    guarded = new boolean[n];
    for (Code.Body b : code.bodies()) {
      analyse(code, b);
    }
  }

  static Op op(Code code, int pc) {
    return OPS[code.op[pc]];
  }

  private void analyse(Code code, Code.Body body) {
    leader[body.start()] = true;
    int guards = 0;
    for (int pc = body.start(); pc < body.end(); pc++) {
      Op op = op(code, pc);
      switch (op) {
        case JUMP, JUMP_FALSE, JUMP_TRUE -> {
          leader[code.a[pc]] = true;
          leader[pc + 1] = true;
        }
        case GUARD -> {
          leader[pc] = true;
          leader[code.a[pc]] = true;
          guards++;
        }
        case UNGUARD -> {
          guards--;
          guarded[pc] = true;
          leader[pc + 1] = true;
        }
        case CALL, CALL_ON, CALL_DYNAMIC, NATIVE, RETURN, TEXT_COPY, TEXT_CONVERT, COPY, ASSERT, TAKE, WAIT, GIVE -> leader[pc + 1] = true;
        default -> {
          // stays in the block: every other step goes on with the next one and costs one step
        }
      }
      if (guards > 0 && op != Op.GUARD || op == Op.GUARD && guards > 1) {
        guarded[pc] = true;
      }
    }
  }

  /** Makes a step the beginning of a block: a method is cut there. */
  void split(int at) {
    leader[at] = true;
  }
}
