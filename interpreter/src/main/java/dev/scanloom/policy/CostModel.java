package dev.scanloom.policy;

import java.time.Duration;

/**
 * What steps and phases cost in virtual time. A value without state of its own, immutable and safe for use by several threads. Costs are nanoseconds,
 * 0 or more.
 */
public interface CostModel {

  /** Groups of steps with a price of their own. */
  enum StepKind {
    /** Constants, marks, moves on the operand stack. */
    AUXILIARY,
    /** Reading a variable. */
    LOAD,
    /** Writing a variable. */
    STORE,
    /** AND, OR, contacts. */
    LOGIC,
    /** Any other computation. */
    COMPUTE,
    /** Jumps and branches. */
    JUMP,
    /** Calls and returns. */
    CALL,
    /** Copies of strings and aggregates. */
    COPY,
    /** A library body in Java. */
    NATIVE
  }

  /** Phases with a price. The program phase costs what its steps cost. */
  enum Phase { INPUT_REFRESH, OUTPUT_REFRESH, HOUSEKEEPING }

  /** Cost of one step; asked once per kind when a controller is made. */
  long step(StepKind kind);

  /**
   * Cost of a phase. What the phase does is done at its start; then the cost passes.
   *
   * @param scan number of the scan, from 1
   * @param messages external writes that landed since the last housekeeping phase
   * @param seed of the run
   */
  long phase(Phase phase, long scan, int messages, long seed);

  /** 100 ns a step, 50 us a refresh phase, 50 us of housekeeping (choice). */
  static CostModel standard() {
    return new FixedCosts(100, 50_000, 50_000, 0);
  }

  /** Nothing costs time: only the trigger and the host move the clock. */
  static CostModel zero() {
    return new FixedCosts(0, 0, 0, 0);
  }

  /**
   * The same for every step; for both refresh phases; for housekeeping, and on top of it per external write that landed.
   *
   * @throws IllegalArgumentException for a negative duration
   */
  static CostModel fixed(Duration step, Duration refresh, Duration housekeeping, Duration message) {
    return new FixedCosts(Durations.notNegative(step, "cost of a step"), Durations.notNegative(refresh, "cost of a refresh phase"),
        Durations.notNegative(housekeeping, "cost of housekeeping"), Durations.notNegative(message, "cost of a message"));
  }
}
