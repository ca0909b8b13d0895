package dev.scanloom.policy;

import java.io.IOException;
import java.nio.file.Path;
import java.util.Objects;
import java.util.Optional;

/**
 * Where retained memory survives while a controller is without power. It stores bytes whole and knows nothing of what they mean; the controller guards
 * them with a version and a checksum. A host can put them anywhere: the built-in uses nothing that a host lacks.
 *
 * <p>The contract: after {@link #write} has returned, {@link #read} gives what it was given, also after a crash; a crash during {@code write} leaves
 * either the old content or the new one. Used by the controller's thread alone.
 */
public interface RetainStore {

  /** What was stored last; empty when nothing was. */
  Optional<byte[]> read() throws IOException;

  /** Replaces the content. */
  void write(byte[] content) throws IOException;

  /**
   * A file. New content is written beside it (same name with {@code .new} behind), forced to the device and moved over it in one act, so that a crash at
   * any moment leaves the old file or the new one. Only one process at a time may write it.
   *
   * @throws NullPointerException when the path is null
   */
  static RetainStore file(Path path) {
    return new RetainFile(Objects.requireNonNull(path, "path"));
  }
}
