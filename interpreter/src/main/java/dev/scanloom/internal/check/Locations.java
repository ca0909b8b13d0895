package dev.scanloom.internal.check;

import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.model.ElementaryType;
import java.util.Collections;
import java.util.Optional;

/** Addresses of located variables (Table 16) to bits of their areas; the mapping is told at {@link Located}. */
final class Locations {
  private Locations() {}

  /** Bits that a size letter stands for. */
  static int width(char size) {
    return switch (size) {
      case 'B' -> 8;
      case 'W' -> 16;
      case 'D' -> 32;
      case 'L' -> 64;
      case 'X', 0 -> 1;
      default -> throw new IllegalArgumentException("size " + size);
    };
  }

  /** Type of a location by its size alone. */
  static Type type(int width) {
    return switch (width) {
      case 1 -> Kinds.BOOL;
      case 8 -> Kinds.of(ElementaryType.BYTE);
      case 16 -> Kinds.of(ElementaryType.WORD);
      case 32 -> Kinds.of(ElementaryType.DWORD);
      case 64 -> Kinds.of(ElementaryType.LWORD);
      default -> throw new IllegalArgumentException("width " + width);
    };
  }

  /** Bits of a type of one slot, or of an array of them; 0 for all others. */
  static int bits(Type type) {
    if (type.base() instanceof Type.Array a && !a.open()) {
      long n = a.count() * bits(a.element());
      return n > Integer.MAX_VALUE ? 0 : (int) n;
    }
    ElementaryType k = Kinds.slotKind(type);
    return k == null ? 0 : k.bits();
  }

  static int elementBits(Type type) {
    Type t = type.base();
    while (t instanceof Type.Array a) {
      t = a.element().base();
    }
    return bits(t);
  }

  /** Why an address cannot be mapped. */
  record Trouble(String code, String message) {}

  /** Either a location or what is wrong with the address. */
  record Result(Optional<Located> location, Optional<Trouble> trouble) {
    static Result of(Located l) {
      return new Result(Optional.of(l), Optional.empty());
    }

    static Result wrong(String code, String message) {
      return new Result(Optional.empty(), Optional.of(new Trouble(code, message)));
    }
  }

  /** Maps a complete address; {@code maxBytes} bounds the area. */
  static Result map(DirectAddress a, long maxBytes) {
    int width = width(a.size());
    if (a.levels().isEmpty()) {
      return Result.wrong("located/incomplete", "the address is not complete");
    }
    long bit;
    if (width == 1) {
      if (a.levels().size() == 2) {
        if (a.levels().get(1) > 7) {
          return Result.wrong("located/bit", "a byte has bits 0 to 7, not " + a.levels().get(1));
        }
        bit = a.levels().get(0) * 8L + a.levels().get(1);
      } else if (a.levels().size() == 1) {
        bit = a.levels().get(0);
      } else {
        return Result.wrong("located/hierarchy", "an address has one number, a bit address at most two");
      }
    } else if (a.levels().size() == 1) {
      bit = (long) width * a.levels().get(0);
    } else {
      return Result.wrong("located/hierarchy", "an address of " + a.size() + " has one number; more levels have no place in this system");
    }
    if (Collections.min(a.levels()) < 0 || bit / 8 >= maxBytes) {
      return Result.wrong("located/range", "the address lies beyond the greatest area of " + maxBytes + " bytes");
    }
    return Result.of(new Located(a.area(), bit, width));
  }

  /** The address as people write it. */
  static String text(DirectAddress a) {
    StringBuilder b = new StringBuilder("%");
    if (a.area() != 0) {
      b.append(a.area());
    }
    if (a.size() != 0) {
      b.append(a.size());
    }
    if (a.incomplete()) {
      b.append('*');
    }
    for (int i = 0; i < a.levels().size(); i++) {
      b.append(i == 0 ? "" : ".").append(a.levels().get(i));
    }
    return b.toString();
  }
}
