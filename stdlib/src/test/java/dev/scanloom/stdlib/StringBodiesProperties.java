package dev.scanloom.stdlib;

import static dev.scanloom.model.ElementaryType.INT;
import static dev.scanloom.model.ElementaryType.LINT;
import static dev.scanloom.model.ElementaryType.STRING;
import static dev.scanloom.model.ElementaryType.ULINT;
import static dev.scanloom.model.ElementaryType.USTRING;
import static dev.scanloom.model.ElementaryType.WSTRING;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;
import static org.assertj.core.api.Assertions.catchThrowableOfType;

import dev.scanloom.library.BodyFault;
import dev.scanloom.model.ElementaryType;
import java.nio.charset.StandardCharsets;
import java.util.function.Supplier;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Example;
import net.jqwik.api.ForAll;
import net.jqwik.api.From;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.constraints.IntRange;

/** Table 34 against StringBuilder and String of the JDK (source of the expected values), with errors where those have no such index. */
class StringBodiesProperties {

  @Provide
  Arbitrary<String> texts() {
    return Arbitraries.strings().withChars('a', 'b', 'A', ' ', 'ü', 'ÿ').ofMaxLength(12);
  }

  @Provide
  Arbitrary<ElementaryType> kinds() {
    return Arbitraries.of(STRING, WSTRING, USTRING);
  }

  private static void agree(String what, Supplier<String> model, Supplier<String> body) {
    String expected;
    try {
      expected = model.get();
    } catch (IndexOutOfBoundsException e) {
      BodyFault fault = catchThrowableOfType(BodyFault.class, body::get);
      assertThat(fault).as(what).isNotNull();
      assertThat(fault.code()).as(what).isEqualTo("fault/string-position");
      return;
    }
    assertThat(body.get()).as(what).isEqualTo(expected);
  }

  @Property
  void left(@ForAll @From("texts") String s, @ForAll @From("kinds") ElementaryType t, @ForAll @IntRange(min = -3, max = 15) int l) {
    agree("LEFT", () -> s.substring(0, l), () -> TestFrame.to(t).with(t, s).with(INT, l).call("left").text());
  }

  @Property
  void right(@ForAll @From("texts") String s, @ForAll @From("kinds") ElementaryType t, @ForAll @IntRange(min = -3, max = 15) int l) {
    agree("RIGHT", () -> s.substring(s.length() - l), () -> TestFrame.to(t).with(t, s).with(INT, l).call("right").text());
  }

  @Property
  void mid(@ForAll @From("texts") String s, @ForAll @From("kinds") ElementaryType t, @ForAll @IntRange(min = -3, max = 15) int l,
      @ForAll @IntRange(min = -2, max = 15) int p) {
    agree("MID", () -> s.substring(p - 1, p - 1 + l), () -> TestFrame.to(t).with(t, s).with(INT, l).with(INT, p).call("mid").text());
  }

  @Property
  void concat(@ForAll @From("texts") String a, @ForAll @From("texts") String b, @ForAll @From("kinds") ElementaryType t) {
    agree("CONCAT", () -> a + b, () -> TestFrame.to(t).with(t, a).with(t, b).call("concat").text());
  }

  @Property
  void insert(@ForAll @From("texts") String a, @ForAll @From("texts") String b, @ForAll @From("kinds") ElementaryType t,
      @ForAll @IntRange(min = -3, max = 15) int p) {
    agree("INSERT", () -> new StringBuilder(a).insert(p, b).toString(), () -> TestFrame.to(t).with(t, a).with(t, b).with(INT, p)
        .call("insert").text());
  }

  @Property
  void delete(@ForAll @From("texts") String s, @ForAll @From("kinds") ElementaryType t, @ForAll @IntRange(min = -3, max = 15) int l,
      @ForAll @IntRange(min = -2, max = 15) int p) {
    // StringBuilder.delete clips its end, so the part is cut out by substring first.
    agree("DELETE", () -> s.substring(p - 1, p - 1 + l).isEmpty() ? s : new StringBuilder(s).delete(p - 1, p - 1 + l).toString(),
        () -> TestFrame.to(t).with(t, s).with(INT, l).with(INT, p).call("delete").text());
  }

  @Property
  void replace(@ForAll @From("texts") String a, @ForAll @From("texts") String b, @ForAll @From("kinds") ElementaryType t,
      @ForAll @IntRange(min = -3, max = 15) int l, @ForAll @IntRange(min = -2, max = 15) int p) {
    agree("REPLACE", () -> a.substring(0, p - 1) + b + a.substring(p - 1 + a.substring(p - 1, p - 1 + l).length()),
        () -> TestFrame.to(t).with(t, a).with(t, b).with(INT, l).with(INT, p).call("replace").text());
  }

  @Property
  void find(@ForAll @From("texts") String a, @ForAll @IntRange(min = 0, max = 12) int from, @ForAll @IntRange(min = 0, max = 4) int length,
      @ForAll @From("kinds") ElementaryType t) {
    int start = Math.min(from, a.length());
    String b = a.substring(start, Math.min(a.length(), start + length));
    // The JDK finds an empty string at 0; here it is not found (S.str-find-empty, our choice).
    long expected = b.isEmpty() ? 0 : a.indexOf(b) + 1;
    assertThat(TestFrame.to(INT).with(t, a).with(t, b).call("find").result()).isEqualTo(expected);
  }

  /** Long texts of two letters, where FIND works with a table of borders. */
  @Property(tries = 60)
  void findInLongTexts(@ForAll @IntRange(min = 1_000, max = 4_000) int length, @ForAll @IntRange(min = 200, max = 900) int sought,
      @ForAll long seed,
      @ForAll @IntRange(min = 1, max = 40) int rare) {
    java.util.Random random = new java.util.Random(seed);
    StringBuilder a = new StringBuilder();
    while (a.length() < length) {
      a.append(random.nextInt(rare) == 0 ? 'b' : 'a');
    }
    int start = random.nextInt(length - sought);
    String b = random.nextBoolean() ? a.substring(start, start + sought) : "a".repeat(sought - 1) + "b";
    assertThat(TestFrame.to(LINT).with(STRING, a.toString()).with(STRING, b).call("find").result()).isEqualTo(a.indexOf(b) + 1);
  }

  @Example
  void findTakesTimeInProportion() {
    String a = "a".repeat(65_534);
    String b = "a".repeat(32_766) + "b";
    org.junit.jupiter.api.Assertions.assertTimeoutPreemptively(java.time.Duration.ofSeconds(10),
        () -> assertThat(TestFrame.to(LINT).with(STRING, a).with(STRING, b).call("find").result()).isZero());
  }

  @Property
  void codeUnits(@ForAll @From("anyText") String s) {
    assertThat(TestFrame.to(INT).with(USTRING, s).call("len_code_unit").result()).as("UTF-8 of the JDK")
        .isEqualTo(s.getBytes(StandardCharsets.UTF_8).length);
    assertThat(TestFrame.to(INT).with(WSTRING, s).call("len_code_unit").result()).as("UTF-16 of the JDK").isEqualTo(s.length());
  }

  @Provide
  Arbitrary<String> anyText() {
    return Arbitraries.integers().between(0, 0x10FFFF).filter(c -> c < 0xD800 || c > 0xDFFF).list().ofMaxSize(8)
        .map(l -> l.stream().map(Character::toString).reduce("", String::concat));
  }

  /** WSTRING is UTF-16 as the JDK's String is, so both ways are the identity on text. */
  @Property
  void wideTextSurvivesUtf8(@ForAll @From("anyText") String s) {
    assertThat(TestFrame.to(USTRING).with(WSTRING, s).call("to_string").text()).isEqualTo(s);
    assertThat(TestFrame.to(WSTRING).with(USTRING, s).call("to_string").text()).isEqualTo(s);
  }

  /** STRING is ISO 8859-1, whose codes the JDK's charset gives; what it cannot encode is a fault. */
  @Property
  void narrowTextIsLatin1(@ForAll @From("mixedText") String s, @ForAll @From("wideKinds") ElementaryType t) {
    if (StandardCharsets.ISO_8859_1.newEncoder().canEncode(s)) {
      assertThat(TestFrame.to(STRING).with(t, s).call("to_string").text()).isEqualTo(s);
    } else {
      assertThatThrownBy(() -> TestFrame.to(STRING).with(t, s).call("to_string")).isInstanceOf(BodyFault.class)
          .hasMessageContaining("does not exist in STRING");
    }
  }

  @Provide
  Arbitrary<String> mixedText() {
    return Arbitraries.strings().withChars('a', 'z', 'ü', 'ÿ', 'Ā', '€').ofMaxLength(5);
  }

  @Provide
  Arbitrary<ElementaryType> wideKinds() {
    return Arbitraries.of(WSTRING, USTRING);
  }

  @Property
  void characters(@ForAll @IntRange(min = 0, max = 0x11_0000) int code) {
    boolean surrogate = code >= Character.MIN_SURROGATE && code <= Character.MAX_SURROGATE;
    character(ElementaryType.CHAR, code, code <= 255);
    character(ElementaryType.WCHAR, code, code <= 0xFFFF);
    character(ElementaryType.UCHAR, code, Character.isValidCodePoint(code) && !surrogate);
  }

  private static void character(ElementaryType target, int code, boolean exists) {
    if (exists) {
      assertThat(TestFrame.to(target).with(ElementaryType.DWORD, code).call("to_char").result()).isEqualTo(code);
    } else {
      assertThatThrownBy(() -> TestFrame.to(target).with(ElementaryType.DWORD, code).call("to_char")).isInstanceOf(BodyFault.class);
    }
  }

  @Example
  void loneSurrogatesHaveNoUtf8() {
    for (String s : new String[] {"\uD83D", "a\uDE00", "\uD83Da", "\uDE00\uD83D"}) {
      assertThatThrownBy(() -> TestFrame.to(USTRING).with(WSTRING, s).call("to_string")).isInstanceOf(BodyFault.class);
    }
  }

  @Example
  void firstCharacter() {
    assertThat(TestFrame.to(ElementaryType.CHAR).with(STRING, "xyz").call("to_char").result()).isEqualTo('x');
    assertThatThrownBy(() -> TestFrame.to(ElementaryType.WCHAR).with(WSTRING, "").call("to_char")).isInstanceOf(BodyFault.class);
    assertThatThrownBy(() -> TestFrame.to(ElementaryType.CHAR).with(INT, 65).call("to_char")).isInstanceOf(BodyFault.class)
        .hasMessageContaining("no conversion from INT to CHAR");
  }

  @Example
  void hugeCountsAreNotCut() {
    // 2^32 + 1 is 1 in 32 bits; 2^63 is negative as a signed number.
    for (long l : new long[] {(1L << 32) + 1, Long.MIN_VALUE, Long.MAX_VALUE}) {
      assertThatThrownBy(() -> TestFrame.to(STRING).with(STRING, "abc").with(ULINT, l).call("left")).isInstanceOf(BodyFault.class)
          .hasMessageContaining(Long.toUnsignedString(l));
      assertThatThrownBy(() -> TestFrame.to(STRING).with(STRING, "abc").with(ULINT, 1).with(ULINT, l).call("mid"))
          .isInstanceOf(BodyFault.class);
      assertThatThrownBy(() -> TestFrame.to(STRING).with(STRING, "abc").with(STRING, "x").with(ULINT, l).call("insert"))
          .isInstanceOf(BodyFault.class);
    }
  }

  @Example
  void resultTooLong() {
    BodyFault fault = catchThrowableOfType(BodyFault.class, () -> TestFrame.toShort(STRING, 4).with(STRING, "abc").with(STRING, "de")
        .call("concat"));
    assertThat(fault.code()).isEqualTo("fault/string-length");
    assertThat(TestFrame.toShort(STRING, 5).with(STRING, "abc").with(STRING, "de").call("concat").text()).isEqualTo("abcde");
  }
}
