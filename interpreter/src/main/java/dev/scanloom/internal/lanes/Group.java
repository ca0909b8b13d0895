package dev.scanloom.internal.lanes;

import dev.scanloom.internal.bytecode.CompiledExecutor;
import dev.scanloom.internal.exec.EventSink;
import dev.scanloom.internal.exec.SteppingExecutor;
import dev.scanloom.internal.exec.Supervisor;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.scan.Engine.Between;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.EventKind;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.Set;

/**
 * Up to 64 lanes. A cell that words touch lies in a word; lanes have copies of those that their stretches touch. All others lie in the lanes' memories, which
 * are made when something is to lie in them.
 */
final class Group implements Stretches {
  private final LanePlan plan;
  private final Weave weave;
  private final Cells cells;
  private final int count;
  private final long[] words;
  private final long[] initialWords;
  /** Terminals of inputs and outputs that lie in words. */
  private final long[] inputs;
  private final long[] outputs;
  private final Memory[] memories = new Memory[64];
  /** Of each chunk, on views of the lane's memory. */
  private final CompiledExecutor[][] executors = new CompiledExecutor[64][];
  private final byte[][] laneInputs = new byte[64][];
  private final byte[][] laneOutputs = new byte[64][];
  /** Initial memory, for lanes that have none of their own. */
  private final Memory initial;
  private final Quiet quiet;
  /** By part; null for those that are loops in the generated class. */
  private final Reaction[] reactions;
  private final long[][] slots = new long[64][];
  /** The lanes' own parts of the areas I and Q hold something, so that they have to be refreshed. */
  private boolean refreshesInputs;
  private boolean refreshesOutputs;

  /** Lanes that have not failed. */
  long alive;
  /** Lanes that have failed in this scan and are to repeat it. */
  long failed;
  /** Steps of stretches in this scan. */
  final long[] partSteps = new long[64];
  final Between[] frozen = new Between[64];
  private long[] activations = {};
  /** Steps that are told until the next scan. */
  private long told = -1;
  private final long[] toldSteps = new long[64];

  // the state before this scan, when lanes can fail
  private final boolean keeps;
  private long[] wordsBefore = {};
  private final long[][] slotsBefore = new long[64][];
  private final byte[][][] areasBefore = new byte[64][][];
  private final int storedSlots;

  /** A stretch as it runs: what is carried, by word and place. */
  private record Reaction(int chunk, int index, int self, int extra, int[] inWords, long[] inPlaces, int[] outWords, long[] outPlaces) {}

  /** No policy acts while stretches run. */
  private static final class Quiet implements Supervisor, EventSink {
    /** What elements do is not recorded, but executors have a place for it. */
    private final boolean[] none;
    private long now;

    Quiet(int elements) {
      none = new boolean[elements + 1];
    }

    @Override
    public long now() {
      return now;
    }

    @Override
    public void setNow(long time) {
      now = time;
    }

    @Override
    public long deadline() {
      return Long.MAX_VALUE;
    }

    @Override
    public boolean reached() {
      return false;
    }

    @Override
    public boolean watchesReads() {
      return false;
    }

    @Override
    public boolean watchesWrites() {
      return false;
    }

    @Override
    public void beforeRead(long address, int width) {
      throw new IllegalStateException("nobody watches reads");
    }

    @Override
    public void afterWrite(long address, int width) {
      throw new IllegalStateException("nobody watches writes");
    }

    @Override
    public int heir(long address) {
      return -1;
    }

    @Override
    public boolean yields() {
      return false;
    }

    @Override
    public boolean isInterrupted() {
      return false;
    }

    @Override
    public Set<EventKind> wanted() {
      return EnumSet.noneOf(EventKind.class);
    }

    @Override
    public void step(int step, long ordinal, long[] stack, int sp) {
      // nobody listens
    }

    @Override
    public void read(int step, long ordinal, long address, int width, long value) {
      // nobody listens
    }

    @Override
    public void write(int step, long ordinal, long address, int width, long before, long after, Source source) {
      // nobody listens
    }

    @Override
    public void element(int step, long ordinal, int element, boolean test, boolean power) {
      // nobody listens
    }

    @Override
    public boolean[] tests() {
      return none;
    }

    @Override
    public boolean[] powers() {
      return none;
    }

    @Override
    public void report(int step, long ordinal, String message) {
      // nobody listens
    }
  }

  Group(LanePlan plan, int count) {
    this.plan = plan;
    this.weave = plan.weave;
    this.cells = weave.cells;
    this.count = count;
    alive = all();
    quiet = new Quiet(plan.code.elements().size());
    initial = plan.initial;
    initialWords = new long[plan.words.words()];
    for (int w = 0; w < weave.cellOf.length; w++) {
      initialWords[w] = -bit(initial, weave.cellOf[w]);
    }
    words = initialWords.clone();
    inputs = new long[weave.inputWords];
    outputs = new long[weave.outputWords];
    reactions = new Reaction[weave.parts.size()];
    int number = 0;
    for (int i = 0; i < reactions.length; i++) {
      Weave.Part p = weave.parts.get(i);
      if (p.plain()) {
        continue;
      }
      reactions[i] = new Reaction(number / LanePlan.CHUNK, number++ % LanePlan.CHUNK, p.self(), p.extra(), wordsOf(p.in()), places(p.in()), wordsOf(p.out()),
          places(p.out()));
    }
    keeps = weave.canFail || weave.loops || LanePlan.most(plan.words) + weave.partSteps >= plan.limits.stepsPerScan();
    int n = 0;
    for (int[] r : weave.stored) {
      n += r[1] - r[0] + 1;
    }
    storedSlots = n;
    refreshesInputs = weave.laneInputs || holdsApart(1, initial.areas[1]);
    refreshesOutputs = weave.laneOutputs || holdsApart(2, initial.areas[2]);
    if (reactions.length > 0 || refreshesInputs || refreshesOutputs) {
      for (int k = 0; k < count; k++) {
        own(k);
      }
    }
  }

  /** A bit that lies in no word is set. */
  private boolean holdsApart(int area, byte[] bytes) {
    for (int i = 0; i < bytes.length; i++) {
      for (int b = 0; bytes[i] != 0 && b < 8; b++) {
        if ((bytes[i] >>> b & 1) != 0 && weave.wordOf[cells.areaStart(area) + 8 * i + b] < 0) {
          return true;
        }
      }
    }
    return false;
  }

  private void look(Between b) {
    refreshesInputs |= holdsApart(1, b.inputs()) || holdsApart(1, b.areas()[1]);
    refreshesOutputs |= holdsApart(2, b.outputs()) || holdsApart(2, b.areas()[2]);
  }

  private long all() {
    return count == 64 ? -1 : (1L << count) - 1;
  }

  private int[] wordsOf(int[] of) {
    return Arrays.stream(of).map(c -> weave.wordOf[c]).toArray();
  }

  /** Slots, or bits of areas as addresses. */
  private long[] places(int[] of) {
    return Arrays.stream(of).mapToLong(this::address).toArray();
  }

  private long address(int cell) {
    if (cell < cells.slots) {
      return cell;
    }
    for (int area = 3; area >= 1; area--) {
      if (cell >= cells.areaStart(area)) {
        return Address.located("-IQM".charAt(area), cell - cells.areaStart(area));
      }
    }
    throw new IllegalStateException("cell " + cell);
  }

  private long bit(Memory m, int cell) {
    return cell < cells.slots ? m.slots[cell] & 1 : m.read(address(cell), BodyCut.BOOL);
  }

  private void setBit(Memory m, int cell, long value) {
    m.write(address(cell), BodyCut.BOOL, value);
  }

  /** The memory of a lane, made with what words hold. */
  private Memory own(int k) {
    if (memories[k] == null) {
      Memory m = new Memory(initial.code(), 1);
      memories[k] = m;
      slots[k] = m.slots;
      toLane(k);
      CompiledExecutor[] all = new CompiledExecutor[plan.chunks.size()];
      long[] costs = new long[Op.values().length];
      for (int c = 0; c < all.length; c++) {
        LanePlan.Chunk chunk = plan.chunks.get(c);
        Memory seen = new Memory(chunk.code(), m);
        SteppingExecutor stepping = new SteppingExecutor(seen, chunk.condensation(), quiet, quiet, plan.limits, costs);
        all[c] = new CompiledExecutor(chunk.compiled(), seen, quiet, stepping, plan.limits, 0);
      }
      executors[k] = all;
      laneInputs[k] = new byte[m.areas[1].length];
      laneOutputs[k] = new byte[m.areas[2].length];
    }
    return memories[k];
  }

  private Memory look(int k) {
    return memories[k] != null ? memories[k] : initial;
  }

  private void toLane(int k) {
    for (int w = 0; w < weave.cellOf.length; w++) {
      setBit(memories[k], weave.cellOf[w], words[w] >>> k & 1);
    }
  }

  // ---- scanning ----

  void run(long[] times) {
    activations = times;
    failed = 0;
    told = 0;
    if (keeps) {
      keep();
    }
    System.arraycopy(inputs, 0, words, 0, inputs.length);
    if (reactions.length > 0) {
      Arrays.fill(partSteps, 0);
    }
    for (int k = 0; (refreshesInputs || weave.refreshed.length > 0) && k < count; k++) {
      if (memories[k] != null && (alive >>> k & 1) != 0) {
        if (refreshesInputs) {
          byte[] image = memories[k].areas[1];
          System.arraycopy(laneInputs[k], 0, image, 0, image.length);
        }
        for (int cell : weave.refreshed) {
          setBit(memories[k], cell, words[weave.wordOf[cell]] >>> k & 1);
        }
      }
    }
    int marks = plan.words.marks();
    Arrays.fill(words, marks, marks + plan.words.lengths().length, 0);
    plan.words.program().run(words, this);
  }

  @Override
  public void run(int part, long mask) {
    long lanes = mask & alive & ~failed;
    Reaction r = reactions[part];
    for (long rest = lanes; rest != 0; rest &= rest - 1) {
      int k = Long.numberOfTrailingZeros(rest);
      Memory m = memories[k];
      long[] slots = m.slots;
      for (int i = 0; i < r.inWords.length; i++) {
        long place = r.inPlaces[i];
        long value = words[r.inWords[i]] >>> k & 1;
        if (place > 0 && place < slots.length) {
          slots[(int) place] = value;
        } else {
          m.write(place, BodyCut.BOOL, value);
        }
      }
      CompiledExecutor e = executors[k][r.chunk];
      quiet.now = activations[k];
      boolean fine = e.run(0, r.index, r.self, activations[k]);
      partSteps[k] += e.steps() - r.extra;
      if (!fine) {
        failed |= 1L << k;
        continue;
      }
      for (int i = 0; i < r.outWords.length; i++) {
        long place = r.outPlaces[i];
        long value = place > 0 && place < slots.length ? slots[(int) place] & 1 : m.read(place, BodyCut.BOOL);
        int w = r.outWords[i];
        words[w] = words[w] & ~(1L << k) | value << k;
      }
    }
  }

  @Override
  public long running() {
    return alive & ~failed;
  }

  @Override
  public long[][] slots() {
    return slots;
  }

  @Override
  public long[] times() {
    return activations;
  }

  @Override
  public long[] counts() {
    return partSteps;
  }

  /** Outputs to the terminals. */
  void deliver() {
    System.arraycopy(words, inputs.length, outputs, 0, outputs.length);
    for (int k = 0; refreshesOutputs && k < count; k++) {
      if (memories[k] != null && (alive >>> k & 1) != 0) {
        System.arraycopy(memories[k].areas[2], 0, laneOutputs[k], 0, laneOutputs[k].length);
      }
    }
  }

  private void keep() {
    if (wordsBefore.length == 0) {
      wordsBefore = new long[weave.cellOf.length];
    }
    System.arraycopy(words, 0, wordsBefore, 0, wordsBefore.length);
    for (int k = 0; k < count; k++) {
      if (slotsBefore[k] == null) {
        slotsBefore[k] = new long[storedSlots];
        areasBefore[k] = new byte[4][];
        for (int a = 2; a <= 3 && weave.storesAreas; a++) {
          areasBefore[k][a] = new byte[memories[k].areas[a].length];
        }
      }
      int at = 0;
      for (int[] r : weave.stored) {
        int n = r[1] - r[0] + 1;
        System.arraycopy(memories[k].slots, r[0], slotsBefore[k], at, n);
        at += n;
      }
      // inputs are refreshed when the scan is repeated
      for (int a = 2; a <= 3; a++) {
        if (areasBefore[k][a] != null) {
          System.arraycopy(memories[k].areas[a], 0, areasBefore[k][a], 0, areasBefore[k][a].length);
        }
      }
    }
  }

  /** The lane as it was before this scan; its clock is not told. */
  Between before(int k) {
    Memory m = memories[k];
    long[] slots = m.slots.clone();
    byte[][] areas = {new byte[0], m.areas[1].clone(), m.areas[2].clone(), m.areas[3].clone()};
    int at = 0;
    for (int[] r : weave.stored) {
      int n = r[1] - r[0] + 1;
      System.arraycopy(slotsBefore[k], at, slots, r[0], n);
      at += n;
    }
    for (int a = 2; a <= 3; a++) {
      if (areasBefore[k][a] != null) {
        areas[a] = areasBefore[k][a].clone();
      }
    }
    return state(k, slots, areas, wordsBefore);
  }

  /** The lane as it is; its clock is not told. */
  Between get(int k) {
    Memory m = look(k);
    return state(k, m.slots.clone(), new byte[][] {new byte[0], m.areas[1].clone(), m.areas[2].clone(), m.areas[3].clone()}, words);
  }

  private Between state(int k, long[] slots, byte[][] areas, long[] from) {
    for (int w = 0; w < weave.cellOf.length; w++) {
      int cell = weave.cellOf[w];
      long value = from[w] >>> k & 1;
      if (cell < cells.slots) {
        slots[cell] = value;
      } else {
        long a = address(cell);
        set(areas[Address.area(a)], (int) Address.bit(a), value);
      }
    }
    byte[] in = laneInputs[k] == null ? new byte[areas[1].length] : laneInputs[k].clone();
    byte[] out = laneOutputs[k] == null ? new byte[areas[2].length] : laneOutputs[k].clone();
    for (int w = 0; w < inputs.length; w++) {
      set(in, weave.cellOf[w] - cells.areaStart(1), inputs[w] >>> k & 1);
    }
    for (int w = 0; w < outputs.length; w++) {
      set(out, weave.cellOf[inputs.length + w] - cells.areaStart(2), outputs[w] >>> k & 1);
    }
    int machine = plan.code.memory().staticSlots() + plan.code.memory().frameSlots();
    return new Between(Arrays.copyOf(slots, machine), areas, in, out, 0, 0, 0, steps(k), 0, null);
  }

  private static void set(byte[] area, int bit, long value) {
    int mask = 1 << (bit & 7);
    area[bit >>> 3] = (byte) (value != 0 ? area[bit >>> 3] | mask : area[bit >>> 3] & ~mask);
  }

  private static long get(byte[] area, int bit) {
    return area[bit >>> 3] >>> (bit & 7) & 1;
  }

  /** The lane has failed with this state. */
  void freeze(int k, Between b) {
    frozen[k] = b;
    alive &= ~(1L << k);
  }

  /** The lane goes on from this state. */
  void put(int k, Between b) {
    look(b);
    Memory m = own(k);
    System.arraycopy(b.slots(), 0, m.slots, 0, b.slots().length);
    for (int a = 1; a <= 3; a++) {
      System.arraycopy(b.areas()[a], 0, m.areas[a], 0, m.areas[a].length);
    }
    System.arraycopy(b.inputs(), 0, laneInputs[k], 0, laneInputs[k].length);
    System.arraycopy(b.outputs(), 0, laneOutputs[k], 0, laneOutputs[k].length);
    long lane = 1L << k;
    for (int w = 0; w < weave.cellOf.length; w++) {
      words[w] = words[w] & ~lane | bit(m, weave.cellOf[w]) << k;
    }
    for (int w = 0; w < inputs.length; w++) {
      inputs[w] = inputs[w] & ~lane | get(b.inputs(), weave.cellOf[w] - cells.areaStart(1)) << k;
    }
    for (int w = 0; w < outputs.length; w++) {
      outputs[w] = outputs[w] & ~lane | get(b.outputs(), weave.cellOf[inputs.length + w] - cells.areaStart(2)) << k;
    }
    frozen[k] = null;
    alive |= lane;
    tell(k, b.steps());
  }

  /** All lanes go on from this state. */
  void putAll(Between b) {
    for (int k = 0; k < count; k++) {
      if (b.fault() != null) {
        freeze(k, copy(b));
      } else if (k == 0) {
        put(0, b);
      } else {
        own(k);
        System.arraycopy(memories[0].slots, 0, memories[k].slots, 0, memories[0].slots.length);
        for (int a = 1; a <= 3; a++) {
          System.arraycopy(b.areas()[a], 0, memories[k].areas[a], 0, b.areas()[a].length);
        }
        System.arraycopy(b.inputs(), 0, laneInputs[k], 0, laneInputs[k].length);
        System.arraycopy(b.outputs(), 0, laneOutputs[k], 0, laneOutputs[k].length);
        frozen[k] = null;
        tell(k, b.steps());
      }
    }
    if (b.fault() == null) {
      alive = all();
      for (int w = 0; w < weave.cellOf.length; w++) {
        words[w] = -(words[w] & 1);
      }
      for (int w = 0; w < inputs.length; w++) {
        inputs[w] = -(inputs[w] & 1);
      }
      for (int w = 0; w < outputs.length; w++) {
        outputs[w] = -(outputs[w] & 1);
      }
    }
  }

  private static Between copy(Between b) {
    byte[][] areas = {new byte[0], b.areas()[1].clone(), b.areas()[2].clone(), b.areas()[3].clone()};
    return new Between(b.slots().clone(), areas, b.inputs().clone(), b.outputs().clone(), b.now(), b.scans(), b.scanStart(), b.steps(), b.messages(),
        b.fault());
  }

  /** All variables to their initial values; no lane stands still. */
  void initialize() {
    System.arraycopy(initialWords, 0, words, 0, weave.cellOf.length);
    for (int k = 0; k < count; k++) {
      if (memories[k] != null) {
        memories[k].initialize();
      }
      tell(k, 0);
    }
  }

  // ---- steps ----

  private void tell(int k, long steps) {
    told |= 1L << k;
    toldSteps[k] = steps;
  }

  /** Steps of the last scan. */
  long steps(int k) {
    if ((told >>> k & 1) != 0) {
      return toldSteps[k];
    }
    long n = plan.words.common() + partSteps[k];
    int[] lengths = plan.words.lengths();
    for (int i = 0; i < lengths.length; i++) {
      n += (words[plan.words.marks() + i] >>> k & 1) * lengths[i];
    }
    return n;
  }

  /** The same for all lanes that run; counts in bit planes, so that a block costs little. */
  long[] allSteps() {
    long[] planes = new long[40];
    int[] lengths = plan.words.lengths();
    long common = plan.words.common();
    for (int i = 0; i < lengths.length; i++) {
      long mask = words[plan.words.marks() + i];
      if (mask == -1) {
        common += lengths[i];
        continue;
      }
      for (int n = lengths[i], b = 0; mask != 0 && n != 0; n >>>= 1, b++) {
        long carry = (n & 1) != 0 ? mask : 0;
        for (int p = b; carry != 0; p++) {
          long next = planes[p] & carry;
          planes[p] ^= carry;
          carry = next;
        }
      }
    }
    long[] all = new long[64];
    for (int k = 0; k < count; k++) {
      if ((told >>> k & 1) != 0) {
        all[k] = toldSteps[k];
        continue;
      }
      long n = common + partSteps[k];
      for (int p = 0; p < planes.length; p++) {
        n += (planes[p] >>> k & 1) << p;
      }
      all[k] = n;
    }
    return all;
  }

  // ---- values ----

  private int word(long address) {
    return weave.wordOf[cells.of(address)];
  }

  private Memory view(Between b) {
    Memory m = new Memory(plan.code, 1);
    System.arraycopy(b.slots(), 0, m.slots, 0, b.slots().length);
    for (int a = 1; a <= 3; a++) {
      m.areas[a] = b.areas()[a];
    }
    return m;
  }

  long memory(int k, long address, int kind) {
    if (frozen[k] != null) {
      return view(frozen[k]).read(address, kind);
    }
    int width = Arith.kind(kind).bits();
    if (!Address.isLocated(address)) {
      int w = word(address);
      return w >= 0 ? words[w] >>> k & 1 : look(k).slots[(int) address];
    }
    Memory m = look(k);
    long bits = 0;
    for (int i = 0; i < width; i++) {
      int w = word(address + i);
      bits |= (w >= 0 ? words[w] >>> k & 1 : m.readBits(Address.area(address), Address.bit(address) + i, 1)) << i;
    }
    return Memory.extend(bits, kind);
  }

  void setMemory(int k, long address, int kind, long value) {
    if (frozen[k] != null) {
      Memory m = view(frozen[k]);
      m.write(address, kind, value);
      System.arraycopy(m.slots, 0, frozen[k].slots(), 0, frozen[k].slots().length);
      return;
    }
    int width = Address.isLocated(address) ? Arith.kind(kind).bits() : 1;
    boolean all = true;
    for (int i = 0; i < width; i++) {
      int w = word(address + i);
      if (w >= 0) {
        words[w] = words[w] & ~(1L << k) | (value >>> i & 1) << k;
      }
      all &= w >= 0;
    }
    if (!all || memories[k] != null) {
      own(k).write(address, kind, value);
      refreshesInputs |= !all && Address.isLocated(address) && Address.area(address) == 1;
      refreshesOutputs |= !all && Address.isLocated(address) && Address.area(address) == 2;
    }
  }

  int[] text(int k, int slot, int kind) {
    return (frozen[k] != null ? view(frozen[k]) : look(k)).text(slot, kind);
  }

  void setText(int k, int slot, int kind, int capacity, int[] units) {
    if (frozen[k] != null) {
      Memory m = view(frozen[k]);
      m.setText(slot, kind, capacity, units);
      System.arraycopy(m.slots, 0, frozen[k].slots(), 0, frozen[k].slots().length);
      return;
    }
    own(k).setText(slot, kind, capacity, units);
  }

  long field(int k, long address, int width) {
    boolean in = Address.area(address) == 1;
    int from = (int) Address.bit(address);
    long bits = 0;
    for (int i = 0; i < width; i++) {
      long v;
      if (frozen[k] != null) {
        v = get(in ? frozen[k].inputs() : frozen[k].outputs(), from + i);
      } else {
        int w = word(address + i);
        byte[] lane = in ? laneInputs[k] : laneOutputs[k];
        v = w >= 0 ? (in ? inputs[w] : outputs[w - inputs.length]) >>> k & 1 : lane == null ? 0 : get(lane, from + i);
      }
      bits |= v << i;
    }
    return bits;
  }

  /** An input terminal. */
  void setField(int k, long address, int width, long value) {
    int from = (int) Address.bit(address);
    for (int i = 0; i < width; i++) {
      long v = value >>> i & 1;
      if (frozen[k] != null) {
        set(frozen[k].inputs(), from + i, v);
        continue;
      }
      int w = word(address + i);
      if (w >= 0) {
        inputs[w] = inputs[w] & ~(1L << k) | v << k;
      } else {
        own(k);
        refreshesInputs = true;
        set(laneInputs[k], from + i, v);
      }
    }
  }

  private boolean isWhole(int w) {
    return w >= 0 && alive == all();
  }

  long memoryWord(long address) {
    int w = word(address);
    if (isWhole(w)) {
      return words[w] & all();
    }
    long all = 0;
    for (int k = 0; k < count; k++) {
      all |= (memory(k, address, BodyCut.BOOL) & 1) << k;
    }
    return all;
  }

  void setMemoryWord(long address, long word) {
    int w = word(address);
    if (isWhole(w) && reactions.length == 0) {
      words[w] = word;
      for (int k = 0; k < count; k++) {
        if (memories[k] != null) {
          memories[k].write(address, BodyCut.BOOL, word >>> k & 1);
        }
      }
      return;
    }
    for (int k = 0; k < count; k++) {
      setMemory(k, address, BodyCut.BOOL, word >>> k & 1);
    }
  }

  long fieldWord(long address) {
    int w = word(address);
    if (isWhole(w)) {
      return (Address.area(address) == 1 ? inputs[w] : outputs[w - inputs.length]) & all();
    }
    long all = 0;
    for (int k = 0; k < count; k++) {
      all |= field(k, address, 1) << k;
    }
    return all;
  }

  void setFieldWord(long address, long word) {
    int w = word(address);
    if (isWhole(w)) {
      inputs[w] = word;
      return;
    }
    for (int k = 0; k < count; k++) {
      setField(k, address, 1, word >>> k & 1);
    }
  }


  /** Terminals from an address on. */
  void setFieldWords(long address, long[] of) {
    int w = of.length == 0 ? -1 : word(address);
    if (isWhole(w) && word(address + of.length - 1) == w + of.length - 1) {
      System.arraycopy(of, 0, inputs, w, of.length);
      return;
    }
    for (int i = 0; i < of.length; i++) {
      setFieldWord(address + i, of[i]);
    }
  }

  void fieldWords(long address, long[] into) {
    for (int i = 0; i < into.length; i++) {
      into[i] = fieldWord(address + i);
    }
  }
}
