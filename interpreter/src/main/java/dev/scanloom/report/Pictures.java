package dev.scanloom.report;

import dev.scanloom.Variable;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;

/**
 * Still pictures of recorded runs as SVG: legible in print, in light and dark surroundings, and without colour (line weight, a 1/0 badge, words).
 */
public final class Pictures {
  private static final String STYLE = """
      <style>
      svg{--ink:#1f1c2b;--soft:#5f5a70;--on:#54257f;--off:#8a8598;--now:#0a5b73;--gap:#8a4b00;--bg:#ffffff}
      @media (prefers-color-scheme:dark){svg{--ink:#ece8f4;--soft:#aaa4bb;--on:#d9b3ff;--off:#8d86a0;--now:#8cd8ec;--gap:#ffc46b;--bg:#15131b}}
      .bg{fill:var(--bg)} text{font:12px ui-monospace,"DejaVu Sans Mono",monospace;fill:var(--ink)} .soft{fill:var(--soft)} .mid{text-anchor:middle}
      .low{stroke:var(--off);stroke-width:1.4;fill:none} .high{stroke:var(--on);stroke-width:3.4;fill:none} .edge{stroke:var(--ink);stroke-width:1.2}
      .bus{stroke:var(--ink);stroke-width:1.2;fill:none} .none{stroke:var(--off);stroke-width:1.2;stroke-dasharray:2 3}
      .scan{stroke:var(--soft);stroke-width:1} .phase{stroke:var(--soft);stroke-width:.7;stroke-dasharray:1 4} .mark{fill:none;stroke:var(--now);stroke-width:1.6}
      .rail{stroke:var(--ink);stroke-width:2.4} .link{stroke:var(--off);stroke-width:1.4;fill:none;stroke-linecap:round}
      .link.on,.on .link{stroke:var(--on);stroke-width:4.2} .box{stroke:var(--ink);fill:none;stroke-width:1.5}
      .joint{fill:var(--ink)} .ring{fill:var(--bg);stroke:var(--ink);stroke-width:1.5}
      .badge{fill:var(--bg);stroke:var(--off)} .on .badge{fill:var(--on);stroke:var(--on)} .on .bit{fill:var(--bg);font-weight:700} .bit{font-size:10.5px}
      .gap{fill:var(--gap);font-weight:700}
      </style>
      """;

  private static final double ROW = 28;

  private Pictures() {}

  // ---- timing ------------------------------------------------------------------------------------------------------------

  /** The horizontal axis of a timing diagram. */
  public enum Axis {
    /** Virtual time, to scale. */
    TIME,
    /** Every scan equally wide, what happens in it evenly spread in its order; for programs that are short against the period. */
    ORDER
  }

  private record Change(double x, int value) {}

  /**
   * A timing diagram.
   *
   * @param paths variables to draw; each in memory, and where there is such, in the field and on every display
   * @param firstScan first scan drawn, from 1
   * @param lastScan last scan drawn
   * @throws IllegalArgumentException for an unknown variable or an empty range of scans
   */
  public static String timing(Recordings recordings, Recordings.Run run, List<String> paths, int firstScan, int lastScan, Axis axis) {
    run.close();
    int last = Math.min(lastScan, run.log.count());
    if (firstScan < 1 || firstScan > last) {
      throw new IllegalArgumentException("scans " + firstScan + " to " + lastScan + " of " + run.log.count());
    }
    int[] items = new int[paths.size()];
    for (int i = 0; i < items.length; i++) {
      items[i] = recordings.itemOf(recordings.program().variable(paths.get(i)).path());
      if (items[i] < 0) {
        throw new IllegalArgumentException("the recording lacks " + paths.get(i));
      }
    }
    double scanWidth = Math.max(60, Math.min(220, 1100.0 / (last - firstScan + 1)));
    double left = 190;
    double width = scanWidth * (last - firstScan + 1);
    long begin = run.log.start(firstScan - 1);
    long[] end = {begin + 1};
    for (int s = firstScan - 1; s < last; s++) {
      run.log.visit(s, (kind, time, a, b, c, value) -> end[0] = Math.max(end[0], time));
    }
    if (last - firstScan >= 1) {
      end[0] = Math.max(end[0], run.log.start(last - 1) + (run.log.start(last - 1) - run.log.start(firstScan - 1)) / (last - firstScan));
    }
    Replay state = new Replay(run, recordings.program().elements().size());
    for (int s = 0; s < firstScan - 1; s++) {
      state.scan(run.log, s);
    }
    List<ScanPolicy.Display> displays = run.policy().displays();
    List<String> labels = new ArrayList<>();
    List<List<Change>> lanes = new ArrayList<>();
    List<Integer> laneItem = new ArrayList<>();
    int[][] laneOf = new int[items.length][2 + displays.size()];
    for (int i = 0; i < items.length; i++) {
      Variable v = recordings.items.get(items[i]);
      for (int place = 0; place < 2 + displays.size(); place++) {
        laneOf[i][place] = -1;
        if (place == 0 && v.area() != 'I' && v.area() != 'Q') {
          continue;
        }
        laneOf[i][place] = lanes.size();
        labels.add(v.path() + (place == 0 ? "  field" : place == 1 ? "  memory" : "  " + displays.get(place - 2).name()));
        List<Change> lane = new ArrayList<>();
        lane.add(new Change(left, place == 0 ? state.field[items[i]] : place == 1 ? state.memory[items[i]] : state.shown[place - 2][items[i]]));
        lanes.add(lane);
        laneItem.add(items[i]);
      }
    }
    StringBuilder marks = new StringBuilder();
    double top = 46;
    double laneHeight = 30;
    double bottom = top + laneHeight * lanes.size();
    for (int s = firstScan - 1; s < last; s++) {
      int[] count = {0};
      run.log.visit(s, (kind, time, a, b, c, value) -> count[0]++);
      int[] k = {0};
      // what happens between two scans is kept with the later one, which begins at its input refresh
      long[] refresh = {-1};
      run.log.visit(s, (kind, time, a, b, c, value) -> refresh[0] = refresh[0] < 0 && kind == EventStore.PHASE && a == 0 ? time : refresh[0]);
      long starts = refresh[0] < 0 ? run.log.start(s) : refresh[0];
      double x0 = axis == Axis.ORDER ? left + (s - firstScan + 1) * scanWidth : left + width * (starts - begin) / (double) (end[0] - begin);
      line(marks, "scan", x0, top - 22, x0, bottom);
      text(marks, x0 + 3, top - 26, "soft", "scan " + (s + 1));
      run.log.visit(s, (kind, time, a, b, c, value) -> {
        k[0]++;
        double x = axis == Axis.ORDER ? x0 + scanWidth * k[0] / (count[0] + 1) : left + width * (time - begin) / (double) (end[0] - begin);
        if (kind == EventStore.PHASE && (a == 0 || a == 2)) {
          line(marks, "phase", x, top - 8, x, bottom);
          marks.append("<path class=\"mark\" d=\"").append(a == 0 ? "M" + n(x - 4) + " " + n(top - 14) + "h8l-4 7z" : "M" + n(x - 4) + " " + n(top - 7) + "h8l-4 -7z")
              .append("\"><title>").append(a == 0 ? "input refresh" : "output refresh").append("</title></path>\n");
        }
        for (int i = 0; i < items.length; i++) {
          int lane = -1;
          if (kind == EventStore.FIELD && a == items[i]) {
            lane = laneOf[i][0];
          } else if (kind == EventStore.WRITE && b == items[i]) {
            lane = laneOf[i][1];
          } else if (kind == EventStore.SAMPLE && b == items[i]) {
            lane = laneOf[i][2 + (int) a];
          } else if (kind == EventStore.SAMPLE && b < 0) {
            int l = laneOf[i][2 + (int) a];
            double y = top + laneHeight * l + laneHeight - 4;
            marks.append("<path class=\"mark\" d=\"M").append(n(x)).append(' ').append(n(y - 4)).append("l4 4l-4 4l-4 -4z\"><title>sample</title></path>\n");
          }
          if (lane >= 0) {
            List<Change> changes = lanes.get(lane);
            if (changes.get(changes.size() - 1).value != (int) value) {
              changes.add(new Change(x, (int) value));
            }
          }
        }
      });
    }
    StringBuilder out = head(left + width + 20, bottom + 34, "Timing diagram: " + run.name() + ", scans " + firstScan + " to " + last);
    out.append("<desc>Heavy lines at the top are on, thin ones at the bottom off, dotted ones not yet known. Triangles pointing down mark the input refresh, ")
        .append("triangles pointing up the output refresh, diamonds a sample of a display.</desc>\n").append(marks);
    legend(out, left, bottom + 22);
    for (int l = 0; l < lanes.size(); l++) {
      double y = top + laneHeight * l;
      text(out, 8, y + laneHeight / 2 + 4, "", labels.get(l));
      lane(out, recordings, recordings.items.get(laneItem.get(l)), lanes.get(l), y, laneHeight, left + width);
    }
    return out.append("</svg>\n").toString();
  }

  /** What the marks mean, in the picture itself: it must be legible where it is copied to. */
  private static void legend(StringBuilder out, double x, double y) {
    String[] words = {"input refresh", "output refresh", "sample of a display"};
    double at = x;
    for (int i = 0; i < words.length; i++) {
      out.append("<path class=\"mark\" d=\"M").append(n(at)).append(' ').append(n(i == 0 ? y - 7 : i == 1 ? y : y - 8))
          .append(i == 0 ? "h8l-4 7z" : i == 1 ? "h8l-4 -7z" : "l4 4l-4 4l-4 -4z").append("\"/>\n");
      text(out, at + 13, y, "soft", words[i]);
      at += 40 + 7.3 * words[i].length();
    }
  }

  private static void lane(StringBuilder out, Recordings recordings, Variable v, List<Change> changes, double y, double height, double right) {
    boolean bool = v instanceof Variable.Bool;
    double high = y + 6;
    double low = y + height - 6;
    for (int i = 0; i < changes.size(); i++) {
      Change c = changes.get(i);
      double x1 = i + 1 < changes.size() ? changes.get(i + 1).x : right;
      if (c.value < 0) {
        line(out, "none", c.x, (high + low) / 2, x1, (high + low) / 2);
        continue;
      }
      String value = recordings.store.textAt(c.value);
      if (bool) {
        boolean on = value.equals("TRUE");
        line(out, on ? "high" : "low", c.x, on ? high : low, x1, on ? high : low);
        if (i > 0) {
          line(out, "edge", c.x, high, c.x, low);
        }
        if (x1 - c.x > 12) {
          text(out, c.x + 3, on ? high + 13 : low - 3, "bit", on ? "1" : "0");
        }
      } else {
        out.append("<path class=\"bus\" d=\"M").append(n(c.x)).append(' ').append(n((high + low) / 2)).append("L").append(n(c.x + 3)).append(' ').append(n(high))
            .append("H").append(n(Math.max(c.x + 3, x1 - 3))).append("L").append(n(x1)).append(' ').append(n((high + low) / 2)).append("L")
            .append(n(Math.max(c.x + 3, x1 - 3))).append(' ').append(n(low)).append("H").append(n(c.x + 3)).append("z\"/>\n");
        int fits = (int) ((x1 - c.x - 8) / 7.3);
        if (fits > 0) {
          text(out, c.x + 5, (high + low) / 2 + 4, "bit", value.codePointCount(0, value.length()) <= fits ? value
              : fits > 1 ? value.substring(0, value.offsetByCodePoints(0, fits - 1)) + "\u2026" : "");
        }
      }
    }
  }

  // ---- ladder ------------------------------------------------------------------------------------------------------------

  /**
   * The ladder networks at the end of a scan: as executed at the left, as a display paints them at the right.
   *
   * @param scan from 1
   * @param display name of the display; the second picture is left out when the run has none
   * @throws IllegalArgumentException when there is no such scan or display
   */
  public static String ladder(Recordings recordings, Recordings.Run run, int scan, String display) {
    run.close();
    if (scan < 1 || scan > run.log.count()) {
      throw new IllegalArgumentException("scan " + scan + " of " + run.log.count());
    }
    int d = -1;
    List<ScanPolicy.Display> displays = run.policy().displays();
    for (int i = 0; i < displays.size(); i++) {
      if (displays.get(i).name().equals(display)) {
        d = i;
      }
    }
    if (d < 0 && !displays.isEmpty()) {
      throw new IllegalArgumentException("no display " + display);
    }
    Replay state = new Replay(run, recordings.program().elements().size());
    for (int s = 0; s < scan; s++) {
      state.scan(run.log, s);
    }
    PageModel model = new Page(recordings, "", "").model();
    StringBuilder body = new StringBuilder();
    double y = 34;
    double widest = 0;
    for (PageModel.Network n : model.networks) {
      widest = Math.max(widest, columns(n) * 9.0 + 40);
    }
    text(body, 10, 18, "soft", "executed");
    if (d >= 0) {
      text(body, 10 + widest, 18, "soft", "painted by " + display);
    }
    for (PageModel.Network n : model.networks) {
      text(body, 10, y, "", "Network " + n.number() + (n.note().isEmpty() ? "" : ": " + n.note().replace('\n', ' ')));
      network(body, n, 10, y + 8, state.executed, state.power, state.executed);
      if (d >= 0) {
        network(body, n, 10 + widest, y + 8, state.painted[d], null, state.executed);
      }
      y += rows(n) * ROW + 44;
    }
    StringBuilder out = head(10 + widest * (d >= 0 ? 2 : 1), y, "Ladder, scan " + scan + ", " + run.name());
    return out.append(body).append("</svg>\n").toString();
  }

  private static int top(PageModel.Network n) {
    int top = Integer.MAX_VALUE;
    for (PageModel.Element e : n.elements()) {
      top = Math.min(top, e.row() - (e.kind().equals("box") ? 0 : 1));
    }
    for (PageModel.Segment s : n.segments()) {
      top = Math.min(top, s.row());
    }
    for (PageModel.Text t : n.texts()) {
      top = Math.min(top, t.row());
    }
    return top == Integer.MAX_VALUE ? 1 : top;
  }

  private static int rows(PageModel.Network n) {
    int bottom = 1;
    for (PageModel.Element e : n.elements()) {
      bottom = Math.max(bottom, e.row() + e.height());
    }
    for (PageModel.Segment s : n.segments()) {
      bottom = Math.max(bottom, s.toRow());
    }
    return bottom - top(n) + 1;
  }

  private static int columns(PageModel.Network n) {
    int right = 10;
    for (PageModel.Segment s : n.segments()) {
      right = Math.max(right, s.toColumn());
    }
    for (PageModel.Text t : n.texts()) {
      right = Math.max(right, t.column() + t.text().codePointCount(0, t.text().length()));
    }
    return right + 1;
  }

  /** {@code power} null: links are drawn without state, as a picture that infers nothing but its elements. */
  private static void network(StringBuilder b, PageModel.Network n, double x0, double y0, int[] state, int[] power, int[] executed) {
    int top = top(n);
    for (int rail : n.rails()) {
      line(b, "rail", x0 + rail * 9, y0 + 4, x0 + rail * 9, y0 + rows(n) * ROW - 6);
    }
    for (PageModel.Segment s : n.segments()) {
      boolean on = false;
      if (power != null) {
        for (int source : s.sources()) {
          if (source >= -1) {
            on |= source < 0 || power[source] == 1;
          } else {
            PageModel.Element fed = n.elements().stream().filter(e -> e.id() == -2 - source).findFirst().orElseThrow();
            on |= fed.kind().equals("coil") ? executed[fed.id()] == 1 : executed[fed.id()] == 1 && power[fed.id()] == 1;
          }
        }
      }
      line(b, on ? "link on" : "link", x0 + s.column() * 9, y0 + (s.row() - top + 0.5) * ROW, x0 + s.toColumn() * 9, y0 + (s.toRow() - top + 0.5) * ROW);
    }
    for (PageModel.Dot d : n.dots()) {
      b.append("<circle class=\"").append(d.open() ? "ring" : "joint").append("\" cx=\"").append(n(x0 + (d.column() + (d.open() ? 0.5 : 0)) * 9)).append("\" cy=\"")
          .append(n(y0 + (d.row() - top + 0.5) * ROW)).append("\" r=\"").append(d.open() ? "4.5" : "3").append("\"/>\n");
    }
    for (PageModel.Text t : n.texts()) {
      double length = t.text().codePointCount(0, t.text().length());
      text(b, x0 + (t.column() + (length - 1) / 2) * 9, y0 + (t.row() - top + 0.5) * ROW + 4 + t.down(), "mid", t.text());
    }
    for (PageModel.Element e : n.elements()) {
      int v = state[e.id()];
      double y = y0 + (e.row() - top + 0.5) * ROW;
      double l = x0 + e.column() * 9;
      double r = x0 + (e.column() + e.width() - 1) * 9;
      double mid = (l + r) / 2;
      b.append("<g").append(v == 1 ? " class=\"on\"" : "").append('>');
      switch (e.kind()) {
        case "contact", "compare" -> {
          line(b, "link", l - 9, y, l, y);
          line(b, "link", r, y, r + 9, y);
          line(b, "link", l, y - 8, l, y + 8);
          line(b, "link", r, y - 8, r, y + 8);
          text(b, mid, y + 4, "mid", e.mark().strip());
        }
        case "coil" -> {
          line(b, "link", l - 9, y, l - 2, y);
          if (n.segments().stream().anyMatch(s -> s.row() == e.row() && s.toRow() == e.row() && s.column() <= e.column() + e.width() + 1
              && s.toColumn() > e.column() + e.width() - 1)) {
            line(b, "link", r + 2, y, r + 9, y);
          }
          b.append("<path class=\"link\" d=\"M").append(n(l + 3)).append(' ').append(n(y - 8)).append('Q').append(n(l - 5)).append(' ').append(n(y)).append(' ')
              .append(n(l + 3)).append(' ').append(n(y + 8)).append("\"/><path class=\"link\" d=\"M").append(n(r - 3)).append(' ').append(n(y - 8)).append('Q')
              .append(n(r + 5)).append(' ').append(n(y)).append(' ').append(n(r - 3)).append(' ').append(n(y + 8)).append("\"/>");
          text(b, mid, y + 4, "mid", e.mark().strip());
        }
        case "box" -> b.append("<rect class=\"box\" x=\"").append(n(l)).append("\" y=\"").append(n(y)).append("\" width=\"").append(n(r - l)).append("\" height=\"")
            .append(n((e.height() - 1) * ROW)).append("\"/>");
        case "jump" -> text(b, mid, y + 4, "mid", "\u226B " + e.title());
        case "return" -> text(b, mid, y + 4, "mid", "RETURN");
        default -> throw new IllegalStateException(e.kind());
      }
      if (e.kind().equals("contact") || e.kind().equals("compare") || e.kind().equals("coil")) {
        b.append("<rect class=\"badge\" x=\"").append(n(mid - 6)).append("\" y=\"").append(n(y + 9)).append("\" width=\"12\" height=\"11\" rx=\"2\"/>");
        text(b, mid, y + 18, "mid bit", v < 0 ? "\u2013" : Integer.toString(v));
        if (v >= 0 && executed[e.id()] >= 0 && v != executed[e.id()]) {
          text(b, mid + 9, y + 18, "gap", "\u2260");
        }
      }
      b.append("</g>\n");
    }
  }

  // ---- writing -----------------------------------------------------------------------------------------------------------

  private static StringBuilder head(double width, double height, String title) {
    return new StringBuilder("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ").append(n(width)).append(' ').append(n(height)).append("\" width=\"")
        .append(n(width)).append("\" height=\"").append(n(height)).append("\" role=\"img\">\n<title>").append(Markup.escape(title)).append("</title>\n")
        .append(STYLE).append("<rect class=\"bg\" width=\"100%\" height=\"100%\"/>\n");
  }

  private static void line(StringBuilder b, String css, double x1, double y1, double x2, double y2) {
    b.append("<line class=\"").append(css).append("\" x1=\"").append(n(x1)).append("\" y1=\"").append(n(y1)).append("\" x2=\"").append(n(x2)).append("\" y2=\"")
        .append(n(y2)).append("\"/>\n");
  }

  private static void text(StringBuilder b, double x, double y, String css, String text) {
    if (!text.isEmpty()) {
      b.append("<text").append(css.isEmpty() ? "" : " class=\"" + css + "\"").append(" x=\"").append(n(x)).append("\" y=\"").append(n(y)).append("\" xml:space=\"preserve\">")
          .append(Markup.escape(text)).append("</text>\n");
    }
  }

  private static String n(double d) {
    return Math.rint(d) == d ? Long.toString((long) d) : String.format(Locale.ROOT, "%.2f", d);
  }
}
