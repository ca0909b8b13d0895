package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import java.util.TreeSet;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;

/**
 * Writes a method: steps {@code [start, end)} of a body, with the bodies that are inlined. The steps are executed on values not yet computed; what is
 * known about memory is carried from block to block. Loops are gone through without writing until what is known at their heads no longer changes; then the
 * method is written.
 */
final class MethodWriter implements Opcodes {
  static final String RUN = "dev/scanloom/internal/bytecode/Run";
  static final String SUPPORT = "dev/scanloom/internal/bytecode/Support";
  /** Memory, instance, frame, run, steps used, call depth; returns the steps used. */
  static final String BODY = "([JIIL" + RUN + ";JI)J";
  /** Besides the entry; returns the next entry, the run has the steps. */
  static final String CHUNK = "([JIIL" + RUN + ";JII)I";
  /** The same with the bits of inputs: an array that is a parameter takes less to address than one that is a field. */
  static final String CHUNK_WITH_BITS = "([JIIL" + RUN + ";JII[J)I";
  static final int MEM = 0;
  static final int SELF = 1;
  static final int FRAME = 2;
  static final int RT = 3;
  /** Steps used up to where {@link #COUNT} was 0. */
  static final int STEPS = 4;
  static final int DEPTH = 6;
  static final int ENTRY = 7;
  /** Bits of inputs as slots, where a method uses them: a parameter of {@link #CHUNK_WITH_BITS}. */
  static final int BITS = 8;
  /** Number of the site that may fail next, in {@link Sites}. */
  private static final int SITE = 9;
  /** Areas I, Q and M, where a method uses them. */
  private static final int AREAS = 10;
  /** Steps since STEPS was last brought up to date: an int, which takes little to count. */
  private static final int COUNT = 13;
  /** How far COUNT may go before the run must be asked. */
  private static final int ROOM = 14;
  private static final int FIRST = 15;

  /** Loops of at most so many steps in all ask before they begin instead of in each round. */
  private static final int UNASKED = 32_768;
  private static final int MOST_PASSES = 60;
  private static final int MOST_BOUNDS = 24;

  private static final int NARROWINGS = 4;
  /** Elements of so many slots are likely to be used at several places. */
  private static final int WIDE = 3;
  private static final int MOST_FOLLOWED = 120;

  /** What a method needs to know of the program. */
  record Surroundings(Code code, Blocks blocks, Inlining inlining, Sites sites, String className, InputBits inputBits,
      boolean watchesReads, boolean watchesWrites, boolean checksDepth) {}

  /** A method that is one of several of its body: where the others begin. */
  interface Neighbours {
    /** What to return to go on at a step of another method. */
    int next(int step);
  }

  final Surroundings program;
  final Code code;
  private final Blocks list;
  final Flow flow;
  private final Frame frame;
  /** Slot of the instance, if there is only one; else -1. */
  private final int fixedSelf;
  private final Neighbours neighbours;
  /** Words of inputs whose bits are read from slots. */
  private final int[] inputWords;
  private final List<Integer> entries;
  private final int start;
  /** Numbers that slots are compared with. */
  private final TreeMap<Place.Key, TreeSet<Long>> bounds = new TreeMap<>();

  // found in the passes
  private final Map<Place.Key, Rep> reps = new LinkedHashMap<>();
  private final TreeSet<Place.Key> written = new TreeSet<>();
  private final TreeMap<Place.Key, Integer> uses = new TreeMap<>();
  /** Slots that are followed in local variables; null: all, as long as it is not known for which it is worth it. */
  private TreeMap<Place.Key, Integer> followed;
  private final Map<Integer, Facts> heads = new LinkedHashMap<>();
  private boolean again;
  /** Nothing is known where loops begin: for methods where the passes do not come to rest. */
  private boolean plain;

  // of one pass
  Asm m;
  Operators values;
  private Facts facts;
  private Facts[][] out;
  private Label[] labels;
  private int firstScratch;
  private int nextScratch;
  private int firstOperand;
  private Value[] stack = new Value[32];
  private int top;
  private Flow.Block block;
  private int pc;
  private boolean canFail;
  private Map<Temporary, Value> temporaries;
  private final Map<Temporary, Integer> stores = new LinkedHashMap<>();
  /** Local variables for computed parts of addresses that temporaries hold. */
  private final TreeSet<Place.Key> kept = new TreeSet<>();
  private final Map<Long, Integer> words = new TreeMap<>();
  private final List<Runnable> behind = new ArrayList<>();
  private final Steps steps;

  MethodWriter(Surroundings program, int body, int start, int end, int fixedSelf, boolean ownFrame, int[] inputWords, Neighbours neighbours,
      List<Integer> entries) {
    this.program = program;
    this.code = program.code();
    this.list = program.blocks();
    this.start = start;
    this.fixedSelf = fixedSelf;
    this.neighbours = neighbours;
    this.inputWords = inputWords;
    this.entries = entries;
    this.flow = new Flow(code, list, program.inlining(), body, start, end, entries);
    this.frame = new Frame(code, list, flow, start, end, ownFrame);
    this.steps = new Steps(this);
    countStores();
  }

  /** Finds out what is known where. Bytes that the method will have, at most. */
  int prepare() {
    converge();
    choose();
    converge();
    narrow();
    boundLoops();
    pass(null);
    return m.bytes();
  }

  void write(MethodVisitor target) {
    pass(target);
    if (!holds()) {
      throw new IllegalStateException("what is known where a loop begins has changed while the method was written");
    }
  }

  private void converge() {
    heads.clear();
    int passes = 0;
    do {
      if (++passes > MOST_PASSES) {
        plain = true;
      }
      again = false;
      pass(null);
      settleHeads();
    } while (again);
  }

  /** Bounds may have grown too far on their way: what follows from them at the heads of loops is at least as good, as often as one looks. */
  private void narrow() {
    if (flow.blocks.stream().noneMatch(b -> b.loop)) {
      return;
    }
    for (int i = 0; i < NARROWINGS; i++) {
      Map<Integer, Facts> before = new LinkedHashMap<>(heads);
      pass(null);
      for (Flow.Block b : flow.blocks) {
        Facts now = b.loop ? met(b) : null;
        if (now != null && !plain) {
          now.loop("m" + b.index, "h" + b.index, null, bounds);
          heads.put(b.index, now);
        }
      }
      again = false;
      pass(null);
      if (!holds()) {
        heads.clear();
        heads.putAll(before);
        pass(null);
        return;
      }
      if (heads.equals(before)) {
        return;
      }
    }
  }

  /** Whether what is taken for known at the heads of loops follows from itself. */
  private boolean holds() {
    for (Flow.Block b : flow.blocks) {
      Facts now = b.loop ? met(b) : null;
      if (now != null && !plain) {
        now.loop("m" + b.index, "h" + b.index, null, bounds);
        if (!now.implies(heads.get(b.index))) {
          return false;
        }
      }
    }
    return true;
  }

  /** Decides which slots are worth a local variable: those that are read where they are known. */
  private void choose() {
    List<Map.Entry<Place.Key, Integer>> best = new ArrayList<>(uses.entrySet());
    best.removeIf(e -> isPrivate(e.getKey()));
    best.sort(Map.Entry.<Place.Key, Integer>comparingByValue().reversed().thenComparing(Map.Entry.comparingByKey()));
    followed = new TreeMap<>();
    for (Map.Entry<Place.Key, Integer> e : best.subList(0, Math.min(best.size(), MOST_FOLLOWED))) {
      followed.put(e.getKey(), 0);
    }
    for (Place.Key k : reps.keySet()) {
      if (isPrivate(k)) {
        followed.put(k, 0);
      }
    }
    kept.forEach(k -> followed.put(k, 0));
  }

  boolean isPrivate(Place.Key k) {
    return k.root() == Place.Root.FRAME && k.isFixed() && frame.isPrivate(k.offset());
  }

  private void countStores() {
    for (Flow.Block b : flow.blocks) {
      for (int at = b.from; at < b.to; at++) {
        Op op = Blocks.op(code, at);
        if (op == Op.STORE_TEMP) {
          stores.merge(new Temporary(b.context, code.a[at]), 1, Integer::sum);
        } else if (op == Op.LOAD_TEMP) {
          // Read before it is written, as the text goes: nothing may be known of it.
          stores.putIfAbsent(new Temporary(b.context, code.a[at]), 2);
        }
      }
    }
  }

  /** Numbers are compared: bounds that grow from round to round of a loop stop there first. */
  void compares(Value x, Value y) {
    compares(x.origin, y);
    compares(y.origin, x);
  }

  private void compares(Place.Key key, Value with) {
    if (key != null) {
      TreeSet<Long> steps = bounds.computeIfAbsent(key, k -> new TreeSet<>());
      for (long v : new long[] {with.low, with.high}) {
        if (v > Long.MIN_VALUE && v < Long.MAX_VALUE && steps.size() < MOST_BOUNDS) {
          steps.addAll(List.of(v - 1, v, v + 1));
        }
      }
    }
  }

  private void boundLoops() {
    for (int i = flow.blocks.size() - 1; i >= 0; i--) {
      Flow.Block b = flow.blocks.get(i);
      if (b.loop && !b.entry && b.asks && !plain) {
        flow.bound(b, rounds(b), UNASKED);
      }
    }
  }

  /** Most rounds of a loop that counts a slot up or down by a constant; -1 when that is not known. */
  private long rounds(Flow.Block head) {
    Facts in = heads.get(head.index);
    if (in == null) {
      return -1;
    }
    long best = -1;
    for (Map.Entry<Place.Key, Facts.Fact> e : in.all().entrySet()) {
      Facts.Fact f = e.getValue();
      if (f.low() < -1L << 40 || f.high() > 1L << 40) {
        continue;
      }
      String own = name(e.getKey(), f.version());
      long step = 0;
      for (Flow.Block from : head.sources) {
        Facts back = from.index < head.index ? null : out[from.index][from.next == head ? 0 : 1];
        if (back == null) {
          continue;
        }
        Facts.Fact g = back.get(e.getKey());
        long by = g == null ? 0 : step(g.made(), own);
        if (by == 0 || step != 0 && Long.signum(by) != Long.signum(step)) {
          step = 0;
          break;
        }
        step = step == 0 || Math.abs(by) < Math.abs(step) ? by : step;
      }
      if (step != 0) {
        long rounds = (f.high() - f.low()) / Math.abs(step) + 1;
        best = best < 0 ? rounds : Math.min(best, rounds);
      }
    }
    return best;
  }

  /** What is added to {@code own}, if the name says a sum or difference with a constant that does not wrap; else 0. */
  private static long step(String made, String own) {
    if (made == null || !made.startsWith("(" + own)) {
      return 0;
    }
    String rest = made.substring(1 + own.length());
    if (!rest.matches("[+-]c-?[0-9]{1,12}\\)")) {
      return 0;
    }
    long by = Long.parseLong(rest.substring(2, rest.length() - 1));
    return rest.charAt(0) == '+' ? by : -by;
  }

  // ---- a pass over the blocks ----

  private void pass(MethodVisitor target) {
    m = new Asm(target);
    values = new Operators(m);
    temporaries = new LinkedHashMap<>();
    canFail = false;
    words.clear();
    behind.clear();
    labels = flow.blocks.stream().map(b -> new Label()).toArray(Label[]::new);
    out = new Facts[flow.blocks.size()][2];
    m.integer(0);
    m.local(ISTORE, SITE);
    m.integer(0);
    m.local(ISTORE, COUNT);
    room();
    int next = FIRST;
    next = areas(next);
    if (followed != null) {
      for (Map.Entry<Place.Key, Integer> e : followed.entrySet()) {
        e.setValue(next);
        if (kept.contains(e.getKey())) {
          // written to memory where the stepping executor takes over, whatever way has led there
          m.integer(0);
          m.local(ISTORE, next);
        }
        next += 2;
      }
    }
    for (Flow.Block b : flow.blocks) {
      if (b.callee != null) {
        b.callee.selfLocal = next++;
      }
    }
    firstOperand = next;
    int height = 0;
    for (Flow.Block b : flow.blocks) {
      height = Math.max(height, b.leaves ? 0 : b.context.below + Math.max(0, list.height[b.from]) + 1);
    }
    firstScratch = next + 2 * height;
    Label from = new Label();
    Label to = new Label();
    m.label(from);
    if (entries.size() > 1) {
      Label[] targets = entries.stream().map(e -> labels[flow.blockAt(e).index]).toArray(Label[]::new);
      m.local(ILOAD, ENTRY);
      m.integer(0xFFFF);
      m.insn(IAND);
      m.table(0, targets.length - 1, targets[0], targets);
    }
    for (Flow.Block b : flow.blocks) {
      Facts in = in(b);
      if (in == null) {
        continue;
      }
      translate(b, in);
    }
    for (int i = 0; i < behind.size(); i++) {
      behind.get(i).run();
    }
    m.label(to);
    if (canFail) {
      Label handler = new Label();
      m.label(handler);
      m.local(ALOAD, RT);
      m.insn(SWAP);
      m.local(ILOAD, SITE);
      m.local(LLOAD, STEPS);
      m.local(ILOAD, COUNT);
      m.invoke(RUN, "failed", "(Ljava/lang/RuntimeException;IJI)Ljava/lang/RuntimeException;");
      m.insn(ATHROW);
      m.tryCatch(from, to, handler, "java/lang/RuntimeException");
    }
    m.end();
  }

  /** What is known where a block begins; null when no way leads there. */
  private Facts in(Flow.Block b) {
    if (b.loop) {
      Facts head = heads.get(b.index);
      if (head != null) {
        return new Facts(head);
      }
    }
    Facts in = met(b);
    if (b.loop && in != null) {
      if (plain) {
        in = new Facts();
      }
      in.loop("m" + b.index, "h" + b.index, null, bounds);
      heads.put(b.index, new Facts(in));
      again = true;
    }
    return in;
  }

  private Facts met(Flow.Block b) {
    Facts in = b.entry ? new Facts() : null;
    for (Flow.Block s : b.sources) {
      Facts[] ways = out[s.index];
      for (int i = 0; i < 2; i++) {
        if ((i == 0 ? s.next : s.branch) != b || ways[i] == null) {
          continue;
        }
        if (in == null) {
          in = new Facts(ways[i]);
        } else {
          in.meet(ways[i], "m" + b.index);
        }
      }
    }
    return in;
  }

  /** What is known at the heads of loops, now that the ways back have been gone. */
  private void settleHeads() {
    for (Flow.Block b : flow.blocks) {
      Facts now = b.loop ? met(b) : null;
      if (now == null) {
        continue;
      }
      if (plain) {
        now = new Facts();
      }
      Facts before = heads.get(b.index);
      now.loop("m" + b.index, "h" + b.index, before, bounds);
      if (!now.equals(before)) {
        heads.put(b.index, now);
        again = true;
      }
    }
  }

  private void translate(Flow.Block b, Facts in) {
    block = b;
    facts = in;
    nextScratch = firstScratch;
    m.label(labels[b.index]);
    pc = b.from;
    if (b.leaves) {
      steps(b.before);
      m.local(ALOAD, RT);
      m.insn(DUP_X2);
      m.insn(POP);
      m.field(PUTFIELD, RUN, "steps", "J");
      m.integer(neighbours.next(b.from));
      m.insn(IRETURN);
      return;
    }
    if (b.entry && b.index > 0) {
      // The body may come here from another method, which has not kept them.
      temporaries.clear();
    }
    top = b.context.below + list.height[b.from];
    grow(top);
    for (int i = 0; i < top; i++) {
      stack[i] = operand(i);
    }
    if (b.asks) {
      ask(b);
    }
    boolean open = true;
    for (pc = b.from; pc < b.to && open; pc++) {
      open = steps.translate(Blocks.op(code, pc), code.a[pc], code.b[pc]);
    }
    if (open) {
      pc = b.to - 1;
      goOn(b.next, 0);
    }
  }

  // ---- ways from block to block ----

  /** Leaves the block for the one that follows; operands go to their local variables. */
  void goOn(Flow.Block to, int way) {
    operandsToLocals();
    out[block.index][way] = facts;
    count(to);
    if (to.index != block.index + 1) {
      m.jump(GOTO, labels[to.index]);
    }
  }

  private void count(Flow.Block to) {
    int by = block.after() - to.before;
    if (by != 0) {
      m.increment(COUNT, by);
    }
  }

  /** A branch on a truth value; {@code when}: the value for which it is taken. */
  void branch(Value truth, boolean when) {
    Value condition = operandsLie() ? truth : settle(truth);
    operandsToLocals();
    Flow.Block to = block.branch;
    if (condition.isConstant()) {
      goOn(condition.low != 0 == when ? to : block.next, condition.low != 0 == when ? 1 : 0);
      return;
    }
    Facts taken = refined(condition, when);
    Facts stays = refined(condition, !when);
    int by = block.after() - to.before;
    if (by == 0) {
      values.jump(condition, when, labels[to.index]);
    } else {
      Label stub = new Label();
      values.jump(condition, when, stub);
      behind.add(() -> {
        m.label(stub);
        m.increment(COUNT, by);
        m.jump(GOTO, labels[to.index]);
      });
    }
    out[block.index][1] = taken;
    facts = stays;
    goOn(block.next, 0);
  }

  /** A branch where more operands appear on the way that stays. */
  void branch(Value condition, Runnable stays) {
    operandsToLocals();
    values.jump(condition, true, labels[block.branch.index]);
    out[block.index][1] = new Facts(facts);
    stays.run();
    goOn(block.next, 0);
  }

  /** What is known besides when a condition is {@code when}. */
  private Facts refined(Value condition, boolean when) {
    Facts f = new Facts(facts);
    Value.Comparison c = condition.comparison;
    Value inner = condition;
    boolean holds = when;
    if (c == null && condition.complement != null) {
      inner = condition.complement;
      c = inner.comparison;
      holds = !when;
    }
    if (c == null) {
      return f;
    }
    int operator = holds ? c.operator() : switch (c.operator()) {
      case 0 -> 1;
      case 1 -> 0;
      case 2 -> 5;
      case 3 -> 4;
      case 4 -> 3;
      default -> 2;
    };
    Value x = c.x();
    Value y = c.y();
    switch (operator) {
      case 0 -> {
        between(f, x, y.low, y.high);
        between(f, y, x.low, x.high);
      }
      case 2 -> {
        between(f, x, Long.MIN_VALUE, y.high == Long.MIN_VALUE ? y.high : y.high - 1);
        between(f, y, x.low == Long.MAX_VALUE ? x.low : x.low + 1, Long.MAX_VALUE);
      }
      case 3 -> {
        between(f, x, Long.MIN_VALUE, y.high);
        between(f, y, x.low, Long.MAX_VALUE);
      }
      case 4 -> {
        between(f, x, y.low == Long.MAX_VALUE ? y.low : y.low + 1, Long.MAX_VALUE);
        between(f, y, Long.MIN_VALUE, x.high == Long.MIN_VALUE ? x.high : x.high - 1);
      }
      case 5 -> {
        between(f, x, y.low, Long.MAX_VALUE);
        between(f, y, Long.MIN_VALUE, x.high);
      }
      default -> {
        // unequal: bounds stay
      }
    }
    return f;
  }

  void between(Facts f, Value v, long low, long high) {
    if (v.origin == null || v.rep != Rep.INT && v.rep != Rep.LONG) {
      return;
    }
    Facts.Fact known = f.get(v.origin);
    if (known != null && known.version().equals(v.version) && Math.max(known.low(), low) <= Math.min(known.high(), high)) {
      f.put(v.origin, known.between(low, high));
    }
  }

  Facts facts() {
    return facts;
  }

  /** Operands that outlive the block go to their local variables. */
  private void operandsToLocals() {
    if (operandsLie()) {
      return;
    }
    // An operand may be computed from another one's variable: first all into variables of their own.
    for (int i = 0; i < top; i++) {
      if (stack[i].operand != i && !stack[i].isConstant()) {
        int l = scratch(Rep.LONG);
        values.push(stack[i], Rep.LONG);
        m.store(Rep.LONG, l);
        stack[i] = values.local(Rep.LONG, l, Long.MIN_VALUE, Long.MAX_VALUE, false, false, null);
      }
    }
    for (int i = 0; i < top; i++) {
      if (stack[i].operand != i) {
        values.push(stack[i], Rep.LONG);
        m.store(Rep.LONG, firstOperand + 2 * i);
        stack[i] = operand(i);
      }
    }
  }

  private boolean operandsLie() {
    for (int i = 0; i < top; i++) {
      if (stack[i].operand != i) {
        return false;
      }
    }
    return true;
  }

  /** What a block finds in the local variable of an operand. */
  private Value operand(int i) {
    Value v = values.local(Rep.LONG, firstOperand + 2 * i, Long.MIN_VALUE, Long.MAX_VALUE, false, false, null);
    v.operand = i;
    return v;
  }

  // ---- the operand stack ----

  void push(Value v) {
    grow(top + 1);
    stack[top++] = v;
  }

  private void grow(int n) {
    if (n > stack.length) {
      stack = Arrays.copyOf(stack, Math.max(n, 2 * stack.length));
    }
  }

  Value pop() {
    return stack[--top];
  }

  Value peek(int below) {
    return stack[top - 1 - below];
  }

  int height() {
    return top;
  }

  int scratch(Rep rep) {
    int l = nextScratch;
    nextScratch += rep.size;
    return l;
  }

  /** Computes a value now, if that is not done yet. */
  Value settle(Value v) {
    if (v.settled) {
      return v;
    }
    if (v.place != null) {
      Value moving = v.place.moving();
      if (moving == null || moving.settled) {
        return v;
      }
      return values.address(v.place.with(settle(moving)));
    }
    if (v.bit != null) {
      return v.bit.settled ? v : values.bitAddress(v.area, settle(v.bit));
    }
    int l = scratch(v.rep);
    if (v.rep == Rep.LONG && v.within(0, 1) && (v.dirty || v.complement != null)) {
      values.raw(v);
      m.store(Rep.LONG, l);
      return values.local(Rep.LONG, l, 0, 1, true, false, v.name());
    }
    values.push(v, v.rep);
    m.store(v.rep, l);
    return values.local(v.rep, l, v.low, v.high, false, false, v.name());
  }

  /** Memory is about to change: what depends on it is computed. {@code but}: topmost operands that are left alone. */
  void settleOperands(int but) {
    for (int i = 0; i < top - but; i++) {
      if (stack[i].reads) {
        stack[i] = settle(stack[i]);
      }
    }
  }

  // ---- memory ----

  Place self(int offset) {
    Flow.Context c = block.context;
    if (c.self != null) {
      return c.self.plus(offset);
    }
    return fixedSelf >= 0 ? Place.at(Place.Root.ABSOLUTE, fixedSelf + offset) : Place.at(Place.Root.SELF, offset);
  }

  Place frame(int offset) {
    return Place.at(Place.Root.FRAME, block.context.frame + offset);
  }

  static String name(Place.Key key, String version) {
    return key.root().name().charAt(0) + key.name() + key.offset() + "#" + version;
  }

  private boolean follows(Place.Key key) {
    return key != null && (followed == null || followed.containsKey(key));
  }

  private int local(Place.Key key) {
    return followed == null ? FIRST : followed.get(key);
  }

  /** The value of a slot, read as a kind; -1: a temporary. */
  Value read(Place p, int kind) {
    Place.Key key = p.key();
    Facts.Fact f = facts.get(key);
    if (f != null) {
      uses.merge(key, 1, Integer::sum);
      Rep rep = reps.get(key);
      if (f.target() != null) {
        return values.address(f.target());
      }
      return known(key, f, rep, kind, p);
    }
    if (key != null && isPrivate(key)) {
      frame.share(key.offset());
      again = true;
    }
    Rep rep = kind < 0 ? Rep.LONG : Rep.of(kind);
    long low = kind < 0 ? Long.MIN_VALUE : Rep.least(kind);
    long high = kind < 0 ? Long.MAX_VALUE : Rep.greatest(kind);
    Value v = values.computed(rep, low, high, true, null, () -> load(p, rep));
    if (!follows(key)) {
      v.source = isReal(rep) ? p : null;
      return v;
    }
    Rep own = rep(key, rep, false);
    if (followed != null) {
      values.push(v, own);
      m.store(own, local(key));
    }
    f = new Facts.Fact(p, Facts.READ + block.index + "." + pc, low, high, false, null, null);
    facts.put(key, f);
    return known(key, f, own, kind, p);
  }

  private static boolean isReal(Rep rep) {
    return rep == Rep.FLOAT || rep == Rep.DOUBLE;
  }

  /** Leaves on the stack of the JVM what lies in a slot. */
  private void load(Place p, Rep rep) {
    m.local(ALOAD, MEM);
    values.slot(p);
    m.insn(LALOAD);
    values.change(Rep.LONG, rep);
  }

  /** {@code here}: the slot as it was named just now; how the fact's own place was computed may have been in a block that is over. */
  private Value known(Place.Key key, Facts.Fact f, Rep rep, int kind, Place here) {
    boolean whole = rep == Rep.INT || rep == Rep.LONG;
    if (whole && f.low() == f.high() && !f.dirty()) {
      return steps.constant(f.low());
    }
    long low = f.low();
    long high = f.high();
    if (kind >= 0 && whole) {
      low = Math.max(low, Rep.least(kind));
      high = Math.min(high, Rep.greatest(kind));
      if (low > high) {
        low = f.low();
        high = f.high();
      }
    }
    Value v = values.local(rep, local(key), low, high, f.dirty(), true, name(key, f.version()));
    v.origin = key;
    v.version = f.version();
    v.source = isReal(rep) && f.isRead() && !isPrivate(key) ? here : null;
    return v;
  }

  /**
   * How a slot is held: a variable as what is written to it, even where its bits are read as those of a longer type; a slot of the frame, which may serve
   * several variables, as it lies in memory if it is used in two ways.
   */
  private Rep rep(Place.Key key, Rep wanted, boolean writes) {
    Rep own = reps.get(key);
    boolean variable = key.root() != Place.Root.FRAME;
    boolean first = writes && written.add(key);
    if (own == wanted || own != null && !writes && variable && written.contains(key)) {
      return own;
    }
    Rep now = own == null || first && variable ? wanted : Rep.LONG;
    if (own != now) {
      again |= own != null;
      reps.put(key, now);
    }
    return now;
  }

  /** Writes the topmost operand to a slot; -1: a temporary. */
  void write(Place p, int kind) {
    Value v = pop();
    settleOperands(0);
    Place.Key key = p.key();
    boolean own = key != null && isPrivate(key);
    facts.changed(p);
    if (v.source != null && !own && (kind < 0 || Rep.of(kind) == v.rep)) {
      copy(v, p, key);
      return;
    }
    if (!follows(key)) {
      m.local(ALOAD, MEM);
      values.slot(p);
      values.push(v, Rep.LONG);
      m.insn(LASTORE);
      return;
    }
    Rep natural;
    if (kind >= 0) {
      natural = Rep.of(kind);
    } else if (v.place != null) {
      natural = Rep.LONG;
    } else if (v.isConstant()) {
      natural = reps.getOrDefault(key, v.fitsInt() && !v.within(0, 1) ? Rep.INT : Rep.LONG);
    } else {
      natural = v.rep;
    }
    Rep rep = rep(key, natural, true);
    boolean dirty = own && rep == Rep.LONG && v.within(0, 1) && (v.dirty || v.complement != null);
    if (followed != null) {
      if (dirty) {
        values.raw(v);
      } else {
        values.push(v, rep);
      }
      m.store(rep, local(key));
      if (!own) {
        m.local(ALOAD, MEM);
        values.slot(p);
        values.push(v.isConstant() ? v : values.local(rep, local(key), 0, 0, false, true, null), Rep.LONG);
        m.insn(LASTORE);
      }
    }
    boolean whole = rep == Rep.INT || rep == Rep.LONG;
    boolean bounded = whole && (v.rep == Rep.INT || v.rep == Rep.LONG);
    long low = bounded ? v.low : Long.MIN_VALUE;
    long high = bounded ? v.high : Long.MAX_VALUE;
    if (kind >= 0 && low <= Rep.greatest(kind) && high >= Rep.least(kind)) {
      low = Math.max(low, Rep.least(kind));
      high = Math.min(high, Rep.greatest(kind));
    }
    Place target = v.place != null && v.place.isFixed() ? v.place : null;
    facts.put(key, new Facts.Fact(p, "s" + block.index + "." + pc, low, high, dirty, target, v.name()));
  }

  /**
   * Writes a real number that was read from another slot, as its bits, and reads it again: else HotSpot's compiler has one load for both, into a register for
   * integers, and all that is computed with the number waits for its way from there to one for reals.
   */
  private void copy(Value v, Place to, Place.Key key) {
    m.local(ALOAD, MEM);
    values.slot(to);
    load(v.source, Rep.LONG);
    m.insn(LASTORE);
    Facts.Fact from = facts.get(v.origin);
    if (from != null && followed != null) {
      load(v.source, v.rep);
      m.store(v.rep, local(v.origin));
    }
    if (!follows(key)) {
      return;
    }
    Rep rep = rep(key, v.rep, true);
    if (followed != null) {
      load(v.source, rep);
      m.store(rep, local(key));
    }
    facts.put(key, new Facts.Fact(to, "s" + block.index + "." + pc, Long.MIN_VALUE, Long.MAX_VALUE, false, null, v.name()));
  }

  /** Slots were set to 0. */
  void cleared(int offset, int count) {
    Place from = frame(offset);
    facts.changed(new Place(Place.Root.FRAME, from.offset(), null, null, from.offset(), from.offset() + count - 1, 1));
  }

  boolean anyPrivate(int offset, int count) {
    for (int i = 0; i < count; i++) {
      if (frame.isPrivate(block.context.frame + offset + i)) {
        return true;
      }
    }
    return false;
  }

  void anythingChanged() {
    facts.anything(frame);
  }

  // ---- temporaries that are written once ----

  private record Temporary(Flow.Context context, int offset) {}

  /** A temporary: of an address that is written once and read behind it the parts are known. */
  void writeTemporary(int a) {
    Temporary t = new Temporary(block.context, a);
    Value v = peek(0);
    if (once(t) && (v.place != null || v.bit != null) && !v.isConstant()) {
      pop();
      temporaries.put(t, kept(v, t));
      return;
    }
    temporaries.remove(t);
    write(frame(a), -1);
  }

  private boolean once(Temporary t) {
    return frame.isPrivate(t.context.frame + t.offset) && stores.getOrDefault(t, 0) == 1;
  }

  /** An address whose computed part has a local variable for as long as the temporary lives. */
  private Value kept(Value v, Temporary t) {
    if (v.bit != null) {
      return values.bitAddress(v.area, keep(v.bit, t));
    }
    if (v.place.isFixed()) {
      return v;
    }
    Place p = v.place.with(keep(v.place.moving(), t));
    if (p.slots() >= WIDE) {
      touch(p);
      touch(p.plus(p.slots() - 1));
    }
    return values.address(p);
  }

  /** Reads a slot for nothing: when the ends of an element are known to lie within memory, HotSpot's compiler checks nothing in between. */
  private void touch(Place p) {
    m.local(ALOAD, MEM);
    values.slot(p);
    m.insn(LALOAD);
    m.insn(POP2);
  }

  private Value keep(Value index, Temporary t) {
    Place.Key key = new Place.Key(Place.Root.FRAME, "kept" + t.context.number, t.offset);
    if (followed == null) {
      kept.add(key);
    } else {
      values.push(index, Rep.INT);
      m.store(Rep.INT, followed.get(key));
    }
    return values.local(Rep.INT, local(key), index.low, index.high, false, false, index.name());
  }

  Value readTemporary(int a) {
    Temporary t = new Temporary(block.context, a);
    Value v = temporaries.get(t);
    return v != null && once(t) ? v : read(frame(a), -1);
  }

  // ---- inlined bodies ----

  /** Begins an inlined body with an instance; null: the caller's. */
  void enter(Place instance) {
    Flow.Context c = block.callee;
    if (instance == null) {
      c.self = self(0);
    } else if (instance.isFixed()) {
      c.self = instance;
    } else {
      values.push(instance.moving(), Rep.INT);
      m.local(ISTORE, c.selfLocal);
      c.self = instance.with(values.local(Rep.INT, c.selfLocal, instance.moving().low, instance.moving().high, false, false, instance.moving().name()));
    }
  }

  // ---- steps, budget, faults ----

  /** Steps made before the present one that COUNT does not know of. */
  int made() {
    return block.before + (pc - block.from);
  }

  /** Pushes the steps used, where COUNT is {@code behind} behind. */
  void steps(int notCounted) {
    m.local(LLOAD, STEPS);
    m.local(ILOAD, COUNT);
    if (notCounted != 0) {
      m.integer(notCounted);
      m.insn(IADD);
    }
    m.insn(I2L);
    m.insn(LADD);
  }

  /** The run learns how many steps were made before the present one. */
  void save() {
    m.local(ALOAD, RT);
    steps(made());
    m.field(PUTFIELD, RUN, "steps", "J");
  }

  /** And how many calls are open. */
  void saveAll() {
    save();
    depth(block.context.level);
  }

  private void depth(int level) {
    m.local(ALOAD, RT);
    openCalls(level);
    m.field(PUTFIELD, RUN, "depth", "I");
  }

  void openCalls(int level) {
    m.local(ILOAD, DEPTH);
    if (level != 0) {
      m.integer(level);
      m.insn(IADD);
    }
  }

  /** Steps used, from the run. */
  void load() {
    m.local(ALOAD, RT);
    m.field(GETFIELD, RUN, "steps", "J");
    counted();
  }

  /** Steps used, from the stack. */
  void counted() {
    m.local(LSTORE, STEPS);
    m.integer(0);
    m.local(ISTORE, COUNT);
    room();
  }

  private void room() {
    m.local(ALOAD, RT);
    m.local(LLOAD, STEPS);
    m.invoke(RUN, "room", "(J)I");
    m.local(ISTORE, ROOM);
  }

  /** The next instruction may fail at the present step. */
  void mayFail() {
    canFail = true;
    m.integer(m.counts() ? 1_000 : program.sites().add(pc, made(), block.context.calls));
    m.local(ISTORE, SITE);
  }

  int step() {
    return pc;
  }

  Flow.Block block() {
    return block;
  }

  /** Asks whether the budget lasts until the next such place; if it may not, the stepping executor makes the rest of the body. */
  private void ask(Flow.Block b) {
    Label slow = new Label();
    Label fine = new Label();
    int most = b.reach;
    m.local(ILOAD, COUNT);
    m.integer(most);
    m.insn(IADD);
    m.local(ILOAD, ROOM);
    m.jump(IF_ICMPGT, slow);
    m.label(fine);
    Facts known = new Facts(facts);
    int height = top;
    Map<Temporary, Value> addresses = new LinkedHashMap<>(temporaries);
    addresses.keySet().removeIf(t -> t.context != flow.root);
    behind.add(() -> {
      m.label(slow);
      m.local(LLOAD, STEPS);
      m.local(ILOAD, COUNT);
      m.insn(I2L);
      m.insn(LADD);
      counted();
      m.local(ALOAD, RT);
      m.local(LLOAD, STEPS);
      m.integer(b.from);
      m.integer(most);
      m.invoke(RUN, "ample", "(JII)Z");
      Label poor = new Label();
      m.jump(IFEQ, poor);
      room();
      m.jump(GOTO, fine);
      m.label(poor);
      known.all().forEach((k, f) -> {
        if (isPrivate(k) && followed != null && followed.containsKey(k)) {
          m.local(ALOAD, MEM);
          values.slot(f.where());
          values.push(values.local(reps.get(k), local(k), f.low(), f.high(), f.dirty(), true, null), Rep.LONG);
          m.insn(LASTORE);
        }
      });
      addresses.forEach((t, v) -> {
        m.local(ALOAD, MEM);
        values.slot(Place.at(Place.Root.FRAME, t.offset));
        values.push(v, Rep.LONG);
        m.insn(LASTORE);
      });
      depth(0);
      for (int i = 0; i < height; i++) {
        m.local(ALOAD, RT);
        m.local(LLOAD, firstOperand + 2 * i);
        m.invoke(RUN, "spill", "(J)V");
      }
      m.local(ALOAD, RT);
      m.integer(b.from);
      instance();
      m.local(ILOAD, FRAME);
      m.invoke(RUN, "finish", "(III)V");
      load();
      leave(0);
    });
  }

  /** Ends the method; so many steps are not counted yet. */
  void leave(int notCounted) {
    if (neighbours != null) {
      m.local(ALOAD, RT);
      steps(notCounted);
      m.field(PUTFIELD, RUN, "steps", "J");
      m.insn(ICONST_M1);
      m.insn(IRETURN);
    } else {
      steps(notCounted);
      m.insn(LRETURN);
    }
  }

  /** Pushes the slot of the method's own instance. */
  void instance() {
    if (fixedSelf >= 0) {
      m.integer(fixedSelf);
    } else {
      m.local(ILOAD, SELF);
    }
  }

  // ---- areas ----

  private int areas(int firstFree) {
    int next = firstFree;
    boolean[] used = new boolean[4];
    boolean[] constant = {false, true, true, true};
    Map<Long, Integer> bits = new TreeMap<>();
    for (Flow.Block b : flow.blocks) {
      for (int at = b.from; at < b.to; at++) {
        Op op = Blocks.op(code, at);
        if (op == Op.LOAD_LOCATED || op == Op.STORE_LOCATED) {
          long address = code.pool[code.a[at]];
          used[Address.area(address)] = true;
          if (op == Op.STORE_LOCATED) {
            constant[Address.area(address)] = false;
          } else if (Rep.width(code.b[at]) == 1 && inputBit(address) < 0) {
            bits.merge(Rep.wordOf(address), 1, Integer::sum);
          }
        } else if (op == Op.CONST && Address.isLocated(code.pool[code.a[at]])) {
          used[Address.area(code.pool[code.a[at]])] = true;
        } else if (Flow.settles(op) && b.callee == null || op == Op.STORE_INDIRECT || op == Op.GUARD) {
          Arrays.fill(constant, false);
        }
      }
    }
    constant[1] &= !program.watchesReads();
    for (int area = 1; area <= 3; area++) {
      if (used[area]) {
        m.local(ALOAD, RT);
        m.field(GETFIELD, RUN, area == 1 ? "inputs" : area == 2 ? "outputs" : "marks", "[B");
        m.local(ASTORE, AREAS + area - 1);
      }
    }
    if (inputWords.length > 0) {
      if (neighbours == null) {
        for (int word : inputWords) {
          follow(m, word);
        }
        bits(m);
        m.local(ASTORE, BITS);
      }
    }
    // Bits that nothing in this method can change are taken from whole words, read once.
    for (Map.Entry<Long, Integer> e : bits.entrySet()) {
      int area = Address.area(e.getKey());
      int at = (int) (Address.bit(e.getKey()) >>> 3);
      if (constant[area] && e.getValue() >= 3 && words.size() < 24 && at + 8 <= code.memory().areaBytes()[area - 1]) {
        words.put(e.getKey(), next);
        m.local(ALOAD, AREAS + area - 1);
        m.integer(at);
        m.call(SUPPORT, "get64", "([BI)J");
        m.local(LSTORE, next);
        next += 2;
      }
    }
    return next;
  }

  /** Brings the slots of a word of inputs up to date. */
  static void follow(Asm m, int word) {
    m.local(ALOAD, RT);
    m.integer(word);
    m.invoke(RUN, "follow", "(I)V");
  }

  static void bits(Asm m) {
    m.local(ALOAD, RT);
    m.field(GETFIELD, RUN, "bits", "[J");
  }

  /** Slot, in an array of their own, of a bit of the inputs; -1 if it has none. */
  int inputBit(long address) {
    return inputWords.length == 0 ? -1 : program.inputBits().place(address, inputWords);
  }

  void pushInputBit(int slot) {
    m.local(ALOAD, BITS);
    m.integer(slot);
    m.insn(LALOAD);
  }

  /** Local variable with the word that a bit lies in, or -1. */
  int word(long address) {
    return words.getOrDefault(Rep.wordOf(address), -1);
  }

  void area(int area) {
    m.local(ALOAD, AREAS + area - 1);
  }
}
