package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import java.util.Map;

/** The string functions of Table 34, for every string type: they move whole characters and never look at their encoding. */
final class StringBodies {
  /** Above this many comparisons in the worst case FIND prepares a table, so that its time stays proportional to the lengths. */
  private static final long NAIVE_COMPARISONS = 1L << 18;

  private StringBodies() {}

  static void addTo(Map<String, NativeBody> all) {
    all.put("left", StringBodies::left);
    all.put("right", StringBodies::right);
    all.put("mid", StringBodies::mid);
    all.put("concat", StringBodies::concat);
    all.put("insert", StringBodies::insert);
    all.put("delete", StringBodies::delete);
    all.put("replace", StringBodies::replace);
    all.put("find", StringBodies::find);
    all.put("len_max", f -> f.setBits(CallFrame.RESULT, f.capacity(0)));
    all.put("len_code_unit", StringBodies::codeUnits);
  }

  private static void left(CallFrame f) {
    int count = count(f, 1, f.length(0));
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, 0, count);
  }

  private static void right(CallFrame f) {
    int length = f.length(0);
    int count = count(f, 1, length);
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, length - count, count);
  }

  private static void mid(CallFrame f) {
    int start = start(f, 1, 2);
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, start, (int) f.bits(1));
  }

  private static void concat(CallFrame f) {
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, 0, f.length(0));
    f.append(CallFrame.RESULT, 1, 0, f.length(1));
  }

  private static void insert(CallFrame f) {
    int length = f.length(0);
    long position = f.bits(2);
    if (position < 0 || position > length) {
      throw new BodyFault("fault/string-position", "P = " + text(f, 2) + " is no place in a string of " + length
          + " characters: it is from 0 to " + length);
    }
    int at = (int) position;
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, 0, at);
    f.append(CallFrame.RESULT, 1, 0, f.length(1));
    f.append(CallFrame.RESULT, 0, at, length - at);
  }

  private static void delete(CallFrame f) {
    int start = start(f, 1, 2);
    int end = start + (int) f.bits(1);
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, 0, start);
    f.append(CallFrame.RESULT, 0, end, f.length(0) - end);
  }

  private static void replace(CallFrame f) {
    int start = start(f, 2, 3);
    int end = start + (int) f.bits(2);
    f.clear(CallFrame.RESULT);
    f.append(CallFrame.RESULT, 0, 0, start);
    f.append(CallFrame.RESULT, 1, 0, f.length(1));
    f.append(CallFrame.RESULT, 0, end, f.length(0) - end);
  }

  /** A number of characters up to {@code length}. */
  private static int count(CallFrame f, int parameter, int length) {
    long count = f.bits(parameter);
    if (count < 0 || count > length) {
      throw new BodyFault("fault/string-position", "L = " + text(f, parameter) + " is outside 0 to " + length
          + ", the length of the string");
    }
    return (int) count;
  }

  /** The index, from 0, of the first of L characters from number P of parameter 0; all of them exist. */
  private static int start(CallFrame f, int l, int p) {
    int length = f.length(0);
    int count = count(f, l, length);
    long position = f.bits(p);
    if (position < 1 || position - 1 > length - count) {
      throw new BodyFault("fault/string-position",
          "L = " + count + " characters from P = " + text(f, p) + " do not exist in a string of " + length + " characters");
    }
    return (int) (position - 1);
  }

  private static String text(CallFrame f, int parameter) {
    return f.type(parameter) == ElementaryType.ULINT ? Long.toUnsignedString(f.bits(parameter)) : Long.toString(f.bits(parameter));
  }

  private static void find(CallFrame f) {
    int length = f.length(0);
    int sought = f.length(1);
    int at;
    if (sought == 0 || sought > length) {
      at = -1;
    } else if ((long) sought * (length - sought + 1) <= NAIVE_COMPARISONS) {
      at = findNaively(f, length, sought);
    } else {
      at = findByTable(f, length, sought);
    }
    f.setBits(CallFrame.RESULT, at + 1);
  }

  private static int findNaively(CallFrame f, int length, int sought) {
    for (int at = 0; at <= length - sought; at++) {
      int i = 0;
      while (i < sought && f.unit(0, at + i) == f.unit(1, i)) {
        i++;
      }
      if (i == sought) {
        return at;
      }
    }
    return -1;
  }

  /** Knuth, Morris and Pratt: {@code border[i]} is the length of the longest proper prefix of the first i characters that they also end
   * with. */
  private static int findByTable(CallFrame f, int length, int sought) {
    int[] border = new int[sought + 1];
    border[0] = -1;
    for (int i = 0, k = -1; i < sought; ) {
      while (k >= 0 && f.unit(1, i) != f.unit(1, k)) {
        k = border[k];
      }
      border[++i] = ++k;
    }
    for (int at = 0, k = 0; at < length; at++) {
      while (k >= 0 && f.unit(0, at) != f.unit(1, k)) {
        k = border[k];
      }
      if (++k == sought) {
        return at + 1 - sought;
      }
    }
    return -1;
  }

  private static void codeUnits(CallFrame f) {
    int length = f.length(0);
    if (f.type(0) != ElementaryType.USTRING) {
      f.setBits(CallFrame.RESULT, length);
      return;
    }
    long bytes = 0;
    for (int i = 0; i < length; i++) {
      int c = f.unit(0, i);
      bytes += c < 0x80 ? 1 : c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    }
    f.setBits(CallFrame.RESULT, bytes);
  }
}
