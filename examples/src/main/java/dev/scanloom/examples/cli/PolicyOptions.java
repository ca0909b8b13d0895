package dev.scanloom.examples.cli;

import dev.scanloom.policy.ProcessImages;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
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

  @Option(names = "--task-switching", paramLabel = "CHOICE", defaultValue = "non-preemptive",
      description = "Whether a task of higher priority starts between two steps of another one: preemptive or non-preemptive (default: ${DEFAULT-VALUE})."
          + " With preemptive, steps cost virtual time.")
  String taskSwitching;

  @Option(names = "--process-image", paramLabel = "CHOICE", defaultValue = "shared",
      description = "One process image for all tasks, or a copy for each while it runs: shared or per-task (default: ${DEFAULT-VALUE}).")
  String processImage;

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
    boolean preemptive = choice("--task-switching", taskSwitching, "non-preemptive", "preemptive");
    boolean own = choice("--process-image", processImage, "shared", "per-task");
    return PolicyText.of(PolicyText.inputs("--policy", policy), PolicyText.outputs(option, out), stepsCost(), periodDuration(), seed(seed))
        .withTaskSwitching(preemptive ? TaskSwitching.preemptive() : TaskSwitching.nonPreemptive())
        .withImages(own ? ProcessImages.perTask() : ProcessImages.shared());
  }

  /** Something may happen between two steps. */
  boolean stepsCost() {
    return PolicyText.hasOwnClock(policy) || outputPolicy != null && PolicyText.hasOwnClock(outputPolicy)
        || taskSwitching.equalsIgnoreCase("preemptive");
  }

  private static boolean choice(String option, String text, String no, String yes) {
    if (!text.equalsIgnoreCase(no) && !text.equalsIgnoreCase(yes)) {
      throw new UsageError(option + ": '" + text + "' is no choice; expected " + no + " or " + yes);
    }
    return text.equalsIgnoreCase(yes);
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
