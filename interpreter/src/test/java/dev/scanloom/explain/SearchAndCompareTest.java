package dev.scanloom.explain;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.CompileResult;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.observe.Event;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import java.util.EnumSet;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/** Counterfactuals, disagreements and the recorder on programs compiled from text. Expectations derived by hand. */
class SearchAndCompareTest {
  private static final String LEVEL = """
      PROGRAM Tank
      VAR
        Level AT %IW2 : INT;
        Hand AT %IX0.0 : BOOL;
        Limit : INT := 100;
        Alarm : BOOL;
      END_VAR
        IF Level > Limit AND NOT Hand THEN
          Alarm := TRUE;
        END_IF;
      END_PROGRAM
      """;

  private static Counterfactual.Setup setup(String text, int scans, Counterfactual.Input... inputs) {
    return new Counterfactual.Setup(Compiler.standard(), List.of(SourceText.of("t.st", text)), ScanPolicy.image(), List.of(inputs), scans);
  }

  private static Counterfactual.Input in(int scan, String path, String literal) {
    return new Counterfactual.Input(scan, path, literal);
  }

  private static Controller controller(String text, ScanPolicy policy) {
    return Compiler.standard().compile("t.st", text).orThrow().newController(policy);
  }

  // ---- counterfactuals ----

  @Test
  void aNumberIsChangedByTheSmallestStepThatFlips() {
    // 95 in scan 3: 1 more is not enough, 10 more is; late scans first
    List<Counterfactual> found = Counterfactual.find(setup(LEVEL, 3, in(1, "Level", "50"), in(3, "Level", "95")),
        new Counterfactual.Result("Alarm", false, 3), EnumSet.of(Counterfactual.Search.INPUT), 100);
    assertThat(found).singleElement().satisfies(f -> {
      assertThat(f.change()).isEqualTo(new Counterfactual.InputChange("Level", 3, 3, "95", "105"));
      assertThat(f.words()).isEqualTo("if Level is 105 instead of 95 in scan 3, the result is TRUE instead of FALSE");
      assertThat(f.runs()).isPositive();
    });
  }

  @Test
  void theAlarmIsLatchedSoThatOnlyTheScanThatSetItCounts() {
    // set in scan 2 alone: with Hand pressed then, it would not have come
    List<Counterfactual> found = Counterfactual.find(
        setup(LEVEL, 4, in(1, "Level", "50"), in(2, "Level", "150"), in(3, "Level", "50")), new Counterfactual.Result("Alarm", false, 4),
        EnumSet.of(Counterfactual.Search.INPUT), 100);
    assertThat(found).singleElement().satisfies(f -> {
      assertThat(f.before()).isEqualTo("TRUE");
      assertThat(f.after()).isEqualTo("FALSE");
      Counterfactual.InputChange c = (Counterfactual.InputChange) f.change();
      assertThat(c.from()).isEqualTo(2);
      assertThat(c.to()).isEqualTo(2);
    });
  }

  @Test
  void aVariableThatThePanelWritesCanBeTheOneToo() {
    List<Counterfactual> found = Counterfactual.find(setup(LEVEL, 2, in(1, "Level", "150"), in(1, "Limit", "200")),
        new Counterfactual.Result("Alarm", false, 2), EnumSet.of(Counterfactual.Search.INPUT), 500);
    assertThat(found).extracting(f -> ((Counterfactual.InputChange) f.change()).path()).containsExactly("Level");
    // where nothing but holding it for several scans helps
    String slow = """
        PROGRAM Slow
        VAR
          Button AT %IX0.0 : BOOL;
          n : INT;
          Done : BOOL;
        END_VAR
          IF Button THEN n := n + 1; ELSE n := 0; END_IF;
          Done := n >= 3;
        END_PROGRAM
        """;
    found = Counterfactual.find(setup(slow, 5), new Counterfactual.Result("Done", false, 5), EnumSet.of(Counterfactual.Search.INPUT), 500);
    assertThat(found).extracting(Counterfactual::change).containsExactly(new Counterfactual.InputChange("Button", 3, 5, "FALSE", "TRUE"));
  }

  @Test
  void theSearchIsBoundedAndErrorsAreTold() {
    assertThat(Counterfactual.find(setup(LEVEL, 3), new Counterfactual.Result("Limit", false, 3),
        EnumSet.allOf(Counterfactual.Search.class), 5)).isEmpty();
    assertThatThrownBy(() -> Counterfactual.find(setup(LEVEL, 3), new Counterfactual.Result("Alarm", false, 4)))
        .hasMessage("scan 4 is not one of the run's 3");
    assertThatThrownBy(() -> Counterfactual.find(setup(LEVEL, 3), new Counterfactual.Result("Alarn", false, 2)))
        .isInstanceOf(IllegalArgumentException.class).hasMessageContaining("Alarm");
    assertThatThrownBy(() -> Counterfactual.find(setup("PROGRAM P x := ; END_PROGRAM", 3), new Counterfactual.Result("x", false, 2)))
        .isInstanceOf(CompileResult.Failed.class);
    assertThatThrownBy(() -> in(0, "x", "1")).hasMessage("scans count from 1: 0");
  }

  @Test
  void runsPartWhereTheFirstStepDiffers() {
    Counterfactual.Setup run = setup(LEVEL, 3, in(2, "Level", "150"));
    assertThat(Counterfactual.parting(run, run.withInputs(List.of(in(2, "Level", "151"))))).hasValueSatisfying(p -> {
      assertThat(p.scan()).isEqualTo(2);
      assertThat(p.ordinal()).isEqualTo(1);
      assertThat(p.first()).isEqualTo("read 150 from Level");
      assertThat(p.second()).isEqualTo("read 151 from Level");
      assertThat(p.span()).hasValueSatisfying(s -> assertThat(s.line()).isEqualTo(8));
    });
    // another program: the same up to the branch
    Counterfactual.Setup other = run.withSources(List.of(SourceText.of("t.st", LEVEL.replace("NOT Hand", "Hand    "))));
    assertThat(Counterfactual.parting(run, other)).hasValueSatisfying(p -> assertThat(p.scan()).isEqualTo(1));
    assertThat(Counterfactual.parting(run, run.withInputs(List.of(in(3, "Level", "150"))))).hasValueSatisfying(p -> assertThat(p.scan())
        .isEqualTo(2));
  }

  // ---- disagreements ----

  private static final String NEGATED = """
      FUNCTION_BLOCK Valve
      VAR_INPUT Shut : BOOL; END_VAR
      VAR_OUTPUT Open : BOOL; END_VAR
      |   Shut                Open   |
      +---|/|----------------( )-----+
      END_FUNCTION_BLOCK
      PROGRAM Main
      VAR
        Stop AT %IX0.0 : BOOL;
        A, B : Valve;
        Run AT %QX0.0 : BOOL;
      END_VAR
      |   Stop                Run    |
      +---|/|----------------( )-----+
      END_PROGRAM
      """;

  @Test
  void aNegatedContactConductsOnZeroAndAgreesEverywhere() {
    Controller c = controller(NEGATED, ScanPolicy.image());
    Disagreements d = Disagreements.of(c);
    c.scan(2);
    assertThat(d.rows()).isEmpty();
    c.field().set(c.bool("Stop"), true);
    c.scan(2);
    assertThat(d.rows()).isEmpty();
  }

  @Test
  void aTerminalThatMovedAfterTheRefreshIsTheFieldAlone() {
    Controller c = controller(NEGATED, ScanPolicy.image().withDisplay("screen", DisplaySampling.scanEnd(), Painting.fromSample()));
    Disagreements d = Disagreements.of(c);
    // inside the refresh phase, which takes 50 us
    c.field().setAt(20_000, c.bool("Stop"), true);
    c.scan();
    assertThat(d.rows()).singleElement().satisfies(r -> {
      assertThat(r.title()).isEqualTo("negated contact Stop");
      assertThat(r.executed()).isTrue();
      assertThat(r.memory()).isEqualTo(Optional.of(true));
      assertThat(r.painted()).isEqualTo(Optional.of(true));
      assertThat(r.field()).isEqualTo(Optional.of(false));
      assertThat(r.separation()).isEmpty();
    });
    assertThat(d.text()).isEqualTo("""
        scan  network  element               executed  display  painted  memory  field  separated by
        1     Main 1   negated contact Stop  1         screen   1        1       0      the field alone
        """);
  }

  @Test
  void anExternalWriteInTheMiddleOfTheProgramSeparates() {
    String text = """
        PROGRAM Main
        VAR a, y, z : BOOL; END_VAR
        |    a                   y     |
        +---| |----------------( )-----+
        |    y                   z     |
        +---| |----------------( )-----+
        END_PROGRAM
        """;
    Controller c = controller(text, ScanPolicy.image().withExternalWrites(ExternalWrites.anyStep()));
    Disagreements d = Disagreements.of(c);
    Provenance p = Provenance.of(c);
    // the contact reads a at step 2, begun at 50.1 us
    c.memory().setAt(50_350, c.bool("a"), true);
    c.scan();
    assertThat(d.rows()).singleElement().satisfies(r -> {
      assertThat(r.title()).isEqualTo("contact a");
      assertThat(r.executed()).isFalse();
      assertThat(r.memory()).isEqualTo(Optional.of(true));
      assertThat(r.field()).isEmpty();
      assertThat(r.separation()).hasValueSatisfying(s -> {
        assertThat(s.source()).isEqualTo(Event.Source.EXTERNAL_WRITE);
        assertThat(s.value()).isTrue();
        assertThat(s.ordinal()).isEqualTo(4);
      });
    });
    assertThat(p.why(c.variable("a")).text()).isEqualTo("""
        a is TRUE after scan 1
          an external write stored TRUE in a after step 4 of scan 1
        """);
    assertThat(p.whyElement(0).root().words()).isEqualTo("contact a of network 1 passed no power at step 3");
    assertThat(p.whyElement(0).facts(Fact.Kind.READ)).extracting(Fact::words).containsExactly("contact a read 0 at step 2");
    assertThatThrownBy(() -> p.whyElement(99)).hasMessage("ladder element 99 has not been evaluated");
  }

  // ---- the recorder ----

  @Test
  void aForceIsTheSourceOfWhatItHolds() {
    Controller c = controller(NEGATED, ScanPolicy.image());
    Provenance p = Provenance.of(c);
    c.force(c.variable("Stop"), "TRUE");
    c.scan(2);
    assertThat(p.why(c.variable("Run")).facts(Fact.Kind.FORCE)).extracting(Fact::subject).containsExactly("Stop");
    c.unforce(c.variable("Stop"));
    c.force(c.variable("Run"), "FALSE");
    c.scan(2);
    assertThat(c.memory().text(c.variable("Run"))).isEqualTo("TRUE");
    Explanation e = p.whyField(c.variable("Run"));
    assertThat(e.value()).isEqualTo("FALSE");
    assertThat(p.why(c.variable("Run")).value()).isEqualTo("TRUE");
  }

  @Test
  void aRecorderThatCameLateSaysSo() {
    Controller c = controller(LEVEL, ScanPolicy.image());
    c.field().set(c.integer("Level"), 150);
    c.scan(3);
    Provenance p = Provenance.of(c);
    assertThat(p.why(c.variable("Alarm")).text()).isEqualTo("""
        Alarm is TRUE after scan 3
          Alarm was TRUE when the recorder was attached after scan 3
        """);
    c.scan();
    assertThat(p.why(c.variable("Alarm")).facts(Fact.Kind.WRITE)).hasSize(1);
    assertThatThrownBy(() -> p.why(c.variable("Alarm"), 2)).hasMessageContaining("scan 2 is older than what is kept");
    assertThatThrownBy(() -> p.whyField(c.variable("Alarm"))).hasMessage("Alarm has no terminal; terminals are at %I and %Q");
    assertThatThrownBy(() -> Provenance.of(c, -1)).isInstanceOf(IllegalArgumentException.class);
  }

  @Test
  void stringsAndCopiesAreFollowed() {
    String text = """
        TYPE Part : STRUCT name : STRING; n : INT; END_STRUCT; END_TYPE
        PROGRAM Main
        VAR
          a : Part := (name := 'bolt', n := 4);
          b, c : Part;
          s : STRING;
        END_VAR
          a.n := a.n + 1;
          b := a;
          c := b;
          s := c.name;
        END_PROGRAM
        """;
    Controller c = controller(text, ScanPolicy.image());
    Provenance p = Provenance.of(c);
    c.scan();
    Explanation n = p.why(c.variable("c.n"));
    // a Part has 34 slots of 8 bytes (string: length and 254 characters, and n); copies count a step more per 16 bytes: 7 + 17 + 3
    assertThat(n.facts(Fact.Kind.WRITE)).extracting(Fact::words).containsExactly(
        "Main wrote 5 to c.n at step 27", "Main wrote 5 to b.n at step 7", "Main wrote 5 to a.n at step 4");
    Explanation s = p.why(c.variable("s"));
    assertThat(s.value()).isEqualTo("'bolt'");
    assertThat(s.facts(Fact.Kind.INITIAL)).extracting(Fact::subject).containsExactly("a.name");
  }
}
