package dev.scanloom.internal.check;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/** Models of good programs. Values of conversions, operators and defaults: IEC 61131-3:2013, Tables 10 to 20, 35, 71 (from memory). */
final class CheckerTest {

  private static long constant(Expr e) {
    return ((Expr.Constant) e).value();
  }

  private static ElementaryType kind(Expr e) {
    return Kinds.kind(e.type());
  }

  @Test
  void programWithoutConfigurationIsOneInstanceWithoutTask() {
    Project p = Checked.good("PROGRAM Dryer VAR x : INT; END_VAR x := 1; END_PROGRAM");
    assertThat(p.tasks()).isEmpty();
    assertThat(p.programs()).hasSize(1);
    assertThat(p.programs().get(0).name()).isEqualTo("Dryer");
    assertThat(p.programs().get(0).task()).isEmpty();
  }

  @Test
  void choosesTheProgram() {
    String two = "PROGRAM A END_PROGRAM PROGRAM B END_PROGRAM";
    assertThat(Checked.of(two).codes()).containsExactly("program/ambiguous");
    Checked named = Checked.of(two, ImplementerChoices.standard(), Limits.standard(), Optional.of("b"));
    assertThat(named.project().orElseThrow().programs().get(0).pou().name()).isEqualTo("B");
    assertThat(Checked.of(two, ImplementerChoices.standard(), Limits.standard(), Optional.of("C")).codes()).containsExactly("name/unknown");
    assertThat(Checked.of("FUNCTION f : INT f := 1; END_FUNCTION").codes()).containsExactly("program/none");
  }

  @Test
  void literalsAdaptToTheirContext() {
    assertThat(Checked.value("VAR r : REAL; END_VAR", "r := 1;")).isInstanceOfSatisfying(Expr.Constant.class,
        c -> assertThat(Float.intBitsToFloat((int) c.value())).isEqualTo(1.0f));
    assertThat(constant(Checked.value("VAR b : BYTE; END_VAR", "b := 16#FF;"))).isEqualTo(255);
    assertThat(constant(Checked.value("VAR b : BOOL; END_VAR", "b := 1;"))).isEqualTo(1);
    assertThat(constant(Checked.value("VAR i : INT; END_VAR", "i := -7 / 2;"))).isEqualTo(-3);
    assertThat(constant(Checked.value("VAR i : INT; END_VAR", "i := -7 MOD 3;"))).isEqualTo(-1);
    assertThat(constant(Checked.value("VAR t : TIME; END_VAR", "t := T#2s * 1.5;"))).isEqualTo(3_000_000_000L);
    assertThat(constant(Checked.value("VAR t : LTIME; END_VAR", "t := T#1s;"))).isEqualTo(1_000_000_000L);
  }

  @Test
  void operandsMeetInTheSmallestCommonType() {
    String v = "VAR i : INT; d : DINT; u : UINT; r : REAL; l : LREAL; w : WORD; dw : DWORD; x : DINT; y : LREAL; END_VAR ";
    Expr.Binary sum = (Expr.Binary) Checked.value(v, "x := i + d;");
    assertThat(kind(sum)).isEqualTo(ElementaryType.DINT);
    assertThat(sum.left()).isInstanceOf(Expr.Convert.class);
    assertThat(sum.right()).isInstanceOf(Expr.Read.class);
    assertThat(kind(Checked.value(v, "x := i + u;"))).isEqualTo(ElementaryType.DINT);
    Expr.Binary or = (Expr.Binary) Checked.value(v, "dw := dw OR w;");
    assertThat(or.right()).isInstanceOf(Expr.Convert.class);
    Expr.Binary real = (Expr.Binary) Checked.value(v, "y := d * r;");
    assertThat(kind(real)).isEqualTo(ElementaryType.LREAL);
  }

  @Test
  void dateArithmeticFollowsTable35() {
    String v = "VAR d1, d2 : DATE; t : TIME; tod : TOD; dt : DT; lt : LTIME; ldt : LDT; END_VAR ";
    assertThat(kind(Checked.value(v, "t := d1 - d2;"))).isEqualTo(ElementaryType.TIME);
    assertThat(kind(Checked.value(v, "tod := tod + t;"))).isEqualTo(ElementaryType.TOD);
    assertThat(kind(Checked.value(v, "ldt := dt + lt;"))).isEqualTo(ElementaryType.LDT);
    assertThat(kind(Checked.value(v, "t := dt - dt;"))).isEqualTo(ElementaryType.TIME);
  }

  @Test
  void initialValues() {
    Project p = Checked.good("""
        TYPE Pt : STRUCT x : REAL := 1.0; y : INT; END_STRUCT; END_TYPE
        PROGRAM Main
        VAR CONSTANT k : INT := 8; END_VAR
        VAR
          a : INT := k * 2 + 1;
          v : ARRAY [1..4] OF INT := [2(5), 1];
          p : Pt := (y := 3);
          q : ARRAY [0..1] OF Pt := [(x := 2.0)];
          s : STRING[3] := 'ab';
          r : REF_TO INT := REF(a);
          t : TON := (PT := T#2s);
        END_VAR
        END_PROGRAM""");
    Pou main = Checked.program(p);
    assertThat(main.variable("a").orElseThrow().initial()).contains(new Init.Scalar(17));
    assertThat(main.variable("v").orElseThrow().initial()).contains(
        new Init.Array(List.of(new Init.Run(2, new Init.Scalar(5)), new Init.Run(1, new Init.Scalar(1)))));
    Init.Members pt = (Init.Members) main.variable("p").orElseThrow().initial().orElseThrow();
    assertThat(pt.values().keySet()).extracting(Variable::name).containsExactly("y");
    assertThat(((Init.Text) main.variable("s").orElseThrow().initial().orElseThrow()).units()).containsExactly('a', 'b');
    assertThat(main.variable("r").orElseThrow().initial().orElseThrow()).isInstanceOf(Init.Address.class);
    Init.Members t = (Init.Members) main.variable("t").orElseThrow().initial().orElseThrow();
    assertThat(t.values().values()).containsExactly(new Init.Scalar(2_000_000_000L));
  }

  @Test
  void addressesAreMappedToBits() {
    Project p = Checked.good("PROGRAM Main VAR a AT %IX2.5 : BOOL; b AT %IX12 : BOOL; "
        + "c AT %QW3 : INT; d AT %ML1 : LREAL; END_VAR END_PROGRAM");
    Pou main = Checked.program(p);
    assertThat(main.variable("a").orElseThrow().located()).contains(new Located('I', 21, 1));
    assertThat(main.variable("b").orElseThrow().located()).contains(new Located('I', 12, 1));
    assertThat(main.variable("c").orElseThrow().located()).contains(new Located('Q', 48, 16));
    assertThat(main.variable("d").orElseThrow().located()).contains(new Located('M', 64, 64));
  }

  @Test
  void functionCallsAreComplete() {
    String f = "FUNCTION f : INT VAR_INPUT a : INT := 5; b : INT; END_VAR VAR_OUTPUT q : BOOL; END_VAR f := a; END_FUNCTION ";
    List<Stmt> body = Checked.body(f + "PROGRAM Main VAR x : INT; y : BOOL; END_VAR x := f(b := 2, q => y); x := f(1, 2); END_PROGRAM");
    Call call = ((Expr.Invoke) ((Stmt.Assign) body.get(0)).value()).call();
    assertThat(call.arguments()).extracting(a -> a.parameter().name()).containsExactly("b", "q", "a");
    assertThat(constant(((Call.Input) call.arguments().get(2)).value())).isEqualTo(5);
    Call second = ((Expr.Invoke) ((Stmt.Assign) body.get(1)).value()).call();
    assertThat(second.arguments()).extracting(a -> a.parameter().name()).containsExactly("a", "b");
  }

  @Test
  void instanceCallsHoldOnlyWhatIsWritten() {
    List<Stmt> body = Checked.statements("VAR t : TON; a, q : BOOL; e : TIME; END_VAR",
        "t(IN := a, NOT Q => q, ET => e); t.PT := T#1s; q := t.Q;");
    Call call = ((Stmt.CallStmt) body.get(0)).call();
    assertThat(call.target()).isInstanceOf(Call.Instance.class);
    assertThat(call.arguments()).hasSize(3);
    assertThat(((Call.Output) call.arguments().get(1)).negated()).isTrue();
    assertThat(((Stmt.Assign) body.get(1)).target()).isInstanceOf(Place.Member.class);
  }

  @Test
  void operatorsOfTheLibraryBecomeExpressions() {
    String v = "VAR a, b, c, y : INT; r : REAL; q : BOOL; w : WORD; s : STRING[5]; z : STRING[20]; t : TIME; END_VAR ";
    Expr.Binary sum = (Expr.Binary) Checked.value(v, "y := ADD(a, b, c);");
    assertThat(sum.left()).isInstanceOf(Expr.Binary.class);
    assertThat(Checked.value(v, "q := GT(a, b);")).isInstanceOf(Expr.Binary.class);
    assertThat(((Expr.Intrinsic) Checked.value(v, "q := GT(a, b, c);")).name()).isEqualTo("GT");
    assertThat(Checked.value(v, "y := MOVE(a);")).isInstanceOf(Expr.Read.class);
    assertThat(kind(Checked.value(v, "y := MAX(3, 9, 5);"))).isEqualTo(ElementaryType.INT);
    assertThat(kind(Checked.value(v, "y := TRUNC(r);"))).isEqualTo(ElementaryType.INT);
    assertThat(Checked.value(v, "w := NOT(w);")).isInstanceOf(Expr.Not.class);
    assertThat(Checked.value(v, "t := MUL_TIME(t, 3);")).isInstanceOf(Expr.Binary.class);
    assertThat(kind(Checked.value(v, "r := SQRT(2);"))).isEqualTo(ElementaryType.REAL);
    assertThat(kind(Checked.value(v, "r := SQRT(a);"))).isEqualTo(ElementaryType.REAL);
    assertThat(constant(Checked.value(v, "y := TO_INT(2.5);"))).isEqualTo(2);
  }

  @Test
  void nativeFunctionsAreSpecialised() {
    String v = "VAR s : STRING[5]; z : STRING[30]; r : REAL; l : LREAL; END_VAR ";
    List<Stmt> body = Checked.statements(v, "z := CONCAT(s, 'abc', s); r := SIN(r); l := SIN(l); r := SIN(1.0);");
    Expr.Invoke outer = (Expr.Invoke) ((Stmt.Assign) body.get(0)).value();
    assertThat(outer.type()).isEqualTo(new Type.Text(ElementaryType.STRING, 13));
    assertThat(((Call.Input) outer.call().arguments().get(0)).value()).isInstanceOf(Expr.Invoke.class);
    Pou real = ((Call.Function) ((Expr.Invoke) ((Stmt.Assign) body.get(1)).value()).call().target()).pou();
    Pou lreal = ((Call.Function) ((Expr.Invoke) ((Stmt.Assign) body.get(2)).value()).call().target()).pou();
    Pou again = ((Call.Function) ((Expr.Invoke) ((Stmt.Assign) body.get(3)).value()).call().target()).pou();
    assertThat(real).isNotSameAs(lreal).isSameAs(again);
    assertThat(real.code()).isEqualTo(new Code.Native("sin"));
  }

  @Test
  void intrinsicWithEnableBecomesACall() {
    List<Stmt> body = Checked.statements("VAR a, b, y : INT; go, ok : BOOL; END_VAR", "y := ADD(EN := go, IN1 := a, IN2 := b, ENO => ok);");
    Expr.Invoke i = (Expr.Invoke) ((Stmt.Assign) body.get(0)).value();
    assertThat(((Call.Function) i.call().target()).pou().code()).isEqualTo(new Code.Intrinsic("ADD"));
    assertThat(i.call().en()).isPresent();
    assertThat(i.call().eno()).isPresent();
    assertThat(i.call().arguments()).hasSize(2);
  }

  @Test
  void libraryBlocksAreCheckedWhenUsed() {
    Project p = Checked.good("PROGRAM Main VAR t : TON; END_VAR t(IN := TRUE); END_PROGRAM");
    assertThat(p.pous()).extracting(Pou::name).containsExactly("Main", "TON");
    assertThat(((Code.Statements) p.pous().get(1).code()).statements()).hasSize(2);
  }

  @Test
  void ladderIsTyped() {
    Project p = Checked.good("""
        PROGRAM Main
        VAR Start, Halt, Run, Busy : BOOL; Delay : TON; Elapsed : TIME; x, y, s : INT; END_VAR
        |   Start         Halt      Run   |
        +---| |----+------|/|-------( )---+
        |   Run    |                      |
        +---|P|----+                      |
        |                Delay            |
        |              +-------+          |
        |   Run        |  TON  |   Busy   |
        +---| |--------|IN    Q|---( )----+
        |       T#5s---|PT   ET|---Elapsed|
        |              +-------+          |
        |                                 |
        |              +-------+          |
        |    Run       |  ADD  |   Busy   |
        +---| |--------|EN  ENO|----( )---+
        |          x---|       |---s      |
        |          y---|       |          |
        |          3---|       |          |
        |              +-------+          |
        END_PROGRAM""");
    Ladder l = ((Code.LadderCode) Checked.program(p).code()).ladder();
    assertThat(l.networks()).hasSize(3);
    Ladder.Contact edge = l.networks().get(0).elements().stream().filter(e -> e instanceof Ladder.Contact c && c.memory().isPresent())
        .map(e -> (Ladder.Contact) e).findFirst().orElseThrow();
    assertThat(edge.memory().orElseThrow().initial()).contains(new Init.Scalar(0));
    Ladder.Box ton = (Ladder.Box) l.networks().get(1).elements().get(1);
    assertThat(((Call.Input) ton.call().orElseThrow().arguments().get(0)).value()).isInstanceOf(Expr.LinkState.class);
    assertThat(ton.pins()).hasSize(2);
    Ladder.Box add = (Ladder.Box) l.networks().get(2).elements().get(1);
    assertThat(add.value()).isPresent();
    assertThat(add.en()).isPresent();
    assertThat(add.pins().get(0).source()).isEqualTo(new Ladder.Eno());
    assertThat(add.pins().get(1).source()).isEqualTo(new Ladder.Result());
    assertThat(add.pins().get(1).type()).isEqualTo(Kinds.of(ElementaryType.INT));
  }
}
