package dev.scanloom.policy;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.file.Files;
import java.nio.file.NoSuchFileException;
import java.nio.file.Path;
import java.nio.file.StandardCopyOption;
import java.nio.file.StandardOpenOption;
import java.util.Optional;

/** A file that is replaced in one act. */
record RetainFile(Path path) implements RetainStore {

  @Override
  public Optional<byte[]> read() throws IOException {
    try {
      return Optional.of(Files.readAllBytes(path));
    } catch (NoSuchFileException e) {
      return Optional.empty();
    } catch (OutOfMemoryError e) {
      throw new IOException(path + " is too large to be retained memory", e);
    }
  }

  @Override
  public void write(byte[] content) throws IOException {
    Path whole = path.toAbsolutePath();
    Path fresh = whole.resolveSibling(whole.getFileName() + ".new");
    try (FileChannel channel = FileChannel.open(fresh, StandardOpenOption.CREATE, StandardOpenOption.TRUNCATE_EXISTING, StandardOpenOption.WRITE)) {
      ByteBuffer bytes = ByteBuffer.wrap(content);
      while (bytes.hasRemaining()) {
        channel.write(bytes);
      }
      channel.force(true);
    }
    Files.move(fresh, whole, StandardCopyOption.ATOMIC_MOVE, StandardCopyOption.REPLACE_EXISTING);
    forceDirectory(whole.getParent());
  }

  /** The new name must reach the device too. Systems on which a directory cannot be opened do so on their own. */
  private static void forceDirectory(Path directory) {
    try (FileChannel channel = FileChannel.open(directory, StandardOpenOption.READ)) {
      channel.force(true);
    } catch (IOException e) {
      // the move has happened; only its arrival on the device cannot be waited for here
    }
  }
}
