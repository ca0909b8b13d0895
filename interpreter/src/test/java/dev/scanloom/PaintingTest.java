package dev.scanloom;

import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.model.Element;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import org.junit.jupiter.api.Test;

/**
 * What a screen paints from a sample against what was executed. Elements: IEC 61131-3 Tables 75 and 76 (from memory); painting: common practice, a
 * transition-sensing element is painted by its operand's bit, a negated one by the inverse.
 */
class PaintingTest {
  private static final String[] ALL = {
    "PROGRAM P", "VAR A, B, C, D, Q1, Q2, Q3, Q4 : BOOL; n : INT; END_VAR",
    "|    A        B            Q1   |",
    "+---| |------|/|----------( )---+",
    "|    C                     Q2   |",
    "+---|P|-------------------(/)---+",
    "|    D                     Q3   |",
    "+---|N|-------------------(S)---+",
    "|    n                     Q4   |",
    "+---|> INT|---------------( )---+",
    "|    5                          |",
    "END_PROGRAM"};

  private final Controller c = compile(ALL).newController(still(ScanPolicy.image(), 10)
      .withDisplay("truth", DisplaySampling.scanEnd(), Painting.fromExecution()));

  private int id(String title) {
    return c.program().elements().stream().filter(e -> e.title().equals(title)).findFirst().orElseThrow().id();
  }

  private int compare() {
    return c.program().elements().stream().filter(e -> e.kind() == Element.Kind.COMPARE).findFirst().orElseThrow().id();
  }

  private void set(String name, boolean value) {
    c.memory().set(c.bool(name), value);
  }

  /** One letter per element A B Q1 C Q2 D Q3: P painted, E executed, B both, - neither. */
  private String picture() {
    StringBuilder b = new StringBuilder();
    for (String title : new String[] {"A", "B", "Q1", "C", "Q2", "D", "Q3"}) {
      int e = id(title);
      boolean painted = c.display("screen").painted(e);
      boolean executed = c.display("screen").executed(e);
      assertThat(c.display("truth").painted(e)).isEqualTo(executed);
      assertThat(c.display("screen").isPainted(e)).isTrue();
      b.append(painted ? executed ? 'B' : 'P' : executed ? 'E' : '-');
    }
    return b.toString();
  }

  @Test
  void everyKindOfElement() {
    set("A", true);
    set("C", true);
    set("D", true);
    c.scan();
    // C rises, so its contact passes and the negated coil writes FALSE, which is painted as on. D has not fallen: its contact is painted on and passes nothing.
    assertThat(picture()).isEqualTo("BBBBBP-");
    set("D", false);
    c.scan();
    // C is still TRUE but does not rise: painted, not passing; so Q2 is TRUE and its negated coil painted off. D falls: passing, painted off; Q3 is set.
    assertThat(picture()).isEqualTo("BBBP-EB");
    set("B", true);
    c.scan();
    // The set coil has no power any more, and stays painted, since its bit does.
    assertThat(picture()).isEqualTo("B--P--P");
  }

  @Test
  void aCompareContactHasNoBitToPaint() {
    c.memory().set(c.integer("n"), 6);
    c.scan();
    assertThat(c.display("screen").isPainted(compare())).isFalse();
    assertThat(c.display("screen").painted(compare())).isFalse();
    assertThat(c.display("screen").executed(compare())).isTrue();
    assertThat(c.display("truth").isPainted(compare())).isTrue();
    assertThat(c.display("truth").painted(compare())).isTrue();
  }

  @Test
  void anElementThatWasSkippedKeepsWhatItDecidedLast() {
    Controller k = compile(
        "PROGRAM P", "VAR Skip, A, Q : BOOL; END_VAR",
        "|   Skip                   |",
        "+---| |--------->>Done     |",
        "|    A                Q    |",
        "+---| |--------------( )---+",
        "Done:",
        "|   Skip              Q    |",
        "+---|/|--------------(R)---+",
        "END_PROGRAM").newController(still(ScanPolicy.image(), 10));
    k.memory().set(k.bool("A"), true);
    k.scan();
    int a = k.program().elements().stream().filter(e -> e.title().equals("A")).findFirst().orElseThrow().id();
    assertThat(k.display().executed(a)).isTrue();
    k.memory().set(k.bool("Skip"), true);
    k.memory().set(k.bool("A"), false);
    k.scan();
    assertThat(k.display().executed(a)).as("not evaluated since").isTrue();
    assertThat(k.display().painted(a)).as("its bit is FALSE").isFalse();
  }

  @Test
  void aBlocksBodyIsPaintedFromItsFirstInstance() {
    Controller k = compile(
        "FUNCTION_BLOCK Gate VAR_INPUT Open : BOOL; END_VAR VAR_OUTPUT Flow : BOOL; END_VAR",
        "|   Open             Flow  |",
        "+---| |--------------( )---+",
        "END_FUNCTION_BLOCK",
        "PROGRAM P VAR Dummy : INT; g1, g2 : Gate; END_VAR", "g1(Open := TRUE); g2(Open := FALSE);", "END_PROGRAM")
        .newController(still(ScanPolicy.image(), 10));
    k.scan();
    int open = k.program().elements().stream().filter(e -> e.title().equals("Open")).findFirst().orElseThrow().id();
    assertThat(k.display().painted(open)).as("g1.Open").isTrue();
    assertThat(k.display().executed(open)).as("last evaluated in g2").isFalse();
  }
}
