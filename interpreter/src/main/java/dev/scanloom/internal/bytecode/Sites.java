package dev.scanloom.internal.bytecode;

import java.util.Arrays;

/** Places in generated code where a step can fail: the step, and how many steps have been made since the counter was last brought up to date. */
final class Sites {
  private int[] steps = new int[64];
  private int[] made = new int[64];
  private int count;

  int add(int step, int before) {
    if (count > 0 && steps[count - 1] == step && made[count - 1] == before) {
      return count - 1;
    }
    if (count == steps.length) {
      steps = Arrays.copyOf(steps, 2 * count);
      made = Arrays.copyOf(made, 2 * count);
    }
    steps[count] = step;
    made[count] = before;
    return count++;
  }

  int step(int site) {
    return steps[site];
  }

  int made(int site) {
    return made[site];
  }
}
