package dev.scanloom.teach;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Fault;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Provenance;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;

/** One run of an exercise, with what its questions need to know of it. Confined to one thread. */
final class Rerun implements Observer {
  /** Scans of evidence kept for explanations. */
  private static final int MOST_EVIDENCE = 2_000;

  /** A write of an item by an instruction. */
  record Written(long scan, int network, String value) {}

  /** What is known of a question's item. */
  static final class Item {
    final Variable variable;
    final Question question;
    /** Values at the end of each scan, scan 1 first: in memory and at the terminal (absent without one). */
    final List<String> memory = new ArrayList<>();
    final List<String> field = new ArrayList<>();
    /** Values on each display at the end of the scan asked about. */
    final Map<String, String> displays = new LinkedHashMap<>();
    /** Values in memory before each network of the scan asked about. */
    final Map<Integer, String> before = new TreeMap<>();
    final Map<Integer, Explanation> whyBefore = new TreeMap<>();
    final List<Written> written = new ArrayList<>();
    /** Painted state on each display and executed state, at the end of the scan asked about. */
    final Map<String, Boolean> painted = new LinkedHashMap<>();
    boolean executed;
    int element = -1;
    long sampledIn;
    long sampledAt;
    Explanation sample;
    long sampleTime = -1;

    Item(Variable variable, Question question) {
      this.variable = variable;
      this.question = question;
    }
  }

  final Exercise exercise;
  final CompiledProgram program;
  final Controller controller;
  final Provenance provenance;
  final List<Item> items = new ArrayList<>();
  private final Map<Integer, Long> lastScanOfNetwork = new TreeMap<>();
  Optional<Fault> fault = Optional.empty();
  long scans;

  private Rerun(Exercise exercise, CompiledProgram program, ScanPolicy policy, List<Question> questions, boolean evidence) {
    this.exercise = exercise;
    this.program = program;
    this.controller = program.newController(policy);
    this.provenance = evidence ? Provenance.of(controller, Math.min(exercise.scans, MOST_EVIDENCE)) : null;
    for (Question q : questions) {
      items.add(item(q));
    }
  }

  /** Runs an exercise. {@code evidence}: also keep what explanations need. */
  static Rerun of(Exercise exercise, CompiledProgram program, ScanPolicy policy, List<Question> questions, boolean evidence) {
    Rerun r = new Rerun(exercise, program, policy, questions, evidence);
    r.controller.attach(r);
    play(exercise, r.controller, r::scanned);
    r.fault = r.controller.fault();
    return r;
  }

  /** Plays the stimulus of an exercise; used wherever it is run. {@code afterScan} is told of every scan that was completed. */
  static void play(Exercise exercise, Controller c, Runnable afterScan) {
    for (Exercise.Action a : exercise.actions) {
      if (a instanceof Exercise.SetAt s) {
        Variable v = c.variable(s.path());
        (v.area() == 'I' ? c.field() : c.memory()).setTextAt(s.time(), v, s.literal());
      }
    }
    for (long n = 1; n <= exercise.scans; n++) {
      for (Exercise.Action a : exercise.actions) {
        if (a.scan() == n) {
          apply(c, a);
        }
      }
      if (!c.scan()) {
        return;
      }
      afterScan.run();
    }
  }

  private static void apply(Controller c, Exercise.Action a) {
    if (a instanceof Exercise.Set s) {
      Variable v = c.variable(s.path());
      (v.area() == 'I' ? c.field() : c.memory()).setText(v, s.literal());
    } else if (a instanceof Exercise.Force f) {
      c.force(c.variable(f.path()), f.literal());
    } else if (a instanceof Exercise.Unforce u) {
      c.unforce(c.variable(u.path()));
    } else if (a instanceof Exercise.Restart r) {
      if (r.warm()) {
        c.restartWarm();
      } else {
        c.restartCold();
      }
    }
  }

  private Item item(Question q) {
    if (q instanceof Question.Painted p) {
      Element e = element(program, p.network(), p.title());
      Variable v = operand(e);
      Item item = new Item(v, q);
      item.element = e.id();
      return item;
    }
    return new Item(q.item().map(program::variable).orElse(null), q);
  }

  private Variable operand(Element e) {
    Variable whole = found(e.pou() + "." + e.title());
    Variable brief = found(e.title());
    // the short name reads better where it means the same
    return whole == null || brief != null && brief.address() == whole.address() ? brief : whole;
  }

  /** Null for an element of a function block, or a compare contact: painted, but without an operand to look at. */
  private Variable found(String path) {
    try {
      return program.variable(path);
    } catch (IllegalArgumentException unknown) {
      return null;
    }
  }

  /** The first element with that operand in that network of the program. */
  static Element element(CompiledProgram program, int network, String title) {
    List<String> there = new ArrayList<>();
    for (Pou pou : program.pous()) {
      if (pou.library()) {
        continue;
      }
      for (Network n : pou.networks()) {
        for (Element e : n.elements()) {
          if (n.number() == network) {
            if (e.title().equalsIgnoreCase(title) && e.id() >= 0) {
              return e;
            }
            there.add(e.title());
          }
        }
      }
    }
    throw new IllegalArgumentException("network " + network + " has no element " + title + (there.isEmpty() ? "; there is no such network"
        : "; elements there: " + String.join(", ", there)));
  }

  /** The scan that a question asks about; 0 when it asks about the run. */
  static long scanOf(Question q) {
    return q.accept(new Question.Visitor<Long>() {
      @Override
      public Long state(Question.State s) {
        return s.moment().scan();
      }

      @Override
      public Long writer(Question.Writer w) {
        return w.scan();
      }

      @Override
      public Long painted(Question.Painted p) {
        return p.scan();
      }

      @Override
      public Long scansUntil(Question.ScansUntil s) {
        return 0L;
      }

      @Override
      public Long cure(Question.Cure c) {
        return c.scan();
      }

      @Override
      public Long choice(Question.Choice c) {
        return c.scan();
      }

      @Override
      public Long stop(Question.Stop s) {
        return 0L;
      }
    });
  }

  private void scanned() {
    scans = controller.scans();
    // a restart does not start the numbers of scans again
    for (Item item : items) {
      Variable v = item.variable;
      if (v != null) {
        item.memory.add(controller.memory().text(v));
        if (v.area() == 'I' || v.area() == 'Q') {
          item.field.add(controller.field().text(v));
        }
      }
      if (scanOf(item.question) == scans) {
        for (ScanPolicy.Display d : controller.policy().displays()) {
          Place.Display display = controller.display(d.name());
          if (v != null && display.isWatched(v)) {
            item.displays.put(d.name(), display.text(v));
            if (item.question instanceof Question.State s && d.name().equals(s.display())) {
              item.sampledIn = display.sampledIn(v);
              item.sampledAt = display.sampledAt(v);
            }
          }
          if (item.element >= 0 && display.isPainted(item.element)) {
            item.painted.put(d.name(), display.painted(item.element));
            item.executed = display.executed(item.element);
          }
        }
      }
    }
  }

  @Override
  public Set<EventKind> wants() {
    return EnumSet.of(EventKind.STEP, EventKind.WRITE, EventKind.SAMPLE);
  }

  @Override
  public void on(Event e) {
    switch (e.kind()) {
      case STEP -> step(e);
      case WRITE -> {
        if (e.source() == Event.Source.INSTRUCTION) {
          for (Item item : items) {
            Variable v = item.variable;
            if (v != null && v.address() == e.address() && v.width() == e.width() && !v.type().isString()) {
              StepInfo info = program.step(e.step());
              if (item.written.size() < 100_000) {
                item.written.add(new Written(e.scan(), info.network(), v.format(e.after())));
              }
            }
          }
        }
      }
      case SAMPLE -> {
        for (Item item : items) {
          Variable v = item.variable;
          boolean wanted = provenance != null && v != null && item.question instanceof Question.State s
              && s.where() == Question.Where.DISPLAY
              && e.detail().equals(s.display()) && e.scan() <= s.moment().scan();
          if (wanted && (v.address() == e.address() && v.width() == e.width() || e.width() == 0)) {
            item.sample = provenance.why(v);
            item.sampleTime = e.time();
          }
        }
      }
      case SCAN_START, SCAN_END, PHASE, TASK, READ, ELEMENT, FIELD, FAULT -> { }
    }
  }

  private void step(Event e) {
    int network = program.step(e.step()).network();
    if (network == 0) {
      return;
    }
    Long last = lastScanOfNetwork.put(network, e.scan());
    if (last != null && last == e.scan()) {
      return;
    }
    for (Item item : items) {
      if (item.variable != null && scanOf(item.question) == e.scan() && !item.before.containsKey(network)) {
        item.before.put(network, controller.memory().text(item.variable));
        if (provenance != null && item.question instanceof Question.State s && s.moment().network() == network) {
          item.whyBefore.put(network, provenance.why(item.variable));
        }
      }
    }
  }

  /** Value in memory or at the terminal at the end of a scan; the fault's code when the run did not get there. */
  String valueAt(Item item, boolean field, long scan) {
    List<String> values = field ? item.field : item.memory;
    if (scan <= values.size()) {
      return values.get((int) scan - 1);
    }
    return fault.map(Fault::code).orElse("");
  }
}
