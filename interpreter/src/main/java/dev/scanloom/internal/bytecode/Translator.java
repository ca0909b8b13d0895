package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.Label;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;
import org.objectweb.asm.Type;

/** Writes one class for a program: a method for each body (see {@link BodyWriter}), and the entry that finds the body of a program. */
final class Translator implements Opcodes {
  private static final String NAME = "dev/scanloom/internal/bytecode/Program";

  private final Code code;
  private final Sites sites = new Sites();
  private final MethodWriter.Surroundings surroundings;
  private final ClassWriter writer = new ClassWriter(ClassWriter.COMPUTE_MAXS);
  /** Fixed instance of a body that only one program runs, else -1. */
  private final int[] fixedSelf;
  /** Bodies that the stepping executor runs. */
  private final Set<Integer> left;

  /** {@code watchesReads}, {@code watchesWrites}: the policy acts at reads of inputs, at writes of outputs. {@code callDepth}: limit of nested calls. */
  Translator(Code code, Set<Integer> left, boolean watchesReads, boolean watchesWrites, int callDepth) {
    this.code = code;
    this.left = left;
    Blocks blocks = new Blocks(code);
    this.surroundings = new MethodWriter.Surroundings(code, blocks, new Inlining(code, blocks, left), sites, NAME, new InputBits(code, watchesReads),
        watchesReads, watchesWrites, depth(code, callDepth) > callDepth);
    this.fixedSelf = new int[code.bodies().size()];
    Arrays.fill(fixedSelf, -1);
    findFixed();
  }

  int[] inputWords() {
    return surroundings.inputBits().bytes();
  }

  Sites sites() {
    return sites;
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
    writer.visit(V1_5, ACC_FINAL | ACC_SUPER | ACC_PUBLIC, NAME, null, "java/lang/Object", new String[] {Type.getInternalName(Entry.class)});
    Asm.constructor(writer, "java/lang/Object", "()V");
    entry();
    for (int i = 0; i < code.bodies().size(); i++) {
      if (left.contains(i)) {
        leave(i);
      } else {
        new BodyWriter(surroundings, writer, i, fixedSelf[i]).write();
      }
    }
    writer.visitEnd();
    return writer.toByteArray();
  }

  private void entry() {
    MethodVisitor visitor = writer.visitMethod(ACC_PUBLIC, "run", "(I[JIIL" + MethodWriter.RUN + ";)J", null, null);
    visitor.visitCode();
    Asm m = new Asm(visitor);
    List<Integer> bodies = code.programs().stream().map(Code.Program::body).distinct().sorted().toList();
    for (int b : bodies) {
      Label next = new Label();
      m.local(ILOAD, 1);
      m.integer(b);
      m.jump(IF_ICMPNE, next);
      m.local(ALOAD, 2);
      m.local(ILOAD, 3);
      m.local(ILOAD, 4);
      m.local(ALOAD, 5);
      m.insn(LCONST_0);
      m.insn(ICONST_0);
      m.call(NAME, "b" + b, MethodWriter.BODY);
      m.insn(LRETURN);
      m.label(next);
    }
    m.fail("java/lang/IllegalArgumentException");
    m.end();
  }

  /** A body that the stepping executor runs. */
  private void leave(int body) {
    MethodVisitor visitor = writer.visitMethod(ACC_STATIC, "b" + body, MethodWriter.BODY, null, null);
    visitor.visitCode();
    Asm m = new Asm(visitor);
    m.local(ALOAD, MethodWriter.RT);
    m.integer(body);
    m.local(ILOAD, MethodWriter.SELF);
    m.local(ILOAD, MethodWriter.FRAME);
    m.local(LLOAD, MethodWriter.STEPS);
    m.local(ILOAD, MethodWriter.DEPTH);
    m.invoke(MethodWriter.RUN, "body", "(IIIJI)J");
    m.insn(LRETURN);
    m.end();
  }
}
