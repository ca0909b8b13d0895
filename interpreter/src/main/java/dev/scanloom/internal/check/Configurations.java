package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.math.BigInteger;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/** Configurations, resources, tasks, program instances, access paths and instance-specific values (Tables 62 and 63). */
final class Configurations {
  private static final int LOWEST_PRIORITY = 65_535;

  private final Session session;
  private final List<Project.Task> tasks = new ArrayList<>();
  private final List<Building> building = new ArrayList<>();
  private final List<Project.AccessPath> accessPaths = new ArrayList<>();

  /** A program instance while its completions are collected. */
  private static final class Building {
    final Declaration.ProgramInstance written;
    final String resource;
    final PouInfo program;
    Optional<Integer> task = Optional.empty();
    List<Call.Argument> connections = List.of();
    final List<Project.Completion> completions = new ArrayList<>();
    final List<Project.BlockTask> blockTasks = new ArrayList<>();
    final Set<List<Variable>> located = new LinkedHashSet<>();

    Building(Declaration.ProgramInstance written, String resource, PouInfo program) {
      this.written = written;
      this.resource = resource;
      this.program = program;
    }
  }

  Configurations(Session session) {
    this.session = session;
  }

  List<Project.Task> tasks() {
    return tasks;
  }

  List<Project.ProgramInstance> programs() {
    List<Project.ProgramInstance> all = new ArrayList<>();
    for (Building b : building) {
      all.add(new Project.ProgramInstance(b.written.span(), b.written.name().text(), b.resource, b.program.pou(),
          retention(b.written.retention()),
          b.task, b.connections, b.completions, b.blockTasks));
    }
    return all;
  }

  List<Project.AccessPath> accessPaths() {
    return accessPaths;
  }

  void check() {
    List<Declaration.Configuration> all = session.symbols.configurations();
    if (all.isEmpty()) {
      return;
    }
    Declaration.Configuration c = all.get(0);
    for (Declaration.Configuration other : all.subList(1, all.size())) {
      session.report(Diagnostic.error("configuration/several", other.name().span(), "there is more than one configuration")
          .withRelated(c.name().span(), "the first one"));
    }
    Map<String, Span> resources = new LinkedHashMap<>();
    for (Declaration.Resource r : c.resources()) {
      r.name().ifPresent(n -> {
        Span first = resources.putIfAbsent(n.key(), n.span());
        if (first != null) {
          session.duplicate(n.span(), n.text(), first);
        }
      });
      resource(c, r);
    }
    if (building.isEmpty() && !session.problems.hasErrors()) {
      session.error("program/none", c.name().span(), "the configuration has no program to run");
    }
    c.configVariables().forEach(v -> completion(c, v));
    for (Declaration.VarSection s : c.sections()) {
      s.accessPaths().forEach(p -> accessPath(c, p));
    }
    for (int i = 0; i < building.size(); i++) {
      Building b = building.get(i);
      for (Declaration.VarSection s : b.program.parts().sections()) {
        for (Declaration.AccessPath p : s.accessPaths()) {
          programPath(b, i, p);
        }
      }
      complete(b);
    }
  }

  /** A program that runs without configuration, under its own name. */
  Project.ProgramInstance alone(PouInfo program) {
    List<List<Variable>> open = new ArrayList<>();
    incomplete(program.pou(), new ArrayList<>(), open);
    for (List<Variable> path : open) {
      missing(path, path.get(0).span());
    }
    for (Declaration.VarSection s : program.parts().sections()) {
      for (Declaration.AccessPath p : s.accessPaths()) {
        path(p, Scope.of(session, program), p.path(), Optional.of(0));
      }
    }
    return new Project.ProgramInstance(program.pou().span(), program.pou().name(), "", program.pou(), Variable.Retention.NONE,
        Optional.empty(), List.of(),
        List.of(), List.of());
  }

  /** RETAIN or NON_RETAIN of a program instance holds for its variables that say neither. */
  private static Variable.Retention retention(Optional<Declaration.Retention> written) {
    if (written.isEmpty()) {
      return Variable.Retention.NONE;
    }
    return written.get() == Declaration.Retention.RETAIN ? Variable.Retention.RETAIN : Variable.Retention.NON_RETAIN;
  }

  // Resources

  /** Scope of expressions in a resource: its globals and those of the configuration. */
  private Scope scope(Declaration.Configuration c, String resource) {
    Scope s = new Scope(session, session.symbols.siteOf(c), null);
    for (Project.Global g : session.globals.all()) {
      if (g.scope().isEmpty()) {
        s.extra().put(Kinds.key(g.variable().name()), g.variable());
      }
    }
    for (Project.Global g : session.globals.all()) {
      if (!resource.isEmpty() && g.scope().equalsIgnoreCase(resource)) {
        s.extra().put(Kinds.key(g.variable().name()), g.variable());
      }
    }
    return s;
  }

  private void resource(Declaration.Configuration c, Declaration.Resource r) {
    String name = r.name().map(Name::text).orElse("");
    Scope scope = scope(c, name);
    for (Declaration.VarSection s : r.sections()) {
      if (s.kind() == Declaration.SectionKind.EXTERNAL) {
        s.variables().forEach(d -> external(d, s.constant(), scope));
      }
    }
    Map<String, Span> names = new LinkedHashMap<>();
    Map<String, Integer> known = new LinkedHashMap<>();
    for (Declaration.Task t : r.tasks()) {
      Span first = names.putIfAbsent(t.name().key(), t.name().span());
      if (first != null) {
        session.duplicate(t.name().span(), t.name().text(), first);
        continue;
      }
      known.put(t.name().key(), tasks.size());
      task(t, name, scope);
    }
    for (Declaration.ProgramInstance p : r.programs()) {
      Span first = names.putIfAbsent(p.name().key(), p.name().span());
      if (first != null) {
        session.duplicate(p.name().span(), p.name().text(), first);
        continue;
      }
      program(p, name, scope, known);
    }
  }

  private void external(Declaration.VarDeclaration d, boolean constant, Scope scope) {
    Type type = session.types.resolve(d.type(), scope);
    for (Name n : d.names()) {
      Variable g = session.globals.find(n.key(), "").orElse(null);
      if (g == null) {
        session.error("external/unknown", n.span(), "there is no global variable " + n);
      } else if (!Kinds.isUnknown(type) && !Kinds.isUnknown(g.type()) && !Kinds.same(type, g.type())) {
        session.report(Pous.related("external/type", n.span(), n + " is " + type.name() + " here, the global variable is "
            + g.type().name(), g.span(),
            "declared here"));
      } else if (g.isConstant() && !constant) {
        session.report(Pous.related("external/constant", n.span(), "the global variable " + n
            + " is constant; write VAR_EXTERNAL CONSTANT", g.span(),
            "declared here"));
      }
    }
  }

  private void task(Declaration.Task t, String resource, Scope scope) {
    Optional<Place> single = Optional.empty();
    if (t.single().isPresent()) {
      Expression e = t.single().get();
      Expressions x = new Expressions(session, scope);
      if (isProgramVariable(e)) {
        session.error("task/single", e.span(),
            "SINGLE takes a global variable or an address here; connect the program output to a global variable");
      } else {
        single = x.place(e);
        if (single.isPresent() && !Kinds.isBool(single.get().type())) {
          session.error("task/single", e.span(), "SINGLE needs a BOOL variable, not " + single.get().type().name());
        }
      }
    }
    long interval = 0;
    boolean zero = false;
    if (t.interval().isPresent()) {
      Expression e = t.interval().get();
      Expressions x = new Expressions(session, scope.asConstant());
      Expr v = x.coerce(e, Kinds.TIME, Expressions.Purpose.ARGUMENT);
      if (!Kinds.isUnknown(v.type())) {
        Optional<Expr> k = session.initials.constant(v);
        interval = k.isPresent() && k.get() instanceof Expr.Constant n ? n.value() : 0;
        if (interval < 0) {
          session.error("task/interval", e.span(), "an interval is not negative");
          interval = 0;
        }
        zero = interval == 0;
      }
    }
    int priority = 0;
    if (t.priority().isPresent()) {
      Optional<BigInteger> p = session.initials.integer(t.priority().get(), scope);
      if (p.isPresent() && (p.get().signum() < 0 || p.get().compareTo(BigInteger.valueOf(LOWEST_PRIORITY)) > 0)) {
        session.error("task/priority", t.priority().get().span(), "a priority is 0 (highest) to " + LOWEST_PRIORITY + ", not " + p.get());
      } else if (p.isPresent()) {
        priority = p.get().intValueExact();
      }
    }
    if (t.single().isEmpty() && (t.interval().isEmpty() || zero)) {
      session.warning("task/never", t.name().span(), "task " + t.name() + " has neither SINGLE nor an INTERVAL and never runs");
    }
    tasks.add(new Project.Task(t.span(), t.name().text(), resource, single, interval, priority));
  }

  /** {@code p.y}, where p is no variable of the scope: a variable of a program instance. */
  private boolean isProgramVariable(Expression e) {
    Expression base = e;
    while (base instanceof Expression.Member m) {
      base = m.base();
    }
    if (!(base instanceof Expression.Ident i) || base == e) {
      return false;
    }
    return session.symbols.configurations().stream().flatMap(c -> c.resources().stream())
        .anyMatch(r -> r.name().map(n -> n.key().equals(i.name().key())).orElse(false)
            || r.programs().stream().anyMatch(p -> p.name().key().equals(i.name().key())));
  }

  private void program(Declaration.ProgramInstance p, String resource, Scope scope, Map<String, Integer> known) {
    Symbol s = session.symbols.resolve(p.type(), scope.site(), "program");
    if (s == null) {
      return;
    }
    if (!(s instanceof Symbol.PouSymbol program) || program.pou().kind() != Pou.Kind.PROGRAM) {
      session.error("program/type", p.type().span(), p.type().text() + " is no program");
      return;
    }
    Building b = new Building(p, resource, program.info());
    building.add(b);
    if (p.task().isPresent()) {
      b.task = taskNamed(p.task().get(), known);
    }
    b.connections = connections(p, program.info(), scope);
    Set<List<Variable>> seen = new LinkedHashSet<>();
    for (Declaration.BlockTask t : p.blockTasks()) {
      Optional<Integer> task = taskNamed(t.task(), known);
      List<Variable> path = path(program.pou(), t.block().parts());
      if (path == null || task.isEmpty()) {
        continue;
      }
      if (!(path.get(path.size() - 1).type().base() instanceof Type.Block block) || block.pou().kind() != Pou.Kind.FUNCTION_BLOCK) {
        session.error("task/block", t.block().span(), t.block().text() + " is no instance of a function block");
      } else if (!seen.add(path)) {
        session.error("task/twice", t.block().span(), t.block().text() + " is associated with two tasks");
      } else {
        b.blockTasks.add(new Project.BlockTask(path, task.get()));
      }
    }
  }

  private Optional<Integer> taskNamed(Name n, Map<String, Integer> known) {
    Integer i = known.get(n.key());
    if (i == null) {
      session.unknownName(n.span(), "there is no task " + n + " in this resource", n.text(), known.keySet());
    }
    return Optional.ofNullable(i);
  }

  /** Variables below a program by their names; null when something was reported. */
  private List<Variable> path(Pou start, List<Name> names) {
    List<Variable> path = new ArrayList<>();
    Pou pou = start;
    Type type = null;
    for (Name n : names) {
      Variable v;
      if (type == null || type.base() instanceof Type.Block) {
        Pou in = type == null ? pou : ((Type.Block) type.base()).pou();
        v = session.pous.variable(session.info(in), n.key());
        if (v == null) {
          session.unknownName(n.span(), in.name() + " has no variable " + n, n.text(),
              session.info(in).names().values().stream().map(Variable::name).toList());
          return null;
        }
      } else if (type.base() instanceof Type.Structure s) {
        v = s.field(n.text()).orElse(null);
        if (v == null) {
          session.unknownName(n.span(), n + " is no element of " + s.name(), n.text(), s.fields().stream().map(Variable::name).toList());
          return null;
        }
      } else {
        session.error("type/no-elements", n.span(), type.name() + " has no element " + n);
        return null;
      }
      path.add(v);
      type = v.type();
      if (Kinds.isUnknown(type)) {
        return null;
      }
    }
    return path;
  }

  private List<Call.Argument> connections(Declaration.ProgramInstance p, PouInfo program, Scope scope) {
    Expressions x = new Expressions(session, scope);
    Calls calls = new Calls(session, x);
    List<Variable> parameters = calls.parameters(program.pou());
    List<Calls.Match> matches = new ArrayList<>();
    Map<String, Span> seen = new LinkedHashMap<>();
    for (Expression.Argument a : p.connections()) {
      Name n = a.name().orElse(null);
      if (n == null) {
        session.error("call/mixed", a.span(), "connections of a program are given with names");
        continue;
      }
      Span first = seen.putIfAbsent(n.key(), n.span());
      if (first != null) {
        session.report(Diagnostic.error("call/argument-twice", n.span(), n + " is connected twice").withRelated(first,
            "first connected here"));
        continue;
      }
      Variable v = parameters.stream().filter(q -> q.name().equalsIgnoreCase(n.text())).findFirst().orElse(null);
      if (v == null) {
        session.unknownName(n.span(), program.pou().name() + " has no parameter " + n, n.text(),
            parameters.stream().map(Variable::name).toList());
      } else if ((a.kind() == Expression.ArgumentKind.OUTPUT) != (v.section() == Variable.Section.OUTPUT)) {
        session.error("call/direction", a.span(), v.name() + " is an " + Expressions.sectionWord(v) + "; it is connected with "
            + (v.section() == Variable.Section.OUTPUT ? "=>" : ":="));
      } else {
        matches.add(new Calls.Match(v, a));
      }
    }
    for (Variable v : parameters) {
      if (v.section() == Variable.Section.IN_OUT && matches.stream().noneMatch(m -> m.parameter() == v)) {
        session.error("call/missing-in-out", p.name().span(), "in-out " + v.name() + " of " + program.pou().name() + " is not connected");
      }
    }
    List<Call.Argument> all = calls.convert(matches);
    all.removeIf(java.util.Objects::isNull);
    return all;
  }

  // VAR_CONFIG

  private void completion(Declaration.Configuration c, Declaration.ConfigVariable v) {
    List<Name> parts = v.path().parts();
    int from = 0;
    String resource = null;
    for (Declaration.Resource r : c.resources()) {
      if (r.name().isPresent() && r.name().get().key().equals(parts.get(0).key())) {
        resource = r.name().get().text();
        from = 1;
      }
    }
    Building b = null;
    if (parts.size() > from) {
      for (Building x : building) {
        boolean here = resource == null ? x.resource.isEmpty() || c.resources().size() == 1 : x.resource.equalsIgnoreCase(resource);
        if (here && x.written.name().key().equals(parts.get(from).key())) {
          b = x;
        }
      }
    }
    Type type = session.types.resolve(v.type(), scope(c, ""));
    if (b == null || parts.size() < from + 2) {
      session.error("config/path", v.path().span(), "expected a path of resource, program instance and variable");
      return;
    }
    List<Variable> path = path(b.program.pou(), parts.subList(from + 1, parts.size()));
    if (path == null || Kinds.isUnknown(type)) {
      return;
    }
    Variable last = path.get(path.size() - 1);
    if (!Kinds.same(type, last.type())) {
      session.report(Pous.related("config/type", v.type().span(), "the type is " + type.name() + ", the variable is " + last.type().name(),
          last.span(),
          "declared here"));
      return;
    }
    Optional<Located> located = v.at().flatMap(a -> location(a, last));
    if (v.at().isPresent() && located.isEmpty()) {
      return;
    }
    if (located.isPresent()) {
      b.located.add(path);
    }
    Optional<Init> init = Optional.empty();
    if (v.initial().isPresent()) {
      if (last.isConstant()) {
        session.error("const/write", v.path().last().span(), last.name() + " is constant");
        return;
      }
      init = session.initials.of(v.initial().get(), last.type(), scope(c, b.resource));
    }
    b.completions.add(new Project.Completion(path, located, init));
  }

  private Optional<Located> location(DirectAddress a, Variable v) {
    Character area = area(v);
    if (area == null) {
      session.error("config/location", a.span(), v.name() + " is not declared with an incomplete address such as AT %I*");
      return Optional.empty();
    }
    if (a.incomplete()) {
      session.error("located/incomplete", a.span(), "the address in VAR_CONFIG is complete");
      return Optional.empty();
    }
    if (a.area() != area) {
      session.error("config/area", a.span(), v.name() + " is declared in area %" + area);
      return Optional.empty();
    }
    if (Locations.elementBits(v.type()) != Locations.width(a.size())) {
      session.error("located/type", a.span(), Locations.text(a) + " has " + Locations.width(a.size()) + " bits, " + v.type().name()
          + " needs "
          + Locations.elementBits(v.type()));
      return Optional.empty();
    }
    Locations.Result r = Locations.map(a, session.limits.instanceBytes());
    r.trouble().ifPresent(t -> session.error(t.code(), a.span(), t.message()));
    return r.location();
  }

  /** Area of a variable or structure element with an incomplete address; null for all others. */
  private Character area(Variable v) {
    Pou declaring = session.declaredIn.get(v);
    return declaring != null ? session.info(declaring).incomplete().get(v) : session.types.incomplete().get(v);
  }

  /** Collects what is declared with incomplete addresses below a POU. */
  private void incomplete(Pou pou, List<Variable> path, List<List<Variable>> into) {
    if (pou.base().isPresent()) {
      incomplete(pou.base().get(), path, into);
    }
    for (Variable v : pou.variables()) {
      boolean holds = switch (v.section()) {
        case INPUT -> !(v.type().base() instanceof Type.Block);
        case OUTPUT, LOCAL, GLOBAL -> true;
        case IN_OUT, TEMP, EXTERNAL, FIELD, RESULT, HIDDEN -> false;
      };
      if (holds) {
        incomplete(v, path, into);
      }
    }
  }

  private void incomplete(Variable v, List<Variable> path, List<List<Variable>> into) {
    List<Variable> own = new ArrayList<>(path);
    own.add(v);
    if (area(v) != null) {
      into.add(own);
      return;
    }
    Type t = v.type().base();
    boolean array = t instanceof Type.Array;
    while (t instanceof Type.Array a) {
      t = a.element().base();
    }
    List<List<Variable>> below = array ? new ArrayList<>() : into;
    if (t instanceof Type.Block b) {
      incomplete(b.pou(), own, below);
    } else if (t instanceof Type.Structure s) {
      for (Variable f : s.fields()) {
        incomplete(f, own, below);
      }
    }
    if (array && !below.isEmpty()) {
      session.error("located/incomplete", v.span(), "elements of an array cannot be completed in VAR_CONFIG, so " + v.name()
          + " cannot hold variables with incomplete addresses");
    }
  }

  private void missing(List<Variable> path, Span at) {
    StringBuilder name = new StringBuilder();
    path.forEach(v -> name.append(name.length() == 0 ? "" : ".").append(v.name()));
    session.report(Diagnostic.error("located/incomplete", at, name + " has an incomplete address and no VAR_CONFIG completes it"));
  }

  private void complete(Building b) {
    List<List<Variable>> open = new ArrayList<>();
    incomplete(b.program.pou(), new ArrayList<>(), open);
    for (List<Variable> path : open) {
      if (!b.located.contains(path)) {
        missing(path, b.written.name().span());
      }
    }
  }

  // VAR_ACCESS

  private void accessPath(Declaration.Configuration c, Declaration.AccessPath p) {
    if (p.resource().isPresent()) {
      Name r = p.resource().get();
      boolean known = c.resources().stream().anyMatch(x -> x.name().map(n -> n.key().equals(r.key())).orElse(false));
      if (!known) {
        session.unknownName(r.span(), "there is no resource " + r, r.text(),
            c.resources().stream().flatMap(x -> x.name().stream()).map(Name::text).toList());
        return;
      }
      path(p, scope(c, r.text()), p.path(), Optional.empty());
      return;
    }
    List<Expression.Member> chain = new ArrayList<>();
    Expression e = p.path();
    while (true) {
      if (e instanceof Expression.Member m) {
        chain.add(0, m);
        e = m.base();
      } else if (e instanceof Expression.Index x) {
        e = x.base();
      } else if (e instanceof Expression.Bits b) {
        e = b.base();
      } else {
        break;
      }
    }
    if (chain.size() > session.limits.nesting()) {
      session.error("limit/nesting", p.path().span(), "the path is too long");
      return;
    }
    Name first = e instanceof Expression.Ident i ? i.name() : null;
    String resource = "";
    Expression at = e;
    int used = 0;
    if (first != null && !chain.isEmpty()) {
      for (Declaration.Resource r : c.resources()) {
        if (r.name().isPresent() && r.name().get().key().equals(first.key())) {
          resource = r.name().get().text();
          first = chain.get(0).name();
          at = chain.get(0);
          used = 1;
        }
      }
    }
    if (first != null && chain.size() > used) {
      for (int i = 0; i < building.size(); i++) {
        Building b = building.get(i);
        boolean here = used == 0 ? b.resource.isEmpty() || c.resources().size() == 1 : b.resource.equalsIgnoreCase(resource);
        if (here && b.written.name().key().equals(first.key())) {
          // The rest of the path is an access from inside the program.
          path(p, Scope.of(session, b.program), without(p.path(), at), Optional.of(i));
          return;
        }
      }
    }
    path(p, scope(c, resource), used == 0 ? p.path() : without(p.path(), e), Optional.empty());
  }

  /** The access without its leading part: {@code R1.p1.a[2].b} without {@code R1.p1} is {@code a[2].b}. */
  private static Expression without(Expression e, Expression prefix) {
    if (e instanceof Expression.Member m) {
      return m.base() == prefix ? new Expression.Ident(m.name().span(), m.name())
          : new Expression.Member(m.span(), without(m.base(), prefix), m.name());
    }
    if (e instanceof Expression.Index x) {
      return new Expression.Index(x.span(), without(x.base(), prefix), x.indices());
    }
    if (e instanceof Expression.Bits b) {
      return new Expression.Bits(b.span(), without(b.base(), prefix), b.size(), b.number());
    }
    return e;
  }

  private void programPath(Building b, int index, Declaration.AccessPath p) {
    path(p, Scope.of(session, b.program), p.path(), Optional.of(index));
  }

  private final Map<String, Span> pathNames = new LinkedHashMap<>();

  private void path(Declaration.AccessPath p, Scope scope, Expression e, Optional<Integer> program) {
    Span first = pathNames.putIfAbsent(program.map(i -> i + ":").orElse("") + p.name().key(), p.name().span());
    if (first != null && !first.equals(p.name().span())) {
      session.duplicate(p.name().span(), p.name().text(), first);
      return;
    }
    Type type = session.types.resolve(p.type(), scope);
    Optional<Place> place = new Expressions(session, scope).place(e);
    if (place.isEmpty() || Kinds.isUnknown(type)) {
      return;
    }
    if (!Kinds.same(type, place.get().type())) {
      session.error("access-path/type", p.type().span(), "the type is " + type.name() + ", the variable is " + place.get().type().name());
      return;
    }
    Variable root = Expressions.root(place.get());
    if (root != null && (root.section() == Variable.Section.TEMP || root.section() == Variable.Section.IN_OUT)) {
      session.error("access-path/variable", p.path().span(), root.name() + " is a " + Expressions.sectionWord(root)
          + " and has no access path");
      return;
    }
    if (p.writable() && root != null && root.isConstant()) {
      session.error("const/write", p.path().span(), root.name() + " is constant and READ_ONLY");
      return;
    }
    accessPaths.add(new Project.AccessPath(p.name().text(), place.get(), p.writable(), program));
  }
}
