package dev.scanloom.explain;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.policy.ScanPolicy;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;

/** Over random programs, stimuli and policies: explanations are complete and minimal, counterfactuals are true. */
class ExplanationProperties {
  private static final int SCANS = 4;
  private static final List<ScanPolicy> POLICIES =
      List.of(ScanPolicy.image(), ScanPolicy.immediate(), ScanPolicy.asynchronous(Duration.ofNanos(1_700)));
  private static final Compiler COMPILER = Compiler.standard();

  @Provide
  Arbitrary<Long> seeds() {
    return Arbitraries.longs().between(0, 1_000_000);
  }

  private static void check(String text, long seed, int policy) {
    CompiledProgram program = COMPILER.compile("random.st", text).orThrow();
    Controller c = program.newController(POLICIES.get(policy));
    Provenance record = Provenance.of(c);
    List<List<Integer>> stimulus = Programs.stimulus(seed, SCANS);
    List<Variable> variables = program.variables().stream().map(program::variable).toList();
    List<String> texts = new ArrayList<>();
    boolean[] state = new boolean[Programs.INPUTS.size()];
    for (List<Integer> flips : stimulus) {
      for (int k : flips) {
        state[k] = !state[k];
        c.field().set(program.bool(Programs.INPUTS.get(k)), state[k]);
      }
      c.scan();
      assertThat(c.fault()).isEmpty();
      for (Variable v : variables) {
        texts.add(c.memory().text(v));
        explained(record.why(v), c.memory().text(v), text);
        if (v.area() == 'Q') {
          explained(record.whyField(v), c.field().text(v), text);
        }
      }
    }
    // asked later about every scan
    int i = 0;
    for (int n = 1; n <= SCANS; n++) {
      for (Variable v : variables) {
        explained(record.why(v, n), texts.get(i++), text);
      }
    }
  }

  private static void explained(Explanation e, String expected, String text) {
    assertThat(e.value()).as("%s in\n%s\n%s", e.subject(), text, e).isEqualTo(expected);
    Long again;
    try {
      again = Reevaluation.of(e, null);
    } catch (AssertionError | RuntimeException x) {
      throw new AssertionError("in\n" + text + "\n" + e + "\n" + e.json(), x);
    }
    assertThat(again).as("%s in\n%s\n%s", e.subject(), text, e).isEqualTo(e.root().bits());
    for (Fact leaf : e.leaves()) {
      assertThat(Reevaluation.of(e, leaf)).as("%s without '%s' (fact %s) in\n%s\n%s\n%s", e.subject(), leaf, leaf.id(), text, e, e.json())
          .isNull();
    }
  }

  @Property(tries = 60)
  void structuredText(@ForAll("seeds") long seed) {
    check(Programs.text(seed), seed, (int) (seed % 3));
  }

  @Property(tries = 100)
  void ladder(@ForAll("seeds") long seed) {
    check(Programs.ladder(seed), seed, (int) (seed % 3));
  }

  @Property(tries = 25)
  void counterfactualsAreTrue(@ForAll("seeds") long seed) {
    String text = seed % 2 == 0 ? Programs.ladder(seed) : Programs.text(seed);
    List<Counterfactual.Input> inputs = new ArrayList<>();
    boolean[] state = new boolean[Programs.INPUTS.size()];
    int n = 0;
    for (List<Integer> flips : Programs.stimulus(seed, SCANS)) {
      n++;
      for (int k : flips) {
        state[k] = !state[k];
        inputs.add(new Counterfactual.Input(n, Programs.INPUTS.get(k), state[k] ? "TRUE" : "FALSE"));
      }
    }
    Counterfactual.Setup setup = new Counterfactual.Setup(COMPILER, List.of(SourceText.of("random.st", text)),
        POLICIES.get((int) (seed % 3)), inputs, SCANS);
    Counterfactual.Result result = new Counterfactual.Result("o1", false, SCANS);
    String before = again(setup, text, null);
    for (Counterfactual f : Counterfactual.find(setup, result)) {
      assertThat(f.before()).isEqualTo(before);
      assertThat(again(setup, text, f.change())).as("%s in\n%s", f, text).isEqualTo(f.after()).isNotEqualTo(before);
    }
    assertThat(Counterfactual.parting(setup, setup)).isEmpty();
  }

  /** The run with a change applied by hand. */
  private static String again(Counterfactual.Setup setup, String text, Counterfactual.Change change) {
    String program = text;
    ScanPolicy policy = setup.policy();
    if (change instanceof Counterfactual.NetworkRemoved r) {
      CompiledProgram whole = COMPILER.compile("random.st", text).orThrow();
      var span = whole.pous().stream().filter(p -> p.name().equals(r.pou())).findFirst().orElseThrow().networks().get(r.network() - 1)
          .span();
      // blanks keep every place
      StringBuilder b = new StringBuilder(text);
      for (int i = span.source().lineStart(span.line()); i < span.end(); i++) {
        if (b.charAt(i) != '\n') {
          b.setCharAt(i, ' ');
        }
      }
      program = b.toString();
    } else if (change instanceof Counterfactual.PolicyChange p) {
      policy = p.policy();
    }
    CompiledProgram compiled = COMPILER.compile("random.st", program).orThrow();
    Controller c = compiled.newController(policy);
    for (int n = 1; n <= SCANS; n++) {
      for (int k = 0; k < Programs.INPUTS.size(); k++) {
        Variable.Bool v = compiled.bool(Programs.INPUTS.get(k));
        String at = "FALSE";
        for (Counterfactual.Input i : setup.inputs()) {
          at = i.scan() <= n && i.path().equals(Programs.INPUTS.get(k)) ? i.literal() : at;
        }
        if (change instanceof Counterfactual.InputChange i && i.path().equals(v.path()) && n >= i.from() && n <= i.to()) {
          at = i.value();
        }
        c.field().set(v, at.equals("TRUE"));
      }
      c.scan();
    }
    return c.memory().text(compiled.variable("o1"));
  }
}
