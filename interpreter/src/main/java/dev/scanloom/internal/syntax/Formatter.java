package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.SourceText;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.BitSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.antlr.v4.runtime.ParserRuleContext;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.tree.ParseTree;
import org.antlr.v4.runtime.tree.TerminalNode;

/**
 * Lays a text out: a declaration or statement a line, two blanks per level, keywords in capitals, one blank around operators. It changes
 * white
 * space and the case of keywords and nothing else: no comment, pragma or token is lost or moved over another one, drawings stay as they
 * are,
 * line breaks inside a statement stay where they were, and of several blank lines one remains. Laying out twice is laying out once.
 *
 * <p>Stateless; safe for use by several threads.
 */
public final class Formatter {
  private final SourceText source;
  private final StParser.Run run;
  /** The level at which a token begins a line, or -1. */
  private final int[] lines;
  /** Level of the line that a token stands on. */
  private final int[] levels;
  /** The rule a token belongs to. */
  private final int[] rules;
  private final StringBuilder out = new StringBuilder();

  private Formatter(SourceText source, StParser.Run run) {
    this.source = source;
    this.run = run;
    this.lines = new int[run.tokens.size()];
    this.levels = new int[run.tokens.size()];
    this.rules = new int[run.tokens.size()];
    Arrays.fill(lines, -1);
  }

  /** The text laid out; a text with mistakes comes back as it is. */
  static String format(SourceText source) {
    return formatted(source).orElse(source.text());
  }

  /** The text laid out; empty if the text has mistakes of spelling or grammar. */
  public static Optional<String> formatted(SourceText source) {
    Optional<StParser.Run> run = StParser.whole(source);
    if (run.isEmpty()) {
      return Optional.empty();
    }
    Formatter formatter = new Formatter(source, run.get());
    for (DeclarationContext tree : run.get().trees) {
      formatter.begin(tree, 0);
      formatter.walk(tree, 0);
    }
    Optional<String> text = formatter.print();
    return Optional.of(text.filter(t -> formatter.same(t)).orElse(source.text()));
  }

  // Where lines begin

  private void begin(ParserRuleContext c, int level) {
    if (c.getStart() != null && c.getStop() != null && c.getStop().getTokenIndex() >= c.getStart().getTokenIndex()) {
      int index = c.getStart().getTokenIndex();
      // the mark in front of a case label is no token of the text
      lines[c.getStart().getType() == CASE_LABEL ? index + 1 : index] = level;
    }
  }

  private static final BitSet DEEPER = Words.set(RULE_namespaceElement, RULE_typeDefinition, RULE_structureElement,
      RULE_variableDeclaration,
      RULE_accessDeclaration, RULE_configVariable, RULE_accessor, RULE_statement, RULE_chartElement, RULE_actionAssociation,
      RULE_configurationElement, RULE_resourceElement, RULE_caseGroup);

  private static final BitSet SAME_LEVEL = Words.set(RULE_variableSection, RULE_usingDirective, RULE_elsifBranch, RULE_elseBranch);

  private static final BitSet TRANSPARENT = Words.set(RULE_declaration, RULE_variableSection, RULE_member, RULE_namespaceElement,
      RULE_configurationElement, RULE_resourceElement, RULE_chartElement, RULE_statement);

  private void walk(ParserRuleContext c, int level) {
    for (int i = 0; i < c.getChildCount(); i++) {
      ParseTree child = c.getChild(i);
      if (child instanceof TerminalNode t) {
        terminal(t.getSymbol(), c, level);
      } else {
        ParserRuleContext rule = (ParserRuleContext) child;
        int inner = level;
        int index = rule.getRuleIndex();
        if (Words.has(DEEPER, index)) {
          inner = level + 1;
          if (!closesBlock(rule)) {
            begin(rule, inner);
          }
        } else if (index == RULE_member) {
          inner = rule.getChild(0) instanceof VariableSectionContext ? level : level + 1;
          begin(rule, inner);
        } else if (Words.has(SAME_LEVEL, index) && !Words.has(TRANSPARENT, c.getRuleIndex())) {
          begin(rule, level);
        }
        walk(rule, inner);
      }
    }
  }

  private void terminal(Token token, ParserRuleContext owner, int level) {
    int index = token.getTokenIndex();
    if (index < 0) {
      return;
    }
    rules[index] = owner.getRuleIndex();
    levels[index] = level;
    int type = token.getType();
    if (Words.has(Words.ENDS, type) || type == UNTIL) {
      lines[index] = level;
    }
  }

  /** Whether a statement is but the semicolon behind END_IF and its like. */
  private boolean closesBlock(ParserRuleContext c) {
    return c instanceof StatementContext s && s.getChildCount() == 1 && s.SEMICOLON() != null && s.getStart().getTokenIndex() > 0
        && Words.has(Words.STATEMENT_ENDS, run.tokens.get(s.getStart().getTokenIndex() - 1).getType());
  }

  // Printing

  private static final String INDENT = "  ";

  /** The text, or empty where comments and drawings are interwoven. */
  private Optional<String> print() {
    List<ScanToken> hidden = run.hidden;
    int h = 0;
    ScanToken before = null;
    int end = -1;
    for (int i = 0; i < run.tokens.size(); i++) {
      ScanToken token = run.tokens.get(i);
      if (token.getType() == CASE_LABEL) {
        continue;
      }
      List<ScanToken> remarks = new ArrayList<>();
      while (h < hidden.size() && hidden.get(h).getStartIndex() < token.getStartIndex()) {
        remarks.add(hidden.get(h++));
      }
      if (!remarks.isEmpty() && remarks.get(remarks.size() - 1).getStopIndex() >= token.getStartIndex()) {
        return Optional.empty();
      }
      end = remarks(remarks, i, before, end);
      if (token.getType() == EOF) {
        break;
      }
      if (token.getType() == DRAWING) {
        newLine(end, token.getStartIndex(), 0);
        out.append(source.slice(token.getStartIndex(), token.getStopIndex() + 1));
        while (h < hidden.size() && hidden.get(h).getStartIndex() <= token.getStopIndex()) {
          h++;
        }
      } else {
        separate(token, i, before, end, !remarks.isEmpty());
        out.append(spelling(token, i));
      }
      before = token;
      end = token.getStopIndex() + 1;
    }
    int length = out.length();
    while (length > 0 && (out.charAt(length - 1) == '\n' || out.charAt(length - 1) == ' ')) {
      length--;
    }
    out.setLength(length);
    return Optional.of(length == 0 ? "" : out.append('\n').toString());
  }

  /** Prints the comments and pragmas in front of token {@code i}; the offset behind the last one, or {@code end} without any. */
  private int remarks(List<ScanToken> remarks, int i, ScanToken before, int end) {
    int behind = end;
    ScanToken token = run.tokens.get(i);
    boolean starts = token.getType() == EOF || token.getType() == DRAWING || lines[i] >= 0;
    int level = token.getType() == DRAWING ? levels[i] : lines[i] >= 0 ? lines[i] : before == null ? 0 : levels[before.getTokenIndex()] + 2;
    if (closes(token)) {
      level++;
    }
    // a comment on one line with what it stands in front of goes with it to the next line
    boolean alone = !starts || token.getType() == DRAWING || token.getType() == EOF || closes(token);
    int together = alone ? remarks.size() : firstJoined(remarks, token);
    for (int r = 0; r < remarks.size(); r++) {
      ScanToken remark = remarks.get(r);
      boolean sameLine = behind >= 0 && line(behind) == line(remark.getStartIndex());
      boolean withNext = r >= together;
      if (behind < 0) {
        behind = 0; // the first thing in the text
      } else if (sameLine && !(withNext && r == 0)) {
        out.append(' ');
      } else {
        newLine(behind, remark.getStartIndex(), level);
      }
      out.append(source.slice(remark.getStartIndex(), remark.getStopIndex() + 1));
      behind = remark.getStopIndex() + 1;
    }
    return behind;
  }

  private static boolean closes(ScanToken token) {
    int type = token.getType();
    return Words.has(Words.ENDS, type) || type == UNTIL || type == ELSE || type == ELSIF;
  }

  /** The first remark from which on everything up to the token stands on one line. */
  private int firstJoined(List<ScanToken> remarks, ScanToken token) {
    int line = line(token.getStartIndex());
    int r = remarks.size();
    while (r > 0 && line(remarks.get(r - 1).getStopIndex()) == line) {
      r--;
      line = line(remarks.get(r).getStartIndex());
    }
    return r;
  }

  private int line(int offset) {
    return source.lineOf(Math.max(0, offset));
  }

  /** Ends the line and indents the next one; a blank line between {@code from} and {@code to} stays. */
  private void newLine(int from, int to, int level) {
    if (out.length() == 0) {
      return;
    }
    if (out.charAt(out.length() - 1) != '\n') {
      out.append('\n');
    }
    if (from >= 0 && line(to) - line(Math.max(0, from - 1)) > 1) {
      out.append('\n');
    }
    out.append(INDENT.repeat(level));
  }

  private void separate(ScanToken token, int i, ScanToken before, int end, boolean behindRemark) {
    boolean sameLine = end >= 0 && line(Math.max(0, end - 1)) == line(token.getStartIndex());
    if (before == null && !behindRemark) {
      return;
    }
    if (lines[i] >= 0) {
      if (behindRemark && sameLine && !closes(token)) {
        out.append(' ');
      } else {
        newLine(end, token.getStartIndex(), lines[i]);
      }
    } else if (!sameLine && token.getType() != SEMICOLON || (behindRemark && !sameLine)) {
      newLine(token.getStartIndex(), token.getStartIndex(), before == null ? 0 : levels[before.getTokenIndex()] + 2);
    } else if (behindRemark || blankBetween(before, token, i)) {
      out.append(' ');
    }
  }

  private static final BitSet NO_BLANK_BEFORE = Words.set(SEMICOLON, COMMA, RPAREN, RBRACKET, DOT, CARET, RANGE);

  private static final BitSet NO_BLANK_BEHIND = Words.set(LPAREN, LBRACKET, DOT, RANGE, TYPE_PREFIX);

  private static final BitSet TIGHT_COLON = Words.set(RULE_caseLabels, RULE_step, RULE_transition, RULE_action);

  private static final BitSet TIGHT_PAREN = Words.set(RULE_arguments, RULE_taskDeclaration, RULE_actionAssociation);

  private static final BitSet TIGHT_BRACKET = Words.set(RULE_selector, RULE_namedType);

  private boolean blankBetween(ScanToken before, ScanToken token, int i) {
    int type = token.getType();
    int rule = rules[i];
    int ruleBefore = rules[before.getTokenIndex()];
    if (Words.has(NO_BLANK_BEFORE, type) || Words.has(NO_BLANK_BEHIND, before.getType())) {
      return false;
    }
    if (before.getType() == DRAWING) {
      return false;
    }
    boolean signBefore = (before.getType() == PLUS || before.getType() == MINUS) && (ruleBefore == RULE_operand
        || ruleBefore == RULE_typedValue);
    if (signBefore) {
      return false;
    }
    if (type == COLON) {
      return !Words.has(TIGHT_COLON, rule);
    }
    if (type == LPAREN) {
      return !Words.has(TIGHT_PAREN, rule);
    }
    if (type == LBRACKET) {
      return !Words.has(TIGHT_BRACKET, rule);
    }
    return true;
  }

  private static final BitSet AS_WRITTEN = Words.set(RULE_identifier, RULE_variableRoot, RULE_literal, RULE_typedValue);

  private String spelling(ScanToken token, int i) {
    String text = source.slice(token.getStartIndex(), token.getStopIndex() + 1);
    boolean word = Words.isKeyword(token.getType()) && !Words.has(AS_WRITTEN, rules[i]) && !functionOfNot(token, i);
    return word ? text.toUpperCase(Locale.ROOT) : text;
  }

  /** NOT in front of a parenthesis may be the name of a function, which keeps its spelling. */
  private boolean functionOfNot(ScanToken token, int i) {
    return token.getType() == NOT && run.tokens.get(i + 1).getType() == LPAREN;
  }

  /** Whether the text laid out has the tokens, comments and pragmas of the old one. */
  private boolean same(String text) {
    SourceText laidOut = SourceText.of(source.name(), text);
    return StParser.whole(laidOut).map(r -> words(source, run).equals(words(laidOut, r))).orElse(false);
  }

  private static List<String> words(SourceText text, StParser.Run run) {
    List<String> words = new ArrayList<>();
    for (List<ScanToken> list : List.of(run.hidden, tokens(run))) {
      for (ScanToken t : list) {
        String word = text.slice(t.getStartIndex(), t.getStopIndex() + 1);
        words.add(t.getType() + " " + (Words.isKeyword(t.getType()) ? word.toUpperCase(Locale.ROOT) : word));
      }
    }
    return words;
  }

  private static List<ScanToken> tokens(StParser.Run run) {
    List<ScanToken> list = new ArrayList<>();
    for (int i = 0; i < run.tokens.size(); i++) {
      list.add(run.tokens.get(i));
    }
    return list;
  }
}
