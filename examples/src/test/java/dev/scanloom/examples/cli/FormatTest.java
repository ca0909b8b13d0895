package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

class FormatTest {
  @TempDir Path folder;

  private static final String CROOKED = "program Main var a:BOOL;(* kept *)end_var // tail\nif a then a:=not a;end_if;end_program";
  private static final String LAID_OUT = """
      PROGRAM Main
      VAR
        a : BOOL; (* kept *)
      END_VAR // tail
        IF a THEN
          a := NOT a;
        END_IF;
      END_PROGRAM
      """;

  @Test
  void printsTheTextLaidOut() {
    String st = Cli.file(folder, "a.st", CROOKED);
    assertThat(Cli.run("format", st)).isEqualTo(new Cli(0, LAID_OUT, ""));
  }

  @Test
  void writesInPlaceAndThenHasNothingToDo() throws IOException {
    String st = Cli.file(folder, "a.st", CROOKED);
    assertThat(Cli.run("format", "--test", st)).isEqualTo(new Cli(1, st + "\n", ""));
    assertThat(Cli.run("format", "--write", st)).isEqualTo(new Cli(0, "", ""));
    assertThat(Files.readString(Path.of(st))).isEqualTo(LAID_OUT);
    assertThat(Cli.run("format", "--test", st)).isEqualTo(new Cli(0, "", ""));
  }

  @Test
  void aTextWithMistakesIsToldAndLeftAlone() throws IOException {
    String wrong = "PROGRAM Main\nVAR a : BOOL; END_VAR\n  IF a THEN a := FALSE;\nEND_PROGRAM\n";
    String st = Cli.file(folder, "w.st", wrong);
    Cli cli = Cli.run("format", "--write", st);
    assertThat(cli.code()).isEqualTo(1);
    assertThat(cli.out()).isEmpty();
    assertThat(cli.err()).contains(":4:1: error: ", "[syntax/unclosed]").endsWith("w.st: left as it is\n");
    assertThat(Files.readString(Path.of(st))).isEqualTo(wrong);
  }

  /** A type from another file is no mistake of grammar. */
  @Test
  void namesAndTypesAreNotLookedAt() {
    String st = Cli.file(folder, "a.st", "PROGRAM Main\nVAR\n  a : Elsewhere;\nEND_VAR\n  a.go();\nEND_PROGRAM\n");
    assertThat(Cli.run("format", "--test", st)).isEqualTo(new Cli(0, "", ""));
  }

  @Test
  void severalFilesNeedToBeWrittenOrTested() {
    String st = Cli.file(folder, "a.st", CROOKED);
    assertThat(Cli.run("format", st, st).code()).isEqualTo(2);
    assertThat(Cli.run("format", "--write", "--test", st).code()).isEqualTo(2);
  }

  /** Every corpus program comes back with every character that is not white space, and once more the same. */
  @Test
  void theCorpusLosesNothing() throws IOException {
    Path cases = Path.of("../conformance-tests/src/test/resources/cases/corpus");
    Pattern drawing = Pattern.compile("(?m)^[ ]*[|+].*$");
    List<Path> all;
    try (Stream<Path> walk = Files.walk(cases)) {
      all = walk.filter(p -> p.toString().endsWith(".st")).sorted().toList();
    }
    assertThat(all).hasSizeGreaterThan(39);
    for (Path p : all) {
      String before = Files.readString(p);
      Cli once = Cli.run("format", p.toString());
      assertThat(once.code()).as("%s: %s", p, once.err()).isZero();
      assertThat(once.out().replaceAll("\\s", "")).as("%s", p).isEqualToIgnoringCase(before.replaceAll("\\s", ""));
      assertThat(drawing.matcher(once.out()).results().map(r -> r.group()).toList()).as("drawings of %s", p)
          .isEqualTo(drawing.matcher(before).results().map(r -> r.group()).toList());
      String st = Cli.file(folder, p.getFileName().toString(), once.out());
      assertThat(Cli.run("format", "--test", st).out()).as("twice: %s", p).isEmpty();
    }
  }

  @Test
  void tokensAndTreeAreShownWithTheirPlaces() {
    String st = Cli.file(folder, "a.st", "PROGRAM Main\n(* c *) VAR a : BOOL; END_VAR\n  a := TRUE;\nEND_PROGRAM\n");
    Cli tokens = Cli.run("show", "tokens", st);
    assertThat(tokens.code()).isZero();
    assertThat(tokens.out().lines().toList()).contains("1:1 PROGRAM PROGRAM").anyMatch(l -> l.startsWith("2:1 ") && l.endsWith("(* c *)"))
        .anyMatch(l -> l.startsWith("3:3 ") && l.endsWith(" a")).anyMatch(l -> l.startsWith("3:8 ") && l.endsWith("TRUE"));
    Cli tree = Cli.run("show", "tree", st);
    assertThat(tree.code()).isZero();
    assertThat(tree.out().lines().toList()).startsWith("declaration").anyMatch(l -> l.strip().equals("statement"))
        .anyMatch(l -> l.strip().startsWith("3:8 ") && l.endsWith("TRUE"));
  }

  @Test
  void tokensOfATextWithMistakes() {
    String st = Cli.file(folder, "w.st", "PROGRAM Main a := ) ; 'open\n");
    assertThat(Cli.run("show", "tokens", st).code()).isZero();
    assertThat(Cli.run("show", "tree", st).code()).isZero();
  }
}
