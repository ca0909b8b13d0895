package dev.scanloom;

import dev.scanloom.internal.scan.Engine;

/**
 * The whole machine at one moment as a value: memory, field, displays, call state of tasks, clocks, pending writes, forces, fault. Restored into a
 * controller of the same program and policy it gives the identical future. Opaque, immutable, safe for use by several threads. Observers are no part of it.
 */
public final class Snapshot {
  private final Engine.Snapshot state;

  Snapshot(Engine.Snapshot state) {
    this.state = state;
  }

  Engine.Snapshot state() {
    return state;
  }

  /** Virtual time in nanoseconds at which it was taken. */
  public long time() {
    return state.now();
  }

  /** Scans completed when it was taken. */
  public long scans() {
    return state.scans();
  }
}
