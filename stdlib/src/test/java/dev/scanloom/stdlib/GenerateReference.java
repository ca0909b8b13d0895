package dev.scanloom.stdlib;

import dev.scanloom.diagnostic.SourceText;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;

/** Writes the reference page from the declarations. {@code DeclarationsTest} fails while the committed page is stale, and says how to
 * write it anew. */
final class GenerateReference {
  static final Path PAGE = Path.of("REFERENCE.md");
  static final String COMMAND = "mvn -B -ntp test -pl interpreter,stdlib -Dtest=DeclarationsTest "
      + "-Dsurefire.failIfNoSpecifiedTests=false -Dupdate=declarations";

  private static final Map<String, String> TITLES = new TreeMap<>(Map.ofEntries(Map.entry("table15-bounds.st",
      "Table 15: bounds of arrays"),
      Map.entry("table22-overloaded.st", "Table 22: overloaded conversions"), Map.entry("table22-truncation-bcd.st",
      "Table 22: truncation and BCD"),
      Map.entry("table23-numeric-conversions.st", "Table 23: conversions of numbers"), Map.entry("table24-bit-conversions.st",
      "Table 24: conversions of bit strings"),
      Map.entry("table25-bit-numeric-conversions.st", "Table 25: conversions between bit strings and numbers"),
      Map.entry("table26-time-conversions.st", "Table 26: conversions of durations, dates and times of day"),
      Map.entry("table27-character-conversions.st", "Table 27: conversions of characters and strings"), Map.entry("table28-numerical.st",
      "Table 28: numerical functions"),
      Map.entry("table29-arithmetic.st", "Table 29: arithmetic functions"), Map.entry("table30-shifts.st",
      "Table 30: shifts of bit strings"),
      Map.entry("table31-bitwise.st", "Table 31: bitwise Boolean functions"), Map.entry("table32-selection.st", "Table 32: selection"),
      Map.entry("table32-typed.st", "Table 32: selection, typed"), Map.entry("table33-comparison.st", "Table 33: comparison"),
      Map.entry("table34-strings.st", "Table 34: character strings"), Map.entry("table35-time-arithmetic.st",
      "Table 35: arithmetic of durations, dates and times of day"),
      Map.entry("table36-dates.st", "Table 36: dates and times of day from parts and into parts"), Map.entry("table37-endianness.st",
      "Table 37: order of bytes"),
      Map.entry("table39-validity.st", "Table 39: validity"), Map.entry("table43-bistables.st", "Table 43: bistables"),
      Map.entry("table44-edges.st", "Table 44: edges"), Map.entry("table45-counters.st", "Table 45: counters"),
      Map.entry("table46-timers.st", "Table 46: timers"),
      Map.entry("table60-action-control.st", "Table 60: action control"), Map.entry("extensions.st",
      "Additions of edition 4, and extensions")));

  private GenerateReference() {}

  static void write() throws IOException {
    Files.writeString(PAGE, page(), StandardCharsets.UTF_8);
  }

  /** The page, from the declaration files in the resource directory. */
  static String page() throws IOException {
    StringBuilder page = new StringBuilder("<!-- Generated from the declarations; do not edit. Write anew with: " + COMMAND
        + " -->\n\n# Standard library\n\n"
        + "Functions and function blocks of IEC 61131-3, by table. Ids such as `T46.2a` name a table and a feature in it. An example's "
            + "comment is the value that\n"
        + "it gives; every example runs in the tests. A function marked `...` takes any number of further inputs. A generic type such "
            + "as ANY_NUM stands\n"
        + "for one type in a call wherever it occurs in the same declaration. Every function has EN and ENO: with EN FALSE nothing is "
            + "executed and ENO is FALSE; an\n"
        + "error listed under *Errors* is a fault, or makes ENO FALSE where ENO is connected.\n");
    List<Path> sources;
    try (var listing = Files.list(GenerateDeclarations.RESOURCES)) {
      sources = listing.filter(p -> p.toString().endsWith(".st")).sorted((a, b) -> order(a).compareTo(order(b))).toList();
    }
    for (Path file : sources) {
      section(page, file);
    }
    return page.toString();
  }

  private static String order(Path file) {
    String name = file.getFileName().toString();
    return name.startsWith("table") ? name : "z" + name;
  }

  private static void section(StringBuilder page, Path file) throws IOException {
    String name = file.getFileName().toString();
    String title = TITLES.get(name);
    if (title == null) {
      throw new IllegalStateException("no title for " + name);
    }
    page.append("\n## ").append(title).append("\n");
    String text = Files.readString(file, StandardCharsets.UTF_8);
    List<Documented> short_ = new ArrayList<>();
    for (DeclarationScan.Block block : DeclarationScan.blocks(text)) {
      String body = text.substring(block.start(), block.end());
      Documented d = Documented.of(block.name(), SourceText.of(name, body));
      if (d.field("Source").contains("T29.1c") || title.contains("onversions") || title.contains("BCD")) {
        short_.add(d);
      } else {
        entry(page, d, body.contains(" extensible}"));
      }
    }
    if (!short_.isEmpty()) {
      page.append("\n| function | meaning | errors | source | example |\n| --- | --- | --- | --- | --- |\n");
      for (Documented d : short_) {
        page.append("| `").append(d.name()).append("` | ").append(d.meaning()).append(" | ").append(d.field("Errors")).append(" | ")
            .append(d.field("Source"))
            .append(" | `").append(d.field("Example")).append("` |\n");
      }
    }
  }

  private static void entry(StringBuilder page, Documented d, boolean extensible) {
    page.append("\n### ").append(d.name()).append("\n\n").append(d.meaning()).append("\n\n");
    if (!d.isBlock()) {
      StringBuilder signature = new StringBuilder(d.name()).append('(');
      String separator = "";
      for (Documented.Pin pin : d.pins()) {
        String arrow = pin.section().equals("VAR_OUTPUT") ? " => " : " : ";
        signature.append(separator).append(pin.name()).append(arrow).append(pin.type());
        separator = ", ";
      }
      signature.append(extensible ? ", ...)" : ")");
      int colon = d.header().indexOf(" : ");
      signature.append(colon < 0 ? "" : d.header().substring(colon));
      page.append("`").append(signature).append("`\n\n");
    }
    for (Documented.Pin pin : d.pins()) {
      page.append("- ").append(pin.section().equals("VAR_OUTPUT") ? "output" : pin.section().equals("VAR_IN_OUT") ? "in-out" : pin.section()
          .equals("VAR PUBLIC")
          ? "variable" : "input").append(" `").append(pin.name()).append(" : ").append(pin.type()).append("`").append(pin.comment()
          .isEmpty() ? "" : ": " + pin.comment())
          .append('\n');
    }
    page.append("- types: ").append(d.field("Types")).append("\n- errors: ").append(d.field("Errors")).append("\n- source: ")
        .append(d.field("Source"))
        .append("\n- example: `").append(d.field("Example")).append("`\n");
  }
}
