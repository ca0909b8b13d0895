package dev.scanloom.model;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/**
 * A POU, method, action or condition of a checked program, for viewers. Immutable.
 *
 * @param name qualified name, as steps and listings tell it
 * @param span place of its name or body in the source
 * @param library comes from a library, not from the user's files
 * @param networks its ladder networks in their order; empty when the body is not ladder
 */
public record Pou(String name, Span span, boolean library, List<Network> networks) {
  public Pou {
    networks = List.copyOf(networks);
  }
}
