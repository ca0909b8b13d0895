package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.Optional;

/**
 * A declared variable: of a POU, a structure (field), a method, a configuration or resource. Identity object. Written by the checker while it
 * builds the model, read-only afterwards.
 */
public final class Variable {
  /** Where the variable was declared. RESULT is the result variable of a function or method; HIDDEN is made by the checker. */
  public enum Section { INPUT, OUTPUT, IN_OUT, TEMP, LOCAL, EXTERNAL, GLOBAL, FIELD, RESULT, HIDDEN }

  public enum Retention { NONE, RETAIN, NON_RETAIN }

  public enum Edge { NONE, RISING, FALLING }

  public enum Access { PUBLIC, PROTECTED, PRIVATE, INTERNAL }

  private final String name;
  private final Section section;
  private final Span span;
  private Type type;
  private boolean constant;
  private Retention retention = Retention.NONE;
  private Edge edge = Edge.NONE;
  private Access access = Access.PROTECTED;
  private Optional<Init> initial = Optional.empty();
  private Optional<Located> located = Optional.empty();
  private Optional<Relative> relative = Optional.empty();
  private Optional<Variable> global = Optional.empty();
  private String documentation = "";

  public Variable(String name, Section section, Type type, Span span) {
    this.name = name;
    this.section = section;
    this.type = type;
    this.span = span;
  }

  /** Position of a field with a relative address (Table 11, 8): bit offset from the start of the structure. */
  public record Relative(int bitOffset) {}

  public String name() {
    return name;
  }

  public Section section() {
    return section;
  }

  /** Place of the name in its declaration. */
  public Span span() {
    return span;
  }

  public Type type() {
    return type;
  }

  public boolean isConstant() {
    return constant;
  }

  public Retention retention() {
    return retention;
  }

  /** R_EDGE or F_EDGE of an input. */
  public Edge edge() {
    return edge;
  }

  public Access access() {
    return access;
  }

  /** Initial value; empty means the default of the type. */
  public Optional<Init> initial() {
    return initial;
  }

  /** Location given with AT. */
  public Optional<Located> located() {
    return located;
  }

  public Optional<Relative> relative() {
    return relative;
  }

  /** For EXTERNAL: the global variable it stands for. */
  public Optional<Variable> global() {
    return global;
  }

  public String documentation() {
    return documentation;
  }

  void setType(Type t) {
    type = t;
  }

  void setConstant(boolean b) {
    constant = b;
  }

  void setRetention(Retention r) {
    retention = r;
  }

  void setEdge(Edge e) {
    edge = e;
  }

  void setAccess(Access a) {
    access = a;
  }

  void setInitial(Init i) {
    initial = Optional.of(i);
  }

  void setLocated(Located l) {
    located = Optional.of(l);
  }

  void setRelative(Relative r) {
    relative = Optional.of(r);
  }

  void setGlobal(Variable g) {
    global = Optional.of(g);
  }

  void setDocumentation(String text) {
    documentation = text;
  }

  @Override
  public String toString() {
    return name + " : " + type.name();
  }
}
