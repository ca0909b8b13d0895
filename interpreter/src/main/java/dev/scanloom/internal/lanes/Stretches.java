package dev.scanloom.internal.lanes;

/** Runs what lanes do for themselves. Public because generated classes use it; not exported. */
public interface Stretches {

  /** Runs a stretch for the lanes of the mask. */
  void run(int part, long mask);

  /** Lanes that have not failed. */
  long running();

  /** Memories of the lanes. */
  long[][] slots();

  /** Virtual times of activation. */
  long[] times();

  /** Steps of stretches, to be added to. */
  long[] counts();
}
