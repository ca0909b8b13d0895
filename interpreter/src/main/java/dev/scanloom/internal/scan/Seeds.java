package dev.scanloom.internal.scan;

/** Seeds of the parts of a policy that draw random numbers. */
final class Seeds {
  private Seeds() {}

  /** Seed number {@code n} of a run: the finalizer of SplitMix64 (public domain, S. Vigna; from memory). */
  static long seed(long seed, int n) {
    long z = seed + (n + 1) * 0x9E3779B97F4A7C15L;
    z = (z ^ (z >>> 30)) * 0xBF58476D1CE4E5B9L;
    z = (z ^ (z >>> 27)) * 0x94D049BB133111EBL;
    return z ^ (z >>> 31);
  }
}
