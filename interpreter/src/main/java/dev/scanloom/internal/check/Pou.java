package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.Collections;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;

/**
 * A program, function, function block, class, interface or method. Identity object; written by the checker while it builds the model, read-only
 * afterwards. A method's {@link #owner()} is the block, class or interface that declares it.
 */
public final class Pou {
  public enum Kind { PROGRAM, FUNCTION, FUNCTION_BLOCK, CLASS, INTERFACE, METHOD }

  private final Kind kind;
  private final String name;
  private final String qualifiedName;
  private final Span span;
  private final List<Variable> variables = new ArrayList<>();
  private final List<Pou> methods = new ArrayList<>();
  private final List<Pou> interfaces = new ArrayList<>();
  private Optional<Pou> base = Optional.empty();
  private Optional<Pou> owner = Optional.empty();
  private Type result = new Type.Nothing();
  private Code code = new Code.Abstract();
  private boolean isAbstract;
  private boolean isFinal;
  private boolean isOverride;
  private boolean library;
  private Variable.Access access = Variable.Access.PUBLIC;
  private String documentation = "";

  public Pou(Kind kind, String name, String qualifiedName, Span span) {
    this.kind = kind;
    this.name = name;
    this.qualifiedName = qualifiedName;
    this.span = span;
  }

  public Kind kind() {
    return kind;
  }

  public String name() {
    return name;
  }

  /** Name with its namespaces (and for a method its owner), joined by dots. */
  public String qualifiedName() {
    return qualifiedName;
  }

  /** Place of the name in the declaration. */
  public Span span() {
    return span;
  }

  /**
   * Own variables of all sections in the order of declaration, hidden ones last; the result variable (section RESULT, named like the POU) of a function
   * or method with result is among them. Inherited ones are in {@link #base()}.
   */
  public List<Variable> variables() {
    return Collections.unmodifiableList(variables);
  }

  /** Own methods and property accessors (named {@code GET level}, {@code SET level}). */
  public List<Pou> methods() {
    return Collections.unmodifiableList(methods);
  }

  /** IMPLEMENTS of a block or class; EXTENDS of an interface. */
  public List<Pou> interfaces() {
    return Collections.unmodifiableList(interfaces);
  }

  public Optional<Pou> base() {
    return base;
  }

  public Optional<Pou> owner() {
    return owner;
  }

  /** Result type of a function or method; {@link Type.Nothing} without one. */
  public Type result() {
    return result;
  }

  public Code code() {
    return code;
  }

  public boolean isAbstract() {
    return isAbstract;
  }

  public boolean isFinal() {
    return isFinal;
  }

  public boolean isOverride() {
    return isOverride;
  }

  /** Comes from a library, not from the user's files. */
  public boolean isLibrary() {
    return library;
  }

  public Variable.Access access() {
    return access;
  }

  public String documentation() {
    return documentation;
  }

  /** Own or inherited variable, in any case of letters. */
  public Optional<Variable> variable(String variableName) {
    for (Variable v : variables) {
      if (v.name().equalsIgnoreCase(variableName)) {
        return Optional.of(v);
      }
    }
    return base.flatMap(b -> b.variable(variableName));
  }

  /** Own or inherited method, in any case of letters. */
  public Optional<Pou> method(String methodName) {
    for (Pou m : methods) {
      if (m.name().equalsIgnoreCase(methodName)) {
        return Optional.of(m);
      }
    }
    if (base.isPresent()) {
      Optional<Pou> inherited = base.get().method(methodName);
      if (inherited.isPresent()) {
        return inherited;
      }
    }
    if (kind == Kind.INTERFACE) {
      for (Pou i : allInterfaces()) {
        for (Pou m : i.methods) {
          if (m.name().equalsIgnoreCase(methodName)) {
            return Optional.of(m);
          }
        }
      }
    }
    return Optional.empty();
  }

  /** All interfaces that this one names, or that those extend, each once; nearest first. Those of {@link #base()} are not among them. */
  public List<Pou> allInterfaces() {
    Set<Pou> all = new LinkedHashSet<>(interfaces);
    List<Pou> open = new ArrayList<>(interfaces);
    for (int i = 0; i < open.size(); i++) {
      for (Pou p : open.get(i).interfaces) {
        if (all.add(p)) {
          open.add(p);
        }
      }
    }
    return List.copyOf(all);
  }

  /** This, or one of its bases, is {@code other}; for an interface also by IMPLEMENTS or EXTENDS. */
  public boolean isA(Pou other) {
    if (this == other) {
      return true;
    }
    if (base.isPresent() && base.get().isA(other)) {
      return true;
    }
    return other.kind == Kind.INTERFACE && allInterfaces().contains(other);
  }

  void addVariable(Variable v) {
    variables.add(v);
  }

  void addMethod(Pou m) {
    methods.add(m);
  }

  void addInterface(Pou i) {
    interfaces.add(i);
  }

  void setBase(Pou b) {
    base = Optional.of(b);
  }

  void setOwner(Pou o) {
    owner = Optional.of(o);
  }

  void setResult(Type t) {
    result = t;
  }

  void setCode(Code c) {
    code = c;
  }

  void setAbstract(boolean b) {
    isAbstract = b;
  }

  void setFinal(boolean b) {
    isFinal = b;
  }

  void setOverride(boolean b) {
    isOverride = b;
  }

  void setLibrary(boolean b) {
    library = b;
  }

  void setAccess(Variable.Access a) {
    access = a;
  }

  void setDocumentation(String text) {
    documentation = text;
  }

  @Override
  public String toString() {
    return kind + " " + qualifiedName;
  }
}
