package dev.scanloom.internal.lanes;

/** What a generated class offers. Public because hidden classes of the same package implement it; not exported. */
public interface WordProgram {

  /** Executes the program once for all lanes of a group. {@code words}: cells, then marks of blocks, then edges. */
  void run(long[] words, Stretches stretches);
}
