package dev.scanloom.internal.ladder;

import dev.scanloom.internal.syntax.Expression;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.stream.Collectors;

/** A graph as text, a line per element, without places: what two drawings of the same meaning have in common. */
final class Graphs {
  private Graphs() {}

  static String text(Drawing drawing) {
    StringBuilder out = new StringBuilder();
    for (Drawing.Network n : drawing.networks()) {
      out.append(text(n));
    }
    return out.toString();
  }

  static String text(Drawing.Network n) {
    StringBuilder out = new StringBuilder("network " + n.number());
    n.label().ifPresent(l -> out.append(" label ").append(l));
    if (!n.comment().isEmpty()) {
      out.append(" comment ").append(n.comment().replace("\n", " / "));
    }
    out.append('\n');
    for (int i = 0; i < n.elements().size(); i++) {
      out.append("  ").append(i).append(' ').append(n.elements().get(i).accept(new Lines())).append('\n');
    }
    return out.toString();
  }

  private static String link(Drawing.Link link) {
    List<String> ports = new ArrayList<>();
    for (Drawing.Port p : link.sources()) {
      ports.add(p instanceof Drawing.Out o ? o.element() + (o.pin() == 0 ? "" : "." + o.pin()) : "rail");
    }
    return String.join("+", ports);
  }

  static String text(Expression e) {
    return ExpressionText.word(e);
  }

  private static final class Lines implements Drawing.Visitor<String> {
    @Override
    public String contact(Drawing.Contact e) {
      return "contact " + e.mark().name().toLowerCase(Locale.ROOT) + " " + text(e.operand()) + " <- " + link(e.left());
    }

    @Override
    public String compare(Drawing.Compare e) {
      return "compare " + text(e.first()) + " " + e.comparison() + e.type().map(t -> " " + t).orElse("") + " " + text(e.second()) + " <- "
          + link(e.left());
    }

    @Override
    public String coil(Drawing.Coil e) {
      return "coil " + e.mark().name().toLowerCase(Locale.ROOT) + " " + text(e.operand()) + " <- " + link(e.left());
    }

    @Override
    public String jump(Drawing.Jump e) {
      return "jump " + e.target() + " <- " + link(e.left());
    }

    @Override
    public String returnFrom(Drawing.Return e) {
      return "return <- " + link(e.left());
    }

    @Override
    public String box(Drawing.Box e) {
      String in = e.inputs().stream().map(p -> p.name().map(Object::toString).orElse("?") + (p.inOut() ? "~" : "")
          + (p.edge() == Drawing.EdgeMark.RISING ? ">" : p.edge() == Drawing.EdgeMark.FALLING ? "<" : "")
          + (p.link().isPresent() || p.value().isPresent() ? p.negated() ? " <-NOT " : " <- " : "")
          + p.link().map(Graphs::link).orElse("") + p.value().map(v -> "'" + text(v) + "'").orElse(""))
          .collect(Collectors.joining(", "));
      String out = e.outputs().stream().map(p -> p.name().map(Object::toString).orElse("?") + (p.inOut() ? "~" : "")
          + (p.negated() ? " NOT" : "") + p.targets().stream().map(t -> " => " + text(t)).collect(Collectors.joining()))
          .collect(Collectors.joining(", "));
      return "box " + e.type() + e.instance().map(i -> " " + text(i)).orElse("") + " (" + in + ") (" + out + ")";
    }
  }
}
