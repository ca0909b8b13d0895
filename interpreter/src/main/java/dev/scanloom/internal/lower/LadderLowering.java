package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Ladder;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/**
 * Lowers a ladder body. Elements are evaluated in the order of the drawing's graph; the state of a link that is used once, by the next element, stays on
 * the operand stack, others are kept in temporaries of the frame.
 */
final class LadderLowering {
  private static final int BOOL = ElementaryType.BOOL.ordinal();

  private final Lowering lowering;
  private final BodyLowering body;
  /** Of the networks that were lowered or jumped to. */
  private BodyLowering.Label[] starts = {};

  LadderLowering(Lowering lowering, BodyLowering body) {
    this.lowering = lowering;
    this.body = body;
  }

  void lower(Ladder ladder) {
    starts = new BodyLowering.Label[ladder.networks().size()];
    for (int i = 0; i < ladder.networks().size(); i++) {
      network(ladder.networks().get(i), i);
    }
    body.at(-1, 0);
    body.links(null);
  }

  private void network(Ladder.Network network, int index) {
    body.set(start(index));
    new One(network, index).lower();
  }

  private BodyLowering.Label start(int network) {
    if (starts[network] == null) {
      starts[network] = new BodyLowering.Label();
    }
    return starts[network];
  }

  /** One network. */
  private final class One implements Ladder.Visitor<Void>, ExpressionLowering.LinkSource {
    private final Ladder.Network network;
    private final int index;
    /** By element, where its pins begin in the other two. */
    private final int[] firstPin;
    private final int[] uses;
    private final int[] temps;
    /** The element that is lowered, and what was drawn for it. */
    private int at;
    private Drawing.Element drawn;
    /** Element whose output is on the stack, or -1. */
    private int carried = -1;
    private final List<int[]> exits = new ArrayList<>();

    One(Ladder.Network network, int index) {
      this.network = network;
      this.index = index;
      int n = network.elements().size();
      int pins = 0;
      firstPin = new int[n];
      for (int i = 0; i < n; i++) {
        firstPin[i] = pins;
        pins += network.elements().get(i) instanceof Ladder.Box b ? Math.max(1, b.pins().size()) : 1;
      }
      uses = new int[pins];
      temps = new int[pins];
      for (int i = 0; i < n; i++) {
        countUses(i);
      }
    }

    private void countUses(int i) {
      if (!(network.elements().get(i) instanceof Ladder.Box)) {
        count(leftOf(network.elements().get(i)));
        return;
      }
      for (Drawing.Input in : ((Drawing.Box) network.drawing().elements().get(i)).inputs()) {
        // A box may evaluate its inputs in any order and number, so what feeds it is kept in a temporary.
        if (in.link().isPresent()) {
          count(in.link().get());
          count(in.link().get());
        }
      }
    }

    private int pin(Drawing.Out o) {
      return firstPin[o.element()] + o.pin();
    }

    private void count(Drawing.Link link) {
      for (Drawing.Port p : link.sources()) {
        if (p instanceof Drawing.Out o) {
          uses[pin(o)]++;
        }
      }
    }

    void lower() {
      body.links(this);
      for (int i = 0; i < network.elements().size(); i++) {
        at = i;
        drawn = network.drawing().elements().get(i);
        network.elements().get(i).accept(this);
      }
      body.at(-1, index + 1);
      for (int[] exit : exits) {
        leave(exit[0], exit[1], network.elements().get(exit[2]).span());
      }
    }

    private void leave(int temp, int target, Span span) {
      body.emit(Op.LOAD_TEMP, temp, 0, span);
      if (target >= 0) {
        BodyLowering.Label to = start(target);
        body.jump(Op.JUMP_TRUE, to, target > index ? to : body.endLabel(), span);
      } else {
        body.jump(Op.JUMP_TRUE, body.endLabel(), body.endLabel(), span);
      }
    }

    /** Pushes the state of a link. */
    @Override
    public void push(Drawing.Link link, Span span) {
      boolean first = true;
      boolean withCarried = false;
      for (Drawing.Port p : link.sources()) {
        withCarried |= p instanceof Drawing.Out o && o.element() == carried && o.pin() == 0;
      }
      if (withCarried) {
        carried = -1;
        first = false;
      }
      for (Drawing.Port p : link.sources()) {
        if (p instanceof Drawing.Rail) {
          body.constant(1, span);
        } else if (p instanceof Drawing.Out o) {
          if (withCarried && temps[pin(o)] == 0 && o.pin() == 0) {
            continue;
          }
          body.emit(Op.LOAD_TEMP, temps[pin(o)] - 1, 0, span);
        }
        if (!first) {
          body.emit(Op.OR, 0, 0, span);
        }
        first = false;
      }
    }

    /** The value on the stack is the right link of element {@code i}: leaves it there, keeps it in a temporary or drops it. */
    private void right(int i, Span span) {
      if (uses[firstPin[i]] == 0) {
        body.emit(Op.POP, 0, 0, span);
      } else if (uses[firstPin[i]] == 1 && usedByNext(i)) {
        carried = i;
      } else {
        keep(i, 0, span);
      }
    }

    private void keep(int i, int pin, Span span) {
      int t = body.temp(1);
      temps[firstPin[i] + pin] = t + 1;
      body.emit(Op.STORE_TEMP, t, 0, span);
    }

    private boolean usedByNext(int i) {
      if (i + 1 >= network.elements().size()) {
        return false;
      }
      Drawing.Link left = leftOf(network.elements().get(i + 1));
      if (left == null) {
        return false;
      }
      for (Drawing.Port p : left.sources()) {
        if (p instanceof Drawing.Out o && o.element() == i && o.pin() == 0) {
          return true;
        }
      }
      return false;
    }

    /** The only link that an element other than a box takes its state from; null of a box. */
    private static Drawing.Link leftOf(Ladder.Element e) {
      if (e instanceof Ladder.Contact c) {
        return c.left();
      }
      if (e instanceof Ladder.Coil c) {
        return c.left();
      }
      if (e instanceof Ladder.Compare c) {
        return c.left();
      }
      if (e instanceof Ladder.Jump j) {
        return j.left();
      }
      return e instanceof Ladder.Return r ? r.left() : null;
    }

    private int register(Ladder.Element e, Code.ElementKind kind, String mark) {
      return register(e, kind, mark, null);
    }

    private int register(Ladder.Element e, Code.ElementKind kind, String mark, BodyLowering.Where operand) {
      int self = -1;
      long address = 0;
      if (operand != null && operand.mode() == BodyLowering.Where.Mode.SELF) {
        self = (int) operand.value();
      } else if (operand != null) {
        address = operand.value();
      }
      int id = lowering.nextElement();
      lowering.element(new Code.LadderElement(id, body.number(), index + 1, kind, mark, e.title(), e.span(), drawn.place().row(),
          drawn.place().column(), self, address));
      body.at(id, index + 1);
      return id;
    }

    /** Where an operand lies when that is known before run time; null otherwise. */
    private BodyLowering.Where staticWhere(Place p) {
      if (!isStatic(p)) {
        return null;
      }
      BodyLowering.Where w = body.where(p);
      return w.isPart() || w.mode() == BodyLowering.Where.Mode.STACK || w.mode() == BodyLowering.Where.Mode.FRAME ? null : w;
    }

    private boolean isStatic(Place p) {
      if (p instanceof Place.Var v) {
        return v.variable().section() != Variable.Section.IN_OUT && !Layout.isStarred(v.variable()) && !Layout.isOpenArray(v.variable().type());
      }
      if (p instanceof Place.Member m) {
        return isStatic(m.base()) && m.field().section() != Variable.Section.IN_OUT && !Layout.isStarred(m.field());
      }
      if (p instanceof Place.Element e) {
        for (Expr i : e.indices()) {
          if (!(i instanceof Expr.Constant)) {
            return false;
          }
        }
        return isStatic(e.base());
      }
      if (p instanceof Place.Bits b) {
        return isStatic(b.base());
      }
      return p instanceof Place.Direct || p instanceof Place.This;
    }

    @Override
    public Void contact(Ladder.Contact x) {
      String mark = switch (x.mark()) {
        case NORMAL -> " ";
        case NEGATED -> "/";
        case RISING -> "P";
        case FALLING -> "N";
      };
      BodyLowering.Where operand = staticWhere(x.operand());
      int id = register(x, Code.ElementKind.CONTACT, mark, operand);
      push(x.left(), x.span());
      lowerContact(x, operand, id);
      right(at, x.span());
      return null;
    }

    @Override
    public Void compare(Ladder.Compare x) {
      int id = register(x, Code.ElementKind.COMPARE, ((Drawing.Compare) drawn).comparison().name());
      push(x.left(), x.span());
      body.expression(x.condition());
      body.emit(Op.CONTACT, id, 0, x.span());
      right(at, x.span());
      return null;
    }

    @Override
    public Void coil(Ladder.Coil x) {
      lowerCoil(x);
      return null;
    }

    @Override
    public Void jump(Ladder.Jump x) {
      int id = register(x, Code.ElementKind.JUMP, ">>");
      exit(x.left(), id, x.network(), x.span());
      return null;
    }

    @Override
    public Void returnFrom(Ladder.Return x) {
      int id = register(x, Code.ElementKind.RETURN, "<");
      exit(x.left(), id, -1, x.span());
      return null;
    }

    @Override
    public Void box(Ladder.Box x) {
      lowerBox(at, x);
      return null;
    }

    /** Jumps and returns are taken when the whole network has been evaluated. */
    private void exit(Drawing.Link left, int id, int target, Span span) {
      push(left, span);
      body.emit(Op.ELEMENT, id, 0, span);
      int t = body.temp(1);
      body.emit(Op.STORE_TEMP, t, 0, span);
      exits.add(new int[] {t, target, at});
    }

    private void lowerContact(Ladder.Contact x, BodyLowering.Where operand, int id) {
      Span span = x.span();
      if (operand == null) {
        read(x.operand(), span);
      } else {
        body.load(operand, BOOL, span);
      }
      switch (x.mark()) {
        case NORMAL -> {
          // the operand as it is
        }
        case NEGATED -> body.emit(Op.NOT, 0, BOOL, span);
        case RISING -> edge(x.memory().orElseThrow(), true, span);
        case FALLING -> edge(x.memory().orElseThrow(), false, span);
      }
      body.emit(Op.CONTACT, id, 0, span);
    }

    private void read(Place p, Span span) {
      body.expression(new Expr.Read(span, p));
    }

    /** value -- edge; the memory takes the value. */
    private void edge(Variable memory, boolean rising, Span span) {
      Place m = new Place.Var(span, memory);
      body.emit(Op.DUP, 0, 0, span);
      if (rising) {
        read(m, span);
        body.emit(Op.NOT, 0, BOOL, span);
      } else {
        body.emit(Op.NOT, 0, BOOL, span);
        read(m, span);
      }
      body.emit(Op.AND, 0, 0, span);
      body.emit(Op.SWAP, 0, 0, span);
      body.storeValue(m, span);
    }

    private void lowerCoil(Ladder.Coil x) {
      Span span = x.span();
      String mark = switch (x.mark()) {
        case NORMAL -> " ";
        case NEGATED -> "/";
        case SET -> "S";
        case RESET -> "R";
        case RISING -> "P";
        case FALLING -> "N";
      };
      int id = register(x, Code.ElementKind.COIL, mark, staticWhere(x.operand()));
      push(x.left(), span);
      body.emit(Op.ELEMENT, id, 0, span);
      boolean used = uses[firstPin[at]] > 0;
      if (used) {
        body.emit(Op.DUP, 0, 0, span);
      }
      switch (x.mark()) {
        case NORMAL -> body.storeValue(x.operand(), span);
        case NEGATED -> {
          body.emit(Op.NOT, 0, BOOL, span);
          body.storeValue(x.operand(), span);
        }
        case SET, RESET -> {
          BodyLowering.Label done = new BodyLowering.Label();
          body.jump(Op.JUMP_FALSE, done, done, span);
          body.constant(x.mark() == Drawing.CoilMark.SET ? 1 : 0, span);
          body.storeValue(x.operand(), span);
          body.set(done);
        }
        case RISING -> {
          edge(x.memory().orElseThrow(), true, span);
          body.storeValue(x.operand(), span);
        }
        case FALLING -> {
          edge(x.memory().orElseThrow(), false, span);
          body.storeValue(x.operand(), span);
        }
      }
      if (used) {
        right(at, span);
      }
    }

    // ---- boxes ----

    private void lowerBox(int i, Ladder.Box x) {
      Span span = x.span();
      int id = register(x, Code.ElementKind.BOX, "box");
      for (int pin = 0; pin < x.pins().size(); pin++) {
        if (uses[firstPin[i] + pin] > 0 || x.pins().get(pin).source() instanceof Ladder.Eno) {
          int t = body.temp(1);
          temps[firstPin[i] + pin] = t + 1;
          body.constant(0, span);
          body.emit(Op.STORE_TEMP, t, 0, span);
        }
      }
      boolean hasEno = x.pins().stream().anyMatch(p -> p.source() instanceof Ladder.Eno);
      Optional<Expr> en = x.call().flatMap(Call::en).or(x::en);
      BodyLowering.Label off = new BodyLowering.Label();
      BodyLowering.Label done = new BodyLowering.Label();
      int height = body.depth();
      if (en.isPresent()) {
        body.expression(en.get());
      } else {
        body.constant(1, span);
      }
      body.emit(Op.ELEMENT, id, 0, span);
      if (en.isPresent()) {
        body.jump(Op.JUMP_FALSE, off, done, span);
      } else {
        body.emit(Op.POP, 0, 0, span);
      }
      if (hasEno) {
        body.guard(off, span);
      }
      int result = execute(x, span);
      if (hasEno) {
        body.emit(Op.UNGUARD, 0, 0, span);
      }
      boolean instance = x.call().isPresent() && x.call().get().target() instanceof Call.Instance;
      for (int pin = 0; pin < x.pins().size(); pin++) {
        pin(i, x, pin, result, true);
      }
      if (en.isPresent() || hasEno) {
        body.jump(Op.JUMP, done, null, span);
        body.depth(height);
        body.set(off);
        for (int pin = 0; pin < x.pins().size(); pin++) {
          Ladder.PinSource source = x.pins().get(pin).source();
          // Not executed: ENO is OFF; an FB's outputs keep their values, a function's are not written.
          if (source instanceof Ladder.Eno || (instance && source instanceof Ladder.Parameter)) {
            pin(i, x, pin, result, false);
          }
        }
        body.set(done);
      }
    }

    /** Executes the box; its result, if it has one, is kept in the temporary that is returned. */
    private int execute(Ladder.Box x, Span span) {
      boolean wantsResult = x.pins().stream().anyMatch(p -> p.source() instanceof Ladder.Result);
      if (x.call().isPresent()) {
        Call call = x.call().get();
        Optional<Type> type = wantsResult ? x.pins().stream().filter(p -> p.source() instanceof Ladder.Result).map(Ladder.Pin::type).findFirst()
            : Optional.empty();
        Call plain = new Call(call.span(), call.target(), call.arguments(), Optional.empty(), Optional.empty());
        body.invoke(plain, type);
        if (type.isEmpty()) {
          return -1;
        }
      } else {
        Expr value = x.value().orElseThrow();
        body.expression(value);
        if (value.type().base() instanceof Type.Nothing) {
          return -1;
        }
        if (!wantsResult) {
          body.emit(Op.POP, 0, 0, span);
          return -1;
        }
      }
      int t = body.temp(1);
      body.emit(Op.STORE_TEMP, t, 0, span);
      return t;
    }

    private void pin(int i, Ladder.Box x, int pin, int result, boolean executed) {
      Ladder.Pin p = x.pins().get(pin);
      int use = uses[firstPin[i] + pin];
      int temp = temps[firstPin[i] + pin];
      if (use == 0 && p.targets().isEmpty() && !(p.source() instanceof Ladder.Eno)) {
        return;
      }
      Span span = x.span();
      if (p.source() instanceof Ladder.Result) {
        body.emit(Op.LOAD_TEMP, result, 0, span);
      } else if (p.source() instanceof Ladder.Eno) {
        if (executed && x.call().isPresent()) {
          body.pushEno(x.call().get(), ownEno(x.call().get()), span);
        } else {
          body.constant(executed ? 1 : 0, span);
        }
      } else if (p.source() instanceof Ladder.Parameter q) {
        body.pushOutput(x.call().orElseThrow(), q.parameter(), span);
      }
      if (p.negated()) {
        body.emit(Op.NOT, 0, BOOL, span);
      }
      int value = use > 0 || temp > 0 ? temp - 1 : body.temp(1);
      body.emit(Op.STORE_TEMP, value, 0, span);
      for (Place target : p.targets()) {
        write(target, p.type(), value, span);
      }
    }

    private void write(Place target, Type type, int value, Span span) {
      if (Layout.isScalar(type) && Layout.isScalar(target.type())) {
        ElementaryType from = Layout.kind(type);
        ElementaryType to = Layout.kind(target.type());
        body.store(target, () -> {
          body.emit(Op.LOAD_TEMP, value, 0, span);
          if (from != to) {
            body.emit(Op.CONVERT, from.ordinal() | to.ordinal() << 8, 0, span);
          }
        }, span);
      } else {
        body.address(body.where(target), span);
        body.emit(Op.LOAD_TEMP, value, 0, span);
        body.copy(target.type(), type, span);
      }
    }

    private Variable ownEno(Call call) {
      if (call.target() instanceof Call.Function f) {
        return f.pou().variable("ENO").orElse(null);
      }
      return call.target() instanceof Call.Instance n ? n.pou().variable("ENO").orElse(null) : null;
    }
  }
}
