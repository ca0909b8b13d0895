package dev.scanloom.internal.lanes;

/** Runs what lanes do for themselves. Public because generated classes use it; not exported. */
public interface Stretches {

  /** Runs a stretch for the lanes of the mask. */
  void run(int part, long mask);
}
