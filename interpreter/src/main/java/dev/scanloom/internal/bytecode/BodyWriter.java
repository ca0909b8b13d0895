package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.List;
import org.objectweb.asm.ClassVisitor;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;

/** Writes a body as one method, or as several where it would grow beyond what HotSpot compiles, and what calls these in their order. */
final class BodyWriter implements Opcodes, MethodWriter.Neighbours {
  /** Bytes that a method is meant to have; less where that has turned out to be too much. */
  private static final int[] SIZES = {5_000, 3_000, 1_500, 700};
  /** HotSpot refuses to compile beyond 8,000 bytes. */
  private static final int MOST = 7_900;
  /** Methods of a body that one switch can lead to. */
  private static final int GROUP = 256;

  private final MethodWriter.Surroundings program;
  private final Code code;
  private final Blocks blocks;
  private final ClassVisitor target;
  private final int number;
  private final Code.Body body;
  private final int self;
  private final boolean ownFrame;
  private final int[] inputWords;
  private List<Integer> cuts;
  private List<List<Integer>> entries;

  /** {@code self}: slot of the instance, if there is only one; else -1. */
  BodyWriter(MethodWriter.Surroundings program, ClassVisitor target, int number, int self) {
    this.program = program;
    this.code = program.code();
    this.blocks = program.blocks();
    this.target = target;
    this.number = number;
    this.body = code.bodies().get(number);
    this.self = self;
    this.ownFrame = isInstanceBody();
    this.inputWords = program.inputBits().wordsOf(body);
  }

  /** The body of a program or of a block (which has an instance type of its name): what goes in and out lies in the instance, its frame is its own. */
  private boolean isInstanceBody() {
    return code.programs().stream().anyMatch(p -> p.body() == number) || code.types().stream().anyMatch(t -> t.name().equals(body.name()));
  }

  void write() {
    List<MethodWriter> methods = List.of();
    for (int size : SIZES) {
      cut(size);
      methods = methods();
      int most = 0;
      for (MethodWriter m : methods) {
        most = Math.max(most, m.prepare());
      }
      if (most <= MOST) {
        break;
      }
    }
    if (methods.size() == 1) {
      MethodVisitor m = target.visitMethod(ACC_STATIC, "b" + number, MethodWriter.BODY, null, null);
      m.visitCode();
      methods.get(0).write(m);
      return;
    }
    for (int i = 0; i < methods.size(); i++) {
      MethodVisitor m = target.visitMethod(ACC_STATIC | ACC_PRIVATE, "b" + number + "c" + i, chunk(), null, null);
      m.visitCode();
      methods.get(i).write(m);
    }
    drivers();
  }

  private String chunk() {
    return inputWords.length > 0 ? MethodWriter.CHUNK_WITH_BITS : MethodWriter.CHUNK;
  }

  private List<MethodWriter> methods() {
    List<MethodWriter> all = new ArrayList<>();
    if (cuts.size() == 1) {
      all.add(new MethodWriter(program, number, body.start(), body.end(), self, ownFrame, inputWords, null, List.of()));
      return all;
    }
    entries = new ArrayList<>();
    for (int cut : cuts) {
      entries.add(new ArrayList<>(List.of(cut)));
    }
    for (int pc = body.start(); pc < body.end(); pc++) {
      if (blocks.height[pc] < 0 || blocks.guarded[pc]) {
        continue;
      }
      Op op = Blocks.op(code, pc);
      if (op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE) {
        enter(pc, code.a[pc]);
      } else if (op == Op.GUARD) {
        enter(pc, code.a[pc]);
        enter(pc, Flow.guardEnd(code, pc));
      }
    }
    for (int i = 0; i < cuts.size(); i++) {
      int end = i + 1 < cuts.size() ? cuts.get(i + 1) : body.end();
      all.add(new MethodWriter(program, number, cuts.get(i), end, self, ownFrame, inputWords, this, entries.get(i)));
    }
    return all;
  }

  private void enter(int from, int to) {
    int chunk = chunk(to);
    if (chunk(from) != chunk && !entries.get(chunk).contains(to)) {
      entries.get(chunk).add(to);
    }
  }

  private int chunk(int pc) {
    int low = 0;
    int high = cuts.size() - 1;
    while (low < high) {
      int mid = (low + high + 1) >>> 1;
      if (cuts.get(mid) <= pc) {
        low = mid;
      } else {
        high = mid - 1;
      }
    }
    return low;
  }

  @Override
  public int next(int step) {
    int chunk = chunk(step);
    return chunk << 16 | entries.get(chunk).indexOf(step);
  }

  /** Steps that a jump passes which leads to where operands lie: from method to method none are handed on. */
  private boolean[] passed() {
    boolean[] passed = new boolean[body.end() - body.start()];
    for (int pc = body.start(); pc < body.end(); pc++) {
      Op op = Blocks.op(code, pc);
      if ((op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE) && blocks.height[pc] >= 0 && blocks.height[code.a[pc]] > 0) {
        for (int i = Math.min(pc, code.a[pc]) + 1; i <= Math.max(pc, code.a[pc]); i++) {
          passed[i - body.start()] = true;
        }
      }
    }
    return passed;
  }

  /** Where the body is cut: at steps with an empty operand stack, between networks where there are some. */
  private void cut(int size) {
    boolean[] passed = passed();
    cuts = new ArrayList<>();
    cuts.add(body.start());
    int bytes = 0;
    int last = -1;
    int lastNetwork = -1;
    for (int pc = body.start(); pc < body.end(); pc++) {
      boolean possible = pc > cuts.get(cuts.size() - 1) && blocks.height[pc] == 0 && !passed[pc - body.start()] && !blocks.guarded[pc];
      if (possible) {
        last = pc;
        if (code.network[pc] != code.network[pc - 1]) {
          lastNetwork = pc;
        }
      }
      bytes += estimate(pc);
      if (bytes > size && last > 0) {
        int at = lastNetwork > cuts.get(cuts.size() - 1) ? lastNetwork : last;
        cuts.add(at);
        blocks.split(at);
        pc = at - 1;
        bytes = 0;
        last = -1;
        lastNetwork = -1;
      }
    }
  }

  private int estimate(int pc) {
    if (blocks.guarded[pc]) {
      return 0;
    }
    int n = switch (Blocks.op(code, pc)) {
      case CONST -> 2;
      case LOAD_SELF, LOAD_FRAME, LOAD_STATIC, STORE_SELF, STORE_FRAME, STORE_STATIC -> 8;
      case LOAD_TEMP, STORE_TEMP -> 4;
      case AND, OR, XOR, CONTACT -> 1;
      case ELEMENT, UNGUARD -> 0;
      case LOAD_LOCATED, STORE_LOCATED -> 6;
      case JUMP, JUMP_FALSE, JUMP_TRUE -> 8;
      case CALL, CALL_ON -> program.inlining().inlines(code.a[pc]) ? inlined(code.a[pc]) : 30;
      default -> 12; // an estimate for the rest: what is wrong costs a cut too early, or a second try with smaller methods
    };
    return n + (blocks.leader[pc] ? 4 : 0);
  }

  private int inlined(int callee) {
    Code.Body b = code.bodies().get(callee);
    int bytes = 8;
    for (int pc = b.start(); pc < b.end(); pc++) {
      bytes += estimate(pc);
    }
    return bytes;
  }

  private void drivers() {
    int groups = (cuts.size() + GROUP - 1) / GROUP;
    for (int g = 0; g < groups; g++) {
      MethodVisitor visitor = target.visitMethod(ACC_STATIC | ACC_PRIVATE, "b" + number + "g" + g, MethodWriter.CHUNK, null, null);
      visitor.visitCode();
      Asm m = new Asm(visitor);
      int from = g * GROUP;
      loop(m, from, Math.min(cuts.size(), from + GROUP), "c", 16, inputWords.length > 0);
      m.local(ILOAD, MethodWriter.ENTRY);
      m.insn(IRETURN);
      m.end();
    }
    MethodVisitor visitor = target.visitMethod(ACC_STATIC, "b" + number, MethodWriter.BODY, null, null);
    visitor.visitCode();
    Asm m = new Asm(visitor);
    for (int word : inputWords) {
      MethodWriter.follow(m, word);
    }
    m.insn(ICONST_0);
    m.local(ISTORE, MethodWriter.ENTRY);
    loop(m, 0, groups, "g", 24, false);
    m.local(LLOAD, MethodWriter.STEPS);
    m.insn(LRETURN);
    m.end();
  }

  /** Calls methods {@code from .. to} as the number in ENTRY says, until it names none of them. */
  private void loop(Asm m, int from, int to, String kind, int shift, boolean bits) {
    Label again = new Label();
    Label done = new Label();
    Label[] labels = new Label[to - from];
    for (int i = 0; i < labels.length; i++) {
      labels[i] = new Label();
    }
    m.label(again);
    m.local(ILOAD, MethodWriter.ENTRY);
    m.jump(IFLT, done);
    m.local(ILOAD, MethodWriter.ENTRY);
    m.integer(shift);
    m.insn(IUSHR);
    m.table(from, to - 1, done, labels);
    for (int i = from; i < to; i++) {
      m.label(labels[i - from]);
      m.local(ALOAD, MethodWriter.MEM);
      m.local(ILOAD, MethodWriter.SELF);
      m.local(ILOAD, MethodWriter.FRAME);
      m.local(ALOAD, MethodWriter.RT);
      m.local(LLOAD, MethodWriter.STEPS);
      m.local(ILOAD, MethodWriter.DEPTH);
      m.local(ILOAD, MethodWriter.ENTRY);
      if (bits) {
        MethodWriter.bits(m);
      }
      m.call(program.className(), "b" + number + kind + i, bits ? MethodWriter.CHUNK_WITH_BITS : MethodWriter.CHUNK);
      m.local(ISTORE, MethodWriter.ENTRY);
      m.local(ALOAD, MethodWriter.RT);
      m.field(GETFIELD, MethodWriter.RUN, "steps", "J");
      m.local(LSTORE, MethodWriter.STEPS);
      m.jump(GOTO, again);
    }
    m.label(done);
  }
}
