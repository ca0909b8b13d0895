package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing;
import java.util.List;

/** A typed expression: names resolved, implicit conversions explicit, constants folded. */
public sealed interface Expr {
  Type type();

  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R constant(Constant e);

    R text(TextConstant e);

    R read(Read e);

    R negate(Negate e);

    R not(Not e);

    R binary(Binary e);

    R convert(Convert e);

    R intrinsic(Intrinsic e);

    R invoke(Invoke e);

    R address(AddressOf e);

    R link(LinkState e);
  }

  /** A scalar constant; {@code value} is the slot value of {@code type} (see ElementaryType); NULL is 0 of a reference type. */
  record Constant(Span span, Type type, long value) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.constant(this);
    }
  }

  /** A string constant; type is {@link Type.Text} with capacity = length (at least 1). */
  record TextConstant(Span span, Type type, int[] units) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.text(this);
    }
  }

  /** Value of a place: scalar, string, array, structure (aggregates only as source of assignment, argument, comparison of strings). */
  record Read(Span span, Place place) implements Expr {
    @Override
    public Type type() {
      return place.type();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.read(this);
    }
  }

  /** Arithmetic negation of a number or duration. */
  record Negate(Span span, Type type, Expr operand) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.negate(this);
    }
  }

  /** Complement of BOOL or a bit string. */
  record Not(Span span, Type type, Expr operand) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.not(this);
    }
  }

  enum Operator { OR, XOR, AND, EQ, NE, LT, GT, LE, GE, ADD, SUB, MUL, DIV, MOD, POWER }

  /**
   * Two operands. Both have the same base type after conversions, with these exceptions: POWER (base real, exponent any number); MUL and DIV of a
   * duration by a number; ADD and SUB of TOD or DT and a duration; SUB of two DATE, TOD, DT (result duration). {@code span} is that of the
   * operator and both operands. AND and OR of BOOL may be short-circuited by choice at lowering.
   */
  record Binary(Span span, Type type, Operator operator, Expr left, Expr right) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.binary(this);
    }
  }

  /**
   * Conversion between elementary types (also enumeration to and from its base type, subrange check, STRING capacities need none).
   * {@code truncate}: real to integer drops the fraction (TRUNC) instead of rounding half to even.
   */
  record Convert(Span span, Type type, Expr operand, boolean truncate) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.convert(this);
    }
  }

  /**
   * A function that the core executes itself; {@code name} is the word of the {@code {intrinsic NAME}} pragma of its declaration, in upper case. Argument
   * types are already the ones the operation works on. The lowering has the table of names.
   */
  record Intrinsic(Span span, Type type, String name, List<Expr> arguments) implements Expr {
    public Intrinsic {
      arguments = List.copyOf(arguments);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.intrinsic(this);
    }
  }

  /** Result of a function or method call. */
  record Invoke(Span span, Type type, Call call) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.invoke(this);
    }
  }

  /** {@code REF(place)}, or an instance given where an interface is expected. */
  record AddressOf(Span span, Type type, Place place) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.address(this);
    }
  }

  /** State of a ladder link, at a pin of a box; type BOOL, or the type of the single box output it comes from. */
  record LinkState(Span span, Type type, Drawing.Link link) implements Expr {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.link(this);
    }
  }
}
