package dev.scanloom.examples.situations;

import static dev.scanloom.examples.situations.Situation.EVERY_10_MS;
import static org.assertj.core.api.Assertions.assertThat;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.explain.Provenance;
import java.io.IOException;
import java.io.StringReader;
import java.io.StringWriter;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
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

  /** Read by Jackson, written by Jackson, read again: the same; and every member of every fact is the fact's own. */
  @Test
  void jsonGoesThroughJacksonAndBack() throws IOException {
    for (Explanation e : some()) {
      Map<String, Object> tree = read(e.json());
      StringWriter again = new StringWriter();
      try (JsonGenerator g = new JsonFactory().createGenerator(again)) {
        write(g, tree);
      }
      assertThat(read(again.toString())).isEqualTo(tree);
      assertThat(tree).containsEntry("subject", e.subject()).containsEntry("value", e.value());
      List<?> facts = (List<?>) tree.get("facts");
      assertThat(facts).hasSameSizeAs(e.facts());
      for (int i = 0; i < facts.size(); i++) {
        Fact f = e.facts().get(i);
        Map<String, Object> expected = new LinkedHashMap<>();
        expected.put("id", (long) f.id());
        expected.put("kind", f.kind().name());
        expected.put("subject", f.subject());
        expected.put("value", f.value());
        expected.put("bits", Long.toString(f.bits()));
        expected.put("scan", f.scan());
        expected.put("ordinal", f.ordinal());
        expected.put("time", Long.toString(f.time()));
        expected.put("step", (long) f.step());
        f.span().ifPresent(s -> {
          expected.put("file", s.source().name());
          expected.put("line", (long) s.line());
          expected.put("column", (long) s.column());
        });
        if (!f.body().isEmpty()) {
          expected.put("body", f.body());
        }
        if (f.network() > 0) {
          expected.put("network", (long) f.network());
        }
        if (f.element() >= 0) {
          expected.put("element", (long) f.element());
        }
        expected.put("words", f.words());
        expected.put("because", f.because().stream().map(x -> (Object) (long) x.id()).toList());
        assertThat(facts.get(i)).isEqualTo(expected);
      }
    }
  }

  @SuppressWarnings("unchecked")
  private static Map<String, Object> read(String json) throws IOException {
    try (JsonParser p = new JsonFactory().createParser(json)) {
      p.nextToken();
      Object tree = value(p);
      assertThat(p.nextToken()).as("behind the object").isNull();
      return (Map<String, Object>) tree;
    }
  }

  private static Object value(JsonParser p) throws IOException {
    switch (p.currentToken()) {
      case START_OBJECT -> {
        Map<String, Object> all = new LinkedHashMap<>();
        while (p.nextToken() != JsonToken.END_OBJECT) {
          String name = p.currentName();
          p.nextToken();
          assertThat(all.put(name, value(p))).as("key twice: " + name).isNull();
        }
        return all;
      }
      case START_ARRAY -> {
        List<Object> all = new ArrayList<>();
        while (p.nextToken() != JsonToken.END_ARRAY) {
          all.add(value(p));
        }
        return all;
      }
      case VALUE_STRING -> {
        return p.getText();
      }
      case VALUE_NUMBER_INT -> {
        return p.getLongValue();
      }
      default -> throw new AssertionError(p.currentToken().toString());
    }
  }

  private static void write(JsonGenerator g, Object v) throws IOException {
    if (v instanceof Map<?, ?> m) {
      g.writeStartObject();
      for (Map.Entry<?, ?> e : m.entrySet()) {
        g.writeFieldName((String) e.getKey());
        write(g, e.getValue());
      }
      g.writeEndObject();
    } else if (v instanceof List<?> l) {
      g.writeStartArray();
      for (Object x : l) {
        write(g, x);
      }
      g.writeEndArray();
    } else if (v instanceof Long n) {
      g.writeNumber(n);
    } else {
      g.writeString((String) v);
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
