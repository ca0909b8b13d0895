package dev.scanloom;

/**
 * The whole machine at one moment as a value: memory, field, displays, call state of tasks, clocks, pending writes, forces, fault. Restored into a
 * controller of the same program and policy it gives the identical future. Opaque, immutable, safe for use by several threads. Observers are no part of it.
 */
public final class Snapshot {
  Snapshot() {}

  /** Virtual time in nanoseconds at which it was taken. */
  public long time() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Scans completed when it was taken. */
  public long scans() {
    throw new UnsupportedOperationException("not written yet");
  }
}
