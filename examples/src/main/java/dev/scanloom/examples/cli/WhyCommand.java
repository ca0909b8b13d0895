package dev.scanloom.examples.cli;

import java.util.concurrent.Callable;
import picocli.CommandLine.Command;

@Command(name = "why")
final class WhyCommand implements Callable<Integer> {
  @Override
  public Integer call() {
    throw new UsageError("why is not written yet");
  }
}
