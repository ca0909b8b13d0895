package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import java.util.Map;
import java.util.TreeMap;

/** The table of Java bodies by the name in the {@code {native name}} pragma, and the bodies that share one variable between tasks. */
final class Bodies {
  static final Map<String, NativeBody> ALL;

  static {
    Map<String, NativeBody> all = new TreeMap<>();
    NumericalBodies.addTo(all);
    BitBodies.addTo(all);
    StringBodies.addTo(all);
    CharacterBodies.addTo(all);
    DateBodies.addTo(all);
    all.put("test_and_set", Bodies::testAndSet);
    all.put("take_one", Bodies::takeOne);
    all.put("give_one", Bodies::giveOne);
    all.put("require_lock", Bodies::requireLock);
    all.put("require_locked", Bodies::requireLocked);
    ALL = java.util.Collections.unmodifiableMap(all);
  }

  private Bodies() {}

  private static void testAndSet(CallFrame f) {
    f.setBool(CallFrame.RESULT, !f.bool(0));
    f.setBool(0, true);
  }

  private static void takeOne(CallFrame f) {
    long count = f.bits(0);
    f.setBool(CallFrame.RESULT, count != 0);
    if (count != 0) {
      f.setBits(0, count - 1);
    }
  }

  private static void giveOne(CallFrame f) {
    long count = f.bits(0);
    if (count == 0xFFFF_FFFFL) {
      throw new BodyFault("fault/overflow", "the count is already 4294967295");
    }
    f.setBits(0, count + 1);
  }

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
