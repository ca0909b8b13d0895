package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomLexer.*;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.Deque;
import java.util.HashSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.antlr.v4.runtime.Token;

/**
 * One pass over the tokens between lexer and parser. It counts nesting, without recursion, and cuts out what is too deep; it marks case
 * labels;
 * and it mends what a person sees at a glance and a parser does not: misspelt keywords, keywords used as names, a missing END_VAR, halves
 * of
 * literals, instruction lists. Whatever it mends it has reported, and it marks the tokens so that the parser does not report them again.
 */
final class TokenRepair {
  private final SourceText source;
  private final Problems problems;
  private final int maxNesting;
  private final ScanToken[] in;
  private final ArrayList<ScanToken> out;
  private int at;

  /** What is open: tokens of brackets and block keywords. */
  private final List<ScanToken> open = new ArrayList<>();
  private int openBrackets;
  /** REF_TO and ARRAY in front of each other since the last delimiter of a declaration. */
  private int typeRun;
  /** Where in {@code out} the current statement or case label begins. */
  private int statementStart;
  /** The section that is open, or null. */
  private ScanToken section;
  private final Set<String> keywordNames = new HashSet<>();

  TokenRepair(SourceText source, Problems problems, int maxNesting, List<ScanToken> tokens) {
    this.source = source;
    this.problems = problems;
    this.maxNesting = maxNesting;
    this.in = tokens.toArray(new ScanToken[0]);
    this.out = new ArrayList<>(tokens.size() + 16);
  }

  List<ScanToken> repair() {
    boolean more = true;
    while (more) {
      more = takeSome();
    }
    return out;
  }

  /** False at the end of the text. A statement at a time, so that the JVM compiles this early: a large text has many tokens. */
  private boolean takeSome() {
    if (section == null && takePlain()) {
      return true;
    }
    ScanToken token = in[at];
    if (token.getType() == EOF) {
      closeSectionBefore(token);
      out.add(token);
      return false;
    }
    mend(token);
    at++;
    return true;
  }

  private void mend(ScanToken token) {
    mendWord(token);
    mendAssignment(token);
    checkLiteral(token);
    if (!mendHeader(token) && !mendNumber(token) && !instructionList(token)) {
      closeSectionBefore(token);
      put(token);
    }
  }

  /**
   * Outside of sections: takes tokens of a statement at which nothing that is mended below can stand, as most are. Whether it came to the statement's end.
   */
  private boolean takePlain() {
    int before = lastType();
    int type = in[at].getType();
    while (type != EOF) {
      int next = in[at + 1].getType();
      if (!isPlain(in[at], type, before, next)) {
        return false;
      }
      out.add(in[at]);
      at++;
      if (type == SEMICOLON) {
        return true;
      }
      before = type;
      type = next;
    }
    return false;
  }

  /** Whether the token is taken as it is; then what is open has been counted. */
  private boolean isPlain(ScanToken token, int type, int before, int next) {
    switch (type) {
      case ASSIGN, COMMA, INTEGER, REAL, BASED, PLUS, MINUS, TIMES, DIVIDE, AMPERSAND -> {
        return true;
      }
      case RPAREN, RBRACKET -> {
        closeBracket();
        return true;
      }
      case LPAREN, LBRACKET -> {
        if (before == IDENTIFIER && type == LPAREN || open.size() + typeRun >= maxNesting) {
          return false;
        }
        openBracket(token);
        return true;
      }
      case SEMICOLON -> {
        if (before == IDENTIFIER) {
          return false;
        }
        closeBrackets();
        typeRun = 0;
        statementStart = out.size() + 1;
        return true;
      }
      case AND, OR, NOT, XOR -> {
        return before != FUNCTION && before != DOT && next != COLON && next != COMMA && next != AT && keywordNames.isEmpty();
      }
      case IDENTIFIER -> {
        if (!behindPlainName(next) || before == COLON || before == OF) {
          return false;
        }
        checkUnderscores(token);
        return true;
      }
      default -> {
        return false;
      }
    }
  }

  /** Whether a word in front of such a token is a name and no keyword misspelt. */
  private static boolean behindPlainName(int type) {
    return switch (type) {
      case ASSIGN, LBRACKET, RBRACKET, RPAREN, DOT, COMMA, AND, OR, XOR, PLUS, MINUS, TIMES, DIVIDE -> true;
      default -> false;
    };
  }

  // Neighbours

  private ScanToken last() {
    return out.isEmpty() ? null : out.get(out.size() - 1);
  }

  private int lastType() {
    return out.isEmpty() ? EOF : out.get(out.size() - 1).getType();
  }

  private ScanToken next() {
    return in[Math.min(at + 1, in.length - 1)];
  }

  private Span span(Token token) {
    return new Span(source, token.getStartIndex(), Math.max(token.getStartIndex(), token.getStopIndex() + 1));
  }

  private String text(Token token) {
    return source.slice(token.getStartIndex(), token.getStopIndex() + 1);
  }

  private static boolean touches(Token left, Token right) {
    return left != null && left.getStopIndex() + 1 == right.getStartIndex();
  }

  // Nesting, case labels, sections

  private static final BitSet BLOCKS = Words.set(IF, CASE, FOR, WHILE, REPEAT, STRUCT, NAMESPACE, ACTION);

  private static final BitSet RESETS = Words.union(Words.BODY_ENDS, Words.set(PROGRAM, FUNCTION, FUNCTION_BLOCK, CLASS, INTERFACE, METHOD,
      END_CLASS, END_INTERFACE, TYPE, END_TYPE, CONFIGURATION, END_CONFIGURATION));

  private static final BitSet STATEMENT_BOUNDARY = Words.union(Words.ENDS, Words.set(SEMICOLON, OF, COLON, ELSE, THEN, DO, REPEAT));

  private void put(ScanToken token) {
    int type = token.getType();
    switch (type) {
      case LPAREN, LBRACKET -> {
        if (tooDeep(token)) {
          return;
        }
        openBracket(token);
      }
      case RPAREN, RBRACKET -> closeBracket();
      case REF_TO, ARRAY -> {
        if (tooDeep(token)) {
          return;
        }
        typeRun++;
      }
      case SEMICOLON -> {
        closeBrackets();
        typeRun = 0;
      }
      case COLON -> {
        if (openBrackets == 0 && !open.isEmpty() && open.get(open.size() - 1).getType() == CASE) {
          markLabel(token);
        }
      }
      default -> {
        if (Words.has(RESETS, type)) {
          closeBodies(type);
        } else if (Words.has(Words.ENDS, type)) {
          close(type);
        }
        if (Words.has(BLOCKS, type)) {
          closeBrackets();
          if (tooDeep(token)) {
            return;
          }
          open.add(token);
        }
      }
    }
    if (Words.has(Words.SECTIONS, type)) {
      section = token;
    } else if (type == END_VAR) {
      section = null;
    }
    out.add(token);
    if (Words.has(STATEMENT_BOUNDARY, type)) {
      statementStart = out.size();
    }
  }

  private void openBracket(ScanToken token) {
    open.add(token);
    openBrackets++;
  }

  private void closeBracket() {
    if (openBrackets > 0) {
      open.remove(open.size() - 1);
      openBrackets--;
    }
  }

  private void closeBrackets() {
    while (openBrackets > 0) {
      open.remove(open.size() - 1);
      openBrackets--;
    }
  }

  private void close(int end) {
    closeBrackets();
    typeRun = 0;
    for (int i = open.size() - 1; i >= 0; i--) {
      if (Words.closerOf(open.get(i).getType()) == end) {
        open.subList(i, open.size()).clear();
        return;
      }
    }
  }

  /** Behind the end of a body nothing of it is open; namespaces and actions of a chart still are. */
  private void closeBodies(int type) {
    closeBrackets();
    typeRun = 0;
    if (type == END_ACTION) {
      close(type);
      return;
    }
    int keep = 0;
    while (keep < open.size() && (open.get(keep).getType() == NAMESPACE)) {
      keep++;
    }
    open.subList(keep, open.size()).clear();
  }

  /** Marks the beginning of the case label that {@code colon} ends. */
  private void markLabel(ScanToken colon) {
    int start = Math.min(statementStart, out.size());
    boolean inCase = start > 0 && out.get(start - 1).getStartIndex() > open.get(open.size() - 1).getStartIndex();
    boolean statement = false;
    for (int i = start; inCase && i < out.size() && !statement; i++) {
      statement = out.get(i).getType() == ASSIGN;
    }
    if (!inCase || statement) {
      // OF, or the semicolon in front of the label, is missing: the label is taken to be one token long
      start = out.size() - 1;
    }
    ScanToken first = start < out.size() ? out.get(start) : colon;
    out.add(start, synthetic(CASE_LABEL, first));
  }

  private ScanToken synthetic(int type, Token before) {
    return new ScanToken(before.getInputStream(), type, Token.DEFAULT_CHANNEL, before.getStartIndex(), before.getStartIndex() - 1);
  }

  /**
   * Whether {@code token} opens one level too many. If so, it is reported, and everything up to its end is replaced by one token that the
   * parser takes for an expression or a statement.
   */
  private boolean tooDeep(ScanToken token) {
    if (open.size() + typeRun < maxNesting) {
      return false;
    }
    problems.error("limit/nesting", span(token), "'" + text(token) + "' opens level " + (open.size() + typeRun + 1)
        + " of nesting; the limit is " + maxNesting);
    boolean bracket = token.getType() == LPAREN || token.getType() == LBRACKET;
    boolean type = token.getType() == REF_TO || token.getType() == ARRAY;
    Deque<Integer> closers = new ArrayDeque<>();
    int end = at;
    for (int i = at; i < in.length; i++, end = i) {
      int t = in[i].getType();
      if (t == EOF || (i > at && Words.has(RESETS, t) && t != END_ACTION) || ((bracket || type) && t == SEMICOLON)) {
        break;
      }
      if (type) {
        continue;
      }
      if (bracket) {
        if (t == LPAREN || t == LBRACKET) {
          closers.push(t);
        } else if (t == RPAREN || t == RBRACKET) {
          closers.pop();
        } else if (Words.has(Words.ENDS, t)) {
          break;
        }
      } else if (Words.has(BLOCKS, t)) {
        closers.push(Words.closerOf(t));
      } else if (!closers.isEmpty() && closers.peek() == t) {
        closers.pop();
      }
      if (closers.isEmpty()) {
        end = i + 1;
        break;
      }
    }
    ScanToken hole = new ScanToken(token.getInputStream(), TOO_DEEP, Token.DEFAULT_CHANNEL, token.getStartIndex(), in[Math.max(at, end - 1)].getStopIndex());
    hole.markFaulty();
    out.add(hole);
    at = Math.max(at, end - 1);
    return true;
  }

  private static final BitSet DECLARATION_START = Words.union(Words.SECTIONS, Words.SECTION_QUALIFIERS, Words.set(SEMICOLON));

  private static final BitSet NOT_IN_SECTION = Words.union(Words.STATEMENTS, Words.BODY_ENDS, Words.SECTIONS, Words.DECLARATIONS,
      Words.PARTS,
      Words.set(DRAWING, INSTRUCTION_LIST, EOF, END_CLASS, END_INTERFACE, END_NAMESPACE, END_CONFIGURATION, END_RESOURCE, THIS, SUPER));

  /** Adds END_VAR where a section goes over into statements or another declaration. */
  private void closeSectionBefore(ScanToken token) {
    if (section == null || !Words.has(DECLARATION_START, lastType()) || structOpen()) {
      return;
    }
    int type = token.getType();
    int next = next().getType();
    boolean name = Words.has(Words.IDENTIFIERS, type) || type == DIRECT;
    boolean path = section.getType() == VAR_ACCESS || section.getType() == VAR_CONFIG;
    boolean statement = name && (next == ASSIGN || next == ATTEMPT || next == LPAREN || next == CARET
        || (!path && (next == LBRACKET || next == DOT)));
    if (!statement && !Words.has(NOT_IN_SECTION, type)) {
      return;
    }
    problems.add(unclosed(section, token, "END_VAR"));
    ScanToken end = synthetic(END_VAR, token);
    end.markFaulty();
    put(end);
  }

  private boolean structOpen() {
    for (ScanToken o : open) {
      if (o.getType() == STRUCT) {
        return true;
      }
    }
    return false;
  }

  private Diagnostic unclosed(Token opening, Token found, String expected) {
    Span place = span(found);
    return Diagnostic.error("syntax/unclosed", place, text(opening).toUpperCase(Locale.ROOT) + " opened at line " + span(opening).line()
        + " is not closed: expected " + expected + ", found " + Recovery.describe(found)).withRelated(span(opening), "opened here");
  }

  // Words

  private static final BitSet BEFORE_MISSPELT = Words.union(Words.LITERALS, Words.ENDS, Words.SECTIONS,
      Words.set(EOF, SEMICOLON, IDENTIFIER, RPAREN, RBRACKET, CARET, DIRECT, THEN, DO, ELSE, REPEAT, CASE_LABEL, DRAWING, RETAIN,
          CONSTANT));

  private static final BitSet BEHIND_MISSPELT = Words.union(Words.LITERALS, Words.IDENTIFIERS, Words.ENDS, Words.SECTIONS, Words.STATEMENTS,
      Words.DECLARATIONS, Words.PARTS,
      Words.set(EOF, DIRECT, TYPE_PREFIX, NOT, THIS, SUPER, ELSE, ELSIF, UNTIL, MALFORMED_NUMBER));

  private static final BitSet SPELLABLE = spellable();

  private static BitSet spellable() {
    BitSet all = Words.union(Words.ENDS, Words.SECTIONS, Words.STATEMENTS, Words.DECLARATIONS, Words.PARTS, Words.SECTION_QUALIFIERS,
        Words.set(THEN, DO, ELSE, ELSIF, UNTIL, STRUCT, EXTENDS, IMPLEMENTS));
    all.clear(IF);
    all.clear(DO);
    return all;
  }

  private static final BitSet ALONE = Words.union(Words.ENDS, Words.set(EXIT, CONTINUE, RETURN));

  private static final BitSet BOUNDARY = Words.union(Words.ENDS, Words.set(SEMICOLON, THEN, DO, ELSE, REPEAT));

  private void mendWord(ScanToken token) {
    int type = token.getType();
    if (Words.isKeyword(type)) {
      mendKeyword(token);
      return;
    }
    if (type != IDENTIFIER) {
      return;
    }
    checkUnderscores(token);
    int next = next().getType();
    int before = lastType();
    if (isEnd(token, before) || before == EOF && next == EOF) {
      // A word alone is an operand of a drawing: Stop and Reset are names there, not misspelt keywords.
      return;
    }
    BitSet candidates;
    if (Words.has(BOUNDARY, before) && next == SEMICOLON && section == null) {
      candidates = ALONE;
    } else if (Words.has(BEFORE_MISSPELT, before) && Words.has(BEHIND_MISSPELT, next) && openBrackets == 0) {
      candidates = SPELLABLE;
    } else if ((before == COLON || before == OF) && next == LBRACKET) {
      candidates = Words.set(ARRAY);
    } else {
      return;
    }
    Optional<Integer> nearest = Words.nearest(text(token), candidates);
    nearest.ifPresent(keyword -> misspelt(token, keyword));
  }

  /** {@code END IF} for END_IF. */
  private boolean isEnd(ScanToken token, int before) {
    ScanToken next = next();
    int closer = Words.closerOf(next.getType());
    if (closer == 0 || token.getStopIndex() - token.getStartIndex() != 2 || !text(token).equalsIgnoreCase("END")
        || source.lineOf(token.getStartIndex()) != source.lineOf(next.getStartIndex()) || next.getType() == GET || next.getType() == SET) {
      return false;
    }
    Span both = span(token).to(span(next));
    problems.error("syntax/keyword", both, "'" + both.text() + "' is no keyword; expected " + Words.spelling(closer));
    at++;
    token.setType(closer);
    token.setStopIndex(next.getStopIndex());
    token.markFaulty();
    return true;
  }

  private void misspelt(ScanToken token, int keyword) {
    problems.error("syntax/keyword", span(token), "'" + text(token) + "' is no keyword; nearest: " + Words.spelling(keyword));
    token.setType(keyword);
    token.markFaulty();
  }

  /** A keyword where a name must stand, or behind a dot. */
  private void mendKeyword(ScanToken token) {
    int type = token.getType();
    int next = next().getType();
    if (type == THEN || type == DO) {
      mendOpening(token);
    }
    if (Words.has(Words.IDENTIFIERS, type) || type == TRUE || type == FALSE) {
      return;
    }
    if (lastType() == FUNCTION && isOperatorWord(text(token))) {
      token.setType(IDENTIFIER);
      return;
    }
    if (lastType() == DOT && touches(last(), token) && !Words.has(Words.ENDS, type)) {
      token.setType(IDENTIFIER);
      return;
    }
    boolean start = Words.has(DECLARATION_START, lastType()) || lastType() == COMMA || lastType() == STRUCT || lastType() == OVERLAP;
    if (keywordNames.contains(text(token).toUpperCase(Locale.ROOT)) && usedAsName(type, next)) {
      token.setType(IDENTIFIER);
    } else if (openBrackets == 0 && (next == COLON || next == COMMA || next == AT)
        && (lastType() == TYPE || (start && (section != null || structOpen())))) {
      keywordAsName(token);
    } else if (usedAsName(type, next)) {
      keywordAsName(token);
    }
  }

  /** An operator that is a word and also names a function. */
  static boolean isOperatorWord(String text) {
    return switch (text.toUpperCase(Locale.ROOT)) {
      case "AND", "OR", "XOR", "NOT", "MOD" -> true;
      default -> false;
    };
  }

  private static final BitSet OPERATORS = Words.set(PLUS, MINUS, TIMES, DIVIDE, POWER, EQ, NE, LT, GT, LE, GE, AMPERSAND, AND, OR, XOR,
      MOD);

  private static final BitSet BEFORE_OPERAND = Words.union(OPERATORS, Words.set(ASSIGN, LPAREN, LBRACKET, COMMA, NOT, ARROW));

  private static final BitSet BEHIND_OPERAND =
      Words.union(OPERATORS, Words.set(SEMICOLON, RPAREN, RBRACKET, COMMA, DOT, LBRACKET, CARET, ARROW, ASSIGN));

  /** Keywords that may stand in an expression, or that end one. */
  private static final BitSet IN_EXPRESSIONS = Words.union(Words.ENDS, Words.IDENTIFIERS,
      Words.set(NOT, AND, OR, XOR, MOD, TRUE, FALSE, NULL, THIS, SUPER));

  private static final BitSet ENDS_EXPRESSION = Words.set(THEN, DO, OF, TO, BY, ELSE, ELSIF, UNTIL);

  /** Whether a keyword stands where only a variable makes sense: between operators, in front of an assignment. */
  private boolean usedAsName(int type, int next) {
    if (Words.has(IN_EXPRESSIONS, type) || section != null) {
      return false;
    }
    if (next == ASSIGN) {
      return Words.has(BOUNDARY, lastType()) || lastType() == LPAREN || lastType() == COMMA || lastType() == IDENTIFIER;
    }
    return Words.has(BEFORE_OPERAND, lastType()) && Words.has(BEHIND_OPERAND, next)
        && !(Words.has(ENDS_EXPRESSION, type) && (next == SEMICOLON || next == PLUS || next == MINUS));
  }

  private void keywordAsName(ScanToken token) {
    problems.add(Diagnostic.error("syntax/keyword", span(token),
        text(token) + " is a keyword and cannot be a name; expected an identifier"));
    keywordNames.add(text(token).toUpperCase(Locale.ROOT));
    token.setType(IDENTIFIER);
    token.markFaulty();
  }

  /** How many tokens a condition is searched for the misspelt keyword in front of it. */
  private static final int CONDITION_LENGTH = 64;

  private static final BitSet OPENS_CONDITION = Words.set(IF, ELSIF, WHILE, FOR, SEMICOLON, CASE);

  /** THEN or DO whose statement does not begin with its keyword: a misspelt one is looked for there. */
  private void mendOpening(ScanToken token) {
    int[] possible = token.getType() == THEN ? new int[] {IF, ELSIF} : new int[] {FOR, WHILE};
    for (int i = out.size() - 1; i > 0 && i >= out.size() - CONDITION_LENGTH; i--) {
      ScanToken first = out.get(i);
      if (Words.has(OPENS_CONDITION, first.getType())) {
        return;
      }
      if (first.getType() != IDENTIFIER || first.faulty() || first.getStopIndex() - first.getStartIndex() > 6
          || !Words.has(BEFORE_MISSPELT, out.get(i - 1).getType()) || out.get(i + 1 < out.size() ? i + 1 : i).getType() == ASSIGN) {
        continue;
      }
      String word = text(first).toUpperCase(Locale.ROOT);
      for (int keyword : possible) {
        if (Words.distance(word, Words.spelling(keyword)) <= (keyword == WHILE ? 2 : 1)) {
          misspelt(first, keyword);
          if (keyword != ELSIF && !tooDeepQuietly()) {
            // the block was not counted when its first word went by
            closeBrackets();
            open.add(first);
          }
          return;
        }
      }
    }
  }

  private static final BitSet IN_VARIABLE = Words.set(IDENTIFIER, INTEGER, DIRECT, COMMA, PLUS, MINUS, TIMES);

  private static final BitSet BEFORE_ASSIGNMENT = Words.union(BOUNDARY, Words.set(IDENTIFIER, COLON, FOR));

  /** {@code x = 1;} for {@code x := 1;}. */
  private void mendAssignment(ScanToken token) {
    if (token.getType() != EQ || openBrackets > 0) {
      return;
    }
    int i = out.size() - 1;
    int depth = 0;
    for (int steps = 0; i > 0 && steps < CONDITION_LENGTH; i--, steps++) {
      int type = out.get(i).getType();
      depth += type == RBRACKET ? 1 : type == LBRACKET ? -1 : 0;
      boolean first = depth == 0 && (type == IDENTIFIER || type == DIRECT) && out.get(i - 1).getType() != DOT;
      if (first) {
        int before = out.get(i - 1).getType();
        if (Words.has(BEFORE_ASSIGNMENT, before) && (section == null || before == COLON)) {
          problems.add(Diagnostic.error("syntax/expected", span(token), "expected ':=', found '='")
              .withHint("= compares, := gives a value"));
          token.setType(ASSIGN);
          token.markFaulty();
        }
        return;
      }
      boolean selector = type == DOT || type == CARET || type == RBRACKET || type == LBRACKET || Words.has(IN_VARIABLE, type);
      if (!selector || depth < 0) {
        return;
      }
    }
  }

  private boolean tooDeepQuietly() {
    return open.size() + typeRun >= maxNesting;
  }

  private void checkUnderscores(ScanToken token) {
    boolean before = false;
    for (int i = token.getStartIndex(); i <= token.getStopIndex(); i++) {
      boolean underscore = source.codePointAt(i) == '_';
      if (underscore && (before || i == token.getStopIndex())) {
        problems.error("syntax/identifier", new Span(source, i, i + 1), before
            ? "two underscores stand side by side in an identifier" : "an identifier cannot end with an underscore");
        token.markFaulty();
        return;
      }
      before = underscore;
    }
  }

  private static final BitSet NAMES_POU = Words.set(PROGRAM, FUNCTION, FUNCTION_BLOCK, METHOD, ABSTRACT, FINAL, OVERRIDE, PUBLIC, PRIVATE,
      PROTECTED, INTERNAL);

  /** What other languages have in the header of a function or POU; whether {@code token} is consumed here. */
  private boolean mendHeader(ScanToken token) {
    int type = token.getType();
    if (type == COLON && next().getType() == EQ) {
      Span both = span(token).to(span(next()));
      problems.error("syntax/expected", both, "expected ':=', found ': ='");
      token.setType(ASSIGN);
      token.setStopIndex(next().getStopIndex());
      token.markFaulty();
      at++;
      in[at] = token;
      return false;
    }
    boolean named = lastType() == IDENTIFIER && out.size() > 1 && section == null && Words.has(NAMES_POU,
        out.get(out.size() - 2).getType());
    if (!named) {
      return false;
    }
    if (type == SEMICOLON && Words.has(Words.SECTIONS, next().getType())) {
      problems.error("syntax/expected", span(token), "no ';' stands behind the header of a declaration; expected "
          + Words.spelling(next().getType()));
      return true;
    }
    if (type == LPAREN) {
      problems.add(Diagnostic.error("syntax/expected", span(token), "expected ':' or a section of variables, found '('")
          .withHint("parameters are declared in VAR_INPUT, VAR_OUTPUT and VAR_IN_OUT"));
      while (next().getType() != EOF && in[at].getType() != RPAREN && !Words.has(RESETS, next().getType())
          && !Words.has(Words.SECTIONS, next().getType())) {
        at++;
      }
      return true;
    }
    if (type == IDENTIFIER && Words.has(Words.SECTIONS, next().getType())) {
      problems.error("syntax/expected", span(token), "expected ':', found '" + text(token) + "'");
      ScanToken colon = synthetic(COLON, token);
      colon.markFaulty();
      put(colon);
    }
    return false;
  }

  /** Durations and dates are looked at before the parser meets what a wrong one leaves behind. */
  private void checkLiteral(ScanToken token) {
    int type = token.getType();
    if (type == DURATION || type == DATE || type == TIME_OF_DAY || type == DATE_AND_TIME) {
      Expression.Literal literal = Nodes.prefixed(source, token);
      if (Literals.decode(literal) instanceof Literals.Invalid wrong) {
        int start = literal.span().end() - literal.text().length() + wrong.offset();
        problems.error("syntax/literal", new Span(source, start, Math.min(start + wrong.length(), source.length())), wrong.message());
        token.markFaulty();
      }
    }
  }

  // Numbers

  private static final BitSet OPERAND_END = Words.union(Words.IDENTIFIERS, Words.set(RBRACKET, RPAREN, CARET, THIS, SUPER, INTEGER,
      DIRECT));

  /** Whether {@code token} is consumed here. */
  private boolean mendNumber(ScanToken token) {
    int type = token.getType();
    if (type == MALFORMED_NUMBER) {
      boolean name = next().getType() == COLON || next().getType() == COMMA
          ? openBrackets == 0 && (lastType() == TYPE
              || ((section != null || structOpen()) && (Words.has(DECLARATION_START, lastType()) || lastType() == COMMA)))
          : Words.has(BEGINS_NAME, lastType());
      problems.error("syntax/literal", span(token), name ? "an identifier cannot begin with a digit: " + text(token)
          : Literals.malformedNumber(text(token)));
      token.setType(name ? IDENTIFIER : INTEGER);
      token.markFaulty();
    } else if (type == DOT && lastType() == INTEGER && touches(last(), token) && !(out.size() > 1
        && out.get(out.size() - 2).getType() == DOT)) {
      Span number = span(last()).to(span(token));
      problems.error("syntax/literal", number, "a real literal needs digits on both sides of the decimal point: " + number.text());
      last().markFaulty();
      return true;
    } else if (type == DOT && touches(token, next()) && next().getType() == INTEGER && !Words.has(OPERAND_END, lastType())) {
      Span number = span(token).to(span(next()));
      problems.error("syntax/literal", number, "a real literal needs digits on both sides of the decimal point: " + number.text());
      next().markFaulty();
      return true;
    } else if (type == TYPE_PREFIX && !touches(token, next()) && (Words.has(Words.LITERALS, next().getType())
        || next().getType() == IDENTIFIER)) {
      problems.error("syntax/literal", new Span(source, token.getStopIndex() + 1, next().getStartIndex()),
          "no blank may stand inside a typed literal");
    }
    return false;
  }

  private static final BitSet BEGINS_NAME =
      Words.set(PROGRAM, FUNCTION, FUNCTION_BLOCK, CLASS, INTERFACE, METHOD, NAMESPACE, TYPE, CONFIGURATION, RESOURCE, STEP, INITIAL_STEP);

  // Instruction lists

  private static final Set<String> FIRST_INSTRUCTIONS = Set.of("LD", "LDN", "ST", "STN", "ANDN", "ORN", "XORN", "CAL", "CALC", "CALCN",
      "JMP", "JMPC", "JMPCN");

  private static final BitSet BEFORE_BODY =
      Words.union(Words.IDENTIFIERS, Words.set(END_VAR, END_METHOD, END_PROPERTY, COLON, RBRACKET, RPAREN));

  private static final BitSet IL_OPERAND = Words.union(Words.LITERALS, Words.IDENTIFIERS, Words.set(DIRECT, TYPE_PREFIX));

  /** A body that begins with an instruction becomes one token; whether that happened. */
  private boolean instructionList(ScanToken token) {
    if (token.getType() != IDENTIFIER || token.getStopIndex() - token.getStartIndex() > 4 || section != null || openBrackets > 0
        || !Words.has(BEFORE_BODY, lastType()) || !Words.has(IL_OPERAND, next().getType())
        || source.lineOf(token.getStartIndex()) != source.lineOf(next().getStartIndex())
        || !FIRST_INSTRUCTIONS.contains(text(token).toUpperCase(Locale.ROOT))) {
      return false;
    }
    problems.add(Diagnostic.error("syntax/il", span(token),
        "this body is an instruction list: edition 4 of the standard has removed that language")
        .withHint("write the body in Structured Text or as a ladder drawing"));
    int end = at;
    while (in[end].getType() != EOF && !Words.has(Words.BODY_ENDS, in[end].getType()) && !Words.has(DECLARES, in[end].getType())) {
      end++;
    }
    ScanToken list = new ScanToken(token.getInputStream(), INSTRUCTION_LIST, Token.DEFAULT_CHANNEL, token.getStartIndex(), in[end - 1].getStopIndex());
    list.markFaulty();
    out.add(list);
    at = end - 1;
    return true;
  }

  private static final BitSet DECLARES = Words.union(Words.DECLARATIONS, Words.PARTS);
}
