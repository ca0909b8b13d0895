package dev.scanloom.internal.lanes;

import dev.scanloom.internal.bytecode.Asm;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.ElementaryType.Family;
import java.util.TreeMap;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;
import org.objectweb.asm.Type;

/**
 * Stretches that cannot fail and go forward only, timers and counters above all, as a loop over the lanes: Booleans lie in words, all else in the lanes'
 * memories, so nothing has to be carried. What the operations mean is said by the same methods that executors call.
 */
final class PlainCode implements Opcodes {
  private static final Op[] OPS = Op.values();
  private static final ElementaryType[] TYPES = ElementaryType.values();
  /** HotSpot does not compile what becomes too long. */
  private static final int MOST = 350;
  private static final String ARITH = "dev/scanloom/internal/value/Arith";
  private static final String SUPPORT = Type.getInternalName(LaneSupport.class);
  private static final String OPERATIONS = "dev/scanloom/internal/exec/Operations";
  private static final String STRETCHES = Type.getInternalName(Stretches.class);
  static final String METHOD = "([JL" + STRETCHES + ";J)V";
  private static final int WORDS = 0;
  private static final int RUN = 1;
  private static final int REST = 2;
  private static final int LANE = 4;
  private static final int SLOTS = 5;
  private static final int STEPS = 6;
  private static final int ALL_SLOTS = 7;
  private static final int TIMES = 8;
  private static final int COUNTS = 9;
  private static final int FIRST = 10;

  /** What has to be known about a program. */
  interface Program {
    Code code();

    boolean isBooleanTemp(int body, int offset);

    /** The body belongs to instances: nothing of its frame comes from outside or goes there. */
    boolean ownsFrame(int body);

    int cell(long locatedAddress);

    /** Word of a cell that holds a Boolean. */
    int wordOf(int cell);
  }

  /** Told of the Booleans that a stretch touches by name. */
  interface Touch {
    void cell(int cell, boolean writes);
  }

  private final Program program;
  private final Code code;
  private MethodVisitor m;
  private Touch touch;
  private int nextLocal;
  private int calls;
  private final TreeMap<Long, Integer> locals = new TreeMap<>();

  PlainCode(Program program) {
    this.program = program;
    this.code = program.code();
  }

  // ---- which stretches ----

  /** Steps with all calls written out; more than {@link #MOST} when the stretch is not plain. */
  private int size(int from, int end, int depth) {
    int n = 0;
    for (int pc = from; pc < end && n <= MOST; pc++) {
      n++;
      Op op = OPS[code.op[pc]];
      if (!isPlain(op, pc, from)) {
        return MOST + 1;
      }
      if (op == Op.CALL || op == Op.CALL_ON) {
        Code.Body b = code.bodies().get(code.a[pc]);
        n += depth > 8 ? MOST : size(b.start(), b.end(), depth + 1);
      }
    }
    return n;
  }

  boolean isPlain(BodyCut.Stretch s) {
    return size(s.start(), s.end(), 0) <= MOST;
  }

  private boolean isPlain(Op op, int pc, int from) {
    return switch (op) {
      case CONST, LOAD_SELF, LOAD_FRAME, LOAD_STATIC, STORE_SELF, STORE_FRAME, STORE_STATIC, LOAD_TEMP, STORE_TEMP, DUP, POP, SWAP, BITS_GET, BITS_PUT, ADD,
          SUB, MUL, NEG, AND, OR, XOR, NOT, EQ, NE, LT, LE, GT, GE, LT_UNSIGNED, LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, ADD_REAL, SUB_REAL, MUL_REAL, NEG_REAL,
          ADD_LREAL, SUB_LREAL, MUL_LREAL, NEG_LREAL, COMPARE_REAL, COMPARE_LREAL, SELECT, RETURN, TASK_TIME, CONTACT, ELEMENT, CALL -> true;
      case LOAD_LOCATED, STORE_LOCATED -> code.b[pc] == BodyCut.BOOL;
      case ADDRESS_SELF -> OPS[code.op[pc + 1]] == Op.CALL_ON;
      case CALL_ON -> pc > from && OPS[code.op[pc - 1]] == Op.ADDRESS_SELF;
      case JUMP, JUMP_FALSE, JUMP_TRUE -> code.a[pc] > pc;
      case MAX, MIN -> code.a[pc] < 2;
      case CONVERT -> widens(TYPES[code.a[pc] & 255], TYPES[code.a[pc] >> 8 & 255]);
      case ADDRESS_FRAME, LOAD_INDIRECT, STORE_INDIRECT, CHECK_NULL, OFFSET, INDEX, OPEN_INDEX, OPEN_END, DUP2, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV, MOD,
          NEG_EXACT, ABS, DIV_REAL, POWER_REAL, SQRT_REAL, DIV_LREAL, POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, SHL, SHR, ROL, ROR, MUX, RANGE,
          TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, CLEAR, CALL_DYNAMIC, NATIVE, GUARD, UNGUARD,
          ASSERT, TYPE_TEST, TAKE, WAIT, GIVE -> false;
    };
  }

  /** The conversion cannot fail. */
  private static boolean widens(ElementaryType from, ElementaryType to) {
    boolean signed = from.family() == Family.SIGNED;
    if (signed || from.family() == Family.UNSIGNED) {
      return to.family() == from.family() && to.bits() >= from.bits() || !signed && to.family() == Family.SIGNED && to.bits() > from.bits();
    }
    return from.family() == Family.DURATION && to.family() == Family.DURATION;
  }

  // ---- writing ----

  /** The Booleans that a stretch touches, without writing anything. */
  void touch(Weave.Part p, Touch touch) {
    this.touch = touch;
    m = null;
    begin();
    stretch(p);
    this.touch = null;
  }

  /** Writes the method of a stretch. */
  void write(Weave.Part p, MethodVisitor method) {
    touch = null;
    m = null;
    begin();
    stretch(p); // finds the local variables
    m = method;
    m.visitCode();
    m.visitVarInsn(LLOAD, REST);
    get("running", "()J");
    m.visitInsn(LAND);
    m.visitVarInsn(LSTORE, REST);
    get("slots", "()[[J");
    m.visitVarInsn(ASTORE, ALL_SLOTS);
    get("times", "()[J");
    m.visitVarInsn(ASTORE, TIMES);
    get("counts", "()[J");
    m.visitVarInsn(ASTORE, COUNTS);
    Label loop = new Label();
    Label done = new Label();
    m.visitLabel(loop);
    m.visitVarInsn(LLOAD, REST);
    m.visitInsn(LCONST_0);
    m.visitInsn(LCMP);
    m.visitJumpInsn(IFEQ, done);
    m.visitVarInsn(LLOAD, REST);
    m.visitMethodInsn(INVOKESTATIC, "java/lang/Long", "numberOfTrailingZeros", "(J)I", false);
    m.visitVarInsn(ISTORE, LANE);
    m.visitVarInsn(ALOAD, ALL_SLOTS);
    m.visitVarInsn(ILOAD, LANE);
    m.visitInsn(AALOAD);
    m.visitVarInsn(ASTORE, SLOTS);
    m.visitInsn(ICONST_0);
    m.visitVarInsn(ISTORE, STEPS);
    for (int local : locals.values()) {
      m.visitInsn(LCONST_0);
      m.visitVarInsn(LSTORE, local);
    }
    calls = 0;
    stretch(p);
    if (p.result() >= 0) {
      setBit(program.wordOf(p.result()));
    }
    m.visitVarInsn(ALOAD, COUNTS);
    m.visitVarInsn(ILOAD, LANE);
    m.visitInsn(DUP2);
    m.visitInsn(LALOAD);
    m.visitVarInsn(ILOAD, STEPS);
    m.visitInsn(I2L);
    m.visitInsn(LADD);
    m.visitInsn(LASTORE);
    m.visitVarInsn(LLOAD, REST);
    m.visitVarInsn(LLOAD, REST);
    m.visitInsn(LCONST_1);
    m.visitInsn(LSUB);
    m.visitInsn(LAND);
    m.visitVarInsn(LSTORE, REST);
    m.visitJumpInsn(GOTO, loop);
    m.visitLabel(done);
    m.visitInsn(RETURN);
    m.visitMaxs(0, 0);
    m.visitEnd();
  }

  private void begin() {
    locals.clear();
    nextLocal = FIRST;
    calls = 0;
  }

  private void get(String name, String descriptor) {
    m.visitVarInsn(ALOAD, RUN);
    m.visitMethodInsn(INVOKEINTERFACE, STRETCHES, name, descriptor, true);
  }

  private void stretch(Weave.Part p) {
    steps(p.stretch().start(), p.stretch().end(), p.body(), p.self(), p.frame(), 0);
  }

  /** Steps of a body; {@code call} numbers the written-out calls, 0 is the stretch itself. */
  private void steps(int from, int end, int body, int self, int frame, int call) {
    Label[] labels = new Label[end - from + 1];
    for (int pc = from; pc < end; pc++) {
      Op op = OPS[code.op[pc]];
      if (BodyCut.isJump(op)) {
        int t = Math.min(code.a[pc], end) - from;
        labels[t] = labels[t] == null ? new Label() : labels[t];
      }
    }
    labels[end - from] = labels[end - from] == null ? new Label() : labels[end - from];
    int counted = 0;
    for (int pc = from; pc < end; pc++) {
      if (labels[pc - from] != null) {
        count(counted);
        counted = 0;
        label(labels[pc - from]);
      }
      counted++;
      Op op = OPS[code.op[pc]];
      if (BodyCut.isJump(op) || op == Op.RETURN || op == Op.CALL || op == Op.CALL_ON) {
        count(counted);
        counted = 0;
      }
      switch (op) {
        case JUMP, JUMP_FALSE, JUMP_TRUE -> jump(op, labels[Math.min(code.a[pc], end) - from]);
        case RETURN -> jump(Op.JUMP, labels[end - from]);
        case CALL -> call(code.a[pc], self, frame + code.b[pc]);
        case CALL_ON -> call(code.a[pc], self + code.a[pc - 1], frame + code.b[pc]);
        default -> step(op, pc, body, self, frame, call); // the rest goes on with the next step
      }
    }
    count(counted);
    label(labels[end - from]);
  }

  private void call(int number, int self, int frame) {
    Code.Body b = code.bodies().get(number);
    steps(b.start(), b.end(), number, self, frame, ++calls);
  }

  private void label(Label l) {
    if (m != null) {
      m.visitLabel(l);
    }
  }

  private void count(int n) {
    if (m != null && n > 0) {
      m.visitIincInsn(STEPS, n);
    }
  }

  private void jump(Op op, Label to) {
    if (m == null) {
      return;
    }
    if (op == Op.JUMP) {
      m.visitJumpInsn(GOTO, to);
      return;
    }
    m.visitInsn(L2I);
    m.visitJumpInsn(op == Op.JUMP_FALSE ? IFEQ : IFNE, to);
  }

  private void step(Op op, int pc, int body, int self, int frame, int call) {
    int a = code.a[pc];
    int b = code.b[pc];
    boolean bool = b == BodyCut.BOOL;
    boolean inside = call > 0 && a < code.bodies().get(body).frameSlots() && program.ownsFrame(body);
    switch (op) {
      case LOAD_SELF -> load(self + a, bool);
      case LOAD_STATIC -> load(a, bool);
      case STORE_SELF -> store(self + a, bool);
      case STORE_STATIC -> store(a, bool);
      case LOAD_LOCATED -> load(program.cell(code.pool[a]), true);
      case STORE_LOCATED -> store(program.cell(code.pool[a]), true);
      case LOAD_FRAME, STORE_FRAME -> frame(op == Op.LOAD_FRAME, a, frame, inside ? call : 0, bool);
      case LOAD_TEMP, STORE_TEMP -> frame(op == Op.LOAD_TEMP, a, frame, call, program.isBooleanTemp(body, a));
      default -> {
        // only values on the operand stack
        if (m != null) {
          compute(op, pc, a, b);
        }
      }
    }
  }

  private void frame(boolean loads, int a, int frame, int call, boolean bool) {
    if (call == 0) {
      if (loads) {
        load(frame + a, bool);
      } else {
        store(frame + a, bool);
      }
      return;
    }
    long key = (long) call << 32 | a;
    if (!locals.containsKey(key)) {
      locals.put(key, nextLocal);
      nextLocal += 2;
    }
    if (m != null) {
      m.visitVarInsn(loads ? LLOAD : LSTORE, locals.get(key));
    }
  }

  private void load(int cell, boolean bool) {
    if (bool && touch != null) {
      touch.cell(cell, false);
    }
    if (m == null) {
      return;
    }
    if (bool) {
      m.visitVarInsn(ALOAD, WORDS);
      integer(program.wordOf(cell));
      m.visitVarInsn(ILOAD, LANE);
      support("bit", "([JII)J");
    } else {
      m.visitVarInsn(ALOAD, SLOTS);
      integer(cell);
      m.visitInsn(LALOAD);
    }
  }

  private void store(int cell, boolean bool) {
    if (bool && touch != null) {
      touch.cell(cell, true);
    }
    if (m == null) {
      return;
    }
    if (bool) {
      setBit(program.wordOf(cell));
    } else {
      m.visitVarInsn(ALOAD, SLOTS);
      integer(cell);
      support("store", "(J[JI)V");
    }
  }

  private void setBit(int word) {
    m.visitVarInsn(ALOAD, WORDS);
    integer(word);
    m.visitVarInsn(ILOAD, LANE);
    support("setBit", "(J[JII)V");
  }

  private void compute(Op op, int pc, int a, int b) {
    switch (op) {
      case CONST -> m.visitLdcInsn(code.pool[a]);
      case DUP -> m.visitInsn(DUP2);
      case POP -> m.visitInsn(POP2);
      case SWAP -> {
        m.visitInsn(DUP2_X2);
        m.visitInsn(POP2);
      }
      case AND, CONTACT -> m.visitInsn(LAND);
      case OR -> m.visitInsn(LOR);
      case XOR -> m.visitInsn(LXOR);
      case NOT -> {
        integer(b);
        support("not", "(JI)J");
      }
      case ADD -> arith("add", b);
      case SUB -> arith("subtract", b);
      case MUL -> arith("multiply", b);
      case NEG -> {
        integer(b);
        m.visitMethodInsn(INVOKESTATIC, ARITH, "negate", "(JI)J", false);
      }
      case EQ -> support("equal", "(JJ)J");
      case NE -> support("unequal", "(JJ)J");
      case LT -> support("less", "(JJ)J");
      case LE -> support("lessOrEqual", "(JJ)J");
      case GT -> support("greater", "(JJ)J");
      case GE -> support("greaterOrEqual", "(JJ)J");
      case LT_UNSIGNED -> unsigned("less");
      case LE_UNSIGNED -> unsigned("lessOrEqual");
      case GT_UNSIGNED -> unsigned("greater");
      case GE_UNSIGNED -> unsigned("greaterOrEqual");
      case ADD_REAL -> support("addReal", "(JJ)J");
      case SUB_REAL -> support("subtractReal", "(JJ)J");
      case MUL_REAL -> support("multiplyReal", "(JJ)J");
      case NEG_REAL -> support("negateReal", "(J)J");
      case ADD_LREAL -> support("addLreal", "(JJ)J");
      case SUB_LREAL -> support("subtractLreal", "(JJ)J");
      case MUL_LREAL -> support("multiplyLreal", "(JJ)J");
      case NEG_LREAL -> support("negateLreal", "(J)J");
      case COMPARE_REAL, COMPARE_LREAL -> {
        integer(a);
        support(op == Op.COMPARE_REAL ? "compareReal" : "compareLreal", "(JJI)J");
      }
      case SELECT -> support("select", "(JJJ)J");
      case MAX, MIN -> {
        integer(a);
        support(op == Op.MAX ? "max" : "min", "(JJI)J");
      }
      case BITS_GET -> {
        integer(a);
        integer(b);
        m.visitMethodInsn(INVOKESTATIC, OPERATIONS, "part", "(JII)J", false);
      }
      case BITS_PUT -> {
        integer(a);
        integer(b);
        m.visitMethodInsn(INVOKESTATIC, OPERATIONS, "withPart", "(JJII)J", false);
      }
      case TASK_TIME -> {
        m.visitVarInsn(ALOAD, TIMES);
        m.visitVarInsn(ILOAD, LANE);
        m.visitInsn(LALOAD);
      }
      case ELEMENT, ADDRESS_SELF, CONVERT -> {
        // the value stays; a wider type holds it as it is; the instance is known
      }
      default -> throw new IllegalStateException("step " + pc + " is not plain: " + op);
    }
  }

  private void arith(String name, int kind) {
    integer(kind);
    m.visitMethodInsn(INVOKESTATIC, ARITH, name, "(JJI)J", false);
  }

  /** Unsigned comparison: signed, with the highest bits inverted. */
  private void unsigned(String comparison) {
    m.visitLdcInsn(Long.MIN_VALUE);
    m.visitInsn(LADD);
    m.visitInsn(DUP2_X2);
    m.visitInsn(POP2);
    m.visitLdcInsn(Long.MIN_VALUE);
    m.visitInsn(LADD);
    m.visitInsn(DUP2_X2);
    m.visitInsn(POP2);
    support(comparison, "(JJ)J");
  }

  private void support(String name, String descriptor) {
    m.visitMethodInsn(INVOKESTATIC, SUPPORT, name, descriptor, false);
  }

  private void integer(int v) {
    new Asm(m).integer(v);
  }
}
