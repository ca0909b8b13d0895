package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import de.siegmar.fastcsv.reader.CsvReader;
import de.siegmar.fastcsv.reader.NamedCsvRecord;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.report.EventLog;
import java.io.IOException;
import java.io.StringWriter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Traces read back by Jackson and fastcsv, which know nothing of this project; values by hand from the programs. */
class TraceFileTest {
  @TempDir Path folder;

  private static final String PROGRAM = """
      PROGRAM Main
      VAR in AT %IX0.0 : BOOL; w AT %IW1 : INT; out AT %QX0.0 : BOOL; n : INT := -1; t : TIME; s, s2 : STRING[20] := 'a'; END_VAR
        out := in; n := n + 1; t := t + T#1ms;
        s := CONCAT(s, 'it$'s, "$0A<&>'); s2 := s;
      END_PROGRAM
      """;

  private static List<Map<String, Object>> json(String lines) throws IOException {
    List<Map<String, Object>> all = new ArrayList<>();
    for (String line : lines.split("\n")) {
      Map<String, Object> row = new LinkedHashMap<>();
      try (JsonParser p = new JsonFactory().createParser(line)) {
        assertThat(p.nextToken()).isEqualTo(JsonToken.START_OBJECT);
        while (p.nextToken() != JsonToken.END_OBJECT) {
          String name = p.currentName();
          switch (p.nextToken()) {
            case VALUE_STRING -> row.put(name, p.getText());
            case VALUE_NUMBER_INT -> row.put(name, p.getLongValue());
            case VALUE_TRUE, VALUE_FALSE -> row.put(name, p.getBooleanValue());
            default -> throw new AssertionError(name + " is " + p.currentToken());
          }
        }
        assertThat(p.nextToken()).isNull();
      }
      all.add(row);
    }
    return all;
  }

  private static List<Map<String, String>> csv(String text) throws IOException {
    List<Map<String, String>> all = new ArrayList<>();
    try (CsvReader<NamedCsvRecord> reader = CsvReader.builder().ofNamedCsvRecord(text)) {
      reader.forEach(r -> {
        Map<String, String> row = new LinkedHashMap<>(r.getFieldsAsMap());
        row.values().removeIf(String::isEmpty);
        all.add(row);
      });
    }
    return all;
  }

  private String trace(String name, String... more) throws IOException {
    String st = Cli.file(folder, "p.st", PROGRAM);
    String in = Cli.file(folder, "p.csv", "scan,in,w\n2,TRUE,-2\n");
    Path to = folder.resolve(name);
    List<String> arguments = new ArrayList<>(List.of("run", st, "--inputs", in, "--scans", "2", "--trace", to.toString()));
    arguments.addAll(List.of(more));
    Cli cli = Cli.run(arguments.toArray(String[]::new));
    assertThat(cli.err()).isEmpty();
    assertThat(cli.code()).isZero();
    return Files.readString(to);
  }

  private static List<String> of(List<Map<String, Object>> rows, String kind, String variable) {
    return rows.stream().filter(r -> r.get("kind").equals(kind) && variable.equals(r.get("variable")))
        .map(r -> r.get("scan") + " " + r.getOrDefault("source", "-") + " " + r.getOrDefault("before", "-") + " " + r.get("after")).toList();
  }

  @Test
  void jsonLinesAreReadBack() throws IOException {
    List<Map<String, Object>> rows = json(trace("t.jsonl"));
    assertThat(of(rows, "WRITE", "n")).containsExactly("1 INSTRUCTION -1 0", "2 INSTRUCTION 0 1");
    assertThat(of(rows, "READ", "n")).containsExactly("1 - - -1", "2 - - 0");
    assertThat(of(rows, "WRITE", "t")).containsExactly("1 INSTRUCTION T#0s T#1ms", "2 INSTRUCTION T#1ms T#2ms");
    assertThat(of(rows, "FIELD", "in")).hasSize(1).allMatch(s -> s.endsWith("EXTERNAL_WRITE FALSE TRUE"));
    assertThat(of(rows, "FIELD", "out")).containsExactly("2 INSTRUCTION FALSE TRUE");
    // a signed word out of a refresh of more bits
    assertThat(of(rows, "WRITE", "w")).last().isEqualTo("2 INPUT_REFRESH 0 -2");
    assertThat(of(rows, "WRITE", "in")).last().isEqualTo("2 INPUT_REFRESH FALSE TRUE");
    assertThat(of(rows, "WRITE", "s")).first().asString().startsWith("1 INSTRUCTION 'a' 'ait$'s, \"$").endsWith("<&>'");
    String first = of(rows, "WRITE", "s").get(0);
    String whole = first.substring(first.indexOf("'ait"));
    assertThat(of(rows, "WRITE", "s2")).first().isEqualTo("1 INSTRUCTION 'a' " + whole);
    assertThat(of(rows, "READ", "s")).element(1).isEqualTo("1 - - " + whole);
    Map<String, Object> write = rows.stream().filter(r -> r.get("kind").equals("WRITE") && "n".equals(r.get("variable"))).findFirst().orElseThrow();
    assertThat(write).containsEntry("place", "memory").containsEntry("type", "INT").containsEntry("body", "Main").containsEntry("line", 3L)
        .containsEntry("scan", 1L).containsKeys("step", "ordinal", "time_ns", "notation");
    assertThat(rows.stream().filter(r -> r.get("kind").equals("PHASE")).map(r -> r.get("phase")).limit(2).toList()).containsExactly("INPUT_REFRESH", "PROGRAM");
  }

  /** What Jackson writes of what it read is read the same again: every line is JSON of one meaning. */
  @Test
  void jsonLinesGoThroughJacksonAndBack() throws IOException {
    List<Map<String, Object>> rows = json(trace("t.jsonl"));
    StringWriter again = new StringWriter();
    for (Map<String, Object> r : rows) {
      try (JsonGenerator g = new JsonFactory().createGenerator(again).disable(JsonGenerator.Feature.AUTO_CLOSE_TARGET)) {
        g.writeStartObject();
        for (Map.Entry<String, Object> e : r.entrySet()) {
          if (e.getValue() instanceof Long n) {
            g.writeNumberField(e.getKey(), n);
          } else if (e.getValue() instanceof Boolean b) {
            g.writeBooleanField(e.getKey(), b);
          } else {
            g.writeStringField(e.getKey(), (String) e.getValue());
          }
        }
        g.writeEndObject();
      }
      again.append('\n');
    }
    assertThat(json(again.toString())).isEqualTo(rows);
  }

  @Test
  void csvSaysTheSameAsJson() throws IOException {
    List<Map<String, Object>> rows = json(trace("t.jsonl"));
    List<Map<String, String>> cells = csv(trace("t.csv"));
    assertThat(cells).hasSameSizeAs(rows);
    for (int i = 0; i < rows.size(); i++) {
      Map<String, String> expected = new LinkedHashMap<>();
      rows.get(i).forEach((k, v) -> expected.put(k, String.valueOf(v)));
      // what a spreadsheet would take for a formula is led by an apostrophe
      cells.get(i).replaceAll((k, v) -> v.startsWith("'=") || v.startsWith("'+") || v.startsWith("'@") ? v.substring(1) : v);
      assertThat(cells.get(i)).isEqualTo(expected);
    }
    assertThat(trace("t.csv").lines().findFirst().orElseThrow()).isEqualTo(String.join(",", EventLog.COLUMNS));
  }

  /** As many rows of each kind as events that an independent observer counted; refreshes of several variables give more. */
  @Test
  void everyEventIsThere() throws IOException {
    List<Map<String, Object>> rows = json(trace("t.jsonl"));
    Controller c = Compiler.standard().compile("p.st", PROGRAM).orThrow().newController(ScanPolicy.image().withDisplays(List.of())
        .withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero()));
    Trace t = Trace.whole();
    c.attach(t);
    c.scan();
    c.field().set(c.bool("in"), true);
    c.field().set(c.integer("w"), -2);
    c.scan();
    for (EventKind k : List.of(EventKind.SCAN_START, EventKind.SCAN_END, EventKind.PHASE, EventKind.STEP, EventKind.READ, EventKind.TASK)) {
      long events = 0;
      for (int i = 0; i < t.size(); i++) {
        events += t.get(i).kind() == k ? 1 : 0;
      }
      assertThat(rows.stream().filter(r -> r.get("kind").equals(k.name())).count()).as(k.name()).isEqualTo(events);
    }
  }

  @Test
  void someKindsOrSomeVariables() throws IOException {
    assertThat(json(trace("t.jsonl", "--trace-kinds", "write,scan-end"))).extracting(r -> r.get("kind")).containsOnly("WRITE", "SCAN_END");
    assertThat(json(trace("t.jsonl", "--trace-only", "n,in"))).extracting(r -> r.get("variable")).containsOnly("n", "in");
    List<Map<String, Object>> both = json(trace("t.jsonl", "--trace-only", "s", "--trace-kinds", "write"));
    assertThat(both).hasSize(2).allMatch(r -> r.get("variable").equals("s") && r.get("kind").equals("WRITE"));
    String st = Cli.file(folder, "q.st", PROGRAM);
    assertThat(Cli.run("run", st, "--scans", "1", "--trace", "x.txt").err()).contains("expected a name that ends with .jsonl or .csv");
    assertThat(Cli.run("run", st, "--scans", "1", "--trace-kinds", "write").err()).contains("--trace FILE is missing");
    String jsonl = folder.resolve("x.jsonl").toString();
    assertThat(Cli.run("run", st, "--scans", "1", "--trace", jsonl, "--trace-kinds", "wirte").err()).contains("'wirte' is no kind of event", "scan-start");
    assertThat(Cli.run("run", st, "--scans", "1", "--trace", jsonl, "--trace-only", "nn").err()).contains("no variable has the path 'nn'");
    assertThat(Cli.run("run", st, "--scans", "1", "--trace", folder.toString() + "/no/x.csv").err()).contains("cannot be written");
  }

  /** Names, comments and values that would act in a terminal, a page or a spreadsheet come out inert. */
  @Test
  void nothingActs() throws IOException {
    Controller c = Compiler.standard().compile("<b>\u202e.st", "PROGRAM P VAR s : STRING[30] := '$1B[31m</script>=1'; END_VAR s := s; END_PROGRAM").orThrow()
        .newController(ScanPolicy.image());
    for (EventLog.Form form : EventLog.Form.values()) {
      StringBuilder out = new StringBuilder();
      try (EventLog log = EventLog.to(out, form, c)) {
        c.scan();
        assertThat(log.rows()).isPositive();
      }
      assertThat(out.chars().filter(x -> x < 32 && x != '\n' || x == 0x202e).count()).isZero();
    }
  }

  /** The target fails: the run goes on, the error is told. */
  @Test
  void aFullDiskIsToldNotThrown() {
    Controller c = Compiler.standard().compile("p.st", PROGRAM).orThrow().newController(ScanPolicy.image());
    Appendable full = new StringBuilderThatFails();
    EventLog log = EventLog.to(full, EventLog.Form.CSV, c, Set.of(EventKind.SCAN_END), List.of());
    assertThat(c.scan(3)).isEqualTo(3);
    log.close();
    assertThat(log.failure()).isPresent();
  }

  private static final class StringBuilderThatFails implements Appendable {
    @Override
    public Appendable append(CharSequence s) throws IOException {
      throw new IOException("full");
    }

    @Override
    public Appendable append(CharSequence s, int from, int to) throws IOException {
      throw new IOException("full");
    }

    @Override
    public Appendable append(char c) throws IOException {
      throw new IOException("full");
    }
  }

  /** 20,000 scans more need no more memory: rows go out as they come. */
  @Test
  void aLongRunDoesNotGrow() {
    Controller c = Compiler.standard().compile("p.st", "PROGRAM P VAR n : INT; a : ARRAY [0..9] OF INT; END_VAR n := (n + 1) MOD 10; a[n] := a[n] + 1; END_PROGRAM")
        .orThrow().newController(ScanPolicy.image());
    EventLog log = EventLog.to(new Nowhere(), EventLog.Form.JSON_LINES, c, EnumSet.allOf(EventKind.class), List.of());
    c.scan(2_000);
    long used = used();
    c.scan(20_000);
    assertThat(log.rows()).isGreaterThan(22_000L * 10);
    assertThat(used() - used).isLessThan(4_000_000);
    log.close();
  }

  private static long used() {
    System.gc();
    return Runtime.getRuntime().totalMemory() - Runtime.getRuntime().freeMemory();
  }

  private static final class Nowhere implements Appendable {
    @Override
    public Appendable append(CharSequence s) {
      return this;
    }

    @Override
    public Appendable append(CharSequence s, int from, int to) {
      return this;
    }

    @Override
    public Appendable append(char c) {
      return this;
    }
  }
}
