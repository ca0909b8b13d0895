package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Declaration.Modifier;
import dev.scanloom.internal.syntax.Declaration.SectionKind;
import dev.scanloom.internal.syntax.Expression.LiteralKind;
import dev.scanloom.internal.syntax.grammar.ScanloomParser;
import java.util.ArrayList;
import java.util.EnumSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.antlr.v4.runtime.ParserRuleContext;
import org.antlr.v4.runtime.Token;
import org.antlr.v4.runtime.tree.ParseTree;
import org.antlr.v4.runtime.tree.TerminalNode;

/**
 * Parse tree to records. Copes with whatever the parser's recovery leaves: parts that are missing become {@code Erroneous} nodes or are
 * left
 * out. What the grammar takes widely is checked here: names where names must stand, calls as statements, the kinds of arguments, literals.
 */
final class TreeBuilder {
  private final SourceText source;
  private final Problems problems;
  private final int maxNesting;
  private final TokenList tokens;
  private final Remarks remarks;

  TreeBuilder(SourceText source, Problems problems, int maxNesting, TokenList tokens, Remarks remarks) {
    this.source = source;
    this.problems = problems;
    this.maxNesting = maxNesting;
    this.tokens = tokens;
    this.remarks = remarks;
  }

  // Spans and tokens

  private Span span(Token t) {
    int start = Math.min(t.getStartIndex(), source.length());
    return new Span(source, start, Math.max(start, Math.min(t.getStopIndex() + 1, source.length())));
  }

  private Span span(ParserRuleContext c) {
    Token start = c.getStart();
    if (start == null) {
      return new Span(source, 0, 0);
    }
    int from = Math.min(start.getStartIndex(), source.length());
    if (isEmpty(c)) {
      // something that is not there stands behind the token in front, unless what it belongs to only begins here
      ParserRuleContext parent = c.getParent();
      boolean first = parent != null && parent.getStart() == start && !isEmpty(parent);
      int place = first || start.getTokenIndex() < 1 ? from : Math.min(from, tokens.get(start.getTokenIndex() - 1).getStopIndex() + 1);
      return new Span(source, place, place);
    }
    return new Span(source, from, Math.min(c.getStop().getStopIndex() + 1, source.length()));
  }

  private static boolean isEmpty(ParserRuleContext c) {
    return c.getStop() == null || c.getStop().getTokenIndex() < c.getStart().getTokenIndex()
        || c.getStop().getStopIndex() + 1 <= c.getStart().getStartIndex();
  }

  private Span span(int from, int to) {
    return new Span(source, from, Math.max(from, to));
  }

  private static boolean has(TerminalNode node) {
    return node != null;
  }

  private void error(String code, Span span, String message) {
    problems.error(code, span, message);
  }

  /** Reports what does not belong at a place, unless something has been said about it already. */
  private void unexpected(Token first, Span span, String expected) {
    if (!((ScanToken) first).faulty()) {
      ((ScanToken) first).markFaulty();
      error("syntax/expected", span, "expected " + expected + ", found " + Recovery.describe(first));
    }
  }

  // Names

  private Name name(IdentifierContext c) {
    if (c == null || c.getStart() == null || c.exception != null) {
      return new Name(c == null ? span(0, 0) : span(span(c).start(), span(c).start()), "");
    }
    if (c.getStop() == null || c.getStop().getTokenIndex() < c.getStart().getTokenIndex()) {
      return new Name(span(c), "");
    }
    return new Name(span(c), c.getStart().getText());
  }

  private static boolean missing(IdentifierContext c) {
    return c == null || c.exception != null || c.getStop() == null || c.getStop().getTokenIndex() < c.getStart().getTokenIndex();
  }

  private QualifiedName qualified(QualifiedNameContext c) {
    List<Name> parts = new ArrayList<>();
    for (IdentifierContext part : c.identifier()) {
      parts.add(name(part));
    }
    if (parts.isEmpty()) {
      parts.add(new Name(span(c), ""));
    }
    return new QualifiedName(span(c), parts);
  }

  private List<QualifiedName> qualifiedNames(List<QualifiedNameContext> list) {
    List<QualifiedName> names = new ArrayList<>();
    for (QualifiedNameContext c : list) {
      names.add(qualified(c));
    }
    return names;
  }

  private Set<Modifier> modifiers(List<ModifierContext> list) {
    Set<Modifier> set = EnumSet.noneOf(Modifier.class);
    for (ModifierContext c : list) {
      if (c.getStop() == null) {
        continue;
      }
      Modifier m = Modifier.valueOf(Words.spelling(c.getStart().getType()));
      if (!set.add(m)) {
        error("syntax/expected", span(c), m + " stands twice");
      }
    }
    return set;
  }

  // Declarations

  Optional<Declaration> declaration(DeclarationContext c) {
    ParseTree child = c.getChildCount() == 0 ? null : c.getChild(0);
    if (child instanceof NamespaceDeclarationContext d) {
      return Optional.of(namespace(d));
    } else if (child instanceof UsingDirectiveContext d) {
      return Optional.of(using(d));
    } else if (child instanceof TypeDeclarationsContext d) {
      return Optional.of(types(d));
    } else if (child instanceof FunctionDeclarationContext d) {
      return Optional.of(function(d));
    } else if (child instanceof FunctionBlockDeclarationContext d) {
      return Optional.of(functionBlock(d));
    } else if (child instanceof ClassDeclarationContext d) {
      return Optional.of(classType(d));
    } else if (child instanceof InterfaceDeclarationContext d) {
      return Optional.of(interfaceType(d));
    } else if (child instanceof ProgramDeclarationContext d) {
      return Optional.of(program(d));
    } else if (child instanceof ConfigurationDeclarationContext d) {
      return Optional.of(configuration(d));
    } else if (child instanceof VariableSectionContext d) {
      return globals(d);
    }
    return Optional.empty();
  }

  private Optional<Declaration> globals(VariableSectionContext d) {
    if (d.VAR_GLOBAL() == null) {
      unexpected(d.getStart(), span(d.getStart()), "a declaration such as PROGRAM, FUNCTION_BLOCK or TYPE");
      return Optional.empty();
    }
    problems.add(Diagnostic.warning("syntax/extension", span(d.getStart()),
        "VAR_GLOBAL outside a configuration, resource or program is an extension of the standard"));
    return Optional.of(new Declaration.Globals(span(d), section(d)));
  }

  private Declaration namespace(NamespaceDeclarationContext c) {
    List<Declaration.Using> usings = new ArrayList<>();
    List<Declaration> all = new ArrayList<>();
    for (NamespaceElementContext e : c.namespaceElement()) {
      if (e.declaration() != null) {
        declaration(e.declaration()).ifPresent(d -> {
          if (d instanceof Declaration.Using u) {
            usings.add(u);
          } else {
            all.add(d);
          }
        });
      }
    }
    QualifiedName name = c.qualifiedName() == null ? new QualifiedName(span(c), List.of(new Name(span(c), "")))
        : qualified(c.qualifiedName());
    return new Declaration.Namespace(span(c), name, has(c.INTERNAL()), usings, all);
  }

  private Declaration.Using using(UsingDirectiveContext c) {
    return new Declaration.Using(span(c), qualifiedNames(c.qualifiedName()));
  }

  private List<Declaration.Using> usings(List<UsingDirectiveContext> list) {
    List<Declaration.Using> usings = new ArrayList<>();
    for (UsingDirectiveContext c : list) {
      usings.add(using(c));
    }
    return usings;
  }

  private Declaration function(FunctionDeclarationContext c) {
    Body body = body(c.body(), c);
    Name name = name(c.identifier());
    // Only a library declares the functions that operators are called by, AND(a, b, c); the token reader let the word through.
    if (!(body instanceof Body.Bound) && TokenRepair.isOperatorWord(name.text())) {
      problems.error("syntax/keyword", name.span(), name.text() + " is a keyword and cannot be a name; expected an identifier");
    }
    return new Declaration.Function(span(c), name, modifiers(c.modifier()), optionalType(c.typeSpecification()),
        usings(c.usingDirective()), sections(c.variableSection()), body, remarks.documentation(c.getStart().getTokenIndex()));
  }

  private Declaration functionBlock(FunctionBlockDeclarationContext c) {
    Members m = new Members(c.member());
    List<QualifiedName> bases = bases(c.extension());
    return new Declaration.FunctionBlock(span(c), name(c.identifier()), modifiers(c.modifier()), bases.stream().findFirst(),
        interfaces(c.implementation()), usings(c.usingDirective()), m.sections, m.methods, m.properties, body(c.body(), c),
        remarks.documentation(c.getStart().getTokenIndex()));
  }

  private Declaration classType(ClassDeclarationContext c) {
    Members m = new Members(c.member());
    List<QualifiedName> bases = bases(c.extension());
    return new Declaration.ClassType(span(c), name(c.identifier()), modifiers(c.modifier()), bases.stream().findFirst(),
        interfaces(c.implementation()), usings(c.usingDirective()), m.sections, m.methods, m.properties,
            remarks.documentation(c.getStart().getTokenIndex()));
  }

  private Declaration interfaceType(InterfaceDeclarationContext c) {
    Members m = new Members(c.member());
    List<QualifiedName> bases = new ArrayList<>();
    for (ExtensionContext e : c.extension()) {
      bases.addAll(qualifiedNames(e.qualifiedName()));
    }
    for (Declaration.VarSection s : m.sections) {
      error("syntax/expected", s.span(), "an interface declares methods and properties only; found a section of variables");
    }
    return new Declaration.InterfaceType(span(c), name(c.identifier()), modifiers(c.modifier()), bases, usings(c.usingDirective()),
        m.methods, m.properties, remarks.documentation(c.getStart().getTokenIndex()));
  }

  private List<QualifiedName> bases(List<ExtensionContext> list) {
    List<QualifiedName> bases = new ArrayList<>();
    for (ExtensionContext e : list) {
      bases.addAll(qualifiedNames(e.qualifiedName()));
    }
    if (bases.size() > 1) {
      error("syntax/expected", bases.get(1).span(), "EXTENDS names one base here; expected IMPLEMENTS, a section or a method");
    }
    return bases;
  }

  private List<QualifiedName> interfaces(List<ImplementationContext> list) {
    List<QualifiedName> all = new ArrayList<>();
    for (ImplementationContext i : list) {
      all.addAll(qualifiedNames(i.qualifiedName()));
    }
    return all;
  }

  private Declaration program(ProgramDeclarationContext c) {
    return new Declaration.Program(span(c), name(c.identifier()), usings(c.usingDirective()), sections(c.variableSection()),
        body(c.body(), c), remarks.documentation(c.getStart().getTokenIndex()));
  }

  /** Sections, methods and properties of a function block, class or interface. */
  private final class Members {
    final List<Declaration.VarSection> sections = new ArrayList<>();
    final List<Declaration.Method> methods = new ArrayList<>();
    final List<Declaration.Property> properties = new ArrayList<>();

    Members(List<MemberContext> members) {
      for (MemberContext c : members) {
        if (c.variableSection() != null) {
          sections.add(section(c.variableSection()));
        } else if (c.methodDeclaration() != null) {
          methods.add(method(c.methodDeclaration()));
        } else if (c.propertyDeclaration() != null) {
          properties.add(property(c.propertyDeclaration()));
        } else if (c.accessorDeclaration() != null) {
          accessorOfItsOwn(c.accessorDeclaration());
        }
      }
    }

    private void accessorOfItsOwn(AccessorDeclarationContext c) {
      if (c.typeSpecification() == null) {
        return;
      }
      Optional<TypeSpec> type = type(c.typeSpecification());
      if (type.isEmpty()) {
        return;
      }
      Name name = name(c.identifier());
      boolean get = c.PROPERTY_GET() != null;
      Declaration.Accessor accessor = new Declaration.Accessor(span(c), sections(c.variableSection()), optionalBody(c.body(), c));
      for (int i = 0; i < properties.size(); i++) {
        Declaration.Property p = properties.get(i);
        if (p.name().key().equals(name.key()) && (get ? p.getter() : p.setter()).isEmpty()) {
          Set<Modifier> all = EnumSet.noneOf(Modifier.class);
          all.addAll(p.modifiers());
          all.addAll(modifiers(c.modifier()));
          properties.set(i, new Declaration.Property(p.span(), p.name(), all, p.type(), get ? Optional.of(accessor) : p.getter(),
              get ? p.setter() : Optional.of(accessor)));
          return;
        }
      }
      properties.add(new Declaration.Property(span(c), name, modifiers(c.modifier()), type.get(),
          get ? Optional.of(accessor) : Optional.empty(), get ? Optional.empty() : Optional.of(accessor)));
    }
  }

  private Declaration.Method method(MethodDeclarationContext c) {
    Set<Modifier> modifiers = modifiers(c.modifier());
    boolean prototype = modifiers.contains(Modifier.ABSTRACT) || c.getParent().getParent() instanceof InterfaceDeclarationContext;
    return new Declaration.Method(span(c), name(c.identifier()), modifiers, optionalType(c.typeSpecification()),
        sections(c.variableSection()), prototype ? optionalBody(c.body(), c) : Optional.of(body(c.body(), c)));
  }

  private Declaration.Property property(PropertyDeclarationContext c) {
    Optional<Declaration.Accessor> getter = Optional.empty();
    Optional<Declaration.Accessor> setter = Optional.empty();
    Set<Modifier> modifiers = modifiers(c.modifier());
    boolean prototype = modifiers.contains(Modifier.ABSTRACT) || c.getParent().getParent() instanceof InterfaceDeclarationContext;
    for (AccessorContext a : c.accessor()) {
      boolean get = a.GET() != null || a.PROPERTY_GET() != null;
      if ((get ? getter : setter).isPresent()) {
        error("syntax/expected", span(a.getStart()), "this property has two " + (get ? "GET" : "SET") + " parts; expected END_PROPERTY");
        continue;
      }
      Declaration.Accessor accessor = new Declaration.Accessor(span(a), sections(a.variableSection()),
          prototype ? optionalBody(a.body(), a) : Optional.of(body(a.body(), a)));
      getter = get ? Optional.of(accessor) : getter;
      setter = get ? setter : Optional.of(accessor);
    }
    TypeSpec type = optionalType(c.typeSpecification())
        .orElseGet(() -> new TypeSpec.Named(span(c.getStart()), new QualifiedName(span(c.getStart()),
            List.of(new Name(span(c.getStart()), "")))));
    return new Declaration.Property(span(c), name(c.identifier()), modifiers, type, getter, setter);
  }

  // Sections

  private List<Declaration.VarSection> sections(List<VariableSectionContext> list) {
    List<Declaration.VarSection> sections = new ArrayList<>();
    for (VariableSectionContext c : list) {
      sections.add(section(c));
    }
    return sections;
  }

  private Declaration.VarSection section(VariableSectionContext c) {
    if (c.accessSection() != null) {
      return accessSection(c.accessSection());
    }
    boolean constant = false;
    Optional<Declaration.Retention> retention = Optional.empty();
    Optional<Modifier> access = Optional.empty();
    for (SectionQualifierContext q : c.sectionQualifier()) {
      switch (q.getStart().getType()) {
        case CONSTANT -> {
          twice(constant, q);
          constant = true;
        }
        case RETAIN, NON_RETAIN -> {
          twice(retention.isPresent(), q);
          retention = Optional.of(q.RETAIN() != null ? Declaration.Retention.RETAIN : Declaration.Retention.NON_RETAIN);
        }
        case PUBLIC, PRIVATE, PROTECTED, INTERNAL -> {
          twice(access.isPresent(), q);
          access = Optional.of(Modifier.valueOf(Words.spelling(q.getStart().getType())));
        }
        default -> {
          // the parser has reported it
        }
      }
    }
    SectionKind kind = switch (c.getStart().getType()) {
      case VAR_INPUT -> SectionKind.INPUT;
      case VAR_OUTPUT -> SectionKind.OUTPUT;
      case VAR_IN_OUT -> SectionKind.IN_OUT;
      case VAR_TEMP -> SectionKind.TEMP;
      case VAR_EXTERNAL -> SectionKind.EXTERNAL;
      case VAR_GLOBAL -> SectionKind.GLOBAL;
      default -> SectionKind.LOCAL;
    };
    List<Declaration.VarDeclaration> variables = new ArrayList<>();
    for (VariableDeclarationContext v : c.variableDeclaration()) {
      variable(v, kind).ifPresent(variables::add);
    }
    return new Declaration.VarSection(span(c), kind, constant, retention, access, variables, List.of());
  }

  private void twice(boolean before, SectionQualifierContext q) {
    if (before) {
      error("syntax/expected", span(q), "this section has two qualifiers of the kind of " + q.getText().toUpperCase(Locale.ROOT));
    }
  }

  private Optional<Declaration.VarDeclaration> variable(VariableDeclarationContext c, SectionKind kind) {
    Optional<TypeSpec> type = c.typeSpecification() == null ? Optional.empty() : type(c.typeSpecification());
    if (type.isEmpty()) {
      return Optional.empty();
    }
    List<Name> names = new ArrayList<>();
    for (IdentifierContext i : c.identifier()) {
      if (!missing(i)) {
        names.add(name(i));
      }
    }
    Optional<DirectAddress> at = c.DIRECT() == null ? Optional.empty() : address(c.DIRECT().getSymbol(), false);
    if (names.isEmpty() && at.isEmpty()) {
      return Optional.empty();
    }
    Declaration.Edge edge = c.R_EDGE() != null ? Declaration.Edge.RISING : c.F_EDGE() != null ? Declaration.Edge.FALLING
        : Declaration.Edge.NONE;
    if (edge != Declaration.Edge.NONE && kind != SectionKind.INPUT) {
      TerminalNode word = c.R_EDGE() != null ? c.R_EDGE() : c.F_EDGE();
      error("syntax/expected", span(word.getSymbol()), word.getText().toUpperCase(Locale.ROOT) + " may stand in VAR_INPUT only");
    }
    return Optional.of(new Declaration.VarDeclaration(span(c), names, at, type.get(), edge, optionalInitial(c.initialValue()),
        remarks.documentation(c.getStart().getTokenIndex(), c.getStop() == null ? -1 : c.getStop().getTokenIndex())));
  }

  private Declaration.VarSection accessSection(AccessSectionContext c) {
    List<Declaration.AccessPath> paths = new ArrayList<>();
    for (AccessDeclarationContext a : c.accessDeclaration()) {
      Optional<TypeSpec> type = a.typeSpecification() == null ? Optional.empty() : type(a.typeSpecification());
      if (type.isPresent() && a.variable() != null) {
        Optional<Name> resource = resourceOfDirect(a.variable());
        Expression path = resource.isPresent() ? directBehindName(a.variable()) : variable(a.variable());
        paths.add(new Declaration.AccessPath(span(a), name(a.identifier()), resource, path, type.get(), a.READ_WRITE() != null));
      }
    }
    return new Declaration.VarSection(span(c), SectionKind.ACCESS, false, Optional.empty(), Optional.empty(), List.of(), paths);
  }

  /** R1 of {@code R1.%IX1.1}. */
  private Optional<Name> resourceOfDirect(VariableContext c) {
    boolean direct = c.selector().size() == 1 && c.selector(0).DIRECT() != null && c.variableRoot() != null
        && c.variableRoot().identifier() != null && Nodes.areaOf(c.selector(0).DIRECT().getText()) != 0;
    return direct ? Optional.of(name(c.variableRoot().identifier())) : Optional.empty();
  }

  private Expression directBehindName(VariableContext c) {
    Token token = c.selector(0).DIRECT().getSymbol();
    return direct(token, span(token));
  }

  // Direct variables (Table 16)

  private Expression direct(Token token, Span span) {
    Optional<DirectAddress> address = address(token, false);
    return address.isPresent() ? new Expression.Direct(span, address.get()) : new Expression.Erroneous(span);
  }

  private Optional<DirectAddress> address(Token token, boolean relative) {
    Optional<DirectAddress> address = Nodes.address(source, token, relative);
    if (address.isEmpty() && !((ScanToken) token).faulty()) {
      ((ScanToken) token).markFaulty();
      error("syntax/literal", span(token), "'" + token.getText() + "' is no " + (relative
          ? "relative address; expected % with X, B, W, D or L"
          + " and a number" : "direct variable; expected % with I, Q or M, then X, B, W, D or L, then numbers or *"));
    }
    return address;
  }

  // Types (Table 11)

  private Declaration types(TypeDeclarationsContext c) {
    List<Declaration.TypeDefinition> all = new ArrayList<>();
    for (TypeDefinitionContext d : c.typeDefinition()) {
      if (d.typeSpecification() == null || missing(d.identifier())) {
        continue;
      }
      type(d.typeSpecification()).ifPresent(type -> all.add(
          new Declaration.TypeDefinition(span(d), name(d.identifier()), type, optionalInitial(d.initialValue()))));
    }
    return new Declaration.Types(span(c), has(c.INTERNAL()), all);
  }

  private Optional<TypeSpec> optionalType(TypeSpecificationContext c) {
    return c == null ? Optional.empty() : type(c);
  }

  private Optional<TypeSpec> type(TypeSpecificationContext c) {
    if (c.REF_TO() != null) {
      return c.typeSpecification() == null ? Optional.empty()
          : type(c.typeSpecification()).map(target -> new TypeSpec.Reference(span(c), target));
    } else if (c.arrayType() != null) {
      return arrayType(c.arrayType());
    } else if (c.structureType() != null) {
      return Optional.of(structureType(c.structureType()));
    } else if (c.enumerationType() != null && c.enumerationType().valueList() != null) {
      return values(span(c), Optional.empty(), c.enumerationType().valueList());
    } else if (c.namedType() != null) {
      return namedType(c.namedType());
    }
    return Optional.empty();
  }

  private Optional<TypeSpec> namedType(NamedTypeContext c) {
    if (c.qualifiedName() == null || c.qualifiedName().identifier().stream().anyMatch(TreeBuilder::missing)) {
      return Optional.empty();
    }
    QualifiedName name = qualified(c.qualifiedName());
    if (c.valueList() != null) {
      return values(span(c), Optional.of(name), c.valueList());
    }
    if (c.LBRACKET() != null) {
      if (name.parts().size() > 1) {
        error("syntax/expected", span(c.LBRACKET().getSymbol()), "a length in brackets may follow STRING, WSTRING or USTRING only");
        return Optional.of(new TypeSpec.Named(name.span(), name));
      }
      return Optional.of(new TypeSpec.Str(span(c), name.last(), expression(c.expression())));
    }
    return Optional.of(new TypeSpec.Named(span(c), name));
  }

  private Optional<TypeSpec> values(Span span, Optional<QualifiedName> base, ValueListContext c) {
    if (c.RANGE() != null) {
      EnumeratedValueContext low = c.enumeratedValue(0);
      if (base.isEmpty() || low.ASSIGN() != null) {
        error("syntax/expected", span(c.RANGE().getSymbol()), base.isEmpty()
            ? "a subrange needs the name of its integer type in front of the parenthesis" : "expected ')', found '..'");
        return Optional.empty();
      }
      return Optional.of(new TypeSpec.Subrange(span, base.get(), expression(low.expression(0)), expression(c.expression())));
    }
    List<TypeSpec.EnumValue> values = new ArrayList<>();
    for (EnumeratedValueContext v : c.enumeratedValue()) {
      if (v.expression().isEmpty()) {
        continue;
      }
      Expression written = expression(v.expression(0));
      if (written instanceof Expression.Ident ident) {
        values.add(new TypeSpec.EnumValue(span(v), ident.name(),
            v.ASSIGN() == null ? Optional.empty() : Optional.of(expression(v.expression(1)))));
      } else if (!(written instanceof Expression.Erroneous)) {
        unexpected(v.getStart(), span(v), "the name of an enumerated value");
      }
    }
    return Optional.of(new TypeSpec.Enumeration(span, base, values));
  }

  private Optional<TypeSpec> arrayType(ArrayTypeContext c) {
    if (c.typeSpecification() == null || c.dimension().isEmpty()) {
      return Optional.empty();
    }
    List<TypeSpec.Dimension> dimensions = new ArrayList<>();
    for (DimensionContext d : c.dimension()) {
      dimensions.add(d.TIMES() != null ? new TypeSpec.Dimension(span(d), Optional.empty(), Optional.empty())
          : new TypeSpec.Dimension(span(d), Optional.of(expression(d.expression(0))), Optional.of(expression(d.expression(1)))));
    }
    return type(c.typeSpecification()).map(element -> new TypeSpec.Array(span(c), dimensions, element));
  }

  private TypeSpec structureType(StructureTypeContext c) {
    List<TypeSpec.Field> fields = new ArrayList<>();
    for (StructureElementContext e : c.structureElement()) {
      if (e.typeSpecification() == null || missing(e.identifier())) {
        continue;
      }
      Optional<DirectAddress> at = e.DIRECT() == null ? Optional.empty() : address(e.DIRECT().getSymbol(), true);
      type(e.typeSpecification()).ifPresent(type ->
          fields.add(new TypeSpec.Field(span(e), name(e.identifier()), at, type, optionalInitial(e.initialValue()))));
    }
    return new TypeSpec.Structure(span(c), has(c.OVERLAP()), fields);
  }

  // Initial values (Table 14)

  private Optional<Initializer> optionalInitial(InitialValueContext c) {
    return c == null ? Optional.empty() : Optional.of(initial(c));
  }

  private Initializer initial(InitialValueContext c) {
    if (c.arrayInitialization() != null) {
      return arrayInitial(c.arrayInitialization());
    }
    if (c.expression() != null) {
      return initial(c.expression());
    }
    return new Initializer.Value(span(c), new Expression.Erroneous(span(c)));
  }

  private Initializer initial(ExpressionContext c) {
    List<ArgumentContext> members = structureMembers(c);
    if (members != null) {
      List<Initializer.Member> list = new ArrayList<>();
      for (ArgumentContext a : members) {
        member(a).ifPresent(list::add);
      }
      return new Initializer.Structure(span(c), list);
    }
    Expression value = expression(c);
    return new Initializer.Value(value.span(), value);
  }

  /** The arguments of {@code (x := 1, y := 2)} if the expression has that form, else null. */
  private static List<ArgumentContext> structureMembers(ExpressionContext c) {
    if (c.operand().size() != 1 || c.operand(0).getChildCount() != 1 || c.operand(0).primary() == null
        || c.operand(0).primary().parenthesized() == null) {
      return null;
    }
    List<ArgumentContext> arguments = c.operand(0).primary().parenthesized().argument();
    return !arguments.isEmpty() && arguments.get(0).ASSIGN() != null ? arguments : null;
  }

  private Optional<Initializer.Member> member(ArgumentContext a) {
    if (a.ASSIGN() == null || a.initialValue() == null) {
      if (a.exception == null) {
        unexpected(a.getStart(), span(a), "name := value");
      }
      return Optional.empty();
    }
    Expression name = expression(a.expression());
    if (!(name instanceof Expression.Ident ident)) {
      unexpected(a.getStart(), span(a.expression()), "the name of an element");
      return Optional.empty();
    }
    return Optional.of(new Initializer.Member(span(a), ident.name(), initial(a.initialValue())));
  }

  private Initializer arrayInitial(ArrayInitializationContext c) {
    List<Initializer.Element> elements = new ArrayList<>();
    for (InitialValueContext v : c.initialValue()) {
      elements.add(element(v));
    }
    return new Initializer.Array(span(c), elements);
  }

  private Initializer.Element element(InitialValueContext c) {
    ExpressionContext e = c.expression();
    PrimaryContext primary = e != null && e.operand().size() == 1 && e.operand(0).getChildCount() == 1 ? e.operand(0).primary() : null;
    if (primary == null || primary.literal() == null || primary.arguments() == null) {
      return new Initializer.Element(span(c), Optional.empty(), Optional.of(initial(c)));
    }
    Expression count = literal(primary.literal());
    List<ArgumentContext> arguments = primary.arguments().argument();
    if (arguments.size() > 1) {
      unexpected(arguments.get(1).getStart(), span(arguments.get(1)), "')'");
    }
    Optional<Initializer> value = arguments.isEmpty() ? Optional.empty() : Optional.of(repeated(arguments.get(0)));
    return new Initializer.Element(span(c), Optional.of(count), value);
  }

  private Initializer repeated(ArgumentContext a) {
    if (a.arrayInitialization() != null) {
      return arrayInitial(a.arrayInitialization());
    }
    if (a.ASSIGN() != null) {
      // 2(x := 1): one pair of parentheses for the repetition and the structure
      Optional<Initializer.Member> member = member(a);
      return new Initializer.Structure(span(a), member.map(List::of).orElse(List.of()));
    }
    if (a.expression() == null) {
      return new Initializer.Value(span(a), new Expression.Erroneous(span(a)));
    }
    return initial(a.expression());
  }

  // Bodies

  private Optional<Body> optionalBody(BodyContext c, ParserRuleContext owner) {
    Body body = body(c, owner);
    return body instanceof Body.Text text && text.statements().isEmpty() ? Optional.empty() : Optional.of(body);
  }

  private Body body(BodyContext c, ParserRuleContext owner) {
    if (c == null) {
      return new Body.Text(span(span(owner).end(), span(owner).end()), List.of());
    }
    if ((c.DRAWING() != null || !c.chartElement().isEmpty()) && c.statementList() != null && !c.statementList().statement().isEmpty()) {
      StatementContext first = c.statementList().statement(0);
      unexpected(first.getStart(), span(first.getStart()), "the end keyword of this body, which is "
          + (c.DRAWING() != null ? "a ladder drawing" : "a sequential function chart"));
    }
    if (c.DRAWING() != null) {
      return new Body.Drawing(span(c.DRAWING().getSymbol()));
    }
    if (c.INSTRUCTION_LIST() != null) {
      Span span = span(c.INSTRUCTION_LIST().getSymbol());
      return new Body.Text(span, List.of(new Statement.Erroneous(span)));
    }
    if (!c.chartElement().isEmpty()) {
      List<Body.SfcElement> elements = new ArrayList<>();
      for (ChartElementContext e : c.chartElement()) {
        chartElement(e).ifPresent(elements::add);
      }
      return new Body.Chart(span(c.chartElement(0)).to(span(c.chartElement(c.chartElement().size() - 1))), elements);
    }
    List<Statement> statements = c.statementList() == null ? List.of() : statements(c.statementList());
    if (statements.isEmpty() && c.getStart() != null) {
      Optional<Pragma> pragma = remarks.binding(c.getStart().getTokenIndex());
      if (pragma.isPresent()) {
        return new Body.Bound(pragma.get().span(), pragma.get());
      }
    }
    return new Body.Text(span(c), statements);
  }

  // Sequential function chart (Tables 54 to 60)

  private Optional<Body.SfcElement> chartElement(ChartElementContext c) {
    if (c.step() != null) {
      List<Body.Association> actions = new ArrayList<>();
      for (ActionAssociationContext a : c.step().actionAssociation()) {
        actions.add(association(a));
      }
      return Optional.of(new Body.Step(span(c), name(c.step().identifier()), c.step().INITIAL_STEP() != null, actions));
    } else if (c.action() != null) {
      return Optional.of(new Body.Action(span(c), name(c.action().identifier()), body(c.action().body(), c)));
    } else if (c.transition() != null) {
      return Optional.of(transition(c.transition()));
    }
    return Optional.empty();
  }

  private static final Set<String> QUALIFIERS = Set.of("N", "R", "S", "L", "D", "P", "SD", "DS", "SL", "P1", "P0");
  private static final Set<String> TIMED = Set.of("L", "D", "SD", "DS", "SL");

  private Body.Association association(ActionAssociationContext c) {
    Optional<Name> qualifier = Optional.empty();
    Optional<Expression> duration = Optional.empty();
    List<Name> indicators = new ArrayList<>();
    List<ExpressionContext> written = c.expression();
    boolean first = c.LPAREN() != null && !written.isEmpty()
        && written.get(0).getStart().getTokenIndex() == c.LPAREN().getSymbol().getTokenIndex() + 1;
    for (int i = 0; i < written.size(); i++) {
      Expression e = expression(written.get(i));
      if (e instanceof Expression.Erroneous) {
        continue;
      }
      boolean ident = e instanceof Expression.Ident;
      if (i == 0 && first) {
        if (ident && QUALIFIERS.contains(((Expression.Ident) e).name().key())) {
          qualifier = Optional.of(((Expression.Ident) e).name());
        } else {
          error("syntax/expected", e.span(), "'" + e.span().text()
              + "' is no action qualifier; qualifiers are N, R, S, L, D, P, SD, DS, SL, P1, P0");
        }
      } else if (i == 1 && qualifier.isPresent() && TIMED.contains(qualifier.get().key())) {
        duration = Optional.of(e);
      } else if (ident) {
        indicators.add(((Expression.Ident) e).name());
      } else {
        unexpected(written.get(i).getStart(), e.span(), "an indicator variable or ')'");
      }
    }
    return new Body.Association(span(c), name(c.identifier()), qualifier, duration, indicators);
  }

  private Body.SfcElement transition(TransitionContext c) {
    Optional<Name> name = Optional.empty();
    Optional<Expression> priority = Optional.empty();
    for (IdentifierContext i : c.identifier()) {
      boolean inside = c.LPAREN() != null && i.getStart().getTokenIndex() > c.LPAREN().getSymbol().getTokenIndex();
      if (!inside) {
        name = Optional.of(name(i));
      } else if (!name(i).key().equals("PRIORITY") && !missing(i)) {
        unexpected(i.getStart(), span(i), "PRIORITY");
      }
    }
    List<ExpressionContext> expressions = new ArrayList<>(c.expression());
    if (c.LPAREN() != null && !expressions.isEmpty()) {
      priority = Optional.of(expression(expressions.remove(0)));
    }
    List<Name> from = c.stepList().isEmpty() ? List.of() : steps(c.stepList(0));
    List<Name> to = c.stepList().size() < 2 ? List.of() : steps(c.stepList(1));
    return new Body.Transition(span(c), name, priority, from, to,
        expressions.isEmpty() ? Optional.empty() : Optional.of(expression(expressions.get(0))),
        c.body() == null ? Optional.empty() : Optional.of(body(c.body(), c)));
  }

  private List<Name> steps(StepListContext c) {
    List<Name> names = new ArrayList<>();
    for (IdentifierContext i : c.identifier()) {
      if (!missing(i)) {
        names.add(name(i));
      }
    }
    return names;
  }

  // Configurations (Tables 62 and 63)

  private Declaration configuration(ConfigurationDeclarationContext c) {
    List<Declaration.VarSection> sections = new ArrayList<>();
    List<Declaration.Resource> resources = new ArrayList<>();
    List<Declaration.ConfigVariable> variables = new ArrayList<>();
    List<Declaration.Task> tasks = new ArrayList<>();
    List<Declaration.ProgramInstance> programs = new ArrayList<>();
    for (ConfigurationElementContext e : c.configurationElement()) {
      if (e.variableSection() != null) {
        sections.add(section(e.variableSection()));
      } else if (e.configSection() != null) {
        for (ConfigVariableContext v : e.configSection().configVariable()) {
          configVariable(v).ifPresent(variables::add);
        }
      } else if (e.resourceDeclaration() != null) {
        resources.add(resource(e.resourceDeclaration()));
      } else if (e.taskDeclaration() != null) {
        task(e.taskDeclaration()).ifPresent(tasks::add);
      } else if (e.programInstance() != null) {
        instance(e.programInstance()).ifPresent(programs::add);
      }
    }
    if (!tasks.isEmpty() || !programs.isEmpty()) {
      if (!resources.isEmpty()) {
        error("syntax/expected", tasks.isEmpty() ? programs.get(0).span() : tasks.get(0).span(),
            "beside a RESOURCE, tasks and program instances stand inside a resource");
      }
      Span span = tasks.isEmpty() ? programs.get(0).span() : tasks.get(0).span();
      for (Declaration.ProgramInstance p : programs) {
        span = span.to(p.span());
      }
      resources.add(new Declaration.Resource(span, Optional.empty(), Optional.empty(), List.of(), tasks, programs));
    }
    return new Declaration.Configuration(span(c), name(c.identifier()), sections, resources, variables);
  }

  private Declaration.Resource resource(ResourceDeclarationContext c) {
    List<Declaration.VarSection> sections = new ArrayList<>();
    List<Declaration.Task> tasks = new ArrayList<>();
    List<Declaration.ProgramInstance> programs = new ArrayList<>();
    for (ResourceElementContext e : c.resourceElement()) {
      if (e.variableSection() != null) {
        sections.add(section(e.variableSection()));
      } else if (e.taskDeclaration() != null) {
        task(e.taskDeclaration()).ifPresent(tasks::add);
      } else if (e.programInstance() != null) {
        instance(e.programInstance()).ifPresent(programs::add);
      }
    }
    Optional<Name> on = c.identifier().size() > 1 ? Optional.of(name(c.identifier(1))) : Optional.empty();
    return new Declaration.Resource(span(c), c.identifier().isEmpty() ? Optional.empty() : Optional.of(name(c.identifier(0))), on, sections,
        tasks, programs);
  }

  private Optional<Declaration.Task> task(TaskDeclarationContext c) {
    if (missing(c.identifier())) {
      return Optional.empty();
    }
    Optional<Expression> single = Optional.empty();
    Optional<Expression> interval = Optional.empty();
    Optional<Expression> priority = Optional.empty();
    for (TaskParameterContext p : c.taskParameter()) {
      if (missing(p.identifier()) || p.expression() == null) {
        continue;
      }
      Expression value = expression(p.expression());
      String key = name(p.identifier()).key();
      Optional<Expression> before = switch (key) {
        case "SINGLE" -> single;
        case "INTERVAL" -> interval;
        case "PRIORITY" -> priority;
        default -> Optional.empty();
      };
      if (before.isPresent()) {
        error("syntax/expected", span(p), key + " stands twice");
      }
      switch (key) {
        case "SINGLE" -> single = Optional.of(value);
        case "INTERVAL" -> interval = Optional.of(value);
        case "PRIORITY" -> priority = Optional.of(value);
        default -> unexpected(p.getStart(), span(p.identifier()), "SINGLE, INTERVAL or PRIORITY");
      }
    }
    return Optional.of(new Declaration.Task(span(c), name(c.identifier()), single, interval, priority));
  }

  private Optional<Declaration.ProgramInstance> instance(ProgramInstanceContext c) {
    if (c.qualifiedName() == null || c.identifier().isEmpty() || missing(c.identifier(0))) {
      return Optional.empty();
    }
    Optional<Declaration.Retention> retention = c.RETAIN() != null ? Optional.of(Declaration.Retention.RETAIN)
        : c.NON_RETAIN() != null ? Optional.of(Declaration.Retention.NON_RETAIN) : Optional.empty();
    List<Expression.Argument> connections = new ArrayList<>();
    List<Declaration.BlockTask> blocks = new ArrayList<>();
    for (ConnectionContext k : c.connection()) {
      if (k.expression().isEmpty()) {
        continue;
      }
      Expression left = expression(k.expression(0));
      Optional<Expression> right = k.expression().size() > 1 ? Optional.of(expression(k.expression(1))) : Optional.empty();
      if (k.WITH() != null) {
        Optional<QualifiedName> path = path(left);
        if (path.isPresent()) {
          blocks.add(new Declaration.BlockTask(span(k), path.get(), name(k.identifier())));
        } else {
          unexpected(k.getStart(), left.span(), "the name of a function block instance");
        }
      } else if (k.ASSIGN() == null && k.ARROW() == null) {
        if (!(left instanceof Expression.Erroneous)) {
          error("syntax/expected", left.span(), "expected input := value, output => variable or instance WITH task");
        }
      } else {
        argument(k.getStart(), span(k), left, k.ASSIGN() != null, right).ifPresent(connections::add);
      }
    }
    Optional<Name> task = c.WITH() != null && c.identifier().size() > 1 ? Optional.of(name(c.identifier(1))) : Optional.empty();
    return Optional.of(new Declaration.ProgramInstance(span(c), name(c.identifier(0)), retention, task, qualified(c.qualifiedName()),
        connections, blocks));
  }

  /** The dotted name that an expression consists of. */
  private static Optional<QualifiedName> path(Expression e) {
    List<Name> parts = new ArrayList<>();
    Expression rest = e;
    while (rest instanceof Expression.Member m) {
      parts.add(0, m.name());
      rest = m.base();
    }
    if (!(rest instanceof Expression.Ident ident)) {
      return Optional.empty();
    }
    parts.add(0, ident.name());
    return Optional.of(new QualifiedName(e.span(), parts));
  }

  private Optional<Declaration.ConfigVariable> configVariable(ConfigVariableContext c) {
    if (c.qualifiedName() == null || c.typeSpecification() == null) {
      return Optional.empty();
    }
    Optional<DirectAddress> at = c.DIRECT() == null ? Optional.empty() : address(c.DIRECT().getSymbol(), false);
    return type(c.typeSpecification()).map(type -> new Declaration.ConfigVariable(span(c), qualified(c.qualifiedName()), at, type,
        optionalInitial(c.initialValue())));
  }

  // Statements (Table 72)

  private List<Statement> statements(StatementListContext c) {
    List<Statement> list = new ArrayList<>();
    if (c == null) {
      return list;
    }
    boolean afterBlock = false;
    for (StatementContext s : c.statement()) {
      if (s instanceof Straight.Read read) {
        boolean empty = read.statement instanceof Statement.Empty;
        if (!(empty && afterBlock)) {
          list.add(read.statement);
        }
        afterBlock = Straight.isBlock(read.statement);
        continue;
      }
      boolean semicolon = s.getChildCount() == 1 && s.SEMICOLON() != null;
      if (!(semicolon && afterBlock)) {
        list.add(statement(s));
      }
      afterBlock = !semicolon && s.getChildCount() == 1 && s.getChild(0) instanceof ParserRuleContext && s.simpleStatement() == null;
    }
    return list;
  }

  private Statement statement(StatementContext c) {
    Span span = span(c);
    if (c.ifStatement() != null) {
      return ifStatement(c.ifStatement());
    } else if (c.caseStatement() != null) {
      return caseStatement(c.caseStatement());
    } else if (c.forStatement() != null) {
      return forStatement(c.forStatement());
    } else if (c.whileStatement() != null) {
      WhileStatementContext w = c.whileStatement();
      return new Statement.While(span, condition(w.condition(), w), statements(w.statementList()));
    } else if (c.repeatStatement() != null) {
      RepeatStatementContext r = c.repeatStatement();
      return new Statement.Repeat(span, statements(r.statementList()), condition(r.condition(), r));
    } else if (c.exception != null || c.getChildCount() == 0 || c.TOO_DEEP() != null) {
      if (c.simpleStatement() != null && c.exception != null && c.simpleStatement().exception == null) {
        return simple(c.simpleStatement(), span);
      }
      return new Statement.Erroneous(span);
    } else if (c.EXIT() != null) {
      return new Statement.Exit(span);
    } else if (c.CONTINUE() != null) {
      return new Statement.Continue(span);
    } else if (c.RETURN() != null) {
      return new Statement.Return(span);
    } else if (c.simpleStatement() != null) {
      return simple(c.simpleStatement(), span);
    }
    return new Statement.Empty(span);
  }

  private Statement simple(SimpleStatementContext c, Span span) {
    if (c.variable() == null || c.exception != null) {
      return new Statement.Erroneous(span);
    }
    Expression target = variable(c.variable());
    if (c.ASSIGN() != null || c.ATTEMPT() != null) {
      Expression value = c.expression() == null ? new Expression.Erroneous(span(span.end(), span.end())) : expression(c.expression());
      if (!isVariable(target)) {
        if (!(target instanceof Expression.Erroneous)) {
          unexpected(c.getStart(), target.span(), "a variable in front of " + (c.ASSIGN() != null ? "':='" : "'?='"));
        }
        target = new Expression.Erroneous(target.span());
      }
      return c.ASSIGN() != null ? new Statement.Assignment(span, target, value) : new Statement.Attempt(span, target, value);
    }
    if (target instanceof Expression.Call call) {
      return new Statement.CallStatement(span, call);
    }
    if (!(target instanceof Expression.Erroneous)) {
      Token behind = tokens.get(Math.min(c.getStop().getTokenIndex() + 1, tokens.size() - 1));
      if (!((ScanToken) c.getStart()).faulty() && !((ScanToken) behind).faulty()) {
        error("syntax/expected", behind.getType() == EOF ? target.span() : span(behind),
            "expected ':=', '?=' or '(' behind " + Recovery.describe(c.getStart()) + ", found " + Recovery.describe(behind));
      }
    }
    return new Statement.Erroneous(span);
  }

  private static boolean isVariable(Expression e) {
    return e instanceof Expression.Ident || e instanceof Expression.Member || e instanceof Expression.Index || e instanceof Expression.Bits
        || e instanceof Expression.Dereference || e instanceof Expression.Direct;
  }

  private Expression condition(ConditionContext c, ParserRuleContext owner) {
    return c == null || c.expression() == null || c.exception != null
        ? new Expression.Erroneous(c == null ? span(owner.getStart()) : span(c)) : expression(c.expression());
  }

  private Statement ifStatement(IfStatementContext c) {
    List<Statement.Branch> branches = new ArrayList<>();
    StatementListContext first = c.statementList();
    Expression condition = condition(c.condition(), c);
    Span span = span(c.getStart()).to(condition.span());
    if (c.THEN() != null) {
      span = span.to(span(c.THEN().getSymbol()));
    }
    if (first != null && !first.statement().isEmpty()) {
      span = span.to(span(first));
    }
    branches.add(new Statement.Branch(span, condition, statements(first)));
    for (ElsifBranchContext e : c.elsifBranch()) {
      branches.add(new Statement.Branch(span(e), condition(e.condition(), e), statements(e.statementList())));
    }
    return new Statement.If(span(c), branches, otherwise(c.elseBranch()));
  }

  private Optional<List<Statement>> otherwise(ElseBranchContext c) {
    return c == null ? Optional.empty() : Optional.of(statements(c.statementList()));
  }

  private Statement caseStatement(CaseStatementContext c) {
    List<Statement.CaseGroup> groups = new ArrayList<>();
    for (CaseGroupContext g : c.caseGroup()) {
      List<Statement.CaseLabel> labels = new ArrayList<>();
      if (g.caseLabels() != null) {
        for (CaseLabelContext l : g.caseLabels().caseLabel()) {
          if (!l.expression().isEmpty()) {
            labels.add(new Statement.CaseLabel(span(l), expression(l.expression(0)),
                l.expression().size() > 1 ? Optional.of(expression(l.expression(1))) : Optional.empty()));
          }
        }
      }
      groups.add(new Statement.CaseGroup(span(g), labels, statements(g.statementList())));
    }
    return new Statement.Case(span(c), condition(c.condition(), c), groups, otherwise(c.elseBranch()));
  }

  private Statement forStatement(ForStatementContext c) {
    ControlVariableContext control = c.controlVariable();
    boolean whole = control != null && control.variable() != null && control.exception == null;
    Expression variable = whole ? variable(control.variable()) : new Expression.Erroneous(span(c.getStart()));
    Expression from = whole && control.expression() != null ? expression(control.expression())
        : new Expression.Erroneous(span(c.getStart()));
    Expression to = condition(c.condition(0), c);
    Optional<Expression> by = c.BY() == null ? Optional.empty() : Optional.of(condition(c.condition(1), c));
    return new Statement.For(span(c), variable, from, to, by, statements(c.statementList()));
  }

  // Expressions (Table 71)

  Expression expression(ExpressionContext c) {
    if (c == null) {
      return new Expression.Erroneous(span(0, 0));
    }
    List<OperandContext> operands = c.operand();
    if (c.exception != null || operands.isEmpty()) {
      return new Expression.Erroneous(span(c));
    }
    if (operands.size() == 1) {
      return operand(operands.get(0));
    }
    return new Precedence(operands, c.binaryOperator()).climb(0);
  }

  /** Turns the flat list of an expression into chains by the precedence of Table 71; depth is that of the table, not of the list. */
  private final class Precedence {
    private final List<OperandContext> operands;
    private final List<Expression.BinaryOperator> operators = new ArrayList<>();
    private final List<Span> places = new ArrayList<>();
    private int at;

    Precedence(List<OperandContext> operands, List<BinaryOperatorContext> written) {
      this.operands = operands;
      for (BinaryOperatorContext o : written) {
        operators.add(operator(o));
        places.add(span(o));
      }
    }

    Expression climb(int lowest) {
      Expression left = operand(operands.get(at++));
      while (at - 1 < operators.size() && at < operands.size() && precedence() >= lowest) {
        int level = precedence();
        List<Expression.Link> links = new ArrayList<>();
        while (at - 1 < operators.size() && at < operands.size() && precedence() == level) {
          Expression.BinaryOperator operator = operators.get(at - 1);
          Span place = places.get(at - 1);
          links.add(new Expression.Link(place, operator, climb(level + 1)));
        }
        left = new Expression.Chain(left.span().to(links.get(links.size() - 1).operand().span()), left, links);
      }
      return left;
    }

    private int precedence() {
      return operators.get(at - 1).precedence();
    }
  }

  private static Expression.BinaryOperator operator(BinaryOperatorContext c) {
    return switch (c.getStart().getType()) {
      case OR -> Expression.BinaryOperator.OR;
      case XOR -> Expression.BinaryOperator.XOR;
      case AND, AMPERSAND -> Expression.BinaryOperator.AND;
      case EQ -> Expression.BinaryOperator.EQ;
      case NE -> Expression.BinaryOperator.NE;
      case LT -> Expression.BinaryOperator.LT;
      case GT -> Expression.BinaryOperator.GT;
      case LE -> Expression.BinaryOperator.LE;
      case GE -> Expression.BinaryOperator.GE;
      case PLUS -> Expression.BinaryOperator.ADD;
      case MINUS -> Expression.BinaryOperator.SUB;
      case TIMES -> Expression.BinaryOperator.MUL;
      case DIVIDE -> Expression.BinaryOperator.DIV;
      case MOD -> Expression.BinaryOperator.MOD;
      case POWER -> Expression.BinaryOperator.POWER;
      default -> throw new AssertionError("no operator: " + c.getText());
    };
  }

  private Expression operand(OperandContext c) {
    PrimaryContext p = c.primary();
    if (p == null || c.exception != null) {
      return new Expression.Erroneous(span(c));
    }
    int signs = c.getChildCount() - 1;
    Expression result;
    if (p.parenthesized() != null) {
      boolean not = signs > 0 && ((TerminalNode) c.getChild(signs - 1)).getSymbol().getType() == NOT;
      if (not && isArgumentList(p.parenthesized())) {
        Token word = ((TerminalNode) c.getChild(signs - 1)).getSymbol();
        Expression name = new Expression.Ident(span(word), new Name(span(word), word.getText()));
        result = new Expression.Call(span(word).to(span(p)), name, arguments(p.parenthesized().argument()));
        signs--;
      } else {
        result = parenthesized(p.parenthesized());
      }
    } else if (p.literal() != null) {
      if (p.arguments() != null) {
        unexpected(p.arguments().getStart(), span(p.arguments()), "an operator");
        return new Expression.Erroneous(span(c));
      }
      result = literal(p.literal());
    } else if (p.variable() != null) {
      result = variable(p.variable());
    } else {
      return new Expression.Erroneous(span(c));
    }
    if (signs > maxNesting) {
      error("limit/nesting", span(c.getStart()), signs + " operators in front of one operand; the limit is " + maxNesting);
      return new Expression.Erroneous(span(c));
    }
    for (int i = signs - 1; i >= 0; i--) {
      Token sign = ((TerminalNode) c.getChild(i)).getSymbol();
      Expression.UnaryOperator operator = sign.getType() == NOT ? Expression.UnaryOperator.NOT
          : sign.getType() == MINUS ? Expression.UnaryOperator.MINUS : Expression.UnaryOperator.PLUS;
      result = new Expression.Unary(span(sign).to(result.span()), operator, result);
    }
    return result;
  }

  private static boolean isArgumentList(ParenthesizedContext c) {
    return c.argument().size() > 1 || (c.argument().size() == 1 && (c.argument(0).ASSIGN() != null || c.argument(0).ARROW() != null));
  }

  private Expression parenthesized(ParenthesizedContext c) {
    if (c.argument().isEmpty()) {
      return new Expression.Erroneous(span(c));
    }
    ArgumentContext a = c.argument(0);
    if (a.expression() == null) {
      if (a.exception == null) {
        unexpected(a.getStart(), span(a), "an expression");
      }
      return new Expression.Erroneous(span(c));
    }
    if (isArgumentList(c)) {
      TerminalNode behind = a.ASSIGN() != null ? a.ASSIGN() : a.ARROW() != null ? a.ARROW() : c.COMMA(0);
      unexpected(behind.getSymbol(), span(behind.getSymbol()), "')' or an operator");
      return new Expression.Erroneous(span(c));
    }
    return Nodes.withSpan(expression(a.expression()), span(c));
  }

  // Variables and calls

  private Expression variable(VariableContext c) {
    if (c.variableRoot() == null || c.exception != null || c.variableRoot().exception != null) {
      return new Expression.Erroneous(span(c));
    }
    Expression result = root(c.variableRoot());
    if (c.selector().size() > maxNesting) {
      error("limit/nesting", span(c.selector(maxNesting)), c.selector().size() + " selectors behind one variable; the limit is "
          + maxNesting);
      return new Expression.Erroneous(span(c));
    }
    boolean word = OPERATOR_FUNCTIONS.contains(c.variableRoot().getStart().getType());
    if (word && (c.selector().isEmpty() || c.selector(0).arguments() == null)) {
      unexpected(c.getStart(), span(c.getStart()), "an expression");
      return new Expression.Erroneous(span(c));
    }
    for (SelectorContext s : c.selector()) {
      if (s.exception != null) {
        return new Expression.Erroneous(span(c));
      }
      result = selected(result, s, span(c.getStart()).to(span(s)));
    }
    return result;
  }

  private static final Set<Integer> OPERATOR_FUNCTIONS = Set.of(AND, OR, XOR, MOD);

  private Expression root(VariableRootContext c) {
    Token token = c.getStart();
    if (c.identifier() != null) {
      return missing(c.identifier()) ? new Expression.Erroneous(span(c)) : new Expression.Ident(span(c), name(c.identifier()));
    } else if (c.THIS() != null || c.SUPER() != null) {
      return new Expression.Self(span(token), c.SUPER() != null);
    } else if (c.DIRECT() != null) {
      return direct(token, span(token));
    } else if (c.typedValue() != null) {
      return typed(c.typedValue(), List.of());
    }
    return new Expression.Ident(span(token), new Name(span(token), token.getText()));
  }

  private Expression selected(Expression base, SelectorContext s, Span span) {
    if (s.arguments() != null) {
      return new Expression.Call(span, base, arguments(s.arguments().argument()));
    } else if (s.CARET() != null) {
      return new Expression.Dereference(span, base);
    } else if (s.LBRACKET() != null) {
      List<Expression> indices = new ArrayList<>();
      for (ExpressionContext e : s.expression()) {
        indices.add(expression(e));
      }
      return new Expression.Index(span, base, indices);
    } else if (s.identifier() != null) {
      return missing(s.identifier()) ? new Expression.Erroneous(span) : new Expression.Member(span, base, name(s.identifier()));
    } else if (s.INTEGER() != null) {
      return bits(base, s.INTEGER().getSymbol(), 'X', s.INTEGER().getText(), span);
    } else if (s.DIRECT() != null) {
      String text = s.DIRECT().getText();
      char size = text.length() > 1 ? Character.toUpperCase(text.charAt(1)) : 0;
      if ("XBWDL".indexOf(size) < 0) {
        return bits(base, s.DIRECT().getSymbol(), size, "", span);
      }
      return bits(base, s.DIRECT().getSymbol(), size, text.substring(2), span);
    } else if (s.typedValue() != null) {
      Optional<QualifiedName> path = path(base);
      if (path.isPresent()) {
        return typed(s.typedValue(), path.get().parts());
      }
      unexpected(s.typedValue().getStart(), span(s.typedValue()), "the name of a member");
    }
    return new Expression.Erroneous(span);
  }

  private Expression bits(Expression base, Token token, char size, String number, Span span) {
    boolean fine = !number.isEmpty() && number.length() <= 4 && number.chars().allMatch(c -> c >= '0' && c <= '9');
    if (!fine) {
      if (!((ScanToken) token).faulty()) {
        error("syntax/literal", span(token), "'" + token.getText()
            + "' is no partial access; expected .%X, .%B, .%W, .%D or .%L with a number,"
            + " or the number of a bit");
      }
      return new Expression.Erroneous(span);
    }
    return new Expression.Bits(span, base, size, Integer.parseInt(number));
  }

  private List<Expression.Argument> arguments(List<ArgumentContext> list) {
    List<Expression.Argument> arguments = new ArrayList<>();
    for (ArgumentContext a : list) {
      if (a.arrayInitialization() != null) {
        unexpected(a.getStart(), span(a), "an expression");
        continue;
      }
      if (a.expression() == null) {
        continue;
      }
      Expression left = expression(a.expression());
      if (a.ASSIGN() == null && a.ARROW() == null) {
        arguments.add(new Expression.Argument(span(a), Expression.ArgumentKind.NAMELESS, Optional.empty(), false, Optional.of(left)));
        continue;
      }
      Optional<Expression> right = Optional.empty();
      if (a.variable() != null) {
        right = Optional.of(variable(a.variable()));
      } else if (a.initialValue() != null && a.initialValue().expression() != null) {
        right = Optional.of(expression(a.initialValue().expression()));
      } else if (a.initialValue() != null && a.initialValue().arrayInitialization() != null) {
        unexpected(a.initialValue().getStart(), span(a.initialValue()), "an expression");
        right = Optional.of(new Expression.Erroneous(span(a.initialValue())));
      }
      argument(a.getStart(), span(a), left, a.ASSIGN() != null, right).ifPresent(arguments::add);
    }
    return arguments;
  }

  private Optional<Expression.Argument> argument(Token first, Span span, Expression left, boolean input, Optional<Expression> right) {
    if (left instanceof Expression.Ident ident) {
      Optional<Expression> value = input && right.isEmpty() ? Optional.of(new Expression.Erroneous(span)) : right;
      return Optional.of(new Expression.Argument(span, input ? Expression.ArgumentKind.INPUT : Expression.ArgumentKind.OUTPUT,
          Optional.of(ident.name()), false, value));
    }
    if (!input && left instanceof Expression.Unary not && not.operator() == Expression.UnaryOperator.NOT
        && not.operand() instanceof Expression.Ident ident) {
      return Optional.of(new Expression.Argument(span, Expression.ArgumentKind.OUTPUT, Optional.of(ident.name()), true, right));
    }
    if (!(left instanceof Expression.Erroneous)) {
      unexpected(first, left.span(), "the name of " + (input ? "an input in front of ':='" : "an output in front of '=>'"));
    }
    return Optional.empty();
  }

  // Literals (Tables 5 to 9)

  private Expression typed(TypedValueContext c, List<Name> path) {
    Token prefixToken = c.getStart();
    Span place = span(c);
    if (c.TYPE_PREFIX() == null || c.exception != null || c.getChildCount() < 2) {
      return new Expression.Erroneous(place);
    }
    Span prefixSpan = span(prefixToken.getStartIndex(), prefixToken.getStopIndex());
    Name prefix = new Name(prefixSpan, prefixSpan.text());
    Span whole = path.isEmpty() ? place : path.get(0).span().to(place);
    if (c.identifier() != null) {
      List<Name> parts = new ArrayList<>(path);
      parts.add(prefix);
      return missing(c.identifier()) ? new Expression.Erroneous(whole)
          : new Expression.TypedName(whole, new QualifiedName(parts.get(0).span().to(prefixSpan), parts), name(c.identifier()));
    }
    if (!path.isEmpty()) {
      unexpected(c.getStop(), span(c.getStop()), "the name of an enumerated value");
      return new Expression.Erroneous(whole);
    }
    Token value = c.getStop();
    return checked(new Expression.Literal(place, Nodes.kind(value), Optional.of(prefix), c.MINUS() != null, value.getText()), value);
  }

  private Expression literal(LiteralContext c) {
    Token token = c.getStart();
    if (c.exception != null || c.getStop() == null) {
      return new Expression.Erroneous(span(c));
    }
    LiteralKind kind = Nodes.kind(token);
    boolean prefixed = kind == LiteralKind.DURATION || kind == LiteralKind.DATE || kind == LiteralKind.TIME_OF_DAY
        || kind == LiteralKind.DATE_AND_TIME;
    if (!prefixed) {
      return checked(new Expression.Literal(span(token), kind, Optional.empty(), false, token.getText()), token);
    }
    return checked(Nodes.prefixed(source, token), token);
  }

  /** The literal if it has a value; else what is wrong with it is reported. */
  private Expression checked(Expression.Literal literal, Token token) {
    ScanToken scanned = (ScanToken) token;
    if (scanned.faulty()) {
      return new Expression.Erroneous(literal.span());
    }
    if (Literals.decode(literal) instanceof Literals.Invalid wrong) {
      int text = token.getStopIndex() + 1 - literal.text().codePointCount(0, literal.text().length());
      error("syntax/literal", span(text + wrong.offset(), text + wrong.offset() + wrong.length()), wrong.message());
      scanned.markFaulty();
      return new Expression.Erroneous(literal.span());
    }
    return literal;
  }
}
