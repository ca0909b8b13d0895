package dev.scanloom.report;

import java.util.ArrayList;
import java.util.List;

/**
 * A table as a value, with its forms: text for terminals, CSV, JSON Lines. Immutable; every form is inert (control characters are never passed on, no
 * CSV cell becomes a formula).
 *
 * @param caption one line above the table; may be empty
 * @param head column names
 * @param rows cells, as many as the head has
 */
public record Tables(String caption, List<String> head, List<List<String>> rows) {
  /** Checks that every row fits the head. */
  public Tables {
    head = List.copyOf(head);
    rows = rows.stream().map(List::copyOf).toList();
    for (List<String> r : rows) {
      if (r.size() != head.size()) {
        throw new IllegalArgumentException("a row of " + r.size() + " cells under a head of " + head.size());
      }
    }
  }

  /** One line of text that cannot do anything to a terminal: control characters and direction marks are shown as {@code \}{@code u{hex}}. */
  public static String inert(String text) {
    return Markup.inert(text);
  }

  /** {@link #text(int)} for 160 columns. */
  public String text() {
    return text(160);
  }

  /**
   * Columns padded with blanks; long heads and cells are broken at blanks; what is wider than {@code width} goes on below under the first column again.
   * Lines end with LF.
   */
  public String text(int width) {
    int n = head.size();
    List<List<List<String>>> lines = new ArrayList<>();
    int[] widths = new int[n];
    List<List<String>> all = new ArrayList<>();
    all.add(head);
    all.addAll(rows);
    for (int r = 0; r < all.size(); r++) {
      List<List<String>> row = new ArrayList<>();
      for (int c = 0; c < n; c++) {
        List<String> broken = wrap(Markup.inert(all.get(r).get(c)), c == 0 ? 46 : r == 0 ? 10 : 24);
        for (String s : broken) {
          widths[c] = Math.max(widths[c], s.codePointCount(0, s.length()));
        }
        row.add(broken);
      }
      lines.add(row);
    }
    StringBuilder b = new StringBuilder();
    if (!caption.isEmpty()) {
      b.append(Markup.inert(caption)).append("\n\n");
    }
    for (int from = 1; from < Math.max(2, n); ) {
      int to = from;
      int used = n == 0 ? 0 : widths[0];
      while (to < n && (to == from || used + 2 + widths[to] <= width)) {
        used += 2 + widths[to++];
      }
      b.append(from > 1 ? "\n" : "");
      block(b, lines, widths, from, to);
      from = Math.max(to, from + 1);
    }
    return b.toString();
  }

  private static void block(StringBuilder b, List<List<List<String>>> lines, int[] widths, int from, int to) {
    for (int r = 0; r < lines.size(); r++) {
      int height = lines.get(r).get(0).size();
      for (int c = from; c < to; c++) {
        height = Math.max(height, lines.get(r).get(c).size());
      }
      for (int h = 0; h < height; h++) {
        StringBuilder line = new StringBuilder();
        for (int c = 0; c < to; c = c == 0 ? from : c + 1) {
          List<String> cell = lines.get(r).get(c);
          int at = r == 0 ? h - (height - cell.size()) : h;
          String s = at >= 0 && at < cell.size() ? cell.get(at) : "";
          line.append(c == 0 ? "" : "  ").append(s).append(" ".repeat(widths[c] - s.codePointCount(0, s.length())));
        }
        b.append(line.toString().stripTrailing()).append('\n');
      }
      if (r == 0) {
        StringBuilder line = new StringBuilder();
        for (int c = 0; c < to; c = c == 0 ? from : c + 1) {
          line.append(c == 0 ? "" : "  ").append("-".repeat(widths[c]));
        }
        b.append(line).append('\n');
      }
    }
  }

  private static List<String> wrap(String text, int most) {
    List<String> out = new ArrayList<>();
    StringBuilder line = new StringBuilder();
    for (String word : text.split(" ")) {
      if (line.length() > 0 && line.length() + 1 + word.length() > most) {
        out.add(line.toString());
        line.setLength(0);
      }
      line.append(line.length() > 0 ? " " : "").append(word);
    }
    out.add(line.toString());
    return out;
  }

  /** RFC 4180 with LF; a cell that a spreadsheet would take for a formula is led by an apostrophe. */
  public String csv() {
    StringBuilder b = new StringBuilder();
    csvRow(b, head);
    rows.forEach(r -> csvRow(b, r));
    return b.toString();
  }

  private static void csvRow(StringBuilder b, List<String> cells) {
    for (int i = 0; i < cells.size(); i++) {
      cell(b.append(i == 0 ? "" : ","), cells.get(i));
    }
    b.append('\n');
  }

  static void cell(StringBuilder b, String text) {
    String t = Markup.inert(text);
    if (!t.isEmpty() && ("=+@".indexOf(t.charAt(0)) >= 0 || t.charAt(0) == '-' && !(t.length() > 1 && t.charAt(1) >= '0' && t.charAt(1) <= '9'))) {
      t = "'" + t;
    }
    b.append(t.indexOf(',') < 0 && t.indexOf('"') < 0 ? t : "\"" + t.replace("\"", "\"\"") + "\"");
  }

  /** One JSON object per row, keys from the head, all values strings. */
  public String jsonLines() {
    StringBuilder b = new StringBuilder();
    for (List<String> r : rows) {
      for (int i = 0; i < r.size(); i++) {
        b.append(i == 0 ? '{' : ',');
        Markup.json(b, head.get(i));
        b.append(':');
        Markup.json(b, r.get(i));
      }
      b.append("}\n");
    }
    return b.toString();
  }
}
