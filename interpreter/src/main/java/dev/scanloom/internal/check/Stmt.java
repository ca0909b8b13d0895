package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** A checked statement. */
public sealed interface Stmt {
  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R assign(Assign s);

    R attempt(Attempt s);

    R call(CallStmt s);

    R evaluate(Evaluate s);

    R ifThen(If s);

    R caseOf(Case s);

    R forLoop(For s);

    R whileLoop(While s);

    R repeat(Repeat s);

    R exit(Exit s);

    R next(Next s);

    R returnFrom(Return s);
  }

  /** The value has the target's type (strings: any capacity; the lowering cuts or faults by choice). */
  record Assign(Span span, Place target, Expr value) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.assign(this);
    }
  }

  /** {@code target ?= source}: both references or interfaces; {@code wanted} is the type tested for. */
  record Attempt(Span span, Place target, Expr source, Pou wanted) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.attempt(this);
    }
  }

  record CallStmt(Span span, Call call) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.call(this);
    }
  }

  /** An intrinsic function standing as a statement, such as {@code ASSERT(x > 0)}; its result, if any, is dropped. */
  record Evaluate(Span span, Expr expression) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.evaluate(this);
    }
  }

  record If(Span span, List<Branch> branches, List<Stmt> otherwise) implements Stmt {
    public If {
      branches = List.copyOf(branches);
      otherwise = List.copyOf(otherwise);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.ifThen(this);
    }
  }

  record Branch(Expr condition, List<Stmt> body) {
    public Branch {
      body = List.copyOf(body);
    }
  }

  /** Labels are slot values of the selector's type, compared as signed or unsigned according to it. */
  record Case(Span span, Expr selector, List<Group> groups, List<Stmt> otherwise) implements Stmt {
    public Case {
      groups = List.copyOf(groups);
      otherwise = List.copyOf(otherwise);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.caseOf(this);
    }
  }

  record Group(List<Range> labels, List<Stmt> body) {
    public Group {
      labels = List.copyOf(labels);
      body = List.copyOf(body);
    }
  }

  record Range(Span span, long low, long high) {}

  /** All of one integer type. Limit and step are evaluated once at entry; passing the end of the type's range ends the loop. */
  record For(Span span, Place variable, Expr from, Expr to, Optional<Expr> by, List<Stmt> body) implements Stmt {
    public For {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.forLoop(this);
    }
  }

  record While(Span span, Expr condition, List<Stmt> body) implements Stmt {
    public While {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.whileLoop(this);
    }
  }

  record Repeat(Span span, List<Stmt> body, Expr until) implements Stmt {
    public Repeat {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.repeat(this);
    }
  }

  record Exit(Span span) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.exit(this);
    }
  }

  /** CONTINUE. */
  record Next(Span span) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.next(this);
    }
  }

  record Return(Span span) implements Stmt {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.returnFrom(this);
    }
  }
}
