package dev.scanloom;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.model.ElementaryType;
import java.util.List;
import java.util.Locale;

/**
 * A handle of one elementary or string variable of a compiled program, looked up once by its path. It holds no value: values are in the places of a
 * {@link Controller}. Structures, arrays and instances have no handle; their elements have.
 *
 * <p>Immutable and safe for use by several threads; good for all controllers of its program.
 */
public abstract sealed class Variable {
  private final CompiledProgram program;
  private final String path;
  private final Shape shape;
  private final ElementaryType type;
  private final long address;
  /** Name of the access path through which it is only read; null without one. */
  private final String readOnly;

  Variable(CompiledProgram program, String path, Shape shape, ElementaryType type, long address, String readOnly) {
    this.program = program;
    this.path = path;
    this.shape = shape;
    this.type = type;
    this.address = address;
    this.readOnly = readOnly;
  }

  static Variable of(CompiledProgram program, String path, Shape shape, long address) {
    return of(program, path, shape, address, null);
  }

  private static Variable of(CompiledProgram program, String path, Shape shape, long address, String readOnly) {
    if (shape instanceof Shape.Text t) {
      return new Text(program, path, t, address, readOnly);
    }
    Shape.Scalar s = (Shape.Scalar) shape;
    if (s.kind() == ElementaryType.BOOL) {
      return new Bool(program, path, s, address, readOnly);
    }
    return s.kind().isReal() ? new Real(program, path, s, address, readOnly) : new Integer(program, path, s, address, readOnly);
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
    Bool(CompiledProgram program, String path, Shape.Scalar shape, long address, String readOnly) {
      super(program, path, shape, shape.kind(), address, readOnly);
    }
  }

  /**
   * Anything counted in whole numbers: integers, bit strings (as unsigned), durations, dates and times (nanoseconds), characters (code), enumerations
   * (number), references (address).
   */
  public static final class Integer extends Variable {
    Integer(CompiledProgram program, String path, Shape.Scalar shape, long address, String readOnly) {
      super(program, path, shape, shape.kind(), address, readOnly);
    }
  }

  /** REAL or LREAL. */
  public static final class Real extends Variable {
    Real(CompiledProgram program, String path, Shape.Scalar shape, long address, String readOnly) {
      super(program, path, shape, shape.kind(), address, readOnly);
    }
  }

  /** STRING, WSTRING or USTRING. */
  public static final class Text extends Variable {
    private final int capacity;

    Text(CompiledProgram program, String path, Shape.Text shape, long address, String readOnly) {
      super(program, path, shape, shape.kind(), address, readOnly);
      capacity = shape.capacity();
    }

    /** Greatest number of characters. */
    public int capacity() {
      return capacity;
    }
  }

  /** The path in the spelling of the declaration. */
  public String path() {
    return path;
  }

  /** Name of the declared type. */
  public String typeName() {
    return shape.typeName();
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
    return isLocated() ? type.bits() : 64;
  }

  /** Directly represented, in {@code %I}, {@code %Q} or {@code %M}. */
  public boolean isLocated() {
    return Address.isLocated(address);
  }

  /** {@code I}, {@code Q}, {@code M}, or 0 when it is not located. */
  public char area() {
    return isLocated() ? Address.areaLetter(address) : 0;
  }

  /** Its location as written in the standard, such as {@code %IX0.3}; empty when it is not located. */
  public String location() {
    return isLocated() ? Address.text(address, type.bits()) : "";
  }

  /** A slot value of this variable as an IEC literal; an enumeration by name. Not for {@link Text}. */
  public String format(long bits) {
    if (!(shape instanceof Shape.Scalar s)) {
      throw new IllegalArgumentException(path + " is a string; it has no slot value");
    }
    if (s.reference()) {
      return bits == Address.NULL ? "NULL" : program.nameAt(bits, 64);
    }
    String name = s.names().get(bits);
    return name != null ? name : ValueText.of(bits, type);
  }

  /**
   * The slot value that an IEC literal stands for. Not for {@link Text}.
   *
   * @throws IllegalArgumentException when the text is no literal of the type; the message says what was expected
   */
  public long parse(String literal) {
    if (!(shape instanceof Shape.Scalar s)) {
      throw new IllegalArgumentException(path + " is a string; it has no slot value");
    }
    return IecLiteral.scalar(literal, s);
  }

  /**
   * Checks a literal of any variable, strings included.
   *
   * @throws IllegalArgumentException as {@link #parse}
   */
  public void check(String literal) {
    if (shape instanceof Shape.Text t) {
      IecLiteral.text(literal, t);
    } else {
      parse(literal);
    }
  }

  /** It was looked up by an access path (VAR_ACCESS) that is READ_ONLY: memory refuses to be set or forced through it. */
  public boolean isReadOnly() {
    return readOnly != null;
  }

  /** The same variable behind an access path that is READ_ONLY. */
  Variable readOnlyBy(String accessPath) {
    return of(program, path, shape, address, accessPath);
  }

  void checkWritable() {
    if (readOnly != null) {
      throw new IllegalArgumentException("the access path " + readOnly + " to " + path + " is READ_ONLY; expected one that is READ_WRITE, or the variable itself");
    }
  }

  Shape shape() {
    return shape;
  }

  CompiledProgram program() {
    return program;
  }

  int kind() {
    return type.ordinal();
  }

  /** The value as it lies in a slot, if the type can hold it. */
  long checked(long value) {
    Shape.Scalar s = (Shape.Scalar) shape;
    long low;
    long high;
    switch (type.family()) {
      case BIT, UNSIGNED -> {
        low = 0;
        high = type.bits() == 64 ? Long.MAX_VALUE : (1L << type.bits()) - 1;
        if (type.bits() == 64) {
          return value;
        }
      }
      case SIGNED -> {
        high = type.bits() == 64 ? Long.MAX_VALUE : (1L << type.bits() - 1) - 1;
        low = -high - 1;
      }
      case CHARACTER -> {
        low = 0;
        high = type == ElementaryType.UCHAR ? 0x10FFFF : (1L << type.bits()) - 1;
      }
      case TIME_OF_DAY -> {
        low = 0;
        high = 86_400_000_000_000L - 1;
      }
      case REAL, DURATION, DATE, DATE_AND_TIME, STRING -> {
        low = Long.MIN_VALUE;
        high = Long.MAX_VALUE;
      }
      default -> throw new IllegalStateException(type.name());
    }
    if (s.low() != null) {
      low = Math.max(low, s.low());
      high = Math.min(high, s.high());
    }
    if (s.reference() && value != Address.NULL) {
      throw new IllegalArgumentException(path + " is a reference; from outside it can only be set to NULL");
    }
    if (value < low || value > high) {
      throw new IllegalArgumentException(String.format(Locale.ROOT, "%d is outside %d..%d of %s : %s", value, low, high, path, typeName()));
    }
    return value;
  }

  @Override
  public String toString() {
    return path + " : " + typeName();
  }
}
