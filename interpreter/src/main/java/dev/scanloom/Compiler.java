package dev.scanloom;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Checker;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.lower.Lowering;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.syntax.Formatter;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.SourceFile;
import dev.scanloom.internal.syntax.StParser;
import dev.scanloom.internal.syntax.SyntaxText;
import dev.scanloom.library.Library;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.ServiceLoader;
import org.slf4j.LoggerFactory;

/**
 * Text to executable program. Not the place where a program runs: that is {@link Controller}.
 *
 * <p>Immutable and safe for use by several threads.
 */
public final class Compiler {
  private final ImplementerChoices choices;
  private final Limits limits;
  private final List<Library> libraries;
  private final Optional<String> mainProgram;

  private Compiler(ImplementerChoices choices, Limits limits, List<Library> libraries, Optional<String> mainProgram) {
    this.choices = choices;
    this.limits = limits;
    this.libraries = libraries;
    this.mainProgram = mainProgram;
  }

  /** The compiler with the standard's defaults and all libraries that {@link ServiceLoader} finds, in the order of their names. */
  public static Compiler standard() {
    List<Library> found = new ArrayList<>();
    for (Library l : ServiceLoader.load(Library.class, Compiler.class.getClassLoader())) {
      found.add(l);
    }
    if (found.size() > 1) {
      found.sort((a, b) -> a.name().compareTo(b.name()));
    }
    return new Compiler(ImplementerChoices.standard(), Limits.standard(), List.copyOf(found), Optional.empty());
  }

  /** The same with other implementer-specific choices. */
  public Compiler withChoices(ImplementerChoices other) {
    return new Compiler(Objects.requireNonNull(other, "choices"), limits, libraries, mainProgram);
  }

  /** The same with other limits. */
  public Compiler withLimits(Limits other) {
    return new Compiler(choices, Objects.requireNonNull(other, "limits"), libraries, mainProgram);
  }

  /** The same with one more library, looked up before the others. */
  public Compiler withLibrary(Library library) {
    List<Library> all = new ArrayList<>();
    all.add(Objects.requireNonNull(library, "library"));
    all.addAll(libraries);
    return new Compiler(choices, limits, List.copyOf(all), mainProgram);
  }

  /** The same with the name of the PROGRAM to run when there are several and no CONFIGURATION. */
  public Compiler withMainProgram(String name) {
    return new Compiler(choices, limits, libraries, Optional.of(name));
  }

  /** Compiles one text. Never throws for what the text says. */
  public CompileResult compile(String name, String text) {
    return compile(List.of(SourceText.of(name, text)));
  }

  /** Compiles several texts as one program. Never throws for what the texts say. */
  public CompileResult compile(List<SourceText> sources) {
    Problems problems = new Problems(limits.diagnostics());
    try {
      return compile(sources, problems);
    } catch (StackOverflowError | RuntimeException e) {
      // A mistake of ours: the host gets a diagnostic like any other, and its log the stack. The logger is asked for here: finding one costs a start dearly.
      LoggerFactory.getLogger(Compiler.class).error("the compiler failed on {}", sources.isEmpty() ? "no text" : sources.get(0).name(), e);
      problems.error("internal/failure", new Span(sources.isEmpty() ? SourceText.of("", "") : sources.get(0), 0, 0),
          "the compiler itself failed on this text (" + e.getClass().getSimpleName() + "); this is a mistake in Scanloom, not in the program");
      return new CompileResult(Optional.empty(), problems.sorted());
    }
  }

  private CompileResult compile(List<SourceText> sources, Problems problems) {
    List<SourceFile> files = new ArrayList<>();
    for (SourceText s : sources) {
      if (s.length() > limits.sourceLength()) {
        problems.error("limit/source", new Span(s, limits.sourceLength(), limits.sourceLength()),
            "the text has " + s.length() + " characters; the limit is " + limits.sourceLength());
      } else {
        files.add(new StParser(problems, limits.nesting()).parse(s));
      }
    }
    if (sources.isEmpty()) {
      return new CompileResult(Optional.empty(), List.of(Diagnostic.error("program/none", new Span(SourceText.of("", ""), 0, 0),
          "there is no source text")));
    }
    // The checker looks at what could be read even when something could not, so that one run tells as much as it can.
    Optional<Project> project = new Checker(problems, libraries, choices, limits).check(files, mainProgram);
    if (project.isEmpty() || problems.hasErrors()) {
      return new CompileResult(Optional.empty(), problems.sorted());
    }
    try {
      Code code = new Lowering(choices, limits, libraries).lower(project.get());
      CompiledProgram program = new CompiledProgram(code, project.get(), List.copyOf(sources), limits);
      return new CompileResult(Optional.of(program), problems.sorted());
    } catch (Lowering.TooLarge e) {
      problems.error("limit/memory", new Span(sources.get(0), 0, 0), e.getMessage());
      return new CompileResult(Optional.empty(), problems.sorted());
    }
  }

  /**
   * The text laid out: a declaration or statement a line, two blanks per level, keywords in capitals. White space and the case of keywords
   * change and nothing else; comments, pragmas and drawings stay. Laying out twice is laying out once. Empty if the text has mistakes of
   * spelling or grammar, which {@link #compile(List)} tells; what names and types mean is not looked at.
   */
  public Optional<String> format(SourceText source) {
    return fits(source) ? Formatter.formatted(source) : Optional.empty();
  }

  /** For people: the tokens of a text, comments and pragmas among them, a line each: place, kind, spelling. Never throws for what the text says. */
  public List<String> tokens(SourceText source) {
    return fits(source) ? SyntaxText.tokens(source) : List.of();
  }

  /** For people: the grammar's tree of a text, a line for every rule and token, indented; as far as it could be read. Never throws for what the text says. */
  public List<String> tree(SourceText source) {
    return fits(source) ? SyntaxText.tree(source, limits.nesting()) : List.of();
  }

  /**
   * For people: the ladder bodies of a text as Boolean equations, a line for each coil, box, jump and return, under the name of their POU and the number of their
   * network. Empty without ladder. Never throws for what the text says.
   */
  public List<String> equations(SourceText source) {
    return fits(source) ? LadderViews.equations(source, limits.nesting()) : List.of();
  }

  /** For people: the ladder bodies of a text as Structured Text of the same meaning, with the auxiliary variables it needs. Like {@link #equations}. */
  public List<String> statements(SourceText source) {
    return fits(source) ? LadderViews.statements(source, limits.nesting()) : List.of();
  }

  /** For people: the ladder bodies of a text drawn anew in one canonical form, which reads back to the same networks. Like {@link #equations}. */
  public List<String> drawings(SourceText source) {
    return fits(source) ? LadderViews.drawings(source, limits.nesting()) : List.of();
  }

  private boolean fits(SourceText source) {
    return source.length() <= limits.sourceLength();
  }
}
