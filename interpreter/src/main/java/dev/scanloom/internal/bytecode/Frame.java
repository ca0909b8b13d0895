package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.TreeSet;

/**
 * Which slots of a method's frame only this method can reach: temporaries, variables of the body's own, and those of the bodies written inside it. They live in
 * local variables of the JVM and are written to memory only when the stepping executor takes over.
 */
final class Frame {
  private final TreeSet<Integer> candidates = new TreeSet<>();
  private final TreeSet<Integer> shared = new TreeSet<>();
  /** From here on everything is reached by others. */
  private int open = Integer.MAX_VALUE;

  /** {@code own}: the frame of the body holds neither its parameters nor its result. */
  Frame(Code code, Blocks list, Flow flow, int start, int end, boolean own) {
    for (Flow.Block b : flow.blocks) {
      for (int pc = b.from; pc < b.to; pc++) {
        visit(code, b, pc);
      }
    }
    Code.Body body = code.bodies().get(flow.root.body);
    for (int pc = body.start(); pc < body.end(); pc++) {
      Op op = Blocks.op(code, pc);
      boolean names = op == Op.LOAD_TEMP || op == Op.STORE_TEMP || op == Op.LOAD_FRAME || op == Op.STORE_FRAME;
      boolean variable = op == Op.LOAD_FRAME || op == Op.STORE_FRAME;
      boolean elsewhere = pc < start || pc >= end || list.guarded[pc];
      if (names && (elsewhere || variable && !own && code.a[pc] < body.frameSlots())) {
        shared.add(code.a[pc]);
      } else if (elsewhere && op == Op.CLEAR) {
        for (int i = 0; i < code.b[pc]; i++) {
          shared.add(code.a[pc] + i);
        }
      } else if (elsewhere && op == Op.ADDRESS_FRAME) {
        open = Math.min(open, code.a[pc]);
      } else if (elsewhere && (op == Op.CALL || op == Op.CALL_ON || op == Op.CALL_DYNAMIC || op == Op.NATIVE)) {
        // Its parameters may have been written here.
        open = Math.min(open, code.b[pc]);
      } else if (elsewhere && op == Op.OPEN_INDEX && code.b[pc] == 0) {
        open = Math.min(open, code.a[pc]);
      }
    }
  }

  private void visit(Code code, Flow.Block b, int pc) {
    int a = b.context.frame + code.a[pc];
    switch (Blocks.op(code, pc)) {
      case LOAD_TEMP, STORE_TEMP, LOAD_FRAME, STORE_FRAME -> candidates.add(a);
      case ADDRESS_FRAME -> open = Math.min(open, a);
      case OPEN_INDEX -> {
        if (code.b[pc] == 0) {
          open = Math.min(open, a);
        }
      }
      case CALL, CALL_ON, CALL_DYNAMIC, NATIVE -> {
        if (b.callee == null || pc != b.to - 1) {
          open = Math.min(open, b.context.frame + code.b[pc]);
        }
      }
      default -> {
        // names no slot of the frame
      }
    }
  }

  boolean isPrivate(int offset) {
    return offset < open && candidates.contains(offset) && !shared.contains(offset);
  }

  /** A slot keeps its value in memory: what the method reads there was not always written by it. */
  void share(int offset) {
    shared.add(offset);
  }
}
