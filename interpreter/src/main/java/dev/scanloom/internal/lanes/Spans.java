package dev.scanloom.internal.lanes;

import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;

/** A set of numbers as ranges, both ends included. */
final class Spans {
  private final List<int[]> ranges = new ArrayList<>();
  private boolean sorted = true;

  void add(int from, int to) {
    if (to < from) {
      return;
    }
    int n = ranges.size();
    if (n > 0) {
      int[] last = ranges.get(n - 1);
      if (from >= last[0] && to <= last[1]) {
        return;
      }
      if (from == last[1] + 1) {
        last[1] = to;
        return;
      }
    }
    ranges.add(new int[] {from, to});
    sorted = false;
  }

  void addAll(Spans other) {
    for (int[] r : other.ranges) {
      add(r[0], r[1]);
    }
  }

  /** In order, without overlap. */
  List<int[]> ranges() {
    if (!sorted) {
      List<int[]> all = new ArrayList<>(ranges);
      all.sort(Comparator.comparingInt(r -> r[0]));
      ranges.clear();
      for (int[] r : all) {
        int[] last = ranges.isEmpty() ? null : ranges.get(ranges.size() - 1);
        if (last != null && r[0] <= last[1] + 1) {
          last[1] = Math.max(last[1], r[1]);
        } else {
          ranges.add(new int[] {r[0], r[1]});
        }
      }
      sorted = true;
    }
    return ranges;
  }

  boolean isEmpty() {
    return ranges.isEmpty();
  }
}
