package dev.scanloom.model;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/**
 * A ladder network as drawn, for viewers. Rows and columns count from 1 in the grid of the body's drawing. Immutable.
 *
 * @param number counts from 1 within the body
 * @param span the rows of the drawing that belong to it
 * @param label label in front of it; empty without one
 * @param comment comment in front of it; empty without one
 * @param elements in evaluation order
 * @param segments the links as drawn
 */
public record Network(int number, Span span, String label, String comment, List<Element> elements, List<Segment> segments) {
  public Network {
    elements = List.copyOf(elements);
    segments = List.copyOf(segments);
  }

  /**
   * A straight piece of link: horizontal when {@code row == toRow}, vertical when {@code column == toColumn}. Its state is the OR of its sources.
   */
  public record Segment(int row, int column, int toRow, int toColumn, List<Source> sources) {
    public Segment {
      sources = List.copyOf(sources);
    }
  }

  /**
   * Where a link gets its state: the left power rail, which is always ON, or an element's right link.
   *
   * @param element number of the element in the program ({@link Element#id()}), -1 for the rail
   * @param pin index of the output pin of a box, else 0
   */
  public record Source(int element, int pin) {}
}
