package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.internal.syntax.grammar.ScanloomLexer;
import dev.scanloom.internal.syntax.grammar.ScanloomParser;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.Deque;
import java.util.List;
import org.antlr.v4.runtime.ParserRuleContext;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.tree.ParseTree;
import org.antlr.v4.runtime.tree.TerminalNode;

/** What the first two stages make of a text, as lines for people. Diagnostics are not its business: the text may have mistakes. */
public final class SyntaxText {
  private SyntaxText() {}

  /** The tokens in the order of the text, with comments and pragmas: {@code line:column KIND spelling}. */
  public static List<String> tokens(SourceText source) {
    TokenReader reader = new TokenReader(source, 0, source.length(), new Problems(1));
    List<ScanToken> all = new ArrayList<>(reader.read());
    all.addAll(reader.hidden());
    all.sort(Comparator.comparingInt(ScanToken::getStartIndex));
    List<String> lines = new ArrayList<>();
    for (ScanToken t : all) {
      if (t.getType() != Token.EOF) {
        lines.add(line(source, t));
      }
    }
    return lines;
  }

  private record Item(ParseTree node, int level) {}

  /** The tree of the grammar, a rule or token a line, two blanks a level. */
  public static List<String> tree(SourceText source, int nesting) {
    StParser.Run run = new StParser(new Problems(1), nesting).byGrammar().new Run(source, 0, source.length());
    List<String> lines = new ArrayList<>();
    while (run.tokens.LA(1) != Token.EOF) {
      if (!StParser.beginsDeclaration(run.tokens.LA(1))) {
        run.grammar().sync();
        continue;
      }
      int before = run.tokens.index();
      walk(source, run.grammar().parser.declaration(), lines);
      if (run.tokens.index() == before) {
        run.tokens.consume();
      }
    }
    return lines;
  }

  /** Without recursion: a long chain of operators is a deep tree. */
  private static void walk(SourceText source, ParseTree root, List<String> lines) {
    Deque<Item> open = new ArrayDeque<>();
    open.push(new Item(root, 0));
    while (!open.isEmpty()) {
      Item item = open.pop();
      String indent = "  ".repeat(Math.min(item.level(), 100));
      if (item.node() instanceof TerminalNode t) {
        if (t.getSymbol().getStartIndex() >= 0 && t.getSymbol().getStopIndex() >= t.getSymbol().getStartIndex()) {
          lines.add(indent + line(source, t.getSymbol()));
        }
      } else {
        ParserRuleContext rule = (ParserRuleContext) item.node();
        lines.add(indent + ScanloomParser.ruleNames[rule.getRuleIndex()]);
        for (int i = rule.getChildCount() - 1; i >= 0; i--) {
          open.push(new Item(rule.getChild(i), item.level() + 1));
        }
      }
    }
  }

  private static String line(SourceText source, Token t) {
    int start = t.getStartIndex();
    int end = Math.min(t.getStopIndex() + 1, source.length());
    String kind = ScanloomLexer.VOCABULARY.getSymbolicName(t.getType());
    String spelling = end > start ? source.slice(start, end) : "";
    return source.lineOf(start) + ":" + source.columnOf(start) + " " + kind + (spelling.isBlank() ? "" : " " + spelling);
  }
}
