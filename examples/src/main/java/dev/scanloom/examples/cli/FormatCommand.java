package dev.scanloom.examples.cli;

import dev.scanloom.Compiler;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.SourceText;
import java.io.PrintWriter;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code format}: texts laid out anew. */
@Command(
    name = "format",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Lays a program text out: a declaration or statement a line, two blanks per level, keywords in capitals."
        + " Comments, pragmas and drawings stay as they are; laying out twice is laying out once.",
    footer = {
        "", "One FILE is printed to standard output; with --write files are written in place, with --test nothing is written and the names of"
            + " files that are not laid out are printed (exit code 1 if there are any). A text with mistakes of grammar is told and left alone (exit code 1)."})
final class FormatCommand implements Callable<Integer> {
  @Parameters(paramLabel = "FILE", arity = "1..*", description = "Program texts.")
  List<String> files;

  @Option(names = "--write", description = "Write the files in place.")
  boolean write;

  @Option(names = "--test", description = "Only print the names of files that are not laid out.")
  boolean test;

  @Spec CommandSpec spec;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    PrintWriter err = spec.commandLine().getErr();
    if (write && test) {
      throw new UsageError("--write and --test exclude each other");
    }
    if (files.size() > 1 && !write && !test) {
      throw new UsageError("expected one file, or --write, or --test; found " + files.size() + " files");
    }
    Compiler compiler = Compiler.standard();
    int code = ExitCode.FINE;
    for (SourceText source : TextFiles.programs(files)) {
      Optional<String> text = compiler.format(source);
      if (text.isEmpty()) {
        tell(err, compiler, source);
        code = ExitCode.PROGRAM_ERRORS;
      } else if (test) {
        if (!text.get().equals(source.text())) {
          out.println(Printable.line(source.name()));
          code = ExitCode.PROGRAM_ERRORS;
        }
      } else if (!write) {
        out.print(text.get());
      } else if (!text.get().equals(source.text())) {
        TextFiles.write(source.name(), text.get());
      }
    }
    return code;
  }

  /** Names and types are not the business of a layout: of a text alone they are often unknown. */
  private static void tell(PrintWriter err, Compiler compiler, SourceText source) {
    for (Diagnostic d : compiler.compile(List.of(source)).diagnostics()) {
      if (d.severity() == Severity.ERROR && (d.code().startsWith("syntax/") || d.code().startsWith("limit/"))) {
        CheckCommand.text(err, d);
      }
    }
    err.println(Printable.line(source.name()) + ": left as it is");
  }
}
