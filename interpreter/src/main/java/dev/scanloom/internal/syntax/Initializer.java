package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** An initial value as written after {@code :=} in a declaration (Table 14). */
public sealed interface Initializer {
  Span span();

  /** A constant expression (also {@code NULL}, {@code REF(x)}, an enumerated value). */
  record Value(Span span, Expression expression) implements Initializer {}

  /** {@code [1, 2(7), 9]}. */
  record Array(Span span, List<Element> elements) implements Initializer {
    public Array {
      elements = List.copyOf(elements);
    }
  }

  /** One entry of an array initializer: {@code value}, {@code count(value)} or {@code count()} (default repeated). */
  record Element(Span span, Optional<Expression> count, Optional<Initializer> value) {}

  /** {@code (x := 1.0, y := 2.0)} for structures, FB and class instances. */
  record Structure(Span span, List<Member> members) implements Initializer {
    public Structure {
      members = List.copyOf(members);
    }
  }

  record Member(Span span, Name name, Initializer value) {}
}
