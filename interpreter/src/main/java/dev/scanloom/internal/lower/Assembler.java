package dev.scanloom.internal.lower;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.HashMap;
import java.util.List;
import java.util.Map;

/** Collects the steps of all bodies, with their source map and the constant pool. */
final class Assembler {
  private int[] op = new int[1024];
  private int[] a = new int[1024];
  private int[] b = new int[1024];
  private int[] source = new int[1024];
  private int[] start = new int[1024];
  private int[] end = new int[1024];
  private int[] element = new int[1024];
  private int[] network = new int[1024];
  private int size;
  private long[] pool = new long[256];
  private int poolSize;
  private final Map<Long, Integer> constants = new HashMap<>();
  private final List<SourceText> sources = new ArrayList<>();
  private final Map<SourceText, Integer> sourceNumbers = new HashMap<>();

  int size() {
    return size;
  }

  int emit(Op operation, int x, int y, Span span, int elementId, int networkNumber) {
    if (size == op.length) {
      int n = size * 2;
      op = Arrays.copyOf(op, n);
      a = Arrays.copyOf(a, n);
      b = Arrays.copyOf(b, n);
      source = Arrays.copyOf(source, n);
      start = Arrays.copyOf(start, n);
      end = Arrays.copyOf(end, n);
      element = Arrays.copyOf(element, n);
      network = Arrays.copyOf(network, n);
    }
    op[size] = operation.ordinal();
    a[size] = x;
    b[size] = y;
    source[size] = sourceNumber(span.source());
    start[size] = span.start();
    end[size] = span.end();
    element[size] = elementId;
    network[size] = networkNumber;
    return size++;
  }

  private SourceText lastSource;
  private int lastNumber;

  private int sourceNumber(SourceText s) {
    if (s != lastSource) {
      lastSource = s;
      Integer known = sourceNumbers.putIfAbsent(s, sources.size());
      if (known == null) {
        sources.add(s);
      }
      lastNumber = known == null ? sources.size() - 1 : known;
    }
    return lastNumber;
  }

  void setA(int step, int value) {
    a[step] = value;
  }

  void setB(int step, int value) {
    b[step] = value;
  }

  int a(int step) {
    return a[step];
  }

  int b(int step) {
    return b[step];
  }

  Op op(int step) {
    return Op.values()[op[step]];
  }

  /** Index of a constant. */
  int constant(long value) {
    Integer known = constants.get(value);
    if (known == null) {
      known = run(value);
      constants.put(value, known);
    }
    return known;
  }

  /** Index of the first of several constants that stand together. */
  int run(long... values) {
    if (poolSize + values.length > pool.length) {
      pool = Arrays.copyOf(pool, Math.max(pool.length * 2, poolSize + values.length));
    }
    System.arraycopy(values, 0, pool, poolSize, values.length);
    poolSize += values.length;
    return poolSize - values.length;
  }

  void fill(Code.Builder out) {
    out.op = Arrays.copyOf(op, size);
    out.a = Arrays.copyOf(a, size);
    out.b = Arrays.copyOf(b, size);
    out.pool = Arrays.copyOf(pool, poolSize);
    out.source = Arrays.copyOf(source, size);
    out.spanStart = Arrays.copyOf(start, size);
    out.spanEnd = Arrays.copyOf(end, size);
    out.element = Arrays.copyOf(element, size);
    out.network = Arrays.copyOf(network, size);
    out.sources = sources;
  }
}
