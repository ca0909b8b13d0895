package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompileResult;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/**
 * The error conditions that the declarations name: a fault of that code where ENO is not connected, else ENO FALSE. The conditions are
 * those of IEC 61131-3 Tables 22
 * to 39 (from memory); the codes are ours.
 */
class ErrorsTest {
  private static final String VARIABLES = """
      PROGRAM Main
      VAR
        minus : INT := -1; three : INT := 3; big : DINT := 100_000; i : INT; d : DINT; u : UINT; us : USINT; n : ULINT;
        lr : LREAL := -2.0; zero : LREAL := 0.0; lx : LREAL; r : REAL; w : WORD := 16#12A4; y : BYTE; dw : DWORD;
        s : STRING := 'abcde'; t : STRING; e : STRING; ws : WSTRING := "a$0100"; c : CHAR; wc : WCHAR := WCHAR#"$0100"; ch : CHAR;
        uc : UCHAR; date1 : DATE; tod1 : TOD; dt1 : DT; a : ARRAY [1..3, 1..2] OF INT; ti : TIME; b : BOOL;
        ok : BOOL := TRUE;
        done : BOOL;
      END_VAR
      """;

  @ParameterizedTest(name = "{0} {1}")
  @CsvSource(delimiter = '|', quoteCharacter = '`', textBlock = """
      fault/conversion       | i := DINT_TO_INT(@IN := big);
      fault/conversion       | us := INT_TO_USINT(@IN := minus);
      fault/conversion       | i := LREAL_TO_INT(@IN := lr * 1.0E9);
      fault/conversion       | i := LREAL_TRUNC_INT(@IN := lr * 1.0E9);
      fault/conversion       | u := TO_UINT(@IN := minus);
      fault/conversion       | r := LREAL_TO_REAL(@IN := lr * 1.0E300);
      fault/conversion       | t := WSTRING_TO_STRING(@IN := ws);
      fault/conversion       | ch := WCHAR_TO_CHAR(@IN := wc);
      fault/conversion       | ch := TO_CHAR(@IN := i);
      fault/string-position  | ch := STRING_TO_CHAR(@IN := e);
      fault/bcd              | u := WORD_BCD_TO_UINT(@IN := w);
      fault/bcd              | us := BCD_TO_USINT(@IN := WORD#16#0300);
      fault/bcd              | y := UINT_TO_BCD_BYTE(@IN := UINT#100);
      fault/domain           | lx := SQRT(@IN := lr);
      fault/domain           | lx := LN(@IN := zero);
      fault/domain           | lx := LOG(@IN := lr);
      fault/domain           | lx := ASIN(@IN := lr);
      fault/domain           | lx := ACOS_LREAL(@IN := lr);
      fault/overflow         | lx := EXP(@IN := lr * -500.0);
      fault/overflow         | r := EXP_REAL(@IN := REAL#100.0);
      fault/domain           | lx := EXPT(@IN1 := lr, IN2 := 0.5);
      fault/domain           | lx := EXPT(@IN1 := zero, IN2 := minus);
      fault/division-by-zero | i := DIV(@IN1 := three, IN2 := i);
      fault/division-by-zero | i := MOD(@IN1 := three, IN2 := i);
      fault/division-by-zero | ti := DIV_TIME(@IN1 := T#1s, IN2 := i);
      fault/shift-count      | w := SHL(@IN := w, N := minus);
      fault/shift-count      | w := ROR_WORD(@IN := w, N := minus);
      fault/mux-selector     | i := MUX(@K := three, IN0 := 1, IN1 := 2);
      fault/mux-selector     | i := MUX_INT(@K := minus, IN0 := 1, IN1 := 2);
      fault/string-position  | t := LEFT(@IN := s, L := minus);
      fault/string-position  | t := RIGHT(@IN := s, L := 6);
      fault/string-position  | t := MID(@IN := s, L := 2, P := 5);
      fault/string-position  | t := MID(@IN := s, L := 1, P := 0);
      fault/string-position  | t := DELETE(@IN := s, L := 1, P := 6);
      fault/string-position  | t := INSERT(@IN1 := s, IN2 := s, P := 6);
      fault/string-position  | t := REPLACE(@IN1 := s, IN2 := s, L := 3, P := 4);
      fault/date-part        | date1 := CONCAT_DATE(@YEAR := 2023, MONTH := 2, DAY := 29);
      fault/date-part        | tod1 := CONCAT_TOD(@HOUR := 24, MINUTE := 0, SECOND := 0, MILLISECOND := 0);
      fault/date-part        | date1 := CONCAT_DATE(@YEAR := 2024, MONTH := 13, DAY := 1);
      fault/date-part        | date1 := CONCAT_DATE(@YEAR := 1677, MONTH := 1, DAY := 1);""")
  void errorIsAFaultOrClearsEno(String code, String statement) {
    Controller plain = controller(statement.replace("@", ""));
    assertThat(plain.scan()).as("a fault ends the scan").isFalse();
    assertThat(plain.fault().orElseThrow().code()).isEqualTo(code);
    assertThat(plain.fault().orElseThrow().span().line()).as("line of the call").isEqualTo((int) VARIABLES.lines().count() + 1);

    Controller guarded = controller(statement.replace("@", "EN := TRUE, ").replace(");", ", ENO => ok);"));
    assertThat(guarded.scan()).as("%s", guarded.fault()).isTrue();
    assertThat(guarded.memory().get(guarded.bool("Main.ok"))).as("ENO").isFalse();
    assertThat(guarded.memory().get(guarded.bool("Main.done"))).as("the program goes on").isTrue();
  }

  private static Controller controller(String statement) {
    String text = VARIABLES + statement + "\ndone := TRUE;\nEND_PROGRAM\n";
    return Compiler.standard().compile("errors.st", text).orThrow().newController(ScanPolicy.image());
  }

  /** Calls that no row allows are found before anything runs. */
  @ParameterizedTest(name = "{0} {1}")
  @CsvSource(delimiter = '|', quoteCharacter = '`', textBlock = """
      type/conversion | b := TO_BOOL(i);
      type/conversion | w := TO_WORD(lr);
      type/conversion | lx := TO_LREAL(w);
      type/argument   | t := CONCAT(s, ws);
      type/argument   | w := SHL(i, 1);
      type/argument   | i := MAX(i, w);
      type/argument   | t := LEFT(i, 1);
      type/argument   | b := IS_VALID(s);
      call/argument-count | i := SUB(i, i, i);
      call/argument-count | b := NE(i, i, i);""")
  void isRejected(String code, String statement) {
    CompileResult result = Compiler.standard().compile("errors.st", VARIABLES + statement + "\nEND_PROGRAM\n");
    List<Diagnostic> errors = result.diagnostics().stream().filter(d -> d.severity() == Severity.ERROR).toList();
    assertThat(errors).as("%s", errors).hasSize(1);
    assertThat(errors.get(0).code()).as("%s", errors).isEqualTo(code);
  }
}
