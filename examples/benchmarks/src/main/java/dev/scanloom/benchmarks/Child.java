package dev.scanloom.benchmarks;

import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;

/** Processes that the benchmarks start: what is measured in a JVM of its own is disturbed by nothing that ran before. */
final class Child {
  private Child() {}

  /** The JVM that runs this program. */
  static String jvm() {
    return Path.of(System.getProperty("java.home"), "bin", "java").toString();
  }

  /** Runs this program in a new JVM and answers the last line that it prints. */
  static String java(List<String> options, String... arguments) throws IOException, InterruptedException {
    List<String> command = new ArrayList<>(List.of(jvm()));
    command.addAll(options);
    command.addAll(List.of("-cp", System.getProperty("java.class.path"), Main.class.getName()));
    command.addAll(List.of(arguments));
    Process process = new ProcessBuilder(command).redirectError(ProcessBuilder.Redirect.INHERIT).start();
    process.getOutputStream().close();
    String output = new String(process.getInputStream().readAllBytes(), StandardCharsets.UTF_8).strip();
    int exit = process.waitFor();
    if (exit != 0 || output.isEmpty()) {
      throw new IOException("the process ended with " + exit + ": " + String.join(" ", command));
    }
    return output.substring(output.lastIndexOf('\n') + 1);
  }
}
