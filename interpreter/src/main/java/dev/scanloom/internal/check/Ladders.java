package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.ladder.LadderReader;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.StParser;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.Deque;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;

/** Ladder bodies: the drawing's graph with names and types (Tables 18, 20, 40, 42, 73 to 76). */
final class Ladders {
  private final Session session;
  private final Scope scope;
  private final Expressions expressions;
  private final Calls calls;
  private Drawing drawing;
  private Drawing.Network network;
  private List<Ladder.Element> done;

  Ladders(Session session, Scope scope) {
    this.session = session;
    this.scope = scope;
    this.expressions = new Expressions(session, scope);
    this.calls = new Calls(session, expressions);
  }

  /** Reads and checks the drawing in a span. */
  Ladder read(Span span) {
    drawing = new LadderReader(session.problems, new StParser(session.problems, session.limits.nesting())).read(span);
    Checking checking = new Checking();
    List<Ladder.Network> networks = new ArrayList<>(drawing.networks().size());
    for (Drawing.Network n : drawing.networks()) {
      networks.add(check(n, checking));
    }
    Ladder made = new Ladder(networks);
    connectors(span);
    Flow flow = new Flow(drawing, checking.leaves ? checking.labels() : null);
    unreachable(flow);
    if (!session.problems.hasErrors()) {
      if (checking.boxes) {
        instancesTwice(networks, flow);
      }
      coilsTwice(networks, flow);
    }
    return made;
  }

  private Ladder.Network check(Drawing.Network n, Checking checking) {
    network = n;
    done = new ArrayList<>(n.elements().size());
    for (Drawing.Element e : n.elements()) {
      done.add(e.accept(checking));
    }
    return new Ladder.Network(n, done);
  }

  private final class Checking implements Drawing.Visitor<Ladder.Element> {
    /** Indices of the networks that carry them; null until a jump is met. */
    private Map<String, Integer> labels;
    /** Whether a jump or return was met, and whether a box. */
    private boolean leaves;
    private boolean boxes;

    private Map<String, Integer> labels() {
      if (labels == null) {
        labels = new LinkedHashMap<>();
        for (int i = 0; i < drawing.networks().size(); i++) {
          Optional<Name> label = drawing.networks().get(i).label();
          if (label.isPresent()) {
            labels.putIfAbsent(label.get().key(), i);
          }
        }
      }
      return labels;
    }

    @Override
    public Ladder.Element contact(Drawing.Contact e) {
      Place p = bool(e.operand(), "a contact");
      boolean edge = e.mark() == Drawing.ContactMark.RISING || e.mark() == Drawing.ContactMark.FALLING;
      Optional<Variable> memory = edge ? memory(e.place(), "contact", e.operand(), p) : Optional.empty();
      return new Ladder.Contact(e.place().span(), title(e.operand()), e.mark(), p, e.left(), memory);
    }

    @Override
    public Ladder.Element compare(Drawing.Compare e) {
      Val a = expressions.check(e.first(), null);
      Type hint = a instanceof Val.Typed t && !Kinds.isUnknown(t.expr().type()) ? t.expr().type() : null;
      Val b = expressions.check(e.second(), hint);
      if (e.type().isPresent()) {
        Optional<Type> t = session.types.elementary(e.type().get().key());
        if (t.isEmpty()) {
          session.unknownName(e.type().get().span(), "type " + e.type().get() + " is no elementary type", e.type().get().text(),
              Kinds.elementaryNames());
        } else {
          a = new Val.Typed(expressions.coerce(a, t.get(), Expressions.Purpose.OPERAND));
          b = new Val.Typed(expressions.coerce(b, t.get(), Expressions.Purpose.OPERAND));
        }
      }
      Expr.Operator op = Expr.Operator.valueOf(e.comparison().name());
      Expr condition = expressions.typed(expressions.binary(op, a, b, e.place().span(), null), null);
      return new Ladder.Compare(e.place().span(), title(e.first()) + " " + Expressions.symbol(op) + " " + title(e.second()), condition,
          e.left());
    }

    @Override
    public Ladder.Element coil(Drawing.Coil e) {
      Place p = bool(e.operand(), "a coil");
      if (!Kinds.isUnknown(p.type())) {
        expressions.writable(p);
      }
      boolean edge = e.mark() == Drawing.CoilMark.RISING || e.mark() == Drawing.CoilMark.FALLING;
      Optional<Variable> memory = edge ? memory(e.place(), "coil", e.operand(), null) : Optional.empty();
      return new Ladder.Coil(e.place().span(), title(e.operand()), e.mark(), p, e.left(), memory);
    }

    @Override
    public Ladder.Element jump(Drawing.Jump e) {
      leaves = true;
      // A label that does not exist was reported by the reader of the drawing.
      return new Ladder.Jump(e.place().span(), e.target().text(), labels().getOrDefault(e.target().key(), 0), e.left());
    }

    @Override
    public Ladder.Element returnFrom(Drawing.Return e) {
      leaves = true;
      return new Ladder.Return(e.place().span(), e.left());
    }

    @Override
    public Ladder.Element box(Drawing.Box e) {
      boxes = true;
      return Ladders.this.box(e);
    }
  }

  private static String title(Expression e) {
    return e.span().text().strip();
  }

  private Place unknown(Span span) {
    return new Place.Var(span, new Variable("?", Variable.Section.HIDDEN, Kinds.UNKNOWN, span));
  }

  private Place bool(Expression operand, String element) {
    if (operand instanceof Expression.Erroneous) {
      return unknown(operand.span());
    }
    Optional<Place> p = expressions.place(operand);
    if (p.isEmpty()) {
      return unknown(operand.span());
    }
    if (!Kinds.isBool(p.get().type())) {
      session.error("type/operand", operand.span(), title(operand) + " is " + p.get().type().name() + "; " + element + " needs BOOL");
      return unknown(operand.span());
    }
    return p.get();
  }

  /** Hidden memory of a transition-sensing element; it starts with the initial value of the operand. */
  private Optional<Variable> memory(Drawing.Place at, String kind, Expression named, Place operand) {
    if (scope.isFunctionOrMethod() || scope.info() == null) {
      session.error("ladder/edge-in-function", at.span(), "a function or method keeps no state and has no transition-sensing elements");
      return Optional.empty();
    }
    Variable v = session.pous.hidden(scope.info(), scope.edgeName(kind, title(named), network.span().text()), Kinds.BOOL, at.span());
    if (operand != null && !Kinds.isUnknown(operand.type())) {
      session.initials.initOf(operand).filter(i -> i instanceof Init.Scalar).ifPresent(v::setInitial);
    }
    return Optional.of(v);
  }

  // Boxes

  private Ladder.Element failed(Drawing.Box e) {
    for (Drawing.Input i : e.inputs()) {
      i.value().ifPresent(v -> expressions.check(v, null));
    }
    List<Ladder.Pin> pins = new ArrayList<>();
    for (Drawing.Output o : e.outputs()) {
      o.targets().forEach(t -> expressions.place(t));
      pins.add(new Ladder.Pin(new Ladder.Result(), Kinds.UNKNOWN, o.negated(), List.of()));
    }
    return new Ladder.Box(e.place().span(), e.type().text(), Optional.empty(), Optional.of(Expressions.unknown(e.place().span())),
        Optional.empty(), pins);
  }

  private Ladder.Element box(Drawing.Box e) {
    if (e.type().text().isBlank()) {
      return failed(e);
    }
    Span corner = new Span(e.place().span().source(), e.place().span().start(), e.place().span().start() + 1);
    Symbols.Found f = session.symbols.find(e.type().key(), scope.site());
    if (!f.ambiguous().isEmpty()) {
      session.symbols.ambiguous(e.type().span(), e.type().text(), f.ambiguous());
      return failed(e);
    }
    if (f.symbol() == null) {
      session.unknownName(e.type().span(), e.type() + " is no function or function block", e.type().text(),
          session.symbols.visibleNames(scope.site()));
      return failed(e);
    }
    if (!session.symbols.visible(f.symbol(), scope.site())) {
      session.error("access/internal", e.type().span(), e.type() + " is INTERNAL in namespace " + f.symbol().namespace().path());
      return failed(e);
    }
    if (!(f.symbol() instanceof Symbol.PouSymbol s) || s.pou().kind() != Pou.Kind.FUNCTION && s.pou().kind() != Pou.Kind.FUNCTION_BLOCK) {
      session.error("ladder/box-type", e.type().span(), e.type() + " is no function or function block");
      return failed(e);
    }
    session.pous.header(s.info());
    if (s.pou().kind() == Pou.Kind.FUNCTION_BLOCK) {
      return block(e, s.pou(), corner);
    }
    if (e.instance().isPresent()) {
      session.error("ladder/box-instance", e.instance().get().span(), e.type()
          + " is a function; only a function block has an instance above its box");
      return failed(e);
    }
    return function(e, s.info());
  }

  private static String names(List<Variable> variables) {
    return variables.stream().map(Variable::name).collect(Collectors.joining(", "));
  }

  /** Inputs of a box with the parameters they belong to. */
  private record Pins(Map<Variable, Drawing.Input> inputs, Optional<Drawing.Input> en, boolean ok) {}

  private Pins match(Drawing.Box e, List<Variable> parameters, String callee) {
    List<Variable> in = parameters.stream().filter(v -> v.section() != Variable.Section.OUTPUT).toList();
    Map<Variable, Drawing.Input> found = new LinkedHashMap<>();
    Map<String, Name> seen = new LinkedHashMap<>();
    Optional<Drawing.Input> en = Optional.empty();
    boolean ok = true;
    List<Drawing.Input> unnamed = new ArrayList<>();
    for (Drawing.Input i : e.inputs()) {
      if (i.name().isEmpty()) {
        unnamed.add(i);
        continue;
      }
      Name n = i.name().get();
      Name first = seen.putIfAbsent(n.key(), n);
      if (first != null) {
        session.report(Diagnostic.error("ladder/pin-twice", n.span(), "input " + n + " stands twice, first on line " + first.span().line())
            .withRelated(first.span(), "first here"));
        ok = false;
        continue;
      }
      if (n.key().equals("EN")) {
        en = Optional.of(i);
        continue;
      }
      Variable p = in.stream().filter(v -> v.name().equalsIgnoreCase(n.text())).findFirst().orElse(null);
      if (p == null) {
        Diagnostic d = Diagnostic.error("ladder/unknown-pin", n.span(), callee + " has no input " + n + "; inputs: " + names(in));
        session.report(Nearest.of(n.text(), in.stream().map(Variable::name).toList()).map(x -> d.withHint("nearest name: " + x)).orElse(d));
        i.value().ifPresent(v -> expressions.check(v, null));
        ok = false;
      } else if (i.inOut() != (p.section() == Variable.Section.IN_OUT)) {
        session.error("ladder/in-out", n.span(), p.name() + " of " + callee
            + (i.inOut() ? " is no in-out" : " is an in-out; its name stands at both sides"));
        ok = false;
      } else {
        found.put(p, i);
      }
    }
    for (Drawing.Input i : unnamed) {
      Variable free = in.stream().filter(v -> !found.containsKey(v) && v.section() == Variable.Section.INPUT).findFirst().orElse(null);
      if (free == null) {
        session.error("ladder/unknown-pin", i.span(), callee + " has no further input; inputs: " + names(in));
        ok = false;
      } else {
        found.put(free, i);
      }
    }
    Map<Variable, Drawing.Input> ordered = new LinkedHashMap<>();
    for (Drawing.Input i : e.inputs()) {
      found.forEach((p, x) -> {
        if (x == i) {
          ordered.put(p, x);
        }
      });
    }
    return new Pins(ordered, en, ok);
  }

  /** Type of what a link brings: BOOL, or that of the single box output it comes from. */
  private Type linkType(Drawing.Link link, Span at) {
    Type single = Kinds.BOOL;
    for (Drawing.Port p : link.sources()) {
      if (p instanceof Drawing.Out o && o.element() < done.size() && done.get(o.element()) instanceof Ladder.Box b
          && o.pin() < b.pins().size()) {
        Type t = b.pins().get(o.pin()).type();
        if (Kinds.isUnknown(t)) {
          return t;
        }
        if (!Kinds.isBool(t) && link.sources().size() > 1) {
          session.error("type/operand", at, "a value of type " + t.name() + " cannot be joined with other links");
          return Kinds.UNKNOWN;
        }
        single = t;
      }
    }
    return single;
  }

  /** The value that a pin brings while its type is open; null when nothing is connected. */
  private Val value(Drawing.Input i, Type wanted, String pin) {
    Val v;
    if (i.link().isPresent()) {
      Type t = linkType(i.link().get(), i.span());
      v = new Val.Typed(Kinds.isUnknown(t) ? Expressions.unknown(i.span()) : new Expr.LinkState(i.span(), t, i.link().get()));
    } else if (i.value().isPresent()) {
      v = expressions.check(i.value().get(), wanted);
    } else {
      return null;
    }
    if (i.negated() && !Expressions.isUnknown(v)) {
      Type t = wanted != null && !(wanted instanceof Type.Generic) ? wanted : expressions.typed(v, null).type();
      if (!Kinds.isBool(t) && !Kinds.isUnknown(t)) {
        session.error("ladder/negated-pin", new Span(i.span().source(), i.span().start(), i.span().start() + 1),
            pin + " is " + t.name() + "; only a BOOL pin can be negated");
        return new Val.Typed(Expressions.unknown(i.span()));
      }
      Expr e = expressions.coerce(v, Kinds.BOOL, Expressions.Purpose.ARGUMENT);
      return Kinds.isUnknown(e.type()) ? new Val.Typed(e) : new Val.Typed(session.folder.fold(new Expr.Not(e.span(), Kinds.BOOL, e)));
    }
    return v;
  }

  private Optional<Expr> en(Pins pins) {
    if (pins.en().isEmpty()) {
      return Optional.empty();
    }
    Val v = value(pins.en().get(), Kinds.BOOL, "EN");
    return v == null ? Optional.empty() : Optional.of(expressions.coerce(v, Kinds.BOOL, Expressions.Purpose.ARGUMENT));
  }

  /** Arguments in the order of the pins; {@code ok[0]} becomes false when something was reported. */
  private List<Call.Argument> arguments(Pins pins, boolean[] ok) {
    List<Call.Argument> all = new ArrayList<>();
    for (Map.Entry<Variable, Drawing.Input> m : pins.inputs().entrySet()) {
      Variable p = m.getKey();
      Drawing.Input i = m.getValue();
      boolean whole = p.section() == Variable.Section.IN_OUT || p.type().base() instanceof Type.Block || p.type() instanceof Type.Array a
          && a.open();
      if (whole) {
        if (i.negated()) {
          session.error("ladder/negated-pin", new Span(i.span().source(), i.span().start(), i.span().start() + 1),
              p.name() + " is " + p.type().name() + "; only a BOOL input can be negated");
          ok[0] = false;
        } else if (i.value().isPresent()) {
          Expression.Argument written = new Expression.Argument(i.span(), Expression.ArgumentKind.INPUT, i.name(), false, i.value());
          Call.Argument a = calls.convert(List.of(new Calls.Match(p, written))).get(0);
          ok[0] &= a != null;
          if (a != null) {
            all.add(a);
          }
        } else if (p.section() == Variable.Section.IN_OUT || i.link().isPresent()) {
          session.error("call/in-out", i.span(), p.name() + " needs a variable at its left");
          ok[0] = false;
        }
        continue;
      }
      Val v = value(i, p.type(), p.name());
      if (v == null) {
        continue;
      }
      Expr e = expressions.coerce(v, p.type(), Expressions.Purpose.ARGUMENT);
      ok[0] &= !Kinds.isUnknown(e.type());
      all.add(new Call.Input(p, e));
    }
    return all;
  }

  private Ladder.Element block(Drawing.Box e, Pou type, Span corner) {
    if (e.instance().isEmpty()) {
      session.error("ladder/box-no-instance", corner, type.name() + " is a function block; expected the name of an instance above the box");
      return failed(e);
    }
    Optional<Place> place = e.instance().get() instanceof Expression.Erroneous ? Optional.empty() : expressions.place(e.instance().get());
    if (place.isEmpty()) {
      return failed(e);
    }
    if (!(place.get().type().base() instanceof Type.Block b) || !b.pou().isA(type)) {
      session.error("ladder/box-type", e.instance().get().span(), title(e.instance().get()) + " is " + place.get().type().name()
          + ", the box is "
          + type.name());
      return failed(e);
    }
    Variable root = Expressions.root(place.get());
    if (root != null && root.section() == Variable.Section.INPUT && root.type().base() instanceof Type.Block) {
      session.error("fb/write-input-instance", e.instance().get().span(), root.name()
          + " is an input; its instance can be read but neither called nor written");
      return failed(e);
    }
    session.usage.calls(scope, b.pou(), e.type().span());
    List<Variable> parameters = calls.parameters(b.pou());
    Pins pins = match(e, parameters, type.name());
    edges(e, pins, type.name());
    boolean[] ok = {pins.ok()};
    List<Call.Argument> arguments = arguments(pins, ok);
    Optional<Expr> en = en(pins);
    if (ok[0]) {
      List<Calls.Match> given = arguments.stream().map(a -> new Calls.Match(a.parameter(), null)).toList();
      ok[0] = calls.missingInstances(new Calls.Matched(given, Optional.empty(), Optional.empty(), true), parameters, e.type().span(),
          type.name());
    }
    List<Ladder.Pin> outputs = outputs(e, parameters, type.name(), null, b.pou());
    Call call = new Call(e.place().span(), new Call.Instance(place.get(), b.pou(), expressions.isDynamic(place.get(), b.pou())), arguments,
        en,
        Optional.empty());
    return new Ladder.Box(e.place().span(), title(e.instance().get()) + " : " + type.name(), Optional.of(call), Optional.empty(),
        Optional.empty(), outputs);
  }

  /** Edge marks stand only where the type declares the edge. */
  private void edges(Drawing.Box e, Pins pins, String callee) {
    List<Drawing.Input> all = new ArrayList<>(e.inputs());
    for (Drawing.Input i : all) {
      if (i.edge() == Drawing.EdgeMark.NONE) {
        continue;
      }
      Variable p = pins.inputs().entrySet().stream().filter(m -> m.getValue() == i).map(Map.Entry::getKey).findFirst().orElse(null);
      Variable.Edge declared = p == null ? Variable.Edge.NONE : p.edge();
      boolean fits = i.edge() == Drawing.EdgeMark.RISING ? declared == Variable.Edge.RISING : declared == Variable.Edge.FALLING;
      boolean isEn = i.name().map(n -> n.key().equals("EN")).orElse(false);
      if (!fits && (p != null || isEn)) {
        String word = i.edge() == Drawing.EdgeMark.RISING ? "R_EDGE" : "F_EDGE";
        int at = i.span().start() + (i.negated() ? 1 : 0);
        session.error("ladder/edge-pin", new Span(i.span().source(), at, at + 1),
            (p == null ? "EN" : p.name()) + " of " + callee + " is not declared " + word + "; expected '|'");
      }
    }
  }

  private Ladder.Element function(Drawing.Box e, PouInfo info) {
    Generics generics = new Generics(session, expressions, calls);
    boolean generic = generics.applies(info);
    calls.deprecated(info.pou(), e.type().span());
    List<Variable> parameters;
    if (generic) {
      List<String> names = e.inputs().stream().flatMap(i -> i.name().stream()).map(Name::key).filter(k -> !k.equals("EN")).toList();
      long unnamed = e.inputs().stream().filter(i -> i.name().isEmpty()).count();
      parameters = generics.extended(info, (int) unnamed + names.size(), names, e.type().span());
      if (parameters == null) {
        return failed(e);
      }
    } else {
      parameters = calls.parameters(info.pou());
      session.usage.calls(scope, info.pou(), e.type().span());
    }
    Pins pins = match(e, parameters, info.pou().name());
    edges(e, pins, info.pou().name());
    Optional<Expr> en = en(pins);
    if (!pins.ok()) {
      return failed(e);
    }
    if (generic) {
      return generic(e, info, generics, parameters, pins, en);
    }
    boolean[] ok = {true};
    List<Call.Argument> arguments = arguments(pins, ok);
    List<Calls.Match> given = arguments.stream().map(a -> new Calls.Match(a.parameter(), null)).toList();
    ok[0] &= calls.missingInOuts(new Calls.Matched(given, Optional.empty(), Optional.empty(), ok[0]), parameters, e.type().span(),
        info.pou().name());
    calls.defaults(arguments, parameters, e.type().span());
    List<Ladder.Pin> outputs = outputs(e, parameters, info.pou().name(), info.pou().result(), info.pou());
    Call call = new Call(e.place().span(), new Call.Function(info.pou()), arguments, en, Optional.empty());
    return new Ladder.Box(e.place().span(), info.pou().name(), Optional.of(call), Optional.empty(), Optional.empty(), outputs);
  }

  private Ladder.Element generic(Drawing.Box e, PouInfo info, Generics generics, List<Variable> parameters, Pins pins, Optional<Expr> en) {
    Map<Variable, Val> values = new LinkedHashMap<>();
    List<Calls.Match> others = new ArrayList<>();
    boolean ok = true;
    for (Map.Entry<Variable, Drawing.Input> m : pins.inputs().entrySet()) {
      if (m.getKey().section() == Variable.Section.IN_OUT) {
        others.add(new Calls.Match(m.getKey(),
            new Expression.Argument(m.getValue().span(), Expression.ArgumentKind.INPUT, m.getValue().name(), false, m.getValue().value())));
        continue;
      }
      Val v = value(m.getValue(), m.getKey().type() instanceof Type.Generic ? null : m.getKey().type(), m.getKey().name());
      if (v != null) {
        values.put(m.getKey(), v);
        ok &= !Expressions.isUnknown(v);
      }
    }
    if (!ok) {
      return failed(e);
    }
    Type hint = resultTarget(e, info);
    Val v = generics.applyBox(info, parameters, values, others, e.place().span(), e.type().span(), hint);
    if (Expressions.isUnknown(v)) {
      return failed(e);
    }
    Expr x = hint == null ? expressions.typed(v, null) : v instanceof Val.Typed t ? t.expr()
        : expressions.coerce(v, hint, Expressions.Purpose.ASSIGNMENT);
    boolean isCall = x instanceof Expr.Invoke;
    Pou callee = x instanceof Expr.Invoke i && i.call().target() instanceof Call.Function c ? c.pou() : info.pou();
    List<Ladder.Pin> outputs = outputs(e, isCall ? callee.variables() : parameters, info.pou().name(), x.type(), callee);
    if (x instanceof Expr.Invoke i) {
      Call call = new Call(e.place().span(), i.call().target(), i.call().arguments(), en, Optional.empty());
      return new Ladder.Box(e.place().span(), info.pou().name(), Optional.of(call), Optional.empty(), Optional.empty(), outputs);
    }
    return new Ladder.Box(e.place().span(), info.pou().name(), Optional.empty(), Optional.of(x), en, outputs);
  }

  /** The type of the variable that takes the result: what a literal or an open result type adapts to. Null when there is none. */
  private Type resultTarget(Drawing.Box e, PouInfo info) {
    for (Drawing.Output o : e.outputs()) {
      if (isResult(o, info.pou().name()) && !o.targets().isEmpty()) {
        Expressions.Target t = expressions.resolve(o.targets().get(0), false, null);
        if (t instanceof Expressions.AtPlace p && !Kinds.isUnknown(p.place().type())) {
          return p.place().type();
        }
      }
    }
    return null;
  }

  private static boolean isResult(Drawing.Output o, String function) {
    return o.name().isEmpty() || o.name().get().text().equalsIgnoreCase(function) || o.name().get().key().equals("OUT");
  }

  private List<Ladder.Pin> outputs(Drawing.Box e, List<Variable> parameters, String callee, Type result, Pou pou) {
    List<Ladder.Pin> pins = new ArrayList<>();
    Set<String> seen = new LinkedHashSet<>();
    for (Drawing.Output o : e.outputs()) {
      Ladder.PinSource source = null;
      Type type = Kinds.UNKNOWN;
      Span at = o.name().map(Name::span).orElse(o.span());
      String key = o.name().map(Name::key).orElse("");
      if (!seen.add(key)) {
        session.error("ladder/pin-twice", at, "output " + at.text() + " stands twice");
      }
      Variable p = o.name().isEmpty() ? null : parameters.stream()
          .filter(v -> v.name().equalsIgnoreCase(o.name().get().text())
              && v.section() == (o.inOut() ? Variable.Section.IN_OUT : Variable.Section.OUTPUT)).findFirst().orElse(null);
      if (p != null) {
        source = new Ladder.Parameter(p);
        type = p.type();
      } else if (key.equals("ENO")) {
        source = new Ladder.Eno();
        type = Kinds.BOOL;
      } else if (result != null && !(result instanceof Type.Nothing) && isResult(o, callee)) {
        source = new Ladder.Result();
        type = result;
      } else if (!o.inOut()) {
        List<Variable> out = parameters.stream().filter(v -> v.section() == Variable.Section.OUTPUT).toList();
        session.error("ladder/unknown-pin", at, o.name().isEmpty() ? callee + " has no result" : callee + " has no output " + at.text()
            + "; outputs: "
            + names(out));
      }
      if (o.negated() && !Kinds.isBool(type) && !Kinds.isUnknown(type)) {
        session.error("ladder/negated-pin", new Span(o.span().source(), o.span().end() - 1, o.span().end()),
            at.text() + " is " + type.name() + "; only a BOOL pin can be negated");
      }
      List<Place> targets = new ArrayList<>();
      for (Expression t : o.targets()) {
        target(t, type, at, targets);
      }
      pins.add(new Ladder.Pin(source == null ? new Ladder.Result() : source, type, o.negated(), targets));
    }
    return pins;
  }

  private void target(Expression t, Type type, Span pin, List<Place> into) {
    if (t instanceof Expression.Erroneous) {
      return;
    }
    Optional<Place> p = expressions.place(t);
    if (p.isEmpty() || !expressions.writable(p.get()) || Kinds.isUnknown(type)) {
      return;
    }
    if (!calls.fits(type, p.get().type())) {
      session.error("type/assignment", t.span(), (pin.text().matches("\\w+") ? "output " + pin.text() : "the result") + " of type "
          + type.name() + " cannot be assigned to " + p.get().type().name());
      return;
    }
    into.add(p.get());
  }

  /** A connector of the network may not be named like another element of the POU (S.err-connector-name). */
  private void connectors(Span span) {
    if (!holds(span, '>')) {
      return;
    }
    String text = Marks.BLANKS.matcher(span.text()).replaceAll(m -> " ".repeat(m.group().length()));
    Matcher m = Marks.CONNECTOR.matcher(text);
    Set<String> seen = new LinkedHashSet<>();
    while (m.find()) {
      Variable v = scope.find(Kinds.key(m.group(1)));
      if (v != null && seen.add(Kinds.key(m.group(1)))) {
        int start = span.start() + text.codePointCount(0, m.start(1));
        session.report(Diagnostic.error("name/duplicate", new Span(span.source(), start, start + m.group(1).length()),
            "connector " + m.group(1) + " has the name of a variable").withRelated(v.span(), "the variable"));
      }
    }
  }

  private static boolean holds(Span span, int c) {
    SourceText source = span.source();
    if (source.text().length() == source.length()) {
      int at = source.text().indexOf(c, span.start());
      return at >= 0 && at < span.end();
    }
    for (int i = span.start(); i < span.end(); i++) {
      if (source.codePointAt(i) == c) {
        return true;
      }
    }
    return false;
  }

  /** What connectors look like, compiled when there may be one. */
  private static final class Marks {
    static final Pattern CONNECTOR = Pattern.compile("(?<![>\\w])>([A-Za-z_][A-Za-z_0-9]*)>(?!>)");
    /** Comments and words in parentheses or quotes, on one line. */
    static final Pattern BLANKS = Pattern.compile("\\(\\*[^\\n]*?\\*\\)|//[^\\n]*|\\([^()\\n]*\\)|'[^'\\n]*'");
  }

  // Warnings

  private static boolean unconditional(Drawing.Link link) {
    return link.sources().stream().anyMatch(s -> s instanceof Drawing.Rail);
  }

  /** Which networks may be evaluated, and which after which in the same evaluation of the body. */
  private static final class Flow {
    /** Empty if every network is followed by the next one. */
    private final List<Set<Integer>> next = new ArrayList<>();
    private final boolean known;
    private final boolean straight;

    /** {@code labels} is null if the drawing holds neither jumps nor returns. */
    Flow(Drawing drawing, Map<String, Integer> labels) {
      List<Drawing.Network> all = drawing.networks();
      if (labels == null) {
        known = true;
        straight = true;
        return;
      }
      boolean ok = true;
      for (int n = 0; n < all.size(); n++) {
        Set<Integer> to = new LinkedHashSet<>();
        boolean ends = false;
        for (Drawing.Element e : all.get(n).elements()) {
          if (e instanceof Drawing.Jump j) {
            Integer target = labels.get(j.target().key());
            ok &= target != null;
            if (target != null) {
              to.add(target);
            }
            ends |= unconditional(j.left());
          } else if (e instanceof Drawing.Return r) {
            ends |= unconditional(r.left());
          }
        }
        if (!ends && n + 1 < all.size()) {
          to.add(n + 1);
        }
        next.add(to);
      }
      known = ok;
      straight = isStraight();
    }

    /** Networks that may be evaluated after a network, itself only through a jump back. */
    BitSet after(int from) {
      BitSet reached = new BitSet();
      Deque<Integer> work = new ArrayDeque<>(next.get(from));
      while (!work.isEmpty()) {
        int n = work.pop();
        if (!reached.get(n)) {
          reached.set(n);
          work.addAll(next.get(n));
        }
      }
      return reached;
    }

    private boolean isStraight() {
      for (int n = 0; n < next.size(); n++) {
        if (!next.get(n).equals(n + 1 < next.size() ? Set.of(n + 1) : Set.of())) {
          return false;
        }
      }
      return true;
    }
  }

  /** Networks that no path reaches behind an unconditional jump or return. */
  private void unreachable(Flow flow) {
    List<Drawing.Network> all = drawing.networks();
    if (!flow.known || all.isEmpty() || flow.straight) {
      return;
    }
    BitSet reached = flow.after(0);
    reached.set(0);
    for (int i = 1; i < all.size(); i++) {
      if (!reached.get(i) && reached.get(i - 1)) {
        Drawing.Network n = all.get(i);
        Span at = n.elements().isEmpty() ? n.span() : n.elements().get(0).place().span();
        session.warning("trap/unreachable", at, "network " + n.number() + " is never reached");
      }
    }
  }

  /** Something done to one thing in several networks: where it was first, and in which network. */
  private record Earlier(Span span, int network) {}

  /** The earlier place that may be followed by this one in the same evaluation; null when there is none. */
  private static Earlier before(List<Earlier> earlier, int network, Flow flow) {
    for (Earlier e : earlier) {
      if (e.network == network || flow.straight || !flow.known || flow.after(e.network).get(network)) {
        return e;
      }
    }
    return null;
  }

  /** One instance drawn in several boxes runs several times in one scan. */
  private void instancesTwice(List<Ladder.Network> networks, Flow flow) {
    Map<Variable, List<Earlier>> seen = new LinkedHashMap<>();
    for (int n = 0; n < networks.size(); n++) {
      instancesTwice(networks.get(n), n, flow, seen);
    }
  }

  private void instancesTwice(Ladder.Network network, int n, Flow flow, Map<Variable, List<Earlier>> seen) {
    for (int i = 0; i < network.elements().size(); i++) {
      if (network.elements().get(i) instanceof Ladder.Box b && b.call().isPresent() && b.call().get().target() instanceof Call.Instance c
          && network.drawing().elements().get(i) instanceof Drawing.Box d && c.place() instanceof Place.Var v) {
        Span at = d.instance().orElseThrow().span();
        List<Earlier> earlier = seen.computeIfAbsent(v.variable(), k -> new ArrayList<>());
        Earlier first = before(earlier, n, flow);
        if (first != null) {
          session.report(Diagnostic.warning("trap/instance-twice", at, at.text().strip()
              + " is drawn in several boxes and runs in each of them")
              .withRelated(first.span(), "first here"));
        }
        earlier.add(new Earlier(at, n));
      }
    }
  }

  /** Two coils without S and R on one variable: the last one evaluated wins (S.coil-last-wins). */
  private void coilsTwice(List<Ladder.Network> networks, Flow flow) {
    Map<Object, List<Earlier>> seen = new LinkedHashMap<>();
    for (int n = 0; n < networks.size(); n++) {
      coilsTwice(networks.get(n), n, flow, seen);
    }
  }

  private void coilsTwice(Ladder.Network network, int n, Flow flow, Map<Object, List<Earlier>> seen) {
    for (Ladder.Element e : network.elements()) {
      if (!(e instanceof Ladder.Coil c) || c.mark() == Drawing.CoilMark.SET || c.mark() == Drawing.CoilMark.RESET) {
        continue;
      }
      Object key = Usage.identity(c.operand());
      if (key == null) {
        continue;
      }
      List<Earlier> earlier = seen.computeIfAbsent(key, k -> new ArrayList<>(1));
      Earlier first = before(earlier, n, flow);
      if (first != null) {
        session.report(Diagnostic.warning("trap/two-writers", c.operand().span(), c.title()
            + " is written by several coils; the last one evaluated wins")
            .withRelated(first.span(), "an earlier coil"));
      }
      earlier.add(new Earlier(c.operand().span(), n));
      session.usage.writes(key, c.operand(), scope);
    }
  }
}
