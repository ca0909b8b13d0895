package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Problems;
import dev.scanloom.internal.syntax.SourceFile;
import dev.scanloom.library.Library;
import dev.scanloom.policy.ImplementerChoices;
import dev.scanloom.policy.Limits;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/**
 * Syntax trees to the checked model. Confined to one compilation.
 *
 * <p>Which program runs: a CONFIGURATION if there is one; else the PROGRAM named {@code mainProgram}; else the only PROGRAM. Two programs
 * without a choice are {@code program/ambiguous}, none is {@code program/none}.
 *
 * <p>Names come first, then types, headers of POUs, initial values and bodies; elements of libraries are loaded when a name asks for them.
 * Whatever is wrong has a diagnostic and the type {@link Type.Unknown}, which is compatible with everything, so that one cause gives one
 * diagnostic.
 */
public final class Checker {
  private final Problems problems;
  private final List<Library> libraries;
  private final ImplementerChoices choices;
  private final Limits limits;

  public Checker(Problems problems, List<Library> libraries, ImplementerChoices choices, Limits limits) {
    this.problems = problems;
    this.libraries = List.copyOf(libraries);
    this.choices = choices;
    this.limits = limits;
  }

  /** The model, or empty when there are errors. Diagnostics go to the problems given at construction. */
  public Optional<Project> check(List<SourceFile> files, Optional<String> mainProgram) {
    Session session = new Session(problems, libraries, choices, limits);
    session.symbols.collect(files);
    session.types.all();
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      session.pous.bases(s.info());
    }
    session.globals.declare();
    headers(session);
    session.globals.bindAll();
    if (session.types.reportRecursion()) {
      // Nothing behind a type that contains itself has a size; what follows would ask for it.
      return Optional.empty();
    }
    new Inheritance(session).check();
    session.initials.all();
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      session.queueBody(s.info());
    }
    for (PouInfo i = session.nextBody(); i != null; i = session.nextBody()) {
      session.bodies.check(i);
      session.initials.all();
    }
    session.usage.reportRecursion();
    if (!problems.hasErrors()) {
      Traps traps = new Traps(session);
      for (PouInfo i : session.allInfos()) {
        traps.check(i);
      }
    }
    Configurations configurations = new Configurations(session);
    configurations.check();
    Selection selection = select(session, files, mainProgram, configurations);
    session.initials.all();
    if (problems.hasErrors() || selection == null) {
      return Optional.empty();
    }
    return Optional.of(new Project(pous(session), session.globals.all(), selection.tasks, selection.programs, selection.accessPaths));
  }

  /** Programs first, since their VAR_GLOBAL may be external variables of others. */
  private static void headers(Session session) {
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      if (s.pou().kind() == Pou.Kind.PROGRAM) {
        session.pous.header(s.info());
        for (Variable v : s.info().programGlobals()) {
          session.globals.add(s.pou().name(), v);
        }
      }
    }
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      session.pous.header(s.info());
    }
  }

  private record Selection(List<Project.Task> tasks, List<Project.ProgramInstance> programs, List<Project.AccessPath> accessPaths) {}

  private Selection select(Session session, List<SourceFile> files, Optional<String> mainProgram, Configurations configurations) {
    if (!session.symbols.configurations().isEmpty()) {
      return new Selection(configurations.tasks(), configurations.programs(), configurations.accessPaths());
    }
    List<Symbol.PouSymbol> programs = new ArrayList<>();
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      if (s.pou().kind() == Pou.Kind.PROGRAM) {
        programs.add(s);
      }
    }
    Symbol.PouSymbol chosen;
    if (mainProgram.isPresent()) {
      chosen = programs.stream().filter(p -> p.name().text().equalsIgnoreCase(mainProgram.get())).findFirst().orElse(null);
      if (chosen == null) {
        session.unknownName(end(files), "there is no program " + mainProgram.get(), mainProgram.get(),
            programs.stream().map(p -> p.name().text()).toList());
        return null;
      }
    } else if (programs.size() == 1) {
      chosen = programs.get(0);
    } else if (programs.isEmpty()) {
      if (!problems.hasErrors()) {
        session.error("program/none", end(files), "there is no program to run; expected a PROGRAM or a CONFIGURATION");
      }
      return null;
    } else {
      Diagnostic d = Diagnostic.error("program/ambiguous", programs.get(1).span(),
          "there are " + programs.size() + " programs (" + String.join(", ", programs.stream().limit(10).map(p -> p.name().text()).toList())
              + (programs.size() > 10 ? ", ..." : "") + ") and no configuration; say which one runs");
      session.report(d.withRelated(programs.get(0).span(), "the first one"));
      return null;
    }
    Project.ProgramInstance p = configurations.alone(chosen.info());
    return new Selection(List.of(), List.of(p), configurations.accessPaths());
  }

  private static Span end(List<SourceFile> files) {
    SourceText source = files.isEmpty() ? SourceText.of("(nothing)", "") : files.get(files.size() - 1).source();
    return new Span(source, source.length(), source.length());
  }

  private static List<Pou> pous(Session session) {
    List<Pou> all = new ArrayList<>();
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      all.add(s.pou());
    }
    for (PouInfo i : session.allInfos()) {
      if (i.library() != null && i.owner() == null && i.bodyQueued && !(i.pou().code() instanceof Code.Intrinsic)
          && i.pou().variables().stream().noneMatch(v -> v.type() instanceof Type.Generic)) {
        all.add(i.pou());
      }
    }
    all.addAll(session.specialised());
    return all;
  }
}
