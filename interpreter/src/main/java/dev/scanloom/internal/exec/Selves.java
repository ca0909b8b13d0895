package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.OpNumber;
import java.util.ArrayDeque;
import java.util.Arrays;

/** Which instance each body works on, where that is always the same one. */
final class Selves {
  private static final int NONE = -1;
  private static final int SEVERAL = -2;

  private final Code code;
  private final int[] self;
  private final ArrayDeque<Integer> work = new ArrayDeque<>();

  Selves(Code code) {
    this.code = code;
    self = new int[code.bodies().size()];
    Arrays.fill(self, NONE);
    for (Code.Program p : code.programs()) {
      reach(p.body(), p.self());
    }
    for (Code.InstanceType t : code.types()) {
      for (int body : t.bodies()) {
        reach(body, SEVERAL);
      }
    }
    while (!work.isEmpty()) {
      follow(work.remove());
    }
  }

  private void reach(int body, int instance) {
    if (body < 0 || self[body] == instance || self[body] == SEVERAL) {
      return;
    }
    self[body] = self[body] == NONE ? instance : SEVERAL;
    work.add(body);
  }

  private void follow(int caller) {
    Code.Body b = code.bodies().get(caller);
    for (int pc = b.start(); pc < b.end(); pc++) {
      if (code.op[pc] == OpNumber.CALL) {
        reach(code.a[pc], self[caller]);
      } else if (code.op[pc] == OpNumber.CALL_ON) {
        reach(code.a[pc], instance(caller, pc - 1, b.start()));
      }
    }
  }

  /** The instance that the step before a call pushes. */
  private int instance(int caller, int pc, int start) {
    if (pc >= start && code.op[pc] == OpNumber.ADDRESS_SELF && self[caller] >= 0) {
      return self[caller] + code.a[pc];
    }
    if (pc >= start && code.op[pc] == OpNumber.CONST && !Address.isLocated(code.pool[code.a[pc]]) && code.pool[code.a[pc]] > 0) {
      return (int) code.pool[code.a[pc]];
    }
    return SEVERAL;
  }

  /** Address of the one instance; -1 when there are several or none. */
  int of(int body) {
    return Math.max(self[body], NONE);
  }
}
