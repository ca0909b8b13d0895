package dev.scanloom.explain;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;

/** Small random programs in Structured Text and ladder, with a stimulus; decided by a seed. */
final class Programs {
  static final List<String> INPUTS = List.of("i1", "i2", "i3", "i4");
  private static final String[] BOOLS = {"p", "q", "r"};
  private static final String[] INTS = {"x", "y", "arr[1]", "arr[2]", "arr[k]"};

  private final Random random;
  private int loops;

  private Programs(long seed) {
    random = new Random(seed);
  }

  static String text(long seed) {
    return new Programs(seed).program();
  }

  /** Per scan the inputs that change, by number. */
  static List<List<Integer>> stimulus(long seed, int scans) {
    Random r = new Random(seed ^ 0x5DEECE66DL);
    List<List<Integer>> all = new ArrayList<>();
    for (int i = 0; i < scans; i++) {
      List<Integer> flips = new ArrayList<>();
      for (int k = 0; k < INPUTS.size(); k++) {
        if (r.nextInt(3) == 0) {
          flips.add(k);
        }
      }
      all.add(flips);
    }
    return all;
  }

  private String program() {
    StringBuilder b = new StringBuilder();
    b.append("FUNCTION_BLOCK Memo\nVAR_INPUT in : BOOL; END_VAR\nVAR_OUTPUT out : BOOL; n : INT; END_VAR\nVAR old : BOOL; END_VAR\n")
        .append("  out := in AND NOT old;\n  old := in;\n  IF out THEN n := n + 1; END_IF;\nEND_FUNCTION_BLOCK\n");
    b.append("FUNCTION Pick : INT\nVAR_INPUT g : BOOL; a : INT; b : INT; END_VAR\n"
        + "  IF g THEN Pick := a; RETURN; END_IF;\n  Pick := b;\nEND_FUNCTION\n");
    b.append("PROGRAM Main\nVAR\n");
    for (int i = 0; i < INPUTS.size(); i++) {
      b.append("  ").append(INPUTS.get(i)).append(" AT %IX0.").append(i).append(" : BOOL;\n");
    }
    b.append("  inb AT %IB0 : BYTE;\n  o1 AT %QX0.0 : BOOL;\n  o2 AT %QX0.1 : BOOL;\n  p, q, r : BOOL;\n"
        + "  x : INT := 3;\n  y : INT;\n  k : INT := 1;\n")
        .append("  j : INT;\n  arr : ARRAY[1..2] OF INT := [5, 0];\n  m : Memo;\n  w : BYTE;\n");
    b.append("END_VAR\n");
    int n = 2 + random.nextInt(5);
    for (int i = 0; i < n; i++) {
      b.append(statement(2));
    }
    b.append("  o1 := ").append(bool(2)).append(";\n");
    b.append("END_PROGRAM\n");
    return b.toString();
  }

  private String statement(int depth) {
    switch (random.nextInt(depth > 0 ? 10 : 7)) {
      case 0, 1:
        return "  " + BOOLS[random.nextInt(3)] + " := " + bool(3) + ";\n";
      case 2:
        return "  " + (random.nextBoolean() ? "o2" : INPUTS.get(random.nextInt(4))) + " := " + bool(2) + ";\n";
      case 3, 4:
        return "  " + INTS[random.nextInt(INTS.length)] + " := " + integer(2) + ";\n";
      case 5:
        return "  k := Pick(g := " + bool(1) + ", a := 1, b := 2);\n";
      case 6:
        return random.nextBoolean() ? "  m(in := " + bool(1) + ");\n" : "  w := inb;\n";
      case 7:
        return "  IF " + bool(2) + " THEN\n" + statement(depth - 1) + statement(0)
            + (random.nextBoolean() ? "  ELSE\n" + statement(depth - 1) : "") + "  END_IF;\n";
      case 8:
        return loops++ > 0 ? statement(0) : "  FOR j := 1 TO 3 DO\n" + statement(depth - 1) + "  END_FOR;\n";
      default:
        return "  CASE k OF\n  1: " + statement(depth - 1) + "  2: " + statement(0) + "  END_CASE;\n";
    }
  }

  private String bool(int depth) {
    if (depth == 0) {
      switch (random.nextInt(8)) {
        case 0, 1, 2:
          return INPUTS.get(random.nextInt(4));
        case 3:
          return "m.out";
        case 4:
          return random.nextBoolean() ? "TRUE" : "FALSE";
        default:
          return BOOLS[random.nextInt(3)];
      }
    }
    switch (random.nextInt(6)) {
      case 0:
        return "NOT (" + bool(depth - 1) + ")";
      case 1:
        return "(" + bool(depth - 1) + " XOR " + bool(depth - 1) + ")";
      case 2:
        return "(" + integer(depth - 1) + " < " + integer(depth - 1) + ")";
      case 3:
        return "(" + bool(depth - 1) + " OR " + bool(depth - 1) + ")";
      default:
        return "(" + bool(depth - 1) + " AND " + bool(depth - 1) + ")";
    }
  }

  private String integer(int depth) {
    if (depth == 0) {
      return random.nextInt(4) == 0 ? Integer.toString(random.nextInt(4)) : random.nextInt(4) == 0 ? "m.n"
          : INTS[random.nextInt(INTS.length)];
    }
    return "(" + integer(depth - 1) + new String[] {" + ", " - ", " * ", " * "}[random.nextInt(4)] + integer(depth - 1) + ")";
  }

  // ---- ladder ----

  /** A program of a few networks over the same inputs; parallel branches, negated contacts, set and reset coils, a jump now and then. */
  static String ladder(long seed) {
    Random r = new Random(seed);
    String[] names = {"i1", "i2", "i3", "i4", "p", "q", "r"};
    String[] targets = {"p", "q", "r", "o1", "o2", "i1"};
    StringBuilder b = new StringBuilder("PROGRAM Main\nVAR\n");
    for (int i = 0; i < INPUTS.size(); i++) {
      b.append("  ").append(INPUTS.get(i)).append(" AT %IX0.").append(i).append(" : BOOL;\n");
    }
    b.append("  o1 AT %QX0.0 : BOOL;\n  o2 AT %QX0.1 : BOOL;\n  p, q, r : BOOL;\nEND_VAR\n");
    int n = 2 + r.nextInt(4);
    int jump = r.nextInt(n);
    for (int i = 0; i < n; i++) {
      if (i == jump && i + 1 < n) {
        b.append(line('|', 4, names[r.nextInt(7)])).append(line('+', 0, "---| |---------------->>L" + (i + 1)));
      }
      if (i == jump + 1) {
        b.append("L").append(i).append(":\n");
      }
      String mark = new String[] {" ", " ", " ", "/", "S", "R"}[r.nextInt(6)];
      String c = new String[] {" ", "/", " ", "P"}[r.nextInt(4)];
      boolean branch = r.nextBoolean();
      b.append(line('|', 4, names[r.nextInt(7)], 13, names[r.nextInt(7)], 21, targets[r.nextInt(6)]));
      b.append(line('-', 0, "---|" + c + "|--" + (branch ? "+" : "-") + "---|" + (r.nextBoolean() ? "/" : " ") + "|-----(" + mark
          + ")-------"));
      if (branch) {
        b.append(line('|', 4, names[r.nextInt(7)], 8, "|"));
        b.append(line('+', 0, "---|" + (r.nextBoolean() ? "/" : " ") + "|--+"));
      }
    }
    return b.append("END_PROGRAM\n").toString();
  }

  /** A row between rails; {@code edge} is the left rail's character: {@code -} for a rung that reaches both. */
  private static String line(char edge, Object... parts) {
    char[] row = " ".repeat(30).toCharArray();
    for (int i = 0; i < parts.length; i += 2) {
      String text = (String) parts[i + 1];
      text.getChars(0, text.length(), row, (int) parts[i]);
    }
    return edge == '-' ? "+" + new String(row).stripTrailing() + "+\n" : edge + new String(row) + "|\n";
  }
}
