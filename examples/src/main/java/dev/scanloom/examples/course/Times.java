package dev.scanloom.examples.course;

import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;

/** Durations and policies that lessons share. */
final class Times {
  private Times() {}

  static Duration us(long n) {
    return Duration.ofNanos(n * 1_000);
  }

  static Duration ms(long n) {
    return Duration.ofMillis(n);
  }

  /** A scan every 10 ms that takes no time. */
  static ScanPolicy still(ScanPolicy p) {
    return p.withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(10)));
  }

  /** 1 us a step, phases free. */
  static ScanPolicy micro(ScanPolicy p) {
    return p.withCosts(CostModel.fixed(us(1), Duration.ZERO, Duration.ZERO, Duration.ZERO));
  }

  /** The same with a scan every 10 ms. */
  static ScanPolicy micro10(ScanPolicy p) {
    return micro(p).withTrigger(ScanTrigger.periodic(ms(10)));
  }
}
