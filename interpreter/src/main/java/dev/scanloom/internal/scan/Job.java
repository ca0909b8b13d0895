package dev.scanloom.internal.scan;

import dev.scanloom.internal.exec.TaskState;
import dev.scanloom.internal.memory.Memory;
import dev.scanloom.internal.step.Code;
import java.util.Arrays;
import java.util.List;

/**
 * What is scheduled: a task with its programs, or the programs without a task together (index -1), which have something to do in every scan at the
 * lowest priority.
 */
final class Job {
  static final int IDLE = 0;
  /** Waits to be started. */
  static final int READY = 1;
  /** Between start and end; perhaps interrupted by others. */
  static final int RUNNING = 2;

  /** Waits for a lock in the middle of a body. */
  static final int WAITING = 3;

  final int index;
  final int priority;
  final long interval;
  final long single;
  /** Numbers of its programs in the order of declaration. */
  final int[] programs;
  final TaskState state;
  /** Bodies and instances of its programs. */
  final int[] bodies;
  final int[] instances;

  int status = IDLE;
  /** Another activation waits for the end of this one. */
  boolean pending;
  long readySince;
  /** Was released when the scan began: the scan does not end before it has run. */
  boolean member;
  /** Position in programs of the one that runs. */
  int position;
  /** Next multiple of the interval. */
  long nextDue;
  boolean singleLast;
  /** Observers were told that it is preempted, and not yet that it goes on. */
  boolean toldPreempted;
  /** How often it was due again before it had ended. */
  long overruns;

  Job(Code code, Memory memory, int number, int callDepth) {
    List<Code.Task> tasks = code.tasks();
    boolean isTask = number < tasks.size();
    index = isTask ? number : -1;
    priority = isTask ? tasks.get(number).priority() : Integer.MAX_VALUE;
    interval = isTask ? tasks.get(number).interval() : 0;
    single = isTask ? tasks.get(number).single() : 0;
    int[] mine = new int[code.programs().size()];
    int n = 0;
    for (int p = 0; p < code.programs().size(); p++) {
      if (code.programs().get(p).task() == index) {
        mine[n++] = p;
      }
    }
    programs = Arrays.copyOf(mine, n);
    bodies = new int[n];
    instances = new int[n];
    for (int i = 0; i < n; i++) {
      bodies[i] = code.programs().get(programs[i]).body();
      instances[i] = code.programs().get(programs[i]).self();
    }
    state = new TaskState(memory, number, callDepth);
    nextDue = firstDue(0);
  }

  /** Number of its frames in memory. */
  int stateIndex() {
    return state.index();
  }

  /** First activation by the interval at {@code time} or later; never for a task without programs. */
  long firstDue(long time) {
    return interval > 0 && programs.length > 0 ? time : Long.MAX_VALUE;
  }

  boolean isCyclic() {
    return index < 0;
  }

  record State(TaskState state, int status, boolean pending, long readySince, boolean member, int position, long nextDue, boolean singleLast,
      boolean toldPreempted, long overruns) {}

  State save() {
    return new State(state.copy(), status, pending, readySince, member, position, nextDue, singleLast, toldPreempted, overruns);
  }

  void restore(State s) {
    state.restore(s.state());
    status = s.status();
    pending = s.pending();
    readySince = s.readySince();
    member = s.member();
    position = s.position();
    nextDue = s.nextDue();
    singleLast = s.singleLast();
    toldPreempted = s.toldPreempted();
    overruns = s.overruns();
  }

  /** The rhythm and the waiting activations of a task of the same name. One whose interval has changed begins a new rhythm. */
  void goOn(Job o) {
    singleLast = single != 0 && o.single != 0 && o.singleLast;
    if (programs.length > 0) {
      status = o.status;
      pending = o.pending;
      readySince = o.readySince;
      overruns = o.overruns;
      if (interval == o.interval) {
        nextDue = o.nextDue;
      }
    }
  }
}
