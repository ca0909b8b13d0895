package dev.scanloom.teach;

import dev.scanloom.explain.Fact;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import java.util.Objects;
import java.util.Optional;

/**
 * A question of an {@link Exercise}. It says what is asked, never the answer: answers come from runs. Immutable and safe for use by
 * several threads.
 *
 * <p>Scans count from 1. Paths are those of {@link dev.scanloom.CompiledProgram#variable}.
 */
public sealed interface Question {
  /** What the question asks about; kinds of questions without an item answer empty. */
  Optional<String> item();

  <R> R accept(Visitor<R> visitor);

  /** A case for every kind of question; without default methods, so that a new kind is noticed. */
  interface Visitor<R> {
    R state(State q);

    R writer(Writer q);

    R painted(Painted q);

    R scansUntil(ScansUntil q);

    R cure(Cure q);

    R choice(Choice q);

    R stop(Stop q);
  }

  /** Where an item is looked at. */
  enum Where { FIELD, MEMORY, DISPLAY }

  /**
   * A moment of a run.
   *
   * @param scan from 1
   * @param network just before the first step of this ladder network of the program; 0 for the end of the scan
   */
  record Moment(long scan, int network) {
    public Moment {
      if (scan < 1 || network < 0) {
        throw new IllegalArgumentException("scans and networks count from 1");
      }
    }

    String words() {
      return network == 0 ? "at the end of scan " + scan : "in scan " + scan + ", just before network " + network + " is evaluated";
    }
  }

  /** The end of a scan: after output refresh and housekeeping. */
  static Moment endOf(long scan) {
    return new Moment(scan, 0);
  }

  /** Just before a ladder network is evaluated. */
  static Moment before(int network, long scan) {
    if (network < 1) {
      throw new IllegalArgumentException("networks count from 1");
    }
    return new Moment(scan, network);
  }

  // ---- kinds ----

  /** The state of an item at a moment. {@code display} is the display's name where it is looked at there, else empty. */
  record State(Where where, String display, String path, Moment moment) implements Question {
    public State {
      Objects.requireNonNull(where, "where");
      Objects.requireNonNull(path, "path");
      Objects.requireNonNull(moment, "moment");
    }

    @Override
    public Optional<String> item() {
      return Optional.of(path);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.state(this);
    }
  }

  /** Which network wrote an item last, up to the end of a scan: a number; {@code refresh} or {@code none} when it was no network. */
  record Writer(String path, long scan) implements Question {
    @Override
    public Optional<String> item() {
      return Optional.of(path);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.writer(this);
    }
  }

  /**
   * Whether a screen paints a ladder element as conducting (a coil: as powered) at the end of a scan.
   *
   * @param title the element's operand as drawn
   */
  record Painted(int network, String title, String display, long scan) implements Question {
    @Override
    public Optional<String> item() {
      return Optional.of(title);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.painted(this);
    }
  }

  /**
   * In how many scans, counted from scan {@code from} as the first, an item first has a value at the end of a scan; {@code never} within
   * the run.
   */
  record ScansUntil(Where where, String path, String literal, long from) implements Question {
    @Override
    public Optional<String> item() {
      return Optional.of(path);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.scansUntil(this);
    }
  }

  /** Which of several changes make an item have a value at the end of a scan; each is tried. */
  record Cure(Where where, String path, String literal, long scan, List<Change> changes) implements Question {
    public Cure {
      changes = List.copyOf(changes);
      if (changes.size() < 2) {
        throw new IllegalArgumentException("a choice of changes needs at least two");
      }
    }

    @Override
    public Optional<String> item() {
      return Optional.of(path);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.cure(this);
    }
  }

  /** Which of several reasons is why an item has its value in memory at the end of a scan; exactly one must be borne out by the run. */
  record Choice(String path, long scan, List<Reason> reasons) implements Question {
    public Choice {
      reasons = List.copyOf(reasons);
      if (reasons.size() < 2) {
        throw new IllegalArgumentException("a choice of reasons needs at least two");
      }
    }

    @Override
    public Optional<String> item() {
      return Optional.of(path);
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.choice(this);
    }
  }

  /** In which scan a fault stops the controller, {@code never} within the run; or at which line of the program. */
  record Stop(boolean line) implements Question {
    @Override
    public Optional<String> item() {
      return Optional.empty();
    }

    @Override
    public <R> R accept(Visitor<R> visitor) {
      return visitor.stop(this);
    }
  }

  // ---- parts ----

  /**
   * A change that could be a cure: of the program's text, or of the policy.
   *
   * @param words the change in words
   * @param find text of the program that is replaced, everywhere it stands; empty when the policy changes
   * @param put what stands there instead
   */
  record Change(String words, String find, String put, Optional<ScanPolicy> policy) {
    public Change {
      Objects.requireNonNull(words, "words");
    }

    String applied(String program) {
      if (policy.isPresent()) {
        return program;
      }
      if (!program.contains(find)) {
        throw new IllegalArgumentException("the change '" + words + "' replaces a text that the program lacks: " + find);
      }
      return program.replace(find, put);
    }
  }

  /** A change of the program: {@code find}, wherever it stands, becomes {@code put}. */
  static Change edit(String words, String find, String put) {
    if (find.isEmpty()) {
      throw new IllegalArgumentException("the text to replace is empty");
    }
    return new Change(words, find, put, Optional.empty());
  }

  /** A change of the scan policy. */
  static Change policy(String words, ScanPolicy policy) {
    return new Change(words, "", "", Optional.of(policy));
  }

  /**
   * A claim that an explanation bears out or not: it must hold a fact of this kind about this item.
   *
   * @param network of the step; 0 for any
   * @param value IEC literal or bit; empty for any
   */
  record Claim(Fact.Kind kind, String path, int network, String value) {}

  /**
   * A reason to choose from: true when the explanation bears out every claim.
   *
   * @param words the reason in words
   */
  record Reason(String words, List<Claim> claims) {
    public Reason {
      claims = List.copyOf(claims);
      if (claims.isEmpty()) {
        throw new IllegalArgumentException("a reason without claims cannot be proven: " + words);
      }
    }
  }

  static Reason because(String words, Claim... claims) {
    return new Reason(words, List.of(claims));
  }

  /** An instruction of the network wrote the value; network 0: any. */
  static Claim wrote(int network, String path, String value) {
    return new Claim(Fact.Kind.WRITE, path, network, value);
  }

  /** An instruction of the network read the value; network 0: any. */
  static Claim read(int network, String path, String value) {
    return new Claim(Fact.Kind.READ, path, network, value);
  }

  /** Any other fact about an item. */
  static Claim fact(Fact.Kind kind, String path) {
    return new Claim(kind, path, 0, "");
  }

  // ---- the short forms ----

  /** What memory holds. */
  static Question memory(String path, Moment moment) {
    return new State(Where.MEMORY, "", path, moment);
  }

  /** What memory holds at the end of a scan. */
  static Question memory(String path, long scan) {
    return memory(path, endOf(scan));
  }

  /** What the terminal holds at the end of a scan. */
  static Question field(String path, long scan) {
    return new State(Where.FIELD, "", path, endOf(scan));
  }

  /** What the usual display shows at the end of a scan. */
  static Question display(String path, long scan) {
    return display(ScanPolicy.SCREEN, path, scan);
  }

  /** What a display shows at the end of a scan. */
  static Question display(String display, String path, long scan) {
    return new State(Where.DISPLAY, display, path, endOf(scan));
  }

  static Question lastWriter(String path, long scan) {
    return new Writer(path, scan);
  }

  /** What the usual display paints for the element. */
  static Question painted(int network, String title, long scan) {
    return new Painted(network, title, ScanPolicy.SCREEN, scan);
  }

  static Question painted(int network, String title, String display, long scan) {
    return new Painted(network, title, display, scan);
  }

  /** Counted from the first scan of the run. */
  static Question scansUntil(String path, String literal) {
    return new ScansUntil(Where.MEMORY, path, literal, 1);
  }

  static Question scansUntil(Where where, String path, String literal, long from) {
    if (where == Where.DISPLAY) {
      throw new IllegalArgumentException("scans are counted until memory or a terminal has a value");
    }
    return new ScansUntil(where, path, literal, from);
  }

  /** Which change makes memory hold the value. */
  static Question cure(String path, String literal, long scan, Change... changes) {
    return new Cure(Where.MEMORY, path, literal, scan, List.of(changes));
  }

  /** Which change makes the terminal hold the value. */
  static Question cureOfField(String path, String literal, long scan, Change... changes) {
    return new Cure(Where.FIELD, path, literal, scan, List.of(changes));
  }

  static Question why(String path, long scan, Reason... reasons) {
    return new Choice(path, scan, List.of(reasons));
  }

  static Question stopsInScan() {
    return new Stop(false);
  }

  static Question stopsAtLine() {
    return new Stop(true);
  }
}
