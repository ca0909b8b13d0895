package dev.scanloom;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.step.Address;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.observe.StepInfo;
import java.util.ArrayList;
import java.util.List;

/** Steps as people read them. */
final class Listing {
  private static final Op[] OPS = Op.values();
  private static final ElementaryType[] KINDS = ElementaryType.values();
  private static final int EXCERPT = 40;

  private final Code code;

  Listing(Code code) {
    this.code = code;
  }

  StepInfo step(int id) {
    Op op = OPS[code.op[id]];
    int a = code.a[id];
    int b = code.b[id];
    int target = switch (op) {
      case JUMP, JUMP_FALSE, JUMP_TRUE, GUARD, LOAD_TEMP, STORE_TEMP -> a;
      case CALL, CALL_ON -> code.bodies().get(a).start();
      default -> -1;
    };
    return new StepInfo(id, op.kind(), text(op, a, b, id), code.span(id), code.bodies().get(code.bodyOf(id)).name(), code.network[id],
        code.element[id], op.pops(a), op.pushes(), target, op.kind() == StepInfo.Kind.BRANCH ? b : -1);
  }

  private String text(Op op, int a, int b, int id) {
    return switch (op) {
      case CONST -> "CONST " + code.pool[a];
      case LOAD_SELF, STORE_SELF -> op + " " + KINDS[b] + " +" + a + note(id);
      case ADDRESS_SELF -> op + " +" + a + note(id);
      case LOAD_FRAME, STORE_FRAME -> op + " " + KINDS[b] + " frame+" + a + note(id);
      case ADDRESS_FRAME, LOAD_TEMP, STORE_TEMP -> op + " frame+" + a + note(id);
      case LOAD_STATIC, STORE_STATIC -> op + " " + KINDS[b] + " " + code.symbols().nameOf(a, 64);
      case LOAD_LOCATED, STORE_LOCATED -> op + " " + KINDS[b] + " " + Address.text(code.pool[a], Math.max(1, KINDS[b].bits()));
      case INDEX -> op + " " + code.pool[a] + ".." + code.pool[a + 1] + " stride " + code.pool[a + 2];
      case JUMP, JUMP_FALSE, JUMP_TRUE, GUARD -> op + " " + a;
      case CALL, CALL_ON -> op + " " + code.bodies().get(a).name();
      case NATIVE -> op + " " + code.natives().get(a).name();
      case CONTACT, ELEMENT -> op + " " + code.elements().get(a).title();
      default -> plain(op, a, b);
    };
  }

  /** Operands as the table of steps tells them. */
  private static String plain(Op op, int a, int b) {
    StringBuilder t = new StringBuilder(op.name());
    if (op.operands().contains("a:")) {
      t.append(' ').append(a);
    }
    if (op.operands().contains("b: k") && b >= 0 && b < KINDS.length) {
      t.append(' ').append(KINDS[b]);
    } else if (op.operands().contains("b:")) {
      t.append(' ').append(b);
    }
    return t.toString();
  }

  private String note(int id) {
    String source = code.span(id).text().strip();
    if (source.isEmpty() || source.indexOf('\n') >= 0 || source.indexOf('\r') >= 0) {
      return "";
    }
    return "   (* " + (source.length() > EXCERPT ? source.substring(0, EXCERPT - 3) + "..." : source) + " *)";
  }

  List<String> all() {
    List<String> lines = new ArrayList<>();
    for (Code.Body body : code.bodies()) {
      lines.add(body.name() + ": frame " + body.frameSlots() + ", stack " + body.stackDepth());
      for (int i = body.start(); i < body.end(); i++) {
        lines.add("  " + i + "  " + step(i).text() + "   " + code.span(i).place());
      }
    }
    return List.copyOf(lines);
  }
}
