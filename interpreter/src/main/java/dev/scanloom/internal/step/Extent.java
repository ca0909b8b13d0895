package dev.scanloom.internal.step;

import java.util.List;

/** A slot, or bits of an area. {@code width} counts for locations only. */
public record Extent(long address, int width) {

  /** The same slot, or some of the same bits. */
  public boolean overlaps(long other, int otherWidth) {
    if (!Address.isLocated(address) || !Address.isLocated(other)) {
      return address == other;
    }
    return Address.area(address) == Address.area(other) && Address.bit(address) < Address.bit(other) + otherWidth
        && Address.bit(other) < Address.bit(address) + width;
  }

  /** One of them overlaps. */
  public static boolean anyOverlaps(List<Extent> all, long address, int width) {
    for (int i = 0; i < all.size(); i++) {
      if (all.get(i).overlaps(address, width)) {
        return true;
      }
    }
    return false;
  }
}
