package dev.scanloom.benchmarks;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.within;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import dev.scanloom.policy.Execution;
import java.io.ByteArrayInputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import javax.xml.parsers.DocumentBuilderFactory;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.w3c.dom.Document;
import org.w3c.dom.Element;
import org.w3c.dom.NodeList;

/** The page, the picture and the JSON, from made-up figures. */
class ResultsTest {
  @TempDir Path folder;

  private static Results results() {
    Results r = new Results();
    for (Workload w : Workload.values()) {
      for (Engine e : Engine.values()) {
        r.scans.add(new Figures.Scan(w, e.name(), 20.0 * (e.ordinal() + 1), 8, e.ordinal() == 0 ? "a remark" : ""));
      }
    }
    for (Load.Loader l : Load.Loader.values()) {
      r.load.add(new Load.Row(l, 10_000, 40_039, 583_238, 400, 300, 50, 40, 1_000_000));
    }
    r.instances.add(new Instances.Row(1_000, Execution.STEPPING, 100, 400_000, 22_600, 4.5));
    r.starts.add(new Start.Row("as it is", 20, 300, 350));
    return r;
  }

  @Test
  void theChartHasABarForEveryEngineOfEveryWorkload() throws Exception {
    Document svg = DocumentBuilderFactory.newInstance().newDocumentBuilder()
        .parse(new ByteArrayInputStream(Chart.of(results().scans).getBytes(StandardCharsets.UTF_8)));
    List<Double> widths = new ArrayList<>();
    NodeList bars = svg.getElementsByTagName("rect");
    for (int i = 0; i < bars.getLength(); i++) {
      widths.add(Double.parseDouble(((Element) bars.item(i)).getAttribute("width")));
    }
    int engines = Engine.values().length;
    assertThat(widths).hasSize(Workload.values().length * engines);
    assertThat(widths.subList(0, engines)).as("the figures grow from engine to engine").isSorted();
    // By definition of a logarithmic scale: from 40 to 80 is as far as from 20 to 40.
    assertThat(widths.get(3) - widths.get(1)).isCloseTo(widths.get(1) - widths.get(0), within(0.5));
  }

  @Test
  void thePageHasEveryTableAndTheMachine() throws Exception {
    Path page = folder.resolve("RESULTS.md");
    results().writePage(page, "results.svg");
    String text = Files.readString(page);
    assertThat(text).contains("](results.svg)", "- jvm: ", "- versions: ", "a remark", "| 1000 | STEPPING | 100 | 400000 | 22600 | 16000 | 6600 | 4.5 |",
        "| as it is | 300 | 350 |");
    for (Engine e : Engine.values()) {
      assertThat(text).contains("| PID | " + e + " | ");
    }
    for (Load.Loader l : Load.Loader.values()) {
      assertThat(text).contains("| 10000 | 40039 | " + l + " | ");
    }
  }

  @Test
  void theJsonHasEveryFigure() throws Exception {
    Path file = folder.resolve("results.json");
    results().writeJson(file);
    int figures = 0;
    try (JsonParser p = new JsonFactory().createParser(file.toFile())) {
      for (JsonToken t = p.nextToken(); t != null; t = p.nextToken()) {
        figures += t == JsonToken.FIELD_NAME && List.of("ns", "firstMs", "programBytes", "bestMs").contains(p.currentName()) ? 1 : 0;
      }
    }
    assertThat(figures).isEqualTo(Workload.values().length * Engine.values().length + Load.Loader.values().length + 2);
  }

  /** Powers by their definition: times of n, of n to the power 1.5, of n squared. */
  @ParameterizedTest
  @ValueSource(doubles = {1, 1.5, 2})
  void theExponentOfGrowthIsThatOfThePower(double power) {
    List<Load.Row> rows = new ArrayList<>();
    for (int n : new int[] {1_000, 10_000, 100_000}) {
      rows.add(new Load.Row(Load.Loader.ST, n, n, n, 1, 1, 1, 3 * Math.pow(n, power), 1));
      rows.add(new Load.Row(Load.Loader.LADDER, n, n, n, 1, 1, 1, 7, 1));
    }
    assertThat(Load.exponent(rows, Load.Loader.ST)).isCloseTo(power, within(1e-9));
    assertThat(Load.exponent(rows, Load.Loader.LADDER)).isCloseTo(0, within(1e-9));
  }
}
