package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.Locale;

/** An identifier as written, with its place. Case carries no meaning: compare {@link #key()}. */
public record Name(Span span, String text) {

  /** Upper-case form (root locale) under which the identifier is looked up. */
  public String key() {
    return text.toUpperCase(Locale.ROOT);
  }

  @Override
  public String toString() {
    return text;
  }
}
