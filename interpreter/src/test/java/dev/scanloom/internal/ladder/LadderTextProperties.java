package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.HashMap;
import java.util.Map;
import java.util.Random;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;

/** The statements for a drawing do what the drawing does, scan after scan, whatever stands in the variables. */
class LadderTextProperties {
  private static final String[] NAMES = {"A", "B", "C", "Start", "Stop", "Run", "Lamp", "%IX0.3", "m[2]", "m[3]"};

  @Property(tries = 2000)
  void statementsDoWhatTheDrawingDoes(@ForAll long seed) {
    Drawing drawing = new RandomDrawings(seed).plainDrawing();
    String statements = LadderText.of(drawing).toString();
    Truth.Machine one = Truth.of(drawing);
    Truth.Machine other = Truth.of(statements);
    Random random = new Random(seed);
    Map<String, Integer> a = new HashMap<>();
    Map<String, Integer> b = new HashMap<>();
    for (int scan = 0; scan < 12; scan++) {
      for (String name : NAMES) {
        if (random.nextBoolean()) {
          int value = random.nextInt(2);
          a.put(name, value);
          b.put(name, value);
        }
      }
      one.scan(a);
      other.scan(b);
      for (String name : NAMES) {
        assertThat(b.getOrDefault(name, 0)).as(() -> name + "\n" + Graphs.text(drawing) + statements).isEqualTo(a.getOrDefault(name, 0));
      }
    }
  }
}
