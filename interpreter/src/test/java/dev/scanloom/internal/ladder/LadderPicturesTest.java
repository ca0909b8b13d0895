package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.function.Supplier;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;

/**
 * The pictures: read into the graphs that their files state, without a diagnostic; those without boxes also do what their ST does, for all
 * values of their variables in two activations one after the other. Source: IEC 61131-3:2013, Tables 73 to 76 (from memory).
 */
class LadderPicturesTest {
  static List<Cases.Case> pictures() {
    return Cases.in("pictures");
  }

  static List<Cases.Case> withoutBoxes() {
    return pictures().stream().filter(c -> c.all("graph").stream().noneMatch(g -> g.contains(" box "))).toList();
  }

  @ParameterizedTest
  @MethodSource("pictures")
  void readsIntoItsGraph(Cases.Case c) {
    Cases.Result r = Cases.read(c.drawing());
    assertThat(r.diagnostics()).isEmpty();
    assertThat(Graphs.text(r.drawing()).strip().lines().map(String::strip).toList()).isEqualTo(c.all("graph"));
  }

  @Test
  void thereAreTwentySixPictures() {
    assertThat(pictures()).hasSize(26);
    assertThat(withoutBoxes()).hasSize(18);
  }

  @ParameterizedTest
  @MethodSource("withoutBoxes")
  void doesWhatItsStatementsDo(Cases.Case c) {
    Drawing drawing = Cases.read(c.drawing()).drawing();
    String statements = c.all("meaning").get(0);
    assertSame(() -> Truth.of(drawing), () -> Truth.of(statements), statements);
  }

  static void assertSame(Supplier<Truth.Machine> one, Supplier<Truth.Machine> other, String statements) {
    List<String> names = new ArrayList<>(Truth.names(statements));
    List<Map<String, Integer>> values = assignments(names);
    for (Map<String, Integer> first : values) {
      for (Map<String, Integer> second : values) {
        Map<String, Integer> a = new HashMap<>(first);
        Map<String, Integer> b = new HashMap<>(first);
        Truth.Machine m = one.get();
        Truth.Machine n = other.get();
        m.scan(a);
        n.scan(b);
        assertThat(a).as("after the first scan with %s", first).isEqualTo(b);
        a.putAll(second);
        b.putAll(second);
        m.scan(a);
        n.scan(b);
        assertThat(a).as("after a second scan with %s", second).isEqualTo(b);
      }
    }
  }

  /** Levels and temperatures take the values around the limits in the pictures, everything else FALSE and TRUE. */
  private static List<Map<String, Integer>> assignments(List<String> names) {
    List<Map<String, Integer>> all = new ArrayList<>();
    all.add(new HashMap<>());
    for (String name : names) {
      int[] values = name.equals("Temp") ? new int[] {79, 80} : name.equals("Level") ? new int[] {19, 20} : new int[] {0, 1};
      List<Map<String, Integer>> more = new ArrayList<>();
      for (Map<String, Integer> m : all) {
        for (int v : values) {
          Map<String, Integer> copy = new HashMap<>(m);
          copy.put(name, v);
          more.add(copy);
        }
      }
      all = more;
    }
    return all;
  }
}
