package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Variable;
import java.util.ArrayList;
import java.util.List;

/** Variables by the names people type. */
final class Names {
  private Names() {}

  static Variable find(String place, CompiledProgram program, String path) {
    try {
      return program.variable(path);
    } catch (IllegalArgumentException e) {
      throw new UsageError(place + ": " + e.getMessage());
    }
  }

  /** Splits {@code A,B.C,ARR[1,2]} at commas outside brackets. */
  static List<String> split(List<String> lists) {
    return split("--watch", lists);
  }

  static List<String> split(String option, List<String> lists) {
    List<String> all = new ArrayList<>();
    for (String list : lists) {
      int depth = 0;
      int from = 0;
      for (int i = 0; i <= list.length(); i++) {
        char c = i < list.length() ? list.charAt(i) : ',';
        if (c == '[') {
          depth++;
        } else if (c == ']') {
          depth--;
        } else if (c == ',' && (depth <= 0 || i == list.length())) {
          String name = list.substring(from, i).trim();
          if (name.isEmpty()) {
            throw new UsageError(option + ": an empty name in '" + list + "'");
          }
          all.add(name);
          from = i + 1;
        }
      }
    }
    return all;
  }
}
