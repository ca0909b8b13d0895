package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.stream.Stream;
import org.junit.jupiter.api.Test;

/** Rows between two blank ones are read by themselves: what must hang together over a blank row does, and nothing else. */
class LadderStretchesTest {
  @Test
  void aVerticalLinkThatEndsAboveABlankRowBelongsToTheOneBelow() {
    Cases.Result r = Cases.read(String.join("\n",
        "|  A       B        L   |",
        "+-| |--+--| |------( )--+",
        "|      |                |",
        "|                       |",
        "|  C   |                |",
        "+-| |--+                |", ""));
    assertThat(r.places()).containsExactly("3:8 error ladder/open-branch");
    assertThat(Graphs.text(r.drawing()).lines().toList()).containsExactly("network 1", "  0 contact normal A <- rail", "  1 contact normal C <- rail",
        "  2 contact normal B <- 0+1", "  3 coil normal L <- 2");
  }

  @Test
  void aVerticalLinkThatBeginsBelowABlankRowBelongsToTheOneAbove() {
    Cases.Result r = Cases.read(String.join("\n",
        "|  A       B        L   |",
        "+-| |--+--| |------( )--+",
        "|                       |",
        "|  C   |                |",
        "+-| |--+                |", ""));
    assertThat(r.places()).containsExactly("4:8 error ladder/open-branch");
    assertThat(r.drawing().networks()).hasSize(1);
  }

  @Test
  void oneThatBeginsTooFarBelowDoesNot() {
    Cases.Result r = Cases.read(Stream.of(
        "|  A       B        L   |",
        "+-| |--+--| |------( )--+",
        "|      |                |",
        "|                       |".concat("\n").repeat(5).strip(),
        "|  C   |                |",
        "+-| |--+                |", "").reduce((a, b) -> a + "\n" + b).orElseThrow());
    assertThat(r.drawing().networks()).hasSize(2);
    assertThat(r.places()).contains("3:8 error ladder/open-branch", "9:8 error ladder/open-branch");
  }

  @Test
  void aConnectorLeadsOverBlankRows() {
    Cases.Result r = Cases.read(String.join("\n",
        "|  A                    |",
        "+-| |-->far>            |",
        "|                       |",
        "",
        "|                   L   |",
        "|   >far>----------( )--+", ""));
    assertThat(r.diagnostics()).isEmpty();
    assertThat(Graphs.text(r.drawing()).lines().toList())
        .containsExactly("network 1", "  0 contact normal A <- rail", "  1 coil normal L <- 0");
  }

  @Test
  void labelsAndCommentsGoToTheNetworkBelow() {
    Cases.Result r = Cases.read(String.join("\n",
        "|  A                L   |",
        "+-| |--------------( )--+",
        "",
        "(* what follows *)",
        "Again:",
        "|  B                M   |",
        "+-| |--------------( )--+",
        "",
        "Nothing:", ""));
    assertThat(r.places()).containsExactly("9:1 error ladder/label-no-network");
    assertThat(Graphs.text(r.drawing()).lines().filter(l -> l.startsWith("network")).toList())
        .containsExactly("network 1", "network 2 label Again comment what follows");
  }
}
