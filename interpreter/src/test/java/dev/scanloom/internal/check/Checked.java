package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.SourceFile;
import dev.scanloom.internal.syntax.StParser;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.List;
import java.util.Optional;

/** A text parsed and checked, for assertions. */
record Checked(Optional<Project> project, List<Diagnostic> diagnostics) {

  static Checked of(String text) {
    return of(text, ImplementerChoices.standard().withDeprecations(false));
  }

  static Checked of(String text, ImplementerChoices choices) {
    return of(text, choices, Limits.standard(), Optional.empty());
  }

  static Checked of(String text, ImplementerChoices choices, Limits limits, Optional<String> main) {
    Problems problems = new Problems(limits.diagnostics());
    SourceFile file = new StParser(problems, limits.nesting()).parse(SourceText.of("test.st", text));
    Optional<Project> p = new Checker(problems, List.of(new TestLibrary()), choices, limits).check(List.of(file), main);
    return new Checked(p, problems.sorted());
  }

  /** The model of a text without errors. */
  static Project good(String text) {
    Checked c = of(text);
    return c.project().orElseThrow(() -> new AssertionError(c.diagnostics().toString()));
  }

  /** The body of the only PROGRAM. */
  static List<Stmt> body(String text) {
    return ((Code.Statements) program(good(text)).code()).statements();
  }

  static Pou program(Project p) {
    return p.programs().get(0).pou();
  }

  /** Statements in a program with the given declarations. */
  static List<Stmt> statements(String declarations, String statements) {
    return body("PROGRAM Main\n" + declarations + "\n" + statements + "\nEND_PROGRAM");
  }

  /** The value assigned by the only statement of a program. */
  static Expr value(String declarations, String statement) {
    return ((Stmt.Assign) statements(declarations, statement).get(0)).value();
  }

  List<String> codes() {
    return diagnostics.stream().map(Diagnostic::code).toList();
  }
}
