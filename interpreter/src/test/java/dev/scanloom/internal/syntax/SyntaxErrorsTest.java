package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** One cause, one diagnostic, at the right place; the rest of the text is still in the tree. */
class SyntaxErrorsTest {

  /** Mistakes in a body; columns count within the text. What stands behind must still be found. */
  @ParameterizedTest(name = "{0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "IF a THEN x := 1; | 3:1 syntax/unclosed | IF opened at line 2 is not closed: expected END_IF, found END_PROGRAM",
      "IF a THEN x := 1; END_WHILE; | 2:19 syntax/unclosed | IF opened at line 2 is not closed: expected END_IF, found END_WHILE",
      "FOR i := 1 TO 2 DO IF a THEN x := 1; END_FOR | 2:38 syntax/unclosed | expected END_IF, found END_FOR",
      "WHILE a DO x := 1; | 3:1 syntax/unclosed | WHILE opened at line 2", "CASE a OF 1: x := 1; | 3:1 syntax/unclosed | expected END_CASE",
      "REPEAT x := 1; UNTIL a | 3:1 syntax/unclosed | REPEAT opened at line 2 is not closed: expected END_REPEAT, found END_PROGRAM",
      "REPEAT x := 1; END_REPEAT | 2:16 syntax/expected | expected UNTIL, found END_REPEAT",
      "x := 1 y := 2; | 2:8 syntax/expected | expected ';', found 'y'", "x := 1 | 3:1 syntax/expected | expected ';', found END_PROGRAM",
      "x := (a + b; | 2:12 syntax/expected | expected ')', found ';'", "x := (a + b]; | 2:12 syntax/expected | expected ')', found ']'",
      "x := a[1; | 2:9 syntax/expected | expected ']'", "x := a[1); | 2:9 syntax/expected | expected ']', found ')'",
      "x := a + b); | 2:11 syntax/expected | expected ';', found ')'", "x := ; | 2:6 syntax/expected | expected an expression, found ';'",
      "x := a +; | 2:9 syntax/expected | expected an expression",
          "x := a * * b; | 2:10 syntax/expected | expected an expression, found '*'",
      "x := 5 5; | 2:8 syntax/expected | expected ';', found '5'", ") x := 1; | 2:1 syntax/expected | expected a statement, found ')'",
      "5; | 2:1 syntax/expected | expected a statement, found '5'", "foo; | 2:4 syntax/expected | expected ':=', '?=' or '(' behind 'foo'",
      "f() := 1; | 2:1 syntax/expected | a variable in front of ':='", "x = 1; | 2:3 syntax/expected | expected ':='",
      "a.b[c + 1]^ = 1; | 2:13 syntax/expected | expected ':='",
      "IF a x := 1; END_IF | 2:6 syntax/expected | expected THEN, found 'x'",
          "IF THEN x := 1; END_IF | 2:4 syntax/expected | an expression",
      "IF x := 5 THEN y := 1; END_IF | 2:6 syntax/expected | expected THEN, found ':='",
      "FOR i = 1 TO 5 DO x := 1; END_FOR | 2:7 syntax/expected | expected ':=', found '='",
      "FOR i := 1 DO x := 1; END_FOR | 2:12 syntax/expected | expected TO, found DO",
      "FOR i := 1 TO DO x := 1; END_FOR | 2:15 syntax/expected | expected an expression, found DO",
      "CASE x OF 1: y := 1; 2 y := 3; END_CASE | 2:22 syntax/expected | expected a statement, found '2'",
      "CASE x OF 1: y := 1; ELSE 2: y := 3; END_CASE | 2:27 syntax/expected | a case label cannot follow ELSE",
      "CASE x OF 1, : y := 1; 2: y := 2; END_CASE | 2:14 syntax/expected | expected an expression, found ':'",
      "ELSE x := 1; END_IF; | 2:1 syntax/expected | ELSE belongs to nothing", "END_FOR; | 2:1 syntax/expected | END_FOR belongs to nothing",
      "f(a := 1, b c); | 2:13 syntax/expected | expected ')', found 'c'", "f(a, ); | 2:6 syntax/expected | expected an expression",
      "f(a.b := 1); | 2:3 syntax/expected | the name of an input", "x := (a, b); | 2:8 syntax/expected | ')' or an operator",
      "x := f([1, 2]); | 2:8 syntax/expected | an expression", "x := 2(3); | 2:7 syntax/expected | an operator",
      "IF a THNE x := 1; END_IF | 2:6 syntax/keyword | 'THNE' is no keyword; nearest: THEN",
      "IFF (a) THEN x := 1; END_IF | 2:1 syntax/keyword | nearest: IF",
          "WHLIE a DO x := 1; END_WHILE | 2:1 syntax/keyword | nearest: WHILE",
      "WHILE a DO x := 1; END_WHLIE; | 2:20 syntax/keyword | nearest: END_WHILE", "IF a THEN x := 1; ENDIF; | 2:19 syntax/keyword | END_IF",
      "IF a THEN x := 1; END IF; | 2:19 syntax/keyword | expected END_IF",
          "IF a THEN RETRUN; END_IF | 2:11 syntax/keyword | nearest: RETURN",
      "IF a THEN x := 1; ELSEIF b THEN x := 2; END_IF | 2:19 syntax/keyword | nearest: ELSIF",
      "x := STEP + 1; | 2:6 syntax/keyword | STEP is a keyword and cannot be a name", "TO := 5; | 2:1 syntax/keyword | TO is a keyword",
      "x := f(BY := 3); | 2:8 syntax/keyword | BY is a keyword",
      "x := 'abc; | 2:6 syntax/unclosed-string | expected ' before the end of the line",
      "x := f(\"abc); | 2:8 syntax/unclosed-string | expected \" before the end of the line",
      "x := \u2018abc\u2019; | 2:6 syntax/character | (U+2018) cannot begin a string literal",
      "x := \u201Cabc\"; | 2:6 syntax/character | (U+201C)", "x := a\u00A0+ b; | 2:7 syntax/character | the character U+00A0",
      "x := a \u2013 b; | 2:8 syntax/character | (U+2013)", "x := a ? b; | 2:8 syntax/character | '?' (U+003F)",
      "x := @@@a; | 2:6 syntax/character | '@'", "F\u00fcll := 1; | 2:2 syntax/character | '\u00fc' (U+00FC) cannot stand in an identifier",
      "x := a # 5; | 2:8 syntax/character | '#'", "x := 1; } | 2:9 syntax/character | '}'",
          "a__b := 1; | 2:3 syntax/identifier | two underscores",
      "c_ := 1; | 2:2 syntax/identifier | cannot end with an underscore",
          "x := a; VAR b : INT; END_VAR | 2:9 syntax/expected | in front of the body",
      "x := 1; STEP s: END_STEP | 2:9 syntax/unclosed | found STEP",
      "x := a == b; | 2:8 syntax/expected | expected '=', found '=='", "x := a != b; | 2:8 syntax/expected | expected '<>', found '!='",
      "x := a && b; | 2:8 syntax/expected | expected AND, found '&&'", "x += 1; | 2:3 syntax/expected | expected ':=', found '+='",
      "x : = 1; | 2:3 syntax/expected | expected ':=', found ': ='", "x := T#5 s; | 2:9 syntax/literal | a unit is missing",
      "CASE x OF 1: y := 1 2: y := 2; END_CASE | 2:21 syntax/expected | expected ';', found a case label",
      "CASE x 1: y := 1; 2: y := 2; END_CASE | 2:8 syntax/expected | expected OF", "x := 0xFF; | 2:6 syntax/literal | 16#FF",
      "REPEAT x := 1; UNTIL a; END_REPEAT | 2:23 syntax/expected | expected END_REPEAT, found ';'",
      "IF a THEN x := 1; ELSE IF b THEN y := 2; END_IF; | 3:1 syntax/unclosed | IF opened at line 2",
      "LD a | 2:1 syntax/il | instruction list", "ST a | 2:1 syntax/il | instruction list"})
  void inABody(String text, String place, String message) {
    Parsed p = Parsed.of("PROGRAM p VAR a : INT; END_VAR\n" + text + "\nEND_PROGRAM\nFUNCTION after : INT after := 1; END_FUNCTION");
    assertThat(p.places()).containsExactly(place);
    assertThat(p.diagnostics().get(0).message()).contains(message);
    assertThat(p.file().declarations()).hasSize(2);
    assertThat(Shape.of(p.file().declarations().get(0))).startsWith("Program(p [VarSection(LOCAL [VarDeclaration([a]");
    assertThat(Shape.of(p.file().declarations().get(1))).contains("Assignment(after 1)");
  }

  /** Mistakes in sections; what stands around them must still be found. */
  @ParameterizedTest(name = "{0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "b INT; | 2:3 syntax/expected | expected ':', found 'INT'", "b : ; | 2:5 syntax/expected | expected a type, found ';'",
      "b : INT = 5; | 2:9 syntax/expected | expected ':=', found '='", "b : INT := ; | 2:12 syntax/expected | expected an expression",
          "b : INT | 3:1 syntax/expected | expected ';', found 'z'",
      "b, : INT; | 2:4 syntax/expected | expected an identifier, found ':'",
          "b : INT (1..; | 2:13 syntax/expected | expected an expression",
      "b : (1..5); | 2:7 syntax/expected | the name of its integer type",
          "b : (R, 5); | 2:9 syntax/expected | the name of an enumerated value",
      "b : ARRAY [1..2 OF INT; | 2:17 syntax/expected | expected ']', found OF", "b : ARRAY [1] OF INT; | 2:13 syntax/expected | '..'",
      "b : ARRAY [1..2] INT; | 2:18 syntax/expected | expected OF", "WHILE : INT; | 2:1 syntax/keyword | WHILE is a keyword",
      "b, Retain : INT; | 2:4 syntax/keyword | Retain is a keyword",
          "b : BOOL R_EDGE; | 2:10 syntax/expected | R_EDGE may stand in VAR_INPUT only",
      "b AT %ZX0 : BOOL; | 2:6 syntax/literal | no direct variable",
          "b : STRUCT x : INT; END_VAR y := 1; | 2:21 syntax/unclosed | END_STRUCT",
      "b : INT := (x := 1, 2); | 2:21 syntax/expected | name := value", "; | 2:1 syntax/expected | found ';'",
      "5 : INT; | 2:1 syntax/expected | found '5'", "b : INT := [1, 2; | 2:17 syntax/expected | ']'"})
  void inASection(String text, String place, String message) {
    boolean closed = text.contains("END_VAR");
    Parsed p = Parsed.of("PROGRAM p VAR a : INT;\n" + text + "\n" + (closed ? "" : "z : INT; END_VAR ") + "y := 1; END_PROGRAM");
    assertThat(p.places()).containsExactly(place);
    assertThat(p.diagnostics().get(0).message()).contains(message);
    String shape = Shape.of(p.file().declarations().get(0));
    assertThat(shape).contains("VarDeclaration([a] Named(INT)", "Assignment(y 1)");
    if (!closed) {
      assertThat(shape).contains("VarDeclaration([z] Named(INT)");
    }
  }

  @ParameterizedTest(name = "{0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "PROGRAM q VAR b : INT; b := 5; END_PROGRAM | 1:24 syntax/unclosed | VAR opened at line 1 is not closed: expected END_VAR, found 'b'",
      "PROGRAM q VAR b : INT; IF c THEN d(); END_IF END_PROGRAM | 1:24 syntax/unclosed | found IF",
      "PROGRAM q VAR b : INT; VAR_TEMP c : INT; END_VAR END_PROGRAM | 1:24 syntax/unclosed | found VAR_TEMP",
      "PROGRAM q VAR_INPTU b : INT; END_VAR END_PROGRAM | 1:11 syntax/keyword | nearest: VAR_INPUT",
      "PROGRAM q VAR b : INT; ENDVAR x := 1; END_PROGRAM | 1:24 syntax/keyword | nearest: END_VAR",
      "PROGRMA q x := 1; END_PROGRAM | 1:1 syntax/keyword | nearest: PROGRAM",
          "PROGRAM q x := 1; END_PROGRMA | 1:19 syntax/keyword | END_PROGRAM",
      "PROGRAM q x := 1; | 2:1 syntax/unclosed | PROGRAM opened at line 1 is not closed: expected END_PROGRAM, found FUNCTION",
      "PROGRAM q x := 1; END_FUNCTION_BLOCK | 1:19 syntax/unclosed | expected END_PROGRAM, found END_FUNCTION_BLOCK",
      "PROGRAM VAR b : INT; END_VAR END_PROGRAM | 1:9 syntax/expected | expected an identifier, found VAR",
      "PROGRAM IF x := 1; END_PROGRAM | 1:9 syntax/expected | found IF",
      "FUNCTION : INT x := 5; END_FUNCTION | 1:10 syntax/expected | expected an identifier, found ':'",
      "FUNCTION f : x := 5; END_FUNCTION | 1:16 syntax/expected | found ':='",
          "x := 5; | 1:1 syntax/expected | expected a declaration such as",
      "END_PROGRAM | 1:1 syntax/expected | END_PROGRAM belongs to nothing", "VAR b : INT; END_VAR | 1:1 syntax/expected | found VAR",
      "TYPE a : INT END_TYPE | 1:14 syntax/expected | expected ';', found END_TYPE", "TYPE END_TYPE | 1:6 syntax/expected | an identifier",
      "TYPE a : STRUCT x : INT; END_TYPE | 1:26 syntax/unclosed | STRUCT opened at line 1",
          "TYPE IF : INT; END_TYPE | 1:6 syntax/keyword | IF is",
      "TYPE 7a : INT; END_TYPE | 1:6 syntax/literal | cannot begin with a digit",
      "FUNCTION_BLOCK f METHOD m x := 1; METHOD n END_METHOD END_FUNCTION_BLOCK | 1:35 syntax/unclosed | METHOD opened at line 1",
      "FUNCTION_BLOCK f EXTENDS a, b END_FUNCTION_BLOCK | 1:29 syntax/expected | EXTENDS names one base",
      "CLASS c x := 1; VAR a : INT; END_VAR END_CLASS | 1:9 syntax/expected | expected END_CLASS, METHOD or PROPERTY, found 'x'",
      "CLASS PUBLIC PUBLIC c END_CLASS | 1:14 syntax/expected | stands twice",
      "INTERFACE i VAR a : INT; END_VAR END_INTERFACE | 1:13 syntax/expected | methods and properties only",
      "CLASS c PROPERTY p : INT GET x := 1; END_GET GET END_GET END_PROPERTY END_CLASS | 1:46 syntax/expected | two GET",
      "NAMESPACE n x := 1; FUNCTION f END_FUNCTION END_NAMESPACE | 1:13 syntax/expected | found 'x'",
      "NAMESPACE n FUNCTION f END_FUNCTION | 3:1 syntax/unclosed | NAMESPACE opened at line 1",
      "USING a.b PROGRAM q END_PROGRAM | 1:11 syntax/expected | expected ';'",
      "CONFIGURATION c RESOURCE r ON d TASK t(INTERVAL = T#1s); END_RESOURCE END_CONFIGURATION | 1:49 syntax/expected | expected ':='",
      "CONFIGURATION c TASK t(SPEED := 1); END_CONFIGURATION | 1:24 syntax/expected | SINGLE, INTERVAL or PRIORITY",
      "CONFIGURATION c PROGRAM p : M (a); END_CONFIGURATION | 1:32 syntax/expected | instance WITH task",
      "CONFIGURATION c RESOURCE r ON d END_CONFIGURATION | 1:33 syntax/unclosed | RESOURCE opened at line 1",
      "PROGRAM q STEP a: b(N) END_STEP END_PROGRAM | 1:24 syntax/expected | expected ';', found END_STEP",
      "PROGRAM q STEP a: b(NN); END_STEP END_PROGRAM | 1:21 syntax/expected | no action qualifier",
      "PROGRAM q TRANSITION FROM a b := c; END_TRANSITION END_PROGRAM | 1:29 syntax/expected | expected TO, found 'b'",
      "PROGRAM q TRANSITION t (SPEED := 1) := c; END_TRANSITION END_PROGRAM | 1:25 syntax/expected | expected PRIORITY",
      "PROGRAM q STEP a: END_STEP x := 1; END_PROGRAM | 1:28 syntax/expected | a sequential function chart",
      "PROGRAM q; VAR a : INT; END_VAR END_PROGRAM | 1:10 syntax/expected | expected VAR",
      "FUNCTION f INT VAR a : INT; END_VAR END_FUNCTION | 1:12 syntax/expected | expected ':', found 'INT'",
      "FUNCTION f(a : INT) : INT VAR b : INT; END_VAR END_FUNCTION | 1:11 syntax/expected | a section of variables",
      "TYPE a : ARRY [1..2] OF INT; END_TYPE | 1:10 syntax/keyword | nearest: ARRAY",
      "PROGRAM q | 2:1 syntax/unclosed | END_PROGRAM"})
  void inADeclaration(String text, String place, String message) {
    Parsed p = Parsed.of(text + "\nFUNCTION after : INT after := 1; END_FUNCTION\n");
    assertThat(p.places()).containsExactly(place);
    assertThat(p.diagnostics().get(0).message()).contains(message);
    assertThat(Shape.of(p.file().declarations())).contains("Assignment(after 1)");
  }

  @Test
  void anUnclosedCommentEndsWithItsLineAndHidesNothing() {
    Parsed p = Parsed.of("PROGRAM p\nx := 1; (* note\nprose that is no code;\nEND_PROGRAM\nPROGRAM q\nEND_PROGRAM");
    assertThat(p.places()).containsExactly("2:9 syntax/unclosed-comment");
    assertThat(p.file().declarations()).hasSize(2);
    assertThat(Parsed.of("x (* a (* b *)").diagnostics()).filteredOn(d -> d.code().equals("syntax/unclosed-comment")).singleElement()
        .satisfies(d -> assertThat(d.related().get(0).span().column()).isEqualTo(8));
    assertThat(Parsed.of("PROGRAM p x := 1; /* END_PROGRAM").places()).containsExactly("1:19 syntax/unclosed-comment");
    assertThat(Parsed.of("PROGRAM p x := 1; {a \nEND_PROGRAM").places()).containsExactly("1:19 syntax/unclosed-comment");
  }

  @Test
  void commentMarksOfAnotherStyleOrInStringsMeanNothing() {
    Parsed.clean("PROGRAM p x := 1; (* /* // *) y := '(*'; /* *) (* */ z := 2; // (* /* {\n END_PROGRAM");
    Parsed.clean("PROGRAM p (* a (* b *) c *) x := 1; /* a /* b */ c */ END_PROGRAM");
  }

  @Test
  void aDrawingAmongStatementsIsOneMistake() {
    Parsed p = Parsed.of("PROGRAM p\nx := 1;\n |  A  B |\n +-| |-( )-+\n\ny := 2;\nEND_PROGRAM");
    assertThat(p.places()).containsExactly("3:2 syntax/character");
    assertThat(Shape.of(p.file().declarations())).contains("Assignment(x 1)", "Assignment(y 2)");
  }

  @Test
  void aDrawingBehindAnOpenSectionOrWithoutEndIsStillFound() {
    Parsed open = Parsed.of("PROGRAM p VAR x : INT;\n| A |\n+-| |--( )\nEND_PROGRAM");
    assertThat(open.places()).containsExactly("2:1 syntax/unclosed");
    assertThat(Shape.of(open.file().declarations())).contains("Drawing(| A |");
    Parsed endless = Parsed.of("PROGRAM p\n| A |\n+-| |--( )\nFUNCTION f : INT f := 1; END_FUNCTION");
    assertThat(endless.places()).containsExactly("4:1 syntax/unclosed");
    assertThat(endless.file().declarations()).hasSize(2);
    assertThat(Parsed.of("PROGRAM p\n| A |\nEND_PROGRMA").places()).containsExactly("3:1 syntax/keyword");
  }

  @Test
  void relatedPlacesSayWhatIsOpen() {
    Diagnostic paren = Parsed.of("PROGRAM p x := (a +\n b; END_PROGRAM").diagnostics().get(0);
    assertThat(paren.related()).singleElement().satisfies(r -> assertThat(r.span().place()).isEqualTo("t:1:16"));
    Diagnostic unclosed = Parsed.of("PROGRAM p\nIF a THEN\nEND_PROGRAM").diagnostics().get(0);
    assertThat(unclosed.related()).singleElement().satisfies(r -> assertThat(r.span().place()).isEqualTo("t:2:1"));
    assertThat(unclosed.span().text()).isEqualTo("END_PROGRAM");
    assertThat(Parsed.of("PROGRAM p\n| A |\n+-| |-( )+ END_PROGRAM").diagnostics().get(0).hint()).get().asString()
        .contains("row of its own");
    assertThat(Parsed.of("PROGRAM p IF a THEN ELSE IF b THEN END_IF END_PROGRAM").diagnostics().get(0).hint()).get().asString()
        .contains("ELSIF");
  }

  @Test
  void everyMistakeOfATextIsReported() {
    Parsed p = Parsed.of("PROGRAM p\nx := ;\ny := 1;\nIF a THEN z := (1; END_IF\nw := 1__2;\nEND_PROGRAM\nPROGRAM q\nv = 1;\nEND_PROGRAM");
    assertThat(p.places()).containsExactly("2:6 syntax/expected", "4:18 syntax/expected", "5:7 syntax/literal", "8:3 syntax/expected");
    assertThat(Shape.of(p.file().declarations())).contains("Assignment(y 1)", "If([Branch(a");
  }

  @Test
  void messagesAreInTheWordsOfTheStandardAlone() {
    for (String text : List.of("PROGRAM p x := (;", "TYPE", "FUNCTION", "CASE", "PROGRAM p CASE x OF", "PROGRAM p f(a b c d);",
        "CONFIGURATION c (",
        "PROGRAM p STEP ; END_STEP", "CLASS c EXTENDS", "INTERFACE 5", "TYPE a : ARRAY", "NAMESPACE", "PROGRAM p x[; y.; z^^ := ;")) {
      for (Diagnostic d : Parsed.of(text).diagnostics()) {
        assertThat(d.message()).doesNotContain("mismatched", "extraneous", "viable", "<EOF>", "CASE_LABEL", "IDENTIFIER", "null",
            "SEMICOLON");
        assertThat(d.message().split("expected", -1)[d.message().split("expected", -1).length - 1].split(",")).hasSizeLessThan(5);
      }
    }
  }

  @Test
  void aLongSourceIsRefusedAtTheLimit() {
    Problems problems = new Problems(10);
    SourceFile f = new StParser(problems, 256, 10).parse(SourceText.of("t", "PROGRAM p END_PROGRAM"));
    assertThat(f.declarations()).isEmpty();
    assertThat(problems.sorted()).singleElement().satisfies(d -> {
      assertThat(d.code()).isEqualTo("limit/source");
      assertThat(d.span().column()).isEqualTo(11);
    });
  }
}
