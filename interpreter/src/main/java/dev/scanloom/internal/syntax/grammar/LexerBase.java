package dev.scanloom.internal.syntax.grammar;

import org.antlr.v4.runtime.CharStream;
import org.antlr.v4.runtime.IntStream;
import org.antlr.v4.runtime.Lexer;

/** Hand-written ends of the tokens that a regular rule cannot describe well: nested comments, pragmas, unclosed strings. */
public abstract class LexerBase extends Lexer {
  /** After a first unclosed comment, later ones are looked for this far only, so that a hostile text costs linear time. */
  private static final int SHORT_SIGHT = 4096;

  private boolean unclosed;
  private boolean unclosedSeen;
  private int innerOpening = -1;

  protected LexerBase(CharStream input) {
    super(input);
  }

  /** Whether the last comment or pragma had no end; asking resets the answer. Such a one ends with its first line. */
  public boolean takeUnclosed() {
    boolean was = unclosed;
    unclosed = false;
    return was;
  }

  /** Offset of the last opening mark inside the last unclosed comment, or -1. */
  public int innerOpening() {
    return innerOpening;
  }

  /** Behind an opening mark: goes behind the closing mark that belongs to it. Comments of one style nest in themselves. */
  protected void closeComment() {
    int star = _input.LA(-1) == '*' && _input.LA(-2) == '(' ? ')' : '/';
    int first = star == ')' ? '(' : '/';
    int body = _input.index();
    int limit = unclosedSeen ? SHORT_SIGHT : Integer.MAX_VALUE;
    int depth = 1;
    int inner = -1;
    while (depth > 0) {
      int c = _input.LA(1);
      if (c == IntStream.EOF || _input.index() - body > limit) {
        endWithLine(body, inner);
        return;
      }
      if (c == '*' && _input.LA(2) == star) {
        depth--;
        _input.consume();
      } else if (c == first && _input.LA(2) == '*') {
        depth++;
        inner = _input.index();
        _input.consume();
      }
      _input.consume();
    }
  }

  /** Behind an opening brace: goes behind the next closing one. */
  protected void closePragma() {
    int body = _input.index();
    int limit = unclosedSeen ? SHORT_SIGHT : Integer.MAX_VALUE;
    int c = _input.LA(1);
    while (c != '}') {
      if (c == IntStream.EOF || _input.index() - body > limit) {
        endWithLine(body, -1);
        return;
      }
      _input.consume();
      c = _input.LA(1);
    }
    _input.consume();
  }

  private void endWithLine(int body, int inner) {
    unclosed = true;
    unclosedSeen = true;
    innerOpening = inner;
    _input.seek(body);
    int c = _input.LA(1);
    while (c != IntStream.EOF && c != '\n' && c != '\r') {
      _input.consume();
      c = _input.LA(1);
    }
  }

  /** Behind an opening quote that has no partner on its line: takes the rest of the line but for closing delimiters at its end. */
  protected void closeString() {
    int body = _input.index();
    int end = body;
    int c = _input.LA(1);
    while (c != IntStream.EOF && c != '\n' && c != '\r') {
      _input.consume();
      if (c != ' ' && c != '\t' && c != ';' && c != ')') {
        end = _input.index();
      }
      c = _input.LA(1);
    }
    _input.seek(end);
  }
}
