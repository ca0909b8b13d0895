package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.library.Library;
import java.io.File;
import java.io.IOException;
import java.lang.module.ModuleFinder;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.ServiceLoader;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/** The declarations are complete, documented, indexed and current. */
class DeclarationsTest {
  private static final Set<String> INTRINSICS = Set.of("ADD", "SUB", "MUL", "DIV", "MOD", "EXPT", "AND", "OR", "XOR", "NOT", "EQ", "NE",
      "LT", "LE", "GT", "GE",
      "MOVE", "CONVERT", "TRUNC", "ABS", "SQRT", "SHL", "SHR", "ROL", "ROR", "SEL", "MAX", "MIN", "LIMIT", "MUX", "LEN", "LOWER_BOUND",
      "UPPER_BOUND", "TASK_TIME",
      "ASSERT", "LOCK_TRY", "LOCK_WAIT", "LOCK_GIVE", "PERMIT_TRY", "PERMIT_WAIT", "PERMIT_GIVE");
  private static final String COMMAND = "stale; write anew with " + GenerateReference.COMMAND;

  private final Library library = new StandardLibrary();

  @BeforeAll
  static void update() throws IOException {
    if ("declarations".equals(System.getProperty("update"))) {
      GenerateDeclarations.main(new String[0]);
      GenerateReference.write();
      // The class path still has the former files.
      Assumptions.abort("declarations and reference page are written; run again without -Dupdate");
    }
  }

  @Test
  void referencePageIsCurrent() throws IOException {
    assertThat(Files.readString(GenerateReference.PAGE, StandardCharsets.UTF_8)).as(COMMAND).isEqualTo(GenerateReference.page());
  }

  @Test
  void isFoundAsAServiceOnTheClassPath() {
    assertThat(ServiceLoader.load(Library.class)).hasAtLeastOneElementOfType(StandardLibrary.class);
  }

  /** The same jars and directories as a module layer: there META-INF/services does not count. */
  @Test
  void isFoundAsAServiceOnTheModulePath() throws Exception {
    List<Path> path = new ArrayList<>();
    for (String entry : System.getProperty("surefire.test.class.path", System.getProperty("java.class.path")).split(File.pathSeparator)) {
      Path p = Path.of(entry);
      if (entry.endsWith(".jar") || Files.exists(p.resolve("module-info.class"))) {
        path.add(p);
      }
    }
    ModuleFinder finder = ModuleFinder.of(path.toArray(new Path[0]));
    ModuleLayer boot = ModuleLayer.boot();
    var resolved = boot.configuration().resolve(finder, ModuleFinder.of(), Set.of("dev.scanloom.stdlib"));
    ModuleLayer layer = boot.defineModulesWithOneLoader(resolved, ClassLoader.getPlatformClassLoader());
    Class<?> service = layer.findLoader("dev.scanloom.interpreter").loadClass(Library.class.getName());
    // ServiceLoader asks its caller for `uses`; here the caller is no module, so the providers of the layer are read from the module
    // itself.
    var descriptor = layer.findModule("dev.scanloom.stdlib").orElseThrow().getDescriptor();
    assertThat(descriptor.provides()).anyMatch(p -> p.service().equals(service.getName()) && p.providers()
        .contains(StandardLibrary.class.getName()));
    Object provider = layer.findLoader("dev.scanloom.stdlib").loadClass(StandardLibrary.class.getName()).getConstructor().newInstance();
    assertThat(provider.getClass().getModule().getName()).isEqualTo("dev.scanloom.stdlib");
    Object names = service.getMethod("names").invoke(provider);
    assertThat(names).as("resources are read inside the module").isEqualTo(library.names());
  }

  @Test
  void generatedFilesAreCurrent() throws IOException {
    for (Map.Entry<String, String> file : GenerateDeclarations.files().entrySet()) {
      assertThat(Files.readString(GenerateDeclarations.RESOURCES.resolve(file.getKey()), StandardCharsets.UTF_8)).as("%s: %s",
          file.getKey(), COMMAND)
          .isEqualTo(file.getValue());
    }
  }

  @Test
  void indexIsCurrentAndComplete() throws IOException {
    assertThat(Files.readString(GenerateDeclarations.RESOURCES.resolve("index.txt"), StandardCharsets.UTF_8)).as(COMMAND)
        .isEqualTo(GenerateDeclarations.index());
    assertThat(library.names()).isSorted().doesNotHaveDuplicates().allMatch(n -> library.declaration(n).isPresent());
    // Every header line of every file is in the index: nothing is lost by the scan of lines.
    Set<String> headers = new TreeSet<>();
    try (var files = Files.list(GenerateDeclarations.RESOURCES)) {
      for (Path file : files.filter(p -> p.toString().endsWith(".st")).toList()) {
        Matcher m = Pattern.compile("(?m)^ *(?:FUNCTION|FUNCTION_BLOCK|CLASS|TYPE) +(\\w+)").matcher(Files.readString(file,
            StandardCharsets.UTF_8));
        while (m.find()) {
          headers.add(m.group(1));
        }
      }
    }
    assertThat(library.names()).containsExactlyElementsOf(headers);
  }

  @Test
  void everyDeclarationIsOneBlockAtItsPlaceInTheFile() throws IOException {
    for (String name : library.names()) {
      SourceText text = library.declaration(name).orElseThrow();
      String content = text.text();
      String block = content.stripLeading();
      String file = Files.readString(GenerateDeclarations.RESOURCES.resolve(text.name().substring("stdlib/".length())),
          StandardCharsets.UTF_8);
      assertThat(block).as(name).startsWith("(* ").contains(" " + name);
      assertThat(Pattern.compile("(?m)^(FUNCTION|FUNCTION_BLOCK|CLASS|TYPE) ").matcher(block).results().count()).as(name).isEqualTo(1);
      int line = content.length() - block.length();
      assertThat(file.split("\n", -1)[line]).as("%s: first line of the block", name).isEqualTo(block.substring(0, block.indexOf('\n')));
    }
  }

  @Test
  void everyDeclarationIsDocumented() {
    for (String name : library.names()) {
      Documented d = Documented.of(name, library.declaration(name).orElseThrow());
      assertThat(d.meaning()).as("meaning of %s", name).isNotBlank().endsWith(".");
      assertThat(d.field("Types")).as("types of %s", name).isNotBlank();
      assertThat(d.field("Errors")).as("errors and ENO of %s", name).isNotBlank();
      assertThat(d.field("Source")).as("source of %s", name)
          .matches("(T\\d+\\.\\w+|S\\.[\\w-]+)( \\([\\w ]+\\))?(, (T\\d+\\.\\w+|S\\.[\\w-]+))*");
      assertThat(d.field("Example")).as("example of %s", name).matches(".*; // \\S.*").contains(d.isBlock() ? "fb" : name);
    }
  }

  @Test
  void everyBoundBodyExistsAndEveryBodyIsUsed() {
    Set<String> used = new TreeSet<>();
    Pattern bound = Pattern.compile("(?m)^\\{(intrinsic|native) (\\w+)( extensible)?}$");
    for (String name : library.names()) {
      String text = library.declaration(name).orElseThrow().text();
      assertThat(text.chars().filter(c -> c == '{').count()).as(name).isLessThanOrEqualTo(1);
      Matcher m = bound.matcher(text);
      if (text.indexOf('{') >= 0) {
        assertThat(m.find()).as("pragma of %s", name).isTrue();
        if (m.group(1).equals("native")) {
          assertThat(library.body(m.group(2))).as("body %s of %s", m.group(2), name).isPresent();
          used.add(m.group(2));
        } else {
          assertThat(INTRINSICS).as(name).contains(m.group(2));
        }
      }
    }
    assertThat(Bodies.ALL.keySet()).containsExactlyElementsOf(used);
  }

  @Test
  void unknownNamesHaveNoDeclaration() {
    assertThat(library.declaration("NO_SUCH_FUNCTION")).isEmpty();
    assertThat(library.declaration("max")).as("names are asked for in upper case").isEmpty();
    assertThat(library.body("no_such_body")).isEmpty();
  }

  /** Row numbers of IEC 61131-3:2013 Tables 23 to 25, from memory: first, some middle and last rows of each. */
  @Test
  void conversionsHaveTheirRows() {
    Map<String, String> rows = Map.ofEntries(Map.entry("LREAL_TO_REAL", "T23.1"), Map.entry("LREAL_TO_USINT", "T23.9"),
        Map.entry("REAL_TO_LREAL", "T23.10"),
        Map.entry("LINT_TO_LREAL", "T23.19"), Map.entry("DINT_TO_INT", "T23.31"), Map.entry("SINT_TO_USINT", "T23.54"),
        Map.entry("UDINT_TO_DINT", "T23.67"),
        Map.entry("USINT_TO_UINT", "T23.90"), Map.entry("LWORD_TO_DWORD", "T24.1"), Map.entry("WORD_TO_BYTE", "T24.11"),
        Map.entry("BYTE_TO_CHAR", "T24.17"),
        Map.entry("BOOL_TO_BYTE", "T24.21"), Map.entry("CHAR_TO_BYTE", "T24.22"), Map.entry("WCHAR_TO_LWORD", "T24.28"),
        Map.entry("LWORD_TO_LREAL", "T25.1"),
        Map.entry("LWORD_TO_LINT", "T25.3"), Map.entry("BOOL_TO_USINT", "T25.42"), Map.entry("REAL_TO_DWORD", "T25.44"),
        Map.entry("DINT_TO_WORD", "T25.51"),
        Map.entry("USINT_TO_BYTE", "T25.76"), Map.entry("TOD_TO_LTOD", "T26.12"), Map.entry("CHAR_TO_WCHAR", "T27.8"));
    rows.forEach((name, row) -> assertThat(library.declaration(name).orElseThrow().text()).as(name).containsPattern("Source: "
        + Pattern.quote(row) + "[,\n ]"));
    Set<String> seen = new LinkedHashSet<>();
    for (String name : library.names()) {
      Matcher m = Pattern.compile("T2[3-6]\\.\\d+").matcher(Documented.of(name, library.declaration(name).orElseThrow()).field("Source"));
      if (m.find()) {
        seen.add(m.group());
      }
    }
    for (int row = 1; row <= 90; row++) {
      assertThat(seen).contains("T23." + row);
    }
    for (int row = 1; row <= 28; row++) {
      assertThat(seen).contains("T24." + row);
    }
    for (int row = 1; row <= 76; row++) {
      assertThat(seen).contains("T25." + row);
    }
    for (int row = 1; row <= 12; row++) {
      assertThat(seen).contains("T26." + row);
    }
  }

  @Test
  void namesOfThePlainFormsAreThere() {
    assertThat(library.names()).containsAll(List.of("TON", "TOF", "TP", "CTU", "CTD", "CTUD", "SR", "RS", "R_TRIG", "F_TRIG", "ABS", "SQRT",
        "SEL", "MUX", "MAX", "MIN",
        "LIMIT", "MOVE", "LEN", "CONCAT", "FIND", "TASK_TIME", "ASSERT"));
  }
}
