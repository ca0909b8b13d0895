package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.model.ElementaryType;
import java.util.Arrays;

/** How a slot value is held by the JVM while it is computed with: as its bits in a long, or as what its type means. */
enum Rep {
  /** A number that fits in an int. */
  INT(1),
  /** The slot as it lies in memory. BOOL too: its operand is then read straight from memory. */
  LONG(2),
  FLOAT(1),
  DOUBLE(2);

  private static final int[] WIDTHS = Arrays.stream(ElementaryType.values()).mapToInt(ElementaryType::bits).toArray();
  static final int BOOL = ElementaryType.BOOL.ordinal();
  static final int LREAL = ElementaryType.LREAL.ordinal();
  static final int REAL = ElementaryType.REAL.ordinal();

  /** Local variables of the JVM that a value takes. */
  final int size;

  Rep(int size) {
    this.size = size;
  }

  static int width(int kind) {
    return WIDTHS[kind];
  }

  static Rep of(int kind) {
    ElementaryType t = Arith.kind(kind);
    return switch (t.family()) {
      case REAL -> t.bits() == 32 ? FLOAT : DOUBLE;
      case BIT -> t.bits() == 8 || t.bits() == 16 ? INT : LONG;
      case SIGNED -> t.bits() <= 32 ? INT : LONG;
      case UNSIGNED, CHARACTER -> t.bits() <= 16 ? INT : LONG;
      case DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME, STRING -> LONG;
    };
  }

  /** Least slot value of a kind, as a signed number. */
  static long least(int kind) {
    ElementaryType t = Arith.kind(kind);
    return switch (t.family()) {
      case BIT, UNSIGNED, CHARACTER -> t.bits() == 64 ? Long.MIN_VALUE : 0;
      case SIGNED -> -1L << t.bits() - 1;
      case REAL -> t.bits() == 32 ? Integer.MIN_VALUE : Long.MIN_VALUE;
      case DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME, STRING -> Long.MIN_VALUE;
    };
  }

  /** Greatest slot value of a kind, as a signed number. */
  static long greatest(int kind) {
    ElementaryType t = Arith.kind(kind);
    return switch (t.family()) {
      case BIT, UNSIGNED, CHARACTER -> t.bits() == 64 ? Long.MAX_VALUE : (1L << t.bits()) - 1;
      case SIGNED -> ~(-1L << t.bits() - 1);
      case REAL -> t.bits() == 32 ? Integer.MAX_VALUE : Long.MAX_VALUE;
      case DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME, STRING -> Long.MAX_VALUE;
    };
  }

  /** Address of bit 0 of the word of 64 bits in which a bit of an area lies. */
  static long wordOf(long address) {
    return address & ~63L;
  }

  /** Whether values of an area cannot be used as they lie there: bits of a word that do not begin at a byte. */
  static boolean unaligned(long address, int kind) {
    return WIDTHS[kind] > 1 && (Address.bit(address) & 7) != 0;
  }
}
