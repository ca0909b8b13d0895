package dev.scanloom.examples.cli;

/** Exit codes; a contract, other programs look at them. */
final class ExitCode {
  static final int FINE = 0;
  static final int PROGRAM_ERRORS = 1;
  static final int USAGE = 2;
  static final int FAULT = 3;

  private ExitCode() {}
}
