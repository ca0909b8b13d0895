package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/** Something that can be read or written: a variable, a part of one, a location. */
public sealed interface Place {
  Type type();

  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R variable(Var p);

    R member(Member p);

    R element(Element p);

    R dereference(Deref p);

    R direct(Direct p);

    R bits(Bits p);

    R character(Character p);

    R self(This p);
  }

  /**
   * A variable by itself. Which storage it is follows from its section and owner: INPUT, OUTPUT, LOCAL, HIDDEN of a program, FB or class belong to the
   * instance; TEMP, and everything of a function or method, to the call frame; IN_OUT is an address in the frame (function, method) or instance (FB,
   * program); GLOBAL is static; EXTERNAL stands for its global; a located variable is its location.
   */
  record Var(Span span, Variable variable) implements Place {
    @Override
    public Type type() {
      return variable.type();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.variable(this);
    }
  }

  /** A structure's field or a block instance's variable. */
  record Member(Span span, Place base, Variable field) implements Place {
    @Override
    public Type type() {
      return field.type();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.member(this);
    }
  }

  /** An array element; {@code indices} are integer expressions of any integer type, one per dimension. */
  record Element(Span span, Type type, Place base, List<Expr> indices) implements Place {
    public Element {
      indices = List.copyOf(indices);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.element(this);
    }
  }

  /** {@code reference^}; also an interface variable or reference as the receiver of a method call. */
  record Deref(Span span, Type type, Expr reference) implements Place {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.dereference(this);
    }
  }

  /** {@code %QX0.0} in a body. */
  record Direct(Span span, Type type, Located location) implements Place {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.direct(this);
    }
  }

  /** Partial access to a bit string (Table 17): {@code width} bits from bit {@code offset}; {@code type} is BOOL, BYTE, WORD or DWORD. */
  record Bits(Span span, Type type, Place base, int offset, int width) implements Place {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.bits(this);
    }
  }

  /** One character of a string, counted from 1. */
  record Character(Span span, Type type, Place base, Expr index) implements Place {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.character(this);
    }
  }

  /** The own instance: THIS, or the base part of it for SUPER. */
  record This(Span span, Type type) implements Place {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.self(this);
    }
  }
}
