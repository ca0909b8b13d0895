package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.SourceText;

/**
 * Reads tokens by hand where a glance at the characters tells where they end: words, numbers, delimiters, literals, closed comments. Whatever else
 * stands there is left to the lexer of the grammar, which describes all tokens. Both read alike: a test compares them on many texts.
 */
final class PlainTokens {
  /** Not a type: the lexer must read this. */
  static final int OTHER = -2;

  private final SourceText source;
  private final int end;
  /** First offset of the token that was read. */
  private int start;
  /** Offset behind it. */
  private int stop;

  PlainTokens(SourceText source, int end) {
    this.source = source;
    this.end = end;
  }

  int start() {
    return start;
  }

  int stop() {
    return stop;
  }

  private int at(int offset) {
    return offset < end ? source.codePointAt(offset) : -1;
  }

  /**
   * Type of the token that begins at {@code from} or behind the white space there; its place is in {@link #start} and {@link #stop}.
   *
   * @param comments whether comments and pragmas that may go over lines are read too
   */
  int read(int from, boolean comments) {
    int i = from;
    int c = at(i);
    while (c == ' ' || (c >= '\t' && c <= '\r')) {
      c = at(++i);
    }
    start = i;
    if (isDigit(c)) {
      return number(i);
    } else if (isWord(c)) {
      return word(i);
    }
    return switch (c) {
      case -1 -> ends(EOF, i);
      case ';' -> ends(SEMICOLON, i + 1);
      case ',' -> ends(COMMA, i + 1);
      case ')' -> ends(RPAREN, i + 1);
      case '[' -> ends(LBRACKET, i + 1);
      case ']' -> ends(RBRACKET, i + 1);
      case '^' -> ends(CARET, i + 1);
      default -> longer(c, i, comments);
    };
  }

  /** A token that may have more than one character, but for words and numbers. */
  private int longer(int c, int i, boolean comments) {
    int next = at(i + 1);
    return switch (c) {
      case ':' -> next == '=' ? ends(ASSIGN, i + 2) : ends(COLON, i + 1);
      case '.' -> next == '.' ? ends(RANGE, i + 2) : ends(DOT, i + 1);
      case '(' -> next != '*' ? ends(LPAREN, i + 1) : comments ? comment(i, '(', ')') : OTHER;
      case '=' -> next == '=' ? OTHER : next == '>' ? ends(ARROW, i + 2) : ends(EQ, i + 1);
      case '<' -> next == '=' ? ends(LE, i + 2) : next == '>' ? ends(NE, i + 2) : ends(LT, i + 1);
      case '>' -> next == '=' ? ends(GE, i + 2) : ends(GT, i + 1);
      case '+' -> next == '=' ? OTHER : ends(PLUS, i + 1);
      case '-' -> next == '=' ? OTHER : ends(MINUS, i + 1);
      case '*' -> next == '*' ? ends(POWER, i + 2) : next == '=' ? OTHER : ends(TIMES, i + 1);
      case '/' -> next == '=' ? OTHER : next == '/' ? lineComment(i) : next != '*' ? ends(DIVIDE, i + 1) : comments ? comment(i, '/', '/') : OTHER;
      case '&' -> next == '&' ? OTHER : ends(AMPERSAND, i + 1);
      case '?' -> next == '=' ? ends(ATTEMPT, i + 2) : OTHER;
      case '\'', '"' -> string(i, c);
      case '%' -> direct(i);
      case '{' -> comments ? pragma(i) : OTHER;
      default -> TokenReader.isDrawn(c) ? ends(DRAWN, i + 1) : OTHER;
    };
  }

  private int ends(int type, int offset) {
    stop = offset;
    return type;
  }

  private static boolean isLetter(int c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  }

  private static boolean isDigit(int c) {
    return c >= '0' && c <= '9';
  }

  /** Letters, digits and the underscore, of which words consist. */
  private static final boolean[] WORD = new boolean[128];

  static {
    for (int c = 0; c < WORD.length; c++) {
      WORD[c] = isLetter(c) || isDigit(c) || c == '_';
    }
  }

  private static boolean isWord(int c) {
    return c >= 0 && c < WORD.length && WORD[c];
  }

  private int behindWord(int from) {
    int i = from;
    while (isWord(at(i))) {
      i++;
    }
    return i;
  }

  private int word(int from) {
    int hash = 0;
    int i = from;
    int c = at(i);
    do {
      hash = hash * 31 + upper(c);
      c = at(++i);
    } while (isWord(c));
    if (c == '#') {
      return prefixed(from, i);
    }
    int type = Keywords.find(source, from, i - from, hash);
    return c >= 0x80 ? OTHER : ends(type, i);
  }

  static int upper(int c) {
    return c >= 'a' && c <= 'z' ? c - 32 : c;
  }

  /** A word with # behind it: a duration, a date, or the prefix of another literal. */
  private int prefixed(int from, int mark) {
    if (mark - from > 15) {
      return ends(TYPE_PREFIX, mark + 1);
    }
    String word = source.slice(from, mark).toUpperCase(java.util.Locale.ROOT);
    return switch (word) {
      case "T", "LT", "TIME", "LTIME" -> duration(mark + 1);
      case "D", "LD", "DATE", "LDATE" -> ends(DATE, behindCalendar(mark + 1));
      case "TOD", "LTOD", "TIME_OF_DAY", "LTIME_OF_DAY" -> ends(TIME_OF_DAY, behindCalendar(mark + 1));
      case "DT", "LDT", "DATE_AND_TIME", "LDATE_AND_TIME" -> ends(DATE_AND_TIME, behindCalendar(mark + 1));
      default -> ends(TYPE_PREFIX, mark + 1);
    };
  }

  private int duration(int from) {
    int i = at(from) == '+' || at(from) == '-' ? from + 1 : from;
    while (isWord(at(i)) || (at(i) == '.' && isWord(at(i + 1)))) {
      i++;
    }
    return ends(DURATION, i);
  }

  private int behindCalendar(int from) {
    int i = behindWord(from);
    while ((at(i) == '-' || at(i) == ':' || at(i) == '.') && isDigit(at(i + 1))) {
      i = behindWord(i + 1);
    }
    return i;
  }

  private int behindDigits(int from) {
    int i = from;
    int c = at(i);
    while (isDigit(c) || c == '_') {
      c = at(++i);
    }
    return i;
  }

  private int number(int from) {
    int i = behindDigits(from);
    int c = at(i);
    if (c == '#') {
      return ends(BASED, behindWord(i + 1));
    } else if (isWord(c)) {
      return OTHER;
    } else if (c == '.' && isDigit(at(i + 1))) {
      i = behindDigits(i + 1);
      return isWord(at(i)) ? OTHER : ends(REAL, i);
    }
    return ends(INTEGER, i);
  }

  private int string(int from, int quote) {
    int i = from + 1;
    int c = at(i);
    while (c != quote) {
      if (c == '$') {
        c = at(++i);
      }
      if (c < 0 || c == '\r' || c == '\n') {
        return OTHER;
      }
      c = at(++i);
    }
    return ends(quote == '"' ? WSTRING : STRING, i + 1);
  }

  private int direct(int from) {
    int i = behindWord(from + 1);
    while (at(i) == '.' && isDigit(at(i + 1))) {
      i++;
      while (isDigit(at(i))) {
        i++;
      }
    }
    return ends(DIRECT, at(i) == '*' ? i + 1 : i);
  }

  private int lineComment(int from) {
    int i = from;
    int c = at(i);
    while (c >= 0 && c != '\n' && c != '\r') {
      c = at(++i);
    }
    return ends(LINE_COMMENT, i);
  }

  /** Comments of one style nest in themselves. */
  private int comment(int from, int first, int last) {
    int i = from + 2;
    int depth = 1;
    while (depth > 0) {
      int c = at(i);
      if (c < 0) {
        return OTHER;
      }
      if (c == '*' && at(i + 1) == last) {
        depth--;
        i++;
      } else if (c == first && at(i + 1) == '*') {
        depth++;
        i++;
      }
      i++;
    }
    return ends(BLOCK_COMMENT, i);
  }

  private int pragma(int from) {
    int i = from + 1;
    int c = at(i);
    while (c != '}') {
      if (c < 0) {
        return OTHER;
      }
      c = at(++i);
    }
    return ends(PRAGMA, i + 1);
  }

  /** Keywords by a hash over their capital letters. */
  private static final class Keywords {
    private static final int SIZE = 512;
    private static final String[] SPELLING = new String[SIZE];
    private static final int[] TYPE = new int[SIZE];

    static {
      for (int type = PROGRAM; type <= SUPER; type++) {
        String word = Words.spelling(type);
        int at = word.hashCode() & (SIZE - 1);
        while (SPELLING[at] != null) {
          at = (at + 1) & (SIZE - 1);
        }
        SPELLING[at] = word;
        TYPE[at] = type;
      }
    }

    private Keywords() {}

    /** {@code hash} is that of {@link String#hashCode} over the capital letters. */
    static int find(SourceText source, int start, int length, int hash) {
      for (int at = hash & (SIZE - 1); SPELLING[at] != null; at = (at + 1) & (SIZE - 1)) {
        if (matches(SPELLING[at], source, start, length)) {
          return TYPE[at];
        }
      }
      return IDENTIFIER;
    }

    private static boolean matches(String word, SourceText source, int start, int length) {
      if (word.length() != length) {
        return false;
      }
      for (int i = 0; i < length; i++) {
        if (word.charAt(i) != upper(source.codePointAt(start + i))) {
          return false;
        }
      }
      return true;
    }
  }
}
