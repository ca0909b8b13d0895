package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.BitSet;
import java.util.List;

/** The characters of one element around its main row, and where links reach it. Columns count from the shape's own left edge. */
abstract class Shape {
  /** Rows needed above and below the main row. */
  abstract int above();

  abstract int below();

  abstract int width();

  /** First row of the element itself, relative to its main row. */
  int firstRow() {
    return 0;
  }

  /** Number of output pins of a box; 0 for everything else. */
  int outputs() {
    return 0;
  }

  /** Row of an output, relative to the main row. */
  int outputRow(int pin) {
    return 0;
  }

  /** Row of an input of a box, relative to the main row. */
  int inputRow(int input) {
    return 0;
  }

  /** Column of the last character at an output's right end. */
  abstract int outputColumn(int pin);

  /** Column of the first character of the input on a row. */
  abstract int inputColumn(int row);

  /** A right end without consumer is drawn up to the right rail. */
  abstract boolean endsAtRight(int pin);

  boolean leftAligned() {
    return false;
  }

  abstract void paint(int[][] cells, int y, int x);

  /** Columns are code points. */
  static void put(int[][] cells, int y, int x, String text) {
    int at = x;
    for (int i = 0; i < text.length(); i += Character.charCount(text.codePointAt(i))) {
      cells[y][at++] = text.codePointAt(i);
    }
  }

  static int len(String text) {
    return text.codePointCount(0, text.length());
  }

  static Shape of(Drawing.Element e, BitSet outputsUsed) {
    return e.accept(new Drawing.Visitor<Shape>() {
      @Override
      public Shape contact(Drawing.Contact c) {
        String mark = switch (c.mark()) {
          case NORMAL -> " ";
          case NEGATED -> "/";
          case RISING -> "P";
          case FALLING -> "N";
        };
        return new Symbol("|" + mark + "|", ExpressionText.word(c.operand()), "", true);
      }

      @Override
      public Shape compare(Drawing.Compare c) {
        String mark = switch (c.comparison()) {
          case EQ -> "=";
          case NE -> "<>";
          case LT -> "<";
          case LE -> "<=";
          case GT -> ">";
          case GE -> ">=";
        };
        return new Symbol("|" + mark + c.type().map(t -> " " + t).orElse("") + "|", ExpressionText.word(c.first()),
            ExpressionText.word(c.second()), true);
      }

      @Override
      public Shape coil(Drawing.Coil c) {
        String mark = switch (c.mark()) {
          case NORMAL -> " ";
          case NEGATED -> "/";
          case SET -> "S";
          case RESET -> "R";
          case RISING -> "P";
          case FALLING -> "N";
        };
        return new Symbol("(" + mark + ")", ExpressionText.word(c.operand()), "", true);
      }

      @Override
      public Shape jump(Drawing.Jump j) {
        return new Symbol(">>" + j.target().text(), "", "", false);
      }

      @Override
      public Shape returnFrom(Drawing.Return r) {
        return new Symbol("<RETURN>", "", "", false);
      }

      @Override
      public Shape box(Drawing.Box b) {
        return new BoxShape(b, outputsUsed);
      }
    });
  }

  /** Contact, coil, jump, return. */
  private static final class Symbol extends Shape {
    private final String symbol;
    private final String over;
    private final String under;
    private final boolean goesOn;
    private final int width;

    Symbol(String symbol, String over, String under, boolean goesOn) {
      this.symbol = symbol;
      this.over = over;
      this.under = under;
      this.goesOn = goesOn;
      width = Math.max(len(symbol), Math.max(len(over), len(under)));
    }

    @Override
    int above() {
      return over.isEmpty() ? 0 : 1;
    }

    @Override
    int below() {
      return under.isEmpty() ? 0 : 1;
    }

    @Override
    int width() {
      return width;
    }

    @Override
    int outputColumn(int pin) {
      return inputColumn(0) + len(symbol) - 1;
    }

    @Override
    int inputColumn(int row) {
      return (width - len(symbol)) / 2;
    }

    @Override
    boolean endsAtRight(int pin) {
      return goesOn;
    }

    @Override
    boolean leftAligned() {
      return !goesOn;
    }

    @Override
    void paint(int[][] cells, int y, int x) {
      put(cells, y, x + inputColumn(0), symbol);
      if (!over.isEmpty()) {
        put(cells, y - 1, x + (width - len(over)) / 2, over);
      }
      if (!under.isEmpty()) {
        put(cells, y + 1, x + (width - len(under)) / 2, under);
      }
    }
  }

  /** One row of pins: indices of input and output or -1, and how many rows its right side takes. */
  private record PinRow(int input, int output, int rows) {}

  private static final class BoxShape extends Shape {
    private static final int LINK = 2;

    private final Drawing.Box box;
    private final BitSet used;
    private final List<PinRow> pins = new ArrayList<>();
    private final int[] firstLine; // line of each pin row below the type row
    private final int[] rowOfInput;
    private final int[] rowOfOutput;
    private final String instance;
    private int lines;
    private int mainLine;
    private final int left;
    private final int inner;
    private final int width;

    BoxShape(Drawing.Box box, BitSet used) {
      this.box = box;
      this.used = used;
      instance = box.instance().map(ExpressionText::word).orElse("");
      pair();
      firstLine = new int[pins.size()];
      rowOfInput = new int[box.inputs().size()];
      rowOfOutput = new int[box.outputs().size()];
      for (int i = 0; i < pins.size(); i++) {
        firstLine[i] = lines;
        lines += pins.get(i).rows;
        if (pins.get(i).input >= 0) {
          rowOfInput[pins.get(i).input] = firstLine[i];
        }
        if (pins.get(i).output >= 0) {
          rowOfOutput[pins.get(i).output] = firstLine[i];
        }
      }
      mainLine = findMain();
      int l = 0;
      for (Drawing.Input p : box.inputs()) {
        int mark = p.negated() ? 1 : 0;
        if (p.value().isPresent()) {
          l = Math.max(l, len(ExpressionText.word(p.value().get())) + LINK + mark);
        } else if (p.link().isPresent()) {
          l = Math.max(l, 1 + mark);
        }
      }
      left = l;
      int in = Math.max(len(box.type().text()) + 2, 3);
      for (PinRow p : pins) {
        String a = leftName(p);
        String b = rightName(p);
        in = Math.max(in, len(a) + len(b) + (isInOut(p) ? 2 : 1));
      }
      int shortest = Math.max(0, len(instance) - 2);
      inner = Math.max(in, Math.min(shortest, in + 8));
      int r = 0;
      for (int k = 0; k < box.outputs().size(); k++) {
        Drawing.Output p = box.outputs().get(k);
        int mark = p.negated() ? 1 : 0;
        for (var t : p.targets()) {
          r = Math.max(r, mark + 2 * LINK + 1 + len(ExpressionText.word(t)));
        }
        r = Math.max(r, mark);
      }
      // A long instance name hangs over on both sides alike.
      int hang = Math.max(0, (len(instance) - inner - 2 + 1) / 2);
      leftEdge = Math.max(left, hang);
      width = leftEdge + inner + 2 + Math.max(r, hang);
    }

    private final int leftEdge;

    private boolean isInOut(PinRow p) {
      return p.input >= 0 && box.inputs().get(p.input).inOut();
    }

    private String leftName(PinRow p) {
      return p.input < 0 ? "" : box.inputs().get(p.input).name().map(Object::toString).orElse("");
    }

    private String rightName(PinRow p) {
      if (isInOut(p)) {
        return leftName(p);
      }
      return p.output < 0 ? "" : box.outputs().get(p.output).name().map(Object::toString).orElse("");
    }

    /** Inputs and outputs side by side in their orders; an in-out has both its sides on one row. */
    private void pair() {
      int i = 0;
      int o = 0;
      while (i < box.inputs().size() || o < box.outputs().size()) {
        Drawing.Input in = i < box.inputs().size() ? box.inputs().get(i) : null;
        Drawing.Output out = o < box.outputs().size() ? box.outputs().get(o) : null;
        if (in != null && in.inOut()) {
          int match = matching(in, o);
          while (match > o) {
            row(-1, o++);
          }
          row(i++, match < 0 ? -1 : o++);
        } else if (out != null && out.inOut() && in != null) {
          row(i++, -1);
        } else {
          row(in == null ? -1 : i++, out == null ? -1 : o++);
        }
      }
    }

    private int matching(Drawing.Input in, int from) {
      for (int k = from; k < box.outputs().size(); k++) {
        Drawing.Output out = box.outputs().get(k);
        if (out.inOut() && out.name().isPresent() && in.name().isPresent() && out.name().get().key().equals(in.name().get().key())) {
          return k;
        }
      }
      return -1;
    }

    private void row(int input, int output) {
      int ends = output < 0 ? 0 : box.outputs().get(output).targets().size() + (isLinked(output) ? 1 : 0);
      pins.add(new PinRow(input, output, ends < 2 ? 1 : ends + 1)); // one row more keeps the forks of two pins apart
    }

    private boolean isLinked(int output) {
      return used.get(output) || endsAtRight(output);
    }

    private int findMain() {
      for (int i = 0; i < box.inputs().size(); i++) {
        if (box.inputs().get(i).link().isPresent()) {
          return rowOfInput[i];
        }
      }
      for (int k = 0; k < box.outputs().size(); k++) {
        if (isLinked(k)) {
          return rowOfOutput[k];
        }
      }
      return 0;
    }

    @Override
    int above() {
      return mainLine + 3;
    }

    @Override
    int below() {
      return Math.max(0, lines - mainLine);
    }

    @Override
    int firstRow() {
      return -mainLine - 2;
    }

    @Override
    int width() {
      return width;
    }

    @Override
    int outputs() {
      return box.outputs().size();
    }

    @Override
    int outputRow(int pin) {
      return pin < rowOfOutput.length ? rowOfOutput[pin] - mainLine : 0;
    }

    @Override
    int inputRow(int input) {
      return rowOfInput[input] - mainLine;
    }

    @Override
    int outputColumn(int pin) {
      return leftEdge + inner + 1 + (box.outputs().get(pin).negated() ? 1 : 0);
    }

    @Override
    int inputColumn(int row) {
      for (int i = 0; i < rowOfInput.length; i++) {
        if (rowOfInput[i] - mainLine == row) {
          return leftEdge - (box.inputs().get(i).negated() ? 1 : 0);
        }
      }
      return leftEdge;
    }

    /** An output that would vanish from the drawing, having neither a name of its own nor anything at its right, is led to the rail. */
    @Override
    boolean endsAtRight(int pin) {
      if (pin >= box.outputs().size()) {
        return false;
      }
      Drawing.Output out = box.outputs().get(pin);
      return !used.get(pin) && out.targets().isEmpty() && (out.name().isEmpty() || out.inOut());
    }

    @Override
    void paint(int[][] cells, int y, int x) {
      int top = y + firstRow();
      int from = x + leftEdge;
      int to = from + inner + 1;
      put(cells, top, from, "+" + "-".repeat(inner) + "+");
      put(cells, top + 2 + lines, from, "+" + "-".repeat(inner) + "+");
      for (int k = 0; k <= lines; k++) {
        cells[top + 1 + k][from] = '|';
        cells[top + 1 + k][to] = '|';
      }
      put(cells, top + 1, from + 1 + (inner - len(box.type().text())) / 2, box.type().text());
      if (!instance.isEmpty()) {
        put(cells, top - 1, Math.max(x, from + (inner + 2 - len(instance)) / 2), instance);
      }
      for (int i = 0; i < pins.size(); i++) {
        paintRow(cells, pins.get(i), top + 2 + firstLine[i], from, to);
      }
    }

    private void paintRow(int[][] cells, PinRow p, int y, int from, int to) {
      String a = leftName(p);
      String b = rightName(p);
      if (isInOut(p)) {
        put(cells, y, from + 1, "-".repeat(inner));
      }
      put(cells, y, from + 1, a);
      put(cells, y, to - len(b), b);
      if (p.input >= 0) {
        Drawing.Input in = box.inputs().get(p.input);
        switch (in.edge()) {
          case NONE -> { }
          case RISING -> cells[y][from] = '>';
          case FALLING -> cells[y][from] = '<';
        }
        int at = from - 1;
        if (in.negated() && (in.value().isPresent() || in.link().isPresent())) {
          cells[y][at--] = 'O';
        }
        if (in.value().isPresent()) {
          String word = ExpressionText.word(in.value().get());
          put(cells, y, at - LINK - len(word) + 1, word + "-".repeat(LINK));
        }
      }
      if (p.output >= 0) {
        Drawing.Output out = box.outputs().get(p.output);
        int at = to + 1;
        boolean linked = isLinked(p.output);
        if (out.negated() && (linked || !out.targets().isEmpty())) {
          cells[y][at++] = 'O';
        }
        List<String> words = out.targets().stream().map(ExpressionText::word).toList();
        if (words.size() == 1 && !linked) {
          put(cells, y, at, "-".repeat(LINK + 1) + words.get(0));
        } else if (!words.isEmpty()) {
          for (int k = 0; k < words.size() + (linked ? 1 : 0); k++) {
            boolean link = linked && k == 0;
            if (k == 0) {
              put(cells, y, at, "-".repeat(LINK));
            }
            cells[y + k][at + LINK] = '+';
            if (!link) {
              put(cells, y + k, at + LINK + 1, "-".repeat(LINK) + words.get(linked ? k - 1 : k));
            }
          }
        }
      }
    }
  }
}
