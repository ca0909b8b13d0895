package dev.scanloom.examples.cli;

import java.io.IOException;
import java.io.PrintWriter;
import java.io.StringWriter;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;

/** The command line in this process: exit code, standard output, standard error. */
record Cli(int code, String out, String err) {

  static Cli run(String... arguments) {
    StringWriter out = new StringWriter();
    StringWriter err = new StringWriter();
    String separator = System.getProperty("line.separator");
    int code;
    try (PrintWriter o = new PrintWriter(out); PrintWriter e = new PrintWriter(err)) {
      code = Main.execute(o, e, arguments);
    }
    return new Cli(code, out.toString().replace(separator, "\n"), err.toString().replace(separator, "\n"));
  }

  static String file(Path folder, String name, String text) {
    Path p = folder.resolve(name);
    try {
      Files.write(p, text.getBytes(StandardCharsets.UTF_8));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    return p.toString();
  }

  /** A file shipped with the examples, seen from the module's folder. */
  static String shipped(String name) {
    return Path.of("dryer", name).toString();
  }
}
