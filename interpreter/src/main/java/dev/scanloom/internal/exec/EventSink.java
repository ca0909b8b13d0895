package dev.scanloom.internal.exec;

import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.EventKind;
import java.util.Set;

/** Where events go. Implemented by the scan engine, which fills in scan, time and task. */
public interface EventSink {

  /** The kinds that somebody wants; asked by {@link SteppingExecutor#look()}. */
  Set<EventKind> wanted();

  /**
   * STEP: {@code stack[sp - 1]} is the top of the operand stack before the step. {@code ordinal} counts the task's steps in this scan from
   * 1.
   */
  void step(int step, long ordinal, long[] stack, int sp);

  void read(int step, long ordinal, long address, int width, long value);

  void write(int step, long ordinal, long address, int width, long before, long after, Source source);

  void element(int step, long ordinal, int element, boolean test, boolean power);

  /**
   * Per ladder element whether its own test was TRUE when it was last evaluated, with one entry behind the last element; filled in by the
   * executor.
   */
  boolean[] tests();

  /** The same for its right link. */
  boolean[] powers();

  /** A failed ASSERT that is only reported. */
  void report(int step, long ordinal, String message);
}
