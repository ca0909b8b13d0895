package dev.scanloom.differential;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;

/**
 * Writes random programs that are legal, end, and use most of the language: arithmetic of several types, conversions, arrays, structures, strings, selection and
 * loops, functions, function blocks, bits, faults now and then.
 */
final class RandomProgram {
  private static final String[] INTS = {"SINT", "INT", "DINT", "LINT", "USINT", "UINT", "UDINT", "ULINT"};
  private final Random random;
  private final StringBuilder out = new StringBuilder();
  private int loops;

  private RandomProgram(long seed) {
    random = new Random(seed);
  }

  static String of(long seed) {
    return new RandomProgram(seed).write();
  }

  private String write() {
    out.append("TYPE Rec : STRUCT a : INT; b : BOOL; r : LREAL; v : ARRAY [0..3] OF DINT; END_STRUCT; Mode : (Idle, Run, Hold); END_TYPE\n");
    out.append("FUNCTION Mix : DINT VAR_INPUT x : DINT; y : DINT; END_VAR VAR_OUTPUT rest : DINT; END_VAR VAR t : DINT; END_VAR\n");
    out.append("  t := x + y; IF t > 100 THEN Mix := t - y * 2; RETURN; END_IF; rest := t MOD 7; Mix := t;\nEND_FUNCTION\n");
    out.append("FUNCTION_BLOCK Tally VAR_INPUT go : BOOL R_EDGE; by1 : INT := 1; END_VAR VAR_IN_OUT sum : DINT; END_VAR VAR_OUTPUT n : INT; END_VAR\n");
    out.append("  IF go THEN n := n + by1; sum := sum + INT_TO_DINT(n); END_IF;\nEND_FUNCTION_BLOCK\n");
    out.append("PROGRAM Main\nVAR\n  in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; iw AT %IW1 : INT; q0 AT %QX0.0 : BOOL; qw AT %QW1 : WORD; m AT %MD1 : DWORD;\n");
    for (int i = 0; i < INTS.length; i++) {
      out.append("  i").append(i).append(" : ").append(INTS[i]).append(" := ").append(random.nextInt(100)).append(";\n");
    }
    out.append("  b0 : BOOL; b1 : BOOL := TRUE; b2 : BOOL; r0 : REAL := 1.5; r1 : REAL; l0 : LREAL := 2.25; l1 : LREAL;\n");
    out.append("  w : WORD := 16#A5F0; d : DWORD; t : TIME := T#10ms; s : STRING[12] := 'start'; u : STRING[6]; k : DINT; j : INT; f1 : DINT; f2 : INT;\n");
    out.append("  arr : ARRAY [-2..5] OF INT; rec : Rec; recs : ARRAY [1..3] OF Rec; mode : Mode; tally : ARRAY [0..1] OF Tally; total : DINT;\n");
    out.append("  ton : TON; ctu : CTU; rest : DINT; p : REF_TO INT; sub : INT (-5..5);\nEND_VAR\n");
    statements(6 + random.nextInt(10), 3);
    out.append("END_PROGRAM\n");
    return out.toString();
  }

  private void statements(int count, int depth) {
    for (int i = 0; i < count; i++) {
      statement(depth);
    }
  }

  private void statement(int depth) {
    switch (random.nextInt(depth > 0 ? 21 : 16)) {
      case 0, 1 -> line("i%d := %s;", pick(INTS.length));
      case 2 -> out.append(bool()).append(" := ").append(condition(2)).append(";\n");
      case 3 -> out.append("l").append(random.nextInt(2)).append(" := ").append(lreal(2)).append(";\n");
      case 4 -> out.append("r").append(random.nextInt(2)).append(" := ").append(real(2)).append(";\n");
      case 5 -> out.append("arr[").append(index()).append("] := ").append(integer(1, 2)).append(";\n");
      case 6 -> out.append("recs[").append(1 + random.nextInt(3)).append("].v[DINT_TO_INT(k) MOD 4] := ").append(integer(2, 2)).append(";\n");
      case 7 -> out.append("k := k + f1; rec := recs[").append(1 + random.nextInt(3)).append("];\n");
      case 8 -> out.append("s := ").append(text()).append(";\n");
      case 9 -> out.append("w := ").append(word()).append(";\n");
      case 10 -> out.append("tally[").append(random.nextInt(2)).append("](go := ").append(condition(1)).append(", sum := total, n => i1);\n");
      case 11 -> out.append("ton(IN := ").append(condition(1)).append(", PT := T#25ms, Q => b2); t := ton.ET;\n");
      case 12 -> out.append("ctu(CU := ").append(condition(1)).append(", R := ctu.Q, PV := ").append(1 + random.nextInt(4)).append(");\n");
      case 13 -> out.append("i2 := Mix(x := ").append(integer(2, 1)).append(", y := k, rest => rest);\n");
      case 14 -> out.append("w.%X").append(random.nextInt(16)).append(" := ").append(condition(1)).append("; d.%B").append(random.nextInt(4))
          .append(" := INT_TO_BYTE(j);\n");
      case 15 -> extra();
      case 16 -> {
        out.append("IF ").append(condition(2)).append(" THEN\n");
        statements(1 + random.nextInt(3), depth - 1);
        if (random.nextBoolean()) {
          out.append("ELSIF ").append(condition(1)).append(" THEN\n");
          statements(1 + random.nextInt(2), depth - 1);
        }
        if (random.nextBoolean()) {
          out.append("ELSE\n");
          statements(1 + random.nextInt(2), depth - 1);
        }
        out.append("END_IF;\n");
      }
      case 17 -> {
        if (loops >= 2) {
          return;
        }
        loops++;
        String by = random.nextInt(3) == 0 ? " BY -1" : random.nextInt(3) == 0 ? " BY 2" : "";
        out.append("FOR ").append(loops == 1 ? "f1" : "f2").append(" := ").append(by.contains("-") ? 5 : 0).append(" TO ").append(by.contains("-") ? 0 : 4)
            .append(by).append(" DO\n");
        statements(1 + random.nextInt(3), depth - 1);
        if (random.nextInt(4) == 0) {
          out.append("IF ").append(condition(1)).append(" THEN ").append(random.nextBoolean() ? "EXIT" : "CONTINUE").append("; END_IF;\n");
        }
        out.append("END_FOR;\n");
        loops--;
      }
      case 18 -> {
        out.append("CASE ").append(integer(1, 1)).append(" OF\n 0, 5: ");
        statements(1, depth - 1);
        out.append(" 6..40: ");
        statements(1, depth - 1);
        out.append("ELSE ");
        statements(1, depth - 1);
        out.append("END_CASE;\n");
      }
      case 19 -> out.append("mode := SEL(").append(condition(1)).append(", Run, Hold); b1 := mode = Run;\n");
      case 20 -> out.append("WHILE i0 > 0 AND ").append(condition(1)).append(" DO i0 := i0 - 1; END_WHILE;\n");
      default -> throw new IllegalStateException();
    }
  }

  private void extra() {
    switch (random.nextInt(9)) {
      case 0 -> out.append("p := REF(j); p^ := p^ + 1;\n");
      case 1 -> out.append("qw := w; q0 := in0; m := m + d;\n".replace("m + d", "m XOR d"));
      case 2 -> out.append("j := iw; b0 := in1;\n");
      case 3 -> out.append("t := t + T#3ms; IF t > T#1s THEN t := T#0s; END_IF;\n");
      case 4 -> out.append("u := s; total := total + LEN(u);\n".replace("LEN(u)", "INT_TO_DINT(LEN(u))"));
      case 5 -> out.append("i2 := DIV(EN := in0, IN1 := i2, IN2 := rest, ENO => b2);\n");
      case 6 -> out.append("sub := LIMIT(-5, arr[0], 5);\n");
      case 7 -> out.append("sub := arr[1];\n");
      case 8 -> out.append("i1 := i1 / arr[2];\n");
      default -> throw new IllegalStateException();
    }
  }

  private void line(String format, int type) {
    out.append(String.format(java.util.Locale.ROOT, format, type, integer(type, 3))).append('\n');
  }

  private int pick(int n) {
    return random.nextInt(n);
  }

  private String bool() {
    return "b" + random.nextInt(3);
  }

  private String index() {
    return random.nextInt(3) == 0 ? Integer.toString(random.nextInt(8) - 2) : "j MOD 5";
  }

  /** An expression of integer type {@code type}. */
  private String integer(int type, int depth) {
    String own = "i" + type;
    if (depth == 0) {
      return random.nextBoolean() ? own : literal(type);
    }
    String x = integer(type, depth - 1);
    String y = integer(type, depth - 1);
    return switch (random.nextInt(9)) {
      case 0 -> "(" + x + " + " + y + ")";
      case 1 -> "(" + x + " - " + y + ")";
      case 2 -> "(" + x + " * " + y + ")";
      case 3 -> "(" + x + " / " + INTS[type] + "#" + (1 + random.nextInt(9)) + ")";
      case 4 -> "(" + x + " MOD " + INTS[type] + "#" + (1 + random.nextInt(9)) + ")";
      case 5 -> "MAX(" + x + ", " + y + ")";
      case 6 -> "SEL(" + condition(0) + ", " + x + ", " + y + ")";
      case 7 -> type == 1 ? "arr[" + index() + "]" : type == 2 ? "rec.v[2]" : own;
      case 8 -> "MUX(k MOD 3, " + x + ", " + y + ", " + own + ")";
      default -> throw new IllegalStateException();
    };
  }

  private String literal(int type) {
    return INTS[type] + "#" + random.nextInt(100);
  }

  private String condition(int depth) {
    if (depth == 0) {
      return random.nextInt(3) == 0 ? "in" + random.nextInt(2) : bool();
    }
    int type = random.nextInt(INTS.length);
    return switch (random.nextInt(9)) {
      case 0 -> "(" + condition(depth - 1) + " AND " + condition(depth - 1) + ")";
      case 1 -> "(" + condition(depth - 1) + " OR NOT " + condition(depth - 1) + ")";
      case 2 -> "(" + condition(depth - 1) + " XOR " + condition(depth - 1) + ")";
      case 3 -> "(" + integer(type, depth - 1) + " < " + integer(type, depth - 1) + ")";
      case 4 -> "(" + integer(type, depth - 1) + " >= " + integer(type, depth - 1) + ")";
      case 5 -> "(" + lreal(depth - 1) + " > " + lreal(depth - 1) + ")";
      case 6 -> "(" + real(depth - 1) + " <= " + real(depth - 1) + ")";
      case 7 -> "(s = u)";
      case 8 -> "w.%X" + random.nextInt(16);
      default -> throw new IllegalStateException();
    };
  }

  private String lreal(int depth) {
    if (depth == 0) {
      return random.nextBoolean() ? "l" + random.nextInt(2) : Integer.toString(random.nextInt(50)) + ".25";
    }
    return switch (random.nextInt(7)) {
      case 0 -> "(" + lreal(depth - 1) + " + " + lreal(depth - 1) + ")";
      case 1 -> "(" + lreal(depth - 1) + " - " + lreal(depth - 1) + ")";
      case 2 -> "(" + lreal(depth - 1) + " * 0.5)";
      case 3 -> "(" + lreal(depth - 1) + " / 4.0)";
      case 4 -> "ABS(" + lreal(depth - 1) + ")";
      case 5 -> "DINT_TO_LREAL(i2)";
      case 6 -> "SQRT(ABS(" + lreal(depth - 1) + "))";
      default -> throw new IllegalStateException();
    };
  }

  private String real(int depth) {
    if (depth == 0) {
      return random.nextBoolean() ? "r" + random.nextInt(2) : Integer.toString(random.nextInt(9)) + ".5";
    }
    return switch (random.nextInt(5)) {
      case 0 -> "(" + real(depth - 1) + " + " + real(depth - 1) + ")";
      case 1 -> "(" + real(depth - 1) + " * 0.25)";
      case 2 -> "LREAL_TO_REAL(LIMIT(-1000.0, " + lreal(depth - 1) + ", 1000.0))";
      case 3 -> "INT_TO_REAL(i1)";
      case 4 -> "(-" + real(depth - 1) + ")";
      default -> throw new IllegalStateException();
    };
  }

  private String text() {
    return switch (random.nextInt(4)) {
      case 0 -> "CONCAT(u, 'ab')";
      case 1 -> "LEFT(s, 4)";
      case 2 -> "'quiet'";
      case 3 -> "INSERT(u, 'xy', 0)";
      default -> throw new IllegalStateException();
    };
  }

  private String word() {
    return switch (random.nextInt(5)) {
      case 0 -> "SHL(w, 1)";
      case 1 -> "ROR(w, 3) XOR WORD#16#00FF";
      case 2 -> "NOT w";
      case 3 -> "INT_TO_WORD(i1)";
      case 4 -> "w AND WORD#16#7FFF";
      default -> throw new IllegalStateException();
    };
  }

  /** All watchable scalars of the program. */
  static List<String> watched() {
    List<String> all = new ArrayList<>();
    for (int i = 0; i < INTS.length; i++) {
      all.add("i" + i);
    }
    all.addAll(List.of("b0", "b1", "b2", "r0", "r1", "l0", "l1", "w", "d", "t", "s", "u", "k", "j", "rec.a", "rec.v[2]", "recs[2].v[1]", "mode", "tally[0].n",
        "total", "ton.ET", "ctu.CV", "rest", "sub", "%QW1", "%MD1", "q0"));
    for (int i = -2; i <= 5; i++) {
      all.add("arr[" + i + "]");
    }
    return all;
  }
}
