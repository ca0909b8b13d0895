package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.List;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** The pictures: read into the graphs that their files state, without a diagnostic. */
class LadderPicturesTest {
  static List<Cases.Case> pictures() {
    return Cases.in("pictures");
  }

  @ParameterizedTest
  @MethodSource("pictures")
  void readsIntoItsGraph(Cases.Case c) {
    Cases.Result r = Cases.read(c.drawing());
    assertThat(r.diagnostics()).isEmpty();
    assertThat(Graphs.text(r.drawing()).strip().lines().map(String::strip).toList()).isEqualTo(c.all("graph"));
  }
}
