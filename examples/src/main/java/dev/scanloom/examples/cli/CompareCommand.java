package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Fault;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.report.Page;
import dev.scanloom.report.Recordings;
import dev.scanloom.report.Tables;
import java.io.PrintWriter;
import java.nio.file.Path;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Mixin;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code compare}: the program under the matrix of policies and displays. */
@Command(
    name = "compare",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Runs the program under image, immediate and asynchronous inputs with displays that sample at different moments; prints what field, memory,"
        + " contacts, outputs and displays hold, what separates them, and why.",
    footer = {
        "", "The inputs file is that of the run command. Asynchronous inputs are tried at every phase at which something happens in the program; one run of"
            + " each outcome is shown. With --html one page is written in which to step through all of it; it needs no network."})
final class CompareCommand implements Callable<Integer> {
  private static final long MOST_SCANS = 20_000;
  private static final int MOST_TREES = 60;
  private static final int MOST_TOLD = 30;

  /** Forms of the table. */
  enum Format { text, csv, jsonl }

  @Mixin ProgramFiles program;

  @Option(names = "--scans", paramLabel = "N", required = true, description = "How many scans to run (at most 20000).")
  String scans;

  @Option(names = "--inputs", paramLabel = "FILE.csv", description = "The stimulus.")
  String inputs;

  @Option(names = "--at", paramLabel = "N", description = "The scan that is compared (default: the last one).")
  String at;

  @Option(names = "--period", paramLabel = "DURATION", defaultValue = "10ms",
      description = "Time from scan to scan, as 10ms or T#10ms (default: ${DEFAULT-VALUE}).")
  String period;

  @Option(names = "--display", paramLabel = "DISPLAY",
      description = "One more display: asynchronous:PERIOD[:PHASE[:CHUNK]], which samples CHUNK items at a time on its own clock; can be repeated.")
  List<String> displays;

  @Option(names = "--seed", paramLabel = "S", defaultValue = "0", description = "Seed of what is drawn (default: ${DEFAULT-VALUE}).")
  String seed;

  @Option(names = "--format", paramLabel = "FORMAT", defaultValue = "text",
      description = "text; or csv or jsonl for the table alone (default: ${DEFAULT-VALUE}).")
  Format format;

  @Option(names = "--html", paramLabel = "FILE", description = "Writes the page to step through.")
  String html;

  @Spec CommandSpec spec;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    PrintWriter err = spec.commandLine().getErr();
    long n = PolicyOptions.scans(scans);
    if (n > MOST_SCANS) {
      throw new UsageError("--scans: " + scans + "; compare keeps every step of every run, expected at most " + MOST_SCANS);
    }
    long asked = at == null ? n : number("--at", at, n);
    var duration = DurationText.positive("--period", period);
    Map<String, DisplaySampling> more = new LinkedHashMap<>();
    if (displays != null) {
      for (String d : displays) {
        more.put(PolicyText.displayName(d), PolicyText.display("--display", d));
      }
    }
    long drawn = PolicyOptions.seed(seed);
    CompiledProgram p = program.compileOrTell(err);
    if (p == null) {
      return ExitCode.PROGRAM_ERRORS;
    }
    InputsFile stimulus = inputs == null ? InputsFile.none() : InputsFile.read(inputs, p);
    Matrix matrix = new Matrix(p, stimulus, duration, n, asked, drawn, more);
    matrix.runAll();
    Recordings recordings = matrix.recordings;
    // after a fault, unless a scan was asked for: the last one that some run completed
    long reached = recordings.runs().stream().mapToLong(r -> r.controller().scans()).max().orElse(0);
    long scan = at == null ? Math.min(asked, reached) : asked;
    if (scan < 1 || scan > reached) {
      faults(err, matrix);
      return ExitCode.FAULT;
    }
    Tables table = recordings.comparison((int) scan);
    switch (format) {
      case csv -> out.print(table.csv());
      case jsonl -> out.print(table.jsonLines());
      case text -> {
        out.print(table.text());
        out.println();
        out.println("Asynchronous inputs: " + matrix.phasesTried + " phases tried, "
            + (matrix.outcomesFound == 1 ? "1 outcome." : matrix.outcomesFound + " different outcomes"
                + (matrix.outcomesFound > matrix.phases.size() ? ", the first " + matrix.phases.size() + " shown." : ".")));
        matrix.phases.forEach((name, phase) -> out.println("  " + name + ": phase " + phase + " ms"));
      }
    }
    List<Recordings.Difference> differences = recordings.differences((int) scan);
    Page page = html == null ? null : new Page(recordings, title(), subtitle(n, duration)).with(table);
    Reasons reasons = new Reasons(matrix);
    if (format == Format.text) {
      out.println();
      out.println(differences.isEmpty() ? "No differences at the end of scan " + scan + "." : "Differences at the end of scan " + scan);
    }
    int number = 0;
    for (Recordings.Difference d : differences) {
      number++;
      List<Page.Reason> trees = number <= MOST_TREES ? reasons.of(d) : List.of();
      if (format == Format.text && number <= MOST_TOLD) {
        tell(out, recordings, number, d, trees);
      }
      if (page != null) {
        page.with(new Page.Why(d.what() + " (" + names(recordings, d) + ")", reasons.withSeparation(d, trees)));
      }
    }
    if (format == Format.text && differences.size() > MOST_TOLD) {
      out.println("\n" + (differences.size() - MOST_TOLD) + " more differences" + (page == null ? "; --html writes a page with all of them." : " on the page."));
    }
    if (page != null) {
      TextFiles.write(html, page.html());
      (format == Format.text ? out : err).println((format == Format.text ? "\n" : "") + "Page to step through: " + Printable.line(html));
    }
    if (!matrix.faults.isEmpty()) {
      out.flush();
      faults(err, matrix);
      return ExitCode.FAULT;
    }
    return ExitCode.FINE;
  }

  private static long number(String option, String text, long most) {
    long k;
    try {
      k = Long.parseLong(text.trim());
    } catch (NumberFormatException e) {
      throw new UsageError(option + ": '" + text + "' is no whole number; expected 1 to " + most);
    }
    if (k < 1 || k > most) {
      throw new UsageError(option + ": " + text + "; expected 1 to " + most);
    }
    return k;
  }

  private String title() {
    Path name = TextFiles.path(program.files.get(0)).getFileName();
    return (name == null ? program.files.get(0) : name.toString()) + ": policies and displays compared";
  }

  private String subtitle(long n, java.time.Duration duration) {
    StringBuilder b = new StringBuilder().append(n).append(n == 1 ? " scan" : " scans").append(", one every ");
    RunCommand.milliseconds(b, duration.toNanos());
    return b.append(" ms").append(inputs == null ? "" : ", inputs from " + TextFiles.path(inputs).getFileName()).toString();
  }

  private static void faults(PrintWriter err, Matrix matrix) {
    for (Map.Entry<String, Fault> f : matrix.faults.entrySet()) {
      err.println(Printable.line(f.getValue().oneLine() + " (scan " + f.getValue().scan() + ", " + f.getKey() + ")"));
    }
  }

  private static String names(Recordings recordings, Recordings.Difference d) {
    List<String> all = d.runs().stream().map(i -> recordings.runs().get(i).name()).toList();
    return all.size() == recordings.runs().size() && all.size() > 1 ? "under every policy" : String.join("; ", all);
  }

  private static void tell(PrintWriter out, Recordings recordings, int number, Recordings.Difference d, List<Page.Reason> trees) {
    out.println();
    out.println(Printable.line(number + ". " + d.what()));
    out.println(Printable.line("   where: " + names(recordings, d)));
    out.println(Printable.line("   separated by: " + d.separation()));
    if (!trees.isEmpty()) {
      out.println("   why:");
      for (Page.Reason r : trees) {
        Reasons.print(out, r, 2);
      }
    }
  }
}
