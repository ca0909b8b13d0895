package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import java.util.HashMap;
import java.util.List;
import java.util.Map;

/** Where variables and their parts lie: addresses, reading and writing. */
abstract class PlaceLowering extends StepEmitter {
  /** Where a place lies, as far as it is known without code. STACK: its address is on the operand stack, {@code value} is to be added. */
  record Where(Mode mode, long value, int partOffset, int partWidth) {
    enum Mode { SELF, FRAME, STATIC, LOCATED, STACK }

    static Where of(Mode mode, long value) {
      return new Where(mode, value, 0, 0);
    }

    Where plus(long slots) {
      return new Where(mode, value + slots, partOffset, partWidth);
    }

    boolean isPart() {
      return partWidth > 0;
    }
  }

  PlaceLowering(Lowering lowering, int number, Pou pou) {
    super(lowering, number, pou);
  }

  /** Pushes the value of an expression: a scalar, or the address of a string or aggregate. */
  abstract void expression(Expr e);


  Where where(Place place) {
    return place.accept(wheres);
  }

  private final Place.Visitor<Where> wheres = new Place.Visitor<>() {
    @Override
    public Where variable(Place.Var p) {
      return variableWhere(p.variable(), p.span());
    }

    @Override
    public Where member(Place.Member p) {
      Variable f = p.field();
      if (f.located().isPresent() && !Layout.isStarred(f)) {
        return Where.of(Where.Mode.LOCATED, lowering.located(f.located().get(), f.type()));
      }
      Where base = where(p.base());
      layoutOwner(p.base().type());
      Layout.Storage s = layout.storage(f);
      if (f.relative().isPresent()) {
        Where w = base.plus(s.offset());
        return new Where(w.mode(), w.value(), f.relative().get().bitOffset() % 64, Layout.kind(f.type()).bits());
      }
      Where at = base.plus(s.offset());
      if (s.indirect()) {
        load(at, k(ElementaryType.ULINT), p.span());
        emit(Op.CHECK_NULL, 0, 0, p.span());
        return Where.of(Where.Mode.STACK, 0);
      }
      return at;
    }

    @Override
    public Where element(Place.Element p) {
      return elementWhere(p);
    }

    @Override
    public Where dereference(Place.Deref p) {
      expression(p.reference());
      emit(Op.CHECK_NULL, 0, 0, p.span());
      return Where.of(Where.Mode.STACK, 0);
    }

    @Override
    public Where direct(Place.Direct p) {
      return Where.of(Where.Mode.LOCATED, lowering.located(p.location(), p.type()));
    }

    @Override
    public Where bits(Place.Bits p) {
      Where base = where(p.base());
      if (base.isPart()) {
        return new Where(base.mode(), base.value(), base.partOffset() + p.offset(), p.width());
      }
      if (base.mode() == Where.Mode.LOCATED) {
        return base.plus(p.offset());
      }
      return new Where(base.mode(), base.value(), p.offset(), p.width());
    }

    @Override
    public Where character(Place.Character p) {
      throw new IllegalStateException("a character has no address");
    }

    @Override
    public Where self(Place.This p) {
      return Where.of(Where.Mode.SELF, 0);
    }
  };

  private void layoutOwner(Type type) {
    Type t = type.base();
    if (t instanceof Type.Block b) {
      layout.instance(b.pou());
    } else {
      layout.slots(t);
    }
  }

  /** Variables whose place needs no code: programs name the same ones again and again. */
  private final Map<Variable, Where> known = new HashMap<>();

  private Where variableWhere(Variable v, Span span) {
    Where where = known.get(v);
    if (where == null) {
      where = newWhere(v, span);
      if (where.mode() != Where.Mode.STACK) {
        known.put(v, where);
      }
    }
    return where;
  }

  private Where newWhere(Variable v, Span span) {
    if (v.section() == Variable.Section.EXTERNAL) {
      return variableWhere(v.global().orElseThrow(() -> new IllegalStateException("external " + v.name() + " has no global")), span);
    }
    if (v.located().isPresent() && !Layout.isStarred(v)) {
      return Where.of(Where.Mode.LOCATED, lowering.located(v.located().get(), v.type()));
    }
    Layout.Storage s = layout.storage(v);
    Where.Mode mode = switch (s.area()) {
      case INSTANCE -> Where.Mode.SELF;
      case FRAME -> Where.Mode.FRAME;
      case STATIC -> Where.Mode.STATIC;
      case FIELD -> throw new IllegalStateException("a field has no place of its own");
    };
    Where at = Where.of(mode, s.offset());
    if (s.indirect()) {
      load(at, k(ElementaryType.ULINT), span);
      emit(Op.CHECK_NULL, 0, 0, span);
      return Where.of(Where.Mode.STACK, 0);
    }
    return at;
  }

  private Where elementWhere(Place.Element p) {
    Type.Array a = (Type.Array) p.base().type().base();
    if (a.open()) {
      return openElement(p, a);
    }
    Where base = where(p.base());
    long position = base.mode() == Where.Mode.STACK ? -1 : position(p, a);
    if (position >= 0) {
      return base.plus(position * (base.mode() == Where.Mode.LOCATED ? elementBits(a) : layout.slots(a.element())));
    }
    address(base, p.span());
    long strideSlots = layout.slots(a.element());
    long strideBits = elementBits(a);
    long[] slotStrides = new long[p.indices().size()];
    long[] bitStrides = new long[p.indices().size()];
    for (int d = p.indices().size() - 1; d >= 0; d--) {
      slotStrides[d] = strideSlots;
      bitStrides[d] = strideBits;
      strideSlots *= a.bounds().get(d).length();
      strideBits *= a.bounds().get(d).length();
    }
    for (int d = 0; d < p.indices().size(); d++) {
      Type.Bounds b = a.bounds().get(d);
      expression(p.indices().get(d));
      emit(Op.INDEX, out.run(b.low(), b.high(), slotStrides[d], bitStrides[d]), 0, p.indices().get(d).span());
    }
    return Where.of(Where.Mode.STACK, 0);
  }

  /** Number of an element in the order of the array's memory; -1 when a subscript is not constant. Constant ones have been checked. */
  private static long position(Place.Element p, Type.Array a) {
    List<Expr> indices = p.indices();
    int n = indices.size();
    long position = 0;
    for (int d = 0; d < n; d++) {
      if (!(indices.get(d) instanceof Expr.Constant c)) {
        return -1;
      }
      Type.Bounds b = a.bounds().get(d);
      position = position * b.length() + c.value() - b.low();
    }
    return position;
  }

  /** Bits that an element takes in a located area; 0 for what cannot lie there. */
  private static int elementBits(Type.Array a) {
    return Layout.isScalar(a.element()) ? Layout.kind(a.element()).bits() : 0;
  }

  private Where openElement(Place.Element p, Type.Array a) {
    Layout.Storage s = descriptor(p.base());
    address(where(p.base()), p.span());
    constant(0, p.span());
    for (int d = 0; d < p.indices().size(); d++) {
      expression(p.indices().get(d));
      // position index -- ; the descriptor of dimension d stands behind the address
      int at = emit(Op.OPEN_INDEX, s.offset() + 1 + 2 * d, s.area() == Layout.Area.FRAME ? 0 : 1, p.indices().get(d).span());
      assert at >= 0;
    }
    emit(Op.OPEN_END, layout.slots(a.element()), Layout.isScalar(a.element()) ? Layout.kind(a.element()).bits() : 0, p.span());
    return Where.of(Where.Mode.STACK, 0);
  }

  /** Storage of the parameter that an open array is. */
  Layout.Storage descriptor(Place place) {
    if (place instanceof Place.Var v) {
      return layout.storage(v.variable());
    }
    throw new IllegalStateException("an open array is a parameter");
  }

  /** Leaves the address of a place on the stack. */
  void address(Where w, Span span) {
    if (w.isPart()) {
      throw new IllegalStateException("a part of a bit string has no address");
    }
    switch (w.mode()) {
      case SELF -> emit(Op.ADDRESS_SELF, (int) w.value(), 0, span);
      case FRAME -> emit(Op.ADDRESS_FRAME, (int) w.value(), 0, span);
      case STATIC, LOCATED -> constant(w.value(), span);
      case STACK -> {
        if (w.value() != 0) {
          emit(Op.OFFSET, (int) w.value(), 0, span);
        }
      }
    }
  }

  /** Pushes the scalar at a place. */
  void load(Where w, int kind, Span span) {
    if (w.isPart()) {
      load(new Where(w.mode(), w.value(), 0, 0), k(ElementaryType.LWORD), span);
      emit(Op.BITS_GET, w.partOffset(), w.partWidth(), span);
      signed(kind, w.partWidth(), span);
      return;
    }
    switch (w.mode()) {
      case SELF -> emit(Op.LOAD_SELF, (int) w.value(), kind, span);
      case FRAME -> emit(Op.LOAD_FRAME, (int) w.value(), kind, span);
      case STATIC -> emit(Op.LOAD_STATIC, (int) w.value(), kind, span);
      case LOCATED -> emit(Op.LOAD_LOCATED, out.constant(w.value()), kind, span);
      case STACK -> {
        address(w, span);
        emit(Op.LOAD_INDIRECT, 0, kind, span);
      }
    }
  }

  /** A part of a slot read as a signed kind: its bits are extended by a conversion. */
  private void signed(int kind, int width, Span span) {
    ElementaryType t = Arith.kind(kind);
    if (t.family() == ElementaryType.Family.SIGNED && t.bits() == width && width < 64) {
      emit(Op.CONVERT, k(ElementaryType.LWORD) | kind << 8, 0, span);
    }
  }

  /**
   * Stores the value that {@code value} pushes. When the address needs code, it is computed first.
   */
  void store(Place target, Runnable value, Span span) {
    if (target instanceof Place.Character c) {
      address(where(c.base()), c.span());
      expression(c.index());
      value.run();
      emit(Op.CHAR_PUT, 0, kindOf(c.base().type()), span);
      return;
    }
    Where w = where(target);
    int kind = kindOf(target.type());
    if (w.isPart()) {
      storePart(w, kind, value, span);
      return;
    }
    if (w.mode() == Where.Mode.STACK) {
      address(w, span);
      value.run();
      emit(Op.STORE_INDIRECT, 0, kind, span);
      return;
    }
    value.run();
    storeTop(w, kind, span);
  }

  private void storePart(Where w, int kind, Runnable value, Span span) {
    int word = k(ElementaryType.LWORD);
    Where whole = new Where(w.mode(), w.value(), 0, 0);
    if (w.mode() == Where.Mode.STACK) {
      address(whole, span);
      emit(Op.DUP, 0, 0, span);
      emit(Op.LOAD_INDIRECT, 0, word, span);
      value.run();
      emit(Op.BITS_PUT, w.partOffset(), w.partWidth(), span);
      emit(Op.STORE_INDIRECT, 0, word, span);
      return;
    }
    load(whole, word, span);
    value.run();
    emit(Op.BITS_PUT, w.partOffset(), w.partWidth(), span);
    storeTop(whole, word, span);
  }

  /** Stores the top of the stack at a place that needs no code. */
  void storeTop(Where w, int kind, Span span) {
    switch (w.mode()) {
      case SELF -> emit(Op.STORE_SELF, (int) w.value(), kind, span);
      case FRAME -> emit(Op.STORE_FRAME, (int) w.value(), kind, span);
      case STATIC -> emit(Op.STORE_STATIC, (int) w.value(), kind, span);
      case LOCATED -> emit(Op.STORE_LOCATED, out.constant(w.value()), kind, span);
      case STACK -> throw new IllegalStateException("the address is below the value");
    }
  }

  /** Stores the scalar on top of the stack at any place. */
  void storeValue(Place target, Span span) {
    Where w = target instanceof Place.Var v && !layoutIndirect(v.variable()) ? where(target) : null;
    if (w != null && !w.isPart() && w.mode() != Where.Mode.STACK) {
      storeTop(w, kindOf(target.type()), span);
      return;
    }
    int t = temp(1);
    emit(Op.STORE_TEMP, t, 0, span);
    store(target, () -> emit(Op.LOAD_TEMP, t, 0, span), span);
  }

  private boolean layoutIndirect(Variable v) {
    if (v.section() == Variable.Section.EXTERNAL) {
      return layoutIndirect(v.global().orElseThrow());
    }
    return !(v.located().isPresent() && !Layout.isStarred(v)) && layout.storage(v).indirect();
  }

  /** target source -- : copies a string or aggregate. */
  void copy(Type target, Type source, Span span) {
    if (target.base() instanceof Type.Text t) {
      if (source.base() instanceof Type.Text s && s.kind() != t.kind()) {
        emit(Op.TEXT_CONVERT, t.capacity(), k(s.kind()) | k(t.kind()) << 8, span);
      } else {
        emit(Op.TEXT_COPY, t.capacity(), k(t.kind()), span);
      }
    } else {
      emit(Op.COPY, layout.slots(target), Layout.elementKind(target), span);
    }
  }

  // ---- for functions of the core ----

  private Layout layout() {
    return layout;
  }

  /** The number of a dimension, from 1, on the stack above a 0 becomes its place in a list, from 0; another number faults. */
  void dimension(int dimensions, Span span) {
    emit(Op.INDEX, out.run(1, dimensions, 1, 1), 0, span);
  }

  /** Bounds of an open array parameter, pushed: low or high of every dimension in turn. */
  void pushOpenBounds(Place array, boolean upper, Span span) {
    Layout.Storage s = descriptor(array);
    int dimensions = ((Type.Array) array.type().base()).bounds().size();
    for (int d = 0; d < dimensions; d++) {
      emit(s.area() == Layout.Area.FRAME ? Op.LOAD_FRAME : Op.LOAD_SELF, s.offset() + 1 + 2 * d + (upper ? 1 : 0), k(ElementaryType.DINT), span);
    }
  }
}
