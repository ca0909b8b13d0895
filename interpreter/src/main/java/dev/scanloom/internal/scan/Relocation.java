package dev.scanloom.internal.scan;

import dev.scanloom.internal.memory.Inventory;
import dev.scanloom.internal.step.Address;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;

/** From slots of one program to those of another that hold the same parts. */
final class Relocation {
  private record Stretch(int slots, long target) {}

  private final TreeMap<Long, Stretch> stretches = new TreeMap<>();

  Relocation(List<Inventory.Part> mine, List<Inventory.Part> theirs) {
    for (int i = 0; i < mine.size(); i++) {
      if (!theirs.get(i).isLocated()) {
        stretches.put(theirs.get(i).address(), new Stretch(theirs.get(i).shape().slots(), mine.get(i).address()));
      }
    }
  }

  /** NULL when the slot belongs to none of the parts. */
  long of(long slot) {
    Map.Entry<Long, Stretch> e = stretches.floorEntry(slot);
    return e == null || slot >= e.getKey() + e.getValue().slots() ? Address.NULL : e.getValue().target() + (slot - e.getKey());
  }
}
