package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.teach.Question.because;
import static dev.scanloom.teach.Question.before;
import static dev.scanloom.teach.Question.fact;
import static dev.scanloom.teach.Question.field;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.painted;
import static dev.scanloom.teach.Question.read;
import static dev.scanloom.teach.Question.why;
import static dev.scanloom.teach.Question.wrote;

import dev.scanloom.explain.Fact;
import dev.scanloom.teach.Exercise;
import java.util.List;

/** What stays, what counts, and what must fail to the safe side. */
final class Latches {
  private Latches() {}

  static List<Exercise> lessons() {
    return List.of(s10(), s11(), s17(), s18(), s38());
  }

  private static Exercise s10() {
    return Exercise.titled("What survives the night").id("S10").story("""
        A fault latches two alarms, one of them retained. The fault goes away, then power is lost twice: the first time memory is kept, the second time somebody \
        starts the controller cold.""").program("""
        PROGRAM Alarms
        VAR RETAIN
          Kept : BOOL;
        END_VAR
        VAR
          Fault AT %IX0.0 : BOOL;
          Plain : BOOL;
        END_VAR

        |   Fault             Kept    |
        +---| |---------------(S)-----+

        |   Fault             Plain   |
        +---| |---------------(S)-----+
        END_PROGRAM
        """)
        .at(1, "Fault", "TRUE").at(2, "Fault", "FALSE").warmRestart(3).coldRestart(5).scans(5).watch("Fault", "Kept", "Plain")
        .ask(
            memory("Plain", 2),
            memory("Kept", 3),
            memory("Plain", 3),
            why("Kept", 3,
                because("The fault is still there", fact(Fact.Kind.FIELD_CHANGE, "Fault"), wrote(1, "Kept", "TRUE"), read(1, "Fault", "TRUE")),
                because("It is a retained value, kept over the warm restart", fact(Fact.Kind.RETAINED, "Kept"))),
            memory("Kept", 5))
        .lesson("""
            A set coil writes only when it has power; what keeps the bit is memory. RETAIN decides whether memory outlives a warm restart. A cold restart gives \
            every variable its initial value (IEC 61131-3).""");
  }

  private static Exercise s11() {
    return Exercise.titled("Both buttons at once").id("S11").story("""
        Two doors have latches, one with an SR block, one with an RS block. Open and close are pressed together, then both are let go.""").program("""
        PROGRAM Doors
        VAR
          Open  AT %IX0.0 : BOOL;
          Close AT %IX0.1 : BOOL;
          north : SR;
          south : RS;
        END_VAR
          north(S1 := Open, R := Close);
          south(S := Open, R1 := Close);
        END_PROGRAM
        """)
        .at(1, "Open", "TRUE").at(1, "Close", "TRUE").at(2, "Open", "FALSE").at(2, "Close", "FALSE").scans(3).watch("Open", "Close", "north.Q1", "south.Q1")
        .ask(
            memory("north.Q1", 1),
            memory("south.Q1", 1),
            memory("north.Q1", 3),
            memory("south.Q1", 3))
        .lesson("The input with the digit dominates: S1 in SR, R1 in RS (IEC 61131-3, Table 43). What must be off in doubt gets an RS.");
  }

  private static Exercise s17() {
    return Exercise.titled("Count and clear together").id("S17").story("""
        A crate counter is cleared in the very scan in which a crate passes. A stock counter is told to load and to clear at once.""").program("""
        PROGRAM Crates
        VAR
          Crate AT %IX0.0 : BOOL;
          Clear AT %IX0.1 : BOOL;
          Load  AT %IX0.2 : BOOL;
          crates : CTU;
          stock  : CTUD;
        END_VAR
          crates(CU := Crate, R := Clear, PV := 2);
          stock(CU := Crate, CD := FALSE, R := Clear, LD := Load, PV := 5);
        END_PROGRAM
        """)
        .at(1, "Crate", "TRUE").at(1, "Clear", "TRUE").at(1, "Load", "TRUE").at(2, "Clear", "FALSE").at(3, "Load", "FALSE").at(3, "Crate", "FALSE")
        .at(4, "Crate", "TRUE").scans(5).watch("Crate", "Clear", "Load", "crates.CV", "stock.CV")
        .ask(
            memory("crates.CV", 1),
            memory("crates.CV", 2),
            memory("crates.CV", 4),
            memory("stock.CV", 1),
            memory("stock.CV", 2),
            memory("stock.CV", 4))
        .lesson("""
            Reset comes before load, load before counting (IEC 61131-3, Table 45). The edge of the crate that came together with the reset is used up: in scan 2 \
            the input is still on, but it does not rise any more.""");
  }

  private static Exercise s18() {
    return Exercise.titled("The broken wire").id("S18").story("""
        Two conveyors have the same program but for their stop buttons. A's button is normally closed and drawn as a normally open contact. B's is normally open and \
        drawn as a negated contact, which looks more natural. In scan 4 both wires to the stop buttons break; in scan 5 somebody presses both.""").program("""
        PROGRAM Conveyors
        VAR
          Start  AT %IX0.0 : BOOL;
          StopA  AT %IX0.1 : BOOL;  (* current flows while not pressed *)
          StopB  AT %IX0.2 : BOOL;  (* current flows while pressed *)
          RunA   AT %QX0.0 : BOOL;
          RunB   AT %QX0.1 : BOOL;
        END_VAR

        |   Start       StopA         RunA  |
        +---| |-----+---| |-----------( )---+
        |   RunA    |                       |
        +---| |-----+                       |

        |   Start       StopB         RunB  |
        +---| |-----+---|/|-----------( )---+
        |   RunB    |                       |
        +---| |-----+                       |
        END_PROGRAM
        """)
        .at(1, "StopA", "TRUE").at(2, "Start", "TRUE").at(3, "Start", "FALSE").at(4, "StopA", "FALSE").scans(5).watch("Start", "StopA", "StopB", "RunA", "RunB")
        .ask(
            field("RunA", 3),
            field("RunA", 4),
            field("RunB", 4),
            field("RunB", 5),
            painted(2, "StopB", 5))
        .lesson("""
            A broken wire carries no current. With a normally closed button that is the same as pressed, so A stops. B cannot be stopped any more, and its screen \
            shows a healthy network. The contact shows what the bit must be, not how the button is built.""");
  }

  private static Exercise s38() {
    return Exercise.titled("Motor starter with seal-in").id("S38").story("""
        Two pumps are started by one button. Pump A seals itself in with its own coil; pump B with the auxiliary contact of its contactor, whose wire was forgotten. \
        In scan 5 power is lost and comes back; in scan 6 somebody presses start and stop together.""").program("""
        PROGRAM Pumps
        VAR
          Start AT %IX0.0 : BOOL;
          Stop  AT %IX0.1 : BOOL;  (* normally closed: current flows while not pressed *)
          AuxB  AT %IX0.2 : BOOL;  (* auxiliary contact of contactor B *)
          PumpA AT %QX0.0 : BOOL;
          PumpB AT %QX0.1 : BOOL;
        END_VAR

        |   Start       Stop          PumpA |
        +---| |-----+---| |-----------( )---+
        |   PumpA   |                       |
        +---| |-----+                       |

        |   Start       Stop          PumpB |
        +---| |-----+---| |-----------( )---+
        |   AuxB    |                       |
        +---| |-----+                       |
        END_PROGRAM
        """)
        .at(1, "Stop", "TRUE").at(2, "Start", "TRUE").at(3, "Start", "FALSE").warmRestart(5).at(6, "Start", "TRUE").at(6, "Stop", "FALSE").scans(6)
        .watch("Start", "Stop", "PumpA", "PumpB")
        .ask(
            field("PumpA", 4),
            field("PumpB", 4),
            field("PumpA", 5),
            field("PumpA", 6),
            why("PumpB", 4,
                because("The stop button was pressed", read(2, "Stop", "FALSE"), wrote(2, "PumpB", "FALSE")),
                because("Neither the start button nor the auxiliary contact conducts", wrote(2, "PumpB", "FALSE"), read(2, "Start", "FALSE"),
                    read(2, "AuxB", "FALSE"))))
        .lesson("""
            Stop stands in series behind both branches, so it dominates. After power returns the bit has its initial value, and the pump stays off until somebody \
            starts it. Without the auxiliary contact the pump runs only as long as the button is held.""");
  }
}
