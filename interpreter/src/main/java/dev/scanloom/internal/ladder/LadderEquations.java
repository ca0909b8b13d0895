package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.stream.Collectors;

/**
 * A network as Boolean equations, one line per coil, box, jump and return, to be taken from top to bottom: a line sees what the lines
 * above it wrote. {@code ∧ ∨ ¬} are and, or, not; {@code ↑x} and {@code ↓x} mean that x rose or fell since the last evaluation; 1 is what always
 * holds. A name that the drawing lacks stands for a link or contact whose state is used further down.
 */
public final class LadderEquations {
  private LadderEquations() {}

  /** Lines without line ends. */
  public static List<String> of(Drawing.Network network) {
    Equivalent.Names names = new Equivalent.Names();
    names.take(new Drawing(network.span(), List.of(network)));
    Equivalent e = new Equivalent(network, new Algebra(), names);
    List<String> lines = new ArrayList<>(e.lines);
    for (Equivalent.Exit x : e.exits) {
      lines.add((x.element() instanceof Drawing.Jump j ? "go on at " + j.target() : "leave the POU")
          + (x.when().text().equals("1") ? "" : " if " + x.when().text()));
    }
    return lines;
  }

  private static final class Algebra implements Equivalent.Style {
    @Override
    public String and() {
      return " ∧ ";
    }

    @Override
    public String or() {
      return " ∨ ";
    }

    @Override
    public String not() {
      return "¬";
    }

    @Override
    public String always() {
      return "1";
    }

    @Override
    public String comparison(Drawing.Comparison c) {
      return switch (c) {
        case EQ -> "=";
        case NE -> "≠";
        case LT -> "<";
        case LE -> "≤";
        case GT -> ">";
        case GE -> "≥";
      };
    }

    @Override
    public List<String> assign(String target, Equivalent.Term value) {
      return List.of(target + " = " + value.text());
    }

    @Override
    public List<String> set(String target, Equivalent.Term when, boolean on) {
      boolean atom = when.binding() >= Equivalent.NOT;
      if (when.text().equals(always())) {
        return List.of(target + " = " + (on ? "1" : "0"));
      }
      return List.of(on ? target + " = " + target + " ∨ " + when.text()
          : target + " = " + target + " ∧ ¬" + (atom && when.binding() == Equivalent.ATOM ? when.text() : "(" + when.text() + ")"));
    }

    @Override
    public Optional<Equivalent.Term> edge(Equivalent.Term of, boolean rising) {
      String x = of.binding() == Equivalent.ATOM ? of.text() : "(" + of.text() + ")";
      return Optional.of(new Equivalent.Term((rising ? "↑" : "↓") + x, Equivalent.ATOM, of.size()));
    }

    @Override
    public List<String> call(Drawing.Box box, String head, List<Equivalent.Argument> arguments, String result) {
      String in = arguments.stream().filter(a -> !a.output()).map(a -> a.pin().isEmpty() ? a.text() : a.pin() + " = " + a.text())
          .collect(Collectors.joining(", "));
      String out = arguments.stream().filter(Equivalent.Argument::output).map(a -> a.text() + " = " + a.pin().replace("NOT ", "¬"))
          .collect(Collectors.joining(", "));
      return List.of((result == null ? "" : result + " = ") + head + "(" + in + ")" + (out.isEmpty() ? "" : " → " + out));
    }
  }
}
