package dev.scanloom.examples.cli;

import dev.scanloom.policy.ScanPolicy;
import java.time.Duration;
import picocli.CommandLine.Option;

/** The options that make a scan policy. */
final class PolicyOptions {
  @Option(names = "--period", paramLabel = "DURATION", defaultValue = "10ms",
      description = "Time from scan to scan, as 10ms or T#10ms (default: ${DEFAULT-VALUE}).")
  String period;

  @Option(names = "--policy", paramLabel = "POLICY", defaultValue = "image",
      description = "Input and output policy: image, immediate or asynchronous:PERIOD[:PHASE[:JITTER]] (default: ${DEFAULT-VALUE}).")
  String policy;

  @Option(names = "--output-policy", paramLabel = "POLICY", description = "Output policy, when it is not that of the inputs.")
  String outputPolicy;

  @Option(names = "--seed", paramLabel = "S", defaultValue = "0", description = "Seed of what is drawn, such as jitter (default: ${DEFAULT-VALUE}).")
  String seed;

  Duration periodDuration() {
    return DurationText.positive("--period", period);
  }

  static long seed(String text) {
    try {
      return Long.parseLong(text.trim());
    } catch (NumberFormatException e) {
      throw new UsageError("--seed: '" + text + "' is no whole number");
    }
  }

  ScanPolicy policy() {
    String out = outputPolicy == null ? policy : outputPolicy;
    String option = outputPolicy == null ? "--policy" : "--output-policy";
    return PolicyText.of(PolicyText.inputs("--policy", policy), PolicyText.outputs(option, out),
        PolicyText.hasOwnClock(policy) || PolicyText.hasOwnClock(out), periodDuration(), seed(seed));
  }

  static long scans(String text) {
    return count("--scans", text);
  }

  static long count(String option, String text) {
    long n;
    try {
      n = Long.parseLong(text.trim());
    } catch (NumberFormatException e) {
      throw new UsageError(option + ": '" + text + "' is no whole number; expected 1 or more");
    }
    if (n < 1) {
      throw new UsageError(option + ": " + text + "; expected 1 or more");
    }
    return n;
  }
}
