package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.micro;
import static dev.scanloom.examples.course.Times.micro10;
import static dev.scanloom.examples.course.Times.ms;
import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.examples.course.Times.us;
import static dev.scanloom.teach.Question.because;
import static dev.scanloom.teach.Question.before;
import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.cureOfField;
import static dev.scanloom.teach.Question.edit;
import static dev.scanloom.teach.Question.fact;
import static dev.scanloom.teach.Question.field;
import static dev.scanloom.teach.Question.lastWriter;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.painted;
import static dev.scanloom.teach.Question.policy;
import static dev.scanloom.teach.Question.read;
import static dev.scanloom.teach.Question.scansUntil;
import static dev.scanloom.teach.Question.why;
import static dev.scanloom.teach.Question.wrote;

import dev.scanloom.explain.Fact;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Question;
import java.util.List;

/** Terminal, memory, and when the one is copied to the other. */
final class Places {
  private Places() {}

  static List<Exercise> lessons() {
    return List.of(s01(), s05(), s06(), s28(), s31());
  }

  private static Exercise s01() {
    return Exercise.titled("The soap press that will not start").id("S01").story("""
        A soap press may start while its guard is shut. The guard switch lets current flow while the guard is shut, and the lamp beside it is lit. \
        The press does not start. The guard is shut, the lamp is on, and the setter's key has not been touched for weeks.""").program("""
        PROGRAM SoapPress
        VAR
          Guard     AT %IX0.0 : BOOL;  (* guard shut: current flows *)
          Setter    AT %IX0.1 : BOOL;  (* setter's key *)
          GuardLamp AT %QX0.0 : BOOL;
          Press     AT %QX0.1 : BOOL;
        END_VAR

        (* guard shut: lamp *)
        |   Guard          GuardLamp  |
        +---| |------------( )--------+

        (* setter's key pretends that the guard is shut *)
        |   Setter            Guard   |
        +---| |---------------( )-----+

        (* guard shut: press *)
        |   Guard             Press   |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .at(1, "Guard", "TRUE").scans(3).watch("Guard", "Setter", "GuardLamp", "Press")
        .ask(
            field("Guard", 1),
            memory("Guard", before(1, 1)),
            memory("Guard", before(3, 1)),
            field("Press", 1),
            painted(1, "Guard", 1),
            lastWriter("Guard", 1),
            why("Press", 1,
                because("The guard switch was opened", read(3, "Guard", "FALSE"), fact(Fact.Kind.FIELD_CHANGE, "Guard")),
                because("Network 2 wrote FALSE to the guard's bit, because the setter's key is off", read(3, "Guard", "FALSE"), wrote(2, "Guard", "FALSE"),
                    fact(Fact.Kind.INPUT_REFRESH, "Setter")),
                because("Network 1 wrote FALSE to the guard's bit after lighting the lamp", wrote(1, "Guard", "FALSE"))),
            cureOfField("Press", "TRUE", 1,
                edit("Remove network 2", """
                    |   Setter            Guard   |
                    +---| |---------------( )-----+
                    """, ""),
                edit("Let network 2 set the lamp in place of the guard's bit", """
                    |   Setter            Guard   |
                    +---| |---------------( )-----+
                    """, """
                    |   Setter         GuardLamp  |
                    +---| |------------( )--------+
                    """),
                edit("Read the guard through a negated contact in network 3", """
                    |   Guard             Press   |
                    +---| |---------------( )-----+
                    """, """
                    |   Guard             Press   |
                    +---|/|---------------( )-----+
                    """),
                policy("Sample the screen at the start of the scan", still(ScanPolicy.image().withDisplay("screen", DisplaySampling.scanStart(),
                    Painting.fromSample())))))
        .lesson("""
            A coil writes whatever its address is, an input bit too. The refresh sets the bit at the top of every scan, network 2 clears it, and network 3 reads \
            what network 2 left. No instruction ever looks at the switch; the lamp tells of the bit as it was when network 1 was evaluated.

            The negated contact makes the press run, and makes it dangerous: it would run with the guard open as well. A change that makes the symptom go \
            away is not yet a cure; think before you choose.""");
  }

  private static Exercise s05() {
    return Exercise.titled("The same input, twice in one scan").id("S05").story("""
        A cutter latches an alarm when its guard is seen shut and open at once, which cannot be. On a controller whose input cards are read at the moment of \
        each access the alarm comes now and then, always while somebody opens the guard.""").program("""
        PROGRAM Cutter
        VAR
          Guard AT %IX0.0 : BOOL;
          G, Clash, Alarm : BOOL;
        END_VAR
          Clash := Guard AND NOT Guard;
          Alarm := Alarm OR Clash;
        END_PROGRAM
        """).policy("every read of an input copies its terminal first (immediate); a step takes 1 us; a scan every 10 ms", micro10(ScanPolicy.immediate()))
        .at(1, "Guard", "TRUE").at(us(1), "Guard", "FALSE").scans(2).watch("Guard", "Clash", "Alarm")
        .ask(
            memory("Clash", 1),
            memory("Alarm", 2),
            field("Guard", 1),
            cure("Alarm", "FALSE", 2,
                edit("Copy the input to G once and use G", "Clash := Guard AND NOT Guard;", "G := Guard; Clash := G AND NOT G;"),
                policy("Read inputs by process image", micro10(ScanPolicy.image())),
                edit("Read the guard a third time", "Guard AND NOT Guard", "Guard AND NOT Guard AND NOT Guard"),
                policy("A scan every 5 ms", micro(ScanPolicy.immediate()).withTrigger(ScanTrigger.periodic(ms(5))))))
        .lesson("""
            Two reads of one input are two looks at the field unless something copies it once. Under a process image they are equal by construction; under \
            immediate or asynchronous inputs a copy in memory, made once at the top, gives the same safety.""");
  }

  private static Exercise s06() {
    return Exercise.titled("A valve that is told to open, and stays shut").id("S06").story("""
        Network 1 opens the dosing valve, and the counter of doses in network 2 counts. The valve has never been seen to move.""").program("""
        PROGRAM Dosing
        VAR
          Feed  AT %IX0.0 : BOOL;
          Block AT %IX0.1 : BOOL;
          Valve AT %QX0.0 : BOOL;
          Seen  : BOOL;
        END_VAR

        |   Feed              Valve   |
        +---| |---------------( )-----+

        |   Valve             Seen    |
        +---| |---------------( )-----+

        |   Block             Valve   |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .at(1, "Feed", "TRUE").scans(4).watch("Feed", "Valve", "Seen")
        .ask(
            memory("Valve", before(3, 1)),
            memory("Seen", 1),
            lastWriter("Valve", 1),
            scansUntil(Question.Where.FIELD, "Valve", "TRUE", 1),
            cureOfField("Valve", "TRUE", 1,
                edit("Make network 3 a negated coil", """
                    |   Block             Valve   |
                    +---| |---------------( )-----+
                    """, """
                    |   Block             Valve   |
                    +---| |---------------(/)-----+
                    """),
                edit("Let network 1 hold off while Block is on, and remove network 3", """
                    |   Feed              Valve   |
                    +---| |---------------( )-----+

                    |   Valve             Seen    |
                    +---| |---------------( )-----+

                    |   Block             Valve   |
                    +---| |---------------( )-----+
                    """, """
                    |   Feed    Block     Valve   |
                    +---| |-----|/|-------( )-----+

                    |   Valve             Seen    |
                    +---| |---------------( )-----+
                    """),
                policy("A scan every 5 ms", ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(5))))))
        .lesson("""
            Between the two coils the bit in memory is on, and network 2 sees it. Outputs are delivered after the last network, so the terminal never moves. \
            Where outputs are delivered at every write, the valve would open for a few steps in every scan: a buzzing relay in place of a still one.""");
  }

  private static Exercise s28() {
    return Exercise.titled("What the very first scan sees").id("S28").story("""
        At its first scan a silo's controller notes whether there was grain at the level probe, and counts how often it did so. The probe was covered before \
        power came on.""").program("""
        PROGRAM Silo
        VAR
          Probe AT %IX0.0 : BOOL;
          First : BOOL := TRUE;
          Saw   : BOOL;
          Count : INT := 7;
        END_VAR
          IF First THEN
            Saw := Probe;
            Count := Count + 1;
            First := FALSE;
          END_IF;
        END_PROGRAM
        """)
        .at(1, "Probe", "TRUE").coldRestart(4).scans(4).watch("Probe", "First", "Saw", "Count")
        .ask(
            memory("Saw", 1),
            memory("Count", 3),
            memory("First", 3),
            memory("Count", 4),
            why("Saw", 1,
                because("Initial values are set after the first input refresh", fact(Fact.Kind.INITIAL, "Probe")),
                because("The first refresh comes before the first statement, so the statement read the terminal's state", read(0, "Probe", "TRUE"),
                    fact(Fact.Kind.INPUT_REFRESH, "Probe"))))
        .lesson("""
            The order is initialization, then the first input refresh, then logic. Work for the first scan already sees real inputs. A cold restart is a first \
            scan again: the count starts from its initial value and goes up once more.""");
  }

  private static Exercise s31() {
    return Exercise.titled("A force that does not hold").id("S31").story("""
        To test a lift table somebody forces its limit switch to TRUE. One network believes the force, another one does not.""").program("""
        PROGRAM LiftTable
        VAR
          Limit AT %IX0.0 : BOOL;
          Early, Late : BOOL;
          Never : BOOL;
        END_VAR

        |   Limit             Early   |
        +---| |---------------( )-----+

        (* left over from commissioning *)
        |   Never             Limit   |
        +---| |---------------( )-----+

        |   Limit             Late    |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .force(1, "Limit", "TRUE").scans(2).watch("Limit", "Early", "Late")
        .ask(
            field("Limit", 1),
            memory("Early", 1),
            memory("Late", 1),
            why("Early", 1,
                because("The switch is closed", fact(Fact.Kind.FIELD_CHANGE, "Limit")),
                because("The force holds the bit against the input refresh", read(1, "Limit", "TRUE"), fact(Fact.Kind.FORCE, "Limit"))),
            cure("Late", "TRUE", 1,
                policy("A profile whose forces also hold against instructions", still(ScanPolicy.image().withFirmForces(true))),
                policy("Read inputs immediately", still(ScanPolicy.immediate())),
                policy("A scan every 5 ms", ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(5))))))
        .lesson("""
            A force holds against the copy that the refresh makes. Whether it also holds against instructions that write the bit is a matter of the \
            controller; here it does not. Under immediate inputs the read copies first, and the force stands in for the terminal.""");
  }
}
