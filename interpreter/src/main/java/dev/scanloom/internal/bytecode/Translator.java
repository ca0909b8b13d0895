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
import java.util.TreeMap;
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
  /** Memory, instance, frame, run, steps used, call depth; returns the steps used. */
  private static final String BODY = "([JIIL" + RUN + ";JI)J";
  /** Besides the entry; returns the next entry, the run has the steps. */
  private static final String CHUNK = "([JIIL" + RUN + ";JII)I";
  private static final int MEM = 0;
  private static final int SELF = 1;
  private static final int FRAME = 2;
  private static final int RT = 3;
  /** Steps used: kept in a local variable, in the run whenever somebody else may look. */
  private static final int STEPS = 4;
  private static final int DEPTH = 6;
  private static final int ENTRY = 7;
  private static final int PC = 8;
  /** Areas I, Q and M, where a method uses them. */
  private static final int AREAS = 9;
  /** Steps since STEPS was last brought up to date: an int, which takes few bytecodes to count. */
  private static final int COUNT = 12;
  private static final int FIRST = 13;

  // Forms of an operand. The first three lie on the stack of the JVM, the others are made when they are needed.
  /** A slot value. */
  private static final byte VALUE = 0;
  /** A slot value of BOOL of which only the lowest bit counts. */
  private static final byte DIRTY = 1;
  /** An int: the number of a slot, which lies in memory by construction. */
  private static final byte SLOT = 2;
  /** A known slot value. */
  private static final byte CONSTANT = 3;
  /** A slot at a known distance from the instance (or from slot 0, when there is but one instance), or from the frame. */
  private static final byte OF_SELF = 4;
  private static final byte OF_FRAME = 5;
  /** A double on the stack of the JVM. */
  private static final byte DOUBLE = 6;
  /** An int on the stack of the JVM: a bit of an area, whose number is known; {@link #known} holds it. */
  private static final byte BIT = 7;
  private static final int[] WIDTHS = Arrays.stream(ElementaryType.values()).mapToInt(ElementaryType::bits).toArray();
  private static final int BOOL = ElementaryType.BOOL.ordinal();
  private static final int LREAL = ElementaryType.LREAL.ordinal();

  private final Code code;
  private final Blocks blocks;
  private final boolean watchesReads;
  private final boolean watchesWrites;
  /** Calls must look whether they nest too deep. */
  private final boolean checksDepth;
  private final String name;
  private final ClassWriter writer = new ClassWriter(ClassWriter.COMPUTE_MAXS);
  /** Fixed instance of a body that only one program runs, else -1. */
  private final int[] fixedSelf;

  /** Bodies that the stepping executor runs. */
  private final Set<Integer> left;

  /** {@code watchesReads}, {@code watchesWrites}: the policy acts at reads of inputs, at writes of outputs. {@code callDepth}: limit of nested calls. */
  Translator(Code code, Blocks blocks, Set<Integer> left, boolean watchesReads, boolean watchesWrites, int callDepth) {
    this.left = left;
    this.checksDepth = depth(code, callDepth) > callDepth;
    this.watchesReads = watchesReads;
    this.watchesWrites = watchesWrites;
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

  /** Most calls that are open at once, as far as calls are known; more than the limit when bodies call each other in a circle or by the instance's type. */
  private static int depth(Code code, int limit) {
    int n = code.bodies().size();
    List<Set<Integer>> calls = new ArrayList<>();
    for (Code.Body b : code.bodies()) {
      Set<Integer> called = new TreeSet<>();
      for (int pc = b.start(); pc < b.end(); pc++) {
        Op op = Blocks.op(code, pc);
        if (op == Op.CALL_DYNAMIC) {
          return Integer.MAX_VALUE;
        }
        if (op == Op.CALL || op == Op.CALL_ON) {
          called.add(code.a[pc]);
        }
      }
      calls.add(called);
    }
    int[] depths = new int[n];
    boolean changed = true;
    int most = 0;
    // Each round settles at least the bodies of one more depth, or there is a circle.
    for (int round = 0; changed; round++) {
      if (round > Math.min(limit, n) + 1) {
        return Integer.MAX_VALUE;
      }
      changed = false;
      for (int i = 0; i < n; i++) {
        for (int c : calls.get(i)) {
          if (depths[c] + 1 > depths[i]) {
            depths[i] = depths[c] + 1;
            most = Math.max(most, depths[i]);
            changed = true;
          }
        }
      }
    }
    return most;
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
    MethodVisitor m = writer.visitMethod(ACC_PUBLIC, "run", "(I[JIIL" + RUN + ";)J", null, null);
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
      m.visitInsn(LCONST_0);
      m.visitInsn(ICONST_0);
      m.visitMethodInsn(INVOKESTATIC, name, "b" + b, BODY, false);
      m.visitInsn(LRETURN);
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
        m.visitVarInsn(LLOAD, STEPS);
        m.visitVarInsn(ILOAD, DEPTH);
        m.visitMethodInsn(INVOKEVIRTUAL, RUN, "body", "(IIIJI)J", false);
        m.visitInsn(LRETURN);
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
        case LOAD_LOCATED, STORE_LOCATED -> 12;
        case JUMP, JUMP_FALSE, JUMP_TRUE -> 8;
        default -> 20; // an estimate for the rest; being wrong costs a cut too early
      };
      return n + (blocks.leader[pc] ? 12 : 0);
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
        m.visitVarInsn(LLOAD, STEPS);
        m.visitVarInsn(ILOAD, DEPTH);
        m.visitVarInsn(ILOAD, ENTRY);
        m.visitMethodInsn(INVOKESTATIC, name, "b" + number + kind + i, CHUNK, false);
        m.visitVarInsn(ISTORE, ENTRY);
        m.visitVarInsn(ALOAD, RT);
        m.visitFieldInsn(GETFIELD, RUN, "steps", "J");
        m.visitVarInsn(LSTORE, STEPS);
        m.visitJumpInsn(GOTO, again);
      }
      m.visitLabel(done);
      if (returns) {
        m.visitVarInsn(ILOAD, ENTRY);
        m.visitInsn(IRETURN);
      } else {
        m.visitVarInsn(LLOAD, STEPS);
        m.visitInsn(LRETURN);
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
      } else if ((op == Op.LOAD_FRAME || op == Op.STORE_FRAME) && a < b.frameSlots() && isInstanceBody(number)) {
        // Beyond the frame lie the parameters of what is called. A variable of the body's own, if the first step that names it gives it a value, on every path.
        int user = blocks.guarded[pc] ? -1 : 1 + methodStarts[method];
        boolean first = users[a] == 0 && (op == Op.LOAD_FRAME || blocks.blockOf[pc] != b.start());
        users[a] = !first && (users[a] == 0 || users[a] == user) ? user : -1;
      } else if ((op == Op.ADDRESS_FRAME || op == Op.LOAD_FRAME || op == Op.STORE_FRAME || op == Op.OPEN_INDEX) && a < users.length) {
        Arrays.fill(users, a, op == Op.ADDRESS_FRAME ? users.length : a + 1, -1);
      }
    }
    temporariesOf = number;
    temporaries = users;
    return users;
  }

  /** The body of a program or of a block (which has an instance type of its name): what goes in and out lies in the instance, its frame is its own. */
  private boolean isInstanceBody(int number) {
    return code.programs().stream().anyMatch(p -> p.body() == number) || code.types().stream().anyMatch(t -> t.name().equals(code.bodies().get(number).name()));
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
    private final boolean[] target;
    private final boolean[] head;
    private final Label slow = new Label();
    private boolean usesSlow;

    private byte[] form = new byte[32];
    private long[] known = new long[32];
    private int top;
    /** What is known of temporaries that are stored once: form, and value or distance. */
    private final Map<Integer, Byte> tempForm = new HashMap<>();
    private final Map<Integer, Long> tempKnown = new HashMap<>();
    private static final int FRAME_VARIABLE = 1 << 20;
    /** Promoted variables that are always LREAL: their local variables are doubles. */
    private final Set<Integer> doubles = new TreeSet<>();
    private final Map<Integer, Integer> tempStores = new HashMap<>();

    Method(MethodVisitor m, int start, int end, Body owner) {
      this.m = m;
      this.start = start;
      this.end = end;
      this.owner = owner;
      this.self = fixedSelf[code.bodyOf(start)];
      this.nextLocal = FIRST;
      this.target = new boolean[end - start + 1];
      this.head = new boolean[end - start + 1];
    }

    void write() {
      m.visitCode();
      integer(m, start);
      m.visitVarInsn(ISTORE, PC);
      m.visitInsn(ICONST_0);
      m.visitVarInsn(ISTORE, COUNT);
      areas();
      heads();
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
          if (live && blocks.height[pc] > 0) {
            need(top, false);
          }
          m.visitLabel(labels.get(pc));
          if (!live || target[pc - start]) {
            top = Math.max(0, blocks.height[pc]);
            Arrays.fill(form, 0, Math.min(form.length, top), VALUE);
          }
        }
        if (blocks.height[pc] < 0 || blocks.guarded[pc]) {
          continue;
        }
        live = true;
        if (blocks.leader[pc]) {
          count(pc);
        }
        int skip = translate(pc);
        live = skip >= 0;
        if (skip > 0) {
          pc += skip;
        }
      }
      if (live && owner != null && end < owner.body.end()) {
        save();
        integer(m, owner.next(end));
        m.visitInsn(IRETURN);
      }
      if (usesSlow) {
        finishSlowly();
      }
      m.visitLabel(to);
      if (canFail) {
        m.visitLabel(handler);
        save();
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
      TreeSet<Integer> others = new TreeSet<>();
      for (int pc = start; pc < end; pc++) {
        Op op = Blocks.op(code, pc);
        int a = code.a[pc];
        if ((op == Op.LOAD_FRAME || op == Op.STORE_FRAME) && a < users.length && users[a] == 1 + start) {
          mine.add(a);
          tempStores.put(a, FRAME_VARIABLE);
          if (code.b[pc] == LREAL) {
            doubles.add(a);
          } else {
            others.add(a);
          }
        }
        if ((op == Op.LOAD_TEMP || op == Op.STORE_TEMP) && users[a] == 1 + start) {
          mine.add(a);
          others.add(a);
          // Read before it is written, as the text goes: nothing may be known of it.
          tempStores.merge(a, op == Op.STORE_TEMP ? 1 : tempStores.containsKey(a) ? 0 : 2, Integer::sum);
        }
      }
      doubles.removeAll(others);
      for (int a : mine) {
        locals.put(a, nextLocal);
        nextLocal += 2;
        if (owner == null && tempStores.get(a) >= FRAME_VARIABLE) {
          // the first block gives it a value
          continue;
        }
        m.visitInsn(doubles.contains(a) ? DCONST_0 : LCONST_0);
        m.visitVarInsn(doubles.contains(a) ? DSTORE : LSTORE, locals.get(a));
      }
    }

    private int scratch(int index) {
      return nextLocal + 2 * index;
    }

    /** Steps used, from the run. */
    private void load() {
      m.visitVarInsn(ALOAD, RT);
      m.visitFieldInsn(GETFIELD, RUN, "steps", "J");
      m.visitVarInsn(LSTORE, STEPS);
      m.visitInsn(ICONST_0);
      m.visitVarInsn(ISTORE, COUNT);
    }

    /** Pushes the steps used. */
    private void used() {
      m.visitVarInsn(LLOAD, STEPS);
      m.visitVarInsn(ILOAD, COUNT);
      m.visitInsn(I2L);
      m.visitInsn(LADD);
    }

    /** Steps used and call depth, to the run. */
    private void saveAll() {
      save();
      m.visitVarInsn(ALOAD, RT);
      m.visitVarInsn(ILOAD, DEPTH);
      m.visitFieldInsn(PUTFIELD, RUN, "depth", "I");
    }

    /** Steps used, to the run. */
    private void save() {
      m.visitVarInsn(ALOAD, RT);
      used();
      m.visitFieldInsn(PUTFIELD, RUN, "steps", "J");
    }

    private void areas() {
      boolean[] used = new boolean[4];
      boolean[] constant = {false, true, true, true};
      Map<Long, Integer> words = new TreeMap<>();
      for (int pc = start; pc < end; pc++) {
        Op op = Blocks.op(code, pc);
        if (op == Op.LOAD_LOCATED || op == Op.STORE_LOCATED) {
          long address = code.pool[code.a[pc]];
          used[Address.area(address)] = true;
          if (op == Op.STORE_LOCATED) {
            constant[Address.area(address)] = false;
          } else if (WIDTHS[code.b[pc]] == 1) {
            words.merge(wordOf(address), 1, Integer::sum);
          }
        } else if (op == Op.CONST && Address.isLocated(code.pool[code.a[pc]])) {
          used[Address.area(code.pool[code.a[pc]])] = true;
        } else if (spends(op) || op == Op.STORE_INDIRECT || op == Op.GUARD) {
          Arrays.fill(constant, false);
        }
      }
      constant[1] &= !watchesReads;
      for (int area = 1; area <= 3; area++) {
        if (used[area]) {
          m.visitVarInsn(ALOAD, RT);
          m.visitFieldInsn(GETFIELD, RUN, area == 1 ? "inputs" : area == 2 ? "outputs" : "marks", "[B");
          m.visitVarInsn(ASTORE, AREAS + area - 1);
        }
      }
      // Bits that nothing in this method can change are taken from whole words, read once.
      words.forEach((address, uses) -> {
        int area = Address.area(address);
        int at = (int) (Address.bit(address) >>> 3);
        if (constant[area] && uses >= 3 && wordLocals.size() < 24 && at + 8 <= code.memory().areaBytes()[area - 1]) {
          wordLocals.put(address, nextLocal);
          m.visitVarInsn(ALOAD, AREAS + area - 1);
          integer(m, at);
          call(SUPPORT, "get64", "([BI)J");
          m.visitVarInsn(LSTORE, nextLocal);
          nextLocal += 2;
        }
      });
    }

    private static long wordOf(long address) {
      return address & ~63L;
    }

    private final Map<Long, Integer> wordLocals = new HashMap<>();

    /** Where jumps lead, and where the run is asked whether the steps up to the next such place may be made: at the start, where loops begin, behind calls. */
    private void heads() {
      head[0] = true;
      if (owner != null) {
        for (int pc : owner.entries.get(owner.chunk(start))) {
          head[pc - start] = true;
          target[pc - start] = true;
        }
      }
      for (int pc = start; pc < end; pc++) {
        Op op = Blocks.op(code, pc);
        if (op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE || op == Op.GUARD) {
          mark(code.a[pc], pc);
          if (op == Op.GUARD) {
            int after = guardEnd(pc);
            mark(after, pc);
            for (int at : new int[] {after, code.a[pc]}) {
              if (at >= start && at < end) {
                head[at - start] = true;
              }
            }
          }
        } else if (spends(op) && pc + 1 < end) {
          head[pc + 1 - start] = true;
        }
      }
    }

    private void mark(int to, int from) {
      if (to >= start && to < end) {
        target[to - start] = true;
        head[to - start] |= to <= from;
      }
    }

    /** Uses a number of steps that is not known here. */
    private boolean spends(Op op) {
      return switch (op) {
        case CALL, CALL_ON, CALL_DYNAMIC, NATIVE, TEXT_COPY, TEXT_CONVERT, COPY, ASSERT, TAKE, WAIT, GIVE -> true;
        default -> false; // every other step is one step
      };
    }

    /** Most steps that are made from the start of a block before the run is asked again. */
    private int longest(int pc) {
      if (reach == null) {
        reach = new int[end - start + 1];
        for (int at = end - 1; at >= start; at--) {
          if (blocks.leader[at]) {
            int last = Math.min(end, at + blocks.length[at]) - 1;
            Op op = Blocks.op(code, last);
            int next = op == Op.JUMP || op == Op.RETURN ? 0 : beyond(last + 1);
            if (op == Op.JUMP || op == Op.JUMP_FALSE || op == Op.JUMP_TRUE) {
              next = Math.max(next, beyond(code.a[last]));
            }
            reach[at - start] = blocks.length[at] + next;
          }
        }
      }
      return reach[pc - start];
    }

    private int beyond(int pc) {
      return pc < start || pc >= end || head[pc - start] ? 0 : reach[pc - start];
    }

    private int[] reach;

    /** Counts the steps of a block; at a head asks whether the budget lasts, and leaves the rest of the body to the stepping executor if it may not. */
    private void count(int pc) {
      if (head[pc - start]) {
        int h = blocks.height[pc];
        int most = longest(pc);
        Label fine = new Label();
        for (int i = h - 1; i >= 0; i--) {
          m.visitVarInsn(LSTORE, scratch(i));
        }
        boolean atStart = pc == start && owner == null && !target[0];
        if (!atStart) {
          used();
          m.visitInsn(DUP2);
          m.visitVarInsn(LSTORE, STEPS);
          m.visitInsn(ICONST_0);
          m.visitVarInsn(ISTORE, COUNT);
        } else {
          m.visitVarInsn(LLOAD, STEPS);
        }
        longValue(m, most);
        m.visitInsn(LADD);
        m.visitVarInsn(ALOAD, RT);
        m.visitFieldInsn(GETFIELD, RUN, "checkpoint", "J");
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFLE, fine);
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(LLOAD, STEPS);
        integer(m, pc);
        integer(m, most);
        run("ample", "(JII)Z");
        m.visitJumpInsn(IFNE, fine);
        if (atStart) {
          stepping(owner());
        } else {
          for (int i = 0; i < h; i++) {
            m.visitVarInsn(ALOAD, RT);
            m.visitVarInsn(LLOAD, scratch(i));
            run("spill", "(J)V");
          }
          integer(m, pc);
          m.visitVarInsn(ISTORE, PC);
          m.visitJumpInsn(GOTO, slow);
          usesSlow = true;
        }
        m.visitLabel(fine);
        for (int i = 0; i < h; i++) {
          m.visitVarInsn(LLOAD, scratch(i));
        }
      }
      int n = blocks.length[pc];
      if (n <= Short.MAX_VALUE) {
        m.visitIincInsn(COUNT, n);
      } else {
        m.visitVarInsn(ILOAD, COUNT);
        integer(m, n);
        m.visitInsn(IADD);
        m.visitVarInsn(ISTORE, COUNT);
      }
    }

    private int owner() {
      return code.bodyOf(start);
    }

    /** A whole body by the stepping executor; returns. */
    private void stepping(int number) {
      m.visitVarInsn(ALOAD, RT);
      integer(m, number);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      m.visitVarInsn(LLOAD, STEPS);
      m.visitVarInsn(ILOAD, DEPTH);
      run("body", "(IIIJI)J");
      m.visitInsn(LRETURN);
    }

    /** The rest of the body, from the step in PC, by the stepping executor. */
    private void finishSlowly() {
      m.visitLabel(slow);
      saveAll();
      locals.entrySet().stream().sorted(Map.Entry.comparingByKey()).forEach(e -> {
        m.visitVarInsn(ALOAD, MEM);
        slot(FRAME, e.getKey());
        if (doubles.contains(e.getKey())) {
          m.visitVarInsn(DLOAD, e.getValue());
          call("java/lang/Double", "doubleToRawLongBits", "(D)J");
        } else {
          m.visitVarInsn(LLOAD, e.getValue());
        }
        if (tempForm.getOrDefault(e.getKey(), VALUE) == DIRTY) {
          m.visitInsn(LCONST_1);
          m.visitInsn(LAND);
        }
        m.visitInsn(LASTORE);
      });
      m.visitVarInsn(ALOAD, RT);
      m.visitVarInsn(ILOAD, PC);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      run("finish", "(III)V");
      load();
      leave();
    }

    private void leave() {
      if (owner != null) {
        save();
        m.visitInsn(ICONST_M1);
        m.visitInsn(IRETURN);
      } else {
        used();
        m.visitInsn(LRETURN);
      }
    }

    // ---- operands ----

    private void push(byte f, long value) {
      if (top == form.length) {
        form = Arrays.copyOf(form, 2 * top);
        known = Arrays.copyOf(known, 2 * top);
      }
      form[top] = f;
      known[top++] = value;
    }

    /** Makes the topmost operands slot values on the stack of the JVM; {@code dirty}: such of which one bit counts will do. */
    private void need(int n, boolean dirty) {
      int first = top - n;
      while (first < top && (form[first] == VALUE || dirty && form[first] == DIRTY)) {
        first++;
      }
      for (int i = top - 1; i > first; i--) {
        if (form[i] <= DIRTY) {
          m.visitVarInsn(LSTORE, scratch(i - first));
        } else if (form[i] == DOUBLE) {
          m.visitVarInsn(DSTORE, scratch(i - first));
        } else if (form[i] == SLOT || form[i] == BIT) {
          m.visitVarInsn(ISTORE, scratch(i - first));
        }
      }
      for (int i = first; i < top; i++) {
        if (i > first && form[i] <= DIRTY) {
          m.visitVarInsn(LLOAD, scratch(i - first));
        } else if (i > first && form[i] == DOUBLE) {
          m.visitVarInsn(DLOAD, scratch(i - first));
        } else if (i > first && (form[i] == SLOT || form[i] == BIT)) {
          m.visitVarInsn(ILOAD, scratch(i - first));
        }
        if (form[i] == DIRTY && !dirty) {
          m.visitInsn(LCONST_1);
          m.visitInsn(LAND);
          form[i] = VALUE;
        } else if (form[i] == CONSTANT) {
          longValue(m, known[i]);
          form[i] = VALUE;
        } else if (form[i] == DOUBLE) {
          call("java/lang/Double", "doubleToRawLongBits", "(D)J");
          form[i] = VALUE;
        } else if (form[i] == BIT) {
          m.visitInsn(I2L);
          m.visitLdcInsn(Address.located(" IQM".charAt((int) known[i]), 0));
          m.visitInsn(LADD);
          form[i] = VALUE;
        } else if (form[i] >= SLOT) {
          if (form[i] != SLOT) {
            place(i);
          }
          m.visitInsn(I2L);
          form[i] = VALUE;
        }
      }
    }

    /** The slot of an operand that is not on the stack, as an int. */
    private void place(int i) {
      if (form[i] == OF_FRAME) {
        slot(FRAME, (int) known[i]);
      } else {
        selfSlot((int) known[i]);
      }
    }

    private boolean isPlace(int i) {
      return form[i] == SLOT || form[i] == OF_SELF || form[i] == OF_FRAME;
    }

    /** The two topmost operands as doubles on the stack of the JVM. */
    private void doubles() {
      if (form[top - 2] == DOUBLE) {
        one();
        return;
      }
      if (form[top - 2] == VALUE) {
        if (form[top - 1] == CONSTANT) {
          call("java/lang/Double", "longBitsToDouble", "(J)D");
          one();
        } else {
          one();
          m.visitVarInsn(DSTORE, scratch(0));
          call("java/lang/Double", "longBitsToDouble", "(J)D");
          m.visitVarInsn(DLOAD, scratch(0));
        }
        form[top - 2] = DOUBLE;
        return;
      }
      if (form[top - 2] == CONSTANT && form[top - 1] == CONSTANT) {
        m.visitLdcInsn(Double.longBitsToDouble(known[top - 2]));
        form[top - 2] = DOUBLE;
        one();
        return;
      }
      if (form[top - 2] == CONSTANT) {
        one();
        m.visitVarInsn(DSTORE, scratch(0));
        m.visitLdcInsn(Double.longBitsToDouble(known[top - 2]));
        m.visitVarInsn(DLOAD, scratch(0));
        form[top - 2] = DOUBLE;
        return;
      }
      need(2, false);
      doubles();
    }

    /** The topmost operand as a double. */
    private void one() {
      if (form[top - 1] == CONSTANT) {
        m.visitLdcInsn(Double.longBitsToDouble(known[top - 1]));
      } else if (form[top - 1] != DOUBLE) {
        need(1, false);
        call("java/lang/Double", "longBitsToDouble", "(J)D");
      }
      form[top - 1] = DOUBLE;
    }

    /** A slot value was read: of LREAL, as a double, since that is what will be computed with. */
    private void loaded(int kind) {
      if (kind == LREAL) {
        call("java/lang/Double", "longBitsToDouble", "(J)D");
        push(DOUBLE, 0);
      } else {
        push(VALUE, 0);
      }
    }

    /** Translates a step, the frequent ones with what is known of their operands. Returns as {@link #step}. */
    private int translate(int pc) {
      Op op = Blocks.op(code, pc);
      int a = code.a[pc];
      int b = code.b[pc];
      switch (op) {
        case CONST -> push(CONSTANT, code.pool[a]);
        case ADDRESS_SELF -> push(OF_SELF, a);
        case ADDRESS_FRAME -> push(OF_FRAME, a);
        case LOAD_LOCATED -> loadLocated(code.pool[a], b, pc);
        case STORE_LOCATED -> {
          need(1, false);
          top--;
          storeLocated(code.pool[a], b, pc);
        }
        case STORE_SELF -> store(() -> selfSlot(a));
        case STORE_FRAME -> {
          if (!locals.containsKey(a)) {
            store(() -> slot(FRAME, a));
          } else if (doubles.contains(a)) {
            one();
            m.visitVarInsn(DSTORE, locals.get(a));
            top--;
          } else {
            need(1, false);
            m.visitVarInsn(LSTORE, locals.get(a));
            top--;
          }
        }
        case STORE_STATIC -> store(() -> integer(m, a));
        case STORE_TEMP -> storeTemp(a);
        case LOAD_TEMP -> loadTemp(a);
        case LOAD_SELF -> {
          m.visitVarInsn(ALOAD, MEM);
          selfSlot(a);
          m.visitInsn(LALOAD);
          loaded(b);
        }
        case LOAD_FRAME -> {
          if (doubles.contains(a)) {
            m.visitVarInsn(DLOAD, locals.get(a));
            push(DOUBLE, 0);
            return 0;
          }
          if (locals.containsKey(a)) {
            m.visitVarInsn(LLOAD, locals.get(a));
            loaded(b);
            return 0;
          }
          m.visitVarInsn(ALOAD, MEM);
          slot(FRAME, a);
          m.visitInsn(LALOAD);
          loaded(b);
        }
        case LOAD_STATIC -> {
          m.visitVarInsn(ALOAD, MEM);
          integer(m, a);
          m.visitInsn(LALOAD);
          loaded(b);
        }
        case ADD_LREAL, SUB_LREAL, MUL_LREAL -> {
          doubles();
          m.visitInsn(op == Op.ADD_LREAL ? DADD : op == Op.SUB_LREAL ? DSUB : DMUL);
          top--;
        }
        case DIV_LREAL -> {
          if (form[top - 1] != CONSTANT || Double.longBitsToDouble(known[top - 1]) == 0.0) {
            return plain(op, pc);
          }
          doubles();
          m.visitInsn(DDIV);
          top--;
        }
        case NEG_LREAL -> {
          one();
          m.visitInsn(DNEG);
        }
        case CONVERT -> {
          ElementaryType source = dev.scanloom.internal.value.Arith.kind(a & 255);
          boolean whole = source.family() == ElementaryType.Family.SIGNED || source.family() == ElementaryType.Family.UNSIGNED && source.bits() < 64;
          if ((a >> 8 & 255) != LREAL || !whole) {
            return plain(op, pc);
          }
          need(1, false);
          m.visitInsn(L2D);
          form[top - 1] = DOUBLE;
        }
        case LOAD_INDIRECT -> {
          if (form[top - 1] == BIT) {
            bit(b, (int) known[top - 1]);
            return 0;
          }
          if (!isPlace(top - 1)) {
            return plain(op, pc);
          }
          if (form[top - 1] == SLOT) {
            m.visitVarInsn(ALOAD, MEM);
            m.visitInsn(SWAP);
          } else {
            m.visitVarInsn(ALOAD, MEM);
            place(top - 1);
          }
          m.visitInsn(LALOAD);
          top--;
          loaded(b);
        }
        case STORE_INDIRECT -> {
          int place = top - 2;
          if (!isPlace(place)) {
            return plain(op, pc);
          }
          boolean constant = form[top - 1] == CONSTANT;
          if (!constant) {
            need(1, false);
            m.visitVarInsn(LSTORE, scratch(0));
          }
          m.visitVarInsn(ALOAD, MEM);
          if (form[place] == SLOT) {
            m.visitInsn(SWAP);
          } else {
            place(place);
          }
          if (constant) {
            longValue(m, known[top - 1]);
          } else {
            m.visitVarInsn(LLOAD, scratch(0));
          }
          m.visitInsn(LASTORE);
          top -= 2;
        }
        case CHECK_NULL -> {
          if (!isPlace(top - 1)) {
            return plain(op, pc);
          }
        }
        case OFFSET -> {
          if (!isPlace(top - 1)) {
            return plain(op, pc);
          }
          if (form[top - 1] != SLOT) {
            known[top - 1] += a;
          } else if (a != 0) {
            integer(m, a);
            m.visitInsn(IADD);
          }
        }
        case INDEX -> {
          if (form[top - 2] == CONSTANT && Address.isLocated(known[top - 2]) && directArea(known[top - 2])) {
            locatedIndex(pc, code.pool[a], code.pool[a + 1], (int) code.pool[a + 3]);
            return 0;
          }
          if (!isPlace(top - 2)) {
            return plain(op, pc);
          }
          index(pc, code.pool[a], code.pool[a + 1], (int) code.pool[a + 2]);
        }
        case AND, OR, XOR, CONTACT -> logic(op);
        case NOT -> {
          if (form[top - 1] == CONSTANT) {
            known[top - 1] ^= WIDTHS[b] == 64 ? -1L : (1L << WIDTHS[b]) - 1;
          } else {
            need(1, b == BOOL);
            not(b);
          }
        }
        case DIV, MOD -> {
          boolean simple = form[top - 1] == CONSTANT && known[top - 1] > 0 && WIDTHS[b] < 64;
          if (!simple) {
            return plain(op, pc);
          }
          need(2, false);
          m.visitInsn(op == Op.DIV ? LDIV : LREM);
          top--;
        }
        case SHL, SHR -> {
          boolean simple = form[top - 1] == CONSTANT && known[top - 1] >= 0 && known[top - 1] < WIDTHS[b];
          if (!simple) {
            return plain(op, pc);
          }
          int by = (int) known[--top];
          need(1, false);
          integer(m, by);
          m.visitInsn(op == Op.SHL ? LSHL : LUSHR);
          if (op == Op.SHL) {
            wrap(b);
          }
        }
        case DUP -> {
          if (isDeferred(top - 1)) {
            push(form[top - 1], known[top - 1]);
          } else if (form[top - 1] == SLOT) {
            m.visitInsn(DUP);
            push(SLOT, 0);
          } else {
            return plain(op, pc);
          }
        }
        case POP -> {
          if (isDeferred(top - 1)) {
            top--;
          } else {
            m.visitInsn(form[top - 1] == SLOT || form[top - 1] == BIT ? POP : POP2);
            top--;
          }
        }
        case TASK_TIME -> {
          if (code.choices().timerClock() == ImplementerChoices.TimerClock.ACTIVATION) {
            m.visitVarInsn(ALOAD, RT);
            m.visitFieldInsn(GETFIELD, RUN, "activation", "J");
          } else {
            save();
            m.visitVarInsn(ALOAD, RT);
            integer(m, pc);
            run("taskTime", "(I)J");
          }
          push(VALUE, 0);
        }
        case ELEMENT -> {
          // reports only
        }
        case JUMP, JUMP_FALSE, JUMP_TRUE -> {
          need(top, false);
          int r = step(pc);
          top -= op.pops();
          return r;
        }
        case COMPARE_LREAL -> {
          Op next = pc + 1 < end && !blocks.leader[pc + 1] ? Blocks.op(code, pc + 1) : Op.POP;
          if (top > 2 && (next == Op.JUMP_FALSE || next == Op.JUMP_TRUE)) {
            need(top, false);
          }
          doubles();
          top -= 2;
          int r = realJump(false, a, pc);
          if (r == 0) {
            push(VALUE, 0);
          }
          return r;
        }
        case EQ, NE, LT, LE, GT, GE, COMPARE_REAL -> {
          Op next = pc + 1 < end && !blocks.leader[pc + 1] ? Blocks.op(code, pc + 1) : Op.POP;
          need(next == Op.JUMP_FALSE || next == Op.JUMP_TRUE ? top : 2, false);
          int r = step(pc);
          top -= 2;
          if (r == 0) {
            push(VALUE, 0);
          }
          return r;
        }
        case CALL_ON -> {
          if (!isPlace(top - 1)) {
            return plain(op, pc);
          }
          if (form[top - 1] != SLOT) {
            place(top - 1);
          }
          top--;
          m.visitVarInsn(ISTORE, scratch(0));
          enterBody(pc);
          invoke(a, () -> m.visitVarInsn(ILOAD, scratch(0)), b);
        }
        default -> {
          return plain(op, pc);
        }
      }
      return 0;
    }

    private boolean isDeferred(int i) {
      return form[i] == CONSTANT || form[i] == OF_SELF || form[i] == OF_FRAME;
    }

    /** Nothing watches this area where an address of it leads. */
    private boolean directArea(long address) {
      return !(Address.area(address) == 1 && watchesReads) && !(Address.area(address) == 2 && watchesWrites);
    }

    /** Element of an array that lies in an area. */
    private void locatedIndex(int pc, long low, long high, int stride) {
      int base = top - 2;
      need(1, false);
      at(pc);
      longValue(m, low);
      longValue(m, high);
      call(SUPPORT, "position", "(JJJ)I");
      if (stride != 1) {
        integer(m, stride);
        m.visitInsn(IMUL);
      }
      integer(m, (int) Address.bit(known[base]));
      m.visitInsn(IADD);
      known[base] = Address.area(known[base]);
      form[base] = BIT;
      top--;
    }

    /** The value at a bit of an area. */
    private void bit(int kind, int area) {
      int width = WIDTHS[kind];
      m.visitVarInsn(ALOAD, AREAS + area - 1);
      m.visitInsn(SWAP);
      if (width > 1) {
        integer(m, 3);
        m.visitInsn(IUSHR);
      }
      call(SUPPORT, width == 1 ? "bit" : "get" + width, "([BI)J");
      extend(kind, width);
      top--;
      push(VALUE, 0);
    }

    /** A step whose operands are slot values on the stack of the JVM. */
    private int plain(Op op, int pc) {
      int pops = op == Op.MUX ? code.a[pc] + 1 : op.pops();
      need(op == Op.GUARD ? top : pops, false);
      int r = step(pc);
      top -= pops;
      for (int i = 0; i < op.pushes(); i++) {
        push(VALUE, 0);
      }
      return r;
    }

    private void storeTemp(int a) {
      if (!locals.containsKey(a)) {
        store(() -> slot(FRAME, a));
        return;
      }
      if (form[top - 1] == DOUBLE || form[top - 1] == BIT) {
        need(1, false);
      }
      byte f = form[top - 1];
      long k = known[top - 1];
      boolean once = tempStores.getOrDefault(a, 0) == 1;
      need(1, once && f == DIRTY);
      m.visitVarInsn(LSTORE, locals.get(a));
      top--;
      if (once && f != VALUE) {
        tempForm.put(a, f);
        tempKnown.put(a, k);
      }
    }

    private void loadTemp(int a) {
      if (!locals.containsKey(a)) {
        m.visitVarInsn(ALOAD, MEM);
        slot(FRAME, a);
        m.visitInsn(LALOAD);
        push(VALUE, 0);
        return;
      }
      byte f = tempForm.getOrDefault(a, VALUE);
      if (f == CONSTANT || f == OF_SELF || f == OF_FRAME) {
        push(f, tempKnown.get(a));
        return;
      }
      m.visitVarInsn(LLOAD, locals.get(a));
      if (f == SLOT) {
        m.visitInsn(L2I);
      }
      push(f, 0);
    }

    /** Element of an array that lies in slots. */
    private void index(int pc, long low, long high, int stride) {
      int place = top - 2;
      if (form[top - 1] == CONSTANT && known[top - 1] >= low && known[top - 1] <= high) {
        long by = (known[--top] - low) * stride;
        if (form[place] != SLOT) {
          known[place] += by;
        } else if (by != 0) {
          integer(m, (int) by);
          m.visitInsn(IADD);
        }
        return;
      }
      need(1, false);
      at(pc);
      if (low == 0) {
        longValue(m, high);
        call(SUPPORT, "position", "(JJ)I");
      } else {
        longValue(m, low);
        longValue(m, high);
        call(SUPPORT, "position", "(JJJ)I");
      }
      if (stride != 1) {
        integer(m, stride);
        m.visitInsn(IMUL);
      }
      if (form[place] != SLOT) {
        place(place);
      }
      m.visitInsn(IADD);
      top--;
      form[place] = SLOT;
    }

    private void logic(Op op) {
      int x = top - 2;
      int y = top - 1;
      boolean and = op == Op.AND || op == Op.CONTACT;
      if (op == Op.CONTACT && form[x] == CONSTANT && known[x] == 1) {
        // the left rail: nothing to join
        need(1, true);
        form[x] = form[y];
        known[x] = known[y];
        top--;
        return;
      }
      need(2, true);
      m.visitInsn(and ? LAND : op == Op.OR ? LOR : LXOR);
      top--;
      boolean dirty = and ? form[x] == DIRTY && form[y] == DIRTY : form[x] == DIRTY || form[y] == DIRTY;
      form[x] = dirty ? DIRTY : VALUE;
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

    /** Stores the topmost operand into memory at the index that {@code index} pushes. */
    private void store(Runnable index) {
      boolean constant = form[top - 1] == CONSTANT;
      if (!constant) {
        need(1, false);
        m.visitVarInsn(LSTORE, scratch(0));
      }
      m.visitVarInsn(ALOAD, MEM);
      index.run();
      if (constant) {
        longValue(m, known[top - 1]);
      } else {
        m.visitVarInsn(LLOAD, scratch(0));
      }
      m.visitInsn(LASTORE);
      top--;
    }

    private void target(int opcode, int pc) {
      Label l = labels.get(pc);
      if (l != null && pc >= start && pc < end) {
        m.visitJumpInsn(opcode, l);
        return;
      }
      if (opcode == GOTO) {
        save();
        integer(m, owner.next(pc));
        m.visitInsn(IRETURN);
        return;
      }
      Label stay = new Label();
      m.visitJumpInsn(opposite(opcode), stay);
      save();
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
        case LOAD_INDIRECT -> {
          at(pc);
          if (watchesReads) {
            save();
          }
          m.visitVarInsn(LSTORE, scratch(0));
          m.visitVarInsn(ALOAD, RT);
          m.visitVarInsn(LLOAD, scratch(0));
          integer(m, b);
          integer(m, pc);
          run("loadIndirect", "(JII)J");
        }
        case STORE_INDIRECT -> {
          at(pc);
          if (watchesWrites) {
            save();
          }
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
        case INDEX -> indexAnywhere(pc, a);
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
        case COMPARE_REAL -> {
          return realComparison(a, pc);
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
          leave();
          return -1;
        }
        case GUARD -> {
          guarded(pc);
          return -1;
        }
        case UNGUARD -> throw new IllegalStateException("UNGUARD outside a guarded stretch");
        case MUX -> {
          at(pc);
          mux(a);
        }
        case TYPE_TEST, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, NATIVE, ASSERT, TAKE, WAIT, GIVE ->
          single(pc, op);
        case CONST, ADDRESS_SELF, ADDRESS_FRAME, LOAD_LOCATED, STORE_LOCATED, STORE_SELF, STORE_FRAME, STORE_STATIC, LOAD_TEMP, STORE_TEMP,
            AND, OR, XOR, NOT, CONTACT, ELEMENT, TASK_TIME, LOAD_SELF, LOAD_FRAME, LOAD_STATIC, ADD_LREAL, SUB_LREAL, MUL_LREAL, NEG_LREAL, COMPARE_LREAL ->
          throw new IllegalStateException(op + " is translated elsewhere");
      }
      return 0;
    }

    /** A step that the stepping executor executes on our behalf. */
    private void single(int pc, Op op) {
      at(pc);
      saveAll();
      spill(op.pops());
      m.visitVarInsn(ALOAD, RT);
      integer(m, pc);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      run("single", "(III)V");
      load();
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

    private int realComparison(int comparison, int pc) {
      m.visitInsn(L2I);
      call("java/lang/Float", "intBitsToFloat", "(I)F");
      m.visitVarInsn(FSTORE, scratch(0));
      m.visitInsn(L2I);
      call("java/lang/Float", "intBitsToFloat", "(I)F");
      m.visitVarInsn(FLOAD, scratch(0));
      return realJump(true, comparison, pc);
    }

    private int realJump(boolean single, int comparison, int pc) {
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
      boolean duration = source.family() == ElementaryType.Family.DURATION || source.family() == ElementaryType.Family.DATE
          || source.family() == ElementaryType.Family.TIME_OF_DAY;
      boolean number = source.family() == ElementaryType.Family.SIGNED || source.family() == ElementaryType.Family.UNSIGNED;
      if (from == to || duration) {
        return;
      }
      if (source.family() == ElementaryType.Family.UNSIGNED && target == ElementaryType.LREAL && source.bits() < 64) {
        m.visitInsn(L2D);
        call("java/lang/Double", "doubleToRawLongBits", "(D)J");
        return;
      }
      boolean wider = target.bits() > source.bits() || target.bits() == source.bits() && target.family() == source.family();
      if ((source.isBits() || source.family() == ElementaryType.Family.UNSIGNED) && wider
          && (target.isBits() || target.family() == ElementaryType.Family.SIGNED || target.family() == ElementaryType.Family.UNSIGNED)) {
        return;
      }
      if (number && target.isBits() && target.bits() <= source.bits() || source.isBits() && !target.isReal()
          && (target.isBits() || target.family() == ElementaryType.Family.SIGNED || target.family() == ElementaryType.Family.UNSIGNED)) {
        wrap(to);
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

    /** Element of an array that may lie in an area. */
    private void indexAnywhere(int pc, int a) {
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
      int area = Address.area(address);
      int bit = (int) Address.bit(address);
      if (area == 1 && watchesReads || width > 1 && (bit & 7) != 0) {
        save();
        m.visitVarInsn(ALOAD, RT);
        m.visitLdcInsn(address);
        integer(m, kind);
        integer(m, pc);
        run("loadLocated", "(JII)J");
        push(VALUE, 0);
        return;
      }
      Integer word = width == 1 ? wordLocals.get(wordOf(address)) : null;
      if (word != null) {
        m.visitVarInsn(LLOAD, word);
        if ((bit & 63) != 0) {
          integer(m, bit & 63);
          m.visitInsn(LUSHR);
        }
        push(DIRTY, 0);
        return;
      }
      m.visitVarInsn(ALOAD, AREAS + area - 1);
      integer(m, bit >>> 3);
      if (width == 1) {
        m.visitInsn(BALOAD);
        integer(m, bit & 7);
        m.visitInsn(ISHR);
        m.visitInsn(I2L);
        push(DIRTY, 0);
        return;
      }
      call(SUPPORT, "get" + width, "([BI)J");
      extend(kind, width);
      push(VALUE, 0);
    }

    private void extend(int kind, int width) {
      ElementaryType type = dev.scanloom.internal.value.Arith.kind(kind);
      if ((type.family() == ElementaryType.Family.SIGNED || type == ElementaryType.REAL) && width < 64) {
        integer(m, 64 - width);
        m.visitInsn(LSHL);
        integer(m, 64 - width);
        m.visitInsn(LSHR);
      }
    }

    private void storeLocated(long address, int kind, int pc) {
      int width = WIDTHS[kind];
      int area = Address.area(address);
      int bit = (int) Address.bit(address);
      m.visitVarInsn(LSTORE, scratch(0));
      if (area == 2 && watchesWrites || width > 1 && (bit & 7) != 0) {
        save();
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(LLOAD, scratch(0));
        m.visitLdcInsn(address);
        integer(m, kind);
        integer(m, pc);
        run("storeLocated", "(JJII)V");
        return;
      }
      m.visitVarInsn(ALOAD, AREAS + area - 1);
      integer(m, bit >>> 3);
      m.visitVarInsn(LLOAD, scratch(0));
      if (width == 1) {
        integer(m, bit & 7);
        call(SUPPORT, "setBit", "([BIJI)V");
      } else {
        call(SUPPORT, "set" + width, "([BIJ)V");
      }
    }

    private void bodyCall(Op op, int pc, int a, int frameSlots) {
      int instance = scratch(0);
      if (op != Op.CALL) {
        m.visitVarInsn(LSTORE, instance);
      }
      enterBody(pc);
      if (op != Op.CALL) {
        at(pc);
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
    }

    private void enterBody(int pc) {
      if (checksDepth) {
        at(pc);
        m.visitVarInsn(ALOAD, RT);
        m.visitVarInsn(ILOAD, DEPTH);
        run("enter", "(I)V");
      }
    }

    private void invoke(int body, Runnable instance, int frameSlots) {
      m.visitVarInsn(ALOAD, MEM);
      instance.run();
      slot(FRAME, frameSlots);
      m.visitVarInsn(ALOAD, RT);
      used();
      m.visitVarInsn(ILOAD, DEPTH);
      m.visitInsn(ICONST_1);
      m.visitInsn(IADD);
      call(name, "b" + body, BODY);
      m.visitVarInsn(LSTORE, STEPS);
      m.visitInsn(ICONST_0);
      m.visitVarInsn(ISTORE, COUNT);
    }

    private void guarded(int pc) {
      int after = guardEnd(pc);
      int handler = code.a[pc];
      saveAll();
      m.visitVarInsn(ALOAD, RT);
      integer(m, pc);
      integer(m, after);
      instance();
      m.visitVarInsn(ILOAD, FRAME);
      run("guarded", "(IIII)I");
      load();
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
