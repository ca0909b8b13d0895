package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import java.util.List;

/** A parsed text with what was said about it, for tests. */
record Parsed(SourceFile file, List<Diagnostic> diagnostics) {

  static Parsed of(String text) {
    return of(text, 256);
  }

  static Parsed of(String text, int nesting) {
    Problems problems = new Problems(100);
    SourceFile file = new StParser(problems, nesting).parse(SourceText.of("t", text));
    return new Parsed(file, problems.sorted());
  }

  /** Without hand-written short cuts. */
  static Parsed byGrammar(SourceText source, int nesting) {
    Problems problems = new Problems(100);
    SourceFile file = new StParser(problems, nesting).byGrammar().parse(source);
    return new Parsed(file, problems.sorted());
  }

  /** Parses and fails on any diagnostic. */
  static SourceFile clean(String text) {
    Parsed p = of(text);
    assertThat(p.diagnostics).as(text).isEmpty();
    return p.file;
  }

  /** {@code line:column code} of each diagnostic. */
  List<String> places() {
    return diagnostics.stream().map(d -> d.span().line() + ":" + d.span().column() + " " + d.code()).toList();
  }

  /** Statements of a program whose body is {@code text}. */
  static List<Statement> statements(String text) {
    Declaration.Program p = (Declaration.Program) clean("PROGRAM p\n" + text + "\nEND_PROGRAM").declarations().get(0);
    return ((Body.Text) p.body()).statements();
  }

  /** The right side of {@code x := text;}. */
  static Expression expression(String text) {
    return ((Statement.Assignment) statements("x := " + text + ";").get(0)).value();
  }
}
