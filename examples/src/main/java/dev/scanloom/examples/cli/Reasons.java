package dev.scanloom.examples.cli;

import dev.scanloom.Variable;
import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import dev.scanloom.explain.Provenance;
import dev.scanloom.report.Page;
import dev.scanloom.report.Recordings;
import java.io.PrintWriter;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;

/** Provenance of differences: their run is repeated with the observer that explanations need. */
final class Reasons {
  private static final int DEEPEST = 14;

  private final Matrix matrix;
  private final Map<Integer, Provenance> repeated = new LinkedHashMap<>();

  Reasons(Matrix matrix) {
    this.matrix = matrix;
  }

  /** Why the difference is there: one tree for each run that it is about, at most two. */
  List<Page.Reason> of(Recordings.Difference d) {
    List<Page.Reason> all = new ArrayList<>();
    List<Integer> runs = new ArrayList<>();
    if (!d.variable().isEmpty() && !d.runs().contains(0) && d.element() < 0) {
      // a difference against the first run: both sides
      runs.add(0);
    }
    runs.add(d.runs().get(0));
    for (int run : runs) {
      Provenance p = repeated.computeIfAbsent(run, r -> matrix.provenance(matrix.recordings.runs().get(r), d.scan()));
      Explanation e;
      if (d.element() >= 0) {
        e = p.whyElement(d.element());
      } else {
        Variable v = matrix.program.variable(d.variable());
        e = p.why(v, d.scan());
      }
      Page.Reason tree = tree(e.root(), run, new LinkedHashSet<>(), 0);
      all.add(runs.size() == 1 ? tree : new Page.Reason("under " + matrix.recordings.runs().get(run).name() + ": " + tree.text(), tree.run(), tree.scan(),
          tree.step(), tree.children()));
    }
    return all;
  }

  /** A fact told before is named again, but not what it rests on. */
  private static Page.Reason tree(Fact f, int run, Set<Integer> told, int depth) {
    List<Page.Reason> children = new ArrayList<>();
    List<Fact> because = spoken(f);
    String text = f.words() + f.span().map(s -> " (" + s.place() + ")").orElse("");
    if (!told.add(f.id())) {
      return new Page.Reason(text + (because.isEmpty() ? "" : ", as told above"), run, f.scan(), f.step(), List.of());
    }
    if (depth >= DEEPEST && !because.isEmpty()) {
      return new Page.Reason(text + " ...", run, f.scan(), f.step(), List.of());
    }
    for (Fact b : because) {
      children.add(tree(b, run, told, depth + 1));
    }
    return new Page.Reason(text, run, f.scan(), f.step(), children);
  }

  /** Computations give way to what they are made of; constants stay silent where there is anything else. */
  private static List<Fact> spoken(Fact f) {
    List<Fact> all = new ArrayList<>();
    collect(f, all, 0);
    List<Fact> events = all.stream().filter(x -> x.kind() != Fact.Kind.CONSTANT).toList();
    return events.isEmpty() ? all : events;
  }

  private static void collect(Fact f, List<Fact> to, int depth) {
    for (Fact r : f.because()) {
      if (r.kind() == Fact.Kind.COMPUTATION && depth < 400) {
        collect(r, to, depth + 1);
      } else if (!to.contains(r)) {
        to.add(r);
      }
    }
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
