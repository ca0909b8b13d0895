package dev.scanloom.report;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import java.util.List;
import org.junit.jupiter.api.Test;

class TablesTest {
  private final Tables table = new Tables("Two rows", List.of("name", "value"), List.of(List.of("Door", "1"), List.of("=1+1", "a,\"b\"\u001b[31m")));

  @Test
  void textIsPaddedAndInert() {
    assertThat(table.text()).isEqualTo("""
        Two rows

        name  value
        ----  ---------------
        Door  1
        =1+1  a,"b"\\u{1b}[31m
        """);
  }

  /** RFC 4180 for quoting; formula cells: OWASP, CSV injection. */
  @Test
  void csvHasNoFormulas() {
    assertThat(table.csv()).isEqualTo("name,value\nDoor,1\n'=1+1,\"a,\"\"b\"\"\\u{1b}[31m\"\n");
    Tables signs = new Tables("", List.of("x"), List.of(List.of("-5"), List.of("-1.5"), List.of("-a"), List.of("+1"), List.of("@x")));
    assertThat(signs.csv()).isEqualTo("x\n-5\n-1.5\n'-a\n'+1\n'@x\n");
  }

  /** RFC 8259. */
  @Test
  void jsonLinesEscape() {
    assertThat(table.jsonLines()).isEqualTo("{\"name\":\"Door\",\"value\":\"1\"}\n{\"name\":\"=1+1\",\"value\":\"a,\\\"b\\\"\\u001b[31m\"}\n");
  }

  @Test
  void refusesRaggedRows() {
    assertThatThrownBy(() -> new Tables("", List.of("a", "b"), List.of(List.of("1")))).hasMessage("a row of 1 cells under a head of 2");
  }
}
