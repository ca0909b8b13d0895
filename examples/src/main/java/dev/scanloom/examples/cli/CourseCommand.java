package dev.scanloom.examples.cli;

import dev.scanloom.examples.course.Course;
import java.io.IOException;
import java.nio.file.Path;
import java.util.List;
import java.util.concurrent.Callable;
import picocli.CommandLine.Command;
import picocli.CommandLine.Model.CommandSpec;
import picocli.CommandLine.Option;
import picocli.CommandLine.Spec;

/** {@code course}: writes the lessons as pages. */
@Command(
    name = "course",
    mixinStandardHelpOptions = true,
    versionProvider = Main.Version.class,
    description = "Writes a course in troubleshooting as pages: an index, a page for each lesson with a step-through page, a worksheet and an answer key.")
final class CourseCommand implements Callable<Integer> {
  @Option(names = "--out", paramLabel = "DIR", required = true, description = "Directory to write to; it is made if it does not exist.")
  String out;

  @Option(names = "--pictures", description = "Writes two pictures of the course instead: a timing diagram and the networks of a lesson.")
  boolean pictures;

  @Spec CommandSpec spec;

  @Override
  public Integer call() {
    Path directory = TextFiles.path(out);
    List<Path> written;
    try {
      written = pictures ? Course.pictures(directory) : Course.write(directory);
    } catch (IOException e) {
      throw new UsageError(out + ": cannot be written");
    }
    spec.commandLine().getOut().println(Printable.line("wrote " + written.size() + (pictures ? " pictures: " : " pages; begin with ") + written.get(0)));
    return ExitCode.FINE;
  }
}
