package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.SourceText;
import java.util.ArrayDeque;
import java.util.Deque;

/** The comments that stand directly in front of a drawing: outside its rows, but about its first network. */
final class LeadingComment {
  private LeadingComment() {}

  /** Their texts without marks, joined by blanks; empty without one. */
  static String before(SourceText source, int start) {
    Deque<String> found = new ArrayDeque<>();
    int end = start;
    while (true) {
      end = behindText(source, end);
      if (end >= 2 && source.codePointAt(end - 1) == ')' && source.codePointAt(end - 2) == '*') {
        int open = opening(source, end - 2, '(');
        if (open < 0) {
          break;
        }
        found.addFirst(source.slice(open + 2, end - 2).strip());
        end = open;
      } else if (end >= 2 && source.codePointAt(end - 1) == '/' && source.codePointAt(end - 2) == '*') {
        int open = opening(source, end - 2, '/');
        if (open < 0) {
          break;
        }
        found.addFirst(source.slice(open + 2, end - 2).strip());
        end = open;
      } else if (end > 0) {
        int line = source.lineStart(source.lineOf(end - 1));
        String text = source.slice(line, end).strip();
        if (!text.startsWith("//")) {
          break;
        }
        found.addFirst(text.substring(2).strip());
        end = line;
      } else {
        break;
      }
    }
    return found.isEmpty() ? "" : String.join(" ", found).replaceAll("\\s+", " ").strip();
  }

  private static int behindText(SourceText source, int end) {
    int at = end;
    while (at > 0 && Character.isWhitespace(source.codePointAt(at - 1))) {
      at--;
    }
    return at;
  }

  /** Offset of the opening mark of the comment that closes at {@code close}, nested ones passed over; -1 without one. */
  private static int opening(SourceText source, int close, char mark) {
    int depth = 1;
    char other = mark == '(' ? ')' : '/';
    for (int at = close - 1; at > 0; at--) {
      if (source.codePointAt(at) == '*' && source.codePointAt(at - 1) == mark) {
        if (--depth == 0) {
          return at - 1;
        }
        at--;
      } else if (source.codePointAt(at) == other && source.codePointAt(at - 1) == '*' && mark == '(') {
        depth++;
        at--;
      }
    }
    return -1;
  }
}
