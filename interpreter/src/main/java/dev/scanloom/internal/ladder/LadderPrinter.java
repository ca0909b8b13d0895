package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.List;

/**
 * Graph to canonical text: a drawing that {@link LadderReader} reads back into the same graph (places and spans aside).
 *
 * <p>Layout: contacts and boxes in columns by how far from the rail they stand, coils and jumps in one column at the right, operands
 * centred over their elements, both rails drawn. Series run along a row; every further branch gets rows of its own below. Links are OR
 * joints of all their sources at once, so nested branches come out flat.
 *
 * <p>What text cannot show is left out or approximated: a network whose parts hang together only by links that carry nothing (joined at the
 * right rail, say) is printed as several; a mark at an input that has no link is dropped; a chain of more than some 500 elements in series
 * is wider than {@value Grid#MAX_WIDTH} columns, which the reader does not read.
 *
 * <p>Stateless; safe for use by several threads.
 */
public final class LadderPrinter {
  private LadderPrinter() {}

  /** The drawing as lines, each ended by LF; empty for a drawing without networks. */
  public static String print(Drawing drawing) {
    List<NetworkLayout> layouts = new ArrayList<>(drawing.networks().size());
    int width = 12;
    for (Drawing.Network n : drawing.networks()) {
      NetworkLayout layout = NetworkLayout.of(n);
      layouts.add(layout);
      width = Math.max(width, layout.naturalWidth());
    }
    StringBuilder out = new StringBuilder();
    for (int i = 0; i < layouts.size(); i++) {
      Drawing.Network n = drawing.networks().get(i);
      if (!n.comment().isEmpty()) {
        for (String line : n.comment().split("\n", -1)) {
          boolean marks = line.contains("*)") || line.contains("(*") || line.endsWith("*") || line.startsWith(")");
          out.append(marks ? "// " + line : "(* " + line + " *)").append('\n');
        }
      }
      if (n.label().isPresent()) {
        if (i == 0) { // the first character of a ladder body is a rail
          out.append(blankRow(width));
        }
        out.append(n.label().get().text()).append(":\n");
      }
      String rows = layouts.get(i).paint(width);
      if (n.label().isEmpty() && n.comment().isEmpty() && touches(out, rows, width)) {
        out.append(blankRow(width));
      }
      out.append(rows);
    }
    return out.toString();
  }

  private static String blankRow(int width) {
    return "|" + " ".repeat(width - 2) + "|\n";
  }

  /** Whether a vertical link or border of the last row would run into one of the next network. */
  private static boolean touches(StringBuilder out, String rows, int width) {
    int start = out.length() < 2 ? 0 : out.lastIndexOf("\n", out.length() - 2) + 1;
    int[] last = out.substring(start).codePoints().toArray();
    int[] next = rows.codePoints().limit(width).toArray();
    for (int c = 1; c < width - 1 && c < last.length; c++) {
      if ((last[c] == '+' || last[c] == '|') && (next[c] == '+' || next[c] == '|')) {
        return true;
      }
    }
    return false;
  }
}
