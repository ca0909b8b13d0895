package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;
import java.util.Set;

/** A top-level element of a source file or namespace. */
public sealed interface Declaration {
  Span span();

  <R> R accept(Visitor<R> v);

  interface Visitor<R> {
    R types(Types d);

    R function(Function d);

    R functionBlock(FunctionBlock d);

    R classType(ClassType d);

    R interfaceType(InterfaceType d);

    R program(Program d);

    R configuration(Configuration d);

    R namespace(Namespace d);

    R using(Using d);

    R globals(Globals d);
  }

  enum Modifier { FINAL, ABSTRACT, OVERRIDE, PUBLIC, PRIVATE, PROTECTED, INTERNAL }

  /** {@code TYPE ... END_TYPE}. */
  record Types(Span span, boolean internal, List<TypeDefinition> definitions) implements Declaration {
    public Types {
      definitions = List.copyOf(definitions);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.types(this);
    }
  }

  record TypeDefinition(Span span, Name name, TypeSpec type, Optional<Initializer> initial) {}

  record Function(
      Span span, Name name, Set<Modifier> modifiers, Optional<TypeSpec> result, List<Using> usings, List<VarSection> sections, Body body,
      Documentation documentation)
      implements Declaration {
    public Function {
      modifiers = Set.copyOf(modifiers);
      usings = List.copyOf(usings);
      sections = List.copyOf(sections);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.function(this);
    }
  }

  record FunctionBlock(
      Span span, Name name, Set<Modifier> modifiers, Optional<QualifiedName> base, List<QualifiedName> interfaces, List<Using> usings,
      List<VarSection> sections, List<Method> methods, List<Property> properties, Body body, Documentation documentation)
      implements Declaration {
    public FunctionBlock {
      modifiers = Set.copyOf(modifiers);
      interfaces = List.copyOf(interfaces);
      usings = List.copyOf(usings);
      sections = List.copyOf(sections);
      methods = List.copyOf(methods);
      properties = List.copyOf(properties);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.functionBlock(this);
    }
  }

  record ClassType(
      Span span, Name name, Set<Modifier> modifiers, Optional<QualifiedName> base, List<QualifiedName> interfaces, List<Using> usings,
      List<VarSection> sections, List<Method> methods, List<Property> properties, Documentation documentation)
      implements Declaration {
    public ClassType {
      modifiers = Set.copyOf(modifiers);
      interfaces = List.copyOf(interfaces);
      usings = List.copyOf(usings);
      sections = List.copyOf(sections);
      methods = List.copyOf(methods);
      properties = List.copyOf(properties);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.classType(this);
    }
  }

  record InterfaceType(
      Span span, Name name, Set<Modifier> modifiers, List<QualifiedName> bases, List<Using> usings, List<Method> methods,
      List<Property> properties, Documentation documentation)
      implements Declaration {
    public InterfaceType {
      modifiers = Set.copyOf(modifiers);
      bases = List.copyOf(bases);
      usings = List.copyOf(usings);
      methods = List.copyOf(methods);
      properties = List.copyOf(properties);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.interfaceType(this);
    }
  }

  /** A method or method prototype; {@code body} is empty for a prototype or an ABSTRACT method. */
  record Method(
      Span span, Name name, Set<Modifier> modifiers, Optional<TypeSpec> result, List<VarSection> sections, Optional<Body> body) {
    public Method {
      modifiers = Set.copyOf(modifiers);
      sections = List.copyOf(sections);
    }
  }

  /**
   * {@code PROPERTY PUBLIC level : REAL GET ... END_GET SET ... END_SET END_PROPERTY} (edition 4); the setter's value has the property's
   * name.
   */
  record Property(Span span, Name name, Set<Modifier> modifiers, TypeSpec type, Optional<Accessor> getter, Optional<Accessor> setter) {
    public Property {
      modifiers = Set.copyOf(modifiers);
    }
  }

  /** GET or SET part; {@code body} is empty in an interface. */
  record Accessor(Span span, List<VarSection> sections, Optional<Body> body) {
    public Accessor {
      sections = List.copyOf(sections);
    }
  }

  record Program(Span span, Name name, List<Using> usings, List<VarSection> sections, Body body, Documentation documentation)
      implements Declaration {
    public Program {
      usings = List.copyOf(usings);
      sections = List.copyOf(sections);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.program(this);
    }
  }

  record Namespace(Span span, QualifiedName name, boolean internal, List<Using> usings, List<Declaration> declarations)
      implements Declaration {
    public Namespace {
      usings = List.copyOf(usings);
      declarations = List.copyOf(declarations);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.namespace(this);
    }
  }

  record Using(Span span, List<QualifiedName> names) implements Declaration {
    public Using {
      names = List.copyOf(names);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.using(this);
    }
  }

  /** VAR_GLOBAL at the top level of a file: an extension, warned about. */
  record Globals(Span span, VarSection section) implements Declaration {
    @Override
    public <R> R accept(Visitor<R> v) {
      return v.globals(this);
    }
  }

  /** {@code CONFIGURATION ... END_CONFIGURATION} (Table 62). A configuration with tasks but no RESOURCE has one nameless resource. */
  record Configuration(Span span, Name name, List<VarSection> sections, List<Resource> resources, List<ConfigVariable> configVariables)
      implements Declaration {
    public Configuration {
      sections = List.copyOf(sections);
      resources = List.copyOf(resources);
      configVariables = List.copyOf(configVariables);
    }

    @Override
    public <R> R accept(Visitor<R> v) {
      return v.configuration(this);
    }
  }

  record Resource(
      Span span, Optional<Name> name, Optional<Name> on, List<VarSection> sections, List<Task> tasks, List<ProgramInstance> programs) {
    public Resource {
      sections = List.copyOf(sections);
      tasks = List.copyOf(tasks);
      programs = List.copyOf(programs);
    }
  }

  /** {@code TASK t(SINGLE := x, INTERVAL := T#10ms, PRIORITY := 1);}. */
  record Task(Span span, Name name, Optional<Expression> single, Optional<Expression> interval, Optional<Expression> priority) {}

  /** {@code PROGRAM p WITH t : Main (a := %IX0, q => %QX0, fb WITH fast);}. */
  record ProgramInstance(
      Span span, Name name, Optional<Retention> retention, Optional<Name> task, QualifiedName type, List<Expression.Argument> connections,
      List<BlockTask> blockTasks) {
    public ProgramInstance {
      connections = List.copyOf(connections);
      blockTasks = List.copyOf(blockTasks);
    }
  }

  record BlockTask(Span span, QualifiedName block, Name task) {}

  enum Retention { RETAIN, NON_RETAIN }

  /** One entry of VAR_CONFIG: {@code R1.p1.x AT %IX0.0 : BOOL := TRUE;}. */
  record ConfigVariable(Span span, QualifiedName path, Optional<DirectAddress> at, TypeSpec type, Optional<Initializer> initial) {}

  enum SectionKind { INPUT, OUTPUT, IN_OUT, TEMP, LOCAL, EXTERNAL, GLOBAL, ACCESS }

  /** {@code VAR... END_VAR}. {@code access} is PUBLIC, PRIVATE, PROTECTED or INTERNAL where written. */
  record VarSection(
      Span span, SectionKind kind, boolean constant, Optional<Retention> retention, Optional<Modifier> access,
          List<VarDeclaration> variables,
      List<AccessPath> accessPaths) {
    public VarSection {
      variables = List.copyOf(variables);
      accessPaths = List.copyOf(accessPaths);
    }
  }

  enum Edge { NONE, RISING, FALLING }

  /** {@code a, b AT %IX0.0 : BOOL R_EDGE := TRUE;}. */
  record VarDeclaration(
      Span span, List<Name> names, Optional<DirectAddress> at, TypeSpec type, Edge edge, Optional<Initializer> initial,
      Documentation documentation) {
    public VarDeclaration {
      names = List.copyOf(names);
    }
  }

  /**
   * One entry of VAR_ACCESS: {@code name : path : type READ_WRITE;}. {@code resource} is present only where the path is a direct variable
   * of a named resource: {@code R1.%IX1.1} has resource R1 and path %IX1.1.
   */
  record AccessPath(Span span, Name name, Optional<Name> resource, Expression path, TypeSpec type, boolean writable) {}

  /** The comment that stands directly in front of a declaration (or behind it on its line), without its marks; empty without one. */
  record Documentation(String text) {
    public static final Documentation NONE = new Documentation("");
  }
}
