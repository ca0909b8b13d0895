package dev.scanloom.internal.exec;

/** Condensed code as JVM code. One object serves all controllers of a program. */
public abstract class StretchCode {
  /** What {@link #run} returns when the runner has said how to go on. */
  public static final int LEFT = -1;

  /** Per operation at which a stretch begins: the part of the code that holds it. */
  private final int[] part;

  /** {@code part}: by index of the operation; -1 where no stretch begins. */
  protected StretchCode(int[] part) {
    this.part = part;
  }

  final int part(int at) {
    return part[at];
  }

  /**
   * Runs from the beginning of a stretch.
   *
   * @return where to go on, or {@link #LEFT}
   */
  public abstract int run(int part, int at, QuickRunner runner, long[] slots);
}
