package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;

/**
 * A ladder body as Structured Text of the same meaning: statements in evaluation order, with auxiliary variables where a state must
 * outlive a write. Jumps become a loop over the numbers of the networks, since ST has no jump.
 *
 * <p>Auxiliary variables whose names begin with {@code m} keep their values from one evaluation to the next; the others need not. What a
 * function returns into one has the function's type, which is not known here and stands as {@code ANY}.
 *
 * @param declarations one line per auxiliary variable, without keywords around them
 * @param lines the statements
 */
public record LadderText(List<String> declarations, List<String> lines) {
  public LadderText {
    declarations = List.copyOf(declarations);
    lines = List.copyOf(lines);
  }

  /** The whole body. */
  public static LadderText of(Drawing drawing) {
    Equivalent.Names names = new Equivalent.Names();
    names.take(drawing);
    Map<String, String> auxiliaries = new LinkedHashMap<>();
    List<String> lines = new ArrayList<>();
    boolean jumps = drawing.networks().stream().flatMap(n -> n.elements().stream()).anyMatch(e -> e instanceof Drawing.Jump);
    String go = jumps ? names.fresh("go") : "";
    String in = jumps ? "    " : "";
    if (jumps) {
      auxiliaries.put(go, "number of the network that is next");
      lines.add(go + " := 1;");
      lines.add("WHILE " + go + " > 0 DO");
      lines.add("  CASE " + go + " OF");
    }
    Map<String, Integer> labels = new TreeMap<>();
    for (Drawing.Network n : drawing.networks()) {
      n.label().ifPresent(l -> labels.putIfAbsent(l.key(), n.number()));
    }
    int last = drawing.networks().size();
    for (Drawing.Network n : drawing.networks()) {
      Equivalent e = new Equivalent(n, new Statements(), names);
      String label = n.label().map(l -> ", label " + l).orElse("");
      String head = "(* network " + n.number() + label + " *)";
      lines.add(jumps ? "  " + n.number() + ": " + head : head);
      e.lines.forEach(l -> lines.add(in + l));
      if (jumps) {
        leave(e, labels, go, n.number() < last ? n.number() + 1 : 0).forEach(l -> lines.add(in + l));
      } else {
        e.exits.forEach(x -> lines.add(in + "IF " + x.when().text() + " THEN RETURN; END_IF;"));
      }
      auxiliaries.putAll(e.auxiliaries);
    }
    if (jumps) {
      lines.add("  END_CASE;");
      lines.add("END_WHILE;");
    }
    return new LadderText(declare(auxiliaries, go), lines);
  }

  /** One network by itself; a jump is stated in a comment. */
  public static LadderText of(Drawing.Network network) {
    Equivalent.Names names = new Equivalent.Names();
    names.take(new Drawing(network.span(), List.of(network)));
    Equivalent e = new Equivalent(network, new Statements(), names);
    List<String> lines = new ArrayList<>(e.lines);
    for (Equivalent.Exit x : e.exits) {
      lines.add("IF " + x.when().text() + " THEN "
          + (x.element() instanceof Drawing.Jump j ? "; (* go on at label " + j.target() + " *)" : "RETURN;") + " END_IF;");
    }
    return new LadderText(declare(e.auxiliaries, ""), lines);
  }

  private static List<String> leave(Equivalent e, Map<String, Integer> labels, String go, int next) {
    List<String> lines = new ArrayList<>();
    String keyword = "IF ";
    for (Equivalent.Exit x : e.exits) {
      String then = x.element() instanceof Drawing.Jump j ? go + " := " + labels.getOrDefault(j.target().key(), 0) + ";" : "RETURN;";
      lines.add(keyword + x.when().text() + " THEN " + then);
      keyword = "ELSIF ";
    }
    if (lines.isEmpty()) {
      lines.add(go + " := " + next + ";");
    } else {
      lines.add("ELSE " + go + " := " + next + ";");
      lines.add("END_IF;");
    }
    return lines;
  }

  private static List<String> declare(Map<String, String> auxiliaries, String go) {
    List<String> out = new ArrayList<>();
    auxiliaries.forEach((name, purpose) ->
        out.add(name + " : " + (name.equals(go) ? "DINT" : purpose.startsWith("result of ") ? "ANY" : "BOOL") + "; // " + purpose));
    return out;
  }

  /** Statements joined by line ends. */
  @Override
  public String toString() {
    return String.join("\n", lines);
  }

  private static final class Statements implements Equivalent.Style {
    @Override
    public String and() {
      return " AND ";
    }

    @Override
    public String or() {
      return " OR ";
    }

    @Override
    public String not() {
      return "NOT ";
    }

    @Override
    public String always() {
      return "TRUE";
    }

    @Override
    public String comparison(Drawing.Comparison c) {
      return switch (c) {
        case EQ -> "=";
        case NE -> "<>";
        case LT -> "<";
        case LE -> "<=";
        case GT -> ">";
        case GE -> ">=";
      };
    }

    @Override
    public List<String> assign(String target, Equivalent.Term value) {
      return List.of(target + " := " + value.text() + ";");
    }

    @Override
    public List<String> set(String target, Equivalent.Term when, boolean on) {
      String assignment = target + " := " + (on ? "TRUE" : "FALSE") + ";";
      return List.of(when.text().equals(always()) ? assignment : "IF " + when.text() + " THEN " + assignment + " END_IF;");
    }

    @Override
    public Optional<Equivalent.Term> edge(Equivalent.Term of, boolean rising) {
      return Optional.empty();
    }

    @Override
    public List<String> call(Drawing.Box box, String head, List<Equivalent.Argument> arguments, String result) {
      StringBuilder out = new StringBuilder(result == null ? "" : result + " := ").append(head).append('(');
      String comma = "";
      for (Equivalent.Argument a : arguments) {
        out.append(comma).append(a.pin()).append(a.pin().isEmpty() ? "" : a.output() ? " => " : " := ").append(a.text());
        comma = ", ";
      }
      return List.of(out.append(");").toString());
    }
  }
}
