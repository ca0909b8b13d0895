package dev.scanloom.internal.bytecode;

/**
 * A slot in memory, whose address lies in memory by construction: a root, a known distance and maybe a computed one.
 *
 * @param root what {@code offset} counts from
 * @param moving the computed part of the distance, in slots; null if there is none
 * @param name names the computed part: places with equal names, roots and offsets are the same slot; null when it cannot be named
 * @param low least distance from the root that the slot can have, for deciding what a store may change
 * @param high greatest distance
 * @param slots of the element of an array that begins here, else 1
 */
record Place(Root root, int offset, Value moving, String name, int low, int high, int slots) {
  /** ABSOLUTE: slot 0. SELF: an instance that is not known when the method is written. FRAME: the frame of the method. */
  enum Root { ABSOLUTE, SELF, FRAME }

  static Place at(Root root, int offset) {
    return new Place(root, offset, null, "", offset, offset, 1);
  }

  Place plus(int slots) {
    return slots == 0 ? this : new Place(root, offset + slots, moving, name, low + slots, high + slots, 1);
  }

  /** An element: {@code index} counts from {@code first} to {@code last} in steps of {@code stride} slots. */
  Place element(Value index, long first, long last, int stride) {
    int base = (int) -(first * stride);
    Value part = index.times(stride);
    int span = (int) ((last - first) * stride);
    String joined = name == null || part.name() == null ? null : name.isEmpty() ? part.name() : name + "+" + part.name();
    if (joined != null && joined.length() > 200) {
      joined = null;
    }
    return new Place(root, offset + base, moving == null ? part : moving.plus(part), joined, low, high + span, stride);
  }

  boolean isFixed() {
    return moving == null;
  }

  /** The same with its computed part in a local variable. */
  Place with(Value settled) {
    return new Place(root, offset, settled, name, low, high, slots);
  }

  Key key() {
    return name == null ? null : new Key(root, name, offset);
  }

  /** Whether a store here can change what lies there. */
  boolean mayBe(Place other) {
    if ((root == Root.FRAME) != (other.root == Root.FRAME)) {
      // The method's own frame: nothing else leads there but addresses of its parts, which are no places.
      return false;
    }
    if (root != other.root) {
      return true;
    }
    if (name != null && name.equals(other.name)) {
      return offset == other.offset;
    }
    return low <= other.high && other.low <= high;
  }

  /** Identity of a slot. */
  record Key(Root root, String name, int offset) implements Comparable<Key> {
    @Override
    public int compareTo(Key o) {
      int c = root.compareTo(o.root);
      if (c == 0) {
        c = Integer.compare(offset, o.offset);
      }
      return c != 0 ? c : name.compareTo(o.name);
    }

    boolean isFixed() {
      return name.isEmpty();
    }
  }
}
