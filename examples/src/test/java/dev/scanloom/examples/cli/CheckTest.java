package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonParser;
import com.fasterxml.jackson.core.JsonToken;
import java.nio.file.Path;
import java.util.LinkedHashMap;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

class CheckTest {
  @TempDir Path folder;

  private static final String WRONG = "PROGRAM Main\nVAR Level : INT; END_VAR\n  Lewel := 1;\nEND_PROGRAM\n";

  @Test
  void fineProgramsAreQuiet() {
    Cli cli = Cli.run("check", Cli.shipped("dryer-without-network-2.st"));
    assertThat(cli).isEqualTo(new Cli(0, "", ""));
  }

  @Test
  void textShowsTheLineAndTheCarets() {
    String st = Cli.file(folder, "w.st", WRONG);
    Cli cli = Cli.run("check", st);
    assertThat(cli.code()).isEqualTo(1);
    assertThat(cli.out()).isEmpty();
    String[] lines = cli.err().split("\n");
    assertThat(lines[0]).startsWith(st + ":3:3: error: ").endsWith("[name/unknown]");
    assertThat(cli.err()).contains("Level");
    assertThat(lines[1]).isEqualTo("      Lewel := 1;");
    assertThat(lines[2]).isEqualTo("      ^^^^^");
    assertThat(lines[lines.length - 1]).isEqualTo("1 error, 0 warnings");
  }

  /** Read back with Jackson, a JSON reader from outside. */
  @Test
  void jsonLinesReadBack() throws Exception {
    String st = Cli.file(folder, "w\"\u00e4.st", WRONG);
    Cli cli = Cli.run("check", st, "--format", "jsonl");
    assertThat(cli.err()).isEmpty();
    assertThat(cli.out()).hasLineCount(1);
    Map<String, String> fields = new LinkedHashMap<>();
    try (JsonParser p = new JsonFactory().createParser(cli.out())) {
      assertThat(p.nextToken()).isEqualTo(JsonToken.START_OBJECT);
      while (p.nextToken() == JsonToken.FIELD_NAME) {
        String name = p.currentName();
        p.nextToken();
        fields.put(name, p.getText());
        p.skipChildren();
      }
    }
    assertThat(fields).containsEntry("severity", "error").containsEntry("code", "name/unknown").containsEntry("file", st).containsEntry("line", "3")
        .containsEntry("column", "3").containsEntry("endLine", "3").containsEntry("endColumn", "8").containsKey("message");
  }

  @Test
  void aTrapIsAWarningAndNoError() {
    Cli cli = Cli.run("check", Cli.shipped("dryer.st"));
    assertThat(cli.code()).isZero();
    assertThat(cli.err()).contains("dryer.st:16:").contains(": warning: ").contains("[trap/write-input]");
  }

  @Test
  void veryLongLinesAreCutAroundThePlace() {
    String st = Cli.file(folder, "long.st", "PROGRAM Main VAR a : INT; END_VAR " + "a := 1; ".repeat(500) + "bb := 2; END_PROGRAM\n");
    Cli cli = Cli.run("check", st);
    assertThat(cli.code()).isEqualTo(1);
    String[] lines = cli.err().split("\n");
    assertThat(lines[1].length()).isLessThan(200);
    assertThat(lines[1].substring(lines[2].indexOf('^'), lines[2].indexOf('^') + 2)).isEqualTo("bb");
  }
}
