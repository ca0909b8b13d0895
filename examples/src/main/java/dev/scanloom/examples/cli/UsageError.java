package dev.scanloom.examples.cli;

/** The command was used in a way that cannot work, or an input cannot be read: exit code 2. The message is one sentence for people. */
final class UsageError extends RuntimeException {
  private static final long serialVersionUID = 1L;

  UsageError(String message) {
    super(message, null, false, false);
  }
}
