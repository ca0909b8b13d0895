package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

class CompareTest {
  @TempDir Path folder;

  private static List<Map<String, String>> table(String csv) {
    List<Map<String, String>> rows = new ArrayList<>();
    try (var reader = de.siegmar.fastcsv.reader.CsvReader.builder().ofNamedCsvRecord(csv)) {
      reader.forEach(r -> rows.add(new LinkedHashMap<>(r.getFieldsAsMap())));
    } catch (java.io.IOException e) {
      throw new java.io.UncheckedIOException(e);
    }
    return rows;
  }

  private static Map<String, String> row(List<Map<String, String>> rows, String begin, String end) {
    return rows.stream().filter(r -> r.get("policy; display").startsWith(begin) && r.get("policy; display").endsWith(end)).findFirst().orElseThrow();
  }

  /** Every cell of scan-model.md section 5, worked out there by hand. */
  @Test
  void tableOfTheReferenceCase() {
    Cli cli = Cli.run("compare", Cli.shipped("dryer.st"), "--inputs", Cli.shipped("inputs.csv"), "--scans", "6", "--format", "csv");
    assertThat(cli.err()).isEmpty();
    assertThat(cli.code()).isZero();
    List<Map<String, String>> rows = table(cli.out());
    String[] columns = {"field Door", "memory Door in the scan", "net 1 contact Door", "net 3 contact Door", "DoorLamp", "Permit", "painted: net 1 contact Door",
        "painted: net 3 contact Door", "shown Door"};
    String[][] expected = {
        {"image", "scan start", "1", "0 1 0", "1", "0", "1", "0", "1", "1!", "1"},
        {"image", "scan end", "1", "0 1 0", "1", "0", "1", "0", "0!", "0", "0"},
        {"immediate inputs", "scan end", "1", "1 0 1", "1", "1", "1", "1", "1", "1", "1"}};
    for (String[] e : expected) {
      Map<String, String> row = row(rows, e[0], e[1]);
      for (int i = 0; i < columns.length; i++) {
        assertThat(row.get(columns[i])).as(e[0] + ", " + e[1] + ": " + columns[i]).isEqualTo(e[i + 2]);
      }
    }
    // asynchronous: the permit depends on whether the refresh falls between networks 2 and 3; both happen
    assertThat(row(rows, "asynchronous inputs, refresh between network 2 and network 3", "scan end").get("Permit")).isEqualTo("1");
    List<String> others = rows.stream().filter(r -> r.get("policy; display").startsWith("asynchronous") && !r.get("policy; display").contains("network 2 and network 3"))
        .map(r -> r.get("Permit")).toList();
    assertThat(others).isNotEmpty().containsOnly("0");
  }

  @Test
  void withoutNetworkTwoEverythingAgrees() {
    Cli cli = Cli.run("compare", Cli.shipped("dryer-without-network-2.st"), "--inputs", Cli.shipped("inputs.csv"), "--scans", "6");
    assertThat(cli.code()).isZero();
    assertThat(cli.out()).contains("Within every policy field, memory and displays agree").contains("No differences at the end of scan 6.").contains("1 outcome.");
  }

  @Test
  void namesTheSeparatingStepAndTheReasons() throws Exception {
    String html = folder.resolve("page.html").toString();
    Cli cli = Cli.run("compare", Cli.shipped("dryer.st"), "--inputs", Cli.shipped("inputs.csv"), "--scans", "6", "--html", html);
    assertThat(cli.code()).isZero();
    assertThat(cli.out())
        .contains("net 3 contact Door is painted 1 by the display at scan start, but was executed as 0")
        .contains("net 1 contact Door is painted 0 by the display at scan end, but was executed as 1")
        .contains("dryer.st:17:24: network 2, coil %IX0.0, writes Door := 0")
        .contains("Permit is 1, but 0 under image")
        .endsWith("Page to step through: " + html + "\n");
    assertThat(Files.size(Path.of(html))).isLessThan(400_000);
  }

  /** By hand: n is 2, 1, then 0: the third scan divides by zero. */
  @Test
  void aFaultIsToldAndTheScansBeforeItAreCompared() {
    String st = Cli.file(folder, "f.st", "PROGRAM P\nVAR a AT %IX0.0 : BOOL; n : INT := 3; q : INT; END_VAR\n  n := n - 1; q := 10 / n;\nEND_PROGRAM\n");
    Cli cli = Cli.run("compare", st, "--scans", "4");
    assertThat(cli.code()).isEqualTo(3);
    assertThat(cli.out()).startsWith("Scan 2, at its end.");
    assertThat(cli.err()).contains(st + ":3:").contains(": fault: ").contains("(scan 3, image)");
    Cli at = Cli.run("compare", st, "--scans", "4", "--at", "3");
    assertThat(at.code()).isEqualTo(3);
    assertThat(at.out()).isEmpty();
  }

  /** Under preemption Fast sees the valve that Slow holds open for more than 10 ms; with a process image for each task it does not. */
  @Test
  void tasksWithProcessImagesOfTheirOwnAreComparedWhenThatDiffers() {
    String st = Cli.file(folder, "silo.st", """
        CONFIGURATION Silo
          VAR_GLOBAL Gate AT %IX0.0 : BOOL; Valve AT %QX0.0 : BOOL; Seen : BOOL; Runs : DINT; END_VAR
          TASK Fast(INTERVAL := T#10ms, PRIORITY := 1);
          TASK Slow(INTERVAL := T#1s, PRIORITY := 5);
          PROGRAM f WITH Fast : FastProgram;
          PROGRAM s WITH Slow : SlowProgram;
        END_CONFIGURATION
        PROGRAM FastProgram
        VAR_EXTERNAL Valve, Seen : BOOL; Runs : DINT; END_VAR
          Runs := Runs + 1; Seen := Seen OR Valve;
        END_PROGRAM
        PROGRAM SlowProgram
        VAR_EXTERNAL Valve : BOOL; END_VAR
        VAR i : DINT; END_VAR
          Valve := TRUE; FOR i := 1 TO 30000 DO ; END_FOR; Valve := FALSE;
        END_PROGRAM
        """);
    Cli cli = Cli.run("compare", st, "--scans", "2", "--period", "100ms", "--format", "csv");
    assertThat(cli.code()).isZero();
    String table = cli.out();
    assertThat(table).contains("tasks preempted by those of higher priority, each with its own process image");
    String simple = Cli.run("compare", Cli.file(folder, "calm.st", """
        CONFIGURATION Silo
          VAR_GLOBAL Gate AT %IX0.0 : BOOL; Valve AT %QX0.0 : BOOL; Seen : BOOL; Runs : DINT; END_VAR
          TASK Fast(INTERVAL := T#10ms, PRIORITY := 1);
          TASK Slow(INTERVAL := T#1s, PRIORITY := 5);
          PROGRAM f WITH Fast : FastProgram;
          PROGRAM s WITH Slow : SlowProgram;
        END_CONFIGURATION
        PROGRAM FastProgram
        VAR_EXTERNAL Gate, Seen : BOOL; Runs : DINT; END_VAR
          Runs := Runs + 1; Seen := Seen OR Gate;
        END_PROGRAM
        PROGRAM SlowProgram
        VAR_EXTERNAL Valve : BOOL; END_VAR
        VAR i : DINT; END_VAR
          Valve := TRUE; FOR i := 1 TO 30000 DO ; END_FOR; Valve := FALSE;
        END_PROGRAM
        """), "--scans", "2", "--period", "100ms", "--format", "csv").out();
    assertThat(simple).contains("preempted").doesNotContain("own process image");
  }

  @Test
  void whyWalksBackToTheField() {
    Cli cli = Cli.run("why", Cli.shipped("dryer.st"), "Permit", "--inputs", Cli.shipped("inputs.csv"), "--scan", "3");
    assertThat(cli.err()).isEmpty();
    assertThat(cli.code()).isZero();
    // the coil of network 2 is the culprit, and the key, which nobody touched, is why it wrote 0
    assertThat(cli.out()).startsWith("Permit is FALSE").contains("dryer.st:21:24").contains("network 2").contains("dryer.st:17:24").contains("Key");
    Cli immediate = Cli.run("why", Cli.shipped("dryer.st"), "Permit", "--inputs", Cli.shipped("inputs.csv"), "--scan", "3", "--policy", "immediate");
    assertThat(immediate.out()).startsWith("Permit is TRUE").contains("the terminal of Door was set to 1");
    Cli field = Cli.run("why", Cli.shipped("dryer.st"), "DoorLamp", "--inputs", Cli.shipped("inputs.csv"), "--scan", "1", "--place", "field");
    assertThat(field.out()).startsWith("the terminal of DoorLamp is TRUE");
  }

  @Test
  void whyRefusesWhatCannotBe() {
    String[][] cases = {
        {"expected the variable to explain behind the files", "why", Cli.shipped("dryer.st"), "--scan", "1"},
        {"--scan: 0; expected 1 or more", "why", Cli.shipped("dryer.st"), "Permit", "--scan", "0"},
        {"--place: 'none'", "why", Cli.shipped("dryer.st"), "Permit", "--scan", "1", "--place", "none"}};
    for (String[] c : cases) {
      Cli cli = Cli.run(java.util.Arrays.copyOfRange(c, 1, c.length));
      assertThat(cli.code()).isEqualTo(2);
      if (!c[0].startsWith("--place")) {
        assertThat(cli.err()).isEqualTo("scanloom: " + c[0] + "\n");
      }
    }
    Cli unknown = Cli.run("why", Cli.shipped("dryer.st"), "Permitt", "--scan", "1");
    assertThat(unknown.code()).isEqualTo(2);
    assertThat(unknown.err()).isEqualTo("scanloom: why: no variable has the path 'Permitt'; nearest: Permit\n");
  }

  @Test
  void showsModelAndSteps() {
    Cli model = Cli.run("show", "model", Cli.shipped("dryer.st"));
    assertThat(model.code()).isZero();
    assertThat(model.out()).contains("  Door : BOOL  at %IX0.0\n").contains("    coil %IX0.0  " + Cli.shipped("dryer.st") + ":17:24\n");
    Cli steps = Cli.run("show", "steps", Cli.shipped("dryer.st"));
    assertThat(steps.code()).isZero();
    assertThat(steps.out()).contains("dryer.st:13:5");
  }

  @Test
  void refusesWhatCannotBe() {
    String[][] cases = {
        {"--at: 7; expected 1 to 6", "--scans", "6", "--at", "7"},
        {"--scans: 1000000; compare keeps every step of every run, expected at most 20000", "--scans", "1000000"},
        {"--display: 'now' is no display; expected scan-start, scan-end or asynchronous:PERIOD[:PHASE[:CHUNK]]", "--scans", "1", "--display", "now"},
        {folder + ": a directory; expected the name of a file to write", "--scans", "1", "--html", folder.toString()}};
    for (String[] c : cases) {
      List<String> all = new ArrayList<>(List.of("compare", Cli.shipped("dryer.st")));
      all.addAll(List.of(c).subList(1, c.length));
      Cli cli = Cli.run(all.toArray(String[]::new));
      assertThat(cli.err()).isEqualTo("scanloom: " + c[0] + "\n");
      assertThat(cli.code()).isEqualTo(2);
    }
  }

  /** 1,000 scans of 50 networks stay below 3 MB, although a counter moves in every scan. */
  @Test
  void aLongRunStaysSmall() throws Exception {
    StringBuilder st = new StringBuilder("PROGRAM Main\nVAR\n  Tick : BOOL; T1 : TON; C1 : CTU; Made : INT;\n");
    for (int i = 1; i <= 48; i++) {
      st.append("  A").append(i).append(" AT %IX").append(i / 8).append('.').append(i % 8).append(" : BOOL; Y").append(i).append(" AT %QX").append(i / 8).append('.').append(i % 8)
          .append(" : BOOL;\n");
    }
    st.append("END_VAR\n");
    for (int i = 1; i <= 48; i++) {
      st.append(String.format(java.util.Locale.ROOT, "|   A%-3d       Tick         Y%-3d  |\n", i, i));
      st.append("+---| |----+----|/|---------( )---+\n");
      st.append(String.format(java.util.Locale.ROOT, "|   Y%-3d   |                      |\n", i));
      st.append("+---| |----+                      |\n");
    }
    st.append("""
        |  Tick                     Tick  |
        +--|/|-----------------------( )--+
        |               C1                |
        |            +-------+            |
        |    Tick    |  CTU  |    Y48     |
        +----| |-----|CU    Q|----( )-----+
        |      32000-|PV   CV|-Made       |
        |            +-------+            |
        END_PROGRAM
        """);
    String program = Cli.file(folder, "fifty.st", st.toString());
    StringBuilder csv = new StringBuilder("scan");
    for (int i = 1; i <= 48; i++) {
      csv.append(",A").append(i);
    }
    for (int s = 1; s <= 1000; s += 7) {
      csv.append('\n').append(s);
      for (int i = 1; i <= 48; i++) {
        csv.append(',').append((s * 31 + i * 17) % 5 < 2 ? "TRUE" : "FALSE");
      }
    }
    String inputs = Cli.file(folder, "in.csv", csv.append('\n').toString());
    String html = folder.resolve("page.html").toString();
    if (Boolean.getBoolean("keep")) {
      Cli.file(Path.of("/tmp/cliwork"), "fifty.st", st.toString());
      Cli.file(Path.of("/tmp/cliwork"), "fifty.csv", csv.toString());
    }
    Cli cli = Cli.run("compare", program, "--inputs", inputs, "--scans", "1000", "--html", html);
    assertThat(cli.err()).isEmpty();
    assertThat(cli.code()).isZero();
    assertThat(Files.size(Path.of(html))).isLessThan(3_000_000);
  }
}
