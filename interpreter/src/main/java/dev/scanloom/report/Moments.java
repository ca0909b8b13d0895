package dev.scanloom.report;

import java.util.ArrayList;
import java.util.List;

/** How recorded events join into the moments that the page steps through; the same rule as the page's script. */
final class Moments {
  private record Raw(int kind, long time, long a, long b, long c) {}

  private Moments() {}

  /** Index of the moment of a scan in which a program step acts, from 0; -1 when it is not there. A step of the same element counts. */
  static int find(Recordings recordings, Recordings.Run run, int scan, int programStep) {
    if (scan < 0 || scan >= run.log.count()) {
      return -1;
    }
    List<List<Raw>> moments = of(recordings, run.log, scan);
    int byElement = -1;
    int element = programStep >= 0 && programStep < recordings.program().stepCount() ? recordings.program().step(programStep).element() : -1;
    for (int i = 0; i < moments.size(); i++) {
      for (Raw r : moments.get(i)) {
        int step = stepOf(r);
        if (step < 0) {
          if (programStep < 0 && r.kind == EventStore.PHASE && r.a == 0) {
            return i;
          }
          continue;
        }
        if (recordings.steps.get(step).id() == programStep) {
          return i;
        }
        if (byElement < 0 && element >= 0 && recordings.steps.get(step).element() == element) {
          byElement = i;
        }
      }
    }
    return byElement;
  }

  static List<List<Raw>> of(Recordings recordings, EventStore.Log log, int scan) {
    List<List<Raw>> out = new ArrayList<>();
    log.visit(scan, (kind, time, a, b, c, value) -> {
      Raw r = new Raw(kind, time, a, b, c);
      if (out.isEmpty() || !joins(recordings, out.get(out.size() - 1), r)) {
        out.add(new ArrayList<>());
      }
      out.get(out.size() - 1).add(r);
    });
    return out;
  }

  private static int stepOf(Raw r) {
    return r.kind == EventStore.READ || r.kind == EventStore.WRITE || r.kind == EventStore.ELEMENT || r.kind == EventStore.FAULT ? (int) r.a : -1;
  }

  private static boolean joins(Recordings recordings, List<Raw> m, Raw e) {
    Raw first = m.get(0);
    switch (e.kind) {
      case EventStore.PAINT -> {
        return true;
      }
      case EventStore.SAMPLE -> {
        return first.kind == EventStore.SAMPLE && first.a == e.a && e.b >= 0;
      }
      case EventStore.FIELD -> {
        return first.time == e.time && (first.kind == EventStore.PHASE && first.a == 2 || first.kind == EventStore.FIELD);
      }
      default -> {
        if (e.kind == EventStore.WRITE && e.c == 1) {
          return first.time == e.time && (first.kind == EventStore.PHASE && first.a == 0 || first.kind == EventStore.WRITE && first.c == 1)
              && m.stream().allMatch(x -> x.kind == EventStore.PHASE || x.kind == EventStore.WRITE && x.c == 1);
        }
        int a = stepOf(first);
        int b = stepOf(e);
        if (a < 0 || b < 0 || e.kind == EventStore.WRITE && e.c != 0 || first.kind == EventStore.WRITE && first.c != 0) {
          return false;
        }
        int x = recordings.steps.get(a).element();
        if (x < 0 || x != recordings.steps.get(b).element()) {
          return false;
        }
        return !(e.kind == EventStore.ELEMENT && m.stream().anyMatch(z -> z.kind == EventStore.ELEMENT));
      }
    }
  }
}
