package dev.scanloom;

import dev.scanloom.model.ElementaryType;
import java.util.List;

/**
 * A handle of one elementary or string variable of a compiled program, looked up once by its path. It holds no value: values are in the places of a
 * {@link Controller}. Structures, arrays and instances have no handle; their elements have.
 *
 * <p>Immutable and safe for use by several threads; good for all controllers of its program.
 */
public abstract sealed class Variable {
  private final String path;
  private final String typeName;
  private final ElementaryType type;
  private final long address;

  Variable(String path, String typeName, ElementaryType type, long address) {
    this.path = path;
    this.typeName = typeName;
    this.type = type;
    this.address = address;
  }

  /** No variable has that path; the message offers the nearest names. */
  public static final class Unknown extends IllegalArgumentException {
    private static final long serialVersionUID = 1L;
    private final transient List<String> nearest;

    Unknown(String message, List<String> nearest) {
      super(message);
      this.nearest = nearest;
    }

    /** Nearest names, best first; possibly empty. */
    public List<String> nearest() {
      return nearest;
    }
  }

  /** BOOL. */
  public static final class Bool extends Variable {
    Bool(String path, String typeName, ElementaryType type, long address) {
      super(path, typeName, type, address);
    }
  }

  /**
   * Anything counted in whole numbers: integers, bit strings (as unsigned), durations, dates and times (nanoseconds), characters (code), enumerations
   * (number), references (address).
   */
  public static final class Integer extends Variable {
    Integer(String path, String typeName, ElementaryType type, long address) {
      super(path, typeName, type, address);
    }
  }

  /** REAL or LREAL. */
  public static final class Real extends Variable {
    Real(String path, String typeName, ElementaryType type, long address) {
      super(path, typeName, type, address);
    }
  }

  /** STRING, WSTRING or USTRING. */
  public static final class Text extends Variable {
    Text(String path, String typeName, ElementaryType type, long address) {
      super(path, typeName, type, address);
    }

    /** Greatest number of characters. */
    public int capacity() {
      throw new UnsupportedOperationException("not written yet");
    }
  }

  /** The path in the spelling of the declaration. */
  public String path() {
    return path;
  }

  /** Name of the declared type. */
  public String typeName() {
    return typeName;
  }

  /** Elementary type; of an enumeration or subrange its base type. */
  public ElementaryType type() {
    return type;
  }

  /** Address of its slot or location, as events tell it. */
  public long address() {
    return address;
  }

  /** Width in bits as events tell it: of a location its type's, else 64. */
  public int width() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Directly represented, in {@code %I}, {@code %Q} or {@code %M}. */
  public boolean isLocated() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** {@code I}, {@code Q}, {@code M}, or 0 when it is not located. */
  public char area() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** A slot value of this variable as an IEC literal; an enumeration by name. Not for {@link Text}. */
  public String format(long bits) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * The slot value that an IEC literal stands for. Not for {@link Text}.
   *
   * @throws IllegalArgumentException when the text is no literal of the type; the message says what was expected
   */
  public long parse(String literal) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * Checks a literal of any variable, strings included.
   *
   * @throws IllegalArgumentException as {@link #parse}
   */
  public void check(String literal) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public String toString() {
    return path + " : " + typeName;
  }
}
