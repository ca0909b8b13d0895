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

  /** Without statements that are likely to fault: for programs that are to be run to their ends. */
  private final boolean calm;

  private RandomProgram(long seed, boolean calm) {
    random = new Random(seed);
    this.calm = calm;
  }

  static String of(long seed) {
    RandomProgram p = new RandomProgram(seed, false);
    return p.write(6 + p.random.nextInt(10));
  }

  /** A program so long that its body becomes several methods of the JVM. */
  static String longOne(long seed) {
    return new RandomProgram(seed, true).write(150);
  }

  private String write(int count) {
    out.append("TYPE Rec : STRUCT a : INT; b : BOOL; r : LREAL; v : ARRAY [0..3] OF DINT; END_STRUCT; Mode : (Idle, Run, Hold); END_TYPE\n");
    out.append("FUNCTION Mix : DINT VAR_INPUT x : DINT; y : DINT; END_VAR VAR_OUTPUT rest : DINT; END_VAR VAR t : DINT; END_VAR\n");
    out.append("  t := x + y; IF t > 100 THEN Mix := t - y * 2; RETURN; END_IF; rest := t MOD 7; Mix := t;\nEND_FUNCTION\n");
    out.append("FUNCTION_BLOCK Tally VAR_INPUT go : BOOL R_EDGE; by1 : INT := 1; END_VAR VAR_IN_OUT sum : DINT; END_VAR VAR_OUTPUT n : INT; END_VAR\n");
    out.append("  IF go THEN n := n + by1; sum := sum + INT_TO_DINT(n); END_IF;\nEND_FUNCTION_BLOCK\n");
    out.append("FUNCTION_BLOCK Lag VAR_INPUT x : LREAL; gain : REAL := 0.5; END_VAR VAR_OUTPUT y : LREAL; top : BOOL; END_VAR VAR n : INT; END_VAR\n");
    out.append("  VAR_TEMP e : LREAL; d : LREAL; END_VAR\n  e := x - y; d := e * REAL_TO_LREAL(gain);\n");
    out.append("  IF d > 10.0 THEN d := 10.0; n := n + 1; ELSIF d < -10.0 THEN d := -10.0; RETURN; END_IF;\n");
    out.append("  y := y + d; top := y >= 40.0 AND n > 2;\nEND_FUNCTION_BLOCK\n");
    out.append("FUNCTION_BLOCK Pair VAR_INPUT go : BOOL; x : LREAL; END_VAR VAR_OUTPUT late : BOOL; sum : LREAL; END_VAR\n");
    out.append("  VAR a : Lag; b : ARRAY [1..2] OF Lag; wait : TON; edge : F_TRIG; side : USINT; END_VAR\n");
    out.append("  a(x := x); side := side + 77; b[1 + USINT_TO_INT(side) MOD 2](x := a.y, gain := LREAL_TO_REAL(x * 0.001));\n");
    out.append("  wait(IN := go AND NOT a.top, PT := T#30ms, Q => late); edge(CLK := late); sum := a.y + b[1].y - b[2].y;\n");
    out.append("  IF edge.Q THEN sum := -sum; END_IF;\nEND_FUNCTION_BLOCK\n");
    out.append("FUNCTION Swap : INT VAR_IN_OUT x : INT; y : INT; END_VAR VAR h : INT; END_VAR h := x; x := y + 1; y := h; Swap := x - y;\nEND_FUNCTION\n");
    out.append("FUNCTION_BLOCK Sorter VAR_IN_OUT v : ARRAY [-2..5] OF INT; END_VAR VAR_OUTPUT moves : INT; END_VAR VAR i, k, h : INT; END_VAR\n");
    out.append("  FOR i := -1 TO 5 DO h := v[i]; k := i; WHILE k > -2 DO IF v[k - 1] <= h THEN EXIT; END_IF;\n");
    out.append("  v[k] := v[k - 1]; k := k - 1; moves := moves + 1; END_WHILE; v[k] := h; END_FOR;\nEND_FUNCTION_BLOCK\n");
    out.append("PROGRAM Main\nVAR\n  in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; iw AT %IW1 : INT; q0 AT %QX0.0 : BOOL; qw AT %QW1 : WORD; m AT %MD1 : DWORD;\n");
    for (int i = 0; i < INTS.length; i++) {
      out.append("  i").append(i).append(" : ").append(INTS[i]).append(" := ").append(random.nextInt(100)).append(";\n");
    }
    out.append("  b0 : BOOL; b1 : BOOL := TRUE; b2 : BOOL; r0 : REAL := 1.5; r1 : REAL; l0 : LREAL := 2.25; l1 : LREAL;\n");
    out.append("  w : WORD := 16#A5F0; d : DWORD; t : TIME := T#10ms; s : STRING[12] := 'start'; u : STRING[6]; k : DINT; j : INT; f1 : DINT; f2 : INT;\n");
    out.append("  arr : ARRAY [-2..5] OF INT; rec : Rec; recs : ARRAY [1..3] OF Rec; mode : Mode; tally : ARRAY [0..1] OF Tally; total : DINT;\n");
    out.append("  ton : TON; ctu : CTU; rest : DINT; p : REF_TO INT; sub : INT (-5..5); lags : ARRAY [0..3] OF Lag; pairs : ARRAY [1..2] OF Pair; sorter : Sorter;\n");
    out.append("  bits : ARRAY [0..4] OF BOOL; grid : ARRAY [0..2, 0..3] OF DINT; marks : ARRAY [0..4] OF R_TRIG; f3 : SINT; f4 : USINT; u0 : UINT; big : LINT;\n");
    out.append("  reals : ARRAY [0..4] OF LREAL := [1.0, 2.5, -3.0, 4.25, 5.0]; floats : ARRAY [0..4] OF REAL := [5(0.5)];\nEND_VAR\n");
    statements(count, 3);
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
      case 3 -> out.append(variable("l", "reals")).append(" := ").append(lreal(random.nextInt(3))).append(";\n");
      case 4 -> out.append(variable("r", "floats")).append(" := ").append(real(random.nextInt(3))).append(";\n");
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
      case 15 -> {
        if (random.nextBoolean()) {
          extra();
        } else {
          followed();
        }
      }
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

  /** What the compiled executor keeps in local variables: stores that may or may not hit it, loops over blocks, values of blocks read back. */
  private void followed() {
    switch (random.nextInt(calm ? 12 : 17)) {
      case 0 -> out.append("lags[").append(element(4)).append("](x := ").append(lreal(1)).append(", gain := ").append(real(0)).append(", y => l1, top => b0);\n");
      case 1 -> out.append("FOR j := 0 TO 3 DO lags[j](x := l0 + lags[3 - j].y, gain := r0); l0 := l0 * 0.25 + lags[j].y; END_FOR;\n");
      case 2 -> out.append("pairs[").append(1 + random.nextInt(2)).append("](go := ").append(condition(1)).append(", x := ").append(lreal(1))
          .append(", sum => l0);\n");
      case 3 -> out.append("i1 := i1 + Swap(x := arr[").append(index()).append("], y := ").append(random.nextBoolean() ? "j" : "arr[" + index() + "]")
          .append("); j := j MOD 5;\n");
      case 4 -> out.append("sorter(v := arr); j := sorter.moves;\n");
      case 5 -> out.append("p := REF(").append(random.nextBoolean() ? "i1" : "arr[" + index() + "]").append("); i1 := i1 + 1; p^ := p^ + i1; j := i1 + arr[0];\n");
      case 6 -> out.append("FOR j := 0 TO 4 DO bits[j] := bits[4 - j] XOR ").append(condition(0)).append("; marks[j](CLK := bits[j]); IF marks[j].Q THEN ")
          .append(random.nextBoolean() ? "CONTINUE" : "i1 := i1 + j").append("; END_IF; k := k + 1; END_FOR;\n");
      case 7 -> out.append("FOR j := 0 TO 2 DO FOR i1 := 0 TO 3 DO grid[j, i1] := grid[2 - j, i1] + k; IF grid[j, i1] > ").append(random.nextInt(60))
          .append(" THEN EXIT; END_IF; END_FOR; rest := grid[j, 3]; END_FOR;\n");
      case 8 -> out.append("FOR f3 := ").append(120 + random.nextInt(8)).append(" TO 127 DO total := total + f3; END_FOR;\n");
      case 9 -> out.append("FOR f4 := ").append(random.nextInt(5)).append(" TO 0 BY -1 DO k := k - 1; END_FOR;\n".replace("BY -1", "BY 1"));
      case 10 -> out.append("j := iw; WHILE j > 0 DO j := j - ").append(1 + random.nextInt(3)).append("; k := k + arr[j MOD 6]; END_WHILE;\n");
      case 11 -> {
        String at = "(j + " + (10 + random.nextInt(3)) + ") MOD 5";
        out.append("l0 := reals[").append(at).append("]; r0 := floats[").append(at).append("];\n");
        out.append("IF ").append(condition(1)).append(" THEN k := (k + 3) MOD 7; recs[1 + ABS(k MOD 3)].r := l0 + 0.5; END_IF;\n");
        out.append("lags[(j + ").append(8 + random.nextInt(4)).append(") MOD 4](x := reals[").append(at).append("], gain := floats[").append(at).append("], y => l1);\n");
        out.append("l0 := reals[").append(at).append("]; r0 := floats[").append(at).append("]; lags[").append(element(4)).append("](x := l0, gain := r0);\n");
      }
      case 12 -> out.append("arr[j] := arr[j] + 1; j := arr[j];\n");
      case 13 -> out.append("i2 := i2 ").append(random.nextBoolean() ? "/" : "MOD").append(" (k - ").append(random.nextInt(9)).append(");\n");
      case 14 -> out.append("u0 := u0 + UINT#").append(30_000 + random.nextInt(30_000)).append("; big := big * LINT#").append(random.nextInt(1 << 30))
          .append(" + u0; i5 := u0; l1 := UINT_TO_LREAL(u0) - r1;\n".replace("+ u0", "+ UINT_TO_LINT(u0)").replace("- r1", "- REAL_TO_LREAL(r1)"));
      case 15 -> out.append("i0 := DINT_TO_SINT(").append(integer(2, 1)).append(" MOD 200); b1 := i0 >= i0 OR i1 > j;\n");
      case 16 -> out.append("recs[1].r := ").append(lreal(1)).append("; rec.r := recs[1].r; recs[1 + ").append(element(3))
          .append("].r := 1.0; l0 := recs[1].r + rec.r;\n");
      default -> throw new IllegalStateException();
    }
  }

  private String element(int n) {
    return random.nextBoolean() ? Integer.toString(random.nextInt(n)) : "ABS(j) MOD " + n;
  }

  private void extra() {
    switch (random.nextInt(calm ? 7 : 9)) {
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
      return random.nextBoolean() ? variable("l", "reals") : Integer.toString(random.nextInt(50)) + ".25";
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

  private String variable(String simple, String array) {
    return random.nextInt(3) == 0 ? array + "[" + element(5) + "]" : simple + random.nextInt(2);
  }

  private String real(int depth) {
    if (depth == 0) {
      return random.nextBoolean() ? variable("r", "floats") : Integer.toString(random.nextInt(9)) + ".5";
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
        "total", "ton.ET", "ctu.CV", "lags[0].y", "lags[1].y", "lags[3].n", "pairs[1].sum", "pairs[2].late", "pairs[1].b[2].y", "sorter.moves", "bits[0]",
        "bits[3]", "grid[0,0]", "grid[1,2]", "grid[2,3]", "marks[2].Q", "f3", "f4", "u0", "big", "rest", "sub", "%QW1", "%MD1", "q0"));
    for (int i = -2; i <= 5; i++) {
      all.add("arr[" + i + "]");
    }
    return all;
  }
}
