package dev.scanloom;

import static dev.scanloom.Runs.MS;
import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Online change between two scans. What is kept is a choice of this project (name and type unchanged); common practice. */
class OnlineChangeTest {
  private static final ScanPolicy POLICY = still(ScanPolicy.image(), 10);

  private static String text(Controller c, String path) {
    return c.memory().text(c.variable(path));
  }

  private static final String BEFORE = String.join("\n",
      "FUNCTION_BLOCK Count VAR_INPUT Up : BOOL R_EDGE; END_VAR VAR_OUTPUT N : INT; END_VAR IF Up THEN N := N + 1; END_IF; END_FUNCTION_BLOCK",
      "PROGRAM Mill",
      "VAR Gone : INT := 1; Belt AT %IX0.0 : BOOL; Lamp AT %QX0.3 : BOOL; C : Count; Total : DINT; Kind : INT; Where : REF_TO DINT; END_VAR",
      "VAR CONSTANT Step1 : DINT := 2; END_VAR VAR Grown : ARRAY [1..2] OF INT; END_VAR",
      "Total := Total + Step1; C(Up := Belt); Lamp := Belt; Kind := 3; Gone := 4; Where := REF(Total); Grown[1] := 9;",
      "END_PROGRAM");

  private static final String AFTER = String.join("\n",
      "FUNCTION_BLOCK Count VAR_INPUT Up : BOOL R_EDGE; END_VAR VAR Front : LINT; END_VAR VAR_OUTPUT N : INT; END_VAR",
      "IF Up THEN N := N + 10; END_IF; END_FUNCTION_BLOCK",
      "PROGRAM Mill",
      "VAR Front : ARRAY [1..9] OF LINT; Belt AT %IX0.0 : BOOL; Lamp AT %QX0.3 : BOOL; Far AT %MW40 : INT := 77; C : Count; Total : DINT; Kind : DINT := 8;",
      "  Where : REF_TO DINT; END_VAR",
      "VAR CONSTANT Step1 : DINT := 5; END_VAR VAR Grown : ARRAY [1..3] OF INT; END_VAR",
      "Where^ := Where^ + Step1; C(Up := Belt); Lamp := Belt;",
      "END_PROGRAM");

  private static Controller running() {
    Controller c = compile(BEFORE).newController(POLICY);
    c.scan();
    c.field().set(c.bool("Belt"), true);
    c.scan(2);
    return c;
  }

  @Test
  void stateOfUnchangedVariablesIsKeptAndTheRestReported() {
    Controller c = running();
    Controller next = compile(AFTER).newController(POLICY);
    Transfer t = next.takeOver(c);
    assertThat(t.sameProgram()).isFalse();
    assertThat(t.kept()).extracting(Transfer.Item::path)
        .containsExactlyInAnyOrder("Mill.Belt", "Mill.Lamp", "Mill.C.Up", "Mill.C.N", "Mill.Total", "Mill.Where");
    assertThat(t.initialized()).extracting(Transfer.Item::toString).containsExactlyInAnyOrder("Mill.Front : ARRAY{1..9} OF LINT = 9 elements (new)",
        "Mill.Far : INT = 77 (new)", "Mill.C.Front : LINT = 0 (new)", "Mill.Kind : DINT = 8 (was INT)",
        "Mill.Grown : ARRAY{1..3} OF INT = 3 elements (was ARRAY{1..2} OF INT)");
    assertThat(t.dropped()).extracting(Transfer.Item::toString).containsExactlyInAnyOrder("Mill.Gone : INT = 4 (no longer declared)",
        "Mill.Kind : INT = 3 (is DINT now)", "Mill.Grown : ARRAY{1..2} OF INT = 2 elements (is ARRAY{1..3} OF INT now)");
    assertThat(next.time()).isEqualTo(c.time());
    assertThat(next.scans()).isEqualTo(3);
    assertThat(next.field().get(next.bool("Belt"))).isTrue();
    assertThat(next.field().get(next.bool("Lamp"))).isTrue();
    next.scan();
    // By hand: Total 6 + 5 through the reference that has followed it; the block has seen Up already, so 1 stays; the constant is the new one.
    assertThat(text(next, "Total")).isEqualTo("11");
    assertThat(text(next, "C.N")).isEqualTo("1");
    assertThat(text(next, "Far")).isEqualTo("77");
    assertThat(next.scanStart()).isEqualTo(30 * MS);
    assertThat(text(c, "Total")).as("the old controller is not touched").isEqualTo("6");
  }

  @Test
  void anUnchangedProgramGoesOnAsIfNothingHadHappened() {
    Controller c = running();
    Controller next = compile(BEFORE).newController(POLICY);
    Transfer t = next.takeOver(c);
    assertThat(t.sameProgram()).isTrue();
    assertThat(t.initialized()).isEmpty();
    assertThat(t.dropped()).isEmpty();
    for (int i = 0; i < 3; i++) {
      c.scan();
      next.scan();
      for (String path : c.program().variables()) {
        assertThat(text(next, path)).as(path).isEqualTo(text(c, path));
        assertThat(next.display().text(next.variable(path))).as(path).isEqualTo(c.display().text(c.variable(path)));
      }
    }
  }

  @Test
  void forcesAndScheduledChangesGoAlong() {
    Controller c = running();
    c.force(c.variable("Total"), "100");
    c.field().setAt(45 * MS, c.bool("Belt"), false);
    c.memory().setAt(45 * MS, c.integer("C.N"), 7);
    c.memory().setAt(45 * MS, c.integer("Gone"), 7);
    Controller next = compile(AFTER).newController(POLICY);
    next.takeOver(c);
    assertThat(next.isForced(next.variable("Total"))).isTrue();
    next.scan(3);
    assertThat(next.field().get(next.bool("Belt"))).isFalse();
    assertThat(text(next, "C.N")).isEqualTo("7");
  }

  @Test
  void tasksKeepTheirRhythm() {
    String tasks = "CONFIGURATION K VAR_GLOBAL n : INT; END_VAR TASK T1(INTERVAL := T#30ms, PRIORITY := 1); PROGRAM p WITH T1 : Main; END_CONFIGURATION ";
    Controller c = compile(tasks + "PROGRAM Main VAR_EXTERNAL n : INT; END_VAR n := n + 1; END_PROGRAM").newController(POLICY);
    c.scan(2);
    Controller next = compile(tasks + "PROGRAM Main VAR_EXTERNAL n : INT; END_VAR n := n + 100; END_PROGRAM").newController(POLICY);
    next.takeOver(c);
    next.scan();
    // due at 0 and 30 ms, not at 20 ms
    assertThat(text(next, "n")).isEqualTo("1");
    next.scan();
    assertThat(text(next, "n")).isEqualTo("101");
  }

  @Test
  void aReferenceToWhatIsGoneIsNullAndReported() {
    Controller c = compile("PROGRAM P VAR x, y : INT; r : REF_TO INT; END_VAR r := REF(x); END_PROGRAM").newController(POLICY);
    c.scan();
    Controller next = compile("PROGRAM P VAR y : INT; r : REF_TO INT; END_VAR y := 1; END_PROGRAM").newController(POLICY);
    Transfer t = next.takeOver(c);
    assertThat(t.initialized()).extracting(Transfer.Item::reason).containsExactly("what it referred to no longer exists");
    assertThat(next.memory().get(next.integer("r"))).isZero();
  }

  @Test
  void itIsRefusedAtTheWrongMoment() {
    Controller c = running();
    CompiledProgram program = compile(AFTER);
    assertThatThrownBy(() -> program.newController(POLICY.withSeed(9)).takeOver(c)).isInstanceOf(IllegalArgumentException.class);
    Controller used = program.newController(POLICY);
    used.scan();
    assertThatThrownBy(() -> used.takeOver(c)).isInstanceOf(IllegalStateException.class).hasMessageContaining("new controller");
    c.step();
    assertThatThrownBy(() -> program.newController(POLICY).takeOver(c)).isInstanceOf(IllegalStateException.class).hasMessageContaining("between two scans");
    assertThat(List.of(c.isInScan())).containsExactly(true);
  }

  /** A network for each name: a rising edge at the input sets the bit Seen. */
  private static Controller edges(String dashes, String... names) {
    StringBuilder text = new StringBuilder("PROGRAM Mill VAR Start AT %IX0.0 : BOOL; Belt AT %IX0.1 : BOOL; StartSeen, BeltSeen, Other, OtherSeen : BOOL; END_VAR\n");
    for (String n : names) {
      String link = "+---|P|---" + dashes + "-----(S)----------+";
      text.append(String.format("|   %-10s%sSeen", n, n)).append(" ".repeat(link.length() - 19 - n.length())).append("|\n").append(link).append("\n|\n");
    }
    return compile(text + "END_PROGRAM").newController(POLICY);
  }

  private static String seenAfterChange(Controller next) {
    Controller c = edges("", "Start", "Belt");
    c.scan();
    c.field().set(c.bool("Start"), true);
    c.field().set(c.bool("Belt"), true);
    c.scan();
    assertThat(text(c, "StartSeen") + text(c, "BeltSeen")).isEqualTo("TRUETRUE");
    c.memory().set(c.bool("StartSeen"), false);
    c.memory().set(c.bool("BeltSeen"), false);
    next.takeOver(c);
    next.scan();
    return text(next, "StartSeen") + text(next, "BeltSeen");
  }

  /** By hand: both inputs stay ON over the change, so that an element whose memory is kept sees no edge. */
  @Test
  void edgeMemoriesFollowTheirElements() {
    assertThat(seenAfterChange(edges("", "Start", "Belt"))).isEqualTo("FALSEFALSE");
    assertThat(seenAfterChange(edges("", "Other", "Start", "Other", "Belt"))).as("networks are inserted").isEqualTo("FALSEFALSE");
    assertThat(seenAfterChange(edges("", "Belt", "Start"))).as("another order").isEqualTo("FALSEFALSE");
    assertThat(seenAfterChange(edges("--", "Start", "Belt"))).as("changed networks: by the operand").isEqualTo("FALSEFALSE");
    assertThat(seenAfterChange(edges("--", "Start", "Belt", "Belt"))).as("one more with that operand has no memory").isEqualTo("FALSETRUE");
    assertThat(seenAfterChange(edges("", "Belt"))).isEqualTo("FALSEFALSE");
  }
}
