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

  private Asm m;
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
    Asm.constructor(writer, PARENT, "([I)V");
    for (int i = 0; i < parts.size(); i++) {
      part(i, parts.get(i)[0], parts.get(i)[1]);
    }
    Asm run = new Asm(writer.visitMethod(ACC_PUBLIC, "run", "(IIL" + RUNNER + ";[J)I", null, null));
    if (!parts.isEmpty()) {
      Label[] labels = new Label[parts.size()];
      Arrays.setAll(labels, i -> new Label());
      Label none = new Label();
      run.local(ILOAD, 1);
      run.table(0, labels.length - 1, none, labels);
      for (int i = 0; i < labels.length; i++) {
        run.label(labels[i]);
        run.local(ILOAD, 2);
        run.local(ALOAD, 3);
        run.local(ALOAD, 4);
        run.call(NAME, "p" + i, BODY);
        run.insn(IRETURN);
      }
      run.label(none);
    }
    run.fail("java/lang/IllegalArgumentException");
    run.end();
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
    m = new Asm(writer.visitMethod(ACC_PRIVATE | ACC_STATIC, "p" + number, BODY, null, null));
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
      m.insn(ICONST_M1);
      m.insn(IRETURN);
      m.end();
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
        m.local(ALOAD, THE_RUNNER);
        push(a);
        m.invoke(RUNNER, "area", "(I)[B");
        m.local(ASTORE, AREAS + a);
      }
    }
    int[] keys = entries.stream().mapToInt(Integer::intValue).toArray();
    Label none = new Label();
    m.local(ILOAD, AT);
    m.lookup(none, keys, Arrays.stream(keys).mapToObj(heads::get).toArray(Label[]::new));
    m.label(none);
    m.local(ILOAD, AT);
    m.insn(IRETURN);
    for (at = start; at < end; at += Quick.length(f, at)) {
      if (f[at] != Quick.WALK) {
        operation();
      }
    }
    stops.forEach((ip, label) -> tail(label, ip, "stop"));
    failures.forEach((ip, label) -> tail(label, ip, "giveUp"));
    leapLabels.forEach((ip, label) -> {
      m.label(label);
      save();
      push(ip);
      m.insn(IRETURN);
    });
    m.end();
  }

  private void field(String name, String type, int store, int local) {
    m.local(ALOAD, THE_RUNNER);
    m.field(GETFIELD, RUNNER, name, type);
    m.local(store, local);
  }

  private void getter(String name, String type, int store, int local) {
    m.local(ALOAD, THE_RUNNER);
    m.invoke(RUNNER, name, type);
    m.local(store, local);
  }

  private void save() {
    m.local(ALOAD, THE_RUNNER);
    m.local(ILOAD, LEFT);
    m.field(PUTFIELD, RUNNER, "left", "I");
    m.local(ALOAD, THE_RUNNER);
    m.local(LLOAD, TIME);
    m.field(PUTFIELD, RUNNER, "time", "J");
    if (records) {
      m.local(ALOAD, THE_RUNNER);
      m.local(LLOAD, DIGEST);
      m.field(PUTFIELD, RUNNER, "digest", "J");
    }
  }

  private void tail(Label label, int ip, String method) {
    m.label(label);
    save();
    m.local(ALOAD, THE_RUNNER);
    push(ip);
    m.invoke(RUNNER, method, "(I)I");
    m.insn(IRETURN);
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
    m.integer(v);
  }

  private void push(long v) {
    m.longValue(v);
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
        m.local(ILOAD, (operand & 3) == Quick.SELF ? SELF : FRAME);
        if (offset != 0) {
          push(offset);
          m.insn(IADD);
        }
      }
      default -> throw new IllegalStateException("operand " + operand + " is no place in memory");
    }
  }

  private void load(int operand) {
    if (isConstant(operand)) {
      push(constant(operand));
    } else if (isLocal(operand)) {
      m.local(LLOAD, local(operand));
    } else {
      m.local(ALOAD, SLOTS);
      slot(operand);
      m.insn(LALOAD);
    }
  }

  private void loadLreal(int operand) {
    if (isConstant(operand)) {
      m.doubleValue(Double.longBitsToDouble(constant(operand)));
    } else {
      load(operand);
      m.call("java/lang/Double", "longBitsToDouble", "(J)D");
    }
  }

  private void loadReal(int operand) {
    load(operand);
    m.insn(L2I);
    m.call("java/lang/Float", "intBitsToFloat", "(I)F");
  }

  /** What must lie below the value to be stored. */
  private void before(int operand) {
    if (!isLocal(operand)) {
      m.local(ALOAD, SLOTS);
      slot(operand);
    }
  }

  private void store(int operand) {
    if (isLocal(operand)) {
      m.local(LSTORE, local(operand));
    } else {
      m.insn(LASTORE);
    }
  }

  private void storeLreal(int operand) {
    m.call("java/lang/Double", "doubleToRawLongBits", "(D)J");
    store(operand);
  }

  private void storeReal(int operand) {
    m.call("java/lang/Float", "floatToRawIntBits", "(F)I");
    m.insn(I2L);
    store(operand);
  }

  // ---- operations ----

  private void operation() {
    int d = at + 1 < f.length ? f[at + 1] : 0;
    switch (f[at]) {
      case Quick.HEAD -> head();
      case Quick.GOTO -> m.jump(GOTO, target(f[at + 1]));
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
        m.insn(LCONST_0);
        m.insn(LCMP);
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
        m.insn(LXOR);
        cut(f[at + 3], LUSHR);
        store(d);
      }
      case Quick.SHIFT_RIGHT -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.insn(LUSHR);
        store(d);
      }
      case Quick.SHIFT_LEFT -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.insn(LSHL);
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
        m.insn(DUP2);
        m.local(LSTORE, SCRATCH);
        cut(f[at + 3], f[at] == Quick.FIT_SIGNED ? LSHR : LUSHR);
        m.local(LLOAD, SCRATCH);
        m.insn(LCMP);
        m.jump(IFNE, failure());
        before(d);
        m.local(LLOAD, SCRATCH);
        store(d);
      }
      case Quick.TO_LREAL -> {
        before(d);
        load(f[at + 2]);
        m.insn(L2D);
        storeLreal(d);
      }
      case Quick.TO_REAL -> {
        before(d);
        load(f[at + 2]);
        m.insn(L2F);
        storeReal(d);
      }
      case Quick.REAL_TO_LREAL -> {
        before(d);
        loadReal(f[at + 2]);
        m.insn(F2D);
        storeLreal(d);
      }
      case Quick.ADD_LREAL -> lreal(DADD);
      case Quick.SUB_LREAL -> lreal(DSUB);
      case Quick.MUL_LREAL -> lreal(DMUL);
      case Quick.DIV_LREAL -> {
        loadLreal(f[at + 3]);
        m.insn(DCONST_0);
        m.insn(DCMPL);
        m.jump(IFEQ, failure());
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
        m.call("java/lang/Math", f[at] == Quick.MAX ? "max" : "min", "(JJ)J");
        store(d);
      }
      case Quick.SELECT -> {
        before(d);
        load(f[at + 2]);
        m.insn(LCONST_0);
        m.insn(LCMP);
        Label first = new Label();
        Label done = new Label();
        m.jump(IFEQ, first);
        load(f[at + 4]);
        m.jump(GOTO, done);
        m.label(first);
        load(f[at + 3]);
        m.label(done);
        store(d);
      }
      case Quick.BITS_GET -> {
        before(d);
        load(f[at + 2]);
        push(f[at + 3]);
        m.insn(LUSHR);
        push(f[at + 4] == 64 ? -1L : (1L << f[at + 4]) - 1);
        m.insn(LAND);
        store(d);
      }
      case Quick.BITS_PUT -> {
        before(d);
        load(f[at + 2]);
        load(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        m.call("dev/scanloom/internal/exec/Operations", "withPart", "(JJII)J");
        store(d);
      }
      case Quick.LOAD_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        m.local(ALOAD, SLOTS);
        element(f[at + 2], f[at + 3], f[at + 4], f[at + 5]);
        m.insn(LALOAD);
        store(d);
      }
      case Quick.STORE_ELEMENT -> {
        check(f[at + 2], f[at + 3]);
        m.local(ALOAD, SLOTS);
        element(f[at + 1], f[at + 2], f[at + 3], f[at + 4]);
        load(f[at + 5]);
        m.insn(LASTORE);
      }
      case Quick.ADDRESS_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        element(f[at + 2], f[at + 3], f[at + 4], f[at + 5]);
        m.insn(I2L);
        store(d);
      }
      case Quick.ADDRESS_INDEX -> {
        check(f[at + 3], f[at + 4]);
        before(d);
        load(f[at + 2]);
        load(f[at + 3]);
        push(code.pool[f[at + 4]]);
        m.insn(LSUB);
        load(f[at + 2]);
        push(code.pool[f[at + 4] + 2]);
        push(code.pool[f[at + 4] + 3]);
        m.call("dev/scanloom/internal/bytecode/Support", "stride", "(JJJ)J");
        m.insn(LMUL);
        m.insn(LADD);
        push((long) f[at + 5]);
        m.insn(LADD);
        store(d);
      }
      case Quick.LOAD_THROUGH -> {
        Label plain = through(f[at + 2], f[at + 3], "isClosed");
        Label done = new Label();
        before(d);
        m.local(ALOAD, THE_RUNNER);
        m.local(LLOAD, SCRATCH);
        push(f[at + 4]);
        m.invoke(RUNNER, "read", "(JI)J");
        store(d);
        m.jump(GOTO, done);
        m.label(plain);
        before(d);
        m.local(ALOAD, SLOTS);
        m.local(LLOAD, SCRATCH);
        m.insn(L2I);
        m.insn(LALOAD);
        store(d);
        m.label(done);
      }
      case Quick.STORE_THROUGH -> {
        Label plain = through(f[at + 1], f[at + 2], "isLocked");
        Label done = new Label();
        m.local(ALOAD, THE_RUNNER);
        m.local(LLOAD, SCRATCH);
        push(f[at + 3]);
        load(f[at + 4]);
        m.invoke(RUNNER, "write", "(JIJ)V");
        m.jump(GOTO, done);
        m.label(plain);
        m.local(ALOAD, SLOTS);
        m.local(LLOAD, SCRATCH);
        m.insn(L2I);
        load(f[at + 4]);
        m.insn(LASTORE);
        m.label(done);
      }
      case Quick.CHECK_NULL -> {
        load(d);
        m.insn(LCONST_0);
        m.insn(LCMP);
        m.jump(IFEQ, failure());
      }
      case Quick.OFFSET -> {
        before(d);
        load(f[at + 2]);
        push((long) f[at + 3]);
        m.insn(LADD);
        store(d);
      }
      case Quick.LOAD_LOCATED_ELEMENT -> {
        check(f[at + 4], f[at + 5]);
        checkOpen(code.pool[f[at + 2]], "isClosed");
        before(d);
        m.local(ALOAD, THE_RUNNER);
        locatedElement(code.pool[f[at + 2]] + f[at + 3], f[at + 4], f[at + 5]);
        push(f[at + 6]);
        m.invoke(RUNNER, "read", "(JI)J");
        store(d);
      }
      case Quick.STORE_LOCATED_ELEMENT -> {
        check(f[at + 3], f[at + 4]);
        checkOpen(code.pool[f[at + 1]], "isLocked");
        m.local(ALOAD, THE_RUNNER);
        locatedElement(code.pool[f[at + 1]] + f[at + 2], f[at + 3], f[at + 4]);
        push(f[at + 5]);
        load(f[at + 6]);
        m.invoke(RUNNER, "write", "(JIJ)V");
      }
      case Quick.LOAD_LOCATED -> {
        before(d);
        m.local(ALOAD, THE_RUNNER);
        push(code.pool[f[at + 2]] + f[at + 3]);
        push(f[at + 4]);
        m.invoke(RUNNER, "read", "(JI)J");
        store(d);
      }
      case Quick.STORE_LOCATED -> {
        m.local(ALOAD, THE_RUNNER);
        push(code.pool[f[at + 1]] + f[at + 2]);
        push(f[at + 3]);
        load(f[at + 4]);
        m.invoke(RUNNER, "write", "(JIJ)V");
      }
      case Quick.ADDRESS -> {
        before(d);
        slot(f[at + 2]);
        m.insn(I2L);
        store(d);
      }
      case Quick.CALL -> call(null, at + 1);
      case Quick.CALL_AT -> call(() -> {
        slot(f[at + 1]);
        m.insn(I2L);
      }, at + 2);
      case Quick.CALL_ON -> call(() -> load(f[at + 1]), at + 2);
      case Quick.RETURN -> {
        save();
        m.local(ALOAD, THE_RUNNER);
        m.invoke(RUNNER, "back", "()I");
        m.insn(IRETURN);
      }
      case Quick.TASK_TIME -> {
        before(d);
        m.local(ALOAD, THE_RUNNER);
        m.invoke(RUNNER, "activation", "()J");
        store(d);
      }
      case Quick.UNSTACK -> {
        before(d);
        m.local(ALOAD, THE_RUNNER);
        push(f[at + 2]);
        m.invoke(RUNNER, "stacked", "(I)J");
        store(d);
      }
      case Quick.STACK -> {
        m.local(ALOAD, THE_RUNNER);
        push(f[at + 1]);
        load(f[at + 2]);
        m.invoke(RUNNER, "stack", "(IJ)V");
      }
      case Quick.CLEAR -> {
        if (f[at + 2] <= 8) {
          for (int i = 0; i < f[at + 2]; i++) {
            m.local(ALOAD, SLOTS);
            slot((f[at + 1] + i) << 2 | Quick.FRAME);
            m.insn(LCONST_0);
            m.insn(LASTORE);
          }
        } else {
          m.local(ALOAD, SLOTS);
          slot(f[at + 1] << 2 | Quick.FRAME);
          slot((f[at + 1] + f[at + 2]) << 2 | Quick.FRAME);
          m.insn(LCONST_0);
          m.call("java/util/Arrays", "fill", "([JIIJ)V");
        }
      }
      case Quick.RANGE -> check(f[at + 1], f[at + 2]);
      case Quick.UNARY -> {
        announce();
        before(d);
        m.local(ALOAD, THE_RUNNER);
        load(f[at + 2]);
        push(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        m.invoke(RUNNER, "unary", "(JIII)J");
        store(d);
      }
      case Quick.BINARY -> {
        announce();
        before(d);
        m.local(ALOAD, THE_RUNNER);
        load(f[at + 2]);
        load(f[at + 3]);
        push(f[at + 4]);
        push(f[at + 5]);
        push(f[at + 6]);
        m.invoke(RUNNER, "binary", "(JJIII)J");
        store(d);
      }
      case Quick.WATCH -> {
        m.local(ALOAD, WATCHED);
        slot(d);
        m.insn(BALOAD);
        m.jump(IFNE, failure());
      }
      case Quick.WATCH_INDEX -> {
        load(d);
        push((long) f[at + 2]);
        m.insn(LCMP);
        m.jump(IFEQ, failure());
      }
      case Quick.WATCH_POINTER -> {
        m.local(ALOAD, THE_RUNNER);
        load(d);
        push((long) f[at + 2]);
        m.insn(LADD);
        m.invoke(RUNNER, "isWatched", "(J)Z");
        m.jump(IFNE, failure());
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
    m.label(heads.get(at));
    Label stop = new Label();
    stops.put(at, stop);
    m.local(ILOAD, LEFT);
    push(f[at + 1]);
    m.jump(IF_ICMPLT, stop);
    m.local(LLOAD, TIME);
    m.local(ALOAD, PRICES);
    push(f[at + 2]);
    m.insn(LALOAD);
    m.insn(LADD);
    m.insn(DUP2);
    m.local(LSTORE, SCRATCH);
    m.local(LLOAD, DEADLINE);
    m.insn(LCMP);
    m.jump(IFGE, stop);
    m.local(LLOAD, SCRATCH);
    m.local(LSTORE, TIME);
    m.increment(LEFT, -f[at + 1]);
  }

  /** Behind a comparison: leaves the stretch unless the opposite holds. {@code operands}: where target, rest and exit stand. */
  private void leave(int opposite, int operands) {
    Label stay = new Label();
    m.jump(opposite, stay);
    if (f[operands + 1] != 0) {
      m.increment(LEFT, f[operands + 1]);
      m.local(LLOAD, TIME);
      m.local(ALOAD, SAVINGS);
      push(f[operands + 2]);
      m.insn(LALOAD);
      m.insn(LSUB);
      m.local(LSTORE, TIME);
    }
    m.jump(GOTO, target(f[operands]));
    m.label(stay);
  }

  private void jump(int opposite) {
    load(f[at + 1]);
    load(f[at + 2]);
    m.insn(LCMP);
    leave(opposite, at + 3);
  }

  private void jumpLreal(int comparison, int opposite) {
    loadLreal(f[at + 1]);
    loadLreal(f[at + 2]);
    m.insn(comparison);
    leave(opposite, at + 3);
  }

  private void cut(int shift, int back) {
    if (shift == 32 && back == LSHR) {
      m.insn(L2I);
      m.insn(I2L);
    } else if (shift == 48 && back == LSHR) {
      m.insn(L2I);
      m.insn(I2S);
      m.insn(I2L);
    } else if (shift == 56 && back == LSHR) {
      m.insn(L2I);
      m.insn(I2B);
      m.insn(I2L);
    } else if (shift != 0 && back == LUSHR) {
      push(-1L >>> shift);
      m.insn(LAND);
    } else if (shift != 0) {
      push(shift);
      m.insn(LSHL);
      push(shift);
      m.insn(back);
    }
  }

  private void binary(int instruction) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.insn(instruction);
    store(f[at + 1]);
  }

  private void wrapping(int instruction, int back) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.insn(instruction);
    cut(f[at + 4], back);
    store(f[at + 1]);
  }

  private void lreal(int instruction) {
    before(f[at + 1]);
    loadLreal(f[at + 2]);
    loadLreal(f[at + 3]);
    m.insn(instruction);
    storeLreal(f[at + 1]);
  }

  private void real(int instruction) {
    before(f[at + 1]);
    loadReal(f[at + 2]);
    loadReal(f[at + 3]);
    m.insn(instruction);
    storeReal(f[at + 1]);
  }

  private void divide(int d) {
    int y = f[at + 3];
    boolean known = isConstant(y) && constant(y) != 0 && constant(y) != -1;
    if (!known) {
      load(y);
      m.insn(LCONST_0);
      m.insn(LCMP);
      m.jump(IFEQ, failure());
      if (f[at] == Quick.DIV) {
        load(y);
        push(-1L);
        m.insn(LCMP);
        m.jump(IFEQ, failure());
      }
    }
    binary(f[at] == Quick.DIV ? LDIV : LREM);
  }

  private void truth(int jumpWhen) {
    Label yes = new Label();
    Label done = new Label();
    m.jump(jumpWhen, yes);
    m.insn(LCONST_0);
    m.jump(GOTO, done);
    m.label(yes);
    m.insn(LCONST_1);
    m.label(done);
  }

  private void compare(int jumpWhen) {
    before(f[at + 1]);
    load(f[at + 2]);
    load(f[at + 3]);
    m.insn(LCMP);
    truth(jumpWhen);
    store(f[at + 1]);
  }

  private void compareLreal(int comparison, int jumpWhen) {
    before(f[at + 1]);
    loadLreal(f[at + 2]);
    loadLreal(f[at + 3]);
    m.insn(comparison);
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
      case 0b0000 -> m.insn(LCONST_0);
      case 0b1111 -> m.insn(LCONST_1);
      default -> throw new IllegalStateException("table " + table);
    }
  }

  private void invert() {
    m.insn(LCONST_1);
    m.insn(LXOR);
  }

  private void not(int x) {
    load(x);
    invert();
  }

  private void two(int x, int y, int instruction, boolean not) {
    load(x);
    load(y);
    m.insn(instruction);
    if (not) {
      invert();
    }
  }

  /** x with the opposite of y. */
  private void half(int x, int y, int instruction) {
    load(x);
    not(y);
    m.insn(instruction);
  }

  private void marked(int g) {
    int element = f[g + 4];
    boolean none = element == code.elements().size();
    if (!none) {
      m.local(ALOAD, TESTS);
      push(element);
      load(f[g + 2]);
      m.insn(L2I);
      if ((f[g + 3] >> 4 & 3) == 1) {
        m.insn(ICONST_1);
        m.insn(IXOR);
      }
      m.insn(BASTORE);
    }
    gate(f[g + 1], f[g + 2], f[g + 3]);
    if (!none) {
      m.insn(DUP2);
      m.insn(L2I);
      m.local(ISTORE, SCRATCH);
    }
    if (isLocal(f[g])) {
      store(f[g]);
    } else {
      m.local(LSTORE, SECOND_SCRATCH);
      before(f[g]);
      m.local(LLOAD, SECOND_SCRATCH);
      store(f[g]);
    }
    if (!none) {
      m.local(ALOAD, POWERS);
      push(element);
      m.local(ILOAD, SCRATCH);
      m.insn(BASTORE);
    }
  }

  private void record(int r) {
    int a = f[r + 2];
    m.local(LLOAD, DIGEST);
    push(f[r + 3]);
    switch (f[r + 1]) {
      case Quick.BY_SLOT -> {
        slot(a);
        m.insn(I2L);
      }
      case Quick.BY_PLACE -> push(Address.located(" IQM".charAt(a >>> 28), a & 0xFFF_FFFF));
      case Quick.BY_POINTER -> load(a);
      default -> throw new IllegalStateException("way " + f[r + 1]);
    }
    load(f[r]);
    m.call("dev/scanloom/observe/Trace", "digest", "(JIJJ)J");
    m.local(LSTORE, DIGEST);
  }

  private void bitIn(int d, int place) {
    before(d);
    m.local(ALOAD, AREAS + (place >>> 28));
    push((place & 0xFFF_FFFF) >>> 3);
    m.insn(BALOAD);
    if ((place & 7) != 0) {
      push(place & 7);
      m.insn(ISHR);
    }
    m.insn(ICONST_1);
    m.insn(IAND);
    m.insn(I2L);
    store(d);
  }

  private void bitOut(int place, int x) {
    m.local(ALOAD, AREAS + (place >>> 28));
    push((place & 0xFFF_FFFF) >>> 3);
    m.insn(DUP2);
    m.insn(BALOAD);
    push(~(1 << (place & 7)));
    m.insn(IAND);
    load(x);
    m.insn(L2I);
    if ((place & 7) != 0) {
      push(place & 7);
      m.insn(ISHL);
    }
    m.insn(IOR);
    m.insn(I2B);
    m.insn(BASTORE);
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
    m.insn(LCMP);
    m.jump(IFLT, failure());
    load(index);
    push(high);
    m.insn(LCMP);
    m.jump(IFGT, failure());
  }

  /** Slot of an element whose index is within its bounds. */
  private void element(int base, int index, int bounds, int offset) {
    long low = code.pool[bounds];
    int stride = (int) code.pool[bounds + 2];
    load(index);
    if (low != 0) {
      push(low);
      m.insn(LSUB);
    }
    m.insn(L2I);
    if (stride != 1) {
      push(stride);
      m.insn(IMUL);
    }
    slot(base + (offset << 2));
    m.insn(IADD);
  }

  private void locatedElement(long address, int index, int bounds) {
    load(index);
    push(code.pool[bounds]);
    m.insn(LSUB);
    push(code.pool[bounds + 3]);
    m.insn(LMUL);
    push(address);
    m.insn(LADD);
  }

  private void checkOpen(long address, String question) {
    m.local(ALOAD, THE_RUNNER);
    push(address);
    m.invoke(RUNNER, question, "(J)Z");
    m.jump(IFNE, failure());
  }

  /** Leaves the address in a local variable; goes on behind this when it is a location, at the label when it is a slot. */
  private Label through(int pointer, int offset, String question) {
    Label plain = new Label();
    load(pointer);
    if (offset != 0) {
      push((long) offset);
      m.insn(LADD);
    }
    m.insn(DUP2);
    m.local(LSTORE, SCRATCH);
    m.insn(LCONST_1);
    m.insn(LSUB);
    push(32);
    m.insn(LUSHR);
    m.insn(LCONST_0);
    m.insn(LCMP);
    m.jump(IFEQ, plain);
    m.local(ALOAD, THE_RUNNER);
    m.local(LLOAD, SCRATCH);
    m.invoke(RUNNER, question, "(J)Z");
    m.jump(IFNE, failure());
    return plain;
  }

  private void call(Runnable instance, int operands) {
    save();
    m.local(ALOAD, THE_RUNNER);
    if (instance == null) {
      m.local(ILOAD, SELF);
      m.insn(I2L);
    } else {
      instance.run();
    }
    push(f[operands]);
    push(f[operands + 1]);
    push(f[operands + 2]);
    push(at);
    m.invoke(RUNNER, "call", "(JIIII)I");
    m.insn(IRETURN);
  }

  /** The operation may throw: the runner must know which it was and where the stretch stood. */
  private void announce() {
    if (records) {
      m.local(ALOAD, THE_RUNNER);
      m.local(LLOAD, DIGEST);
      m.field(PUTFIELD, RUNNER, "digest", "J");
    }
    m.local(ALOAD, THE_RUNNER);
    push(at);
    m.local(ILOAD, LEFT);
    m.local(LLOAD, TIME);
    m.invoke(RUNNER, "at", "(IIJ)V");
  }
}
