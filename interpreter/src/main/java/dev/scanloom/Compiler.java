package dev.scanloom;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.library.Library;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.List;

/**
 * Text to executable program. Not the place where a program runs: that is {@link Controller}.
 *
 * <p>Immutable and safe for use by several threads.
 */
public final class Compiler {
  private Compiler() {}

  /** The compiler with the standard's defaults and all libraries that {@link java.util.ServiceLoader} finds. */
  public static Compiler standard() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The same with other implementer-specific choices. */
  public Compiler withChoices(ImplementerChoices choices) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The same with other limits. */
  public Compiler withLimits(Limits limits) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The same with one more library, looked up before the others. */
  public Compiler withLibrary(Library library) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The same with the name of the PROGRAM to run when there are several and no CONFIGURATION. */
  public Compiler withMainProgram(String name) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Compiles one text. Never throws for what the text says. */
  public CompileResult compile(String name, String text) {
    return compile(List.of(SourceText.of(name, text)));
  }

  /** Compiles several texts as one program. Never throws for what the texts say. */
  public CompileResult compile(List<SourceText> sources) {
    throw new UnsupportedOperationException("not written yet");
  }
}
