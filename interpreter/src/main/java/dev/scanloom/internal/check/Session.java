package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.library.Library;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Collection;
import java.util.Deque;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;

/** What the parts of the checker share during one compilation. */
final class Session {
  final Problems problems;
  final List<Library> libraries;
  final ImplementerChoices choices;
  final Limits limits;

  final Symbols symbols;
  final Types types;
  final Pous pous;
  final Initials initials;
  final Folder folder;
  final Bodies bodies;
  final Globals globals;
  final Usage usage;

  /** Every POU, its methods included, in the order in which they were met. */
  final Map<Pou, PouInfo> infos = new LinkedHashMap<>();
  /** The POU that declares a variable. */
  final Map<Variable, Pou> declaredIn = new LinkedHashMap<>();
  /** How often the name of an edge memory occurs in a POU. */
  final Map<Pou, Map<String, Integer>> edgeNames = new LinkedHashMap<>();
  /** Blocks and classes that others extend. */
  final Set<Pou> extended = new LinkedHashSet<>();
  private final Deque<PouInfo> queue = new ArrayDeque<>();
  private final Map<String, Pou> specialised = new LinkedHashMap<>();
  private final Map<Object, Integer> identities = new LinkedHashMap<>();
  private final Set<String> reported = new LinkedHashSet<>();

  Session(Problems problems, List<Library> libraries, ImplementerChoices choices, Limits limits) {
    this.problems = problems;
    this.libraries = libraries;
    this.choices = choices;
    this.limits = limits;
    this.symbols = new Symbols(this);
    this.types = new Types(this);
    this.pous = new Pous(this);
    this.initials = new Initials(this);
    this.folder = new Folder(choices);
    this.bodies = new Bodies(this);
    this.globals = new Globals(this);
    this.usage = new Usage(this);
  }

  void error(String code, Span span, String message) {
    report(Diagnostic.error(code, span, message));
  }

  void warning(String code, Span span, String message) {
    report(Diagnostic.warning(code, span, message));
  }

  /** One cause, one diagnostic: the same code at the same place is reported once. */
  void report(Diagnostic d) {
    String key = d.code() + "@" + d.span().source().name() + ":" + d.span().start() + "-" + d.span().end();
    if (reported.add(key)) {
      problems.add(d);
    }
  }

  /** Hints are worth their cost only while diagnostics are still shown. */
  boolean wantsHints() {
    return problems.errorCount() < limits.diagnostics();
  }

  void unknownName(Span span, String message, String wanted, Iterable<String> candidates) {
    Diagnostic d = Diagnostic.error("name/unknown", span, message);
    report((wantsHints() ? Nearest.of(wanted, candidates) : java.util.Optional.<String>empty()).map(n ->
        d.withHint("nearest name: " + n)).orElse(d));
  }

  void duplicate(Span span, String name, Span first) {
    report(Diagnostic.error("name/duplicate", span, name + " is declared twice").withRelated(first, "first declared here"));
  }

  /**
   * A function with its generic parameters bound to types; one for each binding. Parameters keep their names and order.
   */
  Pou specialise(PouInfo info, List<Variable> parameters, List<Type> types, Type result) {
    StringBuilder key = new StringBuilder(info.pou().qualifiedName());
    for (int i = 0; i < parameters.size(); i++) {
      key.append('|').append(parameters.get(i).name()).append(':').append(typeKey(types.get(i)));
    }
    key.append("->").append(typeKey(result));
    Pou known = specialised.get(key.toString());
    if (known != null) {
      return known;
    }
    Pou p = new Pou(Pou.Kind.FUNCTION, info.pou().name(), info.pou().qualifiedName(), info.pou().span());
    p.setLibrary(true);
    p.setDocumentation(info.pou().documentation());
    p.setCode(info.pou().code());
    if (!(result instanceof Type.Nothing)) {
      p.setResult(result);
      p.addVariable(new Variable(p.name(), Variable.Section.RESULT, result, p.span()));
    }
    for (int i = 0; i < parameters.size(); i++) {
      p.addVariable(new Variable(parameters.get(i).name(), parameters.get(i).section(), types.get(i), parameters.get(i).span()));
    }
    specialised.put(key.toString(), p);
    return p;
  }

  /** Nameless types by their structure, declared ones by their identity: two of one name may exist. */
  private String typeKey(Type t) {
    Type base = t.base();
    if (base instanceof Type.Array a) {
      return "[" + a.bounds() + a.open() + typeKey(a.element()) + "]";
    }
    boolean declared = base instanceof Type.Structure || base instanceof Type.Enumeration || base instanceof Type.Block
        || base instanceof Type.Interface;
    if (declared) {
      Object identity = base instanceof Type.Block b ? b.pou() : base instanceof Type.Interface i ? i.pou() : base;
      return base.name() + "#" + identities.computeIfAbsent(identity, k -> identities.size());
    }
    return base.name();
  }

  /** Specialised functions in the order in which they were first called. */
  Collection<Pou> specialised() {
    return specialised.values();
  }

  /** Asks for the body of a POU to be checked; at most once. */
  void queueBody(PouInfo info) {
    if (!info.bodyQueued) {
      info.bodyQueued = true;
      queue.add(info);
    }
  }

  PouInfo nextBody() {
    return queue.poll();
  }

  PouInfo info(Pou pou) {
    return infos.get(pou);
  }

  /** What a block, class or interface extends; null when that is nothing. */
  PouInfo baseOf(PouInfo info) {
    return info.pou().base().isPresent() ? info(info.pou().base().get()) : null;
  }

  List<PouInfo> allInfos() {
    return new ArrayList<>(infos.values());
  }
}
