package dev.scanloom.examples.junit;

import dev.scanloom.teach.ProgramTask;
import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.function.Supplier;
import java.util.stream.Stream;
import org.junit.jupiter.api.extension.Extension;
import org.junit.jupiter.api.extension.ExtensionConfigurationException;
import org.junit.jupiter.api.extension.ExtensionContext;
import org.junit.jupiter.api.extension.ParameterContext;
import org.junit.jupiter.api.extension.ParameterResolver;
import org.junit.jupiter.api.extension.TestTemplateInvocationContext;
import org.junit.jupiter.api.extension.TestTemplateInvocationContextProvider;
import org.junit.platform.commons.support.AnnotationSupport;
import org.junit.platform.commons.support.ReflectionSupport;

/** Gives a method annotated with {@link ProgramTest} its trials. */
final class ProgramTestExtension implements TestTemplateInvocationContextProvider {
  /** Program texts are small; a wrong file is not. */
  private static final int MOST_BYTES = 1 << 20;

  @Override
  public boolean supportsTestTemplate(ExtensionContext context) {
    return AnnotationSupport.isAnnotated(context.getRequiredTestMethod(), ProgramTest.class);
  }

  @Override
  public Stream<TestTemplateInvocationContext> provideTestTemplateInvocationContexts(ExtensionContext context) {
    ProgramTest test = AnnotationSupport.findAnnotation(context.getRequiredTestMethod(), ProgramTest.class).orElseThrow();
    Supplier<ProgramTask> maker = ReflectionSupport.newInstance(test.task());
    ProgramTask task = maker.get();
    String program = text(context.getRequiredTestClass(), test.program());
    List<TestTemplateInvocationContext> all = new ArrayList<>();
    for (int i = 0; i < task.trials(); i++) {
      int index = i;
      all.add(new Invocation(new Trial("hidden stimulus " + (i + 1), program, () -> task.checkTrial(index, program))));
    }
    if (task.isExplored()) {
      all.add(new Invocation(new Trial("exploration", program, () -> task.explored(program))));
    }
    if (all.isEmpty()) {
      throw new ExtensionConfigurationException("the task '" + task.title() + "' has neither a stimulus nor an exploration");
    }
    return all.stream();
  }

  private static String text(Class<?> test, String name) {
    try (InputStream in = test.getClassLoader().getResourceAsStream(name)) {
      if (in != null) {
        return new String(in.readNBytes(MOST_BYTES), StandardCharsets.UTF_8);
      }
      Path file = Path.of(name);
      if (!Files.isRegularFile(file) || Files.size(file) > MOST_BYTES) {
        throw new ExtensionConfigurationException("no program text: " + name + " is neither a resource nor a file of at most " + MOST_BYTES + " bytes");
      }
      return Files.readString(file);
    } catch (IOException e) {
      throw new ExtensionConfigurationException("the program text " + name + " cannot be read", e);
    }
  }

  private record Invocation(Trial trial) implements TestTemplateInvocationContext {
    @Override
    public String getDisplayName(int index) {
      return trial.name();
    }

    @Override
    public List<Extension> getAdditionalExtensions() {
      return List.of(new ParameterResolver() {
        @Override
        public boolean supportsParameter(ParameterContext parameter, ExtensionContext context) {
          return parameter.getParameter().getType() == Trial.class;
        }

        @Override
        public Object resolveParameter(ParameterContext parameter, ExtensionContext context) {
          return trial;
        }
      });
    }
  }
}
