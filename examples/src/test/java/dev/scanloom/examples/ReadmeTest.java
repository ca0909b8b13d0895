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

/** The Java example of the README compiles, runs and prints what the README says. */
class ReadmeTest {
  @TempDir Path folder;

  @Test
  void theExampleRuns() throws Exception {
    Path root = Path.of("..").toAbsolutePath().normalize();
    String readme = Files.readString(root.resolve("README.md"));
    Matcher block = Pattern.compile("```java\n(.*?)```\\s*prints `([^`]*)`", Pattern.DOTALL).matcher(readme);
    assertThat(block.find()).as("a java block followed by what it prints").isTrue();
    String body = block.group(1).replace("Path.of(\"examples/", "Path.of(\"" + root + "/examples/");
    String source = "import dev.scanloom.*;\nimport dev.scanloom.Compiler;\nimport dev.scanloom.policy.ScanPolicy;\nimport java.nio.file.*;\n"
        + "public class Example { public static void main(String[] args) throws Exception {\n" + body + "}}\n";
    Files.writeString(folder.resolve("Example.java"), source);
    ByteArrayOutputStream messages = new ByteArrayOutputStream();
    int result = ToolProvider.getSystemJavaCompiler()
        .run(null, messages, messages, "-proc:none", "-cp", System.getProperty("java.class.path"), folder.resolve("Example.java").toString());
    assertThat(result).as(messages.toString(StandardCharsets.UTF_8)).isZero();
    PrintStream before = System.out;
    ByteArrayOutputStream printed = new ByteArrayOutputStream();
    try (URLClassLoader loader = new URLClassLoader(new URL[] {folder.toUri().toURL()}, getClass().getClassLoader())) {
      System.setOut(new PrintStream(printed, true, StandardCharsets.UTF_8));
      loader.loadClass("Example").getMethod("main", String[].class).invoke(null, (Object) new String[0]);
    } finally {
      System.setOut(before);
    }
    assertThat(printed.toString(StandardCharsets.UTF_8).strip()).isEqualTo(block.group(2));
  }
}
