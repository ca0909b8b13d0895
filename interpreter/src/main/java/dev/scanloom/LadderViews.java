package dev.scanloom;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.internal.ladder.Drawing;
import dev.scanloom.internal.ladder.LadderEquations;
import dev.scanloom.internal.ladder.LadderPrinter;
import dev.scanloom.internal.ladder.LadderReader;
import dev.scanloom.internal.ladder.LadderText;
import dev.scanloom.internal.syntax.Body;
import dev.scanloom.internal.syntax.Declaration;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.StParser;
import java.util.ArrayList;
import java.util.List;
import java.util.function.Function;

/** The ladder bodies of a text in other forms. Names and types are not looked at; what could not be read is left out. */
final class LadderViews {
  private final Problems problems = new Problems(100);
  private final StParser parser;
  private final Function<Drawing, List<String>> form;
  private final List<String> lines = new ArrayList<>();

  private LadderViews(int nesting, Function<Drawing, List<String>> form) {
    this.parser = new StParser(problems, nesting);
    this.form = form;
  }

  static List<String> equations(SourceText source, int nesting) {
    return new LadderViews(nesting, drawing -> {
      List<String> all = new ArrayList<>();
      for (Drawing.Network n : drawing.networks()) {
        all.add("network " + n.number() + n.label().map(l -> ", label " + l).orElse(""));
        LadderEquations.of(n).forEach(l -> all.add("  " + l));
      }
      return all;
    }).of(source);
  }

  static List<String> statements(SourceText source, int nesting) {
    return new LadderViews(nesting, drawing -> {
      LadderText text = LadderText.of(drawing);
      List<String> all = new ArrayList<>();
      text.declarations().forEach(d -> all.add("(* needs *) " + d));
      all.addAll(text.lines());
      return all;
    }).of(source);
  }

  static List<String> drawings(SourceText source, int nesting) {
    return new LadderViews(nesting, drawing -> LadderPrinter.print(drawing).lines().toList()).of(source);
  }

  private List<String> of(SourceText source) {
    parser.parse(source).declarations().forEach(this::declaration);
    return List.copyOf(lines);
  }

  private void declaration(Declaration d) {
    if (d instanceof Declaration.Program p) {
      body(p.name().text(), p.body());
    } else if (d instanceof Declaration.Function f) {
      body(f.name().text(), f.body());
    } else if (d instanceof Declaration.FunctionBlock b) {
      methods(b.name().text(), b.methods());
      body(b.name().text(), b.body());
    } else if (d instanceof Declaration.ClassType c) {
      methods(c.name().text(), c.methods());
    } else if (d instanceof Declaration.Namespace n) {
      n.declarations().forEach(this::declaration);
    }
  }

  private void methods(String owner, List<Declaration.Method> methods) {
    methods.forEach(m -> m.body().ifPresent(b -> body(owner + "." + m.name().text(), b)));
  }

  private void body(String name, Body body) {
    if (body instanceof Body.Drawing d) {
      Drawing drawing = new LadderReader(problems, parser).read(d.span());
      if (!drawing.networks().isEmpty()) {
        lines.add(name);
        form.apply(drawing).forEach(l -> lines.add("  " + l));
      }
    } else if (body instanceof Body.Chart c) {
      for (Body.SfcElement e : c.elements()) {
        if (e instanceof Body.Action a) {
          body(name + "." + a.name().text(), a.body());
        } else if (e instanceof Body.Transition t) {
          t.body().ifPresent(b -> body(name + "." + t.name().map(n -> n.text()).orElse("transition"), b));
        }
      }
    }
  }
}
