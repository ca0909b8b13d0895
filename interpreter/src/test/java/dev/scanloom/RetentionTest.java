package dev.scanloom;

import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.ms;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.policy.RetainStore;
import dev.scanloom.policy.ScanPolicy;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Retained memory over power failures. Rules: IEC 61131-3, warm and cold restart (S.retain-warm, S.retain-cold; from memory). */
class RetentionTest {

  /** Memory is enough where no crash is meant. */
  private static final class Box implements RetainStore {
    private byte[] content;

    @Override
    public Optional<byte[]> read() {
      return Optional.ofNullable(content);
    }

    @Override
    public void write(byte[] bytes) {
      content = bytes.clone();
    }
  }

  private static final String[] SILO = {
    "TYPE Mode : (Rest, Fill, Drain); Batch : STRUCT Weight : REAL; Marks : ARRAY [1..3] OF INT; END_STRUCT; END_TYPE",
    "FUNCTION_BLOCK Tally VAR_INPUT Hit : BOOL R_EDGE; END_VAR VAR_OUTPUT N : INT; END_VAR VAR NON_RETAIN Drop : INT; END_VAR",
    "IF Hit THEN N := N + 1; END_IF; Drop := Drop + 1; END_FUNCTION_BLOCK",
    "PROGRAM Silo",
    "VAR RETAIN Hours : DINT; State : Mode; Note : STRING[20] := 'none'; Last : Batch; Grid : ARRAY [0..1, 0..1] OF Batch; T : Tally; At5 AT %MW5 : INT;",
    "  Which : REF_TO INT; END_VAR",
    "VAR Pulse : BOOL; Other AT %MW6 : INT; Loose : DINT; END_VAR",
    "VAR CONSTANT Step1 : DINT := 2; END_VAR",
    "Hours := Hours + Step1; Loose := Loose + 1; Pulse := NOT Pulse; T(Hit := Pulse); At5 := At5 + 3; Other := Other + 1;",
    "State := Mode#Drain; Note := 'batch'; Last.Weight := Last.Weight + REAL#0.5; Last.Marks[2] := 7; Grid[1, 0].Marks[3] := Grid[1, 0].Marks[3] + 1;",
    "Which := REF(Last.Marks[2]);",
    "END_PROGRAM"};

  private static Controller silo() {
    return compile(SILO).newController(still(ScanPolicy.image(), 10));
  }

  private static String text(Controller c, String path) {
    return c.memory().text(c.variable(path));
  }

  @Test
  void everyKindOfRetainedVariableComesBackInANewProcess() throws IOException {
    Controller c = silo();
    c.scan(5);
    Box box = new Box();
    c.save(box);
    Controller next = silo();
    Transfer t = next.load(box);
    assertThat(t.sameProgram()).isTrue();
    assertThat(t.dropped()).isEmpty();
    assertThat(t.initialized()).isEmpty();
    for (String path : List.of("Hours", "State", "Note", "Last.Weight", "Last.Marks[2]", "Grid[1,0].Marks[3]", "T.N", "At5", "Which")) {
      assertThat(text(next, path)).as(path).isEqualTo(text(c, path));
    }
    // By hand: five scans of +2, of +3, of +0.5; Pulse rises in scans 1, 3 and 5.
    assertThat(text(next, "Hours")).isEqualTo("10");
    assertThat(text(next, "At5")).isEqualTo("15");
    assertThat(text(next, "Last.Weight")).isEqualTo("2.5");
    assertThat(text(next, "T.N")).isEqualTo("3");
    assertThat(text(next, "Loose")).isEqualTo("0");
    assertThat(text(next, "Other")).as("a location without RETAIN").isEqualTo("0");
    assertThat(text(next, "T.Drop")).isEqualTo("0");
    assertThat(next.time()).isEqualTo(c.time());
    assertThat(t.kept().stream().map(Transfer.Item::path)).contains("Silo.Hours", "Silo.Grid[1,0].Marks", "Silo.At5").noneMatch(p -> p.contains("$"));
    // The edge memory is kept: Pulse (not retained) rises again from FALSE, but the block has seen TRUE last, so this is no edge.
    next.scan();
    assertThat(text(next, "T.N")).isEqualTo("3");
  }

  @Test
  void aWarmRestartInMemoryDoesTheSame() {
    Controller c = silo();
    c.scan(5);
    c.restartWarm();
    assertThat(text(c, "Hours")).isEqualTo("10");
    assertThat(text(c, "At5")).isEqualTo("15");
    assertThat(text(c, "Other")).isEqualTo("0");
    c.scan();
    assertThat(text(c, "T.N")).isEqualTo("3");
    c.restartCold();
    assertThat(text(c, "At5")).isEqualTo("0");
  }

  @Test
  void powerMayFailAtAnyStep() throws IOException {
    CompiledProgram program = compile(SILO);
    Controller c = program.newController(micro(ScanPolicy.image(), 10));
    int cuts = 0;
    for (int k = 0; cuts < 300; k++) {
      boolean inside = c.step();
      if (!inside) {
        continue;
      }
      cuts++;
      Box box = new Box();
      c.save(box);
      Snapshot before = c.snapshot();
      List<String> retained = new ArrayList<>();
      List<String> paths = program.variables().stream().filter(p -> p.startsWith("Hours") || p.startsWith("Last") || p.startsWith("Grid")
          || p.startsWith("State") || p.startsWith("Note") || p.equals("T.N") || p.equals("At5")).toList();
      assertThat(paths.size()).isGreaterThan(15);
      paths.forEach(p -> retained.add(text(c, p)));
      c.restartWarm();
      List<String> after = new ArrayList<>();
      paths.forEach(p -> after.add(text(c, p)));
      assertThat(after).as("cut at step %s", k).isEqualTo(retained);
      assertThat(text(c, "Loose")).isEqualTo("0");
      assertThat(text(c, "Pulse")).isEqualTo("FALSE");
      // Another controller that reads what was stored at that step is in the same state and has the same future.
      Controller other = program.newController(micro(ScanPolicy.image(), 10));
      other.load(box);
      for (int scans = 0; scans < 2; scans++) {
        List<String> here = program.variables().stream().map(p -> text(c, p)).toList();
        assertThat(program.variables().stream().map(p -> text(other, p)).toList()).isEqualTo(here);
        c.scan();
        other.scan();
      }
      c.restore(before);
    }
  }

  @Test
  void aChangedProgramTakesWhatStillFitsOrRefuses() throws IOException {
    Controller c = compile("PROGRAM P VAR RETAIN A : INT := 1; B : INT := 2; Gone : STRING := 'x'; R : INT (0..9) := 3; END_VAR",
        "A := 10; B := 20; R := 4; END_PROGRAM").newController(still(ScanPolicy.image(), 10));
    c.scan();
    Box box = new Box();
    c.save(box);
    CompiledProgram changed = compile("PROGRAM P VAR RETAIN New : DINT := 5; b : DINT := 6; a : INT := 7; R : INT (0..8) := 3; END_VAR ; END_PROGRAM");
    Controller next = changed.newController(still(ScanPolicy.image(), 10));
    assertThatThrownBy(() -> next.loadExactly(box)).isInstanceOf(Transfer.Refused.class).hasMessageContaining("names or types differ");
    assertThat(text(next, "a")).as("a refusal changes nothing").isEqualTo("7");
    Transfer t = next.load(box);
    assertThat(t.sameProgram()).isFalse();
    assertThat(t.kept()).extracting(Transfer.Item::toString).containsExactly("P.a : INT = 10 (name and type are unchanged)");
    assertThat(t.initialized()).extracting(Transfer.Item::toString).containsExactly("P.New : DINT = 5 (not in the retained memory)",
        "P.b : DINT = 6 (was INT)", "P.R : INT (0..8):INT(0..8) = 3 (was INT (0..9):INT(0..9))".replace("INT (0..8):INT", typeOf(changed) + ":INT")
            .replace("INT (0..9):INT", typeOf(c.program()) + ":INT"));
    assertThat(t.dropped()).extracting(Transfer.Item::path).containsExactly("P.B", "P.R", "P.Gone");
    assertThat(text(next, "a")).isEqualTo("10");
    assertThat(text(next, "b")).isEqualTo("6");
    // What is stored by the changed program fits itself exactly.
    next.save(box);
    assertThat(changed.newController(still(ScanPolicy.image(), 10)).loadExactly(box).kept()).hasSize(4);
  }

  private static String typeOf(CompiledProgram p) {
    return p.variable("R").typeName();
  }

  @Test
  void nothingStoredIsAColdRestart() throws IOException {
    Controller c = silo();
    c.scan(2);
    Transfer t = c.load(new Box());
    assertThat(t.kept()).isEmpty();
    assertThat(text(c, "Hours")).isEqualTo("0");
  }

  @Test
  void damageIsRefusedWhereverItIs() throws IOException {
    Controller c = compile("PROGRAM P VAR RETAIN n : DINT := 1; s : STRING[9] := 'abc'; END_VAR n := n + 1; END_PROGRAM")
        .newController(still(ScanPolicy.image(), 10));
    c.scan(3);
    Box box = new Box();
    c.save(box);
    byte[] whole = box.content;
    for (int length = 0; length < whole.length; length++) {
      box.content = java.util.Arrays.copyOf(whole, length);
      assertThatThrownBy(() -> c.load(box)).as("cut to %s bytes", length).isInstanceOf(Transfer.Refused.class);
    }
    for (int bit = 0; bit < 8 * whole.length; bit++) {
      byte[] torn = whole.clone();
      torn[bit / 8] ^= (byte) (1 << bit % 8);
      box.content = torn;
      assertThatThrownBy(() -> c.load(box)).as("bit %s turned", bit).isInstanceOf(Transfer.Refused.class);
    }
    assertThat(text(c, "n")).as("refusals change nothing").isEqualTo("4");
    box.content = whole;
    assertThat(c.load(box).kept()).hasSize(2);
  }

  @Test
  void aFileIsReplacedInOneAct(@TempDir Path folder) throws IOException {
    Path file = folder.resolve("silo.retain");
    RetainStore store = RetainStore.file(file);
    assertThat(store.read()).isEmpty();
    Controller c = silo();
    c.scan();
    c.save(store);
    byte[] old = Files.readAllBytes(file);
    // What a crash in the middle of writing leaves: half of the new content beside the old file.
    Files.write(folder.resolve("silo.retain.new"), new byte[] {1, 2, 3});
    assertThat(store.read().orElseThrow()).isEqualTo(old);
    assertThat(silo().load(store).initialized()).isEmpty();
    c.scan();
    c.save(store);
    assertThat(Files.readAllBytes(file)).isNotEqualTo(old);
    try (var names = Files.list(folder)) {
      assertThat(names.map(p -> p.getFileName().toString())).containsExactly("silo.retain");
    }
    assertThatThrownBy(() -> c.save(RetainStore.file(folder.resolve("no/such/folder")))).isInstanceOf(IOException.class);
  }

  @Test
  void aRetainedTimerGoesOnWhereItWas() throws IOException {
    String[] text = {
      "FUNCTION_BLOCK Delay VAR_INPUT Run : BOOL; END_VAR VAR Since : LTIME; END_VAR VAR_OUTPUT Done : BOOL; END_VAR ; END_FUNCTION_BLOCK",
      "PROGRAM P VAR RETAIN n : DINT; END_VAR n := n + 1; END_PROGRAM"};
    Controller c = compile(text).newController(still(ScanPolicy.image(), 10));
    c.scan(4);
    Box box = new Box();
    c.save(box);
    Controller next = compile(text).newController(still(ScanPolicy.image(), 10).withDisplay("panel",
        dev.scanloom.policy.DisplaySampling.asynchronous(ms(7), java.time.Duration.ZERO), dev.scanloom.policy.Painting.fromSample()));
    next.load(box);
    assertThat(next.time()).isEqualTo(c.time());
    next.scan();
    assertThat(next.scanStart()).isGreaterThanOrEqualTo(c.time());
  }

  @Test
  void aProgramInstanceMayBeRetainedAsAWhole() {
    // IEC 61131-3: PROGRAM RETAIN name : type; a variable's own qualifier beats it (from memory).
    Controller c = compile("CONFIGURATION C TASK T1(INTERVAL := T#10ms, PRIORITY := 1);",
        "PROGRAM RETAIN a WITH T1 : Main; PROGRAM b WITH T1 : Main; PROGRAM NON_RETAIN d WITH T1 : Main; END_CONFIGURATION",
        "PROGRAM Main VAR n : INT; END_VAR VAR NON_RETAIN m : INT; END_VAR VAR RETAIN k : INT; END_VAR n := n + 1; m := m + 1; k := k + 1; END_PROGRAM")
        .newController(still(ScanPolicy.image(), 10));
    c.scan(3);
    c.restartWarm();
    assertThat(List.of(text(c, "a.n"), text(c, "a.m"), text(c, "a.k"))).containsExactly("3", "0", "3");
    assertThat(List.of(text(c, "b.n"), text(c, "b.m"), text(c, "b.k"))).containsExactly("0", "0", "3");
    assertThat(List.of(text(c, "d.n"), text(c, "d.m"), text(c, "d.k"))).containsExactly("0", "0", "3");
  }
}
