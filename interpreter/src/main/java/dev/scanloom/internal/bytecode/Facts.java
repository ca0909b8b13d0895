package dev.scanloom.internal.bytecode;

import java.util.Iterator;
import java.util.Map;
import java.util.TreeMap;
import java.util.TreeSet;

/**
 * What is known at a point of a method: which slots have their value in a local variable of the JVM too, and between which bounds it lies. Every store goes to
 * memory as well (but for temporaries, see {@link Frame}), so that dropping a fact is always right.
 */
final class Facts {
  /**
   * A slot whose value is in its local variable.
   *
   * @param where the slot
   * @param version names the store, or the meeting of ways, that gave it its value
   * @param dirty a truth value of which only the lowest bit counts
   * @param target the slot that it holds the address of, if that is known
   * @param made what the value was computed as, if that has a name
   */
  record Fact(Place where, String version, long low, long high, boolean dirty, Place target, String made) {
    /** It was read from memory, not computed. */
    boolean isRead() {
      return version.startsWith(READ);
    }

    Fact between(long least, long greatest) {
      return new Fact(where, version, Math.max(low, least), Math.min(high, greatest), dirty, target, made);
    }
  }

  /** Begins the version of what was read. */
  static final String READ = "r";

  private final TreeMap<Place.Key, Fact> facts = new TreeMap<>();

  Facts() {}

  Facts(Facts o) {
    facts.putAll(o.facts);
  }

  Fact get(Place.Key key) {
    return key == null ? null : facts.get(key);
  }

  void put(Place.Key key, Fact fact) {
    facts.put(key, fact);
  }

  void remove(Place.Key key) {
    facts.remove(key);
  }

  Map<Place.Key, Fact> all() {
    return facts;
  }

  /** A store has changed a slot. */
  void changed(Place place) {
    facts.values().removeIf(f -> place.mayBe(f.where));
  }

  /** Anything may have changed but the parts of the frame that only this method can reach. */
  void anything(Frame frame) {
    facts.keySet().removeIf(k -> !(k.root() == Place.Root.FRAME && k.isFixed() && frame.isPrivate(k.offset())));
  }

  /** What holds whichever way control comes. {@code point} names the meeting. */
  void meet(Facts o, String point) {
    Iterator<Map.Entry<Place.Key, Fact>> it = facts.entrySet().iterator();
    while (it.hasNext()) {
      Map.Entry<Place.Key, Fact> e = it.next();
      Fact f = e.getValue();
      Fact g = o.facts.get(e.getKey());
      if (g == null) {
        it.remove();
      } else if (!f.equals(g)) {
        boolean same = f.version.equals(g.version);
        e.setValue(new Fact(f.where, same ? f.version : point, Math.min(f.low, g.low), Math.max(f.high, g.high), f.dirty || g.dirty,
            f.target != null && f.target.equals(g.target) ? f.target : null, same && f.made != null && f.made.equals(g.made) ? f.made : null));
      }
    }
  }

  /**
   * Where a loop begins: values that a way back has changed may be those of any round, and names of computed places are those of one round. Bounds that have
   * grown since {@code before} grow to the next of {@code steps}, or of the bounds of types. {@code meeting}: what {@link #meet} was given.
   */
  void loop(String meeting, String point, Facts before, Map<Place.Key, TreeSet<Long>> steps) {
    facts.keySet().removeIf(k -> !k.isFixed() || before != null && before.get(k) == null);
    facts.replaceAll((k, f) -> {
      Fact old = before == null ? null : before.get(k);
      long low = f.low;
      long high = f.high;
      if (old != null) {
        if (low < old.low) {
          low = next(steps.get(k), low, -1);
        } else {
          low = old.low;
        }
        if (high > old.high) {
          high = next(steps.get(k), high, 1);
        } else {
          high = old.high;
        }
      }
      boolean dirty = f.dirty || old != null && old.dirty;
      Place target = old == null || f.target != null && f.target.equals(old.target) ? f.target : null;
      boolean changes = f.version.equals(meeting) || old != null && old.version.equals(point);
      return new Fact(f.where, changes ? point : f.version, low, high, dirty, target, changes ? null : f.made);
    });
  }

  /** Whether all that {@code o} says follows from this. */
  boolean implies(Facts o) {
    for (Map.Entry<Place.Key, Fact> e : o.facts.entrySet()) {
      Fact f = facts.get(e.getKey());
      Fact g = e.getValue();
      if (f == null || !f.version.equals(g.version) || f.low < g.low || f.high > g.high || f.dirty && !g.dirty
          || g.target != null && !g.target.equals(f.target)) {
        return false;
      }
    }
    return true;
  }

  private static long next(TreeSet<Long> steps, long v, int direction) {
    Long step = steps == null ? null : direction < 0 ? steps.floor(v) : steps.ceiling(v);
    if (step != null) {
      return step;
    }
    for (int bits : new int[] {7, 8, 15, 16, 31, 32, 62}) {
      long bound = direction < 0 ? -1L << bits : (1L << bits) - 1;
      if (direction < 0 ? bound <= v : bound >= v) {
        return bound;
      }
    }
    return direction < 0 ? Long.MIN_VALUE : Long.MAX_VALUE;
  }

  @Override
  public boolean equals(Object o) {
    return o instanceof Facts f && facts.equals(f.facts);
  }

  @Override
  public int hashCode() {
    return facts.hashCode();
  }
}
