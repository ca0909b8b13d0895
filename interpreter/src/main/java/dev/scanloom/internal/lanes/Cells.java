package dev.scanloom.internal.lanes;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;

/** Numbers for everything that can hold a Boolean: slots first, then the bits of I, Q and M. */
final class Cells {
  final int slots;
  final int staticSlots;
  final int total;
  private final int[] areaStart = new int[4];
  private final int[] areaBits = new int[4];

  /** {@code slots}: all of a lane's memory. */
  Cells(Code code, int slots) {
    this.slots = slots;
    staticSlots = code.memory().staticSlots();
    long at = slots;
    for (int area = 1; area <= 3; area++) {
      areaStart[area] = (int) at;
      areaBits[area] = 8 * code.memory().areaBytes()[area - 1];
      at += areaBits[area];
    }
    if (at > Integer.MAX_VALUE / 2) {
      throw new IllegalArgumentException("the memory is too large: " + at + " cells");
    }
    total = (int) at;
  }

  int of(long address) {
    return Address.isLocated(address) ? areaStart[Address.area(address)] + (int) Address.bit(address) : (int) address;
  }

  int areaStart(int area) {
    return areaStart[area];
  }

  int areaBits(int area) {
    return areaBits[area];
  }

  /** The address is one of this memory, whole. */
  boolean isInside(long address, int width) {
    if (!Address.isLocated(address)) {
      return address > 0 && address < slots;
    }
    int area = Address.area(address);
    return area != 0 && Address.bit(address) + width <= areaBits[area];
  }

  boolean isFrame(int cell) {
    return cell >= staticSlots && cell < slots;
  }
}
