/*
 * Tokens of IEC 61131-3, edition 3, Tables 1 to 9 and the keywords of the language, with the additions of edition 4.
 *
 * Literals are taken widely here (1__2, 16#G, T#1h_1d are one token each) so that one class, Literals, can say precisely what is wrong with
 * them. Comments and pragmas end by hand-written code because comments nest. Ladder drawings are not described here at all: see
 * TokenReader.
 */
lexer grammar ScanloomLexer;

options { caseInsensitive = true; superClass = LexerBase; }

tokens { DRAWING, INSTRUCTION_LIST, CASE_LABEL, TOO_DEEP }

channels { COMMENTS, PRAGMAS, FAULTS }

// Keywords: program organization units and other declarations

PROGRAM: 'PROGRAM'; END_PROGRAM: 'END_PROGRAM';
FUNCTION: 'FUNCTION'; END_FUNCTION: 'END_FUNCTION';
FUNCTION_BLOCK: 'FUNCTION_BLOCK'; END_FUNCTION_BLOCK: 'END_FUNCTION_BLOCK';
CLASS: 'CLASS'; END_CLASS: 'END_CLASS';
INTERFACE: 'INTERFACE'; END_INTERFACE: 'END_INTERFACE';
METHOD: 'METHOD'; END_METHOD: 'END_METHOD';
PROPERTY: 'PROPERTY'; END_PROPERTY: 'END_PROPERTY';
PROPERTY_GET: 'PROPERTY_GET'; END_PROPERTY_GET: 'END_PROPERTY_GET';
PROPERTY_SET: 'PROPERTY_SET'; END_PROPERTY_SET: 'END_PROPERTY_SET';
GET: 'GET'; END_GET: 'END_GET';
SET: 'SET'; END_SET: 'END_SET';
NAMESPACE: 'NAMESPACE'; END_NAMESPACE: 'END_NAMESPACE';
USING: 'USING';
EXTENDS: 'EXTENDS'; IMPLEMENTS: 'IMPLEMENTS';
ABSTRACT: 'ABSTRACT'; FINAL: 'FINAL'; OVERRIDE: 'OVERRIDE';
PUBLIC: 'PUBLIC'; PRIVATE: 'PRIVATE'; PROTECTED: 'PROTECTED'; INTERNAL: 'INTERNAL';
TYPE: 'TYPE'; END_TYPE: 'END_TYPE';
STRUCT: 'STRUCT'; END_STRUCT: 'END_STRUCT';
OVERLAP: 'OVERLAP';
ARRAY: 'ARRAY'; OF: 'OF';
REF_TO: 'REF_TO';

// Keywords: variables

VAR: 'VAR'; VAR_INPUT: 'VAR_INPUT'; VAR_OUTPUT: 'VAR_OUTPUT'; VAR_IN_OUT: 'VAR_IN_OUT'; VAR_TEMP: 'VAR_TEMP';
VAR_EXTERNAL: 'VAR_EXTERNAL'; VAR_GLOBAL: 'VAR_GLOBAL'; VAR_ACCESS: 'VAR_ACCESS'; VAR_CONFIG: 'VAR_CONFIG'; END_VAR: 'END_VAR';
CONSTANT: 'CONSTANT'; RETAIN: 'RETAIN'; NON_RETAIN: 'NON_RETAIN';
AT: 'AT'; R_EDGE: 'R_EDGE'; F_EDGE: 'F_EDGE';
READ_ONLY: 'READ_ONLY'; READ_WRITE: 'READ_WRITE';

// Keywords: configuration and sequential function chart

CONFIGURATION: 'CONFIGURATION'; END_CONFIGURATION: 'END_CONFIGURATION';
RESOURCE: 'RESOURCE'; END_RESOURCE: 'END_RESOURCE';
TASK: 'TASK'; ON: 'ON'; WITH: 'WITH';
STEP: 'STEP'; INITIAL_STEP: 'INITIAL_STEP'; END_STEP: 'END_STEP';
TRANSITION: 'TRANSITION'; END_TRANSITION: 'END_TRANSITION';
ACTION: 'ACTION'; END_ACTION: 'END_ACTION';
FROM: 'FROM'; TO: 'TO';

// Keywords: statements and expressions (TO and OF stand above)

IF: 'IF'; THEN: 'THEN'; ELSIF: 'ELSIF'; ELSE: 'ELSE'; END_IF: 'END_IF';
CASE: 'CASE'; END_CASE: 'END_CASE';
FOR: 'FOR'; BY: 'BY'; DO: 'DO'; END_FOR: 'END_FOR';
WHILE: 'WHILE'; END_WHILE: 'END_WHILE';
REPEAT: 'REPEAT'; UNTIL: 'UNTIL'; END_REPEAT: 'END_REPEAT';
EXIT: 'EXIT'; CONTINUE: 'CONTINUE'; RETURN: 'RETURN';
AND: 'AND'; OR: 'OR'; XOR: 'XOR'; NOT: 'NOT'; MOD: 'MOD';
TRUE: 'TRUE'; FALSE: 'FALSE'; NULL: 'NULL';
THIS: 'THIS'; SUPER: 'SUPER';

// Delimiters and operators

SEMICOLON: ';'; COLON: ':'; COMMA: ','; DOT: '.'; RANGE: '..';
ASSIGN: ':='; ATTEMPT: '?='; ARROW: '=>';
LPAREN: '('; RPAREN: ')'; LBRACKET: '['; RBRACKET: ']';
EQ: '='; NE: '<>'; LT: '<'; GT: '>'; LE: '<='; GE: '>=';
PLUS: '+'; MINUS: '-'; TIMES: '*'; DIVIDE: '/'; POWER: '**';
AMPERSAND: '&'; CARET: '^';

// Literals: Table 5 (numeric), Table 6 (strings), Table 8 (durations), Table 9 (dates)

REAL: DIGITS '.' DIGITS ('E' [+-]? DIGITS)?;
INTEGER: DIGITS;
BASED: DIGITS '#' [0-9A-Z_]*;
/* Starts like a number, goes on like something else: 7TANK, 1E5, 2h, 1.5x. */
MALFORMED_NUMBER: DIGITS ('.' DIGITS)? [A-Z] [0-9A-Z_]*;

DURATION: ('T' | 'LT' | 'TIME' | 'LTIME') '#' [+-]? ([0-9A-Z_] | '.' [0-9A-Z_])*;
DATE: ('D' | 'LD' | 'DATE' | 'LDATE') '#' CALENDAR;
TIME_OF_DAY: ('TOD' | 'LTOD' | 'TIME_OF_DAY' | 'LTIME_OF_DAY') '#' CALENDAR;
DATE_AND_TIME: ('DT' | 'LDT' | 'DATE_AND_TIME' | 'LDATE_AND_TIME') '#' CALENDAR;
/* INT# of INT#5, Mode# of Mode#Auto; the value is the next token. */
TYPE_PREFIX: WORD '#';

STRING: '\'' ('$' ~[\r\n] | ~[$'\r\n])* '\'';
WSTRING: '"' ('$' ~[\r\n] | ~[$"\r\n])* '"';
UNCLOSED_STRING: ['"] {closeString();};

// Directly represented variables (Table 16), relative addresses (Table 11) and partial access (Table 17)

DIRECT: '%' [0-9A-Z_]* ('.' [0-9]+)* '*'?;

IDENTIFIER: WORD;

// White space, comments (Table 3), pragmas (Table 4)

BLANKS: [ \t\r\n\f\u000B]+ -> skip;
LINE_COMMENT: '//' ~[\r\n]* -> channel(COMMENTS);
BLOCK_COMMENT: ('(*' | '/*') {closeComment();} -> channel(COMMENTS);
PRAGMA: '{' {closePragma();} -> channel(PRAGMAS);

// What is no token of the language; TokenReader reports it

TYPOGRAPHIC_STRING: QUOTE_MARK ~[\r\n;\u2018-\u201F\u00AB\u00BB\u2039\u203A\u00B4`]* (QUOTE_MARK | ['"]);
/* Operators of other languages. */
FOREIGN_OPERATOR: '==' | '!=' | '&&' | '+=' | '-=' | '*=' | '/=';
/* A word with letters outside A to Z. */
FOREIGN_WORD: (WORD | FOREIGN) (WORD | FOREIGN | [0-9])*;
/* First character of a drawing where a body may begin. */
DRAWN: [|\u2500\u2502\u250C\u2510\u2514\u2518\u251C\u2524\u252C\u2534\u253C];
STRAY: .;

fragment DIGITS: [0-9] [0-9_]*;
fragment WORD: [A-Z_] [0-9A-Z_]*;
fragment CALENDAR: [0-9A-Z_]* ([-:.] [0-9] [0-9A-Z_]*)*;
fragment QUOTE_MARK options { caseInsensitive = false; }: [\u2018-\u201F\u00AB\u00BB\u2039\u203A\u00B4`];
fragment FOREIGN options { caseInsensitive = false; }: [\u00AA\u00B5\u00BA\u00C0-\u00D6\u00D8-\u00F6\u00F8-\u02FF\u0370-\u037D]
  | [\u037F-\u1FFF\u2C00-\uD7FF\uF900-\uFFDC];
