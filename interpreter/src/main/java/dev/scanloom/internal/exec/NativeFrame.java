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
  private long charged;

  NativeFrame(Memory memory) {
    this.memory = memory;
  }

  /** Runs a body with its parameters at {@code frame}. Returns the steps to charge for what it copied. */
  long call(Code.Native body, int frame) {
    target = body;
    base = frame;
    charged = 0;
    body.body().call(this);
    return charged / 16;
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
    return memory.slots[slot(parameter)];
  }

  @Override
  public void setBits(int parameter, long value) {
    memory.slots[slot(parameter)] = value;
  }

  @Override
  public int length(int parameter) {
    return memory.textLength(text(parameter));
  }

  @Override
  public int capacity(int parameter) {
    return target.capacities()[index(parameter)];
  }

  @Override
  public int unit(int parameter, int index) {
    return memory.textUnit(text(parameter), kind(parameter), index);
  }

  @Override
  public void clear(int parameter) {
    memory.clearText(text(parameter), kind(parameter));
  }

  @Override
  public void append(int parameter, int unit) {
    int at = text(parameter);
    int n = memory.textLength(at);
    if (n >= capacity(parameter)) {
      throw new BodyFault("fault/string-length", "the result is longer than " + capacity(parameter) + " characters");
    }
    charged++;
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
