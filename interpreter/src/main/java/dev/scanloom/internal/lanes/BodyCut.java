package dev.scanloom.internal.lanes;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Heights;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;

/**
 * One body, cut into Boolean steps, which words can do, and stretches of other steps, which every lane does for itself. A stretch is entered at its first step
 * and left behind its last one; it never touches operands that lie below it, and leaves at most one Boolean.
 */
final class BodyCut {
  private static final Op[] OPS = Op.values();
  static final int BOOL = ElementaryType.BOOL.ordinal();
  /** So few Boolean steps between two stretches are faster done by each lane than by leaving and entering. */
  private static final int GAP = 6;
  /** Boolean steps that pay for one more stretch. */
  private static final int WORTH = 20;

  // what is known of an operand
  private static final byte OTHER = 0;
  private static final byte BIT = 1;
  /** The constant 0 or 1. */
  private static final byte EITHER = 2;

  /** Which bodies can be written in place of their calls. */
  interface Calls {
    boolean isWoven(int body);
  }

  /** Steps {@code [start, end)}; {@code result}: leaves a Boolean on the operand stack. */
  record Stretch(int start, int end, boolean result) {}

  private final Code code;
  private final Code.Body body;
  private final Calls calls;
  private final int start;
  private final int length;
  /** Operand stack height before each step, -1 where no path leads. */
  private final int[] height;
  private final boolean[] perLane;
  private final boolean[] target;
  /** Targets of jumps that words do, within stretches: the stretch is divided there. */
  private final boolean[] divided;
  private final byte[] temps;
  private final List<Stretch> stretches = new ArrayList<>();
  private boolean changed;

  BodyCut(Code code, int number, Calls calls) {
    this.code = code;
    this.body = code.bodies().get(number);
    this.calls = calls;
    start = body.start();
    length = body.end() - start;
    height = Heights.of(code, body);
    perLane = new boolean[length];
    target = new boolean[length + 1];
    divided = new boolean[length + 1];
    temps = new byte[body.frameSlots()];
    Arrays.fill(temps, EITHER);
    for (int i = 0; i < length; i++) {
      if (isJump(op(i)) || op(i) == Op.GUARD) {
        target[a(i) - start] = true;
      }
    }
    boolean merged = false;
    while (true) {
      changed = false;
      types();
      jumps();
      stretches.clear();
      shape();
      if (changed) {
        continue;
      }
      if (merged) {
        break;
      }
      merged = true;
      merge();
      if (!changed) {
        break;
      }
    }
  }

  static boolean isJump(Op op) {
    return op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE;
  }

  private Op op(int i) {
    return OPS[code.op[start + i]];
  }

  private int a(int i) {
    return code.a[start + i];
  }

  private int b(int i) {
    return code.b[start + i];
  }

  private int pops(int i) {
    return op(i).pops(a(i));
  }

  /** In the order of the steps. */
  List<Stretch> stretches() {
    return stretches;
  }

  /** The temporary holds a Boolean. */
  boolean isBooleanTemp(int offset) {
    return offset < temps.length && temps[offset] != OTHER;
  }

  boolean isReachable(int pc) {
    return height[pc - start] >= 0;
  }

  /** The stretch has frame slots in common with the rest of the body, so that they must lie in memory between its steps. */
  boolean sharesFrame(Stretch s) {
    boolean calls = false;
    boolean[] named = new boolean[body.frameSlots()];
    for (int i = s.start() - start; i < s.end() - start; i++) {
      calls |= op(i) == Op.CALL || op(i) == Op.CALL_ON || op(i) == Op.NATIVE;
      if (namesFrame(op(i)) && a(i) < named.length) {
        named[a(i)] = true;
      }
    }
    for (int i = 0; i < length; i++) {
      boolean outside = start + i < s.start() || start + i >= s.end();
      if (op(i) == Op.ADDRESS_FRAME || op(i) == Op.CLEAR || op(i) == Op.OPEN_INDEX && b(i) == 0
          || outside && namesFrame(op(i)) && (a(i) < named.length ? named[a(i)] : calls)) {
        return true;
      }
    }
    return false;
  }

  private static boolean namesFrame(Op op) {
    return op == Op.LOAD_FRAME || op == Op.STORE_FRAME || op == Op.LOAD_TEMP || op == Op.STORE_TEMP;
  }

  /** Steps that words do. */
  int wordSteps() {
    int n = 0;
    for (int i = 0; i < length; i++) {
      n += height[i] >= 0 && !perLane[i] ? 1 : 0;
    }
    return n;
  }

  /** Written in place of its calls, it is faster than as part of a stretch. */
  boolean isWorthWeaving() {
    return stretches.isEmpty() || wordSteps() > WORTH * stretches.size();
  }

  private void mark(int from, int end) {
    for (int i = Math.max(0, from); i < Math.min(end, length); i++) {
      if (!perLane[i]) {
        perLane[i] = true;
        changed = true;
      }
    }
  }

  /** Marks whole statements around steps {@code from .. to}. */
  private void markStatements(int from, int to) {
    int s = from;
    while (s > 0 && height[s] != 0) {
      s--;
    }
    int e = to + 1;
    while (e < length && height[e] != 0) {
      e++;
    }
    mark(s, e);
  }

  // ---- types of operands ----

  private byte[] type = new byte[16];
  /** First step of the expression that made the operand, and its last one. */
  private int[] from = new int[16];
  private int[] by = new int[16];
  private int top;

  private void push(byte t, int first, int last) {
    if (top == type.length) {
      type = Arrays.copyOf(type, 2 * top);
      from = Arrays.copyOf(from, 2 * top);
      by = Arrays.copyOf(by, 2 * top);
    }
    type[top] = t;
    from[top] = first;
    by[top++] = last;
  }

  private static byte join(byte x, byte y) {
    return x == OTHER || y == OTHER ? OTHER : x == BIT || y == BIT ? BIT : EITHER;
  }

  private void types() {
    top = 0;
    boolean live = true;
    for (int i = 0; i < length; i++) {
      if (height[i] < 0) {
        live = false;
        continue;
      }
      if (!live) {
        top = 0;
        while (top < height[i]) {
          push(OTHER, i, i);
        }
      }
      step(i);
      live = op(i) != Op.JUMP && op(i) != Op.RETURN;
    }
  }

  private void step(int i) {
    Op op = op(i);
    int n = pops(i);
    int first = i;
    byte all = EITHER;
    for (int k = 0; k < n; k++) {
      int at = top - 1 - k;
      first = Math.min(first, from[at]);
      all = join(all, type[at]);
    }
    boolean woven = op == Op.CALL && calls.isWoven(a(i))
        || op == Op.CALL_ON && calls.isWoven(a(i)) && i > 0 && op(i - 1) == Op.ADDRESS_SELF && !perLane[i - 1];
    if (!perLane[i] && !isBoolean(i, all, woven)) {
      mark(i, i + 1);
    }
    for (int k = 0; k < n; k++) {
      int at = top - 1 - k;
      // What a lane made and a word cannot hold is used by the lane; several results of one step too.
      if (perLane[by[at]] && (type[at] == OTHER || OPS[code.op[start + by[at]]].pushes() > 1) && !woven) {
        mark(i, i + 1);
      }
    }
    if (perLane[i]) {
      mark(first, i);
    }
    results(i, n, first, all);
  }

  /** The step is one that words do. {@code all}: the type of all its operands. */
  private boolean isBoolean(int i, byte all, boolean woven) {
    return switch (op(i)) {
      case CONST -> code.pool[a(i)] == 0 || code.pool[a(i)] == 1;
      case LOAD_SELF, LOAD_FRAME, LOAD_STATIC, LOAD_LOCATED -> b(i) == BOOL;
      case STORE_SELF, STORE_FRAME, STORE_STATIC, STORE_LOCATED -> b(i) == BOOL && all != OTHER;
      case LOAD_TEMP -> a(i) < temps.length && temps[a(i)] != OTHER;
      case STORE_TEMP -> a(i) < temps.length && all != OTHER && temps[a(i)] != OTHER;
      case DUP, DUP2, POP, SWAP, AND, OR, XOR, EQ, NE, SELECT, CONTACT, ELEMENT, JUMP_FALSE, JUMP_TRUE -> all != OTHER;
      case NOT -> b(i) == BOOL && all != OTHER;
      case JUMP, RETURN -> true;
      case CALL, CALL_ON -> woven;
      case ADDRESS_SELF -> i + 1 < length && op(i + 1) == Op.CALL_ON && calls.isWoven(a(i + 1)) && !perLane[i + 1];
      case ADDRESS_FRAME, LOAD_INDIRECT, STORE_INDIRECT, CHECK_NULL, OFFSET, INDEX, OPEN_INDEX, OPEN_END, BITS_GET, BITS_PUT, ADD, SUB, MUL, ADD_EXACT,
          SUB_EXACT, MUL_EXACT, DIV, MOD, NEG, NEG_EXACT, ABS, ADD_REAL, SUB_REAL, MUL_REAL, DIV_REAL, NEG_REAL, POWER_REAL, SQRT_REAL, ADD_LREAL,
          SUB_LREAL, MUL_LREAL, DIV_LREAL, NEG_LREAL, POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, SHL, SHR, ROL, ROR, LT, LE, GT, GE, LT_UNSIGNED,
          LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL, COMPARE_LREAL, MAX, MIN, MUX, CONVERT, RANGE, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR,
          TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, CLEAR, CALL_DYNAMIC, NATIVE, GUARD, UNGUARD, TASK_TIME, ASSERT, TYPE_TEST, TAKE, WAIT,
          GIVE -> false;
    };
  }

  private void results(int i, int n, int first, byte all) {
    Op op = op(i);
    byte under = top >= 2 ? type[top - 2] : OTHER;
    byte last = top >= 1 ? type[top - 1] : OTHER;
    if (op == Op.STORE_TEMP && a(i) < temps.length) {
      byte now = join(temps[a(i)], last);
      if (now != temps[a(i)]) {
        temps[a(i)] = now;
        changed = true;
      }
    }
    if ((op == Op.LOAD_FRAME || op == Op.STORE_FRAME) && a(i) < temps.length && b(i) != BOOL && temps[a(i)] != OTHER) {
      temps[a(i)] = OTHER;
      changed = true;
    }
    top -= n;
    switch (op) {
      case DUP -> {
        push(last, first, i);
        push(last, first, i);
      }
      case DUP2 -> {
        push(under, first, i);
        push(last, first, i);
        push(under, first, i);
        push(last, first, i);
      }
      case SWAP -> {
        push(last, first, i);
        push(under, first, i);
      }
      default -> {
        // every other step pushes one value at most, whose type the table below knows
        if (op.pushes() == 1) {
          push(result(i, all), first, i);
        }
      }
    }
  }

  private byte result(int i, byte all) {
    return switch (op(i)) {
      case CONST -> code.pool[a(i)] == 0 || code.pool[a(i)] == 1 ? EITHER : OTHER;
      case LOAD_SELF, LOAD_FRAME, LOAD_STATIC, LOAD_LOCATED, LOAD_INDIRECT -> b(i) == BOOL ? BIT : OTHER;
      case LOAD_TEMP -> a(i) < temps.length ? temps[a(i)] : OTHER;
      case AND, OR, XOR, SELECT, CONTACT, ELEMENT, EQ, NE, NOT ->
          op(i) == Op.EQ || op(i) == Op.NE ? BIT : op(i) == Op.NOT ? b(i) == BOOL ? BIT : OTHER : all;
      case LT, LE, GT, GE, LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL, COMPARE_LREAL, TAKE -> BIT;
      case BITS_GET -> b(i) == 1 ? BIT : OTHER;
      case CONVERT -> (a(i) >> 8 & 255) == BOOL ? BIT : OTHER;
      default -> OTHER; // a value that no word holds, or that nobody has looked at: the lane keeps it
    };
  }

  // ---- jumps ----

  private int runStart(int i) {
    int s = i;
    while (s > 0 && perLane[s - 1]) {
      s--;
    }
    return s;
  }

  private int runEnd(int i) {
    int e = i;
    while (e < length && perLane[e]) {
      e++;
    }
    return e;
  }

  private void jumps() {
    Arrays.fill(divided, false);
    for (int i = 0; i < length; i++) {
      if (height[i] < 0) {
        // dead steps inside a stretch belong to it
        if (i > 0 && perLane[i - 1] && i + 1 < length && perLane[Math.min(length - 1, nextReachable(i))]) {
          mark(i, i + 1);
        }
        continue;
      }
      Op op = op(i);
      if (op == Op.GUARD) {
        mark(i, guardEnd(i));
        mark(i, a(i) - start);
      }
      if (op == Op.RETURN && i + 1 < length && perLane[i]) {
        mark(i, length);
      }
      if (!isJump(op)) {
        continue;
      }
      int t = a(i) - start;
      if (t <= i) {
        mark(t, i + 1);
      } else if (height[t] > 0) {
        markStatements(i, t);
      } else if (perLane[i]) {
        mark(i, t);
      } else if (t < length && perLane[t] && t > 0 && perLane[t - 1]) {
        if (isCrossed(t)) {
          mark(i, t);
        } else {
          divided[t] = true;
        }
      }
    }
  }

  private int nextReachable(int i) {
    int n = i;
    while (n < length - 1 && height[n] < 0) {
      n++;
    }
    return n;
  }

  /** A stretch around {@code t} has a jump over it. */
  private boolean isCrossed(int t) {
    int s = runStart(t);
    int e = runEnd(t);
    for (int i = s; i < e; i++) {
      if (op(i) == Op.RETURN && i < t && height[i] >= 0) {
        return true;
      }
      if (isJump(op(i)) || op(i) == Op.GUARD) {
        int to = a(i) - start;
        if (i < t && to > t && to <= e || i >= t && to < t) {
          return true;
        }
      }
    }
    return false;
  }

  private int guardEnd(int i) {
    int depth = 0;
    int at = i;
    do {
      if (op(at) == Op.GUARD) {
        depth++;
      } else if (op(at) == Op.UNGUARD) {
        depth--;
      }
      at++;
    } while (depth > 0 && at < length);
    return at;
  }

  // ---- stretches ----

  private void shape() {
    int i = 0;
    while (i < length) {
      if (!perLane[i]) {
        i++;
        continue;
      }
      int e = i + 1;
      while (e < length && perLane[e] && !divided[e]) {
        e++;
      }
      divide(i, e);
      i = e;
    }
  }

  private int heightAt(int i) {
    return i >= length ? 0 : height[i];
  }

  /** Steps {@code [s, e)}, which are all done by lanes, as one stretch or several. */
  private void divide(int s, int e) {
    int at = s;
    while (at < e) {
      int in = height[at];
      if (in < 0) {
        at++;
        continue;
      }
      // the last place where one value lies above the beginning and is not touched by what follows
      int end = e;
      int out = op(e - 1) == Op.JUMP || op(e - 1) == Op.RETURN || height[e - 1] < 0 ? heightAt(e) < 0 ? in : heightAt(e)
          : height[e - 1] - pops(e - 1) + op(e - 1).pushes();
      if (out > in + 1) {
        int lowest = out;
        int cut = -1;
        for (int p = e - 1; p > at; p--) {
          if (height[p] >= 0) {
            lowest = Math.min(lowest, height[p] - pops(p));
            if (height[p] == in + 1 && lowest >= in + 1) {
              cut = p;
            }
          }
        }
        if (cut < 0) {
          markStatements(at, e - 1);
          return;
        }
        end = cut;
        out = in + 1;
      }
      for (int p = at; p < end; p++) {
        if (height[p] >= 0 && height[p] - pops(p) < in) {
          markStatements(at, end - 1);
          return;
        }
      }
      if (out < in) {
        markStatements(at, end - 1);
        return;
      }
      stretches.add(new Stretch(start + at, start + end, out == in + 1));
      at = end;
    }
  }

  /** Few Boolean steps between two stretches go to the lanes. */
  private void merge() {
    for (int k = 0; k + 1 < stretches.size(); k++) {
      int e = stretches.get(k).end() - start;
      int s = stretches.get(k + 1).start() - start;
      if (s <= e || s - e > GAP || height[stretches.get(k).start() - start] != 0 || heightAt(e) != 0 || height[s] != 0) {
        continue;
      }
      boolean plain = !target[s];
      for (int i = e; i < s; i++) {
        plain &= height[i] >= 0 && !isJump(op(i)) && op(i) != Op.RETURN && op(i) != Op.CALL && op(i) != Op.CALL_ON && !target[i];
      }
      if (plain) {
        mark(e, s);
      }
    }
  }
}
