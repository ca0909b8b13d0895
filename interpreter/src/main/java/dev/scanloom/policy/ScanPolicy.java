package dev.scanloom.policy;

import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;

/**
 * How a controller scans: one choice per axis, all in one value. Start from {@link #image()}, {@link #immediate()} or {@link #asynchronous}, and
 * change single axes with the {@code with} methods.
 *
 * <p>Immutable and safe for use by several threads, as all built-in choices are.
 *
 * @param inputs acquisition per range of input bytes; of several entries that cover a byte the last one holds
 * @param outputs delivery per range of output bytes, likewise
 * @param displays monitoring screens on the run, by name
 * @param trigger when the next scan begins
 * @param externalWrites when a panel's or peer's write lands
 * @param taskSwitching whether tasks interrupt each other
 * @param images whether tasks share the process image or work on copies of their own
 * @param costs what steps and phases cost in virtual time
 * @param firmForces a force also holds against instructions that write the variable; else it holds against refresh and delivery only
 * @param execution how steps are executed
 * @param seed of everything that is drawn
 */
public record ScanPolicy(
    List<Inputs> inputs,
    List<Outputs> outputs,
    List<Display> displays,
    ScanTrigger trigger,
    ExternalWrites externalWrites,
    TaskSwitching taskSwitching,
    ProcessImages images,
    CostModel costs,
    boolean firmForces,
    Execution execution,
    long seed) {

  /** Name of the display that every policy has unless it was replaced. */
  public static final String SCREEN = "screen";

  /** Input bytes {@code from} to {@code to}, both included. */
  public record Inputs(int from, int to, InputAcquisition acquisition) {
    public Inputs {
      checkRange(from, to);
      Objects.requireNonNull(acquisition, "acquisition");
    }
  }

  /** Output bytes {@code from} to {@code to}, both included. */
  public record Outputs(int from, int to, OutputDelivery delivery) {
    public Outputs {
      checkRange(from, to);
      Objects.requireNonNull(delivery, "delivery");
    }
  }

  /**
   * A monitoring screen.
   *
   * @param items paths of the variables it watches, in the order in which it samples them; empty for all memory and all ladder operands
   */
  public record Display(String name, DisplaySampling sampling, Painting painting, List<String> items) {
    public Display {
      Objects.requireNonNull(name, "name");
      Objects.requireNonNull(sampling, "sampling");
      Objects.requireNonNull(painting, "painting");
      items = List.copyOf(items);
    }
  }

  public ScanPolicy {
    inputs = List.copyOf(inputs);
    outputs = List.copyOf(outputs);
    displays = List.copyOf(displays);
    Objects.requireNonNull(trigger, "trigger");
    Objects.requireNonNull(externalWrites, "externalWrites");
    Objects.requireNonNull(taskSwitching, "taskSwitching");
    Objects.requireNonNull(images, "images");
    Objects.requireNonNull(costs, "costs");
    Objects.requireNonNull(execution, "execution");
  }

  private static void checkRange(int from, int to) {
    if (from < 0 || to < from) {
      throw new IllegalArgumentException("bytes " + from + " to " + to + " are no range");
    }
  }

  private static ScanPolicy of(InputAcquisition in, OutputDelivery out) {
    return new ScanPolicy(
        List.of(new Inputs(0, Integer.MAX_VALUE, in)),
        List.of(new Outputs(0, Integer.MAX_VALUE, out)),
        List.of(new Display(SCREEN, DisplaySampling.scanEnd(), Painting.fromSample(), List.of())),
        ScanTrigger.freeRunning(),
        ExternalWrites.betweenScans(),
        TaskSwitching.nonPreemptive(),
        ProcessImages.shared(),
        CostModel.standard(),
        false,
        Execution.AUTOMATIC,
        0);
  }

  /** Inputs copied once before the program, outputs once after it. */
  public static ScanPolicy image() {
    return of(InputAcquisition.image(), OutputDelivery.image());
  }

  /** Inputs copied at every read, outputs at every write. */
  public static ScanPolicy immediate() {
    return of(InputAcquisition.immediate(), OutputDelivery.immediate());
  }

  /**
   * Inputs and outputs copied by an I/O subsystem every {@code period}, from 0.
   *
   * @throws IllegalArgumentException for a period of zero or less
   */
  public static ScanPolicy asynchronous(Duration period) {
    return of(InputAcquisition.asynchronous(period, Duration.ZERO), OutputDelivery.asynchronous(period, Duration.ZERO));
  }

  /** The same with one acquisition for all inputs. */
  public ScanPolicy withInputs(InputAcquisition acquisition) {
    return new ScanPolicy(List.of(new Inputs(0, Integer.MAX_VALUE, acquisition)), outputs, displays, trigger, externalWrites, taskSwitching,
        images, costs, firmForces, execution, seed);
  }

  /** The same with another acquisition for input bytes {@code from} to {@code to}, both included. */
  public ScanPolicy withInputs(int from, int to, InputAcquisition acquisition) {
    return new ScanPolicy(plus(inputs, new Inputs(from, to, acquisition)), outputs, displays, trigger, externalWrites, taskSwitching,
        images, costs, firmForces, execution, seed);
  }

  /** The same with one delivery for all outputs. */
  public ScanPolicy withOutputs(OutputDelivery delivery) {
    return new ScanPolicy(inputs, List.of(new Outputs(0, Integer.MAX_VALUE, delivery)), displays, trigger, externalWrites, taskSwitching,
        images, costs, firmForces, execution, seed);
  }

  /** The same with another delivery for output bytes {@code from} to {@code to}, both included. */
  public ScanPolicy withOutputs(int from, int to, OutputDelivery delivery) {
    return new ScanPolicy(inputs, plus(outputs, new Outputs(from, to, delivery)), displays, trigger, externalWrites, taskSwitching,
        images, costs, firmForces, execution, seed);
  }

  /** The same with one more display, or another one of that name; it watches everything. */
  public ScanPolicy withDisplay(String name, DisplaySampling sampling, Painting painting) {
    return withDisplay(name, sampling, painting, List.of());
  }

  /** The same with one more display, or another one of that name, that watches variables by path in this order. */
  public ScanPolicy withDisplay(String name, DisplaySampling sampling, Painting painting, List<String> items) {
    Display d = new Display(name, sampling, painting, items);
    List<Display> all = new ArrayList<>(displays);
    for (int i = 0; i < all.size(); i++) {
      if (all.get(i).name().equals(name)) {
        all.set(i, d);
        return withDisplays(all);
      }
    }
    all.add(d);
    return withDisplays(all);
  }

  /** The same without any display: for batch runs that look at memory and field only. */
  public ScanPolicy withoutDisplays() {
    return withDisplays(List.of());
  }

  /** The same with these displays only; none makes the fastest run. */
  public ScanPolicy withDisplays(List<Display> all) {
    return new ScanPolicy(inputs, outputs, all, trigger, externalWrites, taskSwitching, images, costs, firmForces, execution, seed);
  }

  /** The same with another {@link #trigger()}. */
  public ScanPolicy withTrigger(ScanTrigger t) {
    return new ScanPolicy(inputs, outputs, displays, t, externalWrites, taskSwitching, images, costs, firmForces, execution, seed);
  }

  /** The same with another {@link #externalWrites()}. */
  public ScanPolicy withExternalWrites(ExternalWrites w) {
    return new ScanPolicy(inputs, outputs, displays, trigger, w, taskSwitching, images, costs, firmForces, execution, seed);
  }

  /** The same with another {@link #taskSwitching()}. */
  public ScanPolicy withTaskSwitching(TaskSwitching s) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, s, images, costs, firmForces, execution, seed);
  }

  /** The same with another {@link #images()}. */
  public ScanPolicy withImages(ProcessImages i) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, taskSwitching, i, costs, firmForces, execution, seed);
  }

  /** The same with another {@link #costs()}. */
  public ScanPolicy withCosts(CostModel c) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, taskSwitching, images, c, firmForces, execution, seed);
  }

  /** The same with another {@link #firmForces()}. */
  public ScanPolicy withFirmForces(boolean firm) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, taskSwitching, images, costs, firm, execution, seed);
  }

  /** The same with another {@link #execution()}. */
  public ScanPolicy withExecution(Execution e) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, taskSwitching, images, costs, firmForces, e, seed);
  }

  /** The same with another {@link #seed()}. */
  public ScanPolicy withSeed(long s) {
    return new ScanPolicy(inputs, outputs, displays, trigger, externalWrites, taskSwitching, images, costs, firmForces, execution, s);
  }

  private static <T> List<T> plus(List<T> list, T last) {
    List<T> all = new ArrayList<>(list);
    all.add(last);
    return all;
  }
}
