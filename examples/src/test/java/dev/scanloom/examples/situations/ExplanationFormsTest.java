package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.EVERY_10_MS;
import static org.assertj.core.api.Assertions.assertThat;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.explain.Provenance;
import java.io.IOException;
import java.io.StringReader;
import java.util.ArrayList;
import java.util.List;
import javax.xml.parsers.DocumentBuilderFactory;
import org.junit.jupiter.api.Test;
import org.xml.sax.InputSource;

/** The forms of an explanation, read back by tools from outside: Jackson's parser, the JDK's XML parser. */
class ExplanationFormsTest {

  private static List<Explanation> some() {
    List<Explanation> all = new ArrayList<>();
    all.add(Situation.of("S15", "clock.st").inputs("inputs.csv").run(EVERY_10_MS, 6).why("Second.Q", 6));
    all.add(Situation.of("S01", "kiln.st").inputs("inputs.csv").run(EVERY_10_MS, 2).whyField("GasPermit", 2));
    all.add(Situation.of("S12", "fan.st").inputs("inputs.csv").run(EVERY_10_MS, 3).why("Fan", 3));
    return all;
  }

  @Test
  void jsonHoldsEveryFact() throws IOException {
    for (Explanation e : some()) {
      List<String> words = new ArrayList<>();
      List<Integer> reasons = new ArrayList<>();
      try (JsonParser p = new JsonFactory().createParser(e.json())) {
        String name = "";
        while (p.nextToken() != null) {
          name = p.currentToken() == JsonToken.FIELD_NAME ? p.currentName() : name;
          if (p.currentToken() == JsonToken.VALUE_STRING && name.equals("words")) {
            words.add(p.getText());
          } else if (p.currentToken() == JsonToken.VALUE_NUMBER_INT && name.equals("because")) {
            reasons.add(p.getIntValue());
          }
        }
      }
      assertThat(words).isEqualTo(e.facts().stream().map(Fact::words).toList());
      assertThat(reasons).isEqualTo(e.facts().stream().flatMap(f -> f.because().stream()).map(Fact::id).toList());
    }
  }

  @Test
  void htmlIsWellFormedAndItsLinksLeadSomewhere() throws Exception {
    for (Explanation e : some()) {
      var document = DocumentBuilderFactory.newInstance().newDocumentBuilder().parse(new InputSource(new StringReader(e.html("x-"))));
      List<String> ids = new ArrayList<>();
      var items = document.getElementsByTagName("li");
      for (int i = 0; i < items.getLength(); i++) {
        var id = items.item(i).getAttributes().getNamedItem("id");
        if (id != null) {
          ids.add("#" + id.getNodeValue());
        }
      }
      assertThat(ids).doesNotHaveDuplicates().contains("#x-fact-1");
      var links = document.getElementsByTagName("a");
      for (int i = 0; i < links.getLength(); i++) {
        assertThat(ids).contains(links.item(i).getAttributes().getNamedItem("href").getNodeValue());
      }
    }
  }

  @Test
  void aTimerIsToldByWhatCameFromOutsideUnlessAskedInFull() {
    Explanation e = some().get(0);
    assertThat(e.text()).contains("TON wrote TRUE to Second.Q").doesNotContain("elapsed");
    assertThat(e.text(Integer.MAX_VALUE, true)).contains("TON wrote T#20ms to Second.start");
    // the value, the write of scan 5, and that scan 6 did not write
    assertThat(e.text(2, false).lines().count()).isEqualTo(3);
  }

  /** 100,000 scans of a program that counts itself: the recorder forgets, so that memory does not grow. */
  @Test
  void aLongRunDoesNotGrow() {
    Situation.Run r = Situation.of("S26", "totals.st").run(EVERY_10_MS, 0);
    Provenance cheap = Provenance.of(r.controller, 0);
    r.controller.scan(2_000);
    long used = used();
    r.controller.scan(100_000);
    assertThat(used() - used).as("bytes more after 100,000 scans").isLessThan(20_000_000);
    Explanation e = cheap.why(r.controller.variable("Total"));
    assertThat(e.facts(Fact.Kind.OLDER)).isNotEmpty();
    assertThat(e.facts().size()).isLessThan(20);
    assertThat(e.value()).isEqualTo(r.controller.memory().text(r.controller.variable("Total")));
  }

  private static long used() {
    System.gc();
    return Runtime.getRuntime().totalMemory() - Runtime.getRuntime().freeMemory();
  }
}
