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
}
