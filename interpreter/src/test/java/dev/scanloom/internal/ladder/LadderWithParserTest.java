package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.StParser;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Reader, printer and ST text with the parser of the language. */
class LadderWithParserTest {
  static List<Cases.Case> pictures() {
    return Cases.in("pictures");
  }

  private static Drawing read(String text, Problems problems) {
    SourceText source = SourceText.of("drawing", text);
    return new LadderReader(problems, new StParser(problems, 256)).read(new Span(source, 0, source.length()));
  }

  @ParameterizedTest
  @MethodSource("pictures")
  void picturesReadAlikeAndPrintAlike(Cases.Case c) {
    Problems problems = new Problems(100);
    Drawing d = read(c.drawing(), problems);
    assertThat(problems.sorted()).isEmpty();
    assertThat(Graphs.text(d).strip().lines().map(String::strip).toList()).isEqualTo(c.all("graph"));
    Problems again = new Problems(100);
    assertThat(Graphs.text(read(LadderPrinter.print(d), again))).isEqualTo(Graphs.text(d));
    assertThat(again.sorted()).isEmpty();
  }

  @Test
  void commentsInFrontOfADrawingBelongToItsFirstNetwork() {
    String text = "PROGRAM P\nVAR a, b : BOOL; END_VAR\n(* one *)\n// two\n/* three */\n\n|  a       b  |\n+--| |----( )--+\nEND_PROGRAM\n";
    SourceText source = SourceText.of("drawing", text);
    int start = text.indexOf("|  a");
    Drawing d = new LadderReader(new Problems(9), new StParser(new Problems(9), 256)).read(new Span(source, start, text.indexOf("END_PROGRAM")));
    assertThat(d.networks().get(0).comment()).isEqualTo("one two three");
    assertThat(LeadingComment.before(source, 0)).isEmpty();
    assertThat(LeadingComment.before(SourceText.of("t", "x := 1; *) |"), 11)).isEmpty();
  }

  @ParameterizedTest
  @MethodSource("pictures")
  void statementsOfAPictureAreStatements(Cases.Case c) {
    String body = LadderText.of(read(c.drawing(), new Problems(100))).toString();
    Problems problems = new Problems(100);
    new StParser(problems, 256).parse(SourceText.of("made.st", "PROGRAM Made\n" + body + "\nEND_PROGRAM\n"));
    assertThat(problems.sorted()).as(body).isEmpty();
  }

  @ParameterizedTest
  @ValueSource(strings = {"a + b * c", "(a + b) * c", "-a ** 2", "NOT (a AND b) OR c", "a - (b - c)", "m[i + 1, j].v^", "INT#-12", "T#1h2m",
      "LTIME#5ns", "'it$'s'", "Mode#Auto", "w.%X3", "%IW2.7", "2#1010_0101", "1.5E-3", "MAX(a, b)", "DT#2024-02-29-12:30:00", "a <> b = c"})
  void expressionsPrintAsTheyParse(String text) {
    Expression once = parse(text);
    Expression twice = parse(ExpressionText.of(once));
    assertThat(once).isNotInstanceOf(Expression.Erroneous.class);
    assertThat(ExpressionText.of(twice)).isEqualTo(ExpressionText.of(once));
    assertThat(ExpressionText.of(once).replace(" ", "")).isEqualTo(text.replace(" ", ""));
  }

  private static Expression parse(String text) {
    Problems problems = new Problems(10);
    SourceText source = SourceText.of("x", text);
    Expression e = new StParser(problems, 256).parseExpression(new Span(source, 0, source.length()));
    assertThat(problems.sorted()).as(text).isEmpty();
    return e;
  }

  @Test
  void aWordThatIsNoExpressionIsOneFinding() {
    Problems problems = new Problems(100);
    read("""
        |   A..B            Lamp  |
        +---| |-------------( )---+
        """, problems);
    assertThat(problems.sorted()).hasSize(1);
    assertThat(problems.sorted().get(0).span().line()).isEqualTo(1);
  }

  @Test
  void anExpressionWithoutParenthesesIsToldToTakeThem() {
    Problems problems = new Problems(100);
    read("""
        |              F                |
        |           +-----+             |
        |           | Mix |             |
        |     x+1---|A    |             |
        |           +-----+             |
        """, problems);
    assertThat(problems.sorted()).singleElement().satisfies(d -> {
      assertThat(d.code()).isEqualTo("ladder/operand");
      assertThat(d.span().place()).isEqualTo("drawing:4:7");
      assertThat(d.hint()).contains("write (x+1)");
    });
  }

  @Test
  void manyOperandsAreParsedInSeconds() {
    String text = ("|     A               X    |\n+----| |----+-------( )----+\n"
        + "|  m[i+1]   |              |\n+----|/|----+              |\n").repeat(20_000);
    Problems problems = new Problems(100);
    Drawing d = Effort.within(30, () -> read(text, problems));
    assertThat(problems.sorted()).isEmpty();
    assertThat(d.networks()).hasSize(20_000);
  }
}
