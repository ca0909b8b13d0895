package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import java.util.Locale;
import java.util.Set;

/** Finds the row that ends a ladder drawing: the first one whose first word, comments and pragmas aside, is an end keyword. */
final class DrawingEnd {
  /** Words that open a declaration: a drawing whose end keyword is missing ends in front of them. */
  private static final Set<String> OPENERS = Set.of("PROGRAM", "FUNCTION", "FUNCTION_BLOCK", "CLASS", "INTERFACE", "NAMESPACE", "TYPE",
      "CONFIGURATION", "METHOD", "PROPERTY", "ACTION", "TRANSITION", "STEP", "INITIAL_STEP");

  /** After a first unclosed comment, the ends of later ones are looked for this far only, so that a hostile text costs linear time. */
  private static final int SHORT_SIGHT = 4_096;

  private final SourceText source;
  private final int limit;
  private boolean unclosedSeen;

  DrawingEnd(SourceText source, int limit) {
    this.source = source;
    this.limit = limit;
  }

  /** Offset of the start of the row that ends the drawing which begins at {@code from}; the end of the text without one. */
  int find(int from) {
    int rowStart = from;
    boolean seen = false;
    int at = from;
    while (at < limit) {
      int c = source.codePointAt(at);
      int next = source.codePointAt(at + 1);
      if (c == '\n' || c == '\r') {
        at += c == '\r' && next == '\n' ? 2 : 1;
        rowStart = at;
        seen = false;
      } else if (c == ' ' || c == '\t') {
        at++;
      } else if (c == '/' && next == '/') {
        at = endOfLine(at);
      } else if (next == '*' && (c == '(' || c == '/')) {
        int behind = behindComment(at);
        if (behind < 0) {
          at = endOfLine(at);
          continue;
        }
        if (source.lineOf(behind) != source.lineOf(at)) {
          rowStart = source.lineStart(source.lineOf(behind));
          seen = false;
        }
        at = behind;
      } else if (c == '{') {
        at = behindOnLine(at, '}');
      } else if (c == '\'' || c == '"') {
        seen = true;
        at = behindOnLine(at, c);
      } else if (!seen && isLetter(c)) {
        int end = at;
        while (end < limit && TokenReader.isWord(source.codePointAt(end))) {
          end++;
        }
        if (ends(at, end)) {
          return rowStart;
        }
        seen = true;
        at = end;
      } else {
        seen = true;
        at++;
      }
    }
    return limit;
  }

  private boolean ends(int start, int end) {
    if (end - start > 24) {
      return false;
    }
    String word = source.slice(start, end).toUpperCase(Locale.ROOT);
    if (word.startsWith("END_")) {
      return true;
    }
    if (!OPENERS.contains(word)) {
      return false;
    }
    int at = end;
    while (at < limit && (source.codePointAt(at) == ' ' || source.codePointAt(at) == '\t')) {
      at++;
    }
    return at > end && isLetter(source.codePointAt(at));
  }

  private static boolean isLetter(int c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
  }

  private int endOfLine(int from) {
    int at = from;
    while (at < limit && source.codePointAt(at) != '\n' && source.codePointAt(at) != '\r') {
      at++;
    }
    return at;
  }

  /** Behind the mark {@code close} that follows the one at {@code from} on the same line; else behind the mark at {@code from}. */
  private int behindOnLine(int from, int close) {
    int end = endOfLine(from);
    for (int at = from + 1; at < end; at++) {
      int c = source.codePointAt(at);
      if (c == '$' && close != '}') {
        at++;
      } else if (c == close) {
        return at + 1;
      }
    }
    return from + 1;
  }

  /** Behind the nesting comment that begins at {@code from}, or -1 if it has no end. */
  int behindComment(int from) {
    int first = source.codePointAt(from);
    int last = first == '(' ? ')' : '/';
    int sight = unclosedSeen ? (int) Math.min(limit, (long) from + SHORT_SIGHT) : limit;
    int depth = 1;
    int at = from + 2;
    while (depth > 0) {
      if (at + 1 >= sight) {
        unclosedSeen = true;
        return -1;
      }
      int c = source.codePointAt(at);
      int next = source.codePointAt(at + 1);
      if (c == '*' && next == last) {
        depth--;
        at += 2;
      } else if (c == first && next == '*') {
        depth++;
        at += 2;
      } else {
        at++;
      }
    }
    return at;
  }
}
