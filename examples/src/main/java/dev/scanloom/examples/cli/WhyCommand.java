package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Provenance;
import dev.scanloom.policy.ScanPolicy;
import java.io.PrintWriter;
import java.util.List;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Mixin;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Parameters;
import picocli.CommandLine.Spec;

/** {@code why}: the provenance of one value as text. */
@Command(
    name = "why",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    customSynopsis = "scanloom why FILE... VARIABLE --scan N [--inputs FILE.csv] [--period DURATION] [--policy POLICY] [--place memory|field] [OPTIONS]",
    description = "Says why a variable has its value at the end of a scan: a tree back to field changes, external writes, initial and retained values.",
    footer = {"", "The inputs file is that of the run command."})
final class WhyCommand implements Callable<Integer> {
  /** Places that can be asked about. */
  enum AskedPlace { memory, field }

  @Parameters(paramLabel = "FILE... VARIABLE", arity = "1..*", description = "Program texts, and last the variable.")
  List<String> words;

  @Option(names = "--program", paramLabel = "NAME", description = "The PROGRAM to run when the files hold several and no CONFIGURATION.")
  String main;

  @Mixin PolicyOptions policy;

  @Option(names = "--scan", paramLabel = "N", required = true, description = "The scan at whose end is asked.")
  String scan;

  @Option(names = "--inputs", paramLabel = "FILE.csv", description = "The stimulus.")
  String inputs;

  @Option(names = "--place", paramLabel = "PLACE", defaultValue = "memory", description = "memory, or field for a terminal (default: ${DEFAULT-VALUE}).")
  AskedPlace place;

  @Option(names = "--format", paramLabel = "FORMAT", defaultValue = "text", description = "text or json (default: ${DEFAULT-VALUE}).")
  Format format;

  /** Forms of the answer. */
  enum Format { text, json }

  @Spec CommandSpec spec;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    PrintWriter err = spec.commandLine().getErr();
    long n = PolicyOptions.count("--scan", scan);
    ScanPolicy scanPolicy = policy.policy();
    ProgramFiles files = new ProgramFiles();
    files.program = main;
    files.files = words.size() == 1 ? words : words.subList(0, words.size() - 1);
    if (words.size() == 1) {
      TextFiles.programs(words);
      throw new UsageError("expected the variable to explain behind the files");
    }
    CompiledProgram p = files.compileOrTell(err);
    if (p == null) {
      return ExitCode.PROGRAM_ERRORS;
    }
    Variable v = Names.find("why", p, words.get(words.size() - 1));
    if (place == AskedPlace.field && v.area() != 'I' && v.area() != 'Q') {
      throw new UsageError("--place: " + v.path() + " has no terminal; expected a variable at %I or %Q");
    }
    InputsFile stimulus = inputs == null ? InputsFile.none() : InputsFile.read(inputs, p);
    Controller c = p.newController(scanPolicy);
    Provenance provenance = Provenance.of(c);
    InputsFile.Feed feed = stimulus.feed(c);
    long s = 1;
    while (s <= n) {
      feed.before(s);
      if (!c.scan()) {
        break;
      }
      s++;
    }
    if (c.fault().isPresent()) {
      err.println(Printable.line(c.fault().get().oneLine() + " (scan " + s + ")"));
    }
    if (s > n || c.fault().isPresent()) {
      Explanation e = place == AskedPlace.field ? provenance.whyField(v) : provenance.why(v);
      out.print(format == Format.json ? e.json() + "\n" : Printable.lines(e.text()));
    }
    return c.fault().isPresent() ? ExitCode.FAULT : ExitCode.FINE;
  }
}
