package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.Problems;
import org.junit.jupiter.api.Test;

/** What the pictures do not show: places, comments, labels, connectors, bounds. */
class LadderReaderTest {
  private static Drawing clean(String text) {
    Cases.Result r = Cases.read(text);
    assertThat(r.diagnostics()).isEmpty();
    return r.drawing();
  }

  @Test
  void placesCountFromOneWithinTheDrawingAndSpansWithinTheFile() {
    String head = "PROGRAM Main\n";
    String body = """
        |    A              Lamp  |
        +---| |-------------( )---+
        """;
    SourceText source = SourceText.of("main.st", head + body + "END_PROGRAM\n");
    Problems problems = new Problems(10);
    Drawing d = new LadderReader(problems, new StandInExpressions()).read(new Span(source, head.length(), head.length() + body.length()));
    assertThat(problems.sorted()).isEmpty();
    Drawing.Contact contact = (Drawing.Contact) d.networks().get(0).elements().get(0);
    assertThat(contact.place().row()).isEqualTo(2);
    assertThat(contact.place().column()).isEqualTo(5);
    assertThat(contact.place().span().text()).isEqualTo("| |");
    assertThat(contact.place().span().line()).isEqualTo(3);
    assertThat(contact.operand().span().text()).isEqualTo("A");
    assertThat(contact.operand().span().place()).isEqualTo("main.st:2:6");
  }

  @Test
  void aBoxKnowsItsCorners() {
    Drawing d = clean("""
        |               T1               |
        |            +-------+           |
        |    A       |  TON  |    Lamp   |
        +---| |-----O|IN    Q|O---( )----+
        |     T#5s---|PT     |           |
        |            +-------+           |
        """);
    Drawing.Box box = (Drawing.Box) d.networks().get(0).elements().get(1);
    assertThat(box.place().row()).isEqualTo(2);
    assertThat(box.place().column()).isEqualTo(14);
    assertThat(box.place().width()).isEqualTo(9);
    assertThat(box.place().height()).isEqualTo(5);
    assertThat(box.type().span().place()).isEqualTo("drawing:3:17");
    assertThat(box.inputs().get(0).span().text()).isEqualTo("O|IN");
    assertThat(box.inputs().get(0).negated()).isTrue();
    assertThat(box.outputs().get(0).span().text()).isEqualTo("Q|O");
    assertThat(box.outputs().get(0).negated()).isTrue();
    assertThat(box.inputs().get(1).value()).isPresent();
  }

  @Test
  void commentsAndLabelsBelongToTheNetworkBelow() {
    Drawing d = clean("""
        (* the lamp
           over the door *)
        |    A              Lamp  |  // beside: a remark on the drawing
        +---| |-------------( )---+
        // second
        Far:
        | (* third *)             |
        |    B              Horn  |
        +---| |---(* o *)---( )---+
        """.replace("---(* o *)---", "-------------"));
    assertThat(d.networks().get(0).comment()).isEqualTo("the lamp\nover the door");
    assertThat(d.networks().get(0).label()).isEmpty();
    assertThat(d.networks().get(1).comment()).isEqualTo("second\nthird");
    assertThat(d.networks().get(1).label().orElseThrow().text()).isEqualTo("Far");
  }

  @Test
  void aCommentInALinkInterruptsIt() {
    assertThat(Cases.read("""
        |    A              Lamp  |
        +---| |--(* no *)---( )---+
        """).places()).containsExactly("2:10 error ladder/gap");
  }

  @Test
  void wordsMayHoldSignsQuotesBracketsAndBlanks() {
    Drawing d = clean("""
        |                      F1            |
        |                    +-----+         |
        |                    | Mix |         |
        |      D#2024-02-29--|D    |         |
        |            'a-b'---|S   R|--m[i+1] |
        |         (x + 1)----|E    |         |
        |              -5----|N    |         |
        |       m[i + 1].v---|V    |         |
        |           INT#-3---|I    |         |
        |                    +-----+         |
        """);
    assertThat(Graphs.text(d))
        .contains("(D <- 'D#2024-02-29', S <- ''a-b'', E <- '(x + 1)', N <- '(-5)', V <- 'm[i + 1].v', I <- '(INT#-3)')")
        .contains("R => m[i + 1]");
  }

  @Test
  void elementsAreTakenRowByRowEachAfterWhatItNeeds() {
    // From the rule of evaluation inside a network: C and its coil stand above B, on which nothing of theirs depends.
    Drawing d = clean("""
        |    A                  X  |
        +---| |---+---+--------( )-+
        |         |   |    C    Y  |
        |         |   +---| |--( )-+
        |    B    |             Z  |
        +---| |---+----(S)-----( )-+
        |               W          |
        """.replace("(S)-----", "--------").replace("|               W          |\n", ""));
    assertThat(Graphs.text(d)).isEqualTo("""
        network 1
          0 contact normal A <- rail
          1 contact normal B <- rail
          2 coil normal X <- 0+1
          3 contact normal C <- 0+1
          4 coil normal Y <- 3
          5 coil normal Z <- 0+1
        """);
  }

  @Test
  void aConnectorMayBeContinuedAboveItsFeedAndMoreThanOnce() {
    Drawing d = clean("""
        |              B    Lamp  |
        |   >Far>-----| |---( )---+
        |    A                    |
        +---| |---->Far>          |
        |                   Horn  |
        |   >Far>-----------( )---+
        """);
    assertThat(Graphs.text(d)).isEqualTo("""
        network 1
          0 contact normal A <- rail
          1 contact normal B <- 0
          2 coil normal Lamp <- 1
          3 coil normal Horn <- 0
        """);
  }

  @Test
  void segmentsCarryTheStateOfTheirLink() {
    Drawing d = clean("""
        |   Start         Stop      Run   |
        +---| |----+------|/|-------( )---+
        |   Run    |                      |
        +---| |----+                      |
        """);
    var segments = d.networks().get(0).segments();
    assertThat(segments).hasSize(8);
    assertThat(segments).anySatisfy(s -> {
      assertThat(s.column()).isEqualTo(12);
      assertThat(s.toColumn()).isEqualTo(12);
      assertThat(s.row()).isEqualTo(2);
      assertThat(s.toRow()).isEqualTo(4);
      assertThat(s.link().sources()).containsExactly(new Drawing.Out(0, 0), new Drawing.Out(1, 0));
    });
  }

  @Test
  void anEmptyRegionIsAnEmptyDrawing() {
    assertThat(clean("").networks()).isEmpty();
    assertThat(clean("\n\n").networks()).isEmpty();
    assertThat(clean("|\n|\n").networks()).isEmpty();
  }

  @Test
  void aRowWiderThanTheLimitIsSaid() {
    String row = "+---| |" + "-".repeat(5000) + "( )---+\n";
    assertThat(Cases.read("|    A\n" + row).places()).contains("2:4096 error limit/ladder-width");
  }

  @Test
  void aHundredThousandNetworksAreReadInSeconds() {
    StringBuilder text = new StringBuilder();
    for (int i = 0; i < 50_000; i++) {
      text.append("|   In").append(100_000 + i).append("         Lamp  |\n+-----| |-----------( )----+\n");
      text.append("|     A               X    |\n+----| |----+-------( )----+\n");
      text.append("|     B     |              |\n+----|/|----+              |\n");
    }
    SourceText source = SourceText.of("long", text.toString());
    Problems problems = new Problems(10);
    Drawing d = Effort.within(20, () -> new LadderReader(problems, span -> new Expression.Ident(span, new Name(span, "x")))
        .read(new Span(source, 0, source.length())));
    assertThat(problems.sorted()).isEmpty();
    assertThat(d.networks()).hasSize(100_000);
    assertThat(d.networks().get(99_999).elements()).hasSize(3);
  }

  @Test
  void badShapesStayLinear() {
    // Each of these made a quadratic reader of some pass slow: stairs of joints, columns of corners, rows of brackets.
    StringBuilder stairs = new StringBuilder("|    A\n+---| |-+\n");
    for (int i = 0; i < 400; i++) {
      stairs.append("|").append(" ".repeat(7 + 2 * i)).append("|\n");
      stairs.append("|").append(" ".repeat(7 + 2 * i)).append("+-+\n");
    }
    String corners = ("| +--+\n| |  |\n").repeat(20_000);
    String brackets = ("|" + "(".repeat(4000) + "\n").repeat(200);
    String bars = ("|" + " |".repeat(2000) + "\n").repeat(200);
    Effort.within(20, () -> {
      Cases.read(stairs.toString());
      Cases.read(corners);
      Cases.read(brackets);
      return Cases.read(bars);
    });
  }
}
