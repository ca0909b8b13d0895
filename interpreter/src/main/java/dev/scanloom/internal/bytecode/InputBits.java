package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.TreeMap;
import java.util.TreeSet;

/**
 * Words of the input area whose bits are laid out as slots, one a bit, before a body runs: bodies with many contacts read them as they read variables, with one
 * instruction and straight from memory. Worth it for words whose bits are read often; only where inputs cannot change while the body runs.
 */
final class InputBits {
  static final int BITS = 64;
  /** How often each bit of a word that is used must be read on average. */
  private static final int READS = 2;
  private static final int LEAST_READS = 64;

  private final Code code;
  private final boolean constant;
  /** By address of a word: where its bits lie, in the order in which words were met. */
  private final TreeMap<Long, Integer> places = new TreeMap<>();
  private final List<Integer> bytes = new ArrayList<>();

  InputBits(Code code, boolean watchesReads) {
    this.code = code;
    this.constant = !watchesReads && isConstant(code);
  }

  /** Inputs are written by no step, neither by name nor through an address of theirs. */
  private static boolean isConstant(Code code) {
    boolean addresses = false;
    boolean anywhere = false;
    for (int pc = 0; pc < code.length(); pc++) {
      switch (Blocks.op(code, pc)) {
        case STORE_LOCATED -> {
          if (Address.area(code.pool[code.a[pc]]) == 1) {
            return false;
          }
        }
        case CONST -> {
          long v = code.pool[code.a[pc]];
          addresses |= Address.isLocated(v) && Address.area(v) == 1;
        }
        case STORE_INDIRECT, COPY, NATIVE, TEXT_COPY, TEXT_CONVERT, TEXT_OF_CHAR, CHAR_PUT -> anywhere = true;
        default -> {
          // writes nothing, or a slot
        }
      }
    }
    return !(addresses && anywhere);
  }

  /** Words whose bits a body reads from slots: numbers for {@link #place}. */
  int[] wordsOf(Code.Body body) {
    if (!constant) {
      return new int[0];
    }
    TreeMap<Long, TreeSet<Integer>> bits = new TreeMap<>();
    TreeMap<Long, Integer> reads = new TreeMap<>();
    for (int pc = body.start(); pc < body.end(); pc++) {
      if (Blocks.op(code, pc) == Op.LOAD_LOCATED && Rep.width(code.b[pc]) == 1) {
        long address = code.pool[code.a[pc]];
        long word = Rep.wordOf(address);
        if (Address.area(address) == 1 && (Address.bit(word) >>> 3) + 8 <= code.memory().areaBytes()[0]) {
          bits.computeIfAbsent(word, k -> new TreeSet<>()).add((int) (Address.bit(address) & 63));
          reads.merge(word, 1, Integer::sum);
        }
      }
    }
    return reads.entrySet().stream().filter(e -> e.getValue() >= LEAST_READS && e.getValue() >= READS * bits.get(e.getKey()).size())
        .mapToInt(e -> number(e.getKey())).toArray();
  }

  private int number(long word) {
    return places.computeIfAbsent(word, k -> {
      bytes.add((int) (Address.bit(word) >>> 3));
      return bytes.size() - 1;
    });
  }

  /** Slot of a bit, if it belongs to one of the words; else -1. */
  int place(long address, int[] words) {
    Integer n = places.get(Rep.wordOf(address));
    return n == null || Arrays.stream(words).noneMatch(w -> w == n) ? -1 : n * BITS + (int) (Address.bit(address) & 63);
  }

  /** Where in the area the words begin, in bytes. */
  int[] bytes() {
    return bytes.stream().mapToInt(Integer::intValue).toArray();
  }
}
