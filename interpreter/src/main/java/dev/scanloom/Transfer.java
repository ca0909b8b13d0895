package dev.scanloom;

import java.io.IOException;
import java.util.List;

/**
 * What became of the variables when values went from one program or moment to another: {@link Controller#load} and {@link Controller#takeOver}. Immutable.
 *
 * <p>A variable is one with a type of its own: an elementary variable, a string, or an array of these, members of structures and instances one by one.
 * Memory that the compiler makes for itself (edges of contacts, action controls) is carried alike and not listed.
 *
 * @param kept name and type are unchanged
 * @param initialized begin with their initial values
 * @param dropped existed before and do so no longer, or not with that type
 * @param sameProgram the values came from an equal program
 */
public record Transfer(List<Item> kept, List<Item> initialized, List<Item> dropped, boolean sameProgram) {
  public Transfer {
    kept = List.copyOf(kept);
    initialized = List.copyOf(initialized);
    dropped = List.copyOf(dropped);
  }

  /**
   * One variable.
   *
   * @param value an IEC literal; of an array the number of its elements
   * @param reason why, in one line
   */
  public record Item(String path, String type, String value, String reason) {
    @Override
    public String toString() {
      return path + " : " + type + " = " + value + " (" + reason + ")";
    }
  }

  /** Retained memory cannot be used: damaged, of an unknown version, or of other variables than wanted. */
  public static final class Refused extends IOException {
    private static final long serialVersionUID = 1L;

    Refused(String message) {
      super(message);
    }
  }

  @Override
  public String toString() {
    StringBuilder b = new StringBuilder();
    section(b, "kept", kept);
    section(b, "initialized", initialized);
    section(b, "dropped", dropped);
    return b.toString();
  }

  private static void section(StringBuilder b, String title, List<Item> items) {
    b.append(title).append(": ").append(items.size()).append('\n');
    items.forEach(i -> b.append("  ").append(i).append('\n'));
  }
}
