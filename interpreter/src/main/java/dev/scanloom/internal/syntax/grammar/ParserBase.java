package dev.scanloom.internal.syntax.grammar;

import org.antlr.v4.runtime.Parser;
import org.antlr.v4.runtime.ParserRuleContext;
import org.antlr.v4.runtime.TokenStream;

/** Lets statements be read by hand-written code where they have no mistakes. */
public abstract class ParserBase extends Parser {
  /** Reads statements in front of the parser. */
  public interface Shortcut {
    /** Reads as many statements as can be read without a mistake, goes behind them and adds one context for each to {@code list}. */
    void statements(ParserRuleContext list);
  }

  private Shortcut shortcut;

  protected ParserBase(TokenStream input) {
    super(input);
  }

  /** What reads statements before this parser does; null for nothing. */
  public void setShortcut(Shortcut shortcut) {
    this.shortcut = shortcut;
  }

  /** At the beginning of a statement, or at the end of a list of them. */
  protected void shortcut() {
    if (shortcut != null && !getErrorHandler().inErrorRecoveryMode(this)) {
      shortcut.statements(getContext());
    }
  }
}
