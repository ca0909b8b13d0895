package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.report.Pictures;
import dev.scanloom.report.Recordings;
import java.io.StringReader;
import java.time.Duration;
import java.util.List;
import javax.xml.parsers.DocumentBuilderFactory;
import org.junit.jupiter.api.Test;
import org.w3c.dom.Document;
import org.w3c.dom.Element;
import org.w3c.dom.NodeList;
import org.xml.sax.InputSource;

class PicturesTest {
  private static final String TEXT = """
      PROGRAM Mill
      VAR Gate AT %IX0.0 : BOOL; Belt AT %QX0.0 : BOOL; n : INT; END_VAR
      |   Gate      Belt    Gate    |
      +---| |-------|/|-----( )-----+
      |   Gate              Belt    |
      +---|/|---------------( )-----+
      END_PROGRAM
      """;

  private static Recordings record(int scans) {
    CompiledProgram p = Compiler.standard().compile("mill.st", TEXT).orThrow();
    Recordings all = new Recordings(p);
    Controller c = p.newController(ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.standard())
        .withDisplay("screen", DisplaySampling.scanStart(), Painting.fromSample()));
    Recordings.Run run = all.record("image <&>", c);
    c.field().set(c.bool("Gate"), true);
    c.scan(scans);
    run.close();
    return all;
  }

  private static Document xml(String svg) throws Exception {
    DocumentBuilderFactory f = DocumentBuilderFactory.newInstance();
    f.setFeature("http://apache.org/xml/features/disallow-doctype-decl", true);
    return f.newDocumentBuilder().parse(new InputSource(new StringReader(svg)));
  }

  private static long texts(Document d, String text) {
    NodeList all = d.getElementsByTagName("text");
    long n = 0;
    for (int i = 0; i < all.getLength(); i++) {
      n += all.item(i).getTextContent().equals(text) ? 1 : 0;
    }
    return n;
  }

  /** Hand-derived: Gate is 1 in memory from each refresh to the coil of network 1 (Gate AND NOT Belt = 1), so that it stays; Belt := NOT Gate = 0. */
  @Test
  void timingShowsPlacesAndMarks() throws Exception {
    Recordings all = record(3);
    Document d = xml(Pictures.timing(all, all.runs().get(0), List.of("Gate", "Belt", "n"), 1, 3, Pictures.Axis.ORDER));
    for (String lane : new String[] {"Gate  field", "Gate  memory", "Gate  screen", "Belt  field", "Belt  memory", "n  memory", "scan 1", "scan 3"}) {
      assertThat(texts(d, lane)).as(lane).isEqualTo(1);
    }
    assertThat(texts(d, "n  field")).isZero();
    NodeList paths = d.getElementsByTagName("path");
    long refreshes = 0;
    for (int i = 0; i < paths.getLength(); i++) {
      refreshes += ((Element) paths.item(i)).getTextContent().equals("input refresh") ? 1 : 0;
    }
    assertThat(refreshes).isEqualTo(3);
    assertThat(d.getElementsByTagName("title").item(0).getTextContent()).isEqualTo("Timing diagram: image <&>, scans 1 to 3");
  }

  @Test
  void timingRefusesWhatIsNotThere() {
    Recordings all = record(3);
    Recordings.Run run = all.runs().get(0);
    assertThatThrownBy(() -> Pictures.timing(all, run, List.of("Gate"), 4, 9, Pictures.Axis.TIME)).hasMessage("scans 4 to 9 of 3");
    assertThatThrownBy(() -> Pictures.timing(all, run, List.of("Gaate"), 1, 2, Pictures.Axis.TIME)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("Gate");
    assertThatThrownBy(() -> Pictures.ladder(all, run, 1, "other")).hasMessage("no display other");
    assertThatThrownBy(() -> Pictures.ladder(all, run, 0, "screen")).hasMessage("scan 0 of 3");
  }

  /** By hand: executed Gate 1, NOT Belt 1, coil 1; NOT Gate 0, coil 0. */
  @Test
  void ladderShowsExecutedAndPainted() throws Exception {
    Recordings all = record(2);
    Document d = xml(Pictures.ladder(all, all.runs().get(0), 2, "screen"));
    assertThat(texts(d, "executed")).isEqualTo(1);
    assertThat(texts(d, "painted by screen")).isEqualTo(1);
    assertThat(texts(d, "Network 1")).isEqualTo(1);
    // three elements conduct in each picture, two do not
    assertThat(texts(d, "1")).isEqualTo(6);
    assertThat(texts(d, "0")).isEqualTo(4);
    assertThat(texts(d, "\u2260")).isZero();
  }
}
