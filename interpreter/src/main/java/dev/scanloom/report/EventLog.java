package dev.scanloom.report;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.model.Element;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import java.io.IOException;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/**
 * A whole run as rows, an event each, as JSON Lines or CSV. Rows are written while the run goes on; what is kept in memory does not grow with its length.
 * Text is inert: no control or direction character is passed on, no CSV cell becomes a formula.
 *
 * <p>The columns are {@link #COLUMNS}; in JSON a key is left out where CSV has an empty cell. A write or refresh of several variables at once (a byte of
 * inputs) becomes a row for each declared variable that lies wholly inside. Values are IEC literals; the value of what the compiler made for itself, which has no type, is
 * the slot's number.
 *
 * <p>Confined to the thread that scans.
 */
public final class EventLog implements Observer, AutoCloseable {
  /** Forms of the rows. */
  public enum Form {
    /** One JSON object a line. */
    JSON_LINES,
    /** RFC 4180 with LF, with a header. */
    CSV
  }

  /** Names of the columns, in their order; the keys in JSON. */
  public static final List<String> COLUMNS = List.of("scan", "ordinal", "time_ns", "task", "kind", "step", "notation", "body", "network", "file", "line", "column",
      "element", "place", "display", "variable", "location", "type", "before", "after", "source", "phase", "test", "power", "operands", "detail");

  private static final Set<String> NUMBERS = Set.of("scan", "ordinal", "time_ns", "step", "network", "line", "column", "element");
  private static final Set<String> TRUTHS = Set.of("test", "power");
  private static final int MOST_KNOWN = 1 << 16;

  private record At(long address, int width) {}

  private final Map<At, List<Variable>> known = new LinkedHashMap<>() {
    private static final long serialVersionUID = 1L;

    @Override
    protected boolean removeEldestEntry(Map.Entry<At, List<Variable>> eldest) {
      return size() > MOST_KNOWN;
    }
  };

  private final Controller controller;
  private final CompiledProgram program;
  private final Form form;
  private final Appendable out;
  private final Set<EventKind> kinds;
  private final Set<String> only;
  private final boolean all;
  private final List<Variable> located = new ArrayList<>();
  private final Map<String, String> lastText = new LinkedHashMap<>();
  private final String[] row = new String[COLUMNS.size()];
  private final StringBuilder line = new StringBuilder();
  private Optional<IOException> failure = Optional.empty();
  private boolean closed;
  private long rows;

  /** A row that waits for the end of its step; with a variable when the whole string is known only then. */
  private record Held(String[] row, Variable text) {}

  private final List<Held> held = new ArrayList<>();
  private long heldOrdinal;
  private long heldScan;

  private EventLog(Controller controller, Form form, Appendable out, Set<EventKind> kinds, List<Variable> variables) {
    this.controller = controller;
    this.program = controller.program();
    this.form = form;
    this.out = out;
    this.kinds = Set.copyOf(kinds);
    this.all = variables.isEmpty();
    Set<String> names = new java.util.TreeSet<>();
    for (Variable v : variables) {
      names.add(v.path());
      if (v.isLocated()) {
        located.add(v);
      }
    }
    only = names;
    for (String path : program.variables()) {
      Variable v = program.variable(path);
      if (v.isLocated() && located.stream().noneMatch(x -> x.address() == v.address() && x.width() == v.width())) {
        located.add(v);
      }
      if (v instanceof Variable.Text) {
        lastText.put(v.path(), controller.memory().text(v));
      }
    }
  }

  /**
   * Begins to write what a controller does from now on, until {@link #close()}.
   *
   * @param kinds the kinds of events to keep
   * @param variables of reads, writes, field changes and samples only those of these variables are kept; empty means all. Other kinds do not depend on it.
   */
  public static EventLog to(Appendable out, Form form, Controller controller, Set<EventKind> kinds, List<Variable> variables) {
    EventLog log = new EventLog(controller, form, out, kinds, variables);
    if (form == Form.CSV) {
      log.put(String.join(",", COLUMNS) + "\n");
    }
    controller.attach(log);
    return log;
  }

  /** As {@link #to(Appendable, Form, Controller, Set, List)}, everything. */
  public static EventLog to(Appendable out, Form form, Controller controller) {
    return to(out, form, controller, EnumSet.allOf(EventKind.class), List.of());
  }

  /** Rows written so far. */
  public long rows() {
    return rows;
  }

  /** The first error of the target; nothing is written after it. */
  public Optional<IOException> failure() {
    return failure;
  }

  /** Ends the log; does not close the target. */
  @Override
  public void close() {
    if (!closed) {
      closed = true;
      controller.detach(this);
      release();
    }
  }

  @Override
  public Set<EventKind> wants() {
    EnumSet<EventKind> all = EnumSet.noneOf(EventKind.class);
    all.addAll(kinds);
    if (kinds.contains(EventKind.WRITE)) {
      // reads tell when the step that wrote a string is over
      all.add(EventKind.READ);
    }
    return all;
  }

  @Override
  public void on(Event e) {
    if (failure.isPresent()) {
      return;
    }
    if (!held.isEmpty() && (e.kind() != EventKind.READ && e.kind() != EventKind.WRITE || e.ordinal() != heldOrdinal || e.scan() != heldScan)) {
      release();
    }
    if (!kinds.contains(e.kind())) {
      return;
    }
    switch (e.kind()) {
      case READ -> access(e, "memory", false);
      case WRITE -> access(e, "memory", true);
      case FIELD -> access(e, "field", true);
      case SAMPLE -> access(e, "display", false);
      case STEP -> {
        begin(e);
        int n = program.step(e.step()).pops();
        StringBuilder b = new StringBuilder();
        for (int i = 0; i < n; i++) {
          b.append(i == 0 ? "" : " ").append(e.operand(i));
        }
        set("operands", b.toString());
        emit(row);
      }
      case ELEMENT -> {
        begin(e);
        Element x = program.elements().get(e.element());
        set("element", e.element());
        set("variable", x.title());
        set("test", e.test());
        set("power", e.power());
        emit(row);
      }
      case PHASE -> {
        begin(e);
        set("phase", e.phase().name());
        emit(row);
      }
      case TASK, FAULT -> {
        begin(e);
        set("detail", e.detail());
        emit(row);
      }
      case SCAN_START, SCAN_END -> {
        begin(e);
        emit(row);
      }
    }
  }

  private void begin(Event e) {
    java.util.Arrays.fill(row, "");
    set("scan", e.scan());
    set("ordinal", e.ordinal());
    set("time_ns", e.time());
    set("kind", e.kind().name());
    if (e.task() >= 0 && e.task() < program.tasks().size()) {
      set("task", program.tasks().get(e.task()));
    }
    if (e.step() >= 0) {
      StepInfo s = program.step(e.step());
      set("step", e.step());
      set("notation", s.text());
      set("body", s.body());
      if (s.network() > 0) {
        set("network", s.network());
      }
      set("file", s.span().source().name());
      set("line", s.span().line());
      set("column", s.span().column());
    }
  }

  private void set(String column, String text) {
    row[COLUMNS.indexOf(column)] = text;
  }

  private void set(String column, long number) {
    set(column, Long.toString(number));
  }

  private void set(String column, boolean truth) {
    set(column, truth ? "true" : "false");
  }

  private void access(Event e, String place, boolean changes) {
    List<Variable> found = variables(e.address(), e.width());
    if (found.isEmpty()) {
      if (!all) {
        return;
      }
      head(e, place);
      String name = program.nameAt(e.address(), e.width());
      set(name.startsWith("%") ? "location" : "variable", name);
      if (changes) {
        set("before", e.before());
      }
      set("after", e.after());
      emit(row);
      return;
    }
    for (Variable v : found) {
      if (!all && !only.contains(v.path())) {
        continue;
      }
      if (v instanceof Variable.Text) {
        text(e, place, changes, v);
        continue;
      }
      head(e, place);
      name(v);
      if (changes) {
        set("before", v.format(part(v, e, e.before())));
      }
      set("after", v.format(part(v, e, e.after())));
      emit(row);
    }
  }

  private void head(Event e, String place) {
    begin(e);
    set("place", place);
    if (e.kind() == EventKind.WRITE || e.kind() == EventKind.FIELD) {
      set("source", e.source().name());
    }
    if (e.kind() == EventKind.WRITE && !e.detail().isEmpty()) {
      set("detail", e.detail());
    }
    if (e.kind() == EventKind.SAMPLE) {
      set("display", e.detail());
    }
  }

  private void name(Variable v) {
    set("variable", v.path());
    set("location", v.location());
    set("type", v.typeName());
  }

  private void text(Event e, String place, boolean changes, Variable v) {
    if (changes && held.stream().anyMatch(h -> h.text != null && h.text.path().equals(v.path()))) {
      // more slots of a string whose row waits
      return;
    }
    head(e, place);
    name(v);
    String now = place.equals("display") ? controller.display(e.detail()).text(v) : controller.memory().text(v);
    set("after", now);
    if (!changes) {
      emit(row);
      return;
    }
    set("before", lastText.getOrDefault(v.path(), ""));
    heldOrdinal = e.ordinal();
    heldScan = e.scan();
    held.add(new Held(row.clone(), v));
  }

  /** A string is told slot by slot and before it is copied: what it holds is known when its step is over. */
  private void release() {
    int after = COLUMNS.indexOf("after");
    for (Held h : held) {
      if (h.text != null) {
        h.row[after] = controller.memory().text(h.text);
        if (lastText.size() < MOST_KNOWN || lastText.containsKey(h.text.path())) {
          lastText.put(h.text.path(), h.row[after]);
        }
      }
      write(h.row);
    }
    held.clear();
  }

  /** The variable at an address, or those inside a stretch of an area. */
  private List<Variable> variables(long address, int width) {
    At at = new At(address, width);
    List<Variable> found = known.get(at);
    if (found == null) {
      found = find(at);
      known.put(at, found);
    }
    return found;
  }

  private List<Variable> find(At at) {
    String name = program.nameAt(at.address, at.width);
    Variable v = null;
    try {
      v = name.indexOf('$') >= 0 ? null : program.variable(name);
    } catch (IllegalArgumentException e) {
      // an aggregate, or made by the compiler
      v = null;
    }
    if (v != null && !v.isLocated() && (v.address() == at.address || v instanceof Variable.Text)) {
      return List.of(v);
    }
    List<Variable> inside = new ArrayList<>();
    if (v != null && v.isLocated() && v.address() == at.address && v.width() == at.width) {
      inside.add(v);
    }
    if (v == null || v.isLocated()) {
      for (Variable x : located) {
        if (x.address() >= at.address && x.address() + x.width() <= at.address + at.width && (inside.isEmpty() || !x.path().equals(inside.get(0).path()))) {
          inside.add(x);
        }
      }
    }
    // a declared name says more than the location's own
    if (inside.size() > 1 && inside.get(0).path().startsWith("%")) {
      inside.remove(0);
    }
    return List.copyOf(inside);
  }

  /** The bits of a variable inside the stretch that an event is about, as a slot holds them. */
  private static long part(Variable v, Event e, long bits) {
    if (!v.isLocated() || v.address() == e.address() && v.width() == e.width() && v.type().family() != ElementaryType.Family.SIGNED) {
      return bits;
    }
    int width = v.width();
    long b = bits >> (int) (v.address() - e.address());
    if (width == 64) {
      return b;
    }
    b &= (1L << width) - 1;
    return v.type().family() == ElementaryType.Family.SIGNED ? b << 64 - width >> 64 - width : b;
  }

  private void emit(String[] cells) {
    if (held.isEmpty()) {
      write(cells);
    } else {
      held.add(new Held(cells.clone(), null));
    }
  }

  private void write(String[] cells) {
    rows++;
    line.setLength(0);
    if (form == Form.CSV) {
      for (int i = 0; i < cells.length; i++) {
        line.append(i == 0 ? "" : ",");
        Tables.cell(line, cells[i]);
      }
      line.append('\n');
    } else {
      for (int i = 0; i < cells.length; i++) {
        if (cells[i].isEmpty()) {
          continue;
        }
        String column = COLUMNS.get(i);
        line.append(line.length() == 0 ? '{' : ',').append('"').append(column).append("\":");
        if (NUMBERS.contains(column) || TRUTHS.contains(column)) {
          line.append(cells[i]);
        } else {
          Markup.json(line, cells[i]);
        }
      }
      line.append("}\n");
    }
    put(line);
  }

  private void put(CharSequence text) {
    try {
      out.append(text);
    } catch (IOException e) {
      failure = Optional.of(e);
    }
  }
}
