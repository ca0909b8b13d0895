package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Problems;
import java.util.ArrayList;
import java.util.List;
import java.util.function.Function;

/**
 * One reading of one drawing. Rows between two blank ones are read at a time, and together with the next ones only if something may lead
 * from these to those: so what the passes remember is short-lived. The passes, in order: boxes; tokens of each row and horizontal links
 * between them; vertical links; states of links; evaluation order; operands; networks. Every pass is a loop over what the one before it
 * found; the only searches that look around are bounded by a constant.
 */
final class Reading {
  private final Span region;
  private final Grid grid;
  private final Problems problems;
  private final Findings findings;
  private final Captions captions;
  private final Sketch sketch;
  private final BoxFinder boxes;
  private final VerticalLinks verticalLinks;
  private final HorizontalLinks horizontalLinks;
  private final Tokenizer tokenizer;
  private final Components components;
  private final LinkStates states;
  private final UnfedLinks unfed;
  private final EvaluationOrder order;
  private final OperandFinder operands;
  private final NetworkBuilder builder;
  private final List<Drawing.Network> networks = new ArrayList<>();

  Reading(Span region, Problems problems, Function<Span, Expression> expressions) {
    this.region = region;
    this.problems = problems;
    grid = new Grid(region);
    findings = new Findings(grid);
    captions = new Captions(grid, findings);
    sketch = new Sketch(grid, findings);
    boxes = new BoxFinder(sketch);
    verticalLinks = new VerticalLinks(sketch);
    horizontalLinks = new HorizontalLinks(sketch);
    tokenizer = new Tokenizer(sketch, verticalLinks);
    components = new Components(sketch);
    states = new LinkStates(sketch);
    unfed = new UnfedLinks(sketch, components, states);
    order = new EvaluationOrder(sketch, states);
    operands = new OperandFinder(sketch);
    builder = new NetworkBuilder(sketch, components, states, captions, expressions);
  }

  Drawing read() {
    if (grid.tabRow >= 0) {
      Span at = grid.span(grid.tabRow, grid.tabColumn, grid.tabColumn);
      problems.add(Diagnostic.error("ladder/tab", at, "a tab in a drawing; use blanks, columns count characters")
          .withHint("replace every tab by as many blanks as it shows"));
      return new Drawing(region, List.of());
    }
    reportGrid();
    boolean begun = false;
    int row = 0;
    while (row < grid.rows) {
      if (grid.isBlank(row)) {
        row++;
        continue;
      }
      int end = row + 1;
      while (end < grid.rows && !grid.isBlank(end)) {
        end++;
      }
      if (begun && !mayGoOn(row)) {
        finish();
        begun = false;
      }
      if (!begun) {
        sketch.begin(row);
        begun = true;
      }
      read(row, end);
      row = end;
    }
    if (begun) {
      finish();
    }
    captions.finish();
    findings.report(networks, problems);
    return new Drawing(region, networks);
  }

  private void reportGrid() {
    if (grid.openCommentRow >= 0) {
      findings.error("ladder/open-comment", grid.openCommentRow, grid.openCommentColumn, grid.openCommentColumn,
          "this comment or pragma is not closed in the drawing");
    }
    if (grid.tooWideRow >= 0) {
      findings.error("limit/ladder-width", grid.tooWideRow, Grid.MAX_WIDTH - 1, Grid.MAX_WIDTH - 1,
          "this row is wider than " + Grid.MAX_WIDTH + " columns; what stands behind is not read");
    }
    for (int[] s : grid.statements) {
      findings.error("ladder/statement", s[0], s[1], Math.max(s[1], grid.length(s[0]) - 1),
          "a ladder body holds no statements; one notation per body");
    }
    for (Grid.Beyond b : grid.beyond) {
      findings.error("ladder/right-rail", b.row(), b.column(), b.column(),
          "this row misses the right rail in column " + (grid.right + 1) + " of the drawing");
    }
  }

  /** Whether what begins in this row, behind a blank one, may hang together with what was read; connectors lead anywhere. */
  private boolean mayGoOn(int row) {
    return !sketch.connectors.isEmpty() || verticalLinks.mayGoOn(row);
  }

  private void read(int from, int to) {
    boxes.findBoxes(from, to);
    for (int row = from; row < to; row++) {
      horizontalLinks.linkRow(row, tokenizer.tokenize(row));
    }
  }

  private void finish() {
    verticalLinks.finish();
    horizontalLinks.wordsAtLinks();
    components.numberElements();
    components.connect();
    states.resolve();
    unfed.reportUnfed();
    List<Part> evaluated = order.evaluationOrder();
    operands.claimOperands();
    operands.reportStray();
    for (Part p : sketch.elements) {
      if (p.kind == Kind.JUMP) {
        captions.checkTarget(p);
      }
    }
    builder.build(evaluated, networks);
  }
}
