package dev.scanloom;

/**
 * One of the three places where a value can live: the field, memory, a display. All have the same verbs. Confined to the controller's thread.
 *
 * <p>The field has values for variables at {@code %I} and {@code %Q} only; only its inputs can be set. Setting memory is an external write, as an
 * operator panel makes it: it lands when the policy lets it. A display cannot be set.
 */
public sealed interface Place permits Place.Display, FieldPlace, MemoryPlace, LanePlace {

  /** @throws IllegalArgumentException when this place has no value for the variable */
  boolean get(Variable.Bool variable);

  long get(Variable.Integer variable);

  double get(Variable.Real variable);

  String get(Variable.Text variable);

  /** Slot value of any variable but a string. */
  long bits(Variable variable);

  /** Value of any variable as an IEC literal. */
  String text(Variable variable);

  /** @throws IllegalArgumentException when this place cannot be set, or not for this variable, or the value is outside its type */
  void set(Variable.Bool variable, boolean value);

  void set(Variable.Integer variable, long value);

  void set(Variable.Real variable, double value);

  void set(Variable.Text variable, String value);

  /** Sets any variable from an IEC literal. */
  void setText(Variable variable, String literal);

  /** As {@link #setText}, at a virtual time in nanoseconds; a time that has passed means now. */
  void setTextAt(long time, Variable variable, String literal);

  /** As {@code set}, at a virtual time in nanoseconds; a time that has passed means now. */
  void setAt(long time, Variable.Bool variable, boolean value);

  void setAt(long time, Variable.Integer variable, long value);

  void setAt(long time, Variable.Real variable, double value);

  void setAt(long time, Variable.Text variable, String value);

  /** What a monitoring screen holds: samples of memory, and the painted ladder. */
  sealed interface Display extends Place permits DisplayPlace {

    String name();

    /** The variable is watched by this display. */
    boolean isWatched(Variable variable);

    /** Virtual time in nanoseconds at which the value shown was sampled; -1 before the first sample. */
    long sampledAt(Variable variable);

    /** Scan in which the value shown was sampled; 0 before the first. */
    long sampledIn(Variable variable);

    /** The ladder element is painted as conducting; false for one that is not painted at all. */
    boolean painted(int element);

    /** This display paints the element: it has an operand that it watches, or painting does not need one. */
    boolean isPainted(int element);

    /** What the executor really decided when it last evaluated the element: a contact's condition, a coil's left link. */
    boolean executed(int element);

    /** Power at the element's right link when it was last evaluated. */
    boolean power(int element);
  }
}
