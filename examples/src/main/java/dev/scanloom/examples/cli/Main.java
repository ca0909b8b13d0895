package dev.scanloom.examples.cli;

import java.io.BufferedWriter;
import java.io.FileDescriptor;
import java.io.FileOutputStream;
import java.io.OutputStream;
import java.io.OutputStreamWriter;
import java.io.PrintWriter;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.Properties;
import picocli.CommandLine;
import picocli.CommandLine.Command;
import picocli.CommandLine.Help.Ansi;
import picocli.CommandLine.IVersionProvider;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Spec;

/**
 * The command line of Scanloom. Exit codes: 0 fine; 1 errors in the program; 2 usage or unreadable input; 3 run-time fault.
 */
@Command(
    name = "scanloom",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    synopsisSubcommandLabel = "COMMAND",
    description = "Runs IEC 61131-3 programs (Structured Text and ladder) under a chosen scan policy and says what field, memory and displays hold, and why.",
    footer = {
        "", "Exit codes: 0 fine; 1 errors in the program; 2 usage or unreadable input; 3 run-time fault.",
        "Results are for study, not for commissioning or safety functions."})
public final class Main implements Runnable {
  @Spec private CommandSpec spec;

  @Override
  public void run() {
    throw new UsageError("expected a command: run, check, compare, why, show, format or course; 'scanloom --help' lists what they do");
  }

  private static final List<String> COMMANDS = List.of("run", "check", "compare", "why", "show", "format", "course");

  private static Object command(String name) {
    return switch (name) {
      case "run" -> new RunCommand();
      case "check" -> new CheckCommand();
      case "compare" -> new CompareCommand();
      case "why" -> new WhyCommand();
      case "show" -> new ShowCommand();
      case "format" -> new FormatCommand();
      case "course" -> new CourseCommand();
      default -> throw new IllegalArgumentException(name);
    };
  }

  /** With all commands, or with the one that is asked for: looking at the options of all costs every start. */
  private static CommandLine line(String... arguments) {
    CommandLine line = new CommandLine(new Main());
    List<String> wanted = arguments.length > 0 && COMMANDS.contains(arguments[0]) ? List.of(arguments[0]) : COMMANDS;
    for (String name : wanted) {
      line.addSubcommand(name, command(name));
    }
    return line;
  }

  /** Runs one command; never ends the virtual machine. */
  public static int execute(PrintWriter out, PrintWriter err, String... arguments) {
    CommandLine line = line(arguments);
    line.setOut(out);
    line.setErr(err);
    line.setColorScheme(CommandLine.Help.defaultColorScheme(Ansi.OFF));
    line.setExpandAtFiles(false);
    line.setCaseInsensitiveEnumValuesAllowed(true);
    line.setUsageHelpAutoWidth(false);
    line.setUsageHelpWidth(100);
    line.setParameterExceptionHandler((e, args) -> {
      err.println("scanloom: " + Printable.line(e.getMessage()));
      err.println("Try '" + e.getCommandLine().getCommandSpec().qualifiedName() + " --help'.");
      return ExitCode.USAGE;
    });
    line.setExecutionExceptionHandler((e, command, parsed) -> {
      if (e instanceof UsageError) {
        err.println("scanloom: " + Printable.line(e.getMessage()));
        return ExitCode.USAGE;
      }
      throw e;
    });
    try {
      return line.execute(arguments);
    } finally {
      out.flush();
      err.flush();
    }
  }

  static PrintWriter writer(OutputStream to) {
    return new PrintWriter(new BufferedWriter(new OutputStreamWriter(to, StandardCharsets.UTF_8), 1 << 16));
  }

  public static void main(String[] arguments) {
    // println must give the same bytes on every system
    System.setProperty("line.separator", "\n");
    PrintWriter out = writer(new FileOutputStream(FileDescriptor.out));
    PrintWriter err = writer(new FileOutputStream(FileDescriptor.err));
    int code = execute(out, err, arguments);
    out.flush();
    err.flush();
    System.exit(code);
  }

  /** The version that the build wrote into the jar. */
  static final class Version implements IVersionProvider {
    @Override
    public String[] getVersion() throws Exception {
      Properties p = new Properties();
      try (var in = Main.class.getResourceAsStream("version.properties")) {
        if (in != null) {
          p.load(in);
        }
      }
      return new String[] {"scanloom " + p.getProperty("version", "unknown")};
    }
  }
}
