package dev.scanloom.report;

import dev.scanloom.Variable;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.policy.ScanPolicy;
import java.util.ArrayList;
import java.util.List;

/**
 * A recorded run as a value change dump, for waveform viewers. Scopes: {@code scan} (number and phase), {@code field}, {@code memory}, and one per
 * display. Times are virtual nanoseconds. BOOL is a wire of 1 bit, REAL and LREAL a real, anything counted a vector of its width (times and dates 64 bits,
 * nanoseconds). Strings have no form in a value change dump and are left out; a comment names them.
 *
 * <p>Changes at the same virtual time stand in the order in which they happened; with a cost model of zero everything in a scan happens at one time.
 *
 * <p>Source: IEEE 1364-2005, clause 18 (from memory).
 */
public final class Waveforms {
  private static final String PHASES = "0 input refresh, 1 program, 2 output refresh, 3 housekeeping";

  private final Recordings recordings;
  private final Recordings.Run run;
  private final StringBuilder out = new StringBuilder();
  private int codes;

  private record Signal(String code, int width, boolean real, Variable variable) {}

  private Waveforms(Recordings recordings, Recordings.Run run) {
    this.recordings = recordings;
    this.run = run;
  }

  /** The dump's text. */
  public static String vcd(Recordings recordings, Recordings.Run run) {
    return new Waveforms(recordings, run).text();
  }

  private String text() {
    run.close();
    out.append("$comment Scanloom: ").append(clean(run.name())).append(" $end\n$comment phases: ").append(PHASES).append(" $end\n");
    List<String> left = new ArrayList<>();
    for (Variable v : recordings.items) {
      if (v instanceof Variable.Text) {
        left.add(name(v.path()));
      }
    }
    if (!left.isEmpty()) {
      out.append("$comment strings left out: ").append(String.join(" ", left)).append(" $end\n");
    }
    out.append("$timescale 1 ns $end\n");
    out.append("$scope module scan $end\n");
    String number = code();
    String phase = code();
    out.append("$var integer 64 ").append(number).append(" number $end\n$var wire 2 ").append(phase).append(" phase $end\n$upscope $end\n");
    List<ScanPolicy.Display> displays = run.policy().displays();
    Signal[] memory = scope("memory", false);
    Signal[] field = scope("field", true);
    List<Signal[]> shown = new ArrayList<>();
    for (ScanPolicy.Display d : displays) {
      shown.add(scope("display_" + name(d.name()), false));
    }
    out.append("$enddefinitions $end\n");
    int[] firstMemory = run.firstMemory();
    int[] firstField = run.firstField();
    out.append("#0\n$dumpvars\nb0 ").append(number).append("\nbx ").append(phase).append('\n');
    for (int i = 0; i < memory.length; i++) {
      change(memory[i], firstMemory[i]);
      change(field[i], firstField[i]);
      for (Signal[] s : shown) {
        change(s[i], -1);
      }
    }
    out.append("$end\n");
    long[] now = {0};
    for (int s = 0; s < run.log.count(); s++) {
      boolean[] begun = {false};
      int scan = s;
      run.log.visit(s, (kind, time, a, b, c, value) -> {
        if (time > now[0]) {
          out.append('#').append(time).append('\n');
          now[0] = time;
        }
        switch (kind) {
          case EventStore.PHASE -> {
            if (!begun[0]) {
              begun[0] = true;
              out.append('b').append(Long.toBinaryString(scan + 1)).append(' ').append(number).append('\n');
            }
            out.append('b').append(Long.toBinaryString(a)).append(' ').append(phase).append('\n');
          }
          case EventStore.WRITE -> {
            if (b >= 0) {
              change(memory[(int) b], (int) value);
            }
          }
          case EventStore.FIELD -> change(field[(int) a], (int) value);
          case EventStore.SAMPLE -> {
            if (b >= 0) {
              change(shown.get((int) a)[(int) b], (int) value);
            }
          }
          case EventStore.READ, EventStore.ELEMENT, EventStore.PAINT, EventStore.FAULT, EventStore.TASK -> {
          }
          default -> throw new IllegalStateException("event kind " + kind);
        }
      });
    }
    return out.toString();
  }

  private Signal[] scope(String name, boolean terminals) {
    out.append("$scope module ").append(name).append(" $end\n");
    Signal[] all = new Signal[recordings.items.size()];
    for (int i = 0; i < all.length; i++) {
      Variable v = recordings.items.get(i);
      if (v instanceof Variable.Text || terminals && v.area() != 'I' && v.area() != 'Q') {
        continue;
      }
      boolean real = v instanceof Variable.Real;
      int width = v.type() == ElementaryType.BOOL ? 1 : real ? 64 : Math.max(1, v.type().bits());
      all[i] = new Signal(code(), width, real, v);
      out.append("$var ").append(real ? "real" : "wire").append(' ').append(width).append(' ').append(all[i].code).append(' ').append(name(v.path()))
          .append(" $end\n");
    }
    out.append("$upscope $end\n");
    return all;
  }

  private void change(Signal s, int value) {
    if (s == null) {
      return;
    }
    if (value < 0) {
      if (!s.real) {
        out.append(s.width == 1 ? "x" : "bx ").append(s.code).append('\n');
      }
      return;
    }
    String text = recordings.store.textAt(value);
    if (s.real) {
      out.append('r').append(text).append(' ').append(s.code).append('\n');
      return;
    }
    if (s.width == 1) {
      out.append(text.equals("TRUE") ? '1' : '0').append(s.code).append('\n');
      return;
    }
    long bits = s.variable.parse(text);
    long masked = s.width == 64 ? bits : bits & ((1L << s.width) - 1);
    out.append('b').append(Long.toBinaryString(masked)).append(' ').append(s.code).append('\n');
  }

  /** Identifier codes are of the printable characters ! to ~. */
  private String code() {
    StringBuilder b = new StringBuilder();
    int n = codes++;
    do {
      b.append((char) ('!' + n % 94));
      n /= 94;
    } while (n > 0);
    return b.toString();
  }

  /** A name without white space, brackets (they would select bits) and anything but ASCII. */
  private static String name(String text) {
    StringBuilder b = new StringBuilder();
    text.codePoints().forEach(c -> {
      if (c == '[') {
        b.append('(');
      } else if (c == ']') {
        b.append(')');
      } else if (c > 32 && c < 127 && c != '$') {
        b.append((char) c);
      } else {
        b.append('_').append(Integer.toHexString(c)).append('_');
      }
    });
    return b.toString();
  }

  private static String clean(String text) {
    return Markup.inert(text).replace("$end", "end");
  }
}
