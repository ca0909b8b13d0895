package dev.scanloom.benchmarks;

/** Runs benchmarks. */
public final class Main {
  private Main() {}

  public static void main(String[] args) throws Exception {
    Figures.main(args);
  }
}
