package dev.scanloom.internal.lower;

import dev.scanloom.internal.check.Init;
import dev.scanloom.internal.check.Located;
import dev.scanloom.internal.check.Place;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.check.Variable;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.Collections;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.function.ToLongFunction;

/**
 * Where everything lies: sizes and shapes of types, offsets of variables in instances and frames. An instance of a block or class begins with a header
 * slot that holds its type number, then the members of its base, then its own.
 */
final class Layout {
  /** Where a variable lies. */
  enum Area { INSTANCE, FRAME, STATIC, FIELD }

  /** {@code indirect}: the slot holds the variable's address (in-outs; open arrays, with their bounds behind it). */
  record Storage(Area area, int offset, boolean indirect) {}

  private final Map<Variable, Storage> storage = new HashMap<>();
  private final Map<Pou, Integer> instanceSlots = new HashMap<>();
  private final Map<Pou, Integer> frameSlots = new HashMap<>();
  private final Map<Type, Shape> shapes = new HashMap<>();
  private final Map<Pou, Integer> typeNumbers = new LinkedHashMap<>();

  Storage storage(Variable v) {
    Storage s = storage.get(v);
    if (s == null) {
      throw new IllegalStateException("no storage for " + v.name());
    }
    return s;
  }

  /** Gives a variable static storage. */
  void place(Variable v, int slot) {
    storage.put(v, new Storage(Area.STATIC, slot, false));
  }

  /** Number in the header of instances of a block or class. */
  int typeNumber(Pou pou) {
    return typeNumbers.computeIfAbsent(pou, p -> typeNumbers.size() + 1);
  }

  /** Blocks and classes in the order of their numbers, from 1. */
  List<Pou> numbered() {
    return new ArrayList<>(typeNumbers.keySet());
  }

  static boolean hasHeader(Pou pou) {
    return pou.kind() == Pou.Kind.FUNCTION_BLOCK || pou.kind() == Pou.Kind.CLASS;
  }

  static boolean isAggregate(Type type) {
    Type t = type.base();
    return t instanceof Type.Array || t instanceof Type.Structure || t instanceof Type.Block;
  }

  /** 1 + the kind of the scalars of which an array consists, which may lie in a located area; 0 for what cannot. */
  static int elementKind(Type type) {
    Type t = type;
    while (t.base() instanceof Type.Array a) {
      t = a.element();
    }
    return type.base() instanceof Type.Array && isScalar(t) ? 1 + kind(t).ordinal() : 0;
  }

  static boolean isText(Type type) {
    return type.base() instanceof Type.Text;
  }

  static boolean isScalar(Type type) {
    return !isAggregate(type) && !isText(type);
  }

  static boolean isOpenArray(Type type) {
    return type.base() instanceof Type.Array a && a.open();
  }

  /** Elementary kind in which a scalar is held; ULINT for references and interfaces. */
  static ElementaryType kind(Type type) {
    Type t = type.base();
    if (t instanceof Type.Elementary e) {
      return e.kind();
    }
    if (t instanceof Type.Subrange s) {
      return s.kind();
    }
    if (t instanceof Type.Enumeration e) {
      return e.baseKind();
    }
    if (t instanceof Type.Text x) {
      return x.kind();
    }
    return ElementaryType.ULINT;
  }

  /** Slots of a value of a type. */
  int slots(Type type) {
    Type t = type.base();
    if (t instanceof Type.Text x) {
      return Shape.Text.slotsFor(x.kind(), x.capacity());
    }
    if (t instanceof Type.Array a) {
      return Math.toIntExact(a.count() * slots(a.element()));
    }
    if (t instanceof Type.Structure s) {
      return structure(s);
    }
    if (t instanceof Type.Block b) {
      return instance(b.pou());
    }
    return 1;
  }

  private final Map<Type.Structure, Integer> structureSlots = new HashMap<>();

  private int structure(Type.Structure s) {
    Integer known = structureSlots.get(s);
    if (known != null) {
      return known;
    }
    int at = 0;
    boolean packed = s.fields().stream().anyMatch(f -> f.relative().isPresent());
    for (Variable f : s.fields()) {
      if (packed && f.relative().isPresent()) {
        int bit = f.relative().get().bitOffset();
        storage.put(f, new Storage(Area.FIELD, bit / 64, false));
        at = Math.max(at, bit / 64 + 1);
      } else {
        storage.put(f, new Storage(Area.FIELD, at, isStarred(f)));
        at += isStarred(f) ? 1 : slots(f.type());
      }
    }
    int size = rounded(Math.max(1, at));
    structureSlots.put(s, size);
    return size;
  }

  /**
   * Slots that something of so many takes, so that loops over arrays of it are quick: a product with a sum or difference of two powers of two becomes shifts
   * and an addition in HotSpot's compiler, which then checks every subscript in every round instead of once before the loop. Up to a third more.
   */
  static int rounded(int slots) {
    for (int n = slots; n <= slots + slots / 3; n++) {
      int rest = n & n - 1;
      boolean sum = rest != 0 && (rest & rest - 1) == 0;
      boolean difference = n > 1 && (n & n + 1) == 0;
      if (!sum && !difference) {
        return n;
      }
    }
    return slots;
  }

  /** Slots of an instance of a program, block or class; lays it out at the first call. */
  int instance(Pou pou) {
    Integer known = instanceSlots.get(pou);
    if (known != null) {
      return known;
    }
    int at = pou.base().isPresent() ? instance(pou.base().get()) : hasHeader(pou) ? 1 : 0;
    if (hasHeader(pou)) {
      typeNumber(pou);
    }
    for (Variable v : pou.variables()) {
      switch (v.section()) {
        case INPUT, OUTPUT, LOCAL, HIDDEN, RESULT, IN_OUT -> {
          boolean indirect = v.section() == Variable.Section.IN_OUT || isOpenArray(v.type()) || isStarred(v);
          storage.put(v, new Storage(Area.INSTANCE, at, indirect));
          if (v.located().isEmpty() || indirect) {
            at += indirect ? indirectSlots(v.type()) : slots(v.type()) + (v.edge() == Variable.Edge.NONE ? 0 : 2);
          }
        }
        case TEMP, EXTERNAL, GLOBAL, FIELD -> {
          // TEMP lies in the frame; EXTERNAL stands for its global; a program's GLOBAL is one of the project's; FIELD belongs to structures
        }
      }
    }
    int size = rounded(at);
    instanceSlots.put(pou, size);
    return size;
  }

  /** A location left open with * and completed per instance: the slot holds the address. */
  static boolean isStarred(Variable v) {
    return v.located().isPresent() && v.located().get().bit() < 0;
  }

  static int indirectSlots(Type type) {
    return 1 + (type.base() instanceof Type.Array a && a.open() ? 2 * a.bounds().size() : 0);
  }

  /** Slots of parameters and variables in the frame of a body of a POU; lays it out at the first call. */
  int frame(Pou pou) {
    Integer known = frameSlots.get(pou);
    if (known != null) {
      return known;
    }
    boolean all = pou.kind() == Pou.Kind.FUNCTION || pou.kind() == Pou.Kind.METHOD;
    boolean bound = pou.code() instanceof dev.scanloom.internal.check.Code.Native;
    int at = 0;
    for (Variable v : pou.variables()) {
      boolean here = all ? v.section() != Variable.Section.EXTERNAL : v.section() == Variable.Section.TEMP;
      if (!here) {
        continue;
      }
      boolean indirect = v.section() == Variable.Section.IN_OUT || isOpenArray(v.type()) || (bound && !isScalar(v.type()));
      storage.put(v, new Storage(Area.FRAME, at, indirect));
      at += indirect ? indirectSlots(v.type()) : slots(v.type());
    }
    frameSlots.put(pou, at);
    return at;
  }

  static long address(Located l) {
    return Address.located(l.area(), l.bit());
  }

  // ---- shapes ----

  Shape shape(Type type) {
    Shape known = shapes.get(type);
    if (known == null) {
      known = makeShape(type);
      shapes.put(type, known);
    }
    return known;
  }

  private Shape makeShape(Type type) {
    Type t = type.base();
    if (t instanceof Type.Elementary e) {
      return type == t ? new Shape.Scalar(e.kind()) : new Shape.Scalar(e.kind(), type.name(), Map.of(), null, null, false);
    }
    if (t instanceof Type.Text x) {
      return new Shape.Text(x.kind(), x.capacity());
    }
    if (t instanceof Type.Enumeration e) {
      Map<Long, String> names = new LinkedHashMap<>();
      e.values().forEach(v -> names.putIfAbsent(v.value(), v.name()));
      // An enumeration without a base type holds its values only; one with named values is not bounded (T11.2a).
      Long low = e.isOpen() || names.isEmpty() ? null : Collections.min(names.keySet());
      Long high = e.isOpen() || names.isEmpty() ? null : Collections.max(names.keySet());
      return new Shape.Scalar(e.baseKind(), e.name(), names, low, high, false);
    }
    if (t instanceof Type.Subrange s) {
      return new Shape.Scalar(s.kind(), s.name(), Map.of(), s.low(), s.high(), false);
    }
    if (t instanceof Type.Array a) {
      List<int[]> bounds = new ArrayList<>();
      if (!a.open()) {
        for (Type.Bounds b : a.bounds()) {
          bounds.add(new int[] {b.low(), b.high()});
        }
      }
      return new Shape.Array(bounds, shape(a.element()), a.open() ? 0 : (int) a.count());
    }
    if (t instanceof Type.Structure s) {
      int size = structure(s);
      List<Shape.Member> members = new ArrayList<>();
      int packed = 0;
      for (Variable f : s.fields()) {
        if (f.relative().isEmpty()) {
          members.add(new Shape.Member(f.name(), storage(f).offset(), 0, isStarred(f), false, Shape.Retention.NONE, shape(f.type())));
        } else {
          packed = Math.max(packed, storage(f).offset() + 1);
        }
      }
      for (int word = 0; word < packed; word++) {
        members.add(compilerMade("$bits" + word, word, ElementaryType.LWORD));
      }
      return new Shape.Composite(s.name(), members, size);
    }
    if (t instanceof Type.Block b) {
      return instanceShape(b.pou());
    }
    return new Shape.Scalar(ElementaryType.ULINT, type.name(), Map.of(), null, null, true);
  }

  Shape.Composite instanceShape(Pou pou) {
    int size = instance(pou);
    List<Shape.Member> members = new ArrayList<>();
    addMembers(pou, members);
    return new Shape.Composite(pou.name(), members, size);
  }

  private void addMembers(Pou pou, List<Shape.Member> members) {
    if (pou.base().isPresent()) {
      addMembers(pou.base().get(), members);
    }
    for (Variable v : pou.variables()) {
      Storage s = storage.get(v);
      if (s == null || s.area() != Area.INSTANCE) {
        continue;
      }
      boolean located = v.located().isPresent() && !s.indirect();
      Shape shape = isOpenArray(v.type()) ? new Shape.Scalar(ElementaryType.ULINT, v.type().name(), Map.of(), null, null, true) : shape(v.type());
      boolean hidden = v.section() == Variable.Section.HIDDEN && v.name().startsWith("$");
      members.add(new Shape.Member(v.name(), s.offset(), located ? address(v.located().get()) : 0, s.indirect(), hidden,
          retention(v), shape));
      if (v.edge() != Variable.Edge.NONE && !located && !s.indirect()) {
        int behind = s.offset() + slots(v.type());
        members.add(compilerMade("$edge" + v.name(), behind, ElementaryType.BOOL));
        members.add(compilerMade("$last" + v.name(), behind + 1, ElementaryType.BOOL));
      }
    }
  }

  /** Memory beside the declared variables: it is kept with them, and nobody sees it. */
  private static Shape.Member compilerMade(String name, int offset, ElementaryType kind) {
    return new Shape.Member(name, offset, 0, false, true, Shape.Retention.NONE, new Shape.Scalar(kind));
  }

  static Shape.Retention retention(Variable v) {
    if (v.isConstant()) {
      return Shape.Retention.CONSTANT;
    }
    return retention(v.retention());
  }

  static Shape.Retention retention(Variable.Retention written) {
    return switch (written) {
      case NONE -> Shape.Retention.NONE;
      case RETAIN -> Shape.Retention.RETAIN;
      case NON_RETAIN -> Shape.Retention.NON_RETAIN;
    };
  }

  // ---- initial values ----

  /** Writes the initial value of a variable at a slot. {@code resolve} gives the address of a static place. */
  void initialize(long[] image, int slot, Variable v, ToLongFunction<Place> resolve) {
    write(image, slot, v.type(), v.initial().orElse(null), resolve);
  }

  /** Writes an initial value (null: the default of the type) at a slot. */
  void write(long[] image, int slot, Type type, Init init, ToLongFunction<Place> resolve) {
    if (init == null && type instanceof Type.Derived d) {
      write(image, slot, d.target(), d.initial().orElse(null), resolve);
      return;
    }
    Type t = type.base();
    if (t instanceof Type.Array a) {
      writeArray(image, slot, a, (Init.Array) init, resolve);
    } else if (t instanceof Type.Structure s) {
      structure(s);
      Map<Variable, Init> values = init instanceof Init.Members m ? m.values() : Map.of();
      for (Variable f : s.fields()) {
        Init own = values.getOrDefault(f, f.initial().orElse(null));
        if (f.relative().isPresent()) {
          writePacked(image, slot, f, own);
        } else if (!isStarred(f)) {
          write(image, slot + storage(f).offset(), f.type(), own, resolve);
        }
      }
    } else if (t instanceof Type.Block b) {
      writeInstance(image, slot, b.pou(), b.pou(), init instanceof Init.Members m ? m.values() : Map.of(), resolve);
    } else if (t instanceof Type.Text x) {
      if (init instanceof Init.Text text) {
        Texts.write(image, slot, x.kind(), text.units(), x.capacity());
      }
    } else if (init instanceof Init.Scalar s) {
      image[slot] = s.value();
    } else if (init instanceof Init.Address at) {
      image[slot] = resolve.applyAsLong(at.place());
    } else {
      image[slot] = defaultScalar(t);
    }
  }

  /** Default initial value of a scalar type. */
  static long defaultScalar(Type t) {
    if (t instanceof Type.Enumeration e) {
      return e.initial();
    }
    if (t instanceof Type.Subrange s) {
      return s.low();
    }
    return 0;
  }

  private static void writePacked(long[] image, int slot, Variable f, Init own) {
    int bit = f.relative().orElseThrow().bitOffset();
    int width = kind(f.type()).bits();
    long value = own instanceof Init.Scalar s ? s.value() : defaultScalar(f.type().base());
    long mask = width == 64 ? -1L : (1L << width) - 1;
    int at = slot + bit / 64;
    if (own != null) {
      image[at] = image[at] & ~(mask << bit % 64) | (value & mask) << bit % 64;
    }
  }

  private void writeArray(long[] image, int slot, Type.Array a, Init.Array init, ToLongFunction<Place> resolve) {
    int size = slots(a.element());
    long at = 0;
    if (init != null) {
      for (Init.Run run : init.runs()) {
        long n = Math.min(run.count(), a.count() - at);
        if (n <= 0) {
          continue;
        }
        fill(image, slot + (int) at * size, a.element(), run.value(), n, size, resolve);
        at += n;
      }
    }
    if (at < a.count()) {
      fill(image, slot + (int) at * size, a.element(), null, a.count() - at, size, resolve);
    }
  }

  private void fill(long[] image, int slot, Type element, Init value, long n, int size, ToLongFunction<Place> resolve) {
    write(image, slot, element, value, resolve);
    for (long i = 1; i < n; i++) {
      System.arraycopy(image, slot, image, slot + (int) i * size, size);
    }
  }

  /** The initial values of an instance; {@code actual} is its type, {@code pou} the part being written. */
  void writeInstance(long[] image, int slot, Pou actual, Pou pou, Map<Variable, Init> values, ToLongFunction<Place> resolve) {
    instance(pou);
    if (hasHeader(actual)) {
      image[slot] = typeNumber(actual);
    }
    if (pou.base().isPresent()) {
      writeInstance(image, slot, actual, pou.base().get(), values, resolve);
    }
    for (Variable v : pou.variables()) {
      Storage s = storage.get(v);
      if (s == null || s.area() != Area.INSTANCE || s.indirect() || v.located().isPresent()) {
        continue;
      }
      write(image, slot + s.offset(), v.type(), values.getOrDefault(v, v.initial().orElse(null)), resolve);
    }
  }
}
