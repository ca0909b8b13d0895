package dev.scanloom.benchmarks;

import java.util.SplittableRandom;

/** 256 rows of 256 inputs, made before anything is measured: about one input in eight changes from a row to the next, as switches do. */
final class Stimulus {
  static final int ROWS = 256;
  static final int INPUTS = 256;

  /** By row, four words of 64 inputs. */
  final long[][] words = new long[ROWS][4];
  final boolean[][] bits = new boolean[ROWS][INPUTS];
  final int[][] ints = new int[ROWS][INPUTS];

  Stimulus() {
    SplittableRandom random = new SplittableRandom(20_261_125);
    long[] now = {random.nextLong(), random.nextLong(), random.nextLong(), random.nextLong()};
    for (int r = 0; r < ROWS; r++) {
      for (int w = 0; w < 4; w++) {
        now[w] ^= random.nextLong() & random.nextLong() & random.nextLong();
        words[r][w] = now[w];
        for (int b = 0; b < 64; b++) {
          boolean bit = (now[w] >>> b & 1) != 0;
          bits[r][64 * w + b] = bit;
          ints[r][64 * w + b] = bit ? 1 : 0;
        }
      }
    }
  }

  /** The first 16 inputs of a row as a number. */
  int word(int row) {
    return (int) words[row][0] & 0xFFFF;
  }
}
