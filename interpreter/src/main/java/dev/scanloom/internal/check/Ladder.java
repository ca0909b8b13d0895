package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Drawing;
import java.util.List;
import java.util.Optional;

/**
 * A checked ladder body: the drawing's graph with operands resolved. Elements stand in evaluation order; {@code Drawing.Out} indices in links refer to
 * {@link Network#elements()}, which has the same order and size as the drawing's.
 */
public record Ladder(List<Network> networks) {
  public Ladder {
    networks = List.copyOf(networks);
  }

  public record Network(Drawing.Network drawing, List<Element> elements) {
    public Network {
      elements = List.copyOf(elements);
    }
  }

  public sealed interface Element {
    /** Text of the operand or type as people know it, for reports: {@code Door}, {@code %IX0.0}, {@code TON}. */
    String title();

    Span span();

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

  /** {@code memory} is the hidden variable of a transition-sensing contact; its initial value is that of the operand. */
  public record Contact(Span span, String title, Drawing.ContactMark mark, Place operand, Drawing.Link left, Optional<Variable> memory)
      implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.contact(this);
    }
  }

  /** {@code condition} is a BOOL expression: the comparison of both operands. */
  public record Compare(Span span, String title, Expr condition, Drawing.Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.compare(this);
    }
  }

  /** {@code memory} is the hidden variable of a transition-sensing coil; starts FALSE. */
  public record Coil(Span span, String title, Drawing.CoilMark mark, Place operand, Drawing.Link left, Optional<Variable> memory)
      implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.coil(this);
    }
  }

  /** {@code network} is the index of the target in {@link Ladder#networks()}. */
  public record Jump(Span span, String title, int network, Drawing.Link left) implements Element {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.jump(this);
    }
  }

  public record Return(Span span, Drawing.Link left) implements Element {
    @Override
    public String title() {
      return "RETURN";
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.returnFrom(this);
    }
  }

  /**
   * A box. Exactly one of {@code call} and {@code value} is present: a call (function, FB instance), or an expression for functions that the core executes
   * itself (intrinsics, operators). Inputs from links are {@link Expr.LinkState} inside them. With {@code value} and EN connected, {@code en} holds it.
   *
   * @param en EN of a box with {@code value}; for a call it is in {@link Call#en()}
   * @param pins outputs, same order and size as the drawing box's outputs
   */
  public record Box(Span span, String title, Optional<Call> call, Optional<Expr> value, Optional<Expr> en, List<Pin> pins) implements Element {
    public Box {
      pins = List.copyOf(pins);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.box(this);
    }
  }

  /** Where an output pin takes its value from, and the variables written directly from it (value converted to their type where needed). */
  public record Pin(PinSource source, Type type, boolean negated, List<Place> targets) {
    public Pin {
      targets = List.copyOf(targets);
    }
  }

  public sealed interface PinSource {}

  /** The function result. */
  public record Result() implements PinSource {}

  /** ENO. */
  public record Eno() implements PinSource {}

  /** An output (or in-out) parameter of the called function, or an output of the called instance. */
  public record Parameter(Variable parameter) implements PinSource {}
}
