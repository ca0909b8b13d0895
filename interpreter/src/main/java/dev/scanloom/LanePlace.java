package dev.scanloom;

/** Field or memory of one lane. */
final class LanePlace extends Values implements Place {
  private final Lanes lanes;
  private final int lane;
  private final boolean field;

  LanePlace(Lanes lanes, int lane, boolean field) {
    super(lanes.program());
    this.lanes = lanes;
    this.lane = lane;
    this.field = field;
  }

  private void now(long time) {
    if (time > lanes.time(lane)) {
      throw new IllegalArgumentException("lanes take values now only; time " + time + " ns has not come, it is " + lanes.time(lane) + " ns");
    }
  }

  @Override
  long read(Variable v) {
    return field ? lanes.readField(lane, v) : lanes.readMemory(lane, v);
  }

  @Override
  int[] readText(Variable.Text v) {
    if (field) {
      throw new IllegalArgumentException(v.path() + " is a string; the field has no value for it");
    }
    return lanes.readText(lane, v);
  }

  @Override
  void write(long time, Variable v, long value) {
    now(time);
    if (field) {
      lanes.writeField(lane, v, value);
    } else {
      lanes.writeMemory(lane, v, value);
    }
  }

  @Override
  void writeText(long time, Variable.Text v, int[] units) {
    now(time);
    if (field) {
      throw new IllegalArgumentException(v.path() + " is a string; the field has no value for it");
    }
    lanes.writeText(lane, v, units);
  }
}
