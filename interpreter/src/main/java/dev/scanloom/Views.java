package dev.scanloom;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Chart;
import dev.scanloom.internal.check.Code.ChartCode;
import dev.scanloom.internal.check.Code.LadderCode;
import dev.scanloom.internal.check.Ladder;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/** The read-only view of a program that viewers get: bodies, networks, elements, links. Built once per program, when somebody asks. */
final class Views {
  private final Code code;
  /** By source and {@link #key}. */
  private final Map<String, Map<Long, Code.LadderElement>> lowered = new LinkedHashMap<>();
  private final Map<Integer, List<Network>> networks = new LinkedHashMap<>();
  private List<dev.scanloom.model.Pou> pous = new ArrayList<>();
  private List<Element> elements = new ArrayList<>();

  Views(Code code, Project project) {
    this.code = code;
    for (Code.LadderElement e : code.elements()) {
      lowered.computeIfAbsent(e.span().source().name(), k -> new HashMap<>()).put(key(e.span()), e);
      elements.add(null);
    }
    for (Pou p : project.pous()) {
      pou(p);
      p.methods().forEach(this::pou);
    }
    for (Code.LadderElement e : code.elements()) {
      if (elements.get(e.id()) == null) {
        // Drawn nowhere in the model that viewers see; still known by number.
        elements.set(e.id(), new Element(e.id(), code.bodies().get(e.body()).name(), e.network(), Element.Kind.valueOf(e.kind().name()), e.mark(),
            e.title(), e.span(), e.row(), e.column(), 0, 1, List.of()));
      }
    }
    for (int i = 0; i < code.bodies().size(); i++) {
      Code.Body b = code.bodies().get(i);
      pous.add(new dev.scanloom.model.Pou(b.name(), b.span(), b.library(), networks.getOrDefault(i, List.of())));
    }
    pous = List.copyOf(pous);
    elements = List.copyOf(elements);
    lowered.clear();
    networks.clear();
  }

  List<dev.scanloom.model.Pou> pous() {
    return pous;
  }

  List<Element> elements() {
    return elements;
  }

  /** Start and end, spread: neighbours would have equal hashes. */
  private static long key(Span s) {
    return ((long) s.start() << 32 | s.end()) * 0x9E3779B97F4A7C15L;
  }

  private Code.LadderElement lowered(Span s) {
    return lowered.getOrDefault(s.source().name(), Map.of()).get(key(s));
  }

  private void pou(Pou p) {
    body(p.code());
  }

  private void body(dev.scanloom.internal.check.Code c) {
    if (c instanceof LadderCode l) {
      ladder(l.ladder());
    } else if (c instanceof ChartCode chart) {
      for (Chart.SfcTransition t : chart.chart().transitions()) {
        body(t.condition());
      }
      for (Chart.SfcAction a : chart.chart().actions()) {
        a.body().ifPresent(this::body);
      }
    }
  }

  private void ladder(Ladder ladder) {
    Integer body = null;
    for (Ladder.Network n : ladder.networks()) {
      for (Drawing.Element e : n.drawing().elements()) {
        Code.LadderElement l = lowered(e.place().span());
        if (l != null && body == null) {
          body = l.body();
        }
      }
    }
    if (body == null || networks.containsKey(body)) {
      return;
    }
    String name = code.bodies().get(body).name();
    List<Network> all = new ArrayList<>();
    for (Ladder.Network n : ladder.networks()) {
      all.add(network(n, name));
    }
    networks.put(body, List.copyOf(all));
  }

  private Network network(Ladder.Network n, String pou) {
    Drawing.Network d = n.drawing();
    List<Element> drawn = new ArrayList<>();
    for (int i = 0; i < d.elements().size(); i++) {
      Element e = element(d.elements().get(i), n.elements().get(i).title(), d.number(), pou);
      drawn.add(e);
      if (e.id() >= 0) {
        elements.set(e.id(), e);
      }
    }
    List<Network.Segment> segments = new ArrayList<>();
    for (Drawing.Segment s : d.segments()) {
      List<Network.Source> sources = new ArrayList<>();
      for (Drawing.Port p : s.link().sources()) {
        if (p instanceof Drawing.Out o) {
          sources.add(new Network.Source(drawn.get(o.element()).id(), o.pin()));
        } else {
          sources.add(new Network.Source(-1, 0));
        }
      }
      segments.add(new Network.Segment(s.row(), s.column(), s.toRow(), s.toColumn(), sources));
    }
    return new Network(d.number(), d.span(), d.label().map(l -> l.text()).orElse(""), d.comment(), drawn, segments);
  }

  private Element element(Drawing.Element e, String title, int network, String pou) {
    Drawing.Place p = e.place();
    Code.LadderElement l = lowered(p.span());
    Element.Kind kind = e.accept(new KindOf());
    String mark = l == null ? "" : l.mark();
    return new Element(l == null ? -1 : l.id(), pou, network, kind, mark, title, p.span(), p.row(), p.column(), p.width(), p.height(),
        e instanceof Drawing.Box b ? pins(b) : List.of());
  }

  private static List<Element.Pin> pins(Drawing.Box box) {
    List<Element.Pin> pins = new ArrayList<>();
    // Grid rows follow source lines one to one, so a pin's row is known from its line.
    int first = box.place().row() - box.place().span().line();
    for (Drawing.Input in : box.inputs()) {
      pins.add(new Element.Pin(in.name().map(n -> n.text()).orElse(""), first + in.span().line(), in.value().map(Views::text).orElse(""),
          in.negated(), false));
    }
    for (Drawing.Output out : box.outputs()) {
      StringBuilder targets = new StringBuilder();
      for (Expression t : out.targets()) {
        targets.append(targets.length() == 0 ? "" : ", ").append(text(t));
      }
      pins.add(new Element.Pin(out.name().map(n -> n.text()).orElse(""), first + out.span().line(), targets.toString(), out.negated(), true));
    }
    return pins;
  }

  private static String text(Expression e) {
    return Optional.of(e.span().text().strip()).filter(t -> t.indexOf('\n') < 0).orElse("...");
  }

  private static final class KindOf implements Drawing.Visitor<Element.Kind> {
    @Override
    public Element.Kind contact(Drawing.Contact e) {
      return Element.Kind.CONTACT;
    }

    @Override
    public Element.Kind compare(Drawing.Compare e) {
      return Element.Kind.COMPARE;
    }

    @Override
    public Element.Kind coil(Drawing.Coil e) {
      return Element.Kind.COIL;
    }

    @Override
    public Element.Kind jump(Drawing.Jump e) {
      return Element.Kind.JUMP;
    }

    @Override
    public Element.Kind returnFrom(Drawing.Return e) {
      return Element.Kind.RETURN;
    }

    @Override
    public Element.Kind box(Drawing.Box e) {
      return Element.Kind.BOX;
    }
  }
}
