package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import net.jqwik.api.Example;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;

/** Printing and reading again gives the same graph: about 10,000 networks a run. */
class LadderPrinterProperties {
  @Property(tries = 3000)
  void whatIsPrintedReadsBackTheSame(@ForAll long seed) {
    check(new RandomDrawings(seed).drawing(true));
  }

  /** An output of a box and an input of the next on one row, which have different sources: found by the property. */
  @Example
  void linksOfOneRowStayApart() {
    check(new RandomDrawings(3411).drawing(true));
  }

  @Property(tries = 2000)
  void soDoesWhatIsDrawnWithoutBoxes(@ForAll long seed) {
    check(new RandomDrawings(seed).drawing(false));
  }

  static void check(Drawing drawing) {
    String text = LadderPrinter.print(drawing);
    Cases.Result r = Cases.read(text);
    assertThat(Graphs.text(r.drawing())).as(() -> text + r.diagnostics()).isEqualTo(Graphs.text(drawing));
    assertThat(r.diagnostics()).as(text).isEmpty();
    assertThat(LadderPrinter.print(r.drawing())).as("canonical: printing again changes nothing").isEqualTo(text);
  }
}
