package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.util.List;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** What legal text becomes; the tables are those of IEC 61131-3 (from memory). */
class StParserTest {

  private static String only(String text) {
    List<Declaration> all = Parsed.clean(text).declarations();
    assertThat(all).hasSize(1);
    return Shape.of(all.get(0));
  }

  private static String statement(String text) {
    List<Statement> all = Parsed.statements(text);
    assertThat(all).hasSize(1);
    return Shape.of(all.get(0));
  }

  // Expressions: precedence of Table 71

  @ParameterizedTest(name = "T71: {0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "a + b - c | Chain(a [Link(ADD b) Link(SUB c)])",
      "a + b * c | Chain(a [Link(ADD Chain(b [Link(MUL c)]))])",
      "a * b + c / d MOD e | Chain(Chain(a [Link(MUL b)]) [Link(ADD Chain(c [Link(DIV d) Link(MOD e)]))])",
      "-a ** 2 | Chain(Unary(MINUS a) [Link(POWER 2)])",
      "2 ** -1 | Chain(2 [Link(POWER Unary(MINUS 1))])",
      "a ** b ** c | Chain(a [Link(POWER b) Link(POWER c)])",
      "a OR b XOR c AND d = e < f + g * h ** i | Chain(a [Link(OR Chain(b [Link(XOR Chain(c [Link(AND Chain(d [Link(EQ Chain(e [Link(LT "
          + "Chain(f [Link(ADD Chain(g [Link(MUL Chain(h [Link(POWER i)]))]))]))]))]))]))]))])",
      "a & b AND c | Chain(a [Link(AND b) Link(AND c)])",
      "NOT a AND NOT (b OR c) | Chain(Unary(NOT a) [Link(AND Unary(NOT Chain(b [Link(OR c)])))])",
      "a <> b = c | Chain(a [Link(NE b) Link(EQ c)])",
      "a >= b | Chain(a [Link(GE b)])",
      "(a + b) + c | Chain(Chain(a [Link(ADD b)]) [Link(ADD c)])",
      "((a)) | a",
      "- - a | Unary(MINUS Unary(MINUS a))",
      "+a - -b | Chain(Unary(PLUS a) [Link(SUB Unary(MINUS b))])",
      "a.b[1, i + 1]^.c | Member(Dereference(Index(Member(a b) [1 Chain(i [Link(ADD 1)])])) c)",
      "w.3 | Bits(w X 3)", "w.%B1 | Bits(w B 1)", "w.%x15 | Bits(w X 15)", "a[2].%D0 | Bits(Index(a [2]) D 0)",
      "%IX0.3 AND %Q7 | Chain(Direct(DirectAddress(I X [0 3])) [Link(AND Direct(DirectAddress(Q - [7])))])",
      "Mode#Auto | TypedName(Mode Auto)", "Lib.Mode#Auto | TypedName(Lib.Mode Auto)", "INT#-5 | INT#-5", "BOOL#TRUE | BOOL#TRUE",
      "T#-5s | T#-5s", "THIS.n | Member(Self() n)", "f() | Call(f)", "f(1, b) | Call(f [Argument(NAMELESS 1) Argument(NAMELESS b)])",
      "f(EN := a, x := 1, NOT q => r, ENO =>) | Call(f [Argument(INPUT EN a) Argument(INPUT x 1) Argument(OUTPUT q negated r) "
          + "Argument(OUTPUT ENO)])",
      "AND(a, b) | Call(AND [Argument(NAMELESS a) Argument(NAMELESS b)])",
      "MOD(a, b) MOD c | Chain(Call(MOD [Argument(NAMELESS a) Argument(NAMELESS b)]) [Link(MOD c)])",
      "NOT(EN := a, IN := b) | Call(NOT [Argument(INPUT EN a) Argument(INPUT IN b)])",
      "r^.f(1)^ | Dereference(Call(Member(Dereference(r) f) [Argument(NAMELESS 1)]))",
      "REF(x) = NULL | Chain(Call(REF [Argument(NAMELESS x)]) [Link(EQ NULL)])",
      "T + D + R + S + N + X + LD | Chain(T [Link(ADD D) Link(ADD R) Link(ADD S) Link(ADD N) Link(ADD X) Link(ADD LD)])",
      "s.X AND s.T > T#1s AND p.ON | Chain(Member(s X) [Link(AND Chain(Member(s T) [Link(GT T#1s)])) Link(AND Member(p ON))])",
      "get + Set + on | Chain(get [Link(ADD Set) Link(ADD on)])", "x.STEP | Member(x STEP)",
      "a(* c *)+/* d /* e */ */b{p}// z | Chain(a [Link(ADD b)])"})
  void expressions(String text, String shape) {
    assertThat(Shape.of(((Statement.Assignment) Parsed.statements("y := " + text + "\n;").get(0)).value())).isEqualTo(shape);
  }

  @Test
  void theSpanOfAParenthesisedExpressionIncludesTheParentheses() {
    Statement s = Parsed.statements("x := ( a + b ) * c;").get(0);
    Expression.Chain product = (Expression.Chain) ((Statement.Assignment) s).value();
    assertThat(product.first().span().text()).isEqualTo("( a + b )");
    assertThat(product.span().text()).isEqualTo("( a + b ) * c");
    assertThat(product.rest().get(0).operatorSpan().text()).isEqualTo("*");
    assertThat(s.span().text()).isEqualTo("x := ( a + b ) * c;");
  }

  @Test
  void spansCountCodePoints() {
    SourceFile f = Parsed.clean("(* \uD83D\uDD14 *) PROGRAM p x := '\uD83D\uDD14' + y; END_PROGRAM");
    Declaration.Program p = (Declaration.Program) f.declarations().get(0);
    Statement.Assignment s = (Statement.Assignment) ((Body.Text) p.body()).statements().get(0);
    assertThat(((Expression.Chain) s.value()).rest().get(0).operand().span().column()).isEqualTo(30);
    assertThat(p.span().column()).isEqualTo(9);
  }

  // Statements (Table 72)

  @ParameterizedTest(name = "T72: {0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "x := 1; | Assignment(x 1)", "a[1].b^ := c; | Assignment(Dereference(Member(Index(a [1]) b)) c)", "%QX0.0 := a; | "
          + "Assignment(Direct(DirectAddress(Q X [0 0])) a)",
      "i2 ?= i1; | Attempt(i2 i1)", "t(IN := a); | CallStatement(Call(t [Argument(INPUT IN a)]))",
          "SUPER(); | CallStatement(Call(Self(isSuper)))",
      "THIS.m(); | CallStatement(Call(Member(Self() m)))",
          "ASSERT(x > 0); | CallStatement(Call(ASSERT [Argument(NAMELESS Chain(x [Link(GT 0)]))]))",
      "IF a THEN b(); END_IF; | If([Branch(a [CallStatement(Call(b))])])",
      "IF a THEN ELSIF b THEN EXIT; ELSE RETURN; END_IF | If([Branch(a) Branch(b [Exit()])] [Return()])",
      "CASE n OF 1, 5: x := 1; 7..9: Red: y := 2; K + 1: CONTINUE; ELSE z := 0; END_CASE; | Case(n [CaseGroup([CaseLabel(1) CaseLabel(5)] "
          + "[Assignment(x 1)]) CaseGroup([CaseLabel(7 9)]) CaseGroup([CaseLabel(Red)] [Assignment(y 2)]) CaseGroup([CaseLabel(Chain(K "
          + "[Link(ADD 1)]))] [Continue()])] [Assignment(z 0)])",
      "CASE m OF Mode#Auto, -1: CASE n OF 1: ; END_CASE; END_CASE; | Case(m [CaseGroup([CaseLabel(TypedName(Mode Auto)) "
          + "CaseLabel(Unary(MINUS 1))] [Case(n [CaseGroup([CaseLabel(1)] [Empty()])])])])",
      "FOR i := 1 TO 9 BY 2 DO s := s + i; END_FOR | For(i 1 9 2 [Assignment(s Chain(s [Link(ADD i)]))])",
      "FOR i := a TO b DO ; END_FOR | For(i a b [Empty()])",
          "WHILE n > 0 DO f(); END_WHILE; | While(Chain(n [Link(GT 0)]) [CallStatement(Call(f))])",
      "REPEAT n := n + 1; UNTIL n >= 5 END_REPEAT | Repeat([Assignment(n Chain(n [Link(ADD 1)]))] Chain(n [Link(GE 5)]))",
      "; | Empty()", "if A then X:=1;end_if | If([Branch(A [Assignment(X 1)])])"})
  void statements(String text, String shape) {
    assertThat(statement(text)).isEqualTo(shape);
  }

  @Test
  void aSemicolonBehindAnEndKeywordIsNoStatement() {
    assertThat(Parsed.statements("IF a THEN END_IF; ; b();")).hasSize(3).element(1).isInstanceOf(Statement.Empty.class);
  }

  // Declarations

  @ParameterizedTest(name = "T11: {0}")
  @CsvSource(delimiter = '|', quoteCharacter = '~', value = {
      "(Off, Manual, Auto) := Manual | Enumeration([EnumValue(Off) EnumValue(Manual) EnumValue(Auto)]) Value(Manual)",
      "(on, off) | Enumeration([EnumValue(on) EnumValue(off)])",
      "BYTE (Red := 16#01, Green := 2) | Enumeration(BYTE [EnumValue(Red 16#01) EnumValue(Green 2)])",
      "INT (-1..K * 2) := 50 | Subrange(INT Unary(MINUS 1) Chain(K [Link(MUL 2)])) Value(50)",
      "ARRAY [1..3, 0..1] OF INT := [1, 2(7), 3(), 2((x := 1)), 2([0, 1])] | Array([Dimension(1 3) Dimension(0 1)] Named(INT)) "
          + "Array([Element(Value(1)) Element(2 Value(7)) Element(3) Element(2 Structure([Member(x Value(1))])) "
          + "Element(2 Array([Element(Value(0)) Element(Value(1))]))])",
      "ARRAY [*, *] OF REF_TO Lib.Pt | Array([Dimension() Dimension()] Reference(Named(Lib.Pt)))",
      "STRUCT x : REAL := 1.0; t : TON := (PT := T#3s); END_STRUCT | Structure([Field(x Named(REAL) Value(1.0)) "
          + "Field(t Named(TON) Structure([Member(PT Value(T#3s))]))])",
      "STRUCT OVERLAP h AT %B0 : BYTE; f AT %X4.1 : BOOL; i AT %I* : BOOL; END_STRUCT | Structure(overlap [Field(h DirectAddress(- B [0]) "
          + "Named(BYTE)) Field(f DirectAddress(- X [4 1]) Named(BOOL)) Field(i DirectAddress(I - incomplete) Named(BOOL))])",
      "REF_TO INT := NULL | Reference(Named(INT)) Value(NULL)", "REF_TO REF_TO INT | Reference(Reference(Named(INT)))",
      "WSTRING[K + 1] := \"a\" | Str(WSTRING Chain(K [Link(ADD 1)])) Value(\"a\")", "USTRING[4] | Str(USTRING 4)",
      "Pt := (x := 1.0, p := (a := [2(0)])) | Named(Pt) Structure([Member(x Value(1.0)) Member(p Structure([Member(a "
          + "Array([Element(2 Value(0))]))]))])",
      "INT := (2 + 3) * 4 | Named(INT) Value(Chain(Chain(2 [Link(ADD 3)]) [Link(MUL 4)]))"})
  void types(String text, String shape) {
    assertThat(only("TYPE A : " + text + "; END_TYPE")).isEqualTo("Types([TypeDefinition(A " + shape + ")])");
    assertThat(only("PROGRAM p VAR A : " + text + "; END_VAR END_PROGRAM"))
        .contains("VarDeclaration([A] " + shape.substring(0, shape.indexOf('(') + 1));
  }

  @ParameterizedTest
  @CsvSource({"VAR, LOCAL", "VAR_INPUT, INPUT", "VAR_OUTPUT, OUTPUT", "VAR_IN_OUT, IN_OUT", "VAR_TEMP, TEMP", "VAR_EXTERNAL, EXTERNAL",
      "VAR_GLOBAL, GLOBAL"})
  void everySection(String keyword, Declaration.SectionKind kind) {
    Declaration.Program p = (Declaration.Program) Parsed.clean("PROGRAM p " + keyword
        + " CONSTANT a, b AT %MW0 : INT := 1; END_VAR END_PROGRAM")
        .declarations().get(0);
    assertThat(p.sections()).singleElement().satisfies(s -> {
      assertThat(s.kind()).isEqualTo(kind);
      assertThat(s.constant()).isTrue();
      assertThat(s.variables().get(0).names()).extracting(Name::text).containsExactly("a", "b");
    });
  }

  @Test
  void qualifiersOfSections() {
    assertThat(only("CLASS c VAR RETAIN PUBLIC n : INT; END_VAR VAR INTERNAL NON_RETAIN m : INT; END_VAR END_CLASS")).isEqualTo(
        "ClassType(c [VarSection(LOCAL RETAIN PUBLIC [VarDeclaration([n] Named(INT) NONE Documentation())]) "
            + "VarSection(LOCAL NON_RETAIN INTERNAL [VarDeclaration([m] Named(INT) NONE Documentation())])] Documentation())");
    assertThat(only("PROGRAM p VAR_INPUT s : BOOL R_EDGE; t : BOOL f_edge := FALSE; END_VAR END_PROGRAM"))
        .contains("[s] Named(BOOL) RISING", "[t] Named(BOOL) FALLING Value(FALSE)");
  }

  @Test
  void functionsAndTheirResults() {
    assertThat(only("FUNCTION INTERNAL f : Lib.T USING A.B, C; VAR_INPUT a : INT; END_VAR f := a; END_FUNCTION")).isEqualTo(
        "Function(f [INTERNAL] Named(Lib.T) [Using([A.B C])] [VarSection(INPUT [VarDeclaration([a] Named(INT) NONE Documentation())])] "
            + "Text([Assignment(f a)]) Documentation())");
    assertThat(only("FUNCTION log1 ; END_FUNCTION")).isEqualTo("Function(log1 Text([Empty()]) Documentation())");
  }

  @Test
  void classesInterfacesMethodsAndProperties() {
    assertThat(only("FUNCTION_BLOCK ABSTRACT F EXTENDS Lib.G IMPLEMENTS I1, I2 METHOD PUBLIC ABSTRACT m END_METHOD "
        + "METHOD PROTECTED OVERRIDE k : INT VAR_INPUT a : INT; END_VAR k := a; END_METHOD x := 1; END_FUNCTION_BLOCK")).isEqualTo(
        "FunctionBlock(F [ABSTRACT] Lib.G [I1 I2] [Method(m [ABSTRACT PUBLIC]) Method(k [OVERRIDE PROTECTED] Named(INT) "
            + "[VarSection(INPUT [VarDeclaration([a] Named(INT) NONE Documentation())])] Text([Assignment(k a)]))] "
            + "Text([Assignment(x 1)]) Documentation())");
    assertThat(only("INTERFACE I EXTENDS I1, I0 METHOD inc END_METHOD PROPERTY p : INT GET END_GET END_PROPERTY END_INTERFACE")).isEqualTo(
        "InterfaceType(I [I1 I0] [Method(inc)] [Property(p Named(INT) Accessor())] Documentation())");
    assertThat(only("CLASS FINAL C METHOD PRIVATE FINAL m ; END_METHOD END_CLASS")).isEqualTo(
        "ClassType(C [FINAL] [Method(m [FINAL PRIVATE] Text([Empty()]))] Documentation())");
  }

  @ParameterizedTest
  @ValueSource(strings = {
      "PROPERTY PUBLIC level : REAL GET level := v; END_GET SET v := level; END_SET END_PROPERTY",
      "PROPERTY PUBLIC level : REAL PROPERTY_GET level := v; END_PROPERTY_GET PROPERTY_SET v := level; END_PROPERTY_SET END_PROPERTY",
      "PROPERTY_GET PUBLIC level : REAL level := v; END_PROPERTY_GET PROPERTY_SET level : REAL v := level; END_PROPERTY"})
  void propertiesInEverySpelling(String text) {
    assertThat(only("CLASS C " + text + " END_CLASS")).isEqualTo("ClassType(C [Property(level [PUBLIC] Named(REAL) "
        + "Accessor(Text([Assignment(level v)])) Accessor(Text([Assignment(v level)])))] Documentation())");
  }

  @Test
  void namespaces() {
    assertThat(only("NAMESPACE INTERNAL A.B USING C; NAMESPACE D PROGRAM p END_PROGRAM END_NAMESPACE TYPE INTERNAL T : INT; END_TYPE "
        + "END_NAMESPACE")).isEqualTo("Namespace(A.B internal [Using([C])] [Namespace(D [Program(p Text() Documentation())]) "
        + "Types(internal [TypeDefinition(T Named(INT))])])");
    assertThat(Parsed.clean("USING Lib.Sub; PROGRAM p END_PROGRAM").declarations().get(0)).isInstanceOf(Declaration.Using.class);
  }

  @Test
  void globalsAtTheTopAreAnExtension() {
    Parsed p = Parsed.of("VAR_GLOBAL g : INT; END_VAR");
    assertThat(p.diagnostics()).singleElement().satisfies(d -> assertThat(d.severity()).isEqualTo(Severity.WARNING));
    assertThat(p.file().declarations().get(0)).isInstanceOf(Declaration.Globals.class);
  }

  @Test
  void configurations() {
    assertThat(only("""
        CONFIGURATION Plant
          VAR_GLOBAL Level AT %IW3 : INT; %QX0.0 : BOOL; AT %QX0.1 : BOOL; END_VAR
          RESOURCE R1 ON CPU
            TASK Fast(INTERVAL := T#10ms, PRIORITY := 1);
            TASK OnAlarm(SINGLE := Alarm, PRIORITY := 0);
            PROGRAM RETAIN p1 WITH Fast : Lib.Main (x1 := %IX1.1, y1 => g, F.Filter1 WITH Fast);
            PROGRAM p2 : Background;
          END_RESOURCE
          VAR_ACCESS Speed : R1.p1.y1 : INT READ_ONLY; In : R1.%IX1.1 : BOOL READ_WRITE; END_VAR
          VAR_CONFIG R1.p1.Filter1.k : INT := 3; R1.p1.s AT %QX2.1 : BOOL; END_VAR
        END_CONFIGURATION""")).isEqualTo("Configuration(Plant [VarSection(GLOBAL [VarDeclaration([Level] DirectAddress(I W [3]) Named(INT) "
            + "NONE Documentation()) VarDeclaration(DirectAddress(Q X [0 0]) Named(BOOL) NONE Documentation()) "
            + "VarDeclaration(DirectAddress(Q X [0 1]) Named(BOOL) NONE Documentation())]) VarSection(ACCESS [AccessPath(Speed "
            + "Member(Member(R1 p1) y1) Named(INT)) AccessPath(In R1 Direct(DirectAddress(I X [1 1])) Named(BOOL) writable)])] "
            + "[Resource(R1 CPU [Task(Fast T#10ms 1) Task(OnAlarm Alarm 0)] [ProgramInstance(p1 RETAIN Fast Lib.Main "
            + "[Argument(INPUT x1 Direct(DirectAddress(I X [1 1]))) Argument(OUTPUT y1 g)] [BlockTask(F.Filter1 Fast)]) "
            + "ProgramInstance(p2 Background)])] [ConfigVariable(R1.p1.Filter1.k Named(INT) Value(3)) "
            + "ConfigVariable(R1.p1.s DirectAddress(Q X [2 1]) Named(BOOL))])");
    assertThat(only("CONFIGURATION c TASK t(PRIORITY := 1); PROGRAM p WITH t : M; END_CONFIGURATION")).isEqualTo(
        "Configuration(c [Resource([Task(t 1)] [ProgramInstance(p t M)])])");
  }

  @Test
  void charts() {
    assertThat(only("""
        PROGRAM Seq
          INITIAL_STEP Idle: Lamp(N); END_STEP
          STEP Fill: Open(); Alarm(L, T#5s); Horn(SD, delay, Sounded); Valve(N, Opened); END_STEP
          TRANSITION Abort (PRIORITY := 1) FROM Fill TO (Idle, B) := Fault; END_TRANSITION
          TRANSITION FROM (A, B) TO C: IF x THEN Abort := y; END_IF; END_TRANSITION
          TRANSITION Full := Level > 80; END_TRANSITION
          TRANSITION Drawn:
          |--| |--( )--|
          END_TRANSITION
          ACTION Count: n := n + 1; END_ACTION
          ACTION Sub: STEP A: END_STEP END_ACTION
        END_PROGRAM""")).isEqualTo("Program(Seq Chart([Step(Idle initial [Association(Lamp N)]) Step(Fill [Association(Open) "
            + "Association(Alarm L T#5s) Association(Horn SD delay [Sounded]) Association(Valve N [Opened])]) Transition(Abort 1 [Fill] "
            + "[Idle B] Fault) Transition([A B] [C] Text([If([Branch(x [Assignment(Abort y)])])])) "
            + "Transition(Full Chain(Level [Link(GT 80)])) "
            + "Transition(Drawn Drawing(|--| |--( )--|)) Action(Count Text([Assignment(n Chain(n [Link(ADD 1)]))])) "
            + "Action(Sub Chart([Step(A)]))]) Documentation())");
  }

  // Comments and pragmas

  @Test
  void documentationStandsInFrontOrBehind() {
    Declaration.FunctionBlock f = (Declaration.FunctionBlock) Parsed.clean("""
        // far away

        (* Counts parts.
         * Slowly. *)
        {author demo}
        // Really.
        FUNCTION_BLOCK Count
        VAR
          a : INT; // behind a
          (* in front of b *) b : INT;
          c : INT; /* in front of d */ d : INT; // not this one

          // of no one

          e : INT;
        END_VAR
        END_FUNCTION_BLOCK""").declarations().get(0);
    assertThat(f.documentation().text()).isEqualTo("Counts parts.\nSlowly.\nReally.");
    assertThat(f.sections().get(0).variables()).extracting(v -> v.documentation().text())
        .containsExactly("behind a", "in front of b", "", "in front of d", "");
  }

  @Test
  void pragmasAreListedAndMayBindABody() {
    SourceFile file = Parsed.clean("{first} FUNCTION SIN : LREAL VAR_INPUT x : LREAL; END_VAR (* c *) { native  sin } END_FUNCTION");
    assertThat(file.pragmas()).extracting(Pragma::content).containsExactly("first", "native  sin");
    Body body = ((Declaration.Function) file.declarations().get(0)).body();
    assertThat(body).isInstanceOf(Body.Bound.class);
    assertThat(body.span().text()).isEqualTo("{ native  sin }");
    assertThat(Parsed.statements("{native sin} x := 1;")).hasSize(1);
    assertThat(Shape.of(Parsed.clean("FUNCTION f {other thing} END_FUNCTION").declarations().get(0))).contains("Text()");
  }

  // Ladder bodies

  @ParameterizedTest
  @ValueSource(strings = {"|    A      Y  |\n+---| |----( )-+\n", "+---| |----( )-+\n", "\u2502 A\n\u251c\u2500\u2500\u2524 \u251c\n",
      "  Hand:\n\n  // c\n  |  A\n",
      "10:\n(* END_PROGRAM\n END_PROGRAM *) Next:\n| 'END_PROGRAM' (* \n END_PROGRAM *)\n  x END_PROGRAM\n",
      "\u250c\u2500\u2500\u2510\n", "|  {x} // END_PROGRAM\n+--\n\n\n"})
  void drawingsAreWholeLinesUpToTheEndKeyword(String drawing) {
    for (String head : List.of("VAR A : BOOL; END_VAR\n", "\n", "(* c *)\n{p}\n", "VAR A : BOOL;\nEND_VAR // x\n\n")) {
      SourceFile f = Parsed.clean("PROGRAM p " + head + drawing + "  end_program\nFUNCTION f : INT\nf := 1\n+ 2;\nEND_FUNCTION");
      Declaration.Program p = (Declaration.Program) f.declarations().get(0);
      assertThat(p.body().span().text()).isEqualTo(drawing);
      assertThat(p.body()).isInstanceOf(Body.Drawing.class);
      assertThat(f.declarations()).hasSize(2);
    }
  }

  @Test
  void everyKindOfBodyMayBeADrawing() {
    String d = "\n|  A   B |\n+-| |-( )+\n";
    SourceFile f = Parsed.clean("FUNCTION f : BOOL" + d + "END_FUNCTION\nFUNCTION_BLOCK g METHOD m : STRING[5]" + d + "END_METHOD\n"
        + "PROPERTY p : BOOL\nGET" + d + "END_GET\nSET" + d + "END_SET\nEND_PROPERTY" + d + "END_FUNCTION_BLOCK\n"
        + "PROGRAM q\nTRANSITION t (PRIORITY := 1) FROM A TO (B, C):" + d + "END_TRANSITION\nACTION a:" + d + "END_ACTION\nEND_PROGRAM");
    assertThat(Shape.of(f.declarations()).split("Drawing", -1)).hasSize(8);
  }

  @Test
  void aSumOverTwoLinesIsNoDrawing() {
    assertThat(Parsed.statements("x := a\n+ b;\ny\n:= f(\n+ 1);\nz := GET\n+ 1;")).hasSize(3);
  }

  // Single expressions

  @Test
  void anExpressionFromAPartOfAText() {
    SourceText text = SourceText.of("t", "|  m.Valve[i+1]  (* x *) T#5s a b |");
    Problems problems = new Problems(10);
    StParser parser = new StParser(problems, 256);
    Expression access = parser.parseExpression(new Span(text, 3, 15));
    assertThat(Shape.of(access)).isEqualTo("Index(Member(m Valve) [Chain(i [Link(ADD 1)])])");
    assertThat(access.span().place()).isEqualTo("t:1:4");
    assertThat(Shape.of(parser.parseExpression(new Span(text, 24, 29)))).isEqualTo("T#5s");
    assertThat(problems.hasErrors()).isFalse();
    assertThat(parser.parseExpression(new Span(text, 30, 33))).isInstanceOf(Expression.Erroneous.class);
    assertThat(problems.sorted()).singleElement().satisfies(d -> assertThat(d.span().place()).isEqualTo("t:1:33"));
    assertThat(parser.parseExpression(new Span(text, 1, 1))).isInstanceOf(Expression.Erroneous.class);
  }
}
