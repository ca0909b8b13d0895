package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import java.util.function.UnaryOperator;
import org.junit.jupiter.api.Test;
import org.objectweb.asm.ClassReader;
import org.objectweb.asm.ClassVisitor;
import org.objectweb.asm.ClassWriter;
import org.objectweb.asm.MethodVisitor;
import org.objectweb.asm.Opcodes;

/** A generated class that the JVM refuses: the host gets results and a reason, no error. */
class RefusedClassTest {
  /** Its block has a loop, so that it is a method of its own. */
  private static final CompiledProgram PROGRAM = Compiler.standard().compile("refused.st", """
      FUNCTION_BLOCK Sum
      VAR_INPUT n : INT; END_VAR
      VAR_OUTPUT total : DINT; END_VAR
      VAR i : INT; END_VAR
        total := 0;
        FOR i := 1 TO n DO total := total + i; END_FOR;
      END_FUNCTION_BLOCK
      PROGRAM Main
      VAR sum : Sum; k : INT; twice : DINT; END_VAR
        k := k + 1;
        sum(n := k);
        twice := sum.total * 2;
      END_PROGRAM
      """).orThrow();

  @Test
  void whatTheJvmTakesIsCompiled() {
    assertThat(run(UnaryOperator.identity())).isEqualTo("compiled");
  }

  @Test
  void aBodyIsSteppedAndTheOthersAreCompiled() {
    assertThat(List.of(run(bytes -> spoiled(bytes, "b0")), run(bytes -> spoiled(bytes, "b1")))).containsExactlyInAnyOrder(
        "compiled, stepping Sum: the JVM refuses its code: VerifyError", "compiled, stepping Main: the JVM refuses its code: VerifyError");
  }

  @Test
  void allBodiesAreSteppedWhenNoneCanBeBlamed() {
    assertThat(run(bytes -> spoiled(bytes, "run"))).isEqualTo("stepping: the JVM refuses its code: VerifyError");
    assertThat(run(bytes -> new byte[] {1, 2, 3, 4})).isEqualTo("stepping: the JVM refuses its code: ClassFormatError");
  }

  /** A body that is stepped already and refused again must not be tried for ever. */
  @Test
  void theSameBodyIsBlamedOnce() {
    assertThat(run(bytes -> spoiled(bytes, "always"))).isEqualTo("stepping: the JVM refuses its code: VerifyError");
  }

  /** Runs three scans; n * (n + 1) by Gauss' formula. */
  private static String run(UnaryOperator<byte[]> classes) {
    Controller c = PROGRAM.withClasses(classes).newController(ScanPolicy.image().withExecution(Execution.COMPILED));
    for (int n = 1; n <= 3; n++) {
      assertThat(c.scan()).isTrue();
      assertThat(c.memory().text(c.variable("twice"))).isEqualTo(Integer.toString(n * (n + 1)));
    }
    Controller steps = PROGRAM.newController(ScanPolicy.image().withExecution(Execution.STEPPING));
    steps.scan(3);
    assertThat(c.steps()).isEqualTo(steps.steps());
    return c.executionInUse();
  }

  /** The class with a method that reads a local variable nothing was stored in. A body that only calls the stepping executor is not touched. */
  private static byte[] spoiled(byte[] bytes, String what) {
    ClassWriter to = new ClassWriter(0);
    new ClassReader(bytes).accept(new ClassVisitor(Opcodes.ASM9, to) {
      @Override
      public MethodVisitor visitMethod(int access, String name, String descriptor, String signature, String[] exceptions) {
        MethodVisitor m = super.visitMethod(access, name, descriptor, signature, exceptions);
        return !wrong(name, what, bytes) ? m : new MethodVisitor(Opcodes.ASM9, m) {
          @Override
          public void visitCode() {
            super.visitCode();
            visitVarInsn(Opcodes.LLOAD, 200);
            visitInsn(Opcodes.POP2);
          }

          @Override
          public void visitMaxs(int stack, int locals) {
            super.visitMaxs(stack + 2, 202);
          }
        };
      }
    }, 0);
    return to.toByteArray();
  }

  private static boolean wrong(String method, String what, byte[] bytes) {
    return switch (what) {
      case "run" -> method.equals("run");
      case "always" -> method.equals("b0");
      default -> method.equals(what) && !stepped(bytes, method);
    };
  }

  private static boolean stepped(byte[] bytes, String method) {
    boolean[] found = {false};
    new ClassReader(bytes).accept(new ClassVisitor(Opcodes.ASM9) {
      @Override
      public MethodVisitor visitMethod(int access, String name, String descriptor, String signature, String[] exceptions) {
        return !name.equals(method) ? null : new MethodVisitor(Opcodes.ASM9) {
          @Override
          public void visitMethodInsn(int opcode, String owner, String called, String type, boolean isInterface) {
            found[0] |= called.equals("body");
          }
        };
      }
    }, 0);
    return found[0];
  }
}
