package dev.scanloom.explain;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.explain.Evidence.Decision;
import dev.scanloom.explain.Evidence.Logged;
import dev.scanloom.explain.Evidence.Moment;
import dev.scanloom.explain.Evidence.Read;
import dev.scanloom.explain.Evidence.Value;
import dev.scanloom.explain.Evidence.Write;
import dev.scanloom.explain.Evidence.Writer;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;

/**
 * Records, while a controller runs, who wrote every variable and terminal last and why, and answers with {@link Explanation}s. It is no
 * trace: what no longer matters to a value kept is forgotten.
 *
 * <p>Kept in full are the last scans (by default {@value #SCANS}), within a bound on their number of facts; of every variable also the
 * last write, however old it is. Anything older ends as a fact of kind {@link Fact.Kind#OLDER} that still names scan and source. Attach
 * it before the first scan: what happened earlier is told as {@code OLDER}. After {@link Controller#restore} a new one is needed.
 *
 * <p>Confined to the controller's thread.
 */
public final class Provenance implements Observer {
  /** Scans kept when nothing else is said. */
  public static final int SCANS = 100;

  /** Nodes of evidence kept at most; about 100 bytes each. */
  static final int NODES = 2_000_000;

  /** What a place holds at present, for values that nobody has written. */
  interface Present {
    long bits(boolean field, String name, long address);

    /** A string as a literal; empty for other variables. */
    default Optional<String> text(boolean field, String name) {
      return Optional.empty();
    }
  }

  /** The end of a scan and, before it, its output refresh. */
  private record End(long scan, long sequence, Refresh refresh) {}

  private record Refresh(long scan, long ordinal, long time, long sequence) {}

  /** The latest evaluation of a ladder element. */
  record Evaluation(Moment moment, int step, boolean test, boolean power, Value value, Decision control) {}

  private final Names names;
  private final Present present;
  private final int scans;
  private final int nodes;
  private final Locations memory;
  private final Locations field;
  private final List<Shadow> shadows = new ArrayList<>();
  private final ArrayDeque<Logged> log = new ArrayDeque<>();
  private final ArrayDeque<End> ends = new ArrayDeque<>();
  private final TreeMap<Integer, Evaluation> evaluations = new TreeMap<>();
  private final Moment now = new Moment();
  private long since;
  private long sequence;
  private long cost;
  private int pending;
  private long firstKept = 1;
  private int stamp;
  private ScanPolicy policy;
  private Event.Phase phase = Event.Phase.HOUSEKEEPING;
  private boolean inScan;
  private Refresh refresh;

  /** Sequences at which the copy of a task, by index + 1, came into view and left it last. */
  private final TreeMap<Integer, long[]> images = new TreeMap<>();
  private int imageTask = Integer.MIN_VALUE;
  private String imageMove = "";
  private long imageSequence;

  private Provenance(Names names, Present present, int scans, int nodes) {
    if (scans < 0) {
      throw new IllegalArgumentException("the number of scans to keep must not be negative: " + scans);
    }
    this.names = names;
    this.present = present;
    this.scans = scans;
    this.nodes = nodes;
    // what a task's copy held before is asked for also when no older scan is kept
    this.memory = new Locations(true);
    this.field = new Locations(scans > 0);
  }

  /** A recorder that is attached to a controller; keeps {@value #SCANS} scans. */
  public static Provenance of(Controller controller) {
    return of(controller, SCANS);
  }

  /**
   * A recorder that is attached to a controller.
   *
   * @param scans scans to keep; 0 for the cheapest: only <em>why now</em> can be asked, and chains end in the scan before
   * @throws IllegalArgumentException for a negative number
   */
  public static Provenance of(Controller controller, int scans) {
    CompiledProgram program = controller.program();
    Provenance p = new Provenance(new Names(Names.of(program)), new Present() {
      @Override
      public long bits(boolean field, String name, long address) {
        Variable v = controller.variable(name);
        return v.type().isString() ? 0 : (field ? controller.field() : controller.memory()).bits(v);
      }

      @Override
      public Optional<String> text(boolean field, String name) {
        Variable v = controller.variable(name);
        return v.type().isString() ? Optional.of(controller.memory().text(v)) : Optional.empty();
      }
    }, scans, NODES);
    p.since = controller.scans() + (controller.isInScan() ? 1 : 0);
    p.policy = controller.policy();
    p.now.scan = controller.scans();
    p.now.time = controller.time();
    controller.attach(p);
    return p;
  }

  /** For tests: over a table instead of a program, attached to nothing. */
  static Provenance of(Names.Source source, Present present, int scans, int nodes) {
    return new Provenance(new Names(source), present, scans, nodes);
  }

  @Override
  public Set<EventKind> wants() {
    return EnumSet.of(EventKind.SCAN_START, EventKind.SCAN_END, EventKind.PHASE, EventKind.TASK, EventKind.STEP, EventKind.READ, EventKind.WRITE,
        EventKind.ELEMENT, EventKind.FIELD, EventKind.FAULT);
  }

  private Shadow shadow(int task) {
    while (shadows.size() <= task + 1) {
      shadows.add(new Shadow());
    }
    return shadows.get(task + 1);
  }

  @Override
  public void on(Event e) {
    now.scan = e.scan();
    // between scans there is no step to be counted from
    now.ordinal = inScan || e.kind() == EventKind.SCAN_START || policy == null ? e.ordinal() : 0;
    now.time = e.time();
    switch (e.kind()) {
      case SCAN_START -> {
        inScan = true;
        expire(e.scan() - Math.max(1, scans));
      }
      case PHASE -> {
        phase = e.phase();
        if (phase == Event.Phase.OUTPUT_REFRESH) {
          refresh = new Refresh(e.scan(), e.ordinal(), e.time(), sequence);
        }
      }
      case SCAN_END -> {
        inScan = false;
        ends.addLast(new End(e.scan(), sequence, refresh));
        while (ends.size() > Math.max(1, scans)) {
          ends.removeFirst();
        }
      }
      case STEP -> {
        pending++;
        Decision d = shadow(e.task()).begin(e, names.step(e.step()), now);
        if (d != null) {
          keep(d);
        }
      }
      case READ -> {
        pending++;
        shadow(e.task()).read(e, memory.seen(e.address(), e.width()), now);
      }
      case WRITE -> write(e);
      case FIELD -> change(e);
      case ELEMENT -> evaluate(e);
      case FAULT -> {
        inScan = false;
        shadow(e.task()).reset();
      }
      case TASK -> {
        if (e.detail().equals("start")) {
          images.put(e.task(), new long[] {sequence, sequence});
        }
      }
      case SAMPLE -> { }
    }
  }

  private void keep(Logged l) {
    l.cost = pending + 2;
    pending = 0;
    cost += l.cost;
    log.addLast(l);
    while (cost > nodes && !log.isEmpty()) {
      firstKept = Math.max(firstKept, log.peekFirst().scan + 1);
      forgetFirst();
    }
  }

  private void expire(long before) {
    while (!log.isEmpty() && log.peekFirst().scan <= before) {
      forgetFirst();
    }
    firstKept = Math.max(firstKept, before + 1);
  }

  private void forgetFirst() {
    Logged l = log.removeFirst();
    cost -= l.cost;
    l.expired = true;
    if (l instanceof Write w) {
      w.previous = null;
    }
    if (!l.isCurrent()) {
      l.collapse();
    }
  }

  private void write(Event e) {
    Writer writer = switch (e.source()) {
      case INSTRUCTION -> Writer.INSTRUCTION;
      case INPUT_REFRESH -> Writer.INPUT_REFRESH;
      case EXTERNAL_WRITE -> Writer.EXTERNAL_WRITE;
      case FORCE -> Writer.FORCE;
      case INITIALIZATION -> Writer.INITIALIZATION;
      case RETAINED -> Writer.RETAINED;
      case TASK_IMAGE -> Writer.TASK_IMAGE;
    };
    if (e.step() < 0 && (writer == Writer.INITIALIZATION || writer == Writer.RETAINED)) {
      // a restart: no call survives it
      shadows.clear();
    }
    long until = writer == Writer.TASK_IMAGE ? imageMoved(e) : 0;
    Write w = new Write(now, e.step(), e.address(), e.width(), e.before(), e.after(), writer, ++sequence);
    if (writer == Writer.TASK_IMAGE) {
      w.value = heldBefore(e, until);
    } else if (writer == Writer.INSTRUCTION) {
      Shadow s = shadow(e.task());
      w.value = s.written(e.address(), now, memory);
      if (w.value instanceof Read r && r.width == 64 && r.step == s.step() && s.kind() == StepInfo.Kind.COPY && r.bits == 0) {
        r.bits = e.after();
      }
      w.pointer = s.writtenThrough();
      w.control = s.control();
    } else if (writer == Writer.INPUT_REFRESH) {
      w.value = readBack(e, field, true);
      InputAcquisition a = policy == null ? null : acquisition((int) (Locations.bit(e.address()) / 8));
      w.occasion = occasion(Event.Phase.INPUT_REFRESH, a != null && a.atRefresh(e.scan()), a != null && a.watchesReads());
    }
    w.between = !inScan;
    memory.put(w);
    keep(w);
  }

  /** Until when the image that comes into view had been there the last time. One move is told bit by bit. */
  private long imageMoved(Event e) {
    long[] at = images.computeIfAbsent(e.task(), t -> new long[2]);
    int mine = e.detail().equals("in") ? 0 : 1;
    if (imageTask != e.task() || !imageMove.equals(e.detail()) || imageSequence != sequence) {
      at[mine] = sequence;
    }
    imageTask = e.task();
    imageMove = e.detail();
    imageSequence = sequence + 1;
    return at[1 - mine];
  }

  /** Evidence of what an image held when it was in view the last time: its writers are those of then. */
  private Read heldBefore(Event e, long until) {
    Read r = new Read(-1, false);
    r.scan = now.scan;
    r.ordinal = now.ordinal;
    r.time = now.time;
    r.address = e.address();
    r.width = e.width();
    r.bits = e.after();
    r.seen = Evidence.origins(memory.seen(e.address(), e.width(), until), e.address(), e.width());
    return r;
  }

  private void change(Event e) {
    boolean output = Locations.area(e.address()) == 2;
    Writer writer = e.source() == Event.Source.FORCE ? Writer.FORCE : output ? Writer.DELIVERY : Writer.FIELD_CHANGE;
    Write w = new Write(now, e.step(), e.address(), e.width(), e.before(), e.after(), writer, ++sequence);
    if (output) {
      w.value = readBack(e, memory, false);
      OutputDelivery d = policy == null ? null : delivery((int) (Locations.bit(e.address()) / 8));
      w.occasion = occasion(Event.Phase.OUTPUT_REFRESH, d != null && d.atRefresh(e.scan()), d != null && d.watchesWrites());
    }
    w.between = !inScan;
    field.put(w);
    keep(w);
  }

  private Evidence.Occasion occasion(Event.Phase mine, boolean atRefresh, boolean atAccess) {
    if (policy == null) {
      return now.ordinal == 0 || mine == Event.Phase.OUTPUT_REFRESH ? Evidence.Occasion.PHASE : Evidence.Occasion.ACCESS;
    }
    return phase == mine && atRefresh ? Evidence.Occasion.PHASE
        : phase == Event.Phase.PROGRAM && atRefresh && !policy.images().equals(ProcessImages.shared()) ? Evidence.Occasion.TASK
        : phase == Event.Phase.PROGRAM && atAccess ? Evidence.Occasion.ACCESS : Evidence.Occasion.SUBSYSTEM;
  }

  private InputAcquisition acquisition(int at) {
    InputAcquisition found = null;
    for (ScanPolicy.Inputs r : policy.inputs()) {
      found = r.from() <= at && at <= r.to() ? r.acquisition() : found;
    }
    return found;
  }

  private OutputDelivery delivery(int at) {
    OutputDelivery found = null;
    for (ScanPolicy.Outputs r : policy.outputs()) {
      found = r.from() <= at && at <= r.to() ? r.delivery() : found;
    }
    return found;
  }

  private Read readBack(Event e, Locations from, boolean terminal) {
    Read r = new Read(-1, terminal);
    r.scan = now.scan;
    r.ordinal = now.ordinal;
    r.time = now.time;
    r.address = e.address();
    r.width = e.width();
    r.bits = e.after();
    r.seen = from.seen(e.address(), e.width());
    return r;
  }

  private void evaluate(Event e) {
    Shadow s = shadow(e.task());
    Moment m = new Moment();
    m.scan = e.scan();
    m.ordinal = e.ordinal();
    m.time = e.time();
    evaluations.put(e.element(), new Evaluation(m, e.step(), e.test(), e.power(), s.peek(), s.control()));
  }

  // ---- questions ----

  /** Why a variable holds its value in memory now. */
  public Explanation why(Variable variable) {
    return explain(false, variable.path(), variable.address(), variable.width(), Long.MAX_VALUE, now.scan);
  }

  /**
   * Why a variable held its value in memory when a scan had ended.
   *
   * @throws IllegalArgumentException when that scan has not ended yet or is older than what is kept; the message tells what is
   */
  public Explanation why(Variable variable, long scan) {
    return explain(false, variable.path(), variable.address(), variable.width(), endOf(scan), scan);
  }

  /**
   * Why a terminal has its value now.
   *
   * @throws IllegalArgumentException when the variable is not at an input or output location
   */
  public Explanation whyField(Variable variable) {
    checkTerminal(variable);
    return explain(true, variable.path(), variable.address(), variable.width(), Long.MAX_VALUE, now.scan);
  }

  /**
   * Why a terminal had its value when a scan had ended.
   *
   * @throws IllegalArgumentException as {@link #why(Variable, long)} and {@link #whyField(Variable)}
   */
  public Explanation whyField(Variable variable, long scan) {
    checkTerminal(variable);
    return explain(true, variable.path(), variable.address(), variable.width(), endOf(scan), scan);
  }

  /**
   * Why a ladder element had the state at its right link when it was last evaluated.
   *
   * @throws IllegalArgumentException when it has not been evaluated
   */
  public Explanation whyElement(int element) {
    Evaluation v = evaluations.get(element);
    if (v == null) {
      throw new IllegalArgumentException("ladder element " + element + " has not been evaluated");
    }
    return new Explaining(names, ++stamp, v.moment().scan, since, List.of()).element(element, v);
  }

  /** The same by address, for tests too. */
  Explanation explain(boolean terminal, String name, long address, int width, long until, long scan) {
    Locations place = terminal ? field : memory;
    Read root = new Read(-1, terminal);
    root.scan = scan;
    root.time = now.time;
    root.address = address;
    root.width = width;
    root.seen = place.seen(address, width, until);
    root.bits = place.value(address, width, until, present.bits(terminal, name, address));
    Optional<Read> image = Optional.empty();
    if (terminal && Locations.area(address) == 2) {
      long delivered = latest(root.seen);
      Optional<Write> again = delivery(root, delivered, until, name);
      if (again.isPresent()) {
        root.seen = new Write[] {again.get()};
      } else {
        Read r = memoryRead(address, width, until, name, now);
        image = latest(r.seen) > delivered ? Optional.of(r) : image;
      }
    }
    String when = scan == 0 ? "before the first scan" : until != Long.MAX_VALUE ? "at the end of scan " + scan : inScan ? "now, in scan "
        + scan
        : "after scan " + scan;
    return new Explaining(names, ++stamp, scan, since, decisions(scan)).variable(name, root, image, when,
        until == Long.MAX_VALUE ? present.text(terminal, name) : Optional.empty());
  }

  private Read memoryRead(long address, int width, long until, String name, Moment m) {
    Read r = new Read(-1, false);
    r.scan = m.scan;
    r.ordinal = m.ordinal;
    r.time = m.time;
    r.address = address;
    r.width = width;
    r.seen = memory.seen(address, width, until);
    r.bits = memory.value(address, width, until, present.bits(false, name, address));
    return r;
  }

  /**
   * The latest delivery to an output terminal when it changed nothing and so was not reported: by the last refresh phase, or by the last
   * write.
   */
  private Optional<Write> delivery(Read root, long reported, long until, String name) {
    OutputDelivery d = policy == null ? null : delivery((int) (Locations.bit(root.address) / 8));
    if (d == null) {
      return Optional.empty();
    }
    Refresh at = refresh;
    for (End e : ends) {
      at = until != Long.MAX_VALUE && e.sequence() == until && e.scan() == root.scan ? e.refresh() : at;
    }
    Moment m = new Moment();
    Evidence.Occasion occasion;
    Read r;
    if (at != null && d.atRefresh(at.scan()) && at.sequence() >= reported) {
      m.scan = at.scan();
      m.ordinal = at.ordinal();
      m.time = at.time();
      r = memoryRead(root.address, root.width, at.sequence(), name, m);
      occasion = Evidence.Occasion.PHASE;
    } else if (d.watchesWrites()) {
      r = memoryRead(root.address, root.width, until, name, m);
      if (r.seen.length != 1 || r.seen[0] == null || r.seen[0].writer != Writer.INSTRUCTION || r.seen[0].sequence < reported) {
        return Optional.empty();
      }
      m.scan = r.seen[0].scan;
      m.ordinal = r.seen[0].ordinal;
      m.time = r.seen[0].time;
      occasion = Evidence.Occasion.ACCESS;
    } else {
      return Optional.empty();
    }
    if (r.bits != root.bits) {
      // a force holds the terminal
      return Optional.empty();
    }
    Write w = new Write(m, -1, root.address, root.width, r.bits, r.bits, Writer.DELIVERY, reported);
    w.value = r;
    w.occasion = occasion;
    return Optional.of(w);
  }

  private static long latest(Write[] writes) {
    long n = 0;
    for (Write w : writes) {
      n = w == null ? n : Math.max(n, w.sequence);
    }
    return n;
  }

  long endOfScan(long scan) {
    return endOf(scan);
  }

  private static void checkTerminal(Variable variable) {
    if (variable.area() != 'I' && variable.area() != 'Q') {
      throw new IllegalArgumentException(variable.path() + " has no terminal; terminals are at %I and %Q");
    }
  }

  private long endOf(long scan) {
    for (End e : ends) {
      if (e.scan() == scan && scan >= firstKept) {
        return e.sequence();
      }
    }
    if (ends.isEmpty() || scan > ends.peekLast().scan()) {
      throw new IllegalArgumentException("scan " + scan + " has not ended; the last one that has is " + (ends.isEmpty() ? 0
          : ends.peekLast().scan()));
    }
    throw new IllegalArgumentException("scan " + scan + " is older than what is kept; the oldest scan kept is "
        + Math.max(firstKept, ends.peekFirst().scan()));
  }

  /** Nodes of evidence kept. */
  long kept() {
    return cost;
  }

  /** Branches of a scan that are kept, oldest first. */
  private List<Decision> decisions(long scan) {
    List<Decision> all = new ArrayList<>();
    for (Logged l : log) {
      if (l.scan == scan && l instanceof Decision d && !d.ofCall && !d.collapsed) {
        all.add(d);
      }
    }
    return all;
  }
}
