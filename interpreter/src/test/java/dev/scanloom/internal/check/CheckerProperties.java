package dev.scanloom.internal.check;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Severity;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;

/** Whatever the text: the checker answers, and gives a model exactly when there is no error. */
final class CheckerProperties {
  private static final Pattern TOKEN = Pattern.compile(
      "[A-Za-z_][A-Za-z_0-9]*|[0-9][0-9_.#A-Za-z]*|:=|=>|<=|>=|<>|\\*\\*|\\.\\.|\\s+|.", Pattern.DOTALL);

  private static final List<List<String>> TEXTS = texts();

  private static List<List<String>> texts() {
    List<List<String>> all = new ArrayList<>();
    for (String file : List.of("types", "expressions", "statements", "calls", "ladder", "objects", "charts", "configurations", "traps")) {
      for (String text : TestLibrary.resource("check/" + file + ".txt").split("(?m)^=== .*$")) {
        List<String> tokens = new ArrayList<>();
        Matcher m = TOKEN.matcher(text);
        while (m.find()) {
          tokens.add(m.group());
        }
        if (tokens.size() > 3) {
          all.add(tokens);
        }
      }
    }
    return all;
  }

  /** A text of the marked cases with a few tokens lost, doubled, exchanged or taken from another one. */
  @Provide
  Arbitrary<String> mangled() {
    return Arbitraries.longs().map(seed -> {
      Random r = new Random(seed);
      List<String> t = new ArrayList<>(TEXTS.get(r.nextInt(TEXTS.size())));
      for (int i = r.nextInt(4); i >= 0 && t.size() > 1; i--) {
        int p = r.nextInt(t.size());
        int q = r.nextInt(t.size());
        List<String> other = TEXTS.get(r.nextInt(TEXTS.size()));
        switch (r.nextInt(4)) {
          case 0 -> t.remove(p);
          case 1 -> t.add(p, t.get(q));
          case 2 -> Collections.swap(t, p, q);
          default -> t.set(p, other.get(r.nextInt(other.size())));
        }
      }
      return String.join("", t);
    });
  }

  @Property(tries = 400)
  void alwaysAnswers(@ForAll("mangled") String text) {
    Checked c = Checked.of(text);
    assertThat(c.project().isPresent()).isEqualTo(c.diagnostics().stream().noneMatch(d -> d.severity() == Severity.ERROR));
  }
}
