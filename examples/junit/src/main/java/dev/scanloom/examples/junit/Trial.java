package dev.scanloom.examples.junit;

import dev.scanloom.teach.ProgramTask;
import java.util.Objects;
import java.util.Optional;
import java.util.function.Supplier;
import org.opentest4j.AssertionFailedError;

/** One way of trying a student's program: a hidden stimulus, or the exploration. Immutable. */
public final class Trial {
  private final String name;
  private final String program;
  private final Supplier<Optional<ProgramTask.Difference>> run;

  Trial(String name, String program, Supplier<Optional<ProgramTask.Difference>> run) {
    this.name = Objects.requireNonNull(name, "name");
    this.program = program;
    this.run = run;
  }

  public String name() {
    return name;
  }

  /** The student's text. */
  public String program() {
    return program;
  }

  /** What differs from the reference, with the evidence; empty when nothing was found. */
  public Optional<ProgramTask.Difference> difference() {
    return run.get();
  }

  /**
   * Fails when there is a difference; the message says in which scan, and why the program did so.
   *
   * @throws AssertionFailedError with the first difference
   */
  public void check() {
    difference().ifPresent(d -> {
      throw new AssertionFailedError(d.text());
    });
  }
}
