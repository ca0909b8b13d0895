package dev.scanloom.benchmarks;

import dev.scanloom.Compiler;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.function.Consumer;
import org.luaj.vm2.Globals;
import org.luaj.vm2.lib.jse.JsePlatform;
import org.luaj.vm2.luajc.LuaJC;

/** Text of Boolean networks to what can run: first in a JVM that has done nothing else, then again and again in the same one. */
final class Load {
  /** Who loads what. */
  enum Loader {
    /** Statements to a compiled program of Scanloom. */
    ST(false),
    /** The same networks drawn as ladder. */
    LADDER(false),
    /** Statements to the end of the first scan of a controller whose bodies are JVM code. */
    ST_COMPILED(false),
    /** LuaJ with its compiler to JVM code. */
    LUAJ_JVM(true),
    /** LuaJ without it: to the code of its own interpreter. */
    LUAJ(true);

    final boolean lua;

    Loader(boolean lua) {
      this.lua = lua;
    }

    private String text(Rungs r) {
      return lua ? r.lua() : this == LADDER ? r.ladder() : r.st();
    }

    /** One load of a text; what it makes is dropped. */
    private Consumer<String> action() {
      if (lua) {
        return text -> {
          Globals globals = JsePlatform.standardGlobals();
          if (this == LUAJ_JVM) {
            LuaJC.install(globals);
          }
          globals.load(text, "rungs").call();
        };
      }
      Limits limits = Limits.standard().withSourceLength(1 << 28).withInstanceBytes(1L << 30);
      if (this == ST_COMPILED) {
        return text -> Compiler.standard().withLimits(limits).compile("rungs.st", text).orThrow()
            .newController(ScanPolicy.image().withExecution(Execution.COMPILED)).scan();
      }
      return text -> Compiler.standard().withLimits(limits).compile("rungs.st", text).orThrow();
    }
  }

  /**
   * Times of one process.
   *
   * @param first wall time of the first load, ms, without the start of the JVM
   * @param firstCpu processor time of the loading thread in it
   * @param warm wall time of the quickest of the later loads
   * @param warmCpu the least processor time among them
   * @param allocated bytes that a later load allocates
   */
  record Row(Loader loader, int networks, int contacts, int characters, double first, double firstCpu, double warm, double warmCpu, long allocated) {}

  private static final int WARM_LOADS = 24;

  /** After this processor time one load behind the first is enough, ns. */
  private static final long WARM_TIME = 4_000_000_000L;

  /** A first load that takes longer is not measured in further processes, ms. */
  private static final double LONG = 4_000;

  private Load() {}

  /** Measures every loader in a process of its own, for each number of networks; the best of {@code processes} each, if that does not take too long. */
  static List<Row> measure(int[] networks, List<Loader> loaders, int processes, Consumer<Row> progress) throws IOException, InterruptedException {
    List<Row> rows = new ArrayList<>();
    Path text = Files.createTempFile("rungs", ".txt");
    try {
      for (int n : networks) {
        Rungs r = new Rungs(n, Stimulus.INPUTS);
        for (Loader l : loaders) {
          String t = l.text(r);
          Files.writeString(text, t);
          double[] best = new double[5];
          Arrays.fill(best, Double.MAX_VALUE);
          for (int p = 0; p < processes && (p == 0 || best[0] < LONG); p++) {
            String[] words = Child.java(List.of(), "load-one", l.name(), text.toString()).split(" ");
            for (int i = 0; i < best.length; i++) {
              best[i] = Math.min(best[i], Double.parseDouble(words[i]));
            }
          }
          Row row = new Row(l, n, r.contacts(), t.length(), best[0], best[1], best[2], best[3], (long) best[4]);
          progress.accept(row);
          rows.add(row);
        }
      }
    } finally {
      Files.delete(text);
    }
    return rows;
  }

  /** In the child: loads and prints the times, nothing else. */
  static void one(String[] args) throws IOException {
    Consumer<String> action = Loader.valueOf(args[0]).action();
    String text = Files.readString(Path.of(args[1]));
    double[] best = {0, 0, Double.MAX_VALUE, Double.MAX_VALUE, Double.MAX_VALUE};
    long begin = Figures.cpu();
    for (int i = 0; i <= WARM_LOADS && (i < 2 || Figures.cpu() - begin < WARM_TIME); i++) {
      long bytes = Figures.allocated();
      long cpu = Figures.cpu();
      long wall = System.nanoTime();
      action.accept(text);
      double wallMs = (System.nanoTime() - wall) / 1e6;
      double cpuMs = (Figures.cpu() - cpu) / 1e6;
      if (i == 0) {
        best[0] = wallMs;
        best[1] = cpuMs;
      } else {
        best[2] = Math.min(best[2], wallMs);
        best[3] = Math.min(best[3], cpuMs);
        best[4] = Math.min(best[4], Figures.allocated() - bytes);
      }
    }
    System.out.println(String.format(Locale.ROOT, "%.1f %.1f %.1f %.1f %.0f", best[0], best[1], best[2], best[3], best[4]));
  }

  /** Slope of the logarithm of the time over the logarithm of the number of networks: 1 is linear. */
  static double exponent(List<Row> rows, Loader loader) {
    double n = 0;
    double sx = 0;
    double sy = 0;
    double sxx = 0;
    double sxy = 0;
    for (Row r : rows) {
      if (r.loader == loader) {
        double x = Math.log(r.networks);
        double y = Math.log(r.warmCpu);
        n++;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
      }
    }
    return (n * sxy - sx * sy) / (n * sxx - sx * sx);
  }
}
