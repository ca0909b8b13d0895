package dev.scanloom.diagnostic;

/** How much a diagnostic matters. A program with at least one {@link #ERROR} is not compiled. */
public enum Severity {
  /** The text breaks a rule of the language; no program results. */
  ERROR,
  /** The text is legal but is a known trap, an extension or deprecated. */
  WARNING,
  /** A remark that asks for nothing. */
  NOTE;

  /** The word that people see: {@code error}, {@code warning} or {@code note}. */
  public String word() {
    return switch (this) {
      case ERROR -> "error";
      case WARNING -> "warning";
      case NOTE -> "note";
    };
  }
}
