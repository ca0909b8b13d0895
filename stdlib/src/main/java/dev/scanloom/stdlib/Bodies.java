package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import java.util.Collections;
import java.util.Map;
import java.util.TreeMap;

/** The table of Java bodies by the name in the {@code {native name}} pragma, and the checks under MUTEX and SEMAPHORE. */
final class Bodies {
  static final Map<String, NativeBody> ALL;

  static {
    Map<String, NativeBody> all = new TreeMap<>();
    NumericalBodies.addTo(all);
    BitBodies.addTo(all);
    StringBodies.addTo(all);
    CharacterBodies.addTo(all);
    DateBodies.addTo(all);
    all.put("require_lock", Bodies::requireLock);
    all.put("require_locked", Bodies::requireLocked);
    ALL = Collections.unmodifiableMap(all);
  }

  private Bodies() {}

  private static void requireLock(CallFrame f) {
    if (!f.bool(0)) {
      throw new BodyFault("fault/lock-held", "the lock or permit is held elsewhere, and waiting for it is not offered");
    }
  }

  private static void requireLocked(CallFrame f) {
    if (!f.bool(0)) {
      throw new BodyFault("fault/lock-free", "the lock that is given back is not held");
    }
  }
}
