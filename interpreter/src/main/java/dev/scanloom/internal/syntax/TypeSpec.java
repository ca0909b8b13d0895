package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** A type as written in a declaration (Tables 10 to 13). */
public sealed interface TypeSpec {
  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R named(Named t);

    R string(Str t);

    R subrange(Subrange t);

    R enumeration(Enumeration t);

    R array(Array t);

    R structure(Structure t);

    R reference(Reference t);
  }

  /** An elementary type, a generic type (ANY_...), a user-defined type, an FB, class or interface, by name. */
  record Named(Span span, QualifiedName name) implements TypeSpec {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.named(this);
    }
  }

  /** {@code STRING[n]}, {@code WSTRING[n]} or {@code USTRING[n]}: only with a length; without one it is {@link Named}. */
  record Str(Span span, Name base, Expression length) implements TypeSpec {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.string(this);
    }
  }

  /** {@code INT (0..100)}. */
  record Subrange(Span span, QualifiedName base, Expression low, Expression high) implements TypeSpec {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.subrange(this);
    }
  }

  /** {@code (Off, On)}; with {@code base}: {@code BYTE (Red := 1, Green := 2)}. */
  record Enumeration(Span span, Optional<QualifiedName> base, List<EnumValue> values) implements TypeSpec {
    public Enumeration {
      values = List.copyOf(values);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.enumeration(this);
    }
  }

  /** One value of an enumeration. */
  record EnumValue(Span span, Name name, Optional<Expression> value) {}

  /** {@code ARRAY [1..3, 0..1] OF INT} or {@code ARRAY [*, *] OF INT}. */
  record Array(Span span, List<Dimension> dimensions, TypeSpec element) implements TypeSpec {
    public Array {
      dimensions = List.copyOf(dimensions);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.array(this);
    }
  }

  /** Bounds of one dimension; both empty for {@code *}. */
  record Dimension(Span span, Optional<Expression> low, Optional<Expression> high) {}

  /** {@code STRUCT ... END_STRUCT}, optionally {@code OVERLAP}. */
  record Structure(Span span, boolean overlap, List<Field> fields) implements TypeSpec {
    public Structure {
      fields = List.copyOf(fields);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.structure(this);
    }
  }

  /** One element of a structure. */
  record Field(Span span, Name name, Optional<DirectAddress> at, TypeSpec type, Optional<Initializer> initial) {}

  /** {@code REF_TO T}. */
  record Reference(Span span, TypeSpec target) implements TypeSpec {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.reference(this);
    }
  }
}
