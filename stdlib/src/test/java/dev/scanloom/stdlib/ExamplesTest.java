package dev.scanloom.stdlib;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompileResult;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.diagnostic.Severity;
import dev.scanloom.policy.ScanPolicy;
import java.util.stream.Stream;
import org.junit.jupiter.api.DynamicTest;
import org.junit.jupiter.api.TestFactory;

/** Every example of the documentation is compiled and executed, and gives what it says. */
class ExamplesTest {
  private final Compiler compiler = Compiler.standard();

  @TestFactory
  Stream<DynamicTest> examples() {
    StandardLibrary library = new StandardLibrary();
    return library.names().stream().map(name -> Documented.of(name, library.declaration(name).orElseThrow()))
        .map(d -> DynamicTest.dynamicTest(d.name(), () -> run(Example.of(d))));
  }

  private void run(Example example) {
    CompileResult result = compiler.compile(example.name() + ".st", example.text());
    assertThat(result.diagnostics()).as(example.text()).noneMatch(d -> d.severity() == Severity.ERROR);
    Controller controller = result.orThrow().newController(ScanPolicy.image());
    controller.scan();
    assertThat(controller.fault()).as(example.text()).isEmpty();
    assertThat(controller.memory().get(controller.bool("Main.done"))).as("executed to its end:%n%s", example.text()).isTrue();
    assertThat(controller.memory().get(controller.bool("Main.ok"))).as(example.text()).isTrue();
  }
}
