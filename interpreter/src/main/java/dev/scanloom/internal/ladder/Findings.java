package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Problems;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Optional;

/** What is to be said about a drawing; it is reported in the order of places, when the networks are known. */
final class Findings {
  private record Finding(Severity severity, String code, int row, int from, int to, String message, String hint, Span related,
      String relatedMessage) {}

  private final Grid grid;
  private final List<Finding> all = new ArrayList<>();

  Findings(Grid grid) {
    this.grid = grid;
  }

  void error(String code, int row, int from, int to, String message) {
    error(code, row, from, to, message, null);
  }

  void error(String code, int row, int from, int to, String message, String hint) {
    all.add(new Finding(Severity.ERROR, code, row, from, to, message, hint, null, null));
  }

  void error(String code, int row, int from, int to, String message, Span related, String relatedMessage) {
    all.add(new Finding(Severity.ERROR, code, row, from, to, message, null, related, relatedMessage));
  }

  void warning(String code, int row, int from, int to, String message) {
    all.add(new Finding(Severity.WARNING, code, row, from, to, message, null, null, null));
  }

  void report(List<Drawing.Network> networks, Problems problems) {
    if (all.isEmpty()) {
      return;
    }
    int[] networkOfRow = new int[grid.rows];
    for (Drawing.Network n : networks) {
      int from = grid.source.lineOf(n.span().start()) - grid.firstLine;
      int to = grid.source.lineOf(Math.max(n.span().start(), n.span().end() - 1)) - grid.firstLine;
      for (int row = from; row <= to && row < grid.rows; row++) {
        if (networkOfRow[row] == 0) {
          networkOfRow[row] = n.number();
        } else {
          break;
        }
      }
    }
    all.sort(Comparator.comparingInt(Finding::row).thenComparingInt(Finding::from));
    for (Finding f : all) {
      int network = networkOfRow[f.row];
      Diagnostic d = new Diagnostic(f.severity, f.code, grid.span(f.row, f.from, f.to),
          network == 0 ? f.message : f.message + " (network " + network + ")", Optional.ofNullable(f.hint), List.of());
      problems.add(f.related == null ? d : d.withRelated(f.related, f.relatedMessage));
    }
  }

  static String shortList(List<String> names) {
    return names.size() <= 5 ? String.join(", ", names) : String.join(", ", names.subList(0, 5)) + ", ...";
  }
}
