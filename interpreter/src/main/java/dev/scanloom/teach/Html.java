package dev.scanloom.teach;

import java.util.List;

/** Text of programs and people made inert for pages and terminals, and the one style of all sheets. */
final class Html {
  private Html() {}

  /** For content and for attributes in double quotes. */
  static String escape(String text) {
    StringBuilder b = new StringBuilder(text.length() + 16);
    text.codePoints().forEach(c -> {
      switch (c) {
        case '&' -> b.append("&amp;");
        case '<' -> b.append("&lt;");
        case '>' -> b.append("&gt;");
        case '"' -> b.append("&quot;");
        case '\'' -> b.append("&#39;");
        case '\n' -> b.append('\n');
        default -> {
          boolean forbidden = c < 32 || c >= 127 && c < 160 || c >= 0xD800 && c < 0xE000 || (c & 0xFFFE) == 0xFFFE
              || Character.getType(c) == Character.FORMAT;
          b.appendCodePoint(forbidden ? c == '\t' ? ' ' : 0xFFFD : c);
        }
      }
    });
    return b.toString();
  }

  /** One line for a terminal. */
  static String inert(String text) {
    StringBuilder b = new StringBuilder(text.length());
    text.codePoints().forEach(c -> {
      int type = Character.getType(c);
      b.appendCodePoint(type == Character.CONTROL || type == Character.FORMAT || type == Character.SURROGATE
          || type == Character.LINE_SEPARATOR
          || type == Character.PARAGRAPH_SEPARATOR ? ' ' : c);
    });
    return b.toString();
  }

  /** Paragraphs parted by empty lines. */
  static void paragraphs(StringBuilder b, String text) {
    for (String p : text.split("\n\\s*\n")) {
      if (!p.isBlank()) {
        b.append("<p>").append(escape(p.strip())).append("</p>\n");
      }
    }
  }

  /** A program's text with line numbers that are not copied. */
  static void program(StringBuilder b, String text) {
    List<String> lines = text.stripTrailing().lines().toList();
    b.append("<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Program text\"><pre class=\"code\">");
    for (String line : lines) {
      b.append("<span class=\"ln\">").append(escape(line)).append("\n</span>");
    }
    b.append("</pre></div>\n");
  }

  static StringBuilder head(String title) {
    return new StringBuilder("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
        + "content=\"width=device-width,initial-scale=1\">\n"
        + "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n<title>")
        .append(escape(title)).append("</title>\n<style>\n").append(STYLE).append("</style>\n</head>\n<body>\n");
  }

  static final String CAUTION = "Results are for study, not for commissioning or safety functions.";

  static String foot(StringBuilder b) {
    return b.append("<footer><p>").append(CAUTION).append("</p></footer>\n</body>\n</html>\n").toString();
  }

  private static final String STYLE = """
      :root{color-scheme:light dark;--bg:#fff;--panel:#f6f4f9;--ink:#1f1c2b;--soft:#5a5568;--rule:#cfc9da;--accent:#54257f;--mark:#0a5b73}
      @media (prefers-color-scheme:dark){:root{--bg:#15131b;--panel:#1f1c28;--ink:#ece8f4;--soft:#b1abc2;--rule:#443e54;--accent:#d9b3ff;--mark:#8cd8ec}}
      @media print{:root{color-scheme:light;--bg:#fff;--panel:#fff;--ink:#000;--soft:#333;--rule:#888;--accent:#000;--mark:#000}}
      *{box-sizing:border-box}
      body{margin:0 auto;max-width:58rem;padding:1rem 1.2rem 2rem;background:var(--bg);color:var(--ink);font:16px/1.5 system-ui,"DejaVu Sans",sans-serif}
      h1{font-size:1.5rem;line-height:1.25;margin:.4rem 0 .6rem}
      h2{font-size:1.1rem;margin:1.6rem 0 .4rem}
      h3{font-size:1rem;margin:1rem 0 .3rem}
      p{margin:.4rem 0}
      a{color:var(--accent)}
      :focus-visible{outline:3px solid var(--mark);outline-offset:2px}
      nav p{display:flex;flex-wrap:wrap;gap:.3rem 1.1rem}
      .soft,footer{color:var(--soft)}
      .scroll{overflow-x:auto}
      pre.code{margin:.5rem 0;padding:.5rem .6rem;border:1px solid var(--rule);border-radius:6px;background:var(--panel);counter-reset:ln;
        font:13.5px/1.3 ui-monospace,"DejaVu Sans Mono",Consolas,monospace;width:max-content;min-width:100%}
      .ln{display:block;counter-increment:ln}
      .ln::before{content:counter(ln);display:inline-block;width:2.2em;margin-right:1em;text-align:right;color:var(--soft)}
      table{border-collapse:collapse;margin:.5rem 0}
      caption{text-align:left;color:var(--soft)}
      th,td{border:1px solid var(--rule);padding:.2rem .55rem;text-align:left;vertical-align:top}
      th{background:var(--panel);font-weight:600}
      table.index{width:100%;table-layout:fixed}
      table.index th:first-child{width:38%} table.index th:last-child{width:6.2rem} table.index td:last-child{text-align:center}
      td.v{font-family:ui-monospace,"DejaVu Sans Mono",Consolas,monospace;text-align:center}
      ol.questions{padding-left:1.6rem}
      ol.questions>li{margin:.9rem 0;break-inside:avoid}
      ol.options{list-style:none;padding-left:.4rem;margin:.3rem 0}
      ol.options li{margin:.15rem 0}
      .line{border-bottom:1.5px solid var(--soft);height:1.6rem;max-width:26rem}
      .answer{font-weight:700}
      details{border-left:4px solid var(--accent);padding:.2rem 0 .2rem .8rem;margin:.35rem 0}
      summary{cursor:pointer;color:var(--accent);font-weight:600}
      ul.explanation,ul.explanation ul{padding-left:1.2rem;margin:.2rem 0}
      ul.explanation li{margin:.1rem 0}
      .place{color:var(--soft);font-size:.85rem;white-space:nowrap}
      figure{margin:.8rem 0;break-inside:avoid}
      figcaption{color:var(--soft);font-size:.9rem}
      figure svg{max-width:100%;height:auto}
      .lesson{border:2px solid var(--accent);border-radius:6px;padding:.3rem .9rem;margin:1rem 0;break-inside:avoid}
      section.exercise{margin-top:2.2rem}
      section.exercise+section.exercise{border-top:2px solid var(--rule);padding-top:.6rem}
      footer{margin-top:2rem;border-top:1px solid var(--rule);font-size:.9rem}
      @media print{
        @page{margin:17mm 15mm}
        body{max-width:none;padding:0;font-size:10.5pt}
        h1{font-size:15pt} h2{font-size:12pt;break-after:avoid} h3{break-after:avoid}
        nav,.screen-only{display:none}
        pre.code{font-size:8.6pt;break-inside:avoid;width:auto;white-space:pre}
        .scroll{overflow:visible}
        section.exercise+section.exercise{break-before:page;border-top:0}
        .place{white-space:normal}
        table,.answer{break-inside:avoid}
      }
      """;
}
