package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayDeque;
import java.util.Deque;
import java.util.Iterator;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.Map;
import java.util.Set;

/** What bodies call and write: for recursion, for loading library bodies, and for the warnings that need no more than one place. */
final class Usage {
  private final Session session;
  /** Caller to callees, each with the first place of such a call. */
  private final Map<Pou, Map<Pou, Span>> calls = new LinkedHashMap<>();

  Usage(Session session) {
    this.session = session;
  }

  /** A body calls a POU. */
  void calls(Scope from, Pou callee, Span at) {
    use(callee);
    if (from.info() != null) {
      calls.computeIfAbsent(from.info().pou(), k -> new LinkedHashMap<>()).putIfAbsent(callee, at);
    }
  }

  /** A POU is part of the program: the body of one from a library must be checked. */
  void use(Pou pou) {
    PouInfo info = session.info(pou);
    if (info == null || info.library() == null) {
      return;
    }
    PouInfo whole = info.owner() == null ? info : info.owner();
    session.queueBody(whole);
    whole.pou().base().ifPresent(this::use);
  }

  void writesLocation(Located l, Span at) {
    if (l.area() != 'I') {
      return;
    }
    String message = "this writes an input location; the next input refresh overwrites it";
    if (session.choices.strictInputs()) {
      session.error("trap/write-input", at, message);
    } else {
      session.warning("trap/write-input", at, message);
    }
  }

  /**
   * What makes two writes hit the same thing: a variable by itself, or a location; null for parts of variables and what is behind
   * references.
   */
  static Object identity(Place p) {
    if (p instanceof Place.Direct d) {
      return d.location();
    }
    if (!(p instanceof Place.Var v)) {
      return null;
    }
    Variable target = v.variable().section() == Variable.Section.EXTERNAL ? v.variable().global().orElse(v.variable()) : v.variable();
    return target.located().isPresent() && !(target.type().base() instanceof Type.Array) ? target.located().get() : target;
  }

  private record Writer(Pou pou, Span span) {}

  private final Map<Object, Writer> writers = new LinkedHashMap<>();

  /** Remembers an unconditional writer of a global variable or location; a second one in another POU is a trap. */
  void writes(Object key, Place place, Scope from) {
    boolean shared = key instanceof Located || key instanceof Variable v && v.section() == Variable.Section.GLOBAL;
    if (!shared || from.info() == null || from.info().library() != null) {
      return;
    }
    Pou pou = from.info().pou();
    Writer first = writers.putIfAbsent(key, new Writer(pou, place.span()));
    if (first != null && first.pou() != pou) {
      session.report(Diagnostic.warning("trap/two-writers", place.span(), place.span().text().strip() + " is also written in "
          + first.pou().name()
          + "; whoever runs last wins").withRelated(first.span(), "there"));
    }
  }

  void compared(Expr.Operator op, Type type, Span at, Scope scope) {
    boolean equality = op == Expr.Operator.EQ || op == Expr.Operator.NE;
    boolean user = scope.info() != null && scope.info().library() == null;
    if (equality && user && Kinds.kind(type) != null && Kinds.kind(type).isReal()) {
      session.report(Diagnostic.warning("trap/real-equality", at, "real numbers are rarely exactly equal after arithmetic")
          .withHint("compare ABS(a - b) with a tolerance"));
    }
  }

  /** Reports POUs that call themselves, directly or through others (S.fb-recursion). */
  void reportRecursion() {
    if (session.choices.recursion()) {
      return;
    }
    Set<Pou> done = new LinkedHashSet<>();
    for (Pou start : calls.keySet()) {
      walk(start, done);
    }
  }

  private void walk(Pou start, Set<Pou> done) {
    if (done.contains(start)) {
      return;
    }
    Deque<Pou> path = new ArrayDeque<>();
    Deque<Iterator<Map.Entry<Pou, Span>>> open = new ArrayDeque<>();
    Set<Pou> onPath = new LinkedHashSet<>();
    path.push(start);
    onPath.add(start);
    open.push(calls.getOrDefault(start, Map.of()).entrySet().iterator());
    while (!path.isEmpty()) {
      if (!open.peek().hasNext()) {
        open.pop();
        Pou left = path.pop();
        onPath.remove(left);
        done.add(left);
        continue;
      }
      Map.Entry<Pou, Span> call = open.peek().next();
      Pou callee = call.getKey();
      if (onPath.contains(callee)) {
        session.report(Diagnostic.error("pou/recursion", call.getValue(), callee.name() + " calls itself"
            + (path.peek() == callee ? "" : " through " + path.peek().name())).withRelated(callee.span(), "declared here"));
      } else if (!done.contains(callee)) {
        path.push(callee);
        onPath.add(callee);
        open.push(calls.getOrDefault(callee, Map.of()).entrySet().iterator());
      }
    }
  }
}
