package dev.scanloom.conformance;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.conformance.CaseFile.Announced;
import dev.scanloom.conformance.CaseFile.RowKind;
import java.nio.file.Path;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** The reader of case files, against the format as the module's README states it. */
class CaseReaderTest {

  private static CaseFile read(String text) {
    return CaseReader.parse(Path.of("x.st"), "T46/x", text);
  }

  private static String withHeader(String lines) {
    return "(*--- case\ntitle: t\nfeatures: T46.2a\nsource: s\n" + lines + "---*)\n";
  }

  @Test
  void readsHeaderTimelineAndValues() {
    CaseFile file = read(withHeader("period: T#10ms\nprofile: integerOverflow = FAULT, shortCircuit = true\nfault: fault/x at scan 4, line 7\n") + """
        PROGRAM Main END_PROGRAM
        (*--- timeline
        scan   1   2     3
        in     _   #     .        stimulus
        t.ET   0   10    20       ms
        s      'a b' "c" 'd$'e'   expected
        field lamp _ # #
        display@panel lamp _ # .
        restart . warm .
        ---*)
        (*--- values after scan 2
        x = -1200      // a remark
        s = 'x = y'
        ---*)
        """);
    assertThat(file.features()).containsExactly("T46.2a");
    assertThat(file.profile()).containsEntry("integerOverflow", "FAULT").containsEntry("shortCircuit", "true");
    assertThat(file.fault()).hasToString("Optional[fault/x at scan 4, line 7]");
    assertThat(file.scans()).isEqualTo(4);
    assertThat(file.rows()).extracting(CaseFile.Row::kind).containsExactly(RowKind.STIMULUS, RowKind.MEMORY, RowKind.MEMORY, RowKind.FIELD,
        RowKind.DISPLAY, RowKind.RESTART);
    assertThat(file.rows().get(0).cells()).containsExactly("FALSE", "TRUE", null);
    assertThat(file.rows().get(1).cells()).containsExactly("T#0ms", "T#10ms", "T#20ms");
    assertThat(file.rows().get(2).cells()).containsExactly("'a b'", "\"c\"", "'d$'e'");
    assertThat(file.rows().get(4).display()).isEqualTo("panel");
    assertThat(file.values()).extracting(CaseFile.Value::literal).containsExactly("-1200", "'x = y'");
  }

  @Test
  void readsDiagnosticsAtTheirPlace() {
    CaseFile file = read(withHeader("diagnostic: ladder/gap at 12:13 over 3\n") + """
        x := 5;
        //   ^ type/assignment
        // ^^ name/unknown
        """);
    assertThat(file.diagnostics()).containsExactly(new Announced("type/assignment", 7, 6, 0), new Announced("name/unknown", 7, 4, 2),
        new Announced("ladder/gap", 12, 13, 3));
    assertThat(file.isNegative()).isTrue();
    assertThat(file.scans()).isZero();
  }

  @Test
  void costsAreZeroUnlessSaid() {
    assertThat(read(withHeader("") + "PROGRAM Main END_PROGRAM\n").costs()).isEqualTo("zero");
    assertThat(read(withHeader("costs: standard\n") + "PROGRAM Main END_PROGRAM\n").costs()).isEqualTo("standard");
  }

  @ParameterizedTest
  @CsvSource(delimiter = '!', value = {
      "titel: x ! unknown key 'titel'",
      "title: again ! stands twice",
      "fault: x ! fault: expected",
      "diagnostic: x ! diagnostic: expected",
      "profile: a ! profile: expected",
      "either: x ! either: expected",
      "seed: x ! seed: expected",
      "costs: some ! costs: expected zero or standard",
      "nothing ! expected 'key: value'"})
  void refusesWrongHeaders(String line, String message) {
    assertThatThrownBy(() -> read(withHeader(line + "\n"))).hasMessageContaining(message);
  }

  @ParameterizedTest
  @CsvSource(delimiter = '!', value = {
      "scan 1 2 3;in _ #            ! has 2 cells; expected 3",
      "scan 1 2;in _ # _ stimulus    ! '_' is neither a cell",
      "scan 2 1;in _ #               ! scan numbers must rise",
      "in _ #                        ! the first row of a timeline",
      "scan 0 1;in _ #               ! scans count from 1",
      "scan 1;s 'open                ! a string is not closed"})
  void refusesWrongTimelines(String rows, String message) {
    String text = withHeader("period: T#10ms\n") + "(*--- timeline\n" + rows.replace(';', '\n') + "\n---*)\n";
    assertThatThrownBy(() -> read(text)).hasMessageContaining(message);
  }

  @Test
  void refusesWhatItDoesNotKnow() {
    assertThatThrownBy(() -> read("PROGRAM p END_PROGRAM")).hasMessageContaining("no header");
    assertThatThrownBy(() -> read(withHeader("") + "(*--- time line\n---*)")).hasMessageContaining("unknown section");
    assertThatThrownBy(() -> read(withHeader("") + "x;\n//  ^^^ typeassignment\n")).hasMessageContaining("carets without a code");
    assertThatThrownBy(() -> read(withHeader("") + "(*--- values\nx 5\n---*)")).hasMessageContaining("path = literal");
    assertThatThrownBy(() -> read(withHeader("") + "(*--- timeline\nscan 1\nx 5\n")).hasMessageContaining("not closed");
  }
}
