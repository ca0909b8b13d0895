package dev.scanloom;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.model.ElementaryType;
import java.util.List;

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
  /** What makes signed order of slot values that of the type's values, by exclusive or: 64 bits without a sign, or nothing. */
  private final long order;
  /** What a slot can hold when a host sets it, so ordered. */
  private final long low;
  private final long high;

  Variable(CompiledProgram program, String path, Shape shape, ElementaryType type, long address, String readOnly) {
    this.program = program;
    this.path = path;
    this.shape = shape;
    this.type = type;
    this.address = address;
    this.readOnly = readOnly;
    boolean unsigned = type.family() == ElementaryType.Family.BIT || type.family() == ElementaryType.Family.UNSIGNED;
    this.order = unsigned && type.bits() == 64 ? Long.MIN_VALUE : 0;
    this.low = shape instanceof Shape.Scalar s ? low(s, order) : 0;
    this.high = shape instanceof Shape.Scalar s ? high(s, order) : 0;
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
    long ordered = value ^ order;
    if (ordered < low || ordered > high) {
      if (((Shape.Scalar) shape).reference()) {
        throw new IllegalArgumentException(path + " is a reference; from outside it can only be set to NULL");
      }
      throw new IllegalArgumentException(number(ordered) + " is outside " + number(low) + ".." + number(high) + " of " + path + " : " + typeName());
    }
    return value;
  }

  private String number(long ordered) {
    return order == 0 ? Long.toString(ordered) : Long.toUnsignedString(ordered ^ order);
  }

  private static long low(Shape.Scalar s, long order) {
    long low = switch (s.kind().family()) {
      case BIT, UNSIGNED, CHARACTER, TIME_OF_DAY -> order;
      case SIGNED -> -1L << s.kind().bits() - 1;
      case REAL, DURATION, DATE, DATE_AND_TIME, STRING -> Long.MIN_VALUE;
    };
    return s.reference() ? Address.NULL ^ order : s.low() != null ? Math.max(low, s.low() ^ order) : low;
  }

  private static long high(Shape.Scalar s, long order) {
    int bits = s.kind().bits();
    long high = switch (s.kind().family()) {
      case BIT, UNSIGNED -> bits == 64 ? Long.MAX_VALUE : (1L << bits) - 1;
      case CHARACTER -> s.kind() == ElementaryType.UCHAR ? 0x10FFFF : (1L << bits) - 1;
      case TIME_OF_DAY -> 86_400_000_000_000L - 1;
      case SIGNED -> (1L << bits - 1) - 1;
      case REAL, DURATION, DATE, DATE_AND_TIME, STRING -> Long.MAX_VALUE;
    };
    return s.reference() ? Address.NULL ^ order : s.high() != null ? Math.min(high, s.high() ^ order) : high;
  }

  @Override
  public String toString() {
    return path + " : " + typeName();
  }
}
