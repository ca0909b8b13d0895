package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.internal.syntax.grammar.ScanloomLexer;
import dev.scanloom.internal.syntax.grammar.ScanloomParser;
import org.junit.jupiter.api.Test;

/** The spellings are written out a second time, for the sake of start-ups: they are those of the grammar. */
class WordsTest {
  @Test
  void spellingsAreTheGrammars() {
    for (int type = 1; type <= ScanloomParser.VOCABULARY.getMaxTokenType(); type++) {
      String literal = ScanloomParser.VOCABULARY.getLiteralName(type);
      assertThat(Words.spelling(type)).as("%d", type).isEqualTo(literal == null ? null : literal.substring(1, literal.length() - 1));
      assertThat(ScanloomLexer.VOCABULARY.getLiteralName(type)).isEqualTo(literal);
    }
    assertThat(Words.spelling(ScanloomParser.VOCABULARY.getMaxTokenType() + 1)).isNull();
  }
}
