package dev.scanloom.benchmarks;

import static org.assertj.core.api.Assertions.assertThat;

import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** A benchmark of engines that compute different things says nothing. The hand-written Java is the outside reference. */
class EnginesAgreeTest {

  @ParameterizedTest
  @EnumSource
  void everyEngineComputesTheSameOutputs(Workload workload) {
    Stimulus stimulus = new Stimulus();
    Subject reference = Engine.JAVA.subject(workload, stimulus);
    long[] expected = new long[3];
    int[] scans = {1, 40, 300};
    run(reference, scans, expected);
    assertThat(expected[0]).as("the inputs matter").isNotEqualTo(expected[1]);
    for (Engine e : Engine.values()) {
      long[] sums = new long[3];
      run(e.subject(workload, stimulus), scans, sums);
      assertThat(sums).as(e + " on " + workload).isEqualTo(expected);
    }
  }

  private static void run(Subject s, int[] scans, long[] sums) {
    int at = 0;
    for (int n = 0; n < scans[scans.length - 1]; n++) {
      s.scan(n);
      if (n + 1 == scans[at]) {
        sums[at++] = s.checksum();
      }
    }
  }
}
