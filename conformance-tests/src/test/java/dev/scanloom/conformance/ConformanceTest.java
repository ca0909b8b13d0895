package dev.scanloom.conformance;

import static org.assertj.core.api.Assertions.assertThat;
import static org.junit.jupiter.api.DynamicContainer.dynamicContainer;
import static org.junit.jupiter.api.DynamicTest.dynamicTest;

import dev.scanloom.conformance.CaseRunner.Result;
import dev.scanloom.conformance.Features.Feature;
import dev.scanloom.conformance.Statement.Outcome;
import java.io.IOException;
import java.io.PrintWriter;
import java.io.StringWriter;
import java.nio.charset.StandardCharsets;
import java.nio.file.FileSystems;
import java.nio.file.Files;
import java.nio.file.Path;
import java.nio.file.PathMatcher;
import java.time.Duration;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.junit.jupiter.api.Assertions;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.DynamicNode;
import org.junit.jupiter.api.TestFactory;

/**
 * Every case file as a test, and behind them the tests of the whole: how many there are, and that the committed compliance statement is the one
 * that this run makes.
 */
class ConformanceTest {

  private static final Path CASES = Path.of("src/test/resources/cases");
  private static final Path COMPLIANCE = Path.of("compliance");

  /** Fewer cases than this mean that some are not found any more. Raise it when cases are added. */
  private static final int FLOOR = 640;

  private final Map<CaseFile, Outcome> outcomes = new LinkedHashMap<>();

  @TestFactory
  Stream<DynamicNode> cases() throws IOException {
    String glob = System.getProperty("case", "");
    Map<String, List<CaseFile>> folders = new LinkedHashMap<>();
    for (CaseFile file : read(glob)) {
      folders.computeIfAbsent(file.folder(), k -> new ArrayList<>()).add(file);
    }
    assertThat(folders).as("no case matches '%s'", glob).isNotEmpty();
    List<DynamicNode> nodes = new ArrayList<>();
    folders.forEach((folder, files) -> nodes.add(dynamicContainer(folder, files.stream().map(this::test))));
    if (glob.isEmpty()) {
      nodes.add(dynamicTest("enough cases ran, a quarter of them negative", this::enoughCases));
      nodes.add(dynamicTest("the compliance statement is that of this run", this::statementIsCurrent));
    }
    return nodes.stream();
  }

  private static List<CaseFile> read(String glob) throws IOException {
    PathMatcher matcher = FileSystems.getDefault().getPathMatcher("glob:" + (glob.isEmpty() ? "**" : glob));
    Map<String, Feature> features = Features.rows();
    List<Path> paths;
    try (Stream<Path> walk = Files.walk(CASES)) {
      paths = walk.filter(path -> path.toString().endsWith(".st")).sorted(Comparator.comparing(ConformanceTest::order)).toList();
    }
    List<CaseFile> files = new ArrayList<>();
    for (Path path : paths) {
      Path relative = CASES.relativize(path);
      String name = relative.toString().replace('\\', '/');
      if (glob.isEmpty() || matcher.matches(Path.of(name.substring(0, name.length() - 3)))) {
        CaseFile file = CaseReader.read(CASES, path);
        for (String id : file.features()) {
          assertThat(features).as("%s: feature %s is not in features.tsv", file.id(), id).containsKey(id);
        }
        files.add(file);
      }
    }
    return files;
  }

  /** Tables in the order of their numbers, then everything else by name. */
  private static String order(Path path) {
    String name = CASES.relativize(path).toString().replace('\\', '/');
    String folder = name.contains("/") ? name.substring(0, name.indexOf('/')) : "";
    return folder.matches("T\\d+") ? String.format(java.util.Locale.ROOT, "A%03d/%s", Integer.parseInt(folder.substring(1)), name) : "B/" + name;
  }

  private DynamicNode test(CaseFile file) {
    String name = file.id().substring(file.folder().length() + 1) + " [" + String.join(", ", file.features()) + "] " + file.title();
    return dynamicTest(name, file.path().toUri(), () -> run(file));
  }

  private void run(CaseFile file) {
    outcomes.put(file, Outcome.FAILED);
    Result result;
    try {
      result = Assertions.assertTimeoutPreemptively(Duration.ofSeconds(30), () -> CaseRunner.run(file));
    } catch (RuntimeException | Error e) {
      if (file.skip().isPresent()) {
        outcomes.put(file, Outcome.SKIPPED);
        Assumptions.abort("known to fail: " + file.skip().get());
      }
      StringWriter trace = new StringWriter();
      e.printStackTrace(new PrintWriter(trace));
      throw new AssertionError(file.path() + "\n  broke with " + trace, e);
    }
    if (System.getProperty("trace") != null) {
      System.out.println(file.id() + "\n" + CaseRunner.trace(file, 0));
    }
    if (file.skip().isPresent()) {
      assertThat(result.passed()).as("%s is listed as failing (%s) but passes: remove its skip", file.id(), file.skip().get()).isFalse();
      outcomes.put(file, Outcome.SKIPPED);
      Assumptions.abort("known to fail: " + file.skip().get());
    }
    if (!result.passed()) {
      String trace = result.failingScan() > 0 ? "\ntrace of scan " + result.failingScan() + ":\n" + CaseRunner.trace(file, result.failingScan()) : "";
      Assertions.fail(file.path() + "\n  " + String.join("\n  ", result.failures()) + trace);
    }
    outcomes.put(file, Outcome.PASSED);
  }

  private void enoughCases() {
    long ran = outcomes.values().stream().filter(outcome -> outcome != Outcome.SKIPPED).count();
    long negative = outcomes.keySet().stream().filter(CaseFile::isNegative).count();
    assertThat(ran).as("cases that ran").isGreaterThanOrEqualTo(FLOOR);
    assertThat(negative * 4).as("at least a quarter of %s cases expects a diagnostic or a fault", outcomes.size())
        .isGreaterThanOrEqualTo(outcomes.size());
  }

  private void statementIsCurrent() throws IOException {
    Statement statement = new Statement(outcomes);
    check(COMPLIANCE.resolve("STATEMENT.md"), statement.markdown());
    check(COMPLIANCE.resolve("STATEMENT.html"), statement.html());
  }

  private static void check(Path path, String text) throws IOException {
    if ("compliance".equals(System.getProperty("update"))) {
      Files.createDirectories(path.getParent());
      Files.writeString(path, text, StandardCharsets.UTF_8);
      return;
    }
    String committed = Files.exists(path) ? Files.readString(path, StandardCharsets.UTF_8) : "";
    if (!committed.equals(text)) {
      List<String> old = committed.lines().toList();
      List<String> now = text.lines().toList();
      int line = 0;
      while (line < old.size() && line < now.size() && old.get(line).equals(now.get(line))) {
        line++;
      }
      Assertions.fail(path + " is stale at line " + (line + 1) + "\n  committed: " + (line < old.size() ? old.get(line) : "(end)") + "\n  this run:  "
          + (line < now.size() ? now.get(line) : "(end)") + "\nrun the tests with -Dupdate=compliance and look at the diff");
    }
  }
}
