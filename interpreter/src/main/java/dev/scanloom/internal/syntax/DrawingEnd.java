package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import java.util.Locale;
import java.util.Set;

/** Finds the row that ends a ladder drawing: the first one whose first word, comments and pragmas aside, is an end keyword. */
final class DrawingEnd {
  /** Words that open a declaration: a drawing whose end keyword is missing ends in front of them. */
  private static final Set<String> OPENERS = Set.of("PROGRAM", "FUNCTION", "FUNCTION_BLOCK", "CLASS", "INTERFACE", "NAMESPACE", "TYPE",
      "CONFIGURATION", "METHOD", "PROPERTY", "ACTION", "TRANSITION", "STEP", "INITIAL_STEP");

  private DrawingEnd() {}

  /** Offset of the start of the row that ends the drawing which begins at {@code from}; {@code limit} without one. */
  static int find(SourceText source, int from, int limit) {
    int rowStart = from;
    boolean seen = false;
    boolean commentsClose = true;
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
        at = endOfLine(source, at, limit);
      } else if (commentsClose && next == '*' && (c == '(' || c == '/')) {
        int behind = behindComment(source, at, limit);
        commentsClose = behind < limit || closes(source, at, limit);
        if (commentsClose) {
          if (source.lineOf(behind) != source.lineOf(at)) {
            rowStart = source.lineStart(source.lineOf(behind));
            seen = false;
          }
          at = behind;
        } else {
          at = endOfLine(source, at, limit);
        }
      } else if (c == '{') {
        at = behindOnLine(source, at, '}', limit);
      } else if (c == '\'' || c == '"') {
        seen = true;
        at = behindOnLine(source, at, c, limit);
      } else if (!seen && isLetter(c)) {
        int end = at;
        while (end < limit && TokenReader.isWord(source.codePointAt(end))) {
          end++;
        }
        if (ends(source, at, end, limit)) {
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

  private static boolean ends(SourceText source, int start, int end, int limit) {
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

  private static int endOfLine(SourceText source, int from, int limit) {
    int at = from;
    while (at < limit && source.codePointAt(at) != '\n' && source.codePointAt(at) != '\r') {
      at++;
    }
    return at;
  }

  /** Behind the mark {@code close} that follows the one at {@code from} on the same line; else behind the mark at {@code from}. */
  private static int behindOnLine(SourceText source, int from, int close, int limit) {
    int end = endOfLine(source, from, limit);
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

  private static boolean closes(SourceText source, int from, int limit) {
    return limit - from >= 4 && source.codePointAt(limit - 2) == '*'
        && source.codePointAt(limit - 1) == (source.codePointAt(from) == '(' ? ')' : '/');
  }

  /** Behind the nesting comment that begins at {@code from}, or {@code limit} if it has no end. */
  static int behindComment(SourceText source, int from, int limit) {
    int first = source.codePointAt(from);
    int last = first == '(' ? ')' : '/';
    int depth = 1;
    int at = from + 2;
    while (at < limit && depth > 0) {
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
    return Math.min(at, limit);
  }
}
