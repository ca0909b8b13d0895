package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import org.junit.jupiter.api.Test;

class StParserTest {

  @Test
  void aProgramWithADrawingKeepsWholeLines() {
    SourceFile f = Parsed.clean("""
        PROGRAM Main
        VAR Lamp : BOOL; END_VAR
        // the lamp
        |    A       Lamp  |
        +---| |-----( )----+
        END_PROGRAM
        """);
    Declaration.Program p = (Declaration.Program) f.declarations().get(0);
    assertThat(p.body()).isInstanceOf(Body.Drawing.class);
    assertThat(p.body().span().text()).isEqualTo("|    A       Lamp  |\n+---| |-----( )----+\n");
    assertThat(p.body().span().place()).isEqualTo("t:4:1");
  }

  @Test
  void anEmptyTextIsAnEmptyFile() {
    assertThat(Parsed.clean("").declarations()).isEmpty();
  }
}
