package dev.scanloom.examples.sweep;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Lanes;
import dev.scanloom.Variable;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.SplittableRandom;

/**
 * How often do two versions of a program, or two policies, part? A greenhouse vent, our own: two networks in either order differ only in the scan in which
 * something changes, which no reading of the drawings shows in numbers. Each lane is one random stimulus: a new draw of all inputs before every scan.
 */
public final class Sweep {
  private static final String HEAD = "PROGRAM Vent VAR open AT %IX0.0 : BOOL; shut AT %IX0.1 : BOOL; wind AT %IX0.2 : BOOL; lamp AT %QX0.0 : BOOL;\n"
      + "  motor AT %QX0.1 : BOOL; run : BOOL; delay : TON; END_VAR\n";
  private static final String SEAL = "run := (open OR run) AND NOT shut AND NOT wind;\n";
  private static final String LAMP = "lamp := run;\n";
  private static final String MOTOR = "delay(IN := run, PT := T#20ms); motor := delay.Q;\n";

  static final String SEAL_FIRST = HEAD + SEAL + LAMP + MOTOR + "END_PROGRAM";
  static final String LAMP_FIRST = HEAD + LAMP + SEAL + MOTOR + "END_PROGRAM";
  static final List<String> INPUTS = List.of("open", "shut", "wind");
  static final List<String> OUTPUTS = List.of("lamp", "motor");
  /** Lanes that are in memory at a time. */
  private static final int BATCH = 4_096;

  /** Scans every 10 ms that take no time. */
  static final ScanPolicy IMAGE = ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero());

  private Sweep() {}

  /** A program under a policy. */
  record Side(CompiledProgram program, ScanPolicy policy) {
    static Side of(String text, ScanPolicy policy) {
      return new Side(Compiler.standard().compile("vent.st", text).orThrow(), policy);
    }
  }

  /**
   * What came of it.
   *
   * @param parted stimuli in which an output terminal differed after some scan
   * @param partedAtEnd those in which one differed after the last scan
   * @param first number of the stimulus that parted in the earliest scan, of the first 4,096 in which one did; -1 for none
   * @param firstScan scan, from 1, in which it did
   */
  record Result(int stimuli, int scans, int parted, int partedAtEnd, int first, int firstScan) {
    @Override
    public String toString() {
      return String.format(Locale.ROOT, "%d stimuli of %d scans: %d part (%.2f %%), %d of them still at the end%s", stimuli, scans, parted,
          100.0 * parted / stimuli, partedAtEnd, first < 0 ? "" : "; first: stimulus " + first + " in scan " + firstScan);
    }
  }

  static Result compare(Side a, Side b, int stimuli, int scans, long seed) {
    int parted = 0;
    int atEnd = 0;
    int first = -1;
    int firstScan = 0;
    for (int from = 0; from < stimuli; from += BATCH) {
      int lanes = Math.min(BATCH, stimuli - from);
      Lanes x = a.program.newLanes(lanes, a.policy);
      Lanes y = b.program.newLanes(lanes, b.policy);
      long[] ever = new long[x.groups()];
      long[] last = new long[x.groups()];
      for (int scan = 1; scan <= scans; scan++) {
        for (int g = 0; g < x.groups(); g++) {
          SplittableRandom random = new SplittableRandom(seed + 1_000_003L * (from / 64 + g) + scan);
          for (String name : INPUTS) {
            long word = random.nextLong() & random.nextLong();
            x.setFieldWord(a.program.bool(name), g, word);
            y.setFieldWord(b.program.bool(name), g, word);
          }
        }
        x.scan();
        y.scan();
        Arrays.fill(last, 0);
        for (String name : OUTPUTS) {
          Variable.Bool p = a.program.bool(name);
          Variable.Bool q = b.program.bool(name);
          for (int g = 0; g < x.groups(); g++) {
            last[g] |= x.fieldWord(p, g) ^ y.fieldWord(q, g);
          }
        }
        for (int g = 0; g < last.length; g++) {
          if (first < 0 && last[g] != 0) {
            first = from + 64 * g + Long.numberOfTrailingZeros(last[g]);
            firstScan = scan;
          }
          ever[g] |= last[g];
        }
      }
      for (int g = 0; g < ever.length; g++) {
        parted += Long.bitCount(ever[g]);
        atEnd += Long.bitCount(last[g]);
      }
    }
    return new Result(stimuli, scans, parted, atEnd, first, firstScan);
  }

  /** Argument: how many stimuli; 100,000 without. */
  public static void main(String[] args) {
    int n = args.length == 0 ? 100_000 : Integer.parseInt(args[0]);
    Side sealFirst = Side.of(SEAL_FIRST, IMAGE);
    System.out.println("two orders of the networks: " + compare(sealFirst, Side.of(LAMP_FIRST, IMAGE), n, 20, 1));
    Side asynchronous = Side.of(SEAL_FIRST, ScanPolicy.asynchronous(Duration.ofMillis(7)).withTrigger(IMAGE.trigger()).withCosts(IMAGE.costs()));
    System.out.println("image and asynchronous inputs and outputs: " + compare(sealFirst, asynchronous, n / 10, 20, 1));
    System.out.println("how the two ran: " + sealFirst.program.newLanes(1, sealFirst.policy).executionInUse() + " | "
        + asynchronous.program.newLanes(1, asynchronous.policy).executionInUse());
  }
}
