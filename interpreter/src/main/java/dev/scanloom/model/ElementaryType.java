package dev.scanloom.model;

/**
 * The elementary types of IEC 61131-3 Table 10 (and the UTF-8 types of edition 4), with how this implementation stores them.
 *
 * <p>A scalar is one 64-bit slot: BOOL 0 or 1; signed integers sign-extended, unsigned integers and bit strings zero-extended; REAL its IEEE 754
 * bits as a sign-extended 32-bit value, LREAL its 64 bits; TIME and LTIME nanoseconds; DATE, LDATE, DT, LDT nanoseconds since
 * 1970-01-01-00:00:00; TOD and LTOD nanoseconds since midnight; characters their code. Strings take several slots.
 */
public enum ElementaryType {
  BOOL(1, Family.BIT), BYTE(8, Family.BIT), WORD(16, Family.BIT), DWORD(32, Family.BIT), LWORD(64, Family.BIT),
  SINT(8, Family.SIGNED), INT(16, Family.SIGNED), DINT(32, Family.SIGNED), LINT(64, Family.SIGNED),
  USINT(8, Family.UNSIGNED), UINT(16, Family.UNSIGNED), UDINT(32, Family.UNSIGNED), ULINT(64, Family.UNSIGNED),
  REAL(32, Family.REAL), LREAL(64, Family.REAL),
  TIME(64, Family.DURATION), LTIME(64, Family.DURATION),
  DATE(64, Family.DATE), LDATE(64, Family.DATE),
  TOD(64, Family.TIME_OF_DAY), LTOD(64, Family.TIME_OF_DAY),
  DT(64, Family.DATE_AND_TIME), LDT(64, Family.DATE_AND_TIME),
  CHAR(8, Family.CHARACTER), WCHAR(16, Family.CHARACTER), UCHAR(32, Family.CHARACTER),
  STRING(0, Family.STRING), WSTRING(0, Family.STRING), USTRING(0, Family.STRING);

  /** Groups of types that behave alike. */
  public enum Family { BIT, SIGNED, UNSIGNED, REAL, DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME, CHARACTER, STRING }

  private final int bits;
  private final Family family;

  ElementaryType(int bits, Family family) {
    this.bits = bits;
    this.family = family;
  }

  /** Width in bits; 0 for strings. */
  public int bits() {
    return bits;
  }

  public Family family() {
    return family;
  }

  /** ANY_INT: signed or unsigned integer. */
  public boolean isInteger() {
    return family == Family.SIGNED || family == Family.UNSIGNED;
  }

  /** ANY_REAL. */
  public boolean isReal() {
    return family == Family.REAL;
  }

  /** ANY_NUM: integer or real. */
  public boolean isNumber() {
    return isInteger() || isReal();
  }

  /** ANY_BIT, BOOL included. */
  public boolean isBits() {
    return family == Family.BIT;
  }

  /** STRING, WSTRING or USTRING. */
  public boolean isString() {
    return family == Family.STRING;
  }
}
