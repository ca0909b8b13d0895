package dev.scanloom;

import dev.scanloom.internal.lanes.Bank;
import dev.scanloom.internal.lanes.LanePlan;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ScanPolicy;
import java.util.Arrays;
import java.util.Objects;
import java.util.Optional;

/**
 * Many controllers of one program that scan in step, for sweeps, random tests and exploration: every lane has the values, steps, times and faults that a
 * {@link Controller} of its own would have. The Boolean part of the program runs for 64 lanes at once, a bit a lane; the rest for each lane. Where the policy
 * or the program does not allow that, each lane is an ordinary controller, with the same results; {@link #executionInUse()} tells.
 *
 * <p>Lanes are numbered from 0, in groups of 64: bit {@code i} of a word of group {@code g} is lane {@code 64 * g + i}. In the last group, bits of lanes that
 * do not exist are 0 when read and ignored when written. Lanes have no displays and no observers; {@link #controller} makes a controller that goes on where a
 * lane stands, to look closer.
 *
 * <p>A few hundred to a few thousand lanes at a time are fastest: what belongs to them then stays in the processor's caches.
 *
 * <p>Mutable and confined to one thread; banks of lanes of one program may run in several threads.
 *
 * @see CompiledProgram#newLanes
 */
public final class Lanes {
  private static final int GROUP = 64;

  private final CompiledProgram program;
  private final ScanPolicy policy;
  private final int size;
  private final String execution;
  /** Null: each lane is a controller. */
  private final Bank bank;
  private final Controller[] each;

  Lanes(CompiledProgram program, ScanPolicy policy, int size) {
    this.program = program;
    this.policy = policy;
    this.size = size;
    LanePlan plan = program.lanePlan();
    String reason = plan.reason(policy);
    if (reason == null) {
      program.engine(policy); // refuses what a controller would refuse
      bank = new Bank(plan, policy, size, () -> program.engine(policy));
      each = new Controller[0];
      execution = plan.report();
    } else {
      bank = null;
      each = new Controller[size];
      for (int i = 0; i < size; i++) {
        each[i] = program.newController(policy);
      }
      execution = "single controllers: " + reason;
    }
  }

  public CompiledProgram program() {
    return program;
  }

  public ScanPolicy policy() {
    return policy;
  }

  /** Number of lanes. */
  public int size() {
    return size;
  }

  /** Number of groups of 64 lanes; the last one may not be full. */
  public int groups() {
    return (size + GROUP - 1) / GROUP;
  }

  /**
   * {@code words: } how many steps of the program, with its calls written out, run on words; then how many steps each lane does for itself, and where. Or
   * {@code single controllers: } and why. Constant.
   */
  public String executionInUse() {
    return execution;
  }

  // ---- scanning ----

  /**
   * One scan of every lane that has not faulted, each at the time at which its controller's next scan would begin.
   *
   * @return false when no lane goes on: all have faulted
   */
  public boolean scan() {
    if (bank != null) {
      return bank.scan();
    }
    boolean any = false;
    for (Controller c : each) {
      any |= c.scan();
    }
    return any;
  }

  /** {@link #scan()} up to {@code n} times, as long as a lane goes on; how often it did. */
  public int scan(int n) {
    int done = 0;
    while (done < n && scan()) {
      done++;
    }
    return done;
  }

  /** Lets virtual time pass for all lanes without a scan, in nanoseconds, 0 or more. */
  public void passTime(long nanoseconds) {
    if (nanoseconds < 0) {
      throw new IllegalArgumentException("time passes forward only: " + nanoseconds + " ns");
    }
    if (bank != null) {
      bank.passTime(nanoseconds);
    }
    for (Controller c : each) {
      c.passTime(nanoseconds);
    }
  }

  /** Virtual time of a lane in nanoseconds. It is the same for all as long as the trigger or the costs do not part them, and none faults. */
  public long time(int lane) {
    check(lane);
    return bank != null ? bank.time(lane) : each[lane].time();
  }

  /** Scans that a lane has completed. */
  public long scans(int lane) {
    check(lane);
    return bank != null ? bank.scans(lane) : each[lane].scans();
  }

  /** Virtual time at which the lane's last scan began; -1 before the first. */
  public long scanStart(int lane) {
    check(lane);
    return bank != null ? bank.scanStart(lane) : each[lane].scanStart();
  }

  /** Steps that the lane executed in its last scan. */
  public long steps(int lane) {
    check(lane);
    return bank != null ? bank.steps(lane) : each[lane].steps();
  }

  /** Lanes of a group that a fault has stopped, a bit each. */
  public long faulted(int group) {
    checkGroup(group);
    int lanes = Math.min(GROUP, size - GROUP * group);
    long all = lanes == GROUP ? -1 : (1L << lanes) - 1;
    if (bank != null) {
      return ~bank.running(group) & all;
    }
    long faulted = 0;
    for (int i = 0; i < lanes; i++) {
      faulted |= each[GROUP * group + i].fault().isPresent() ? 1L << i : 0;
    }
    return faulted;
  }

  /** What stopped a lane. */
  public Optional<Fault> fault(int lane) {
    check(lane);
    if (bank == null) {
      return each[lane].fault();
    }
    Engine.EngineFault f = bank.fault(lane);
    return f == null ? Optional.empty() : Optional.of(program.fault(f));
  }

  // ---- values ----

  /** The terminals of a lane. Values are set now: a time that has not come is refused. */
  public Place field(int lane) {
    check(lane);
    return new LanePlace(this, lane, true);
  }

  /** The process image and all variables of a lane; setting is an external write, now. */
  public Place memory(int lane) {
    check(lane);
    return new LanePlace(this, lane, false);
  }

  /**
   * A Boolean terminal of 64 lanes.
   *
   * @throws IllegalArgumentException when the variable is not located at %I or %Q, or is of another program
   */
  public long fieldWord(Variable.Bool variable, int group) {
    checkTerminal(variable, group);
    if (bank != null) {
      return bank.fieldWord(group, variable.address());
    }
    return gather(variable, group, true);
  }

  /**
   * Moves a Boolean input terminal of 64 lanes.
   *
   * @throws IllegalArgumentException when the variable is not located at %I, or is of another program
   */
  public void setFieldWord(Variable.Bool variable, int group, long word) {
    checkTerminal(variable, group);
    checkInput(variable);
    if (bank != null) {
      bank.setFieldWord(group, variable.address(), word);
      return;
    }
    for (int i = GROUP * group; i < Math.min(size, GROUP * group + GROUP); i++) {
      each[i].field().set(variable, (word >>> i & 1) != 0);
    }
  }

  /**
   * Moves neighbouring Boolean input terminals of 64 lanes: {@code words[i]} is the terminal {@code i} bits behind {@code first}. The fastest way to set many.
   *
   * @throws IllegalArgumentException when the first is not located at %I, or the last lies beyond the inputs of the program
   */
  public void setFieldWords(Variable.Bool first, int group, long[] words) {
    checkTerminal(first, group);
    checkInput(first);
    checkEnd(first, words.length);
    if (bank != null) {
      bank.setFieldWords(group, first.address(), words);
      return;
    }
    long[] block = new long[GROUP];
    for (int from = 0; from < words.length; from += GROUP) {
      int n = Math.min(GROUP, words.length - from);
      System.arraycopy(words, from, block, 0, n);
      Arrays.fill(block, n, GROUP, 0);
      transpose(block);
      Variable whole = n == GROUP ? terminals(first, from, ElementaryType.LWORD) : null;
      for (int i = GROUP * group; i < Math.min(size, GROUP * group + GROUP); i++) {
        Values field = (Values) each[i].field();
        if (whole != null) {
          field.write(0, whole, block[i & 63]);
          continue;
        }
        for (int k = 0; k < n; k++) {
          field.write(0, terminals(first, from + k, ElementaryType.BOOL), block[i & 63] >>> k & 1);
        }
      }
    }
  }

  /** Bit {@code j} of word {@code i} becomes bit {@code i} of word {@code j}. */
  private static void transpose(long[] words) {
    long mask = 0xFFFF_FFFFL;
    for (int by = 32; by != 0; by >>>= 1, mask ^= mask << by) {
      for (int k = 0; k < GROUP; k = (k + by + 1) & ~by) {
        long t = (words[k] >>> by ^ words[k + by]) & mask;
        words[k] ^= t << by;
        words[k + by] ^= t;
      }
    }
  }

  /**
   * Neighbouring Boolean terminals of 64 lanes: {@code words[i]} becomes the terminal {@code i} bits behind {@code first}.
   *
   * @throws IllegalArgumentException when the first is not located at %I or %Q, or the last lies beyond the inputs or outputs of the program
   */
  public void fieldWords(Variable.Bool first, int group, long[] words) {
    checkTerminal(first, group);
    checkEnd(first, words.length);
    if (bank != null) {
      bank.fieldWords(group, first.address(), words);
      return;
    }
    for (int k = 0; k < words.length; k++) {
      words[k] = gather((Variable.Bool) terminals(first, k, ElementaryType.BOOL), group, true);
    }
  }

  /** What lies a number of bits behind; {@code first} gives the area. */
  private Variable terminals(Variable first, int bits, ElementaryType type) {
    long address = first.address() + bits;
    return Variable.of(program, Address.text(address, type.bits()), new Shape.Scalar(type), address);
  }

  private void checkEnd(Variable.Bool first, int count) {
    if (count > 0 && Address.bit(first.address()) + count > program.areaBits(first.address())) {
      throw new IllegalArgumentException(count + " terminals from " + first.location() + " on do not fit: the area %" + first.area()
          + " of this program has bytes 0 to " + (program.areaBits(first.address()) / 8 - 1));
    }
  }

  /**
   * A Boolean variable of 64 lanes.
   *
   * @throws IllegalArgumentException when the variable is of another program
   */
  public long memoryWord(Variable.Bool variable, int group) {
    check(variable, group);
    if (bank != null) {
      return bank.memoryWord(group, variable.address());
    }
    return gather(variable, group, false);
  }

  /**
   * An external write of a Boolean variable in each of 64 lanes.
   *
   * @throws IllegalArgumentException when the variable is of another program
   */
  public void setMemoryWord(Variable.Bool variable, int group, long word) {
    check(variable, group);
    if (bank != null) {
      bank.setMemoryWord(group, variable.address(), word);
      return;
    }
    for (int i = GROUP * group; i < Math.min(size, GROUP * group + GROUP); i++) {
      each[i].memory().set(variable, (word >>> i & 1) != 0);
    }
  }

  private long gather(Variable.Bool variable, int group, boolean field) {
    long word = 0;
    for (int i = GROUP * group; i < Math.min(size, GROUP * group + GROUP); i++) {
      Place p = field ? each[i].field() : each[i].memory();
      word |= p.get(variable) ? 1L << i : 0;
    }
    return word;
  }

  // ---- states ----

  /** A cold restart of all lanes, as {@link Controller#restartCold}. */
  public void restartCold() {
    if (bank != null) {
      bank.restart();
    }
    for (Controller c : each) {
      c.restartCold();
    }
  }

  /** As {@link Controller#restartCold}, of one lane. */
  public void restartCold(int lane) {
    check(lane);
    if (bank != null) {
      bank.restart(lane, false);
    } else {
      each[lane].restartCold();
    }
  }

  /** As {@link Controller#restartWarm}, of one lane. */
  public void restartWarm(int lane) {
    check(lane);
    if (bank != null) {
      bank.restart(lane, true);
    } else {
      each[lane].restartWarm();
    }
  }

  /** The state of a lane, as {@link Controller#snapshot}; its displays have sampled nothing where lanes run on words. */
  public Snapshot snapshot(int lane) {
    check(lane);
    return bank != null ? new Snapshot(bank.machine(lane).save()) : each[lane].snapshot();
  }

  /**
   * A lane goes on from a snapshot of this lane, another one, or a controller.
   *
   * @throws IllegalArgumentException when the snapshot is of another program or policy, or was taken within a scan, or holds forces or changes that are
   *     still to come, which lanes do not have
   */
  public void restore(int lane, Snapshot snapshot) {
    check(lane);
    if (bank != null) {
      bank.put(lane, state(snapshot));
    } else {
      state(snapshot, lane);
    }
  }

  /** All lanes go on from one snapshot, as {@link #restore(int, Snapshot)}. */
  public void restore(Snapshot snapshot) {
    if (bank != null) {
      bank.putAll(state(snapshot));
    }
    for (int i = 0; i < each.length; i++) {
      state(snapshot, i);
    }
  }

  private Engine.Between state(Snapshot snapshot) {
    Engine.Between b = bank.state(snapshot.state());
    if (b == null) {
      throw notBetweenScans();
    }
    return b;
  }

  private void state(Snapshot snapshot, int lane) {
    Engine.Snapshot s = snapshot.state();
    if (s.inScan() || s.holdsMore()) {
      throw notBetweenScans();
    }
    each[lane].restore(snapshot);
  }

  private static IllegalArgumentException notBetweenScans() {
    return new IllegalArgumentException("a lane stands between two scans, with nothing forced or scheduled; the snapshot holds more than that");
  }

  /** Lane {@code to} goes on from where lane {@code from} stands. */
  public void copy(int from, int to) {
    check(to);
    if (from != to) {
      restore(to, snapshot(from));
    }
  }

  /** A new controller that goes on where a lane stands: to observe, explain or step what the lane would do. */
  public Controller controller(int lane) {
    Controller c = program.newController(policy);
    c.restore(snapshot(lane));
    return c;
  }

  // ---- what the places of lanes do ----

  long readField(int lane, Variable v) {
    Values.needTerminal(v);
    return bank != null ? Memory.extend(bank.field(lane, v.address(), v.width()), v.kind()) : each[lane].field().bits(v);
  }

  long readMemory(int lane, Variable v) {
    return bank != null ? bank.memory(lane, v.address(), v.kind()) : each[lane].memory().bits(v);
  }

  int[] readText(int lane, Variable.Text v) {
    return bank != null ? bank.text(lane, (int) v.address(), v.kind()) : ((Values) each[lane].memory()).readText(v);
  }

  void writeField(int lane, Variable v, long value) {
    Values.needTerminal(v);
    checkInput(v);
    if (bank != null) {
      bank.setField(lane, v.address(), v.width(), value);
    } else {
      ((Values) each[lane].field()).write(0, v, value);
    }
  }

  void writeMemory(int lane, Variable v, long value) {
    if (bank != null) {
      bank.setMemory(lane, v.address(), v.kind(), value);
    } else {
      ((Values) each[lane].memory()).write(0, v, value);
    }
  }

  void writeText(int lane, Variable.Text v, int[] units) {
    if (bank != null) {
      bank.setText(lane, (int) v.address(), v.kind(), v.capacity(), units);
    } else {
      ((Values) each[lane].memory()).writeText(0, v, units);
    }
  }

  // ---- checks ----

  private void check(int lane) {
    if (lane < 0 || lane >= size) {
      throw new IndexOutOfBoundsException("lane " + lane + "; lanes are 0 to " + (size - 1));
    }
  }

  private void checkGroup(int group) {
    if (group < 0 || group >= groups()) {
      throw new IndexOutOfBoundsException("group " + group + "; groups are 0 to " + (groups() - 1));
    }
  }

  private void check(Variable.Bool variable, int group) {
    checkGroup(group);
    if (Objects.requireNonNull(variable, "variable").program() != program) {
      throw new IllegalArgumentException(variable.path() + " is a variable of another program");
    }
  }

  private void checkTerminal(Variable.Bool variable, int group) {
    check(variable, group);
    Values.needTerminal(variable);
  }

  private static void checkInput(Variable v) {
    if (Address.area(v.address()) != 1) {
      throw new IllegalArgumentException(v.path() + " is an output; its terminal is driven by the controller alone");
    }
  }
}
