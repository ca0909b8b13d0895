package dev.scanloom.report;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import org.junit.jupiter.api.Test;

class RecordingsTest {
  private static final String TEXT = """
      PROGRAM Mill
      VAR Gate AT %IX0.0 : BOOL; Belt AT %QX0.0 : BOOL; n : INT; END_VAR
      |   Gate      Belt    Gate    |
      +---| |-------|/|-----( )-----+
      |   Gate              Belt    |
      +---|/|---------------( )-----+
      END_PROGRAM
      """;

  private static Recordings record(int scans) {
    CompiledProgram p = Compiler.standard().compile("mill.st", TEXT).orThrow();
    Recordings all = new Recordings(p);
    Controller c = p.newController(ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.standard())
        .withDisplay("screen", DisplaySampling.scanStart(), Painting.fromSample()));
    Recordings.Run run = all.record("image <&>", c);
    c.field().set(c.bool("Gate"), true);
    c.scan(scans);
    run.close();
    return all;
  }

  @Test
  void recordingKeepsWhatTheProgramDid() {
    Recordings all = record(2);
    Recordings.Run run = all.runs().get(0);
    assertThat(run.scans()).isEqualTo(2);
    assertThat(all.variables()).containsExactly("Gate", "Belt", "n");
    StringBuilder b = new StringBuilder();
    run.log.visit(1, (kind, time, x, y, z, value) -> b.append(kind).append(' '));
    // a refresh that changes nothing, program: two elements and a coil, an element and a coil, delivery, housekeeping; samples in between
    assertThat(b.toString()).startsWith("0 5 ").contains(" 0 1 3 1 3 ").endsWith("0 0 ");
    StringBuilder first = new StringBuilder();
    run.log.visit(0, (kind, time, x, y, z, value) -> first.append(kind).append(' '));
    // the terminal moves, and the refresh of the first scan stores it
    assertThat(first.toString()).startsWith("4 0 2 5 ");
    assertThat(all.differences(2)).isEmpty();
    assertThatThrownBy(() -> all.record("x", Compiler.standard().compile("b.st", TEXT).orThrow().newController(ScanPolicy.image())))
        .hasMessage("a controller of another program");
  }
}
