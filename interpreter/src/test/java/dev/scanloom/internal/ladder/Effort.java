package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.function.Supplier;

/**
 * Bounds on effort. What is bounded takes a few seconds on an idle machine and hours if some pass is quadratic; between them there is room
 * for a machine that is busy otherwise.
 */
final class Effort {
  private static final int BUSY = 5;

  private Effort() {}

  static <T> T within(int seconds, Supplier<T> work) {
    long before = System.nanoTime();
    T result = work.get();
    assertThat((System.nanoTime() - before) / 1_000_000_000).as("seconds").isLessThan(seconds * BUSY);
    return result;
  }
}
