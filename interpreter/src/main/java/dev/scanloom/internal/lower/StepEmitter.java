package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.check.Pou;
import dev.scanloom.internal.check.Type;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import java.util.ArrayList;
import java.util.List;

/**
 * Emits the steps of one body: operand stack heights are tracked on the way, jumps are patched when their labels are set, offsets behind the body's own
 * frame when its size is known.
 */
abstract class StepEmitter {
  /** A jump target; steps that refer to it are patched when it is set. */
  static final class Label {
    int at = -1;
    final List<Integer> users = new ArrayList<>();
    final List<Integer> regionUsers = new ArrayList<>();
  }

  final Lowering lowering;
  final Layout layout;
  final Assembler out;
  final int number;
  final Pou pou;
  private final int start;
  private int highest;
  private int depth;
  private int maxDepth;
  private final List<Integer> beyondA = new ArrayList<>();
  private final List<Integer> beyondB = new ArrayList<>();
  private int element = -1;
  private int network;

  StepEmitter(Lowering lowering, int number, Pou pou) {
    this.lowering = lowering;
    this.layout = lowering.layout;
    this.out = lowering.out;
    this.number = number;
    this.pou = pou;
    this.start = out.size();
    this.highest = layout.frame(pou);
  }

  int start() {
    return start;
  }

  int number() {
    return number;
  }

  Pou pou() {
    return pou;
  }

  int frameSlots() {
    return highest;
  }

  int maxDepth() {
    return maxDepth;
  }

  void at(int elementId, int networkNumber) {
    element = elementId;
    network = networkNumber;
  }

  /** Operand {@code a} of a step is an offset behind this body's frame, whose size is not known yet. */
  void beyond(int step) {
    beyondA.add(step);
  }

  /** A call: operand {@code b} is the size of this body's frame. */
  void beyondFrame(int step) {
    beyondB.add(step);
  }

  /** Patches what refers behind the frame; nothing is emitted afterwards. */
  void patch() {
    for (int step : beyondA) {
      out.setA(step, out.a(step) + highest);
    }
    for (int step : beyondB) {
      out.setB(step, highest);
    }
  }

  int emit(Op op, int a, int b, Span span) {
    int pops = op.pops(a);
    depth += op.pushes() - pops;
    maxDepth = Math.max(maxDepth, depth + 4);
    return out.emit(op, a, b, span, element, network);
  }

  int depth() {
    return depth;
  }

  void depth(int d) {
    depth = d;
  }

  void set(Label l) {
    l.at = out.size();
    for (int user : l.users) {
      out.setA(user, l.at);
    }
    for (int user : l.regionUsers) {
      out.setB(user, l.at);
    }
    l.users.clear();
    l.regionUsers.clear();
  }

  void jump(Op op, Label target, Label regionEnd, Span span) {
    int at = emit(op, target.at, regionEnd == null ? -1 : regionEnd.at, span);
    if (target.at < 0) {
      target.users.add(at);
    }
    if (regionEnd != null && regionEnd.at < 0) {
      regionEnd.regionUsers.add(at);
    }
  }

  void guard(Label handler, Span span) {
    int at = emit(Op.GUARD, handler.at, 0, span);
    if (handler.at < 0) {
      handler.users.add(at);
    }
  }

  void constant(long value, Span span) {
    emit(Op.CONST, out.constant(value), 0, span);
  }

  /** A temporary of {@code slots} slots in the frame. Temporaries are not reused: a string that an expression refers to must live on. */
  int temp(int slots) {
    int at = highest;
    highest += slots;
    return at;
  }

  static int k(ElementaryType t) {
    return t.ordinal();
  }

  static int kindOf(Type t) {
    return Layout.kind(t).ordinal();
  }
}
