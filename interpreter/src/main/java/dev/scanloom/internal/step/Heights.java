package dev.scanloom.internal.step;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/** How high the operand stack is before each step: the same on every path that leads there. */
public final class Heights {
  private static final Op[] OPS = Op.values();

  private Heights() {}

  /** By step of the body, from its first one on; -1 where no path leads. */
  public static int[] of(Code code, Code.Body body) {
    int start = body.start();
    int[] height = new int[body.end() - start];
    Arrays.fill(height, -1);
    height[0] = 0;
    List<Integer> work = new ArrayList<>(List.of(start));
    while (!work.isEmpty()) {
      int pc = work.remove(work.size() - 1);
      int h = height[pc - start];
      while (true) {
        Op op = OPS[code.op[pc]];
        int after = h - op.pops(code.a[pc]) + op.pushes();
        if (op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE || op == Op.GUARD) {
          int target = code.a[pc];
          if (height[target - start] < 0) {
            height[target - start] = after;
            work.add(target);
          }
        }
        pc++;
        if (op == Op.JUMP || op == Op.RETURN || pc >= body.end() || height[pc - start] >= 0) {
          break;
        }
        height[pc - start] = after;
        h = after;
      }
    }
    return height;
  }

  /** The same for all bodies, by step of the program. */
  public static int[] of(Code code) {
    int[] all = new int[code.length()];
    Arrays.fill(all, -1);
    for (Code.Body b : code.bodies()) {
      int[] height = of(code, b);
      System.arraycopy(height, 0, all, b.start(), height.length);
    }
    return all;
  }
}
