package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;

/** A call frame that is a list of typed values, for tests of Java bodies without a controller. */
final class TestFrame implements CallFrame {
  private static final class Parameter {
    final ElementaryType type;
    final int capacity;
    long bits;
    List<Integer> units = new ArrayList<>();

    Parameter(ElementaryType type, int capacity) {
      this.type = type;
      this.capacity = capacity;
    }
  }

  private final List<Parameter> parameters = new ArrayList<>();
  private final Parameter result;

  private TestFrame(ElementaryType resultType, int resultCapacity) {
    result = new Parameter(resultType, resultCapacity);
  }

  /** A frame whose result is of a type; a string of 65534 characters at most. */
  static TestFrame to(ElementaryType resultType) {
    return new TestFrame(resultType, 65_534);
  }

  static TestFrame toShort(ElementaryType resultType, int capacity) {
    return new TestFrame(resultType, capacity);
  }

  TestFrame with(ElementaryType type, long bits) {
    Parameter p = new Parameter(type, 0);
    p.bits = bits;
    parameters.add(p);
    return this;
  }

  TestFrame with(double lreal) {
    return with(ElementaryType.LREAL, Double.doubleToRawLongBits(lreal));
  }

  TestFrame with(float real) {
    return with(ElementaryType.REAL, Float.floatToRawIntBits(real));
  }

  /** A string of code points; for WSTRING give each unit of a surrogate pair by itself. */
  TestFrame with(ElementaryType type, String text) {
    Parameter p = new Parameter(type, 65_534);
    if (type == ElementaryType.WSTRING) {
      text.chars().forEach(p.units::add);
    } else {
      text.codePoints().forEach(p.units::add);
    }
    parameters.add(p);
    return this;
  }

  TestFrame call(String body) {
    NativeBody found = Bodies.ALL.get(body);
    if (found == null) {
      throw new AssertionError("no body " + body);
    }
    found.call(this);
    return this;
  }

  /** The text of a string parameter or result. */
  String text() {
    StringBuilder b = new StringBuilder();
    for (int unit : result.units) {
      if (result.type == ElementaryType.WSTRING) {
        b.append((char) unit);
      } else {
        b.appendCodePoint(unit);
      }
    }
    return b.toString();
  }

  long result() {
    return result.bits;
  }

  private Parameter parameter(int number) {
    return number == RESULT ? result : parameters.get(number);
  }

  private Parameter string(int number) {
    Parameter p = parameter(number);
    if (!p.type.isString()) {
      throw new AssertionError("parameter " + number + " is " + p.type + ", not a string");
    }
    return p;
  }

  @Override
  public ElementaryType type(int parameter) {
    return parameter(parameter).type;
  }

  @Override
  public long bits(int parameter) {
    if (parameter(parameter).type.isString()) {
      throw new AssertionError("parameter " + parameter + " is a string");
    }
    return parameter(parameter).bits;
  }

  @Override
  public void setBits(int parameter, long value) {
    bits(parameter);
    parameter(parameter).bits = value;
  }

  @Override
  public int length(int parameter) {
    return string(parameter).units.size();
  }

  @Override
  public int capacity(int parameter) {
    return string(parameter).capacity;
  }

  @Override
  public int unit(int parameter, int index) {
    return string(parameter).units.get(index);
  }

  @Override
  public void clear(int parameter) {
    string(parameter).units.clear();
  }

  @Override
  public void append(int parameter, int unit) {
    Parameter p = string(parameter);
    if (p.units.size() == p.capacity) {
      throw new BodyFault("fault/string-length", "longer than " + p.capacity + " characters");
    }
    p.units.add(unit);
  }

  @Override
  public void append(int parameter, int source, int index, int count) {
    if (count < 0) {
      throw new AssertionError("a negative count of characters");
    }
    for (int i = 0; i < count; i++) {
      append(parameter, unit(source, index + i));
    }
  }
}
