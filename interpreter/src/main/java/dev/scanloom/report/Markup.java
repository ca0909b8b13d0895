package dev.scanloom.report;

/** The one place where text from programs becomes inert in HTML, SVG, JSON, and on terminals. */
final class Markup {
  private Markup() {}

  /** Text for HTML and SVG content and for attributes in double quotes; control characters that XML forbids become a replacement character. */
  static String escape(String text) {
    StringBuilder b = new StringBuilder(text.length() + 16);
    text.codePoints().forEach(c -> {
      switch (c) {
        case '&' -> b.append("&amp;");
        case '<' -> b.append("&lt;");
        case '>' -> b.append("&gt;");
        case '"' -> b.append("&quot;");
        case '\'' -> b.append("&#39;");
        case '\t', '\n', '\r' -> b.append((char) c);
        default -> {
          if (c < 32 || (c >= 127 && c < 160) || (c >= 0xD800 && c < 0xE000) || c == 0xFFFE || c == 0xFFFF) {
            b.append('\uFFFD');
          } else {
            b.appendCodePoint(c);
          }
        }
      }
    });
    return b.toString();
  }

  /** A JSON string with its quotes; safe inside a script element too, because no character of markup stays as it is; on a terminal too. */
  static void json(StringBuilder b, String text) {
    b.append('"');
    for (int i = 0; i < text.length(); i++) {
      char c = text.charAt(i);
      switch (c) {
        case '"' -> b.append("\\\"");
        case '\\' -> b.append("\\\\");
        case '\n' -> b.append("\\n");
        case '\t' -> b.append("\\t");
        default -> {
          boolean lone = Character.isHighSurrogate(c) ? i + 1 >= text.length() || !Character.isLowSurrogate(text.charAt(i + 1))
              : Character.isLowSurrogate(c) && (i == 0 || !Character.isHighSurrogate(text.charAt(i - 1)));
          if (c < 32 || c == '<' || c == '>' || c == '&' || (c >= 127 && c < 160) || c == '\u2028' || c == '\u2029' || lone
              || Character.getType(c) == Character.FORMAT) {
            b.append("\\u");
            for (int shift = 12; shift >= 0; shift -= 4) {
              b.append("0123456789abcdef".charAt((c >> shift) & 15));
            }
          } else {
            b.append(c);
          }
        }
      }
    }
    b.append('"');
  }

  /** One line for a terminal: control characters, direction marks and lone surrogates are shown as {@code \}{@code u{hex}}, never sent. */
  static String inert(String text) {
    StringBuilder b = new StringBuilder(text.length());
    text.codePoints().forEach(c -> {
      int type = Character.getType(c);
      if (c == '\t') {
        b.append(' ');
      } else if (type == Character.CONTROL || type == Character.FORMAT || type == Character.SURROGATE || type == Character.LINE_SEPARATOR
          || type == Character.PARAGRAPH_SEPARATOR) {
        b.append("\\u{").append(Integer.toHexString(c)).append('}');
      } else {
        b.appendCodePoint(c);
      }
    });
    return b.toString();
  }
}
