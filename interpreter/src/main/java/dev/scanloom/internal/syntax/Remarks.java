package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomLexer.PRAGMA;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.antlr.v4.runtime.Token;

/** Comments and pragmas of a text, found by the declarations next to them. */
final class Remarks {
  private final SourceText source;
  private final List<ScanToken> hidden;
  private final TokenList tokens;

  Remarks(SourceText source, List<ScanToken> hidden, TokenList tokens) {
    this.source = source;
    this.hidden = hidden;
    this.tokens = tokens;
  }

  /** All pragmas in the order of the text. */
  List<Pragma> pragmas() {
    List<Pragma> all = new ArrayList<>();
    for (ScanToken t : hidden) {
      if (t.getType() == PRAGMA) {
        all.add(pragma(t));
      }
    }
    return all;
  }

  private Pragma pragma(ScanToken t) {
    Span span = new Span(source, t.getStartIndex(), t.getStopIndex() + 1);
    int end = source.codePointAt(t.getStopIndex()) == '}' && t.getStopIndex() > t.getStartIndex() ? t.getStopIndex() : t.getStopIndex() + 1;
    return new Pragma(span, source.slice(t.getStartIndex() + 1, end).strip());
  }

  List<Pragma> pragmasBetween(int from, int to) {
    List<Pragma> found = new ArrayList<>();
    for (int i = firstFrom(from); i < hidden.size() && hidden.get(i).getStartIndex() < to; i++) {
      if (hidden.get(i).getType() == PRAGMA) {
        found.add(pragma(hidden.get(i)));
      }
    }
    return found;
  }

  /** The pragma that stands for a body in front of {@code end}, the index of the token behind the empty body. */
  Optional<Pragma> binding(int end) {
    int from = end > 0 ? tokens.get(end - 1).getStopIndex() + 1 : 0;
    for (Pragma p : pragmasBetween(from, tokens.get(end).getStartIndex())) {
      String[] words = p.content().split("\\s+", 2);
      if (words.length == 2 && (words[0].equalsIgnoreCase("intrinsic") || words[0].equalsIgnoreCase("native"))) {
        return Optional.of(p);
      }
    }
    return Optional.empty();
  }

  /** Index of the first comment or pragma that begins at or behind {@code offset}. */
  private int firstFrom(int offset) {
    int low = 0;
    int high = hidden.size();
    while (low < high) {
      int middle = (low + high) >>> 1;
      if (hidden.get(middle).getStartIndex() < offset) {
        low = middle + 1;
      } else {
        high = middle;
      }
    }
    return low;
  }

  /** The comments directly in front of a declaration that begins with the token of index {@code begin}. */
  Declaration.Documentation documentation(int begin) {
    ScanToken first = tokens.get(begin);
    int floor = begin > 0 ? tokens.get(begin - 1).getStopIndex() : -1;
    int floorLine = floor < 0 ? 0 : source.lineOf(floor);
    int line = source.lineOf(first.getStartIndex());
    List<String> parts = new ArrayList<>();
    boolean joined = true;
    for (int i = firstFrom(first.getStartIndex()) - 1; i >= 0; i--) {
      ScanToken t = hidden.get(i);
      int start = t.getStartIndex();
      int lineBreaks = line - source.lineOf(t.getStopIndex());
      joined &= lineBreaks == 0;
      // a comment behind something else on that one's line belongs to it, unless the declaration follows without a line break
      if (start <= floor || lineBreaks > 1 || (source.lineOf(start) == floorLine && !joined)) {
        break;
      }
      line = source.lineOf(start);
      if (t.getType() != PRAGMA) {
        parts.add(0, text(t));
      }
    }
    return parts.isEmpty() ? Declaration.Documentation.NONE : new Declaration.Documentation(String.join("\n", parts));
  }

  /** The same, or else the comment behind the declaration on its line; {@code end} is the index of its last token, -1 if there is none. */
  Declaration.Documentation documentation(int begin, int end) {
    Declaration.Documentation before = documentation(begin);
    if (end < 0 || !before.text().isEmpty()) {
      return before;
    }
    ScanToken last = tokens.get(end);
    int i = firstFrom(last.getStopIndex() + 1);
    int next = Math.min(end + 1, tokens.size() - 1);
    if (i < hidden.size() && hidden.get(i).getStartIndex() < tokens.get(next).getStartIndex() && hidden.get(i).getType() != PRAGMA
        && source.lineOf(hidden.get(i).getStartIndex()) == source.lineOf(last.getStopIndex()) && !leadsTo(i, tokens.get(next))) {
      return new Declaration.Documentation(text(hidden.get(i)));
    }
    return before;
  }

  /** Whether a declaration follows the comment {@code i} without a line break between what stands from there on. */
  private boolean leadsTo(int i, ScanToken next) {
    if (Words.has(Words.ENDS, next.getType()) || next.getType() == Token.EOF) {
      return false;
    }
    int line = source.lineOf(hidden.get(i).getStopIndex());
    for (int k = i + 1; k < hidden.size() && hidden.get(k).getStartIndex() < next.getStartIndex(); k++) {
      if (source.lineOf(hidden.get(k).getStartIndex()) != line) {
        return false;
      }
      line = source.lineOf(hidden.get(k).getStopIndex());
    }
    return source.lineOf(next.getStartIndex()) == line;
  }

  /** A comment without its marks, lines trimmed, blank lines at both ends dropped. */
  private String text(ScanToken t) {
    String text = t.getText();
    if (text.startsWith("//")) {
      return text.substring(2).strip();
    }
    boolean closed = text.length() >= 4 && (text.endsWith("*)") || text.endsWith("*/"));
    text = text.substring(2, closed ? text.length() - 2 : text.length());
    List<String> lines = new ArrayList<>();
    text.lines().forEach(l -> {
      String line = l.strip();
      lines.add(line.startsWith("*") ? line.substring(1).strip() : line);
    });
    return String.join("\n", lines).strip();
  }
}
