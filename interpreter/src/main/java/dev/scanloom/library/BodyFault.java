package dev.scanloom.library;

/** An error condition met by a {@link NativeBody}, such as a character position that does not exist. Carries no stack trace. */
public final class BodyFault extends RuntimeException {
  private static final long serialVersionUID = 1L;
  private final String code;

  /**
   * @param code stable slug of the form {@code fault/string-position}
   * @param message what was wrong, with the values involved
   */
  public BodyFault(String code, String message) {
    super(message, null, false, false);
    this.code = code;
  }

  public String code() {
    return code;
  }
}
