package dev.scanloom;

import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import java.util.EnumSet;
import java.util.Set;

/** The ways in which steps are executed; all must be equal in everything that can be seen. */
public enum Walk {
  /** One by one, as when somebody looks. */
  STEPS,
  /** In stretches, interpreted. */
  STRETCHES,
  /** In stretches, translated from the first scan on. */
  TRANSLATED,
  /** Whole bodies as JVM code. */
  COMPILED;

  private static final Observer LOOKS = new Observer() {
    @Override
    public Set<EventKind> wants() {
      return EnumSet.of(EventKind.STEP);
    }

    @Override
    public void on(Event event) {
      // that somebody looks is enough
    }
  };

  /** A controller that executes in this way. */
  public Controller controller(CompiledProgram program, ScanPolicy policy) {
    CompiledProgram p = this == TRANSLATED ? program.translatedAtOnce() : program;
    Controller c = p.newController(policy.withExecution(this == COMPILED ? Execution.COMPILED : Execution.STEPPING));
    if (this == STEPS) {
      c.attach(LOOKS);
    }
    return c;
  }
}
