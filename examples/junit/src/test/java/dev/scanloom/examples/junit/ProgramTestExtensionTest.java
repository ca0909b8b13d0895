package dev.scanloom.examples.junit;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.teach.Exercise;
import dev.scanloom.teach.ProgramTask;
import dev.scanloom.teach.Question;
import java.util.ArrayList;
import java.util.List;
import java.util.function.Supplier;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.Tag;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.TestFactory;
import org.junit.platform.engine.TestExecutionResult;
import org.junit.platform.engine.discovery.DiscoverySelectors;
import org.junit.platform.launcher.LauncherDiscoveryRequest;
import org.junit.platform.launcher.TestExecutionListener;
import org.junit.platform.launcher.TestIdentifier;
import org.junit.platform.launcher.core.LauncherDiscoveryRequestBuilder;
import org.junit.platform.launcher.core.LauncherFactory;

/** The extension under JUnit's own launcher: what passes, what fails, and what people read then. */
class ProgramTestExtensionTest {

  /** Run by the launcher below only. */
  static class Wrong {
    @ProgramTest(task = StarterTask.class, program = "answers/starter-wrong.st")
    void startsAndStops(Trial trial) {
      trial.check();
    }
  }

  static class Missing {
    @ProgramTest(task = StarterTask.class, program = "answers/nobody.st")
    void startsAndStops(Trial trial) {
      trial.check();
    }
  }

  public static final class Empty implements Supplier<ProgramTask> {
    @Override
    public ProgramTask get() {
      return ProgramTask.titled("nothing to try");
    }
  }

  static class Untried {
    @ProgramTest(task = Empty.class, program = "answers/starter.st")
    void nothing(Trial trial) {
      trial.check();
    }
  }

  static class Answers {
    @TestFactory
    @Tag("nested")
    Stream<DynamicTest> answers() {
      return ExerciseTests.of(Exercise.titled("Lamp").program("PROGRAM P VAR A AT %IX0.0 : BOOL; L AT %QX0.0 : BOOL; END_VAR L := NOT A; END_PROGRAM")
          .at(1, "A", "TRUE").scans(1).ask(Question.field("L", 1), Question.memory("A", 1), Question.memory("L", 1)), List.of("off", "off"));
    }
  }

  private static List<String> run(Class<?> test) {
    List<String> results = new ArrayList<>();
    LauncherDiscoveryRequest request = LauncherDiscoveryRequestBuilder.request().selectors(DiscoverySelectors.selectClass(test)).build();
    LauncherFactory.create().execute(request, new TestExecutionListener() {
      @Override
      public void executionFinished(TestIdentifier id, TestExecutionResult result) {
        if (id.isTest() || result.getStatus() != TestExecutionResult.Status.SUCCESSFUL) {
          results.add(id.getDisplayName() + ": " + result.getStatus() + result.getThrowable().map(t -> " " + t.getMessage()).orElse(""));
        }
      }
    });
    return results;
  }

  @Test
  void aRightProgramPassesEveryTrial() {
    assertThat(run(StarterTest.class)).containsExactly("hidden stimulus 1: SUCCESSFUL", "hidden stimulus 2: SUCCESSFUL", "exploration: SUCCESSFUL");
  }

  @Test
  void aWrongOneFailsWithTheShortestStimulusAndTheEvidence() {
    List<String> results = run(Wrong.class);
    assertThat(results).hasSize(3);
    assertThat(results.subList(0, 2)).allMatch(r -> r.endsWith("SUCCESSFUL"));
    // by hand: start on and stop off, in one scan
    assertThat(results.get(2)).startsWith("exploration: FAILED").contains("Motor is TRUE at the end of scan 1; it should be FALSE")
        .contains("scan 1: Start on, Stop off").contains("network 2 of Starter wrote TRUE to Motor");
  }

  @Test
  void mistakesOfTheSetUpAreNamed() {
    assertThat(run(Missing.class)).singleElement().asString().contains("answers/nobody.st").contains("neither a resource nor a file");
    assertThat(run(Untried.class)).singleElement().asString().contains("neither a stimulus nor an exploration");
  }

  @Test
  void answersAreTests() {
    List<String> results = run(Answers.class);
    assertThat(results).hasSize(3);
    assertThat(results.get(0)).endsWith("SUCCESSFUL");
    assertThat(results.get(1)).contains("FAILED 'off': You say off (FALSE); the run says on (TRUE).").contains("terminal of A was set to 1");
    assertThat(results.get(2)).contains("FAILED no answer");
  }
}
