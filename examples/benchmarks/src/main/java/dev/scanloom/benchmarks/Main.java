package dev.scanloom.benchmarks;

import java.util.Arrays;

/**
 * Runs benchmarks. {@code scans [WORKLOADS [ENGINES]]}: by processor time, all engines in turn in one process; {@code load}: time from text to program;
 * {@code instances}: bytes and time of a controller; {@code jmh ARGUMENTS}: the scans under JMH, each in a process of its own.
 */
public final class Main {
  private Main() {}

  public static void main(String[] args) throws Exception {
    String what = args.length == 0 ? "scans" : args[0];
    String[] rest = args.length == 0 ? args : Arrays.copyOfRange(args, 1, args.length);
    switch (what) {
      case "scans" -> Figures.scans(rest);
      case "load" -> Figures.load(rest);
      case "load-one" -> Load.one(rest);
      case "instances" -> Figures.instances();
      case "jmh" -> org.openjdk.jmh.Main.main(rest);
      default -> {
        System.err.println("unknown: " + what + "; expected scans, load, instances or jmh");
        System.exit(2);
      }
    }
  }
}
