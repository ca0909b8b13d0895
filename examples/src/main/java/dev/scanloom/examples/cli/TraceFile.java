package dev.scanloom.examples.cli;

import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.observe.EventKind;
import dev.scanloom.report.EventLog;
import java.io.BufferedWriter;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.Iterator;
import java.util.List;
import java.util.Locale;
import java.util.Set;

/** The file of {@code run --trace}, written while the run goes on. */
final class TraceFile implements AutoCloseable {
  /** Words for {@code --trace-kinds}. */
  static final class Kinds implements Iterable<String> {
    @Override
    public Iterator<String> iterator() {
      return Arrays.stream(EventKind.values()).map(TraceFile::word).iterator();
    }
  }

  /** What is asked for; {@code name} null when nothing is. */
  record Wish(String name, EventLog.Form form, Set<EventKind> kinds, List<String> only) {}

  private final String name;
  private final BufferedWriter out;
  private final EventLog log;

  private TraceFile(String name, BufferedWriter out, EventLog log) {
    this.name = name;
    this.out = out;
    this.log = log;
  }

  private static String word(EventKind k) {
    return k.name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  static Wish wish(String name, List<String> kinds, List<String> only) {
    if (name == null) {
      if (kinds != null || only != null) {
        throw new UsageError((kinds != null ? "--trace-kinds" : "--trace-only") + " says what --trace keeps; --trace FILE is missing");
      }
      return new Wish(null, EventLog.Form.CSV, Set.of(), List.of());
    }
    String low = name.toLowerCase(Locale.ROOT);
    if (!low.endsWith(".jsonl") && !low.endsWith(".csv")) {
      throw new UsageError("--trace: " + name + "; expected a name that ends with .jsonl or .csv");
    }
    EnumSet<EventKind> wanted = EnumSet.noneOf(EventKind.class);
    if (kinds == null) {
      wanted.addAll(only == null ? EnumSet.allOf(EventKind.class)
          : EnumSet.of(EventKind.READ, EventKind.WRITE, EventKind.FIELD, EventKind.SAMPLE, EventKind.FAULT));
    } else {
      for (String list : kinds) {
        for (String w : list.split(",", -1)) {
          wanted.add(kind(w.trim()));
        }
      }
    }
    return new Wish(name, low.endsWith(".csv") ? EventLog.Form.CSV : EventLog.Form.JSON_LINES, wanted,
        only == null ? List.of() : Names.split("--trace-only", only));
  }

  private static EventKind kind(String text) {
    for (EventKind k : EventKind.values()) {
      if (word(k).equalsIgnoreCase(text) || k.name().equalsIgnoreCase(text)) {
        return k;
      }
    }
    throw new UsageError("--trace-kinds: '" + text + "' is no kind of event; expected some of " + String.join(", ", new Kinds()));
  }

  static TraceFile open(Wish wish, Controller controller) {
    if (wish.name == null) {
      return new TraceFile(null, null, null);
    }
    List<Variable> only = new ArrayList<>();
    for (String path : wish.only) {
      only.add(Names.find("--trace-only", controller.program(), path));
    }
    if (Files.isDirectory(TextFiles.path(wish.name))) {
      throw new UsageError(wish.name + ": a directory; expected the name of a file to write");
    }
    try {
      BufferedWriter out = Files.newBufferedWriter(TextFiles.path(wish.name), StandardCharsets.UTF_8);
      return new TraceFile(wish.name, out, EventLog.to(out, wish.form, controller, wish.kinds, only));
    } catch (IOException e) {
      throw new UsageError(wish.name + ": cannot be written");
    }
  }

  @Override
  public void close() {
    if (log == null) {
      return;
    }
    log.close();
    try {
      out.close();
    } catch (IOException e) {
      throw new UsageError(name + ": cannot be written");
    }
    if (log.failure().isPresent()) {
      throw new UsageError(name + ": cannot be written");
    }
  }
}
