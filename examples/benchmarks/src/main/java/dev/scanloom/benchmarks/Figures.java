package dev.scanloom.benchmarks;

import java.lang.management.ManagementFactory;
import java.util.EnumMap;
import java.util.Locale;
import java.util.Map;

/** Scans by processor time of the measuring thread: fit for a machine that others use too. Alternates between engines, takes the best of several rounds. */
final class Figures {
  private Figures() {}

  static void main(String[] args) {
    com.sun.management.ThreadMXBean threads = (com.sun.management.ThreadMXBean) ManagementFactory.getThreadMXBean();
    long self = Thread.currentThread().getId();
    Stimulus stimulus = new Stimulus();
    java.util.List<Workload> workloads = args.length > 0 ? java.util.Arrays.stream(args[0].split(",")).map(Workload::valueOf).toList()
        : java.util.List.of(Workload.values());
    java.util.List<Engine> engines = args.length > 1 ? java.util.Arrays.stream(args[1].split(",")).map(Engine::valueOf).toList()
        : java.util.List.of(Engine.values());
    for (Workload w : workloads) {
      Map<Engine, Subject> subjects = new EnumMap<>(Engine.class);
      Map<Engine, Double> best = new EnumMap<>(Engine.class);
      Map<Engine, Long> bytes = new EnumMap<>(Engine.class);
      Map<Engine, Integer> at = new EnumMap<>(Engine.class);
      for (Engine e : engines) {
        subjects.put(e, e.subject(w, stimulus));
        at.put(e, 0);
      }
      for (int round = 0; round < 6; round++) {
        for (Engine e : engines) {
          Subject s = subjects.get(e);
          int n = at.get(e);
          long allocated = threads.getThreadAllocatedBytes(self);
          long start = threads.getCurrentThreadCpuTime();
          long deadline = start + (round < 2 ? 500_000_000L : 200_000_000L);
          int from = n;
          long end;
          do {
            for (int i = 0; i < 64; i++) {
              s.scan(n++);
            }
            end = threads.getCurrentThreadCpuTime();
          } while (end < deadline);
          double cost = (end - start) / (double) (n - from);
          at.put(e, n);
          best.merge(e, cost, Math::min);
          bytes.put(e, (threads.getThreadAllocatedBytes(self) - allocated) / (n - from));
        }
      }
      double java = best.getOrDefault(Engine.JAVA, 1.0);
      for (Engine e : engines) {
        System.out.printf(Locale.ROOT, "%-9s %-15s %10.0f ns/scan %8.2f x Java %8d bytes/scan%n", w, e, best.get(e), best.get(e) / java, bytes.get(e));
      }
    }
  }
}
