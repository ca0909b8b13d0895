package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.lang.management.ManagementFactory;
import java.util.function.Supplier;

/** Bounds on effort in processor time of the thread, which a busy machine does not stretch as it stretches the clock. */
final class Effort {
  private Effort() {}

  static <T> T within(int seconds, Supplier<T> work) {
    var threads = ManagementFactory.getThreadMXBean();
    long before = threads.getCurrentThreadCpuTime();
    T result = work.get();
    assertThat((threads.getCurrentThreadCpuTime() - before) / 1_000_000).as("milliseconds of processor time").isLessThan(seconds * 1000L);
    return result;
  }
}
