package dev.scanloom.benchmarks;

import java.util.Locale;
import java.util.SplittableRandom;

/** Boolean networks of three to six contacts, over inputs and each other's coils: as a drawing, as statements, and in the other languages. */
final class Rungs {
  /** A contact: an operand, maybe negated. */
  private record Contact(boolean input, int index, boolean negated) {}

  /** {@code (a and b or c and d) and e and f}: the second row of the branch and the contacts behind it may be missing. */
  private record Network(Contact[] upper, Contact[] lower, Contact[] behind) {}

  private final Network[] networks;
  private final int inputs;

  Rungs(int count, int inputs) {
    this.inputs = inputs;
    SplittableRandom random = new SplittableRandom(count);
    networks = new Network[count];
    for (int n = 0; n < count; n++) {
      networks[n] = new Network(row(random, 1 + random.nextInt(2), n), row(random, random.nextInt(3), n), row(random, 1 + random.nextInt(2), n));
    }
  }

  private Contact[] row(SplittableRandom random, int length, int network) {
    Contact[] all = new Contact[length];
    for (int i = 0; i < length; i++) {
      boolean input = network == 0 || random.nextInt(10) < 6;
      all[i] = new Contact(input, random.nextInt(input ? inputs : networks.length), random.nextInt(3) == 0);
    }
    return all;
  }

  int contacts() {
    int n = 0;
    for (Network k : networks) {
      n += k.upper.length + k.lower.length + k.behind.length;
    }
    return n;
  }

  private String program(String body) {
    return "PROGRAM Rungs\nVAR\n  x AT %IX0.0 : ARRAY [0.." + (inputs - 1) + "] OF BOOL;\n  c : ARRAY [0.." + (networks.length - 1)
        + "] OF BOOL;\nEND_VAR\n" + body + "END_PROGRAM\n";
  }

  private static String name(Contact c) {
    return (c.input ? "x[" : "c[") + c.index + "]";
  }

  /** Statements. */
  String st() {
    StringBuilder b = new StringBuilder();
    for (int n = 0; n < networks.length; n++) {
      b.append("c[").append(n).append("] := ").append(expression(networks[n], " AND ", " OR ", "NOT ", "")).append(";\n");
    }
    return program(b.toString());
  }

  private static String expression(Network n, String and, String or, String not, String yes) {
    String branch = series(n.upper, and, not, yes);
    if (n.lower.length > 0) {
      branch = "(" + branch + or + series(n.lower, and, not, yes) + ")";
    }
    return branch + and + series(n.behind, and, not, yes);
  }

  private static String series(Contact[] row, String and, String not, String yes) {
    StringBuilder b = new StringBuilder();
    for (Contact c : row) {
      b.append(b.length() == 0 ? "" : and).append(c.negated ? not : yes).append(name(c));
    }
    return b.toString();
  }

  /** A drawing. */
  String ladder() {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < networks.length; i++) {
      Network n = networks[i];
      String coil = String.format(Locale.ROOT, "c[%d]", i);
      b.append("|").append(names(n.upper)).append("  ").append(names(n.behind)).append(centred(coil, 13)).append(" |\n");
      b.append("+").append(row(n.upper)).append(n.lower.length > 0 ? "-+" : "--").append(row(n.behind)).append("-----( )------+\n");
      if (n.lower.length > 0) {
        b.append("|").append(names(n.lower)).append(" |").append("                                    |\n");
        b.append("+").append(row(n.lower)).append("-+").append("                                    |\n");
      }
      b.append('\n');
    }
    return program(b.toString());
  }

  private static final int PITCH = 11;

  private static final int PLACES = 2;

  private static String names(Contact[] row) {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < PLACES; i++) {
      b.append(i < row.length ? centred(name(row[i]), PITCH) : " ".repeat(PITCH));
    }
    return b.toString();
  }

  private static String row(Contact[] row) {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < PLACES; i++) {
      b.append(i < row.length ? "----|" + (row[i].negated ? "/" : " ") + "|----" : "-".repeat(PITCH));
    }
    return b.toString();
  }

  private static String centred(String text, int width) {
    int left = (width - text.length()) / 2;
    return " ".repeat(left) + text + " ".repeat(width - text.length() - left);
  }

  /** Java as somebody would write it who knows what is fast: dense arrays, no branches, methods of 50 networks. */
  String java(String className) {
    StringBuilder b = new StringBuilder("package dev.scanloom.benchmarks;\npublic final class " + className + " extends HandWritten.Rungs {\n");
    int parts = (networks.length + 49) / 50;
    for (int p = 0; p < parts; p++) {
      b.append("  private static void part").append(p).append("(boolean[] x, boolean[] c) {\n");
      for (int n = 50 * p; n < Math.min(networks.length, 50 * p + 50); n++) {
        b.append("    c[").append(n).append("] = ").append(expression(networks[n], " & ", " | ", "!", "")).append(";\n");
      }
      b.append("  }\n");
    }
    b.append("  public void run(boolean[] x, boolean[] c) {\n");
    for (int p = 0; p < parts; p++) {
      b.append("    part").append(p).append("(x, c);\n");
    }
    return b.append("  }\n}\n").toString();
  }

  /** Functions of 50 networks over numbers 0 and 1. */
  String javaScript() {
    StringBuilder b = new StringBuilder("var c = []; for (var i = 0; i < " + networks.length + "; i++) c.push(0);\n");
    int parts = (networks.length + 49) / 50;
    for (int p = 0; p < parts; p++) {
      b.append("function part").append(p).append("(x, c) {\n");
      for (int n = 50 * p; n < Math.min(networks.length, 50 * p + 50); n++) {
        b.append("c[").append(n).append("] = ").append(expression(networks[n], " & ", " | ", "1 ^ ", "").replaceAll("1 \\^ ([xc]\\[\\d+\\])", "(1 ^ $1)"))
            .append(";\n");
      }
      b.append("}\n");
    }
    b.append("function scan(n) { var x = rows[n & 255];\n");
    for (int p = 0; p < parts; p++) {
      b.append("part").append(p).append("(x, c);\n");
    }
    return b.append("}\nfunction output(i) { return c[i]; }\n").toString();
  }

  /** Functions of 50 networks over truth values. */
  String lua() {
    StringBuilder b = new StringBuilder("local c = {} for i = 0, " + (networks.length - 1) + " do c[i] = false end\n");
    int parts = (networks.length + 49) / 50;
    b.append("local parts = {}\n");
    for (int p = 0; p < parts; p++) {
      b.append("parts[").append(p).append("] = function(x, c)\n");
      for (int n = 50 * p; n < Math.min(networks.length, 50 * p + 50); n++) {
        b.append("c[").append(n).append("] = ").append(expression(networks[n], " and ", " or ", "not ", "")).append("\n");
      }
      b.append("end\n");
    }
    b.append("function scan(n) local x = bits[n % 256] for p = 0, ").append(parts - 1).append(" do parts[p](x, c) end end\n");
    return b.append("function output(i) return c[i] and 1 or 0 end\n").toString();
  }
}
