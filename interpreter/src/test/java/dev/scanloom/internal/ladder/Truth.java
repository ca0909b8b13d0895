package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeSet;
import java.util.Set;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * Two small evaluators that share nothing: one walks a graph of contacts, coils, jumps and returns, the other a few statements. Variables
 * are integers; TRUE is 1. Edge memory starts at 0, the initial value of every variable here.
 */
final class Truth {
  private Truth() {}

  /** One activation changes the variables it is given. */
  interface Machine {
    void scan(Map<String, Integer> variables);
  }

  // ---- graph ----

  static Machine of(Drawing drawing) {
    Map<String, Boolean> memory = new HashMap<>();
    return v -> {
      int at = 0;
      int steps = 0;
      while (at >= 0 && at < drawing.networks().size() && steps++ < 10_000) {
        at = network(drawing, at, v, memory);
      }
    };
  }

  private static int network(Drawing drawing, int at, Map<String, Integer> v, Map<String, Boolean> memory) {
    Drawing.Network n = drawing.networks().get(at);
    boolean[] out = new boolean[n.elements().size()];
    int next = at + 1;
    boolean decided = false;
    for (int i = 0; i < out.length; i++) {
      Drawing.Element e = n.elements().get(i);
      String key = at + "." + i;
      if (e instanceof Drawing.Contact c) {
        boolean x = value(v, c.operand().span().text()) != 0;
        boolean was = memory.getOrDefault(key, false);
        boolean on = switch (c.mark()) {
          case NORMAL -> x;
          case NEGATED -> !x;
          case RISING -> x && !was;
          case FALLING -> !x && was;
        };
        memory.put(key, x);
        out[i] = on(c.left(), out) && on;
      } else if (e instanceof Drawing.Compare c) {
        int a = value(v, c.first().span().text());
        int b = value(v, c.second().span().text());
        out[i] = on(c.left(), out) && switch (c.comparison()) {
          case EQ -> a == b;
          case NE -> a != b;
          case LT -> a < b;
          case LE -> a <= b;
          case GT -> a > b;
          case GE -> a >= b;
        };
      } else if (e instanceof Drawing.Coil c) {
        boolean left = on(c.left(), out);
        boolean was = memory.getOrDefault(key, false);
        memory.put(key, left);
        String name = c.operand().span().text();
        switch (c.mark()) {
          case NORMAL -> v.put(name, left ? 1 : 0);
          case NEGATED -> v.put(name, left ? 0 : 1);
          case SET -> v.put(name, left ? 1 : value(v, name));
          case RESET -> v.put(name, left ? 0 : value(v, name));
          case RISING -> v.put(name, left && !was ? 1 : 0);
          case FALLING -> v.put(name, !left && was ? 1 : 0);
        }
        out[i] = left;
      } else if (e instanceof Drawing.Jump j) {
        if (on(j.left(), out) && !decided) {
          decided = true;
          next = find(drawing, j.target().key());
        }
      } else if (e instanceof Drawing.Return r) {
        if (on(r.left(), out) && !decided) {
          decided = true;
          next = -1;
        }
      } else {
        throw new IllegalArgumentException("boxes have no truth table");
      }
    }
    return next;
  }

  private static int find(Drawing drawing, String key) {
    for (int i = 0; i < drawing.networks().size(); i++) {
      if (drawing.networks().get(i).label().map(l -> l.key().equals(key)).orElse(false)) {
        return i;
      }
    }
    throw new IllegalArgumentException("label " + key);
  }

  private static boolean on(Drawing.Link link, boolean[] out) {
    boolean on = false;
    for (Drawing.Port p : link.sources()) {
      on |= p instanceof Drawing.Out o ? out[o.element()] : true;
    }
    return on;
  }

  static int value(Map<String, Integer> v, String name) {
    return name.matches("[0-9]+") ? Integer.parseInt(name) : v.getOrDefault(name, 0);
  }

  // ---- statements ----

  private interface Code {
    /** False after RETURN. */
    boolean run(Map<String, Integer> v);
  }

  private interface Value {
    int of(Map<String, Integer> v);
  }

  /** {@code X := e;}, {@code IF e THEN ... END_IF;}, {@code RETURN;} with NOT AND OR, comparisons, {@code rise} and {@code fall}. */
  static Machine of(String statements) {
    Parser p = new Parser(statements);
    Code code = p.list();
    if (p.at < p.tokens.size()) {
      throw new IllegalArgumentException("left over: " + p.tokens.subList(p.at, p.tokens.size()));
    }
    return code::run;
  }

  /** All variables that the statements name. */
  static Set<String> names(String statements) {
    Set<String> names = new TreeSet<>();
    for (String t : new Parser(statements).tokens) {
      if (t.matches("[%A-Za-z_][A-Za-z0-9_.\\[\\]]*") && !t.matches("IF|THEN|END_IF|RETURN|NOT|AND|OR|TRUE|FALSE|rise|fall")) {
        names.add(t);
      }
    }
    return names;
  }

  private static final class Parser {
    private static final Pattern TOKEN = Pattern.compile("\\s*(:=|<=|>=|<>|[%A-Za-z_][A-Za-z0-9_.\\[\\]]*|[0-9]+|[;:()<>=])");
    final List<String> tokens = new ArrayList<>();
    int at;

    Parser(String source) {
      String text = source.replaceAll("\\(\\*.*?\\*\\)", " ");
      Matcher m = TOKEN.matcher(text);
      int end = 0;
      while (m.find() && m.start() == end) {
        tokens.add(m.group(1));
        end = m.end();
      }
      if (!text.substring(end).isBlank()) {
        throw new IllegalArgumentException(text.substring(end));
      }
    }

    private boolean take(String t) {
      boolean is = at < tokens.size() && tokens.get(at).equals(t);
      at += is ? 1 : 0;
      return is;
    }

    private void need(String t) {
      if (!take(t)) {
        throw new IllegalArgumentException("expected " + t + " at " + tokens.subList(at, tokens.size()));
      }
    }

    Code list() {
      List<Code> all = new ArrayList<>();
      while (!ends()) {
        all.add(statement());
      }
      return v -> {
        for (Code c : all) {
          if (!c.run(v)) {
            return false;
          }
        }
        return true;
      };
    }

    private boolean ends() {
      return at >= tokens.size() || tokens.get(at).matches("END_IF|END_CASE|END_WHILE|ELSE|ELSIF")
          || at + 1 < tokens.size() && tokens.get(at).matches("[0-9]+") && tokens.get(at + 1).equals(":");
    }

    private Code statement() {
      if (take(";")) {
        return v -> true;
      }
      if (take("WHILE")) {
        Value condition = or();
        need("DO");
        Code body = list();
        need("END_WHILE");
        need(";");
        return v -> {
          for (int n = 0; condition.of(v) != 0; n++) {
            if (n > 10_000) {
              throw new IllegalStateException("endless");
            }
            if (!body.run(v)) {
              return false;
            }
          }
          return true;
        };
      }
      if (take("CASE")) {
        Value selector = or();
        need("OF");
        Map<Integer, Code> arms = new HashMap<>();
        while (!take("END_CASE")) {
          int label = Integer.parseInt(tokens.get(at++));
          need(":");
          arms.put(label, list());
        }
        need(";");
        return v -> arms.get(selector.of(v)).run(v);
      }
      if (take("RETURN")) {
        need(";");
        return v -> false;
      }
      if (take("IF")) {
        Value condition = or();
        need("THEN");
        Code body = list();
        Code otherwise = v -> true;
        if (at < tokens.size() && tokens.get(at).equals("ELSIF")) {
          tokens.set(at, "IF"); // the rest is an IF of its own up to the same END_IF
          otherwise = statement();
        } else {
          if (take("ELSE")) {
            otherwise = list();
          }
          need("END_IF");
          need(";");
        }
        Code rest = otherwise;
        return v -> condition.of(v) == 0 ? rest.run(v) : body.run(v);
      }
      String target = tokens.get(at++);
      need(":=");
      Value value = or();
      need(";");
      return v -> {
        v.put(target, value.of(v));
        return true;
      };
    }

    private Value or() {
      Value a = and();
      while (take("OR")) {
        Value l = a;
        Value r = and();
        a = v -> l.of(v) | r.of(v);
      }
      return a;
    }

    private Value and() {
      Value a = comparison();
      while (take("AND")) {
        Value l = a;
        Value r = comparison();
        a = v -> l.of(v) & r.of(v);
      }
      return a;
    }

    private Value comparison() {
      Value l = unary();
      if (take(">=")) {
        Value r = unary();
        return v -> l.of(v) >= r.of(v) ? 1 : 0;
      }
      if (take("<")) {
        Value r = unary();
        return v -> l.of(v) < r.of(v) ? 1 : 0;
      }
      if (take("<=")) {
        Value r = unary();
        return v -> l.of(v) <= r.of(v) ? 1 : 0;
      }
      if (take(">")) {
        Value r = unary();
        return v -> l.of(v) > r.of(v) ? 1 : 0;
      }
      if (take("<>")) {
        Value r = unary();
        return v -> l.of(v) != r.of(v) ? 1 : 0;
      }
      if (take("=")) {
        Value r = unary();
        return v -> l.of(v) == r.of(v) ? 1 : 0;
      }
      return l;
    }

    private Value unary() {
      if (take("NOT")) {
        Value x = unary();
        return v -> 1 - x.of(v);
      }
      boolean rise = take("rise");
      if (rise || take("fall")) {
        need("(");
        Value x = or();
        need(")");
        int[] was = {0};
        return v -> {
          int now = x.of(v);
          int edge = rise ? now & (1 - was[0]) : was[0] & (1 - now);
          was[0] = now;
          return edge;
        };
      }
      if (take("(")) {
        Value x = or();
        need(")");
        return x;
      }
      String name = tokens.get(at++);
      if (name.equals("TRUE") || name.equals("FALSE")) {
        int k = name.equals("TRUE") ? 1 : 0;
        return v -> k;
      }
      return v -> value(v, name);
    }
  }
}
