package dev.scanloom.report;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.report.PageModel.Display;
import dev.scanloom.report.PageModel.Element;
import dev.scanloom.report.PageModel.Item;
import dev.scanloom.report.PageModel.Network;
import dev.scanloom.report.PageModel.Node;
import dev.scanloom.report.PageModel.Run;
import dev.scanloom.report.PageModel.Segment;
import dev.scanloom.report.PageModel.Step;
import dev.scanloom.report.PageModel.Text;
import dev.scanloom.report.PageModel.Why;
import java.util.List;

/** A page of three rungs written down by hand, independent of any engine: door contact, key coil on the door's bit, door contact again. */
final class SamplePage {
  private SamplePage() {}

  static final String TEXT = """
      PROGRAM Main
      |  %IX0.0     %QX0.0 |
      +---| |--------( )---+
      |  %IX0.1     %IX0.0 |
      +---| |--------( )---+
      |  %IX0.0     %QX0.1 |
      +---| |--------( )---+
      END_PROGRAM
      """;

  static PageModel model(String title, int scans) {
    EventStore store = new EventStore();
    PageModel m = new PageModel(title, "main.st; 2 runs", store);
    m.sources.add(SourceText.of("main.st", TEXT));
    m.bodies.add("Main");
    m.items.add(new Item("%IX0.0", "%IX0.0", "BOOL", "I"));
    m.items.add(new Item("%IX0.1", "%IX0.1", "BOOL", "I"));
    m.items.add(new Item("%QX0.0", "%QX0.0", "BOOL", "Q"));
    m.items.add(new Item("%QX0.1", "%QX0.1", "BOOL", "Q"));
    String[][] titles = {{"%IX0.0", "%QX0.0"}, {"%IX0.1", "%IX0.0"}, {"%IX0.0", "%QX0.1"}};
    for (int n = 0; n < 3; n++) {
      int row = 2 + 2 * n;
      int e = 2 * n;
      m.steps.add(new Step(0, row + 1, 5, row + 1, 8, "contact", 0, n + 1, e));
      m.steps.add(new Step(0, row + 1, 16, row + 1, 19, "coil", 0, n + 1, e + 1));
      m.networks.add(new Network(0, n + 1, "", n == 1 ? "service key" : "",
          List.of(new Element(e, "contact", " ", titles[n][0], row, 5, 3, 1), new Element(e + 1, "coil", " ", titles[n][1], row, 16, 3, 1)),
          List.of(new Segment(row, 1, row, 4, List.of(-1)), new Segment(row, 8, row, 15, List.of(e)), new Segment(row, 19, row, 22, List.of(e + 1))),
          List.of(new Text(row - 1, 4, titles[n][0], 0), new Text(row - 1, 14, titles[n][1], 0)), List.of(1, 22),
          List.of()));
    }
    int no = store.text("FALSE");
    int yes = store.text("TRUE");
    for (int r = 0; r < 2; r++) {
      EventStore.Log log = new EventStore.Log(store);
      for (int s = 0; s < scans; s++) {
        long t = s * 10_000_000L;
        log.begin(t);
        if (s == 0) {
          log.event0(EventStore.FIELD, t, 1, 0, yes);
        }
        log.event0(EventStore.PHASE, t, 1, 0, 0);
        log.write(t, 1, -1, 0, 1, yes);
        log.event2(EventStore.SAMPLE, t + 50_000, 2, 0, 0, yes);
        for (int e : new int[] {0, 4}) {
          log.event2(EventStore.PAINT, t + 50_000, 2, 0, e, 1);
        }
        log.event0(EventStore.PHASE, t + 50_000, 3, 1, 0);
        boolean second = r == 1;
        for (int n = 0; n < 3; n++) {
          boolean on = n == 0 || n == 2 && second;
          if (n == 2 && second) {
            log.write(t + 50_000 + n * 300, 10 + n, 4, 0, 1, yes);
          }
          int item = n == 1 ? 1 : 0;
          log.event2(EventStore.READ, t + 50_000 + n * 300, 10 + n, 2 * n, item, on ? yes : no);
          log.event2(EventStore.ELEMENT, t + 50_100 + n * 300, 10 + n, 2 * n, 2 * n, on ? 3 : 0);
          log.event2(EventStore.ELEMENT, t + 50_200 + n * 300, 10 + n, 2 * n + 1, 2 * n + 1, on ? 3 : 0);
          log.write(t + 50_200 + n * 300, 10 + n, 2 * n + 1, n == 1 ? 0 : n == 0 ? 2 : 3, 0, on ? yes : no);
        }
        log.event2(EventStore.SAMPLE, t + 51_000, 4, 1, 0, second ? yes : no);
        log.event2(EventStore.PAINT, t + 51_000, 4, 1, 0, second ? 1 : 0);
        log.event2(EventStore.PAINT, t + 51_000, 4, 1, 4, second ? 1 : 0);
        log.event0(EventStore.PHASE, t + 51_000, 5, 2, 0);
        if (s == 0) {
          log.event0(EventStore.FIELD, t + 51_000, 5, 2, yes);
          if (second) {
            log.event0(EventStore.FIELD, t + 51_000, 5, 3, yes);
          }
        }
        log.event0(EventStore.PHASE, t + 101_000, 6, 3, 0);
        log.end();
      }
      m.runs.add(new Run(r == 0 ? "image" : "immediate inputs", List.of(new Display("scan start", "from sample"), new Display("scan end", "from sample")),
          new int[] {no, no, no, no}, new int[] {no, no, no, no}, log));
    }
    m.whys.add(new Why("%QX0.1 is FALSE under image, TRUE under immediate inputs",
        List.of(new Node("network 3 wrote FALSE", 1, 9, 1, List.of(new Node("contact %IX0.0 read 0", 1, 8, 1, List.of()))))));
    return m;
  }
}
