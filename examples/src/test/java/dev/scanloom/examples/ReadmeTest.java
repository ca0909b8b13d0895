package dev.scanloom.examples;

import static org.assertj.core.api.Assertions.assertThat;

import java.io.ByteArrayOutputStream;
import java.io.PrintStream;
import java.net.URL;
import java.net.URLClassLoader;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import javax.tools.ToolProvider;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The Java examples of the README compile, run and print what the README says. */
class ReadmeTest {
  @TempDir Path folder;

  @Test
  void theExamplesRun() throws Exception {
    Path root = Path.of("..").toAbsolutePath().normalize();
    String readme = Files.readString(root.resolve("README.md"));
    Matcher block = Pattern.compile("```java\n(.*?)```\\s*prints `([^`]*)`", Pattern.DOTALL).matcher(readme);
    int count = 0;
    while (block.find()) {
      count++;
      assertThat(run(block.group(1).replace("Path.of(\"examples/", "Path.of(\"" + root + "/examples/"), "Example" + count)).isEqualTo(block.group(2));
    }
    assertThat(count).as("java blocks followed by what they print").isEqualTo(2);
  }

  private String run(String body, String name) throws Exception {
    String source = "import dev.scanloom.*;\nimport dev.scanloom.Compiler;\nimport dev.scanloom.policy.ScanPolicy;\nimport java.nio.file.*;\n"
        + "public class " + name + " { public static void main(String[] args) throws Exception {\n" + body + "}}\n";
    Path file = folder.resolve(name + ".java");
    Files.writeString(file, source);
    ByteArrayOutputStream messages = new ByteArrayOutputStream();
    int result = ToolProvider.getSystemJavaCompiler()
        .run(null, messages, messages, "-proc:none", "-cp", System.getProperty("java.class.path"), file.toString());
    assertThat(result).as(messages.toString(StandardCharsets.UTF_8)).isZero();
    PrintStream before = System.out;
    ByteArrayOutputStream printed = new ByteArrayOutputStream();
    try (URLClassLoader loader = new URLClassLoader(new URL[] {folder.toUri().toURL()}, getClass().getClassLoader())) {
      System.setOut(new PrintStream(printed, true, StandardCharsets.UTF_8));
      loader.loadClass(name).getMethod("main", String[].class).invoke(null, (Object) new String[0]);
    } finally {
      System.setOut(before);
    }
    return printed.toString(StandardCharsets.UTF_8).strip();
  }
}
