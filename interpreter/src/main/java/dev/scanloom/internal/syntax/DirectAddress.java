package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;

/**
 * A directly represented location such as {@code %IX0.3}, {@code %QW2}, {@code %I*} (Table 16), or a relative one such as
 * {@code %B4}, {@code %X4.1} in a structure (Table 11, 8).
 *
 * @param area 'I', 'Q', 'M', or 0 for a relative address
 * @param size 'X', 'B', 'W', 'D', 'L', or 0 when no letter is written (one bit)
 * @param levels the numbers, leftmost first; empty when {@code incomplete}
 * @param incomplete written with {@code *}
 */
public record DirectAddress(Span span, char area, char size, List<Integer> levels, boolean incomplete) {
  public DirectAddress {
    levels = List.copyOf(levels);
  }
}
