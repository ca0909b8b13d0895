package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.DirectAddress;
import dev.scanloom.internal.syntax.Expression;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.QualifiedName;
import dev.scanloom.internal.syntax.TypeSpec;
import dev.scanloom.model.ElementaryType;
import java.math.BigInteger;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Deque;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/** Types as written to resolved types (Tables 10 to 12). */
final class Types {
  private final Session session;
  private int depth;
  private boolean settling;
  /** Structure elements wait until all types have a name, so that references may close a circle. */
  private final List<Runnable> waiting = new ArrayList<>();

  Types(Session session) {
    this.session = session;
  }

  /** Resolves all types of the user. */
  void all() {
    for (Symbol.TypeSymbol s : session.symbols.types()) {
      of(s);
    }
  }

  /** Resolves the elements of structures that were met since the last call; one loop, however long the chain of types is. */
  private void settle() {
    if (settling || depth > 0) {
      return;
    }
    settling = true;
    try {
      while (!waiting.isEmpty()) {
        List<Runnable> now = new ArrayList<>(waiting);
        waiting.clear();
        now.forEach(Runnable::run);
      }
    } finally {
      settling = false;
    }
  }

  /** The type of a name, resolved on demand. */
  Type of(Symbol.TypeSymbol s) {
    if (s.state() == Symbol.State.DONE) {
      return s.type();
    }
    if (s.state() == Symbol.State.RUNNING) {
      if (s.type() != null) {
        return s.type();
      }
      session.error("type/recursion", s.span(), s.name() + " is declared by itself");
      return Kinds.UNKNOWN;
    }
    if (depth > session.limits.nesting()) {
      session.error("limit/nesting", s.span(), "types are nested deeper than " + session.limits.nesting());
      return Kinds.UNKNOWN;
    }
    s.setState(Symbol.State.RUNNING);
    depth++;
    try {
      Scope scope = new Scope(session, s.site(), null);
      String name = s.namespace().qualify(s.name().text());
      Type t = define(s, name, scope);
      s.setType(t);
    } finally {
      depth--;
      s.setState(Symbol.State.DONE);
    }
    settle();
    return s.type();
  }

  private Type define(Symbol.TypeSymbol s, String name, Scope scope) {
    TypeSpec spec = s.definition().type();
    if (spec instanceof TypeSpec.Structure st) {
      Type.Structure t = structure(st, name, scope);
      s.setType(t);
      s.definition().initial().ifPresent(i ->
          session.error("type/initial", i.span(), "a structure takes its initial values at its elements"));
      return t;
    }
    if (spec instanceof TypeSpec.Enumeration e) {
      return enumeration(e, name, scope, s.definition().initial().map(i -> session.initials.enumeratedName(i)));
    }
    Type target = resolve(spec, scope);
    if (Kinds.isUnknown(target)) {
      return target;
    }
    if (target instanceof Type.Array a && a.open()) {
      session.error("type/open-array", spec.span(), "ARRAY [*] is allowed for parameters only");
      return Kinds.UNKNOWN;
    }
    if (target.base() instanceof Type.Block || target.base() instanceof Type.Interface) {
      // A plain new name of a block: instances are of the block itself.
      s.definition().initial().ifPresent(i -> session.initials.of(i, target, scope));
      return s.definition().initial().isEmpty() ? target
          : new Type.Derived(name, target, s.definition().initial().flatMap(i -> session.initials.of(i, target, scope)));
    }
    return new Type.Derived(name, target, s.definition().initial().flatMap(i -> session.initials.of(i, target, scope)));
  }

  /** Resolves a type as written; whatever is wrong is reported and gives the unknown type. */
  Type resolve(TypeSpec spec, Scope scope) {
    if (depth > session.limits.nesting()) {
      session.error("limit/nesting", spec.span(), "types are nested deeper than " + session.limits.nesting());
      return Kinds.UNKNOWN;
    }
    depth++;
    try {
      return spec.accept(new Resolver(scope));
    } finally {
      depth--;
      settle();
    }
  }

  private final class Resolver implements TypeSpec.Visitor<Type> {
    private final Scope scope;

    Resolver(Scope scope) {
      this.scope = scope;
    }

    @Override
    public Type named(TypeSpec.Named t) {
      return byName(t.name(), scope);
    }

    @Override
    public Type string(TypeSpec.Str t) {
      Optional<ElementaryType> kind = Kinds.named(t.base().key());
      if (kind.isEmpty() || !kind.get().isString()) {
        session.error("type/length", t.span(), t.base() + " takes no length; only STRING, WSTRING and USTRING do");
        return Kinds.UNKNOWN;
      }
      Optional<BigInteger> n = session.initials.integer(t.length(), scope);
      if (n.isEmpty()) {
        return Kinds.UNKNOWN;
      }
      if (n.get().signum() <= 0 || n.get().compareTo(BigInteger.valueOf(session.limits.stringLength())) > 0) {
        session.error("range/string-length", t.length().span(), "a string length is 1 to " + session.limits.stringLength() + ", not "
            + n.get());
        return Kinds.UNKNOWN;
      }
      return new Type.Text(kind.get(), n.get().intValueExact());
    }

    @Override
    public Type subrange(TypeSpec.Subrange t) {
      Type base = byName(t.base(), scope);
      if (Kinds.isUnknown(base)) {
        return base;
      }
      ElementaryType kind = Kinds.kind(base);
      if (kind == null || !kind.isInteger()) {
        session.error("type/subrange", t.base().span(), "a subrange has an integer base type, not " + base.name());
        return Kinds.UNKNOWN;
      }
      Optional<BigInteger> low = session.initials.integer(t.low(), scope);
      Optional<BigInteger> high = session.initials.integer(t.high(), scope);
      if (low.isEmpty() || high.isEmpty() || !within(low.get(), kind, t.low()) || !within(high.get(), kind, t.high())) {
        return Kinds.UNKNOWN;
      }
      if (low.get().compareTo(high.get()) > 0) {
        session.error("range/bounds", t.low().span().to(t.high().span()), "the lower bound " + low.get() + " is above the upper bound "
            + high.get());
        return Kinds.UNKNOWN;
      }
      return new Type.Subrange(kind, low.get().longValue(), high.get().longValue());
    }

    private boolean within(BigInteger v, ElementaryType kind, Expression at) {
      if (!Kinds.fits(v, kind)) {
        session.error("range/literal", at.span(), v + " is outside the range of " + kind);
        return false;
      }
      return true;
    }

    @Override
    public Type enumeration(TypeSpec.Enumeration t) {
      StringBuilder name = new StringBuilder("(");
      for (TypeSpec.EnumValue v : t.values()) {
        name.append(name.length() == 1 ? "" : ", ").append(v.name().text());
        if (name.length() > 60) {
          name.append(", ...");
          break;
        }
      }
      Type e = Types.this.enumeration(t, name.append(")").toString(), scope, Optional.empty());
      if (e instanceof Type.Enumeration made && scope.info() != null) {
        for (Type.Enumeration.Value v : made.values()) {
          scope.info().enumerated().computeIfAbsent(Kinds.key(v.name()), k -> new ArrayList<>()).add(made);
        }
      }
      return e;
    }

    @Override
    public Type array(TypeSpec.Array t) {
      Type element = resolve(t.element(), scope);
      boolean open = false;
      for (TypeSpec.Dimension d : t.dimensions()) {
        open |= d.low().isEmpty();
      }
      List<Type.Bounds> bounds = new ArrayList<>();
      boolean ok = !Kinds.isUnknown(element);
      if (element instanceof Type.Array a && a.open()) {
        session.error("type/open-array", t.element().span(), "an array element cannot be ARRAY [*]");
        ok = false;
      }
      BigInteger count = BigInteger.ONE;
      for (TypeSpec.Dimension d : t.dimensions()) {
        if (open) {
          if (d.low().isPresent()) {
            session.error("type/open-array", d.span(), "all dimensions are * or none is");
            ok = false;
          }
          bounds.add(new Type.Bounds(0, 0));
          continue;
        }
        Optional<BigInteger> low = session.initials.integer(d.low().get(), scope);
        Optional<BigInteger> high = session.initials.integer(d.high().orElse(d.low().get()), scope);
        if (low.isEmpty() || high.isEmpty()) {
          ok = false;
          continue;
        }
        if (low.get().compareTo(high.get()) > 0) {
          session.error("range/bounds", d.span(), "the lower bound " + low.get() + " is above the upper bound " + high.get());
          ok = false;
          continue;
        }
        if (low.get().bitLength() > 31 || high.get().bitLength() > 31) {
          session.error("range/bounds", d.span(), "array bounds are DINT values");
          ok = false;
          continue;
        }
        count = count.multiply(high.get().subtract(low.get()).add(BigInteger.ONE));
        if (count.compareTo(BigInteger.valueOf(session.limits.arrayElements())) > 0) {
          session.error("limit/array-elements", t.span(), "an array has at most " + session.limits.arrayElements() + " elements");
          return Kinds.UNKNOWN;
        }
        bounds.add(new Type.Bounds(low.get().intValueExact(), high.get().intValueExact()));
      }
      return ok ? new Type.Array(bounds, element, open) : Kinds.UNKNOWN;
    }

    @Override
    public Type structure(TypeSpec.Structure t) {
      return Types.this.structure(t, "STRUCT", scope);
    }

    @Override
    public Type reference(TypeSpec.Reference t) {
      Type target = resolve(t.target(), scope);
      if (target instanceof Type.Array a && a.open()) {
        session.error("type/open-array", t.target().span(), "a reference to ARRAY [*] is not possible");
        return Kinds.UNKNOWN;
      }
      return Kinds.isUnknown(target) ? target : new Type.Reference(target);
    }
  }

  private Type byName(QualifiedName name, Scope scope) {
    if (name.parts().size() == 1) {
      Optional<Type> elementary = elementary(name.key());
      if (elementary.isPresent()) {
        return elementary.get();
      }
      if (Kinds.isGenericName(name.key())) {
        if (scope.info() != null && scope.info().library() != null) {
          return new Type.Generic(name.key());
        }
        session.error("type/generic", name.span(), name.text() + " is generic; only functions of libraries have generic parameters");
        return Kinds.UNKNOWN;
      }
    }
    Symbol s = session.symbols.resolve(name, scope.site(), "type");
    if (s == null) {
      return Kinds.UNKNOWN;
    }
    if (s instanceof Symbol.TypeSymbol t) {
      return of(t);
    }
    return ofPou(((Symbol.PouSymbol) s).pou(), name);
  }

  private Type ofPou(Pou pou, QualifiedName name) {
    switch (pou.kind()) {
      case FUNCTION_BLOCK:
      case CLASS:
        session.usage.use(pou);
        return new Type.Block(pou);
      case INTERFACE:
        return new Type.Interface(pou);
      case PROGRAM:
      case FUNCTION:
      case METHOD:
        session.error("type/not-a-type", name.span(), name.text() + " is a " + word(pou.kind()) + ", not a type");
        return Kinds.UNKNOWN;
    }
    throw new IllegalArgumentException(pou.kind().name());
  }

  static String word(Pou.Kind kind) {
    return kind.name().toLowerCase(java.util.Locale.ROOT).replace('_', ' ');
  }

  /** An elementary type by its upper-case name; strings have their default length. */
  Optional<Type> elementary(String key) {
    Optional<ElementaryType> kind = Kinds.named(key);
    if (kind.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(kind.get().isString() ? new Type.Text(kind.get(), session.choices.defaultStringLength()) : Kinds.of(kind.get()));
  }

  private Type enumeration(TypeSpec.Enumeration t, String name, Scope scope, Optional<Optional<Name>> initial) {
    ElementaryType base = ElementaryType.DINT;
    boolean open = t.base().isPresent() || t.values().stream().anyMatch(v -> v.value().isPresent());
    if (t.base().isPresent()) {
      Type b = byName(t.base().get(), scope);
      if (Kinds.isUnknown(b)) {
        return b;
      }
      ElementaryType k = Kinds.kind(b);
      if (k == null || !(k.isInteger() || k.isBits())) {
        session.error("type/enumeration-base", t.base().get().span(), "named values have an integer or bit-string base type, not "
            + b.name());
        return Kinds.UNKNOWN;
      }
      base = k;
    }
    List<Type.Enumeration.Value> values = new ArrayList<>();
    Map<String, Name> seen = new LinkedHashMap<>();
    BigInteger next = BigInteger.ZERO;
    for (TypeSpec.EnumValue v : t.values()) {
      Name first = seen.putIfAbsent(v.name().key(), v.name());
      if (first != null) {
        session.duplicate(v.name().span(), v.name().text(), first.span());
        continue;
      }
      BigInteger value = next;
      if (v.value().isPresent()) {
        Optional<BigInteger> given = session.initials.integer(v.value().get(), scope);
        if (given.isEmpty()) {
          continue;
        }
        value = given.get();
      }
      if (!Kinds.fits(value, base)) {
        session.error("range/literal", v.span(), value + " is outside the range of " + base);
        continue;
      }
      values.add(new Type.Enumeration.Value(v.name().text(), value.longValue()));
      next = value.add(BigInteger.ONE);
    }
    if (values.isEmpty()) {
      return Kinds.UNKNOWN;
    }
    long start = values.get(0).value();
    if (initial.isPresent() && initial.get().isPresent()) {
      Name wanted = initial.get().get();
      Optional<Type.Enumeration.Value> hit = values.stream().filter(v -> v.name().equalsIgnoreCase(wanted.text())).findFirst();
      if (hit.isEmpty()) {
        session.unknownName(wanted.span(), wanted + " is not a value of " + name, wanted.text(),
            values.stream().map(Type.Enumeration.Value::name).toList());
      } else {
        start = hit.get().value();
      }
    }
    return new Type.Enumeration(name, base, open, values, start);
  }

  private Type.Structure structure(TypeSpec.Structure t, String name, Scope scope) {
    Type.Structure made = new Type.Structure(name, t.overlap());
    waiting.add(() -> fields(made, t, scope));
    return made;
  }

  /** Structures with elements at {@code *} addresses, and the area of each. */
  private final Map<Variable, Character> incomplete = new LinkedHashMap<>();

  Map<Variable, Character> incomplete() {
    return incomplete;
  }

  private void fields(Type.Structure made, TypeSpec.Structure t, Scope scope) {
    List<Variable> fields = new ArrayList<>();
    Map<String, Name> seen = new LinkedHashMap<>();
    boolean relative = false;
    boolean plain = false;
    for (TypeSpec.Field f : t.fields()) {
      Name first = seen.putIfAbsent(f.name().key(), f.name());
      if (first != null) {
        session.duplicate(f.name().span(), f.name().text(), first.span());
        continue;
      }
      Type type = resolve(f.type(), scope);
      if (type instanceof Type.Array a && a.open()) {
        session.error("type/open-array", f.type().span(), "ARRAY [*] is allowed for parameters only");
        type = Kinds.UNKNOWN;
      }
      Variable v = new Variable(f.name().text(), Variable.Section.FIELD, type, f.name().span());
      v.setAccess(Variable.Access.PUBLIC);
      if (f.at().isPresent()) {
        DirectAddress at = f.at().get();
        if (at.area() != 0) {
          if (!at.incomplete()) {
            session.error("located/element", at.span(),
                "an element of a structure has a relative address such as %B4, or an incomplete one such as %I*");
          } else {
            incomplete.put(v, at.area());
            if (Locations.bits(type) > 0) {
              v.setLocated(Located.open(at.area(), Locations.elementBits(type)));
            }
          }
        } else {
          relative = true;
          relative(v, at, type);
        }
      } else {
        plain = true;
      }
      fields.add(v);
      session.initials.later(v, f.initial(), scope);
    }
    made.setFields(fields);
    if (relative && plain) {
      session.error("located/relative", t.span(), "either all elements of a structure have a relative address or none has");
    } else if (relative && !t.overlap()) {
      overlaps(fields);
    }
    if (t.overlap() && !relative) {
      session.error("located/relative", t.span(), "OVERLAP needs relative addresses at the elements");
    }
  }

  private void relative(Variable v, DirectAddress at, Type type) {
    if (at.incomplete() || at.levels().isEmpty()) {
      session.error("located/relative", at.span(), "a relative address is complete");
      return;
    }
    int width = Locations.width(at.size());
    long bit;
    if (at.size() == 'X' || at.size() == 0) {
      if (at.levels().size() == 2 && at.levels().get(1) > 7) {
        session.error("located/bit", at.span(), "a byte has bits 0 to 7");
        return;
      }
      if (at.levels().size() > 2) {
        session.error("located/relative", at.span(), "a relative bit address is byte.bit");
        return;
      }
      bit = at.levels().size() == 2 ? at.levels().get(0) * 8L + at.levels().get(1) : at.levels().get(0);
    } else {
      if (at.levels().size() > 1) {
        session.error("located/relative", at.span(), "a relative address of " + at.size() + " is one number of bytes");
        return;
      }
      // Offsets count bytes whatever the size (Table 11, 8a).
      bit = at.levels().get(0) * 8L;
    }
    int own = Locations.bits(type);
    if (Kinds.isUnknown(type)) {
      return;
    }
    boolean bits = Locations.elementBits(type) == 1;
    if (own == 0 || bits != (width == 1)) {
      session.error("located/type", at.span(), type.name() + " cannot stand at a relative address of " + (width == 1 ? "a bit" : "bytes"));
      return;
    }
    if (bit + own > 8L * 65_536) {
      session.error("located/range", at.span(), "a relative address lies below byte 65536");
      return;
    }
    v.setRelative(new Variable.Relative((int) bit));
  }

  private void overlaps(List<Variable> fields) {
    List<Variable> placed = new ArrayList<>(fields.stream().filter(f -> f.relative().isPresent()).toList());
    placed.sort(java.util.Comparator.comparingInt(f -> f.relative().get().bitOffset()));
    long end = 0;
    Variable last = null;
    for (Variable f : placed) {
      int start = f.relative().get().bitOffset();
      if (last != null && start < end) {
        session.report(Diagnostic.error("located/overlap", f.span(), f.name() + " shares storage with " + last.name()
            + "; OVERLAP allows that")
            .withRelated(last.span(), "declared here"));
      }
      long e = start + (long) Locations.bits(f.type());
      if (e > end) {
        end = e;
        last = f;
      }
    }
  }

  // Containment

  /** Reports types and blocks that contain themselves (S.err-type-recursion); true when there is one. */
  boolean reportRecursion() {
    Set<Object> done = new LinkedHashSet<>();
    boolean any = false;
    for (Symbol.TypeSymbol s : session.symbols.types()) {
      if (s.type() != null) {
        any |= visit(s.type(), s.span(), new LinkedHashMap<>(), done);
      }
    }
    for (PouInfo i : session.allInfos()) {
      Pou p = i.pou();
      if (p.kind() != Pou.Kind.METHOD && p.kind() != Pou.Kind.INTERFACE) {
        any |= visitPou(p, p.span(), new LinkedHashMap<>(), done);
      }
    }
    return any;
  }

  private boolean visit(Type type, Span at, Map<Object, Span> path, Set<Object> done) {
    Type t = type.base();
    while (t instanceof Type.Array a) {
      t = a.element().base();
    }
    if (t instanceof Type.Structure s) {
      if (done.contains(s)) {
        return false;
      }
      if (!enter(s, s.name(), at, path)) {
        return true;
      }
      boolean any = false;
      for (Variable f : s.fields()) {
        any |= visit(f.type(), f.span(), path, done);
      }
      path.remove(s);
      done.add(s);
      return any;
    }
    return t instanceof Type.Block b && visitPou(b.pou(), at, path, done);
  }

  private boolean enter(Object node, String name, Span at, Map<Object, Span> path) {
    if (path.containsKey(node)) {
      session.error("type/recursion", at, name + " contains itself; a reference to it would be possible");
      return false;
    }
    if (path.size() > session.limits.nesting()) {
      session.error("limit/nesting", at, "types are nested deeper than " + session.limits.nesting());
      return false;
    }
    path.put(node, at);
    return true;
  }

  private boolean visitPou(Pou p, Span at, Map<Object, Span> path, Set<Object> done) {
    if (done.contains(p)) {
      return false;
    }
    if (!enter(p, p.name(), at, path)) {
      return true;
    }
    boolean any = false;
    for (Variable v : p.variables()) {
      boolean holds = switch (v.section()) {
        case OUTPUT, TEMP, LOCAL, FIELD, RESULT, HIDDEN, GLOBAL -> true;
        case INPUT -> !(v.type().base() instanceof Type.Block);
        case IN_OUT, EXTERNAL -> false;
      };
      if (holds) {
        any |= visit(v.type(), v.span(), path, done);
      }
    }
    if (p.base().isPresent()) {
      any |= visitPou(p.base().get(), at, path, done);
    }
    path.remove(p);
    done.add(p);
    return any;
  }

  /** A value of the type holds an instance of a function block or class. */
  static boolean holdsInstance(Type type) {
    Set<Type> seen = new LinkedHashSet<>();
    Deque<Type> open = new ArrayDeque<>();
    open.push(type);
    while (!open.isEmpty()) {
      Type t = open.pop().base();
      while (t instanceof Type.Array a) {
        t = a.element().base();
      }
      if (t instanceof Type.Block) {
        return true;
      }
      if (t instanceof Type.Structure s && seen.add(s)) {
        s.fields().forEach(f -> open.push(f.type()));
      }
    }
    return false;
  }
}
