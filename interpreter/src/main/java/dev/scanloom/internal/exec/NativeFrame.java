package dev.scanloom.internal.exec;

import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.model.ElementaryType;

/** Parameters of a Java body as they lie in memory. One object per executor, pointed at each call in turn. */
final class NativeFrame implements CallFrame {
  private final Memory memory;
  private Code.Native target;
  private int base;
  private final SteppingExecutor executor;
  private long charged;
  private int pc;
  private boolean reads;
  private boolean writes;
  /** Strings read or written in this call, a bit per parameter: each is reported once. */
  private long textsRead;
  private long textsWritten;

  NativeFrame(Memory memory, SteppingExecutor executor) {
    this.memory = memory;
    this.executor = executor;
  }

  /** Runs a body with its parameters at {@code frame}. Returns the steps to charge for what it copied. */
  long call(Code.Native body, int frame, int step, boolean reportReads, boolean reportWrites) {
    target = body;
    base = frame;
    charged = 0;
    pc = step;
    reads = reportReads;
    writes = reportWrites;
    textsRead = 0;
    textsWritten = 0;
    body.body().call(this);
    return charged / 16;
  }

  private int textRead(int parameter) {
    int at = text(parameter);
    long bit = 1L << (index(parameter) & 63);
    if (reads && (textsRead & bit) == 0) {
      textsRead |= bit;
      executor.noteRead(pc, at, memory.slots[at]);
    }
    return at;
  }

  private void textWritten(int parameter, int at, long length) {
    long bit = 1L << (index(parameter) & 63);
    if (writes && (textsWritten & bit) == 0) {
      textsWritten |= bit;
      executor.noteWrite(pc, at, memory.slots[at], length);
    }
  }

  private int index(int parameter) {
    return parameter == RESULT ? target.offsets().length - 1 : parameter;
  }

  private int slot(int parameter) {
    return base + target.offsets()[index(parameter)];
  }

  private int text(int parameter) {
    return (int) memory.slots[slot(parameter)];
  }

  private int kind(int parameter) {
    int kind = target.kinds()[index(parameter)];
    if (!Arith.kind(kind).isString()) {
      throw new IllegalArgumentException("parameter " + parameter + " of " + target.name() + " is no string");
    }
    return kind;
  }

  @Override
  public ElementaryType type(int parameter) {
    return Arith.kind(target.kinds()[index(parameter)]);
  }

  @Override
  public long bits(int parameter) {
    int at = slot(parameter);
    return reads ? executor.noteRead(pc, at, memory.slots[at]) : memory.slots[at];
  }

  @Override
  public void setBits(int parameter, long value) {
    int at = slot(parameter);
    if (writes) {
      executor.noteWrite(pc, at, memory.slots[at], value);
    }
    memory.slots[at] = value;
  }

  @Override
  public int length(int parameter) {
    return memory.textLength(textRead(parameter));
  }

  @Override
  public int capacity(int parameter) {
    return target.capacities()[index(parameter)];
  }

  @Override
  public int unit(int parameter, int index) {
    return memory.textUnit(textRead(parameter), kind(parameter), index);
  }

  @Override
  public void clear(int parameter) {
    int at = text(parameter);
    textWritten(parameter, at, 0);
    memory.clearText(at, kind(parameter), capacity(parameter));
  }

  @Override
  public void append(int parameter, int unit) {
    int at = text(parameter);
    int n = memory.textLength(at);
    if (n >= capacity(parameter)) {
      throw new BodyFault("fault/string-length", "the result is longer than " + capacity(parameter) + " characters");
    }
    charged++;
    textWritten(parameter, at, n + 1L);
    memory.setTextUnit(at, kind(parameter), n, unit);
    memory.slots[at] = n + 1L;
  }

  @Override
  public void append(int parameter, int source, int index, int count) {
    charged += count;
    for (int i = 0; i < count; i++) {
      append(parameter, unit(source, index + i));
    }
  }
}
