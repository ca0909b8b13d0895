package dev.scanloom.examples.cli;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Fault;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.explain.Provenance;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.policy.TaskSwitching;
import dev.scanloom.report.Recordings;
import java.time.Duration;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;

/** One program and one stimulus under a matrix of policies, recorded. */
final class Matrix {
  private static final int MOST_PHASES = 64;
  private static final int MOST_OUTCOMES = 6;

  final CompiledProgram program;
  final Recordings recordings;
  private final InputsFile stimulus;
  private final Duration period;
  private final long scans;
  private final long at;
  private final long seed;
  private final List<ScanPolicy.Display> displays = new ArrayList<>();
  private final Set<Long> inputAddresses = new TreeSet<>();
  /** Faults by name of the run. */
  final Map<String, Fault> faults = new LinkedHashMap<>();

  Matrix(CompiledProgram program, InputsFile stimulus, Duration period, long scans, long at, long seed, Map<String, DisplaySampling> more) {
    this.program = program;
    this.recordings = new Recordings(program);
    this.stimulus = stimulus;
    this.period = period;
    this.scans = scans;
    this.at = at;
    this.seed = seed;
    displays.add(new ScanPolicy.Display("scan start", DisplaySampling.scanStart(), Painting.fromSample(), List.of()));
    displays.add(new ScanPolicy.Display("scan end", DisplaySampling.scanEnd(), Painting.fromSample(), List.of()));
    for (String path : recordings.variables()) {
      Variable v = program.variable(path);
      if (v.area() == 'I') {
        inputAddresses.add(v.address());
      }
    }
    more.forEach((name, sampling) -> displays.add(new ScanPolicy.Display(name, sampling, Painting.fromSample(), List.of())));
  }

  private ScanPolicy policy(InputAcquisition in, OutputDelivery out) {
    return ScanPolicy.image().withInputs(in).withOutputs(out).withDisplays(displays).withTrigger(ScanTrigger.periodic(period))
        .withCosts(CostModel.standard()).withSeed(seed);
  }

  void runAll() {
    Recordings.Run image = record("image", policy(InputAcquisition.image(), OutputDelivery.image()));
    record("immediate inputs", policy(InputAcquisition.immediate(), OutputDelivery.image()));
    Recordings.Run immediateOutputs = record("immediate outputs", policy(InputAcquisition.image(), OutputDelivery.immediate()));
    if (recordings.sameFieldChanges(image, immediateOutputs)) {
      recordings.drop(immediateOutputs);
      faults.remove("immediate outputs");
    }
    asynchronous();
    preemptive();
  }

  /** Tasks that may be preempted between two steps, when there are several and it happens. */
  private void preemptive() {
    if (program.tasks().size() < 3) {
      return;
    }
    String name = "image, tasks preempted by those of higher priority";
    ScanPolicy policy = policy(InputAcquisition.image(), OutputDelivery.image()).withTaskSwitching(TaskSwitching.preemptive());
    Controller c = program.newController(policy);
    boolean[] happened = new boolean[1];
    c.attach(new Observer() {
      @Override
      public Set<EventKind> wants() {
        return EnumSet.of(EventKind.TASK);
      }

      @Override
      public void on(Event e) {
        happened[0] |= e.detail().equals("preempted");
      }
    });
    List<String> shared = outcome(c);
    if (happened[0]) {
      record(name, policy);
      ScanPolicy own = policy.withImages(ProcessImages.perTask());
      if (!outcome(program.newController(own)).equals(shared)) {
        record(name + ", each with its own process image", own);
      }
    }
  }

  /** All variables and terminals at the end of each scan. */
  private List<String> outcome(Controller c) {
    List<String> all = new ArrayList<>();
    InputsFile.Feed feed = stimulus.feed(c);
    for (long s = 1; s <= scans; s++) {
      feed.before(s);
      if (!c.scan()) {
        break;
      }
      for (String path : recordings.variables()) {
        Variable v = c.variable(path);
        all.add(c.memory().text(v));
        if (v.area() == 'Q') {
          all.add(c.field().text(v));
        }
      }
    }
    return all;
  }

  private Recordings.Run record(String name, ScanPolicy policy) {
    Controller c = program.newController(policy);
    Recordings.Run run = recordings.record(name, c);
    if (!feed(c)) {
      c.fault().ifPresent(f -> faults.put(name, f));
    }
    run.close();
    return run;
  }

  private boolean feed(Controller c) {
    InputsFile.Feed feed = stimulus.feed(c);
    for (long s = 1; s <= scans; s++) {
      feed.before(s);
      if (!c.scan()) {
        return false;
      }
    }
    return true;
  }

  /** Runs the policy of a recorded run again up to a scan, with the observer that explanations need. */
  Provenance provenance(Recordings.Run run, long untilScan) {
    Controller c = program.newController(run.policy());
    Provenance p = Provenance.of(c);
    InputsFile.Feed feed = stimulus.feed(c);
    for (long s = 1; s <= untilScan; s++) {
      feed.before(s);
      if (!c.scan()) {
        break;
      }
    }
    return p;
  }

  /** Moments of the scan looked at, after its start, at which something happens in the program; and what came out. */
  private static final class Probe implements Observer {
    private final long scan;
    private final Set<Long> inputs;
    private long start;
    private long before;
    private long now;
    private final CompiledProgram program;
    private boolean inProgram;
    private boolean refreshed;
    private String lastBefore = "";
    private String firstBehind = "";
    final TreeSet<Long> moments = new TreeSet<>();
    long hash = 0xcbf29ce484222325L;

    Probe(CompiledProgram program, long scan, Set<Long> inputs) {
      this.program = program;
      this.scan = scan;
      this.inputs = inputs;
    }

    @Override
    public Set<EventKind> wants() {
      return EnumSet.of(EventKind.SCAN_START, EventKind.PHASE, EventKind.STEP, EventKind.READ, EventKind.WRITE, EventKind.ELEMENT, EventKind.FIELD);
    }

    @Override
    public void on(Event e) {
      if (e.kind() == EventKind.SCAN_START) {
        start = e.time();
      }
      if (e.scan() != scan) {
        return;
      }
      where(e);
      if (e.kind() == EventKind.PHASE && e.phase() != Event.Phase.INPUT_REFRESH) {
        moments.add(e.time() - start);
      }
      if (e.kind() == EventKind.STEP) {
        before = now;
        now = e.time() - start;
      }
      if ((e.kind() == EventKind.READ || e.kind() == EventKind.WRITE && e.source() == Event.Source.INSTRUCTION) && inputs.contains(e.address())) {
        // a refresh in front of this step, and one behind it
        moments.add(before);
        moments.add(now);
      }
      if (e.kind() == EventKind.ELEMENT || e.kind() == EventKind.FIELD || e.kind() == EventKind.READ || e.kind() == EventKind.WRITE && e.source() == Event.Source.INSTRUCTION) {
        mix(e.kind().ordinal());
        mix(e.step());
        mix(e.address());
        mix(e.after());
        mix(e.test() ? 1 : 0);
        mix(e.power() ? 1 : 0);
      }
    }

    /** Where in the program the I/O subsystem refreshed the inputs, for people. */
    String place() {
      if (!refreshed) {
        return "refresh outside the program";
      }
      return lastBefore.isEmpty() ? firstBehind.isEmpty() ? "refresh within the program" : "refresh before " + firstBehind
          : firstBehind.isEmpty() ? "refresh after " + lastBefore
          : lastBefore.equals(firstBehind) ? "refresh within " + lastBefore : "refresh between " + lastBefore + " and " + firstBehind;
    }

    private void where(Event e) {
      if (e.kind() == EventKind.PHASE) {
        inProgram = e.phase() == Event.Phase.PROGRAM;
      } else if (inProgram && e.kind() == EventKind.WRITE && e.source() == Event.Source.INPUT_REFRESH) {
        refreshed = true;
      } else if (inProgram && e.step() >= 0 && (e.kind() == EventKind.READ || e.kind() == EventKind.WRITE || e.kind() == EventKind.ELEMENT)) {
        if (refreshed && !firstBehind.isEmpty()) {
          return;
        }
        StepInfo s = program.step(e.step());
        String at = s.network() > 0 ? "network " + s.network() : "line " + s.span().line();
        if (refreshed) {
          firstBehind = at;
        } else {
          lastBefore = at;
        }
      }
    }

    private void mix(long n) {
      hash = (hash ^ n) * 0x100000001b3L;
    }
  }

  private Probe probe(ScanPolicy policy) {
    Controller c = program.newController(policy.withDisplays(List.of()));
    Probe probe = new Probe(program, at, inputAddresses);
    InputsFile.Feed feed = stimulus.feed(c);
    for (long s = 1; s <= at; s++) {
      feed.before(s);
      if (s == at) {
        c.attach(probe);
      }
      if (!c.scan()) {
        probe.mix(s);
        break;
      }
    }
    for (String path : program.variables()) {
      Variable v = program.variable(path);
      Place memory = c.memory();
      if (!(v instanceof Variable.Text)) {
        probe.mix(memory.bits(v));
      }
    }
    return probe;
  }

  /**
   * An I/O subsystem on its own clock, once per period. Which phase it has decides what comes out, so that every phase is tried at which something
   * happens in the program, and one of each outcome is recorded.
   */
  private void asynchronous() {
    Probe image = probe(policy(InputAcquisition.image(), OutputDelivery.image()));
    List<Long> all = new ArrayList<>(image.moments);
    List<Long> tried = new ArrayList<>();
    tried.add(0L);
    int stride = Math.max(1, (all.size() + MOST_PHASES - 1) / MOST_PHASES);
    for (int i = 0; i < all.size(); i += stride) {
      if (all.get(i) > 0 && all.get(i) < period.toNanos()) {
        tried.add(all.get(i));
      }
    }
    Map<Long, String> places = new LinkedHashMap<>();
    Map<Long, List<Long>> outcomes = new LinkedHashMap<>();
    for (long phase : tried) {
      Probe p = probe(asynchronous(phase));
      places.put(phase, p.place());
      outcomes.computeIfAbsent(p.hash, k -> new ArrayList<>()).add(phase);
    }
    int shown = 0;
    Set<String> names = new LinkedHashSet<>();
    for (List<Long> phases : outcomes.values()) {
      if (shown++ == MOST_OUTCOMES) {
        break;
      }
      // of the phases with this outcome one whose place is easy to say
      long phase = phases.get(0);
      String place = places.get(phase);
      for (long p : phases) {
        if (place.startsWith("refresh within") && !places.get(p).startsWith("refresh within")) {
          place = places.get(p);
          phase = p;
        }
      }
      StringBuilder clock = new StringBuilder();
      RunCommand.milliseconds(clock, phase);
      String name = "asynchronous inputs, " + place;
      if (!names.add(name)) {
        name = name + ", phase " + clock + " ms";
      }
      record(name, asynchronous(phase));
      this.phases.put(name, clock.toString());
    }
    phasesTried = tried.size();
    outcomesFound = outcomes.size();
  }

  /** Phase in ms of each asynchronous run shown. */
  final Map<String, String> phases = new LinkedHashMap<>();
  int phasesTried;
  int outcomesFound;

  private ScanPolicy asynchronous(long phase) {
    return policy(InputAcquisition.asynchronous(period, Duration.ofNanos(phase)), OutputDelivery.image());
  }
}
