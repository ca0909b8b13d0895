package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.file.Files;
import java.nio.file.Path;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.Timeout;
import org.junit.jupiter.api.io.TempDir;

class RunTest {
  @TempDir Path folder;

  private static final String TYPES = """
      TYPE Mode : (Idle, Drying := 5, Cooling); END_TYPE
      TYPE Load : STRUCT Moisture : REAL; Bins : ARRAY [1..3] OF INT; END_STRUCT; END_TYPE
      PROGRAM Main
      VAR
        b : BOOL; i : INT := -7; u : UDINT := 4000000000; r : REAL := 0.1; l : LREAL := 1.0E25; w : WORD := 16#A5;
        t : TIME := T#1h30m; d : DATE := D#2024-02-29; s : STRING[20] := 'it$'s, 5$$'; m : Mode := Mode#Drying; g : Load; e : TON;
      END_VAR
        b := NOT b; g.Moisture := 14.5; g.Bins[2] := g.Bins[2] + 1; e(IN := TRUE, PT := T#20ms);
      END_PROGRAM
      """;

  /** Text of reals: shortest that reads back (as java.lang.Double#toString of JDK 19 and later documents it); durations, dates: IEC 61131-3, Tables 8 and 9. */
  @Test
  void printsEveryTypeAsALiteral() {
    String st = Cli.file(folder, "types.st", TYPES);
    Cli cli = Cli.run("run", st, "--scans", "3", "--period", "10ms", "--watch", "b,i,u,r,l,w,t,d,s,m,g.Moisture,g.Bins[2],e.Q,e.ET");
    assertThat(cli.err()).isEmpty();
    assertThat(cli.out()).isEqualTo("""
        scan,time_ms,b,i,u,r,l,w,t,d,s,m,g.Moisture,g.Bins[2],e.Q,e.ET
        1,0,TRUE,-7,4000000000,0.1,1.0E25,16#A5,T#1h30m,D#2024-02-29,"'it$'s, 5$$'",Drying,14.5,1,FALSE,T#0s
        2,10,FALSE,-7,4000000000,0.1,1.0E25,16#A5,T#1h30m,D#2024-02-29,"'it$'s, 5$$'",Drying,14.5,2,FALSE,T#10ms
        3,20,TRUE,-7,4000000000,0.1,1.0E25,16#A5,T#1h30m,D#2024-02-29,"'it$'s, 5$$'",Drying,14.5,3,TRUE,T#20ms
        """);
    assertThat(cli.code()).isZero();
  }

  /** scan-model.md section 5, worked out by hand: under image inputs the permit stays off, under immediate inputs it comes on. */
  @Test
  void referenceCase() {
    String[] common = {"run", Cli.shipped("dryer.st"), "--scans", "3", "--period", "T#10ms", "--inputs", Cli.shipped("inputs.csv"), "--watch",
        "Door,DoorLamp,Permit,%IX0.0,%QX0.1", "--policy"};
    assertThat(Cli.run(plus(common, "image")).out()).isEqualTo("""
        scan,time_ms,Door,DoorLamp,Permit,%IX0.0,%QX0.1
        1,0,FALSE,TRUE,FALSE,FALSE,FALSE
        2,10,FALSE,TRUE,FALSE,FALSE,FALSE
        3,20,FALSE,TRUE,FALSE,FALSE,FALSE
        """);
    assertThat(Cli.run(plus(common, "immediate")).out()).isEqualTo("""
        scan,time_ms,Door,DoorLamp,Permit,%IX0.0,%QX0.1
        1,0,TRUE,TRUE,TRUE,TRUE,TRUE
        2,10,TRUE,TRUE,TRUE,TRUE,TRUE
        3,20,TRUE,TRUE,TRUE,TRUE,TRUE
        """);
  }

  /** By hand: Slow opens the valve, works for more than 10 ms and closes it; Fast looks in between only if it may interrupt, and sees it in a shared image only. */
  @Test
  void tasksInterruptEachOtherAndHaveImagesOfTheirOwnIfAsked() {
    String st = Cli.file(folder, "silo.st", """
        CONFIGURATION Silo
          VAR_GLOBAL Gate AT %IX0.0 : BOOL; Valve AT %QX0.0 : BOOL; Seen : BOOL; Runs : DINT; END_VAR
          TASK Fast(INTERVAL := T#10ms, PRIORITY := 1);
          TASK Slow(INTERVAL := T#1s, PRIORITY := 5);
          PROGRAM f WITH Fast : FastProgram;
          PROGRAM s WITH Slow : SlowProgram;
        END_CONFIGURATION
        PROGRAM FastProgram
        VAR_EXTERNAL Valve, Seen : BOOL; Runs : DINT; END_VAR
          Runs := Runs + 1; Seen := Seen OR Valve;
        END_PROGRAM
        PROGRAM SlowProgram
        VAR_EXTERNAL Valve : BOOL; END_VAR
        VAR i : DINT; END_VAR
          Valve := TRUE; FOR i := 1 TO 30000 DO ; END_FOR; Valve := FALSE;
        END_PROGRAM
        """);
    String[][] choices = {{}, {"--process-image", "per-task"}, {"--task-switching", "preemptive"}, {"--task-switching", "preemptive", "--process-image", "per-task"}};
    String[] seen = {"FALSE", "FALSE", "TRUE", "FALSE"};
    for (int i = 0; i < choices.length; i++) {
      String[] all = {"run", st, "--scans", "1", "--watch", "Valve,Seen"};
      for (String c : choices[i]) {
        all = plus(all, c);
      }
      Cli cli = Cli.run(all);
      assertThat(cli.err()).isEmpty();
      assertThat(cli.out()).as(String.join(" ", choices[i])).isEqualTo("scan,time_ms,Valve,Seen\n1,0,FALSE," + seen[i] + "\n");
    }
    Cli wrong = Cli.run("run", st, "--scans", "1", "--process-image", "own");
    assertThat(wrong.code()).isEqualTo(ExitCode.USAGE);
    assertThat(wrong.err()).contains("--process-image: 'own' is no choice; expected shared or per-task");
    assertThat(Cli.run("run", st, "--scans", "1", "--task-switching", "yes").err()).contains("expected non-preemptive or preemptive");
  }

  private static String[] plus(String[] all, String last) {
    String[] more = java.util.Arrays.copyOf(all, all.length + 1);
    more[all.length] = last;
    return more;
  }

  @Test
  void withoutNetworkTwoThePoliciesAgree() {
    String first = null;
    for (String policy : new String[] {"image", "immediate", "asynchronous:1ms"}) {
      Cli cli = Cli.run("run", Cli.shipped("dryer-without-network-2.st"), "--scans", "3", "--inputs", Cli.shipped("inputs.csv"), "--watch", "Door,DoorLamp,Permit",
          "--policy", policy);
      assertThat(cli.code()).isZero();
      first = first == null ? cli.out() : first;
      assertThat(cli.out()).as(policy).isEqualTo(first).contains("3,20,TRUE,TRUE,TRUE");
    }
  }

  /** Rows apply before the scan they name; an empty cell changes nothing; a variable that is no input is written from outside between scans. */
  @Test
  void inputsApplyBeforeTheirScan() {
    String st = Cli.file(folder, "p.st", """
        PROGRAM Main
        VAR in AT %IX1.0 : BOOL; level : INT; seen : BOOL; doubled : INT; END_VAR
          seen := in; doubled := 2 * level;
        END_PROGRAM
        """);
    String csv = Cli.file(folder, "in.csv", "scan,in,level\n2,TRUE,\n3,,21\n5,FALSE,-4\n");
    Cli cli = Cli.run("run", st, "--scans", "5", "--period", "1s", "--inputs", csv, "--watch", "seen,doubled");
    assertThat(cli.out()).isEqualTo("""
        scan,time_ms,seen,doubled
        1,0,FALSE,0
        2,1000,TRUE,0
        3,2000,TRUE,42
        4,3000,TRUE,42
        5,4000,FALSE,-8
        """);
  }

  @Test
  void faultEndsTheRunWithTheRowsSoFar() {
    String st = Cli.file(folder, "f.st", """
        PROGRAM Main
        VAR n : INT := 2; q : INT; END_VAR
          n := n - 1;
          q := 10 / n;
        END_PROGRAM
        """);
    Cli cli = Cli.run("run", st, "--scans", "5", "--watch", "n,q");
    assertThat(cli.code()).isEqualTo(3);
    assertThat(cli.out()).isEqualTo("scan,time_ms,n,q\n1,0,1,10\n");
    assertThat(cli.err()).startsWith(st + ":4:").contains(": fault: ").endsWith("\n").hasLineCount(1);
  }

  @Test
  void errorsOfTheProgramComeWithTheirPlace() {
    String st = Cli.file(folder, "e.st", "PROGRAM Main\nVAR a : INT; END_VAR\n  a := TRUE;\n  b := 1;\nEND_PROGRAM\n");
    Cli cli = Cli.run("run", st, "--scans", "1");
    assertThat(cli.code()).isEqualTo(1);
    assertThat(cli.out()).isEmpty();
    assertThat(cli.err()).contains(st + ":3:8: error: ").contains(st + ":4:3: error: ");
  }

  private void refuses(String message, String... arguments) {
    Cli cli = Cli.run(arguments);
    assertThat(cli.err()).isEqualTo("scanloom: " + message + "\n");
    assertThat(cli.code()).isEqualTo(2);
    assertThat(cli.out()).isEmpty();
  }

  @Test
  void refusesFilesThatAreNoProgram() throws Exception {
    String none = folder.resolve("none.st").toString();
    String empty = Cli.file(folder, "empty.st", "");
    String binary = Cli.file(folder, "b.st", "PROGRAM\0");
    String latin = folder.resolve("l.st").toString();
    Files.write(Path.of(latin), new byte[] {'(', '*', (byte) 0xE4, '*', ')'});
    for (String command : new String[] {"run", "check", "why"}) {
      String[] more = command.equals("run") ? new String[] {"--scans", "1"} : command.equals("why") ? new String[] {"--scan", "1", "x"} : new String[0];
      refuses(none + ": no such file", with(command, none, more));
      refuses(folder + ": a directory; expected a program text", with(command, folder.toString(), more));
      refuses(empty + ": the file is empty; expected a program text", with(command, empty, more));
      refuses(binary + ": a binary file (byte 0 at offset 7); expected a program text", with(command, binary, more));
      refuses(latin + ": a binary file (no UTF-8 at offset 2); expected a program text", with(command, latin, more));
    }
  }

  private static String[] with(String command, String file, String[] more) {
    String[] all = new String[2 + more.length];
    all[0] = command;
    all[1] = file;
    System.arraycopy(more, 0, all, 2, more.length);
    return all;
  }

  @Test
  void refusesStimuliThatAreNone() {
    String st = Cli.file(folder, "p.st", "PROGRAM Main\nVAR Level : INT; Door : BOOL; END_VAR\nEND_PROGRAM\n");
    String[][] cases = {
        {"", ": the file is empty; expected CSV with the header scan,Name1,Name2"},
        {"\n\n", ":1: no header; expected scan,Name1,Name2"},
        {"Level,scan\n1,2\n", ":1: the header begins with 'Level'; expected scan,Name1,Name2"},
        {"scan,Level,\n", ":1: column 3 of the header has no name"},
        {"scan,Level,level\n", ":1: Level stands in columns 2 and 3"},
        {"scan,Level\n1,2\n2,3,4\n", ":3: 3 cells, the header has 2"},
        {"scan,Level\n1\n", ":2: 1 cell, the header has 2"},
        {"scan,Level\nx,2\n", ":2: 'x' is no scan number; expected 1 or more"},
        {"scan,Level\n0,2\n", ":2: scan 0; scans count from 1"},
        {"scan,Level\n3,2\n2,2\n", ":3: scan 2 stands after scan 3; expected rows in rising order, one per scan"},
        {"scan,Level\n1,2\n2,\"3\n3,4\n", ":3: a quoted cell begins on this line and never ends"}};
    for (String[] c : cases) {
      String csv = Cli.file(folder, "in.csv", c[0]);
      refuses(csv + c[1], "run", st, "--scans", "1", "--inputs", csv);
    }
    String csv = Cli.file(folder, "in.csv", "scan,Level\n1,2\n2,TRUE\n");
    Cli wrong = Cli.run("run", st, "--scans", "1", "--inputs", csv);
    assertThat(wrong.code()).isEqualTo(2);
    assertThat(wrong.err()).startsWith("scanloom: " + csv + ":3: Level: ").contains("INT");
    csv = Cli.file(folder, "in.csv", "scan,Lewel\n1,2\n");
    Cli unknown = Cli.run("run", st, "--scans", "1", "--inputs", csv);
    assertThat(unknown.code()).isEqualTo(2);
    assertThat(unknown.err()).startsWith("scanloom: " + csv + ":1: ").contains("Lewel").contains("Level");
    String nothing = folder.resolve("none.csv").toString();
    refuses(nothing + ": no such file", "run", st, "--scans", "1", "--inputs", nothing);
  }

  @Test
  void refusesOptionsThatCannotBe() {
    String st = Cli.file(folder, "p.st", "PROGRAM Main\nVAR Level : INT; END_VAR\nEND_PROGRAM\n");
    refuses("--scans: 0; expected 1 or more", "run", st, "--scans", "0");
    refuses("--scans: 'ten' is no whole number; expected 1 or more", "run", st, "--scans", "ten");
    refuses("--period: 0ms is zero; expected a duration greater than zero", "run", st, "--scans", "1", "--period", "0ms");
    refuses("--period: -1ms is negative; expected a duration greater than zero", "run", st, "--scans", "1", "--period=-1ms");
    refuses("--policy: 'often' is no policy; expected image, immediate or asynchronous:PERIOD[:PHASE[:JITTER]]", "run", st, "--scans", "1", "--policy", "often");
    refuses("--policy: asynchronous needs a period; expected image, immediate or asynchronous:PERIOD[:PHASE[:JITTER]]", "run", st, "--scans", "1", "--policy",
        "asynchronous");
    refuses("--policy: 0ms is zero; expected a duration greater than zero", "run", st, "--scans", "1", "--policy", "asynchronous:0ms");
    refuses("--seed: 'x' is no whole number", "run", st, "--scans", "1", "--seed", "x");
    Cli unknown = Cli.run("run", st, "--scans", "1", "--watch", "Lewel");
    assertThat(unknown.code()).isEqualTo(2);
    assertThat(unknown.err()).startsWith("scanloom: --watch: ").contains("Lewel").contains("Level");
    Cli missing = Cli.run("run", st);
    assertThat(missing.code()).isEqualTo(2);
    assertThat(missing.err()).contains("--scans").contains("Try 'scanloom run --help'.");
    assertThat(Cli.run().code()).isEqualTo(2);
  }

  @Test
  void twoProgramsNeedAChoice() {
    String st = Cli.file(folder, "two.st", """
        PROGRAM One VAR x : INT := 1; END_VAR END_PROGRAM
        PROGRAM Two VAR x : INT := 2; END_VAR END_PROGRAM
        """);
    Cli none = Cli.run("run", st, "--scans", "1", "--watch", "x");
    assertThat(none.code()).isIn(1, 2);
    assertThat(none.err()).contains("One").contains("Two");
    Cli two = Cli.run("run", st, "--scans", "1", "--watch", "x", "--program", "Two");
    assertThat(two.err()).isEmpty();
    assertThat(two.out()).isEqualTo("scan,time_ms,x\n1,0,2\n");
    Cli three = Cli.run("run", st, "--scans", "1", "--program", "Three");
    assertThat(three.code()).isIn(1, 2);
    assertThat(three.err()).contains("Three");
  }

  @Test
  void whatIsPrintedIsInert() {
    String escape = "\u001b[31m";
    String st = Cli.file(folder, "evil.st", "PROGRAM Main\nVAR s : STRING := 'x" + escape + "=1+1'; END_VAR\n  y" + escape + " := 1;\nEND_PROGRAM\n");
    Cli check = Cli.run("check", st);
    assertThat(check.code()).isEqualTo(1);
    assertThat(check.err() + check.out()).doesNotContain("\u001b");
    Cli json = Cli.run("check", st, "--format", "jsonl");
    assertThat(json.out()).doesNotContain("\u001b").isNotEmpty();
    Cli option = Cli.run("run", st, "--" + escape);
    assertThat(option.err()).doesNotContain("\u001b");
    Cli watch = Cli.run("run", Cli.shipped("dryer.st"), "--scans", "1", "--watch", "=cmd" + escape);
    assertThat(watch.err()).doesNotContain("\u001b").startsWith("scanloom: --watch: ");
  }

  /** 100,000 scans take seconds; the rows are streamed, so that memory does not grow with them. */
  @Test
  @Timeout(60)
  void aHundredThousandScansTakeSeconds() {
    Cli cli = Cli.run("run", Cli.shipped("dryer.st"), "--scans", "100000", "--period", "10ms", "--inputs", Cli.shipped("inputs.csv"), "--watch", "Door,Permit");
    assertThat(cli.code()).isZero();
    assertThat(cli.out()).endsWith("\n100000,999990,FALSE,FALSE\n").hasLineCount(100_001);
  }

  @Test
  void helpAndVersion() {
    assertThat(Cli.run("--version").out()).matches("scanloom \\d+\\.\\d+\\.\\d+\\S*\n");
    for (String command : new String[] {"run", "check", "compare", "why", "show"}) {
      Cli help = Cli.run(command, "--help");
      assertThat(help.code()).as(command).isZero();
      assertThat(help.out()).as(command).contains("Usage: scanloom " + command).contains("FILE").doesNotContain("\u001b");
    }
  }
}
