package dev.scanloom;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Expression.LiteralKind;
import dev.scanloom.internal.syntax.Literals;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.StParser;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.model.ElementaryType;
import java.math.BigDecimal;
import java.math.BigInteger;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/** Reads the text of a literal as a value of a type (Tables 5 to 9), with the rules of assignment: an untyped literal fits by its value. */
final class IecLiteral {
  private static final int NESTING = 4;
  private static final BigInteger MIN_LONG = BigInteger.valueOf(Long.MIN_VALUE);
  private static final BigInteger MAX_LONG = BigInteger.valueOf(Long.MAX_VALUE);

  private IecLiteral() {}

  /** Slot value of a scalar. */
  static long scalar(String text, Shape.Scalar shape) {
    Expression e = parse(text, shape.typeName());
    if (e instanceof Expression.Ident i) {
      return named(i.name().text(), text, shape);
    }
    if (e instanceof Expression.TypedName t) {
      if (!t.type().last().text().equalsIgnoreCase(shape.typeName())) {
        throw new IllegalArgumentException(quoted(text) + " is a value of " + t.type().text() + "; expected " + shape.typeName());
      }
      return named(t.value().text(), text, shape);
    }
    boolean negative = false;
    Expression inner = e;
    if (e instanceof Expression.Unary u && u.operator() != Expression.UnaryOperator.NOT) {
      negative = u.operator() == Expression.UnaryOperator.MINUS;
      inner = u.operand();
    }
    if (!(inner instanceof Expression.Literal l) || (inner != e && l.kind() != LiteralKind.INTEGER && l.kind() != LiteralKind.REAL)) {
      throw wrong(text, shape);
    }
    if (!shape.names().isEmpty() && shape.low() != null) {
      throw new IllegalArgumentException(quoted(text) + " is no value of " + shape.typeName() + "; expected one of " + names(shape));
    }
    long v = value(text, l, negative, shape);
    if (shape.low() != null && (Arith.compare(v, shape.low(), shape.kind().ordinal()) < 0 || Arith.compare(v, shape.high(), shape.kind().ordinal()) > 0)) {
      throw new IllegalArgumentException(quoted(text) + " is outside " + ValueText.of(shape.low(), shape.kind()) + ".."
          + ValueText.of(shape.high(), shape.kind()) + " of " + shape.typeName());
    }
    return v;
  }

  /** Characters of a string. */
  static int[] text(String text, Shape.Text shape) {
    Expression e = parse(text, shape.typeName());
    if (!(e instanceof Expression.Literal l) || (l.kind() != LiteralKind.STRING && l.kind() != LiteralKind.WSTRING)) {
      throw new IllegalArgumentException(quoted(text) + " is no string; expected " + example(shape.kind()));
    }
    int[] units = units(text, l, shape.kind());
    if (units.length > shape.capacity()) {
      throw new IllegalArgumentException("the string has " + units.length + " characters; " + shape.typeName() + " holds " + shape.capacity());
    }
    return units;
  }

  private static Expression parse(String text, String type) {
    String body = text.strip();
    if (body.isEmpty()) {
      throw new IllegalArgumentException("the value is empty; expected a literal of " + type);
    }
    Problems problems = new Problems(1);
    SourceText source = SourceText.of("literal", body);
    Expression e = new StParser(problems, NESTING).parseExpression(new Span(source, 0, source.length()));
    List<Diagnostic> found = problems.sorted();
    if (problems.hasErrors() && !found.isEmpty()) {
      throw new IllegalArgumentException(quoted(text) + " is no literal: " + found.get(0).message());
    }
    return e;
  }

  private static long named(String name, String text, Shape.Scalar shape) {
    for (Map.Entry<Long, String> n : shape.names().entrySet()) {
      if (n.getValue().equalsIgnoreCase(name)) {
        return n.getKey();
      }
    }
    if (shape.names().isEmpty()) {
      throw wrong(text, shape);
    }
    throw new IllegalArgumentException(quoted(text) + " is no value of " + shape.typeName() + "; expected one of " + names(shape));
  }

  private static String names(Shape.Scalar shape) {
    return String.join(", ", new java.util.TreeMap<>(shape.names()).values());
  }

  private static long value(String text, Expression.Literal l, boolean negative, Shape.Scalar shape) {
    ElementaryType kind = shape.kind();
    Literals.Value v = Literals.decode(l);
    if (v instanceof Literals.Invalid i) {
      throw new IllegalArgumentException(quoted(text) + " is no literal: " + i.message());
    }
    if (shape.reference()) {
      if (v instanceof Literals.Null) {
        return 0;
      }
      throw new IllegalArgumentException(quoted(text) + " cannot be given to a reference; expected NULL");
    }
    checkPrefix(text, l, kind);
    switch (kind.family()) {
      case BIT:
        if (kind == ElementaryType.BOOL && v instanceof Literals.Bool b) {
          return b.value() ? 1 : 0;
        }
        if (v instanceof Literals.Int i) {
          return integer(text, negative ? i.value().negate() : i.value(), BigInteger.ZERO, unsignedMax(kind.bits()), kind);
        }
        break;
      case SIGNED:
        if (v instanceof Literals.Int i) {
          BigInteger half = BigInteger.ONE.shiftLeft(kind.bits() - 1);
          return integer(text, negative ? i.value().negate() : i.value(), half.negate(), half.subtract(BigInteger.ONE), kind);
        }
        break;
      case UNSIGNED:
        if (v instanceof Literals.Int i) {
          return integer(text, negative ? i.value().negate() : i.value(), BigInteger.ZERO, unsignedMax(kind.bits()), kind);
        }
        break;
      case REAL:
        if (v instanceof Literals.Real r) {
          return real(text, new BigDecimal(r.text()), negative, kind);
        }
        if (v instanceof Literals.Int i) {
          return real(text, new BigDecimal(i.value()), negative, kind);
        }
        break;
      case DURATION:
        if (v instanceof Literals.Duration d) {
          return d.nanoseconds();
        }
        break;
      case DATE:
        if (v instanceof Literals.Date d) {
          return nanoseconds(text, BigInteger.valueOf(d.epochDay()).multiply(BigInteger.valueOf(Arith.DAY)), kind);
        }
        break;
      case TIME_OF_DAY:
        if (v instanceof Literals.TimeOfDay t) {
          return t.nanoOfDay();
        }
        break;
      case DATE_AND_TIME:
        if (v instanceof Literals.DateAndTime t) {
          return nanoseconds(text, t.nanoseconds(), kind);
        }
        break;
      case CHARACTER:
        if (v instanceof Literals.Text) {
          int[] units = units(text, l, kind);
          if (units.length == 1) {
            return units[0];
          }
          throw new IllegalArgumentException(quoted(text) + " has " + units.length + " characters; expected one for " + kind);
        }
        break;
      case STRING:
        throw new IllegalArgumentException("a string is no scalar");
    }
    throw wrong(text, shape);
  }

  /** {@code INT#5} is a value of INT only; {@code LT#} of LTIME only; {@code T#} of TIME and LTIME. */
  private static void checkPrefix(String text, Expression.Literal l, ElementaryType kind) {
    if (l.prefix().isEmpty()) {
      return;
    }
    Name p = l.prefix().get();
    String found = switch (p.key()) {
      case "T" -> "TIME";
      case "LT" -> "LTIME";
      case "D" -> "DATE";
      case "LD" -> "LDATE";
      case "TIME_OF_DAY" -> "TOD";
      case "LTIME_OF_DAY" -> "LTOD";
      case "DATE_AND_TIME" -> "DT";
      case "LDATE_AND_TIME" -> "LDT";
      default -> p.key();
    };
    String wanted = kind.name();
    if (!found.equals(wanted) && !("L" + found).equals(wanted)) {
      throw new IllegalArgumentException(quoted(text) + " is a literal of " + found + "; expected " + wanted);
    }
    if (("L" + found).equals(wanted) && found.equals("REAL")) {
      throw new IllegalArgumentException(quoted(text) + " is a literal of REAL; expected LREAL");
    }
  }

  private static BigInteger unsignedMax(int bits) {
    return BigInteger.ONE.shiftLeft(bits).subtract(BigInteger.ONE);
  }

  private static long integer(String text, BigInteger v, BigInteger low, BigInteger high, ElementaryType kind) {
    if (v.compareTo(low) < 0 || v.compareTo(high) > 0) {
      throw new IllegalArgumentException(quoted(text) + " is outside " + low + ".." + high + " of " + kind);
    }
    return v.longValue();
  }

  private static long nanoseconds(String text, BigInteger v, ElementaryType kind) {
    if (v.compareTo(MIN_LONG) < 0 || v.compareTo(MAX_LONG) > 0) {
      throw new IllegalArgumentException(quoted(text) + " is outside the range of " + kind + ", 1677-09-21 to 2262-04-11");
    }
    return v.longValue();
  }

  private static long real(String text, BigDecimal v, boolean negative, ElementaryType kind) {
    BigDecimal d = negative ? v.negate() : v;
    if (kind == ElementaryType.REAL) {
      float f = d.floatValue();
      if (Float.isInfinite(f)) {
        throw new IllegalArgumentException(quoted(text) + " is outside the range of REAL");
      }
      return Arith.real(negative && f == 0 ? -0.0f : f);
    }
    double f = d.doubleValue();
    if (Double.isInfinite(f)) {
      throw new IllegalArgumentException(quoted(text) + " is outside the range of LREAL");
    }
    return Arith.lreal(negative && f == 0 ? -0.0 : f);
  }

  private static int[] units(String text, Expression.Literal l, ElementaryType kind) {
    checkPrefix(text, l, kind);
    boolean wide = l.kind() == LiteralKind.WSTRING;
    boolean wantsWide = kind == ElementaryType.WSTRING || kind == ElementaryType.WCHAR;
    boolean either = kind == ElementaryType.USTRING || kind == ElementaryType.UCHAR;
    if (!either && wide != wantsWide) {
      throw new IllegalArgumentException(quoted(text) + " is in " + (wide ? "double" : "single") + " quotes; expected " + example(kind));
    }
    Literals.Value v = Literals.decode(l);
    if (v instanceof Literals.Invalid i) {
      throw new IllegalArgumentException(quoted(text) + " is no literal: " + i.message());
    }
    int[] units = ((Literals.Text) v).units();
    int greatest = kind == ElementaryType.STRING || kind == ElementaryType.CHAR ? 0xFF : wantsWide ? 0xFFFF : 0x10FFFF;
    for (int u : units) {
      if (u > greatest) {
        throw new IllegalArgumentException("character " + String.format(Locale.ROOT, "U+%04X", u) + " has no code in " + kind);
      }
    }
    return units;
  }

  private static IllegalArgumentException wrong(String text, Shape.Scalar shape) {
    return new IllegalArgumentException(quoted(text) + " is no literal of " + shape.typeName() + "; expected "
        + (shape.names().isEmpty() ? example(shape.kind()) : names(shape)));
  }

  private static String example(ElementaryType kind) {
    return switch (kind) {
      case BOOL -> "TRUE, FALSE, 1 or 0";
      case BYTE, WORD, DWORD, LWORD -> "a value such as 16#1F or 31";
      case SINT, INT, DINT, LINT, USINT, UINT, UDINT, ULINT -> "a whole number";
      case REAL, LREAL -> "a number such as 1.5";
      case TIME -> "a duration such as T#1s500ms";
      case LTIME -> "a duration such as LT#1s500ms";
      case DATE, LDATE -> "a date such as D#2024-02-29";
      case TOD, LTOD -> "a time of day such as TOD#15:36:55";
      case DT, LDT -> "a date and time such as DT#2024-02-29-15:36:55";
      case CHAR, UCHAR -> "one character in single quotes";
      case WCHAR -> "one character in double quotes";
      case STRING, USTRING -> "text in single quotes";
      case WSTRING -> "text in double quotes";
    };
  }

  private static String quoted(String text) {
    String t = text.strip();
    return "'" + (t.length() > 60 ? t.substring(0, 57) + "..." : t) + "'";
  }
}
