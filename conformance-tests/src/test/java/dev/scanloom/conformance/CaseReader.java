package dev.scanloom.conformance;

import dev.scanloom.conformance.CaseFile.Announced;
import dev.scanloom.conformance.CaseFile.AnnouncedFault;
import dev.scanloom.conformance.CaseFile.Either;
import dev.scanloom.conformance.CaseFile.Row;
import dev.scanloom.conformance.CaseFile.RowKind;
import dev.scanloom.conformance.CaseFile.Value;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * Reads case files; the format is described in the module's README. What it does not know is an error that names file and line: a
 * misspelt key must not switch an expectation off.
 */
final class CaseReader {

  /** A case file that breaks the format. */
  static final class CaseFormatException extends RuntimeException {
    private static final long serialVersionUID = 1L;

    CaseFormatException(String id, int line, String message) {
      super(id + ".st:" + line + ": " + message);
    }
  }

  private static final Set<String> KEYS = new TreeSet<>(List.of("title", "features", "source", "period", "policy", "costs", "display", "profile", "seed",
      "executors", "either", "skip", "program", "fault", "diagnostic"));
  private static final Set<String> REPEATABLE = new TreeSet<>(List.of("display", "either", "diagnostic"));
  private static final Set<String> UNITS = new TreeSet<>(List.of("ns", "us", "ms", "s"));

  private static final Pattern KEY = Pattern.compile("([a-z]+):\\s*(.*)");
  private static final Pattern CARETS = Pattern.compile("\\s*//\\s*(\\^+)\\s+([a-z-]+/[a-z0-9-]+)\\s*(.*)");
  private static final Pattern FAULT = Pattern.compile("([a-z-]+/[a-z0-9-]+) at scan (\\d+), line (\\d+)");
  private static final Pattern DIAGNOSTIC = Pattern.compile("([a-z-]+/[a-z0-9-]+) at (\\d+):(\\d+)(?: over (\\d+))?");
  private static final Pattern CHOICE = Pattern.compile("\\s*([a-zA-Z]+)\\s*=\\s*([A-Za-z_0-9]+)\\s*");
  private static final Pattern EITHER = Pattern.compile("(\\S+)\\s*=\\s*(.+?)\\s+at scan (\\d+)");
  private static final Pattern VALUES = Pattern.compile("\\(\\*---\\s*values(?:\\s+after scan (\\d+))?\\s*");

  private final Path path;
  private final String id;
  private final String text;
  private final List<String> lines;
  private final Map<String, String> header = new LinkedHashMap<>();
  private final Map<String, List<String>> repeated = new LinkedHashMap<>();
  private final List<Announced> diagnostics = new ArrayList<>();
  private final List<Row> rows = new ArrayList<>();
  private final List<Value> values = new ArrayList<>();
  private int timelineScans;

  private CaseReader(Path path, String id, String text) {
    this.path = path;
    this.id = id;
    this.text = text;
    this.lines = text.lines().toList();
  }

  /** Reads one file below a root folder. */
  static CaseFile read(Path root, Path file) throws IOException {
    String relative = root.relativize(file).toString().replace('\\', '/');
    return parse(file, relative.substring(0, relative.length() - ".st".length()), Files.readString(file, StandardCharsets.UTF_8));
  }

  /** Reads a text, for tests of the reader itself. */
  static CaseFile parse(Path path, String id, String text) {
    return new CaseReader(path, id, text).read();
  }

  private CaseFile read() {
    boolean sawHeader = false;
    int at = 0;
    int lastCodeLine = 0;
    while (at < lines.size()) {
      String line = lines.get(at);
      String trimmed = line.strip();
      if (trimmed.equals("(*--- case")) {
        if (sawHeader) {
          throw bad(at, "a second header");
        }
        sawHeader = true;
        at = readHeader(at + 1);
      } else if (trimmed.equals("(*--- timeline")) {
        at = readTimeline(at + 1);
      } else if (trimmed.startsWith("(*---")) {
        Matcher matcher = VALUES.matcher(trimmed);
        if (!matcher.matches()) {
          throw bad(at, "unknown section '" + trimmed + "'; expected case, timeline, or values");
        }
        at = readValues(at + 1, matcher.group(1) == null ? 1 : Integer.parseInt(matcher.group(1)));
      } else {
        Matcher carets = CARETS.matcher(line);
        if (carets.matches()) {
          if (!carets.group(3).isEmpty()) {
            throw bad(at, "text behind the announced code: '" + carets.group(3) + "'");
          }
          if (lastCodeLine == 0) {
            throw bad(at, "carets without a line above them");
          }
          int column = line.codePointCount(0, carets.start(1)) + 1;
          int count = carets.group(1).length();
          diagnostics.add(new Announced(carets.group(2), lastCodeLine, column, count == 1 ? 0 : count));
        } else {
          if (trimmed.startsWith("//") && trimmed.contains("^^")) {
            throw bad(at, "carets without a code such as type/assignment");
          }
          lastCodeLine = at + 1;
        }
        at++;
      }
    }
    if (!sawHeader) {
      throw bad(0, "no header: expected a line '(*--- case'");
    }
    return build();
  }

  private int readHeader(int start) {
    String key = null;
    for (int i = start; i < lines.size(); i++) {
      String line = lines.get(i);
      if (line.strip().equals("---*)")) {
        return i + 1;
      }
      if (line.isBlank()) {
        continue;
      }
      if (line.contains("(*") || line.contains("*)")) {
        throw bad(i, "a comment mark inside the header");
      }
      Matcher matcher = KEY.matcher(line);
      if (Character.isWhitespace(line.charAt(0))) {
        if (key == null) {
          throw bad(i, "a continuation line without a key above it");
        }
        append(key, line.strip());
      } else if (matcher.matches()) {
        key = matcher.group(1);
        if (!KEYS.contains(key)) {
          throw bad(i, "unknown key '" + key + "'; keys: " + String.join(", ", KEYS));
        }
        if (REPEATABLE.contains(key)) {
          repeated.computeIfAbsent(key, k -> new ArrayList<>()).add(matcher.group(2).strip());
        } else if (header.put(key, matcher.group(2).strip()) != null) {
          throw bad(i, "key '" + key + "' stands twice");
        }
      } else {
        throw bad(i, "expected 'key: value'");
      }
    }
    throw bad(start - 1, "the header is not closed by ---*)");
  }

  private void append(String key, String more) {
    if (REPEATABLE.contains(key)) {
      List<String> list = repeated.get(key);
      list.set(list.size() - 1, (list.get(list.size() - 1) + " " + more).strip());
    } else {
      header.merge(key, more, (a, b) -> (a + " " + b).strip());
    }
  }

  private int readTimeline(int start) {
    List<Integer> scans = null;
    for (int i = start; i < lines.size(); i++) {
      String line = lines.get(i);
      if (line.strip().equals("---*)")) {
        if (scans == null) {
          throw bad(i, "a timeline without a row 'scan 1 2 3'");
        }
        return i + 1;
      }
      if (line.isBlank()) {
        continue;
      }
      List<String> words = words(line, i);
      if (scans == null) {
        if (!words.get(0).equals("scan")) {
          throw bad(i, "the first row of a timeline is 'scan 1 2 3'");
        }
        scans = new ArrayList<>();
        for (String word : words.subList(1, words.size())) {
          int scan = number(word, i);
          if (scan != (scans.isEmpty() ? scan : scans.get(scans.size() - 1)) && scan < scans.get(scans.size() - 1)) {
            throw bad(i, "scan numbers must rise");
          }
          scans.add(scan);
        }
        timelineScans = Math.max(timelineScans, scans.get(scans.size() - 1));
        continue;
      }
      readRow(words, scans, i);
    }
    throw bad(start - 1, "the timeline is not closed by ---*)");
  }

  private void readRow(List<String> words, List<Integer> scans, int at) {
    RowKind kind = RowKind.MEMORY;
    String display = "";
    int next = 0;
    String path = words.get(next++);
    if (path.equals("field") || path.equals("force") || path.equals("display") || path.startsWith("display@")) {
      kind = path.equals("field") ? RowKind.FIELD : path.equals("force") ? RowKind.FORCE : RowKind.DISPLAY;
      display = path.startsWith("display@") ? path.substring("display@".length()) : "";
      if (words.size() <= next) {
        throw bad(at, "a row without a variable");
      }
      path = words.get(next++);
    } else if (path.equals("restart")) {
      kind = RowKind.RESTART;
    }
    if (words.size() < next + scans.size()) {
      throw bad(at, "row " + path + " has " + (words.size() - next) + " cells; expected " + scans.size());
    }
    List<String> cells = new ArrayList<>(words.subList(next, next + scans.size()));
    List<String> remark = words.subList(next + scans.size(), words.size());
    String first = remark.isEmpty() ? "expected" : remark.get(0);
    String unit = UNITS.contains(first) ? first : "";
    if (first.equals("stimulus")) {
      kind = kind == RowKind.FIELD ? RowKind.FIELD_STIMULUS : kind == RowKind.MEMORY ? RowKind.STIMULUS : kind;
      if (kind == RowKind.DISPLAY) {
        throw bad(at, "a display cannot be a stimulus");
      }
    } else if (!first.startsWith("expected") && unit.isEmpty() && !first.equals("//")) {
      throw bad(at, "row " + path + ": '" + first + "' is neither a cell (" + scans.size() + " scans) nor stimulus, expected, a unit or // remark");
    }
    List<String> perScan = new ArrayList<>();
    for (int scan = 1; scan <= scans.get(scans.size() - 1); scan++) {
      int column = scans.indexOf(scan);
      String cell = column < 0 ? "." : cells.get(column);
      perScan.add(cell.equals(".") ? null : literal(cell, unit));
    }
    rows.add(new Row(kind, path, display, perScan, at + 1));
  }

  private static String literal(String cell, String unit) {
    if (cell.equals("_")) {
      return "FALSE";
    }
    if (cell.equals("#")) {
      return "TRUE";
    }
    return unit.isEmpty() ? cell : "T#" + cell + unit;
  }

  private int readValues(int start, int scan) {
    for (int i = start; i < lines.size(); i++) {
      String line = lines.get(i).strip();
      if (line.equals("---*)")) {
        timelineScans = Math.max(timelineScans, scan);
        return i + 1;
      }
      if (line.isEmpty()) {
        continue;
      }
      int equals = line.indexOf('=');
      if (equals < 0) {
        throw bad(i, "expected 'path = literal'");
      }
      String path = line.substring(0, equals).strip();
      List<String> right = words(line.substring(equals + 1), i);
      if (path.isEmpty() || right.isEmpty() || right.size() > 1 && !right.get(1).startsWith("//")) {
        throw bad(i, "expected 'path = literal', behind it only a // remark");
      }
      values.add(new Value(path, literal(right.get(0), ""), scan, i + 1));
    }
    throw bad(start - 1, "the values are not closed by ---*)");
  }

  /** Words separated by blanks; quoted strings and brackets hold blanks together. */
  private List<String> words(String line, int at) {
    List<String> result = new ArrayList<>();
    StringBuilder word = new StringBuilder();
    char quote = 0;
    for (int i = 0; i < line.length(); i++) {
      char c = line.charAt(i);
      if (quote != 0) {
        word.append(c);
        if (c == '$' && i + 1 < line.length()) {
          word.append(line.charAt(++i));
        } else if (c == quote) {
          quote = 0;
        }
      } else if (Character.isWhitespace(c)) {
        if (word.length() > 0) {
          result.add(word.toString());
          word.setLength(0);
        }
      } else {
        if ((c == '\'' || c == '"') && (word.length() == 0 || word.charAt(word.length() - 1) == '#')) {
          quote = c;
        }
        word.append(c);
      }
    }
    if (quote != 0) {
      throw bad(at, "a string is not closed: " + word);
    }
    if (word.length() > 0) {
      result.add(word.toString());
    }
    return result;
  }

  private int number(String word, int at) {
    try {
      int value = Integer.parseInt(word);
      if (value >= 1) {
        return value;
      }
    } catch (NumberFormatException e) {
      throw bad(at, "expected a number, found '" + word + "'");
    }
    throw bad(at, "scans count from 1");
  }

  private CaseFile build() {
    for (String required : List.of("title", "source")) {
      if (header.getOrDefault(required, "").isEmpty()) {
        throw bad(0, "the header lacks '" + required + "'");
      }
    }
    List<String> features = split(header.getOrDefault("features", ""));
    if (features.isEmpty() && id.matches("(T\\d+|S)/.*")) {
      throw bad(0, "the header lacks 'features'");
    }
    for (String text : repeated.getOrDefault("diagnostic", List.of())) {
      Matcher matcher = DIAGNOSTIC.matcher(text);
      if (!matcher.matches()) {
        throw bad(0, "diagnostic: expected 'ladder/gap at 12:13' or 'ladder/gap at 12:13 over 3', found '" + text + "'");
      }
      diagnostics.add(new Announced(matcher.group(1), Integer.parseInt(matcher.group(2)), Integer.parseInt(matcher.group(3)),
          matcher.group(4) == null ? 0 : Integer.parseInt(matcher.group(4))));
    }
    Optional<AnnouncedFault> fault = Optional.ofNullable(header.get("fault")).map(text -> {
      Matcher matcher = FAULT.matcher(text);
      if (!matcher.matches()) {
        throw bad(0, "fault: expected 'fault/index-range at scan 3, line 7', found '" + text + "'");
      }
      return new AnnouncedFault(matcher.group(1), Integer.parseInt(matcher.group(2)), Integer.parseInt(matcher.group(3)));
    });
    List<Either> either = new ArrayList<>();
    int scans = timelineScans;
    for (String text : repeated.getOrDefault("either", List.of())) {
      Matcher matcher = EITHER.matcher(text);
      if (!matcher.matches()) {
        throw bad(0, "either: expected 'x = 1 | 2 at scan 3', found '" + text + "'");
      }
      List<String> literals = new ArrayList<>();
      for (String part : matcher.group(2).split("\\|")) {
        literals.add(literal(part.strip(), ""));
      }
      either.add(new Either(matcher.group(1), literals, Integer.parseInt(matcher.group(3))));
      scans = Math.max(scans, Integer.parseInt(matcher.group(3)));
    }
    if (fault.isPresent()) {
      scans = Math.max(scans, fault.get().scan());
    }
    Map<String, String> profile = new LinkedHashMap<>();
    for (String part : split(header.getOrDefault("profile", ""))) {
      Matcher matcher = CHOICE.matcher(part);
      if (!matcher.matches()) {
        throw bad(0, "profile: expected 'integerOverflow = FAULT', found '" + part + "'");
      }
      profile.put(matcher.group(1), matcher.group(2));
    }
    long seed;
    try {
      seed = Long.parseLong(header.getOrDefault("seed", "1"));
    } catch (NumberFormatException e) {
      throw bad(0, "seed: expected a number, found '" + header.get("seed") + "'");
    }
    return new CaseFile(path, id, text, header.get("title"), features, header.get("source"), header.getOrDefault("period", "T#10ms"),
        header.getOrDefault("policy", "image"), costs(), List.copyOf(repeated.getOrDefault("display", List.of())), profile, seed,
        split(header.getOrDefault("executors", "")), either, Optional.ofNullable(header.get("skip")).filter(s -> !s.isEmpty()),
        Optional.ofNullable(header.get("program")), List.copyOf(diagnostics), fault, List.copyOf(rows), List.copyOf(values), scans);
  }

  private String costs() {
    String costs = header.getOrDefault("costs", "zero");
    if (!costs.equals("zero") && !costs.equals("standard")) {
      throw bad(0, "costs: expected zero or standard, found '" + costs + "'");
    }
    return costs;
  }

  private static List<String> split(String text) {
    List<String> result = new ArrayList<>();
    for (String part : text.split(",")) {
      if (!part.isBlank()) {
        result.add(part.strip());
      }
    }
    return List.copyOf(result);
  }

  private CaseFormatException bad(int index, String message) {
    return new CaseFormatException(id, index + 1, message);
  }
}
