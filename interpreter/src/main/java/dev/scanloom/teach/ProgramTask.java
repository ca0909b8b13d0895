package dev.scanloom.teach;

import dev.scanloom.CompileResult;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Snapshot;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.explain.Provenance;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.Random;

/**
 * A program to write or complete. What a student hands in runs beside a reference program, under hidden stimuli and under an exploration
 * of input sequences; they must agree on the items compared at the end of every scan, in memory and at the terminals. Exploration is a
 * search for a difference, not a proof that there is none. Immutable and safe for use by several threads.
 */
public final class ProgramTask {
  private static final int MOST_NODES = 4_000;
  private static final int WALKS = 60;
  private static final int WALK_SCANS = 40;
  private static final int MOST_INPUTS = 6;

  private final String title;
  private final String story;
  private final String given;
  private final String reference;
  private final List<Exercise> trials;
  private final List<String> compared;
  private final List<String> inputs;
  private final long seed;
  private final Exercise conditions;

  private ProgramTask(String title, String story, String given, String reference, List<Exercise> trials, List<String> compared,
      List<String> inputs, long seed,
      Exercise conditions) {
    this.title = Objects.requireNonNull(title, "title");
    this.story = story;
    this.given = given;
    this.reference = reference;
    this.trials = List.copyOf(trials);
    this.compared = List.copyOf(compared);
    this.inputs = List.copyOf(inputs);
    this.seed = seed;
    this.conditions = conditions;
  }

  public static ProgramTask titled(String title) {
    return new ProgramTask(title, "", "", "", List.of(), List.of(), List.of(), 1, Exercise.titled(title));
  }

  /** What the student is told. */
  public ProgramTask story(String text) {
    return new ProgramTask(title, text.strip(), given, reference, trials, compared, inputs, seed, conditions);
  }

  /** The text that the student starts from. */
  public ProgramTask given(String program) {
    return new ProgramTask(title, story, program, reference, trials, compared, inputs, seed, conditions);
  }

  /** A program that is right. */
  public ProgramTask reference(String program) {
    return new ProgramTask(title, story, given, program, trials, compared, inputs, seed, conditions);
  }

  /** A hidden stimulus: of this exercise count title, stimulus, policy and number of scans. */
  public ProgramTask trial(Exercise stimulus) {
    List<Exercise> all = new ArrayList<>(trials);
    all.add(stimulus);
    return new ProgramTask(title, story, given, reference, all, compared, inputs, seed, conditions);
  }

  /** Items that must agree. */
  public ProgramTask compare(String... paths) {
    List<String> all = new ArrayList<>(compared);
    all.addAll(List.of(paths));
    return new ProgramTask(title, story, given, reference, trials, all, inputs, seed, conditions);
  }

  /** Also explores sequences of these BOOL inputs, at most {@value #MOST_INPUTS}; random ones beyond a depth are drawn from the seed. */
  public ProgramTask explore(long withSeed, String... bools) {
    if (bools.length < 1 || bools.length > MOST_INPUTS) {
      throw new IllegalArgumentException("1 to " + MOST_INPUTS + " inputs can be explored: " + bools.length);
    }
    return new ProgramTask(title, story, given, reference, trials, compared, List.of(bools), withSeed, conditions);
  }

  /** Compiler and policy of exploration; of a trial its own count. */
  public ProgramTask conditions(Exercise like) {
    return new ProgramTask(title, story, given, reference, trials, compared, inputs, seed, like);
  }

  public String title() {
    return title;
  }

  public String story() {
    return story;
  }

  public String given() {
    return given;
  }

  /** Number of hidden stimuli. */
  public int trials() {
    return trials.size();
  }

  /** Exploration is asked for. */
  public boolean isExplored() {
    return !inputs.isEmpty();
  }

  /**
   * Something that a program did otherwise than the reference.
   *
   * @param trial title of the stimulus, or {@code exploration}
   * @param scan in which it shows; 0 when the program cannot run at all
   * @param words what is different, for the student
   * @param stimulus the inputs scan by scan, one line each, where that is known
   * @param evidence why the student's program did so, one fact a line; possibly empty
   */
  public record Difference(String trial, long scan, String words, List<String> stimulus, String evidence) {
    public Difference {
      stimulus = List.copyOf(stimulus);
    }

    /** All of it as text. */
    public String text() {
      StringBuilder b = new StringBuilder(Html.inert(trial)).append(": ").append(Html.inert(words)).append('\n');
      for (String s : stimulus) {
        b.append("  ").append(Html.inert(s)).append('\n');
      }
      if (!evidence.isEmpty()) {
        b.append("Why your program does so:\n");
        evidence.lines().forEach(l -> b.append("  ").append(Html.inert(l)).append('\n'));
      }
      return b.toString();
    }
  }

  // ---- checking ----

  /** Every difference found: at most one for each trial and one of the exploration; empty when the program is accepted. */
  public List<Difference> check(String program) {
    Optional<Difference> refused = compiles(program);
    if (refused.isPresent()) {
      return List.of(refused.get());
    }
    List<Difference> all = new ArrayList<>();
    for (int i = 0; i < trials.size(); i++) {
      checkTrial(i, program).ifPresent(all::add);
    }
    if (isExplored()) {
      explored(program).ifPresent(all::add);
    }
    return List.copyOf(all);
  }

  /** What keeps the program from running, or an item that it lacks. */
  public Optional<Difference> compiles(String program) {
    CompileResult r = conditions.compiler.compile("answer.st", program);
    if (r.program().isEmpty()) {
      List<String> lines = r.diagnostics().stream().filter(d -> d.severity() == Severity.ERROR).limit(10).map(Diagnostic::oneLine).toList();
      return Optional.of(new Difference("your program", 0, "it has errors", lines, ""));
    }
    List<String> needed = new ArrayList<>(compared);
    needed.addAll(inputs);
    for (String path : needed) {
      try {
        r.program().get().variable(path);
      } catch (IllegalArgumentException lacks) {
        return Optional.of(new Difference("your program", 0, "it lacks " + path + ": " + lacks.getMessage(), List.of(), ""));
      }
    }
    return Optional.empty();
  }

  private CompiledProgram program(Exercise like, String name, String text) {
    return like.compiler.compile(name, text).orThrow();
  }

  /** One hidden stimulus, by index from 0. */
  public Optional<Difference> checkTrial(int index, String program) {
    Optional<Difference> refused = compiles(program);
    if (refused.isPresent()) {
      return refused;
    }
    Exercise e = trials.get(index);
    List<List<String>> right = outcomes(e, program(e, "reference.st", reference));
    CompiledProgram theirs = program(e, "answer.st", program);
    List<List<String>> got;
    try {
      got = outcomes(e, theirs);
    } catch (IllegalArgumentException lacks) {
      return Optional.of(new Difference(e.title, 0, "your program lacks an item that the stimulus moves: " + lacks.getMessage(), List.of(),
          ""));
    }
    for (int n = 0; n < right.size(); n++) {
      if (n >= got.size()) {
        Controller c = theirs.newController(e.policy);
        Rerun.play(e, c, () -> { });
        return Optional.of(new Difference(e.title, n + 1, "your program is stopped in scan " + (n + 1) + ": "
            + c.fault().map(f -> f.message() + " ("
            + f.span().place() + ")").orElse("no fault"), List.of(), ""));
      }
      for (int i = 0; i < right.get(n).size(); i++) {
        if (!right.get(n).get(i).equals(got.get(n).get(i))) {
          long scan = n + 1;
          String path = compared.get(i / 2);
          return Optional.of(new Difference(e.title, scan, different(path, i % 2 == 1, scan, right.get(n).get(i), got.get(n).get(i)),
              List.of(),
              evidence(e.scans((int) scan), theirs, path, i % 2 == 1)));
        }
      }
    }
    return Optional.empty();
  }

  private static String different(String path, boolean field, long scan, String right, String got) {
    return (field ? "the terminal of " : "") + path + " is " + got + " at the end of scan " + scan + "; it should be " + right;
  }

  private static String evidence(Exercise e, CompiledProgram p, String path, boolean field) {
    Controller c = p.newController(e.policy);
    Provenance why = Provenance.of(c);
    Rerun.play(e, c, () -> { });
    Variable v = p.variable(path);
    try {
      return (field ? why.whyField(v) : why.why(v)).text(8, false);
    } catch (IllegalArgumentException notKnown) {
      return "";
    }
  }

  /** Values of the compared items after each scan: memory, then the terminal (empty without one), for each. */
  private List<List<String>> outcomes(Exercise e, CompiledProgram p) {
    Controller c = p.newController(e.policy);
    List<Variable> items = compared.stream().map(p::variable).toList();
    List<List<String>> all = new ArrayList<>();
    Rerun.play(e, c, () -> all.add(values(c, items)));
    return all;
  }

  private static List<String> values(Controller c, List<Variable> items) {
    List<String> row = new ArrayList<>();
    for (Variable v : items) {
      row.add(c.memory().text(v));
      row.add(v.area() == 'Q' || v.area() == 'I' ? c.field().text(v) : "");
    }
    return row;
  }

  // ---- exploration ----

  private record Node(Snapshot reference, Snapshot theirs, Node before, int combination, int depth) {}

  /** Looks for a difference over input sequences, short ones first, all of them as far as the bound allows, random ones beyond. */
  public Optional<Difference> explored(String program) {
    Optional<Difference> refused = compiles(program);
    if (refused.isPresent()) {
      return refused;
    }
    CompiledProgram right = program(conditions, "reference.st", reference);
    CompiledProgram theirs = program(conditions, "answer.st", program);
    Pair pair = new Pair(right, theirs);
    int combinations = 1 << inputs.size();
    ArrayDeque<Node> queue = new ArrayDeque<>();
    queue.add(new Node(pair.a.snapshot(), pair.b.snapshot(), null, 0, 0));
    int nodes = 0;
    while (!queue.isEmpty() && nodes < MOST_NODES) {
      Node n = queue.poll();
      for (int k = 0; k < combinations && nodes < MOST_NODES; k++) {
        nodes++;
        pair.a.restore(n.reference);
        pair.b.restore(n.theirs);
        Node next = new Node(null, null, n, k, n.depth + 1);
        if (pair.differs(k)) {
          return Optional.of(told(pair, sequence(next), theirs));
        }
        if (nodes + queue.size() < MOST_NODES) {
          queue.add(new Node(pair.a.snapshot(), pair.b.snapshot(), n, k, n.depth + 1));
        }
      }
    }
    Random random = new Random(seed);
    for (int w = 0; w < WALKS; w++) {
      Pair walk = new Pair(right, theirs);
      List<Integer> all = new ArrayList<>();
      int k = 0;
      for (int i = 0; i < WALK_SCANS; i++) {
        // mostly one input at a time, so that states far away are reached
        k = random.nextInt(4) == 0 ? random.nextInt(combinations) : k ^ 1 << random.nextInt(inputs.size());
        all.add(k);
        if (walk.differs(k)) {
          return Optional.of(told(walk, all, theirs));
        }
      }
    }
    return Optional.empty();
  }

  private static List<Integer> sequence(Node n) {
    List<Integer> all = new ArrayList<>();
    for (Node at = n; at.before != null; at = at.before) {
      all.add(0, at.combination);
    }
    return all;
  }

  private Difference told(Pair pair, List<Integer> sequence, CompiledProgram theirs) {
    Exercise e = conditions.scans(sequence.size());
    List<String> lines = new ArrayList<>();
    for (int n = 0; n < sequence.size(); n++) {
      StringBuilder line = new StringBuilder("scan ").append(n + 1).append(":");
      for (int i = 0; i < inputs.size(); i++) {
        boolean on = (sequence.get(n) >> i & 1) == 1;
        line.append(' ').append(inputs.get(i)).append(on ? " on" : " off").append(i + 1 < inputs.size() ? "," : "");
        e = e.at(n + 1L, inputs.get(i), on ? "TRUE" : "FALSE");
      }
      lines.add(line.toString());
    }
    if (pair.stopped.isPresent()) {
      return new Difference("exploration", sequence.size(), pair.stopped.get(), lines, "");
    }
    String path = compared.get(pair.at / 2);
    boolean field = pair.at % 2 == 1;
    return new Difference("exploration", sequence.size(), different(path, field, sequence.size(), pair.right, pair.got), lines,
        evidence(e, theirs, path, field));
  }

  /** Reference and answer side by side. */
  private final class Pair {
    final Controller a;
    final Controller b;
    private final List<Variable> itemsA;
    private final List<Variable> itemsB;
    int at;
    String right = "";
    String got = "";
    Optional<String> stopped = Optional.empty();

    Pair(CompiledProgram reference, CompiledProgram theirs) {
      a = reference.newController(conditions.policy);
      b = theirs.newController(conditions.policy);
      itemsA = compared.stream().map(reference::variable).toList();
      itemsB = compared.stream().map(theirs::variable).toList();
    }

    boolean differs(int combination) {
      boolean one = scan(a, combination);
      boolean other = scan(b, combination);
      if (one != other) {
        stopped = Optional.of(other ? "the reference is stopped by a fault" : "your program is stopped by a fault: "
            + b.fault().map(f -> f.message() + " ("
            + f.span().place() + ")").orElse(""));
        return true;
      }
      List<String> x = values(a, itemsA);
      List<String> y = values(b, itemsB);
      for (int i = 0; i < x.size(); i++) {
        if (!x.get(i).equals(y.get(i))) {
          at = i;
          right = x.get(i);
          got = y.get(i);
          return true;
        }
      }
      return false;
    }

    private boolean scan(Controller c, int combination) {
      for (int i = 0; i < inputs.size(); i++) {
        Variable.Bool v = c.bool(inputs.get(i));
        (v.area() == 'I' ? c.field() : c.memory()).set(v, (combination >> i & 1) == 1);
      }
      return c.scan();
    }
  }
}
