package dev.scanloom.policy;

import java.time.Duration;

/** Durations of the built-in policies: nanoseconds, checked once. */
final class Durations {
  private Durations() {}

  static long nanoseconds(Duration d, String what) {
    try {
      return d.toNanos();
    } catch (ArithmeticException e) {
      throw new IllegalArgumentException("the " + what + " is longer than 292 years: " + d, e);
    }
  }

  static long positive(Duration d, String what) {
    long ns = nanoseconds(d, what);
    if (ns <= 0) {
      throw new IllegalArgumentException("the " + what + " must be longer than zero: " + d);
    }
    return ns;
  }

  static long notNegative(Duration d, String what) {
    long ns = nanoseconds(d, what);
    if (ns < 0) {
      throw new IllegalArgumentException("the " + what + " must not be negative: " + d);
    }
    return ns;
  }

  static long jitter(Duration jitter, Duration period) {
    long ns = notNegative(jitter, "jitter");
    if (ns > period.toNanos()) {
      // Beyond it a late tick could come after its successor.
      throw new IllegalArgumentException("the jitter must not exceed the period: " + jitter + " > " + period);
    }
    return ns;
  }

  /** Time of tick {@code n}; Long.MAX_VALUE when it lies beyond the clock. */
  static long tick(long n, long period, long phase, long jitter, long seed) {
    long high = Math.multiplyHigh(n, period);
    long low = n * period;
    if (high != 0 || low < 0 || low > Long.MAX_VALUE - phase - jitter) {
      return Long.MAX_VALUE;
    }
    return phase + low + (jitter == 0 ? 0 : Long.remainderUnsigned(mix(seed, n), jitter + 1));
  }

  /** A hash of two numbers: the finalizer of SplitMix64 (public domain, S. Vigna; from memory), the same on every machine. */
  static long mix(long seed, long n) {
    long z = seed + (n + 1) * 0x9E3779B97F4A7C15L;
    z = (z ^ (z >>> 30)) * 0xBF58476D1CE4E5B9L;
    z = (z ^ (z >>> 27)) * 0x94D049BB133111EBL;
    return z ^ (z >>> 31);
  }

  static String text(long ns) {
    if (ns != 0 && ns % 1_000_000_000L == 0) {
      return ns / 1_000_000_000L + "s";
    }
    if (ns != 0 && ns % 1_000_000L == 0) {
      return ns / 1_000_000L + "ms";
    }
    return ns != 0 && ns % 1_000L == 0 ? ns / 1_000L + "us" : ns + "ns";
  }
}
