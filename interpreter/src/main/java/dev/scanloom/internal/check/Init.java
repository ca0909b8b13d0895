package dev.scanloom.internal.check;

import java.util.List;
import java.util.Map;

/** The initial value of a variable, complete and converted to its type. Absent parts take the default of their type. */
public sealed interface Init {

  /** Value of a scalar slot: elementary, enumeration, subrange, NULL reference (0). */
  record Scalar(long value) implements Init {}

  /** A string: code units (STRING 8 bit, WSTRING 16 bit) or code points (USTRING); never longer than the capacity. */
  record Text(int[] units) implements Init {}

  /** Leading elements of an array, in storage order, run by run; the rest take their default. */
  record Array(List<Run> runs) implements Init {
    public Array {
      runs = List.copyOf(runs);
    }
  }

  /** {@code count} elements with one value; a null value means the default of the element type. */
  record Run(long count, Init value) {}

  /** Named members of a structure or block instance, keyed by the variable; in textual order. */
  record Members(Map<Variable, Init> values) implements Init {}

  /** {@code REF(x)} or an interface variable bound to an instance: address of a static place. */
  record Address(Place place) implements Init {}
}
