package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;
import java.util.List;
import java.util.stream.Collectors;

/** One or more identifiers joined by dots: a namespace path and a name in it. */
public record QualifiedName(Span span, List<Name> parts) {
  public QualifiedName {
    parts = List.copyOf(parts);
  }

  /** The last identifier. */
  public Name last() {
    return parts.get(parts.size() - 1);
  }

  /** Upper-case identifiers joined by dots. */
  public String key() {
    if (parts.size() == 1) {
      return last().key();
    }
    return parts.stream().map(Name::key).collect(Collectors.joining("."));
  }

  /** The identifiers as written, joined by dots. */
  public String text() {
    return parts.stream().map(Name::text).collect(Collectors.joining("."));
  }

  @Override
  public String toString() {
    return text();
  }
}
