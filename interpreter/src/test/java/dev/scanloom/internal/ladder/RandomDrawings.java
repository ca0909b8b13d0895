package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing.Out;
import dev.scanloom.internal.ladder.Drawing.Port;
import dev.scanloom.internal.ladder.Drawing.Rail;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.Random;
import java.util.TreeSet;

/** Graphs that no drawing was read from: series, branches, bridges, several coils, boxes, jumps, in any order that links allow. */
final class RandomDrawings {
  private static final String[] NAMES = {"A", "B", "C", "Start", "Stop", "Run", "Level", "Mixer.Ready", "%IX0.3", "%QX1.0", "m[2]", "Lamp",
      "ConveyorStopped", "x", "m[i + 1].Valve", "Häcksler"};
  private static final String[] VALUES = {"T#5s", "80", "3.5", "(x + 1)", "D#2024-02-29", "'a-b'", "\"ä|ö\"", "x",
      "m[i + 1]", "%MW3", "(-4)", "TRUE"};
  private static final String[] PINS = {"EN", "IN", "PT", "CU", "R", "PV", "SET1", "RESET", "Data"};
  private static final String[] OUTS = {"ENO", "Q", "ET", "CV", "Q1", "Done"};

  private static final String[] PLAIN_NAMES = {"A", "B", "C", "Start", "Stop", "Run", "Lamp", "%IX0.3", "m[2]", "m[3]"};
  private static final String[] PLAIN_VALUES = {"0", "1", "2", "A", "Run"};

  private final Random random;
  private boolean plain;
  private final StandInExpressions parser = new StandInExpressions();

  RandomDrawings(long seed) {
    random = new Random(seed);
  }

  Drawing drawing(boolean boxes) {
    int n = 1 + random.nextInt(3);
    List<Drawing.Network> networks = new ArrayList<>();
    for (int i = 0; i < n; i++) {
      Optional<Name> label = i == n - 1 || random.nextInt(4) == 0 ? Optional.of(name("L" + i)) : Optional.empty();
      String comment = switch (random.nextInt(8)) {
        case 0 -> "what it is for";
        case 1 -> "two lines\nof (* marks *) // here";
        default -> "";
      };
      networks.add(network(i + 1, label, comment, "L" + (n - 1), boxes));
    }
    return new Drawing(span(""), networks);
  }

  /** Without boxes, with operands that {@link Truth} can evaluate, and without a jump that could go on for ever. */
  Drawing plainDrawing() {
    plain = true;
    while (true) {
      Drawing d = drawing(false);
      if (d.networks().get(d.networks().size() - 1).elements().stream().noneMatch(e -> e instanceof Drawing.Jump)) {
        return d;
      }
    }
  }

  private Drawing.Network network(int number, Optional<Name> label, String comment, String target, boolean boxes) {
    while (true) {
      List<Drawing.Element> elements = new ArrayList<>();
      List<Port> ports = new ArrayList<>();
      List<Drawing.Link> links = new ArrayList<>();
      int size = 1 + random.nextInt(random.nextInt(6) == 0 ? 24 : 9);
      int style = random.nextInt(3);
      for (int i = 0; i < size; i++) {
        Drawing.Element e = element(ports, links, target, style, boxes);
        elements.add(e);
        if (e instanceof Drawing.Box b) {
          for (int k = 0; k < b.outputs().size(); k++) {
            if (b.outputs().get(k).targets().size() < 2) {
              ports.add(new Out(i, k));
            }
          }
        } else if (!(e instanceof Drawing.Jump) && !(e instanceof Drawing.Return)) {
          ports.add(new Out(i, 0));
        }
      }
      if (isOneNetwork(elements)) {
        return new Drawing.Network(number, span(""), label, comment, elements, List.of());
      }
    }
  }

  private Drawing.Element element(List<Port> ports, List<Drawing.Link> links, String target, int style, boolean boxes) {
    int kind = random.nextInt(20);
    if (kind < 9) {
      return new Drawing.Contact(place(), pick(Drawing.ContactMark.values()), operand(), link(ports, links, style));
    } else if (kind < 11) {
      Optional<Name> type = random.nextBoolean() ? Optional.of(name("INT")) : Optional.empty();
      return new Drawing.Compare(place(), pick(Drawing.Comparison.values()), type, operand(), parse(pick(plain ? PLAIN_VALUES : VALUES)),
          link(ports, links, style));
    } else if (kind < 15) {
      return new Drawing.Coil(place(), pick(Drawing.CoilMark.values()), operand(), link(ports, links, style));
    } else if (kind == 15) {
      return new Drawing.Jump(place(), name(target), link(ports, links, style));
    } else if (kind == 16) {
      return new Drawing.Return(place(), link(ports, links, style));
    }
    return boxes ? box(ports, links, style)
        : new Drawing.Contact(place(), Drawing.ContactMark.NORMAL, operand(), link(ports, links, style));
  }

  private Drawing.Box box(List<Port> ports, List<Drawing.Link> links, int style) {
    List<Drawing.Input> inputs = new ArrayList<>();
    List<Drawing.Output> outputs = new ArrayList<>();
    TreeSet<String> seen = new TreeSet<>();
    for (int n = random.nextInt(5); n > 0; n--) {
      String pin = pick(PINS);
      if (random.nextInt(8) == 0 && seen.add("Both")) {
        Optional<Name> both = Optional.of(name("Both"));
        inputs.add(new Drawing.Input(span(""), both, false, Drawing.EdgeMark.NONE, true, Optional.empty(), Optional.of(operand())));
        if (random.nextBoolean()) {
          outputs.add(new Drawing.Output(span(""), both, false, true, random.nextBoolean() ? List.of(operand()) : List.of()));
        }
        continue;
      }
      boolean unnamed = random.nextInt(4) == 0;
      if (!unnamed && !seen.add(pin)) {
        continue;
      }
      int what = random.nextInt(unnamed ? 2 : 3);
      Optional<Drawing.Link> link = what == 0 ? Optional.of(link(ports, links, style)) : Optional.empty();
      Optional<Expression> value = what == 1 ? Optional.of(parse(pick(VALUES))) : Optional.empty();
      Drawing.EdgeMark edge = random.nextInt(6) == 0 ? pick(Drawing.EdgeMark.values()) : Drawing.EdgeMark.NONE;
      inputs.add(new Drawing.Input(span(""), unnamed ? Optional.empty() : Optional.of(name(pin)), what < 2 && random.nextInt(4) == 0, edge,
          false, link, value));
    }
    boolean result = false;
    for (int n = random.nextInt(4); n > 0; n--) {
      String pin = pick(OUTS);
      boolean unnamed = !result && random.nextInt(4) == 0;
      if (!unnamed && !seen.add(pin)) {
        continue;
      }
      result |= unnamed;
      List<Expression> targets = new ArrayList<>();
      for (int k = random.nextInt(8) - 4; k > 0 && k < 3; k--) {
        targets.add(operand());
      }
      boolean negated = !targets.isEmpty() && random.nextInt(4) == 0;
      outputs.add(new Drawing.Output(span(""), unnamed ? Optional.empty() : Optional.of(name(pin)), negated, false, targets));
    }
    if (random.nextInt(4) == 0) {
      java.util.Collections.shuffle(outputs, random);
    }
    Optional<Expression> instance = random.nextBoolean() ? Optional.of(operand()) : Optional.empty();
    return new Drawing.Box(place(), name(random.nextBoolean() ? "TON" : "MixTwoKinds"), instance, inputs, outputs);
  }

  /** Mostly what a drawing has: the last port, a link used before, the rail, an OR of a few; in one style of three any subset at all. */
  private Drawing.Link link(List<Port> ports, List<Drawing.Link> links, int style) {
    List<Port> sources = new ArrayList<>();
    int how = random.nextInt(10);
    if (ports.isEmpty() || how == 0 || style == 0 && how < 3) {
      sources.add(new Rail());
    } else if (how < 5) {
      sources.add(ports.get(ports.size() - 1));
    } else if (how < 7 && !links.isEmpty()) {
      return links.get(random.nextInt(links.size()));
    } else if (style == 2) {
      for (Port p : ports) {
        if (random.nextInt(3) == 0) {
          sources.add(p);
        }
      }
      if (random.nextInt(6) == 0) {
        sources.add(0, new Rail());
      }
    } else {
      TreeSet<Integer> few = new TreeSet<>();
      for (int k = 1 + random.nextInt(3); k > 0; k--) {
        few.add(random.nextInt(ports.size()));
      }
      few.forEach(k -> sources.add(ports.get(k)));
    }
    if (sources.isEmpty()) {
      sources.add(new Rail());
    }
    Drawing.Link link = new Drawing.Link(sources);
    links.add(link);
    return link;
  }

  /** Parts without a common link must each start at the rail, or no drawing holds them together. */
  private static boolean isOneNetwork(List<Drawing.Element> elements) {
    int n = elements.size();
    int[] part = new int[n];
    boolean[] rail = new boolean[n];
    for (int i = 0; i < n; i++) {
      part[i] = i;
      for (Drawing.Link l : LadderLinks.of(elements.get(i))) {
        for (Port p : l.sources()) {
          if (p instanceof Out o) {
            int a = part[o.element()];
            for (int k = 0; k <= i; k++) {
              part[k] = part[k] == a ? i : part[k];
            }
          }
        }
      }
    }
    TreeSet<Integer> parts = new TreeSet<>();
    for (int i = 0; i < n; i++) {
      parts.add(part[i]);
      for (Drawing.Link l : LadderLinks.of(elements.get(i))) {
        rail[part[i]] |= l.sources().size() == 1 && l.sources().get(0) instanceof Rail;
      }
    }
    return parts.size() == 1 || parts.stream().allMatch(p -> rail[p]);
  }

  private <T> T pick(T[] all) {
    return all[random.nextInt(all.length)];
  }

  private Expression operand() {
    return parse(pick(plain ? PLAIN_NAMES : NAMES));
  }

  private Expression parse(String text) {
    return parser.apply(span(text));
  }

  private static Name name(String text) {
    return new Name(span(text), text);
  }

  private static Span span(String text) {
    SourceText source = SourceText.of("made", text);
    return new Span(source, 0, source.length());
  }

  private static Drawing.Place place() {
    return new Drawing.Place(span(""), 1, 1, 1, 1);
  }
}
