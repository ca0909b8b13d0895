package dev.scanloom.examples.junit;

/** What a student's test class looks like. */
class StarterTest {
  @ProgramTest(task = StarterTask.class, program = "answers/starter.st")
  void startsAndStops(Trial trial) {
    trial.check();
  }
}
