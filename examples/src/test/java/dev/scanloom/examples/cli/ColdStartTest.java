package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.File;
import java.io.IOException;
import java.io.OutputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.TreeSet;
import java.util.concurrent.TimeUnit;
import java.util.jar.JarEntry;
import java.util.jar.JarOutputStream;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The command line in processes of its own, as it is and with an archive of its classes: the recipe of the benchmarks' README. How long it takes is no test. */
class ColdStartTest {
  @TempDir Path folder;

  private record Result(int exit, String out, String err) {}

  @Test
  void startsFromAnArchiveOfItsClassesAndPrintsTheSame() throws Exception {
    assumeTrue(System.getProperty("java.vm.name").matches(".*(OpenJDK|HotSpot).*"), "archives of classes belong to this virtual machine");
    String path = classPath();
    Path archive = folder.resolve("scanloom.jsa");
    Path loaded = folder.resolve("loaded.txt");

    Result plain = start(path);
    assertThat(plain.exit).as(plain.err).isZero();
    assertThat(plain.out.lines().toList()).startsWith("scan,time_ms,Door,Key,DoorLamp,Permit", "1,0,FALSE,FALSE,TRUE,FALSE").hasSize(7);

    assertThat(start(path, "-XX:ArchiveClassesAtExit=" + archive).exit).isZero();
    assertThat(archive).isNotEmptyFile();

    Result archived = start(path, "-XX:SharedArchiveFile=" + archive, "-Xshare:on", "-XX:TieredStopAtLevel=1", "-Xlog:class+load:file=" + loaded);
    assertThat(archived).as("-Xshare:on fails unless the archive fits").isEqualTo(plain);
    assertThat(Files.readAllLines(loaded)).as("classes of Scanloom come out of the archive")
        .anyMatch(l -> l.contains(" dev.scanloom.Compiler ") && l.contains("shared objects file"));
  }

  private Result start(String classPath, String... options) throws IOException, InterruptedException {
    List<String> command = new ArrayList<>(List.of(Path.of(System.getProperty("java.home"), "bin", "java").toString()));
    command.addAll(List.of(options));
    command.addAll(List.of("-cp", classPath, "dev.scanloom.examples.cli.Main", "run", Cli.shipped("dryer.st"), "--inputs", Cli.shipped("inputs.csv"), "--scans",
        "6"));
    Path out = Files.createTempFile(folder, "out", "");
    Path err = Files.createTempFile(folder, "err", "");
    Process p = new ProcessBuilder(command).redirectOutput(out.toFile()).redirectError(err.toFile()).start();
    assertThat(p.waitFor(5, TimeUnit.MINUTES)).as("ended").isTrue();
    return new Result(p.exitValue(), Files.readString(out), Files.readString(err));
  }

  /** That of this test without the tests; folders of classes packed into a jar, since an archive takes classes from jars only. */
  private String classPath() throws IOException {
    String all = System.getProperty("surefire.test.class.path", System.getProperty("java.class.path"));
    List<String> path = new ArrayList<>();
    Path jar = folder.resolve("classes.jar");
    TreeSet<String> names = new TreeSet<>();
    try (OutputStream file = Files.newOutputStream(jar); JarOutputStream out = new JarOutputStream(file)) {
      for (String entry : all.split(File.pathSeparator)) {
        Path p = Path.of(entry);
        if (Files.isRegularFile(p)) {
          path.add(entry);
        } else if (Files.isDirectory(p) && !p.endsWith("test-classes")) {
          pack(p, out, names);
        }
      }
      if (names.isEmpty()) {
        out.putNextEntry(new JarEntry("empty.txt"));
        out.write("all classes are in other jars".getBytes(StandardCharsets.UTF_8));
      }
    }
    path.add(0, jar.toString());
    return String.join(File.pathSeparator, path);
  }

  private static void pack(Path root, JarOutputStream out, TreeSet<String> names) throws IOException {
    List<Path> files;
    try (Stream<Path> walk = Files.walk(root)) {
      files = walk.filter(Files::isRegularFile).sorted().toList();
    }
    for (Path f : files) {
      String name = root.relativize(f).toString().replace(File.separatorChar, '/');
      if (!name.equals("module-info.class") && names.add(name)) {
        out.putNextEntry(new JarEntry(name));
        Files.copy(f, out);
      }
    }
  }
}
