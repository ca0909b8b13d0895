package dev.scanloom;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.model.Element;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.StepInfo;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;

/**
 * A compiled program: what all its controllers share. Immutable and safe for use by several threads.
 */
public final class CompiledProgram {
  CompiledProgram() {}

  /**
   * A controller in the state before its first scan.
   *
   * @throws IllegalArgumentException when a display of the policy watches a variable that the program lacks
   */
  public Controller newController(ScanPolicy policy) {
    throw new UnsupportedOperationException("not written yet");
  }

  public ImplementerChoices choices() {
    throw new UnsupportedOperationException("not written yet");
  }

  public Limits limits() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Hash over steps and constants; equal programs have equal hashes on every machine. */
  public long hash() {
    throw new UnsupportedOperationException("not written yet");
  }

  public int stepCount() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** @throws IndexOutOfBoundsException outside 0 to {@link #stepCount()} - 1 */
  public StepInfo step(int id) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** All steps as text, a heading per body, each with its place in the source. */
  public List<String> listing() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The texts that the program was compiled from. */
  public List<SourceText> sources() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Bodies with their ladder networks, library bodies included, in the order of the steps. */
  public List<Pou> pous() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** All ladder elements by number, as events and displays know them. */
  public List<Element> elements() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Names of the tasks by index, as events tell it; the last one, nameless, stands for programs without a task. */
  public List<String> tasks() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Paths of all variables that can be watched, in the order of declaration. Of an array only the first 1,000 elements are listed. */
  public List<String> variables() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Known paths that are spelled nearly like this one, best first, at most three. */
  public List<String> nearest(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * A variable by its path: {@code a}, {@code prog.a}, {@code A.B}, {@code ARR[2]}, {@code %IX0.0}, {@code Step.X}; globals by bare name; in any case of letters.
   *
   * @throws Variable.Unknown when there is none
   * @throws IllegalArgumentException when the path names a structure, array or instance
   */
  public Variable variable(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** @throws IllegalArgumentException also when the variable is not BOOL */
  public Variable.Bool bool(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  public Variable.Integer integer(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  public Variable.Real real(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  public Variable.Text text(String path) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Name of what lies at an address that an event told: a variable's path, or the location's own text. */
  public String nameAt(long address, int width) {
    throw new UnsupportedOperationException("not written yet");
  }
}
