package dev.scanloom.observe;

import java.util.Set;

/**
 * Is told what happens in a run. Attached to a controller; called on the thread that scans, synchronously. It must not change the controller.
 */
public interface Observer {

  /** The kinds it wants; asked once, when it is attached. */
  Set<EventKind> wants();

  /** Told of one event of a wanted kind. The event object is valid only during the call. */
  void on(Event event);
}
