package dev.scanloom.report;

import java.util.Arrays;

/** The state of a recorded run at one moment, moved forward event by event. */
final class Replay {
  final int[] memory;
  final int[] field;
  final int[][] shown;
  final int[][] painted;
  final int[] executed;
  final int[] power;

  Replay(Recordings.Run run, int elements) {
    memory = run.firstMemory();
    field = run.firstField();
    int displays = run.policy().displays().size();
    shown = new int[displays][memory.length];
    painted = new int[displays][elements];
    for (int d = 0; d < displays; d++) {
      Arrays.fill(shown[d], -1);
      Arrays.fill(painted[d], -1);
    }
    executed = new int[elements];
    power = new int[elements];
    Arrays.fill(executed, -1);
    Arrays.fill(power, -1);
  }

  void apply(int kind, long a, long b, long value) {
    switch (kind) {
      case EventStore.READ, EventStore.WRITE -> {
        if (b >= 0) {
          memory[(int) b] = (int) value;
        }
      }
      case EventStore.ELEMENT -> {
        executed[(int) b] = (int) value & 1;
        power[(int) b] = (int) value >> 1;
      }
      case EventStore.FIELD -> field[(int) a] = (int) value;
      case EventStore.SAMPLE -> {
        if (b >= 0) {
          shown[(int) a][(int) b] = (int) value;
        }
      }
      case EventStore.PAINT -> painted[(int) a][(int) b] = (int) value;
      case EventStore.PHASE, EventStore.FAULT, EventStore.TASK -> {
      }
      default -> throw new IllegalStateException("event kind " + kind);
    }
  }

  /** Applies a whole scan. */
  void scan(EventStore.Log log, int scan) {
    log.visit(scan, (kind, time, a, b, c, value) -> apply(kind, a, b, value));
  }
}
