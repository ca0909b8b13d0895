package dev.scanloom.report;

import dev.scanloom.diagnostic.SourceText;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Base64;
import java.util.List;
import java.util.Optional;
import java.util.zip.Deflater;
import java.util.zip.DeflaterOutputStream;

/** Everything that the step-through page shows, and its writer. Indices in the records are positions in the lists. */
final class PageModel {
  static final String CAUTION = "Results are for study, not for commissioning or safety functions.";

  /** {@code area}: I or Q for a variable with a terminal, else empty. */
  record Item(String name, String address, String type, String area) {}

  record Step(int source, int line, int column, int endLine, int endColumn, String text, int body, int network, int element) {}

  record Element(int id, String kind, String mark, String title, int row, int column, int width, int height) {}

  /** {@code sources}: elements whose right link feeds this piece; -1 is the left rail; -2 - e: an output of a box, known by what element e makes of it. */
  record Segment(int row, int column, int toRow, int toColumn, List<Integer> sources) {}

  /** {@code down}: pixels to move a text down. */
  record Text(int row, int column, String text, int down) {}

  /** A dot where links join, or an open circle in front of a negated pin, half a column to the right of its column. */
  record Dot(int row, int column, boolean open) {}

  record Network(
      int body, int number, String label, String note, List<Element> elements, List<Segment> segments, List<Text> texts, List<Integer> rails, List<Dot> dots) {}

  /** {@code piecewise}: takes some items at a time, so that it can show several scans at once. */
  record Display(String name, String painting, boolean piecewise) {
    Display(String name, String painting) {
      this(name, painting, false);
    }
  }

  record Run(String name, List<Display> displays, int[] memory, int[] field, EventStore.Log log) {}

  record Table(String caption, List<String> head, List<List<String>> rows) {}

  /** {@code scan} 0: without a place to go to. {@code run} counts from 1. */
  record Node(String text, int scan, int step, int run, List<Node> children) {}

  record Why(String title, List<Node> trees) {}

  final String title;
  final String subtitle;
  final EventStore store;
  final List<SourceText> sources = new ArrayList<>();
  final List<Item> items = new ArrayList<>();
  final List<Step> steps = new ArrayList<>();
  final List<String> bodies = new ArrayList<>();
  final List<Network> networks = new ArrayList<>();
  final List<Run> runs = new ArrayList<>();
  Optional<Table> table = Optional.empty();
  final List<Why> whys = new ArrayList<>();

  PageModel(String title, String subtitle, EventStore store) {
    this.title = title;
    this.subtitle = subtitle;
    this.store = store;
  }

  String html() {
    String page = resource("page.html");
    StringBuilder out = new StringBuilder(page.length() * 8);
    int from = 0;
    for (int at = page.indexOf('@'); at >= 0; at = page.indexOf('@', from)) {
      int end = page.indexOf('@', at + 1);
      out.append(page, from, at);
      switch (page.substring(at + 1, end)) {
        case "TITLE" -> out.append(Markup.escape(title));
        case "SUBTITLE" -> out.append(Markup.escape(subtitle));
        case "CAUTION" -> out.append(Markup.escape(CAUTION));
        case "CSS" -> out.append(resource("page.css"));
        case "JS" -> out.append(resource("page.js"));
        case "DATA" -> packed(out);
        default -> throw new IllegalStateException("page.html: " + page.substring(at, end + 1));
      }
      from = end + 1;
    }
    return out.append(page, from, page.length()).toString();
  }

  /** Beyond this the data go into the page deflated, in base 64: repetition is what a long run is made of. */
  private static final int MOST_PLAIN = 1 << 20;

  private void packed(StringBuilder out) {
    StringBuilder plain = new StringBuilder(1 << 16);
    data(plain);
    if (plain.length() <= MOST_PLAIN) {
      out.append(plain);
      return;
    }
    byte[] bytes = plain.toString().getBytes(StandardCharsets.UTF_8);
    ByteArrayOutputStream deflated = new ByteArrayOutputStream(bytes.length / 6);
    Deflater deflater = new Deflater(Deflater.DEFAULT_COMPRESSION);
    try (DeflaterOutputStream d = new DeflaterOutputStream(deflated, deflater)) {
      d.write(bytes);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } finally {
      deflater.end();
    }
    out.append(Base64.getEncoder().encodeToString(deflated.toByteArray()));
  }

  private static String resource(String name) {
    try (InputStream in = PageModel.class.getResourceAsStream(name)) {
      if (in == null) {
        throw new IllegalStateException("missing resource " + name);
      }
      return new String(in.readAllBytes(), StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private void data(StringBuilder b) {
    b.append("{\"sources\":[");
    each(b, sources, s -> {
      b.append("{\"name\":");
      Markup.json(b, s.name());
      b.append(",\"text\":");
      Markup.json(b, s.text());
      b.append('}');
    });
    b.append("],\n\"items\":[");
    each(b, items, i -> {
      b.append("{\"n\":");
      Markup.json(b, i.name());
      b.append(",\"a\":");
      Markup.json(b, i.address());
      b.append(",\"t\":");
      Markup.json(b, i.type());
      b.append(",\"d\":");
      Markup.json(b, i.area());
      b.append('}');
    });
    b.append("],\n\"steps\":[");
    each(b, steps, s -> {
      b.append('[').append(s.source()).append(',').append(s.line()).append(',').append(s.column()).append(',').append(s.endLine()).append(',')
          .append(s.endColumn()).append(',');
      Markup.json(b, s.text());
      b.append(',').append(s.body()).append(',').append(s.network()).append(',').append(s.element()).append(']');
    });
    b.append("],\n\"bodies\":[");
    each(b, bodies, s -> Markup.json(b, s));
    b.append("],\n\"networks\":[");
    each(b, networks, n -> network(b, n));
    b.append("],\n\"texts\":[");
    each(b, store.texts(), s -> Markup.json(b, s));
    b.append("],\n\"shapes\":[");
    each(b, store.shapes().all(), l -> numbers(b, l));
    b.append("],\n\"values\":[");
    each(b, store.values().all(), l -> numbers(b, l));
    b.append("],\n\"templates\":[");
    each(b, store.templates().all(), l -> numbers(b, l));
    b.append("],\n\"groups\":[");
    each(b, store.groups().all(), l -> numbers(b, l));
    b.append("],\n\"rows\":[");
    each(b, store.rows().all(), l -> numbers(b, l));
    b.append("],\n\"runs\":[");
    each(b, runs, r -> run(b, r));
    b.append("],\n\"table\":");
    if (table.isEmpty()) {
      b.append("null");
    } else {
      Table t = table.get();
      b.append("{\"caption\":");
      Markup.json(b, t.caption());
      b.append(",\"head\":[");
      each(b, t.head(), s -> Markup.json(b, s));
      b.append("],\"rows\":[");
      each(b, t.rows(), r -> {
        b.append('[');
        each(b, r, s -> Markup.json(b, s));
        b.append(']');
      });
      b.append("]}");
    }
    b.append(",\n\"why\":[");
    each(b, whys, w -> {
      b.append("{\"title\":");
      Markup.json(b, w.title());
      b.append(",\"trees\":[");
      each(b, w.trees(), t -> node(b, t));
      b.append("]}");
    });
    b.append("]}");
  }

  private static void network(StringBuilder b, Network n) {
    int top = Integer.MAX_VALUE;
    int bottom = 0;
    int left = Integer.MAX_VALUE;
    int right = 0;
    for (Element e : n.elements()) {
      top = Math.min(top, e.row() - (e.kind().equals("box") ? 0 : 1));
      bottom = Math.max(bottom, e.row() + Math.max(1, e.height()) - 1 + (e.kind().equals("box") ? 0 : 1));
      left = Math.min(left, e.column());
      right = Math.max(right, e.column() + e.width());
    }
    for (Segment s : n.segments()) {
      top = Math.min(top, s.row());
      bottom = Math.max(bottom, s.toRow());
      left = Math.min(left, s.column());
      right = Math.max(right, s.toColumn());
    }
    for (Text t : n.texts()) {
      top = Math.min(top, t.row());
      bottom = Math.max(bottom, t.row());
      left = Math.min(left, t.column());
      right = Math.max(right, t.column() + t.text().codePointCount(0, t.text().length()));
    }
    if (top == Integer.MAX_VALUE) {
      top = 1;
      left = 1;
    }
    b.append("{\"b\":").append(n.body()).append(",\"n\":").append(n.number()).append(",\"label\":");
    Markup.json(b, n.label());
    b.append(",\"note\":");
    Markup.json(b, n.note());
    b.append(",\"r0\":").append(top).append(",\"c0\":").append(left).append(",\"rows\":").append(bottom - top + 1).append(",\"cols\":")
        .append(right - left + 1).append(",\"rails\":[");
    each(b, n.rails(), r -> b.append('[').append(r).append(']'));
    b.append("],\"els\":[");
    each(b, n.elements(), e -> {
      b.append("{\"e\":").append(e.id()).append(",\"k\":");
      Markup.json(b, e.kind());
      b.append(",\"m\":");
      Markup.json(b, e.mark());
      b.append(",\"t\":");
      Markup.json(b, e.title());
      b.append(",\"r\":").append(e.row()).append(",\"c\":").append(e.column()).append(",\"w\":").append(e.width()).append(",\"h\":").append(e.height())
          .append('}');
    });
    b.append("],\"segs\":[");
    each(b, n.segments(), s -> {
      b.append('[').append(s.row()).append(',').append(s.column()).append(',').append(s.toRow()).append(',').append(s.toColumn()).append(",[");
      each(b, s.sources(), x -> b.append(x));
      b.append("]]");
    });
    b.append("],\"texts\":[");
    each(b, n.texts(), t -> {
      b.append('[').append(t.row()).append(',').append(t.column()).append(',');
      Markup.json(b, t.text());
      b.append(',').append(t.text().codePointCount(0, t.text().length())).append(',').append(t.down()).append(']');
    });
    b.append("],\"dots\":[");
    each(b, n.dots(), d -> b.append('[').append(d.row()).append(',').append(d.column()).append(',').append(d.open() ? 1 : 0).append(']'));
    b.append("]}\n");
  }

  private static void run(StringBuilder b, Run r) {
    b.append("{\"name\":");
    Markup.json(b, r.name());
    b.append(",\"displays\":[");
    each(b, r.displays(), d -> {
      b.append("{\"n\":");
      Markup.json(b, d.name());
      b.append(",\"p\":");
      Markup.json(b, d.painting());
      b.append(",\"c\":").append(d.piecewise() ? 1 : 0);
      b.append('}');
    });
    b.append("],\"mem\":[");
    ints(b, r.memory());
    b.append("],\"fld\":[");
    ints(b, r.field());
    b.append("],\"scans\":[");
    for (int i = 0; i < r.log().count(); i++) {
      b.append(i == 0 ? "[" : ",[").append(r.log().start(i)).append(',').append(r.log().row(i)).append(']');
    }
    b.append("]}\n");
  }

  private static void node(StringBuilder b, Node n) {
    b.append("{\"t\":");
    Markup.json(b, n.text());
    b.append(",\"s\":").append(n.scan()).append(",\"k\":").append(n.step()).append(",\"r\":").append(n.run()).append(",\"c\":[");
    each(b, n.children(), c -> node(b, c));
    b.append("]}");
  }

  private static void ints(StringBuilder b, int[] all) {
    for (int i = 0; i < all.length; i++) {
      b.append(i == 0 ? "" : ",").append(all[i]);
    }
  }

  private static void numbers(StringBuilder b, long[] all) {
    b.append('[');
    for (int i = 0; i < all.length; i++) {
      b.append(i == 0 ? "" : ",").append(all[i]);
    }
    b.append(']');
  }

  private interface Writer<T> {
    void write(T t);
  }

  private static <T> void each(StringBuilder b, List<T> all, Writer<T> w) {
    for (int i = 0; i < all.size(); i++) {
      if (i > 0) {
        b.append(',');
      }
      w.write(all.get(i));
    }
  }
}
