package dev.scanloom.internal.check;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.TestFactory;

/**
 * Texts with marks: {@code //   ^^^^ code} under a line announces a diagnostic at those columns. What is not announced and what does not
 * come both fail.
 * Cases in a file are separated by lines {@code === title}; a title may end in {@code [deprecations]} or {@code [strict]}.
 */
final class MarkedCasesTest {
  private static final Pattern MARK = Pattern.compile("^\\s*//\\s*(\\^+)\\s+(?:(warning)\\s+)?([a-z0-9-]+/[a-z0-9-]+)\\s*$");

  /** Columns in numbers, for those that the comment itself covers: {@code // @1-3 code}. */
  private static final Pattern NUMBERED = Pattern.compile("^\\s*//\\s*@(\\d+)-(\\d+)\\s+(?:(warning)\\s+)?([a-z0-9-]+/[a-z0-9-]+)\\s*$");

  private record Case(String title, String text) {}

  private static List<Case> cases(String file) {
    List<Case> all = new ArrayList<>();
    String title = null;
    StringBuilder text = new StringBuilder();
    for (String line : TestLibrary.resource("check/" + file).split("\n", -1)) {
      if (line.startsWith("=== ")) {
        if (title != null) {
          all.add(new Case(title, text.toString()));
        }
        title = line.substring(4);
        text = new StringBuilder();
      } else {
        text.append(line).append('\n');
      }
    }
    all.add(new Case(title, text.toString()));
    return all;
  }

  /** Announced diagnostics as {@code line:from-to code}; lines count without the marks. */
  private static TreeSet<String> announced(String text) {
    TreeSet<String> all = new TreeSet<>();
    int line = 0;
    for (String l : text.split("\n", -1)) {
      Matcher m = MARK.matcher(l);
      Matcher n = NUMBERED.matcher(l);
      if (n.matches()) {
        all.add(String.format("%03d:%s-%s %s%s", line, n.group(1), n.group(2), n.group(3) == null ? "" : "warning ", n.group(4)));
      } else if (m.matches()) {
        all.add(String.format("%03d:%d-%d %s%s", line, m.start(1) + 1, m.end(1), m.group(2) == null ? "" : "warning ", m.group(3)));
      } else {
        line++;
      }
    }
    return all;
  }

  /** The text without its marks, which would stand in the way in a drawing. */
  private static String stripped(String text) {
    return text.lines().filter(l -> !MARK.matcher(l).matches() && !NUMBERED.matcher(l).matches()).collect(Collectors.joining("\n"));
  }

  private static TreeSet<String> found(List<Diagnostic> diagnostics) {
    TreeSet<String> all = new TreeSet<>();
    for (Diagnostic d : diagnostics) {
      int from = d.span().column();
      int length = Math.max(1, d.span().end() - d.span().start());
      int to = d.span().source().lineOf(d.span().end()) == d.span().line() ? from + length - 1
          : d.span().source().line(d.span().line()).length();
      all.add(String.format("%03d:%d-%d %s%s", d.span().line(), from, to, d.severity() == Severity.WARNING ? "warning " : "", d.code()));
    }
    return all;
  }

  private static final List<String> FILES = List.of("types.txt", "expressions.txt", "statements.txt", "calls.txt", "ladder.txt",
      "objects.txt", "charts.txt",
      "configurations.txt", "traps.txt");

  @TestFactory
  Stream<DynamicTest> marks() {
    return FILES.stream().flatMap(f -> cases(f).stream().map(c -> DynamicTest.dynamicTest(f + ": " + c.title(), () -> check(c))));
  }

  private static void check(Case c) {
    ImplementerChoices choices = ImplementerChoices.standard().withDeprecations(c.title().contains("[deprecations]"))
        .withStrictInputs(c.title().contains("[strict]")).withRecursion(c.title().contains("[recursion]"));
    Checked checked = Checked.of(stripped(c.text()), choices, Limits.standard(), Optional.empty());
    assertThat(found(checked.diagnostics())).as("%s", checked.diagnostics()).isEqualTo(announced(c.text()));
    assertThat(checked.project().isPresent()).isEqualTo(checked.diagnostics().stream().noneMatch(d -> d.severity() == Severity.ERROR));
  }
}
