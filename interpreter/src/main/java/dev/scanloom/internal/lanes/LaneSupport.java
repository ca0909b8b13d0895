package dev.scanloom.internal.lanes;

import dev.scanloom.internal.exec.Operations;
import dev.scanloom.internal.value.Arith;

/** Small operations that generated code calls in the argument order in which their operands lie on the stack. Public for generated classes; not exported. */
public final class LaneSupport {
  private LaneSupport() {}

  /** The bit of a lane. */
  public static long bit(long[] words, int word, int lane) {
    return words[word] >>> lane & 1;
  }

  public static void setBit(long value, long[] words, int word, int lane) {
    words[word] = words[word] & ~(1L << lane) | (value & 1) << lane;
  }

  public static void store(long value, long[] slots, int slot) {
    slots[slot] = value;
  }

  public static long equal(long x, long y) {
    return x == y ? 1 : 0;
  }

  public static long unequal(long x, long y) {
    return x != y ? 1 : 0;
  }

  public static long less(long x, long y) {
    return x < y ? 1 : 0;
  }

  public static long lessOrEqual(long x, long y) {
    return x <= y ? 1 : 0;
  }

  public static long greater(long x, long y) {
    return x > y ? 1 : 0;
  }

  public static long greaterOrEqual(long x, long y) {
    return x >= y ? 1 : 0;
  }

  public static long select(long g, long x, long y) {
    return g != 0 ? y : x;
  }

  public static long addReal(long x, long y) {
    return Arith.real(Arith.real(x) + Arith.real(y));
  }

  public static long addLreal(long x, long y) {
    return Arith.lreal(Arith.lreal(x) + Arith.lreal(y));
  }

  public static long subtractReal(long x, long y) {
    return Arith.real(Arith.real(x) - Arith.real(y));
  }

  public static long subtractLreal(long x, long y) {
    return Arith.lreal(Arith.lreal(x) - Arith.lreal(y));
  }

  public static long multiplyReal(long x, long y) {
    return Arith.real(Arith.real(x) * Arith.real(y));
  }

  public static long multiplyLreal(long x, long y) {
    return Arith.lreal(Arith.lreal(x) * Arith.lreal(y));
  }

  public static long negateReal(long x) {
    return Arith.real(-Arith.real(x));
  }

  public static long compareReal(long x, long y, int comparison) {
    return Operations.compare(Arith.real(x), Arith.real(y), comparison);
  }

  public static long negateLreal(long x) {
    return Arith.lreal(-Arith.lreal(x));
  }

  public static long compareLreal(long x, long y, int comparison) {
    return Operations.compare(Arith.lreal(x), Arith.lreal(y), comparison);
  }

  public static long max(long x, long y, int order) {
    return Operations.less(x, y, order) ? y : x;
  }

  public static long min(long x, long y, int order) {
    return Operations.less(y, x, order) ? y : x;
  }

  public static long not(long x, int kind) {
    return Arith.wrap(~x, kind);
  }
}
