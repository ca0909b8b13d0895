package dev.scanloom.internal.lanes;

import dev.scanloom.internal.bytecode.Asm;
import dev.scanloom.internal.lanes.Weave.Kind;
import java.lang.invoke.MethodHandles;
import java.util.Arrays;
import java.util.TreeMap;
import java.util.TreeSet;
import org.objectweb.asm.ClassTooLargeException;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodTooLargeException;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;
import org.objectweb.asm.Type;

/**
 * Writes a woven program as JVM code on words. Jumps go forward only, so they need none: each block runs under a mask of the lanes that are in it; a jump takes
 * lanes out of the mask and keeps them until its target. Where all lanes are together again there is no mask, and stores are plain. How often a block ran
 * for a lane is its mask, which is kept: from it the steps are counted when somebody asks.
 */
final class WordCode implements Opcodes {
  /** Methods of more bytecodes are cut, roughly. HotSpot's compiler keeps too many words at once in long ones: 5,000 made scans 15 % slower. */
  private static final int METHOD_BYTES = 1_000;
  /** A jump over fewer operations is not worth a test whether any lane is left. */
  private static final int SKIP = 16;
  private static final int GROUP = 400;
  private static final String STRETCHES = Type.getInternalName(Stretches.class);
  private static final String PART = "([JL" + STRETCHES + ";)V";
  private static final int WORDS = 0;
  private static final int RUN = 1;
  private static final int MASK = 2;
  private static final int SCRATCH = 4;
  private static final int SCRATCH2 = 6;
  private static final int FIRST = 8;

  private final Weave weave;
  private final String name = "dev/scanloom/internal/lanes/Words";
  private final ClassWriter writer = new ClassWriter(ClassWriter.COMPUTE_MAXS);
  private MethodVisitor m;

  private final int marks;
  private int edges;
  private int savedMask;

  /** Where each label stands in the list. */
  private final int[] placeOf;
  /** Some lanes may have come to the label already. */
  private final boolean[] open;
  private final TreeSet<Integer> pending = new TreeSet<>();
  private final Label[] skips;
  private boolean full = true;
  private boolean dead;
  private int mark = -1;
  /** Frame cells that every method sets before it looks at them: they are local variables. */
  private final boolean[] temporary;
  private final TreeMap<Integer, Integer> locals = new TreeMap<>();
  private int nextLocal;
  private int[] lengths = new int[64];
  private int markCount;
  private long common;

  /** The finished program: steps that every lane executes, and those of each block that only some do. */
  record Result(WordProgram program, long common, int[] lengths, int marks, int words) {}

  private WordCode(Weave weave) {
    this.weave = weave;
    marks = weave.cellOf.length;
    placeOf = new int[weave.labels + 1];
    open = new boolean[weave.labels + 1];
    skips = new Label[weave.labels + 1];
    int blocks = 1;
    for (int i = 0; i < weave.length; i++) {
      Kind k = kind(i);
      int x = weave.operands[i];
      if (k == Kind.LABEL) {
        placeOf[x] = i;
        blocks++;
      } else if (k == Kind.JUMP || k == Kind.JUMP_FALSE || k == Kind.JUMP_TRUE) {
        blocks++;
      }
    }
    temporary = temporaries();
    edges = marks + blocks + 1;
    savedMask = edges + weave.labels + 1;
  }

  private boolean[] temporaries() {
    boolean[] fits = new boolean[weave.cells.total];
    Arrays.fill(fits, weave.cells.staticSlots, weave.cells.slots, true);
    for (Weave.Part p : weave.parts) {
      for (int c : p.in()) {
        fits[c] = false;
      }
      for (int c : p.out()) {
        fits[c] = false;
      }
    }
    int[] setIn = new int[weave.cells.total];
    TreeSet<Integer> waiting = new TreeSet<>();
    int method = 0;
    int end = partEnd(0);
    for (int i = 0; i < weave.length; i++) {
      if (i == end) {
        method++;
        end = partEnd(i);
      }
      int x = weave.operands[i];
      switch (kind(i)) {
        case LOAD -> fits[x] &= setIn[x] == method + 1;
        case STORE -> {
          if (setIn[x] != method + 1) {
            fits[x] &= waiting.isEmpty();
            setIn[x] = method + 1;
          }
        }
        case JUMP, JUMP_FALSE, JUMP_TRUE -> waiting.add(x);
        case LABEL -> waiting.remove(x);
        case CONST, AND, OR, XOR, NOT, EQ, NE, SELECT, DUP, DUP2, POP, SWAP, STRETCH, NOTHING -> {
          // touches no cell by name
        }
      }
    }
    return fits;
  }

  /** Null when the program is too large for a class of the JVM. */
  static Result of(Weave weave) {
    WordCode c = new WordCode(weave);
    try {
      byte[] bytes = c.write();
      Class<?> type = MethodHandles.lookup().defineHiddenClass(bytes, true).lookupClass();
      return new Result((WordProgram) type.getDeclaredConstructor().newInstance(), c.common, Arrays.copyOf(c.lengths, c.markCount), c.marks, c.savedMask + 1);
    } catch (MethodTooLargeException | ClassTooLargeException e) {
      return null;
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("the generated class cannot be used", e);
    }
  }

  private Kind kind(int i) {
    return Weave.KINDS[weave.kinds[i]];
  }

  private byte[] write() {
    // Version 49: verified by type inference, so no stack map frames have to be computed.
    writer.visit(V1_5, ACC_FINAL | ACC_SUPER | ACC_PUBLIC, name, null, "java/lang/Object", new String[] {Type.getInternalName(WordProgram.class)});
    Asm.constructor(writer, "java/lang/Object", "()V");
    int part = 0;
    int at = 0;
    do {
      int end = partEnd(at);
      part(part++, at, end);
      at = end;
    } while (at < weave.length);
    for (int i = 0; i < weave.parts.size(); i++) {
      if (weave.parts.get(i).plain()) {
        weave.plainCode().write(weave.parts.get(i), writer.visitMethod(ACC_STATIC | ACC_PRIVATE, "s" + i, PlainCode.METHOD, null, null));
      }
    }
    int groups = (part + GROUP - 1) / GROUP;
    for (int g = 0; g < groups; g++) {
      calls(writer.visitMethod(ACC_STATIC | ACC_PRIVATE, "g" + g, PART, null, null), "p", g * GROUP, Math.min(part, g * GROUP + GROUP), 0);
    }
    calls(writer.visitMethod(ACC_PUBLIC, "run", PART, null, null), "g", 0, groups, 1);
    writer.visitEnd();
    return writer.toByteArray();
  }

  private void calls(MethodVisitor v, String kind, int from, int to, int first) {
    v.visitCode();
    for (int i = from; i < to; i++) {
      v.visitVarInsn(ALOAD, first);
      v.visitVarInsn(ALOAD, first + 1);
      v.visitMethodInsn(INVOKESTATIC, name, kind + i, PART, false);
    }
    v.visitInsn(RETURN);
    v.visitMaxs(0, 0);
    v.visitEnd();
  }

  /** Where the method that begins at {@code at} ends: at the last place with an empty operand stack before it grows too long. */
  private int partEnd(int at) {
    int bytes = 0;
    int height = 0;
    int last = -1;
    for (int i = at; i < weave.length; i++) {
      if (height == 0 && i > at) {
        last = i;
      }
      Kind k = kind(i);
      bytes += switch (k) {
        case LOAD -> 5;
        case STORE -> 22;
        case AND, OR, XOR, POP, DUP, DUP2 -> 3;
        case CONST -> 4;
        case NOT, EQ, NE, SWAP, NOTHING -> 8;
        case SELECT, LABEL -> 24;
        case JUMP, JUMP_FALSE, JUMP_TRUE -> 60;
        case STRETCH -> 20;
      };
      height += switch (k) {
        case LOAD, CONST, DUP -> 1;
        case DUP2 -> 2;
        case STORE, POP, AND, OR, XOR, EQ, NE, JUMP_FALSE, JUMP_TRUE -> -1;
        case SELECT -> -2;
        case NOT, SWAP, JUMP, LABEL, STRETCH, NOTHING -> 0;
      };
      if (bytes > METHOD_BYTES && last > 0) {
        return last;
      }
    }
    return weave.length;
  }

  private void part(int number, int from, int end) {
    m = writer.visitMethod(ACC_STATIC | ACC_PRIVATE, "p" + number, PART, null, null);
    m.visitCode();
    for (int local : new int[] {SCRATCH, SCRATCH2}) {
      m.visitInsn(LCONST_0);
      m.visitVarInsn(LSTORE, local);
    }
    if (full || dead) {
      m.visitLdcInsn(-1L);
    } else {
      load(savedMask);
    }
    m.visitVarInsn(LSTORE, MASK);
    locals.clear();
    nextLocal = FIRST;
    for (int i = from; i < end; i++) {
      int x = weave.operands[i];
      if (kind(i) == Kind.STORE && temporary[x] && !locals.containsKey(x)) {
        locals.put(x, nextLocal);
        m.visitInsn(LCONST_0);
        m.visitVarInsn(LSTORE, nextLocal);
        nextLocal += 2;
      }
    }
    for (int i = from; i < end; i++) {
      if (!dead || kind(i) == Kind.LABEL) {
        operation(i, end);
      }
    }
    if (!full && !dead) {
      m.visitVarInsn(LLOAD, MASK);
      keep(savedMask);
    }
    m.visitInsn(RETURN);
    m.visitMaxs(0, 0);
    m.visitEnd();
  }

  // ---- pieces ----

  private void integer(int v) {
    new Asm(m).integer(v);
  }

  private void load(int word) {
    m.visitVarInsn(ALOAD, WORDS);
    integer(word);
    m.visitInsn(LALOAD);
  }

  /** Stores the value on the stack. */
  private void keep(int word) {
    m.visitVarInsn(LSTORE, SCRATCH);
    m.visitVarInsn(ALOAD, WORDS);
    integer(word);
    m.visitVarInsn(LLOAD, SCRATCH);
    m.visitInsn(LASTORE);
  }

  private void invert() {
    m.visitLdcInsn(-1L);
    m.visitInsn(LXOR);
  }

  /** Stores the value on the stack in the lanes of the mask. */
  private void blend(int word) {
    m.visitVarInsn(LSTORE, SCRATCH);
    m.visitVarInsn(ALOAD, WORDS);
    integer(word);
    m.visitInsn(DUP2);
    m.visitInsn(LALOAD);
    m.visitInsn(DUP2);
    m.visitVarInsn(LLOAD, SCRATCH);
    m.visitInsn(LXOR);
    m.visitVarInsn(LLOAD, MASK);
    m.visitInsn(LAND);
    m.visitInsn(LXOR);
    m.visitInsn(LASTORE);
  }

  private void set(int local) {
    if (!full) {
      m.visitVarInsn(LLOAD, local);
      m.visitInsn(LXOR);
      m.visitVarInsn(LLOAD, MASK);
      m.visitInsn(LAND);
      m.visitVarInsn(LLOAD, local);
      m.visitInsn(LXOR);
    }
    m.visitVarInsn(LSTORE, local);
  }

  private void count(int i) {
    int n = weave.steps[i];
    if (n == 0) {
      return;
    }
    if (full) {
      common += n;
      return;
    }
    if (mark < 0) {
      mark = markCount++;
      if (mark == lengths.length) {
        lengths = Arrays.copyOf(lengths, 2 * mark);
      }
      m.visitVarInsn(ALOAD, WORDS);
      integer(marks + mark);
      m.visitVarInsn(LLOAD, MASK);
      m.visitInsn(LASTORE);
    }
    lengths[mark] += n;
  }

  private void operation(int i, int end) {
    count(i);
    int x = weave.operands[i];
    switch (kind(i)) {
      case CONST -> m.visitLdcInsn(x == 0 ? 0L : -1L);
      case LOAD -> {
        if (temporary[x]) {
          m.visitVarInsn(LLOAD, locals.get(x));
        } else {
          load(weave.wordOf[x]);
        }
      }
      case STORE -> {
        if (temporary[x]) {
          set(locals.get(x));
        } else if (full) {
          keep(weave.wordOf[x]);
        } else {
          blend(weave.wordOf[x]);
        }
      }
      case AND -> m.visitInsn(LAND);
      case OR -> m.visitInsn(LOR);
      case XOR, NE -> m.visitInsn(LXOR);
      case NOT -> invert();
      case EQ -> {
        m.visitInsn(LXOR);
        invert();
      }
      case SELECT -> {
        // g x y: x XOR ((x XOR y) AND g)
        m.visitVarInsn(LSTORE, SCRATCH);
        m.visitInsn(DUP2);
        m.visitVarInsn(LSTORE, SCRATCH2);
        m.visitVarInsn(LLOAD, SCRATCH);
        m.visitInsn(LXOR);
        m.visitInsn(LAND);
        m.visitVarInsn(LLOAD, SCRATCH2);
        m.visitInsn(LXOR);
      }
      case DUP -> m.visitInsn(DUP2);
      case DUP2 -> {
        m.visitVarInsn(LSTORE, SCRATCH);
        m.visitVarInsn(LSTORE, SCRATCH2);
        for (int k = 0; k < 2; k++) {
          m.visitVarInsn(LLOAD, SCRATCH2);
          m.visitVarInsn(LLOAD, SCRATCH);
        }
      }
      case POP -> m.visitInsn(POP2);
      case SWAP -> {
        m.visitInsn(DUP2_X2);
        m.visitInsn(POP2);
      }
      case NOTHING -> {
        // a step of which words have nothing to do but count it
      }
      case STRETCH -> {
        boolean plain = weave.parts.get(x).plain();
        m.visitVarInsn(ALOAD, plain ? WORDS : RUN);
        if (plain) {
          m.visitVarInsn(ALOAD, RUN);
        } else {
          integer(x);
        }
        if (full) {
          m.visitLdcInsn(-1L);
        } else {
          m.visitVarInsn(LLOAD, MASK);
        }
        if (plain) {
          m.visitMethodInsn(INVOKESTATIC, name, "s" + x, PlainCode.METHOD, false);
        } else {
          m.visitMethodInsn(INVOKEINTERFACE, STRETCHES, "run", "(IJ)V", true);
        }
      }
      case JUMP -> {
        if (full) {
          m.visitLdcInsn(-1L);
        } else {
          m.visitVarInsn(LLOAD, MASK);
        }
        edge(x);
        full = false;
        dead = true;
        mark = -1;
      }
      case JUMP_FALSE, JUMP_TRUE -> branch(i, x, end);
      case LABEL -> label(x);
    }
  }

  /** Lanes of the word on the stack go to a label. */
  private void edge(int label) {
    if (open[label]) {
      load(edges + label);
      m.visitInsn(LOR);
    }
    keep(edges + label);
    open[label] = true;
    pending.add(label);
  }

  private void branch(int i, int label, int end) {
    if (kind(i) == Kind.JUMP_TRUE) {
      invert();
    }
    // on the stack: lanes that stay
    m.visitVarInsn(LSTORE, SCRATCH2);
    if (full) {
      m.visitVarInsn(LLOAD, SCRATCH2);
      invert();
    } else {
      m.visitVarInsn(LLOAD, MASK);
      m.visitVarInsn(LLOAD, SCRATCH2);
      invert();
      m.visitInsn(LAND);
    }
    edge(label);
    m.visitVarInsn(LLOAD, SCRATCH2);
    if (!full) {
      m.visitVarInsn(LLOAD, MASK);
      m.visitInsn(LAND);
    }
    m.visitVarInsn(LSTORE, MASK);
    full = false;
    mark = -1;
    skip(i, end);
  }

  /** A test whether any lane is left, before a region that costs something: it ends at the first label to which lanes may have gone. */
  private void skip(int i, int end) {
    int to = i + 1;
    boolean costly = false;
    while (to < end && !(kind(to) == Kind.LABEL && open[weave.operands[to]])) {
      costly |= kind(to) == Kind.STRETCH;
      to++;
    }
    if (to >= end || !costly && to - i <= SKIP) {
      return;
    }
    for (int k = i + 1; k < to; k++) {
      Kind kind = kind(k);
      boolean jumps = kind == Kind.JUMP || kind == Kind.JUMP_FALSE || kind == Kind.JUMP_TRUE;
      int x = weave.operands[k];
      if (jumps && placeOf[x] > to && !open[x]) {
        // the first jump to that label may be skipped
        m.visitInsn(LCONST_0);
        keep(edges + x);
        open[x] = true;
        pending.add(x);
      }
    }
    int label = weave.operands[to];
    if (skips[label] == null) {
      skips[label] = new Label();
    }
    m.visitVarInsn(LLOAD, MASK);
    m.visitInsn(LCONST_0);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFEQ, skips[label]);
  }

  private void label(int x) {
    mark = -1;
    if (!open[x]) {
      return;
    }
    if (dead) {
      m.visitInsn(LCONST_0);
      m.visitVarInsn(LSTORE, MASK);
    }
    if (skips[x] != null) {
      m.visitLabel(skips[x]);
    }
    load(edges + x);
    m.visitVarInsn(LLOAD, MASK);
    m.visitInsn(LOR);
    m.visitVarInsn(LSTORE, MASK);
    dead = false;
    pending.remove(x);
    full = pending.isEmpty();
  }
}
