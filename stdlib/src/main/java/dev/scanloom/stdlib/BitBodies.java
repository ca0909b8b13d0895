package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import java.util.Locale;
import java.util.Map;

/** Decimal digits in groups of 4 bits (Table 22, 3 and 4; Table 39, 2) and the order of bytes (Table 37). */
final class BitBodies {
  private BitBodies() {}

  static void addTo(Map<String, NativeBody> all) {
    all.put("from_bcd", BitBodies::fromBcd);
    all.put("to_bcd", BitBodies::toBcd);
    all.put("is_valid_bcd", f -> f.setBool(CallFrame.RESULT, isBcd(f.bits(0))));
    all.put("swap_bytes", BitBodies::swapBytes);
  }

  /** A group is above 9 exactly when adding 6 carries out of it. */
  private static boolean isBcd(long bits) {
    long low = bits & 0x0F0F_0F0F_0F0F_0F0FL;
    long high = bits >>> 4 & 0x0F0F_0F0F_0F0F_0F0FL;
    long six = 0x0606_0606_0606_0606L;
    return ((low + six | high + six) & 0x1010_1010_1010_1010L) == 0;
  }

  private static void fromBcd(CallFrame f) {
    long bits = f.bits(0);
    if (!isBcd(bits)) {
      throw new BodyFault("fault/bcd", "16#" + Long.toHexString(bits).toUpperCase(Locale.ROOT) + " has a group of 4 bits above 9");
    }
    long value = 0;
    for (int shift = 60; shift >= 0; shift -= 4) {
      value = value * 10 + (bits >>> shift & 0xF);
    }
    ElementaryType target = f.type(CallFrame.RESULT);
    if (target.bits() < 64 && value >>> target.bits() != 0) {
      throw new BodyFault("fault/bcd", value + " is above the greatest " + target);
    }
    f.setBits(CallFrame.RESULT, value);
  }

  private static void toBcd(CallFrame f) {
    long rest = f.bits(0);
    ElementaryType target = f.type(CallFrame.RESULT);
    long digits = 0;
    for (int shift = 0; rest != 0; shift += 4) {
      if (shift >= target.bits()) {
        throw new BodyFault("fault/bcd", Long.toUnsignedString(f.bits(0)) + " has more than the " + target.bits() / 4 + " digits of "
            + target);
      }
      digits |= Long.remainderUnsigned(rest, 10) << shift;
      rest = Long.divideUnsigned(rest, 10);
    }
    f.setBits(CallFrame.RESULT, digits);
  }

  private static void swapBytes(CallFrame f) {
    ElementaryType type = f.type(0);
    if (type.isString()) {
      f.clear(CallFrame.RESULT);
      int length = f.length(0);
      if (type != ElementaryType.WSTRING) {
        f.append(CallFrame.RESULT, 0, 0, length);
        return;
      }
      for (int i = 0; i < length; i++) {
        f.append(CallFrame.RESULT, swap16(f.unit(0, i)));
      }
      return;
    }
    long bits = f.bits(0);
    if (type == ElementaryType.WCHAR) {
      f.setBits(CallFrame.RESULT, swap16((int) bits));
      return;
    }
    // UCHAR is a character of UTF-8, whose bytes have one order only.
    if (type == ElementaryType.UCHAR || type.bits() <= 8) {
      f.setBits(CallFrame.RESULT, bits);
      return;
    }
    boolean signed = type.family() == ElementaryType.Family.SIGNED || type.isReal();
    long turned = Long.reverseBytes(bits);
    int unused = 64 - type.bits();
    f.setBits(CallFrame.RESULT, signed ? turned >> unused : turned >>> unused);
  }

  private static int swap16(int unit) {
    return (unit & 0xFF) << 8 | unit >>> 8 & 0xFF;
  }
}
