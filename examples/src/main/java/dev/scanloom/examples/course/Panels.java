package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.micro10;
import static dev.scanloom.examples.course.Times.ms;
import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.examples.course.Times.us;
import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.display;
import static dev.scanloom.teach.Question.edit;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.policy;
import static dev.scanloom.teach.Question.scansUntil;

import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.ExternalWrites;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.teach.Exercise;
import java.util.List;

/** What people see, and what they do, from a distance. */
final class Panels {
  private Panels() {}

  static List<Exercise> lessons() {
    return List.of(s19(), s20(), s21(), s22());
  }

  private static Exercise s19() {
    return Exercise.titled("Left and right at once").id("S19").story("""
        A diverter is left in one scan and right in the next; the program sees to it that it is never both. The screen shows both. It samples one item at a time: \
        Left at 15 ms, Right at 25 ms, and so on every 10 ms in turn. Scans begin at 0, 10, 20, 30 ms.""").program("""
        PROGRAM Diverter
        VAR
          Left  : BOOL := TRUE;
          Right : BOOL;
        END_VAR
          Left := NOT Left;
          Right := NOT Left;
        END_PROGRAM
        """).policy("a scan every 10 ms; the screen 'panel' takes one sample every 10 ms from 15 ms on, in turn Left and Right; the screen 'whole' takes both at "
            + "once", still(ScanPolicy.image()).withDisplays(List.of(
                new ScanPolicy.Display("panel", DisplaySampling.asynchronous(ms(10), ms(15), 1), Painting.fromSample(), List.of("Left", "Right")),
                new ScanPolicy.Display("whole", DisplaySampling.asynchronous(ms(10), ms(5)), Painting.fromSample(), List.of("Left", "Right")))))
        .scans(5).watch("Left", "Right")
        .ask(
            memory("Left", 2),
            memory("Right", 2),
            display("panel", "Left", 4),
            display("panel", "Right", 4),
            display("whole", "Left", 4),
            display("whole", "Right", 4))
        .lesson("""
            The picture was put together from two scans. Each half is true for its own moment, and together they show what never was. Before you hunt for a \
            program that drives both, ask how the picture was taken.""");
  }

  private static Exercise s20() {
    return Exercise.titled("The bit that never blinks").id("S20").story("""
        A heartbeat bit toggles in every scan. One screen looks every 20 ms, another one every 30 ms, both for the first time at 5 ms. Scans begin at 0, 10, 20 ms.""")
        .program("""
        PROGRAM Heart
        VAR Beat : BOOL; END_VAR
          Beat := NOT Beat;
        END_PROGRAM
        """).policy("a scan every 10 ms; the screens 'even' and 'odd' sample every 20 ms and every 30 ms, from 5 ms on",
            still(ScanPolicy.image()).withDisplays(List.of(
                new ScanPolicy.Display("even", DisplaySampling.asynchronous(ms(20), ms(5)), Painting.fromSample(), List.of("Beat")),
                new ScanPolicy.Display("odd", DisplaySampling.asynchronous(ms(30), ms(5)), Painting.fromSample(), List.of("Beat")))))
        .scans(9).watch("Beat")
        .ask(
            memory("Beat", 4),
            display("even", "Beat", 4),
            display("even", "Beat", 8),
            display("odd", "Beat", 5),
            display("odd", "Beat", 9))
        .lesson("""
            A look every second scan always finds the bit in the same state: the screen swears that it stands still. Every third scan it blinks, three times too \
            slowly. Sampling shows the difference between two frequencies, not the bit.""");
  }

  private static Exercise s21() {
    return Exercise.titled("Pressed, and not noticed").id("S21").story("""
        An operator panel writes 1 to the jog bit while its button is pressed and 0 when it is let go. A short press, from 12 to 14 ms, does nothing. Later, at 42 ms, \
        the button is pressed and the connection is lost.""").program("""
        PROGRAM Jogging
        VAR
          Jog : BOOL;      (* written by the panel *)
          Scans : INT;     (* scans that saw it *)
        END_VAR
          IF Jog THEN Scans := Scans + 1; END_IF;
        END_PROGRAM
        """)
        .at(ms(12), "Jog", "TRUE").at(ms(14), "Jog", "FALSE").at(ms(42), "Jog", "TRUE").scans(8).watch("Jog", "Scans")
        .ask(
            memory("Scans", 4),
            memory("Scans", 8),
            scansUntil("Scans", "1"))
        .lesson("""
            Both writes of the short press land between the same two scans, and the program never runs in between. Without the 0 the bit stays on. A command from a \
            panel needs an answer from the program: let the program reset it, and let it drop out when the connection is lost.""");
  }

  private static Exercise s22() {
    return Exercise.titled("Panel against program").id("S22").story("""
        Panel and program write the same bit. The panel sends TRUE once, behind the program's own write of the first scan; writes from outside land between any two \
        steps on this controller.""").program("""
        PROGRAM Both
        VAR
          Pump, Want, Early : BOOL;
        END_VAR
          Early := Pump;
          Pump := Want;
        END_PROGRAM
        """).policy("writes from outside land between any two steps; a step takes 1 us; a scan every 10 ms",
            micro10(ScanPolicy.image()).withExternalWrites(ExternalWrites.anyStep()))
        .at(us(4), "Pump", "TRUE").scans(2).watch("Pump", "Want", "Early")
        .ask(
            memory("Pump", 1),
            memory("Early", 2),
            memory("Pump", 2),
            cure("Pump", "FALSE", 1,
                edit("The program writes its bit twice more at the end", "Pump := Want;\n", "Pump := Want; Pump := Want; Pump := Want;\n"),
                edit("The program does not write Pump", "Pump := Want;", "Early := Pump;")))
        .lesson("""
            Who wins depends on where the write lands. Behind the program's write it stands until the end of the scan and is seen once at the top of the next one; \
            in front of it, it is gone at once. One bit, one writer: give the panel a bit of its own.""");
  }
}
