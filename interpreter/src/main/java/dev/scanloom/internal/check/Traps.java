package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;

/**
 * Warnings about legal statements that rarely mean what they say (common practice). Looks at checked bodies of the user, never at library
 * ones.
 */
final class Traps {
  private final Session session;
  private final Set<Variable> warned = new LinkedHashSet<>();
  private Scope scope;

  Traps(Session session) {
    this.session = session;
  }

  void check(PouInfo info) {
    if (info.library() != null || !(info.pou().code() instanceof Code.Statements s)) {
      return;
    }
    scope = Scope.of(session, info);
    sequence(s.statements());
    if (hasTemporaries(info) || (info.owner() != null && hasTemporaries(info.owner()))) {
      statements(s.statements(), new LinkedHashSet<>());
    }
  }

  private static boolean hasTemporaries(PouInfo info) {
    for (Variable v : info.pou().variables()) {
      if (v.section() == Variable.Section.TEMP) {
        return true;
      }
    }
    return false;
  }

  // Statements of one sequence, all executed when the first one is

  /** Values overwritten before anything can have read them, and instances called twice in a row. */
  private void sequence(List<Stmt> all) {
    Map<Object, Span> writes = new LinkedHashMap<>();
    Map<Variable, Span> called = new LinkedHashMap<>();
    for (Stmt s : all) {
      if (s instanceof Stmt.Assign a) {
        if (!writes.isEmpty()) {
          forget(writes, a);
        }
        Object key = Usage.identity(a.target());
        if (key != null) {
          Span first = writes.put(key, a.target().span());
          if (first != null) {
            session.report(Diagnostic.warning("trap/two-writers", a.target().span(), a.target().span().text()
                + " is written twice and nothing can read the first value").withRelated(first, "the first value"));
          }
          session.usage.writes(key, a.target(), scope);
        }
        continue;
      }
      writes.clear();
      if (s instanceof Stmt.CallStmt c && c.call().target() instanceof Call.Instance i && i.place() instanceof Place.Var v
          && c.call().en().isEmpty()) {
        Span first = called.putIfAbsent(v.variable(), c.span());
        if (first != null) {
          session.report(Diagnostic.warning("trap/instance-twice", i.place().span(), v.variable().name()
              + " is called twice and keeps the state of both calls")
              .withRelated(first, "the first call"));
        }
      }
    }
  }

  /** Drops the writes that an assignment can read. */
  private static void forget(Map<Object, Span> writes, Stmt.Assign a) {
    Reads reads = new Reads();
    reads.expression(a.value());
    reads.indices(a.target());
    for (Place p : reads.places) {
      Variable root = Expressions.root(p);
      // Parts and overlapping locations: what else they share is not worked out.
      reads.unknown |= root == null || root.located().isPresent() || !(p instanceof Place.Var);
    }
    if (reads.unknown) {
      writes.clear();
      return;
    }
    reads.places.forEach(p -> writes.remove(Usage.identity(p)));
  }

  // Temporary variables

  /** Warns about temporaries that are read before anything is written to them; {@code written} grows by what is written for certain. */
  private void statements(List<Stmt> all, Set<Variable> written) {
    for (Stmt s : all) {
      statement(s, written);
    }
  }

  private void statement(Stmt s, Set<Variable> written) {
    if (s instanceof Stmt.Assign a) {
      read(a.value(), written);
      readIndices(a.target(), written);
      write(a.target(), written);
    } else if (s instanceof Stmt.Attempt a) {
      read(a.source(), written);
      write(a.target(), written);
    } else if (s instanceof Stmt.CallStmt c) {
      call(c.call(), written);
    } else if (s instanceof Stmt.Evaluate e) {
      read(e.expression(), written);
    } else if (s instanceof Stmt.If i) {
      branches(i, written);
    } else if (s instanceof Stmt.Case c) {
      read(c.selector(), written);
      Set<Variable> common = null;
      for (Stmt.Group g : c.groups()) {
        common = meet(common, branch(g.body(), written));
      }
      common = meet(common, branch(c.otherwise(), written));
      written.addAll(common);
    } else if (s instanceof Stmt.For f) {
      read(f.from(), written);
      read(f.to(), written);
      f.by().ifPresent(b -> read(b, written));
      write(f.variable(), written);
      branch(f.body(), written);
    } else if (s instanceof Stmt.While w) {
      read(w.condition(), written);
      branch(w.body(), written);
    } else if (s instanceof Stmt.Repeat r) {
      statements(r.body(), written);
      read(r.until(), written);
    }
  }

  private void branches(Stmt.If i, Set<Variable> written) {
    Set<Variable> common = null;
    for (Stmt.Branch b : i.branches()) {
      read(b.condition(), written);
      common = meet(common, branch(b.body(), written));
    }
    written.addAll(meet(common, branch(i.otherwise(), written)));
  }

  private Set<Variable> branch(List<Stmt> body, Set<Variable> before) {
    Set<Variable> own = new LinkedHashSet<>(before);
    statements(body, own);
    boolean leaves = body.stream().anyMatch(x -> x instanceof Stmt.Return || x instanceof Stmt.Exit || x instanceof Stmt.Next);
    return leaves ? null : own;
  }

  /** What is written on both ways; null stands for a way that does not go on. */
  private static Set<Variable> meet(Set<Variable> a, Set<Variable> b) {
    if (a == null) {
      return b == null ? new LinkedHashSet<>() : b;
    }
    if (b == null) {
      return a;
    }
    Set<Variable> both = new LinkedHashSet<>(a);
    both.retainAll(b);
    return both;
  }

  private void call(Call c, Set<Variable> written) {
    c.en().ifPresent(e -> read(e, written));
    if (c.target() instanceof Call.Instance i) {
      readIndices(i.place(), written);
    } else if (c.target() instanceof Call.Method m) {
      readIndices(m.receiver(), written);
    }
    for (Call.Argument a : c.arguments()) {
      if (a instanceof Call.Input in) {
        read(in.value(), written);
      }
    }
    for (Call.Argument a : c.arguments()) {
      if (a instanceof Call.Output out) {
        write(out.target(), written);
      } else if (a instanceof Call.InOut io) {
        write(io.place(), written);
      }
    }
    c.eno().ifPresent(o -> write(o.target(), written));
  }

  private void write(Place p, Set<Variable> written) {
    Variable root = Expressions.root(p);
    if (root != null) {
      written.add(root);
    }
  }

  private void readIndices(Place p, Set<Variable> written) {
    Reads r = new Reads();
    r.indices(p);
    r.places.forEach(x -> read(x, written));
  }

  private void read(Expr e, Set<Variable> written) {
    Reads r = new Reads();
    r.expression(e);
    r.places.forEach(x -> read(x, written));
    r.writes.forEach(x -> write(x, written));
  }

  private void read(Place p, Set<Variable> written) {
    Variable v = Expressions.root(p);
    boolean temporary = v != null && v.section() == Variable.Section.TEMP && v.initial().isEmpty() && (Kinds.kind(v.type()) != null
        || v.type().base() instanceof Type.Enumeration);
    if (temporary && !written.contains(v) && warned.add(v)) {
      session.warning("trap/read-before-write", p.span(), v.name() + " is temporary and read before anything is written to it");
    }
  }

  /** Collects what an expression reads. Walks the typed tree, whose depth the checker has bounded. */
  private static final class Reads implements Expr.Visitor<Void> {
    final List<Place> places = new ArrayList<>();
    final List<Place> writes = new ArrayList<>();
    /** A call or a reference may read anything. */
    boolean unknown;

    void expression(Expr e) {
      // Long sums lean to the left: go down that side in a loop.
      Expr x = e;
      while (x instanceof Expr.Binary b) {
        expressionOf(b.right());
        x = b.left();
      }
      expressionOf(x);
    }

    private void expressionOf(Expr e) {
      if (e instanceof Expr.Binary) {
        expression(e);
      } else {
        e.accept(this);
      }
    }

    void indices(Place p) {
      Place q = p;
      while (true) {
        if (q instanceof Place.Member m) {
          q = m.base();
        } else if (q instanceof Place.Element e) {
          e.indices().forEach(this::expression);
          q = e.base();
        } else if (q instanceof Place.Bits b) {
          q = b.base();
        } else if (q instanceof Place.Character c) {
          expression(c.index());
          q = c.base();
        } else if (q instanceof Place.Deref d) {
          expression(d.reference());
          unknown = true;
          return;
        } else {
          return;
        }
      }
    }

    private void place(Place p) {
      places.add(p);
      indices(p);
    }

    @Override
    public Void constant(Expr.Constant e) {
      return null;
    }

    @Override
    public Void text(Expr.TextConstant e) {
      return null;
    }

    @Override
    public Void read(Expr.Read e) {
      place(e.place());
      return null;
    }

    @Override
    public Void negate(Expr.Negate e) {
      expression(e.operand());
      return null;
    }

    @Override
    public Void not(Expr.Not e) {
      expression(e.operand());
      return null;
    }

    @Override
    public Void binary(Expr.Binary e) {
      expression(e);
      return null;
    }

    @Override
    public Void convert(Expr.Convert e) {
      expression(e.operand());
      return null;
    }

    @Override
    public Void intrinsic(Expr.Intrinsic e) {
      e.arguments().forEach(this::expression);
      return null;
    }

    @Override
    public Void invoke(Expr.Invoke e) {
      unknown = true;
      e.call().en().ifPresent(this::expression);
      for (Call.Argument a : e.call().arguments()) {
        if (a instanceof Call.Input in) {
          expression(in.value());
        } else if (a instanceof Call.Output out) {
          writes.add(out.target());
        } else if (a instanceof Call.InOut io) {
          writes.add(io.place());
        }
      }
      e.call().eno().ifPresent(o -> writes.add(o.target()));
      return null;
    }

    @Override
    public Void address(Expr.AddressOf e) {
      unknown = true;
      indices(e.place());
      writes.add(e.place());
      return null;
    }

    @Override
    public Void link(Expr.LinkState e) {
      return null;
    }
  }
}
