package dev.scanloom.examples.junit;

import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.Grade;
import java.util.List;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.opentest4j.AssertionFailedError;

/** A student's answers to an exercise as tests, one for each question. */
public final class ExerciseTests {
  private ExerciseTests() {}

  /** For a method annotated with {@code @TestFactory}: a wrong answer fails with the feedback. */
  public static Stream<DynamicTest> of(Exercise exercise, List<String> answers) {
    Grade grade = exercise.solve().grade(answers);
    return grade.marks().stream().map(m -> DynamicTest.dynamicTest(m.number() + ". " + m.question(), () -> {
      if (m.verdict() != Grade.Verdict.RIGHT) {
        throw new AssertionFailedError(m.verdict() == Grade.Verdict.MISSING ? "no answer; " + String.join("\n", m.feedback()) : "'" + m.given() + "': "
            + String.join("\n", m.feedback()));
      }
    }));
  }
}
