package dev.scanloom.internal.bytecode;

/** What a generated class offers. Public because hidden classes of the same package implement it; not exported. */
public interface Entry {

  /** Runs a body to its end; the steps used. Faults are {@link CompiledFault}. */
  long run(int body, long[] memory, int self, int frame, Run run);
}
