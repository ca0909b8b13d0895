package dev.scanloom.internal.scan;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.step.Symbols;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;

/** What a display samples, item by item: elementary variables and strings. */
public final class Items {
  /** One item: its address, slots taken (0 for a location) and bits (64 for a slot). */
  public record Item(long address, int slots, int width) {

    public static Item of(long address, Shape shape) {
      if (Address.isLocated(address)) {
        return new Item(address, 0, ((Shape.Scalar) shape).kind().bits());
      }
      return new Item(address, shape.slots(), 64);
    }
  }

  private Items() {}

  /** All declared elementary variables in the order of declaration, then the operands of ladder elements that are not among them. */
  static List<Item> all(Code code, long[] operands) {
    List<Item> list = new ArrayList<>();
    Set<Long> known = new TreeSet<>();
    for (Symbols.Root r : code.symbols().roots()) {
      collect(r.address(), r.shape(), list, known);
    }
    for (long operand : operands) {
      if (operand != Address.NULL && known.add(operand)) {
        boolean located = Address.isLocated(operand);
        list.add(new Item(operand, located ? 0 : 1, located ? ElementaryType.BOOL.bits() : 64));
      }
    }
    return List.copyOf(list);
  }

  private static void collect(long address, Shape shape, List<Item> list, Set<Long> known) {
    if (shape instanceof Shape.Composite c) {
      for (Shape.Member m : c.members()) {
        if (!m.indirect() && !m.hidden()) {
          collect(m.located() != 0 ? m.located() : address + m.offset(), m.shape(), list, known);
        }
      }
    } else if (shape instanceof Shape.Array a) {
      long stride = Address.isLocated(address) ? ((Shape.Scalar) a.element()).kind().bits() : a.element().slots();
      for (int i = 0; i < a.count(); i++) {
        collect(address + i * stride, a.element(), list, known);
      }
    } else if (known.add(address)) {
      list.add(Item.of(address, shape));
    }
  }

  /** Where the operand of each ladder element lies: for a block's body in its first instance, in the order of declaration; NULL when unknown. */
  static long[] operands(Code code) {
    long[] result = new long[code.elements().size()];
    for (Code.LadderElement e : code.elements()) {
      if (e.operand() != Address.NULL) {
        result[e.id()] = e.operand();
      } else if (e.operandSelf() >= 0) {
        long self = firstInstance(code, e.body());
        result[e.id()] = self == Address.NULL ? Address.NULL : self + e.operandSelf();
      }
    }
    return result;
  }

  private static long firstInstance(Code code, int body) {
    for (Code.Program p : code.programs()) {
      if (p.body() == body) {
        return p.self();
      }
    }
    String name = code.bodies().get(body).name();
    long found = find(code, name);
    int dot = name.lastIndexOf('.');
    return found == Address.NULL && dot > 0 ? find(code, name.substring(0, dot)) : found;
  }

  private static long find(Code code, String type) {
    for (Symbols.Root r : code.symbols().roots()) {
      long at = find(r.address(), r.shape(), type);
      if (at != Address.NULL) {
        return at;
      }
    }
    return Address.NULL;
  }

  private static long find(long address, Shape shape, String type) {
    if (shape instanceof Shape.Composite c) {
      if (c.typeName().equalsIgnoreCase(type) || type.regionMatches(true, type.length() - c.typeName().length() - 1, "." + c.typeName(), 0,
          c.typeName().length() + 1)) {
        return address;
      }
      for (Shape.Member m : c.members()) {
        if (!m.indirect() && m.located() == 0) {
          long at = find(address + m.offset(), m.shape(), type);
          if (at != Address.NULL) {
            return at;
          }
        }
      }
    } else if (shape instanceof Shape.Array a && !Address.isLocated(address)) {
      return find(address, a.element(), type);
    }
    return Address.NULL;
  }
}
