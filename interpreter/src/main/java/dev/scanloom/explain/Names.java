package dev.scanloom.explain;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Variable;
import dev.scanloom.model.Element;
import dev.scanloom.model.ElementaryType;
import dev.scanloom.model.Pou;
import dev.scanloom.observe.StepInfo;
import java.util.List;
import java.util.Optional;
import java.util.TreeMap;
import java.util.TreeSet;

/** What explanations need to know of a program: steps, elements, and names and formats of addresses. Looked up once per address. */
final class Names {

  /** Where the facts about a program come from; a compiled program, or a table in tests. */
  interface Source {
    StepInfo step(int id);

    int stepCount();

    /** The body comes from a library. */
    boolean isLibrary(String body);

    Optional<Element> element(int id);

    /** Name of what lies at an address; empty for a place without a name of its own. */
    Optional<String> nameAt(long address, int width);

    /** The variable of that name, when its value can be formatted. */
    Optional<Format> format(String name, long address);
  }

  /** Type and text of a variable's values. */
  interface Format {
    boolean isBool();

    boolean isText();

    String text(long bits);
  }

  private record Known(String name, Format format) {}

  private final Source source;
  private final TreeMap<Long, Known> slots = new TreeMap<>();
  private final TreeMap<Integer, TreeMap<Long, Known>> locations = new TreeMap<>();

  Names(Source source) {
    this.source = source;
  }

  static Source of(CompiledProgram program) {
    return new Compiled(program);
  }

  StepInfo step(int id) {
    return source.step(id);
  }

  int stepCount() {
    return source.stepCount();
  }

  boolean isLibrary(String body) {
    return source.isLibrary(body);
  }

  Optional<Element> element(int id) {
    return id < 0 ? Optional.empty() : source.element(id);
  }

  private Known known(long address, int width) {
    TreeMap<Long, Known> table = Locations.isLocated(address) ? locations.computeIfAbsent(width, w -> new TreeMap<>()) : slots;
    return table.computeIfAbsent(address, a -> {
      String name = source.nameAt(address, width).orElse("");
      return new Known(name, name.isEmpty() ? null : source.format(name, address).orElse(null));
    });
  }

  /** Name of the variable at an address; empty for temporaries and parameters of functions. */
  String name(long address, int width) {
    return known(address, width).name();
  }

  boolean isBool(long address, int width) {
    Known k = known(address, width);
    return Locations.isLocated(address) && width == 1 || k.format() != null && k.format().isBool();
  }

  /** The value as text; a whole number when nothing is known of the type. */
  String value(long address, int width, long bits) {
    Known k = known(address, width);
    if (k.format() != null) {
      return k.format().isText() ? "a string of " + bits + " characters" : k.format().text(bits);
    }
    return Locations.isLocated(address) && width == 1 ? truth(bits) : Long.toString(bits);
  }

  static String truth(long bits) {
    return bits != 0 ? "TRUE" : "FALSE";
  }

  private static final class Compiled implements Source {
    private final CompiledProgram program;
    private final List<Element> elements;
    private final TreeSet<String> library = new TreeSet<>();

    Compiled(CompiledProgram program) {
      this.program = program;
      this.elements = program.elements();
      program.pous().stream().filter(Pou::library).forEach(p -> library.add(p.name()));
    }

    @Override
    public StepInfo step(int id) {
      return program.step(id);
    }

    @Override
    public int stepCount() {
      return program.stepCount();
    }

    @Override
    public boolean isLibrary(String body) {
      return library.contains(body);
    }

    @Override
    public Optional<Element> element(int id) {
      return id < elements.size() ? Optional.of(elements.get(id)) : Optional.empty();
    }

    @Override
    public Optional<String> nameAt(long address, int width) {
      String name = program.nameAt(address, width);
      return name.startsWith("slot ") ? Optional.empty() : Optional.of(name);
    }

    @Override
    public Optional<Format> format(String name, long address) {
      Variable v;
      try {
        v = program.variable(name);
      } catch (IllegalArgumentException e) {
        // a name for people only: a part of a string, a reference's hidden slot, an aggregate
        return Optional.empty();
      }
      if (v.address() != address) {
        return Optional.empty();
      }
      return Optional.of(new Format() {
        @Override
        public boolean isBool() {
          return v.type() == ElementaryType.BOOL;
        }

        @Override
        public boolean isText() {
          return v.type().isString();
        }

        @Override
        public String text(long bits) {
          return v.format(bits);
        }
      });
    }
  }
}
