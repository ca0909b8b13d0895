package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.Name;
import dev.scanloom.internal.syntax.QualifiedName;
import dev.scanloom.internal.syntax.SourceFile;
import dev.scanloom.internal.syntax.StParser;
import dev.scanloom.internal.syntax.TypeSpec;
import dev.scanloom.library.Library;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;

/** Names of namespaces, types and POUs: collected from the files, looked up from a site, loaded from libraries on demand. */
final class Symbols {
  /** The standard's name of a type that other languages call so; null if unknown. */
  private static String usualName(String other) {
    return switch (other.toUpperCase(Locale.ROOT)) {
      case "BOOLEAN" -> "BOOL";
      case "INTEGER" -> "INT or DINT";
      case "FLOAT" -> "REAL";
      case "DOUBLE" -> "LREAL";
      case "LONG" -> "LINT";
      case "SHORT" -> "INT";
      case "UNSIGNED" -> "UINT";
      case "DURATION" -> "TIME";
      default -> null;
    };
  }

  private final Session session;
  private final Namespace global = new Namespace(null, "");
  private final Namespace library = new Namespace(null, "");
  private final Site librarySite = new Site(null, library, List.of());
  private final Set<String> asked = new LinkedHashSet<>();
  private final List<Declaration.Configuration> configurations = new ArrayList<>();
  private final Map<Declaration.Configuration, Site> configurationSites = new LinkedHashMap<>();
  private final List<Declaration.Globals> fileGlobals = new ArrayList<>();
  private final List<Symbol.PouSymbol> pous = new ArrayList<>();
  private final List<Symbol.TypeSymbol> types = new ArrayList<>();
  private List<String> libraryNames;

  Symbols(Session session) {
    this.session = session;
  }

  List<Declaration.Configuration> configurations() {
    return configurations;
  }

  Site siteOf(Declaration.Configuration c) {
    return configurationSites.get(c);
  }

  List<Declaration.Globals> fileGlobals() {
    return fileGlobals;
  }

  /** The user's POUs in the order of declaration. */
  List<Symbol.PouSymbol> pous() {
    return pous;
  }

  /** The user's types in the order of declaration. */
  List<Symbol.TypeSymbol> types() {
    return types;
  }

  Namespace global() {
    return global;
  }

  Site globalSite() {
    return new Site(null, global, List.of());
  }

  void collect(List<SourceFile> files) {
    for (SourceFile file : files) {
      Site site = new Site(null, global, List.of());
      new Collector(global, site, null, 0).all(file.declarations());
    }
  }

  /** Walks declarations and enters their names. */
  private final class Collector implements Declaration.Visitor<Void> {
    private final Namespace namespace;
    private final Site site;
    private final Library from;
    private final int depth;

    Collector(Namespace namespace, Site site, Library from, int depth) {
      this.namespace = namespace;
      this.site = site;
      this.from = from;
      this.depth = depth;
    }

    void all(List<Declaration> declarations) {
      for (Declaration d : declarations) {
        d.accept(this);
      }
    }

    @Override
    public Void types(Declaration.Types d) {
      for (Declaration.TypeDefinition t : d.definitions()) {
        Symbol.TypeSymbol s = new Symbol.TypeSymbol(t, namespace, site, d.internal());
        if (enter(s) && from == null) {
          types.add(s);
        }
        if (t.type() instanceof TypeSpec.Enumeration e) {
          for (TypeSpec.EnumValue v : e.values()) {
            namespace.addEnumerated(v.name().key(), s);
          }
        }
      }
      return null;
    }

    private boolean enter(Symbol s) {
      String key = s.name().key();
      if (Kinds.named(key).isPresent()) {
        session.error("name/reserved", s.span(), s.name() + " is the name of an elementary type");
        return false;
      }
      Symbol first = namespace.symbols().putIfAbsent(key, s);
      if (first != null) {
        session.duplicate(s.span(), s.name().text(), first.span());
        return false;
      }
      return true;
    }

    private void pou(Pou.Kind kind, Name name, Set<Declaration.Modifier> modifiers, List<Declaration.Using> usings, PouInfo.Parts parts,
        Declaration.Documentation documentation) {
      Pou pou = new Pou(kind, name.text(), namespace.qualify(name.text()), name.span());
      pou.setAbstract(modifiers.contains(Declaration.Modifier.ABSTRACT));
      pou.setFinal(modifiers.contains(Declaration.Modifier.FINAL));
      pou.setLibrary(from != null);
      pou.setDocumentation(documentation.text());
      PouInfo info = new PouInfo(pou, new Site(site, null, usings), null, namespace, from, parts);
      session.infos.put(pou, info);
      boolean internal = modifiers.contains(Declaration.Modifier.INTERNAL);
      pou.setAccess(internal ? Variable.Access.INTERNAL : Variable.Access.PUBLIC);
      Symbol.PouSymbol s = new Symbol.PouSymbol(name, namespace, site, internal, info);
      enter(s);
      if (from == null) {
        pous.add(s);
      }
    }

    @Override
    public Void function(Declaration.Function d) {
      pou(Pou.Kind.FUNCTION, d.name(), d.modifiers(), d.usings(),
          new PouInfo.Parts(Optional.empty(), List.of(), d.sections(), d.result(), List.of(), List.of(), Optional.of(d.body())),
              d.documentation());
      return null;
    }

    @Override
    public Void functionBlock(Declaration.FunctionBlock d) {
      pou(Pou.Kind.FUNCTION_BLOCK, d.name(), d.modifiers(), d.usings(),
          new PouInfo.Parts(d.base(), d.interfaces(), d.sections(), Optional.empty(), d.methods(), d.properties(), Optional.of(d.body())),
          d.documentation());
      return null;
    }

    @Override
    public Void classType(Declaration.ClassType d) {
      pou(Pou.Kind.CLASS, d.name(), d.modifiers(), d.usings(),
          new PouInfo.Parts(d.base(), d.interfaces(), d.sections(), Optional.empty(), d.methods(), d.properties(), Optional.empty()),
          d.documentation());
      return null;
    }

    @Override
    public Void interfaceType(Declaration.InterfaceType d) {
      pou(Pou.Kind.INTERFACE, d.name(), d.modifiers(), d.usings(),
          new PouInfo.Parts(Optional.empty(), d.bases(), List.of(), Optional.empty(), d.methods(), d.properties(), Optional.empty()),
          d.documentation());
      return null;
    }

    @Override
    public Void program(Declaration.Program d) {
      if (namespace != global && from == null) {
        session.error("namespace/program", d.name().span(), "a program does not belong in a namespace");
      }
      pou(Pou.Kind.PROGRAM, d.name(), Set.of(), d.usings(),
          new PouInfo.Parts(Optional.empty(), List.of(), d.sections(), Optional.empty(), List.of(), List.of(), Optional.of(d.body())),
          d.documentation());
      return null;
    }

    @Override
    public Void configuration(Declaration.Configuration d) {
      if (namespace != global) {
        session.error("namespace/configuration", d.name().span(), "a configuration does not belong in a namespace");
      }
      configurations.add(d);
      configurationSites.put(d, site);
      return null;
    }

    @Override
    public Void namespace(Declaration.Namespace d) {
      if (depth >= session.limits.nesting()) {
        session.error("limit/nesting", d.name().span(), "namespaces are nested deeper than " + session.limits.nesting());
        return null;
      }
      Namespace n = namespace;
      Site s = site;
      List<Name> parts = d.name().parts();
      if (parts.size() > session.limits.nesting()) {
        session.error("limit/nesting", d.name().span(), "namespaces are nested deeper than " + session.limits.nesting());
        return null;
      }
      for (Name part : parts) {
        Symbol other = n.symbols().get(part.key());
        if (other != null) {
          session.duplicate(part.span(), part.text(), other.span());
        }
        n = n.openChild(part.key(), part.text());
        s = new Site(s, n, List.of());
      }
      if (d.internal()) {
        n.setInternal();
      }
      d.usings().forEach(s::addUsing);
      new Collector(n, s, from, depth + parts.size()).all(d.declarations());
      return null;
    }

    @Override
    public Void using(Declaration.Using d) {
      site.addUsing(d);
      return null;
    }

    @Override
    public Void globals(Declaration.Globals d) {
      fileGlobals.add(d);
      return null;
    }
  }

  // Lookup

  /** What a name means; at most one of the parts is present. */
  record Found(Symbol symbol, List<Symbol> ambiguous) {
    static final Found NONE = new Found(null, List.of());

    boolean isPresent() {
      return symbol != null || !ambiguous.isEmpty();
    }
  }

  private List<Namespace> opened(Site site) {
    if (site.opened() == null) {
      site.setOpened(List.of());
      List<Namespace> all = new ArrayList<>();
      for (Declaration.Using u : site.usings()) {
        for (QualifiedName q : u.names()) {
          Namespace n = namespaceAt(q.parts(), q.parts().size(), site);
          if (n == null) {
            session.unknownName(q.span(), "namespace " + q.text() + " is not declared", q.text(), namespacePaths());
          } else if (!visible(n, site)) {
            session.error("access/namespace", q.span(), "namespace " + n.path() + " is INTERNAL");
          } else {
            all.add(n);
          }
        }
      }
      site.setOpened(all);
    }
    return site.opened();
  }

  private List<String> namespacePaths() {
    List<String> all = new ArrayList<>();
    paths(global, all);
    return all;
  }

  private void paths(Namespace n, List<String> into) {
    for (Namespace c : n.children().values()) {
      into.add(c.path());
      paths(c, into);
    }
  }

  /** The first {@code count} names as a namespace, seen from a site; null when they are none. */
  Namespace namespaceAt(List<Name> parts, int count, Site site) {
    for (Site s = site; s != null; s = s.outer()) {
      if (s.namespace() == null) {
        continue;
      }
      Namespace n = s.namespace();
      for (int i = 0; i < count && n != null; i++) {
        n = n.child(parts.get(i).key());
      }
      if (n != null) {
        return n;
      }
    }
    return null;
  }

  /** A namespace child by one name, seen from a site. */
  Namespace namespaceNamed(String key, Site site) {
    for (Site s = site; s != null; s = s.outer()) {
      if (s.namespace() != null && s.namespace().child(key) != null) {
        return s.namespace().child(key);
      }
    }
    return null;
  }

  /** INTERNAL namespaces are usable only from inside the namespace directly around them. */
  boolean visible(Namespace n, Site from) {
    for (Namespace m = n; m != null; m = m.parent()) {
      if (m.isInternal() && !from.enclosing().isWithin(m.parent())) {
        return false;
      }
    }
    return true;
  }

  boolean visible(Symbol s, Site from) {
    return visible(s.namespace(), from) && (!s.isInternal() || from.enclosing().isWithin(s.namespace()));
  }

  /** A simple name seen from a site; libraries come last. */
  Found find(String key, Site site) {
    for (Site s = site; s != null; s = s.outer()) {
      if (s.namespace() != null) {
        Symbol own = s.namespace().symbols().get(key);
        if (own != null) {
          return new Found(own, List.of());
        }
      }
      List<Symbol> hits = new ArrayList<>();
      for (Namespace n : opened(s)) {
        Symbol hit = n.symbols().get(key);
        if (hit != null && visible(hit, site) && !hits.contains(hit)) {
          hits.add(hit);
        }
      }
      if (hits.size() == 1) {
        return new Found(hits.get(0), List.of());
      }
      if (!hits.isEmpty()) {
        return new Found(null, hits);
      }
    }
    Symbol fromLibrary = libraryElement(key);
    return fromLibrary == null ? Found.NONE : new Found(fromLibrary, List.of());
  }

  /** Enumerations that have a value of the name, those of the innermost scope that has any. */
  List<Symbol.TypeSymbol> enumerated(String key, Site site) {
    for (Site s = site; s != null; s = s.outer()) {
      List<Symbol.TypeSymbol> hits = new ArrayList<>();
      if (s.namespace() != null) {
        hits.addAll(s.namespace().enumerated(key));
      }
      for (Namespace n : opened(s)) {
        for (Symbol.TypeSymbol t : n.enumerated(key)) {
          if (visible(t, site) && !hits.contains(t)) {
            hits.add(t);
          }
        }
      }
      if (!hits.isEmpty()) {
        return hits;
      }
    }
    return library.enumerated(key);
  }

  /** A possibly qualified name; reports what is wrong with it and answers null then. */
  Symbol resolve(QualifiedName name, Site site, String what) {
    Found found;
    if (name.parts().size() == 1) {
      found = find(name.key(), site);
    } else {
      Namespace n = namespaceAt(name.parts(), name.parts().size() - 1, site);
      if (n == null) {
        Span prefix = name.parts().get(0).span().to(name.parts().get(name.parts().size() - 2).span());
        session.unknownName(prefix, "namespace " + prefix.text() + " is not declared", prefix.text(), namespacePaths());
        return null;
      }
      Symbol s = n.symbols().get(name.last().key());
      if (s == null) {
        session.unknownName(name.last().span(), name.last() + " is not declared in namespace " + n.path(), name.last().text(), names(n));
        return null;
      }
      found = new Found(s, List.of());
    }
    if (!found.ambiguous().isEmpty()) {
      ambiguous(name.span(), name.text(), found.ambiguous());
      return null;
    }
    if (found.symbol() == null) {
      String usual = what.equals("type") ? usualName(name.text()) : null;
      if (usual != null) {
        session.report(Diagnostic.error("name/unknown", name.span(), what + " " + name.text() + " is not declared")
            .withHint("the standard's name is " + usual));
      } else {
        session.unknownName(name.span(), what + " " + name.text() + " is not declared", name.text(), visibleNames(site));
      }
      return null;
    }
    if (!visible(found.symbol(), site)) {
      session.error("access/internal", name.span(), name.text() + " is INTERNAL in namespace " + found.symbol().namespace().path());
      return null;
    }
    return found.symbol();
  }

  void ambiguous(Span span, String name, List<Symbol> hits) {
    Diagnostic d = Diagnostic.error("name/ambiguous", span, name
        + " is declared in several opened namespaces; write it with its namespace");
    for (Symbol s : hits) {
      d = d.withRelated(s.span(), "declared here");
    }
    session.report(d);
  }

  private static List<String> names(Namespace n) {
    List<String> all = new ArrayList<>();
    n.symbols().values().forEach(s -> all.add(s.name().text()));
    return all;
  }

  /** Names that could be meant at a site, for hints. */
  List<String> visibleNames(Site site) {
    List<String> all = new ArrayList<>();
    if (!session.wantsHints()) {
      return all;
    }
    for (Site s = site; s != null; s = s.outer()) {
      if (s.namespace() != null) {
        all.addAll(names(s.namespace()));
        all.addAll(s.namespace().allEnumerated().keySet());
      }
      for (Namespace n : opened(s)) {
        all.addAll(names(n));
      }
    }
    Kinds.elementaryNames().forEach(all::add);
    if (libraryNames == null) {
      libraryNames = new ArrayList<>();
      session.libraries.forEach(l -> libraryNames.addAll(l.names()));
    }
    all.addAll(libraryNames);
    return all;
  }

  // Libraries

  /** An element of a library, parsed and entered when it is asked for the first time; null when no library has it. */
  Symbol libraryElement(String key) {
    Symbol known = library.symbols().get(key);
    if (known != null) {
      return known;
    }
    if (!asked.add(key)) {
      return null;
    }
    for (Library l : session.libraries) {
      Optional<SourceText> text = l.declaration(key);
      if (text.isPresent()) {
        SourceFile file = new StParser(session.problems, session.limits.nesting()).parse(text.get());
        new Collector(library, librarySite, l, 0).all(file.declarations());
        Symbol loaded = library.symbols().get(key);
        if (loaded == null) {
          session.error("library/declaration", new Span(text.get(), 0, 0),
              "library " + l.name() + " does not declare " + key + " in the text that it gives for it");
        }
        return loaded;
      }
    }
    return null;
  }
}
