package dev.scanloom;

import dev.scanloom.internal.scan.Engine;

/** The process image and all variables; set by external writes. What was looked up by an access path READ_ONLY cannot be set. */
final class MemoryPlace extends Values implements Place {
  private final Engine engine;

  MemoryPlace(CompiledProgram program, Engine engine) {
    super(program);
    this.engine = engine;
  }

  @Override
  long read(Variable v) {
    return engine.memory().read(v.address(), v.kind());
  }

  @Override
  int[] readText(Variable.Text v) {
    return engine.memory().text((int) v.address(), v.kind());
  }

  @Override
  void write(long time, Variable v, long value) {
    v.checkWritable();
    engine.writeExternally(time, v.address(), v.kind(), value, null);
  }

  @Override
  void writeText(long time, Variable.Text v, int[] units) {
    v.checkWritable();
    engine.writeExternally(time, v.address(), v.kind(), v.capacity(), units);
  }
}
