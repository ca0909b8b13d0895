package dev.scanloom.internal.check;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/** Configurations, resources, tasks and program instances (Tables 62 and 63). */
final class Configurations {
  private final Session session;
  private final List<Project.Task> tasks = new ArrayList<>();
  private final List<Project.ProgramInstance> programs = new ArrayList<>();
  private final List<Project.AccessPath> accessPaths = new ArrayList<>();

  Configurations(Session session) {
    this.session = session;
  }

  List<Project.Task> tasks() {
    return tasks;
  }

  List<Project.ProgramInstance> programs() {
    return programs;
  }

  List<Project.AccessPath> accessPaths() {
    return accessPaths;
  }

  void check() {
    for (var c : session.symbols.configurations()) {
      session.error("configuration/unsupported", c.name().span(), "configurations are not checked yet");
    }
  }

  /** A program that runs without configuration, under its own name. */
  Project.ProgramInstance alone(PouInfo program) {
    for (Variable v : program.incomplete().keySet()) {
      session.error("located/incomplete", v.span(), v.name() + " has an incomplete address and no VAR_CONFIG completes it");
    }
    return new Project.ProgramInstance(program.pou().span(), program.pou().name(), "", program.pou(), Optional.empty(), List.of(), List.of(), List.of());
  }
}
