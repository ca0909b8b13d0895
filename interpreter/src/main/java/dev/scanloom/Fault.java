package dev.scanloom;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/**
 * What stopped a controller. Immutable.
 *
 * @param code stable slug such as {@code fault/index-range}
 * @param message what was wrong, with the values involved
 * @param span source of the step that failed
 * @param scan number of the scan, from 1
 * @param ordinal number of the step within the scan, from 1
 * @param step number of the step in the compiled program
 * @param time virtual time in nanoseconds
 * @param task name of the task; empty without one
 * @param variables names of the variables that the failing statement reads or writes, as far as they are known
 */
public record Fault(
    String code, String message, Span span, long scan, long ordinal, int step, long time, String task, List<String> variables) {
  public Fault {
    variables = List.copyOf(variables);
  }

  /** {@code file:line:column: fault: message [code]}, on one line. */
  public String oneLine() {
    return span.place() + ": fault: " + message + " [" + code + "]";
  }

  @Override
  public String toString() {
    return oneLine();
  }
}
