package dev.scanloom.benchmarks;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.Lanes;
import dev.scanloom.Place;
import dev.scanloom.Variable;
import dev.scanloom.observe.Event;
import dev.scanloom.observe.EventKind;
import dev.scanloom.observe.Observer;
import dev.scanloom.observe.Trace;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import dev.scanloom.policy.ScanTrigger;
import java.time.Duration;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import org.graalvm.polyglot.Source;
import org.graalvm.polyglot.Value;
import org.luaj.vm2.Globals;
import org.luaj.vm2.LuaTable;
import org.luaj.vm2.LuaValue;
import org.luaj.vm2.lib.jse.JsePlatform;
import org.luaj.vm2.luajc.LuaJC;
import org.mozilla.javascript.Context;
import org.mozilla.javascript.Function;
import org.mozilla.javascript.ScriptableObject;

/** Who computes. */
public enum Engine {
  /** Scanloom, bodies as JVM code. As the others have none, Scanloom has no display either, but where it says so. */
  COMPILED,
  /** The same with the display that a policy has when nothing is said: all variables are sampled at the end of every scan. */
  COMPILED_DISPLAY,
  /** Scanloom, 64 controllers in step on words; times are of one controller. */
  LANES,
  /** Scanloom, step by step. */
  STEPPING,
  /** The same with a trace of all events of the last ten scans. */
  STEPPING_RING,
  /** The same with a hash over all events. */
  STEPPING_HASH,
  /** The same with an observer of one variable. */
  STEPPING_WATCH,
  /** Java written by hand. */
  JAVA,
  RHINO,
  LUAJ,
  GRAALJS;

  Subject subject(Workload w, Stimulus s) {
    return switch (this) {
      case COMPILED -> new Scanloom(w, s, BARE.withExecution(Execution.COMPILED), List.of());
      case COMPILED_DISPLAY -> new Scanloom(w, s, POLICY.withExecution(Execution.COMPILED), List.of());
      case LANES -> new InStep(w, s);
      case STEPPING -> new Scanloom(w, s, BARE.withExecution(Execution.STEPPING), List.of());
      case STEPPING_RING -> new Scanloom(w, s, BARE.withExecution(Execution.STEPPING), List.of(Trace.lastScans(10)));
      case STEPPING_HASH -> new Scanloom(w, s, BARE.withExecution(Execution.STEPPING), List.of(Trace.hashOnly()));
      case STEPPING_WATCH -> new Scanloom(w, s, BARE.withExecution(Execution.STEPPING), null);
      case JAVA -> HandWritten.of(w, s);
      case RHINO -> new Rhino(w, s);
      case LUAJ -> new LuaJ(w, s);
      case GRAALJS -> new GraalJs(w, s);
    };
  }

  private static final ScanPolicy POLICY = ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero());
  private static final ScanPolicy BARE = POLICY.withoutDisplays();

  private static final class Scanloom implements Subject {
    private final Stimulus stimulus;
    private final Controller controller;
    private final Variable.Integer[] inputs;
    private final List<Variable> outputs = new ArrayList<>();
    private long seen;

    Scanloom(Workload w, Stimulus s, ScanPolicy policy, List<Observer> observers) {
      stimulus = s;
      CompiledProgram program = Compiler.standard().compile(w.name(), w.st()).orThrow();
      controller = program.newController(policy);
      inputs = new Variable.Integer[w.inputWords];
      for (int i = 0; i < inputs.length; i++) {
        inputs[i] = program.integer("%IL" + i);
      }
      for (int i = 0; i < w.outputs; i++) {
        outputs.add(program.variable(w.output(i)));
      }
      if (observers == null) {
        controller.attach(counter(), outputs.get(w.outputs / 2));
      } else {
        observers.forEach(controller::attach);
      }
    }

    private Observer counter() {
      return new Observer() {
        @Override
        public Set<EventKind> wants() {
          return Set.of(EventKind.WRITE);
        }

        @Override
        public void on(Event e) {
          seen++;
        }
      };
    }

    @Override
    public void scan(int n) {
      long[] row = stimulus.words[n & 255];
      for (int i = 0; i < inputs.length; i++) {
        controller.field().set(inputs[i], row[i]);
      }
      if (!controller.scan()) {
        throw new IllegalStateException(controller.fault().toString());
      }
    }

    @Override
    public long checksum() {
      return sum(controller.memory(), outputs);
    }
  }

  /** Lane k has the inputs of row {@code n + k}, set 64 lanes at a time; lane 0 is compared with the other engines. */
  private static final class InStep implements Subject {
    private static final int LANES = 64;
    private final Lanes lanes;
    private final Variable.Bool first;
    private final long[][] rows = new long[Stimulus.ROWS][];
    private final List<Variable> outputs = new ArrayList<>();

    InStep(Workload w, Stimulus s) {
      CompiledProgram program = Compiler.standard().compile(w.name(), w.st()).orThrow();
      lanes = program.newLanes(LANES, ScanPolicy.image().withTrigger(ScanTrigger.periodic(Duration.ofMillis(10))).withCosts(CostModel.zero())
          .withExecution(Execution.COMPILED));
      first = program.bool("%IX0.0");
      for (int r = 0; r < rows.length; r++) {
        rows[r] = new long[64 * w.inputWords];
        for (int i = 0; i < rows[r].length; i++) {
          for (int k = 0; k < LANES; k++) {
            rows[r][i] |= s.bits[r + k & 255][i] ? 1L << k : 0;
          }
        }
      }
      for (int i = 0; i < w.outputs; i++) {
        outputs.add(program.variable(w.output(i)));
      }
    }

    @Override
    public void scan(int n) {
      lanes.setFieldWords(first, 0, rows[n & 255]);
      if (!lanes.scan()) {
        throw new IllegalStateException(lanes.fault(0).toString());
      }
    }

    @Override
    public long checksum() {
      return sum(lanes.memory(0), outputs);
    }

    @Override
    public int controllers() {
      return LANES;
    }

    @Override
    public String remark() {
      return lanes.executionInUse();
    }
  }

  private static long sum(Place memory, List<Variable> outputs) {
    long h = 0;
    for (Variable v : outputs) {
      if (v instanceof Variable.Bool b) {
        h = Subject.mix(h, memory.get(b));
      } else if (v instanceof Variable.Integer i) {
        h = Subject.mix(h, memory.get(i));
      } else {
        h = Subject.mix(h, memory.get((Variable.Real) v));
      }
    }
    return h;
  }

  /** Numbers of a script as the checksum takes them: reals by their bits. */
  private static long mix(Workload w, long h, double v) {
    return w == Workload.PID ? Subject.mix(h, v) : Subject.mix(h, (long) v);
  }

  private static final class Rhino implements Subject {
    private final Workload workload;
    private final Context context;
    private final ScriptableObject scope;
    private final Function scan;
    private final Function output;
    private final Object[] argument = new Object[1];

    Rhino(Workload w, Stimulus s) {
      workload = w;
      context = Context.enter();
      context.setOptimizationLevel(9);
      scope = context.initStandardObjects();
      Object[] rows = new Object[Stimulus.ROWS];
      Object[] words = new Object[Stimulus.ROWS];
      for (int r = 0; r < rows.length; r++) {
        Object[] row = new Object[Stimulus.INPUTS];
        for (int i = 0; i < row.length; i++) {
          row[i] = s.ints[r][i];
        }
        rows[r] = context.newArray(scope, row);
        words[r] = s.word(r);
      }
      ScriptableObject.putProperty(scope, "rows", context.newArray(scope, rows));
      ScriptableObject.putProperty(scope, "words", context.newArray(scope, words));
      context.evaluateString(scope, w.javaScript(), w.name(), 1, null);
      scan = (Function) ScriptableObject.getProperty(scope, "scan");
      output = (Function) ScriptableObject.getProperty(scope, "output");
    }

    @Override
    public void scan(int n) {
      argument[0] = n;
      scan.call(context, scope, scope, argument);
    }

    @Override
    public long checksum() {
      long h = 0;
      for (int i = 0; i < workload.outputs; i++) {
        h = mix(workload, h, ((Number) output.call(context, scope, scope, new Object[] {i})).doubleValue());
      }
      return h;
    }
  }

  private static final class LuaJ implements Subject {
    private final Workload workload;
    private final LuaValue scan;
    private final LuaValue output;

    LuaJ(Workload w, Stimulus s) {
      workload = w;
      Globals globals = JsePlatform.standardGlobals();
      LuaJC.install(globals);
      LuaTable bits = new LuaTable();
      LuaTable words = new LuaTable();
      for (int r = 0; r < Stimulus.ROWS; r++) {
        LuaTable row = new LuaTable();
        for (int i = 0; i < Stimulus.INPUTS; i++) {
          row.set(i, LuaValue.valueOf(s.bits[r][i]));
        }
        bits.set(r, row);
        words.set(r, LuaValue.valueOf(s.word(r)));
      }
      globals.set("bits", bits);
      globals.set("words", words);
      globals.load(w.lua(), "workload_" + w.name()).call();
      scan = globals.get("scan");
      output = globals.get("output");
    }

    @Override
    public void scan(int n) {
      scan.call(LuaValue.valueOf(n));
    }

    @Override
    public long checksum() {
      long h = 0;
      for (int i = 0; i < workload.outputs; i++) {
        h = mix(workload, h, output.call(LuaValue.valueOf(i)).todouble());
      }
      return h;
    }
  }

  private static final class GraalJs implements Subject {
    private final Workload workload;
    private final Value scan;
    private final Value output;

    GraalJs(Workload w, Stimulus s) {
      workload = w;
      org.graalvm.polyglot.Context context =
          org.graalvm.polyglot.Context.newBuilder("js").option("engine.WarnInterpreterOnly", "false").build();
      StringBuilder data = new StringBuilder("var rows = [], words = [];\n");
      for (int r = 0; r < Stimulus.ROWS; r++) {
        data.append("rows.push(").append(java.util.Arrays.toString(s.ints[r])).append("); words.push(").append(s.word(r)).append(");\n");
      }
      context.eval("js", data.toString());
      context.eval(Source.create("js", w.javaScript()));
      scan = context.getBindings("js").getMember("scan");
      output = context.getBindings("js").getMember("output");
    }

    @Override
    public void scan(int n) {
      scan.executeVoid(n);
    }

    @Override
    public long checksum() {
      long h = 0;
      for (int i = 0; i < workload.outputs; i++) {
        h = mix(workload, h, output.execute(i).asDouble());
      }
      return h;
    }
  }
}
