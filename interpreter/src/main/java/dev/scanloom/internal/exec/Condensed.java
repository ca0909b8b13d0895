package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Code;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/**
 * The step list in a form that is quick to walk: stretches of steps that nobody looks into, each as a few operations of {@link Quick} on
 * slots. It says how many steps a stretch stands for and where each begins, so that time, budget and places stay those of the steps. Made
 * once per program, immutable apart from remembered prices, safe for use by several threads.
 */
public final class Condensed {
  private static final int REMEMBERED_PRICES = 8;

  public final int[] f;
  /** Per step: index of the operation that begins there, or -1. */
  public final int[] entry;
  /** Per body: that of its first step. */
  final int[] bodyEntry;
  /** Per step: height of the operand stack before it; -1 where no path leads. */
  public final int[] height;
  /** Steps of all stretches, one behind the other, and where each stretch begins in them. */
  final int[] steps;
  final int[] stretchStart;
  /** Per conditional jump out of a stretch: the stretch, and the number of its steps that were executed. */
  final int[] exitStretch;
  final int[] exitBefore;
  /** Operations that may give up, in rising order: index; the step from which to walk; steps of the stretch before it; the stretch. */
  final int[] bailAt;
  final int[] bailStep;
  final int[] bailBefore;
  final int[] bailStretch;

  private final Code code;
  private final List<Prices> known = new ArrayList<>();

  Condensed(Code code, Condenser c) {
    this.code = code;
    f = c.f.toArray();
    entry = c.entry;
    bodyEntry = code.bodies().stream().mapToInt(b -> entry[b.start()]).toArray();
    height = c.height;
    steps = c.steps.toArray();
    stretchStart = c.stretchStart.toArray();
    exitStretch = c.exitStretch.toArray();
    exitBefore = c.exitBefore.toArray();
    bailAt = c.bailAt.toArray();
    bailStep = c.bailStep.toArray();
    bailBefore = c.bailBefore.toArray();
    bailStretch = c.bailStretch.toArray();
  }

  /** What stretches cost under a table of prices by operation. */
  static final class Prices {
    private final long[] table;
    /** Per stretch: all its steps. Per exit: the steps of the stretch that are not executed. */
    final long[] stretch;
    final long[] saved;
    /** Per operation that may give up: the steps from where its steps are walked. */
    final long[] givenUp;

    Prices(long[] table, long[] stretch, long[] saved, long[] givenUp) {
      this.givenUp = givenUp;
      this.table = table;
      this.stretch = stretch;
      this.saved = saved;
    }
  }

  synchronized Prices prices(long[] table) {
    for (Prices p : known) {
      if (Arrays.equals(p.table, table)) {
        return p;
      }
    }
    long[] stretch = new long[stretchStart.length];
    for (int i = 0; i < stretch.length; i++) {
      stretch[i] = cost(table, i, 0);
    }
    long[] saved = new long[exitStretch.length];
    for (int i = 0; i < saved.length; i++) {
      saved[i] = cost(table, exitStretch[i], exitBefore[i]);
    }
    long[] givenUp = new long[bailAt.length];
    for (int i = 0; i < givenUp.length; i++) {
      givenUp[i] = cost(table, bailStretch[i], bailBefore[i]);
    }
    Prices p = new Prices(table.clone(), stretch, saved, givenUp);
    if (known.size() == REMEMBERED_PRICES) {
      known.remove(0);
    }
    known.add(p);
    return p;
  }

  /** Cost of a stretch from its step number {@code from} on. */
  private long cost(long[] table, int stretch, int from) {
    int end = stretch + 1 < stretchStart.length ? stretchStart[stretch + 1] : steps.length;
    long sum = 0;
    for (int i = stretchStart[stretch] + from; i < end; i++) {
      sum += table[code.op[steps[i]]];
    }
    return sum;
  }

  /** Number among those that may give up. */
  int bail(int at) {
    int i = Arrays.binarySearch(bailAt, at);
    if (i < 0) {
      throw new IllegalStateException("operation " + f[at] + " at " + at + " cannot give up");
    }
    return i;
  }
}
