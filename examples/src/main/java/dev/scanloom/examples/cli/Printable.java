package dev.scanloom.examples.cli;

/** Text that cannot do anything to a terminal or a spreadsheet. */
final class Printable {
  private Printable() {}

  private static boolean isActive(int c) {
    int type = Character.getType(c);
    return type == Character.CONTROL || type == Character.FORMAT || type == Character.SURROGATE || type == Character.LINE_SEPARATOR
        || type == Character.PARAGRAPH_SEPARATOR;
  }

  /** One line for a terminal: control characters and direction marks are shown as {@code \}{@code u{hex}}; a tab becomes a blank. */
  static String line(String text) {
    if (text.codePoints().noneMatch(Printable::isActive)) {
      return text;
    }
    StringBuilder b = new StringBuilder(text.length() + 16);
    text.codePoints().forEach(c -> {
      if (c == '\t') {
        b.append(' ');
      } else if (isActive(c)) {
        b.append("\\u{").append(Integer.toHexString(c)).append('}');
      } else {
        b.appendCodePoint(c);
      }
    });
    return b.toString();
  }

  /** Several lines: line ends stay, everything else as {@link #line}. */
  static String lines(String text) {
    StringBuilder b = new StringBuilder();
    int from = 0;
    for (int at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', from)) {
      b.append(line(text.substring(from, at))).append('\n');
      from = at + 1;
    }
    return b.append(line(text.substring(from))).toString();
  }

  /**
   * A CSV cell. Values are IEC literals, which never begin with a formula's first character except for the sign of a number; a name that did would be
   * led by an apostrophe.
   */
  static void cell(StringBuilder b, String text) {
    String t = text;
    if (t.codePoints().anyMatch(Printable::isActive)) {
      StringBuilder hex = new StringBuilder();
      t.codePoints().forEach(c -> {
        if (isActive(c)) {
          String digits = Integer.toHexString(c).toUpperCase(java.util.Locale.ROOT);
          hex.append('$').append("0".repeat(Math.max(0, 4 - digits.length()))).append(digits);
        } else {
          hex.appendCodePoint(c);
        }
      });
      t = hex.toString();
    }
    if (!t.isEmpty() && ("=+@".indexOf(t.charAt(0)) >= 0 || t.charAt(0) == '-' && !(t.length() > 1 && (Character.isDigit(t.charAt(1)) || t.equals("-Infinity"))))) {
      t = "'" + t;
    }
    if (t.indexOf(',') < 0 && t.indexOf('"') < 0) {
      b.append(t);
      return;
    }
    b.append('"').append(t.replace("\"", "\"\"")).append('"');
  }
}
