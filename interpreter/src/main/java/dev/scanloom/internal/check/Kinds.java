package dev.scanloom.internal.check;

import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.math.BigInteger;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;

/** Rules on elementary types and on the compatibility of types (Figures 5, 11 and 12 of the standard; rows S.conv-*). */
final class Kinds {
  private static final Type[] ELEMENTARY = elementary();

  static final Type BOOL = of(ElementaryType.BOOL);
  static final Type DINT = of(ElementaryType.DINT);
  static final Type TIME = of(ElementaryType.TIME);
  static final Type UNKNOWN = new Type.Unknown();
  static final Type NOTHING = new Type.Nothing();

  private static final Map<String, ElementaryType> NAMES = names();
  private static final Map<String, String> GENERICS = generics();
  /** Candidates for a common type, the one with the fewest values first. */
  private static final List<ElementaryType> COMMON = List.of(
      ElementaryType.INT, ElementaryType.DINT, ElementaryType.LINT, ElementaryType.REAL, ElementaryType.LREAL, ElementaryType.LTIME,
      ElementaryType.LDATE, ElementaryType.LTOD, ElementaryType.LDT);

  private Kinds() {}

  private static Type[] elementary() {
    ElementaryType[] kinds = ElementaryType.values();
    Type[] all = new Type[kinds.length];
    for (ElementaryType k : kinds) {
      all[k.ordinal()] = new Type.Elementary(k);
    }
    return all;
  }

  private static Map<String, ElementaryType> names() {
    Map<String, ElementaryType> m = new LinkedHashMap<>();
    for (ElementaryType t : ElementaryType.values()) {
      m.put(t.name(), t);
    }
    m.put("TIME_OF_DAY", ElementaryType.TOD);
    m.put("LTIME_OF_DAY", ElementaryType.LTOD);
    m.put("DATE_AND_TIME", ElementaryType.DT);
    m.put("LDATE_AND_TIME", ElementaryType.LDT);
    return m;
  }

  private static Map<String, String> generics() {
    Map<String, String> m = new LinkedHashMap<>();
    for (String s : List.of("ANY", "ANY_DERIVED", "ANY_ELEMENTARY", "ANY_MAGNITUDE", "ANY_NUM", "ANY_REAL", "ANY_INT", "ANY_UNSIGNED",
        "ANY_SIGNED",
        "ANY_DURATION", "ANY_BIT", "ANY_CHARS", "ANY_STRING", "ANY_CHAR", "ANY_DATE", "ANY_ENUM")) {
      m.put(s, s);
    }
    return m;
  }

  static Optional<ElementaryType> named(String key) {
    return Optional.ofNullable(NAMES.get(key));
  }

  static Iterable<String> elementaryNames() {
    return NAMES.keySet();
  }

  static boolean isGenericName(String key) {
    return GENERICS.containsKey(key);
  }

  static Type of(ElementaryType kind) {
    return ELEMENTARY[kind.ordinal()];
  }

  /** Elementary kind that values of a type have: of elementary types, subranges and strings; null for all others. */
  static ElementaryType kind(Type type) {
    Type t = type.base();
    if (t instanceof Type.Elementary e) {
      return e.kind();
    }
    if (t instanceof Type.Subrange s) {
      return s.kind();
    }
    if (t instanceof Type.Text s) {
      return s.kind();
    }
    return null;
  }

  /**
   * As {@link #kind} but also the base of an enumeration: how one slot of the type is held. Null for types of several slots, references and
   * strings.
   */
  static ElementaryType slotKind(Type type) {
    Type t = type.base();
    if (t instanceof Type.Enumeration e) {
      return e.baseKind();
    }
    ElementaryType k = kind(t);
    return k == null || k.isString() ? null : k;
  }

  static boolean isUnknown(Type t) {
    return t instanceof Type.Unknown;
  }

  static boolean isBool(Type t) {
    return kind(t) == ElementaryType.BOOL;
  }

  /** Conversion that happens by itself since it keeps every value (S.conv-implicit-lossless); also from a type to itself. */
  static boolean implicit(ElementaryType from, ElementaryType to) {
    if (from == to) {
      return true;
    }
    switch (from.family()) {
      case BIT:
        return to.isBits() && to.bits() > from.bits();
      case SIGNED:
        return (to.family() == Family.SIGNED && to.bits() > from.bits()) || integerFitsReal(from, to);
      case UNSIGNED:
        return (to.isInteger() && to.bits() > from.bits()) || integerFitsReal(from, to);
      case REAL:
        return from == ElementaryType.REAL && to == ElementaryType.LREAL;
      case DURATION:
        return to == ElementaryType.LTIME;
      case DATE:
        return to == ElementaryType.LDATE;
      case TIME_OF_DAY:
        return to == ElementaryType.LTOD;
      case DATE_AND_TIME:
        return to == ElementaryType.LDT;
      case CHARACTER:
        return to == stringOf(from);
      case STRING:
        return false;
    }
    throw new IllegalArgumentException(from.name());
  }

  private static boolean integerFitsReal(ElementaryType from, ElementaryType to) {
    return (to == ElementaryType.REAL && from.bits() <= 16) || (to == ElementaryType.LREAL && from.bits() <= 32);
  }

  /** The string type of a character type. */
  static ElementaryType stringOf(ElementaryType character) {
    return switch (character) {
      case CHAR -> ElementaryType.STRING;
      case WCHAR -> ElementaryType.WSTRING;
      case UCHAR -> ElementaryType.USTRING;
      case BOOL, BYTE, WORD, DWORD, LWORD, SINT, INT, DINT, LINT, USINT, UINT, UDINT, ULINT, REAL, LREAL, TIME, LTIME, DATE, LDATE, TOD,
          LTOD, DT,
          LDT, STRING, WSTRING, USTRING -> null;
    };
  }

  /** The character type of a string type. */
  static ElementaryType characterOf(ElementaryType string) {
    return string == ElementaryType.STRING ? ElementaryType.CHAR
        : string == ElementaryType.WSTRING ? ElementaryType.WCHAR : ElementaryType.UCHAR;
  }

  /** The smallest type to which both convert by themselves (S.conv-mixed-operands). */
  static Optional<ElementaryType> common(ElementaryType a, ElementaryType b) {
    if (implicit(a, b)) {
      return Optional.of(b);
    }
    if (implicit(b, a)) {
      return Optional.of(a);
    }
    if (a.family() == Family.CHARACTER || b.family() == Family.CHARACTER) {
      return Optional.empty();
    }
    return COMMON.stream().filter(c -> implicit(a, c) && implicit(b, c)).findFirst();
  }

  /** A conversion function exists for the pair (Tables 22 to 27); also from a type to itself. */
  static boolean convertible(ElementaryType from, ElementaryType to) {
    if (from == to) {
      return true;
    }
    if (from.isNumber() && to.isNumber()) {
      return true;
    }
    if (from.isBits() && to.isBits()) {
      return true;
    }
    if (from.isBits() && to.isInteger()) {
      return true;
    }
    if (from.isInteger() && to.isBits()) {
      return to != ElementaryType.BOOL;
    }
    if (from.isBits() && to.isReal()) {
      return from.bits() == to.bits();
    }
    if (from.isReal() && to.isBits()) {
      return from.bits() == to.bits();
    }
    if (from.family() == Family.CHARACTER && to.isBits()) {
      return to.bits() >= from.bits() && to != ElementaryType.BOOL;
    }
    if (from.isBits() && to.family() == Family.CHARACTER) {
      return from.bits() == to.bits();
    }
    boolean textFrom = from.isString() || from.family() == Family.CHARACTER;
    boolean textTo = to.isString() || to.family() == Family.CHARACTER;
    if (textFrom && textTo) {
      boolean charFrom = from.family() == Family.CHARACTER;
      boolean charTo = to.family() == Family.CHARACTER;
      return charFrom == charTo || (charFrom ? stringOf(from) == to : stringOf(to) == from);
    }
    if (from.family() == Family.DATE_AND_TIME) {
      return to.family() == Family.DATE_AND_TIME || to.family() == Family.DATE || to.family() == Family.TIME_OF_DAY;
    }
    return from.family() == to.family()
        && (from.family() == Family.DURATION || from.family() == Family.DATE || from.family() == Family.TIME_OF_DAY);
  }

  /** A type belongs to a generic type of the standard's hierarchy (Figure 5). */
  static boolean belongs(Type type, String generic) {
    Type t = type.base();
    if (t instanceof Type.Unknown) {
      return true;
    }
    ElementaryType k = kind(t);
    switch (generic) {
      case "ANY":
        return !(t instanceof Type.Nothing);
      case "ANY_DERIVED":
        return k == null || t instanceof Type.Subrange;
      case "ANY_ENUM":
        return t instanceof Type.Enumeration;
      default:
        break;
    }
    if (k == null) {
      return false;
    }
    switch (generic) {
      case "ANY_ELEMENTARY":
        return true;
      case "ANY_MAGNITUDE":
        return k.isNumber() || k.family() == Family.DURATION;
      case "ANY_NUM":
        return k.isNumber();
      case "ANY_REAL":
        return k.isReal();
      case "ANY_INT":
        return k.isInteger();
      case "ANY_UNSIGNED":
        return k.family() == Family.UNSIGNED;
      case "ANY_SIGNED":
        return k.family() == Family.SIGNED;
      case "ANY_DURATION":
        return k.family() == Family.DURATION;
      case "ANY_BIT":
        return k.isBits();
      case "ANY_CHARS":
        return k.isString() || k.family() == Family.CHARACTER;
      case "ANY_STRING":
        return k.isString();
      case "ANY_CHAR":
        return k.family() == Family.CHARACTER;
      case "ANY_DATE":
        return k.family() == Family.DATE || k.family() == Family.TIME_OF_DAY || k.family() == Family.DATE_AND_TIME;
      default:
        throw new IllegalArgumentException(generic);
    }
  }

  /** An integer value can be held by a kind (integers and bit strings; BOOL: 0 and 1). */
  static boolean fits(BigInteger v, ElementaryType kind) {
    if (kind.family() == Family.SIGNED) {
      return v.bitLength() < kind.bits();
    }
    return (kind.family() == Family.UNSIGNED || kind.isBits()) && v.signum() >= 0 && v.bitLength() <= kind.bits();
  }

  /** The integer that a slot of an integer or bit-string kind stands for. */
  static BigInteger integer(long slot, ElementaryType kind) {
    return kind.bits() == 64 && kind.family() != Family.SIGNED ? new BigInteger(Long.toUnsignedString(slot)) : BigInteger.valueOf(slot);
  }

  static boolean isUnsigned(ElementaryType kind) {
    return kind.family() == Family.UNSIGNED || kind.isBits();
  }

  static int compare(long a, long b, ElementaryType kind) {
    return isUnsigned(kind) ? Long.compareUnsigned(a, b) : Long.compare(a, b);
  }

  /**
   * Declaration from which a structured type takes its identity: a structure, or the name first given to an array; null for nameless types.
   */
  private static Object root(Type type) {
    Type t = type;
    Object last = null;
    while (t instanceof Type.Derived d) {
      last = d;
      t = d.target();
    }
    return t instanceof Type.Array ? last : t;
  }

  /** Both types denote the same values and the same layout, and no two names of separately declared arrays are mixed (T72.1c). */
  static boolean same(Type a, Type b) {
    if (a == b) {
      return true;
    }
    Type x = a.base();
    Type y = b.base();
    if (!x.equals(y)) {
      if (x instanceof Type.Reference r && y instanceof Type.Reference s) {
        return same(r.target(), s.target());
      }
      if (x instanceof Type.Block p && y instanceof Type.Block q) {
        return p.pou() == q.pou();
      }
      return false;
    }
    if (!(x instanceof Type.Array)) {
      return true;
    }
    Object p = root(a);
    Object q = root(b);
    return p == null || q == null || p == q;
  }

  static String quote(String s) {
    return s.length() <= 60 ? s : s.substring(0, 57) + "...";
  }

  static String key(String name) {
    return name.toUpperCase(Locale.ROOT);
  }
}
