package dev.scanloom.report;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.IdentityHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * The step-through page: one HTML file that needs nothing else, not even a network. Shows recorded runs step by step: field, memory and displays side by
 * side, the ladder as executed and as painted, the source with the current step.
 *
 * <p>Confined to one thread; {@link #html()} may be asked several times.
 */
public final class Page {
  private final Recordings recordings;
  private final String title;
  private final String subtitle;
  private Optional<Tables> table = Optional.empty();
  private final List<Why> whys = new ArrayList<>();

  /**
   * A tree of reasons under a title, shown below the panes.
   *
   * @param trees the facts, each with what it rests on
   */
  public record Why(String title, List<Reason> trees) {
    /** Copies the list. */
    public Why {
      trees = List.copyOf(trees);
    }
  }

  /**
   * One fact in a tree.
   *
   * @param run index of the run it belongs to, from 0; -1 without a place to go to
   * @param scan scan from 1, 0 without a place to go to
   * @param step number of the step in the program, or -1
   */
  public record Reason(String text, int run, long scan, int step, List<Reason> children) {
    /** Copies the list. */
    public Reason {
      children = List.copyOf(children);
    }
  }

  /** A page over recorded runs; at least one run is needed. */
  public Page(Recordings recordings, String title, String subtitle) {
    if (recordings.runs().isEmpty()) {
      throw new IllegalArgumentException("a page needs at least one run");
    }
    this.recordings = recordings;
    this.title = title;
    this.subtitle = subtitle;
  }

  /** Shows this table on the page. */
  public Page with(Tables comparison) {
    table = Optional.of(comparison);
    return this;
  }

  /** Adds a tree of reasons. */
  public Page with(Why why) {
    whys.add(why);
    return this;
  }

  /** The file's text, to be written as UTF-8. */
  public String html() {
    return model().html();
  }

  PageModel model() {
    PageModel m = new PageModel(title, subtitle, recordings.store);
    Map<SourceText, Integer> sourceIndex = new IdentityHashMap<>();
    for (SourceText s : recordings.sources()) {
      sourceIndex.put(s, m.sources.size());
      m.sources.add(s);
    }
    for (var v : recordings.items) {
      String area = v.area() == 'I' ? "I" : v.area() == 'Q' ? "Q" : "";
      m.items.add(new PageModel.Item(v.path(), v.location(), v.typeName(), area));
    }
    for (StepInfo s : recordings.steps) {
      m.steps.add(step(s, sourceIndex));
    }
    m.bodies.addAll(recordings.bodies());
    for (Pou pou : recordings.program().pous()) {
      if (pou.library()) {
        continue;
      }
      int body = m.bodies.indexOf(pou.name());
      for (Network n : pou.networks()) {
        m.networks.add(network(body, n));
      }
    }
    for (Recordings.Run r : recordings.runs()) {
      r.close();
      List<PageModel.Display> displays = new ArrayList<>();
      for (ScanPolicy.Display d : r.policy().displays()) {
        displays.add(new PageModel.Display(d.name(), d.painting().needsSample() ? "painted from its sample" : "painted from execution", Recordings.isPiecewise(d)));
      }
      m.runs.add(new PageModel.Run(r.name(), displays, r.firstMemory(), r.firstField(), r.log));
    }
    table.ifPresent(t -> m.table = Optional.of(new PageModel.Table(t.caption(), t.head(), t.rows())));
    for (Why w : whys) {
      m.whys.add(new PageModel.Why(w.title(), w.trees().stream().map(this::node).toList()));
    }
    return m;
  }

  private PageModel.Node node(Reason r) {
    int moment = r.run() >= 0 && r.scan() > 0 ? Moments.find(recordings, recordings.runs().get(r.run()), (int) r.scan() - 1, r.step()) : -1;
    return new PageModel.Node(r.text(), moment < 0 ? 0 : (int) r.scan(), moment + 1, r.run() + 1, r.children().stream().map(this::node).toList());
  }

  private PageModel.Step step(StepInfo s, Map<SourceText, Integer> sourceIndex) {
    Span span = s.span();
    SourceText t = span.source();
    int source = sourceIndex.getOrDefault(t, -1);
    return new PageModel.Step(source, span.line(), span.column(), t.lineOf(span.end()), t.columnOf(span.end()), s.text(), recordings.bodyOf(s),
        s.network(), s.element());
  }

  private static PageModel.Network network(int body, Network n) {
    List<PageModel.Element> elements = new ArrayList<>();
    List<PageModel.Text> texts = new ArrayList<>();
    List<PageModel.Segment> segments = new ArrayList<>();
    List<PageModel.Dot> dots = new ArrayList<>();
    connectors(n, texts);
    for (Element e : n.elements()) {
      if (e.id() < 0) {
        continue;
      }
      elements.add(new PageModel.Element(e.id(), Recordings.kind(e), mark(e), e.title(), e.row(), e.column(),
          Math.max(1, e.width()), Math.max(1, e.height())));
      int length = e.title().codePointCount(0, e.title().length());
      switch (e.kind()) {
        case CONTACT, COIL, COMPARE -> texts.add(new PageModel.Text(e.row() - 1, e.column() + e.width() / 2 - length / 2, e.title(), 2));
        case BOX -> {
          box(texts, e);
          for (Element.Pin p : e.pins()) {
            int edge = p.output() ? e.column() + e.width() - 1 : e.column();
            if (p.negated()) {
              dots.add(new PageModel.Dot(p.row(), p.output() ? edge : edge - 1, true));
            }
            if (!p.value().isEmpty()) {
              segments.add(new PageModel.Segment(p.row(), p.output() ? edge : edge - 2, p.row(), p.output() ? edge + 2 : edge, List.of()));
            }
          }
        }
        case JUMP, RETURN -> {
        }
      }
    }
    Set<Integer> rails = new LinkedHashSet<>();
    int right = 0;
    for (Network.Segment s : n.segments()) {
      List<Integer> sources = sources(n, s);
      int from = s.column();
      int to = s.toColumn();
      for (Element e : n.elements()) {
        // the border of a box is where its links end
        if (e.kind() == Element.Kind.BOX && s.row() == s.toRow() && s.row() >= e.row() && s.row() < e.row() + e.height()) {
          to = to == e.column() - 1 ? e.column() : to;
          from = from == e.column() + e.width() ? from - 1 : from;
          // the circle of a negated pin stands between them
          boolean circleLeft = e.pins().stream().anyMatch(p -> p.negated() && !p.output() && p.row() == s.row());
          boolean circleRight = e.pins().stream().anyMatch(p -> p.negated() && p.output() && p.row() == s.row());
          to = circleLeft && to == e.column() - 2 ? to + 1 : to;
          from = circleRight && from == e.column() + e.width() + 1 ? from - 1 : from;
        }
      }
      segments.add(new PageModel.Segment(s.row(), from, s.toRow(), to, sources));
      if (s.row() == s.toRow() && sources.equals(List.of(-1)) && rails.isEmpty()) {
        rails.add(s.column());
      }
      right = Math.max(right, s.toColumn());
    }
    for (PageModel.Segment s : segments) {
      // what leaves a coil and reaches as far as anything does reaches the right rail
      if (s.row() == s.toRow() && s.toColumn() == right && elements.stream().anyMatch(e -> e.kind().equals("coil") && s.sources().contains(e.id()))) {
        rails.add(right);
      }
    }
    joints(segments, rails, dots);
    return new PageModel.Network(body, n.number(), n.label(), n.comment().strip(), elements, segments, texts, List.copyOf(rails), dots);
  }

  /** Comparisons by their sign, as engineers draw them. */
  private static String mark(Element e) {
    if (e.kind() == Element.Kind.RETURN) {
      return "";
    }
    return switch (e.kind() == Element.Kind.COMPARE ? e.mark().strip() : "") {
      case "GT" -> ">";
      case "GE" -> ">=";
      case "EQ" -> "=";
      case "NE" -> "<>";
      case "LE" -> "<=";
      case "LT" -> "<";
      default -> e.mark();
    };
  }

  /** Dots where three or more links meet; links that merely cross have none. */
  private static void joints(List<PageModel.Segment> segments, Set<Integer> rails, List<PageModel.Dot> dots) {
    Set<PageModel.Dot> ends = new LinkedHashSet<>();
    for (PageModel.Segment s : segments) {
      ends.add(new PageModel.Dot(s.row(), s.column(), false));
      ends.add(new PageModel.Dot(s.toRow(), s.toColumn(), false));
    }
    for (PageModel.Dot d : ends) {
      boolean left = false;
      boolean right = false;
      boolean up = false;
      boolean down = false;
      for (PageModel.Segment s : segments) {
        if (s.row() <= d.row() && d.row() <= s.toRow() && s.column() <= d.column() && d.column() <= s.toColumn()) {
          left |= s.column() < d.column();
          right |= s.toColumn() > d.column();
          up |= s.row() < d.row();
          down |= s.toRow() > d.row();
        }
      }
      if ((left ? 1 : 0) + (right ? 1 : 0) + (up ? 1 : 0) + (down ? 1 : 0) > 2 && !rails.contains(d.column())) {
        dots.add(d);
      }
    }
  }

  private static final Pattern CONNECTOR = Pattern.compile("(?<![>|])>([\\p{L}_][\\p{L}\\p{N}_]*)>");

  /** Names of connectors are not elements; they stand in the drawing. */
  private static void connectors(Network n, List<PageModel.Text> texts) {
    if (n.elements().isEmpty()) {
      return;
    }
    Element e = n.elements().get(0);
    int line = n.span().line();
    for (String text : n.span().text().split("\n", -1)) {
      Matcher m = CONNECTOR.matcher(text);
      while (m.find()) {
        // the first line of the network's text may begin in the middle of a line of the source
        int column = text.codePointCount(0, m.start()) + 1 + (line == n.span().line() ? n.span().column() - 1 : 0);
        texts.add(new PageModel.Text(line + e.row() - e.span().line(), column + e.column() - e.span().column(), m.group(), 0));
      }
      line++;
    }
  }

  /** Power of a box's output pin is not told by an event; the element that it feeds knows it. */
  private static List<Integer> sources(Network n, Network.Segment s) {
    List<Integer> all = new ArrayList<>();
    for (Network.Source x : s.sources()) {
      boolean box = n.elements().stream().anyMatch(e -> e.id() == x.element() && e.kind() == Element.Kind.BOX);
      if (!box) {
        all.add(x.element());
        continue;
      }
      for (Network.Segment t : n.segments()) {
        if (t.sources().equals(s.sources()) && t.row() == t.toRow()) {
          n.elements().stream().filter(e -> e.row() == t.row() && Math.abs(e.column() - t.toColumn()) <= 1
              && (e.kind() == Element.Kind.COIL || e.kind() == Element.Kind.CONTACT || e.kind() == Element.Kind.COMPARE)).forEach(e -> all.add(-2 - e.id()));
        }
      }
    }
    return all.stream().distinct().toList();
  }

  private static void box(List<PageModel.Text> texts, Element e) {
    // the name of an instance stands above its box, its type inside
    int colon = e.title().indexOf(" : ");
    String title = colon < 0 ? e.title() : e.title().substring(colon + 3);
    texts.add(new PageModel.Text(e.row() + 1, e.column() + (e.width() - title.codePointCount(0, title.length())) / 2, title, 0));
    if (colon >= 0) {
      String instance = e.title().substring(0, colon);
      texts.add(new PageModel.Text(e.row() - 1, e.column() + (e.width() - instance.codePointCount(0, instance.length())) / 2, instance, 14));
    }
    for (Element.Pin p : e.pins()) {
      int length = p.name().codePointCount(0, p.name().length());
      if (!p.name().isEmpty()) {
        texts.add(new PageModel.Text(p.row(), p.output() ? e.column() + e.width() - 2 - length : e.column() + 1, p.name(), 0));
      }
      if (!p.value().isEmpty()) {
        int v = p.value().codePointCount(0, p.value().length());
        texts.add(new PageModel.Text(p.row(), p.output() ? e.column() + e.width() + 3 : e.column() - 3 - v, p.value(), 0));
      }
    }
  }
}
