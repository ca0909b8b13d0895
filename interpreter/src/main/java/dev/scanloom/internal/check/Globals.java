package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.Name;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/** Global variables of files, configurations, resources and programs, and the VAR_EXTERNAL declarations that stand for them. */
final class Globals {
  private final Session session;
  private final List<Project.Global> all = new ArrayList<>();
  private final Map<String, List<Project.Global>> byName = new LinkedHashMap<>();
  private final Map<Variable, PouInfo> waiting = new LinkedHashMap<>();

  Globals(Session session) {
    this.session = session;
  }

  /** Declares the globals of all files and configurations; those of programs follow with their headers. */
  void declare() {
    for (Declaration.Globals g : session.symbols.fileGlobals()) {
      section("", g.section(), new Scope(session, session.symbols.globalSite(), null));
    }
    for (Declaration.Configuration c : session.symbols.configurations()) {
      Scope scope = new Scope(session, session.symbols.siteOf(c), null);
      for (Declaration.VarSection s : c.sections()) {
        if (s.kind() == Declaration.SectionKind.GLOBAL) {
          section("", s, scope);
        } else if (s.kind() != Declaration.SectionKind.ACCESS) {
          session.error("declaration/section", first(s.span()), "a configuration has VAR_GLOBAL and VAR_ACCESS only");
        }
      }
      for (Declaration.Resource r : c.resources()) {
        Scope inner = new Scope(session, session.symbols.siteOf(c), null);
        inner.extra().putAll(scope.extra());
        for (Declaration.VarSection s : r.sections()) {
          if (s.kind() == Declaration.SectionKind.GLOBAL) {
            section(r.name().map(Name::text).orElse(""), s, inner);
          } else if (s.kind() != Declaration.SectionKind.EXTERNAL) {
            session.error("declaration/section", first(s.span()), "a resource has VAR_GLOBAL and VAR_EXTERNAL only");
          }
        }
      }
    }
  }

  private static Span first(Span s) {
    int end = s.start();
    while (end < s.end() && (Character.isLetter(s.source().codePointAt(end)) || s.source().codePointAt(end) == '_')) {
      end++;
    }
    return new Span(s.source(), s.start(), end);
  }

  private void section(String where, Declaration.VarSection s, Scope scope) {
    if (s.constant() && s.retention().isPresent()) {
      session.error("declaration/retain", first(s.span()), s.retention().get() + " cannot stand with CONSTANT");
    }
    for (Declaration.VarDeclaration d : s.variables()) {
      Type type = session.types.resolve(d.type(), scope);
      if (type instanceof Type.Array a && a.open()) {
        session.error("type/open-array", d.type().span(), "ARRAY [*] is allowed for parameters only");
        type = Kinds.UNKNOWN;
      }
      List<Name> names = d.names().isEmpty() && d.at().isPresent()
          ? List.of(new Name(d.at().get().span(), Locations.text(d.at().get()))) : d.names();
      for (Name n : names) {
        Variable v = new Variable(n.text(), Variable.Section.GLOBAL, type, n.span());
        v.setConstant(s.constant());
        v.setAccess(Variable.Access.PUBLIC);
        v.setDocumentation(d.documentation().text());
        s.retention().ifPresent(r -> v.setRetention(
            r == Declaration.Retention.RETAIN ? Variable.Retention.RETAIN : Variable.Retention.NON_RETAIN));
        if (d.at().isPresent() && d.at().get().incomplete()) {
          session.error("located/section", d.at().get().span(), "a global variable has a complete address");
        } else {
          d.at().ifPresent(at -> session.pous.locate(v, at));
        }
        session.initials.later(v, d.initial(), scope);
        if (add(where, v)) {
          scope.extra().put(n.key(), v);
        }
      }
    }
  }

  /** Adds a global to a scope: a resource or program, or the whole configuration when empty. */
  boolean add(String where, Variable v) {
    List<Project.Global> same = byName.computeIfAbsent(Kinds.key(v.name()), k -> new ArrayList<>());
    for (Project.Global g : same) {
      if (g.scope().equalsIgnoreCase(where)) {
        session.duplicate(v.span(), v.name(), g.variable().span());
        return false;
      }
    }
    Project.Global g = new Project.Global(where, v);
    same.add(g);
    all.add(g);
    return true;
  }

  List<Project.Global> all() {
    return all;
  }

  /** The global of a name in a scope or in the configuration around it. */
  Optional<Variable> find(String key, String where) {
    List<Project.Global> same = byName.getOrDefault(key, List.of());
    return same.stream().filter(g -> g.scope().equalsIgnoreCase(where)).findFirst()
        .or(() -> same.stream().filter(g -> g.scope().isEmpty()).findFirst()).map(Project.Global::variable);
  }

  /** Binds a VAR_EXTERNAL to its global, now if that is known already. */
  void bind(Variable v, PouInfo user) {
    if (!tryBind(v)) {
      waiting.put(v, user);
    }
  }

  /** Binds what is left, after the headers of all programs. */
  void bindAll() {
    for (Map.Entry<Variable, PouInfo> e : waiting.entrySet()) {
      Variable v = e.getKey();
      if (!tryBind(v)) {
        List<String> names = new ArrayList<>();
        all.forEach(g -> names.add(g.variable().name()));
        session.report(Nearest.of(v.name(), names).map(n -> unknown(v).withHint("nearest name: " + n)).orElse(unknown(v)));
      }
    }
    waiting.clear();
  }

  private static dev.scanloom.diagnostic.Diagnostic unknown(Variable v) {
    return dev.scanloom.diagnostic.Diagnostic.error("external/unknown", v.span(), "there is no global variable " + v.name());
  }

  private boolean tryBind(Variable v) {
    List<Project.Global> same = byName.getOrDefault(Kinds.key(v.name()), List.of());
    if (same.isEmpty()) {
      return false;
    }
    if (same.size() > 1) {
      // One POU would stand for a different variable in each resource or program that uses it.
      session.report(dev.scanloom.diagnostic.Diagnostic.error("external/ambiguous", v.span(),
          "several global variables are named " + v.name() + "; give them different names")
          .withRelated(same.get(0).variable().span(), "one is declared here")
              .withRelated(same.get(1).variable().span(), "another one here"));
      return true;
    }
    Variable g = same.get(0).variable();
    if (!Kinds.isUnknown(v.type()) && !Kinds.isUnknown(g.type()) && !Kinds.same(v.type(), g.type())) {
      session.report(Pous.related("external/type", v.span(), v.name() + " is " + v.type().name() + " here, the global variable is "
          + g.type().name(),
          g.span(), "declared here"));
      return true;
    }
    if (g.isConstant() && !v.isConstant()) {
      session.report(Pous.related("external/constant", v.span(), "the global variable " + v.name()
          + " is constant; write VAR_EXTERNAL CONSTANT",
          g.span(), "declared here"));
      return true;
    }
    v.setGlobal(g);
    return true;
  }
}
