package dev.scanloom.library;

import dev.scanloom.model.ElementaryType;

/**
 * Parameters of one call of a {@link NativeBody}. Parameters are numbered from 0 in the order of declaration over all sections (VAR_INPUT, VAR_OUTPUT,
 * VAR_IN_OUT as they stand); the result is number {@link #RESULT}. Scalars are slot values as {@link ElementaryType} tells.
 *
 * <p>Valid only during the call; confined to the calling thread.
 */
public interface CallFrame {

  /** Number of the function result. */
  int RESULT = -1;

  /**
   * Elementary type of a parameter or the result in this call: for a generic parameter (ANY_REAL, ANY_STRING) the type it stands for here, for an
   * enumeration or subrange its base type. One body so serves REAL and LREAL, or all string types.
   */
  ElementaryType type(int parameter);

  /** Slot value of a scalar parameter. */
  long bits(int parameter);

  /** Sets a scalar output or the result. */
  void setBits(int parameter, long value);

  /** Value of a REAL parameter. */
  default float real(int parameter) {
    return Float.intBitsToFloat((int) bits(parameter));
  }

  /** Value of an LREAL parameter. */
  default double lreal(int parameter) {
    return Double.longBitsToDouble(bits(parameter));
  }

  default void setReal(int parameter, float value) {
    setBits(parameter, Float.floatToRawIntBits(value));
  }

  default void setLreal(int parameter, double value) {
    setBits(parameter, Double.doubleToRawLongBits(value));
  }

  default boolean bool(int parameter) {
    return bits(parameter) != 0;
  }

  default void setBool(int parameter, boolean value) {
    setBits(parameter, value ? 1 : 0);
  }

  /** Number of characters of a string parameter. */
  int length(int parameter);

  /** Greatest number of characters that a string parameter can hold. */
  int capacity(int parameter);

  /** Character at {@code index}, counted from 0: a code of 8 bits (STRING), 16 bits (WSTRING) or a code point (USTRING). */
  int unit(int parameter, int index);

  /** Makes a string output or result empty. */
  void clear(int parameter);

  /**
   * Appends one character to a string output or result.
   *
   * @throws BodyFault {@code fault/string-length} beyond its capacity
   */
  void append(int parameter, int unit);

  /** Appends {@code count} characters of a string parameter from {@code index}. Charged against the step budget before anything is copied. */
  void append(int parameter, int source, int index, int count);
}
