package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Drawing.Out;
import dev.scanloom.internal.ladder.Drawing.Port;
import dev.scanloom.internal.ladder.Drawing.Rail;
import dev.scanloom.internal.syntax.Expression;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;

/**
 * One network as lines of another notation. A link becomes a term over the operands of the contacts behind it, common factors taken out;
 * every coil, box, jump and return becomes a line, in evaluation order.
 *
 * <p>A term is read where it is used, later than its contacts are evaluated. So a contact whose operand is written in between keeps its
 * state in an auxiliary variable, as does a link with a long term and several users. Two operands may be the same variable if their names begin
 * alike, or if one of them is an address or a dereference; other aliases (two names located at one address, in-outs) are not seen here.
 */
final class Equivalent {
  /** Longer terms are named when they are used more than once, which also keeps the text from growing beyond all measure. */
  private static final int NAMED_SIZE = 6;
  private static final int LONGEST_LED_BACK = 40;

  static final int OR = 1;
  static final int AND = 2;
  static final int NOT = 3;
  static final int ATOM = 4;

  /** A Boolean term as text; {@code binding} is that of its outermost operator, {@code size} counts operands. */
  record Term(String text, int binding, int size) {
    static Term atom(String text) {
      return new Term(text, ATOM, 1);
    }
  }

  /** How a notation writes terms and lines. */
  interface Style {
    String and();

    String or();

    String not();

    String always();

    String comparison(Drawing.Comparison c);

    List<String> assign(String target, Term value);

    List<String> set(String target, Term when, boolean on);

    /** A term for an edge, or empty if the notation must keep the last value in a variable. */
    Optional<Term> edge(Term of, boolean rising);

    List<String> call(Drawing.Box box, String head, List<Argument> arguments, String result);
  }

  /** {@code output}: what is written; else what is passed. */
  record Argument(String pin, boolean output, String text) {}

  /** A jump or return: what is done when the term is ON, after the network. */
  record Exit(Drawing.Element element, Term when) {}

  /**
   * A share of a link: {@code condition} behind the link {@code key}, null for none; or, with {@code whole}, the output {@code key} itself.
   */
  private record Group(List<Port> key, Term condition, boolean whole) {}

  private final Drawing.Network network;
  private final Style style;
  private final Names names;
  final List<String> lines = new ArrayList<>();
  final List<Exit> exits = new ArrayList<>();
  /** Auxiliary variables and what they are for. */
  final Map<String, String> auxiliaries = new LinkedHashMap<>();

  private final int count;
  private final List<List<Port>> left = new ArrayList<>();
  private final Term[] condition;
  private final Map<Out, Term> fixed = new LinkedHashMap<>();
  private final Map<List<Port>, Term> terms = new LinkedHashMap<>();
  private final Map<List<Port>, Integer> users = new LinkedHashMap<>();
  private final Set<List<Port>> named = new LinkedHashSet<>();
  private final boolean[] hazard;

  /** Names that are not taken yet. */
  static final class Names {
    private final Set<String> taken = new TreeSet<>();
    private final Map<String, Integer> next = new TreeMap<>();

    void take(Drawing drawing) {
      for (Drawing.Network n : drawing.networks()) {
        for (Drawing.Element e : n.elements()) {
          for (Expression x : expressions(e)) {
            taken.addAll(roots(x));
          }
        }
      }
    }

    String fresh(String prefix) {
      String name;
      do {
        name = prefix + next.merge(prefix, 1, Integer::sum);
      } while (!taken.add(name.toUpperCase(Locale.ROOT)));
      return name;
    }
  }

  Equivalent(Drawing.Network network, Style style, Names names) {
    this.network = network;
    this.style = style;
    this.names = names;
    count = network.elements().size();
    condition = new Term[count];
    hazard = new boolean[count];
    for (Drawing.Element e : network.elements()) {
      List<Drawing.Link> links = LadderLinks.of(e);
      left.add(e instanceof Drawing.Box ? null : key(links.get(0)));
    }
    countUsers();
    findHazards();
    for (int i = 0; i < count; i++) {
      element(i);
    }
  }

  /** In how many terms a link may come to stand: once for every element behind it, and that for every link which the element feeds. */
  private void countUsers() {
    Map<Out, Integer> fed = new LinkedHashMap<>();
    Set<List<Port>> links = new LinkedHashSet<>();
    for (Drawing.Element e : network.elements()) {
      for (Drawing.Link l : LadderLinks.of(e)) {
        if (links.add(key(l))) {
          for (Port p : l.sources()) {
            if (p instanceof Out o) {
              fed.merge(o, 1, Integer::sum);
            }
          }
        }
      }
    }
    for (int i = 0; i < count; i++) {
      for (Drawing.Link l : LadderLinks.of(network.elements().get(i))) {
        users.merge(key(l), Math.max(1, fed.getOrDefault(new Out(i, 0), 1)), Integer::sum);
      }
    }
  }

  private static List<Port> key(Drawing.Link link) {
    return link.sources();
  }

  // ---- hazards ----

  private void findHazards() {
    int[] lastUse = new int[count];
    for (int i = count - 1; i >= 0; i--) {
      lastUse[i] = Math.max(lastUse[i], i);
      Drawing.Element e = network.elements().get(i);
      int use = e instanceof Drawing.Contact || e instanceof Drawing.Compare || e instanceof Drawing.Coil ? lastUse[i] : i;
      use = e instanceof Drawing.Jump || e instanceof Drawing.Return ? count : use; // taken after the network
      for (Drawing.Link l : LadderLinks.of(e)) {
        for (Port p : l.sources()) {
          if (p instanceof Out o) {
            lastUse[o.element()] = Math.max(lastUse[o.element()], use);
          }
        }
      }
    }
    Map<String, List<Integer>> readers = new TreeMap<>();
    for (int t = 0; t < count; t++) {
      Drawing.Element e = network.elements().get(t);
      Set<String> written = new TreeSet<>();
      if (e instanceof Drawing.Coil c) {
        written.addAll(base(c.operand()));
      } else if (e instanceof Drawing.Box b) {
        b.instance().ifPresent(x -> written.addAll(base(x)));
        b.inputs().stream().filter(Drawing.Input::inOut).flatMap(p -> p.value().stream()).forEach(x -> written.addAll(base(x)));
        b.outputs().forEach(p -> p.targets().forEach(x -> written.addAll(base(x))));
      }
      for (String root : written) {
        List<String> hit = root.equals("%") ? new ArrayList<>(readers.keySet()) : List.of(root, "%");
        for (String k : hit) {
          for (int i : readers.getOrDefault(k, List.of())) {
            hazard[i] |= lastUse[i] > t;
          }
        }
      }
      Set<String> read = new TreeSet<>();
      if (e instanceof Drawing.Contact c) {
        read.addAll(roots(c.operand()));
      } else if (e instanceof Drawing.Compare c) {
        read.addAll(roots(c.first()));
        read.addAll(roots(c.second()));
      } else if (e instanceof Drawing.Box b) {
        b.instance().ifPresent(x -> read.addAll(roots(x)));
      }
      for (String r : read) {
        readers.computeIfAbsent(r, k -> new ArrayList<>()).add(t);
      }
    }
  }

  /** The variable that a write to this access changes; {@code %} for what may be any. */
  private static Set<String> base(Expression access) {
    Expression e = access;
    while (true) {
      if (e instanceof Expression.Member m) {
        e = m.base();
      } else if (e instanceof Expression.Index x) {
        e = x.base();
      } else if (e instanceof Expression.Bits b) {
        e = b.base();
      } else {
        return e instanceof Expression.Ident i ? Set.of(i.name().key()) : Set.of("%");
      }
    }
  }

  /** Variables that an expression reads, in upper case; {@code %} for addresses and dereferences. */
  static Set<String> roots(Expression expression) {
    Set<String> found = new TreeSet<>();
    List<Expression> open = new ArrayList<>(List.of(expression));
    while (!open.isEmpty()) {
      Expression e = open.remove(open.size() - 1);
      if (e instanceof Expression.Ident i) {
        found.add(i.name().key());
      } else if (e instanceof Expression.Member m) {
        open.add(m.base());
      } else if (e instanceof Expression.Index x) {
        open.add(x.base());
        open.addAll(x.indices());
      } else if (e instanceof Expression.Bits b) {
        open.add(b.base());
      } else if (e instanceof Expression.Unary u) {
        open.add(u.operand());
      } else if (e instanceof Expression.Chain c) {
        open.add(c.first());
        c.rest().forEach(l -> open.add(l.operand()));
      } else if (!(e instanceof Expression.Literal) && !(e instanceof Expression.TypedName)) {
        found.add("%"); // an address, a dereference, a call: may read anything
      }
    }
    return found;
  }

  private static List<Expression> expressions(Drawing.Element e) {
    List<Expression> all = new ArrayList<>();
    if (e instanceof Drawing.Contact c) {
      all.add(c.operand());
    } else if (e instanceof Drawing.Compare c) {
      all.add(c.first());
      all.add(c.second());
    } else if (e instanceof Drawing.Coil c) {
      all.add(c.operand());
    } else if (e instanceof Drawing.Box b) {
      b.instance().ifPresent(all::add);
      b.inputs().forEach(p -> p.value().ifPresent(all::add));
      b.outputs().forEach(p -> all.addAll(p.targets()));
    }
    return all;
  }

  // ---- terms ----

  private Term not(Term t) {
    if (t.text.equals(style.always())) {
      return Term.atom(style.always().equals("TRUE") ? "FALSE" : "0");
    }
    return new Term(style.not() + (t.binding < ATOM ? "(" + t.text + ")" : t.text), NOT, t.size);
  }

  private Term and(Term a, Term b) {
    if (a == null || isAlways(a)) {
      return b == null ? a : b;
    }
    if (b == null || isAlways(b)) {
      return a;
    }
    return new Term(part(a, AND) + style.and() + part(b, AND), AND, a.size + b.size);
  }

  private Term or(Term a, Term b) {
    if (isAlways(a) || isAlways(b)) {
      return always();
    }
    return new Term(part(a, OR) + style.or() + part(b, OR), OR, a.size + b.size);
  }

  private static String part(Term t, int binding) {
    return t.binding < binding ? "(" + t.text + ")" : t.text;
  }

  private Term always() {
    return Term.atom(style.always());
  }

  private boolean isAlways(Term t) {
    return t.text.equals(style.always());
  }

  private String auxiliary(String prefix, String purpose) {
    String name = names.fresh(prefix);
    auxiliaries.put(name, purpose);
    return name;
  }

  /**
   * The term of a link: sources with the same left link share it as a factor; if several are left, the one deepest in the network is led
   * back over its own contact until it meets another. Every source was taken before, so nothing here recurses.
   */
  private Term link(List<Port> link) {
    Term known = terms.get(link);
    if (known != null) {
      return known;
    }
    List<Group> groups = new ArrayList<>();
    for (Port p : link) {
      if (p instanceof Rail) {
        terms.put(link, always());
        return always();
      }
      Out o = (Out) p;
      Term f = fixed.get(o);
      if (f != null) {
        groups.add(new Group(List.of(o), f, true));
      } else {
        merge(groups, groups.size(), left.get(o.element()), condition[o.element()]);
      }
    }
    while (groups.size() > 1) {
      int deepest = -1;
      int element = -1;
      for (int i = 0; i < groups.size(); i++) {
        List<Port> key = groups.get(i).key;
        Term c = groups.get(i).condition;
        boolean shared = !groups.get(i).whole && (c == null || c.size <= LONGEST_LED_BACK);
        if (shared && key.size() == 1 && key.get(0) instanceof Out o && !fixed.containsKey(o) && !named.contains(key)
            && o.element() > element) {
          deepest = i;
          element = o.element();
        }
      }
      if (deepest < 0) {
        break;
      }
      Group g = groups.remove(deepest);
      merge(groups, deepest, left.get(element), and(condition[element], g.condition));
    }
    Term result = null;
    for (Group g : groups) {
      Term t = g.condition;
      if (!g.whole) {
        Term factor = g.key.get(0) instanceof Rail ? always() : link(g.key);
        t = and(factor, g.condition == null ? always() : g.condition);
      }
      result = result == null ? t : or(result, t);
    }
    if (result.size > NAMED_SIZE && users.getOrDefault(link, 0) > 1) {
      String name = auxiliary("w", "state of a link");
      lines.addAll(style.assign(name, result));
      result = Term.atom(name);
      named.add(link);
    }
    terms.put(link, result);
    return result;
  }

  /** Adds a source; {@code condition} is null for a coil, whose right link is its left one. */
  private void merge(List<Group> groups, int at, List<Port> key, Term condition) {
    List<Port> k = key.get(0) instanceof Rail ? List.of(key.get(0)) : key;
    for (int i = 0; i < groups.size(); i++) {
      Group g = groups.get(i);
      if (!g.whole && g.key.equals(k)) {
        Term c = g.condition == null || condition == null ? null
            : i < at ? or(g.condition, condition) : or(condition, g.condition);
        groups.set(i, new Group(k, c, false));
        return;
      }
    }
    groups.add(Math.min(at, groups.size()), new Group(k, condition, false));
  }

  // ---- elements ----

  private void element(int i) {
    network.elements().get(i).accept(new Drawing.Visitor<Void>() {
      @Override
      public Void contact(Drawing.Contact e) {
        Term x = Term.atom(ExpressionText.operand(e.operand(), 10));
        switch (e.mark()) {
          case NORMAL -> test(i, x);
          case NEGATED -> test(i, not(x));
          case RISING -> edge(i, x, true);
          case FALLING -> edge(i, x, false);
        }
        return null;
      }

      @Override
      public Void compare(Drawing.Compare e) {
        test(i, Term.atom("(" + ExpressionText.operand(e.first(), 6) + " " + style.comparison(e.comparison()) + " "
            + ExpressionText.operand(e.second(), 6) + ")"));
        return null;
      }

      @Override
      public Void coil(Drawing.Coil e) {
        String target = ExpressionText.of(e.operand());
        Term on = link(left.get(i));
        switch (e.mark()) {
          case NORMAL -> lines.addAll(style.assign(target, on));
          case NEGATED -> lines.addAll(style.assign(target, not(on)));
          case SET -> lines.addAll(style.set(target, on, true));
          case RESET -> lines.addAll(style.set(target, on, false));
          case RISING -> edgeCoil(target, on, true);
          case FALLING -> edgeCoil(target, on, false);
        }
        return null;
      }

      @Override
      public Void jump(Drawing.Jump e) {
        exits.add(new Exit(e, kept(i)));
        return null;
      }

      @Override
      public Void returnFrom(Drawing.Return e) {
        exits.add(new Exit(e, kept(i)));
        return null;
      }

      @Override
      public Void box(Drawing.Box e) {
        call(i, e);
        return null;
      }
    });
  }

  /** Left link of a jump, to be used after the network. */
  private Term kept(int i) {
    return link(left.get(i));
  }

  private void test(int i, Term t) {
    condition[i] = t;
    if (hazard[i]) {
      String name = auxiliary("w", "state behind a contact");
      lines.addAll(style.assign(name, and(link(left.get(i)), t)));
      fixed.put(new Out(i, 0), Term.atom(name));
    }
  }

  private void edge(int i, Term x, boolean rising) {
    Optional<Term> edge = style.edge(x, rising);
    if (edge.isPresent()) {
      test(i, edge.get());
      return;
    }
    String memory = auxiliary("m", "value of " + x.text + " at the last evaluation");
    String name = auxiliary("w", "state behind a contact");
    Term was = Term.atom(memory);
    lines.addAll(style.assign(name, and(link(left.get(i)), rising ? and(x, not(was)) : and(not(x), was))));
    lines.addAll(style.assign(memory, x));
    condition[i] = x;
    fixed.put(new Out(i, 0), Term.atom(name));
  }

  private void edgeCoil(String target, Term on, boolean rising) {
    Optional<Term> edge = style.edge(on, rising);
    if (edge.isPresent()) {
      lines.addAll(style.assign(target, edge.get()));
      return;
    }
    String memory = auxiliary("m", "state of the link at the last evaluation");
    String now = auxiliary("w", "state of a link");
    lines.addAll(style.assign(now, on));
    Term was = Term.atom(memory);
    Term is = Term.atom(now);
    lines.addAll(style.assign(target, rising ? and(is, not(was)) : and(not(is), was)));
    lines.addAll(style.assign(memory, is));
  }

  private void call(int i, Drawing.Box box) {
    boolean block = box.instance().isPresent();
    String head = block ? ExpressionText.of(box.instance().get()) : box.type().text();
    Set<Integer> linked = new TreeSet<>();
    for (Drawing.Element e : network.elements()) {
      for (Drawing.Link l : LadderLinks.of(e)) {
        for (Port p : l.sources()) {
          if (p instanceof Out o && o.element() == i) {
            linked.add(o.pin());
          }
        }
      }
    }
    boolean formal = block || box.inputs().stream().anyMatch(p -> p.name().isPresent())
        || box.outputs().stream().anyMatch(p -> p.name().isPresent());
    long unnamed = box.inputs().stream().filter(p -> p.name().isEmpty()).count();
    int number = 0;
    List<Argument> arguments = new ArrayList<>();
    List<String> after = new ArrayList<>();
    for (Drawing.Input p : box.inputs()) {
      String pin = p.name().map(Object::toString).orElse("IN");
      if (p.name().isEmpty() && unnamed > 1) { // the inputs of an extensible function are IN1, IN2, ...
        pin += ++number;
      }
      if (p.value().isEmpty() && p.link().isEmpty()) {
        continue;
      }
      Term value = p.link().isPresent() ? link(key(p.link().get())) : Term.atom(ExpressionText.of(p.value().get()));
      if (p.negated()) {
        value = not(p.link().isPresent() ? value : Term.atom(ExpressionText.operand(p.value().get(), 10)));
      }
      arguments.add(new Argument(formal ? pin : "", false, value.text));
    }
    String result = null;
    for (int k = 0; k < box.outputs().size(); k++) {
      Drawing.Output p = box.outputs().get(k);
      List<String> targets = p.targets().stream().map(ExpressionText::of).toList();
      if (p.inOut()) {
        String variable = box.inputs().stream().filter(q -> q.inOut() && q.name().equals(p.name())).flatMap(q -> q.value().stream())
            .map(ExpressionText::of).findFirst().orElse(head);
        targets.forEach(t -> after.addAll(style.assign(t, Term.atom(variable))));
        fixed.put(new Out(i, k), Term.atom(variable));
        continue;
      }
      boolean member = block && p.name().isPresent() && !p.name().get().key().equals("ENO");
      String source = member ? head + "." + p.name().get() : null;
      if (!member && (linked.contains(k) || targets.size() > 1 || p.negated() && p.name().isEmpty())) {
        source = auxiliary(p.name().isPresent() ? "e" : "r",
            p.name().map(n -> "output " + n + " of " + head).orElse("result of " + head));
      }
      Term value = source == null ? null : p.negated() ? not(Term.atom(source)) : Term.atom(source);
      boolean direct = targets.size() == 1 && (member || source == null);
      if (p.name().isEmpty()) {
        result = direct && source == null ? targets.get(0) : source;
      } else if (direct) {
        arguments.add(new Argument((p.negated() ? "NOT " : "") + p.name().get(), true, targets.get(0)));
      } else if (!member && source != null) {
        arguments.add(new Argument(p.name().get().text(), true, source));
      }
      if (!direct && value != null) {
        Term v = value;
        targets.forEach(t -> after.addAll(style.assign(t, v)));
      }
      if (linked.contains(k)) {
        if (member && hazard[i]) {
          String name = auxiliary("w", "output " + p.name().get() + " of " + head);
          after.addAll(style.assign(name, value));
          value = Term.atom(name);
        }
        fixed.put(new Out(i, k), value);
      }
    }
    lines.addAll(style.call(box, head, arguments, result));
    lines.addAll(after);
  }
}
