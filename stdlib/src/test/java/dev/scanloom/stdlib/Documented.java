package dev.scanloom.stdlib;

import dev.scanloom.diagnostic.SourceText;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * The documentation comment of a declaration, taken apart.
 *
 * @param header the line that names it
 * @param meaning what stands in front of the fields, one line
 * @param fields Types, Errors, Source, Example
 * @param pins declarations of inputs, outputs and in-outs: section, name, type, comment
 */
record Documented(String name, String header, String meaning, Map<String, String> fields, List<Pin> pins) {
  record Pin(String section, String name, String type, String comment) {}

  static Documented of(String name, SourceText source) {
    String text = source.text().strip();
    int end = text.indexOf(" *)\n");
    if (!text.startsWith("(* ") || end < 0) {
      throw new AssertionError(name + " does not begin with a comment that ends a line");
    }
    StringBuilder meaning = new StringBuilder();
    Map<String, StringBuilder> fields = new LinkedHashMap<>();
    StringBuilder current = meaning;
    for (String line : text.substring(3, end).split("\n")) {
      String stripped = line.strip();
      for (String field : List.of("Types", "Errors", "Source", "Example")) {
        if (stripped.startsWith(field + ":")) {
          current = new StringBuilder();
          if (fields.put(field, current) != null) {
            throw new AssertionError(name + " has two fields " + field);
          }
          stripped = stripped.substring(field.length() + 1).strip();
        }
      }
      current.append(current.length() == 0 ? "" : " ").append(stripped);
    }
    Map<String, String> texts = new LinkedHashMap<>();
    fields.forEach((field, content) -> texts.put(field, content.toString()));
    List<Pin> pins = new ArrayList<>();
    String section = "";
    String[] lines = text.substring(end + 4).split("\n");
    for (String line : lines) {
      if (line.startsWith("METHOD")) {
        break;
      }
      if (line.startsWith("VAR")) {
        section = line;
      } else if (line.equals("END_VAR")) {
        section = "";
      } else if (section.equals("VAR_INPUT") || section.equals("VAR_OUTPUT") || section.equals("VAR_IN_OUT")
          || section.equals("VAR PUBLIC")) {
        int colon = line.indexOf(" : ");
        int semicolon = line.indexOf(';');
        int comment = line.indexOf("// ");
        pins.add(new Pin(section, line.substring(0, colon).strip(), line.substring(colon + 3, semicolon), comment < 0 ? ""
            : line.substring(comment + 3)));
      }
    }
    return new Documented(name, lines[0], meaning.toString(), texts, pins);
  }

  String field(String field) {
    return fields.getOrDefault(field, "");
  }

  boolean isBlock() {
    return !header.startsWith("FUNCTION ");
  }
}
