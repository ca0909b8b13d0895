package dev.scanloom.explain;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.explain.Fact.Kind;
import dev.scanloom.observe.Event.Source;
import dev.scanloom.observe.StepInfo;
import java.util.List;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/** The recorder over step lists written by hand; every expectation is derived from the list by hand. */
class ProvenanceTest {
  private static final long DOOR = Mini.located(1, 0);
  private static final long KEY = Mini.located(1, 1);
  private static final long LAMP = Mini.located(2, 0);
  private static final long PERMIT = Mini.located(2, 1);

  private Provenance record;
  private Mini m;

  @BeforeEach
  void machine() {
    m = machine(100, Provenance.NODES);
  }

  private Mini machine(int scans, int nodes) {
    Mini made = new Mini(x -> record = Provenance.of(x, (f, n, a) -> x.present(a, Locations.isLocated(a) ? 1 : 64), scans, nodes));
    made.names.put(DOOR, "bDoor");
    made.names.put(KEY, "bKey");
    made.names.put(LAMP, "bLamp");
    made.names.put(PERMIT, "bPermit");
    for (int i = 1; i <= 9; i++) {
      made.names.put((long) i, "x" + i);
      made.names.put((long) i + 10, "b" + i);
    }
    return made;
  }

  private Explanation why(long address, int width) {
    return record.explain(false, m.names.getOrDefault(address, "?"), address, width, Long.MAX_VALUE, m.scan);
  }

  private Explanation why(long address) {
    return why(address, Locations.isLocated(address) ? 1 : 64);
  }

  private static List<String> words(Explanation e, Kind kind) {
    return e.facts(kind).stream().map(Fact::words).toList();
  }

  /** The reference case of the scan model: network 2 writes the door's input bit between two contacts that read it. */
  private void dryer() {
    m.network(1).constant(1).contact("bDoor", " ", DOOR).coil("bLamp", LAMP);
    m.network(2).constant(1).contact("bKey", " ", KEY).coil("bDoor", DOOR);
    m.network(3).constant(1).contact("bDoor", " ", DOOR).coil("bPermit", PERMIT);
    m.network(0).ret();
    m.terminal(DOOR, 1, 1);
    m.scan(() -> {
      m.refresh(DOOR, 1);
      m.refresh(KEY, 1);
    });
    m.deliver(LAMP, 1);
    m.deliver(PERMIT, 1);
  }

  @Test
  void referenceCaseIsToldInTheTradesWords() {
    dryer();
    assertThat(why(PERMIT).text()).isEqualTo("""
        bPermit is FALSE after scan 1
          network 3 of Main wrote FALSE to bPermit at step 15 (mini.st:1:29)
            because contact bDoor read 0 at step 12 (mini.st:1:23)
              network 2 of Main wrote FALSE to bDoor at step 10, where the input refresh had stored TRUE (mini.st:1:19)
                because contact bKey read 0 at step 7 (mini.st:1:13)
                  the input refresh of scan 1 stored 0 in bKey
                    the terminal of bKey has been 0 from the start
        """);
    assertThat(why(LAMP).facts(Kind.FIELD_CHANGE)).singleElement().satisfies(f -> {
      assertThat(f.words()).isEqualTo("the terminal of bDoor was set to 1 from outside before the first scan");
      assertThat(f.bits()).isEqualTo(1);
    });
  }

  @Test
  void aTerminalIsExplainedThroughItsDelivery() {
    dryer();
    Explanation e = record.explain(true, "bPermit", PERMIT, 1, Long.MAX_VALUE, 1);
    assertThat(e.root().because()).singleElement().satisfies(f -> assertThat(f.kind()).isEqualTo(Kind.DELIVERY));
    assertThat(words(e, Kind.WRITE)).first().asString().startsWith("network 3 of Main wrote FALSE to bPermit");
  }

  @Test
  void ofASeriesWithoutPowerOnlyTheElementThatBlockedIsTold() {
    m.network(1).constant(1).contact("b1", " ", 11).contact("b2", "/", 12).contact("b3", " ", 13).coil("b4", 14).network(0).ret();
    m.slots.put(11L, 1L);
    m.slots.put(12L, 1L);
    m.scan();
    assertThat(words(why(14), Kind.READ)).containsExactly("b4 is FALSE after scan 1", "negated contact b2 read 1 at step 4");
  }

  @Test
  void ofParallelBranchesWithPowerOnlyOneThatConductedIsTold() {
    m.constant(1).contact("b1", " ", 11).storeTemp(0).constant(1).contact("b2", " ", 12).loadTemp(0).op(StepInfo.Kind.OR, "OR")
        .coil("b4", 14).ret();
    m.slots.put(11L, 1L);
    m.slots.put(12L, 1L);
    m.scan();
    // the OR's lower operand is b2's branch: it was pushed first
    assertThat(words(why(14), Kind.READ)).containsExactly("b4 is TRUE after scan 1", "contact b2 read 1 at step 6");
    m.slots.put(12L, 0L);
    m.scan();
    assertThat(words(why(14), Kind.READ)).contains("contact b1 read 1 at step 2").doesNotContain("contact b2 read 0 at step 6");
  }

  @Test
  void ofAParallelWithoutPowerEveryBranchIsTold() {
    m.load(11, 64).load(12, 64).op(StepInfo.Kind.OR, "OR").store(14, 64).ret();
    m.scan();
    assertThat(words(why(14), Kind.READ)).hasSize(3).anyMatch(w -> w.startsWith("b1 was read as FALSE"))
        .anyMatch(w -> w.startsWith("b2 was read"));
  }

  @Test
  void anOrOfWordsNeedsBothOperands() {
    // 1 OR 1 of unknown type could be of a word: other bits of the second operand might have come through
    m.load(1, 64).load(2, 64).op(StepInfo.Kind.OR, "OR").store(3, 64).ret();
    m.slots.put(1L, 1L);
    m.slots.put(2L, 1L);
    m.scan();
    assertThat(words(why(3), Kind.READ)).hasSize(3);
  }

  @Test
  void aFactorZeroAndASelectorDecideAlone() {
    m.load(1, 64).load(2, 64).op(StepInfo.Kind.MULTIPLY, "MUL").store(3, 64);
    m.load(11, 64).load(4, 64).load(5, 64).op(StepInfo.Kind.SELECT, "SELECT").store(6, 64).ret();
    m.slots.put(1L, 7L);
    m.slots.put(11L, 1L);
    m.slots.put(4L, 40L);
    m.slots.put(5L, 50L);
    m.scan();
    assertThat(words(why(3), Kind.READ)).containsExactly("x3 is 0 after scan 1", "x2 was read as 0 at step 2");
    assertThat(words(why(6), Kind.READ)).containsExactly("x6 is 50 after scan 1", "b1 was read as TRUE at step 5",
        "x5 was read as 50 at step 7");
  }

  @Test
  void aBranchIsAReasonInsideItsRegionOnly() {
    m.load(11, 64);
    int b = m.branchFalse();
    m.constant(5).store(1, 64);
    m.patch(b, m.here(), m.here());
    m.constant(6).store(2, 64).ret();
    m.slots.put(11L, 1L);
    m.scan();
    assertThat(words(why(1), Kind.DECISION)).singleElement().asString().contains("was TRUE at step 2");
    assertThat(words(why(1), Kind.READ)).contains("b1 was read as TRUE at step 1");
    assertThat(why(2).facts(Kind.DECISION)).isEmpty();
  }

  @Test
  void aValueLeftByAnArmBringsItsDecisionAlong() {
    // short circuit: b1 AND_THEN b2
    m.load(11, 64).dup();
    int b = m.branchFalse();
    m.drop().load(12, 64);
    m.patch(b, m.here(), m.here());
    m.store(13, 64).ret();
    m.slots.put(11L, 1L);
    m.slots.put(12L, 1L);
    m.scan();
    assertThat(words(why(13), Kind.READ)).anyMatch(w -> w.startsWith("b2 was read as TRUE"))
        .anyMatch(w -> w.startsWith("b1 was read as TRUE"));
    m.slots.put(11L, 0L);
    m.scan();
    Explanation e = why(13);
    assertThat(words(e, Kind.READ)).anyMatch(w -> w.startsWith("b1 was read as FALSE")).noneMatch(w -> w.startsWith("b2"));
    assertThat(e.facts(Kind.DECISION)).isEmpty();
  }

  @Test
  void aLoopDecidesAnewEachTimeRound() {
    // FOR-like: WHILE x1 < 3 DO x1 := x1 + 1
    int head = m.here();
    m.load(1, 64).constant(3).op(StepInfo.Kind.COMPARE, "LT");
    int b = m.branchFalse();
    m.load(1, 64).constant(1).op(StepInfo.Kind.COMPUTE, "ADD").store(1, 64);
    int j = m.jump();
    m.patch(j, head, -1);
    m.patch(b, m.here(), m.here());
    m.ret();
    m.scan();
    Explanation e = why(1);
    assertThat(e.value()).isEqualTo("3");
    assertThat(e.facts(Kind.WRITE)).hasSize(3);
    assertThat(e.facts(Kind.DECISION)).hasSize(3);
    assertThat(e.leaves()).allMatch(f -> f.kind() == Kind.CONSTANT || f.kind() == Kind.INITIAL);
  }

  @Test
  void overlappingLocationsSeeEachOther() {
    m.load(Mini.located(1, 0), 8).store(1, 64).ret();
    m.names.put(Mini.located(1, 0), "bDoor");
    m.terminal(Mini.located(1, 0), 8, 0b1010);
    m.scan(() -> {
      m.refresh(Mini.located(1, 0), 8);
      m.poke(Mini.located(1, 3), 1, 0, Source.EXTERNAL_WRITE);
    });
    Explanation e = why(1);
    assertThat(e.value()).isEqualTo("2");
    Fact read = e.facts(Kind.READ).get(1);
    assertThat(read.because()).extracting(Fact::kind).containsExactly(Kind.INPUT_REFRESH, Kind.EXTERNAL_WRITE, Kind.INPUT_REFRESH);
    assertThat(read.because()).extracting(Fact::width).containsExactly(3, 1, 4);
    assertThat(read.because()).extracting(Fact::bits).containsExactly(2L, 0L, 0L);
    // and the other way round: a bit read from a byte that was written whole
    assertThat(why(Mini.located(1, 1), 1).value()).isEqualTo("TRUE");
    assertThat(why(Mini.located(1, 1), 1).facts(Kind.INPUT_REFRESH)).singleElement().satisfies(f -> {
      assertThat(f.width()).isEqualTo(1);
      assertThat(f.bits()).isEqualTo(1);
    });
    assertThat(why(Mini.located(1, 3), 1).facts(Kind.INPUT_REFRESH)).isEmpty();
  }

  @Test
  void aPointerIsAReasonToo() {
    m.load(1, 64).loadIndirect().store(2, 64).ret();
    m.slots.put(1L, 5L);
    m.slots.put(5L, 99L);
    m.scan();
    assertThat(words(why(2), Kind.READ)).containsExactly("x2 is 99 after scan 1", "x5 was read as 99 at step 2",
        "x1 was read as 5 at step 1");
  }

  @Test
  void anErrorCaughtByAGuardDoesNotConfuseTheStack() {
    int g = m.guard();
    m.load(1, 64).load(2, 64).op(StepInfo.Kind.COMPUTE, "DIV").store(3, 64).unguard();
    m.load(4, 64).store(5, 64).ret();
    m.patch(g, m.here() - 3, -1);
    m.slots.put(4L, 8L);
    m.scan();
    assertThat(words(why(5), Kind.READ)).containsExactly("x5 is 8 after scan 1", "x4 was read as 8 at step 5");
    assertThat(why(3).facts(Kind.INITIAL)).hasSize(1);
  }

  @Test
  void theBranchThatPassedOverTheWriteIsTold() {
    m.load(11, 64);
    int b = m.branchFalse();
    m.load(12, 64).store(13, 64);
    m.patch(b, m.here(), m.here());
    m.ret();
    m.slots.put(11L, 1L);
    m.slots.put(12L, 1L);
    m.scan();
    m.slots.put(11L, 0L);
    m.slots.put(12L, 0L);
    m.scan();
    Explanation e = why(13);
    assertThat(e.value()).isEqualTo("TRUE");
    assertThat(e.facts(Kind.UNCHANGED)).singleElement().satisfies(f -> {
      assertThat(f.words()).isEqualTo("nothing wrote b3 in scan 2; the instructions that could were passed over");
      assertThat(f.because()).singleElement().satisfies(d -> assertThat(d.words()).contains("was FALSE at step 2"));
    });
  }

  @Test
  void aBodyNotCalledIsTraced() {
    m.load(11, 64);
    int b = m.branchFalse();
    int c = m.call(-1);
    m.patch(b, m.here(), m.here());
    m.ret();
    m.body("Pump");
    int start = m.here();
    m.constant(3).store(1, 64).ret();
    m.patch(c, start, -1);
    m.slots.put(11L, 1L);
    m.scan();
    m.slots.put(11L, 0L);
    m.scan();
    assertThat(why(1).facts(Kind.UNCHANGED)).singleElement().satisfies(f -> assertThat(f.because()).hasSize(1));
    assertThat(words(why(1), Kind.WRITE)).containsExactly("Pump wrote 3 to x1 at step 5 of scan 1");
  }

  @Test
  void earlierScansCanBeAskedAbout() {
    m.load(1, 64).store(2, 64).ret();
    for (int i = 1; i <= 5; i++) {
      m.slots.put(1L, (long) i * 10);
      m.scan();
    }
    assertThat(record.explain(false, "x2", 2, 64, record.endOfScan(3), 3).value()).isEqualTo("30");
    assertThatThrownBy(() -> record.endOfScan(6)).hasMessage("scan 6 has not ended; the last one that has is 5");
  }

  @Test
  void whatIsOldIsForgottenButStillNamed() {
    m = machine(2, Provenance.NODES);
    // counts itself: an endless chain
    m.load(1, 64).constant(1).op(StepInfo.Kind.COMPUTE, "ADD").store(1, 64);
    m.load(11, 64);
    int b = m.branchFalse();
    m.load(3, 64).store(2, 64);
    m.patch(b, m.here(), m.here());
    m.ret();
    m.slots.put(11L, 1L);
    m.scan();
    m.slots.put(11L, 0L);
    for (int i = 0; i < 999; i++) {
      m.scan();
    }
    assertThat(record.kept()).isLessThan(100);
    Explanation e = why(1);
    assertThat(e.value()).isEqualTo("1000");
    assertThat(e.leaves()).extracting(Fact::kind).contains(Kind.OLDER);
    assertThat(e.facts(Kind.OLDER)).singleElement().satisfies(f -> {
      assertThat(f.scan()).isEqualTo(998);
      assertThat(f.words()).isEqualTo("Main wrote 998 to x1 at step 4 of scan 998, which is older than what is kept");
    });
    // the last write of a variable is kept with its reasons, however old
    assertThat(words(why(2), Kind.READ)).contains("x3 was read as 0 at step 7 of scan 1");
    assertThatThrownBy(() -> record.endOfScan(5)).hasMessageStartingWith("scan 5 is older than what is kept; the oldest scan kept is 999");
  }

  @Test
  void aLongScanStaysWithinTheBound() {
    m = machine(10, 5_000);
    int head = m.here();
    m.load(1, 64).constant(20_000).op(StepInfo.Kind.COMPARE, "LT");
    int b = m.branchFalse();
    m.load(1, 64).constant(1).op(StepInfo.Kind.COMPUTE, "ADD").store(1, 64);
    int j = m.jump();
    m.patch(j, head, -1);
    m.patch(b, m.here(), m.here());
    m.ret();
    m.scan();
    assertThat(record.kept()).isLessThanOrEqualTo(5_000);
    assertThat(why(1).value()).isEqualTo("20000");
    assertThat(why(1).leaves()).extracting(Fact::kind).contains(Kind.OLDER);
  }

  @Test
  void namesInTextJsonAndHtmlAreInert() {
    m.load(1, 64).store(2, 64).ret();
    m.names.put(1L, "</script><b>\"\u001b[31m\\");
    m.slots.put(1L, 5L);
    m.scan();
    Explanation e = why(2);
    assertThat(e.text()).doesNotContain("\u001b");
    assertThat(e.html("p-")).doesNotContain("<b>").contains("&lt;/script&gt;&lt;b&gt;&quot;").doesNotContain("\u001b");
    assertThat(e.json()).doesNotContain("</script>").contains("\\u003c/script>").contains("\\u001b").contains("\\\\");
    assertThatThrownBy(() -> e.html("\"><b>")).isInstanceOf(IllegalArgumentException.class);
  }

  @Test
  void theSameRunGivesTheSameText() {
    dryer();
    String first = why(PERMIT).text() + why(PERMIT).json() + why(PERMIT).html("");
    machine();
    m = machine(100, Provenance.NODES);
    dryer();
    assertThat(why(PERMIT).text() + why(PERMIT).json() + why(PERMIT).html("")).isEqualTo(first);
  }
}
