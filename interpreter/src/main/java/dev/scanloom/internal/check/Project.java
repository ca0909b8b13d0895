package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.Optional;

/**
 * The checked model of a whole program: everything reachable from its configuration. Read-only.
 *
 * @param pous all POUs that are used or declared by the user, library ones that are used included; methods are inside their owners
 * @param globals all global variables with their scope, in the order of declaration
 * @param tasks all tasks; a single PROGRAM without configuration has none
 * @param programs program instances in the order of declaration; at least one
 */
public record Project(
    List<Pou> pous, List<Global> globals, List<Task> tasks, List<ProgramInstance> programs, List<AccessPath> accessPaths) {
  public Project {
    pous = List.copyOf(pous);
    globals = List.copyOf(globals);
    tasks = List.copyOf(tasks);
    programs = List.copyOf(programs);
    accessPaths = List.copyOf(accessPaths);
  }

  /** {@code scope} is empty for a configuration or file, else the name of the resource or program. */
  public record Global(String scope, Variable variable) {}

  /** Interval in nanoseconds, 0 for none; priority 0 is the highest. */
  public record Task(Span span, String name, String resource, Optional<Place> single, long interval, int priority) {}

  /**
   * @param task index in tasks, or empty: runs when nothing else is due
   * @param inputs connections {@code a := x}, evaluated before each execution
   * @param outputs connections {@code q => y}, written after each execution
   * @param initial values of VAR_CONFIG and located completions for this instance
   */
  public record ProgramInstance(
      Span span, String name, String resource, Pou pou, Variable.Retention retention, Optional<Integer> task, List<Call.Argument> connections,
      List<Completion> completions, List<BlockTask> blockTasks) {
    public ProgramInstance {
      connections = List.copyOf(connections);
      completions = List.copyOf(completions);
      blockTasks = List.copyOf(blockTasks);
    }
  }

  /** VAR_CONFIG entry: a path below the program instance gets a location or initial value. */
  public record Completion(List<Variable> path, Optional<Located> located, Optional<Init> initial) {
    public Completion {
      path = List.copyOf(path);
    }
  }

  /** An FB instance of the program that runs under a task of its own. */
  public record BlockTask(List<Variable> path, int task) {
    public BlockTask {
      path = List.copyOf(path);
    }
  }

  /**
   * VAR_ACCESS. {@code place} begins at a global, an address, or a variable of a program.
   *
   * @param program index in programs of the instance whose variable it is; empty for globals and addresses
   */
  public record AccessPath(String name, Place place, boolean writable, Optional<Integer> program) {}
}
