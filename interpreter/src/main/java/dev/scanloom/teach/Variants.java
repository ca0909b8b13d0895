package dev.scanloom.teach;

import dev.scanloom.CompiledProgram;
import dev.scanloom.model.Element;
import dev.scanloom.model.Network;
import dev.scanloom.model.Pou;
import java.util.ArrayList;
import java.util.Collections;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Random;
import java.util.Set;
import java.util.TreeMap;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * Makes variants of an exercise within the freedom that it gives: names, addresses, polarity of contacts, stimulus, order of networks,
 * order of options. The answers of every variant are computed; no two variants have the same answers, and each keeps the point of the
 * exercise. The same seed gives the same variants on every machine.
 */
public final class Variants {
  private static final Pattern WORD = Pattern.compile("(?<![A-Za-z0-9_#%])[A-Za-z_][A-Za-z0-9_]*");
  private static final Pattern ADDRESS = Pattern.compile("%([IiQq])[Xx]([0-9]{1,5})\\.([0-7])");
  private static final Pattern NETWORK = Pattern.compile("\\b([Nn]etwork) ([0-9]{1,4})\\b");
  private static final int ATTEMPTS = 50;

  private Variants() {}

  /**
   * Variants.
   *
   * @param count how many, from 1 to 1,000
   * @throws IllegalArgumentException when the exercise does not give enough freedom for so many with different answers; the message tells
   *     how many there were
   */
  public static List<Solution> of(Exercise exercise, int count, long seed) {
    if (count < 1 || count > 1_000) {
      throw new IllegalArgumentException("1 to 1000 variants: " + count);
    }
    Random random = new Random(seed);
    CompiledProgram original = Solving.compiled(exercise);
    Set<List<String>> seen = new LinkedHashSet<>();
    List<Solution> made = new ArrayList<>();
    String last = "";
    for (int i = 0; i < ATTEMPTS * count + ATTEMPTS && made.size() < count; i++) {
      try {
        Exercise e = variant(exercise, original, random);
        Solution s = Solving.solve(e, false);
        if (exercise.point.test(s) && seen.add(s.answers())) {
          made.add(Solving.solve(e, true));
        }
      } catch (IllegalArgumentException doesNotFit) {
        // a name too wide for the drawing, a choice without a single answer: another draw
        last = doesNotFit.getMessage();
      }
    }
    if (made.size() < count) {
      throw new IllegalArgumentException("'" + exercise.title + "' gives " + made.size() + " variants with different answers; " + count
          + " were asked for; "
          + "names and addresses alone change no answer: let contacts be inverted, inputs vary, networks move" + (last.isEmpty() ? ""
              : "; last refusal: " + last));
    }
    return List.copyOf(made);
  }

  private static Exercise variant(Exercise e, CompiledProgram original, Random random) {
    Exercise.Parts p = e.parts();
    String text = e.program;
    for (String operand : e.freedom.inverted()) {
      if (random.nextBoolean()) {
        text = inverted(text, original, operand);
      }
    }
    Map<Integer, Integer> moved = new TreeMap<>();
    if (e.freedom.networks()) {
      text = reordered(text, original, random, moved);
    }
    Map<String, String> names = new LinkedHashMap<>();
    Set<String> taken = new LinkedHashSet<>();
    for (List<String> choices : e.freedom.names()) {
      String name = choices.get(random.nextInt(choices.size()));
      if (!taken.add(name.toUpperCase(java.util.Locale.ROOT))) {
        throw new IllegalArgumentException("two items drew the name " + name);
      }
      names.put(choices.get(0), name);
    }
    Map<String, List<Integer>> bits = new TreeMap<>();
    if (e.freedom.addresses()) {
      Matcher m = ADDRESS.matcher(text);
      while (m.find()) {
        bits.computeIfAbsent((m.group(1) + m.group(2)).toUpperCase(java.util.Locale.ROOT), k -> shuffled(8, random));
      }
    }
    Changer c = new Changer(names, bits, moved);
    p.program = c.program(text);
    p.story = c.words(e.story);
    p.lesson = c.words(e.lesson);
    p.watch = new ArrayList<>(e.watch.stream().map(c::path).toList());
    p.actions = new ArrayList<>();
    List<Exercise.Set> drawn = new ArrayList<>();
    for (Exercise.Values v : e.freedom.values()) {
      drawn.add(new Exercise.Set(v.scan(), v.path(), v.literals().get(random.nextInt(v.literals().size()))));
    }
    for (Exercise.Action a : e.actions) {
      boolean replaced = a instanceof Exercise.Set s && drawn.stream().anyMatch(d -> d.scan() == s.scan() && d.path().equals(s.path()));
      if (!replaced) {
        p.actions.add(c.action(a));
      }
    }
    drawn.forEach(d -> p.actions.add(c.action(d)));
    p.questions = new ArrayList<>();
    for (Question q : e.questions) {
      p.questions.add(c.question(q, random));
    }
    return p.made();
  }

  private static List<Integer> shuffled(int n, Random random) {
    List<Integer> all = new ArrayList<>();
    for (int i = 0; i < n; i++) {
      all.add(i);
    }
    Collections.shuffle(all, random);
    return all;
  }

  private static List<Network> networks(CompiledProgram program) {
    List<Network> all = new ArrayList<>();
    for (Pou pou : program.pous()) {
      if (!pou.library()) {
        all.addAll(pou.networks());
      }
    }
    return all;
  }

  /** All contacts of an operand with the other polarity. Marks have one character, so nothing else moves. */
  private static String inverted(String text, CompiledProgram original, String operand) {
    List<String> lines = new ArrayList<>(text.lines().toList());
    boolean found = false;
    for (Network n : networks(original)) {
      for (Element x : n.elements()) {
        if (x.kind() == Element.Kind.CONTACT && x.title().equalsIgnoreCase(operand) && (x.mark().isBlank() || x.mark().equals("/"))) {
          int line = x.span().line() - 1;
          String old = lines.get(line);
          int column = old.offsetByCodePoints(0, x.span().column() - 1);
          int mark = old.indexOf(x.mark().isBlank() ? "| |" : "|/|", column);
          if (mark != column) {
            throw new IllegalArgumentException("the contact of " + operand + " is not drawn as one that can be inverted");
          }
          lines.set(line, old.substring(0, mark + 1) + (x.mark().isBlank() ? "/" : " ") + old.substring(mark + 2));
          found = true;
        }
      }
    }
    if (!found) {
      throw new IllegalArgumentException("no contact of " + operand + " can be inverted");
    }
    return String.join("\n", lines) + "\n";
  }

  /** Networks with their comments in another order; {@code moved} gets the new number of each old one. */
  private static String reordered(String text, CompiledProgram original, Random random, Map<Integer, Integer> moved) {
    List<Network> all = networks(original);
    List<String> lines = text.lines().toList();
    for (Network n : all) {
      if (!n.label().isEmpty() || n.elements().stream().anyMatch(x -> x.kind() == Element.Kind.JUMP || x.kind() == Element.Kind.RETURN)) {
        throw new IllegalArgumentException("networks with jumps, returns or labels are not moved");
      }
    }
    if (all.size() < 2) {
      throw new IllegalArgumentException("there are no networks to move");
    }
    List<List<String>> blocks = new ArrayList<>();
    int first = all.get(0).span().line() - 1;
    while (first > 0 && lines.get(first - 1).strip().startsWith("(*")) {
      first--;
    }
    int from = first;
    for (Network n : all) {
      int to = n.span().source().lineOf(Math.max(n.span().start(), n.span().end() - 1));
      blocks.add(lines.subList(from, to));
      from = to;
    }
    List<Integer> order = shuffled(all.size(), random);
    List<String> result = new ArrayList<>(lines.subList(0, first));
    for (int i = 0; i < order.size(); i++) {
      moved.put(order.get(i) + 1, i + 1);
      result.addAll(blocks.get(order.get(i)));
      if (i + 1 < order.size() && !result.get(result.size() - 1).isBlank()) {
        result.add("");
      }
    }
    result.addAll(lines.subList(from, lines.size()));
    return String.join("\n", result) + "\n";
  }

  /** Puts new names, addresses and numbers of networks wherever the old ones stand. */
  private static final class Changer {
    private final Map<String, String> names;
    private final Map<String, List<Integer>> bits;
    private final Map<Integer, Integer> moved;

    Changer(Map<String, String> names, Map<String, List<Integer>> bits, Map<Integer, Integer> moved) {
      this.names = names;
      this.bits = bits;
      this.moved = moved;
    }

    private String addresses(String text) {
      return ADDRESS.matcher(text).replaceAll(m -> {
        List<Integer> to = bits.get((m.group(1) + m.group(2)).toUpperCase(java.util.Locale.ROOT));
        return Matcher.quoteReplacement(to == null ? m.group() : "%" + m.group(1) + "X" + m.group(2) + "."
            + to.get(Integer.parseInt(m.group(3))));
      });
    }

    String path(String text) {
      return addresses(WORD.matcher(text).replaceAll(m -> Matcher.quoteReplacement(names.getOrDefault(m.group(), m.group()))));
    }

    String words(String text) {
      return NETWORK.matcher(path(text)).replaceAll(m -> m.group(1) + " " + network(Integer.parseInt(m.group(2))));
    }

    int network(int old) {
      return moved.getOrDefault(old, old);
    }

    String program(String text) {
      StringBuilder b = new StringBuilder();
      for (String line : text.lines().toList()) {
        String s = line.stripLeading();
        b.append(s.startsWith("|") || s.startsWith("+") ? drawn(line) : words(line)).append('\n');
      }
      return addresses(b.toString());
    }

    /** A row of a drawing: what stands to the right of a name must not move. */
    private String drawn(String line) {
      StringBuilder b = new StringBuilder(line);
      List<int[]> places = new ArrayList<>();
      Matcher m = WORD.matcher(line);
      while (m.find()) {
        if (names.containsKey(m.group())) {
          places.add(new int[] {m.start(), m.end()});
        }
      }
      for (int i = places.size() - 1; i >= 0; i--) {
        int start = places.get(i)[0];
        int end = places.get(i)[1];
        String name = names.get(line.substring(start, end));
        int more = name.length() - (end - start);
        char fill = end < b.length() && b.charAt(end) == '-' ? '-' : ' ';
        if (more <= 0) {
          b.replace(start, end, name + String.valueOf(fill).repeat(-more));
          continue;
        }
        int free = 0;
        while (end + free < b.length() && b.charAt(end + free) == fill) {
          free++;
        }
        if (free <= more) {
          throw new IllegalArgumentException("the drawing has no room for the name " + name);
        }
        b.replace(start, end + more, name);
      }
      return b.toString();
    }

    Exercise.Action action(Exercise.Action a) {
      if (a instanceof Exercise.Set s) {
        return new Exercise.Set(s.scan(), path(s.path()), s.literal());
      }
      if (a instanceof Exercise.SetAt s) {
        return new Exercise.SetAt(s.time(), path(s.path()), s.literal());
      }
      if (a instanceof Exercise.Force f) {
        return new Exercise.Force(f.scan(), path(f.path()), f.literal());
      }
      if (a instanceof Exercise.Unforce u) {
        return new Exercise.Unforce(u.scan(), path(u.path()));
      }
      return a;
    }

    Question question(Question q, Random random) {
      return q.accept(new Question.Visitor<Question>() {
        @Override
        public Question state(Question.State s) {
          int network = s.moment().network();
          return new Question.State(s.where(), s.display(), path(s.path()), new Question.Moment(s.moment().scan(), network == 0 ? 0
              : network(network)));
        }

        @Override
        public Question writer(Question.Writer w) {
          return new Question.Writer(path(w.path()), w.scan());
        }

        @Override
        public Question painted(Question.Painted p) {
          return new Question.Painted(network(p.network()), path(p.title()), p.display(), p.scan());
        }

        @Override
        public Question scansUntil(Question.ScansUntil s) {
          return new Question.ScansUntil(s.where(), path(s.path()), s.literal(), s.from());
        }

        @Override
        public Question cure(Question.Cure c) {
          List<Question.Change> all = new ArrayList<>();
          for (Question.Change x : c.changes()) {
            all.add(x.policy().isPresent() ? x : new Question.Change(words(x.words()), stripped(program(x.find()), x.find()),
                stripped(program(x.put()), x.put()),
                x.policy()));
          }
          Collections.shuffle(all, random);
          return new Question.Cure(c.where(), path(c.path()), c.literal(), c.scan(), all);
        }

        @Override
        public Question choice(Question.Choice c) {
          List<Question.Reason> all = new ArrayList<>();
          for (Question.Reason r : c.reasons()) {
            all.add(new Question.Reason(words(r.words()), r.claims().stream()
                .map(x -> new Question.Claim(x.kind(), path(x.path()), x.network() == 0 ? 0 : network(x.network()), x.value())).toList()));
          }
          Collections.shuffle(all, random);
          return new Question.Choice(path(c.path()), c.scan(), all);
        }

        @Override
        public Question stop(Question.Stop s) {
          return s;
        }
      });
    }

    private static String stripped(String changed, String original) {
      return original.endsWith("\n") || !changed.endsWith("\n") ? changed : changed.substring(0, changed.length() - 1);
    }
  }
}
