package dev.scanloom;

import static dev.scanloom.Runs.US;
import static dev.scanloom.Runs.micro;
import static dev.scanloom.Runs.on;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.observe.EventKind;
import dev.scanloom.policy.Limits;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.TaskSwitching;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Deque;
import java.util.List;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Assume;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.ShrinkingMode;
import net.jqwik.api.Tuple;

/**
 * The schedules of random task sets against an independent model of fixed-priority scheduling, and their response times against the recurrence of
 * response-time analysis (M. Joseph, P. Pandya, "Finding response times in a real-time system", The Computer Journal 29(5), 1986; N. Audsley et al.,
 * "Applying new scheduling theory to static priority pre-emptive scheduling", Software Engineering Journal 8(5), 1993). Rules of tasks: IEC 61131-3,
 * Table 63 (from memory). Steps cost 1 us, phases nothing, so that no policy disturbs the tasks.
 */
class SchedulingProperties {

  /** Periods in us; rounds of the loop in the body; priorities. */
  record TaskSet(int[] periods, int[] rounds, int[] priorities) {
    @Override
    public String toString() {
      return "periods " + Arrays.toString(periods) + ", rounds " + Arrays.toString(rounds) + ", priorities " + Arrays.toString(priorities);
    }
  }

  /** What one run showed: {@code time task what}, and the greatest response time of each task. */
  private record Run(List<String> log, long[] responses, long[] overruns) {}

  // ---- the model, written from the rules alone ----

  private static List<String> model(int[] period, int[] priority, long[] cost, long until, boolean preemptive) {
    int n = period.length;
    long[] due = new long[n];
    long[] left = new long[n];
    long[] since = new long[n];
    boolean[] ready = new boolean[n];
    boolean[] again = new boolean[n];
    Deque<Integer> running = new ArrayDeque<>();
    List<String> log = new ArrayList<>();
    long t = 0;
    while (true) {
      Integer top = running.peek();
      if (top != null && left[top] == 0) {
        running.pop();
        log.add(t + " " + top + " end");
        ready[top] = again[top];
        since[top] = t;
        again[top] = false;
      }
      for (int i = 0; i < n; i++) {
        for (; due[i] <= t; due[i] += period[i]) {
          if (running.contains(i) && !again[i]) {
            again[i] = true;
            log.add(t + " " + i + " overrun");
          } else if (ready[i] || again[i]) {
            log.add(t + " " + i + " lost");
          } else {
            ready[i] = true;
            since[i] = t;
          }
        }
      }
      int best = -1;
      for (int i = 0; i < n; i++) {
        if (ready[i] && (best < 0 || priority[i] < priority[best] || priority[i] == priority[best] && since[i] < since[best])) {
          best = i;
        }
      }
      top = running.peek();
      if (best >= 0 && (top == null || preemptive && priority[best] < priority[top])) {
        ready[best] = false;
        running.push(best);
        left[best] = cost[best];
        log.add(t + " " + best + " start");
      }
      long next = Arrays.stream(due).min().orElseThrow();
      next = running.isEmpty() ? next : Math.min(next, t + left[running.peek()]);
      if (next >= until) {
        return log;
      }
      if (!running.isEmpty()) {
        left[running.peek()] -= next - t;
      }
      t = next;
    }
  }

  /** R = C + sum over all tasks of higher priority of ceil(R / T) * C; -1 when it grows beyond the period. */
  private static long response(int task, int[] period, int[] priority, long[] cost) {
    long r = cost[task];
    while (true) {
      long next = cost[task];
      for (int j = 0; j < period.length; j++) {
        next += priority[j] < priority[task] ? (r + period[j] - 1) / period[j] * cost[j] : 0;
      }
      if (next > period[task]) {
        return -1;
      }
      if (next == r) {
        return r;
      }
      r = next;
    }
  }

  // ---- the engine ----

  private static String body(String name, int rounds) {
    return "PROGRAM " + name + " VAR i : DINT; END_VAR FOR i := 1 TO " + rounds + " DO ; END_FOR; END_PROGRAM\n";
  }

  private static CompiledProgram compile(TaskSet set) {
    StringBuilder text = new StringBuilder("CONFIGURATION Plant\n");
    for (int i = 0; i < set.periods().length; i++) {
      text.append("TASK T").append(i).append("(INTERVAL := T#").append(set.periods()[i]).append("us, PRIORITY := ").append(set.priorities()[i])
          .append(");\nPROGRAM p").append(i).append(" WITH T").append(i).append(" : Main").append(i).append(";\n");
    }
    text.append("END_CONFIGURATION\n");
    for (int i = 0; i < set.periods().length; i++) {
      text.append(body("Main" + i, set.rounds()[i]));
    }
    return Compiler.standard().withLimits(Limits.standard().withStepsPerScan(30_000)).compile("tasks.st", text.toString()).orThrow();
  }

  /** Steps of a body, each of which takes 1 us. */
  private static long cost(int rounds) {
    Controller c = Runs.compile(body("Main", rounds)).newController(micro(ScanPolicy.image()));
    c.scan();
    return c.steps();
  }

  private static Run run(TaskSet set, long until, boolean preemptive) {
    Controller c = compile(set).newController(micro(ScanPolicy.image())
        .withTaskSwitching(preemptive ? TaskSwitching.preemptive() : TaskSwitching.nonPreemptive()));
    int n = set.periods().length;
    List<String> log = new ArrayList<>();
    long[] released = new long[n];
    long[] worst = new long[n];
    c.attach(on(e -> {
      long t = e.time() / US;
      if (t >= until || e.task() < 0) {
        return;
      }
      if (e.detail().equals("end")) {
        worst[e.task()] = Math.max(worst[e.task()], t - released[e.task()]);
        released[e.task()] += set.periods()[e.task()];
      }
      if (!e.detail().equals("preempted") && !e.detail().equals("resume")) {
        log.add(t + " " + e.task() + " " + e.detail());
      }
    }, EventKind.TASK));
    while (c.time() < until * US && c.fault().isEmpty()) {
      c.scan();
    }
    // Under overload a scan may never end: its watchdog stops it, but not before the time that is looked at.
    c.fault().ifPresent(f -> assertThat(f.time()).as(f.toString()).isGreaterThan(until * US));
    long[] overruns = new long[n];
    for (int i = 0; i < n; i++) {
      int number = i;
      overruns[i] = log.stream().filter(l -> l.endsWith(" " + number + " overrun") || l.endsWith(" " + number + " lost")).count();
      assertThat(c.overruns("t" + i)).isGreaterThanOrEqualTo(overruns[i]);
    }
    return new Run(log, worst, overruns);
  }

  private static long[] costs(TaskSet set) {
    return Arrays.stream(set.rounds()).mapToLong(SchedulingProperties::cost).toArray();
  }

  // ---- the properties ----

  @Provide
  Arbitrary<TaskSet> any() {
    return Arbitraries.integers().between(1, 5).flatMap(n -> Combinators.combine(
        Arbitraries.integers().between(60, 2_000).array(int[].class).ofSize(n), Arbitraries.integers().between(0, 60).array(int[].class).ofSize(n),
        Arbitraries.integers().between(0, 4).array(int[].class).ofSize(n)).as(TaskSet::new));
  }

  /** Different priorities; the load is left to chance, and sets that miss their deadlines are dropped. */
  @Provide
  Arbitrary<TaskSet> distinct() {
    return Arbitraries.integers().between(2, 5).flatMap(n -> Combinators.combine(
        Arbitraries.integers().between(200, 2_500).array(int[].class).ofSize(n), Arbitraries.integers().between(0, 30).array(int[].class).ofSize(n),
        Arbitraries.shuffle(0, 1, 2, 3, 4)).as((p, r, s) -> Tuple.of(p, r, s.subList(0, n).stream().mapToInt(x -> x).toArray())))
        .map(t -> new TaskSet(t.get1(), t.get2(), t.get3()));
  }

  @Property(tries = 150, shrinking = ShrinkingMode.BOUNDED)
  void theScheduleIsThatOfFixedPriorities(@ForAll("any") TaskSet set, @ForAll boolean preemptive) {
    long until = 20_000;
    assertThat(run(set, until, preemptive).log()).isEqualTo(model(set.periods(), set.priorities(), costs(set), until, preemptive));
  }

  @Property(tries = 150, shrinking = ShrinkingMode.BOUNDED)
  void responseTimesAreThoseOfTheAnalysis(@ForAll("distinct") TaskSet set) {
    long[] cost = costs(set);
    long[] expected = new long[cost.length];
    for (int i = 0; i < cost.length; i++) {
      expected[i] = response(i, set.periods(), set.priorities(), cost);
    }
    Assume.that(Arrays.stream(expected).allMatch(r -> r >= 0));
    // All are released at 0, the critical instant (Liu and Layland 1973): the first response is the worst one, however long the run.
    Run run = run(set, 25_000, true);
    assertThat(run.responses()).isEqualTo(expected);
    assertThat(run.overruns()).containsOnly(0);
  }
}
