package dev.scanloom.stdlib;

import dev.scanloom.library.NativeBody;
import java.util.Collections;
import java.util.Map;
import java.util.TreeMap;

/** The table of Java bodies by the name in the {@code {native name}} pragma, and the checks under MUTEX and SEMAPHORE. */
final class Bodies {
  static final Map<String, NativeBody> ALL;

  static {
    Map<String, NativeBody> all = new TreeMap<>();
    NumericalBodies.addTo(all);
    BitBodies.addTo(all);
    StringBodies.addTo(all);
    CharacterBodies.addTo(all);
    DateBodies.addTo(all);
    ALL = Collections.unmodifiableMap(all);
  }

  private Bodies() {}
}
