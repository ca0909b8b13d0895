package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import dev.scanloom.policy.ScanPolicy;
import java.math.BigDecimal;
import java.math.BigInteger;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Random;
import java.util.TreeMap;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import org.junit.jupiter.api.Test;

/**
 * Every typed conversion of Tables 23 to 25, its overloaded form and the truncations of Table 22, executed with values of all sizes and
 * compared with exact
 * arithmetic: BigInteger and BigDecimal (rounding half to even), Java's own rounding from integer to float and double (IEEE 754, round to
 * nearest).
 */
class ConversionProperties {
  private static final List<ElementaryType> NUMBERS_AND_BITS = List.of(ElementaryType.values()).stream()
      .filter(t -> t.isNumber() || t.isBits()).toList();
  private static final StandardLibrary LIBRARY = new StandardLibrary();

  /** One conversion in the program of its source type. */
  private record Pair(ElementaryType from, ElementaryType to, String function, int number, boolean truncates) {}

  private record Source(CompiledProgram program, List<Pair> pairs) {}

  private static final Map<ElementaryType, Source> SOURCES = sources();

  private static Map<ElementaryType, Source> sources() {
    Map<ElementaryType, Source> all = new TreeMap<>();
    for (ElementaryType from : NUMBERS_AND_BITS) {
      List<Pair> pairs = new ArrayList<>();
      StringBuilder declarations = new StringBuilder("  x : " + from + ";\n");
      StringBuilder body = new StringBuilder();
      for (ElementaryType to : NUMBERS_AND_BITS) {
        List<String> functions = new ArrayList<>();
        if (LIBRARY.declaration(from + "_TO_" + to).isPresent()) {
          functions.add(from + "_TO_" + to);
          functions.add("TO_" + to);
        }
        if (LIBRARY.declaration(from + "_TRUNC_" + to).isPresent()) {
          functions.add(from + "_TRUNC_" + to);
          functions.add("TRUNC_" + to);
        }
        for (String f : functions) {
          int n = pairs.size();
          pairs.add(new Pair(from, to, f, n, f.contains("TRUNC")));
          declarations.append("  y").append(n).append(" : ").append(to).append("; ok").append(n).append(" : BOOL;\n");
          body.append("  y").append(n).append(" := ").append(f).append("(EN := TRUE, IN := x, ENO => ok").append(n).append(");\n");
        }
      }
      String text = "PROGRAM Main\nVAR\n" + declarations + "END_VAR\n" + body + "END_PROGRAM\n";
      all.put(from, new Source(Compiler.standard().compile(from + ".st", text).orThrow(), pairs));
    }
    return all;
  }

  @Test
  void allPairsOfTheTablesAreThere() {
    // 90 rows in Table 23, 20 pairs without characters in Table 24, 76 in Table 25; each also overloaded. 16 typed and 16 overloaded
    // truncations.
    long typed = SOURCES.values().stream().flatMap(s -> s.pairs().stream()).filter(p -> p.function().contains("_TO_")).count();
    long truncations = SOURCES.values().stream().flatMap(s -> s.pairs().stream()).filter(Pair::truncates).count();
    assertThat(typed).isEqualTo(90 + 20 + 76);
    assertThat(truncations).isEqualTo(32);
  }

  @Property(tries = 60)
  void everyConversion(@ForAll long seed) {
    Random random = new Random(seed);
    for (Map.Entry<ElementaryType, Source> e : SOURCES.entrySet()) {
      Controller c = e.getValue().program().newController(ScanPolicy.image());
      for (int i = 0; i < 3; i++) {
        long slot = value(e.getKey(), random);
        set(c, e.getKey(), slot);
        assertThat(c.scan()).as("%s", c.fault()).isTrue();
        for (Pair p : e.getValue().pairs()) {
          Optional<Long> expected = expected(p, slot);
          String what = p.function() + " of " + p.from() + " slot " + slot;
          assertThat(c.memory().get(c.bool("Main.ok" + p.number()))).as(what).isEqualTo(expected.isPresent());
          if (expected.isPresent()) {
            assertThat(c.memory().bits(c.variable("Main.y" + p.number()))).as(what).isEqualTo(expected.get());
          }
        }
      }
    }
  }

  private static void set(Controller c, ElementaryType type, long slot) {
    if (type == ElementaryType.BOOL) {
      c.memory().set(c.bool("Main.x"), slot != 0);
    } else if (type.isReal()) {
      c.memory().set(c.real("Main.x"), type == ElementaryType.REAL ? Float.intBitsToFloat((int) slot) : Double.longBitsToDouble(slot));
    } else {
      c.memory().set(c.integer("Main.x"), slot);
    }
  }

  /** Slots of every magnitude, the limits of all types and halves among them. */
  private static long value(ElementaryType type, Random random) {
    if (type.isReal()) {
      double d = switch (random.nextInt(6)) {
        case 0 -> random.nextInt(2001) / 2.0 - 500;
        case 1 -> Math.scalb(1.0, random.nextInt(66)) * (random.nextBoolean() ? 1 : -1) + random.nextInt(3) - 1;
        case 2 -> Math.scalb(1.0, random.nextInt(33)) - 0.5 * random.nextInt(3);
        case 3 -> Double.longBitsToDouble(random.nextLong());
        case 4 -> random.nextInt(4) == 0 ? Double.NaN : random.nextBoolean() ? Double.POSITIVE_INFINITY : Double.NEGATIVE_INFINITY;
        default -> random.nextGaussian() * Math.scalb(1.0, random.nextInt(70));
      };
      return type == ElementaryType.REAL ? Float.floatToIntBits((float) d) : Double.doubleToLongBits(d);
    }
    long any = random.nextInt(3) == 0 ? random.nextLong() >> random.nextInt(64)
        : (1L << random.nextInt(64)) * (random.nextBoolean() ? 1 : -1) + random.nextInt(3) - 1;
    return slot(type, BigInteger.valueOf(any));
  }

  /** The low bits of a number as a slot of a type. */
  private static long slot(ElementaryType type, BigInteger value) {
    BigInteger low = value.mod(BigInteger.TWO.pow(type.bits()));
    boolean negative = type.family() == Family.SIGNED && low.testBit(type.bits() - 1);
    return (negative ? low.subtract(BigInteger.TWO.pow(type.bits())) : low).longValue();
  }

  private static BigInteger number(ElementaryType type, long slot) {
    BigInteger v = BigInteger.valueOf(slot);
    return slot < 0 && type.family() != Family.SIGNED ? v.add(BigInteger.TWO.pow(64)) : v;
  }

  /** The slot of the result, empty for an error. */
  private static Optional<Long> expected(Pair p, long slot) {
    ElementaryType from = p.from();
    ElementaryType to = p.to();
    if (from.isBits() || to.isBits()) {
      // Tables 24 and 25: bits move. A REAL's bits are the rightmost 32.
      BigInteger bits = number(from, slot).mod(BigInteger.TWO.pow(from.bits()));
      if (to.isReal()) {
        return Optional.of(to == ElementaryType.REAL ? (long) bits.intValue() : bits.longValue());
      }
      return Optional.of(slot(to, bits));
    }
    if (!from.isReal()) {
      BigInteger v = number(from, slot);
      if (to.isReal()) {
        return Optional.of(to == ElementaryType.REAL ? (long) Float.floatToIntBits(v.floatValue())
            : Double.doubleToLongBits(v.doubleValue()));
      }
      return inRange(to, v);
    }
    double d = from == ElementaryType.REAL ? Float.intBitsToFloat((int) slot) : Double.longBitsToDouble(slot);
    if (to == ElementaryType.LREAL) {
      return Optional.of(Double.doubleToLongBits(d));
    }
    if (to == ElementaryType.REAL) {
      boolean tooBig = Double.isFinite(d) && Float.isInfinite((float) d);
      return tooBig ? Optional.empty() : Optional.of((long) Float.floatToIntBits((float) d));
    }
    if (!Double.isFinite(d)) {
      return Optional.empty();
    }
    return inRange(to, new BigDecimal(d).setScale(0, p.truncates() ? RoundingMode.DOWN : RoundingMode.HALF_EVEN).toBigIntegerExact());
  }

  private static Optional<Long> inRange(ElementaryType to, BigInteger v) {
    boolean signed = to.family() == Family.SIGNED;
    BigInteger least = signed ? BigInteger.TWO.pow(to.bits() - 1).negate() : BigInteger.ZERO;
    BigInteger greatest = BigInteger.TWO.pow(signed ? to.bits() - 1 : to.bits()).subtract(BigInteger.ONE);
    return v.compareTo(least) < 0 || v.compareTo(greatest) > 0 ? Optional.empty() : Optional.of(v.longValue());
  }
}
