package dev.scanloom.report;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/**
 * Runs of one program, recorded compactly and together, as raw material for tables, pictures, waveforms and the page. Kept are reads, writes, ladder
 * elements, phases, field changes, samples and what displays paint; not the operand stack.
 *
 * <p>Variables are those declared in the program (the first {@value #MOST_DECLARED}) and, beyond these, those that a run touches. Confined to one thread.
 */
public final class Recordings {
  private static final int MOST_DECLARED = 300;
  private static final int MOST_ITEMS = 4_000;

  private final CompiledProgram program;
  final EventStore store = new EventStore();
  final List<Variable> items = new ArrayList<>();
  private final Map<String, Integer> itemOfPath = new LinkedHashMap<>();
  // addresses to items; looked up only
  private final Map<Long, Integer> slotItem = new HashMap<>();
  private final Map<Long, int[]> locatedItems = new HashMap<>();
  private final Set<Long> named = new java.util.HashSet<>();
  private final Map<Integer, Map<Long, Integer>> valueTexts = new HashMap<>();
  final List<StepInfo> steps = new ArrayList<>();
  private final Map<Integer, Integer> stepIndex = new HashMap<>();
  private final Set<String> libraryBodies = new java.util.HashSet<>();
  private final Map<String, Integer> bodyIndex = new LinkedHashMap<>();
  private final List<Run> runs = new ArrayList<>();

  /** An empty collection for a program. */
  public Recordings(CompiledProgram program) {
    this.program = program;
    for (Pou p : program.pous()) {
      if (p.library()) {
        libraryBodies.add(p.name());
      }
      bodyIndex.putIfAbsent(p.name(), bodyIndex.size());
    }
    int n = 0;
    for (String path : program.variables()) {
      if (n++ >= MOST_DECLARED) {
        break;
      }
      item(path);
    }
    for (Element e : program.elements()) {
      if (e.title().startsWith("%")) {
        item(e.title());
      }
    }
  }

  /** The program whose runs these are. */
  public CompiledProgram program() {
    return program;
  }

  /** The runs in the order in which they were begun. */
  public List<Run> runs() {
    return List.copyOf(runs);
  }

  /**
   * Begins to record a controller, which should not have scanned yet. Ends with {@link Run#close()}.
   *
   * @param name what people call this run, such as its policy
   * @throws IllegalArgumentException when the controller runs another program
   */
  public Run record(String name, Controller controller) {
    if (controller.program() != program) {
      throw new IllegalArgumentException("a controller of another program");
    }
    Run run = new Run(name, controller);
    runs.add(run);
    controller.attach(run);
    return run;
  }

  /** Drops a run that is not wanted after all. */
  public void drop(Run run) {
    run.close();
    runs.remove(run);
  }

  /** Paths of the variables that the recordings know, in the order used everywhere. */
  public List<String> variables() {
    return items.stream().map(Variable::path).toList();
  }

  /**
   * Something that differs at one scan: what a display paints from what was executed, field from memory, or one policy from the first.
   *
   * @param what one line for people
   * @param runs indices in {@link #runs()} of the runs in which it differs
   * @param variable path of the variable concerned; empty when it is an element
   * @param element number of the ladder element concerned, or -1
   * @param scan scan from 1
   * @param step number of the step in the program that separates them, or -1 when it was no step
   * @param separation what happened there, in words
   */
  public record Difference(String what, List<Integer> runs, String variable, int element, long scan, int step, String separation) {}

  /** All differences at the end of a scan (from 1), across displays and across runs. */
  public List<Difference> differences(int scan) {
    return new Comparison(this, scan - 1).differences();
  }

  /** All recorded runs side by side at the end of a scan (from 1): a row per run and display. */
  public Tables comparison(int scan) {
    return new Comparison(this, scan - 1).table();
  }

  /** The terminals moved through the same values in every scan of both runs, whenever within the scan that was. */
  public boolean sameFieldChanges(Run a, Run b) {
    if (a.scans() != b.scans()) {
      return false;
    }
    for (int i = 0; i < a.scans(); i++) {
      if (!fieldChanges(a, i).equals(fieldChanges(b, i))) {
        return false;
      }
    }
    return true;
  }

  private static Map<Long, List<Long>> fieldChanges(Run run, int scan) {
    Map<Long, List<Long>> all = new LinkedHashMap<>();
    run.log.visit(scan, (kind, time, a, b, c, value) -> {
      if (kind == EventStore.FIELD) {
        all.computeIfAbsent(a, k -> new ArrayList<>()).add(value);
      }
    });
    return all;
  }

  private int item(String path) {
    Integer known = itemOfPath.get(path);
    if (known != null) {
      return known;
    }
    // a dollar marks what the compiler made, such as the memory of an edge contact
    if (items.size() >= MOST_ITEMS || path.indexOf('$') >= 0) {
      return -1;
    }
    Variable v;
    try {
      v = program.variable(path);
    } catch (IllegalArgumentException e) {
      return -1;
    }
    Integer same = itemOfPath.get(v.path());
    if (same != null) {
      itemOfPath.put(path, same);
      return same;
    }
    if (v.isLocated()) {
      for (int i = 0; i < items.size(); i++) {
        // a location and the variable declared at it are one thing; the declared name, which comes first, stays
        if (items.get(i).isLocated() && items.get(i).address() == v.address() && items.get(i).width() == v.width()) {
          itemOfPath.put(path, i);
          return i;
        }
      }
    }
    int index = items.size();
    items.add(v);
    itemOfPath.put(v.path(), index);
    itemOfPath.put(path, index);
    if (v.isLocated()) {
      locatedItems.clear();
    } else {
      slotItem.put(v.address(), index);
    }
    for (Run r : runs) {
      r.learn(index);
    }
    return index;
  }

  int itemOf(String path) {
    return itemOfPath.getOrDefault(path, -1);
  }

  /** The display takes only some of its items at a time. */
  static boolean isPiecewise(ScanPolicy.Display d) {
    return d.sampling().chunk(Integer.MAX_VALUE) < Integer.MAX_VALUE;
  }

  private static boolean isLocated(long address) {
    // as Variable.isLocated; locations have addresses far beyond any slot
    return address > 1L << 60;
  }

  /** Items that overlap a location or are a slot; the exact one, if there is one, first. */
  private int[] itemsAt(long address, int width, boolean byProgram) {
    if (byProgram && isLocated(address) && named.add(address * 131 + width)) {
      // what a program names is worth a row of its own; what a refresh copies in passing is not
      item(program.nameAt(address, width));
    }
    if (!isLocated(address)) {
      Integer slot = slotItem.get(address);
      if (slot == null) {
        slot = item(program.nameAt(address, width));
        slotItem.put(address, slot);
      }
      return slot < 0 ? new int[0] : new int[] {slot};
    }
    long key = address * 131 + width;
    int[] known = locatedItems.get(key);
    if (known == null) {
      int[] found = new int[items.size()];
      int n = 0;
      for (int i = 0; i < items.size(); i++) {
        Variable v = items.get(i);
        if (v.isLocated() && v.address() < address + width && address < v.address() + v.width()) {
          boolean exact = v.address() == address && v.width() == width;
          if (exact && n > 0) {
            found[n] = found[0];
            found[0] = i;
          } else {
            found[n] = i;
          }
          n++;
        }
      }
      known = Arrays.copyOf(found, n);
      locatedItems.put(key, known);
    }
    return known;
  }

  private int valueText(int item, long bits) {
    Map<Long, Integer> known = valueTexts.computeIfAbsent(item, k -> new HashMap<>());
    Integer text = known.get(bits);
    if (text == null) {
      text = store.text(items.get(item).format(bits));
      if (known.size() < 100_000) {
        known.put(bits, text);
      }
    }
    return text;
  }

  private int step(int id) {
    if (id < 0) {
      return -1;
    }
    Integer known = stepIndex.get(id);
    if (known == null) {
      known = steps.size();
      steps.add(program.step(id));
      stepIndex.put(id, known);
    }
    return known;
  }

  private int body(String name) {
    return bodyIndex.computeIfAbsent(name, k -> bodyIndex.size());
  }

  List<String> bodies() {
    return List.copyOf(bodyIndex.keySet());
  }

  int bodyOf(StepInfo s) {
    return body(s.body());
  }

  /** One recorded run. Attached to its controller from the beginning to {@link #close()}. */
  public final class Run implements Observer {
    private final String name;
    private final Controller controller;
    private final List<ScanPolicy.Display> displays;
    private final List<Place.Display> places = new ArrayList<>();
    final EventStore.Log log = new EventStore.Log(store);
    private int[] memory = new int[0];
    private int[] field = new int[0];
    private int[] memoryNow = new int[0];
    private int[] fieldNow = new int[0];
    private final int[][] paintedNow;
    private final boolean[] dirty;
    private final boolean[] paintsWithoutSample;
    private final boolean[] piecewise;
    private int sampling = -1;
    private long samplingTime;
    private int[][] shownNow;
    private boolean closed;
    private long where = -1;

    private Run(String name, Controller controller) {
      this.name = name;
      this.controller = controller;
      this.displays = controller.policy().displays();
      int elements = program.elements().size();
      paintedNow = new int[displays.size()][elements];
      shownNow = new int[displays.size()][0];
      dirty = new boolean[displays.size()];
      paintsWithoutSample = new boolean[displays.size()];
      piecewise = new boolean[displays.size()];
      for (int d = 0; d < displays.size(); d++) {
        places.add(controller.display(displays.get(d).name()));
        Arrays.fill(paintedNow[d], -1);
        piecewise[d] = isPiecewise(displays.get(d));
        paintsWithoutSample[d] = !displays.get(d).painting().needsSample();
      }
      for (int i = 0; i < items.size(); i++) {
        learn(i);
      }
    }

    /** What people call this run. */
    public String name() {
      return name;
    }

    /** The policy under which it runs. */
    public ScanPolicy policy() {
      return controller.policy();
    }

    /** The controller it records; the recording only reads it. */
    public Controller controller() {
      return controller;
    }

    /** Number of scans recorded. */
    public int scans() {
      return log.count();
    }

    private void learn(int index) {
      if (closed && index >= memory.length) {
        return;
      }
      while (memory.length <= index) {
        memory = append(memory);
        field = append(field);
        memoryNow = append(memoryNow);
        fieldNow = append(fieldNow);
        for (int d = 0; d < shownNow.length; d++) {
          shownNow[d] = append(shownNow[d]);
        }
      }
      memory[index] = now(controller.memory(), index);
      memoryNow[index] = memory[index];
      field[index] = hasTerminal(index) ? now(controller.field(), index) : -1;
      fieldNow[index] = field[index];
    }

    private int[] append(int[] a) {
      int[] b = Arrays.copyOf(a, a.length + 1);
      b[a.length] = -1;
      return b;
    }

    private int now(Place place, int item) {
      Variable v = items.get(item);
      return v instanceof Variable.Text ? store.text(place.text(v)) : valueText(item, place.bits(v));
    }

    @Override
    public Set<EventKind> wants() {
      return EnumSet.complementOf(EnumSet.of(EventKind.STEP));
    }

    /** Ends the recording; what was recorded stays. */
    public void close() {
      if (!closed) {
        controller.detach(this);
        flush(controller.time());
        if (log.isOpen()) {
          log.end();
        }
        for (int i = 0; i < items.size(); i++) {
          if (i >= memory.length) {
            learn(i);
          }
        }
        closed = true;
      }
    }

    @Override
    public void on(Event e) {
      long time = e.time();
      if (e.kind() != EventKind.SAMPLE) {
        flush(time);
      }
      if (!log.isOpen()) {
        log.begin(time);
        where = -1;
      }
      switch (e.kind()) {
        case SCAN_START -> {
        }
        case SCAN_END -> log.end();
        case PHASE -> {
          where = -2 - e.phase().ordinal();
          log.event0(EventStore.PHASE, time, where, e.phase().ordinal(), 0);
        }
        case TASK -> {
          if (!e.detail().isEmpty() && program.tasks().size() > 1) {
            String task = e.task() >= 0 && e.task() < program.tasks().size() ? program.tasks().get(e.task()) : "";
            log.event0(EventStore.TASK, time, where, 0, store.text((task.isEmpty() ? "" : task + " ") + e.detail()));
          }
        }
        case STEP -> {
        }
        case READ -> read(e, time);
        case WRITE -> write(e, time);
        case ELEMENT -> {
          place(e.step());
          log.event2(EventStore.ELEMENT, time, where, step(e.step()), e.element(), (e.test() ? 1 : 0) | (e.power() ? 2 : 0));
          for (int d = 0; d < dirty.length; d++) {
            dirty[d] |= paintsWithoutSample[d];
          }
        }
        case FIELD -> {
          for (int item : itemsAt(e.address(), e.width(), false)) {
            if (!hasTerminal(item)) {
              continue;
            }
            boolean exact = items.get(item).address() == e.address() && items.get(item).width() == e.width();
            int text = exact ? valueText(item, e.after()) : now(controller.field(), item);
            if (fieldNow[item] != text) {
              fieldNow[item] = text;
              log.event0(EventStore.FIELD, time, where, item, text);
            }
          }
        }
        case SAMPLE -> sample(e, time);
        case FAULT -> log.event0(EventStore.FAULT, time, where, step(e.step()), store.text(e.detail()));
      }
    }

    private boolean hasTerminal(int item) {
      return items.get(item).area() == 'I' || items.get(item).area() == 'Q';
    }

    /** Events of one network, or of one body outside ladder, lie together in the store. */
    private void place(int step) {
      if (step >= 0) {
        StepInfo s = steps.get(step(step));
        where = (long) body(s.body()) << 20 | s.network();
      }
    }

    private boolean inLibrary(int step) {
      return step >= 0 && libraryBodies.contains(steps.get(step(step)).body());
    }

    private void read(Event e, long time) {
      if (inLibrary(e.step())) {
        return;
      }
      place(e.step());
      int[] at = itemsAt(e.address(), e.width(), true);
      if (at.length == 0) {
        return;
      }
      Variable v = items.get(at[0]);
      boolean exact = v.address() == e.address() && !(v instanceof Variable.Text);
      log.event2(EventStore.READ, time, where, step(e.step()), at[0], exact ? valueText(at[0], e.after()) : now(controller.memory(), at[0]));
    }

    private void write(Event e, long time) {
      place(e.step());
      int[] at = itemsAt(e.address(), e.width(), e.source() != Event.Source.INPUT_REFRESH);
      for (int i = 0; i < at.length; i++) {
        Variable v = items.get(at[i]);
        boolean exact = v.address() == e.address() && v.width() == e.width() && !(v instanceof Variable.Text);
        int text = exact ? valueText(at[i], e.after()) : now(controller.memory(), at[i]);
        if (i == 0 && e.source() != Event.Source.INPUT_REFRESH || text != memoryNow[at[i]] || exact) {
          memoryNow[at[i]] = text;
          log.write(time, where, step(e.step()), at[i], e.source().ordinal(), text);
        }
      }
    }

    private void sample(Event e, long time) {
      int d = -1;
      for (int i = 0; i < displays.size(); i++) {
        if (displays.get(i).name().equals(e.detail())) {
          d = i;
        }
      }
      if (d < 0) {
        return;
      }
      if (sampling != d || samplingTime != time) {
        flush(time);
        if (!log.isOpen()) {
          log.begin(time);
        }
        sampling = d;
        samplingTime = time;
        log.event2(EventStore.SAMPLE, time, -100 - d, d, -1, 0);
      }
      dirty[d] = true;
      for (int item : itemsAt(e.address(), e.width(), false)) {
        Variable v = items.get(item);
        boolean exact = v.address() == e.address() && v.width() == e.width();
        if (!exact && !places.get(d).isWatched(v)) {
          continue;
        }
        int text = exact && !(v instanceof Variable.Text) ? valueText(item, e.after()) : now(places.get(d), item);
        // of a display that samples piece by piece it matters when a value was taken, not only which
        if (shownNow[d][item] != text || piecewise[d]) {
          shownNow[d][item] = text;
          log.event2(EventStore.SAMPLE, time, -100 - d, d, item, text);
        }
      }
    }

    /** What the displays paint is compared after a sample is complete, that is when something else happens. */
    private void flush(long time) {
      for (int d = 0; d < dirty.length; d++) {
        if (!dirty[d] || !log.isOpen()) {
          continue;
        }
        dirty[d] = false;
        Place.Display place = places.get(d);
        for (int i = 0; i < paintedNow[d].length; i++) {
          int now = place.isPainted(i) ? place.painted(i) ? 1 : 0 : -1;
          if (now >= 0 && now != paintedNow[d][i]) {
            paintedNow[d][i] = now;
            log.event2(EventStore.PAINT, sampling == d ? samplingTime : time, sampling == d ? -100 - d : where, d, i, now);
          }
        }
      }
      sampling = -1;
    }

    int[] firstMemory() {
      return known(memory);
    }

    int[] firstField() {
      return known(field);
    }

    /** One entry per item that any run knows; this run never touched the ones it does not know itself, so that they hold what they hold now. */
    private int[] known(int[] own) {
      int[] all = Arrays.copyOf(own, items.size());
      for (int i = own.length; i < all.length; i++) {
        all[i] = own == memory ? now(controller.memory(), i) : hasTerminal(i) ? now(controller.field(), i) : -1;
      }
      return all;
    }
  }

  static String kind(Element e) {
    return e.kind().name().toLowerCase(Locale.ROOT);
  }

  Optional<Pou> pou(String name) {
    return program.pous().stream().filter(p -> p.name().equals(name)).findFirst();
  }

  List<SourceText> sources() {
    return program.sources();
  }

  List<Network> networks(Pou pou) {
    return pou.networks();
  }
}
