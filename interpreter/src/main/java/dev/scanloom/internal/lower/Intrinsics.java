package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.List;

/** Functions that the core executes itself: the table behind {@code {intrinsic NAME}} pragmas. */
final class Intrinsics {
  private final ExpressionLowering body;

  Intrinsics(ExpressionLowering body) {
    this.body = body;
  }

  /** Pushes the result of a function. */
  void push(String name, Type result, List<Expr> args, Span span) {
    switch (name) {
      case "ADD" -> fold(Expr.Operator.ADD, args, span);
      case "SUB" -> fold(Expr.Operator.SUB, args, span);
      case "MUL" -> fold(Expr.Operator.MUL, args, span);
      case "DIV" -> fold(Expr.Operator.DIV, args, span);
      case "MOD" -> fold(Expr.Operator.MOD, args, span);
      case "EXPT" -> fold(Expr.Operator.POWER, args, span);
      case "AND" -> fold(Expr.Operator.AND, args, span);
      case "OR" -> fold(Expr.Operator.OR, args, span);
      case "XOR" -> fold(Expr.Operator.XOR, args, span);
      case "NOT" -> body.expression(new Expr.Not(span, args.get(0).type(), args.get(0)));
      case "EQ" -> compareAll(Expr.Operator.EQ, args, span);
      case "NE" -> compareAll(Expr.Operator.NE, args, span);
      case "LT" -> compareAll(Expr.Operator.LT, args, span);
      case "LE" -> compareAll(Expr.Operator.LE, args, span);
      case "GT" -> compareAll(Expr.Operator.GT, args, span);
      case "GE" -> compareAll(Expr.Operator.GE, args, span);
      case "MOVE" -> body.expression(args.get(0));
      case "CONVERT" -> body.expression(new Expr.Convert(span, result, args.get(0), false));
      case "TRUNC" -> body.expression(new Expr.Convert(span, result, args.get(0), true));
      case "ABS" -> one(Op.ABS, args, span);
      case "SQRT" -> {
        body.expression(args.get(0));
        body.emit(Layout.kind(args.get(0).type()) == ElementaryType.REAL ? Op.SQRT_REAL : Op.SQRT_LREAL, 0, 0, span);
      }
      case "SHL" -> shift(Op.SHL, args, span);
      case "SHR" -> shift(Op.SHR, args, span);
      case "ROL" -> shift(Op.ROL, args, span);
      case "ROR" -> shift(Op.ROR, args, span);
      case "SEL" -> {
        args.forEach(body::expression);
        body.emit(Op.SELECT, 0, 0, span);
      }
      case "MUX" -> {
        args.forEach(body::expression);
        body.emit(Op.MUX, args.size() - 1, 0, span);
      }
      case "MAX" -> extreme(Op.MAX, args, span);
      case "MIN" -> extreme(Op.MIN, args, span);
      case "LIMIT" -> limit(args, span);
      case "LEN" -> {
        body.expression(args.get(0));
        body.emit(Op.TEXT_LENGTH, 0, 0, span);
      }
      case "LOWER_BOUND" -> bound(false, args, span);
      case "UPPER_BOUND" -> bound(true, args, span);
      case "TASK_TIME" -> body.emit(Op.TASK_TIME, 0, 0, span);
      case "ASSERT" -> {
        body.expression(args.get(0));
        body.emit(Op.ASSERT, Op.CLAIM_CONDITION, 0, span);
      }
      case "LOCK_TRY", "LOCK_WAIT", "LOCK_GIVE" -> lock(name, 0, args, span);
      case "PERMIT_TRY", "PERMIT_WAIT", "PERMIT_GIVE" -> lock(name, 1, args, span);
      default -> throw new IllegalStateException("the core has no function " + name);
    }
  }

  private void lock(String name, int kind, List<Expr> args, Span span) {
    body.expression(args.get(0));
    body.emit(name.endsWith("TRY") ? Op.TAKE : name.endsWith("WAIT") ? Op.WAIT : Op.GIVE, kind, 0, span);
  }

  private void fold(Expr.Operator op, List<Expr> args, Span span) {
    body.expression(args.get(0));
    for (int i = 1; i < args.size(); i++) {
      body.expression(args.get(i));
      body.operator(op, args.get(0).type(), args.get(i).type(), span);
    }
  }

  /** Every neighbouring pair is compared; all arguments are evaluated. */
  private void compareAll(Expr.Operator op, List<Expr> args, Span span) {
    int first = body.temp(args.size());
    for (int i = 0; i < args.size(); i++) {
      body.expression(args.get(i));
      body.emit(Op.STORE_TEMP, first + i, 0, span);
    }
    for (int i = 0; i + 1 < args.size(); i++) {
      body.emit(Op.LOAD_TEMP, first + i, 0, span);
      body.emit(Op.LOAD_TEMP, first + i + 1, 0, span);
      body.operator(op, args.get(i).type(), args.get(i + 1).type(), span);
      if (i > 0) {
        body.emit(Op.AND, 0, 0, span);
      }
    }
  }

  private void one(Op op, List<Expr> args, Span span) {
    body.expression(args.get(0));
    body.emit(op, 0, Layout.kind(args.get(0).type()).ordinal(), span);
  }

  private void shift(Op op, List<Expr> args, Span span) {
    body.expression(args.get(0));
    body.expression(args.get(1));
    body.emit(op, 0, Layout.kind(args.get(0).type()).ordinal(), span);
  }

  private void extreme(Op op, List<Expr> args, Span span) {
    body.expression(args.get(0));
    for (int i = 1; i < args.size(); i++) {
      body.expression(args.get(i));
      extremeTop(op, args.get(0).type(), span);
    }
  }

  /** x y -- greater or smaller; strings by their addresses. */
  private void extremeTop(Op op, Type type, Span span) {
    if (!Layout.isText(type)) {
      body.emit(op, ExpressionLowering.order(Layout.kind(type)), 0, span);
      return;
    }
    int y = body.temp(2);
    int x = y + 1;
    body.emit(Op.STORE_TEMP, y, 0, span);
    body.emit(Op.STORE_TEMP, x, 0, span);
    body.emit(Op.LOAD_TEMP, x, 0, span);
    body.emit(Op.LOAD_TEMP, y, 0, span);
    body.operator(op == Op.MAX ? Expr.Operator.LT : Expr.Operator.GT, type, type, span);
    body.emit(Op.LOAD_TEMP, x, 0, span);
    body.emit(Op.LOAD_TEMP, y, 0, span);
    body.emit(Op.SELECT, 0, 0, span);
  }

  /** MIN(MX, MAX(MN, IN)): the formula decides what happens when the limits are exchanged. */
  private void limit(List<Expr> args, Span span) {
    Type type = args.get(1).type();
    body.expression(args.get(0));
    body.expression(args.get(1));
    extremeTop(Op.MAX, type, span);
    body.expression(args.get(2));
    extremeTop(Op.MIN, type, span);
  }

  private void bound(boolean upper, List<Expr> args, Span span) {
    Expr.Read array = (Expr.Read) args.get(0);
    Type.Array type = (Type.Array) array.type().base();
    // A dimension that does not exist is a subscript out of its bounds (T15.2b): 1..n becomes 0..n-1, or faults.
    body.constant(0, span);
    body.expression(args.get(1));
    body.dimension(type.bounds().size(), args.get(1).span());
    if (type.open()) {
      body.pushOpenBounds(array.place(), upper, span);
    } else {
      for (Type.Bounds b : type.bounds()) {
        body.constant(upper ? b.high() : b.low(), span);
      }
    }
    body.emit(Op.MUX, type.bounds().size(), 0, span);
  }
}
