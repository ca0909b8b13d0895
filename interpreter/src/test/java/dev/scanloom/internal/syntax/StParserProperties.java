package dev.scanloom.internal.syntax;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.grammar.ScanloomLexer;
import java.lang.reflect.RecordComponent;
import java.util.ArrayList;
import java.util.Collection;
import java.util.List;
import java.util.Optional;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.Tuple;

/** For any text: an answer, spans inside the text and inside their parents, and an error or a tree that holds together. */
class StParserProperties {

  private static final String PROGRAM = """
      // A little of everything.
      TYPE Mode : (Off, On); Pt : STRUCT x : REAL := 1.0; y AT %B0 : BYTE; END_STRUCT; Row : ARRAY [1..3] OF INT := [1, 2(7)]; END_TYPE
      FUNCTION_BLOCK Fill EXTENDS Base IMPLEMENTS I1
        VAR_INPUT a, b : INT (0..9) := 3; s : BOOL R_EDGE; END_VAR
        VAR CONSTANT RETAIN t : TON := (PT := T#1h_3s); p : REF_TO INT; END_VAR
        METHOD PUBLIC add : INT VAR_TEMP k : INT; END_VAR add := k + 1; END_METHOD
        PROPERTY level : REAL GET level := 1.5E3; END_GET SET a := 1; END_SET END_PROPERTY
        IF a > 3 AND NOT (b = 2) THEN x[1, i].%B1 := 16#FF; ELSIF q THEN t(IN := a, NOT Q => c); ELSE RETURN; END_IF;
        CASE a OF 1, 3..4: b := Mode#On; ELSE ; END_CASE
        FOR i := 1 TO 10 BY 2 DO s := 'a$Tb'; END_FOR WHILE a DO EXIT; END_WHILE REPEAT p^ := 1; UNTIL TRUE END_REPEAT
        (* note *) {pragma} i2 ?= i1;
      END_FUNCTION_BLOCK
      PROGRAM Drawn
      |   A    Y |
      +--| |--( )+
      END_PROGRAM
      PROGRAM Seq
        INITIAL_STEP A: L(N); END_STEP TRANSITION t FROM A TO (A, B) := x; END_TRANSITION ACTION c: n := 1; END_ACTION
      END_PROGRAM
      CONFIGURATION C RESOURCE R ON d TASK t(INTERVAL := T#1s); PROGRAM p WITH t : Fill (a := %IX0,
          f WITH t); END_RESOURCE END_CONFIGURATION
      """;

  @Property(tries = 500)
  void anyText(@ForAll String text) {
    check(text);
  }

  @Property(tries = 500)
  void anyTextOfTheLanguagesCharacters(@ForAll("characters") String text) {
    check(text);
  }

  @Property(tries = 1000)
  void anySoupOfTokens(@ForAll("soup") String text) {
    check(text);
  }

  @Property(tries = 1000)
  void anyMutationOfAProgram(@ForAll("mutations") String text) {
    check(text);
  }

  @Property(tries = 300)
  void anExpressionOfAnySoup(@ForAll("soup") String text) {
    Problems problems = new Problems(50);
    SourceText source = SourceText.of("t", "| " + text + " |");
    Expression e = new StParser(problems, 20).parseExpression(new Span(source, 2, source.length() - 2));
    assertThat(problems.hasErrors()).isEqualTo(holds(e, Expression.Erroneous.class));
    Problems others = new Problems(50);
    assertThat(new StParser(others, 20).byGrammar().parseExpression(new Span(source, 2, source.length() - 2))).isEqualTo(e);
    assertThat(others.sorted()).isEqualTo(problems.sorted());
    spans(e, new Span(source, 0, source.length()));
  }

  /** Cutting a program anywhere leaves what was whole in front of the cut. */
  @Property(tries = 200)
  void aProgramCutAnywhere(@ForAll("cuts") int cut) {
    String text = PROGRAM.substring(0, cut);
    Parsed p = check(text);
    assertThat(p.file().declarations().size()).isGreaterThanOrEqualTo(text.split("END_(TYPE|FUNCTION_BLOCK|PROGRAM|CONFIGURATION)\\b",
        -1).length - 1);
  }

  @Provide
  Arbitrary<String> characters() {
    return Arbitraries.strings().withChars("abTPDt#'\"$%.;:=()[]{}*/+-|_0129 \n\r\t\u2502\u2018\u00fc\0\ud800").ofMaxLength(200);
  }

  @Provide
  Arbitrary<String> soup() {
    List<String> words = new ArrayList<>(List.of("a", "b.c", "x[1]", "1", "2.5", "16#F", "T#5s", "'s'", "\"w\"", "%IX0.0", "%B1", "INT#",
        "Mode#",
        "(* c *)", "{p}", "// e\n", "\n", "\n|  A |\n+-| |-\n", "\nL:\n", "(*", "'", "?", "1__2", "5.", "LD a\n", "END IF", "IFF",
            "x = 1;"));
    for (int t = 1; t <= ScanloomLexer.VOCABULARY.getMaxTokenType(); t++) {
      String word = Words.spelling(t);
      if (word != null) {
        words.add(word);
      }
    }
    return Arbitraries.of(words).list().ofMaxSize(60).map(l -> String.join(" ", l));
  }

  @Provide
  Arbitrary<String> mutations() {
    Arbitrary<String> pieces = Arbitraries.of("", ";", "(", ")", "END_IF", "END_VAR", "IF", "VAR", ":=", "'", "(*", "*)", "|", "\n", "[",
        "]", "PROGRAM",
        "END_PROGRAM", "x", "1", ".", "#", "\0", "{", "OF", "CASE", "END_CASE", "ELSE", ":", ",");
    Arbitrary<Tuple.Tuple3<Integer, Integer, String>> edit = Combinators.combine(Arbitraries.integers().between(0, PROGRAM.length()),
        Arbitraries.integers().between(0, 12), pieces).as(Tuple::of);
    return edit.list().ofMinSize(1).ofMaxSize(4).map(edits -> {
      StringBuilder text = new StringBuilder(PROGRAM);
      for (Tuple.Tuple3<Integer, Integer, String> e : edits) {
        int from = Math.min(e.get1(), text.length());
        text.replace(from, Math.min(from + e.get2(), text.length()), e.get3());
      }
      return text.toString();
    });
  }

  @Provide
  Arbitrary<Integer> cuts() {
    return Arbitraries.integers().between(0, PROGRAM.length());
  }

  private static Parsed check(String text) {
    Parsed p = Parsed.of(text, 20);
    Span whole = new Span(p.file().source(), 0, p.file().source().length());
    for (Declaration d : p.file().declarations()) {
      spans(d, whole);
    }
    for (Diagnostic d : p.diagnostics()) {
      assertThat(d.span().end()).isLessThanOrEqualTo(whole.end());
      assertThat(d.oneLine()).doesNotContain("\n");
      assertThat(d.message()).doesNotContain("null", "something else");
    }
    boolean wrong = p.diagnostics().stream().anyMatch(d -> d.code().startsWith("syntax/") || d.code().startsWith("limit/"));
    for (Declaration d : p.file().declarations()) {
      boolean erroneous = holds(d, Statement.Erroneous.class) || holds(d, Expression.Erroneous.class);
      assertThat(wrong || !erroneous).as("an erroneous node without a diagnostic").isTrue();
    }
    assertThat(Parsed.of(text, 20).diagnostics().toString()).isEqualTo(p.diagnostics().toString());
    Parsed grammar = Parsed.byGrammar(p.file().source(), 20);
    assertThat(p.diagnostics()).as("hand-written code and grammar report alike").isEqualTo(grammar.diagnostics());
    assertThat(p.file()).as("hand-written code and grammar read alike").isEqualTo(grammar.file());
    return p;
  }

  /** Every span lies within the text and the span of the node around it. */
  private static void spans(Object node, Span around) {
    if (node instanceof Optional<?> o) {
      o.ifPresent(v -> spans(v, around));
    } else if (node instanceof Collection<?> c) {
      c.forEach(v -> spans(v, around));
    } else if (node instanceof Record r && !(node instanceof Span)) {
      Span own = around;
      for (Object v : values(r)) {
        if (v instanceof Span s && own == around && !(r instanceof Expression.Link)) {
          assertThat(s.start()).as(r::toString).isGreaterThanOrEqualTo(around.start());
          assertThat(s.end()).as(r::toString).isLessThanOrEqualTo(around.end());
          own = s;
        }
      }
      for (Object v : values(r)) {
        spans(v, own);
      }
    }
  }

  private static boolean holds(Object node, Class<?> type) {
    if (type.isInstance(node)) {
      return true;
    } else if (node instanceof Optional<?> o) {
      return o.isPresent() && holds(o.get(), type);
    } else if (node instanceof Collection<?> c) {
      return c.stream().anyMatch(v -> holds(v, type));
    } else if (node instanceof Record r && !(node instanceof Span)) {
      return values(r).stream().anyMatch(v -> holds(v, type));
    }
    return false;
  }

  private static List<Object> values(Record r) {
    List<Object> values = new ArrayList<>();
    for (RecordComponent c : r.getClass().getRecordComponents()) {
      try {
        values.add(c.getAccessor().invoke(r));
      } catch (ReflectiveOperationException e) {
        throw new AssertionError(e);
      }
    }
    return values;
  }
}
