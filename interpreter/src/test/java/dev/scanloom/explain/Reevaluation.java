package dev.scanloom.explain;

import dev.scanloom.explain.Fact.Kind;
import java.util.ArrayList;
import java.util.List;

/**
 * Computes the value of an explanation from its leaves alone, with three-valued logic: a leaf can be made unknown, and then only what is
 * decided without it is known. Independent of the executor.
 */
final class Reevaluation {
  private final Fact unknown;
  /** Values by number of fact; facts are shared. */
  private final Long[] values;
  private final boolean[] done;

  private Reevaluation(Explanation e, Fact unknown) {
    this.unknown = unknown;
    this.values = new Long[e.facts().size() + 1];
    this.done = new boolean[e.facts().size() + 1];
  }

  /** The value, or null when it is underdetermined. */
  static Long of(Explanation e, Fact unknown) {
    return new Reevaluation(e, unknown).value(e.root());
  }

  private Long value(Fact f) {
    if (!done[f.id()]) {
      done[f.id()] = true;
      values[f.id()] = f == unknown ? null : compute(f);
    }
    return values[f.id()];
  }

  private Long compute(Fact f) {
    if (f.kind().isLeaf()) {
      return f.bits();
    }
    List<Fact> data = new ArrayList<>();
    boolean decided = true;
    for (Fact b : f.because()) {
      if (b.kind() == Kind.DECISION || b.kind() == Kind.UNCHANGED) {
        decided &= value(b) != null;
      } else {
        data.add(b);
      }
    }
    Long v = decided ? own(f, data) : null;
    if (v != null && v != f.bits() && f.kind() != Kind.DECISION && f.kind() != Kind.UNCHANGED) {
      throw new AssertionError(f + " tells " + f.bits() + ", its reasons make " + v);
    }
    return v;
  }

  private Long own(Fact f, List<Fact> data) {
    return switch (f.kind()) {
      case UNCHANGED -> f.bits();
      case DECISION -> check(f, value(data.get(0)));
      case WRITE -> {
        Long v = value(data.get(0));
        for (Fact pointer : data.subList(1, data.size())) {
          Long at = value(pointer);
          if (at != null && at != f.address()) {
            throw new AssertionError(f + " went to " + f.address() + ", its reasons point at " + at);
          }
          v = at == null ? null : v;
        }
        // a BOOL written to a location of one bit, a number to one of several: slots are sign-extended
        yield v;
      }
      case READ, INPUT_REFRESH, DELIVERY -> assembled(f, data);
      case COMPUTATION -> computed(f, data);
      default -> throw new AssertionError("a leaf has reasons: " + f.kind());
    };
  }

  private static Long check(Fact f, Long v) {
    if (v != null && v != f.bits()) {
      throw new AssertionError(f + " tells " + f.bits() + ", its reasons make " + v);
    }
    return v;
  }

  private Long assembled(Fact f, List<Fact> data) {
    if (!Locations.isLocated(f.address())) {
      Long v = value(data.get(0));
      for (Fact pointer : data.subList(1, data.size())) {
        Long at = value(pointer);
        if (at != null && at != f.address()) {
          throw new AssertionError(f + " is at " + f.address() + ", its reasons point at " + at);
        }
        v = at == null ? null : v;
      }
      return v;
    }
    long v = 0;
    long known = 0;
    for (Fact d : data) {
      Long part = value(d);
      if (part == null) {
        return null;
      }
      for (int i = 0; i < f.width(); i++) {
        long at = f.address() + i - d.address();
        if (at >= 0 && at < d.width()) {
          v |= (part >>> at & 1) << i;
          known |= 1L << i;
        }
      }
    }
    if (known != (f.width() == 64 ? -1 : (1L << f.width()) - 1)) {
      throw new AssertionError(f + " lacks the origin of some bits");
    }
    return v;
  }

  private Long computed(Fact f, List<Fact> data) {
    List<Long> v = new ArrayList<>();
    for (Fact d : data) {
      v.add(value(d));
    }
    String[] words = f.subject().split(" ");
    switch (words[0]) {
      case "AND", "CONTACT":
        if (v.contains(0L)) {
          return 0L;
        }
        return v.size() < 2 || v.contains(null) ? null : v.get(0) & v.get(1);
      case "OR":
        if (v.contains(1L)) {
          return 1L;
        }
        return v.size() < 2 || v.contains(null) ? null : v.get(0) | v.get(1);
      case "MUL":
        if (v.contains(0L)) {
          return 0L;
        }
        return v.size() < 2 || v.contains(null) ? null : (long) (short) (v.get(0) * v.get(1));
      default:
    }
    if (v.contains(null)) {
      return null;
    }
    return switch (words[0]) {
      case "XOR" -> v.get(0) ^ v.get(1);
      case "NOT" -> 1 - v.get(0);
      case "ADD" -> (long) (short) (v.get(0) + v.get(1));
      case "SUB" -> (long) (short) (v.get(0) - v.get(1));
      case "LT" -> v.get(0) < v.get(1) ? 1L : 0L;
      case "GT" -> v.get(0) > v.get(1) ? 1L : 0L;
      case "LE" -> v.get(0) <= v.get(1) ? 1L : 0L;
      case "GE" -> v.get(0) >= v.get(1) ? 1L : 0L;
      case "EQ" -> v.get(0).equals(v.get(1)) ? 1L : 0L;
      case "NE" -> v.get(0).equals(v.get(1)) ? 0L : 1L;
      case "INDEX" -> v.get(0) + (v.get(1) - Long.parseLong(words[1].substring(0, words[1].indexOf("..")))) * Long.parseLong(words[3]);
      case "OFFSET" -> v.get(0) + Long.parseLong(words[1]);
      default -> throw new AssertionError("no re-evaluation of " + f.subject());
    };
  }
}
