package dev.scanloom.internal.lanes;

import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.scan.Engine.Between;
import dev.scanloom.internal.scan.Engine.EngineFault;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.CostModel.Phase;
import dev.scanloom.policy.ScanPolicy;
import java.util.Arrays;
import java.util.function.Supplier;

/**
 * Lanes in step, in groups of 64. What single machines would do between their steps, they do at the ends of a scan: refresh, phases, time. A lane that
 * has failed is kept aside as a state until it is restarted. Confined to one thread.
 */
public final class Bank {
  private final LanePlan plan;
  private final ScanPolicy policy;
  private final CostModel costs;
  private final Supplier<Engine> engines;
  private final int lanes;
  private final Group[] groups;
  private final long stepCost;
  private final long mostByWords;
  private Engine spare;

  /** The clock, as long as all lanes that run have the same. */
  private boolean uniform = true;
  private long now;
  private long scans;
  private long scanStart = -1;
  private long activation;
  /** The clocks of the lanes, when they differ. */
  private long[] nows = {};
  private long[] scanCounts = {};
  private long[] starts = {};
  private final long[] begun = new long[64];
  private final long[] activations = new long[64];
  /** External writes since the last scan. */
  private final int[] messages;
  private boolean anyMessage;

  /** {@code engines}: machines of the same program and policy. */
  public Bank(LanePlan plan, ScanPolicy policy, int lanes, Supplier<Engine> engines) {
    this.plan = plan;
    this.policy = policy;
    this.costs = policy.costs();
    this.engines = engines;
    this.lanes = lanes;
    stepCost = costs.step(CostModel.StepKind.AUXILIARY);
    mostByWords = LanePlan.most(plan.words);
    groups = new Group[(lanes + 63) / 64];
    for (int g = 0; g < groups.length; g++) {
      groups[g] = new Group(plan, Math.min(64, lanes - 64 * g));
    }
    messages = new int[64 * groups.length];
    boolean constant = plan.weave.parts.isEmpty() && plan.words.lengths().length == 0;
    if (stepCost != 0 && !constant) {
      diverge();
    }
  }

  private Engine engine() {
    if (spare == null) {
      spare = engines.get();
    }
    return spare;
  }

  // ---- scanning ----

  private static long plus(long time, long by) {
    return time > Long.MAX_VALUE - by ? Long.MAX_VALUE : time + by;
  }

  private long nextStart(long done, long previous, long time) {
    long at = policy.trigger().nextStart(done + 1, previous, time, time);
    return at == Long.MAX_VALUE ? time : Math.max(at, time);
  }

  private long phase(Phase phase, long scan, int landed) {
    return costs.phase(phase, scan, landed, policy.seed());
  }

  /** One scan of every lane that runs. False when none does, before or after. */
  public boolean scan() {
    boolean any = false;
    for (Group g : groups) {
      any |= g.alive != 0;
    }
    if (!any) {
      return false;
    }
    long start = 0;
    if (uniform) {
      start = nextStart(scans, scanStart, now);
      activation = plus(start, phase(Phase.INPUT_REFRESH, scans + 1, 0));
      Arrays.fill(activations, activation);
    }
    any = false;
    for (int i = 0; i < groups.length; i++) {
      Group g = groups[i];
      if (g.alive == 0) {
        continue;
      }
      if (!uniform) {
        begin(i);
      }
      g.run(activations);
      repeat(i);
      g.deliver();
      if (!uniform) {
        end(i);
      }
      any |= g.alive != 0;
    }
    if (uniform) {
      scanStart = start;
      now = plus(plus(activation, plan.words.common() * stepCost), phase(Phase.OUTPUT_REFRESH, scans + 1, 0));
      housekeeping();
      scans++;
    }
    if (anyMessage) {
      Arrays.fill(messages, 0);
      anyMessage = false;
    }
    return any;
  }

  private void begin(int i) {
    for (long rest = groups[i].alive; rest != 0; rest &= rest - 1) {
      int k = Long.numberOfTrailingZeros(rest);
      int lane = 64 * i + k;
      begun[k] = nextStart(scanCounts[lane], starts[lane], nows[lane]);
      activations[k] = plus(begun[k], phase(Phase.INPUT_REFRESH, scanCounts[lane] + 1, 0));
    }
  }

  private void end(int i) {
    Group g = groups[i];
    long[] steps = stepCost == 0 ? null : g.allSteps();
    for (long rest = g.alive; rest != 0; rest &= rest - 1) {
      int k = Long.numberOfTrailingZeros(rest);
      int lane = 64 * i + k;
      long at = steps == null ? activations[k] : plus(activations[k], steps[k] * stepCost);
      at = plus(at, phase(Phase.OUTPUT_REFRESH, scanCounts[lane] + 1, 0));
      nows[lane] = plus(at, phase(Phase.HOUSEKEEPING, scanCounts[lane] + 1, messages[lane]));
      starts[lane] = begun[k];
      scanCounts[lane]++;
    }
  }

  /** All lanes at one time: what landed since the last scan may part them. */
  private void housekeeping() {
    if (!anyMessage) {
      now = plus(now, phase(Phase.HOUSEKEEPING, scans + 1, 0));
      return;
    }
    long before = now;
    boolean first = true;
    long cost = 0;
    boolean equal = true;
    for (int lane = 0; lane < lanes; lane++) {
      if (isRunning(lane)) {
        long c = phase(Phase.HOUSEKEEPING, scans + 1, messages[lane]);
        equal &= first || c == cost;
        cost = c;
        first = false;
      }
    }
    now = plus(before, cost);
    if (!equal) {
      scans++;
      diverge();
      for (int lane = 0; lane < lanes; lane++) {
        nows[lane] = plus(before, phase(Phase.HOUSEKEEPING, scans, messages[lane]));
      }
    }
  }

  /** Scans in which a lane failed, or may have used more steps than it has, are done again by a machine of its own. */
  private void repeat(int i) {
    Group g = groups[i];
    long again = g.failed;
    if (plan.weave.loops || mostByWords + plan.weave.partSteps >= plan.limits.stepsPerScan()) {
      for (long rest = g.alive; rest != 0; rest &= rest - 1) {
        int k = Long.numberOfTrailingZeros(rest);
        if (mostByWords + g.partSteps[k] >= plan.limits.stepsPerScan()) {
          again |= 1L << k;
        }
      }
    }
    for (long rest = again; rest != 0; rest &= rest - 1) {
      int k = Long.numberOfTrailingZeros(rest);
      Engine e = engine();
      e.stand(clocked(g.before(k), 64 * i + k));
      e.scan();
      Between after = e.between();
      if (after.fault() == null) {
        g.put(k, after);
      } else {
        g.freeze(k, after);
      }
    }
  }

  /** From now on every lane has a clock of its own. */
  private void diverge() {
    if (!uniform) {
      return;
    }
    uniform = false;
    nows = new long[64 * groups.length];
    scanCounts = new long[nows.length];
    starts = new long[nows.length];
    Arrays.fill(nows, now);
    Arrays.fill(scanCounts, scans);
    Arrays.fill(starts, scanStart);
  }

  /** Lets time pass between scans. */
  public void passTime(long by) {
    now = plus(now, by);
    for (int lane = 0; lane < lanes; lane++) {
      Between b = frozen(lane);
      if (b != null) {
        freeze(lane, new Between(b.slots(), b.areas(), b.inputs(), b.outputs(), plus(b.now(), by), b.scans(), b.scanStart(), b.steps(), b.messages(),
            b.fault()));
      } else if (!uniform) {
        nows[lane] = plus(nows[lane], by);
      }
    }
  }

  // ---- lanes ----

  private Between frozen(int lane) {
    return groups[lane >>> 6].frozen[lane & 63];
  }

  private void freeze(int lane, Between b) {
    groups[lane >>> 6].freeze(lane & 63, b);
  }

  /** The lane has not failed. */
  public boolean isRunning(int lane) {
    return (groups[lane >>> 6].alive >>> (lane & 63) & 1) != 0;
  }

  /** Lanes of a group that have not failed, a bit each. */
  public long running(int group) {
    return groups[group].alive;
  }

  /** Null without one. */
  public EngineFault fault(int lane) {
    Between b = frozen(lane);
    return b == null ? null : b.fault();
  }

  public long time(int lane) {
    Between b = frozen(lane);
    return b != null ? b.now() : uniform ? now : nows[lane];
  }

  public long scans(int lane) {
    Between b = frozen(lane);
    return b != null ? b.scans() : uniform ? scans : scanCounts[lane];
  }

  public long scanStart(int lane) {
    Between b = frozen(lane);
    return b != null ? b.scanStart() : uniform ? scanStart : starts[lane];
  }

  /** Steps of the last scan. */
  public long steps(int lane) {
    Between b = frozen(lane);
    return b != null ? b.steps() : groups[lane >>> 6].steps(lane & 63);
  }

  private Between clocked(Between b, int lane) {
    return new Between(b.slots(), b.areas(), b.inputs(), b.outputs(), time(lane), scans(lane), scanStart(lane), b.steps(), messages[lane], null);
  }

  /** A new machine that stands where a lane stands. Its displays have sampled nothing. */
  public Engine machine(int lane) {
    Engine e = engines.get();
    e.stand(get(lane));
    return e;
  }

  /** The state of a machine; null when it holds more than a lane can: a scan in progress, something scheduled or forced. */
  public Between state(Engine.Snapshot snapshot) {
    engine().restore(snapshot);
    return engine().between();
  }

  /** The whole state of a lane. */
  public Between get(int lane) {
    Between b = frozen(lane);
    return b != null ? b : clocked(groups[lane >>> 6].get(lane & 63), lane);
  }

  /** A lane goes on from a state, which is not kept. */
  public void put(int lane, Between b) {
    if (b.fault() != null) {
      freeze(lane, b);
      return;
    }
    boolean alone = !uniform || b.now() != now || b.scans() != scans || b.scanStart() != scanStart;
    groups[lane >>> 6].put(lane & 63, b);
    setMessages(lane, b.messages());
    if (alone) {
      diverge();
      nows[lane] = b.now();
      scanCounts[lane] = b.scans();
      starts[lane] = b.scanStart();
    }
  }

  /** All lanes go on from a state. */
  public void putAll(Between b) {
    uniform = b.fault() == null && (stepCost == 0 || plan.weave.parts.isEmpty() && plan.words.lengths().length == 0);
    now = b.now();
    scans = b.scans();
    scanStart = b.scanStart();
    if (!uniform) {
      uniform = true;
      diverge();
    }
    for (Group g : groups) {
      g.putAll(b);
    }
    Arrays.fill(messages, b.messages());
    anyMessage = b.messages() != 0;
  }

  /** All variables of a lane to their initial values; {@code warm}: retained ones keep theirs. A fault is cleared. */
  public void restart(int lane, boolean warm) {
    Engine e = engine();
    e.stand(get(lane));
    e.restart(warm);
    put(lane, e.between());
  }

  /** A cold restart of all lanes. */
  public void restart() {
    for (int lane = 0; lane < lanes; lane++) {
      if (frozen(lane) != null) {
        restart(lane, false);
      }
    }
    for (Group g : groups) {
      g.initialize();
    }
  }

  private void setMessages(int lane, int n) {
    messages[lane] = n;
    anyMessage |= n != 0;
  }

  // ---- values ----

  /** Bits of memory. */
  public long memory(int lane, long address, int kind) {
    return groups[lane >>> 6].memory(lane & 63, address, kind);
  }

  /** An external write, which lands at once. */
  public void setMemory(int lane, long address, int kind, long value) {
    groups[lane >>> 6].setMemory(lane & 63, address, kind, value);
    landed(lane);
  }

  private void landed(int lane) {
    Between b = frozen(lane);
    if (b == null) {
      setMessages(lane, messages[lane] + 1);
    } else {
      freeze(lane, new Between(b.slots(), b.areas(), b.inputs(), b.outputs(), b.now(), b.scans(), b.scanStart(), b.steps(), b.messages() + 1, b.fault()));
    }
  }

  /** Characters of a string. */
  public int[] text(int lane, int slot, int kind) {
    return groups[lane >>> 6].text(lane & 63, slot, kind);
  }

  public void setText(int lane, int slot, int kind, int capacity, int[] units) {
    groups[lane >>> 6].setText(lane & 63, slot, kind, capacity, units);
    landed(lane);
  }

  /** Bits of terminals. */
  public long field(int lane, long address, int width) {
    return groups[lane >>> 6].field(lane & 63, address, width);
  }

  public void setField(int lane, long address, int width, long value) {
    groups[lane >>> 6].setField(lane & 63, address, width, value);
  }

  /** A Boolean of memory for 64 lanes. */
  public long memoryWord(int group, long address) {
    return groups[group].memoryWord(address);
  }

  public void setMemoryWord(int group, long address, long word) {
    groups[group].setMemoryWord(address, word);
    for (int lane = 64 * group; lane < Math.min(lanes, 64 * group + 64); lane++) {
      landed(lane);
    }
  }

  /** A terminal for 64 lanes. */
  public long fieldWord(int group, long address) {
    return groups[group].fieldWord(address);
  }

  public void setFieldWord(int group, long address, long word) {
    groups[group].setFieldWord(address, word);
  }

  /** Terminals from an address on, for 64 lanes. */
  public void setFieldWords(int group, long address, long[] of) {
    groups[group].setFieldWords(address, of);
  }

  public void fieldWords(int group, long address, long[] into) {
    groups[group].fieldWords(address, into);
  }
}
