package dev.scanloom.benchmarks;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.function.Consumer;

/** The command line from the start of the process to its end: wall time, since the whole machine takes part. */
final class Start {
  /** @param best and {@code median}: milliseconds of {@code runs} starts */
  record Row(String name, int runs, double best, double median) {}

  private static final int RUNS = 20;

  private Start() {}

  /** Whether the example can be run from here. */
  static boolean isPossible() {
    return Files.exists(jar()) && Files.exists(Path.of("examples/dryer/dryer.st"));
  }

  private static Path jar() {
    return Path.of("examples/target/scanloom.jar");
  }

  /** From the root of the repository. */
  static List<Row> measure(Consumer<Row> progress) throws IOException, InterruptedException {
    Path archive = Files.createTempDirectory("scanloom").resolve("scanloom.jsa");
    List<Row> rows = new ArrayList<>();
    try {
      run(List.of("-XX:ArchiveClassesAtExit=" + archive));
      List<String> archived = List.of("-XX:SharedArchiveFile=" + archive);
      rows.add(measure("as it is", List.of(), progress));
      rows.add(measure("with an archive of its classes", archived, progress));
      rows.add(measure("with the archive and -XX:TieredStopAtLevel=1", List.of(archived.get(0), "-XX:TieredStopAtLevel=1"), progress));
    } finally {
      Files.deleteIfExists(archive);
      Files.delete(archive.getParent());
    }
    return rows;
  }

  private static Row measure(String name, List<String> options, Consumer<Row> progress) throws IOException, InterruptedException {
    double[] ms = new double[RUNS];
    for (int i = 0; i < RUNS; i++) {
      ms[i] = run(options);
    }
    Arrays.sort(ms);
    Row r = new Row(name, RUNS, ms[0], ms[(RUNS - 1) / 2]);
    progress.accept(r);
    return r;
  }

  private static double run(List<String> options) throws IOException, InterruptedException {
    List<String> command = new ArrayList<>(List.of(Child.jvm()));
    command.addAll(options);
    command.addAll(List.of("-jar", jar().toString(), "run", "examples/dryer/dryer.st", "--inputs", "examples/dryer/inputs.csv", "--scans", "6"));
    long start = System.nanoTime();
    Process p = new ProcessBuilder(command).redirectErrorStream(true).redirectOutput(ProcessBuilder.Redirect.DISCARD).start();
    int exit = p.waitFor();
    double ms = (System.nanoTime() - start) / 1e6;
    if (exit != 0) {
      throw new IOException("the process ended with " + exit + ": " + String.join(" ", command));
    }
    return ms;
  }
}
