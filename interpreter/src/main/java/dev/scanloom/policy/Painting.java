package dev.scanloom.policy;

/**
 * How a screen decides whether a ladder element is painted as conducting. A value without state of its own, immutable and safe for use by several
 * threads. Source: common practice.
 */
public interface Painting {

  /**
   * Whether the element is painted as conducting.
   *
   * @param sampled the sampled bit of the element's operand
   * @param negated the element is a negated contact or negated coil
   * @param executed what the executor decided when it last evaluated the element: a contact's condition, a coil's left link
   */
  boolean paints(boolean sampled, boolean negated, boolean executed);

  /** The operand's sample is looked at; an element without an operand (compare contact, box, jump) is then not painted at all. */
  boolean needsSample();

  /** Painted as conducting when the sampled bit would make it conduct. */
  static Painting fromSample() {
    return FromSample.INSTANCE;
  }

  /** Painted by what the executor really decided the last time it evaluated the element. */
  static Painting fromExecution() {
    return FromExecution.INSTANCE;
  }
}
