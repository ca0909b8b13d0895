package dev.scanloom.model;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/**
 * A ladder element as drawn, for viewers. Immutable.
 *
 * @param id number in the program, as events and displays know it; -1 when nothing of it is executed
 * @param pou name of the body it stands in
 * @param network number of its network, from 1
 * @param mark the character inside the element: blank, {@code /}, {@code P}, {@code N}, {@code S}, {@code R}, or the comparison
 * @param title operand or type as written
 * @param span its characters in the source
 * @param row first row in the grid of the drawing, from 1
 * @param column first column, from 1
 * @param width in characters
 * @param height in rows
 * @param pins of a box, inputs first; empty for others
 */
public record Element(
    int id, String pou, int network, Kind kind, String mark, String title, Span span, int row, int column, int width, int height, List<Pin> pins) {
  public Element {
    pins = List.copyOf(pins);
  }

  /** Kinds of elements (Tables 73, 75, 76 and boxes). */
  public enum Kind { CONTACT, COMPARE, COIL, JUMP, RETURN, BOX }

  /**
   * A pin of a box.
   *
   * @param name as written; empty for an unnamed pin
   * @param row row of the grid, from 1
   * @param value text of the value or variables at its far end; empty when it is linked or open
   * @param output stands at the right side
   */
  public record Pin(String name, int row, String value, boolean negated, boolean output) {}
}
