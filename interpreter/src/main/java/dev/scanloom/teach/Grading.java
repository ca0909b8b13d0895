package dev.scanloom.teach;

import dev.scanloom.explain.Explanation;
import dev.scanloom.explain.Fact;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;

/** Marks an answer and says, from the evidence of the run, which step contradicts what the student believes. */
final class Grading {
  /** Levels of evidence told. */
  private static final int LEVELS = 9;

  private Grading() {}

  static Grade.Mark mark(int number, Solution.Answer a, String given) {
    if (given.isBlank()) {
      return new Grade.Mark(number, a.prompt(), "", Grade.Verdict.MISSING, a.shown(), List.of("expected " + AnswerText.expectation(a.kind(),
          a.variable())));
    }
    String told = given.strip().length() > 200 ? given.strip().substring(0, given.strip().offsetByCodePoints(0, 100)) + "..."
        : given.strip();
    Optional<String> parsed = AnswerText.parse(a.kind(), a.variable(), a.options().size(), given);
    if (parsed.isEmpty()) {
      return new Grade.Mark(number, a.prompt(), told, Grade.Verdict.NOT_UNDERSTOOD, a.shown(),
          List.of("expected " + AnswerText.expectation(a.kind(), a.variable())));
    }
    if (AnswerText.same(a.kind(), a.variable(), parsed.get(), a.canonical())) {
      return new Grade.Mark(number, a.prompt(), told, Grade.Verdict.RIGHT, a.shown(), List.of());
    }
    return new Grade.Mark(number, a.prompt(), told, Grade.Verdict.WRONG, a.shown(), feedback(a, parsed.get()));
  }

  private static List<String> feedback(Solution.Answer a, String belief) {
    List<String> lines = new ArrayList<>();
    String shown = a.kind() == AnswerText.Kind.VALUE ? Solving.shown(a.variable(), belief) : a.kind() == AnswerText.Kind.NETWORK
        && belief.matches("[0-9]+")
        ? "network " + belief : belief;
    lines.add("You say " + shown + "; the run says " + a.shown() + ".");
    a.question().accept(new Question.Visitor<Void>() {
      @Override
      public Void state(Question.State q) {
        recognise(lines, a, q, belief);
        walk(lines, a);
        return null;
      }

      @Override
      public Void writer(Question.Writer q) {
        wrote(lines, a.item(), belief, q);
        walk(lines, a);
        return null;
      }

      @Override
      public Void painted(Question.Painted q) {
        boolean on = belief.equals("TRUE");
        if (a.item().executed == on) {
          lines.add("That is what the executor decided when it evaluated the element. The screen does not know it: it paints what it "
              + "infers from its sample.");
        }
        if (a.item().variable != null) {
          String sampled = a.item().displays.get(q.display());
          if (sampled != null) {
            lines.add("The sample that the screen paints from holds " + sampled + " for " + a.item().variable.path() + ".");
          }
        }
        walk(lines, a);
        return null;
      }

      @Override
      public Void scansUntil(Question.ScansUntil q) {
        counted(lines, a, q, belief);
        walk(lines, a);
        return null;
      }

      @Override
      public Void cure(Question.Cure q) {
        options(lines, a, belief);
        return null;
      }

      @Override
      public Void choice(Question.Choice q) {
        options(lines, a, belief);
        walk(lines, a);
        return null;
      }

      @Override
      public Void stop(Question.Stop q) {
        lines.addAll(a.proofs());
        return null;
      }
    });
    return lines;
  }

  /** Where the student's value really is, if it is anywhere: the belief has a place, only not the one asked about. */
  private static void recognise(List<String> lines, Solution.Answer a, Question.State q, String belief) {
    Rerun.Item item = a.item();
    String path = item.variable.path();
    int scan = (int) q.moment().scan();
    String memory = scan <= item.memory.size() ? item.memory.get(scan - 1) : "";
    String field = scan <= item.field.size() ? item.field.get(scan - 1) : "";
    if (q.where() != Question.Where.FIELD && field.equals(belief)) {
      lines.add("Your value is at the terminal: there " + path + " is " + belief + " at that moment. What was asked is "
          + (q.where() == Question.Where.MEMORY ? "memory; only a refresh copies the one to the other."
              : "what the screen shows; it samples memory."));
    } else if ((q.where() != Question.Where.MEMORY || q.moment().network() > 0) && memory.equals(belief)) {
      lines.add("Your value is what memory holds for " + path + " at the end of that scan.");
    } else if (q.where() != Question.Where.DISPLAY && item.displays.containsValue(belief)) {
      lines.add("Your value is what a screen shows for " + path + "; a screen shows a sample, not what the program works with.");
    } else if (scan > 1 && scan - 2 < item.memory.size() && item.memory.get(scan - 2).equals(belief)) {
      lines.add("Your value is what memory held for " + path + " one scan earlier.");
    }
    if (q.where() == Question.Where.DISPLAY) {
      lines.add("The " + Solving.screen(q.display()) + " took its sample of " + path + " in scan " + item.sampledIn + ", at "
          + ms(item.sampledAt) + ".");
    }
    if (q.where() == Question.Where.MEMORY && q.moment().network() == 0) {
      for (int network : item.before.keySet()) {
        if (item.before.get(network).equals(belief)) {
          lines.add("In scan " + scan + " memory held your value up to network " + network + "; what came behind it changed it.");
          break;
        }
      }
    }
  }

  static String ms(long ns) {
    return java.math.BigDecimal.valueOf(ns, 6).stripTrailingZeros().toPlainString() + " ms";
  }

  private static void wrote(List<String> lines, Rerun.Item item, String belief, Question.Writer q) {
    if (!belief.matches("[0-9]+")) {
      return;
    }
    int network = Integer.parseInt(belief);
    Rerun.Written last = null;
    for (Rerun.Written w : item.written) {
      if (w.scan() <= q.scan() && w.network() == network) {
        last = w;
      }
    }
    lines.add(last == null ? "Network " + network + " has not written " + item.variable.path() + " up to the end of scan " + q.scan() + "."
        : "Network " + network + " wrote " + last.value() + " to it in scan " + last.scan() + ", but not as the last one.");
  }

  private static void counted(List<String> lines, Solution.Answer a, Question.ScansUntil q, String belief) {
    if (!belief.matches("[0-9]{1,9}")) {
      return;
    }
    long scan = q.from() + Long.parseLong(belief) - 1;
    List<String> values = q.where() == Question.Where.FIELD ? a.item().field : a.item().memory;
    if (scan >= 1 && scan <= values.size()) {
      String value = values.get((int) scan - 1);
      String wanted = a.variable().format(a.variable().parse(q.literal()));
      lines.add("At the end of scan " + scan + ", your " + belief + ". of them, " + a.variable().path() + (value.equals(wanted)
          ? " is " + value + ", but it was so earlier." : " still is " + value + "."));
    }
  }

  private static void options(List<String> lines, Solution.Answer a, String belief) {
    List<String> right = Arrays.asList(a.canonical().split(", "));
    List<String> chosen = Arrays.asList(belief.split(", "));
    for (int i = 0; i < a.options().size(); i++) {
      String letter = String.valueOf((char) ('a' + i));
      if (right.contains(letter) != chosen.contains(letter)) {
        lines.add("(" + letter + ") " + a.options().get(i) + ": " + a.proofs().get(i) + ".");
      }
    }
  }

  /** The step that contradicts the belief, and the chain from there back to what happened outside. */
  private static void walk(List<String> lines, Solution.Answer a) {
    if (a.why().isEmpty()) {
      return;
    }
    Explanation why = a.why().get();
    contradiction(why).ifPresent(f -> lines.add("The step that contradicts it: " + f.words()
        + f.span().map(s -> " (" + s.place() + ")").orElse("") + "."));
    lines.add("From there back to what happened outside:");
    for (String line : why.text(LEVELS, false).split("\n")) {
      lines.add("  " + line);
    }
  }

  /** The first fact below the root by which the value came about. */
  static Optional<Fact> contradiction(Explanation why) {
    Fact f = why.root();
    for (int i = 0; i < LEVELS && !f.because().isEmpty(); i++) {
      f = f.because().get(0);
      if (f.kind() == Fact.Kind.WRITE || f.kind().isLeaf() || f.kind() == Fact.Kind.INPUT_REFRESH) {
        return Optional.of(f);
      }
    }
    return f == why.root() ? Optional.empty() : Optional.of(f);
  }
}
