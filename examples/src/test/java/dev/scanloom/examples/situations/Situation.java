package dev.scanloom.examples.situations;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.explain.Counterfactual;
import dev.scanloom.explain.Disagreements;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.explain.Provenance;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.time.Duration;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.function.Consumer;

/**
 * A situation of the catalogue: a program and a stimulus from the resources, run under a policy with everything recorded. Scans count
 * from 1; values are IEC literals.
 */
final class Situation {
  /** Every scan 10 ms after the one before; nothing costs time, so scan n starts at (n - 1) * 10 ms exactly. */
  static final ScanPolicy EVERY_10_MS = timed(ScanPolicy.image());

  private final String folder;
  private final Compiler compiler;
  private final SourceText source;
  private final List<Counterfactual.Input> inputs;

  private Situation(String folder, Compiler compiler, SourceText source, List<Counterfactual.Input> inputs) {
    this.folder = folder;
    this.compiler = compiler;
    this.source = source;
    this.inputs = inputs;
  }

  static Situation of(String folder, String program) {
    return new Situation(folder, Compiler.standard(), SourceText.of(program, resource(folder + "/" + program)), List.of());
  }

  /** With a stimulus in the form of {@code run --inputs}. */
  Situation inputs(String csv) {
    List<Counterfactual.Input> all = new ArrayList<>();
    List<String> lines = resource(folder + "/" + csv).lines().toList();
    String[] names = lines.get(0).split(",");
    for (String line : lines.subList(1, lines.size())) {
      String[] cells = line.split(",", -1);
      for (int i = 1; i < cells.length; i++) {
        if (!cells[i].isEmpty()) {
          all.add(new Counterfactual.Input(Long.parseLong(cells[0]), names[i], cells[i]));
        }
      }
    }
    return new Situation(folder, compiler, source, all);
  }

  Situation compiler(Compiler other) {
    return new Situation(folder, other, source, inputs);
  }

  static ScanPolicy timed(ScanPolicy p) {
    return p.withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero());
  }

  private static String resource(String path) {
    try (InputStream in = Situation.class.getResourceAsStream("/situations/" + path)) {
      if (in == null) {
        throw new IllegalArgumentException("no resource situations/" + path);
      }
      return new String(in.readAllBytes(), StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  CompiledProgram program() {
    return compiler.compile(List.of(source)).orThrow();
  }

  Counterfactual.Setup setup(ScanPolicy policy, int scans) {
    return new Counterfactual.Setup(compiler, List.of(source), policy, inputs, scans);
  }

  Run run(ScanPolicy policy, int scans) {
    return run(policy, scans, c -> { });
  }

  /** {@code before} may send things ahead, such as changes of terminals at a time. */
  Run run(ScanPolicy policy, int scans, Consumer<Controller> before) {
    Run r = new Run(program().newController(policy));
    before.accept(r.controller);
    r.scan(inputs, scans);
    return r;
  }

  /** A run with what every variable was at the end of each scan. */
  static final class Run {
    final Controller controller;
    final Provenance provenance;
    final Disagreements disagreements;
    /** Changes of output terminals: {@code scan:path=value}. */
    final List<String> terminals = new ArrayList<>();
    private final List<Map<String, String>> memory = new ArrayList<>();
    private final List<Map<String, String>> field = new ArrayList<>();

    Run(Controller controller) {
      this.controller = controller;
      this.provenance = Provenance.of(controller);
      this.disagreements = Disagreements.of(controller);
      controller.attach(new Observer() {
        @Override
        public Set<EventKind> wants() {
          return EnumSet.of(EventKind.FIELD);
        }

        @Override
        public void on(Event e) {
          if (e.source() == Event.Source.INSTRUCTION) {
            terminals.add(e.scan() + ":" + e.before() + ">" + e.after());
          }
        }
      });
    }

    void scan(List<Counterfactual.Input> inputs, int scans) {
      for (int n = 1; n <= scans; n++) {
        for (Counterfactual.Input i : inputs) {
          if (i.scan() == controller.scans() + 1) {
            Variable v = controller.variable(i.path());
            (v.area() == 'I' ? controller.field() : controller.memory()).setText(v, i.literal());
          }
        }
        if (!controller.scan()) {
          return;
        }
        Map<String, String> m = new LinkedHashMap<>();
        Map<String, String> f = new LinkedHashMap<>();
        for (String path : controller.program().variables()) {
          Variable v = controller.variable(path);
          m.put(path, controller.memory().text(v));
          if (v.area() == 'I' || v.area() == 'Q') {
            f.put(path, controller.field().text(v));
          }
        }
        memory.add(m);
        field.add(f);
      }
    }

    String memory(String path, int scan) {
      return memory.get(scan - 1).get(path);
    }

    String field(String path, int scan) {
      return field.get(scan - 1).get(path);
    }

    /** Values at the end of the scans, in a row. */
    List<String> memory(String path) {
      return memory.stream().map(m -> m.get(path)).toList();
    }

    List<String> field(String path) {
      return field.stream().map(m -> m.get(path)).toList();
    }

    Explanation why(String path, int scan) {
      return provenance.why(controller.variable(path), scan);
    }

    Explanation whyField(String path, int scan) {
      return provenance.whyField(controller.variable(path), scan);
    }
  }

  /** The only fact of a kind about a subject. */
  static Fact fact(Explanation e, Fact.Kind kind, String subject) {
    List<Fact> found = e.facts().stream().filter(f -> f.kind() == kind && f.subject().equals(subject) && f.id() > 1).toList();
    if (found.size() != 1) {
      throw new AssertionError(found.size() + " facts of kind " + kind + " about " + subject + " in\n" + e);
    }
    return found.get(0);
  }

  /** A fact in short: {@code kind subject=value scan/ordinal network}; without a network {@code line} instead. */
  static String brief(Fact f) {
    return f.kind() + " " + f.subject() + "=" + f.value() + " " + f.scan() + "/" + f.ordinal() + (f.network() > 0 ? " network "
        + f.network()
        : f.span().map(s -> " line " + s.line()).orElse(""));
  }

  /** The chain of first reasons below the root, computations left out, in short. */
  static List<String> chain(Explanation e) {
    List<String> all = new ArrayList<>();
    Fact f = e.root();
    while (!f.because().isEmpty()) {
      f = f.because().stream().filter(x -> x.kind() != Fact.Kind.CONSTANT).findFirst().orElse(f.because().get(0));
      if (f.kind() != Fact.Kind.COMPUTATION) {
        all.add(brief(f));
      }
    }
    return all;
  }
}
