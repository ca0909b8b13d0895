package dev.scanloom.benchmarks;

import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.lang.management.ManagementFactory;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.EnumMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Properties;
import java.util.TreeSet;
import java.util.stream.Collectors;

/** Clocks, the machine, and scans by processor time of the measuring thread: fit for a machine that others use too. */
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

  /** Average number of processes that wanted a processor during the last minute. */
  static double load() {
    return ManagementFactory.getOperatingSystemMXBean().getSystemLoadAverage();
  }

  /** What the figures depend on: processor, system, JVM, versions of all that is compared. */
  static Map<String, String> machine() {
    Map<String, String> m = new LinkedHashMap<>();
    m.put("processor", processor() + ", " + Runtime.getRuntime().availableProcessors() + " available");
    m.put("memory", ((com.sun.management.OperatingSystemMXBean) ManagementFactory.getOperatingSystemMXBean()).getTotalMemorySize() / (1 << 20) + " MiB");
    m.put("system", System.getProperty("os.name") + " " + System.getProperty("os.version") + " " + System.getProperty("os.arch"));
    m.put("jvm", System.getProperty("java.vm.name") + " " + System.getProperty("java.vm.version") + " (" + System.getProperty("java.vendor") + ")");
    m.put("collector", ManagementFactory.getGarbageCollectorMXBeans().stream().map(b -> b.getName()).collect(Collectors.joining(", ")));
    Properties versions = new Properties();
    try (InputStream in = Figures.class.getResourceAsStream("versions.properties")) {
      versions.load(in);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
    m.put("versions", new TreeSet<>(versions.stringPropertyNames()).stream().map(n -> n + " " + versions.getProperty(n)).collect(Collectors.joining(", ")));
    return m;
  }

  private static String processor() {
    Path info = Path.of("/proc/cpuinfo");
    try {
      return Files.exists(info) ? Files.readAllLines(info).stream().filter(l -> l.startsWith("model name")).map(l -> l.replaceFirst("[^:]*: *", ""))
          .findFirst().orElse(System.getProperty("os.arch")) : System.getProperty("os.arch");
    } catch (IOException e) {
      return System.getProperty("os.arch");
    }
  }

  /**
   * What one scan of one controller costs.
   *
   * @param ns the best of several rounds
   * @param bytes that it allocates
   */
  record Scan(Workload workload, String engine, double ns, double bytes, String remark) {}

  private static final class Row {
    private final Subject subject;
    private int next;
    private double best = Double.MAX_VALUE;
    private double bytes;

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
      double scans = (double) (next - from) * subject.controllers();
      best = Math.min(best, (end - start) / scans);
      bytes = (allocated() - before) / scans;
    }
  }

  /** Engines take turns in this process; the best round of each counts. */
  static List<Scan> scans(Workload w, List<Engine> engines) {
    Stimulus stimulus = new Stimulus();
    Map<Engine, Row> rows = new EnumMap<>(Engine.class);
    engines.forEach(e -> rows.put(e, new Row(e.subject(w, stimulus))));
    for (int round = 0; round < ROUNDS; round++) {
      long time = round < 2 ? 500_000_000L : 200_000_000L;
      rows.values().forEach(r -> r.round(time));
    }
    List<Scan> all = new ArrayList<>();
    rows.forEach((e, r) -> all.add(new Scan(w, e.name(), r.best, r.bytes, r.subject.remark())));
    return all;
  }

  /** Three significant digits, whole numbers from 100 on. */
  static String digits(double v) {
    return String.format(Locale.ROOT, v < 1 ? "%.3f" : v < 10 ? "%.2f" : v < 100 ? "%.1f" : "%.0f", v);
  }
}
