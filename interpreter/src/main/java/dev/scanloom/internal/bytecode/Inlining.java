package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.Set;

/**
 * Which bodies are written where they are called instead of being called: small ones without loops, whose steps are all translated. HotSpot would inline many
 * of them too, but only here is it known that what the caller writes is what the callee reads.
 */
final class Inlining {
  /** Steps of a body, with what is written inside it, that is always inlined. */
  private static final int SMALL = 80;
  /** The same, when it is called from few places. */
  private static final int MEDIUM = 260;
  private static final int FEW = 6;
  /** Steps that inlining may add to a program, besides as many as it has. */
  private static final int MOST = 20_000;
  private static final int LEVELS = 6;

  private final Code code;
  private final Blocks blocks;
  /** Steps with all that is inlined; -1: not to be inlined; 0: not known yet. */
  private final int[] size;
  private final int[] levels;
  private final int[] sites;
  private int left;

  Inlining(Code code, Blocks blocks, Set<Integer> untranslated) {
    this.code = code;
    this.blocks = blocks;
    int n = code.bodies().size();
    size = new int[n];
    levels = new int[n];
    sites = new int[n];
    left = code.length() + MOST;
    for (int pc = 0; pc < code.length(); pc++) {
      Op op = Blocks.op(code, pc);
      if (op == Op.CALL || op == Op.CALL_ON) {
        sites[code.a[pc]]++;
      }
    }
    untranslated.forEach(b -> size[b] = -1);
    // Callees may come behind their callers; each round settles at least the bodies of one more level.
    for (int round = 0; round <= LEVELS; round++) {
      for (int b = 0; b < n; b++) {
        if (size[b] == 0) {
          size[b] = size(b);
        }
      }
    }
    for (int b = 0; b < n; b++) {
      long grown = (long) size[b] * sites[b];
      if (size[b] == 0 || size[b] > 0 && (size[b] > SMALL && (size[b] > MEDIUM || sites[b] > FEW) || grown > left)) {
        size[b] = -1;
      } else if (size[b] > 0) {
        left -= (int) grown;
      }
    }
    settle();
  }

  /** A body with a call that is not inlined would have to ask for the budget inside: it is called. */
  private void settle() {
    boolean changed = true;
    while (changed) {
      changed = false;
      for (int b = 0; b < size.length; b++) {
        Code.Body body = code.bodies().get(b);
        for (int pc = body.start(); pc < body.end() && size[b] > 0; pc++) {
          Op op = Blocks.op(code, pc);
          if (blocks.height[pc] >= 0 && (op == Op.CALL || op == Op.CALL_ON) && size[code.a[pc]] < 0) {
            size[b] = -1;
            changed = true;
          }
        }
      }
    }
  }

  private int size(int number) {
    Code.Body b = code.bodies().get(number);
    if (b.end() - b.start() > MEDIUM) {
      return -1;
    }
    int steps = 0;
    int deepest = 0;
    for (int pc = b.start(); pc < b.end(); pc++) {
      if (blocks.height[pc] < 0) {
        continue;
      }
      steps++;
      Op op = Blocks.op(code, pc);
      switch (op) {
        case CALL, CALL_ON -> {
          int callee = code.a[pc];
          if (size[callee] <= 0) {
            return size[callee];
          }
          steps += size[callee];
          deepest = Math.max(deepest, levels[callee] + 1);
        }
        case JUMP, JUMP_FALSE, JUMP_TRUE -> {
          if (code.a[pc] <= pc) {
            return -1;
          }
        }
        case CALL_DYNAMIC, NATIVE, GUARD, UNGUARD, TEXT_COPY, TEXT_CONVERT, COPY, ASSERT, TAKE, WAIT, GIVE, TYPE_TEST, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH,
            CHAR_GET, CHAR_PUT, OPEN_INDEX -> {
          return -1;
        }
        default -> {
          // one step, translated by itself
        }
      }
    }
    levels[number] = deepest;
    return deepest >= LEVELS || steps > MEDIUM ? -1 : Math.max(1, steps);
  }

  /** Whether calls of a body are replaced by the body. */
  boolean inlines(int body) {
    return size[body] > 0;
  }

  /** Steps of an inlined body, with what is inlined in it. */
  int steps(int body) {
    return size[body];
  }
}
