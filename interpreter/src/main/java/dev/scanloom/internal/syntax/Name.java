package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.Locale;

/**
 * An identifier as written, with its place. Case carries no meaning: compare {@code key}.
 *
 * @param key upper-case form (root locale) of the text, under which the identifier is looked up
 */
public record Name(Span span, String text, String key) {
  public Name(Span span, String text) {
    this(span, text, text.toUpperCase(Locale.ROOT));
  }

  /** The same name at another place. */
  Name at(Span other) {
    return new Name(other, text, key);
  }

  @Override
  public String toString() {
    return text;
  }
}
