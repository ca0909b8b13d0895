package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomLexer.*;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.grammar.ScanloomLexer;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.List;
import java.util.Locale;
import org.antlr.v4.runtime.Token;

/**
 * Text to the tokens that the parser sees. On the way it finds the ladder drawings (each becomes one DRAWING token), reports what is no
 * token
 * of the language, and keeps comments and pragmas apart. {@link TokenRepair} then works on the whole list.
 */
final class TokenReader {
  private final SourceText source;
  private final Problems problems;
  private final int end;
  private final PlainTokens plain;
  /** Made when a token needs it; most texts have none. */
  private ScanloomLexer lexer;
  private DrawingEnd drawingEnd;
  private final SourceChars chars;
  private final List<ScanToken> tokens;
  private final List<ScanToken> hidden = new ArrayList<>();

  /** A body may begin at the next token: the header of a POU, action, transition or accessor has begun and no statement yet. */
  private boolean header;
  private boolean inSection;
  private boolean inUsing;
  private boolean inTransition;
  private int unclosedAt = -1;

  private final boolean byLexer;

  TokenReader(SourceText source, int start, int end, Problems problems) {
    this(source, start, end, problems, false);
  }

  /** @param byLexer whether the lexer of the grammar reads everything, also what can be read without it */
  TokenReader(SourceText source, int start, int end, Problems problems, boolean byLexer) {
    this.byLexer = byLexer;
    this.source = source;
    this.problems = problems;
    this.chars = new SourceChars(source, start, end);
    this.tokens = new ArrayList<>((end - start) / 4 + 4);
    this.end = end;
    this.plain = new PlainTokens(source, end);
  }

  /** Comments and pragmas in the order of the text. */
  List<ScanToken> hidden() {
    return hidden;
  }

  /** Where the first unclosed comment or pragma begins, or -1: what the text behind it means is a guess. */
  int unclosedAt() {
    return unclosedAt;
  }

  private void report(Diagnostic d) {
    if (unclosedAt < 0) {
      problems.add(d);
    }
  }

  /** Reads everything; the last token is EOF. */
  List<ScanToken> read() {
    boolean more = true;
    while (more) {
      more = readSome();
    }
    return tokens;
  }

  /**
   * A token and those inside of a statement in front of it; false at the end of the text. A statement at a time, so that the JVM compiles this early: a large
   * text has many tokens.
   */
  private boolean readSome() {
    int at = chars.index();
    int type = byLexer ? PlainTokens.OTHER : plain.read(at, unclosedAt < 0);
    if (!header && !inUsing) {
      while (isInner(type)) {
        at = plain.stop();
        tokens.add(new ScanToken(chars, type, Token.DEFAULT_CHANNEL, plain.start(), at - 1));
        type = plain.read(at, unclosedAt < 0);
      }
      chars.seek(at);
    }
    ScanToken token = type == PlainTokens.OTHER ? byLexer() : read(type, channel(type));
    if (token.getChannel() != Token.DEFAULT_CHANNEL) {
      hide(token);
    } else {
      accept(header && (!inSection || token.getType() == DRAWN) ? drawingAt(token) : token);
    }
    return token.getType() != EOF;
  }

  /** Whether such a token, once a body has begun, is taken as it is: of these most of a statement consists. */
  private static boolean isInner(int type) {
    return switch (type) {
      case IDENTIFIER, INTEGER, REAL, LBRACKET, RBRACKET, LPAREN, RPAREN, DOT, COMMA, ASSIGN, AND, OR, XOR, NOT, EQ, NE, LT, GT, LE, GE, PLUS,
          MINUS, TIMES, DIVIDE, MOD -> true;
      default -> false;
    };
  }

  private static int channel(int type) {
    return type == LINE_COMMENT || type == BLOCK_COMMENT ? ScanloomLexer.COMMENTS : type == PRAGMA ? ScanloomLexer.PRAGMAS : Token.DEFAULT_CHANNEL;
  }

  /** The token that was read by hand; the next one is read behind it. */
  private ScanToken read(int type, int channel) {
    chars.seek(plain.stop());
    return new ScanToken(chars, type, channel, plain.start(), plain.stop() - 1);
  }

  private ScanToken byLexer() {
    if (lexer == null) {
      lexer = new ScanloomLexer(chars);
      lexer.setTokenFactory(new ScanToken.Factory());
      lexer.removeErrorListeners();
    }
    return (ScanToken) lexer.nextToken();
  }

  private void hide(ScanToken token) {
    hidden.add(token);
    if (lexer != null && lexer.takeUnclosed()) {
      boolean pragma = token.getType() == PRAGMA;
      Span mark = new Span(source, token.getStartIndex(), token.getStartIndex() + (pragma ? 1 : 2));
      String close = pragma ? "}" : source.codePointAt(token.getStartIndex()) == '(' ? "*)" : "*/";
      Diagnostic d = Diagnostic.error("syntax/unclosed-comment", mark,
          (pragma ? "this pragma" : "this comment") + " is not closed: expected " + close + " before the end of the text");
      if (!pragma && lexer.innerOpening() >= 0) {
        d = d.withHint("comments nest: each " + mark.text() + " inside needs its own " + close)
            .withRelated(new Span(source, lexer.innerOpening(), lexer.innerOpening() + 2), "the last one opened inside stands here");
      }
      report(d);
      if (unclosedAt < 0) {
        unclosedAt = mark.start();
      }
      token.markFaulty();
    }
  }

  private void accept(ScanToken token) {
    switch (token.getType()) {
      case STRAY, DRAWN -> stray(token);
      case FOREIGN_OPERATOR -> foreignOperator(token);
      case FOREIGN_WORD -> foreignWord(token);
      case TYPOGRAPHIC_STRING -> typographicString(token);
      case UNCLOSED_STRING -> unclosedString(token);
      default -> add(token);
    }
  }

  private void add(ScanToken token) {
    follow(token);
    tokens.add(token);
  }

  private ScanToken last() {
    return tokens.isEmpty() ? null : tokens.get(tokens.size() - 1);
  }

  private static Span span(SourceText source, Token token) {
    return new Span(source, token.getStartIndex(), token.getStopIndex() + 1);
  }

  // What is no token of the language

  private int strayEnd = -1;

  private void stray(ScanToken token) {
    int at = token.getStartIndex();
    if (token.getType() == DRAWN && source.codePointAt(at) == '|' && source.codePointAt(at + 1) == '|' && !firstOnLine(at)) {
      token.setStopIndex(at + 1);
      chars.seek(at + 2);
      foreignOperator(token);
      return;
    }
    boolean continues = strayEnd == at;
    strayEnd = token.getStopIndex() + 1;
    if (last() != null) {
      last().markFaulty();
    }
    if (continues) {
      return;
    }
    int c = source.codePointAt(at);
    Diagnostic d = Diagnostic.error("syntax/character", span(source, token), describe(c) + " is not a character of the language here");
    if (token.getType() == DRAWN) {
      d = Diagnostic.error("syntax/character", span(source, token), "a ladder drawing cannot begin here")
          .withHint("a drawing stands alone in a body, from its first row on; one notation per body");
      skipDrawnRows(at);
    } else if (c == 0xA0 || c == 0x3000 || (c >= 0x2000 && c <= 0x200F) || c == 0x2028 || c == 0x2029 || c == 0x202F || c == 0xFEFF) {
      d = d.withHint("use an ordinary blank");
    } else if (isQuoteMark(c)) {
      d = d.withHint("string literals stand between ' and ' or \" and \"");
    } else if (c == 0x2013 || c == 0x2014 || c == 0x2212) {
      d = d.withHint("minus is written -");
    } else if (c == '#') {
      d = d.withHint("# stands in a literal only, directly behind a type or a base: INT#5, 16#FF");
    } else if (c == '!') {
      d = d.withHint("negation is written NOT, inequality <>");
    } else if (c == '}') {
      d = d.withHint("no pragma is open here");
    } else if (c == '$') {
      d = d.withHint("$ has a meaning inside string literals only");
    }
    report(d);
  }

  /** Behind a misplaced first row of a drawing: goes behind it and the drawn or blank rows that follow. */
  private void skipDrawnRows(int at) {
    if (!firstOnLine(at)) {
      return;
    }
    int line = source.lineOf(at);
    while (line < source.lineCount() && drawnRow(firstVisible(source.lineStart(line + 1), source.length()))) {
      line++;
    }
    int end = line < source.lineCount() ? source.lineStart(line + 1) : source.length();
    chars.seek(Math.max(chars.index(), end));
    strayEnd = chars.index();
  }

  /** Offset of the first character at or behind {@code at} in its line that is no blank; {@code otherwise} if there is none. */
  private int firstVisible(int at, int otherwise) {
    int i = at;
    while (source.codePointAt(i) == ' ' || source.codePointAt(i) == '\t') {
      i++;
    }
    return i >= source.length() ? otherwise : i;
  }

  private boolean drawnRow(int at) {
    int c = source.codePointAt(at);
    int next = source.codePointAt(at + 1);
    return isDrawn(c) || (c == '+' && (next == '-' || next == '─' || next == '|'));
  }

  private static String describe(int c) {
    String code = String.format(Locale.ROOT, "U+%04X", c);
    boolean printable = c > ' ' && c != 0x7F && Character.isDefined(c) && !Character.isISOControl(c) && !Character.isWhitespace(c)
        && !Character.isSpaceChar(c) && Character.getType(c) != Character.FORMAT && Character.getType(c) != Character.SURROGATE
        && Character.getType(c) != Character.PRIVATE_USE;
    return printable ? "'" + new String(Character.toChars(c)) + "' (" + code + ")" : "the character " + code;
  }

  private static boolean isQuoteMark(int c) {
    return (c >= 0x2018 && c <= 0x201F) || c == 0xAB || c == 0xBB || c == 0x2039 || c == 0x203A || c == 0xB4 || c == '`';
  }

  /** An operator that other languages have: taken for the one that it is here. */
  private void foreignOperator(ScanToken token) {
    String text = span(source, token).text();
    int type = switch (text) {
      case "==" -> EQ;
      case "!=" -> NE;
      case "&&" -> AND;
      case "||" -> OR;
      default -> ASSIGN;
    };
    String right = Words.isKeyword(type) ? Words.spelling(type) : "'" + Words.spelling(type) + "'";
    report(Diagnostic.error("syntax/expected", span(source, token), "expected " + right + ", found '" + text + "'"));
    token.markFaulty();
    token.setType(type);
    add(token);
  }

  private void foreignWord(ScanToken token) {
    int at = token.getStartIndex();
    while (source.codePointAt(at) < 0x80) {
      at++;
    }
    report(Diagnostic.error("syntax/character", new Span(source, at, at + 1),
        describe(source.codePointAt(at)) + " cannot stand in an identifier")
        .withHint("identifiers consist of the letters A to Z, digits and single underscores"));
    token.markFaulty();
    token.setType(IDENTIFIER);
    add(token);
  }

  private void typographicString(ScanToken token) {
    int at = token.getStartIndex();
    report(Diagnostic.error("syntax/character", span(source, token),
        describe(source.codePointAt(at)) + " cannot begin a string literal")
        .withHint("string literals stand between ' and ' or \" and \""));
    token.markFaulty();
    token.setType(STRING);
    add(token);
  }

  private void unclosedString(ScanToken token) {
    Span place = span(source, token);
    String quote = source.slice(place.start(), place.start() + 1);
    Diagnostic d = Diagnostic.error("syntax/unclosed-string", place,
        "this string literal is not closed: expected " + quote + " before the end of the line");
    if (place.text().contains("$" + quote)) {
      d = d.withHint("$" + quote + " is a quote inside the literal; a dollar sign is written $$");
    }
    report(d);
    token.markFaulty();
    token.setType(quote.equals("'") ? STRING : WSTRING);
    add(token);
  }

  // Where a body may begin

  /** Keeps account of whether a body may begin behind {@code token}. */
  private void follow(ScanToken token) {
    switch (token.getType()) {
      case PROGRAM, FUNCTION, FUNCTION_BLOCK, METHOD, PROPERTY_GET, PROPERTY_SET, ACTION -> begin(false);
      case TRANSITION -> begin(true);
      case GET, SET -> {
        if (last() != null && Words.has(ACCESSOR_BEFORE, last().getType())) {
          begin(false);
        }
      }
      case END_METHOD, END_PROPERTY, END_PROPERTY_GET, END_PROPERTY_SET -> begin(false);
      case VAR, VAR_INPUT, VAR_OUTPUT, VAR_IN_OUT, VAR_TEMP, VAR_EXTERNAL, VAR_GLOBAL, VAR_ACCESS, VAR_CONFIG -> inSection = true;
      case END_VAR -> inSection = false;
      case USING -> inUsing = true;
      case SEMICOLON -> {
        header &= inUsing || inSection;
        inUsing = false;
      }
      case LPAREN -> header &= inSection || inTransition || (last() != null && last().getType() != IDENTIFIER);
      default -> {
        if (!header) {
          return;
        }
        if (!inSection && !inTransition && Words.has(ENDS_HEADER, token.getType())) {
          header = false;
        } else if (inTransition && token.getType() == ASSIGN && last() != null && !isPriority(last())) {
          header = false;
        }
      }
    }
  }

  private boolean isPriority(Token token) {
    return token.getType() == IDENTIFIER && tokens.size() > 1 && tokens.get(tokens.size() - 2).getType() == LPAREN;
  }

  private void begin(boolean transition) {
    header = true;
    inSection = false;
    inUsing = false;
    inTransition = transition;
  }

  private static final BitSet ACCESSOR_BEFORE = Words.set(IDENTIFIER, RBRACKET, RPAREN, END_GET, END_SET, END_VAR);

  private static final BitSet ENDS_HEADER = Words.set(ASSIGN, ATTEMPT, CARET, IF, CASE, FOR, WHILE, REPEAT, EXIT, CONTINUE, RETURN, STEP,
      INITIAL_STEP, END_PROGRAM, END_FUNCTION, END_FUNCTION_BLOCK, END_ACTION, END_TRANSITION, END_GET, END_SET, END_CLASS, END_INTERFACE,
      TYPE, CLASS, INTERFACE, CONFIGURATION, RESOURCE, NAMESPACE, TASK);

  /** Tokens behind which the header is not complete, so that no drawing and no label begins. */
  private static final BitSet UNFINISHED_HEADER = Words.set(PROGRAM, FUNCTION, FUNCTION_BLOCK, METHOD, PROPERTY_GET, PROPERTY_SET, ACTION,
      TRANSITION, FINAL, ABSTRACT, OVERRIDE, PUBLIC, PRIVATE, PROTECTED, INTERNAL, EXTENDS, IMPLEMENTS, COMMA, DOT, USING, FROM, TO,
      LPAREN);

  // Ladder drawings

  private DrawingEnd drawingEnd() {
    if (drawingEnd == null) {
      drawingEnd = new DrawingEnd(source, end);
    }
    return drawingEnd;
  }

  /** The DRAWING token that begins at {@code token}, or {@code token} itself. */
  private ScanToken drawingAt(ScanToken token) {
    int type = token.getType();
    if (type != DRAWN && type != PLUS && type != IDENTIFIER && type != INTEGER) {
      return token;
    }
    int start = token.getStartIndex();
    if (last() == null || Words.has(UNFINISHED_HEADER, last().getType()) || !firstOnLine(start)) {
      return token;
    }
    boolean drawn = type == DRAWN || type == PLUS;
    if (!drawn && !labelsDrawing(start)) {
      return token;
    }
    int from = source.lineStart(source.lineOf(start));
    int to = drawingEnd().find(from);
    ScanToken drawing = new ScanToken(chars, DRAWING, Token.DEFAULT_CHANNEL, from, to - 1);
    chars.seek(to);
    header = false;
    return drawing;
  }

  /** Whether no other token stands in front of {@code start} on its line. */
  private boolean firstOnLine(int start) {
    return last() == null || source.lineOf(Math.max(0, last().getStopIndex())) != source.lineOf(start);
  }

  /** Whether a label, alone on its row, begins at {@code start} and a drawn row follows (further labels, blanks, comments between). */
  private boolean labelsDrawing(int start) {
    int at = start;
    for (int labels = 0; labels < 8; labels++) {
      while (isWord(source.codePointAt(at))) {
        at++;
      }
      at = firstVisible(at, source.length());
      if (source.codePointAt(at) != ':' || source.codePointAt(at + 1) == '=') {
        return false;
      }
      int line = source.lineOf(at);
      at = skipBlank(at + 1);
      if (at >= source.length() || source.lineOf(at) == line) {
        return false;
      }
      int c = source.codePointAt(at);
      if (isDrawn(c) || c == '+') {
        return true;
      }
      if (!isWord(c)) {
        return false;
      }
    }
    return false;
  }

  private static final int LONGEST_PRAGMA = 1_024;

  /** Behind white space, comments and pragmas that begin at {@code from}. */
  private int skipBlank(int from) {
    int at = from;
    while (at < source.length()) {
      int c = source.codePointAt(at);
      int next = source.codePointAt(at + 1);
      if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
        at++;
      } else if (c == '/' && next == '/') {
        while (at < source.length() && source.codePointAt(at) != '\n' && source.codePointAt(at) != '\r') {
          at++;
        }
      } else if (next == '*' && (c == '(' || c == '/')) {
        int behind = drawingEnd().behindComment(at);
        if (behind < 0) {
          return at;
        }
        at = behind;
      } else if (c == '{') {
        int end = at;
        while (end < Math.min(source.length(), at + LONGEST_PRAGMA) && source.codePointAt(end) != '}') {
          end++;
        }
        if (source.codePointAt(end) != '}') {
          return at;
        }
        at = end + 1;
      } else {
        return at;
      }
    }
    return at;
  }

  static boolean isWord(int c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
  }

  static boolean isDrawn(int c) {
    return switch (c) {
      case '|', '─', '│', '┌', '┐', '└', '┘', '├', '┤', '┬', '┴', '┼' -> true;
      default -> false;
    };
  }
}
