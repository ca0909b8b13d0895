package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import java.util.List;

/** The syntax tree of one source text: what could be read of it, in the order of the text. */
public record SourceFile(SourceText source, List<Declaration> declarations, List<Pragma> pragmas) {
  public SourceFile {
    declarations = List.copyOf(declarations);
    pragmas = List.copyOf(pragmas);
  }
}
