package dev.scanloom.observe;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatIllegalArgumentException;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import java.util.EnumSet;
import org.junit.jupiter.api.Test;

/** What a trace keeps, by events made by hand. */
class TraceTest {

  /** An event whose numbers all follow from one. */
  private record Made(EventKind kind, long scan, int n) implements Event {
    @Override
    public long ordinal() {
      return n + 1;
    }

    @Override
    public long time() {
      return n * 10L;
    }

    @Override
    public int task() {
      return n % 3 - 1;
    }

    @Override
    public int step() {
      return n + 2;
    }

    @Override
    public long address() {
      return 1L << 62 | n;
    }

    @Override
    public int width() {
      return 1 << n % 7;
    }

    @Override
    public long before() {
      return -n;
    }

    @Override
    public long after() {
      return n * 3L;
    }

    @Override
    public Source source() {
      return Source.values()[n % 6];
    }

    @Override
    public int element() {
      return n - 1;
    }

    @Override
    public boolean test() {
      return n % 2 == 0;
    }

    @Override
    public boolean power() {
      return n % 4 == 0;
    }

    @Override
    public Phase phase() {
      return Phase.values()[n % 4];
    }

    @Override
    public String detail() {
      return n % 5 == 0 ? "word " + n % 10 : "";
    }

    @Override
    public long operand(int fromTop) {
      return 100L * n + fromTop;
    }
  }

  private static EventKind kind(int n) {
    return EventKind.values()[n % EventKind.values().length];
  }

  @Test
  void everythingComesBack() {
    Trace t = Trace.whole();
    for (int n = 0; n < 500; n++) {
      t.on(new Made(kind(n), 1 + n / 50, n));
    }
    assertThat(t.size()).isEqualTo(500);
    for (int n = 0; n < 500; n++) {
      Event e = t.get(n);
      Made m = new Made(kind(n), 1 + n / 50, n);
      boolean step = e.kind() == EventKind.STEP;
      assertThat(e).usingRecursiveComparison().ignoringFields("first", "second").isNotNull();
      assertThat(new Object[] {e.kind(), e.scan(), e.ordinal(), e.time(), e.task(), e.step(), e.address(), e.width(), e.source(), e.element(), e.test(),
          e.power(), e.phase(), e.detail()})
          .containsExactly(m.kind(), m.scan(), m.ordinal(), m.time(), m.task(), m.step(), m.address(), m.width(), m.source(), m.element(), m.test(),
              m.power(), m.phase(), m.detail());
      assertThat(e.before()).isEqualTo(step ? 0 : m.before());
      assertThat(e.after()).isEqualTo(step ? 0 : m.after());
      assertThat(e.operand(0)).isEqualTo(step ? m.operand(0) : 0);
      assertThat(e.operand(1)).isEqualTo(step ? m.operand(1) : 0);
      assertThat(e.operand(2)).isZero();
    }
    assertThatThrownBy(() -> t.get(500)).isInstanceOf(IndexOutOfBoundsException.class);
  }

  @Test
  void aRingKeepsTheLastScansAndBoundedMemory() {
    Trace t = Trace.lastScans(3);
    for (int n = 0; n < 100_000; n++) {
      t.on(new Made(kind(n), 1 + n / 10, n));
      assertThat(t.size()).isLessThanOrEqualTo(30);
    }
    assertThat(t.count()).isEqualTo(100_000);
    assertThat(t.get(0).scan()).isEqualTo(10_000 - 2);
    assertThat(t.get(t.size() - 1).scan()).isEqualTo(10_000);
    assertThatIllegalArgumentException().isThrownBy(() -> Trace.lastScans(0));
  }

  @Test
  void theHashSeesEveryEventWhateverIsKept() {
    Trace whole = Trace.whole();
    Trace ring = Trace.lastScans(1);
    Trace none = Trace.hashOnly();
    for (int n = 0; n < 1_000; n++) {
      Made m = new Made(kind(n), 1 + n / 10, n);
      whole.on(m);
      ring.on(m);
      none.on(m);
    }
    assertThat(whole).isEqualTo(ring).isEqualTo(none).hasSameHashCodeAs(none);
    assertThat(none.size()).isZero();
    // Written down once; the same number must come out on every machine and release.
    assertThat(Long.toHexString(none.hash())).isEqualTo("4acd811614ec9b5");
    none.on(new Made(EventKind.STEP, 200, 1));
    assertThat(whole).as("steps follow from the rest").isEqualTo(none);
    none.on(new Made(EventKind.WRITE, 200, 1));
    assertThat(whole).isNotEqualTo(none);
  }

  @Test
  void itWantsWhatItIsAskedToKeep() {
    assertThat(Trace.whole().wants()).isEqualTo(EnumSet.allOf(EventKind.class));
    assertThat(Trace.whole(EnumSet.of(EventKind.FIELD)).wants()).containsExactly(EventKind.FIELD);
  }
}
