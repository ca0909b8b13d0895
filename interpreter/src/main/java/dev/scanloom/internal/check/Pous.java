package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Body;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.Declaration.Modifier;
import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.QualifiedName;
import dev.scanloom.internal.syntax.Statement;
import dev.scanloom.internal.syntax.TypeSpec;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Pattern;

/** Headers of POUs: bases, variables, methods, properties (Tables 19, 40, 47, 48, 51, 53). Resolved on demand. */
final class Pous {
  private static final int MAX_LEVELS = 64;

  private final Session session;
  private int running;

  Pous(Session session) {
    this.session = session;
  }

  /** Own or inherited variable; null when there is none. */
  Variable variable(PouInfo info, String key) {
    for (PouInfo i = info; i != null; i = session.baseOf(i)) {
      header(i);
      Variable v = i.names().get(key);
      if (v != null) {
        return v;
      }
    }
    return null;
  }

  /** Own or inherited property, of interfaces also those of their bases; null when there is none. */
  PouInfo.Property property(PouInfo info, String key) {
    header(info);
    PouInfo.Property own = info.properties().get(key);
    if (own != null) {
      return own;
    }
    if (info.pou().base().isPresent()) {
      PouInfo.Property p = property(session.info(info.pou().base().get()), key);
      if (p != null) {
        return p;
      }
    }
    if (info.pou().kind() == Pou.Kind.INTERFACE) {
      for (Pou i : info.pou().allInterfaces()) {
        PouInfo other = session.info(i);
        header(other);
        PouInfo.Property p = other.properties().get(key);
        if (p != null) {
          return p;
        }
      }
    }
    return null;
  }

  /** Own or inherited method (no property accessor); null when there is none. */
  Pou method(PouInfo info, String name) {
    header(info);
    for (Pou p = info.pou(); p != null; p = p.base().orElse(null)) {
      header(session.info(p));
    }
    return info.pou().method(name).orElse(null);
  }

  // Bases

  void bases(PouInfo info) {
    if (info.bases != Symbol.State.NEW) {
      return;
    }
    info.bases = Symbol.State.RUNNING;
    Pou pou = info.pou();
    if (info.parts().base().isPresent()) {
      QualifiedName q = info.parts().base().get();
      PouInfo base = pouNamed(q, info.site(), EnumSet.of(Pou.Kind.FUNCTION_BLOCK, Pou.Kind.CLASS), "block or class");
      if (base != null && acceptsBase(pou, base.pou(), q) && acyclic(info, base, q)) {
        pou.setBase(base.pou());
        session.extended.add(base.pou());
      }
    }
    Set<Pou> seen = new LinkedHashSet<>();
    for (QualifiedName q : info.parts().interfaces()) {
      PouInfo i = pouNamed(q, info.site(), EnumSet.of(Pou.Kind.INTERFACE), "interface");
      if (i == null) {
        continue;
      }
      if (!seen.add(i.pou())) {
        session.duplicate(q.span(), q.text(), info.parts().interfaces().get(0).span());
      } else if (acyclic(info, i, q)) {
        pou.addInterface(i.pou());
      }
    }
    info.bases = Symbol.State.DONE;
  }

  private boolean acyclic(PouInfo info, PouInfo base, QualifiedName q) {
    if (base == info || base.bases == Symbol.State.RUNNING) {
      session.error("pou/inheritance-cycle", q.span(), info.pou().name() + " inherits from itself");
      return false;
    }
    if (running < MAX_LEVELS) {
      running++;
      bases(base);
      running--;
      info.depth = Math.max(info.depth, base.depth + 1);
    }
    if (running >= MAX_LEVELS || info.depth > MAX_LEVELS) {
      session.error("limit/inheritance", q.span(), "more than " + MAX_LEVELS + " levels of inheritance");
      return false;
    }
    return true;
  }

  private boolean acceptsBase(Pou pou, Pou base, QualifiedName q) {
    if (base.isFinal()) {
      session.error("pou/final-base", q.span(), base.name() + " is FINAL and cannot be extended");
      return false;
    }
    if (pou.kind() == Pou.Kind.CLASS && base.kind() == Pou.Kind.FUNCTION_BLOCK) {
      session.error("pou/base-kind", q.span(), "a class cannot extend a function block");
      return false;
    }
    return true;
  }

  private PouInfo pouNamed(QualifiedName q, Site site, Set<Pou.Kind> kinds, String what) {
    Symbol s = session.symbols.resolve(q, site, what);
    if (s == null) {
      return null;
    }
    if (!(s instanceof Symbol.PouSymbol p) || !kinds.contains(p.pou().kind())) {
      session.error("pou/base-kind", q.span(), q.text() + " is no " + what);
      return null;
    }
    return p.info();
  }

  // Headers

  void header(PouInfo info) {
    if (info.header != Symbol.State.NEW) {
      return;
    }
    bases(info);
    info.header = Symbol.State.RUNNING;
    Pou pou = info.pou();
    PouInfo base = session.baseOf(info);
    if (base != null) {
      header(base);
    }
    Scope scope = Scope.of(session, info);
    Body body = info.parts().body().orElse(null);
    binding(info, body);
    result(info, pou.name(), pou.span(), info.parts().result(), scope);
    sections(info, info.parts().sections(), scope);
    implicitEno(info, body);
    Map<String, Span> members = new LinkedHashMap<>();
    for (Declaration.Method m : info.parts().methods()) {
      method(info, m, members);
    }
    for (Declaration.Property p : info.parts().properties()) {
      property(info, p, members);
    }
    info.header = Symbol.State.DONE;
  }

  /** A body that writes ENO without declaring it has it all the same (Table 18): TRUE at each call until the body clears it. */
  private void implicitEno(PouInfo info, Body body) {
    Pou.Kind kind = info.pou().kind();
    Variable declared = info.names().get("ENO");
    if (declared != null || kind != Pou.Kind.FUNCTION && kind != Pou.Kind.FUNCTION_BLOCK && kind != Pou.Kind.METHOD) {
      return;
    }
    boolean writes = body instanceof Body.Text t && writesEno(t.statements())
        || body instanceof Body.Drawing d && drawsEno(d.span().text());
    if (writes) {
      Variable v = new Variable("ENO", Variable.Section.OUTPUT, Kinds.BOOL, info.pou().span());
      v.setAccess(Variable.Access.PUBLIC);
      v.setInitial(new Init.Scalar(1));
      add(info, v);
    }
  }

  /** ENO above a coil; at a pin it touches the border of the box. */
  private static boolean drawsEno(String drawing) {
    return Pattern.compile("(?<=\\s)ENO(?=\\s)", Pattern.CASE_INSENSITIVE).matcher(drawing).find();
  }

  private static boolean writesEno(List<Statement> statements) {
    for (Statement s : statements) {
      boolean found = s instanceof Statement.Assignment a && a.target() instanceof Expression.Ident i && i.name().key().equals("ENO")
          || s instanceof Statement.If f && (f.branches().stream().anyMatch(b -> writesEno(b.body()))
              || f.otherwise().map(Pous::writesEno).orElse(false))
          || s instanceof Statement.Case c && (c.groups().stream().anyMatch(g -> writesEno(g.body()))
              || c.otherwise().map(Pous::writesEno).orElse(false))
          || s instanceof Statement.For l && writesEno(l.body())
          || s instanceof Statement.While w && writesEno(w.body())
          || s instanceof Statement.Repeat r && writesEno(r.body());
      if (found) {
        return true;
      }
    }
    return false;
  }

  private void binding(PouInfo info, Body body) {
    if (!(body instanceof Body.Bound b)) {
      return;
    }
    if (info.library() == null) {
      session.error("library/bound-body", b.span(), "only functions of libraries are bound to a body outside of the text");
      return;
    }
    Optional<PouInfo.Binding> binding = PouInfo.Binding.of(b.pragma().content());
    if (binding.isEmpty()) {
      session.error("library/bound-body", b.span(), "expected {intrinsic NAME} or {native name}");
      return;
    }
    info.setBinding(binding.get());
    if (binding.get().intrinsic()) {
      info.pou().setCode(new Code.Intrinsic(binding.get().name()));
    } else {
      if (info.library().body(binding.get().name()).isEmpty()) {
        session.error("library/no-body", b.span(), "library " + info.library().name() + " has no body named " + binding.get().name());
      }
      info.pou().setCode(new Code.Native(binding.get().name()));
    }
  }

  private void result(PouInfo info, String name, Span span, Optional<TypeSpec> spec, Scope scope) {
    if (spec.isEmpty()) {
      return;
    }
    Type t = session.types.resolve(spec.get(), scope);
    if (t instanceof Type.Array a && a.open() || t.base() instanceof Type.Block) {
      session.error("type/result", spec.get().span(), t.name() + " cannot be the type of a result");
      t = Kinds.UNKNOWN;
    }
    info.pou().setResult(t);
    Variable v = new Variable(name, Variable.Section.RESULT, t, span);
    add(info, v);
  }

  void add(PouInfo info, Variable v) {
    info.pou().addVariable(v);
    session.declaredIn.put(v, info.pou());
    info.names().putIfAbsent(Kinds.key(v.name()), v);
  }

  /** A variable made by the checker; hidden ones stand last. */
  Variable hidden(PouInfo info, String name, Type type, Span span) {
    Variable v = new Variable(name, Variable.Section.HIDDEN, type, span);
    info.pou().addVariable(v);
    session.declaredIn.put(v, info.pou());
    return v;
  }

  private void sections(PouInfo info, List<Declaration.VarSection> sections, Scope scope) {
    for (Declaration.VarSection s : sections) {
      section(info, s, scope);
    }
  }

  private static String words(Declaration.SectionKind kind) {
    return kind == Declaration.SectionKind.LOCAL ? "VAR" : "VAR_" + kind;
  }

  private boolean sectionAllowed(Pou.Kind kind, Declaration.SectionKind section) {
    return switch (section) {
      case LOCAL, EXTERNAL -> kind != Pou.Kind.INTERFACE;
      case INPUT, OUTPUT, IN_OUT, TEMP -> kind != Pou.Kind.INTERFACE && kind != Pou.Kind.CLASS;
      case GLOBAL, ACCESS -> kind == Pou.Kind.PROGRAM;
    };
  }

  private void section(PouInfo info, Declaration.VarSection s, Scope scope) {
    Pou pou = info.pou();
    boolean memoryless = pou.kind() == Pou.Kind.FUNCTION || pou.kind() == Pou.Kind.METHOD;
    if (!sectionAllowed(pou.kind(), s.kind())) {
      session.error("declaration/section", head(s), "a " + Types.word(pou.kind()) + " has no " + words(s.kind()));
      return;
    }
    if (s.kind() == Declaration.SectionKind.ACCESS) {
      return;
    }
    if (s.retention().isPresent()) {
      boolean possible = (s.kind() == Declaration.SectionKind.LOCAL || s.kind() == Declaration.SectionKind.INPUT
          || s.kind() == Declaration.SectionKind.OUTPUT || s.kind() == Declaration.SectionKind.GLOBAL) && !memoryless && !s.constant();
      if (!possible) {
        session.error("declaration/retain", head(s), s.retention().get() + " cannot stand with "
            + (s.constant() ? "CONSTANT" : words(s.kind()))
            + (memoryless ? " of a " + Types.word(pou.kind()) : ""));
      }
    }
    if (s.constant() && s.kind() != Declaration.SectionKind.LOCAL && s.kind() != Declaration.SectionKind.EXTERNAL
        && s.kind() != Declaration.SectionKind.GLOBAL) {
      session.error("declaration/constant", head(s), "CONSTANT cannot stand with " + words(s.kind()));
    }
    if (s.access().isPresent() && (s.kind() != Declaration.SectionKind.LOCAL || memoryless || pou.kind() == Pou.Kind.PROGRAM)) {
      session.error("declaration/modifier", head(s), s.access().get() + " belongs to VAR of a function block or class");
    }
    for (Declaration.VarDeclaration d : s.variables()) {
      declaration(info, s, d, scope, memoryless);
    }
  }

  /** The first word of a section. */
  private static Span head(Declaration.VarSection s) {
    Span all = s.span();
    int end = all.start();
    while (end < all.end() && (Character.isLetter(all.source().codePointAt(end)) || all.source().codePointAt(end) == '_')) {
      end++;
    }
    return new Span(all.source(), all.start(), Math.max(end, all.start()));
  }

  private static Variable.Section sectionOf(Declaration.SectionKind kind) {
    return switch (kind) {
      case INPUT -> Variable.Section.INPUT;
      case OUTPUT -> Variable.Section.OUTPUT;
      case IN_OUT -> Variable.Section.IN_OUT;
      case TEMP -> Variable.Section.TEMP;
      case LOCAL -> Variable.Section.LOCAL;
      case EXTERNAL -> Variable.Section.EXTERNAL;
      case GLOBAL, ACCESS -> Variable.Section.GLOBAL;
    };
  }

  static Variable.Access accessOf(Modifier m) {
    return switch (m) {
      case PUBLIC -> Variable.Access.PUBLIC;
      case PRIVATE -> Variable.Access.PRIVATE;
      case INTERNAL -> Variable.Access.INTERNAL;
      case PROTECTED, FINAL, ABSTRACT, OVERRIDE -> Variable.Access.PROTECTED;
    };
  }

  private void declaration(PouInfo info, Declaration.VarSection s, Declaration.VarDeclaration d, Scope scope, boolean memoryless) {
    Type type = session.types.resolve(d.type(), scope);
    type = allowed(info, s, d, type, memoryless);
    boolean initialAllowed = s.kind() != Declaration.SectionKind.IN_OUT && s.kind() != Declaration.SectionKind.EXTERNAL;
    if (d.initial().isPresent() && !initialAllowed) {
      session.error("declaration/initial", d.initial().get().span(), words(s.kind()) + " takes no initial value");
    }
    if (d.names().isEmpty() && s.kind() != Declaration.SectionKind.GLOBAL && d.at().isPresent()
        && s.kind() != Declaration.SectionKind.LOCAL) {
      session.error("located/section", d.at().get().span(), "an address without a name belongs to VAR or VAR_GLOBAL");
      return;
    }
    List<Name> names = d.names().isEmpty() && d.at().isPresent()
        ? List.of(new Name(d.at().get().span(), Locations.text(d.at().get()))) : d.names();
    for (Name n : names) {
      Variable first = variable(info, n.key());
      if (first != null && info.names().containsValue(first) || first != null && session.declaredIn.get(first) != info.pou()) {
        session.duplicate(n.span(), n.text(), first.span());
        continue;
      }
      if (n.key().equals(Kinds.key(info.pou().name())) && memoryless) {
        session.duplicate(n.span(), n.text(), info.pou().span());
        continue;
      }
      Variable v = new Variable(n.text(), sectionOf(s.kind()), type, n.span());
      v.setConstant(s.constant());
      v.setDocumentation(d.documentation().text());
      if (s.retention().isPresent()) {
        v.setRetention(s.retention().get() == Declaration.Retention.RETAIN ? Variable.Retention.RETAIN : Variable.Retention.NON_RETAIN);
      }
      v.setAccess(s.access().isPresent() ? accessOf(s.access().get())
          : s.kind() == Declaration.SectionKind.LOCAL ? Variable.Access.PROTECTED : Variable.Access.PUBLIC);
      edge(info, s, d, v, memoryless);
      if (d.at().isPresent()) {
        locate(info, s, d.at().get(), v, memoryless);
      }
      if (s.kind() == Declaration.SectionKind.GLOBAL) {
        info.programGlobals().add(v);
      }
      add(info, v);
      if (s.kind() == Declaration.SectionKind.EXTERNAL) {
        session.globals.bind(v, info);
      } else if (initialAllowed) {
        session.initials.later(v, d.initial(), scope);
        if (d.initial().isEmpty() && n.key().equals("ENO") && v.section() == Variable.Section.OUTPUT && Kinds.isBool(type)) {
          v.setInitial(new Init.Scalar(1));
        }
      }
    }
  }

  /** Checks that a variable of the type may stand in the section. */
  private Type allowed(PouInfo info, Declaration.VarSection s, Declaration.VarDeclaration d, Type type, boolean memoryless) {
    Span at = d.type().span();
    if (type instanceof Type.Array a && a.open()) {
      boolean parameter = s.kind() == Declaration.SectionKind.IN_OUT
          || memoryless && (s.kind() == Declaration.SectionKind.INPUT || s.kind() == Declaration.SectionKind.OUTPUT);
      if (!parameter || info.pou().kind() == Pou.Kind.PROGRAM) {
        session.error("type/open-array", at, "ARRAY [*] is allowed for parameters of functions and methods, and for in-outs");
        return Kinds.UNKNOWN;
      }
    }
    boolean holds = s.kind() != Declaration.SectionKind.EXTERNAL && s.kind() != Declaration.SectionKind.IN_OUT
        && (s.kind() != Declaration.SectionKind.INPUT || !(type.base() instanceof Type.Block)) && Types.holdsInstance(type);
    if (holds && memoryless) {
      session.error("pou/instance-in-function", at,
          "a " + Types.word(info.pou().kind()) + " keeps no state and cannot declare instances; pass one as parameter");
      return Kinds.UNKNOWN;
    }
    if (holds && s.kind() != Declaration.SectionKind.LOCAL && s.kind() != Declaration.SectionKind.GLOBAL) {
      session.error("declaration/instance-section", at, "an instance is declared in VAR, not in " + words(s.kind()));
      return Kinds.UNKNOWN;
    }
    return type;
  }

  private void edge(PouInfo info, Declaration.VarSection s, Declaration.VarDeclaration d, Variable v, boolean memoryless) {
    if (d.edge() == Declaration.Edge.NONE) {
      return;
    }
    String word = d.edge() == Declaration.Edge.RISING ? "R_EDGE" : "F_EDGE";
    if (s.kind() != Declaration.SectionKind.INPUT || memoryless) {
      session.error("declaration/edge", v.span(), word + " belongs to inputs of function blocks and programs");
    } else if (!Kinds.isBool(v.type()) && !Kinds.isUnknown(v.type())) {
      session.error("declaration/edge", v.span(), word + " needs a BOOL, not " + v.type().name());
    } else {
      v.setEdge(d.edge() == Declaration.Edge.RISING ? Variable.Edge.RISING : Variable.Edge.FALLING);
    }
  }

  private void locate(PouInfo info, Declaration.VarSection s, DirectAddress at, Variable v, boolean memoryless) {
    if (memoryless) {
      session.error("located/in-function", at.span(), "a " + Types.word(info.pou().kind()) + " has no located variables");
      return;
    }
    boolean incompleteOk = at.incomplete() && s.kind() == Declaration.SectionKind.LOCAL;
    boolean completeOk = !at.incomplete()
        && (s.kind() == Declaration.SectionKind.LOCAL && info.pou().kind() == Pou.Kind.PROGRAM
            || s.kind() == Declaration.SectionKind.GLOBAL);
    if (!incompleteOk && !completeOk) {
      session.error("located/section", at.span(), at.incomplete()
          ? "an incomplete address belongs to VAR" : "a located variable belongs to VAR of a program or VAR_GLOBAL");
      return;
    }
    locate(v, at);
    if (at.incomplete()) {
      info.incomplete().put(v, at.area());
    }
  }

  /** Gives a variable its location, after checking that its type has the width of the address (S.io-type-size). */
  void locate(Variable v, DirectAddress at) {
    Type type = v.type();
    if (at.area() == 0) {
      session.error("located/area", at.span(), "an address names its area: %I, %Q or %M");
      return;
    }
    if (Kinds.isUnknown(type)) {
      return;
    }
    int width = Locations.width(at.size());
    if (Locations.bits(type) == 0 || type.base() instanceof Type.Reference || type.base() instanceof Type.Interface) {
      session.error("located/type", at.span(), type.name() + " cannot be located; elementary types of fixed size and arrays of them can");
      return;
    }
    if (Locations.elementBits(type) != width && !(at.incomplete() && at.size() == 0)) {
      session.error("located/type", at.span(), Locations.text(at) + " has " + width + (width == 1 ? " bit, " : " bits, ") + type.name()
          + " needs " + Locations.elementBits(type));
      return;
    }
    if (at.incomplete()) {
      v.setLocated(Located.open(at.area(), Locations.elementBits(type)));
      return;
    }
    Locations.Result r = Locations.map(at, session.limits.instanceBytes());
    if (r.location().isPresent()) {
      v.setLocated(r.location().get());
    } else {
      session.error(r.trouble().get().code(), at.span(), r.trouble().get().message());
    }
  }

  // Methods and properties

  private static final Set<Modifier> ACCESS = EnumSet.of(Modifier.PUBLIC, Modifier.PRIVATE, Modifier.PROTECTED, Modifier.INTERNAL);

  private Variable.Access access(Set<Modifier> modifiers, Pou owner, Name name) {
    Variable.Access access = null;
    for (Modifier m : Modifier.values()) {
      if (!modifiers.contains(m) || !ACCESS.contains(m)) {
        continue;
      }
      if (owner.kind() == Pou.Kind.INTERFACE) {
        session.error("declaration/modifier", name.span(), "methods of an interface are public and carry no " + m);
      } else if (access != null) {
        session.error("declaration/modifier", name.span(), name + " has two access specifiers");
      }
      access = accessOf(m);
    }
    return owner.kind() == Pou.Kind.INTERFACE ? Variable.Access.PUBLIC : access == null ? Variable.Access.PROTECTED : access;
  }

  private PouInfo newMethod(PouInfo owner, String name, Name at, Set<Modifier> modifiers, PouInfo.Parts parts) {
    Pou m = new Pou(Pou.Kind.METHOD, name, owner.pou().qualifiedName() + "." + name, at.span());
    m.setOwner(owner.pou());
    m.setLibrary(owner.library() != null);
    m.setAccess(access(modifiers, owner.pou(), at));
    m.setFinal(modifiers.contains(Modifier.FINAL));
    m.setOverride(modifiers.contains(Modifier.OVERRIDE));
    m.setAbstract(owner.pou().kind() == Pou.Kind.INTERFACE || modifiers.contains(Modifier.ABSTRACT));
    PouInfo info = new PouInfo(m, owner.site(), owner, owner.namespace(), owner.library(), parts);
    session.infos.put(m, info);
    owner.methods().add(info);
    owner.pou().addMethod(m);
    if (m.isAbstract() && owner.pou().kind() != Pou.Kind.INTERFACE) {
      if (m.isFinal()) {
        session.error("declaration/modifier", at.span(), "an ABSTRACT method cannot be FINAL");
      }
      if (m.access() == Variable.Access.PRIVATE) {
        session.error("declaration/modifier", at.span(), "an ABSTRACT method cannot be PRIVATE");
      }
      owner.pou().setAbstract(true);
    }
    return info;
  }

  private boolean enter(PouInfo owner, Name name, Map<String, Span> members) {
    Span first = members.putIfAbsent(name.key(), name.span());
    if (first == null) {
      Variable v = variable(owner, name.key());
      first = v == null ? null : v.span();
    }
    if (first != null) {
      session.duplicate(name.span(), name.text(), first);
      return false;
    }
    return true;
  }

  private static boolean isEmpty(Body b) {
    return b instanceof Body.Text t && t.statements().isEmpty();
  }

  private void method(PouInfo owner, Declaration.Method m, Map<String, Span> members) {
    if (!enter(owner, m.name(), members)) {
      return;
    }
    PouInfo info = newMethod(owner, m.name().text(), m.name(), m.modifiers(),
        new PouInfo.Parts(Optional.empty(), List.of(), m.sections(), m.result(), List.of(), List.of(), m.body()));
    if (info.pou().isAbstract() && m.body().isPresent() && !isEmpty(m.body().get())) {
      session.error("pou/abstract-body", m.name().span(), (owner.pou().kind() == Pou.Kind.INTERFACE ? "a method of an interface"
          : "an ABSTRACT method")
          + " has no body");
    }
    header(info);
  }

  private void property(PouInfo owner, Declaration.Property p, Map<String, Span> members) {
    PouInfo.Property earlier = owner.properties().get(p.name().key());
    boolean completes = earlier != null && (earlier.getter().isEmpty() || p.getter().isEmpty())
        && (earlier.setter().isEmpty() || p.setter().isEmpty());
    if (!completes && !enter(owner, p.name(), members)) {
      return;
    }
    Type type = session.types.resolve(p.type(), Scope.of(session, owner));
    if (completes && !Kinds.same(type, earlier.type())) {
      session.error("property/type", p.type().span(), "both accessors of " + p.name() + " have one type, " + earlier.type().name());
    }
    Optional<Pou> getter = p.getter().map(a -> accessor(owner, p, a, type, true));
    Optional<Pou> setter = p.setter().map(a -> accessor(owner, p, a, type, false));
    if (getter.isEmpty() && setter.isEmpty()) {
      session.error("property/empty", p.name().span(), "a property has GET or SET or both");
    }
    owner.properties().put(p.name().key(), new PouInfo.Property(p.name().span(), p.name().text(), type,
        getter.isPresent() || !completes ? getter : earlier.getter(), setter.isPresent() || !completes ? setter : earlier.setter(),
            owner.pou()));
  }

  private Pou accessor(PouInfo owner, Declaration.Property p, Declaration.Accessor a, Type type, boolean getter) {
    PouInfo info = newMethod(owner, (getter ? "GET " : "SET ") + p.name().text(), p.name(), p.modifiers(),
        new PouInfo.Parts(Optional.empty(), List.of(), a.sections(), Optional.empty(), List.of(), List.of(), a.body()));
    if (info.pou().isAbstract() && a.body().isPresent() && !isEmpty(a.body().get())) {
      session.error("pou/abstract-body", a.span(), "an accessor without implementation has no body");
    }
    Variable v = new Variable(p.name().text(), getter ? Variable.Section.RESULT : Variable.Section.INPUT, type, p.name().span());
    if (getter) {
      info.pou().setResult(type);
    }
    add(info, v);
    for (Declaration.VarSection s : a.sections()) {
      if (s.kind() != Declaration.SectionKind.LOCAL && s.kind() != Declaration.SectionKind.TEMP
          && s.kind() != Declaration.SectionKind.EXTERNAL) {
        session.error("declaration/section", head(s), "an accessor has no " + words(s.kind()));
      }
    }
    header(info);
    return info.pou();
  }

  /** A diagnostic with the place of a declaration beside it. */
  static Diagnostic related(String code, Span span, String message, Span other, String note) {
    return Diagnostic.error(code, span, message).withRelated(other, note);
  }
}
