package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** Wrong drawings: one cause, one diagnostic, at the character that the case file names. */
class LadderReaderWrongTest {
  static List<Cases.Case> cases() {
    return Cases.in("wrong");
  }

  @ParameterizedTest
  @MethodSource("cases")
  void saysWhatIsWrongAndWhere(Cases.Case c) {
    Cases.Result r = Cases.read(c.drawing());
    assertThat(r.places()).as(r.diagnostics().toString()).isEqualTo(c.all("expect"));
    for (String expected : c.all("checker")) {
      String place = expected.substring(0, expected.indexOf(' '));
      assertThat(places(r.drawing())).as("the graph has a span for the checker's diagnostic").contains(place);
    }
    List<String> graph = c.all("graph");
    if (!graph.isEmpty()) {
      assertThat(Graphs.text(r.drawing()).strip().lines().map(String::strip).toList()).isEqualTo(graph);
    }
  }

  @Test
  void everyCaseExpectsSomething() {
    assertThat(cases()).hasSizeGreaterThanOrEqualTo(29);
    for (Cases.Case c : cases()) {
      assertThat(c.all("expect").size() + c.all("checker").size()).as(c.name()).isPositive();
    }
  }

  /** Starts of all spans of operands, types, boxes and pins. */
  private static List<String> places(Drawing d) {
    List<Span> spans = new ArrayList<>();
    for (Drawing.Network n : d.networks()) {
      for (Drawing.Element e : n.elements()) {
        spans.add(e.place().span());
        if (e instanceof Drawing.Contact c) {
          spans.add(c.operand().span());
        } else if (e instanceof Drawing.Coil c) {
          spans.add(c.operand().span());
        } else if (e instanceof Drawing.Box b) {
          b.inputs().forEach(p -> {
            spans.add(p.span());
            p.name().ifPresent(x -> spans.add(x.span()));
          });
          b.outputs().forEach(p -> spans.add(p.span()));
        }
      }
    }
    return spans.stream().map(s -> s.line() + ":" + s.column()).toList();
  }
}
