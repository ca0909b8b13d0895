package dev.scanloom.teach;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Controller;
import dev.scanloom.Variable;
import dev.scanloom.explain.Counterfactual;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.report.Page;
import dev.scanloom.report.Pictures;
import dev.scanloom.report.Recordings;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;

/**
 * Pages for people: worksheets to print, answer keys, a lesson to read on a screen, and the step-through page of an exercise's run. Every
 * page is one file without scripts from elsewhere; text of programs is escaped; legible in light and dark surroundings, in print, and
 * without colour.
 */
public final class Sheet {
  private static final int MOST_DRAWN = 24;

  private Sheet() {}

  /** A worksheet with lines to write on, and no answers. */
  public static String worksheet(String title, List<Solution> exercises) {
    StringBuilder b = Html.head(title);
    b.append("<main>\n<h1>").append(Html.escape(title)).append("</h1>\n<p class=\"soft\">Name: ______________________ &nbsp; Date: "
        + "______________</p>\n");
    for (Solution s : exercises) {
      task(b, s, "h2");
      b.append("<ol class=\"questions\">\n");
      for (Solution.Answer a : s.all()) {
        b.append("<li>");
        question(b, a);
        b.append("<div class=\"line\"></div></li>\n");
      }
      b.append("</ol>\n</section>\n");
    }
    return Html.foot(b.append("</main>\n"));
  }

  /** The computed answers, each with its evidence, and the nearest change that would flip it. */
  public static String key(String title, List<Solution> exercises) {
    StringBuilder b = Html.head(title);
    b.append("<main>\n<h1>").append(Html.escape(title)).append("</h1>\n<p>Every answer was computed by running the program; the "
        + "evidence below each is that of the run.</p>\n");
    int n = 0;
    for (Solution s : exercises) {
      n++;
      b.append("<section class=\"exercise\">\n<h2>").append(Html.escape(heading(s))).append("</h2>\n<ol class=\"questions\">\n");
      for (int i = 0; i < s.all().size(); i++) {
        Solution.Answer a = s.all().get(i);
        b.append("<li>");
        question(b, a);
        answer(b, a, "k" + n + "-" + (i + 1) + "-");
        b.append("</li>\n");
      }
      b.append("</ol>\n");
      lesson(b, s);
      b.append("</section>\n");
    }
    return Html.foot(b.append("</main>\n"));
  }

  /**
   * A lesson: the story, the program, the stimulus, the questions with their answers folded away, a timing diagram.
   *
   * @param links texts and relative addresses of pages to go to, in their order; addresses are written as they are, escaped
   */
  public static String lesson(Solution s, Map<String, String> links) {
    StringBuilder b = Html.head(heading(s));
    navigation(b, links);
    b.append("<main>\n");
    task(b, s, "h1");
    b.append("<h2>Questions</h2>\n<p class=\"soft screen-only\">Answer first, then open the answer.</p>\n<ol class=\"questions\">\n");
    for (int i = 0; i < s.all().size(); i++) {
      Solution.Answer a = s.all().get(i);
      b.append("<li>");
      question(b, a);
      b.append("<details><summary>Answer and evidence</summary>\n");
      answer(b, a, "q" + (i + 1) + "-");
      b.append("</details></li>\n");
    }
    b.append("</ol>\n<h2>The run</h2>\n<details><summary>Timing diagram</summary>\n<figure>").append(timing(s))
        .append("<figcaption>Field, memory and screen of the items watched. A heavy line at the top is on, a thin one at the bottom is "
            + "off; "
            + "triangles mark input and output refresh, diamonds mark samples of a screen.</figcaption></figure>\n</details>\n");
    if (isDrawn(s)) {
      int scan = paintedScan(s);
      b.append("<details><summary>Networks at the end of scan ").append(scan).append("</summary>\n<figure>").append(ladder(s, scan))
          .append("<figcaption>At the left what the executor decided, at the right what the screen paints from its sample. 1: "
              + "conducting, or powered; a sign of "
              + "inequality marks where they differ.</figcaption></figure>\n</details>\n");
    }
    lesson(b, s);
    b.append("</section>\n");
    return Html.foot(b.append("</main>\n"));
  }

  /** An index of lessons: for each a heading, a sentence and an address. */
  public static String index(String title, String introduction, List<Entry> entries, Map<String, String> links) {
    StringBuilder b = Html.head(title);
    b.append("<main>\n<h1>").append(Html.escape(title)).append("</h1>\n");
    Html.paragraphs(b, introduction);
    navigation(b, links);
    String part = "";
    boolean open = false;
    for (Entry e : entries) {
      if (!e.part.equals(part)) {
        b.append(open ? "</tbody></table>\n"
            : "").append("<h2>").append(Html.escape(e.part)).append("</h2>\n<table class=\"index\"><thead><tr><th>Lesson</th><th>What "
            + "it shows</th>"
            + "<th>Questions</th></tr></thead><tbody>\n");
        open = true;
        part = e.part;
      }
      b.append("<tr><td><a "
          + "href=\"").append(Html.escape(e.address)).append("\">").append(Html.escape(heading(e.solution))).append("</a></td><td>")
          .append(Html.escape(first(e.solution.exercise().lesson))).append("</td><td>").append(e.solution.all().size()).append("</td></tr>\n");
    }
    return Html.foot(b.append(open ? "</tbody></table>\n" : "").append("</main>\n"));
  }

  /**
   * A line of an index.
   *
   * @param part heading under which it stands
   */
  public record Entry(String part, Solution solution, String address) {}

  /** The step-through page of the exercise's run. */
  public static String stepThrough(Solution s) {
    Recordings r = new Recordings(s.program());
    record(s, r);
    return new Page(r, heading(s), s.exercise().policyWords).html();
  }

  /** A timing diagram of the items that the exercise watches, as SVG; of at most {@value #MOST_DRAWN} scans. */
  public static String timing(Solution s) {
    Recordings r = new Recordings(s.program());
    Recordings.Run run = record(s, r);
    // what happens between scans is drawn to scale; what happens within them would be too small
    boolean toScale = s.exercise().actions.stream().anyMatch(a -> a instanceof Exercise.SetAt x && x.time() % 1_000_000 == 0);
    return Pictures.timing(r, run, watched(s), 1, (int) Math.min(MOST_DRAWN, Math.max(1, run.scans())),
        toScale ? Pictures.Axis.TIME : Pictures.Axis.ORDER);
  }

  /**
   * The ladder networks at the end of a scan as SVG, as executed and as the first display of the policy paints them.
   *
   * @throws IllegalArgumentException when there is no such scan
   */
  public static String ladder(Solution s, int scan) {
    Recordings r = new Recordings(s.program());
    List<ScanPolicy.Display> displays = s.exercise().policy.displays();
    return Pictures.ladder(r, record(s, r), scan, displays.isEmpty() ? "" : displays.get(0).name());
  }

  private static boolean isDrawn(Solution s) {
    return s.program().pous().stream().anyMatch(p -> !p.library() && !p.networks().isEmpty());
  }

  /** The first scan that a question about a painted element asks about, else the first one. */
  private static int paintedScan(Solution s) {
    for (Question q : s.exercise().questions) {
      if (q instanceof Question.Painted p) {
        return (int) p.scan();
      }
    }
    return 1;
  }

  private static Recordings.Run record(Solution s, Recordings r) {
    Controller c = s.program().newController(s.exercise().policy);
    Recordings.Run run = r.record(s.exercise().policyWords, c);
    Rerun.play(s.exercise(), c, () -> { });
    run.close();
    return run;
  }

  private static List<String> watched(Solution s) {
    if (!s.exercise().watch.isEmpty()) {
      return s.exercise().watch;
    }
    Set<String> paths = new LinkedHashSet<>();
    for (Exercise.Action a : s.exercise().actions) {
      if (a instanceof Exercise.Set x) {
        paths.add(s.program().variable(x.path()).path());
      }
    }
    for (Solution.Answer a : s.all()) {
      if (a.item().variable != null) {
        paths.add(a.item().variable.path());
      }
    }
    if (paths.isEmpty()) {
      paths.add(s.program().variables().get(0));
    }
    return List.copyOf(paths);
  }

  // ---- parts ----

  static String heading(Solution s) {
    Exercise e = s.exercise();
    return e.id.isEmpty() ? e.title : e.id + ": " + e.title;
  }

  private static String first(String text) {
    int end = text.indexOf(". ");
    return end < 0 ? text.replaceAll("\\s+", " ") : text.substring(0, end + 1).replaceAll("\\s+", " ");
  }

  private static void navigation(StringBuilder b, Map<String, String> links) {
    if (links.isEmpty()) {
      return;
    }
    b.append("<nav aria-label=\"Pages\"><p>");
    links.forEach((text, address) -> b.append("<a "
        + "href=\"").append(Html.escape(address)).append("\">").append(Html.escape(text)).append("</a>"));
    b.append("</p></nav>\n");
  }

  private static void task(StringBuilder b, Solution s, String level) {
    Exercise e = s.exercise();
    b.append("<section "
        + "class=\"exercise\">\n<").append(level).append('>').append(Html.escape(heading(s))).append("</").append(level).append(">\n");
    Html.paragraphs(b, e.story);
    Html.program(b, e.program);
    b.append("<p><strong>How the controller scans:</strong> ").append(Html.escape(e.policyWords)).append(".</p>\n");
    stimulus(b, e, s.program());
  }

  private static void stimulus(StringBuilder b, Exercise e, CompiledProgram program) {
    Set<String> paths = new LinkedHashSet<>();
    Set<Long> scans = new java.util.TreeSet<>();
    TreeMap<Long, Map<String, String>> cells = new TreeMap<>();
    List<String> events = new ArrayList<>();
    for (Exercise.Action a : e.actions) {
      if (a instanceof Exercise.Set x) {
        Variable v = program.variable(x.path());
        paths.add(v.path());
        scans.add(x.scan());
        cells.computeIfAbsent(x.scan(), k -> new LinkedHashMap<>()).put(v.path(), x.literal());
      } else if (a instanceof Exercise.SetAt x) {
        events.add("At " + Grading.ms(x.time()) + " " + x.path() + " becomes " + x.literal() + ".");
      } else if (a instanceof Exercise.Force x) {
        events.add("Before scan " + x.scan() + " " + x.path() + " is forced to " + x.literal() + ".");
      } else if (a instanceof Exercise.Unforce x) {
        events.add("Before scan " + x.scan() + " the force of " + x.path() + " ends.");
      } else if (a instanceof Exercise.Restart x) {
        events.add("Before scan " + x.scan() + " power is lost and comes back: a " + (x.warm() ? "warm" : "cold") + " restart.");
      }
    }
    if (!cells.isEmpty()) {
      b.append("<p>What comes from outside, before the input refresh of a scan; in between it stays:</p>\n<div "
          + "class=\"scroll\"><table><thead><tr><th>scan</th>");
      for (String p : paths) {
        Variable v = program.variable(p);
        b.append("<th>").append(Html.escape(p)).append(v.area() == 'I' ? " (terminal)" : " (written from outside)").append("</th>");
      }
      b.append("</tr></thead><tbody>\n");
      for (long n : scans) {
        b.append("<tr><td class=\"v\">").append(n).append("</td>");
        for (String p : paths) {
          b.append("<td class=\"v\">").append(Html.escape(cells.get(n).getOrDefault(p, ""))).append("</td>");
        }
        b.append("</tr>\n");
      }
      b.append("</tbody></table></div>\n");
    }
    for (String event : events) {
      b.append("<p>").append(Html.escape(event)).append("</p>\n");
    }
    b.append("<p>The run has ").append(e.scans).append(e.scans == 1 ? " scan. " : " scans. ")
        .append(cells.isEmpty() && events.isEmpty() ? "Nothing changes outside."
            : "Inputs that are not mentioned are off.").append("</p>\n");
  }

  private static void question(StringBuilder b, Solution.Answer a) {
    b.append("<p>").append(Html.escape(a.prompt())).append("</p>\n");
    if (!a.options().isEmpty()) {
      b.append("<ol class=\"options\">\n");
      for (int i = 0; i < a.options().size(); i++) {
        b.append("<li>(").append((char) ('a' + i)).append(") ").append(Html.escape(a.options().get(i))).append("</li>\n");
      }
      b.append("</ol>\n");
    }
  }

  private static void answer(StringBuilder b, Solution.Answer a, String prefix) {
    b.append("<p class=\"answer\">").append(Html.escape(a.shown())).append("</p>\n");
    if (!a.proofs().isEmpty()) {
      b.append("<ul>\n");
      for (int i = 0; i < a.proofs().size(); i++) {
        b.append("<li>").append(a.options().isEmpty() ? "" : "(" + (char) ('a' + i)
            + ") ").append(Html.escape(a.proofs().get(i))).append("</li>\n");
      }
      b.append("</ul>\n");
    }
    a.why().ifPresent(w -> b.append(w.html(prefix)));
    a.nearest().map(Counterfactual::words).ifPresent(w -> b.append("<p><strong>Nearest change:</strong> "
        + "").append(Html.escape(w)).append(".</p>\n"));
  }

  private static void lesson(StringBuilder b, Solution s) {
    if (!s.exercise().lesson.isEmpty()) {
      b.append("<div class=\"lesson\"><h3>What to take away</h3>\n");
      Html.paragraphs(b, s.exercise().lesson);
      b.append("</div>\n");
    }
  }
}
