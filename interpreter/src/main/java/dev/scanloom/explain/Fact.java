package dev.scanloom.explain;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Objects;
import java.util.Optional;

/**
 * One fact of an {@link Explanation}: something that happened at one moment, and the facts that decided it. Facts form a tree in which a
 * fact that decides twice is the same object in both places; {@link #id()} counts from 1 in the order of first mention.
 *
 * <p>Immutable and safe for use by several threads.
 */
public final class Fact {

  /** What happened. */
  public enum Kind {
    /** An instruction wrote a variable. */
    WRITE,
    /** An instruction read a variable. */
    READ,
    /** A step computed a value of its operands. */
    COMPUTATION,
    /** A branch decided that the fact above came about, by its condition. */
    DECISION,
    /** The input refresh, or an I/O subsystem, copied a terminal to memory. */
    INPUT_REFRESH,
    /** Memory was delivered to an output terminal. */
    DELIVERY,
    /** No step wrote the variable in the scan asked about; below it, what skipped the steps that could have. */
    UNCHANGED,
    /** Leaf: a terminal was changed from outside. */
    FIELD_CHANGE,
    /** Leaf: a panel or peer wrote memory. */
    EXTERNAL_WRITE,
    /** Leaf: a force holds the value. */
    FORCE,
    /** Leaf: the initial value. */
    INITIAL,
    /** Leaf: a retained value after a warm restart. */
    RETAINED,
    /** Leaf: a constant of the program, or the left power rail. */
    CONSTANT,
    /** Leaf: the virtual time. */
    CLOCK,
    /** Leaf: happened before what is kept of the run; scan and source are still known. */
    OLDER;

    /** A fact of this kind is the end of a chain. */
    public boolean isLeaf() {
      return ordinal() >= FIELD_CHANGE.ordinal();
    }
  }

  private final Kind kind;
  private final String subject;
  private final String value;
  private final long bits;
  private final long address;
  private final int width;
  private final long scan;
  private final long ordinal;
  private final long time;
  private final int step;
  private final Optional<Span> span;
  private final String body;
  private final int network;
  private final int element;
  private final String words;
  private final boolean library;
  private int id;
  private List<Fact> because = List.of();

  /** What a fact is made of; filled in by the builder. */
  static final class Parts {
    Kind kind;
    String subject = "";
    String value = "";
    long bits;
    long address;
    int width;
    long scan;
    long ordinal;
    long time;
    int step = -1;
    Optional<Span> span = Optional.empty();
    String body = "";
    int network;
    int element = -1;
    String words = "";
    boolean library;
  }

  Fact(Parts p) {
    this.kind = Objects.requireNonNull(p.kind);
    this.subject = p.subject;
    this.value = p.value;
    this.bits = p.bits;
    this.address = p.address;
    this.width = p.width;
    this.scan = p.scan;
    this.ordinal = p.ordinal;
    this.time = p.time;
    this.step = p.step;
    this.span = p.span;
    this.body = p.body;
    this.network = p.network;
    this.element = p.element;
    this.words = p.words;
    this.library = p.library;
  }

  /** Called by the builder, before anybody else sees the fact. */
  void reasons(List<Fact> reasons) {
    this.because = List.copyOf(reasons);
  }

  void number(int number) {
    this.id = number;
  }

  /** Number within its explanation, from 1. */
  public int id() {
    return id;
  }

  public Kind kind() {
    return kind;
  }

  /** Name of the variable or terminal; of a computation its step in one line of notation; of a decision its condition as written. */
  public String subject() {
    return subject;
  }

  /** Value as an IEC literal where the type is known, else as a whole number. */
  public String value() {
    return value;
  }

  /** Slot value. */
  public long bits() {
    return bits;
  }

  /** Address as events tell it; 0 when the fact is about no variable. */
  public long address() {
    return address;
  }

  /** Width in bits as events tell it: 64 for a slot; 0 when the fact is about no variable. */
  public int width() {
    return width;
  }

  /** Scan in which it happened, from 1; 0 before the first. */
  public long scan() {
    return scan;
  }

  /** Number of the step within its scan, from 1; 0 when no step was involved. */
  public long ordinal() {
    return ordinal;
  }

  /** Virtual time in nanoseconds. */
  public long time() {
    return time;
  }

  /** Number of the step in the program; -1 when no step was involved. */
  public int step() {
    return step;
  }

  /** Source of the step. */
  public Optional<Span> span() {
    return span;
  }

  /** Name of the body that the step belongs to; empty when no step was involved. */
  public String body() {
    return body;
  }

  /** Number of the ladder network, from 1; 0 outside ladder. */
  public int network() {
    return network;
  }

  /** Number of the ladder element; -1 outside ladder. */
  public int element() {
    return element;
  }

  /** It happened in a body that comes from a library. */
  public boolean isLibrary() {
    return library;
  }

  /** The fact as a clause in the trade's words. */
  public String words() {
    return words;
  }

  /** What decided it: values first, then decisions from the innermost outward. */
  public List<Fact> because() {
    return because;
  }

  @Override
  public String toString() {
    return words;
  }
}
