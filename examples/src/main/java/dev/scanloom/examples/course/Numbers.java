package dev.scanloom.examples.course;

import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.edit;
import static dev.scanloom.teach.Question.field;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.stopsAtLine;
import static dev.scanloom.teach.Question.stopsInScan;

import dev.scanloom.Compiler;
import dev.scanloom.policy.Limits;
import dev.scanloom.teach.Exercise;
import java.util.List;

/** Numbers have limits, and so have loops. */
final class Numbers {
  private Numbers() {}

  static List<Exercise> lessons() {
    return List.of(s25(), s26(), s27(), s33(), s36());
  }

  private static Exercise s25() {
    return Exercise.titled("One too far").id("S25").story("""
        A weigher keeps its last readings in a list of three. In each scan it stores one more.""").program("""
        PROGRAM Weigher
        VAR
          List : ARRAY[1..3] OF INT;
          Next : INT;
          Beside : INT := 77;
        END_VAR
          Next := Next + 1;
          List[Next] := 100;
        END_PROGRAM
        """).scans(6).watch("Next", "List[3]", "Beside")
        .ask(
            memory("List[3]", 3),
            memory("Beside", 3),
            stopsInScan(),
            stopsAtLine())
        .lesson("An index outside its bounds is a fault with the index, the bounds and the place. It never writes to a neighbour, and the controller stops at that step.");
  }

  private static Exercise s26() {
    return Exercise.titled("The total that turned negative").id("S26").story("""
        A flow totalizer adds 3 litres per scan to an INT that is nearly full.""").program("""
        PROGRAM Flow
        VAR
          Total : INT := 32_760;
          Long  : DINT := 32_760;
        END_VAR
          Total := Total + 3;
          Long := Long + 3;
        END_PROGRAM
        """).scans(4).watch("Total", "Long")
        .ask(
            memory("Total", 2),
            memory("Total", 3),
            memory("Long", 3),
            stopsInScan())
        .lesson("""
            INT ends at 32767. What comes behind it is left to the implementer by the standard: here it wraps round to the lowest value, without a word; a stricter \
            profile makes it a fault. Choose the type for the sum of a year, not of a day.""");
  }

  private static Exercise s27() {
    return Exercise.titled("Ten tenths").id("S27").story("""
        A doser adds a tenth of a litre ten times and waits for exactly one litre.""").program("""
        PROGRAM Doser
        VAR
          Litres : REAL;
          i : INT;
          Exact, Near : BOOL;
        END_VAR
          Litres := 0.0;
          FOR i := 1 TO 10 DO
            Litres := Litres + 0.1;
          END_FOR;
          Exact := Litres = 1.0;
          Near := ABS(Litres - 1.0) < 0.001;
        END_PROGRAM
        """).scans(1).watch("Litres", "Exact", "Near")
        .ask(
            memory("Exact", 1),
            memory("Near", 1),
            cure("Exact", "TRUE", 1,
                edit("Compare with a tolerance", "Exact := Litres = 1.0;", "Exact := ABS(Litres - 1.0) < 0.001;"),
                edit("Add a tenth eight times, then a fifth", "1 TO 10 DO\n    Litres := Litres + 0.1;\n  END_FOR;",
                    "1 TO 8 DO\n    Litres := Litres + 0.1;\n  END_FOR;\n  Litres := Litres + 0.2;"),
                edit("Add a quarter four times", "1 TO 10 DO\n    Litres := Litres + 0.1;", "1 TO 4 DO\n    Litres := Litres + 0.25;")))
        .lesson("""
            0.1 has no exact binary form, and every addition rounds (IEEE 754). A quarter has one, so four of them are exactly one. Compare reals with a \
            tolerance, or count in whole units.""");
  }

  private static Exercise s33() {
    return Exercise.titled("The loop that did not end").id("S33").story("""
        A sorter looks for the first free slot. In scan 3 there is none. The controller allows 5000 steps per scan.""").program("""
        PROGRAM Sorter
        VAR
          FullUp : BOOL;
          Fan AT %QX0.0 : BOOL;
          n : DINT;
        END_VAR
          Fan := TRUE;
          WHILE FullUp DO
            n := n + 1;
          END_WHILE;
        END_PROGRAM
        """).compiler(Compiler.standard().withLimits(Limits.standard().withStepsPerScan(5_000))).at(3, "FullUp", "TRUE").scans(5).watch("FullUp", "Fan", "n")
        .ask(
            field("Fan", 2),
            stopsInScan())
        .lesson("""
            A scan that takes too long trips the watchdog: a fault at the very step that exceeded the budget, and outputs go to their safe values. A loop needs a \
            bound that does not depend on data from outside.""");
  }

  private static Exercise s36() {
    return Exercise.titled("Questions that change things").id("S36").story("""
        A function answers whether a part is good, and counts how often it was asked. Its answers are joined by AND and OR.""").program("""
        VAR_GLOBAL Asked : INT; END_VAR

        FUNCTION Good : BOOL
        VAR_INPUT Part : BOOL; END_VAR
        VAR_EXTERNAL Asked : INT; END_VAR
          Asked := Asked + 1;
          Good := Part;
        END_FUNCTION

        PROGRAM Check
        VAR Both, Any : BOOL; END_VAR
          Both := Good(FALSE) AND Good(TRUE);
          Any := Good(TRUE) OR Good(FALSE);
        END_PROGRAM
        """).scans(2).watch("Asked", "Both", "Any")
        .ask(
            memory("Both", 1),
            memory("Any", 1),
            memory("Asked", 1),
            memory("Asked", 2))
        .lesson("""
            Whether AND looks at its second operand when the first one is FALSE already is left to the implementer by the standard. Here both are evaluated; another \
            profile asks only twice per scan. A condition that changes something is a trap on every controller.""");
  }
}
