package dev.scanloom.explain;

import dev.scanloom.explain.Evidence.Constant;
import dev.scanloom.explain.Evidence.Decision;
import dev.scanloom.explain.Evidence.Guarded;
import dev.scanloom.explain.Evidence.Operation;
import dev.scanloom.explain.Evidence.Read;
import dev.scanloom.explain.Evidence.Unknown;
import dev.scanloom.explain.Evidence.Value;
import dev.scanloom.explain.Evidence.Write;
import dev.scanloom.explain.Evidence.Writer;
import dev.scanloom.explain.Fact.Kind;
import dev.scanloom.model.Element;
import dev.scanloom.observe.StepInfo;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.TreeSet;

/** Evidence to facts: follows only what decided, and says it in words. One object per question. */
final class Explaining {
  /** Links of a chain before it is cut; bounds the recursion. */
  private static final int DEPTH = 400;
  private static final int FACTS = 20_000;
  private static final int TEXT = 60;

  private final Names names;
  private final int stamp;
  private final long asked;
  private final long since;
  private final List<Decision> branches;
  private int made;

  /** {@code since}: scans completed when the recorder was attached. */
  Explaining(Names names, int stamp, long asked, long since, List<Decision> branches) {
    this.names = names;
    this.stamp = stamp;
    this.asked = asked;
    this.since = since;
    this.branches = branches;
  }

  // ---- roots ----

  Explanation variable(String name, Read root, Optional<Read> image, String when, Optional<String> text) {
    Fact.Parts p = parts(Kind.READ, root.scan, 0, root.time, -1);
    place(p, root.address, root.width, root.bits);
    p.subject = name;
    p.value = text.orElse(p.value);
    p.words = (root.field ? "the terminal of " : "") + name + " is " + p.value + " " + when;
    Fact f = new Fact(p);
    List<Fact> because = seen(root, DEPTH);
    if (root.field) {
      image.ifPresent(r -> addOnce(because, image(name, root, r)));
    } else {
      unchanged(name, root).ifPresent(because::add);
    }
    f.reasons(because);
    return new Explanation(name, root.field, asked, f);
  }

  /** Memory behind an output terminal, when it was written since the delivery that changed the terminal. */
  private Fact image(String name, Read terminal, Read memory) {
    boolean same = terminal.bits == memory.bits;
    Fact.Parts p = parts(same ? Kind.READ : Kind.UNCHANGED, asked, 0, memory.time, -1);
    place(p, memory.address, memory.width, memory.bits);
    p.subject = name;
    p.words = same
        ? "its process image holds " + p.value + " as well, so that deliveries since then changed nothing"
        : "no delivery has happened since its process image became " + p.value;
    Fact f = new Fact(p);
    f.reasons(seen(memory, DEPTH));
    return f;
  }

  Explanation element(int id, Provenance.Evaluation v) {
    Fact.Parts p = parts(Kind.COMPUTATION, v.moment().scan, v.moment().ordinal, v.moment().time, v.step());
    p.element = id;
    p.bits = v.power() ? 1 : 0;
    p.value = Names.truth(p.bits);
    p.subject = names.element(id).map(Explaining::called).orElse("element " + id);
    p.words = p.subject + (p.network > 0 ? " of network " + p.network : "") + (v.power() ? " passed power" : " passed no power") + at(p);
    Fact f = new Fact(p);
    List<Fact> because = new ArrayList<>();
    v.value().bits = p.bits;
    add(because, v.value(), DEPTH);
    decisions(because, v.control(), DEPTH);
    f.reasons(because);
    return new Explanation(p.subject, false, p.scan, f);
  }

  // ---- what decided ----

  /** Adds the facts of a value; a computation of constants alone is a constant. */
  private void add(List<Fact> to, Value v, int depth) {
    if (v instanceof Guarded g) {
      add(to, g.value, depth);
      for (Decision d : g.decisions) {
        addOnce(to, decision(d, depth));
      }
      return;
    }
    addOnce(to, value(v, depth));
  }

  private static void addOnce(List<Fact> to, Fact f) {
    for (Fact x : to) {
      if (x == f) {
        return;
      }
    }
    to.add(f);
  }

  private Fact value(Value v, int depth) {
    if (v.stamp == stamp) {
      return v.fact;
    }
    Fact f;
    if (v.fixed || v instanceof Constant) {
      f = constant(v);
    } else if (v instanceof Read r) {
      f = read(r, depth);
    } else if (v instanceof Operation o) {
      f = operation(o, depth);
    } else {
      long scan = v instanceof Unknown u ? u.scan : asked;
      Fact.Parts p = parts(Kind.OLDER, scan, 0, 0, -1);
      p.bits = v.bits;
      p.value = Long.toString(v.bits);
      p.words = "a value that was computed before the recorder was attached";
      f = new Fact(p);
    }
    v.stamp = stamp;
    v.fact = f;
    return f;
  }

  private Fact constant(Value v) {
    Value c = v;
    while (c instanceof Operation o && o.operands.length > 0) {
      c = o.operands[0];
    }
    int step = v instanceof Operation o ? o.step : v instanceof Constant k ? k.step : -1;
    Constant at = c instanceof Constant k ? k : null;
    boolean clock = v instanceof Constant k && k.clock;
    Fact.Parts p = parts(clock ? Kind.CLOCK : Kind.CONSTANT, at == null ? asked : at.scan, at == null ? 0 : at.ordinal, at == null ? 0
        : at.time, step);
    p.bits = v.bits;
    p.value = Long.toString(v.bits);
    p.subject = p.span.map(s -> shorten(s.text())).orElse("");
    if (clock) {
      p.value = duration(v.bits);
      p.words = "the task's time was " + p.value + at(p);
    } else if (p.network > 0 && p.element < 0 && v.bits == 1) {
      p.subject = "left power rail";
      p.words = "the left power rail is ON";
    } else {
      p.words = "the constant " + (p.network > 0 || p.subject.isEmpty() ? p.value : p.subject) + " stands in the program";
    }
    return new Fact(p);
  }

  private Fact read(Read r, int depth) {
    Fact.Parts p = parts(Kind.READ, r.scan, r.ordinal, r.time, r.step);
    place(p, r.address, r.width, r.bits);
    String name = local(p);
    Optional<Element> e = names.element(p.element);
    boolean contact = e.isPresent() && e.get().kind() == Element.Kind.CONTACT && named(e.get(), name);
    p.words = contact
        ? called(e.get()) + " read " + digit(r.bits) + at(p)
        : name + " was read as " + p.value + at(p);
    Fact f = new Fact(p);
    List<Fact> because = seen(r, depth - 1);
    if (r.pointer != null && !r.pointer.fixed) {
      add(because, r.pointer, depth - 1);
    }
    f.reasons(because);
    return f;
  }

  private static boolean named(Element e, String name) {
    String title = e.title();
    return name.equalsIgnoreCase(title) || last(name).equalsIgnoreCase(last(title)) || title.startsWith("%") || name.startsWith("%");
  }

  /** The writes that a read saw, or the initial value. */
  private List<Fact> seen(Read r, int depth) {
    return seen(r.seen, r.address, r.width, r.bits, r.field, depth);
  }

  private List<Fact> seen(Write[] latest, long address, int width, long bits, boolean field, int depth) {
    Write[] writes = Evidence.origins(latest, address, width);
    List<Fact> because = new ArrayList<>(1);
    int from = 0;
    while (from < writes.length) {
      int to = from + 1;
      while (to < writes.length && writes[to] == writes[from]) {
        to++;
      }
      boolean whole = writes.length == 1;
      long at = whole ? address : address + from;
      int bitsWide = whole ? width : to - from;
      long part = whole ? bits : bits >>> from & (1L << bitsWide) - 1;
      addOnce(because, writes[from] == null ? initial(at, bitsWide, part, field) : write(writes[from], at, bitsWide, depth));
      from = to;
    }
    return because;
  }

  private Fact initial(long address, int width, long bits, boolean field) {
    Fact.Parts p = parts(since > 0 ? Kind.OLDER : Kind.INITIAL, since, 0, 0, -1);
    place(p, address, width, bits);
    String name = p.subject.isEmpty() ? "it" : p.subject;
    p.words = since > 0
        ? (field ? "the terminal of " : "") + name + " was " + (field ? value01(p) : p.value)
        + " when the recorder was attached after scan " + since
        : field
        ? "the terminal of " + name + " has been " + value01(p) + " from the start"
        : name + " still had its initial value " + p.value;
    return new Fact(p);
  }

  private Fact operation(Operation o, int depth) {
    StepInfo info = names.step(o.step);
    Fact.Parts p = parts(Kind.COMPUTATION, o.scan, o.ordinal, o.time, o.step);
    p.subject = info.text();
    p.bits = o.bits;
    p.value = isBool(o) ? Names.truth(o.bits) : Long.toString(o.bits);
    p.words = p.span.map(s -> shorten(s.text())).orElse(info.text()) + " gave " + p.value + at(p);
    Fact f = new Fact(p);
    List<Fact> because = new ArrayList<>();
    if (++made > FACTS || depth <= 0) {
      because.add(cut(o.scan, "the chain goes on"));
    } else {
      for (Value v : decisive(o)) {
        add(because, v, depth - 1);
      }
    }
    f.reasons(because);
    return f;
  }

  /** The operands that decided the result, in the order of evaluation. */
  private List<Value> decisive(Operation o) {
    List<Value> all = List.of(o.operands);
    long[] v = o.values;
    switch (o.kind) {
      case AND:
        if (v.length == 2 && (v[0] == 0 || v[1] == 0)) {
          return List.of(o.operands[v[0] == 0 ? 0 : 1]);
        }
        return all;
      case OR:
        if (v.length == 2 && isBool(o) && (v[0] == 1 || v[1] == 1)) {
          return List.of(o.operands[v[0] == 1 ? 0 : 1]);
        }
        return all;
      case MULTIPLY:
        if (v.length == 2 && (v[0] == 0 || v[1] == 0)) {
          return List.of(o.operands[v[0] == 0 ? 0 : 1]);
        }
        return all;
      case SELECT:
        if (v.length > 1 && v[0] >= 0 && v[0] < v.length - 1) {
          return List.of(o.operands[0], o.operands[1 + (int) v[0]]);
        }
        return all;
      default:
        List<Value> more = new ArrayList<>(all);
        more.addAll(o.reads);
        return more;
    }
  }

  private boolean isBool(Value v) {
    if (v instanceof Read r) {
      return names.isBool(r.address, r.width) || r.step >= 0 && loadsBool(names.step(r.step).text());
    }
    if (v instanceof Guarded g) {
      return isBool(g.value);
    }
    if (v instanceof Operation o) {
      switch (o.kind) {
        case COMPARE:
          return true;
        case NOT:
          return o.operands.length > 0 && isBool(o.operands[0]);
        case AND, OR:
          if (o.kind == StepInfo.Kind.AND && names.step(o.step).element() >= 0) {
            // a contact joins its left link
            return names.element(names.step(o.step).element()).map(e -> e.kind() != Element.Kind.BOX).orElse(false);
          }
          for (Value x : o.operands) {
            if (isBool(x)) {
              return true;
            }
          }
          return false;
        case COMPUTE:
          return names.step(o.step).text().startsWith("XOR") && (isBool(o.operands[0]) || isBool(o.operands[1]));
        default:
          return false;
      }
    }
    return false;
  }

  /** The listing names the kind behind the operation. */
  private static boolean loadsBool(String text) {
    int kind = text.indexOf(' ') + 1;
    return kind > 0 && text.startsWith("LOAD") && (text.startsWith("BOOL ", kind) || text.substring(kind).equals("BOOL"));
  }

  /**
   * The fact of a write as far as a location is concerned: what copies areas wholesale (refresh, delivery, restart) is told for the part
   * that was asked about, an instruction's write as it was.
   */
  private Fact write(Write w, long address, int width, int depth) {
    boolean part = w.writer != Writer.INSTRUCTION && Locations.isLocated(address) && (address != w.address || width != w.width)
        && address >= w.address && address + width <= w.address + w.width;
    if (w.stamp == stamp && !part && w.fact != null) {
      return w.fact;
    }
    if (w.stamp != stamp) {
      w.stamp = stamp;
      w.fact = null;
      w.parts = null;
    }
    if (part && w.parts != null) {
      for (Fact f : w.parts) {
        if (f.address() == address && f.width() == width) {
          return f;
        }
      }
    }
    int shift = part ? (int) (address - w.address) : 0;
    long mask = part ? (1L << width) - 1 : -1;
    Kind kind = switch (w.writer) {
      case INSTRUCTION -> Kind.WRITE;
      case INPUT_REFRESH -> Kind.INPUT_REFRESH;
      case EXTERNAL_WRITE -> Kind.EXTERNAL_WRITE;
      case FORCE -> Kind.FORCE;
      case INITIALIZATION -> Kind.INITIAL;
      case RETAINED -> Kind.RETAINED;
      case FIELD_CHANGE -> Kind.FIELD_CHANGE;
      case DELIVERY -> Kind.DELIVERY;
      case TASK_IMAGE -> Kind.OLDER;
    };
    boolean older = !kind.isLeaf() && (w.collapsed || depth <= 0 || ++made > FACTS);
    Fact.Parts p = parts(older ? Kind.OLDER : kind, w.scan, w.ordinal, w.time, w.step);
    place(p, part ? address : w.address, part ? width : w.width, w.after >>> shift & mask);
    p.words = words(w, p, w.before >>> shift & mask) + (older ? w.collapsed ? ", which is older than what is kept"
        : ", and the chain goes on" : "");
    Fact f = new Fact(p);
    // remembered before its reasons are followed: evidence has no cycles, but shared facts are many
    if (part) {
      if (w.parts == null) {
        w.parts = new ArrayList<>(1);
      }
      w.parts.add(f);
    } else {
      w.fact = f;
    }
    if (!older) {
      List<Fact> because = new ArrayList<>();
      if (w.writer == Writer.INPUT_REFRESH || w.writer == Writer.DELIVERY) {
        if (w.value instanceof Read r) {
          Write[] origin = r.seen.length > 1 && part ? Arrays.copyOfRange(r.seen, shift, shift + width) : r.seen;
          because.addAll(seen(origin, p.address, p.width, p.bits, r.field, depth - 1));
        }
      } else if (w.writer == Writer.INSTRUCTION) {
        if (w.value != null) {
          w.value.bits = w.value.bits == 0 && w.value instanceof Operation ? w.after : w.value.bits;
          add(because, w.value, depth - 1);
        }
        if (w.pointer != null) {
          add(because, w.pointer, depth - 1);
        }
        decisions(because, w.control, depth - 1);
      }
      f.reasons(because);
    }
    return f;
  }

  private String words(Write w, Fact.Parts p, long before) {
    String name = p.subject;
    switch (w.writer) {
      case INSTRUCTION: {
        String who = p.network > 0 ? "network " + p.network + (p.body.isEmpty() ? "" : " of " + p.body) : p.body.isEmpty()
            ? "an instruction" : p.body;
        if (name.isEmpty()) {
          String target = p.step >= 0 ? target(names.step(p.step)) : "";
          if (p.span.isPresent() && p.span.get().text().contains(":=") && target.matches("[A-Za-z_][A-Za-z0-9_.]*")) {
            p.subject = target;
            return who + " wrote " + p.value + " to " + target + at(p);
          }
          return who + " passed " + p.value + at(p);
        }
        return who + " wrote " + p.value + " to " + name + at(p) + replaced(w, p, before);
      }
      case INPUT_REFRESH:
        return switch (w.occasion) {
          case PHASE -> "the input refresh of scan " + w.scan + " stored " + value01(p) + " in " + name;
          case ACCESS -> "the read itself first copied " + value01(p) + " from the terminal to " + name + at(p);
          case SUBSYSTEM -> "the I/O subsystem stored " + value01(p) + " in " + name + " " + moment(w);
          case TASK -> "the input refresh at the start of a task stored " + value01(p) + " in " + name + " " + moment(w);
        } + replaced(w, p, before);
      case DELIVERY:
        return switch (w.occasion) {
          case PHASE -> "the output refresh of scan " + w.scan + " delivered " + value01(p) + " to the terminal of " + name;
          case ACCESS -> "the write itself delivered " + value01(p) + " to the terminal of " + name + at(p);
          case SUBSYSTEM -> "the I/O subsystem delivered " + value01(p) + " to the terminal of " + name + " " + moment(w);
          case TASK -> "the end of the task delivered " + value01(p) + " to the terminal of " + name + " " + moment(w);
        };
      case FIELD_CHANGE:
        return "the terminal of " + name + " was set to " + value01(p) + " from outside " + moment(w);
      case EXTERNAL_WRITE:
        return "an external write stored " + p.value + " in " + name + " " + moment(w) + replaced(w, p, before);
      case FORCE:
        return "a force holds " + name + " at " + p.value + " " + moment(w);
      case INITIALIZATION:
        return (name.isEmpty() ? "it" : name) + " was initialized with " + p.value + (w.step >= 0 ? at(p) : "");
      case RETAINED:
        return name + " kept its retained value " + p.value + " over the restart";
      case TASK_IMAGE:
        return name + " was " + p.value + " in the task's copy of the process image, written before what is kept";
    }
    throw new IllegalStateException("writer " + w.writer);
  }

  /** What stood there in the same scan before, when it was another value. */
  private String replaced(Write w, Fact.Parts p, long was) {
    if (was == p.bits || w.previous == null || w.previous.length != 1 || w.previous[0] == null) {
      return "";
    }
    Write old = w.previous[0];
    if (old.scan != w.scan || old.writer == Writer.INITIALIZATION || !covers(old, p)) {
      return "";
    }
    String who = switch (old.writer) {
      case INPUT_REFRESH -> "the input refresh had stored";
      case EXTERNAL_WRITE -> "an external write had stored";
      case INSTRUCTION -> old.step >= 0 && names.step(old.step).network() > 0
          ? "network " + names.step(old.step).network() + " had written" : "step " + old.ordinal + " had written";
      case FORCE -> "a force had stored";
      case INITIALIZATION, RETAINED, FIELD_CHANGE, DELIVERY, TASK_IMAGE -> "there had been";
    };
    return ", where " + who + " " + (p.kind == Kind.INPUT_REFRESH && names.isBool(p.address, p.width) ? digit(was)
        : names.value(p.address, p.width, was));
  }

  private static boolean covers(Write old, Fact.Parts p) {
    return p.address == old.address || Locations.isLocated(p.address) && p.address > old.address && p.address + p.width <= old.address
        + old.width;
  }

  private void decisions(List<Fact> to, Decision innermost, int depth) {
    for (Decision d = innermost; d != null; d = d.parent) {
      if (!isFixedDecision(d)) {
        addOnce(to, decision(d, depth));
      }
    }
  }

  private static boolean isFixedDecision(Decision d) {
    return d.condition != null && d.condition.fixed;
  }

  private Fact decision(Decision d, int depth) {
    if (d.stamp == stamp) {
      return d.fact;
    }
    boolean older = d.collapsed || depth <= 0 || ++made > FACTS;
    Fact.Parts p = parts(older ? Kind.OLDER : Kind.DECISION, d.scan, d.ordinal, d.time, d.step);
    p.bits = d.bits;
    p.subject = p.span.map(s -> shorten(s.text())).orElse("");
    p.value = d.ofCall ? Long.toString(d.bits) : Names.truth(d.bits);
    String place = p.span.map(s -> s.source().name() + ":" + s.line()).orElse("");
    p.words = d.ofCall
        ? "the call at " + place + " went to an instance chosen at run time" + at(p)
        : p.element >= 0
            ? names.element(p.element).map(Explaining::called).orElse("the element") + " had its left link " + (d.bits != 0 ? "ON"
            : "OFF") + at(p)
            : p.network > 0 && p.subject.startsWith(">>")
                ? "network " + p.network + (d.bits != 0 ? " jumped to " : " did not jump to ") + p.subject.substring(2) + at(p)
            : p.network > 0 && p.subject.startsWith("<")
                ? "network " + p.network + (d.bits != 0 ? " returned" : " did not return") + at(p)
            : "the condition " + condition(p.subject) + " was " + p.value + at(p);
    if (older) {
      p.words += d.collapsed ? ", which is older than what is kept" : ", and the chain goes on";
    }
    Fact f = new Fact(p);
    d.stamp = stamp;
    d.fact = f;
    if (!older) {
      List<Fact> because = new ArrayList<>();
      add(because, d.condition, depth - 1);
      f.reasons(because);
    }
    return f;
  }

  private Fact cut(long scan, String words) {
    Fact.Parts p = parts(Kind.OLDER, scan, 0, 0, -1);
    p.words = words;
    return new Fact(p);
  }

  // ---- why not ----

  /** When the value is from an earlier scan: which branches of the scan asked about passed over the steps that could have written. */
  private Optional<Fact> unchanged(String name, Read root) {
    long latest = 0;
    int writer = -1;
    boolean refreshed = false;
    for (Write w : root.seen) {
      if (w != null) {
        latest = Math.max(latest, w.scan);
        writer = w.writer == Writer.INSTRUCTION ? w.step : writer;
        refreshed |= w.writer == Writer.INPUT_REFRESH;
      }
    }
    if (latest >= asked || asked <= since || refreshed) {
      return Optional.empty();
    }
    TreeSet<Integer> writers = writers(name, writer);
    List<Fact> because = new ArrayList<>();
    for (Decision d : branches) {
      if (!writers.isEmpty() && skips(d, writers)) {
        addOnce(because, decision(d, DEPTH));
      }
    }
    Fact.Parts p = parts(Kind.UNCHANGED, asked, 0, 0, -1);
    place(p, root.address, root.width, root.bits);
    p.subject = name;
    p.words = "nothing wrote " + name + " in scan " + asked
        + (writers.isEmpty() ? "; no instruction of the program names it as a target" : because.isEmpty() ? ""
        : "; the instructions that could were passed over");
    Fact f = new Fact(p);
    f.reasons(because);
    return Optional.of(f);
  }

  /** The branch went past one of these steps. */
  private boolean skips(Decision d, TreeSet<Integer> steps) {
    StepInfo info = names.step(d.step);
    int target = info.target();
    boolean jumped = d.next == target && target != d.step + 1;
    int from = jumped ? d.step + 1 : target;
    int to = jumped ? target : d.regionEnd;
    return from >= 0 && from < to && !steps.subSet(from, to).isEmpty();
  }

  /**
   * Steps that write the variable as far as the source tells: the one that did, and those whose target is spelled like it; with them,
   * level by level, the calls of the bodies that they stand in.
   */
  private TreeSet<Integer> writers(String name, int known) {
    TreeSet<Integer> found = new TreeSet<>();
    String body = known < 0 ? "" : names.step(known).body();
    for (int i = 0; i < names.stepCount(); i++) {
      StepInfo info = names.step(i);
      boolean writes = i == known;
      if (info.kind() == StepInfo.Kind.STORE || info.kind() == StepInfo.Kind.COPY) {
        String target = target(info);
        writes |= target.equalsIgnoreCase(name) || info.body().equals(body) && target.equalsIgnoreCase(last(name));
      }
      if (writes) {
        found.add(i);
      }
    }
    for (int level = 0; level < 8; level++) {
      TreeSet<Integer> starts = new TreeSet<>();
      for (int w : found) {
        int start = w;
        while (start > 0 && names.step(start - 1).body().equals(names.step(w).body())) {
          start--;
        }
        starts.add(start);
      }
      boolean more = false;
      for (int i = 0; i < names.stepCount(); i++) {
        StepInfo info = names.step(i);
        more |= info.kind() == StepInfo.Kind.CALL && starts.contains(info.target()) && found.add(i);
      }
      if (!more) {
        break;
      }
    }
    return found;
  }

  /** What a storing step names as its target. */
  private String target(StepInfo info) {
    Optional<Element> e = names.element(info.element());
    if (e.isPresent() && e.get().kind() == Element.Kind.COIL) {
      return e.get().title();
    }
    String text = info.span() == null ? "" : info.span().text();
    int assign = text.indexOf(":=");
    return (assign >= 0 ? text.substring(0, assign) : text).strip();
  }

  // ---- words ----

  private Fact.Parts parts(Kind kind, long scan, long ordinal, long time, int step) {
    Fact.Parts p = new Fact.Parts();
    p.kind = kind;
    p.scan = scan;
    p.ordinal = ordinal;
    p.time = time;
    p.step = step;
    if (step >= 0) {
      StepInfo info = names.step(step);
      p.span = Optional.ofNullable(info.span());
      p.body = info.body();
      p.network = info.network();
      p.element = info.element();
      p.library = names.isLibrary(info.body());
    }
    return p;
  }

  private void place(Fact.Parts p, long address, int width, long bits) {
    p.address = address;
    p.width = width;
    p.bits = bits;
    p.subject = names.name(address, width);
    p.value = names.value(address, width, bits);
  }

  /** The name of a variable; of a parameter or local variable of a function as the source spells it. */
  private static String local(Fact.Parts p) {
    if (!p.subject.isEmpty()) {
      return p.subject;
    }
    String text = p.span.map(s -> s.text().trim()).orElse("");
    if (text.length() <= 64 && text.matches("[A-Za-z_][A-Za-z0-9_.]*")) {
      p.subject = text;
      return text;
    }
    return "a temporary";
  }

  private String value01(Fact.Parts p) {
    return names.isBool(p.address, p.width) ? digit(p.bits) : p.value;
  }

  private static String digit(long bits) {
    return bits != 0 ? "1" : "0";
  }

  private String at(Fact.Parts p) {
    return p.ordinal > 0 ? " at step " + p.ordinal + inScan(p.scan) : p.scan > 0 ? " in scan " + p.scan : "";
  }

  private String inScan(long scan) {
    return scan == asked ? "" : " of scan " + scan;
  }

  private static String moment(Write w) {
    return w.scan == 0 ? "before the first scan" : w.ordinal > 0 ? "after step " + w.ordinal + " of scan " + w.scan
        : w.between ? "after scan " + w.scan : "at the start of scan " + w.scan;
  }

  /** What a person calls an element: {@code negated contact Door}. */
  static String called(Element e) {
    String kind = e.kind().name().toLowerCase(Locale.ROOT);
    String mark = switch (e.mark()) {
      case "/" -> "negated ";
      case "P" -> "rising-edge ";
      case "N" -> "falling-edge ";
      case "S" -> "set ";
      case "R" -> "reset ";
      default -> "";
    };
    return switch (e.kind()) {
      case CONTACT, COIL -> mark + kind + " " + e.title();
      case COMPARE -> "compare contact " + e.title();
      case JUMP -> "the jump to " + e.title();
      case RETURN -> "the return";
      case BOX -> "box " + e.title();
    };
  }

  /** The head of a loop instead of the whole of it. */
  private static String condition(String text) {
    int body = text.toUpperCase(Locale.ROOT).indexOf(" DO ");
    return body > 0 && text.regionMatches(true, 0, "FOR ", 0, 4) ? text.substring(0, body) : text;
  }

  private static String duration(long ns) {
    return ns % 1_000_000 == 0 ? "T#" + ns / 1_000_000 + "ms" : ns % 1_000 == 0 ? "T#" + ns / 1_000 + "us" : "T#" + ns + "ns";
  }

  private static String shorten(String text) {
    String one = text.strip().replaceAll("\\s+", " ");
    return one.codePointCount(0, one.length()) <= TEXT ? one : one.substring(0, one.offsetByCodePoints(0, TEXT)) + "…";
  }

  private static String last(String path) {
    return path.substring(path.lastIndexOf('.') + 1);
  }
}
