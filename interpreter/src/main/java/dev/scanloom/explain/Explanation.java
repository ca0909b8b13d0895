package dev.scanloom.explain;

import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;

/**
 * Why a variable, terminal or ladder element holds its value at a moment: a tree of {@link Fact}s, without guesses. Complete: every chain
 * ends in a field change, external write, force, initial or retained value, constant or the clock, or says that it goes further back than
 * is kept. Minimal: of a series without power only an element that blocked, of parallel branches with power only one that conducted, of a
 * selection the selector and what it chose.
 *
 * <p>Immutable and safe for use by several threads; it does not depend on the recorder any more.
 */
public final class Explanation {
  private final String subject;
  private final boolean field;
  private final long scan;
  private final Fact root;
  private final List<Fact> facts;

  Explanation(String subject, boolean field, long scan, Fact root) {
    this.subject = subject;
    this.field = field;
    this.scan = scan;
    this.root = root;
    List<Fact> all = new ArrayList<>();
    number(root, all);
    this.facts = List.copyOf(all);
  }

  private static void number(Fact f, List<Fact> all) {
    if (f.id() != 0) {
      return;
    }
    all.add(f);
    f.number(all.size());
    for (Fact b : f.because()) {
      number(b, all);
    }
  }

  /** Name of what is explained. */
  public String subject() {
    return subject;
  }

  /** It is the terminal that is explained, not memory. */
  public boolean isField() {
    return field;
  }

  /** The scan asked about; 0 before the first. */
  public long scan() {
    return scan;
  }

  /** The value explained, as an IEC literal where the type is known. */
  public String value() {
    return root.value();
  }

  /** The tree. */
  public Fact root() {
    return root;
  }

  /** All facts, each once, in the order of first mention; fact number n stands at n - 1. */
  public List<Fact> facts() {
    return facts;
  }

  /** Ends of chains, in the order of first mention. */
  public List<Fact> leaves() {
    return facts.stream().filter(f -> f.because().isEmpty()).toList();
  }

  /** Facts of a kind, in the order of first mention. */
  public List<Fact> facts(Fact.Kind kind) {
    return facts.stream().filter(f -> f.kind() == kind).toList();
  }

  /**
   * The explanation as indented text, one fact a line, each with its place; computations and constants are left to the reader, and of
   * what a library body wrote only what came from outside it is told. Ends with a line end.
   */
  public String text() {
    return text(Integer.MAX_VALUE, false);
  }

  /** The same down to so many levels. */
  public String text(int levels) {
    return text(levels, false);
  }

  /**
   * The same down to so many levels.
   *
   * @param inside library bodies are told step by step as well
   */
  public String text(int levels, boolean inside) {
    StringBuilder b = new StringBuilder();
    line(b, root, 0, levels, inside, new LinkedHashSet<>(), false);
    return b.toString();
  }

  private static void line(StringBuilder b, Fact f, int level, int levels, boolean inside, Set<Integer> said, boolean because) {
    b.append("  ".repeat(level)).append(because ? "because " : "").append(inert(f.words()));
    f.span().ifPresent(s -> b.append(" (").append(inert(s.place())).append(')'));
    List<Fact> reasons = spoken(f, inside);
    if (!said.add(f.id())) {
      b.append(reasons.isEmpty() ? "\n" : ", as told above\n");
      return;
    }
    if (level + 1 >= levels && !reasons.isEmpty()) {
      b.append(" ...\n");
      return;
    }
    b.append('\n');
    boolean first = f.kind() == Fact.Kind.WRITE || f.kind() == Fact.Kind.DECISION || f.kind() == Fact.Kind.UNCHANGED;
    for (Fact r : reasons) {
      if (!(said.contains(r.id()) && (r.kind() == Fact.Kind.DECISION || f.isLibrary()))) {
        line(b, r, level + 1, levels, inside, said, first);
      }
    }
  }

  /** What a person wants to hear: computations give way to what they are made of, constants stay silent where there is anything else. */
  private static List<Fact> spoken(Fact f, boolean inside) {
    Set<Integer> seen = new LinkedHashSet<>();
    List<Fact> all = new ArrayList<>();
    collect(f, !inside && f.isLibrary(), seen, all);
    List<Fact> events = all.stream().filter(x -> x.kind() != Fact.Kind.CONSTANT).toList();
    return events.isEmpty() ? all : events;
  }

  private static void collect(Fact f, boolean through, Set<Integer> seen, List<Fact> to) {
    for (Fact r : f.because()) {
      if (!seen.add(r.id())) {
        continue;
      }
      boolean hidden = through && r.isLibrary() && !r.kind().isLeaf();
      if (r.kind() == Fact.Kind.COMPUTATION || hidden) {
        collect(r, through, seen, to);
      } else if (!(through && (r.kind() == Fact.Kind.INITIAL || r.isLibrary() && r.kind() == Fact.Kind.CONSTANT))) {
        to.add(r);
      }
    }
  }

  /** Program text never becomes a terminal's control sequence. */
  private static String inert(String s) {
    StringBuilder b = new StringBuilder(s.length());
    s.codePoints().forEach(c -> {
      int type = Character.getType(c);
      b.appendCodePoint(type == Character.CONTROL || type == Character.FORMAT || type == Character.LINE_SEPARATOR
          || type == Character.PARAGRAPH_SEPARATOR
          ? ' ' : c);
    });
    return b.toString();
  }

  /**
   * The explanation as one JSON object: {@code subject}, {@code place} ({@code memory} or {@code field}), {@code scan}, {@code value},
   * and {@code facts}, an array in which fact n stands at n - 1; {@code because} holds numbers of facts. 64-bit quantities are strings.
   */
  public String json() {
    StringBuilder b = new StringBuilder("{\"subject\":");
    quote(b, subject);
    b.append(",\"place\":\"").append(field ? "field" : "memory").append("\",\"scan\":").append(scan).append(",\"value\":");
    quote(b, value());
    b.append(",\"facts\":[");
    for (Fact f : facts) {
      b.append(f.id() == 1 ? "\n" : ",\n").append("{\"id\":").append(f.id()).append(",\"kind\":\"").append(f.kind())
          .append("\",\"subject\":");
      quote(b, f.subject());
      b.append(",\"value\":");
      quote(b, f.value());
      b.append(",\"bits\":\"").append(f.bits()).append("\",\"scan\":").append(f.scan()).append(",\"ordinal\":").append(f.ordinal());
      b.append(",\"time\":\"").append(f.time()).append("\",\"step\":").append(f.step());
      f.span().ifPresent(s -> {
        b.append(",\"file\":");
        quote(b, s.source().name());
        b.append(",\"line\":").append(s.line()).append(",\"column\":").append(s.column());
      });
      if (!f.body().isEmpty()) {
        b.append(",\"body\":");
        quote(b, f.body());
      }
      if (f.network() > 0) {
        b.append(",\"network\":").append(f.network());
      }
      if (f.element() >= 0) {
        b.append(",\"element\":").append(f.element());
      }
      b.append(",\"words\":");
      quote(b, f.words());
      b.append(",\"because\":[");
      for (int i = 0; i < f.because().size(); i++) {
        b.append(i == 0 ? "" : ",").append(f.because().get(i).id());
      }
      b.append("]}");
    }
    return b.append("\n]}\n").toString();
  }

  private static void quote(StringBuilder b, String s) {
    b.append('"');
    for (int i = 0; i < s.length(); i++) {
      char c = s.charAt(i);
      switch (c) {
        case '"' -> b.append("\\\"");
        case '\\' -> b.append("\\\\");
        case '\n' -> b.append("\\n");
        case '\r' -> b.append("\\r");
        case '\t' -> b.append("\\t");
        default -> {
          boolean lone = Character.isSurrogate(c)
              && !(Character.isHighSurrogate(c) && i + 1 < s.length() && Character.isLowSurrogate(s.charAt(i + 1)))
              && !(Character.isLowSurrogate(c) && i > 0 && Character.isHighSurrogate(s.charAt(i - 1)));
          if (c < 0x20 || c >= 0x7F && c < 0xA0 || c == '<' || c == '\u2028' || c == '\u2029' || Character.getType(c) == Character.FORMAT || lone) {
            b.append("\\u");
            for (int shift = 12; shift >= 0; shift -= 4) {
              b.append(Character.forDigit(c >>> shift & 15, 16));
            }
          } else {
            b.append(c);
          }
        }
      }
    }
    b.append('"');
  }

  /**
   * The explanation as an HTML fragment: nested lists; a fact told before is a link to where it stands. Text of the program is escaped.
   * {@code prefix} makes the fragment's ids unique within a page.
   *
   * @throws IllegalArgumentException when the prefix has other characters than letters, digits, {@code -} and {@code _}
   */
  public String html(String prefix) {
    if (!prefix.matches("[A-Za-z0-9_-]*")) {
      throw new IllegalArgumentException("a prefix has letters, digits, - and _ only: " + prefix);
    }
    StringBuilder b = new StringBuilder("<ul class=\"explanation\">\n");
    item(b, root, prefix, new LinkedHashSet<>(), false);
    return b.append("</ul>\n").toString();
  }

  private static void item(StringBuilder b, Fact f, String prefix, Set<Integer> said, boolean because) {
    String id = prefix + "fact-" + f.id();
    List<Fact> reasons = spoken(f, false);
    boolean again = !said.add(f.id());
    b.append("<li class=\"fact ").append(f.kind().name().toLowerCase(java.util.Locale.ROOT).replace('_', '-')).append('"');
    if (!again) {
      b.append(" id=\"").append(id).append('"');
    }
    b.append('>').append(because ? "because " : "").append(escape(f.words()));
    f.span().ifPresent(s -> b.append(" <span class=\"place\">").append(escape(s.place())).append("</span>"));
    if (again && !reasons.isEmpty()) {
      b.append(" <a href=\"#").append(id).append("\">as told above</a>");
    } else if (!again && !reasons.isEmpty()) {
      b.append("\n<ul>\n");
      boolean first = f.kind() == Fact.Kind.WRITE || f.kind() == Fact.Kind.DECISION || f.kind() == Fact.Kind.UNCHANGED;
      for (Fact r : reasons) {
        if (!(said.contains(r.id()) && (r.kind() == Fact.Kind.DECISION || f.isLibrary()))) {
          item(b, r, prefix, said, first);
        }
      }
      b.append("</ul>\n");
    }
    b.append("</li>\n");
  }

  private static String escape(String s) {
    StringBuilder b = new StringBuilder(s.length() + 16);
    inert(s).codePoints().forEach(c -> {
      switch (c) {
        case '&' -> b.append("&amp;");
        case '<' -> b.append("&lt;");
        case '>' -> b.append("&gt;");
        case '"' -> b.append("&quot;");
        case '\'' -> b.append("&#39;");
        default -> b.appendCodePoint(c);
      }
    });
    return b.toString();
  }

  @Override
  public String toString() {
    return text();
  }
}
