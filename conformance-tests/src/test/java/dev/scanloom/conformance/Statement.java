package dev.scanloom.conformance;

import dev.scanloom.conformance.Features.Feature;
import dev.scanloom.conformance.Features.Note;
import dev.scanloom.policy.ImplementerChoices;
import java.lang.reflect.RecordComponent;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/**
 * The compliance statement: every row of the checklist with what the cases of one run proved about it. A row is supported when a case that
 * names it passed and none that names it failed or is skipped; a row without a passing case is not supported.
 */
final class Statement {

  /** What became of a case in this run. */
  enum Outcome { PASSED, FAILED, SKIPPED }

  private enum Support {
    YES("yes"), PARTLY("partly"), NO("no");

    private final String word;

    Support(String word) {
      this.word = word;
    }
  }

  private record Row(Feature feature, Support support, String note, List<String> cases) {}

  private static final String COMMAND = "mvn -B -ntp test -pl conformance-tests -am -Dupdate=compliance";

  private final Map<String, List<Row>> tables = new LinkedHashMap<>();
  private final Map<String, String> inQuestion = Features.inQuestion();
  private int cases;
  private int negative;

  /** From what this run's cases did. */
  Statement(Map<CaseFile, Outcome> outcomes) {
    Map<String, List<String>> passed = new LinkedHashMap<>();
    Map<String, List<String>> open = new LinkedHashMap<>();
    outcomes.forEach((file, outcome) -> {
      for (String id : file.features()) {
        (outcome == Outcome.PASSED ? passed : open).computeIfAbsent(id, k -> new ArrayList<>()).add(file.id());
      }
      if (outcome == Outcome.PASSED) {
        cases++;
        negative += file.isNegative() ? 1 : 0;
      }
    });
    Map<String, Note> notes = Features.notes();
    for (Feature feature : Features.rows().values()) {
      List<String> good = passed.getOrDefault(feature.id(), List.of());
      List<String> bad = open.getOrDefault(feature.id(), List.of());
      Note note = notes.get(feature.id());
      Support support = good.isEmpty() ? Support.NO : !bad.isEmpty() || note != null && note.limit() ? Support.PARTLY : Support.YES;
      List<String> words = new ArrayList<>();
      if (!feature.confidence().equals("sure")) {
        words.add("from memory");
      }
      if (note != null) {
        words.add(note.text());
      }
      if (!bad.isEmpty()) {
        words.add("open: " + String.join(", ", bad));
      }
      if (inQuestion.containsKey(feature.id())) {
        words.add("row in question, see below");
      }
      tables.computeIfAbsent(feature.table(), k -> new ArrayList<>())
          .add(new Row(feature, support, String.join("; ", words), good));
    }
  }

  private static long count(List<Row> rows, Support support) {
    return rows.stream().filter(row -> row.support() == support).count();
  }

  private List<Row> all() {
    return tables.values().stream().flatMap(List::stream).toList();
  }

  private static String name(String table) {
    return table.equals("S") ? "Rules outside the tables" : "Table " + table;
  }

  private static String percent(List<Row> rows) {
    return rows.isEmpty() ? "" : String.format(Locale.ROOT, "%.1f %%", 100.0 * (rows.size() - count(rows, Support.NO)) / rows.size());
  }

  private static List<String[]> choices() {
    List<String[]> result = new ArrayList<>();
    ImplementerChoices choices = ImplementerChoices.standard();
    for (RecordComponent component : ImplementerChoices.class.getRecordComponents()) {
      String alternatives = "";
      if (component.getType().isEnum()) {
        List<String> names = new ArrayList<>();
        for (Object constant : component.getType().getEnumConstants()) {
          names.add(((Enum<?>) constant).name());
        }
        alternatives = String.join(", ", names);
      } else if (component.getType() == boolean.class) {
        alternatives = "true, false";
      } else {
        alternatives = "any number in its range";
      }
      try {
        result.add(new String[] {component.getName(), String.valueOf(component.getAccessor().invoke(choices)), alternatives});
      } catch (ReflectiveOperationException e) {
        throw new IllegalStateException("cannot read " + component.getName(), e);
      }
    }
    return result;
  }

  private List<String[]> totals() {
    List<String[]> result = new ArrayList<>();
    List<Row> all = all();
    Map<String, List<Row>> editions = new LinkedHashMap<>();
    for (Row row : all) {
      editions.computeIfAbsent(row.feature().edition(), k -> new ArrayList<>()).add(row);
    }
    editions.forEach((edition, rows) -> result.add(total("edition " + edition, rows)));
    tables.forEach((table, rows) -> result.add(total(name(table), rows)));
    result.add(total("all", all));
    return result;
  }

  private static String[] total(String what, List<Row> rows) {
    return new String[] {what, String.valueOf(rows.size()), String.valueOf(count(rows, Support.YES)),
        String.valueOf(count(rows, Support.PARTLY)), String.valueOf(count(rows, Support.NO)), percent(rows)};
  }

  /** As Markdown. */
  String markdown() {
    StringBuilder out = new StringBuilder();
    out.append("<!-- generated by: ").append(COMMAND).append(" -->\n");
    out.append("# Compliance statement: IEC 61131-3, editions 3 (2013) and 4 (2025)\n\n");
    out.append(intro()).append("\n\n## Totals\n\n");
    table(out, List.of("rows", "number", "yes", "partly", "no", "yes or partly"), totals());
    out.append("\n## Implementer-specific choices\n\nThe defaults; each can be chosen for every program.\n\n");
    table(out, List.of("choice", "default", "alternatives"), choices());
    out.append("\n## Features\n");
    tables.forEach((table, rows) -> {
      out.append("\n### ").append(name(table)).append("\n\n");
      List<String[]> lines = new ArrayList<>();
      for (Row row : rows) {
        lines.add(new String[] {row.feature().id(), row.feature().title(), row.support().word, row.note(), cases(row)});
      }
      table(out, List.of("feature", "title", "supported", "note", "cases"), lines);
    });
    out.append("\n## Rows of the checklist in question\n\n");
    table(out, List.of("feature", "reason"), inQuestion.entrySet().stream().map(e -> new String[] {e.getKey(), e.getValue()}).toList());
    return out.toString();
  }

  private static String cases(Row row) {
    int shown = 4;
    List<String> cases = row.cases();
    return cases.size() <= shown ? String.join(", ", cases) : String.join(", ", cases.subList(0, shown)) + " and " + (cases.size() - shown) + " more";
  }

  private String intro() {
    return "Made from the " + cases + " conformance cases that passed in the build, " + negative + " of which expect a diagnostic or a fault. A row "
        + "without a passing case is not supported. The rows were written down from memory of the published standard; `from memory` marks those whose "
        + "number or exact form is uncertain. Results of the library are for study, not for commissioning or safety functions.";
  }

  private static void table(StringBuilder out, List<String> heads, List<String[]> rows) {
    out.append("| ").append(String.join(" | ", heads)).append(" |\n|").append(" --- |".repeat(heads.size())).append('\n');
    for (String[] row : rows) {
      out.append('|');
      for (String cell : row) {
        out.append(' ').append(cell.replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*").replace("_", "\\_")).append(" |");
      }
      out.append('\n');
    }
  }

  /** As one HTML page without links to anywhere. */
  String html() {
    StringBuilder out = new StringBuilder();
    out.append("<!DOCTYPE html>\n<!-- generated by: ").append(COMMAND).append(" -->\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.append("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Compliance statement</title>\n<style>\n");
    out.append(":root { color-scheme: light dark; }\nbody { font: 15px/1.45 system-ui, sans-serif; margin: 2rem auto; max-width: 75rem; padding: 0 1rem; }\n");
    out.append("table { border-collapse: collapse; width: 100%; margin: 0.5rem 0 2rem; }\nth, td { border: 1px solid #8888; padding: 0.25rem 0.5rem; ");
    out.append("text-align: left; vertical-align: top; }\ntd.yes { font-weight: 600; }\ntd.no { font-style: italic; }\nnav { columns: 12rem; }\n</style>\n</head>\n<body>\n");
    out.append("<h1>Compliance statement: IEC 61131-3, editions 3 (2013) and 4 (2025)</h1>\n<p>").append(escape(intro())).append("</p>\n<nav>\n");
    tables.keySet().forEach(table -> out.append("<a href=\"#t").append(table).append("\">").append(name(table)).append("</a><br>\n"));
    out.append("</nav>\n<h2>Totals</h2>\n");
    htmlTable(out, List.of("rows", "number", "yes", "partly", "no", "yes or partly"), totals());
    out.append("<h2>Implementer-specific choices</h2>\n<p>The defaults; each can be chosen for every program.</p>\n");
    htmlTable(out, List.of("choice", "default", "alternatives"), choices());
    tables.forEach((table, rows) -> {
      out.append("<h2 id=\"t").append(table).append("\">").append(name(table)).append("</h2>\n");
      List<String[]> lines = new ArrayList<>();
      for (Row row : rows) {
        lines.add(new String[] {row.feature().id(), row.feature().title(), row.support().word, row.note(), cases(row)});
      }
      htmlTable(out, List.of("feature", "title", "supported", "note", "cases"), lines);
    });
    out.append("<h2>Rows of the checklist in question</h2>\n");
    htmlTable(out, List.of("feature", "reason"), inQuestion.entrySet().stream().map(e -> new String[] {e.getKey(), e.getValue()}).toList());
    out.append("</body>\n</html>\n");
    return out.toString();
  }

  private static void htmlTable(StringBuilder out, List<String> heads, List<String[]> rows) {
    out.append("<table>\n<thead><tr>");
    heads.forEach(head -> out.append("<th scope=\"col\">").append(escape(head)).append("</th>"));
    out.append("</tr></thead>\n<tbody>\n");
    for (String[] row : rows) {
      out.append("<tr>");
      for (String cell : row) {
        String mark = cell.equals("yes") || cell.equals("no") || cell.equals("partly") ? " class=\"" + cell + "\"" : "";
        out.append("<td").append(mark).append('>').append(escape(cell)).append("</td>");
      }
      out.append("</tr>\n");
    }
    out.append("</tbody>\n</table>\n");
  }

  private static String escape(String text) {
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace("\"", "&quot;");
  }
}
