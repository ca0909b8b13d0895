package dev.scanloom.report;

import dev.scanloom.model.Element;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;

/** Recorded runs side by side at one scan: the table of policies and displays, and what separates them. */
final class Comparison {
  private static final int MOST_OUTPUTS = 8;
  private static final int MOST_COLUMNS = 24;
  private static final int MOST_CHANGES = 12;

  private record Raw(int kind, long time, int a, int b, int c, int value) {}

  /** A run at the scan compared. */
  private static final class Snap {
    Recordings.Run run;
    Replay end;
    List<Raw> events = new ArrayList<>();
    /** Values of each item in the scan: at the start, then each that differs from the one before. */
    List<List<Integer>> sequence = new ArrayList<>();
    List<List<Integer>> fieldSequence = new ArrayList<>();
  }

  private final Recordings recordings;
  private final int scan;
  private final List<Snap> snaps = new ArrayList<>();
  private final List<Element> elements;

  Comparison(Recordings recordings, int scan) {
    this.recordings = recordings;
    this.scan = scan;
    this.elements = recordings.program().elements();
    for (Recordings.Run run : recordings.runs()) {
      if (run.scans() > scan) {
        snaps.add(snap(run));
      }
    }
  }

  private Snap snap(Recordings.Run run) {
    Snap s = new Snap();
    s.run = run;
    s.end = new Replay(run, elements.size());
    for (int i = 0; i < scan; i++) {
      s.end.scan(run.log, i);
    }
    for (int i = 0; i < recordings.items.size(); i++) {
      s.sequence.add(new ArrayList<>(List.of(s.end.memory[i])));
      s.fieldSequence.add(new ArrayList<>(List.of(s.end.field[i])));
    }
    boolean[] begun = {false};
    run.log.visit(scan, (kind, time, a, b, c, value) -> {
      s.events.add(new Raw(kind, time, (int) a, (int) b, (int) c, (int) value));
      if (kind == EventStore.PHASE && !begun[0]) {
        // what was set before the scan is where the sequence begins
        begun[0] = true;
        for (int i = 0; i < s.sequence.size(); i++) {
          s.sequence.set(i, new ArrayList<>(List.of(s.end.memory[i])));
          s.fieldSequence.set(i, new ArrayList<>(List.of(s.end.field[i])));
        }
      }
      s.end.apply(kind, a, b, value);
      if ((kind == EventStore.WRITE || kind == EventStore.READ) && b >= 0) {
        push(s.sequence.get((int) b), (int) value);
      } else if (kind == EventStore.FIELD) {
        push(s.fieldSequence.get((int) a), (int) value);
      }
    });
    return s;
  }

  private static void push(List<Integer> list, int value) {
    if (list.get(list.size() - 1) != value) {
      list.add(value);
    }
  }

  // ---- the table ---------------------------------------------------------------------------------------------------------

  private record Row(Snap snap, int display) {}

  private interface Cell {
    String of(Row r);
  }

  private record Column(String head, boolean always, Cell cell) {}

  Tables table() {
    List<Row> rows = new ArrayList<>();
    for (Snap s : snaps) {
      int displays = s.run.policy().displays().size();
      for (int d = 0; d < Math.max(1, displays); d++) {
        rows.add(new Row(s, displays == 0 ? -1 : d));
      }
    }
    List<Column> columns = new ArrayList<>();
    List<Integer> inputs = new ArrayList<>();
    List<Integer> outputs = new ArrayList<>();
    for (int i = 0; i < recordings.items.size(); i++) {
      char area = recordings.items.get(i).area();
      if (area == 'I') {
        inputs.add(i);
      } else if (area == 'Q') {
        outputs.add(i);
      }
    }
    boolean quiet = true;
    List<Integer> restless = new ArrayList<>();
    for (int i : inputs) {
      if (isRestless(i, rows)) {
        restless.add(i);
        quiet = false;
      }
    }
    for (Element e : elements) {
      quiet &= !isPainted(e) || !isDisputed(e, rows);
    }
    for (int i : quiet ? inputs.subList(0, Math.min(4, inputs.size())) : restless) {
      String name = recordings.items.get(i).path();
      columns.add(new Column("field " + name, true, r -> text(r.snap.end.field[i])));
      columns.add(new Column("memory " + name + " in the scan", true, r -> sequence(r.snap.sequence.get(i))));
    }
    for (Element e : elements) {
      if (isContact(e) && (isDisputed(e, rows) || quiet)) {
        columns.add(new Column(name(e), true, r -> bit(r.snap.end.executed[e.id()])));
      }
    }
    for (int i : outputs) {
      columns.add(new Column(recordings.items.get(i).path(), outputs.size() <= MOST_OUTPUTS, r -> output(r.snap, i)));
    }
    // a program without terminals: show at least its first variables
    int others = 0;
    for (int i = 0; i < recordings.items.size(); i++) {
      int item = i;
      if (recordings.items.get(i).area() != 'I' && recordings.items.get(i).area() != 'Q') {
        columns.add(new Column(recordings.items.get(i).path(), quiet && inputs.isEmpty() && outputs.isEmpty() && others++ < MOST_OUTPUTS,
            r -> text(r.snap.end.memory[item])));
      }
    }
    for (Element e : elements) {
      if (isContact(e) && (isDisputed(e, rows) || quiet)) {
        columns.add(new Column("painted: " + name(e), true, r -> r.display < 0 ? "" : painted(r, e)));
      }
    }
    for (int i : quiet ? inputs.subList(0, Math.min(4, inputs.size())) : restless) {
      columns.add(new Column("shown " + recordings.items.get(i).path(), true, r -> r.display < 0 ? "" : text(r.snap.end.shown[r.display][i])));
    }
    List<Column> kept = new ArrayList<>();
    int left = 0;
    for (Column c : columns) {
      Set<String> values = new LinkedHashSet<>();
      rows.forEach(r -> values.add(c.cell.of(r)));
      if (c.always || values.size() > 1) {
        if (kept.size() < MOST_COLUMNS) {
          kept.add(c);
        } else {
          left++;
        }
      }
    }
    List<String> head = new ArrayList<>(List.of("policy; display"));
    kept.forEach(c -> head.add(c.head));
    List<List<String>> out = new ArrayList<>();
    for (Row r : rows) {
      List<String> line = new ArrayList<>();
      line.add(r.snap.run.name() + (r.display < 0 ? "" : "; " + r.snap.run.policy().displays().get(r.display).name()));
      kept.forEach(c -> line.add(c.cell.of(r)));
      out.add(line);
    }
    String caption = "Scan " + (scan + 1) + ", at its end. Memory in the scan: value before the input refresh, then each new value."
        + (quiet ? " Within every policy field, memory and displays agree." : " A value with ! is painted against what was executed.")
        + (left > 0 ? " " + left + " more columns differ; the page shows them." : "");
    return new Tables(caption, head, out);
  }

  private static boolean isContact(Element e) {
    return e.id() >= 0 && (e.kind() == Element.Kind.CONTACT || e.kind() == Element.Kind.COMPARE);
  }

  private static boolean isPainted(Element e) {
    return e.id() >= 0 && (e.kind() == Element.Kind.CONTACT || e.kind() == Element.Kind.COMPARE || e.kind() == Element.Kind.COIL);
  }

  private boolean isRestless(int item, List<Row> rows) {
    Set<Integer> seen = new LinkedHashSet<>();
    for (Row r : rows) {
      seen.add(r.snap.end.memory[item]);
      seen.add(r.snap.end.field[item]);
      seen.addAll(r.snap.sequence.get(item).subList(r.snap.sequence.get(item).size() > 1 ? 1 : 0, r.snap.sequence.get(item).size()));
      if (r.display >= 0 && r.snap.end.shown[r.display][item] >= 0) {
        seen.add(r.snap.end.shown[r.display][item]);
      }
    }
    return seen.size() > 1;
  }

  private boolean isDisputed(Element e, List<Row> rows) {
    Set<Integer> seen = new LinkedHashSet<>();
    for (Row r : rows) {
      seen.add(r.snap.end.executed[e.id()]);
      if (r.display >= 0 && r.snap.end.painted[r.display][e.id()] >= 0) {
        seen.add(r.snap.end.painted[r.display][e.id()]);
      }
    }
    return seen.size() > 1;
  }

  private String name(Element e) {
    return (recordings.bodies().size() > 1 && severalLadders() ? e.pou() + " " : "") + "net " + e.network() + " " + kindOf(e) + " " + e.title();
  }

  private boolean severalLadders() {
    Set<String> pous = new LinkedHashSet<>();
    elements.forEach(e -> pous.add(e.pou()));
    return pous.size() > 1;
  }

  static String kindOf(Element e) {
    String mark = switch (e.mark().strip()) {
      case "/" -> "negated ";
      case "P" -> "rising-edge ";
      case "N" -> "falling-edge ";
      case "S" -> "set ";
      case "R" -> "reset ";
      default -> "";
    };
    return mark + (e.kind() == Element.Kind.COMPARE ? "compare contact" : Recordings.kind(e));
  }

  private String text(int value) {
    if (value < 0) {
      return "-";
    }
    String t = recordings.store.textAt(value);
    return t.equals("TRUE") ? "1" : t.equals("FALSE") ? "0" : t;
  }

  private static String bit(int b) {
    return b < 0 ? "-" : Integer.toString(b);
  }

  private String sequence(List<Integer> values) {
    StringBuilder b = new StringBuilder();
    for (int i = 0; i < values.size(); i++) {
      if (i == MOST_CHANGES) {
        return b.append(" ... (").append(values.size()).append(" values)").toString();
      }
      b.append(i == 0 ? "" : " ").append(text(values.get(i)));
    }
    return b.toString();
  }

  private String output(Snap s, int item) {
    String memory = text(s.end.memory[item]);
    if (s.fieldSequence.get(item).size() > 2) {
      return memory + " (field " + sequence(s.fieldSequence.get(item)) + ")";
    }
    return s.end.field[item] >= 0 && s.end.field[item] != s.end.memory[item] ? memory + " (field " + text(s.end.field[item]) + ")" : memory;
  }

  private String painted(Row r, Element e) {
    int p = r.snap.end.painted[r.display][e.id()];
    int x = r.snap.end.executed[e.id()];
    return bit(p) + (p >= 0 && x >= 0 && p != x ? "!" : "");
  }

  // ---- what separates -----------------------------------------------------------------------------------------------------

  private static final class Group {
    final List<Integer> runs = new ArrayList<>();
    Recordings.Difference first;
  }

  List<Recordings.Difference> differences() {
    Map<String, Group> groups = new LinkedHashMap<>();
    for (Snap s : snaps) {
      List<ScanPolicy.Display> displays = s.run.policy().displays();
      for (int d = 0; d < displays.size(); d++) {
        for (Element e : elements) {
          if (!isPainted(e)) {
            continue;
          }
          int p = s.end.painted[d][e.id()];
          int x = s.end.executed[e.id()];
          if (p >= 0 && x >= 0 && p != x) {
            String what = name(e) + " is painted " + p + " by the display at " + displays.get(d).name() + ", but was executed as " + x;
            Raw cut = paintedAgainst(s, d, e);
            note(groups, s, what, "", cut, e.id());
          }
        }
      }
      for (int i = 0; i < recordings.items.size(); i++) {
        if (recordings.items.get(i).area() == 'I' && s.end.field[i] >= 0 && s.end.field[i] != s.end.memory[i]) {
          Raw cut = lastWrite(s, i, s.events.size());
          if (cut != null && cut.c == Event.Source.INSTRUCTION.ordinal()) {
            note(groups, s, recordings.items.get(i).path() + " is " + text(s.end.field[i]) + " in the field, but " + text(s.end.memory[i])
                + " in memory at the end of the scan", recordings.items.get(i).path(), cut, -1);
          }
        }
      }
    }
    for (int i = 0; i < recordings.items.size(); i++) {
      across(groups, i);
    }
    List<Recordings.Difference> all = new ArrayList<>();
    for (Group g : groups.values()) {
      Recordings.Difference f = g.first;
      all.add(new Recordings.Difference(f.what(), List.copyOf(g.runs), f.variable(), f.element(), f.scan(), f.step(), f.separation()));
    }
    return all;
  }

  private void note(Map<String, Group> groups, Snap s, String what, String variable, Raw cut, int element) {
    Group g = groups.computeIfAbsent(what, k -> new Group());
    g.runs.add(recordings.runs().indexOf(s.run));
    if (g.first == null) {
      g.first = new Recordings.Difference(what, List.of(), variable, element, scan + 1, cut == null || stepOf(cut) < 0 ? -1 : recordings.steps.get(stepOf(cut)).id(),
          cut == null ? "the sample holds an older scan" : words(cut));
    }
  }

  private static int stepOf(Raw r) {
    return r.kind == EventStore.READ || r.kind == EventStore.WRITE || r.kind == EventStore.ELEMENT ? r.a : -1;
  }

  /** The write to the element's operand between its evaluation and the display's sample. */
  private Raw paintedAgainst(Snap s, int display, Element e) {
    int evaluated = -1;
    int sampled = -1;
    int item = -1;
    for (int i = 0; i < s.events.size(); i++) {
      Raw r = s.events.get(i);
      if (r.kind == EventStore.READ && recordings.steps.get(r.a).element() == e.id()) {
        item = r.b;
        evaluated = i;
      } else if (r.kind == EventStore.ELEMENT && r.b == e.id()) {
        evaluated = item < 0 ? i : evaluated;
      } else if (r.kind == EventStore.WRITE && r.a >= 0 && recordings.steps.get(r.a).element() == e.id() && e.kind() == Element.Kind.COIL) {
        item = r.b;
        evaluated = i;
      } else if (r.kind == EventStore.SAMPLE && r.a == display) {
        sampled = i;
      }
    }
    if (item < 0 || evaluated < 0 || sampled < 0) {
      return null;
    }
    Raw cut = null;
    // a coil that was evaluated after the sample separates itself: it wrote what the sample does not hold yet
    int until = evaluated > sampled && e.kind() == Element.Kind.COIL ? evaluated + 1 : Math.max(evaluated, sampled);
    for (int i = Math.min(evaluated, sampled) + 1; i < until; i++) {
      Raw r = s.events.get(i);
      if (r.kind == EventStore.WRITE && r.b == item && (cut == null || r.value != cut.value)) {
        cut = r;
      }
    }
    return cut;
  }

  private static Raw lastWrite(Snap s, int item, int before) {
    for (int i = Math.min(before, s.events.size()) - 1; i >= 0; i--) {
      Raw r = s.events.get(i);
      if (r.kind == EventStore.WRITE && r.b == item) {
        return r;
      }
    }
    return null;
  }

  private static int lastWriteIndex(Snap s, int item, int before) {
    for (int i = Math.min(before, s.events.size()) - 1; i >= 0; i--) {
      Raw r = s.events.get(i);
      if (r.kind == EventStore.WRITE && r.b == item) {
        return i;
      }
    }
    return -1;
  }

  /** A variable that has different values under different policies at the end of the scan. */
  private void across(Map<String, Group> groups, int item) {
    if (recordings.items.get(item).area() == 'I' || snaps.isEmpty()) {
      return;
    }
    Snap base = snaps.get(0);
    for (int k = 1; k < snaps.size(); k++) {
      Snap other = snaps.get(k);
      if (base.end.memory[item] == other.end.memory[item] && base.fieldSequence.get(item).equals(other.fieldSequence.get(item))) {
        continue;
      }
      boolean field = base.end.memory[item] == other.end.memory[item];
      String path = recordings.items.get(item).path();
      String what = field
          ? path + " moves in the field as " + sequence(base.fieldSequence.get(item)) + " under " + base.run.name() + ", as "
              + sequence(other.fieldSequence.get(item)) + " under other policies"
          : path + " is " + text(other.end.memory[item]) + ", but " + text(base.end.memory[item]) + " under " + base.run.name();
      Parting p = field ? new Parting(-1, "the terminal follows every write, not the delivery after the program") : part(base, other, item, 0);
      Group g = groups.computeIfAbsent(what, x -> new Group());
      g.runs.add(recordings.runs().indexOf(other.run));
      if (g.first == null) {
        g.first = new Recordings.Difference(what, List.of(), path, -1, scan + 1, p.step, p.words);
      }
    }
  }

  private record Parting(int step, String words) {}

  /** Follows the last writes of a variable back to the read that saw different values, and says who had written them. */
  private Parting part(Snap a, Snap b, int item, int depth) {
    return part(a, b, item, a.events.size(), b.events.size(), depth);
  }

  private Parting part(Snap a, Snap b, int item, int beforeA, int beforeB, int depth) {
    int x = lastWriteIndex(a, item, beforeA);
    int y = lastWriteIndex(b, item, beforeB);
    if (x < 0 && y < 0) {
      return new Parting(-1, "the difference is older than this scan");
    }
    Raw wa = x < 0 ? null : a.events.get(x);
    Raw wb = y < 0 ? null : b.events.get(y);
    if (wa == null || wb == null || wa.a != wb.a || wa.c != wb.c || depth > 50) {
      String path = recordings.items.get(item).path();
      Raw known = wa != null && stepOf(wa) >= 0 ? wa : wb != null && stepOf(wb) >= 0 ? wb : null;
      return new Parting(known == null ? -1 : recordings.steps.get(known.a).id(), "the last write of " + path + " before this was, under " + a.run.name() + ": "
          + (wa == null ? "none in this scan" : words(wa)) + "; under " + b.run.name() + ": " + (wb == null ? "none in this scan" : words(wb)));
    }
    // the same step wrote different values: it, or its network, read something different
    int element = stepOf(wa) < 0 ? -1 : recordings.steps.get(wa.a).network();
    List<Integer> readsA = readsFor(a, x, element);
    List<Integer> readsB = readsFor(b, y, element);
    for (int i = 0; i < Math.min(readsA.size(), readsB.size()); i++) {
      Raw ra = a.events.get(readsA.get(i));
      Raw rb = b.events.get(readsB.get(i));
      if (ra.a != rb.a || ra.b != rb.b) {
        break;
      }
      if (ra.value != rb.value) {
        Parting inner = part(a, b, ra.b, readsA.get(i), readsB.get(i), depth + 1);
        StepInfo s = recordings.steps.get(ra.a);
        boolean same = inner.step >= 0 && depth < 50 && inner.words.startsWith("at ");
        return same ? inner : new Parting(s.id(), "at " + s.span().place() + " " + subject(s) + " reads " + recordings.items.get(ra.b).path() + ": " + text(ra.value)
            + " under " + a.run.name() + ", " + text(rb.value) + " under " + b.run.name() + "; " + inner.words);
      }
    }
    StepInfo s = recordings.steps.get(Math.max(0, wa.a));
    return new Parting(s.id(), "at " + s.span().place() + " the same step writes different values");
  }

  /** Reads that a write rests on: those of its ladder network, or since the write before it. */
  private List<Integer> readsFor(Snap s, int write, int network) {
    List<Integer> reads = new ArrayList<>();
    String body = stepOf(s.events.get(write)) < 0 ? "" : recordings.steps.get(s.events.get(write).a).body();
    for (int i = write - 1; i >= 0; i--) {
      Raw r = s.events.get(i);
      if (stepOf(r) < 0) {
        continue;
      }
      StepInfo info = recordings.steps.get(r.a);
      if (!info.body().equals(body)) {
        continue;
      }
      if (network > 0 ? info.network() != network : r.kind == EventStore.WRITE && r.c == 0) {
        break;
      }
      if (r.kind == EventStore.READ) {
        reads.add(0, i);
      }
    }
    return reads;
  }

  private String subject(StepInfo s) {
    if (s.element() >= 0) {
      Element e = elements.get(s.element());
      return "network " + e.network() + ", " + kindOf(e) + " " + e.title() + ",";
    }
    return "the statement";
  }

  private String words(Raw r) {
    String path = r.b >= 0 ? recordings.items.get(r.b).path() : "a temporary";
    if (r.a >= 0 && r.c == Event.Source.INSTRUCTION.ordinal()) {
      StepInfo s = recordings.steps.get(r.a);
      return s.span().place() + ": " + subject(s) + " writes " + path + " := " + text(r.value);
    }
    if (r.c == Event.Source.TASK_IMAGE.ordinal()) {
      return "another copy of the process image shows " + path + " = " + text(r.value);
    }
    String who = Event.Source.values()[r.c].name().toLowerCase(java.util.Locale.ROOT).replace('_', ' ');
    return "the " + who + " stores " + path + " := " + text(r.value);
  }
}
