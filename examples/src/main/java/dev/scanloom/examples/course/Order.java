package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.teach.Question.because;
import static dev.scanloom.teach.Question.before;
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
import dev.scanloom.policy.DisplaySampling;
import dev.scanloom.policy.Painting;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Question;
import java.util.List;

/** Networks are evaluated from the top to the bottom, once each. */
final class Order {
  private Order() {}

  static List<Exercise> lessons() {
    return List.of(s02(), s03(), s12(), s30(), s32());
  }

  private static Exercise s02() {
    return Exercise.titled("One siren, two coils").id("S02").story("""
        A siren sounds on smoke, or for a drill. Since the drill button was added, smoke does not sound it any more. On the screen network 1 shows its contact \
        conducting, and its coil off.""").program("""
        PROGRAM Siren
        VAR
          Smoke AT %IX0.0 : BOOL;
          Drill AT %IX0.1 : BOOL;
          Horn  AT %QX0.0 : BOOL;
        END_VAR

        (* smoke *)
        |   Smoke             Horn    |
        +---| |---------------( )-----+

        (* drill *)
        |   Drill             Horn    |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .at(1, "Smoke", "TRUE").scans(2).watch("Smoke", "Drill", "Horn")
        .ask(
            memory("Horn", before(2, 1)),
            field("Horn", 1),
            lastWriter("Horn", 1),
            painted(1, "Smoke", 1),
            painted(1, "Horn", 1),
            cureOfField("Horn", "TRUE", 1,
                edit("Make the coil of network 2 a set coil", """
                    |   Drill             Horn    |
                    +---| |---------------( )-----+
                    """, """
                    |   Drill             Horn    |
                    +---| |---------------(S)-----+
                    """),
                edit("Exchange the two networks", """
                    (* smoke *)
                    |   Smoke             Horn    |
                    +---| |---------------( )-----+

                    (* drill *)
                    |   Drill             Horn    |
                    +---| |---------------( )-----+
                    """, """
                    (* drill *)
                    |   Drill             Horn    |
                    +---| |---------------( )-----+

                    (* smoke *)
                    |   Smoke             Horn    |
                    +---| |---------------( )-----+
                    """),
                edit("Join both contacts before one coil", """
                    (* smoke *)
                    |   Smoke             Horn    |
                    +---| |---------------( )-----+

                    (* drill *)
                    |   Drill             Horn    |
                    +---| |---------------( )-----+
                    """, """
                    |   Smoke               Horn  |
                    +---| |-----+-----------( )---+
                    |   Drill   |                 |
                    +---| |-----+                 |
                    """),
                policy("Sample the screen at the start of the scan", still(ScanPolicy.image().withDisplay("screen", DisplaySampling.scanStart(),
                    Painting.fromSample())))))
        .lesson("""
            A coil without power writes FALSE; it does not abstain. Of two coils on one bit the later one wins, in every scan. Exchanging them only exchanges \
            who loses: then a drill is silent. Only the parallel branch is right for both.""");
  }

  private static Exercise s03() {
    return Exercise.titled("Against the flow").id("S03").story("""
        Three transfer bits pass a sample along a wash line. Each is drawn where there was room on the page, the last one at the top.""").program("""
        PROGRAM WashLine
        VAR
          Probe AT %IX0.0 : BOOL;
          Spray AT %QX0.0 : BOOL;
          One, Two : BOOL;
        END_VAR

        |   Two               Spray   |
        +---| |---------------( )-----+

        |   One               Two     |
        +---| |---------------( )-----+

        |   Probe             One     |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .at(2, "Probe", "TRUE").scans(6).watch("Probe", "One", "Two", "Spray")
        .ask(
            memory("One", 2),
            memory("Two", 2),
            scansUntil(Question.Where.FIELD, "Spray", "TRUE", 2),
            cureOfField("Spray", "TRUE", 2,
                edit("Draw the networks in the order of the flow", """
                    |   Two               Spray   |
                    +---| |---------------( )-----+

                    |   One               Two     |
                    +---| |---------------( )-----+

                    |   Probe             One     |
                    +---| |---------------( )-----+
                    """, """
                    |   Probe             One     |
                    +---| |---------------( )-----+

                    |   One               Two     |
                    +---| |---------------( )-----+

                    |   Two               Spray   |
                    +---| |---------------( )-----+
                    """),
                edit("Move the first network to the end", """
                    |   Two               Spray   |
                    +---| |---------------( )-----+

                    |   One               Two     |
                    +---| |---------------( )-----+

                    |   Probe             One     |
                    +---| |---------------( )-----+
                    """, """
                    |   One               Two     |
                    +---| |---------------( )-----+

                    |   Probe             One     |
                    +---| |---------------( )-----+

                    |   Two               Spray   |
                    +---| |---------------( )-----+
                    """),
                policy("Read inputs immediately", still(ScanPolicy.immediate()))))
        .lesson("""
            Every reference to a bit that is written further down costs one scan. Two of them make the spray two scans late: it comes in the third scan. \
            Moving one network saves one scan, the order of the flow saves both; no way of reading inputs does.""");
  }

  private static Exercise s12() {
    return Exercise.titled("The network that was skipped").id("S12").story("""
        In manual mode the automatic network of a hoist is skipped by a jump. Changed over to manual while the horn sounds, the horn goes on for ever.""").program("""
        PROGRAM Hoist
        VAR
          Manual AT %IX0.0 : BOOL;
          Load   AT %IX0.1 : BOOL;
          Horn   AT %QX0.0 : BOOL;
          Lamp   AT %QX0.1 : BOOL;
        END_VAR

        |   Manual                    |
        +---| |----------->>Past      |

        |   Load              Horn    |
        +---| |---------------( )-----+

        Past:
        |   Load              Lamp    |
        +---| |---------------( )-----+
        END_PROGRAM
        """)
        .at(1, "Load", "TRUE").at(2, "Manual", "TRUE").at(2, "Load", "FALSE").at(4, "Manual", "FALSE").scans(4).watch("Manual", "Load", "Horn", "Lamp")
        .ask(
            field("Horn", 3),
            field("Lamp", 3),
            lastWriter("Horn", 3),
            why("Horn", 3,
                because("Network 2 wrote TRUE to it in scan 3", read(2, "Load", "TRUE"), fact(Fact.Kind.DELIVERY, "Horn")),
                because("Nothing wrote it in scan 3: the jump skipped its network", fact(Fact.Kind.UNCHANGED, "Horn"))),
            field("Horn", 4))
        .lesson("""
            A coil that is not evaluated writes nothing, so its bit keeps what it had. The same coil evaluated without power writes FALSE. Before you skip a \
            network, say what its outputs shall be meanwhile.""");
  }

  private static Exercise s30() {
    return Exercise.titled("Read before the call").id("S30").story("""
        A block debounces the foot switch of a riveter, and the lamp follows the block's output. The lamp is a scan behind.""").program("""
        FUNCTION_BLOCK Foot
        VAR_INPUT Switch : BOOL; END_VAR
        VAR_OUTPUT Down : BOOL; END_VAR
          Down := Switch;
        END_FUNCTION_BLOCK

        PROGRAM Riveter
        VAR
          Pedal AT %IX0.0 : BOOL;
          Lamp  AT %QX0.0 : BOOL;
          foot1 : Foot;
        END_VAR
          Lamp := foot1.Down;
          foot1(Switch := Pedal);
        END_PROGRAM
        """)
        .at(2, "Pedal", "TRUE").scans(4).watch("Pedal", "foot1.Down", "Lamp")
        .ask(
            memory("foot1.Down", 2),
            field("Lamp", 2),
            scansUntil(Question.Where.FIELD, "Lamp", "TRUE", 2),
            cureOfField("Lamp", "TRUE", 2,
                edit("Call the block first", "Lamp := foot1.Down;\n  foot1(Switch := Pedal);", "foot1(Switch := Pedal);\n  Lamp := foot1.Down;"),
                policy("Read inputs immediately", still(ScanPolicy.immediate())),
                edit("Call the block twice, behind the lamp", "foot1(Switch := Pedal);", "foot1(Switch := Pedal); foot1(Switch := Pedal);")))
        .lesson("An output of a function block holds what its last call left. Read in front of the call, that is the value of the scan before.");
  }

  private static Exercise s32() {
    return Exercise.titled("The mixer that nobody stopped").id("S32").story("""
        The mixer's block is called in automatic mode only. Changed over to hand, the mixer keeps running, and its hand switch is off.""").program("""
        FUNCTION_BLOCK Stirring
        VAR_INPUT Go : BOOL; END_VAR
        VAR_OUTPUT Motor : BOOL; END_VAR
          Motor := Go;
        END_FUNCTION_BLOCK

        PROGRAM Mixer
        VAR
          Auto AT %IX0.0 : BOOL;
          Hand AT %IX0.1 : BOOL;
          Motor AT %QX0.0 : BOOL;
          stir : Stirring;
        END_VAR
          IF Auto THEN
            stir(Go := TRUE);
          END_IF;
          Motor := stir.Motor OR Hand;
        END_PROGRAM
        """)
        .at(1, "Auto", "TRUE").at(3, "Auto", "FALSE").scans(5).watch("Auto", "Hand", "stir.Motor", "Motor")
        .ask(
            field("Motor", 2),
            memory("stir.Motor", 4),
            field("Motor", 5),
            cureOfField("Motor", "FALSE", 5,
                edit("Always call the block, with Auto as its input", "IF Auto THEN\n    stir(Go := TRUE);\n  END_IF;", "stir(Go := Auto);"),
                edit("Use the block's output only in automatic mode", "stir.Motor OR Hand", "stir.Motor AND Auto OR Hand"),
                edit("Call it in hand mode as well, with TRUE", "END_IF;", "ELSE\n    stir(Go := TRUE);\n  END_IF;")))
        .lesson("A block that is no longer called does not switch off: its outputs and its inner blocks keep their last state, and whoever reads them still does.");
  }
}
