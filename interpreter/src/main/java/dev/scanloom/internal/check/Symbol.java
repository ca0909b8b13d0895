package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.Name;

/** A name declared in a namespace: a type or a POU. */
abstract class Symbol {
  private final Name name;
  private final Namespace namespace;
  private final Site site;
  private final boolean internal;

  Symbol(Name name, Namespace namespace, Site site, boolean internal) {
    this.name = name;
    this.namespace = namespace;
    this.site = site;
    this.internal = internal;
  }

  Name name() {
    return name;
  }

  Span span() {
    return name.span();
  }

  Namespace namespace() {
    return namespace;
  }

  Site site() {
    return site;
  }

  /** Marked INTERNAL: usable only inside its namespace. */
  boolean isInternal() {
    return internal;
  }

  enum State { NEW, RUNNING, DONE }

  /** A user-defined data type. */
  static final class TypeSymbol extends Symbol {
    private final Declaration.TypeDefinition definition;
    private State state = State.NEW;
    private Type type;

    TypeSymbol(Declaration.TypeDefinition definition, Namespace namespace, Site site, boolean internal) {
      super(definition.name(), namespace, site, internal);
      this.definition = definition;
    }

    Declaration.TypeDefinition definition() {
      return definition;
    }

    State state() {
      return state;
    }

    void setState(State s) {
      state = s;
    }

    Type type() {
      return type;
    }

    void setType(Type t) {
      type = t;
    }
  }

  /** A program, function, function block, class or interface. */
  static final class PouSymbol extends Symbol {
    private final PouInfo info;

    PouSymbol(Name name, Namespace namespace, Site site, boolean internal, PouInfo info) {
      super(name, namespace, site, internal);
      this.info = info;
    }

    PouInfo info() {
      return info;
    }

    Pou pou() {
      return info.pou();
    }
  }
}
