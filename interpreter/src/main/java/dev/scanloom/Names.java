package dev.scanloom;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.step.Symbols;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;

/** Paths of variables: all of them, and those nearest to one that does not exist. */
final class Names {
  private static final int ELEMENTS = 1_000;
  private static final int NEAREST = 3;
  /** Names beyond this number are not compared. */
  private static final int COMPARED = 20_000;

  private Names() {}

  static List<String> all(Symbols symbols) {
    List<String> list = new ArrayList<>();
    boolean sole = symbols.roots().stream().filter(Symbols.Root::program).count() == 1;
    for (Symbols.Root r : symbols.roots()) {
      collect(r.program() && sole ? "" : r.name(), r.shape(), Address.isLocated(r.address()), list);
    }
    return List.copyOf(list);
  }

  private static void collect(String path, Shape shape, boolean located, List<String> list) {
    if (shape instanceof Shape.Composite c) {
      for (Shape.Member m : c.members()) {
        if (!m.indirect() && !m.hidden()) {
          collect(path.isEmpty() ? m.name() : path + "." + m.name(), m.shape(), m.located() != 0, list);
        }
      }
    } else if (shape instanceof Shape.Array a) {
      int n = Math.min(a.count(), ELEMENTS);
      for (int i = 0; i < n; i++) {
        StringBuilder b = new StringBuilder();
        int rest = i;
        for (int d = a.bounds().size() - 1; d >= 0; d--) {
          int[] bounds = a.bounds().get(d);
          int length = bounds[1] - bounds[0] + 1;
          b.insert(0, (d == 0 ? "" : ",") + (bounds[0] + rest % length));
          rest /= length;
        }
        collect(path + "[" + b + "]", a.element(), located, list);
      }
    } else {
      list.add(path);
    }
  }

  static List<String> nearest(List<String> known, String path) {
    String wanted = path.strip().toUpperCase(Locale.ROOT);
    int most = Math.max(1, Math.min(4, wanted.length() / 3 + 1));
    record Near(String name, int distance, int order) {}
    List<Near> all = new ArrayList<>();
    for (int i = 0; i < Math.min(known.size(), COMPARED); i++) {
      String name = known.get(i);
      String key = name.toUpperCase(Locale.ROOT);
      int d = distance(wanted, key, most);
      int dot = key.lastIndexOf('.');
      if (d > most && dot >= 0 && wanted.indexOf('.') < 0) {
        // A bare name where a path is needed.
        d = key.substring(dot + 1).equals(wanted) ? 1 : distance(wanted, key.substring(dot + 1), most - 1) + 1;
      }
      if (d <= most) {
        all.add(new Near(name, d, i));
      }
    }
    all.sort(Comparator.comparingInt(Near::distance).thenComparingInt(Near::order));
    return all.stream().limit(NEAREST).map(Near::name).toList();
  }

  /** Edit distance (Levenshtein, with swapped neighbours counted once), or something greater than {@code most}. */
  static int distance(String a, String b, int most) {
    if (Math.abs(a.length() - b.length()) > most || a.length() > 200) {
      return most + 1;
    }
    int[] before = new int[b.length() + 1];
    int[] row = new int[b.length() + 1];
    int[] next = new int[b.length() + 1];
    for (int j = 0; j <= b.length(); j++) {
      row[j] = j;
    }
    for (int i = 1; i <= a.length(); i++) {
      next[0] = i;
      for (int j = 1; j <= b.length(); j++) {
        int cost = a.charAt(i - 1) == b.charAt(j - 1) ? 0 : 1;
        int d = Math.min(Math.min(next[j - 1], row[j]) + 1, row[j - 1] + cost);
        if (i > 1 && j > 1 && a.charAt(i - 1) == b.charAt(j - 2) && a.charAt(i - 2) == b.charAt(j - 1)) {
          d = Math.min(d, before[j - 2] + 1);
        }
        next[j] = d;
      }
      int[] free = before;
      before = row;
      row = next;
      next = free;
    }
    return row[b.length()];
  }
}
