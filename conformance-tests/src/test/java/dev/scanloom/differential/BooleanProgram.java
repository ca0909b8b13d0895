package dev.scanloom.differential;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;

/**
 * Writes random programs that are mostly Boolean, as ladder programs are: networks, branches, edges, latches, timers, counters, blocks and functions of the
 * program's own, Booleans in arrays, in bit strings, by reference and in-out; a loop, a fault or an early return now and then.
 */
final class BooleanProgram {
  static final int BOOLS = 24;
  static final int EXTRA = 16;
  private final Random random;
  private final StringBuilder out = new StringBuilder();
  private int rows;

  private BooleanProgram(long seed) {
    random = new Random(seed);
  }

  static String of(long seed) {
    return new BooleanProgram(seed).write();
  }

  /** Boolean statements behind those of another program. */
  static String behind(String program, long seed) {
    BooleanProgram p = new BooleanProgram(seed);
    for (int i = 0; i < 300; i++) {
      p.out.append("z[").append(p.random.nextInt(EXTRA)).append("] := ").append(p.extra(2)).append(";\n");
    }
    return program.replace("  b0 : BOOL;", "  z : ARRAY [0.." + (EXTRA - 1) + "] OF BOOL; b0 : BOOL;").replace("END_PROGRAM", p.out + "END_PROGRAM");
  }

  private String extra(int depth) {
    if (depth == 0) {
      return switch (random.nextInt(4)) {
        case 0 -> "in" + random.nextInt(2);
        case 1 -> "b" + random.nextInt(3);
        default -> "z[" + random.nextInt(EXTRA) + "]";
      };
    }
    return "(" + extra(depth - 1) + (random.nextBoolean() ? " AND " : " OR NOT ") + extra(depth - 1) + ")";
  }

  private String write() {
    out.append("TYPE Rec : STRUCT a : BOOL; n : INT; b : BOOL; END_STRUCT; END_TYPE\n");
    out.append("FUNCTION Vote : BOOL VAR_INPUT x : BOOL; y : BOOL; z : BOOL; END_VAR VAR t : BOOL; END_VAR\n");
    out.append("  IF x AND y THEN Vote := TRUE; RETURN; END_IF; t := x OR y; Vote := t AND z;\nEND_FUNCTION\n");
    out.append("FUNCTION Odd : BOOL VAR_INPUT n : INT; x : BOOL; END_VAR\n  Odd := (n MOD 2 <> 0) XOR x;\nEND_FUNCTION\n");
    out.append("FUNCTION_BLOCK Seal VAR_INPUT on : BOOL; off : BOOL; END_VAR VAR_OUTPUT q : BOOL; changed : BOOL; END_VAR VAR last : BOOL; e : R_TRIG; END_VAR\n");
    out.append("  q := (on OR q) AND NOT off; e(CLK := q); changed := e.Q OR (last AND NOT q); last := q;\nEND_FUNCTION_BLOCK\n");
    out.append("FUNCTION_BLOCK Share VAR_IN_OUT flag : BOOL; END_VAR VAR_INPUT set : BOOL; END_VAR\n  flag := flag XOR set;\nEND_FUNCTION_BLOCK\n");
    out.append("FUNCTION_BLOCK Unit VAR_INPUT x : BOOL; y : BOOL; END_VAR VAR_OUTPUT q : BOOL; END_VAR VAR a, b, c, d : BOOL; t : TON; s : SR; END_VAR\n");
    for (int i = 0; i < 24; i++) {
      out.append("  ").append("abcd".charAt(random.nextInt(4))).append(" := ").append(pick("a", "b", "c", "x")).append(" AND NOT ")
          .append(pick("b", "d", "y")).append(" OR ").append(pick("c", "x", "s.Q1", "t.Q")).append(";\n");
    }
    out.append("  t(IN := a AND x, PT := T#20ms); s(S1 := t.Q, R := y); q := s.Q1 OR d;\nEND_FUNCTION_BLOCK\n");
    out.append("PROGRAM Main\nVAR\n  in0 AT %IX0.0 : BOOL; in1 AT %IX0.1 : BOOL; ib AT %IB0 : BYTE; iw AT %IW1 : INT; q0 AT %QX0.0 : BOOL; q1 AT %QX0.1 : BOOL;\n");
    out.append("  qb AT %QB1 : BYTE; m0 AT %MX0.3 : BOOL; mw AT %MW0 : WORD;\n");
    for (int i = 0; i < BOOLS; i++) {
      out.append("  b").append(i).append(" : BOOL").append(random.nextInt(4) == 0 ? " := TRUE" : "").append(";\n");
    }
    out.append("  n : INT; k : DINT; r : REAL; l : LREAL; u : ULINT := 2; w : WORD; arr : ARRAY [0..7] OF BOOL; rec : Rec; other : Rec; f : INT; p : REF_TO BOOL;\n");
    out.append("  ton : ARRAY [0..2] OF TON; tof : TOF; ctu : CTU; up : R_TRIG; down : F_TRIG; sr : SR; seal : ARRAY [0..1] OF Seal; share : Share; unit : ARRAY [0..1] OF Unit;\n");
    out.append("END_VAR\n");
    statements(30 + random.nextInt(25), 3);
    out.append("END_PROGRAM\n");
    return out.toString();
  }

  private String pick(String... all) {
    return all[random.nextInt(all.length)];
  }

  private String bool() {
    return "b" + random.nextInt(BOOLS);
  }

  private String operand() {
    return switch (random.nextInt(16)) {
      case 0 -> "in0";
      case 1 -> "in1";
      case 2 -> "q0";
      case 3 -> "m0";
      case 4 -> "arr[" + random.nextInt(8) + "]";
      case 5 -> pick("rec.a", "rec.b", "other.b");
      case 6 -> "ton[" + random.nextInt(3) + "].Q";
      case 7 -> pick("up.Q", "down.Q", "sr.Q1", "ctu.Q", "tof.Q");
      case 8 -> pick("seal[0].q", "seal[1].changed", "unit[0].q", "unit[1].q");
      default -> bool();
    };
  }

  private String target() {
    return switch (random.nextInt(12)) {
      case 0 -> "q0";
      case 1 -> "q1";
      case 2 -> "m0";
      case 3 -> "arr[" + random.nextInt(8) + "]";
      case 4 -> pick("rec.a", "rec.b");
      case 5 -> random.nextInt(6) == 0 ? "in1" : bool();
      default -> bool();
    };
  }

  private String condition(int depth) {
    if (depth == 0) {
      return (random.nextInt(3) == 0 ? "NOT " : "") + operand();
    }
    return switch (random.nextInt(18)) {
      case 0, 1, 2, 3, 4 -> "(" + condition(depth - 1) + " AND " + condition(depth - 1) + ")";
      case 5, 6, 7, 8 -> "(" + condition(depth - 1) + " OR " + condition(depth - 1) + ")";
      case 9 -> "(" + condition(depth - 1) + " XOR " + condition(depth - 1) + ")";
      case 10 -> "(" + operand() + " = " + operand() + ")";
      case 11 -> "(" + operand() + " <> " + operand() + ")";
      case 12 -> "SEL(" + condition(0) + ", " + condition(depth - 1) + ", " + condition(0) + ")";
      case 13 -> "Vote(x := " + condition(0) + ", y := " + condition(0) + ", z := " + condition(depth - 1) + ")";
      case 14 -> random.nextInt(3) == 0 ? "(n > " + random.nextInt(6) + ")" : operand();
      case 15 -> random.nextInt(3) == 0 ? "w.%X" + random.nextInt(16) : operand();
      case 16 -> random.nextInt(4) == 0 ? "Odd(n := n, x := " + condition(0) + ")" : operand();
      case 17 -> random.nextInt(4) == 0 ? "arr[n MOD 8]" : operand();
      default -> throw new IllegalStateException();
    };
  }

  private void statements(int count, int depth) {
    for (int i = 0; i < count; i++) {
      statement(depth);
    }
  }

  private void networks(int count) {
    for (int i = 0; i < count; i++) {
      out.append(target()).append(" := ").append(condition(2)).append(";\n");
    }
  }

  private void statement(int depth) {
    rows++;
    switch (random.nextInt(depth > 0 ? 20 : 14)) {
      case 0, 1, 2, 3, 4, 5 -> networks(1 + random.nextInt(6));
      case 6 -> out.append("ton[").append(random.nextInt(3)).append("](IN := ").append(condition(1)).append(", PT := T#").append(10 * random.nextInt(4))
          .append("ms);\n");
      case 7 -> out.append(pick("tof(IN := ", "up(CLK := ", "down(CLK := ")).append(condition(1)).append(");\n");
      case 8 -> out.append("ctu(CU := ").append(condition(1)).append(", R := ").append(condition(0)).append(", PV := 2, Q => ").append(bool()).append(");\n");
      case 9 -> out.append("sr(S1 := ").append(condition(1)).append(", R := ").append(condition(0)).append(");\n");
      case 10 -> out.append("seal[").append(random.nextInt(2)).append("](on := ").append(condition(1)).append(", off := ").append(condition(0)).append(");\n");
      case 11 -> out.append("unit[").append(random.nextInt(2)).append("](x := ").append(condition(0)).append(", y := ").append(condition(1)).append(", q => ")
          .append(bool()).append(");\n");
      case 12 -> rare();
      case 13 -> out.append("n := SEL(").append(condition(1)).append(", n, n + 1) MOD 50;\n");
      case 14, 15, 16, 17 -> {
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
        if (random.nextInt(12) == 0 && rows > 25) {
          out.append("RETURN;\n");
        }
        out.append("END_IF;\n");
      }
      case 18 -> {
        out.append("CASE n MOD 4 OF\n 0: ");
        networks(2);
        out.append(" 1..2: ");
        statements(1, depth - 1);
        out.append("ELSE ");
        networks(1);
        out.append("END_CASE;\n");
      }
      case 19 -> {
        if (random.nextInt(3) == 0) {
          out.append("FOR f := 0 TO 7 DO arr[f] := arr[f] XOR ").append(condition(0)).append("; IF ").append(condition(0))
              .append(" THEN " + pick("EXIT", "CONTINUE", "RETURN") + "; END_IF; END_FOR;\n");
        } else {
          networks(3);
        }
      }
      default -> throw new IllegalStateException();
    }
  }

  private void rare() {
    switch (random.nextInt(18)) {
      case 14 -> out.append("r := r * 0.5 + INT_TO_REAL(n); ").append(bool()).append(" := r > 3.5;\n");
      case 15 -> out.append("l := -l + 1.25; ").append(bool()).append(" := l <= 1.0 OR ").append(condition(0)).append(";\n");
      case 16 -> out.append("u := u - ULINT#1; IF u > ULINT#16#8000000000000000 OR ").append(condition(0)).append(" THEN u := MAX(u, ULINT#3) * ULINT#3; END_IF;\n");
      case 17 -> out.append("k := INT_TO_DINT(n) * 3 - k; n := MIN(n, 40);\n");
      case 0 -> out.append("share(flag := ").append(bool()).append(", set := ").append(condition(0)).append(");\n");
      case 1 -> out.append("w.%X").append(random.nextInt(16)).append(" := ").append(condition(1)).append(";\n");
      case 2 -> out.append("mw := mw XOR INT_TO_WORD(n);\n");
      case 3 -> out.append("other := rec; rec.n := n;\n");
      case 4 -> out.append("arr[n MOD 8] := ").append(condition(1)).append(";\n");
      case 5 -> out.append("IF ").append(condition(1)).append(" THEN k := k / (INT_TO_DINT(iw) / 40); END_IF;\n");
      case 6 -> out.append("IF ").append(condition(1)).append(" AND in0 THEN arr[iw / 8] := TRUE; END_IF;\n");
      case 7 -> out.append("p := REF(").append(bool()).append("); p^ := NOT p^;\n");
      case 8 -> out.append("qb := ib;\n");
      case 9 -> out.append("n := iw;\n");
      case 10 -> out.append("WHILE n > 3 AND ").append(condition(1)).append(" DO n := n - 1; END_WHILE;\n");
      case 11 -> out.append("n := DIV(EN := ").append(condition(0)).append(", IN1 := n, IN2 := iw, ENO => ").append(bool()).append(");\n");
      case 12 -> out.append(bool()).append(" := Vote(EN := ").append(condition(0)).append(", x := in0, y := in1, z := ").append(bool()).append(");\n");
      case 13 -> out.append("n := LIMIT(0, n, 7);\n");
      default -> throw new IllegalStateException();
    }
  }

  static List<String> watched() {
    List<String> all = new ArrayList<>();
    for (int i = 0; i < BOOLS; i++) {
      all.add("b" + i);
    }
    for (int i = 0; i < 8; i++) {
      all.add("arr[" + i + "]");
    }
    for (int i = 0; i < 3; i++) {
      all.addAll(List.of("ton[" + i + "].Q", "ton[" + i + "].ET", "ton[" + i + "].IN"));
    }
    all.addAll(List.of("in0", "in1", "ib", "iw", "q0", "q1", "qb", "m0", "mw", "n", "k", "r", "l", "u", "w", "rec.a", "rec.n", "rec.b", "other.a", "other.n", "other.b", "f",
        "tof.Q", "tof.ET", "ctu.CV", "ctu.Q", "up.Q", "down.Q", "sr.Q1", "seal[0].q", "seal[0].changed", "seal[1].q", "seal[1].last", "unit[0].a", "unit[0].b",
        "unit[0].t.ET", "unit[1].c", "unit[1].d", "unit[1].q", "unit[1].s.Q1", "share.set"));
    return all;
  }
}
