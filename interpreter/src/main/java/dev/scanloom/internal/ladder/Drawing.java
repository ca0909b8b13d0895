package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import java.util.List;
import java.util.Optional;

/**
 * A ladder body as a graph: what the reader makes of a drawing. Networks in the order of their first row; elements of a network in
 * evaluation order. Positions (row, column) count from 1 and are those of the drawing's own grid: row 1 is the first line of the body.
 */
public record Drawing(Span span, List<Network> networks) {
  public Drawing {
    networks = List.copyOf(networks);
  }

  /**
   * A network: all elements connected with each other other than through a rail.
   *
   * @param number counts from 1 within the body
   * @param span from the first to the last character of the network's rows
   * @param label the label in front of it
   * @param comment text of the comments that stand before it, without their marks; empty without one
   * @param segments the links as drawn, for pictures
   */
  public record Network(
      int number, Span span, Optional<Name> label, String comment, List<Element> elements, List<Segment> segments) {
    public Network {
      elements = List.copyOf(elements);
      segments = List.copyOf(segments);
    }
  }

  /** Where a link may get its state from. */
  public sealed interface Port {}

  /** The left power rail: always ON. */
  public record Rail() implements Port {}

  /**
   * Output of an element of the same network.
   *
   * @param element index in {@link Network#elements()}; smaller than the index of the element that uses it
   * @param pin 0 for contacts, compare contacts and coils (their right link); for a box, index in {@link Box#outputs()}
   */
  public record Out(int element, int pin) implements Port {}

  /** The state of a link: OR of its sources. Never empty. A single source that is not BOOL (box to box) passes its value. */
  public record Link(List<Port> sources) {
    public Link {
      sources = List.copyOf(sources);
    }
  }

  /** Place of an element: span of its characters, grid position of its first character, and size in characters. */
  public record Place(Span span, int row, int column, int width, int height) {}

  public sealed interface Element {
    Place place();

    <R> R accept(Visitor<R> v);
  }

  public interface Visitor<R> {
    R contact(Contact e);

    R compare(Compare e);

    R coil(Coil e);

    R jump(Jump e);

    R returnFrom(Return e);

    R box(Box e);
  }

  public enum ContactMark { NORMAL, NEGATED, RISING, FALLING }

  /** Table 75, 1 to 4. */
  public record Contact(Place place, ContactMark mark, Expression operand, Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.contact(this);
    }
  }

  public enum Comparison { EQ, NE, LT, LE, GT, GE }

  /** Table 75, 5a and 5b. */
  public record Compare(Place place, Comparison comparison, Optional<Name> type, Expression first, Expression second, Link left)
      implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.compare(this);
    }
  }

  public enum CoilMark { NORMAL, NEGATED, SET, RESET, RISING, FALLING }

  /** Table 76. */
  public record Coil(Place place, CoilMark mark, Expression operand, Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.coil(this);
    }
  }

  /** Table 73, 1 and 2. */
  public record Jump(Place place, Name target, Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.jump(this);
    }
  }

  /** Table 73, 3 and 5. */
  public record Return(Place place, Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.returnFrom(this);
    }
  }

  /**
   * A function or FB call. Pins in the order of their rows. EN and ENO are pins like any other. An in-out stands in {@code inputs} with
   * {@code inOut} true and, when a variable stands at its right, also in {@code outputs} with {@code inOut} true.
   */
  public record Box(Place place, Name type, Optional<Expression> instance, List<Input> inputs, List<Output> outputs) implements Element {
    public Box {
      inputs = List.copyOf(inputs);
      outputs = List.copyOf(outputs);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.box(this);
    }
  }

  public enum EdgeMark { NONE, RISING, FALLING }

  /**
   * An input pin. At most one of {@code link} and {@code value} is present; neither when the pin is not connected.
   *
   * @param span from the outermost mark to the name: starts at the {@code O} of a negated pin, else at the edge mark in the border, else
   *     at the name (an unnamed pin: at the border). So a finding about the mark is at {@code span.start()}, one about the name at its own
   *     span, and the edge mark of a negated pin one character behind {@code span.start()}
   * @param name empty for an unnamed pin
   */
  public record Input(
      Span span, Optional<Name> name, boolean negated, EdgeMark edge, boolean inOut, Optional<Link> link, Optional<Expression> value) {}

  /**
   * An output pin. Links to other elements are found at their inputs; {@code targets} are the variables written directly from the pin.
   *
   * @param span from the name (without one: the border) to the {@code O} of a negated pin
   * @param name empty for the function result
   */
  public record Output(Span span, Optional<Name> name, boolean negated, boolean inOut, List<Expression> targets) {
    public Output {
      targets = List.copyOf(targets);
    }
  }

  /**
   * A straight piece of link as drawn: horizontal when {@code row == toRow}, vertical when {@code column == toColumn}.
   *
   * @param link the state it carries
   */
  public record Segment(int row, int column, int toRow, int toColumn, Link link) {}
}
