package dev.scanloom.internal.syntax;

import org.antlr.v4.runtime.CharStream;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.TokenFactory;
import org.antlr.v4.runtime.TokenSource;
import org.antlr.v4.runtime.misc.Interval;
import org.antlr.v4.runtime.misc.Pair;

/**
 * A token that remembers whether something has been said about it: one cause, one diagnostic. Not ANTLR's own kind, which counts lines that nobody asks
 * for: a large text has many tokens.
 */
final class ScanToken implements Token {
  private final CharStream chars;
  private final int start;
  private int type;
  private final int channel;
  private int stop;
  private int index = -1;
  /** An error has been reported at this token; the parser keeps quiet about it and about the token behind it. */
  private boolean faulty;

  /** @param stop offset of the last character; of a token that does not stand in the text, the one in front of {@code start} */
  ScanToken(CharStream chars, int type, int channel, int start, int stop) {
    this.chars = chars;
    this.type = type;
    this.channel = channel;
    this.start = start;
    this.stop = stop;
  }

  boolean faulty() {
    return faulty;
  }

  void markFaulty() {
    faulty = true;
  }

  @Override
  public int getType() {
    return type;
  }

  void setType(int type) {
    this.type = type;
  }

  @Override
  public int getStartIndex() {
    return start;
  }

  @Override
  public int getStopIndex() {
    return stop;
  }

  void setStopIndex(int stop) {
    this.stop = stop;
  }

  @Override
  public int getTokenIndex() {
    return index;
  }

  void setTokenIndex(int index) {
    this.index = index;
  }

  @Override
  public int getChannel() {
    return channel;
  }

  @Override
  public String getText() {
    return type == EOF ? "<EOF>" : chars.getText(Interval.of(start, stop));
  }

  @Override
  public CharStream getInputStream() {
    return chars;
  }

  @Override
  public TokenSource getTokenSource() {
    return null;
  }

  /** Places are offsets; the source text knows their lines. */
  @Override
  public int getLine() {
    return 0;
  }

  @Override
  public int getCharPositionInLine() {
    return -1;
  }

  /** Makes the tokens of one lexer. */
  static final class Factory implements TokenFactory<ScanToken> {
    @Override
    public ScanToken create(
        Pair<TokenSource, CharStream> source, int type, String text, int channel, int start, int stop, int line, int column) {
      return new ScanToken(source.b, type, channel, start, stop);
    }

    @Override
    public ScanToken create(int type, String text) {
      throw new UnsupportedOperationException("a token stands in a text");
    }
  }
}
