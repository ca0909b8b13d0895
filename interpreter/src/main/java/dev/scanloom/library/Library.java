package dev.scanloom.library;

import dev.scanloom.diagnostic.SourceText;
import java.util.List;
import java.util.Optional;

/**
 * A library of functions, function blocks and types that programs may use by name. Found through {@link java.util.ServiceLoader}, or given to the
 * compiler. Every element is declared in ST text; a body is ST, or is bound by a pragma that stands alone in its place:
 * {@code {native sin}} names a {@link NativeBody} of this library, {@code {intrinsic ADD}} an operation of the core.
 *
 * <p>Declarations are looked up one by one, when a program names them, so a large library costs a small program nothing.
 * Implementations are immutable and safe for use by several threads.
 */
public interface Library {

  /** Short name for messages and listings. */
  String name();

  /**
   * Names of all elements in the spelling of their declaration, sorted.
   */
  List<String> names();

  /**
   * The source text that declares an element: exactly one POU or TYPE block (with its leading documentation comment). Empty when the library has no
   * element of that name.
   *
   * @param name in upper case
   */
  Optional<SourceText> declaration(String name);

  /** The body that a {@code {native name}} pragma of this library names; empty when there is none. */
  Optional<NativeBody> body(String name);
}
