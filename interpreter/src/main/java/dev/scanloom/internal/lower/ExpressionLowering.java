package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices;

/** Expressions: values on the operand stack. */
abstract class ExpressionLowering extends PlaceLowering {
  private LinkSource links;

  /** How expressions inside a ladder box get the state of a link. */
  interface LinkSource {
    void push(Drawing.Link link, Span span);
  }

  ExpressionLowering(Lowering lowering, int number, Pou pou) {
    super(lowering, number, pou);
  }

  /** Calls a function or method and pushes its result. */
  abstract void callForResult(Call call, Type type);

  void links(LinkSource source) {
    links = source;
  }


  /** Pushes the value of an expression: a scalar, or the address of a string or aggregate. */
  @Override
  void expression(Expr e) {
    e.accept(values);
  }

  private final Expr.Visitor<Void> values = new Expr.Visitor<>() {
    @Override
    public Void constant(Expr.Constant x) {
      ExpressionLowering.this.constant(x.value(), x.span());
      return null;
    }

    @Override
    public Void text(Expr.TextConstant x) {
      ExpressionLowering.this.constant(lowering.textConstant(Layout.kind(x.type()), x.units()), x.span());
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
      ExpressionLowering.this.binary(x);
      return null;
    }

    @Override
    public Void convert(Expr.Convert x) {
      ExpressionLowering.this.convert(x);
      return null;
    }

    @Override
    public Void intrinsic(Expr.Intrinsic x) {
      new Intrinsics(ExpressionLowering.this).push(x.name(), x.type(), x.arguments(), x.span());
      return null;
    }

    @Override
    public Void invoke(Expr.Invoke x) {
      callForResult(x.call(), x.type());
      return null;
    }

    @Override
    public Void address(Expr.AddressOf x) {
      ExpressionLowering.this.address(where(x.place()), x.span());
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
  };

  void readPlace(Place p, Span span) {
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
    int length = 0;
    Expr first = whole;
    for (; first instanceof Expr.Binary b; first = b.left()) {
      length++;
    }
    Expr.Binary[] chain = new Expr.Binary[length];
    Expr.Binary last = whole;
    for (int i = length - 1; i > 0; i--) {
      chain[i] = last;
      last = (Expr.Binary) last.left();
    }
    chain[0] = last;
    expression(first);
    for (Expr.Binary x : chain) {
      boolean decides = lowering.choices.shortCircuit() && (x.operator() == Expr.Operator.AND || x.operator() == Expr.Operator.OR)
          && Layout.isScalar(x.left().type()) && Layout.kind(x.left().type()) == ElementaryType.BOOL;
      if (decides) {
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

  void convertTop(ElementaryType from, ElementaryType to, boolean truncate, Span span) {
    if (from != to) {
      emit(Op.CONVERT, k(from) | k(to) << 8 | (truncate ? 1 << 16 : 0), 0, span);
    }
  }
}
