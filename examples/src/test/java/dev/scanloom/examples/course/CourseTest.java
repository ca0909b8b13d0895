package dev.scanloom.examples.course;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Grade;
import dev.scanloom.teach.Solution;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeSet;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.TestFactory;
import org.junit.jupiter.api.io.TempDir;

/**
 * The computed answers against answers derived by hand from the rules of the scan (common practice) and from IEC 61131-3 where a table is named (from memory).
 * Scans begin at 0, 10, 20 ms unless a line says otherwise.
 */
class CourseTest {
  private static final Map<String, List<String>> BY_HAND = byHand();

  private static Map<String, List<String>> byHand() {
    Map<String, List<String>> m = new LinkedHashMap<>();
    // The guard's bit: 1 after the refresh, 0 from network 2 on.
    m.put("S01", List.of("TRUE", "TRUE", "FALSE", "FALSE", "FALSE", "2", "b", "a, b, c"));
    // First read at 0 us sees TRUE, second at 1 us FALSE.
    m.put("S05", List.of("TRUE", "TRUE", "FALSE", "a, b"));
    m.put("S06", List.of("TRUE", "TRUE", "3", "never", "a, b"));
    m.put("S28", List.of("TRUE", "8", "FALSE", "8", "b"));
    m.put("S31", List.of("FALSE", "TRUE", "FALSE", "b", "a, b"));
    m.put("S02", List.of("TRUE", "FALSE", "2", "TRUE", "FALSE", "a, b, c"));
    // scan 2: One; scan 3: Two; scan 4: Spray, the third scan from 2.
    m.put("S03", List.of("TRUE", "FALSE", "3", "a"));
    m.put("S12", List.of("TRUE", "FALSE", "2", "b", "FALSE"));
    m.put("S30", List.of("TRUE", "FALSE", "2", "a"));
    m.put("S32", List.of("TRUE", "TRUE", "TRUE", "a, b"));
    // The arm rises in scans 2 and 4.
    m.put("S07", List.of("2", "0", "a, b"));
    // Table 44: with CLK TRUE, then FALSE in every scan, the first call of each scan reports an edge.
    m.put("S08", List.of("1", "5", "0", "a"));
    m.put("S09", List.of("0", "1", "3", "a"));
    // 12-16 ms holds no multiple of 10, 28-33 ms holds 30: scan 4.
    m.put("S04", List.of("0", "1", "TRUE", "never"));
    // Called at 0, 10, then at 50 ms; PT 30 ms.
    m.put("S13", List.of("T#10ms", "T#10ms", "T#30ms", "6"));
    // Table 46: TP from 0 to 30 ms whatever its input does; TOF starts again at 30 ms and ends at 50 ms, scan 6.
    m.put("S14", List.of("T#20ms", "FALSE", "TRUE", "3", "T#20ms"));
    // Ticks in scans 4, 9, 14, 19.
    m.put("S15", List.of("4", "5", "4"));
    // S is on at 10, 30, 50, 70, 90 ms; F at no multiple of 10.
    m.put("S16", List.of("0", "5", "FALSE"));
    // Scan 1: 3 ms and five messages of 2 ms, so scan 2 begins at 13 ms; quiet: scan 4 at 9 ms; with 1 ms each: scans at 0, 8, 11, 14 ms.
    m.put("S34", List.of("T#10ms", "2", "a"));
    m.put("S35", List.of("TRUE", "FALSE", "FALSE", "2"));
    m.put("S10", List.of("TRUE", "TRUE", "FALSE", "b", "FALSE"));
    // Table 43.
    m.put("S11", List.of("TRUE", "FALSE", "TRUE", "FALSE"));
    // Table 45: reset before load before count.
    m.put("S17", List.of("0", "0", "1", "0", "5", "6"));
    m.put("S18", List.of("TRUE", "FALSE", "TRUE", "TRUE", "TRUE"));
    m.put("S38", List.of("TRUE", "FALSE", "FALSE", "FALSE", "b"));
    // Left is on after even scans. panel: Left at 15 ms (after scan 2), Right at 25 ms (after scan 3); whole: at 25 ms.
    m.put("S19", List.of("TRUE", "FALSE", "TRUE", "TRUE", "FALSE", "TRUE"));
    // On after odd scans. even: 5, 25, 45, 65 ms after scans 1, 3, 5, 7; odd: 5, 35, 65 ms after scans 1, 4, 7.
    m.put("S20", List.of("FALSE", "TRUE", "TRUE", "FALSE", "TRUE"));
    // 42 ms: seen by scans 6, 7, 8.
    m.put("S21", List.of("0", "3", "6"));
    // Steps of 1 us: read, write, read, write until 4 us.
    m.put("S22", List.of("TRUE", "TRUE", "FALSE", "a"));
    // A round of the loop takes 10 to 15 steps (show steps), 1,200 of them 12 to 18 ms: Quick runs at 0 and at 10 ms, Calm once; Total is Calm's copy of 1, plus 1.
    m.put("S23", List.of("2", "1", "a, b, d"));
    m.put("S24", List.of("1", "1", "TRUE", "a, b"));
    // The rise of 27 ms is seen before scan 4.
    m.put("S37", List.of("0", "1", "6", "4"));
    // Tables 54 and 59: flags change behind the actions, actions follow in the next scan.
    m.put("S29", List.of("TRUE", "FALSE", "TRUE", "TRUE", "FALSE", "FALSE", "TRUE", "TRUE", "FALSE"));
    m.put("S25", List.of("100", "77", "4", "8"));
    // 32760 + 9 - 65536
    m.put("S26", List.of("32766", "-32767", "32769", "never"));
    m.put("S27", List.of("FALSE", "TRUE", "a, c"));
    m.put("S33", List.of("TRUE", "3"));
    m.put("S36", List.of("FALSE", "TRUE", "4", "8"));
    return m;
  }

  private static List<Exercise> all() {
    List<Exercise> all = new ArrayList<>();
    Course.parts().forEach(p -> all.addAll(p.lessons()));
    return all;
  }

  @TestFactory
  Stream<DynamicTest> computedAnswersAreThoseDerivedByHand() {
    return all().stream().map(e -> DynamicTest.dynamicTest(e.id() + " " + e.title(), () -> {
      Solution s = e.solve();
      assertThat(s.answers()).as(String.join("\n", s.prompts())).isEqualTo(BY_HAND.get(e.id()));
      // The answers as shown in the key are understood as answers; wrong ones get told why.
      assertThat(s.grade(s.answers()).isPerfect()).isTrue();
      Grade wrong = s.grade(s.answers().stream().map(CourseTest::other).toList());
      assertThat(wrong.right()).isZero();
      assertThat(wrong.marks()).allSatisfy(m -> assertThat(m.feedback()).isNotEmpty());
    }));
  }

  private static String other(String answer) {
    return switch (answer) {
      case "TRUE" -> "off";
      case "FALSE" -> "on";
      case "never" -> "1";
      case "T#10ms" -> "T#11ms";
      default -> answer.startsWith("T#") ? "T#1ms" : answer.matches("-?[0-9]+") ? "5555" : answer.equals("a") ? "b" : "a";
    };
  }

  @Test
  void everySituationHasALesson() {
    TreeSet<String> ids = new TreeSet<>();
    for (int i = 1; i <= 38; i++) {
      ids.add(String.format(java.util.Locale.ROOT, "S%02d", i));
    }
    assertThat(all().stream().map(Exercise::id)).containsExactlyInAnyOrderElementsOf(ids);
    assertThat(BY_HAND.keySet()).containsExactlyInAnyOrderElementsOf(ids);
  }

  /** {@code course --pictures --out examples/pictures} writes them anew. */
  @Test
  void thePicturesOfTheReadmeAreThoseOfTheCourse(@TempDir Path dir) throws IOException {
    Path kept = Files.isDirectory(Path.of("pictures")) ? Path.of("pictures") : Path.of("examples/pictures");
    for (Path p : Course.pictures(dir)) {
      // what they say, not how it is drawn
      assertThat(words(kept.resolve(p.getFileName()))).as(p.toString()).hasSizeGreaterThan(10).isEqualTo(words(p));
    }
  }

  private static List<String> words(Path svg) throws IOException {
    return java.util.regex.Pattern.compile("<text[^>]*>([^<]*)</text>").matcher(Files.readString(svg)).results().map(m -> m.group(1)).toList();
  }

  @Test
  void pagesAreWrittenAndLinked(@TempDir Path dir) throws IOException {
    List<Path> pages = Course.write(dir);
    assertThat(pages).hasSize(2 * 38 + 3);
    java.util.regex.Pattern link = java.util.regex.Pattern.compile("href=\"([^\"#]+)");
    for (Path page : pages) {
      String text = Files.readString(page);
      assertThat(text.length()).as(page.toString()).isBetween(3_000, 3_000_000);
      if (!page.toString().endsWith("-steps.html")) {
        java.util.regex.Matcher m = link.matcher(text);
        while (m.find()) {
          assertThat(dir.resolve(m.group(1))).as("link of " + page).exists();
        }
      }
    }
    assertThat(Files.readString(dir.resolve("worksheet.html"))).contains("S38").doesNotContain("<details");
  }
}
