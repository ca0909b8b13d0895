package dev.scanloom.explain;

import dev.scanloom.CompileResult;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.ScanPolicy;
import java.time.Duration;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;

/**
 * A single change of a run that would have changed a result: of an input, of the program by one network, or of the policy. Found by
 * running again, never by reasoning, and confirmed by one more run from scratch. Immutable and safe for use by several threads.
 *
 * @param change what is changed
 * @param before the result without the change, as an IEC literal
 * @param after the result with it
 * @param runs runs that it took to find it
 */
public record Counterfactual(Change change, String before, String after, int runs) {
  /** Runs that a search may take when nothing else is said. */
  public static final int RUNS = 2_000;

  private static final int ROWS = 1_000_000;

  /** A change. */
  public sealed interface Change {
    /** The change as a clause for people. */
    String words();
  }

  /**
   * An input has another value.
   *
   * @param from first scan in which it differs
   * @param to last one
   * @param was value in the run as it was, in the first of these scans
   * @param value value instead
   */
  public record InputChange(String path, long from, long to, String was, String value) implements Change {
    @Override
    public String words() {
      return path + " is " + value + " instead of " + was + (from == to ? " in scan " + from : " in scans " + from + " to " + to);
    }
  }

  /** A ladder network is removed from the program. */
  public record NetworkRemoved(String pou, int network, String place) implements Change {
    @Override
    public String words() {
      return "network " + network + " of " + pou + " (" + place + ") is removed";
    }
  }

  /** Another policy. */
  public record PolicyChange(String name, ScanPolicy policy) implements Change {
    @Override
    public String words() {
      return name;
    }
  }

  /**
   * A value that an input or variable gets before a scan begins: at {@code %I} the terminal is set, any other variable is written
   * externally.
   *
   * @param scan number of the scan, from 1
   * @param literal IEC literal
   */
  public record Input(long scan, String path, String literal) {
    public Input {
      if (scan < 1) {
        throw new IllegalArgumentException("scans count from 1: " + scan);
      }
      Objects.requireNonNull(path, "path");
      Objects.requireNonNull(literal, "literal");
    }
  }

  /**
   * A run that can be repeated.
   *
   * @param scans number of scans
   */
  public record Setup(Compiler compiler, List<SourceText> sources, ScanPolicy policy, List<Input> inputs, int scans) {
    public Setup {
      Objects.requireNonNull(compiler, "compiler");
      Objects.requireNonNull(policy, "policy");
      sources = List.copyOf(sources);
      inputs = List.copyOf(inputs);
      if (scans < 1) {
        throw new IllegalArgumentException("a run has at least one scan: " + scans);
      }
    }

    /** The same under another policy. */
    public Setup withPolicy(ScanPolicy other) {
      return new Setup(compiler, sources, other, inputs, scans);
    }

    /** The same with another stimulus. */
    public Setup withInputs(List<Input> other) {
      return new Setup(compiler, sources, policy, other, scans);
    }

    /** The same with another program. */
    public Setup withSources(List<SourceText> other) {
      return new Setup(compiler, other, policy, inputs, scans);
    }
  }

  /**
   * The result asked about: a variable's value at the end of a scan.
   *
   * @param field its terminal instead of memory
   */
  public record Result(String path, boolean field, long scan) {}

  /** What to look for, in the order in which it is looked for. */
  public enum Search { INPUT, NETWORK, POLICY }

  /** The change and what it does, in one sentence. */
  public String words() {
    return "if " + change.words() + ", the result is " + after + " instead of " + before;
  }

  @Override
  public String toString() {
    return words();
  }

  // ---- search ----

  /** The nearest change of each kind, inputs first. As {@link #find(Setup, Result, Set, int)} with everything and {@value #RUNS} runs. */
  public static List<Counterfactual> find(Setup setup, Result result) {
    return find(setup, result, EnumSet.allOf(Search.class), RUNS);
  }

  /**
   * The nearest change of each kind that is asked for. Nearest: an input in one scan before an input from a scan on; late scans before
   * early ones; then the order of declaration. Networks and policies are tried in a fixed order. What does not compile is passed over.
   *
   * @param runs bound on the number of runs of the search as a whole
   * @return one for each kind that was found within the bound
   * @throws IllegalArgumentException when the setup's own program has errors, or has no such variable
   */
  public static List<Counterfactual> find(Setup setup, Result result, Set<Search> kinds, int runs) {
    Finder finder = new Finder(setup, result, runs);
    List<Counterfactual> found = new ArrayList<>();
    for (Search kind : Search.values()) {
      if (kinds.contains(kind)) {
        (switch (kind) {
          case INPUT -> finder.input();
          case NETWORK -> finder.network();
          case POLICY -> finder.policy();
        }).ifPresent(found::add);
      }
    }
    return List.copyOf(found);
  }

  /** The result of a run; the fault's code in place of a value when a fault came first. */
  static String run(CompiledProgram program, ScanPolicy policy, List<Input> inputs, int scans, Result result) {
    Controller c = program.newController(policy);
    Variable v = c.variable(result.path());
    Stimulus stimulus = new Stimulus(inputs);
    for (long n = 1; n <= Math.min(scans, result.scan()); n++) {
      stimulus.apply(c, n);
      if (!c.scan()) {
        return c.fault().map(f -> f.code()).orElse("interrupted");
      }
    }
    Place place = result.field() ? c.field() : c.memory();
    return place.text(v);
  }

  private static final class Stimulus {
    private final TreeMap<Long, List<Input>> byScan = new TreeMap<>();

    Stimulus(List<Input> inputs) {
      for (Input i : inputs) {
        byScan.computeIfAbsent(i.scan(), s -> new ArrayList<>()).add(i);
      }
    }

    void apply(Controller c, long scan) {
      for (Input i : byScan.getOrDefault(scan, List.of())) {
        Variable v = c.variable(i.path());
        (v.area() == 'I' ? c.field() : c.memory()).setText(v, i.literal());
      }
    }
  }

  private static final class Finder {
    private final Setup setup;
    private final Result result;
    private final int most;
    private final CompiledProgram program;
    private final String before;
    private int runs;

    Finder(Setup setup, Result result, int most) {
      this.setup = setup;
      this.result = result;
      this.most = most;
      if (result.scan() < 1 || result.scan() > setup.scans()) {
        throw new IllegalArgumentException("scan " + result.scan() + " is not one of the run's " + setup.scans());
      }
      this.program = setup.compiler().compile(setup.sources()).orThrow();
      this.before = run(program, setup.policy(), setup.inputs());
    }

    private String run(CompiledProgram p, ScanPolicy policy, List<Input> inputs) {
      runs++;
      return Counterfactual.run(p, policy, inputs, setup.scans(), result);
    }

    private Optional<Counterfactual> confirmed(Change change, Setup changed, String after) {
      CompiledProgram again = setup.compiler().compile(changed.sources()).orThrow();
      String second = run(again, changed.policy(), changed.inputs());
      if (!second.equals(after)) {
        throw new IllegalStateException("the same run gave " + after + " and " + second);
      }
      return Optional.of(new Counterfactual(change, before, after, runs));
    }

    // ---- inputs ----

    Optional<Counterfactual> input() {
      Map<String, Variable> candidates = candidates();
      Map<String, String[]> lines = new LinkedHashMap<>();
      candidates.forEach((path, v) -> lines.put(path, line(v)));
      int last = (int) result.scan();
      for (boolean hold : new boolean[] {false, true}) {
        for (int from = last; from >= 1; from--) {
          int to = hold ? last : from;
          if (hold && from == to) {
            continue;
          }
          for (Map.Entry<String, Variable> c : candidates.entrySet()) {
            String[] line = lines.get(c.getKey());
            for (String value : alternatives(c.getValue(), line, from)) {
              if (runs >= most) {
                return Optional.empty();
              }
              List<Input> changed = changed(c.getKey(), line, from, to, value);
              String after = run(program, setup.policy(), changed);
              if (!after.equals(before)) {
                return confirmed(new InputChange(c.getKey(), from, to, line[from], value), setup.withInputs(changed), after);
              }
            }
          }
        }
      }
      return Optional.empty();
    }

    /** Variables at %I, then what else the stimulus moves. */
    private Map<String, Variable> candidates() {
      Map<String, Variable> all = new LinkedHashMap<>();
      Set<Long> taken = new LinkedHashSet<>();
      for (String path : program.variables()) {
        Variable v = program.variable(path);
        if (v.area() == 'I' && taken.add(v.address())) {
          all.put(v.path(), v);
        }
      }
      for (Input i : setup.inputs()) {
        Variable v = program.variable(i.path());
        if (!v.type().isString() && taken.add(v.address())) {
          all.put(v.path(), v);
        }
      }
      return all;
    }

    /** Value of an input in each scan, by number, as the stimulus sets it; null as long as nothing has set it (an external write). */
    private String[] line(Variable v) {
      String[] line = new String[(int) result.scan() + 2];
      String at = v.area() == 'I' ? v.format(0) : null;
      for (int n = 1; n < line.length; n++) {
        for (Input i : setup.inputs()) {
          if (i.scan() == n && program.variable(i.path()).address() == v.address()) {
            at = v.format(v.parse(i.literal()));
          }
        }
        line[n] = at;
      }
      return line;
    }

    private List<String> alternatives(Variable v, String[] line, int from) {
      if (line[from] == null) {
        return List.of();
      }
      Set<String> values = new LinkedHashSet<>();
      if (v.type() == ElementaryType.BOOL) {
        values.add(v.format(v.parse(line[from]) ^ 1));
        return List.copyOf(values);
      }
      for (String s : line) {
        if (s != null) {
          values.add(s);
        }
      }
      if (v instanceof Variable.Integer && v.type().isInteger()) {
        long at = v.parse(line[from]);
        for (long step = 1; step <= 10_000; step *= 10) {
          for (long x : new long[] {at + step, at - step}) {
            try {
              values.add(v.format(v.parse(Long.toString(x))));
            } catch (IllegalArgumentException outside) {
              // not a value of this type
            }
          }
        }
      }
      values.remove(line[from]);
      return List.copyOf(values);
    }

    /** The stimulus with one input held at a value from one scan to another, and as it was before and behind. */
    private List<Input> changed(String path, String[] line, int from, int to, String value) {
      long address = program.variable(path).address();
      List<Input> all = new ArrayList<>();
      for (Input i : setup.inputs()) {
        if (program.variable(i.path()).address() != address || i.scan() < from || i.scan() > to) {
          all.add(i);
        }
      }
      all.add(new Input(from, path, value));
      boolean set = all.stream().anyMatch(i -> i.scan() == to + 1 && program.variable(i.path()).address() == address);
      if (!set && to + 1 < line.length && line[to + 1] != null) {
        all.add(new Input(to + 1, path, line[to + 1]));
      }
      return all;
    }

    // ---- networks ----

    Optional<Counterfactual> network() {
      for (Pou pou : program.pous()) {
        if (pou.library()) {
          continue;
        }
        for (Network n : pou.networks()) {
          if (runs >= most) {
            return Optional.empty();
          }
          List<SourceText> sources = without(n.span());
          CompileResult compiled = setup.compiler().compile(sources);
          if (compiled.program().isEmpty()) {
            continue;
          }
          String after;
          try {
            after = run(compiled.program().get(), setup.policy(), setup.inputs());
          } catch (IllegalArgumentException gone) {
            // the network was the only place that gave the variable a location
            continue;
          }
          if (!after.equals(before)) {
            return confirmed(new NetworkRemoved(pou.name(), n.number(), n.span().place()), setup.withSources(sources), after);
          }
        }
      }
      return Optional.empty();
    }

    /** The sources with the lines of a span emptied, so that everything else keeps its line and column. */
    private List<SourceText> without(Span span) {
      List<SourceText> all = new ArrayList<>();
      for (SourceText s : setup.sources()) {
        if (!s.name().equals(span.source().name()) || !s.text().equals(span.source().text())) {
          all.add(s);
          continue;
        }
        int first = span.line();
        int last = s.lineOf(Math.max(span.start(), span.end() - 1));
        StringBuilder b = new StringBuilder();
        for (int i = 1; i <= s.lineCount(); i++) {
          b.append(i >= first && i <= last ? "" : s.line(i)).append('\n');
        }
        all.add(SourceText.of(s.name(), b.toString()));
      }
      return all;
    }

    // ---- policies ----

    Optional<Counterfactual> policy() {
      ScanPolicy p = setup.policy();
      Map<String, ScanPolicy> others = new LinkedHashMap<>();
      Map<String, InputAcquisition> inputs = new LinkedHashMap<>();
      inputs.put("image", InputAcquisition.image());
      inputs.put("immediate", InputAcquisition.immediate());
      Map<String, OutputDelivery> outputs = new LinkedHashMap<>();
      outputs.put("image", OutputDelivery.image());
      outputs.put("immediate", OutputDelivery.immediate());
      for (long us : new long[] {1, 10, 100, 1_000}) {
        Duration period = Duration.ofNanos(us * 1_000);
        inputs.put("asynchronous every " + us + " us", InputAcquisition.asynchronous(period, Duration.ZERO));
        outputs.put("asynchronous every " + us + " us", OutputDelivery.asynchronous(period, Duration.ZERO));
      }
      inputs.forEach((name, a) -> others.put("input acquisition is " + name, p.withInputs(a)));
      outputs.forEach((name, d) -> others.put("output delivery is " + name, p.withOutputs(d)));
      for (Map.Entry<String, ScanPolicy> o : others.entrySet()) {
        if (runs >= most) {
          return Optional.empty();
        }
        if (o.getValue().equals(p)) {
          continue;
        }
        String after = run(program, o.getValue(), setup.inputs());
        if (!after.equals(before)) {
          return confirmed(new PolicyChange(o.getKey(), o.getValue()), setup.withPolicy(o.getValue()), after);
        }
      }
      return Optional.empty();
    }
  }

  // ---- where two runs part ----

  /**
   * The first step at which two runs do different things: execute different steps, or read or write different values.
   *
   * @param scan number of the scan
   * @param ordinal number of the step within the scan of the first run; of the second one where the first had ended
   * @param first what the first run did, for people; empty when its scan had ended
   * @param second what the second run did
   * @param span source of the step, of the first run where it has one
   */
  public record Parting(long scan, long ordinal, String first, String second, Optional<Span> span) {
    /** The parting as one sentence. */
    public String words() {
      return "at step " + ordinal + " of scan " + scan + span.map(s -> " (" + s.place() + ")").orElse("") + " one run "
          + (first.isEmpty() ? "had ended its scan" : first) + ", the other " + (second.isEmpty() ? "had ended its scan" : second);
    }

    @Override
    public String toString() {
      return words();
    }
  }

  private record Did(long ordinal, int step, String what, String place) {}

  /** What one run does in one scan; at most {@value #ROWS} things. */
  private static final class Doings implements Observer {
    private final CompiledProgram program;
    private final boolean sameSteps;
    final List<Did> rows = new ArrayList<>();

    Doings(CompiledProgram program, boolean sameSteps) {
      this.program = program;
      this.sameSteps = sameSteps;
    }

    @Override
    public Set<EventKind> wants() {
      return EnumSet.of(EventKind.STEP, EventKind.READ, EventKind.WRITE);
    }

    @Override
    public void on(Event e) {
      if (rows.size() >= ROWS || e.kind() == EventKind.WRITE && e.source() != Event.Source.INSTRUCTION) {
        return;
      }
      StepInfo info = program.step(e.step());
      String place = sameSteps ? Integer.toString(e.step()) : info.kind() + " " + info.span().place();
      String what = "";
      if (e.kind() != EventKind.STEP) {
        String name = program.nameAt(e.address(), e.width());
        String value = program.variableAt(e.address(), e.width()).filter(v -> !v.type().isString()).map(v -> v.format(e.after()))
            .orElse(Long.toString(e.after()));
        what = e.kind() == EventKind.READ ? "read " + value + " from " + name : "wrote " + value + " to " + name;
      }
      rows.add(new Did(e.ordinal(), e.step(), what, place));
    }
  }

  /**
   * The first step at which two runs part, up to the shorter one's last scan. Inputs and refreshes count only when a step shows the
   * difference. Of a scan the first {@value #ROWS} reads, writes and steps of each run are compared.
   *
   * @return empty when they never part
   * @throws IllegalArgumentException when one of the programs has errors
   */
  public static Optional<Parting> parting(Setup one, Setup other) {
    CompiledProgram first = one.compiler().compile(one.sources()).orThrow();
    CompiledProgram second = other.compiler().compile(other.sources()).orThrow();
    boolean same = first.hash() == second.hash();
    Controller a = first.newController(one.policy());
    Controller b = second.newController(other.policy());
    Doings x = new Doings(first, same);
    Doings y = new Doings(second, same);
    a.attach(x);
    b.attach(y);
    Stimulus forA = new Stimulus(one.inputs());
    Stimulus forB = new Stimulus(other.inputs());
    for (long n = 1; n <= Math.min(one.scans(), other.scans()); n++) {
      x.rows.clear();
      y.rows.clear();
      forA.apply(a, n);
      forB.apply(b, n);
      boolean goesOn = a.scan() & b.scan();
      for (int i = 0; i < Math.max(x.rows.size(), y.rows.size()); i++) {
        Did p = i < x.rows.size() ? x.rows.get(i) : null;
        Did q = i < y.rows.size() ? y.rows.get(i) : null;
        if (p == null || q == null || !p.what().equals(q.what()) || !p.place().equals(q.place())) {
          return Optional.of(parted(n, p, q, first, second));
        }
      }
      if (!goesOn) {
        return Optional.empty();
      }
    }
    return Optional.empty();
  }

  private static Parting parted(long scan, Did p, Did q, CompiledProgram first, CompiledProgram second) {
    StepInfo at = p != null ? first.step(p.step()) : second.step(q.step());
    return new Parting(scan, p != null ? p.ordinal() : q.ordinal(), did(p, first), did(q, second), Optional.of(at.span()));
  }

  private static String did(Did d, CompiledProgram program) {
    if (d == null) {
      return "";
    }
    if (!d.what().isEmpty()) {
      return d.what();
    }
    StepInfo info = program.step(d.step());
    return "went on with " + (info.network() > 0 ? "network " + info.network() : info.body()) + " at " + info.span().place();
  }
}
