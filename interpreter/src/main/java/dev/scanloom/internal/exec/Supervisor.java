package dev.scanloom.internal.exec;

/**
 * What stands above the executor: the scan engine. It is asked only where it said it wants to be: at a virtual time, before reads or after
 * writes of located variables.
 */
public interface Supervisor {

  /** Virtual time now, in nanoseconds. The executor advances it by the cost of each step. */
  long now();

  /** Sets the virtual time; called by the executor before it asks or reports anything, and when it stops. */
  void setNow(long time);

  /** Virtual time at which {@link #reached} wants to be called, between two steps; Long.MAX_VALUE for never. */
  long deadline();

  /**
   * The virtual time has reached the deadline; the next step has not begun.
   *
   * @return true: the task stops here (PAUSED) and will be run again later
   */
  boolean reached();

  /** {@link #beforeRead} wants to be called. */
  boolean watchesReads();

  /** {@link #afterWrite} wants to be called. */
  boolean watchesWrites();

  /** An instruction is about to read a location. */
  void beforeRead(long address, int width);

  /** An instruction has written a location. */
  void afterWrite(long address, int width);

  /**
   * A lock or permit is given back: number (as of {@link TaskState#index()}) of the task that waited for it and gets it, which may now go
   * on; -1: none.
   */
  int heir(long address);

  /** A more urgent task may go on now and the running one is to make way for it. */
  boolean yields();

  /** The host asks the run to stop; looked at every few thousand steps. */
  boolean isInterrupted();
}
