package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.util.ArrayList;
import java.util.BitSet;
import java.util.List;
import java.util.Locale;
import org.antlr.v4.runtime.DefaultErrorStrategy;
import org.antlr.v4.runtime.InputMismatchException;
import org.antlr.v4.runtime.Parser;
import org.antlr.v4.runtime.ParserRuleContext;
import org.antlr.v4.runtime.RecognitionException;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.misc.IntervalSet;

/**
 * What happens where the text does not fit the grammar. Errors leave the rule they were found in and travel up to a rule with a place to
 * go on
 * at (a statement, a declaration of a variable, a part of a POU); there the parser skips to that place. Missing delimiters and end
 * keywords are
 * supplied, wrong ones are taken for the right ones. Every error is reported once, in the words of the standard.
 */
final class Recovery extends DefaultErrorStrategy {
  private final SourceText source;
  private final Problems problems;
  /** An ELSE without IF has been reported; the END_IF that belongs to it is not reported again. */
  private boolean strayElse;

  Recovery(SourceText source, Problems problems) {
    this.source = source;
    this.problems = problems;
  }

  // Reporting

  @Override
  public void reportError(Parser parser, RecognitionException e) {
    if (inErrorRecoveryMode(parser)) {
      return;
    }
    beginErrorCondition(parser);
    ScanToken found = (ScanToken) (e.getOffendingToken() == null ? parser.getCurrentToken() : e.getOffendingToken());
    IntervalSet expected = e instanceof InputMismatchException && e.getExpectedTokens() != null
        ? e.getExpectedTokens() : expectedAt(parser);
    report(parser, found, expected);
  }

  private static IntervalSet expectedAt(Parser parser) {
    return parser.getExpectedTokens();
  }

  private boolean quiet(Parser parser, ScanToken found) {
    ScanToken before = (ScanToken) parser.getInputStream().LT(-1);
    boolean said = found.faulty() || (before != null && before.faulty());
    found.markFaulty();
    return said;
  }

  private void report(Parser parser, ScanToken found, IntervalSet expected) {
    if (quiet(parser, found)) {
      return;
    }
    Span place = span(found);
    boolean name = expected.contains(IDENTIFIER);
    if (name && Words.isKeyword(found.getType()) && !expected.contains(found.getType()) && usedAsName(parser, found)) {
      problems.add(Diagnostic.error("syntax/keyword", place, found.getText() + " is a keyword and cannot be a name; expected "
          + Words.oneOf(Expected.things(expected))));
      return;
    }
    Diagnostic d = Diagnostic.error("syntax/expected", place, "expected " + Words.oneOf(Expected.things(expected)) + ", found "
        + describe(found));
    String hint = hint(parser, found, expected);
    problems.add(withOpen(parser, hint == null ? d : d.withHint(hint), expected));
  }

  /** What people who know other languages may have meant; null if nothing is known. */
  private static String hint(Parser parser, ScanToken found, IntervalSet expected) {
    int rule = parser.getContext().getRuleIndex();
    int type = found.getType();
    Token before = parser.getInputStream().LT(-1);
    int last = before == null ? EOF : before.getType();
    if (type == COMMA && rule == RULE_structureElement) {
      return "each element of a structure has a declaration of its own";
    }
    if (type == MINUS && last == IDENTIFIER && expected.contains(COLON)) {
      return "identifiers consist of the letters A to Z, digits and single underscores";
    }
    if (type == RBRACKET && rule == RULE_dimension) {
      return "a dimension has two bounds, such as 0..9";
    }
    if (last == RETURN && expected.contains(SEMICOLON)) {
      return "a result is assigned to the name of the function, in a statement of its own";
    }
    if (type == ASSIGN && (expected.contains(THEN) || expected.contains(DO) || expected.contains(RPAREN))) {
      return ":= gives a value, = compares";
    }
    if ((type == PLUS || type == MINUS) && last == IDENTIFIER && parser.getInputStream().LA(2) == type) {
      return "a variable is counted up or down by an assignment: " + before.getText() + " := " + before.getText() + " " + found.getText() + " 1";
    }
    return null;
  }

  /** A keyword in front of something that follows names. */
  private boolean usedAsName(Parser parser, ScanToken found) {
    TokenList tokens = (TokenList) parser.getInputStream();
    int next = found.getTokenIndex() + 1 < tokens.size() ? tokens.get(found.getTokenIndex() + 1).getType() : EOF;
    return !Words.has(Words.ENDS, found.getType()) && (next == ASSIGN || next == COLON || next == COMMA || next == DOT || next == RPAREN
        || next == SEMICOLON || next == LBRACKET || next == ARROW || Words.has(Words.SECTIONS, next)) || Words.has(Words.SECTIONS, next);
  }

  /** Adds where the innermost bracket or statement was opened that the error stands in. */
  private Diagnostic withOpen(Parser parser, Diagnostic d, IntervalSet expected) {
    for (ParserRuleContext c = parser.getContext(); c != null; c = c.getParent()) {
      if (c.getStart() == null) {
        continue;
      }
      int type = c.getStart().getType();
      boolean bracket = (c.getRuleIndex() == RULE_parenthesized || c.getRuleIndex() == RULE_arguments || c.getRuleIndex() == RULE_valueList)
          && expected.contains(RPAREN);
      boolean statement = Words.has(STATEMENT_RULES, c.getRuleIndex());
      if ((bracket || statement) && c.getStart() != parser.getCurrentToken()) {
        String opening = statement ? Words.spelling(type) : "'('";
        return d.withRelated(span(c.getStart()), opening + " opened here");
      }
      if (c.getRuleIndex() == RULE_declaration || c.getRuleIndex() == RULE_member) {
        return d;
      }
    }
    return d;
  }

  private Span span(Token token) {
    int start = Math.min(token.getStartIndex(), source.length());
    return new Span(source, Math.max(0, start), Math.max(start, token.getStopIndex() + 1));
  }

  /** A token as diagnostics call it. */
  static String describe(Token token) {
    int type = token.getType();
    if (type == EOF) {
      return "the end of the text";
    }
    if (type == DRAWING) {
      return "a ladder drawing";
    }
    if (type == INSTRUCTION_LIST) {
      return "an instruction list";
    }
    if (type == CASE_LABEL) {
      return "a case label";
    }
    if (Words.isKeyword(type)) {
      return token.getText().toUpperCase(Locale.ROOT);
    }
    String text = token.getText();
    if (text.length() > 40) {
      text = text.substring(0, text.offsetByCodePoints(0, Math.min(30, text.codePointCount(0, text.length())))) + "...";
    }
    return text.startsWith("'") ? text : "'" + text + "'";
  }

  // Going on after an error

  private static final BitSet STATEMENT_RULES =
      Words.set(RULE_ifStatement, RULE_caseStatement, RULE_forStatement, RULE_whileStatement, RULE_repeatStatement);

  private static final BitSet BODY_STOPS = Words.union(Words.ENDS, Words.DECLARATIONS, Words.PARTS, Words.SECTIONS,
      Words.set(EOF, ELSE, ELSIF, UNTIL, CASE_LABEL));

  private static final BitSet STATEMENT_STOPS = Words.union(BODY_STOPS, Words.STATEMENTS);

  private static final BitSet DECLARATION_STOPS =
      Words.union(Words.ENDS, Words.DECLARATIONS, Words.PARTS, Words.SECTIONS, Words.STATEMENTS, Words.set(EOF));

  private static final BitSet PART_STOPS = Words.union(Words.DECLARATIONS, Words.PARTS, Words.OTHER_ENDS, Words.set(EOF));

  private static final BitSet TOP_STOPS = Words.union(Words.DECLARATIONS, Words.SECTIONS, Words.set(EOF, END_NAMESPACE));

  @Override
  public void recover(Parser parser, RecognitionException e) {
    ParserRuleContext context = parser.getContext();
    switch (context.getRuleIndex()) {
      case RULE_statement -> skipThrough(parser, context, STATEMENT_STOPS);
      case RULE_condition, RULE_controlVariable -> skipTo(parser, CONDITION_STOPS);
      case RULE_caseLabels -> {
        skipTo(parser, CASE_STOPS);
        if (parser.getInputStream().LA(1) == COLON) {
          parser.consume();
        }
      }
      case RULE_variableDeclaration, RULE_accessDeclaration, RULE_configVariable, RULE_structureElement, RULE_typeDefinition,
          RULE_usingDirective, RULE_taskDeclaration, RULE_programInstance -> skipThrough(parser, context, DECLARATION_STOPS);
      case RULE_step, RULE_transition, RULE_action, RULE_member, RULE_accessor, RULE_resourceElement, RULE_configurationElement ->
          skipPart(parser, context);
      case RULE_declaration -> skipDeclaration(parser, context);
      case RULE_lonelyExpression -> skipTo(parser, Words.set(EOF));
      default -> throw e;
    }
  }

  private static final BitSet CONDITION_STOPS = Words.union(STATEMENT_STOPS, Words.set(THEN, DO, OF, TO, BY, SEMICOLON));

  private static final BitSet CASE_STOPS = Words.union(STATEMENT_STOPS, Words.set(COLON, SEMICOLON));

  private static void skipTo(Parser parser, BitSet stops) {
    while (!stops.get(type(parser)) && type(parser) != EOF_BIT) {
      parser.consume();
    }
  }

  private static int type(Parser parser) {
    int type = parser.getInputStream().LA(1);
    return type == EOF ? EOF_BIT : type;
  }

  /** EOF is -1, which no bit set holds. */
  static final int EOF_BIT = 0;

  /** Behind the next semicolon, or in front of a token that cannot be part of what {@code context} is about. Always moves on. */
  private static void skipThrough(Parser parser, ParserRuleContext context, BitSet stops) {
    boolean moved = parser.getCurrentToken().getTokenIndex() > context.getStart().getTokenIndex();
    while (type(parser) != EOF_BIT) {
      int type = type(parser);
      if (type == SEMICOLON) {
        parser.consume();
        return;
      }
      if (moved && stops.get(type)) {
        return;
      }
      if (!moved && Words.has(BODY_STOPS, type)) {
        return;
      }
      parser.consume();
      moved = true;
    }
  }

  /** Behind the end keyword of the part that begins with {@code context}, or in front of the next part. */
  private static void skipPart(Parser parser, ParserRuleContext context) {
    int end = Words.closerOf(context.getStart().getType());
    boolean moved = parser.getCurrentToken().getTokenIndex() > context.getStart().getTokenIndex();
    while (type(parser) != EOF_BIT) {
      int type = type(parser);
      if (type == end) {
        parser.consume();
        return;
      }
      if (moved && Words.has(PART_STOPS, type)) {
        return;
      }
      parser.consume();
      moved = true;
    }
  }

  private static void skipDeclaration(Parser parser, ParserRuleContext context) {
    int end = Words.closerOf(context.getStart().getType());
    boolean moved = parser.getCurrentToken().getTokenIndex() > context.getStart().getTokenIndex();
    while (type(parser) != EOF_BIT) {
      int type = type(parser);
      if (type == end && end != 0) {
        parser.consume();
        return;
      }
      if (moved && (Words.has(Words.DECLARATIONS, type) || type == END_NAMESPACE)) {
        return;
      }
      parser.consume();
      moved = true;
    }
  }

  // Missing and wrong tokens

  @Override
  public Token recoverInline(Parser parser) {
    IntervalSet expected = parser.getExpectedTokens();
    ScanToken found = (ScanToken) parser.getCurrentToken();
    int type = found.getType();
    int wanted = single(expected);
    if (wanted > 0 && Words.has(Words.ENDS, wanted)) {
      return endKeyword(parser, found, wanted);
    }
    if (wanted == 0 && endOf(expected) > 0) {
      return endKeyword(parser, found, endOf(expected));
    }
    for (int keyword : OPENINGS) {
      if (expected.contains(keyword)) {
        return opening(parser, found, expected, keyword);
      }
    }
    TokenList tokens = (TokenList) parser.getInputStream();
    if (Words.isKeyword(type) && expected.contains(IDENTIFIER) && usedAsName(parser, found)) {
      // taken for the name that it was meant to be
      reportOnce(parser, found, expected);
      parser.consume();
      return found;
    }
    if (expected.contains(IDENTIFIER) && !expected.contains(INTEGER) && (Words.has(Words.SECTIONS, type) || type == COLON)) {
      reportOnce(parser, found, expected);
      return missing(parser, IDENTIFIER);
    }
    if (expected.contains(tokens.LA(2)) && !Words.has(STATEMENT_STOPS, type) && type != SEMICOLON) {
      reportOnce(parser, found, expected);
      parser.consume();
      Token match = parser.getCurrentToken();
      reportMatch(parser);
      parser.consume();
      return match;
    }
    if (expected.contains(RPAREN) && type == RBRACKET || expected.contains(RBRACKET) && type == RPAREN) {
      reportOnce(parser, found, expected);
      parser.consume();
      return found;
    }
    for (int supplied : SUPPLIED) {
      if (expected.contains(supplied) && suits(parser, supplied, type, found)) {
        reportOnce(parser, found, expected);
        return missing(parser, supplied);
      }
    }
    throw new InputMismatchException(parser);
  }

  private static final int[] OPENINGS = {THEN, DO, OF, TO};

  private static final int[] SUPPLIED = {SEMICOLON, RPAREN, RBRACKET, COLON};

  private static final BitSet BEHIND_SEMICOLON = Words.union(STATEMENT_STOPS, Words.IDENTIFIERS, Words.set(THIS, SUPER, DIRECT,
      TYPE_PREFIX));

  /** Whether the parser can go on at {@code found} as if {@code supplied} had stood in front of it. */
  private boolean suits(Parser parser, int supplied, int type, ScanToken found) {
    boolean fresh = parser.getInputStream().LT(-1) != null
        && source.lineOf(parser.getInputStream().LT(-1).getStopIndex()) != source.lineOf(found.getStartIndex());
    return switch (supplied) {
      case SEMICOLON -> type == EOF || (Words.has(BEHIND_SEMICOLON, type)) || fresh;
      case RPAREN -> type == EOF || type == SEMICOLON || type == THEN || type == DO || type == OF || type == RBRACKET
          || (Words.has(STATEMENT_STOPS, type));
      case RBRACKET -> type == EOF || type == SEMICOLON || type == ASSIGN || type == RPAREN || type == THEN || type == DO || type == OF
          || (Words.has(STATEMENT_STOPS, type));
      case COLON -> Words.has(Words.IDENTIFIERS, type) || type == ARRAY || type == STRUCT || type == REF_TO
          || (type > 0 && (Words.has(Words.ENDS, type) || Words.has(Words.STATEMENTS, type)));
      default -> false;
    };
  }

  private void reportOnce(Parser parser, ScanToken found, IntervalSet expected) {
    if (inErrorRecoveryMode(parser)) {
      return;
    }
    beginErrorCondition(parser);
    report(parser, found, expected);
  }

  private static int single(IntervalSet set) {
    return set.size() == 1 ? set.getMinElement() : 0;
  }

  /** The end keyword among several tokens that may stand behind a list of statements or declarations, or 0. */
  private static int endOf(IntervalSet set) {
    for (int type : set.toArray()) {
      if (Words.has(Words.ENDS, type)) {
        return type;
      }
    }
    return 0;
  }

  private Token missing(Parser parser, int type) {
    Token current = parser.getCurrentToken();
    Token before = parser.getInputStream().LT(-1);
    int place = before == null ? current.getStartIndex() : before.getStopIndex() + 1;
    return new ScanToken(current.getInputStream(), type, Token.DEFAULT_CHANNEL, place, place - 1);
  }

  /** THEN, DO, OF or TO is missing: it is looked for in the rest of the statement. */
  private Token opening(Parser parser, ScanToken found, IntervalSet expected, int keyword) {
    reportOnce(parser, found, expected);
    TokenList tokens = (TokenList) parser.getInputStream();
    int distance = 1;
    while (!Words.has(STATEMENT_STOPS, tokens.LA(distance)) && tokens.LA(distance) != SEMICOLON && tokens.LA(distance) != EOF) {
      if (tokens.LA(distance) == keyword) {
        for (int i = 1; i < distance; i++) {
          parser.consume();
        }
        Token match = parser.getCurrentToken();
        reportMatch(parser);
        parser.consume();
        return match;
      }
      distance++;
    }
    return missing(parser, keyword);
  }

  /** An end keyword is missing, or another one stands in its place. */
  private Token endKeyword(Parser parser, ScanToken found, int wanted) {
    ParserRuleContext context = parser.getContext();
    if (found.getType() == SEMICOLON && parser.getInputStream().LA(2) == wanted) {
      reportOnce(parser, found, IntervalSet.of(wanted));
      parser.consume();
      Token match = parser.getCurrentToken();
      reportMatch(parser);
      parser.consume();
      return match;
    }
    ScanToken opening = (ScanToken) context.getStart();
    ScanToken before = (ScanToken) parser.getInputStream().LT(-1);
    boolean said = quiet(parser, found) || inErrorRecoveryMode(parser);
    beginErrorCondition(parser);
    if (!said) {
      String opened = opening.getText().toUpperCase(Locale.ROOT);
      String message = opened + " opened at line " + span(opening).line() + " is not closed: expected " + Words.spelling(wanted)
          + ", found " + describe(found);
      Diagnostic d = Diagnostic.error("syntax/unclosed", span(found), message).withRelated(span(opening), opened + " opened here");
      if (before != null && before.getType() == DRAWING) {
        d = d.withHint("behind a drawing the end keyword stands on a row of its own");
      } else if (found.getType() == METHOD || found.getType() == PROPERTY) {
        d = d.withHint("methods and properties stand between the sections of variables and the body");
      } else if (wanted == END_CASE && !Words.has(Words.ENDS, found.getType()) && found.getType() != EOF) {
        d = d.withHint("a colon stands behind the labels of a group: 1, 3..5: ...");
      } else if (context instanceof IfStatementContext i && elseIf(i)) {
        d = d.withHint("ELSE IF opens another IF, which needs its own END_IF; ELSIF does not");
      }
      problems.add(d);
    }
    if (found.getType() > 0 && Words.has(Words.ENDS, found.getType()) && !claimed(context.getParent(), found.getType())) {
      parser.consume();
      return found;
    }
    return missing(parser, wanted);
  }

  private boolean elseIf(IfStatementContext c) {
    if (c.elseBranch() == null || c.elseBranch().statementList() == null || c.elseBranch().statementList().statement().isEmpty()) {
      return false;
    }
    IfStatementContext inner = c.elseBranch().statementList().statement(0).ifStatement();
    return inner != null && span(inner.getStart()).line() == span(c.elseBranch().getStart()).line();
  }

  /** Whether {@code type} ends or continues something that is open from {@code context} upwards. */
  private static boolean claimed(ParserRuleContext context, int type) {
    for (ParserRuleContext c = context; c != null; c = c.getParent()) {
      if (c.getStart() != null && claims(c, type)) {
        return true;
      }
    }
    return false;
  }

  private static boolean claims(ParserRuleContext c, int type) {
    int start = c.getStart().getType();
    return switch (c.getRuleIndex()) {
      case RULE_ifStatement -> type == END_IF || type == ELSE || type == ELSIF;
      case RULE_caseStatement -> type == END_CASE || type == ELSE || type == CASE_LABEL;
      case RULE_repeatStatement -> type == END_REPEAT || type == UNTIL;
      case RULE_accessorDeclaration -> type == Words.closerOf(start) || type == END_PROPERTY;
      case RULE_accessor -> type == Words.closerOf(start) || type == (start == GET ? END_PROPERTY_GET : start == SET ? END_PROPERTY_SET
          : start == PROPERTY_GET ? END_GET : END_SET);
      case RULE_forStatement, RULE_whileStatement, RULE_variableSection, RULE_accessSection, RULE_configSection, RULE_structureType,
          RULE_namespaceDeclaration, RULE_typeDeclarations, RULE_functionDeclaration, RULE_functionBlockDeclaration, RULE_classDeclaration,
          RULE_interfaceDeclaration, RULE_programDeclaration, RULE_methodDeclaration, RULE_propertyDeclaration, RULE_step, RULE_transition,
          RULE_action, RULE_configurationDeclaration, RULE_resourceDeclaration -> type == Words.closerOf(start);
      default -> false;
    };
  }

  // Lists of statements and declarations

  private static final BitSet BEGINS_STATEMENT = Words.union(Words.STATEMENTS, Words.IDENTIFIERS,
      Words.set(SEMICOLON, TOO_DEEP, THIS, SUPER, DIRECT, TYPE_PREFIX, AND, OR, XOR, MOD));

  @Override
  public void sync(Parser parser) {
    switch (parser.getContext().getRuleIndex()) {
      case RULE_statementList -> syncStatements(parser);
      case RULE_variableSection, RULE_accessSection, RULE_configSection, RULE_structureType, RULE_typeDeclarations ->
          syncDeclarations(parser);
      case RULE_namespaceDeclaration, RULE_classDeclaration, RULE_interfaceDeclaration, RULE_configurationDeclaration,
          RULE_resourceDeclaration -> syncParts(parser);
      default -> {
        // nothing to skip to here: the match that follows reports what is wrong
      }
    }
  }

  private void syncStatements(Parser parser) {
    while (true) {
      int type = parser.getInputStream().LA(1);
      if (type == EOF || Words.has(BEGINS_STATEMENT, type)) {
        return;
      }
      ScanToken found = (ScanToken) parser.getCurrentToken();
      if (Words.has(BODY_STOPS, type)) {
        boolean ender = Words.has(Words.ENDS, type) || type == ELSE || type == ELSIF || type == UNTIL || type == CASE_LABEL
            || (Words.has(Words.SECTIONS, type) && insideBody(parser));
        if (!ender || claimed(parser.getContext(), type)) {
          if (type == CASE_LABEL && inElse(parser)) {
            strayLabel(parser, found);
            continue;
          }
          return;
        }
        if (Words.has(Words.SECTIONS, type)) {
          lateSection(parser, found);
          continue;
        }
        ParserRuleContext outer = parser.getContext().getParent();
        if (Words.has(Words.STATEMENT_ENDS, type) && outer != null && Words.has(STATEMENT_RULES, statementRule(outer).getRuleIndex())) {
          return; // taken for the end keyword of the innermost statement
        }
        if (Words.has(Words.OTHER_ENDS, type) && !Words.has(Words.set(END_VAR, END_STRUCT, END_TYPE), type)) {
          return; // taken for the end keyword of this body
        }
        boolean follows = type == END_IF && strayElse;
        strayElse = type == ELSE || type == ELSIF || (strayElse && type != END_IF);
        if (!inErrorRecoveryMode(parser) && !quiet(parser, found) && !follows) {
          String word = describe(found);
          problems.error("syntax/expected", span(found), type == CASE_LABEL ? "a case label stands outside CASE"
              : word + " belongs to nothing that is open here; expected a statement");
        }
        beginErrorCondition(parser);
        parser.consume();
        if (parser.getInputStream().LA(1) == SEMICOLON) {
          parser.consume();
        }
        continue;
      }
      if (!inErrorRecoveryMode(parser)) {
        beginErrorCondition(parser);
        if (!quiet(parser, found)) {
          if (Words.isKeyword(type) && usedAsName(parser, found)) {
            problems.error("syntax/keyword", span(found), describe(found) + " is a keyword and cannot be a name; expected a statement");
          } else {
            problems.error("syntax/expected", span(found), "expected a statement, found " + describe(found));
          }
        }
      }
      skipStatement(parser);
    }
  }

  private static boolean insideBody(Parser parser) {
    for (ParserRuleContext c = parser.getContext(); c != null; c = c.getParent()) {
      if (c.getRuleIndex() == RULE_body) {
        return true;
      }
    }
    return false;
  }

  /** A section of variables among statements: reported and passed over. */
  private void lateSection(Parser parser, ScanToken found) {
    if (!inErrorRecoveryMode(parser) && !quiet(parser, found)) {
      problems.error("syntax/expected", span(found), describe(found) + " stands behind the first statement of a body;"
          + " sections of variables stand in front of the body");
    }
    beginErrorCondition(parser);
    while (type(parser) != EOF_BIT && type(parser) != END_VAR && !Words.has(PART_STOPS, type(parser))) {
      parser.consume();
    }
    if (type(parser) == END_VAR) {
      parser.consume();
    }
  }

  private static ParserRuleContext statementRule(ParserRuleContext c) {
    boolean part = c.getRuleIndex() == RULE_elsifBranch || c.getRuleIndex() == RULE_elseBranch || c.getRuleIndex() == RULE_caseGroup;
    return part ? c.getParent() : c;
  }

  private static boolean inElse(Parser parser) {
    ParserRuleContext outer = parser.getContext().getParent();
    return outer != null && outer.getRuleIndex() == RULE_elseBranch && outer.getParent().getRuleIndex() == RULE_caseStatement;
  }

  private void strayLabel(Parser parser, ScanToken found) {
    ScanToken first = (ScanToken) parser.getInputStream().LT(2);
    if (!inErrorRecoveryMode(parser) && !quiet(parser, found)) {
      problems.error("syntax/expected", span(first), "a case label cannot follow ELSE; expected END_CASE or a statement");
    }
    parser.consume();
    skipTo(parser, CASE_STOPS);
    if (parser.getInputStream().LA(1) == COLON) {
      parser.consume();
    }
  }

  private static void skipStatement(Parser parser) {
    parser.consume();
    while (type(parser) != EOF_BIT && !Words.has(STATEMENT_STOPS, type(parser))) {
      boolean end = type(parser) == SEMICOLON;
      parser.consume();
      if (end) {
        return;
      }
    }
  }

  private void syncDeclarations(Parser parser) {
    while (true) {
      int type = parser.getInputStream().LA(1);
      if (type == EOF || Words.has(DECLARATION_STOPS, type) || Words.has(Words.IDENTIFIERS, type)) {
        return;
      }
      IntervalSet expected = parser.getExpectedTokens();
      if (expected.contains(type)) {
        return;
      }
      ScanToken found = (ScanToken) parser.getCurrentToken();
      reportOnce(parser, found, expected);
      parser.consume();
      while (type != SEMICOLON && type(parser) != EOF_BIT && !Words.has(DECLARATION_STOPS, type(parser))) {
        boolean end = type(parser) == SEMICOLON;
        parser.consume();
        if (end) {
          break;
        }
      }
    }
  }

  private void syncParts(Parser parser) {
    while (true) {
      int type = parser.getInputStream().LA(1);
      IntervalSet expected = parser.getExpectedTokens();
      if (type == EOF || expected.contains(type) || claimed(parser.getContext(), type) || expected.contains(IDENTIFIER)) {
        return;
      }
      int rule = parser.getContext().getRuleIndex();
      boolean part = Words.has(Words.DECLARATIONS, type) && rule != RULE_namespaceDeclaration;
      if (part) {
        return;
      }
      ScanToken found = (ScanToken) parser.getCurrentToken();
      reportOnce(parser, found, expected);
      parser.consume();
      while (type(parser) != EOF_BIT && !Words.has(PART_STOPS, type(parser)) && !Words.has(Words.SECTIONS, type(parser))) {
        parser.consume();
      }
    }
  }

  /** In front of the next declaration, reporting once what stands there instead. */
  void syncTop(Parser parser) {
    ScanToken found = (ScanToken) parser.getCurrentToken();
    if (!quiet(parser, found)) {
      String what = describe(found);
      problems.add(Diagnostic.error("syntax/expected", span(found), Words.has(Words.ENDS, found.getType())
          ? what + " belongs to nothing that is open here; expected a declaration"
          : "expected a declaration such as PROGRAM, FUNCTION_BLOCK or TYPE, found " + what));
    }
    // no rule is active here, so the tokens are passed over without the parser
    parser.getInputStream().consume();
    while (type(parser) != EOF_BIT && !Words.has(TOP_STOPS, type(parser))) {
      parser.getInputStream().consume();
    }
  }

  /** What may stand at a place, in the standard's words. */
  static final class Expected {
    private Expected() {}

    private static final BitSet OPERATORS = Words.set(OR, XOR, AND, AMPERSAND, EQ, NE, LT, GT, LE, GE, PLUS, MINUS, TIMES, DIVIDE, MOD,
        POWER, DOT, LBRACKET, CARET, LPAREN);

    static List<String> things(IntervalSet expected) {
      List<String> things = new ArrayList<>();
      boolean expression = expected.contains(INTEGER) && expected.contains(IDENTIFIER) && expected.contains(LPAREN);
      boolean statement = expected.contains(IF) && expected.contains(IDENTIFIER);
      boolean member = expected.contains(IDENTIFIER) && expected.contains(INTEGER) && !expected.contains(LPAREN);
      boolean type = expected.contains(ARRAY) && expected.contains(STRUCT);
      boolean operator = expected.contains(PLUS) && expected.contains(TIMES) && !expression;
      boolean literal = expected.contains(INTEGER) && !expression && !member;
      boolean modifiers = expected.contains(FINAL) && expected.contains(ABSTRACT);
      boolean qualifiers = expected.contains(CONSTANT) && expected.contains(RETAIN);
      if (expression) {
        things.add("an expression");
      }
      if (type) {
        things.add("a type");
      } else if (member) {
        things.add("the name of a member");
      } else if (expected.contains(IDENTIFIER) && !expression && !statement) {
        things.add("an identifier");
      }
      if (literal) {
        things.add("a literal");
      }
      List<String> ends = new ArrayList<>();
      for (int token : expected.toArray()) {
        if (token <= 0) {
          if (token == EOF) {
            ends.add("the end of the text");
          }
          continue;
        }
        String spelling = Words.spelling(token);
        boolean covered = Words.has(Words.IDENTIFIERS, token) || Words.has(Words.LITERALS, token) || token == TYPE_PREFIX
            || token == TOO_DEEP
            || token == DRAWING || token == INSTRUCTION_LIST
            || (expression && (Words.has(OPERATORS, token) || token == NOT || token == THIS || token == SUPER || token == DIRECT))
            || (operator && Words.has(OPERATORS, token)) || (type && (token == ARRAY || token == STRUCT || token == REF_TO
            || token == LPAREN))
            || (statement && (Words.has(Words.STATEMENTS, token) || token == THIS || token == SUPER || token == DIRECT || token == SEMICOLON
                || Words.has(OPERATORS, token)))
            || (modifiers && Words.has(MODIFIERS, token)) || (qualifiers && Words.has(Words.SECTION_QUALIFIERS, token)) || (member
            && token == DIRECT);
        if (covered) {
          continue;
        }
        if (token == CASE_LABEL) {
          ends.add("a case label");
        } else if (token == DIRECT) {
          ends.add("a direct variable");
        } else if (spelling != null) {
          ends.add(Words.isKeyword(token) ? spelling : "'" + spelling + "'");
        }
      }
      // delimiters that end something come first: they are what is usually missing
      if (ends.size() > 3 && statement) {
        ends.removeIf(e -> !e.startsWith("END_"));
      }
      things.addAll(things.isEmpty() ? 0 : things.size(), ends);
      if (statement && !expression) {
        things.add(0, "a statement");
      }
      if (operator && things.isEmpty()) {
        things.add("an operator");
      }
      if (things.isEmpty()) {
        things.add("something else");
      }
      return things;
    }

    private static final BitSet MODIFIERS = Words.set(ABSTRACT, FINAL, OVERRIDE, PUBLIC, PRIVATE, PROTECTED, INTERNAL);
  }

  @Override
  public boolean inErrorRecoveryMode(Parser parser) {
    return super.inErrorRecoveryMode(parser);
  }

  /** For the tree builder: the span of a token. */
  static Span span(SourceText source, Token token) {
    return new Span(source, token.getStartIndex(), Math.max(token.getStartIndex(), token.getStopIndex() + 1));
  }
}
