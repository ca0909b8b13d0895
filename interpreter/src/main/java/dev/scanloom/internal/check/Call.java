package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/**
 * A checked call of a function, FB instance, method or action. Arguments are complete for functions and methods (missing inputs carry their
 * default as a constant expression appended behind the written ones); for FB instances only the written ones stand here.
 *
 * @param arguments in the order in which they are evaluated: the textual one
 * @param en value of EN where it is connected
 * @param eno target of ENO where it is connected ({@code ENO => ok})
 */
public record Call(Span span, Target target, List<Argument> arguments, Optional<Expr> en, Optional<Output> eno) {
  public Call {
    arguments = List.copyOf(arguments);
  }

  /** What is called. */
  public sealed interface Target {}

  /** A function; also a native one. */
  public record Function(Pou pou) implements Target {}

  /** The body of an FB instance. {@code dynamic}: the actual type decides (in-out or reference of a base type that has derived ones). */
  public record Instance(Place place, Pou pou, boolean dynamic) implements Target {}

  /** A method (or property accessor) of an instance. {@code dynamic}: the actual type decides. */
  public record Method(Place receiver, Pou method, boolean dynamic) implements Target {}

  public sealed interface Argument {
    Variable parameter();
  }

  /** An input; {@code value} has the parameter's type. */
  public record Input(Variable parameter, Expr value) implements Argument {}

  /** An in-out: the address of {@code place} is passed. */
  public record InOut(Variable parameter, Place place) implements Argument {}

  /**
   * An output copied after the call. {@code conversion}: the type to which the value must be converted implicitly for the target; equal to the
   * target's type.
   */
  public record Output(Variable parameter, boolean negated, Place target) implements Argument {}
}
