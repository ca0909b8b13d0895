package dev.scanloom;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.step.Address;

/** The terminals. */
final class FieldPlace extends Values implements Place {
  private final Engine engine;

  FieldPlace(CompiledProgram program, Engine engine) {
    super(program);
    this.engine = engine;
  }

  @Override
  long read(Variable v) {
    needTerminal(v);
    return Memory.extend(engine.terminal(v.address(), v.width()), v.kind());
  }

  @Override
  int[] readText(Variable.Text v) {
    throw new IllegalArgumentException(v.path() + " is a string; the field has no value for it");
  }

  @Override
  void write(long time, Variable v, long value) {
    needTerminal(v);
    if (Address.area(v.address()) != 1) {
      throw new IllegalArgumentException(v.path() + " is an output; its terminal is driven by the controller alone");
    }
    engine.setField(time, v.address(), v.kind(), v.width(), value);
  }

  @Override
  void writeText(long time, Variable.Text v, int[] units) {
    throw new IllegalArgumentException(v.path() + " is a string; the field has no value for it");
  }
}
