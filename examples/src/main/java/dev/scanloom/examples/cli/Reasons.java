package dev.scanloom.examples.cli;

import dev.scanloom.report.Page;
import dev.scanloom.report.Recordings;
import java.io.PrintWriter;
import java.util.ArrayList;
import java.util.List;

/** Provenance of a difference: its run is repeated with the observer that explanations need. */
final class Reasons {
  private final Matrix matrix;

  Reasons(Matrix matrix) {
    this.matrix = matrix;
  }

  List<Page.Reason> of(Recordings.Difference d) {
    return List.of();
  }

  /** The separating step first, then the trees. */
  List<Page.Reason> withSeparation(Recordings.Difference d, List<Page.Reason> trees) {
    List<Page.Reason> all = new ArrayList<>();
    all.add(new Page.Reason("Separated by: " + d.separation(), d.runs().get(0), d.step() >= 0 ? d.scan() : 0, d.step(), List.of()));
    all.addAll(trees);
    return all;
  }

  static void print(PrintWriter out, Page.Reason r, int depth) {
    out.println(Printable.line("  ".repeat(Math.min(depth, 40)) + r.text()));
    for (Page.Reason c : r.children()) {
      print(out, c, depth + 1);
    }
  }
}
