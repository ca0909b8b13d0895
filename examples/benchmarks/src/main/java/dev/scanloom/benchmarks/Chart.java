package dev.scanloom.benchmarks;

import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Set;

/** Scans as a bar chart on a logarithmic scale: a block for each workload, a bar for each engine. Readable on light and dark ground. */
final class Chart {
  private static final Set<Engine> OTHERS = EnumSet.of(Engine.JAVA, Engine.RHINO, Engine.LUAJ, Engine.GRAALJS);
  private static final int WIDTH = 760;
  private static final int LEFT = 150;
  private static final int RIGHT = 70;
  private static final int BAR = 14;
  private static final int PITCH = 18;

  private Chart() {}

  static String of(List<Figures.Scan> scans) {
    double least = scans.stream().mapToDouble(Figures.Scan::ns).min().orElse(1);
    double most = scans.stream().mapToDouble(Figures.Scan::ns).max().orElse(10);
    int low = (int) Math.floor(Math.log10(least));
    int high = Math.max(low + 1, (int) Math.ceil(Math.log10(most)));
    StringBuilder body = new StringBuilder();
    int y = 40;
    for (Workload w : Workload.values()) {
      List<Figures.Scan> own = scans.stream().filter(s -> s.workload() == w).toList();
      if (own.isEmpty()) {
        continue;
      }
      text(body, "workload", 10, y + 12, "start", w.name());
      y += 22;
      int top = y;
      for (int p = low; p <= high; p++) {
        double x = x(p, low, high);
        body.append(String.format(Locale.ROOT, "<path class=\"grid\" d=\"M%.1f %d V%d\"/>\n", x, top - 3, top + PITCH * own.size()));
      }
      for (Figures.Scan s : own) {
        boolean ours = !OTHERS.contains(Engine.valueOf(s.engine()));
        double x = x(Math.log10(s.ns()), low, high);
        text(body, "engine", LEFT - 8, y + 11, "end", s.engine());
        body.append(String.format(Locale.ROOT, "<rect class=\"%s\" x=\"%d\" y=\"%d\" width=\"%.1f\" height=\"%d\"/>\n", ours ? "ours" : "other", LEFT, y,
            Math.max(1, x - LEFT), BAR));
        text(body, "value", x + 5, y + 11, "start", Figures.digits(s.ns()));
        y += PITCH;
      }
      y += 14;
    }
    StringBuilder axis = new StringBuilder();
    for (int p = low; p <= high; p++) {
      text(axis, "tick", x(p, low, high), 28, "middle", power(p));
    }
    return String.format(Locale.ROOT, """
        <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="Nanoseconds a scan, logarithmic scale">
        <title>Nanoseconds a scan, logarithmic scale; filled: Scanloom, outlined: others</title>
        <style>
        text { font: 12px sans-serif; fill: #1d2733; }
        .workload { font-weight: bold; }
        .tick, .note { fill: #5b6673; font-size: 11px; }
        .grid { stroke: #5b6673; stroke-opacity: 0.25; fill: none; }
        .ours { fill: #2a6f97; stroke: #2a6f97; }
        .other { fill: #b9a44c; fill-opacity: 0.25; stroke: #8a7420; }
        @media (prefers-color-scheme: dark) {
          text { fill: #e3e8ee; }
          .tick, .note { fill: #a3aebb; }
          .ours { fill: #6fb7dd; stroke: #6fb7dd; }
          .other { fill: #d8c46a; fill-opacity: 0.2; stroke: #d8c46a; }
        }
        </style>
        <text class="note" x="10" y="14">nanoseconds a scan; filled: Scanloom, outlined: others; shorter is quicker</text>
        %s%s</svg>
        """, WIDTH, y, WIDTH, y, axis, body);
  }

  private static String power(int p) {
    return p < 0 ? String.format(Locale.ROOT, "%." + -p + "f", Math.pow(10, p)) : p < 3 ? String.valueOf((int) Math.pow(10, p))
        : p < 6 ? (int) Math.pow(10, p - 3) + " us" : (int) Math.pow(10, p - 6) + " ms";
  }

  private static double x(double power, int low, int high) {
    return LEFT + (power - low) * (WIDTH - LEFT - RIGHT) / (high - low);
  }

  private static void text(StringBuilder b, String type, double x, double y, String anchor, String text) {
    b.append(String.format(Locale.ROOT, "<text class=\"%s\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">%s</text>\n", type, x, y, anchor, text));
  }
}
