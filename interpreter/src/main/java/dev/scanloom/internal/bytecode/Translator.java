package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ImplementerChoices;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;
import org.objectweb.asm.Type;

/**
 * Writes one class for a program: a method for each body, cut into several where it would grow beyond what HotSpot compiles. The operand stack of the
 * steps is the operand stack of the JVM; temporaries used inside one method are its local variables.
 */
final class Translator implements Opcodes {
  /** Methods of more bytecodes are cut; HotSpot refuses to compile beyond 8,000. */
  private static final int METHOD_BYTES = 5_000;
  private static final int GROUP = 256;
  private static final String RUN = Type.getInternalName(Run.class);
  private static final String ARITH = "dev/scanloom/internal/value/Arith";
  private static final String OPERATIONS = "dev/scanloom/internal/exec/Operations";
  private static final String SUPPORT = Type.getInternalName(Support.class);
  private static final String BODY = "([JIIL" + RUN + ";)V";
  private static final String CHUNK = "([JIIL" + RUN + ";I)I";
  private static final int MEM = 0;
  private static final int SELF = 1;
  private static final int FRAME = 2;
  private static final int RT = 3;
  private static final int ENTRY = 4;
  private static final int PC = 5;
  private static final int FIRST = 6;
  private static final int[] WIDTHS = Arrays.stream(ElementaryType.values()).mapToInt(ElementaryType::bits).toArray();
  private static final int BOOL = ElementaryType.BOOL.ordinal();

  private final Code code;
  private final Blocks blocks;
  private final String name;
  private final ClassWriter writer = new ClassWriter(ClassWriter.COMPUTE_MAXS);
  /** Fixed instance of a body that only one program runs, else -1. */
  private final int[] fixedSelf;

  /** Bodies that the stepping executor runs. */
  private final Set<Integer> left;

  Translator(Code code, Blocks blocks, Set<Integer> left) {
    this.left = left;
    this.code = code;
    this.blocks = blocks;
    this.name = "dev/scanloom/internal/bytecode/Program";
    this.fixedSelf = new int[code.bodies().size()];
    Arrays.fill(fixedSelf, -1);
    findFixed();
  }

  /** Number of the body that a generated method belongs to. */
  static int bodyOf(String method) {
    int end = 1;
    while (end < method.length() && Character.isDigit(method.charAt(end))) {
      end++;
    }
    return Integer.parseInt(method.substring(1, end));
  }

  private void findFixed() {
    int[] programs = new int[fixedSelf.length];
    boolean[] called = new boolean[fixedSelf.length];
    for (int pc = 0; pc < code.length(); pc++) {
      Op op = Blocks.op(code, pc);
      if (op == Op.CALL || op == Op.CALL_ON) {
        called[code.a[pc]] = true;
      }
    }
    for (Code.Program p : code.programs()) {
      programs[p.body()]++;
      fixedSelf[p.body()] = p.self();
    }
    for (Code.InstanceType t : code.types()) {
      for (int b : t.bodies()) {
        if (b >= 0) {
          called[b] = true;
        }
      }
    }
    for (int i = 0; i < fixedSelf.length; i++) {
      if (programs[i] != 1 || called[i]) {
        fixedSelf[i] = -1;
      }
    }
  }

  /** The class file. */
  byte[] write() {
    // Version 49: verified by type inference, so no stack map frames have to be computed.
    writer.visit(V1_5, ACC_FINAL | ACC_SUPER | ACC_PUBLIC, name, null, "java/lang/Object", new String[] {Type.getInternalName(Entry.class)});
    MethodVisitor c = writer.visitMethod(ACC_PUBLIC, "<init>", "()V", null, null);
    c.visitCode();
    c.visitVarInsn(ALOAD, 0);
    c.visitMethodInsn(INVOKESPECIAL, "java/lang/Object", "<init>", "()V", false);
    c.visitInsn(RETURN);
    c.visitMaxs(0, 0);
    c.visitEnd();
    entry();
    for (int i = 0; i < code.bodies().size(); i++) {
      new Body(i).write();
    }
    writer.visitEnd();
    return writer.toByteArray();
  }

  private void entry() {
    MethodVisitor m = writer.visitMethod(ACC_PUBLIC, "run", "(I[JIIL" + RUN + ";)V", null, null);
    m.visitCode();
    List<Integer> bodies = code.programs().stream().map(Code.Program::body).distinct().sorted().toList();
    for (int b : bodies) {
      Label next = new Label();
      m.visitVarInsn(ILOAD, 1);
      integer(m, b);
      m.visitJumpInsn(IF_ICMPNE, next);
      m.visitVarInsn(ALOAD, 2);
      m.visitVarInsn(ILOAD, 3);
      m.visitVarInsn(ILOAD, 4);
      m.visitVarInsn(ALOAD, 5);
      m.visitMethodInsn(INVOKESTATIC, name, "b" + b, BODY, false);
      m.visitInsn(RETURN);
      m.visitLabel(next);
    }
    m.visitTypeInsn(NEW, "java/lang/IllegalArgumentException");
    m.visitInsn(DUP);
    m.visitMethodInsn(INVOKESPECIAL, "java/lang/IllegalArgumentException", "<init>", "()V", false);
    m.visitInsn(ATHROW);
    m.visitMaxs(0, 0);
    m.visitEnd();
  }

  /** Pushes an int without spending constant pool entries, which a large program would run out of. */
  private static void integer(MethodVisitor m, int v) {
    if (v >= -1 && v <= 5) {
      m.visitInsn(ICONST_0 + v);
    } else if (v >= Byte.MIN_VALUE && v <= Byte.MAX_VALUE) {
      m.visitIntInsn(BIPUSH, v);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      m.visitIntInsn(SIPUSH, v);
    } else {
      int low = (short) v;
      int high = (v - low) >> 16;
      if (high >= Short.MIN_VALUE && high <= Short.MAX_VALUE) {
        m.visitIntInsn(SIPUSH, high);
        m.visitIntInsn(BIPUSH, 16);
        m.visitInsn(ISHL);
        m.visitIntInsn(SIPUSH, low);
        m.visitInsn(IADD);
      } else {
        m.visitLdcInsn(v);
      }
    }
  }

  private static void longValue(MethodVisitor m, long v) {
    if (v == 0 || v == 1) {
      m.visitInsn(v == 0 ? LCONST_0 : LCONST_1);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      integer(m, (int) v);
      m.visitInsn(I2L);
    } else {
      m.visitLdcInsn(v);
    }
  }

  /** One body. */
  private final class Body {
    private final int number;
    private final Code.Body body;
    private final int self;
    private final List<Integer> cuts = new ArrayList<>();
    private final List<List<Integer>> entries = new ArrayList<>();
    private final Map<Integer, Integer> chunkOf = new HashMap<>();

    Body(int number) {
      this.number = number;
      this.body = code.bodies().get(number);
      this.self = fixedSelf[number];
    }

    void write() {
      if (left.contains(number)) {
        MethodVisitor m = writer.visitMethod(ACC_STATIC, "b" + number, BODY, null, null);
        m.visitCode();
        m.visitVarInsn(ALOAD, RT);
        integer(m, number);
        m.visitVarInsn(ILOAD, SELF);
        m.visitVarInsn(ILOAD, FRAME);
        m.visitMethodInsn(INVOKEVIRTUAL, RUN, "body", "(III)V", false);
        m.visitInsn(RETURN);
        m.visitMaxs(0, 0);
        m.visitEnd();
        return;
      }
      cut();
      methodStarts = cuts.stream().mapToInt(Integer::intValue).toArray();
      if (cuts.size() == 1) {
        MethodVisitor m = writer.visitMethod(ACC_STATIC, "b" + number, BODY, null, null);
        new Method(m, body.start(), body.end(), null).write();
        return;
      }
      for (int i = 0; i < cuts.size(); i++) {
        entries.add(new ArrayList<>(List.of(cuts.get(i))));
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
          enter(pc, guardEnd(pc));
        }
      }
      for (int i = 0; i < cuts.size(); i++) {
        MethodVisitor m = writer.visitMethod(ACC_STATIC | ACC_PRIVATE, "b" + number + "c" + i, CHUNK, null, null);
        new Method(m, cuts.get(i), i + 1 < cuts.size() ? cuts.get(i + 1) : body.end(), this).write();
      }
      drivers();
    }

    private void enter(int from, int target) {
      int chunk = chunk(target);
      if (chunk(from) != chunk && !entries.get(chunk).contains(target)) {
        entries.get(chunk).add(target);
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

    /** What a chunk returns to go on at a step of another one. */
    int next(int pc) {
      int chunk = chunk(pc);
      return chunk << 16 | entries.get(chunk).indexOf(pc);
    }

    /** Where the body is cut: at steps with an empty operand stack, between networks where there are some. */
    private void cut() {
      cuts.add(body.start());
      int bytes = 0;
      int last = -1;
      int lastNetwork = -1;
      for (int pc = body.start(); pc < body.end(); pc++) {
        boolean possible = pc > cuts.get(cuts.size() - 1) && blocks.height[pc] == 0 && !blocks.guarded[pc];
        if (possible) {
          last = pc;
          if (code.network[pc] != code.network[pc - 1]) {
            lastNetwork = pc;
          }
        }
        bytes += estimate(pc);
        if (bytes > METHOD_BYTES && last > 0) {
          int at = lastNetwork > cuts.get(cuts.size() - 1) ? lastNetwork : last;
          cuts.add(at);
          blocks.split(code, at, body);
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
        case CONST -> 3;
        case LOAD_SELF, LOAD_FRAME, LOAD_STATIC, STORE_SELF, STORE_FRAME, STORE_STATIC -> 8;
        case LOAD_TEMP, STORE_TEMP -> 4;
        case AND, OR, XOR, CONTACT -> 1;
        case ELEMENT, UNGUARD -> 0;
        case LOAD_LOCATED, STORE_LOCATED -> 14;
        case JUMP, JUMP_FALSE, JUMP_TRUE -> 8;
        default -> 20; // an estimate for the rest; being wrong costs a cut too early
      };
      return n + (blocks.leader[pc] ? 24 : 0);
    }

    private void drivers() {
      int groups = (cuts.size() + GROUP - 1) / GROUP;
      for (int g = 0; g < groups; g++) {
        MethodVisitor m = writer.visitMethod(ACC_STATIC | ACC_PRIVATE, "b" + number + "g" + g, CHUNK, null, null);
        int from = g * GROUP;
        int to = Math.min(cuts.size(), from + GROUP);
        loop(m, from, to, "c", 16, true);
      }
      MethodVisitor m = writer.visitMethod(ACC_STATIC, "b" + number, BODY, null, null);
      m.visitCode();
      m.visitInsn(ICONST_0);
      m.visitVarInsn(ISTORE, ENTRY);
      loop(m, 0, groups, "g", 24, false);
    }

    /** Calls methods {@code from .. to} as the number in ENTRY says, until it names none of them. */
    private void loop(MethodVisitor m, int from, int to, String kind, int shift, boolean returns) {
      if (returns) {
        m.visitCode();
      }
      Label again = new Label();
      Label done = new Label();
      Label[] labels = new Label[to - from];
      for (int i = 0; i < labels.length; i++) {
        labels[i] = new Label();
      }
      m.visitLabel(again);
      m.visitVarInsn(ILOAD, ENTRY);
      m.visitJumpInsn(IFLT, done);
      m.visitVarInsn(ILOAD, ENTRY);
      integer(m, shift);
      m.visitInsn(IUSHR);
      m.visitTableSwitchInsn(from, to - 1, done, labels);
      for (int i = from; i < to; i++) {
        m.visitLabel(labels[i - from]);
        m.visitVarInsn(ALOAD, MEM);
        m.visitVarInsn(ILOAD, SELF);
        m.visitVarInsn(ILOAD, FRAME);
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(ILOAD, ENTRY);
        m.visitMethodInsn(INVOKESTATIC, name, "b" + number + kind + i, CHUNK, false);
        m.visitVarInsn(ISTORE, ENTRY);
        m.visitJumpInsn(GOTO, again);
      }
      m.visitLabel(done);
      if (returns) {
        m.visitVarInsn(ILOAD, ENTRY);
        m.visitInsn(IRETURN);
      } else {
        m.visitInsn(RETURN);
      }
      m.visitMaxs(0, 0);
      m.visitEnd();
    }
  }

  private int temporariesOf = -1;
  private int[] temporaries;
  private int[] methodStarts = {};

  /** For each slot of a body's frame 1 + the start of the only method that uses it as a temporary, or 0: none, several, or other uses. */
  private int[] temporaries(int number) {
    if (temporariesOf == number) {
      return temporaries;
    }
    Code.Body b = code.bodies().get(number);
    int[] users = new int[b.frameSlots() + 1];
    int method = 0;
    for (int pc = b.start(); pc < b.end(); pc++) {
      while (method + 1 < methodStarts.length && methodStarts[method + 1] <= pc) {
        method++;
      }
      Op op = Blocks.op(code, pc);
      int a = code.a[pc];
      if (op == Op.LOAD_TEMP || op == Op.STORE_TEMP) {
        int user = blocks.guarded[pc] ? -1 : 1 + methodStarts[method];
        users[a] = users[a] == 0 || users[a] == user ? user : -1;
      } else if (op == Op.CLEAR) {
        Arrays.fill(users, a, Math.min(users.length, a + code.b[pc]), -1);
      } else if ((op == Op.ADDRESS_FRAME || op == Op.LOAD_FRAME || op == Op.STORE_FRAME || op == Op.OPEN_INDEX) && a < users.length) {
        users[a] = -1;
      }
    }
    temporariesOf = number;
    temporaries = users;
    return users;
  }

  private int guardEnd(int pc) {
    int depth = 0;
    int at = pc;
    do {
      Op op = Blocks.op(code, at);
      if (op == Op.GUARD) {
        depth++;
      } else if (op == Op.UNGUARD) {
        depth--;
      }
      at++;
    } while (depth > 0);
    return at;
  }

  /** Steps {@code [start, end)} as one method. */
  private final class Method {
    private final MethodVisitor m;
    private final int start;
    private final int end;
    private final Body owner;
    private final int self;
    private final Map<Integer, Label> labels = new HashMap<>();
    private final Map<Integer, Integer> locals = new HashMap<>();
    private int nextLocal;
    private boolean canFail;

    Method(MethodVisitor m, int start, int end, Body owner) {
      this.m = m;
      this.start = start;
      this.end = end;
      this.owner = owner;
      this.self = fixedSelf[code.bodyOf(start)];
      this.nextLocal = FIRST;
    }

    void write() {
      m.visitCode();
      integer(m, start);
      m.visitVarInsn(ISTORE, PC);
      promote();
      for (int pc = start; pc < end; pc++) {
        if (blocks.leader[pc]) {
          labels.put(pc, new Label());
        }
      }
      Label from = new Label();
      Label to = new Label();
      Label handler = new Label();
      m.visitLabel(from);
      if (owner != null) {
        entrySwitch();
      }
      boolean live = true;
      for (int pc = start; pc < end; pc++) {
        if (labels.containsKey(pc)) {
          m.visitLabel(labels.get(pc));
        }
        if (blocks.height[pc] < 0 || blocks.guarded[pc]) {
          continue;
        }
        live = true;
        if (blocks.leader[pc]) {
          count(pc);
        }
        int skip = step(pc);
        live = skip >= 0;
        if (skip > 0) {
          pc += skip;
        }
      }
      if (live && owner != null && end < owner.body.end()) {
        integer(m, owner.next(end));
        m.visitInsn(IRETURN);
      }
      m.visitLabel(to);
      if (canFail) {
        m.visitLabel(handler);
        m.visitVarInsn(ALOAD, RT);
        m.visitInsn(SWAP);
        m.visitVarInsn(ILOAD, PC);
        m.visitMethodInsn(INVOKEVIRTUAL, RUN, "failed", "(Ljava/lang/RuntimeException;I)Ljava/lang/RuntimeException;", false);
        m.visitInsn(ATHROW);
        m.visitTryCatchBlock(from, to, handler, "java/lang/RuntimeException");
      }
      m.visitMaxs(0, 0);
      m.visitEnd();
    }

    private void entrySwitch() {
      List<Integer> points = owner.entries.get(owner.chunk(start));
      if (points.size() < 2) {
        return;
      }
      Label[] targets = points.stream().map(labels::get).toArray(Label[]::new);
      m.visitVarInsn(ILOAD, ENTRY);
      integer(m, 0xFFFF);
      m.visitInsn(IAND);
      m.visitTableSwitchInsn(0, targets.length - 1, targets[0], targets);
    }

    /** Temporaries that only this method touches, by LOAD_TEMP and STORE_TEMP alone, become local variables. */
    private void promote() {
      int[] users = temporaries(code.bodyOf(start));
      TreeSet<Integer> mine = new TreeSet<>();
      for (int pc = start; pc < end; pc++) {
        Op op = Blocks.op(code, pc);
        if ((op == Op.LOAD_TEMP || op == Op.STORE_TEMP) && users[code.a[pc]] == 1 + start) {
          mine.add(code.a[pc]);
        }
      }
      for (int a : mine) {
        locals.put(a, nextLocal);
        nextLocal += 2;
        m.visitInsn(LCONST_0);
        m.visitVarInsn(LSTORE, locals.get(a));
      }
    }

    private int scratch(int index) {
      return nextLocal + 2 * index;
    }

    /** Counts the steps of a block and looks whether the run has to pause. */
    private void count(int pc) {
      int n = blocks.length[pc];
      int h = blocks.height[pc];
      Label fine = new Label();
      m.visitVarInsn(ALOAD, RT);
      m.visitInsn(DUP);
      m.visitFieldInsn(GETFIELD, RUN, "steps", "J");
      longValue(m, n);
      m.visitInsn(LADD);
      m.visitInsn(DUP2_X1);
      m.visitFieldInsn(PUTFIELD, RUN, "steps", "J");
      m.visitVarInsn(ALOAD, RT);
      m.visitFieldInsn(GETFIELD, RUN, "checkpoint", "J");
      m.visitInsn(LCMP);
      m.visitJumpInsn(IFLE, fine);
      spill(h);
      m.visitVarInsn(ALOAD, RT);
      integer(m, pc);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      m.visitMethodInsn(INVOKEVIRTUAL, RUN, "pause", "(III)V", false);
      reload(h);
      m.visitLabel(fine);
    }

    /** Hands the topmost operands to the run, lowest first, keeping them in scratch locals. */
    private void spill(int h) {
      for (int i = h - 1; i >= 0; i--) {
        m.visitVarInsn(LSTORE, scratch(i));
      }
      for (int i = 0; i < h; i++) {
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(LLOAD, scratch(i));
        m.visitMethodInsn(INVOKEVIRTUAL, RUN, "spill", "(J)V", false);
      }
    }

    private void reload(int h) {
      for (int i = 0; i < h; i++) {
        m.visitVarInsn(LLOAD, scratch(i));
      }
    }

    private void instance() {
      if (self >= 0) {
        integer(m, self);
      } else {
        m.visitVarInsn(ILOAD, SELF);
      }
    }

    private void at(int pc) {
      canFail = true;
      integer(m, pc);
      m.visitVarInsn(ISTORE, PC);
    }

    private void slot(int base, int offset) {
      m.visitVarInsn(ILOAD, base);
      if (offset != 0) {
        integer(m, offset);
        m.visitInsn(IADD);
      }
    }

    private void selfSlot(int offset) {
      if (self >= 0) {
        integer(m, self + offset);
      } else {
        slot(SELF, offset);
      }
    }

    private void call(String owningClass, String method, String descriptor) {
      m.visitMethodInsn(INVOKESTATIC, owningClass, method, descriptor, false);
    }

    private void run(String method, String descriptor) {
      m.visitMethodInsn(INVOKEVIRTUAL, RUN, method, descriptor, false);
    }

    /** value -- ; with an index pushed by {@code index}: stores into memory. */
    private void store(Runnable index) {
      m.visitVarInsn(LSTORE, scratch(0));
      m.visitVarInsn(ALOAD, MEM);
      index.run();
      m.visitVarInsn(LLOAD, scratch(0));
      m.visitInsn(LASTORE);
    }

    private void target(int opcode, int pc) {
      Label l = labels.get(pc);
      if (l != null && pc >= start && pc < end) {
        m.visitJumpInsn(opcode, l);
        return;
      }
      if (opcode == GOTO) {
        integer(m, owner.next(pc));
        m.visitInsn(IRETURN);
        return;
      }
      Label stay = new Label();
      m.visitJumpInsn(opposite(opcode), stay);
      integer(m, owner.next(pc));
      m.visitInsn(IRETURN);
      m.visitLabel(stay);
    }

    private int opposite(int opcode) {
      return switch (opcode) {
        case IFEQ -> IFNE;
        case IFNE -> IFEQ;
        case IFLT -> IFGE;
        case IFGE -> IFLT;
        case IFGT -> IFLE;
        case IFLE -> IFGT;
        default -> throw new IllegalStateException("jump " + opcode);
      };
    }

    /** Jump opcode, after LCMP, for a comparison that holds. */
    private int jumpIf(Op comparison) {
      return switch (comparison) {
        case EQ -> IFEQ;
        case NE -> IFNE;
        case LT -> IFLT;
        case LE -> IFLE;
        case GT -> IFGT;
        case GE -> IFGE;
        default -> throw new IllegalStateException(comparison + " is no comparison");
      };
    }

    /** Translates a step; returns how many of the following ones it covered, or -1 when control never goes on behind it. */
    private int step(int pc) {
      Op op = Blocks.op(code, pc);
      int a = code.a[pc];
      int b = code.b[pc];
      switch (op) {
        case CONST -> longValue(m, code.pool[a]);
        case ADDRESS_SELF -> {
          selfSlot(a);
          m.visitInsn(I2L);
        }
        case ADDRESS_FRAME -> {
          slot(FRAME, a);
          m.visitInsn(I2L);
        }
        case LOAD_SELF -> {
          m.visitVarInsn(ALOAD, MEM);
          selfSlot(a);
          m.visitInsn(LALOAD);
        }
        case LOAD_FRAME -> {
          m.visitVarInsn(ALOAD, MEM);
          slot(FRAME, a);
          m.visitInsn(LALOAD);
        }
        case LOAD_STATIC -> {
          m.visitVarInsn(ALOAD, MEM);
          integer(m, a);
          m.visitInsn(LALOAD);
        }
        case LOAD_TEMP -> {
          if (locals.containsKey(a)) {
            m.visitVarInsn(LLOAD, locals.get(a));
          } else {
            m.visitVarInsn(ALOAD, MEM);
            slot(FRAME, a);
            m.visitInsn(LALOAD);
          }
        }
        case STORE_SELF -> store(() -> selfSlot(a));
        case STORE_FRAME -> store(() -> slot(FRAME, a));
        case STORE_STATIC -> store(() -> integer(m, a));
        case STORE_TEMP -> {
          if (locals.containsKey(a)) {
            m.visitVarInsn(LSTORE, locals.get(a));
          } else {
            store(() -> slot(FRAME, a));
          }
        }
        case LOAD_LOCATED -> loadLocated(code.pool[a], b, pc);
        case STORE_LOCATED -> storeLocated(code.pool[a], b, pc);
        case LOAD_INDIRECT -> {
          at(pc);
          m.visitVarInsn(LSTORE, scratch(0));
          m.visitVarInsn(ALOAD, RT);
          m.visitVarInsn(LLOAD, scratch(0));
          integer(m, b);
          integer(m, pc);
          run("loadIndirect", "(JII)J");
        }
        case STORE_INDIRECT -> {
          at(pc);
          m.visitVarInsn(LSTORE, scratch(1));
          m.visitVarInsn(LSTORE, scratch(0));
          m.visitVarInsn(ALOAD, RT);
          m.visitVarInsn(LLOAD, scratch(0));
          m.visitVarInsn(LLOAD, scratch(1));
          integer(m, b);
          integer(m, pc);
          run("storeIndirect", "(JJII)V");
        }
        case CHECK_NULL -> {
          at(pc);
          call(OPERATIONS, "checkNull", "(J)J");
        }
        case OFFSET -> {
          longValue(m, a);
          m.visitInsn(LADD);
        }
        case INDEX -> index(pc, a);
        case OPEN_INDEX -> {
          at(pc);
          m.visitVarInsn(LSTORE, scratch(1));
          m.visitVarInsn(LSTORE, scratch(0));
          m.visitVarInsn(ALOAD, MEM);
          m.visitVarInsn(LLOAD, scratch(0));
          m.visitVarInsn(LLOAD, scratch(1));
          if (b == 0) {
            slot(FRAME, a);
          } else {
            selfSlot(a);
          }
          call(OPERATIONS, "openIndex", "([JJJI)J");
        }
        case OPEN_END -> {
          integer(m, a);
          integer(m, b);
          call(SUPPORT, "openEnd", "(JJII)J");
        }
        case DUP -> m.visitInsn(DUP2);
        case DUP2 -> {
          m.visitVarInsn(LSTORE, scratch(1));
          m.visitVarInsn(LSTORE, scratch(0));
          for (int i = 0; i < 2; i++) {
            m.visitVarInsn(LLOAD, scratch(0));
            m.visitVarInsn(LLOAD, scratch(1));
          }
        }
        case POP -> m.visitInsn(POP2);
        case SWAP -> {
          m.visitInsn(DUP2_X2);
          m.visitInsn(POP2);
        }
        case BITS_GET -> {
          integer(m, a);
          m.visitInsn(LUSHR);
          if (a + b < 64) {
            m.visitLdcInsn((1L << b) - 1);
            m.visitInsn(LAND);
          }
        }
        case BITS_PUT -> {
          integer(m, a);
          integer(m, b);
          call(OPERATIONS, "withPart", "(JJII)J");
        }
        case ADD -> {
          m.visitInsn(LADD);
          wrap(b);
        }
        case SUB -> {
          m.visitInsn(LSUB);
          wrap(b);
        }
        case MUL -> {
          m.visitInsn(LMUL);
          wrap(b);
        }
        case ADD_EXACT -> exact(pc, "addExact", b);
        case SUB_EXACT -> exact(pc, "subtractExact", b);
        case MUL_EXACT -> exact(pc, "multiplyExact", b);
        case DIV -> {
          at(pc);
          integer(m, a);
          integer(m, b);
          call(OPERATIONS, "divide", "(JJII)J");
        }
        case MOD -> {
          at(pc);
          integer(m, a);
          integer(m, b);
          call(SUPPORT, "modulo", "(JJII)J");
        }
        case NEG -> {
          m.visitInsn(LNEG);
          wrap(b);
        }
        case NEG_EXACT -> {
          at(pc);
          integer(m, b);
          call(ARITH, "negateExact", "(JI)J");
        }
        case ABS -> {
          at(pc);
          integer(m, b);
          m.visitInsn(code.choices().integerOverflow() == ImplementerChoices.Overflow.FAULT ? ICONST_1 : ICONST_0);
          call(OPERATIONS, "absolute", "(JIZ)J");
        }
        case ADD_REAL -> real(FADD);
        case SUB_REAL -> real(FSUB);
        case MUL_REAL -> real(FMUL);
        case ADD_LREAL -> lreal(DADD);
        case SUB_LREAL -> lreal(DSUB);
        case MUL_LREAL -> lreal(DMUL);
        case DIV_REAL -> {
          at(pc);
          integer(m, a);
          call(OPERATIONS, "divideReal", "(JJI)J");
        }
        case DIV_LREAL -> {
          at(pc);
          integer(m, a);
          call(OPERATIONS, "divideLreal", "(JJI)J");
        }
        case NEG_REAL -> {
          m.visitInsn(L2I);
          call("java/lang/Float", "intBitsToFloat", "(I)F");
          m.visitInsn(FNEG);
          call("java/lang/Float", "floatToRawIntBits", "(F)I");
          m.visitInsn(I2L);
        }
        case NEG_LREAL -> {
          call("java/lang/Double", "longBitsToDouble", "(J)D");
          m.visitInsn(DNEG);
          call("java/lang/Double", "doubleToRawLongBits", "(D)J");
        }
        case SQRT_REAL, SQRT_LREAL, POWER_REAL, POWER_LREAL -> {
          at(pc);
          call(SUPPORT, op == Op.SQRT_REAL ? "rootReal" : op == Op.SQRT_LREAL ? "rootLreal" : op == Op.POWER_REAL ? "powerReal" : "powerLreal",
              op == Op.SQRT_REAL || op == Op.SQRT_LREAL ? "(J)J" : "(JJ)J");
        }
        case SCALE, UNSCALE -> {
          at(pc);
          call("java/lang/Double", "longBitsToDouble", "(J)D");
          call(ARITH, op == Op.SCALE ? "scale" : "unscale", "(JD)J");
        }
        case AND, CONTACT -> m.visitInsn(LAND);
        case OR -> m.visitInsn(LOR);
        case XOR -> m.visitInsn(LXOR);
        case NOT -> not(b);
        case SHL, SHR, ROL, ROR -> {
          at(pc);
          integer(m, b);
          call(ARITH, op == Op.SHL ? "shiftLeft" : op == Op.SHR ? "shiftRight" : op == Op.ROL ? "rotateLeft" : "rotateRight", "(JJI)J");
        }
        case EQ, NE, LT, LE, GT, GE -> {
          return comparison(op, pc);
        }
        case LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED -> {
          call("java/lang/Long", "compareUnsigned", "(JJ)I");
          truth(op == Op.LT_UNSIGNED ? IFLT : op == Op.LE_UNSIGNED ? IFLE : op == Op.GT_UNSIGNED ? IFGT : IFGE);
        }
        case COMPARE_REAL, COMPARE_LREAL -> {
          return realComparison(op == Op.COMPARE_REAL, a, pc);
        }
        case MAX, MIN -> {
          integer(m, a);
          call(SUPPORT, op == Op.MAX ? "max" : "min", "(JJI)J");
        }
        case SELECT -> call(SUPPORT, "select", "(JJJ)J");
        case CONVERT -> convert(pc, a);
        case RANGE -> {
          at(pc);
          m.visitLdcInsn(code.pool[a]);
          m.visitLdcInsn(code.pool[a + 1]);
          integer(m, b);
          call(OPERATIONS, "inRange", "(JJJI)J");
        }
        case CLEAR -> {
          m.visitVarInsn(ALOAD, MEM);
          slot(FRAME, a);
          slot(FRAME, a + b);
          m.visitInsn(LCONST_0);
          call("java/util/Arrays", "fill", "([JIIJ)V");
        }
        case JUMP -> {
          target(GOTO, a);
          return -1;
        }
        case JUMP_FALSE, JUMP_TRUE -> {
          m.visitInsn(L2I);
          target(op == Op.JUMP_FALSE ? IFEQ : IFNE, a);
        }
        case CALL, CALL_ON, CALL_DYNAMIC -> bodyCall(op, pc, a, b);
        case RETURN -> {
          if (owner != null) {
            m.visitInsn(ICONST_M1);
            m.visitInsn(IRETURN);
          } else {
            m.visitInsn(RETURN);
          }
          return -1;
        }
        case GUARD -> {
          guarded(pc);
          return -1;
        }
        case UNGUARD -> throw new IllegalStateException("UNGUARD outside a guarded stretch");
        case TASK_TIME -> {
          m.visitVarInsn(ALOAD, RT);
          integer(m, pc);
          run("taskTime", "(I)J");
        }
        case ELEMENT -> {
          // reports only
        }
        case MUX -> {
          at(pc);
          mux(a);
        }
        case TYPE_TEST, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, NATIVE, ASSERT, TAKE, WAIT, GIVE -> single(pc, op);
      }
      return 0;
    }

    /** A step that the stepping executor executes on our behalf. */
    private void single(int pc, Op op) {
      at(pc);
      spill(op.pops());
      m.visitVarInsn(ALOAD, RT);
      integer(m, pc);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      run("single", "(III)V");
      if (op.pushes() == 1) {
        m.visitVarInsn(ALOAD, RT);
        run("operand", "()J");
      }
    }

    private void mux(int n) {
      for (int i = n; i >= 0; i--) {
        m.visitVarInsn(LSTORE, scratch(i));
      }
      Label end = new Label();
      for (int i = 0; i < n; i++) {
        Label next = new Label();
        m.visitVarInsn(LLOAD, scratch(0));
        longValue(m, i);
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFNE, next);
        m.visitVarInsn(LLOAD, scratch(i + 1));
        m.visitJumpInsn(GOTO, end);
        m.visitLabel(next);
      }
      m.visitVarInsn(LLOAD, scratch(0));
      integer(m, n);
      call(OPERATIONS, "choice", "(JI)I");
      m.visitInsn(I2L);
      m.visitLabel(end);
    }

    private void wrap(int kind) {
      switch (dev.scanloom.internal.value.Arith.kind(kind)) {
        case SINT -> narrow(I2B);
        case INT -> narrow(I2S);
        case DINT -> {
          m.visitInsn(L2I);
          m.visitInsn(I2L);
        }
        case USINT, UINT, UDINT, BYTE, WORD, DWORD, BOOL -> {
          m.visitLdcInsn((1L << WIDTHS[kind]) - 1);
          m.visitInsn(LAND);
        }
        case LINT, ULINT, LWORD, TIME, LTIME, DATE, LDATE, TOD, LTOD, DT, LDT -> {
          // the full width of a slot
        }
        case REAL, LREAL, CHAR, WCHAR, UCHAR, STRING, WSTRING, USTRING -> throw new IllegalStateException("no integer arithmetic on kind " + kind);
      }
    }

    private void narrow(int opcode) {
      m.visitInsn(L2I);
      m.visitInsn(opcode);
      m.visitInsn(I2L);
    }

    private void exact(int pc, String method, int kind) {
      at(pc);
      integer(m, kind);
      call(ARITH, method, "(JJI)J");
    }

    private void real(int opcode) {
      m.visitInsn(L2I);
      call("java/lang/Float", "intBitsToFloat", "(I)F");
      m.visitVarInsn(FSTORE, scratch(0));
      m.visitInsn(L2I);
      call("java/lang/Float", "intBitsToFloat", "(I)F");
      m.visitVarInsn(FLOAD, scratch(0));
      m.visitInsn(opcode);
      call("java/lang/Float", "floatToRawIntBits", "(F)I");
      m.visitInsn(I2L);
    }

    private void lreal(int opcode) {
      call("java/lang/Double", "longBitsToDouble", "(J)D");
      m.visitVarInsn(DSTORE, scratch(0));
      call("java/lang/Double", "longBitsToDouble", "(J)D");
      m.visitVarInsn(DLOAD, scratch(0));
      m.visitInsn(opcode);
      call("java/lang/Double", "doubleToRawLongBits", "(D)J");
    }

    private void not(int kind) {
      if (kind == BOOL) {
        m.visitInsn(LCONST_1);
      } else {
        m.visitLdcInsn(WIDTHS[kind] == 64 ? -1L : (1L << WIDTHS[kind]) - 1);
      }
      m.visitInsn(LXOR);
    }

    /** A comparison; together with the branch that follows when nothing else can reach that. */
    private int comparison(Op op, int pc) {
      m.visitInsn(LCMP);
      return branchOrTruth(jumpIf(op), pc);
    }

    private int branchOrTruth(int jump, int pc) {
      int next = pc + 1;
      if (next < end && !blocks.leader[next]) {
        Op following = Blocks.op(code, next);
        if (following == Op.JUMP_FALSE) {
          target(opposite(jump), code.a[next]);
          return 1;
        }
        if (following == Op.JUMP_TRUE) {
          target(jump, code.a[next]);
          return 1;
        }
      }
      truth(jump);
      return 0;
    }

    /** int -- 0 or 1. */
    private void truth(int jump) {
      Label yes = new Label();
      Label end1 = new Label();
      m.visitJumpInsn(jump, yes);
      m.visitInsn(LCONST_0);
      m.visitJumpInsn(GOTO, end1);
      m.visitLabel(yes);
      m.visitInsn(LCONST_1);
      m.visitLabel(end1);
    }

    private int realComparison(boolean single, int comparison, int pc) {
      if (single) {
        m.visitInsn(L2I);
        call("java/lang/Float", "intBitsToFloat", "(I)F");
        m.visitVarInsn(FSTORE, scratch(0));
        m.visitInsn(L2I);
        call("java/lang/Float", "intBitsToFloat", "(I)F");
        m.visitVarInsn(FLOAD, scratch(0));
      } else {
        call("java/lang/Double", "longBitsToDouble", "(J)D");
        m.visitVarInsn(DSTORE, scratch(0));
        call("java/lang/Double", "longBitsToDouble", "(J)D");
        m.visitVarInsn(DLOAD, scratch(0));
      }
      // With NaN every comparison but <> is FALSE: < and <= need the variant that gives 1, > and >= the one that gives -1.
      boolean less = comparison == 2 || comparison == 3;
      m.visitInsn(single ? (less ? FCMPG : FCMPL) : less ? DCMPG : DCMPL);
      int jump = switch (comparison) {
        case 0 -> IFEQ;
        case 1 -> IFNE;
        case 2 -> IFLT;
        case 3 -> IFLE;
        case 4 -> IFGT;
        case 5 -> IFGE;
        default -> throw new IllegalStateException("comparison " + comparison);
      };
      return branchOrTruth(jump, pc);
    }

    private void convert(int pc, int a) {
      int from = a & 255;
      int to = a >> 8 & 255;
      boolean truncate = a >> 16 != 0;
      ElementaryType source = dev.scanloom.internal.value.Arith.kind(from);
      ElementaryType target = dev.scanloom.internal.value.Arith.kind(to);
      if (source.family() == ElementaryType.Family.SIGNED && target == ElementaryType.LREAL) {
        m.visitInsn(L2D);
        call("java/lang/Double", "doubleToRawLongBits", "(D)J");
        return;
      }
      if (source.family() == ElementaryType.Family.SIGNED && target.family() == ElementaryType.Family.SIGNED && target.bits() >= source.bits()) {
        return;
      }
      at(pc);
      integer(m, from);
      integer(m, to);
      m.visitInsn(truncate ? ICONST_1 : ICONST_0);
      integer(m, code.choices().realToInteger().ordinal());
      integer(m, code.choices().conversionRange().ordinal());
      call(SUPPORT, "convert", "(JIIZII)J");
    }

    private void index(int pc, int a) {
      long low = code.pool[a];
      long high = code.pool[a + 1];
      long stride = code.pool[a + 2];
      at(pc);
      m.visitLdcInsn(low);
      m.visitLdcInsn(high);
      longValue(m, stride);
      longValue(m, code.pool[a + 3]);
      call(SUPPORT, "index", "(JJJJJJ)J");
    }

    private void loadLocated(long address, int kind, int pc) {
      int width = WIDTHS[kind];
      long bit = Address.bit(address);
      if (Address.area(address) != 1 && width == 1) {
        area(address);
        integer(m, (int) (bit >>> 3));
        m.visitInsn(BALOAD);
        integer(m, (int) (bit & 7));
        m.visitInsn(ISHR);
        m.visitInsn(ICONST_1);
        m.visitInsn(IAND);
        m.visitInsn(I2L);
        return;
      }
      m.visitVarInsn(ALOAD, RT);
      m.visitLdcInsn(address);
      integer(m, kind);
      integer(m, pc);
      run("loadLocated", "(JII)J");
    }

    private void area(long address) {
      m.visitVarInsn(ALOAD, RT);
      m.visitFieldInsn(GETFIELD, RUN, Address.area(address) == 1 ? "inputs" : Address.area(address) == 2 ? "outputs" : "marks", "[B");
    }

    private void storeLocated(long address, int kind, int pc) {
      m.visitVarInsn(LSTORE, scratch(0));
      m.visitVarInsn(ALOAD, RT);
      m.visitVarInsn(LLOAD, scratch(0));
      m.visitLdcInsn(address);
      integer(m, kind);
      integer(m, pc);
      run("storeLocated", "(JJII)V");
    }

    private void bodyCall(Op op, int pc, int a, int frameSlots) {
      at(pc);
      int instance = scratch(0);
      if (op != Op.CALL) {
        m.visitVarInsn(LSTORE, instance);
      }
      m.visitVarInsn(ALOAD, RT);
      run("enter", "()V");
      if (op != Op.CALL) {
        m.visitVarInsn(LLOAD, instance);
        call(OPERATIONS, "checkNull", "(J)J");
        m.visitInsn(POP2);
      }
      if (op == Op.CALL_DYNAMIC) {
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(LLOAD, instance);
        integer(m, a);
        run("dispatch", "(JI)I");
        m.visitVarInsn(ISTORE, scratch(1));
        Label done = new Label();
        code.types().stream().flatMapToInt(t -> t.bodies().length > a ? java.util.stream.IntStream.of(t.bodies()[a]) : java.util.stream.IntStream.empty())
            .filter(x -> x >= 0).distinct().sorted().forEach(body -> {
              Label next = new Label();
              m.visitVarInsn(ILOAD, scratch(1));
              integer(m, body);
              m.visitJumpInsn(IF_ICMPNE, next);
              invoke(body, () -> {
                m.visitVarInsn(LLOAD, instance);
                m.visitInsn(L2I);
              }, frameSlots);
              m.visitJumpInsn(GOTO, done);
              m.visitLabel(next);
            });
        m.visitLabel(done);
      } else {
        invoke(a, op == Op.CALL ? this::instance : () -> {
          m.visitVarInsn(LLOAD, instance);
          m.visitInsn(L2I);
        }, frameSlots);
      }
      m.visitVarInsn(ALOAD, RT);
      m.visitInsn(DUP);
      m.visitFieldInsn(GETFIELD, RUN, "depth", "I");
      m.visitInsn(ICONST_1);
      m.visitInsn(ISUB);
      m.visitFieldInsn(PUTFIELD, RUN, "depth", "I");
    }

    private void invoke(int body, Runnable instance, int frameSlots) {
      m.visitVarInsn(ALOAD, MEM);
      instance.run();
      slot(FRAME, frameSlots);
      m.visitVarInsn(ALOAD, RT);
      call(name, "b" + body, BODY);
    }

    private void guarded(int pc) {
      int after = guardEnd(pc);
      int handler = code.a[pc];
      m.visitVarInsn(ALOAD, RT);
      integer(m, pc);
      integer(m, after);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      run("guarded", "(IIII)I");
      integer(m, handler);
      Label wentWell = new Label();
      m.visitJumpInsn(IF_ICMPNE, wentWell);
      target(GOTO, handler);
      m.visitLabel(wentWell);
      for (int i = blocks.height[pc]; i < blocks.height[after]; i++) {
        m.visitVarInsn(ALOAD, RT);
        run("operand", "()J");
      }
      target(GOTO, after);
    }
  }
}
