package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;

/** Rules between blocks, classes and interfaces (Tables 48 to 53). */
final class Inheritance {
  private final Session session;

  Inheritance(Session session) {
    this.session = session;
  }

  void check() {
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      Pou p = s.pou();
      modifiers(p);
      if (p.kind() == Pou.Kind.FUNCTION_BLOCK || p.kind() == Pou.Kind.CLASS) {
        for (Pou m : p.methods()) {
          method(p, m);
        }
        abstracts(p);
        interfaces(p);
      } else if (p.kind() == Pou.Kind.INTERFACE) {
        for (Pou m : p.methods()) {
          if (m.isOverride() || m.isFinal()) {
            session.error("declaration/modifier", m.span(), "methods of an interface carry no modifiers");
          }
          for (Pou base : p.interfaces()) {
            base.method(m.name()).filter(o -> difference(o, m) != null).ifPresent(o ->
                session.report(Pous.related("oop/interface-conflict", m.span(), title(m) + " has another form in " + base.name() + ": "
                    + difference(o, m),
                    o.span(), "declared here")));
          }
        }
      }
    }
    instances();
  }

  /** A method or property in the words of people. */
  private static String title(Pou m) {
    return m.name().startsWith("GET ") || m.name().startsWith("SET ") ? "property " + m.name().substring(4) : "method " + m.name();
  }

  private void modifiers(Pou p) {
    if ((p.kind() == Pou.Kind.FUNCTION || p.kind() == Pou.Kind.INTERFACE) && (p.isAbstract() || p.isFinal())) {
      session.error("declaration/modifier", p.span(), "a " + Types.word(p.kind()) + " is neither ABSTRACT nor FINAL");
    } else if (p.isAbstract() && p.isFinal()) {
      session.error("declaration/modifier", p.span(), p.name()
          + " is FINAL and could never be completed; it is ABSTRACT or has ABSTRACT methods");
    }
  }

  private void method(Pou owner, Pou m) {
    Pou inherited = owner.base().flatMap(b -> b.method(m.name())).filter(o -> o.access() != Variable.Access.PRIVATE).orElse(null);
    if (inherited == null) {
      if (m.isOverride()) {
        session.error("oop/override-nothing", m.span(), title(m) + " overrides nothing: no base declares it");
      }
      return;
    }
    if (!m.isOverride()) {
      session.report(Pous.related("oop/override-missing", m.span(), title(m) + " is inherited from " + inherited.owner().get().name()
          + "; a new one carries OVERRIDE", inherited.span(), "the inherited one"));
      return;
    }
    if (inherited.isFinal()) {
      session.report(Pous.related("oop/override-final", m.span(), title(m) + " is FINAL in " + inherited.owner().get().name(),
          inherited.span(),
          "declared here"));
    }
    String difference = difference(inherited, m);
    if (difference != null) {
      session.report(Pous.related("oop/override-signature", m.span(), title(m) + " differs from the one it overrides: " + difference,
          inherited.span(), "declared here"));
    } else if (m.access() != inherited.access()) {
      session.report(Pous.related("oop/override-access", m.span(), title(m) + " is " + m.access() + ", the one it overrides "
          + inherited.access(),
          inherited.span(), "declared here"));
    }
  }

  /** What differs between two signatures, in words; null when nothing does. */
  private static String difference(Pou wanted, Pou found) {
    if (!same(wanted.result(), found.result())) {
      return "the result is " + found.result().name() + ", expected " + wanted.result().name();
    }
    List<Variable> a = parameters(wanted);
    List<Variable> b = parameters(found);
    if (a.size() != b.size()) {
      return b.size() + " parameters, expected " + a.size();
    }
    for (int i = 0; i < a.size(); i++) {
      Variable x = a.get(i);
      Variable y = b.get(i);
      if (!x.name().equalsIgnoreCase(y.name()) || x.section() != y.section() || !same(x.type(), y.type())) {
        return Expressions.sectionWord(y) + " " + y.name() + " : " + y.type().name() + ", expected " + Expressions.sectionWord(x) + " "
            + x.name() + " : "
            + x.type().name();
      }
    }
    return null;
  }

  private static boolean same(Type a, Type b) {
    return Kinds.isUnknown(a) || Kinds.isUnknown(b) || Kinds.same(a, b);
  }

  private static List<Variable> parameters(Pou p) {
    return p.variables().stream().filter(v -> v.section() == Variable.Section.INPUT || v.section() == Variable.Section.OUTPUT
        || v.section() == Variable.Section.IN_OUT).toList();
  }

  private void abstracts(Pou p) {
    if (p.isAbstract()) {
      return;
    }
    for (Pou b = p.base().orElse(null); b != null; b = b.base().orElse(null)) {
      for (Pou m : b.methods()) {
        if (m.isAbstract() && p.method(m.name()).map(Pou::isAbstract).orElse(true)) {
          session.report(Pous.related("oop/not-implemented", p.span(), p.name() + " does not implement the ABSTRACT " + title(m) + " of "
              + b.name(),
              m.span(), "declared here"));
        }
      }
    }
  }

  private void interfaces(Pou p) {
    Set<Pou> all = new LinkedHashSet<>();
    for (Pou b = p; b != null; b = b.base().orElse(null)) {
      b.interfaces().forEach(i -> collect(i, all));
    }
    for (Pou i : all) {
      for (Pou wanted : i.methods()) {
        Pou found = p.method(wanted.name()).orElse(null);
        if (found == null) {
          if (!p.isAbstract()) {
            session.report(Pous.related("oop/not-implemented", p.span(), p.name() + " does not implement " + title(wanted) + " of "
                + i.name(),
                wanted.span(), "declared here"));
          }
          continue;
        }
        Span at = found.owner().get() == p ? found.span() : p.span();
        if (found.access() != Variable.Access.PUBLIC && found.access() != Variable.Access.INTERNAL) {
          session.report(Pous.related("oop/interface-access", at, title(found) + " implements " + i.name()
              + " and must be PUBLIC or INTERNAL, not "
              + found.access(), wanted.span(), "declared here"));
        }
        String difference = difference(wanted, found);
        if (difference != null) {
          session.report(Pous.related("oop/interface-signature", at, title(found) + " differs from its prototype in " + i.name() + ": "
              + difference,
              wanted.span(), "declared here"));
        }
      }
    }
  }

  private static void collect(Pou i, Set<Pou> into) {
    if (into.add(i)) {
      i.interfaces().forEach(b -> collect(b, into));
    }
  }

  /** No instance of an abstract block or class may be declared. */
  private void instances() {
    List<Variable> all = new ArrayList<>();
    for (PouInfo i : session.allInfos()) {
      if (i.library() == null) {
        all.addAll(i.pou().variables());
      }
    }
    for (Project.Global g : session.globals.all()) {
      all.add(g.variable());
    }
    for (Symbol.TypeSymbol t : session.symbols.types()) {
      if (t.type() instanceof Type.Structure s) {
        all.addAll(s.fields());
      } else if (t.type() != null && abstractIn(t.type()) != null) {
        report(t.span(), abstractIn(t.type()));
      }
    }
    for (Variable v : all) {
      boolean holds = switch (v.section()) {
        case OUTPUT, TEMP, LOCAL, GLOBAL, FIELD, RESULT, HIDDEN -> true;
        case INPUT -> !(v.type().base() instanceof Type.Block);
        case IN_OUT, EXTERNAL -> false;
      };
      Pou p = holds ? abstractIn(v.type()) : null;
      if (p != null) {
        report(v.span(), p);
      }
    }
  }

  private void report(Span at, Pou p) {
    session.report(Pous.related("pou/abstract-instance", at, p.name() + " is ABSTRACT and has no instances", p.span(), "declared here"));
  }

  private static Pou abstractIn(Type type) {
    Type t = type.base();
    while (t instanceof Type.Array a) {
      t = a.element().base();
    }
    return t instanceof Type.Block b && b.pou().isAbstract() ? b.pou() : null;
  }
}
