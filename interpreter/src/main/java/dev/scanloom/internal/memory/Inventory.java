package dev.scanloom.internal.memory;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.step.Symbols;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;

/**
 * The variables of a program part by part, so that values can leave the memory of one program and enter that of another by name and type. A part is an
 * elementary variable, a string, or an array of these: what a declaration gives one type. Constants and in-outs are no parts: the value of the first
 * belongs to the program, that of the second to the call. Immutable.
 */
public final class Inventory {
  /**
   * @param key path with the bounds of the arrays around it: elements of an array with other bounds are others
   * @param type text that is equal for equal types, also when they are enumerations or subranges of the same name
   * @param retained keeps its value over a warm restart
   * @param hidden made by the compiler
   */
  public record Part(String key, String path, String type, long address, Shape shape, boolean retained, boolean hidden) {
    public boolean isReference() {
      return shape instanceof Shape.Scalar s && s.reference() || shape instanceof Shape.Array a && a.element() instanceof Shape.Scalar e && e.reference();
    }

    public boolean isLocated() {
      return Address.isLocated(address);
    }
  }

  /**
   * What a part held.
   *
   * @param words slots, or the elements of a location, one each; of a reference nothing
   * @param targets of references: where they led, by name; empty for NULL and for what has no name
   */
  public record Held(String path, String type, long[] words, List<String> targets) {}

  private final Code code;
  private final List<Part> parts = new ArrayList<>();
  /** Where a reference can lead, outermost first: a name and a type behind a blank. */
  private final TreeMap<Long, String> targets = new TreeMap<>();
  private final Map<String, Long> places = new LinkedHashMap<>();
  private boolean references;

  public Inventory(Code code) {
    this.code = code;
    for (Symbols.Root r : code.symbols().roots()) {
      if (r.retention() != Shape.Retention.CONSTANT) {
        collect(r.name(), r.name(), r.address(), r.shape(), keeps(r.retention(), code.choices().keepUnqualified()), false);
      }
    }
    if (references) {
      for (Symbols.Root r : code.symbols().roots()) {
        if (!Address.isLocated(r.address())) {
          collectTargets(r.name(), r.address(), r.shape());
        }
      }
    }
  }

  public List<Part> parts() {
    return parts;
  }

  /** Path of a mutex that some task holds; null when none is held. A mutex tells its owner by the number of the task. */
  public String heldMutex(long[] slots) {
    for (Symbols.Root r : code.symbols().roots()) {
      String held = Address.isLocated(r.address()) ? null : heldMutex(r.name(), r.address(), r.shape(), slots);
      if (held != null) {
        return held;
      }
    }
    return null;
  }

  private static String heldMutex(String path, long address, Shape shape, long[] slots) {
    if (shape instanceof Shape.Composite c) {
      if (c.typeName().equals("MUTEX")) {
        return c.member("owner").filter(m -> slots[(int) address + m.offset()] != 0).map(m -> path).orElse(null);
      }
      for (Shape.Member m : c.members()) {
        String held = m.indirect() || m.located() != 0 ? null : heldMutex(path + "." + m.name(), address + m.offset(), m.shape(), slots);
        if (held != null) {
          return held;
        }
      }
    } else if (shape instanceof Shape.Array a && !isElementary(a.element())) {
      for (int i = 0; i < a.count(); i++) {
        String held = heldMutex(path + index(a, i), address + (long) i * a.element().slots(), a.element(), slots);
        if (held != null) {
          return held;
        }
      }
    }
    return null;
  }

  private static boolean keeps(Shape.Retention own, boolean around) {
    return own == Shape.Retention.NONE ? around : own == Shape.Retention.RETAIN;
  }

  private static boolean isElementary(Shape shape) {
    return !(shape instanceof Shape.Composite || shape instanceof Shape.Array);
  }

  private void collect(String key, String path, long address, Shape shape, boolean retained, boolean hidden) {
    if (shape instanceof Shape.Composite c) {
      for (Shape.Member m : c.members()) {
        if (!m.indirect() && m.retention() != Shape.Retention.CONSTANT) {
          collect(key + "." + m.name(), path + "." + m.name(), m.located() != 0 ? m.located() : address + m.offset(), m.shape(),
              keeps(m.retention(), retained), hidden || m.hidden());
        }
      }
    } else if (shape instanceof Shape.Array a && !isElementary(a.element())) {
      for (int i = 0; i < a.count(); i++) {
        String index = index(a, i);
        collect(key + bounds(a) + index, path + index, address + (long) i * a.element().slots(), a.element(), retained, hidden);
      }
    } else {
      Part p = new Part(key, path, type(shape), address, shape, retained, hidden);
      references |= p.isReference();
      parts.add(p);
    }
  }

  private static String bounds(Shape.Array a) {
    StringBuilder b = new StringBuilder("{");
    for (int[] d : a.bounds()) {
      b.append(b.length() == 1 ? "" : ",").append(d[0]).append("..").append(d[1]);
    }
    return b.append('}').toString();
  }

  private static String index(Shape.Array a, int i) {
    StringBuilder b = new StringBuilder();
    int rest = i;
    for (int d = a.bounds().size() - 1; d >= 0; d--) {
      int[] bounds = a.bounds().get(d);
      int length = bounds[1] - bounds[0] + 1;
      b.insert(0, (d == 0 ? "" : ",") + (bounds[0] + rest % length));
      rest /= length;
    }
    return "[" + b + "]";
  }

  /** A text that tells types apart, also enumerations of one name with other values. */
  static String type(Shape shape) {
    if (shape instanceof Shape.Scalar s) {
      StringBuilder b = new StringBuilder(s.typeName());
      if (!s.typeName().equals(s.kind().name())) {
        b.append(':').append(s.kind());
      }
      if (s.low() != null) {
        b.append('(').append(s.low()).append("..").append(s.high()).append(')');
      }
      if (!s.names().isEmpty()) {
        b.append(new TreeMap<>(s.names()));
      }
      return b.toString();
    }
    if (shape instanceof Shape.Array a) {
      return "ARRAY" + bounds(a) + " OF " + type(a.element());
    }
    if (shape instanceof Shape.Composite c) {
      StringBuilder b = new StringBuilder(c.typeName()).append('{');
      for (Shape.Member m : c.members()) {
        b.append(m.name()).append(':').append(type(m.shape())).append(';');
      }
      return b.append('}').toString();
    }
    return shape.typeName();
  }

  // ---- references ----

  private void collectTargets(String key, long address, Shape shape) {
    String name = key + " " + type(shape);
    targets.putIfAbsent(address, name);
    places.put(name, address);
    if (shape instanceof Shape.Composite c) {
      for (Shape.Member m : c.members()) {
        if (!m.indirect() && m.located() == 0) {
          collectTargets(key + "." + m.name(), address + m.offset(), m.shape());
        }
      }
    } else if (shape instanceof Shape.Array a) {
      for (int i = 0; i < a.count(); i++) {
        collectTargets(key + bounds(a) + index(a, i), address + (long) i * a.element().slots(), a.element());
      }
    }
  }

  private String target(long address) {
    if (Address.isLocated(address)) {
      return "%" + Long.toHexString(address);
    }
    return targets.getOrDefault(address, "");
  }

  /** NULL when the target does not exist here. */
  private long place(String target) {
    if (target.startsWith("%")) {
      long a = Long.parseUnsignedLong(target.substring(1), 16);
      int area = Address.area(a);
      return Address.isLocated(a) && area != 0 && Address.bit(a) + 64 <= 8L * code.memory().areaBytes()[area - 1] ? a : Address.NULL;
    }
    return places.getOrDefault(target, Address.NULL);
  }

  // ---- values ----

  private static int count(Part p) {
    return p.shape() instanceof Shape.Array a ? a.count() : 1;
  }

  /** Bits of a location's element. */
  public static int width(Part p) {
    Shape e = p.shape() instanceof Shape.Array a ? a.element() : p.shape();
    return ((Shape.Scalar) e).kind().bits();
  }

  /**
   * What a part holds in a memory of this program: its variables' slots from index 0 and its areas by number.
   */
  public Held hold(Part p, long[] slots, byte[][] areas) {
    if (p.isLocated()) {
      int n = count(p);
      int width = width(p);
      long[] words = new long[n];
      for (int i = 0; i < n; i++) {
        words[i] = Bits.read(areas[Address.area(p.address())], Address.bit(p.address()) + (long) i * width, width);
      }
      return new Held(p.path(), p.type(), words, List.of());
    }
    int at = (int) p.address();
    int n = p.shape().slots();
    if (p.isReference()) {
      List<String> led = new ArrayList<>();
      for (int i = 0; i < n; i++) {
        led.add(slots[at + i] == Address.NULL ? "" : target(slots[at + i]));
      }
      return new Held(p.path(), p.type(), new long[0], led);
    }
    long[] words = new long[n];
    System.arraycopy(slots, at, words, 0, n);
    return new Held(p.path(), p.type(), words, List.of());
  }

  /** Puts what a part of equal type held into a memory of this program. False when a reference leads to what does not exist here; it is NULL then. */
  public boolean put(Part p, Held held, long[] slots, byte[][] areas) {
    if (p.isLocated()) {
      int width = width(p);
      for (int i = 0; i < held.words().length; i++) {
        Bits.write(areas[Address.area(p.address())], Address.bit(p.address()) + (long) i * width, width, held.words()[i]);
      }
      return true;
    }
    int at = (int) p.address();
    if (!p.isReference()) {
      System.arraycopy(held.words(), 0, slots, at, held.words().length);
      return true;
    }
    boolean all = true;
    for (int i = 0; i < held.targets().size(); i++) {
      String target = held.targets().get(i);
      slots[at + i] = target.isEmpty() ? Address.NULL : place(target);
      all &= target.isEmpty() || slots[at + i] != Address.NULL;
    }
    return all;
  }

  /** The held value has the size of the part; what comes from outside may not. */
  public static boolean fits(Part p, Held held) {
    int slots = p.isLocated() ? count(p) : p.shape().slots();
    if (!p.type().equals(held.type())) {
      return false;
    }
    if (p.isReference() && !p.isLocated()) {
      return held.targets().size() == slots && held.words().length == 0;
    }
    return held.words().length == slots && held.targets().isEmpty() && textsFit(p, held.words());
  }

  /** Lengths of strings lie within their capacities. */
  private static boolean textsFit(Part p, long[] words) {
    Shape e = p.shape() instanceof Shape.Array a ? a.element() : p.shape();
    if (e instanceof Shape.Text t) {
      for (int i = 0; i < words.length; i += t.slots()) {
        if (words[i] < 0 || words[i] > t.capacity()) {
          return false;
        }
      }
    }
    return true;
  }

  /** Hash over the names and types of the retained parts (FNV-1a, 64 bits). */
  public long signature() {
    long h = 0xcbf29ce484222325L;
    for (Part p : parts) {
      if (p.retained()) {
        String text = p.key() + "\n" + p.type() + "\n";
        for (int i = 0; i < text.length(); i++) {
          h = (h ^ text.charAt(i)) * 0x100000001b3L;
        }
      }
    }
    return h;
  }
}
