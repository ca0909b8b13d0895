package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.micro;
import static dev.scanloom.examples.course.Times.ms;
import static dev.scanloom.examples.course.Times.us;
import static dev.scanloom.teach.Question.before;
import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.edit;
import static dev.scanloom.teach.Question.field;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.policy;
import static dev.scanloom.teach.Question.scansUntil;
import static dev.scanloom.teach.Question.wrote;

import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import dev.scanloom.teach.Exercise;
import java.util.List;

/** Several tasks share one memory; charts keep their actions until somebody says otherwise. */
final class TasksAndCharts {
  private TasksAndCharts() {}

  static List<Exercise> lessons() {
    return List.of(s23(), s24(), s37(), s29());
  }

  private static Exercise s23() {
    return Exercise.titled("A bottle got lost").id("S23").story("""
        Two tasks count bottles into one total. The fast one runs every 10 ms and may interrupt the slow one, which reads the total, has a lot to do, and writes it back \
        more than 10 ms later. Lost is what is missing at the end.""").program("""
        CONFIGURATION Bottling
          VAR_GLOBAL Total, Fast, Slow, Lost : DINT; END_VAR
          TASK Quick(INTERVAL := T#10ms, PRIORITY := 1);
          TASK Calm(INTERVAL := T#100ms, PRIORITY := 5);
          PROGRAM q WITH Quick : QuickCount;
          PROGRAM c WITH Calm : CalmCount;
        END_CONFIGURATION

        PROGRAM QuickCount
        VAR_EXTERNAL Total, Fast : DINT; END_VAR
          Total := Total + 1;
          Fast := Fast + 1;
        END_PROGRAM

        PROGRAM CalmCount
        VAR_EXTERNAL Total, Fast, Slow, Lost : DINT; END_VAR
        VAR i, Copy : DINT; END_VAR
          Copy := Total;
          FOR i := 1 TO 1200 DO ; END_FOR;
          Total := Copy + 1;
          Slow := Slow + 1;
          Lost := Fast + Slow - Total;
        END_PROGRAM
        """).policy("tasks with a higher priority (a smaller number) interrupt others between two steps; a step takes 1 us",
            micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()))
        .scans(1).watch("Total", "Fast", "Slow")
        .ask(
            memory("Total", 1),
            memory("Lost", 1),
            cure("Lost", "0", 1,
                policy("Tasks do not interrupt each other", micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.nonPreemptive())),
                edit("Give the slow task priority 0", "PRIORITY := 5", "PRIORITY := 0"),
                edit("Give the slow task priority 2", "PRIORITY := 5", "PRIORITY := 2"),
                edit("Read the total late, right before it is written", "Copy := Total;\n  FOR i := 1 TO 1200 DO ; END_FOR;",
                    "FOR i := 1 TO 1200 DO ; END_FOR;\n  Copy := Total;")))
        .lesson("""
            Between reading and writing back, somebody else wrote, and that write is lost. Reading late makes the gap small, and the fault rare: worse to find than \
            before. A single writer, or a lock around reading and writing, closes it.""");
  }

  private static Exercise s24() {
    return Exercise.titled("Half a recipe").id("S24").story("""
        A slow task writes a recipe of two numbers that must be equal, with much work between them. A fast task checks them every 10 ms.""").program("""
        CONFIGURATION Recipes
          VAR_GLOBAL First, Second : DINT; Torn : BOOL; END_VAR
          TASK Quick(INTERVAL := T#10ms, PRIORITY := 1);
          TASK Calm(INTERVAL := T#100ms, PRIORITY := 5);
          PROGRAM q WITH Quick : Checking;
          PROGRAM c WITH Calm : Writing;
        END_CONFIGURATION

        PROGRAM Checking
        VAR_EXTERNAL First, Second : DINT; Torn : BOOL; END_VAR
          IF First <> Second THEN Torn := TRUE; END_IF;
        END_PROGRAM

        PROGRAM Writing
        VAR_EXTERNAL First, Second : DINT; END_VAR
        VAR i, n : DINT; END_VAR
          n := n + 1;
          First := n;
          FOR i := 1 TO 1200 DO ; END_FOR;
          Second := n;
        END_PROGRAM
        """).policy("tasks with a higher priority (a smaller number) interrupt others between two steps; a step takes 1 us",
            micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.preemptive()))
        .scans(1).watch("First", "Second", "Torn")
        .ask(
            memory("First", 1),
            memory("Second", 1),
            memory("Torn", 1),
            cure("Torn", "FALSE", 1,
                edit("Do the work first, then write both numbers", "First := n;\n  FOR i := 1 TO 1200 DO ; END_FOR;", "FOR i := 1 TO 1200 DO ; END_FOR;\n  First := n;"),
                policy("Tasks do not interrupt each other", micro(ScanPolicy.image()).withTaskSwitching(TaskSwitching.nonPreemptive())),
                edit("Check twice as often", "INTERVAL := T#10ms", "INTERVAL := T#5ms")))
        .lesson("""
            At the end of the scan both numbers are equal, and no snapshot taken then will ever show the fault. The reader came in between. Prepare the new values in a \
            buffer of your own and publish them in one go; where one go is more than one step, use a lock or a buffer number written last.""");
  }

  private static Exercise s37() {
    return Exercise.titled("An event that was not one").id("S37").story("""
        A task runs once for each rising edge of a trip bit. Messages from outside land between two scans. From 12 to 14 ms the bit is on and off again; at 25 ms it comes on, \
        goes off at 26 ms, and comes on again at 27 ms.""").program("""
        CONFIGURATION Events
          VAR_GLOBAL Trip : BOOL; Runs : DINT; Ticks : DINT; END_VAR
          TASK OnTrip(SINGLE := Trip, PRIORITY := 0);
          TASK Steady(INTERVAL := T#10ms, PRIORITY := 5);
          PROGRAM e WITH OnTrip : Counting;
          PROGRAM s WITH Steady : Ticking;
        END_CONFIGURATION

        PROGRAM Counting
        VAR_EXTERNAL Runs : DINT; END_VAR
          Runs := Runs + 1;
        END_PROGRAM

        PROGRAM Ticking
        VAR_EXTERNAL Ticks : DINT; END_VAR
          Ticks := Ticks + 1;
        END_PROGRAM
        """)
        .at(ms(12), "Trip", "TRUE").at(ms(14), "Trip", "FALSE").at(ms(25), "Trip", "TRUE").at(ms(26), "Trip", "FALSE").at(ms(27), "Trip", "TRUE").scans(6)
        .watch("Trip", "Runs", "Ticks")
        .ask(
            memory("Runs", 3),
            memory("Runs", 6),
            memory("Ticks", 6),
            scansUntil("Runs", "1"))
        .lesson("""
            Three rises, one run. What rises and falls between two looks is lost, and two rises between two looks are one. An event task needs events that last as \
            long as the time between two looks, or a counter at the source.""");
  }

  private static Exercise s29() {
    return Exercise.titled("The horn that goes on").id("S29").story("""
        A filling step has two actions: the valve is not stored (N), the horn is stored (S). When the tank is full the chart leaves the step; a hush button resets \
        the horn.""").program("""
        PROGRAM Tank
        VAR
          Go    AT %IX0.0 : BOOL;
          Full  AT %IX0.1 : BOOL;
          Hush  AT %IX0.2 : BOOL;
          Valve AT %QX0.0 : BOOL;
          Horn  AT %QX0.1 : BOOL;
        END_VAR
        INITIAL_STEP Idle: END_STEP
        STEP Fill: Valve(N); Horn(S); END_STEP
        STEP Quiet: Horn(R); END_STEP
        TRANSITION FROM Idle TO Fill := Go; END_TRANSITION
        TRANSITION FROM Fill TO Idle := Full; END_TRANSITION
        TRANSITION FROM Idle TO Quiet := Hush; END_TRANSITION
        TRANSITION FROM Quiet TO Idle := NOT Hush; END_TRANSITION
        END_PROGRAM
        """)
        .at(2, "Go", "TRUE").at(3, "Go", "FALSE").at(5, "Full", "TRUE").at(6, "Full", "FALSE").at(7, "Hush", "TRUE").scans(8)
        .watch("Go", "Full", "Hush", "Fill.X", "Valve", "Horn")
        .ask(
            memory("Fill.X", 2),
            field("Valve", 2),
            field("Valve", 3),
            field("Valve", 5),
            memory("Fill.X", 5),
            field("Valve", 6),
            field("Horn", 6),
            field("Horn", 7),
            field("Horn", 8))
        .lesson("""
            A transition is tested after the actions of the same evaluation, so what a step does begins and ends one scan after its flag. The valve goes off in \
            the scan after Fill was left. A stored action lasts until a step resets it, however often the chart has moved on (IEC 61131-3, Table 59).""");
  }
}
