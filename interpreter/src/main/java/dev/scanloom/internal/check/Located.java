package dev.scanloom.internal.check;

/**
 * A place in one of the located areas. Hierarchical addresses are mapped to bits like this: {@code %IX2.5} is bit 5 of byte 2; {@code %IX12} (simple
 * bit address) is bit 12, that is bit 4 of byte 1; {@code %IB3} byte 3; {@code %IW3}, {@code %ID3}, {@code %IL3} the 16, 32, 64 bits from byte
 * 2*3, 4*3, 8*3 (areas overlap; least significant byte first); longer hierarchies are not mapped and are diagnosed.
 *
 * @param area 'I', 'Q' or 'M'
 * @param bit offset of the least significant bit from the start of the area
 * @param width 1, 8, 16, 32 or 64
 */
public record Located(char area, long bit, int width) {

  /** A location that the declaration leaves open with {@code *}: VAR_CONFIG completes it for each instance. Its bit is -1. */
  static Located open(char area, int width) {
    return new Located(area, -1, width);
  }

  // A key of maps: see Type.

  @Override
  public boolean equals(Object other) {
    return other instanceof Located l && l.area == area && l.bit == bit && l.width == width;
  }

  @Override
  public int hashCode() {
    return 31 * (31 * area + Long.hashCode(bit)) + width;
  }
}
