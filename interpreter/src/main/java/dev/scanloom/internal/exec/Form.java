package dev.scanloom.internal.exec;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Extent;
import java.util.List;

/**
 * What a condensed form must leave room for.
 *
 * @param reads the policy acts at reads of inputs
 * @param writes the policy acts at writes of outputs
 * @param digests writes go into a digest
 * @param watched variables whose writes somebody wants to see; steps that write them are walked
 */
record Form(boolean reads, boolean writes, boolean digests, List<Extent> watched) {

  Form {
    watched = List.copyOf(watched);
  }

  boolean sees(long address, int width) {
    return Extent.anyOverlaps(watched, address, width);
  }

  boolean seesLocations() {
    for (Extent w : watched) {
      if (Address.isLocated(w.address())) {
        return true;
      }
    }
    return false;
  }
}
