package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Body;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.QualifiedName;
import dev.scanloom.internal.syntax.TypeSpec;
import dev.scanloom.library.Library;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;

/** What the checker knows of a POU beyond the model: its syntax and how far it has been checked. */
final class PouInfo {
  private final Pou pou;
  private final Site site;
  private final PouInfo owner;
  private final Library library;
  private final Namespace namespace;

  /** Parts of the declaration, the same for every kind of POU. */
  record Parts(
      Optional<QualifiedName> base, List<QualifiedName> interfaces, List<Declaration.VarSection> sections, Optional<TypeSpec> result,
      List<Declaration.Method> methods, List<Declaration.Property> properties, Optional<Body> body) {}

  private final Parts parts;

  Symbol.State bases = Symbol.State.NEW;
  Symbol.State header = Symbol.State.NEW;
  boolean bodyQueued;
  /** Length of the chain of bases. */
  int depth;

  private final List<PouInfo> methods = new ArrayList<>();
  private final Map<String, Property> properties = new LinkedHashMap<>();
  private final Map<Variable, Character> incomplete = new LinkedHashMap<>();
  private final Map<String, List<Type.Enumeration>> enumerated = new LinkedHashMap<>();
  private final List<Variable> programGlobals = new ArrayList<>();
  private final Map<String, Variable> names = new LinkedHashMap<>();
  private Binding binding;

  PouInfo(Pou pou, Site site, PouInfo owner, Namespace namespace, Library library, Parts parts) {
    this.pou = pou;
    this.site = site;
    this.owner = owner;
    this.namespace = namespace;
    this.library = library;
    this.parts = parts;
  }

  /** A property: its accessors are methods named {@code GET name} and {@code SET name}. */
  record Property(Span span, String name, Type type, Optional<Pou> getter, Optional<Pou> setter, Pou declaredIn) {}

  /** What the pragma in place of a library body says. */
  record Binding(boolean intrinsic, String name, boolean extensible) {
    static Optional<Binding> of(String content) {
      String[] words = content.trim().split("\\s+");
      boolean known = words.length >= 2 && (words[0].equalsIgnoreCase("intrinsic") || words[0].equalsIgnoreCase("native"));
      if (!known || words.length > 3 || (words.length == 3 && !words[2].equalsIgnoreCase("extensible"))) {
        return Optional.empty();
      }
      boolean intrinsic = words[0].equalsIgnoreCase("intrinsic");
      return Optional.of(new Binding(intrinsic, intrinsic ? words[1].toUpperCase(Locale.ROOT) : words[1], words.length == 3));
    }
  }

  Pou pou() {
    return pou;
  }

  Site site() {
    return site;
  }

  /** The block, class or interface of a method; null for all others. */
  PouInfo owner() {
    return owner;
  }

  Namespace namespace() {
    return namespace;
  }

  /** The library that declares it; null for the user's. */
  Library library() {
    return library;
  }

  Parts parts() {
    return parts;
  }

  List<PouInfo> methods() {
    return methods;
  }

  /** Own variables by their upper-case names. */
  Map<String, Variable> names() {
    return names;
  }

  /** Own properties by their upper-case names. */
  Map<String, Property> properties() {
    return properties;
  }

  /** Variables declared with an incomplete address, and its area. */
  Map<Variable, Character> incomplete() {
    return incomplete;
  }

  /** Values of enumerations declared directly at a variable. */
  Map<String, List<Type.Enumeration>> enumerated() {
    return enumerated;
  }

  /** VAR_GLOBAL of a program. */
  List<Variable> programGlobals() {
    return programGlobals;
  }

  Binding binding() {
    return binding;
  }

  void setBinding(Binding b) {
    binding = b;
  }
}
