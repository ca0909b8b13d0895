package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/** Ladder as statements and as equations; the pictures give the expected meaning. */
class LadderTextTest {
  static List<Cases.Case> withoutBoxes() {
    return LadderPicturesTest.withoutBoxes();
  }

  @ParameterizedTest
  @MethodSource("withoutBoxes")
  void statementsOfAPictureDoWhatItsMeaningSays(Cases.Case c) {
    String made = LadderText.of(Cases.read(c.drawing()).drawing()).toString();
    String meaning = c.all("meaning").get(0);
    LadderPicturesTest.assertSame(() -> visible(Truth.of(made)), () -> Truth.of(meaning), meaning);
  }

  /** Auxiliary variables live beside those of the program. */
  private static Truth.Machine visible(Truth.Machine machine) {
    var hidden = new java.util.HashMap<String, Integer>();
    return v -> {
      hidden.forEach(v::putIfAbsent);
      machine.scan(v);
      for (String name : List.copyOf(v.keySet())) {
        if (name.matches("(w|m|go)[0-9]+")) {
          hidden.put(name, v.remove(name));
        }
      }
    };
  }

  private static Drawing picture(String number) {
    return Cases.read(LadderPicturesTest.pictures().stream().filter(c -> c.name().startsWith(number)).findFirst().orElseThrow().drawing())
        .drawing();
  }

  private static List<String> equations(String number) {
    return picture(number).networks().stream().flatMap(n -> LadderEquations.of(n).stream()).toList();
  }

  @Test
  void commonFactorsAreTakenOut() {
    assertThat(equations("03")).containsExactly("Y = A ∧ (B ∨ C ∧ (D ∨ E)) ∧ F");
    assertThat(equations("18")).containsExactly("Fill = Auto ∧ (Level < 20) ∨ Hand");
    assertThat(LadderText.of(picture("03").networks().get(0)).lines()).containsExactly("Y := A AND (B OR C AND (D OR E)) AND F;");
  }

  @Test
  void edgesSetAndReset() {
    assertThat(equations("19")).containsExactly("Pulse = ↑(↓Gate ∧ Armed)");
    assertThat(equations("14")).containsExactly("Motor = Motor ∨ On", "Motor = Motor ∧ ¬Off");
    assertThat(LadderText.of(picture("19")).lines()).containsExactly("(* network 1 *)", "w1 := NOT Gate AND m1;", "m1 := Gate;",
        "w2 := w1 AND Armed;", "Pulse := w2 AND NOT m2;", "m2 := w2;");
    assertThat(LadderText.of(picture("19")).declarations()).first().asString().startsWith("m1 : BOOL; // value of Gate");
  }

  @Test
  void jumpsOfOneNetworkAreNamed() {
    assertThat(equations("10")).containsExactly("go on at Hand if Manual", "Y = A", "leave the POU", "Y = Jog");
    assertThat(LadderText.of(picture("10").networks().get(0)).lines())
        .containsExactly("IF Manual THEN ; (* go on at label Hand *) END_IF;");
  }

  @Test
  void boxesBecomeCalls() {
    assertThat(LadderText.of(picture("07").networks().get(0)).lines())
        .containsExactly("Delay(IN := Start, PT := T#5s, ET => Elapsed);", "Lamp := Delay.Q;");
    assertThat(LadderText.of(picture("08").networks().get(0)).lines())
        .containsExactly("Sum := ADD(EN := A, IN1 := x, IN2 := y, IN3 := 3, ENO => e1);", "Ok := e1;");
    assertThat(LadderText.of(picture("09").networks().get(0)).lines())
        .containsExactly("Latch(SET1 := A, RESET := NOT Guard);", "Q := Latch.Q1;");
    assertThat(equations("21")).containsExactly("Batch(CU = Part, R = Reset, PV = 10) → Made = CV", "Busy = ¬Batch.Q");
    assertThat(LadderText.of(picture("22").networks().get(0)).lines())
        .containsExactly("Acc1(X1 := x, Tot := Sum);", "Full := Acc1.Full;");
  }

  @Test
  void aStateThatOutlivesAWriteIsKept() {
    Drawing d = Cases.read("""
        |    A                  A  |
        +---| |---+-----------(/)--+
        |         |             B  |
        |         +------------( )-+
        """.replace("(/)--+", "-(/)-+")).drawing();
    assertThat(LadderText.of(d).lines()).containsExactly("(* network 1 *)", "w1 := A;", "A := NOT w1;", "B := w1;");
  }

  @Test
  void longTermsWithSeveralUsersAreNamedSoThatTextStaysShort() {
    // Ladders of bridges double the term at every stage unless it is named.
    StringBuilder graph = new StringBuilder();
    List<Drawing.Element> elements = new java.util.ArrayList<>();
    var parser = new StandInExpressions();
    Drawing.Link link = new Drawing.Link(List.of(new Drawing.Rail()));
    Drawing.Link other = link;
    for (int i = 0; i < 60; i++) {
      var source = dev.scanloom.diagnostic.SourceText.of("x", "V" + i);
      var span = new dev.scanloom.diagnostic.Span(source, 0, source.length());
      var place = new Drawing.Place(span, 1, 1, 3, 1);
      elements.add(new Drawing.Contact(place, Drawing.ContactMark.NORMAL, parser.apply(span), i % 2 == 0 ? link : other));
      if (i >= 2) {
        link = new Drawing.Link(List.of(new Drawing.Out(i - 1, 0), new Drawing.Out(i, 0)));
        other = new Drawing.Link(List.of(new Drawing.Out(i - 2, 0), new Drawing.Out(i, 0)));
      }
      if (i == 59) {
        elements.add(new Drawing.Coil(place, Drawing.CoilMark.NORMAL, parser.apply(span), link));
      }
    }
    var place = elements.get(0).place();
    Drawing.Network n = new Drawing.Network(1, place.span(), java.util.Optional.empty(), "", elements, List.of());
    assertThat(LadderText.of(n).toString().length() + graph.length()).isLessThan(6000);
  }
}
