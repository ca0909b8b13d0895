package dev.scanloom.teach;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.CompileResult;
import dev.scanloom.explain.Fact;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import org.junit.jupiter.api.Test;

/** Answers are checked against the table of the scan model's reference case, which was derived by hand, and against hand-derived runs. */
class ExerciseTest {
  private static final Question.Reason OPEN = Question.because("the door is open", Question.wrote(3, "Permit", "FALSE"), Question.fact(Fact.Kind.FIELD_CHANGE, "Door"));
  private static final Question.Reason KEY = Question.because("network 2 wrote the door's bit", Question.read(3, "Door", "FALSE"), Question.wrote(2, "Door", "FALSE"));
  private static final Question.Reason LAMP = Question.because("network 1 wrote the permit", Question.wrote(1, "Permit", "FALSE"));

  @Test
  void answersTheReferenceCase() {
    Solution s = Lessons.dryer().ask(
        Question.field("Door", 1), Question.memory("Door", 1), Question.memory("Door", Question.before(1, 1)), Question.memory("Door", Question.before(3, 1)),
        Question.field("Lamp", 1), Question.field("Permit", 1), Question.painted(1, "Door", 1), Question.painted(3, "Door", 1), Question.display("Door", 1),
        Question.lastWriter("Door", 1), Question.lastWriter("Key", 1), Question.why("Permit", 1, OPEN, KEY, LAMP)).solve();
    // scan-model.md, section 5, row "image, display at scan end"
    assertThat(s.answers()).containsExactly("TRUE", "FALSE", "TRUE", "FALSE", "TRUE", "FALSE", "FALSE", "FALSE", "FALSE", "2", "refresh", "b");
    assertThat(s.why(6).orElseThrow().leaves()).isNotEmpty();
    assertThat(s.nearestChange(6).orElseThrow().words()).contains("Key");
  }

  @Test
  void otherPoliciesHaveOtherAnswers() {
    // rows "image, display at scan start" and "immediate inputs"
    Solution start = Lessons.dryer().policy("samples at scan start", ScanPolicy.image().withDisplay("screen", DisplaySampling.scanStart(), Painting.fromSample()))
        .ask(Question.painted(1, "Door", 1), Question.painted(3, "Door", 1), Question.display("Door", 1), Question.field("Permit", 1)).solve();
    assertThat(start.answers()).containsExactly("TRUE", "TRUE", "TRUE", "FALSE");
    Solution immediate = Lessons.dryer().policy("immediate", ScanPolicy.immediate())
        .ask(Question.field("Permit", 1), Question.memory("Door", 1), Question.lastWriter("Door", 1)).solve();
    assertThat(immediate.answers()).containsExactly("TRUE", "TRUE", "refresh");
  }

  @Test
  void curesAreProvenByRunningAgain() {
    Question cure = Question.cureOfField("Permit", "TRUE", 1,
        Question.edit("remove network 2", "|   Key               Door    |\n+---| |---------------( )-----+\n", ""),
        Question.edit("lamp in place of permit", "Permit  |", "Lamp    |"),
        Question.policy("read inputs immediately", ScanPolicy.immediate()));
    Solution s = Lessons.dryer().ask(cure).solve();
    assertThat(s.answers()).containsExactly("a, c");
    assertThat(s.grade("C and A").isPerfect()).isTrue();
    Grade.Mark wrong = s.grade("b").marks().get(0);
    assertThat(wrong.verdict()).isEqualTo(Grade.Verdict.WRONG);
    assertThat(String.join("\n", wrong.feedback())).contains("(a) remove network 2").contains("(b) lamp in place of permit").contains("not cured");
  }

  @Test
  void feedbackWalksFromTheBeliefToTheStepThatContradictsIt() {
    Solution s = Lessons.dryer().ask(Question.memory("Door", 1), Question.field("Permit", 1), Question.lastWriter("Door", 1), Question.painted(1, "Door", 1)).solve();
    Grade g = s.grade("on", "1", "network 1", "yes");
    assertThat(g.right()).isZero();
    assertThat(g.marks().get(0).feedback()).anyMatch(l -> l.startsWith("Your value is at the terminal"))
        .anyMatch(l -> l.startsWith("The step that contradicts it: network 2") && l.contains("wrote FALSE to Door"));
    assertThat(String.join("\n", g.marks().get(1).feedback())).contains("network 3").contains("wrote FALSE to Permit").contains("contact Key read 0")
        .contains("terminal of Key");
    assertThat(g.marks().get(2).feedback()).anyMatch(l -> l.equals("Network 1 has not written Door up to the end of scan 1."));
    assertThat(g.marks().get(3).feedback()).anyMatch(l -> l.startsWith("That is what the executor decided"));
    assertThat(s.grade("off", "0", "2", "no").isPerfect()).isTrue();
    assertThat(s.grade("off").marks().get(3).verdict()).isEqualTo(Grade.Verdict.MISSING);
    assertThat(s.grade("perhaps").marks().get(0).verdict()).isEqualTo(Grade.Verdict.NOT_UNDERSTOOD);
    assertThat(g.text()).contains("0 of 4 right");
  }

  @Test
  void countsScansOfABackwardChain() {
    // a bit moves one network up each scan: A is read by the last network, B by the middle one, C by the first: scans 1, 2, 3 (by hand)
    Exercise e = Exercise.titled("Against the flow").program("""
        PROGRAM P
        VAR A AT %IX0.0 : BOOL; B, C, D, E : BOOL; n : INT; END_VAR
        D := C; C := B; B := A; n := n + 3;
        END_PROGRAM
        """).at(2, "A", "TRUE").scans(6);
    Solution s = e.ask(Question.scansUntil("D", "TRUE"), Question.scansUntil(Question.Where.MEMORY, "D", "TRUE", 2), Question.scansUntil("E", "TRUE"),
        Question.memory("n", 4)).solve();
    assertThat(s.answers()).containsExactly("4", "3", "never", "12");
    Grade g = s.grade("2", "3 scans", "Never.", "INT#12");
    assertThat(g.right()).isEqualTo(3);
    assertThat(g.marks().get(0).feedback()).anyMatch(l -> l.equals("At the end of scan 2, your 2. of them, D still is FALSE."));
  }

  @Test
  void stopsAreAnswered() {
    Exercise e = Exercise.titled("One too far").program("""
        PROGRAM P
        VAR a : ARRAY[1..3] OF INT; i : INT; END_VAR
        i := i + 1;
        a[i] := 7;
        END_PROGRAM
        """).scans(6);
    // i is 4 in scan 4; line 4 (common practice: a fault at the step)
    Solution s = e.ask(Question.stopsInScan(), Question.stopsAtLine(), Question.memory("i", 3)).solve();
    assertThat(s.answers()).containsExactly("4", "4", "3");
    assertThat(String.join(" ", s.grade("3", "line 4", "3").marks().get(0).feedback())).contains("4");
    assertThatThrownBy(() -> e.ask(Question.memory("i", 5)).solve()).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("stopped");
  }

  @Test
  void mistakesOfTheAuthorAreNamed() {
    Exercise e = Lessons.dryer();
    assertThatThrownBy(() -> e.ask(Question.memory("Dor", 1)).solve()).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("Door");
    assertThatThrownBy(() -> e.ask(Question.memory("Door", 3)).solve()).hasMessageContaining("scan 3").hasMessageContaining("question 1");
    assertThatThrownBy(() -> e.ask(Question.painted(2, "Lamp", 1)).solve()).hasMessageContaining("elements there: Key, Door");
    assertThatThrownBy(() -> e.ask(Question.why("Permit", 1, OPEN, LAMP)).solve()).hasMessageContaining("none of the reasons");
    assertThatThrownBy(() -> e.ask(Question.cureOfField("Lamp", "TRUE", 1, Question.edit("x", "Key", "Key"), Question.edit("y", "Key", "Key"))).solve())
        .hasMessageContaining("nothing to cure");
    assertThatThrownBy(() -> e.ask(Question.cureOfField("Permit", "TRUE", 1, Question.edit("x", "Kex", "Key"), Question.edit("y", "Key", "Key"))).solve())
        .hasMessageContaining("Kex");
    assertThatThrownBy(() -> e.program("PROGRAM P x := 1; END_PROGRAM").solve()).isInstanceOf(CompileResult.Failed.class);
    assertThatThrownBy(() -> Exercise.titled("nothing").solve()).hasMessageContaining("no program");
    assertThatThrownBy(() -> e.solve().grade(List.of("on"))).hasMessageContaining("1 answers to 0 questions");
  }

  @Test
  void forcesAndRestartsArePartOfAStimulus() {
    // RETAIN keeps over a warm restart only (IEC 61131-3, RETAIN; from memory)
    String text = """
        PROGRAM P
        VAR RETAIN k : INT; END_VAR
        VAR n : INT; In AT %IX0.0 : BOOL; END_VAR
        k := k + 1; n := n + 1;
        END_PROGRAM
        """;
    Exercise e = Exercise.titled("Power").program(text).scans(3).force(1, "In", "TRUE").unforce(2, "In");
    assertThat(e.warmRestart(3).ask(Question.memory("k", 3), Question.memory("n", 3), Question.memory("In", 1), Question.memory("In", 2)).solve().answers())
        .containsExactly("3", "1", "TRUE", "FALSE");
    assertThat(e.coldRestart(3).ask(Question.memory("k", 3), Question.memory("n", 3)).solve().answers()).containsExactly("1", "1");
  }
}
