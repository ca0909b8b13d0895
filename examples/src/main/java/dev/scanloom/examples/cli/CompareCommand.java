package dev.scanloom.examples.cli;

import java.util.concurrent.Callable;
import picocli.CommandLine.Command;

@Command(name = "compare")
final class CompareCommand implements Callable<Integer> {
  @Override
  public Integer call() {
    throw new UsageError("compare is not written yet");
  }
}
