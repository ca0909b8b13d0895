package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.policy.ImplementerChoices;
import java.util.Arrays;

/**
 * Makes condensed code: plays the steps of a stretch on an operand stack of descriptions (a variable, a constant, a place, a comparison)
 * and writes an operation only where a value is needed. Everything an operation changes it changes last, so one that gives up has changed
 * nothing since the last point from which the steps can be walked.
 */
final class Condenser extends StepWriter {
  /**
   * Steps of a stretch; then the next one begins, at twice as many even inside an expression. Long ones cost little per step, short ones
   * end close to a deadline.
   */
  private static final int LONGEST = 160;
  /** Steps of a loop's test that are repeated at its end. */
  private static final int LOOP_TEST = 8;

  Condenser(Code code, Form form) {
    super(code, form);
  }

  Condensed condense() {
    for (int i = 0; i < code.bodies().size(); i++) {
      enter(i);
      joins(code.bodies().get(i));
    }
    for (int i = 0; i < code.bodies().size(); i++) {
      enter(i);
      Code.Body b = code.bodies().get(i);
      int pc = b.start();
      while (pc < b.end()) {
        pc = height[pc] < 0 ? pc + 1 : isWalked(pc) ? walk(pc, b) : stretch(pc, b);
      }
    }
    for (int i = 0; i < targets.size(); i += 2) {
      int target = entry[targets.get(i + 1)];
      if (target < 0) {
        throw new IllegalStateException("no stretch begins at step " + targets.get(i + 1));
      }
      f.set(targets.get(i), target);
    }
    return new Condensed(code, this);
  }

  private void enter(int body) {
    self = watches ? selves.of(body) : -1;
  }

  // ---- the shape of a body ----

  private void joins(Code.Body body) {
    join[body.start()] = true;
    for (int pc = body.start(); pc < body.end(); pc++) {
      switch (op(pc)) {
        case JUMP -> {
          join[code.a[pc]] = true;
          join[pc + 1] = true;
          int test = loopTest(pc);
          if (test >= 0) {
            join[test + 1] = true;
          }
        }
        case JUMP_FALSE, JUMP_TRUE, GUARD -> join[code.a[pc]] = true;
        case CALL, CALL_ON, CALL_DYNAMIC, RETURN -> join[pc + 1] = true;
        default -> {
          // goes on with the next step
        }
      }
      if (isWalked(pc)) {
        join[pc + 1] = true;
      }
    }
  }

  /** The conditional jump that ends the short test to which a jump leads; -1 without one. */
  private int loopTest(int jump) {
    int pc = code.a[jump];
    for (int i = 0; i < LOOP_TEST; i++, pc++) {
      Op op = op(pc);
      if (op == Op.JUMP_FALSE || op == Op.JUMP_TRUE) {
        return pc;
      }
      if (isWalked(pc) || op == Op.JUMP || op == Op.RETURN || op == Op.CALL || op == Op.CALL_ON || i > 0 && join[pc]) {
        return -1;
      }
    }
    return -1;
  }

  /** Has no condensed form. */
  private boolean isWalked(int pc) {
    return switch (op(pc)) {
      case MUX, OPEN_INDEX, OPEN_END, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, TEXT_COMPARE, TEXT_LENGTH, CHAR_GET, CHAR_PUT, COPY, CALL_DYNAMIC, NATIVE,
          GUARD, UNGUARD, ASSERT, TYPE_TEST, TAKE, WAIT, GIVE -> true;
      case LOAD_LOCATED -> form.reads() && Address.area(code.pool[code.a[pc]]) == 1 || Address.bit(code.pool[code.a[pc]]) >= GREATEST_BIT;
      case STORE_LOCATED -> form.writes() && Address.area(code.pool[code.a[pc]]) == 2 || Address.bit(code.pool[code.a[pc]]) >= GREATEST_BIT
          || watches && form.sees(code.pool[code.a[pc]], Arith.kind(code.b[pc]).bits());
      case STORE_SELF -> watches && self >= 0 && form.sees(self + code.a[pc], 64);
      case STORE_STATIC -> watches && form.sees(code.a[pc], 64);
      case CLEAR -> records;
      case TASK_TIME -> choices.timerClock() != ImplementerChoices.TimerClock.ACTIVATION;
      case CONST, ADDRESS_SELF, ADDRESS_FRAME, LOAD_SELF, LOAD_FRAME, LOAD_STATIC, LOAD_INDIRECT, STORE_FRAME, STORE_INDIRECT,
          LOAD_TEMP, STORE_TEMP, CHECK_NULL, OFFSET, INDEX, DUP, DUP2, POP, SWAP, BITS_GET, BITS_PUT, ADD, SUB, MUL, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV,
          MOD, NEG, NEG_EXACT, ABS, ADD_REAL, SUB_REAL, MUL_REAL, DIV_REAL, NEG_REAL, POWER_REAL, SQRT_REAL, ADD_LREAL, SUB_LREAL, MUL_LREAL, DIV_LREAL,
          NEG_LREAL, POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, AND, OR, XOR, NOT, SHL, SHR, ROL, ROR, EQ, NE, LT, LE, GT, GE, LT_UNSIGNED, LE_UNSIGNED,
          GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL, COMPARE_LREAL, MAX, MIN, SELECT, CONVERT, RANGE, JUMP, JUMP_FALSE, JUMP_TRUE, CALL, CALL_ON,
          RETURN, CONTACT, ELEMENT -> false;
    };
  }

  private int walk(int start, Code.Body body) {
    entry[start] = f.size();
    int pc = start + 1;
    while (pc < body.end() && height[pc] >= 0 && isWalked(pc) && !join[pc]) {
      pc++;
    }
    f.add(Quick.WALK);
    f.add(start);
    f.add(pc - start);
    return pc;
  }

  // ---- a stretch ----

  /** Writes the stretch that begins at a step; returns the step at which to go on. */
  private int stretch(int start, Code.Body body) {
    entry[start] = f.size();
    sp = height[start];
    Arrays.fill(stack, 0, sp, Value.STACKED);
    count = 0;
    changed = false;
    lastTarget = -1;
    boolTemps.clear();
    headAt = f.size();
    f.add(Quick.HEAD);
    f.add(0);
    f.add(stretchStart.size());
    stretchStart.add(steps.size());
    int pc = start;
    while (true) {
      if (pc != start && join[pc]) {
        goOn(pc);
        return pc;
      }
      if (isWalked(pc)) {
        goOn(pc);
        return pc;
      }
      if (isClean()) {
        if (count >= LONGEST) {
          join[pc] = true;
          goOn(pc);
          return pc;
        }
        cleanStep = pc;
        cleanBefore = count;
        changed = false;
      } else if (count >= 2 * LONGEST) {
        // A long expression: what it has so far goes to the operand stack.
        join[pc] = true;
        goOn(pc);
        return pc;
      }
      Op op = op(pc);
      if (changed && mayGiveUp(pc) || isCall(op) && !isFlat(op == Op.CALL_ON ? 1 : 0)) {
        flush();
        cleanStep = pc;
        cleanBefore = count;
        changed = false;
      }
      count++;
      steps.add(pc);
      if (op == Op.JUMP) {
        int test = count < LONGEST && sp == 0 ? loopTest(pc) : -1;
        if (test < 0) {
          flush();
          finishChunk();
          f.add(Quick.GOTO);
          target(code.a[pc]);
          close();
          return pc + 1;
        }
        for (int i = code.a[pc]; i <= test; i++) {
          if (isClean()) {
            cleanStep = i;
            cleanBefore = count;
            changed = false;
          }
          if (changed && mayGiveUp(i)) {
            flush();
            cleanStep = i;
            cleanBefore = count;
            changed = false;
          }
          count++;
          steps.add(i);
          step(i);
        }
        flush();
        finishChunk();
        f.add(Quick.GOTO);
        target(test + 1);
        close();
        return pc + 1;
      }
      if (isCall(op) || op == Op.RETURN) {
        call(pc, op);
        close();
        return pc + 1;
      }
      mayBeSeen = false;
      step(pc);
      pc++;
      if (mayBeSeen && isClean() && pc < body.end()) {
        // Should the step be walked, only this one is.
        join[pc] = true;
      }
      if (pc >= body.end()) {
        throw new IllegalStateException("body " + body.name() + " has no end");
      }
    }
  }

  /** Ends the stretch where another one begins. */
  private void goOn(int pc) {
    flush();
    finishChunk();
    f.add(Quick.GOTO);
    target(pc);
    close();
  }

  private void close() {
    f.set(headAt + 1, count);
    for (int i = 0; i < openExits.size(); i++) {
      int at = openExits.get(i);
      f.set(at, count - exitBefore.get(f.get(at + 1)));
    }
    openExits.clear();
  }

  private boolean mayGiveUp(int pc) {
    return switch (op(pc)) {
      case STORE_SELF -> watches && self < 0 && watchedOffsets.contains((long) code.a[pc]);
      case LOAD_INDIRECT, STORE_INDIRECT, CHECK_NULL, INDEX, ADD_EXACT, SUB_EXACT, MUL_EXACT, DIV, MOD, NEG_EXACT, ABS, DIV_REAL, POWER_REAL, SQRT_REAL, DIV_LREAL,
          POWER_LREAL, SQRT_LREAL, SCALE, UNSCALE, SHL, SHR, ROL, ROR, CONVERT, RANGE, CALL, CALL_ON, NEG, NEG_REAL, NEG_LREAL, MAX, MIN, LT_UNSIGNED,
          LE_UNSIGNED, GT_UNSIGNED, GE_UNSIGNED, COMPARE_REAL -> true;
      default -> false;
    };
  }

  private static boolean isCall(Op op) {
    return op == Op.CALL || op == Op.CALL_ON;
  }

  private boolean isClean() {
    return isFlat(0);
  }

  /** All but the topmost values are on the operand stack. */
  private boolean isFlat(int but) {
    for (int i = 0; i < sp - but; i++) {
      if (stack[i].form != Value.Kind.STACKED) {
        return false;
      }
    }
    return true;
  }
}
