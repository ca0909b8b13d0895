package dev.scanloom.conformance;

import dev.scanloom.CompileResult;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Fault;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.Walk;
import dev.scanloom.conformance.CaseFile.Announced;
import dev.scanloom.conformance.CaseFile.AnnouncedFault;
import dev.scanloom.conformance.CaseFile.Either;
import dev.scanloom.conformance.CaseFile.Row;
import dev.scanloom.conformance.CaseFile.RowKind;
import dev.scanloom.conformance.CaseFile.Value;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.policy.TaskSwitching;
import java.lang.reflect.RecordComponent;
import java.time.Duration;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;

/**
 * Runs one case and says what was not as announced. Everything it knows of the library is the public API.
 */
final class CaseRunner {

  /** What came out: nothing when the case passed, else one line per expectation that was not met. */
  record Result(List<String> failures, int failingScan) {
    boolean passed() {
      return failures.isEmpty();
    }
  }

  private static final int MOST_FAILURES = 20;
  private static final Pattern ASYNCHRONOUS = Pattern.compile("asynchronous\\((.+)\\)");
  private static final Pattern DURATION = Pattern.compile("(?i)T(?:IME)?#(\\d+)(ns|us|ms|s|m|h)");

  private final CaseFile file;
  private final List<String> failures = new ArrayList<>();
  private int failingScan;

  private CaseRunner(CaseFile file) {
    this.file = file;
  }

  /** Compiles and runs the case, as often as its freedoms ask for. */
  static Result run(CaseFile file) {
    CaseRunner runner = new CaseRunner(file);
    Optional<CompiledProgram> program = runner.compile();
    if (runner.failures.isEmpty() && file.scans() > 0) {
      if (program.isEmpty()) {
        runner.fail(0, "no program came out, but the case has scans");
      } else {
        runner.executeAll(program.get());
        runner.freedoms(program.get());
      }
    }
    return new Result(List.copyOf(runner.failures), runner.failingScan);
  }

  /** The steps of one scan of a case, as text; of all scans when {@code scan} is 0. */
  static String trace(CaseFile file, int scan) {
    CaseRunner runner = new CaseRunner(file);
    Optional<CompiledProgram> program = runner.compile();
    if (program.isEmpty() || file.scans() == 0) {
      return "";
    }
    Log log = new Log(program.get(), scan);
    runner.execute(program.get(), Walk.STEPS, List.of(log));
    return log.text.toString();
  }

  private void fail(int scan, String message) {
    if (failures.isEmpty()) {
      failingScan = scan;
    }
    if (failures.size() < MOST_FAILURES) {
      failures.add(message);
    }
  }

  private Optional<CompiledProgram> compile() {
    Compiler compiler = Compiler.standard().withChoices(choices(file.profile()));
    if (file.program().isPresent()) {
      compiler = compiler.withMainProgram(file.program().get());
    }
    CompileResult result = compiler.compile(file.id() + ".st", file.text());
    List<Diagnostic> open = new ArrayList<>(result.diagnostics());
    List<Announced> missing = new ArrayList<>();
    for (Announced announced : file.diagnostics()) {
      int at = 0;
      while (at < open.size() && !fits(announced, open.get(at))) {
        at++;
      }
      if (at < open.size()) {
        open.remove(at);
      } else {
        missing.add(announced);
      }
    }
    missing.forEach(announced -> fail(0, "announced, but did not come: " + announced));
    for (Diagnostic diagnostic : open) {
      if (diagnostic.severity() == Severity.ERROR) {
        fail(0, "came, but was not announced: " + diagnostic.code() + " at " + diagnostic.span().line() + ":" + diagnostic.span().column() + " over "
            + (diagnostic.span().end() - diagnostic.span().start()) + " (" + diagnostic.message() + ")");
      } else if (!missing.isEmpty()) {
        fail(0, "came as well: " + diagnostic.severity().word() + " " + diagnostic.code() + " at " + diagnostic.span().line() + ":"
            + diagnostic.span().column() + " over " + (diagnostic.span().end() - diagnostic.span().start()));
      }
    }
    return result.program();
  }

  private boolean fits(Announced announced, Diagnostic diagnostic) {
    Span span = diagnostic.span();
    return announced.code().equals(diagnostic.code())
        && span.source().name().equals(file.id() + ".st")
        && announced.line() == span.line()
        && announced.column() == span.column()
        && (announced.length() == 0 || announced.length() == span.end() - span.start());
  }

  private static ImplementerChoices choices(Map<String, String> profile) {
    RecordComponent[] components = ImplementerChoices.class.getRecordComponents();
    Class<?>[] types = new Class<?>[components.length];
    Object[] values = new Object[components.length];
    int used = 0;
    try {
      for (int i = 0; i < components.length; i++) {
        types[i] = components[i].getType();
        String text = profile.get(components[i].getName());
        if (text == null) {
          values[i] = components[i].getAccessor().invoke(ImplementerChoices.standard());
        } else {
          used++;
          values[i] = value(types[i], text);
        }
      }
      if (used != profile.size()) {
        throw new IllegalArgumentException("profile names a choice that does not exist: " + profile.keySet());
      }
      return ImplementerChoices.class.getConstructor(types).newInstance(values);
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("cannot make the choices " + profile, e);
    }
  }

  private static Object value(Class<?> type, String text) {
    if (type == boolean.class) {
      if (!text.equals("true") && !text.equals("false")) {
        throw new IllegalArgumentException("profile: expected true or false, found " + text);
      }
      return Boolean.valueOf(text);
    }
    if (type == int.class) {
      return Integer.valueOf(text);
    }
    for (Object constant : type.getEnumConstants()) {
      if (((Enum<?>) constant).name().equals(text)) {
        return constant;
      }
    }
    throw new IllegalArgumentException("profile: " + type.getSimpleName() + " has no " + text);
  }

  private static Duration duration(String literal) {
    Matcher matcher = DURATION.matcher(literal.strip());
    if (!matcher.matches()) {
      throw new IllegalArgumentException("expected a duration such as T#10ms, found " + literal);
    }
    long n = Long.parseLong(matcher.group(1));
    return switch (matcher.group(2)) {
      case "ns" -> Duration.ofNanos(n);
      case "us" -> Duration.ofNanos(n * 1_000);
      case "ms" -> Duration.ofMillis(n);
      case "s" -> Duration.ofSeconds(n);
      case "m" -> Duration.ofMinutes(n);
      default -> Duration.ofHours(n);
    };
  }

  private ScanPolicy policy() {
    boolean preemptive = file.policy().endsWith(" preemptive");
    String base = preemptive ? file.policy().substring(0, file.policy().length() - " preemptive".length()) : file.policy();
    Matcher asynchronous = ASYNCHRONOUS.matcher(base);
    ScanPolicy policy;
    if (base.equals("image")) {
      policy = ScanPolicy.image();
    } else if (base.equals("immediate")) {
      policy = ScanPolicy.immediate();
    } else if (asynchronous.matches()) {
      policy = ScanPolicy.asynchronous(duration(asynchronous.group(1)));
    } else {
      throw new IllegalArgumentException("policy: expected image, immediate or asynchronous(T#3ms), perhaps with preemptive behind, found " + file.policy());
    }
    policy = policy.withCosts(file.costs().equals("standard") ? CostModel.standard() : CostModel.zero()).withTrigger(ScanTrigger.periodic(duration(file.period()))).withSeed(file.seed())
        .withTaskSwitching(preemptive ? TaskSwitching.preemptive() : TaskSwitching.nonPreemptive());
    for (String text : file.displays()) {
      String[] words = text.split("\\s+");
      if (words.length != 3) {
        throw new IllegalArgumentException("display: expected NAME SAMPLING PAINTING, found " + text);
      }
      policy = policy.withDisplay(words[0], sampling(words[1]), painting(words[2]));
    }
    return policy;
  }

  private static DisplaySampling sampling(String word) {
    Matcher asynchronous = ASYNCHRONOUS.matcher(word);
    if (word.equals("scanStart")) {
      return DisplaySampling.scanStart();
    }
    if (word.equals("scanEnd")) {
      return DisplaySampling.scanEnd();
    }
    if (asynchronous.matches()) {
      return DisplaySampling.asynchronous(duration(asynchronous.group(1)), Duration.ZERO);
    }
    throw new IllegalArgumentException("display: no sampling is called " + word);
  }

  private static Painting painting(String word) {
    return switch (word) {
      case "fromSample" -> Painting.fromSample();
      case "fromExecution" -> Painting.fromExecution();
      default -> throw new IllegalArgumentException("display: no painting is called " + word);
    };
  }

  /** Under every executor that the case names; each failure says under which. */
  private void executeAll(CompiledProgram program) {
    for (Walk execution : executions()) {
      int before = failures.size();
      execute(program, execution, List.of());
      for (int i = before; i < failures.size(); i++) {
        failures.set(i, execution.name().toLowerCase(Locale.ROOT) + ": " + failures.get(i));
      }
      if (failures.size() > before) {
        return;
      }
    }
  }

  private List<Walk> executions() {
    if (file.executors().isEmpty()) {
      return List.of(Walk.values());
    }
    return file.executors().stream().flatMap(name -> switch (name) {
      case "stepping" -> Stream.of(Walk.STEPS, Walk.STRETCHES, Walk.TRANSLATED);
      case "compiled" -> Stream.of(Walk.COMPILED);
      default -> throw new IllegalArgumentException("executors: expected stepping or compiled, found " + name);
    }).toList();
  }

  private void execute(CompiledProgram program, Walk execution, List<Observer> observers) {
    // Painting from execution needs elements to be recorded, which compiled code does not do.
    boolean painted = policy().displays().stream().anyMatch(d -> d.painting().equals(Painting.fromExecution()));
    Controller controller = (painted && execution == Walk.COMPILED ? Walk.TRANSLATED : execution).controller(program, policy());
    observers.forEach(controller::attach);
    for (int scan = 1; scan <= file.scans(); scan++) {
      stimulate(controller, scan);
      boolean completed = controller.scan();
      compareFault(controller.fault(), scan);
      compare(controller, scan);
      if (!completed) {
        if (controller.fault().isEmpty()) {
          fail(scan, "scan " + scan + " did not end, and there is no fault");
        }
        return;
      }
    }
  }

  private void stimulate(Controller controller, int scan) {
    for (Row row : file.rows()) {
      String cell = cell(row, scan);
      if (cell == null) {
        continue;
      }
      switch (row.kind()) {
        case STIMULUS, FIELD_STIMULUS -> {
          Variable variable = controller.variable(row.path());
          Place place = row.kind() == RowKind.FIELD_STIMULUS || variable.area() == 'I' ? controller.field() : controller.memory();
          place.setText(variable, cell);
        }
        case RESTART -> {
          if (cell.equals("warm")) {
            controller.restartWarm();
          } else if (cell.equals("cold")) {
            controller.restartCold();
          } else {
            throw new IllegalArgumentException("line " + row.line() + ": restart is warm or cold, found " + cell);
          }
        }
        case FORCE -> {
          if (cell.equals("release")) {
            controller.unforce(controller.variable(row.path()));
          } else {
            controller.force(controller.variable(row.path()), cell);
          }
        }
        case MEMORY, FIELD, DISPLAY -> { }
      }
    }
  }

  private static String cell(Row row, int scan) {
    return scan <= row.cells().size() ? row.cells().get(scan - 1) : null;
  }

  private void compareFault(Optional<Fault> fault, int scan) {
    Optional<AnnouncedFault> announced = file.fault();
    String found = fault.map(f -> f.code() + " at scan " + f.scan() + ", line " + f.span().line() + " (" + f.message() + ")").orElse("none");
    if (announced.isPresent() && announced.get().scan() == scan) {
      AnnouncedFault expected = announced.get();
      if (fault.isEmpty() || !fault.get().code().equals(expected.code()) || fault.get().scan() != scan || !isAt(fault.get(), expected.line())) {
        fail(scan, "fault: expected " + expected + ", found " + found);
      }
    } else if (fault.isPresent()) {
      fail(scan, "fault: not announced for scan " + scan + ": " + found);
    }
  }

  private boolean isAt(Fault fault, int line) {
    return fault.span().source().name().equals(file.id() + ".st") && fault.span().line() == line;
  }

  private void compare(Controller controller, int scan) {
    for (Row row : file.rows()) {
      String cell = cell(row, scan);
      if (cell != null) {
        switch (row.kind()) {
          case MEMORY -> compare(controller, controller.memory(), row.path(), cell, scan, row.line());
          case FIELD -> compare(controller, controller.field(), row.path(), cell, scan, row.line());
          case DISPLAY -> compare(controller, row.display().isEmpty() ? controller.display() : controller.display(row.display()), row.path(), cell, scan,
              row.line());
          case STIMULUS, FIELD_STIMULUS, RESTART, FORCE -> { }
        }
      }
    }
    for (Value value : file.values()) {
      if (value.scan() == scan) {
        compare(controller, controller.memory(), value.path(), value.literal(), scan, value.line());
      }
    }
    for (Either either : file.either()) {
      if (either.scan() == scan) {
        Variable variable = controller.variable(either.path());
        if (either.literals().stream().noneMatch(literal -> isEqual(controller.memory(), variable, literal))) {
          fail(scan, "scan " + scan + ": " + either.path() + " = " + controller.memory().text(variable) + ", expected one of " + either.literals());
        }
      }
    }
  }

  private void compare(Controller controller, Place place, String path, String literal, int scan, int line) {
    Variable variable;
    try {
      variable = controller.variable(path);
    } catch (IllegalArgumentException e) {
      fail(scan, "line " + line + ": " + e.getMessage());
      return;
    }
    if (!isEqual(place, variable, literal)) {
      fail(scan, "scan " + scan + ", line " + line + ": " + path + " = " + place.text(variable) + ", expected " + literal);
    }
  }

  private static boolean isEqual(Place place, Variable variable, String literal) {
    if (variable instanceof Variable.Text text) {
      return place.get(text).equals(unquote(literal));
    }
    if (variable instanceof Variable.Real real && (literal.equals("NaN") || literal.endsWith("INF"))) {
      double value = place.get(real);
      return literal.equals("NaN") ? Double.isNaN(value) : value == (literal.equals("-INF") ? Double.NEGATIVE_INFINITY : Double.POSITIVE_INFINITY);
    }
    return place.bits(variable) == variable.parse(literal);
  }

  /** The characters of a string literal, by Tables 6 and 7; written here anew so that the library does not check itself. */
  private static String unquote(String literal) {
    char quote = literal.isEmpty() ? 0 : literal.charAt(0);
    if (literal.length() < 2 || quote != '\'' && quote != '"' || literal.charAt(literal.length() - 1) != quote) {
      throw new IllegalArgumentException("expected a string literal, found " + literal);
    }
    StringBuilder out = new StringBuilder();
    for (int i = 1; i < literal.length() - 1; i++) {
      char c = literal.charAt(i);
      if (c != '$') {
        out.append(c);
        continue;
      }
      char next = literal.charAt(++i);
      switch (next) {
        case '$', '\'', '"' -> out.append(next);
        case 'L', 'l', 'N', 'n' -> out.append('\n');
        case 'P', 'p' -> out.append('\f');
        case 'R', 'r' -> out.append('\r');
        case 'T', 't' -> out.append('\t');
        default -> {
          int digits = quote == '"' ? 4 : 2;
          out.append((char) Integer.parseInt(literal.substring(i, i + digits), 16));
          i += digits - 1;
        }
      }
    }
    return out.toString();
  }

  /** Where the standard leaves an outcome open, one choice still gives one outcome every time. */
  private void freedoms(CompiledProgram program) {
    if (file.either().isEmpty() || !failures.isEmpty()) {
      return;
    }
    List<String> first = outcomes(program);
    for (int again = 0; again < 2; again++) {
      List<String> next = outcomes(program);
      if (!next.equals(first)) {
        fail(0, "either: two runs differ: " + first + " and " + next);
      }
    }
  }

  private List<String> outcomes(CompiledProgram program) {
    Controller controller = program.newController(policy());
    List<String> result = new ArrayList<>();
    for (int scan = 1; scan <= file.scans(); scan++) {
      stimulate(controller, scan);
      controller.scan();
      for (Either either : file.either()) {
        if (either.scan() == scan) {
          result.add(controller.memory().text(controller.variable(either.path())));
        }
      }
    }
    return result;
  }

  /** Writes down what happens in one scan, or in all. */
  private static final class Log implements Observer {
    private static final int MOST_LINES = 400;

    private final CompiledProgram program;
    private final int scan;
    private final StringBuilder text = new StringBuilder();
    private int lines;

    Log(CompiledProgram program, int scan) {
      this.program = program;
      this.scan = scan;
    }

    @Override
    public Set<EventKind> wants() {
      return EnumSet.allOf(EventKind.class);
    }

    @Override
    public void on(Event event) {
      if (scan != 0 && event.scan() != scan) {
        return;
      }
      if (lines++ >= MOST_LINES) {
        if (lines == MOST_LINES + 1) {
          text.append("  ... and more\n");
        }
        return;
      }
      text.append(String.format(java.util.Locale.ROOT, "  scan %d step %d  %-10s ", event.scan(), event.ordinal(), event.kind()));
      switch (event.kind()) {
        case STEP -> {
          StepInfo step = program.step(event.step());
          text.append(step.span().line()).append(':').append(step.span().column()).append(' ').append(step.text());
        }
        case READ, WRITE, FIELD, SAMPLE -> text.append(program.nameAt(event.address(), event.width())).append(": ").append(event.before())
            .append(" -> ").append(event.after()).append(event.kind() == EventKind.WRITE ? " by " + event.source() : "");
        case ELEMENT -> text.append("element ").append(event.element()).append(" test ").append(event.test()).append(" power ").append(event.power());
        case PHASE -> text.append(event.phase());
        case TASK, FAULT -> text.append(event.detail());
        case SCAN_START, SCAN_END -> text.append("at ").append(event.time()).append(" ns");
      }
      text.append('\n');
    }
  }
}
