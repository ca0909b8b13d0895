package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing.CoilMark;
import dev.scanloom.internal.ladder.Drawing.Comparison;
import dev.scanloom.internal.ladder.Drawing.ContactMark;
import dev.scanloom.internal.ladder.Drawing.EdgeMark;
import dev.scanloom.internal.ladder.Drawing.Link;
import dev.scanloom.internal.ladder.Drawing.Out;
import dev.scanloom.internal.ladder.Drawing.Port;
import dev.scanloom.internal.ladder.Drawing.Rail;
import dev.scanloom.internal.ladder.Sketch.BoxNode;
import dev.scanloom.internal.ladder.Sketch.BoxRow;
import dev.scanloom.internal.ladder.Sketch.Horizontal;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.State;
import dev.scanloom.internal.ladder.Sketch.Type;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import dev.scanloom.internal.ladder.Sketch.Word;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
import java.util.Optional;
import java.util.function.Function;

/** Networks from what was found: everything that hangs together other than through a rail is one. */
final class NetworkBuilder {
  private static final Link FROM_RAIL = new Link(List.of(new Rail()));

  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final Components components;
  private final LinkStates states;
  private final Captions captions;
  private final Function<Span, Expression> expressions;

  NetworkBuilder(Sketch sketch, Components components, LinkStates states, Captions captions, Function<Span, Expression> expressions) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    this.components = components;
    this.states = states;
    this.captions = captions;
    this.expressions = expressions;
  }

  private static final class Group implements Comparable<Group> {
    final List<Part> members = new ArrayList<>();
    int top = Integer.MAX_VALUE;
    int bottom = -1;
    int column = Integer.MAX_VALUE;
    final List<Horizontal> horizontals = new ArrayList<>();
    final List<Integer> verticals = new ArrayList<>(2);

    void rows(int from, int to, int at) {
      if (from < top || from == top && at < column) {
        column = at;
      }
      top = Math.min(top, from);
      bottom = Math.max(bottom, to);
    }

    @Override
    public int compareTo(Group o) {
      return top != o.top ? Integer.compare(top, o.top) : Integer.compare(column, o.column);
    }

    void word(Word w) {
      if (w != null) {
        rows(w.row, w.row, w.from);
      }
    }
  }

  /** Appends the networks of the sketch; what comes in an order comes in that of evaluation. */
  void build(List<Part> order, List<Drawing.Network> networks) {
    for (Group g : groups(order)) {
      networks.add(network(networks.size() + 1, g, captions.label(g.top), captions.comment(g.top, g.bottom)));
    }
  }

  private List<Group> groups(List<Part> order) {
    Group[] groupOf = new Group[components.count()];
    List<Group> groups = new ArrayList<>(2);
    for (Part p : order) {
      if (p.dropped) {
        continue;
      }
      int c = components.find(p.id);
      if (groupOf[c] == null) {
        groupOf[c] = new Group();
        groups.add(groupOf[c]);
      }
      Group g = groupOf[c];
      p.index = g.members.size();
      g.members.add(p);
      g.rows(p.row, p.box == null ? p.row : p.box.lastRow(), p.from);
      g.word(p.above);
      g.word(p.below);
      if (p.box != null) {
        for (BoxRow pin : p.box.pins) {
          g.word(pin.value);
          for (Word w : pin.targets) {
            g.word(w);
          }
        }
      }
    }
    for (Horizontal h : sketch.horizontals) {
      int n = h.right == null ? -1 : components.node(h.right);
      n = n < 0 && h.left != null ? components.node(h.left) : n;
      Group g = n < 0 ? null : groupOf[components.find(n)];
      if (g != null) {
        g.rows(h.row, h.row, h.from);
        g.horizontals.add(h);
      }
    }
    for (int i = 0; i < sketch.verticals.size(); i++) {
      Group g = sketch.root(i) == i ? groupOf[components.find(components.verticalNode(i))] : null;
      if (g != null) {
        Vertical v = sketch.verticals.get(i);
        g.rows(v.top, v.bottom, v.column);
        g.verticals.add(i);
      }
    }
    Collections.sort(groups);
    return groups;
  }

  private Drawing.Network network(int number, Group g, Optional<Name> label, String comment) {
    List<Drawing.Element> list = new ArrayList<>(g.members.size());
    for (Part p : g.members) {
      list.add(element(p));
    }
    List<Drawing.Segment> segments = new ArrayList<>(g.horizontals.size() + g.verticals.size());
    for (Horizontal h : g.horizontals) {
      int from = h.left != null && (h.left.vertical >= 0 || h.left.type == Type.LEFT_RAIL && !h.bare) ? h.from - 1 : h.from;
      int to = h.right != null && (h.right.vertical >= 0 || h.right.type == Type.RIGHT_RAIL) ? h.to + 1 : h.to;
      if (to >= from && h.left != null && h.left.type != Type.WORD) {
        State s = states.stateOf(h);
        if (s.ports.length > 0) {
          segments.add(new Drawing.Segment(h.row + 1, from + 1, h.row + 1, to + 1, link(s)));
        }
      }
    }
    for (int i : g.verticals) {
      Vertical v = sketch.verticals.get(i);
      State s = states.ofVertical(i);
      if (v.bottom > v.top && s.ports.length > 0) {
        segments.add(new Drawing.Segment(v.top + 1, v.column + 1, v.bottom + 1, v.column + 1, link(s)));
      }
    }
    return new Drawing.Network(number, grid.rows(g.top, g.bottom), label, comment, list, segments);
  }

  private Link link(State s) {
    if (s.ports.length == 0 || s.ports.length == 1 && s.ports[0] == Sketch.RAIL) {
      return FROM_RAIL;
    }
    if (s.link == null) {
      s.link = newLink(s);
    }
    return s.link;
  }

  /** Ports in the order of their elements, the rail first. What has no source was reported; it counts as fed by the rail. */
  private Link newLink(State s) {
    if (s.ports.length == 1) {
      Part p = sketch.elements[(int) (s.ports[0] >> 24)];
      return p.dropped ? FROM_RAIL : new Link(List.of(new Out(p.index, (int) (s.ports[0] & 0xffffff))));
    }
    List<Port> list = new ArrayList<>(s.ports.length);
    long[] outs = new long[s.ports.length];
    int n = 0;
    for (long port : s.ports) {
      if (port == Sketch.RAIL) {
        list.add(new Rail());
      } else {
        Part p = sketch.elements[(int) (port >> 24)];
        if (!p.dropped) {
          outs[n++] = (long) p.index << 24 | port & 0xffffff;
        }
      }
    }
    Arrays.sort(outs, 0, n);
    for (int i = 0; i < n; i++) {
      list.add(new Out((int) (outs[i] >> 24), (int) (outs[i] & 0xffffff)));
    }
    return list.isEmpty() ? FROM_RAIL : new Link(list);
  }

  private Link inputLink(Part p, Horizontal h) {
    Link link = link(states.stateOf(h));
    List<Port> earlier = null;
    for (int i = 0; i < link.sources().size(); i++) {
      if (link.sources().get(i) instanceof Out out && out.element() >= p.index) { // only behind a reported loop
        earlier = new ArrayList<>(link.sources());
        earlier.removeIf(q -> q instanceof Out o && o.element() >= p.index);
        break;
      }
    }
    return earlier == null ? link : earlier.isEmpty() ? new Link(List.of(new Rail())) : new Link(earlier);
  }

  private Drawing.Place place(Part p) {
    if (p.box == null) {
      return new Drawing.Place(grid.span(p.row, p.from, p.to), p.row + 1, p.from + 1, p.to - p.from + 1, 1);
    }
    int bottom = p.box.lastRow();
    Span s = grid.span(p.row, p.from, p.to).to(grid.span(bottom, p.from, p.to));
    return new Drawing.Place(s, p.row + 1, p.from + 1, p.to - p.from + 1, bottom - p.box.top + 1);
  }

  private Expression parse(Word w, Part p) {
    return w == null ? new Expression.Erroneous(grid.span(p.row, p.from, p.to)) : expressions.apply(grid.span(w.row, w.from, w.to));
  }

  private boolean isParenthesised(Word w) {
    return grid.at(w.row, w.from) == '(';
  }

  private Expression variable(Word w, Part p) {
    Expression e = parse(w, p);
    if (w != null && !(e instanceof Expression.Erroneous) && (isParenthesised(w) || !isAccess(e))) {
      findings.error("ladder/operand", w.row, w.from, w.to,
          grid.text(w.row, w.from, w.to) + " is no variable; the operand of a " + p.describe() + " is a variable");
    }
    return e;
  }

  private Expression value(Word w, Part p) {
    Expression e = parse(w, p);
    if (w != null && !isParenthesised(w) && !isAccess(e) && !(e instanceof Expression.Literal) && !(e instanceof Expression.TypedName)
        && !(e instanceof Expression.Erroneous)
        && !(e instanceof Expression.Unary u && u.operator() == Expression.UnaryOperator.MINUS
            && u.operand() instanceof Expression.Literal)) {
      String text = grid.text(w.row, w.from, w.to);
      findings.error("ladder/operand", w.row, w.from, w.to,
          text + " is an expression; in a drawing it stands in parentheses", "write (" + text + ")");
    }
    return e;
  }

  private static boolean isAccess(Expression e) {
    return e instanceof Expression.Ident || e instanceof Expression.Direct || e instanceof Expression.Member
        || e instanceof Expression.Index || e instanceof Expression.Bits || e instanceof Expression.Dereference;
  }

  private Drawing.Element element(Part p) {
    return switch (p.kind) {
      case CONTACT -> new Drawing.Contact(place(p), contactMark(p.mark), variable(p.above, p), inputLink(p, p.in));
      case COMPARE -> new Drawing.Compare(place(p), comparison(p.mark),
          p.name.isEmpty() ? Optional.empty() : Optional.of(new Name(grid.span(p.row, p.nameFrom, p.nameTo), p.name)),
          value(p.above, p), value(p.below, p), inputLink(p, p.in));
      case COIL -> new Drawing.Coil(place(p), coilMark(p.mark), variable(p.above, p), inputLink(p, p.in));
      case JUMP -> new Drawing.Jump(place(p), new Name(grid.span(p.row, p.nameFrom, p.nameTo), p.name), inputLink(p, p.in));
      case RETURN -> new Drawing.Return(place(p), inputLink(p, p.in));
      case BOX -> box(p);
      case ASSIGN -> assignment(p);
      case FEED, CONTINUATION -> throw new IllegalStateException("a connector is no element");
    };
  }

  private static ContactMark contactMark(String mark) {
    return switch (mark) {
      case "/" -> ContactMark.NEGATED;
      case "P" -> ContactMark.RISING;
      case "N" -> ContactMark.FALLING;
      default -> ContactMark.NORMAL; // an unknown one was reported
    };
  }

  private static CoilMark coilMark(String mark) {
    return switch (mark) {
      case "/" -> CoilMark.NEGATED;
      case "S" -> CoilMark.SET;
      case "R" -> CoilMark.RESET;
      case "P" -> CoilMark.RISING;
      case "N" -> CoilMark.FALLING;
      default -> CoilMark.NORMAL; // an unknown one was reported
    };
  }

  private static Comparison comparison(String mark) {
    return switch (mark) {
      case "=", "EQ" -> Comparison.EQ;
      case "<>", "NE" -> Comparison.NE;
      case "<", "LT" -> Comparison.LT;
      case "<=", "LE" -> Comparison.LE;
      case ">", "GT" -> Comparison.GT;
      case ">=", "GE" -> Comparison.GE;
      default -> throw new IllegalStateException("comparison " + mark);
    };
  }

  private Drawing.Box box(Part p) {
    BoxNode box = p.box;
    List<Drawing.Input> inputs = new ArrayList<>();
    List<Drawing.Output> outputs = new ArrayList<>();
    for (BoxRow pin : box.pins) {
      if (pin.row == box.typeRow) {
        continue;
      }
      boolean edged = pin.leftBorder == '>' || pin.leftBorder == '<';
      if ((pin.leftFrom >= 0 || pin.in != null || edged) && !pin.dropInput) {
        int from = pin.negatedLeft ? box.left - 1 : edged || pin.leftFrom < 0 ? box.left : pin.leftFrom;
        int to = pin.leftFrom < 0 ? box.left : pin.leftTo;
        Optional<Link> link = pin.in == null || pin.value != null || pin.in.left != null && pin.in.left.type == Type.WORD
            ? Optional.empty() : Optional.of(inputLink(p, pin.in));
        if (pin.inOut && link.isPresent()) {
          findings.error("ladder/in-out", pin.row, from, to, "an in-out needs a variable at its left");
        }
        inputs.add(new Drawing.Input(grid.span(pin.row, from, to), name(pin.row, pin.leftFrom, pin.leftTo), pin.negatedLeft,
            pin.leftBorder == '>' ? EdgeMark.RISING : pin.leftBorder == '<' ? EdgeMark.FALLING : EdgeMark.NONE, pin.inOut, link,
            pin.value == null ? Optional.empty() : Optional.of(value(pin.value, p))));
      }
      if (pin.output >= 0) {
        int from = pin.rightFrom < 0 ? box.right : pin.rightFrom;
        int to = pin.negatedRight ? box.right + 1 : pin.rightFrom < 0 ? box.right : pin.rightTo;
        List<Expression> targets = new ArrayList<>(pin.targets.size());
        for (Word w : pin.targets) {
          targets.add(target(w, p));
        }
        outputs.add(new Drawing.Output(grid.span(pin.row, from, to), name(pin.row, pin.rightFrom, pin.rightTo), pin.negatedRight, pin.inOut,
            targets));
      }
    }
    Optional<Expression> instance = p.above == null ? Optional.empty() : Optional.of(variable(p.above, p));
    String written = grid.text(box.typeRow, box.typeFrom, box.typeTo);
    String timer = BoxFinder.drawnTimer(written);
    Name type = new Name(grid.span(box.typeRow, box.typeFrom, box.typeTo), timer == null ? written : timer);
    return new Drawing.Box(place(p), type, instance, inputs, outputs);
  }

  /** An assignment is the function that does nothing else; so it needs no kind of element of its own. */
  private Drawing.Box assignment(Part p) {
    Span from = grid.span(p.row, p.above.from, p.above.to);
    Span to = grid.span(p.row, p.below.from, p.below.to);
    return new Drawing.Box(place(p), new Name(from, "MOVE"), Optional.empty(),
        List.of(new Drawing.Input(from, Optional.empty(), false, EdgeMark.NONE, false, Optional.empty(), Optional.of(value(p.above, p)))),
        List.of(new Drawing.Output(to, Optional.empty(), false, false, List.of(target(p.below, p)))));
  }

  private Expression target(Word w, Part p) {
    Expression e = parse(w, p);
    if (!(e instanceof Expression.Erroneous) && (isParenthesised(w) || !isAccess(e))) {
      findings.error("ladder/operand", w.row, w.from, w.to,
          grid.text(w.row, w.from, w.to) + " cannot be written; " + (p.kind == Kind.ASSIGN ? "a value" : "an output of a box")
              + " goes to a variable");
    }
    return e;
  }

  private Optional<Name> name(int row, int from, int to) {
    return from < 0 ? Optional.empty() : Optional.of(new Name(grid.span(row, from, to), grid.text(row, from, to)));
  }
}
