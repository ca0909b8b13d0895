package dev.scanloom.stdlib;

import static dev.scanloom.model.ElementaryType.BOOL;
import static dev.scanloom.model.ElementaryType.LREAL;
import static dev.scanloom.model.ElementaryType.LWORD;
import static dev.scanloom.model.ElementaryType.REAL;
import static dev.scanloom.model.ElementaryType.ULINT;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;
import static org.assertj.core.api.Assertions.catchThrowableOfType;

import dev.scanloom.library.BodyFault;
import dev.scanloom.model.ElementaryType;
import java.math.BigInteger;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import java.util.function.DoubleUnaryOperator;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Example;
import net.jqwik.api.ForAll;
import net.jqwik.api.From;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;

/** Table 28 against StrictMath and IEEE 754, BCD against BigInteger's decimal text, byte order against ByteBuffer. */
class NumericalAndBitBodiesProperties {
  private static final Map<String, DoubleUnaryOperator> FUNCTIONS = new TreeMap<>(Map.of("ln", StrictMath::log, "log", StrictMath::log10,
      "exp", StrictMath::exp,
      "sin", StrictMath::sin, "cos", StrictMath::cos, "tan", StrictMath::tan, "asin", StrictMath::asin, "acos", StrictMath::acos, "atan",
      StrictMath::atan));

  @Property
  void functionsOfOneReal(@ForAll @From("reals") double x, @ForAll @From("names") String name) {
    double y = FUNCTIONS.get(name).applyAsDouble(x);
    boolean domain = !Double.isNaN(x) && (Double.isNaN(y) || Double.isInfinite(y) && Double.isFinite(x) && !name.equals("exp"));
    boolean overflow = name.equals("exp") && Double.isInfinite(y) && Double.isFinite(x);
    TestFrame frame = TestFrame.to(LREAL).with(x);
    if (domain || overflow) {
      BodyFault fault = catchThrowableOfType(BodyFault.class, () -> frame.call(name));
      assertThat(fault).as("%s(%s)", name, x).isNotNull();
      assertThat(fault.code()).isEqualTo(domain ? "fault/domain" : "fault/overflow");
    } else {
      assertThat(Double.longBitsToDouble(frame.call(name).result())).as("%s(%s)", name, x).isEqualTo((Double) y);
    }
  }

  @Property
  void singlePrecisionIsTheRoundedDouble(@ForAll float x, @ForAll @From("names") String name) {
    double y = FUNCTIONS.get(name).applyAsDouble(x);
    TestFrame frame = TestFrame.to(REAL).with(x);
    boolean fails = !Float.isNaN(x) && (Double.isNaN(y) || Float.isInfinite((float) y) && !Float.isInfinite(x));
    if (fails) {
      assertThatThrownBy(() -> frame.call(name)).isInstanceOf(BodyFault.class);
    } else {
      assertThat(frame.call(name).result()).as("slot of %s(%s): the REAL's bits, sign-extended", name, x)
          .isEqualTo(Float.floatToRawIntBits((float) y));
    }
  }

  @Property
  void angleOfAPoint(@ForAll @From("reals") double y, @ForAll @From("reals") double x) {
    assertThat(Double.longBitsToDouble(TestFrame.to(LREAL).with(y).with(x).call("atan2").result()))
        .isEqualTo(Double.valueOf(StrictMath.atan2(y, x)));
  }

  @Provide
  Arbitrary<String> names() {
    return Arbitraries.of(List.copyOf(FUNCTIONS.keySet()));
  }

  @Provide
  Arbitrary<Double> reals() {
    return Arbitraries.oneOf(Arbitraries.doubles(), Arbitraries.doubles().between(-2, 2),
        Arbitraries.of(0.0, -0.0, 1.0, -1.0, Math.nextUp(1.0), Double.NaN, Double.POSITIVE_INFINITY, Double.NEGATIVE_INFINITY, 709.0, 710.0,
        88.0, 89.0,
            Double.MIN_VALUE));
  }

  @Example
  void expOverflowsEarlierForReal() {
    assertThat(TestFrame.to(LREAL).with(89.0).call("exp").result()).isEqualTo(Double.doubleToLongBits(StrictMath.exp(89.0)));
    BodyFault fault = catchThrowableOfType(BodyFault.class, () -> TestFrame.to(REAL).with(89.0f).call("exp"));
    assertThat(fault.code()).isEqualTo("fault/overflow");
  }

  @Property
  void validity(@ForAll double x, @ForAll float y) {
    assertThat(TestFrame.to(BOOL).with(x).call("is_valid").result()).isEqualTo(Double.isNaN(x) || Double.isInfinite(x) ? 0 : 1);
    assertThat(TestFrame.to(BOOL).with(y).call("is_valid").result()).isEqualTo(Float.isNaN(y) || Float.isInfinite(y) ? 0 : 1);
  }

  @Example
  void invalidReals() {
    for (double x : new double[] {Double.NaN, Double.POSITIVE_INFINITY, Double.NEGATIVE_INFINITY}) {
      assertThat(TestFrame.to(BOOL).with(x).call("is_valid").result()).isZero();
      assertThat(TestFrame.to(BOOL).with((float) x).call("is_valid").result()).isZero();
    }
  }

  /** The hexadecimal text of a BCD value is the decimal text of the number. */
  @Property
  void bcd(@ForAll long bits, @ForAll @From("digitStrings") String digits) {
    String hex = new BigInteger(Long.toUnsignedString(bits)).toString(16);
    boolean decimal = hex.chars().allMatch(c -> c <= '9');
    assertThat(TestFrame.to(BOOL).with(LWORD, bits).call("is_valid_bcd").result()).isEqualTo(decimal ? 1 : 0);
    if (!decimal) {
      assertThatThrownBy(() -> TestFrame.to(ULINT).with(LWORD, bits).call("from_bcd")).isInstanceOf(BodyFault.class)
          .hasMessageContaining("above 9");
    }
    long packed = new BigInteger(digits, 16).longValueExact();
    long value = new BigInteger(digits).longValueExact();
    assertThat(TestFrame.to(BOOL).with(LWORD, packed).call("is_valid_bcd").result()).isEqualTo(1);
    assertThat(TestFrame.to(ULINT).with(LWORD, packed).call("from_bcd").result()).isEqualTo(value);
    assertThat(TestFrame.to(LWORD).with(ULINT, value).call("to_bcd").result()).isEqualTo(packed);
  }

  @Provide
  Arbitrary<String> digitStrings() {
    return Arbitraries.strings().numeric().ofMinLength(1).ofMaxLength(15);
  }

  @Property
  void bcdOfEveryWidth(@ForAll long any, @ForAll @From("unsigned") ElementaryType number, @ForAll @From("bitStrings") ElementaryType bcd) {
    BigInteger value = new BigInteger(Long.toUnsignedString(number.bits() == 64 ? any : any & ((1L << number.bits()) - 1)));
    TestFrame encode = TestFrame.to(bcd).with(number, value.longValue());
    if (value.toString().length() > bcd.bits() / 4) {
      assertThatThrownBy(() -> encode.call("to_bcd")).isInstanceOf(BodyFault.class).hasMessageContaining(value + " has more than");
    } else {
      assertThat(encode.call("to_bcd").result()).isEqualTo(new BigInteger(value.toString(), 16).longValue());
    }
    String digits = value.toString();
    String kept = digits.substring(Math.max(0, digits.length() - bcd.bits() / 4));
    TestFrame decode = TestFrame.to(number).with(bcd, new BigInteger(kept, 16).longValue());
    if (new BigInteger(kept).bitLength() > number.bits()) {
      assertThatThrownBy(() -> decode.call("from_bcd")).isInstanceOf(BodyFault.class).hasMessageContaining("above the greatest " + number);
    } else {
      assertThat(decode.call("from_bcd").result()).isEqualTo(new BigInteger(kept).longValue());
    }
  }

  @Provide
  Arbitrary<ElementaryType> unsigned() {
    return Arbitraries.of(ElementaryType.USINT, ElementaryType.UINT, ElementaryType.UDINT, ElementaryType.ULINT);
  }

  @Provide
  Arbitrary<ElementaryType> bitStrings() {
    return Arbitraries.of(ElementaryType.BYTE, ElementaryType.WORD, ElementaryType.DWORD, ElementaryType.LWORD);
  }

  @Property
  void bytesTurned(@ForAll long v) {
    turned(ElementaryType.WORD, v & 0xFFFF, Short.toUnsignedLong(turn((short) v)));
    turned(ElementaryType.UINT, v & 0xFFFF, Short.toUnsignedLong(turn((short) v)));
    turned(ElementaryType.INT, (short) v, turn((short) v));
    turned(ElementaryType.WCHAR, v & 0xFFFF, Short.toUnsignedLong(turn((short) v)));
    turned(ElementaryType.DWORD, v & 0xFFFF_FFFFL, Integer.toUnsignedLong(turn((int) v)));
    turned(ElementaryType.DINT, (int) v, turn((int) v));
    turned(ElementaryType.REAL, (int) v, turn((int) v));
    long all = ByteBuffer.allocate(8).order(ByteOrder.BIG_ENDIAN).putLong(v).order(ByteOrder.LITTLE_ENDIAN).getLong(0);
    for (ElementaryType t : List.of(LWORD, ElementaryType.LINT, ULINT, LREAL, ElementaryType.TIME, ElementaryType.LDT)) {
      turned(t, v, all);
    }
    turned(ElementaryType.SINT, (byte) v, (byte) v);
    turned(ElementaryType.BYTE, v & 0xFF, v & 0xFF);
    turned(BOOL, v & 1, v & 1);
    turned(ElementaryType.UCHAR, v & 0xFFFF, v & 0xFFFF);
  }

  private static short turn(short v) {
    return ByteBuffer.allocate(2).putShort(v).order(ByteOrder.LITTLE_ENDIAN).getShort(0);
  }

  private static int turn(int v) {
    return ByteBuffer.allocate(4).putInt(v).order(ByteOrder.LITTLE_ENDIAN).getInt(0);
  }

  private static void turned(ElementaryType type, long value, long expected) {
    assertThat(TestFrame.to(type).with(type, value).call("swap_bytes").result()).as("%s %d", type, value).isEqualTo(expected);
  }

  @Example
  void bytesOfStrings() {
    assertThat(TestFrame.to(ElementaryType.STRING).with(ElementaryType.STRING, "pump").call("swap_bytes").text()).isEqualTo("pump");
    assertThat(TestFrame.to(ElementaryType.WSTRING).with(ElementaryType.WSTRING, "\u1234a").call("swap_bytes").text())
        .isEqualTo("\u3412\u6100");
  }
}
