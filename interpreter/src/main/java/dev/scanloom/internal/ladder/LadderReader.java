package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.StParser;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.function.Function;

/**
 * Grid of characters to network graph. Always answers; whatever could not be read has a diagnostic, one per cause, and the rest of the
 * drawing is read as if the cause were mended. Of names and types it knows nothing: what needs them is left to the checker.
 *
 * <p>Time and memory grow with the number of characters; nothing recurses. Rows are read up to {@value Grid#MAX_WIDTH} columns.
 * Confined to one thread, like the collector of diagnostics it writes to.
 *
 * <p>Source: IEC 61131-3:2013, 8.1 and 8.2, Tables 73 to 76 (from memory); what the pictures leave open is our choice.
 */
public final class LadderReader {
  private final Problems problems;
  private final Function<Span, Expression> expressions;

  public LadderReader(Problems problems, StParser expressions) {
    this(problems, Objects.requireNonNull(expressions, "expressions")::parseExpression);
  }

  LadderReader(Problems problems, Function<Span, Expression> expressions) {
    this.problems = Objects.requireNonNull(problems, "problems");
    this.expressions = Objects.requireNonNull(expressions, "expressions");
  }

  /** Reads the drawing that covers the whole lines of {@code span}. */
  public Drawing read(Span span) {
    Drawing drawing = new Reading(span, problems, expressions).read();
    if (drawing.networks().isEmpty() || !drawing.networks().get(0).comment().isEmpty()) {
      return drawing;
    }
    String comment = LeadingComment.before(span.source(), span.start());
    if (comment.isEmpty()) {
      return drawing;
    }
    List<Drawing.Network> networks = new ArrayList<>(drawing.networks());
    Drawing.Network first = networks.get(0);
    networks.set(0, new Drawing.Network(first.number(), first.span(), first.label(), comment, first.elements(), first.segments()));
    return new Drawing(drawing.span(), networks);
  }
}
