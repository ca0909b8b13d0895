package dev.scanloom.internal.lanes;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.TreeMap;
import java.util.TreeSet;

/**
 * Step lists in which some stretches of a program are bodies of their own, each the body of a program, with the bodies that they call. Executors run them as
 * they run any program. Frames of written-out calls lie at fixed places: all are parts of one frame.
 */
final class Outlines {
  private static final Op[] OPS = Op.values();
  private static final int BOOL = ElementaryType.BOOL.ordinal();

  private final Code code;
  private final int resultSlots;
  private int[] op = new int[256];
  private int[] a = new int[256];
  private int[] b = new int[256];
  private int[] source = new int[256];
  private int length;

  private Outlines(Code code, int resultSlots) {
    this.code = code;
    this.resultSlots = resultSlots;
  }

  /** Program {@code i} of the result is part {@code from + i}. */
  static Code of(Code code, List<Weave.Part> parts, int resultSlots) {
    return new Outlines(code, resultSlots).write(parts);
  }

  private void emit(int operation, int x, int y, int from) {
    if (length == op.length) {
      op = Arrays.copyOf(op, 2 * length);
      a = Arrays.copyOf(a, 2 * length);
      b = Arrays.copyOf(b, 2 * length);
      source = Arrays.copyOf(source, 2 * length);
    }
    op[length] = operation;
    a[length] = x;
    b[length] = y;
    source[length++] = from;
  }

  private void called(int from, int end, TreeSet<Integer> all) {
    for (int pc = from; pc < end; pc++) {
      Op o = OPS[code.op[pc]];
      if ((o == Op.CALL || o == Op.CALL_ON) && all.add(code.a[pc])) {
        Code.Body body = code.bodies().get(code.a[pc]);
        called(body.start(), body.end(), all);
      }
    }
  }

  private Code write(List<Weave.Part> parts) {
    TreeSet<Integer> needed = new TreeSet<>();
    for (Weave.Part p : parts) {
      called(p.stretch().start(), p.stretch().end(), needed);
    }
    TreeMap<Integer, Integer> numbers = new TreeMap<>();
    int n = parts.size();
    for (int body : needed) {
      numbers.put(body, n++);
    }
    List<Code.Body> bodies = new ArrayList<>();
    List<Code.Program> programs = new ArrayList<>();
    for (int i = 0; i < parts.size(); i++) {
      Weave.Part p = parts.get(i);
      int start = length;
      part(p, numbers);
      Code.Body of = code.bodies().get(p.body());
      bodies.add(new Code.Body("stretch " + i, start, length, p.frame() - code.memory().staticSlots() + of.frameSlots(), of.stackDepth() + 1, false,
          of.span()));
      programs.add(new Code.Program("stretch " + i, "", p.self(), -1, i));
    }
    for (int body : needed) {
      Code.Body of = code.bodies().get(body);
      int start = length;
      for (int pc = of.start(); pc < of.end(); pc++) {
        Op o = OPS[code.op[pc]];
        boolean jumps = BodyCut.isJump(o) || o == Op.GUARD;
        boolean calls = o == Op.CALL || o == Op.CALL_ON;
        int shift = start - of.start();
        int end = jumps && code.b[pc] > 0 ? code.b[pc] + shift : code.b[pc];
        emit(code.op[pc], jumps ? code.a[pc] + shift : calls ? numbers.get(code.a[pc]) : code.a[pc], jumps ? end : code.b[pc], pc);
      }
      bodies.add(new Code.Body(of.name(), start, length, of.frameSlots(), of.stackDepth(), of.library(), of.span()));
    }
    return build(bodies, programs, numbers);
  }

  private Code build(List<Code.Body> bodies, List<Code.Program> programs, TreeMap<Integer, Integer> numbers) {
    Code.Builder c = new Code.Builder();
    c.op = Arrays.copyOf(op, length);
    c.a = Arrays.copyOf(a, length);
    c.b = Arrays.copyOf(b, length);
    c.pool = code.pool;
    c.source = new int[length];
    c.spanStart = new int[length];
    c.spanEnd = new int[length];
    c.element = new int[length];
    c.network = new int[length];
    for (int i = 0; i < length; i++) {
      c.spanStart[i] = code.spanStart[source[i]];
      c.spanEnd[i] = code.spanEnd[source[i]];
      c.element[i] = code.element[source[i]];
      c.network[i] = code.network[source[i]];
    }
    // places are told by the original
    c.sources = List.of(code.span(0).source());
    c.bodies = bodies;
    c.elements = code.elements();
    c.natives = code.natives();
    List<Code.InstanceType> types = new ArrayList<>();
    for (Code.InstanceType t : code.types()) {
      types.add(new Code.InstanceType(t.name(), Arrays.stream(t.bodies()).map(x -> numbers.getOrDefault(x, -1)).toArray()));
    }
    c.types = types;
    c.typeSets = code.typeSets();
    c.programs = programs;
    c.symbols = code.symbols();
    Code.MemoryPlan m = code.memory();
    c.memory = new Code.MemoryPlan(m.staticSlots(), m.frameSlots() + resultSlots, m.stackDepth() + 1, m.initial(), m.areaBytes(), m.areaInitial(), m.retain());
    c.choices = code.choices();
    return new Code(c);
  }

  private void part(Weave.Part p, TreeMap<Integer, Integer> numbers) {
    BodyCut.Stretch s = p.stretch();
    int delta = p.frame() - code.memory().staticSlots();
    if (p.sharesFrame()) {
      // Whose address is taken lies in memory: executors may keep other parts of a program's frame where they like.
      emit(Op.ADDRESS_FRAME.ordinal(), 0, 0, s.start());
      emit(Op.POP.ordinal(), 0, 0, s.start());
    }
    int shift = length - s.start();
    for (int pc = s.start(); pc < s.end(); pc++) {
      int x = code.a[pc];
      int y = code.b[pc];
      switch (OPS[code.op[pc]]) {
        case JUMP, JUMP_FALSE, JUMP_TRUE, GUARD -> emit(code.op[pc], target(x, s) + shift, y > 0 ? target(y, s) + shift : y, pc);
        case LOAD_FRAME, STORE_FRAME, LOAD_TEMP, STORE_TEMP, ADDRESS_FRAME, CLEAR -> emit(code.op[pc], x + delta, y, pc);
        case OPEN_INDEX -> emit(code.op[pc], y == 0 ? x + delta : x, y, pc);
        case NATIVE -> emit(code.op[pc], x, y + delta, pc);
        case CALL, CALL_ON -> emit(code.op[pc], numbers.get(x), y + delta, pc);
        default -> emit(code.op[pc], x, y, pc); // all others name no frame, step or body
      }
    }
    int last = s.end() - 1;
    if (p.result() >= 0) {
      emit(Op.STORE_STATIC.ordinal(), p.result(), BOOL, last);
    }
    if (s.end() < code.bodies().get(p.body()).end()) {
      emit(Op.RETURN.ordinal(), 0, 0, last);
    }
  }

  /** A jump that no path reaches may lead anywhere; it leads to the end then. */
  private static int target(int pc, BodyCut.Stretch s) {
    return pc < s.start() || pc > s.end() ? s.end() : pc;
  }
}
