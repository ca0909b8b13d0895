package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Call;
import dev.scanloom.internal.check.Chart;
import dev.scanloom.internal.check.Code.ChartCode;
import dev.scanloom.internal.check.Code.LadderCode;
import dev.scanloom.internal.check.Code.Native;
import dev.scanloom.internal.check.Code.Statements;
import dev.scanloom.internal.check.Located;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.step.Symbols;
import dev.scanloom.library.Library;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.Deque;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.ToLongFunction;

/**
 * The checked model to executable steps. Each body is lowered once; the result is the semantics of the program. One object lowers one project.
 */
public final class Lowering {
  final ImplementerChoices choices;
  final Limits limits;
  final Layout layout = new Layout();
  final Assembler out = new Assembler();
  private final List<Library> libraries;

  private final Map<Pou, Integer> bodyNumbers = new LinkedHashMap<>();
  private final List<Code.Body> bodies = new ArrayList<>();
  private final Deque<Runnable> pending = new ArrayDeque<>();
  private final List<List<Integer>> callees = new ArrayList<>();
  private final List<Integer> nativeSlots = new ArrayList<>();
  private final List<List<Integer>> dynamicCallees = new ArrayList<>();
  private final List<Code.LadderElement> elements = new ArrayList<>();
  private final List<Code.Native> natives = new ArrayList<>();
  private final Map<Pou, Integer> nativeNumbers = new HashMap<>();
  private final Map<String, Integer> selectors = new LinkedHashMap<>();
  private final List<Pou> typeSetPous = new ArrayList<>();
  private final List<long[]> textConstants = new ArrayList<>();
  private final Map<String, Integer> textSlots = new HashMap<>();
  /** How far %I, %Q and %M reach. */
  private final long[] areaBits = new long[3];
  private int staticSlots = 1;

  public Lowering(ImplementerChoices choices, Limits limits, List<Library> libraries) {
    this.choices = choices;
    this.limits = limits;
    this.libraries = List.copyOf(libraries);
  }

  /** Told when the program needs more memory than the limit allows. */
  public static final class TooLarge extends RuntimeException {
    private static final long serialVersionUID = 1L;

    TooLarge(String message) {
      super(message, null, false, false);
    }
  }

  /**
   * Lowers a project.
   *
   * @throws TooLarge when an instance would need more memory than {@link Limits#instanceBytes()}
   */
  public Code lower(Project project) {
    List<Symbols.Root> roots = new ArrayList<>();
    List<Runnable> images = new ArrayList<>();
    for (Project.Global g : project.globals()) {
      placeGlobal(g, roots);
    }
    List<int[]> instances = new ArrayList<>();
    for (Project.ProgramInstance p : project.programs()) {
      int at = reserve(layout.instance(p.pou()));
      instances.add(new int[] {at});
      roots.add(new Symbols.Root(rootName(project, p), true, at, new Shape.Composite(p.pou().name(),
          completed(layout.instanceShape(p.pou()).members(), p), layout.instance(p.pou())), Layout.retention(p.retention())));
    }
    List<Code.Program> programs = new ArrayList<>();
    List<Code.Stored> stored = new ArrayList<>();
    for (int i = 0; i < project.programs().size(); i++) {
      Project.ProgramInstance p = project.programs().get(i);
      int body = p.connections().isEmpty() ? bodyOf(p.pou()) : connectionBody(p);
      programs.add(new Code.Program(p.name(), p.resource(), instances.get(i)[0], p.task().orElse(-1), body));
      for (Project.BlockTask t : p.blockTasks()) {
        programs.add(blockProgram(p, t, instances.get(i)[0], stored));
      }
    }
    // Bodies of all user POUs are lowered, called or not: listings show them and so do viewers.
    for (Pou pou : project.pous()) {
      if (!pou.isLibrary()) {
        lowerAll(pou);
      }
    }
    drain();
    List<Code.InstanceType> types = typeTables(project);
    drain();
    long[] image = image(project, instances, roots);
    Code.Builder b = new Code.Builder();
    out.fill(b);
    b.bodies = bodies;
    b.elements = elements;
    b.natives = natives;
    b.types = typeTables(project);
    b.typeSets = typeSets();
    b.programs = programs;
    b.stored = stored;
    List<Code.Task> tasks = new ArrayList<>();
    for (Project.Task t : project.tasks()) {
      tasks.add(new Code.Task(t.name(), t.resource(), t.single().map(s -> staticAddress(s)).orElse(0L), t.interval(), t.priority()));
    }
    b.tasks = tasks;
    b.symbols = new Symbols(roots);
    int frames = maxFrames();
    byte[][] areas = areaImages(project, instances);
    b.memory = new Code.MemoryPlan(staticSlots, frames, maxStack(), image,
        new int[] {areas[0].length, areas[1].length, areas[2].length}, areas, retained(roots));
    long bytes = 8L * (staticSlots + (long) frames * Math.max(1, tasks.size() + 1));
    if (bytes > limits.instanceBytes()) {
      throw new TooLarge("an instance of this program needs " + bytes + " bytes; the limit is " + limits.instanceBytes());
    }
    b.choices = choices;
    return new Code(b);
  }

  /** A block that runs under a task of its own is scheduled like a program whose instance lies inside another one. */
  private Code.Program blockProgram(Project.ProgramInstance p, Project.BlockTask t, int program, List<Code.Stored> stored) {
    int at = program;
    Shape shape = layout.instanceShape(p.pou());
    StringBuilder name = new StringBuilder(p.name());
    for (Variable v : t.path()) {
      Shape.Member m = ((Shape.Composite) shape).member(v.name()).orElseThrow();
      at += m.offset();
      shape = m.shape();
      name.append('.').append(v.name());
    }
    Pou block = ((Type.Block) t.path().get(t.path().size() - 1).type().base()).pou();
    if (t.task() != p.task().orElse(-1)) {
      store(block, at, p.task().orElse(-1), t.task(), stored);
    }
    return new Code.Program(name.toString(), p.resource(), at, t.task(), bodyOf(block));
  }

  /** Inputs of a block with a task of its own are the declaring program's to write, outputs its own (S.sync-store). */
  private void store(Pou block, int instance, int outside, int own, List<Code.Stored> stored) {
    block.base().ifPresent(b -> store(b, instance, outside, own, stored));
    for (Variable v : block.variables()) {
      boolean input = v.section() == Variable.Section.INPUT;
      if (!input && v.section() != Variable.Section.OUTPUT || v.located().isPresent()) {
        continue;
      }
      Layout.Storage s = layout.storage(v);
      if (s.area() == Layout.Area.INSTANCE && !s.indirect()) {
        stored.add(new Code.Stored(instance + s.offset(), layout.slots(v.type()), input ? outside : own));
      }
    }
  }

  private static String rootName(Project project, Project.ProgramInstance p) {
    return p.resource().isEmpty() || project.programs().size() == 1 ? p.name() : p.resource() + "." + p.name();
  }

  private int reserve(int slots) {
    long next = (long) staticSlots + slots;
    if (next * 8 > limits.instanceBytes() || next > Integer.MAX_VALUE - 8) {
      throw new TooLarge("an instance of this program needs more than " + limits.instanceBytes() + " bytes");
    }
    int at = staticSlots;
    staticSlots = (int) next;
    return at;
  }

  private void placeGlobal(Project.Global g, List<Symbols.Root> roots) {
    Variable v = g.variable();
    String name = g.scope().isEmpty() ? v.name() : g.scope() + "." + v.name();
    if (v.located().isPresent()) {
      roots.add(new Symbols.Root(name, false, located(v.located().get(), v.type()), layout.shape(v.type()), Layout.retention(v)));
    } else {
      int at = reserve(layout.slots(v.type()));
      layout.place(v, at);
      roots.add(new Symbols.Root(name, false, at, layout.shape(v.type()), Layout.retention(v)));
    }
  }

  /** Notes how far an area reaches, and gives the address. */
  long located(Located l, Type type) {
    long bits = l.width();
    if (type != null && type.base() instanceof Type.Array a && !a.open()) {
      bits = a.count() * Layout.kind(a.element()).bits();
    }
    int area = "IQM".indexOf(l.area());
    areaBits[area] = Math.max(areaBits[area], l.bit() + bits);
    return Layout.address(l);
  }

  /** The member with the location that an entry of VAR_CONFIG gives to it, or to a part of it. */
  private Shape.Member completed(Shape.Member m, Project.Completion c, int at) {
    Variable v = c.path().get(at);
    if (!v.name().equals(m.name())) {
      return m;
    }
    if (at == c.path().size() - 1) {
      return new Shape.Member(m.name(), m.offset(), located(c.located().get(), v.type()), false, m.hidden(), m.retention(), m.shape());
    }
    if (m.shape() instanceof Shape.Composite part) {
      List<Shape.Member> members = part.members().stream().map(x -> completed(x, c, at + 1)).toList();
      return new Shape.Member(m.name(), m.offset(), m.located(), m.indirect(), m.hidden(), m.retention(),
          new Shape.Composite(part.typeName(), members, part.slots()));
    }
    return m;
  }

  private List<Shape.Member> completed(List<Shape.Member> members, Project.ProgramInstance p) {
    List<Shape.Member> result = new ArrayList<>();
    for (Shape.Member m : members) {
      Shape.Member use = m;
      for (Project.Completion c : p.completions()) {
        if (c.located().isPresent()) {
          use = completed(use, c, 0);
        }
      }
      result.add(use);
    }
    return result;
  }

  // ---- bodies ----

  /** Number of the body of a POU or method; lowered later if it is new. */
  int bodyOf(Pou pou) {
    Integer known = bodyNumbers.get(pou);
    if (known != null) {
      return known;
    }
    int number = newBody();
    bodyNumbers.put(pou, number);
    pending.add(new Runnable() {
      // a class: see the addresses below
      @Override
      public void run() {
        lower(pou, number);
      }
    });
    return number;
  }

  private void lower(Pou pou, int number) {
    if (pou.owner().isPresent()) {
      layout.instance(pou.owner().get());
    }
    if (pou.kind() != Pou.Kind.FUNCTION && pou.kind() != Pou.Kind.METHOD) {
      layout.instance(pou);
    }
    BodyLowering body = new BodyLowering(this, number, pou);
    body.prologue();
    if (pou.code() instanceof Statements s) {
      body.statements(s.statements());
    } else if (pou.code() instanceof LadderCode l) {
      new LadderLowering(this, body).lower(l.ladder());
    } else if (pou.code() instanceof ChartCode c) {
      new ChartLowering(this, body).lower(c.chart());
    }
    finish(number, pou.owner().isPresent() ? pou.owner().get().name() + "." + pou.name() : pou.name(), pou.isLibrary(), pou.span(), body);
  }

  int newBody() {
    bodies.add(null);
    callees.add(new ArrayList<>());
    nativeSlots.add(0);
    dynamicCallees.add(new ArrayList<>());
    return bodies.size() - 1;
  }

  /** Lowers a further body (action, condition) later. */
  void later(Runnable work) {
    pending.add(work);
  }

  void finish(int number, String name, boolean library, Span span, BodyLowering body) {
    body.finish();
    bodies.set(number, new Code.Body(name, body.start(), out.size(), body.frameSlots(), body.maxDepth(), library, span));
  }

  private void drain() {
    while (!pending.isEmpty()) {
      pending.poll().run();
    }
  }

  private void lowerAll(Pou pou) {
    if (pou.kind() == Pou.Kind.INTERFACE || pou.code() instanceof Native
        || pou.code() instanceof dev.scanloom.internal.check.Code.Intrinsic) {
      return;
    }
    if (pou.kind() != Pou.Kind.CLASS) {
      bodyOf(pou);
    }
    for (Pou m : pou.methods()) {
      if (!(m.code() instanceof dev.scanloom.internal.check.Code.Abstract)) {
        bodyOf(m);
      }
    }
  }

  private int connectionBody(Project.ProgramInstance p) {
    int number = newBody();
    pending.add(() -> {
      BodyLowering body = new BodyLowering(this, number, p.pou());
      body.connections(p);
      finish(number, p.name(), false, p.span(), body);
    });
    return number;
  }

  void calls(int caller, int callee) {
    callees.get(caller).add(callee);
  }

  /** A body calls a Java body, whose parameters lie behind the frame. */
  void callsNative(int caller, Pou callee) {
    nativeSlots.set(caller, Math.max(nativeSlots.get(caller), layout.frame(callee)));
  }

  // ---- dispatch ----

  /** Number of a selector: the body of a block, or a method by name. */
  int selector(int caller, String key) {
    int s = selectors.computeIfAbsent(key, k -> selectors.size());
    dynamicCallees.get(caller).add(s);
    return s;
  }

  static String bodySelector() {
    return "()";
  }

  static String methodSelector(Pou method) {
    return method.name().toUpperCase(java.util.Locale.ROOT);
  }

  /** Number of the set of types that are a {@code wanted}. */
  int typeSet(Pou wanted) {
    int known = typeSetPous.indexOf(wanted);
    if (known < 0) {
      typeSetPous.add(wanted);
      known = typeSetPous.size() - 1;
    }
    return known;
  }

  private List<int[]> typeSets() {
    List<int[]> sets = new ArrayList<>();
    List<Pou> numbered = layout.numbered();
    for (Pou wanted : typeSetPous) {
      int[] words = new int[numbered.size() / 32 + 1];
      for (int i = 0; i < numbered.size(); i++) {
        if (numbered.get(i).isA(wanted)) {
          words[(i + 1) >> 5] |= 1 << ((i + 1) & 31);
        }
      }
      sets.add(words);
    }
    return sets;
  }

  /** Tables of all numbered types; bodies reached only through them are lowered. Type 0 does not exist. */
  private List<Code.InstanceType> typeTables(Project project) {
    for (Pou pou : project.pous()) {
      if (Layout.hasHeader(pou) && !pou.isLibrary()) {
        layout.instance(pou);
      }
    }
    List<Code.InstanceType> tables = new ArrayList<>();
    tables.add(new Code.InstanceType("", new int[0]));
    int done = 0;
    while (done < layout.numbered().size()) {
      Pou pou = layout.numbered().get(done++);
      int[] table = new int[selectors.size()];
      Arrays.fill(table, -1);
      int index = 0;
      for (String key : List.copyOf(selectors.keySet())) {
        if (key.equals(bodySelector())) {
          table[index] = pou.kind() == Pou.Kind.FUNCTION_BLOCK ? bodyOf(pou) : -1;
        } else {
          Optional<Pou> m = pou.method(key);
          table[index] = m.isPresent() && !(m.get().code() instanceof dev.scanloom.internal.check.Code.Abstract) ? bodyOf(m.get()) : -1;
        }
        index++;
      }
      tables.add(new Code.InstanceType(pou.name(), table));
    }
    return tables;
  }

  // ---- native bodies ----

  /** Number of the Java body of a POU. */
  int nativeOf(Pou pou) {
    Integer known = nativeNumbers.get(pou);
    if (known != null) {
      return known;
    }
    String name = ((Native) pou.code()).name();
    NativeBody body = libraries.stream().map(l -> l.body(name)).flatMap(Optional::stream).findFirst()
        .orElseThrow(() -> new IllegalStateException("no library has a body " + name));
    layout.frame(pou);
    List<Variable> parameters = new ArrayList<>();
    Variable result = null;
    for (Variable v : pou.variables()) {
      switch (v.section()) {
        case INPUT, OUTPUT, IN_OUT -> parameters.add(v);
        case RESULT -> result = v;
        case TEMP, LOCAL, EXTERNAL, GLOBAL, FIELD, HIDDEN -> {
          // not visible to a Java body
        }
      }
    }
    int n = parameters.size();
    int[] offsets = new int[n + 1];
    int[] kinds = new int[n + 1];
    int[] capacities = new int[n + 1];
    for (int i = 0; i <= n; i++) {
      Variable v = i < n ? parameters.get(i) : result;
      if (v != null) {
        offsets[i] = layout.storage(v).offset();
        kinds[i] = Layout.kind(v.type()).ordinal();
        capacities[i] = v.type().base() instanceof Type.Text t ? t.capacity() : 0;
      } else {
        offsets[i] = -1;
      }
    }
    natives.add(new Code.Native(name, body, offsets, kinds, capacities));
    nativeNumbers.put(pou, natives.size() - 1);
    return natives.size() - 1;
  }

  // ---- constants in static memory ----

  /** Slot of a string constant. */
  int textConstant(ElementaryType kind, int[] units) {
    String key = kind + Arrays.toString(units);
    Integer known = textSlots.get(key);
    if (known == null) {
      long[] words = new long[Shape.Text.slotsFor(kind, Math.max(1, units.length))];
      Texts.write(words, 0, kind, units, units.length);
      known = reserve(words.length);
      long[] entry = new long[words.length + 1];
      entry[0] = known;
      System.arraycopy(words, 0, entry, 1, words.length);
      textConstants.add(entry);
      textSlots.put(key, known);
    }
    return known;
  }

  /** Slot of a block of constants, such as the initial value of a large temporary. */
  int constantBlock(long[] words) {
    int at = reserve(words.length);
    long[] entry = new long[words.length + 1];
    entry[0] = at;
    System.arraycopy(words, 0, entry, 1, words.length);
    textConstants.add(entry);
    return at;
  }

  // ---- ladder elements ----

  int element(Code.LadderElement e) {
    elements.add(e);
    return elements.size() - 1;
  }

  int nextElement() {
    return elements.size();
  }

  // ---- initial image ----

  private long[] image(Project project, List<int[]> instances, List<Symbols.Root> roots) {
    long[] image = new long[staticSlots];
    for (long[] t : textConstants) {
      System.arraycopy(t, 1, image, (int) t[0], t.length - 1);
    }
    for (Project.Global g : project.globals()) {
      if (g.variable().located().isEmpty()) {
        layout.initialize(image, (int) staticAddress(g.variable()), g.variable(), addresses);
      }
    }
    for (int i = 0; i < project.programs().size(); i++) {
      Project.ProgramInstance p = project.programs().get(i);
      int self = instances.get(i)[0];
      currentSelf = self;
      layout.writeInstance(image, self, p.pou(), p.pou(), Map.of(), addresses);
      for (Project.Completion c : p.completions()) {
        complete(image, self, c);
      }
    }
    currentSelf = -1;
    return image;
  }

  private int currentSelf = -1;

  private void complete(long[] image, int self, Project.Completion c) {
    long at = self;
    for (int i = 0; i < c.path().size() - 1; i++) {
      at += layout.storage(c.path().get(i)).offset();
    }
    Variable last = c.path().get(c.path().size() - 1);
    Layout.Storage s = layout.storage(last);
    if (c.located().isPresent() && s.indirect()) {
      image[(int) at + s.offset()] = located(c.located().get(), last.type());
    }
    if (c.initial().isPresent() && !s.indirect()) {
      layout.write(image, (int) at + s.offset(), last.type(), c.initial().get(), addresses);
    }
  }

  /** A class, not a lambda: the first load of a program needs it, and lambdas take long to make. */
  private final ToLongFunction<Place> addresses = new ToLongFunction<>() {
    @Override
    public long applyAsLong(Place place) {
      return staticAddress(place);
    }
  };

  /** Address of a place that needs no code: globals, parts with constant subscripts, locations; members of the instance being initialized. */
  long staticAddress(Place place) {
    return place.accept(new Place.Visitor<Long>() {
      @Override
      public Long variable(Place.Var p) {
        return staticAddress(p.variable());
      }

      @Override
      public Long member(Place.Member p) {
        if (p.field().located().isPresent()) {
          return located(p.field().located().get(), p.field().type());
        }
        return staticAddress(p.base()) + layout.storage(p.field()).offset();
      }

      @Override
      public Long element(Place.Element p) {
        Type.Array a = (Type.Array) p.base().type().base();
        long index = 0;
        for (int d = 0; d < p.indices().size(); d++) {
          if (!(p.indices().get(d) instanceof dev.scanloom.internal.check.Expr.Constant c)) {
            throw new IllegalStateException("not a static place");
          }
          index = index * a.bounds().get(d).length() + c.value() - a.bounds().get(d).low();
        }
        long base = staticAddress(p.base());
        return base + index * (Address.isLocated(base) ? Layout.kind(a.element()).bits() : layout.slots(a.element()));
      }

      @Override
      public Long dereference(Place.Deref p) {
        throw new IllegalStateException("not a static place");
      }

      @Override
      public Long direct(Place.Direct p) {
        return located(p.location(), p.type());
      }

      @Override
      public Long bits(Place.Bits p) {
        throw new IllegalStateException("not a static place");
      }

      @Override
      public Long character(Place.Character p) {
        throw new IllegalStateException("not a static place");
      }

      @Override
      public Long self(Place.This p) {
        return (long) currentSelf;
      }
    });
  }

  private long staticAddress(Variable v) {
    if (v.section() == Variable.Section.EXTERNAL) {
      return staticAddress(v.global().orElseThrow(() -> new IllegalStateException("external " + v.name() + " has no global")));
    }
    if (v.located().isPresent() && !Layout.isStarred(v)) {
      return located(v.located().get(), v.type());
    }
    Layout.Storage s = layout.storage(v);
    return s.area() == Layout.Area.STATIC ? s.offset() : currentSelf + s.offset();
  }

  private byte[][] areaImages(Project project, List<int[]> instances) {
    byte[][] areas = new byte[3][];
    for (Project.ProgramInstance p : project.programs()) {
      noteLocations(p.pou());
      for (Project.Completion c : p.completions()) {
        c.located().ifPresent(l -> located(l, c.path().get(c.path().size() - 1).type()));
      }
    }
    for (int i = 0; i < 3; i++) {
      long bytes = Math.max(8, (areaBits[i] + 63) / 64 * 8);
      if (bytes > limits.instanceBytes()) {
        throw new TooLarge("the area %" + "IQM".charAt(i) + " would take " + bytes + " bytes; the limit is " + limits.instanceBytes());
      }
      areas[i] = new byte[(int) bytes];
    }
    for (Project.Global g : project.globals()) {
      locatedInitial(areas, g.variable());
    }
    for (Project.ProgramInstance p : project.programs()) {
      locatedInitials(areas, p.pou());
      for (Project.Completion c : p.completions()) {
        if (c.located().isPresent()) {
          Variable v = c.path().get(c.path().size() - 1);
          putInitial(areas, c.located().get(), v.type(), c.initial().or(v::initial).orElse(null));
        }
      }
    }
    return areas;
  }

  /** Locations count whether a body uses them or not: a host may. */
  private void noteLocations(Pou pou) {
    if (pou.base().isPresent()) {
      noteLocations(pou.base().get());
    }
    for (Variable v : pou.variables()) {
      if (v.located().isPresent() && !Layout.isStarred(v) && v.section() != Variable.Section.EXTERNAL) {
        located(v.located().get(), v.type());
      }
      if (v.type().base() instanceof Type.Block b && v.section() != Variable.Section.EXTERNAL && v.section() != Variable.Section.IN_OUT) {
        noteLocations(b.pou());
      }
    }
  }

  private void locatedInitials(byte[][] areas, Pou pou) {
    if (pou.base().isPresent()) {
      locatedInitials(areas, pou.base().get());
    }
    for (Variable v : pou.variables()) {
      locatedInitial(areas, v);
      if (v.type().base() instanceof Type.Block b && v.section() != Variable.Section.EXTERNAL && v.section() != Variable.Section.IN_OUT) {
        locatedInitials(areas, b.pou());
      }
    }
  }

  private void locatedInitial(byte[][] areas, Variable v) {
    if (v.located().isPresent() && !Layout.isStarred(v) && v.section() != Variable.Section.EXTERNAL) {
      putInitial(areas, v.located().get(), v.type(), v.initial().orElse(null));
    }
  }

  private void putInitial(byte[][] areas, Located l, Type type, dev.scanloom.internal.check.Init init) {
    int n = layout.slots(type);
    long[] image = new long[n];
    layout.write(image, 0, type, init, addresses);
    int width = type.base() instanceof Type.Array a ? Layout.kind(a.element()).bits() : l.width();
    byte[] area = areas["IQM".indexOf(l.area())];
    for (int i = 0; i < n; i++) {
      for (int bit = 0; bit < width; bit++) {
        long at = l.bit() + (long) i * width + bit;
        if (at / 8 < area.length && (image[i] >>> bit & 1) != 0) {
          area[(int) (at / 8)] |= (byte) (1 << at % 8);
        }
      }
    }
  }

  // ---- retention, frames, stack ----

  private List<int[]> retained(List<Symbols.Root> roots) {
    List<int[]> ranges = new ArrayList<>();
    for (Symbols.Root r : roots) {
      if (!Address.isLocated(r.address())) {
        collectRetained((int) r.address(), r.shape(), keeps(r.retention(), choices.keepUnqualified()), ranges);
      }
    }
    return ranges;
  }

  private static boolean keeps(Shape.Retention own, boolean around) {
    return own == Shape.Retention.NONE ? around : own == Shape.Retention.RETAIN;
  }

  /** A member without a qualifier follows what it is part of; one with a qualifier does not (T40.5a, T40.5b). */
  private static void collectRetained(int at, Shape shape, boolean kept, List<int[]> ranges) {
    if (shape instanceof Shape.Composite c) {
      for (Shape.Member m : c.members()) {
        if (m.located() == 0 && !m.indirect()) {
          collectRetained(at + m.offset(), m.shape(), keeps(m.retention(), kept), ranges);
        }
      }
    } else if (shape instanceof Shape.Array a && isComposite(a.element())) {
      for (int i = 0; i < a.count(); i++) {
        collectRetained(at + i * a.element().slots(), a.element(), kept, ranges);
      }
    } else if (kept) {
      int[] last = ranges.isEmpty() ? null : ranges.get(ranges.size() - 1);
      if (last != null && last[1] == at) {
        last[1] = at + shape.slots();
      } else {
        ranges.add(new int[] {at, at + shape.slots()});
      }
    }
  }

  private static boolean isComposite(Shape shape) {
    return shape instanceof Shape.Composite || shape instanceof Shape.Array a && isComposite(a.element());
  }

  private int[] frameNeed;

  private int maxFrames() {
    frameNeed = new int[bodies.size()];
    int most = 16;
    for (int i = 0; i < bodies.size(); i++) {
      most = Math.max(most, frames(i, 0));
    }
    return most;
  }

  /** Slots that a body and all it calls need; a recursive program gets room for the whole call depth. */
  private int frames(int body, int depth) {
    if (frameNeed[body] > 0) {
      return frameNeed[body];
    }
    if (frameNeed[body] < 0 || depth > 4 * limits.callDepth()) {
      return recursiveFrames();
    }
    frameNeed[body] = -1;
    int most = nativeSlots.get(body);
    for (int callee : callees.get(body)) {
      most = Math.max(most, frames(callee, depth + 1));
    }
    for (int selector : dynamicCallees.get(body)) {
      for (int callee : bodiesFor(selector)) {
        most = Math.max(most, frames(callee, depth + 1));
      }
    }
    long need = (long) bodies.get(body).frameSlots() + most + 1;
    frameNeed[body] = (int) Math.min(need, Math.max(recursiveFrames(), need));
    return frameNeed[body];
  }

  private int recursiveFrames() {
    long largest = 0;
    for (Code.Body b : bodies) {
      largest = Math.max(largest, b.frameSlots());
    }
    long behind = nativeSlots.isEmpty() ? 0 : Collections.max(nativeSlots);
    return (int) Math.min(limits.instanceBytes() / 16, largest * limits.callDepth() + behind);
  }

  private List<Integer> bodiesFor(int selector) {
    List<Integer> found = new ArrayList<>();
    String key = List.copyOf(selectors.keySet()).get(selector);
    for (Pou pou : layout.numbered()) {
      Integer n = null;
      if (key.equals(bodySelector())) {
        n = bodyNumbers.get(pou);
      } else if (pou.method(key).isPresent()) {
        n = bodyNumbers.get(pou.method(key).get());
      }
      if (n != null) {
        found.add(n);
      }
    }
    return found;
  }

  private int maxStack() {
    long sum = 0;
    int largest = 0;
    for (Code.Body b : bodies) {
      sum += b.stackDepth();
      largest = Math.max(largest, b.stackDepth());
    }
    // The operand stack goes on across calls: what a caller has pushed stays below its callee's values.
    return (int) Math.min(sum, (long) largest * (limits.callDepth() + 1)) + 16;
  }
}
