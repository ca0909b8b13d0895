package dev.scanloom.observe;

import dev.scanloom.diagnostic.Span;

/**
 * One step of a compiled program, for viewers and explanations.
 *
 * @param id number of the step in the program
 * @param kind what it does, as far as explanations need to know
 * @param text one line of notation, for listings
 * @param span the source it comes from
 * @param body name of the POU, method, action or condition whose body it belongs to
 * @param network number of the ladder network, from 1; 0 outside ladder
 * @param element number of the ladder element it serves, or -1
 * @param pops values taken from the operand stack
 * @param pushes values left on it
 * @param target for jumps, the step jumped to; for calls the first step of the callee when known; for GUARD the step that errors go on at; for LOAD_TEMP
 *     and STORE_TEMP the number of the place within the frame; else -1
 * @param regionEnd for BRANCH, the first step behind everything that the branch decides about; else -1
 */
public record StepInfo(
    int id, Kind kind, String text, Span span, String body, int network, int element, int pops, int pushes, int target, int regionEnd) {

  /** Kinds of steps. */
  public enum Kind {
    /** Pushes a constant or an address. */
    CONSTANT,
    /** Pushes the virtual time. */
    CLOCK,
    /** Reads a variable; takes an address from the stack when pops is 1. */
    LOAD,
    /** Writes a variable: the value is on top, below it the address when pops is 2. */
    STORE,
    /** Pushes an intermediate value of the frame (a link state, a loop limit): no variable, so no READ is reported. */
    LOAD_TEMP,
    /** Stores an intermediate value in the frame; no WRITE is reported. */
    STORE_TEMP,
    /** AND of two operands; a contact in series with its left link is one too. */
    AND,
    /** OR of two operands. */
    OR,
    /** A choice among operands: the lowest operand selects (SEL: 0 or 1; MUX: index). */
    SELECT,
    /** Product of two integers: a factor 0 decides it alone. */
    MULTIPLY,
    /** A comparison; its result is BOOL. */
    COMPARE,
    /** Complement: of a BOOL or of all bits. */
    NOT,
    /** Any other computation: all operands matter. */
    COMPUTE,
    /** Copies the top of the stack. */
    DUPLICATE,
    /** Drops the top of the stack. */
    DROP,
    /** Swaps the two topmost values. */
    SWAP,
    /** Goes on elsewhere. */
    JUMP,
    /** Takes a BOOL from the stack and goes on elsewhere depending on it. */
    BRANCH,
    /** From here to UNGUARD errors go on at {@link #target()} with the calls and the operand stack of this moment. */
    GUARD,
    /** Ends the innermost GUARD. */
    UNGUARD,
    /** Calls a body; takes the instance's address when pops is 1. */
    CALL,
    /** Leaves a body. */
    RETURN,
    /** Copies a string or aggregate from the address on top to the address below. */
    COPY,
    /** A library body in Java: reads its parameters in the frame, writes outputs there; both are reported. */
    NATIVE,
    /** A mark without effect on values. */
    MARK
  }
}
