package dev.scanloom.internal.check;

import java.util.List;

/** A checked body. */
public sealed interface Code {

  record Statements(List<Stmt> statements) implements Code {
    public Statements {
      statements = List.copyOf(statements);
    }
  }

  record LadderCode(Ladder ladder) implements Code {}

  record ChartCode(Chart chart) implements Code {}

  /** A BOOL expression: condition of a transition. */
  record Condition(Expr expression) implements Code {}

  /** Executed by the core itself; calls of it become {@link Expr.Intrinsic}. */
  record Intrinsic(String name) implements Code {}

  /** Bound by name to a Java body of the library that declared it. */
  record Native(String name) implements Code {}

  /** No body: interface prototype or ABSTRACT method. */
  record Abstract() implements Code {}
}
