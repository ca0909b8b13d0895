package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.report.Pictures;
import dev.scanloom.report.Recordings;
import dev.scanloom.report.Waveforms;
import java.io.PrintWriter;
import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Mixin;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code run}: a row of CSV per scan. The form of its output is a contract: other programs read it. */
@Command(
    name = "run",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Runs the program and prints CSV: a row per scan, memory after the scan's output refresh.",
    footer = {
        "", "Inputs: CSV with the header scan,Name1,Name2. The row for scan n applies before the input refresh of scan n: it sets the terminal of a variable"
            + " at %%I, and is an external write for any other variable. An empty cell leaves the variable as it is. Values are IEC literals; scans count from 1.",
        "Output: header scan,time_ms,NAMES; time_ms is the virtual time at which the scan started. With a CONFIGURATION the period is the tick between rows;"
            + " tasks run when they are due."})
final class RunCommand implements Callable<Integer> {
  @Mixin ProgramFiles program;
  @Mixin PolicyOptions policy;

  @Option(names = "--scans", paramLabel = "N", required = true, description = "How many scans to run.")
  String scans;

  @Option(names = "--inputs", paramLabel = "FILE.csv", description = "The stimulus.")
  String inputs;

  @Option(names = "--watch", paramLabel = "A,B.C,ARR[2]", description = "Variables to print; all of them without this option.")
  List<String> watch;

  @Option(names = "--vcd", paramLabel = "FILE", description = "Also writes the run as a value change dump for waveform viewers (at most 20000 scans).")
  String vcd;

  @Option(names = "--timing", paramLabel = "FILE.svg", description = "Also draws a timing diagram of the watched variables (the first 200 scans).")
  String timing;

  @Option(names = "--trace", paramLabel = "FILE", description = "Also writes every event of the run, an event a line: FILE.jsonl as JSON Lines, FILE.csv as CSV"
      + " (columns: examples/TRACE.md).")
  String trace;

  @Option(names = "--trace-kinds", paramLabel = "write,phase", description = "Kinds of events to keep in --trace: ${COMPLETION-CANDIDATES}; all without this option.",
      completionCandidates = TraceFile.Kinds.class)
  List<String> traceKinds;

  @Option(names = "--trace-only", paramLabel = "A,B.C", description = "Variables whose reads, writes, field changes and samples to keep in --trace; without"
      + " --trace-kinds nothing else but faults is kept then.")
  List<String> traceOnly;

  @Spec CommandSpec spec;

  private static final long MOST_RECORDED = 20_000;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    PrintWriter err = spec.commandLine().getErr();
    long n = PolicyOptions.scans(scans);
    ScanPolicy scanPolicy = policy.policy();
    if (vcd != null && n > MOST_RECORDED) {
      throw new UsageError("--vcd: " + n + " scans; expected at most " + MOST_RECORDED);
    }
    TraceFile.Wish wish = TraceFile.wish(trace, traceKinds, traceOnly);
    CompiledProgram p = program.compileOrTell(err);
    if (p == null) {
      return ExitCode.PROGRAM_ERRORS;
    }
    List<String> names = watch == null ? p.variables() : Names.split(watch);
    List<Variable> variables = new ArrayList<>();
    for (String name : names) {
      variables.add(Names.find("--watch", p, name));
    }
    InputsFile stimulus = inputs == null ? InputsFile.none() : InputsFile.read(inputs, p);
    Controller c = p.newController(scanPolicy);
    Recordings recordings = vcd == null && timing == null ? null : new Recordings(p);
    Recordings.Run recorded = recordings == null ? null : recordings.record(policy.policy, c);
    TraceFile traced = TraceFile.open(wish, c);
    InputsFile.Feed feed = stimulus.feed(c);
    StringBuilder row = new StringBuilder("scan,time_ms");
    for (String name : names) {
      Printable.cell(row.append(','), name);
    }
    out.append(row.append('\n'));
    Place memory = c.memory();
    for (long scan = 1; scan <= n; scan++) {
      // asking flushes, so not for every row; when nobody reads any more there is nothing left to do
      if (scan % 4096 == 0 && out.checkError()) {
        break;
      }
      feed.before(scan);
      if (!c.scan()) {
        break;
      }
      if (recorded != null && vcd == null && scan == 200) {
        recorded.close();
      }
      row.setLength(0);
      row.append(scan).append(',');
      milliseconds(row, c.scanStart());
      for (Variable v : variables) {
        row.append(',');
        if (v instanceof Variable.Bool b) {
          row.append(memory.get(b) ? "TRUE" : "FALSE");
        } else {
          Printable.cell(row, memory.text(v));
        }
      }
      out.append(row.append('\n'));
    }
    traced.close();
    if (vcd != null) {
      TextFiles.write(vcd, Waveforms.vcd(recordings, recorded));
    }
    if (timing != null && recorded.scans() > 0) {
      TextFiles.write(timing, Pictures.timing(recordings, recorded, variables.stream().map(Variable::path).toList(), 1, 200,
          policy.stepsCost() ? Pictures.Axis.ORDER : Pictures.Axis.TIME));
    }
    if (c.fault().isPresent()) {
      out.flush();
      err.println(Printable.line(c.fault().get().oneLine()));
      return ExitCode.FAULT;
    }
    return ExitCode.FINE;
  }

  /** Nanoseconds as decimal milliseconds, without a fraction where there is none. */
  static void milliseconds(StringBuilder b, long nanos) {
    if (nanos % 1_000_000 == 0) {
      b.append(nanos / 1_000_000);
    } else {
      b.append(BigDecimal.valueOf(nanos, 6).stripTrailingZeros().toPlainString());
    }
  }
}
