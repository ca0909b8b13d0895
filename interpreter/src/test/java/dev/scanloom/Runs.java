package dev.scanloom;

import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.EnumSet;
import java.util.Set;
import java.util.function.Consumer;

/** What tests of runs share. */
final class Runs {
  static final long US = 1_000;
  static final long MS = 1_000_000;

  private Runs() {}

  static CompiledProgram compile(String... lines) {
    return Compiler.standard().compile("test.st", String.join("\n", lines)).orThrow();
  }

  static Duration us(long n) {
    return Duration.ofNanos(n * US);
  }

  static Duration ms(long n) {
    return Duration.ofMillis(n);
  }

  /** 1 us a step, phases free: a step's time is its number. */
  static ScanPolicy micro(ScanPolicy p) {
    return p.withCosts(CostModel.fixed(us(1), Duration.ZERO, Duration.ZERO, Duration.ZERO));
  }

  static ScanPolicy micro(ScanPolicy p, long periodMs) {
    return micro(p).withTrigger(ScanTrigger.periodic(ms(periodMs)));
  }

  /** Time moves by the trigger alone. */
  static ScanPolicy still(ScanPolicy p, long periodMs) {
    return p.withCosts(CostModel.zero()).withTrigger(ScanTrigger.periodic(ms(periodMs)));
  }

  static Observer on(Consumer<Event> what, EventKind first, EventKind... more) {
    Set<EventKind> kinds = EnumSet.of(first, more);
    return new Observer() {
      @Override
      public Set<EventKind> wants() {
        return kinds;
      }

      @Override
      public void on(Event e) {
        what.accept(e);
      }
    };
  }

  /** Bytes allocated by this thread so far. By reflection, since the module under test does not read java.management. */
  static long allocatedBytes() throws ReflectiveOperationException {
    Object bean = Class.forName("java.lang.management.ManagementFactory").getMethod("getThreadMXBean").invoke(null);
    return (long) Class.forName("com.sun.management.ThreadMXBean").getMethod("getThreadAllocatedBytes", long.class)
        .invoke(bean, Thread.currentThread().getId());
  }
}
