package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/** An ST statement (Table 72). */
public sealed interface Statement {
  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R assignment(Assignment s);

    R attempt(Attempt s);

    R call(CallStatement s);

    R ifThen(If s);

    R caseOf(Case s);

    R forLoop(For s);

    R whileLoop(While s);

    R repeat(Repeat s);

    R exit(Exit s);

    R continueLoop(Continue s);

    R returnFrom(Return s);

    R empty(Empty s);

    R error(Erroneous s);
  }

  record Assignment(Span span, Expression target, Expression value) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.assignment(this);
    }
  }

  /** {@code target ?= value} (Table 52). */
  record Attempt(Span span, Expression target, Expression value) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.attempt(this);
    }
  }

  record CallStatement(Span span, Expression.Call call) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.call(this);
    }
  }

  /** IF and its ELSIFs in order; {@code otherwise} is empty without ELSE. */
  record If(Span span, List<Branch> branches, Optional<List<Statement>> otherwise) implements Statement {
    public If {
      branches = List.copyOf(branches);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.ifThen(this);
    }
  }

  record Branch(Span span, Expression condition, List<Statement> body) {
    public Branch {
      body = List.copyOf(body);
    }
  }

  record Case(Span span, Expression selector, List<CaseGroup> groups, Optional<List<Statement>> otherwise) implements Statement {
    public Case {
      groups = List.copyOf(groups);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.caseOf(this);
    }
  }

  record CaseGroup(Span span, List<CaseLabel> labels, List<Statement> body) {
    public CaseGroup {
      labels = List.copyOf(labels);
      body = List.copyOf(body);
    }
  }

  /** One value, or with {@code high} an inclusive range. */
  record CaseLabel(Span span, Expression low, Optional<Expression> high) {}

  record For(Span span, Expression variable, Expression from, Expression to, Optional<Expression> by, List<Statement> body)
      implements Statement {
    public For {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.forLoop(this);
    }
  }

  record While(Span span, Expression condition, List<Statement> body) implements Statement {
    public While {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.whileLoop(this);
    }
  }

  record Repeat(Span span, List<Statement> body, Expression until) implements Statement {
    public Repeat {
      body = List.copyOf(body);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.repeat(this);
    }
  }

  record Exit(Span span) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.exit(this);
    }
  }

  record Continue(Span span) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.continueLoop(this);
    }
  }

  record Return(Span span) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.returnFrom(this);
    }
  }

  record Empty(Span span) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.empty(this);
    }
  }

  /** Stands where the parser reported an error. */
  record Erroneous(Span span) implements Statement {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.error(this);
    }
  }
}
