package dev.scanloom.internal.syntax;

import java.util.List;
import org.antlr.v4.runtime.RuleContext;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.TokenSource;
import org.antlr.v4.runtime.TokenStream;
import org.antlr.v4.runtime.misc.Interval;

/** The tokens of a text that the parser sees; comments and pragmas are kept apart. Ends with one EOF token. */
final class TokenList implements TokenStream {
  private final ScanToken[] tokens;
  private final String name;
  private int at;

  TokenList(List<ScanToken> tokens, String name) {
    this.tokens = tokens.toArray(new ScanToken[0]);
    this.name = name;
  }

  /** Tells every token its index: before the grammar's parser reads them, which asks for it. */
  void number() {
    for (int i = 0; i < tokens.length; i++) {
      tokens[i].setTokenIndex(i);
    }
  }

  @Override
  public ScanToken LT(int k) {
    int place = k > 0 ? at + k - 1 : at + k;
    return k == 0 || place < 0 ? null : tokens[Math.min(place, tokens.length - 1)];
  }

  @Override
  public ScanToken get(int index) {
    return tokens[index];
  }

  /** All of them; not to be changed. */
  ScanToken[] all() {
    return tokens;
  }

  @Override
  public int LA(int i) {
    Token token = LT(i);
    return token == null ? Token.INVALID_TYPE : token.getType();
  }

  @Override
  public void consume() {
    if (at < tokens.length - 1) {
      at++;
    }
  }

  @Override
  public int mark() {
    return 0;
  }

  @Override
  public void release(int marker) {
    // all tokens stay in memory
  }

  @Override
  public int index() {
    return at;
  }

  @Override
  public void seek(int index) {
    at = Math.max(0, Math.min(index, tokens.length - 1));
  }

  @Override
  public int size() {
    return tokens.length;
  }

  @Override
  public String getSourceName() {
    return name;
  }

  @Override
  public TokenSource getTokenSource() {
    throw new UnsupportedOperationException("all tokens have been read");
  }

  @Override
  public String getText(Interval interval) {
    StringBuilder text = new StringBuilder();
    for (int i = Math.max(0, interval.a); i <= interval.b && i < tokens.length; i++) {
      text.append(tokens[i].getText());
    }
    return text.toString();
  }

  @Override
  public String getText() {
    return getText(Interval.of(0, size() - 1));
  }

  @Override
  public String getText(RuleContext context) {
    return getText(context.getSourceInterval());
  }

  @Override
  public String getText(Token start, Token stop) {
    return start == null || stop == null ? "" : getText(Interval.of(start.getTokenIndex(), stop.getTokenIndex()));
  }
}
