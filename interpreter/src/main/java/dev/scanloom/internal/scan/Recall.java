package dev.scanloom.internal.scan;

import dev.scanloom.internal.exec.SteppingExecutor;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.Trace;

/**
 * Lets a trace of all kinds follow a machine without being told of every step: the executor keeps a digest over writes, and of each scan that the trace keeps there
 * is the state at its start, from which a machine like this one can run it again.
 */
final class Recall implements Trace.Source {
  private final Engine engine;
  private final SteppingExecutor executor;
  private final Trace trace;
  private boolean following;
  private boolean silent;
  private Mark last;

  /** Where a scan began, and what cut it short. */
  private static final class Mark {
    private final Engine.Snapshot start;
    private long interruptedBehind = -1;
    private long waitedUntil = -1;

    Mark(Engine.Snapshot start) {
      this.start = start;
    }
  }

  Recall(Engine engine, SteppingExecutor executor, Trace trace) {
    this.engine = engine;
    this.executor = executor;
    this.trace = trace;
  }

  Trace trace() {
    return trace;
  }

  boolean isFollowing() {
    return following;
  }

  void follow(boolean now) {
    following = now;
    if (now) {
      executor.beginDigest(trace.writes());
      trace.follow(this);
    } else {
      trace.follow(null);
      executor.endDigest();
    }
  }

  /** A whole scan begins. */
  void begin(long scan) {
    if (trace.keepsScans()) {
      last = new Mark(engine.save());
      trace.remember(scan, last);
      silent = true;
    }
  }

  /** @param interruptedBehind steps of the scan after which the host stopped it; @param waitedUntil time at which waiting for it ended early; -1: neither */
  void end(long interruptedBehind, long waitedUntil) {
    if (silent) {
      last.interruptedBehind = interruptedBehind;
      last.waitedUntil = waitedUntil;
      silent = false;
    }
  }

  @Override
  public long digest() {
    return executor.digest();
  }

  @Override
  public boolean isSilent() {
    return silent;
  }

  @Override
  public void retell(Object mark, Observer observer) {
    Mark m = (Mark) mark;
    Engine twin = engine.twin(m.start);
    twin.attach(observer);
    twin.again(m.interruptedBehind, m.waitedUntil);
  }
}
