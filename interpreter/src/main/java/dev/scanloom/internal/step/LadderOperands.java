package dev.scanloom.internal.step;

import java.util.HashMap;
import java.util.Map;

/** Where ladder elements find their operands, as displays paint them. */
final class LadderOperands {
  private LadderOperands() {}

  /** Where the operand of each ladder element lies: for a block's body in its first instance, in the order of declaration; NULL when unknown. */
  static long[] of(Code code) {
    long[] result = new long[code.elements().size()];
    Map<Integer, Long> instances = new HashMap<>();
    for (Code.LadderElement e : code.elements()) {
      if (e.operand() != Address.NULL) {
        result[e.id()] = e.operand();
      } else if (e.operandSelf() >= 0) {
        long self = instances.computeIfAbsent(e.body(), body -> firstInstance(code, body));
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
