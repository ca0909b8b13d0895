package dev.scanloom.benchmarks;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;

/**
 * Runs benchmarks and prints tables. {@code scans [WORKLOADS [ENGINES]]}: by processor time, all engines in turn; {@code load [NETWORKS...]}: from text to
 * program; {@code instances}: bytes and time of a controller; {@code start}: the command line from a cold start; {@code report [DIRECTORY]}: all of them, and
 * a page with a picture; {@code jmh ARGUMENTS}: the scans under JMH. All but the last also write {@code benchmarks.json} in the working directory, the report
 * {@code results.json} in its directory.
 */
public final class Main {
  private final Results results = new Results();

  private Main() {}

  public static void main(String[] args) throws Exception {
    String what = args.length == 0 ? "scans" : args[0];
    String[] rest = args.length == 0 ? args : Arrays.copyOfRange(args, 1, args.length);
    switch (what) {
      case "scans", "load", "instances", "start", "report" -> new Main().run(what, rest);
      case "jmh" -> org.openjdk.jmh.Main.main(rest);
      case "load-one" -> Load.one(rest);
      case "instances-one" -> Instances.one(rest);
      case "scans-one" -> scansOne(rest);
      default -> {
        System.err.println("unknown: " + what + "; expected scans, load, instances, start, report or jmh");
        System.exit(2);
      }
    }
  }

  private void run(String what, String[] args) throws IOException, InterruptedException {
    results.machine().forEach((k, v) -> System.out.println(k + ": " + v));
    System.out.printf(Locale.ROOT, "load: %.1f%n", Figures.load());
    switch (what) {
      case "scans" -> scans(args);
      case "load" -> load(args.length == 0 ? new int[] {10_000} : Arrays.stream(args).mapToInt(Integer::parseInt).toArray());
      case "instances" -> instances();
      case "start" -> {
        if (!Start.isPossible()) {
          System.err.println("run this from the root of the repository after mvn package: examples/target/scanloom.jar is not there");
          System.exit(2);
        }
        start();
      }
      default -> {
        report(args.length == 0 ? directory() : Path.of(args[0]));
        return;
      }
    }
    results.writeJson(Path.of("benchmarks.json"));
  }

  private static Path directory() {
    Path own = Path.of("examples/benchmarks");
    return Files.isDirectory(own) ? own : Path.of("");
  }

  private void report(Path directory) throws IOException, InterruptedException {
    if (Start.isPossible()) {
      start(); // first, as long as the processor is cool
    }
    load(new int[] {1_000, 10_000, 100_000});
    instances();
    progress("scans");
    for (Workload w : Workload.values()) {
      scans(w, allEngines());
      write(directory); // what is known so far: the rest takes minutes
    }
    System.out.println("wrote RESULTS.md, results.svg and results.json in " + directory.toAbsolutePath());
  }

  private void write(Path directory) throws IOException {
    results.writeJson(directory.resolve("results.json"));
    Files.writeString(directory.resolve("results.svg"), Chart.of(results.scans));
    results.writePage(directory.resolve("RESULTS.md"), "results.svg");
  }

  private static String allEngines() {
    return String.join(",", Arrays.stream(Engine.values()).map(Enum::name).toList());
  }

  private static void progress(String part) {
    System.out.println("\n" + Results.heading(part));
  }

  // Scans: each workload in a process of its own, so that what the JIT compiler has learnt from one does not matter to another.

  private void scans(String[] args) throws IOException, InterruptedException {
    List<Workload> workloads =
        args.length > 0 ? Arrays.stream(args[0].split(",")).map(w -> Workload.valueOf(w.toUpperCase(Locale.ROOT))).toList() : List.of(Workload.values());
    progress("scans");
    for (Workload w : workloads) {
      scans(w, args.length > 1 ? args[1].toUpperCase(Locale.ROOT) : allEngines());
    }
  }

  private void scans(Workload w, String engines) throws IOException, InterruptedException {
    List<Figures.Scan> own = Arrays.stream(Child.java(List.of(), "scans-one", w.name(), engines).split("\t")).map(cell -> {
      String[] f = cell.split(" ", 4);
      return new Figures.Scan(w, f[0], Double.parseDouble(f[1]), Double.parseDouble(f[2]), f.length > 3 ? f[3] : "");
    }).toList();
    results.scans.addAll(own);
    own.forEach(s -> System.out.println(results.line(s)));
    own.stream().filter(s -> !s.remark().isEmpty()).forEach(s -> System.out.println(s.engine() + ": " + s.remark()));
  }

  private static void scansOne(String[] args) {
    List<Engine> engines = Arrays.stream(args[1].split(",")).map(Engine::valueOf).toList();
    StringBuilder line = new StringBuilder();
    for (Figures.Scan s : Figures.scans(Workload.valueOf(args[0]), engines)) {
      line.append(line.length() == 0 ? "" : "\t").append(s.engine()).append(' ').append(s.ns()).append(' ').append(s.bytes()).append(' ')
          .append(s.remark().replaceAll("\\s+", " "));
    }
    System.out.println(line);
  }

  // Load: linear growth is looked at for the notations of the library; the others are measured at one size.

  private void load(int[] networks) throws IOException, InterruptedException {
    progress("load");
    for (int n : networks) {
      boolean side = n == 10_000 || networks.length == 1;
      List<Load.Loader> loaders = side ? List.of(Load.Loader.values()) : List.of(Load.Loader.ST, Load.Loader.LADDER);
      results.load.addAll(Load.measure(new int[] {n}, loaders, n > 20_000 ? 1 : 3, r -> System.out.println(Results.line(r))));
    }
    results.growth().forEach(System.out::println);
  }

  private void instances() throws IOException, InterruptedException {
    progress("instances");
    results.instances.addAll(Instances.measure(r -> System.out.println(Results.line(r))));
  }

  private void start() throws IOException, InterruptedException {
    progress("start");
    results.starts.addAll(Start.measure(r -> System.out.println(Results.line(r))));
  }
}
