package dev.scanloom.internal.check;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.library.Library;
import dev.scanloom.library.NativeBody;
import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * A few declarations in the manner of the standard library, from the resource {@code check/library.txt}; elements are separated by {@code
 * ---}.
 */
final class TestLibrary implements Library {
  private static final Pattern NAME = Pattern.compile("(?s).*?\\b(?:FUNCTION_BLOCK|FUNCTION|TYPE|CLASS)\\s+([A-Za-z_0-9]+).*");
  private final Map<String, SourceText> elements = new TreeMap<>();
  private final List<String> names = new ArrayList<>();

  TestLibrary() {
    for (String text : resource("check/library.txt").split("(?m)^---\\s*$")) {
      Matcher m = NAME.matcher(text);
      if (m.matches()) {
        names.add(m.group(1));
        elements.put(m.group(1).toUpperCase(Locale.ROOT), SourceText.of("library/" + m.group(1), text));
      }
    }
  }

  static String resource(String path) {
    try (InputStream in = TestLibrary.class.getClassLoader().getResourceAsStream(path)) {
      return new String(in.readAllBytes(), StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new IllegalStateException(path, e);
    }
  }

  @Override
  public String name() {
    return "test";
  }

  @Override
  public List<String> names() {
    return names.stream().sorted().toList();
  }

  @Override
  public Optional<SourceText> declaration(String name) {
    return Optional.ofNullable(elements.get(name));
  }

  @Override
  public Optional<NativeBody> body(String name) {
    return name.equals("missing") ? Optional.empty() : Optional.of(frame -> { });
  }
}
