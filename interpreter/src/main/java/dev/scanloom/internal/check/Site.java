package dev.scanloom.internal.check;

import dev.scanloom.internal.syntax.Declaration;
import java.util.ArrayList;
import java.util.List;

/**
 * Where a declaration stands: its namespace, the USING directives that act there, and the place around it. Names are looked up from the
 * innermost site outwards (Tables 64 to 66).
 */
final class Site {
  private final Site outer;
  private final Namespace namespace;
  private final List<Declaration.Using> usings;
  private List<Namespace> opened;

  /** {@code namespace} is null for the site of a POU: it adds USING directives, no names of its own. */
  Site(Site outer, Namespace namespace, List<Declaration.Using> usings) {
    this.outer = outer;
    this.namespace = namespace;
    this.usings = new ArrayList<>(usings);
  }

  Site outer() {
    return outer;
  }

  Namespace namespace() {
    return namespace;
  }

  List<Declaration.Using> usings() {
    return usings;
  }

  void addUsing(Declaration.Using using) {
    usings.add(using);
  }

  /** Namespaces opened by USING here; null until the symbols have resolved them. */
  List<Namespace> opened() {
    return opened;
  }

  void setOpened(List<Namespace> namespaces) {
    opened = List.copyOf(namespaces);
  }

  /** The innermost namespace around. */
  Namespace enclosing() {
    for (Site s = this; s != null; s = s.outer) {
      if (s.namespace != null) {
        return s.namespace;
      }
    }
    throw new IllegalStateException("a site without namespace");
  }
}
