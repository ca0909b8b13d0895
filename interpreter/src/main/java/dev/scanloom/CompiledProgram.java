package dev.scanloom;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.bytecode.StretchTranslator;
import dev.scanloom.internal.bytecode.Translation;
import dev.scanloom.internal.exec.Condensation;
import dev.scanloom.internal.exec.Condensed;
import dev.scanloom.internal.exec.StretchCode;
import dev.scanloom.internal.check.Expr;
import dev.scanloom.internal.check.Project;
import dev.scanloom.internal.lanes.LanePlan;
import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.scan.Items;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.step.Symbols;
import dev.scanloom.model.Element;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.BiFunction;
import java.util.function.UnaryOperator;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * A compiled program: what all its controllers share. Immutable and safe for use by several threads.
 */
public final class CompiledProgram {
  /** The form of a location; made when one is first asked for. */
  private static final class Form {
    static final Pattern LOCATION = Pattern.compile("%([IQM])([XBWDL]?)(\\d{1,9})(?:\\.(\\d{1,2}))?", Pattern.CASE_INSENSITIVE);
  }

  /** Steps of one controller from which on translating stretches pays. */
  private static final int LONG_RUN = 1_000_000;

  /**
   * Translates stretches; null when the JVM refuses the class, since a mistake of the translator must not be the host's. A class, not a lambda: the first load
   * of a program needs it, and lambdas take long to make.
   */
  private static final BiFunction<Code, Condensed, StretchCode> STRETCHES = new BiFunction<>() {
    @Override
    public StretchCode apply(Code code, Condensed condensed) {
      try {
        return StretchTranslator.translate(code, condensed);
      } catch (LinkageError e) {
        return null;
      }
    }
  };

  private final Code code;
  private final List<SourceText> sources;
  private final Limits limits;
  private final Translation translation;
  private final Condensation condensation;
  private final Listing listing;
  private final StepInfo[] steps;
  private final Drawn drawn;
  private final List<String> tasks;
  private LanePlan lanePlan;
  /** Paths of variables by the names of the access paths that lead to them (VAR_ACCESS), in capitals. */
  private final Map<String, Access> accessPaths = new LinkedHashMap<>();

  /** Name as declared, path of the variable. */
  private record Access(String name, String path, boolean writable) {}

  /** What viewers get; few programs are looked at, so it is made when somebody asks, of the checked model, which is kept until then. */
  private static final class Drawn {
    private final Code code;
    private Project project;
    private Views views;

    Drawn(Code code, Project project) {
      this.code = code;
      this.project = project;
    }

    synchronized Views views() {
      if (views == null) {
        views = new Views(code, project);
        project = null;
      }
      return views;
    }
  }

  private CompiledProgram(CompiledProgram o, Translation translation, Condensation condensation) {
    this.code = o.code;
    this.sources = o.sources;
    this.limits = o.limits;
    this.translation = translation;
    this.condensation = condensation;
    this.listing = o.listing;
    this.steps = o.steps;
    this.drawn = o.drawn;
    this.tasks = o.tasks;
    this.accessPaths.putAll(o.accessPaths);
  }

  /** The same program, whose stretches are translated without waiting for a long run, or it fails; for tests. */
  CompiledProgram translatedAtOnce() {
    return new CompiledProgram(this, translation, new Condensation(code, StretchTranslator::translate, 0));
  }

  /** The same program, whose bodies are translated into classes that are changed; for tests. */
  CompiledProgram withClasses(UnaryOperator<byte[]> classes) {
    return new CompiledProgram(this, new Translation(code, limits.callDepth(), classes), condensation);
  }

  CompiledProgram(Code code, Project project, List<SourceText> sources, Limits limits) {
    this.code = code;
    this.sources = sources;
    this.limits = limits;
    translation = new Translation(code, limits.callDepth());
    condensation = new Condensation(code, STRETCHES, LONG_RUN);
    listing = new Listing(code);
    steps = new StepInfo[code.length()];
    drawn = new Drawn(code, project);
    List<String> names = new ArrayList<>();
    for (Code.Task t : code.tasks()) {
      names.add(t.name());
    }
    names.add("");
    tasks = List.copyOf(names);
    for (Project.AccessPath a : project.accessPaths()) {
      String path = path(a.place());
      if (!path.isEmpty()) {
        String whole = a.program().map(i -> project.programs().get(i).name() + ".").orElse("") + path;
        accessPaths.putIfAbsent(a.name().toUpperCase(Locale.ROOT), new Access(a.name(), whole, a.writable()));
      }
    }
  }

  /** The path of a variable as watched; empty for a part of one that has none. */
  private static String path(dev.scanloom.internal.check.Place place) {
    StringBuilder path = new StringBuilder();
    dev.scanloom.internal.check.Place p = place;
    while (true) {
      if (p instanceof dev.scanloom.internal.check.Place.Var v) {
        return path.insert(0, v.variable().name()).toString();
      } else if (p instanceof dev.scanloom.internal.check.Place.Direct) {
        return path.length() == 0 ? p.span().text().strip() : "";
      } else if (p instanceof dev.scanloom.internal.check.Place.Member m) {
        path.insert(0, "." + m.field().name());
        p = m.base();
      } else if (p instanceof dev.scanloom.internal.check.Place.Element e) {
        StringBuilder indices = new StringBuilder();
        for (Expr i : e.indices()) {
          if (!(i instanceof Expr.Constant c)) {
            return "";
          }
          indices.append(indices.length() == 0 ? "[" : ",").append(c.value());
        }
        path.insert(0, indices.append(']'));
        p = e.base();
      } else {
        return "";
      }
    }
  }

  /**
   * A controller in the state before its first scan.
   *
   * @throws IllegalArgumentException when a display of the policy watches a variable that the program lacks
   */
  public Controller newController(ScanPolicy policy) {
    return new Controller(this, policy, engine(policy));
  }

  /**
   * Many controllers in step, in the state before their first scan; see {@link Lanes}.
   *
   * @param lanes how many, 1 or more; multiples of 64 are used best
   * @throws IllegalArgumentException for fewer than 1, or when a display of the policy watches a variable that the program lacks
   */
  public Lanes newLanes(int lanes, ScanPolicy policy) {
    if (lanes < 1) {
      throw new IllegalArgumentException("there is at least 1 lane: " + lanes);
    }
    return new Lanes(this, policy, lanes);
  }

  /** Size of the area in which a location lies. */
  long areaBits(long address) {
    return 8L * code.memory().areaBytes()[Address.area(address) - 1];
  }

  /** Made when lanes are first asked for, then shared. */
  LanePlan lanePlan() {
    synchronized (steps) {
      if (lanePlan == null) {
        lanePlan = new LanePlan(code, limits);
      }
      return lanePlan;
    }
  }

  Engine engine(ScanPolicy policy) {
    List<List<Items.Item>> watched = new ArrayList<>();
    for (ScanPolicy.Display d : policy.displays()) {
      List<Items.Item> items = new ArrayList<>();
      for (String path : d.items()) {
        Variable v = variable(path);
        items.add(Items.Item.of(v.address(), v.shape()));
      }
      watched.add(items);
    }
    return new Engine(code, translation, condensation, policy, limits, watched);
  }

  public ImplementerChoices choices() {
    return code.choices();
  }

  public Limits limits() {
    return limits;
  }

  /** Hash over steps and constants; equal programs have equal hashes on every machine. */
  public long hash() {
    return code.hash();
  }

  public int stepCount() {
    return code.length();
  }

  /** @throws IndexOutOfBoundsException outside 0 to {@link #stepCount()} - 1 */
  public StepInfo step(int id) {
    StepInfo s = steps[id];
    if (s == null) {
      // A race makes an equal record; records are published safely.
      s = listing.step(id);
      steps[id] = s;
    }
    return s;
  }

  /** All steps as text, a heading per body, each with its place in the source. */
  public List<String> listing() {
    return listing.all();
  }

  /** The texts that the program was compiled from. */
  public List<SourceText> sources() {
    return sources;
  }

  /** Bodies with their ladder networks, library bodies included, in the order of the steps. */
  public List<Pou> pous() {
    return drawn.views().pous();
  }

  /** All ladder elements by number, as events and displays know them. */
  public List<Element> elements() {
    return drawn.views().elements();
  }

  /** Names of the tasks by index, as events tell it; the last one, nameless, stands for programs without a task. */
  public List<String> tasks() {
    return tasks;
  }

  /** Paths of all variables that can be watched, in the order of declaration. Of an array only the first 1,000 elements are listed. */
  public List<String> variables() {
    return Names.all(code.symbols());
  }

  /** Known paths that are spelled nearly like this one, best first, at most three. */
  public List<String> nearest(String path) {
    return Names.nearest(variables(), path);
  }

  /**
   * A variable by its path: {@code a}, {@code prog.a}, {@code A.B}, {@code ARR[2]}, {@code %IX0.0}, {@code Step.X}; globals by bare name; in any case of letters.
   * The name of an access path (VAR_ACCESS, Table 62, 10) stands for the variable behind it where no variable has that name; memory cannot be set through
   * one that is READ_ONLY.
   *
   * @throws Variable.Unknown when there is none
   * @throws IllegalArgumentException when the path names a structure, array or instance
   */
  public Variable variable(String path) {
    String text = path.strip();
    if (text.startsWith("%")) {
      return direct(text);
    }
    Optional<Symbols.Found> known = code.symbols().find(text);
    Access access = known.isPresent() ? null : accessPaths.get(text.toUpperCase(Locale.ROOT));
    if (access != null && !access.path().equalsIgnoreCase(text)) {
      Variable v = variable(access.path());
      return access.writable() ? v : v.readOnlyBy(access.name());
    }
    Symbols.Found found = known.orElseThrow(() -> unknown(text));
    if (found.shape() instanceof Shape.Scalar || found.shape() instanceof Shape.Text) {
      return Variable.of(this, found.path(), found.shape(), found.address());
    }
    boolean array = found.shape() instanceof Shape.Array;
    List<String> inside = variables().stream()
        .filter(v -> v.length() > found.path().length() && v.regionMatches(true, 0, found.path(), 0, found.path().length())
            && ".[".indexOf(v.charAt(found.path().length())) >= 0)
        .limit(3).toList();
    throw new IllegalArgumentException(found.path() + " is " + (array ? "an array" : "a structure or instance") + " of type " + found.shape().typeName()
        + "; name " + (array ? "an element" : "a member") + (inside.isEmpty() ? "" : ", such as " + String.join(", ", inside)));
  }

  private Variable.Unknown unknown(String path) {
    List<String> near = nearest(path);
    return new Variable.Unknown("no variable has the path '" + path + "'" + (near.isEmpty() ? "" : "; nearest: " + String.join(", ", near)), near);
  }

  private Variable direct(String text) {
    Matcher m = Form.LOCATION.matcher(text);
    if (!m.matches()) {
      throw new Variable.Unknown("'" + text + "' is no location; expected the form %IX0.0, %QW2 or %MD1", List.of());
    }
    char area = Character.toUpperCase(m.group(1).charAt(0));
    char size = m.group(2).isEmpty() ? 'X' : Character.toUpperCase(m.group(2).charAt(0));
    long number = Long.parseLong(m.group(3));
    ElementaryType type = switch (size) {
      case 'X' -> ElementaryType.BOOL;
      case 'B' -> ElementaryType.BYTE;
      case 'W' -> ElementaryType.WORD;
      case 'D' -> ElementaryType.DWORD;
      default -> ElementaryType.LWORD;
    };
    long bit = number * type.bits();
    if (m.group(4) != null) {
      int sub = Integer.parseInt(m.group(4));
      if (size != 'X' || sub > 7) {
        throw new Variable.Unknown("'" + text + "' is no location; a bit is written %" + area + "X" + number + ".0 to ." + 7, List.of());
      }
      bit = number * 8 + sub;
    }
    long end = 8L * code.memory().areaBytes()["IQM".indexOf(area)];
    if (bit + type.bits() > end) {
      throw new Variable.Unknown("'" + text + "' lies outside the area %" + area + " of this program, bytes 0 to " + (end / 8 - 1), List.of());
    }
    long address = Address.located(area, bit);
    return Variable.of(this, Address.text(address, type.bits()), new Shape.Scalar(type), address);
  }

  private static <T extends Variable> T as(Class<T> wanted, Variable v, String what) {
    if (!wanted.isInstance(v)) {
      throw new IllegalArgumentException(v.path() + " is " + v.typeName() + "; expected " + what);
    }
    return wanted.cast(v);
  }

  /** @throws IllegalArgumentException also when the variable is not BOOL */
  public Variable.Bool bool(String path) {
    return as(Variable.Bool.class, variable(path), "BOOL");
  }

  /** @throws IllegalArgumentException also when the variable is not counted in whole numbers */
  public Variable.Integer integer(String path) {
    return as(Variable.Integer.class, variable(path), "an integer, bit string, duration, date, character or enumeration");
  }

  /** @throws IllegalArgumentException also when the variable is neither REAL nor LREAL */
  public Variable.Real real(String path) {
    return as(Variable.Real.class, variable(path), "REAL or LREAL");
  }

  /** @throws IllegalArgumentException also when the variable is no string */
  public Variable.Text text(String path) {
    return as(Variable.Text.class, variable(path), "a string");
  }

  /** Name of what lies at an address that an event told: a variable's path, or the location's own text. */
  public String nameAt(long address, int width) {
    return code.symbols().nameOf(address, width);
  }

  /** The variable that lies at an address that an event told; empty for frames, hidden ones and parts of variables. */
  public Optional<Variable> variableAt(long address, int width) {
    String name = nameAt(address, width);
    try {
      Variable v = variable(name);
      return v.address() == address && v.width() == width ? Optional.of(v) : Optional.empty();
    } catch (IllegalArgumentException e) {
      return Optional.empty();
    }
  }

  Fault fault(Engine.EngineFault f) {
    Span span = f.step() >= 0 ? code.span(f.step()) : new Span(sources.get(0), 0, 0);
    Optional<Span> library = f.step() >= 0 && f.userStep() >= 0 && f.userStep() != f.step() && code.isLibrary(f.step()) ? Optional.of(span) : Optional.empty();
    span = library.isPresent() ? code.span(f.userStep()) : span;
    return new Fault(f.code(), f.message(), span, library, f.scan(), f.ordinal(), f.step(), f.time(), f.task() < 0 ? "" : tasks.get(f.task()),
        variables(library.isPresent() ? f.userStep() : f.step()));
  }

  /** Variables that are read or written by the steps whose source lies inside the failed step's, in the spelling of the source. */
  private List<String> variables(int step) {
    if (step < 0) {
      return List.of();
    }
    Span whole = code.span(step);
    Code.Body body = code.bodies().get(code.bodyOf(step));
    Set<String> names = new LinkedHashSet<>();
    for (int i = body.start(); i < body.end(); i++) {
      if (code.source[i] == code.source[step] && code.spanStart[i] >= whole.start() && code.spanEnd[i] <= whole.end()) {
        StepInfo info = step(i);
        boolean access = info.kind() == StepInfo.Kind.LOAD || info.kind() == StepInfo.Kind.STORE;
        String text = access ? info.span().text().strip() : "";
        if (!text.isEmpty() && text.length() <= 80 && text.indexOf('\n') < 0) {
          names.add(text);
        }
      }
    }
    return List.copyOf(names);
  }
}
