package dev.scanloom.internal.ladder;

/** Sets of numbers that are joined one by one: each number leads to another of its set, the root to itself. */
final class Joined {
  private Joined() {}

  /** The number that stands for the set of this one; ways to it are shortened. */
  static int root(int[] leadsTo, int number) {
    int r = number;
    while (leadsTo[r] != r) {
      leadsTo[r] = leadsTo[leadsTo[r]];
      r = leadsTo[r];
    }
    return r;
  }
}
