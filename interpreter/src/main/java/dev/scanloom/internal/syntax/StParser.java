package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.grammar.ScanloomParser;
import dev.scanloom.internal.syntax.grammar.ScanloomParser.DeclarationContext;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
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
  public static final int MAX_NESTING = 500;

  private final Problems problems;
  private final int maxNesting;
  private final int maxLength;
  private boolean byHand = true;

  /** A parser that takes sources of any length: for callers that have looked at the length themselves. */
  public StParser(Problems problems, int maxNesting) {
    this(problems, maxNesting, Integer.MAX_VALUE);
  }

  /**
   * @param problems where diagnostics go
   * @param maxNesting deepest nesting of parentheses, brackets, statements, types and namespaces; at most {@link #MAX_NESTING}
   * @param maxLength longest source, in code points; of a longer one nothing is read
   */
  public StParser(Problems problems, int maxNesting, int maxLength) {
    this.problems = problems;
    this.maxNesting = Math.max(1, Math.min(maxNesting, MAX_NESTING));
    this.maxLength = maxLength;
  }

  /** From now on everything is read by lexer and parser of the grammar: for those who want its whole tree, and to compare. */
  StParser byGrammar() {
    byHand = false;
    return this;
  }

  /** Parses a whole source text. */
  public SourceFile parse(SourceText source) {
    if (source.length() > maxLength) {
      problems.error("limit/source", new Span(source, maxLength, maxLength),
          "this source has " + source.length() + " characters; the limit is " + maxLength);
      return new SourceFile(source, List.of(), List.of());
    }
    Run run = new Run(source, 0, source.length());
    List<Declaration> declarations = new ArrayList<>();
    while (run.tokens.LA(1) != Token.EOF) {
      Declaration read = byHand ? run.straight.declaration() : null;
      if (read != null) {
        declarations.add(read);
        continue;
      }
      if (!beginsDeclaration(run.tokens.LA(1))) {
        run.grammar().sync();
        continue;
      }
      int before = run.tokens.index();
      Grammar grammar = run.grammar();
      grammar.builder.declaration(grammar.parser.declaration()).ifPresent(declarations::add);
      if (run.tokens.index() == before) {
        run.tokens.consume(); // cannot happen; a guard against going round in circles
      }
    }
    run.finish();
    return new SourceFile(source, declarations, run.remarks.pragmas());
  }

  /**
   * Parses one expression (a variable access, a literal or any expression) that stands in {@code span}, as the ladder reader finds them
   * at operands and pins. Anything but white space behind it is an error; then {@link Expression.Erroneous} comes back.
   */
  public Expression parseExpression(Span span) {
    int errors = problems.errorCount();
    Expression plain = byHand ? plain(span) : null;
    if (plain != null) {
      return plain;
    }
    Run run = new Run(span.source(), span.start(), Math.min(span.end(), span.source().length()));
    Expression e = run.grammar().builder.expression(run.grammar().parser.lonelyExpression().expression());
    run.finish();
    return problems.errorCount() > errors ? new Expression.Erroneous(span) : e;
  }

  /** The expression if it can be read without the grammar; null, without a report, if not. */
  private Expression plain(Span span) {
    int end = Math.min(span.end(), span.source().length());
    Expression access = maxNesting >= 80 ? Straight.access(span.source(), span.start(), end) : null;
    if (access != null) {
      return access;
    }
    Problems found = new Problems(1);
    TokenReader reader = new TokenReader(span.source(), span.start(), end, found);
    TokenList tokens = new TokenList(new TokenRepair(span.source(), found, maxNesting, reader.read()).repair(), "");
    return found.isEmpty() ? new Straight(span.source(), tokens, null, maxNesting).alone() : null;
  }

  /** The parse trees of a text without mistakes, for the formatter; empty if it has any. */
  static Optional<Run> whole(SourceText source) {
    Problems problems = new Problems(1);
    Run run = new StParser(problems, MAX_NESTING).byGrammar().new Run(source, 0, source.length());
    while (run.tokens.LA(1) != Token.EOF && !problems.hasErrors()) {
      if (!beginsDeclaration(run.tokens.LA(1))) {
        return Optional.empty();
      }
      DeclarationContext tree = run.grammar().parser.declaration();
      run.grammar().builder.declaration(tree);
      run.trees.add(tree);
    }
    return problems.hasErrors() ? Optional.empty() : Optional.of(run);
  }

  /** One pass over a text or a part of it. */
  final class Run {
    final TokenList tokens;
    final List<ScanToken> hidden;
    final List<DeclarationContext> trees = new ArrayList<>();
    final Remarks remarks;
    final Straight straight;
    private final SourceText source;
    private Grammar grammar;
    private final Problems found;
    private final int trusted;

    Run(SourceText source, int start, int end) {
      TokenReader reader = new TokenReader(source, start, end, problems, !byHand);
      List<ScanToken> read = reader.read();
      trusted = reader.unclosedAt() < 0 ? Integer.MAX_VALUE : reader.unclosedAt();
      found = trusted == Integer.MAX_VALUE ? problems : new Problems(1_000);
      tokens = new TokenList(new TokenRepair(source, found, maxNesting, read).repair(), source.name());
      hidden = reader.hidden();
      remarks = new Remarks(source, hidden, tokens);
      straight = new Straight(source, tokens, remarks, maxNesting);
      this.source = source;
    }

    /** Parser and tree builder, made when they are needed. */
    Grammar grammar() {
      if (grammar == null) {
        grammar = new Grammar(source, found, maxNesting, tokens, remarks, byHand ? straight : null);
      }
      return grammar;
    }

    /**
     * Behind an unclosed comment the text is read as well as may be, but what is wrong there is not reported: one cause, one diagnostic.
     */
    void finish() {
      if (found != problems) {
        found.sorted().stream().filter(d -> d.span().start() < trusted).forEach(problems::add);
      }
    }
  }

  /** What begins a declaration at the top of a text. */
  static boolean beginsDeclaration(int type) {
    return type > 0 && (Words.has(Words.DECLARATIONS, type) || Words.has(Words.SECTIONS, type));
  }

  /** The parser of the grammar with what belongs to it. Loading it costs a start more than reading a small text by hand. */
  static final class Grammar {
    final ScanloomParser parser;
    final Recovery recovery;
    final TreeBuilder builder;

    Grammar(SourceText source, Problems problems, int maxNesting, TokenList tokens, Remarks remarks, Straight shortcut) {
      tokens.number();
      parser = new ScanloomParser(tokens);
      parser.getInterpreter().setPredictionMode(PredictionMode.SLL);
      parser.removeErrorListeners();
      recovery = new Recovery(source, problems);
      parser.setErrorHandler(recovery);
      parser.setShortcut(shortcut);
      builder = new TreeBuilder(source, problems, maxNesting, tokens, remarks);
    }

    /** Goes on at the next declaration. Here and not where it is needed, since that class would have the parser loaded to be verified. */
    void sync() {
      recovery.syncTop(parser);
    }
  }
}
