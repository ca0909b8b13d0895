package dev.scanloom.internal.lanes;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.TreeSet;

/**
 * A whole program as one list of operations on words, calls written out, so that every cell is known by its number; and the stretches that lanes do for
 * themselves, with what has to be carried to them and back. Immutable once made; shared by all lanes.
 */
final class Weave implements PlainCode.Program {
  private static final Op[] OPS = Op.values();
  private static final int MOST = 4_000_000;
  /** Inputs and outputs, each, that lie in words although nobody touches them. */
  private static final int SPARE_BITS = 4_096;
  /** Nanoseconds of one lane, roughly: a step alone, a stretch's beginning and end, a Boolean carried, a step on words. */
  private static final double STEP = 0.35;
  private static final double ENTRY = 8;
  private static final double LOOP = 2;
  private static final double CARRY = 1.2;
  private static final double WORD = 0.02;

  /** Operations on words; {@code operands}: a cell, a label, the number of a stretch, or a constant. */
  enum Kind { CONST, LOAD, STORE, AND, OR, XOR, NOT, EQ, NE, SELECT, DUP, DUP2, POP, SWAP, JUMP, JUMP_FALSE, JUMP_TRUE, LABEL, STRETCH, NOTHING }

  static final Kind[] KINDS = Kind.values();

  /**
   * A stretch at one place of the program: {@code self} and {@code frame} are known.
   *
   * @param result slot for the Boolean that it leaves, or -1
   * @param sharesFrame it has frame slots in common with what is outside it
   * @param plain runs as a loop in the generated class; then {@code in} are the cells that it touches and nothing is carried
   * @param extra steps that the cut-out body has more than the original
   */
  record Part(int body, BodyCut.Stretch stretch, int self, int frame, int result, boolean sharesFrame, int extra, boolean plain, int[] in, int[] out) {}

  final Code code;
  final Cells cells;
  private final BodyCut[] cuts;
  private final byte[] visiting;
  final List<Part> parts = new ArrayList<>();

  byte[] kinds = new byte[256];
  int[] operands = new int[256];
  byte[] steps = new byte[256];
  int length;
  int labels;

  /** Why the program is not woven; null when it is. */
  private String reason;
  private int results;
  private final List<Reach.Touched> touches = new ArrayList<>();
  private boolean[] readByWords;
  private boolean[] writtenByWords;
  /** Word of a cell, or -1: it lies in the lanes' own memories. */
  int[] wordOf;
  /** Cell of a word. */
  int[] cellOf;
  int inputWords;
  int outputWords;
  /** Cells of inputs that words hold, and that lanes read too. */
  int[] refreshed;
  /** Slots that lanes write, as ranges; whether they write areas. */
  List<int[]> stored = List.of();
  boolean storesAreas;
  /** Stretches read inputs, or touch outputs, that lie in the lanes' memories. */
  boolean laneInputs;
  boolean laneOutputs;
  /** A lane can fail, or use more steps than can be counted beforehand. */
  boolean canFail;
  boolean loops;
  long partSteps;
  private int wordSteps;

  Weave(Code code) {
    this.code = code;
    cuts = new BodyCut[code.bodies().size()];
    visiting = new byte[cuts.length];
    for (Code.Program p : code.programs()) {
      if (reason == null) {
        cut(p.body());
        walk(p.body(), p.self(), code.memory().staticSlots());
      }
    }
    cells = new Cells(code, code.memory().staticSlots() + code.memory().frameSlots() + results);
    if (reason == null) {
      carry();
    }
    if (reason == null) {
      judge();
    }
  }

  String reason() {
    return reason;
  }

  int wordSteps() {
    return wordSteps;
  }

  int resultSlots() {
    return results;
  }

  // ---- cutting ----

  private BodyCut cut(int body) {
    if (cuts[body] == null) {
      visiting[body] = 1;
      cuts[body] = new BodyCut(code, body, this::isWoven);
      visiting[body] = 0;
    }
    return cuts[body];
  }

  private boolean isWoven(int body) {
    return visiting[body] == 0 && cut(body).isWorthWeaving();
  }

  // ---- writing out ----

  private void emit(Kind kind, int operand, int stepCount) {
    if (length == kinds.length) {
      if (length > MOST) {
        reason = "the program, with its calls written out, has more than " + MOST + " steps";
        return;
      }
      kinds = Arrays.copyOf(kinds, 2 * length);
      operands = Arrays.copyOf(operands, 2 * length);
      steps = Arrays.copyOf(steps, 2 * length);
    }
    kinds[length] = (byte) kind.ordinal();
    operands[length] = operand;
    steps[length++] = (byte) stepCount;
    wordSteps += stepCount;
  }

  private int early(long address) {
    // Cells needs the number of result slots, which is not known yet: located cells are numbered from below zero until then.
    return Address.isLocated(address) ? -1 - locatedNumber(address) : (int) address;
  }

  private int locatedNumber(long address) {
    int[] bytes = code.memory().areaBytes();
    int area = Address.area(address);
    int before = (area > 1 ? 8 * bytes[0] : 0) + (area > 2 ? 8 * bytes[1] : 0);
    return before + (int) Address.bit(address);
  }

  private void walk(int number, int self, int frame) {
    Code.Body body = code.bodies().get(number);
    BodyCut cut = cut(number);
    int[] labelOf = new int[body.end() - body.start() + 1];
    int next = 0;
    for (int pc = body.start(); pc < body.end() && reason == null; pc++) {
      if (labelOf[pc - body.start()] != 0) {
        emit(Kind.LABEL, labelOf[pc - body.start()], 0);
      }
      while (next < cut.stretches().size() && cut.stretches().get(next).start() < pc) {
        next++;
      }
      if (next < cut.stretches().size() && cut.stretches().get(next).start() == pc) {
        BodyCut.Stretch s = cut.stretches().get(next);
        emit(Kind.STRETCH, parts.size(), 0);
        int result = s.result() ? code.memory().staticSlots() + code.memory().frameSlots() + results++ : -1;
        boolean shared = cut.sharesFrame(s);
        int extra = (s.end() == body.end() ? 0 : s.result() ? 2 : 1) + (shared ? 2 : 0);
        parts.add(new Part(number, s, self, frame, result, shared, extra, false, null, null));
        if (s.result()) {
          emit(Kind.LOAD, result, 0);
        }
        pc = s.end() - 1;
        continue;
      }
      if (!cut.isReachable(pc)) {
        continue;
      }
      step(pc, body, self, frame, labelOf);
    }
    if (labelOf[labelOf.length - 1] != 0) {
      emit(Kind.LABEL, labelOf[labelOf.length - 1], 0);
    }
  }

  private int label(int[] labelOf, int at) {
    if (labelOf[at] == 0) {
      labelOf[at] = ++labels;
    }
    return labelOf[at];
  }

  private void step(int pc, Code.Body body, int self, int frame, int[] labelOf) {
    int a = code.a[pc];
    switch (OPS[code.op[pc]]) {
      case CONST -> emit(Kind.CONST, (int) code.pool[a], 1);
      case LOAD_SELF -> emit(Kind.LOAD, self + a, 1);
      case LOAD_FRAME, LOAD_TEMP -> emit(Kind.LOAD, frame + a, 1);
      case LOAD_STATIC -> emit(Kind.LOAD, a, 1);
      case LOAD_LOCATED -> emit(Kind.LOAD, early(code.pool[a]), 1);
      case STORE_SELF -> emit(Kind.STORE, self + a, 1);
      case STORE_FRAME, STORE_TEMP -> emit(Kind.STORE, frame + a, 1);
      case STORE_STATIC -> emit(Kind.STORE, a, 1);
      case STORE_LOCATED -> emit(Kind.STORE, early(code.pool[a]), 1);
      case AND, CONTACT -> emit(Kind.AND, 0, 1);
      case OR -> emit(Kind.OR, 0, 1);
      case XOR -> emit(Kind.XOR, 0, 1);
      case NOT -> emit(Kind.NOT, 0, 1);
      case EQ -> emit(Kind.EQ, 0, 1);
      case NE -> emit(Kind.NE, 0, 1);
      case SELECT -> emit(Kind.SELECT, 0, 1);
      case DUP -> emit(Kind.DUP, 0, 1);
      case DUP2 -> emit(Kind.DUP2, 0, 1);
      case POP -> emit(Kind.POP, 0, 1);
      case SWAP -> emit(Kind.SWAP, 0, 1);
      case ELEMENT, ADDRESS_SELF -> emit(Kind.NOTHING, 0, 1);
      case JUMP -> {
        if (a == pc + 1) {
          emit(Kind.NOTHING, 0, 1);
        } else {
          emit(Kind.JUMP, label(labelOf, a - body.start()), 1);
        }
      }
      case JUMP_FALSE -> emit(Kind.JUMP_FALSE, label(labelOf, a - body.start()), 1);
      case JUMP_TRUE -> emit(Kind.JUMP_TRUE, label(labelOf, a - body.start()), 1);
      case RETURN -> {
        if (pc == body.end() - 1) {
          emit(Kind.NOTHING, 0, 1);
        } else {
          emit(Kind.JUMP, label(labelOf, labelOf.length - 1), 1);
        }
      }
      case CALL -> {
        emit(Kind.NOTHING, 0, 1);
        walk(a, self, frame + code.b[pc]);
      }
      case CALL_ON -> {
        emit(Kind.NOTHING, 0, 1);
        walk(a, self + code.a[pc - 1], frame + code.b[pc]);
      }
      default -> throw new IllegalStateException("step " + pc + " is none that words do: " + OPS[code.op[pc]]);
    }
  }

  // ---- what is carried ----

  private void carry() {
    readByWords = new boolean[cells.total];
    writtenByWords = new boolean[cells.total];
    for (int i = 0; i < length; i++) {
      Kind k = KINDS[kinds[i]];
      if (k != Kind.LOAD && k != Kind.STORE) {
        continue;
      }
      if (operands[i] < 0) {
        operands[i] = cells.slots + (-1 - operands[i]);
      }
      (k == Kind.LOAD ? readByWords : writtenByWords)[operands[i]] = true;
    }
    boolean[] touchedByLanes = new boolean[cells.total];
    if (!parts.isEmpty()) {
      PlainCode plain = plainCode();
      for (int k = 0; k < parts.size(); k++) {
        Part p = parts.get(k);
        if (plain.isPlain(p.stretch())) {
          TreeSet<Integer> mine = new TreeSet<>();
          plain.touch(p, (cell, writes) -> {
            mine.add(cell);
            (writes ? writtenByWords : readByWords)[cell] = true;
          });
          parts.set(k, new Part(p.body(), p.stretch(), p.self(), p.frame(), p.result(), p.sharesFrame(), 0, true,
              mine.stream().mapToInt(Integer::intValue).toArray(), new int[0]));
        }
      }
      Reach reach = new Reach(code, cells);
      for (int k = 0; k < parts.size() && reach.trouble() == null; k++) {
        Part p = parts.get(k);
        Reach.Touched t = reach.touched(p.stretch(), cuts[p.body()], p.self(), p.frame());
        touches.add(t);
        for (Spans s : p.plain() ? new Spans[0] : new Spans[] {t.reads, t.writes}) {
          for (int[] r : s.ranges()) {
            Arrays.fill(touchedByLanes, r[0], r[1] + 1, true);
          }
        }
      }
      if (reach.trouble() != null) {
        reason = reach.trouble();
        return;
      }
    }
    number(touchedByLanes);
    laneInputs = isTouchedApart(1, touchedByLanes);
    laneOutputs = isTouchedApart(2, touchedByLanes);
    Spans all = new Spans();
    for (int k = 0; k < parts.size(); k++) {
      Part p = parts.get(k);
      Reach.Touched t = touches.get(k);
      for (int[] r : t.frameRanges.ranges()) {
        for (int c = r[0]; c <= r[1]; c++) {
          if (wordOf[c] >= 0 && c < cells.staticSlots + code.memory().frameSlots()) {
            reason = "a Boolean of a frame is also reached by address";
            return;
          }
        }
      }
      Spans both = new Spans();
      both.addAll(t.reads);
      both.addAll(t.writes);
      all.addAll(t.stored);
      canFail |= t.mayFail;
      loops |= t.loops;
      partSteps += t.steps + p.extra();
      if (p.plain()) {
        continue;
      }
      List<Integer> in = new ArrayList<>();
      List<Integer> out = new ArrayList<>();
      for (int[] r : both.ranges()) {
        for (int c = r[0]; c <= r[1]; c++) {
          if (wordOf[c] >= 0 && writtenByWords[c]) {
            in.add(c);
          }
        }
      }
      for (int[] r : t.writes.ranges()) {
        for (int c = r[0]; c <= r[1]; c++) {
          if (wordOf[c] >= 0) {
            out.add(c);
          }
        }
      }
      if (p.result() >= 0) {
        out.add(p.result());
      }
      parts.set(k, new Part(p.body(), p.stretch(), p.self(), p.frame(), p.result(), p.sharesFrame(), p.extra(), p.plain(),
          in.stream().mapToInt(Integer::intValue).toArray(),
          out.stream().mapToInt(Integer::intValue).toArray()));
    }
    List<int[]> slots = new ArrayList<>();
    for (int[] r : all.ranges()) {
      if (r[0] < cells.staticSlots) {
        slots.add(new int[] {r[0], Math.min(r[1], cells.staticSlots - 1)});
      }
      storesAreas |= r[1] >= cells.slots;
    }
    stored = slots;
    List<Integer> fresh = new ArrayList<>();
    for (int w = 0; w < inputWords; w++) {
      if (touchedByLanes[cellOf[w]] && !writtenByWords[cellOf[w]]) {
        fresh.add(cellOf[w]);
      }
    }
    refreshed = fresh.stream().mapToInt(Integer::intValue).toArray();
  }

  private boolean isTouchedApart(int area, boolean[] touchedByLanes) {
    for (int bit = 0; bit < cells.areaBits(area); bit++) {
      int cell = cells.areaStart(area) + bit;
      if (touchedByLanes[cell] && wordOf[cell] < 0) {
        return true;
      }
    }
    return false;
  }

  /**
   * Words in this order: inputs, outputs, the rest. Inputs and outputs between them that nobody touches lie in words too, so that the host can set all
   * alike.
   */
  private void number(boolean[] touchedByLanes) {
    wordOf = new int[cells.total];
    Arrays.fill(wordOf, -1);
    cellOf = new int[cells.total];
    int n = 0;
    for (int area = 1; area <= 3; area++) {
      int last = cells.areaBits(area) - 1;
      while (last >= 0 && !readByWords[cells.areaStart(area) + last] && !writtenByWords[cells.areaStart(area) + last]) {
        last--;
      }
      for (int bit = 0; bit <= last; bit++) {
        int cell = cells.areaStart(area) + bit;
        n = give(cell, area < 3 && bit < SPARE_BITS && !touchedByLanes[cell], n);
      }
      if (area == 1) {
        inputWords = n;
      } else if (area == 2) {
        outputWords = n - inputWords;
      }
    }
    for (int c = 0; c < cells.slots; c++) {
      n = give(c, false, n);
    }
    cellOf = Arrays.copyOf(cellOf, n);
  }

  private int give(int cell, boolean anyway, int n) {
    if (!anyway && !readByWords[cell] && !writtenByWords[cell]) {
      return n;
    }
    wordOf[cell] = n;
    cellOf[n] = cell;
    return n + 1;
  }

  /** Whether words are worth their while. */
  private void judge() {
    double apart = wordSteps * STEP + partSteps * STEP;
    double woven = wordSteps * WORD + partSteps * STEP;
    for (Part p : parts) {
      woven += p.plain() ? LOOP : ENTRY + CARRY * (p.in().length + p.out().length);
    }
    if (woven >= apart) {
      reason = "too little of it is Boolean: " + wordSteps + " of " + (wordSteps + partSteps) + " steps";
    }
  }

  // ---- for plain stretches ----

  PlainCode plainCode() {
    return new PlainCode(this);
  }

  @Override
  public Code code() {
    return code;
  }

  @Override
  public boolean isBooleanTemp(int body, int offset) {
    return cut(body).isBooleanTemp(offset);
  }

  @Override
  public boolean ownsFrame(int body) {
    String name = code.bodies().get(body).name();
    for (Code.InstanceType t : code.types()) {
      if (t.name().equals(name)) {
        return true;
      }
    }
    return false;
  }

  @Override
  public int cell(long locatedAddress) {
    return cells.of(locatedAddress);
  }

  @Override
  public int wordOf(int cell) {
    return wordOf[cell];
  }

  /** Places of the stretches, for people. */
  List<String> stretchPlaces(int most) {
    List<String> all = new ArrayList<>();
    for (Part p : parts) {
      if (all.size() == most) {
        break;
      }
      String text = code.span(p.stretch().start()).place();
      if (!all.contains(text)) {
        all.add(text);
      }
    }
    return all;
  }
}
