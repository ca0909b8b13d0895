package dev.scanloom;

import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.step.Extent;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.RetainStore;
import dev.scanloom.policy.ScanPolicy;
import java.io.IOException;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.stream.Stream;
import org.slf4j.Logger;
import org.slf4j.LoggerFactory;

/**
 * One machine that runs a compiled program under a scan policy. Mutable and confined to one thread, {@link #interrupt()} apart.
 *
 * <p>Times are virtual, in nanoseconds since the controller was made; they advance by the policy's costs, its trigger and {@link #passTime} alone.
 */
public final class Controller {
  private static final Logger LOG = LoggerFactory.getLogger(Controller.class);

  private final CompiledProgram program;
  private final ScanPolicy policy;
  private final Engine engine;
  /** The fault that was logged last. */
  private Engine.EngineFault told;
  private final Place field;
  private final Place memory;
  private final List<Place.Display> displays = new ArrayList<>();

  Controller(CompiledProgram program, ScanPolicy policy, Engine engine) {
    this.program = program;
    this.policy = policy;
    this.engine = engine;
    field = new FieldPlace(program, engine);
    memory = new MemoryPlace(program, engine);
    for (int i = 0; i < engine.screenCount(); i++) {
      displays.add(new DisplayPlace(program, engine, engine.screen(i)));
    }
  }

  public CompiledProgram program() {
    return program;
  }

  public ScanPolicy policy() {
    return policy;
  }

  /** As {@link CompiledProgram#variable}. */
  public Variable variable(String path) {
    return program().variable(path);
  }

  /** As {@link CompiledProgram#bool}. */
  public Variable.Bool bool(String path) {
    return program().bool(path);
  }

  public Variable.Integer integer(String path) {
    return program().integer(path);
  }

  public Variable.Real real(String path) {
    return program().real(path);
  }

  public Variable.Text text(String path) {
    return program().text(path);
  }

  /** The terminals. */
  public Place field() {
    return field;
  }

  /** The process image and all variables; setting is an external write. */
  public Place memory() {
    return memory;
  }

  /** The first display of the policy. */
  public Place.Display display() {
    if (displays.isEmpty()) {
      throw new IllegalArgumentException("the policy has no display");
    }
    return displays.get(0);
  }

  /** @throws IllegalArgumentException when the policy has no display of that name */
  public Place.Display display(String name) {
    for (Place.Display d : displays) {
      if (d.name().equals(name)) {
        return d;
      }
    }
    throw new IllegalArgumentException("the policy has no display " + name + "; displays: "
        + String.join(", ", displays.stream().map(Place.Display::name).toList()));
  }

  /**
   * Waits (in virtual time) for the next scan and runs it whole; a scan that was begun with {@link #step()} is finished.
   *
   * @return false when a fault or {@link #interrupt()} ended it; nothing happens after a fault until a restart
   */
  public boolean scan() {
    if (engine.scan()) {
      return true;
    }
    tell();
    return false;
  }

  /** {@link #scan()} up to {@code n} times; the number of scans completed. */
  public int scan(int n) {
    int done = 0;
    while (done < n && scan()) {
      done++;
    }
    return done;
  }

  /**
   * Runs whole scans as long as the next one begins before {@code time}; then lets time pass until then.
   *
   * @throws IllegalStateException when a scan passes without any virtual time, so that the time would never come
   */
  public boolean runUntil(long time) {
    if (engine.isInScan() && !scan()) {
      return false;
    }
    while (engine.fault() == null) {
      long start = engine.nextStart();
      if (start >= time) {
        return time <= engine.time() || engine.passTime(time - engine.time());
      }
      long before = engine.time();
      if (!scan()) {
        return false;
      }
      if (engine.time() == before && engine.nextStart() == before) {
        throw new IllegalStateException("a scan takes no virtual time under this policy and the next one begins at once: time " + time
            + " would never come; use a periodic trigger or a cost model");
      }
    }
    return false;
  }

  /**
   * Runs one step (with the phases in front of it) and stops before the next one.
   *
   * @return true when it stopped inside a scan; false when the scan has ended, or after a fault
   */
  public boolean step() {
    boolean goesOn = engine.step();
    tell();
    return goesOn;
  }

  /** Number of the step that comes next, -1 when no scan is in progress. */
  public int nextStep() {
    return engine.nextStep();
  }

  /** A scan has begun and not ended. */
  public boolean isInScan() {
    return engine.isInScan();
  }

  /** Lets virtual time pass without a scan; I/O subsystems and displays go on. */
  public void passTime(long nanoseconds) {
    if (nanoseconds < 0) {
      throw new IllegalArgumentException("time passes forward only: " + nanoseconds + " ns");
    }
    engine.passTime(nanoseconds);
  }

  /**
   * Asks a running scan to stop, from any thread. It ends with {@code fault/interrupted}: within 1,024 steps when somebody looks at each, within 8,192 when
   * stepping else; in compiled code within 16,384, or at the end of a loop of known length of at most 32,768.
   */
  public void interrupt() {
    engine.interrupt();
  }

  /** Scans completed. */
  public long scans() {
    return engine.scans();
  }

  /** Virtual time now. */
  public long time() {
    return engine.time();
  }

  /** Virtual time at which the last scan began; -1 before the first. */
  public long scanStart() {
    return engine.scanStart();
  }

  /** Steps executed in the last scan so far. */
  public long steps() {
    return engine.steps();
  }

  /**
   * How often a task was due again, by its interval or event, before it had ended, since the last restart. Observers see each as a TASK event:
   * {@code overrun} when the activation is remembered, {@code lost} when it is not.
   *
   * @throws IllegalArgumentException when no task has that name
   */
  public long overruns(String task) {
    List<String> names = program.tasks();
    for (int i = 0; i < names.size() - 1; i++) {
      if (names.get(i).equalsIgnoreCase(task)) {
        return engine.overruns(i);
      }
    }
    throw new IllegalArgumentException("no task has the name " + task + "; tasks: " + String.join(", ", names.subList(0, names.size() - 1)));
  }

  /**
   * Which executor ran last: {@code compiled}, or {@code stepping: } and why. {@code compiled, stepping } and the names of bodies, each with its reason: these
   * the JVM could not take.
   */
  public String executionInUse() {
    return engine.executionInUse();
  }

  /** What stopped the controller. */
  public Optional<Fault> fault() {
    Engine.EngineFault f = engine.fault();
    return f == null ? Optional.empty() : Optional.of(program.fault(f));
  }

  public Snapshot snapshot() {
    return new Snapshot(engine.save());
  }

  /** @throws IllegalArgumentException when the snapshot is of another program or policy */
  public void restore(Snapshot snapshot) {
    engine.restore(snapshot.state());
  }

  /** Attaches an observer; told of what happens from now on. */
  public void attach(Observer observer) {
    engine.attach(Objects.requireNonNull(observer, "observer"));
  }

  /**
   * Attaches an observer that is told of reads, writes, field changes and samples of these variables only, and of all other events of the kinds it wants. Steps
   * that write nothing it wants to see run as if nobody looked, so that watching a few variables costs little; observers of reads, steps or elements look at
   * every step.
   */
  public void attach(Observer observer, Variable first, Variable... more) {
    engine.attach(Objects.requireNonNull(observer, "observer"),
        Stream.concat(Stream.of(first), Arrays.stream(more)).map(v -> new Extent(v.address(), v.width())).toList());
  }

  public void detach(Observer observer) {
    engine.detach(observer);
  }

  /** All variables to their initial values, also retained ones (IEC 61131-3, cold restart). Terminals, forces and the clock stay; a fault is cleared. */
  public void restartCold() {
    engine.restart(false);
    LOG.debug("cold restart at {} ns", engine.time());
  }

  /** As {@link #restartCold}, but retained variables keep their values (IEC 61131-3, warm restart). */
  public void restartWarm() {
    engine.restart(true);
    LOG.debug("warm restart at {} ns", engine.time());
  }

  /**
   * Stores the retained variables as they are now, also in the middle of a scan: what a power failure at this step leaves. They are stored by name and
   * type, so that a changed program can take them.
   *
   * @throws IOException when the store fails; what was stored before is then still there if the store keeps its contract
   */
  public void save(RetainStore store) throws IOException {
    store.write(Carrying.write(engine, program.hash()));
  }

  /**
   * A warm restart with what was stored: retained variables whose name and type are unchanged take their values, all others are initialized. Virtual time
   * goes on at the moment of storing if that is later than now, so that a retained time lies in the past (choice: the time without power does not count).
   * With nothing stored it is a cold restart.
   *
   * @throws Transfer.Refused when the content is damaged or of an unknown version; nothing has changed then
   * @throws IOException when the store fails
   */
  public Transfer load(RetainStore store) throws IOException {
    return load(store, false);
  }

  /**
   * As {@link #load}, but only when the retained variables are the same, by names and types.
   *
   * @throws Transfer.Refused also when they are not; nothing has changed then
   */
  public Transfer loadExactly(RetainStore store) throws IOException {
    return load(store, true);
  }

  private Transfer load(RetainStore store, boolean exactly) throws IOException {
    Optional<byte[]> content = store.read();
    Carrying.Image image = content.isPresent() ? Carrying.read(content.get()) : new Carrying.Image(0, 0, 0, Map.of());
    if (exactly && content.isPresent() && image.signature() != engine.inventory().signature()) {
      throw new Transfer.Refused("the retained variables of this program are not those that were stored: names or types differ");
    }
    Transfer t = Carrying.load(engine, image, program.hash());
    LOG.debug("restart from retained memory at {} ns: {} kept, {} initialized, {} dropped", engine.time(), t.kept().size(), t.initialized().size(),
        t.dropped().size());
    return t;
  }

  /**
   * Online change: this new controller goes on where {@code running} stands between two scans, with this program. Variables whose name and type are
   * unchanged keep their values, whether retained or not; so do terminals, areas, the clock, displays, forces, and what the host has scheduled, as far as
   * their variables exist. References follow what they refer to. Tasks of the same name and interval keep their rhythm. Constants belong to the program.
   * The memory of a transition-sensing element follows its number within the POU. {@code running} is not changed and need not be used again.
   *
   * @throws IllegalArgumentException when the policies differ
   * @throws IllegalStateException when this controller is not new, or the other one is within a scan or stopped by a fault, or a task waits for a
   *     lock, or one is held while the tasks change
   */
  public Transfer takeOver(Controller running) {
    if (!policy.equals(running.policy)) {
      throw new IllegalArgumentException("an online change keeps the scan policy; this controller has another one");
    }
    if (!engine.isFresh()) {
      throw new IllegalStateException("only a new controller can take over");
    }
    if (running.engine.isInScan()) {
      throw new IllegalStateException("an online change happens between two scans; finish the scan first");
    }
    if (running.engine.fault() != null) {
      throw new IllegalStateException("the controller is stopped by " + running.engine.fault().code() + "; restart it first");
    }
    if (running.engine.waiting() != null) {
      throw new IllegalStateException(running.engine.waiting() + " waits for a lock in the middle of its body; an online change needs all tasks at their end");
    }
    String held = program.tasks().equals(running.program.tasks()) ? null : running.engine.heldMutex();
    if (held != null) {
      throw new IllegalStateException("the mutex " + held + " is held, and the new program has other tasks; an online change then needs all locks free");
    }
    Transfer t = Carrying.takeOver(engine, running.engine, program.hash() == running.program.hash());
    LOG.debug("online change at {} ns: {} kept, {} initialized, {} dropped", engine.time(), t.kept().size(), t.initialized().size(), t.dropped().size());
    return t;
  }

  /** Forces a variable (not a string) to the value of an IEC literal: an input against its refresh, an output against its delivery. */
  public void force(Variable variable, String literal) {
    force(variable, variable.parse(literal));
  }

  /** The same with a slot value. */
  public void force(Variable variable, long bits) {
    if (variable.program() != program) {
      throw new IllegalArgumentException(variable.path() + " is a variable of another program");
    }
    if (!(variable.shape() instanceof Shape.Scalar)) {
      throw new IllegalArgumentException(variable.path() + " is a string; only scalars can be forced");
    }
    variable.checkWritable();
    engine.force(variable.address(), variable.kind(), variable.width(), variable instanceof Variable.Real ? bits : variable.checked(bits));
  }

  /** Ends a force; the value it left stays until something else is written. */
  public void unforce(Variable variable) {
    engine.unforce(variable.address(), variable.width());
  }

  public boolean isForced(Variable variable) {
    return engine.isForced(variable.address(), variable.width());
  }

  /** Logs a fault, once. */
  private void tell() {
    Engine.EngineFault f = engine.fault();
    if (f != null && f != told) {
      told = f;
      LOG.info("stopped by {} in scan {} at {} ns", f.code(), f.scan(), f.time());
    }
  }
}
