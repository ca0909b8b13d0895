package dev.scanloom.examples.cli;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import com.fasterxml.jackson.core.json.JsonWriteFeature;
import dev.scanloom.CompileResult;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.Span;
import java.io.IOException;
import java.io.PrintWriter;
import java.io.StringWriter;
import java.io.UncheckedIOException;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Mixin;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code check}: diagnostics only. */
@Command(
    name = "check",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Checks the program and prints what there is to say about it, without running it.",
    footer = {
        "", "Text goes to standard error, each diagnostic with its source line and carets. --format jsonl writes one JSON object a line to standard output:"
            + " severity, code, file, line, column, endLine, endColumn, message, hint, related."})
final class CheckCommand implements Callable<Integer> {
  /** Forms of the answer. */
  enum Format { text, jsonl }

  @Mixin ProgramFiles program;

  @Option(names = "--format", paramLabel = "FORMAT", defaultValue = "text", description = "text or jsonl (default: ${DEFAULT-VALUE}).")
  Format format;

  @Spec CommandSpec spec;

  private static final int WIDEST = 160;

  @Override
  public Integer call() {
    PrintWriter out = spec.commandLine().getOut();
    PrintWriter err = spec.commandLine().getErr();
    CompileResult result = program.compile();
    int errors = 0;
    int warnings = 0;
    for (Diagnostic d : result.diagnostics()) {
      errors += d.severity() == Severity.ERROR ? 1 : 0;
      warnings += d.severity() == Severity.WARNING ? 1 : 0;
      if (format == Format.jsonl) {
        out.append(json(d)).append('\n');
      } else {
        text(err, d);
      }
    }
    if (format == Format.text && errors + warnings > 0) {
      err.println(count(errors, "error") + ", " + count(warnings, "warning"));
    }
    return result.hasErrors() ? ExitCode.PROGRAM_ERRORS : ExitCode.FINE;
  }

  private static String count(int n, String word) {
    return n + " " + word + (n == 1 ? "" : "s");
  }

  static void text(PrintWriter err, Diagnostic d) {
    err.println(Printable.line(d.oneLine()));
    caret(err, d.span());
    ProgramFiles.hint(err, d);
    for (Diagnostic.Related r : d.related()) {
      err.println("    " + Printable.line(r.span().place() + ": note: " + r.message()));
    }
  }

  /** The source line and carets under the span; of a very long line the part around the span. */
  static void caret(PrintWriter err, Span span) {
    int[] line = span.source().line(span.line()).codePoints().toArray();
    int column = span.column();
    int from = 0;
    if (column > WIDEST - 40) {
      from = column - 40;
    }
    int to = Math.min(line.length, from + WIDEST);
    int length = Math.max(1, Math.min(span.end() - span.start(), Math.max(1, to - column + 1)));
    StringBuilder shown = new StringBuilder();
    StringBuilder marks = new StringBuilder();
    for (int i = from; i < to; i++) {
      String one = Printable.line(new String(line, i, 1));
      shown.append(one);
      boolean under = i + 1 >= column && i + 1 < column + length;
      marks.append((under ? "^" : " ").repeat(one.codePointCount(0, one.length())));
    }
    if (column > to) {
      marks.append(" ".repeat(Math.max(0, column - 1 - to))).append('^');
    }
    err.println("    " + (from > 0 ? "..." : "") + shown.toString().stripTrailing() + (to < line.length ? "..." : ""));
    err.println("    " + (from > 0 ? "   " : "") + marks.toString().stripTrailing());
  }

  private static final JsonFactory JSON = JsonFactory.builder().enable(JsonWriteFeature.ESCAPE_NON_ASCII).build();

  static String json(Diagnostic d) {
    StringWriter text = new StringWriter();
    try (JsonGenerator g = JSON.createGenerator(text)) {
      g.writeStartObject();
      g.writeStringField("severity", d.severity().word());
      g.writeStringField("code", d.code());
      place(g, d.span());
      g.writeStringField("message", d.message());
      if (d.hint().isPresent()) {
        g.writeStringField("hint", d.hint().get());
      }
      if (!d.related().isEmpty()) {
        g.writeArrayFieldStart("related");
        for (Diagnostic.Related r : d.related()) {
          g.writeStartObject();
          place(g, r.span());
          g.writeStringField("message", r.message());
          g.writeEndObject();
        }
        g.writeEndArray();
      }
      g.writeEndObject();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    return text.toString();
  }

  private static void place(JsonGenerator g, Span span) throws IOException {
    g.writeStringField("file", span.source().name());
    g.writeNumberField("line", span.line());
    g.writeNumberField("column", span.column());
    g.writeNumberField("endLine", span.source().lineOf(span.end()));
    g.writeNumberField("endColumn", span.source().columnOf(span.end()));
  }
}
