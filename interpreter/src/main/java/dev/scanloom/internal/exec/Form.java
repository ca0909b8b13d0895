package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import java.util.List;

/**
 * What a condensed form must leave room for.
 *
 * @param reads the policy acts at reads of inputs
 * @param writes the policy acts at writes of outputs
 * @param digests writes go into a digest
 * @param watched variables whose writes somebody wants to see; steps that write them are walked
 */
record Form(boolean reads, boolean writes, boolean digests, List<Watched> watched) {

  /** A slot, or bits of an area. */
  public record Watched(long address, int width) {

    boolean overlaps(long other, int otherWidth) {
      if (Address.isLocated(address) != Address.isLocated(other)) {
        return false;
      }
      return Address.isLocated(address)
          ? Address.area(address) == Address.area(other) && Address.bit(address) < Address.bit(other) + otherWidth
              && Address.bit(other) < Address.bit(address) + width
          : address == other;
    }
  }

  Form {
    watched = List.copyOf(watched);
  }

  boolean sees(long address, int width) {
    for (Watched w : watched) {
      if (w.overlaps(address, width)) {
        return true;
      }
    }
    return false;
  }

  boolean seesLocations() {
    for (Watched w : watched) {
      if (Address.isLocated(w.address)) {
        return true;
      }
    }
    return false;
  }
}
