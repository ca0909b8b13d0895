package dev.scanloom.diagnostic;

import java.util.List;
import java.util.Objects;
import java.util.Optional;

/**
 * What a stage of the compiler has to say about a place in a source text. Codes are stable slugs such as
 * {@code type/assignment}; the wording of messages may improve at any time.
 *
 * @param severity how much it matters
 * @param code stable slug, {@code family/name} in lower case
 * @param span where; start and end
 * @param message one sentence in the standard's vocabulary: what was found, what was expected
 * @param hint what would help, if something does
 * @param related other places that belong to it, such as an earlier declaration
 */
public record Diagnostic(
    Severity severity, String code, Span span, String message, Optional<String> hint, List<Related> related) {

  /** Another place that belongs to a diagnostic, with a few words saying why. */
  public record Related(Span span, String message) {}

  public Diagnostic {
    Objects.requireNonNull(severity, "severity");
    Objects.requireNonNull(code, "code");
    Objects.requireNonNull(span, "span");
    Objects.requireNonNull(message, "message");
    Objects.requireNonNull(hint, "hint");
    related = List.copyOf(related);
  }

  /** An error without hint and related places. */
  public static Diagnostic error(String code, Span span, String message) {
    return new Diagnostic(Severity.ERROR, code, span, message, Optional.empty(), List.of());
  }

  /** A warning without hint and related places. */
  public static Diagnostic warning(String code, Span span, String message) {
    return new Diagnostic(Severity.WARNING, code, span, message, Optional.empty(), List.of());
  }

  /** The same diagnostic with a hint. */
  public Diagnostic withHint(String text) {
    return new Diagnostic(severity, code, span, message, Optional.of(text), related);
  }

  /** The same diagnostic with one more related place. */
  public Diagnostic withRelated(Span place, String text) {
    var all = new java.util.ArrayList<>(related);
    all.add(new Related(place, text));
    return new Diagnostic(severity, code, span, message, hint, all);
  }

  /** {@code file:line:column: error: message [code]}, on one line. */
  public String oneLine() {
    return span.place() + ": " + severity.word() + ": " + message + " [" + code + "]";
  }

  @Override
  public String toString() {
    return oneLine();
  }
}
