package dev.scanloom.conformance;

import static com.tngtech.archunit.base.DescribedPredicate.describe;
import static com.tngtech.archunit.lang.syntax.ArchRuleDefinition.fields;
import static com.tngtech.archunit.lang.syntax.ArchRuleDefinition.noClasses;
import static org.assertj.core.api.Assertions.assertThat;

import com.tngtech.archunit.base.DescribedPredicate;
import com.tngtech.archunit.core.domain.AccessTarget;
import com.tngtech.archunit.core.domain.Dependency;
import com.tngtech.archunit.core.domain.JavaAccess;
import com.tngtech.archunit.core.domain.JavaClass;
import com.tngtech.archunit.core.domain.JavaClasses;
import com.tngtech.archunit.core.domain.JavaModifier;
import com.tngtech.archunit.core.importer.ClassFileImporter;
import com.tngtech.archunit.core.importer.ImportOption;
import java.io.File;
import java.io.PrintWriter;
import java.io.StringWriter;
import java.net.URI;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.function.Predicate;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.spi.ToolProvider;
import org.junit.jupiter.api.Test;

/**
 * The house as a test: who may import whom, and what nobody may call. The table is the only place that holds the rule.
 */
class ArchitectureTest {

  private static final String ROOT = "dev.scanloom";

  /** Packages of plain values and contracts that every internal package may use. */
  private static final List<String> VOCABULARY = List.of("diagnostic", "policy", "observe", "library", "model", "explore");

  /** Package (below the root; "" is the root package) and what it may import besides itself and the JDK. */
  private static final Map<String, List<String>> MAY_IMPORT = table();

  private static Map<String, List<String>> table() {
    Map<String, List<String>> rows = new LinkedHashMap<>();
    rows.put("diagnostic", List.of());
    rows.put("model", List.of("diagnostic"));
    rows.put("policy", List.of("diagnostic"));
    rows.put("observe", List.of("diagnostic"));
    rows.put("library", List.of("diagnostic", "model"));
    rows.put("explore", List.of("diagnostic"));
    internal(rows, "internal.value");
    internal(rows, "internal.syntax.grammar");
    internal(rows, "internal.syntax", "internal.syntax.grammar");
    internal(rows, "internal.ladder", "internal.syntax");
    internal(rows, "internal.check", "internal.syntax", "internal.ladder");
    internal(rows, "internal.interchange", "internal.syntax", "internal.ladder");
    internal(rows, "internal.step");
    internal(rows, "internal.lower", "internal.check", "internal.ladder", "internal.step"); // the graph of a drawing is part of the model
    internal(rows, "internal.memory", "internal.step");
    internal(rows, "internal.exec", "internal.memory", "internal.step");
    // the compiled executor hands over to the stepping one between two steps, so it works on the same state of a task
    internal(rows, "internal.bytecode", "internal.exec", "internal.memory", "internal.step");
    internal(rows, "internal.scan", "internal.exec", "internal.bytecode", "internal.memory", "internal.step");
    internal(rows, "internal.lanes", "internal.scan", "internal.exec", "internal.bytecode", "internal.memory", "internal.step");
    internal(rows, "internal.explore", "internal.memory", "internal.step");
    List<String> everything = new ArrayList<>(rows.keySet());
    everything.remove("internal.syntax.grammar");
    rows.put("", everything);
    List<String> outside = new ArrayList<>(VOCABULARY);
    outside.add("");
    rows.put("explain", List.copyOf(outside));
    rows.put("experiment", plus(outside, "explain"));
    rows.put("report", plus(outside, "explain"));
    rows.put("teach", plus(outside, "explain", "report"));
    rows.put("stdlib", List.of("library", "diagnostic", "model"));
    return rows;
  }

  private static void internal(Map<String, List<String>> rows, String name, String... others) {
    List<String> all = plus(VOCABULARY, others);
    rows.put(name, name.equals("internal.value") ? all : plus(all, "internal.value"));
  }

  private static List<String> plus(List<String> list, String... more) {
    List<String> result = new ArrayList<>(list);
    result.addAll(Arrays.asList(more));
    return List.copyOf(result);
  }

  /** Classes that create hash collections and iterate over other maps or sets; with what was seen when somebody looked. */
  private static final Map<String, String> MAY_HASH = Map.of(
      "internal.ladder.Reading", "parts of a drawing are looked up only; what it iterates over is linked or sorted",
      "internal.bytecode.Translator$Method", "labels are looked up only; what it iterates over is sorted",
      "internal.ladder.NetworkLayout", "numbers of lanes are looked up only",
      "internal.lower.Layout", "storage, slots and shapes are looked up only; initial values come in the model's order",
      "internal.lower.Lowering", "numbers and slots are looked up only; selectors are linked",
      "report.Page", "numbers of sources are looked up only",
      "report.Recordings", "numbers of items, steps and texts are looked up only; paths and bodies are linked");

  private static final JavaClasses CLASSES = new ClassFileImporter()
      .withImportOption(ImportOption.Predefined.DO_NOT_INCLUDE_TESTS)
      .withImportOption(location -> !location.contains("/test-classes/"))
      .importPackages(ROOT);

  private static String packageOf(JavaClass type) {
    String name = type.getPackageName();
    return name.equals(ROOT) ? "" : name.substring(ROOT.length() + 1);
  }

  private static boolean isOurs(JavaClass type) {
    return type.getPackageName().equals(ROOT) || type.getPackageName().startsWith(ROOT + ".");
  }

  private static DescribedPredicate<JavaClass> notGenerated() {
    return describe("are written by hand", type -> !type.getPackageName().endsWith(".grammar"));
  }

  @Test
  void seesTheClasses() {
    assertThat(CLASSES.size()).isGreaterThan(100);
    assertThat(CLASSES.contain(ROOT + ".diagnostic.Diagnostic")).isTrue();
  }

  @Test
  void everyPackageHasARowInTheTable() {
    Set<String> missing = new TreeSet<>();
    for (JavaClass type : CLASSES) {
      if (!MAY_IMPORT.containsKey(packageOf(type))) {
        missing.add(packageOf(type));
      }
    }
    assertThat(missing).isEmpty();
  }

  @Test
  void importsGoOneWay() {
    Map<String, String> against = new TreeMap<>();
    for (JavaClass type : CLASSES) {
      String from = packageOf(type);
      for (Dependency dependency : type.getDirectDependenciesFromSelf()) {
        JavaClass target = dependency.getTargetClass().getBaseComponentType();
        if (isOurs(target)) {
          String to = packageOf(target);
          if (!to.equals(from) && !MAY_IMPORT.getOrDefault(from, List.of()).contains(to)) {
            against.putIfAbsent(from + " -> " + to, dependency.getDescription());
          }
        }
      }
    }
    assertThat(against).isEmpty();
  }

  @Test
  void packagesHaveNoCycles() {
    Map<String, Set<String>> graph = new TreeMap<>();
    for (JavaClass type : CLASSES) {
      for (Dependency dependency : type.getDirectDependenciesFromSelf()) {
        JavaClass target = dependency.getTargetClass().getBaseComponentType();
        if (isOurs(target) && !packageOf(target).equals(packageOf(type))) {
          graph.computeIfAbsent(packageOf(type), k -> new TreeSet<>()).add(packageOf(target));
        }
      }
    }
    Set<String> done = new LinkedHashSet<>();
    for (String start : graph.keySet()) {
      visit(start, graph, new ArrayList<>(), done);
    }
  }

  private static void visit(String at, Map<String, Set<String>> graph, List<String> path, Set<String> done) {
    assertThat(path).as("a cycle of packages, back to '%s'", at).doesNotContain(at);
    if (done.contains(at)) {
      return;
    }
    path.add(at);
    for (String next : graph.getOrDefault(at, Set.of())) {
      visit(next, graph, path, done);
    }
    path.remove(path.size() - 1);
    done.add(at);
  }

  private static void nobodyCalls(String because, Predicate<AccessTarget> forbidden) {
    noClasses().that(notGenerated())
        .should().accessTargetWhere(describe(because, (JavaAccess<?> access) -> forbidden.test(access.getTarget())))
        .because(because).check(CLASSES);
  }

  private static boolean is(AccessTarget target, Class<?> owner, String... names) {
    return target.getOwner().isEquivalentTo(owner) && Arrays.asList(names).contains(target.getName());
  }

  @Test
  void nobodyPrints() {
    nobodyCalls("a library prints nothing", target -> is(target, System.class, "out", "err"));
    nobodyCalls("a library prints nothing", target -> target.getName().equals("printStackTrace"));
  }

  @Test
  void transcendentalFunctionsAreStrict() {
    nobodyCalls("java.lang.Math may differ between machines; StrictMath does not", target -> is(target, Math.class,
        "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "exp", "expm1", "log", "log10", "log1p", "pow", "sinh", "cosh", "tanh", "cbrt", "hypot",
        "random"));
  }

  @Test
  void nobodyUsesTheDefaultLocale() {
    nobodyCalls("results do not depend on the machine's language", target ->
        is(target, java.util.Locale.class, "getDefault")
            || is(target, String.class, "formatted")
            || is(target, String.class, "toLowerCase", "toUpperCase") && target.getFullName().endsWith("()")
            || is(target, String.class, "format") && !target.getFullName().contains("java.util.Locale")
            || is(target, java.util.Formatter.class, "<init>") && !target.getFullName().contains("java.util.Locale"));
  }

  @Test
  void nobodyLooksAtTheWallClock() {
    nobodyCalls("time is the virtual clock's", target ->
        is(target, System.class, "currentTimeMillis", "nanoTime")
            || target.getOwner().getPackageName().equals("java.time") && target.getName().equals("now")
            || is(target, java.time.Clock.class, "systemUTC", "systemDefaultZone", "system")
            || is(target, java.time.ZoneId.class, "systemDefault")
            || is(target, Thread.class, "sleep")
            || is(target, java.util.Date.class, "<init>"));
  }

  /**
   * Looking up in a hash collection is harmless, iterating over it is not. Which collection an iteration sees cannot be told from a class file, so a
   * class that creates hash collections may not iterate over any map or set, unless the list says that it was looked at.
   */
  @Test
  void nobodyDependsOnHashOrder() {
    Set<String> suspects = new TreeSet<>();
    for (JavaClass type : CLASSES) {
      String name = type.getName().substring(ROOT.length() + 1);
      boolean creates = false;
      boolean iterates = false;
      for (JavaAccess<?> access : type.getAccessesFromSelf()) {
        AccessTarget target = access.getTarget();
        creates |= is(target, java.util.HashMap.class, "<init>") || is(target, java.util.HashSet.class, "<init>")
            || is(target, java.util.IdentityHashMap.class, "<init>");
        iterates |= is(target, Map.class, "keySet", "entrySet", "values", "forEach") || is(target, java.util.HashMap.class, "keySet", "entrySet", "values",
            "forEach") || is(target, Set.class, "iterator", "stream", "forEach") || is(target, java.util.HashSet.class, "iterator", "stream", "forEach");
      }
      if (creates && iterates && !MAY_HASH.containsKey(name) && notGenerated().test(type)) {
        suspects.add(name);
      }
    }
    assertThat(suspects).as("classes that create hash collections and iterate over maps or sets").isEmpty();
    nobodyCalls("no result may depend on the order of a hash table", target -> is(target, System.class, "identityHashCode")
        || is(target, java.util.stream.Collectors.class, "toSet", "groupingBy")
        || is(target, java.util.stream.Collectors.class, "toMap") && !target.getFullName().contains("Supplier"));
  }

  @Test
  void nothingStaticChanges() {
    fields().that().areStatic().and().areDeclaredInClassesThat(notGenerated()).should().beFinal()
        .because("everything hangs on a compiler or a controller").check(CLASSES);
  }

  @Test
  void publicSurfaceStaysSmall() {
    Map<String, Integer> counts = new TreeMap<>();
    for (JavaClass type : CLASSES) {
      String name = packageOf(type);
      if (!name.startsWith("internal.") && !name.equals("stdlib") && type.getModifiers().contains(JavaModifier.PUBLIC)
          && type.getEnclosingClass().isEmpty()) {
        counts.merge(name, 1, Integer::sum);
      }
    }
    assertThat(counts.values().stream().mapToInt(Integer::intValue).sum()).as("public top-level types: %s", counts).isLessThan(60);
    assertThat(counts.getOrDefault("", 0)).as("public types of the root package").isLessThanOrEqualTo(10);
  }

  /** HotSpot does not compile methods above 8,000 bytes of bytecode (DontCompileHugeMethods; JDK 17 and 25). */
  @Test
  void executorLoopStaysCompilable() {
    JavaClass executor = CLASSES.get(ROOT + ".internal.exec.SteppingExecutor");
    Map<String, Integer> sizes = methodSizes(executor);
    assertThat(sizes).isNotEmpty();
    sizes.forEach((method, size) -> assertThat(size).as("bytes of bytecode in %s", method).isLessThan(7_000));
  }

  private static Map<String, Integer> methodSizes(JavaClass type) {
    URI uri = type.getSource().orElseThrow().getUri();
    ToolProvider javap = ToolProvider.findFirst("javap").orElseThrow(() -> new IllegalStateException("this JDK lacks javap"));
    StringWriter out = new StringWriter();
    int code = uri.getScheme().equals("file")
        ? javap.run(new PrintWriter(out), new PrintWriter(out), "-c", "-p", new File(uri).getPath())
        : javap.run(new PrintWriter(out), new PrintWriter(out), "-c", "-p", uri.toString());
    assertThat(code).as(out.toString()).isZero();
    Pattern member = Pattern.compile("  \\S.*\\(.*\\).*;");
    Pattern instruction = Pattern.compile("\\s+(\\d+): [a-z].*");
    Map<String, Integer> sizes = new LinkedHashMap<>();
    String method = "";
    for (String line : out.toString().lines().toList()) {
      Matcher matcher = instruction.matcher(line);
      if (member.matcher(line).matches()) {
        method = line.strip();
      } else if (matcher.matches()) {
        sizes.merge(method, Integer.parseInt(matcher.group(1)) + 1, Math::max);
      }
    }
    return sizes;
  }
}
