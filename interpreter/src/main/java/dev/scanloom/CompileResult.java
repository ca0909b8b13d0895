package dev.scanloom;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import java.util.List;
import java.util.Optional;

/**
 * What a compilation answered: a program, unless there are errors, and everything there is to say about the text. Immutable.
 *
 * @param program empty when there is an error
 * @param diagnostics in the order of their places
 */
public record CompileResult(Optional<CompiledProgram> program, List<Diagnostic> diagnostics) {
  public CompileResult {
    diagnostics = List.copyOf(diagnostics);
  }

  /** At least one diagnostic is an error. */
  public boolean hasErrors() {
    return diagnostics.stream().anyMatch(d -> d.severity() == Severity.ERROR);
  }

  /**
   * The program.
   *
   * @throws Failed when there is none; its message lists the diagnostics
   */
  public CompiledProgram orThrow() {
    if (program.isEmpty()) {
      throw new Failed(diagnostics);
    }
    return program.get();
  }

  /** A program with errors was asked for. */
  public static final class Failed extends IllegalArgumentException {
    private static final long serialVersionUID = 1L;
    private final transient List<Diagnostic> diagnostics;

    Failed(List<Diagnostic> diagnostics) {
      super(text(diagnostics));
      this.diagnostics = diagnostics;
    }

    private static String text(List<Diagnostic> all) {
      StringBuilder b = new StringBuilder("the program has errors");
      for (Diagnostic d : all) {
        b.append('\n').append(d.oneLine());
      }
      return b.toString();
    }

    public List<Diagnostic> diagnostics() {
      return diagnostics;
    }
  }
}
