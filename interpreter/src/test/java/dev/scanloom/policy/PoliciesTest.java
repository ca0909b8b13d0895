package dev.scanloom.policy;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatIllegalArgumentException;

import java.time.Duration;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Built-in choices of every axis. Times are worked out with java.time; meanings are common practice as scan-model.md section 3 tells them. */
class PoliciesTest {
  private static final long NEVER = Long.MAX_VALUE;

  private static long ns(Duration d) {
    return d.toNanos();
  }

  @Test
  void imageCopiesInTheRefreshPhasesAlone() {
    InputAcquisition in = InputAcquisition.image();
    OutputDelivery out = OutputDelivery.image();
    assertThat(in.atRefresh(1)).isTrue();
    assertThat(in.watchesReads()).isFalse();
    assertThat(in.beforeRead(1, 0, 0, 1)).isFalse();
    assertThat(in.subsystemTime(0, 7)).isEqualTo(NEVER);
    assertThat(out.atRefresh(1)).isTrue();
    assertThat(out.watchesWrites()).isFalse();
    assertThat(out.subsystemTime(0, 7)).isEqualTo(NEVER);
  }

  @Test
  void immediateCopiesAtAccessesAlone() {
    InputAcquisition in = InputAcquisition.immediate();
    OutputDelivery out = OutputDelivery.immediate();
    assertThat(in.atRefresh(1)).isFalse();
    assertThat(in.watchesReads()).isTrue();
    assertThat(in.beforeRead(3, 5, 17, 8)).isTrue();
    assertThat(in.subsystemTime(0, 7)).isEqualTo(NEVER);
    assertThat(out.atRefresh(1)).isFalse();
    assertThat(out.watchesWrites()).isTrue();
    assertThat(out.afterWrite(3, 5, 17, 8)).isTrue();
    assertThat(out.subsystemTime(0, 7)).isEqualTo(NEVER);
  }

  @Test
  void asynchronousTicksAtPhasePlusMultiplesOfThePeriod() {
    Duration period = Duration.ofMillis(7);
    Duration phase = Duration.ofNanos(300_000);
    InputAcquisition in = InputAcquisition.asynchronous(period, phase);
    OutputDelivery out = OutputDelivery.asynchronous(period, phase);
    DisplaySampling screen = DisplaySampling.asynchronous(period, phase);
    for (int n : new int[] {0, 1, 2, 1_000_000}) {
      long expected = ns(phase.plus(period.multipliedBy(n)));
      assertThat(in.subsystemTime(n, 5)).isEqualTo(expected);
      assertThat(out.subsystemTime(n, 5)).isEqualTo(expected);
      assertThat(screen.subsystemTime(n, 5)).isEqualTo(expected);
    }
    assertThat(in.atRefresh(1)).isFalse();
    assertThat(in.watchesReads()).isFalse();
    assertThat(out.atRefresh(1)).isFalse();
    assertThat(out.watchesWrites()).isFalse();
    assertThat(screen.atScanStart(1)).isFalse();
    assertThat(screen.atScanEnd(1)).isFalse();
  }

  @Test
  void aTickBeyondTheClockNeverComes() {
    InputAcquisition in = InputAcquisition.asynchronous(Duration.ofDays(365), Duration.ZERO);
    // 292 * 365 days are less than 2^63 ns, 293 are more.
    assertThat(in.subsystemTime(292, 0)).isEqualTo(Duration.ofDays(365L * 292).toNanos());
    assertThat(in.subsystemTime(293, 0)).isEqualTo(NEVER);
    assertThat(in.subsystemTime(Long.MAX_VALUE / 2, 0)).isEqualTo(NEVER);
  }

  @Test
  void jitterDependsOnTheSeedAndTheCountOnly() {
    InputAcquisition in = InputAcquisition.asynchronous(Duration.ofMillis(1), Duration.ZERO, Duration.ofMillis(1));
    assertThat(in.subsystemTime(5, 1)).isEqualTo(in.subsystemTime(5, 1));
    long different = java.util.stream.LongStream.range(0, 50).filter(n -> in.subsystemTime(n, 1) != in.subsystemTime(n, 2)).count();
    assertThat(different).isGreaterThan(40);
  }

  @Test
  void displaysSampleWhereTheirNameSays() {
    assertThat(DisplaySampling.scanStart().atScanStart(4)).isTrue();
    assertThat(DisplaySampling.scanStart().atScanEnd(4)).isFalse();
    assertThat(DisplaySampling.scanEnd().atScanEnd(4)).isTrue();
    assertThat(DisplaySampling.scanEnd().atScanStart(4)).isFalse();
    assertThat(DisplaySampling.scanEnd().chunk(9)).isEqualTo(9);
    DisplaySampling chunked = DisplaySampling.asynchronous(Duration.ofMillis(1), Duration.ZERO, 4);
    assertThat(chunked.chunk(9)).isEqualTo(4);
    assertThat(chunked.chunk(3)).isEqualTo(3);
  }

  @Test
  void paintingFromASampleInvertsNegatedElements() {
    Painting p = Painting.fromSample();
    assertThat(p.paints(true, false, false)).isTrue();
    assertThat(p.paints(false, false, true)).isFalse();
    assertThat(p.paints(false, true, false)).isTrue();
    assertThat(p.paints(true, true, true)).isFalse();
    assertThat(p.needsSample()).isTrue();
  }

  @Test
  void paintingFromExecutionAsksTheExecutorAlone() {
    Painting p = Painting.fromExecution();
    assertThat(p.paints(true, false, false)).isFalse();
    assertThat(p.paints(false, true, true)).isTrue();
    assertThat(p.needsSample()).isFalse();
  }

  @Test
  void freeRunningStartsWhenThereIsWork() {
    assertThat(ScanTrigger.freeRunning().nextStart(2, 0, 130, 130)).isEqualTo(130);
    assertThat(ScanTrigger.freeRunning().nextStart(2, 0, 130, 500)).isEqualTo(500);
  }

  @Test
  void periodicKeepsItsGridAlsoAfterALongScan() {
    ScanTrigger t = ScanTrigger.periodic(Duration.ofNanos(100));
    assertThat(t.nextStart(1, -1, 0, 0)).isZero();
    assertThat(t.nextStart(2, 0, 40, 40)).isEqualTo(100);
    assertThat(t.nextStart(3, 100, 200, 200)).isEqualTo(200);
    assertThat(t.nextStart(4, 200, 301, 301)).isEqualTo(400);
    assertThat(t.nextStart(1, -1, 250, 250)).isEqualTo(300);
  }

  @Test
  void onDemandNeverStartsByItself() {
    assertThat(ScanTrigger.onDemand().nextStart(1, -1, 0, 0)).isEqualTo(NEVER);
  }

  @Test
  void externalWritesArriveAfterTheirDelay() {
    assertThat(ExternalWrites.betweenScans().landsAtAnyStep()).isFalse();
    assertThat(ExternalWrites.betweenScans().arrival(10, 0, 0)).isEqualTo(10);
    assertThat(ExternalWrites.anyStep().landsAtAnyStep()).isTrue();
    ExternalWrites late = ExternalWrites.delayed(true, Duration.ofMillis(3));
    assertThat(late.arrival(10, 0, 0)).isEqualTo(3_000_010);
    assertThat(late.arrival(NEVER - 1, 0, 0)).isEqualTo(NEVER);
  }

  @Test
  void preemptionNeedsHigherPriority() {
    // IEC 61131-3 (from memory): 0 is the highest priority; tasks of equal priority do not interrupt each other.
    assertThat(TaskSwitching.nonPreemptive().preempts(5, 0)).isFalse();
    assertThat(TaskSwitching.preemptive().preempts(5, 0)).isTrue();
    assertThat(TaskSwitching.preemptive().preempts(5, 5)).isFalse();
    assertThat(TaskSwitching.preemptive().preempts(0, 5)).isFalse();
  }

  @Test
  void costsAreAsStated() {
    CostModel standard = CostModel.standard();
    for (CostModel.StepKind k : CostModel.StepKind.values()) {
      assertThat(standard.step(k)).isEqualTo(100);
      assertThat(CostModel.zero().step(k)).isZero();
    }
    assertThat(standard.phase(CostModel.Phase.INPUT_REFRESH, 1, 0, 0)).isEqualTo(50_000);
    CostModel busy = CostModel.fixed(Duration.ofNanos(1), Duration.ofNanos(20), Duration.ofNanos(300), Duration.ofNanos(4_000));
    assertThat(busy.phase(CostModel.Phase.OUTPUT_REFRESH, 1, 9, 0)).isEqualTo(20);
    assertThat(busy.phase(CostModel.Phase.HOUSEKEEPING, 1, 2, 0)).isEqualTo(8_300);
  }

  @Test
  void badDurationsAreRefusedByName() {
    assertThatIllegalArgumentException().isThrownBy(() -> ScanPolicy.asynchronous(Duration.ZERO)).withMessageContaining("period");
    assertThatIllegalArgumentException().isThrownBy(() -> ScanTrigger.periodic(Duration.ofMillis(-1))).withMessageContaining("interval");
    assertThatIllegalArgumentException().isThrownBy(() -> InputAcquisition.asynchronous(Duration.ofMillis(1), Duration.ofMillis(-1)))
        .withMessageContaining("phase");
    assertThatIllegalArgumentException()
        .isThrownBy(() -> OutputDelivery.asynchronous(Duration.ofMillis(1), Duration.ZERO, Duration.ofMillis(2))).withMessageContaining("jitter");
    assertThatIllegalArgumentException()
        .isThrownBy(() -> DisplaySampling.asynchronous(Duration.ofMillis(1), Duration.ZERO, 0)).withMessageContaining("chunk");
    assertThatIllegalArgumentException().isThrownBy(() -> ScanTrigger.periodic(Duration.ofDays(200_000))).withMessageContaining("292 years");
    assertThatIllegalArgumentException().isThrownBy(() -> ScanPolicy.image().withInputs(4, 3, InputAcquisition.image()))
        .withMessageContaining("no range");
  }

  @Test
  void aPolicyIsAValue() {
    ScanPolicy p = ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withSeed(4);
    ScanPolicy q = ScanPolicy.image().withSeed(4).withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)));
    assertThat(p).isEqualTo(q).hasSameHashCodeAs(q);
    assertThat(p).isNotEqualTo(q.withSeed(5));
    assertThat(ScanPolicy.image().displays()).extracting(ScanPolicy.Display::name).containsExactly("screen");
    ScanPolicy two = ScanPolicy.image().withDisplay("panel", DisplaySampling.scanStart(), Painting.fromSample(), List.of("a"));
    assertThat(two.displays()).hasSize(2);
    ScanPolicy again = two.withDisplay("panel", DisplaySampling.scanEnd(), Painting.fromSample());
    assertThat(again.displays()).hasSize(2);
    assertThat(again.displays().get(1).items()).isEmpty();
  }
}
