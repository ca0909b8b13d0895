package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.List;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** The printer on the pictures. */
class LadderPrinterTest {
  static List<Cases.Case> pictures() {
    return Cases.in("pictures");
  }

  @ParameterizedTest
  @MethodSource("pictures")
  void aPicturePrintsIntoTheSameGraph(Cases.Case c) {
    LadderPrinterProperties.check(Cases.read(c.drawing()).drawing());
  }
}
