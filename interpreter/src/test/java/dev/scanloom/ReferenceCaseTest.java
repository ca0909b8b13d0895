package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.model.Element;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.TestFactory;

/** The grain dryer: every cell of the table comes from scan/reference-case.tsv. */
class ReferenceCaseTest {
  private static final String DECLARATIONS = """
      PROGRAM Dryer
      VAR
        Door AT %IX0.0 : BOOL;
        Key AT %IX0.1 : BOOL;
        DoorLamp AT %QX0.0 : BOOL;
        Permit AT %QX0.1 : BOOL;
      END_VAR
      """;
  private static final String NETWORK_1 = """
      |   Door          DoorLamp  |
      +---| |-------------( )-----+
      """;
  private static final String NETWORK_2 = """
      |   Key             Door    |
      +---| |-------------( )-----+
      """;
  private static final String NETWORK_3 = """
      |   Door           Permit   |
      +---| |-------------( )-----+
      """;
  private static final String ST_1 = "DoorLamp := Door;\n";
  private static final String ST_2 = "Door := Key;\n";
  private static final String ST_3 = "Permit := Door;\n";

  private static CompiledProgram program(String body, boolean withNetwork2) {
    boolean ladder = body.equals("ladder");
    String two = !withNetwork2 ? "" : ladder ? NETWORK_2 : ST_2;
    String text = DECLARATIONS + (ladder ? NETWORK_1 : ST_1) + two + (ladder ? NETWORK_3 : ST_3) + "END_PROGRAM\n";
    return Compiler.standard().compile("dryer.st", text).orThrow();
  }

  static List<Map<String, String>> rows() throws IOException {
    List<Map<String, String>> rows = new ArrayList<>();
    try (InputStream in = ReferenceCaseTest.class.getResourceAsStream("/scan/reference-case.tsv")) {
      String[] header = null;
      for (String line : new String(in.readAllBytes(), StandardCharsets.UTF_8).split("\n")) {
        if (line.startsWith("#") || line.isBlank()) {
          continue;
        }
        String[] cells = line.split("\t");
        if (header == null) {
          header = cells;
          continue;
        }
        assertThat(cells).hasSameSizeAs(header);
        Map<String, String> row = new LinkedHashMap<>();
        for (int i = 0; i < header.length; i++) {
          row.put(header[i], cells[i]);
        }
        rows.add(row);
      }
    }
    return rows;
  }

  private static Duration duration(String text) {
    return text.endsWith("ms") ? Duration.ofMillis(Long.parseLong(text.substring(0, text.length() - 2)))
        : Runs.us(Long.parseLong(text.substring(0, text.length() - 2)));
  }

  private static ScanPolicy policy(Map<String, String> row) {
    String in = row.get("inputs");
    InputAcquisition acquisition = in.equals("image") ? InputAcquisition.image()
        : in.equals("immediate") ? InputAcquisition.immediate()
        : InputAcquisition.asynchronous(duration(in.substring("asynchronous:".length())), Duration.ZERO);
    DisplaySampling sampling = row.get("display").equals("scanStart") ? DisplaySampling.scanStart() : DisplaySampling.scanEnd();
    return Runs.micro(ScanPolicy.image()).withInputs(acquisition).withTrigger(ScanTrigger.periodic(duration(row.get("trigger"))))
        .withDisplay("screen", sampling, Painting.fromSample());
  }

  @TestFactory
  Stream<DynamicTest> everyCell() throws IOException {
    return rows().stream().map(row -> DynamicTest.dynamicTest(row.get("body") + ": " + row.get("name"), () -> check(row)));
  }

  private static void check(Map<String, String> row) {
    CompiledProgram program = program(row.get("body"), true);
    Controller c = program.newController(policy(row));
    Variable.Bool door = c.bool("Door");
    List<String> reads = new ArrayList<>();
    List<String> writes = new ArrayList<>();
    c.attach(Runs.on(e -> {
      if (e.address() == door.address() && e.step() >= 0) {
        (e.kind() == EventKind.READ ? reads : writes).add(Long.toString(e.after()));
      }
    }, EventKind.READ, EventKind.WRITE));
    c.field().set(door, true);
    for (int scan = 1; scan <= 4; scan++) {
      reads.clear();
      writes.clear();
      assertThat(c.scan()).isTrue();
      if (scan == 1) {
        continue;
      }
      Map<String, String> found = new LinkedHashMap<>(row);
      found.put("field", bit(c.field().get(door)));
      found.put("read1", reads.get(0));
      found.put("after2", writes.get(0));
      found.put("read3", reads.get(1));
      found.put("doorLamp", bit(c.field().get(c.bool("DoorLamp"))));
      found.put("permitLamp", bit(c.field().get(c.bool("Permit"))));
      found.put("shown", bit(c.display().get(door)));
      if (row.get("body").equals("ladder")) {
        int one = contact(program, 1);
        int three = contact(program, 3);
        found.put("paint1", c.display().painted(one) ? "on" : "off");
        found.put("paint3", c.display().painted(three) ? "on" : "off");
        // What the networks decided is what they read: a normally open contact (Table 75).
        assertThat(bit(c.display().executed(one))).isEqualTo(row.get("read1"));
        assertThat(bit(c.display().executed(three))).isEqualTo(row.get("read3"));
        Controller truth = program.newController(policy(row).withDisplay("screen", DisplaySampling.scanEnd(), Painting.fromExecution()));
        truth.field().set(truth.bool("Door"), true);
        truth.scan(scan);
        assertThat(truth.display().painted(one)).isEqualTo(c.display().executed(one));
        assertThat(truth.display().painted(three)).isEqualTo(c.display().executed(three));
      }
      assertThat(found).as("scan " + scan).isEqualTo(row);
    }
  }

  private static int contact(CompiledProgram program, int network) {
    return program.elements().stream().filter(e -> e.network() == network && e.kind() == Element.Kind.CONTACT).findFirst().orElseThrow().id();
  }

  private static String bit(boolean b) {
    return b ? "1" : "0";
  }

  @TestFactory
  Stream<DynamicTest> withoutNetwork2AllPoliciesAgree() throws IOException {
    return rows().stream().map(row -> DynamicTest.dynamicTest(row.get("body") + ": " + row.get("name"), () -> {
      Controller c = program(row.get("body"), false).newController(policy(row));
      Variable.Bool door = c.bool("Door");
      c.field().set(door, true);
      c.scan(3);
      assertThat(c.field().get(c.bool("DoorLamp"))).isTrue();
      assertThat(c.field().get(c.bool("Permit"))).isTrue();
      assertThat(c.display().get(door)).isTrue();
      for (Element e : c.program().elements()) {
        assertThat(c.display().executed(e.id())).isTrue();
        assertThat(c.display().painted(e.id()) || e.kind() != Element.Kind.CONTACT).isTrue();
      }
    }));
  }

  /** The bit toggles 1, 0, 1, 0 inside the controller while a screen that samples at one point sees a constant. */
  @TestFactory
  Stream<DynamicTest> theBitTogglesWhileTheScreenShowsAConstant() {
    return Stream.of(DisplaySampling.scanStart(), DisplaySampling.scanEnd()).map(sampling -> DynamicTest.dynamicTest(sampling.toString(), () -> {
      Controller c = program("ladder", true).newController(
          Runs.micro(ScanPolicy.image(), 1).withDisplay("screen", sampling, Painting.fromSample()).withCosts(CostModel.standard()));
      Variable.Bool door = c.bool("Door");
      c.field().set(door, true);
      List<Integer> values = new ArrayList<>();
      List<Boolean> shown = new ArrayList<>();
      c.attach(Runs.on(e -> {
        if (e.source() == Event.Source.INPUT_REFRESH || e.address() == door.address()) {
          values.add((int) (e.after() & 1));
        }
      }, EventKind.WRITE));
      for (int i = 0; i < 5; i++) {
        c.scan();
        shown.add(c.display().get(door));
      }
      assertThat(values).containsExactly(1, 0, 1, 0, 1, 0, 1, 0, 1, 0);
      assertThat(shown).containsOnly(shown.get(0));
    }));
  }
}
