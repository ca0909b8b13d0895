package dev.scanloom.internal.bytecode;

import java.util.Arrays;

/** Places in generated code where a step can fail: the step, and how many steps have been made since the counter was last brought up to date. */
final class Sites {
  private int[] steps = new int[64];
  private int[] made = new int[64];
  private int[][] callers = new int[64][];
  private int count;

  /** {@code around}: the calls around the step in the same method, innermost first. */
  int add(int step, int before, int[] around) {
    if (count > 0 && steps[count - 1] == step && made[count - 1] == before && Arrays.equals(callers[count - 1], around)) {
      return count - 1;
    }
    if (count == steps.length) {
      steps = Arrays.copyOf(steps, 2 * count);
      made = Arrays.copyOf(made, 2 * count);
      callers = Arrays.copyOf(callers, 2 * count);
    }
    steps[count] = step;
    made[count] = before;
    callers[count] = around;
    return count++;
  }

  int step(int site) {
    return steps[site];
  }

  int[] callers(int site) {
    return callers[site];
  }

  int made(int site) {
    return made[site];
  }
}
