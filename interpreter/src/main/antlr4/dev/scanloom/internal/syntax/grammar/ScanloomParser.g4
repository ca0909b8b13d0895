/*
 * The textual language of IEC 61131-3, edition 3, with the additions of edition 4, in the order of the standard's own productions.
 *
 * Every decision is settled by one token (case labels carry a marker that TokenReader sets), so that the parser is linear and never falls
 * back from SLL to full LL. Where the standard has one production per kind of variable, one wider rule stands here
 * and the tree builder or the checker says what is not allowed; expressions are flat and get their precedence (Table 71) in the tree
 * builder.
 */
parser grammar ScanloomParser;

options { tokenVocab = ScanloomLexer; superClass = ParserBase; }

// Source texts and namespaces (Tables 64 to 66). The caller repeats this rule until the end of the text.

declaration
  : namespaceDeclaration
  | usingDirective
  | typeDeclarations
  | functionDeclaration
  | functionBlockDeclaration
  | classDeclaration
  | interfaceDeclaration
  | programDeclaration
  | configurationDeclaration
  | variableSection
  ;

namespaceDeclaration
  : NAMESPACE INTERNAL? qualifiedName namespaceElement* END_NAMESPACE
  ;

namespaceElement
  : declaration
  ;

usingDirective
  : USING qualifiedName (COMMA qualifiedName)* SEMICOLON
  ;

// Names. GET, SET and ON are keywords only where the standard expects them.

identifier: IDENTIFIER | GET | SET | ON;

qualifiedName: identifier (DOT identifier)*;

modifier: ABSTRACT | FINAL | OVERRIDE | PUBLIC | PRIVATE | PROTECTED | INTERNAL;

// User-defined types (Table 11)

typeDeclarations
  : TYPE INTERNAL? typeDefinition+ END_TYPE
  ;

typeDefinition
  : identifier COLON typeSpecification (ASSIGN initialValue)? SEMICOLON
  ;

typeSpecification
  : REF_TO typeSpecification
  | arrayType
  | structureType
  | enumerationType
  | namedType
  ;

namedType
  : qualifiedName (LBRACKET expression RBRACKET | valueList)?
  ;

enumerationType
  : valueList
  ;

/* Enumerated values, named values, or the range of a subrange. */
valueList
  : LPAREN enumeratedValue (RANGE expression | (COMMA enumeratedValue)*) RPAREN
  ;

enumeratedValue
  : expression (ASSIGN expression)?
  ;

arrayType
  : ARRAY LBRACKET dimension (COMMA dimension)* RBRACKET OF typeSpecification
  ;

dimension
  : TIMES
  | expression RANGE expression
  ;

structureType
  : STRUCT OVERLAP? structureElement* END_STRUCT
  ;

structureElement
  : identifier (AT DIRECT)? COLON typeSpecification (ASSIGN initialValue)? SEMICOLON
  ;

// Initial values (Table 14)

/* A structure initialization (x := 1, y := 2) and a repetition 3(0) have the form of expressions here; the tree builder tells them apart.
   */
initialValue
  : arrayInitialization
  | expression
  ;

arrayInitialization
  : LBRACKET (initialValue (COMMA initialValue)*)? RBRACKET
  ;

// Variables (Tables 13 to 16)

variableSection
  : accessSection
  | (VAR | VAR_INPUT | VAR_OUTPUT | VAR_IN_OUT | VAR_TEMP | VAR_EXTERNAL | VAR_GLOBAL) sectionQualifier* variableDeclaration* END_VAR
  ;

sectionQualifier: CONSTANT | RETAIN | NON_RETAIN | PUBLIC | PRIVATE | PROTECTED | INTERNAL;

variableDeclaration
  : (identifier (COMMA identifier)* (AT DIRECT)? | AT? DIRECT) COLON typeSpecification (R_EDGE | F_EDGE)? (ASSIGN initialValue)? SEMICOLON
  ;

accessSection
  : VAR_ACCESS accessDeclaration* END_VAR
  ;

accessDeclaration
  : identifier COLON variable COLON typeSpecification (READ_ONLY | READ_WRITE)? SEMICOLON
  ;

// Functions, function blocks and programs (Tables 19, 40, 47)

functionDeclaration
  : FUNCTION modifier* identifier (COLON typeSpecification)? usingDirective* variableSection* body END_FUNCTION
  ;

functionBlockDeclaration
  : FUNCTION_BLOCK modifier* identifier (usingDirective | extension | implementation)* member* body END_FUNCTION_BLOCK
  ;

programDeclaration
  : PROGRAM identifier usingDirective* variableSection* body END_PROGRAM
  ;

// Classes and interfaces (Tables 48 to 53); properties of edition 4

classDeclaration
  : CLASS modifier* identifier (usingDirective | extension | implementation)* member* END_CLASS
  ;

interfaceDeclaration
  : INTERFACE modifier* identifier (usingDirective | extension)* member* END_INTERFACE
  ;

extension: EXTENDS qualifiedName (COMMA qualifiedName)*;

implementation: IMPLEMENTS qualifiedName (COMMA qualifiedName)*;

member
  : variableSection
  | methodDeclaration
  | propertyDeclaration
  | accessorDeclaration
  ;

methodDeclaration
  : METHOD modifier* identifier (COLON typeSpecification)? variableSection* body END_METHOD
  ;

propertyDeclaration
  : PROPERTY modifier* identifier COLON typeSpecification accessor* END_PROPERTY
  ;

accessor
  : (GET | PROPERTY_GET) variableSection* body (END_GET | END_PROPERTY_GET)
  | (SET | PROPERTY_SET) variableSection* body (END_SET | END_PROPERTY_SET)
  ;

/* The accessor as a member of its own. */
accessorDeclaration
  : PROPERTY_GET modifier* identifier COLON typeSpecification variableSection* body (END_PROPERTY_GET | END_PROPERTY)
  | PROPERTY_SET modifier* identifier COLON typeSpecification variableSection* body (END_PROPERTY_SET | END_PROPERTY)
  ;

// Bodies

/* One notation per body; the tree builder reports statements behind a drawing or a chart. */
body
  : (DRAWING | INSTRUCTION_LIST | chartElement+)? statementList
  ;

// Sequential function chart (Tables 54 to 60)

chartElement
  : step
  | transition
  | action
  ;

step
  : (STEP | INITIAL_STEP) identifier COLON (actionAssociation SEMICOLON)* END_STEP
  ;

actionAssociation
  : identifier LPAREN expression? (COMMA expression)* RPAREN
  ;

transition
  : TRANSITION identifier? (LPAREN identifier ASSIGN expression RPAREN)? (FROM stepList TO stepList)?
    (ASSIGN expression SEMICOLON | COLON body) END_TRANSITION
  ;

stepList
  : identifier
  | LPAREN identifier (COMMA identifier)* RPAREN
  ;

action
  : ACTION identifier COLON body END_ACTION
  ;

// Configurations (Tables 62 and 63)

configurationDeclaration
  : CONFIGURATION identifier configurationElement* END_CONFIGURATION
  ;

configurationElement
  : variableSection
  | configSection
  | resourceDeclaration
  | taskDeclaration
  | programInstance
  ;

resourceDeclaration
  : RESOURCE identifier (ON identifier)? resourceElement* END_RESOURCE
  ;

resourceElement
  : variableSection
  | taskDeclaration
  | programInstance
  ;

taskDeclaration
  : TASK identifier LPAREN taskParameter (COMMA taskParameter)* RPAREN SEMICOLON
  ;

taskParameter
  : identifier ASSIGN expression
  ;

programInstance
  : PROGRAM (RETAIN | NON_RETAIN)? identifier (WITH identifier)? COLON qualifiedName
    (LPAREN (connection (COMMA connection)*)? RPAREN)? SEMICOLON
  ;

connection
  : expression (ASSIGN expression | ARROW expression? | WITH identifier)?
  ;

configSection
  : VAR_CONFIG configVariable* END_VAR
  ;

configVariable
  : qualifiedName (AT DIRECT)? COLON typeSpecification (ASSIGN initialValue)? SEMICOLON
  ;

// Statements (Table 72)

/* The semicolon behind END_IF and its like is a statement of its own here; the tree builder drops it. Statements without mistakes are read
   by hand-written code, see ParserBase. */
statementList
  : {shortcut();} (statement {shortcut();})*
  ;

statement
  : SEMICOLON
  | ifStatement
  | caseStatement
  | forStatement
  | whileStatement
  | repeatStatement
  | (EXIT | CONTINUE | RETURN) SEMICOLON
  | TOO_DEEP
  | simpleStatement SEMICOLON
  ;

/* An assignment, an assignment attempt or a call; the tree builder tells them apart. */
simpleStatement
  : variable (ASSIGN expression | ATTEMPT expression)?
  ;

ifStatement
  : IF condition THEN statementList elsifBranch* elseBranch? END_IF
  ;

elsifBranch
  : ELSIF condition THEN statementList
  ;

elseBranch
  : ELSE statementList
  ;

caseStatement
  : CASE condition OF caseGroup* elseBranch? END_CASE
  ;

caseGroup
  : CASE_LABEL caseLabels statementList
  ;

caseLabels
  : caseLabel (COMMA caseLabel)* COLON
  ;

caseLabel
  : expression (RANGE expression)?
  ;

forStatement
  : FOR controlVariable TO condition (BY condition)? DO statementList END_FOR
  ;

whileStatement
  : WHILE condition DO statementList END_WHILE
  ;

repeatStatement
  : REPEAT statementList UNTIL condition END_REPEAT
  ;

controlVariable
  : variable ASSIGN expression
  ;

/* An expression in front of a keyword of its statement: after an error the parser goes on at that keyword. */
condition
  : expression
  ;

// Expressions (Table 71) and variables

expression
  : operand (binaryOperator operand)*
  ;

binaryOperator
  : OR | XOR | AND | AMPERSAND | EQ | NE | LT | GT | LE | GE | PLUS | MINUS | TIMES | DIVIDE | MOD | POWER
  ;

operand
  : (PLUS | MINUS | NOT)* primary
  ;

primary
  : literal arguments?
  | parenthesized
  | variable
  | TOO_DEEP
  ;

/* More than one argument, or a named one: the function NOT(EN := a, IN := b), or an initial value (x := 1, y := 2). */
parenthesized
  : LPAREN argument (COMMA argument)* RPAREN
  ;

/* A variable access, a function, FB or method call, an enumerated value, or a typed literal. */
variable
  : variableRoot selector*
  ;

variableRoot
  : identifier
  | THIS
  | SUPER
  | DIRECT
  | typedValue
  | (AND | OR | XOR | MOD)
  ;

selector
  : DOT (identifier | INTEGER | DIRECT | typedValue)
  | LBRACKET expression (COMMA expression)* RBRACKET
  | CARET
  | arguments
  ;

arguments
  : LPAREN (argument (COMMA argument)*)? RPAREN
  ;

argument
  : expression (ASSIGN initialValue | ARROW variable?)?
  | arrayInitialization
  ;

/* INT#-5, WORD#16#F, BOOL#TRUE, STRING#'a', Mode#Auto */
typedValue
  : TYPE_PREFIX ((PLUS | MINUS)? (INTEGER | REAL | BASED) | TRUE | FALSE | STRING | WSTRING | identifier)
  ;

literal
  : INTEGER | REAL | BASED | TRUE | FALSE | NULL | STRING | WSTRING | DURATION | DATE | TIME_OF_DAY | DATE_AND_TIME
  ;

/* One expression on its own, for operands and pins of a ladder drawing. */
lonelyExpression
  : expression EOF
  ;
