package dev.scanloom.internal.bytecode;

import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;

/** Writes instructions and counts their bytes, at most; without a method to write to it only counts. */
public final class Asm implements Opcodes {
  private final MethodVisitor m;
  private int bytes;

  public Asm(MethodVisitor m) {
    this.m = m;
  }

  /** A public constructor that hands its parameters, none or one object, to that of the parent. */
  public static void constructor(ClassWriter writer, String parent, String descriptor) {
    MethodVisitor c = writer.visitMethod(ACC_PUBLIC, "<init>", descriptor, null, null);
    c.visitCode();
    c.visitVarInsn(ALOAD, 0);
    if (!descriptor.equals("()V")) {
      c.visitVarInsn(ALOAD, 1);
    }
    c.visitMethodInsn(INVOKESPECIAL, parent, "<init>", descriptor, false);
    c.visitInsn(RETURN);
    c.visitMaxs(0, 0);
    c.visitEnd();
  }

  int bytes() {
    return bytes;
  }

  boolean counts() {
    return m == null;
  }

  void insn(int opcode) {
    bytes++;
    if (m != null) {
      m.visitInsn(opcode);
    }
  }

  void local(int opcode, int index) {
    bytes += index < 4 ? 1 : index < 256 ? 2 : 4;
    if (m != null) {
      m.visitVarInsn(opcode, index);
    }
  }

  void load(Rep rep, int index) {
    local(switch (rep) {
      case INT -> ILOAD;
      case LONG -> LLOAD;
      case FLOAT -> FLOAD;
      case DOUBLE -> DLOAD;
    }, index);
  }

  void store(Rep rep, int index) {
    local(switch (rep) {
      case INT -> ISTORE;
      case LONG -> LSTORE;
      case FLOAT -> FSTORE;
      case DOUBLE -> DSTORE;
    }, index);
  }

  void increment(int index, int by) {
    if (by >= Short.MIN_VALUE && by <= Short.MAX_VALUE) {
      bytes += index < 256 && by >= Byte.MIN_VALUE && by <= Byte.MAX_VALUE ? 3 : 6;
      if (m != null) {
        m.visitIincInsn(index, by);
      }
      return;
    }
    local(ILOAD, index);
    integer(by);
    insn(IADD);
    local(ISTORE, index);
  }

  void jump(int opcode, Label target) {
    bytes += 3;
    if (m != null) {
      m.visitJumpInsn(opcode, target);
    }
  }

  void label(Label l) {
    if (m != null) {
      m.visitLabel(l);
    }
  }

  void table(int from, int to, Label otherwise, Label[] targets) {
    bytes += 16 + 4 * targets.length;
    if (m != null) {
      m.visitTableSwitchInsn(from, to, otherwise, targets);
    }
  }

  void lookup(Label otherwise, int[] keys, Label[] targets) {
    bytes += 12 + 8 * keys.length;
    if (m != null) {
      m.visitLookupSwitchInsn(otherwise, keys, targets);
    }
  }

  /** Throws a new object of a class that needs no argument. */
  void fail(String type) {
    bytes += 8;
    if (m != null) {
      m.visitTypeInsn(NEW, type);
      m.visitInsn(DUP);
      m.visitMethodInsn(INVOKESPECIAL, type, "<init>", "()V", false);
      m.visitInsn(ATHROW);
    }
  }

  void call(String owner, String method, String descriptor) {
    bytes += 3;
    if (m != null) {
      m.visitMethodInsn(INVOKESTATIC, owner, method, descriptor, false);
    }
  }

  void invoke(String owner, String method, String descriptor) {
    bytes += 3;
    if (m != null) {
      m.visitMethodInsn(INVOKEVIRTUAL, owner, method, descriptor, false);
    }
  }

  void field(int opcode, String owner, String name, String descriptor) {
    bytes += 3;
    if (m != null) {
      m.visitFieldInsn(opcode, owner, name, descriptor);
    }
  }

  private void constant(Object value) {
    bytes += 3;
    if (m != null) {
      m.visitLdcInsn(value);
    }
  }

  /** Pushes an int without spending constant pool entries, which a large program would run out of. */
  public void integer(int v) {
    if (v >= -1 && v <= 5) {
      insn(ICONST_0 + v);
    } else if (v >= Byte.MIN_VALUE && v <= Byte.MAX_VALUE) {
      push(BIPUSH, v, 2);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      push(SIPUSH, v, 3);
    } else {
      int low = (short) v;
      push(SIPUSH, v - low >> 16, 3);
      push(BIPUSH, 16, 2);
      insn(ISHL);
      push(SIPUSH, low, 3);
      insn(IADD);
    }
  }

  private void push(int opcode, int v, int size) {
    bytes += size;
    if (m != null) {
      m.visitIntInsn(opcode, v);
    }
  }

  void longValue(long v) {
    if (v == 0 || v == 1) {
      insn(v == 0 ? LCONST_0 : LCONST_1);
    } else if (v >= Short.MIN_VALUE && v <= Short.MAX_VALUE) {
      integer((int) v);
      insn(I2L);
    } else {
      constant(v);
    }
  }

  void doubleValue(double v) {
    constant(v);
  }

  void floatValue(float v) {
    constant(v);
  }

  static int opposite(int jump) {
    return switch (jump) {
      case IFEQ -> IFNE;
      case IFNE -> IFEQ;
      case IFLT -> IFGE;
      case IFGE -> IFLT;
      case IFGT -> IFLE;
      case IFLE -> IFGT;
      case IF_ICMPEQ -> IF_ICMPNE;
      case IF_ICMPNE -> IF_ICMPEQ;
      case IF_ICMPLT -> IF_ICMPGE;
      case IF_ICMPGE -> IF_ICMPLT;
      case IF_ICMPGT -> IF_ICMPLE;
      case IF_ICMPLE -> IF_ICMPGT;
      default -> throw new IllegalStateException("jump " + jump);
    };
  }

  void tryCatch(Label from, Label to, Label handler, String type) {
    if (m != null) {
      m.visitTryCatchBlock(from, to, handler, type);
    }
  }

  void end() {
    if (m != null) {
      m.visitMaxs(0, 0);
      m.visitEnd();
    }
  }
}
