package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import java.util.Locale;
import java.util.Map;

/**
 * Conversions among characters and strings (Table 27). A character keeps its ISO/IEC 10646 code; CHAR and STRING hold codes up to 255,
 * WCHAR and WSTRING
 * 16-bit units of UTF-16, UCHAR and USTRING every code but the surrogates.
 */
final class CharacterBodies {
  private CharacterBodies() {}

  static void addTo(Map<String, NativeBody> all) {
    all.put("to_char", CharacterBodies::toCharacter);
    all.put("to_string", CharacterBodies::toString);
  }

  private static void toCharacter(CallFrame f) {
    ElementaryType source = f.type(0);
    ElementaryType target = f.type(CallFrame.RESULT);
    long code;
    if (source.isString()) {
      if (f.length(0) == 0) {
        throw new BodyFault("fault/string-position", "an empty string has no first character");
      }
      code = f.unit(0, 0);
    } else if (source.family() == ElementaryType.Family.CHARACTER || source.isBits()) {
      code = f.bits(0);
    } else {
      throw new BodyFault("fault/conversion", "there is no conversion from " + source + " to " + target);
    }
    f.setBits(CallFrame.RESULT, check(code, target));
  }

  private static void toString(CallFrame f) {
    ElementaryType source = f.type(0);
    ElementaryType target = f.type(CallFrame.RESULT);
    f.clear(CallFrame.RESULT);
    if (!source.isString()) {
      append(f, (int) f.bits(0), target);
      return;
    }
    int length = f.length(0);
    if (source == target || source == ElementaryType.STRING) {
      f.append(CallFrame.RESULT, 0, 0, length);
      return;
    }
    for (int i = 0; i < length; i++) {
      int code = f.unit(0, i);
      if (target == ElementaryType.USTRING && code >= 0xD800 && code <= 0xDBFF && i + 1 < length) {
        int low = f.unit(0, i + 1);
        if (low >= 0xDC00 && low <= 0xDFFF) {
          code = Character.toCodePoint((char) code, (char) low);
          i++;
        }
      }
      append(f, code, target);
    }
  }

  private static void append(CallFrame f, int code, ElementaryType target) {
    if (target == ElementaryType.WSTRING && code > 0xFFFF) {
      f.append(CallFrame.RESULT, Character.highSurrogate(code));
      f.append(CallFrame.RESULT, Character.lowSurrogate(code));
    } else {
      f.append(CallFrame.RESULT, (int) check(code, target));
    }
  }

  private static long check(long code, ElementaryType target) {
    boolean fits = switch (target) {
      case CHAR, STRING -> code >= 0 && code <= 0xFF;
      case WCHAR, WSTRING -> code >= 0 && code <= 0xFFFF;
      case UCHAR, USTRING -> code >= 0 && code <= 0x10FFFF && !(code >= 0xD800 && code <= 0xDFFF);
      default -> throw new IllegalArgumentException(target + " holds no characters");
    };
    if (!fits) {
      throw new BodyFault("fault/conversion", "the character 16#" + Long.toHexString(code).toUpperCase(Locale.ROOT) + " does not exist in "
          + target);
    }
    return code;
  }
}
