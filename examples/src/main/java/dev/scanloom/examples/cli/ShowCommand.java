package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import java.io.PrintWriter;
import java.util.List;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code show}: what the compiler made of a text. */
@Command(
    name = "show",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Shows what the stages of the compiler made of the text: tokens, grammar tree (also of a text with mistakes), variables and networks (model),"
        + " the steps that are executed (steps), or ladder bodies in other forms: equations, statements (Structured Text), drawing.")
final class ShowCommand implements Callable<Integer> {
  /** What can be shown. */
  enum What { tokens, tree, model, steps, equations, statements, drawing }

  @Parameters(index = "0", paramLabel = "tokens|tree|model|steps|equations|statements|drawing",
      description = "tokens: place, kind, spelling; tree: rules of the grammar; model: variables with type and address, bodies, ladder networks; steps: all steps with their places; equations, statements, drawing: ladder bodies as Boolean equations, as Structured Text, drawn anew.")
  What what;

  @Parameters(index = "1..*", arity = "1..*", paramLabel = "FILE", description = "Program texts: types, POUs and one PROGRAM, or a CONFIGURATION.")
  List<String> files;

  @Option(names = "--program", paramLabel = "NAME", description = "The PROGRAM to run when the files hold several and no CONFIGURATION.")
  String main;

  @Spec CommandSpec spec;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    if (what != What.model && what != What.steps) {
      Compiler compiler = Compiler.standard();
      for (SourceText source : TextFiles.programs(files)) {
        for (String line : ofText(compiler, source)) {
          out.println(Printable.line(line));
        }
      }
      return ExitCode.FINE;
    }
    ProgramFiles program = new ProgramFiles();
    program.files = files;
    program.program = main;
    CompiledProgram p = program.compileOrTell(spec.commandLine().getErr());
    if (p == null) {
      return ExitCode.PROGRAM_ERRORS;
    }
    switch (what) {
      case steps -> {
        for (String line : p.listing()) {
          out.println(Printable.line(line));
        }
      }
      case model -> model(out, p);
      case tokens, tree, equations, statements, drawing -> throw new IllegalStateException("shown above");
    }
    return ExitCode.FINE;
  }

  /** What needs the text alone, and also works on one with mistakes. */
  private List<String> ofText(Compiler compiler, SourceText source) {
    return switch (what) {
      case tokens -> compiler.tokens(source);
      case tree -> compiler.tree(source);
      case equations -> compiler.equations(source);
      case statements -> compiler.statements(source);
      case drawing -> compiler.drawings(source);
      case model, steps -> throw new IllegalStateException("needs the compiled program");
    };
  }

  private static void model(PrintWriter out, CompiledProgram p) {
    out.println("variables");
    for (String path : p.variables()) {
      Variable v = p.variable(path);
      out.println(Printable.line("  " + path + " : " + v.typeName() + (v.isLocated() ? "  at " + v.location() : "")));
    }
    for (Pou pou : p.pous()) {
      if (pou.library()) {
        continue;
      }
      out.println(Printable.line("body " + pou.name() + "  " + pou.span().place()));
      for (Network n : pou.networks()) {
        out.println(Printable.line("  network " + n.number() + (n.label().isEmpty() ? "" : "  label " + n.label()) + (n.comment().isBlank() ? "" : "  " + n.comment().strip())));
        for (Element e : n.elements()) {
          String mark = e.mark().isBlank() ? "" : " " + e.mark();
          out.println(Printable.line("    " + e.kind().name().toLowerCase(java.util.Locale.ROOT) + mark + " " + e.title() + "  " + e.span().place()));
        }
      }
    }
  }
}
