package dev.scanloom.internal.syntax;

import org.antlr.v4.runtime.CharStream;
import org.antlr.v4.runtime.CommonToken;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.TokenFactory;
import org.antlr.v4.runtime.TokenSource;
import org.antlr.v4.runtime.misc.Pair;

/** A token that remembers whether something has been said about it: one cause, one diagnostic. */
final class ScanToken extends CommonToken {
  private static final long serialVersionUID = 1;

  /** An error has been reported at this token; the parser keeps quiet about it and about the token behind it. */
  private boolean faulty;

  ScanToken(Pair<TokenSource, CharStream> origin, int type, int channel, int start, int stop) {
    super(origin, type, channel, start, stop);
  }

  boolean faulty() {
    return faulty;
  }

  void markFaulty() {
    faulty = true;
  }

  /** Makes the tokens of one lexer. */
  static final class Factory implements TokenFactory<ScanToken> {
    @Override
    public ScanToken create(
        Pair<TokenSource, CharStream> source, int type, String text, int channel, int start, int stop, int line, int column) {
      return new ScanToken(source, type, channel, start, stop);
    }

    @Override
    public ScanToken create(int type, String text) {
      return new ScanToken(new Pair<>(null, null), type, Token.DEFAULT_CHANNEL, 0, -1);
    }
  }
}
