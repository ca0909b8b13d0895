package dev.scanloom.internal.check;

import java.util.Locale;
import java.util.Optional;

/** Finds the name that a person may have meant. */
final class Nearest {
  private Nearest() {}

  /**
   * The candidate with the smallest edit distance to {@code wanted}, at most a third of its length and at most 3; the first one wins a tie.
   * Of one or two letters anything is near, so nothing is offered.
   */
  static Optional<String> of(String wanted, Iterable<String> candidates) {
    if (wanted.length() < 3 || wanted.length() > 100) {
      return Optional.empty();
    }
    String key = wanted.toUpperCase(Locale.ROOT);
    int best = Math.min(3, Math.max(1, (wanted.length() + 1) / 3)) + 1;
    String found = null;
    for (String candidate : candidates) {
      if (Math.abs(candidate.length() - key.length()) < best) {
        int d = distance(key, candidate.toUpperCase(Locale.ROOT), best - 1);
        if (d < best) {
          best = d;
          found = candidate;
        }
      }
    }
    return Optional.ofNullable(found);
  }

  /** Edit distance in which exchanging two neighbours counts one; anything above {@code limit} is {@code limit + 1}. */
  private static int distance(String a, String b, int limit) {
    int[] beforeLast = new int[b.length() + 1];
    int[] last = new int[b.length() + 1];
    int[] now = new int[b.length() + 1];
    for (int j = 0; j <= b.length(); j++) {
      last[j] = j;
    }
    for (int i = 1; i <= a.length(); i++) {
      now[0] = i;
      int least = i;
      for (int j = 1; j <= b.length(); j++) {
        int cost = a.charAt(i - 1) == b.charAt(j - 1) ? 0 : 1;
        int d = Math.min(Math.min(now[j - 1], last[j]) + 1, last[j - 1] + cost);
        if (i > 1 && j > 1 && a.charAt(i - 1) == b.charAt(j - 2) && a.charAt(i - 2) == b.charAt(j - 1)) {
          d = Math.min(d, beforeLast[j - 2] + 1);
        }
        now[j] = d;
        least = Math.min(least, d);
      }
      if (least > limit) {
        return limit + 1;
      }
      int[] t = beforeLast;
      beforeLast = last;
      last = now;
      now = t;
    }
    return last[b.length()];
  }
}
