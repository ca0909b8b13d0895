package dev.scanloom.examples.cli;

import dev.scanloom.CompileResult;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import java.io.PrintWriter;
import java.util.List;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;

/** The program files and how they are compiled; what every command has in common. */
final class ProgramFiles {
  @Parameters(paramLabel = "FILE", arity = "1..*", description = "Program texts: types, POUs and one PROGRAM, or a CONFIGURATION.")
  List<String> files;

  @Option(names = "--program", paramLabel = "NAME", description = "The PROGRAM to run when the files hold several and no CONFIGURATION.")
  String program;

  CompileResult compile() {
    Compiler compiler = Compiler.standard();
    if (program != null) {
      compiler = compiler.withMainProgram(program);
    }
    return compiler.compile(TextFiles.programs(files));
  }

  /** The program, or null after its errors have been told. */
  CompiledProgram compileOrTell(PrintWriter err) {
    CompileResult result = compile();
    if (result.program().isPresent()) {
      return result.program().get();
    }
    for (Diagnostic d : result.diagnostics()) {
      if (d.severity() == Severity.ERROR) {
        err.println(Printable.line(d.oneLine()));
        hint(err, d);
      }
    }
    return null;
  }

  static void hint(PrintWriter err, Diagnostic d) {
    if (d.code().equals("program/ambiguous")) {
      err.println("    hint: choose one with --program NAME");
    } else {
      d.hint().ifPresent(h -> err.println("    hint: " + Printable.line(h)));
    }
  }
}
