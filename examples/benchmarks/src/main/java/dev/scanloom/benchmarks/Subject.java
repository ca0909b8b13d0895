package dev.scanloom.benchmarks;

/** One engine with one workload. */
interface Subject {
  /** One scan with the inputs of row {@code n mod 256}. Scan n happens at 10 n ms of virtual time. */
  void scan(int n);

  /** A number over all outputs, equal for all engines after equal scans. */
  long checksum();

  /** Controllers that make a scan each in one call of {@link #scan}. */
  default int controllers() {
    return 1;
  }

  /** What a reader of the figures should know; empty without it. */
  default String remark() {
    return "";
  }

  static long mix(long hash, long value) {
    return hash * 31 + value;
  }

  static long mix(long hash, boolean value) {
    return hash * 31 + (value ? 1 : 0);
  }

  static long mix(long hash, double value) {
    return hash * 31 + Double.doubleToLongBits(value);
  }
}
