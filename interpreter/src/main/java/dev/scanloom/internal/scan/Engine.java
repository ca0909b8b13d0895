package dev.scanloom.internal.scan;

import dev.scanloom.internal.bytecode.CompiledExecutor;
import dev.scanloom.internal.bytecode.Translation;
import dev.scanloom.internal.exec.Condensation;
import dev.scanloom.internal.exec.EventSink;
import dev.scanloom.internal.exec.StepFault;
import dev.scanloom.internal.exec.SteppingExecutor;
import dev.scanloom.internal.exec.SteppingExecutor.Outcome;
import dev.scanloom.internal.exec.Supervisor;
import dev.scanloom.internal.memory.Bits;
import dev.scanloom.internal.memory.Inventory;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Extent;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.observe.Event.Phase;
import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Set;

/**
 * One machine: memory, field, displays and tasks under a scan policy. Owns the virtual clock and decides what happens when:
 *
 * <p>Scan: input refresh; displays that sample at scan start; the programs of the due tasks; displays that sample at scan end; output refresh;
 * housekeeping, where external writes land. What a phase does is done at its start, then its cost passes. Between any two steps, and while time
 * passes, everything else whose time has come happens, in this order at equal times: the host's field changes, external writes, input copies, output
 * copies, display samples, releases of tasks.
 *
 * <p>Tasks (IEC 61131-3, 2.7.2 of edition 2, 6.8.2 of edition 3; from memory): when a scan begins, every task that is due is released. Of the tasks that wait
 * the one with the highest priority runs, of equal ones the one that has waited longest. A task that becomes due while a scan runs interrupts the
 * running one if the policy says so; it takes part in the scan if it is more urgent than what the scan still has to do, else it waits for the next one,
 * so that every scan ends and inputs are read again (choice). A task that becomes due while it waits loses that activation; while it runs, one
 * activation is remembered (choice).
 *
 * <p>Confined to one thread, {@link #interrupt()} apart.
 */
public final class Engine implements Supervisor, EventSink {
  private final Code code;
  private final Limits limits;
  private final ScanPolicy policy;
  private final CostModel costs;
  private final ExternalWrites externalWrites;
  private final Memory memory;
  private final Clock clock = new Clock();
  private final Events events = new Events(clock);
  private final Forces forces = new Forces();
  private final TaskImages images;
  private final Terminals terminals;
  private final Screen[] screens;
  private final long[] operands;
  private final Pending fieldChanges = new Pending();
  private final Pending writes = new Pending();
  private final SteppingExecutor executor;
  private final Translation translation;
  private final long[] stepCosts;
  private CompiledExecutor compiled;
  private Inventory inventory;
  /** Tasks may wait for locks. */
  private final boolean locks;
  /** Was due again too early, and that is a fault; dealt with before the next step. */
  private Job overrun;
  private long stepsInAll;
  /** Why the last body was executed step by step; null when it was not. */
  private String stepping = "nothing has run yet";
  private final Job[] jobs;
  /** Jobs between start and end, the one that runs last. */
  private final Job[] running;
  private final boolean[] negated;

  private final boolean[] elementTest;
  private final boolean[] elementPower;
  private final Set<EventKind> wanted = EnumSet.noneOf(EventKind.class);
  private final boolean watchesSingles;
  /** Who holds a mutex has the priority of those that wait for it. */
  private final boolean inherits;
  private final Condensation condensation;
  private final List<List<Items.Item>> watched;
  /** For a trace that can do with an outline; null without one. */
  private Recall recall;
  /** Why bodies are never compiled under this policy and this program; null when they may be. */
  private final String neverCompiled;
  /** The only job that ever has something to do: one program without a task and without copies of images, which may be compiled. Null without one. */
  private final Job alone;
  /** Observers want what compiled bodies do not tell. */
  private boolean looksInside;
  private final boolean landsAtAnyStep;
  /** Steps of all executions in one scan: tasks of high priority that are due again and again must not keep it from ending. */
  private final long scanBudget;
  /** Time of the next sample by a display on a clock of its own. */
  private long nextSample;

  private int runningCount;
  private long scans;
  private long scanStart = -1;
  private boolean inScan;
  private boolean inIdle = true;
  /** The input refresh of this scan has not served a task yet. */
  private boolean refreshUnused;
  /** Steps of this scan before the present run of the present job, less its own steps before that. */
  private long ordinalBase;
  private long stepsInScan;
  private int messages;
  private long writeCount;
  private EngineFault fault;
  private volatile boolean interrupted;

  /** What stopped the machine; {@code job} is the index of the task, -1 without one. */
  public record EngineFault(String code, String message, int step, int userStep, long scan, long ordinal, long time, int task) {}

  /**
   * @param watched for each display of the policy the items that it watches; ignored for a display that names none
   */
  public Engine(Code code, Translation translation, Condensation condensation, ScanPolicy policy, Limits limits, List<List<Items.Item>> watched) {
    this.translation = translation;
    this.condensation = condensation;
    this.watched = watched;
    this.code = code;
    this.policy = policy;
    this.limits = limits;
    this.costs = policy.costs();
    this.externalWrites = policy.externalWrites();
    int count = code.tasks().size() + 1;
    memory = new Memory(code, count);
    images = images(count);
    terminals = new Terminals(memory, events, forces, clock, images, policy);
    operands = code.operands();
    screens = new Screen[policy.displays().size()];
    for (int i = 0; i < screens.length; i++) {
      screens[i] = new Screen(policy.displays().get(i), watched.get(i), memory, events, clock, operands, Seeds.seed(policy.seed(), 2_000 + i));
    }
    stepCosts = stepCosts();
    locks = code.locks;
    int elements = code.elements().size();
    elementTest = new boolean[elements + 1];
    elementPower = new boolean[elements + 1];
    executor = new SteppingExecutor(memory, condensation, this, this, limits, stepCosts);
    jobs = new Job[count];
    boolean singles = false;
    for (int i = 0; i < count; i++) {
      jobs[i] = new Job(code, memory, i, limits.callDepth());
      singles |= jobs[i].single != Address.NULL;
    }
    running = new Job[count];
    watchesSingles = singles && policy.taskSwitching().preempts(Integer.MAX_VALUE, 0);
    inherits = locks && policy.taskSwitching().inheritsPriority();
    negated = code.negated;
    landsAtAnyStep = externalWrites.landsAtAnyStep();
    long n = jobs.length + 1L;
    scanBudget = limits.stepsPerScan() > Long.MAX_VALUE / n ? Long.MAX_VALUE : limits.stepsPerScan() * n;
    neverCompiled = neverCompiled();
    alone = neverCompiled == null && !images.active ? alone() : null;
    noteNextSample();
    updateWanted();
  }

  private void noteNextSample() {
    nextSample = Long.MAX_VALUE;
    for (Screen s : screens) {
      nextSample = Math.min(nextSample, s.next());
    }
  }

  private Job alone() {
    Job cyclic = jobs[jobs.length - 1];
    boolean others = false;
    for (Job j : jobs) {
      others |= j != cyclic && j.programs.length > 0;
    }
    return !others && cyclic.programs.length == 1 ? cyclic : null;
  }

  private TaskImages images(int count) {
    boolean[] own = new boolean[count];
    int[] tasks = new int[count];
    for (int i = 0; i < count; i++) {
      boolean isTask = i < code.tasks().size();
      own[i] = policy.images().ownCopy(isTask ? code.tasks().get(i).name() : "", isTask ? code.tasks().get(i).priority() : Integer.MAX_VALUE);
      tasks[i] = isTask ? i : -1;
    }
    return new TaskImages(memory, events, own, tasks);
  }

  private long[] stepCosts() {
    Op[] ops = Op.values();
    long[] prices = new long[ops.length];
    for (Op op : ops) {
      long c = costs.step(group(op.kind()));
      if (c < 0) {
        throw new IllegalArgumentException("the cost model asks " + c + " ns for a step; costs are 0 or more");
      }
      prices[op.ordinal()] = c;
    }
    return prices;
  }

  private static CostModel.StepKind group(StepInfo.Kind kind) {
    return switch (kind) {
      case LOAD -> CostModel.StepKind.LOAD;
      case STORE -> CostModel.StepKind.STORE;
      case AND, OR -> CostModel.StepKind.LOGIC;
      case SELECT, COMPUTE, MULTIPLY, COMPARE, NOT -> CostModel.StepKind.COMPUTE;
      case JUMP, BRANCH -> CostModel.StepKind.JUMP;
      case CALL, RETURN -> CostModel.StepKind.CALL;
      case COPY -> CostModel.StepKind.COPY;
      case NATIVE -> CostModel.StepKind.NATIVE;
      case CONSTANT, CLOCK, LOAD_TEMP, STORE_TEMP, DUPLICATE, DROP, SWAP, GUARD, UNGUARD, MARK -> CostModel.StepKind.AUXILIARY;
    };
  }

  // ---- reading the state ----

  public Memory memory() {
    return memory;
  }

  public long time() {
    return clock.now;
  }

  public long scans() {
    return scans;
  }

  public long scanStart() {
    return scanStart;
  }

  public long steps() {
    return stepsInScan;
  }

  public boolean isInScan() {
    return inScan;
  }

  /** How often task number {@code i} was due again before it had ended. */
  public long overruns(int i) {
    return jobs[i].overruns;
  }

  /** Null without one. */
  public EngineFault fault() {
    return fault;
  }

  /** Number of the step that comes next; -1 when that is not known yet. */
  public int nextStep() {
    return inScan && runningCount > 0 ? running[runningCount - 1].state.pc() : -1;
  }

  public long terminal(long address, int width) {
    return terminals.get(address, width);
  }

  public int screenCount() {
    return screens.length;
  }

  public Screen screen(int i) {
    return screens[i];
  }

  public boolean painted(Screen screen, int element) {
    return screen.paints(element, negated[element], elementTest[element]);
  }

  public boolean executed(int element) {
    recorded();
    return elementTest[element];
  }

  private void recorded() {
    if (policy.execution() == Execution.COMPILED && !wanted.contains(EventKind.ELEMENT)) {
      throw new IllegalStateException("what elements did is not recorded with Execution.COMPILED; use AUTOMATIC or STEPPING");
    }
  }

  public boolean power(int element) {
    recorded();
    return elementPower[element];
  }

  // ---- what the host asks for ----

  public void attach(Observer observer) {
    calm();
    if (recall == null && observer instanceof Trace t && t.canFollow()) {
      recall = new Recall(this, executor, t);
      follow(!inScan);
    } else {
      events.attach(observer);
    }
    updateWanted();
  }

  /** Tells an observer, of what concerns single variables, only of these. */
  public void attach(Observer observer, List<Extent> only) {
    calm();
    events.attach(observer, only);
    updateWanted();
  }

  public void detach(Observer observer) {
    calm();
    if (recall != null && recall.trace() == observer) {
      follow(false);
      recall = null;
    }
    events.detach(observer);
    updateWanted();
  }

  /** The trace that can do with an outline gets one, or everything. */
  private void follow(boolean outline) {
    if (recall != null && recall.isFollowing() != outline) {
      if (outline) {
        events.detach(recall.trace());
      } else {
        events.attach(recall.trace());
      }
      events.setOutline(outline ? recall.trace() : null);
      recall.follow(outline);
      updateWanted();
    }
  }

  /** A machine like this one in the state of a snapshot, without its observers. */
  Engine twin(Snapshot s) {
    Engine e = new Engine(code, translation, condensation, policy, limits, watched);
    e.restore(s);
    return e;
  }

  /** What was told of a scan is told again: of a whole one, of one that was interrupted behind so many steps, or of the time before one. */
  void again(long interruptedBehind, long waitedUntil) {
    if (waitedUntil >= 0) {
      idle(waitedUntil);
    } else if (interruptedBehind < 0) {
      scan();
    } else if (inScan || begin()) {
      if (interruptedBehind > 0) {
        finish(interruptedBehind);
      }
      interrupt();
      finish(Long.MAX_VALUE);
    }
  }

  private void updateWanted() {
    List<Extent> variables = events.watched();
    executor.watch(variables);
    wanted.clear();
    wanted.addAll(events.wanted());
    if (negated.length > 0 && policy.execution() != Execution.COMPILED) {
      // Painting from execution and the facade's executed() must be right whenever somebody looks.
      wanted.add(EventKind.ELEMENT);
    }
    executor.look();
    looksInside = !variables.isEmpty() || wanted.contains(EventKind.STEP) || wanted.contains(EventKind.READ) || wanted.contains(EventKind.WRITE)
        || wanted.contains(EventKind.ELEMENT);
  }

  /** An observer must not change the controller. */
  private void calm() {
    if (events.isBusy()) {
      throw new IllegalStateException("an observer must not change the controller that it observes");
    }
  }

  /** Moves an input terminal at a virtual time, or now when that has passed. */
  public void setField(long time, long address, int kind, int width, long value) {
    calm();
    if (time <= clock.now) {
      terminals.set(address, width, value);
    } else {
      fieldChanges.add(time, address, kind, value, null);
    }
  }

  /**
   * A write by a panel or peer, sent at a virtual time, or now when that has passed.
   *
   * @param text characters of a string; then {@code value} is its capacity
   */
  public void writeExternally(long time, long address, int kind, long value, int[] text) {
    calm();
    long sent = Math.max(time, clock.now);
    long arrival = Math.max(sent, externalWrites.arrival(sent, writeCount++, policy.seed()));
    if (arrival <= clock.now && (!inScan || landsAtAnyStep)) {
      int view = images.show(TaskImages.SHARED);
      land(address, kind, value, text);
      images.show(view);
    } else {
      writes.add(arrival, address, kind, value, text);
    }
  }

  public void force(long address, int kind, int width, long value) {
    calm();
    forces.set(address, kind, width, value);
    int i = forces.find(address, width);
    boolean output = Address.isLocated(address) && Address.area(address) == 2;
    if (output) {
      // what is forced does not depend on the image in view, and all bits of the range are forced
      terminals.deliver(Address.bit(address), Address.bit(address) + width);
    }
    if (!output || policy.firmForces()) {
      images.everywhere(() -> terminals.force(i));
    }
  }

  public boolean unforce(long address, int width) {
    calm();
    return forces.remove(address, width);
  }

  public boolean isForced(long address, int width) {
    return forces.find(address, width) >= 0;
  }

  /** From any thread: the program that runs, or the next one, faults; waiting ends. */
  public void interrupt() {
    interrupted = true;
  }

  /** Lets time pass between scans. False when it was interrupted. */
  public boolean passTime(long by) {
    calm();
    if (inScan) {
      throw new IllegalStateException("time cannot be made to pass inside a scan");
    }
    return idle(Clock.plus(clock.now, by));
  }

  /** All variables to their initial values; {@code warm}: retained ones keep theirs. */
  public void restart(boolean warm) {
    calm();
    images.drop();
    long[] before = memory.slots.clone();
    byte[][] areas = areas();
    memory.initialize();
    boolean[] retained = new boolean[code.memory().staticSlots()];
    List<Inventory.Part> parts = new ArrayList<>();
    List<Inventory.Held> held = new ArrayList<>();
    if (warm) {
      for (int[] range : code.memory().retain()) {
        for (int i = range[0]; i < range[1]; i++) {
          retained[i] = true;
          memory.slots[i] = before[i];
        }
      }
      for (Inventory.Part p : inventory().parts()) {
        if (p.retained() && p.isLocated()) {
          parts.add(p);
          held.add(inventory().hold(p, before, areas));
        }
      }
    }
    begin(before, areas, retained, parts, held);
  }

  /** A warm restart with values from elsewhere: the parts take what was held, all else is initialized. The indices of references that lead nowhere. */
  public List<Integer> restart(List<Inventory.Part> parts, List<Inventory.Held> held) {
    calm();
    images.drop();
    long[] before = memory.slots.clone();
    byte[][] areas = areas();
    memory.initialize();
    boolean[] retained = new boolean[code.memory().staticSlots()];
    List<Integer> astray = new ArrayList<>();
    List<Inventory.Part> located = new ArrayList<>();
    List<Inventory.Held> there = new ArrayList<>();
    for (int i = 0; i < parts.size(); i++) {
      Inventory.Part p = parts.get(i);
      if (p.isLocated()) {
        located.add(p);
        there.add(held.get(i));
      } else {
        Arrays.fill(retained, (int) p.address(), (int) p.address() + p.shape().slots(), true);
        if (!inventory().put(p, held.get(i), memory.slots, memory.areas)) {
          astray.add(i);
        }
      }
    }
    begin(before, areas, retained, located, there);
    return astray;
  }

  private byte[][] areas() {
    return new byte[][] {new byte[0], memory.areas[1].clone(), memory.areas[2].clone(), memory.areas[3].clone()};
  }

  /** Tasks, scan and events of a restart; memory has its new content except the located parts. */
  private void begin(long[] before, byte[][] areas, boolean[] retained, List<Inventory.Part> located, List<Inventory.Held> held) {
    for (Job j : jobs) {
      j.state.abandon();
      j.status = Job.IDLE;
      j.pending = false;
      j.member = false;
      j.toldPreempted = false;
      j.singleLast = false;
      j.overruns = 0;
      j.nextDue = j.firstDue(clock.now);
    }
    Arrays.fill(running, null);
    runningCount = 0;
    inScan = false;
    inIdle = true;
    events.task = -1;
    stepsInScan = 0;
    events.stepsInScan = 0;
    fault = null;
    interrupted = false;
    boolean told = events.wants(EventKind.WRITE);
    if (told) {
      for (int i = 1; i < retained.length; i++) {
        events.write(-1, 0, i, 64, before[i], memory.slots[i], retained[i] ? Source.RETAINED : Source.INITIALIZATION);
      }
      for (int a = 1; a <= 3; a++) {
        long base = Address.located("-IQM".charAt(a), 0);
        long end = 8L * areas[a].length;
        for (long bit = 0; bit < end; bit += Bits.chunk(bit, end)) {
          int w = Bits.chunk(bit, end);
          events.write(-1, 0, base | bit, w, Bits.read(areas[a], bit, w), Bits.read(memory.areas[a], bit, w), Source.INITIALIZATION);
        }
      }
    }
    for (int i = 0; i < located.size(); i++) {
      Inventory.Part p = located.get(i);
      Inventory.Held initial = told ? inventory().hold(p, memory.slots, memory.areas) : null;
      inventory().put(p, held.get(i), memory.slots, memory.areas);
      for (int k = 0; told && k < initial.words().length; k++) {
        int w = Inventory.width(p);
        events.write(-1, 0, p.address() + (long) k * w, w, initial.words()[k], held.get(i).words()[k], Source.RETAINED);
      }
    }
  }

  /** The variables part by part. */
  public Inventory inventory() {
    if (inventory == null) {
      inventory = new Inventory(code);
    }
    return inventory;
  }

  /** What the parts hold now. */
  public Inventory.Held hold(Inventory.Part part) {
    return inventory().hold(part, images.sharedSlots(), images.sharedAreas());
  }

  /** Has run no scan, and no time has passed. */
  public boolean isFresh() {
    return scans == 0 && !inScan && fault == null && clock.now == 0;
  }

  /**
   * Goes on where another engine, with another program under an equal policy, stands between two scans: clock, terminals, areas, displays, tasks of the
   * same name, what the host has scheduled, and the parts in {@code mine} with what {@code theirs} held. Observers see it as a warm restart.
   *
   * @param theirs indices as in {@code mine}
   * @param fresh located parts that begin with their initial values
   * @return indices of references that lead nowhere
   */
  public List<Integer> takeOver(Engine old, List<Inventory.Part> mine, List<Inventory.Part> theirs, List<Inventory.Part> fresh) {
    calm();
    clock.now = old.clock.now;
    scans = old.scans;
    scanStart = old.scanStart;
    events.scan = old.events.scan;
    messages = old.messages;
    writeCount = old.writeCount;
    List<Inventory.Part> slots = new ArrayList<>();
    List<Inventory.Held> held = new ArrayList<>();
    List<Integer> numbers = new ArrayList<>();
    for (int i = 0; i < mine.size(); i++) {
      if (!mine.get(i).isLocated()) {
        slots.add(mine.get(i));
        held.add(old.hold(theirs.get(i)));
        numbers.add(i);
      }
    }
    List<Integer> astray = new ArrayList<>();
    restart(slots, held).forEach(i -> astray.add(numbers.get(i)));
    Relocation there = new Relocation(mine, theirs);
    // Areas are what the terminals and peers know: they go over as they are, whatever the program calls their parts.
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(old.memory.areas[a], 0, memory.areas[a], 0, Math.min(old.memory.areas[a].length, memory.areas[a].length));
    }
    byte[][] initial = code.memory().areaInitial();
    for (Inventory.Part p : fresh) {
      inventory().put(p, inventory().hold(p, memory.slots, new byte[][] {new byte[0], initial[0], initial[1], initial[2]}), memory.slots, memory.areas);
    }
    terminals.takeOver(old.terminals);
    for (int i = 0; i < screens.length; i++) {
      screens[i].takeOver(old.screens[i], mine, theirs);
    }
    noteNextSample();
    fieldChanges.assign(old.fieldChanges);
    fieldChanges.move((a, kind) -> moved(a, Arith.kind(kind).bits(), there));
    writes.assign(old.writes);
    writes.move((a, kind) -> moved(a, Arith.kind(kind).bits(), there));
    for (int i = 0; i < old.forces.size(); i++) {
      long now = moved(old.forces.addresses[i], old.forces.widths[i], there);
      if (now != Address.NULL) {
        forces.set(now, old.forces.kinds[i], old.forces.widths[i], old.forces.values[i]);
      }
    }
    for (Job j : jobs) {
      for (Job o : old.jobs) {
        if (j.index >= 0 && o.index >= 0 && code.tasks().get(j.index).name().equalsIgnoreCase(old.code.tasks().get(o.index).name())
            && code.tasks().get(j.index).resource().equalsIgnoreCase(old.code.tasks().get(o.index).resource())) {
          j.goOn(o);
        }
      }
    }
    return astray;
  }

  private boolean isInside(long address, int width) {
    return Address.bit(address) + width <= 8L * memory.areas[Address.area(address)].length;
  }

  /** Address here of what a host named there; NULL when it has no counterpart. */
  private long moved(long address, int width, Relocation slots) {
    if (Address.isLocated(address)) {
      return isInside(address, width) ? address : Address.NULL;
    }
    return slots.of(address);
  }

  // ---- scanning ----

  /** Virtual time at which the next scan begins, not before now; Long.MAX_VALUE when only the host begins it. */
  public long nextStart() {
    long at = policy.trigger().nextStart(scans + 1, scanStart, clock.now, earliestWork());
    return Math.max(at, clock.now);
  }

  private long earliestWork() {
    long due = Long.MAX_VALUE;
    boolean single = false;
    for (Job j : jobs) {
      if (j.programs.length == 0 || j.status == Job.WAITING) {
        continue;
      }
      if (j.isCyclic() || j.status != Job.IDLE || j.pending) {
        return clock.now;
      }
      single |= j.single != Address.NULL;
      due = Math.min(due, j.nextDue);
    }
    // Without anything periodic the scans look for the events that release tasks.
    return due == Long.MAX_VALUE || single ? clock.now : Math.max(due, clock.now);
  }

  /** One whole scan. False after a fault or an interruption. */
  public boolean scan() {
    calm();
    if (fault != null) {
      return false;
    }
    if (recall == null) {
      return canScanAlone() ? scanAlone() : (inScan || begin()) && finish(Long.MAX_VALUE);
    }
    follow(!inScan);
    if (inScan) {
      return finish(Long.MAX_VALUE);
    }
    recall.begin(scans + 1);
    boolean ended = false;
    try {
      ended = begin() && finish(Long.MAX_VALUE);
    } finally {
      recall.end(fault != null && fault.code().equals("fault/interrupted") ? stepsInScan : -1, !ended && fault == null ? clock.now : -1);
    }
    return ended;
  }

  /** One step. True when the scan goes on. */
  public boolean step() {
    calm();
    follow(false);
    if (fault != null || !inScan && !begin()) {
      return false;
    }
    return !finish(1) && fault == null && inScan;
  }

  private boolean begin() {
    long at = nextStart();
    if (at != Long.MAX_VALUE && !idle(at)) {
      return false;
    }
    if (at == Long.MAX_VALUE) {
      activities();
    }
    open();
    inScan = true;
    release(true);
    return true;
  }

  /** From the start of a scan to that of its programs. */
  private void open() {
    inIdle = false;
    long number = scans + 1;
    events.scan = number;
    scanStart = clock.now;
    stepsInScan = 0;
    events.stepsInScan = 0;
    events.scan(true);
    events.phase(Phase.INPUT_REFRESH);
    terminals.refreshInputs(number);
    refreshUnused = true;
    applyForces();
    spend(costs.phase(CostModel.Phase.INPUT_REFRESH, number, 0, policy.seed()));
    for (Screen s : screens) {
      s.scanStart(number);
    }
    events.phase(Phase.PROGRAM);
  }

  /** Nothing but the phases and one compiled body can happen in the next scan, and nobody looks inside. */
  private boolean canScanAlone() {
    return alone != null && !inScan && !looksInside && forces.size() == 0 && isLongEnough() && nextActivity() == Long.MAX_VALUE;
  }

  /** The scan that begin() and finish() would make then, without asking for what cannot be. */
  private boolean scanAlone() {
    long at = policy.trigger().nextStart(scans + 1, scanStart, clock.now, clock.now);
    if (at != Long.MAX_VALUE) {
      clock.now = Math.max(clock.now, at);
    }
    open();
    refreshUnused = false;
    ordinalBase = 0;
    stepping = null;
    alone.position = 0;
    events.task(alone.index, "start");
    if (!runCompiled(alone, clock.now)) {
      return false;
    }
    events.task(alone.index, "end");
    return end();
  }

  /** Goes on with the scan, at most {@code maxSteps} steps. True when it has ended. */
  private boolean finish(long maxSteps) {
    long left = maxSteps;
    while (true) {
      if (overrun != null) {
        Job late = overrun;
        stop(late, new StepFault("fault/task-overrun", "task " + code.tasks().get(late.index).name() + " is due again after its interval of "
            + ValueText.duration("", late.interval) + " and has not ended", late.state.isIdle() ? code.bodies().get(code.programs().get(late.programs[0]).body()).start() : late.state.pc(),
            late.state.stepsUsed(), executor.userStep(late.state)));
        return false;
      }
      Job job = select();
      if (job == null) {
        return end();
      }
      if (images.active) {
        images.show(images.of(job.stateIndex()));
      }
      if (left <= 0) {
        return false;
      }
      if (job.state.isIdle()) {
        startProgram(job);
      }
      long used = job.state.stepsUsed();
      ordinalBase = stepsInScan - used;
      events.task = job.index;
      stepping = steppingReason(left);
      if (stepping == null) {
        if (!runCompiled(job, job.state.activation())) {
          return false;
        }
        left -= Math.max(1, compiled.steps());
        endProgram(job);
        events.task = -1;
        if (runningCount == 0) {
          activities();
        }
        continue;
      }
      Outcome outcome = executor.run(job.state, Math.min(left, budget()));
      if (outcome == Outcome.FAULTED) {
        // An abandoned task keeps its count.
        account(job, used);
        stop(job, executor.fault().orElseThrow());
        return false;
      }
      left -= job.state.stepsUsed() - used;
      account(job, used);
      if (outcome == Outcome.DONE) {
        endProgram(job);
      } else if (outcome == Outcome.WAITING) {
        block(job);
        Job[] circle = deadlock(job);
        if (circle != null) {
          stop(job, new StepFault("fault/deadlock", deadlockText(circle), job.state.pc() - 1, stepsInScan - ordinalBase, executor.userStep(job.state)));
          return false;
        }
      } else if (stepsInScan >= scanBudget) {
        stop(job, new StepFault("fault/watchdog", "the tasks of this scan have used its " + scanBudget + " steps", job.state.pc(),
            stepsInScan - ordinalBase, executor.userStep(job.state)));
        return false;
      }
      events.task = -1;
      if (runningCount == 0) {
        activities();
      }
    }
  }

  /** Steps after which a run counts as long, so that translating the program pays. */
  private static final long LONG_RUN = 2_000_000;
  private static final String SHORT_RUN = "the run has not used " + LONG_RUN + " steps yet";

  /** Why the next body is executed step by step; null when it need not be. */
  private String steppingReason(long left) {
    if (neverCompiled != null) {
      return neverCompiled;
    }
    if (!isLongEnough()) {
      return SHORT_RUN;
    }
    if (looksInside) {
      return "steps, reads, writes or ladder elements are recorded";
    }
    if (recall != null) {
      return "a trace keeps a digest over what steps write";
    }
    if (left != Long.MAX_VALUE || runningCount > 1 || !running[runningCount - 1].state.isFresh()) {
      return "the host steps through the scan, or tasks interrupt each other";
    }
    if (deadline() != Long.MAX_VALUE) {
      return "a policy, a task, a scheduled write or a force acts between steps";
    }
    if (budget() < limits.stepsPerScan()) {
      return "the scan's step budget may end inside the body";
    }
    return null;
  }

  private boolean isLongEnough() {
    return stepsInAll >= LONG_RUN || policy.execution() != Execution.AUTOMATIC;
  }

  private String neverCompiled() {
    if (policy.execution() == Execution.STEPPING) {
      return "the policy asks for it";
    }
    if (locks) {
      return "tasks may wait for locks";
    }
    if (limits.callDepth() > 1_000) {
      return "calls may nest deeper than the thread's stack allows";
    }
    for (long c : stepCosts) {
      if (c != stepCosts[0]) {
        return "kinds of steps have different costs";
      }
    }
    return null;
  }

  /** {@code compiled}, maybe {@code , stepping } with bodies and why; or {@code stepping: } and why. */
  public String executionInUse() {
    return stepping == null ? compiled.inUse() : "stepping: " + stepping;
  }

  /** Runs the program at whose start a job stands. False: it faulted. */
  private boolean runCompiled(Job job, long activation) {
    if (compiled == null) {
      compiled = new CompiledExecutor(translation.get(terminals.watchesReads, watchesWrites()), memory, this, executor, limits, stepCosts[0]);
    }
    boolean fine = compiled.run(job.stateIndex(), job.bodies[job.position], job.instances[job.position], activation);
    stepsInScan += compiled.steps();
    stepsInAll += compiled.steps();
    events.stepsInScan = stepsInScan;
    job.state.abandon();
    if (!fine) {
      stop(job, compiled.fault().orElseThrow());
    }
    return fine;
  }

  private long budget() {
    return Math.max(1, scanBudget - stepsInScan);
  }

  private void account(Job job, long usedBefore) {
    stepsInScan += job.state.stepsUsed() - usedBefore;
    stepsInAll += job.state.stepsUsed() - usedBefore;
    events.stepsInScan = stepsInScan;
  }

  /** The job that is to run now: started if it waited. Null when the scan has nothing to do any more. */
  private Job select() {
    settle();
    Job top = runningCount == 0 ? null : running[runningCount - 1];
    Job best = null;
    boolean members = false;
    for (Job j : jobs) {
      members |= j.member;
      if (j.status == Job.READY && (best == null || urgency(j) < urgency(best) || urgency(j) == urgency(best) && j.readySince < best.readySince)) {
        best = j;
      }
    }
    if (top != null && (best == null || !policy.taskSwitching().preempts(urgency(top), urgency(best)))) {
      if (inherits && top.toldPreempted) {
        top.toldPreempted = false;
        events.task(top.index, "resume");
      }
      return top;
    }
    if (best == null || !members) {
      return null;
    }
    if (top != null && !top.toldPreempted) {
      top.toldPreempted = true;
      events.task(top.index, "preempted");
    }
    best.status = Job.RUNNING;
    running[runningCount++] = best;
    if (!best.state.isIdle()) {
      events.task(best.index, "resume");
      return best;
    }
    best.position = 0;
    if (images.active && images.of(best.stateIndex()) != TaskImages.SHARED) {
      images.show(TaskImages.SHARED);
      if (!refreshUnused && images.hasCopy(best.stateIndex())) {
        events.task = best.index;
        terminals.refreshInputs(events.scan);
        events.task = -1;
      }
      images.begin(best.stateIndex());
    }
    refreshUnused = false;
    events.task(best.index, "start");
    executor.start(best.state, best.bodies[0], best.instances[0], clock.now);
    return best;
  }

  /** Its priority, or that of a more urgent task that waits for a mutex which it holds. */
  private int urgency(Job j) {
    return inherits ? urgency(j, jobs.length) : j.priority;
  }

  private int urgency(Job j, int links) {
    int p = j.priority;
    for (Job w : jobs) {
      if (links > 0 && w.status == Job.WAITING && w.state.waitsForMutex() && holder(w) == j) {
        p = Math.min(p, urgency(w, links - 1));
      }
    }
    return p;
  }

  /** With inherited priorities a task that was interrupted may have become more urgent than the one that interrupted it. */
  private void settle() {
    if (!inherits || runningCount < 2) {
      return;
    }
    int last = runningCount - 1;
    int at = last;
    for (int i = last - 1; i >= 0; i--) {
      at = urgency(running[i]) < urgency(running[at]) ? i : at;
    }
    if (at == last) {
      return;
    }
    Job above = running[last];
    if (!above.toldPreempted) {
      above.toldPreempted = true;
      events.task(above.index, "preempted");
    }
    Job up = running[at];
    System.arraycopy(running, at + 1, running, at, last - at);
    running[last] = up;
  }

  private void startProgram(Job job) {
    executor.start(job.state, job.bodies[job.position], job.instances[job.position], job.state.activation());
  }

  private void endProgram(Job job) {
    job.position++;
    if (job.position < job.programs.length) {
      return;
    }
    events.task(job.index, "end");
    runningCount--;
    running[runningCount] = null;
    job.member = false;
    job.status = Job.IDLE;
    if (images.active && images.of(job.stateIndex()) != TaskImages.SHARED) {
      byte[] written = images.end(job.stateIndex());
      if (written != null && goesOn()) {
        terminals.refreshOutputs(events.scan, written);
      }
    }
    if (job.pending) {
      job.pending = false;
      ready(job, clock.now);
    }
    release(false);
    resumeBelow();
  }

  /** Some task is still to run in this scan. */
  private boolean goesOn() {
    boolean members = runningCount > 0;
    for (Job j : jobs) {
      members |= j.member;
    }
    return members;
  }

  private void resumeBelow() {
    settle();
    if (runningCount > 0) {
      Job below = running[runningCount - 1];
      Job next = peek();
      if (next == null || !policy.taskSwitching().preempts(urgency(below), urgency(next))) {
        below.toldPreempted = false;
        events.task(below.index, "resume");
      }
    }
  }

  /** The running task waits for a lock; the scan goes on, and may end, without it. */
  private void block(Job job) {
    images.show(TaskImages.SHARED);
    events.task(job.index, "waits");
    runningCount--;
    running[runningCount] = null;
    job.member = false;
    job.status = Job.WAITING;
    job.readySince = clock.now;
    resumeBelow();
  }

  private Job holder(Job job) {
    long owner = job.state.waitsForMutex() ? memory.slots[(int) job.state.waitsFor()] - 1 : -1;
    for (Job j : jobs) {
      if (j.stateIndex() == owner) {
        return j;
      }
    }
    return null;
  }

  /** Tasks that wait for each other in a circle, or all tasks when every one of them waits; null when somebody can still go on. */
  private Job[] deadlock(Job from) {
    List<Job> chain = new ArrayList<>();
    Job at = from;
    while (at != null && at.status == Job.WAITING && chain.size() <= jobs.length) {
      chain.add(at);
      at = holder(at);
      if (at == from) {
        return chain.toArray(new Job[0]);
      }
    }
    List<Job> all = new ArrayList<>();
    for (Job j : jobs) {
      if (j.programs.length > 0) {
        if (j.status != Job.WAITING) {
          return null;
        }
        all.add(j);
      }
    }
    return all.toArray(new Job[0]);
  }

  private String taskName(Job j) {
    return j.index < 0 ? "the programs without a task" : "task " + code.tasks().get(j.index).name();
  }

  private String deadlockText(Job[] circle) {
    StringBuilder b = new StringBuilder("no task can go on: ");
    for (Job j : circle) {
      String lock = code.symbols().nameOf(j.state.waitsFor(), 64);
      Job owner = holder(j);
      b.append(j == circle[0] ? "" : "; ").append(taskName(j)).append(" waits for ").append(lock.substring(0, Math.max(lock.lastIndexOf('.'), 0)))
          .append(owner == null ? "" : ", held by " + taskName(owner));
    }
    return b.toString();
  }

  @Override
  public int heir(long address) {
    Job best = null;
    for (Job j : jobs) {
      if (j.status == Job.WAITING && j.state.waitsFor() == address
          && (best == null || urgency(j) < urgency(best) || urgency(j) == urgency(best) && j.readySince < best.readySince)) {
        best = j;
      }
    }
    if (best == null) {
      return -1;
    }
    best.state.waitIsOver();
    ready(best, clock.now);
    return best.stateIndex();
  }

  @Override
  public boolean yields() {
    Job best = peek();
    return best != null && policy.taskSwitching().preempts(urgency(running[runningCount - 1]), urgency(best));
  }

  /** Path of a mutex that some task holds; null when none is. */
  public String heldMutex() {
    return inventory().heldMutex(memory.slots);
  }

  /** Name of a task that waits for a lock in the middle of a body; null without one. */
  public String waiting() {
    for (Job j : jobs) {
      if (!j.state.isIdle() && runningCount == 0) {
        return taskName(j);
      }
    }
    return null;
  }

  private Job peek() {
    Job best = null;
    for (Job j : jobs) {
      if (j.status == Job.READY && (best == null || urgency(j) < urgency(best))) {
        best = j;
      }
    }
    return best;
  }

  private void ready(Job j, long since) {
    j.status = Job.READY;
    j.readySince = since;
  }

  /** Releases what is due. {@code beginning}: of a scan, whose members are then all that wait. */
  private void release(boolean beginning) {
    for (Job j : jobs) {
      if (j.programs.length == 0) {
        continue;
      }
      if (j.isCyclic()) {
        if (beginning && j.status == Job.IDLE) {
          ready(j, clock.now);
        }
      } else {
        boolean high = j.single != Address.NULL && images.sharedBit(j.single);
        if (high && !j.singleLast) {
          activate(j, clock.now);
        }
        j.singleLast = high;
        while (j.nextDue <= clock.now) {
          // The interval counts only while SINGLE is FALSE.
          if (!high) {
            activate(j, j.nextDue);
          }
          long behind = (clock.now - j.nextDue) / j.interval;
          if (behind > 1) {
            // All but the last of these activations are lost; a long time must not be counted one by one.
            j.nextDue += (behind - 1) * j.interval;
            j.overruns += high ? 0 : behind - 1;
          }
          j.nextDue = Clock.plus(j.nextDue, j.interval);
        }
      }
      if (beginning) {
        j.member = j.status == Job.READY;
      }
    }
  }

  /** {@code since}: when it became due, which may be before the moment at which that is noticed. */
  private void activate(Job j, long since) {
    if (j.status == Job.IDLE) {
      ready(j, since);
      return;
    }
    if (!j.pending && (j.status != Job.READY || !j.state.isIdle())) {
      j.pending = true;
      events.task(j.index, "overrun");
    } else {
      events.task(j.index, "lost");
    }
    j.overruns++;
    if (overrun == null && code.choices().taskOverrun() == ImplementerChoices.OverrunReaction.FAULT) {
      overrun = j;
    }
  }

  private boolean end() {
    long number = scans + 1;
    inScan = false;
    if (policy.firmForces()) {
      applyForces();
    }
    for (Screen s : screens) {
      s.scanEnd(number);
    }
    events.phase(Phase.OUTPUT_REFRESH);
    terminals.refreshOutputs(number);
    spend(costs.phase(CostModel.Phase.OUTPUT_REFRESH, number, 0, policy.seed()));
    events.phase(Phase.HOUSEKEEPING);
    while (writes.time() <= clock.now) {
      landFirst();
    }
    int landed = messages;
    messages = 0;
    spend(costs.phase(CostModel.Phase.HOUSEKEEPING, number, landed, policy.seed()));
    inIdle = true;
    events.scan(false);
    scans = number;
    return true;
  }

  private void stop(Job job, StepFault f) {
    long ordinal = ordinalBase + f.ordinal();
    fault = new EngineFault(f.code(), f.message(), f.step(), f.userStep(), events.scan, ordinal, clock.now, job.index);
    events.task = job.index;
    events.fault(f.step(), ordinal, f.code() + ": " + f.message());
    events.task = -1;
    images.drop();
    for (Job j : jobs) {
      j.state.abandon();
      j.status = Job.IDLE;
      j.pending = false;
      j.member = false;
      j.toldPreempted = false;
    }
    runningCount = 0;
    overrun = null;
    inScan = false;
    inIdle = true;
    interrupted = false;
    if (code.choices().faultReaction() == ImplementerChoices.FaultReaction.STOP_SAFE) {
      terminals.safe();
    }
  }

  // ---- time ----

  /** A phase costs time; whatever falls into it happens at its time. */
  private void spend(long cost) {
    if (cost > 0) {
      pass(Clock.plus(clock.now, cost), false);
    }
  }

  private boolean idle(long until) {
    return pass(until, true);
  }

  private boolean pass(long until, boolean interruptible) {
    long count = 0;
    while (true) {
      long next = nextActivity();
      if (next > until) {
        clock.now = Math.max(clock.now, until);
        return true;
      }
      clock.now = Math.max(clock.now, next);
      oneActivity();
      if (interruptible && (++count & 1023) == 0 && interrupted) {
        interrupted = false;
        return false;
      }
    }
  }

  /** Earliest time at which something other than steps, phases and tasks happens. */
  private long nextActivity() {
    long next = Math.min(Math.min(fieldChanges.time(), nextSample), Math.min(terminals.nextInput(), terminals.nextOutput()));
    if (inIdle || landsAtAnyStep) {
      next = Math.min(next, writes.time());
    }
    return next;
  }

  /** Does the first of what is due now. */
  private void oneActivity() {
    long due = nextActivity();
    if (fieldChanges.time() == due) {
      long a = fieldChanges.address();
      long value = fieldChanges.value();
      int width = Arith.kind(fieldChanges.kind()).bits();
      fieldChanges.removeFirst();
      terminals.set(a, width, value);
      return;
    }
    int view = images.show(TaskImages.SHARED);
    actOnMemory(due);
    images.show(view);
  }

  private void actOnMemory(long due) {
    if ((inIdle || landsAtAnyStep) && writes.time() == due) {
      landFirst();
    } else if (terminals.nextInput() == due) {
      terminals.tickInput(due);
    } else if (terminals.nextOutput() == due) {
      terminals.tickOutput(due, fault != null);
    } else {
      for (Screen s : screens) {
        if (s.next() == due) {
          s.tick(events.scan);
          noteNextSample();
          return;
        }
      }
    }
  }

  private void activities() {
    while (nextActivity() <= clock.now) {
      oneActivity();
    }
  }

  private void landFirst() {
    long a = writes.address();
    int kind = writes.kind();
    long value = writes.value();
    int[] text = writes.text();
    writes.removeFirst();
    land(a, kind, value, text);
  }

  private void land(long address, int kind, long value, int[] text) {
    messages++;
    if (text != null) {
      int slot = (int) address;
      long before = memory.slots[slot];
      memory.setText(slot, kind, (int) value, text);
      events.write(-1, 0, address, 64, before, memory.slots[slot], Source.EXTERNAL_WRITE);
      return;
    }
    long before = memory.read(address, kind);
    memory.write(address, kind, value);
    if (!Address.isLocated(address)) {
      events.write(-1, 0, address, 64, before, value, Source.EXTERNAL_WRITE);
      return;
    }
    int width = Arith.kind(kind).bits();
    images.note(Address.area(address), Address.bit(address), Address.bit(address) + width);
    events.write(-1, 0, address, width, before, value, Source.EXTERNAL_WRITE);
    if (Address.area(address) == 2 && terminals.watchesWrites && fault == null) {
      terminals.afterWrite(events.scan, Address.bit(address), width);
    }
  }

  /** Forced variables but outputs take their values; outputs hold against delivery, and in memory only when forces are firm. */
  private void applyForces() {
    if (forces.size() == 0) {
      return;
    }
    for (int i = 0; i < forces.size(); i++) {
      long a = forces.addresses[i];
      boolean output = Address.isLocated(a) && Address.area(a) == 2;
      if ((!output || policy.firmForces()) && memory.read(a, forces.kinds[i]) != forces.values[i]) {
        terminals.force(i);
      }
    }
  }

  // ---- what the executor asks ----

  @Override
  public long now() {
    return clock.now;
  }

  @Override
  public void setNow(long time) {
    clock.now = time;
  }

  @Override
  public long deadline() {
    if (watchesSingles || policy.firmForces() && forces.size() > 0) {
      return Long.MIN_VALUE;
    }
    long next = nextActivity();
    for (Job j : jobs) {
      next = Math.min(next, j.nextDue);
    }
    return next;
  }

  @Override
  public boolean reached() {
    Job top = running[runningCount - 1];
    events.stepsInScan = ordinalBase + top.state.stepsUsed();
    if (policy.firmForces()) {
      applyForces();
    }
    activities();
    release(false);
    Job best = peek();
    return overrun != null || best != null && policy.taskSwitching().preempts(urgency(top), urgency(best));
  }

  @Override
  public boolean watchesReads() {
    return terminals.watchesReads;
  }

  @Override
  public boolean watchesWrites() {
    return terminals.watchesWrites || images.any;
  }

  @Override
  public void beforeRead(long address, int width) {
    events.stepsInScan = ordinalBase + executor.ordinal();
    terminals.beforeRead(events.scan, Address.bit(address), width);
  }

  @Override
  public void afterWrite(long address, int width) {
    images.note(Address.area(address), Address.bit(address), Address.bit(address) + width);
    if (terminals.watchesWrites) {
      events.stepsInScan = ordinalBase + executor.ordinal();
      terminals.afterWrite(events.scan, Address.bit(address), width);
    }
  }

  @Override
  public boolean isInterrupted() {
    return interrupted;
  }

  // ---- what the executor reports ----

  @Override
  public Set<EventKind> wanted() {
    return events.wanted();
  }

  @Override
  public boolean[] tests() {
    return elementTest;
  }

  @Override
  public boolean[] powers() {
    return elementPower;
  }

  @Override
  public void step(int step, long ordinal, long[] stack, int sp) {
    events.step(step, ordinalBase + ordinal, stack, sp);
  }

  @Override
  public void read(int step, long ordinal, long address, int width, long value) {
    events.read(step, ordinalBase + ordinal, address, width, value);
  }

  @Override
  public void write(int step, long ordinal, long address, int width, long before, long after, Source source) {
    events.write(step, ordinalBase + ordinal, address, width, before, after, source);
  }

  @Override
  public void element(int step, long ordinal, int element, boolean test, boolean power) {
    events.element(step, ordinalBase + ordinal, element, test, power);
  }

  @Override
  public void report(int step, long ordinal, String message) {
    events.fault(step, ordinalBase + ordinal, "report: " + message);
  }

  // ---- between scans ----

  /**
   * A machine between two scans, without what the host has scheduled or forced and without displays: what many of them in step have to keep each. Slots
   * are those of all variables and of the frames; areas and terminals are bytes.
   */
  public record Between(long[] slots, byte[][] areas, byte[] inputs, byte[] outputs, long now, long scans, long scanStart, long steps, int messages,
      EngineFault fault) {}

  /** The state as it is now; null when it holds more than that: a scan in progress, something scheduled or forced, a task that is to run. */
  public Between between() {
    boolean idle = !inScan && runningCount == 0 && fieldChanges.time() == Long.MAX_VALUE && writes.time() == Long.MAX_VALUE && forces.size() == 0;
    for (Job j : jobs) {
      idle &= j.status == Job.IDLE && !j.pending;
    }
    return idle ? new Between(Arrays.copyOf(memory.slots, memory.tail()), areas(), terminals.inputs.clone(), terminals.outputs.clone(), clock.now, scans, scanStart, stepsInScan,
        messages, fault) : null;
  }

  /** Goes on from such a state. Only for programs without tasks, whose jobs have no rhythm of their own. */
  public void stand(Between b) {
    calm();
    images.drop();
    refreshUnused = false;
    System.arraycopy(b.slots(), 0, memory.slots, 0, memory.tail());
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(b.areas()[a], 0, memory.areas[a], 0, memory.areas[a].length);
    }
    System.arraycopy(b.inputs(), 0, terminals.inputs, 0, terminals.inputs.length);
    System.arraycopy(b.outputs(), 0, terminals.outputs, 0, terminals.outputs.length);
    fieldChanges.assign(new Pending());
    writes.assign(new Pending());
    forces.assign(new Forces());
    for (Job j : jobs) {
      j.state.abandon();
      j.status = Job.IDLE;
      j.pending = false;
      j.member = false;
      j.toldPreempted = false;
    }
    Arrays.fill(running, null);
    runningCount = 0;
    overrun = null;
    clock.now = b.now();
    scans = b.scans();
    scanStart = b.scanStart();
    events.scan = b.fault() != null ? b.fault().scan() : b.scans();
    inScan = false;
    inIdle = true;
    stepsInScan = b.steps();
    events.stepsInScan = stepsInScan;
    messages = b.messages();
    fault = b.fault();
    interrupted = false;
  }

  // ---- snapshots ----

  /** The whole machine as a value. */
  public record Snapshot(
      Code code, ScanPolicy policy, long[] slots, byte[][] areas, TaskImages.State images, boolean refreshUnused,
      Terminals.State terminals, List<Screen.State> screens, Pending fieldChanges,
      Pending writes, Forces forces, List<Job.State> jobs, int[] running, boolean[] elementTest, boolean[] elementPower, long now, long scans,
      long scanStart, long scan, boolean inScan, boolean inIdle, long stepsInScan, int messages, long writeCount, EngineFault fault) {

    /** Something is forced, or scheduled by the host. */
    public boolean holdsMore() {
      return forces.size() > 0 || !fieldChanges.isEmpty() || !writes.isEmpty();
    }
  }

  public Snapshot save() {
    List<Screen.State> shown = new ArrayList<>();
    for (Screen s : screens) {
      shown.add(s.save());
    }
    List<Job.State> tasks = new ArrayList<>();
    for (Job j : jobs) {
      tasks.add(j.save());
    }
    int[] stack = new int[runningCount];
    for (int i = 0; i < runningCount; i++) {
      for (int j = 0; j < jobs.length; j++) {
        if (jobs[j] == running[i]) {
          stack[i] = j;
        }
      }
    }
    return new Snapshot(code, policy, memory.slots.clone(),
        areas(), images.save(), refreshUnused, terminals.save(), shown,
        fieldChanges.copy(), writes.copy(), forces.copy(), tasks, stack, elementTest.clone(), elementPower.clone(), clock.now, scans, scanStart,
        events.scan, inScan, inIdle, stepsInScan, messages, writeCount, fault);
  }

  /** @throws IllegalArgumentException when the snapshot is of another program or policy */
  public void restore(Snapshot s) {
    calm();
    if (s.code() != code && s.code().hash() != code.hash()) {
      throw new IllegalArgumentException("the snapshot is of another program");
    }
    if (!s.policy().equals(policy)) {
      throw new IllegalArgumentException("the snapshot was taken under another scan policy");
    }
    System.arraycopy(s.slots(), 0, memory.slots, 0, memory.slots.length);
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(s.areas()[a], 0, memory.areas[a], 0, memory.areas[a].length);
    }
    images.restore(s.images());
    refreshUnused = s.refreshUnused();
    terminals.restore(s.terminals());
    for (int i = 0; i < screens.length; i++) {
      screens[i].restore(s.screens().get(i));
    }
    noteNextSample();
    fieldChanges.assign(s.fieldChanges());
    writes.assign(s.writes());
    forces.assign(s.forces());
    for (int j = 0; j < jobs.length; j++) {
      jobs[j].restore(s.jobs().get(j));
    }
    Arrays.fill(running, null);
    runningCount = s.running().length;
    for (int i = 0; i < runningCount; i++) {
      running[i] = jobs[s.running()[i]];
    }
    System.arraycopy(s.elementTest(), 0, elementTest, 0, elementTest.length);
    System.arraycopy(s.elementPower(), 0, elementPower, 0, elementPower.length);
    clock.now = s.now();
    scans = s.scans();
    scanStart = s.scanStart();
    events.scan = s.scan();
    inScan = s.inScan();
    inIdle = s.inIdle();
    stepsInScan = s.stepsInScan();
    events.stepsInScan = stepsInScan;
    messages = s.messages();
    writeCount = s.writeCount();
    fault = s.fault();
    interrupted = false;
  }
}
