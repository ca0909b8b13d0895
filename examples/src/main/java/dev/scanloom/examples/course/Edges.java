package dev.scanloom.examples.course;

import static dev.scanloom.examples.course.Times.ms;
import static dev.scanloom.examples.course.Times.still;
import static dev.scanloom.teach.Question.cure;
import static dev.scanloom.teach.Question.edit;
import static dev.scanloom.teach.Question.memory;
import static dev.scanloom.teach.Question.policy;
import static dev.scanloom.teach.Question.scansUntil;

import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Question;
import java.util.List;

/** An edge is a difference between two looks; who keeps the first look decides what the second one sees. */
final class Edges {
  private Edges() {}

  static List<Exercise> lessons() {
    return List.of(s07(), s08(), s09());
  }

  private static Exercise s07() {
    return Exercise.titled("Two counters, one memory").id("S07").story("""
        A turnstile counts visitors for the gate and for the shop. Both sections find the rising edge with the help of the same bit. The shop's count stays at \
        nought.""").program("""
        PROGRAM Turnstile
        VAR
          Arm AT %IX0.0 : BOOL;
          Old, Old2, Rise : BOOL;
          Gate, Shop : INT;
        END_VAR
          Rise := Arm AND NOT Old;
          Old := Arm;               (* gate *)
          IF Rise THEN Gate := Gate + 1; END_IF;
          Rise := Arm AND NOT Old;  (* shop *)
          Old := Arm;
          IF Rise THEN Shop := Shop + 1; END_IF;
        END_PROGRAM
        """)
        .at(2, "Arm", "TRUE").at(3, "Arm", "FALSE").at(4, "Arm", "TRUE").scans(5).watch("Arm", "Old", "Gate", "Shop")
        .ask(
            memory("Gate", 5),
            memory("Shop", 5),
            cure("Shop", "2", 5,
                edit("Give the shop a memory of its own", "Rise := Arm AND NOT Old;  (* shop *)\n  Old := Arm;",
                    "Rise := Arm AND NOT Old2; (* shop *)\n  Old2 := Arm;"),
                edit("Remove the gate's update of the memory", "Old := Arm;               (* gate *)", ""),
                policy("A scan every 5 ms", ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(5))))))
        .lesson("""
            Whoever comes first updates the memory, and the second finds the edge already taken. Sharing one update at the end works as well, as long as \
            nobody adds a third reader behind it: memory of one's own is the sturdier cure.""");
  }

  private static Exercise s08() {
    return Exercise.titled("One edge detector for two buttons").id("S08").story("""
        To save an instance, one R_TRIG serves both hand wheels of a lathe. Wheel A is held down, wheel B is never touched. The count of A runs away.""").program("""
        PROGRAM Lathe
        VAR
          A AT %IX0.0 : BOOL;
          B AT %IX0.1 : BOOL;
          edge, edge2 : R_TRIG;
          CountA, CountB : INT;
        END_VAR
          edge(CLK := A);
          IF edge.Q THEN CountA := CountA + 1; END_IF;
          edge(CLK := B);
          IF edge.Q THEN CountB := CountB + 1; END_IF;
        END_PROGRAM
        """)
        .at(1, "A", "TRUE").scans(5).watch("A", "B", "CountA", "CountB")
        .ask(
            memory("CountA", 1),
            memory("CountA", 5),
            memory("CountB", 5),
            cure("CountA", "1", 5,
                edit("An instance for each button", "edge(CLK := B);\n  IF edge.Q", "edge2(CLK := B);\n  IF edge2.Q"),
                edit("Call it for B first", "edge(CLK := A);\n  IF edge.Q THEN CountA := CountA + 1; END_IF;\n  edge(CLK := B);",
                    "edge(CLK := B);\n  edge(CLK := A);\n  IF edge.Q THEN CountA := CountA + 1; END_IF;"),
                policy("Read inputs immediately", still(ScanPolicy.immediate()))))
        .lesson("""
            The second call leaves B's state as the memory, so that the first call of the next scan compares A with B. One instance, one signal (IEC 61131-3, \
            Table 44: Q := CLK AND NOT M; M := CLK).""");
  }

  private static Exercise s09() {
    return Exercise.titled("The bell that rang late").id("S09").story("""
        A doorbell is counted only while the shop is open. It rings while the shop is shut, and is counted in the moment the shop opens.""").program("""
        PROGRAM Bell
        VAR
          Open   AT %IX0.0 : BOOL;
          Button AT %IX0.1 : BOOL;
          edge : R_TRIG;
          Rings : INT;
        END_VAR
          IF Open THEN
            edge(CLK := Button);
            IF edge.Q THEN Rings := Rings + 1; END_IF;
          END_IF;
        END_PROGRAM
        """)
        .at(1, "Open", "TRUE").at(2, "Open", "FALSE").at(3, "Button", "TRUE").at(5, "Open", "TRUE").scans(6).watch("Open", "Button", "Rings")
        .ask(
            memory("Rings", 4),
            memory("Rings", 5),
            scansUntil(Question.Where.MEMORY, "Rings", "1", 3),
            cure("Rings", "0", 6,
                edit("Call the block in every scan, count only while open",
                    "IF Open THEN\n    edge(CLK := Button);\n    IF edge.Q THEN", "edge(CLK := Button);\n  IF Open THEN\n    IF edge.Q THEN"),
                policy("A scan every 5 ms", ScanPolicy.image().withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(5))))))
        .lesson("The block compares with its last call, not with the last scan. Everything that happened in between is one edge, at the next call.");
  }
}
