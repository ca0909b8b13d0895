package dev.scanloom;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/**
 * What stopped a controller. Immutable.
 *
 * @param code stable slug such as {@code fault/index-range}
 * @param message what was wrong, with the values involved
 * @param span source of the step that failed; when that lies in a body of a library, of the innermost step of the user's program that called it
 * @param library source of the step that failed when it lies in a body of a library
 * @param scan number of the scan, from 1
 * @param ordinal number of the step within the scan, from 1
 * @param step number of the step in the compiled program
 * @param time virtual time in nanoseconds
 * @param task name of the task; empty without one
 * @param variables names of the variables that the failing statement reads or writes, as far as they are known
 */
public record Fault(
    String code, String message, Span span, Optional<Span> library, long scan, long ordinal, int step, long time, String task, List<String> variables) {
  public Fault {
    variables = List.copyOf(variables);
  }

  /** {@code file:line:column: fault: message [code]}, on one line; behind the message the place in a library. */
  public String oneLine() {
    return span.place() + ": fault: " + message + library.map(s -> " (in " + s.place() + ")").orElse("") + " [" + code + "]";
  }

  @Override
  public String toString() {
    return oneLine();
  }
}
