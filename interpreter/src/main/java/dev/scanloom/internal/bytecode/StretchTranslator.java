package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.exec.Condensed;
import dev.scanloom.internal.exec.Quick;
import dev.scanloom.internal.exec.QuickRunner;
import dev.scanloom.internal.exec.StretchCode;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import java.lang.invoke.MethodHandles;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;

/**
 * Writes condensed code as JVM code, operation by operation: bases and offsets become part of the code, intermediate values become local variables. What a
 * stretch promises stays: it begins with the check whether it may run, it counts its steps, and an operation that gives up has changed nothing.
 */
public final class StretchTranslator implements Opcodes {
  /** Bytes of a part, by estimate; HotSpot compiles methods up to 8,000. */
  private static final int PART = 3_500;
  /** Parts of a class: its constants are numbered with 16 bits. */
  private static final int PARTS = 200;
  private static final String RUNNER = "dev/scanloom/internal/exec/QuickRunner";
  private static final String PARENT = "dev/scanloom/internal/exec/StretchCode";
  private static final String NAME = "dev/scanloom/internal/bytecode/Stretches";
  private static final String BODY = "(IL" + RUNNER + ";[J)I";

  private static final int AT = 0;
  private static final int THE_RUNNER = 1;
  private static final int SLOTS = 2;
  private static final int LEFT = 3;
  private static final int TIME = 4;
  private static final int DEADLINE = 6;
  private static final int SELF = 8;
  private static final int FRAME = 9;
  private static final int PRICES = 10;
  private static final int SAVINGS = 11;
  private static final int TESTS = 12;
  private static final int POWERS = 13;
  private static final int AREAS = 14;
  private static final int SCRATCH = 18;
  private static final int SECOND_SCRATCH = 20;
  private static final int DIGEST = 22;
  private static final int WATCHED = 24;
  private static final int FIRST_TEMP = 26;

  private final Code code;
  private final Condensed condensed;
  private final int[] f;
  private final int firstTemp;
  private ClassWriter writer;

  private MethodVisitor m;
  private int at;
  private Map<Integer, Label> heads;
  private Map<Integer, Label> failures;
  private Map<Integer, Label> stops;
  private Map<Integer, Label> leapLabels;
  /** The part records writes. */
  private boolean records;

  private StretchTranslator(Code code, Condensed condensed) {
    this.code = code;
    this.condensed = condensed;
    this.f = condensed.f;
    this.firstTemp = code.constants.length;
  }

  /** Translates all stretches of a program. */
  public static StretchCode translate(Code code, Condensed condensed) {
    return new StretchTranslator(code, condensed).write();
  }

  private StretchCode write() {
    int[] part = new int[f.length];
    Arrays.fill(part, -1);
    List<int[]> parts = parts(part);
    StretchCode[] classes = new StretchCode[(parts.size() + PARTS - 1) / PARTS];
    for (int i = 0; i < classes.length; i++) {
      classes[i] = define(parts.subList(i * PARTS, Math.min(parts.size(), (i + 1) * PARTS)), part);
    }
    return classes.length == 1 ? classes[0] : new Several(classes, part);
  }

  /** The classes of a large program. */
  private static final class Several extends StretchCode {
    private final StretchCode[] classes;

    Several(StretchCode[] classes, int[] part) {
      super(part);
      this.classes = classes;
    }

    @Override
    public int run(int part, int at, QuickRunner runner, long[] slots) {
      return classes[part / PARTS].run(part % PARTS, at, runner, slots);
    }
  }

  private StretchCode define(List<int[]> parts, int[] part) {
    writer = new ClassWriter(ClassWriter.COMPUTE_MAXS);
    writer.visit(V1_5, ACC_FINAL | ACC_SUPER, NAME, null, PARENT, null);
    MethodVisitor c = writer.visitMethod(ACC_PUBLIC, "<init>", "([I)V", null, null);
    c.visitVarInsn(ALOAD, 0);
    c.visitVarInsn(ALOAD, 1);
    c.visitMethodInsn(INVOKESPECIAL, PARENT, "<init>", "([I)V", false);
    c.visitInsn(RETURN);
    c.visitMaxs(0, 0);
    for (int i = 0; i < parts.size(); i++) {
      part(i, parts.get(i)[0], parts.get(i)[1]);
    }
    MethodVisitor run = writer.visitMethod(ACC_PUBLIC, "run", "(IIL" + RUNNER + ";[J)I", null, null);
    if (!parts.isEmpty()) {
      Label[] labels = new Label[parts.size()];
      Arrays.setAll(labels, i -> new Label());
      Label none = new Label();
      run.visitVarInsn(ILOAD, 1);
      run.visitTableSwitchInsn(0, labels.length - 1, none, labels);
      for (int i = 0; i < labels.length; i++) {
        run.visitLabel(labels[i]);
        run.visitVarInsn(ILOAD, 2);
        run.visitVarInsn(ALOAD, 3);
        run.visitVarInsn(ALOAD, 4);
        run.visitMethodInsn(INVOKESTATIC, NAME, "p" + i, BODY, false);
        run.visitInsn(IRETURN);
      }
      run.visitLabel(none);
    }
    run.visitTypeInsn(NEW, "java/lang/IllegalArgumentException");
    run.visitInsn(DUP);
    run.visitMethodInsn(INVOKESPECIAL, "java/lang/IllegalArgumentException", "<init>", "()V", false);
    run.visitInsn(ATHROW);
    run.visitMaxs(0, 0);
    writer.visitEnd();
    try {
      Class<?> made = MethodHandles.lookup().defineHiddenClass(writer.toByteArray(), true).lookupClass();
      return (StretchCode) made.getDeclaredConstructor(int[].class).newInstance((Object) part);
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("the generated class cannot be used", e);
    }
  }

  /** Ranges of operations, whole stretches each; marks what begins in which. */
  private List<int[]> parts(int[] part) {
    List<int[]> found = new ArrayList<>();
    int start = 0;
    int size = 0;
    for (int ip = 0; ip < f.length; ip += Quick.length(f, ip)) {
      if (f[ip] == Quick.HEAD || f[ip] == Quick.WALK) {
        if (size > PART) {
          found.add(new int[] {start, ip});
          start = ip;
          size = 0;
        }
        if (f[ip] == Quick.HEAD) {
          part[ip] = found.size();
        }
      }
      size += estimate(ip);
    }
    if (start < f.length) {
      found.add(new int[] {start, f.length});
    }
    return found;
  }

  private int estimate(int ip) {
    return switch (f[ip]) {
      case Quick.GATES -> 34 * f[ip + 1];
      case Quick.MARKED -> 62 * f[ip + 1];
      case Quick.BITS_IN -> 18 * f[ip + 1];
      case Quick.BITS_OUT -> 34 * f[ip + 1];
      case Quick.HEAD -> 60;
      case Quick.RECORD -> 22 * f[ip + 1];
      default -> 45;
    };
  }

  private void part(int number, int start, int end) {
    m = writer.visitMethod(ACC_PRIVATE | ACC_STATIC, "p" + number, BODY, null, null);
    heads = new TreeMap<>();
    failures = new TreeMap<>();
    stops = new TreeMap<>();
    leapLabels = new TreeMap<>();
    List<Integer> entries = new ArrayList<>();
    boolean marks = false;
    records = false;
    boolean watches = false;
    boolean[] areas = new boolean[4];
    for (int ip = start; ip < end; ip += Quick.length(f, ip)) {
      if (f[ip] == Quick.HEAD) {
        heads.put(ip, new Label());
        entries.add(ip);
      }
      marks |= f[ip] == Quick.MARKED;
      records |= f[ip] == Quick.RECORD;
      watches |= f[ip] == Quick.WATCH;
      if (f[ip] == Quick.BITS_IN) {
        for (int i = 0; i < f[ip + 1]; i++) {
          areas[f[ip + 3 + 2 * i] >>> 28] = true;
        }
      } else if (f[ip] == Quick.BITS_OUT) {
        for (int i = 0; i < f[ip + 1]; i++) {
          areas[f[ip + 2 + 2 * i] >>> 28] = true;
        }
      }
    }
    if (entries.isEmpty()) {
      m.visitInsn(ICONST_M1);
      m.visitInsn(IRETURN);
      m.visitMaxs(0, 0);
      return;
    }
    field("left", "I", ISTORE, LEFT);
    field("time", "J", LSTORE, TIME);
    field("deadline", "J", LSTORE, DEADLINE);
    getter("self", "()I", ISTORE, SELF);
    getter("frame", "()I", ISTORE, FRAME);
    getter("prices", "()[J", ASTORE, PRICES);
    getter("savings", "()[J", ASTORE, SAVINGS);
    if (watches) {
      getter("watched", "()[Z", ASTORE, WATCHED);
    }
    if (records) {
      field("digest", "J", LSTORE, DIGEST);
    }
    if (marks) {
      getter("tests", "()[Z", ASTORE, TESTS);
      getter("powers", "()[Z", ASTORE, POWERS);
    }
    for (int a = 1; a <= 3; a++) {
      if (areas[a]) {
        m.visitVarInsn(ALOAD, THE_RUNNER);
        push(a);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "area", "(I)[B", false);
        m.visitVarInsn(ASTORE, AREAS + a);
      }
    }
    int[] keys = entries.stream().mapToInt(Integer::intValue).toArray();
    Label none = new Label();
    m.visitVarInsn(ILOAD, AT);
    m.visitLookupSwitchInsn(none, keys, Arrays.stream(keys).mapToObj(heads::get).toArray(Label[]::new));
    m.visitLabel(none);
    m.visitVarInsn(ILOAD, AT);
    m.visitInsn(IRETURN);
    for (at = start; at < end; at += Quick.length(f, at)) {
      if (f[at] != Quick.WALK) {
        operation();
      }
    }
    stops.forEach((ip, label) -> tail(label, ip, "stop"));
    failures.forEach((ip, label) -> tail(label, ip, "giveUp"));
    leapLabels.forEach((ip, label) -> {
      m.visitLabel(label);
      save();
      push(ip);
      m.visitInsn(IRETURN);
    });
    m.visitMaxs(0, 0);
  }

  private void field(String name, String type, int store, int local) {
    m.visitVarInsn(ALOAD, THE_RUNNER);
    m.visitFieldInsn(GETFIELD, RUNNER, name, type);
    m.visitVarInsn(store, local);
  }

  private void getter(String name, String type, int store, int local) {
    m.visitVarInsn(ALOAD, THE_RUNNER);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, name, type, false);
    m.visitVarInsn(store, local);
  }

  private void save() {
    m.visitVarInsn(ALOAD, THE_RUNNER);
    m.visitVarInsn(ILOAD, LEFT);
    m.visitFieldInsn(PUTFIELD, RUNNER, "left", "I");
    m.visitVarInsn(ALOAD, THE_RUNNER);
    m.visitVarInsn(LLOAD, TIME);
    m.visitFieldInsn(PUTFIELD, RUNNER, "time", "J");
    if (records) {
      m.visitVarInsn(ALOAD, THE_RUNNER);
      m.visitVarInsn(LLOAD, DIGEST);
      m.visitFieldInsn(PUTFIELD, RUNNER, "digest", "J");
    }
  }

  private void tail(Label label, int ip, String method) {
    m.visitLabel(label);
    save();
    m.visitVarInsn(ALOAD, THE_RUNNER);
    push(ip);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, method, "(I)I", false);
    m.visitInsn(IRETURN);
  }

  /** Where to jump when the operation gives up. */
  private Label failure() {
    return failures.computeIfAbsent(at, k -> new Label());
  }

  private Label target(int ip) {
    Label here = heads.get(ip);
    return here != null ? here : leapLabels.computeIfAbsent(ip, k -> new Label());
  }

  private void push(int v) {
    if (v >= -1 && v <= 5) {
      m.visitInsn(ICONST_0 + v);
    } else if (v >= Byte.MIN_VALUE && v <= Byte.MAX_VALUE) {
      m.visitIntInsn(BIPUSH, v);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      m.visitIntInsn(SIPUSH, v);
    } else {
      m.visitLdcInsn(v);
    }
  }

  private void push(long v) {
    if (v == 0 || v == 1) {
      m.visitInsn(v == 0 ? LCONST_0 : LCONST_1);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      push((int) v);
      m.visitInsn(I2L);
    } else {
      m.visitLdcInsn(v);
    }
  }

  // ---- operands ----

  private int local(int operand) {
    return FIRST_TEMP + 2 * ((operand >> 2) - firstTemp);
  }

  private boolean isLocal(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 >= firstTemp;
  }

  private boolean isConstant(int operand) {
    return (operand & 3) == Quick.TAIL && operand >> 2 < firstTemp;
  }

  private long constant(int operand) {
    return code.pool[code.constants[operand >> 2]];
  }

  /** The number of the slot, as an int. */
  private void slot(int operand) {
    int offset = operand >> 2;
    switch (operand & 3) {
      case Quick.NO_BASE -> push(offset);
      case Quick.SELF, Quick.FRAME -> {
        m.visitVarInsn(ILOAD, (operand & 3) == Quick.SELF ? SELF : FRAME);
        if (offset != 0) {
          push(offset);
          m.visitInsn(IADD);
        }
      }
      default -> throw new IllegalStateException("operand " + operand + " is no place in memory");
    }
  }

  private void load(int operand) {
    if (isConstant(operand)) {
      push(constant(operand));
    } else if (isLocal(operand)) {
      m.visitVarInsn(LLOAD, local(operand));
    } else {
      m.visitVarInsn(ALOAD, SLOTS);
      slot(operand);
      m.visitInsn(LALOAD);
    }
  }

  private void loadLreal(int operand) {
    if (isConstant(operand)) {
      m.visitLdcInsn(Double.longBitsToDouble(constant(operand)));
    } else {
      load(operand);
      m.visitMethodInsn(INVOKESTATIC, "java/lang/Double", "longBitsToDouble", "(J)D", false);
    }
  }

  private void loadReal(int operand) {
    load(operand);
    m.visitInsn(L2I);
    m.visitMethodInsn(INVOKESTATIC, "java/lang/Float", "intBitsToFloat", "(I)F", false);
  }

  /** What must lie below the value to be stored. */
  private void before(int operand) {
    if (!isLocal(operand)) {
      m.visitVarInsn(ALOAD, SLOTS);
      slot(operand);
    }
  }

  private void store(int operand) {
    if (isLocal(operand)) {
      m.visitVarInsn(LSTORE, local(operand));
    } else {
      m.visitInsn(LASTORE);
    }
  }

  private void storeLreal(int operand) {
    m.visitMethodInsn(INVOKESTATIC, "java/lang/Double", "doubleToRawLongBits", "(D)J", false);
    store(operand);
  }

  private void storeReal(int operand) {
    m.visitMethodInsn(INVOKESTATIC, "java/lang/Float", "floatToRawIntBits", "(F)I", false);
    m.visitInsn(I2L);
    store(operand);
  }

  // ---- operations ----

  private void operation() {
    int d = at + 1 < f.length ? f[at + 1] : 0;
    switch (f[at]) {
      case Quick.HEAD -> head();
      case Quick.GOTO -> m.visitJumpInsn(GOTO, target(f[at + 1]));
      case Quick.MOVE -> {
        before(d);
        load(f[at + 2]);
        store(d);
      }
      case Quick.GATES -> {
        for (int i = 0; i < f[at + 1]; i++) {
          int g = at + 2 + 4 * i;
          before(f[g]);
          gate(f[g + 1], f[g + 2], f[g + 3]);
          store(f[g]);
        }
      }
      case Quick.MARKED -> {
        for (int i = 0; i < f[at + 1]; i++) {
          marked(at + 2 + 5 * i);
        }
      }
      case Quick.BITS_IN -> {
        for (int i = 0; i < f[at + 1]; i++) {
          bitIn(f[at + 2 + 2 * i], f[at + 3 + 2 * i]);
        }
      }
      case Quick.BITS_OUT -> {
        for (int i = 0; i < f[at + 1]; i++) {
          bitOut(f[at + 2 + 2 * i], f[at + 3 + 2 * i]);
        }
      }
      case Quick.JUMP_ZERO, Quick.JUMP_NOT_ZERO -> {
        load(f[at + 1]);
        m.visitInsn(LCONST_0);
        m.visitInsn(LCMP);
        leave(f[at] == Quick.JUMP_ZERO ? IFNE : IFEQ, at + 2);
      }
      case Quick.JUMP_LT -> jump(IFGE);
      case Quick.JUMP_LE -> jump(IFGT);
      case Quick.JUMP_EQ -> jump(IFNE);
      case Quick.JUMP_NE -> jump(IFEQ);
      case Quick.JUMP_LT_LREAL -> jumpLreal(DCMPG, IFGE);
      case Quick.JUMP_LE_LREAL -> jumpLreal(DCMPG, IFGT);
      case Quick.JUMP_EQ_LREAL -> jumpLreal(DCMPL, IFNE);
      case Quick.JUMP_NOT_LT_LREAL -> jumpLreal(DCMPG, IFLT);
      case Quick.JUMP_NOT_LE_LREAL -> jumpLreal(DCMPG, IFLE);
      case Quick.JUMP_NOT_EQ_LREAL -> jumpLreal(DCMPL, IFEQ);
      case Quick.ADD -> wrapping(LADD, LSHR);
      case Quick.SUB -> wrapping(LSUB, LSHR);
      case Quick.MUL -> wrapping(LMUL, LSHR);
      case Quick.ADD_UNSIGNED -> wrapping(LADD, LUSHR);
      case Quick.SUB_UNSIGNED -> wrapping(LSUB, LUSHR);
      case Quick.MUL_UNSIGNED -> wrapping(LMUL, LUSHR);
      case Quick.DIV, Quick.MOD -> divide(d);
      case Quick.AND -> binary(LAND);
      case Quick.OR -> binary(LOR);
      case Quick.XOR -> binary(LXOR);
      case Quick.NOT -> {
        before(d);
        load(f[at + 2]);
        push(-1L);
        m.visitInsn(LXOR);
        cut(f[at + 3], LUSHR);
        store(d);
      }
      case Quick.SHIFT_RIGHT -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.visitInsn(LUSHR);
        store(d);
      }
      case Quick.SHIFT_LEFT -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.visitInsn(LSHL);
        cut(f[at + 4], LUSHR);
        store(d);
      }
      case Quick.CUT_SIGNED, Quick.CUT_UNSIGNED -> {
        before(d);
        load(f[at + 2]);
        cut(f[at + 3], f[at] == Quick.CUT_SIGNED ? LSHR : LUSHR);
        store(d);
      }
      case Quick.FIT_SIGNED, Quick.FIT_UNSIGNED -> {
        load(f[at + 2]);
        m.visitInsn(DUP2);
        m.visitVarInsn(LSTORE, SCRATCH);
        cut(f[at + 3], f[at] == Quick.FIT_SIGNED ? LSHR : LUSHR);
        m.visitVarInsn(LLOAD, SCRATCH);
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFNE, failure());
        before(d);
        m.visitVarInsn(LLOAD, SCRATCH);
        store(d);
      }
      case Quick.TO_LREAL -> {
        before(d);
        load(f[at + 2]);
        m.visitInsn(L2D);
        storeLreal(d);
      }
      case Quick.TO_REAL -> {
        before(d);
        load(f[at + 2]);
        m.visitInsn(L2F);
        storeReal(d);
      }
      case Quick.REAL_TO_LREAL -> {
        before(d);
        loadReal(f[at + 2]);
        m.visitInsn(F2D);
        storeLreal(d);
      }
      case Quick.ADD_LREAL -> lreal(DADD);
      case Quick.SUB_LREAL -> lreal(DSUB);
      case Quick.MUL_LREAL -> lreal(DMUL);
      case Quick.DIV_LREAL -> {
        loadLreal(f[at + 3]);
        m.visitInsn(DCONST_0);
        m.visitInsn(DCMPL);
        m.visitJumpInsn(IFEQ, failure());
        lreal(DDIV);
      }
      case Quick.ADD_REAL -> real(FADD);
      case Quick.SUB_REAL -> real(FSUB);
      case Quick.MUL_REAL -> real(FMUL);
      case Quick.LT -> compare(IFLT);
      case Quick.LE -> compare(IFLE);
      case Quick.EQ -> compare(IFEQ);
      case Quick.LT_LREAL -> compareLreal(DCMPG, IFLT);
      case Quick.LE_LREAL -> compareLreal(DCMPG, IFLE);
      case Quick.EQ_LREAL -> compareLreal(DCMPL, IFEQ);
      case Quick.MAX, Quick.MIN -> {
        before(d);
        load(f[at + 2]);
        load(f[at + 3]);
        m.visitMethodInsn(INVOKESTATIC, "java/lang/Math", f[at] == Quick.MAX ? "max" : "min", "(JJ)J", false);
        store(d);
      }
      case Quick.SELECT -> {
        before(d);
        load(f[at + 2]);
        m.visitInsn(LCONST_0);
        m.visitInsn(LCMP);
        Label first = new Label();
        Label done = new Label();
        m.visitJumpInsn(IFEQ, first);
        load(f[at + 4]);
        m.visitJumpInsn(GOTO, done);
        m.visitLabel(first);
        load(f[at + 3]);
        m.visitLabel(done);
        store(d);
      }
      case Quick.BITS_GET -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.visitInsn(LUSHR);
        push(f[at + 4] == 64 ? -1L : (1L << f[at + 4]) - 1);
        m.visitInsn(LAND);
        store(d);
      }
      case Quick.BITS_PUT -> {
        before(d);
        load(f[at + 2]);
        load(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        m.visitMethodInsn(INVOKESTATIC, "dev/scanloom/internal/exec/Operations", "withPart", "(JJII)J", false);
        store(d);
      }
      case Quick.LOAD_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        m.visitVarInsn(ALOAD, SLOTS);
        element(f[at + 2], f[at + 3], f[at + 4], f[at + 5]);
        m.visitInsn(LALOAD);
        store(d);
      }
      case Quick.STORE_ELEMENT -> {
        check(f[at + 2], f[at + 3]);
        m.visitVarInsn(ALOAD, SLOTS);
        element(f[at + 1], f[at + 2], f[at + 3], f[at + 4]);
        load(f[at + 5]);
        m.visitInsn(LASTORE);
      }
      case Quick.ADDRESS_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        element(f[at + 2], f[at + 3], f[at + 4], f[at + 5]);
        m.visitInsn(I2L);
        store(d);
      }
      case Quick.ADDRESS_INDEX -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        load(f[at + 2]);
        load(f[at + 3]);
        push(code.pool[f[at + 4]]);
        m.visitInsn(LSUB);
        load(f[at + 2]);
        push(code.pool[f[at + 4] + 2]);
        push(code.pool[f[at + 4] + 3]);
        m.visitMethodInsn(INVOKESTATIC, "dev/scanloom/internal/bytecode/Support", "stride", "(JJJ)J", false);
        m.visitInsn(LMUL);
        m.visitInsn(LADD);
        push((long) f[at + 5]);
        m.visitInsn(LADD);
        store(d);
      }
      case Quick.LOAD_THROUGH -> {
        Label plain = through(f[at + 2], f[at + 3], "isClosed");
        Label done = new Label();
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        m.visitVarInsn(LLOAD, SCRATCH);
        push(f[at + 4]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "read", "(JI)J", false);
        store(d);
        m.visitJumpInsn(GOTO, done);
        m.visitLabel(plain);
        before(d);
        m.visitVarInsn(ALOAD, SLOTS);
        m.visitVarInsn(LLOAD, SCRATCH);
        m.visitInsn(L2I);
        m.visitInsn(LALOAD);
        store(d);
        m.visitLabel(done);
      }
      case Quick.STORE_THROUGH -> {
        Label plain = through(f[at + 1], f[at + 2], "isLocked");
        Label done = new Label();
        m.visitVarInsn(ALOAD, THE_RUNNER);
        m.visitVarInsn(LLOAD, SCRATCH);
        push(f[at + 3]);
        load(f[at + 4]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "write", "(JIJ)V", false);
        m.visitJumpInsn(GOTO, done);
        m.visitLabel(plain);
        m.visitVarInsn(ALOAD, SLOTS);
        m.visitVarInsn(LLOAD, SCRATCH);
        m.visitInsn(L2I);
        load(f[at + 4]);
        m.visitInsn(LASTORE);
        m.visitLabel(done);
      }
      case Quick.CHECK_NULL -> {
        load(d);
        m.visitInsn(LCONST_0);
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFEQ, failure());
      }
      case Quick.OFFSET -> {
        before(d);
        load(f[at + 2]);
        push((long) f[at + 3]);
        m.visitInsn(LADD);
        store(d);
      }
      case Quick.LOAD_LOCATED_ELEMENT -> {
        check(f[at + 4], f[at + 5]);
        checkOpen(code.pool[f[at + 2]], "isClosed");
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        locatedElement(code.pool[f[at + 2]] + f[at + 3], f[at + 4], f[at + 5]);
        push(f[at + 6]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "read", "(JI)J", false);
        store(d);
      }
      case Quick.STORE_LOCATED_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        checkOpen(code.pool[f[at + 1]], "isLocked");
        m.visitVarInsn(ALOAD, THE_RUNNER);
        locatedElement(code.pool[f[at + 1]] + f[at + 2], f[at + 3], f[at + 4]);
        push(f[at + 5]);
        load(f[at + 6]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "write", "(JIJ)V", false);
      }
      case Quick.LOAD_LOCATED -> {
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        push(code.pool[f[at + 2]] + f[at + 3]);
        push(f[at + 4]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "read", "(JI)J", false);
        store(d);
      }
      case Quick.STORE_LOCATED -> {
        m.visitVarInsn(ALOAD, THE_RUNNER);
        push(code.pool[f[at + 1]] + f[at + 2]);
        push(f[at + 3]);
        load(f[at + 4]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "write", "(JIJ)V", false);
      }
      case Quick.ADDRESS -> {
        before(d);
        slot(f[at + 2]);
        m.visitInsn(I2L);
        store(d);
      }
      case Quick.CALL -> call(null, at + 1);
      case Quick.CALL_AT -> call(() -> {
        slot(f[at + 1]);
        m.visitInsn(I2L);
      }, at + 2);
      case Quick.CALL_ON -> call(() -> load(f[at + 1]), at + 2);
      case Quick.RETURN -> {
        save();
        m.visitVarInsn(ALOAD, THE_RUNNER);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "back", "()I", false);
        m.visitInsn(IRETURN);
      }
      case Quick.TASK_TIME -> {
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "activation", "()J", false);
        store(d);
      }
      case Quick.UNSTACK -> {
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        push(f[at + 2]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "stacked", "(I)J", false);
        store(d);
      }
      case Quick.STACK -> {
        m.visitVarInsn(ALOAD, THE_RUNNER);
        push(f[at + 1]);
        load(f[at + 2]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "stack", "(IJ)V", false);
      }
      case Quick.CLEAR -> {
        if (f[at + 2] <= 8) {
          for (int i = 0; i < f[at + 2]; i++) {
            m.visitVarInsn(ALOAD, SLOTS);
            slot((f[at + 1] + i) << 2 | Quick.FRAME);
            m.visitInsn(LCONST_0);
            m.visitInsn(LASTORE);
          }
        } else {
          m.visitVarInsn(ALOAD, SLOTS);
          slot(f[at + 1] << 2 | Quick.FRAME);
          slot((f[at + 1] + f[at + 2]) << 2 | Quick.FRAME);
          m.visitInsn(LCONST_0);
          m.visitMethodInsn(INVOKESTATIC, "java/util/Arrays", "fill", "([JIIJ)V", false);
        }
      }
      case Quick.RANGE -> check(f[at + 1], f[at + 2]);
      case Quick.UNARY -> {
        announce();
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        load(f[at + 2]);
        push(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "unary", "(JIII)J", false);
        store(d);
      }
      case Quick.BINARY -> {
        announce();
        before(d);
        m.visitVarInsn(ALOAD, THE_RUNNER);
        load(f[at + 2]);
        load(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        push(f[at + 6]);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "binary", "(JJIII)J", false);
        store(d);
      }
      case Quick.WATCH -> {
        m.visitVarInsn(ALOAD, WATCHED);
        slot(d);
        m.visitInsn(BALOAD);
        m.visitJumpInsn(IFNE, failure());
      }
      case Quick.WATCH_INDEX -> {
        load(d);
        push((long) f[at + 2]);
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFEQ, failure());
      }
      case Quick.WATCH_POINTER -> {
        m.visitVarInsn(ALOAD, THE_RUNNER);
        load(d);
        push((long) f[at + 2]);
        m.visitInsn(LADD);
        m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "isWatched", "(J)Z", false);
        m.visitJumpInsn(IFNE, failure());
      }
      case Quick.RECORD -> {
        for (int i = 0; i < f[at + 1]; i++) {
          record(at + 2 + 4 * i);
        }
      }
      default -> throw new IllegalStateException("operation " + f[at] + " has no translation");
    }
  }

  private void head() {
    m.visitLabel(heads.get(at));
    Label stop = new Label();
    stops.put(at, stop);
    m.visitVarInsn(ILOAD, LEFT);
    push(f[at + 1]);
    m.visitJumpInsn(IF_ICMPLT, stop);
    m.visitVarInsn(LLOAD, TIME);
    m.visitVarInsn(ALOAD, PRICES);
    push(f[at + 2]);
    m.visitInsn(LALOAD);
    m.visitInsn(LADD);
    m.visitInsn(DUP2);
    m.visitVarInsn(LSTORE, SCRATCH);
    m.visitVarInsn(LLOAD, DEADLINE);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFGE, stop);
    m.visitVarInsn(LLOAD, SCRATCH);
    m.visitVarInsn(LSTORE, TIME);
    m.visitIincInsn(LEFT, -f[at + 1]);
  }

  /** Behind a comparison: leaves the stretch unless the opposite holds. {@code operands}: where target, rest and exit stand. */
  private void leave(int opposite, int operands) {
    Label stay = new Label();
    m.visitJumpInsn(opposite, stay);
    if (f[operands + 1] != 0) {
      m.visitIincInsn(LEFT, f[operands + 1]);
      m.visitVarInsn(LLOAD, TIME);
      m.visitVarInsn(ALOAD, SAVINGS);
      push(f[operands + 2]);
      m.visitInsn(LALOAD);
      m.visitInsn(LSUB);
      m.visitVarInsn(LSTORE, TIME);
    }
    m.visitJumpInsn(GOTO, target(f[operands]));
    m.visitLabel(stay);
  }

  private void jump(int opposite) {
    load(f[at + 1]);
    load(f[at + 2]);
    m.visitInsn(LCMP);
    leave(opposite, at + 3);
  }

  private void jumpLreal(int comparison, int opposite) {
    loadLreal(f[at + 1]);
    loadLreal(f[at + 2]);
    m.visitInsn(comparison);
    leave(opposite, at + 3);
  }

  private void cut(int shift, int back) {
    if (shift == 32 && back == LSHR) {
      m.visitInsn(L2I);
      m.visitInsn(I2L);
    } else if (shift == 48 && back == LSHR) {
      m.visitInsn(L2I);
      m.visitInsn(I2S);
      m.visitInsn(I2L);
    } else if (shift == 56 && back == LSHR) {
      m.visitInsn(L2I);
      m.visitInsn(I2B);
      m.visitInsn(I2L);
    } else if (shift != 0 && back == LUSHR) {
      push(-1L >>> shift);
      m.visitInsn(LAND);
    } else if (shift != 0) {
      push(shift);
      m.visitInsn(LSHL);
      push(shift);
      m.visitInsn(back);
    }
  }

  private void binary(int instruction) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.visitInsn(instruction);
    store(f[at + 1]);
  }

  private void wrapping(int instruction, int back) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.visitInsn(instruction);
    cut(f[at + 4], back);
    store(f[at + 1]);
  }

  private void lreal(int instruction) {
    before(f[at + 1]);
    loadLreal(f[at + 2]);
    loadLreal(f[at + 3]);
    m.visitInsn(instruction);
    storeLreal(f[at + 1]);
  }

  private void real(int instruction) {
    before(f[at + 1]);
    loadReal(f[at + 2]);
    loadReal(f[at + 3]);
    m.visitInsn(instruction);
    storeReal(f[at + 1]);
  }

  private void divide(int d) {
    int y = f[at + 3];
    boolean known = isConstant(y) && constant(y) != 0 && constant(y) != -1;
    if (!known) {
      load(y);
      m.visitInsn(LCONST_0);
      m.visitInsn(LCMP);
      m.visitJumpInsn(IFEQ, failure());
      if (f[at] == Quick.DIV) {
        load(y);
        push(-1L);
        m.visitInsn(LCMP);
        m.visitJumpInsn(IFEQ, failure());
      }
    }
    binary(f[at] == Quick.DIV ? LDIV : LREM);
  }

  private void truth(int jumpWhen) {
    Label yes = new Label();
    Label done = new Label();
    m.visitJumpInsn(jumpWhen, yes);
    m.visitInsn(LCONST_0);
    m.visitJumpInsn(GOTO, done);
    m.visitLabel(yes);
    m.visitInsn(LCONST_1);
    m.visitLabel(done);
  }

  private void compare(int jumpWhen) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.visitInsn(LCMP);
    truth(jumpWhen);
    store(f[at + 1]);
  }

  private void compareLreal(int comparison, int jumpWhen) {
    before(f[at + 1]);
    loadLreal(f[at + 2]);
    loadLreal(f[at + 3]);
    m.visitInsn(comparison);
    truth(jumpWhen);
    store(f[at + 1]);
  }

  // ---- Booleans ----

  private void gate(int x, int y, int table) {
    switch (table & 15) {
      case 0b1100 -> load(x);
      case 0b1010 -> load(y);
      case 0b0011 -> not(x);
      case 0b0101 -> not(y);
      case 0b1000 -> two(x, y, LAND, false);
      case 0b0111 -> two(x, y, LAND, true);
      case 0b1110 -> two(x, y, LOR, false);
      case 0b0001 -> two(x, y, LOR, true);
      case 0b0110 -> two(x, y, LXOR, false);
      case 0b1001 -> two(x, y, LXOR, true);
      case 0b0100 -> half(x, y, LAND);
      case 0b0010 -> half(y, x, LAND);
      case 0b1101 -> half(x, y, LOR);
      case 0b1011 -> half(y, x, LOR);
      case 0b0000 -> m.visitInsn(LCONST_0);
      case 0b1111 -> m.visitInsn(LCONST_1);
      default -> throw new IllegalStateException("table " + table);
    }
  }

  private void invert() {
    m.visitInsn(LCONST_1);
    m.visitInsn(LXOR);
  }

  private void not(int x) {
    load(x);
    invert();
  }

  private void two(int x, int y, int instruction, boolean not) {
    load(x);
    load(y);
    m.visitInsn(instruction);
    if (not) {
      invert();
    }
  }

  /** x with the opposite of y. */
  private void half(int x, int y, int instruction) {
    load(x);
    not(y);
    m.visitInsn(instruction);
  }

  private void marked(int g) {
    int element = f[g + 4];
    boolean none = element == code.elements().size();
    if (!none) {
      m.visitVarInsn(ALOAD, TESTS);
      push(element);
      load(f[g + 2]);
      m.visitInsn(L2I);
      if ((f[g + 3] >> 4 & 3) == 1) {
        m.visitInsn(ICONST_1);
        m.visitInsn(IXOR);
      }
      m.visitInsn(BASTORE);
    }
    gate(f[g + 1], f[g + 2], f[g + 3]);
    if (!none) {
      m.visitInsn(DUP2);
      m.visitInsn(L2I);
      m.visitVarInsn(ISTORE, SCRATCH);
    }
    if (isLocal(f[g])) {
      store(f[g]);
    } else {
      m.visitVarInsn(LSTORE, SECOND_SCRATCH);
      before(f[g]);
      m.visitVarInsn(LLOAD, SECOND_SCRATCH);
      store(f[g]);
    }
    if (!none) {
      m.visitVarInsn(ALOAD, POWERS);
      push(element);
      m.visitVarInsn(ILOAD, SCRATCH);
      m.visitInsn(BASTORE);
    }
  }

  private void record(int r) {
    int a = f[r + 2];
    m.visitVarInsn(LLOAD, DIGEST);
    push(f[r + 3]);
    switch (f[r + 1]) {
      case Quick.BY_SLOT -> {
        slot(a);
        m.visitInsn(I2L);
      }
      case Quick.BY_PLACE -> push(Address.located(" IQM".charAt(a >>> 28), a & 0xFFF_FFFF));
      case Quick.BY_POINTER -> load(a);
      default -> throw new IllegalStateException("way " + f[r + 1]);
    }
    load(f[r]);
    m.visitMethodInsn(INVOKESTATIC, "dev/scanloom/observe/Trace", "digest", "(JIJJ)J", false);
    m.visitVarInsn(LSTORE, DIGEST);
  }

  private void bitIn(int d, int place) {
    before(d);
    m.visitVarInsn(ALOAD, AREAS + (place >>> 28));
    push((place & 0xFFF_FFFF) >>> 3);
    m.visitInsn(BALOAD);
    if ((place & 7) != 0) {
      push(place & 7);
      m.visitInsn(ISHR);
    }
    m.visitInsn(ICONST_1);
    m.visitInsn(IAND);
    m.visitInsn(I2L);
    store(d);
  }

  private void bitOut(int place, int x) {
    m.visitVarInsn(ALOAD, AREAS + (place >>> 28));
    push((place & 0xFFF_FFFF) >>> 3);
    m.visitInsn(DUP2);
    m.visitInsn(BALOAD);
    push(~(1 << (place & 7)));
    m.visitInsn(IAND);
    load(x);
    m.visitInsn(L2I);
    if ((place & 7) != 0) {
      push(place & 7);
      m.visitInsn(ISHL);
    }
    m.visitInsn(IOR);
    m.visitInsn(I2B);
    m.visitInsn(BASTORE);
  }

  // ---- addresses ----

  private void check(int index, int bounds) {
    long low = code.pool[bounds];
    long high = code.pool[bounds + 1];
    if (isConstant(index) && constant(index) >= low && constant(index) <= high) {
      return;
    }
    load(index);
    push(low);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFLT, failure());
    load(index);
    push(high);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFGT, failure());
  }

  /** Slot of an element whose index is within its bounds. */
  private void element(int base, int index, int bounds, int offset) {
    long low = code.pool[bounds];
    int stride = (int) code.pool[bounds + 2];
    load(index);
    if (low != 0) {
      push(low);
      m.visitInsn(LSUB);
    }
    m.visitInsn(L2I);
    if (stride != 1) {
      push(stride);
      m.visitInsn(IMUL);
    }
    slot(base + (offset << 2));
    m.visitInsn(IADD);
  }

  private void locatedElement(long address, int index, int bounds) {
    load(index);
    push(code.pool[bounds]);
    m.visitInsn(LSUB);
    push(code.pool[bounds + 3]);
    m.visitInsn(LMUL);
    push(address);
    m.visitInsn(LADD);
  }

  private void checkOpen(long address, String question) {
    m.visitVarInsn(ALOAD, THE_RUNNER);
    push(address);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, question, "(J)Z", false);
    m.visitJumpInsn(IFNE, failure());
  }

  /** Leaves the address in a local variable; goes on behind this when it is a location, at the label when it is a slot. */
  private Label through(int pointer, int offset, String question) {
    Label plain = new Label();
    load(pointer);
    if (offset != 0) {
      push((long) offset);
      m.visitInsn(LADD);
    }
    m.visitInsn(DUP2);
    m.visitVarInsn(LSTORE, SCRATCH);
    m.visitInsn(LCONST_1);
    m.visitInsn(LSUB);
    push(32);
    m.visitInsn(LUSHR);
    m.visitInsn(LCONST_0);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFEQ, plain);
    m.visitVarInsn(ALOAD, THE_RUNNER);
    m.visitVarInsn(LLOAD, SCRATCH);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, question, "(J)Z", false);
    m.visitJumpInsn(IFNE, failure());
    return plain;
  }

  private void call(Runnable instance, int operands) {
    save();
    m.visitVarInsn(ALOAD, THE_RUNNER);
    if (instance == null) {
      m.visitVarInsn(ILOAD, SELF);
      m.visitInsn(I2L);
    } else {
      instance.run();
    }
    push(f[operands]);
    push(f[operands + 1]);
    push(f[operands + 2]);
    push(at);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "call", "(JIIII)I", false);
    m.visitInsn(IRETURN);
  }

  /** The operation may throw: the runner must know which it was and where the stretch stood. */
  private void announce() {
    if (records) {
      m.visitVarInsn(ALOAD, THE_RUNNER);
      m.visitVarInsn(LLOAD, DIGEST);
      m.visitFieldInsn(PUTFIELD, RUNNER, "digest", "J");
    }
    m.visitVarInsn(ALOAD, THE_RUNNER);
    push(at);
    m.visitVarInsn(ILOAD, LEFT);
    m.visitVarInsn(LLOAD, TIME);
    m.visitMethodInsn(INVOKEVIRTUAL, RUNNER, "at", "(IIJ)V", false);
  }
}
