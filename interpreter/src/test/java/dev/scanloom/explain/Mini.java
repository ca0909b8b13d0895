package dev.scanloom.explain;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.model.Element;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.observe.StepInfo.Kind;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.TreeMap;

/**
 * A small machine that executes step lists written by hand and tells an observer, so that the recorder is tested without the rest of the
 * house. Its arithmetic is independent of the executor's.
 */
final class Mini implements Names.Source {
  /** Address of %IX(bit/8).(bit%8) and so on; area 1 = I, 2 = Q, 3 = M. */
  static long located(int area, long bit) {
    return 1L << 62 | (long) area << 60 | bit;
  }

  record Row(Kind kind, String text, long a, int b, int network, int element, int pops, int pushes, int target, int regionEnd,
      String body) {}

  final List<Row> rows = new ArrayList<>();
  final List<Element> elements = new ArrayList<>();
  final TreeMap<Long, String> names = new TreeMap<>();
  final TreeMap<Long, Long> slots = new TreeMap<>();
  final byte[][] areas = {{}, new byte[16], new byte[16], new byte[16]};
  final byte[][] field = {{}, new byte[16], new byte[16], new byte[16]};
  private final SourceText source = SourceText.of("mini.st", "x".repeat(2000));
  private final Observer observer;
  private String body = "Main";
  private int network;
  long scan;
  long ordinal;
  long time;

  Mini(java.util.function.Function<Mini, Observer> observer) {
    this.observer = observer.apply(this);
  }

  // ---- program ----

  int here() {
    return rows.size();
  }

  Mini body(String name) {
    body = name;
    return this;
  }

  Mini network(int n) {
    network = n;
    return this;
  }

  private int add(Kind k, String text, long a, int b, int element, int pops, int pushes, int target, int regionEnd) {
    rows.add(new Row(k, text, a, b, network, element, pops, pushes, target, regionEnd, body));
    return rows.size() - 1;
  }

  Mini constant(long v) {
    add(Kind.CONSTANT, "CONST " + v, v, 0, -1, 0, 1, -1, -1);
    return this;
  }

  Mini load(long address, int width) {
    add(Kind.LOAD, "LOAD", address, width, -1, 0, 1, -1, -1);
    return this;
  }

  Mini loadIndirect() {
    add(Kind.LOAD, "LOAD_INDIRECT", -1, 64, -1, 1, 1, -1, -1);
    return this;
  }

  Mini store(long address, int width) {
    add(Kind.STORE, "STORE", address, width, -1, 1, 0, -1, -1);
    return this;
  }

  Mini op(Kind k, String text) {
    int pops = switch (text) {
      case "NOT" -> 1;
      case "SELECT" -> 3;
      default -> 2;
    };
    add(k, text, 0, 0, -1, pops, 1, -1, -1);
    return this;
  }

  Mini loadTemp(int n) {
    add(Kind.LOAD_TEMP, "LOAD_TEMP", n, 0, -1, 0, 1, n, -1);
    return this;
  }

  Mini storeTemp(int n) {
    add(Kind.STORE_TEMP, "STORE_TEMP", n, 0, -1, 1, 0, n, -1);
    return this;
  }

  Mini dup() {
    add(Kind.DUPLICATE, "DUP", 0, 0, -1, 1, 2, -1, -1);
    return this;
  }

  Mini drop() {
    add(Kind.DROP, "POP", 0, 0, -1, 1, 0, -1, -1);
    return this;
  }

  /** A contact: test on top of the left link. */
  Mini contact(String title, String mark, long address) {
    int id = element(Element.Kind.CONTACT, title, mark);
    add(Kind.LOAD, "LOAD", address, 1, id, 0, 1, -1, -1);
    if (mark.equals("/")) {
      add(Kind.NOT, "NOT", 0, 0, id, 1, 1, -1, -1);
    }
    add(Kind.AND, "CONTACT", 0, 0, id, 2, 1, -1, -1);
    return this;
  }

  Mini coil(String title, long address) {
    int id = element(Element.Kind.COIL, title, " ");
    add(Kind.MARK, "ELEMENT", 0, 0, id, 1, 1, -1, -1);
    add(Kind.STORE, "STORE", address, 1, id, 1, 0, -1, -1);
    return this;
  }

  private int element(Element.Kind kind, String title, String mark) {
    int id = elements.size();
    elements.add(new Element(id, body, network, kind, mark, title, new Span(source, 0, 1), 1, 1, 3, 1, List.of()));
    return id;
  }

  /** A branch that jumps on FALSE; patched later. */
  int branchFalse() {
    return add(Kind.BRANCH, "JUMP_FALSE", 0, 0, -1, 1, 0, -1, -1);
  }

  int jump() {
    return add(Kind.JUMP, "JUMP", 0, 0, -1, 0, 0, -1, -1);
  }

  void patch(int at, int target, int regionEnd) {
    Row r = rows.get(at);
    rows.set(at, new Row(r.kind, r.text, r.a, r.b, r.network, r.element, r.pops, r.pushes, target, regionEnd, r.body));
  }

  int call(int target) {
    return add(Kind.CALL, "CALL", 0, 0, -1, 0, 0, target, -1);
  }

  Mini ret() {
    add(Kind.RETURN, "RETURN", 0, 0, -1, 0, 0, -1, -1);
    return this;
  }

  int guard() {
    return add(Kind.GUARD, "GUARD", 0, 0, -1, 0, 0, -1, -1);
  }

  Mini unguard() {
    add(Kind.UNGUARD, "UNGUARD", 0, 0, -1, 0, 0, -1, -1);
    return this;
  }

  // ---- names ----

  @Override
  public StepInfo step(int id) {
    Row r = rows.get(id);
    return new StepInfo(id, r.kind, r.text, new Span(source, id * 2, id * 2 + 1), r.body, r.network, r.element, r.pops, r.pushes,
        r.target, r.regionEnd);
  }

  @Override
  public int stepCount() {
    return rows.size();
  }

  @Override
  public boolean isLibrary(String name) {
    return name.startsWith("Lib");
  }

  @Override
  public Optional<Element> element(int id) {
    return Optional.of(elements.get(id));
  }

  @Override
  public Optional<String> nameAt(long address, int width) {
    return Optional.ofNullable(names.get(address)).map(n -> width == 8 ? n + " as a byte" : n);
  }

  @Override
  public Optional<Names.Format> format(String name, long address) {
    if (!name.startsWith("b")) {
      return Optional.empty();
    }
    return Optional.of(new Names.Format() {
      @Override
      public boolean isBool() {
        return true;
      }

      @Override
      public boolean isText() {
        return false;
      }

      @Override
      public String text(long bits) {
        return Names.truth(bits);
      }
    });
  }

  long present(long address, int width) {
    return read(areas, address, width);
  }

  // ---- run ----

  private long read(byte[][] from, long address, int width) {
    if (!Locations.isLocated(address)) {
      return slots.getOrDefault(address, 0L);
    }
    long v = 0;
    for (int i = 0; i < width; i++) {
      long bit = Locations.bit(address) + i;
      v |= (long) (from[Locations.area(address)][(int) (bit / 8)] >> bit % 8 & 1) << i;
    }
    return v;
  }

  private void write(byte[][] to, long address, int width, long v) {
    if (!Locations.isLocated(address)) {
      slots.put(address, v);
      return;
    }
    for (int i = 0; i < width; i++) {
      long bit = Locations.bit(address) + i;
      int at = (int) (bit / 8);
      byte[] b = to[Locations.area(address)];
      b[at] = (byte) ((v >> i & 1) != 0 ? b[at] | 1 << bit % 8 : b[at] & ~(1 << bit % 8));
    }
  }

  void terminal(long address, int width, long v) {
    tell(ev(EventKind.FIELD, -1).at(address, width, read(field, address, width), v));
    write(field, address, width, v);
  }

  void refresh(long address, int width) {
    poke(address, width, read(field, address, width), Event.Source.INPUT_REFRESH);
  }

  void poke(long address, int width, long v, Event.Source source) {
    Ev e = ev(EventKind.WRITE, -1).at(address, width, read(areas, address, width), v);
    e.source = source;
    tell(e);
    write(areas, address, width, v);
  }

  void deliver(long address, int width) {
    terminal(address, width, read(areas, address, width));
  }

  void scan(Runnable refreshes) {
    scan++;
    ordinal = 0;
    tell(ev(EventKind.SCAN_START, -1));
    refreshes.run();
    execute(0);
    tell(ev(EventKind.SCAN_END, -1));
  }

  void scan() {
    scan(() -> { });
  }

  private void execute(int start) {
    long[] st = new long[64];
    int sp = 0;
    int pc = start;
    List<long[]> temps = new ArrayList<>(List.of(new long[16]));
    List<Integer> returns = new ArrayList<>();
    while (true) {
      Row r = rows.get(pc);
      ordinal++;
      time += 100;
      Ev step = ev(EventKind.STEP, pc);
      step.stack = st;
      step.sp = sp;
      tell(step);
      long[] frame = temps.get(temps.size() - 1);
      switch (r.text.split(" ")[0]) {
        case "CONST" -> st[sp++] = r.a;
        case "LOAD" -> {
          st[sp] = read(areas, r.a, r.b);
          tell(ev(EventKind.READ, pc).at(r.a, r.b, st[sp], st[sp]));
          sp++;
        }
        case "LOAD_INDIRECT" -> {
          long address = st[sp - 1];
          st[sp - 1] = read(areas, address, 64);
          tell(ev(EventKind.READ, pc).at(address, 64, st[sp - 1], st[sp - 1]));
        }
        case "STORE" -> {
          Ev w = ev(EventKind.WRITE, pc).at(r.a, r.b, read(areas, r.a, r.b), st[--sp]);
          w.source = Event.Source.INSTRUCTION;
          tell(w);
          write(areas, r.a, r.b, st[sp]);
        }
        case "LOAD_TEMP" -> st[sp++] = frame[(int) r.a];
        case "STORE_TEMP" -> frame[(int) r.a] = st[--sp];
        case "DUP" -> {
          st[sp] = st[sp - 1];
          sp++;
        }
        case "POP" -> sp--;
        case "AND", "CONTACT" -> {
          sp--;
          st[sp - 1] &= st[sp];
        }
        case "OR" -> {
          sp--;
          st[sp - 1] |= st[sp];
        }
        case "NOT" -> st[sp - 1] = 1 - st[sp - 1];
        case "MUL" -> {
          sp--;
          st[sp - 1] *= st[sp];
        }
        case "ADD" -> {
          sp--;
          st[sp - 1] += st[sp];
        }
        case "DIV" -> {
          sp--;
          if (st[sp] == 0) {
            // caught by the only guard there is
            pc = rows.stream().filter(x -> x.kind == Kind.GUARD).findFirst().orElseThrow().target;
            sp = 0;
            continue;
          }
          st[sp - 1] /= st[sp];
        }
        case "LT" -> {
          sp--;
          st[sp - 1] = st[sp - 1] < st[sp] ? 1 : 0;
        }
        case "SELECT" -> {
          sp -= 2;
          st[sp - 1] = st[sp - 1] == 0 ? st[sp] : st[sp + 1];
        }
        case "JUMP_FALSE" -> {
          if (st[--sp] == 0) {
            pc = r.target;
            continue;
          }
        }
        case "JUMP" -> {
          pc = r.target;
          continue;
        }
        case "CALL" -> {
          returns.add(pc + 1);
          temps.add(new long[16]);
          pc = r.target;
          continue;
        }
        case "RETURN" -> {
          if (returns.isEmpty()) {
            return;
          }
          pc = returns.remove(returns.size() - 1);
          temps.remove(temps.size() - 1);
          continue;
        }
        case "ELEMENT", "GUARD", "UNGUARD" -> { }
        default -> throw new IllegalStateException(r.text);
      }
      if (r.text.equals("CONTACT") || r.text.equals("ELEMENT")) {
        Ev e = ev(EventKind.ELEMENT, pc);
        e.element = r.element;
        e.power = st[sp - 1] != 0;
        e.test = r.text.equals("CONTACT") ? st[sp] != 0 : e.power;
        tell(e);
      }
      pc++;
    }
  }

  private Ev ev(EventKind kind, int step) {
    Ev e = new Ev();
    e.kind = kind;
    e.step = step;
    e.scan = scan;
    e.ordinal = ordinal;
    e.time = time;
    return e;
  }

  private void tell(Ev e) {
    if (observer.wants().contains(e.kind)) {
      observer.on(e);
    }
  }

  private static final class Ev implements Event {
    EventKind kind;
    int step;
    long scan;
    long ordinal;
    long time;
    long address;
    int width;
    long before;
    long after;
    Source source = Source.INSTRUCTION;
    int element = -1;
    boolean test;
    boolean power;
    long[] stack = {};
    int sp;

    Ev at(long a, int w, long b, long v) {
      address = a;
      width = w;
      before = b;
      after = v;
      return this;
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
      return time;
    }

    @Override
    public int task() {
      return -1;
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
      return Phase.PROGRAM;
    }

    @Override
    public String detail() {
      return "";
    }

    @Override
    public long operand(int fromTop) {
      return stack[sp - 1 - fromTop];
    }

    @Override
    public String toString() {
      return kind + " " + step + " " + Arrays.toString(Arrays.copyOf(stack, sp));
    }
  }
}
