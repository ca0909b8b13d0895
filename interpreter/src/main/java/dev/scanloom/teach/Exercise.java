package dev.scanloom.teach;

import dev.scanloom.Compiler;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.function.Predicate;

/**
 * A lesson in one value: a program, what happens at its terminals, a scan policy, and questions. Answers are computed by {@link #solve()},
 * never given.
 *
 * <pre>{@code
 * Solution s = Exercise.titled("A lamp that will not light")
 *     .program("""
 *         PROGRAM Main
 *         VAR A AT %IX0.0 : BOOL; Lamp AT %QX0.0 : BOOL; END_VAR
 *         |    A         Lamp  |
 *         +---|/|--------( )---+
 *         END_PROGRAM
 *         """)
 *     .at(1, "A", "TRUE").scans(1)
 *     .ask(Question.field("Lamp", 1))
 *     .solve();
 * s.grade("on").text();   // says what is right, and which step contradicts the answer
 * }</pre>
 *
 * <p>Immutable: every method answers a new exercise. Safe for use by several threads as far as its compiler and policy are.
 */
public final class Exercise {

  /** Something that happens to the controller. */
  sealed interface Action {
    long scan();
  }

  /** Before the input refresh of a scan; at {@code %I} the terminal is set, anything else is written from outside. */
  record Set(long scan, String path, String literal) implements Action {}

  /** At a virtual time. */
  record SetAt(long time, String path, String literal) implements Action {
    @Override
    public long scan() {
      return 0;
    }
  }

  record Force(long scan, String path, String literal) implements Action {}

  record Unforce(long scan, String path) implements Action {}

  record Restart(long scan, boolean warm) implements Action {}

  /** What variants may change. */
  record Freedom(List<List<String>> names, List<String> inverted, List<Values> values, boolean addresses, boolean networks) {}

  record Values(long scan, String path, List<String> literals) {}

  final String id;
  final String title;
  final String story;
  final String lesson;
  final String program;
  final Compiler compiler;
  final ScanPolicy policy;
  final String policyWords;
  final List<Action> actions;
  final int scans;
  final List<String> watch;
  final List<Question> questions;
  final Freedom freedom;
  final Predicate<Solution> point;

  private Exercise(Parts p) {
    this.id = p.id;
    this.title = p.title;
    this.story = p.story;
    this.lesson = p.lesson;
    this.program = p.program;
    this.compiler = p.compiler;
    this.policy = p.policy;
    this.policyWords = p.policyWords;
    this.actions = List.copyOf(p.actions);
    this.scans = p.scans;
    this.watch = List.copyOf(p.watch);
    this.questions = List.copyOf(p.questions);
    this.freedom = new Freedom(List.copyOf(p.names), List.copyOf(p.inverted), List.copyOf(p.values), p.addresses, p.networks);
    this.point = p.point;
  }

  /** The same as something that can be changed. */
  static final class Parts {
    String id = "";
    String title = "";
    String story = "";
    String lesson = "";
    String program = "";
    Compiler compiler;
    ScanPolicy policy;
    String policyWords = "";
    List<Action> actions = new ArrayList<>();
    int scans = 1;
    List<String> watch = new ArrayList<>();
    List<Question> questions = new ArrayList<>();
    List<List<String>> names = new ArrayList<>();
    List<String> inverted = new ArrayList<>();
    List<Values> values = new ArrayList<>();
    boolean addresses;
    boolean networks;
    Predicate<Solution> point = s -> true;

    Exercise made() {
      return new Exercise(this);
    }
  }

  Parts parts() {
    Parts p = new Parts();
    p.id = id;
    p.title = title;
    p.story = story;
    p.lesson = lesson;
    p.program = program;
    p.compiler = compiler;
    p.policy = policy;
    p.policyWords = policyWords;
    p.actions.addAll(actions);
    p.scans = scans;
    p.watch.addAll(watch);
    p.questions.addAll(questions);
    p.names.addAll(freedom.names);
    p.inverted.addAll(freedom.inverted);
    p.values.addAll(freedom.values);
    p.addresses = freedom.addresses;
    p.networks = freedom.networks;
    p.point = point;
    return p;
  }

  /**
   * An exercise without a program yet: image inputs and outputs, a scan every 10 ms that takes no time, a screen that samples at the end
   * of the scan.
   */
  public static Exercise titled(String title) {
    Parts p = new Parts();
    p.title = Objects.requireNonNull(title, "title");
    p.compiler = Compiler.standard();
    p.policy = ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(Duration.ofMillis(10)));
    p.policyWords = "inputs and outputs by process image, a scan every 10 ms, the screen samples at the end of the scan";
    return p.made();
  }

  /** A short name such as {@code S01}, for headings and files. */
  public Exercise id(String name) {
    if (!name.matches("[A-Za-z0-9_-]{1,40}")) {
      throw new IllegalArgumentException("an id has letters, digits, - and _ only: " + name);
    }
    Parts p = parts();
    p.id = name;
    return p.made();
  }

  /** What the student is told: the machine, what people observe. Paragraphs are parted by empty lines. */
  public Exercise story(String text) {
    Parts p = parts();
    p.story = text.strip();
    return p.made();
  }

  /** What is to be learned; stands in the key and behind the questions of a lesson page. */
  public Exercise lesson(String text) {
    Parts p = parts();
    p.lesson = text.strip();
    return p.made();
  }

  /** The program's text. */
  public Exercise program(String text) {
    Parts p = parts();
    p.program = text;
    return p.made();
  }

  /** Compiles with this instead of the standard compiler. */
  public Exercise compiler(Compiler other) {
    Parts p = parts();
    p.compiler = Objects.requireNonNull(other, "compiler");
    return p.made();
  }

  /** Runs under this policy; {@code words} is what the student is told of it. */
  public Exercise policy(String words, ScanPolicy other) {
    Parts p = parts();
    p.policyWords = Objects.requireNonNull(words, "words");
    p.policy = Objects.requireNonNull(other, "policy");
    return p.made();
  }

  /** Number of scans of the run, from 1 to 100,000. */
  public Exercise scans(int number) {
    if (number < 1 || number > 100_000) {
      throw new IllegalArgumentException("an exercise has 1 to 100000 scans: " + number);
    }
    Parts p = parts();
    p.scans = number;
    return p.made();
  }

  private Exercise plus(Action a) {
    Parts p = parts();
    p.actions.add(a);
    return p.made();
  }

  private static long checked(long scan) {
    if (scan < 1) {
      throw new IllegalArgumentException("scans count from 1: " + scan);
    }
    return scan;
  }

  /**
   * Before the input refresh of a scan an item gets a value: at {@code %I} the terminal is set, anything else is written as an operator
   * panel does.
   */
  public Exercise at(long scan, String path, String literal) {
    return plus(new Set(checked(scan), path, literal));
  }

  /** The same at a virtual time since the start, maybe in the middle of a scan. */
  public Exercise at(Duration time, String path, String literal) {
    return plus(new SetAt(time.toNanos(), path, literal));
  }

  /** Before a scan an item is forced. */
  public Exercise force(long scan, String path, String literal) {
    return plus(new Force(checked(scan), path, literal));
  }

  /** Before a scan a force ends. */
  public Exercise unforce(long scan, String path) {
    return plus(new Unforce(checked(scan), path));
  }

  /** Before a scan power was lost and has come back: a warm restart, which keeps retained variables. */
  public Exercise warmRestart(long scan) {
    return plus(new Restart(checked(scan), true));
  }

  /** Before a scan a cold restart: every variable has its initial value again. */
  public Exercise coldRestart(long scan) {
    return plus(new Restart(checked(scan), false));
  }

  /** Items drawn in timing diagrams. */
  public Exercise watch(String... paths) {
    Parts p = parts();
    p.watch.addAll(List.of(paths));
    return p.made();
  }

  /** One or more questions, behind those that there are. */
  public Exercise ask(Question... more) {
    Parts p = parts();
    p.questions.addAll(List.of(more));
    return p.made();
  }

  // ---- freedom of variants ----

  /** Variants may call the first of these names like any other of them, in the program, the stimulus, the questions and the story. */
  public Exercise rename(String name, String... others) {
    Parts p = parts();
    List<String> all = new ArrayList<>();
    all.add(name);
    all.addAll(List.of(others));
    p.names.add(List.copyOf(all));
    return p.made();
  }

  /** Variants may draw every contact of this operand with the other polarity. */
  public Exercise mayInvert(String operand) {
    Parts p = parts();
    p.inverted.add(operand);
    return p.made();
  }

  /** Variants may set the item to another of these values before the scan. */
  public Exercise mayBe(long scan, String path, String... literals) {
    Parts p = parts();
    p.values.add(new Values(checked(scan), path, List.of(literals)));
    return p.made();
  }

  /** Variants may exchange the bit numbers of addresses within a byte. */
  public Exercise mayReaddress() {
    Parts p = parts();
    p.addresses = true;
    return p.made();
  }

  /** Variants may put the ladder networks in another order, as far as the point is kept. */
  public Exercise mayReorder() {
    Parts p = parts();
    p.networks = true;
    return p.made();
  }

  /** What makes the exercise worth doing; variants that lose it are passed over. */
  public Exercise point(Predicate<Solution> kept) {
    Parts p = parts();
    p.point = Objects.requireNonNull(kept, "point");
    return p.made();
  }

  // ---- reading ----

  public String id() {
    return id;
  }

  public String title() {
    return title;
  }

  public String story() {
    return story;
  }

  public String lesson() {
    return lesson;
  }

  public String program() {
    return program;
  }

  public ScanPolicy policy() {
    return policy;
  }

  public String policyWords() {
    return policyWords;
  }

  public int scans() {
    return scans;
  }

  public List<String> watched() {
    return watch;
  }

  public List<Question> questions() {
    return questions;
  }

  /**
   * Runs the exercise and every candidate of its questions, and computes the answers.
   *
   * @throws dev.scanloom.CompileResult.Failed when the program has errors
   * @throws IllegalArgumentException when a question names something that there is not, or a choice has no single answer; the message
   *     tells which
   */
  public Solution solve() {
    return Solving.solve(this);
  }
}
