package dev.scanloom.internal.step;

import dev.scanloom.model.ElementaryType;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/** How a value lies in memory and how its parts are named: what is left of a type at run time. */
public sealed interface Shape {
  /** Slots taken in memory. */
  int slots();

  /** Name of the type for people. */
  String typeName();

  /**
   * One slot. {@code names}: enumerated values by number (empty for others). {@code low}, {@code high}: bounds of a subrange, or of an
   * enumeration that holds its values only; else null.
   * A reference or interface variable has kind ULINT and {@code reference} true.
   */
  record Scalar(ElementaryType kind, String typeName, Map<Long, String> names, Long low, Long high, boolean reference) implements Shape {
    public Scalar(ElementaryType kind) {
      this(kind, kind.name(), Map.of(), null, null, false);
    }

    @Override
    public int slots() {
      return 1;
    }
  }

  /** A string: slot 0 holds the length, then the characters, 8 (STRING), 4 (WSTRING) or 2 (USTRING) per slot, least significant first. */
  record Text(ElementaryType kind, int capacity) implements Shape {
    @Override
    public int slots() {
      return slotsFor(kind, capacity);
    }

    public static int slotsFor(ElementaryType kind, int capacity) {
      int per = kind == ElementaryType.STRING ? 8 : kind == ElementaryType.WSTRING ? 4 : 2;
      return 1 + (capacity + per - 1) / per;
    }

    @Override
    public String typeName() {
      return kind.name() + "[" + capacity + "]";
    }
  }

  /** Elements in storage order, the last subscript varying fastest. In a located area the stride counts bits instead of slots. */
  record Array(List<int[]> bounds, Shape element, int count) implements Shape {
    public Array {
      bounds = List.copyOf(bounds);
    }

    @Override
    public int slots() {
      return element.slots() * count;
    }

    @Override
    public String typeName() {
      StringBuilder b = new StringBuilder("ARRAY [");
      for (int i = 0; i < bounds.size(); i++) {
        b.append(i == 0 ? "" : ", ").append(bounds.get(i)[0]).append("..").append(bounds.get(i)[1]);
      }
      return b.append("] OF ").append(element.typeName()).toString();
    }
  }

  /** A structure, or an instance of a block, class or program. */
  record Composite(String typeName, List<Member> members, int slots) implements Shape {
    public Composite {
      members = List.copyOf(members);
    }

    public Optional<Member> member(String name) {
      for (Member m : members) {
        if (m.name().equalsIgnoreCase(name)) {
          return Optional.of(m);
        }
      }
      return Optional.empty();
    }
  }

  /**
   * A part of a composite. {@code located} is its address when it does not lie in the composite's slots, else 0. {@code indirect}: the slot holds the
   * address of the variable (in-out). {@code hidden}: made by the compiler; not offered to people unless they ask. {@code retention}: what its
   * declaration says; with {@code NONE} the member follows the composite that it is part of.
   */
  record Member(String name, int offset, long located, boolean indirect, boolean hidden, Retention retention, Shape shape) {}

  /** RETAIN, NON_RETAIN or neither; a constant is never kept, since its value belongs to the program. */
  enum Retention { NONE, RETAIN, NON_RETAIN, CONSTANT }
}
