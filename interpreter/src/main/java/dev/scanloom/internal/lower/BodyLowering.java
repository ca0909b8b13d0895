package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Code;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.check.Stmt;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.function.Consumer;

/**
 * Lowers one body: places, expressions, calls and statements. Operand stack heights are tracked while steps are emitted; frame offsets behind the body's own
 * frame (parameters of callees) are patched when its size is known.
 */
final class BodyLowering {
  /** A jump target; steps that refer to it are patched when it is set. */
  static final class Label {
    private int at = -1;
    private final List<Integer> users = new ArrayList<>();
    private final List<Integer> regionUsers = new ArrayList<>();
  }

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

  private final Lowering lowering;
  private final Layout layout;
  private final Assembler out;
  private final int number;
  private final Pou pou;
  private final int start;
  private int frame;
  private int highest;
  private int depth;
  private int maxDepth;
  private final List<Integer> beyondA = new ArrayList<>();
  private final List<Integer> beyondB = new ArrayList<>();
  private final List<Loop> loops = new ArrayList<>();
  private final List<Region> regions = new ArrayList<>();
  private final Label end = new Label();
  private int element = -1;
  private int network;
  private LinkSource links;

  /** How expressions inside a ladder box get the state of a link. */
  interface LinkSource {
    void push(Drawing.Link link, Span span);
  }

  private record Loop(Label exit, Label next, int regionsOutside) {}

  /** A stretch that a branch decides about; grows to the end of a loop or the body when something in it leaves early. */
  private static final class Region {
    private Label until;

    private Region(Label until) {
      this.until = until;
    }
  }

  BodyLowering(Lowering lowering, int number, Pou pou) {
    this.lowering = lowering;
    this.layout = lowering.layout;
    this.out = lowering.out;
    this.number = number;
    this.pou = pou;
    this.start = out.size();
    this.frame = layout.frame(pou);
    this.highest = frame;
  }

  int start() {
    return start;
  }

  int number() {
    return number;
  }

  Pou pou() {
    return pou;
  }

  int frameSlots() {
    return highest;
  }

  int maxDepth() {
    return maxDepth;
  }

  Label endLabel() {
    return end;
  }

  void at(int elementId, int networkNumber) {
    element = elementId;
    network = networkNumber;
  }

  void links(LinkSource source) {
    links = source;
  }

  /** Returns at the end and patches what refers behind the frame. */
  void finish() {
    set(end);
    emit(Op.RETURN, 0, 0, pou.span());
    for (int step : beyondA) {
      out.setA(step, out.a(step) + highest);
    }
    for (int step : beyondB) {
      out.setB(step, highest);
    }
  }

  // ---- emitting ----

  int emit(Op op, int a, int b, Span span) {
    int pops = op == Op.MUX ? a + 1 : op.pops();
    depth += op.pushes() - pops;
    maxDepth = Math.max(maxDepth, depth + 4);
    return out.emit(op, a, b, span, element, network);
  }

  int depth() {
    return depth;
  }

  void depth(int d) {
    depth = d;
  }

  void set(Label l) {
    l.at = out.size();
    for (int user : l.users) {
      out.setA(user, l.at);
    }
    for (int user : l.regionUsers) {
      out.setB(user, l.at);
    }
    l.users.clear();
    l.regionUsers.clear();
  }

  void jump(Op op, Label target, Label regionEnd, Span span) {
    int at = emit(op, target.at, regionEnd == null ? -1 : regionEnd.at, span);
    if (target.at < 0) {
      target.users.add(at);
    }
    if (regionEnd != null && regionEnd.at < 0) {
      regionEnd.regionUsers.add(at);
    }
  }

  void guard(Label handler, Span span) {
    int at = emit(Op.GUARD, handler.at, 0, span);
    if (handler.at < 0) {
      handler.users.add(at);
    }
  }

  void constant(long value, Span span) {
    emit(Op.CONST, out.constant(value), 0, span);
  }

  /** A temporary of {@code slots} slots in the frame. Temporaries are not reused: a string that an expression refers to must live on. */
  int temp(int slots) {
    int at = highest;
    highest += slots;
    return at;
  }

  private static int k(ElementaryType t) {
    return t.ordinal();
  }

  private static int kindOf(Type t) {
    return Layout.kind(t).ordinal();
  }

  // ---- prologue ----

  /** Initializes what the body's frame holds and samples edge inputs. */
  void prologue() {
    boolean all = pou.kind() == Pou.Kind.FUNCTION || pou.kind() == Pou.Kind.METHOD;
    for (Variable v : pou.variables()) {
      switch (v.section()) {
        case TEMP -> initializeFrame(v);
        case LOCAL, HIDDEN, OUTPUT, RESULT -> {
          if (all) {
            initializeFrame(v);
          }
        }
        case INPUT -> {
          if (v.edge() != Variable.Edge.NONE && !all) {
            sampleEdge(v);
          }
        }
        case IN_OUT, EXTERNAL, GLOBAL, FIELD -> {
          // passed, or static
        }
      }
    }
    if (pou.base().isPresent() && !all) {
      inheritedEdges(pou.base().get());
    }
  }

  /** Initializes the temporaries of the POU for a further body of it. */
  void temporaries() {
    for (Variable v : pou.variables()) {
      if (v.section() == Variable.Section.TEMP) {
        initializeFrame(v);
      }
    }
  }

  private void inheritedEdges(Pou base) {
    for (Variable v : base.variables()) {
      if (v.section() == Variable.Section.INPUT && v.edge() != Variable.Edge.NONE) {
        sampleEdge(v);
      }
    }
    base.base().ifPresent(this::inheritedEdges);
  }

  private void sampleEdge(Variable v) {
    int at = layout.storage(v).offset();
    int bool = k(ElementaryType.BOOL);
    boolean rising = v.edge() == Variable.Edge.RISING;
    // value := raw AND NOT previous (falling: NOT raw AND previous of an inverted memory, as F_TRIG); previous := raw
    emit(Op.LOAD_SELF, at + 1, bool, v.span());
    if (!rising) {
      emit(Op.NOT, 0, bool, v.span());
    }
    emit(Op.DUP, 0, 0, v.span());
    emit(Op.LOAD_SELF, at + 2, bool, v.span());
    emit(Op.NOT, 0, bool, v.span());
    emit(Op.AND, 0, 0, v.span());
    emit(Op.STORE_SELF, at, bool, v.span());
    emit(Op.STORE_SELF, at + 2, bool, v.span());
  }

  private void initializeFrame(Variable v) {
    Layout.Storage s = layout.storage(v);
    if (s.indirect()) {
      return;
    }
    int slots = layout.slots(v.type());
    long[] image = new long[slots];
    layout.initialize(image, 0, v, lowering::staticAddress);
    boolean zero = true;
    for (long x : image) {
      zero &= x == 0;
    }
    if (zero && slots > 1) {
      emit(Op.CLEAR, s.offset(), slots, v.span());
      return;
    }
    if (slots <= 8) {
      for (int i = 0; i < slots; i++) {
        constant(image[i], v.span());
        emit(Op.STORE_FRAME, s.offset() + i, slots == 1 ? kindOf(v.type()) : k(ElementaryType.LINT), v.span());
      }
      return;
    }
    emit(Op.ADDRESS_FRAME, s.offset(), 0, v.span());
    constant(lowering.constantBlock(image), v.span());
    emit(Op.COPY, slots, 0, v.span());
  }

  // ---- places ----

  Where where(Place place) {
    return place.accept(new Place.Visitor<Where>() {
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
    });
  }

  private void layoutOwner(Type type) {
    Type t = type.base();
    if (t instanceof Type.Block b) {
      layout.instance(b.pou());
    } else {
      layout.slots(t);
    }
  }

  private Where variableWhere(Variable v, Span span) {
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
    int slots = layout.slots(a.element());
    int bits = Layout.isScalar(a.element()) ? Layout.kind(a.element()).bits() : 0;
    boolean constant = true;
    for (Expr i : p.indices()) {
      constant &= i instanceof Expr.Constant;
    }
    if (constant) {
      long index = 0;
      for (int d = 0; d < p.indices().size(); d++) {
        Type.Bounds b = a.bounds().get(d);
        index = index * b.length() + ((Expr.Constant) p.indices().get(d)).value() - b.low();
      }
      if (base.mode() != Where.Mode.STACK) {
        return base.plus(index * (base.mode() == Where.Mode.LOCATED ? bits : slots));
      }
    }
    address(base, p.span());
    long strideSlots = slots;
    long strideBits = bits;
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
  private Layout.Storage descriptor(Place place) {
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
  void store(Place target, Consumer<BodyLowering> value, Span span) {
    if (target instanceof Place.Character c) {
      address(where(c.base()), c.span());
      expression(c.index());
      value.accept(this);
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
      value.accept(this);
      emit(Op.STORE_INDIRECT, 0, kind, span);
      return;
    }
    value.accept(this);
    storeTop(w, kind, span);
  }

  private void storePart(Where w, int kind, Consumer<BodyLowering> value, Span span) {
    int word = k(ElementaryType.LWORD);
    Where whole = new Where(w.mode(), w.value(), 0, 0);
    if (w.mode() == Where.Mode.STACK) {
      address(whole, span);
      emit(Op.DUP, 0, 0, span);
      emit(Op.LOAD_INDIRECT, 0, word, span);
      value.accept(this);
      emit(Op.BITS_PUT, w.partOffset(), w.partWidth(), span);
      emit(Op.STORE_INDIRECT, 0, word, span);
      return;
    }
    load(whole, word, span);
    value.accept(this);
    emit(Op.BITS_PUT, w.partOffset(), w.partWidth(), span);
    storeTop(whole, word, span);
  }

  /** Stores the top of the stack at a place that needs no code. */
  private void storeTop(Where w, int kind, Span span) {
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
    store(target, b -> b.emit(Op.LOAD_TEMP, t, 0, span), span);
  }

  private boolean layoutIndirect(Variable v) {
    if (v.section() == Variable.Section.EXTERNAL) {
      return layoutIndirect(v.global().orElseThrow());
    }
    return !(v.located().isPresent() && !Layout.isStarred(v)) && layout.storage(v).indirect();
  }

  /** Assigns a value of any type to a place. */
  void assign(Place target, Expr value, Span span) {
    Type type = target.type();
    if (value instanceof Expr.Invoke i && (i.call().en().isPresent() || i.call().eno().isPresent())) {
      Label done = new Label();
      call(i.call(), Optional.of(i.type()), done, target.type(), target);
      set(done);
      return;
    }
    if (Layout.isScalar(type)) {
      store(target, b -> b.expression(value), span);
    } else {
      address(where(target), target.span());
      expression(value);
      copy(type, value.type(), span);
    }
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

  // ---- expressions ----

  /** Pushes the value of an expression: a scalar, or the address of a string or aggregate. */
  void expression(Expr e) {
    e.accept(new Expr.Visitor<Void>() {
      @Override
      public Void constant(Expr.Constant x) {
        BodyLowering.this.constant(x.value(), x.span());
        return null;
      }

      @Override
      public Void text(Expr.TextConstant x) {
        BodyLowering.this.constant(lowering.textConstant(Layout.kind(x.type()), x.units()), x.span());
        return null;
      }

      @Override
      public Void read(Expr.Read x) {
        readPlace(x.place(), x.span());
        return null;
      }

      @Override
      public Void negate(Expr.Negate x) {
        expression(x.operand());
        ElementaryType t = Layout.kind(x.type());
        if (t == ElementaryType.REAL) {
          emit(Op.NEG_REAL, 0, 0, x.span());
        } else if (t == ElementaryType.LREAL) {
          emit(Op.NEG_LREAL, 0, 0, x.span());
        } else {
          emit(exact() ? Op.NEG_EXACT : Op.NEG, 0, k(t), x.span());
        }
        return null;
      }

      @Override
      public Void not(Expr.Not x) {
        expression(x.operand());
        emit(Op.NOT, 0, kindOf(x.type()), x.span());
        return null;
      }

      @Override
      public Void binary(Expr.Binary x) {
        BodyLowering.this.binary(x);
        return null;
      }

      @Override
      public Void convert(Expr.Convert x) {
        BodyLowering.this.convert(x);
        return null;
      }

      @Override
      public Void intrinsic(Expr.Intrinsic x) {
        new Intrinsics(lowering, BodyLowering.this).push(x.name(), x.type(), x.arguments(), x.span());
        return null;
      }

      @Override
      public Void invoke(Expr.Invoke x) {
        call(x.call(), Optional.of(x.type()), null, x.type(), null);
        return null;
      }

      @Override
      public Void address(Expr.AddressOf x) {
        BodyLowering.this.address(where(x.place()), x.span());
        return null;
      }

      @Override
      public Void link(Expr.LinkState x) {
        if (links == null) {
          throw new IllegalStateException("a link outside ladder");
        }
        links.push(x.link(), x.span());
        return null;
      }
    });
  }

  private void readPlace(Place p, Span span) {
    if (p instanceof Place.Character c) {
      address(where(c.base()), c.span());
      expression(c.index());
      emit(Op.CHAR_GET, 0, kindOf(c.base().type()), span);
    } else if (Layout.isScalar(p.type())) {
      load(where(p), kindOf(p.type()), span);
    } else {
      address(where(p), span);
    }
  }

  private boolean exact() {
    return lowering.choices.integerOverflow() == ImplementerChoices.Overflow.FAULT;
  }

  /** Chains of operators are trees that lean to the left, as deep as the chain is long: they are walked in a loop. */
  private void binary(Expr.Binary whole) {
    List<Expr.Binary> chain = new ArrayList<>();
    Expr first = whole;
    while (first instanceof Expr.Binary b) {
      chain.add(b);
      first = b.left();
    }
    expression(first);
    for (int i = chain.size() - 1; i >= 0; i--) {
      Expr.Binary x = chain.get(i);
      boolean bool = Layout.isScalar(x.left().type()) && Layout.kind(x.left().type()) == ElementaryType.BOOL;
      if (lowering.choices.shortCircuit() && bool && (x.operator() == Expr.Operator.AND || x.operator() == Expr.Operator.OR)) {
        Label done = new Label();
        emit(Op.DUP, 0, 0, x.span());
        jump(x.operator() == Expr.Operator.AND ? Op.JUMP_FALSE : Op.JUMP_TRUE, done, done, x.span());
        emit(Op.POP, 0, 0, x.span());
        expression(x.right());
        set(done);
      } else {
        expression(x.right());
        operator(x.operator(), x.left().type(), x.right().type(), x.span());
      }
    }
  }

  /** Applies an operator to the two values on the stack. */
  void operator(Expr.Operator operator, Type left, Type right, Span span) {
    if (Layout.isText(left)) {
      emit(Op.TEXT_COMPARE, 0, kindOf(left), span);
      constant(0, span);
      emit(signedComparison(operator), 0, 0, span);
      return;
    }
    ElementaryType t = Layout.kind(left);
    switch (operator) {
      case OR -> emit(Op.OR, 0, 0, span);
      case XOR -> emit(Op.XOR, 0, 0, span);
      case AND -> emit(Op.AND, 0, 0, span);
      case EQ, NE, LT, GT, LE, GE -> compare(operator, t, span);
      case ADD -> arithmetic(t, exact() ? Op.ADD_EXACT : Op.ADD, Op.ADD_REAL, Op.ADD_LREAL, span);
      case SUB -> arithmetic(t, exact() ? Op.SUB_EXACT : Op.SUB, Op.SUB_REAL, Op.SUB_LREAL, span);
      case MUL -> {
        if (t.family() == ElementaryType.Family.DURATION) {
          scaled(right, Op.SCALE, exact() ? Op.MUL_EXACT : Op.MUL, t, span);
        } else {
          arithmetic(t, exact() ? Op.MUL_EXACT : Op.MUL, Op.MUL_REAL, Op.MUL_LREAL, span);
        }
      }
      case DIV -> {
        int mode = lowering.choices.zeroDivision() == ImplementerChoices.ZeroDivision.RESULT_ZERO ? 1 : 0;
        if (t.family() == ElementaryType.Family.DURATION && Layout.kind(right).isReal()) {
          scaled(right, Op.UNSCALE, Op.DIV, t, span);
        } else if (t == ElementaryType.REAL) {
          emit(Op.DIV_REAL, mode, 0, span);
        } else if (t == ElementaryType.LREAL) {
          emit(Op.DIV_LREAL, mode, 0, span);
        } else {
          emit(Op.DIV, mode | (exact() ? 2 : 0), k(t), span);
        }
      }
      case MOD -> emit(Op.MOD, lowering.choices.zeroModulo() == ImplementerChoices.ZeroDivision.RESULT_ZERO ? 1 : 0, k(t), span);
      case POWER -> {
        ElementaryType exponent = Layout.kind(right);
        if (exponent != ElementaryType.LREAL) {
          emit(Op.CONVERT, k(exponent) | k(ElementaryType.LREAL) << 8, 0, span);
        }
        emit(t == ElementaryType.REAL ? Op.POWER_REAL : Op.POWER_LREAL, 0, 0, span);
      }
    }
  }

  /** Duration by a real number, or by an integer. */
  private void scaled(Type right, Op real, Op integer, ElementaryType kind, Span span) {
    ElementaryType factor = Layout.kind(right);
    if (factor.isReal()) {
      if (factor == ElementaryType.REAL) {
        emit(Op.CONVERT, k(factor) | k(ElementaryType.LREAL) << 8, 0, span);
      }
      emit(real, 0, 0, span);
    } else {
      emit(integer, 0, k(kind), span);
    }
  }

  private void arithmetic(ElementaryType t, Op integer, Op real, Op lreal, Span span) {
    if (t == ElementaryType.REAL) {
      emit(real, 0, 0, span);
    } else if (t == ElementaryType.LREAL) {
      emit(lreal, 0, 0, span);
    } else {
      emit(integer, 0, k(t), span);
    }
  }

  private static Op signedComparison(Expr.Operator o) {
    return switch (o) {
      case EQ -> Op.EQ;
      case NE -> Op.NE;
      case LT -> Op.LT;
      case LE -> Op.LE;
      case GT -> Op.GT;
      case GE -> Op.GE;
      case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> throw new IllegalStateException(o + " is no comparison");
    };
  }

  /** Compares the two scalars on the stack. */
  void compare(Expr.Operator o, ElementaryType t, Span span) {
    if (t.isReal()) {
      int number = switch (o) {
        case EQ -> 0;
        case NE -> 1;
        case LT -> 2;
        case LE -> 3;
        case GT -> 4;
        case GE -> 5;
        case OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> throw new IllegalStateException(o + " is no comparison");
      };
      emit(t == ElementaryType.REAL ? Op.COMPARE_REAL : Op.COMPARE_LREAL, number, 0, span);
      return;
    }
    if (t == ElementaryType.ULINT || t == ElementaryType.LWORD) {
      Op op = switch (o) {
        case LT -> Op.LT_UNSIGNED;
        case LE -> Op.LE_UNSIGNED;
        case GT -> Op.GT_UNSIGNED;
        case GE -> Op.GE_UNSIGNED;
        case EQ, NE, OR, XOR, AND, ADD, SUB, MUL, DIV, MOD, POWER -> signedComparison(o);
      };
      emit(op, 0, 0, span);
      return;
    }
    emit(signedComparison(o), 0, 0, span);
  }

  /** Class of order of a kind, for MAX and MIN. */
  static int order(ElementaryType t) {
    return t == ElementaryType.REAL ? 2 : t == ElementaryType.LREAL ? 3 : t == ElementaryType.ULINT || t == ElementaryType.LWORD ? 1 : 0;
  }

  private void convert(Expr.Convert x) {
    Type to = x.type().base();
    Type from = x.operand().type().base();
    if (to instanceof Type.Text t) {
      int at = temp(layout.slots(to));
      emit(Op.ADDRESS_FRAME, at, 0, x.span());
      expression(x.operand());
      if (from instanceof Type.Text) {
        copy(to, from, x.span());
      } else {
        emit(Op.TEXT_OF_CHAR, t.capacity(), k(t.kind()), x.span());
      }
      emit(Op.ADDRESS_FRAME, at, 0, x.span());
      return;
    }
    if (from instanceof Type.Text t && to instanceof Type.Elementary e) {
      // STRING to CHAR: the first character
      expression(x.operand());
      constant(1, x.span());
      emit(Op.CHAR_GET, 0, k(t.kind()), x.span());
      convertTop(t.kind() == ElementaryType.STRING ? ElementaryType.CHAR : t.kind() == ElementaryType.WSTRING ? ElementaryType.WCHAR
          : ElementaryType.UCHAR, e.kind(), x.truncate(), x.span());
      return;
    }
    expression(x.operand());
    if (!Layout.isScalar(from)) {
      return;
    }
    convertTop(Layout.kind(from), Layout.kind(to), x.truncate(), x.span());
    if (to instanceof Type.Subrange s) {
      emit(Op.RANGE, out.run(s.low(), s.high()), k(s.kind()), x.span());
    }
  }

  private void convertTop(ElementaryType from, ElementaryType to, boolean truncate, Span span) {
    if (from != to) {
      emit(Op.CONVERT, k(from) | k(to) << 8 | (truncate ? 1 << 16 : 0), 0, span);
    }
  }

  // ---- calls ----

  /** A call as a statement. */
  void callStatement(Call call) {
    Label done = new Label();
    call(call, Optional.empty(), done, null, null);
    set(done);
  }

  /**
   * Lowers a call. With a result type the result is pushed, or stored in {@code target} when one is given; EN FALSE or an error under ENO then leaves the
   * target as it is (or pushes 0).
   *
   * @param skip where to go on without result; null: push 0 and go on behind
   */
  private void call(Call call, Optional<Type> result, Label skip, Type targetType, Place target) {
    Span span = call.span();
    int height = depth;
    Label off = new Label();
    Label failed = new Label();
    Label behind = new Label();
    if (call.en().isPresent()) {
      expression(call.en().get());
      jump(Op.JUMP_FALSE, off, behind, span);
    }
    boolean guarded = call.eno().isPresent();
    if (guarded) {
      guard(failed, span);
    }
    invoke(call, result);
    if (guarded) {
      emit(Op.UNGUARD, 0, 0, span);
      setEno(call, true);
    }
    if (target != null) {
      int resultHeight = depth;
      storeResult(target, targetType, result.orElseThrow(), span);
      assert resultHeight - 1 == depth;
    }
    if (call.en().isPresent() || guarded) {
      int after = depth;
      jump(Op.JUMP, behind, null, span);
      depth = height;
      set(failed);
      set(off);
      if (call.eno().isPresent()) {
        constant(0, span);
        negateIf(call.eno().get().negated(), span);
        storeValue(call.eno().get().target(), span);
      }
      if (target == null && result.isPresent()) {
        pushDefault(result.get(), span);
      }
      depth = after;
    }
    set(behind);
  }

  private void pushDefault(Type type, Span span) {
    if (Layout.isScalar(type)) {
      constant(0, span);
    } else {
      int t = temp(layout.slots(type));
      emit(Op.ADDRESS_FRAME, t, 0, span);
    }
  }

  private void storeResult(Place target, Type targetType, Type resultType, Span span) {
    if (Layout.isScalar(targetType)) {
      storeValue(target, span);
    } else {
      int t = temp(1);
      emit(Op.STORE_TEMP, t, 0, span);
      address(where(target), span);
      emit(Op.LOAD_TEMP, t, 0, span);
      copy(targetType, resultType, span);
    }
  }

  private void negateIf(boolean negated, Span span) {
    if (negated) {
      emit(Op.NOT, 0, k(ElementaryType.BOOL), span);
    }
  }

  /** Sets the target of ENO after a call that went well: to the callee's own ENO when it has one. */
  private void setEno(Call call, boolean value) {
    Call.Output eno = call.eno().orElseThrow();
    pushEno(call, eno.parameter(), call.span());
    negateIf(eno.negated(), call.span());
    storeValue(eno.target(), call.span());
  }

  /** Pushes ENO after a call that went well. */
  void pushEno(Call call, Variable own, Span span) {
    if (own != null && call.target() instanceof Call.Function f && f.pou().variables().contains(own)) {
      beyond(emit(Op.LOAD_FRAME, layout.storage(own).offset(), k(ElementaryType.BOOL), span));
    } else if (own != null && call.target() instanceof Call.Instance i && i.pou().variable(own.name()).isPresent()) {
      load(where(new Place.Member(span, i.place(), own)), k(ElementaryType.BOOL), span);
    } else {
      constant(1, span);
    }
  }

  private void beyond(int step) {
    beyondA.add(step);
  }

  /** Arguments, call, outputs; leaves the result on the stack when there is one. */
  void invoke(Call call, Optional<Type> result) {
    if (call.target() instanceof Call.Function f) {
      if (f.pou().code() instanceof Code.Intrinsic intrinsic) {
        intrinsicCall(call, f.pou(), intrinsic.name(), result);
        return;
      }
      layout.frame(f.pou());
      boolean bound = f.pou().code() instanceof Code.Native;
      int count = pushArguments(call.arguments(), bound);
      storeArguments(call.arguments(), count, bound);
      if (bound) {
        prepareNative(f.pou(), result, call.span());
        lowering.callsNative(number, f.pou());
        int at = emit(Op.NATIVE, lowering.nativeOf(f.pou()), 0, call.span());
        beyondB.add(at);
      } else {
        int body = lowering.bodyOf(f.pou());
        lowering.calls(number, body);
        beyondB.add(emit(Op.CALL, body, 0, call.span()));
      }
      pushResult(f.pou(), result, bound, call.span());
      outputsOfFrame(call, call.span());
    } else if (call.target() instanceof Call.Method m) {
      layout.frame(m.method());
      int count = pushArguments(call.arguments(), false);
      storeArguments(call.arguments(), count, false);
      receiver(m.receiver(), m.method().span(), call.span());
      if (m.dynamic()) {
        beyondB.add(emit(Op.CALL_DYNAMIC, lowering.selector(number, Lowering.methodSelector(m.method())), 0, call.span()));
      } else {
        int body = lowering.bodyOf(m.method());
        lowering.calls(number, body);
        beyondB.add(emit(Op.CALL_ON, body, 0, call.span()));
      }
      pushResult(m.method(), result, false, call.span());
      outputsOfFrame(call, call.span());
    } else if (call.target() instanceof Call.Instance i) {
      instanceCall(call, i);
    } else {
      throw new IllegalStateException("call of " + call.target());
    }
  }

  /** Calls a further body on the same instance. */
  void callOwn(int body, Span span) {
    lowering.calls(number, body);
    beyondB.add(emit(Op.CALL, body, 0, span));
  }

  private void receiver(Place place, Span declared, Span span) {
    if (place instanceof Place.Deref d) {
      expression(d.reference());
    } else {
      address(where(place), span);
    }
  }

  /** Evaluates inputs and in-outs in textual order onto the stack. Returns how many values were pushed. */
  private int pushArguments(List<Call.Argument> arguments, boolean bound) {
    int count = 0;
    for (Call.Argument a : arguments) {
      if (a instanceof Call.Input in) {
        if (Layout.isOpenArray(in.parameter().type())) {
          count += pushOpen(in.parameter(), ((Expr.Read) in.value()).place());
        } else {
          expression(in.value());
          count++;
        }
      } else if (a instanceof Call.InOut io) {
        if (Layout.isOpenArray(io.parameter().type())) {
          count += pushOpen(io.parameter(), io.place());
        } else {
          address(where(io.place()), io.place().span());
          count++;
        }
      }
    }
    return count;
  }

  /** Address and bounds of an actual array for an open parameter. */
  private int pushOpen(Variable parameter, Place actual) {
    Type.Array a = (Type.Array) actual.type().base();
    address(where(actual), actual.span());
    if (a.open()) {
      Layout.Storage s = descriptor(actual);
      for (int i = 0; i < 2 * a.bounds().size(); i++) {
        emit(s.area() == Layout.Area.FRAME ? Op.LOAD_FRAME : Op.LOAD_SELF, s.offset() + 1 + i, k(ElementaryType.DINT), actual.span());
      }
    } else {
      for (Type.Bounds b : a.bounds()) {
        constant(b.low(), actual.span());
        constant(b.high(), actual.span());
      }
    }
    return 1 + 2 * a.bounds().size();
  }

  /** Moves the pushed arguments into the callee's frame, last first. */
  private void storeArguments(List<Call.Argument> arguments, int count, boolean bound) {
    for (int i = arguments.size() - 1; i >= 0; i--) {
      Call.Argument a = arguments.get(i);
      if (a instanceof Call.Output) {
        continue;
      }
      Variable p = a.parameter();
      Layout.Storage s = layout.storage(p);
      Span span = a instanceof Call.Input in ? in.value().span() : ((Call.InOut) a).place().span();
      if (s.indirect()) {
        for (int n = Layout.indirectSlots(p.type()) - 1; n >= 0; n--) {
          beyond(emit(Op.STORE_FRAME, s.offset() + n, k(ElementaryType.ULINT), span));
        }
      } else if (Layout.isScalar(p.type())) {
        beyond(emit(Op.STORE_FRAME, s.offset(), kindOf(p.type()), span));
      } else {
        beyond(emit(Op.ADDRESS_FRAME, s.offset(), 0, span));
        emit(Op.SWAP, 0, 0, span);
        copy(p.type(), a instanceof Call.Input in ? in.value().type() : p.type(), span);
      }
    }
  }

  /** Gives a Java body room for the strings it returns. */
  private void prepareNative(Pou target, Optional<Type> result, Span span) {
    for (Variable v : target.variables()) {
      boolean returned = v.section() == Variable.Section.RESULT || v.section() == Variable.Section.OUTPUT;
      if (returned && !Layout.isScalar(v.type())) {
        int t = temp(layout.slots(v.type()));
        emit(Op.CLEAR, t, 1, span);
        emit(Op.ADDRESS_FRAME, t, 0, span);
        beyond(emit(Op.STORE_FRAME, layout.storage(v).offset(), k(ElementaryType.ULINT), span));
      } else if (returned) {
        constant(0, span);
        beyond(emit(Op.STORE_FRAME, layout.storage(v).offset(), kindOf(v.type()), span));
      }
    }
  }

  private void pushResult(Pou target, Optional<Type> result, boolean bound, Span span) {
    if (result.isEmpty()) {
      return;
    }
    Variable v = target.variables().stream().filter(x -> x.section() == Variable.Section.RESULT).findFirst()
        .orElseThrow(() -> new IllegalStateException(target.name() + " has no result"));
    Layout.Storage s = layout.storage(v);
    if (Layout.isScalar(v.type())) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), kindOf(v.type()), span));
    } else if (bound) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), k(ElementaryType.ULINT), span));
    } else {
      int t = temp(layout.slots(v.type()));
      emit(Op.ADDRESS_FRAME, t, 0, span);
      beyond(emit(Op.ADDRESS_FRAME, s.offset(), 0, span));
      copy(v.type(), v.type(), span);
      emit(Op.ADDRESS_FRAME, t, 0, span);
    }
  }

  /** Copies outputs of a function or method to their targets: all values are taken before any target is computed. */
  private void outputsOfFrame(Call call, Span span) {
    List<Call.Output> scalars = new ArrayList<>();
    List<Integer> temps = new ArrayList<>();
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o && Layout.isScalar(o.parameter().type())) {
        beyond(emit(Op.LOAD_FRAME, layout.storage(o.parameter()).offset(), kindOf(o.parameter().type()), span));
        negateIf(o.negated(), span);
        convertTop(Layout.kind(o.parameter().type()), Layout.kind(o.target().type()), false, span);
        int t = temp(1);
        emit(Op.STORE_TEMP, t, 0, span);
        scalars.add(o);
        temps.add(t);
      }
    }
    for (int i = 0; i < scalars.size(); i++) {
      int t = temps.get(i);
      store(scalars.get(i).target(), b -> b.emit(Op.LOAD_TEMP, t, 0, span), scalars.get(i).target().span());
    }
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o && !Layout.isScalar(o.parameter().type())) {
        Layout.Storage s = layout.storage(o.parameter());
        address(where(o.target()), o.target().span());
        beyond(emit(s.indirect() ? Op.LOAD_FRAME : Op.ADDRESS_FRAME, s.offset(), s.indirect() ? k(ElementaryType.ULINT) : 0, span));
        copy(o.target().type(), o.parameter().type(), span);
      }
    }
  }

  // ---- FB instances ----

  private void instanceCall(Call call, Call.Instance target) {
    Span span = call.span();
    layout.instance(target.pou());
    Where where = instanceWhere(target.place(), span);
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Input in) {
        storeInput(where, in, span);
      } else if (a instanceof Call.InOut io) {
        storeInOut(where, io);
      }
    }
    address(part(where, 0, span), span);
    if (target.dynamic()) {
      beyondB.add(emit(Op.CALL_DYNAMIC, lowering.selector(number, Lowering.bodySelector()), 0, span));
    } else {
      int body = lowering.bodyOf(target.pou());
      lowering.calls(number, body);
      beyondB.add(emit(Op.CALL_ON, body, 0, span));
    }
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Output o) {
        output(where, o, span);
      }
    }
  }

  /** Where an instance lies; an address that needs code is computed once and kept. */
  private Where instanceWhere(Place place, Span span) {
    Where w = where(place);
    if (w.mode() != Where.Mode.STACK) {
      return w;
    }
    address(w, span);
    int t = temp(1);
    emit(Op.STORE_TEMP, t, 0, span);
    return new Where(Where.Mode.STACK, 0, 0, -t - 1);
  }

  /** Pushes the kept address of an instance, when there is one, so that {@code w} can be used as a place. */
  private Where part(Where w, int offset, Span span) {
    if (w.mode() == Where.Mode.STACK && w.partWidth() < 0) {
      emit(Op.LOAD_TEMP, -w.partWidth() - 1, 0, span);
      return Where.of(Where.Mode.STACK, offset);
    }
    return w.plus(offset);
  }

  private void storeInput(Where instance, Call.Input in, Span span) {
    Variable p = in.parameter();
    Span at = in.value().span();
    Layout.Storage s = layout.storage(p);
    if (Layout.isScalar(p.type())) {
      int offset = s.offset() + (p.edge() == Variable.Edge.NONE ? 0 : 1);
      storeAt(instance, offset, p.type(), b -> b.expression(in.value()), at);
    } else if (s.indirect()) {
      storeOpen(instance, s, p, ((Expr.Read) in.value()).place());
    } else {
      address(part(instance, s.offset(), at), at);
      expression(in.value());
      copy(p.type(), in.value().type(), at);
    }
  }

  private void storeAt(Where instance, int offset, Type type, Consumer<BodyLowering> value, Span span) {
    if (instance.mode() == Where.Mode.STACK) {
      address(part(instance, offset, span), span);
      value.accept(this);
      emit(Op.STORE_INDIRECT, 0, kindOf(type), span);
    } else {
      value.accept(this);
      storeTop(instance.plus(offset), kindOf(type), span);
    }
  }

  private void storeInOut(Where instance, Call.InOut io) {
    Layout.Storage s = layout.storage(io.parameter());
    if (Layout.isOpenArray(io.parameter().type())) {
      storeOpen(instance, s, io.parameter(), io.place());
    } else {
      storeAt(instance, s.offset(), new Type.Elementary(ElementaryType.ULINT), b -> b.address(b.where(io.place()), io.place().span()),
          io.place().span());
    }
  }

  private void storeOpen(Where instance, Layout.Storage s, Variable parameter, Place actual) {
    int n = pushOpen(parameter, actual);
    int t = temp(n);
    for (int i = n - 1; i >= 0; i--) {
      emit(Op.STORE_TEMP, t + i, 0, actual.span());
    }
    for (int i = 0; i < n; i++) {
      int at = t + i;
      storeAt(instance, s.offset() + i, new Type.Elementary(ElementaryType.ULINT), b -> b.emit(Op.LOAD_TEMP, at, 0, actual.span()), actual.span());
    }
  }

  private void output(Where instance, Call.Output o, Span span) {
    Variable p = o.parameter();
    Layout.Storage s = layout.storage(p);
    if (Layout.isScalar(p.type())) {
      store(o.target(), b -> {
        b.loadMember(instance, p, span);
        b.negateIf(o.negated(), span);
        b.convertTop(Layout.kind(p.type()), Layout.kind(o.target().type()), false, span);
      }, span);
    } else {
      address(where(o.target()), o.target().span());
      address(part(instance, s.offset(), span), span);
      copy(o.target().type(), p.type(), span);
    }
  }

  /** Pushes a scalar member of an instance. */
  private void loadMember(Where instance, Variable p, Span span) {
    if (p.located().isPresent() && !Layout.isStarred(p)) {
      load(Where.of(Where.Mode.LOCATED, lowering.located(p.located().get(), p.type())), kindOf(p.type()), span);
      return;
    }
    Layout.Storage s = layout.storage(p);
    if (s.indirect()) {
      load(part(instance, s.offset(), span), k(ElementaryType.ULINT), span);
      emit(Op.LOAD_INDIRECT, 0, kindOf(p.type()), span);
    } else {
      load(part(instance, s.offset(), span), kindOf(p.type()), span);
    }
  }

  /** Pushes an output parameter after a call made by a box: a scalar value, or an address. */
  void pushOutput(Call call, Variable parameter, Span span) {
    if (call.target() instanceof Call.Instance i) {
      Place member = new Place.Member(span, i.place(), parameter);
      readPlace(member, span);
      return;
    }
    Layout.Storage s = layout.storage(parameter);
    if (s.indirect() && parameter.section() == Variable.Section.IN_OUT) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), k(ElementaryType.ULINT), span));
      if (Layout.isScalar(parameter.type())) {
        emit(Op.LOAD_INDIRECT, 0, kindOf(parameter.type()), span);
      }
    } else if (Layout.isScalar(parameter.type())) {
      beyond(emit(Op.LOAD_FRAME, s.offset(), kindOf(parameter.type()), span));
    } else {
      beyond(emit(s.indirect() ? Op.LOAD_FRAME : Op.ADDRESS_FRAME, s.offset(), s.indirect() ? k(ElementaryType.ULINT) : 0, span));
    }
  }

  /** A function of the core called with EN or ENO. */
  private void intrinsicCall(Call call, Pou target, String name, Optional<Type> result) {
    List<Expr> arguments = new ArrayList<>();
    for (Call.Argument a : call.arguments()) {
      if (a instanceof Call.Input in) {
        arguments.add(in.value());
      }
    }
    new Intrinsics(lowering, this).push(name, target.result(), arguments, call.span());
    if (result.isEmpty() && !(target.result().base() instanceof Type.Nothing)) {
      emit(Op.POP, 0, 0, call.span());
    }
  }

  // ---- statements ----

  void statements(List<Stmt> list) {
    for (Stmt s : list) {
      statement(s);
    }
  }

  private void statement(Stmt statement) {
    statement.accept(new Stmt.Visitor<Void>() {
      @Override
      public Void assign(Stmt.Assign s) {
        BodyLowering.this.assign(s.target(), s.value(), s.span());
        return null;
      }

      @Override
      public Void attempt(Stmt.Attempt s) {
        store(s.target(), b -> {
          b.expression(s.source());
          b.emit(Op.TYPE_TEST, lowering.typeSet(s.wanted()), 0, s.span());
        }, s.span());
        return null;
      }

      @Override
      public Void call(Stmt.CallStmt s) {
        callStatement(s.call());
        return null;
      }

      @Override
      public Void evaluate(Stmt.Evaluate s) {
        expression(s.expression());
        if (!(s.expression().type().base() instanceof Type.Nothing)) {
          emit(Op.POP, 0, 0, s.span());
        }
        return null;
      }

      @Override
      public Void ifThen(Stmt.If s) {
        Label done = new Label();
        Region region = open(done);
        for (Stmt.Branch b : s.branches()) {
          Label next = new Label();
          expression(b.condition());
          branch(Op.JUMP_FALSE, next, region, b.condition().span());
          statements(b.body());
          jump(Op.JUMP, done, null, s.span());
          set(next);
        }
        statements(s.otherwise());
        set(done);
        close(region);
        return null;
      }

      @Override
      public Void caseOf(Stmt.Case s) {
        lowerCase(s);
        return null;
      }

      @Override
      public Void forLoop(Stmt.For s) {
        lowerFor(s);
        return null;
      }

      @Override
      public Void whileLoop(Stmt.While s) {
        Label test = new Label();
        Label exit = new Label();
        Region region = open(exit);
        set(test);
        loops.add(new Loop(exit, test, regions.size()));
        expression(s.condition());
        branch(Op.JUMP_FALSE, exit, region, s.condition().span());
        statements(s.body());
        jump(Op.JUMP, test, null, s.span());
        set(exit);
        loops.remove(loops.size() - 1);
        close(region);
        return null;
      }

      @Override
      public Void repeat(Stmt.Repeat s) {
        Label body = new Label();
        Label test = new Label();
        Label exit = new Label();
        Region region = open(exit);
        loops.add(new Loop(exit, test, regions.size()));
        set(body);
        statements(s.body());
        set(test);
        expression(s.until());
        branch(Op.JUMP_FALSE, body, region, s.until().span());
        set(exit);
        loops.remove(loops.size() - 1);
        close(region);
        return null;
      }

      @Override
      public Void exit(Stmt.Exit s) {
        Loop loop = loops.get(loops.size() - 1);
        extend(loop.regionsOutside(), loop.exit());
        jump(Op.JUMP, loop.exit(), null, s.span());
        return null;
      }

      @Override
      public Void next(Stmt.Next s) {
        Loop loop = loops.get(loops.size() - 1);
        extend(loop.regionsOutside(), loop.exit());
        jump(Op.JUMP, loop.next(), null, s.span());
        return null;
      }

      @Override
      public Void returnFrom(Stmt.Return s) {
        extend(0, end);
        jump(Op.JUMP, end, null, s.span());
        return null;
      }
    });
  }

  // ---- regions: what a branch decides about ----

  private final List<int[]> openBranches = new ArrayList<>();

  private Region open(Label until) {
    Region r = new Region(until);
    regions.add(r);
    return r;
  }

  private void branch(Op op, Label target, Region region, Span span) {
    int at = emit(op, target.at, -1, span);
    if (target.at < 0) {
      target.users.add(at);
    }
    openBranches.add(new int[] {at, regions.indexOf(region)});
  }

  private void close(Region region) {
    int index = regions.size() - 1;
    regions.remove(index);
    for (int i = openBranches.size() - 1; i >= 0 && openBranches.get(i)[1] >= index; i--) {
      int at = openBranches.remove(i)[0];
      if (region.until.at >= 0) {
        out.setB(at, region.until.at);
      } else {
        region.until.regionUsers.add(at);
      }
    }
  }

  private void extend(int from, Label until) {
    for (int i = from; i < regions.size(); i++) {
      regions.get(i).until = until;
    }
  }

  private void lowerCase(Stmt.Case s) {
    ElementaryType t = Layout.kind(s.selector().type());
    int selector = temp(1);
    Label done = new Label();
    Region region = open(done);
    expression(s.selector());
    emit(Op.STORE_TEMP, selector, 0, s.selector().span());
    for (Stmt.Group g : s.groups()) {
      Label body = new Label();
      Label next = new Label();
      for (int i = 0; i < g.labels().size(); i++) {
        Stmt.Range r = g.labels().get(i);
        boolean last = i == g.labels().size() - 1;
        emit(Op.LOAD_TEMP, selector, 0, s.selector().span());
        constant(r.low(), r.span());
        if (r.low() == r.high()) {
          emit(Op.EQ, 0, 0, r.span());
        } else {
          compare(Expr.Operator.GE, t, r.span());
          emit(Op.LOAD_TEMP, selector, 0, s.selector().span());
          constant(r.high(), r.span());
          compare(Expr.Operator.LE, t, r.span());
          emit(Op.AND, 0, 0, r.span());
        }
        branch(last ? Op.JUMP_FALSE : Op.JUMP_TRUE, last ? next : body, region, r.span());
      }
      set(body);
      statements(g.body());
      jump(Op.JUMP, done, null, s.span());
      set(next);
    }
    statements(s.otherwise());
    set(done);
    close(region);
  }

  private void lowerFor(Stmt.For s) {
    Type type = s.variable().type();
    ElementaryType t = Layout.kind(type);
    long least = type.base() instanceof Type.Subrange r ? r.low() : Arith.least(k(t));
    long greatest = type.base() instanceof Type.Subrange r ? r.high() : Arith.greatest(k(t));
    Label test = new Label();
    Label next = new Label();
    Label exit = new Label();
    Region region = open(exit);
    store(s.variable(), b -> b.expression(s.from()), s.span());
    int limit = temp(1);
    expression(s.to());
    emit(Op.STORE_TEMP, limit, 0, s.to().span());
    Optional<Long> step = s.by().isEmpty() ? Optional.of(1L) : s.by().get() instanceof Expr.Constant c ? Optional.of(c.value()) : Optional.empty();
    int by = temp(1);
    if (step.isEmpty()) {
      expression(s.by().get());
      emit(Op.STORE_TEMP, by, 0, s.by().get().span());
    }
    set(test);
    loops.add(new Loop(exit, next, regions.size()));
    if (step.isPresent()) {
      readPlace(s.variable(), s.variable().span());
      emit(Op.LOAD_TEMP, limit, 0, s.to().span());
      compare(step.get() >= 0 || unsigned(t) ? Expr.Operator.GT : Expr.Operator.LT, t, s.span());
      branch(Op.JUMP_TRUE, exit, region, s.to().span());
    } else {
      passed(s, t, limit, by, exit, region);
    }
    statements(s.body());
    set(next);
    // Advancing beyond the range of the type ends the loop; the variable then keeps its last value.
    if (step.isPresent()) {
      boolean up = step.get() >= 0 || unsigned(t);
      readPlace(s.variable(), s.variable().span());
      constant(up ? greatest - step.get() : least - step.get(), s.span());
      compare(up ? Expr.Operator.GT : Expr.Operator.LT, t, s.span());
      branch(Op.JUMP_TRUE, exit, region, s.span());
    } else {
      Label down = new Label();
      Label advance = new Label();
      emit(Op.LOAD_TEMP, by, 0, s.span());
      constant(0, s.span());
      compare(Expr.Operator.LT, t, s.span());
      branch(Op.JUMP_TRUE, down, region, s.span());
      beyondRange(s, t, greatest, by, Expr.Operator.GT, exit, region);
      jump(Op.JUMP, advance, null, s.span());
      set(down);
      beyondRange(s, t, least, by, Expr.Operator.LT, exit, region);
      set(advance);
    }
    store(s.variable(), b -> {
      b.readPlace(s.variable(), s.variable().span());
      if (step.isPresent()) {
        b.constant(step.get(), s.span());
      } else {
        b.emit(Op.LOAD_TEMP, by, 0, s.span());
      }
      b.emit(Op.ADD, 0, k(t), s.span());
    }, s.span());
    jump(Op.JUMP, test, null, s.span());
    set(exit);
    loops.remove(loops.size() - 1);
    close(region);
  }

  private static boolean unsigned(ElementaryType t) {
    return t.family() == ElementaryType.Family.UNSIGNED;
  }

  private void beyondRange(Stmt.For s, ElementaryType t, long bound, int by, Expr.Operator comparison, Label exit, Region region) {
    readPlace(s.variable(), s.variable().span());
    constant(bound, s.span());
    emit(Op.LOAD_TEMP, by, 0, s.span());
    emit(Op.SUB, 0, k(t), s.span());
    compare(comparison, t, s.span());
    branch(Op.JUMP_TRUE, exit, region, s.span());
  }

  /** Leaves the loop when the variable has passed the limit in the direction of a step known only at run time. */
  private void passed(Stmt.For s, ElementaryType t, int limit, int by, Label exit, Region region) {
    Label down = new Label();
    Label go = new Label();
    emit(Op.LOAD_TEMP, by, 0, s.span());
    constant(0, s.span());
    compare(Expr.Operator.LT, t, s.span());
    branch(Op.JUMP_TRUE, down, region, s.span());
    readPlace(s.variable(), s.variable().span());
    emit(Op.LOAD_TEMP, limit, 0, s.span());
    compare(Expr.Operator.GT, t, s.span());
    branch(Op.JUMP_TRUE, exit, region, s.span());
    jump(Op.JUMP, go, null, s.span());
    set(down);
    readPlace(s.variable(), s.variable().span());
    emit(Op.LOAD_TEMP, limit, 0, s.span());
    compare(Expr.Operator.LT, t, s.span());
    branch(Op.JUMP_TRUE, exit, region, s.span());
    set(go);
  }

  // ---- program instances with connections ----

  /** Inputs from the configuration, the program, outputs to the configuration. */
  void connections(Project.ProgramInstance p) {
    layout.instance(p.pou());
    Where self = Where.of(Where.Mode.SELF, 0);
    for (Call.Argument a : p.connections()) {
      if (a instanceof Call.Input in) {
        storeInput(self, in, p.span());
      } else if (a instanceof Call.InOut io) {
        storeInOut(self, io);
      }
    }
    int body = lowering.bodyOf(p.pou());
    lowering.calls(number, body);
    beyondB.add(emit(Op.CALL, body, 0, p.span()));
    for (Call.Argument a : p.connections()) {
      if (a instanceof Call.Output o) {
        output(self, o, p.span());
      }
    }
  }

  // ---- for Intrinsics ----

  Layout layout() {
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
