package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.ms;
import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.examples.course.Times.us;
import static dev.scanloom.teach.Question.because;
import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.field;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.policy;
import static dev.scanloom.teach.Question.scansUntil;

import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Question;
import java.time.Duration;
import java.util.List;

/** Time comes in scans. */
final class Timing {
  private Timing() {}

  static List<Exercise> lessons() {
    return List.of(s04(), s13(), s14(), s15(), s16(), s34(), s35());
  }

  private static Exercise s04() {
    return Exercise.titled("Too short to be seen").id("S04").story("""
        A light barrier counts corks. Two corks pass: the first one darkens the barrier for 4 ms, the second for 5 ms. Scans begin at 0, 10, 20, 30 ms and so on.""")
        .program("""
        PROGRAM Corks
        VAR
          Beam AT %IX0.0 : BOOL;  (* TRUE: dark *)
          edge : R_TRIG;
          Count : INT;
        END_VAR
          edge(CLK := Beam);
          IF edge.Q THEN Count := Count + 1; END_IF;
        END_PROGRAM
        """)
        .at(ms(12), "Beam", "TRUE").at(ms(16), "Beam", "FALSE").at(ms(28), "Beam", "TRUE").at(ms(33), "Beam", "FALSE").scans(6).watch("Beam", "Count")
        .ask(
            memory("Count", 3),
            memory("Count", 6),
            memory("Beam", 4),
            scansUntil("Count", "2"))
        .lesson("""
            Under image inputs only the moments of refresh count: 0, 10, 20, 30 ms. The first cork lies between two of them, the second one covers 30 ms. A pulse \
            of length p is caught with the probability p divided by the period, for a random phase; longer than a period it is always caught.""");
  }

  private static Exercise s13() {
    return Exercise.titled("The timer that stood still").id("S13").story("""
        A dough rests for 30 ms (the bakery is a fast one). The timer is called only while the lid is shut, and the lid is opened half way through.""").program("""
        PROGRAM Dough
        VAR
          Lid  AT %IX0.0 : BOOL;  (* shut *)
          Done AT %QX0.0 : BOOL;
          rest : TON;
        END_VAR
          IF Lid THEN
            rest(IN := TRUE, PT := T#30ms);
          END_IF;
          Done := rest.Q;
        END_PROGRAM
        """)
        .at(1, "Lid", "TRUE").at(3, "Lid", "FALSE").at(6, "Lid", "TRUE").scans(7).watch("Lid", "rest.ET", "Done")
        .ask(
            memory("rest.ET", 2),
            memory("rest.ET", 5),
            memory("rest.ET", 6),
            scansUntil(Question.Where.FIELD, "Done", "TRUE", 1))
        .lesson("""
            Nobody updates ET while the block is not called: the number stands still, and jumps at the next call, because the block looks at the clock and not \
            at the number of calls. Q is late by as long as nobody called.""");
  }

  private static Exercise s14() {
    return Exercise.titled("A pulse and a run-on time").id("S14").story("""
        A knock on the door starts a door opener (a pulse of 30 ms) and the stair light (it stays on for 20 ms after the last knock). Somebody knocks twice, in \
        scans 1 and 3.""").program("""
        PROGRAM Stairs
        VAR
          Knock AT %IX0.0 : BOOL;
          opener : TP;
          light  : TOF;
        END_VAR
          opener(IN := Knock, PT := T#30ms);
          light(IN := Knock, PT := T#20ms);
        END_PROGRAM
        """)
        .at(1, "Knock", "TRUE").at(2, "Knock", "FALSE").at(3, "Knock", "TRUE").at(4, "Knock", "FALSE").scans(8)
        .watch("Knock", "opener.Q", "opener.ET", "light.Q", "light.ET")
        .ask(
            memory("opener.ET", 3),
            memory("opener.Q", 4),
            memory("light.Q", 5),
            scansUntil(Question.Where.MEMORY, "light.Q", "FALSE", 4),
            memory("light.ET", 8))
        .lesson("""
            A pulse that runs is not started again: the second knock does not make the door open longer. A run-on time starts again with every new fall of its \
            input. Its ET stays at PT until the next knock (IEC 61131-3, Table 46 and its timing diagrams).""");
  }

  private static Exercise s15() {
    return Exercise.titled("The clock that runs slow").id("S15").story("""
        A timer that resets itself is to give a tick every 25 ms. The scan period is 10 ms. After an hour the clock is far behind.""").program("""
        PROGRAM Clock
        VAR
          t : TON;
          Tick : BOOL;
          Ticks : INT;
        END_VAR
          t(IN := NOT Tick, PT := T#25ms);
          Tick := t.Q;
          IF Tick THEN Ticks := Ticks + 1; END_IF;
        END_PROGRAM
        """).scans(20).watch("t.ET", "Tick", "Ticks")
        .ask(
            scansUntil("Ticks", "1"),
            scansUntil(Question.Where.MEMORY, "Ticks", "2", 5),
            memory("Ticks", 20))
        .lesson("""
            Expiry is seen at the first scan after it: at 30 ms, not 25. One more scan passes with the input off, and the next period begins at the scan after \
            that. So a period is 50 ms, and in 190 ms there are 4 ticks where 7 were meant. The error grows with time; count a clock's own time instead.""");
  }

  private static Exercise s16() {
    Exercise e = Exercise.titled("A wheel that stands still").id("S16").story("""
        Two toothed wheels pass two probes. Wheel F has a tooth in front of its probe from 3 to 8 ms of every 10 ms; wheel S for 10 ms of every 20 ms, from 5 ms \
        on. The scan period is 10 ms.""").program("""
        PROGRAM Wheels
        VAR
          F AT %IX0.0 : BOOL;
          S AT %IX0.1 : BOOL;
          countF, countS : CTU;
        END_VAR
          countF(CU := F, R := FALSE, PV := 100);
          countS(CU := S, R := FALSE, PV := 100);
        END_PROGRAM
        """).scans(11).watch("F", "countF.CV", "S", "countS.CV");
    for (int k = 0; k < 10; k++) {
      e = e.at(ms(10L * k + 3), "F", "TRUE").at(ms(10L * k + 8), "F", "FALSE");
    }
    for (int k = 0; k < 5; k++) {
      e = e.at(ms(20L * k + 5), "S", "TRUE").at(ms(20L * k + 15), "S", "FALSE");
    }
    return e.ask(
            memory("countF.CV", 11),
            memory("countS.CV", 11),
            memory("F", 8))
        .lesson("""
            To be counted, a pulse must be seen on once and off once: at best every second scan, so 1/(2 x scan period), here 50 Hz. Wheel S is just that fast. \
            Wheel F is twice as fast, and because its period is the scan period, every look finds the same gap: to the program it stands still.""");
  }

  private static Exercise s34() {
    Exercise e = Exercise.titled("Nobody changed the program").id("S34").story("""
        A 10 ms timer belongs to a filling head. Since a new recording system asks for data, the head is late now and then, and the number of scans that the \
        timer lasts has changed. Each message costs the controller 2 ms; input refresh, output refresh and housekeeping take 1 ms each.""").program("""
        PROGRAM Filler
        VAR
          head : TON;
          Scans : INT;
          Asked : INT;
        END_VAR
          Scans := Scans + 1;
          head(IN := TRUE, PT := T#10ms);
        END_PROGRAM
        """).policy("free running; refreshes and housekeeping take 1 ms each, steps nothing, each message from outside 2 ms",
            ScanPolicy.image().withCosts(CostModel.fixed(Duration.ZERO, ms(1), ms(1), ms(2))))
        .scans(6).watch("head.ET", "head.Q", "Scans");
    for (int k = 1; k <= 5; k++) {
      e = e.at(us(100L * k), "Asked", Integer.toString(k));
    }
    return e.ask(
            memory("head.ET", 2),
            scansUntil("head.Q", "TRUE"),
            cure("head.Q", "FALSE", 4,
                policy("Messages cost nothing", ScanPolicy.image().withCosts(CostModel.fixed(Duration.ZERO, ms(1), ms(1), Duration.ZERO))),
                policy("Messages cost 1 ms", ScanPolicy.image().withCosts(CostModel.fixed(Duration.ZERO, ms(1), ms(1), ms(1))))))
        .lesson("""
            The first scan takes 3 ms, and 10 ms more for five messages: the second scan finds ET at its limit. Without them scans begin every 3 ms, and the \
            timer expires in the fifth. Timing lives in the scan, and the scan belongs to everybody.""");
  }

  private static Exercise s35() {
    return Exercise.titled("How long until the answer").id("S35").story("""
        An emergency flap answers to a push button. Scans begin every 10 ms; refreshes take 1 ms each. Somebody pushes the button at 10.5 ms, half a millisecond \
        after a refresh began.""").program("""
        PROGRAM Flap
        VAR
          Push AT %IX0.0 : BOOL;
          Flap AT %QX0.0 : BOOL;
        END_VAR

        |   Push              Flap    |
        +---| |---------------( )-----+
        END_PROGRAM
        """).policy("image inputs and outputs, a scan every 10 ms, refreshes take 1 ms each",
            ScanPolicy.image().withCosts(CostModel.fixed(us(1), ms(1), Duration.ZERO, Duration.ZERO)).withTrigger(ScanTrigger.periodic(ms(10))))
        .at(us(10_500), "Push", "TRUE").scans(4).watch("Push", "Flap")
        .ask(
            field("Push", 2),
            memory("Push", 2),
            field("Flap", 2),
            scansUntil(Question.Where.FIELD, "Flap", "TRUE", 2))
        .lesson("""
            Just missed by the refresh at 10 ms, the push is seen at 20 ms and answered at the end of that scan: 10.5 ms later. The worst case is nearly a whole \
            period, and the time from a refresh to the delivery on top; the best case is the latter alone. A safety time is judged by the worst case.""");
  }
}
