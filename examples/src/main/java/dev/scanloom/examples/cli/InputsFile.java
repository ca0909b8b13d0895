package dev.scanloom.examples.cli;

import de.siegmar.fastcsv.reader.CsvParseException;
import de.siegmar.fastcsv.reader.CsvReader;
import de.siegmar.fastcsv.reader.CsvRecord;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.Iterator;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * The stimulus: CSV with the header {@code scan,Name1,Name2}. The row for scan n applies before the input refresh of scan n: it sets the terminal of a
 * variable at %I, and is an external write for any other variable. An empty cell leaves a variable as it is. Checked whole before the first scan.
 */
final class InputsFile {
  /** One setting, its literal read once however often it stands in the file. {@code bits} is not used for strings. */
  private record Setting(String literal, long bits) {}

  private record Row(long scan, Setting[] values) {}

  private final List<Variable> variables = new ArrayList<>();
  private final List<Map<String, Setting>> literals = new ArrayList<>();
  private final List<Row> rows = new ArrayList<>();

  private InputsFile() {}

  static InputsFile none() {
    return new InputsFile();
  }

  static InputsFile read(String name, CompiledProgram program) {
    return parse(name, TextFiles.text(name, "CSV with the header scan,Name1,Name2"), program);
  }

  static InputsFile parse(String name, String text, CompiledProgram program) {
    InputsFile file = new InputsFile();
    int open = openQuote(text);
    if (open > 0) {
      throw new UsageError(name + ":" + open + ": a quoted cell begins on this line and never ends");
    }
    Map<String, Integer> seen = new LinkedHashMap<>();
    long line = 1;
    try (CsvReader<CsvRecord> reader = CsvReader.builder().detectBomHeader(false).skipEmptyLines(true).allowExtraFields(true).allowMissingFields(true)
        .allowExtraCharsAfterClosingQuote(false).maxBufferSize(16 << 20).ofCsvRecord(text.startsWith("\uFEFF") ? text.substring(1) : text)) {
      Iterator<CsvRecord> records = reader.iterator();
      boolean header = true;
      long last = 0;
      while (records.hasNext()) {
        CsvRecord r = records.next();
        line = r.getStartingLineNumber();
        if (r.getFieldCount() == 1 && r.getField(0).isBlank()) {
          continue;
        }
        if (header) {
          file.header(name, line, r, seen, program);
          header = false;
        } else {
          last = file.row(name, line, r, last);
        }
      }
      if (header) {
        throw new UsageError(name + ":1: no header; expected scan,Name1,Name2");
      }
    } catch (CsvParseException e) {
      throw new UsageError(name + ":" + (line + 1) + ": malformed CSV; expected cells separated by commas, a quoted cell followed by a comma or the line's end");
    } catch (java.io.IOException e) {
      throw new UsageError(name + ": cannot be read");
    }
    return file;
  }

  /** Line on which a quoted cell begins that is never closed, or 0: the reader would take the rest of the file for one cell. */
  private static int openQuote(String text) {
    int line = 1;
    int opened = 0;
    boolean cellStart = true;
    for (int i = 0; i < text.length(); i++) {
      char c = text.charAt(i);
      if (c == '\n' || c == '\r' && !(i + 1 < text.length() && text.charAt(i + 1) == '\n')) {
        line++;
      }
      if (opened > 0) {
        if (c == '"') {
          if (i + 1 < text.length() && text.charAt(i + 1) == '"') {
            i++;
          } else {
            opened = 0;
          }
        }
        cellStart = false;
      } else if (c == '"' && cellStart) {
        opened = line;
      } else {
        cellStart = c == ',' || c == '\n' || c == '\r';
      }
    }
    return opened;
  }

  private void header(String name, long line, CsvRecord r, Map<String, Integer> seen, CompiledProgram program) {
    if (!r.getField(0).trim().equals("scan")) {
      throw new UsageError(name + ":" + line + ": the header begins with '" + r.getField(0).trim() + "'; expected scan,Name1,Name2");
    }
    for (int i = 1; i < r.getFieldCount(); i++) {
      String path = r.getField(i).trim();
      if (path.isEmpty()) {
        throw new UsageError(name + ":" + line + ": column " + (i + 1) + " of the header has no name");
      }
      Variable v = Names.find(name + ":" + line, program, path);
      if (v.isReadOnly() && v.area() != 'I') {
        throw new UsageError(name + ":" + line + ": the access path " + path + " to " + v.path() + " is READ_ONLY; an external write needs one that is READ_WRITE");
      }
      Integer before = seen.putIfAbsent(v.path(), i + 1);
      if (before != null) {
        throw new UsageError(name + ":" + line + ": " + v.path() + " stands in columns " + before + " and " + (i + 1));
      }
      variables.add(v);
      literals.add(new LinkedHashMap<>());
    }
  }

  private long row(String name, long line, CsvRecord r, long last) {
    String first = r.getField(0).trim();
    long scan;
    try {
      scan = Long.parseLong(first);
    } catch (NumberFormatException e) {
      throw new UsageError(name + ":" + line + ": '" + first + "' is no scan number; expected 1 or more");
    }
    if (scan < 1) {
      throw new UsageError(name + ":" + line + ": scan " + scan + "; scans count from 1");
    }
    if (scan <= last) {
      throw new UsageError(name + ":" + line + ": scan " + scan + " stands after scan " + last + "; expected rows in rising order, one per scan");
    }
    if (r.getFieldCount() != variables.size() + 1) {
      throw new UsageError(name + ":" + line + ": " + cells(r.getFieldCount()) + ", the header has " + (variables.size() + 1));
    }
    Setting[] values = new Setting[variables.size()];
    for (int i = 0; i < values.length; i++) {
      String literal = r.getField(i + 1).trim();
      if (literal.isEmpty()) {
        continue;
      }
      Variable v = variables.get(i);
      values[i] = literals.get(i).get(literal);
      if (values[i] == null) {
        try {
          if (v instanceof Variable.Text) {
            v.check(literal);
          }
          values[i] = new Setting(literal, v instanceof Variable.Text ? 0 : v.parse(literal));
        } catch (IllegalArgumentException e) {
          throw new UsageError(name + ":" + line + ": " + v.path() + ": " + e.getMessage());
        }
        literals.get(i).put(literal, values[i]);
      }
    }
    rows.add(new Row(scan, values));
    return scan;
  }

  private static String cells(int n) {
    return n == 1 ? "1 cell" : n + " cells";
  }

  /** Stands before the next scan; tells the controller what the rows up to it say. */
  final class Feed {
    private final Controller controller;
    private int next;

    private Feed(Controller controller) {
      this.controller = controller;
    }

    private void set(Variable v, Setting s) {
      InputsFile.set(v.area() == 'I' ? controller.field() : controller.memory(), v, s);
    }

    void before(long scan) {
      while (next < rows.size() && rows.get(next).scan <= scan) {
        Setting[] values = rows.get(next).values;
        for (int i = 0; i < values.length; i++) {
          if (values[i] != null) {
            set(variables.get(i), values[i]);
          }
        }
        next++;
      }
    }
  }

  private static void set(Place place, Variable v, Setting s) {
    if (v instanceof Variable.Bool b) {
      place.set(b, s.bits != 0);
    } else if (v instanceof Variable.Integer n) {
      place.set(n, s.bits);
    } else if (v instanceof Variable.Real r) {
      place.set(r, r.type() == ElementaryType.REAL ? Float.intBitsToFloat((int) s.bits) : Double.longBitsToDouble(s.bits));
    } else {
      place.setText(v, s.literal);
    }
  }

  Feed feed(Controller controller) {
    return new Feed(controller);
  }
}
