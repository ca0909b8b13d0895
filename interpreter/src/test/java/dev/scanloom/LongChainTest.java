package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import org.junit.jupiter.api.Test;

/** Length is not depth: a sum of many operands neither overflows the stack nor takes time that grows with its square. */
class LongChainTest {

  @Test
  void aSumOfManyOperandsCompilesAndRuns() {
    for (String operand : new String[] {"x", "1"}) {
      StringBuilder b = new StringBuilder("PROGRAM M VAR x : DINT := 1; y : DINT; END_VAR y := x");
      for (int i = 1; i < 30_000; i++) {
        b.append(" + ").append(operand);
      }
      CompiledProgram p = Compiler.standard().compile("sum.st", b.append("; END_PROGRAM").toString()).orThrow();
      for (Execution e : new Execution[] {Execution.STEPPING, Execution.COMPILED}) {
        Controller c = p.newController(ScanPolicy.image().withExecution(e));
        c.scan();
        assertThat(c.fault()).isEmpty();
        assertThat(c.memory().get(c.integer("y"))).isEqualTo(30_000);
      }
    }
  }
}
