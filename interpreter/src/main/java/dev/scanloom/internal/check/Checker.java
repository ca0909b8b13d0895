package dev.scanloom.internal.check;

import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.SourceFile;
import dev.scanloom.library.Library;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.List;
import java.util.Optional;

/**
 * Syntax trees to the checked model. Confined to one compilation.
 *
 * <p>Which program runs: a CONFIGURATION if there is one; else the PROGRAM named {@code mainProgram}; else the only PROGRAM. Two programs without a
 * choice are {@code program/ambiguous}, none is {@code program/none}.
 */
public final class Checker {
  private final Problems problems;
  private final List<Library> libraries;
  private final ImplementerChoices choices;
  private final Limits limits;

  public Checker(Problems problems, List<Library> libraries, ImplementerChoices choices, Limits limits) {
    this.problems = problems;
    this.libraries = List.copyOf(libraries);
    this.choices = choices;
    this.limits = limits;
  }

  /** The model, or empty when there are errors. Diagnostics go to the problems given at construction. */
  public Optional<Project> check(List<SourceFile> files, Optional<String> mainProgram) {
    throw new UnsupportedOperationException("not written yet");
  }
}
