package dev.scanloom.examples.cli;

import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.InputAcquisition;
import dev.scanloom.policy.OutputDelivery;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.List;

/** Names of policies on the command line: {@code image}, {@code immediate}, {@code asynchronous:PERIOD[:PHASE[:JITTER]]}. */
final class PolicyText {
  private PolicyText() {}

  private record Clock(Duration period, Duration phase, Duration jitter) {}

  private static final String EXPECTED = "expected image, immediate or asynchronous:PERIOD[:PHASE[:JITTER]]";

  private static boolean is(String text, String word) {
    return text.equalsIgnoreCase(word);
  }

  private static Clock clock(String option, String text) {
    String[] parts = text.split(":", -1);
    if (!is(parts[0], "asynchronous") || parts.length > 4) {
      throw new UsageError(option + ": '" + text + "' is no policy; " + EXPECTED);
    }
    if (parts.length == 1) {
      throw new UsageError(option + ": asynchronous needs a period; " + EXPECTED);
    }
    Duration period = DurationText.positive(option, parts[1]);
    Duration phase = parts.length > 2 ? DurationText.notNegative(option, parts[2]) : Duration.ZERO;
    Duration jitter = parts.length > 3 ? DurationText.notNegative(option, parts[3]) : Duration.ZERO;
    if (jitter.compareTo(period) > 0) {
      throw new UsageError(option + ": the jitter " + parts[3] + " is longer than the period " + parts[1]);
    }
    return new Clock(period, phase, jitter);
  }

  static InputAcquisition inputs(String option, String text) {
    if (is(text, "image")) {
      return InputAcquisition.image();
    }
    if (is(text, "immediate")) {
      return InputAcquisition.immediate();
    }
    Clock c = clock(option, text);
    return InputAcquisition.asynchronous(c.period, c.phase, c.jitter);
  }

  static OutputDelivery outputs(String option, String text) {
    if (is(text, "image")) {
      return OutputDelivery.image();
    }
    if (is(text, "immediate")) {
      return OutputDelivery.immediate();
    }
    Clock c = clock(option, text);
    return OutputDelivery.asynchronous(c.period, c.phase, c.jitter);
  }

  /** {@code scan-start}, {@code scan-end}, {@code asynchronous:PERIOD[:PHASE[:CHUNK]]}. */
  static DisplaySampling display(String option, String text) {
    if (is(text, "scan-start")) {
      return DisplaySampling.scanStart();
    }
    if (is(text, "scan-end")) {
      return DisplaySampling.scanEnd();
    }
    String[] parts = text.split(":", -1);
    if (!is(parts[0], "asynchronous") || parts.length < 2 || parts.length > 4) {
      throw new UsageError(option + ": '" + text + "' is no display; expected scan-start, scan-end or asynchronous:PERIOD[:PHASE[:CHUNK]]");
    }
    Duration period = DurationText.positive(option, parts[1]);
    Duration phase = parts.length > 2 ? DurationText.notNegative(option, parts[2]) : Duration.ZERO;
    if (parts.length < 4) {
      return DisplaySampling.asynchronous(period, phase);
    }
    int chunk;
    try {
      chunk = Integer.parseInt(parts[3]);
    } catch (NumberFormatException e) {
      chunk = 0;
    }
    if (chunk < 1) {
      throw new UsageError(option + ": chunk '" + parts[3] + "' is no number of items; expected 1 or more");
    }
    return DisplaySampling.asynchronous(period, phase, chunk);
  }

  /** What people see of a display: {@code scan end}, {@code every 7ms from 3ms, 2 at a time}. */
  static String displayName(String text) {
    String[] parts = text.split(":", -1);
    if (parts.length < 2) {
      return text.toLowerCase(java.util.Locale.ROOT).replace('-', ' ');
    }
    return "every " + parts[1] + (parts.length > 2 ? " from " + parts[2] : "") + (parts.length > 3 ? ", " + parts[3] + " at a time" : "");
  }

  /**
   * A policy whose scan n begins at (n - 1) periods. Steps cost nothing, so that nothing but the trigger moves the clock, unless an I/O subsystem runs
   * on a clock of its own or tasks interrupt each other: without costs nothing could ever happen between two steps.
   */
  static ScanPolicy of(InputAcquisition in, OutputDelivery out, boolean stepsCost, Duration period, long seed) {
    return ScanPolicy.image().withInputs(in).withOutputs(out).withDisplays(List.of()).withTrigger(ScanTrigger.periodic(period))
        .withCosts(stepsCost ? CostModel.standard() : CostModel.zero()).withSeed(seed);
  }

  static boolean hasOwnClock(String text) {
    return text.regionMatches(true, 0, "asynchronous", 0, "asynchronous".length());
  }
}
