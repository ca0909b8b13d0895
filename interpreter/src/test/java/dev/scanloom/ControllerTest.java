package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.US;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.ms;
import static dev.scanloom.Runs.on;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatIllegalArgumentException;
import static org.assertj.core.api.Assertions.assertThatIllegalStateException;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;

/** The facade: looking up, three places, stepping, limits of use. */
class ControllerTest {
  private static final String[] TYPES = {
    "TYPE Mode : (Off, Auto, Hand); Point : STRUCT x : INT; y : INT; END_STRUCT; END_TYPE",
    "PROGRAM Main",
    "VAR Start AT %IX1.3 : BOOL; Speed AT %QW2 : INT; Raw AT %MD1 : DWORD; m : Mode := Auto; p : Point; a : ARRAY [1..3, 0..1] OF INT;",
    "  r : REAL := 1.5; d : LREAL; t : TIME := T#1s500ms; s : STRING[5] := 'abc'; w : WSTRING[4]; small : INT (0..9); END_VAR",
    "p.x := p.x + 1; a[2, 1] := 7; d := 0.1; s := 'hello'; m := Hand;", "END_PROGRAM"};

  @Test
  void variablesAreFoundByPathInAnyCase() {
    CompiledProgram program = compile(TYPES);
    assertThat(program.variable("START").path()).isEqualTo("Start");
    assertThat(program.variable("main.start").address()).isEqualTo(program.variable("%IX1.3").address());
    assertThat(program.variable("Start").location()).isEqualTo("%IX1.3");
    assertThat(program.integer("A[2,1]").path()).isEqualTo("a[2,1]");
    assertThat(program.integer("P.X").typeName()).isEqualTo("INT");
    assertThat(program.variables()).contains("Start", "m", "p.x", "p.y", "a[1,0]", "a[3,1]", "s").doesNotContain("p", "a");
    for (String path : program.variables()) {
      assertThat(program.variable(path).path()).isEqualTo(path);
    }
  }

  @Test
  void valuesFromOutsideKeepTheBoundsOfTheirTypes() {
    CompiledProgram program = compile("PROGRAM Main", "VAR r : REF_TO INT; x : INT; u : ULINT (5..10); v : ULINT; w : LWORD; i : SINT;",
        "  s : INT (-3..3); END_VAR", "x := 1;", "END_PROGRAM");
    Place memory = program.newController(ScanPolicy.image()).memory();
    assertThatIllegalArgumentException().isThrownBy(() -> memory.set(program.integer("r"), 77)).withMessageContaining("can only be set to NULL");
    memory.set(program.integer("r"), 0);
    for (long wrong : new long[] {4, 11, -1, Long.MIN_VALUE}) {
      assertThatIllegalArgumentException().isThrownBy(() -> memory.set(program.integer("u"), wrong))
          .withMessageContaining(Long.toUnsignedString(wrong) + " is outside 5..10 of u");
    }
    for (long fine : new long[] {0, -1, Long.MIN_VALUE, Long.MAX_VALUE}) {
      memory.set(program.integer("v"), fine);
      memory.set(program.integer("w"), fine);
      assertThat(memory.get(program.integer("v"))).isEqualTo(fine);
    }
    assertThatIllegalArgumentException().isThrownBy(() -> memory.set(program.integer("i"), 128)).withMessageContaining("128 is outside -128..127 of i");
    assertThatIllegalArgumentException().isThrownBy(() -> memory.set(program.integer("s"), -4)).withMessageContaining("-4 is outside -3..3 of s");
  }

  @Test
  void unknownPathsOfferTheNearestNames() {
    CompiledProgram program = compile(TYPES);
    assertThatThrownBy(() -> program.variable("Strat")).isInstanceOf(Variable.Unknown.class).hasMessageContaining("'Strat'").hasMessageContaining("Start");
    assertThatThrownBy(() -> program.variable("Sped")).isInstanceOfSatisfying(Variable.Unknown.class, e -> assertThat(e.nearest()).startsWith("Speed"));
    assertThatThrownBy(() -> program.variable("zzzzzzzz")).isInstanceOfSatisfying(Variable.Unknown.class, e -> assertThat(e.nearest()).isEmpty());
    assertThatThrownBy(() -> program.variable("a[4,0]")).isInstanceOf(Variable.Unknown.class);
    assertThatThrownBy(() -> program.variable("%IX9000.0")).isInstanceOf(Variable.Unknown.class).hasMessageContaining("outside the area %I");
    assertThatThrownBy(() -> program.variable("%IX0.8")).isInstanceOf(Variable.Unknown.class);
    assertThatThrownBy(() -> program.variable("%Z1")).isInstanceOf(Variable.Unknown.class);
    assertThatIllegalArgumentException().isThrownBy(() -> program.variable("p")).withMessageContaining("structure").withMessageContaining("p.x");
    assertThatIllegalArgumentException().isThrownBy(() -> program.variable("a")).withMessageContaining("array").withMessageContaining("a[1,0]");
    assertThatIllegalArgumentException().isThrownBy(() -> program.bool("Speed")).withMessageContaining("INT").withMessageContaining("BOOL");
  }

  @Test
  void valuesPrintAndReadAsLiterals() {
    CompiledProgram program = compile(TYPES);
    Controller c = program.newController(still(ScanPolicy.image(), 10));
    assertThat(c.memory().text(c.variable("m"))).isEqualTo("Auto");
    assertThat(c.memory().text(c.variable("t"))).isEqualTo("T#1s500ms");
    assertThat(c.memory().get(c.text("s"))).isEqualTo("abc");
    assertThat(c.memory().get(c.real("r"))).isEqualTo(1.5);
    c.scan();
    assertThat(c.memory().text(c.variable("m"))).isEqualTo("Hand");
    assertThat(c.memory().text(c.variable("s"))).isEqualTo("'hello'");
    assertThat(c.memory().get(c.real("d"))).isEqualTo(0.1);
    assertThat(c.memory().get(c.integer("a[2,1]"))).isEqualTo(7);
    for (String[] set : new String[][] {
      {"m", "Mode#Off", "Off"}, {"t", "T#2m", "T#2m"}, {"s", "'x$$y'", "'x$$y'"}, {"w", "\"ab\"", "\"ab\""}, {"r", "-2.25", "-2.25"}, {"r", "3", "3.0"},
      {"Raw", "16#FF", "16#FF"}, {"p.y", "-32768", "-32768"}, {"small", "9", "9"}, {"d", "1.0E300", "1.0E300"}}) {
      c.memory().setText(c.variable(set[0]), set[1]);
      assertThat(c.memory().text(c.variable(set[0]))).isEqualTo(set[2]);
    }
    for (String[] wrong : new String[][] {
      {"m", "Fast", "Off, Auto, Hand"}, {"t", "5", "duration"}, {"s", "'toolong'", "7 characters"}, {"s", "\"x\"", "double quotes"}, {"Raw", "-1", "0..4294967295"},
      {"p.y", "32768", "-32768..32767"}, {"small", "10", "0..9"}, {"Start", "2", "0..1"}, {"Start", "yes", "TRUE"}, {"p.x", "1.5", "whole number"},
      {"r", "1.0E99", "range of REAL"}, {"p.x", "DINT#5", "DINT"}, {"t", "", "empty"}, {"p.x", "1 + 1", "whole number"}, {"p.x", "'", "no literal"}}) {
      assertThatIllegalArgumentException().as(wrong[0] + " := " + wrong[1]).isThrownBy(() -> c.variable(wrong[0]).check(wrong[1]))
          .withMessageContaining(wrong[2]);
    }
    assertThatIllegalArgumentException().isThrownBy(() -> c.memory().set(c.integer("p.y"), 40_000)).withMessageContaining("p.y");
    assertThatIllegalArgumentException().isThrownBy(() -> c.memory().set(c.integer("small"), -1)).withMessageContaining("0..9");
  }

  @Test
  void threePlacesThreeAnswers() {
    Controller c = compile("PROGRAM P", "VAR a AT %IX0.0 : BOOL; b AT %QX0.0 : BOOL; END_VAR", "b := a; a := FALSE;", "END_PROGRAM")
        .newController(still(ScanPolicy.image(), 10).withDisplay("screen", DisplaySampling.scanStart(), Painting.fromSample()));
    c.field().set(c.bool("a"), true);
    c.scan();
    assertThat(c.field().get(c.bool("a"))).isTrue();
    assertThat(c.memory().get(c.bool("a"))).isFalse();
    assertThat(c.display().get(c.bool("a"))).isTrue();
    assertThat(c.display().get(c.bool("b"))).isFalse();
    assertThat(c.field().get(c.bool("b"))).isTrue();
    assertThatIllegalArgumentException().isThrownBy(() -> c.display().set(c.bool("a"), true)).withMessageContaining("display");
    assertThatIllegalArgumentException().isThrownBy(() -> c.field().set(c.bool("b"), true)).withMessageContaining("output");
    assertThatIllegalArgumentException().isThrownBy(() -> c.display("other")).withMessageContaining("screen");
    Controller other = compile(TYPES).newController(ScanPolicy.image());
    assertThatIllegalArgumentException().isThrownBy(() -> c.memory().get(other.bool("Start"))).withMessageContaining("another program");
    assertThatIllegalArgumentException().isThrownBy(() -> other.field().text(other.variable("r"))).withMessageContaining("not located");
  }

  @Test
  void locationsOverlap() {
    // Least significant byte first: %IW0 holds %IB1 * 256 + %IB0, %ID0 holds %IW1 * 65536 + %IW0 (mapping as check.Located states it).
    Controller c = compile("PROGRAM P", "VAR l AT %IL0 : LWORD; l2 : LWORD; hit : BOOL; END_VAR", "l2 := l; hit := %IX3.1;", "END_PROGRAM")
        .newController(still(ScanPolicy.image(), 10));
    c.field().set(c.integer("%IB0"), 0x34);
    c.field().set(c.integer("%IB1"), 0x12);
    c.field().set(c.integer("%IW1"), 0x0276);
    c.field().set(c.integer("%ID1"), 0xDEADBEEFL);
    c.scan();
    assertThat(c.memory().get(c.integer("%IW0"))).isEqualTo(0x1234);
    assertThat(c.memory().get(c.integer("%ID0"))).isEqualTo(0x02761234);
    assertThat(c.memory().get(c.integer("l2"))).isEqualTo(0xDEADBEEF_02761234L);
    assertThat(c.memory().get(c.bool("hit"))).as("%IB3 is 16#02").isTrue();
    c.field().set(c.bool("%IX3.1"), false);
    assertThat(c.field().get(c.integer("%IB3"))).isZero();
    assertThat(c.field().get(c.integer("%IB2"))).isEqualTo(0x76);
  }

  @Test
  void immediateReadsCopyWhatIsReadAndNoMore() {
    Controller c = compile("PROGRAM P", "VAR a AT %IX0.0 : BOOL; x : BOOL; END_VAR", "x := a;", "END_PROGRAM")
        .newController(still(ScanPolicy.immediate(), 10));
    c.field().set(c.integer("%IB0"), 0xFF);
    c.scan();
    assertThat(c.memory().get(c.integer("%IB0"))).isEqualTo(1);
  }

  @Test
  void stepByStepIsTheSameRun() {
    CompiledProgram program = compile("PROGRAM P", "VAR i : INT; a AT %IX0.0 : BOOL; n : INT; END_VAR",
        "FOR i := 1 TO 3 DO IF a THEN n := n + i; END_IF; END_FOR;", "END_PROGRAM");
    ScanPolicy p = micro(ScanPolicy.asynchronous(Runs.us(3)), 1);
    Trace whole = Trace.hashOnly();
    Trace single = Trace.hashOnly();
    Controller c = program.newController(p);
    Controller d = program.newController(p);
    for (Controller k : List.of(c, d)) {
      k.attach(k == c ? whole : single);
      k.field().setAt(5 * US, k.bool("a"), true);
    }
    c.scan(3);
    int steps = 0;
    while (d.scans() < 3) {
      boolean inside = d.step();
      steps++;
      assertThat(inside).isEqualTo(d.isInScan());
      assertThat(d.nextStep() >= 0).isEqualTo(inside);
    }
    assertThat(single).isEqualTo(whole).hasSameHashCodeAs(whole);
    assertThat(steps).isEqualTo((int) (3 * d.steps()));
  }

  @Test
  void stepInfoMatchesTheListing() {
    CompiledProgram program = compile(TYPES);
    assertThat(program.listing()).anyMatch(l -> l.contains("STORE_SELF") && l.contains("p.x"));
    for (int i = 0; i < program.stepCount(); i++) {
      StepInfo s = program.step(i);
      assertThat(s.id()).isEqualTo(i);
      assertThat(s.body()).isNotEmpty();
      assertThat(s.span().line()).isPositive();
      String line = "  " + i + "  " + s.text();
      assertThat(program.listing()).anyMatch(l -> l.startsWith(line));
    }
  }

  @Test
  void viewersSeeNetworksElementsAndLinks() {
    CompiledProgram program = compile(
        "PROGRAM P", "VAR A, B, Lamp : BOOL; END_VAR",
        "|    A               Lamp  |",
        "+---| |---+----------( )---+",
        "|    B    |                |",
        "+---|/|---+                |",
        "END_PROGRAM");
    Network n = program.pous().stream().filter(p -> !p.networks().isEmpty()).findFirst().orElseThrow().networks().get(0);
    assertThat(n.elements()).extracting(Element::title).containsExactlyInAnyOrder("A", "B", "Lamp");
    assertThat(n.elements()).extracting(Element::kind).containsExactlyInAnyOrder(Element.Kind.CONTACT, Element.Kind.CONTACT, Element.Kind.COIL);
    Element b = n.elements().stream().filter(e -> e.title().equals("B")).findFirst().orElseThrow();
    assertThat(b.mark()).isEqualTo("/");
    assertThat(b.row()).isEqualTo(4);
    assertThat(program.elements().get(b.id())).isEqualTo(b);
    assertThat(n.segments()).isNotEmpty();
    assertThat(n.segments()).anyMatch(s -> s.sources().size() == 2);
    Controller c = program.newController(still(ScanPolicy.image(), 10));
    c.scan();
    assertThat(c.display().executed(b.id())).isTrue();
    assertThat(c.display().power(b.id())).isTrue();
    assertThat(c.display().painted(b.id())).isTrue();
    assertThatThrownBy(() -> c.display().painted(99)).isInstanceOf(IndexOutOfBoundsException.class);
  }

  @Test
  void anObserverMustNotChangeTheController() {
    Controller c = compile(TYPES).newController(ScanPolicy.image());
    c.attach(on(e -> c.field().set(c.bool("Start"), true), EventKind.SCAN_END));
    assertThatIllegalStateException().isThrownBy(c::scan).withMessageContaining("observer");
  }

  @Test
  void timeThatNeverComesIsRefused() {
    Controller c = compile(TYPES).newController(ScanPolicy.image().withCosts(dev.scanloom.policy.CostModel.zero()));
    assertThatIllegalStateException().isThrownBy(() -> c.runUntil(MS)).withMessageContaining("no virtual time");
    assertThatIllegalArgumentException().isThrownBy(() -> c.passTime(-1));
  }

  @Test
  void interruptionEndsARunWithAFaultAtAStep() throws Exception {
    Controller c = compile("PROGRAM P", "VAR n : DINT; END_VAR", "WHILE TRUE DO n := n + 1; END_WHILE;", "END_PROGRAM").newController(ScanPolicy.image());
    Thread other = new Thread(() -> {
      try {
        Thread.sleep(20);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
      }
      c.interrupt();
    });
    other.start();
    assertThat(c.scan()).isFalse();
    other.join();
    // On a slow machine the watchdog of ten million steps may not come first; on a fast one it may.
    assertThat(c.fault().orElseThrow().code()).isIn("fault/interrupted", "fault/watchdog");
    Controller d = compile("PROGRAM P", "VAR n : DINT; END_VAR", "n := n + 1;", "END_PROGRAM").newController(ScanPolicy.image());
    d.interrupt();
    assertThat(d.scan()).isFalse();
    assertThat(d.fault().orElseThrow().code()).isEqualTo("fault/interrupted");
  }

  @Test
  void scanningWithoutObserversAllocatesNothing() throws Exception {
    Controller c = compile(
        "PROGRAM P", "VAR a AT %IX0.0 : BOOL; b AT %QX0.0 : BOOL; i, n : INT; p : STRING[20]; END_VAR",
        "FOR i := 1 TO 10 DO n := n + i; END_FOR; b := a AND NOT b; p := 'abc';", "END_PROGRAM")
        .newController(micro(ScanPolicy.asynchronous(Runs.us(7)), 1).withDisplay("panel", DisplaySampling.asynchronous(ms(2), ms(1), 1), Painting.fromSample()));
    c.scan(20_000);
    long before = Runs.allocatedBytes();
    c.scan(20_000);
    long bytes = Runs.allocatedBytes() - before;
    assertThat(bytes).as("bytes in 20,000 scans").isLessThan(20_000);
  }

  @Test
  void displaysDoNotDisturbTheRun() {
    CompiledProgram program = compile("PROGRAM P", "VAR a AT %IX0.0 : BOOL; n : INT; END_VAR", "IF a THEN n := n + 1; END_IF;", "END_PROGRAM");
    ScanPolicy bare = micro(ScanPolicy.asynchronous(Runs.us(3)), 1).withDisplays(List.of());
    ScanPolicy rich = bare.withDisplay("x", DisplaySampling.scanStart(), Painting.fromSample())
        .withDisplay("y", DisplaySampling.asynchronous(Runs.us(1), Runs.us(0), 1), Painting.fromExecution(), List.of("n", "a"));
    java.util.EnumSet<EventKind> kinds = java.util.EnumSet.complementOf(java.util.EnumSet.of(EventKind.SAMPLE));
    Trace one = Trace.hashOnly(kinds);
    Trace two = Trace.hashOnly(kinds);
    Controller c = program.newController(bare);
    Controller d = program.newController(rich);
    c.attach(one);
    d.attach(two);
    c.field().setAt(1_500 * US, c.bool("a"), true);
    d.field().setAt(1_500 * US, d.bool("a"), true);
    c.scan(5);
    d.scan(5);
    assertThat(one).isEqualTo(two);
    assertThatIllegalArgumentException().isThrownBy(c::display).withMessageContaining("no display");
    assertThatIllegalArgumentException()
        .isThrownBy(() -> program.newController(bare.withDisplay("z", DisplaySampling.scanEnd(), Painting.fromSample(), List.of("nn"))))
        .withMessageContaining("nn");
    Controller e = program.newController(bare.withDisplay("z", DisplaySampling.scanEnd(), Painting.fromSample(), List.of("n")));
    assertThat(e.display().isWatched(e.variable("n"))).isTrue();
    assertThat(e.display().isWatched(e.variable("a"))).isFalse();
    assertThatIllegalArgumentException().isThrownBy(() -> e.display().text(e.variable("a"))).withMessageContaining("not watched");
  }

  @Test
  void aRestartInsideAScanDropsTheScan() {
    Controller c = compile("PROGRAM P", "VAR n : INT := 3; k : INT; END_VAR", "n := n + 1;", "k := n;", "END_PROGRAM")
        .newController(micro(ScanPolicy.image(), 1));
    c.scan();
    while (c.memory().get(c.integer("n")) != 5) {
      assertThat(c.step()).isTrue();
    }
    assertThat(c.memory().get(c.integer("k"))).isEqualTo(4);
    c.restartCold();
    assertThat(c.isInScan()).isFalse();
    assertThat(c.nextStep()).isEqualTo(-1);
    c.memory().setAt(1_500 * US, c.integer("n"), 40);
    c.passTime(MS);
    assertThat(c.memory().get(c.integer("n"))).as("landed while no scan ran").isEqualTo(40);
    c.scan();
    assertThat(c.memory().get(c.integer("k"))).isEqualTo(41);
    assertThat(c.scans()).isEqualTo(2);
  }

  @Test
  void waitingCanBeInterrupted() throws Exception {
    Controller c = compile(TYPES).newController(ScanPolicy.asynchronous(java.time.Duration.ofNanos(1)));
    Thread other = new Thread(() -> {
      try {
        Thread.sleep(20);
      } catch (InterruptedException e) {
        Thread.currentThread().interrupt();
      }
      c.interrupt();
    });
    other.start();
    c.passTime(Long.MAX_VALUE);
    other.join();
    assertThat(c.time()).isBetween(1L, Long.MAX_VALUE - 1);
    assertThat(c.fault()).isEmpty();
  }

  /** VAR_ACCESS, Table 62, 10: READ_ONLY or READ_WRITE, READ_ONLY when neither is written (IEC 61131-3, from memory). */
  @Test
  void anAccessPathThatIsReadOnlyRefusesToBeWritten() {
    Controller c = compile("PROGRAM Main VAR_OUTPUT level : INT; END_VAR VAR name : STRING; END_VAR level := level + 1;", "END_PROGRAM",
        "CONFIGURATION Plant", "VAR_GLOBAL switch AT %IX0.0 : BOOL; END_VAR", "TASK T(INTERVAL := T#10ms, PRIORITY := 1);", "PROGRAM p WITH T : Main;",
        "VAR_ACCESS Depth : p.level : INT READ_ONLY; Set : p.level : INT READ_WRITE; Title : p.name : STRING; Input : switch : BOOL READ_ONLY; END_VAR",
        "END_CONFIGURATION").newController(ScanPolicy.image());
    assertThat(c.integer("Depth").isReadOnly()).isTrue();
    assertThat(c.integer("Set").isReadOnly()).isFalse();
    assertThatIllegalArgumentException().isThrownBy(() -> c.memory().set(c.integer("Depth"), 3))
        .withMessage("the access path Depth to p.level is READ_ONLY; expected one that is READ_WRITE, or the variable itself");
    assertThatIllegalArgumentException().isThrownBy(() -> c.memory().setTextAt(7, c.text("Title"), "'x'")).withMessageContaining("Title to p.name");
    assertThatIllegalArgumentException().isThrownBy(() -> c.force(c.integer("Depth"), 3)).withMessageContaining("READ_ONLY");
    assertThat(c.memory().get(c.integer("Depth"))).isZero();
    c.memory().set(c.integer("Set"), 40);
    c.memory().set(c.integer("p.level"), 50);
    c.scan();
    assertThat(c.memory().get(c.integer("Depth"))).isEqualTo(51);
    c.field().set(c.bool("Input"), true);
    c.scan();
    assertThat(c.memory().get(c.bool("Input"))).as("the field is no access path's matter").isTrue();
  }
}
