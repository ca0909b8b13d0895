package dev.scanloom.explain;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.model.Element;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;

/**
 * Finds, while a controller runs, every ladder element and scan where the element's executed state, what a display paints, what memory
 * says at the end of the scan and what the terminal says are not all the same; each with the write that separates them.
 *
 * <p>All states are states of the element, not of the bit: a negated contact whose bit is 0 conducts. Elements without a BOOL operand
 * (compare contacts, boxes, jumps) have no memory or terminal to compare with. Confined to the controller's thread; it reads the
 * controller and changes nothing.
 */
public final class Disagreements implements Observer {
  /** Rows kept at most; the oldest go first. */
  public static final int ROWS = 100_000;

  private static final int CHANGES = 256;

  /**
   * One element in one scan on one display.
   *
   * @param scan number of the scan, from 1
   * @param element number of the element in the program
   * @param pou body that the element stands in
   * @param network number of the network, from 1
   * @param title what a person calls the element
   * @param display name of the display; empty when the policy has none
   * @param executed what the executor decided when it evaluated the element last: a contact's condition, a coil's left link
   * @param evaluatedIn the scan of that evaluation: earlier than {@code scan} when the element was passed over
   * @param painted what the display paints; empty when it does not paint the element
   * @param memory what memory at the end of the scan would make of the element; empty without a BOOL operand
   * @param field what the operand's terminal would make of it; empty for an operand that is not at {@code %I} or {@code %Q}
   * @param separation the write that lies between the states that differ; empty when the terminal alone differs and nothing was written
   */
  public record Row(
      long scan,
      int element,
      String pou,
      int network,
      String title,
      String display,
      boolean executed,
      long evaluatedIn,
      Optional<Boolean> painted,
      Optional<Boolean> memory,
      Optional<Boolean> field,
      Optional<Separation> separation) {}

  /**
   * A write of an element's operand that changed its bit.
   *
   * @param ordinal number of the step within the scan; of other writers, of the last step before it
   * @param step number of the step in the program, -1 when no instruction wrote
   * @param network its ladder network, 0 outside ladder
   * @param value the bit written
   * @param span source of the step
   * @param words the same for people
   */
  public record Separation(
      Event.Source source, long scan, long ordinal, int step, int network, boolean value, Optional<Span> span, String words) {}

  private record Change(long sequence, Event.Source source, long scan, long ordinal, int step, boolean value) {}

  private static final class Operand {
    final long address;
    final ArrayDeque<Change> changes = new ArrayDeque<>();
    final TreeMap<String, Long> sampled = new TreeMap<>();
    Variable variable;

    Operand(long address) {
      this.address = address;
    }
  }

  private static final class State {
    final Element element;
    Operand operand;
    boolean operandSeen;
    long evaluated;
    long scan;
    boolean test;

    State(Element element) {
      this.element = element;
    }
  }

  private final Controller controller;
  private final CompiledProgram program;
  private final State[] states;
  private final TreeMap<Long, Operand> operands = new TreeMap<>();
  private final ArrayDeque<Row> rows = new ArrayDeque<>();
  private long sequence;
  private long dropped;

  private Disagreements(Controller controller) {
    this.controller = controller;
    this.program = controller.program();
    List<Element> elements = program.elements();
    this.states = new State[elements.size()];
    for (int i = 0; i < states.length; i++) {
      states[i] = new State(elements.get(i));
      Optional<Variable> v = operandOf(elements.get(i));
      if (v.isPresent()) {
        states[i].operand = operand(v.get().address());
      }
    }
  }

  /** An observer that is attached to a controller; attach it before the first scan. */
  public static Disagreements of(Controller controller) {
    Disagreements d = new Disagreements(controller);
    controller.attach(d);
    return d;
  }

  /** The operand by its name, where that is unambiguous: an element of a program body or a location. */
  private Optional<Variable> operandOf(Element e) {
    if (e.kind() != Element.Kind.CONTACT && e.kind() != Element.Kind.COIL) {
      return Optional.empty();
    }
    for (String path : List.of(e.pou() + "." + e.title(), e.title())) {
      try {
        Variable v = program.variable(path);
        return v.type() == ElementaryType.BOOL ? Optional.of(v) : Optional.empty();
      } catch (IllegalArgumentException unknown) {
        // an element of a function block: its operand is known when it is evaluated
      }
    }
    return Optional.empty();
  }

  private Operand operand(long address) {
    return operands.computeIfAbsent(address, Operand::new);
  }

  @Override
  public Set<EventKind> wants() {
    return EnumSet.of(EventKind.READ, EventKind.WRITE, EventKind.ELEMENT, EventKind.SAMPLE, EventKind.SCAN_END);
  }

  @Override
  public void on(Event e) {
    sequence++;
    switch (e.kind()) {
      case READ -> read(e);
      case WRITE -> write(e);
      case ELEMENT -> {
        State s = states[e.element()];
        s.test = e.test();
        s.scan = e.scan();
        s.evaluated = sequence;
        s.operandSeen = false;
      }
      case SAMPLE -> sample(e);
      case SCAN_END -> end(e);
      case SCAN_START, PHASE, TASK, STEP, FIELD, FAULT -> { }
    }
  }

  private void read(Event e) {
    int element = program.step(e.step()).element();
    if (element < 0 || states[element].element.kind() != Element.Kind.CONTACT) {
      return;
    }
    State s = states[element];
    boolean edge = s.element.mark().equals("P") || s.element.mark().equals("N");
    boolean bit = Locations.isLocated(e.address()) ? e.width() == 1 : true;
    // an index is read before the element that it selects, an edge's memory behind the operand
    if (bit && !(edge && s.operandSeen)) {
      s.operand = operand(e.address());
      s.operandSeen = true;
    }
  }

  private void write(Event e) {
    if (e.step() >= 0 && e.source() == Event.Source.INSTRUCTION) {
      StepInfo info = program.step(e.step());
      if (info.element() >= 0 && states[info.element()].element.kind() == Element.Kind.COIL) {
        State coil = states[info.element()];
        coil.operand = coil.operand == null ? operand(e.address()) : coil.operand;
        // what the coil itself wrote belongs to its evaluation
        coil.evaluated = sequence;
      }
    }
    if (!Locations.isLocated(e.address())) {
      Operand o = operands.get(e.address());
      if (o != null) {
        change(o, e, e.before() & 1, e.after() & 1);
      }
      return;
    }
    for (Operand o : operands.subMap(e.address(), e.address() + e.width()).values()) {
      long at = o.address - e.address();
      change(o, e, e.before() >>> at & 1, e.after() >>> at & 1);
    }
  }

  private void change(Operand o, Event e, long before, long after) {
    if (before != after) {
      o.changes.addLast(new Change(sequence, e.source(), e.scan(), e.ordinal(), e.step(), after != 0));
      if (o.changes.size() > CHANGES) {
        o.changes.removeFirst();
      }
    }
  }

  private void sample(Event e) {
    if (!Locations.isLocated(e.address())) {
      Operand o = operands.get(e.address());
      if (o != null) {
        o.sampled.put(e.detail(), sequence);
      }
      return;
    }
    for (Operand o : operands.subMap(e.address(), e.address() + Math.max(1, e.width())).values()) {
      o.sampled.put(e.detail(), sequence);
    }
  }

  private void end(Event e) {
    for (State s : states) {
      if (s.evaluated == 0) {
        continue;
      }
      Optional<Boolean> memory = Optional.empty();
      Optional<Boolean> field = Optional.empty();
      if (s.operand != null) {
        boolean negated = s.element.mark().equals("/");
        Variable v = variable(s.operand);
        if (v != null) {
          memory = Optional.of(controller.memory().bits(v) != 0 ^ negated);
          if (v.area() == 'I' || v.area() == 'Q') {
            field = Optional.of(controller.field().bits(v) != 0 ^ negated);
          }
        }
      }
      List<ScanPolicy.Display> displays = controller.policy().displays();
      if (displays.isEmpty()) {
        compare(e.scan(), s, "", Optional.empty(), memory, field);
      }
      for (ScanPolicy.Display d : displays) {
        Place.Display display = controller.display(d.name());
        int id = s.element.id();
        compare(e.scan(), s, d.name(), display.isPainted(id) ? Optional.of(display.painted(id)) : Optional.empty(), memory, field);
      }
    }
  }

  private Variable variable(Operand o) {
    if (o.variable == null) {
      o.variable = program.variableAt(o.address, Locations.isLocated(o.address) ? 1 : 64).orElse(null);
    }
    return o.variable != null && o.variable.type() == ElementaryType.BOOL ? o.variable : null;
  }

  private void compare(long scan, State s, String display, Optional<Boolean> painted, Optional<Boolean> memory, Optional<Boolean> field) {
    boolean same = painted.orElse(s.test) == s.test && memory.orElse(s.test) == s.test && field.orElse(s.test) == s.test;
    if (same) {
      return;
    }
    rows.addLast(new Row(scan, s.element.id(), s.element.pou(), s.element.network(), Explaining.called(s.element), display, s.test,
        s.scan, painted, memory,
        field, separation(s, display, painted, memory)));
    if (rows.size() > ROWS) {
      rows.removeFirst();
      dropped++;
    }
  }

  /** The write between the evaluation and the sample, or the end of the scan when the display agrees. */
  private Optional<Separation> separation(State s, String display, Optional<Boolean> painted, Optional<Boolean> memory) {
    if (s.operand == null) {
      return Optional.empty();
    }
    Change found = null;
    Long sampled = s.operand.sampled.get(display);
    if (painted.isPresent() && painted.get() != s.test && sampled != null) {
      boolean later = sampled > s.evaluated;
      for (Change c : s.operand.changes) {
        if (later && found == null && c.sequence > s.evaluated && c.sequence < sampled || !later && c.sequence > sampled
            && c.sequence <= s.evaluated) {
          found = c;
        }
      }
    } else {
      for (Change c : s.operand.changes) {
        if (found == null && c.sequence > s.evaluated) {
          found = c;
        }
      }
      if (found == null) {
        // the terminal differs: what last parted memory from it
        found = s.operand.changes.peekLast();
      }
    }
    return Optional.ofNullable(found).map(this::separation);
  }

  private Separation separation(Change c) {
    StepInfo info = c.step >= 0 ? program.step(c.step) : null;
    int network = info == null ? 0 : info.network();
    String bit = c.value ? "1" : "0";
    String words = switch (c.source) {
      case INSTRUCTION -> (network > 0 ? "network " + network : info == null ? "an instruction" : info.body()) + " wrote " + bit
          + " at step " + c.ordinal;
      case INPUT_REFRESH -> "an input refresh stored " + bit + (c.ordinal > 0 ? " after step " + c.ordinal : "");
      case EXTERNAL_WRITE -> "an external write stored " + bit + (c.ordinal > 0 ? " after step " + c.ordinal : "");
      case FORCE -> "a force stored " + bit;
      case INITIALIZATION -> "the restart stored " + bit;
      case RETAINED -> "the restart kept " + bit;
      case TASK_IMAGE -> "a change of the task's copy of the process image showed " + bit + (c.ordinal > 0 ? " after step " + c.ordinal : "");
    } + " of scan " + c.scan;
    return new Separation(c.source, c.scan, c.ordinal, c.step, network, c.value, info == null ? Optional.empty()
        : Optional.of(info.span()), words);
  }

  /** All rows, in the order of scans, elements and displays. */
  public List<Row> rows() {
    return List.copyOf(rows);
  }

  /** Rows of one scan. */
  public List<Row> rows(long scan) {
    return rows.stream().filter(r -> r.scan() == scan).toList();
  }

  /** Rows that were dropped because there were more than {@link #ROWS}. */
  public long dropped() {
    return dropped;
  }

  /** The rows as a text table with a line per row; states are 1, 0, or - where there is none. */
  public String text() {
    List<String[]> table = new ArrayList<>();
    table.add(new String[] {"scan", "network", "element", "executed", "display", "painted", "memory", "field", "separated by"});
    for (Row r : rows) {
      table.add(new String[] {
        Long.toString(r.scan()), r.pou() + " " + r.network(), r.title(),
        digit(r.executed()) + (r.evaluatedIn() == r.scan() ? "" : " (scan " + r.evaluatedIn() + ")"), r.display().isEmpty() ? "-"
        : r.display(),
        digit(r.painted()), digit(r.memory()), digit(r.field()),
        r.separation().map(s -> s.words() + s.span().map(p -> " (" + p.place() + ")").orElse("")).orElse("the field alone")});
    }
    int[] width = new int[table.get(0).length];
    for (String[] line : table) {
      for (int i = 0; i < width.length; i++) {
        width[i] = Math.max(width[i], line[i].length());
      }
    }
    StringBuilder b = new StringBuilder();
    for (String[] line : table) {
      StringBuilder l = new StringBuilder();
      for (int i = 0; i < width.length; i++) {
        l.append(String.format(Locale.ROOT, "%-" + width[i] + "s", line[i])).append("  ");
      }
      b.append(l.toString().stripTrailing().replaceAll("\\p{Cntrl}", " ")).append('\n');
    }
    if (dropped > 0) {
      b.append(dropped).append(" earlier rows are not kept\n");
    }
    return b.toString();
  }

  private static String digit(boolean on) {
    return on ? "1" : "0";
  }

  private static String digit(Optional<Boolean> on) {
    return on.map(Disagreements::digit).orElse("-");
  }

  @Override
  public String toString() {
    return text();
  }
}
