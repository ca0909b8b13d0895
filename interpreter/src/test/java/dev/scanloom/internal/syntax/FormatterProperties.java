package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import java.util.ArrayList;
import java.util.List;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;

/** However a program is spread over its lines, with comments and pragmas between any two tokens: laid out it means the same. */
class FormatterProperties {

  private static final List<String> DECLARATIONS = List.of(
      "TYPE Mode : ( Off , On ) ; Pt : STRUCT OVERLAP x : REAL := 1.0 ; y AT %B0 : BYTE ; END_STRUCT ; END_TYPE",
      "FUNCTION f : STRING [ 5 ] USING A . B ; VAR_INPUT a , b : INT ( 0 .. 9 ) := 3 ; s : BOOL R_EDGE ; END_VAR f := 'a' ; END_FUNCTION",
      "FUNCTION_BLOCK F EXTENDS G IMPLEMENTS I , J VAR "
          + "CONSTANT t : TON := ( PT := T#1s ) ; END_VAR METHOD PUBLIC m : INT m := 1 ; END_METHOD "
          + "PROPERTY p : INT GET p := 1 ; END_GET SET v := p ; END_SET END_PROPERTY x := - 1 ; END_FUNCTION_BLOCK",
      "INTERFACE I METHOD m END_METHOD END_INTERFACE",
          "NAMESPACE A . B CLASS C VAR a : ARRAY [ * ] OF INT ; END_VAR END_CLASS END_NAMESPACE",
      "PROGRAM S INITIAL_STEP A : L ( N ) ; END_STEP TRANSITION t ( PRIORITY := 1 ) FROM A TO ( A , B ) := x ; END_TRANSITION "
          + "ACTION c : n := 1 ; END_ACTION END_PROGRAM",
      "CONFIGURATION C VAR_GLOBAL %QX0.0 : BOOL ; END_VAR "
          + "RESOURCE R ON d TASK t ( INTERVAL := T#1s ) ; PROGRAM p WITH t : M ( a := %IX0 , f "
          + "WITH t ) ; END_RESOURCE VAR_CONFIG R . p . a : INT := 1 ; END_VAR END_CONFIGURATION");

  private static final List<String> STATEMENTS = List.of("x := a + b * - c ** 2 ;", "f ( a := 1 , NOT q => c , e => ) ;",
      "THIS . m ( 1 , 2 ) ;",
      "IF a THEN x := 1 ; ELSIF b THEN ; ELSE y := 2 ; END_IF ;", "IF not ( a ) THEN END_IF",
          "CASE n OF 1 , 2 .. 3 : a := 1 ; K : ELSE EXIT ; END_CASE",
      "FOR i := 1 TO 9 BY 2 DO CONTINUE ; END_FOR ;", "WHILE a < b DO x [ 1 , i ] ^ . %B1 := w . 3 ; END_WHILE",
          "REPEAT ; UNTIL true END_REPEAT",
      "r ?= q ;", "m := L . Mode# On ;", "v := INT# - 5 ;", "z := AND ( a , b ) and c ;", "RETURN ;", ";");

  @Property(tries = 1000)
  void layingOutChangesNothingButTheLayout(@ForAll("programs") String text) {
    Parsed before = Parsed.of(text);
    assertThat(before.diagnostics()).as(text).isEmpty();
    String laidOut = Formatter.format(SourceText.of("t", text));
    Parsed after = Parsed.of(laidOut);
    assertThat(after.diagnostics()).as(laidOut).isEmpty();
    assertThat(Shape.of(after.file().declarations())).as("%s\n---\n%s", text, laidOut).isEqualTo(Shape.of(before.file().declarations()));
    assertThat(after.file().pragmas()).hasSameSizeAs(before.file().pragmas());
    assertThat(laidOut.split("\\(\\* c", -1)).hasSameSizeAs(text.split("\\(\\* c", -1));
    assertThat(Formatter.format(SourceText.of("t", laidOut))).isEqualTo(laidOut);
    assertThat(laidOut).doesNotContainPattern("[a-z0-9] ;").doesNotContain("\n\n\n").endsWith("\n");
  }

  @Property(tries = 300)
  void anyTextComesBackWhole(@ForAll String text) {
    String laidOut = Formatter.format(SourceText.of("t", text));
    assertThat(laidOut.replaceAll("\\s", "")).isEqualToIgnoringCase(SourceText.of("t", text).text().replaceAll("\\s", ""));
  }

  @Provide
  Arbitrary<String> programs() {
    Arbitrary<String> program = Arbitraries.of(STATEMENTS).list().ofMaxSize(6)
        .map(l -> "PROGRAM p VAR a : INT ; (*d*) b : INT ; END_VAR " + String.join(" ", l) + " END_PROGRAM");
    Arbitrary<List<String>> all = Arbitraries.oneOf(Arbitraries.of(DECLARATIONS), program).list().ofMinSize(1).ofMaxSize(3);
    Arbitrary<List<String>> between = Arbitraries.frequencyOf(net.jqwik.api.Tuple.of(12, Arbitraries.just(" ")),
        net.jqwik.api.Tuple.of(3, Arbitraries.of("\n", "\n\n", "\r\n  ", "\n\n\n\t")), net.jqwik.api.Tuple.of(1,
            Arbitraries.of("(* c *)", " (* c\n c *) ",
            "\n(* c *)\n", " // c\n", "\n// c\n\n", "{p}", "\n{p}\n", " (* c *) {p} // d\n"))).list().ofSize(400);
    return Combinators.combine(all, between).as((declarations, gaps) -> {
      List<String> words = new ArrayList<>(List.of(String.join(" ", declarations).split(" ")));
      StringBuilder text = new StringBuilder();
      for (int i = 0; i < words.size(); i++) {
        boolean typed = i > 0 && (words.get(i - 1).endsWith("#") || (i > 1 && words.get(i - 2).endsWith("#")
            && words.get(i - 1).equals("-")));
        text.append(i == 0 || typed ? "" : gaps.get(i % gaps.size())).append(words.get(i));
      }
      return text.toString();
    });
  }
}
