package dev.scanloom.internal.scan;

import dev.scanloom.internal.step.Extent;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Set;

/** Hands events to observers. One object is the event, reused; fields that do not belong to a kind are reset. */
final class Events implements Event {
  private static final EventKind[] KINDS = EventKind.values();
  private static final Observer[] NONE = new Observer[0];
  private static final long[] NO_STACK = new long[0];
  private static final Set<EventKind> FOLLOWING = EnumSet.of(EventKind.STEP, EventKind.READ, EventKind.ELEMENT);

  private static final Set<EventKind> OF_A_VARIABLE = EnumSet.of(EventKind.READ, EventKind.WRITE, EventKind.FIELD, EventKind.SAMPLE);

  private final Clock clock;
  private final List<Observer> observers = new ArrayList<>();
  private final List<Set<EventKind>> wishes = new ArrayList<>();
  private final List<List<Extent>> watches = new ArrayList<>();
  private final Observer[][] byKind = new Observer[KINDS.length][];
  private final Set<EventKind> wanted = EnumSet.noneOf(EventKind.class);
  /** Told of all but steps, reads, elements and writes by steps. */
  private Observer outline;
  /** A bit for every kind that somebody wants, by ordinal. */
  private int mask;
  private boolean busy;

  // Where the run stands.
  long scan;
  long stepsInScan;
  int task = -1;

  // The event.
  private EventKind kind = EventKind.SCAN_START;
  private long ordinal;
  private int step;
  private long address;
  private int width;
  private long before;
  private long after;
  private Source source = Source.INSTRUCTION;
  private int element;
  private boolean test;
  private boolean power;
  private Phase phase = Phase.INPUT_REFRESH;
  private String detail = "";
  private long[] stack = NO_STACK;
  private int sp;

  Events(Clock clock) {
    this.clock = clock;
    Arrays.fill(byKind, NONE);
  }

  void attach(Observer o) {
    attach(o, null);
  }

  /** {@code only}: the variables whose events it is told of, of the kinds that have one; null for all. */
  void attach(Observer o, List<Extent> only) {
    observers.add(o);
    wishes.add(Set.copyOf(o.wants()));
    watches.add(only);
    rebuild();
  }

  /** Passes on what is about watched variables. */
  private record Filter(Observer observer, List<Extent> watched) implements Observer {

    @Override
    public Set<EventKind> wants() {
      return observer.wants();
    }

    @Override
    public void on(Event e) {
      if (Extent.anyOverlaps(watched, e.address(), e.width())) {
        observer.on(e);
      }
    }
  }

  /** The variables of all watches whose observers want writes. */
  List<Extent> watched() {
    List<Extent> all = new ArrayList<>();
    for (int i = 0; i < observers.size(); i++) {
      if (watches.get(i) != null && wishes.get(i).contains(EventKind.WRITE)) {
        all.addAll(watches.get(i));
      }
    }
    return all;
  }

  void detach(Observer o) {
    int at = observers.indexOf(o);
    if (at >= 0) {
      observers.remove(at);
      wishes.remove(at);
      watches.remove(at);
      rebuild();
    }
  }

  /** The observer that is told the outline only; null for none. */
  void setOutline(Observer o) {
    outline = o;
    rebuild();
  }

  private void rebuild() {
    wanted.clear();
    mask = 0;
    for (EventKind k : KINDS) {
      List<Observer> list = new ArrayList<>();
      for (int i = 0; i < observers.size(); i++) {
        List<Extent> w = watches.get(i);
        if (!wishes.get(i).contains(k)) {
          continue;
        }
        list.add(w != null && OF_A_VARIABLE.contains(k) ? new Filter(observers.get(i), w) : observers.get(i));
        if (w == null || k != EventKind.WRITE) {
          wanted.add(k);
        }
      }
      byKind[k.ordinal()] = list.toArray(NONE);
      if (!list.isEmpty() || outline != null && !FOLLOWING.contains(k)) {
        mask |= 1 << k.ordinal();
      }
    }
  }

  /** Kinds that observers want of steps, except writes of watched variables alone; live. */
  Set<EventKind> wanted() {
    return wanted;
  }

  boolean wants(EventKind k) {
    return (mask >>> k.ordinal() & 1) != 0;
  }

  /** Somebody wants each sample, not only to know that a display sampled. */
  boolean wantsEverySample() {
    return wanted.contains(EventKind.SAMPLE);
  }

  /** An observer is being told of an event. */
  boolean isBusy() {
    return busy;
  }

  private void reset(EventKind k) {
    kind = k;
    ordinal = stepsInScan;
    step = -1;
    address = 0;
    width = 0;
    before = 0;
    after = 0;
    source = Source.INSTRUCTION;
    element = -1;
    test = false;
    power = false;
    phase = Phase.PROGRAM;
    detail = "";
    stack = NO_STACK;
    sp = 0;
  }

  private void tell() {
    busy = true;
    try {
      for (Observer o : byKind[kind.ordinal()]) {
        o.on(this);
      }
      if (outline != null && !FOLLOWING.contains(kind) && (kind != EventKind.WRITE || step < 0)) {
        outline.on(this);
      }
    } finally {
      busy = false;
    }
  }

  void scan(boolean start) {
    EventKind k = start ? EventKind.SCAN_START : EventKind.SCAN_END;
    if (wants(k)) {
      reset(k);
      tell();
    }
  }

  void phase(Phase p) {
    if (wants(EventKind.PHASE)) {
      reset(EventKind.PHASE);
      phase = p;
      tell();
    }
  }

  void task(int index, String what) {
    if (wants(EventKind.TASK)) {
      int current = task;
      task = index;
      reset(EventKind.TASK);
      detail = what;
      tell();
      task = current;
    }
  }

  void step(int number, long stepOrdinal, long[] operands, int top) {
    if (wants(EventKind.STEP)) {
      reset(EventKind.STEP);
      step = number;
      ordinal = stepOrdinal;
      stack = operands;
      sp = top;
      tell();
    }
  }

  void read(int number, long stepOrdinal, long at, int bits, long value) {
    if (wants(EventKind.READ)) {
      reset(EventKind.READ);
      step = number;
      ordinal = stepOrdinal;
      address = at;
      width = bits;
      before = value;
      after = value;
      tell();
    }
  }

  /** {@code number} -1 when no step wrote; then the ordinal is that of the last step. */
  void write(int number, long stepOrdinal, long at, int bits, long old, long value, Source who) {
    if (wants(EventKind.WRITE)) {
      reset(EventKind.WRITE);
      step = number;
      if (number >= 0) {
        ordinal = stepOrdinal;
      }
      address = at;
      width = bits;
      before = old;
      after = value;
      source = who;
      tell();
    }
  }

  /** A copy of the process image came into view or left it; {@code index} is its task. */
  void image(int index, long at, int bits, long old, long value, String what) {
    int current = task;
    task = index;
    reset(EventKind.WRITE);
    address = at;
    width = bits;
    before = old;
    after = value;
    source = Source.TASK_IMAGE;
    detail = what;
    tell();
    task = current;
  }

  void element(int number, long stepOrdinal, int id, boolean decided, boolean right) {
    if (wants(EventKind.ELEMENT)) {
      reset(EventKind.ELEMENT);
      step = number;
      ordinal = stepOrdinal;
      element = id;
      test = decided;
      power = right;
      tell();
    }
  }

  void field(long at, int bits, long old, long value, Source who) {
    if (wants(EventKind.FIELD)) {
      reset(EventKind.FIELD);
      address = at;
      width = bits;
      before = old;
      after = value;
      source = who;
      tell();
    }
  }

  void sample(String display, int item, long at, int bits, long value) {
    if (wants(EventKind.SAMPLE)) {
      reset(EventKind.SAMPLE);
      detail = display;
      element = item;
      address = at;
      width = bits;
      before = value;
      after = value;
      tell();
    }
  }

  void fault(int number, long stepOrdinal, String text) {
    if (wants(EventKind.FAULT)) {
      reset(EventKind.FAULT);
      step = number;
      ordinal = stepOrdinal;
      detail = text;
      tell();
    }
  }

  @Override
  public EventKind kind() {
    return kind;
  }

  @Override
  public long scan() {
    return scan;
  }

  @Override
  public long ordinal() {
    return ordinal;
  }

  @Override
  public long time() {
    return clock.now;
  }

  @Override
  public int task() {
    return task;
  }

  @Override
  public int step() {
    return step;
  }

  @Override
  public long address() {
    return address;
  }

  @Override
  public int width() {
    return width;
  }

  @Override
  public long before() {
    return before;
  }

  @Override
  public long after() {
    return after;
  }

  @Override
  public Source source() {
    return source;
  }

  @Override
  public int element() {
    return element;
  }

  @Override
  public boolean test() {
    return test;
  }

  @Override
  public boolean power() {
    return power;
  }

  @Override
  public Phase phase() {
    return phase;
  }

  @Override
  public String detail() {
    return detail;
  }

  @Override
  public long operand(int fromTop) {
    int at = sp - 1 - fromTop;
    return fromTop >= 0 && at >= 0 && at < stack.length ? stack[at] : 0;
  }
}
