package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.check.Stmt;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/** Lowers one body: its prologue, statements and what branches decide about. */
final class BodyLowering extends CallLowering {
  private final List<Loop> loops = new ArrayList<>();
  private final List<Region> regions = new ArrayList<>();
  private final Label end = new Label();

  private record Loop(Label exit, Label next, int regionsOutside) {}

  /** A stretch that a branch decides about; grows to the end of a loop or the body when something in it leaves early. */
  private static final class Region {
    private Label until;

    private Region(Label until) {
      this.until = until;
    }
  }

  BodyLowering(Lowering lowering, int number, Pou pou) {
    super(lowering, number, pou);
  }

  Label endLabel() {
    return end;
  }

  /** Returns at the end and patches what refers behind the frame. */
  void finish() {
    set(end);
    emit(Op.RETURN, 0, 0, pou.span());
    patch();
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
        store(s.target(), () -> {
          expression(s.source());
          emit(Op.TYPE_TEST, lowering.typeSet(s.wanted()), 0, s.span());
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
    store(s.variable(), () -> expression(s.from()), s.span());
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
    store(s.variable(), () -> {
      readPlace(s.variable(), s.variable().span());
      if (step.isPresent()) {
        constant(step.get(), s.span());
      } else {
        emit(Op.LOAD_TEMP, by, 0, s.span());
      }
      emit(Op.ADD, 0, k(t), s.span());
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
    beyondFrame(emit(Op.CALL, body, 0, p.span()));
    for (Call.Argument a : p.connections()) {
      if (a instanceof Call.Output o) {
        output(self, o, p.span());
      }
    }
  }
}
