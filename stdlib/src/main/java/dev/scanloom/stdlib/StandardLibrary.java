package dev.scanloom.stdlib;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.library.Library;
import dev.scanloom.library.NativeBody;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.util.Collections;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import java.util.concurrent.ConcurrentHashMap;

/**
 * The standard functions and function blocks of IEC 61131-3 Tables 22 to 46, the array bounds of Table 15, and what edition 4 adds
 * (ASSERT, MUTEX, SEMAPHORE).
 * Declared in the {@code .st} resources of this package, one file per table; a file is read when one of its names is first asked for.
 *
 * <p>Immutable in effect and safe for use by several threads.
 */
public final class StandardLibrary implements Library {
  private final Map<String, Map<String, SourceText>> files = new ConcurrentHashMap<>();

  /** The file of each name, read when a name is first asked for: a program without names of the library does not pay for them. */
  private static final class Index {
    static final Map<String, String> FILE_OF;
    static final List<String> NAMES;

    static {
      Map<String, String> files = new TreeMap<>();
      for (String line : resource("index.txt").split("\n")) {
        int space = line.indexOf(' ');
        files.put(line.substring(0, space), line.substring(space + 1));
      }
      FILE_OF = Collections.unmodifiableMap(files);
      NAMES = List.copyOf(files.keySet());
    }

    private Index() {}
  }

  @Override
  public String name() {
    return "standard library";
  }

  @Override
  public List<String> names() {
    return Index.NAMES;
  }

  @Override
  public Optional<SourceText> declaration(String name) {
    String file = Index.FILE_OF.get(name);
    return file == null ? Optional.empty() : Optional.of(files.computeIfAbsent(file, StandardLibrary::read).get(name));
  }

  @Override
  public Optional<NativeBody> body(String name) {
    return Optional.ofNullable(Bodies.ALL.get(name));
  }

  /** Every block of a file, behind as many empty lines as stand in front of it there, so that places in it are places in the file. */
  private static Map<String, SourceText> read(String file) {
    String text = resource(file);
    Map<String, SourceText> declarations = new TreeMap<>();
    for (DeclarationScan.Block block : DeclarationScan.blocks(text)) {
      String padded = "\n".repeat(block.line() - 1) + text.substring(block.start(), block.end());
      declarations.put(block.name(), SourceText.of("stdlib/" + file, padded));
    }
    return declarations;
  }

  private static String resource(String file) {
    try (InputStream in = StandardLibrary.class.getResourceAsStream(file)) {
      if (in == null) {
        throw new IllegalStateException("the resource " + file + " is missing from the library's jar");
      }
      return new String(in.readAllBytes(), StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
