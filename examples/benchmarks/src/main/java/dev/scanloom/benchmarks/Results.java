package dev.scanloom.benchmarks;

import com.fasterxml.jackson.core.JsonEncoding;
import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.LocalDate;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/** What was measured, as JSON, as a page and as a picture. Whatever engine or workload exists appears by itself. */
final class Results {
  private final Map<String, String> machine = Figures.machine();
  private final double loadBefore = Figures.load();
  private final String day = LocalDate.now(ZoneOffset.UTC).toString();
  final List<Figures.Scan> scans = new ArrayList<>();
  final List<Load.Row> load = new ArrayList<>();
  final List<Instances.Row> instances = new ArrayList<>();
  final List<Start.Row> starts = new ArrayList<>();

  Map<String, String> machine() {
    return machine;
  }

  // JSON

  void writeJson(Path file) throws IOException {
    try (JsonGenerator j = new JsonFactory().createGenerator(file.toFile(), JsonEncoding.UTF8).useDefaultPrettyPrinter()) {
      j.writeStartObject();
      for (Map.Entry<String, String> e : machine.entrySet()) {
        j.writeStringField(e.getKey(), e.getValue());
      }
      j.writeStringField("day", day);
      j.writeNumberField("loadBefore", loadBefore);
      j.writeNumberField("loadAfter", Figures.load());
      j.writeArrayFieldStart("scans");
      for (Figures.Scan s : scans) {
        j.writeStartObject();
        j.writeStringField("workload", s.workload().name());
        j.writeStringField("engine", s.engine());
        j.writeNumberField("ns", rounded(s.ns()));
        j.writeNumberField("bytes", rounded(s.bytes()));
        j.writeEndObject();
      }
      j.writeEndArray();
      j.writeArrayFieldStart("load");
      for (Load.Row r : load) {
        j.writeStartObject();
        j.writeStringField("loader", r.loader().name());
        j.writeNumberField("networks", r.networks());
        j.writeNumberField("contacts", r.contacts());
        j.writeNumberField("characters", r.characters());
        j.writeNumberField("firstMs", r.first());
        j.writeNumberField("firstCpuMs", r.firstCpu());
        j.writeNumberField("warmMs", r.warm());
        j.writeNumberField("warmCpuMs", r.warmCpu());
        j.writeNumberField("allocatedBytes", r.allocated());
        j.writeEndObject();
      }
      j.writeEndArray();
      j.writeArrayFieldStart("instances");
      for (Instances.Row r : instances) {
        j.writeStartObject();
        j.writeNumberField("variables", r.variables());
        j.writeStringField("execution", r.execution().name());
        j.writeNumberField("controllers", r.controllers());
        j.writeNumberField("programBytes", r.program());
        j.writeNumberField("bytes", r.bytes());
        j.writeNumberField("overheadBytes", r.overhead());
        j.writeNumberField("us", r.microseconds());
        j.writeEndObject();
      }
      j.writeEndArray();
      j.writeArrayFieldStart("start");
      for (Start.Row r : starts) {
        j.writeStartObject();
        j.writeStringField("how", r.name());
        j.writeNumberField("runs", r.runs());
        j.writeNumberField("bestMs", rounded(r.best()));
        j.writeNumberField("medianMs", rounded(r.median()));
        j.writeEndObject();
      }
      j.writeEndArray();
      j.writeEndObject();
    }
  }

  private static double rounded(double v) {
    return Math.round(v * 1_000) / 1_000.0;
  }

  // Tables

  private static final String SCANS = "| workload | engine | ns a scan | times Java | bytes a scan |\n| --- | --- | ---: | ---: | ---: |";
  private static final String LOADS = "| networks | contacts | loader | characters | first, ms | of it processor | again, ms | of it processor | MB allocated |\n"
      + "| ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: |";
  private static final String INSTANCES = "| variables | execution | controllers | program, bytes | bytes each | of it data | other | us each |\n"
      + "| ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: |";
  private static final String STARTS = "| how | best, ms | median, ms |\n| --- | ---: | ---: |";

  /** Heading of a table as it is printed while measuring. */
  static String heading(String part) {
    return switch (part) {
      case "scans" -> SCANS;
      case "load" -> LOADS;
      case "instances" -> INSTANCES;
      case "start" -> STARTS;
      default -> throw new IllegalArgumentException(part);
    };
  }

  String line(Figures.Scan s) {
    double java = scans.stream().filter(x -> x.workload() == s.workload() && x.engine().equals(Engine.JAVA.name())).mapToDouble(Figures.Scan::ns)
        .findFirst().orElse(Double.NaN);
    return String.format(Locale.ROOT, "| %s | %s | %s | %s | %s |", s.workload(), s.engine(), Figures.digits(s.ns()),
        Double.isNaN(java) ? "" : Figures.digits(s.ns() / java), Math.round(s.bytes()));
  }

  static String line(Load.Row r) {
    return String.format(Locale.ROOT, "| %d | %d | %s | %d | %.0f | %.0f | %.0f | %.0f | %.1f |", r.networks(), r.contacts(), r.loader(), r.characters(),
        r.first(), r.firstCpu(), r.warm(), r.warmCpu(), r.allocated() / 1e6);
  }

  static String line(Instances.Row r) {
    return String.format(Locale.ROOT, "| %d | %s | %d | %d | %d | %d | %d | %.1f |", r.variables(), r.execution(), r.controllers(), r.program(), r.bytes(),
        16L * r.variables(), r.overhead(), r.microseconds());
  }

  static String line(Start.Row r) {
    return String.format(Locale.ROOT, "| %s | %.0f | %.0f |", r.name(), r.best(), r.median());
  }

  /** How the time grows with the program, where several sizes were measured. */
  List<String> growth() {
    List<String> lines = new ArrayList<>();
    for (Load.Loader l : Load.Loader.values()) {
      if (load.stream().filter(r -> r.loader() == l).count() > 1) {
        lines.add(String.format(Locale.ROOT, "%s grows with the power %.3f of the number of networks (least squares over the logarithms of the table's"
            + " processor time when loaded again; 1 is linear).", l, Load.exponent(load, l)));
      }
    }
    return lines;
  }

  // Page

  void writePage(Path file, String picture) throws IOException {
    StringBuilder b = new StringBuilder("""
        # Results

        Made by `java -jar examples/benchmarks/target/benchmarks.jar report`; all figures are in `results.json`. What is measured and how:
        [README.md](README.md). Compare figures of one table with each other, not with those of another machine or day.

        """);
    machine.forEach((k, v) -> b.append("- ").append(k).append(": ").append(v).append('\n'));
    b.append(String.format(Locale.ROOT, "- day: %s; processes that wanted a processor: %.1f before, %.1f after%n", day, loadBefore, Figures.load()));
    b.append(loadBefore > 1 || Figures.load() > 2 ? "- the machine was busy with other things: wall times of this run say little\n" : "");
    b.append("\n## Scans\n\n![Nanoseconds a scan by workload and engine, on a logarithmic scale](").append(picture).append(")\n\n");
    b.append("Processor time of one scan of one controller, the best of six rounds, engines in turn in one process for each workload.\n\n");
    b.append(SCANS).append('\n');
    scans.forEach(s -> b.append(line(s)).append('\n'));
    b.append('\n');
    scans.stream().filter(s -> !s.remark().isEmpty())
        .forEach(s -> b.append(s.workload()).append(", ").append(s.engine()).append(": ").append(s.remark()).append("\n\n"));
    b.append("""
        ## Load

        From text to what can run, in a process that has done nothing else (first), then in the same process (again, the quickest). `ST` and `LADDER` end
        with a compiled program, `ST_COMPILED` with the first scan of a controller whose bodies are JVM code; `LUAJ_JVM` is LuaJ with its compiler to JVM
        code, `LUAJ` without.

        """).append(LOADS).append('\n');
    load.forEach(r -> b.append(line(r)).append('\n'));
    b.append('\n');
    growth().forEach(g -> b.append(g).append("\n\n"));
    b.append("""
        ## Instances

        Heap that one controller retains after its first scan, in a process of its own. Code belongs to the program and is there once (program). Data are eight
        bytes for each variable in memory and eight in what the default display has sampled; other is the controller itself, shared by all its variables.

        """).append(INSTANCES).append('\n');
    instances.forEach(r -> b.append(line(r)).append('\n'));
    b.append("\n## Cold start of the command line\n\n");
    if (starts.isEmpty()) {
      b.append("Not measured: run the report from the root of the repository after `mvn package`.\n");
    } else {
      b.append("`run examples/dryer/dryer.st --inputs examples/dryer/inputs.csv --scans 6`, wall time of the whole process, ").append(starts.get(0).runs())
          .append(" starts each.\n\n").append(STARTS).append('\n');
      starts.forEach(r -> b.append(line(r)).append('\n'));
    }
    Files.writeString(file, b.toString());
  }
}
