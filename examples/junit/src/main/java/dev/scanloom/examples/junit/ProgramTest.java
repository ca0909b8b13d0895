package dev.scanloom.examples.junit;

import dev.scanloom.teach.ProgramTask;
import java.lang.annotation.Documented;
import java.lang.annotation.ElementType;
import java.lang.annotation.Retention;
import java.lang.annotation.RetentionPolicy;
import java.lang.annotation.Target;
import java.util.function.Supplier;
import org.junit.jupiter.api.TestTemplate;
import org.junit.jupiter.api.extension.ExtendWith;

/**
 * A test of a program that a student writes. The method takes a {@link Trial} and runs once for each hidden stimulus of the task and once for its exploration;
 * names of the runs do not give the stimuli away.
 *
 * <pre>{@code
 * class StarterTest {
 *   @ProgramTest(task = StarterTask.class, program = "answers/starter.st")
 *   void startsAndStops(Trial trial) {
 *     trial.check();
 *   }
 * }
 * }</pre>
 */
@Documented
@Target({ElementType.METHOD, ElementType.ANNOTATION_TYPE})
@Retention(RetentionPolicy.RUNTIME)
@TestTemplate
@ExtendWith(ProgramTestExtension.class)
public @interface ProgramTest {
  /** Makes the task; needs a constructor without parameters. */
  Class<? extends Supplier<ProgramTask>> task();

  /** The student's text: a resource on the class path or, when there is none, a file. */
  String program();
}
