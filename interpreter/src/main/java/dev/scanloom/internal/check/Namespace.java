package dev.scanloom.internal.check;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * A namespace with the names declared in it, all parts of it added up (Tables 64 and 65). The global one has no parent and an empty path.
 */
final class Namespace {
  private final Namespace parent;
  private final String path;
  private boolean internal;
  private final Map<String, Namespace> children = new LinkedHashMap<>();
  private final Map<String, Symbol> symbols = new LinkedHashMap<>();
  private final Map<String, List<Symbol.TypeSymbol>> enumerated = new LinkedHashMap<>();

  Namespace(Namespace parent, String path) {
    this.parent = parent;
    this.path = path;
  }

  Namespace parent() {
    return parent;
  }

  /** Name with the namespaces around it, joined by dots; empty for the global one. */
  String path() {
    return path;
  }

  boolean isInternal() {
    return internal;
  }

  void setInternal() {
    internal = true;
  }

  Namespace child(String key) {
    return children.get(key);
  }

  Namespace openChild(String key, String text) {
    return children.computeIfAbsent(key, k -> new Namespace(this, path.isEmpty() ? text : path + "." + text));
  }

  Map<String, Symbol> symbols() {
    return symbols;
  }

  Map<String, Namespace> children() {
    return children;
  }

  /** Enumerations of this namespace that have a value of the name. */
  List<Symbol.TypeSymbol> enumerated(String key) {
    return enumerated.getOrDefault(key, List.of());
  }

  void addEnumerated(String key, Symbol.TypeSymbol type) {
    enumerated.computeIfAbsent(key, k -> new ArrayList<>()).add(type);
  }

  Map<String, List<Symbol.TypeSymbol>> allEnumerated() {
    return enumerated;
  }

  /** This namespace is {@code other} or stands in it. */
  boolean isWithin(Namespace other) {
    for (Namespace n = this; n != null; n = n.parent) {
      if (n == other) {
        return true;
      }
    }
    return false;
  }

  String qualify(String name) {
    return path.isEmpty() ? name : path + "." + name;
  }
}
