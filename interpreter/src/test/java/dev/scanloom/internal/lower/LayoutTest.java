package dev.scanloom.internal.lower;

import static org.assertj.core.api.Assertions.assertThat;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

class LayoutTest {

  @ParameterizedTest
  @CsvSource({"0, 0", "1, 1", "2, 2", "3, 4", "4, 4", "5, 5", "6, 8", "7, 8", "9, 11", "10, 11", "11, 11", "12, 13", "14, 14", "15, 16", "63, 64", "65, 67"})
  void stridesAreNoSumsOrDifferencesOfTwoPowers(int slots, int rounded) {
    assertThat(Layout.rounded(slots)).isEqualTo(rounded);
  }

  @Test
  void stridesGrowByAThirdAtMost() {
    for (int n = 0; n < 100_000; n++) {
      assertThat(Layout.rounded(n)).isBetween(n, n + n / 3);
    }
  }
}
