package dev.scanloom.examples.cli;

import dev.scanloom.diagnostic.SourceText;
import java.io.IOException;
import java.io.InputStream;
import java.nio.ByteBuffer;
import java.nio.charset.CharacterCodingException;
import java.nio.charset.CharsetDecoder;
import java.nio.charset.CodingErrorAction;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.InvalidPathException;
import java.nio.file.NoSuchFileException;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;

/** Reads text files, or says in one sentence why that cannot be. */
final class TextFiles {
  /** More than any program text the compiler takes, so that a wrong file does not fill memory before it is refused. */
  private static final int MOST_BYTES = 64 << 20;

  private TextFiles() {}

  static List<SourceText> programs(List<String> names) {
    List<SourceText> all = new ArrayList<>();
    for (String name : names) {
      all.add(SourceText.of(name, text(name, "a program text")));
    }
    return all;
  }

  /** {@code what}: what the file should hold, for messages. */
  static String text(String name, String what) {
    byte[] bytes = bytes(name, what);
    if (bytes.length == 0) {
      throw new UsageError(name + ": the file is empty; expected " + what);
    }
    for (int i = 0; i < bytes.length; i++) {
      if (bytes[i] == 0) {
        throw new UsageError(name + ": a binary file (byte 0 at offset " + i + "); expected " + what);
      }
    }
    CharsetDecoder decoder = StandardCharsets.UTF_8.newDecoder().onMalformedInput(CodingErrorAction.REPORT)
        .onUnmappableCharacter(CodingErrorAction.REPORT);
    ByteBuffer in = ByteBuffer.wrap(bytes);
    try {
      return decoder.decode(in).toString();
    } catch (CharacterCodingException e) {
      throw new UsageError(name + ": a binary file (no UTF-8 at offset " + in.position() + "); expected " + what);
    }
  }

  private static byte[] bytes(String name, String what) {
    Path path = path(name);
    if (Files.isDirectory(path)) {
      throw new UsageError(name + ": a directory; expected " + what);
    }
    if (Files.notExists(path)) {
      throw new UsageError(name + ": no such file");
    }
    try (InputStream in = Files.newInputStream(path)) {
      byte[] bytes = in.readNBytes(MOST_BYTES + 1);
      if (bytes.length > MOST_BYTES) {
        throw new UsageError(name + ": more than " + (MOST_BYTES >> 20) + " MiB; expected " + what);
      }
      return bytes;
    } catch (NoSuchFileException e) {
      throw new UsageError(name + ": no such file");
    } catch (IOException e) {
      throw new UsageError(name + ": cannot be read");
    }
  }

  static Path path(String name) {
    try {
      return Path.of(name);
    } catch (InvalidPathException e) {
      throw new UsageError(name + ": no file name");
    }
  }

  static void write(String name, String text) {
    Path path = path(name);
    if (Files.isDirectory(path)) {
      throw new UsageError(name + ": a directory; expected the name of a file to write");
    }
    try {
      Files.writeString(path, text, StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new UsageError(name + ": cannot be written");
    }
  }
}
