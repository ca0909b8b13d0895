package dev.scanloom.benchmarks;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import java.io.IOException;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;

/** What a controller takes: heap after garbage collection, and time. */
final class Instances {
  /**
   * Many controllers of one program, in a process of their own.
   *
   * @param variables DINT variables of the program
   * @param controllers how many were made
   * @param program bytes of the compiled program, once for all controllers
   * @param bytes heap that one controller retains once it has done a scan
   * @param microseconds processor time to make one, best of several rounds
   */
  record Row(int variables, Execution execution, int controllers, long program, long bytes, double microseconds) {
    /** Without the variables: eight bytes each in memory and in what the default display has sampled. */
    long overhead() {
      return bytes - 16L * variables;
    }
  }

  private Instances() {}

  static List<Row> measure(java.util.function.Consumer<Row> progress) throws IOException, InterruptedException {
    List<Row> rows = new ArrayList<>();
    for (int variables : new int[] {1, 1_000}) {
      for (Execution x : new Execution[] {Execution.STEPPING, Execution.COMPILED}) {
        for (int n : variables == 1 ? new int[] {10_000} : new int[] {100, 10_000}) {
          String[] w = Child.java(List.of("-Xmx1g"), "instances-one", String.valueOf(variables), x.name(), String.valueOf(n)).split(" ");
          Row r = new Row(variables, x, n, Long.parseLong(w[0]), Long.parseLong(w[1]), Double.parseDouble(w[2]));
          progress.accept(r);
          rows.add(r);
        }
      }
    }
    return rows;
  }

  private static long used() {
    long least = Long.MAX_VALUE;
    for (int i = 0; i < 4; i++) {
      System.gc();
      least = Math.min(least, Runtime.getRuntime().totalMemory() - Runtime.getRuntime().freeMemory());
    }
    return least;
  }

  private static String text(int variables) {
    StringBuilder b = new StringBuilder("PROGRAM Many\nVAR\n");
    for (int i = 0; i < variables; i++) {
      b.append("  v").append(i).append(" : DINT;\n");
    }
    b.append("END_VAR\nv0 := v0 + 1;\n");
    for (int i = 1; i < variables; i++) {
      b.append("  v").append(i).append(" := v").append(i - 1).append(" + 1;\n");
    }
    return b.append("END_PROGRAM\n").toString();
  }

  /** In the child. */
  static void one(String[] args) {
    int variables = Integer.parseInt(args[0]);
    ScanPolicy policy = ScanPolicy.image().withExecution(Execution.valueOf(args[1]));
    Controller[] all = new Controller[Integer.parseInt(args[2])];
    String text = text(variables);
    // Classes and the JIT compiler's work do not count.
    double best = Double.MAX_VALUE;
    CompiledProgram other = Compiler.standard().compile("many.st", text).orThrow();
    for (int round = 0; round < 40; round++) {
      long start = Figures.cpu();
      for (int i = 0; i < Math.min(all.length, 1_000); i++) {
        all[i] = other.newController(policy);
      }
      best = Math.min(best, (Figures.cpu() - start) / 1e3 / Math.min(all.length, 1_000));
      all[0].scan();
    }
    java.util.Arrays.fill(all, null);
    long before = used();
    CompiledProgram program = Compiler.standard().compile("many.st", text).orThrow();
    Controller first = program.newController(policy);
    first.scan();
    long between = used();
    for (int i = 0; i < all.length; i++) {
      all[i] = program.newController(policy);
      all[i].scan();
    }
    long each = (used() - between) / all.length;
    System.out.println((between - before - each) + " " + each + " " + String.format(Locale.ROOT, "%.2f", best));
    if (first.scans() != 1 || all[all.length - 1].scans() != 1) {
      throw new AssertionError("each controller has done one scan"); // and all of them lived until here
    }
  }
}
