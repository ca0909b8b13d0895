package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import org.junit.jupiter.api.Test;

class FormatterTest {

  private static String format(String text) {
    return Formatter.format(SourceText.of("t", text));
  }

  @Test
  void aTextIsLaidOut() {
    assertThat(format("""
        // Counts
        function_block Count extends Base var_input a,b:INT(0..9):=-3;s:bool r_edge; // edge
        (* c *) d:array[1..2,0..1]of REF_TO INT:=[1,2(7)]; end_var


        method public m:INT m:=1;end_method
        if not(a=1)and b>-2 then x[1,i].%B1:=f(a:=1,not q=>c,e=>);elsif b then return;else ;end_if ;

        case n of 1,3..4:y:=Mode#On;(* last *)else z:=INT#-1 ;end_case
        repeat p^:=a**-1;until true end_repeat// done
        x:=a
        +b;
        end_function_block""")).isEqualTo("""
        // Counts
        FUNCTION_BLOCK Count EXTENDS Base
        VAR_INPUT
          a, b : INT (0..9) := -3;
          s : bool R_EDGE; // edge
          (* c *) d : ARRAY [1..2, 0..1] OF REF_TO INT := [1, 2(7)];
        END_VAR

          METHOD PUBLIC m : INT
            m := 1;
          END_METHOD
          IF not (a = 1) AND b > -2 THEN
            x[1, i].%B1 := f(a := 1, NOT q => c, e =>);
          ELSIF b THEN
            RETURN;
          ELSE
            ;
          END_IF;

          CASE n OF
            1, 3..4:
              y := Mode#On; (* last *)
          ELSE
            z := INT#-1;
          END_CASE
          REPEAT
            p^ := a ** -1;
          UNTIL true
          END_REPEAT // done
          x := a
              + b;
        END_FUNCTION_BLOCK
        """);
  }

  @Test
  void drawingsStayAsTheyAre() {
    String drawing = "   Go:\n|  A   (* x *)   Y  |\n+-| |-----------( )-+  // end\n\n";
    assertThat(format("PROGRAM p VAR A:BOOL;END_VAR // c\n" + drawing + "   END_PROGRAM   program q end_program")).isEqualTo(
        "PROGRAM p\nVAR\n  A : BOOL;\nEND_VAR // c\n" + drawing + "END_PROGRAM\nPROGRAM q\nEND_PROGRAM\n");
  }

  @Test
  void aTextWithMistakesStaysAsItIs() {
    assertThat(format("PROGRAM  p x := ; END_PROGRAM")).isEqualTo("PROGRAM  p x := ; END_PROGRAM");
    assertThat(format("(* only a comment *)   ")).isEqualTo("(* only a comment *)\n");
    assertThat(format(" \n ")).isEmpty();
  }

  @Test
  void blanksThatKeepTokensApartStay() {
    assertThat(format("PROGRAM p x := %I0 . 3; y := a - - b; z := NOT NOT c; END_PROGRAM")).contains("x := %I0 . 3;");
  }
}
