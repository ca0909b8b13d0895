package dev.scanloom.observe;

import java.util.ArrayDeque;
import java.util.EnumSet;
import java.util.Set;

/**
 * An observer that remembers: everything, or the last scans only, or nothing but a hash over everything. The hash is the same on every machine for
 * the same program, policy and stimulus. Two traces of a program are equal when they have seen the same events, whatever they kept of them.
 *
 * <p>The hash of a trace of all kinds covers what the rest follows from: every write, with its step and value; every other event but steps, reads and
 * ladder elements; of displays, when which one sampled. The hash of a trace of some kinds covers each of its events.
 *
 * <p>A controller need not tell a trace of all kinds everything at once: for the hash it is enough to know what was written, and the last scans can be told
 * again when somebody asks, by running them once more from where they began, since what a scan does depends on the state at its start alone. So such
 * a trace costs little while the machine runs; see {@link Source}. Otherwise an event takes about 70 bytes. Confined to the thread that scans.
 */
public final class Trace implements Observer {
  private static final long PRIME = 0x100000001b3L;

  private final Set<EventKind> wants;
  private final boolean all;
  private final Keep keep;
  private final int scans;

  private long hash = 0xcbf29ce484222325L;
  private long writes = 0x9E3779B97F4A7C15L;
  private long count;
  private long lastSample = -1;
  private String lastDisplay = "";
  private Source source;

  /** What is kept: of whole traces one piece, else one or more a scan, oldest first. */
  private final ArrayDeque<Piece> pieces = new ArrayDeque<>();
  private Rows spare;
  private long lastScan;
  /** The kept events in one, made when somebody asks. */
  private Rows flat;

  private enum Keep { WHOLE, LAST, NOTHING }

  /** Rows, or what a source needs to tell them again. */
  private record Piece(long scan, Rows rows, Source source, Object mark) {}

  /** What a controller offers a trace of all kinds in place of single events. */
  public interface Source {

    /** {@link Trace#digest} over all writes by steps, continued from where the trace stood when it was attached. */
    long digest();

    /** A scan is running whose events can be told again. */
    boolean isSilent();

    /** Tells the events of a scan again, from the call that ran it to its end. {@code mark}: what {@link Trace#remember} was given. */
    void retell(Object mark, Observer observer);
  }

  private Trace(Set<EventKind> wants, Keep keep, int scans) {
    this.wants = Set.copyOf(wants);
    this.all = this.wants.size() == EventKind.values().length;
    this.keep = keep;
    this.scans = scans;
  }

  /** Keeps every event of every kind. */
  public static Trace whole() {
    return whole(EnumSet.allOf(EventKind.class));
  }

  /** Keeps every event of some kinds. */
  public static Trace whole(Set<EventKind> kinds) {
    return new Trace(kinds, Keep.WHOLE, 0);
  }

  /** Keeps the events of the last {@code scans} scans, the one in progress included. */
  public static Trace lastScans(int scans) {
    return lastScans(scans, EnumSet.allOf(EventKind.class));
  }

  /**
   * Keeps the events of some kinds of the last scans.
   *
   * @throws IllegalArgumentException for fewer than 1
   */
  public static Trace lastScans(int scans, Set<EventKind> kinds) {
    if (scans < 1) {
      throw new IllegalArgumentException("at least 1 scan is kept: " + scans);
    }
    return new Trace(kinds, Keep.LAST, scans);
  }

  /** Keeps nothing but the hash. */
  public static Trace hashOnly() {
    return hashOnly(EnumSet.allOf(EventKind.class));
  }

  /** Keeps nothing but the hash over the events of some kinds. */
  public static Trace hashOnly(Set<EventKind> kinds) {
    return new Trace(kinds, Keep.NOTHING, 0);
  }

  @Override
  public Set<EventKind> wants() {
    return wants;
  }

  // ---- with a source ----

  /** Step number, address and value of a write join a digest. */
  public static long digest(long digest, int step, long address, long value) {
    long x = (value ^ address * 0x9E3779B97F4A7C15L ^ step * 0xC2B2AE3D27D4EB4FL) * 0xFF51AFD7ED558CCDL;
    return (digest + (x ^ x >>> 32)) * 0xD6E8FEB86659FD93L;
  }

  /** Takes all kinds and keeps the last scans or nothing, so that less than all events will do. */
  public boolean canFollow() {
    return all && keep != Keep.WHOLE;
  }

  /** Keeps the last scans. */
  public boolean keepsScans() {
    return keep == Keep.LAST;
  }

  /** The digest over the writes by steps so far. */
  public long writes() {
    return source == null ? writes : source.digest();
  }

  /**
   * Called by a controller: from now on it tells all events but steps, reads, elements and writes by steps, and those of scans that the trace is to
   * {@link #remember} can be told again. {@code null}: from now on it tells everything.
   */
  public void follow(Source now) {
    writes = writes();
    source = now;
  }

  /** Called by the source: a scan begins that can be told again. */
  public void remember(long scan, Object mark) {
    flat = null;
    pieces.add(new Piece(scan, null, source, mark));
  }

  // ---- what it is told ----

  @Override
  public void on(Event e) {
    if (all) {
      switch (e.kind()) {
        case STEP, READ, ELEMENT -> {
          // They follow from the program and the writes.
        }
        case WRITE -> {
          if (e.step() >= 0) {
            writes = digest(writes, e.step(), e.address(), e.after());
          } else {
            fold(e);
          }
        }
        case SAMPLE -> {
          if (e.time() != lastSample || !e.detail().equals(lastDisplay)) {
            lastSample = e.time();
            lastDisplay = e.detail();
            fold(e);
          }
        }
        case SCAN_START, SCAN_END, PHASE, TASK, FIELD, FAULT -> fold(e);
      }
    } else {
      fold(e);
    }
    count++;
    if (keep == Keep.LAST) {
      advance(e.scan());
    }
    if (keep != Keep.NOTHING && (source == null || !source.isSilent())) {
      rows(keep == Keep.WHOLE ? 0 : e.scan()).add(e);
    }
  }

  private void fold(Event e) {
    boolean step = e.kind() == EventKind.STEP;
    long h = hash;
    h = mix(h, Rows.flags(e));
    h = mix(h, e.scan());
    h = mix(h, e.ordinal());
    h = mix(h, e.time());
    h = mix(h, e.task());
    h = mix(h, e.step());
    h = mix(h, e.address());
    h = mix(h, e.width());
    h = mix(h, step ? e.operand(0) : e.before());
    h = mix(h, step ? e.operand(1) : e.after());
    h = mix(h, e.element());
    String detail = e.detail();
    for (int i = 0; i < detail.length(); i++) {
      h = mix(h, detail.charAt(i));
    }
    hash = h;
  }

  private static long mix(long h, long v) {
    long x = (h ^ v) * PRIME;
    return x ^ x >>> 32;
  }

  /** Where rows of a scan go. */
  private Rows rows(long scan) {
    flat = null;
    Piece last = pieces.peekLast();
    if (last != null && last.rows != null && last.scan == scan) {
      return last.rows;
    }
    Rows r = spare == null ? new Rows() : spare;
    spare = null;
    pieces.add(new Piece(scan, r, null, null));
    return r;
  }

  /** Drops what is too old when a scan is in progress. */
  private void advance(long scan) {
    flat = null;
    lastScan = scan;
    while (!pieces.isEmpty() && pieces.peekFirst().scan <= scan - scans) {
      Rows r = pieces.removeFirst().rows;
      if (r != null) {
        r.clear();
        spare = r;
      }
    }
  }

  private Rows kept() {
    if (flat == null) {
      Piece only = pieces.size() == 1 ? pieces.peekFirst() : null;
      if (only != null && only.rows != null) {
        flat = only.rows;
      } else {
        Rows r = new Rows();
        for (Piece p : pieces) {
          if (p.rows == null) {
            p.source.retell(p.mark, new Retold(r, lastScan - scans));
          } else if (p.scan > lastScan - scans) {
            for (int i = 0; i < p.rows.size(); i++) {
              r.add(p.rows.get(i));
            }
          }
        }
        flat = r;
      }
    }
    return flat;
  }

  /** Takes what is told again, but not what belongs to scans that are no longer kept. */
  private record Retold(Rows rows, long dropped) implements Observer {

    @Override
    public Set<EventKind> wants() {
      return EnumSet.allOf(EventKind.class);
    }

    @Override
    public void on(Event e) {
      if (e.scan() > dropped) {
        rows.add(e);
      }
    }
  }

  // ---- what it knows ----

  /** Number of events kept. With a {@link Source} the kept scans are run again when this or {@link #get} is asked for the first time after a scan. */
  public int size() {
    return keep == Keep.NOTHING ? 0 : kept().size();
  }

  /** Number of events that it was told; a {@link Source} tells fewer than there are. */
  public long count() {
    return count;
  }

  /** Hash over all that was seen. */
  public long hash() {
    return all ? mix(hash, writes()) : hash;
  }

  /**
   * A kept event, oldest first, as a value that stays. Of the operand stack the two topmost values are kept.
   *
   * @throws IndexOutOfBoundsException outside 0 to {@link #size()} - 1
   */
  public Event get(int index) {
    if (index < 0 || index >= size()) {
      throw new IndexOutOfBoundsException("event " + index + " of " + size());
    }
    return kept().get(index);
  }

  @Override
  public boolean equals(Object other) {
    return other instanceof Trace t && t.hash() == hash() && (all && t.all || t.count == count);
  }

  @Override
  public int hashCode() {
    return Long.hashCode(hash());
  }

  @Override
  public String toString() {
    return "hash 16#" + Long.toHexString(hash()) + (keep == Keep.NOTHING ? "" : ", " + size() + " events kept");
  }
}
