package dev.scanloom.conformance;

import java.io.BufferedReader;
import java.io.IOException;
import java.io.InputStream;
import java.io.InputStreamReader;
import java.nio.charset.StandardCharsets;
import java.util.LinkedHashMap;
import java.util.Map;

/** The standard as a checklist: the rows of {@code features.tsv}, and remarks on rows kept beside it. */
final class Features {

  /** One row of the checklist. */
  record Feature(String id, String table, String number, String title, String edition, String confidence) {}

  /** What the project says about a row of its own accord: a limit that makes it {@code partly}, or a plain remark. */
  record Note(boolean limit, String text) {}

  private Features() {}

  /** All rows in the order of the file, by id. */
  static Map<String, Feature> rows() {
    Map<String, Feature> rows = new LinkedHashMap<>();
    read("features.tsv", fields -> {
      Feature feature = new Feature(fields[0], fields[1], fields[2], fields[3], fields[6], fields[7]);
      if (rows.put(feature.id(), feature) != null) {
        throw new IllegalStateException("features.tsv: id " + feature.id() + " stands twice");
      }
    }, 8);
    return rows;
  }

  /** Remarks by id: {@code notes.tsv}. */
  static Map<String, Note> notes() {
    Map<String, Note> notes = new LinkedHashMap<>();
    read("notes.tsv", fields -> {
      if (!fields[1].equals("partly") && !fields[1].equals("note")) {
        throw new IllegalStateException("notes.tsv: " + fields[0] + ": expected partly or note");
      }
      notes.put(fields[0], new Note(fields[1].equals("partly"), fields[2]));
    }, 3);
    return notes;
  }

  /** Rows that we believe wrong, double or not a feature, with the reason: {@code rows-in-question.tsv}. */
  static Map<String, String> inQuestion() {
    Map<String, String> rows = new LinkedHashMap<>();
    read("rows-in-question.tsv", fields -> rows.put(fields[0], fields[1]), 2);
    return rows;
  }

  private interface Line {
    void accept(String[] fields);
  }

  private static void read(String resource, Line line, int columns) {
    try (InputStream in = Features.class.getResourceAsStream(resource);
        BufferedReader reader = new BufferedReader(new InputStreamReader(in, StandardCharsets.UTF_8))) {
      reader.readLine();
      for (String text = reader.readLine(); text != null; text = reader.readLine()) {
        String[] fields = text.split("\t", -1);
        if (fields.length != columns) {
          throw new IllegalStateException(resource + ": expected " + columns + " columns: " + text);
        }
        line.accept(fields);
      }
    } catch (IOException e) {
      throw new IllegalStateException("cannot read " + resource, e);
    }
  }
}
