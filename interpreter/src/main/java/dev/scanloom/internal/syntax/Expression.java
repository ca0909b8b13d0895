package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** An ST expression (Table 71) or a variable access as written. */
public sealed interface Expression {
  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R literal(Literal e);

    R name(Ident e);

    R typedName(TypedName e);

    R direct(Direct e);

    R member(Member e);

    R index(Index e);

    R bits(Bits e);

    R dereference(Dereference e);

    R call(Call e);

    R unary(Unary e);

    R chain(Chain e);

    R self(Self e);

    R error(Erroneous e);
  }

  enum LiteralKind {
    /** Decimal, 2#, 8# or 16# integer. */
    INTEGER,
    REAL,
    /** TRUE or FALSE. */
    BOOLEAN,
    /** Single-quoted. */
    STRING,
    /** Double-quoted. */
    WSTRING,
    /** T#, TIME#, LT#, LTIME#. */
    DURATION,
    /** D#, DATE#, LD#, LDATE#. */
    DATE,
    /** TOD#, TIME_OF_DAY#, LTOD#, LTIME_OF_DAY#. */
    TIME_OF_DAY,
    /** DT#, DATE_AND_TIME#, LDT#, LDATE_AND_TIME#. */
    DATE_AND_TIME,
    /** The keyword NULL. */
    NULL
  }

  /**
   * A literal. {@code text} is the whole token as written, without type prefix and sign: {@code 16#AF}, {@code 1_000},
   * {@code 'a$T'} with its quotes. A duration or date keeps its prefix in {@code prefix} ({@code T}, {@code LTIME}, ...) and only the value
   * in {@code text}. {@code INT#-12} has prefix {@code INT}, negative true, text {@code 12}. A sign in front of an untyped literal is
   * {@link Unary}.
   */
  record Literal(Span span, LiteralKind kind, Optional<Name> prefix, boolean negative, String text) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.literal(this);
    }
  }

  /** A simple name: variable, enumerated value, function result, instance, namespace, step. */
  record Ident(Span span, Name name) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.name(this);
    }
  }

  /** {@code Mode#Auto}: an enumerated value with its type. */
  record TypedName(Span span, QualifiedName type, Name value) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.typedName(this);
    }
  }

  /** {@code %IX0.0}. */
  record Direct(Span span, DirectAddress address) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.direct(this);
    }
  }

  /** {@code base.name}. */
  record Member(Span span, Expression base, Name name) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.member(this);
    }
  }

  /** {@code base[i, j]}. */
  record Index(Span span, Expression base, List<Expression> indices) implements Expression {
    public Index {
      indices = List.copyOf(indices);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.index(this);
    }
  }

  /** Partial access {@code base.%X7}, {@code base.%B1}, or {@code base.7} (size 'X'); Table 17. */
  record Bits(Span span, Expression base, char size, int number) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.bits(this);
    }
  }

  /** {@code base^}. */
  record Dereference(Span span, Expression base) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.dereference(this);
    }
  }

  /**
   * A call: {@code target} is a name (function, FB instance, action), a member (method, instance in a structure), an index or a
   * dereference. {@code SUPER()} has target {@link Self}. {@code REF(x)}, {@code REF_TO} conversions and standard functions are calls too.
   */
  record Call(Span span, Expression target, List<Argument> arguments) implements Expression {
    public Call {
      arguments = List.copyOf(arguments);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.call(this);
    }
  }

  /**
   * One argument: {@code x} (NAMELESS), {@code a := x} (INPUT, also in-out), {@code q => y} (OUTPUT), {@code NOT q => y} (negated OUTPUT).
   * {@code value} is empty for {@code q =>}.
   */
  record Argument(Span span, ArgumentKind kind, Optional<Name> name, boolean negated, Optional<Expression> value) {}

  enum ArgumentKind { NAMELESS, INPUT, OUTPUT }

  enum UnaryOperator { MINUS, PLUS, NOT }

  record Unary(Span span, UnaryOperator operator, Expression operand) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.unary(this);
    }
  }

  /** Operators of Table 71 between two operands, with the precedence of the table (larger binds tighter). */
  enum BinaryOperator {
    OR(1, "OR"), XOR(2, "XOR"), AND(3, "AND"), EQ(4, "="), NE(4, "<>"), LT(5, "<"), GT(5, ">"), LE(5, "<="), GE(5, ">="),
    ADD(6, "+"), SUB(6, "-"), MUL(7, "*"), DIV(7, "/"), MOD(7, "MOD"), POWER(8, "**");

    private final int precedence;
    private final String symbol;

    BinaryOperator(int precedence, String symbol) {
      this.precedence = precedence;
      this.symbol = symbol;
    }

    public int precedence() {
      return precedence;
    }

    /** The operator as written in ST. */
    public String symbol() {
      return symbol;
    }
  }

  /**
   * Operators of one precedence applied left to right: {@code first op1 e1 op2 e2 ...}. A list, not a deep tree, so that long sums are
   * harmless. {@code rest} has at least one entry. A parenthesised expression has no node of its own; its span includes the parentheses.
   */
  record Chain(Span span, Expression first, List<Link> rest) implements Expression {
    public Chain {
      rest = List.copyOf(rest);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.chain(this);
    }
  }

  /** One operator and its right operand in a {@link Chain}. */
  record Link(Span operatorSpan, BinaryOperator operator, Expression operand) {}

  /** {@code THIS} or {@code SUPER}. */
  record Self(Span span, boolean isSuper) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.self(this);
    }
  }

  /** Stands where the parser reported an error and an expression should be. */
  record Erroneous(Span span) implements Expression {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.error(this);
    }
  }
}
