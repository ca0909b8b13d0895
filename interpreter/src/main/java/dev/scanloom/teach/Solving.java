package dev.scanloom.teach;

import dev.scanloom.CompileResult;
import dev.scanloom.CompiledProgram;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.explain.Counterfactual;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;

/** Computes the answers of an exercise by running it. */
final class Solving {
  /** Runs spent on the nearest change of one answer. */
  private static final int NEAREST_RUNS = 200;

  private final Exercise exercise;
  private final CompiledProgram program;
  private final Rerun run;
  private final boolean search;

  private Solving(Exercise exercise, CompiledProgram program, Rerun run, boolean search) {
    this.exercise = exercise;
    this.program = program;
    this.run = run;
    this.search = search;
  }

  static String sourceName(Exercise e) {
    return (e.id.isEmpty() ? "program" : e.id.toLowerCase(Locale.ROOT)) + ".st";
  }

  static CompiledProgram compiled(Exercise e) {
    if (e.program.isBlank()) {
      throw new IllegalArgumentException("the exercise '" + e.title + "' has no program");
    }
    return e.compiler.compile(sourceName(e), e.program).orThrow();
  }

  static Solution solve(Exercise e) {
    return solve(e, true);
  }

  /** {@code search}: also look for nearest changes. */
  static Solution solve(Exercise e, boolean search) {
    CompiledProgram program = compiled(e);
    Solving s = new Solving(e, program, Rerun.of(e, program, e.policy, e.questions, true), search);
    List<Solution.Answer> answers = new ArrayList<>();
    for (int i = 0; i < e.questions.size(); i++) {
      try {
        answers.add(s.answer(s.run.items.get(i)));
      } catch (IllegalArgumentException wrong) {
        throw new IllegalArgumentException("question " + (i + 1) + " of '" + e.title + "': " + wrong.getMessage(), wrong);
      }
    }
    return new Solution(e, program, answers);
  }

  private Solution.Answer answer(Rerun.Item item) {
    long scan = Rerun.scanOf(item.question);
    if (scan > exercise.scans) {
      throw new IllegalArgumentException("scan " + scan + " is asked about; the run has " + exercise.scans);
    }
    if (scan > run.scans) {
      throw new IllegalArgumentException("scan " + scan + " is asked about; the run was stopped by " + run.fault.map(f -> f.code()
          + " in scan " + f.scan())
          .orElse("nothing") + " before it ended");
    }
    return item.question.accept(new Question.Visitor<Solution.Answer>() {
      @Override
      public Solution.Answer state(Question.State q) {
        return Solving.this.state(q, item);
      }

      @Override
      public Solution.Answer writer(Question.Writer q) {
        return Solving.this.writer(q, item);
      }

      @Override
      public Solution.Answer painted(Question.Painted q) {
        return Solving.this.painted(q, item);
      }

      @Override
      public Solution.Answer scansUntil(Question.ScansUntil q) {
        return Solving.this.scansUntil(q, item);
      }

      @Override
      public Solution.Answer cure(Question.Cure q) {
        return Solving.this.cure(q, item);
      }

      @Override
      public Solution.Answer choice(Question.Choice q) {
        return Solving.this.choice(q, item);
      }

      @Override
      public Solution.Answer stop(Question.Stop q) {
        return Solving.this.stop(q, item);
      }
    });
  }

  static String shown(Variable v, String canonical) {
    return v == null || v.type() == ElementaryType.BOOL ? canonical.equals("TRUE") ? "on (TRUE)" : "off (FALSE)" : canonical;
  }

  private static Solution.Answer made(Question q, AnswerText.Kind kind, Rerun.Item item, String canonical, String shown, String prompt,
      Optional<Explanation> why, Optional<Counterfactual> nearest) {
    return new Solution.Answer(q, kind, item.variable, canonical, shown, prompt, List.of(), List.of(), why, item, nearest);
  }

  private static void needTerminal(Variable v) {
    if (v.area() != 'I' && v.area() != 'Q') {
      throw new IllegalArgumentException(v.path() + " has no terminal: it is not at an input or output location");
    }
  }

  private Solution.Answer state(Question.State q, Rerun.Item item) {
    Variable v = item.variable;
    long scan = q.moment().scan();
    String value;
    String prompt;
    Optional<Explanation> why = Optional.empty();
    String bit = v.type() == ElementaryType.BOOL ? "Is" : "What is";
    switch (q.where()) {
      case MEMORY -> {
        if (q.moment().network() > 0) {
          value = item.before.get(q.moment().network());
          if (value == null) {
            throw new IllegalArgumentException("network " + q.moment().network() + " is not evaluated in scan " + scan);
          }
          why = Optional.ofNullable(item.whyBefore.get(q.moment().network()));
        } else {
          value = run.valueAt(item, false, scan);
          why = explain(v, false, scan);
        }
        prompt = v.type() == ElementaryType.BOOL ? "Is " + v.path() + " on or off in memory " + q.moment().words() + "?"
            : "What does memory hold for " + v.path() + " " + q.moment().words() + "?";
      }
      case FIELD -> {
        needTerminal(v);
        value = run.valueAt(item, true, scan);
        why = explain(v, true, scan);
        prompt = bit + " the terminal of " + v.path() + (v.type() == ElementaryType.BOOL ? " on or off " : " ") + q.moment().words() + "?";
      }
      case DISPLAY -> {
        value = item.displays.get(q.display());
        if (value == null) {
          throw new IllegalArgumentException("no display " + q.display() + " watches " + v.path());
        }
        why = item.sample != null && item.sampleTime == item.sampledAt ? Optional.of(item.sample) : explain(v, false, scan);
        prompt = (v.type() == ElementaryType.BOOL ? "Does the " + screen(q.display()) + " show " + v.path() + " as on or off "
            : "What does the " + screen(q.display()) + " show for " + v.path() + " ") + q.moment().words() + "?";
      }
      default -> throw new IllegalStateException(q.where().name());
    }
    boolean counter = q.where() != Question.Where.DISPLAY && q.moment().network() == 0 && v.type() == ElementaryType.BOOL;
    return made(q, AnswerText.Kind.VALUE, item, value, shown(v, value), prompt, why,
        counter ? nearest(v, q.where() == Question.Where.FIELD, scan) : Optional.empty());
  }

  static String screen(String display) {
    return display.equals(ScanPolicy.SCREEN) ? "screen" : "display '" + display + "'";
  }

  private Optional<Explanation> explain(Variable v, boolean field, long scan) {
    try {
      return Optional.of(field ? run.provenance.whyField(v, scan) : run.provenance.why(v, scan));
    } catch (IllegalArgumentException older) {
      return Optional.empty();
    }
  }

  /** The nearest flip by search; only where the run is one that the search can repeat. */
  private Optional<Counterfactual> nearest(Variable v, boolean field, long scan) {
    List<Counterfactual.Input> inputs = new ArrayList<>();
    for (Exercise.Action a : exercise.actions) {
      if (!(a instanceof Exercise.Set s)) {
        return Optional.empty();
      }
      inputs.add(new Counterfactual.Input(s.scan(), s.path(), s.literal()));
    }
    if (scan > 50 || !search) {
      return Optional.empty();
    }
    Counterfactual.Setup setup = new Counterfactual.Setup(exercise.compiler, List.of(SourceText.of(sourceName(exercise), exercise.program)),
        exercise.policy,
        inputs, exercise.scans);
    List<Counterfactual> found = Counterfactual.find(setup, new Counterfactual.Result(v.path(), field, scan),
        EnumSet.of(Counterfactual.Search.INPUT, Counterfactual.Search.NETWORK), NEAREST_RUNS);
    return found.isEmpty() ? Optional.empty() : Optional.of(found.get(0));
  }

  private Solution.Answer writer(Question.Writer q, Rerun.Item item) {
    Explanation why = run.provenance.why(item.variable, q.scan());
    Optional<Fact> last = why.root().because().stream().findFirst();
    String answer = last.isEmpty() ? "none" : switch (last.get().kind()) {
      case WRITE -> last.get().network() > 0 ? Integer.toString(last.get().network()) : "none";
      case INPUT_REFRESH -> "refresh";
      case UNCHANGED -> last(item, q.scan());
      default -> "none";
    };
    String shown = answer.equals("none") ? "none: no network wrote it" : answer.equals("refresh") ? "the input refresh" : "network "
        + answer;
    return made(q, AnswerText.Kind.NETWORK, item, answer, shown, "Which network wrote " + item.variable.path()
        + " last, up to the end of scan " + q.scan()
        + "? (a number; 'refresh' for the input refresh; 'none')", Optional.of(why), Optional.empty());
  }

  /** The last write by an instruction up to a scan, for items that kept their value in it. */
  private static String last(Rerun.Item item, long scan) {
    String found = "none";
    for (Rerun.Written w : item.written) {
      if (w.scan() <= scan && w.network() > 0) {
        found = Integer.toString(w.network());
      }
    }
    return found;
  }

  private Solution.Answer painted(Question.Painted q, Rerun.Item item) {
    Boolean on = item.painted.get(q.display());
    if (on == null) {
      throw new IllegalArgumentException("no display " + q.display() + " paints " + q.title());
    }
    Optional<Explanation> why = item.variable == null ? Optional.empty() : explain(item.variable, false, q.scan());
    boolean coil = program.elements().get(item.element).kind() == dev.scanloom.model.Element.Kind.COIL;
    // an answer about painting is on or off, whatever the operand's type
    return new Solution.Answer(q, AnswerText.Kind.VALUE, null, on ? "TRUE" : "FALSE", on ? "on (painted)" : "off (not painted)",
        "Does the " + screen(q.display()) + " paint the " + (coil ? "coil " : "contact ") + q.title() + " of network " + q.network()
            + (coil ? " as powered" : " as conducting") + " (on) or not (off) at the end of scan " + q.scan() + "?", List.of(), List.of(),
                why, item, Optional.empty());
  }

  private Solution.Answer scansUntil(Question.ScansUntil q, Rerun.Item item) {
    Variable v = item.variable;
    boolean field = q.where() == Question.Where.FIELD;
    if (field) {
      needTerminal(v);
    }
    String wanted = v.format(v.parse(q.literal()));
    List<String> values = field ? item.field : item.memory;
    String answer = "never";
    long at = 0;
    for (long n = q.from(); n <= values.size() && at == 0; n++) {
      if (values.get((int) n - 1).equals(wanted)) {
        at = n;
        answer = Long.toString(n - q.from() + 1);
      }
    }
    Optional<Explanation> why = explain(v, field, at == 0 ? run.scans : at);
    return made(q, AnswerText.Kind.COUNT, item, answer, at == 0 ? "never within the " + exercise.scans + " scans" : answer
        + (answer.equals("1") ? " scan" : " scans"),
        "How many scans does it take, scan " + q.from() + " counted as the first, until " + (field ? "the terminal of " : "") + v.path()
            + " is "
            + (v.type() == ElementaryType.BOOL ? wanted.equals("TRUE") ? "on" : "off" : wanted)
                + " at the end of a scan? ('never' if it is not so within "
            + exercise.scans + " scans)", why, Optional.empty());
  }

  private Solution.Answer cure(Question.Cure q, Rerun.Item item) {
    Variable v = item.variable;
    boolean field = q.where() == Question.Where.FIELD;
    if (field) {
      needTerminal(v);
    }
    String wanted = v.format(v.parse(q.literal()));
    String now = run.valueAt(item, field, q.scan());
    if (now.equals(wanted)) {
      throw new IllegalArgumentException("there is nothing to cure: " + v.path() + " is " + wanted + " already");
    }
    List<String> letters = new ArrayList<>();
    List<String> proofs = new ArrayList<>();
    for (int i = 0; i < q.changes().size(); i++) {
      Question.Change c = q.changes().get(i);
      Exercise changed = exercise.program(c.applied(exercise.program));
      CompileResult compiled = exercise.compiler.compile(sourceName(exercise), changed.program);
      if (compiled.program().isEmpty()) {
        throw new IllegalArgumentException("the change '" + c.words() + "' does not compile: " + compiled.diagnostics().get(0).oneLine());
      }
      Rerun r = Rerun.of(changed, compiled.program().get(), c.policy().orElse(exercise.policy), List.of(q), false);
      String value = r.valueAt(r.items.get(0), field, q.scan());
      boolean cures = value.equals(wanted);
      if (cures) {
        letters.add(String.valueOf((char) ('a' + i)));
      }
      proofs.add("run again with it, " + (field ? "the terminal of " : "") + v.path() + " is " + value + " at the end of scan " + q.scan()
          + (cures ? ": cured" : ": not cured"));
    }
    if (letters.isEmpty() || letters.size() == q.changes().size()) {
      throw new IllegalArgumentException((letters.isEmpty() ? "none" : "every one") + " of the changes makes " + v.path() + " " + wanted);
    }
    String answer = String.join(", ", letters);
    return new Solution.Answer(q, AnswerText.Kind.LETTERS, v, answer, "(" + String.join(") and (", letters) + ")", (field
        ? "The terminal of " : "")
        + v.path() + " should be " + shown(v, wanted) + " at the end of scan " + q.scan()
            + ". Which of these changes cure it? (one or more letters)",
        q.changes().stream().map(Question.Change::words).toList(), proofs, explain(v, field, q.scan()), item, Optional.empty());
  }

  private Solution.Answer choice(Question.Choice q, Rerun.Item item) {
    Explanation why = run.provenance.why(item.variable, q.scan());
    List<String> letters = new ArrayList<>();
    List<String> proofs = new ArrayList<>();
    for (int i = 0; i < q.reasons().size(); i++) {
      Question.Reason r = q.reasons().get(i);
      Optional<Question.Claim> missing = r.claims().stream().filter(c -> find(why, c).isEmpty()).findFirst();
      if (missing.isEmpty()) {
        letters.add(String.valueOf((char) ('a' + i)));
        proofs.add("borne out: " + find(why, r.claims().get(0)).get().words());
      } else {
        proofs.add("not borne out: in the evidence " + words(missing.get()) + " does not occur");
      }
    }
    if (letters.size() != 1) {
      throw new IllegalArgumentException(letters.isEmpty() ? "the evidence bears out none of the reasons:\n" + why.text()
          : "the evidence bears out more than one reason: " + String.join(", ", letters));
    }
    return new Solution.Answer(q, AnswerText.Kind.LETTERS, item.variable, letters.get(0), "(" + letters.get(0) + ")", "Why is "
        + item.variable.path() + " "
        + shown(item.variable, run.valueAt(item, false, q.scan())) + " in memory at the end of scan " + q.scan() + "? (one letter)",
        q.reasons().stream().map(Question.Reason::words).toList(), proofs, Optional.of(why), item, Optional.empty());
  }

  private static String words(Question.Claim c) {
    String where = c.network() > 0 ? " by network " + c.network() : "";
    String value = c.value().isEmpty() ? "" : " as " + c.value();
    return switch (c.kind()) {
      case WRITE -> "a write of " + c.path() + value + where;
      case READ -> "a read of " + c.path() + value + where;
      case FIELD_CHANGE -> "a change of the terminal of " + c.path();
      case INPUT_REFRESH -> "a refresh of " + c.path();
      case DELIVERY -> "a delivery of " + c.path();
      case EXTERNAL_WRITE -> "a write of " + c.path() + " from outside";
      case FORCE -> "a force of " + c.path();
      case INITIAL -> "the initial value of " + c.path();
      case RETAINED -> "a retained value of " + c.path();
      case UNCHANGED -> "that nothing wrote " + c.path();
      case DECISION -> "a decision by " + c.path();
      case CLOCK -> "the time";
      case COMPUTATION, CONSTANT, OLDER -> c.kind().name().toLowerCase(Locale.ROOT) + " of " + c.path();
    };
  }

  private Optional<Fact> find(Explanation why, Question.Claim c) {
    Optional<Variable> v = Optional.empty();
    if (c.kind() != Fact.Kind.DECISION && c.kind() != Fact.Kind.CLOCK) {
      v = Optional.of(program.variable(c.path()));
    }
    for (Fact f : why.facts()) {
      boolean kind = f.kind() == c.kind() && (f.kind() != Fact.Kind.READ || f.step() >= 0);
      boolean place = v.isEmpty() ? f.subject().contains(c.path()) : f.address() == v.get().address() && f.width() == v.get().width();
      boolean network = c.network() == 0 || f.network() == c.network();
      boolean value = c.value().isEmpty() || v.isPresent() && f.bits() == v.get().parse(c.value());
      if (kind && place && network && value) {
        return Optional.of(f);
      }
    }
    return Optional.empty();
  }

  private Solution.Answer stop(Question.Stop q, Rerun.Item item) {
    String answer = run.fault.map(f -> Long.toString(q.line() ? f.span().line() : f.scan())).orElse("never");
    String proof = run.fault.map(f -> f.message() + " (" + f.code() + ", scan " + f.scan() + ", step " + f.ordinal() + ", "
        + f.span().place() + ")")
        .orElse("no fault within " + exercise.scans + " scans");
    return new Solution.Answer(q, q.line() ? AnswerText.Kind.LINE : AnswerText.Kind.COUNT, null, answer, answer, q.line()
        ? "At which line of the program does a fault stop the controller? ('never' if it goes on)"
        : "In which scan does a fault stop the controller? ('never' if it goes on for " + exercise.scans + " scans)", List.of(),
            List.of(proof),
        Optional.empty(), item, Optional.empty());
  }
}
