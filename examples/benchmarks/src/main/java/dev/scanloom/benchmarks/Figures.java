package dev.scanloom.benchmarks;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.ScanPolicy;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.EnumMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;

/** Figures by processor time of the measuring thread: fit for a machine that others use too. Engines take turns; the best of several rounds counts. */
final class Figures {
  private static final com.sun.management.ThreadMXBean THREADS = (com.sun.management.ThreadMXBean) ManagementFactory.getThreadMXBean();
  private static final int ROUNDS = 6;

  private Figures() {}

  static long cpu() {
    return THREADS.getCurrentThreadCpuTime();
  }

  static long allocated() {
    return THREADS.getThreadAllocatedBytes(Thread.currentThread().getId());
  }

  private static String machine() throws IOException {
    Path info = Path.of("/proc/cpuinfo");
    Optional<String> model = Files.exists(info)
        ? Files.readAllLines(info).stream().filter(l -> l.startsWith("model name")).map(l -> l.replaceFirst("[^:]*: *", "")).findFirst() : Optional.empty();
    return model.orElse(System.getProperty("os.arch")) + ", " + Runtime.getRuntime().availableProcessors() + " processors, load "
        + String.format(Locale.ROOT, "%.1f", ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage()) + ", "
        + System.getProperty("java.vm.name") + " " + System.getProperty("java.vm.version");
  }

  private static final class Row {
    private final Subject subject;
    private int next;
    private double best = Double.MAX_VALUE;
    private long bytes;

    Row(Subject subject) {
      this.subject = subject;
    }

    void round(long nanoseconds) {
      int from = next;
      long before = allocated();
      long start = cpu();
      long end;
      do {
        for (int i = 0; i < 64; i++) {
          subject.scan(next++);
        }
        end = cpu();
      } while (end < start + nanoseconds);
      best = Math.min(best, (end - start) / (double) (next - from));
      bytes = (allocated() - before) / (next - from);
    }
  }

  /** Prints a table and writes {@code benchmarks.json} in the working directory. */
  static void scans(String[] args) throws IOException {
    List<Workload> workloads =
        args.length > 0 ? Arrays.stream(args[0].split(",")).map(w -> Workload.valueOf(w.toUpperCase(Locale.ROOT))).toList() : List.of(Workload.values());
    List<Engine> engines =
        args.length > 1 ? Arrays.stream(args[1].split(",")).map(e -> Engine.valueOf(e.toUpperCase(Locale.ROOT))).toList() : List.of(Engine.values());
    Stimulus stimulus = new Stimulus();
    try (JsonGenerator json = new JsonFactory().createGenerator(Path.of("benchmarks.json").toFile(), com.fasterxml.jackson.core.JsonEncoding.UTF8)) {
      json.writeStartObject();
      json.writeStringField("machine", machine());
      json.writeArrayFieldStart("scans");
      System.out.println(machine());
      System.out.println("| workload | engine | ns a scan | times Java | bytes a scan |\n| --- | --- | ---: | ---: | ---: |");
      for (Workload w : workloads) {
        Map<Engine, Row> rows = new EnumMap<>(Engine.class);
        engines.forEach(e -> rows.put(e, new Row(e.subject(w, stimulus))));
        for (int round = 0; round < ROUNDS; round++) {
          long time = round < 2 ? 500_000_000L : 200_000_000L;
          rows.values().forEach(r -> r.round(time));
        }
        double java = rows.containsKey(Engine.JAVA) ? rows.get(Engine.JAVA).best : Double.NaN;
        for (Map.Entry<Engine, Row> e : rows.entrySet()) {
          Row r = e.getValue();
          System.out.printf(Locale.ROOT, "| %s | %s | %.0f | %.2f | %d |%n", w, e.getKey(), r.best, r.best / java, r.bytes);
          json.writeStartObject();
          json.writeStringField("workload", w.name());
          json.writeStringField("engine", e.getKey().name());
          json.writeNumberField("ns", r.best);
          json.writeNumberField("bytes", r.bytes);
          json.writeEndObject();
        }
      }
      json.writeEndArray();
      json.writeEndObject();
    }
  }

  /** Arguments: numbers of networks. */
  static void load(String[] args) throws IOException, InterruptedException {
    int[] counts = args.length == 0 ? new int[] {10_000} : Arrays.stream(args).mapToInt(Integer::parseInt).toArray();
    System.out.println(machine());
    System.out.println("| networks | contacts | loader | characters | first wall, ms | first cpu | warm wall | warm cpu | MB allocated |\n"
        + "| ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: |");
    Load.measure(counts, List.of(Load.Loader.values()), 3, r -> System.out.printf(Locale.ROOT, "| %d | %d | %s | %d | %.0f | %.0f | %.0f | %.0f | %.1f |%n",
        r.networks(), r.contacts(), r.loader(), r.characters(), r.first(), r.firstCpu(), r.warm(), r.warmCpu(), r.allocated() / 1e6));
  }

  /** 1, 100 and 10,000 controllers of one program of 1,000 variables. */
  static void instances() throws IOException {
    StringBuilder b = new StringBuilder("PROGRAM Many\nVAR\n");
    for (int i = 0; i < 1_000; i++) {
      b.append("  v").append(i).append(" : DINT;\n");
    }
    b.append("END_VAR\n");
    for (int i = 1; i < 1_000; i++) {
      b.append("  v").append(i).append(" := v").append(i - 1).append(" + 1;\n");
    }
    CompiledProgram program = Compiler.standard().compile("many.st", b.append("END_PROGRAM\n").toString()).orThrow();
    System.out.println(machine());
    System.out.println("| instances | display | bytes each | us each |\n| ---: | --- | ---: | ---: |");
    for (int n : new int[] {1, 100, 10_000, 10_000}) {
      Controller[] all = new Controller[n];
      long bytes = allocated();
      long start = cpu();
      for (int i = 0; i < n; i++) {
        all[i] = program.newController(ScanPolicy.image());
      }
      long end = cpu();
      System.out.printf(Locale.ROOT, "| %d | one | %d | %.1f |%n", all.length, (allocated() - bytes) / n, (end - start) / 1e3 / n);
    }
  }
}
