package dev.scanloom.examples.course;

import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Sheet;
import dev.scanloom.teach.Solution;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/** The lessons in their order, and the pages made of them. */
public final class Course {
  static final String TITLE = "Bits, steps and the order of the scan";

  private Course() {}

  /**
   * A part of the course.
   *
   * @param title heading
   */
  public record Part(String title, List<Exercise> lessons) {
    public Part {
      lessons = List.copyOf(lessons);
    }
  }

  /** All parts in the order in which they are taught. */
  public static List<Part> parts() {
    return List.of(
        new Part("1. Three places a bit can live", Places.lessons()),
        new Part("2. The order of networks", Order.lessons()),
        new Part("3. Edges", Edges.lessons()),
        new Part("4. Time", Timing.lessons()),
        new Part("5. Latches, counters, circuits that must be safe", Latches.lessons()),
        new Part("6. Screens and operator panels", Panels.lessons()),
        new Part("7. Several tasks, and charts", TasksAndCharts.lessons()),
        new Part("8. Numbers and faults", Numbers.lessons()));
  }

  /**
   * Writes the course: an index, a page and a step-through page for each lesson, a worksheet and a key for all of them.
   *
   * @return the files written, the index first
   * @throws IOException when a file cannot be written
   */
  public static List<Path> write(Path directory) throws IOException {
    Files.createDirectories(directory);
    List<Sheet.Entry> entries = new ArrayList<>();
    for (Part part : parts()) {
      for (Exercise e : part.lessons()) {
        entries.add(new Sheet.Entry(part.title(), e.solve(), name(e) + ".html"));
      }
    }
    List<Solution> all = entries.stream().map(Sheet.Entry::solution).toList();
    Map<String, String> links = new LinkedHashMap<>();
    links.put("Worksheet to print", "worksheet.html");
    links.put("Answer key", "key.html");
    List<Path> written = new ArrayList<>();
    written.add(file(directory, "index.html", Sheet.index(TITLE, """
        Each lesson is a small machine that does something people do not expect. Read the program, look at what happens outside, answer the questions, then \
        open the answers: each was computed by running the program, and carries the evidence of that run.

        The step-through page of a lesson shows every step of every scan, with what terminals, memory and screen hold.""", entries, links)));
    for (int i = 0; i < entries.size(); i++) {
      Solution s = all.get(i);
      Map<String, String> around = new LinkedHashMap<>();
      around.put("All lessons", "index.html");
      if (i > 0) {
        around.put("Previous", entries.get(i - 1).address());
      }
      if (i + 1 < entries.size()) {
        around.put("Next", entries.get(i + 1).address());
      }
      around.put("Step through the run", name(s.exercise()) + "-steps.html");
      written.add(file(directory, entries.get(i).address(), Sheet.lesson(s, around)));
      written.add(file(directory, name(s.exercise()) + "-steps.html", Sheet.stepThrough(s)));
    }
    written.add(file(directory, "worksheet.html", Sheet.worksheet("Worksheet: " + TITLE, all)));
    written.add(file(directory, "key.html", Sheet.key("Answer key: " + TITLE, all)));
    return written;
  }

  /**
   * Writes two pictures: the timing diagram of a pulse that no scan sees, and the networks of the first lesson as executed and as painted.
   *
   * @throws IOException when a file cannot be written
   */
  public static List<Path> pictures(Path directory) throws IOException {
    Files.createDirectories(directory);
    return List.of(
        file(directory, "timing.svg", Sheet.timing(lesson("S04").solve())),
        file(directory, "networks.svg", Sheet.ladder(lesson("S01").solve(), 1)));
  }

  static String name(Exercise e) {
    return e.id().toLowerCase(Locale.ROOT);
  }

  private static Path file(Path directory, String name, String text) throws IOException {
    return Files.writeString(directory.resolve(name), text, StandardCharsets.UTF_8);
  }

  /** A lesson by its id, in any case of letters. */
  public static Exercise lesson(String id) {
    for (Part p : parts()) {
      for (Exercise e : p.lessons()) {
        if (e.id().equalsIgnoreCase(id)) {
          return e;
        }
      }
    }
    throw new IllegalArgumentException("no lesson " + id);
  }
}
