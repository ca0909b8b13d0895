package dev.scanloom.internal.step;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.library.NativeBody;
import dev.scanloom.policy.ImplementerChoices;
import java.util.List;

/**
 * A lowered program: all bodies in one list of steps, the source map, the layout of memory and its initial content. Immutable (the arrays are not
 * written after construction) and shared by all instances and threads.
 */
public final class Code {
  /** One step a row: operation (ordinal of {@link Op}) and operands. */
  public final int[] op;
  public final int[] a;
  public final int[] b;
  /** Constants. */
  public final long[] pool;
  /** Indices into the pool of those that CONST steps push, in the order of their first use. */
  public final int[] constants;
  /** Source map, one row a step. */
  public final int[] source;
  public final int[] spanStart;
  public final int[] spanEnd;
  /** Ladder element that a step serves, or -1. */
  public final int[] element;
  /** Ladder network within its body, from 1; 0 outside ladder. */
  public final int[] network;

  /** Whether some step waits for a lock, takes or gives one. */
  public final boolean locks;
  /** By ladder element: whether it is a negated one. Not to be changed. */
  public final boolean[] negated;

  private final List<SourceText> sources;
  private final List<Body> bodies;
  private final List<LadderElement> elements;
  private final List<Native> natives;
  private final List<InstanceType> types;
  private final List<int[]> typeSets;
  private final List<Program> programs;
  private final List<Task> tasks;
  private final List<Stored> stored;
  private final Symbols symbols;
  private final MemoryPlan memory;
  private final ImplementerChoices choices;
  private final long hash;
  private volatile long[] operands;

  public Code(Builder builder) {
    this.op = builder.op;
    this.a = builder.a;
    this.b = builder.b;
    this.pool = builder.pool;
    this.constants = constants();
    this.source = builder.source;
    this.spanStart = builder.spanStart;
    this.spanEnd = builder.spanEnd;
    this.element = builder.element;
    this.network = builder.network;
    this.sources = List.copyOf(builder.sources);
    this.bodies = List.copyOf(builder.bodies);
    this.elements = List.copyOf(builder.elements);
    this.negated = new boolean[elements.size()];
    for (LadderElement e : elements) {
      negated[e.id()] = e.mark().equals("/");
    }
    this.natives = List.copyOf(builder.natives);
    this.types = List.copyOf(builder.types);
    this.typeSets = List.copyOf(builder.typeSets);
    this.programs = List.copyOf(builder.programs);
    this.tasks = List.copyOf(builder.tasks);
    this.stored = List.copyOf(builder.stored);
    this.symbols = builder.symbols;
    this.memory = builder.memory;
    this.choices = builder.choices;
    long h = 0xcbf29ce484222325L;
    boolean waits = false;
    for (int i = 0; i < op.length; i++) {
      waits |= op[i] == OpNumber.WAIT || op[i] == OpNumber.TAKE || op[i] == OpNumber.GIVE;
      h = (h ^ op[i]) * 0x100000001b3L;
      h = (h ^ a[i]) * 0x100000001b3L;
      h = (h ^ b[i]) * 0x100000001b3L;
    }
    for (long p : pool) {
      h = (h ^ p) * 0x100000001b3L;
    }
    this.hash = h;
    this.locks = waits;
  }

  private int[] constants() {
    boolean[] seen = new boolean[pool.length];
    int[] found = new int[pool.length];
    int n = 0;
    for (int i = 0; i < op.length; i++) {
      if (op[i] == OpNumber.CONST && !seen[a[i]]) {
        seen[a[i]] = true;
        found[n++] = a[i];
      }
    }
    return java.util.Arrays.copyOf(found, n);
  }

  /** What the lowering fills in. */
  public static final class Builder {
    public int[] op;
    public int[] a;
    public int[] b;
    public long[] pool;
    public int[] source;
    public int[] spanStart;
    public int[] spanEnd;
    public int[] element;
    public int[] network;
    public List<SourceText> sources = List.of();
    public List<Body> bodies = List.of();
    public List<LadderElement> elements = List.of();
    public List<Native> natives = List.of();
    public List<InstanceType> types = List.of();
    public List<int[]> typeSets = List.of();
    public List<Program> programs = List.of();
    public List<Task> tasks = List.of();
    public List<Stored> stored = List.of();
    public Symbols symbols;
    public MemoryPlan memory;
    public ImplementerChoices choices;
  }

  /**
   * A body: steps {@code [start, end)}.
   *
   * @param name qualified name of the POU, method ({@code Fb.m}), action or condition
   * @param frameSlots slots of its frame (parameters, temporaries, intermediate values)
   * @param stackDepth greatest number of values on its operand stack
   * @param library comes from a library
   */
  public record Body(String name, int start, int end, int frameSlots, int stackDepth, boolean library, Span span) {}

  /**
   * A ladder element of the program, for events, painting and pictures.
   *
   * @param id index in the list
   * @param network number within the body, from 1
   * @param kind contact, compare, coil, jump, return or box
   * @param mark the character inside the element: blank, {@code /}, {@code P}, {@code N}, {@code S}, {@code R}, or the comparison
   * @param operandSelf offset of the operand in the instance when it is a variable of the instance, else -1
   * @param operand address of the operand when it is static or located, else 0
   */
  public record LadderElement(
      int id, int body, int network, ElementKind kind, String mark, String title, Span span, int row, int column, int operandSelf, long operand) {}

  public enum ElementKind { CONTACT, COMPARE, COIL, JUMP, RETURN, BOX }

  /**
   * A Java body with where its parameters lie behind the caller's frame. {@code offsets}: per parameter, the last entry is the result (or -1).
   * {@code texts}: kind ordinal of a string parameter, whose slot then holds an address; else -1. {@code capacities}: of string parameters.
   */
  public record Native(String name, NativeBody body, int[] offsets, int[] kinds, int[] capacities) {}

  /** A block or class that instances of which carry its number in slot 0: dispatch table from selectors to bodies (-1: none). */
  public record InstanceType(String name, int[] bodies) {}

  /**
   * A program instance.
   *
   * @param self address of its instance
   * @param task index in tasks, or -1
   * @param body index of the body that executes it (connections included)
   */
  public record Program(String name, String resource, int self, int task, int body) {}

  /** A task; {@code single} is the address of its SINGLE variable or 0; interval in ns, 0 for none. */
  public record Task(String name, String resource, long single, long interval, int priority) {}

  /**
   * A variable that one task writes and others read: an input or output of a block with a task of its own. Each task works with what stood there when it
   * started; what {@code task} (-1: the programs without one) wrote is there for those that start after its end.
   */
  public record Stored(int slot, int slots, int task) {}

  /**
   * Layout of an instance's memory.
   *
   * @param staticSlots slots of all variables with static storage, constants included; slot 0 is never used
   * @param frameSlots slots of the frames of one task
   * @param stackDepth greatest operand stack of one task
   * @param initial initial content of the static slots
   * @param areaBytes sizes of I, Q and M in bytes
   * @param areaInitial initial content of I, Q and M
   * @param retain ranges of retained slots: pairs [start, end)
   */
  public record MemoryPlan(
      int staticSlots, int frameSlots, int stackDepth, long[] initial, int[] areaBytes, byte[][] areaInitial, List<int[]> retain) {}

  public int length() {
    return op.length;
  }

  public List<Body> bodies() {
    return bodies;
  }

  public List<LadderElement> elements() {
    return elements;
  }

  public List<Native> natives() {
    return natives;
  }

  public List<InstanceType> types() {
    return types;
  }

  /** Sets of type numbers, as bit sets by word, for TYPE_TEST. */
  public List<int[]> typeSets() {
    return typeSets;
  }

  public List<Stored> stored() {
    return stored;
  }

  public List<Program> programs() {
    return programs;
  }

  public List<Task> tasks() {
    return tasks;
  }

  public Symbols symbols() {
    return symbols;
  }

  public MemoryPlan memory() {
    return memory;
  }

  public ImplementerChoices choices() {
    return choices;
  }

  /**
   * By ladder element: where its operand lies, for a block's body in its first instance in the order of declaration; NULL when unknown. Worked out once. Not
   * to be changed.
   */
  public long[] operands() {
    long[] known = operands;
    if (known == null) {
      known = LadderOperands.of(this);
      operands = known;
    }
    return known;
  }

  /** Hash over steps and constants: equal programs have equal hashes on every machine. */
  public long hash() {
    return hash;
  }

  public Span span(int step) {
    return new Span(sources.get(source[step]), spanStart[step], spanEnd[step]);
  }

  /** The step is of a body of a library. */
  public boolean isLibrary(int step) {
    return bodies.get(bodyOf(step)).library();
  }

  /** Index of the body that a step belongs to. */
  public int bodyOf(int step) {
    int low = 0;
    int high = bodies.size() - 1;
    while (low < high) {
      int mid = (low + high + 1) >>> 1;
      if (bodies.get(mid).start() <= step) {
        low = mid;
      } else {
        high = mid - 1;
      }
    }
    return low;
  }
}
