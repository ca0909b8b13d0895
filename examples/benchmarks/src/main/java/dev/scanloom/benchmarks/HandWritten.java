package dev.scanloom.benchmarks;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Comparator;
import java.util.List;
import java.util.stream.Stream;
import javax.tools.ToolProvider;

/** The limit: the same logic as a Java programmer would write it for this one purpose. */
final class HandWritten {
  private HandWritten() {}

  static Subject of(Workload w, Stimulus s) {
    return switch (w) {
      case LADDER, RUNGS -> new Networks(s, compile(Workload.NETWORKS));
      case PID -> new Loops(s);
      case TIMERS -> new Timers(s);
      case INTEGERS -> new Integers(s);
    };
  }

  /** A thousand networks are written by a program, but as one would write them. */
  public abstract static class Rungs {
    public abstract void run(boolean[] x, boolean[] c);
  }

  private static final class Loader extends ClassLoader {
    Loader() {
      super(HandWritten.class.getClassLoader());
    }

    Class<?> define(byte[] bytes) {
      return defineClass(null, bytes, 0, bytes.length);
    }
  }

  static Rungs compile(dev.scanloom.benchmarks.Rungs networks) {
    try {
      Path dir = Files.createTempDirectory("networks");
      try {
        // Another package: a class of another loader is not in ours.
        String text = networks.java("Generated").replace("package dev.scanloom.benchmarks;", "package networks;")
            .replace("extends HandWritten.Rungs", "implements java.util.function.BiConsumer<boolean[], boolean[]>")
            .replace("public void run(", "public void accept(");
        Path source = dir.resolve("Generated.java");
        Files.writeString(source, text);
        if (ToolProvider.getSystemJavaCompiler().run(null, null, null, "-d", dir.toString(), source.toString()) != 0) {
          throw new IllegalStateException("the networks in Java do not compile");
        }
        Class<?> c = new Loader().define(Files.readAllBytes(dir.resolve("networks/Generated.class")));
        @SuppressWarnings("unchecked")
        java.util.function.BiConsumer<boolean[], boolean[]> f =
            (java.util.function.BiConsumer<boolean[], boolean[]>) c.getDeclaredConstructor().newInstance();
        return new Rungs() {
          @Override
          public void run(boolean[] x, boolean[] coils) {
            f.accept(x, coils);
          }
        };
      } finally {
        try (Stream<Path> all = Files.walk(dir)) {
          List<Path> deepestFirst = all.sorted(Comparator.reverseOrder()).toList();
          for (Path p : deepestFirst) {
            Files.delete(p);
          }
        }
      }
    } catch (IOException | ReflectiveOperationException e) {
      throw new IllegalStateException(e);
    }
  }

  private static final class Networks implements Subject {
    private final Stimulus stimulus;
    private final Rungs rungs;
    private final boolean[] coils = new boolean[1_000];

    Networks(Stimulus stimulus, Rungs rungs) {
      this.stimulus = stimulus;
      this.rungs = rungs;
    }

    @Override
    public void scan(int n) {
      rungs.run(stimulus.bits[n & 255], coils);
    }

    @Override
    public long checksum() {
      long h = 0;
      for (boolean c : coils) {
        h = Subject.mix(h, c);
      }
      return h;
    }
  }

  /** A PID controller with a limited integral. */
  private static final class Pid {
    final double kp;
    final double ki;
    final double kd;
    double integral;
    double last;
    double y;

    Pid(double kp, double ki, double kd) {
      this.kp = kp;
      this.ki = ki;
      this.kd = kd;
    }

    void step(double sp, double pv) {
      double e = sp - pv;
      double sum = integral + e * ki;
      if (sum > 100.0) {
        sum = 100.0;
      } else if (sum < 0.0) {
        sum = 0.0;
      }
      integral = sum;
      double out = kp * e + sum + kd * (e - last);
      last = e;
      if (out > 100.0) {
        out = 100.0;
      } else if (out < 0.0) {
        out = 0.0;
      }
      y = out;
    }
  }

  private static final class Loops implements Subject {
    private final Stimulus stimulus;
    private final Pid[] loops = new Pid[64];
    private final double[] pv = new double[64];

    Loops(Stimulus stimulus) {
      this.stimulus = stimulus;
      for (int i = 0; i < 64; i++) {
        loops[i] = new Pid(2.0, 0.05, 0.5);
      }
    }

    @Override
    public void scan(int n) {
      double base = stimulus.word(n & 255) % 64;
      for (int i = 0; i < 64; i++) {
        Pid p = loops[i];
        p.step(base + i * 0.5, pv[i]);
        pv[i] = pv[i] + (p.y * 0.9 - pv[i]) * 0.02;
      }
    }

    @Override
    public long checksum() {
      long h = 0;
      for (Pid p : loops) {
        h = Subject.mix(h, p.y);
      }
      for (double v : pv) {
        h = Subject.mix(h, v);
      }
      return h;
    }
  }

  private static final class Delay {
    boolean in;
    boolean q;
    long et;
    private boolean timing;
    private long start;

    void step(boolean i, long pt, long now) {
      in = i;
      if (!i) {
        timing = false;
        q = false;
        et = 0;
        return;
      }
      long limit = Math.max(pt, 0);
      if (!timing) {
        timing = true;
        start = now;
      }
      long elapsed = now - start;
      if (!q) {
        q = elapsed >= limit;
      }
      et = q ? limit : elapsed;
    }
  }

  private static final class Counter {
    boolean q;
    short cv;
    private boolean before;

    void step(boolean cu, boolean r, short pv) {
      boolean edge = cu && !before;
      before = cu;
      if (r) {
        cv = 0;
      } else if (edge && cv < Short.MAX_VALUE) {
        cv++;
      }
      q = cv >= pv;
    }
  }

  private static final class Edge {
    boolean q;
    private boolean m;

    void step(boolean clk) {
      q = clk & !m;
      m = clk;
    }
  }

  private static final class Timers implements Subject {
    private final Stimulus stimulus;
    private final Delay[] delay = new Delay[200];
    private final Counter[] count = new Counter[200];
    private final Edge[] edge = new Edge[200];

    Timers(Stimulus stimulus) {
      this.stimulus = stimulus;
      for (int i = 0; i < 200; i++) {
        delay[i] = new Delay();
        count[i] = new Counter();
        edge[i] = new Edge();
      }
    }

    @Override
    public void scan(int n) {
      boolean[] x = stimulus.bits[n & 255];
      long now = n * 10_000_000L;
      for (int i = 0; i < 200; i++) {
        delay[i].step(x[i], 50_000_000, now);
        edge[i].step(delay[i].q);
        count[i].step(edge[i].q, count[i].q, (short) 7);
      }
    }

    @Override
    public long checksum() {
      long h = 0;
      for (Delay d : delay) {
        h = Subject.mix(h, d.et);
      }
      for (Counter c : count) {
        h = Subject.mix(h, c.cv);
      }
      return h;
    }
  }

  private static final class Integers implements Subject {
    private final Stimulus stimulus;
    private final int[] table = new int[256];
    private final byte[] buffer = new byte[256];
    private final short[] sample = new short[64];
    private final short[] mean = new short[64];
    private final short[] sorted = new short[16];
    private int at;
    private int crc;
    private short median;

    Integers(Stimulus stimulus) {
      this.stimulus = stimulus;
      for (int i = 0; i < 256; i++) {
        int c = i;
        for (int k = 0; k < 8; k++) {
          c = (c & 1) != 0 ? c >>> 1 ^ 0xA001 : c >>> 1;
        }
        table[i] = c;
      }
    }

    @Override
    public void scan(int n) {
      int w = stimulus.word(n & 255);
      buffer[at] = (byte) w;
      buffer[at + 1] = (byte) (w >>> 8);
      at = (at + 2) % 256;
      int c = 0xFFFF;
      for (int i = 0; i < 256; i++) {
        c = c >>> 8 ^ table[(c ^ buffer[i]) & 0xFF];
      }
      crc = c;
      for (int i = 0; i < 64; i++) {
        sample[i] = (short) ((sample[i] * 5 + w + i * 37) % 1000);
        mean[i] = (short) (mean[i] + (sample[i] - mean[i]) / 4);
      }
      for (int i = 0; i < 16; i++) {
        short v = mean[i * 4];
        int j = i;
        while (j > 0 && sorted[j - 1] > v) {
          sorted[j] = sorted[j - 1];
          j--;
        }
        sorted[j] = v;
      }
      median = sorted[8];
    }

    @Override
    public long checksum() {
      long h = Subject.mix(Subject.mix(0, crc), median);
      for (short m : mean) {
        h = Subject.mix(h, m);
      }
      return h;
    }
  }
}
