package dev.scanloom.policy;

import static org.assertj.core.api.Assertions.assertThat;

import java.time.Duration;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.IntRange;
import net.jqwik.api.constraints.LongRange;

/** What every clock of a subsystem must keep: it never goes back, and a tick is late by its jitter at most. */
class ClocksProperties {

  @Property(tries = 500)
  void ticksNeverFallAndStayWithinTheirJitter(
      @ForAll @LongRange(min = 1, max = 1_000_000_000L) long period, @ForAll @LongRange(min = 0, max = 1_000_000_000L) long phase,
      @ForAll @IntRange(min = 0, max = 100) int percent, @ForAll long seed, @ForAll @LongRange(min = 0, max = 1_000_000) long n) {
    long jitter = period / 100 * percent;
    InputAcquisition in = InputAcquisition.asynchronous(Duration.ofNanos(period), Duration.ofNanos(phase), Duration.ofNanos(jitter));
    long at = in.subsystemTime(n, seed);
    long ideal = phase + n * period;
    assertThat(at).isBetween(ideal, ideal + jitter);
    assertThat(in.subsystemTime(n + 1, seed)).isGreaterThanOrEqualTo(at);
  }

  @Property(tries = 500)
  void aPeriodicScanStartsOnTheGridAndNotInThePast(
      @ForAll @LongRange(min = 1, max = 1_000_000L) long interval, @ForAll @LongRange(min = 0, max = 1_000_000L) long grid,
      @ForAll @LongRange(min = 0, max = 10_000_000L) long took) {
    ScanTrigger t = ScanTrigger.periodic(Duration.ofNanos(interval));
    long previous = grid * interval;
    long now = previous + took;
    long next = t.nextStart(2, previous, now, now);
    assertThat(next % interval).isZero();
    assertThat(next).isGreaterThan(previous).isGreaterThanOrEqualTo(now);
    assertThat(next - Math.max(now, previous + 1)).isLessThan(interval);
  }
}
