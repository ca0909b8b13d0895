package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.grammar.ScanloomParser;
import java.util.ArrayList;
import java.util.List;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.atn.PredictionMode;

/**
 * Text to syntax tree. Always answers: any text yields a tree and diagnostics, never an exception.
 *
 * <p>Limits: see {@code maxNesting}; nesting is counted over the token stream before the parser runs. Time and memory are linear in the
 * length of the text. Confined to one thread.
 */
public final class StParser {
  /** A greater limit of nesting would not be safe on an ordinary Java stack. */
  public static final int MAX_NESTING = 1_000;

  private final Problems problems;
  private final int maxNesting;

  /**
   * @param problems where diagnostics go
   * @param maxNesting deepest nesting of parentheses, brackets, statements, types and namespaces; at most {@link #MAX_NESTING}
   */
  public StParser(Problems problems, int maxNesting) {
    this.problems = problems;
    this.maxNesting = Math.max(1, Math.min(maxNesting, MAX_NESTING));
  }

  /** Parses a whole source text. */
  public SourceFile parse(SourceText source) {
    Run run = new Run(source, 0, source.length());
    List<Declaration> declarations = new ArrayList<>();
    while (run.tokens.LA(1) != Token.EOF) {
      if (!Recovery.beginsDeclaration(run.tokens.LA(1))) {
        run.recovery.syncTop(run.parser);
        continue;
      }
      int before = run.tokens.index();
      run.builder.declaration(run.parser.declaration()).ifPresent(declarations::add);
      if (run.tokens.index() == before) {
        run.tokens.consume(); // cannot happen; a guard against going round in circles
      }
    }
    return new SourceFile(source, declarations, run.remarks.pragmas());
  }

  /**
   * Parses one expression (a variable access, a literal or any expression) that stands in {@code span}, as the ladder reader finds them
   * at operands and pins. Anything but white space behind it is an error; then {@link Expression.Erroneous} comes back.
   */
  public Expression parseExpression(Span span) {
    int errors = problems.errorCount();
    Run run = new Run(span.source(), span.start(), Math.min(span.end(), span.source().length()));
    Expression e = run.builder.expression(run.parser.lonelyExpression().expression());
    return problems.errorCount() > errors ? new Expression.Erroneous(span) : e;
  }

  /** One pass over a text or a part of it. */
  private final class Run {
    final TokenList tokens;
    final Remarks remarks;
    final ScanloomParser parser;
    final Recovery recovery;
    final TreeBuilder builder;

    Run(SourceText source, int start, int end) {
      TokenReader reader = new TokenReader(source, start, end, problems);
      List<ScanToken> read = reader.read();
      tokens = new TokenList(new TokenRepair(source, problems, maxNesting, read).repair(), reader.lexer());
      remarks = new Remarks(source, reader.hidden(), tokens);
      parser = new ScanloomParser(tokens);
      parser.getInterpreter().setPredictionMode(PredictionMode.SLL);
      parser.removeErrorListeners();
      recovery = new Recovery(source, problems);
      parser.setErrorHandler(recovery);
      builder = new TreeBuilder(source, problems, maxNesting, tokens, remarks);
    }
  }
}
