package dev.scanloom.internal.check;

import dev.scanloom.model.ElementaryType;
import java.util.List;
import java.util.Optional;

/**
 * A resolved type. Elementary, string, array, reference and subrange types are equal by structure; enumerations, structures, directly derived
 * types, blocks and interfaces by identity of their declaration. What is equal is written out, since these are keys of maps: the methods that a
 * record has of itself are linked at their first use, which costs a start-up more than all else here.
 */
public sealed interface Type {

  /** The name under which people know the type, such as {@code INT}, {@code ARRAY [1..3] OF INT}. */
  String name();

  /** Directly derived types looked through; itself for all others. */
  default Type base() {
    return this;
  }

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R elementary(Elementary t);

    R text(Text t);

    R enumeration(Enumeration t);

    R subrange(Subrange t);

    R derived(Derived t);

    R array(Array t);

    R structure(Structure t);

    R reference(Reference t);

    R block(Block t);

    R interfaceType(Interface t);

    R generic(Generic t);

    R nothing(Nothing t);

    R error(Unknown t);
  }

  /** Any elementary type except strings. */
  record Elementary(ElementaryType kind) implements Type {
    @Override
    public String name() {
      return kind.name();
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Elementary e && e.kind == kind;
    }

    @Override
    public int hashCode() {
      return kind.ordinal();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.elementary(this);
    }
  }

  /** STRING[n], WSTRING[n], USTRING[n]; {@code capacity} counts characters (USTRING: code points). */
  record Text(ElementaryType kind, int capacity) implements Type {
    @Override
    public String name() {
      return kind.name() + "[" + capacity + "]";
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Text t && t.kind == kind && t.capacity == capacity;
    }

    @Override
    public int hashCode() {
      return 31 * kind.ordinal() + capacity;
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.text(this);
    }
  }

  /**
   * An enumeration. {@code base} is DINT for one without named values; {@code open} when other values of the base type may be held (Table 11, 2a).
   * Identity type.
   */
  final class Enumeration implements Type {
    /** One value. */
    public record Value(String name, long value) {}

    private final String name;
    private final ElementaryType base;
    private final boolean open;
    private final List<Value> values;
    private final long initial;

    public Enumeration(String name, ElementaryType base, boolean open, List<Value> values, long initial) {
      this.name = name;
      this.base = base;
      this.open = open;
      this.values = List.copyOf(values);
      this.initial = initial;
    }

    @Override
    public String name() {
      return name;
    }

    public ElementaryType baseKind() {
      return base;
    }

    public boolean isOpen() {
      return open;
    }

    public List<Value> values() {
      return values;
    }

    public long initial() {
      return initial;
    }

    /** The value with a name, in any case of letters. */
    public Optional<Value> find(String valueName) {
      return values.stream().filter(v -> v.name().equalsIgnoreCase(valueName)).findFirst();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.enumeration(this);
    }
  }

  /** {@code INT (0..100)}; bounds as slot values of the base type. */
  record Subrange(ElementaryType kind, long low, long high) implements Type {
    @Override
    public String name() {
      return kind.name() + " (" + text(low) + ".." + text(high) + ")";
    }

    private String text(long v) {
      return kind.family() == ElementaryType.Family.UNSIGNED ? Long.toUnsignedString(v) : Long.toString(v);
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Subrange s && s.kind == kind && s.low == low && s.high == high;
    }

    @Override
    public int hashCode() {
      return 31 * (31 * kind.ordinal() + Long.hashCode(low)) + Long.hashCode(high);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.subrange(this);
    }
  }

  /** A directly derived type: another name, possibly another initial value. Identity type; {@link #base()} looks through it. */
  final class Derived implements Type {
    private final String name;
    private final Type target;
    private final Optional<Init> initial;

    public Derived(String name, Type target, Optional<Init> initial) {
      this.name = name;
      this.target = target;
      this.initial = initial;
    }

    @Override
    public String name() {
      return name;
    }

    public Type target() {
      return target;
    }

    public Optional<Init> initial() {
      return initial;
    }

    @Override
    public Type base() {
      return target.base();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.derived(this);
    }
  }

  /** Bounds of one dimension, inclusive. */
  record Bounds(int low, int high) {
    @Override
    public boolean equals(Object other) {
      return other instanceof Bounds b && b.low == low && b.high == high;
    }

    @Override
    public int hashCode() {
      return 31 * low + high;
    }

    public int length() {
      return high - low + 1;
    }
  }

  /**
   * An array; {@code bounds} has one entry per dimension, last subscript varying fastest. {@code open} for {@code ARRAY [*]}: then the entries of
   * bounds carry no meaning but their number; an open array parameter is passed as an address and a descriptor.
   */
  record Array(List<Bounds> bounds, Type element, boolean open) implements Type {
    public Array {
      bounds = List.copyOf(bounds);
    }

    @Override
    public String name() {
      StringBuilder b = new StringBuilder("ARRAY [");
      for (int i = 0; i < bounds.size(); i++) {
        b.append(i == 0 ? "" : ", ").append(open ? "*" : bounds.get(i).low() + ".." + bounds.get(i).high());
      }
      return b.append("] OF ").append(element.name()).toString();
    }

    /** Number of elements; meaningless when open. */
    public long count() {
      long n = 1;
      for (Bounds b : bounds) {
        n *= b.length();
      }
      return n;
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Array a && a.open == open && a.bounds.equals(bounds) && a.element.equals(element);
    }

    @Override
    public int hashCode() {
      return 31 * bounds.hashCode() + element.hashCode();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.array(this);
    }
  }

  /** A structure. Fields are set once, after the type exists, since references may close a circle. Identity type. */
  final class Structure implements Type {
    private final String name;
    private final boolean overlap;
    private List<Variable> fields = List.of();

    public Structure(String name, boolean overlap) {
      this.name = name;
      this.overlap = overlap;
    }

    /** For the checker alone. */
    void setFields(List<Variable> all) {
      fields = List.copyOf(all);
    }

    @Override
    public String name() {
      return name;
    }

    public boolean isOverlap() {
      return overlap;
    }

    /** Elements in the order of declaration; relative addresses are in {@link Variable#relative()}. */
    public List<Variable> fields() {
      return fields;
    }

    public Optional<Variable> field(String fieldName) {
      return fields.stream().filter(f -> f.name().equalsIgnoreCase(fieldName)).findFirst();
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.structure(this);
    }
  }

  /** {@code REF_TO target}. */
  record Reference(Type target) implements Type {
    @Override
    public String name() {
      return "REF_TO " + target.name();
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Reference r && r.target.equals(target);
    }

    @Override
    public int hashCode() {
      return 31 * target.hashCode() + 1;
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.reference(this);
    }
  }

  /** Instance of a function block or class. */
  record Block(Pou pou) implements Type {
    @Override
    public String name() {
      return pou.name();
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Block b && b.pou.equals(pou);
    }

    @Override
    public int hashCode() {
      return 31 * pou.hashCode() + 2;
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.block(this);
    }
  }

  /** Variable of an interface type. */
  record Interface(Pou pou) implements Type {
    @Override
    public String name() {
      return pou.name();
    }

    @Override
    public boolean equals(Object other) {
      return other instanceof Interface i && i.pou.equals(pou);
    }

    @Override
    public int hashCode() {
      return 31 * pou.hashCode() + 3;
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.interfaceType(this);
    }
  }

  /** A generic type of the standard's hierarchy, such as {@code ANY_NUM}; only in declarations of library functions. */
  record Generic(String name) implements Type {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.generic(this);
    }
  }

  /** Result of a function without result; type of NULL. */
  record Nothing() implements Type {
    @Override
    public String name() {
      return "nothing";
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.nothing(this);
    }
  }

  /** Stands where an error was reported; compatible with everything so that one cause gives one diagnostic. */
  record Unknown() implements Type {
    @Override
    public String name() {
      return "unknown";
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.error(this);
    }
  }
}
