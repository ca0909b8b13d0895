package dev.scanloom.internal.lower;

import dev.scanloom.internal.check.Chart;

/** Lowers a sequential function chart. */
final class ChartLowering {
  private final Lowering lowering;
  private final BodyLowering body;

  ChartLowering(Lowering lowering, BodyLowering body) {
    this.lowering = lowering;
    this.body = body;
  }

  void lower(Chart chart) {
    throw new UnsupportedOperationException("sequential function charts are not lowered yet");
  }
}
