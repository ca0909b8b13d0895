package dev.scanloom.report;

import static org.assertj.core.api.Assertions.assertThat;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.IntRange;

class EventStoreProperties {

  /** What goes in comes out, in its order, whatever pieces, templates and groups it is cut into. */
  @Property(tries = 200)
  void eventsComeBackAsTheyWere(@ForAll long seed, @ForAll @IntRange(min = 1, max = 12) int scans) {
    Random random = new Random(seed);
    EventStore store = new EventStore();
    EventStore.Log log = new EventStore.Log(store);
    List<List<String>> expected = new ArrayList<>();
    long time = 0;
    for (int s = 0; s < scans; s++) {
      log.begin(time);
      List<String> all = new ArrayList<>();
      int n = random.nextInt(400);
      for (int i = 0; i < n; i++) {
        time += random.nextInt(3) * 100L;
        int kind = random.nextInt(9);
        long where = random.nextInt(5);
        long a = EventStore.ARGUMENTS[kind] > 0 ? random.nextInt(4) : -1;
        long b = EventStore.ARGUMENTS[kind] > 1 ? random.nextInt(4) - 1 : -1;
        long c = EventStore.ARGUMENTS[kind] > 2 ? random.nextInt(6) : -1;
        long value = kind == EventStore.PHASE ? 0 : random.nextInt(3);
        switch (EventStore.ARGUMENTS[kind]) {
          case 0, 1 -> log.event0(kind, time, where, a, value);
          case 2 -> log.event2(kind, time, where, a, b, value);
          default -> log.write(time, where, a, b, c, value);
        }
        all.add(kind + " " + time + " " + a + " " + b + " " + c + " " + value);
      }
      log.end();
      expected.add(all);
      time += 1000;
    }
    for (int s = 0; s < scans; s++) {
      List<String> got = new ArrayList<>();
      log.visit(s, (kind, t, a, b, c, value) -> got.add(kind + " " + t + " " + a + " " + b + " " + c + " " + value));
      assertThat(got).isEqualTo(expected.get(s));
    }
  }
}
