package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.math.BigDecimal;
import java.math.BigInteger;
import java.util.List;

/** Value of an expression while its type may still depend on the context: a literal adapts to what is needed (S.literal-untyped). */
sealed interface Val {
  Span span();

  /** A value with a type. */
  record Typed(Expr expr) implements Val {
    @Override
    public Span span() {
      return expr.span();
    }
  }

  /** An integer without type. */
  record Int(Span span, BigInteger value) implements Val {}

  /** A real number without type. */
  record Real(Span span, BigDecimal value) implements Val {}

  /** A string in quotes without type, as code points; {@code wide}: double quotes. */
  record Text(Span span, int[] points, boolean wide) implements Val {}

  /** An enumerated value named without its type; {@code candidates} are the visible enumerations that have it, at least one. */
  record Named(Span span, String name, List<Type.Enumeration> candidates) implements Val {}

  /** NULL. */
  record Null(Span span) implements Val {}
}
